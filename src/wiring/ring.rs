//! Ring final circuits: what each step of the test should read (Guidance Note 3), and the loop in service.

use super::{Result, Worked, figure, not_negative, positive, within};
use crate::tables::conductors;

/// End-to-end resistance of one conductor of a ring at 20 C, ohm: resistance per metre x length once round.
pub fn end_to_end(mm2: f64, length_m: f64) -> Result<Worked> {
    let limit = figure(conductors::resistance(mm2), "the resistance of that conductor")?;
    Ok(Worked::from_limits(limit.value * not_negative("length (m)", length_m)? / 1000.0, &[&limit]))
}

/// The ratio r2/r1 by table resistances: 1.63 for 2.5/1.5 mm2 (1.67 by area).
pub fn expected_ratio(line_mm2: f64, cpc_mm2: f64) -> Result<Worked> {
    let line = figure(conductors::resistance(line_mm2), "the resistance of that line conductor")?;
    let cpc = figure(conductors::resistance(cpc_mm2), "the resistance of that protective conductor")?;
    Ok(Worked::from_limits(cpc.value / line.value, &[&line, &cpc]))
}

/// The quarter rule, ohm: (ra + rb)/4. With a = line and b = neutral it is the reading at every point of the ring; with b = protective
/// conductor it is the reading half way round, the highest.
pub fn quarter(ra_ohm: f64, rb_ohm: f64) -> Result<f64> {
    Ok((not_negative("end-to-end resistance (ohm)", ra_ohm)? + not_negative("end-to-end resistance (ohm)", rb_ohm)?) / 4.0)
}

/// The reading at a point of the cross-connected ring, ohm: (a x + b (1-x)) (a (1-x) + b x) / (a + b), where a and b are the
/// end-to-end resistances and `share` is how far round the point lies, 0 to 1. At the board (0 or 1) it is a b / (a + b).
pub fn cross_connected(ra_ohm: f64, rb_ohm: f64, share: f64) -> Result<f64> {
    let x = within("share of the ring", share, 0.0, 1.0)?;
    let (a, b) = (positive("end-to-end resistance (ohm)", ra_ohm)?, positive("end-to-end resistance (ohm)", rb_ohm)?);
    Ok((a * x + b * (1.0 - x)) * (a * (1.0 - x) + b * x) / (a + b))
}

/// R1+R2 at a point of the ring in service, joined at the board, ohm: (r1 + r2) x (1-x). Its greatest value, half way, is the quarter.
pub fn in_service(r1_ohm: f64, r2_ohm: f64, share: f64) -> Result<f64> {
    let x = within("share of the ring", share, 0.0, 1.0)?;
    Ok((not_negative("end-to-end resistance (ohm)", r1_ohm)? + not_negative("end-to-end resistance (ohm)", r2_ohm)?) * x * (1.0 - x))
}

/// The length once round, m, that an end-to-end reading stands for at 20 C.
pub fn length_from_end_to_end(mm2: f64, end_to_end_ohm: f64) -> Result<Worked> {
    let metre = end_to_end(mm2, 1.0)?;
    Ok(Worked { value: not_negative("end-to-end resistance (ohm)", end_to_end_ohm)? / metre.value, ..metre })
}

/// Voltage drop of a load at the middle of a ring, V: a quarter of that of a radial as long as the ring, because two halves share it.
pub fn mid_point_drop(mv_per_a_m: f64, load_a: f64, length_m: f64) -> Result<f64> {
    Ok(super::drop::tabulated(mv_per_a_m, load_a, length_m)? / 4.0)
}
