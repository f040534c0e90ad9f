//! Load flow, short circuit and nodal analysis by programs that share no code with this one, row by row.
//! `fixtures/README.md` says which, and why each tolerance. Each function returns how many figures it compared.

use ampledger::wiring::fault::{self, Impedance};
use ampledger::wiring::resistance::{self, Coefficient, Protective, Run, at_temperature};
use ampledger::wiring::{drop, ring as loops};

use super::fixture::{close, rows};

fn coefficient(row: &super::fixture::Row) -> Coefficient {
    match row.text("alpha_per_k") {
        "0.00393" => Coefficient::Measured,
        "0.004" => Coefficient::Tables,
        other => panic!("an unknown coefficient {other}"),
    }
}

/// Resistance of one conductor, ohm: half the R1+R2 of a run with equal conductors.
fn conductor(mm2: f64, length_m: f64, conductor_c: f64, coefficient: Coefficient) -> f64 {
    let run = Run { line_mm2: mm2, protective: Protective::Core { mm2 }, length_m };
    resistance::r1_r2(&run, conductor_c, coefficient).expect("a resistance").value / 2.0
}

pub fn single_phase_drop() -> usize {
    let mut compared = 0;
    for row in rows("voltdrop_1ph.csv", 250) {
        let (volts, amps) = (row.number("u0_v"), row.number("current_a"));
        let r = conductor(row.number("csa_mm2"), row.number("length_m"), row.number("conductor_temp_c"), coefficient(&row));
        close(r, row.number("conductor_ohm"), 1e-9, "conductor");
        close(2.0 * r, row.number("loop_ohm"), 1e-9, "loop");
        let ours = drop::single_phase(r, amps).expect("a drop");
        for engine in ["vd_formula_v", "pandapower_const_i_v", "pgm_const_i_v", "opendss_const_i_v", "ngspice_const_i_v"] {
            close(ours, row.number(engine), 1e-8, engine);
        }
        let ours = drop::of_constant_power(volts, volts * amps, 2.0 * r).expect("a drop");
        for (engine, tolerance) in [
            ("vd_const_p_closed_v", 1e-8),
            ("pandapower_const_p_v", 1e-8),
            ("pandapower_4wire_const_p_v", 2e-6),
            ("opendss_const_p_v", 1e-8),
        ] {
            close(ours, row.number(engine), tolerance, engine);
        }
        compared += 11;
    }
    compared
}

pub fn single_phase_drop_with_reactance() -> usize {
    let mut compared = 0;
    for row in rows("voltdrop_1ph_reactance.csv", 30) {
        let (volts, amps, factor) = (row.number("u0_v"), row.number("current_a"), row.number("power_factor"));
        let length = row.number("length_m") / 1000.0;
        let loop_r = 2.0 * length * row.number("r_t_ohm_per_km");
        let loop_x = 2.0 * length * row.number("x_ohm_per_km");
        let near = drop::with_reactance(loop_r, loop_x, amps, factor).expect("a drop");
        close(near, row.number("vd_rcos_xsin_v"), 1e-9, "I (R cos + X sin)");
        let exact = drop::exact_with_reactance(volts, loop_r, loop_x, amps, factor).expect("a drop");
        for engine in ["pandapower_v", "pgm_v", "opendss_v"] {
            close(exact, row.number(engine), 1e-8, engine);
        }
        if exact < 0.05 * volts {
            assert!((near - exact).abs() < 0.0004 * volts, "{near} against {exact}");
        }
        compared += 4;
    }
    compared
}

pub fn three_phase_drop() -> usize {
    let mut compared = 0;
    for row in rows("voltdrop_3ph_22kw.csv", 40) {
        let (volts, watts) = (row.number("ull_v"), row.number("power_w"));
        let amps = watts / (3f64.sqrt() * volts);
        close(amps, row.number("current_a"), 1e-9, "current");
        let r = conductor(row.number("csa_mm2"), row.number("length_m"), row.number("conductor_temp_c"), coefficient(&row));
        let ours = drop::three_phase(r, amps).expect("a drop");
        for engine in ["vd_formula_ll_v", "pandapower_const_i_ll_v", "pgm_const_i_ll_v"] {
            close(ours, row.number(engine), 1e-8, engine);
        }
        let of_power = drop::of_constant_power(volts, watts, r).expect("a drop");
        close(of_power, row.number("vd_const_p_closed_ll_v"), 1e-8, "constant power");
        close(of_power, row.number("pandapower_const_p_ll_v"), 1e-8, "constant power");
        let x = 0.088 * row.number("length_m") / 1000.0;
        let root = 3f64.sqrt();
        let with_x = root * drop::exact_with_reactance(volts / root, r, x, amps, 1.0).expect("a drop");
        close(with_x, row.number("pandapower_const_i_with_x0_088_ll_v"), 1e-8, "with reactance");
        compared += 7;
    }
    compared
}

pub fn earth_fault() -> usize {
    let mut compared = 0;
    for row in rows("fault_line_earth.csv", 360) {
        let (line_mm2, cpc_mm2, length_m) = (row.number("line_csa_mm2"), row.number("cpc_csa_mm2"), row.number("length_m"));
        let conductor_c = row.number("conductor_temp_c");
        let r1 = conductor(line_mm2, length_m, conductor_c, coefficient(&row));
        let r2 = conductor(cpc_mm2, length_m, conductor_c, coefficient(&row));
        close(r1, row.number("r1_ohm"), 1e-9, "R1");
        close(r2, row.number("r2_ohm"), 1e-9, "R2");
        let run = Run { line_mm2, protective: Protective::Core { mm2: cpc_mm2 }, length_m };
        let both = resistance::r1_r2(&run, conductor_c, coefficient(&row)).expect("R1+R2").value;
        close(both, row.number("r1_ohm") + row.number("r2_ohm"), 1e-9, "R1+R2");
        let source = Impedance::of(row.number("ze_ohm"), row.number("ze_r_over_x")).expect("a source");
        let zs = fault::loop_impedance(source, Impedance::resistive(r1), Impedance::resistive(r2));
        close(zs, row.number("zs_phasor_ohm"), 1e-9, "Zs");
        // Added as plain numbers the loop is never smaller.
        assert!(resistance::expected_zs(row.number("ze_ohm"), both).expect("Zs") >= zs * (1.0 - 1e-12));
        let current = fault::fault_current(230.0, row.number("c_factor"), zs).expect("a current");
        for (engine, tolerance) in [("pandapower_ik_a", 1e-9), ("pgm_ik_a", 1e-9), ("opendss_ik_a", 1e-6), ("ngspice_ik_a", 1e-9)] {
            if let Some(theirs) = row.maybe(engine) {
                close(current, theirs, tolerance, engine);
                compared += 1;
            }
        }
        compared += 3;
    }
    compared
}

pub fn three_phase_fault() -> usize {
    let mut compared = 0;
    for row in rows("fault_3ph.csv", 36) {
        let (volts, c) = (row.number("u0_v"), row.number("c_factor"));
        // Half of the loop's source impedance belongs to the line conductor, half to the neutral.
        let source = Impedance::of(row.number("loop_ze_ohm") / 2.0, row.number("ze_r_over_x")).expect("a source");
        let r = Impedance::resistive(conductor(row.number("csa_mm2"), row.number("length_m"), 20.0, Coefficient::Measured));
        let line = source.plus(r);
        let three = fault::three_phase_fault_current(volts, c, line.magnitude()).expect("a current");
        close(three, row.number("pandapower_ik3_a"), 1e-8, "three-phase");
        close(three, row.number("pgm_ik3_a"), 1e-8, "three-phase");
        close(fault::line_to_line_fault_current(three).expect("a current"), row.number("pandapower_ik2_a"), 1e-8, "line to line");
        let single = fault::fault_current(volts, c, line.plus(line).magnitude()).expect("a current");
        close(single, row.number("ik1_line_neutral_formula_a"), 1e-9, "line to neutral");
        close(fault::three_phase_from_line_neutral(single).expect("a current"), three, 1e-12, "doubling");
        compared += 4;
    }
    compared
}

pub fn ring() -> usize {
    let mut compared = 0;
    for row in rows("ring_circuit.csv", 24) {
        let (r1, rn, r2) = (row.number("r1_end_to_end_ohm"), row.number("rn_end_to_end_ohm"), row.number("r2_end_to_end_ohm"));
        let x = row.number("position_fraction");
        let ok = |ours: ampledger::wiring::Result<f64>| ours.expect("a reading");
        close(ok(loops::cross_connected(r1, rn, x)), row.number("line_neutral_cross_ohm"), 1e-9, "line to neutral");
        close(ok(loops::cross_connected(r1, r2, x)), row.number("line_cpc_cross_ohm"), 1e-9, "line to cpc");
        close(ok(loops::quarter(r1, rn)), row.number("quarter_r1_rn_ohm"), 1e-9, "quarter");
        close(ok(loops::quarter(r1, r2)), row.number("quarter_r1_r2_ohm"), 1e-9, "quarter");
        let in_service = ok(loops::in_service(r1, r2, x));
        close(in_service, row.number("in_service_r1_r2_at_x_ohm"), 1e-9, "in service");
        let zs = ok(resistance::expected_zs(0.35, in_service));
        close(zs, row.number("zs_at_x_with_ze_0_35_pandapower_ohm"), 1e-9, "Zs round the ring");
        close(r2 / r1, row.number("ratio_r2_r1"), 1e-9, "r2/r1");
        compared += 7;
    }
    compared
}

pub fn parallel() -> usize {
    let mut compared = 0;
    for row in rows("parallel_resistance.csv", 6) {
        let ohms: Vec<f64> = row.text("resistances_ohm").split(' ').map(|ohm| ohm.parse().expect("a resistance")).collect();
        let ours = resistance::parallel(&ohms).expect("a resistance");
        for engine in ["parallel_nodal_ohm", "parallel_pint_ohm"] {
            close(ours, row.number(engine), 1e-9, engine);
            compared += 1;
        }
    }
    // At a set temperature the resistances are those of copper, not of the tables' rounded factor.
    close(at_temperature(7.41, 70.0, 0.00393).expect("in range"), 8.866065, 1e-12, "2.5 mm2 at 70 C");
    compared
}
