//! Trends of a few readings against scipy's figures, and the counting of orders against trying them all.

use ampledger::statistics::trend::trend;
use proptest::prelude::*;

use super::fixture::rows;
use crate::support::tries;

fn numbers(text: &str) -> Vec<f64> {
    text.split(' ').map(|number| number.parse().unwrap()).collect()
}

#[track_caller]
fn same(ours: f64, theirs: f64, what: &str) {
    assert!((ours - theirs).abs() <= 1e-6 * theirs.abs().max(1e-6), "{what}: {ours} against {theirs}");
}

#[test]
fn theil_sen_and_kendall_as_scipy_has_them() {
    for row in rows("trend_small_series.csv", 6) {
        let name = row.text("series");
        let points: Vec<(f64, f64)> = numbers(row.text("x_years")).into_iter().zip(numbers(row.text("y"))).collect();
        assert_eq!(points.len() as f64, row.number("n"));
        let ours = trend(&points).unwrap();
        assert_eq!(ours.points, points.len());
        same(ours.slope, row.number("theil_sen_slope_scipy"), name);
        same(ours.slope, row.number("theil_sen_slope_plain"), name);
        same(ours.intercept, row.number("theil_sen_intercept_scipy"), name);
        same(ours.interval.low, row.number("theil_sen_ci95_lower"), name);
        same(ours.interval.high, row.number("theil_sen_ci95_upper"), name);
        same(ours.tau_b.unwrap(), row.number("kendall_tau_b"), name);
        assert_eq!(ours.score as f64, row.number("mann_kendall_s"), "{name}");
        same(ours.p.unwrap(), row.number("permutation_p_two_sided"), name);
        // scipy has no exact p where readings are equal.
        if row.text("kendall_p_exact_scipy") != "nan" {
            same(ours.p.unwrap(), row.number("kendall_p_exact_scipy"), name);
        }
        // Three and four points can neither reach 0.05 nor bear an interval.
        assert_eq!((ours.interval.holds, ours.can_be_called()), (points.len() >= 5, points.len() >= 5), "{name}");
    }
}

/// The score of readings in the order of their times.
fn score(readings: &[u8]) -> i64 {
    let pairs = readings.iter().enumerate().flat_map(|(index, one)| readings[index + 1..].iter().map(move |other| (one, other)));
    pairs.map(|(one, other)| i64::from(other > one) - i64::from(other < one)).sum()
}

/// Every order of the readings.
fn orders(readings: &[u8]) -> Vec<Vec<u8>> {
    if readings.is_empty() {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for (index, first) in readings.iter().enumerate() {
        let mut rest = readings.to_vec();
        rest.remove(index);
        all.extend(orders(&rest).into_iter().map(|mut order| {
            order.insert(0, *first);
            order
        }));
    }
    all
}

proptest! {
    #![proptest_config(tries(64))]

    #[test]
    fn the_exact_p_is_that_of_trying_every_order(readings in prop::collection::vec(0_u8..5, 3..8)) {
        let points: Vec<(f64, f64)> = readings.iter().enumerate().map(|(time, reading)| (time as f64, f64::from(*reading))).collect();
        let all = orders(&readings);
        let far = all.iter().filter(|order| score(order).abs() >= score(&readings).abs()).count();
        let ours = trend(&points).unwrap();
        prop_assert!((ours.p.unwrap() - far as f64 / all.len() as f64).abs() < 1e-12);
    }

    #[test]
    fn any_points_are_borne(points in prop::collection::vec((-3_i8..3, -100.0..100.0_f64), 0..90)) {
        let points: Vec<(f64, f64)> = points.into_iter().map(|(time, reading)| (f64::from(time), reading)).collect();
        if let Some(trend) = trend(&points) {
            prop_assert!(trend.interval.low <= trend.slope && trend.slope <= trend.interval.high);
            prop_assert!(trend.p.is_none_or(|p| (0.0..=1.0).contains(&p)));
        }
    }
}

#[test]
fn two_points_and_points_of_one_time_have_no_trend() {
    assert_eq!(trend(&[(0.0, 1.0), (1.0, 2.0)]), None);
    assert_eq!(trend(&[(1.0, 1.0), (1.0, 2.0), (1.0, 3.0)]), None);
    assert_eq!(trend(&[(0.0, 1.0), (1.0, f64::NAN), (2.0, 3.0)]), None);
    // Two tests of one day leave a slope, and no rank test.
    let trend = trend(&[(0.0, 1.0), (1.0, 2.0), (1.0, 3.0), (2.0, 4.0), (3.0, 5.0)]).unwrap();
    assert_eq!((trend.p, trend.can_be_called()), (None, false));
}
