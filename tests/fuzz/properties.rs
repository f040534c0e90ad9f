//! What must hold whatever comes in. Each function takes any bytes and panics when its promise is broken. The fuzzers in `targets` call
//! them, and `tests/hostile/found.rs` calls them once more with everything that a fuzzer has found.

use std::cell::RefCell;
use std::ops::Range;
use std::path::PathBuf;

use ampledger::book::{self, Book, Edit, FaultKind, SourceFile, Step, Written};
use ampledger::check::{Checked, check_site};
use ampledger::finding::{Finding, Place};
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
        first.findings.iter().for_each(faults_lie_in_the_text);
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

/// The bytes that a fault of form shows, and those that its cure would replace: in the text, in order and apart.
fn faults_lie_in_the_text(found: &Finding) {
    let Some(fault) = &found.fault else { return };
    let text = &found.place.file.text;
    let mut shown = vec![&fault.span];
    if let FaultKind::DuplicateKey { first, .. } = &fault.kind {
        shown.push(first);
    }
    for span in shown {
        assert!(text.get(span.clone()).is_some(), "{span:?} of {:?} is not in the text", fault.kind);
    }
    if let Some(cure) = &fault.cure {
        edits_are_of(&cure.edits, text);
    }
}

fn edits_are_of(edits: &[Edit], text: &str) {
    assert!(edits.iter().all(|edit| text.get(edit.range.clone()).is_some()), "{edits:?} are not all in the text");
    assert!(edits.windows(2).all(|pair| pair[0].range.end <= pair[1].range.start), "{edits:?} are not in order and apart");
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
    let starts: Vec<usize> = record.body.links.iter().map(|link| link.span.start).collect();
    assert!(starts.is_sorted(), "links are not in order: {starts:?}");
    harmless(&html::markdown(&text).into_string());
    is_one_string(&html::css_string(&text), &text);
}

/// A CSS string that is nothing else from its first quote to its last, and says the text without its control characters.
fn is_one_string(css: &str, text: &str) {
    let inside = css.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).expect("quotes");
    assert!(inside.bytes().all(|byte| byte.is_ascii_alphanumeric() || b" .,:;-_+()\\".contains(&byte)), "{css}");
    let mut pieces = inside.split('\\');
    let mut said = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (code, rest) = piece.split_once(' ').expect("an escape ends with a space");
        said.push(u32::from_str_radix(code, 16).ok().and_then(char::from_u32).expect("an escape is a character"));
        said.push_str(rest);
    }
    assert!(said.chars().eq(text.chars().filter(|c| !c.is_control())), "{css} is not {text:?}");
}

fn harmless(page: &str) {
    const ELEMENTS: [&str; 21] = [
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

/// What `find` is asked: a filter where it begins with `$`, words otherwise. Either a reason that points into what was typed, or an
/// answer that lies in the record, the same twice.
pub fn query(bytes: &[u8]) {
    let typed = String::from_utf8_lossy(bytes);
    if typed.starts_with('$') { filter(&typed) } else { words(&typed) }
}

/// A record as it is searched, and as it is filtered.
struct Sought {
    sheet: &'static Sheet,
    written: Written<'static>,
    form: Value,
}

thread_local! {
    static SHED: Sought = shed();
}

/// The sound book's visit.
fn shed() -> Sought {
    let book = Book::open(&sound_book()).expect("the sound book opens");
    let (records, _) = book.read_site(book.site("elm-row").expect("its site"));
    let sheet = sheets::of_site(&records).into_iter().find(|sheet| sheet.source.path == JOB).expect("the visit");
    // As long as the program: both are read thousands of times a second.
    let sheet: &'static Sheet = Box::leak(Box::new(sheet));
    let file: &'static SourceFile = &sheet.source;
    let form = flat::Forms::new().json(sheet, Written::of(file).as_ref());
    Sought { sheet, written: Written::of(file).expect("sound"), form }
}

fn filter(typed: &str) {
    // What a filter may not have too much of is counted, and stands nowhere in particular.
    const COUNTED: [&str; 8] =
        ["longer than", "deep", "too often", "side by side", "too many places", "in quotes", "too large", "no regular expression"];
    SHED.with(|Sought { form, .. }| match Query::new(typed) {
        Ok(query) => {
            let selected = query.select(form);
            for value in &selected {
                let there = value.path.steps().iter().try_fold(form, |value, step| match step {
                    Step::Key(key) => value.get(key.as_ref()),
                    Step::Index(index) => value.get(*index),
                });
                assert_eq!(there, Some(value.value), "{:?} is not what stands there", value.path);
            }
            let again = Query::new(typed).expect("read before");
            let again = again.select(form);
            assert!(selected.iter().map(|value| &value.path).eq(again.iter().map(|value| &value.path)), "twice is not once");
        }
        Err(why) => {
            let place = why.split_once("at character ").and_then(|(_, rest)| rest.split_once(':')?.0.parse::<usize>().ok());
            match place {
                Some(place) => assert!((1..=typed.chars().count() + 1).contains(&place), "{why}"),
                None => assert!(COUNTED.iter().any(|known| why.contains(known)), "{why}"),
            }
        }
    });
}

fn words(typed: &str) {
    assert!(Query::new(typed).is_err(), "a JSONPath begins with $");
    let words: Vec<String> = typed.split('\n').map(str::to_owned).collect();
    let asked = Words::new(&words);
    SHED.with(|Sought { sheet, written, .. }| {
        let looked = asked.look_in(sheet, Some(written), &Memory::default());
        assert_eq!(looked.holds.len(), asked.iter().count());
        if let Some(found) = &looked.found {
            let text = &sheet.source.text;
            assert!(text.get(found.passage.clone()).is_some() && text.is_char_boundary(found.at), "{found:?}");
            assert!(found.passage.contains(&found.at) && looked.holds.iter().all(|holds| *holds), "{found:?}");
        }
        let again = asked.look_in(sheet, Some(written), &Memory::default());
        assert_eq!(format!("{looked:?}"), format!("{again:?}"), "twice is not once");
    });
}

/// Photographs: what is handed over has no place, is what stripping once more gives, and is no longer than what came in and the way up.
pub fn exif(bytes: &[u8]) {
    let _ = ampledger::rules::privacy::has_location(std::io::Cursor::new(bytes));
    let Ok(bare) = picture::strip(bytes) else { return };
    assert_eq!(picture::strip(&bare).as_ref(), Ok(&bare), "twice is not once");
    assert!(picture::is_bare(&bare), "something is left in it");
    if let Some(kept) = parts(&bare).into_iter().find(|part| !may_stay(part)) {
        panic!("{kept:?} is left in it");
    }
    assert!(!ampledger::rules::privacy::has_location(std::io::Cursor::new(&bare)), "the place is left in it");
    assert!(bare.len() <= bytes.len() + 40, "{} bytes out of {}", bare.len(), bytes.len());
}

/// A segment or a chunk of a picture, with what it holds.
type Part<'a> = (&'a [u8], &'a [u8]);

/// What a picture consists of, read here by other means than in the program; the bytes of a scan are no part.
fn parts(picture: &[u8]) -> Vec<Part<'_>> {
    let mut parts = Vec::new();
    if let Some(chunks) = picture.strip_prefix(b"\x89PNG\r\n\x1a\n") {
        let mut rest = chunks;
        while let Some((length, after)) = rest.split_first_chunk::<4>() {
            let length = u32::from_be_bytes(*length) as usize;
            parts.push((&after[..4], &after[4..4 + length]));
            rest = &after[8 + length..];
        }
    } else if picture.starts_with(b"RIFF") {
        let mut rest = &picture[12..];
        while let Some((head, after)) = rest.split_first_chunk::<8>() {
            let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]) as usize;
            parts.push((&rest[..4], &after[..length]));
            rest = &after[length + length % 2..];
        }
    } else {
        let mut rest = &picture[2..];
        while let [0xff, marker, after @ ..] = rest {
            if *marker == 0xd9 {
                assert!(after.is_empty(), "bytes behind the end");
                break;
            }
            let length = usize::from(u16::from_be_bytes([after[0], after[1]])).max(2);
            parts.push((&rest[1..2], &after[2..length]));
            rest = &after[length..];
            while *marker == 0xda && !matches!(rest, [0xff, next, ..] if !matches!(next, 0 | 0xff | 0xd0..=0xd7)) {
                rest = &rest[1..];
            }
        }
    }
    parts
}

/// Whether a part draws the picture, or says no more than how its colours are coded and which way up it is.
fn may_stay((kind, content): &Part<'_>) -> bool {
    match *kind {
        [0xc0..=0xcf | 0xda..=0xde] => true,
        [0xee] => content.len() == 12 && content.starts_with(b"Adobe"),
        [0xe1] => {
            content.len() == 32
                && content.starts_with(b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0")
                && content[25..].iter().all(|byte| *byte == 0)
        }
        b"IHDR" | b"PLTE" | b"tRNS" => content.len() <= 768,
        b"gAMA" | b"cHRM" | b"sRGB" | b"pHYs" => content.len() <= 32,
        b"IEND" => content.is_empty(),
        b"IDAT" | b"VP8 " | b"VP8L" | b"ALPH" => true,
        b"VP8X" => content.first().is_some_and(|flags| flags & 0b0010_1110 == 0),
        _ => false,
    }
}

/// `--fix`: the body stays as it is, what could be read stays readable, and what was mended is mended.
pub fn fix(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    BOOK.with_borrow_mut(|book| {
        let mut has_fixes = false;
        for most in [Safety::Safe, Safety::Unsafe] {
            let plan = fix::plan_text(book, JOB, text, &|_| true, most);
            has_fixes |= !plan.mended.is_empty();
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
        if !has_fixes {
            return;
        }
        // One at a time, as an editor makes them.
        book.put(JOB, text.as_bytes().to_vec());
        let verdict = judge(book, checked(book), today(), &Filter::default());
        for found in verdict.findings.iter().filter(|found| found.fault.is_some()).take(4) {
            for fix in fix::fixes(book, found) {
                let before = &found.place.file.text;
                edits_are_of(&fix.edits, before);
                assert!(only_these_changed(before, &fix.made_in(before), &fix.edits), "{:?} changes more than it says", fix.title);
            }
        }
    });
}

/// Whether the texts around the edits are the same before and after, and the edits' own stand between them.
fn only_these_changed(before: &str, after: &str, edits: &[Edit]) -> bool {
    let mut rest = after;
    let mut from = 0;
    let mut goes_on = |piece: &str| match rest.strip_prefix(piece) {
        Some(left) => {
            rest = left;
            true
        }
        None => false,
    };
    let are_there = edits.iter().all(|edit| {
        let kept = &before[from..edit.range.start];
        from = edit.range.end;
        goes_on(kept) && goes_on(&edit.text)
    });
    are_there && goes_on(&before[from..]) && rest.is_empty()
}

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
