//! The supply, its earthing, the main protective conductors and the main switch.

use super::Visit;
use super::model::{Block, Fact, Section, Table, Value};
use super::words::Phrase as P;
use crate::path;
use crate::record::Earthing;

impl Visit<'_> {
    /// A figure read at the origin on the day.
    fn at_origin(&self, key: &'static str, figure: Option<impl ToString>) -> Value {
        if figure.is_none() && self.job.is_unreadable(&path!["supply", key]) { Value::Unreadable } else { Value::or_missing(figure) }
    }

    fn obtained(&self, by: Option<impl std::fmt::Display>) -> Option<String> {
        by.map(|by| self.language.fill(P::Obtained, &[&self.word(by)]))
    }

    /// The fuse that the supply comes through.
    pub(super) fn cutout(&self) -> Option<String> {
        let cutout = self.job.site.supply()?.cutout.as_ref()?;
        Some(format!("{}, {} A", cutout.standard.as_deref()?, cutout.rating_a?))
    }

    /// The supply and the means of earthing.
    pub(super) fn supply(&self) -> Section {
        let site = self.job.site.supply();
        let day = self.job.data().supply.as_ref();
        let known_by = |by: Option<crate::record::ShownBy>| by.map(|by| self.language.fill(P::ShownBy, &[&self.word(by)]));
        let conductors = site.and_then(|supply| supply.phases).and_then(|phases| match *phases {
            1 => Some(self.language.say(P::OnePhase)),
            3 => Some(self.language.say(P::ThreePhase)),
            _ => None,
        });
        let or_default = |item: P, said: Option<String>, default: &str| match said {
            Some(said) => Fact::new(item, Value::Said(said)),
            None if site.is_some() => {
                Fact::new(item, Value::Said(default.to_owned())).note(Some(self.language.say(P::ByDefault).to_owned()))
            }
            None => Fact::new(item, Value::Missing),
        };
        let cutout = site.and_then(|supply| supply.cutout.as_ref());
        let earthing = site.and_then(|supply| supply.earthing);
        let means = earthing.map(|earthing| match earthing {
            Earthing::Tt | Earthing::It => self.language.say(P::ByElectrode),
            _ => self.language.say(P::ByDistributor),
        });
        let volts = site.and_then(|supply| supply.nominal_v).map(|volts| volts.to_string());
        let hertz = site.and_then(|supply| supply.frequency_hz).map(|hertz| hertz.to_string());
        let mut facts = vec![
            Fact::new(P::Earthing, Value::or_missing(earthing.map(|earthing| self.word(earthing))))
                .note(known_by(site.and_then(|supply| supply.earthing_shown_by))),
            Fact::new(P::MeansOfEarthing, Value::or_missing(means)),
            Fact::new(P::LiveConductors, Value::or_missing(conductors)),
            or_default(P::NominalVoltage, volts, "230"),
            or_default(P::Frequency, hertz, "50"),
            Fact::new(P::Ze, self.at_origin("ze_ohm", day.and_then(|day| day.ze_ohm))).note(self.obtained(day.and_then(|day| day.ze_by))),
            Fact::new(P::Ipf, self.at_origin("ipf_ka", day.and_then(|day| day.ipf_ka))).note(self.obtained(day.and_then(|day| day.ipf_by))),
            Fact::new(P::SupplyDevice, Value::or_missing(self.cutout())).note(known_by(cutout.and_then(|cutout| cutout.shown_by))),
            Fact::new(P::SupplyPolarity, self.at_origin("polarity", day.and_then(|day| day.polarity).map(|polarity| self.word(polarity)))),
            Fact::new(P::MaximumDemand, self.at_origin("max_demand_a", day.and_then(|day| day.max_demand_a))),
            Fact::new(P::OtherSources, Value::or_missing(site.and_then(|supply| supply.other_sources.as_deref()))),
        ];
        let electrode = site.and_then(|supply| supply.electrode.as_ref());
        if earthing == Some(Earthing::Tt) || electrode.is_some() || day.is_some_and(|day| day.electrode_ohm.is_some()) {
            let words = electrode.and_then(|rod| Some(format!("{}, {}", self.word(rod.kind?), rod.place.as_deref()?)));
            facts.push(Fact::new(P::Electrode, Value::or_missing(words)));
            facts.push(
                Fact::new(P::ElectrodeOhm, self.at_origin("electrode_ohm", day.and_then(|day| day.electrode_ohm)))
                    .note(self.obtained(day.and_then(|day| day.electrode_by))),
            );
        } else if earthing.is_none() {
            facts.push(Fact::new(P::Electrode, Value::Missing));
        }
        if let Some(volts) = day.and_then(|day| day.supply_v) {
            facts.push(Fact::new(P::SupplyV, Value::Said(volts.to_string())));
        }
        Section::new(P::Supply, vec![Block::Facts(None, facts)])
    }

    /// Earthing conductor, bonding and main switch.
    pub(super) fn protective(&self) -> Section {
        let site = self.job.site.supply();
        let yes = |seen: Option<bool>| Value::or_missing(seen.map(|seen| self.language.yes_or_no(seen)));
        let conductor = site.and_then(|supply| supply.earthing_conductor.as_ref());
        let earthing = vec![vec![
            (P::BondedPart, Value::Said(self.language.say(P::EarthingConductor).to_owned())),
            (P::ConductorSize, Value::or_missing(conductor.and_then(|conductor| conductor.mm2))),
            (P::ConductorMaterial, Value::or_missing(conductor.and_then(|conductor| conductor.material).map(|of| self.word(of)))),
            (P::ConductorVerified, yes(conductor.and_then(|conductor| conductor.connection_seen))),
            (P::BondingOhm, Value::Nothing),
        ]];
        let bonds = site.map(|supply| supply.bonding.as_slice()).unwrap_or_default().iter().map(|bond| {
            vec![
                (P::BondedPart, Value::or_missing(bond.service.map(|service| self.word(service)))),
                (P::ConductorSize, Value::or_missing(bond.mm2)),
                (P::ConductorMaterial, Value::or_missing(bond.material.map(|material| self.word(material)))),
                (P::ConductorVerified, yes(bond.connection_seen)),
                (P::BondingOhm, Value::or_nothing(bond.reading_ohm)),
            ]
        });
        let rows: Vec<_> = earthing.into_iter().chain(bonds).collect();
        let mut blocks = Vec::new();
        let none_bonded = rows.len() == 1;
        blocks.push(Block::Table(Table::of(P::Protective, rows)));
        if none_bonded {
            blocks.push(Block::Facts(None, vec![Fact::new(P::Bonding, Value::Missing)]));
        }
        let boards = self.job.site.site().map(|site| site.boards.as_slice()).unwrap_or_default();
        let at_origin: Vec<_> = boards.iter().filter(|board| board.fed_from.as_deref() == Some("origin")).collect();
        if at_origin.is_empty() {
            blocks.push(Block::Facts(Some(self.language.say(P::MainSwitch).to_owned()), self.main_switch(None)));
        }
        for board in at_origin {
            let heading = format!("{}, {}", self.language.say(P::MainSwitch), board.id.as_deref().unwrap_or_default());
            blocks.push(Block::Facts(Some(heading), self.main_switch(Some(board))));
        }
        Section::new(P::Protective, blocks)
    }

    fn main_switch(&self, board: Option<&crate::record::Board>) -> Vec<Fact> {
        let switch = board.and_then(|board| board.main_switch.as_ref());
        let mut facts = vec![
            Fact::new(P::MainSwitchWhere, Value::or_missing(board.and_then(|board| board.place.as_deref()))),
            Fact::new(P::MainSwitchStandard, Value::or_missing(switch.and_then(|switch| switch.standard.as_deref()))),
            Fact::new(P::MainSwitchPoles, Value::or_missing(switch.and_then(|switch| switch.poles))),
            Fact::new(P::MainSwitchAmps, Value::or_missing(switch.and_then(|switch| switch.rating_a))),
            Fact::new(P::MainSwitchVolts, Value::or_missing(switch.and_then(|switch| switch.rated_v))),
            Fact::new(P::MainSwitchFuse, Value::or_nothing(switch.and_then(|switch| switch.fuse_a))),
        ];
        if let Some(trip) = switch.and_then(|switch| switch.trip_ma) {
            let read = self.job.data().boards.iter().find(|read| read.id.is_some() && read.id == board.and_then(|board| board.id.clone()));
            let delayed = switch.and_then(|switch| switch.delayed).map(|delayed| self.language.yes_or_no(delayed));
            facts.push(Fact::new(P::MainSwitchRcd, Value::Said(trip.to_string())));
            facts.push(Fact::new(P::MainSwitchDelay, Value::or_missing(delayed)));
            facts.push(Fact::new(P::MainSwitchRcdMs, Value::or_missing(read.and_then(|read| read.main_rcd_ms))));
        }
        facts
    }

    /// What a minor works certificate says of the supply.
    pub(super) fn minor_supply(&self) -> Section {
        let site = self.job.site.supply();
        let day = self.job.data().supply.as_ref();
        let yes = |seen: Option<bool>| Value::or_missing(seen.map(|seen| self.language.yes_or_no(seen)));
        let earthing = site.and_then(|supply| supply.earthing).map(|earthing| self.word(earthing));
        let facts = vec![
            Fact::new(P::Earthing, Value::or_missing(earthing)),
            Fact::new(P::EarthingAdequate, yes(day.and_then(|day| day.earthing_adequate))),
            Fact::new(P::BondingAdequate, yes(day.and_then(|day| day.bonding_adequate))),
        ];
        Section::new(P::Supply, vec![Block::Facts(None, facts)])
    }
}
