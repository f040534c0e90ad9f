//! Everything that a fuzzer has found, held once more to what must hold (`tests/fuzz/properties`). A file in `found` begins with the name
//! of its target and goes on with what was wrong.

#[path = "../fuzz/properties/mod.rs"]
mod properties;

use crate::pack::pictures;
use crate::support::repository;

#[test]
fn what_a_fuzzer_has_found_breaks_no_promise_any_more() {
    let mut held = 0;
    for entry in std::fs::read_dir(repository().join("tests/hostile/found")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        let promise: fn(&[u8]) = match name.split_once('-').unwrap().0 {
            "record" => properties::record,
            "body" => properties::body,
            "query" => properties::query,
            "lsp" => properties::lsp,
            "exif" => properties::exif,
            "fix" => properties::fix,
            other => panic!("{other} is no target"),
        };
        // Named first: a promise that is broken says what was wrong, and not with which file.
        println!("{name}");
        promise(&std::fs::read(&path).unwrap());
        held += 1;
    }
    assert!(held > 0, "nothing was held to anything");
}

/// Promises that let everything through would find nothing: each is broken here on purpose, or kept by an input that reaches its end.
#[test]
fn the_promises_reach_what_they_speak_of() {
    let shed = std::fs::read(repository().join("tests/sound-book").join(crate::support::SOUND_JOB)).unwrap();
    let text = String::from_utf8(shed.clone()).unwrap();
    properties::record(&shed);
    properties::fix(text.replacen("title: Charge", "title:\u{a0}Charge", 1).as_bytes());
    properties::body(b"- [ ] look again (by 2026-12-01)\n\n# A [link](photos/a.jpg) <b onclick=x>\n\n|a|b|\n|:-|-|\n|1|2|\n");
    for picture in [pictures::jpeg(), pictures::png()] {
        properties::exif(&picture);
    }
    for asked in ["$.circuits[?search(@.id, 'c.*')].readings", "$.circuits[", "shed\ncharger"] {
        properties::query(asked.as_bytes());
    }
    let typed = [
        "o",
        &text.replace('\n', "\u{1}"),
        "\nt\u{3}\0\u{3}\0\u{1f6b2}\nk\n0\u{7}\u{4}\n1\u{7}\u{4}\n2\u{7}\u{4}\n3\u{7}\u{4}\n4\0\0\n5@@\na\nc",
    ]
    .concat();
    properties::lsp(typed.as_bytes());
    properties::lsp(format!("8{typed}").as_bytes());
    let hover =
        r#"{"id": 1, "method": "textDocument/hover", "params": {"textDocument": {"uri": "@U"}, "position": {"line": 1, "character": 1}}}"#;
    properties::lsp(format!("W{hover}\n{hover}\n{{\"method\": \"exit\"}}\n{hover}").as_bytes());
}
