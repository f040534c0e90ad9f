//! The one place where findings are graded, answered, filtered, sorted and counted.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use crate::backlog;
use crate::book::Book;
use crate::changed::Reach;
use crate::check::{Checked, GivenAnswer, locate};
use crate::finding::{Finding, Grade, Place};
use crate::path;
use crate::record::{Accepted, Date, RuleGrade};
use crate::rules::{self, Report, answers as rule};

/// What is to be shown of a check.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only these rules; all when empty.
    pub rules: Vec<String>,
    /// Only files at or below these paths, relative to the book's root; all when empty.
    pub paths: Vec<String>,
    /// Only what a change touches.
    pub reach: Option<Reach>,
}

impl Filter {
    /// Whether findings of a rule in a file are to be shown.
    pub fn holds(&self, rule: &str, file: &str) -> bool {
        let of_rule = self.rules.is_empty() || self.rules.iter().any(|wanted| wanted == rule);
        of_rule && (self.paths.is_empty() || self.paths.iter().any(|path| is_at_or_below(file, path)))
    }

    fn shows(&self, finding: &Finding) -> bool {
        self.holds(finding.rule, &finding.place.file.path) && self.reach.as_ref().is_none_or(|reach| reach.holds(finding))
    }
}

/// A finding that its owner has answered, or that the backlog accepts.
#[derive(Debug, Clone)]
pub struct Answered {
    /// The finding.
    pub finding: Finding,
    /// The reason.
    pub why: String,
    /// The last day on which it holds.
    pub until: Option<Date>,
}

/// How many findings of which grade, over what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Summary {
    /// Sites read.
    pub sites: usize,
    /// Jobs read.
    pub jobs: usize,
    /// Files read.
    pub files: usize,
    /// Dangers.
    pub danger: usize,
    /// Breaches.
    pub breach: usize,
    /// Doubts.
    pub doubt: usize,
    /// Tidies.
    pub tidy: usize,
    /// Findings answered.
    pub answered: usize,
    /// Findings that the backlog accepts.
    pub accepted: usize,
    /// What was asked about, when that is a change.
    pub change: Option<Change>,
}

/// A change, and what it leaves unsaid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    /// Files of the book that changed.
    pub files: usize,
    /// Dangers in records that it does not touch.
    pub dangers_elsewhere: usize,
}

/// A check, judged.
#[derive(Debug)]
pub struct Verdict {
    /// The day that dates were judged from.
    pub on: Date,
    /// What stands, worst first.
    pub findings: Vec<Finding>,
    /// What has been answered, in the same order.
    pub answered: Vec<Answered>,
    /// What the backlog accepts, in the same order.
    pub accepted: Vec<Answered>,
    /// The counts.
    pub summary: Summary,
}

impl Verdict {
    /// Whether anything stands at this grade or worse.
    pub fn has_at_least(&self, grade: Grade) -> bool {
        self.findings.iter().any(|finding| finding.grade <= grade)
    }
}

/// Grades, answers, filters, sorts and counts.
pub fn judge(book: &Book, checked: Checked, on: Date, filter: &Filter) -> Verdict {
    let mut findings = checked.findings;
    let mut told = Vec::new();
    regrade(book, &mut findings, &mut told);
    let mut standing = Vec::new();
    let mut answered = Vec::new();
    let mut used = vec![false; checked.answers.len()];
    let by_rule = answers_by_rule(&checked.answers);
    for finding in findings {
        let matching = by_rule.get(finding.rule).map_or(&[][..], Vec::as_slice);
        let speaking: Vec<usize> = matching
            .iter()
            .copied()
            .filter(|index| speaks_for(&checked.answers[*index], &finding.place.file.path, &finding.subject))
            .collect();
        speaking.iter().for_each(|index| used[*index] = true);
        // A new answer stands in for an old one that has run out.
        let holding = speaking.iter().map(|index| &checked.answers[*index]).find(|given| refusal(given, finding.grade, on).is_none());
        if let Some(given) = holding {
            let why = given.answer.why.clone().unwrap_or_default();
            answered.push(Answered { finding, why, until: given.answer.until });
            continue;
        }
        for given in speaking.iter().map(|index| &checked.answers[*index]) {
            if let Some(refusal) = refusal(given, finding.grade, on) {
                tell_refusal(given, &finding, refusal, &mut told);
            }
        }
        standing.push(finding);
    }
    tell_unused(&checked.answers, &used, &mut told);
    // What would be shown twice is one finding, and counts once.
    standing.sort_by(|a, b| sort_key(a).cmp(&sort_key(b)));
    standing.dedup_by(|a, b| sort_key(a) == sort_key(b));
    let mut accepted = set_aside(book, &mut standing, on, &mut told);
    locate(&mut told);
    standing.append(&mut told);

    let dangers = |standing: &[Finding]| standing.iter().filter(|finding| finding.grade == Grade::Danger).count();
    let all_dangers = dangers(&standing);
    let wanted = |finding: &Finding| filter.shows(finding);
    standing.retain(wanted);
    let dangers_elsewhere = all_dangers - dangers(&standing);
    standing.sort_by(|a, b| sort_key(a).cmp(&sort_key(b)));
    standing.dedup_by(|a, b| sort_key(a) == sort_key(b));
    for quieted in [&mut answered, &mut accepted] {
        quieted.retain(|quieted| wanted(&quieted.finding));
        quieted.sort_by(|a, b| sort_key(&a.finding).cmp(&sort_key(&b.finding)));
    }

    let count = |grade| standing.iter().filter(|finding| finding.grade == grade).count();
    let summary = Summary {
        sites: checked.sites,
        jobs: checked.jobs,
        files: checked.files,
        danger: count(Grade::Danger),
        breach: count(Grade::Breach),
        doubt: count(Grade::Doubt),
        tidy: count(Grade::Tidy),
        answered: answered.len(),
        accepted: accepted.len(),
        change: filter.reach.as_ref().map(|reach| Change { files: reach.changed.len(), dangers_elsewhere }),
    };
    Verdict { on, findings: standing, answered, accepted, summary }
}

/// What the backlog allows of one thing.
struct Allowance<'a> {
    key: backlog::Key<'a>,
    count: usize,
    /// The gravest grade that is let pass.
    grade: Grade,
    entry: &'a Accepted,
    place: Place,
    /// How many such findings there are.
    found: usize,
}

/// Takes out of what stands what the backlog accepts, and says where the backlog no longer fits.
fn set_aside(book: &Book, standing: &mut Vec<Finding>, on: Date, told: &mut Vec<Finding>) -> Vec<Answered> {
    let mut allowances = allowances(book, on, told);
    if allowances.is_empty() {
        return Vec::new();
    }
    let places: HashMap<backlog::Key<'_>, usize> = allowances.iter().enumerate().map(|(place, allowed)| (allowed.key, place)).collect();
    let place_of = |finding: &Finding| places.get(&backlog::key_of(finding)?).copied();
    for finding in standing.iter() {
        if let Some(allowed) = place_of(finding).and_then(|place| allowances.get_mut(place))
            && finding.grade >= allowed.grade
        {
            allowed.found += 1;
        }
    }
    let mut accepted = Vec::new();
    for mut finding in std::mem::take(standing) {
        let allowed = place_of(&finding).and_then(|place| allowances.get(place)).filter(|allowed| finding.grade >= allowed.grade);
        match allowed {
            Some(allowed) if allowed.found <= allowed.count => {
                let why = allowed.entry.why.clone().unwrap_or_default();
                accepted.push(Answered { finding, why, until: allowed.entry.until });
                continue;
            }
            // Nobody can say which of them is the new one.
            Some(Allowance { count, found, .. }) => {
                finding.help.push_str(&format!("\nThe backlog accepts {count} of this kind here, and there are {found} now."));
            }
            None => {}
        }
        standing.push(finding);
    }
    tell_spare(&allowances, told);
    accepted
}

/// What the backlog allows, each thing once; entries without effect and those that have run out are told.
fn allowances<'b>(book: &'b Book, on: Date, told: &mut Vec<Finding>) -> Vec<Allowance<'b>> {
    let file = book.backlog();
    let mut allowances: BTreeMap<backlog::Key<'_>, Allowance<'_>> = BTreeMap::new();
    let mut run_out: Option<(Date, Place, usize)> = None;
    for (index, written) in file.entries.iter().enumerate() {
        let place = Place::bytes(&file.source, path!["accepted", index], written.span.clone());
        let entry = &written.data;
        let id = entry.rule.as_deref().unwrap_or_default();
        let (Some(key), Some(grade)) = (backlog::key(entry), entry.grade) else {
            let message = match entry.grade {
                Some(Grade::Danger) => "a danger is never accepted: this entry has no effect".to_owned(),
                _ if !backlog::says_why(entry) => format!("this entry for {id} gives no reason"),
                _ => "this entry lacks its file, rule, grade or count".to_owned(),
            };
            Report::new(&rule::BACKLOG_WITHOUT_EFFECT, id, told).raise(place, message);
            continue;
        };
        if rules::by_id(id).is_none() {
            tell_unknown_rule(id, place, told);
            continue;
        }
        if let Some(until) = entry.until.filter(|until| *until < on) {
            let (first, _, count) = run_out.get_or_insert((until, place, 0));
            *first = until.min(*first);
            *count += 1;
            continue;
        }
        let count = entry.count.map_or(0, |count| *count as usize);
        match allowances.entry(key) {
            // Two branches lowered one count: the lower holds.
            Entry::Occupied(mut there) => {
                let there = there.get_mut();
                (there.count, there.grade) = (there.count.min(count), there.grade.max(grade));
            }
            Entry::Vacant(free) => {
                free.insert(Allowance { key, count, grade, entry, place, found: 0 });
            }
        }
    }
    if let Some((until, place, count)) = run_out {
        let message = match count {
            1 => format!("an entry of the backlog held until {until}: what it accepted is shown again"),
            _ => format!("{count} entries of the backlog have run out, the first on {until}: what they accepted is shown again"),
        };
        Report::new(&rule::BACKLOG_RUN_OUT, "", told).raise(place, message);
    }
    allowances.into_values().collect()
}

fn tell_spare(allowances: &[Allowance<'_>], told: &mut Vec<Finding>) {
    let spare = |allowed: &Allowance<'_>| allowed.count.saturating_sub(allowed.found);
    let total: usize = allowances.iter().map(spare).sum();
    let mut entries = allowances.iter().filter(|allowed| spare(allowed) > 0);
    let Some(first) = entries.next() else { return };
    let others = entries.count();
    let are = if total == 1 { "1 finding accepted here is".to_owned() } else { format!("{total} findings accepted here are") };
    let (file, id, at) = first.key;
    let at = if at.is_empty() { String::new() } else { format!(" at {at}") };
    let more = if others == 0 { String::new() } else { format!(", and {others} more") };
    let message = format!("{are} no longer found: {id}{at} in {file}{more}");
    Report::new(&rule::BACKLOG_SPARE, "", told).raise(first.place.clone(), message);
}

/// Whether a file of the book is `path` or lies in it.
pub fn is_at_or_below(file: &str, path: &str) -> bool {
    path.is_empty() || file == path || file.strip_prefix(path).is_some_and(|rest| rest.starts_with('/'))
}

fn sort_key(finding: &Finding) -> (Grade, &str, usize, &str, &str, &str) {
    let start = finding.place.span.as_ref().map_or(0, |span| span.start);
    (finding.grade, &finding.place.file.path, start, finding.rule, &finding.subject, &finding.message)
}

/// Applies the book's own grades. A danger keeps its grade whatever the book says.
fn regrade(book: &Book, findings: &mut Vec<Finding>, told: &mut Vec<Finding>) {
    let mut grades: BTreeMap<&str, RuleGrade> = BTreeMap::new();
    for (index, setting) in book.settings.data.rules.iter().enumerate() {
        let at = |key: &'static str| Place::at(&book.settings.source, path!["rules", index, key]);
        let Some(id) = setting.rule.as_deref() else {
            Report::new(&rule::SETTING_WITHOUT_EFFECT, "", told).raise(at("rule"), "this entry names no rule");
            continue;
        };
        if rules::by_id(id).is_none() {
            tell_unknown_rule(id, at("rule"), told);
            continue;
        }
        if setting.why.as_deref().is_none_or(|why| why.trim().is_empty()) {
            let message = format!("{id} is graded otherwise in this book, and nothing says why");
            Report::new(&rule::SETTING_WITHOUT_EFFECT, id, told).raise(at("why"), message);
            continue;
        }
        let Some(grade) = setting.grade else {
            Report::new(&rule::SETTING_WITHOUT_EFFECT, id, told).raise(at("grade"), format!("the entry for {id} gives no grade"));
            continue;
        };
        if findings.iter().any(|finding| finding.rule == id && finding.grade == Grade::Danger) && grade != RuleGrade::Danger {
            let message = format!("{id} has found danger in this book, and a danger is told whatever its grade here");
            Report::new(&rule::DANGER_SILENCED, id, told).raise(at("grade"), message);
        }
        grades.insert(id, grade);
    }
    findings.retain_mut(|finding| match grades.get(finding.rule) {
        Some(_) if finding.grade == Grade::Danger => true,
        Some(RuleGrade::Silent) => false,
        Some(grade) => {
            finding.grade = as_grade(*grade);
            true
        }
        None => true,
    });
}

fn as_grade(grade: RuleGrade) -> Grade {
    match grade {
        RuleGrade::Danger => Grade::Danger,
        RuleGrade::Breach => Grade::Breach,
        RuleGrade::Doubt => Grade::Doubt,
        RuleGrade::Tidy | RuleGrade::Silent => Grade::Tidy,
    }
}

fn answers_by_rule(answers: &[GivenAnswer]) -> HashMap<&str, Vec<usize>> {
    let mut by_rule: HashMap<&str, Vec<usize>> = HashMap::new();
    for (index, given) in answers.iter().enumerate() {
        if let Some(rule) = given.answer.rule.as_deref() {
            by_rule.entry(rule).or_default().push(index);
        }
    }
    by_rule
}

/// Whether an answer is about this subject in this file.
fn speaks_for(given: &GivenAnswer, file: &str, subject: &str) -> bool {
    let in_scope = if given.scope.ends_with('/') { file.starts_with(&given.scope) } else { file == given.scope };
    in_scope && given.answer.at.as_deref().is_none_or(|at| at == subject)
}

/// The answer that quiets, on that day, what a rule says at that grade of a subject in a file: for those who know what a rule says without
/// running it.
pub fn answer_to<'a>(answers: &'a [GivenAnswer], rule: &str, grade: Grade, file: &str, subject: &str, on: Date) -> Option<&'a GivenAnswer> {
    let named = answers.iter().filter(|given| given.answer.rule.as_deref() == Some(rule));
    named.filter(|given| speaks_for(given, file, subject)).find(|given| refusal(given, grade, on).is_none())
}

/// Why an answer does not quiet what it speaks for.
enum Refusal {
    Danger,
    NoReason,
    Expired(Date),
    BreachWithoutDate,
}

fn refusal(given: &GivenAnswer, grade: Grade, on: Date) -> Option<Refusal> {
    if grade == Grade::Danger {
        return Some(Refusal::Danger);
    }
    if given.answer.why.as_deref().is_none_or(|why| why.trim().is_empty()) {
        return Some(Refusal::NoReason);
    }
    match given.answer.until {
        Some(until) if until < on => Some(Refusal::Expired(until)),
        None if grade == Grade::Breach => Some(Refusal::BreachWithoutDate),
        _ => None,
    }
}

fn tell_refusal(given: &GivenAnswer, finding: &Finding, refusal: Refusal, told: &mut Vec<Finding>) {
    let at = |key: &'static str| Place { path: given.place.path.at(key), span: None, ..given.place.clone() };
    let subject = given.answer.at.clone().unwrap_or_default();
    let id = finding.rule;
    match refusal {
        Refusal::Danger => {
            let message = format!("{id} is a danger here, and a danger is not answered but put right");
            Report::new(&rule::DANGER_SILENCED, &subject, told)
                .raise(at("rule"), message)
                .because(finding.place.clone(), finding.message.clone());
        }
        Refusal::NoReason => {
            Report::new(&rule::ANSWER_WITHOUT_REASON, &subject, told).raise(at("why"), format!("this answer to {id} gives no reason"));
        }
        Refusal::Expired(until) => {
            Report::new(&rule::ANSWER_RUN_OUT, &subject, told).raise(at("until"), format!("this answer to {id} held until {until}"));
        }
        Refusal::BreachWithoutDate => {
            let message = format!("{id} is a breach, and is quiet only until a date: this answer gives none");
            Report::new(&rule::ANSWER_RUN_OUT, &subject, told).raise(at("until"), message);
        }
    }
}

fn tell_unused(answers: &[GivenAnswer], used: &[bool], told: &mut Vec<Finding>) {
    for (given, _) in answers.iter().zip(used).filter(|(_, used)| !**used) {
        let at = |key: &'static str| Place { path: given.place.path.at(key), span: None, file: Arc::clone(&given.place.file) };
        let subject = given.answer.at.clone().unwrap_or_default();
        let Some(id) = given.answer.rule.as_deref() else {
            Report::new(&rule::ANSWER_MATCHES_NOTHING, &subject, told).raise(at("rule"), "this answer names no rule");
            continue;
        };
        if rules::by_id(id).is_none() {
            tell_unknown_rule(id, at("rule"), told);
            continue;
        }
        let about = if subject.is_empty() { "in this file".to_owned() } else { format!("at {subject}") };
        let message = format!("{id} finds nothing {about}: this answer answers nothing");
        Report::new(&rule::ANSWER_MATCHES_NOTHING, &subject, told).raise(at("rule"), message);
    }
}

fn tell_unknown_rule(id: &str, place: Place, told: &mut Vec<Finding>) {
    let mut report = Report::new(&rule::UNKNOWN_RULE, "", told);
    let finding = report.raise(place, format!("there is no rule {id}"));
    if let Some(near) = rules::nearest(id, rules::all().map(|rule| rule.id)) {
        finding.help(format!("Did you mean {near}? `ampledger explain` lists all rules."));
    }
}
