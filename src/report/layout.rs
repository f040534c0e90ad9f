//! What the pages share: the shell with its landmarks, links and ids that no text of a record can break, tables in boxes of their own,
//! and how a finding and a thing owed are shown.

use maud::{Markup, PreEscaped, html};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

use super::words::{self, Section};
use super::{Report, site_of};
use crate::due::Item;
use crate::finding::{Finding, Grade};
use crate::html as page;
use crate::record::Date;
use crate::render::due::left;
use crate::render::line_number;

/// The pages of the whole book, and the style.
pub const INDEX: &str = "index.html";
pub const FINDINGS: &str = "findings.html";
pub const UNITS: &str = "units.html";
pub const INSTRUMENTS: &str = "instruments.html";
pub const STYLE: &str = "register.css";
/// All of them.
pub const FILES: [&str; 5] = [INDEX, FINDINGS, UNITS, INSTRUMENTS, STYLE];

/// The search in a page: an enhancement, without which every page reads the same.
const SCRIPT: &str = include_str!("register.js");
/// The script's SHA-256 in base64: the only script that a page may run.
const SCRIPT_HASH: &str = "3iF8vGQv34BJtA2h7Y1nzxL0tYX5X+8gumK7YdTZaVw=";

/// The style of all pages.
pub fn style() -> String {
    format!("{}\n{}", page::BASE_CSS, include_str!("register.css"))
}

/// Everything in a file name but what stands for itself in a link.
const IN_LINKS: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'_').remove(b'.').remove(b'~');

/// A path of the report as a link has it.
pub fn link(path: &str) -> String {
    path.split('/').map(|part| utf8_percent_encode(part, IN_LINKS).to_string()).collect::<Vec<_>>().join("/")
}

/// Where a site's page lies.
pub fn site_path(id: &str) -> String {
    format!("sites/{id}.html")
}

/// A page, and the way from it to the report's folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Here {
    /// In the folder itself.
    Top(&'static str),
    /// A site's.
    Site,
}

impl Here {
    const fn up(self) -> &'static str {
        match self {
            Here::Top(_) => "",
            Here::Site => "../",
        }
    }

    /// The way to a file of the report, named as a link names it.
    pub fn to(self, file: &str) -> String {
        format!("{}{file}", self.up())
    }

    /// The way to a place in a page of the whole book.
    pub fn to_part(self, file: &str, id: &str) -> String {
        format!("{}{file}#{id}", self.up())
    }

    /// The way to a site's page.
    pub fn to_site(self, id: &str) -> String {
        self.to(&link(&site_path(id)))
    }
}

/// An id in a page: plain letters stand for themselves, a slash is a dot, and everything else its number, so that no two texts get one id.
pub fn anchor(kind: &str, text: &str) -> String {
    let mut id = format!("{kind}-");
    for letter in text.chars() {
        match letter {
            letter if letter.is_ascii_alphanumeric() || letter == '-' || letter == '_' => id.push(letter),
            '/' => id.push('.'),
            other => id.push_str(&format!("~{:x}~", u32::from(other))),
        }
    }
    id
}

/// A whole page.
pub fn document(report: &Report<'_>, here: Here, title: &str, body: &Markup) -> String {
    let keeper = report.book.settings.data.trading_as.as_deref().unwrap_or("Job book");
    let pages = [(INDEX, "Overview"), (FINDINGS, "Findings"), (UNITS, "Units"), (INSTRUMENTS, "Instruments")];
    let allows = format!("style-src 'self' file:; script-src 'sha256-{SCRIPT_HASH}'; img-src 'self' file: data:");
    let head = html! { meta name="color-scheme" content="light dark"; link rel="stylesheet" href=(here.to(STYLE)); };
    let whole = html! {
        body {
            a.skip href="#main" { "To the content" }
            header.top {
                p.keeper { (keeper) }
                nav aria-label="Pages" {
                    ul {
                        @for (file, name) in pages {
                            li {
                                @if here == Here::Top(file) { a href=(here.to(file)) aria-current="page" { (name) } }
                                @else { a href=(here.to(file)) { (name) } }
                            }
                        }
                    }
                }
            }
            main #main tabindex="-1" {
                h1 { (title) }
                p.as-of { "As of " time datetime=(report.on) { (report.on) } }
                p.caution { (words::CAUTION) }
                @if report.private.is_some() { p.keep-private { (words::PRIVATE) } }
                (body)
            }
            footer.end { p { "Written by ampledger from the records of this book, as of " (report.on) "." } }
            script { (PreEscaped(SCRIPT)) }
        }
    };
    let title =
        if here == Here::Top(INDEX) { format!("{title} \u{2013} {keeper}") } else { format!("{title} \u{2013} {keeper}, job book") };
    page::page(words::LANGUAGE, &title, &allows, &head, &whole)
}

/// A section under its heading.
pub fn section(of: Section, count: Option<usize>, body: &Markup) -> Markup {
    let title = format!("{}-title", of.id());
    html! {
        section id=(of.id()) aria-labelledby=(title) {
            h2 id=(title) { (of.title()) @if let Some(count) = count { " " span.count { "(" (count) ")" } } }
            (body)
        }
    }
}

/// The sections of a long page, to jump to.
pub fn contents(sections: &[Section]) -> Markup {
    html! {
        nav.contents aria-label="On this page" {
            ul { @for section in sections { li { a href=(format!("#{}", section.id())) { (section.title()) } } } }
        }
    }
}

/// The field that filters the rows of a page; there only where the script runs.
pub fn search(of: &str) -> Markup {
    html! {
        div.search role="search" data-search="" hidden {
            label for="search" { (of) }
            input #search type="search" autocomplete="off" spellcheck="false";
            output for="search" aria-live="polite" {}
        }
    }
}

/// A table in a box that scrolls by itself. `id` tells it from the others of its page.
pub fn table(id: &str, caption: &str, head: &Markup, body: &Markup) -> Markup {
    let caption_id = format!("{id}-caption");
    html! {
        div.scroll tabindex="0" role="group" aria-labelledby=(caption_id) {
            table {
                caption id=(caption_id) { (caption) }
                thead { (head) }
                (body)
            }
        }
    }
}

/// The heads of plain columns.
pub fn heads(names: &[&str]) -> Markup {
    html! { tr { @for name in names { th scope="col" { (name) } } } }
}

/// Names and values, those that are there.
pub fn facts(facts: &[(String, String)]) -> Markup {
    html! { dl.facts { @for (name, value) in facts { div { dt { (name) } dd { (value) } } } } }
}

/// A grade, by shape and word.
pub fn mark(grade: Grade) -> Markup {
    let (word, shape) = words::grade(grade);
    html! { span class=(format!("mark {word}")) { span.shape aria-hidden="true" { (shape) } " " (word) } }
}

/// A day, kept on one line.
pub fn day(day: Date) -> Markup {
    html! { time datetime=(day) { (day) } }
}

/// A file and a line.
pub fn place(file: &str, line: usize) -> Markup {
    html! { span.place { (file) ":" (line) } }
}

/// A finding as an entry of a list. `here` says how its rule and its site are reached; the site is named only on the pages of the whole
/// book. `reason` is why it is quiet, for one that is.
pub fn finding(here: Here, finding: &Finding, with_rule: bool, reason: Option<&Markup>) -> Markup {
    let line = finding.place.span.as_ref().map_or(1, |span| line_number(&finding.place.file, span.start));
    let file = finding.place.file.path.as_str();
    let site = site_of(file).filter(|_| here != Here::Site);
    let subject = crate::render::unsaid_subject(finding);
    // Where the rule stands above its findings, its cure is not said once more with each.
    let cure = crate::rules::by_id(finding.rule).map(|rule| rule.cure).filter(|_| !with_rule);
    let is_new = !finding.help.is_empty() && cure != Some(finding.help.as_str());
    html! {
        li.entry data-row=[(here == Here::Top(FINDINGS)).then_some("")] {
            p.lead {
                (mark(finding.grade))
                @if let Some(site) = site { " " a href=(here.to_site(site)) { (site) } }
                @if let Some(subject) = subject { " " span.subject { (subject) } }
                @if with_rule { " " a.rule href=(here.to_part(FINDINGS, &anchor("rule", finding.rule))) { (finding.rule) } }
            }
            p.what { (finding.message) }
            @if is_new { p.help { (finding.help) } }
            p.where {
                (place(file, line))
                @if !finding.source.is_empty() { " " span.source { (finding.source) } }
            }
            @if let Some(reason) = reason { p.reason { (reason) } }
        }
    }
}

/// Things owed. `found` are the findings that say more of one of them.
pub fn owed(report: &Report<'_>, here: Here, items: &[&Item], found: &dyn Fn(&Item) -> Vec<&'static str>) -> Markup {
    html! {
        ol.entries {
            @for item in items {
                li.entry {
                    p.lead {
                        @if item.danger { (mark(Grade::Danger)) " " }
                        @if let Some(day) = item.day { (self::day(day)) " " }
                        @else if item.danger { "no day set " }
                        @let ahead = left(item, report.on);
                        @if !ahead.is_empty() { span.left.over[item.is_over(report.on)] { (ahead) } " " }
                        span.kind { (item.kind.as_str()) }
                        @if here != Here::Site {
                            " "
                            @if let Some(site) = &item.site { a href=(here.to_site(site)) { (site) } }
                            @else if here != Here::Top(INSTRUMENTS) { a href=(here.to(INSTRUMENTS)) { "instruments" } }
                        }
                        @if !item.subject.is_empty() { " " span.subject { (item.subject) } }
                    }
                    p.what { (item.what) }
                    @if !item.notes.is_empty() { p.help { (item.notes.join("; ")) } }
                    p.where {
                        (place(&item.file, item.line))
                        @for rule in found(item) { " " a.rule href=(here.to_part(FINDINGS, &anchor("rule", rule))) { (rule) } }
                    }
                }
            }
        }
    }
}

/// Files that could not be read, where there are any.
pub fn unread(files: &[String], what: &str) -> Markup {
    html! {
        @if !files.is_empty() {
            p.unread { "Not read in full, and " (what) ": " }
            ul { @for file in files { li.unread { (file) } } }
        }
    }
}
