//! Circuits given by flags, each worked by hand.

use super::{CHARGE_POINT, Work};

/// The planned point with other flags behind it.
fn charge_point(more: &[&str]) -> Work {
    Work::of(&[&CHARGE_POINT, more].concat())
}

#[test]
fn a_charge_point_at_the_end_of_28_m() {
    let work = charge_point(&[]);
    assert_eq!(work.status, 0);

    assert_eq!(work.held("design-current"), (32.0, 40.0));

    // Held to the 70 C table at its terminals: Table 4D4A, 6 mm2, method C, 49 A, from memory. Nothing else lowers it: 49 x 1 x 1 x 1.
    assert_eq!(work.held("cable-capacity"), (40.0, 49.0));
    assert_eq!(work.numbers("cable-capacity", "Iz = It x Ca x Cg x Ci"), "49 A x 1 x 1 x 1");
    assert!(work.sources("cable-capacity").0.contains("BS 7671:2018+A2:2022 Appendix 4 Table 4D4A") && work.sources("cable-capacity").1);
    assert!(work.notes("cable-capacity").contains("70 C terminals"));
    assert_eq!(work.verdict("overload"), "pass");

    // Table 4E4B, 7.9 mV/A/m: 7.9 x 32 x 28 / 1000 = 7.0784 V; / 230 = 3.078 %; 5 % is allowed.
    // Ct, with It 62 A of Table 4E4A: 32^2/62^2 = 1024/3844 = 0.2664; (320 - 0.7336 x 60)/320 = 275.98/320 = 0.8624; x 7.0784 = 6.105 V.
    assert_eq!(work.results("volt-drop"), [7.08, 3.08, 0.862, 6.10]);
    assert_eq!(work.held("volt-drop"), (3.08, 5.0));
    assert_eq!(work.verdict("volt-drop"), "pass");

    // IEC 60228, 3.08 mohm/m each way: 6.16 x 28 / 1000 = 0.17248 ohm. Armour of 3 cores, 6.7 mohm/m: 0.1876 ohm beside the core's
    // 0.08624 makes 0.08624 x 0.1876 / 0.27384 = 0.05908, and with the line's 0.08624 0.1453. At 90 C 1 + 0.004 x 70 = 1.28: 0.22077.
    assert_eq!(work.results("r1-r2"), [0.172, 0.145, 0.221]);
    assert_eq!(work.verdict("r1-r2"), "expected");
    assert_eq!(work.results("zs-cold"), [0.372]);

    // Table 41.3, B40: 230 x 0.95 / (5 x 40) = 218.5 / 200 = 1.0925, printed 1.09. Zs = 0.20 + 0.22077 = 0.42077.
    assert_eq!(work.results("zs"), [1.093, 1.09, 0.421]);
    assert_eq!(work.held("zs"), (0.421, 1.09));
    assert!(work.sources("zs").0.contains("BS 7671:2018+A2:2022 Table 41.3"));

    // 218.5 / 0.42077 = 519.3 A, against Ia 200 A.
    assert_eq!(work.held("disconnection"), (519.0, 200.0));

    // k 143 (Table 54.3, 90 C thermosetting): sqrt(519.3^2 x 0.1) / 143 = 519.3 x 0.31623 / 143 = 1.148 mm2.
    assert_eq!(work.held("cpc-far-end"), (1.15, 6.0));
    // Table 54.7 up to 16 mm2: S x k1/k2 = 6 x 143/143.
    assert_eq!(work.held("cpc-near-end"), (6.0, 6.0));

    for (check, key) in [
        ("breaking-capacity", "ocpd.breaking_ka, --breaking-ka"),
        ("rcd-trip-current", "rcd.trip_ma, --trip-ma"),
        ("rcd-type", "rcd.type, --rcd-type"),
        ("demand", "supply.max_demand_a, --max-demand"),
        ("operator", "supply.max_demand_a, --max-demand"),
    ] {
        assert_eq!(work.missing(check).1, key, "{check}");
    }
    assert_eq!(work.summary(), [8, 0, 5]);

    // 4 mm2 by Table 4D4A carries 38 A, under 40; its drop, 12 x 32 x 28 / 1000 = 10.75 V or 4.67 %, would do.
    assert_eq!(work.smallest(), (6.0, 6.0, vec!["Device against cable"]));
    // By drop 11.5 x 1000 / (7.9 x 32) = 45.49 m; by Zs (1.09 - 0.20) x 1000 / (6.16 x 1.28) = 890 / 7.8848 = 112.88 m.
    assert_eq!(work.longest(), (45.0, "volt drop"));
    let steps = work.at("/longest_run/steps").as_array().unwrap();
    let metres: Vec<f64> = steps[1..].iter().map(|step| step["result"]["value"].as_f64().unwrap()).collect();
    assert_eq!(metres, [45.49, 112.88]);
}

#[test]
fn the_same_point_with_all_that_was_missing() {
    let more = ["--breaking-ka", "10", "--ipf-ka", "1.2", "--rcd-type", "A", "--trip-ma", "30", "--dc-detection", "in-unit"];
    let work = charge_point(&[&more[..], &["--max-demand", "57", "--cutout", "80"]].concat());
    assert_eq!((work.status, work.verdict("breaking-capacity"), work.verdict("rcd-type")), (0, "pass", "pass"));
    // 80 - 57 = 23 A left. The route hangs on premises and service, which no flag gives.
    assert_eq!((work.results("demand"), work.verdict("demand")), (vec![23.0], "pass"));
    assert_eq!(work.summary(), [12, 0, 1]);

    let work = charge_point(&[
        "--rcd-type",
        "AC",
        "--trip-ma",
        "100",
        "--ipf-ka",
        "11",
        "--breaking-ka",
        "10",
        "--max-demand",
        "90",
        "--cutout",
        "80",
    ]);
    let failed = ["rcd-type", "rcd-trip-current", "breaking-capacity", "demand"].map(|check| work.verdict(check));
    assert_eq!((work.status, failed), (1, ["fails"; 4]));
    let blind = charge_point(&["--rcd-type", "A", "--trip-ma", "30", "--dc-detection", "none"]);
    assert_eq!(blind.verdict("rcd-type"), "fails");
}

#[test]
fn four_in_a_bunch_carry_too_little() {
    // Table 4C1 row 1, four: 0.65. 49 x 0.65 = 31.85 A, under 40. 10 mm2: 67 x 0.65 = 43.55 A.
    let work = charge_point(&["--grouped", "4"]);
    assert_eq!((work.status, work.verdict("cable-capacity"), work.held("cable-capacity").0), (1, "fails", 40.0));
    assert_eq!(work.numbers("cable-capacity", "Iz"), "49 A x 1 x 0.65 x 1");
    assert_eq!(work.smallest(), (10.0, 10.0, vec!["Device against cable"]));
    // Row 2, one layer: 0.75 x 49 = 36.75 A, still under 40; three: 0.79 x 49 = 38.71 A; at 25 C in the room 1.03 x 0.79 x 49 = 39.87 A.
    assert_eq!(charge_point(&["--grouped", "4", "--single-layer"]).verdict("cable-capacity"), "fails");
    let cool = charge_point(&["--grouped", "3", "--single-layer", "--ambient", "25"]);
    assert_eq!(cool.numbers("cable-capacity", "Iz"), "49 A x 1.03 x 0.79 x 1");
    assert_eq!(cool.results("cable-capacity"), [49.0, 39.9]);
    assert_eq!(cool.verdict("cable-capacity"), "fails");
    // On 90 C terminals the cable's own table holds: 62 x 0.65 = 40.3 A.
    let hot = charge_point(&["--grouped", "4", "--terminal-c", "90"]);
    assert_eq!((hot.verdict("cable-capacity"), hot.results("cable-capacity")), ("pass", vec![62.0, 40.3]));
}

#[test]
fn the_armour_as_protective_conductor() {
    // Two cores, 6 mm2: armour 7.0 mohm/m and 22 mm2 (BS 5467). 28 m: (3.08 + 7.0) x 28 / 1000 = 0.28224 ohm.
    // At 90 C: 0.08624 x 1.28 + 0.196 x (1 + 0.0045 x 70) = 0.11039 + 0.25774 = 0.36813. Zs 0.568. I = 218.5 / 0.56813 = 384.6 A.
    // k of steel armour beside 90 C insulation, Table 54.4: 46. 384.6 x 0.31623 / 46 = 2.644 mm2.
    // Table 54.7: 6 x 143 / 46 = 18.65 mm2, under 22.
    let args: Vec<&str> = CHARGE_POINT.iter().map(|arg| if *arg == "core" { "armour" } else { arg }).collect();
    let work = Work::of(&args);
    assert_eq!(work.results("r1-r2"), [0.282, 0.368]);
    assert_eq!(work.held("zs"), (0.568, 1.09));
    assert_eq!(work.held("cpc-far-end"), (2.64, 22.0));
    assert_eq!(work.held("cpc-near-end"), (18.65, 22.0));
    let conduit: Vec<&str> = CHARGE_POINT.iter().map(|arg| if *arg == "core" { "conduit" } else { arg }).collect();
    let work = Work::of(&conduit);
    assert_eq!((work.status, work.verdict("zs"), work.verdict("cpc-far-end")), (0, "not worked", "not worked"));
    assert!(work.missing("r1-r2").0.contains("conduit"));
}

const TT_SOCKETS: [&str; 16] = [
    "--use",
    "sockets",
    "--design-a",
    "16",
    "--device",
    "BS EN 61009-1 B20",
    "--cable",
    "flat-70",
    "--line",
    "2.5",
    "--length",
    "20",
    "--method",
    "C",
    "--earthing",
    "TT",
];

#[test]
fn on_tt_the_rcd_gives_the_fault_protection() {
    // 2.5/1.5 (BS 6004): 7.41 + 12.1 = 19.51 mohm/m; 20 m: 0.3902; at 70 C x 1.2: 0.46824. RA 60 + 0.468 = 60.468 ohm.
    // 60.468 x 30 / 1000 = 1.814 V. I = 230 / 60.468 = 3.804 A, 127 times 30 mA: 40 ms (BS EN 61008-1, 5 x), in 200 ms (Table 41.1, TT).
    let work = Work::of(&[&TT_SOCKETS[..], &["--electrode", "60", "--trip-ma", "30"]].concat());
    assert_eq!((work.status, work.has("zs"), work.has("disconnection")), (0, false, false));
    assert_eq!(work.results("touch-voltage"), [60.468, 1.81]);
    assert_eq!(work.held("touch-voltage"), (1.81, 50.0));
    assert_eq!((work.results("rcd-time"), work.held("rcd-time")), (vec![3.80], (40.0, 200.0)));
    // By drop only: 11.5 x 1000 / (18 x 16) = 39.93 m.
    assert_eq!(work.longest(), (39.5, "volt drop"));
    assert_eq!(work.missing("zs-cold").1, "supply.ze_ohm, --ze");

    // 1666.2 + 0.468 = 1666.668 ohm gives 50.00004 V: over; 1666.1 under.
    let at = |electrode| Work::of(&[&TT_SOCKETS[..], &["--electrode", electrode, "--trip-ma", "30"]].concat());
    assert_eq!((at("1666.2").verdict("touch-voltage"), at("1666.2").status), ("fails", 1));
    assert_eq!(at("1666.1").verdict("touch-voltage"), "pass");
    assert!(at("1666.1").notes("touch-voltage").contains("200 ohm"));
    let bare = Work::of(&[&TT_SOCKETS[..], &["--electrode", "60"]].concat());
    assert_eq!(bare.missing("touch-voltage").1, "rcd.trip_ma, --trip-ma");
}

const RING: [&str; 20] = [
    "--use",
    "ring",
    "--design-a",
    "26",
    "--device",
    "BS EN 61009-1 B32",
    "--cable",
    "flat-70",
    "--line",
    "2.5",
    "--length",
    "60",
    "--method",
    "C",
    "--earthing",
    "TN-C-S",
    "--ze",
    "0.20",
    "--trip-ma",
    "30",
];

#[test]
fn a_ring() {
    let work = Work::of(&RING);
    assert_eq!(work.status, 0);
    // 433.1.204: Iz 27 A (Table 4D5) against 20 A, 2.5 mm2, a 32 A device; In is not held to Iz.
    assert_eq!((work.held("ring-capacity"), work.held("ring-size"), work.held("ring-device")), ((27.0, 20.0), (2.5, 2.5), (32.0, 32.0)));
    assert!(!work.has("cable-capacity"));
    // 18 x 26 x 60 / 1000 / 4 = 7.02 V, 3.05 %.
    assert_eq!(work.results("volt-drop"), [7.02, 3.05]);
    // r1 = 7.41 x 60 / 1000 = 0.4446; r2 = 12.1 x 60 / 1000 = 0.726; (r1+rn)/4 = 0.2223; (r1+r2)/4 = 1.1706/4 = 0.29265.
    assert_eq!(work.results("ring-readings"), [0.445, 0.726, 0.222, 0.293]);
    // Hot x 1.2: 0.35118. Zs 0.551 against 218.5 / 160 = 1.366, printed 1.37.
    assert_eq!(work.results("r1-r2"), [0.293, 0.351]);
    assert_eq!(work.held("zs"), (0.551, 1.37));
    // 218.5 / 0.55118 = 396.4 A; k 115 (Table 54.3, 70 C thermoplastic): 396.4 x 0.31623 / 115 = 1.090 mm2.
    assert_eq!(work.held("cpc-far-end"), (1.09, 1.5));
    // At the board 230 / 0.20 = 1150 A: 1150 x 0.31623 / 115 = 3.16 mm2, over 1.5; but a breaker opens far sooner than 0.1 s there.
    assert_eq!(work.missing("cpc-near-end").1, "--let-through");
    // sqrt(18000) / 115 = 134.16 / 115 = 1.167 mm2; sqrt(45000) / 115 = 1.845 mm2.
    let with = |energy| Work::of(&[&RING[..], &["--let-through", energy]].concat());
    assert_eq!((with("18000").held("cpc-near-end"), with("18000").verdict("cpc-near-end")), ((1.17, 1.5), "pass"));
    assert_eq!(with("45000").verdict("cpc-near-end"), "fails");
    // 4 x 11.5 x 1000 / (18 x 26) = 98.29 m; by Zs (1.37 - 0.20) x 1000 / (19.51 x 1.2 / 4) = 1170 / 5.853 = 199.9 m.
    assert_eq!(work.longest(), (98.0, "volt drop"));
    assert_eq!(work.smallest(), (2.5, 1.5, vec!["Conductor of the ring (433.1.204)"]));

    let instead = |flag: &str, value: &'static str| {
        let mut args = RING;
        let at = args.iter().position(|arg| *arg == flag).unwrap();
        args[at + 1] = value;
        Work::of(&args)
    };
    // Method 103 carries 13.5 A only (Table 4D5).
    assert_eq!(instead("--method", "103").verdict("ring-capacity"), "fails");
    assert_eq!(instead("--device", "BS EN 61009-1 B40").verdict("ring-device"), "fails");
    assert_eq!(instead("--device", "BS EN 61009-1 B20").verdict("ring-device"), "fails");
}

#[test]
fn a_lighting_circuit_has_the_lower_limit() {
    let lighting = |usage: &str| {
        Work::of(&[
            "--use",
            usage,
            "--design-a",
            "4",
            "--device",
            "BS EN 60898 B6",
            "--cable",
            "flat-70",
            "--line",
            "1.5",
            "--length",
            "60",
            "--method",
            "C",
            "--earthing",
            "TN-S",
            "--ze",
            "0.8",
        ])
    };
    // Table 4D5, 29 mV/A/m: 29 x 4 x 60 / 1000 = 6.96 V, 3.03 %; lighting has 3 %, all else 5 %.
    // Ct: It 20 A, 4^2/20^2 = 0.04; (300 - 0.96 x 40)/300 = 0.872; x 6.96 = 6.07 V.
    let work = lighting("lighting");
    assert_eq!((work.status, work.verdict("volt-drop"), work.held("volt-drop")), (1, "fails", (3.03, 3.0)));
    assert_eq!(work.results("volt-drop"), [6.96, 3.03, 0.872, 6.07]);
    assert_eq!(lighting("fixed").verdict("volt-drop"), "pass");
    // 2.5 mm2: 18 x 4 x 60 / 1000 = 4.32 V, 1.88 %. Longest in 1.5: 6.9 x 1000 / (29 x 4) = 59.48 m.
    assert_eq!(work.smallest(), (2.5, 1.5, vec!["Volt drop"]));
    assert_eq!(work.longest(), (59.0, "volt drop"));
    // 1.5/1: 30.2 x 60 / 1000 x 1.2 = 2.1744; + 0.8 = 2.974, against 7.28 of a B6.
    assert_eq!(work.held("zs"), (2.974, 7.28));
}

/// A cooker on a planned size of flat twin and earth.
fn cooker(more: &[&str]) -> Work {
    let args = [
        "--use",
        "fixed",
        "--design-a",
        "30",
        "--cable",
        "flat-70",
        "--line",
        "10",
        "--length",
        "14",
        "--earthing",
        "TN-C-S",
        "--ze",
        "0.30",
    ];
    Work::of(&[&args[..], more].concat())
}

#[test]
fn the_smallest_flat_cable_comes_with_its_usual_cpc() {
    // Table 4D5, method C: 2.5 mm2 27 A, 4 mm2 37 A, for a 32 A device. 4/1.5: (4.61 + 12.1) x 14 / 1000 x 1.2 = 0.28073; Zs 0.581;
    // I 218.5 / 0.58073 = 376.2 A; 376.2 x 0.31623 / 115 = 1.03 mm2 in 1.5. Drop 11 x 30 x 14 / 1000 = 4.62 V, 2.0 %.
    let work = cooker(&["--device", "BS EN 60898 B32", "--method", "C"]);
    assert_eq!(work.smallest(), (4.0, 1.5, vec!["Device against cable"]));
    // In a wall, method A: 4 mm2 26 A, 6 mm2 32 A: just enough, and 6/2.5.
    let walled = cooker(&["--device", "BS EN 60898 B32", "--method", "A"]);
    assert_eq!(walled.smallest(), (6.0, 2.5, vec!["Device against cable"]));
    // The planned 10 mm2 has a cpc of 4 mm2.
    assert!(walled.at("/assumed").to_string().contains("10/4 (BS 6004"));
}

#[test]
fn fuses_are_worked_at_a_point_of_their_curve() {
    // BS 88-3, 32 A: Ia 240 A for 0.4 s, 0.91 ohm. Planned 10/4: 6.44 x 14 / 1000 x 1.2 = 0.10819; Zs 0.408; I = 535 A, over 240.
    // sqrt(240^2 x 0.4) / 115 = 151.79 / 115 = 1.32 mm2.
    let work = cooker(&["--device", "BS 88-3 32 A", "--method", "C"]);
    assert_eq!(work.held("zs"), (0.408, 0.91));
    assert_eq!(work.held("cpc-far-end"), (1.32, 4.0));
    assert_eq!(work.held("cpc-near-end"), (1.32, 4.0));
    // BS 3036, 30 A: 64 x 0.725 = 46.4 A; 4 mm2 would have 37 x 0.725 = 26.8, 6 mm2 47 x 0.725 = 34.1.
    let old = cooker(&["--device", "BS 3036 30 A", "--method", "C"]);
    assert_eq!(old.numbers("cable-capacity", "Iz = It x Ca x Cg x Ci x Cf"), "64 A x 1 x 1 x 1 x 0.725");
    assert_eq!(old.held("cable-capacity"), (30.0, 46.4));
    assert!(old.notes("overload").contains("0.725"));
    assert_eq!(old.smallest(), (6.0, 2.5, vec!["Device against cable"]));
    // No table holds I2 of a BS 1361 fuse.
    assert_eq!(cooker(&["--device", "BS 1361 30 A", "--method", "C"]).verdict("overload"), "not worked");
}

#[test]
fn thermal_insulation_and_a_warm_room() {
    // 102: 10 mm2 47 A, from memory. 40 C: 0.87 (Table 4B1). 100 mm in insulation: 0.78 (from memory). 47 x 0.87 x 0.78 = 31.89 A, under 32.
    let work = cooker(&["--device", "BS EN 60898 B32", "--method", "102", "--ambient", "40", "--insulation", "100"]);
    assert_eq!(work.numbers("cable-capacity", "Iz"), "47 A x 0.87 x 1 x 0.78");
    assert_eq!((work.status, work.held("cable-capacity").1, work.verdict("cable-capacity")), (1, 31.9, "fails"));
    assert!(work.sources("cable-capacity").1);
}

#[test]
fn three_phases() {
    // Table 4E4B three-phase, 10 mm2 4.0 mV/A/m: 4.0 x 32 x 40 / 1000 = 5.12 V between lines, of 400 V 1.28 %.
    let work = Work::of(&[
        "--use",
        "ev",
        "--design-a",
        "32",
        "--device",
        "BS EN 60898 B40",
        "--cable",
        "armoured-90",
        "--line",
        "10",
        "--length",
        "40",
        "--method",
        "C",
        "--earthing",
        "TN-S",
        "--ze",
        "0.3",
        "--phases",
        "3",
        "--terminal-c",
        "90",
    ]);
    assert_eq!(work.results("volt-drop")[..2], [5.12, 1.28]);
    // 4E4A, three loaded phases: 73 A.
    assert_eq!(work.held("cable-capacity"), (40.0, 73.0));
    // L = 20 V x 1000 / (4.0 x 32) = 156.25 m by drop; (1.09 - 0.3) x 1000 / (3.66 x 1.28) = 168.6 m by Zs.
    assert_eq!(work.longest(), (156.0, "volt drop"));
}

#[test]
fn zs_binds_where_the_loop_is_long_before_the_drop_is() {
    // D32 needs 640 A: 218.5 / 640 = 0.3414, printed 0.34. Planned 10/4, method C: (0.34 - 0.30) x 1000 / (6.44... ) with
    // 1.83 + 4.61 = 6.44, x 1.2 = 7.728 mohm/m: 5.18 m.
    let work = cooker(&["--device", "BS EN 60898 D32", "--method", "C"]);
    assert_eq!((work.verdict("zs"), work.verdict("disconnection"), work.longest()), ("fails", "fails", (5.0, "Zs")));
    // A breaker that does not open in time has no time to put into the equation.
    assert_eq!(work.verdict("cpc-far-end"), "not worked");
    assert_eq!(work.status, 1);
}

#[test]
fn a_missing_length_names_its_key() {
    let args: Vec<&str> = CHARGE_POINT.iter().copied().filter(|arg| !["--length", "28"].contains(arg)).collect();
    let work = Work::of(&args);
    assert_eq!(work.status, 0, "what can be worked passes");
    for check in ["volt-drop", "r1-r2", "zs", "disconnection", "cpc-far-end"] {
        assert_eq!((work.verdict(check), work.missing(check)), ("not worked", ("the length is missing", "cable.length_m, --length")));
    }
    // How far it may run does not hang on how far it is planned to run.
    assert_eq!(work.longest(), (45.0, "volt drop"));
    assert_eq!(work.at("/smallest_cable/not_worked").as_array().unwrap().len(), 3);
}

#[test]
fn the_edition_sets_the_limit() {
    // 230 / 200 = 1.15 before the voltage factor of 2015, 1.09 since.
    let by = |edition: &str| {
        let out = crate::cli::run(
            &crate::support::repository(),
            &[&["design", "--edition", edition, "--format", "json"][..], &CHARGE_POINT].concat(),
        )
        .out;
        let report: serde_json::Value = serde_json::from_str(&out).unwrap();
        let checks = report["circuits"][0]["checks"].as_array().unwrap().clone();
        let zs = checks.into_iter().find(|line| line["check"] == "zs").unwrap();
        zs["comparison"]["limit"]["value"].as_f64().unwrap()
    };
    assert_eq!((by("BS 7671:2008+A1:2011"), by("BS 7671:2018+A4:2026")), (1.15, 1.09));
}
