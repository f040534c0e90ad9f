//! Load, device and cable: Ib <= In <= Iz, what the device lets run on, and a ring's own rule.

use super::given::Given;
use super::working::{Line, Missing, Quantity};
use crate::tables::{DeviceStandard, Limit, ampacity, ring};
use crate::wiring;
use crate::wiring::capacity::{self, Installation};

/// The checks, in the order of the printout.
pub(super) fn lines(given: &Given) -> Vec<Line> {
    let mut lines = vec![design_current(given)];
    if given.is_ring() {
        lines.extend([ring_capacity(given), ring_device(given), ring_size(given)]);
    } else {
        lines.extend([cable_capacity(given), overload(given)]);
    }
    lines
}

fn design_current(given: &Given) -> Line {
    Line::worked("design-current", "Design current against device", |line| {
        line.cite_text("BS 7671:2018 433.1.1", false);
        let (ib, rating) = (given.design_a()?, given.rating_a()?);
        if given.is_ring() {
            line.note("Ib of a ring is the load after diversity.");
        }
        line.at_most("Ib <= In", Quantity::written(ib, "A"), Quantity::written(rating, "A"));
        Ok(())
    })
}

fn installation(given: &Given, rewireable: bool) -> Result<Installation<'_>, Missing> {
    Ok(Installation {
        make_up: given.make_up()?,
        method: given.method()?,
        phases: given.phases,
        ambient_c: given.cable.ambient_c.map(|ambient| *ambient),
        grouped: given.cable.grouped.map_or(1, |grouped| *grouped),
        arrangement: given.arrangement,
        insulation_mm: given.cable.insulation_mm.map_or(0.0, |run| *run),
        rewireable,
        terminal_c: given.terminal_c,
        edition: given.edition,
    })
}

/// The current-carrying capacity with every factor, put into the line's steps.
fn iz(given: &Given, line: &mut Line) -> Result<Quantity, Missing> {
    let rewireable = given.standard()? == DeviceStandard::Bs3036;
    let installation = installation(given, rewireable)?;
    let mm2 = given.line_mm2()?;
    let is_held_to_70 = ampacity::insulation_c(installation.make_up) > 70 && given.terminal_c <= 70;
    let capacity = capacity::iz(&installation, mm2).map_err(|error| match error {
        wiring::Error::NoFigure { .. } if is_held_to_70 => {
            Missing { what: format!("{error} at 70 C, as its terminals ask"), key: "--terminal-c 90 where both ends allow it".to_owned() }
        }
        _ => Missing::from(error),
    })?;
    line.cite(&capacity.tabulated);
    if is_held_to_70 && let Some(terminals) = ampacity::usual_terminal_c() {
        line.note(format!("A 90 C cable that ends in 70 C terminals is held to the 70 C table ({}).", terminals.source));
    }
    let at = format!("It ({mm2} mm2, method {}, {})", installation.method, if given.phases == 3 { "3-phase" } else { "1-phase" });
    line.step(at, "", Quantity::from(&capacity.tabulated));
    let ambient = installation.ambient_c.map_or("the table's own".to_owned(), |ambient| format!("{ambient} C"));
    let run = if installation.insulation_mm > 0.0 { format!("{} mm", installation.insulation_mm) } else { "none".to_owned() };
    let mut factors = vec![
        ("Ca", format!("ambient {ambient}")),
        ("Cg", format!("{} grouped", installation.grouped)),
        ("Ci", format!("insulation {run}")),
    ];
    if rewireable {
        factors.push(("Cf", "rewireable fuse".to_owned()));
    }
    let mut formula = "Iz = It".to_owned();
    let mut numbers = Quantity::from(&capacity.tabulated).to_string();
    let mut of_what = Vec::new();
    for (symbol, why) in factors {
        // Factors of 1 are left out by the sum, and written out here.
        let factor = capacity.factors.iter().find(|(of, _)| *of == symbol).map(|(_, factor)| factor);
        factor.iter().for_each(|factor| line.cite(factor));
        formula.push_str(&format!(" x {symbol}"));
        numbers.push_str(&format!(" x {}", factor.map_or("1".to_owned(), ToString::to_string)));
        of_what.push(format!("{symbol}: {why}"));
    }
    line.note(format!("{}.", of_what.join("; ")));
    let iz = Quantity::new(capacity.iz_a, 1, "A");
    line.step(formula, numbers, iz);
    Ok(iz)
}

fn cable_capacity(given: &Given) -> Line {
    Line::worked("cable-capacity", "Device against cable", |line| {
        line.cite_text("BS 7671:2018 433.1.1", false);
        let rating = given.rating_a()?;
        let iz = iz(given, line)?;
        line.at_most("In <= Iz", Quantity::written(rating, "A"), iz);
        Ok(())
    })
}

/// The current that makes the device open in its conventional time, against 1.45 Iz.
fn overload(given: &Given) -> Line {
    Line::worked("overload", "What the device lets run on (I2 <= 1.45 Iz)", |line| {
        let standard = given.standard()?;
        let rating = Quantity::written(given.rating_a()?, "A");
        match standard {
            DeviceStandard::Bs3036 => {
                if let Some(factor) = ampacity::rewireable_factor() {
                    line.cite(&factor);
                    line.note(format!("A rewireable fuse lets more run on: In <= {factor} x It x Ca x Cg x Ci stands for it."));
                }
            }
            DeviceStandard::Bs60898
            | DeviceStandard::Bs61009
            | DeviceStandard::Bs60947_2
            | DeviceStandard::Bs88_2
            | DeviceStandard::Bs88_3 => {
                line.cite_text("BS 7671:2018 433.1.201", true);
                line.note(format!("{standard}: met where In <= Iz."));
            }
            _ => return Err(Missing::figure(format!("the conventional operating current of {standard} is not held here"))),
        }
        let iz = iz(given, &mut Line::new("", ""))?;
        line.at_most("In <= Iz", rating, iz);
        Ok(())
    })
}

fn held(limit: Option<Limit>, what: &str) -> Result<Limit, Missing> {
    limit.ok_or_else(|| Missing::figure(format!("no table holds {what} for this edition")))
}

fn ring_capacity(given: &Given) -> Line {
    Line::worked("ring-capacity", "Cable of the ring (433.1.204)", |line| {
        let least = held(ring::least_iz_a(given.edition), "the least Iz of a ring")?;
        line.cite(&least);
        let iz = iz(given, line)?;
        line.at_least("Iz >= least", iz, Quantity::from(&least));
        Ok(())
    })
}

fn ring_device(given: &Given) -> Line {
    Line::worked("ring-device", "Device of the ring (433.1.204)", |line| {
        let (least, most) =
            ring::device_ratings_a(given.edition).ok_or_else(|| Missing::figure("no table holds the ratings of a ring's device"))?;
        line.cite(&most);
        let rating = given.rating_a()?;
        line.note(format!("{} or {}.", Quantity::from(&least), Quantity::from(&most)));
        line.at_most("In <= most", Quantity::written(rating, "A"), Quantity::from(&most));
        if rating < least.value {
            line.at_least("In >= least", Quantity::written(rating, "A"), Quantity::from(&least));
        }
        Ok(())
    })
}

fn ring_size(given: &Given) -> Line {
    Line::worked("ring-size", "Conductor of the ring (433.1.204)", |line| {
        let least = held(ring::least_line_mm2(given.edition), "the least size of a ring")?;
        line.cite(&least);
        line.at_least("S >= least", Quantity::written(given.line_mm2()?, "mm2"), Quantity::from(&least));
        Ok(())
    })
}

/// The tabulated rating of the cable as it is made, and its factors, for the correction of the volt drop.
pub(super) fn tabulated_with_factors(given: &Given) -> Result<(Limit, f64, f64), Missing> {
    let rated = Installation { terminal_c: 90, insulation_mm: 0.0, ..installation(given, false)? };
    let capacity = capacity::iz(&rated, given.line_mm2()?)?;
    let factor = |symbol| capacity.factors.iter().find(|(of, _)| *of == symbol).map_or(1.0, |(_, factor)| factor.value);
    // A cool room counts as the table's own: the correction does not go above 1.
    Ok((capacity.tabulated.clone(), factor("Ca").min(1.0), factor("Cg")))
}
