//! The network operator's route for a charge point: apply and wait, or connect and notify (Energy Networks Association connection process
//! for low carbon technologies; Engineering Recommendations G98 and G99 where it feeds back).

use std::fmt;

use super::{Result, figure, not_negative};
use crate::record::{NoticeRoute, Premises, Service};
use crate::tables::demand;

/// What decides the route.
#[derive(Debug, Clone, PartialEq)]
pub struct Connection {
    /// Rating of the service fuse, A, where it is known by more than the marking on its carrier.
    pub cutout_a: Option<f64>,
    /// Whether the service is looped.
    pub service: Option<Service>,
    /// Maximum demand of the whole installation after the work, A per phase.
    pub demand_a: f64,
    /// What kind of premises.
    pub premises: Option<Premises>,
    /// A concern about the condition of the cut-out, the fuse, the tails or the service.
    pub concern: bool,
    /// A supply without a meter.
    pub unmetered: bool,
    /// How many charge points are connected.
    pub points: u32,
    /// The current per phase, A, that the point can feed back; none when it cannot.
    pub export_a: Option<f64>,
}

/// A reason to apply before connecting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trigger {
    /// The service fuse's rating is not known.
    CutoutUnknown,
    /// The service is looped.
    Looped,
    /// Whether it is looped is not known.
    ServiceUnknown,
    /// There is a concern about the equipment at the origin.
    Concern,
    /// The supply has no meter.
    Unmetered,
    /// The demand is over the service fuse's rating.
    OverCutout {
        /// A.
        demand_a: f64,
        /// A.
        cutout_a: f64,
    },
    /// The demand of a home is over what may be notified.
    OverNotifiable {
        /// A.
        demand_a: f64,
        /// A.
        limit_a: f64,
    },
    /// More than one charge point.
    SeveralPoints,
    /// It feeds back more than G98 allows.
    ExportOverG98 {
        /// A per phase.
        export_a: f64,
        /// A per phase.
        limit_a: f64,
    },
}

impl fmt::Display for Trigger {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Trigger::CutoutUnknown => f.write_str("service fuse rating not known"),
            Trigger::Looped => f.write_str("looped service"),
            Trigger::ServiceUnknown => f.write_str("not known whether the service is looped"),
            Trigger::Concern => f.write_str("concern about the equipment at the origin"),
            Trigger::Unmetered => f.write_str("unmetered supply"),
            Trigger::OverCutout { demand_a, cutout_a } => write!(f, "demand {demand_a} A over the {cutout_a} A service fuse"),
            Trigger::OverNotifiable { demand_a, limit_a } => write!(f, "demand {demand_a} A over {limit_a} A"),
            Trigger::SeveralPoints => f.write_str("several charge points"),
            Trigger::ExportOverG98 { export_a, limit_a } => write!(f, "feeds back {export_a} A, over the {limit_a} A of G98"),
        }
    }
}

/// The route, with every reason for it: `Notify` when there is none. One reason is enough to apply. Whether a demand that only a load
/// limit holds down counts is for the operator to say: tell it so.
pub fn route(connection: &Connection) -> Result<(NoticeRoute, Vec<Trigger>)> {
    let demand_a = not_negative("demand (A)", connection.demand_a)?;
    let mut triggers = Vec::new();
    match connection.cutout_a {
        None => triggers.push(Trigger::CutoutUnknown),
        Some(cutout_a) if demand_a > cutout_a => triggers.push(Trigger::OverCutout { demand_a, cutout_a }),
        Some(_) => {}
    }
    match connection.service {
        Some(Service::Looped) => triggers.push(Trigger::Looped),
        Some(Service::Unknown) => triggers.push(Trigger::ServiceUnknown),
        Some(Service::Separate) | None => {}
    }
    let home = matches!(connection.premises, Some(Premises::Dwelling | Premises::DwellingLet | Premises::Hmo));
    let limit_a = figure(demand::notify_up_to(), "the demand that may be notified")?.value;
    if home && demand_a > limit_a {
        triggers.push(Trigger::OverNotifiable { demand_a, limit_a });
    }
    for (is_so, trigger) in [
        (connection.concern, Trigger::Concern),
        (connection.unmetered, Trigger::Unmetered),
        (connection.points > 1, Trigger::SeveralPoints),
    ] {
        if is_so {
            triggers.push(trigger);
        }
    }
    if let Some(export_a) = connection.export_a {
        let limit_a = figure(demand::g98_up_to(), "the feed that G98 allows")?.value;
        if not_negative("feed (A)", export_a)? > limit_a {
            triggers.push(Trigger::ExportOverG98 { export_a, limit_a });
        }
    }
    let route = if triggers.is_empty() { NoticeRoute::Notify } else { NoticeRoute::Apply };
    Ok((route, triggers))
}
