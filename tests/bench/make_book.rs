//! Writes a book of any size for measuring: `make_book FOLDER RECORDS FINDINGS_PERCENT`.
//!
//! The same arguments give the same book to the byte. Each site has a house's circuits and eight visits over four years; readings
//! follow from lengths and conductors (IEC 60228 resistances at 20 C) with the scatter that instruments have. The given part of the
//! records, and only that, has something wrong in it; those whose fault is one of form, which a schema could find, are listed in
//! `faults-of-form.txt` beside book.yaml.

// A program for the command line, and none that anybody else calls.
#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::expect_used)]

use std::fmt::Write;
use std::path::Path;

const USAGE: &str = "make_book FOLDER RECORDS FINDINGS_PERCENT";
const VISITS: usize = 8;
/// Houses that one person looks after: few enough that nobody inspects five of them in a day.
const HOUSES_A_TESTER: usize = 40;
/// What can be wrong: left a draft, an instrument that is not in the book, a Zs far over its limit, and three faults of form.
const SLIPS: u64 = 6;
/// From this slip on: a decimal comma, a misspelt key, a misspelt word.
const FIRST_OF_FORM: u64 = 3;

fn main() {
    // `cargo bench` adds an argument of its own.
    let args: Vec<String> = std::env::args().skip(1).filter(|arg| arg != "--bench").collect();
    let [folder, records, percent] = args.as_slice() else { return println!("{USAGE}") };
    let root = Path::new(folder);
    let records: usize = records.parse().expect(USAGE);
    let percent: u64 = percent.parse().expect(USAGE);
    write_registers(root, records.div_ceil(VISITS).div_ceil(HOUSES_A_TESTER));
    let mut bytes = 0;
    let mut wrong = 0;
    let mut of_form = String::new();
    let mut left = records;
    let mut number = 0;
    while left > 0 {
        let visits = left.min(VISITS);
        let mut dice = Dice(0x5eed_0000 + number as u64);
        let house = House::built(number, &mut dice);
        write(root, &format!("sites/{}/site.md", house.id), &house.site());
        for (index, visit) in PROGRAMME.iter().enumerate().take(visits) {
            let slip = (dice.below(10_000) < percent * 100).then(|| dice.below(SLIPS));
            let (day, text) = house.visit(index, visit, slip, &mut dice);
            let path = format!("sites/{}/{day}-{}.md", house.id, visit.slug);
            write(root, &path, &text);
            bytes += text.len();
            wrong += usize::from(slip.is_some());
            if slip >= Some(FIRST_OF_FORM) {
                let _ = writeln!(of_form, "{path}");
            }
        }
        left -= visits;
        number += 1;
    }
    write(root, "faults-of-form.txt", &of_form);
    println!("{records} records of {} bytes on average at {number} sites, {wrong} of them with something wrong", bytes / records);
}

/// A small generator of numbers with a fixed seed (splitmix64), so that a book can be made again.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, end: u64) -> u64 {
        self.roll() % end
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.below(10_001) as f64 / 10_000.0)
    }

    fn pick<'t>(&mut self, from: &[&'t str]) -> &'t str {
        from[self.below(from.len() as u64) as usize]
    }
}

/// What a circuit is, apart from its length.
struct Kind {
    serves: &'static str,
    usage: &'static str,
    rating: u32,
    make_up: &'static str,
    line: &'static str,
    cpc: &'static str,
    /// Line and protective conductor, ohm per m at 20 C (IEC 60228 Table 1 and 2, plain copper).
    ohm_per_m: (f64, f64),
    metres: (f64, f64),
    design: u32,
}

const KINDS: [Kind; 7] = [
    Kind {
        serves: "sockets on the ground floor",
        usage: "ring",
        rating: 32,
        make_up: "flat-70",
        line: "2.5",
        cpc: "1.5",
        ohm_per_m: (0.00741, 0.0121),
        metres: (40.0, 70.0),
        design: 20,
    },
    Kind {
        serves: "sockets on the first floor",
        usage: "sockets",
        rating: 20,
        make_up: "flat-70",
        line: "2.5",
        cpc: "1.5",
        ohm_per_m: (0.00741, 0.0121),
        metres: (12.0, 24.0),
        design: 12,
    },
    Kind {
        serves: "lights downstairs",
        usage: "lighting",
        rating: 6,
        make_up: "flat-70",
        line: "1.5",
        cpc: "1",
        ohm_per_m: (0.0121, 0.0181),
        metres: (18.0, 38.0),
        design: 3,
    },
    Kind {
        serves: "lights upstairs and landing",
        usage: "lighting",
        rating: 6,
        make_up: "flat-70",
        line: "1.5",
        cpc: "1",
        ohm_per_m: (0.0121, 0.0181),
        metres: (18.0, 38.0),
        design: 3,
    },
    Kind {
        serves: "cooker",
        usage: "fixed",
        rating: 32,
        make_up: "flat-70",
        line: "6",
        cpc: "2.5",
        ohm_per_m: (0.00308, 0.00741),
        metres: (8.0, 16.0),
        design: 26,
    },
    Kind {
        serves: "immersion heater",
        usage: "heating",
        rating: 16,
        make_up: "flat-70",
        line: "2.5",
        cpc: "1.5",
        ohm_per_m: (0.00741, 0.0121),
        metres: (10.0, 18.0),
        design: 13,
    },
    Kind {
        serves: "charge point on the side wall",
        usage: "ev",
        rating: 40,
        make_up: "armoured-90",
        line: "6",
        cpc: "6",
        ohm_per_m: (0.00308, 0.00308),
        metres: (12.0, 26.0),
        design: 32,
    },
];

/// One of the visits that every house has.
struct Visit {
    slug: &'static str,
    kind: &'static str,
    title: &'static str,
    /// Year and month; the day differs from house to house, and so does the month of an inspection, up to this one.
    month: (u32, u32),
    /// The circuits it tests, from and up to.
    circuits: (usize, usize),
    paper: Option<&'static str>,
}

const PROGRAMME: [Visit; VISITS] = [
    Visit {
        slug: "board",
        kind: "install",
        title: "New board and circuits",
        month: (2022, 11),
        circuits: (0, 6),
        paper: Some("installation-certificate"),
    },
    Visit {
        slug: "charge-point",
        kind: "install",
        title: "Charge point on the side wall",
        month: (2023, 3),
        circuits: (6, 7),
        paper: Some("installation-certificate"),
    },
    Visit { slug: "trip", kind: "callout", title: "Sockets tripping", month: (2023, 10), circuits: (0, 3), paper: None },
    Visit { slug: "kitchen", kind: "callout", title: "Cooker dead", month: (2024, 4), circuits: (2, 6), paper: None },
    Visit { slug: "lights", kind: "callout", title: "Lights flickering", month: (2024, 11), circuits: (0, 4), paper: None },
    Visit {
        slug: "condition",
        kind: "inspect",
        title: "Condition report for the insurer",
        month: (2025, 11),
        circuits: (0, 7),
        paper: Some("condition-report"),
    },
    Visit { slug: "charging", kind: "callout", title: "Car stops charging", month: (2025, 12), circuits: (3, 7), paper: None },
    Visit {
        slug: "second-condition",
        kind: "inspect",
        title: "Condition report after the extension",
        month: (2026, 8),
        circuits: (0, 7),
        paper: Some("condition-report"),
    },
];

const PROSE: [&str; 12] = [
    "Every accessory on the circuit was taken off and looked at; terminals tight, no sign of heat, conductors the right length.",
    "The owner showed where the cables run under the landing, and the boards there lift without damage.",
    "Weather dry, loft dry, no condensation in the board. The door of the cupboard opens fully.",
    "Labels at the board agree with what each way feeds; one was faded and was written again.",
    "The meter tails are clipped and the main switch is firm. Nothing is stored against the board.",
    "Asked about nuisance tripping since the last visit: none that anybody remembers.",
    "The bathroom has no supplementary bonding and needs none: every circuit there has its own device.",
    "Polarity was looked at again at the furthest point, and the ends of the circuit were found where the drawing has them.",
    "A neighbour's extension now comes close to the outside wall; the cable on it is untouched.",
    "Readings were taken with the leads nulled at the board, and again after a minute where the first seemed high.",
    "The smoke alarms were pressed, and the dates on them read. They are good for another six years.",
    "Left tidy, covers on, everything back in use, and the owner told in plain words what was done.",
];

/// A house as it was built: what all its visits agree on.
struct House {
    id: String,
    number: usize,
    ze: f64,
    declared: &'static str,
    metres: Vec<f64>,
    day: u32,
    serial: String,
}

impl House {
    fn built(number: usize, dice: &mut Dice) -> House {
        House {
            id: format!("house-{number:05}"),
            number,
            ze: dice.between(0.12, 0.28),
            declared: "0.35",
            metres: KINDS.iter().map(|kind| dice.between(kind.metres.0, kind.metres.1).round()).collect(),
            day: 1 + dice.below(27) as u32,
            serial: format!("CP-{:06}", 200_000 + number),
        }
    }

    fn site(&self) -> String {
        format!(
            "---\nrecord: site\nname: house {} of the measuring book\npremises: dwelling\nstoreys: 2\nprivacy: {{share: redacted, photographs: any}}\nsupply:\n  earthing: TN-C-S\n  earthing_shown_by: operator-reply\n  phases: 1\n  nominal_v: 230\n  cutout: {{standard: BS 88-3, rating_a: 100, shown_by: seen}}\n  service: separate\n  declared: {{ze_ohm: {}, ipf_ka: 16}}\n  bonding: [{{service: water, mm2: 10, length_m: 8, reading_ohm: 0.02}}, {{service: gas, mm2: 10, length_m: 6, reading_ohm: 0.02}}]\n  tails: {{mm2: 25, length_m: 1.2}}\nboards:\n  - id: main\n    fed_from: origin\n    standard: BS EN 61439-3\n    maker: M1\n    enclosure: metal\n    main_switch: {{rating_a: 100, poles: 2}}\n    spd: {{type: \"2\", standard: BS EN 61643-11}}\n    ways: 7\n    conditional_ka: 16\n---\n",
            self.number, self.declared
        )
    }

    /// The day of a visit and its record.
    fn visit(&self, index: usize, visit: &Visit, slip: Option<u64>, dice: &mut Dice) -> (String, String) {
        let month = if visit.kind == "inspect" { 1 + (self.number as u32 % visit.month.1) } else { visit.month.1 };
        let day = format!("{}-{month:02}-{:02}", visit.month.0, self.day);
        let tester = format!("t{}", self.number / HOUSES_A_TESTER);
        let is_install = visit.kind == "install";
        let status = match (slip, visit.paper) {
            (Some(0), _) => "draft",
            (_, Some(_)) => "issued",
            _ => "complete",
        };
        let instruments = if slip == Some(1) { "mft-9, torque-1" } else { "mft-1, torque-1" };
        let edition = if visit.month.0 < 2025 { "BS 7671:2018+A2:2022" } else { "BS 7671:2018+A3:2024" };
        let ze = self.ze + dice.between(-0.01, 0.01);
        let mut text =
            format!("---\nrecord: job\nkind: {}\nstatus: {status}\ntitle: {}\nregulations: {edition}\n", visit.kind, visit.title);
        let (dates, people) = if is_install {
            let designed = format!("{}-{:02}-{:02}", visit.month.0, visit.month.1 - 1, self.day);
            (
                format!("designed: {designed}, installed: {day}, tested: {day}, energised: {day}"),
                format!("designed: {tester}, built: {tester}, tested: {tester}"),
            )
        } else {
            (format!("tested: {day}"), format!("tested: {tester}"))
        };
        let _ = writeln!(text, "dates: {{{dates}}}\npeople: {{{people}}}\ninstruments: [{instruments}]");
        let ipf = 0.23 / ze;
        let demand = 52 + dice.below(9);
        let _ = writeln!(
            text,
            "supply: {{ze_ohm: {ze:.2}, ze_by: measured, ipf_ka: {ipf:.2}, ipf_by: measured, max_demand_a: {demand}, polarity: correct}}\nminutes_on_site: {}\nboards: [{{id: main, zdb_ohm: {:.2}, ipf_ka: {:.2}}}]\ncircuits:",
            60 + dice.below(200),
            ze + 0.01,
            0.23 / (ze + 0.01)
        );
        for circuit in visit.circuits.0..visit.circuits.1 {
            let first = circuit == visit.circuits.0;
            self.circuit(&mut text, circuit, is_install, ze, if first { slip } else { None }, dice);
        }
        self.rest(&mut text, index, visit, &day, dice);
        (day, text)
    }

    fn circuit(&self, text: &mut String, index: usize, is_new: bool, ze: f64, slip: Option<u64>, dice: &mut Dice) {
        let kind = &KINDS[index];
        let metres = self.metres[index];
        let way = index + 1;
        let (line, cpc) = (kind.ohm_per_m.0 * metres, kind.ohm_per_m.1 * metres);
        let r1_r2 = if kind.usage == "ring" { (line + cpc) / 4.0 } else { line + cpc } + dice.between(0.0, 0.03);
        let zs = ze + 0.01 + r1_r2 + dice.between(0.0, 0.06);
        let _ = writeln!(text, "  - id: main/{way}\n    serves: {}\n    use: {}", kind.serves, kind.usage);
        if is_new {
            let _ = writeln!(text, "    new: true\n    design_a: {}", kind.design);
            let _ = writeln!(
                text,
                "    ocpd: {{standard: BS EN 61009-1, curve: B, rating_a: {}, breaking_ka: 10, poles: {}, maker: M1}}\n    rcd: {{standard: BS EN 61009-1, type: A, trip_ma: 30, delayed: false, device: main/{way}}}",
                kind.rating,
                if kind.usage == "ev" { 2 } else { 1 }
            );
            let _ = writeln!(
                text,
                "    cable: {{make_up: {}, cores: 3, line_mm2: {}, cpc_mm2: {}, cpc: core, length_m: {metres}, length_by: measured, method: C, ambient_c: 30, grouped: 1, insulation_mm: 0}}",
                kind.make_up, kind.line, kind.cpc
            );
            if kind.usage == "ev" {
                let _ = writeln!(
                    text,
                    "    ev: {{mode: 3, unit: \"{}\", set_a: 32, place: outdoor, open_pen: iv, pen_statement: \"maker's declaration, indent (iv)\", dc_detection: in-unit, load_limit: {{limit_a: 80, proved: 2023-03-{:02}, how: house load raised and the unit seen to back off}}, labelled: true}}",
                    self.serial, self.day
                );
            }
        }
        let _ = writeln!(text, "    readings:\n      r1_r2_ohm: {r1_r2:.2}");
        if kind.usage == "ring" {
            let mut end = |ohm: f64| ohm + dice.between(0.0, 0.01);
            let (r1, rn, r2) = (end(line), end(line), end(cpc));
            let _ = writeln!(text, "      ring_r1_ohm: {r1:.2}\n      ring_rn_ohm: {rn:.2}\n      ring_r2_ohm: {r2:.2}");
        }
        let mohm = |dice: &mut Dice| if dice.below(3) == 0 { "\">999\"".to_owned() } else { (320 + dice.below(650)).to_string() };
        let (live, earth) = (mohm(dice), mohm(dice));
        let written = match slip {
            Some(2) => format!("{:.2}", zs + 12.0),
            Some(3) => format!("{zs:.2}").replace('.', ","),
            _ => format!("{zs:.2}"),
        };
        let key = if slip == Some(4) { "zs_ohms" } else { "zs_ohm" };
        let polarity = if slip == Some(5) { "corect" } else { "correct" };
        let _ = writeln!(
            text,
            "      ir_test_v: 500\n      ir_live_live_mohm: {live}\n      ir_live_earth_mohm: {earth}\n      ir_with_unit: false\n      polarity: {polarity}\n      {key}: {written}\n      zs_by: measured\n      zs_mode: no-trip\n      rcd_ms: {:.1}\n      rcd_button: works",
            dice.between(16.0, 38.0)
        );
        if kind.usage == "ev" {
            let _ = writeln!(
                text,
                "      rcd_dc_ms: {}\n      leakage_ma: {:.1}\n      pilot: {{b: works, c: works, error: works, fault: works}}",
                700 + dice.below(300),
                dice.between(0.6, 1.9)
            );
        }
    }

    fn rest(&self, text: &mut String, index: usize, visit: &Visit, day: &str, dice: &mut Dice) {
        if visit.slug == "charge-point" {
            let _ = writeln!(
                text,
                "units:\n  - {{event: fitted, serial: \"{}\", model: plover-7, circuit: main/7, firmware: \"4.1\", warranty_until: 2026-03-{:02}, supplied_by: us, smart_statement: true}}\njoints:\n  - {{where: terminals of the charge point, circuit: main/7, kind: screw, made_by: us, access: open, conductor: stranded, torque_nm: 2.5}}\nnotices:\n  - {{to: network-operator, route: notify, sent: {day}, answered: {day}, ref: \"EV-{}\"}}\n  - {{to: building-control, sent: {day}, ref: \"BC-{}\"}}",
                self.serial, self.day, self.number, self.number
            );
        } else if visit.kind == "install" {
            let _ = writeln!(text, "notices:\n  - {{to: building-control, sent: {day}, ref: \"BB-{}\"}}", self.number);
        }
        if visit.kind == "callout" {
            let way = visit.circuits.0 + 1;
            let _ = writeln!(
                text,
                "faults:\n  - id: f1\n    reported: {day}\n    symptom: other\n    found: loose terminal behind an accessory, no damage\n    believed: accessory taken off for decorating and not tightened again\n    excluded: [cable, device]\n    cause: termination\n    laid_to: other\n    circuit: main/{way}\n    code: C3\n    state: fixed\n    fixed_by: {day}-{}",
                visit.slug
            );
        }
        if visit.kind == "inspect" {
            let _ = writeln!(
                text,
                "observations:\n  - {{id: o1, code: C3, what: no label at the main bonding clamp, where: meter cupboard, clause: \"514.13.1\"}}\noutcome: satisfactory\nlimitations: [{{what: cables in walls, why: no fabric was opened, kind: agreed, agreed_with: customer, on: {day}}}]"
            );
        }
        if visit.kind != "callout" {
            let _ = writeln!(text, "extent: {}", if visit.kind == "inspect" { "whole installation" } else { "the new circuits" });
        }
        if let Some(paper) = visit.paper {
            let _ = writeln!(
                text,
                "papers:\n  - {{kind: {paper}, number: \"MB-{}-{index}\", issued: {day}, given_to: customer, how: email, on: {day}}}\nnext_inspection: {}{}",
                self.number,
                visit.month.0 + 10,
                &day[4..]
            );
        }
        let _ = writeln!(text, "---\n\n# What was done\n\nPhotographs: none, the owner asked for none to be kept.");
        // Up to about 4 kB, as a working record is.
        while text.len() < 3_900 {
            let _ = writeln!(text, "\n{} {}", dice.pick(&PROSE), dice.pick(&PROSE));
        }
    }
}

fn write_registers(root: &Path, testers: usize) {
    let people: String =
        (0..testers).map(|tester| format!("  - {{id: t{tester}, name: Tester {tester}, role: qualified-supervisor}}\n")).collect();
    write(root, "book.yaml", &format!("format: 1\ntrading_as: Measuring Book\nnation: england\npeople:\n{people}"));
    let years = 2022..=2026;
    let calibrations = |month: u32| {
        years
            .clone()
            .map(|year| format!("  - {{on: {year}-{month:02}-01, due: {}-{month:02}-01, certificate: \"C-{year}\"}}\n", year + 1))
            .collect::<String>()
    };
    let checks: String = (2022..=2026)
        .flat_map(|year| (1..=12).map(move |month| (year, month)))
        .filter(|(year, month)| (*year, *month) <= (2026, 11))
        .map(|(year, month)| format!("  - {{on: {year}-{month:02}-05, result: passed, against: check box}}\n"))
        .collect();
    write(
        root,
        "instruments/mft-1.md",
        &format!(
            "---\nrecord: instrument\nkind: multifunction-tester\nserial: \"M-5521\"\nreads: [continuity, insulation, loop, rcd, electrode, voltage, current, pilot]\nranges: {{ir_top_mohm: 999}}\ncalibrations:\n{}checks:\n{checks}---\n",
            calibrations(2)
        ),
    );
    write(
        root,
        "instruments/torque-1.md",
        &format!(
            "---\nrecord: instrument\nkind: torque-driver\nserial: \"T-12\"\nreads: [torque]\ncalibrations:\n{}---\n",
            calibrations(3)
        ),
    );
    write(
        root,
        "models/plover-7.md",
        "---\nrecord: model\nkind: charge-point\nrated_a: 32\nphases: 1\nstandards: [BS EN 61851-1]\ndc_detection: true\nopen_pen: [iv]\nmax_ocpd_a: 40\nterminals: {kind: screw, torque_nm: 2.5}\nbidirectional: false\n---\n",
    );
}

fn write(root: &Path, path: &str, text: &str) {
    let path = root.join(path);
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, text).unwrap();
}
