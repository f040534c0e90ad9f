//! The supply and the boards of a site as they were last recorded.

use maud::{Markup, html};

use super::Report;
use super::layout;
use crate::record::{Date, JobSupply};
use crate::rules::view::SiteView;

/// A word of a vocabulary as people say it.
fn plain(word: impl std::fmt::Display) -> String {
    word.to_string().replace('-', " ")
}

/// Parts that are there, with commas between.
fn joined(parts: impl IntoIterator<Item = Option<String>>) -> Option<String> {
    let text = parts.into_iter().flatten().filter(|part| !part.trim().is_empty()).collect::<Vec<_>>().join(", ");
    (!text.is_empty()).then_some(text)
}

/// A figure of the last visit that read it, with its day.
fn last_read(view: &SiteView<'_>, of: impl Fn(&JobSupply) -> Option<String>) -> Option<String> {
    view.jobs().rev().find_map(|job| {
        let figure = of(job.data().supply.as_ref()?)?;
        Some(dated(figure, job.day()))
    })
}

fn dated(figure: String, day: Option<Date>) -> String {
    day.map_or(figure.clone(), |day| format!("{figure} on {day}"))
}

/// What is known of the supply, its earthing and its bonding, and what was last read at the origin.
pub fn supply(report: &Report<'_>, view: &SiteView<'_>) -> Markup {
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut say = |name: &str, value: Option<String>| facts.extend(value.map(|value| (name.to_owned(), value)));
    if let Some(supply) = view.supply() {
        let shown = |by: Option<crate::record::ShownBy>| by.map(|by| format!("shown by {}", plain(by)));
        say("Earthing", joined([supply.earthing.map(|earthing| earthing.to_string()), shown(supply.earthing_shown_by)]));
        say("Phases", supply.phases.map(|phases| phases.to_string()));
        say("Nominal voltage to earth", supply.nominal_v.map(|volts| format!("{volts} V")));
        say(
            "Cut-out",
            supply.cutout.as_ref().and_then(|cutout| {
                joined([cutout.standard.clone(), cutout.rating_a.map(|rating| format!("{rating} A")), shown(cutout.shown_by)])
            }),
        );
        say("Service", supply.service.map(plain));
        say(
            "Declared",
            supply.declared.as_ref().and_then(|declared| {
                joined([declared.ze_ohm.map(|ze| format!("Ze {ze} ohm")), declared.ipf_ka.map(|ipf| format!("Ipf {ipf} kA"))])
            }),
        );
        // The supply number names the home: it is told with the other private details.
        say("Supply number", supply.mpan.clone().filter(|_| report.private.is_some()));
        say("Other sources", supply.other_sources.clone());
        say(
            "Tails",
            supply
                .tails
                .as_ref()
                .and_then(|tails| joined([tails.mm2.map(|mm2| format!("{mm2} mm2")), tails.length_m.map(|length| format!("{length} m"))])),
        );
        say(
            "Earth electrode",
            supply.electrode.as_ref().and_then(|electrode| joined([electrode.kind.map(plain), electrode.place.clone()])),
        );
        say(
            "Earthing conductor",
            supply
                .earthing_conductor
                .as_ref()
                .and_then(|conductor| joined([conductor.mm2.map(|mm2| format!("{mm2} mm2")), conductor.material.map(plain)])),
        );
        for bonding in &supply.bonding {
            let size = bonding.mm2.map(|mm2| format!("{mm2} mm2"));
            let length = bonding.length_m.map(|length| format!("{length} m"));
            let reading = bonding.reading_ohm.map(|reading| format!("read {reading} ohm"));
            say("Bonding", joined([bonding.service.map(plain), size, length, bonding.material.map(plain), reading]));
        }
    }
    let by = |by: Option<crate::record::SupplyBy>| by.map(|by| format!(" ({})", plain(by))).unwrap_or_default();
    say("Ze last", last_read(view, |supply| Some(format!("{} ohm{}", supply.ze_ohm?, by(supply.ze_by)))));
    say("Ipf last", last_read(view, |supply| Some(format!("{} kA{}", supply.ipf_ka?, by(supply.ipf_by)))));
    say(
        "Electrode last",
        last_read(view, |supply| {
            let by = supply.electrode_by.map(|by| format!(" ({})", plain(by))).unwrap_or_default();
            Some(format!("{} ohm{by}", supply.electrode_ohm?))
        }),
    );
    say("Polarity last", last_read(view, |supply| supply.polarity.map(plain)));
    say("Maximum demand last", last_read(view, |supply| Some(format!("{} A a phase", supply.max_demand_a?))));
    html! { @if facts.is_empty() { p { "Nothing is recorded." } } @else { (layout::facts(&facts)) } }
}

/// The boards in `site.md`, and what was last read at each.
pub fn boards(view: &SiteView<'_>) -> Markup {
    let Some(boards) = view.site().map(|site| site.boards.as_slice()).filter(|boards| !boards.is_empty()) else {
        return html! { p { "No board is recorded in site.md." } };
    };
    let names = [
        "Board",
        "Where",
        "Fed from",
        "Standard",
        "Enclosure",
        "Main switch",
        "Surge protection",
        "Ways",
        "Rating",
        "Zdb last",
        "Ipf last",
    ];
    let read = |id: Option<&str>, of: &dyn Fn(&crate::record::BoardReading) -> Option<String>| {
        view.jobs().rev().find_map(|job| {
            let board = job.data().boards.iter().find(|board| board.id.is_some() && board.id.as_deref() == id)?;
            Some(dated(of(board)?, job.day()))
        })
    };
    let body = html! {
        tbody {
            @for board in boards {
                @let id = board.id.as_deref();
                @let switch = board.main_switch.as_ref().and_then(|switch| joined([
                    switch.standard.clone(), switch.rating_a.map(|rating| format!("{rating} A")), switch.poles.map(|poles| format!("{poles} poles")),
                    switch.trip_ma.map(|trip| format!("RCD {trip} mA")),
                ]));
                @let spd = board.spd.as_ref().and_then(|spd| joined([spd.kind.as_ref().map(|kind| format!("type {kind}")), spd.standard.clone()]));
                tr {
                    th scope="row" { (id.unwrap_or("no id")) }
                    td { (board.place.as_deref().unwrap_or_default()) }
                    td { (board.fed_from.as_deref().unwrap_or_default()) }
                    td { (board.standard.as_deref().unwrap_or_default()) }
                    td { (board.enclosure.map(plain).unwrap_or_default()) }
                    td { (switch.unwrap_or_default()) }
                    td { (spd.unwrap_or_default()) }
                    td.figure { (board.ways.map(|ways| ways.to_string()).unwrap_or_default()) }
                    td { (board.conditional_ka.map(|ka| format!("{ka} kA")).unwrap_or_default()) }
                    td { (read(id, &|board| Some(format!("{} ohm", board.zdb_ohm?))).unwrap_or_default()) }
                    td { (read(id, &|board| Some(format!("{} kA", board.ipf_ka?))).unwrap_or_default()) }
                }
            }
        }
    };
    layout::table("boards-of", "Boards and consumer units", &layout::heads(&names), &body)
}
