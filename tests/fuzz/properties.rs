//! What must hold whatever comes in. Each function takes any bytes and panics when its promise is broken. The fuzzers in `targets` call
//! them, and `tests/hostile/found.rs` calls them once more with everything that a fuzzer has found.

use std::cell::RefCell;
use std::ops::Range;
use std::path::PathBuf;

use ampledger::book::{self, Book, FaultKind, Step};
use ampledger::check::{Checked, check_site};
use ampledger::finding::Place;
use ampledger::fix::{self, Safety};
use ampledger::judge::{Filter, Verdict, judge};
use ampledger::lsp::Session;
use ampledger::pack::picture;
use ampledger::query::Query;
use ampledger::record::{Date, Site};
use ampledger::render::{self, Look};
use ampledger::search::{Memory, Words};
use ampledger::sheets::{self, Sheet};
use ampledger::{flat, html};
use serde_json::{Value, json};

const JOB: &str = "sites/elm-row/2026-11-02-shed.md";

fn today() -> Date {
    "2026-11-25".parse().expect("a date")
}

fn sound_book() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    // This file belongs to two packages, one at the root and one beside it.
    [here.join("tests/sound-book"), here.join("../sound-book")].into_iter().find(|folder| folder.is_dir()).expect("the sound book")
}

thread_local! {
    static BOOK: RefCell<Book> = RefCell::new(Book::open(&sound_book()).expect("the sound book opens"));
}

fn checked(book: &Book) -> Checked {
    check_site(book, book.site("elm-row").expect("its site"), today())
}

/// The splitter, the decoder, the rules and the locator: a visit of any bytes is checked to its end, twice with the same outcome; every
/// place is a stretch of its file's text; what is printed steers no terminal.
pub fn record(bytes: &[u8]) {
    BOOK.with_borrow_mut(|book| {
        book.put(JOB, bytes.to_vec());
        let first = judge(book, checked(book), today(), &Filter::default());
        let places =
            first.findings.iter().flat_map(|found| std::iter::once(&found.place).chain(found.related.iter().map(|near| &near.place)));
        places.for_each(lies_in_its_text);
        let printed = spoken(&first);
        assert_eq!(printed, spoken(&judge(book, checked(book), today(), &Filter::default())), "twice is not once");
        let report: Value = serde_json::from_str(&printed[0]).expect("JSON");
        assert_eq!(report["findings"].as_array().map(Vec::len), Some(first.findings.len() + first.answered.len()));
        for text in &printed {
            assert!(!text.chars().any(steers), "{text:?}");
        }
    });
}

fn lies_in_its_text(place: &Place) {
    let span = place.span.clone().expect("every place is located");
    assert!(place.file.text.get(span.clone()).is_some(), "{span:?} of {} is not in the text", place.file.path);
}

fn spoken(verdict: &Verdict) -> [String; 3] {
    [render::json(verdict, true), render::concise(verdict, true), render::human(verdict, Look { width: 40, colour: false }, true)]
}

fn steers(c: char) -> bool {
    c.is_control() && c != '\n' || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The Markdown body: what is read of it lies in it, and as a page it has the elements of plain text and nothing that runs or leads
/// anywhere.
pub fn body(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let whole = format!("---\nrecord: site\n---\n{text}");
    let record = book::record_from_text::<Site>("sites/elm-row/site.md", whole, "elm-row".to_owned(), Vec::new());
    let body = record.source.body.clone();
    let lies_in_body = |span: &Range<usize>| {
        assert!(record.source.text.get(span.clone()).is_some(), "{span:?} is not in the text");
        assert!(body.start <= span.start && span.end <= body.end, "{span:?} is not in the body {body:?}");
    };
    record.body.tasks.iter().for_each(|task| lies_in_body(&task.span));
    record.body.links.iter().for_each(|link| lies_in_body(&link.span));
    harmless(&html::markdown(&text).into_string());
}

fn harmless(page: &str) {
    const ELEMENTS: [&str; 25] = [
        "p",
        "h4",
        "h5",
        "h6",
        "blockquote",
        "pre",
        "code",
        "ul",
        "ol",
        "li",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "em",
        "strong",
        "del",
        "br",
        "hr",
        "input",
        "sup",
        "div",
        "span",
    ];
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        let tag = &rest[at + 1..];
        let end = tag.find('>').unwrap_or_else(|| panic!("a tag without end: {page:?}"));
        let inside = tag[..end].trim_start_matches('/').trim_end_matches('/').trim_end();
        let (name, attributes) = inside.split_once(' ').unwrap_or((inside, ""));
        assert!(ELEMENTS.contains(&name), "<{name}>: {page:?}");
        let known = attributes.is_empty()
            || name == "ol"
                && attributes.strip_prefix("start=\"").is_some_and(|rest| rest.trim_end_matches('"').bytes().all(|b| b.is_ascii_digit()))
            || name == "code" && attributes.starts_with("class=\"language-") && attributes.matches('"').count() == 2
            || ["th", "td"].contains(&name) && attributes.starts_with("style=\"text-align: ") && attributes.matches('"').count() == 2;
        assert!(known, "<{name} {attributes}>: {page:?}");
        rest = &tag[end + 1..];
    }
}

/// What `find` is asked: a filter or words. Either a reason that points into what was typed, or an answer that lies in the record, the
/// same twice.
pub fn query(bytes: &[u8]) {
    thread_local! {
        static SHED: (Sheet, Value) = shed();
    }
    let typed = String::from_utf8_lossy(bytes);
    SHED.with(|(sheet, form)| {
        match Query::new(&typed) {
            Ok(query) => {
                let selected = query.select(form);
                for value in &selected {
                    let there = value.path.steps().iter().try_fold(form, |value, step| match step {
                        Step::Key(key) => value.get(key.as_ref()),
                        Step::Index(index) => value.get(*index),
                    });
                    assert_eq!(there, Some(value.value), "{:?} is not what stands there", value.path);
                }
                let paths = |query: &Query| query.select(form).into_iter().map(|value| value.path).collect::<Vec<_>>();
                assert_eq!(paths(&query), paths(&Query::new(&typed).expect("read before")), "twice is not once");
            }
            Err(why) => {
                let place = why.split_once("at character ").and_then(|(_, rest)| rest.split_once(':')?.0.parse::<usize>().ok());
                assert!(place.is_none_or(|place| place <= typed.len() + 1), "{why}");
            }
        }
        let words: Vec<String> = typed.split('\n').map(str::to_owned).collect();
        let asked = Words::new(&words);
        let looked = asked.look_in(sheet, None, &Memory::default());
        assert_eq!(looked.holds.len(), asked.iter().count());
        if let Some(found) = looked.found {
            let text = &sheet.source.text;
            assert!(text.get(found.passage.clone()).is_some() && text.is_char_boundary(found.at), "{found:?}");
            assert!(found.passage.contains(&found.at) && looked.holds.iter().all(|holds| *holds), "{found:?}");
        }
    });
}

/// The sound book's visit as it is searched, and as it is filtered.
fn shed() -> (Sheet, Value) {
    let book = Book::open(&sound_book()).expect("the sound book opens");
    let (records, _) = book.read_site(book.site("elm-row").expect("its site"));
    let sheet = sheets::of_site(&records).into_iter().find(|sheet| sheet.source.path == JOB).expect("the visit");
    let form = flat::Forms::new().json(&sheet, book::Written::of(&sheet.source).as_ref());
    (sheet, form)
}

/// Photographs: what is handed over has no place, is what stripping once more gives, and is no longer than what came in and the way up.
pub fn exif(bytes: &[u8]) {
    let _ = ampledger::rules::privacy::has_location(std::io::Cursor::new(bytes));
    let Ok(bare) = picture::strip(bytes) else { return };
    assert!(picture::is_bare(&bare), "something is left in it");
    assert!(!ampledger::rules::privacy::has_location(std::io::Cursor::new(&bare)), "the place is left in it");
    assert!(bare.len() <= bytes.len() + 40, "{} bytes out of {}", bare.len(), bytes.len());
}

/// `--fix`: the body stays as it is, what could be read stays readable, and what was mended is mended.
pub fn fix(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    BOOK.with_borrow(|book| {
        for most in [Safety::Safe, Safety::Unsafe] {
            let plan = fix::plan_text(book, JOB, text, &|_| true, most);
            let Some(mended) = plan.mended.first() else { continue };
            let read = |text: &str| book::read_as_placed(JOB, text.to_owned()).expect("a job belongs there");
            let (was, is) = (read(text), read(&mended.after));
            assert_eq!(mended.before, text);
            assert_eq!(was.source.body_text(), is.source.body_text(), "the body has changed");
            assert!(!is.lost || was.lost, "the record is lost");
            // Where only the first of many faults were told, others may come to light.
            let is_cut_short = was.faults.len() >= 60 || was.faults.iter().any(|fault| fault.kind == FaultKind::ManyMore);
            assert!(is.faults.len() < was.faults.len() || is_cut_short, "{:?} became {:?}", was.faults, is.faults);
            let again = fix::plan_text(book, JOB, &mended.after, &|_| true, most);
            let rest: Vec<_> = again.mended.iter().map(|mended| &mended.done).collect();
            assert!(rest.is_empty() || mended.done.values().sum::<usize>() >= 60, "twice is not once: {rest:?}");
        }
    });
}

/// The language server. Bytes that begin with `C` are taken for what comes over the wire; others are lines, each of them something that
/// an editor does: opening, typing over a range, asking, or any message as JSON. Every diagnostic lies in the text as the editor has it.
pub fn lsp(bytes: &[u8]) {
    let today = || today();
    if bytes.starts_with(b"C") {
        let mut said = Vec::new();
        let _ = ampledger::lsp::serve(std::io::Cursor::new(bytes.to_vec()), &mut said, &today);
        let mut rest: &[u8] = &said;
        while !rest.is_empty() {
            let (length, body) = rest.strip_prefix(b"Content-Length: ").and_then(split_head).expect("a head");
            assert!(serde_json::from_slice::<Value>(&body[..length]).is_ok(), "no JSON");
            rest = &body[length..];
        }
        return;
    }
    let root = sound_book().canonicalize().expect("the sound book");
    let uri = format!("file://{}", root.join(JOB).display());
    let mut session = Session::new(&today);
    let begun =
        session.answer("initialize", json!({"processId": null, "rootUri": format!("file://{}", root.display()), "capabilities": {}}));
    assert!(begun.is_ok());
    let mut editor = Editor { text: None, version: 0, is_ours: true };
    for line in bytes.split(|byte| *byte == b'\n').take(24) {
        editor.act(line, &uri, &mut session);
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
        let current = told.method == "textDocument/publishDiagnostics"
            && told.params["uri"] == uri
            && told.params["version"] == json!(editor.version)
            && editor.is_ours;
        if let (true, Some(text)) = (current, &editor.text) {
            for diagnostic in told.params["diagnostics"].as_array().expect("a list") {
                let ends =
                    [&diagnostic["range"]["start"], &diagnostic["range"]["end"]].map(|end| place_in(text, end).expect("in the text"));
                assert!(ends[0] <= ends[1], "{diagnostic}");
            }
        }
    }
}

fn split_head(bytes: &[u8]) -> Option<(usize, &[u8])> {
    let at = bytes.windows(4).position(|window| window == b"\r\n\r\n")?;
    Some((std::str::from_utf8(&bytes[..at]).ok()?.parse().ok()?, &bytes[at + 4..]))
}

/// What an editor knows: its own copy of the text, in the protocol's lines and UTF-16 columns.
struct Editor {
    text: Option<String>,
    version: i32,
    /// Until a message as JSON may have changed the document behind its back.
    is_ours: bool,
}

impl Editor {
    fn act(&mut self, line: &[u8], uri: &str, session: &mut Session<'_>) {
        const ASKED: [&str; 6] = [
            "textDocument/hover",
            "textDocument/completion",
            "textDocument/definition",
            "textDocument/references",
            "textDocument/documentSymbol",
            "textDocument/inlayHint",
        ];
        let Some((kind, rest)) = line.split_first() else { return };
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
                let Some((start, end)) = place_in(text, &ends[0]).zip(place_in(text, &ends[1])).filter(|(start, end)| start <= end) else {
                    return;
                };
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
                assert!(answer.is_ok(), "{method} is refused: {answer:?}");
            }
            b'a' => {
                let whole = json!({"start": {"line": 0, "character": 0}, "end": {"line": 9999, "character": 0}});
                let params = json!({"textDocument": document, "range": whole, "context": {"diagnostics": []}});
                let answer = session.answer("textDocument/codeAction", params);
                assert!(answer.is_ok(), "code actions are refused: {answer:?}");
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
}

/// The byte of a text at a position; nothing where the text has no such place.
fn place_in(text: &str, position: &Value) -> Option<usize> {
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
        units += letter.len_utf16();
    }
    (units == column).then_some(text.len())
}
