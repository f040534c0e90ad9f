//! Serials and firmware in the order that people mean: digits count as numbers, and nothing is decided where two do not compare.

use std::cmp::Ordering;

use crate::record::SerialRange;
use crate::rules::identity::plain_serial;

/// Whether something is so, as far as the record says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fit {
    /// It is.
    Yes,
    /// Nobody can say, and why.
    Unclear(String),
    /// It is not, and why.
    No(String),
}

/// A run of letters or of digits.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Run {
    Letters(String),
    /// Without zeros before it, so that a longer run is a larger number.
    Digits(String),
}

impl Run {
    fn is_like(&self, other: &Run) -> bool {
        match (self, other) {
            (Run::Letters(_), Run::Letters(_)) | (Run::Digits(_), Run::Digits(_)) => true,
            (Run::Letters(_), Run::Digits(_)) | (Run::Digits(_), Run::Letters(_)) => false,
        }
    }

    fn compare(&self, other: &Run) -> Ordering {
        match (self, other) {
            (Run::Digits(a), Run::Digits(b)) => (a.len(), a).cmp(&(b.len(), b)),
            (Run::Letters(a), Run::Letters(b)) => a.cmp(b),
            (Run::Digits(_), Run::Letters(_)) => Ordering::Less,
            (Run::Letters(_), Run::Digits(_)) => Ordering::Greater,
        }
    }
}

/// A serial taken apart for comparing: `AL-31302` is `AL`, 31302.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Serial(Vec<Run>);

impl Serial {
    /// Takes a serial apart; spaces, hyphens and capitals make no difference.
    pub fn of(text: &str) -> Serial {
        let mut runs: Vec<Run> = Vec::new();
        for c in plain_serial(text).chars() {
            match (runs.last_mut(), c.is_ascii_digit()) {
                (Some(Run::Digits(run)), true) | (Some(Run::Letters(run)), false) => run.push(c),
                (_, true) => runs.push(Run::Digits(c.to_string())),
                (_, false) => runs.push(Run::Letters(c.to_string())),
            }
        }
        for run in &mut runs {
            if let Run::Digits(digits) = run {
                *digits = digits.trim_start_matches('0').to_owned();
            }
        }
        Serial(runs)
    }

    /// Whether two serials are built alike: letters and digits in the same turn.
    fn is_like(&self, other: &Serial) -> bool {
        self.0.len() == other.0.len() && self.0.iter().zip(&other.0).all(|(a, b)| a.is_like(b))
    }

    /// Whether the letters are the same too.
    fn has_letters_of(&self, other: &Serial) -> bool {
        self.is_like(other) && self.0.iter().zip(&other.0).all(|(a, b)| matches!(a, Run::Digits(_)) || a == b)
    }

    /// Its first letters; empty for one that begins with a digit.
    fn prefix(&self) -> &str {
        match self.0.first() {
            Some(Run::Letters(letters)) => letters,
            _ => "",
        }
    }
}

impl PartialOrd for Serial {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Serial {
    fn cmp(&self, other: &Self) -> Ordering {
        let differ = self.0.iter().zip(&other.0).map(|(a, b)| a.compare(b)).find(|order| order.is_ne());
        differ.unwrap_or_else(|| self.0.len().cmp(&other.0.len()))
    }
}

/// `AL-31000 to AL-31499`, `from AL-31000`, `up to AL-31499`.
pub fn range_words(range: &SerialRange) -> String {
    match (range.from.as_deref(), range.to.as_deref()) {
        (Some(from), Some(to)) if from == to => from.to_owned(),
        (Some(from), Some(to)) => format!("{from} to {to}"),
        (Some(from), None) => format!("from {from}"),
        (None, Some(to)) => format!("up to {to}"),
        (None, None) => "a range without ends".to_owned(),
    }
}

/// Whether a serial lies in a range, both ends included. Only serials built like the range's ends compare; one that has their first
/// letters and is built otherwise, or that is digits where they have letters before them, cannot be told.
pub fn in_range(serial: &str, range: &SerialRange) -> Fit {
    let serial_runs = Serial::of(serial);
    let outside = || Fit::No(format!("{serial} is outside {}", range_words(range)));
    let unclear = || Fit::Unclear(format!("{serial} is not written like {}", range_words(range)));
    let end = |end: &Option<String>| end.as_deref().map(Serial::of).filter(|end| !end.0.is_empty());
    let (from, to) = (end(&range.from), end(&range.to));
    let like_an_end = |end: &Serial| {
        let bare = serial_runs.prefix().is_empty() && !end.prefix().is_empty() && serial_runs.0.len() < end.0.len();
        bare || serial_runs.prefix() == end.prefix()
    };
    let one_ended = |end: &Serial, beyond: Ordering| {
        if serial_runs.has_letters_of(end) {
            if serial_runs.cmp(end) == beyond { outside() } else { Fit::Yes }
        } else if like_an_end(end) {
            unclear()
        } else {
            outside()
        }
    };
    match (from, to) {
        (None, None) => Fit::Unclear("the notice's range of serials has no ends".to_owned()),
        (Some(from), Some(to)) if from.is_like(&to) => {
            // A range written the wrong way round still means what lies between.
            let (low, high) = if from <= to { (from, to) } else { (to, from) };
            if serial_runs.is_like(&low) {
                if low <= serial_runs && serial_runs <= high { Fit::Yes } else { outside() }
            } else if like_an_end(&low) || like_an_end(&high) {
                unclear()
            } else {
                outside()
            }
        }
        (Some(from), Some(to)) => {
            if like_an_end(&from) || like_an_end(&to) {
                unclear()
            } else {
                outside()
            }
        }
        (Some(one), None) => one_ended(&one, Ordering::Less),
        (None, Some(one)) => one_ended(&one, Ordering::Greater),
    }
}

/// Whether a serial lies in any of some ranges.
pub fn in_ranges(serial: &str, ranges: &[SerialRange]) -> Fit {
    let mut unclear = None;
    let mut outside = Vec::new();
    for range in ranges {
        match in_range(serial, range) {
            Fit::Yes => return Fit::Yes,
            Fit::Unclear(why) => unclear = unclear.or(Some(why)),
            Fit::No(_) => outside.push(range_words(range)),
        }
    }
    unclear.map_or_else(|| Fit::No(format!("{serial} is outside {}", outside.join(", "))), Fit::Unclear)
}

/// A firmware version: its numbers, as far as it has them.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Version {
    numbers: Vec<String>,
    /// What stands after the numbers, such as `b` or `rc1`.
    rest: String,
}

impl Version {
    fn of(text: &str) -> Option<Version> {
        let text = text.trim().trim_start_matches(['v', 'V']);
        let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
        let (numbers, rest) = text.split_at(end);
        let mut numbers: Vec<String> =
            numbers.split('.').filter(|part| !part.is_empty()).map(|part| part.trim_start_matches('0').to_owned()).collect();
        if numbers.is_empty() {
            return None;
        }
        while numbers.last().is_some_and(String::is_empty) {
            numbers.pop();
        }
        Some(Version { numbers, rest: rest.trim().to_owned() })
    }
}

/// Compares firmware by its numbers, so that 3.10 is newer than 3.2 and 3 is 3.0. Nothing where that cannot be told.
pub fn compare_firmware(a: &str, b: &str) -> Option<Ordering> {
    let (a, b) = (Version::of(a)?, Version::of(b)?);
    let count = a.numbers.len().max(b.numbers.len());
    let number = |version: &Version, at: usize| version.numbers.get(at).cloned().unwrap_or_default();
    let differ = (0..count).map(|at| (number(&a, at), number(&b, at))).map(|(x, y)| (x.len(), x).cmp(&(y.len(), y)));
    let by_numbers = differ.into_iter().find(|order| order.is_ne()).unwrap_or(Ordering::Equal);
    let same_rest = a.rest.eq_ignore_ascii_case(&b.rest);
    if by_numbers.is_ne() || same_rest { Some(by_numbers) } else { None }
}
