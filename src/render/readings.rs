//! A circuit over the years: the last readings first, then the table, what is known, the trends and the plots; and as JSON.

use serde::Serialize;

use super::history::{Page, heading_words};
use crate::history::{Cell, CircuitStory, Row, figure, short, trend_words};
use crate::plot;
use crate::record::{ReadingKey, Reads};
use crate::rules::instruments::function_for;

/// Fewest points of a series that is plotted.
pub const PLOTTED: usize = 3;

/// A circuit's story for people.
pub fn circuit_story(story: &CircuitStory, width: usize, plots: bool) -> String {
    let mut page = Page::new(width);
    let serves = if story.serves.is_empty() { String::new() } else { format!(": {}", story.serves) };
    page.line(0, 2, &format!("{} {}{serves}", story.site, story.id));
    if story.columns.is_empty() {
        page.line(0, 2, "no reading is recorded");
    } else {
        last_readings(&mut page, story);
    }
    if story.rows.len() > 1 {
        page.gap();
        table(&mut page, story);
    }
    notes(&mut page, story);
    if !story.known.is_empty() {
        page.gap();
        page.line(0, 2, "what is known, and since when");
        for fact in &story.known {
            let since = fact.since.map(|day| format!(", since {day}")).unwrap_or_default();
            page.placed(2, 4, &format!("{}: {}{since}", fact.name, fact.words), &fact.at);
        }
    }
    let trends: Vec<(ReadingKey, String)> = story.series.iter().filter_map(|series| Some((series.key, trend_words(series)?))).collect();
    if !trends.is_empty() {
        page.gap();
        page.line(0, 2, "over the years");
        for (key, words) in trends {
            page.line(2, 4, &format!("{}: {words}", short(key)));
        }
    }
    if plots {
        for panel in figure(story, PLOTTED).panels {
            page.gap();
            for line in plot::text(&panel, width) {
                page.out.push_str(&super::visible(&line));
                page.out.push('\n');
            }
        }
    }
    if !story.faults.is_empty() || !story.units.is_empty() {
        page.gap();
    }
    story.units.iter().for_each(|entry| page.entry(0, entry, true));
    story.faults.iter().for_each(|fault| page.fault(0, fault));
    page.out
}

/// Each reading as it was last taken: the answer to what was read last time, and with which tester.
fn last_readings(page: &mut Page, story: &CircuitStory) {
    page.line(0, 2, "last read");
    // What was read before the circuit was installed was read on another.
    let installed = story.rows.iter().position(|row| row.is_new).map_or(story.rows.len(), |index| index + 1);
    let rows = &story.rows[..installed];
    if rows.iter().all(|row| row.cells.is_empty()) {
        page.line(2, 4, "nothing since the circuit was installed");
    }
    for key in &story.columns {
        let last = rows.iter().find_map(|row| Some((row, row.cells.get(key).filter(|cell| cell.written.is_some())?)));
        let Some((row, cell)) = last else { continue };
        let unit = if cell.figure.is_some() || *key == ReadingKey::IrTestV { key.unit() } else { "" };
        let with = if cell.instruments.is_empty() { String::new() } else { format!(" with {}", cell.instruments.join(", ")) };
        let remark = cell.remark.map(|remark| format!(" ({remark})")).unwrap_or_default();
        let limit = cell.bound.as_ref().map(|bound| {
            let past = cell.figure.is_some_and(|figure| bound.is_failed_by(&figure));
            let past = match (past, bound.is_minimum) {
                (false, _) => "",
                (true, false) => "OVER the ",
                (true, true) => "UNDER the ",
            };
            format!("; {past}{} then", bound.words())
        });
        let value = [shown(*key, cell.written.as_deref().unwrap_or_default()), unit.to_owned()].join(" ");
        let words = format!("{}: {} on {}{with}{remark}{}", short(*key), value.trim_end(), day(row), limit.unwrap_or_default());
        page.placed(2, 4, &words, &cell.at);
    }
}

fn day(row: &Row) -> String {
    row.heading.day.map_or_else(|| row.heading.visit.clone(), |day| day.to_string())
}

/// A reading as it is written; pilot checks in a word.
pub(crate) fn shown(key: ReadingKey, written: &str) -> String {
    if key != ReadingKey::Pilot {
        return written.to_owned();
    }
    let failing: Vec<&str> = written.split(", ").filter(|check| check.ends_with("fails")).collect();
    if failing.is_empty() { "works".to_owned() } else { failing.join(", ") }
}

/// A line of the table: what it holds, and a cell for each visit.
struct Column {
    name: &'static str,
    unit: &'static str,
    cells: Vec<String>,
}

/// The readings with their limits, each a column over the visits.
fn columns(story: &CircuitStory) -> Vec<Column> {
    let mut columns = Vec::new();
    for key in &story.columns {
        let cells = story.rows.iter().map(|row| {
            let Some(cell) = row.cells.get(key) else { return String::new() };
            let Some(written) = &cell.written else { return "-".to_owned() };
            let past = cell.bound.as_ref().zip(cell.figure).is_some_and(|(bound, figure)| bound.is_failed_by(&figure));
            let mark = cell.remark.map_or("", |_| "*");
            format!("{}{mark}{}", shown(*key, written), if past { "!" } else { "" })
        });
        columns.push(Column { name: short(*key), unit: key.unit(), cells: cells.collect() });
        if *key == ReadingKey::Zs {
            let limit = |row: &Row| {
                let cell = row.cells.get(key).filter(|cell| cell.written.is_some());
                cell.and_then(|cell| cell.bound.as_ref()).map_or(String::new(), |bound| bound.limit.to_string().replace(" ohm", ""))
            };
            let cells: Vec<String> = story.rows.iter().map(limit).collect();
            if cells.iter().any(|cell| !cell.is_empty()) {
                columns.push(Column { name: "Zs limit", unit: "ohm", cells });
            }
        }
    }
    columns
}

/// The table: one row a visit where the screen is wide enough, else one row a reading, else visit under visit.
fn table(page: &mut Page, story: &CircuitStory) {
    let columns = columns(story);
    let days: Vec<String> = story.rows.iter().map(day).collect();
    let day_width = days.iter().map(|day| day.chars().count()).max().unwrap_or(0);
    let width_of = |column: &Column| {
        let cells = column.cells.iter().map(|cell| cell.chars().count());
        cells.chain([column.name.len(), column.unit.len()]).max().unwrap_or(0)
    };
    let widths: Vec<usize> = columns.iter().map(width_of).collect();
    let label = |column: &Column| format!("{} {}", column.name, column.unit).trim_end().to_owned();
    let label_width = columns.iter().map(|column| label(column).len()).max().unwrap_or(0);
    let cell_width = columns.iter().flat_map(|column| &column.cells).map(|cell| cell.chars().count()).chain([day_width]).max().unwrap_or(0);
    let mut put = |cells: Vec<String>| {
        let line = super::visible(&cells.join("  "));
        page.out.push_str(line.trim_end());
        page.out.push('\n');
    };
    if day_width + widths.iter().map(|width| width + 2).sum::<usize>() <= page.width {
        for head in [|column: &Column| column.name, |column: &Column| column.unit] {
            let heads = columns.iter().zip(&widths).map(|(column, width)| format!("{:>width$}", head(column)));
            put(std::iter::once(" ".repeat(day_width)).chain(heads).collect());
        }
        for (index, day) in days.iter().enumerate() {
            let cells = columns.iter().zip(&widths).map(|(column, width)| format!("{:>width$}", column.cells[index]));
            put(std::iter::once(format!("{day:<day_width$}")).chain(cells).collect());
        }
    } else if label_width + days.len() * (cell_width + 2) <= page.width {
        let heads = days.iter().map(|day| format!("{day:>cell_width$}"));
        put(std::iter::once(" ".repeat(label_width)).chain(heads).collect());
        for column in &columns {
            let cells = column.cells.iter().map(|cell| format!("{cell:>cell_width$}"));
            put(std::iter::once(format!("{:<label_width$}", label(column))).chain(cells).collect());
        }
    } else {
        for (index, row) in story.rows.iter().enumerate() {
            page.line(0, 2, &heading_words(&row.heading));
            let read = columns.iter().filter(|column| !column.cells[index].is_empty());
            let read: Vec<String> =
                read.map(|column| [column.name, &column.cells[index], column.unit].join(" ").trim_end().to_owned()).collect();
            page.line(2, 2, &read.join(", "));
        }
    }
}

/// What the table's marks mean, the instruments of each visit, and why readings are not there.
fn notes(page: &mut Page, story: &CircuitStory) {
    let cells = || story.rows.iter().flat_map(|row| row.cells.values());
    let is_table = story.rows.len() > 1;
    let mut remarks: Vec<&str> = cells().filter_map(|cell| cell.remark).collect();
    remarks.sort_unstable();
    remarks.dedup();
    let past = cells().any(|cell| cell.bound.as_ref().zip(cell.figure).is_some_and(|(bound, figure)| bound.is_failed_by(&figure)));
    if is_table && !remarks.is_empty() {
        page.line(0, 2, &format!("* {}", remarks.join(", or ")));
    }
    if is_table && past {
        page.line(0, 2, "! past the limit of its day");
    }
    if is_table {
        page.gap();
        page.line(0, 2, "taken with");
    }
    for row in story.rows.iter().filter(|_| is_table) {
        let mut sets: Vec<(&[String], Vec<&str>)> = Vec::new();
        for (key, cell) in row.cells.iter().filter(|(_, cell)| !cell.instruments.is_empty()) {
            let function = function_for(*key).map_or("", Reads::as_str);
            match sets.iter_mut().find(|(instruments, _)| *instruments == cell.instruments.as_slice()) {
                Some((_, functions)) if functions.contains(&function) => {}
                Some((_, functions)) => functions.push(function),
                None => sets.push((&cell.instruments, vec![function])),
            }
        }
        let sets: Vec<String> = sets.iter().map(|(with, readings)| format!("{} ({})", with.join(" or "), readings.join(", "))).collect();
        let is_read = |(key, cell): (&ReadingKey, &Cell)| cell.written.is_some() && !cell.is_calculated() && function_for(*key).is_some();
        if sets.is_empty() && !row.is_new && !row.cells.iter().any(is_read) {
            continue;
        }
        let with = if !row.cells.iter().any(is_read) {
            "nothing read".to_owned()
        } else if sets.is_empty() {
            "no instrument named that reads these".to_owned()
        } else {
            sets.join(", ")
        };
        let new = if row.is_new { "; circuit installed" } else { "" };
        page.placed(2, 4, &format!("{}: {with}{new}", day(row)), &row.instruments_at);
    }
    let not_taken = || story.rows.iter().flat_map(|row| row.cells.iter().map(move |(key, cell)| (row, key, cell)));
    if not_taken().any(|(_, _, cell)| cell.not_taken.is_some()) {
        page.gap();
        page.line(0, 2, "not taken");
    }
    for (row, key, cell) in not_taken() {
        if let Some(why) = &cell.not_taken {
            let why = if why.is_empty() { "no reason given" } else { why };
            page.placed(2, 4, &format!("{} {}: {why}", day(row), short(*key)), &cell.at);
        }
    }
}

#[derive(Serialize)]
struct Report<'a> {
    format: u32,
    site: &'a str,
    circuit: &'a str,
    serves: &'a str,
    visits: Vec<Visit<'a>>,
    series: Vec<Line<'a>>,
}

#[derive(Serialize)]
struct Visit<'a> {
    visit: &'a str,
    date: Option<String>,
    kind: Option<&'a str>,
    status: Option<&'a str>,
    new: bool,
    file: &'a str,
    readings: Vec<Reading<'a>>,
}

#[derive(Serialize)]
struct Reading<'a> {
    reading: &'a str,
    unit: &'a str,
    written: Option<&'a str>,
    value: Option<f64>,
    scale: Option<&'static str>,
    remark: Option<&'a str>,
    not_taken: Option<&'a str>,
    instruments: &'a [String],
    limit: Option<f64>,
    limit_is: Option<&'static str>,
    limit_source: Option<&'a str>,
    line: usize,
}

#[derive(Serialize)]
struct Line<'a> {
    reading: &'a str,
    unit: &'a str,
    points: Vec<PointOf>,
    left_out: usize,
    within_scatter: Option<bool>,
    trend: Option<TrendOf>,
}

#[derive(Serialize)]
struct PointOf {
    date: String,
    years: f64,
    value: f64,
}

#[derive(Serialize)]
struct TrendOf {
    slope_per_year: f64,
    intercept: f64,
    interval_95: Option<[f64; 2]>,
    kendall_tau_b: Option<f64>,
    kendall_p_exact: Option<f64>,
    enough_to_call: bool,
}

/// The table and the series as one JSON object, version 1: the newest visit first, the points of a series oldest first.
pub fn circuit_json(story: &CircuitStory) -> String {
    let report = Report {
        format: 1,
        site: &story.site,
        circuit: &story.id,
        serves: &story.serves,
        visits: story.rows.iter().map(visit).collect(),
        series: story.series.iter().map(line).collect(),
    };
    // Nothing in the report can fail to be written as JSON: strings, finite numbers and lists of them.
    let mut text = serde_json::to_string_pretty(&report).unwrap_or_default();
    text.push('\n');
    text
}

fn visit(row: &Row) -> Visit<'_> {
    let readings = row.cells.iter().map(|(key, cell)| Reading {
        reading: key.as_str(),
        unit: key.unit(),
        written: cell.written.as_deref(),
        value: cell.figure.map(|figure| figure.value),
        scale: cell.figure.map(|figure| crate::export::scale_of(&figure)),
        remark: cell.remark,
        not_taken: cell.not_taken.as_deref(),
        instruments: &cell.instruments,
        limit: cell.bound.as_ref().map(|bound| bound.limit.value),
        limit_is: cell.bound.as_ref().map(|bound| if bound.is_minimum { "minimum" } else { "maximum" }),
        limit_source: cell.bound.as_ref().map(|bound| bound.limit.source.as_ref()),
        line: cell.at.line,
    });
    Visit {
        visit: &row.heading.visit,
        date: row.heading.day.map(|day| day.to_string()),
        kind: row.heading.kind.map(|kind| kind.as_str()),
        status: row.heading.status.map(|status| status.as_str()),
        new: row.is_new,
        file: &row.heading.at.file,
        readings: readings.collect(),
    }
}

fn line(series: &crate::history::Series) -> Line<'_> {
    let points = series.points.iter();
    Line {
        reading: series.key.as_str(),
        unit: series.key.unit(),
        points: points.map(|point| PointOf { date: point.day.to_string(), years: point.years, value: point.reading.value }).collect(),
        left_out: series.left_out.len(),
        within_scatter: series.within_scatter,
        trend: series.trend.map(|trend| TrendOf {
            slope_per_year: trend.slope,
            intercept: trend.intercept,
            interval_95: trend.interval.holds.then_some([trend.interval.low, trend.interval.high]),
            kendall_tau_b: trend.tau_b,
            kendall_p_exact: trend.p,
            enough_to_call: trend.can_be_called(),
        }),
    }
}
