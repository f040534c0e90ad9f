//! Series of readings as pictures, and their trend in words.

use super::circuit::{ANOTHER, CALCULATED, CircuitStory, Point, Series, WITH_UNIT};
use super::short;
use crate::plot::{Figure, Level, Line, Mark, Panel, Shape};
use crate::record::{ReadingKey, Scale};
use crate::statistics::trend::{LEAST_POINTS_FOR_TEST, Trend};

/// One panel for each series that has so many points or more.
pub fn figure(story: &CircuitStory, least_points: usize) -> Figure {
    let panels: Vec<&Series> = story.series.iter().filter(|series| series.points.len() >= least_points.max(1)).collect();
    let title = match story.serves.as_str() {
        "" => format!("{} {}: readings over the years", story.site, story.id),
        serves => format!("{} {}, {serves}: readings over the years", story.site, story.id),
    };
    let described: Vec<String> = panels.iter().map(|series| described(series)).collect();
    Figure {
        title,
        description: described.join(" "),
        panels: panels.into_iter().map(|series| panel(series, &story.site, &story.id)).collect(),
    }
}

/// Each of those series as a picture of its own.
pub fn figures(story: &CircuitStory, least_points: usize) -> Vec<(ReadingKey, Figure)> {
    let drawn = story.series.iter().filter(|series| series.points.len() >= least_points.max(1));
    drawn
        .map(|series| {
            let panel = panel(series, &story.site, &story.id);
            (series.key, Figure { title: panel.title.clone(), description: described(series), panels: vec![panel] })
        })
        .collect()
}

/// A series as a panel.
pub fn panel(series: &Series, site: &str, circuit: &str) -> Panel {
    let (name, unit) = (short(series.key), series.key.unit());
    let mut marks: Vec<Mark> = series.points.iter().map(|point| mark(*point)).collect();
    for left_out in &series.left_out {
        let Some(day) = left_out.day else { continue };
        let shape = match (left_out.reading.scale, left_out.why) {
            (Scale::Above, _) => Shape::Above,
            (Scale::Below, _) => Shape::Below,
            (Scale::On, CALCULATED | WITH_UNIT | ANOTHER) => Shape::Apart,
            (Scale::On, _) => Shape::Point,
        };
        marks.push(Mark { day, value: left_out.reading.value, label: left_out.reading.to_string(), shape });
    }
    marks.sort_by_key(|mark| mark.day);
    let limit = series.bound.as_ref().map(|bound| Level { value: bound.limit.value, label: bound.words() });
    // Through figures that show no trend no line is drawn: it would be seen as one.
    let line = series.trend.filter(Trend::is_shown).and_then(|trend| {
        let (first, last) = (series.points.first()?, series.points.last()?);
        let label = format!("Theil-Sen slope {} {unit} a year", slope(series, trend.slope));
        Some(Line { from: (first.day, trend.at(first.years)), to: (last.day, trend.at(last.years)), label })
    });
    Panel { title: format!("{site} {circuit}: {name}, {unit}"), quantity: format!("{name}, {unit}"), marks, limit, line }
}

fn mark(point: Point) -> Mark {
    Mark { day: point.day, value: point.reading.value, label: point.reading.to_string(), shape: Shape::Point }
}

/// A slope with one digit more than the readings have.
fn slope(series: &Series, value: f64) -> String {
    let decimals = series.points.iter().map(|point| point.reading.decimals).max().unwrap_or(0);
    let text = format!("{value:+.*}", usize::from(decimals) + 1);
    // A rounded nought has no direction.
    if text.bytes().all(|byte| !byte.is_ascii_digit() || byte == b'0') { text[1..].to_owned() } else { text }
}

/// What a series says of a trend, in words; nothing where it has less than two figures and nothing was left out.
pub fn trend_words(series: &Series) -> Option<String> {
    let unit = series.key.unit();
    let count = series.points.len();
    let left_out = left_out_words(series);
    let (Some(first), Some(last)) = (series.points.first(), series.points.last()) else {
        return left_out.map(|left_out| format!("nothing to draw a trend through; {left_out}"));
    };
    if count < 2 {
        return left_out.map(|left_out| format!("1 figure, too few to call a trend; {left_out}"));
    }
    let by_value = |a: &&Point, b: &&Point| a.reading.value.total_cmp(&b.reading.value);
    let (low, high) = (series.points.iter().min_by(by_value)?.reading, series.points.iter().max_by(by_value)?.reading);
    let years = if first.day.0.year() == last.day.0.year() {
        first.day.0.year().to_string()
    } else {
        format!("{} to {}", first.day.0.year(), last.day.0.year())
    };
    let range = if low == high { format!("all {low} {unit}") } else { format!("{low} to {high} {unit}") };
    let mut words = format!("{count} figures {years}, {range}: ");
    match series.trend {
        Some(trend) if count >= LEAST_POINTS_FOR_TEST => {
            let is_shown = trend.is_shown();
            words.push_str(match (is_shown, trend.p, trend.slope > 0.0) {
                (_, None, _) => "no rank test (two of one day, or too many)",
                (false, ..) => "no trend shown",
                (true, _, true) => "rising",
                (true, _, false) => "falling",
            });
            words.push_str(&format!(", slope {} {unit} a year", slope(series, trend.slope)));
            if trend.interval.holds {
                words.push_str(&format!(" (95 % {} to {})", slope(series, trend.interval.low), slope(series, trend.interval.high)));
            }
            if let Some(p) = trend.p {
                words.push_str(&if p < 0.001 { ", Kendall p < 0.001".to_owned() } else { format!(", Kendall p {p:.3}") });
            }
        }
        _ => words.push_str("too few to call a trend"),
    }
    match series.within_scatter {
        Some(true) => words.push_str("; within the instruments' scatter"),
        Some(false) => words.push_str("; more apart than the instruments' scatter"),
        None => {}
    }
    if let Some(left_out) = left_out {
        words.push_str("; ");
        words.push_str(&left_out);
    }
    Some(words)
}

/// `2 left out (off the scale)`.
fn left_out_words(series: &Series) -> Option<String> {
    let mut whys: Vec<&str> = series.left_out.iter().map(|left_out| left_out.why).collect();
    let count = whys.len();
    whys.sort_unstable();
    whys.dedup();
    (count > 0).then(|| format!("{count} left out ({})", whys.join("; ")))
}

/// The panel for who cannot see it.
fn described(series: &Series) -> String {
    let points: Vec<String> = series.points.iter().map(|point| format!("{} on {}", point.reading, point.day)).collect();
    let bound = series.bound.as_ref().map(|bound| format!(" Held against: {}.", bound.words()));
    let trend = trend_words(series).map(|words| format!(" {words}."));
    let name = short(series.key);
    format!("{name} in {}: {}.{}{}", series.key.unit(), points.join(", "), bound.unwrap_or_default(), trend.unwrap_or_default())
}
