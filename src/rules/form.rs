//! Files that cannot be read as they should: the words and cures for what `book` has seen.

use std::sync::Arc;

use super::{Check, Example, Family, Report, Rule, nearest};
use crate::book::{Fault, FaultKind, MAX_FILE_BYTES, MAX_FRONT_BYTES, Record, SourceFile};
use crate::finding::{Finding, Grade, Place};

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &FILE_UNREADABLE,
    &LINK_NOT_FOLLOWED,
    &FILE_TOO_LARGE,
    &FILE_EMPTY,
    &NOT_UTF8,
    &CONTROL_CHARACTER,
    &FRONT_MATTER_MISSING,
    &FENCE_DAMAGED,
    &FRONT_MATTER_UNCLOSED,
    &CONFLICT_MARKS,
    &NESTED_TOO_DEEP,
    &INDENT_NOT_SPACES,
    &CURLY_QUOTES,
    &COLON_IN_TEXT,
    &OFF_SCALE_NOT_QUOTED,
    &LEADING_ZERO,
    &DUPLICATE_KEY,
    &UNKNOWN_KEY,
    &UNKNOWN_WORD,
    &NOT_A_NUMBER,
    &NOT_A_DATE,
    &NOT_TRUE_FALSE,
    &WRONG_SHAPE,
    &NOT_YAML,
    &WRONG_RECORD,
    &MISPLACED_FILE,
];

/// What the rules of form have in common.
const FORM: Rule = Rule {
    id: "",
    family: Family::Form,
    grade: Grade::Breach,
    title: "",
    looks_at: "Every record file.",
    why: "",
    sources: &["record format, version 1"],
    bad: Example::Keys("{}"),
    good: Example::Keys("{}"),
    cure: "",
    check: Check::Reading,
};

const FILE_UNREADABLE: Rule = Rule {
    id: "file-unreadable",
    title: "A file of the book cannot be opened",
    looks_at: "Every file in sites, instruments, models and recalls.",
    why: "What it holds is neither checked nor found, and nothing else says so. It has no example: it depends on the machine.",
    cure: "Check the file's permissions and that it is still there, then run the check again.",
    ..FORM
};

const LINK_NOT_FOLLOWED: Rule = Rule {
    id: "link-not-followed",
    grade: Grade::Doubt,
    title: "A link stands among the records and is not followed",
    looks_at: "Links of the file system in the book's folders.",
    why: "A link can lead round in a circle or out of the book; records are read only where they are. It has no example: it depends on the file system.",
    cure: "Put the file itself in the book, or remove the link.",
    ..FORM
};

const FILE_TOO_LARGE: Rule = Rule {
    id: "file-too-large",
    title: "A record is larger than any record needs to be",
    looks_at: "Files over 1 MiB and front matter over 256 KiB.",
    why: "Usually a photograph or an export was pasted in; what lies beyond the cap is not checked.",
    cure: "Move what is not part of the record into a file beside it and link to it.",
    ..FORM
};

const FILE_EMPTY: Rule = Rule {
    id: "file-empty",
    title: "A record has nothing in it",
    why: "A phone that loses its connection while saving leaves an empty file; the visit is then lost without a word.",
    bad: Example::File { path: "sites/elm-row/2026-11-05-callout.md", bytes: b"\n" },
    cure: "Write the record again, take it back from git, or delete the file.",
    ..FORM
};

const NOT_UTF8: Rule = Rule {
    id: "not-utf8",
    title: "A record holds bytes that are not UTF-8",
    why: "Other programs show other characters for them, or stop.",
    bad: Example::File {
        path: "instruments/torque-9.md",
        bytes: b"---\nrecord: instrument\nkind: torque-driver\nserial: \"T-9\"\nreads: [torque]\ncalibrations: [{on: 2026-02-01, due: 2027-02-01, certificate: \"C\xb09\"}]\n---\n",
    },
    cure: "Save the file as UTF-8 and put the character right; the rest of the record was read.",
    ..FORM
};

const CONTROL_CHARACTER: Rule = Rule {
    id: "control-character",
    title: "A front matter holds a character that cannot be seen",
    why: "Programs disagree on what it means: one breaks the line there, another stops reading.",
    bad: Example::Text { find: "title: Charge point", put: "title: Charge\u{2028}point" },
    cure: "Delete the character; retype the line if it cannot be seen.",
    ..FORM
};

const FRONT_MATTER_MISSING: Rule = Rule {
    id: "front-matter-missing",
    title: "A Markdown file where a record belongs opens no front matter",
    looks_at: "Markdown files in sites, instruments, models and recalls.",
    why: "Without front matter it is prose: nothing in it is checked.",
    bad: Example::File { path: "sites/elm-row/2026-11-05-callout.md", bytes: b"Came back for the gland.\n" },
    cure: "Begin the file with `---`, the record's keys, and `---`; `ampledger new` writes one ready to fill.",
    ..FORM
};

const FENCE_DAMAGED: Rule = Rule {
    id: "fence-damaged",
    title: "A fence of the front matter is not `---` on the first line or on a line of its own",
    why: "Phones turn three hyphens into a dash; other programs then see no front matter at all.",
    bad: Example::Text { find: "---\nrecord: job", put: "\u{2014}\nrecord: job" },
    cure: "Type three hyphens and nothing else; turn off smart punctuation for this app.",
    ..FORM
};

const FRONT_MATTER_UNCLOSED: Rule = Rule {
    id: "front-matter-unclosed",
    title: "Nothing closes the front matter",
    why: "The file may have been cut off while it was saved, and the end of the record be missing.",
    bad: Example::File {
        path: "instruments/torque-9.md",
        bytes: b"---\nrecord: instrument\nkind: torque-driver\nserial: \"T-9\"\nreads: [torque]\ncalibrations: [{on: 2026-02-01, due: 2027-02-01, certificate: \"C-9\"}]\n",
    },
    cure: "Check that the end of the record is there, then close the front matter with `---`.",
    ..FORM
};

const CONFLICT_MARKS: Rule = Rule {
    id: "conflict-marks",
    title: "A record is half merged",
    looks_at: "Lines that begin with the marks git writes where two versions would not merge.",
    why: "Two versions of a reading stand side by side; neither is judged until somebody chooses.",
    bad: Example::Text {
        find: "minutes_on_site: 190\n",
        put: "<<<<<<< HEAD\nminutes_on_site: 190\n=======\nminutes_on_site: 170\n>>>>>>> phone\n",
    },
    cure: "Keep the true version, delete the other and the three marked lines, and commit.",
    ..FORM
};

const NESTED_TOO_DEEP: Rule = Rule {
    id: "nested-too-deep",
    title: "Brackets stand within brackets beyond any use",
    why: "No record needs it, and some programs stop for minutes on it.",
    bad: Example::File {
        path: "models/deep.md",
        bytes: b"---\nrecord: model\nstandards: [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]\n---\n",
    },
    cure: "Look for a bracket that was never closed, or a file that is no record.",
    ..FORM
};

const INDENT_NOT_SPACES: Rule = Rule {
    id: "indent-not-spaces",
    title: "A tab or a no-break space stands where YAML wants spaces",
    why: "It looks like a space and is none; other programs stop at the line or read another nesting.",
    bad: Example::Text { find: "minutes_on_site: 190", put: "minutes_on_site:\u{a0}190" },
    cure: "Replace it with plain spaces.",
    ..FORM
};

const CURLY_QUOTES: Rule = Rule {
    id: "curly-quotes",
    grade: Grade::Tidy,
    title: "A value stands in curly quotes",
    why: "YAML knows only straight quotes: other programs take the curly ones for part of the value, and a search for a serial misses it.",
    bad: Example::Text { find: "serial: \"CP-204117\", model", put: "serial: \u{201c}CP-204117\u{201d}, model" },
    cure: "Type straight quotes; turn off smart punctuation for this app.",
    ..FORM
};

const COLON_IN_TEXT: Rule = Rule {
    id: "colon-in-text",
    title: "Text with a colon in it is not quoted",
    why: "YAML takes `word: ` for a key, and the record cannot be read by other programs.",
    bad: Example::Text { find: "title: Charge point", put: "title: Drive: charge point" },
    cure: "Put the whole text in quotes.",
    ..FORM
};

const OFF_SCALE_NOT_QUOTED: Rule = Rule {
    id: "off-scale-not-quoted",
    title: "A reading off the scale is not quoted",
    why: "YAML takes `>` for the start of a block of text, and everything after it is lost.",
    bad: Example::Text { find: "ir_live_live_mohm: \">999\"", put: "ir_live_live_mohm: >999" },
    good: Example::Keys("circuits: [{id: main/1, readings: {ir_live_live_mohm: \">999\"}}]"),
    cure: "Quote it, as the instrument shows it: \">999\".",
    ..FORM
};

const LEADING_ZERO: Rule = Rule {
    id: "leading-zero",
    grade: Grade::Tidy,
    title: "Digits that begin with a nought are not quoted",
    looks_at: "Serials, references and numbers written as bare digits with a nought in front.",
    why: "Some programs drop the nought and some read octal; a serial without its nought is not found by a recall.",
    bad: Example::Text { find: "ref: \"EV-118\"", put: "ref: 0118" },
    good: Example::Text { find: "ref: \"EV-118\"", put: "ref: \"0118\"" },
    cure: "Put it in quotes.",
    ..FORM
};

const DUPLICATE_KEY: Rule = Rule {
    id: "duplicate-key",
    title: "A key is given twice",
    why: "Programs keep one of the two and say nothing; nobody knows which reading was meant.",
    bad: Example::Text { find: "minutes_on_site: 190\n", put: "minutes_on_site: 190\nminutes_on_site: 170\n" },
    cure: "Keep the true one. Until then neither is judged.",
    ..FORM
};

const UNKNOWN_KEY: Rule = Rule {
    id: "unknown-key",
    title: "A key that no record of this kind has",
    why: "What stands under it is not read: a reading with a misspelt key is a reading that is missing.",
    bad: Example::Keys("minutes_on_sight: 190"),
    cure: "Correct the spelling, or move the fact into the body; `ampledger schema` lists all keys.",
    ..FORM
};

const UNKNOWN_WORD: Rule = Rule {
    id: "unknown-word",
    title: "A word outside the list that this key takes",
    why: "A word that no rule knows is a fact that no rule can judge.",
    bad: Example::Keys("circuits: [{id: main/2, readings: {rcd_half: stayed}}]"),
    cure: "Use one of the words that the key takes.",
    ..FORM
};

const NOT_A_NUMBER: Rule = Rule {
    id: "not-a-number",
    title: "A reading or size is not a plain number",
    why: "A number with a comma, a unit or a word in it is text to every program, and escapes the check of its limit.",
    bad: Example::Keys("circuits: [{id: main/1, readings: {zs_ohm: \"0,34\"}}]"),
    good: Example::Keys("circuits: [{id: main/1, readings: {zs_ohm: 0.34}}]"),
    cure: "Write the bare number with a point; the unit is in the key. A reading that could not be taken goes under `not_taken` with its reason.",
    ..FORM
};

const NOT_A_DATE: Rule = Rule {
    id: "not-a-date",
    title: "A date is not written YYYY-MM-DD",
    why: "02/04/26 is two different days, and text that is no date is never overdue.",
    bad: Example::Keys("dates: {designed: 20/10/2026}"),
    cure: "Write it YYYY-MM-DD, as in 2026-11-02.",
    ..FORM
};

const NOT_TRUE_FALSE: Rule = Rule {
    id: "not-true-false",
    title: "yes, no, on or off stands where true or false belongs",
    why: "Some programs read `no` as false and some as a word; `isolated: no` then means two things.",
    bad: Example::Keys("circuits: [{id: main/1, ev: {labelled: \"yes\"}}]"),
    good: Example::Keys("circuits: [{id: main/1, ev: {labelled: true}}]"),
    cure: "Write true or false.",
    ..FORM
};

const WRONG_SHAPE: Rule = Rule {
    id: "wrong-shape",
    title: "A list, a map or a single value stands where another belongs",
    why: "What stands there cannot be read, and nothing is said of it.",
    bad: Example::Keys("extent: [the charge point, the lights]"),
    cure: "`ampledger schema` shows what this key takes.",
    ..FORM
};

const NOT_YAML: Rule = Rule {
    id: "not-yaml",
    title: "Part of the front matter is not YAML",
    why: "The line, or the entry it stands in, could not be read; nothing in it is checked.",
    bad: Example::Text { find: "minutes_on_site: 190", put: "minutes_on_site: [190" },
    cure: "Look for a missing quote, bracket or colon on this line or just above it.",
    ..FORM
};

const WRONG_RECORD: Rule = Rule {
    id: "wrong-record",
    title: "A file says nothing of what record it is, or says another than its folder holds",
    looks_at: "The `record:` of every file against the folder it stands in.",
    why: "It is read as what its folder holds, which may not be what was meant.",
    bad: Example::Keys("record: site"),
    cure: "Give the first line of the front matter as `record:` with the right kind, or move the file.",
    ..FORM
};

const MISPLACED_FILE: Rule = Rule {
    id: "misplaced-file",
    grade: Grade::Doubt,
    title: "A file stands where no such record belongs",
    looks_at: "Markdown files in the book's folders by name and place.",
    why: "A visit that is not named by its date sorts wrongly; a record in the wrong folder is not found.",
    bad: Example::File { path: "sites/loose-note.md", bytes: b"---\nrecord: job\n---\n" },
    cure: "Move or rename it: sites/<site>/<YYYY-MM-DD>-<slug>.md, instruments/<id>.md, models/<id>.md, recalls/<date>-<slug>.md.",
    ..FORM
};

/// Tells of everything wrong with a record's form, and of a `record:` that does not fit.
pub fn tell_all<T: Kind>(record: &Record<T>, findings: &mut Vec<Finding>) {
    for fault in &record.faults {
        tell(&record.source, fault, findings);
    }
    let path = crate::path!["record"];
    if record.lost || record.is_unreadable(&path) || T::EXPECTED.is_empty() {
        return;
    }
    let said = record.data.kind_said();
    if said == Some(T::EXPECTED) {
        return;
    }
    let message = match said {
        Some(said) => format!("this says `record: {said}` and stands where a {} belongs", T::EXPECTED),
        None => format!("nothing says what this is: `record: {}` is missing", T::EXPECTED),
    };
    Report::new(&WRONG_RECORD, "", findings).raise(Place::at(&record.source, path), message);
}

/// A record that says what it is.
pub trait Kind {
    /// The word that belongs there; empty where none does.
    const EXPECTED: &'static str;
    /// The word that stands there.
    fn kind_said(&self) -> Option<&'static str>;
}

macro_rules! kinds {
    ($($record:ident $expected:literal),+) => {
        $(impl Kind for crate::record::$record {
            const EXPECTED: &'static str = $expected;
            fn kind_said(&self) -> Option<&'static str> {
                self.record.map(|kind| kind.as_str())
            }
        })+
    };
}

kinds!(Site "site", Job "job", Instrument "instrument", Model "model", Recall "recall");

impl Kind for crate::record::Settings {
    const EXPECTED: &'static str = "";
    fn kind_said(&self) -> Option<&'static str> {
        None
    }
}

/// Turns one fault of form into a finding.
pub fn tell(source: &Arc<SourceFile>, fault: &Fault, findings: &mut Vec<Finding>) {
    let place = Place::bytes(source, fault.path.clone(), fault.span.clone());
    let key = fault.path.last_key().unwrap_or("this value").to_owned();
    let (rule, message, help): (&'static Rule, String, String) = match &fault.kind {
        FaultKind::Unreadable { why } => (&FILE_UNREADABLE, format!("this file cannot be opened: {why}"), String::new()),
        FaultKind::LinkLoop => {
            (&LINK_NOT_FOLLOWED, "this link leads nowhere, or back to a folder that it stands in".to_owned(), String::new())
        }
        FaultKind::LinkOut => (&LINK_NOT_FOLLOWED, "this link leads out of the book".to_owned(), String::new()),
        FaultKind::TooLarge { bytes } => {
            (&FILE_TOO_LARGE, format!("this file has {bytes} bytes; only the first {MAX_FILE_BYTES} were read"), String::new())
        }
        FaultKind::FrontTooLarge { bytes } => {
            (&FILE_TOO_LARGE, format!("the front matter has {bytes} bytes; more than {MAX_FRONT_BYTES} are not read"), String::new())
        }
        FaultKind::Empty => (&FILE_EMPTY, "this file has nothing in it".to_owned(), String::new()),
        FaultKind::FrontEmpty => (&FILE_EMPTY, "there is nothing between the fences".to_owned(), String::new()),
        FaultKind::NotUtf8 { byte } => (&NOT_UTF8, format!("the byte 0x{byte:02X} here is not UTF-8"), String::new()),
        FaultKind::Control { code } => {
            (&CONTROL_CHARACTER, format!("the character U+{code:04X} stands here and cannot be seen"), String::new())
        }
        FaultKind::NoFrontMatter => (&FRONT_MATTER_MISSING, "this file opens no front matter".to_owned(), String::new()),
        FaultKind::FenceDamaged { found } if found == "---" => {
            (&FENCE_DAMAGED, "the front matter does not begin on the first line".to_owned(), "Delete the empty lines above it.".to_owned())
        }
        FaultKind::FenceDamaged { found } => (&FENCE_DAMAGED, format!("this fence is `{found}`, not `---`"), String::new()),
        FaultKind::Unclosed => (&FRONT_MATTER_UNCLOSED, "the front matter ends here and nothing closes it".to_owned(), String::new()),
        FaultKind::ConflictMarks => (&CONFLICT_MARKS, "this record is half merged: git left both versions here".to_owned(), String::new()),
        FaultKind::TooDeep => {
            (&NESTED_TOO_DEEP, "brackets stand more than 64 deep here; the front matter was not read".to_owned(), String::new())
        }
        FaultKind::TabIndent => (&INDENT_NOT_SPACES, "this line is indented with a tab".to_owned(), String::new()),
        FaultKind::NoBreakSpace => (&INDENT_NOT_SPACES, "a no-break space stands here, not a space".to_owned(), String::new()),
        FaultKind::CurlyQuotes { text } => (&CURLY_QUOTES, "this value stands in curly quotes".to_owned(), format!("Write \"{text}\".")),
        FaultKind::ColonInText { text } => {
            (&COLON_IN_TEXT, "this text has a colon in it and is not quoted".to_owned(), format!("Write \"{}\".", text.replace('"', "'")))
        }
        FaultKind::OffScaleUnquoted { text } => (&OFF_SCALE_NOT_QUOTED, format!("{text} is not quoted"), format!("Write \"{text}\".")),
        FaultKind::LeadingZero { text } => {
            (&LEADING_ZERO, format!("{text} begins with a nought and is not quoted"), format!("Write \"{text}\"."))
        }
        FaultKind::DuplicateKey { key, .. } => (&DUPLICATE_KEY, format!("{key} is given twice here"), String::new()),
        FaultKind::UnknownKey { key, known } => {
            let help = nearest(key, known.iter().map(String::as_str)).map(|near| format!("Did you mean {near}?"));
            (&UNKNOWN_KEY, format!("no record of this kind has the key {key} here"), help.unwrap_or_default())
        }
        FaultKind::UnknownWord { word, known } => {
            let near = nearest(word, known.iter().map(String::as_str)).map(|near| format!("Did you mean {near}? "));
            let help = format!("{}{key} takes {}.", near.unwrap_or_default(), known.join(", "));
            (&UNKNOWN_WORD, format!("{key} does not take the word `{word}`"), help)
        }
        FaultKind::NotANumber { text } => (&NOT_A_NUMBER, format!("{key} is `{text}`, not a plain number"), number_help(text)),
        FaultKind::NotADate { text } => (&NOT_A_DATE, format!("{key} is `{text}`, not a date"), date_help(text)),
        FaultKind::NotTrueFalse { text } => {
            let meant = match text.to_lowercase().as_str() {
                "yes" | "y" | "on" => "Write true.",
                "no" | "n" | "off" => "Write false.",
                _ => "",
            };
            (&NOT_TRUE_FALSE, format!("{key} is `{text}`, and takes only true or false"), meant.to_owned())
        }
        FaultKind::WrongShape { message } => (&WRONG_SHAPE, format!("{key} cannot be read: {message}"), String::new()),
        FaultKind::NotYaml { message } => (&NOT_YAML, format!("this is not YAML: {message}"), String::new()),
        FaultKind::WrongRecord { expected, .. } => (&WRONG_RECORD, format!("this is not a {expected}"), String::new()),
        FaultKind::Misplaced { why } => (&MISPLACED_FILE, format!("this file stands where it does not belong: {why}"), String::new()),
    };
    let mut report = Report::new(rule, "", findings);
    let finding = report.raise(place, message);
    if !help.is_empty() {
        finding.help(help);
    }
    if let FaultKind::DuplicateKey { first, .. } = &fault.kind {
        finding.because(Place::bytes(source, fault.path.clone(), first.clone()), "given here first");
    }
}

/// What was probably meant by a number that is none.
fn number_help(text: &str) -> String {
    let bare = text.trim();
    let dotted = bare.replace(',', ".");
    let digits: String = dotted.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    let rest = dotted[digits.len()..].trim();
    if digits.is_empty() || digits.matches('.').count() > 1 || digits.ends_with('.') || digits.starts_with('.') {
        return NOT_A_NUMBER.cure.to_owned();
    }
    if rest.is_empty() {
        return format!("Write {digits}, with a point.");
    }
    format!("Write {digits}; the unit is in the key.")
}

/// What was probably meant by a date that is none. Day and month are not guessed where they could be exchanged.
fn date_help(text: &str) -> String {
    let parts: Vec<&str> = text.split(['-', '/', '.', ' ']).collect();
    let numbers: Option<Vec<u32>> = parts.iter().map(|part| part.parse().ok()).collect();
    let written = |year: u32, month: u32, day: u32| {
        let date = format!("{year:04}-{month:02}-{day:02}");
        date.parse::<crate::record::Date>().is_ok().then_some(date)
    };
    let meant = match numbers.as_deref() {
        Some([year, month, day]) if parts[0].len() == 4 => written(*year, *month, *day),
        Some([day, month, year]) if parts[2].len() == 4 && (*day > 12 || day == month) => written(*year, *month, *day),
        _ => None,
    };
    match meant {
        Some(date) => format!("Write {date}."),
        None => "Write it YYYY-MM-DD, as in 2026-11-02.".to_owned(),
    }
}
