//! A panel as lines of plain ASCII, so that it reads the same in a pipe, on a telephone and in an old terminal.

use super::{Panel, Shape, scale_label, span_of_values, span_of_years, year};

/// Rows of the field that marks stand in.
const ROWS: usize = 9;
/// Fewest and most columns of it.
const LEAST: usize = 20;
const MOST: usize = 64;

/// The panel in at most `width` columns: title, field, years, and what the marks mean.
pub fn text(panel: &Panel, width: usize) -> Vec<String> {
    let (first, last) = span_of_years(panel);
    let (low, high) = span_of_values(panel);
    let label = |value: f64| scale_label(value, high - low);
    let margin = [low, high].iter().map(|value| label(*value).len()).max().unwrap_or(0);
    let columns = width.saturating_sub(margin + 2).clamp(LEAST, MOST);
    let row_of = |value: f64| ROWS - 1 - (((value - low) / (high - low) * (ROWS - 1) as f64).round() as usize).min(ROWS - 1);
    let column_of = |at: f64| (((at - first) / (last - first) * (columns - 1) as f64).round() as usize).min(columns - 1);
    let mut field = vec![vec![' '; columns]; ROWS];
    if let Some(limit) = &panel.limit {
        field[row_of(limit.value)].fill('-');
    }
    for mark in &panel.marks {
        let spot = &mut field[row_of(mark.value)][column_of(year(mark.day))];
        let sign = match mark.shape {
            Shape::Point => '*',
            Shape::Above => '^',
            Shape::Below => 'v',
            Shape::Apart => 'o',
        };
        *spot = match *spot {
            ' ' | '-' => sign,
            '2'..='8' => char::from_digit(spot.to_digit(10).unwrap_or(8) + 1, 10).unwrap_or('9'),
            _ => '2',
        };
    }
    let mut lines = vec![panel.title.clone()];
    for (row, spots) in field.iter().enumerate() {
        let value = high - (high - low) * row as f64 / (ROWS - 1) as f64;
        let scale = if row % 4 == 0 { label(value) } else { String::new() };
        let spots: String = spots.iter().collect();
        lines.push(format!("{scale:>margin$} |{}", spots.trim_end()));
    }
    lines.push(format!("{:margin$} +{}", "", "-".repeat(columns)));
    lines.push(format!("{:margin$}  {}", "", years(first, last, columns, column_of)));
    let is_crowded = field.iter().flatten().any(char::is_ascii_digit);
    lines.extend(legend(panel, is_crowded).into_iter().map(|words| format!("{:margin$}  {words}", "")));
    lines
}

/// The years under the field, each where it begins.
fn years(first: f64, last: f64, columns: usize, column_of: impl Fn(f64) -> usize) -> String {
    let mut line = String::new();
    for whole in first.ceil() as i32..=last.floor() as i32 {
        let column = column_of(f64::from(whole));
        if column + 5 <= columns && (line.is_empty() || column > line.len()) {
            line = format!("{line:column$}|{whole}");
        }
    }
    if line.is_empty() {
        // All within one year.
        line = format!("{}", first.floor() as i32);
    }
    line
}

/// What the marks mean, only of those that are there.
fn legend(panel: &Panel, is_crowded: bool) -> Vec<String> {
    let has = |shape: Shape| panel.marks.iter().any(|mark| mark.shape == shape);
    let shapes = [(Shape::Above, "^ more than shown"), (Shape::Below, "v less than shown"), (Shape::Apart, "o no point of the trend")];
    let shapes = shapes.into_iter().filter(|(shape, _)| has(*shape)).map(|(_, words)| words.to_owned());
    let crowd = is_crowded.then(|| "2, 3... so many in one place".to_owned());
    panel.limit.iter().map(|limit| format!("- {}", limit.label)).chain(shapes).chain(crowd).collect()
}
