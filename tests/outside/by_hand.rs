//! A design worked by hand, and decisions that have no figure to compare.

use ampledger::record::{Cable, Count, CpcKind, MakeUp, NoticeRoute, Num, Premises, Service};
use ampledger::tables::ampacity::Arrangement;
use ampledger::tables::disconnection::DisconnectionTime;
use ampledger::tables::{Confidence, DeviceStandard, Edition, adiabatic as k_table, ampacity, round_half_up, voltdrop, zs};
use ampledger::wiring::capacity::{self, Installation};
use ampledger::wiring::network::{self, Connection, Trigger};
use ampledger::wiring::resistance::{self, Coefficient, Run};
use ampledger::wiring::{adiabatic, drop, earthing, fault};

fn armoured(terminal_c: u32) -> Installation<'static> {
    Installation {
        make_up: MakeUp::Armoured90,
        method: "C",
        phases: 1,
        ambient_c: Some(30.0),
        grouped: 1,
        arrangement: Arrangement::Bunched,
        insulation_mm: 0.0,
        rewireable: false,
        terminal_c,
        edition: Edition::A4Y2026,
    }
}

/// 7.4 kW at the end of 28 m of 6 mm2 three-core armoured cable, clipped, from a B40, TN-C-S with Ze 0.20 ohm.
pub fn charge_point_on_28_m_of_armoured_cable() -> usize {
    let cable = Cable {
        make_up: Some(MakeUp::Armoured90),
        cores: Some(Count(3)),
        line_mm2: Some(Num(6.0)),
        cpc_mm2: Some(Num(6.0)),
        cpc: Some(CpcKind::Core),
        length_m: Some(Num(28.0)),
        ..Cable::default()
    };
    let run = Run::of(&cable).expect("a whole record");
    let to = |value: f64, decimals| round_half_up(value, decimals);
    // 28 x (3.08 + 3.08) / 1000 = 0.172 ohm cold; x 1.28 = 0.221 ohm at 90 C; with the armour beside the core
    // 28 x (3.08 + 3.08 x 6.7 / 9.78) / 1000 = 0.145.
    let cold = resistance::r1_r2(&run, 20.0, Coefficient::Tables).expect("R1+R2").value;
    let hot = resistance::r1_r2(&run, 90.0, Coefficient::Tables).expect("R1+R2").value;
    let beside = run.with_armour(&cable).expect("an armoured cable");
    let beside = resistance::r1_r2(&beside, 20.0, Coefficient::Tables).expect("R1+R2").value;
    assert_eq!((to(cold, 3), to(hot, 3), to(beside, 3)), (0.172, 0.221, 0.145));
    // Zs 0.20 + 0.172 = 0.372 as it should read; 0.421 hot; limit 1.09, measured limit 0.872.
    let limit = zs::max_zs(DeviceStandard::Bs61009, Some("B"), 40.0, DisconnectionTime::S0_4, Edition::A4Y2026).expect("B40");
    let zs_hot = resistance::expected_zs(0.20, hot).expect("Zs");
    assert_eq!(to(resistance::expected_zs(0.20, cold).expect("Zs"), 3), 0.372);
    assert_eq!((to(zs_hot, 3), limit.value, zs::cold_limit(&limit).value), (0.421, 1.09, 0.872));
    // 7.9 x 32 x 28 / 1000 = 7.08 V = 3.08 %.
    let mv = voltdrop::tabulated(MakeUp::Armoured90, 1, 6.0).expect("a drop").mv.value;
    let volts = drop::tabulated(mv, 32.0, 28.0).expect("a drop");
    assert_eq!((to(volts, 2), to(drop::percent(volts, 230.0).expect("per cent"), 2)), (7.08, 3.08));
    // 62 A clipped by the 90 C table; 49 A, from memory, where the terminals allow 70 C.
    assert_eq!(capacity::iz(&armoured(90), 6.0).expect("a rating").iz_a, 62.0);
    let at_70 = capacity::iz(&armoured(70), 6.0).expect("a rating");
    assert_eq!((at_70.iz_a, at_70.confidence), (49.0, Confidence::Memory));
    // 4 mm2 carries 49 A: the smallest for the 40 A device.
    assert_eq!(capacity::smallest_size(&armoured(90), 40.0).expect("a size").0, 4.0);
    // Longest runs: 11.5 V / (7.9 x 32) = 45.5 m; (1.09 - 0.20) / (6.16 x 1.28) = 112.9 m.
    assert_eq!(to(drop::longest_run(mv, 32.0, 11.5).expect("a length"), 1), 45.5);
    assert_eq!(to(resistance::longest_run_for_zs(1.09, 0.20, 6.16 * 1.28).expect("a length"), 1), 112.9);
    // 230 / 0.20 = 1150 A for 0.1 s with k 143: 2.54 mm2.
    let current = fault::fault_current(230.0, 1.0, 0.20).expect("a current");
    let k = k_table::k_of_cpc(MakeUp::Armoured90, CpcKind::Core, 6.0).expect("a k").value;
    assert_eq!((to(current, 0), to(adiabatic::least_area(current, 0.1, k).expect("an area"), 2)), (1150.0, 2.54));
    14
}

#[test]
fn a_record_without_a_size_or_a_length_gives_no_run() {
    let whole = Cable { line_mm2: Some(Num(6.0)), cpc_mm2: Some(Num(2.5)), length_m: Some(Num(10.0)), ..Cable::default() };
    assert!(Run::of(&whole).is_some());
    assert!(Run::of(&Cable { length_m: None, ..whole.clone() }).is_none());
    assert!(Run::of(&Cable { cpc_mm2: None, ..whole.clone() }).is_none());
    assert!(Run::of(&Cable { cpc: Some(CpcKind::Conduit), ..whole.clone() }).is_none());
    assert!(Run::of(&whole).and_then(|run| run.with_armour(&whole)).is_none());
}

/// Every factor lowers the rating: 2.5 mm2 of 27 A at 40 C (0.87), three circuits (0.70) behind a rewireable fuse (0.725).
#[test]
fn factors_multiply() {
    let installation =
        Installation { make_up: MakeUp::Flat70, ambient_c: Some(40.0), grouped: 3, rewireable: true, terminal_c: 70, ..armoured(70) };
    let iz = capacity::iz(&installation, 2.5).expect("a rating");
    let symbols: Vec<_> = iz.factors.iter().map(|(symbol, limit)| (*symbol, limit.value)).collect();
    assert_eq!(symbols, [("Ca", 0.87), ("Cg", 0.70), ("Cf", 0.725)]);
    assert_eq!(round_half_up(iz.iz_a, 2), 11.92);
    // Between two printed temperatures or numbers of circuits the stricter one is taken, and said to be worked out.
    let between = ampacity::ambient(70, ampacity::Surroundings::Air, 37.0).expect("a factor");
    assert_eq!((between.value, between.confidence), (0.87, Confidence::Derived));
    assert_eq!(ampacity::grouping(Arrangement::Bunched, 10).map(|limit| limit.value), Some(0.45));
    assert_eq!(ampacity::ambient(70, ampacity::Surroundings::Air, 65.0), None);
    assert_eq!(ampacity::tabulated(MakeUp::Flat70, "method c", 2.5, 1).map(|limit| limit.value), Some(27.0));
}

/// Half load runs cooler: (230 + 70 - (1 - 0.25) 40) / 300 = 0.9. Full load gives the table's figure.
#[test]
fn a_lightly_loaded_cable_drops_less() {
    let at = |load_a| {
        drop::temperature_factor(&drop::Loading { insulation_c: 70.0, load_a, tabulated_a: 64.0, ca: 1.0, cg: 1.0 }).expect("a factor")
    };
    assert_eq!((round_half_up(at(32.0), 6), at(64.0), at(80.0)), (0.9, 1.0, 1.0));
}

/// 70 V is 70/160 of what is left of 230 V: with 40 A of load 5.75 ohm, the electrode may have 2.52 ohm.
#[test]
fn a_broken_pen_conductor_is_a_voltage_divider() {
    let electrode = earthing::open_pen_electrode(230.0, 40.0, 70.0).expect("a resistance");
    assert_eq!(round_half_up(electrode, 2), 2.52);
    assert_eq!(round_half_up(earthing::open_pen_voltage(230.0, 40.0, electrode).expect("a voltage"), 6), 70.0);
    assert_eq!(round_half_up(earthing::touch_voltage(1667.0, 30.0).expect("a voltage"), 1), 50.0);
    assert_eq!(round_half_up(earthing::greatest_trip_ma(50.0, 200.0).expect("a current"), 0), 250.0);
}

#[test]
fn the_operators_route_names_every_reason() {
    let plain = Connection {
        cutout_a: Some(100.0),
        service: Some(Service::Separate),
        demand_a: 57.0,
        premises: Some(Premises::Dwelling),
        concern: false,
        unmetered: false,
        points: 1,
        export_a: None,
    };
    let route = |connection: &Connection| network::route(connection).expect("a route");
    assert_eq!(route(&plain), (NoticeRoute::Notify, vec![]));
    let (way, why) = route(&Connection { demand_a: 61.0, ..plain.clone() });
    assert_eq!((way, why), (NoticeRoute::Apply, vec![Trigger::OverNotifiable { demand_a: 61.0, limit_a: 60.0 }]));
    // 60 A itself may be notified, and the limit is one for homes.
    assert_eq!(route(&Connection { demand_a: 60.0, ..plain.clone() }).0, NoticeRoute::Notify);
    assert_eq!(route(&Connection { demand_a: 70.0, premises: Some(Premises::Shop), ..plain.clone() }).0, NoticeRoute::Notify);
    let (way, why) = route(&Connection { cutout_a: None, service: Some(Service::Looped), points: 2, ..plain.clone() });
    assert_eq!((way, why), (NoticeRoute::Apply, vec![Trigger::CutoutUnknown, Trigger::Looped, Trigger::SeveralPoints]));
    let over = Connection { cutout_a: Some(40.0), service: Some(Service::Unknown), export_a: Some(32.0), ..plain.clone() };
    let told: Vec<String> = route(&over).1.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        ["demand 57 A over the 40 A service fuse", "not known whether the service is looped", "feeds back 32 A, over the 16 A of G98"]
    );
}
