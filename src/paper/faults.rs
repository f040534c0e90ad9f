//! Faults, advice and promises: the callout report, the advice note, and the sheet in plain words.

use super::Visit;
use super::model::{Block, Fact, Section, Value};
use super::words::Phrase as P;
use crate::record::{Code, Fault, FaultState, JobKind, Observation, Photographs, Use};
use crate::rules::story::{FaultView, Standing};
use crate::tables::intervals;

impl<'a> Visit<'a> {
    fn meaning(&self, code: Code) -> &'static str {
        self.language.say(match code {
            Code::C1 => P::CodeC1,
            Code::C2 => P::CodeC2,
            Code::C3 => P::CodeC3,
            Code::Fi => P::CodeFi,
        })
    }

    /// Each fault of the visit.
    pub(super) fn faults(&self) -> Section {
        let mut blocks: Vec<Block> = self.job.faults().map(|fault| self.fault(fault)).collect();
        if blocks.is_empty() {
            blocks.push(self.prose(P::FaultsNone));
        }
        Section::new(P::Faults, blocks)
    }

    fn fault(&self, view: FaultView<'a>) -> Block {
        let fault = view.fault;
        let day = |date: Option<crate::record::Date>| date.map(|date| self.language.day(date));
        let excluded = (!fault.excluded.is_empty()).then(|| fault.excluded.join(", "));
        let number = (view.index + 1).to_string();
        let heading = self.language.fill(P::Fault, &[fault.id.as_deref().unwrap_or(&number)]);
        let mut facts = vec![
            Fact::new(P::FaultReported, Value::or_missing(day(fault.reported))),
            Fact::new(P::FaultSymptom, Value::or_missing(fault.symptom.map(|symptom| self.word(symptom)))),
            Fact::new(P::FaultFound, Value::or_missing(fault.found.as_deref())),
            Fact::new(P::FaultBelieved, Value::or_nothing(fault.believed.as_deref())),
            Fact::new(P::FaultExcluded, Value::or_nothing(excluded)),
            Fact::new(P::FaultCause, Value::or_missing(fault.cause.map(|cause| self.word(cause)))),
            Fact::new(P::FaultCircuit, Value::or_nothing(fault.circuit.as_deref())),
            Fact::new(P::FaultUnit, Value::or_nothing(fault.unit.as_deref())),
            Fact::new(P::FaultCode, Value::or_nothing(fault.code)).note(fault.code.map(|code| self.meaning(code).to_owned())),
            Fact::new(P::FaultState, Value::or_missing(fault.state.map(|state| self.word(state)))),
            Fact::new(P::FaultLeft, Value::or_missing(fault.left.map(|left| self.word(left)))),
            Fact::new(P::FaultFixedBy, Value::or_nothing(fault.fixed_by.as_deref().filter(|by| *by != self.job.id()))),
        ];
        facts.extend(self.advice_facts(fault, view.is_dangerous() && view.standing() != Standing::Fixed));
        Block::Facts(Some(heading), facts)
    }

    /// What was done about a fault and said of it. `due`: it has to be said.
    fn advice_facts(&self, fault: &Fault, due: bool) -> Vec<Fact> {
        let or_gap = |text: Option<String>| if due { Value::or_missing(text) } else { Value::or_nothing(text) };
        let day = |date: Option<crate::record::Date>| date.map(|date| self.language.day(date));
        let safe = fault.made_safe.as_ref();
        let advice = fault.advice.as_ref();
        let acknowledged = advice.and_then(|advice| advice.acknowledged).map(|yes| self.language.yes_or_no(yes).to_owned());
        let notice = safe.and_then(|safe| safe.notice).map(|yes| self.language.yes_or_no(yes).to_owned());
        vec![
            Fact::new(P::DoNotUse, or_gap(advice.and_then(|advice| advice.words.clone()))),
            Fact::new(P::MadeSafe, or_gap(safe.and_then(|safe| safe.how.clone()))),
            Fact::new(P::WarningNotice, or_gap(notice)),
            Fact::new(P::Told, or_gap(safe.and_then(|safe| safe.told.clone()))),
            Fact::new(P::ToldWhen, or_gap(day(advice.and_then(|advice| advice.on).or(safe.and_then(|safe| safe.on))))),
            Fact::new(P::ToldHow, or_gap(advice.and_then(|advice| advice.how).map(|how| self.word(how)))),
            Fact::new(P::Acknowledged, or_gap(acknowledged)),
            Fact::new(P::ReturnBy, Value::or_nothing(day(fault.return_by))),
        ]
    }

    /// The faults of the visit that somebody must be advised of.
    fn faults_to_advise(&self) -> impl Iterator<Item = FaultView<'a>> {
        self.job.faults().filter(|fault| fault.standing() != Standing::Fixed || fault.fault.advice.is_some())
    }

    /// The observations of the visit that somebody must be advised of.
    fn observations_to_advise(&self) -> impl Iterator<Item = &'a Observation> {
        let grave = self.job.observations().filter(|seen| seen.observation.code.is_some_and(|code| code != Code::C3));
        grave.filter(|seen| !seen.is_cleared_at_once()).map(|seen| seen.observation)
    }

    /// The heart of an advice note.
    pub(super) fn advice(&self) -> Section {
        let mut blocks = Vec::new();
        for view in self.faults_to_advise() {
            let fault = view.fault;
            let place = fault.circuit.as_deref().or(fault.unit.as_deref());
            let wrong = fault.found.clone().or_else(|| fault.symptom.map(|symptom| self.word(symptom)));
            let mut facts = vec![
                Fact::new(P::WhatIsWrong, Value::or_missing(wrong)),
                Fact::new(P::WhereItIs, Value::or_missing(place)),
                Fact::new(P::HowGrave, Value::or_missing(fault.code.map(|code| self.meaning(code)))),
                Fact::new(P::Left, Value::or_missing(fault.left.map(|left| self.word(left)))),
            ];
            facts.extend(self.advice_facts(fault, true));
            let heading = self.language.fill(P::Fault, &[fault.id.as_deref().unwrap_or_default()]);
            blocks.push(Block::Facts(Some(heading), facts));
        }
        for seen in self.observations_to_advise() {
            let as_fault = Fault { made_safe: seen.made_safe.clone(), advice: seen.advice.clone(), return_by: None, ..Fault::default() };
            let mut facts = vec![
                Fact::new(P::WhatIsWrong, Value::or_missing(seen.what.as_deref())),
                Fact::new(P::WhereItIs, Value::or_missing(seen.place.as_deref())),
                Fact::new(P::HowGrave, Value::or_missing(seen.code.map(|code| self.meaning(code)))),
                Fact::new(P::ObservationDue, Value::or_nothing(seen.due.map(|day| self.language.day(day)))),
            ];
            facts.extend(self.advice_facts(&as_fault, true));
            blocks.push(Block::Facts(seen.id.clone(), facts));
        }
        if blocks.is_empty() {
            let asked = [P::DangersNone, P::WhatIsWrong, P::HowGrave, P::DoNotUse, P::Left, P::Told];
            blocks.push(Block::Facts(None, asked.map(|item| Fact::new(item, Value::Missing)).into()));
        }
        blocks.push(self.prose(P::UrgentCall));
        Section { alarm: true, ..Section::new(P::Dangers, blocks) }
    }

    /// What a callout was, in short.
    pub(super) fn callout(&self) -> Section {
        let data = self.job.data();
        let facts = vec![
            Fact::new(P::Description, Value::or_missing(data.title.as_deref())),
            Fact::new(P::VisitDay, Value::or_missing(self.job.day().map(|day| self.language.day(day)))),
            Fact::new(P::MinutesOnSite, Value::or_nothing(data.minutes_on_site)),
            Fact::new(P::Continues, Value::or_nothing(data.continues.as_deref())),
        ];
        Section::new(P::CalloutWork, vec![Block::Facts(None, facts)])
    }

    /// Promises not kept yet, or nothing.
    pub(super) fn promises(&self) -> Option<Section> {
        let open = self.job.data().follow_ups.iter().filter(|promise| promise.done.is_none());
        let lines = open.map(|promise| Value::or_missing(promise.what.as_deref().map(|what| self.promise(what, promise))));
        let lines: Vec<Value> = lines.collect();
        (!lines.is_empty()).then(|| Section::new(P::OpenPromises, vec![Block::Lines(P::FollowUp, lines)]))
    }

    fn promise(&self, what: &str, promise: &crate::record::FollowUp) -> String {
        let with = promise.with.as_deref().map_or(what.to_owned(), |with| self.language.fill(P::FollowUpWith, &[what, with]));
        promise.due.map_or(with.clone(), |day| self.language.fill(P::FollowUpDue, &[&with, &self.language.day(day)]))
    }

    /// The photographs by name where they may be shown; nothing where there are none.
    pub(super) fn photographs(&self) -> Option<Section> {
        let joints = self.job.data().joints.iter().filter_map(|joint| joint.photo.as_deref());
        let pictures = self.job.record.body.links.iter().filter(|link| link.image).map(|link| link.target.as_str());
        let mut names: Vec<&str> = Vec::new();
        for name in joints.chain(pictures).filter(|name| !name.contains(':')) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let allowed = self.job.site.site().and_then(|site| site.privacy.as_ref()).and_then(|privacy| privacy.photographs);
        if names.is_empty() || allowed == Some(Photographs::None) {
            return None;
        }
        let block = match allowed {
            Some(Photographs::Any) => Block::Lines(P::Photographs, names.iter().map(|name| Value::Said((*name).to_owned())).collect()),
            _ => self.prose(P::PhotographsRecordOnly),
        };
        Some(Section::new(P::Photographs, vec![block]))
    }

    /// The sheet in plain words.
    pub(super) fn plain(&self) -> Vec<Section> {
        vec![self.plain_done(), self.plain_wrong(), self.plain_next(), self.plain_papers(), self.plain_questions()]
    }

    fn plain_done(&self) -> Section {
        let data = self.job.data();
        let tested =
            self.job.circuits().filter(|circuit| crate::record::ReadingKey::ALL.iter().any(|key| key.is_in(circuit.readings()))).count();
        let tested = match tested {
            0 => self.language.say(P::DoneTestedNone).to_owned(),
            1 => self.language.say(P::DoneTestedOne).to_owned(),
            count => self.language.fill(P::DoneTestedCount, &[&count.to_string()]),
        };
        let facts = vec![
            Fact::new(P::DoneWhat, Value::or_missing(data.title.as_deref())),
            Fact::new(P::VisitDay, Value::or_missing(self.job.day().map(|day| self.language.day(day)))),
            Fact::new(P::DoneWho, self.person(data.people.tested.as_deref().or(data.people.built.as_deref()))),
            Fact::new(P::SiteName, Value::or_missing(self.job.site.site().and_then(|site| site.name.as_deref()))),
            Fact::new(P::DoneTested, Value::Said(tested)),
        ];
        Section::new(P::DoneToday, vec![Block::Facts(None, facts)])
    }

    fn plain_wrong(&self) -> Section {
        let mut told: Vec<(usize, Block)> = Vec::new();
        let rank = |code: Option<Code>| match code {
            Some(Code::C1) => 0,
            Some(Code::C2) => 1,
            Some(Code::Fi) => 2,
            None => 3,
            Some(Code::C3) => 4,
        };
        for view in self.job.faults().filter(|fault| fault.standing() != Standing::Fixed) {
            let fault = view.fault;
            let wrong = fault.found.clone().or_else(|| fault.symptom.map(|symptom| self.word(symptom)));
            let words = fault.advice.as_ref().and_then(|advice| advice.words.clone());
            let due = view.is_dangerous();
            let facts = vec![
                Fact::new(P::WhatIsWrong, Value::or_missing(wrong)),
                Fact::new(P::HowGrave, Value::or_nothing(fault.code.map(|code| self.meaning(code)))),
                Fact::new(P::DoNotUse, if due { Value::or_missing(words) } else { Value::or_nothing(words) }),
                Fact::new(P::Left, Value::or_missing(fault.left.map(|left| self.word(left)))),
            ];
            told.push((rank(fault.code), Block::Facts(None, facts)));
        }
        for seen in self.observations_to_advise() {
            let words = seen.advice.as_ref().and_then(|advice| advice.words.clone());
            let facts = vec![
                Fact::new(P::WhatIsWrong, Value::or_missing(seen.what.as_deref())),
                Fact::new(P::WhereItIs, Value::or_missing(seen.place.as_deref())),
                Fact::new(P::HowGrave, Value::or_nothing(seen.code.map(|code| self.meaning(code)))),
                Fact::new(P::DoNotUse, Value::or_missing(words)),
            ];
            told.push((rank(seen.code), Block::Facts(None, facts)));
        }
        told.sort_by_key(|(rank, _)| *rank);
        let alarm = !told.is_empty();
        let mut blocks: Vec<Block> = told.into_iter().map(|(_, block)| block).collect();
        if blocks.is_empty() {
            blocks.push(self.prose(P::PlainNothing));
        }
        let mild = self.job.observations().filter(|seen| seen.observation.code == Some(Code::C3) && !seen.is_cleared_at_once());
        let mild: Vec<&str> = mild.filter_map(|seen| seen.observation.what.as_deref()).collect();
        if !mild.is_empty() {
            blocks.push(Block::Prose(self.language.fill(P::PlainMore, &[&mild.join("; ")])));
        }
        if alarm {
            blocks.push(self.prose(P::UrgentCall));
        }
        Section { alarm, ..Section::new(P::PlainWrong, blocks) }
    }

    fn plain_next(&self) -> Section {
        let data = self.job.data();
        let mut lines = Vec::new();
        for fault in self.job.faults().filter(|fault| fault.standing() != Standing::Fixed).map(|view| view.fault) {
            let what = fault.found.clone().or_else(|| fault.symptom.map(|symptom| self.word(symptom))).unwrap_or_default();
            if let Some(day) = fault.return_by {
                lines.push(self.language.fill(P::PlainReturn, &[&self.language.day(day), &what]));
            }
            if let Some(day) = fault.watch_until.filter(|_| fault.state == Some(FaultState::Watching)) {
                lines.push(self.language.fill(P::PlainWatch, &[&self.language.day(day), &what]));
            }
        }
        let open = data.follow_ups.iter().filter(|promise| promise.done.is_none());
        lines.extend(open.filter_map(|promise| Some(self.promise(promise.what.as_deref()?, promise))));
        if let Some(day) = data.next_inspection {
            lines.push(self.language.fill(P::PlainInspection, &[&self.language.day(day)]));
        }
        if lines.is_empty() {
            lines.push(self.language.say(P::PlainNoNext).to_owned());
        }
        let has_rcd = self.job.circuits().any(|circuit| circuit.rcd().is_some() && circuit.usage() != Some(Use::Spare));
        let button = self.job.edition().filter(|_| has_rcd).and_then(intervals::rcd_button);
        lines.extend(button.map(|months| self.language.fill(P::PlainButton, &[&crate::rules::story::months(&months).to_string()])));
        Section::new(P::PlainNext, vec![Block::Lines(P::PlainNext, lines.into_iter().map(Value::Said).collect())])
    }

    fn plain_papers(&self) -> Section {
        let papers = self.job.data().papers.iter().map(|paper| {
            let kind = paper.kind.map(|kind| self.language.say(super::Kind::from(kind).title()));
            kind.map(|kind| match paper.number.as_deref() {
                Some(number) => self.language.fill(P::PlainPaper, &[kind, number]),
                None => kind.to_owned(),
            })
        });
        let lines: Vec<Value> = papers.map(Value::or_missing).collect();
        let block = if lines.is_empty() { self.prose(P::PlainNoPapers) } else { Block::Lines(P::PlainPapers, lines) };
        Section::new(P::PlainPapers, vec![block])
    }

    fn plain_questions(&self) -> Section {
        let facts = vec![Fact::new(P::PlainContact, Value::ByHand)];
        Section::new(P::PlainQuestions, vec![self.prose(P::PlainAsk), Block::Facts(None, facts)])
    }

    /// Whether the visit was an inspection.
    pub(super) fn is_inspection(&self) -> bool {
        self.job.is_kind(&[JobKind::Inspect])
    }
}
