//! What a design stands on: the figures of one circuit, each with where it comes from.

use crate::record::{Cable, CpcKind, Ev, MakeUp, Ocpd, Rcd, Use};
use crate::record::{Count, Earthing, Num};
use crate::tables::ampacity::Arrangement;
use crate::tables::{DeviceStandard, Edition, ampacity, conductors};
use crate::wiring::network::Connection;
use crate::wiring::resistance::Run;

use super::working::Missing;

/// A figure and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// The figure, in the unit of its field.
    pub value: f64,
    /// Whose word it is.
    pub from: String,
}

/// A circuit that feeds the board of another.
#[derive(Debug, Clone)]
pub struct Feeder {
    /// Its id.
    pub id: String,
    /// Its design current, A.
    pub design_a: Option<f64>,
    /// Loaded phases.
    pub phases: u32,
    /// Its cable.
    pub cable: Option<Cable>,
}

/// One fact as the printout shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stated {
    /// The record's key.
    pub key: &'static str,
    /// What it says, with its unit.
    pub value: String,
    /// Whose word it is: a visit, `site.md` or a flag.
    pub from: String,
    /// What the record says, where a flag says otherwise.
    pub instead_of: Option<String>,
}

/// One circuit with all that its checks look at.
#[derive(Debug, Clone)]
pub struct Given {
    /// The circuit's id, or words for one that is in no record.
    pub name: String,
    /// What it serves.
    pub serves: Option<String>,
    /// The visit, as `<site>/<visit>`; none without a record.
    pub visit: Option<String>,
    /// The edition whose limits hold.
    pub edition: Edition,
    /// What it is used for.
    pub usage: Option<Use>,
    /// Design current Ib, A.
    pub design_a: Option<f64>,
    /// Overcurrent protective device.
    pub ocpd: Ocpd,
    /// Residual current protection: its own, or else the nearest upstream.
    pub rcd: Option<Rcd>,
    /// Whether the record or the system leaves fault protection to the RCD.
    pub rcd_for_faults: bool,
    /// The cable.
    pub cable: Cable,
    /// What makes it an EV charging circuit.
    pub ev: Option<Ev>,
    /// The earthing system.
    pub earthing: Option<Earthing>,
    /// Loaded phases: 1 or 3.
    pub phases: u32,
    /// Nominal voltage to earth, V.
    pub nominal_v: f64,
    /// Loop impedance at the origin, ohm.
    pub ze: Option<Known>,
    /// Loop impedance read at the board, ohm.
    pub zdb: Option<Known>,
    /// Earth electrode, ohm.
    pub electrode: Option<Known>,
    /// The circuits between the board and the origin, the nearest first.
    pub upstream: Vec<Feeder>,
    /// Greatest prospective fault current at the board, kA.
    pub ipf_ka: Option<Known>,
    /// Maximum demand of the installation, A.
    pub max_demand_a: Option<f64>,
    /// Service cut-out, A.
    pub cutout_a: Option<f64>,
    /// What the network operator's process asks; none without a record.
    pub connection: Option<Connection>,
    /// How grouped circuits lie.
    pub arrangement: Arrangement,
    /// What the terminals allow, C.
    pub terminal_c: u32,
    /// The device's let-through energy, A2s, from its maker.
    pub let_through_a2s: Option<f64>,
    /// The facts, for the printout.
    pub stated: Vec<Stated>,
    /// What is assumed.
    pub assumed: Vec<String>,
}

impl Given {
    /// Fills in what the make-up of the cable settles by itself, and says so: the protective conductor of a cable of usual make, and the
    /// number of its cores.
    pub fn complete(&mut self) {
        if self.cable.cpc.is_none() {
            self.cable.cpc = Some(CpcKind::Core);
            self.assumed.push("cpc is a core of the cable".to_owned());
        }
        if self.cable.cpc == Some(CpcKind::Core)
            && self.cable.cpc_mm2.is_none()
            && let Some(line) = self.cable.line_mm2
            && let Some((mm2, why)) = usual_cpc(self.cable.make_up, *line)
        {
            self.cable.cpc_mm2 = Some(Num(mm2));
            self.assumed.push(format!("cpc_mm2 {mm2}: {why}"));
        }
        if self.cable.cores.is_none() && self.is_armoured() {
            let live = if self.phases == 3 { 4 } else { 2 };
            let cores = if self.cable.cpc == Some(CpcKind::Core) { live + 1 } else { live };
            self.cable.cores = Some(Count(cores));
            self.assumed.push(format!("{cores} cores"));
        }
        for (missing, words) in [
            (self.cable.ambient_c.is_none(), "ambient as the tables have it: 30 C in air, 20 C in the ground"),
            (self.cable.grouped.is_none(), "not grouped with other circuits"),
            (self.cable.insulation_mm.is_none(), "no part of the run in thermal insulation (beyond its method)"),
        ] {
            if missing {
                self.assumed.push(words.to_owned());
            }
        }
        if self.cable.grouped.is_some_and(|grouped| *grouped > 1) && self.arrangement == Arrangement::Bunched {
            self.assumed.push("grouped circuits lie bunched, the strictest; --single-layer for one layer, touching".to_owned());
        }
    }

    /// The same circuit in another size of the same make-up, its protective conductor following; nothing where no usual one is held.
    pub fn in_size(&self, line_mm2: f64) -> Option<Given> {
        let mut other = self.clone();
        other.cable.line_mm2 = Some(Num(line_mm2));
        if self.cable.cpc == Some(CpcKind::Core) {
            other.cable.cpc_mm2 = Some(Num(usual_cpc(self.cable.make_up, line_mm2)?.0));
        }
        Some(other)
    }

    /// The same circuit at another length, m.
    pub fn at_length(&self, length_m: f64) -> Given {
        let mut other = self.clone();
        other.cable.length_m = Some(Num(length_m));
        other
    }

    /// Whether the cable has an armour.
    pub fn is_armoured(&self) -> bool {
        matches!(self.cable.make_up, Some(MakeUp::Armoured70 | MakeUp::Armoured90))
    }

    /// Whether it is a ring.
    pub fn is_ring(&self) -> bool {
        self.usage == Some(Use::Ring)
    }

    pub(super) fn design_a(&self) -> Result<f64, Missing> {
        self.design_a.ok_or_else(|| Missing::input("the design current", "design_a", "--design-a"))
    }

    pub(super) fn rating_a(&self) -> Result<f64, Missing> {
        self.ocpd.rating_a.map(|rating| *rating).ok_or_else(|| Missing::input("the device's rating", "ocpd.rating_a", "--device"))
    }

    pub(super) fn standard(&self) -> Result<DeviceStandard, Missing> {
        let text = self.ocpd.standard.as_deref().ok_or_else(|| Missing::input("the device's standard", "ocpd.standard", "--device"))?;
        DeviceStandard::parse(text).ok_or_else(|| Missing::figure("the device's standard is not known here"))
    }

    pub(super) fn make_up(&self) -> Result<MakeUp, Missing> {
        self.cable.make_up.ok_or_else(|| Missing::input("the make-up of the cable", "cable.make_up", "--cable"))
    }

    pub(super) fn line_mm2(&self) -> Result<f64, Missing> {
        self.cable.line_mm2.map(|mm2| *mm2).ok_or_else(|| Missing::input("the size of the cable", "cable.line_mm2", "--line"))
    }

    pub(super) fn length_m(&self) -> Result<f64, Missing> {
        self.cable.length_m.map(|length| *length).ok_or_else(|| Missing::input("the length", "cable.length_m", "--length"))
    }

    pub(super) fn method(&self) -> Result<&str, Missing> {
        self.cable.method.as_deref().ok_or_else(|| Missing::input("the reference method", "cable.method", "--method"))
    }

    pub(super) fn earthing(&self) -> Result<Earthing, Missing> {
        self.earthing.ok_or_else(|| Missing::input("the earthing system", "supply.earthing", "--earthing"))
    }

    pub(super) fn usage(&self) -> Result<Use, Missing> {
        self.usage.ok_or_else(|| Missing::input("what the circuit is used for", "use", "--use"))
    }
}

/// The run that a cable makes, or what it wants for.
pub(super) fn run_of(cable: &Cable) -> Result<Run, Missing> {
    let missing = |what, key, flag| Err(Missing::input(what, key, flag));
    let cpc = cable.cpc.unwrap_or(CpcKind::Core);
    if cable.line_mm2.is_none() {
        return missing("the size of the cable", "cable.line_mm2", "--line");
    }
    match cpc {
        CpcKind::Conduit => return Err(Missing::figure("no table here holds the resistance of a conduit: measure R1+R2")),
        CpcKind::Core if cable.cpc_mm2.is_none() => return missing("the size of the cpc", "cable.cpc_mm2", "--cpc-mm2"),
        CpcKind::Armour if cable.cores.is_none() => return missing("the number of cores", "cable.cores", "--cores"),
        CpcKind::Core | CpcKind::Armour => {}
    }
    Run::of(cable).ok_or_else(|| Missing::input("the length", "cable.length_m", "--length"))
}

/// The conductor temperature that a cable's Zs is worked out at, C.
pub(super) fn working_c(cable: &Cable) -> Result<f64, Missing> {
    let make_up = cable.make_up.ok_or_else(|| Missing::input("the make-up of the cable", "cable.make_up", "--cable"))?;
    Ok(f64::from(ampacity::insulation_c(make_up)))
}

/// The protective conductor that a cable of that make-up usually has, mm2, and why.
fn usual_cpc(make_up: Option<MakeUp>, line_mm2: f64) -> Option<(f64, String)> {
    match make_up? {
        MakeUp::Flat70 => {
            let usual = conductors::flat_cpc(line_mm2)?;
            Some((usual.value, format!("flat cable is usually made {line_mm2}/{} ({}, from memory)", usual.value, usual.source)))
        }
        MakeUp::Singles70 => Some((line_mm2, "a single of the line's size".to_owned())),
        MakeUp::Multicore70 | MakeUp::Multicore90 | MakeUp::Armoured70 | MakeUp::Armoured90 => {
            Some((line_mm2, "a core of the same size".to_owned()))
        }
    }
}
