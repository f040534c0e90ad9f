//! What a fault does to the device and to the protective conductor.

use super::earth_loop::{self, OHM};
use super::given::Given;
use super::working::{Line, Missing, Quantity};
use crate::record::{CpcKind, Earthing};
use crate::tables::adiabatic::{self, Insulation, Material, Part};
use crate::tables::disconnection::DisconnectionTime;
use crate::tables::{Limit, conductors, supply, zs};
use crate::wiring::{adiabatic as survives, fault};

/// The checks, in the order of the printout.
pub(super) fn lines(given: &Given) -> Vec<Line> {
    vec![breaking(given), far_end(given), near_end(given)]
}

fn breaking(given: &Given) -> Line {
    Line::worked("breaking-capacity", "Greatest fault current against the device", |line| {
        line.cite_text("BS 7671:2018 434.5.1", false);
        let breaking =
            given.ocpd.breaking_ka.ok_or_else(|| Missing::input("the device's breaking capacity", "ocpd.breaking_ka", "--breaking-ka"))?;
        let ipf = given.ipf_ka.as_ref().ok_or_else(|| {
            let most = supply::max_fault_ka().map_or(String::new(), |most| format!("; operators declare up to {most} ({})", most.source));
            let missing = Missing::input("the prospective fault current", "supply.ipf_ka", "--ipf-ka");
            Missing { what: format!("{}{most}", missing.what), ..missing }
        })?;
        line.note(format!("Ipf {}.", ipf.from));
        line.at_most("Ipf <= breaking capacity", Quantity::written(ipf.value, "kA"), Quantity::written(*breaking, "kA"));
        if line.fails() {
            line.note("The board's conditional rating with its cut-out may cover what the device alone does not: see the board's label.");
        }
        Ok(())
    })
}

/// The protective conductor: its area and k.
fn conductor(given: &Given) -> Result<(Quantity, Limit, Option<Limit>), Missing> {
    let make_up = given.make_up()?;
    let cpc = given.cable.cpc.unwrap_or(CpcKind::Core);
    let (area, source) = match cpc {
        CpcKind::Core => {
            let mm2 = given.cable.cpc_mm2.ok_or_else(|| Missing::input("the size of the cpc", "cable.cpc_mm2", "--cpc-mm2"))?;
            (Quantity::written(*mm2, "mm2"), None)
        }
        CpcKind::Armour => {
            let (mm2, cores) = (given.line_mm2()?, given.cable.cores.map_or(0, |cores| *cores));
            // Thermosetting cables are held with two cores; more cores have more armour.
            let area = conductors::armour_area(make_up, mm2, cores).or_else(|| conductors::armour_area(make_up, mm2, 2));
            let area = area.ok_or_else(|| Missing::figure("no table holds the area of that armour"))?;
            (Quantity::from(&area), Some(area))
        }
        CpcKind::Conduit => return Err(Missing::figure("the steel area of the conduit is not recorded; its maker gives it")),
    };
    let k = adiabatic::k_of_cpc(make_up, cpc, area.value).ok_or_else(|| Missing::figure("no table holds k of that conductor"))?;
    Ok((area, k, source))
}

fn cite_conductor(given: &Given, line: &mut Line, k: &Limit, area: Option<&Limit>) {
    line.cite(k);
    if let Some(area) = area {
        line.cite(area);
        if given.cable.cores.is_some_and(|cores| *cores > 2) {
            line.note(format!("Armour of at least {area}: that of a cable with two cores where more are not held."));
        }
    }
}

/// The cpc against the least fault current.
fn far_end(given: &Given) -> Line {
    Line::worked("cpc-far-end", "Cpc against a fault at the far end", |line| {
        let (area, k, of_armour) = conductor(given)?;
        cite_conductor(given, line, &k, of_armour.as_ref());
        let (shortest, _) = adiabatic::range_s().ok_or_else(|| Missing::figure("no table holds the range of the equation"))?;
        line.cite(&shortest);
        let (current, seconds) = if earth_loop::by_rcd(given) {
            let zs = earth_loop::zs_hot(given, &mut Line::new("", "")).or_else(|missing| by_electrode(given, missing))?;
            residual(given, "Zs", zs, line)?
        } else {
            let (_, needed, time) = earth_loop::zs_limit(given)?;
            let least = earth_loop::least_fault(given, line)?;
            if least < needed.value {
                return Err(Missing::figure("the device does not open in time, so no time can be put in"));
            }
            if given.standard()?.is_breaker() {
                line.note("t: a breaker at or above Ia opens within 0.1 s (BS EN 60898-1, from memory).");
                (least, shortest.value)
            } else {
                let point = fuse_point(given, least, time).ok_or_else(|| Missing::figure("the fuse's current and time are not held"))?;
                line.note("I and t: the point of the fuse's curve at or below the least fault current. A higher current lets less energy through.");
                point
            }
        };
        by_equation(line, current, seconds, &k, area)?;
        if line.fails() && !earth_loop::by_rcd(given) && given.standard()?.is_breaker() {
            return by_let_through(given, area, &k, line);
        }
        Ok(())
    })
}

/// The adiabatic equation, in its range.
fn by_equation(line: &mut Line, current: f64, seconds: f64, k: &Limit, area: Quantity) -> Result<(), Missing> {
    line.note("The equation holds from 0.1 s to 5 s; below it the device's let-through energy decides.");
    let needed = survives::least_area(current, seconds, k.value)?;
    let numbers = format!("sqrt({}^2 x {seconds} s) / {}", Quantity::new(current, 1, "A"), k.value);
    line.step("S = sqrt(I2 t) / k", numbers, Quantity::new(needed, 2, "mm2"));
    line.at_most("S <= cpc", Quantity::new(needed, 2, "mm2"), area);
    Ok(())
}

/// On TT the electrode alone stands for a loop that was not read: less than the loop, so more current than will flow.
fn by_electrode(given: &Given, missing: Missing) -> Result<f64, Missing> {
    let electrode = given.electrode.as_ref().filter(|_| given.earthing == Some(Earthing::Tt));
    electrode.map(|electrode| electrode.value).ok_or(missing)
}

/// The current through the loop, A, and the time that the RCD lets it flow, s, not under the range of the equation.
fn residual(given: &Given, symbol: &str, ohm: f64, line: &mut Line) -> Result<(f64, f64), Missing> {
    let current = fault::fault_current(given.nominal_v, 1.0, ohm)?;
    let numbers = format!("{} V / {}", given.nominal_v, Quantity::new(ohm, 3, OHM));
    line.step(format!("I = U0 / {symbol}"), numbers, Quantity::new(current, 1, "A"));
    let (_, most) = earth_loop::opening(given, current)?;
    let (shortest, _) = adiabatic::range_s().ok_or_else(|| Missing::figure("no table holds the range of the equation"))?;
    line.note(format!("t: the RCD opens within {most}; not less than {shortest} is put in."));
    Ok((current, (most.value / 1000.0).max(shortest.value)))
}

/// The highest tabulated current of a fuse that a fault reaches, A, with its time, s.
fn fuse_point(given: &Given, fault_a: f64, longest: DisconnectionTime) -> Option<(f64, f64)> {
    let (standard, rating) = (given.standard().ok()?, given.rating_a().ok()?);
    let times = [DisconnectionTime::S0_4, DisconnectionTime::S5];
    let points = times.into_iter().filter(|time| time.seconds() <= longest.seconds());
    points
        .filter_map(|time| Some((zs::operating_current(standard, None, rating, time, given.edition)?.value, time.seconds())))
        .find(|(current, _)| fault_a >= *current)
}

/// The cpc against the energy that the device lets through.
fn by_let_through(given: &Given, area: Quantity, k: &Limit, line: &mut Line) -> Result<(), Missing> {
    let energy = given.let_through_a2s.ok_or_else(|| Missing {
        what: "the breaker opens sooner than 0.1 s here, and its let-through energy decides: take it from the maker's sheet".to_owned(),
        key: "--let-through".to_owned(),
    })?;
    let needed = survives::area_for_let_through(energy, k.value)?;
    line.step("S = sqrt(I2t of the device) / k", format!("sqrt({energy} A2s) / {}", k.value), Quantity::new(needed, 2, "mm2"));
    line.at_most("S <= cpc", Quantity::new(needed, 2, "mm2"), area);
    Ok(())
}

/// The cpc against the greatest earth fault current, at the board.
fn near_end(given: &Given) -> Line {
    Line::worked("cpc-near-end", "Cpc against a fault at the near end", |line| {
        let (area, k, of_armour) = conductor(given)?;
        cite_conductor(given, line, &k, of_armour.as_ref());
        if let Some(energy) = given.let_through_a2s {
            line.note(format!("{energy} A2s is the maker's figure, given with --let-through."));
            return by_let_through(given, area, &k, line);
        }
        let make_up = given.make_up()?;
        // By the table first: what is as large as Table 54.7 asks needs no sum.
        let line_k = adiabatic::k(Part::Live, Material::Copper, Insulation::of(make_up), given.line_mm2()?);
        if let Some(line_k) = line_k {
            let by_table = survives::area_by_table(given.line_mm2()?, line_k.value, k.value)?;
            line.step(
                "S by Table 54.7 = line x k1 / k2",
                format!("{} mm2 x {} / {}", given.line_mm2()?, line_k.value, k.value),
                Quantity::new(by_table, 2, "mm2"),
            );
            line.cite(&line_k);
            if area.value + 1e-9 >= by_table {
                line.cite_text("BS 7671:2018 Table 54.7", false);
                line.at_most("S <= cpc", Quantity::new(by_table, 2, "mm2"), area);
                return Ok(());
            }
        }
        if earth_loop::by_rcd(given) {
            let start = earth_loop::start(given, line).map(|start| start.ohm).or_else(|missing| by_electrode(given, missing))?;
            let (current, seconds) = residual(given, "Z at the board", start, line)?;
            return by_equation(line, current, seconds, &k, area);
        }
        let start = earth_loop::start(given, line)?;
        let current = fault::fault_current(given.nominal_v, 1.0, start.ohm)?;
        let numbers = format!("{} V / {}", given.nominal_v, Quantity::new(start.ohm, 3, OHM));
        line.step(format!("I = U0 / {}", start.symbol), numbers, Quantity::new(current, 0, "A"));
        let standard = given.standard()?;
        if current < earth_loop::zs_limit(given)?.1.value {
            return Err(Missing::figure("the device does not open in time, so no time can be put in"));
        }
        let (current, seconds) = if standard.is_breaker() {
            (current, adiabatic::range_s().map_or(0.1, |(shortest, _)| shortest.value))
        } else {
            let (_, _, time) = earth_loop::zs_limit(given)?;
            let point = fuse_point(given, current, time).ok_or_else(|| Missing::figure("the fuse's current and time are not held"))?;
            line.note("I and t: the point of the fuse's curve at or below that current. A higher current lets less energy through.");
            point
        };
        by_equation(line, current, seconds, &k, area)?;
        if line.fails() && standard.is_breaker() {
            return by_let_through(given, area, &k, line);
        }
        Ok(())
    })
}
