//! Worked examples published for electricians, done again. Where the published answer is wrong the test says so: the program must give the
//! right one. Each function returns how many published figures it held against ours, right or wrong.

use ampledger::record::MakeUp;
use ampledger::tables::ampacity::{self, Arrangement};
use ampledger::tables::disconnection::DisconnectionTime;
use ampledger::tables::{Edition, conductors, round_half_up, voltdrop, zs};
use ampledger::wiring::capacity::{self, Installation};
use ampledger::wiring::demand::{self, Load};
use ampledger::wiring::resistance::{self, Coefficient, Protective, Run};
use ampledger::wiring::{adiabatic, drop, fault, ring};

fn cold(line_mm2: f64, cpc_mm2: f64, length_m: f64) -> f64 {
    let run = Run { line_mm2, protective: Protective::Core { mm2: cpc_mm2 }, length_m };
    resistance::r1_r2(&run, 20.0, Coefficient::Tables).expect("R1+R2").value
}

fn rounded(value: ampledger::wiring::Result<f64>, decimals: u8) -> f64 {
    round_half_up(value.expect("a figure"), decimals)
}

/// Flat cable 2.5/1.5 mm2, 22 m: line 0.163, protective 0.266, both 0.429 ohm.
pub fn r1_r2_by_length() -> usize {
    assert_eq!(round_half_up(cold(2.5, 2.5, 22.0) / 2.0, 3), 0.163);
    assert_eq!(round_half_up(cold(1.5, 1.5, 22.0) / 2.0, 3), 0.266);
    assert_eq!(round_half_up(cold(2.5, 1.5, 22.0), 3), 0.429);
    3
}

/// r1 0.54 ohm, r2 1.67 times that: 0.90, then 0.36 half way round and 0.3375 at the board. The page calls the two alternatives; they are
/// the highest and the lowest reading of one ring.
pub fn ring_quarter_rule() -> usize {
    let (r1, r2) = (0.54, 0.90);
    assert_eq!(round_half_up(0.54 * 1.67, 1), r2);
    assert_eq!(rounded(ring::quarter(r1, r2), 2), 0.36);
    assert_eq!(rounded(ring::cross_connected(r1, r2, 0.0), 4), 0.3375);
    3
}

/// 5 kW at 230 V, B25, 18 m, 35 C, two circuits, 300 mm in insulation: Ib 21.74 A (published cut off as 21.73), It 65.18 A, 1.72 V in
/// 10 mm2 (published in amperes). The factor 0.51 taken for 300 mm belongs to 400 mm: in proportion it is 0.57, and 10 mm2 is enough.
pub fn water_heater_radial() -> usize {
    let load: f64 = 5000.0 / 230.0;
    assert_eq!((load * 100.0).floor() / 100.0, 21.73);
    let published = capacity::tabulated_needed(25.0, &[0.94, 0.80, 0.51]).expect("a rating");
    assert_eq!((published * 100.0).floor() / 100.0, 65.18);
    let mv = voltdrop::tabulated(MakeUp::Flat70, 1, 10.0).expect("a drop").mv.value;
    assert_eq!(rounded(drop::tabulated(mv, 21.73, 18.0), 2), 1.72);
    let installation = Installation {
        make_up: MakeUp::Flat70,
        method: "C",
        phases: 1,
        ambient_c: Some(35.0),
        grouped: 2,
        arrangement: Arrangement::Bunched,
        insulation_mm: 300.0,
        rewireable: false,
        terminal_c: 70,
        edition: Edition::A2Y2022,
    };
    let (mm2, iz) = capacity::smallest_size(&installation, 25.0).expect("a size");
    assert_eq!((mm2, iz.tabulated.value), (10.0, 64.0));
    let symbols: Vec<_> = iz.factors.iter().map(|(symbol, limit)| (*symbol, limit.value)).collect();
    assert_eq!(symbols, [("Ca", 0.94), ("Cg", 0.80), ("Ci", 0.57)]);
    // The reader's 16 mm2 is what the 400 mm factor asks for.
    assert_eq!(capacity::smallest_size(&Installation { insulation_mm: 400.0, ..installation }, 25.0).expect("a size").0, 16.0);
    4
}

/// 40 A BS 88 fuse, Zs 1.2 ohm: 2.46 mm2, which holds at 240 V and 2 s.
pub fn adiabatic_of_a_fuse() -> usize {
    let current = fault::fault_current(240.0, 1.0, 1.2).expect("a current");
    assert_eq!(current, 200.0);
    assert_eq!(rounded(adiabatic::least_area(current, 2.0, 115.0), 2), 2.46);
    2
}

/// B16. First try: the page adds 0.11 and 0.22 to 0.23 ohm and goes on with 1000 A, 2.749 mm2; the sum is 0.33 ohm and 697 A. Second try:
/// 0.32 ohm, 719 A, 0.01 s, 0.62 mm2: right by the formula, and under the range of the equation.
pub fn adiabatic_of_a_breaker() -> usize {
    let zs = resistance::expected_zs(0.11, 0.22).expect("Zs");
    assert_eq!(round_half_up(zs, 2), 0.33);
    assert_ne!(round_half_up(zs, 2), 0.23);
    assert_eq!(rounded(fault::fault_current(230.0, 1.0, zs), 0), 697.0);
    assert!((adiabatic::least_area(1000.0, 0.1, 115.0).expect("an area") - 2.749).abs() < 0.001);
    let second = resistance::expected_zs(0.11, 0.21).expect("Zs");
    let current = fault::fault_current(230.0, 1.0, second).expect("a current");
    assert_eq!(round_half_up(current, 0), 719.0);
    assert!((adiabatic::area_by_formula(current, 0.01, 115.0).expect("an area") - 0.62).abs() < 0.01);
    assert!(adiabatic::least_area(current, 0.01, 115.0).is_err());
    4
}

/// Armour of a 70 mm2 four-core cable: 1966 A for 0.1 s with k 46 needs 13.5 mm2.
pub fn adiabatic_of_armour() -> usize {
    assert_eq!(rounded(adiabatic::least_area(1966.0, 0.1, 46.0), 1), 13.5);
    1
}

/// 25 mm2 two-core armoured, 4 m, armour of a fifth of the copper's conductance, Ze 0.18, 240 V, 1300 A. Published R2 0.3635 mohm/m, Zs
/// 0.18436 ohm and 6.78 mm2: R2 is ten times too small, and the area is 8.94. It is still far under the armour's 42 mm2.
pub fn armour_as_cpc_done_wrong() -> usize {
    let r1 = conductors::resistance(25.0).expect("held").value;
    let r2 = r1 * 5.0;
    assert_eq!(round_half_up(r2, 3), 3.635);
    assert_ne!(round_half_up(r2, 4), 0.3635);
    let zs = resistance::expected_zs(0.18, (r1 + r2) * 4.0 / 1000.0).expect("Zs");
    assert_eq!(round_half_up(zs, 4), 0.1974);
    assert_ne!(round_half_up(zs, 5), 0.18436);
    let check = adiabatic::armour(MakeUp::Armoured90, 25.0, 2, 1300.0, 0.1).expect("an area");
    assert_eq!(round_half_up(check.needed_mm2, 2), 8.94);
    assert_ne!(round_half_up(check.needed_mm2, 2), 6.78);
    assert_eq!(check.area.value, 42.0);
    assert!(check.passes());
    3
}

/// Lighting, 1.5/1.0 mm2, 10 m, Ze 0.6: R1+R2 0.36 and Zs 0.96 ohm warm; 0.9 ohm as it should read cold.
pub fn loop_of_a_lighting_run() -> usize {
    let cold = cold(1.5, 1.0, 10.0);
    let warm = resistance::zs_at_working_temperature(0.6, cold, 20.0, 70.0).expect("Zs");
    assert_eq!(round_half_up(warm - 0.6, 2), 0.36);
    assert_eq!(round_half_up(warm, 2), 0.96);
    assert_eq!(rounded(resistance::expected_zs(0.6, cold), 1), 0.9);
    3
}

/// A 24 A cable with six other circuits: 13.7 A by 0.57. Six others and this one are seven: 0.54, 12.96 A.
pub fn grouped_in_trunking() -> usize {
    assert_eq!(round_half_up(24.0 * 0.57, 1), 13.7);
    let installation = Installation {
        make_up: MakeUp::Singles70,
        method: "B",
        phases: 1,
        ambient_c: None,
        grouped: 7,
        arrangement: Arrangement::Bunched,
        insulation_mm: 0.0,
        rewireable: false,
        terminal_c: 70,
        edition: Edition::A2Y2022,
    };
    let iz = capacity::iz(&installation, 2.5).expect("a rating");
    assert_eq!((iz.tabulated.value, round_half_up(iz.iz_a, 2)), (24.0, 12.96));
    assert_ne!(round_half_up(iz.iz_a, 1), 13.7);
    assert_eq!(ampacity::grouping(Arrangement::Bunched, 6).map(|limit| limit.value), Some(0.57));
    2
}

/// End to end 1.6, 1.6 and 4.1 ohm: the quarter is 0.8, the cpc point 1.425, the ring would be 216 m, the ratio 2.56 and not 1.63.
pub fn suspicious_ring() -> usize {
    assert_eq!(rounded(ring::quarter(1.6, 1.6), 1), 0.8);
    assert_eq!(rounded(ring::quarter(1.6, 4.1), 3), 1.425);
    assert_eq!(rounded(ring::length_from_end_to_end(2.5, 1.6).map(|length| length.value), 0), 216.0);
    let ratio = ring::expected_ratio(2.5, 1.5).expect("a ratio").value;
    assert_eq!(round_half_up(ratio, 2), 1.63);
    assert!(4.1 / 1.6 > 1.5 * ratio);
    4
}

/// 40 m of ring, 18 mV/A/m, 32 A: published 23.04 V, as for a radial. At the middle of a 40 m ring it is a quarter: 5.76 V.
pub fn ring_drop_done_as_a_radial() -> usize {
    assert_eq!(rounded(drop::tabulated(18.0, 32.0, 40.0), 2), 23.04);
    assert_eq!(rounded(ring::mid_point_drop(18.0, 32.0, 40.0), 2), 5.76);
    2
}

/// 1.20/0.96 = 1.25 between 10 and 70 C, said to equate to 75 %: it is 80 %, the rule's factor.
pub fn origin_of_four_fifths() -> usize {
    let per_c = Coefficient::Tables.per_c().expect("0.004");
    let at = |conductor_c| resistance::at_temperature(1.0, conductor_c, per_c).expect("in range");
    assert_eq!(round_half_up(at(70.0) / at(10.0), 2), 1.25);
    let share = at(10.0) / at(70.0);
    assert_eq!(round_half_up(share, 2), 0.80);
    assert_ne!(round_half_up(share, 2), 0.75);
    let limit = zs::max_zs(ampledger::tables::DeviceStandard::Bs60898, Some("B"), 32.0, DisconnectionTime::S0_4, Edition::A2Y2022);
    let limit = limit.expect("B32");
    assert_eq!(zs::cold_limit(&limit).value, round_half_up(limit.value * share, 3));
    2
}

/// A house by the allowances: cooker 32 A with a socket 21.6, shower 41.3, two 32 A rings 44.8, 6 A of lighting 4.0, and a charge point
/// of 32 A in full.
pub fn household_demand() -> usize {
    let loads = [
        Load::Cooker { a: 32.0, socket: true },
        Load::InstantWater(41.3),
        Load::Sockets(32.0),
        Load::Sockets(32.0),
        Load::Lighting(6.0),
        Load::Ev(32.0),
    ];
    let house = demand::household(&loads, None).expect("a demand");
    let line = |name| house.lines.iter().find(|line| line.0 == name).map(|line| round_half_up(line.1, 1));
    assert_eq!(line("cookers"), Some(21.6));
    assert_eq!(line("instantaneous water heaters"), Some(41.3));
    assert_eq!(line("socket-outlets"), Some(44.8));
    assert_eq!(line("lighting"), Some(4.0));
    assert_eq!((round_half_up(house.total_a, 1), house.limited), (143.7, false));
    // Load limiting sheds the vehicle and nothing else: the house alone is over 100 A and stays so.
    let limited = demand::household(&loads, Some(100.0)).expect("a demand");
    assert_eq!((round_half_up(limited.total_a, 1), limited.limited), (111.7, true));
    assert_eq!(demand::cutout_headroom(100.0, house.total_a).map(|left| left < 0.0), Ok(true));
    5
}
