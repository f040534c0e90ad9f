//! The page of equipment: how often each model fails, as figures and as a picture, whom notices touch, and every unit.

use maud::{Markup, PreEscaped, html};

use super::Report;
use super::layout::{self, Here, UNITS, anchor};
use super::site::unit_anchor;
use super::words::Section;
use crate::plot::{self, Range, Ranges};
use crate::render::units::{cleared_words, doubt_words, fault_words, figure, pair_words, places, progress, years};
use crate::units::rates::{ModelRate, Says};
use crate::units::recall::{Outcome, Touched, lay};
use crate::units::{Life, Stay};

const HERE: Here = Here::Top(UNITS);
/// Rates are given over so many unit-years.
const PER: f64 = 100.0;

/// The page.
pub fn page(report: &Report<'_>) -> String {
    let fleet = &report.fleet;
    let (placed, gone): (Vec<usize>, Vec<usize>) = (0..fleet.lives.len()).partition(|at| report.life(*at).is_some_and(Life::is_in_place));
    let notices: Vec<Outcome<'_>> = report.book.recalls.values().map(|notice| lay(fleet, notice)).collect();
    let body = html! {
        (layout::contents(&[Section::Notices, Section::Rates, Section::InPlace, Section::Removed]))
        (layout::unread(&fleet.unread, "its units are not all known"))
        @if !fleet.bare.is_empty() {
            p.unread { "Charging circuits on which no record names a unit, so that a notice passes them by: " (fleet.bare.join(", ")) "." }
        }
        (layout::section(Section::Notices, Some(notices.len()), &html! {
            @if notices.is_empty() { p { "No notice is in recalls/." } }
            @for outcome in &notices { (notice(report, outcome)) }
        }))
        (layout::section(Section::Rates, Some(report.rates.models.len()), &rates(report)))
        (layout::section(Section::InPlace, Some(placed.len()), &html! {
            (layout::search("Filter the units: a model, a serial, a site"))
            (in_place(report, &placed))
        }))
        (layout::section(Section::Removed, Some(gone.len()), &removed(report, &gone)))
    };
    layout::document(report, HERE, "Units", &body)
}

/// A site and a circuit, with the way there.
fn at(stay: &Stay) -> Markup {
    html! { a href=(HERE.to_site(&stay.site)) { (stay.site) } @if let Some(circuit) = &stay.circuit { " " (circuit) } }
}

fn doubts(life: &Life) -> Markup {
    html! { @for doubt in &life.doubts { p.doubt { "Doubt: " (doubt_words(doubt)) } } }
}

fn in_place(report: &Report<'_>, lives: &[usize]) -> Markup {
    if lives.is_empty() {
        return html! { p { "No unit is in place on record." } };
    }
    let names = ["Model and serial", "Place", "Since", "Firmware", "Warranty", "Open PEN", "Faults and doubts"];
    let body = html! {
        tbody {
            @for index in lives {
                @if let Some(life) = report.life(*index) {
                    tr data-row="" id=(unit_anchor(*index)) {
                        th scope="row" { (life.name()) }
                        td { @for stay in life.places() { p { (at(stay)) } } }
                        td { @for stay in life.places() { p {
                            @match stay.since {
                                Some(day) => { (layout::day(day)) @if !stay.fitted { ", first seen" } }
                                None => { "not recorded" }
                            }
                        } } }
                        td { @if let Some((firmware, event)) = life.firmware() { (firmware) @if let Some(day) = event.day { " of " (layout::day(day)) } } }
                        td { @if let Some(day) = life.warranty_until() { @if day < report.on { "ended " } @else { "until " } (layout::day(day)) } }
                        td { @for stay in life.places() { p { (stay.open_pen.map(|measure| measure.to_string()).unwrap_or_default()) } } }
                        td {
                            @for fault in report.fleet.faults_of(*index) { p { (fault_words(fault)) } }
                            (doubts(life))
                        }
                    }
                }
            }
        }
    };
    layout::table("units-in-place", "Units in place, with what is known of each", &layout::heads(&names), &body)
}

fn removed(report: &Report<'_>, lives: &[usize]) -> Markup {
    if lives.is_empty() {
        return html! { p { "No unit is recorded as removed." } };
    }
    let body = html! {
        tbody {
            @for index in lives {
                @if let Some(life) = report.life(*index) {
                    tr data-row="" id=(unit_anchor(*index)) {
                        th scope="row" { (life.name()) }
                        td { @if let Some(stay) = life.last_stay() { (at(stay)) } }
                        td { @for place in places(life, report.on) { p { (place) } } }
                        td { @for fault in report.fleet.faults_of(*index) { p { (fault_words(fault)) } } (doubts(life)) }
                    }
                }
            }
        }
    };
    let names = ["Model and serial", "Last place", "Removed", "Faults and doubts"];
    layout::table("units-removed", "Units that are in place nowhere", &layout::heads(&names), &body)
}

/// `16 (2.0 to 59)`, per hundred unit-years.
fn rate_words(model: &ModelRate) -> Option<String> {
    let (rate, interval) = model.rate?;
    Some(format!("{} ({} to {})", figure(rate * PER), figure(interval.low * PER), figure(interval.high * PER)))
}

fn rates(report: &Report<'_>) -> Markup {
    let rates = &report.rates;
    if rates.models.is_empty() {
        return html! { p { "No unit of a known model, so no rates." } };
    }
    let causes: Vec<&str> = rates.causes.iter().map(|cause| cause.as_str()).collect();
    let names = ["Model", "Kind", "Units", "In place", "Unit-years", "Faults", "Faults per 100 unit-years (95 % interval)", "Left out"];
    let body = html! {
        tbody {
            @for model in &rates.models {
                tr {
                    th scope="row" id=(anchor("model", &model.model)) { (model.model) }
                    td { (model.kind.map(|kind| kind.to_string().replace('-', " ")).unwrap_or_default()) }
                    td.figure { (model.units) }
                    td.figure { (model.in_place) }
                    td.figure { (years(model.unit_years)) }
                    td.figure { (model.faults) }
                    td.figure { (rate_words(model).unwrap_or_else(|| "no time in place on record".to_owned())) }
                    td.figure { (model.left_out) }
                }
            }
        }
    };
    let told: Vec<(String, String)> =
        rates.pairs.iter().filter(|pair| pair.says != Says::TooFew).filter_map(|pair| pair_words(rates, pair)).collect();
    let too_few = rates.pairs.len() - told.len();
    html! {
        p {
            "Faults laid to " (crate::rules::words::listed(&causes, "or")) ", over the years that units were in place. The intervals are exact "
            "(Garwood, 95 %): what so small a count allows. A fault laid to anybody else is left out."
        }
        (layout::table("rates-of", "Failures by model", &layout::heads(&names), &body))
        (picture(report))
        @if !told.is_empty() {
            h3 { "Models beside one another" }
            ul { @for (models, words) in &told { li { span.subject { (models) } ": " (words) } } }
            p { "Exact conditional test, the smaller tail doubled. Sites, use and age differ too: a difference is a reason to look, and no verdict." }
        }
        @if too_few > 0 { p { (too_few) @if too_few == 1 { " pair of models has" } @else { " pairs of models have" } " too few faults to be told apart." } }
        @if rates.without_model > 0 { p { (rates.without_model) " of no known model left out." } }
    }
}

fn picture(report: &Report<'_>) -> Markup {
    let row = |model: &ModelRate| {
        let (rate, interval) = model.rate?;
        let faults = crate::render::counted(model.faults as usize, "fault", "faults");
        let words = format!("{}; {faults} in {} unit-years", rate_words(model)?, years(model.unit_years));
        Some(Range { name: model.model.clone(), value: rate * PER, low: interval.low * PER, high: interval.high * PER, words })
    };
    let rows: Vec<Range> = report.rates.models.iter().filter_map(row).collect();
    if rows.is_empty() {
        return html! {};
    }
    let described: Vec<String> = rows.iter().map(|row| format!("{}: {}", row.name, row.words)).collect();
    let title = "Faults per 100 unit-years by model, with exact 95 % intervals";
    let ranges = Ranges {
        title: title.to_owned(),
        description: format!("{}. An arrow shows an interval that goes on beyond the picture.", described.join(". ")),
        quantity: "faults per 100 unit-years".to_owned(),
        rows,
    };
    match plot::ranges(&ranges, "rates-plot-") {
        Ok(svg) => html! { div.scroll.plot tabindex="0" role="group" aria-label=(title) { (PreEscaped(svg)) } },
        Err(_) => html! { p { "The picture could not be drawn; the table has its figures." } },
    }
}

/// A notice laid over the book, what is still in use first.
fn notice(report: &Report<'_>, outcome: &Outcome<'_>) -> Markup {
    let notice = &outcome.notice.data;
    let (done, all) = (outcome.touched() - outcome.certain.len() - outcome.possible.len(), outcome.touched());
    html! {
        div.notice {
            h3 id=(anchor("notice", &outcome.notice.id)) {
                (notice.model.as_deref().unwrap_or("model not given")) @if let Some(day) = notice.issued { ", issued " (day) }
            }
            p.where { span.place { (outcome.notice.source.path) } }
            @if !outcome.touches.is_empty() { p { "Touches " (outcome.touches.join("; ")) "." } }
            p { "Advice: " (notice.advice.as_deref().unwrap_or("none recorded; read the notice")) }
            p.progress {
                (progress(outcome))
                @if all > 0 { " " progress max=(all) value=(done) aria-label=(format!("{done} of {all} dealt with or removed")) {} }
            }
            @for gap in &outcome.gaps { p.unread { "Not complete: " (gap) "." } }
            (touched(report, "Certain, and nothing clears it", &outcome.certain))
            (touched(report, "Possible: something is not on record", &outcome.possible))
            @if !outcome.cleared.is_empty() {
                h4 { "Cleared " span.count { "(" (outcome.cleared.len()) ")" } }
                ul { @for cleared in &outcome.cleared { @if let Some(life) = report.life(cleared.at) { li { (cleared_words(life, &cleared.why)) } } } }
            }
            @for serial in &outcome.unknown_ticks { p.doubt { (serial) " is ticked off, and no unit of the book has that serial." } }
        }
    }
}

fn touched(report: &Report<'_>, heading: &str, list: &[Touched]) -> Markup {
    html! {
        @if !list.is_empty() {
            h4 { (heading) " " span.count { "(" (list.len()) ")" } }
            ul {
                @for one in list {
                    @if let Some(life) = report.life(one.at) {
                        li {
                            a href=(format!("#{}", unit_anchor(one.at))) { (life.name()) }
                            @for stay in life.places() { ", " (at(stay)) }
                            @match one.isolated {
                                Some(Some(day)) => { ", left isolated, fault of " (layout::day(day)) }
                                Some(None) => { ", left isolated" }
                                None => { ", still in use on record" }
                            }
                            @for why in &one.why { "; " (why) }
                        }
                    }
                }
            }
        }
    }
}
