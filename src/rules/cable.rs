//! Cable against device, device against board, and terminations worth finding again.
//!
//! A pair of cable and device is judged at the visit that records one of them, and left alone when finished work of a later visit records
//! one of them again: then it is judged there.

use std::borrow::Cow;

use super::limits;
use super::view::{CircuitView, JobView};
use super::words::listed;
use super::{Check, Example, Family, Report, Rule};
use crate::finding::Grade;
use crate::path;
use crate::record::{Access, Cable, Circuit, JointKind, MadeBy, Ocpd, Use};
use crate::tables::ampacity::{self, Arrangement};
use crate::tables::{DeviceStandard, Edition, Limit, ring, voltdrop};
use crate::wiring::capacity::{self, Capacity, Installation};
use crate::wiring::drop;

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &DEVICE_OVER_CABLE,
    &DESIGN_OVER_DEVICE,
    &VOLTAGE_DROP,
    &NO_RESIDUAL_ELEMENT,
    &RATING_NOT_MADE,
    &CURVE_NOT_MADE,
    &MIXED_MAKES,
    &JOINT_OUT_OF_REACH,
];

const DEVICE_OVER_CABLE: Rule = Rule {
    id: "device-over-cable",
    family: Family::Cable,
    grade: Grade::Danger,
    title: "The overcurrent device is larger than the cable can carry where it runs",
    looks_at: "The rating of the device against Iz: the tabulated rating for `make_up`, `line_mm2` and `method`, with the factors for \
               `ambient_c`, `grouped`, `insulation_mm` and a rewireable fuse. A factor whose key is absent is left out, which only makes \
               Iz larger. A question where a figure is from memory, as are the 70 C figures that a 90 C cable is held to at its \
               terminals, and for one fixed load or heater within Iz, which may be unable to overload the cable. Quiet on rings (433.1.204), where a key that the sum needs is missing or unreadable, where the number of loaded \
               phases is not known, and where a later visit recorded the device or the cable again.",
    why: "The cable overheats and the device does not open.",
    sources: &[
        "BS 7671:2018 433.1.1 (In <= Iz), 433.1.202, Appendix 4",
        "BS 7671:2018 433.3.1, and 526 with 512.1.5 for terminals (from memory)",
    ],
    bad: Example::Keys("circuits: [{id: main/2, ocpd: {rating_a: 25}, cable: {line_mm2: 1.5}}]"),
    good: Example::Keys("circuits: [{id: main/2, ocpd: {rating_a: 20}, cable: {line_mm2: 1.5}}]"),
    cure: "Fit a smaller device that still carries the load, or a larger cable.",
    check: Check::Circuit(check_capacity),
};

const DESIGN_OVER_DEVICE: Rule = Rule {
    id: "design-current-over-device",
    family: Family::Cable,
    grade: Grade::Breach,
    title: "The design current is over the rating of the device",
    looks_at: "`design_a` against the rating of the circuit's overcurrent device. Quiet where either is missing or unreadable, where a \
               charge point's own setting is over the rating (told there), and where a later visit recorded the device again.",
    why: "The device trips in ordinary use, and somebody fits a larger one without looking at the cable.",
    sources: &["BS 7671:2018 433.1.1 (Ib <= In)"],
    bad: Example::Keys("circuits: [{id: main/2, design_a: 8}]"),
    good: Example::Keys("circuits: [{id: main/2, design_a: 6}]"),
    cure: "Check the design current. If it is right, the circuit needs a larger device, and the cable that goes with it.",
    check: Check::Circuit(check_design),
};

const VOLTAGE_DROP: Rule = Rule {
    id: "volt-drop-over-limit",
    family: Family::Cable,
    grade: Grade::Breach,
    title: "The cable drops more voltage than the circuit may lose",
    looks_at: "The tabulated mV/A/m of the cable, times `design_a` and `length_m`, against 3 % for lighting and 5 % for all else. What the \
               circuits that feed its board lose by their own design currents is added where they are described. A question for lighting \
               and sockets, whose load is spread along the run, for an estimated length, and where a figure is from memory. On a ring with \
               20 A half way round and the rest spread, and only beyond 100 m. Quiet where a key that the sum needs is missing or \
               unreadable, where a feeder alone loses too much and is told, and where a later visit recorded the cable again.",
    why: "Equipment runs under its rated voltage; a charge point that draws its full current for hours may throttle or stop.",
    sources: &["BS 7671:2018 Appendix 4 section 6.4; 525.202 (number from memory)"],
    bad: Example::Keys("circuits: [{id: main/1, cable: {length_m: 52}, readings: {r1_r2_ohm: 0.32, zs_ohm: 0.52}}]"),
    good: Example::Keys("circuits: [{id: main/1, cable: {length_m: 45}, readings: {r1_r2_ohm: 0.28, zs_ohm: 0.48}}]"),
    cure: "A larger cable, or less current. If the real load or route is smaller, correct the record.",
    check: Check::Circuit(check_drop),
};

const NO_RESIDUAL_ELEMENT: Rule = Rule {
    id: "rcd-standard-has-no-residual-element",
    family: Family::Cable,
    grade: Grade::Breach,
    title: "The standard given for the RCD is that of a device without residual element",
    looks_at: "`rcd.standard` where it is that of a plain circuit-breaker or a fuse. Quiet on BS EN 60947-2, which may have one (Annex B), on \
               a standard that is not known here, and where a later visit recorded the RCD again.",
    why: "A BS EN 60898 breaker does not open on residual current: either the record is wrong or nobody has additional protection.",
    sources: &["BS EN 60898-1, BS EN 61008-1 and BS EN 61009-1 (scope of each)"],
    bad: Example::Keys("circuits: [{id: main/2, ocpd: {standard: BS EN 60898}, rcd: {standard: BS EN 60898}}]"),
    good: Example::Keys("circuits: [{id: main/2, ocpd: {standard: BS EN 60898}, rcd: {standard: BS EN 61008-1}}]"),
    cure: "Read the device's marking. RCBO: BS EN 61009-1; separate RCCB: BS EN 61008-1; if there is none, take `rcd` out of the record.",
    check: Check::Circuit(check_residual),
};

const RATING_NOT_MADE: Rule = Rule {
    id: "device-rating-not-usual",
    family: Family::Cable,
    grade: Grade::Doubt,
    title: "The device is not usually made in the rating recorded",
    looks_at: "`ocpd.rating_a` against the preferred rated currents of its standard, which are known from memory. Quiet where no list is held, \
               on a fuse whose Zs was read (told with Zs), and where a later visit recorded the device again.",
    why: "A slip in the rating makes every limit that is worked out from it wrong.",
    sources: &["memory: preferred rated currents of the device standards"],
    bad: Example::Keys("circuits: [{id: main/2, ocpd: {rating_a: 7}}]"),
    good: Example::Keys("circuits: [{id: main/2, ocpd: {rating_a: 8}}]"),
    cure: "Read the rating off the device. If it is marked so, say that in an answer.",
    check: Check::Circuit(check_rating),
};

const CURVE_NOT_MADE: Rule = Rule {
    id: "device-curve-not-made",
    family: Family::Cable,
    grade: Grade::Doubt,
    title: "The device is not made with the curve recorded",
    looks_at: "`ocpd.curve` against the curves of the device's standard: B, C and D for BS EN 60898 and BS EN 61009-1. Quiet on other \
               standards, where Zs was read and is told as not judged, and where a later visit recorded the device again.",
    why: "The curve decides how large a fault current must be, and with a slip in it no limit of Zs can be worked out.",
    sources: &["BS EN 60898-1 and BS EN 61009-1 (types B, C and D)"],
    bad: Example::Keys("circuits: [{id: main/2, ocpd: {curve: E}, readings: {zs_ohm: ~}, not_taken: {zs_ohm: supply not yet connected}}]"),
    good: Example::Keys("circuits: [{id: main/2, ocpd: {curve: c}}]"),
    cure: "Read the letter before the rating on the device, as in B6.",
    check: Check::Circuit(check_curve),
};

const MIXED_MAKES: Rule = Rule {
    id: "mixed-makes-in-board",
    family: Family::Cable,
    grade: Grade::Doubt,
    title: "The device is of another make than its board",
    looks_at: "`ocpd.maker` against the `maker` of its board in `site.md`. Quiet where either is missing, under editions before 2018, and where \
               a later visit recorded the device again.",
    why: "A device that fits is not a device that was tested in that board: busbar contact and temperature rise are unproved.",
    sources: &["BS 7671:2018 536.4.203, from memory"],
    bad: Example::Keys("circuits: [{id: main/1, ocpd: {maker: M2}}]"),
    good: Example::Keys("circuits: [{id: main/1, ocpd: {maker: m1}}]"),
    cure: "Fit the make that the board's maker names. If the board's maker declares this one suitable, say so in an answer.",
    check: Check::Circuit(check_makes),
};

const JOINT_OUT_OF_REACH: Rule = Rule {
    id: "joint-out-of-reach",
    family: Family::Cable,
    grade: Grade::Breach,
    title: "A joint that must stay accessible cannot be reached",
    looks_at: "Joints with `access: none` whose `kind` is screw or lever. Quiet on crimped and maintenance-free joints, on joints made by the \
               manufacturer as part of equipment, and where `kind` or `access` is missing.",
    why: "Screws and springs slacken with the years; nobody can inspect or tighten this one.",
    sources: &["BS 7671:2018 526.3"],
    bad: Example::Keys(
        "joints: [{where: under the landing boards, circuit: main/2, kind: screw, made_by: us, access: none, conductor: solid, torque_nm: 1.2}]",
    ),
    good: Example::Keys(
        "joints: [{where: under the landing boards, circuit: main/2, kind: maintenance-free, made_by: us, access: none, conductor: solid}]",
    ),
    cure: "Give it an access, or make it again crimped or with a connector marked maintenance-free, used as its maker says.",
    check: Check::Job(check_joints),
};

/// Whether this visit is the one to judge something: it records a part of it, and no finished visit after it records one again.
fn is_judged_here(circuit: CircuitView<'_>, records: impl Fn(&Circuit) -> bool) -> bool {
    let again = |job: JobView<'_>| job.is_finished() && job.circuit(circuit.id()).is_some_and(|later| records(later.circuit));
    records(circuit.circuit) && (circuit.id().is_empty() || !circuit.job.later().any(again))
}

/// Whether something in one of these parts of the circuit's record could not be read, so that no sum can be made of it.
fn is_unsure(circuit: CircuitView<'_>, keys: &[&'static str]) -> bool {
    !circuit.job.is_whole() && keys.iter().any(|key| circuit.job.record.may_lack(&circuit.path().at(*key)))
}

/// Loaded phases: one on a single-phase supply, else by the poles of the device; nothing where those are not recorded.
pub(crate) fn loaded_phases(circuit: CircuitView<'_>, ocpd: &Ocpd) -> Option<u32> {
    if circuit.site().supply()?.phases.is_some_and(|phases| *phases == 1) {
        return Some(1);
    }
    match *ocpd.poles? {
        1 | 2 => Some(1),
        _ => Some(3),
    }
}

/// What the cable can carry where it carries less than `rating_a`. The kindest reading that rests on confirmed figures is preferred,
/// since what is over that is over any; failing that, one that rests on memory.
fn too_little(cable: &Cable, ocpd: &Ocpd, phases: u32, edition: Edition, rating_a: f64) -> Option<Capacity> {
    let (make_up, method, mm2) = (cable.make_up?, cable.method.as_deref()?, *cable.line_mm2?);
    let insulation_mm = cable.insulation_mm.map_or(0.0, |run| *run);
    let rewireable = ocpd.standard.as_deref().and_then(DeviceStandard::parse) == Some(DeviceStandard::Bs3036);
    let usual_terminal_c = ampacity::usual_terminal_c().map_or(70, |limit| limit.value as u32);
    let installation = |terminal_c, insulation_mm| Installation {
        make_up,
        method,
        phases,
        ambient_c: cable.ambient_c.map(|ambient| *ambient),
        grouped: cable.grouped.map_or(1, |grouped| *grouped),
        // How they lie is not recorded: the kinder of the two, since what is over that is over the other.
        arrangement: Arrangement::SingleLayer,
        insulation_mm,
        rewireable,
        terminal_c,
        edition,
    };
    let readings = [(90, 0.0), (90, insulation_mm), (usual_terminal_c, insulation_mm)];
    let short: Vec<Capacity> = readings
        .iter()
        .filter_map(|(terminal_c, insulation_mm)| capacity::iz(&installation(*terminal_c, *insulation_mm), mm2).ok())
        .filter(|capacity| capacity.iz_a + 1e-6 < rating_a)
        .collect();
    short.iter().find(|capacity| !capacity.is_memory()).or(short.last()).cloned()
}

fn check_capacity(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(known), Some(run), Some(usage)) = (circuit.ocpd(), circuit.cable(), circuit.usage()) else { return };
    let (cable, ocpd) = (run.value, known.value);
    let is_pair_here = is_judged_here(circuit, |record| record.ocpd.is_some() || record.cable.is_some());
    if usage == Use::Ring || !is_pair_here || is_unsure(circuit, &["ocpd", "cable", "use"]) || ocpd.standard.is_none() {
        return;
    }
    let (Some(rating), Some(phases), Some(edition)) = (ocpd.rating_a, loaded_phases(circuit, ocpd), circuit.job.edition()) else { return };
    let Some(capacity) = too_little(cable, ocpd, phases, edition, *rating) else { return };
    let (Some(mm2), Some(method)) = (cable.line_mm2, cable.method.as_deref()) else { return };
    let factors: Vec<String> = capacity.factors.iter().map(|(symbol, limit)| format!(" x {symbol} {limit}")).collect();
    let worked = if factors.is_empty() { String::new() } else { format!(" ({}{})", capacity.tabulated, factors.concat()) };
    let iz = (capacity.iz_a * 10.0).round() / 10.0;
    let asked = capacity.is_memory();
    let message = match asked {
        true => format!("{rating} A device: {mm2} mm2 by method {method} looks good for {iz} A only{worked}, by a figure from memory"),
        false => format!("{rating} A device on {mm2} mm2 by method {method}, which carries {iz} A{worked}"),
    };
    // One load that cannot overload the cable may have a larger device; whether it can is for its owner to say.
    let is_one_load =
        matches!(usage, Use::Fixed | Use::Heating) && circuit.design_a().is_some_and(|design| **design.value <= capacity.iz_a);
    let grade = if asked || is_one_load { Grade::Doubt } else { limits::danger_unless_off(circuit) };
    let message = if is_one_load { format!("{message}: can this load overload it?") } else { message };
    let finding = report.raise(known.place_of(circuit.site(), "rating_a"), message);
    if is_one_load {
        finding.help("If the load cannot overload the cable, say so in an answer; otherwise a smaller device or a larger cable.");
    }
    finding
        .grade(grade)
        .label("over what the cable carries")
        .source(format!("BS 7671 433.1.1; {}", capacity.tabulated.source))
        .because(run.place_of(circuit.site(), "line_mm2"), "this cable");
}

fn check_design(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(design), Some(known)) = (circuit.design_a(), circuit.ocpd()) else { return };
    let Some(rating) = known.value.rating_a.filter(|rating| **design.value > **rating) else { return };
    let is_set_over = circuit.ev().and_then(|ev| ev.value.set_a).is_some_and(|set| *set > *rating);
    let is_pair_here = is_judged_here(circuit, |record| record.ocpd.is_some() || record.design_a.is_some());
    if is_set_over || !is_pair_here || is_unsure(circuit, &["ocpd", "design_a"]) {
        return;
    }
    report
        .raise(design.place(circuit.site()), format!("design current {} A on a {rating} A device", design.value))
        .label("more than the device is rated for")
        .because(known.place_of(circuit.site(), "rating_a"), "this device");
}

/// What a circuit loses between its board and its load.
struct Loss {
    /// The drop, V, and its share of the nominal voltage, per cent.
    volts: f64,
    share: f64,
    /// The run to the load, m: half the length of a ring.
    length_m: f64,
    /// What it comes from, in words.
    run: String,
    source: Cow<'static, str>,
    /// Whether a part of it is an estimate, from memory, or a load that may be spread along the run.
    is_asked: bool,
}

fn loss_of(circuit: CircuitView<'_>) -> Option<Loss> {
    let (design, cable, ocpd) = (circuit.design_a()?, circuit.cable()?.value, circuit.ocpd()?.value);
    let usage = circuit.usage().filter(|_| !is_unsure(circuit, &["ocpd", "cable", "design_a", "use"]))?;
    let (design_a, length_m) = (**design.value, *cable.length_m?);
    let phases = loaded_phases(circuit, ocpd)?;
    let table = voltdrop::tabulated(cable.make_up?, phases, *cable.line_mm2?)?;
    let to_earth_v = circuit.site().supply().and_then(|supply| supply.nominal_v).map_or(230.0, |volts| *volts);
    // Three-phase figures are between lines, and so is the voltage they are a share of.
    let nominal_v = if phases == 3 { to_earth_v * 3f64.sqrt() } else { to_earth_v };
    let (volts, run) = match usage {
        Use::Ring => {
            let far_a = design_a.min(ring::far_load_a()?.value);
            let rest = if design_a > far_a { format!("{far_a} A half way, the rest spread") } else { "half way".to_owned() };
            let volts = drop::in_ring(table.mv.value, far_a, design_a - far_a, length_m).ok()?;
            (volts, format!("{length_m} m of ring at {design_a} A ({rest})"))
        }
        _ => (drop::tabulated(table.mv.value, design_a, length_m).ok()?, format!("{length_m} m at {design_a} A")),
    };
    let share = drop::percent(volts, nominal_v).ok()?;
    let is_spread = matches!(usage, Use::Lighting | Use::Sockets | Use::Ring);
    let is_estimate = cable.length_by != Some(crate::record::LengthBy::Measured);
    let length_m = if usage == Use::Ring { length_m / 2.0 } else { length_m };
    let run = format!("{run} and {}", table.mv);
    Some(Loss { volts, share, length_m, run, is_asked: is_spread || is_estimate || table.mv.is_memory(), source: table.mv.source })
}

/// The greatest drop from the origin to the end of these runs, per cent.
fn allowed_drop(usage: Use, run_m: f64) -> Option<Limit> {
    let limit = voltdrop::limit(usage, false)?;
    let more = voltdrop::long_run_allowance(run_m).map_or(0.0, |more| more.value);
    Some(Limit { value: limit.value + more, ..limit })
}

fn check_drop(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let (Some(usage), Some(run), Some(design), Some(own)) = (circuit.usage(), circuit.cable(), circuit.design_a(), loss_of(circuit)) else {
        return;
    };
    if !is_judged_here(circuit, |record| record.cable.is_some() || record.design_a.is_some()) {
        return;
    }
    // The usual greatest length of a ring comes out of a kinder sum than this one, and is not asked about.
    if usage == Use::Ring && ring::usual_length_m().is_none_or(|usual| 2.0 * own.length_m <= usual.value) {
        return;
    }
    let feeders: Vec<_> = circuit.upstream().into_iter().filter_map(|feeder| Some((feeder, loss_of(feeder)?))).collect();
    let upstream: f64 = feeders.iter().map(|(_, loss)| loss.share).sum();
    let length_m = own.length_m + feeders.iter().map(|(_, loss)| loss.length_m).sum::<f64>();
    let Some(limit) = allowed_drop(usage, length_m) else { return };
    let is_over = |share: f64, limit: &Limit| share > limit.value + 1e-6;
    let alone = allowed_drop(usage, own.length_m).is_some_and(|limit| is_over(own.share, &limit));
    let is_told_upstream =
        feeders.iter().any(|(_, loss)| allowed_drop(Use::SubMain, loss.length_m).is_some_and(|limit| is_over(loss.share, &limit)));
    if !is_over(own.share + upstream, &limit) || is_told_upstream && !alone {
        return;
    }
    let is_asked = own.is_asked || limit.is_memory() || !alone && feeders.iter().any(|(_, loss)| loss.is_asked);
    let (run_words, volts, share, allowed) = (&own.run, own.volts, own.share, limit.value);
    let sum = match feeders.iter().map(|(feeder, _)| feeder.id()).collect::<Vec<_>>().as_slice() {
        [] => format!("{run_words} loses {volts:.1} V, {share:.1} %; {allowed} % is allowed"),
        ids => format!(
            "{run_words} loses {volts:.1} V, {share:.2} %; with the {upstream:.2} % in {} that is {:.2} %, and {allowed} % is allowed",
            listed(ids, "and"),
            share + upstream
        ),
    };
    let message = match usage {
        Use::Lighting | Use::Sockets => format!("{sum}: is all the load at the far end?"),
        _ if is_asked => format!("{sum}: are length and current right?"),
        _ => sum,
    };
    let finding = report.raise(run.place_of(circuit.site(), "length_m"), message);
    finding.label("too far for this size").source(format!("{}; {}", limit.source, own.source));
    finding.because(design.place(circuit.site()), "design current");
    for (feeder, _) in &feeders {
        if let Some(cable) = feeder.cable() {
            finding.because(cable.place_of(circuit.site(), "length_m"), "lost on the way to its board");
        }
    }
    if is_asked {
        finding.grade(Grade::Doubt);
    }
}

fn check_residual(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(known) = circuit.rcd().filter(|_| is_judged_here(circuit, |record| record.rcd.is_some())) else { return };
    let Some(standard) = known.value.standard.as_deref().and_then(DeviceStandard::parse) else { return };
    let is_plain = standard.is_overcurrent_device() && !standard.has_residual_element() && standard != DeviceStandard::Bs60947_2;
    if !is_plain {
        return;
    }
    report
        .raise(known.place_of(circuit.site(), "standard"), format!("{standard} has no residual element: is there an RCD at all?"))
        .label("not the standard of an RCD");
}

fn check_rating(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(known) = circuit.ocpd().filter(|_| is_judged_here(circuit, |record| record.ocpd.is_some())) else { return };
    let (Some(rating), Some(standard)) = (known.value.rating_a, known.value.standard.as_deref().and_then(DeviceStandard::parse)) else {
        return;
    };
    let (made, _) = standard.usual_ratings();
    let is_told_with_zs = standard.is_fuse() && circuit.readings().zs_ohm.is_some();
    if made.is_empty() || made.contains(&*rating) || is_told_with_zs {
        return;
    }
    report
        .raise(
            known.place_of(circuit.site(), "rating_a"),
            format!("{rating} A is not a usual rating of {standard}: was it read off the device?"),
        )
        .label("not a usual rating");
}

fn check_curve(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(known) = circuit.ocpd().filter(|_| is_judged_here(circuit, |record| record.ocpd.is_some())) else { return };
    let (Some(curve), Some(standard)) = (known.value.curve.as_deref(), known.value.standard.as_deref().and_then(DeviceStandard::parse))
    else {
        return;
    };
    // Of BS 3871 there were types that this program holds no limits for.
    let made = standard.curves();
    if standard == DeviceStandard::Bs3871 || made.is_empty() || made.iter().any(|made| made.eq_ignore_ascii_case(curve.trim())) {
        return;
    }
    if limits::zs_is_not_judged(circuit) {
        return;
    }
    report
        .raise(
            known.place_of(circuit.site(), "curve"),
            format!("{standard} is made as {}, not {curve}: was it read off the device?", listed(made, "and")),
        )
        .label("not made so");
}

fn check_makes(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(known) = circuit.ocpd().filter(|_| is_judged_here(circuit, |record| record.ocpd.is_some())) else { return };
    let Some((index, board)) = circuit.board() else { return };
    let (Some(device), Some(of_board)) = (known.value.maker.as_deref(), board.maker.as_deref()) else { return };
    let is_same = device.trim().eq_ignore_ascii_case(of_board.trim());
    if is_same || circuit.job.edition().is_none_or(|edition| edition < Edition::Y2018) {
        return;
    }
    report
        .raise(
            known.place_of(circuit.site(), "maker"),
            format!("device of make {device} in a board of make {of_board}: does the board's maker allow it?"),
        )
        .label("another make")
        .because(circuit.site().place(path!["boards", index, "maker"]), "make of the board");
}

fn check_joints(job: JobView<'_>, report: &mut Report<'_>) {
    for (index, joint) in job.data().joints.iter().enumerate() {
        let kind = match joint.kind {
            Some(JointKind::Screw) => "screw",
            Some(JointKind::Lever) => "lever",
            Some(JointKind::Crimp | JointKind::MaintenanceFree) | None => continue,
        };
        if joint.access != Some(Access::None) || joint.made_by == Some(MadeBy::Manufacturer) {
            continue;
        }
        let place = joint.place.as_deref().map_or(String::new(), |place| format!(", {place}"));
        let finding = report.raise(job.place(path!["joints", index, "access"]), format!("{kind} joint that cannot be reached{place}"));
        finding.label("nobody can inspect it").subject(joint.circuit.as_deref().unwrap_or(job.id()));
    }
}
