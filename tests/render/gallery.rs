//! One finding of every look: reasons near, far and in another file, long lines, tabs, wide letters, files without text.

use std::sync::Arc;

use ampledger::book::{FieldPath, SourceFile};
use ampledger::finding::{Finding, Grade, Place};
use ampledger::judge::{Answered, Summary, Verdict};
use ampledger::path;

const JOB: &str = "---
record: job
title: café lights\tand a 🚲 charger at the très long garage
supply: {ze_ohm: 0.19, ze_by: measured, ipf_ka: 1.2, ipf_by: measured, max_demand_a: 57, polarity: correct}
circuits:
  - id: main/1
    ocpd: {standard: BS EN 61009-1, curve: B, rating_a: 40, breaking_ka: 10, poles: 2, maker: M1, note: seen \u{1b}[31mred}
    readings:
      r1_r2_ohm: 0.12
      ir_test_v: 500
      ir_live_live_mohm: \">999\"
      ir_live_earth_mohm: 870
      ir_with_unit: false
      polarity: correct
      zs_ohm: 1.34
      rcd_ms: 320
---

- [ ] bring the tall ladder (by 2026-11-01)
";

const SITE: &str = "---
record: site
supply:
  earthing: TT
---
";

fn file(path: &str, text: &str, line_end: &str) -> Arc<SourceFile> {
    let text = text.replace('\n', line_end);
    let mut faults = Vec::new();
    let file = SourceFile::markdown(path.to_owned(), text, &mut faults);
    assert!(faults.is_empty());
    Arc::new(file)
}

/// The place of a text in a file.
fn place(file: &Arc<SourceFile>, text: &str, path: FieldPath) -> Place {
    let at = file.text.find(text).unwrap_or_else(|| panic!("no {text:?}"));
    Place::bytes(file, path, at..at + text.len())
}

fn finding(rule: &'static str, grade: Grade, place: Place, message: &str, help: &str) -> Finding {
    Finding {
        rule,
        grade,
        place,
        subject: String::new(),
        message: message.to_owned(),
        label: String::new(),
        help: help.to_owned(),
        source: String::new(),
        related: Vec::new(),
        fault: None,
        fix: None,
    }
}

/// The verdict that the snapshots show, with records of the given line end.
pub fn gallery(line_end: &str) -> Verdict {
    let job = file("sites/elm-row/2026-11-02-shed.md", JOB, line_end);
    let site = file("sites/elm-row/site.md", SITE, line_end);
    let reading = |key: &'static str| path!["circuits", 0, "readings", key];

    let mut slow = finding(
        "rcd-too-slow",
        Grade::Danger,
        place(&job, "320", reading("rcd_ms")),
        "the RCD took 320 ms to trip, and 300 ms is the most it may take",
        "Replace it, and leave the circuit off until then.",
    );
    slow.subject("main/1").source("BS EN 61008-1 Table 1").label("measured here");

    let mut over = finding(
        "zs-over-limit",
        Grade::Danger,
        place(&job, "1.34", reading("zs_ohm")),
        "Zs is 1.34 ohm, and a B40 may have 1.09 ohm at most",
        "Find the loose or undersized conductor, or fit a device that suits, before it is used.",
    );
    over.subject("main/1").source("BS 7671:2018+A2:2022 Table 41.3").label("measured here");
    over.because(place(&job, "rating_a: 40", path!["circuits", 0, "ocpd", "rating_a"]), "the limit comes from this device");
    over.because(place(&site, "TT", path!["supply", "earthing"]), "and from this earthing");

    let mut near = finding(
        "duplicate-key",
        Grade::Breach,
        place(&job, "ir_live_earth_mohm", reading("ir_live_earth_mohm")),
        "the two insulation readings differ more than their test voltage explains",
        "Measure again.",
    );
    near.label("this reading").because(place(&job, "500", reading("ir_test_v")), "tested at this voltage");

    let mut elsewhere = finding(
        "unknown-reference",
        Grade::Breach,
        place(&job, "main/1", path!["circuits", 0, "id"]),
        "the model of the unit on main/1 says otherwise",
        "Correct one of the two.",
    );
    elsewhere.because(Place::in_file_named("models/tern-7.md", path!["rated_a"]), "what the maker says of it");
    for related in &mut elsewhere.related {
        related.place.span = Some(0..0);
    }

    let long = finding(
        "off-scale-not-quoted",
        Grade::Doubt,
        place(&job, "57", path!["supply", "max_demand_a"]),
        "a demand of 57 A is a good deal for a house with one charge point and no other load of any size",
        "Check the sum.",
    );
    let wide = finding("curly-quotes", Grade::Doubt, place(&job, "🚲", path!["title"]), "a bicycle is no word", "Write it out.");
    let tab = finding("indent-not-spaces", Grade::Tidy, place(&job, "\tand", path!["title"]), "a tab stands here", "Type a space.");
    let steering = finding(
        "control-character",
        Grade::Tidy,
        place(&job, "\u{1b}", path!["circuits", 0, "ocpd", "note"]),
        "this cannot be seen: \u{1b}[31m",
        "Delete it.",
    );
    let task = finding(
        "task-past-date",
        Grade::Breach,
        place(&job, "bring the tall ladder", FieldPath::root()),
        "this was to be done by 2026-11-01, 24 days ago",
        "Do it, or give it a new date.",
    );
    let whole = finding(
        "file-too-large",
        Grade::Breach,
        Place::bytes(&job, FieldPath::root(), 0..0),
        "this file has 30 MB; only the first 1024 kB was read",
        "Move what is not part of the record into a file beside it.",
    );
    let empty = Arc::new(SourceFile::unread("sites/elm-row/2026-11-05-callout.md".to_owned()));
    let nothing = finding(
        "file-empty",
        Grade::Breach,
        Place::bytes(&empty, FieldPath::root(), 0..0),
        "this file has nothing in it",
        "Write it again, take it back from git, or delete it.",
    );

    let mut answered = finding(
        "r1-r2-does-not-fit",
        Grade::Doubt,
        place(&job, "0.12", reading("r1_r2_ohm")),
        "10 m of 6/2.5 should read about 0.11 ohm; you have 0.12",
        "Check the length.",
    );
    answered.subject("main/1");
    let findings = vec![slow, over, near, elsewhere, task, whole, nothing, long, wide, tab, steering];
    let count = |grade| findings.iter().filter(|finding| finding.grade == grade).count();
    let summary = Summary {
        sites: 1,
        jobs: 2,
        files: 4,
        danger: count(Grade::Danger),
        breach: count(Grade::Breach),
        doubt: count(Grade::Doubt),
        tidy: count(Grade::Tidy),
        answered: 1,
        accepted: 0,
        change: None,
    };
    let answered = vec![Answered {
        finding: answered,
        why: "armour in parallel with the core".to_owned(),
        until: Some("2031-11-02".parse().unwrap()),
    }];
    Verdict { on: "2026-11-25".parse().unwrap(), findings, answered, accepted: Vec::new(), summary }
}
