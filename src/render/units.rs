//! Units and where they are, how often they fail, and whom a notice touches: for people, and as JSON.

use std::fmt::Write;

use serde::Serialize;

use super::place::one_line;
use super::{counted, wrapped};
use crate::record::{Date, LaidTo};
use crate::rules::words::listed;
use crate::statistics::poisson::Interval;
use crate::units::rates::{ModelRate, Pair, Rates, Says};
use crate::units::recall::{How, Outcome, Touched};
use crate::units::{Doubt, Event, FaultStory, Fleet, Life, Stay};

/// What is written of a list of units.
pub struct UnitList<'f> {
    /// The fleet they are of.
    pub fleet: &'f Fleet,
    /// Those asked for, by their places in the fleet.
    pub lives: Vec<usize>,
    /// Whether each entry of each unit is listed too.
    pub history: bool,
    /// Failure statistics, where they are asked for.
    pub rates: Option<Rates>,
}

/// A line broken at `width`, its first part at `indent` and the rest two further in.
fn line(out: &mut String, text: &str, indent: usize, width: usize) {
    let text = one_line(text);
    let broken = wrapped(&text, indent + 2, width);
    let _ = writeln!(out, "{:indent$}{}", "", broken.trim_start());
}

/// The list, in blocks of a few lines a unit.
pub fn units(list: &UnitList<'_>, width: usize) -> String {
    let mut out = String::new();
    let (placed, gone): (Vec<usize>, Vec<usize>) = list.lives.iter().partition(|at| list.fleet.lives[**at].is_in_place());
    for (heading, lives) in [("In place", &placed), ("Removed", &gone)] {
        if lives.is_empty() {
            continue;
        }
        let _ = writeln!(out, "{heading}: {}\n", lives.len());
        for at in lives {
            unit(&mut out, list.fleet, *at, list.history, width);
        }
        out.push('\n');
    }
    let doubtful = list.lives.iter().filter(|at| !list.fleet.lives[**at].doubts.is_empty()).count();
    let mut last = match list.lives.len() {
        0 => format!("no unit fits; {} on record", counted(list.fleet.lives.len(), "unit is", "units are")),
        _ => format!("{} in place, {} removed", placed.len(), gone.len()),
    };
    if doubtful > 0 {
        let _ = write!(last, "; {doubtful} with a doubt");
    }
    line(&mut out, &format!("{last}; as of {}", list.fleet.on), 0, width);
    for file in &list.fleet.unread {
        line(&mut out, &format!("not complete: the units in {file} could not all be read"), 0, width);
    }
    bare_text(&mut out, list.fleet, width);
    if let Some(rates) = &list.rates {
        out.push('\n');
        rates_text(&mut out, rates, list.fleet.on, width);
    }
    out
}

/// Charging circuits without a unit on record: no list of units can hold what is there.
fn bare_text(out: &mut String, fleet: &Fleet, width: usize) {
    if !fleet.bare.is_empty() {
        let count = counted(fleet.bare.len(), "charging circuit names no unit", "charging circuits name no unit");
        line(out, &format!("{count}: {}", fleet.bare.join(", ")), 0, width);
    }
}

fn unit(out: &mut String, fleet: &Fleet, at: usize, history: bool, width: usize) {
    let (life, on) = (&fleet.lives[at], fleet.on);
    line(out, &life.name(), 0, width);
    for place in places(life, on) {
        line(out, &place, 2, width);
    }
    let known = known(life, on);
    if !known.is_empty() {
        line(out, &known, 2, width);
    }
    for fault in fleet.faults_of(at) {
        line(out, &fault_words(fault), 2, width);
    }
    for doubt in &life.doubts {
        line(out, &format!("doubt: {}", doubt_words(doubt)), 2, width);
    }
    if history {
        for event in &life.events {
            line(out, &event_words(event), 2, width);
        }
    } else if let Some(event) = shown_entry(life) {
        line(out, &format!("{}:{}", event.file, event.line), 2, width);
    }
}

/// The entry to open: the one that began its stay, or the one that took it away.
fn shown_entry(life: &Life) -> Option<&Event> {
    life.removal().or_else(|| life.entry())
}

fn at(stay: &Stay) -> String {
    stay.circuit.as_deref().map_or_else(|| stay.site.clone(), |circuit| format!("{} {circuit}", stay.site))
}

/// Where it is, one line a place; where it was last, for one removed.
pub(crate) fn places(life: &Life, on: Date) -> Vec<String> {
    if let Some(event) = life.removal() {
        let last = life.last_stay().map_or(String::new(), |stay| format!(" from {}", at(stay)));
        let day = event.day.map_or(String::new(), |day| format!(" {day}"));
        let was = event.says.kept_until.map_or(String::new(), |until| {
            let word = if until < on { "was kept" } else { "kept" };
            format!(", {word} until {until}")
        });
        return vec![format!("removed{day}{last}{was}")];
    }
    life.places()
        .map(|stay| {
            let word = if stay.fitted { "since" } else { "first seen" };
            let since = stay.since.map_or(", since when is not recorded".to_owned(), |day| format!(", {word} {day}"));
            let draft = life.events.get(stay.begun_by).is_some_and(|event| !event.settled);
            format!("{}{since}{}", at(stay), if draft { " (by a record not finished)" } else { "" })
        })
        .collect()
}

/// Firmware, warranty and the measure against an open PEN conductor.
pub(crate) fn known(life: &Life, on: Date) -> String {
    let mut parts = Vec::new();
    if let Some((firmware, event)) = life.firmware() {
        parts.push(format!("firmware {firmware}{}", event.day.map_or(String::new(), |day| format!(" of {day}"))));
    }
    if let Some(until) = life.warranty_until().filter(|_| life.is_in_place()) {
        parts.push(if until < on { format!("warranty ended {until}") } else { format!("warranty until {until}") });
    }
    if let Some(measure) = life.places().find_map(|stay| stay.open_pen) {
        parts.push(format!("open-PEN {measure}"));
    }
    parts.join("; ")
}

/// `fault weir-house/2025-01-08-gland#f1, laid to us`.
pub(crate) fn fault_words(fault: &FaultStory) -> String {
    let state = match (fault.open, fault.left) {
        (true, Some(left)) => format!(", open, left {left}"),
        (true, None) => ", open".to_owned(),
        (false, _) => String::new(),
    };
    format!("fault {}/{}#{}, laid to {}{state}", fault.site, fault.visit, fault.id, fault.laid_to)
}

pub(crate) fn event_words(event: &Event) -> String {
    let day = event.day.map_or("(no day)".to_owned(), |day| day.to_string());
    let what = if event.by_circuit { "named" } else { event.says.event.map_or("listed", |event| event.as_str()) };
    let circuit = event.says.circuit.as_deref().map_or(String::new(), |circuit| format!(" {circuit}"));
    let firmware = event.says.firmware.as_deref().map_or(String::new(), |firmware| format!(", firmware {firmware}"));
    let why = event.says.why.as_deref().map_or(String::new(), |why| format!(", {why}"));
    let draft = if event.settled { "" } else { " (not finished)" };
    format!("{day} {what} {}{circuit}{firmware}{why}{draft} {}:{}", event.site, event.file, event.line)
}

pub(crate) fn doubt_words(doubt: &Doubt) -> String {
    let place = |site: &str, circuit: &Option<String>| circuit.as_deref().map_or(site.to_owned(), |circuit| format!("{site} {circuit}"));
    match doubt {
        Doubt::NoSerial => "no serial on record".to_owned(),
        Doubt::Placeholder(written) => format!("its serial stands as {written}, which is none"),
        Doubt::NotEntered => "named under ev only; no entry under units says what it is".to_owned(),
        Doubt::NoModel => "no model on record".to_owned(),
        Doubt::AlsoAt(site, circuit) => {
            format!("in place at {} too: one of the two is misread, or a removal is not recorded", place(site, circuit))
        }
        Doubt::SharesSerial(model) => format!("the same serial stands on a unit of {model}"),
        Doubt::Replaced(serial, day) => {
            let day = day.map_or(String::new(), |day| format!(" {day}"));
            let other = serial.as_deref().unwrap_or("another without serial");
            format!("{other} was fitted on its circuit{day}, and nothing says that this one came out")
        }
        Doubt::DraftRemoval(visit) => format!("{visit} removes it and is not finished"),
        Doubt::RemovedElsewhere(site, circuit, visit) => {
            format!("{site}/{visit} removes it from {}, where nothing says it was", place(site, circuit))
        }
    }
}

/// Three figures at most, and no more decimals than a count of few bears.
pub(crate) fn figure(value: f64) -> String {
    match value {
        0.0 => "0".to_owned(),
        value if value < 1.0 => format!("{value:.2}"),
        value if value < 10.0 => format!("{value:.1}"),
        value => format!("{value:.0}"),
    }
}

pub(crate) fn years(value: f64) -> String {
    if value < 100.0 { format!("{value:.1}") } else { format!("{value:.0}") }
}

fn between(interval: Interval, times: f64) -> String {
    format!("between {} and {}", figure(interval.low * times), figure(interval.high * times))
}

fn rates_text(out: &mut String, rates: &Rates, on: Date, width: usize) {
    if rates.models.is_empty() {
        line(out, "no unit of a known model, so no rates", 0, width);
        return;
    }
    let causes: Vec<&str> = rates.causes.iter().map(|cause| cause.as_str()).collect();
    let about = format!(
        "Faults laid to {}, over years in place up to {on}. Ranges are exact 95% intervals: what such a count allows.",
        listed(&causes, "or")
    );
    line(out, &about, 0, width);
    out.push('\n');
    for model in &rates.models {
        model_text(out, rates, model, width);
    }
    if rates.without_model > 0 {
        line(out, &format!("{} of no known model left out", counted(rates.without_model, "unit", "units")), 0, width);
    }
    let pairs = rates.pairs.len();
    if pairs > 0 {
        out.push('\n');
        let has_faults = |pair: &&Pair| rates.models[pair.first].faults + rates.models[pair.second].faults > 0;
        for pair in rates.pairs.iter().filter(has_faults) {
            pair_text(out, rates, pair, width);
        }
        let without = rates.pairs.iter().filter(|pair| !has_faults(pair)).count();
        if without > 0 {
            line(out, &format!("{} without a fault: nothing to compare", counted(without, "pair", "pairs")), 0, width);
        }
        let tested = rates.pairs.iter().filter(|pair| pair.says != Says::TooFew).count();
        let shared =
            if tested > 1 { format!(" The ratios of the {tested} pairs with enough faults hold together at 95%.") } else { String::new() };
        let test = format!(
            "Test: exact conditional (binomial), the smaller tail doubled.{shared} Sites, use and age differ too: a difference is a reason to look, and no verdict."
        );
        line(out, &test, 0, width);
    }
}

fn model_text(out: &mut String, rates: &Rates, model: &ModelRate, width: usize) {
    line(out, &format!("{}: {}, {} in place", model.model, counted(model.units, "unit", "units"), model.in_place), 0, width);
    let faults = counted(model.faults as usize, "fault", "faults");
    let text = match model.rate {
        Some((rate, interval)) => format!(
            "{faults} in {} unit-years: {} per 100 unit-years, {}",
            years(model.unit_years),
            figure(rate * 100.0),
            between(interval, 100.0)
        ),
        None => format!("{faults}; no time in place on record, so no rate"),
    };
    line(out, &text, 2, width);
    if model.left_out > 0 {
        let others = LaidTo::ALL.iter().filter(|whom| !rates.causes.contains(whom)).map(|whom| whom.as_str());
        line(out, &format!("{} more laid to {}: not counted", model.left_out, listed(&others.collect::<Vec<_>>(), "or")), 2, width);
    }
}

fn pair_text(out: &mut String, rates: &Rates, pair: &Pair, width: usize) {
    let Some((models, words)) = pair_words(rates, pair) else { return };
    line(out, &models, 0, width);
    line(out, &words, 2, width);
}

/// Which two models, and what may be said of them.
pub(crate) fn pair_words(rates: &Rates, pair: &Pair) -> Option<(String, String)> {
    let (a, b) = (rates.models.get(pair.first)?, rates.models.get(pair.second)?);
    let counts = format!(
        "{} in {} against {} in {} unit-years",
        counted(a.faults as usize, "fault", "faults"),
        years(a.unit_years),
        b.faults,
        years(b.unit_years)
    );
    let comparison = pair.comparison;
    let ratio = match comparison.interval {
        Interval { low, high } if low < 0.005 && high.is_infinite() => "the ratio may be anything".to_owned(),
        Interval { low, high } if high.is_infinite() => format!("ratio {} or more", figure(low)),
        interval => format!("ratio {}", between(interval, 1.0)),
    };
    let says = match pair.says {
        Says::TooFew => format!("too few to tell them apart ({ratio})"),
        Says::NotToldApart => format!("not told apart ({ratio}, p {})", probability(comparison.p)),
        Says::Differ => format!("a difference that equal rates seldom give ({ratio}, p {})", probability(comparison.p)),
    };
    Some((format!("{} against {}", a.model, b.model), format!("{counts}: {says}")))
}

fn probability(p: f64) -> String {
    if p < 0.001 { "under 0.001".to_owned() } else { format!("{p:.3}") }
}

/// A notice laid over the book: what it says, how far it is dealt with, then the three lists, those in use first.
pub fn recall(fleet: &Fleet, outcome: &Outcome<'_>, width: usize) -> String {
    let mut out = String::new();
    let notice = &outcome.notice.data;
    let model = notice.model.as_deref().unwrap_or("model not given");
    let issued = notice.issued.map_or(String::new(), |day| format!(", issued {day}"));
    line(&mut out, &format!("{model}{issued} ({})", outcome.notice.source.path), 0, width);
    if !outcome.touches.is_empty() {
        line(&mut out, &format!("touches: {}", outcome.touches.join("; ")), 2, width);
    }
    line(&mut out, &format!("advice: {}", notice.advice.as_deref().unwrap_or("none recorded; read the notice")), 2, width);
    line(&mut out, &progress(outcome), 0, width);
    let in_use = outcome.certain.iter().filter(|touched| touched.isolated.is_none()).count();
    let certain = match (in_use, outcome.certain.len()) {
        (_, 0) => None,
        (0, all) => Some(format!("CERTAIN, all left isolated: {all}")),
        (some, all) if some == all => Some(format!("CERTAIN, still in use: {all}")),
        (some, all) => Some(format!("CERTAIN: {all}, {some} still in use")),
    };
    if let Some(heading) = certain {
        touched_text(&mut out, &heading, fleet, &outcome.certain, width);
    }
    if !outcome.possible.is_empty() {
        touched_text(&mut out, &format!("POSSIBLE: {}", outcome.possible.len()), fleet, &outcome.possible, width);
    }
    if !outcome.cleared.is_empty() {
        let _ = writeln!(out, "\nCLEARED: {}", outcome.cleared.len());
        for cleared in &outcome.cleared {
            line(&mut out, &cleared_words(&fleet.lives[cleared.at], &cleared.why), 2, width);
        }
    }
    if !outcome.unknown_ticks.is_empty() || !outcome.gaps.is_empty() || !fleet.bare.is_empty() {
        out.push('\n');
    }
    for serial in &outcome.unknown_ticks {
        line(&mut out, &format!("{serial} is ticked off, and no unit of the book has that serial"), 0, width);
    }
    for gap in &outcome.gaps {
        line(&mut out, &format!("not complete: {gap}"), 0, width);
    }
    bare_text(&mut out, fleet, width);
    out
}

/// `2 of 7 done, 1 certain still in place, 1 possible, 3 removed`.
pub(crate) fn progress(outcome: &Outcome<'_>) -> String {
    if outcome.touched() == 0 && outcome.cleared.is_empty() {
        return "no unit of this model is on record".to_owned();
    }
    if outcome.touched() == 0 {
        return "no unit on record is touched".to_owned();
    }
    let mut text = format!("{} of {} done", outcome.count(How::Done), outcome.touched());
    let _ = write!(text, ", {} certain still in place, {} possible", outcome.certain.len(), outcome.possible.len());
    match outcome.count(How::Removed) {
        0 => {}
        removed => {
            let _ = write!(text, ", {removed} removed");
        }
    }
    text
}

fn touched_text(out: &mut String, heading: &str, fleet: &Fleet, list: &[Touched], width: usize) {
    let _ = writeln!(out, "\n{heading}");
    for touched in list {
        let life = &fleet.lives[touched.at];
        line(out, &life.name(), 2, width);
        for place in places(life, fleet.on) {
            line(out, &place, 4, width);
        }
        if let Some(since) = touched.isolated {
            line(out, &format!("left isolated{}", since.map_or(String::new(), |day| format!(", fault of {day}"))), 4, width);
        }
        for why in &touched.why {
            line(out, why, 4, width);
        }
        for doubt in &life.doubts {
            // What the list says of a missing serial or model is not said twice.
            if !matches!(doubt, Doubt::NoSerial | Doubt::Placeholder(_) | Doubt::NoModel) {
                line(out, &format!("doubt: {}", doubt_words(doubt)), 4, width);
            }
        }
        if let Some(event) = life.entry() {
            line(out, &format!("{}:{}", event.file, event.line), 4, width);
        }
    }
}

pub(crate) fn cleared_words(life: &Life, why: &str) -> String {
    let place = life.last_stay().map_or(String::new(), |stay| format!(" ({})", at(stay)));
    format!("{}{place}: {why}", life.name())
}

#[derive(Serialize)]
struct UnitsReport<'a> {
    format: u32,
    on: Date,
    units: Vec<UnitJson<'a>>,
    not_read: &'a [String],
    circuits_without_unit: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    rates: Option<RatesJson<'a>>,
}

#[derive(Serialize)]
struct UnitJson<'a> {
    serial: Option<&'a str>,
    model: Option<&'a str>,
    kind: Option<&'a str>,
    state: &'static str,
    places: Vec<PlaceJson<'a>>,
    removed: Option<Date>,
    kept_until: Option<Date>,
    firmware: Option<&'a str>,
    firmware_seen: Option<Date>,
    warranty_until: Option<Date>,
    doubts: Vec<DoubtJson>,
    faults: Vec<FaultJson<'a>>,
    history: Vec<EventJson<'a>>,
}

#[derive(Serialize)]
struct FaultJson<'a> {
    fault: String,
    date: Option<Date>,
    laid_to: &'a str,
    open: bool,
    left: Option<&'a str>,
    file: &'a str,
    line: usize,
}

#[derive(Serialize)]
struct PlaceJson<'a> {
    site: &'a str,
    circuit: Option<&'a str>,
    since: Option<Date>,
    until: Option<Date>,
    fitted: bool,
    open_pen: Option<&'a str>,
}

#[derive(Serialize)]
struct DoubtJson {
    kind: &'static str,
    message: String,
}

#[derive(Serialize)]
struct EventJson<'a> {
    event: &'a str,
    site: &'a str,
    visit: &'a str,
    date: Option<Date>,
    circuit: Option<&'a str>,
    finished: bool,
    file: &'a str,
    line: usize,
}

#[derive(Serialize)]
struct RatesJson<'a> {
    causes: Vec<&'a str>,
    models: Vec<RateJson<'a>>,
    without_model: usize,
    pairs: Vec<PairJson<'a>>,
}

#[derive(Serialize)]
struct RateJson<'a> {
    model: &'a str,
    kind: Option<&'a str>,
    units: usize,
    in_place: usize,
    unit_years: f64,
    faults: u32,
    faults_not_counted: u32,
    per_100_unit_years: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
}

#[derive(Serialize)]
struct PairJson<'a> {
    first: &'a str,
    second: &'a str,
    /// Nothing where it has no upper end, or where neither model has a fault.
    ratio: Option<f64>,
    ratio_low: f64,
    ratio_high: Option<f64>,
    confidence: f64,
    p: f64,
    says: &'static str,
}

/// One JSON object, version 1.
pub fn units_json(list: &UnitList<'_>) -> String {
    let report = UnitsReport {
        format: 1,
        on: list.fleet.on,
        units: list.lives.iter().map(|at| unit_json(list.fleet, *at)).collect(),
        not_read: &list.fleet.unread,
        circuits_without_unit: &list.fleet.bare,
        rates: list.rates.as_ref().map(rates_json),
    };
    to_text(&report)
}

/// Nothing in these reports can fail to be written as JSON: strings, finite numbers and lists of them.
fn to_text(report: &impl Serialize) -> String {
    let mut text = serde_json::to_string_pretty(report).unwrap_or_default();
    text.push('\n');
    text
}

fn unit_json(fleet: &Fleet, at: usize) -> UnitJson<'_> {
    let life = &fleet.lives[at];
    let removal = life.removal();
    UnitJson {
        serial: life.serial.as_deref(),
        model: life.model.as_deref(),
        kind: life.kind.map(|kind| kind.as_str()),
        state: if life.is_in_place() { "in-place" } else { "removed" },
        places: life.stays.iter().map(place_json).collect(),
        removed: removal.and_then(|event| event.day),
        kept_until: removal.and_then(|event| event.says.kept_until),
        firmware: life.firmware().map(|(firmware, _)| firmware),
        firmware_seen: life.firmware().and_then(|(_, event)| event.day),
        warranty_until: life.warranty_until(),
        doubts: life.doubts.iter().map(|doubt| DoubtJson { kind: doubt.as_str(), message: doubt_words(doubt) }).collect(),
        faults: fleet.faults_of(at).map(fault_json).collect(),
        history: life.events.iter().map(event_json).collect(),
    }
}

fn place_json(stay: &Stay) -> PlaceJson<'_> {
    PlaceJson {
        site: &stay.site,
        circuit: stay.circuit.as_deref(),
        since: stay.since,
        until: stay.until,
        fitted: stay.fitted,
        open_pen: stay.open_pen.map(|measure| measure.as_str()),
    }
}

fn fault_json(fault: &FaultStory) -> FaultJson<'_> {
    FaultJson {
        fault: format!("{}/{}#{}", fault.site, fault.visit, fault.id),
        date: fault.day,
        laid_to: fault.laid_to.as_str(),
        open: fault.open,
        left: fault.left.map(|left| left.as_str()),
        file: &fault.file,
        line: fault.line,
    }
}

fn event_json(event: &Event) -> EventJson<'_> {
    EventJson {
        event: if event.by_circuit { "named" } else { event.says.event.map_or("listed", |event| event.as_str()) },
        site: &event.site,
        visit: &event.visit,
        date: event.day,
        circuit: event.says.circuit.as_deref(),
        finished: event.settled,
        file: &event.file,
        line: event.line,
    }
}

fn rates_json(rates: &Rates) -> RatesJson<'_> {
    let name = |at: usize| rates.models.get(at).map_or("", |model| model.model.as_str());
    RatesJson {
        causes: rates.causes.iter().map(|cause| cause.as_str()).collect(),
        models: rates
            .models
            .iter()
            .map(|model| RateJson {
                model: &model.model,
                kind: model.kind.map(|kind| kind.as_str()),
                units: model.units,
                in_place: model.in_place,
                unit_years: model.unit_years,
                faults: model.faults,
                faults_not_counted: model.left_out,
                per_100_unit_years: model.rate.map(|(rate, _)| rate * 100.0),
                low: model.rate.map(|(_, interval)| interval.low * 100.0),
                high: model.rate.map(|(_, interval)| interval.high * 100.0),
            })
            .collect(),
        without_model: rates.without_model,
        pairs: rates
            .pairs
            .iter()
            .map(|pair| PairJson {
                first: name(pair.first),
                second: name(pair.second),
                ratio: pair.comparison.ratio.filter(|ratio| ratio.is_finite()),
                ratio_low: pair.comparison.interval.low,
                ratio_high: Some(pair.comparison.interval.high).filter(|high| high.is_finite()),
                confidence: pair.confidence,
                p: pair.comparison.p,
                says: pair.says.as_str(),
            })
            .collect(),
    }
}

#[derive(Serialize)]
struct RecallReport<'a> {
    format: u32,
    on: Date,
    notice: &'a str,
    model: Option<&'a str>,
    advice: Option<&'a str>,
    done: usize,
    touched: usize,
    certain: Vec<TouchedJson<'a>>,
    possible: Vec<TouchedJson<'a>>,
    cleared: Vec<ClearedJson<'a>>,
    ticked_off_unknown: &'a [String],
    not_complete: &'a [String],
    circuits_without_unit: &'a [String],
}

#[derive(Serialize)]
struct TouchedJson<'a> {
    unit: UnitJson<'a>,
    isolated: bool,
    why: &'a [String],
}

#[derive(Serialize)]
struct ClearedJson<'a> {
    unit: UnitJson<'a>,
    how: &'static str,
    why: &'a str,
}

/// A notice laid over the book, as one JSON object, version 1.
pub fn recall_json(fleet: &Fleet, outcome: &Outcome<'_>) -> String {
    let report = RecallReport {
        format: 1,
        on: fleet.on,
        notice: &outcome.notice.id,
        model: outcome.notice.data.model.as_deref(),
        advice: outcome.notice.data.advice.as_deref(),
        done: outcome.count(How::Done),
        touched: outcome.touched(),
        certain: outcome.certain.iter().map(|touched| touched_json(fleet, touched)).collect(),
        possible: outcome.possible.iter().map(|touched| touched_json(fleet, touched)).collect(),
        cleared: outcome
            .cleared
            .iter()
            .map(|cleared| ClearedJson { unit: unit_json(fleet, cleared.at), how: cleared.how.as_str(), why: &cleared.why })
            .collect(),
        ticked_off_unknown: &outcome.unknown_ticks,
        not_complete: &outcome.gaps,
        circuits_without_unit: &fleet.bare,
    };
    to_text(&report)
}

fn touched_json<'a>(fleet: &'a Fleet, touched: &'a Touched) -> TouchedJson<'a> {
    TouchedJson { unit: unit_json(fleet, touched.at), isolated: touched.isolated.is_some(), why: &touched.why }
}
