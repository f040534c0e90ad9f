//! Continuity readings against length and size of the cable.

use super::{LEAST_SHARE, MOST_SHARE, is_outside, is_too_high, r1_r2};
use crate::finding::Grade;
use crate::record::{Cable, CpcKind, LengthBy, Reading, ReadingKey, Use};
use crate::rules::view::{CircuitView, Known};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::wiring::resistance::{self, Coefficient, Run};
use crate::wiring::{Worked, ring};

pub(super) const DOES_NOT_FIT: Rule = Rule {
    id: "r1-r2-does-not-fit",
    family: Family::Loops,
    grade: Grade::Doubt,
    title: "R1+R2 does not fit the length and size of the cable",
    looks_at: "`r1_r2_ohm` against length times the table resistance of line and protective conductor at 20 C; of a ring a quarter of it, \
               or the line conductor end to end where that was read. Quiet between 0.6 and 1.5 of the expected figure, within 0.03 ohm of \
               it, where length or a size is missing, and on the low side where the length is estimated or armour or conduit may lie in \
               parallel.",
    why: "Too high is a poor joint, a thinner conductor or a slip of the decimal point; too low is another route for the current, or a \
          length that is not this circuit's.",
    sources: &["IEC 60228 Tables 1 and 2 (conductors at 20 C)", "BS 5467 (armour)", "common practice: 0.6 and 1.5 are this program's own"],
    bad: Example::Keys("circuits: [{id: main/2, cable: {length_m: 1.4}}]"),
    good: Example::Keys("circuits: [{id: main/2, cable: {length_m: 12}}]"),
    cure: "Look at the length and the sizes as written, then read it again with the leads nulled. If it stands, answer with the reason.",
    check: Check::Circuit(check),
};

/// What length and size of the cable let a continuity reading be, in ohm.
pub struct Expected<'a> {
    /// Which reading.
    pub key: ReadingKey,
    /// The run in words: `10 m of 6/2.5`.
    pub run: String,
    /// The least and the most that is expected: apart where the armour may lie in parallel.
    least: f64,
    most: Worked,
    cable: Known<'a, Cable>,
}

impl Expected<'_> {
    /// The figure in words.
    pub fn words(&self) -> String {
        format!("should read about {}", ohms(self.most.value))
    }

    /// Where the resistances it rests on come from.
    pub fn sources(&self) -> String {
        self.most.sources.join("; ")
    }
}

/// A continuity reading beside what length and size give.
struct Fit<'a> {
    read: Reading,
    expected: Expected<'a>,
}

/// What the cable lets expect of R1+R2, or of a ring's line conductor end to end where that was read; nothing where length or a size is
/// missing.
pub fn expected(circuit: CircuitView<'_>) -> Option<Expected<'_>> {
    let cable = circuit.cable()?;
    let is_ring = circuit.usage() == Some(Use::Ring);
    let length = cable.value.length_m?;
    if is_ring && end_to_end(circuit).is_some() {
        let mm2 = cable.value.line_mm2?;
        let most = ring::end_to_end(*mm2, *length).ok()?;
        let run = format!("{length} m of {mm2} mm2 once round, line end to end,");
        return Some(Expected { key: ReadingKey::RingR1, least: most.value, most, run, cable });
    }
    let run = Run::of(cable.value)?;
    let share = if is_ring { 0.25 } else { 1.0 };
    let worked = |run: &Run| resistance::r1_r2(run, 20.0, Coefficient::Tables).ok();
    let mut most = worked(&run)?;
    let least = share * run.with_armour(cable.value).and_then(|run| worked(&run)).map_or(most.value, |beside| beside.value);
    most.value *= share;
    let sizes = match (cable.value.cpc, cable.value.cpc_mm2) {
        (Some(CpcKind::Armour), _) | (_, None) => format!("{} mm2 with its armour", run.line_mm2),
        (_, Some(cpc)) => format!("{}/{cpc}", run.line_mm2),
    };
    let place = if is_ring { " once round, half way," } else { "" };
    Some(Expected { key: ReadingKey::R1R2, least, most, run: format!("{length} m of {sizes}{place}"), cable })
}

/// A ring's line conductor end to end, where it was read on the scale.
fn end_to_end(circuit: CircuitView<'_>) -> Option<Reading> {
    circuit.readings().ring_r1_ohm.filter(|reading| reading.exact().is_some())
}

/// The reading that can be held against the cable, where there is one.
fn fit_of(circuit: CircuitView<'_>) -> Option<Fit<'_>> {
    let expected = expected(circuit)?;
    let read = match expected.key {
        ReadingKey::RingR1 => end_to_end(circuit)?,
        _ => r1_r2(circuit)?.0,
    };
    Some(Fit { read, expected })
}

impl Fit<'_> {
    fn is_outside(&self) -> bool {
        let cable = self.expected.cable.value;
        // A length by eye, armour or conduit beside the core: low is then no surprise.
        let low_is_usual = cable.length_by == Some(LengthBy::Estimated) || matches!(cable.cpc, Some(CpcKind::Armour | CpcKind::Conduit));
        let least = if low_is_usual { 0.0 } else { self.expected.least };
        is_outside(self.read.value, least, self.expected.most.value)
    }
}

/// For the sums: whether R1+R2 is in doubt already.
pub(super) fn is_in_doubt(circuit: CircuitView<'_>) -> bool {
    fit_of(circuit).is_some_and(|fit| fit.is_outside())
}

fn check(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let Some(fit) = fit_of(circuit).filter(Fit::is_outside) else { return };
    let (read, expected) = (fit.read, fit.expected.most.value);
    let cable = fit.expected.cable;
    let estimated = if cable.value.length_by == Some(LengthBy::Estimated) { " (length estimated)" } else { "" };
    let message = format!("{}{estimated} {}; you have {read}", fit.expected.run, fit.expected.words());
    let finding = report.raise(circuit.reading_place(fit.expected.key.as_str()), message);
    finding.label("measured here").source(fit.expected.sources()).because(cable.place_of(circuit.site(), "length_m"), "for this length");
    let tenfold = [10.0, 0.1].iter().any(|slip| (LEAST_SHARE * slip..=MOST_SHARE * slip).contains(&(read.value / expected)));
    if tenfold {
        finding.help("About ten times out: a slip of the decimal point, in the reading or in the length? Otherwise read it again.");
    } else if is_too_high(read.value, expected) {
        finding.help("Null the leads and read it again. If it stays high, check length and sizes, then look for a poor joint.");
    } else {
        finding.help("Check length and sizes as written; then look for metalwork in parallel, with the cpc disconnected at one end.");
    }
}

/// An expected resistance as a message writes it: two decimals, three under 0.1 ohm.
pub(super) fn ohms(value: f64) -> String {
    if value < 0.0995 { format!("{value:.3} ohm") } else { format!("{value:.2} ohm") }
}
