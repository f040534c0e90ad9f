//! What a condition report adds: observations, codes, the outcome, the schedule of inspections and words for the recipient.

use super::Visit;
use super::model::{Block, Fact, Section, Table, Value};
use super::words::Phrase as P;
use crate::record::{Code, MadeSafe, Observation};
use crate::tables::intervals;

impl Visit<'_> {
    /// What was looked at, and what came of it.
    pub(super) fn inspected(&self) -> Section {
        let rows = self.job.data().inspected.iter().map(|item| {
            vec![
                (P::InspectedWhat, Value::or_missing(item.what.as_deref())),
                (P::InspectedResult, Value::or_missing(item.result.map(|result| self.word(result)))),
                (P::InspectedNote, Value::or_nothing(item.note.as_deref())),
            ]
        });
        let mut rows: Vec<_> = rows.collect();
        if rows.is_empty() {
            rows.push(vec![(P::InspectedWhat, Value::Missing), (P::InspectedResult, Value::Missing)]);
        }
        Section::new(P::Inspected, vec![Block::Table(Table::of(P::Inspected, rows))])
    }

    /// The overall assessment, and the codes it rests on.
    pub(super) fn outcome(&self) -> Section {
        let data = self.job.data();
        let open: Vec<&Observation> =
            self.job.observations().filter(|seen| !seen.is_cleared_at_once()).map(|seen| seen.observation).collect();
        let counted = Code::ALL.iter().filter_map(|code| {
            let count = open.iter().filter(|seen| seen.code == Some(*code)).count();
            (count > 0).then(|| format!("{count} \u{d7} {code}"))
        });
        let counted: Vec<String> = counted.collect();
        let codes = if counted.is_empty() { self.language.say(P::OutcomeNoCodes).to_owned() } else { counted.join(", ") };
        let facts = vec![
            Fact::new(P::OutcomeIs, Value::or_missing(data.outcome.map(|outcome| self.word(outcome)))),
            Fact::new(P::OutcomeCodes, Value::Said(codes)),
        ];
        Section { alarm: true, ..Section::new(P::Outcome, vec![Block::Facts(None, facts), self.prose(P::OutcomeGround)]) }
    }

    /// What was told of a thing, to whom, how and when.
    pub(super) fn told(&self, made_safe: Option<&MadeSafe>, advice: Option<&crate::record::Advice>) -> Option<String> {
        let who = made_safe.and_then(|safe| safe.told.clone());
        let how = advice.and_then(|advice| advice.how).map(|how| self.word(how));
        let on = advice.and_then(|advice| advice.on).or(made_safe.and_then(|safe| safe.on)).map(|day| self.language.day(day));
        let parts: Vec<String> = [who, how, on].into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    }

    /// The observations with their codes.
    pub(super) fn observations(&self) -> Section {
        let rows = self.job.data().observations.iter().map(|seen| {
            let is_c1 = seen.code == Some(Code::C1);
            let due_now = |value: Option<String>| if is_c1 { Value::or_missing(value) } else { Value::or_nothing(value) };
            let safe = seen.made_safe.as_ref().and_then(|safe| safe.how.clone());
            let cleared = seen.cleared_by.as_deref().map(|by| self.language.fill(P::Cleared, &[by]));
            let due = cleared.or_else(|| seen.due.map(|day| self.language.day(day)));
            vec![
                (P::ObservationId, Value::or_nothing(seen.id.as_deref())),
                (P::ObservationCode, Value::or_missing(seen.code)),
                (P::ObservationWhat, Value::or_missing(seen.what.as_deref())),
                (P::ObservationWhere, Value::or_missing(seen.place.as_deref())),
                (
                    P::ObservationClause,
                    if seen.code == Some(Code::Fi) {
                        Value::or_nothing(seen.clause.as_deref())
                    } else {
                        Value::or_missing(seen.clause.as_deref())
                    },
                ),
                (P::ObservationTold, due_now(self.told(seen.made_safe.as_ref(), seen.advice.as_ref()))),
                (P::ObservationSafe, due_now(safe)),
                (P::ObservationDue, Value::or_nothing(due)),
            ]
        });
        let rows: Vec<_> = rows.collect();
        let block = if rows.is_empty() { self.prose(P::ObservationsNone) } else { Block::Table(Table::of(P::Observations, rows)) };
        Section::new(P::Observations, vec![block, self.codes()])
    }

    /// The codes in words.
    pub(super) fn codes(&self) -> Block {
        let meanings = [P::CodeC1, P::CodeC2, P::CodeC3, P::CodeFi, P::OneCode];
        Block::Lines(P::Codes, meanings.iter().map(|phrase| Value::Said(self.language.say(*phrase).to_owned())).collect())
    }

    /// Words for whoever receives the report.
    pub(super) fn guidance(&self) -> Section {
        let edition = self.job.edition();
        let button = edition.and_then(intervals::rcd_button);
        let button =
            button.map(|months| self.language.fill(P::GuidanceRcd, &[&crate::rules::story::months(&months).to_string(), &months.source]));
        let plain =
            [P::GuidanceWhat, P::GuidanceCodes, P::GuidanceKeep, P::GuidanceNext].map(|phrase| self.language.say(phrase).to_owned());
        let blocks = plain.into_iter().chain(button).map(Block::Prose).collect();
        Section::new(P::Guidance, blocks)
    }
}
