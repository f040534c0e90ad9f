//! Files that cannot be read as they should: the words and cures for what `book` has seen.

use std::sync::Arc;

use super::meant::{self, Day, Number};
use super::references::SAME_ID_TWICE;
use super::{Check, Example, Family, Report, Rule, nearest};
use crate::book::{Fault, FaultKind, FieldPath, MAX_FILE_BYTES, MAX_FRONT_BYTES, Record, SETTINGS_FILE, SourceFile, Step, Syntax};
use crate::finding::{Finding, Grade, Place};
use crate::record::Job;
use crate::rolls::union_line;

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
    &SECOND_RECORD,
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
    title: "A fence of the front matter is damaged, missing or in the wrong place",
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

const SECOND_RECORD: Rule = Rule {
    id: "second-record-in-file",
    title: "A second record stands below the first in one file",
    why: "One file is one record; what stands below its closing fence is prose, and nothing in it is checked.",
    bad: Example::File {
        path: "instruments/torque-9.md",
        bytes: b"---\nrecord: instrument\nkind: torque-driver\nserial: \"T-9\"\nreads: [torque]\ncalibrations: [{on: 2026-02-01, due: 2027-02-01, certificate: \"C-9\"}]\n---\nrecord: instrument\nkind: proving-unit\n---\n",
    },
    cure: "Move it into a file of its own.",
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
    title: "Brackets, lists or aliases stand within one another beyond any use",
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

/// Tells of everything wrong with a record's form.
pub fn tell_all<T>(record: &Record<T>, findings: &mut Vec<Finding>) {
    for fault in &record.faults {
        tell(&record.source, fault, findings);
    }
}

/// Tells of everything wrong with a visit's form; what is wrong within a circuit is about that circuit.
pub fn tell_job(record: &Record<Job>, findings: &mut Vec<Finding>) {
    let first = findings.len();
    tell_all(record, findings);
    for finding in &mut findings[first..] {
        if let [Step::Key(list), Step::Index(index), ..] = finding.place.path.steps()
            && list == "circuits"
            && let Some(id) = record.data.circuits.get(*index).and_then(|circuit| circuit.id.as_deref())
        {
            finding.subject(id);
        }
    }
}

/// Turns one fault of form into a finding.
pub fn tell(source: &Arc<SourceFile>, fault: &Fault, findings: &mut Vec<Finding>) {
    let Words { rule, message, help } = words(source, fault);
    // A key that is missing has no bytes of its own; it is looked up like any other.
    let place = match fault.kind {
        FaultKind::WrongRecord { .. } => Place::at(source, fault.path.clone()),
        _ => Place::bytes(source, fault.path.clone(), fault.span.clone()),
    };
    let mut report = Report::new(rule, "", findings);
    let finding = report.raise(place, message);
    finding.fault = Some(Box::new(fault.clone()));
    if !help.is_empty() {
        finding.help(help);
    }
    match &fault.kind {
        FaultKind::DuplicateKey { first, .. } => {
            finding.because(Place::bytes(source, fault.path.clone(), first.clone()), "given here first");
        }
        FaultKind::SameName { .. } => {
            finding.subject(source.stem());
        }
        FaultKind::TabAfterColon => {
            finding.grade(Grade::Tidy);
        }
        _ => {}
    }
}

/// The rule that tells of a fault.
pub fn rule_of(source: &SourceFile, fault: &Fault) -> &'static str {
    words(source, fault).rule.id
}

/// What is said of a fault.
struct Words {
    rule: &'static Rule,
    message: String,
    /// Empty where the rule's cure says it all.
    help: String,
}

fn say(rule: &'static Rule, message: impl Into<String>) -> Words {
    Words { rule, message: message.into(), help: String::new() }
}

impl Words {
    fn help(mut self, help: impl Into<String>) -> Words {
        self.help = help.into();
        self
    }
}

fn words(source: &SourceFile, fault: &Fault) -> Words {
    let key = quoted(&named(&fault.path));
    match &fault.kind {
        FaultKind::Unreadable { why } => say(&FILE_UNREADABLE, format!("this file cannot be opened: {why}")),
        FaultKind::LinkLoop => say(&LINK_NOT_FOLLOWED, "this link leads nowhere, or back to a folder that it stands in"),
        FaultKind::LinkOut => say(&LINK_NOT_FOLLOWED, "this link leads out of the book"),
        FaultKind::TooLarge { bytes } => {
            say(&FILE_TOO_LARGE, format!("this file has {}; only the first {} was read", size(*bytes), size(MAX_FILE_BYTES)))
        }
        FaultKind::FrontTooLarge { bytes } => {
            let (found, most) = (size(*bytes as u64), size(MAX_FRONT_BYTES as u64));
            say(&FILE_TOO_LARGE, format!("the front matter has {found}; more than {most} is not read"))
        }
        FaultKind::Empty => say(&FILE_EMPTY, "this file has nothing in it"),
        FaultKind::FrontEmpty if source.path == SETTINGS_FILE => say(&FILE_EMPTY, "book.yaml has nothing in it")
            .help("Begin it with `format: 1`, and say who keeps the book and in which nation."),
        FaultKind::FrontEmpty => say(&FILE_EMPTY, "there is nothing between the fences"),
        FaultKind::NotUtf8 { byte } => say(&NOT_UTF8, format!("the byte 0x{byte:02X} here is not UTF-8")),
        FaultKind::Utf16 => say(&NOT_UTF8, "this file is in UTF-16, and a record is in UTF-8")
            .help("Save it again and choose UTF-8 as the encoding; it was read all the same."),
        FaultKind::Control { code, count } => {
            let more = if *count > 1 { format!(", the first of {count}") } else { String::new() };
            say(&CONTROL_CHARACTER, format!("a character that cannot be seen stands here (U+{code:04X}{more})"))
        }
        FaultKind::NoFrontMatter => say(&FRONT_MATTER_MISSING, "this file opens no front matter"),
        FaultKind::FenceDamaged { found } if found == "---" => {
            say(&FENCE_DAMAGED, "the front matter does not begin on the first line").help("Delete the empty lines above it.")
        }
        FaultKind::FenceDamaged { found } => say(&FENCE_DAMAGED, format!("this fence is `{found}`, not `---`")),
        FaultKind::FenceMissing => {
            say(&FENCE_DAMAGED, "there is no `---` above the first key").help("Put `---` on a line of its own above this one.")
        }
        FaultKind::FenceInside { found } => {
            say(&FENCE_DAMAGED, format!("this `{found}` stands among the keys, and other programs stop reading here"))
                .help("Delete this line.")
        }
        FaultKind::SecondRecord => say(&SECOND_RECORD, "a second record begins here, below the first; it is not read"),
        FaultKind::Unclosed => say(&FRONT_MATTER_UNCLOSED, "the front matter ends here and nothing closes it"),
        FaultKind::ConflictMarks if source.path.ends_with(".yaml") && source.path != SETTINGS_FILE => {
            say(&CONFLICT_MARKS, format!("{} is half merged: git left both versions here", source.path)).help(format!(
                "Keep the lines of both sides and delete the three marked lines. `{}` in .gitattributes does that by itself.",
                union_line(&source.path)
            ))
        }
        FaultKind::ConflictMarks => say(&CONFLICT_MARKS, "this record is half merged: git left both versions here"),
        FaultKind::TooDeep => say(&NESTED_TOO_DEEP, "lists or brackets stand more than 64 deep here; this entry was not read"),
        FaultKind::AliasBomb { bytes } => {
            say(&NESTED_TOO_DEEP, format!("the aliases here stand for {} of text; none was followed", size(*bytes)))
                .help("Write the values out where they belong.")
        }
        FaultKind::SameName { other } => {
            say(&SAME_ID_TWICE, format!("its name differs only in capitals from {other}: on some machines they are one file"))
                .help("Rename one of the two.")
        }
        FaultKind::TabIndent => say(&INDENT_NOT_SPACES, "this line is indented with a tab"),
        FaultKind::TabAfterColon => say(&INDENT_NOT_SPACES, "a tab stands after the colon; some programs refuse it"),
        FaultKind::NoBreakSpace => say(&INDENT_NOT_SPACES, "a no-break space stands here: it looks like a space and is none"),
        FaultKind::CurlyQuotes { text } => {
            say(&CURLY_QUOTES, "this value stands in curly quotes").help(format!("Write \"{}\".", quoted(text)))
        }
        FaultKind::ColonInText { text } => say(&COLON_IN_TEXT, "this text has a colon in it and is not quoted")
            .help(format!("Write \"{}\".", quoted(text).replace('\\', "\\\\").replace('"', "'"))),
        FaultKind::OffScaleUnquoted { text } => {
            say(&OFF_SCALE_NOT_QUOTED, format!("{text} is not quoted")).help(format!("Write \"{}\".", quoted(text)))
        }
        FaultKind::LeadingZero { key, text } => {
            say(&LEADING_ZERO, format!("{text} begins with a nought and is not quoted")).help(zero_help(key, text))
        }
        FaultKind::DuplicateKey { key, others: 0, .. } => say(&DUPLICATE_KEY, format!("{} is given twice here", quoted(key))),
        FaultKind::DuplicateKey { key, others, .. } => {
            say(&DUPLICATE_KEY, format!("{} and {others} more keys are given twice here", quoted(key)))
                .help("If a new item begins here, begin its first line with `- `. Until then neither is judged.")
        }
        FaultKind::UnknownKey { key, .. } if key == "<<" => {
            say(&UNKNOWN_KEY, "`<<` takes keys over from elsewhere, and records have no such key").help("Write the keys out here.")
        }
        FaultKind::UnknownKey { key, known } => {
            let help = nearest(key, known.iter().map(String::as_str)).map(|near| format!("Did you mean {near}?"));
            say(&UNKNOWN_KEY, format!("`{}` is no key that belongs here, so it is not read", quoted(key))).help(help.unwrap_or_default())
        }
        FaultKind::UnknownWord { word, known } => {
            let near = nearest(word, known.iter().map(String::as_str)).map(|near| format!("Did you mean {near}? "));
            let help = format!("{}{key} takes {}.", near.unwrap_or_default(), known.join(", "));
            say(&UNKNOWN_WORD, format!("{key} does not take the word `{}`", quoted(word))).help(help)
        }
        FaultKind::NotANumber { text } => {
            say(&NOT_A_NUMBER, format!("{key} is `{}`, not a plain number", quoted(text))).help(number_help(text))
        }
        FaultKind::NotADate { text } => say(&NOT_A_DATE, format!("{key} is `{}`, not a date", quoted(text))).help(date_help(text)),
        FaultKind::NotTrueFalse { text } => {
            let meant = meant::truth(text).map(|truth| format!("Write {truth}."));
            say(&NOT_TRUE_FALSE, format!("{key} is `{}`, and takes only true or false", quoted(text))).help(meant.unwrap_or_default())
        }
        FaultKind::WrongShape { found, .. } if found == "nothing" => {
            say(&WRONG_SHAPE, format!("{key} is empty")).help("Fill it in, or delete it.")
        }
        FaultKind::WrongShape { found, wanted } => {
            say(&WRONG_SHAPE, format!("{key} is {}, and takes {wanted}", quoted(found))).help(shape_help(found, wanted))
        }
        FaultKind::AliasUnfit { name } => {
            say(&WRONG_SHAPE, format!("what `&{}` holds does not fit here as {key}", quoted(name))).help("Write the value out here.")
        }
        FaultKind::NotYaml(syntax) => syntax_words(syntax),
        FaultKind::ManyMore => {
            say(&NOT_YAML, "more faults are in this file, and are not told one by one").help("Put the others right first, and check again.")
        }
        FaultKind::WrongRecord { found: Some(found), expected } => {
            let article = if expected.starts_with('i') { "an" } else { "a" };
            say(&WRONG_RECORD, format!("this says `record: {found}` and stands where {article} {expected} belongs"))
        }
        FaultKind::WrongRecord { found: None, expected } => {
            say(&WRONG_RECORD, format!("nothing says what this is: `record: {expected}` is missing"))
                .help(format!("Put `record: {expected}` on the first line below the fence."))
        }
        FaultKind::Misplaced { why } => say(&MISPLACED_FILE, format!("this file stands where it does not belong: {why}")),
    }
}

/// What a message calls the value at a path: its key, or its place in a list.
fn named(path: &FieldPath) -> String {
    let Some(Step::Index(index)) = path.steps().last() else {
        return path.last_key().unwrap_or("the front matter").to_owned();
    };
    let list = path.parent().and_then(|list| list.last_key().map(str::to_owned));
    format!("item {} of {}", index + 1, list.as_deref().unwrap_or("this list"))
}

/// Characters of a record's own text that a message has room for.
const QUOTED: usize = 60;

/// A text from the record as a message quotes it: on one line, and not all of a long one.
fn quoted(text: &str) -> String {
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match words.char_indices().nth(QUOTED) {
        Some((end, _)) => format!("{}...", &words[..end]),
        None => words,
    }
}

/// A number of bytes as people say it.
fn size(bytes: u64) -> String {
    match bytes {
        0..10_240 => format!("{bytes} bytes"),
        10_240..1_000_000 => format!("{} kB", bytes / 1024),
        _ => format!("{} MB", bytes.div_ceil(1024 * 1024)),
    }
}

fn syntax_words(syntax: &Syntax) -> Words {
    match syntax {
        Syntax::OpenQuote => {
            say(&NOT_YAML, "a quote is opened here and not closed").help("Close the quote at the end of the value, or take it out.")
        }
        Syntax::AfterQuote => say(&NOT_YAML, "text stands behind a closing quote here")
            .help("Put the whole text in one pair of quotes, or take the quotes out."),
        Syntax::OpenBracket => say(&NOT_YAML, "a bracket is opened here and not closed").help("Close it: `{` with `}`, `[` with `]`."),
        Syntax::StrayBracket => {
            say(&NOT_YAML, "a bracket is closed here that was not opened").help("Take it out, or open it where the map or list begins.")
        }
        Syntax::NoKey => say(&NOT_YAML, "this line has no key").help("Write `key: value`, or move the words below the front matter."),
        Syntax::NoSpace { key, value } => say(&NOT_YAML, format!("no space follows the colon of {}", quoted(key))).help(format!(
            "Write `{}: {}`.",
            quoted(key),
            quoted(value)
        )),
        Syntax::UnknownAlias { name } => say(&NOT_YAML, format!("`*{0}` stands for nothing: there is no `&{0}`", quoted(name)))
            .help("Write the value itself; put quotes around a text that begins with a star."),
        Syntax::Reserved { first } => say(&NOT_YAML, format!("a value cannot begin with `{first}`")).help("Put the value in quotes."),
        Syntax::Hash => {
            say(&NOT_YAML, "` #` begins a comment here and hides the end of the line").help("Put the text with the `#` in quotes.")
        }
        Syntax::NoComma { key } => say(&NOT_YAML, format!("a comma is missing before {key}")).help(format!("Write `, {key}: `.")),
        Syntax::Indent => say(&NOT_YAML, "this line does not line up with those around it")
            .help("Indent it with spaces to the column of the keys that it belongs with."),
        Syntax::Whole => say(&NOT_YAML, "the front matter cannot be read"),
    }
}

fn shape_help(found: &str, wanted: &str) -> String {
    let bare = quoted(found.trim_matches('`'));
    match wanted {
        "a list" if found.starts_with('`') => format!("Write it as a list: [{bare}]."),
        "a list" => "Write it as a list: each item on a line that begins with `- `, or all in [ ].".to_owned(),
        "keys with values" => "Write `key: value` lines below it, or all in { }.".to_owned(),
        "text" => "Write it as one text; put quotes around it if it holds brackets or a colon.".to_owned(),
        _ => String::new(),
    }
}

/// A nought in front of a reading may be a lost decimal point; in front of anything else it is part of the name.
fn zero_help(key: &str, text: &str) -> String {
    if meant::unit_of(key).is_none() {
        return format!("Write \"{text}\".");
    }
    let bare = text.trim_start_matches('0');
    let bare = if bare.is_empty() { "0" } else { bare };
    format!("Write {bare}, or 0.{} if the point was lost.", &text[1..])
}

fn number_help(text: &str) -> String {
    match meant::number(text) {
        Number::OffScale => "Off the scale? Write the top of the scale as the instrument shows it, in quotes: \">999\".".to_owned(),
        Number::BelowNought(positive) => format!("A reading is never below nought: write {positive} if that is what it was."),
        Number::CommaOrPoint(whole, digits) => format!("Write {whole} or {digits}, whichever was read, without the comma."),
        Number::Plain(digits) => format!("Write {digits}, with a point."),
        Number::WithUnit(digits, _) => format!("Write {digits}; the unit is in the key."),
        Number::Unclear => NOT_A_NUMBER.cure.to_owned(),
    }
}

fn date_help(text: &str) -> String {
    const SHAPE: &str = "Write it YYYY-MM-DD, as in 2026-11-02.";
    match meant::day(text) {
        Day::Sure(date) | Day::DayFirst(date) => format!("Write {date}."),
        Day::NoSuchDay(written) => format!("The calendar has no {written}: check the day."),
        Day::Exchangeable => format!("{SHAPE} Day and month can be exchanged here, so say which is which."),
        Day::Unclear => SHAPE.to_owned(),
    }
}
