//! Damage to the sound job with what a fix must make of it, byte for byte.

use ampledger::fix::Safety;

/// One kind of damage.
pub struct Case {
    /// The rule that tells of it.
    pub rule: &'static str,
    /// A piece of the sound job.
    pub find: &'static str,
    /// What is written there instead.
    pub put: &'static str,
    /// What the fix makes of it.
    pub fixed: &'static str,
    /// Which fix; none where nothing may be touched.
    pub safety: Option<Safety>,
}

const fn case(rule: &'static str, safety: Option<Safety>, find: &'static str, put: &'static str, fixed: &'static str) -> Case {
    Case { rule, find, put, fixed, safety }
}

const SAFE: Option<Safety> = Some(Safety::Safe);
const UNSAFE: Option<Safety> = Some(Safety::Unsafe);

const OPENING: &str = "---\nrecord: job\n";
const CLOSING: &str = "next_inspection: 2036-11-02\n---\n";
const TITLE: &str = "title: Charge point on the drive and a light in the shed\n";
const MINUTES: &str = "minutes_on_site: 190\n";
const EXTENT: &str = "extent: the two new circuits\n";
const SERVES: &str = "serves: light in the shed\n";
const USE: &str = "    use: lighting\n";
const RCD_MS: &str = "      rcd_ms: 31\n";
const OFF: &str = "ir_live_live_mohm: \">999\"\n";
const NEXT: &str = "next_inspection: 2036-11-02\n";
const REF: &str = "ref: \"EV-118\"}";
const SERIAL: &str = "{mode: 3, unit: \"CP-204117\", set_a: 32";
const LABELLED: &str = ", labelled: true}";
const ZS: &str = "zs_ohm: 0.64\n";
const ZDB: &str = "zdb_ohm: 0.20,";
const EARTH: &str = "ir_live_earth_mohm: 870\n";

/// Every kind of damage that a fix knows, and those that it must leave alone.
pub const CASES: &[Case] = &[
    case("fence-damaged", SAFE, OPENING, "\u{2014}\nrecord: job\n", OPENING),
    case("fence-damaged", SAFE, OPENING, "\n\n---\nrecord: job\n", OPENING),
    case("fence-damaged", SAFE, OPENING, "record: job\n", OPENING),
    case("fence-damaged", SAFE, CLOSING, "next_inspection: 2036-11-02\n\u{2013}-\n", CLOSING),
    case("fence-damaged", UNSAFE, EXTENT, "---\nextent: the two new circuits\n", EXTENT),
    case("indent-not-spaces", SAFE, TITLE, "title:\u{a0}Charge point on the drive and a light in the shed\n", TITLE),
    case("indent-not-spaces", SAFE, USE, "\u{a0}\u{a0}\u{a0} use: lighting\n", USE),
    case("indent-not-spaces", SAFE, MINUTES, "minutes_on_site:\t190\n", MINUTES),
    case("indent-not-spaces", SAFE, RCD_MS, "\t\t\trcd_ms: 31  # tabbed\n", "      rcd_ms: 31  # tabbed\n"),
    case("curly-quotes", SAFE, SERIAL, "{mode: 3, unit: \u{201c}CP-204117\u{201d}, set_a: 32", SERIAL),
    case("curly-quotes", SAFE, SERIAL, "{mode: 3, unit: \"CP-204117\u{201d}, set_a: 32", SERIAL),
    case(
        "curly-quotes",
        SAFE,
        EXTENT,
        "extent:   \u{2018}both \"new\" ones\u{2019}  # \u{201c}both\u{201d}\n",
        "extent:   \"both \\\"new\\\" ones\"  # \u{201c}both\u{201d}\n",
    ),
    case("off-scale-not-quoted", SAFE, OFF, "ir_live_live_mohm: >999\n", OFF),
    case("off-scale-not-quoted", SAFE, ZDB, "zdb_ohm: > 20,", "zdb_ohm: \">20\","),
    case("colon-in-text", SAFE, SERVES, "serves: shed: the owner's light # 1\n", "serves: 'shed: the owner''s light' # 1\n"),
    case("leading-zero", SAFE, REF, "ref: 0118}", "ref: \"0118\"}"),
    case("not-a-date", SAFE, NEXT, "next_inspection: 2036/11/2   # ten years\n", "next_inspection: 2036-11-02   # ten years\n"),
    case("not-a-date", SAFE, NEXT, "next_inspection: 2nd Nov 2036\n", NEXT),
    case("not-a-date", SAFE, NEXT, "next_inspection: \"2036-11-2\"\n", NEXT),
    case("not-a-date", UNSAFE, NEXT, "next_inspection: 25.11.2036\n", "next_inspection: 2036-11-25\n"),
    case("not-true-false", SAFE, LABELLED, ", labelled: Yes}", LABELLED),
    case("not-true-false", SAFE, LABELLED, ", labelled: \"false\"}", ", labelled: false}"),
    case("not-true-false", UNSAFE, LABELLED, ", labelled: on}", LABELLED),
    case("unknown-key", SAFE, ZS, "Zs-ohm: 0.64 # as read\n", "zs_ohm: 0.64 # as read\n"),
    case("unknown-key", SAFE, MINUTES, "\"minutes on site\": 190\n", MINUTES),
    case("unknown-key", UNSAFE, ZS, "zs_omh: 0.64\n", ZS),
    case("unknown-word", SAFE, USE, "    use: Lighting\n", USE),
    case("unknown-word", UNSAFE, USE, "    use: lightning\n", USE),
    case("control-character", SAFE, TITLE, "title: Charge point on the drive and a light in the shed\u{7}\n", TITLE),
    case("control-character", UNSAFE, EXTENT, "extent: the two\u{2028}new circuits\n", EXTENT),
    case("not-yaml", SAFE, MINUTES, "minutes_on_site:190\n", MINUTES),
    case("not-yaml", UNSAFE, ", cores: 3, line_mm2: 6,", ", cores: 3 line_mm2: 6,", ", cores: 3, line_mm2: 6,"),
    case("colon-in-text", UNSAFE, "how: house load raised and", "how: raised: house load, and", "how: 'raised: house load', and"),
    case("not-a-number", UNSAFE, ZS, "zs_ohm: 0,64\n", ZS),
    case("not-a-number", UNSAFE, ZS, "zs_ohm: 0.64 \u{3a9}  # at the far end\n", "zs_ohm: 0.64  # at the far end\n"),
    // Two readings, or none: nobody but the owner can say.
    case("not-a-number", None, EARTH, "ir_live_earth_mohm: 1,250\n", ""),
    case("not-a-number", None, EARTH, "ir_live_earth_mohm: 870 mohm\n", ""),
    case("not-a-number", None, ZS, "zs_ohm: -0.64\n", ""),
    case("not-a-number", None, ZS, "zs_ohm: N/A\n", ""),
    case("leading-zero", None, RCD_MS, "      rcd_ms: 031\n", ""),
    case("not-a-date", None, NEXT, "next_inspection: 02/03/2036\n", ""),
    case("not-a-date", None, NEXT, "next_inspection: 2036-02-30\n", ""),
    case("not-a-date", None, NEXT, "next_inspection: 25/11/36\n", ""),
    case("unknown-key", None, ZS, "zs_ohm: 0.64\n      r1_ohm: 0.3\n", ""),
    case("unknown-key", None, ZS, "zs_ohm: 0.64\n      Zs_ohm: 0.66\n", ""),
    case("duplicate-key", None, MINUTES, "minutes_on_site: 190\nminutes_on_site: 190\n", ""),
    case("conflict-marks", None, MINUTES, "<<<<<<< HEAD\nminutes_on_site: 190\n=======\nminutes_on_site: 170\n>>>>>>> phone\n", ""),
];
