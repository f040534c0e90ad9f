//! How long an installation may go without periodic inspection: guidance by kind of premises, and law for homes that are let.

use serde::Deserialize;

use super::edition::DateText;
use super::{Edition, Figure, Limit, table};
use crate::record::{Date, Nation, Premises};

#[derive(Debug, Clone, Deserialize)]
pub(super) struct IntervalRow {
    premises: String,
    nation: String,
    kind: String,
    max_months: Figure,
    new_from: Option<DateText>,
    all_from: Option<DateText>,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct ButtonRow {
    months: Figure,
}

table!(INTERVALS: IntervalRow = "intervals");
table!(RCD_BUTTON: ButtonRow = "rcd_button");

/// The longest time between periodic inspections that a law allows.
#[derive(Debug, Clone, PartialEq)]
pub struct LegalInterval {
    /// Months, with the law to cite.
    pub months: Limit,
    /// The day from which it binds new tenancies.
    pub new_from: Option<Date>,
    /// The day from which it binds every tenancy.
    pub all_from: Option<Date>,
}

/// The first interval that guidance gives for premises of that kind, in months: the longest to recommend on a certificate. The inspector
/// may always recommend a shorter one. Nothing where guidance has no line.
pub fn guidance(premises: Premises) -> Option<Limit> {
    let row = INTERVALS.rows().iter().find(|row| row.of.kind == "guidance" && row.of.premises == premises.as_str())?;
    Some(row.cite.limit(row.of.max_months, Edition::LAST_CONFIRMED))
}

/// The interval that the nation's law sets for homes let privately, in force on a day for new tenancies at least. Nothing where no law
/// sets one. A report that names an earlier date overrides it.
pub fn law(premises: Premises, nation: Nation, day: Date) -> Option<LegalInterval> {
    let row = INTERVALS
        .rows()
        .iter()
        .find(|row| row.of.kind == "law" && row.of.premises == premises.as_str() && row.of.nation == nation.as_str())?;
    let interval = LegalInterval {
        months: row.cite.limit(row.of.max_months, Edition::LAST_CONFIRMED),
        new_from: row.of.new_from.map(|date| date.0),
        all_from: row.of.all_from.map(|date| date.0),
    };
    interval.new_from.is_none_or(|from| from <= day).then_some(interval)
}

/// How often the user is told to press an RCD's test button, in months.
pub fn rcd_button(edition: Edition) -> Option<Limit> {
    RCD_BUTTON.find(edition, |_| true).map(|row| row.cite.limit(row.of.months, edition))
}
