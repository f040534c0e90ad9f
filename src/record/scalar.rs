//! Single values: numbers, readings and dates, each decoded from its own source text so that nothing is rounded or guessed.

use std::borrow::Cow;
use std::fmt;
use std::ops::Deref;

use jiff::civil;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Deserializer, Visitor};
use serde::{Deserialize, Serialize, Serializer};

/// Decodes any scalar from its source text.
fn from_text<'de, D, T>(deserializer: D, parse: fn(&str) -> Result<T, String>) -> Result<T, D::Error>
where
    D: Deserializer<'de>,
{
    struct Text<T>(fn(&str) -> Result<T, String>);
    impl<T> Visitor<'_> for Text<T> {
        type Value = T;
        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a single value")
        }
        fn visit_str<E: de::Error>(self, text: &str) -> Result<T, E> {
            self.0(text).map_err(E::custom)
        }
    }
    deserializer.deserialize_str(Text(parse))
}

/// Reads digits with an optional sign and decimal point; refuses everything else that YAML or Rust would take for a number.
fn plain_decimal(text: &str) -> Option<(f64, u8)> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let all_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    let dot_without_fraction = digits.contains('.') && fraction.is_empty();
    if whole.is_empty() || whole.len() > 15 || fraction.len() > 15 || dot_without_fraction || !all_digits(whole) || !all_digits(fraction) {
        return None;
    }
    Some((text.parse().ok()?, fraction.len() as u8))
}

/// The start of every message about a number that could not be read; the reader of records tells such errors apart by it.
pub const NOT_A_NUMBER: &str = "not a plain number";
/// The start of every message about a date that could not be read.
pub const NOT_A_DATE: &str = "not a date";

/// The start of every message about a list item with nothing in it.
pub const NOTHING_HERE: &str = "nothing stands here";

/// A plain decimal number; its unit is in its key.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
pub struct Num(pub f64);

impl Deref for Num {
    type Target = f64;
    fn deref(&self) -> &f64 {
        &self.0
    }
}

impl fmt::Display for Num {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl std::str::FromStr for Num {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        plain_decimal(text).map(|(value, _)| Num(value)).ok_or_else(|| format!("{NOT_A_NUMBER}: {text}"))
    }
}

impl<'de> Deserialize<'de> for Num {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        from_text(deserializer, str::parse)
    }
}

impl JsonSchema for Num {
    fn schema_name() -> Cow<'static, str> {
        "Num".into()
    }
    fn inline_schema() -> bool {
        true
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "number"})
    }
}

/// A whole number that counts something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize)]
pub struct Count(pub u32);

impl Deref for Count {
    type Target = u32;
    fn deref(&self) -> &u32 {
        &self.0
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl<'de> Deserialize<'de> for Count {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        from_text(deserializer, |text| {
            let whole = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
            whole.then(|| text.parse().ok()).flatten().map(Count).ok_or_else(|| format!("{NOT_A_NUMBER}: {text}"))
        })
    }
}

impl JsonSchema for Count {
    fn schema_name() -> Cow<'static, str> {
        "Count".into()
    }
    fn inline_schema() -> bool {
        true
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "integer", "minimum": 0})
    }
}

/// Whether a reading is the value itself or lies beyond the instrument's scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// The instrument showed the value.
    On,
    /// The instrument showed `>value`: the true value is higher.
    Above,
    /// The instrument showed `<value`: the true value is lower.
    Below,
}

/// A reading as an instrument showed it, with its written precision: `0.30`, `">999"`, `"<0.01"`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The figure, in the unit of its key.
    pub value: f64,
    /// On or off the scale.
    pub scale: Scale,
    /// Digits written after the decimal point.
    pub decimals: u8,
}

impl Reading {
    /// A reading on the scale, written with so many decimals.
    pub fn on_scale(value: f64, decimals: u8) -> Self {
        Reading { value, scale: Scale::On, decimals }
    }

    /// The value when the instrument showed it; nothing when it was off the scale.
    pub fn exact(&self) -> Option<f64> {
        (self.scale == Scale::On).then_some(self.value)
    }

    /// Whether the true value is certainly over `limit`.
    pub fn surely_over(&self, limit: f64) -> bool {
        match self.scale {
            Scale::On => self.value > limit,
            Scale::Above => self.value >= limit,
            Scale::Below => false,
        }
    }

    /// Whether the true value is certainly under `limit`.
    pub fn surely_under(&self, limit: f64) -> bool {
        match self.scale {
            Scale::On => self.value < limit,
            Scale::Below => self.value <= limit,
            Scale::Above => false,
        }
    }
}

impl std::str::FromStr for Reading {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let (scale, digits) = match text.as_bytes().first() {
            Some(b'>') => (Scale::Above, text[1..].trim_start()),
            Some(b'<') => (Scale::Below, text[1..].trim_start()),
            _ => (Scale::On, text),
        };
        plain_decimal(digits)
            .filter(|(value, _)| *value >= 0.0)
            .map(|(value, decimals)| Reading { value, scale, decimals })
            .ok_or_else(|| format!("{NOT_A_NUMBER}: {text}"))
    }
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match self.scale {
            Scale::On => "",
            Scale::Above => ">",
            Scale::Below => "<",
        };
        write!(f, "{sign}{:.*}", usize::from(self.decimals), self.value)
    }
}

impl<'de> Deserialize<'de> for Reading {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        from_text(deserializer, str::parse)
    }
}

impl Serialize for Reading {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl JsonSchema for Reading {
    fn schema_name() -> Cow<'static, str> {
        "Reading".into()
    }
    fn inline_schema() -> bool {
        true
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"anyOf": [
            {"type": "number", "minimum": 0},
            {"type": "string", "pattern": "^[<>] ?[0-9]+([.][0-9]+)?$"}
        ]})
    }
}

/// A calendar date, written YYYY-MM-DD.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date(pub civil::Date);

impl Date {
    /// The date so many days later (earlier when negative); stays at the end of the calendar rather than failing.
    pub fn plus_days(self, days: i32) -> Date {
        Date(self.0.saturating_add(jiff::Span::new().days(days)))
    }

    /// The same day so many years later. 29 February becomes 28 February where the year has none.
    pub fn plus_years(self, years: i16) -> Date {
        Date(self.0.saturating_add(jiff::Span::new().years(years)))
    }

    /// The same day so many months later, or the last day of a shorter month.
    pub fn plus_months(self, months: i32) -> Date {
        Date(self.0.saturating_add(jiff::Span::new().months(months)))
    }

    /// Days from `earlier` to this date; negative when this date comes first.
    pub fn days_since(self, earlier: Date) -> i32 {
        (self.0 - earlier.0).get_days()
    }
}

impl std::str::FromStr for Date {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let bytes = text.as_bytes();
        let shaped = bytes.len() == 10
            && bytes.iter().enumerate().all(|(i, byte)| if i == 4 || i == 7 { *byte == b'-' } else { byte.is_ascii_digit() });
        let number = |range: std::ops::Range<usize>| text[range].parse::<i16>().unwrap_or(0);
        shaped
            .then(|| civil::Date::new(number(0..4), number(5..7) as i8, number(8..10) as i8).ok())
            .flatten()
            .map(Date)
            .ok_or_else(|| format!("{NOT_A_DATE}: {text}"))
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.0.year(), self.0.month(), self.0.day())
    }
}

impl<'de> Deserialize<'de> for Date {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        from_text(deserializer, str::parse)
    }
}

impl Serialize for Date {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl JsonSchema for Date {
    fn schema_name() -> Cow<'static, str> {
        "Date".into()
    }
    fn inline_schema() -> bool {
        true
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "string", "format": "date", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"})
    }
}
