//! The trend of a few readings over the years: Theil and Sen's slope with its interval, and Kendall's rank test.
//!
//! Chosen since they lean on no distribution and one wild reading hardly moves them. Held in the tests against another library's figures.

/// Fewest points between which a slope is given; with fewer there is only a difference.
pub const LEAST_POINTS: usize = 3;
/// Fewest points with which the rank test can fall under 0.05 at all: the smallest two-sided p of four is 2 in 24.
pub const LEAST_POINTS_FOR_TEST: usize = 5;
/// Points up to which the exact p is counted.
const MOST_POINTS_FOR_TEST: usize = 60;
/// The 97.5 % quantile of the standard normal distribution.
const NORMAL_975: f64 = 1.959_963_984_540_054;

/// A trend. The unit of the slope is that of the readings over that of the times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Points that it rests on.
    pub points: usize,
    /// The median of the slopes between all pairs of points (Theil and Sen).
    pub slope: f64,
    /// Median reading less slope times median time.
    pub intercept: f64,
    /// The 95 % confidence interval of the slope, by Sen's normal approximation of the rank statistic with ties.
    pub interval: Interval,
    /// Kendall's tau-b; nothing where all times or all readings are equal.
    pub tau_b: Option<f64>,
    /// Concordant pairs less discordant ones.
    pub score: i64,
    /// Exact two-sided p of the score among all orders of the readings, ties kept. Nothing where two times are equal, and for more than
    /// 60 points.
    pub p: Option<f64>,
}

/// A confidence interval of a slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// Whether the points are many enough for it to hold its 95 %; otherwise it is merely the least and the greatest slope.
    pub holds: bool,
}

impl Trend {
    /// Whether so few points can be called a trend or none.
    pub fn can_be_called(&self) -> bool {
        self.points >= LEAST_POINTS_FOR_TEST && self.p.is_some()
    }

    /// Whether the points are many enough to tell, and the test says that chance alone would seldom order them so (p under 0.05).
    pub fn is_shown(&self) -> bool {
        self.can_be_called() && self.p.is_some_and(|p| p < 0.05)
    }

    /// The reading that the line gives at a time.
    pub fn at(&self, time: f64) -> f64 {
        self.intercept + self.slope * time
    }
}

/// The trend of points (time, reading); nothing with fewer than three, where all times are equal, or where one is no number.
pub fn trend(points: &[(f64, f64)]) -> Option<Trend> {
    if points.len() < LEAST_POINTS || points.iter().any(|(time, reading)| !time.is_finite() || !reading.is_finite()) {
        return None;
    }
    let mut slopes = Vec::with_capacity(points.len() * (points.len() - 1) / 2);
    let (mut score, mut time_ties, mut reading_ties) = (0_i64, 0_i64, 0_i64);
    for (index, (time, reading)) in points.iter().enumerate() {
        for (other_time, other_reading) in &points[index + 1..] {
            let (run, rise) = (other_time - time, other_reading - reading);
            if run != 0.0 {
                slopes.push(rise / run);
            }
            time_ties += i64::from(run == 0.0);
            reading_ties += i64::from(rise == 0.0);
            score += sign(run) * sign(rise);
        }
    }
    let slope = median(&mut slopes)?;
    let mut times: Vec<f64> = points.iter().map(|(time, _)| *time).collect();
    let mut readings: Vec<f64> = points.iter().map(|(_, reading)| *reading).collect();
    let intercept = median(&mut readings)? - slope * median(&mut times)?;
    let (time_groups, reading_groups) = (groups(&times), groups(&readings));
    let pairs = (points.len() * (points.len() - 1) / 2) as i64;
    let untied = ((pairs - time_ties) as f64) * ((pairs - reading_ties) as f64);
    let can_be_counted = time_ties == 0 && points.len() <= MOST_POINTS_FOR_TEST;
    Some(Trend {
        points: points.len(),
        slope,
        intercept,
        interval: interval(&slopes, points.len(), &time_groups, &reading_groups),
        tau_b: (untied > 0.0).then(|| score as f64 / untied.sqrt()),
        score,
        p: can_be_counted.then(|| exact_p(score, &reading_groups)),
    })
}

fn sign(value: f64) -> i64 {
    i64::from(value > 0.0) - i64::from(value < 0.0)
}

/// Sorts the values and gives their median.
fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_unstable_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    Some(if values.len().is_multiple_of(2) { f64::midpoint(values[middle - 1], upper) } else { upper })
}

/// How many times each of the sorted values stands there.
fn groups(sorted: &[f64]) -> Vec<usize> {
    sorted.chunk_by(|a, b| a == b).map(<[f64]>::len).collect()
}

/// Sen's interval: the sorted slopes that stand as many places from the middle as the score's deviation says.
fn interval(slopes: &[f64], points: usize, time_groups: &[usize], reading_groups: &[usize]) -> Interval {
    let term = |count: usize| (count * count.saturating_sub(1) * (2 * count + 5)) as f64;
    let ties = |groups: &[usize]| groups.iter().map(|count| term(*count)).sum::<f64>();
    let variance = (term(points) - ties(time_groups) - ties(reading_groups)) / 18.0;
    let spread = NORMAL_975 * variance.max(0.0).sqrt();
    let count = slopes.len() as f64;
    let (low, high) = (((count - spread) / 2.0).round_ties_even() - 1.0, ((count + spread) / 2.0).round_ties_even());
    let at = |place: f64| slopes[(place.max(0.0) as usize).min(slopes.len() - 1)];
    Interval { low: at(low), high: at(high), holds: low >= 0.0 && high < count }
}

/// How likely it is that the score of a random order lies as far from nought or farther. Without ties in time the score is the number of
/// untied pairs less twice the inversions, and the inversions of an order with ties are counted by products of Gaussian binomials.
fn exact_p(score: i64, reading_groups: &[usize]) -> f64 {
    let mut inversions = vec![1.0];
    let mut placed = 0;
    for group in reading_groups {
        placed += group;
        inversions = product(&inversions, &gaussian_binomial(placed, *group));
    }
    let untied = (inversions.len() - 1) as i64;
    let all: f64 = inversions.iter().sum();
    let far = inversions.iter().enumerate().filter(|(count, _)| (untied - 2 * *count as i64).abs() >= score.abs());
    (far.map(|(_, ways)| ways).sum::<f64>() / all).min(1.0)
}

/// The coefficients of the Gaussian binomial: in how many ways `chosen` equal things among `of` can lie with so many inversions.
fn gaussian_binomial(of: usize, chosen: usize) -> Vec<f64> {
    // [n, k] = [n-1, k-1] + q^k [n-1, k]: sums only, so nothing is lost to rounding.
    let mut row: Vec<Vec<f64>> = vec![vec![1.0]];
    for n in 1..=of {
        let mut next = Vec::with_capacity(row.len() + 1);
        for k in 0..=chosen.min(n) {
            let mut sum = vec![0.0; k * (n - k) + 1];
            if let Some(before) = k.checked_sub(1).and_then(|k| row.get(k)) {
                before.iter().enumerate().for_each(|(power, ways)| sum[power] += ways);
            }
            if k < n
                && let Some(before) = row.get(k)
            {
                before.iter().enumerate().for_each(|(power, ways)| sum[power + k] += ways);
            }
            next.push(sum);
        }
        row = next;
    }
    row.pop().unwrap_or_default()
}

fn product(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut product = vec![0.0; (a.len() + b.len()).saturating_sub(1)];
    for (power, ways) in a.iter().enumerate() {
        b.iter().enumerate().for_each(|(other, more)| product[power + other] += ways * more);
    }
    product
}
