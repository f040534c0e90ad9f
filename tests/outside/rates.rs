//! Intervals of failure rates and comparisons of two, against other people's statistics. `fixtures/README.md` says whose.

use ampledger::statistics::poisson::{Comparison, Counted, compare, rate_interval};

use super::fixture::{close, rows};

const TOLERANCE: f64 = 1e-6;

pub fn intervals_of_a_rate() -> usize {
    let mut compared = 0;
    for row in rows("poisson_rate_garwood.csv", 12) {
        let (events, exposure) = (row.number("failures"), row.number("exposure_years"));
        let ours = rate_interval(events as u32, exposure, row.number("confidence")).expect("an interval");
        close(events / exposure, row.number("rate_per_year"), TOLERANCE, "rate");
        for by in ["scipy", "statsmodels", "mpmath50"] {
            close(ours.low, row.number(&format!("lower_{by}")), TOLERANCE, by);
            close(ours.high, row.number(&format!("upper_{by}")), TOLERANCE, by);
            compared += 2;
        }
        // Two of the cases are printed elsewhere, to six and seven digits.
        if let Some((low, high)) = row.text("published").split_once("..") {
            close(ours.low, low.parse().expect("a figure"), 5e-5, "published");
            close(ours.high, high.parse().expect("a figure"), 5e-5, "published");
            compared += 2;
        }
    }
    compared
}

pub fn two_rates() -> usize {
    let mut compared = 0;
    for row in rows("poisson_two_rates.csv", 10) {
        let group = |name: &str| Counted {
            events: row.number(&format!("failures_{name}")) as u32,
            exposure: row.number(&format!("exposure_{name}_years")),
        };
        let ours: Comparison = compare(group("a"), group("b"), 0.95).expect("a comparison");
        match ours.ratio {
            // 0 against 0: `nan` there.
            None => assert!(row.number("rate_ratio_a_over_b").is_nan(), "{}", row.text("case")),
            Some(ratio) => close(ratio, row.number("rate_ratio_a_over_b"), TOLERANCE, "ratio"),
        }
        close(ours.interval.low, row.number("ratio_ci95_lower_scipy_exact"), TOLERANCE, "lower");
        close(ours.interval.high, row.number("ratio_ci95_upper_scipy_exact"), TOLERANCE, "upper");
        for by in ["scipy", "fraction"] {
            close(ours.less, row.number(&format!("p_a_less_{by}")), TOLERANCE, by);
            close(ours.greater, row.number(&format!("p_a_greater_{by}")), TOLERANCE, by);
        }
        close(ours.p, row.number("p_two_sided_central_fraction"), TOLERANCE, "two-sided");
        compared += 8;
        // The choice of test is that of the interval: they never disagree about 1.
        let leaves_out_one = ours.interval.low > 1.0 || ours.interval.high < 1.0;
        assert_eq!(ours.p < 0.05, leaves_out_one, "{}", row.text("case"));
    }
    compared
}

#[test]
fn nothing_is_said_without_exposure() {
    assert_eq!(rate_interval(3, 0.0, 0.95), None);
    assert_eq!(rate_interval(3, f64::NAN, 0.95), None);
    let none = Counted { events: 0, exposure: 0.0 };
    assert_eq!(compare(none, Counted { events: 2, exposure: 4.0 }, 0.95), None);
}
