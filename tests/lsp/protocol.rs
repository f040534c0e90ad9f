//! The conversation itself: beginning, ending, what is not understood, and what must never be said or break.

use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::editor::{Editor, place_of, uri};
use crate::support::{SOUND_JOB, TODAY, TestBook, tries};

#[test]
fn it_begins_and_ends_as_the_protocol_says() {
    let mut editor = Editor::silent(TODAY);
    assert_eq!(editor.ask("textDocument/hover", json!({})), Err(-32002), "not before initialize");
    editor.tell("textDocument/didOpen", json!({"nonsense": true}));
    let result = editor.ask("initialize", json!({"processId": null, "rootUri": null, "capabilities": {}})).unwrap();
    assert_eq!(result["serverInfo"]["name"], "ampledger");
    assert_eq!(result["capabilities"]["positionEncoding"], "utf-16");
    assert_eq!(editor.ask("initialize", json!({"capabilities": {}})), Err(-32600), "only once");
    assert_eq!(editor.ask("textDocument/rename", json!({})), Err(-32601), "not served");
    assert_eq!(editor.ask("textDocument/hover", json!({"position": "here"})), Err(-32602), "not its parameters");
    assert_eq!(editor.ask("shutdown", Value::Null), Ok(Value::Null));
    assert_eq!(editor.ask("textDocument/hover", json!({})), Err(-32600), "after shutdown");
    editor.tell("exit", Value::Null);
    assert_eq!(editor.ended(), (0, String::new()));
}

#[test]
fn without_good_bye_it_ends_with_1() {
    let mut editor = Editor::silent(TODAY);
    editor.tell("exit", Value::Null);
    assert_eq!(editor.ended().0, 1);
    assert_eq!(Editor::silent(TODAY).ended().0, 1, "the editor has gone");
}

#[test]
fn what_is_no_message_ends_it_with_an_error_that_repeats_nothing() {
    let malformed: [&[u8]; 7] = [
        b"hello secret\r\n\r\n",
        b"Content-Length: many secret\r\n\r\n{}",
        b"Content-Length: 18446744073709551615\r\n\r\n{}",
        b"Content-Length: 99999999999\r\n\r\n{}",
        b"Content-Type: secret\r\n\r\n{}",
        b"Content-Length: 8\r\n\r\n{secret}",
        b"Content-Length: 80\r\n\r\n{\"jsonrpc\":",
    ];
    for bytes in malformed {
        let mut editor = Editor::silent(TODAY);
        editor.send_raw(bytes);
        let (status, said) = editor.ended();
        assert_eq!(status, 2, "{said}");
        assert!(said.contains("no message"), "{said}");
        assert!(!said.contains("secret"), "{said}");
    }
}

#[test]
fn a_cancelled_request_gets_one_answer() {
    let book = TestBook::sound();
    let path = book.root().join(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&path, &book.read(SOUND_JOB));
    let params = json!({"textDocument": {"uri": uri(&path)}});
    let id = editor.request("textDocument/documentSymbol", params.clone());
    editor.tell("$/cancelRequest", json!({"id": id}));
    // The answer may have been on its way already.
    let answer = editor.answer(id);
    assert!(answer.as_ref().is_ok_and(Value::is_array) || answer == Err(-32800), "{answer:?}");
    assert!(editor.ask("textDocument/documentSymbol", params).is_ok(), "the next one is served");
}

#[test]
fn a_folder_without_a_book_is_quiet_but_for_one_word() {
    let folder = tempfile::tempdir().unwrap();
    let note = folder.path().join("note.md");
    std::fs::write(&note, "# Shopping\n").unwrap();
    let mut editor = Editor::start(folder.path(), &[]);
    editor.open(&note, "# Shopping\n- [ ] milk (by 2020-01-01)\n");
    assert_eq!(editor.ask_at("textDocument/hover", &note, 0, 3), Value::Null);
    assert_eq!(editor.ask_at("textDocument/completion", &note, 0, 3), Value::Null);
    let told: Vec<&Value> = editor.heard.iter().filter(|message| message.get("method").is_some()).collect();
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(told[0]["method"], "window/logMessage");
    assert_eq!(editor.stop(), 0);
}

#[test]
fn the_people_behind_a_site_appear_in_nothing() {
    let book = TestBook::sound();
    book.write("private/contacts.yaml", "elm-row: {name: Quentin Sparrowhawk, telephone: 01632 960123}\n");
    let private = book.root().join("private/contacts.yaml");
    let path = book.root().join(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &["utf-8"]);
    editor.open(&private, "elm-row: {name: Quentin Sparrowhawk, telephone: 01632 960123}\n");
    let text = book
        .read(SOUND_JOB)
        .replace("No photographs", "Quentin Sparrowhawk said so.\nNo photographs")
        .replace("given_to: customer", "given_to: ");
    editor.open(&path, &text);
    editor.diagnostics_until(&path, |found| !found.is_empty());
    for (line, _) in text.lines().enumerate() {
        for method in ["hover", "completion", "definition", "references"] {
            editor.ask_at(&format!("textDocument/{method}"), &path, line, 12);
        }
    }
    for method in ["hover", "completion", "definition", "references"] {
        assert_eq!(editor.ask_at(&format!("textDocument/{method}"), &private, 0, 12), Value::Null);
    }
    let range = json!({"start": {"line": 0, "character": 0}, "end": {"line": 999, "character": 0}});
    let mut params = json!({"textDocument": {"uri": uri(&path)}, "range": range, "context": {"diagnostics": []}});
    editor.ask("textDocument/codeAction", params.clone()).unwrap();
    params["context"] = Value::Null;
    editor.ask("textDocument/inlayHint", params.clone()).unwrap();
    editor.ask("textDocument/documentSymbol", params).unwrap();
    let all = Value::Array(editor.heard.clone()).to_string();
    for private in ["Sparrowhawk", "Quentin", "960123"] {
        assert!(!all.contains(private), "{private} was told");
    }
}

/// Everything that can be asked of a document, at a place; every answer has to come.
fn ask_everything(editor: &mut Editor, path: &std::path::Path, line: usize, character: usize) {
    for method in ["hover", "completion", "definition", "references"] {
        editor.ask_at(&format!("textDocument/{method}"), path, line, character);
    }
    let position = json!({"line": line, "character": character});
    let params = json!({
        "textDocument": {"uri": uri(path)},
        "range": {"start": {"line": 0, "character": 0}, "end": position},
        "context": {"diagnostics": []},
    });
    for method in ["documentSymbol", "inlayHint", "codeAction"] {
        editor.ask(&format!("textDocument/{method}"), params.clone()).unwrap();
    }
}

#[test]
fn no_beginning_of_a_record_and_no_slip_in_it_stops_the_server() {
    let book = TestBook::sound();
    let path = book.root().join(SOUND_JOB);
    let sound = book.read(SOUND_JOB);
    let mut editor = Editor::start(book.root(), &[]);
    editor.open(&path, &sound);
    let (editor, version) = (std::cell::RefCell::new(editor), std::cell::Cell::new(1));
    let slips =
        prop::sample::select(vec!["", "{", "}", "[", "- ", "\"", "'", ": ", "🔌", "\t", "\r", "\u{85}", "*a", "&a", "|", "#", "---\n"]);
    let mut runner = proptest::test_runner::TestRunner::new(tries(60));
    let case = (0..=sound.len(), slips, 0..4usize, 0..90usize);
    runner
        .run(&case, |(cut, slip, back, character)| {
            let cut = sound.floor_char_boundary(cut);
            let text = format!("{}{slip}", &sound[..cut]);
            version.set(version.get() + 1);
            editor.borrow_mut().change(&path, version.get(), &text);
            let line = text.lines().count().saturating_sub(back);
            ask_everything(&mut editor.borrow_mut(), &path, line, character);
            Ok(())
        })
        .unwrap();
    // And it still judges.
    let mut editor = editor.into_inner();
    editor.change(&path, version.get() + 1, &sound.replace("zs_ohm: 0.64", "zs_ohm: 7.90"));
    editor.diagnostics_until(&path, |found| found.iter().any(|one| one["code"] == "zs-over-limit"));
    let (line, character) = place_of(&sound, "zs_ohm: 0.64");
    assert!(editor.ask_at("textDocument/hover", &path, line, character).is_object());
    assert_eq!(editor.stop(), 0);
}
