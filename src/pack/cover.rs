//! The cover page: what this is, for whom, what is dangerous and open, what is not known, what was withheld and why.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::owed::Owed;
use super::plan::{Plan, SitePlan};
use super::told::said;
use super::write::{COVER, DIGESTS};
use super::{Audience, Wanted, Withheld, dangers_in};
use crate::book::{Book, DetailSort, SiteRecords, Step, Stray};
use crate::due::AHEAD_DAYS;
use crate::finding::{Finding, Grade};
use crate::judge::Verdict;
use crate::record::Date;
use crate::rules::{Family, by_id};

/// The page, and how many dangers it tells.
pub fn page(
    book: &Book,
    wanted: &Wanted,
    verdict: &Verdict,
    plan: &Plan<'_>,
    withheld: &[Withheld],
    photographs: usize,
) -> (String, usize) {
    let mut page = Page { text: String::new() };
    page.begin(book, wanted, plan, photographs);
    let dangers = page.dangers(verdict, plan);
    page.open(plan);
    page.not_known(verdict, plan);
    page.not_in_order(verdict, plan);
    page.unread(book, plan);
    match wanted.audience {
        Audience::Buyer => {
            page.per_site(plan, "Papers", |site| &site.told.papers, "no paper is recorded");
            page.per_site(plan, "Notices and their references", |site| &site.told.notices, "no notice is recorded");
            page.per_site(plan, "Equipment in place", |site| &site.told.units, "no equipment is recorded");
            page.recalls(plan);
        }
        Audience::Customer => page.customer(book, wanted, plan),
        Audience::Assessor => page.assessor(book, wanted, verdict, plan),
        Audience::Successor => page.successor(book, wanted, plan),
    }
    page.kept_back(plan);
    page.withheld(withheld);
    page.end(wanted);
    (page.text, dangers)
}

struct Page {
    text: String,
}

/// `1 visit`, `2 visits`.
fn counted(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// A finding in a sentence, with the names of the copy.
fn of_finding(plan: &Plan<'_>, finding: &Finding, site: &SitePlan<'_>) -> String {
    let visit = site.name_of(finding.place.file.stem()).unwrap_or_else(|| "site.md".to_owned());
    let subject = if finding.subject.is_empty() || finding.message.contains(&finding.subject) {
        String::new()
    } else {
        format!("{}: ", said(&finding.subject))
    };
    plan.on_cover(site, &format!("{} {visit}: {subject}{}", site.name, said(&finding.message)))
}

fn of_site<'v>(verdict: &'v Verdict, site: &SitePlan<'_>) -> impl Iterator<Item = &'v Finding> + use<'v> {
    let folder = format!("sites/{}/", site.files.id);
    verdict.findings.iter().filter(move |finding| finding.place.file.path.starts_with(&folder))
}

fn family(finding: &Finding) -> Option<Family> {
    by_id(finding.rule).map(|rule| rule.family)
}

/// Whether a finding says that something is not there, rather than that something is wrong.
fn is_gap(finding: &Finding) -> bool {
    family(finding) == Some(Family::Missing)
        || ["missing", "not-given", "not-known", "never"].iter().any(|word| finding.rule.contains(word))
}

impl Page {
    fn line(&mut self, text: &str) {
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn head(&mut self, title: &str) {
        let _ = write!(self.text, "\n## {title}\n\n");
    }

    /// A list, or what to say when there is nothing.
    fn list<'l>(&mut self, lines: impl IntoIterator<Item = &'l String>, nothing: &str) {
        let mut any = false;
        for line in lines {
            any = true;
            self.line(&format!("- {line}"));
        }
        if !any {
            self.line(nothing);
        }
    }

    fn begin(&mut self, book: &Book, wanted: &Wanted, plan: &Plan<'_>, photographs: usize) {
        let keeper = book.settings.data.trading_as.as_deref().map_or_else(|| "an electrician".to_owned(), said);
        let (title, what) = match wanted.audience {
            Audience::Buyer => {
                ("Electrical records for a buyer", "the papers issued with their schedules, notices, equipment, and what is open")
            }
            Audience::Assessor => {
                ("Electrical records for an assessor", "the jobs of a period, the instruments with their checks, and what is open")
            }
            Audience::Successor => ("Hand-over of electrical records", "what the customers agreed to hand over, and what is still owed"),
            Audience::Customer => ("What is held about your place", "every record of it that the electrician keeps"),
        };
        let visits: usize = plan.sites.iter().map(|site| site.visits.len()).sum();
        self.line(&format!("# {title}\n"));
        self.line(&format!("- For: {} ({what})", wanted.audience.as_str()));
        self.line(&format!("- From the book of: {keeper}"));
        self.line(&format!("- Made on: {}", wanted.on));
        if wanted.audience == Audience::Assessor && (wanted.from.is_some() || wanted.to.is_some()) {
            let day = |day: Option<Date>, none: &str| day.map_or_else(|| none.to_owned(), |day| day.to_string());
            self.line(&format!("- Period: {} to {}", day(wanted.from, "the beginning"), day(wanted.to, "today")));
        }
        self.line(&format!(
            "- Holds: {}, {}, {}",
            counted(plan.sites.len(), "site"),
            counted(visits, "visit"),
            counted(photographs, "photograph")
        ));
        self.line("\nThis is a reader's copy. The records in it say what was found, read and done on their own days, by the standard of those days;");
        self.line("they do not say that anything is safe now. Electrical work is for competent people, who isolate, prove dead and test for themselves.");
        self.line("The current printed standard, the law, the network operator and the maker come before anything written here.");
    }

    /// Every danger; none is ever left out.
    fn dangers(&mut self, verdict: &Verdict, plan: &Plan<'_>) -> usize {
        self.head("Dangers");
        let mut count = 0;
        for site in &plan.sites {
            for finding in dangers_in(verdict, &site.files.id) {
                // One about a fault or an observation stands beside the line that tells of it whole.
                let path = finding.place.path.steps().first();
                count += usize::from(!matches!(path, Some(Step::Key(key)) if key == "faults" || key == "observations"));
                let help = plan.on_cover(site, &said(&finding.help));
                self.line(&format!("- **{}.** {help}", of_finding(plan, finding, site)));
            }
            for line in &site.told.open[..site.told.dangers] {
                count += 1;
                self.line(&format!("- {line}"));
            }
        }
        let behind = plan.kept_back.iter().enumerate().filter(|(_, kept)| kept.dangers > 0);
        for (number, _) in behind {
            count += 1;
            let number = number + 1;
            self.line(&format!(
                "- **A danger is open at withheld site {number}.** Ask the keeper of the book before anybody works or stays there."
            ));
        }
        if count == 0 {
            self.line("The records tell of none that is open. That is not to say that there is none.");
        }
        count
    }

    fn open(&mut self, plan: &Plan<'_>) {
        self.head("Open faults, observations and advice");
        let open: Vec<&String> = plan.sites.iter().flat_map(|site| &site.told.open[site.told.dangers..]).collect();
        let told = plan.sites.iter().map(|site| site.told.dangers).sum::<usize>();
        let nothing = if told > 0 { "None beside those under Dangers." } else { "None is recorded." };
        self.list(open, nothing);
    }

    fn not_known(&mut self, verdict: &Verdict, plan: &Plan<'_>) {
        self.head("What is not known");
        let mut lines = Vec::new();
        for site in &plan.sites {
            lines.extend(
                of_site(verdict, site)
                    .filter(|finding| finding.grade != Grade::Danger && is_gap(finding))
                    .map(|finding| of_finding(plan, finding, site)),
            );
            // In a hand-over of a whole book the records themselves say it.
            if plan.sites.len() == 1 {
                lines.extend(site.told.not_known.iter().cloned());
            }
        }
        self.list(&lines, "Nothing that the records ask for is missing from them. What nobody wrote down is not known.");
        if plan.sites.len() > 1 {
            self.line("\nWhat could not be measured, and what was agreed not to be looked at, stands in each record under `not_taken` and `limitations`.");
        }
    }

    fn not_in_order(&mut self, verdict: &Verdict, plan: &Plan<'_>) {
        self.head("What the records show that is not in order");
        let mut lines = Vec::new();
        for site in &plan.sites {
            let wanted = |finding: &&Finding| {
                matches!(finding.grade, Grade::Breach | Grade::Doubt)
                    && !is_gap(finding)
                    && !matches!(family(finding), Some(Family::Privacy | Family::Answers))
            };
            lines.extend(of_site(verdict, site).filter(wanted).map(|finding| of_finding(plan, finding, site)));
        }
        self.list(&lines, "Nothing else that a check of the records finds. That is not to say that nothing is.");
    }

    fn per_site<'p>(&mut self, plan: &'p Plan<'_>, title: &str, of: impl Fn(&'p SitePlan<'_>) -> &'p Vec<String>, nothing: &str) {
        self.head(title);
        let nothing = format!("Not known: {nothing}.");
        self.list(plan.sites.iter().flat_map(of), &nothing);
    }

    /// Units in place under a maker's notice that nothing clears.
    fn recalls(&mut self, plan: &Plan<'_>) {
        self.head("Equipment under a maker's notice");
        let mut lines = Vec::new();
        for site in &plan.sites {
            let here = plan.notices.iter().filter(|notice| notice.site == site.files.id);
            lines.extend(here.map(|notice| format!("{} {}", site.name, notice.words)));
        }
        self.list(&lines, "None in place that the book's notices touch and that nothing clears.");
    }

    fn customer(&mut self, book: &Book, wanted: &Wanted, plan: &Plan<'_>) {
        self.per_site(plan, "Visits", |site| &site.told.visits, "no visit is recorded");
        self.per_site(plan, "Papers", |site| &site.told.papers, "no paper is recorded");
        self.per_site(plan, "Notices sent to others", |site| &site.told.notices, "no notice is recorded");
        self.per_site(plan, "Equipment in place", |site| &site.told.units, "no equipment is recorded");
        self.recalls(plan);
        self.head("What else is held, and until when");
        for site in &plan.sites {
            let (records, _) = book.read_site(site.files);
            self.held(book, wanted, site, &records);
        }
    }

    fn held(&mut self, book: &Book, wanted: &Wanted, site: &SitePlan<'_>, records: &SiteRecords) {
        let id = site.files.id.as_str();
        let mut kinds: Vec<&str> = Vec::new();
        if !book.contacts.names(id).is_empty() {
            kinds.push("names");
        }
        for (sort, word) in [
            (DetailSort::Reach, "telephone numbers or e-mail addresses"),
            (DetailSort::Address, "an address"),
            (DetailSort::Access, "how to get in"),
            (DetailSort::Other, "other details"),
        ] {
            if book.contacts.details(id).iter().any(|detail| detail.sort == sort) {
                kinds.push(word);
            }
        }
        let kinds = if kinds.is_empty() { "nothing".to_owned() } else { kinds.join(", ") };
        self.line(&format!(
            "- In a file of contacts, kept apart and in no copy: {kinds}. Ask the keeper of the book to show you the entry."
        ));
        let data = records.site.as_ref().map(|record| &record.data);
        let privacy = data.and_then(|site| site.privacy.as_ref());
        let share =
            privacy.and_then(|privacy| privacy.share).map_or("nothing is said; private details are left out", |share| share.as_str());
        let photographs = privacy.and_then(|privacy| privacy.photographs).map_or("nothing is said", |photographs| photographs.as_str());
        self.line(&format!("- What may be shared with others: {share}. Photographs: {photographs}."));
        if let Some(why) = privacy.and_then(|privacy| privacy.why.as_deref()) {
            self.line(&format!("- Why: {}", said(why)));
        }
        match data.and_then(|site| site.keep_until) {
            Some(until) if until < wanted.on => {
                self.line(&format!("- To be deleted: on {until}, a day that has passed. Ask why it is still held."))
            }
            Some(until) => self.line(&format!("- To be deleted: after {until}.")),
            None => self.line("- To be deleted: no day is set. Ask for one."),
        }
        let body = records.site.as_ref().map(|record| record.source.body_text()).unwrap_or_default();
        let reasons = reasons_for_keeping(body);
        if reasons.is_empty() {
            self.line("- Why it is kept until then: not written down. Ask for the reason.");
        } else {
            self.line(&format!("- Why it is kept until then: {reasons}"));
        }
        self.line("- An earlier state of these records may stand in the history of the electrician's repository and in its backups.");
    }

    fn assessor(&mut self, book: &Book, wanted: &Wanted, verdict: &Verdict, plan: &Plan<'_>) {
        self.head("Jobs of the period");
        let mut lines = Vec::new();
        for site in &plan.sites {
            let in_period = |line: &&String| {
                let visit = line.strip_prefix(&format!("{} ", site.name)).unwrap_or(line);
                wanted.holds(visit.get(..10).and_then(|day| day.parse().ok()))
            };
            lines.extend(site.told.visits.iter().filter(in_period).cloned());
        }
        self.list(&lines, "None.");
        self.line("\nEach site is here with all its visits, since a visit leans on what earlier ones wrote down.");
        self.per_site(plan, "Papers", |site| &site.told.papers, "no paper is recorded");
        self.per_site(plan, "Notices and their references", |site| &site.told.notices, "no notice is recorded");
        self.head("Late notices and reports");
        let mut late = Vec::new();
        for site in &plan.sites {
            let is_late = |finding: &&Finding| finding.rule.ends_with("-late");
            late.extend(of_site(verdict, site).filter(is_late).map(|finding| of_finding(plan, finding, site)));
            let answered = verdict.answered.iter().filter(|answered| {
                answered.finding.rule.ends_with("-late")
                    && answered.finding.place.file.path.starts_with(&format!("sites/{}/", site.files.id))
            });
            late.extend(
                answered.map(|answered| format!("{}; answered: {}", of_finding(plan, &answered.finding, site), said(&answered.why))),
            );
        }
        self.list(&late, "None that the records show.");
        self.head("Instruments, their calibrations and checks");
        let mut lines = Vec::new();
        for (id, record) in &book.instruments {
            let data = &record.data;
            let kind = data.kind.map_or("instrument", |kind| kind.as_str());
            let serial = data.serial.as_deref().map_or_else(|| "not written down".to_owned(), said);
            let mut line = format!("{id}: {kind}, serial: {serial}");
            let last = data.calibrations.iter().max_by_key(|calibration| calibration.on);
            match last {
                Some(last) => {
                    let day = |day: Option<Date>| day.map_or_else(|| "no day".to_owned(), |day| day.to_string());
                    let _ = write!(
                        line,
                        "; {}, the last on {}, next due {}",
                        counted(data.calibrations.len(), "calibration"),
                        day(last.on),
                        day(last.due)
                    );
                }
                None => line.push_str("; no calibration recorded"),
            }
            let failed = data.checks.iter().filter(|check| check.result.is_some_and(|result| result.as_str() == "failed")).count();
            let _ = write!(line, "; {}, {failed} failed", counted(data.checks.len(), "check"));
            if let Some(retired) = data.retired {
                let _ = write!(line, "; withdrawn on {retired}");
            }
            lines.push(line);
        }
        self.list(&lines, "None is recorded.");
        self.line("\nThe whole register is in `instruments/`.");
    }

    fn successor(&mut self, book: &Book, wanted: &Wanted, plan: &Plan<'_>) {
        let owed = Owed::of(book, wanted, plan);
        self.head("Waiting on others, or without a day");
        self.list(&owed.waiting, "Nothing.");
        self.head(&format!("Overdue, and due within {AHEAD_DAYS} days"));
        self.list(&owed.dated, "Nothing.");
        self.per_site_or(plan, "Joints that are covered or out of reach", |site| &site.told.hidden_joints, "None is recorded.");
        self.recalls(plan);
        self.head("Words and shorthand");
        self.line("`id` of a circuit: board/way. `f1`, `o1`: the first fault, the first observation of that visit. Readings carry their unit in their name.");
        self.line("People who did the work stand in `book.yaml` under `people`; the instruments stay with the readings made with them.");
    }

    /// Records that hold something that could not be read: it may be a danger.
    fn unread(&mut self, book: &Book, plan: &Plan<'_>) {
        self.head("Records that do not read as they should");
        let mut lines = Vec::new();
        for site in &plan.sites {
            let (records, strays) = book.read_site(site.files);
            let faulty = records.jobs.iter().filter(|job| !job.faults.is_empty()).map(|job| job.id.as_str());
            let name = |id: &str| site.name_of(id).unwrap_or_else(|| "site".to_owned());
            lines.extend(faulty.map(|id| format!("{} {}", site.name, name(id))));
            lines.extend(records.site.iter().filter(|site| !site.faults.is_empty()).map(|_| format!("{} site", site.name)));
            let is_folder = |path: &str| site.files.unlisted.iter().any(|folder| folder.path == path);
            let what = |stray: &Stray| if is_folder(&stray.source.path) { "a folder".to_owned() } else { name(stray.source.stem()) };
            lines.extend(strays.iter().map(|stray| format!("{} {} (not in this copy)", site.name, what(stray))));
        }
        self.list(&lines, "All could be read.");
    }

    fn per_site_or<'p>(&mut self, plan: &'p Plan<'_>, title: &str, of: impl Fn(&'p SitePlan<'_>) -> &'p Vec<String>, nothing: &str) {
        self.head(title);
        self.list(plan.sites.iter().flat_map(of), nothing);
    }

    fn kept_back(&mut self, plan: &Plan<'_>) {
        if plan.kept_back.is_empty() {
            return;
        }
        self.head("Sites withheld");
        for (number, kept) in plan.kept_back.iter().enumerate() {
            let danger = if kept.dangers > 0 { " **A danger is open there: ask.**" } else { "" };
            self.line(&format!(
                "- Withheld site {}: its customer lets nothing be shared, or what may be shared could not be read.{danger}",
                number + 1
            ));
        }
        self.line("\nThe keeper of the book knows which these are.");
    }

    fn withheld(&mut self, withheld: &[Withheld]) {
        self.head("What was withheld, and why");
        let mut counts: BTreeMap<&Withheld, usize> = BTreeMap::new();
        for one in withheld {
            *counts.entry(one).or_default() += 1;
        }
        let lines: Vec<String> = counts
            .iter()
            .map(|(one, count)| {
                let times = if *count == 1 { String::new() } else { format!(" ({count} times)") };
                let site = if one.site.is_empty() { String::new() } else { format!("{}: ", one.site) };
                format!("{site}{}{times}: {}", one.what, one.why)
            })
            .collect();
        self.list(&lines, "Nothing beside what no copy holds.");
        self.line("\nWhere something was cut out of a record, `[withheld: ...]` stands in its place. No copy holds the file of contacts, nor codes, keys' places");
        self.line("or payment cards' numbers that were recognised. Photographs are the picture alone: their place, day, camera and captions were taken");
        self.line("out of the files. Nobody has looked at what the pictures show, and a word that no rule knows may have stayed in a text: read it through");
        self.line("before it goes further.");
    }

    fn end(&mut self, wanted: &Wanted) {
        self.head("How to show later what was handed over");
        self.line(&format!(
            "`{DIGESTS}` holds the SHA-256 of every file here, this page (`{COVER}`) among them; `sha256sum --check {DIGESTS}` compares."
        ));
        self.line(&format!("This folder is a book of its own: `ampledger check --on {}` reads it.", wanted.on));
    }
}

/// The sentences of a site's notes that say why the record is kept.
fn reasons_for_keeping(body: &str) -> String {
    let words = ["kept", "keep ", "retain", "delete", "limitation act"];
    let flat = said(body);
    let sentences = flat.split_inclusive(". ").filter(|sentence| {
        let lower = sentence.to_lowercase();
        words.iter().any(|word| lower.contains(word))
    });
    sentences.collect::<String>().trim().to_owned()
}
