//! Plain physics: temperature, paths side by side, points of a ring, heat. Each function returns how many figures it compared.

use ampledger::record::MakeUp;
use ampledger::tables::conductors;
use ampledger::wiring::resistance::{self, Coefficient, Protective, Run};
use ampledger::wiring::{Error, adiabatic, drop, earthing, joint, pilot, ring};

use super::fixture::{close, rows};

/// Copper from -10 to 160 C by three formulas: 0.00393, 0.004, and (234.5 + T)/254.5.
pub fn copper_and_temperature() -> usize {
    let mut compared = 0;
    for row in rows("resistance_temperature.csv", 15) {
        let conductor_c = row.number("conductor_temp_c");
        let factor = |coefficient: Coefficient| {
            resistance::at_temperature(1.0, conductor_c, coefficient.per_c().expect("a coefficient")).expect("in range")
        };
        let measured = factor(Coefficient::Measured);
        close(measured, row.number("factor_alpha_0_00393"), 1e-9, "0.00393");
        close(factor(Coefficient::Tables), row.number("factor_alpha_0_004"), 1e-9, "0.004");
        close(measured, row.number("factor_234_5"), 2e-4, "234.5");
        for (mm2, column) in
            [(2.5, "r_2_5mm2_ohm_per_km"), (6.0, "r_6mm2_ohm_per_km"), (10.0, "r_10mm2_ohm_per_km"), (16.0, "r_16mm2_ohm_per_km")]
        {
            let run = Run { line_mm2: mm2, protective: Protective::Core { mm2 }, length_m: 1000.0 };
            let both = resistance::r1_r2(&run, conductor_c, Coefficient::Measured).expect("R1+R2").value;
            close(both / 2.0, row.number(column), 1e-9, column);
        }
        compared += 7;
    }
    compared
}

/// Least areas by the adiabatic equation, and the time that 2.5 mm2 stands: inverse of each other.
pub fn least_areas() -> usize {
    let mut compared = 0;
    for row in rows("adiabatic.csv", 57).iter().filter(|row| row.text("kind") == "s_min") {
        let (amps, seconds) = (row.number("current_a"), row.number("time_s"));
        let area = adiabatic::area_by_formula(amps, seconds, 115.0).expect("an area");
        close(area, row.number("s_min_mm2_k_table"), 1e-9, "least area");
        close(adiabatic::longest_time(2.5, amps, 115.0).expect("a time"), row.number("t_max_s_for_2_5mm2_k_table"), 1e-9, "time");
        close(adiabatic::longest_time(area, amps, 115.0).expect("a time"), seconds, 1e-12, "there and back");
        close(adiabatic::area_for_let_through(amps * amps * seconds, 115.0).expect("an area"), area, 1e-12, "let-through");
        // Outside 0.1 to 5 s the equation is refused.
        assert_eq!(adiabatic::least_area(amps, seconds, 115.0).is_ok(), (0.1..=5.0).contains(&seconds));
        compared += 2;
    }
    compared
}

/// IEC 60228 fixes a greatest resistance, not an area: it is 4 to 13 % above resistivity over area, never below.
pub fn iec_60228_is_over_resistivity_by_area() -> usize {
    let mut compared = 0;
    for row in rows("iec60228_vs_area.csv", 16) {
        let Some(ours) = conductors::resistance(row.number("csa_mm2")) else { continue };
        let over = ours.value / row.number("rho_17_241e_9_over_area_ohm_per_km");
        assert!((1.04..1.13).contains(&over), "{} mm2: {over}", row.text("csa_mm2"));
        compared += 1;
    }
    compared
}

/// A protective core with the armour beside it: less than either alone, and by the product over the sum.
pub fn parallel_paths() -> usize {
    let run = |protective| {
        let run = Run { line_mm2: 6.0, protective, length_m: 28.0 };
        resistance::r1_r2(&run, 20.0, Coefficient::Tables).expect("R1+R2").value
    };
    let line = 0.028 * 3.08;
    let core = run(Protective::Core { mm2: 6.0 });
    let armour = run(Protective::Armour { cable_mm2: 6.0, cores: 3 });
    let both = run(Protective::CoreBesideArmour { mm2: 6.0, cable_mm2: 6.0, cores: 3 });
    close(core, 2.0 * line, 1e-12, "core");
    close(armour, line + 0.028 * 6.7, 1e-12, "armour");
    close(both, line + 0.028 * (3.08 * 6.7) / (3.08 + 6.7), 1e-12, "both");
    assert!(both < core && both < armour);
    // Steel warms more steeply than copper, so the armour's share falls as the cable warms.
    let warm = |protective| {
        let run = Run { line_mm2: 6.0, protective, length_m: 28.0 };
        resistance::r1_r2(&run, 70.0, Coefficient::Tables).expect("R1+R2").value
    };
    close(warm(Protective::Core { mm2: 6.0 }) / core, 1.2, 1e-12, "copper");
    assert!(warm(Protective::Armour { cable_mm2: 6.0, cores: 3 }) / armour > 1.2);
    4
}

/// Points of a ring: symmetric, product over sum at the board, a quarter of the sum half way, and highest there.
pub fn points_of_a_ring() -> usize {
    let mut compared = 0;
    for (r1, r2) in [(0.44, 0.73), (0.30, 0.79), (0.52, 0.52)] {
        let at = |x| ring::cross_connected(r1, r2, x).expect("a reading");
        close(at(0.0), resistance::parallel(&[r1, r2]).expect("a resistance"), 1e-12, "at the board");
        close(at(0.5), ring::quarter(r1, r2).expect("a quarter"), 1e-12, "half way");
        for step in 0..=20 {
            let x = f64::from(step) / 20.0;
            close(at(x), at(1.0 - x), 1e-12, "either way round");
            assert!(at(x) <= at(0.5) + 1e-12);
            // Two ways round, each through both conductors, side by side at the far cross: (r1 x + r2 (1-x)) beside its mirror.
            let (one_way, other_way) = (r1 * x + r2 * (1.0 - x), r1 * (1.0 - x) + r2 * x);
            close(at(x), resistance::parallel(&[one_way, other_way]).expect("a resistance"), 1e-12, "two paths");
            compared += 1;
        }
    }
    compared
}

/// 10 mV across a joint at 32 A is 0.32 W and 0.3125 mohm; twice the current is four times the heat.
pub fn heat_in_a_joint() -> usize {
    close(joint::heat_w(10.0, 32.0).expect("heat"), 0.32, 1e-12, "heat");
    close(joint::resistance_mohm(10.0, 32.0).expect("a resistance"), 0.3125, 1e-12, "resistance");
    close(joint::heat_at(10.0, 16.0, 32.0).expect("heat"), 4.0 * 0.16, 1e-12, "twice the current");
    3
}

#[test]
fn what_is_outside_a_formula_is_refused_and_nothing_panics() {
    let refused = |result: ampledger::wiring::Result<f64>| matches!(result, Err(Error::OutOfRange { .. }));
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0] {
        assert!(refused(resistance::expected_zs(bad, 0.1)));
        assert!(refused(resistance::parallel(&[1.0, bad])));
        assert!(refused(ring::cross_connected(0.5, bad, 0.5)));
        assert!(refused(ring::cross_connected(0.5, 0.8, bad)));
        assert!(refused(drop::tabulated(bad, 1.0, 1.0)));
        assert!(refused(drop::of_constant_power(230.0, bad, 1.0)));
        assert!(refused(adiabatic::least_area(1000.0, bad, 115.0)));
        assert!(refused(joint::heat_w(bad, 1.0)));
        assert!(refused(earthing::electrode_limit(50.0, bad)));
        assert!(pilot::offered_current(bad).is_err());
    }
    assert!(refused(resistance::parallel(&[])));
    assert!(refused(drop::of_constant_power(230.0, 100_000.0, 1.0)));
    assert!(refused(resistance::at_temperature(1.0, 1000.0, 0.004)));
    let odd = Run { line_mm2: 7.0, protective: Protective::Core { mm2: 2.5 }, length_m: 10.0 };
    assert!(matches!(resistance::r1_r2(&odd, 20.0, Coefficient::Tables), Err(Error::NoFigure { .. })));
    assert!(matches!(adiabatic::armour(MakeUp::Flat70, 6.0, 3, 1000.0, 0.1), Err(Error::NoFigure { .. })));
    let said = resistance::expected_zs(-1.0, 0.1).expect_err("refused").to_string();
    assert_eq!(said, "Ze (ohm) -1 is under 0");
}

#[test]
fn pilot_voltages_show_the_state() {
    use pilot::State;
    for (volts, state) in [
        (12.1, Some(State::A)),
        (9.0, Some(State::B)),
        (5.6, Some(State::C)),
        (3.0, Some(State::D)),
        (0.2, Some(State::E)),
        (-12.0, Some(State::F)),
        (7.5, None),
    ] {
        assert_eq!(pilot::state(volts), Ok(state), "{volts} V");
    }
    assert!(pilot::state(40.0).is_err());
    assert!(State::ALL.iter().filter(|state| state.may_be_live()).eq([&State::C, &State::D]));
}
