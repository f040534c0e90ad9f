//! The earth fault loop: what a meter should read, and whether the device or the RCD opens in time.

use super::given::{Given, run_of, working_c};
use super::working::{Line, Missing, Quantity};
use crate::record::{Cable, CpcKind, Earthing};
use crate::tables::disconnection::{self, DisconnectionTime, Feeds};
use crate::tables::rcd::{self, Multiple};
use crate::tables::{DeviceStandard, Limit, conductors, electrode, supply, zs};
use crate::wiring::resistance::{self, Coefficient};
use crate::wiring::{earthing, fault, ring};

/// The checks, in the order of the printout.
pub(super) fn lines(given: &Given) -> Vec<Line> {
    let mut lines = vec![r1_r2(given)];
    if given.is_ring() {
        lines.push(ring_readings(given));
    }
    lines.push(cold_zs(given));
    if by_rcd(given) {
        lines.extend([touch_voltage(given), rcd_time(given)]);
    } else {
        lines.extend([zs_line(given), disconnection_line(given)]);
    }
    lines
}

/// Whether an RCD gives the fault protection: said so, or the system is TT.
pub(super) fn by_rcd(given: &Given) -> bool {
    given.rcd_for_faults || given.earthing == Some(Earthing::Tt)
}

pub(super) const OHM: &str = "ohm";

fn ohms(value: f64) -> Quantity {
    Quantity::new(value, 3, OHM)
}

/// R1+R2 of a run at a conductor temperature, ohm; half way round for a ring.
fn r1_r2_at(given: &Given, conductor_c: f64) -> Result<f64, Missing> {
    let run = run_of(&given.cable)?;
    let end_to_end = resistance::r1_r2(&run, conductor_c, Coefficient::Tables)?.value;
    Ok(if given.is_ring() { ring::quarter(end_to_end, 0.0)? } else { end_to_end })
}

/// R1+R2 with the conductors at their working temperature, ohm.
pub(super) fn r1_r2_hot(given: &Given) -> Result<f64, Missing> {
    r1_r2_at(given, working_c(&given.cable)?)
}

/// The resistance per metre of line and protective conductor, as the tables have them.
fn per_metre(cable: &Cable) -> Result<(Limit, Limit), Missing> {
    let held = |limit: Option<Limit>| limit.ok_or_else(|| Missing::figure("no table holds the resistance of that conductor"));
    let line_mm2 = *cable.line_mm2.ok_or_else(|| Missing::input("the size of the cable", "cable.line_mm2", "--line"))?;
    let cpc = match cable.cpc {
        Some(CpcKind::Armour) => conductors::armour_resistance(line_mm2, cable.cores.map_or(0, |cores| *cores)),
        _ => cable.cpc_mm2.and_then(|mm2| conductors::resistance(*mm2)),
    };
    Ok((held(conductors::resistance(line_mm2))?, held(cpc)?))
}

fn r1_r2(given: &Given) -> Line {
    Line::worked("r1-r2", "R1+R2 to be expected", |line| {
        let run = run_of(&given.cable)?;
        let (r1, r2) = per_metre(&given.cable)?;
        line.cite(&r1);
        line.cite(&r2);
        let cold = r1_r2_at(given, 20.0)?;
        let (symbols, over) = if given.is_ring() { ("(r1 + r2) L / 1000 / 4", "4000") } else { ("(r1 + r2) L / 1000", "1000") };
        let numbers = format!("({r1} + {r2}) x {} / {over}", Quantity::written(run.length_m, "m"));
        line.step(format!("R1+R2 at 20 C = {symbols}"), numbers, ohms(cold));
        if let Some(both) = run.with_armour(&given.cable)
            && let Ok(least) = resistance::r1_r2(&both, 20.0, Coefficient::Tables)
        {
            line.step("the same with the armour in parallel", "", ohms(least.value));
            line.note("With the armour earthed at both ends a meter reads between the two.");
        }
        let hot_c = working_c(&given.cable)?;
        let factor = resistance::at_temperature(1.0, hot_c, Coefficient::Tables.per_c()?)?;
        let numbers = match given.cable.cpc {
            Some(CpcKind::Armour) => String::new(),
            _ => format!("{} x {factor:.2}", ohms(cold)),
        };
        line.step(format!("R1+R2 at {hot_c} C"), numbers, ohms(r1_r2_hot(given)?));
        if given.cable.cpc == Some(CpcKind::Armour) {
            line.note("The armour is taken as hot as the cores, which is the strict side; its maker's figure comes before the table's.");
        }
        Ok(())
    })
}

fn ring_readings(given: &Given) -> Line {
    Line::worked("ring-readings", "Ring end to end, at 20 C", |line| {
        let (r1, r2) = per_metre(&given.cable)?;
        line.cite(&r1);
        line.cite(&r2);
        let length = given.length_m()?;
        let of = |mm2: f64| -> Result<f64, Missing> { Ok(ring::end_to_end(mm2, length)?.value) };
        let cpc_mm2 = given.cable.cpc_mm2.ok_or_else(|| Missing::input("the size of the cpc", "cable.cpc_mm2", "--cpc-mm2"))?;
        let (line_ohm, cpc_ohm) = (of(given.line_mm2()?)?, of(*cpc_mm2)?);
        let metres = Quantity::written(length, "m");
        line.step("r1 = rn", format!("{r1} x {metres} / 1000"), ohms(line_ohm));
        line.step("r2", format!("{r2} x {metres} / 1000"), ohms(cpc_ohm));
        line.step("line to neutral at every point = (r1 + rn) / 4", format!("({line_ohm:.3} + {line_ohm:.3}) / 4"), {
            ohms(ring::quarter(line_ohm, line_ohm)?)
        });
        line.step("line to cpc half way = (r1 + r2) / 4", format!("({line_ohm:.3} + {cpc_ohm:.3}) / 4"), {
            ohms(ring::quarter(line_ohm, cpc_ohm)?)
        });
        Ok(())
    })
}

/// The loop impedance that the circuit starts from, ohm, with the words for it.
pub(super) struct Start {
    /// Ohm.
    pub ohm: f64,
    /// `Ze`, `Zdb`, or `Ze and the sub-main`.
    pub symbol: &'static str,
}

/// The loop impedance at the board: as it was read, else Ze and the sub-mains at their working temperature.
pub(super) fn start(given: &Given, line: &mut Line) -> Result<Start, Missing> {
    if let Some(zdb) = &given.zdb {
        line.note(format!("Zdb {} as read at the board ({}), cold.", Quantity::written(zdb.value, OHM), zdb.from));
        return Ok(Start { ohm: zdb.value, symbol: "Zdb" });
    }
    let ze = given.ze.as_ref().ok_or_else(|| Missing::input("Ze", "supply.ze_ohm", "--ze"))?;
    if given.upstream.is_empty() {
        line.note(format!("Ze {} ({}).", Quantity::written(ze.value, OHM), ze.from));
        return Ok(Start { ohm: ze.value, symbol: "Ze" });
    }
    let mut ohm = ze.value;
    let mut numbers = Quantity::written(ze.value, OHM).to_string();
    for feeder in &given.upstream {
        let missing = |missing: Missing| Missing { what: format!("{} before it: {}", feeder.id, missing.what), key: missing.key };
        let cable = feeder.cable.as_ref().ok_or_else(|| Missing {
            what: format!("the cable of {}, or Zdb at the board, is missing", feeder.id),
            key: "cable of that circuit, or boards.zdb_ohm".to_owned(),
        })?;
        let run = run_of(cable).map_err(missing)?;
        let hot = resistance::r1_r2(&run, working_c(cable).map_err(missing)?, Coefficient::Tables)?.value;
        ohm = resistance::expected_zs(ohm, hot)?;
        numbers.push_str(&format!(" + {}", ohms(hot)));
    }
    line.step("Zdb = Ze + R1+R2 of what feeds the board, hot", numbers, ohms(ohm));
    line.note(format!("Ze {} ({}); Zdb worked from the cables, not read.", Quantity::written(ze.value, OHM), ze.from));
    Ok(Start { ohm, symbol: "Zdb" })
}

/// Zs with everything at its working temperature, ohm.
pub(super) fn zs_hot(given: &Given, line: &mut Line) -> Result<f64, Missing> {
    let start = start(given, line)?;
    let hot = r1_r2_hot(given)?;
    let zs = resistance::expected_zs(start.ohm, hot)?;
    line.step(format!("Zs = {} + R1+R2 hot", start.symbol), format!("{} + {}", ohms(start.ohm), ohms(hot)), ohms(zs));
    Ok(zs)
}

fn cold_zs(given: &Given) -> Line {
    Line::worked("zs-cold", "Zs to be expected on the meter, at 20 C", |line| {
        let start = start(given, line)?;
        let cold = r1_r2_at(given, 20.0)?;
        let zs = resistance::expected_zs(start.ohm, cold)?;
        line.step(format!("Zs = {} + R1+R2", start.symbol), format!("{} + {}", ohms(start.ohm), ohms(cold)), ohms(zs));
        if !by_rcd(given)
            && let Ok((limit, ..)) = zs_limit(given)
        {
            line.note(format!("The cold reading is held against {}.", zs::cold_limit(&limit)));
        }
        Ok(())
    })
}

/// The time in which the circuit has to be disconnected.
fn time(given: &Given) -> Result<(DisconnectionTime, Limit), Missing> {
    let feeds = Feeds::of(given.usage()?).ok_or_else(|| Missing::figure("no disconnection time is held for that use"))?;
    disconnection::time(given.earthing()?, feeds, given.rating_a()?, given.edition)
        .ok_or_else(|| Missing::figure("no disconnection time is held for that system and edition"))
}

/// Whether the tables, which stand on 230 V, hold for this supply.
fn check_voltage(given: &Given) -> Result<(), Missing> {
    if (220.0..=250.0).contains(&given.nominal_v) {
        return Ok(());
    }
    Err(Missing::figure(format!("the tables stand on 230 V to earth, not on {} V", given.nominal_v)))
}

/// The greatest Zs, the current that it comes from, and the time it is for.
pub(super) fn zs_limit(given: &Given) -> Result<(Limit, Limit, DisconnectionTime), Missing> {
    check_voltage(given)?;
    let (time, _) = time(given)?;
    let (standard, rating) = (given.standard()?, given.rating_a()?);
    let curve = given.ocpd.curve.as_deref();
    if standard.is_breaker() && curve.is_none() {
        return Err(Missing::input("the breaker's curve", "ocpd.curve", "--device"));
    }
    let none = || {
        let curve = curve.map(|curve| format!(" {curve}")).unwrap_or_default();
        Missing::figure(format!("no table or formula holds a limit for {standard}{curve} {rating} A at {time}: use the maker's data"))
    };
    let limit = zs::max_zs(standard, curve, rating, time, given.edition).ok_or_else(none)?;
    let current = zs::operating_current(standard, curve, rating, time, given.edition).ok_or_else(none)?;
    Ok((limit, current, time))
}

/// U0 and Cmin of the edition's tables.
pub(super) fn table_voltage(given: &Given) -> Result<(f64, f64), Missing> {
    supply::table_u0(given.edition)
        .zip(supply::cmin(given.edition))
        .ok_or_else(|| Missing::figure("no table holds the voltage of that edition's limits"))
}

fn zs_line(given: &Given) -> Line {
    Line::worked("zs", "Earth fault loop against the device", |line| {
        let (limit, current, time) = zs_limit(given)?;
        line.cite(&limit);
        line.cite(&current);
        let (u0, cmin) = table_voltage(given)?;
        let derived = fault::zs_limit(u0, cmin, current.value)?;
        line.step("greatest Zs = U0 x Cmin / Ia", format!("{u0} V x {cmin} / {current}"), ohms(derived));
        line.step(format!("as the table has it, for {time}"), "", Quantity::from(&limit));
        note_not_made(given, line)?;
        let zs = zs_hot(given, line)?;
        line.at_most("Zs <= greatest Zs", ohms(zs), Quantity::from(&limit));
        Ok(())
    })
}

/// Says so where a device of that rating is not usually made.
fn note_not_made(given: &Given, line: &mut Line) -> Result<(), Missing> {
    let (standard, rating) = (given.standard()?, given.rating_a()?);
    let (made, _) = standard.usual_ratings();
    if !made.is_empty() && !made.contains(&rating) {
        line.note(format!("{rating} A is not a usual rating of {standard} (from memory): is there such a device?"));
    }
    let curve = given.ocpd.curve.as_deref().unwrap_or_default().trim().to_ascii_uppercase();
    if standard == DeviceStandard::Bs61009 && curve == "D" {
        line.note("An RCBO of type D is seldom made: is there one?");
    }
    Ok(())
}

/// The least fault current, A.
pub(super) fn least_fault(given: &Given, line: &mut Line) -> Result<f64, Missing> {
    let (u0, cmin) = table_voltage(given)?;
    let zs = zs_hot(given, &mut Line::new("", ""))?;
    let current = fault::fault_current(u0, cmin, zs)?;
    line.step("least fault current I = U0 x Cmin / Zs", format!("{u0} V x {cmin} / {}", ohms(zs)), Quantity::new(current, 0, "A"));
    Ok(current)
}

fn disconnection_line(given: &Given) -> Line {
    Line::worked("disconnection", "Disconnection at the far end", |line| {
        let (_, current, _) = zs_limit(given)?;
        let (time, clause) = time(given)?;
        line.cite(&clause);
        line.cite(&current);
        let least = least_fault(given, line)?;
        line.note(format!("Ia {current}: at or above it the device opens within {time}."));
        line.at_least("I >= Ia", Quantity::new(least, 0, "A"), Quantity::from(&current));
        Ok(())
    })
}

fn trip_ma(given: &Given) -> Result<f64, Missing> {
    let rcd =
        given.rcd.as_ref().ok_or_else(|| Missing::input("the RCD that has to give the fault protection", "rcd.trip_ma", "--trip-ma"))?;
    rcd.trip_ma.map(|trip| *trip).ok_or_else(|| Missing::input("the RCD's trip current", "rcd.trip_ma", "--trip-ma"))
}

/// The resistance that a residual current meets on its way, ohm: never under the true RA.
fn earth_resistance(given: &Given, line: &mut Line) -> Result<f64, Missing> {
    if let Some(electrode) = given.electrode.as_ref().filter(|_| given.earthing == Some(Earthing::Tt)) {
        line.note(format!("Electrode {} ({}).", Quantity::written(electrode.value, OHM), electrode.from));
        let hot = r1_r2_hot(given)?;
        let whole = resistance::expected_zs(electrode.value, hot)?;
        line.step("RA <= electrode + R1+R2 hot", format!("{} + {}", Quantity::written(electrode.value, OHM), ohms(hot)), ohms(whole));
        line.note("R1 is counted in: the strict side.");
        return Ok(whole);
    }
    if given.earthing == Some(Earthing::Tt) && given.ze.is_none() && given.zdb.is_none() {
        return Err(Missing::input("the electrode's resistance", "supply.electrode_ohm", "--electrode"));
    }
    zs_hot(given, line)
}

fn touch_voltage(given: &Given) -> Line {
    Line::worked("touch-voltage", "Fault protection by the RCD", |line| {
        given.earthing()?;
        let trip = trip_ma(given)?;
        let limit = electrode::touch_voltage(given.edition).ok_or_else(|| Missing::figure("no table holds the touch voltage"))?;
        line.cite(&limit);
        let ra = earth_resistance(given, line)?;
        let volts = earthing::touch_voltage(ra, trip)?;
        line.step("RA x IdN / 1000", format!("{} x {} / 1000", ohms(ra), Quantity::written(trip, "mA")), Quantity::new(volts, 2, "V"));
        let most = earthing::electrode_limit(limit.value, trip)?;
        line.note(format!("That is RA up to {most:.0} ohm for {trip} mA."));
        if let Some(advice) = electrode::advice(given.edition).filter(|advice| ra > advice.value) {
            line.note(format!("Over {advice} an electrode may not be stable ({}).", advice.source));
        }
        line.at_most("RA x IdN <= 50 V", Quantity::new(volts, 2, "V"), Quantity::from(&limit));
        Ok(())
    })
}

fn rcd_time(given: &Given) -> Line {
    Line::worked("rcd-time", "Disconnection by the RCD", |line| {
        let trip = trip_ma(given)?;
        let (time, clause) = time(given)?;
        line.cite(&clause);
        let ra = earth_resistance(given, &mut Line::new("", ""))?;
        let current = fault::fault_current(given.nominal_v, 1.0, ra)?;
        let numbers = format!("{} V / {}", given.nominal_v, ohms(ra));
        line.step("I = U0 / RA", numbers, Quantity::new(current, 2, "A"));
        let (times, most) = opening(given, current)?;
        line.cite(&most);
        line.note(format!("I is {:.0} x IdN: the longest time at {times} x IdN holds.", current * 1000.0 / trip));
        let allowed = Quantity::new(time.seconds() * 1000.0, 0, "ms");
        line.at_most("t <= greatest time", Quantity::from(&most), allowed);
        Ok(())
    })
}

/// The longest time, ms, in which the RCD opens on a residual current, with the multiple of its trip current that the time is printed for.
pub(super) fn opening(given: &Given, current_a: f64) -> Result<(f64, Limit), Missing> {
    let trip = trip_ma(given)?;
    let standard = given.rcd.as_ref().and_then(|rcd| rcd.standard.as_deref()).and_then(DeviceStandard::parse);
    let delayed = given.rcd.as_ref().and_then(|rcd| rcd.delayed) == Some(true);
    let steps = [(5.0, Multiple::Five), (2.0, Multiple::Two), (1.0, Multiple::One)];
    let reached = steps.into_iter().filter(|(times, _)| current_a * 1000.0 >= times * trip);
    let held = reached.filter_map(|(times, of)| Some((times, rcd::operating_time(standard, delayed, trip, of, given.edition)?.max))).next();
    held.ok_or_else(|| Missing::figure("no operating time is held for that RCD at that current"))
}

/// The longest run by the earth fault loop, m, with its sum.
pub(super) fn longest(given: &Given, limit: Quantity, word: &str, line: &mut Line) -> Result<f64, Missing> {
    let metre = r1_r2_hot(&given.at_length(1.0))? * 1000.0;
    let start = start(given, &mut Line::new("", ""))?;
    let metres = resistance::longest_run_for_zs(limit.value, start.ohm, metre)?;
    let numbers = format!("1000 x ({limit} - {}) / {metre:.3} mohm/m", ohms(start.ohm));
    line.step(format!("L by {word} = 1000 x (limit - {}) / (R1+R2 per metre, hot)", start.symbol), numbers, Quantity::new(metres, 2, "m"));
    Ok(metres)
}
