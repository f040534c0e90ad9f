//! An editor, as far as the language server can tell: speaks the protocol over the real program's standard input and output.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};

/// Longer than any answer takes; only a hang is over it.
const PATIENCE: Duration = Duration::from_secs(120);

pub struct Editor {
    server: Child,
    input: Option<ChildStdin>,
    incoming: Receiver<Value>,
    next_id: i64,
    /// Every message received, as it came.
    pub heard: Vec<Value>,
}

/// The `file:` URI of a path, with whatever needs it percent-encoded.
pub fn uri(path: &Path) -> String {
    let path = path.to_str().unwrap();
    let encoded: String = path
        .bytes()
        .map(|byte| {
            let is_plain = byte.is_ascii_alphanumeric() || b"/-._~".contains(&byte);
            if is_plain { char::from(byte).to_string() } else { format!("%{byte:02X}") }
        })
        .collect();
    format!("file://{encoded}")
}

impl Editor {
    /// Starts the server without a word.
    pub fn silent(day: &str) -> Editor {
        let mut server = Command::new(env!("CARGO_BIN_EXE_ampledger"))
            .args(["lsp", "--on", day])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut output = BufReader::new(server.stdout.take().unwrap());
        let (sender, incoming) = channel();
        std::thread::spawn(move || {
            while let Some(message) = read(&mut output) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        Editor { input: server.stdin.take(), server, incoming, next_id: 1, heard: Vec::new() }
    }

    /// Starts the server on a folder and shakes hands, offering the given position encodings.
    pub fn start(folder: &Path, encodings: &[&str]) -> Editor {
        let mut editor = Editor::silent(super::TODAY);
        let params = json!({
            "processId": null,
            "rootUri": uri(folder),
            "workspaceFolders": [{"uri": uri(folder), "name": "book"}],
            "capabilities": {"general": {"positionEncodings": encodings}},
        });
        editor.ask("initialize", params).unwrap();
        editor.tell("initialized", json!({}));
        editor
    }

    pub fn send_raw(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().unwrap();
        // The server may have gone already; what it says on leaving is looked at later.
        let _ = input.write_all(bytes).and_then(|()| input.flush());
    }

    pub fn send(&mut self, message: &Value) {
        let text = message.to_string();
        self.send_raw(format!("Content-Length: {}\r\n\r\n{text}", text.len()).as_bytes());
    }

    pub fn tell(&mut self, method: &str, params: Value) {
        self.send(&json!({"jsonrpc": "2.0", "method": method, "params": params}));
    }

    /// Sends a request and gives its number.
    pub fn request(&mut self, method: &str, params: Value) -> i64 {
        let id = self.next_id;
        self.next_id += 1;
        self.send(&json!({"jsonrpc": "2.0", "id": id, "method": method, "params": params}));
        id
    }

    /// Waits for the answer to a request: its result, or its error's code.
    pub fn answer(&mut self, id: i64) -> Result<Value, i64> {
        loop {
            let message = self.receive();
            if message["id"] == id && message.get("method").is_none() {
                return match message.get("error") {
                    Some(error) => Err(error["code"].as_i64().unwrap()),
                    None => Ok(message["result"].clone()),
                };
            }
        }
    }

    pub fn ask(&mut self, method: &str, params: Value) -> Result<Value, i64> {
        let id = self.request(method, params);
        self.answer(id)
    }

    fn receive(&mut self) -> Value {
        let message = self.incoming.recv_timeout(PATIENCE).expect("the server went or hangs");
        self.heard.push(message.clone());
        message
    }

    pub fn open(&mut self, path: &Path, text: &str) {
        let document = json!({"uri": uri(path), "languageId": "markdown", "version": 1, "text": text});
        self.tell("textDocument/didOpen", json!({"textDocument": document}));
    }

    pub fn change(&mut self, path: &Path, version: i64, text: &str) {
        let params = json!({"textDocument": {"uri": uri(path), "version": version}, "contentChanges": [{"text": text}]});
        self.tell("textDocument/didChange", params);
    }

    /// Waits until the diagnostics of a file are as wanted.
    pub fn diagnostics_until(&mut self, path: &Path, wanted: impl Fn(&[Value]) -> bool) -> Vec<Value> {
        let uri = uri(path);
        loop {
            let message = self.receive();
            if message["method"] == "textDocument/publishDiagnostics" && message["params"]["uri"] == uri.as_str() {
                let found = message["params"]["diagnostics"].as_array().unwrap();
                if wanted(found) {
                    return found.clone();
                }
            }
        }
    }

    /// Asks about a place in a document.
    pub fn ask_at(&mut self, method: &str, path: &Path, line: usize, character: usize) -> Value {
        let mut params = json!({"textDocument": {"uri": uri(path)}, "position": {"line": line, "character": character}});
        if method.ends_with("references") {
            params["context"] = json!({"includeDeclaration": true});
        }
        self.ask(method, params).unwrap()
    }

    /// Says good-bye and gives the exit status.
    pub fn stop(mut self) -> i32 {
        assert_eq!(self.ask("shutdown", Value::Null), Ok(Value::Null));
        self.tell("exit", Value::Null);
        self.ended().0
    }

    /// Closes the server's input and gives its exit status and what it said on standard error.
    pub fn ended(&mut self) -> (i32, String) {
        self.input = None;
        let mut said = String::new();
        self.server.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        (self.server.wait().unwrap().code().unwrap_or(-1), said)
    }
}

impl Drop for Editor {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}

fn read(output: &mut impl BufRead) -> Option<Value> {
    let mut length = None;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim_end() {
            "" => break,
            header => length = header.strip_prefix("Content-Length: ").and_then(|text| text.parse().ok()).or(length),
        }
    }
    let mut bytes = vec![0; length?];
    output.read_exact(&mut bytes).ok()?;
    serde_json::from_slice(&bytes).ok()
}

/// The line and the column in UTF-16 code units of a byte.
pub fn place_at(text: &str, at: usize) -> (usize, usize) {
    let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
    (text[..at].matches('\n').count(), text[start..at].encode_utf16().count())
}

/// The line and the column of the first place where `needle` stands.
pub fn place_of(text: &str, needle: &str) -> (usize, usize) {
    place_at(text, text.find(needle).unwrap_or_else(|| panic!("no {needle:?} in the text")))
}

/// Does to a text what a list of edits says.
pub fn edited(text: &str, edits: &[Value]) -> String {
    let offset = |position: &Value| {
        let line = position["line"].as_u64().unwrap() as usize;
        let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
        let units: Vec<u16> = text[start..].encode_utf16().take(position["character"].as_u64().unwrap() as usize).collect();
        start + String::from_utf16(&units).unwrap().len()
    };
    let mut spans: Vec<_> = edits
        .iter()
        .map(|edit| (offset(&edit["range"]["start"])..offset(&edit["range"]["end"]), edit["newText"].as_str().unwrap()))
        .collect();
    spans.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    let mut text = text.to_owned();
    for (span, new) in spans {
        text.replace_range(span, new);
    }
    text
}
