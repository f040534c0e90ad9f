//! Days that a law allows for something to be sent or put right, by nation.

use serde::Deserialize;

use super::{Edition, Figure, Limit, table};
use crate::record::Nation;

#[derive(Debug, Clone, Deserialize)]
pub(super) struct DeadlineRow {
    deadline: String,
    nation: String,
    days: Figure,
}

table!(DEADLINES: DeadlineRow = "deadlines");

fn days(deadline: &str, nation: Nation) -> Option<Limit> {
    let row = DEADLINES.rows().iter().find(|row| row.of.deadline == deadline && row.of.nation == nation.as_str())?;
    Some(row.cite.limit(row.of.days, Edition::LAST_CONFIRMED))
}

/// Days after completion within which notifiable work in a home is told to building control. Nothing where no such notice is sent.
pub fn building_control(nation: Nation) -> Option<Limit> {
    days("building-control", nation)
}

/// Days after a report within which its C1, C2 and FI are cleared at a home that is let. Nothing where no law says so.
pub fn clear_codes(nation: Nation) -> Option<Limit> {
    days("clear-codes", nation)
}
