//! Insulation resistance: test voltages and minima (BS 7671 Table 64, before 2018 Table 61, before 2008 Table 71A), and advice.

use serde::Deserialize;

use super::{Edition, Figure, Limit, table};

/// The circuit's voltage band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Band {
    /// SELV and PELV.
    ExtraLow,
    /// Up to and including 500 V, and FELV.
    Low,
    /// Above 500 V.
    High,
}

/// A test voltage and the least resistance allowed at it.
#[derive(Debug, Clone, PartialEq)]
pub struct InsulationTest {
    /// Test voltage, volts d.c.
    pub test_v: f64,
    /// Least resistance, Mohm.
    pub minimum: Limit,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct MinimumRow {
    band: String,
    test_v: f64,
    min_mohm: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct AdviceRow {
    work: String,
    investigate_below_mohm: Figure,
}

table!(MINIMUM: MinimumRow = "insulation");
table!(ADVICE: AdviceRow = "insulation_advice");

/// The test of an edition for a voltage band.
pub fn test(band: Band, edition: Edition) -> Option<InsulationTest> {
    named(
        match band {
            Band::ExtraLow => "extra-low",
            Band::Low => "low",
            Band::High => "high",
        },
        edition,
    )
}

/// The reduced test of a low-voltage circuit with equipment connected that would upset the full test: live conductors joined, to earth.
/// Since A2:2022 it is the second step after the full test.
pub fn test_with_equipment(edition: Edition) -> Option<InsulationTest> {
    named("low-equipment-connected", edition)
}

fn named(band: &str, edition: Edition) -> Option<InsulationTest> {
    let row = MINIMUM.find(edition, |row| row.band == band)?;
    Some(InsulationTest { test_v: row.of.test_v, minimum: row.cite.limit(row.of.min_mohm, edition) })
}

/// The resistance below which guidance says to look for the reason, Mohm: advice, never a limit. New work has its own, higher figure
/// since 2022.
pub fn advice(new_work: bool, edition: Edition) -> Option<Limit> {
    let of = |work: &str| ADVICE.find(edition, |row| row.work == work);
    let row = new_work.then(|| of("new")).flatten().or_else(|| of("any"))?;
    Some(row.cite.limit(row.of.investigate_below_mohm, edition))
}
