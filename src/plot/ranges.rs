//! Estimates with their intervals as dots and whiskers, one under another, as one SVG.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::svg::{BLUE, Drawn, INK, PALE, WIDTH, with_words};

/// Height of a row and of what stands around the rows, pixels.
const ROW: u32 = 44;
const AROUND: u32 = 96;
/// Width of the names, pixels.
const NAMES: u32 = 170;
/// Letters of a name that fit into it.
const LETTERS: usize = 22;
/// How many times the middle interval's end the axis goes, so that one interval of little evidence does not press the others together.
const ROOM: f64 = 3.0;

/// Estimates beside one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranges {
    /// What they are; the title that a screen reader says.
    pub title: String,
    /// The same in words, for who cannot see it.
    pub description: String,
    /// The quantity with its unit, for the axis.
    pub quantity: String,
    /// The estimates.
    pub rows: Vec<Range>,
}

/// An estimate with its interval.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// Of what it is.
    pub name: String,
    /// The estimate.
    pub value: f64,
    /// The interval's lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// The figures in words.
    pub words: String,
}

/// The picture; `mark` goes before the ids in it. An error where the drawing library refuses.
pub fn ranges(figure: &Ranges, mark: &str) -> Result<String, String> {
    let mut drawn = String::new();
    {
        let height = ROW * figure.rows.len() as u32 + AROUND;
        let root = SVGBackend::with_string(&mut drawn, (WIDTH, height)).into_drawing_area();
        draw(figure, &root).map_err(|error| error.to_string())?;
        root.present().map_err(|error| error.to_string())?;
    }
    Ok(with_words(&drawn, &figure.title, &figure.description, mark))
}

fn draw(figure: &Ranges, root: &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>) -> Drawn {
    root.fill(&WHITE)?;
    let end = end_of_axis(&figure.rows);
    let words = |size: u32| ("sans-serif", size).into_font().color(&INK);
    let count = figure.rows.len() as f64;
    let mut chart = ChartBuilder::on(root)
        .caption(&figure.title, words(16))
        .margin(12)
        .margin_right(24)
        .x_label_area_size(38)
        .y_label_area_size(NAMES)
        .build_cartesian_2d(0.0..end, 0.0..count)?;
    chart
        .configure_mesh()
        .disable_y_mesh()
        .bold_line_style(PALE)
        .light_line_style(TRANSPARENT)
        .axis_style(INK)
        .x_labels(8)
        .y_labels(0)
        .x_desc(&figure.quantity)
        .label_style(words(12))
        .axis_desc_style(words(13))
        .x_label_formatter(&|value| super::scale_label(*value, end))
        .draw()?;
    for (index, row) in figure.rows.iter().enumerate() {
        let at = count - index as f64 - 0.6;
        let whisker = BLUE.stroke_width(2);
        chart.draw_series([PathElement::new(vec![(row.low.min(end), at), (row.high.min(end), at)], whisker)])?;
        let cap = |value: f64| EmptyElement::at((value, at)) + PathElement::new(vec![(0, -6), (0, 6)], whisker);
        chart.draw_series([cap(row.low.min(end))])?;
        if row.high <= end {
            chart.draw_series([cap(row.high)])?;
        } else {
            let arrow = Polygon::new(vec![(-9, -6), (-9, 6), (1, 0)], BLUE.filled());
            chart.draw_series([EmptyElement::at((end, at)) + arrow])?;
        }
        chart.draw_series([Circle::new((row.value.min(end), at), 5, BLUE.filled())])?;
        let (left, middle) = chart.backend_coord(&(0.0, at));
        let name: String = if row.name.chars().count() > LETTERS {
            row.name.chars().take(LETTERS - 1).chain(['\u{2026}']).collect()
        } else {
            row.name.clone()
        };
        root.draw(&Text::new(name, (left - 10, middle), words(13).pos(Pos::new(HPos::Right, VPos::Center))))?;
        root.draw(&Text::new(row.words.clone(), (left + 4, middle - 9), words(12).pos(Pos::new(HPos::Left, VPos::Bottom))))?;
    }
    Ok(())
}

/// Where the axis ends: at the last interval's end, or where what lies beyond says little. An arrow shows that an interval goes on.
fn end_of_axis(rows: &[Range]) -> f64 {
    let mut ends: Vec<f64> = rows.iter().map(|row| row.high).filter(|high| high.is_finite()).collect();
    ends.sort_unstable_by(f64::total_cmp);
    let last = ends.last().copied().unwrap_or(1.0);
    let middle = ends.get(ends.len().saturating_sub(1) / 2).copied().unwrap_or(1.0);
    let values = rows.iter().map(|row| row.value).fold(0.0, f64::max);
    let end = last.min((middle * ROOM).max(values * 1.1));
    if end > 0.0 { end * 1.04 } else { 1.0 }
}
