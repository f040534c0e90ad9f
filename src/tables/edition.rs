//! The editions of BS 7671 and the days they ran.

use std::fmt;

use serde::Deserialize;

use super::{Row, table};
use crate::record::Date;

/// An edition of BS 7671 with its amendments, in order of publication.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(try_from = "u16")]
pub enum Edition {
    /// 16th Edition: the texts of 1991, 1992 and 2001 with their amendments.
    Sixteenth,
    /// BS 7671:2008, 17th Edition.
    Y2008,
    /// BS 7671:2008+A1:2011.
    A1Y2011,
    /// BS 7671:2008+A2:2013.
    A2Y2013,
    /// BS 7671:2008+A3:2015.
    A3Y2015,
    /// BS 7671:2018, 18th Edition.
    Y2018,
    /// BS 7671:2018+A1:2020.
    A1Y2020,
    /// BS 7671:2018+A2:2022.
    A2Y2022,
    /// BS 7671:2018+A3:2024.
    A3Y2024,
    /// BS 7671:2018+A4:2026.
    A4Y2026,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct EditionRow {
    year: Edition,
    citation: String,
    published: DateText,
    in_force: DateText,
    withdrawn: Option<DateText>,
}

/// A date in a table.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct DateText(pub(super) Date);

impl TryFrom<String> for DateText {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        text.parse().map(DateText)
    }
}

table!(EDITIONS: EditionRow = "editions");

impl TryFrom<u16> for Edition {
    type Error = String;
    fn try_from(year: u16) -> Result<Self, String> {
        Self::ALL.iter().copied().find(|edition| edition.year() == year).ok_or_else(|| format!("no edition of {year}"))
    }
}

impl Edition {
    /// Every edition, oldest first.
    pub const ALL: &'static [Edition] = &[
        Edition::Sixteenth,
        Edition::Y2008,
        Edition::A1Y2011,
        Edition::A2Y2013,
        Edition::A3Y2015,
        Edition::Y2018,
        Edition::A1Y2020,
        Edition::A2Y2022,
        Edition::A3Y2024,
        Edition::A4Y2026,
    ];

    /// The last edition whose figures were confirmed. Later amendments are not known to have changed one; a limit used for a record of
    /// theirs is cited from this edition.
    pub const LAST_CONFIRMED: Edition = Edition::A2Y2022;

    /// The year that names the text: that of its last amendment.
    pub const fn year(self) -> u16 {
        match self {
            Edition::Sixteenth => 1991,
            Edition::Y2008 => 2008,
            Edition::A1Y2011 => 2011,
            Edition::A2Y2013 => 2013,
            Edition::A3Y2015 => 2015,
            Edition::Y2018 => 2018,
            Edition::A1Y2020 => 2020,
            Edition::A2Y2022 => 2022,
            Edition::A3Y2024 => 2024,
            Edition::A4Y2026 => 2026,
        }
    }

    /// Reads a citation however it is usually written: `BS 7671:2018+A4:2026`, `BS7671: 2018 + A4`, `BS 7671:2008 A3:2015`,
    /// `17th Edition Amendment 3`. Nothing for another standard, and nothing for an amendment or year that was never published.
    pub fn parse(text: &str) -> Option<Edition> {
        // Nearly every record writes it as it is printed.
        if let Some(row) = EDITIONS.rows().iter().find(|row| row.of.citation == text) {
            return Some(row.of.year);
        }
        let words = words_and_numbers(&text.to_ascii_uppercase());
        let mut names_standard = false;
        let mut base: Option<Edition> = None;
        let mut amendment: Option<Edition> = None;
        // After `A4` comes, as a rule, its year: the two must agree.
        let mut year_due: Option<Edition> = None;
        let mut number_due = false;
        let mut in_corrigendum = false;
        for word in &words {
            let Ok(number) = word.parse::<u16>() else {
                match word.as_str() {
                    "A" | "AMD" | "AMDT" | "AMENDMENT" | "AMEND" => (number_due, in_corrigendum) = (true, false),
                    corrigendum if corrigendum.starts_with("CORR") => in_corrigendum = true,
                    _ => {}
                }
                continue;
            };
            if in_corrigendum {
                continue;
            }
            match (number, base) {
                (7671, _) => names_standard = true,
                (16, _) => (base, names_standard) = (Some(Edition::Sixteenth), true),
                (17, _) => (base, names_standard) = (Some(Edition::Y2008), true),
                (18, _) => (base, names_standard) = (Some(Edition::Y2018), true),
                (1991 | 1992 | 2001, _) => base = Some(Edition::Sixteenth),
                (2008, _) => base = Some(Edition::Y2008),
                (2018, _) => base = Some(Edition::Y2018),
                // Amendments of the 16th Edition changed none of the figures here.
                (1..=9 | 1994 | 1997 | 2000 | 2002 | 2004, Some(Edition::Sixteenth)) => {}
                (1..=9, Some(first)) if number_due => {
                    amendment = Some(first.amended(number)?);
                    year_due = amendment;
                    number_due = false;
                }
                (year, Some(first)) => {
                    let named = Edition::try_from(year).ok().filter(|edition| edition.amends(first))?;
                    if year_due.take().is_some_and(|due| due != named) {
                        return None;
                    }
                    amendment = Some(named);
                }
                (_, None) => return None,
            }
        }
        let base = base.filter(|_| names_standard)?;
        Some(amendment.unwrap_or(base))
    }

    /// This first text with its amendment of that number.
    fn amended(self, number: u16) -> Option<Edition> {
        match (self, number) {
            (Edition::Y2008, 1) => Some(Edition::A1Y2011),
            (Edition::Y2008, 2) => Some(Edition::A2Y2013),
            (Edition::Y2008, 3) => Some(Edition::A3Y2015),
            (Edition::Y2018, 1) => Some(Edition::A1Y2020),
            (Edition::Y2018, 2) => Some(Edition::A2Y2022),
            (Edition::Y2018, 3) => Some(Edition::A3Y2024),
            (Edition::Y2018, 4) => Some(Edition::A4Y2026),
            _ => None,
        }
    }

    /// Whether this is `first` with an amendment.
    fn amends(self, first: Edition) -> bool {
        (1..=9).any(|number| first.amended(number) == Some(self))
    }

    /// The newest edition in force on a day; the 16th for every earlier day. During an overlap the older one may be cited as well: see
    /// [`Edition::may_be_cited_on`].
    pub fn in_force_on(day: Date) -> Edition {
        EDITIONS.rows().iter().rev().find(|row| row.of.in_force.0 <= day).map_or(Edition::Sixteenth, |row| row.of.year)
    }

    /// Whether work designed on a day may cite this edition: published, and not yet withdrawn.
    pub fn may_be_cited_on(self, day: Date) -> bool {
        self.published().is_some_and(|published| published <= day) && self.withdrawn().is_none_or(|withdrawn| day < withdrawn)
    }

    /// The day of publication; the first of its month where only the month is known.
    pub fn published(self) -> Option<Date> {
        self.row().map(|row| row.of.published.0)
    }

    /// The day it came into force.
    pub fn in_force(self) -> Option<Date> {
        self.row().map(|row| row.of.in_force.0)
    }

    /// The first day on which it could no longer be cited; nothing while it runs.
    pub fn withdrawn(self) -> Option<Date> {
        self.row().and_then(|row| row.of.withdrawn).map(|day| day.0)
    }

    fn row(self) -> Option<&'static Row<EditionRow>> {
        EDITIONS.rows().iter().find(|row| row.of.year == self)
    }
}

/// The citation: `BS 7671:2018+A2:2022`.
impl fmt::Display for Edition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.row().map_or("BS 7671", |row| &row.of.citation))
    }
}

/// Splits text into runs of letters and runs of digits; all else separates.
pub(super) fn words_and_numbers(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut last = None;
    for letter in text.chars() {
        let kind = (letter.is_ascii_alphabetic() || letter.is_ascii_digit()).then(|| letter.is_ascii_digit());
        match (kind, words.last_mut()) {
            (Some(_), Some(word)) if kind == last => word.push(letter),
            (Some(_), _) => words.push(letter.to_string()),
            (None, _) => {}
        }
        last = kind;
    }
    words
}
