//! Maximum disconnection times at 230 V (BS 7671 Table 41.1 and regulations 411.3.2.2 to 411.3.2.4).

use serde::Deserialize;

use super::{Edition, Figure, Limit, table};
use crate::record::{Earthing, Use};

/// The times that occur at 230 V a.c.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DisconnectionTime {
    /// 0.2 s.
    S0_2,
    /// 0.4 s.
    S0_4,
    /// 1 s.
    S1,
    /// 5 s.
    S5,
}

impl DisconnectionTime {
    /// Every time, shortest first.
    pub const ALL: &'static [DisconnectionTime] =
        &[DisconnectionTime::S0_2, DisconnectionTime::S0_4, DisconnectionTime::S1, DisconnectionTime::S5];

    /// In seconds.
    pub const fn seconds(self) -> f64 {
        match self {
            DisconnectionTime::S0_2 => 0.2,
            DisconnectionTime::S0_4 => 0.4,
            DisconnectionTime::S1 => 1.0,
            DisconnectionTime::S5 => 5.0,
        }
    }

    /// The time of so many seconds.
    pub fn from_seconds(seconds: f64) -> Option<DisconnectionTime> {
        Self::ALL.iter().copied().find(|time| time.seconds() == seconds)
    }
}

/// `0.4 s`.
impl std::fmt::Display for DisconnectionTime {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} s", self.seconds())
    }
}

/// What a circuit feeds, as far as its disconnection time hangs on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Feeds {
    /// Another board.
    Distribution,
    /// One or more socket-outlets.
    Sockets,
    /// Only fixed, connected equipment.
    Fixed,
}

impl Feeds {
    /// What a circuit of that use feeds; nothing for a spare way or an unknown use. A charging circuit is judged as one with a
    /// socket-outlet, the stricter reading, because a record does not say whether the lead is fixed to the charge point.
    pub fn of(usage: Use) -> Option<Feeds> {
        match usage {
            Use::SubMain => Some(Feeds::Distribution),
            Use::Ev | Use::Ring | Use::Sockets => Some(Feeds::Sockets),
            Use::Lighting | Use::Fixed | Use::Heating => Some(Feeds::Fixed),
            Use::Spare | Use::Other => None,
        }
    }
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct TimeRow {
    earthing: String,
    circuit: String,
    seconds: Figure,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct ScopeRow {
    limb: String,
    max_a: f64,
}

table!(TIMES: TimeRow = "disconnection");
table!(SCOPE: ScopeRow = "disconnection_scope");

/// The maximum disconnection time of a circuit at 120 V < U0 <= 230 V a.c., and the limit to cite it by. `rating_a`: the overcurrent
/// device's rated current, amperes. Nothing for IT, and for TT under the 16th Edition, which are not covered.
///
/// In a TT system where an overcurrent device disconnects and all extraneous-conductive-parts are bonded, the TN times may be used
/// instead (note to Table 41.1); that is for the designer to claim.
pub fn time(earthing: Earthing, feeds: Feeds, rating_a: f64, edition: Edition) -> Option<(DisconnectionTime, Limit)> {
    let system = match earthing {
        Earthing::TnS | Earthing::TnCS => "TN",
        Earthing::Tt => "TT",
        Earthing::It => return None,
    };
    let limb = match feeds {
        Feeds::Distribution => None,
        Feeds::Sockets => Some("sockets"),
        Feeds::Fixed => Some("fixed"),
    };
    let in_scope = match (edition, limb) {
        (Edition::Sixteenth, limb) => limb == Some("sockets"),
        (_, Some(limb)) => SCOPE.find(edition, |row| row.limb == limb).is_some_and(|row| rating_a <= row.of.max_a),
        (_, None) => false,
    };
    let circuit = if in_scope { "final" } else { "other" };
    let row = TIMES.find(edition, |row| row.earthing == system && row.circuit == circuit)?;
    Some((DisconnectionTime::from_seconds(row.of.seconds.value)?, row.cite.limit(row.of.seconds, edition)))
}
