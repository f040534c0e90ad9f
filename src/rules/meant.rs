//! What was probably meant by a value that is none: said as help, and what a fix writes. Nothing is offered where two readings are possible.

use crate::record::Date;

/// What a text that is no plain number looks like.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Number {
    /// An instrument's words for off the scale.
    OffScale,
    /// A number below nought, and the same without its sign.
    BelowNought(String),
    /// A comma that may be a point or part thousands: without the comma, and with a point.
    CommaOrPoint(String, String),
    /// A number with a comma for its point, or without a nought before it.
    Plain(String),
    /// A number with a unit or a word behind it.
    WithUnit(String, String),
    /// Nothing that can be told.
    Unclear,
}

/// Reads a text that is no plain number.
pub fn number(text: &str) -> Number {
    let bare = text.trim();
    let upper = bare.to_uppercase();
    if ["OL", "O/L", "0L", "OFL", "OVER", "OVERRANGE"].contains(&upper.as_str()) || bare.ends_with('+') {
        return Number::OffScale;
    }
    let positive = bare.strip_prefix('-').filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    if let Some(positive) = positive {
        return Number::BelowNought(positive.to_owned());
    }
    let dotted = bare.replace(',', ".");
    let digits: String = dotted.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    let rest = dotted[digits.len()..].trim();
    let one_point = digits.matches('.').count() <= 1;
    if digits.is_empty() || digits == "." || !one_point || digits.ends_with('.') || rest.starts_with(|c: char| c.is_ascii_digit()) {
        return Number::Unclear;
    }
    let thousands =
        bare.split_once(',').is_some_and(|(whole, after)| whole != "0" && after.bytes().take_while(u8::is_ascii_digit).count() == 3);
    if thousands {
        return Number::CommaOrPoint(digits.replace('.', ""), digits);
    }
    let digits = if digits.starts_with('.') { format!("0{digits}") } else { digits };
    match rest {
        "" => Number::Plain(digits),
        _ if rest.chars().any(|c| c.is_ascii_digit()) && rest != "mm2" => Number::Unclear,
        _ => Number::WithUnit(digits, rest.to_owned()),
    }
}

/// The unit that a key ends in; nothing for a key that takes no figure.
pub fn unit_of(key: &str) -> Option<&str> {
    let unit = key.rsplit_once('_').map_or("", |(_, unit)| unit);
    ["ohm", "mohm", "ms", "a", "ma", "ka", "v", "m", "mm", "mm2", "nm", "c"].contains(&unit).then_some(unit)
}

/// Whether people write the unit of a key so. Capitals count: a megohm is no milliohm.
pub fn is_unit(unit: &str, written: &str) -> bool {
    let spellings: &[&str] = match unit {
        "ohm" => &["ohm", "ohms", "Ohm", "Ohms", "\u{3a9}", "\u{2126}"],
        "mohm" => &["Mohm", "Mohms", "M\u{3a9}", "M\u{2126}"],
        "ms" => &["ms"],
        "a" => &["A"],
        "ma" => &["mA"],
        "ka" => &["kA"],
        "v" => &["V"],
        "m" => &["m"],
        "mm" => &["mm"],
        "mm2" => &["mm2", "mm\u{b2}"],
        "nm" => &["Nm"],
        "c" => &["C", "\u{b0}C"],
        _ => &[],
    };
    spellings.contains(&written)
}

/// What a text that is no date looks like.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Day {
    /// The year first, or the month as a word: only the writing differs.
    Sure(Date),
    /// The day first, and it can be no month: the parts must change places.
    DayFirst(Date),
    /// A day that the calendar has not.
    NoSuchDay(String),
    /// Day and month can be exchanged.
    Exchangeable,
    /// Nothing that can be told.
    Unclear,
}

/// Reads a text that is no date.
pub fn day(text: &str) -> Day {
    if let Some(date) = with_month_word(text) {
        return date.map_or_else(Day::NoSuchDay, Day::Sure);
    }
    let parts: Vec<&str> = text.split(['-', '/', '.', ' ']).collect();
    let numbers: Option<Vec<u32>> = parts.iter().map(|part| part.parse().ok()).collect();
    match numbers.as_deref() {
        Some([year, month, day]) if parts[0].len() == 4 => date(*year, *month, *day).map_or_else(Day::NoSuchDay, Day::Sure),
        Some([day, month, year]) if parts[2].len() == 4 && (*day > 12 || day == month) => {
            date(*year, *month, *day).map_or_else(Day::NoSuchDay, Day::DayFirst)
        }
        Some([first, second, _]) if *first <= 12 && *second <= 12 && first != second => Day::Exchangeable,
        _ => Day::Unclear,
    }
}

/// A date, or how it would be written if the calendar had it.
fn date(year: u32, month: u32, day: u32) -> Result<Date, String> {
    let written = format!("{year:04}-{month:02}-{day:02}");
    written.parse().map_err(|_| written)
}

const MONTHS: [&str; 12] =
    ["january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"];

/// `2 Nov 2026`, `November 2nd, 2026`: a day, a month's name or the first letters of it, and a year of four digits.
fn with_month_word(text: &str) -> Option<Result<Date, String>> {
    let lower = text.trim().to_lowercase();
    let parts: Vec<&str> = lower.split([' ', '-', '/', '.', ',']).filter(|part| !part.is_empty()).collect();
    let [first, second, year] = parts[..] else { return None };
    let year: u32 = year.parse().ok().filter(|_| year.len() == 4)?;
    let month_of = |word: &str| {
        let place = MONTHS.iter().position(|month| word.len() >= 3 && (month.starts_with(word) || *month == "september" && word == "sept"));
        place.and_then(|place| u32::try_from(place + 1).ok())
    };
    let day_of = |word: &str| {
        let bare = ["st", "nd", "rd", "th"].iter().find_map(|end| word.strip_suffix(end)).unwrap_or(word);
        bare.parse::<u32>().ok().filter(|_| bare.len() <= 2)
    };
    let (day, month) = match (day_of(first), month_of(second)) {
        (Some(day), Some(month)) => (day, month),
        _ => (day_of(second)?, month_of(first)?),
    };
    Some(date(year, month, day))
}

/// What yes, no, on or off means where true or false belongs.
pub fn truth(text: &str) -> Option<bool> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "on" => Some(true),
        "no" | "n" | "off" => Some(false),
        _ => None,
    }
}
