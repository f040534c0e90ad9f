//! A paper as one HTML file that prints well: A4 pages with a foot on each, heads repeated where a table breaks, and names, captions and
//! landmarks for whoever listens to it.

use maud::{Markup, html};

use super::model::{Block, Fact, Paper, Section, Signature, Table, Value};
use super::words::{Language, Phrase as P};
use crate::html::{css_string, document, markdown};

/// The style of papers, after the base style.
const STYLE: &str = include_str!("style.css");

/// The paper as a document.
pub fn render(paper: &Paper) -> String {
    let say = |phrase: P| paper.language.say(phrase);
    let title = if paper.subtitle.is_empty() { say(paper.title).to_owned() } else { format!("{}: {}", say(paper.title), paper.subtitle) };
    let title = if paper.draft { format!("{} \u{2013} {title}", say(P::Draft)) } else { title };
    let several = paper.sheets.len() > 1;
    let gaps = paper.gaps();
    let body = html! {
        body.draft[paper.draft].brief[paper.brief] {
            header.top {
                @if paper.draft {
                    p.stamp { (say(P::Draft)) }
                }
                h1 { (say(paper.title)) }
                @if !paper.subtitle.is_empty() {
                    p.subtitle { (paper.subtitle) }
                }
                p.caution data-holds=(P::NotACertificate.key()) { (say(P::NotACertificate)) }
                @if paper.draft {
                    p.why-draft { (draft_words(paper, gaps.len())) }
                }
            }
            main {
                @for (index, sheet) in paper.sheets.iter().enumerate() {
                    @if several {
                        article.sheet id=(format!("sheet-{}", index + 1)) aria-labelledby=(format!("sheet-{}-title", index + 1)) {
                            h2.sheet-title id=(format!("sheet-{}-title", index + 1)) {
                                (say(paper.title)) ": " (sheet.heading.as_deref().unwrap_or_default())
                            }
                            @for section in &sheet.sections { (Part { language: paper.language, prefix: format!("s{}-", index + 1), below: true }.section(section)) }
                        }
                    } @else {
                        @for section in &sheet.sections { (Part { language: paper.language, prefix: String::new(), below: false }.section(section)) }
                    }
                }
                @if paper.draft { (to_do(paper)) }
            }
            footer.end.wide[ends_wide(paper)] { (made_from(paper)) }
        }
    };
    document(paper.language.tag(), &title, &format!("{STYLE}\n{}", page_boxes(paper)), &body)
}

/// Whether the last page lies on its side, so that what follows can stand on it.
fn ends_wide(paper: &Paper) -> bool {
    let last = paper.sheets.last().and_then(|sheet| sheet.sections.last());
    let nothing_between = !paper.draft || paper.gaps().is_empty() && paper.obstacles.is_empty();
    nothing_between && last.is_some_and(|section| section.wide)
}

/// How far a draft is from final, in one line.
fn draft_words(paper: &Paper, gaps: usize) -> String {
    let counted = |count: usize, phrase: P| (count > 0).then(|| paper.language.fill(phrase, &[&count.to_string()]));
    let parts: Vec<String> =
        [counted(gaps, P::GapsCounted), counted(paper.obstacles.len(), P::ObstaclesCounted)].into_iter().flatten().collect();
    if parts.is_empty() {
        return paper.language.say(P::DraftWhole).to_owned();
    }
    paper.language.fill(if paper.brief && gaps > 0 { P::DraftBrief } else { P::DraftExplained }, &[&parts.join("; ")])
}

/// What stands in the margins of every page.
fn page_boxes(paper: &Paper) -> String {
    let language = paper.language;
    let mut of = language.say(P::PageOf).split("{}");
    let mut next = || css_string(of.next().unwrap_or_default());
    let (before, between, after) = (next(), next(), next());
    let head = css_string(&format!("{}  {}", language.say(paper.title), paper.subtitle));
    let draft = if paper.draft { css_string(language.say(P::Draft)) } else { css_string("") };
    let digest = css_string(&language.fill(P::RecordDigest, &[paper.digest()]));
    let caution = css_string(language.say(P::NotACertificateShort));
    format!(
        "@page {{\n  @top-left {{ content: {head}; }}\n  @top-right {{ content: {draft}; }}\n  @bottom-left {{ content: {caution} \"\\A\" {digest}; }}\n  \
         @bottom-right {{ content: {before} counter(page) {between} counter(pages) {after}; }}\n}}\n"
    )
}

/// What a draft lacks.
fn to_do(paper: &Paper) -> Markup {
    let say = |phrase: P| paper.language.say(phrase);
    let mut by_place: Vec<(String, Vec<String>)> = Vec::new();
    for gap in paper.gaps() {
        match by_place.last_mut() {
            Some((place, whats)) if *place == gap.place => whats.push(gap.what),
            _ => by_place.push((gap.place, vec![gap.what])),
        }
    }
    html! {
        // A sheet of one page has no room to say it twice.
        @if !by_place.is_empty() && !paper.brief {
            section.to-do #gaps aria-labelledby="gaps-title" {
                h2 #gaps-title { (say(P::Gaps)) }
                p { (say(P::GapsIntro)) }
                ul {
                    @for (place, whats) in &by_place {
                        li { span.lead { (place) } ": " (whats.join("; ")) }
                    }
                }
            }
        }
        @if !paper.obstacles.is_empty() {
            section.to-do #obstacles aria-labelledby="obstacles-title" {
                h2 #obstacles-title { (say(P::Obstacles)) }
                ul {
                    @for obstacle in &paper.obstacles {
                        li {
                            @if !obstacle.rule.is_empty() { span.lead { (obstacle.rule) } ": " }
                            (obstacle.message)
                        }
                    }
                }
            }
        }
    }
}

/// The files behind the paper.
fn made_from(paper: &Paper) -> Markup {
    let say = |phrase: P| paper.language.say(phrase);
    if paper.brief {
        return html! { p.digest data-holds=(P::Origins.key()) { (paper.language.fill(P::RecordDigest, &[paper.digest()])) } };
    }
    html! {
        table.origins data-holds=(P::Origins.key()) {
            caption { (say(P::Origins)) }
            thead { tr { th scope="col" { (say(P::OriginFile)) } th scope="col" { (say(P::OriginDigest)) } } }
            tbody {
                @for origin in &paper.origins {
                    tr { th scope="row" { (origin.file) } td.digest { (origin.digest) } }
                }
            }
        }
    }
}

/// Where a section stands: its language, what its ids begin with, and whether a sheet's heading is above it.
struct Part {
    language: Language,
    prefix: String,
    below: bool,
}

impl Part {
    fn say(&self, phrase: P) -> &'static str {
        self.language.say(phrase)
    }

    fn section(&self, section: &Section) -> Markup {
        let id = format!("{}{}", self.prefix, section.item.key());
        let title = format!("{id}-title");
        html! {
            section.wide[section.wide].alarm[section.alarm] id=(id) aria-labelledby=(title) data-holds=(section.item.key()) {
                @if self.below { h3.section-title id=(title) { (self.say(section.item)) } }
                @else { h2.section-title id=(title) { (self.say(section.item)) } }
                @for block in &section.blocks { (self.block(block, section.item)) }
            }
        }
    }

    fn block(&self, block: &Block, of: P) -> Markup {
        html! {
            @match block {
                Block::Facts(heading, facts) => {
                    @if let Some(heading) = heading {
                        @if self.below { h4.group { (heading) } } @else { h3.group { (heading) } }
                    }
                    dl.facts.pairs[are_short(facts)] { @for fact in facts { (self.fact(fact)) } }
                }
                Block::Table(table) => (self.table(table, of)),
                Block::Prose(text) => p { (text) },
                Block::Lines(item, lines) => {
                    @if *item == of {
                        ul.lines { @for line in lines { li { (self.value(line)) } } }
                    } @else {
                        div.named data-holds=(item.key()) {
                            p.name { (self.say(*item)) }
                            ul.lines { @for line in lines { li { (self.value(line)) } } }
                        }
                    }
                }
                Block::Markdown(text) => div.notes { (markdown(text)) },
                Block::Sign(signatures) => div.signatures { @for signature in signatures { (self.signature(signature)) } },
            }
        }
    }

    fn fact(&self, fact: &Fact) -> Markup {
        if fact.value == Value::Nothing {
            return html! {};
        }
        html! {
            div data-holds=(fact.item.key()) {
                dt { (self.say(fact.item)) }
                dd {
                    (self.value(&fact.value))
                    @if let Some(note) = &fact.note { " " span.note { (note) } }
                }
            }
        }
    }

    fn value(&self, value: &Value) -> Markup {
        html! {
            @match value {
                Value::Said(text) => (text),
                Value::Known(text, visit) => { (text) " " span.note.from { (self.language.fill(P::FromVisit, &[visit])) } }
                Value::Missing => span.gap { (self.say(P::NotRecorded)) },
                Value::Unreadable => span.gap { (self.say(P::Unreadable)) },
                Value::ByHand => span.by-hand { span.rule-text { (self.say(P::ByHand)) } },
                Value::Nothing => span.nothing { span aria-hidden="true" { "\u{2013}" } span.unseen { (self.say(P::DoesNotApply)) } },
            }
        }
    }

    fn table(&self, table: &Table, of: P) -> Markup {
        // Facts of an earlier visit bear a letter, and the letters are explained beneath.
        let mut visits: Vec<&str> = Vec::new();
        for value in table.rows.iter().flatten() {
            if let Value::Known(_, visit) = value
                && !visits.contains(&visit.as_str())
            {
                visits.push(visit);
            }
        }
        let letter = |visit: &str| visits.iter().position(|known| *known == visit).map_or_else(String::new, mark);
        let cell = |value: &Value| match value {
            Value::Known(text, visit) => html! { (text) sup { (letter(visit)) } },
            other => self.value(other),
        };
        let caption = format!("{}{}-table", self.prefix, table.item.key());
        html! {
            div.scroll tabindex="0" role="group" aria-labelledby=(caption) {
                table data-holds=(table.item.key()) {
                    caption.unseen[table.item == of] id=(caption) { (self.say(table.item)) }
                    thead { tr { @for column in &table.columns { th scope="col" data-holds=(column.key()) { (self.say(*column)) } } } }
                    tbody {
                        @for row in &table.rows {
                            tr {
                                @for (index, (column, value)) in table.columns.iter().zip(row).enumerate() {
                                    @if index == 0 { th scope="row" data-cell=(column.key()) { (cell(value)) } }
                                    @else { td data-cell=(column.key()) { (cell(value)) } }
                                }
                            }
                        }
                    }
                }
            }
            @if !visits.is_empty() || !table.notes.is_empty() {
                ul.table-notes {
                    @for visit in &visits { li { sup { (letter(visit)) } " " (self.language.fill(P::FromVisit, &[visit])) } }
                    @for note in &table.notes { li { (note) } }
                }
            }
        }
    }

    fn signature(&self, signature: &Signature) -> Markup {
        html! {
            div.signature data-holds=(signature.item.key()) {
                p.name { (self.say(signature.item)) }
                p.declares { (self.say(signature.declares)) }
                div.sign-line { span { (self.say(P::SignatureLine)) } span { (self.say(P::SignatureDate)) } }
                @if signature.name == Value::ByHand {
                    p.signer { (self.say(P::RecipientName)) " " (self.value(&signature.name)) }
                } @else {
                    p.signer { (self.say(P::SignNobody)) ": " (self.value(&signature.name)) }
                }
            }
        }
    }
}

/// Whether facts are many and short, so that two stand side by side.
fn are_short(facts: &[Fact]) -> bool {
    let is_short = |fact: &Fact| {
        fact.note.is_none()
            && match &fact.value {
                Value::Said(text) => text.len() <= SHORT,
                Value::Known(text, visit) => text.len() + visit.len() <= 2 * SHORT,
                Value::ByHand => false,
                Value::Missing | Value::Unreadable | Value::Nothing => true,
            }
    };
    facts.len() >= MANY && facts.iter().all(is_short)
}

/// Facts from which on short ones stand side by side.
const MANY: usize = 8;
/// Bytes of a short fact.
const SHORT: usize = 32;

/// The mark of the first, second and later visits: a, b, ... z, aa.
fn mark(index: usize) -> String {
    let letter = char::from(b'a' + (index % 26) as u8);
    letter.to_string().repeat(index / 26 + 1)
}
