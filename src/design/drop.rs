//! Volt drop: this circuit, the sub-mains before it, and the whole against its limit.

use super::current;
use super::given::{Feeder, Given};
use super::working::{Line, Missing, Quantity};
use crate::record::{MakeUp, Use};
use crate::tables::ampacity::Surroundings;
use crate::tables::voltdrop::{self, TabulatedDrop};
use crate::tables::{Limit, ampacity, supply};
use crate::wiring::drop::{self, Loading};
use crate::wiring::ring;

/// The checks, in the order of the printout.
pub(super) fn lines(given: &Given) -> Vec<Line> {
    if given.upstream.is_empty() {
        return vec![whole(given, "volt-drop", "Volt drop")];
    }
    let own = Line::worked("volt-drop", "Volt drop of this circuit", |line| own_percent(given, line).map(|_| ()));
    let mut lines = vec![own];
    for feeder in &given.upstream {
        let title = format!("Volt drop of {} before it", feeder.id);
        lines.push(Line::worked("volt-drop-upstream", title, |line| feeder_percent(given, feeder, line).map(|_| ())));
    }
    lines.push(whole(given, "volt-drop-total", "Volt drop from the origin"));
    lines
}

/// The nominal voltage that a drop is a share of: between lines for three phases.
fn nominal_v(given: &Given, phases: u32) -> Result<f64, Missing> {
    if phases != 3 {
        return Ok(given.nominal_v);
    }
    let usual = |phases| supply::nominal_v(phases).ok_or_else(|| Missing::figure("no table holds the nominal voltage"));
    let is_usual = usual(1)?.value == given.nominal_v;
    Ok(if is_usual { usual(3)?.value } else { given.nominal_v * 3f64.sqrt() })
}

pub(super) fn table_of(make_up: MakeUp, phases: u32, mm2: f64) -> Result<TabulatedDrop, Missing> {
    voltdrop::tabulated(make_up, phases, mm2).ok_or_else(|| Missing::figure(format!("no table holds mV/A/m of {make_up} {mm2} mm2")))
}

/// The drop of this circuit, V and per cent of the nominal voltage, with its steps.
fn own_percent(given: &Given, line: &mut Line) -> Result<f64, Missing> {
    let table = table_of(given.make_up()?, given.phases, given.line_mm2()?)?;
    line.cite(&table.mv);
    let (ib, length) = (given.design_a()?, given.length_m()?);
    let (current, metres) = (Quantity::written(ib, "A"), Quantity::written(length, "m"));
    let volts = if given.is_ring() {
        line.note("A ring as if all its load hung half way round: a quarter of a radial as long as the ring.");
        let volts = ring::mid_point_drop(table.mv.value, ib, length)?;
        line.step("Vd = mV/A/m x Ib x L / 1000 / 4", format!("{} x {current} x {metres} / 4000", table.mv), Quantity::new(volts, 2, "V"));
        volts
    } else {
        let volts = drop::tabulated(table.mv.value, ib, length)?;
        line.step("Vd = mV/A/m x Ib x L / 1000", format!("{} x {current} x {metres} / 1000", table.mv), Quantity::new(volts, 2, "V"));
        volts
    };
    let share = share(given, given.phases, volts, line)?;
    correct(given, ib, &table, volts, line);
    if matches!(given.usage, Some(Use::Lighting | Use::Sockets)) {
        line.note("All the load is taken at the far end; spread along the run it loses less.");
    }
    Ok(share)
}

fn share(given: &Given, phases: u32, volts: f64, line: &mut Line) -> Result<f64, Missing> {
    let nominal = nominal_v(given, phases)?;
    let share = drop::percent(volts, nominal)?;
    line.step("100 x Vd / U", format!("100 x {} / {}", Quantity::new(volts, 2, "V"), Quantity::written(nominal, "V")), percent(share));
    Ok(share)
}

const fn percent(share: f64) -> Quantity {
    Quantity::new(share, 2, "%")
}

/// The drop at the temperature that the conductors reach under this load, beside the tabulated one that the check stands on.
fn correct(given: &Given, ib: f64, table: &TabulatedDrop, volts: f64, line: &mut Line) {
    let method = given.method().unwrap_or_default();
    if Surroundings::of_method(method) == Surroundings::Ground {
        line.note("Not corrected for temperature: the correction is for cables in air.");
        return;
    }
    if table.x.is_some() {
        line.note("Not corrected for temperature: from 25 mm2 on the correction holds for the resistive part only.");
        return;
    }
    if given.is_ring() {
        line.note("Not corrected for temperature: how a ring's load is shared is not known.");
        return;
    }
    let corrected = current::tabulated_with_factors(given).ok().zip(given.cable.make_up).and_then(|((rated, ca, cg), make_up)| {
        let tp = f64::from(ampacity::insulation_c(make_up));
        let factor = drop::temperature_factor(&Loading { insulation_c: tp, load_a: ib, tabulated_a: rated.value, ca, cg }).ok()?;
        Some((rated, ca, cg, tp, factor))
    });
    let Some((rated, ca, cg, tp, factor)) = corrected else {
        line.note("Not corrected for temperature: no rating is held for that cable and method.");
        return;
    };
    line.step(
        "Ct = (230 + tp - (Ca2 Cg2 - Ib2/It2)(tp - 30)) / (230 + tp)",
        format!("(230 + {tp} - ({ca}^2 x {cg}^2 - {ib}^2/{}^2)({tp} - 30)) / (230 + {tp})", rated.value),
        Quantity::new(factor, 3, "ratio"),
    );
    let volts_shown = Quantity::new(volts, 2, "V");
    line.step("Ct x Vd", format!("{factor:.3} x {volts_shown}"), Quantity::new(factor * volts, 2, "V"));
    line.note(
        "The verdict stands on the tabulated figure, for conductors at their greatest temperature. Ct: BS 7671 Appendix 4 section 6.1, from memory.",
    );
}

fn feeder_percent(given: &Given, feeder: &Feeder, line: &mut Line) -> Result<f64, Missing> {
    let missing = |what: &str, key: &str| Missing { what: format!("the {what} of {} is missing", feeder.id), key: key.to_owned() };
    let cable = feeder.cable.as_ref().ok_or_else(|| missing("cable", "cable"))?;
    let make_up = cable.make_up.ok_or_else(|| missing("make-up of the cable", "cable.make_up"))?;
    let mm2 = *cable.line_mm2.ok_or_else(|| missing("size", "cable.line_mm2"))?;
    let length = *cable.length_m.ok_or_else(|| missing("length", "cable.length_m"))?;
    let ib = feeder.design_a.ok_or_else(|| missing("design current", "design_a"))?;
    let table = table_of(make_up, feeder.phases, mm2)?;
    line.cite(&table.mv);
    let volts = drop::tabulated(table.mv.value, ib, length)?;
    let numbers = format!("{} x {} x {} / 1000", table.mv, Quantity::written(ib, "A"), Quantity::written(length, "m"));
    line.step("Vd = mV/A/m x Ib x L / 1000", numbers, Quantity::new(volts, 2, "V"));
    share(given, feeder.phases, volts, line)
}

/// What the circuits before this one lose together, per cent.
pub(super) fn upstream_percent(given: &Given) -> Result<f64, Missing> {
    let mut sum = 0.0;
    for feeder in &given.upstream {
        sum += feeder_percent(given, feeder, &mut Line::new("", ""))?;
    }
    Ok(sum)
}

/// The limit for the circuit's use.
pub(super) fn limit(given: &Given) -> Result<Limit, Missing> {
    voltdrop::limit(given.usage()?, false).ok_or_else(|| Missing::figure("no table holds a limit of the volt drop"))
}

fn whole(given: &Given, check: &'static str, title: &str) -> Line {
    Line::worked(check, title, |line| {
        let total = if given.upstream.is_empty() {
            own_percent(given, line)?
        } else {
            let own = own_percent(given, &mut Line::new("", ""))?;
            let mut numbers = vec![percent(own).to_string()];
            let mut total = own;
            for feeder in &given.upstream {
                match feeder_percent(given, feeder, &mut Line::new("", "")) {
                    Ok(share) => {
                        numbers.push(percent(share).to_string());
                        total += share;
                    }
                    // What is over the limit by itself needs no more added.
                    Err(_) if own > limit(given)?.value => line.note(format!("{} could not be added.", feeder.id)),
                    Err(missing) => return Err(missing),
                }
            }
            let numbers = numbers.join(" + ");
            line.step("this circuit and those before it", numbers, percent(total));
            line.note("Each sub-main with its own design current.");
            total
        };
        let limit = limit(given)?;
        line.cite(&limit);
        if given.cable.length_m.is_some_and(|length| voltdrop::long_run_allowance(*length).is_some()) {
            line.note("What a run beyond 100 m may be allowed on top is not counted.");
        }
        if given.usage == Some(Use::SubMain) {
            line.note("What is left of the limit is for the circuits behind it; lighting has the lower one.");
        }
        let word = if given.usage == Some(Use::Lighting) { "Vd <= limit for lighting" } else { "Vd <= limit" };
        line.at_most(word, percent(total), Quantity::from(&limit));
        Ok(())
    })
}

/// The longest run by volt drop, m, with its sum.
pub(super) fn longest(given: &Given, line: &mut Line) -> Result<f64, Missing> {
    let table = table_of(given.make_up()?, given.phases, given.line_mm2()?)?;
    let (limit, before) = (limit(given)?, upstream_percent(given)?);
    let nominal = nominal_v(given, given.phases)?;
    let left = limit.value - before;
    let left_v = left * nominal / 100.0;
    let ib = given.design_a()?;
    let numbers = format!("({} - {}) x {} / 100", Quantity::from(&limit), percent(before), Quantity::written(nominal, "V"));
    line.step("Vd left = (limit - before) x U / 100", numbers, Quantity::new(left_v, 2, "V"));
    if left_v <= 0.0 {
        return Ok(0.0);
    }
    // All round a ring counts as a quarter.
    let (shares, word) = if given.is_ring() { (4.0, " x 4") } else { (1.0, "") };
    let metres = drop::longest_run(table.mv.value, ib, left_v)? * shares;
    let numbers = format!("1000 x {} / ({} x {}){word}", Quantity::new(left_v, 2, "V"), table.mv, Quantity::written(ib, "A"));
    line.step(format!("L by volt drop = 1000 x Vd left / (mV/A/m x Ib){word}"), numbers, Quantity::new(metres, 2, "m"));
    Ok(metres)
}
