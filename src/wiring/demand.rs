//! Maximum demand of a household with allowances, vehicle charging in full unless the load is limited, and the room left at the cut-out.

use super::{Result, figure, not_negative};
use crate::tables::demand::{self, Allowance};
use crate::tables::{Confidence, Limit};

/// One load of a household, A at full load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Load {
    /// Lighting, the whole connected load.
    Lighting(f64),
    /// Heating and power other than the following, the whole connected load.
    Heating(f64),
    /// A cooker; whether its control unit has a socket-outlet.
    Cooker {
        /// Full load, A.
        a: f64,
        /// Whether the control unit has a socket-outlet.
        socket: bool,
    },
    /// An instantaneous water heater, such as a shower.
    InstantWater(f64),
    /// A thermostatic water heater, floor heating or storage heating.
    Continuous(f64),
    /// A socket-outlet circuit, by its device's rating.
    Sockets(f64),
    /// A charge point, by its set current.
    Ev(f64),
}

/// A demand, line by line.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// What is counted and how much of it, A.
    pub lines: Vec<(&'static str, f64)>,
    /// The total without vehicle charging, A.
    pub without_ev_a: f64,
    /// Vehicle charging, A.
    pub ev_a: f64,
    /// What the supply must carry, A: the total, or the load limit where one holds the whole supply to it.
    pub total_a: f64,
    /// Whether the total only holds because of the load limit.
    pub limited: bool,
    /// The weakest confidence among the allowances.
    pub confidence: Confidence,
}

/// The demand of a household by the On-Site Guide's allowances, A. `limit_a`: the current that load limiting holds the whole supply to; it
/// can only shed the vehicles, so the house's own demand stays as the floor. Record that it was proved before leaning on it (722.311).
pub fn household(loads: &[Load], limit_a: Option<f64>) -> Result<Demand> {
    let mut confidence = Confidence::Verified2;
    let mut allow = |which| -> Result<f64> {
        let limit: Limit = figure(demand::allowance(which), "a demand allowance")?;
        confidence = confidence.max(limit.confidence);
        Ok(limit.value)
    };
    let (mut lighting, mut heating, mut cookers, mut continuous, mut ev) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let (mut water, mut sockets) = (Vec::new(), Vec::new());
    for load in loads {
        match *load {
            Load::Lighting(a) => lighting += not_negative("lighting (A)", a)?,
            Load::Heating(a) => heating += not_negative("heating (A)", a)?,
            Load::Cooker { a, socket } => {
                let first = allow(Allowance::CookerFirst)?;
                let a = not_negative("cooker (A)", a)?;
                cookers += a.min(first) + (a - first).max(0.0) * allow(Allowance::CookerRestShare)?;
                cookers += if socket { allow(Allowance::CookerSocket)? } else { 0.0 };
            }
            Load::InstantWater(a) => water.push(not_negative("water heater (A)", a)?),
            Load::Continuous(a) => continuous += not_negative("water or storage heating (A)", a)?,
            Load::Sockets(a) => sockets.push(not_negative("socket circuit (A)", a)?),
            Load::Ev(a) => ev += not_negative("charge point (A)", a)?,
        }
    }
    let first = allow(Allowance::HeatingFirst)?;
    let in_full = allow(Allowance::InstantWaterFull)? as usize;
    let lines = vec![
        ("lighting", lighting * allow(Allowance::LightingShare)?),
        ("heating and power", heating.min(first) + (heating - first).max(0.0) * allow(Allowance::HeatingRestShare)?),
        ("cookers", cookers),
        ("instantaneous water heaters", largest_and_rest(water, in_full, allow(Allowance::InstantWaterRestShare)?)),
        ("water and storage heating", continuous * allow(Allowance::ContinuousShare)?),
        ("socket-outlets", largest_and_rest(sockets, 1, allow(Allowance::SocketsRestShare)?)),
        ("vehicle charging", ev * allow(Allowance::EvShare)?),
    ];
    let ev_a = lines.last().map_or(0.0, |line| line.1);
    let sum: f64 = lines.iter().map(|line| line.1).sum();
    let without_ev_a = sum - ev_a;
    let limit_a = limit_a.map(|limit| not_negative("load limit (A)", limit)).transpose()?;
    let total_a = limit_a.map_or(sum, |limit| sum.min(limit).max(without_ev_a));
    let lines = lines.into_iter().filter(|line| line.1 > 0.0).collect();
    Ok(Demand { lines, without_ev_a, ev_a, total_a, limited: total_a < sum, confidence })
}

fn largest_and_rest(mut loads: Vec<f64>, in_full: usize, rest_share: f64) -> f64 {
    loads.sort_by(|left, right| right.total_cmp(left));
    let full: f64 = loads.iter().take(in_full).sum();
    full + loads.iter().skip(in_full).sum::<f64>() * rest_share
}

/// What is left at the cut-out, A: fuse rating less demand; negative when the demand is over it.
pub fn cutout_headroom(cutout_a: f64, demand_a: f64) -> Result<f64> {
    Ok(not_negative("cut-out (A)", cutout_a)? - not_negative("demand (A)", demand_a)?)
}
