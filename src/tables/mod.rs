//! The numbers: published limits and constants as CSV files, each row with its unit, editions, source and confidence.
//!
//! Each file is read once, when something first asks for it. A figure leaves here as a [`Limit`], which carries the words to cite it by.
//! Where a limit depends on the edition of BS 7671 it is looked up by [`Edition`]; a figure that no source confirms for the newest
//! amendments is cited from the last edition it was confirmed in. Figures of confidence [`Confidence::Memory`] were seen nowhere: a rule
//! that rests on one asks and does not state.

pub mod adiabatic;
pub mod ampacity;
pub mod conductors;
pub mod deadlines;
pub mod demand;
mod device;
pub mod disconnection;
mod edition;
pub mod electrode;
pub mod ev;
pub mod insulation;
pub mod intervals;
mod load;
pub mod pilot;
pub mod rcd;
pub mod required;
pub mod ring;
pub mod supply;
pub mod voltdrop;
pub mod zs;

pub use device::DeviceStandard;
pub use edition::Edition;
pub use load::{Citation, Confidence, Figure, Limit, Row, TableCensus, round_half_up};

/// Declares a table: its name, the type of its rows, and the file that holds it.
macro_rules! table {
    ($name:ident: $row:ty = $file:literal) => {
        pub(super) static $name: $crate::tables::load::Table<$row> =
            $crate::tables::load::Table::new($file, include_str!(concat!("data/", $file, ".csv")));
    };
}
use table;

/// What every table holds: its name, its rows and how well they are confirmed. For tests and for the manual.
pub fn census() -> Vec<TableCensus> {
    vec![
        adiabatic::FACTS.census(),
        adiabatic::K.census(),
        ampacity::AMBIENT.census(),
        ampacity::FACTS.census(),
        ampacity::GROUPING.census(),
        ampacity::INSULATION.census(),
        ampacity::RATINGS.census(),
        conductors::ARMOUR.census(),
        conductors::ARMOUR_AREA.census(),
        conductors::CONDUCTORS.census(),
        conductors::FACTORS.census(),
        conductors::FLAT_CPC.census(),
        conductors::PAIRS.census(),
        conductors::TEMPERATURE.census(),
        deadlines::DEADLINES.census(),
        demand::ALLOWANCES.census(),
        demand::NETWORK.census(),
        device::RATINGS.census(),
        disconnection::SCOPE.census(),
        disconnection::TIMES.census(),
        edition::EDITIONS.census(),
        electrode::FACTS.census(),
        electrode::LIMITS.census(),
        ev::FACTS.census(),
        insulation::ADVICE.census(),
        insulation::MINIMUM.census(),
        intervals::INTERVALS.census(),
        intervals::RCD_BUTTON.census(),
        pilot::DUTY.census(),
        pilot::FACTS.census(),
        pilot::STATES.census(),
        rcd::DC.census(),
        rcd::FACTS.census(),
        rcd::TESTS.census(),
        rcd::TIMES.census(),
        rcd::WINDOW.census(),
        required::REQUIRED.census(),
        ring::FACTS.census(),
        supply::BREAKING.census(),
        supply::FACTS.census(),
        supply::TRIP_BANDS.census(),
        voltdrop::DROPS.census(),
        voltdrop::LIMITS.census(),
        zs::MAXIMA.census(),
    ]
}
