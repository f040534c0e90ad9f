//! The circuits of a site: one row each as last recorded, and each reading over the years as a table and, with three figures or more, a
//! plot.

use maud::{Markup, PreEscaped, html};

use super::layout::{self, anchor};
use crate::history::{Cell, CircuitStory, Row, figures, short, trend_words};
use crate::plot;
use crate::record::ReadingKey;
use crate::render::readings::{PLOTTED, shown};

/// One row a circuit.
pub fn table(stories: &[CircuitStory]) -> Markup {
    if stories.is_empty() {
        return html! { p { "No visit records a circuit." } };
    }
    let names = ["Circuit", "Serves", "Use", "Device", "RCD", "Cable", "Zs, ohm", "IR live to earth, Mohm", "RCD time, ms", "Last read"];
    let fact = |story: &CircuitStory, name: &str| {
        story.known.iter().find(|fact| fact.name == name).map(|fact| fact.words.clone()).unwrap_or_default()
    };
    let body = html! {
        tbody {
            @for story in stories {
                tr {
                    th scope="row" {
                        @if has_more(story) { a href=(format!("#{}", anchor("circuit", &story.id))) { (story.id) } } @else { (story.id) }
                    }
                    td { (story.serves) }
                    td { (fact(story, "use")) }
                    td { (fact(story, "device")) }
                    td { (fact(story, "RCD")) }
                    td { (fact(story, "cable")) }
                    @for key in [ReadingKey::Zs, ReadingKey::IrLiveEarth, ReadingKey::RcdMs] {
                        td { @if let Some((_, cell)) = last(story, key) { (value(key, cell)) } }
                    }
                    td { @if let Some(day) = current(story).iter().filter(|row| !row.cells.is_empty()).find_map(|row| row.heading.day) {
                        (layout::day(day))
                    } }
                }
            }
        }
    };
    layout::table("circuits-of", "Every circuit with what was last recorded of it", &layout::heads(&names), &body)
}

/// The rows of the circuit as it is now: what was read before it was installed was read on another.
fn current(story: &CircuitStory) -> &[Row] {
    let installed = story.rows.iter().position(|row| row.is_new).map_or(story.rows.len(), |index| index + 1);
    &story.rows[..installed]
}

/// The last reading of a kind.
fn last(story: &CircuitStory, key: ReadingKey) -> Option<(&Row, &Cell)> {
    current(story).iter().find_map(|row| Some((row, row.cells.get(&key).filter(|cell| cell.written.is_some())?)))
}

/// A reading with what is to be known of it: past its limit in words and by a shape.
fn value(key: ReadingKey, cell: &Cell) -> Markup {
    let past = cell.bound.as_ref().zip(cell.figure).filter(|(bound, figure)| bound.is_failed_by(figure)).map(|(bound, _)| bound);
    html! {
        @match &cell.written {
            Some(written) => { span.reading { (shown(key, written)) } }
            None => { "not taken: " (cell.not_taken.as_deref().filter(|why| !why.is_empty()).unwrap_or("no reason given")) }
        }
        @if let Some(remark) = cell.remark { " " span.remark { "(" (remark) ")" } }
        @if let Some(bound) = past {
            " " span.mark.past { span.shape aria-hidden="true" { "\u{25b2}" } " " (if bound.is_minimum { "under the " } else { "over the " }) (bound.words()) }
        }
    }
}

/// Whether there is more to tell of a circuit than its row does.
fn has_more(story: &CircuitStory) -> bool {
    !story.columns.is_empty() || story.known.iter().any(|fact| fact.name != "use")
}

/// What is known of each circuit and since when, and its readings visit by visit.
pub fn one_by_one(stories: &[CircuitStory]) -> Option<Markup> {
    let told: Vec<&CircuitStory> = stories.iter().filter(|story| has_more(story)).collect();
    if told.is_empty() {
        return None;
    }
    Some(html! {
        p { "The newest visit first. What stands under one that installed the circuit was read on another circuit." }
        @for story in told {
            div.circuit {
                h3 id=(anchor("circuit", &story.id)) { (story.id) @if !story.serves.is_empty() { ": " (story.serves) } }
                dl.facts {
                    @for fact in &story.known {
                        div { dt { (fact.name) } dd { (fact.words) @if let Some(since) = fact.since { span.since { ", since " (layout::day(since)) } } } }
                    }
                }
                @if story.columns.is_empty() { p { "No reading is recorded." } } @else { (over_the_years(story)) }
                (trends(story))
                (plots(story))
            }
        }
    })
}

fn over_the_years(story: &CircuitStory) -> Markup {
    let head = html! {
        tr {
            th scope="col" { "Visit" }
            @for key in &story.columns {
                th scope="col" { (short(*key)) @if !key.unit().is_empty() { span.in-unit { ", " (key.unit()) } } }
            }
            th scope="col" { "Read with" }
        }
    };
    let newest = |key: &ReadingKey| last(story, *key).and_then(|(_, cell)| cell.bound.as_ref());
    let has_bounds = story.columns.iter().any(|key| newest(key).is_some());
    let body = html! {
        tbody {
            @for row in &story.rows {
                tr {
                    th scope="row" {
                        a href=(format!("#{}", anchor("visit", &row.heading.visit))) {
                            @if let Some(day) = row.heading.day { (layout::day(day)) } @else { (row.heading.visit) }
                        }
                        @if row.is_new { span.remark { " installed" } }
                    }
                    @for key in &story.columns { td { @if let Some(cell) = row.cells.get(key) { (value(*key, cell)) } } }
                    td { (instruments(row)) }
                }
            }
        }
        @if has_bounds {
            tfoot {
                tr {
                    th scope="row" { "Held against" }
                    @for key in &story.columns { td { @if let Some(bound) = newest(key) { (bound.words()) } } }
                    td {}
                }
            }
        }
    };
    layout::table(&anchor("table", &story.id), &format!("Readings of {}", story.id), &head, &body)
}

/// The instruments of a visit that take such readings.
fn instruments(row: &Row) -> String {
    let mut all: Vec<&str> = row.cells.values().flat_map(|cell| &cell.instruments).map(String::as_str).collect();
    all.sort_unstable();
    all.dedup();
    all.join(", ")
}

/// Where readings are going, in words.
fn trends(story: &CircuitStory) -> Markup {
    let words: Vec<(ReadingKey, String)> = story.series.iter().filter_map(|series| Some((series.key, trend_words(series)?))).collect();
    html! {
        @if !words.is_empty() { ul.trends { @for (key, words) in &words { li { span.subject { (short(*key)) } ": " (words) } } } }
    }
}

/// The readings with figures enough, drawn one by one. The table above has every one of them.
fn plots(story: &CircuitStory) -> Markup {
    let figures = figures(story, PLOTTED);
    html! {
        @if !figures.is_empty() {
            div.plots {
                @for (key, figure) in &figures {
                    @match plot::svg_within(figure, &format!("{}-{key}-", anchor("plot", &story.id))) {
                        Ok(svg) => { div.scroll.plot tabindex="0" role="group" aria-label=(figure.title) { (PreEscaped(svg)) } }
                        Err(_) => { p { (figure.title) ": the plot could not be drawn; the table has its figures." } }
                    }
                }
            }
        }
    }
}
