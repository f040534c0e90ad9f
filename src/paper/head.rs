//! How every paper begins: place, people, dates, the work and its limits.

use super::Visit;
use super::model::{Block, Fact, Section, Table, Value};
use super::words::Phrase as P;
use crate::record::{JobKind, LimitationKind, PaperKind};

impl Visit<'_> {
    /// Place and people. `number`: the kind of paper whose number and dates are asked for.
    pub(super) fn parties(&self, number: Option<PaperKind>) -> Section {
        let data = self.job.data();
        let site = self.job.site.site();
        let client = |of: fn(&super::Client) -> &str| match self.client.map(of).filter(|text| !text.is_empty()) {
            Some(text) => Value::Said(text.to_owned()),
            None => Value::ByHand,
        };
        let mut facts = vec![
            Fact::new(P::Client, client(|client| &client.name)),
            Fact::new(P::ClientAddress, client(|client| &client.address)),
            Fact::new(P::SiteAddress, client(|client| &client.site_address)),
            Fact::new(P::SiteName, Value::or_missing(site.and_then(|site| site.name.as_deref()))),
            Fact::new(P::Premises, Value::or_missing(site.and_then(|site| site.premises).map(|premises| self.word(premises)))),
            Fact::new(P::Firm, Value::or_missing(self.firm())),
        ];
        if let Some(kind) = number {
            let paper = data.papers.iter().find(|paper| paper.kind == Some(kind));
            facts.push(Fact::new(P::Number, Value::or_missing(paper.and_then(|paper| paper.number.as_deref()))));
            facts.push(Fact::new(P::Issued, Value::or_missing(paper.and_then(|paper| paper.issued).map(|day| self.language.day(day)))));
            let given = paper.and_then(|paper| {
                let how = paper.how.map(|how| self.word(how)).unwrap_or_default();
                let on = paper.on.map(|day| self.language.day(day)).unwrap_or_default();
                Some(self.language.fill(P::GivenHow, &[paper.given_to.as_deref()?, &how, &on]))
            });
            facts.push(Fact::new(P::GivenTo, given.map_or(Value::ByHand, Value::Said)));
        }
        Section::new(P::Parties, vec![Block::Facts(None, facts)])
    }

    /// The edition that the visit cites.
    fn edition(&self, item: P) -> Fact {
        Fact::new(item, Value::or_missing(self.job.data().regulations.as_deref()))
    }

    /// The work, and the days on which it was done.
    pub(super) fn work(&self, comments_due: bool) -> Section {
        let data = self.job.data();
        let day = |date: Option<crate::record::Date>| Value::or_missing(date.map(|date| self.language.day(date)));
        let new: Vec<&str> = self.job.circuits().filter(|circuit| circuit.is_new()).map(|circuit| circuit.id()).collect();
        let kind = data.kind.map(|kind| {
            let kind = self.language.say(match kind {
                JobKind::Install => P::NewInstallation,
                JobKind::Alter => P::Alteration,
                JobKind::Swap => P::Replacement,
                _ => P::OtherWork,
            });
            if new.is_empty() { kind.to_owned() } else { self.language.fill(P::NewCircuits, &[kind, &new.join(", ")]) }
        });
        let existing = match data.existing.as_deref() {
            None if !comments_due => Value::Nothing,
            text => Value::or_missing(text),
        };
        let facts = vec![
            Fact::new(P::Description, Value::or_missing(data.title.as_deref())),
            Fact::new(P::KindOfWork, Value::or_missing(kind)),
            Fact::new(P::Extent, Value::or_missing(data.extent.as_deref())),
            self.edition(P::Edition),
            Fact::new(P::DayDesigned, day(data.dates.designed)),
            Fact::new(P::DayInstalled, day(data.dates.installed)),
            Fact::new(P::DayTested, day(data.dates.tested)),
            Fact::new(P::Departures, Value::or_missing(data.departures.as_deref())),
            Fact::new(P::Existing, existing),
        ];
        Section::new(P::Work, vec![Block::Facts(None, facts)])
    }

    /// The work of a minor works certificate.
    pub(super) fn minor_work(&self) -> Section {
        let data = self.job.data();
        let facts = vec![
            Fact::new(P::Description, Value::or_missing(data.title.as_deref())),
            Fact::new(P::VisitDay, Value::or_missing(self.job.day().map(|day| self.language.day(day)))),
            self.edition(P::Edition),
            Fact::new(P::Departures, Value::or_missing(data.departures.as_deref())),
            Fact::new(P::Existing, Value::or_missing(data.existing.as_deref())),
        ];
        Section::new(P::Work, vec![Block::Facts(None, facts)])
    }

    /// What was inspected, why, and what was known before.
    pub(super) fn purpose(&self) -> Section {
        let data = self.job.data();
        let site = self.job.site.site();
        let last = self.job.earlier().find(|job| job.is_kind(&[JobKind::Inspect]) && job.is_finished());
        let last = last.map_or_else(|| self.language.say(P::LastReportNone).to_owned(), |job| job.id().to_owned());
        let facts = vec![
            Fact::new(P::ReportReason, Value::or_missing(data.reason.as_deref())),
            Fact::new(P::Extent, Value::or_missing(data.extent.as_deref())),
            Fact::new(P::DayTested, Value::or_missing(self.job.day().map(|day| self.language.day(day)))),
            self.edition(P::EditionInspected),
            Fact::new(P::Installed, Value::or_missing(site.and_then(|site| site.installed.as_deref()))),
            Fact::new(P::Alterations, Value::or_missing(site.and_then(|site| site.alterations.as_deref()))),
            Fact::new(P::RecordsSeen, Value::or_missing(data.records_seen.as_deref())),
            Fact::new(P::LastReport, Value::Said(last)),
            Fact::new(P::ChargingIncluded, self.charging_included()),
        ];
        Section::new(P::Purpose, vec![Block::Facts(None, facts)])
    }

    /// Whether the charge points of the place were inspected.
    fn charging_included(&self) -> Value {
        let is_charging = |circuit: &crate::rules::view::CircuitView<'_>| circuit.usage() == Some(crate::record::Use::Ev);
        let points: Vec<&str> = self.job.installation().into_iter().filter(is_charging).map(|circuit| circuit.id()).collect();
        if points.is_empty() {
            return Value::Said(self.language.say(P::ChargingNone).to_owned());
        }
        if points.iter().all(|id| self.job.circuit(id).is_some()) {
            return Value::Said(self.language.fill(P::ChargingYes, &[&points.join(", ")]));
        }
        let names = |what: &&str| points.iter().any(|id| what.contains(id)) || what.to_lowercase().contains("charg");
        let limit = self.job.data().limitations.iter().filter_map(|limit| limit.what.as_deref()).find(names);
        limit.map_or(Value::Missing, |what| Value::Said(self.language.fill(P::ChargingLimited, &[what])))
    }

    /// What was left out, and why. `own_work`: the paper is for new or altered work.
    pub(super) fn limitations(&self, own_work: bool) -> Section {
        let mut blocks = Vec::new();
        let rows = self.job.data().limitations.iter().map(|limit| {
            let who = match (limit.agreed_with.as_deref(), limit.on.map(|day| self.language.day(day))) {
                (Some(who), Some(on)) => Value::Said(self.language.fill(P::AgreedWithOn, &[who, &on])),
                (Some(who), None) => Value::Said(who.to_owned()),
                _ if limit.kind == Some(LimitationKind::Operational) => Value::Nothing,
                _ => Value::Missing,
            };
            vec![
                (P::LimitWhat, Value::or_missing(limit.what.as_deref())),
                (P::LimitWhere, Value::or_missing(limit.place.as_deref())),
                (P::LimitWhy, Value::or_missing(limit.why.as_deref())),
                (P::LimitKind, Value::or_missing(limit.kind.map(|kind| self.word(kind)))),
                (P::LimitWho, who),
                (P::LimitEffect, Value::or_missing(limit.effect.as_deref())),
                (P::LimitLift, Value::or_missing(limit.lift.as_deref())),
            ]
        });
        let rows: Vec<_> = rows.collect();
        if rows.is_empty() {
            blocks.push(self.prose(P::LimitationsNone));
        } else {
            blocks.push(Block::Table(Table::of(P::Limitations, rows)));
        }
        if own_work {
            blocks.push(self.prose(P::LimitationsOwnWork));
        }
        Section::new(P::Limitations, blocks)
    }

    /// The next inspection, and what law and guidance say of it.
    pub(super) fn next(&self) -> Section {
        let day = self.job.data().next_inspection;
        let law = self
            .job
            .site
            .lawful_from(self.job)
            .map(|(due, law)| self.language.fill(P::NextLaw, &[&self.language.day(due), &law.months.source]));
        let guidance = || {
            let months = crate::tables::intervals::guidance(self.job.site.site()?.premises?)?;
            Some(self.language.fill(P::NextGuidance, &[&crate::rules::story::months(&months).to_string(), &months.source]))
        };
        let fact = Fact::new(P::NextInspection, Value::or_missing(day.map(|day| self.language.day(day)))).note(law.or_else(guidance));
        Section::new(P::Next, vec![Block::Facts(None, vec![fact])])
    }

    /// Notices sent.
    pub(super) fn notices(&self) -> Section {
        let day = |date: Option<crate::record::Date>| date.map(|date| self.language.day(date));
        let rows = self.job.data().notices.iter().map(|notice| {
            vec![
                (P::NoticeTo, Value::or_missing(notice.to.map(|to| self.word(to)))),
                (P::NoticeRoute, Value::or_nothing(notice.route.map(|route| self.word(route)))),
                (P::NoticeSent, Value::or_missing(day(notice.sent))),
                (P::NoticeAnswered, Value::or_nothing(day(notice.answered))),
                (P::NoticeRef, Value::or_nothing(notice.reference.as_deref())),
            ]
        });
        let rows: Vec<_> = rows.collect();
        let block = if rows.is_empty() { self.prose(P::NoticesNone) } else { Block::Table(Table::of(P::Notices, rows)) };
        Section::new(P::Notices, vec![block])
    }
}
