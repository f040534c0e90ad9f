//! Earth fault loop impedance against the device that has to clear the fault.

use super::{danger_unless_off, is_settled, over};
use crate::finding::{Grade, Place};
use crate::path;
use crate::record::{Earthing, Ocpd, Rcd, Reading, ReadingKey, ZsBy};
use crate::rules::protection;
use crate::rules::view::{CircuitView, Known};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::disconnection::{self, Feeds};
use crate::tables::{DeviceStandard, Edition, Limit, electrode, zs};

pub(super) const OVER_LIMIT: Rule = Rule {
    id: "zs-over-limit",
    family: Family::Limits,
    grade: Grade::Danger,
    title: "Loop impedance is over what the protective device allows",
    looks_at: "`zs_ohm` against the table for the circuit's device, curve and rating, at the disconnection time its use asks for, by the \
               edition the visit cites. Where an RCD gives the fault protection (TT, a TT earth of the charge point's own, or \
               `gives_fault_protection: true`), against 50 V over its trip current instead. The maximum is worked out, never typed. \
               Quiet where the device or its rating is not recorded, and where the visit reported the circuit and a later one took Zs \
               again. A breach, not a danger, while a fault of the visit leaves the circuit isolated; a question where the limit is \
               known from memory only (BS 3871).",
    why: "In an earth fault the device does not open in time, and metal that people touch stays live.",
    sources: &[
        "BS 7671:2018 411.4.4 with Tables 41.2, 41.3 and 41.4; BS 7671:2008 to 2013 the same tables before the voltage factor",
        "BS 7671:2018 411.5.3 with Table 41.5 for RCDs",
        "BS 7671:2018 411.3.2 with Table 41.1 for the times",
    ],
    bad: Example::Keys("circuits: [{id: main/1, ocpd: {curve: D}}]"),
    good: Example::Keys("circuits: [{id: main/1, ocpd: {curve: C}}]"),
    cure: "Do not leave it in use as it is. Find why the loop is high (terminations, cpc, length, size), or fit a device that it suits.",
    check: Check::Circuit(check_over_limit),
};

pub(super) const OVER_COLD_LIMIT: Rule = Rule {
    id: "zs-over-cold-limit",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "Loop impedance read cold is within the table, and over 0.8 of it",
    looks_at: "Measured `zs_ohm` between 0.8 of the device's table value and the table value. Quiet for `zs_by: calculated`, and where an \
               RCD gives the fault protection.",
    why: "The table holds for conductors at their working temperature. Copper read cold gains about a fifth when it is hot, and the loop \
          may then be over the limit.",
    sources: &["BS 7671:2018 Appendix 3 (the 0.8 rule of thumb)"],
    bad: Example::Keys("circuits: [{id: main/1, ocpd: {curve: C}, cable: {length_m: 40}, readings: {r1_r2_ohm: 0.26, zs_ohm: 0.47}}]"),
    good: Example::Keys("circuits: [{id: main/1, ocpd: {curve: C}, cable: {length_m: 36}, readings: {r1_r2_ohm: 0.24, zs_ohm: 0.44}}]"),
    cure: "Work Zs out at the working temperature from Ze and R1+R2, or find what makes the loop high. If it stands, answer with the figure.",
    check: Check::Circuit(check_cold),
};

pub(super) const LEFT_TO_RCD: Rule = Rule {
    id: "zs-left-to-rcd",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "The loop is too high for the overcurrent device, and the RCD has to clear an earth fault",
    looks_at: "TN circuits with `gives_fault_protection: true`, of their own or on a circuit that feeds their board, whose `zs_ohm` is over \
               the table of their overcurrent device. Quiet on TT, where the RCD always gives the fault protection.",
    why: "On a TN supply a loop that high has a cause. A loose joint or a cpc about to open is hidden by an RCD that would still trip.",
    sources: &["BS 7671:2018 411.4.4, 411.4.5 and Table 41.5", "common practice"],
    bad: Example::Keys("circuits: [{id: main/1, ocpd: {curve: D}, rcd: {gives_fault_protection: true}}]"),
    good: Example::Keys("circuits: [{id: main/1, ocpd: {curve: C}, rcd: {gives_fault_protection: true}}]"),
    cure: "Say in an answer why the loop is high, such as the length of the run; otherwise find the joint.",
    check: Check::Circuit(check_left_to_rcd),
};

pub(super) const NOT_JUDGED: Rule = Rule {
    id: "zs-not-judged",
    family: Family::Limits,
    grade: Grade::Doubt,
    title: "No published limit is held for the device, and Zs was not judged",
    looks_at: "`zs_ohm` on a circuit whose device has a standard and a rating for which neither a table nor a formula gives a maximum. \
               Quiet where the standard, the rating or the curve is missing, and where an RCD gives the fault protection.",
    why: "Silence would read as a pass. Nothing here has compared this reading with anything.",
    sources: &["BS 7671:2018 411.4.5 (the device's own data)"],
    bad: Example::Keys("circuits: [{id: main/1, ocpd: {standard: BS EN 60947-2, curve: ~}, rcd: {standard: BS EN 61008-1}}]"),
    good: Example::Keys("circuits: [{id: main/1, ocpd: {standard: BS 88-2, curve: ~}, rcd: {standard: BS EN 61008-1}}]"),
    cure: "Check standard, curve and rating for a slip. If they are right, compare Zs with the maker's data and say so in an answer.",
    check: Check::Circuit(check_not_judged),
};

/// What a loop impedance is held against, and the words for it.
pub(super) struct Held<'a> {
    /// The highest impedance allowed, ohm.
    pub limit: Limit,
    circuit: CircuitView<'a>,
    by: By<'a>,
}

impl Held<'_> {
    /// What allows it: `a B32 to BS EN 60898 allows for 0.4 s`.
    fn allows(&self) -> String {
        match &self.by {
            By::Overcurrent { ocpd, standard, time } => format!("{} allows for {time}", device_words(ocpd.value, *standard)),
            By::Rcd { trip_ma, .. } => format!("a {trip_ma} mA RCD allows (50 V / {trip_ma} mA)"),
        }
    }

    /// Where the reason stands.
    fn because(&self) -> (Place, &'static str) {
        match &self.by {
            By::Overcurrent { ocpd, .. } => (ocpd.place_of(self.circuit.site(), "rating_a"), "limit from this device"),
            By::Rcd { rcd, .. } => (rcd.place_of(self.circuit.site(), "trip_ma"), "this RCD gives the fault protection"),
        }
    }
}

/// What has to clear an earth fault.
enum By<'a> {
    Overcurrent { ocpd: Known<'a, Ocpd>, standard: DeviceStandard, time: disconnection::DisconnectionTime },
    Rcd { rcd: Known<'a, Rcd>, trip_ma: f64 },
}

/// What has to be true of the supply for the tables to hold: 230 V (240 V in old records) to earth.
fn is_low_voltage_mains(circuit: CircuitView<'_>) -> bool {
    let nominal = circuit.site().supply().and_then(|supply| supply.nominal_v);
    nominal.is_none_or(|volts| (220.0..=250.0).contains(&*volts))
}

/// Whether something stands in this visit's record of the devices that could not be read and that decides which of them has to open.
fn has_unreadable_device(circuit: CircuitView<'_>) -> bool {
    if circuit.job.is_whole() {
        return false;
    }
    let decisive = [circuit.path().at("ocpd"), circuit.path().at("rcd").at("gives_fault_protection")];
    decisive.iter().any(|path| circuit.job.is_unreadable(path))
}

/// What the circuit's loop impedance is held against; nothing where the record does not say enough, or says something unreadable.
pub(super) fn held(circuit: CircuitView<'_>) -> Option<Held<'_>> {
    if has_unreadable_device(circuit) || !is_low_voltage_mains(circuit) {
        return None;
    }
    if protection::is_by_rcd(circuit)? { by_rcd(circuit) } else { by_overcurrent(circuit) }
}

fn by_rcd(circuit: CircuitView<'_>) -> Option<Held<'_>> {
    let edition = circuit.job.edition()?;
    let (rcd, trip_ma) = protection::most_sensitive(circuit)?;
    let limit = electrode::limit(trip_ma, edition)?;
    Some(Held { limit, circuit, by: By::Rcd { rcd, trip_ma } })
}

fn by_overcurrent(circuit: CircuitView<'_>) -> Option<Held<'_>> {
    let edition = circuit.job.edition()?;
    let ocpd = circuit.ocpd()?;
    let rating = *ocpd.value.rating_a?;
    let standard = DeviceStandard::parse(ocpd.value.standard.as_deref()?)?;
    let time = time_of(circuit, rating, edition)?;
    let limit = zs::max_zs(standard, ocpd.value.curve.as_deref(), rating, time, edition)?;
    Some(Held { limit, circuit, by: By::Overcurrent { ocpd, standard, time } })
}

/// The time in which the overcurrent device has to open. Where the use is not known, the longest that could hold, so that what is over
/// its limit is over any. On TT without an RCD the TN times, which hold where all extraneous-conductive-parts are bonded.
fn time_of(circuit: CircuitView<'_>, rating_a: f64, edition: Edition) -> Option<disconnection::DisconnectionTime> {
    let earthing = match circuit.earthing()? {
        Earthing::Tt => Earthing::TnS,
        other => other,
    };
    let feeds = circuit.usage().and_then(Feeds::of).unwrap_or(Feeds::Distribution);
    disconnection::time(earthing, feeds, rating_a, edition).map(|(time, _)| time)
}

/// A device in words: `a B32 to BS EN 60898`, `a type 2 30 A breaker to BS 3871`, `a 30 A fuse to BS 3036`.
fn device_words(ocpd: &Ocpd, standard: DeviceStandard) -> String {
    let rating = ocpd.rating_a.map_or(String::new(), |rating| rating.to_string());
    match ocpd.curve.as_deref().map(str::trim) {
        Some(curve) if standard == DeviceStandard::Bs3871 => format!("a type {curve} {rating} A breaker to {standard}"),
        Some(curve) if standard.is_breaker() => format!("a {curve}{rating} to {standard}"),
        _ if standard.is_fuse() => format!("a {rating} A fuse to {standard}"),
        _ => format!("a {rating} A device to {standard}"),
    }
}

/// How the reading was obtained, for the label beside it.
fn obtained(circuit: CircuitView<'_>) -> &'static str {
    match circuit.readings().zs_by {
        Some(ZsBy::Calculated) => "calculated here",
        _ => "measured here",
    }
}

fn check_over_limit(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(reading) = circuit.readings().zs_ohm else { return };
    let Some(held) = held(circuit).filter(|held| over(&reading, held.limit.value)) else { return };
    if is_settled(circuit, ReadingKey::Zs) {
        return;
    }
    let place = circuit.reading_place("zs_ohm");
    let asked = held.limit.is_memory();
    let message = match asked {
        true => format!("Zs {reading} ohm looks over the {} that {}, a figure from memory", held.limit, held.allows()),
        false => format!("Zs {reading} ohm is over the {} that {}", held.limit, held.allows()),
    };
    let grade = if asked { Grade::Doubt } else { danger_unless_off(circuit) };
    let finding = report.raise(place, message);
    finding.grade(grade).label(obtained(circuit)).source(held.limit.source.clone());
    let (place, why) = held.because();
    finding.because(place, why);
    if circuit.job.edition().is_some_and(|edition| edition < Edition::A3Y2015) {
        finding.because(circuit.job.place(path!["regulations"]), "judged by this edition");
    }
    match &held.by {
        By::Overcurrent { ocpd, standard, time } if passes_as_b(circuit, ocpd.value, *standard, *time) => {
            let (rating, curve) = (ocpd.value.rating_a.unwrap_or_default(), ocpd.value.curve.as_deref().unwrap_or_default());
            finding.help(format!(
                "It would pass on a B{rating}, and this is a {curve}{rating}: was the limit of the wrong curve used? Find why the loop is \
                 high, or fit a device that it suits."
            ));
        }
        By::Overcurrent { .. } if circuit.rcd().is_some() && circuit.earthing() != Some(Earthing::Tt) => {
            finding.help(
                "Find why the loop is high. Only if the RCD is meant to clear an earth fault: record `gives_fault_protection: true` \
                 with its reason, after testing it.",
            );
        }
        By::Overcurrent { .. } if circuit.earthing() == Some(Earthing::Tt) => {
            finding.help(
                "No RCD is recorded on this TT circuit. Fit one or record the one that protects it; until then treat it as unprotected.",
            );
        }
        By::Overcurrent { .. } => {}
        By::Rcd { .. } => {
            finding
                .help("At this impedance the RCD may not open on a fault that puts 50 V on metalwork. Lower the earth resistance first.");
        }
    }
}

/// Whether a reading that is over the limit of a type C or D would be within that of a type B: somebody may have used the wrong table.
fn passes_as_b(circuit: CircuitView<'_>, ocpd: &Ocpd, standard: DeviceStandard, time: disconnection::DisconnectionTime) -> bool {
    let as_b = || zs::max_zs(standard, Some("B"), *ocpd.rating_a?, time, circuit.job.edition()?);
    circuit.readings().zs_ohm.zip(as_b()).is_some_and(|(reading, as_b)| !over(&reading, as_b.value))
}

fn check_cold(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(reading) = circuit.readings().zs_ohm else { return };
    if circuit.readings().zs_by == Some(ZsBy::Calculated) || circuit.job.is_unreadable(&circuit.path().at("readings").at("zs_by")) {
        return;
    }
    let Some(held) = held(circuit).filter(|held| matches!(held.by, By::Overcurrent { .. })) else { return };
    let cold = zs::cold_limit(&held.limit);
    if !over(&reading, cold.value) || over(&reading, held.limit.value) || is_settled(circuit, ReadingKey::Zs) {
        return;
    }
    let message = format!("Zs {reading} ohm read cold is over {cold}, 0.8 of the {} that {}", held.limit, held.allows());
    let (place, why) = held.because();
    report
        .raise(circuit.reading_place("zs_ohm"), message)
        .label("measured here")
        .source(format!("BS 7671 Appendix 3; {}", held.limit.source))
        .because(place, why);
}

fn check_left_to_rcd(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(reading) = circuit.readings().zs_ohm else { return };
    let Some(rcd) = protection::appointed(circuit) else { return };
    if !matches!(circuit.earthing(), Some(Earthing::TnS | Earthing::TnCS)) || is_settled(circuit, ReadingKey::Zs) {
        return;
    }
    let by_rcd = held(circuit);
    let Some(table) = by_overcurrent(circuit).filter(|table| over(&reading, table.limit.value)) else { return };
    if by_rcd.is_none_or(|held| over(&reading, held.limit.value)) {
        return;
    }
    let message = format!("Zs {reading} ohm is over the {} that {}: why is the loop so high on a TN supply?", table.limit, table.allows());
    report
        .raise(circuit.reading_place("zs_ohm"), message)
        .label(obtained(circuit))
        .source(table.limit.source)
        .because(rcd.place_of(circuit.site(), "gives_fault_protection"), "left to this RCD");
}

/// Why the circuit's Zs cannot be held against anything, where it was read and its device is described.
pub(super) fn why_not_judged(circuit: CircuitView<'_>) -> Option<String> {
    circuit.readings().zs_ohm?;
    if has_unreadable_device(circuit) || !is_low_voltage_mains(circuit) || protection::is_by_rcd(circuit) != Some(false) {
        return None;
    }
    // The tables of the 16th Edition are not held; an old record is not to be asked about that.
    let edition = circuit.job.edition().filter(|edition| *edition >= Edition::Y2008)?;
    let ocpd = circuit.ocpd()?.value;
    let (written, rating) = (ocpd.standard.as_deref()?, ocpd.rating_a?);
    match DeviceStandard::parse(written) {
        None => Some(format!("\"{written}\" is not a device standard known here")),
        Some(standard) if !standard.is_overcurrent_device() => Some(format!("{standard} is not an overcurrent device")),
        // With its curve every breaker has a formula.
        Some(standard) if standard.is_breaker() && ocpd.curve.as_deref().is_none_or(|curve| standard.curves().contains(&curve)) => None,
        Some(standard) => {
            let time = time_of(circuit, *rating, edition)?;
            let is_held = zs::max_zs(standard, ocpd.curve.as_deref(), *rating, time, edition).is_some();
            (!is_held).then(|| format!("no published limit is held for {} and {time}", device_words(ocpd, standard)))
        }
    }
}

fn check_not_judged(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(reading), Some(ocpd), Some(why)) = (circuit.readings().zs_ohm, circuit.ocpd(), why_not_judged(circuit)) else { return };
    report
        .raise(circuit.reading_place("zs_ohm"), format!("Zs {reading} ohm was not judged: {why}"))
        .label("not compared with anything")
        .source("BS 7671:2018 411.4.5")
        .because(ocpd.place_of(circuit.site(), "standard"), "this device");
}

/// For papers: the highest loop impedance allowed, reading or none, and whether an RCD is what allows it.
pub(super) fn allowed(circuit: CircuitView<'_>) -> Option<(Limit, bool)> {
    let held = held(circuit)?;
    Some((held.limit, matches!(held.by, By::Rcd { .. })))
}

/// For papers: the time in which an earth fault has to be cleared; nothing where the record does not say enough.
pub(super) fn time_allowed(circuit: CircuitView<'_>) -> Option<disconnection::DisconnectionTime> {
    let edition = circuit.job.edition()?;
    let rating = *circuit.ocpd()?.value.rating_a?;
    let feeds = Feeds::of(circuit.usage()?)?;
    if circuit.earthing()? == Earthing::Tt && protection::is_by_rcd(circuit)? {
        return disconnection::time(Earthing::Tt, feeds, rating, edition).map(|(time, _)| time);
    }
    time_of(circuit, rating, edition)
}

/// For other rules: the reading and its limit where one can be given.
pub(super) fn reading_and_limit(circuit: CircuitView<'_>) -> Option<(Reading, Limit)> {
    Some((circuit.readings().zs_ohm?, held(circuit)?.limit))
}
