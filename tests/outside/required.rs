//! Which readings a circuit owes, beside what the standard and its guidance are known to ask for.

use ampledger::record::{ReadingKey, Use};
use ampledger::tables::Edition;
use ampledger::tables::required::{Asked, Owed, RcdRole, Work, readings};

const LIGHTS: Asked =
    Asked { work: Work::New, usage: Use::Lighting, rcd: RcdRole::Additional, mode_3: false, dc_detection: false, unit_connected: false };

fn keys(owed: &[Owed], required: bool) -> Vec<&'static str> {
    owed.iter().filter(|owed| owed.required == required).map(|owed| owed.any_of[0].as_str()).collect()
}

/// BS 7671:2018+A2:2022 Section 643: continuity, insulation, polarity, loop, one RCD test at 1 x, functional test.
#[test]
fn a_new_circuit_since_a2_2022() {
    for edition in [Edition::A2Y2022, Edition::A3Y2024, Edition::A4Y2026] {
        let owed = readings(&LIGHTS, edition);
        let wanted = ["r1_r2_ohm", "ir_test_v", "ir_live_live_mohm", "ir_live_earth_mohm", "polarity", "zs_ohm", "rcd_ms", "rcd_button"];
        assert_eq!(keys(&owed, true), wanted, "{edition}");
        assert!(keys(&owed, false).is_empty(), "{edition}");
        let no_reason: Vec<&str> = owed.iter().filter(|owed| !owed.reason_will_do).map(|owed| owed.any_of[0].as_str()).collect();
        assert_eq!(no_reason, wanted[..5], "a reason stands in for no dead test of new work");
    }
}

/// Before A2:2022 additional protection was proved at 5 x (40 ms); the test at 1 x was practice.
#[test]
fn a_new_circuit_before_a2_2022() {
    for edition in [Edition::Y2008, Edition::A3Y2015, Edition::Y2018, Edition::A1Y2020] {
        let owed = readings(&LIGHTS, edition);
        assert!(keys(&owed, true).contains(&"rcd_5x_ms"), "{edition}");
        assert_eq!(keys(&owed, false), ["rcd_ms"], "{edition}");
    }
}

/// A 100 mA delayed RCD is fault protection: 1 x in every edition, 5 x in none.
#[test]
fn an_rcd_for_fault_protection() {
    for edition in Edition::ALL.iter().filter(|edition| **edition >= Edition::Y2008) {
        let owed = readings(&Asked { rcd: RcdRole::Fault, usage: Use::SubMain, ..LIGHTS }, *edition);
        assert!(keys(&owed, true).contains(&"rcd_ms"), "{edition}");
        assert!(!owed.iter().any(|owed| owed.any_of == [ReadingKey::Rcd5xMs]), "{edition}");
        assert_eq!(keys(&owed, false), ["zs_ohm"], "where the RCD disconnects, its test may stand for the loop ({edition})");
    }
}

#[test]
fn the_use_decides() {
    let now = Edition::A4Y2026;
    assert!(readings(&Asked { usage: Use::Spare, ..LIGHTS }, now).is_empty());
    let ring = readings(&Asked { usage: Use::Ring, ..LIGHTS }, now);
    for key in ["ring_r1_ohm", "ring_rn_ohm", "ring_r2_ohm"] {
        assert!(keys(&ring, true).contains(&key), "{key}");
    }
    let no_rcd = readings(&Asked { usage: Use::SubMain, rcd: RcdRole::None, ..LIGHTS }, now);
    assert!(!no_rcd.iter().any(|owed| owed.any_of[0].as_str().starts_with("rcd")));
    let point = Asked { usage: Use::Ev, mode_3: true, dc_detection: true, ..LIGHTS };
    assert!(keys(&readings(&point, now), true).contains(&"pilot"));
    assert_eq!(keys(&readings(&point, now), false), ["rcd_dc_ms"]);
    let outlet = readings(&Asked { usage: Use::Ev, ..LIGHTS }, now);
    assert!(!outlet.iter().any(|owed| owed.any_of == [ReadingKey::Pilot]), "a 13 A outlet has no pilot");
}

/// Reg 643.3.3: with equipment connected the live conductors are joined, so that nothing can be read between them.
#[test]
fn live_to_live_is_not_asked_with_the_unit_connected() {
    let owed = readings(&Asked { unit_connected: true, ..LIGHTS }, Edition::A2Y2022);
    assert!(!keys(&owed, true).contains(&"ir_live_live_mohm"));
    assert!(keys(&owed, true).contains(&"ir_live_earth_mohm"));
}

/// For condition reports before BS 7671:2018 even the chapter is from memory: nothing is stated, only asked.
#[test]
fn what_rests_on_memory_is_only_asked() {
    let owed = readings(&Asked { work: Work::Report, rcd: RcdRole::None, ..LIGHTS }, Edition::A3Y2015);
    assert!(!owed.is_empty() && owed.iter().all(|owed| !owed.required && owed.reason_will_do));
    let owed = readings(&Asked { work: Work::Report, ..LIGHTS }, Edition::A2Y2022);
    assert!(owed.iter().all(|owed| owed.required && owed.reason_will_do));
}
