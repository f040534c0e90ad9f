//! Maximum earth fault loop impedance by device (BS 7671 Tables 41.2, 41.3 and 41.4), and the comparison for cold readings.

use serde::Deserialize;

use super::disconnection::DisconnectionTime;
use super::{Confidence, DeviceStandard, Edition, Figure, Limit, supply, table};

#[derive(Debug, Clone, Deserialize)]
pub(super) struct ZsRow {
    standard: String,
    curve: String,
    rating_a: f64,
    disconnection_s: f64,
    max_zs_ohm: Figure,
    ia_a: f64,
}

table!(MAXIMA: ZsRow = "zs");

/// The maximum loop impedance with the conductors at their working temperature, ohm: the value of the edition's table, or worked out
/// where the table does not print the rating. This is what the "maximum Zs" column of a schedule takes; a reading taken cold is compared
/// with [`cold_limit`].
///
/// `curve` is `B`, `C`, `D` (BS 3871: `1`, `2`, `3`); `rating_a` in amperes. Nothing for a device, rating or time that neither a table nor
/// a formula covers: a fuse at 0.2 s or 1 s, an industrial circuit-breaker, a breaker without its curve.
///
/// Breakers trip instantaneously at the top of their band, so one figure serves 0.2, 0.4 and 1 s; type D has a second one for 5 s in the
/// tables since 2015. Before the voltage factor of 2015 the figures are higher by 1/0.95, where a print confirms them or by derivation.
pub fn max_zs(device: DeviceStandard, curve: Option<&str>, rating_a: f64, time: DisconnectionTime, edition: Edition) -> Option<Limit> {
    if !(rating_a.is_finite() && rating_a > 0.0) {
        return None;
    }
    if device.is_breaker() { breaker(device, curve?, rating_a, time, edition) } else { fuse(device, rating_a, time, edition) }
}

fn printed(device: DeviceStandard, curve: &str, rating_a: f64, seconds: f64, edition: Edition) -> Option<Limit> {
    let row = MAXIMA.find(edition, |row| {
        row.standard == device.overcurrent_rows() && row.curve == curve && row.rating_a == rating_a && row.disconnection_s == seconds
    })?;
    Some(row.cite.limit(row.of.max_zs_ohm, edition))
}

fn breaker(device: DeviceStandard, curve: &str, rating_a: f64, time: DisconnectionTime, edition: Edition) -> Option<Limit> {
    let curve = supply::plain_curve(curve);
    let slow = time == DisconnectionTime::S5;
    let seconds = if slow { 5.0 } else { 0.4 };
    if let Some(mut limit) = printed(device, &curve, rating_a, seconds, edition) {
        if !matches!(time, DisconnectionTime::S0_4 | DisconnectionTime::S5) {
            limit.confidence = limit.confidence.max(Confidence::Derived);
        }
        return Some(limit);
    }
    let (multiple, confidence) = trip_multiple(device, &curve, slow, edition)?;
    let u0 = supply::table_u0(edition)?;
    let cmin = supply::cmin(edition)?;
    let volts = if cmin == 1.0 { format!("{u0} V") } else { format!("{u0} V x {cmin}") };
    Some(Limit {
        value: super::round_half_up(u0 * cmin / (multiple * rating_a), 2),
        decimals: 2,
        unit: "ohm",
        source: format!("{volts} / ({multiple} x {rating_a} A), as {} Table 41.3", edition.min(Edition::LAST_CONFIRMED)).into(),
        confidence: confidence.max(Confidence::Derived),
    })
}

/// The multiple of its rated current at which a breaker has to open in time, with how well it is confirmed.
fn trip_multiple(device: DeviceStandard, curve: &str, slow: bool, edition: Edition) -> Option<(f64, Confidence)> {
    let band = supply::trip_band(device, curve)?;
    // Type D reaches 5 s on its thermal element from half the current, and the tables have said so since the voltage factor came.
    let multiple = if slow && curve == "D" && edition >= Edition::A3Y2015 { band.high / 2.0 } else { band.high };
    Some((multiple, band.confidence))
}

/// The current Ia, A, at which a device opens within the time: the one that the limit of [`max_zs`] is worked out from. For a breaker the
/// top of its instantaneous band, for a fuse the current beside the table's value. Nothing where no limit is held either.
pub fn operating_current(
    device: DeviceStandard,
    curve: Option<&str>,
    rating_a: f64,
    time: DisconnectionTime,
    edition: Edition,
) -> Option<Limit> {
    if device.is_breaker() {
        let curve = supply::plain_curve(curve?);
        let (multiple, confidence) = trip_multiple(device, &curve, time == DisconnectionTime::S5, edition)?;
        let source = format!("{} type {curve}, {multiple} x In", device.as_str());
        return Some(Limit { value: multiple * rating_a, decimals: 0, unit: "A", source: source.into(), confidence });
    }
    let seconds = time.seconds();
    let of_device = |row: &ZsRow| row.standard == device.as_str() && row.rating_a == rating_a && row.disconnection_s == seconds;
    let row = MAXIMA.find(edition, of_device).or_else(|| MAXIMA.rows().iter().find(|row| of_device(&row.of)))?;
    let decimals = u8::from(row.of.ia_a.fract() != 0.0);
    Some(Limit { value: row.of.ia_a, decimals, unit: "A", source: row.cite.text(edition).into(), confidence: row.cite.confidence })
}

fn fuse(device: DeviceStandard, rating_a: f64, time: DisconnectionTime, edition: Edition) -> Option<Limit> {
    let seconds = match time {
        DisconnectionTime::S0_4 => 0.4,
        DisconnectionTime::S5 => 5.0,
        DisconnectionTime::S0_2 | DisconnectionTime::S1 => return None,
    };
    if let Some(limit) = printed(device, "", rating_a, seconds, edition) {
        return Some(limit);
    }
    if edition >= Edition::A3Y2015 {
        return None;
    }
    let row = MAXIMA
        .rows()
        .iter()
        .find(|row| row.of.standard == device.as_str() && row.of.rating_a == rating_a && row.of.disconnection_s == seconds)?;
    // The 16th Edition's tables stand on 240 V; those of 2008 to 2013 on 230 V without the voltage factor. BS 88-2 and BS 88-3 came into
    // the tables in 2011, and the parts of BS 88 before them have another curve.
    let value = match (edition, device) {
        (Edition::Sixteenth, DeviceStandard::Bs3036 | DeviceStandard::Bs1361 | DeviceStandard::Bs1362) => {
            supply::table_u0(edition)? / row.of.ia_a
        }
        (Edition::A1Y2011 | Edition::A2Y2013, DeviceStandard::Bs88_2 | DeviceStandard::Bs88_3) if row.cite.since < Some(Edition::Y2018) => {
            row.of.max_zs_ohm.value / supply::cmin(Edition::A3Y2015)?
        }
        _ => return None,
    };
    Some(Limit {
        value: super::round_half_up(value, 2),
        decimals: 2,
        unit: "ohm",
        source: format!("{edition}, worked back from {} {}", Edition::LAST_CONFIRMED, row.cite.clause).into(),
        confidence: Confidence::Derived.max(row.cite.confidence),
    })
}

/// The limit that a loop impedance read with cold conductors is compared with: 0.8 of the table's value, unrounded (BS 7671 Appendix 3).
/// 0.8 is exact for a 70 C conductor read at 10 C, and on the strict side at any higher temperature.
///
/// Published lists of measured limits round it down (0.728 to 0.72): see [`cold_limit_as_published`].
pub fn cold_limit(limit: &Limit) -> Limit {
    Limit {
        value: super::round_half_up(limit.value * 0.8, limit.decimals + 1),
        decimals: limit.decimals + 1,
        unit: limit.unit,
        source: format!("0.8 x {}", limit.source).into(),
        confidence: limit.confidence,
    }
}

/// The measured limit as published lists print it, ohm: [`cold_limit`] rounded down to the table's decimals. A reading between the two is
/// within the rule and over the list.
pub fn cold_limit_as_published(limit: &Limit) -> f64 {
    let scale = 10f64.powi(i32::from(limit.decimals));
    (cold_limit(limit).value * scale + 1e-9).floor() / scale
}

/// Every printed row, for comparison with derivation: standard, curve, rating in amperes, seconds, and the printed figure.
pub fn printed_rows(edition: Edition) -> impl Iterator<Item = (&'static str, &'static str, f64, f64, Limit)> {
    MAXIMA.rows().iter().filter(move |row| row.cite.holds_in(edition)).map(move |row| {
        (
            row.of.standard.as_str(),
            row.of.curve.as_str(),
            row.of.rating_a,
            row.of.disconnection_s,
            row.cite.limit(row.of.max_zs_ohm, edition),
        )
    })
}
