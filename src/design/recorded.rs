//! A circuit as its record knows it: what the visit says, what earlier visits know, and the site's supply and boards.

use super::device;
use super::given::{Feeder, Given, Known, Stated};
use crate::finding::Place;
use crate::path;
use crate::record::{OpenPen, Reading, SupplyBy, Use};
use crate::rules::view::{self, CircuitView, JobView};
use crate::rules::{cable, supply};
use crate::tables::ampacity::Arrangement;
use crate::tables::{Edition, ampacity};

/// Why a circuit of a record cannot be worked, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Given {
    /// A circuit of which nothing is known.
    pub(super) fn blank(name: &str, edition: Edition) -> Given {
        Given {
            name: name.to_owned(),
            serves: None,
            visit: None,
            edition,
            usage: None,
            design_a: None,
            ocpd: crate::record::Ocpd::default(),
            rcd: None,
            rcd_for_faults: false,
            cable: crate::record::Cable::default(),
            ev: None,
            earthing: None,
            phases: 1,
            nominal_v: 230.0,
            ze: None,
            zdb: None,
            electrode: None,
            upstream: Vec::new(),
            ipf_ka: None,
            max_demand_a: None,
            cutout_a: None,
            connection: None,
            arrangement: Arrangement::Bunched,
            terminal_c: ampacity::usual_terminal_c().map_or(70, |limit| limit.value as u32),
            let_through_a2s: None,
            stated: Vec::new(),
            assumed: Vec::new(),
        }
    }

    fn state(&mut self, key: &'static str, value: impl std::fmt::Display, unit: &str, from: &str) {
        self.stated.push(Stated { key, value: format!("{value}{unit}"), from: from.to_owned(), instead_of: None });
    }
}

/// Whether a circuit is one to work when none is named: it has a device and a cable.
pub fn is_designed(circuit: CircuitView<'_>) -> bool {
    circuit.usage() != Some(Use::Spare) && circuit.ocpd().is_some() && circuit.cable().is_some()
}

/// Whether something at that place of some visit, or inside or above it, could not be read.
fn is_unsure(circuit: CircuitView<'_>, place: &Place) -> bool {
    let record = circuit.site().jobs().find(|job| job.record.source.path == place.file.path);
    record.is_some_and(|job| job.record.may_lack(&place.path))
}

fn file_name(path: &str) -> String {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.strip_suffix(".md").unwrap_or(name).to_owned()
}

fn refuse_unreadable(circuit: CircuitView<'_>) -> Result<(), Refused> {
    let site = circuit.site();
    fn at<'a, T>(circuit: CircuitView<'a>, known: Option<view::Known<'a, T>>) -> Option<Place> {
        known.map(|known| known.place(circuit.site()))
    }
    let known = [
        at(circuit, circuit.usage_known()),
        at(circuit, circuit.design_a()),
        at(circuit, circuit.ocpd()),
        at(circuit, circuit.rcd()),
        at(circuit, circuit.cable()),
        at(circuit, circuit.ev()),
    ];
    let here = ["use", "design_a", "ocpd", "rcd", "cable", "ev"].map(|key| circuit.place_of(key));
    let unsure = known.into_iter().flatten().chain(here).find(|place| is_unsure(circuit, place));
    let of_supply = path!["supply"];
    let of_site = site.record().filter(|record| record.may_lack(&of_supply)).map(|record| record.source.path.clone());
    let of_visit = circuit.job.record.may_lack(&of_supply).then(|| circuit.job.record.source.path.clone());
    let lost_site = site.records.site.as_ref().filter(|record| record.lost).map(|record| record.source.path.clone());
    match unsure.map(|place| place.file.path.clone()).or(of_visit).or(of_site).or(lost_site) {
        None => Ok(()),
        Some(file) => Err(Refused {
            message: format!("a value that {} stands on cannot be read in {file}", circuit.id()),
            help: format!("`ampledger check {file}` shows it; put it right first."),
        }),
    }
}

/// The last word, up to this visit, on something that visits read.
fn last_read<'a>(job: JobView<'a>, of: impl Fn(JobView<'a>) -> Option<Reading>) -> Option<(f64, JobView<'a>)> {
    std::iter::once(job).chain(job.earlier()).find_map(|visit| Some((of(visit)?.exact()?, visit)))
}

/// What a record and all that stands before it know of a circuit. A record with a hole in what counts here is refused: a factor that
/// cannot be read would be left out, and the sum would come out kinder than it is.
pub fn given_by_record(circuit: CircuitView<'_>, edition: Edition) -> Result<Given, Refused> {
    refuse_unreadable(circuit)?;
    let (site, job) = (circuit.site(), circuit.job);
    let mut given = Given::blank(circuit.id(), edition);
    given.visit = Some(format!("{}/{}", site.id(), job.id()));
    given.serves = circuit.circuit.serves.clone().or_else(|| circuit.previous().find_map(|earlier| earlier.circuit.serves.clone()));
    let from = |place: Place| file_name(&place.file.path);
    if let Some(known) = circuit.usage_known() {
        given.usage = Some(*known.value);
        given.state("use", known.value, "", &from(known.place(site)));
    }
    if let Some(known) = circuit.design_a() {
        given.design_a = Some(**known.value);
        given.state("design_a", known.value, " A", &from(known.place(site)));
    } else if let Some((ev, set)) = circuit.ev().and_then(|ev| Some((ev, ev.value.set_a?))) {
        given.design_a = Some(*set);
        given.state("design_a", set, " A, as the point is set", &from(ev.place(site)));
    }
    if let Some(known) = circuit.ocpd() {
        given.ocpd = known.value.clone();
        let from = from(known.place(site));
        given.state("ocpd", device::words(known.value), "", &from);
        if let Some(breaking) = known.value.breaking_ka {
            given.state("ocpd.breaking_ka", breaking, " kA", &from);
        }
    }
    set_rcd(circuit, &mut given);
    set_cable(circuit, &mut given);
    given.ev = circuit.ev().map(|ev| ev.value.clone());
    if let Some((ev, detection)) = circuit.ev().and_then(|ev| Some((ev, ev.value.dc_detection?))) {
        given.state("ev.dc_detection", detection, "", &from(ev.place(site)));
    }
    set_supply(circuit, &mut given);
    Ok(given)
}

fn set_rcd(circuit: CircuitView<'_>, given: &mut Given) {
    let site = circuit.site();
    let upstream = circuit.upstream();
    let mut rcds = std::iter::once(circuit).chain(upstream.iter().copied()).filter_map(|at| Some((at, at.rcd()?)));
    if let Some((at, known)) = rcds.next() {
        given.rcd = Some(known.value.clone());
        let whose = if at.id() == circuit.id() { String::new() } else { format!(", at {}", at.id()) };
        let from = format!("{}{whose}", file_name(&known.place(site).file.path));
        if let Some(kind) = known.value.kind {
            given.state("rcd.type", kind, "", &from);
        }
        if let Some(trip) = known.value.trip_ma {
            given.state("rcd.trip_ma", trip, " mA", &from);
        }
    }
    given.rcd_for_faults =
        std::iter::once(circuit).chain(upstream).any(|at| at.rcd().is_some_and(|rcd| rcd.value.gives_fault_protection == Some(true)));
}

fn set_cable(circuit: CircuitView<'_>, given: &mut Given) {
    let Some(known) = circuit.cable() else { return };
    let cable = known.value;
    let from = file_name(&known.place(circuit.site()).file.path);
    let length_by = cable.length_by.map_or(String::new(), |by| format!(", {by}"));
    let facts = [
        ("cable.make_up", cable.make_up.map(|value| value.to_string())),
        ("cable.cores", cable.cores.map(|value| value.to_string())),
        ("cable.line_mm2", cable.line_mm2.map(|value| format!("{value} mm2"))),
        ("cable.cpc_mm2", cable.cpc_mm2.map(|value| format!("{value} mm2"))),
        ("cable.cpc", cable.cpc.map(|value| value.to_string())),
        ("cable.length_m", cable.length_m.map(|value| format!("{value} m{length_by}"))),
        ("cable.method", cable.method.clone()),
        ("cable.ambient_c", cable.ambient_c.map(|value| format!("{value} C"))),
        ("cable.grouped", cable.grouped.map(|value| value.to_string())),
        ("cable.insulation_mm", cable.insulation_mm.map(|value| format!("{value} mm"))),
    ];
    for (key, value) in facts {
        if let Some(value) = value {
            given.state(key, value, "", &from);
        }
    }
    given.cable = cable.clone();
}

fn set_supply(circuit: CircuitView<'_>, given: &mut Given) {
    let (site, job) = (circuit.site(), circuit.job);
    let is_island = circuit.ev().is_some_and(|ev| ev.value.open_pen == Some(OpenPen::Tt));
    given.earthing = circuit.earthing();
    if let Some(earthing) = given.earthing {
        given.state("supply.earthing", earthing, "", if is_island { "the point's own electrode" } else { "site.md" });
    }
    match circuit.ocpd().and_then(|ocpd| cable::loaded_phases(circuit, ocpd.value)) {
        Some(phases) => given.phases = phases,
        None => given.assumed.push("single-phase: neither supply.phases nor ocpd.poles says".to_owned()),
    }
    given.nominal_v = site.supply().and_then(|supply| supply.nominal_v).map_or(230.0, |volts| *volts);
    set_loop(circuit, is_island, given);
    set_level(circuit, given);
    given.max_demand_a = job.data().supply.as_ref().and_then(|supply| supply.max_demand_a).map(|demand| *demand);
    if given.usage != Some(Use::Ev) {
        return;
    }
    if let Some(demand) = given.max_demand_a {
        given.state("supply.max_demand_a", demand, " A", job.id());
    }
    given.cutout_a = site.supply().and_then(|supply| supply.cutout.as_ref()).and_then(|cutout| cutout.rating_a).map(|rating| *rating);
    if let Some(cutout) = given.cutout_a {
        given.state("supply.cutout.rating_a", cutout, " A", "site.md");
    }
    given.connection = site.supply().map(|site_supply| supply::connection(job, site_supply));
}

/// The loop that the circuit starts from. A point on an electrode of its own has no part in the supply's.
fn set_loop(circuit: CircuitView<'_>, is_island: bool, given: &mut Given) {
    let (site, job) = (circuit.site(), circuit.job);
    if let Some((ohm, visit)) = last_read(job, |visit| visit.data().supply.as_ref()?.electrode_ohm) {
        given.state("supply.electrode_ohm", ohm, " ohm", visit.id());
        given.electrode = Some(Known { value: ohm, from: visit.id().to_owned() });
    }
    if is_island {
        return;
    }
    let read = last_read(job, |visit| visit.data().supply.as_ref()?.ze_ohm);
    let declared = site.supply().and_then(|supply| supply.declared.as_ref()).and_then(|declared| declared.ze_ohm);
    let ze = match (read, declared) {
        (Some((ohm, visit)), _) => {
            let by = visit.data().supply.as_ref().and_then(|supply| supply.ze_by).unwrap_or(SupplyBy::Measured);
            Some((ohm, format!("{by}, {}", visit.id())))
        }
        (None, Some(ohm)) => Some((*ohm, "declared by the operator, site.md".to_owned())),
        (None, None) => None,
    };
    if let Some((ohm, from)) = ze {
        given.state("supply.ze_ohm", ohm, " ohm", &from);
        given.ze = Some(Known { value: ohm, from });
    }
    let board = circuit.board_id();
    let at_board = |visit: JobView<'_>| visit.data().boards.iter().find(|read| read.id.as_deref() == Some(board))?.zdb_ohm;
    if let Some((ohm, visit)) = last_read(job, at_board) {
        given.state("boards.zdb_ohm", ohm, " ohm", visit.id());
        given.zdb = Some(Known { value: ohm, from: visit.id().to_owned() });
    }
    given.upstream = circuit
        .upstream()
        .into_iter()
        .map(|feeder| Feeder {
            id: feeder.id().to_owned(),
            design_a: feeder.design_a().map(|design| **design.value),
            phases: feeder.ocpd().and_then(|ocpd| cable::loaded_phases(feeder, ocpd.value)).unwrap_or(1),
            cable: feeder.cable().map(|cable| cable.value.clone()),
        })
        .collect();
    let fed_from = circuit.board().and_then(|(_, board)| board.fed_from.as_deref());
    match fed_from {
        None => given.assumed.push(format!("board {board} is fed from the origin: site.md does not say")),
        Some("origin") => {}
        Some(feeder) if given.upstream.is_empty() => {
            given.upstream.push(Feeder { id: feeder.to_owned(), design_a: None, phases: 1, cable: None });
        }
        Some(_) => {}
    }
}

/// The greatest fault current at the board: read there, else at the origin, else declared.
fn set_level(circuit: CircuitView<'_>, given: &mut Given) {
    let (site, job) = (circuit.site(), circuit.job);
    let board = circuit.board_id();
    let at_board = last_read(job, |visit| visit.data().boards.iter().find(|read| read.id.as_deref() == Some(board))?.ipf_ka)
        .map(|(ka, visit)| (ka, format!("read at the board, {}", visit.id())));
    let at_origin =
        || last_read(job, |visit| visit.data().supply.as_ref()?.ipf_ka).map(|(ka, visit)| (ka, format!("at the origin, {}", visit.id())));
    let declared = || {
        let ka = site.supply()?.declared.as_ref()?.ipf_ka?;
        Some((*ka, "declared by the operator, site.md".to_owned()))
    };
    if let Some((ka, from)) = at_board.or_else(at_origin).or_else(declared) {
        given.state("ipf_ka", ka, " kA", &from);
        given.ipf_ka = Some(Known { value: ka, from });
    }
}
