//! Limits by edition: what is derived equals what is printed, and every lookup answers as its standard says.

use ampledger::record::{Date, Earthing, Nation, Premises, RcdType, Use};
use ampledger::tables::disconnection::{DisconnectionTime, Feeds};
use ampledger::tables::insulation::Band;
use ampledger::tables::rcd::{Multiple, Protection};
use ampledger::tables::{Confidence, DeviceStandard, Edition, disconnection, electrode, insulation, intervals, rcd, ring, supply, zs};

fn day(text: &str) -> Date {
    text.parse().expect("a date")
}

fn zs_of(device: DeviceStandard, curve: &str, rating: f64, time: DisconnectionTime, edition: Edition) -> Option<(f64, Confidence)> {
    let curve = (!curve.is_empty()).then_some(curve);
    zs::max_zs(device, curve, rating, time, edition).map(|limit| (limit.value, limit.confidence))
}

#[test]
fn zs_follows_the_edition_and_the_device() {
    use DeviceStandard::*;
    use DisconnectionTime::*;
    let now = Edition::A2Y2022;
    // Table 41.3.
    assert_eq!(zs_of(Bs60898, "B", 32.0, S0_4, now), Some((1.37, Confidence::Verified2)));
    assert_eq!(zs_of(Bs61009, "type b", 40.0, S0_4, Edition::A4Y2026), Some((1.09, Confidence::Verified2)));
    assert_eq!(zs_of(Bs60898, "B", 6.0, S5, Edition::Y2008), Some((7.67, Confidence::Verified1)));
    // 16th Edition tables stand on 240 V.
    assert_eq!(zs_of(Bs60898, "B", 32.0, S0_4, Edition::Sixteenth), Some((1.5, Confidence::Derived)));
    // Type D has two figures since 2015 and one before.
    assert_eq!(zs_of(Bs60898, "D", 16.0, S0_4, now), Some((0.68, Confidence::Verified2)));
    assert_eq!(zs_of(Bs60898, "D", 16.0, S5, now), Some((1.37, Confidence::Verified1)));
    assert_eq!(zs_of(Bs60898, "D", 16.0, S5, Edition::Y2008), Some((0.72, Confidence::Verified1)));
    // In TT the instantaneous trip that meets 0.4 s also meets 0.2 s, and type D at 1 s still needs 20 x.
    assert_eq!(zs_of(Bs60898, "B", 32.0, S0_2, now), Some((1.37, Confidence::Derived)));
    assert_eq!(zs_of(Bs60898, "D", 16.0, S1, now), Some((0.68, Confidence::Derived)));
    // Ratings the table does not print are worked out.
    assert_eq!(zs_of(Bs60898, "B", 45.0, S0_4, now), Some((0.97, Confidence::Derived)));
    assert_eq!(zs_of(Bs60898, "C", 13.0, S5, now), Some((1.68, Confidence::Derived)));
    // BS 3871 is from memory throughout.
    assert_eq!(zs_of(Bs3871, "2", 30.0, S0_4, now), Some((1.04, Confidence::Memory)));
    // Fuses; BS 1361 keeps its own column and is not read as BS 88-3.
    assert_eq!(zs_of(Bs3036, "", 30.0, S0_4, now), Some((1.04, Confidence::Verified2)));
    assert_eq!(zs_of(Bs1361, "", 20.0, S0_4, now), Some((1.62, Confidence::Derived)));
    assert_eq!(zs_of(Bs88_3, "", 20.0, S0_4, now), Some((1.93, Confidence::Verified1)));
    assert_eq!(zs_of(Bs88_2, "", 32.0, S0_4, Edition::A1Y2011), Some((1.04, Confidence::Verified1)));
    assert_eq!(zs_of(Bs88_2, "", 63.0, S5, Edition::A2Y2013), Some((0.82, Confidence::Derived)));
    assert_eq!(zs_of(Bs3036, "", 30.0, S0_4, Edition::Sixteenth), Some((1.14, Confidence::Derived)));
    // Nothing is made up.
    assert_eq!(zs_of(Bs88_2, "", 63.0, S5, Edition::Y2008), None);
    assert_eq!(zs_of(Bs88_2, "", 40.0, S0_4, Edition::A3Y2015), None);
    assert_eq!(zs_of(Bs88_3, "", 20.0, S0_2, now), None);
    assert_eq!(zs_of(Bs88_3, "", 21.0, S5, now), None);
    assert_eq!(zs_of(Bs60898, "", 32.0, S0_4, now), None);
    assert_eq!(zs_of(Bs60898, "E", 32.0, S0_4, now), None);
    assert_eq!(zs_of(Bs60898, "B", 0.0, S0_4, now), None);
    assert_eq!(zs_of(Bs61008, "B", 32.0, S0_4, now), None);
}

#[test]
fn a_limit_cites_the_edition_it_was_confirmed_in() {
    let limit = |edition| zs::max_zs(DeviceStandard::Bs60898, Some("B"), 32.0, DisconnectionTime::S0_4, edition).expect("B32");
    assert_eq!(limit(Edition::A4Y2026).source, "BS 7671:2018+A2:2022 Table 41.3");
    assert_eq!(limit(Edition::Y2018).source, "BS 7671:2018 Table 41.3");
    assert_eq!(limit(Edition::A1Y2011).source, "BS 7671:2008+A1:2011 Table 41.3");
    assert_eq!(limit(Edition::Y2018).to_string(), "1.37 ohm");
    let derived = zs::max_zs(DeviceStandard::Bs60898, Some("B"), 45.0, DisconnectionTime::S0_4, Edition::A4Y2026).expect("B45");
    assert_eq!(derived.source, "230 V x 0.95 / (5 x 45 A), as BS 7671:2018+A2:2022 Table 41.3");
}

/// The measured limits that contractor guidance prints: 0.8 of the table, rounded down.
#[test]
fn cold_readings_are_held_against_four_fifths() {
    let of = |device, curve, rating| {
        let limit = zs::max_zs(device, curve, rating, DisconnectionTime::S0_4, Edition::A2Y2022).expect("a limit");
        (zs::cold_limit(&limit).to_string(), zs::cold_limit_as_published(&limit))
    };
    assert_eq!(of(DeviceStandard::Bs88_3, None, 32.0), ("0.728 ohm".into(), 0.72));
    assert_eq!(of(DeviceStandard::Bs60898, Some("B"), 32.0), ("1.096 ohm".into(), 1.09));
    assert_eq!(of(DeviceStandard::Bs60898, Some("B"), 6.0), ("5.824 ohm".into(), 5.82));
    let old = zs::max_zs(DeviceStandard::Bs60898, Some("B"), 6.0, DisconnectionTime::S0_4, Edition::Y2008).expect("B6");
    assert_eq!(zs::cold_limit_as_published(&old), 6.13);
}

#[test]
fn editions_are_read_however_they_are_written() {
    for (text, edition) in [
        ("BS 7671:2018+A4:2026", Some(Edition::A4Y2026)),
        ("BS7671: 2018 + A2 : 2022", Some(Edition::A2Y2022)),
        ("BS 7671:2008 A3:2015", Some(Edition::A3Y2015)),
        ("BS 7671:2008 incorporating Amendment No 1:2011", Some(Edition::A1Y2011)),
        ("bs 7671:2018+a2", Some(Edition::A2Y2022)),
        ("BS 7671:2018", Some(Edition::Y2018)),
        ("BS 7671:2018+A1:2020+A2:2022", Some(Edition::A2Y2022)),
        ("BS 7671:2018+A2:2022+Corr 1 May 2023", Some(Edition::A2Y2022)),
        ("BS 7671:2018+A1:2020, A2:2022 and A3:2024", Some(Edition::A3Y2024)),
        ("BS 7671:2018 + 2022", Some(Edition::A2Y2022)),
        ("18th Edition Amendment 3", Some(Edition::A3Y2024)),
        ("IET Wiring Regulations 17th Edition (BS 7671:2008)", Some(Edition::Y2008)),
        ("BS 7671:2001", Some(Edition::Sixteenth)),
        ("BS 7671:1992 A2:1997", Some(Edition::Sixteenth)),
        ("BS 7671:2018+A5:2028", None),
        ("BS 7671:2018+A2:2024", None),
        ("BS 7671:2019", None),
        ("BS 7671", None),
        ("BS 5839-1:2017", None),
        ("", None),
    ] {
        assert_eq!(Edition::parse(text), edition, "{text}");
    }
    for edition in Edition::ALL {
        assert_eq!(Edition::parse(&edition.to_string()), Some(*edition), "{edition}");
    }
}

#[test]
fn editions_ran_on_their_days() {
    for (text, edition) in [
        ("1985-01-01", Edition::Sixteenth),
        ("2008-06-30", Edition::Sixteenth),
        ("2008-07-01", Edition::Y2008),
        ("2012-03-01", Edition::A1Y2011),
        ("2015-06-30", Edition::A2Y2013),
        ("2015-07-01", Edition::A3Y2015),
        ("2018-12-31", Edition::A3Y2015),
        ("2019-01-01", Edition::Y2018),
        ("2021-01-01", Edition::A1Y2020),
        ("2022-03-28", Edition::A2Y2022),
        ("2024-12-01", Edition::A3Y2024),
        ("2026-11-25", Edition::A4Y2026),
    ] {
        assert_eq!(Edition::in_force_on(day(text)), edition, "{text}");
    }
    // Overlaps: A1 beside A2 until 27 September 2022, A2 and A3 beside A4 until 14 October 2026.
    assert!(Edition::A1Y2020.may_be_cited_on(day("2022-09-27")));
    assert!(!Edition::A1Y2020.may_be_cited_on(day("2022-09-28")));
    assert!(Edition::A3Y2024.may_be_cited_on(day("2026-10-14")));
    assert!(!Edition::A2Y2022.may_be_cited_on(day("2026-10-15")));
    assert!(!Edition::A4Y2026.may_be_cited_on(day("2026-04-14")));
    assert_eq!(Edition::A4Y2026.withdrawn(), None);
    assert!(Edition::ALL.windows(2).all(|pair| pair[0] < pair[1] && pair[0].published() < pair[1].published()));
}

#[test]
fn device_standards_are_read_however_they_are_written() {
    use DeviceStandard::*;
    for (text, standard) in [
        ("BS EN 60898", Some(Bs60898)),
        ("BS EN 60898-1", Some(Bs60898)),
        ("bsen60898", Some(Bs60898)),
        ("61009", Some(Bs61009)),
        ("BS EN 61009-1", Some(Bs61009)),
        ("BS 88-2", Some(Bs88_2)),
        ("BS88 part 3", Some(Bs88_3)),
        ("BS EN 60269-2", Some(Bs88_2)),
        ("BS 88-2.2", Some(Bs88Old)),
        ("BS 88-6", Some(Bs88Old)),
        ("BS 3036", Some(Bs3036)),
        ("BS 1361", Some(Bs1361)),
        ("BS 1362", Some(Bs1362)),
        ("BS 3871", Some(Bs3871)),
        ("BS EN 61008-1", Some(Bs61008)),
        ("BS EN 62423", Some(Bs62423)),
        ("BS 4293", Some(Bs4293)),
        ("BS 7288", Some(Bs7288)),
        ("BS EN 60947-2", Some(Bs60947_2)),
        ("BS 88", None),
        ("BS EN 60947-3", None),
        ("BS 1363", None),
        ("breaker", None),
        ("", None),
    ] {
        assert_eq!(DeviceStandard::parse(text), standard, "{text}");
    }
    for standard in DeviceStandard::ALL {
        assert_eq!(DeviceStandard::parse(standard.as_str()), Some(*standard), "{standard}");
        let other = standard.as_str().to_lowercase().replace(" en ", " EN").replace(" (before 2010)", "-6");
        assert_eq!(DeviceStandard::parse(&other), Some(*standard), "{other}");
    }
    assert!(Bs60898.usual_ratings().0.contains(&32.0) && !Bs60898.usual_ratings().0.contains(&45.0));
    assert!(Bs61009.has_residual_element() && !Bs60898.has_residual_element());
}

/// BS 7671 Table 41.1 and regulations 411.3.2.2 to 411.3.2.4.
#[test]
fn disconnection_times_follow_system_circuit_and_edition() {
    let seconds = |earthing, feeds, rating, edition| {
        disconnection::time(earthing, feeds, rating, edition).map(|(time, limit)| {
            assert_eq!(time.seconds(), limit.value);
            limit.value
        })
    };
    let now = Edition::A2Y2022;
    assert_eq!(seconds(Earthing::TnCS, Feeds::Sockets, 32.0, now), Some(0.4));
    assert_eq!(seconds(Earthing::TnS, Feeds::Sockets, 63.0, now), Some(0.4));
    assert_eq!(seconds(Earthing::TnS, Feeds::Fixed, 40.0, now), Some(5.0));
    assert_eq!(seconds(Earthing::TnS, Feeds::Distribution, 32.0, now), Some(5.0));
    assert_eq!(seconds(Earthing::Tt, Feeds::Fixed, 32.0, now), Some(0.2));
    assert_eq!(seconds(Earthing::Tt, Feeds::Fixed, 40.0, now), Some(1.0));
    // Before 2018 both limbs ended at 32 A.
    assert_eq!(seconds(Earthing::TnCS, Feeds::Sockets, 40.0, Edition::A3Y2015), Some(5.0));
    assert_eq!(seconds(Earthing::TnCS, Feeds::Sockets, 40.0, Edition::Y2018), Some(0.4));
    assert_eq!(seconds(Earthing::TnS, Feeds::Fixed, 6.0, Edition::Sixteenth), Some(5.0));
    assert_eq!(seconds(Earthing::It, Feeds::Fixed, 6.0, now), None);
    assert_eq!(Feeds::of(Use::SubMain), Some(Feeds::Distribution));
    assert_eq!(Feeds::of(Use::Spare), None);
}

#[test]
fn rcd_times_and_tests_follow_device_and_edition() {
    let max = |standard, delayed, trip, multiple| {
        rcd::operating_time(standard, delayed, trip, multiple, Edition::A2Y2022)
            .map(|time| (time.min.map(|limit| limit.value), time.max.value))
    };
    // BS EN 61008-1 Table 1.
    assert_eq!(max(None, false, 30.0, Multiple::One), Some((None, 300.0)));
    assert_eq!(max(Some(DeviceStandard::Bs61009), false, 30.0, Multiple::Five), Some((None, 40.0)));
    assert_eq!(max(None, false, 100.0, Multiple::Five), None);
    assert_eq!(max(None, true, 100.0, Multiple::One), Some((Some(130.0), 500.0)));
    assert_eq!(max(Some(DeviceStandard::Bs4293), false, 30.0, Multiple::One), Some((None, 200.0)));
    assert_eq!(max(Some(DeviceStandard::Bs7288), true, 30.0, Multiple::One), None);
    assert_eq!(max(None, false, 30.0, Multiple::Half), None);

    let asked = |protection, multiple, edition| rcd::test_asked(protection, multiple, edition).is_some();
    assert!(asked(Protection::Additional, Multiple::Five, Edition::Y2018));
    assert!(!asked(Protection::Additional, Multiple::Five, Edition::A2Y2022));
    assert!(asked(Protection::Additional, Multiple::One, Edition::A4Y2026));
    assert!(asked(Protection::Fault, Multiple::One, Edition::Y2008));
    assert!(asked(Protection::Fault, Multiple::Half, Edition::A1Y2020));
    assert!(!asked(Protection::Fault, Multiple::Half, Edition::A2Y2022));
    assert_eq!(rcd::test_asked(Protection::Additional, Multiple::One, Edition::A2Y2022).as_deref(), Some("BS 7671:2018+A2:2022 Reg 643.8"));

    let dc = rcd::dc_detection(6.0).expect("6 mA");
    assert!(dc.value == 10_000.0 && dc.is_memory());
    let (hold, trip) = rcd::ramp_window(RcdType::A).expect("type A");
    assert_eq!((hold.value, trip.value), (0.35, 1.4));
}

#[test]
fn insulation_minima_follow_the_edition() {
    let of = |band, edition| insulation::test(band, edition).map(|test| (test.test_v, test.minimum.value));
    assert_eq!(of(Band::Low, Edition::A2Y2022), Some((500.0, 1.0)));
    assert_eq!(of(Band::Low, Edition::Sixteenth), Some((500.0, 0.5)));
    assert_eq!(of(Band::ExtraLow, Edition::Y2018), Some((250.0, 0.5)));
    assert_eq!(of(Band::High, Edition::Y2008), Some((1000.0, 1.0)));
    let reduced = insulation::test_with_equipment(Edition::A2Y2022).expect("since 2008");
    assert_eq!((reduced.test_v, reduced.minimum.value), (250.0, 1.0));
    assert_eq!(reduced.minimum.source, "BS 7671:2018+A2:2022 Reg 643.3.3");
    assert_eq!(insulation::test_with_equipment(Edition::Sixteenth), None);
    let advice = |new, edition| insulation::advice(new, edition).map(|limit| limit.value);
    assert_eq!(advice(true, Edition::A2Y2022), Some(20.0));
    assert_eq!(advice(true, Edition::Y2018), Some(2.0));
    assert_eq!(advice(false, Edition::A2Y2022), Some(2.0));
}

/// BS 7671 Table 41.5 is 50 V over the trip current, rounded.
#[test]
fn electrode_limits_are_fifty_volts_over_the_trip_current() {
    for (trip_ma, ohm) in [(30.0, 1667.0), (100.0, 500.0), (300.0, 167.0), (500.0, 100.0)] {
        let limit = electrode::limit(trip_ma, Edition::A2Y2022).expect("a line of the table");
        assert_eq!(limit.value, ohm);
        assert_eq!(ampledger::tables::round_half_up(50.0 / (trip_ma / 1000.0), 0), ohm);
        assert_eq!(limit.confidence, Confidence::Verified2);
    }
    let derived = electrode::limit(10.0, Edition::A2Y2022).expect("worked out");
    assert_eq!((derived.value, derived.confidence), (5000.0, Confidence::Derived));
    assert_eq!(electrode::limit(0.0, Edition::A2Y2022), None);
    assert_eq!(electrode::advice(Edition::A2Y2022).map(|limit| limit.value), Some(200.0));
}

#[test]
fn supply_facts() {
    let value = |limit: Option<ampledger::tables::Limit>| limit.map(|limit| limit.value);
    let (low, high) = supply::voltage_range(1).expect("single-phase");
    assert_eq!((low.value, high.value), (216.2, 253.0));
    assert!((low.value - 230.0 * 0.94).abs() < 1e-9 && (high.value - 230.0 * 1.1).abs() < 1e-9);
    assert_eq!(value(supply::nominal_v(3)), Some(400.0));
    assert_eq!(supply::cmin(Edition::Y2018), Some(0.95));
    assert_eq!(supply::cmin(Edition::A2Y2013), Some(1.0));
    assert_eq!(value(supply::usual_ze(Earthing::TnCS)), Some(0.35));
    assert_eq!(value(supply::usual_ze(Earthing::TnS)), Some(0.8));
    assert_eq!(value(supply::usual_ze(Earthing::It)), None);
    assert_eq!(value(supply::max_fault_ka()), Some(16.0));
    assert_eq!(supply::usual_cutout_ratings().iter().map(|limit| limit.value).collect::<Vec<_>>(), [60.0, 80.0, 100.0]);
    assert_eq!(value(supply::breaking_ka(DeviceStandard::Bs3036, "S2A")), Some(2.0));
    assert_eq!(value(supply::service_breaking_ka(6.0)), Some(6.0));
    assert!(supply::service_breaking_ka(10.0).is_some_and(|limit| limit.value == 7.5 && limit.is_memory()));
}

#[test]
fn law_and_guidance_on_intervals_are_told_apart() {
    assert_eq!(intervals::guidance(Premises::Dwelling).map(|limit| limit.value), Some(120.0));
    assert_eq!(intervals::guidance(Premises::Construction).map(|limit| limit.value), Some(3.0));
    assert_eq!(intervals::guidance(Premises::Other), None);
    let law = |premises, nation, on| intervals::law(premises, nation, day(on)).map(|law| law.months.value);
    assert_eq!(law(Premises::DwellingLet, Nation::England, "2026-11-25"), Some(60.0));
    assert_eq!(law(Premises::DwellingLet, Nation::England, "2019-01-01"), None);
    assert_eq!(law(Premises::DwellingLet, Nation::NorthernIreland, "2025-03-31"), None);
    assert_eq!(law(Premises::Dwelling, Nation::England, "2026-11-25"), None);
    let ni = intervals::law(Premises::DwellingLet, Nation::NorthernIreland, day("2025-06-01")).expect("in force for new tenancies");
    assert_eq!(ni.all_from, Some(day("2025-12-01")));
    assert_eq!(intervals::rcd_button(Edition::Y2018).map(|limit| limit.value), Some(6.0));
    assert_eq!(intervals::rcd_button(Edition::A3Y2015).map(|limit| limit.value), Some(3.0));
}

#[test]
fn ring_facts() {
    assert_eq!(ring::r1_rn_agreement().map(|limit| limit.value), Some(0.05));
    let (low, high) = ring::r2_r1_band().expect("a band");
    assert!(low.is_memory() && high.is_memory() && low.value < 1.0 && high.value > 1.0);
    assert_eq!(ring::least_iz_a(Edition::A2Y2022).map(|limit| limit.value), Some(20.0));
}
