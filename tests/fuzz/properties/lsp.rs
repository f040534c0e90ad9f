//! The language server.

use std::ops::Range;

use ampledger::lsp::Session;
use serde_json::{Value, json};

use super::{JOB, sound_book, today};

/// The language server. Bytes that begin with `C` are taken for what comes over the wire; those that begin with `W` for the messages in
/// it, one a line; others are lines, each of them something that an editor does: opening, typing over a range, asking, or any message as
/// JSON, with columns in bytes where they begin with `8` and in UTF-16 units otherwise. Every request is answered once; whatever is said
/// of the open text lies in it, as the editor has it.
pub fn lsp(bytes: &[u8]) {
    let root = sound_book().canonicalize().expect("the sound book");
    let root_uri = format!("file://{}", root.display());
    let uri = format!("{root_uri}/{JOB}");
    match bytes {
        [b'C', ..] => drop(said_to(bytes.to_vec())),
        [b'W', messages @ ..] => {
            let begin = json!({"id": 0, "method": "initialize", "params": {"rootUri": root_uri, "capabilities": {}}});
            let lines = messages.split(|byte| *byte == b'\n').map(|line| String::from_utf8_lossy(line).replace("@U", &uri));
            converse(std::iter::once(begin.to_string()).chain(lines.filter(|line| !line.is_empty()).take(16)));
        }
        _ => {
            let (in_bytes, lines) = bytes.strip_prefix(b"8").map_or((false, bytes), |lines| (true, lines));
            edit(lines, in_bytes, &root_uri, uri);
        }
    }
}

/// What the server says to some bytes, message by message.
fn said_to(bytes: Vec<u8>) -> Vec<Value> {
    let mut said = Vec::new();
    let _ = ampledger::lsp::serve(std::io::Cursor::new(bytes), &mut said, &today);
    let mut messages = Vec::new();
    let mut rest: &[u8] = &said;
    while !rest.is_empty() {
        let (length, body) = rest.strip_prefix(b"Content-Length: ").and_then(split_head).expect("a head");
        messages.push(serde_json::from_slice(&body[..length]).expect("JSON"));
        rest = &body[length..];
    }
    messages
}

/// Sends messages in a row; every request up to the end of the talk must get one answer and no other.
fn converse(messages: impl Iterator<Item = String>) {
    let mut sent = Vec::new();
    let mut asked: Vec<Value> = Vec::new();
    let mut is_going_on = true;
    for message in messages {
        sent.extend(format!("Content-Length: {}\r\n\r\n{message}", message.len()).into_bytes());
        is_going_on &= match serde_json::from_str::<lsp_server::Message>(&message) {
            Ok(lsp_server::Message::Request(request)) if is_going_on => {
                asked.push(json!(request.id));
                true
            }
            Ok(lsp_server::Message::Notification(told)) => told.method != "exit",
            Ok(_) => true,
            Err(_) => false,
        };
    }
    let said = said_to(sent);
    let mut answered: Vec<Value> = said.iter().filter(|message| message.get("method").is_none()).map(|told| told["id"].clone()).collect();
    let in_order = |ids: &mut Vec<Value>| ids.sort_by_key(Value::to_string);
    in_order(&mut asked);
    in_order(&mut answered);
    assert_eq!(asked, answered, "asked and answered");
}

/// An editor's doings on the visit, a line each.
fn edit(lines: &[u8], in_bytes: bool, root_uri: &str, uri: String) {
    let mut session = Session::new(&today);
    let columns = if in_bytes { "utf-8" } else { "utf-16" };
    let capabilities = json!({"general": {"positionEncodings": [columns]}});
    let begun = session.answer("initialize", json!({"processId": null, "rootUri": root_uri, "capabilities": capabilities}));
    assert_eq!(begun.expect("a beginning")["capabilities"]["positionEncoding"], columns);
    let mut editor = Editor { uri, in_bytes, text: None, version: 0, is_ours: true };
    for line in lines.split(|byte| *byte == b'\n').take(24) {
        editor.act(line, &mut session);
    }
    for _ in 0..20 {
        session.work();
        if !session.has_news() && !session.has_work() {
            break;
        }
    }
    assert!(!session.has_news() && !session.has_work(), "the server does not come to rest");
    for message in session.outgoing() {
        let lsp_server::Message::Notification(told) = message else { continue };
        let is_current = told.method == "textDocument/publishDiagnostics" && told.params["version"] == json!(editor.version);
        if is_current && told.params["uri"] == editor.uri {
            editor.lies_in_the_text(&told.params["diagnostics"]);
        }
    }
}

fn split_head(bytes: &[u8]) -> Option<(usize, &[u8])> {
    let at = bytes.windows(4).position(|window| window == b"\r\n\r\n")?;
    Some((std::str::from_utf8(&bytes[..at]).ok()?.parse().ok()?, &bytes[at + 4..]))
}

/// What an editor knows: its own copy of the text, in the protocol's lines and UTF-16 columns.
struct Editor {
    uri: String,
    in_bytes: bool,
    text: Option<String>,
    version: i32,
    /// Until a message as JSON may have changed the document behind its back.
    is_ours: bool,
}

impl Editor {
    fn act(&mut self, line: &[u8], session: &mut Session<'_>) {
        const ASKED: [&str; 6] = [
            "textDocument/hover",
            "textDocument/completion",
            "textDocument/definition",
            "textDocument/references",
            "textDocument/documentSymbol",
            "textDocument/inlayHint",
        ];
        let Some((kind, rest)) = line.split_first() else { return };
        let uri = self.uri.clone();
        let document = json!({"uri": uri});
        match kind {
            b'o' | b'w' => {
                let text = String::from_utf8_lossy(rest).replace('\u{1}', "\n");
                self.version += 1;
                let versioned = json!({"uri": uri, "version": self.version, "languageId": "markdown", "text": text});
                if self.text.is_none() || *kind == b'o' {
                    session.take("textDocument/didOpen", json!({"textDocument": versioned}));
                } else {
                    session.take("textDocument/didChange", json!({"textDocument": versioned, "contentChanges": [{"text": text}]}));
                }
                self.text = Some(text);
            }
            b't' => {
                let (Some(text), [a, b, c, d, typed @ ..]) = (&mut self.text, rest) else { return };
                let ends = [(a, b), (c, d)].map(|(line, column)| json!({"line": line, "character": column}));
                let typed = String::from_utf8_lossy(typed).replace('\u{1}', "\n");
                let [start, end] = [&ends[0], &ends[1]].map(|end| place_in(text, end, self.in_bytes));
                let Some((start, end)) = start.zip(end).filter(|(start, end)| start <= end) else { return };
                self.version += 1;
                let change = json!({"range": {"start": ends[0], "end": ends[1]}, "text": typed});
                session.take(
                    "textDocument/didChange",
                    json!({"textDocument": {"uri": uri, "version": self.version}, "contentChanges": [change]}),
                );
                text.replace_range(start..end, &typed);
            }
            b'c' => {
                session.take("textDocument/didClose", json!({"textDocument": document}));
                self.text = None;
            }
            b'k' => session.work(),
            b'0'..=b'5' => {
                let [line, column, ..] = rest else { return };
                let position = json!({"line": line, "character": column});
                let range = json!({"start": {"line": 0, "character": 0}, "end": position});
                let params =
                    json!({"textDocument": document, "position": position, "range": range, "context": {"includeDeclaration": true}});
                let method = ASKED[usize::from(kind - b'0')];
                let answer = session.answer(method, params);
                self.lies_in_the_text(&answer.unwrap_or_else(|why| panic!("{method} is refused: {why:?}")));
            }
            b'a' => {
                let whole = json!({"start": {"line": 0, "character": 0}, "end": {"line": 9999, "character": 0}});
                let params = json!({"textDocument": document, "range": whole, "context": {"diagnostics": []}});
                let answer = session.answer("textDocument/codeAction", params);
                self.lies_in_the_text(&answer.unwrap_or_else(|why| panic!("code actions are refused: {why:?}")));
            }
            _ => {
                let Ok(message) = serde_json::from_slice::<Value>(line) else { return };
                let method = message["method"].as_str().unwrap_or_default();
                // Shutting down is for the wire; here it would end the talk.
                if method == "shutdown" {
                    return;
                }
                self.is_ours = false;
                if message.get("id").is_some() {
                    let _ = session.answer(method, message["params"].clone());
                } else {
                    session.take(method, message["params"].clone());
                }
            }
        }
    }

    /// Every range and position in an answer about the open text is one of it, and edits that are made together are apart.
    fn lies_in_the_text(&self, told: &Value) {
        let Some(text) = self.text.as_ref().filter(|_| self.is_ours) else { return };
        let place =
            |position: &Value| place_in(text, position, self.in_bytes).unwrap_or_else(|| panic!("{position} is not in the text: {told}"));
        let span = |range: &Value| {
            let span = place(&range["start"])..place(&range["end"]);
            assert!(span.start <= span.end, "{range} is the wrong way round");
            span
        };
        match told {
            Value::Array(all) => all.iter().for_each(|told| self.lies_in_the_text(told)),
            // A location in another file.
            Value::Object(of) if of.get("uri").is_some_and(|uri| *uri != self.uri) => {}
            Value::Object(of) => {
                let whole = of.get("range").filter(|range| range.is_object()).map(span);
                let selection = of.get("selectionRange").map(span);
                if let (Some(whole), Some(selection)) = (whole, selection) {
                    assert!(whole.start <= selection.start && selection.end <= whole.end, "{selection:?} is not within {whole:?}");
                }
                of.get("position").map(place);
                if let Some(changes) = of.get("changes").and_then(Value::as_object) {
                    let edits = changes.get(&self.uri).and_then(Value::as_array).into_iter().flatten();
                    let spans: Vec<Range<usize>> = edits.map(|edit| span(&edit["range"])).collect();
                    assert!(spans.windows(2).all(|pair| pair[0].end <= pair[1].start), "{spans:?} are not apart");
                    return;
                }
                of.values().for_each(|told| self.lies_in_the_text(told));
            }
            _ => {}
        }
    }
}

/// The byte of a text at a position, with columns in bytes or in UTF-16 units; nothing where the text has no such place.
fn place_in(text: &str, position: &Value, in_bytes: bool) -> Option<usize> {
    let wanted = |key: &str| position[key].as_u64().and_then(|number| usize::try_from(number).ok());
    let (mut line, column) = (wanted("line")?, wanted("character")?);
    let mut start = 0;
    while line > 0 {
        let end = text[start..].find(['\n', '\r'])? + start;
        start = end + if text[end..].starts_with("\r\n") { 2 } else { 1 };
        line -= 1;
    }
    let mut units = 0;
    for (at, letter) in text[start..].char_indices() {
        if units == column {
            return Some(start + at);
        }
        if letter == '\n' || letter == '\r' {
            return None;
        }
        units += if in_bytes { letter.len_utf8() } else { letter.len_utf16() };
    }
    (units == column).then_some(text.len())
}
