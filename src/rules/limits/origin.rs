//! Readings at the origin: Ze, voltage, the electrode, and main bonding.

use super::{is_settled_at_origin, over, under};
use crate::finding::Grade;
use crate::path;
use crate::record::{Bonding, Earthing, Reading, SupplyBy, Use};
use crate::rules::protection;
use crate::rules::view::{CircuitView, JobView, SiteView};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::{Limit, conductors, electrode, supply};

pub(super) const TN_WITHOUT_EARTH: Rule = Rule {
    id: "tn-ze-over-1-ohm",
    family: Family::Limits,
    grade: Grade::Danger,
    title: "Ze on a TN supply is no TN reading",
    looks_at: "`supply.ze_ohm` over about 1 ohm where site.md says TN-S or TN-C-S. Quiet where the network operator has declared as much, \
               where the figure is from enquiry, and where the visit reported it and a later one read Ze again.",
    why: "The supplier's earth is failing or lost, or the supply is TT. Either way no overcurrent device will clear an earth fault.",
    sources: &["common practice (1 ohm)", "ENA Engineering Recommendation P23/1:1991 (0.35 and 0.8 ohm, typical)"],
    bad: Example::Keys(SURVEY_WITHOUT_EARTH),
    good: Example::Keys(SURVEY_DECLARED),
    cure: "Stop, make safe, and call the network operator. If it is TT, correct the earthing in site.md and judge every circuit again.",
    check: Check::Job(check_tn),
};

const SURVEY_WITHOUT_EARTH: &str = "
sites/elm-row/2026-11-20-survey.md:
  record: job
  kind: survey
  status: complete
  title: Look at the supply for a second charge point
  regulations: BS 7671:2018+A4:2026
  dates: {tested: 2026-11-20}
  people: {tested: jd}
  instruments: [mft-1]
  supply: {ze_ohm: 48, ze_by: measured, polarity: correct}";
const SURVEY_DECLARED: &str = "
sites/elm-row/site.md: {supply: {declared: {ze_ohm: 1.2}}}
sites/elm-row/2026-11-20-survey.md:
  record: job
  kind: survey
  status: complete
  title: Look at the supply for a second charge point
  regulations: BS 7671:2018+A4:2026
  dates: {tested: 2026-11-20}
  people: {tested: jd}
  instruments: [mft-1]
  supply: {ze_ohm: 1.10, ze_by: measured, polarity: correct}";

pub(super) const ZE_OVER_DECLARED: Rule = Rule {
    id: "ze-over-declared",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "Ze is over what the network operator declares",
    looks_at: "`supply.ze_ohm` against `supply.declared.ze_ohm` in site.md. Quiet at the declared figure, for figures from enquiry, and on TT.",
    why: "The design rests on the declared figure; a loop above it is the operator's to explain.",
    sources: &["BS 7671:2018 313.1"],
    bad: Example::Keys(ZE_037),
    good: Example::Keys(ZE_034),
    cure: "Read it again with the main switch off and the earthing conductor out; tell the network operator and note the answer.",
    check: Check::Job(check_declared),
};

const ZE_037: &str = "
supply: {ze_ohm: 0.37, ipf_ka: 0.62}
boards: [{id: main, zdb_ohm: 0.38, ipf_ka: 0.60}]
circuits: [{id: main/1, readings: {zs_ohm: 0.51}}, {id: main/2, readings: {zs_ohm: 0.81}}]";
const ZE_034: &str = "
supply: {ze_ohm: 0.34, ipf_ka: 0.67}
boards: [{id: main, zdb_ohm: 0.35, ipf_ka: 0.65}]
circuits: [{id: main/1, readings: {zs_ohm: 0.48}}, {id: main/2, readings: {zs_ohm: 0.78}}]";

pub(super) const ZE_OVER_USUAL: Rule = Rule {
    id: "ze-over-usual",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "Ze is over the usual highest figure for the earthing system",
    looks_at: "`supply.ze_ohm` against 0.35 ohm on TN-C-S and 0.8 ohm on TN-S, where site.md gives no declared figure. Long rural lines do \
               exceed them. Quiet for figures from enquiry, and on TT.",
    why: "It may be a long line, or a joint on its way out. The operator can tell which.",
    sources: &["ENA Engineering Recommendation P23/1:1991 (typical, never guaranteed)"],
    bad: Example::Keys(ZE_062_UNDECLARED),
    good: Example::Keys(ZE_062_DECLARED),
    cure: "Ask the network operator and record the figure under `declared` in site.md.",
    check: Check::Job(check_usual),
};

const ZE_062_UNDECLARED: &str = "
sites/elm-row/site.md: {supply: {declared: {ze_ohm: ~}}}
supply: {ze_ohm: 0.62, ipf_ka: 0.37}
boards: [{id: main, zdb_ohm: 0.63, ipf_ka: 0.36}]
circuits: [{id: main/1, readings: {zs_ohm: 0.76}}, {id: main/2, readings: {zs_ohm: 1.07}}]";
const ZE_062_DECLARED: &str = "
sites/elm-row/site.md: {supply: {declared: {ze_ohm: 0.7}}}
supply: {ze_ohm: 0.62, ipf_ka: 0.37}
boards: [{id: main, zdb_ohm: 0.63, ipf_ka: 0.36}]
circuits: [{id: main/1, readings: {zs_ohm: 0.76}}, {id: main/2, readings: {zs_ohm: 1.07}}]";

pub(super) const VOLTAGE: Rule = Rule {
    id: "supply-voltage-out-of-range",
    family: Family::Limits,
    grade: Grade::Breach,
    title: "The supply voltage is outside the statutory range",
    looks_at: "`supply.supply_v` against 216.2 to 253.0 V, or between lines 376 to 440 V. Quiet where site.md gives another nominal voltage \
               than 230 V.",
    why: "Too high ages and burns equipment; too low, or wandering, can be a neutral on its way out.",
    sources: &["Electricity Safety, Quality and Continuity Regulations 2002 reg 27"],
    bad: Example::Keys("supply: {supply_v: 256}"),
    good: Example::Keys("supply: {supply_v: 253}"),
    cure: "Measure again at the cut-out, load off and on. Report it to the network operator the same day.",
    check: Check::Job(check_voltage),
};

pub(super) const ELECTRODE_OVER_LIMIT: Rule = Rule {
    id: "electrode-over-limit",
    family: Family::Limits,
    grade: Grade::Danger,
    title: "Electrode resistance is too high for the RCD",
    looks_at: "`supply.electrode_ohm` (on TT without one, `ze_ohm`) times the trip current of the least sensitive RCD that a circuit depends \
               on, against 50 V. Also a TT earth of a charge point's own. Quiet where no RCD is recorded.",
    why: "In an earth fault metalwork rises over 50 V before the RCD opens, and may stay there.",
    sources: &["BS 7671:2018 411.5.3 with Table 41.5; the same in BS 7671:2008"],
    bad: Example::Keys(TT_TOO_HIGH),
    good: Example::Keys(TT_LOW),
    cure: "Lower the electrode's resistance or fit a more sensitive RCD before it is used.",
    check: Check::Job(check_electrode),
};

const TT_TOO_HIGH: &str = "
sites/elm-row/site.md: {supply: {earthing: TT, electrode: {kind: rod, where: by the meter box}, declared: {ze_ohm: ~}}}
supply: {ze_ohm: 1861, electrode_ohm: 1840, electrode_by: three-terminal}
boards: [{id: main, zdb_ohm: 48.1, ipf_ka: 1.15}]
circuits:
  - {id: main/1, rcd: {gives_fault_protection: true}, ev: {open_pen: ~, pen_statement: ~}, readings: {zs_ohm: 48.3}}
  - {id: main/2, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 48.6}}";
const TT_LOW: &str = "
sites/elm-row/site.md: {supply: {earthing: TT, electrode: {kind: rod, where: by the meter box}, declared: {ze_ohm: ~}}}
supply: {ze_ohm: 152, electrode_ohm: 132, electrode_by: three-terminal}
boards: [{id: main, zdb_ohm: 48.1, ipf_ka: 1.15}]
circuits:
  - {id: main/1, rcd: {gives_fault_protection: true}, ev: {open_pen: ~, pen_statement: ~}, readings: {zs_ohm: 48.3}}
  - {id: main/2, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 48.6}}";

pub(super) const ELECTRODE_UNSTABLE: Rule = Rule {
    id: "electrode-over-200-ohm",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "Electrode resistance is high enough not to be stable",
    looks_at: "`supply.electrode_ohm` (on TT without one, `ze_ohm`) over 200 ohm and within what the RCD allows. Advice, not a limit.",
    why: "A reading over 200 ohm can climb out of limit when the ground dries or freezes.",
    sources: &["BS 7671:2018 Table 41.5 note 2 (advice)"],
    bad: Example::Keys(TT_HIGH),
    good: Example::Keys(TT_AT_200),
    cure: "Another rod or a deeper one; or answer with the ground, the weather and the date it is to be read again.",
    check: Check::Job(check_electrode_advice),
};

const TT_HIGH: &str = "
sites/elm-row/site.md: {supply: {earthing: TT, electrode: {kind: rod, where: by the meter box}, declared: {ze_ohm: ~}}}
supply: {ze_ohm: 555, electrode_ohm: 534, electrode_by: three-terminal}
boards: [{id: main, zdb_ohm: 48.1, ipf_ka: 1.15}]
circuits:
  - {id: main/1, rcd: {gives_fault_protection: true}, ev: {open_pen: ~, pen_statement: ~}, readings: {zs_ohm: 48.3}}
  - {id: main/2, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 48.6}}";
const TT_AT_200: &str = "
sites/elm-row/site.md: {supply: {earthing: TT, electrode: {kind: rod, where: by the meter box}, declared: {ze_ohm: ~}}}
supply: {ze_ohm: 221, electrode_ohm: 200, electrode_by: three-terminal}
boards: [{id: main, zdb_ohm: 48.1, ipf_ka: 1.15}]
circuits:
  - {id: main/1, rcd: {gives_fault_protection: true}, ev: {open_pen: ~, pen_statement: ~}, readings: {zs_ohm: 48.3}}
  - {id: main/2, rcd: {gives_fault_protection: true}, readings: {zs_ohm: 48.6}}";

pub(super) const BONDING: Rule = Rule {
    id: "bonding-reading-high",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "A main bond reads too high to be a bond",
    looks_at: "`reading_ohm` of each main bond in site.md: over about 0.05 ohm and what the copper of its recorded length and size reads \
               besides. Advice from memory: it only asks.",
    why: "A bond that reads high is loose, thin or not there, and pipework rises to a touch voltage in a fault.",
    sources: &["Guidance Note 3 (0.05 ohm; memory)", "IEC 60228 Table 2 (resistance of the conductor)"],
    bad: Example::Keys("sites/elm-row/site.md: {supply: {bonding: [{service: water, mm2: 10, length_m: 8, reading_ohm: 0.90}]}}"),
    good: Example::Keys("sites/elm-row/site.md: {supply: {bonding: [{service: water, mm2: 10, length_m: 8, reading_ohm: 0.06}]}}"),
    cure: "Read it again with a long lead, nulled, on the clamp and on the pipe beyond it. Record the length.",
    check: Check::Site(check_bonding),
};

pub(super) const BOND_TOO_SMALL: Rule = Rule {
    id: "bond-too-small",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "A main bond on a PME supply is thinner than any such bond may be",
    looks_at: "`mm2` of each main bond in site.md where the earthing is TN-C-S, against 10 mm2, the least of all PEN sizes. From memory, so it \
               only asks. Quiet on TN-S and TT, whose bonds may be smaller, and where the size is missing.",
    why: "With a broken PEN conductor the bond carries the neutral current of the house, perhaps of the street, for as long as it lasts.",
    sources: &["BS 7671:2018 Table 54.8 (memory)"],
    bad: Example::Keys("sites/elm-row/site.md: {supply: {bonding: [{service: water, mm2: 6, length_m: 8, reading_ohm: 0.03}]}}"),
    good: Example::Keys("sites/elm-row/site.md: {supply: {bonding: [{service: water, mm2: 10, length_m: 8, reading_ohm: 0.03}]}}"),
    cure: "Look at the conductor again. If it is so small, code it or replace it before more load goes on this supply.",
    check: Check::Site(check_bond_size),
};

/// A TN supply's Ze above this, ohm, is no longer a TN reading. Common practice, and a screening threshold of this program's own; the
/// usual ceilings are 0.35 and 0.8 ohm. It stands here and not in a table, so that no lookup can silence the danger.
const TN_ZE_OHM: f64 = 1.0;

/// Ze as it was read on a TN supply, and the operator's declared figure.
fn tn_ze<'a>(job: JobView<'a>) -> Option<(Reading, Option<f64>)> {
    let supply = job.data().supply.as_ref()?;
    let site = job.site.supply()?;
    let is_tn = matches!(site.earthing, Some(Earthing::TnS | Earthing::TnCS));
    let is_read = is_tn && supply.ze_by != Some(SupplyBy::Enquiry) && !job.is_unreadable(&path!["supply", "ze_by"]);
    let declared = site.declared.as_ref().and_then(|declared| declared.ze_ohm).map(|ze| *ze);
    is_read.then_some((supply.ze_ohm?, declared))
}

fn is_far_over(reading: &Reading, declared: Option<f64>) -> bool {
    over(reading, declared.map_or(TN_ZE_OHM, |declared| declared.max(TN_ZE_OHM)))
}

fn ze_is_settled(job: JobView<'_>) -> bool {
    is_settled_at_origin(job, |later| later.ze_ohm.is_some())
}

fn earthing_words(job: JobView<'_>) -> &'static str {
    job.site.earthing().map_or("a TN supply", Earthing::as_str)
}

fn check_tn(job: JobView<'_>, report: &mut Report<'_>) {
    let Some((reading, declared)) = tn_ze(job) else { return };
    if !is_far_over(&reading, declared) || ze_is_settled(job) {
        return;
    }
    let message =
        format!("Ze {reading} ohm on {}: over about {TN_ZE_OHM} ohm there is no sound earth from the supply", earthing_words(job));
    report
        .raise(job.place(path!["supply", "ze_ohm"]), message)
        .label("measured here")
        .source("common practice")
        .because(job.site.place(path!["supply", "earthing"]), "said to be TN");
}

fn check_declared(job: JobView<'_>, report: &mut Report<'_>) {
    let Some((reading, Some(declared))) = tn_ze(job) else { return };
    if !over(&reading, declared) || is_far_over(&reading, Some(declared)) || ze_is_settled(job) {
        return;
    }
    report
        .raise(
            job.place(path!["supply", "ze_ohm"]),
            format!("Ze {reading} ohm is over the {declared} ohm that the network operator declares"),
        )
        .label("measured here")
        .source("BS 7671:2018 313.1")
        .because(job.site.place(path!["supply", "declared", "ze_ohm"]), "declared here");
}

fn check_usual(job: JobView<'_>, report: &mut Report<'_>) {
    let Some((reading, None)) = tn_ze(job) else { return };
    let declared = path!["supply", "declared"];
    if job.site.record().is_none_or(|site| site.is_unreadable(&declared) || site.is_unreadable(&declared.at("ze_ohm"))) {
        return;
    }
    let Some(usual) = job.site.earthing().and_then(supply::usual_ze).filter(|usual| over(&reading, usual.value)) else { return };
    if is_far_over(&reading, None) || ze_is_settled(job) {
        return;
    }
    let message = format!("Ze {reading} ohm is over the usual {usual} on {}: what does the network operator say?", earthing_words(job));
    report
        .raise(job.place(path!["supply", "ze_ohm"]), message)
        .label("measured here")
        .source(usual.source)
        .because(job.site.place(path!["supply", "earthing"]), "usual for this earthing system");
}

fn check_voltage(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(reading) = job.data().supply.as_ref().and_then(|supply| supply.supply_v) else { return };
    let nominal = job.site.supply().and_then(|supply| supply.nominal_v);
    if nominal.is_some_and(|volts| *volts != 230.0) || is_settled_at_origin(job, |later| later.supply_v.is_some()) {
        return;
    }
    // On a three-phase supply the voltage may have been read between lines.
    let between_lines = job.site.phases() == 3 && reading.value > 300.0;
    let Some((lowest, highest)) = supply::voltage_range(if between_lines { 3 } else { 1 }) else { return };
    let (beyond, limit) = match () {
        () if over(&reading, highest.value) => ("over the highest", highest),
        () if under(&reading, lowest.value) => ("under the lowest", lowest),
        () => return,
    };
    report
        .raise(job.place(path!["supply", "supply_v"]), format!("supply voltage {reading} V is {beyond} allowed, {limit}"))
        .label("measured here")
        .source(limit.source);
}

/// An electrode as a visit read it: the reading, its key, and the circuits that depend on it.
struct ElectrodeRead<'a> {
    reading: Reading,
    key: &'static str,
    dependent: Vec<CircuitView<'a>>,
}

fn electrode_read<'a>(job: JobView<'a>) -> Option<ElectrodeRead<'a>> {
    let supply = job.data().supply.as_ref()?;
    let is_tt = job.site.earthing() == Some(Earthing::Tt);
    let (reading, key) = match (supply.electrode_ohm, supply.ze_ohm) {
        (Some(reading), _) => (reading, "electrode_ohm"),
        (None, Some(reading)) if is_tt && !job.is_unreadable(&path!["supply", "electrode_ohm"]) => (reading, "ze_ohm"),
        _ => return None,
    };
    let on_it = |circuit: &CircuitView<'a>| circuit.earthing() == Some(Earthing::Tt) && circuit.usage() != Some(Use::Spare);
    let dependent: Vec<_> = job.installation().into_iter().filter(on_it).collect();
    // An electrode on a TN supply that no circuit stands on, such as one added to the PEN conductor, has no such limit.
    (is_tt || !dependent.is_empty()).then_some(ElectrodeRead { reading, key, dependent })
}

/// The lowest limit that a circuit on the electrode sets, with that circuit.
fn strictest<'a>(job: JobView<'a>, dependent: &[CircuitView<'a>]) -> Option<(CircuitView<'a>, f64, Limit)> {
    let edition = job.edition()?;
    let limits = dependent.iter().filter_map(|circuit| {
        let (_, trip_ma) = protection::most_sensitive(*circuit)?;
        Some((*circuit, trip_ma, electrode::limit(trip_ma, edition)?))
    });
    limits.min_by(|a, b| a.2.value.total_cmp(&b.2.value))
}

fn check_electrode(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(read) = electrode_read(job) else { return };
    let Some((circuit, trip_ma, limit)) = strictest(job, &read.dependent).filter(|(_, _, limit)| over(&read.reading, limit.value)) else {
        return;
    };
    if is_settled_at_origin(job, |later| later.electrode_ohm.is_some() || later.ze_ohm.is_some()) {
        return;
    }
    let message = format!(
        "electrode {} ohm is over the {limit} that the {trip_ma} mA RCD of {} allows (50 V / {trip_ma} mA)",
        read.reading,
        circuit.id()
    );
    let finding = report.raise(job.place(path!["supply", read.key]), message).label("measured here").source(limit.source);
    if let Some((rcd, _)) = protection::most_sensitive(circuit) {
        finding.because(rcd.place_of(job.site, "trip_ma"), "limit from this RCD");
    }
}

fn check_electrode_advice(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(read) = electrode_read(job) else { return };
    let Some(advice) = job.edition().and_then(electrode::advice).filter(|advice| over(&read.reading, advice.value)) else { return };
    let is_over_limit = strictest(job, &read.dependent).is_some_and(|(_, _, limit)| over(&read.reading, limit.value));
    if is_over_limit || is_settled_at_origin(job, |later| later.electrode_ohm.is_some() || later.ze_ohm.is_some()) {
        return;
    }
    let message = format!("electrode {} ohm is over {advice}: will it stay within limit in a dry summer?", read.reading);
    report.raise(job.place(path!["supply", read.key]), message).label("measured here").source(format!("{} (advice)", advice.source));
}

/// Resistance of a bond's own copper at 20 C, ohm; nothing where its size or length is not recorded or not made.
fn copper_ohm(bond: &Bonding) -> Option<f64> {
    let per_m = conductors::resistance(*bond.mm2?)?;
    Some(per_m.value * *bond.length_m? / 1000.0)
}

fn check_bonding(site: &SiteView<'_>, report: &mut Report<'_>) {
    let (Some(supply), Some(usual)) = (site.supply(), supply::bond_reading()) else { return };
    for (index, bond) in supply.bonding.iter().enumerate() {
        let Some(reading) = bond.reading_ohm else { continue };
        let bond_path = path!["supply", "bonding", index];
        let facts = ["mm2", "length_m"];
        if site.record().is_none_or(|record| facts.iter().any(|key| record.is_unreadable(&bond_path.at(*key)))) {
            continue;
        }
        let expected = usual.value + copper_ohm(bond).unwrap_or_default();
        if !over(&reading, expected) {
            continue;
        }
        let service = bond.service.map_or("other", |service| service.as_str());
        let message = format!("{service} bond reads {reading} ohm; with its clamps it should read under about {expected:.2} ohm");
        let place = site.place(bond_path.at("reading_ohm"));
        report.raise(place, message).subject(service).label("measured here").source("Guidance Note 3 (memory)");
    }
}

fn check_bond_size(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(supply) = site.supply() else { return };
    let Some(least) = supply.earthing.and_then(supply::least_bond_mm2) else { return };
    for (index, bond) in supply.bonding.iter().enumerate() {
        let Some(mm2) = bond.mm2.filter(|mm2| **mm2 < least.value) else { continue };
        let service = bond.service.map_or("other", |service| service.as_str());
        let message = format!("{service} bond of {mm2} mm2 on a PME supply: {least} is the least, a figure from memory");
        let finding = report.raise(site.place(path!["supply", "bonding", index, "mm2"]), message);
        finding.subject(service).label("this size").source(format!("{} (memory)", least.source));
        finding.because(site.place(path!["supply", "earthing"]), "PME");
    }
}
