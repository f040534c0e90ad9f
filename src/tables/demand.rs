//! Household demand allowances, and the figures of the network operator's connection process.

use super::load::Fact;
use super::{Edition, Limit, table};

table!(ALLOWANCES: Fact = "demand");
table!(NETWORK: Fact = "network");

/// One allowance for the demand of a household.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Allowance {
    /// Share of the lighting load.
    LightingShare,
    /// Heating and power taken in full up to this, A.
    HeatingFirst,
    /// Share of the heating and power above that.
    HeatingRestShare,
    /// Cooker load taken in full up to this, A.
    CookerFirst,
    /// Share of the cooker load above that.
    CookerRestShare,
    /// Added when the cooker unit has a socket-outlet, A.
    CookerSocket,
    /// How many of the largest instantaneous water heaters are taken in full.
    InstantWaterFull,
    /// Share of the remaining ones.
    InstantWaterRestShare,
    /// Share of the socket circuits other than the largest.
    SocketsRestShare,
    /// Share of thermostatic water heaters, floor heating and storage heating.
    ContinuousShare,
    /// Share of vehicle charging, unless the load is limited.
    EvShare,
}

/// The figure of an allowance. Prints of the table differ with age; where they do the larger answer protects the fuse.
pub fn allowance(allowance: Allowance) -> Option<Limit> {
    let name = match allowance {
        Allowance::LightingShare => "lighting-share",
        Allowance::HeatingFirst => "heating-first-a",
        Allowance::HeatingRestShare => "heating-rest-share",
        Allowance::CookerFirst => "cooker-first-a",
        Allowance::CookerRestShare => "cooker-rest-share",
        Allowance::CookerSocket => "cooker-socket-a",
        Allowance::InstantWaterFull => "instant-water-full",
        Allowance::InstantWaterRestShare => "instant-water-rest-share",
        Allowance::SocketsRestShare => "sockets-rest-share",
        Allowance::ContinuousShare => "continuous-share",
        Allowance::EvShare => "ev-share",
    };
    ALLOWANCES.fact(name, Edition::LAST_CONFIRMED)
}

/// The new demand, A, up to which a home may connect first and notify afterwards.
pub fn notify_up_to() -> Option<Limit> {
    NETWORK.fact("notify-up-to-a", Edition::LAST_CONFIRMED)
}

/// Days within which the operator is notified.
pub fn notify_within_days() -> Option<Limit> {
    NETWORK.fact("notify-within-days", Edition::LAST_CONFIRMED)
}

/// The current per phase, A, up to which a feed into the network may be notified under Engineering Recommendation G98; above it G99
/// asks for an application before the installation.
pub fn g98_up_to() -> Option<Limit> {
    NETWORK.fact("g98-up-to-a", Edition::LAST_CONFIRMED)
}
