//! The papers that a visit owes: certificates, report, advice note, callout report, and a sheet in plain words, from the record alone.
//!
//! A visit becomes a [`model::Paper`], in which every gap shows; [`html`] gives it a look. Every word of a paper's own is in [`words`].

mod circuits;
mod condition;
mod faults;
mod head;
pub mod html;
pub mod model;
mod sign;
mod supply;
pub mod words;

use crate::digest;
use crate::finding::{Finding, Grade};
use crate::record::{JobKind, PaperKind, Use};
use crate::rules::view::{CircuitView, JobView};
use crate::tables::required::Work;
use model::{Block, Obstacle, Origin, Paper, Section, Sheet, Value};
use words::{Language, Phrase as P};

/// The papers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Kind {
    /// For new circuits: supply, circuit details, test results, three signatures.
    InstallationCertificate,
    /// For altered circuits: a certificate each.
    MinorWorksCertificate,
    /// For an inspection: observations, outcome, limitations, schedules.
    ConditionReport,
    /// What is wrong, what not to use, who was told.
    AdviceNote,
    /// What was reported, found and done.
    CalloutReport,
    /// One page in plain words.
    CustomerSheet,
}

impl Kind {
    /// Every paper.
    pub const ALL: [Kind; 6] = [
        Kind::InstallationCertificate,
        Kind::MinorWorksCertificate,
        Kind::ConditionReport,
        Kind::AdviceNote,
        Kind::CalloutReport,
        Kind::CustomerSheet,
    ];

    /// What it is called.
    pub fn title(self) -> P {
        match self {
            Kind::InstallationCertificate => P::InstallationCertificate,
            Kind::MinorWorksCertificate => P::MinorWorksCertificate,
            Kind::ConditionReport => P::ConditionReport,
            Kind::AdviceNote => P::AdviceNote,
            Kind::CalloutReport => P::CalloutReport,
            Kind::CustomerSheet => P::CustomerSheet,
        }
    }

    /// The word that records have for it; nothing for papers without a number.
    pub fn in_record(self) -> Option<PaperKind> {
        match self {
            Kind::InstallationCertificate => Some(PaperKind::InstallationCertificate),
            Kind::MinorWorksCertificate => Some(PaperKind::MinorWorksCertificate),
            Kind::ConditionReport => Some(PaperKind::ConditionReport),
            Kind::AdviceNote => Some(PaperKind::AdviceNote),
            Kind::CalloutReport | Kind::CustomerSheet => None,
        }
    }

    /// The paper that a visit owes first: the first it names under `papers`, or the one that its kind of work ends in.
    pub fn owed(job: JobView<'_>) -> Kind {
        if let Some(kind) = job.data().papers.iter().find_map(|paper| paper.kind) {
            return kind.into();
        }
        let has_new = job.circuits().any(|circuit| circuit.is_new() && circuit.usage() != Some(Use::Spare));
        match job.data().kind {
            Some(JobKind::Inspect) => Kind::ConditionReport,
            _ if has_new => Kind::InstallationCertificate,
            Some(JobKind::Install) => Kind::InstallationCertificate,
            Some(JobKind::Alter | JobKind::Swap) => Kind::MinorWorksCertificate,
            Some(JobKind::Callout) => Kind::CalloutReport,
            Some(JobKind::Survey) | None => Kind::CustomerSheet,
        }
    }
}

impl From<PaperKind> for Kind {
    fn from(kind: PaperKind) -> Kind {
        match kind {
            PaperKind::InstallationCertificate => Kind::InstallationCertificate,
            PaperKind::MinorWorksCertificate => Kind::MinorWorksCertificate,
            PaperKind::ConditionReport => Kind::ConditionReport,
            PaperKind::AdviceNote => Kind::AdviceNote,
        }
    }
}

/// Who ordered the work, from `private/contacts.yaml`; printed only where that is asked for. Empty where nothing is known.
#[derive(Default, Clone, PartialEq, Eq)]
pub struct Client {
    /// Name.
    pub name: String,
    /// Address of the client.
    pub address: String,
    /// Address of the installation.
    pub site_address: String,
}

/// What a paper is made from and how.
pub struct Asked<'a> {
    /// Which paper.
    pub kind: Kind,
    /// Its language.
    pub language: Language,
    /// The client, where private details are to be printed.
    pub client: Option<&'a Client>,
    /// Whether the notes below the front matter are to be printed.
    pub notes: bool,
    /// What stands against the book; those about this visit's record are told.
    pub findings: &'a [Finding],
}

/// A visit being made into a paper.
struct Visit<'a> {
    job: JobView<'a>,
    language: Language,
    client: Option<&'a Client>,
}

impl<'a> Visit<'a> {
    fn word(&self, word: impl std::fmt::Display) -> String {
        self.language.word(&word.to_string())
    }

    fn none(&self) -> String {
        self.language.say(P::OutcomeNoCodes).to_owned()
    }

    fn prose(&self, phrase: P) -> Block {
        Block::Prose(self.language.say(phrase).to_owned())
    }

    /// The name that the work is done under.
    fn firm(&self) -> Option<&'a str> {
        self.job.site.book.settings.data.trading_as.as_deref()
    }

    /// A person's name by the id that records use.
    fn person(&self, id: Option<&str>) -> Value {
        let people = &self.job.site.book.settings.data.people;
        let person = id.and_then(|id| people.iter().find(|person| person.id.as_deref() == Some(id)));
        Value::or_missing(person.and_then(|person| person.name.as_deref()))
    }

    fn circuits(&self) -> Vec<CircuitView<'a>> {
        self.job.circuits().collect()
    }

    /// The altered circuits, each of which gets a certificate.
    fn altered(&self) -> Vec<CircuitView<'a>> {
        self.job.circuits().filter(|circuit| circuit.usage() != Some(Use::Spare)).collect()
    }
}

/// Makes a paper; it is a draft until somebody says otherwise.
pub fn make(job: JobView<'_>, asked: &Asked<'_>) -> std::io::Result<Paper> {
    let visit = Visit { job, language: asked.language, client: asked.client };
    let mut sheets = match asked.kind {
        Kind::InstallationCertificate => vec![sheet(visit.installation_certificate())],
        Kind::MinorWorksCertificate => visit.minor_works(),
        Kind::ConditionReport => vec![sheet(visit.condition_report())],
        Kind::AdviceNote => vec![sheet(visit.advice_note())],
        Kind::CalloutReport => vec![sheet(visit.callout_report())],
        Kind::CustomerSheet => vec![sheet(visit.plain())],
    };
    let body = job.record.source.body_text().trim();
    if asked.notes
        && !body.is_empty()
        && let Some(last) = sheets.last_mut()
    {
        last.sections.push(Section::new(P::Notes, vec![Block::Markdown(body.to_owned())]));
    }
    Ok(Paper {
        language: asked.language,
        title: asked.kind.title(),
        subtitle: visit.subtitle(asked.kind),
        draft: true,
        brief: asked.kind == Kind::CustomerSheet,
        sheets,
        obstacles: visit.obstacles(asked),
        origins: visit.origins(asked)?,
    })
}

fn sheet(sections: Vec<Section>) -> Sheet {
    Sheet { heading: None, sections }
}

impl<'a> Visit<'a> {
    fn subtitle(&self, kind: Kind) -> String {
        let paper = self.job.data().papers.iter().find(|paper| paper.kind.is_some() && paper.kind == kind.in_record());
        let number = paper.and_then(|paper| paper.number.clone());
        let place = self.job.site.site().and_then(|site| site.name.clone());
        let day = self.job.day().map(|day| self.language.day(day));
        [number, place, day].into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    fn installation_certificate(&self) -> Vec<Section> {
        let circuits = self.circuits();
        let is_addition = self.job.earlier().next().is_some() || self.job.is_kind(&[JobKind::Alter, JobKind::Swap]);
        let mut sections = vec![
            self.parties(Some(PaperKind::InstallationCertificate)),
            self.work(is_addition),
            self.limitations(true),
            self.supply(),
            self.protective(),
            self.inspected(),
            self.next(),
            self.notices(),
            self.instruments(),
        ];
        sections.extend(self.charging(&circuits));
        sections.extend(self.equipment());
        sections.push(self.sign(&[
            (P::SignDesign, P::DeclareDesign, self.job.data().people.designed.as_deref()),
            (P::SignConstruction, P::DeclareConstruction, self.job.data().people.built.as_deref()),
            (P::SignTesting, P::DeclareTesting, self.job.data().people.tested.as_deref()),
        ]));
        sections.extend([self.boards(), self.circuit_table(&circuits), self.test_table(&circuits)]);
        sections
    }

    fn minor_works(&self) -> Vec<Sheet> {
        let circuits = self.altered();
        let of = |circuit: Option<CircuitView<'a>>| {
            let mut sections = vec![self.parties(Some(PaperKind::MinorWorksCertificate)), self.minor_work(), self.minor_supply()];
            sections.extend(self.one_circuit(circuit));
            sections.extend(self.equipment());
            sections.push(self.limitations(true));
            sections.push(self.instruments());
            let people = &self.job.data().people;
            let who = people.built.as_deref().or(people.tested.as_deref());
            sections.push(self.sign(&[(P::SignMinor, P::DeclareMinor, who)]));
            sections
        };
        match circuits.as_slice() {
            [] => vec![sheet(of(None))],
            [one] => vec![sheet(of(Some(*one)))],
            many => many.iter().map(|circuit| Sheet { heading: Some(circuit.id().to_owned()), sections: of(Some(*circuit)) }).collect(),
        }
    }

    fn condition_report(&self) -> Vec<Section> {
        let circuits = self.circuits();
        let mut sections = vec![
            self.parties(Some(PaperKind::ConditionReport)),
            self.outcome(),
            self.purpose(),
            self.observations(),
            self.limitations(false),
            self.next(),
            self.guidance(),
            self.sign(&[(P::SignReport, P::DeclareReport, self.job.data().people.tested.as_deref())]),
            self.supply(),
            self.protective(),
            self.inspected(),
            self.instruments(),
            self.notices(),
        ];
        sections.extend(self.charging(&circuits));
        sections.extend([self.boards(), self.circuit_table(&circuits), self.test_table(&circuits)]);
        sections.extend(self.photographs());
        sections
    }

    fn advice_note(&self) -> Vec<Section> {
        let mut sections = vec![self.advice(), self.parties(Some(PaperKind::AdviceNote))];
        sections.extend(self.photographs());
        let by = self.job.data().people.tested.as_deref();
        sections.push(self.sign_with_receipt((P::SignAdvice, P::DeclareAdvice, by)));
        sections
    }

    fn callout_report(&self) -> Vec<Section> {
        let circuits = self.altered();
        let mut sections = vec![self.parties(None), self.callout(), self.faults()];
        sections.extend(self.equipment());
        sections.extend(self.promises());
        sections.extend(self.photographs());
        if !circuits.is_empty() {
            sections.push(self.instruments());
        }
        sections.push(self.sign(&[(P::SignCallout, P::DeclareCallout, self.job.data().people.tested.as_deref())]));
        if !circuits.is_empty() {
            sections.push(self.plain_tests(&circuits));
        }
        sections
    }

    /// The readings of a callout, none of which the paper itself asks for.
    fn plain_tests(&self, circuits: &[CircuitView<'a>]) -> Section {
        let rows = circuits.iter().map(|circuit| {
            let row = self.tests(*circuit, Work::Report).into_iter();
            row.map(|(item, value)| (item, if value == Value::Missing { Value::Nothing } else { value })).collect()
        });
        let table = model::Table::of(P::Tests, rows.collect()).notes(self.test_notes(circuits));
        Section::wide(P::Tests, vec![Block::Table(table)])
    }

    /// What the record holds that forbids a final paper.
    fn obstacles(&self, asked: &Asked<'_>) -> Vec<Obstacle> {
        let mut obstacles = Vec::new();
        let own = |message: String| Obstacle { rule: String::new(), message };
        if !self.job.is_finished() {
            obstacles.push(own(self.language.say(P::ObstacleDraft).to_owned()));
        }
        if !self.job.record.unreadable.is_empty() {
            obstacles.push(own(self.language.say(P::ObstacleUnreadable).to_owned()));
        }
        let new = self.job.circuits().find(|circuit| circuit.is_new() && circuit.usage() != Some(Use::Spare));
        match asked.kind {
            Kind::MinorWorksCertificate => {
                obstacles.extend(new.map(|circuit| own(self.language.fill(P::ObstacleNewCircuit, &[circuit.id()]))));
            }
            Kind::ConditionReport if !self.is_inspection() => obstacles.push(own(self.language.say(P::ObstacleNotInspect).to_owned())),
            _ => {}
        }
        if matches!(asked.kind, Kind::InstallationCertificate | Kind::MinorWorksCertificate) && self.is_inspection() && new.is_none() {
            obstacles.push(own(self.language.say(P::ObstacleIsInspect).to_owned()));
        }
        let of_visit = asked
            .findings
            .iter()
            .filter(|finding| finding.grade <= Grade::Breach && finding.place.file.path == self.job.record.source.path);
        obstacles.extend(of_visit.map(|finding| {
            let subject = if finding.subject.is_empty() { String::new() } else { format!("{}: ", finding.subject) };
            Obstacle { rule: format!("{} {}", finding.grade, finding.rule), message: format!("{subject}{}", finding.message) }
        }));
        obstacles
    }

    /// The files that the paper rests on, the visit's own first.
    fn origins(&self, asked: &Asked<'_>) -> std::io::Result<Vec<Origin>> {
        let site = self.job.site;
        let mut files: Vec<&str> = vec![&self.job.record.source.path];
        files.extend(site.record().map(|record| record.source.path.as_str()));
        let older = self.job.circuits().flat_map(|circuit| circuit.previous().map(|before| before.job.record.source.path.as_str()));
        let mut older: Vec<&str> = older.collect();
        older.sort_unstable();
        older.dedup();
        if asked.kind != Kind::CustomerSheet && asked.kind != Kind::AdviceNote {
            files.extend(older);
            let instruments = self.job.data().instruments.iter().filter_map(|id| site.book.instruments.get(id));
            files.extend(instruments.map(|record| record.source.path.as_str()));
        }
        files.push(&site.book.settings.source.path);
        let origin = |file: &str| Ok(Origin { file: file.to_owned(), digest: site.book.files.open(file).and_then(digest::of_file)? });
        files.into_iter().map(origin).collect()
    }
}
