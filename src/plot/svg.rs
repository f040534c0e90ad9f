//! Panels as one SVG, the same bytes for the same figures.

use std::fmt::Write;
use std::ops::Range;

use plotters::coord::Shift;
use plotters::coord::ranged1d::{KeyPointHint, NoDefaultFormatting, ValueFormatter};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::{Figure, Mark, Panel, Shape, scale_label, span_of_values, span_of_years, year};

/// Width of the picture and height of a panel, pixels.
pub(super) const WIDTH: u32 = 760;
const HEIGHT: u32 = 280;
/// Colours that people with any kind of colour vision tell apart (the set of Okabe and Ito); shapes and dashes say the same again.
pub(super) const BLUE: RGBColor = RGBColor(0, 114, 178);
const VERMILION: RGBColor = RGBColor(213, 94, 0);
const GREEN: RGBColor = RGBColor(0, 158, 115);
pub(super) const INK: RGBColor = RGBColor(34, 34, 34);
pub(super) const PALE: RGBColor = RGBColor(222, 222, 222);
/// Pixels between two labels of values that keep out of each other's way.
const LABEL_WIDTH: f64 = 46.0;

/// The figure as SVG; an error where the drawing library refuses it.
pub fn svg(figure: &Figure) -> Result<String, String> {
    svg_within(figure, "")
}

/// The same for a page that has other pictures: `mark` goes before the ids in it.
pub fn svg_within(figure: &Figure, mark: &str) -> Result<String, String> {
    let height = HEIGHT * figure.panels.len().max(1) as u32;
    let mut drawn = String::new();
    {
        let root = SVGBackend::with_string(&mut drawn, (WIDTH, height)).into_drawing_area();
        root.fill(&WHITE).map_err(|error| error.to_string())?;
        for (panel, area) in figure.panels.iter().zip(root.split_evenly((figure.panels.len().max(1), 1))) {
            draw(panel, &area).map_err(|error| error.to_string())?;
        }
        root.present().map_err(|error| error.to_string())?;
    }
    Ok(with_words(&drawn, &figure.title, &figure.description, mark))
}

pub(super) type Drawn = Result<(), Box<dyn std::error::Error>>;

fn draw(panel: &Panel, area: &DrawingArea<SVGBackend<'_>, Shift>) -> Drawn {
    let (first, last) = span_of_years(panel);
    let (low, high) = span_of_values(panel);
    let words = |size: u32| ("sans-serif", size).into_font().color(&INK);
    let line = panel.line.as_ref().map(|line| format!("; line: {}", line.label)).unwrap_or_default();
    let title = format!("{}{line}", panel.title);
    let mut chart = ChartBuilder::on(area)
        .caption(title, words(16))
        .margin(12)
        .margin_right(24)
        .x_label_area_size(38)
        .y_label_area_size(64)
        .build_cartesian_2d(Years { first, last }, low..high)?;
    chart
        .configure_mesh()
        .disable_x_mesh()
        .bold_line_style(PALE)
        .light_line_style(TRANSPARENT)
        .axis_style(INK)
        .x_labels(6)
        .y_labels(5)
        .x_desc("day of the test")
        .y_desc(&panel.quantity)
        .label_style(words(12))
        .axis_desc_style(words(13))
        .y_label_formatter(&|value| scale_label(*value, high - low))
        .draw()?;
    if let Some(limit) = &panel.limit {
        let ends = [(first, limit.value), (last, limit.value)];
        chart.draw_series(DashedLineSeries::new(ends, 8, 5, VERMILION.stroke_width(2)))?;
        // Above the line, or below it where the picture ends.
        let below = limit.value > low + (high - low) * 0.85;
        let at = (first + (last - first) * 0.01, limit.value);
        let style = words(12).pos(Pos::new(HPos::Left, if below { VPos::Top } else { VPos::Bottom }));
        chart.draw_series([EmptyElement::at(at) + Text::new(limit.label.clone(), (0, if below { 5 } else { -5 }), style)])?;
    }
    if let Some(line) = &panel.line {
        let ends = [(year(line.from.0), line.from.1), (year(line.to.0), line.to.1)];
        chart.draw_series(LineSeries::new(ends, GREEN.stroke_width(2)))?;
    }
    for mark in &panel.marks {
        let at = (year(mark.day), mark.value);
        match mark.shape {
            Shape::Point => chart.draw_series([Circle::new(at, 5, BLUE.filled())])?,
            Shape::Above => chart.draw_series([TriangleMarker::new(at, 7, BLUE.filled())])?,
            Shape::Below => chart.draw_series([EmptyElement::at(at) + Polygon::new(vec![(-7, -4), (7, -4), (0, 7)], BLUE.filled())])?,
            Shape::Apart => chart.draw_series([Circle::new(at, 5, BLUE.stroke_width(2))])?,
        };
    }
    let pixel = |at: f64| (at - first) / (last - first) * f64::from(WIDTH - 112);
    for (index, mark) in panel.marks.iter().enumerate() {
        let at = (year(mark.day), mark.value);
        // Of two days close to one another, the label of the higher figure stands above it and that of the lower below.
        let is_under = |(other_index, other): (usize, &Mark)| {
            let is_close = (pixel(year(other.day)) - pixel(at.0)).abs() < LABEL_WIDTH;
            is_close && (other.value > mark.value || other.value == mark.value && other_index < index)
        };
        let has_room = mark.value - low > (high - low) * 0.1;
        let below = has_room && panel.marks.iter().enumerate().any(is_under);
        let style = words(12).pos(Pos::new(HPos::Center, if below { VPos::Top } else { VPos::Bottom }));
        chart.draw_series([EmptyElement::at(at) + Text::new(mark.label.clone(), (0, if below { 8 } else { -8 }), style)])?;
    }
    Ok(())
}

/// The axis of days, as years with a fraction, with its marks on first days of months.
struct Years {
    first: f64,
    last: f64,
}

impl Ranged for Years {
    type FormatOption = NoDefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, (from, to): (i32, i32)) -> i32 {
        from + ((value - self.first) / (self.last - self.first) * f64::from(to - from)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, _: Hint) -> Vec<f64> {
        months(self.first, self.last)
    }

    fn range(&self) -> Range<f64> {
        self.first..self.last
    }
}

impl ValueFormatter<f64> for Years {
    fn format_ext(&self, value: &f64) -> String {
        month_label(*value)
    }
}

/// The first days of months between two times, so many months apart that their labels do not touch.
fn months(first: f64, last: f64) -> Vec<f64> {
    const MOST: f64 = 8.0;
    let (from, to) = ((first * 12.0).ceil(), (last * 12.0).floor());
    let steps = [1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 60.0, 120.0];
    let step = steps.into_iter().find(|step| (to - from) / step <= MOST).unwrap_or(600.0);
    let begin = (from / step).ceil() as i64;
    let end = (to / step).floor() as i64;
    (begin..=end).map(|count| count as f64 * step / 12.0).collect()
}

/// `2024-07`, or `2024` for the first day of a year.
fn month_label(at: f64) -> String {
    let months = (at * 12.0).round() as i64;
    let (year, month) = (months.div_euclid(12), months.rem_euclid(12) + 1);
    if month == 1 { year.to_string() } else { format!("{year}-{month:02}") }
}

/// Puts the words for screen readers in, which the drawing library does not know of.
pub(super) fn with_words(drawn: &str, title: &str, description: &str, mark: &str) -> String {
    let Some(end) = drawn.find("<svg").and_then(|start| drawn[start..].find('>').map(|end| start + end)) else {
        return drawn.to_owned();
    };
    let mut out = String::with_capacity(drawn.len() + 1024);
    out.push_str(&drawn[..end]);
    let _ = write!(
        out,
        " role=\"img\" aria-labelledby=\"{mark}title {mark}desc\">\n<title id=\"{mark}title\">{}</title>\n<desc id=\"{mark}desc\">{}</desc>{}",
        escaped(title),
        escaped(description),
        &drawn[end + 1..]
    );
    out
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
