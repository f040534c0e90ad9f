//! Events counted over unit-years: the exact interval of a rate, and whether two rates differ.
//!
//! Both are exact for a Poisson count, however small, and so wide where there is little: that is their use here.

use statrs::distribution::{Beta, Binomial, ContinuousCDF, DiscreteCDF, Gamma};

/// The confidence that the program states its intervals with.
pub const CONFIDENCE: f64 = 0.95;

/// An interval, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub low: f64,
    /// Its upper end; infinite where nothing bounds it.
    pub high: f64,
}

/// The exact central interval of a rate, events per unit of `exposure` (Garwood 1936): the rates under which neither so many events nor
/// so few have less than half of what `confidence` leaves. Nothing without exposure, or for a confidence outside 0 to 1.
pub fn rate_interval(events: u32, exposure: f64, confidence: f64) -> Option<Interval> {
    let tail = tail_of(confidence)?;
    if !(exposure.is_finite() && exposure > 0.0) {
        return None;
    }
    // The sum of a Poisson distribution up to n is the upper tail of a gamma distribution of shape n + 1.
    let low = if events == 0 { 0.0 } else { Gamma::new(f64::from(events), 1.0).ok()?.inverse_cdf(tail) };
    let high = Gamma::new(f64::from(events) + 1.0, 1.0).ok()?.inverse_cdf(1.0 - tail);
    Some(Interval { low: low / exposure, high: high / exposure })
}

/// Events of one group, over its exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// How many.
    pub events: u32,
    /// Over how long, such as unit-years.
    pub exposure: f64,
}

/// Two rates beside one another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// The first rate over the second: infinite where only the second has no events, nothing where neither has any.
    pub ratio: Option<f64>,
    /// The interval of that ratio (Clopper-Pearson on the share of the first group).
    pub interval: Interval,
    /// How often so few events, or fewer, of all those counted would fall to the first group if the rates were alike.
    pub less: f64,
    /// How often so many, or more, would.
    pub greater: f64,
    /// Two-sided p: the smaller tail doubled, 1 at most. Of the exact two-sided tests this is the one that always agrees with
    /// `interval`: below 1 - confidence just where the interval leaves out 1.
    pub p: f64,
}

/// Compares two rates by the exact conditional test: given how many events there were in all, those of the first group are binomial with
/// its share of the exposure. Nothing where a group has no exposure.
pub fn compare(a: Counted, b: Counted, confidence: f64) -> Option<Comparison> {
    let tail = tail_of(confidence)?;
    let fits = |group: Counted| group.exposure.is_finite() && group.exposure > 0.0;
    if !fits(a) || !fits(b) {
        return None;
    }
    let all = u64::from(a.events) + u64::from(b.events);
    let chance = Binomial::new(a.exposure / (a.exposure + b.exposure), all).ok()?;
    let less = chance.cdf(u64::from(a.events));
    let greater = match u64::from(a.events) {
        0 => 1.0,
        events => chance.sf(events - 1),
    };
    // Odds of an event falling to the first group, each end from the tail that keeps its digits.
    let (of_a, of_b) = (f64::from(a.events), f64::from(b.events));
    let scale = b.exposure / a.exposure;
    let low = match a.events {
        0 => 0.0,
        _ => odds(Beta::new(of_a, of_b + 1.0).ok()?.inverse_cdf(tail)) * scale,
    };
    let high = match b.events {
        0 => f64::INFINITY,
        _ => scale / odds(Beta::new(of_b, of_a + 1.0).ok()?.inverse_cdf(tail)),
    };
    let ratio = match (a.events, b.events) {
        (0, 0) => None,
        (_, 0) => Some(f64::INFINITY),
        _ => Some(of_a / of_b * scale),
    };
    Some(Comparison { ratio, interval: Interval { low, high }, less, greater, p: (2.0 * less.min(greater)).min(1.0) })
}

fn odds(share: f64) -> f64 {
    share / (1.0 - share)
}

/// What each end of a central interval leaves out.
fn tail_of(confidence: f64) -> Option<f64> {
    (confidence > 0.0 && confidence < 1.0).then_some((1.0 - confidence) / 2.0)
}
