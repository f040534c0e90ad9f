//! What goes into the copy, under which name, and what stays behind: decided before anything is written.

use std::collections::{BTreeMap, BTreeSet};

use super::private::{Guard, Level};
use super::told::{Told, said};
use super::{Audience, Wanted, Withheld, dangers_in};
use crate::book::{Book, SiteFiles};
use crate::judge::Verdict;
use crate::record::{Date, Photographs, Recall, Share, UnitEvent};
use crate::render::visible;
use crate::rules::privacy::is_picture;
use crate::rules::story::FaultView;
use crate::rules::view::{JobView, SiteView};
use crate::units::recall::{self, Touched};
use crate::units::{Fleet, Life};

/// A site that goes into the copy.
pub struct SitePlan<'b> {
    /// Its files.
    pub files: &'b SiteFiles,
    /// How much of its text is told.
    pub level: Level,
    /// Its folder's name in the copy.
    pub name: String,
    /// The visits that go, by their ids, each with its name in the copy.
    pub visits: BTreeMap<String, String>,
    /// The days of visits that stay behind, by their ids.
    pub left: BTreeMap<String, String>,
    /// The pictures that go, by their paths in the book, each with its path in the copy's site folder.
    pub pictures: BTreeMap<String, String>,
    /// What a reader is told of it.
    pub told: Told,
}

impl SitePlan<'_> {
    /// What a visit is called in the copy, whether it went or stayed behind; nothing for a file that is no visit.
    pub fn name_of(&self, visit: &str) -> Option<String> {
        self.visits.get(visit).cloned().or_else(|| self.left.get(visit).map(|day| format!("a visit of {day}")))
    }
}

/// A site that stays behind whole.
pub struct KeptBack {
    /// Its id.
    pub id: String,
    /// Dangers open there.
    pub dangers: usize,
}

/// A unit in place that a maker's notice touches, or may touch.
pub struct UnderNotice {
    /// Its site, by id.
    pub site: String,
    /// What a reader is told.
    pub words: String,
    /// Whether the notice surely touches it.
    pub certain: bool,
}

impl UnderNotice {
    /// Lays every notice of the book over its units.
    fn all(book: &Book, wanted: &Wanted) -> Vec<UnderNotice> {
        let fleet = Fleet::read(book, wanted.on);
        let mut all = Vec::new();
        for recall in book.recalls.values() {
            let outcome = recall::lay(&fleet, recall);
            let certain = outcome.certain.iter().map(|touched| (touched, true));
            for (touched, certain) in certain.chain(outcome.possible.iter().map(|touched| (touched, false))) {
                let Some(life) = fleet.lives.get(touched.at) else { continue };
                for stay in life.places() {
                    let words = under_notice(&recall.data, life, stay.circuit.as_deref(), touched, certain);
                    all.push(UnderNotice { site: stay.site.clone(), words, certain });
                }
            }
        }
        all
    }
}

fn under_notice(notice: &Recall, life: &Life, circuit: Option<&str>, touched: &Touched, certain: bool) -> String {
    let serial = life.serial.as_deref().map_or_else(|| "not written down".to_owned(), said);
    let model = life.model.as_deref().map_or_else(|| "not written down".to_owned(), said);
    let issued = notice.issued.map_or_else(|| "no day".to_owned(), |day| day.to_string());
    let advice = notice.advice.as_deref().map_or_else(|| "no advice written down".to_owned(), said);
    let sure = if certain { "is under" } else { "may be under" };
    let why = if touched.why.is_empty() { String::new() } else { format!(" ({})", said(&touched.why.join("; "))) };
    let isolated = if touched.isolated.is_some() { "; its circuit was left isolated" } else { "" };
    let circuit = circuit.map_or_else(|| "no circuit".to_owned(), said);
    format!("{circuit}: model: {model}, serial: {serial}: {sure} the notice of {issued}{why}: {advice}{isolated}")
}

/// Everything that goes, and what does not.
pub struct Plan<'b> {
    /// The sites that go.
    pub sites: Vec<SitePlan<'b>>,
    /// The sites that stay.
    pub kept_back: Vec<KeptBack>,
    /// What else stays.
    pub withheld: Vec<Withheld>,
    /// What is found in a text.
    pub guard: Guard<'b>,
    /// How much of a text the cover page tells.
    pub cover_level: Level,
    /// Units in place under a maker's notice that nothing clears.
    pub notices: Vec<UnderNotice>,
    /// Names in the book and in the copy, where they differ.
    pub renamed: Vec<(String, String)>,
}

const NO_PAPER: &str = "no paper was issued on it, nothing of it is open, and no equipment was fitted or removed";
const UNREADABLE: &str = "it could not be read, so that nothing can be left out of it with certainty";
const OTHER_FILE: &str = "it is neither a record nor a photograph, so that it cannot be looked through here";

impl<'b> Plan<'b> {
    /// Decides.
    pub fn of(book: &'b Book, wanted: &Wanted, verdict: &Verdict) -> Plan<'b> {
        let names = Guard::new(book, &[], &[]);
        let notices = UnderNotice::all(book, wanted);
        let mut plan = Plan {
            notices,
            sites: Vec::new(),
            kept_back: Vec::new(),
            withheld: Vec::new(),
            guard: Guard::new(book, &[], &[]),
            cover_level: if wanted.audience == Audience::Customer { Level::Own } else { Level::Redacted },
            renamed: Vec::new(),
        };
        let mut supply_numbers = Vec::new();
        let chosen = book.sites.iter().filter(|files| wanted.sites.is_empty() || wanted.sites.contains(&files.id));
        for files in chosen {
            let (records, _) = book.read_site(files);
            let view = SiteView::new(book, &records, wanted.on);
            if !view.jobs().any(|job| wanted.holds(job.day())) && (wanted.from.is_some() || wanted.to.is_some()) {
                continue;
            }
            let privacy = view.site().and_then(|site| site.privacy.as_ref());
            // Where site.md cannot be read, its customer may have said no.
            let unread = view.site().is_none() && files.site.is_some()
                || records.site.as_ref().is_some_and(|site| site.may_lack(&crate::path!["privacy"]));
            let share = if unread { Share::None } else { privacy.and_then(|privacy| privacy.share).unwrap_or(Share::Redacted) };
            if share == Share::None && wanted.audience != Audience::Customer {
                let told = Told::of(&view, &|_| None);
                let dangers = dangers_in(verdict, &files.id).count().max(told.dangers);
                let dangers = dangers + plan.notices.iter().filter(|notice| notice.certain && notice.site == files.id).count();
                plan.kept_back.push(KeptBack { id: files.id.clone(), dangers });
                continue;
            }
            let level = match (wanted.audience, share) {
                (Audience::Customer, _) => Level::Own,
                (_, Share::Full) => Level::Full,
                _ => Level::Redacted,
            };
            if let Some(number) = view.supply().and_then(|supply| supply.mpan.clone()) {
                supply_numbers.push((files.id.clone(), number));
            }
            let photographs = privacy.and_then(|privacy| privacy.photographs).unwrap_or(Photographs::RecordOnly);
            plan.add(book, &view, wanted, level, photographs, &names);
        }
        // A name of one plain word would be found in half the texts of the book: only its path is looked for.
        let as_named = |id: &str| if id.contains('-') { id.to_owned() } else { format!("sites/{id}") };
        let mut hidden: Vec<(String, &'static str)> = plan.kept_back.iter().map(|kept| (as_named(&kept.id), "a site's name")).collect();
        hidden.extend(plan.renamed.iter().map(|(old, _)| (stem(old).to_owned(), "a file's name")));
        plan.guard = Guard::new(book, &supply_numbers, &hidden);
        let mut sites = std::mem::take(&mut plan.sites);
        for site in &mut sites {
            let mut told = std::mem::take(&mut site.told);
            told.lines().for_each(|line| *line = plan.on_cover(site, line));
            site.told = told;
        }
        plan.sites = sites;
        plan
    }

    /// A line about one site as the cover page may say it. There it stands among those of other sites, and whose names are to be looked for
    /// can no longer be told.
    pub fn on_cover(&self, site: &SitePlan<'_>, line: &str) -> String {
        self.guard.clean(line, self.cover_level, &site.files.id).0
    }

    fn add(&mut self, book: &'b Book, view: &SiteView<'_>, wanted: &Wanted, level: Level, photographs: Photographs, guard: &Guard<'_>) {
        let Some(files) = book.site(view.id()) else { return };
        let id = files.id.as_str();
        // A name that would steer the reader's terminal is not handed over either.
        let tells = |name: &str| guard.name_tells(name, level, id) || visible(name) != name || name.contains('\n');
        let name = if tells(id) { self.free_name(book, "site") } else { id.to_owned() };
        let mut site = SitePlan {
            files,
            level,
            name: name.clone(),
            visits: BTreeMap::new(),
            left: BTreeMap::new(),
            pictures: BTreeMap::new(),
            told: Told::default(),
        };
        if name != id {
            self.renamed.push((id.to_owned(), name.clone()));
        }
        let mut withhold = |what: String, why| self.withheld.push(Withheld { site: name.clone(), what, why });
        let read: BTreeSet<&str> = view.jobs().map(|job| job.id()).collect();
        for path in &files.jobs {
            let visit = stem(path);
            let day = visit.get(..10).filter(|day| day.parse::<Date>().is_ok()).unwrap_or("unknown day").to_owned();
            let job = view.job(visit);
            let why = match job {
                None => Some(UNREADABLE),
                Some(job) if wanted.audience == Audience::Buyer && !is_for_buyer(job) => Some(NO_PAPER),
                Some(_) => None,
            };
            if let Some(why) = why {
                withhold(format!("the visit of {day}"), why);
                site.left.insert(visit.to_owned(), day);
                continue;
            }
            let number = site.visits.len() + 1;
            let shown = if tells(visit) { numbered(&format!("{day}-visit"), number, &read) } else { visit.to_owned() };
            if shown != visit {
                self.renamed.push((path.clone(), format!("{shown}.md")));
            }
            site.visits.insert(visit.to_owned(), shown);
        }
        let mut number = 0;
        for path in &files.others {
            let inner = path.strip_prefix(&format!("sites/{id}/")).unwrap_or(path);
            let (folder, file) = inner.rsplit_once('/').map_or(("", inner), |(folder, file)| (folder, file));
            let refused = if is_picture(file) { refused(wanted.audience, photographs) } else { Some(OTHER_FILE) };
            number += 1;
            if let Some(why) = refused {
                let what = if is_picture(file) { "photograph" } else { "file" };
                withhold(format!("{what} {number} of this site's other files"), why);
                continue;
            }
            // Every folder of it becomes the one that photographs stand in, unless it is that already.
            let ending = file.rsplit_once('.').map_or("jpg", |(_, ending)| ending).to_lowercase();
            let plain = folder == "photos" && !tells(file);
            let shown = if plain { inner.to_owned() } else { format!("photos/photograph-{number}.{ending}") };
            if tells(file) || tells(folder) {
                self.renamed.push((path.clone(), shown.clone()));
            }
            site.pictures.insert(path.clone(), shown);
        }
        let visits = site.visits.clone();
        site.told = Told::of(view, &|visit| visits.get(visit).map(|shown| format!("{name} {shown}")));
        self.sites.push(site);
    }

    /// A site's name that no other has.
    fn free_name(&self, book: &Book, word: &str) -> String {
        let taken: BTreeSet<&str> =
            book.sites.iter().map(|site| site.id.as_str()).chain(self.sites.iter().map(|site| site.name.as_str())).collect();
        numbered(word, 1, &taken)
    }
}

/// `word-1`, or the first number after it that is free.
fn numbered(word: &str, from: usize, taken: &BTreeSet<&str>) -> String {
    let mut number = from;
    loop {
        let name = format!("{word}-{number}");
        if !taken.contains(name.as_str()) {
            return name;
        }
        number += 1;
    }
}

/// A file's name without folder and ending.
pub fn stem(path: &str) -> &str {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.strip_suffix(".md").unwrap_or(name)
}

/// Whether a buyer gets a visit: it has a paper, something of it is open, it changed the equipment, or not all of it can be read, so that
/// nobody knows what it says.
fn is_for_buyer(job: JobView<'_>) -> bool {
    let data = job.data();
    let units = data.units.iter().any(|unit| matches!(unit.event, Some(UnitEvent::Fitted | UnitEvent::Removed)));
    let observations = || job.observations().any(|observation| !observation.is_cleared());
    !job.record.faults.is_empty()
        || !data.papers.is_empty()
        || units
        || job.faults().any(|fault| FaultView::may_be_pending(&fault))
        || observations()
}

/// Why a photograph does not go to these; nothing when it does.
fn refused(audience: Audience, photographs: Photographs) -> Option<&'static str> {
    match (audience, photographs) {
        // They are theirs to see, whatever they asked to be done with them.
        (Audience::Customer, _) | (_, Photographs::Any) | (Audience::Successor, Photographs::RecordOnly) => None,
        (_, Photographs::None) => Some("the customer wants no photographs"),
        (_, Photographs::RecordOnly) => Some("photographs are for the electrician's own record"),
    }
}
