//! Whatever is done to a record, the check ends, points into the text, and prints nothing that steers a terminal.

use std::cell::RefCell;

use ampledger::judge::Verdict;
use ampledger::render::{Look, Spot, concise, human, json};
use proptest::prelude::*;
use serde_yaml::Value;

use crate::support::{SOUND_JOB, TestBook, tries};

thread_local! {
    /// One book a thread; only its job changes from case to case.
    static BOOK: RefCell<TestBook> = RefCell::new(TestBook::sound());
}

/// One thing that happens to a file on its way through phones, editors and hands.
#[derive(Debug, Clone)]
pub enum Damage {
    Byte(usize, u8),
    Insert(usize, String),
    DeleteLine(usize),
    SwapLines(usize, usize),
    RepeatLine(usize),
    IndentLine(usize, String),
    Cut(usize),
    WindowsLines,
    Mark,
}

/// Pieces of text that mean something to YAML, to Markdown or to a terminal.
const PIECES: [&str; 42] = [
    ": ",
    " #",
    "- ",
    "[",
    "]",
    "{",
    "}",
    ",",
    "\"",
    "'",
    "|",
    ">",
    "&a ",
    "*a",
    "!x ",
    "? ",
    "---\n",
    "\n",
    "\n\n",
    "\t",
    "\r",
    "\u{a0}",
    "\u{2028}",
    "\u{85}",
    "\0",
    "\u{1b}[31m",
    "\u{9b}31m",
    "\u{202e}",
    "\u{201c}",
    "\u{201d}",
    "\u{2014}",
    "é",
    "🚲",
    "<<<<<<< a\n",
    "=======\n",
    ">>>>>>> b\n",
    ">999",
    "0123",
    "2026-1-1",
    "<<: ",
    "~",
    "- [ ] do it (by 2026-13-01)\n",
];

pub fn damage() -> impl Strategy<Value = Damage> {
    let piece = || prop::sample::select(PIECES.to_vec()).prop_map(str::to_owned);
    prop_oneof![
        2 => (any::<usize>(), any::<u8>()).prop_map(|(at, byte)| Damage::Byte(at, byte)),
        6 => (any::<usize>(), piece()).prop_map(|(at, text)| Damage::Insert(at, text)),
        1 => any::<usize>().prop_map(Damage::DeleteLine),
        1 => (any::<usize>(), any::<usize>()).prop_map(|(a, b)| Damage::SwapLines(a, b)),
        1 => any::<usize>().prop_map(Damage::RepeatLine),
        2 => (any::<usize>(), prop::sample::select(vec![" ", "  ", "\t", "\u{a0}", "- "])).prop_map(|(at, text)| Damage::IndentLine(at, text.to_owned())),
        1 => any::<usize>().prop_map(Damage::Cut),
        1 => Just(Damage::WindowsLines),
        1 => Just(Damage::Mark),
    ]
}

pub fn damaged(text: &str, damages: &[Damage]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for damage in damages {
        let lines: Vec<Vec<u8>> = bytes.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
        let line = |at: &usize| if lines.is_empty() { 0 } else { at % lines.len() };
        bytes = match damage {
            _ if lines.is_empty() => bytes,
            Damage::Byte(at, byte) => {
                let at = at % bytes.len();
                bytes[at] = *byte;
                bytes
            }
            Damage::Insert(at, text) => {
                let mut at = at % bytes.len();
                // Only `Byte` makes text that is not UTF-8; every record would be that otherwise.
                while bytes.get(at).is_some_and(|byte| byte & 0xc0 == 0x80) {
                    at -= 1;
                }
                bytes.splice(at..at, text.bytes());
                bytes
            }
            Damage::DeleteLine(at) => {
                let mut lines = lines.clone();
                lines.remove(line(at));
                lines.concat()
            }
            Damage::SwapLines(a, b) => {
                let (a, b) = (line(a), line(b));
                let mut lines = lines.clone();
                lines.swap(a, b);
                lines.concat()
            }
            Damage::RepeatLine(at) => {
                let at = line(at);
                let mut lines = lines.clone();
                lines.insert(at, lines[at].clone());
                lines.concat()
            }
            Damage::IndentLine(at, text) => {
                let at = line(at);
                let mut lines = lines.clone();
                lines[at].splice(0..0, text.bytes());
                lines.concat()
            }
            Damage::Cut(at) => bytes[..at % bytes.len()].to_vec(),
            Damage::WindowsLines => String::from_utf8_lossy(&bytes).replace("\r\n", "\n").replace('\n', "\r\n").into_bytes(),
            Damage::Mark => [b"\xef\xbb\xbf".as_slice(), &bytes].concat(),
        };
    }
    bytes
}

/// The line and column of a byte, counted anew.
fn counted(text: &str, at: usize) -> (u64, u64) {
    let (mut line, mut column) = (1, 1);
    for (_, c) in text.char_indices().take_while(|(start, _)| *start < at) {
        if c == '\n' {
            line += 1;
            column = 1;
        } else {
            column += 1;
        }
    }
    (line, column)
}

fn check_places(verdict: &Verdict) -> Result<(), TestCaseError> {
    let report: serde_json::Value = serde_json::from_str(&json(verdict, true)).expect("JSON");
    let entries = report["findings"].as_array().expect("a list");
    prop_assert_eq!(entries.len(), verdict.findings.len() + verdict.answered.len());
    for (finding, entry) in verdict.findings.iter().zip(entries) {
        let places = std::iter::once(&finding.place).chain(finding.related.iter().map(|related| &related.place));
        for place in places {
            let span = place.span.clone().expect("every place is located");
            let text = &place.file.text;
            prop_assert!(text.get(span.clone()).is_some(), "{}: {span:?} is not in the text: {}", finding.rule, finding.message);
            prop_assert_eq!(Spot::of(place).span, span);
        }
        let text = &finding.place.file.text;
        let span = finding.place.span.clone().expect("located");
        let (line, column) = counted(text, span.start);
        let (end_line, end_column) = counted(text, span.end);
        for (key, value) in [("line", line), ("column", column), ("end_line", end_line), ("end_column", end_column)] {
            prop_assert_eq!(entry[key].as_u64(), Some(value), "{} of {}", key, finding.rule);
        }
        for (related, entry) in finding.related.iter().zip(entry["related"].as_array().expect("a list")) {
            let span = related.place.span.clone().expect("located");
            prop_assert_eq!(entry["line"].as_u64(), Some(counted(&related.place.file.text, span.start).0));
        }
        check_pointer(entry["pointer"].as_str().expect("text"), finding.place.file.front_text())?;
    }
    Ok(())
}

/// A pointer is one of RFC 6901, and what it leads to is there or missing from something that is.
fn check_pointer(pointer: &str, front: &str) -> Result<(), TestCaseError> {
    prop_assert!(pointer.is_empty() || pointer.starts_with('/'), "{pointer}");
    let well_escaped = pointer.split('~').skip(1).all(|after| after.starts_with(['0', '1']));
    prop_assert!(well_escaped, "{pointer}");
    let Ok(value) = serde_yaml::from_str::<Value>(front) else { return Ok(()) };
    let mut here = Some(&value);
    let mut missing = 0;
    for step in pointer.split('/').skip(1).map(|step| step.replace("~1", "/").replace("~0", "~")) {
        here = match here {
            Some(Value::Sequence(items)) => step.parse::<usize>().ok().and_then(|index| items.get(index)),
            Some(Value::Mapping(map)) => map.iter().find(|(key, _)| key_text(key) == step).map(|(_, value)| value),
            _ => None,
        };
        missing += usize::from(here.is_none());
    }
    prop_assert!(missing <= 2, "{pointer}: {missing} steps lead nowhere");
    Ok(())
}

fn key_text(key: &Value) -> String {
    match key {
        Value::String(text) => text.clone(),
        Value::Sequence(_) | Value::Mapping(_) | Value::Null => String::new(),
        other => serde_yaml::to_string(other).unwrap_or_default().trim().to_owned(),
    }
}

/// The text without the colours that were asked for.
fn without_colour(text: &str) -> String {
    let mut pieces = text.split("\u{1b}[");
    let mut out = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let end = piece.find('m').filter(|end| piece[..*end].chars().all(|c| c.is_ascii_digit() || c == ';'));
        out.push_str(end.map_or(piece, |end| &piece[end + 1..]));
    }
    out
}

fn check_print(verdict: &Verdict) -> Result<(), TestCaseError> {
    let steers = |c: char| c.is_control() && c != '\n' || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    for width in [40, 80] {
        for colour in [false, true] {
            let text = without_colour(&human(verdict, Look { width, colour }, true));
            prop_assert!(!text.chars().any(steers), "{text:?}");
        }
    }
    for text in [concise(verdict, true), json(verdict, true)] {
        prop_assert!(!text.chars().any(steers), "{text:?}");
    }
    Ok(())
}

proptest! {
    #![proptest_config(tries(160))]

    #[test]
    fn a_damaged_job_is_checked_to_the_end(damages in prop::collection::vec(damage(), 1..5)) {
        let verdict = BOOK.with_borrow(|book| {
            let sound = TestBook::sound().read(SOUND_JOB);
            book.write(SOUND_JOB, damaged(&sound, &damages));
            book.verdict()
        });
        check_places(&verdict)?;
        check_print(&verdict)?;
    }

    #[test]
    fn a_damaged_site_and_book_are_checked_to_the_end(
        in_site in prop::collection::vec(damage(), 0..3),
        in_book in prop::collection::vec(damage(), 0..3),
    ) {
        let verdict = BOOK.with_borrow(|book| {
            let sound = TestBook::sound();
            book.write(SOUND_JOB, sound.read(SOUND_JOB));
            book.write("sites/elm-row/site.md", damaged(&sound.read("sites/elm-row/site.md"), &in_site));
            book.write("book.yaml", damaged(&sound.read("book.yaml"), &in_book));
            let verdict = book.verdict();
            for path in ["sites/elm-row/site.md", "book.yaml"] {
                book.write(path, sound.read(path));
            }
            verdict
        });
        check_places(&verdict)?;
        check_print(&verdict)?;
    }

    #[test]
    fn text_of_any_sort_is_read_to_the_end(text in "(---\n)?([a-z_]{1,6}: ?)?[ -~\n\t\u{a0}\u{2028}\u{201c}é{}\\[\\]:#&*!|>'\"-]{0,200}(\n---\n)?.{0,20}") {
        let verdict = BOOK.with_borrow(|book| {
            book.write(SOUND_JOB, &text);
            book.verdict()
        });
        check_places(&verdict)?;
        check_print(&verdict)?;
    }
}
