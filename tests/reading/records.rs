//! Damage inside a record.

use super::broken::planted_job;
use super::{BrokenBook, Case};

const TITLE: &str = "title: Charge point on the drive and a light in the shed";
const MINUTES: &str = "minutes_on_site: 190\n";
const RCD_MS: &str = "      rcd_ms: 31\n";
const EXTENT: &str = "extent: the two new circuits\n";
const SPARE: &str = "  - {id: main/3, use: spare}\n";
const SHED_READINGS: &str = "    readings:\n      r1_r2_ohm: 0.43\n";

fn value(name: &str, find: &str, put: &str, rule: &'static str, at: &str) -> Case {
    Case::put(name, find, put).says(rule, at)
}

#[test]
fn a_sound_record_with_line_ends_and_marks_of_any_sort_is_no_fault() {
    let crlf = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap().replace('\n', "\r\n").into_bytes();
    let bom = |bytes: Vec<u8>| [b"\xef\xbb\xbf".as_slice(), &bytes].concat();
    let sound = |name| Case::bytes(name, planted_job());
    let wrong = |name| value(name, "rcd_ms: 31", "rcd_ms: 3,1", "not-a-number", "3,1");
    BrokenBook::of(vec![
        sound("lf"),
        sound("crlf").map(crlf),
        sound("bom").map(bom),
        sound("bom-crlf").map(crlf).map(bom),
        wrong("wrong-crlf").map(crlf),
        wrong("wrong-bom").map(bom),
        wrong("wrong-bom-crlf").map(crlf).map(bom),
        value("wide-letters", "serves: light in the shed", "serves: lumière du café 🚲 {x", "not-a-number", "3,1")
            .map(|bytes| String::from_utf8(bytes).unwrap().replace("rcd_ms: 31", "rcd_ms: 3,1").into_bytes()),
        Case::bytes("indented", planted_job().replace('\n', "\n  ").replace("\n  ---", "\n---").replace("\n  See", "\nSee")),
    ])
    .check();
}

#[test]
fn fences() {
    let closed_by = |fence: &str| planted_job().replace("planted_key: 1\n---\n", &format!("planted_key: 1\n{fence}\n"));
    BrokenBook::of(vec![
        value("em-dash", "---\nrecord", "\u{2014}\nrecord", "fence-damaged", "\u{2014}"),
        value("en-dash", "---\nrecord", "\u{2013}-\nrecord", "fence-damaged", "\u{2013}"),
        value("minus", "---\nrecord", "\u{2212}\u{2212}\u{2212}\nrecord", "fence-damaged", "\u{2212}"),
        Case::bytes("closed-by-em-dash", closed_by("\u{2014}") + "\n---\n\nMore.\n").says("fence-damaged", "\u{2014}"),
        Case::bytes("closed-by-four", closed_by("----")).says("fence-damaged", "----"),
        Case::put("none-above", "---\nrecord", "record").says_at("fence-damaged", 1, 1),
        Case::put("line-above", "---\nrecord", "\n---\nrecord").says_at("fence-damaged", 2, 1),
        Case::put("in-the-middle", EXTENT, &format!("---\n{EXTENT}")).says_at("fence-damaged", 63, 1),
        value("dots-in-the-middle", EXTENT, &format!("...\n{EXTENT}"), "fence-damaged", "..."),
        Case::put("second-record", "planted_key: 1\n---\n", "planted_key: 1\n---\nrecord: model\nkind: rcd\n---\n")
            .says("second-record-in-file", "record: model"),
        Case::bytes("only-one", "---\n").says_at("file-empty", 2, 1).and_no_more(),
        Case::bytes("only-two", "---\n---\n").says_at("file-empty", 2, 1).and_no_more(),
        Case::bytes("nothing", "").says_at("file-empty", 1, 1).and_no_more(),
        Case::bytes("noughts", vec![0; 4096]).says_at("file-empty", 1, 1).and_no_more(),
        Case::bytes("prose", "Came back for the gland.\n").says_at("front-matter-missing", 1, 1).and_no_more(),
        Case::bytes("never-closed", closed_by("")).says("front-matter-unclosed", "planted_key: 1"),
    ])
    .check();
}

#[test]
fn characters() {
    let tabbed = |bytes: Vec<u8>| {
        let text = String::from_utf8(bytes).unwrap();
        text.replace("\n      ", "\n\t\t\t").replace("\n    ", "\n\t\t").replace("\n  -", "\n\t-").into_bytes()
    };
    let utf16 = |text: String| text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>();
    BrokenBook::of(vec![
        value("curly", "\"CP-204117\", set", "\u{201c}CP-1\u{201d}, set", "curly-quotes", "\u{201c}CP"),
        value("curly-line", TITLE, "title: \u{201c}Drive \\ \"and\" shed\u{201d}", "curly-quotes", "\u{201c}"),
        value("curly-single", TITLE, "title: \u{2018}Drive\u{2019}", "curly-quotes", "\u{2018}"),
        value("curly-half", "\"CP-204117\", set", "\"CP-1\u{201d}, set", "curly-quotes", "\"CP-1"),
        Case::put("curly-within-text", TITLE, "title: said \u{201c}fine\u{201d} and left \u{2018}it\u{2019} so"),
        Case::put("curly-in-block-text", EXTENT, "extent: |\n  \u{201c}all of it\u{201d}\n"),
        value("tab-indent", "    use: lighting", "\tuse: lighting", "indent-not-spaces", "\tuse"),
        value("tab-indent-deep", RCD_MS, "\t\t\trcd_ms: 31\n", "indent-not-spaces", "\t\t\trcd"),
        Case::bytes("tab-everywhere", planted_job()).map(tabbed).says("indent-not-spaces", "\t-"),
        value("tab-after-colon", MINUTES, "minutes_on_site:\t190\n", "indent-not-spaces", "\t190"),
        value("no-break-indent", "    use: lighting", "\u{a0}\u{a0}\u{a0} use: lighting", "indent-not-spaces", "\u{a0}"),
        value("no-break-after-colon", MINUTES, "minutes_on_site:\u{a0}190\n", "indent-not-spaces", "\u{a0}190"),
        Case::put("no-break-within-text", TITLE, "title: 190\u{a0}V at the drive"),
        value("line-separator", TITLE, "title: Drive\u{2028}and shed", "control-character", "\u{2028}"),
        value("nul", TITLE, "title: Drive\0\0\0and shed", "control-character", "\0"),
        value("escape", TITLE, "title: Drive \u{1b}[31m", "control-character", "\u{1b}"),
        Case::bytes("latin-1", replace(planted_job().into_bytes(), b"light in the shed\n    use", b"light in \xe9 shed\n    use"))
            .says("not-utf8", "\u{fffd}"),
        Case::bytes("latin-1-in-a-reading", replace(planted_job().into_bytes(), b"zs_ohm: 0.64", b"zs_ohm: 0.6\xe9"))
            .says("not-utf8", "\u{fffd}"),
        Case::bytes("utf-16", [b"\xff\xfe".to_vec(), utf16(planted_job())].concat())
            .says_at("not-utf8", 1, 1)
            .says_at("unknown-key", 71, 1)
            .says_at("unknown-reference", 70, 12)
            .says_at("link-to-nothing", 79, 5)
            .and_no_more(),
    ])
    .check();
}

fn replace(mut bytes: Vec<u8>, find: &[u8], put: &[u8]) -> Vec<u8> {
    let at = bytes.windows(find.len()).position(|window| window == find).unwrap();
    bytes.splice(at..at + find.len(), put.iter().copied());
    bytes
}

#[test]
fn values() {
    BrokenBook::of(vec![
        value("comma", "zs_ohm: 0.64", "zs_ohm: 0,64", "not-a-number", "0,64"),
        value("unit", "zs_ohm: 0.64", "zs_ohm: 0.64 ohm", "not-a-number", "0.64 ohm"),
        value("unit-joined", "zs_ohm: 0.64", "zs_ohm: 0.64ohm", "not-a-number", "0.64ohm"),
        value("not-available", "zs_ohm: 0.64", "zs_ohm: N/A", "not-a-number", "N/A"),
        value("not-a-number", "zs_ohm: 0.64", "zs_ohm: .nan", "not-a-number", ".nan"),
        value("below-nought", "zs_ohm: 0.64", "zs_ohm: -0.64", "not-a-number", "-0.64"),
        value("off-scale", "ir_live_live_mohm: \">999\"", "ir_live_live_mohm: >999", "off-scale-not-quoted", ">999"),
        value("off-scale-in-brackets", "zdb_ohm: 0.20", "zdb_ohm: > 20", "off-scale-not-quoted", "> 20"),
        value("leading-zero", "ref: \"EV-118\"", "ref: 00118", "leading-zero", "00118"),
        value("leading-zero-reading", "rcd_ms: 31", "rcd_ms: 031", "leading-zero", "031"),
        value("date-short", "next_inspection: 2036-11-02", "next_inspection: 2036-4-2", "not-a-date", "2036-4-2"),
        value("date-slashes", "next_inspection: 2036-11-02", "next_inspection: 02/04/36", "not-a-date", "02/04/36"),
        value("date-impossible", "next_inspection: 2036-11-02", "next_inspection: 2036-02-30", "not-a-date", "2036-02-30"),
        value("yes", "labelled: true", "labelled: yes", "not-true-false", "yes}"),
        value("no", "delayed: false, device: main/1", "delayed: no, device: main/1", "not-true-false", "no, device"),
        value("on", "new: true\n    design_a: 1\n", "new: on\n    design_a: 1\n", "not-true-false", "on\n    design_a: 1\n"),
        value("off", "ir_with_unit: false", "ir_with_unit: off", "not-true-false", "off\n"),
        value("word", "use: lighting", "use: lightning", "unknown-word", "lightning"),
        value("colon", "serves: light in the shed", "serves: shed: the light", "colon-in-text", "shed: the"),
        value("colon-at-the-end", "serves: light in the shed", "serves: light in the shed:", "colon-in-text", "light in the shed:"),
        value(
            "colon-in-brackets",
            "how: house load raised and the unit seen to back off",
            "how: raised: seen to back off",
            "colon-in-text",
            "raised:",
        ),
        value("colon-in-item", "instruments: [mft-1, torque-1]", "instruments: [mft-1, torque: 1]", "colon-in-text", "torque: 1"),
        Case::put("colon-in-block-text", EXTENT, "extent: |\n  note: this: that\n  \tand a tab\n  > 999\n"),
        Case::put("number-for-text", EXTENT, "extent: 12\n"),
    ])
    .check();
}

#[test]
fn keys() {
    let bomb = "a: &a [x, x, x, x, x, x, x, x, x]\nb: &b [*a, *a, *a, *a, *a, *a, *a, *a, *a]\n";
    let many = "extent: &x ".to_owned() + &"x".repeat(20_000) + "\nfollow_ups: [" + &"{what: *x}, ".repeat(400) + "]\n";
    let rcd_1 = "rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/1}";
    let rcd_2 = "rcd: {standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/2}";
    let cable_2 = "cable: {make_up: flat-70, cores: 3, line_mm2: 1.5, cpc_mm2: 1, cpc: core, length_m: 14, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}";
    let anchored = |anchor: &str| planted_job().replace(rcd_1, &rcd_1.replace("rcd: ", anchor));
    BrokenBook::of(vec![
        value("twice", RCD_MS, "      rcd_ms: 31\n      rcd_ms: 13\n", "duplicate-key", "rcd_ms: 13"),
        value("twice-in-brackets", "length_m: 14,", "length_m: 14, length_m: 41,", "duplicate-key", "length_m: 41"),
        value("dash-forgotten", "  - id: main/2", "    id: main/2", "duplicate-key", "id: main/2"),
        value("circuits-twice", "units:\n", "circuits:\n  - {id: main/9}\nunits:\n", "duplicate-key", "circuits:\n  - {id: main/9}"),
        value("misspelt", "rcd_ms: 31", "rcd_mss: 31", "unknown-key", "rcd_mss"),
        value("number-as-key", EXTENT, "1: x\nextent: x\n", "unknown-key", "1: x"),
        value("list-as-key", EXTENT, "? [a, b]\n: y\nextent: x\n", "unknown-key", "[a, b]"),
        value("brackets-as-key", EXTENT, "[a, b]: y\nextent: x\n", "unknown-key", "[a, b]"),
        value("nothing-as-key", EXTENT, "~: y\nextent: x\n", "unknown-key", "~: y"),
        value("no-key", EXTENT, ": y\nextent: x\n", "not-yaml", ": y"),
        value("true-as-key", EXTENT, "true: y\nextent: x\n", "unknown-key", "true: y"),
        value("merge", SHED_READINGS, "    readings:\n      <<: {r1_r2_ohm: 0.43}\n", "unknown-key", "<<"),
        Case::bytes("alias", anchored("rcd: &r ").replace(rcd_2, "rcd: *r")),
        Case::bytes("alias-that-does-not-fit", anchored("rcd: &r ").replace(cable_2, "cable: *r")).says("wrong-shape", "*r"),
        value("alias-of-nothing", "labelled: true", "labelled: *nowhere", "not-yaml", "*nowhere"),
        value("alias-of-itself", EXTENT, "extent: &x [*x]\n", "wrong-shape", "[*x]"),
        value("alias-bomb", EXTENT, &(bomb.to_owned() + EXTENT), "unknown-key", "a: &a").says("unknown-key", "b: &b"),
        Case::put("alias-of-much", EXTENT, &many).says("nested-too-deep", "*x}"),
    ])
    .check();
}

#[test]
fn shapes() {
    let dates = "dates: {designed: 2026-10-20, installed: 2026-11-02, tested: 2026-11-02, energised: 2026-11-02}";
    BrokenBook::of(vec![
        value("list-for-map", dates, "dates: [2026-11-02]", "wrong-shape", "[2026-11-02]"),
        value("map-for-list", "instruments: [mft-1, torque-1]", "instruments: {mft-1: x}", "wrong-shape", "{mft-1: x}"),
        value("text-for-list", "instruments: [mft-1, torque-1]", "instruments: mft-1", "wrong-shape", "mft-1"),
        value("text-for-map", dates, "dates: in November", "wrong-shape", "in November"),
        value("list-for-number", MINUTES, "minutes_on_site: [190]\n", "wrong-shape", "[190]"),
        value("map-for-word", "use: lighting", "use: {lighting: 3}", "wrong-shape", "{lighting: 3}"),
        Case::put("empty-item", SPARE, "  - {id: main/3, use: spare}\n  -\n").says_at("wrong-shape", 59, 4),
        value("nothing-in-list", "instruments: [mft-1, torque-1]", "instruments: [mft-1, torque-1, ~]", "wrong-shape", "~]"),
        Case::bytes("whole-list", "---\n- record: job\n- kind: install\n---\n").says_at("wrong-shape", 2, 1).and_no_more(),
        Case::bytes("whole-text", "---\njust words\n---\n").says_at("wrong-shape", 2, 1).and_no_more(),
        value("other-kind", "record: job", "record: site", "wrong-record", "site"),
        value("no-such-kind", "record: job", "record: jib", "unknown-word", "jib"),
        value("no-kind", "record: job\n", "", "wrong-record", "install"),
        Case::bytes("a-site-here", "---\nrecord: site\nname: a house\npremises: dwelling\nstoreys: two\n---\n")
            .says("wrong-record", "site")
            .says("not-a-number", "two")
            .and_no_more(),
    ])
    .check();
}

#[test]
fn syntax() {
    let nested = |depth: usize| (1..=depth).map(|column| format!("{}a:\n", " ".repeat(column))).collect::<String>();
    BrokenBook::of(vec![
        value("open-quote", TITLE, "title: \"Drive and shed", "not-yaml", "title: \"Drive"),
        value(
            "open-quote-in-brackets",
            "breaking_ka: 10, poles: 1, maker: M1}",
            "breaking_ka: 10, poles: 1, maker: \"M1}",
            "not-yaml",
            "ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 6",
        ),
        value("text-after-quote", TITLE, "title: \"Drive\" and shed", "not-yaml", "title: \"Drive"),
        value(
            "open-bracket",
            "insulation_mm: 0}\n    readings:\n      r1_r2_ohm: 0.43",
            "insulation_mm: 0\n    readings:\n      r1_r2_ohm: 0.43",
            "not-yaml",
            "cable: {make_up: flat-70",
        ),
        value("stray-bracket", "labelled: true}", "labelled: true}}", "not-yaml", "ev: {mode"),
        value("no-comma", "cores: 3, line_mm2: 1.5", "cores: 3 line_mm2: 1.5", "not-yaml", "line_mm2: 1.5"),
        value("comment-in-brackets", "how: house load raised", "how: #3 house load raised", "not-yaml", "ev: {mode"),
        value("off-by-a-column", "      zs_ohm: 0.64", "     zs_ohm: 0.64", "not-yaml", "zs_ohm: 0.64"),
        value("no-space", "zs_ohm: 0.64", "zs_ohm:0.64", "not-yaml", "zs_ohm:0.64"),
        value("words", MINUTES, "minutes_on_site: 190\nasdf\n", "not-yaml", "asdf"),
        value("at-sign", EXTENT, "extent: @office\n", "not-yaml", "extent: @"),
        Case::put("brackets", EXTENT, &format!("extent: {}\n", "[".repeat(100_000))).says_at("nested-too-deep", 63, 73),
        Case::put("braces", EXTENT, &format!("extent: {}\n", "{a: ".repeat(30_000))).says_at("nested-too-deep", 63, 9 + 64 * 4),
        Case::put("dashes", EXTENT, &format!("extent:\n  {}x\n", "- ".repeat(5_000))).says_at("nested-too-deep", 63, 1),
        Case::put("maps-in-maps", EXTENT, &format!("extent:\n{}", nested(400))).says_at("nested-too-deep", 63, 1),
        value(
            "conflict",
            RCD_MS,
            "<<<<<<< HEAD\n      rcd_ms: 31\n=======\n      rcd_ms: 13\n>>>>>>> phone\n",
            "conflict-marks",
            "<<<<<<<",
        ),
        value(
            "conflict-of-three",
            RCD_MS,
            "<<<<<<< HEAD\n      rcd_ms: 31\n||||||| base\n      rcd_ms: 3\n=======\n      rcd_ms: 13\n>>>>>>> phone\n",
            "conflict-marks",
            "<<<<<<<",
        ),
        value(
            "conflict-of-items",
            SPARE,
            "<<<<<<< HEAD\n  - {id: main/3, use: spare}\n=======\n  - {id: main/4, use: spare}\n>>>>>>> phone\n",
            "conflict-marks",
            "<<<<<<<",
        ),
        value("conflict-open", RCD_MS, "<<<<<<< HEAD\n      rcd_ms: 31\n=======\n", "conflict-marks", "<<<<<<<"),
        value(
            "conflict-in-text",
            "\nSee [",
            "\n<<<<<<< HEAD\nSee this.\n=======\nSee that.\n>>>>>>> phone\n\nSee [",
            "conflict-marks",
            "<<<<<<<",
        ),
    ])
    .check();
}

#[test]
fn files_cut_off() {
    let until = |text: &str, more: usize| {
        let job = planted_job();
        let at = job.find(text).unwrap() + more;
        job[..at].to_owned()
    };
    BrokenBook::of(vec![
        Case::bytes("mid-key", until("      zs_ohm: 0.64", 10)).says_at("front-matter-unclosed", 53, 1).and_no_more(),
        Case::bytes("mid-value", until("      zs_ohm: 0.64", 17)).says_at("front-matter-unclosed", 53, 1).and_no_more(),
        Case::bytes("mid-bracket", until("length_m: 14", 8)).says_at("front-matter-unclosed", 45, 1).and_no_more(),
        Case::bytes("after-a-line", until("      zs_ohm: 0.64\n", 19)).says_at("front-matter-unclosed", 53, 1).and_no_more(),
        Case::bytes("mid-quote", until("serial: \"CP-", 12)).says_at("front-matter-unclosed", 60, 1).and_no_more(),
        Case::bytes("with-a-fault-above", until("      zs_ohm: 0.64", 10).replace("zs_ohm: 0.34", "zs_ohm: 0,34"))
            .says_at("front-matter-unclosed", 53, 1)
            .says("not-a-number", "0,34")
            .and_no_more(),
    ])
    .check();
}

#[test]
fn large_files() {
    let front = format!("extent: |\n{}", "  some words of no great use\n".repeat(11_000));
    BrokenBook::of(vec![
        Case::bytes("thirty-megabytes", planted_job() + &"x".repeat(30_000_000)).says_at("file-too-large", 1, 1),
        Case::bytes("thirty-megabytes-of-front", "---\nrecord: job\n".to_owned() + &"# x\n".repeat(7_500_000))
            .says_at("file-too-large", 1, 1)
            .and_no_more(),
        Case::put("front-of-300-kB", EXTENT, &front).says_at("file-too-large", 2, 1).and_no_more(),
        Case::put("many-noughts", EXTENT, &format!("extent: x{}\n", "\0 ".repeat(60_000))).says("control-character", "\0").and_no_more(),
        Case::put("many-tabs", EXTENT, &format!("extent: [\n{}]\n", "\tx,\n".repeat(20_000)))
            .says("indent-not-spaces", "\tx")
            .and_no_more(),
    ])
    .check();
}
