//! Figures held against things outside the program: printed tables, worked examples, other people's solvers and statistics, plain
//! physics.
//!
//! Each comparison is a function that returns how many figures it compared; the list below makes a test of each, and the last test says
//! how many there were.

mod by_hand;
mod fixture;
mod limits;
mod physics;
mod printed;
mod rates;
mod required;
mod rows;
mod solvers;
mod trends;
mod worked_examples;

/// What figures were compared with.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Against {
    /// Printed tables and limits.
    Print,
    /// Published worked examples.
    Example,
    /// Other people's solvers.
    Solver,
    /// Plain physics, and sums by hand.
    Hand,
}

/// Makes a test of each comparison, and one that counts them all.
macro_rules! comparisons {
    ($($module:ident::$name:ident: $against:ident = $count:literal;)+) => {
        mod comparison {
            $(
                #[test]
                fn $name() {
                    assert_eq!(super::$module::$name(), $count);
                }
            )+
        }

        #[test]
        fn how_many_figures_were_compared() {
            let counts = [$((Against::$against, $module::$name())),+];
            let of = |against| counts.iter().filter(|count| count.0 == against).map(|count| count.1).sum::<usize>();
            let (print, example) = (of(Against::Print), of(Against::Example));
            let (solver, hand) = (of(Against::Solver), of(Against::Hand));
            println!("{} published figures compared: {print} of tables and limits, {example} of worked examples", print + example);
            println!("{solver} figures of other solvers compared, {hand} of plain physics and sums by hand");
            assert_eq!((print + example, solver, hand), (319, 6150, 290));
        }
    };
}

comparisons! {
    printed::breaker_limits: Print = 126;
    printed::fuse_limits_and_the_voltage_factor: Print = 15;
    printed::bs_88_2_limits_from_operating_currents: Print = 6;
    printed::electrode_limits: Print = 4;
    printed::pairs_of_conductors: Print = 14;
    printed::temperature_factors: Print = 8;
    printed::tabulated_volt_drop: Print = 60;
    printed::volt_drop_limits: Print = 3;
    printed::voltage_range: Print = 2;
    printed::k_values: Print = 13;
    printed::armour_areas_by_table: Print = 7;
    printed::measured_limits: Print = 2;
    printed::flat_cable_in_insulation: Print = 2;
    printed::conductor_resistance: Print = 12;
    printed::pilot_duty_cycles: Print = 12;

    worked_examples::r1_r2_by_length: Example = 3;
    worked_examples::ring_quarter_rule: Example = 3;
    worked_examples::water_heater_radial: Example = 4;
    worked_examples::adiabatic_of_a_fuse: Example = 2;
    worked_examples::adiabatic_of_a_breaker: Example = 4;
    worked_examples::adiabatic_of_armour: Example = 1;
    worked_examples::armour_as_cpc_done_wrong: Example = 3;
    worked_examples::loop_of_a_lighting_run: Example = 3;
    worked_examples::grouped_in_trunking: Example = 2;
    worked_examples::suspicious_ring: Example = 4;
    worked_examples::ring_drop_done_as_a_radial: Example = 2;
    worked_examples::origin_of_four_fifths: Example = 2;

    solvers::single_phase_drop: Solver = 2750;
    solvers::single_phase_drop_with_reactance: Solver = 120;
    solvers::three_phase_drop: Solver = 280;
    solvers::earth_fault: Solver = 2520;
    solvers::three_phase_fault: Solver = 144;
    solvers::ring: Solver = 168;
    solvers::parallel: Solver = 12;
    rates::intervals_of_a_rate: Solver = 76;
    rates::two_rates: Solver = 80;

    worked_examples::household_demand: Hand = 5;
    by_hand::charge_point_on_28_m_of_armoured_cable: Hand = 14;
    physics::copper_and_temperature: Hand = 105;
    physics::least_areas: Hand = 84;
    physics::iec_60228_is_over_resistivity_by_area: Hand = 12;
    physics::parallel_paths: Hand = 4;
    physics::points_of_a_ring: Hand = 63;
    physics::heat_in_a_joint: Hand = 3;
}
