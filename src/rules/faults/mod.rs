//! Faults, advice and promises that were left open.
//!
//! Where a fault stands now is told by [`super::story`]: a later finished visit that lists it again under `repeats`, or the visit named
//! by `fixed_by`, has the last word, and only the last entry is judged for what is still owed.

mod cleared;
mod fixed;
mod left;
mod promises;

use super::Rule;
use super::words::days;
use crate::record::Date;

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &left::FAULT_LEFT_LIVE,
    &left::ISOLATED_NOT_SECURED,
    &left::C1_WITHOUT_ACTION,
    &left::RETURN_DATE_MISSING,
    &left::RETURN_DATE_GONE_BY,
    &left::NOT_MENTIONED_AGAIN,
    &cleared::OBSERVATION_PAST_DUE,
    &cleared::SATISFACTORY_WITH_OPEN_CODE,
    &fixed::FIXED_WITHOUT_RETEST,
    &fixed::NEW_SERIAL_MISSING,
    &fixed::REMOVED_AND_NOT_ISOLATED,
    &fixed::FAULT_STATE_CONTRADICTS,
    &fixed::FAULT_INCOMPLETE,
    &promises::NOTHING_FOUND_NOTHING_MEASURED,
    &promises::HEAT_DAMAGE_NOT_SHOWN,
    &promises::CLAIM_WITHOUT_CHASE,
    &promises::CLAIM_CHASE_GONE_BY,
    &promises::PROMISE_PAST_DATE,
    &promises::TASK_PAST_DATE,
    &promises::TASK_DATE_UNREADABLE,
];

/// How long ago `then` was, for the end of a message; nothing for today and later.
fn ago(today: Date, then: Date) -> String {
    let gone = today.days_since(then);
    if gone > 0 { format!(" ({} ago)", days(gone)) } else { String::new() }
}
