//! What is known at the cursor: meanings, limits, completions, definitions, symbols, hints and actions.

use serde_json::{Value, json};

use crate::support::editor::{Editor, edited, place_at, place_of, uri};
use crate::support::{SOUND_JOB, TestBook};

/// A server with a text open in place of the sound job.
struct Open {
    book: TestBook,
    editor: Editor,
    text: String,
}

impl Open {
    fn with(text: impl Fn(String) -> String) -> Open {
        let book = TestBook::sound();
        let text = text(book.read(SOUND_JOB));
        let mut editor = Editor::start(book.root(), &[]);
        editor.open(&book.root().join(SOUND_JOB), &text);
        Open { book, editor, text }
    }

    fn path(&self) -> std::path::PathBuf {
        self.book.root().join(SOUND_JOB)
    }

    /// Asks at the place `within` bytes into the first `needle`.
    fn at(&mut self, method: &str, needle: &str, within: usize) -> Value {
        let at = self.text.find(needle).unwrap_or_else(|| panic!("no {needle:?} in the text")) + within;
        let (line, column) = place_at(&self.text, at);
        let path = self.path();
        self.editor.ask_at(&format!("textDocument/{method}"), &path, line, column)
    }

    fn hover(&mut self, needle: &str) -> String {
        self.at("hover", needle, 1)["contents"]["value"].as_str().unwrap_or_default().to_owned()
    }

    /// The labels offered behind `needle`.
    fn offered(&mut self, needle: &str) -> Vec<String> {
        let list = self.at("completion", needle, needle.len());
        list["items"].as_array().unwrap().iter().map(|item| item["label"].as_str().unwrap().to_owned()).collect()
    }

    /// The text after the offer of that label behind `needle` was taken.
    fn completed(&mut self, needle: &str, label: &str) -> String {
        let list = self.at("completion", needle, needle.len());
        let item =
            list["items"].as_array().unwrap().iter().find(|item| item["label"] == label).unwrap_or_else(|| panic!("{label} in {list}"));
        edited(&self.text, &[item["textEdit"].clone()])
    }

    fn actions(&mut self, needle: &str) -> Vec<Value> {
        self.actions_at(self.text.find(needle).unwrap())
    }

    fn actions_at(&mut self, at: usize) -> Vec<Value> {
        let (line, column) = place_at(&self.text, at);
        let position = json!({"line": line, "character": column});
        let params = json!({
            "textDocument": {"uri": uri(&self.path())},
            "range": {"start": position, "end": position},
            "context": {"diagnostics": []},
        });
        self.editor.ask("textDocument/codeAction", params).unwrap().as_array().unwrap().clone()
    }

    fn acted(&self, action: &Value) -> String {
        edited(&self.text, action["edit"]["changes"][uri(&self.path())].as_array().unwrap())
    }
}

#[test]
fn hover_tells_what_a_key_means_and_what_the_reading_is_held_against() {
    let mut open = Open::with(|text| text);
    assert_eq!(open.hover("design_a: 32"), "Design current, amperes.");
    assert_eq!(open.hover("No photographs"), "", "the body is free text");
    // B40: 230 V x 0.95 / 200 A = 1.09 ohm; B6: 230 V x 0.95 / 30 A = 7.28 ohm.
    let ev = open.hover("zs_ohm: 0.34");
    assert!(ev.starts_with("Earth fault loop impedance, ohm.") && ev.contains("limit 1.09 ohm"), "{ev}");
    let light = open.hover("0.64");
    assert!(light.contains("limit 7.28 ohm") && light.contains("Table 41.3"), "{light}");
    // 1 Mohm at 500 V.
    let insulation = open.hover("870");
    assert!(insulation.contains("minimum 1.0 Mohm"), "{insulation}");
    // A general RCD at its rated current: 300 ms.
    let time = open.hover("rcd_ms: 31");
    assert!(time.contains("limit 300 ms"), "{time}");
    // 14 m x (12.1 + 18.1) mohm/m = 0.42 ohm.
    let continuity = open.hover("r1_r2_ohm: 0.43");
    assert!(continuity.contains("14 m of 1.5/1 should read about 0.42 ohm, by IEC 60228"), "{continuity}");
    assert!(open.hover("no-trip").starts_with("`no-trip`: "));
    assert!(open.hover("armoured-90").starts_with("`armoured-90`: "));
}

#[test]
fn hover_on_a_rule_explains_it() {
    let mut open =
        Open::with(|text| text.replace("next_inspection", "answers:\n  - {rule: r1-r2-does-not-fit, at: main/2}\nnext_inspection"));
    let page = open.hover("r1-r2-does-not-fit");
    assert!(page.starts_with("**R1+R2 does not fit the length and size of the cable** (doubt)"), "{page}");
    assert!(page.contains("How to put it right: ") && page.contains("Sources: "), "{page}");
}

#[test]
fn keys_that_are_not_there_yet_are_offered() {
    let mut open = Open::with(|text| text.replace("      rcd_ms: 31\n", "      rc\n"));
    let offered = open.offered("0.64\n      zs_by: measured\n      zs_mode: no-trip\n      rc");
    assert!(offered.contains(&"rcd_ms".to_owned()) && offered.contains(&"rcd_5x_ms".to_owned()), "{offered:?}");
    assert!(!offered.contains(&"zs_ohm".to_owned()), "it is there: {offered:?}");
    assert!(!offered.contains(&"serves".to_owned()), "a key of the circuit: {offered:?}");
    assert_eq!(
        open.completed("0.64\n      zs_by: measured\n      zs_mode: no-trip\n      rc", "rcd_ms"),
        open.text.replace("      rc\n", "      rcd_ms: \n")
    );
    // On an empty line, by the cursor's column.
    let mut open = Open::with(|text| text.replace("      rcd_ms: 31\n", "      rcd_ms: 31\n    \n"));
    let offered = open.offered("      rcd_ms: 31\n    ");
    assert!(offered.contains(&"not_taken".to_owned()) && !offered.contains(&"rcd_ms".to_owned()), "{offered:?}");
    // Within brackets.
    let mut open = Open::with(|text| text.replace("breaking_ka: 10, poles: 1, maker: M1}", "bre}"));
    assert_eq!(open.completed("rating_a: 6, bre", "breaking_ka"), open.text.replace("bre}", "breaking_ka: }"));
}

#[test]
fn words_and_ids_are_offered_where_they_belong() {
    let mut open = Open::with(|text| {
        text.replace(
            "extent: the two",
            "faults:\n  - {id: f1, circuit: , unit: , symptom: }\nanswers:\n  - {rule: zs-, by: }\nextent: the two",
        )
        .replace("instruments: [mft-1, torque-1]", "instruments: [mft-1, ]")
        .replace("model: plover-7", "model: ")
        .replace("use: lighting", "use: ")
    });
    let uses = open.offered("light in the shed\n    use: ");
    assert!(uses.contains(&"lighting".to_owned()) && uses.contains(&"ring".to_owned()), "{uses:?}");
    let keys = open.offered("circuit: ,");
    assert!(keys.contains(&"found".to_owned()) && !keys.contains(&"symptom".to_owned()), "behind the comma begins a key: {keys:?}");
    let circuits = open.offered("{id: f1, circuit: ");
    assert_eq!(circuits, ["main/1", "main/2", "main/3"]);
    assert_eq!(open.offered("circuit: , unit: "), ["CP-204117"]);
    assert!(open.offered("unit: , symptom: ").contains(&"trips-when-wet".to_owned()));
    assert!(open.offered("{rule: zs-").contains(&"zs-over-limit".to_owned()));
    assert_eq!(open.offered("{rule: zs-, by: "), ["jd"]);
    assert_eq!(open.offered("instruments: [mft-1, "), ["mft-1", "torque-1"]);
    assert_eq!(open.offered("\"CP-204117\", model: "), ["plover-7"]);
    assert_eq!(open.completed("{id: f1, circuit: ", "main/2"), open.text.replace("circuit: , unit", "circuit: main/2, unit"));
}

#[test]
fn a_later_visit_leads_to_the_earlier_ones() {
    let book = TestBook::sound();
    let path = book.root().join("sites/elm-row/2026-11-20-callout.md");
    let text = "---\nrecord: job\nkind: callout\nstatus: draft\ncontinues: 2026-11-02-shed\ninstruments: [mft-1]\nsupply: {ze_ohm: 0.2}\n\
                people: {tested: jd}\ncircuits:\n  - id: main/2\n    readings: {zs_ohm: 0.66}\nunits:\n  - {event: seen, serial: \"CP-204117\", \
                model: plover-7, circuit: main/1}\n---\n";
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&path, text);
    let prefix = format!("{}/", uri(book.root()));
    let mut locations = |method: &str, needle: &str, within: usize| -> Vec<String> {
        let (line, column) = place_of(text, needle);
        let found = editor.ask_at(&format!("textDocument/{method}"), &path, line, column + within);
        let shown = |one: &Value| {
            let file = one["uri"].as_str().unwrap().strip_prefix(&prefix).unwrap();
            format!("{file}:{}", one["range"]["start"]["line"].as_u64().unwrap() + 1)
        };
        found.as_array().map(|all| all.iter().map(shown).collect()).unwrap_or_default()
    };
    let sound = book.read(SOUND_JOB);
    let site = book.read("sites/elm-row/site.md");
    let line = |text: &str, needle: &str| place_of(text, needle).0 + 1;
    let at_job = |needle: &str| format!("{SOUND_JOB}:{}", line(&sound, needle));
    let at_site = |needle: &str| format!("sites/elm-row/site.md:{}", line(&site, needle));
    assert_eq!(locations("definition", "2026-11-02-shed", 3), [format!("{SOUND_JOB}:1")]);
    assert_eq!(locations("definition", "mft-1", 2), ["instruments/mft-1.md:1"]);
    assert_eq!(locations("definition", "plover-7", 2), ["models/plover-7.md:1"]);
    assert_eq!(locations("definition", "ze_ohm", 2), [at_site("supply:")]);
    assert_eq!(locations("definition", "jd}", 1), [format!("book.yaml:{}", line(&book.read("book.yaml"), "id: jd"))]);
    assert_eq!(locations("definition", "main/2", 6), [at_job("id: main/2")]);
    assert_eq!(locations("definition", "main/2", 2), [at_site("id: main")], "the board's part of it");
    assert_eq!(locations("definition", "CP-204117", 3), [at_job("unit: \"CP-204117\""), at_job("serial: \"CP-204117\"")]);
    let here = |needle: &str| format!("sites/elm-row/2026-11-20-callout.md:{}", line(text, needle));
    assert_eq!(
        locations("references", "main/2", 6),
        [at_job("id: main/2"), at_job("device: main/2"), here("id: main/2")],
        "with the file that is not saved"
    );
}

#[test]
fn symbols_and_hints() {
    let mut open = Open::with(|text| text);
    let params = json!({"textDocument": {"uri": uri(&open.path())}});
    let symbols = open.editor.ask("textDocument/documentSymbol", params.clone()).unwrap();
    let names =
        |list: &Value| -> Vec<String> { list.as_array().unwrap().iter().map(|one| one["name"].as_str().unwrap().to_owned()).collect() };
    assert_eq!(names(&symbols), ["boards", "circuits", "units", "joints", "What was done"]);
    assert_eq!(names(&symbols[1]["children"]), ["main/1", "main/2", "main/3"]);
    assert_eq!(symbols[1]["children"][1]["detail"], "light in the shed, lighting");
    assert_eq!(symbols[1]["children"][1]["selectionRange"]["start"]["line"], place_of(&open.text, "id: main/2").0);
    assert_eq!(symbols[4]["range"]["start"]["line"], place_of(&open.text, "# What was done").0);

    let lines = open.text.lines().count();
    let range = json!({"start": {"line": 0, "character": 0}, "end": {"line": lines, "character": 0}});
    let params = json!({"textDocument": {"uri": uri(&open.path())}, "range": range});
    let hints = open.editor.ask("textDocument/inlayHint", params).unwrap();
    let at = |needle: &str| {
        let (line, column) = place_of(&open.text, needle);
        let end = column + needle.len();
        let hint = hints.as_array().unwrap().iter().find(|hint| hint["position"] == json!({"line": line, "character": end}));
        hint.map(|hint| hint["label"].as_str().unwrap().to_owned()).unwrap_or_default()
    };
    assert_eq!(at("zs_ohm: 0.64"), "limit 7.28 ohm");
    assert_eq!(at("r1_r2_ohm: 0.43"), "should read about 0.42 ohm");
    assert_eq!(at("ir_live_earth_mohm: 870"), "minimum 1.0 Mohm");
    assert_eq!(at("ir_live_live_mohm: \">999\""), "minimum 1.0 Mohm", "behind the quotes");
}

#[test]
fn a_doubt_can_be_answered_and_the_owner_writes_why() {
    for line_break in ["\n", "\r\n"] {
        let mut open = Open::with(|text| text.replace("r1_r2_ohm: 0.43", "r1_r2_ohm: 0.84").replace('\n', line_break));
        let actions = open.actions("r1_r2_ohm: 0.84");
        let titles: Vec<&str> = actions.iter().map(|action| action["title"].as_str().unwrap()).collect();
        assert_eq!(titles, ["Answer r1-r2-does-not-fit with a reason to write"]);
        assert_eq!(actions[0]["diagnostics"][0]["code"], "r1-r2-does-not-fit");
        let after = "next_inspection: 2036-11-02\nanswers:\n  - {rule: r1-r2-does-not-fit, at: main/2, why: , on: 2026-11-25}\n---\n";
        let wanted = open.text.replace(&"next_inspection: 2036-11-02\n---\n".replace('\n', line_break), &after.replace('\n', line_break));
        assert_eq!(open.acted(&actions[0]), wanted);
        // Until the reason is written nothing is quiet; with it the doubt is.
        let (path, mut text) = (open.path(), wanted);
        open.editor.change(&path, 2, &text);
        open.editor.diagnostics_until(&path, |found| found.iter().any(|one| one["code"] == "answer-without-reason"));
        text = text.replace("why: ,", "why: armour in parallel,");
        open.editor.change(&path, 3, &text);
        open.editor.diagnostics_until(&path, <[Value]>::is_empty);
    }
}

#[test]
fn missing_readings_become_keys_to_fill_in_and_a_danger_has_no_answer() {
    let mut open = Open::with(|text| {
        text.replace("      rcd_ms: 31\n", "").replace("      r1_r2_ohm: 0.43\n", "").replace("zs_ohm: 0.64", "zs_ohm: 7.90")
    });
    let path = open.path();
    let found = open.editor.diagnostics_until(&path, |found| found.iter().any(|one| one["code"] == "missing-reading"));
    let on_line_of = |code: &str| {
        let line = found.iter().find(|one| one["code"] == code).unwrap()["range"]["start"]["line"].as_u64().unwrap();
        open.text.lines().take(line as usize).map(|line| line.len() + 1).sum::<usize>()
    };
    let (missing, danger) = (on_line_of("missing-reading"), on_line_of("zs-over-limit"));
    let actions = open.actions_at(missing);
    let fill = actions.iter().find(|action| action["title"] == "Add r1_r2_ohm, rcd_ms to fill in").unwrap_or_else(|| panic!("{actions:?}"));
    let wanted = open
        .text
        .replace("      rcd_button: works\n  - {id: main/3", "      rcd_button: works\n      r1_r2_ohm: \n      rcd_ms: \n  - {id: main/3");
    assert_eq!(open.acted(fill), wanted);
    let answers = open.actions_at(danger);
    let titles: Vec<&str> = answers.iter().map(|action| action["title"].as_str().unwrap()).collect();
    assert!(!titles.iter().any(|title| title.contains("zs-over-limit")), "{titles:?}");
}

#[test]
fn an_answer_joins_the_answers_that_are_there() {
    let doubt = |text: String| text.replace("r1_r2_ohm: 0.43", "r1_r2_ohm: 0.84");
    let entry = "{rule: r1-r2-does-not-fit, at: main/2, why: , on: 2026-11-25}";
    let old = "{rule: unknown-key, why: kept, on: 2026-11-02}";
    for (there, after) in [
        (format!("answers:\n  - {old}\n"), format!("answers:\n  - {old}\n  - {entry}\n")),
        (format!("answers:\n- {old}\n"), format!("answers:\n- {old}\n- {entry}\n")),
        (
            "answers:\n  - rule: unknown-key\n    why: kept\n".to_owned(),
            format!("answers:\n  - rule: unknown-key\n    why: kept\n  - {entry}\n"),
        ),
        (format!("answers: [{old}]\n"), format!("answers: [{old}, {entry}]\n")),
        ("answers: []\n".to_owned(), format!("answers: [{entry}]\n")),
        ("answers:\n".to_owned(), format!("answers:\n  - {entry}\n")),
    ] {
        let mut open = Open::with(|text| doubt(text).replace("extent:", &format!("{there}extent:")));
        let actions = open.actions("r1_r2_ohm: 0.84");
        let action = actions.iter().find(|action| action["title"].as_str().unwrap().contains("r1-r2")).unwrap();
        assert_eq!(open.acted(action), open.text.replace(&there, &after));
    }
}

#[test]
fn an_answer_stays_within_the_fences_whatever_stands_last() {
    let entry = "answers:\n  - {rule: r1-r2-does-not-fit, at: main/2, why: , on: 2026-11-25}\n";
    for last in ["limitations:\n", "extent: |\n  the two\n  new circuits\n", "extent: >-\n  the two\n\n", "extent: the two # new ones\n"] {
        let mut open = Open::with(|text| {
            let text = text.replace("r1_r2_ohm: 0.43", "r1_r2_ohm: 0.84").replace("extent: the two new circuits\n", "");
            text.replace("next_inspection: 2036-11-02\n---\n", &format!("next_inspection: 2036-11-02\n{last}---\n"))
        });
        let actions = open.actions("r1_r2_ohm: 0.84");
        let acted = open.acted(&actions[0]);
        let front = acted.split("---\n").nth(1).unwrap();
        assert!(front.trim_end().ends_with(entry.trim_end()), "{last:?} became {front}");
        assert!(front.contains(last.trim_end()), "{last:?} became {front}");
    }
}

#[test]
fn a_fault_of_form_is_put_right_also_in_a_damaged_front_matter() {
    let mut open = Open::with(|text| {
        text.replace(
            "      ir_with_unit: false\n      polarity: correct\n      zs_ohm: 0.64",
            "\tir_with_unit: false\n      polarity: correct\n      zs_ohm: 0.64",
        )
    });
    let actions = open.actions("ir_with_unit: false\n      polarity: correct\n      zs_ohm: 0.64");
    let fix = actions.iter().find(|action| action["title"].as_str().unwrap().starts_with("Fix: ")).unwrap_or_else(|| panic!("{actions:?}"));
    assert_eq!(fix["diagnostics"][0]["code"], "indent-not-spaces");
    assert_eq!(open.acted(fix), open.book.read(SOUND_JOB));
}
