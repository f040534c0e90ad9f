//! Product standards of protective devices, and the ratings they are usually made in.

use std::fmt;

use serde::Deserialize;

use super::edition::words_and_numbers;
use super::{Confidence, table};

/// The product standard of a protective device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DeviceStandard {
    /// Circuit-breaker, BS EN 60898-1.
    Bs60898,
    /// Circuit-breaker with residual current protection (RCBO), BS EN 61009-1.
    Bs61009,
    /// Circuit-breaker of the old type, BS 3871.
    Bs3871,
    /// Industrial circuit-breaker, BS EN 60947-2.
    Bs60947_2,
    /// Fuse, BS 88-2 (also BS EN 60269-2), of 2010 and later.
    Bs88_2,
    /// Fuse, BS 88-3 (also BS EN 60269-3).
    Bs88_3,
    /// Fuse of the older parts of BS 88 (2.1, 2.2, 6); its curve is not that of BS 88-2.
    Bs88Old,
    /// Semi-enclosed (rewireable) fuse, BS 3036.
    Bs3036,
    /// Cartridge fuse for domestic use, BS 1361.
    Bs1361,
    /// Plug fuse, BS 1362.
    Bs1362,
    /// Residual current circuit-breaker (RCCB), BS EN 61008-1.
    Bs61008,
    /// Type B and F residual current device, BS EN 62423.
    Bs62423,
    /// Residual current circuit-breaker of the old standard, BS 4293.
    Bs4293,
    /// Socket-outlet with residual current protection, BS 7288.
    Bs7288,
    /// Arc fault detection device, BS EN 62606.
    Bs62606,
}

use DeviceStandard::*;

#[derive(Debug, Clone, Deserialize)]
pub(super) struct RatingsRow {
    standard: String,
    ratings_a: String,
}

table!(RATINGS: RatingsRow = "ratings");

impl DeviceStandard {
    /// Every standard known here.
    pub const ALL: &'static [DeviceStandard] =
        &[Bs60898, Bs61009, Bs3871, Bs60947_2, Bs88_2, Bs88_3, Bs88Old, Bs3036, Bs1361, Bs1362, Bs61008, Bs62423, Bs4293, Bs7288, Bs62606];

    /// Reads a product standard however it is usually written: `BS EN 60898-1`, `BSEN60898`, `60898`, `BS 88-2`, `BS88 part 3`.
    pub fn parse(text: &str) -> Option<DeviceStandard> {
        // Nearly every record writes it as it is printed.
        if let Some(standard) = Self::ALL.iter().find(|standard| standard.as_str() == text) {
            return Some(*standard);
        }
        let words = words_and_numbers(&text.to_ascii_uppercase());
        let mut numbers = words.iter().filter_map(|word| word.parse::<u32>().ok());
        let standard = numbers.next()?;
        let part = numbers.next();
        let section = numbers.next();
        Some(match (standard, part) {
            (60898, _) => Bs60898,
            (61009, _) => Bs61009,
            (3871, _) => Bs3871,
            (60947, Some(2)) => Bs60947_2,
            (88, Some(2)) if matches!(section, Some(1 | 2)) => Bs88Old,
            (88, Some(6)) => Bs88Old,
            (88 | 60269, Some(2)) => Bs88_2,
            (88 | 60269, Some(3)) => Bs88_3,
            (3036, _) => Bs3036,
            (1361, _) => Bs1361,
            (1362, _) => Bs1362,
            (61008, _) => Bs61008,
            (62423, _) => Bs62423,
            (4293, _) => Bs4293,
            (7288, _) => Bs7288,
            (62606, _) => Bs62606,
            _ => return None,
        })
    }

    /// The standard as records write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Bs60898 => "BS EN 60898",
            Bs61009 => "BS EN 61009-1",
            Bs3871 => "BS 3871",
            Bs60947_2 => "BS EN 60947-2",
            Bs88_2 => "BS 88-2",
            Bs88_3 => "BS 88-3",
            Bs88Old => "BS 88 (before 2010)",
            Bs3036 => "BS 3036",
            Bs1361 => "BS 1361",
            Bs1362 => "BS 1362",
            Bs61008 => "BS EN 61008-1",
            Bs62423 => "BS EN 62423",
            Bs4293 => "BS 4293",
            Bs7288 => "BS 7288",
            Bs62606 => "BS EN 62606",
        }
    }

    /// The standard whose rows in the tables hold for this device: an RCBO trips on overcurrent as a circuit-breaker does.
    pub(super) const fn overcurrent_rows(self) -> &'static str {
        match self {
            Bs61009 => Bs60898.as_str(),
            other => other.as_str(),
        }
    }

    /// Whether it opens on overcurrent.
    pub const fn is_overcurrent_device(self) -> bool {
        self.is_fuse() || matches!(self, Bs60898 | Bs61009 | Bs3871 | Bs60947_2)
    }

    /// Whether it is a circuit-breaker or RCBO with a curve B, C, D (BS 3871: 1, 2, 3).
    pub const fn is_breaker(self) -> bool {
        matches!(self, Bs60898 | Bs61009 | Bs3871)
    }

    /// Whether it is a fuse.
    pub const fn is_fuse(self) -> bool {
        matches!(self, Bs88_2 | Bs88_3 | Bs88Old | Bs3036 | Bs1361 | Bs1362)
    }

    /// Whether it opens on residual current.
    pub const fn has_residual_element(self) -> bool {
        matches!(self, Bs61009 | Bs61008 | Bs62423 | Bs4293 | Bs7288)
    }

    /// The curves it is made with; empty where it has none.
    pub const fn curves(self) -> &'static [&'static str] {
        match self {
            Bs60898 | Bs61009 => &["B", "C", "D"],
            Bs3871 => &["1", "2", "3"],
            _ => &[],
        }
    }

    /// The rated currents it is usually made in, amperes, with how well the list is confirmed; empty where no list is held.
    pub fn usual_ratings(self) -> (Vec<f64>, Confidence) {
        let row = RATINGS.rows().iter().find(|row| row.of.standard == self.overcurrent_rows());
        row.map_or((Vec::new(), Confidence::Memory), |row| {
            (row.of.ratings_a.split(' ').filter_map(|rating| rating.parse().ok()).collect(), row.cite.confidence)
        })
    }
}

impl fmt::Display for DeviceStandard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}
