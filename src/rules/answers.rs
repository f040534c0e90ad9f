//! Answers, settings and a backlog that quiet nothing, or that would quiet what must be heard. Raised by `judge`.

use super::{Check, Example, Family, Rule};
use crate::finding::Grade;

/// The rules of this family.
pub const RULES: &[&Rule] = &[
    &DANGER_SILENCED,
    &ANSWER_RUN_OUT,
    &ANSWER_WITHOUT_REASON,
    &ANSWER_MATCHES_NOTHING,
    &UNKNOWN_RULE,
    &SETTING_WITHOUT_EFFECT,
    &BACKLOG_SPARE,
    &BACKLOG_RUN_OUT,
    &BACKLOG_WITHOUT_EFFECT,
];

/// An answer or a setting would silence a danger.
pub const DANGER_SILENCED: Rule = Rule {
    id: "danger-silenced",
    family: Family::Answers,
    grade: Grade::Breach,
    title: "An answer or a setting would silence a danger",
    looks_at: "Answers to findings graded danger, and book settings that grade a rule lower while it finds danger.",
    why: "Whoever reads the book next must hear of a danger until it is gone; a reason on file protects nobody.",
    sources: &["common practice"],
    bad: Example::Keys(
        "circuits: [{id: main/1, readings: {zs_ohm: 3.20}}]\nanswers: [{rule: zs-over-limit, at: main/1, why: known, on: 2026-11-02}]",
    ),
    good: Example::Keys("{}"),
    cure: "Put the danger right; then take this entry out.",
    check: Check::Judging,
};

/// An answer's date has gone by, or a breach was answered without one.
pub const ANSWER_RUN_OUT: Rule = Rule {
    id: "answer-run-out",
    family: Family::Answers,
    grade: Grade::Breach,
    title: "An answer's date has gone by, or a breach was answered without one",
    looks_at: "Answers whose `until` is before today, and answers to breaches that give no `until`.",
    why: "A dated answer is a promise to look again on that day.",
    sources: &["common practice"],
    bad: Example::Keys(
        "circuits: [{id: main/2, readings: {rcd_ms: 320}}]\nanswers: [{rule: rcd-too-slow, at: main/2, why: new device ordered, on: 2026-11-02, until: 2026-11-20}]",
    ),
    good: Example::Keys(
        "circuits: [{id: main/2, readings: {rcd_ms: 320}}]\nanswers: [{rule: rcd-too-slow, at: main/2, why: new device ordered, on: 2026-11-02, until: 2026-12-20}]",
    ),
    cure: "Look again: put the matter right, or give the answer a new date and a reason that still holds.",
    check: Check::Judging,
};

/// An answer gives no reason.
pub const ANSWER_WITHOUT_REASON: Rule = Rule {
    id: "answer-without-reason",
    family: Family::Answers,
    grade: Grade::Breach,
    title: "An answer gives no reason",
    looks_at: "Answers without `why`.",
    why: "An answer is kept for the next reader, who was not there.",
    sources: &["common practice"],
    bad: Example::Keys("answers: [{rule: unknown-key, on: 2026-11-02}]\nzzz: 1"),
    good: Example::Keys("answers: [{rule: unknown-key, why: kept for an older program, on: 2026-11-02}]\nzzz: 1"),
    cure: "Say in `why` what makes the finding not worth putting right.",
    check: Check::Judging,
};

/// An answer answers nothing.
pub const ANSWER_MATCHES_NOTHING: Rule = Rule {
    id: "answer-matches-nothing",
    family: Family::Answers,
    grade: Grade::Tidy,
    title: "An answer answers nothing",
    looks_at: "Answers whose rule finds nothing at that subject in that file (or, for answers in site.md, in that site).",
    why: "The matter may have been put right, or the answer may be at the wrong place and the doubt still open.",
    sources: &["common practice"],
    bad: Example::Keys("answers: [{rule: unknown-key, at: main/1, why: kept for an older program, on: 2026-11-02}]"),
    good: Example::Keys("{}"),
    cure: "Take the answer out if the matter is settled; otherwise set its `rule` and `at` as the finding gives them.",
    check: Check::Judging,
};

/// An answer or a setting names no rule.
pub const UNKNOWN_RULE: Rule = Rule {
    id: "unknown-rule",
    family: Family::Answers,
    grade: Grade::Breach,
    title: "An answer or a setting names a rule that does not exist",
    looks_at: "The `rule` of answers and of `rules` in book.yaml.",
    why: "It quiets nothing, while its owner believes that it does.",
    sources: &["common practice"],
    bad: Example::Keys("answers: [{rule: unknown-keys, why: kept for an older program, on: 2026-11-02}]"),
    good: Example::Keys("{}"),
    cure: "`ampledger explain` lists all rules.",
    check: Check::Judging,
};

/// A setting in `book.yaml` without effect.
pub const SETTING_WITHOUT_EFFECT: Rule = Rule {
    id: "setting-without-effect",
    family: Family::Answers,
    grade: Grade::Breach,
    title: "A rule setting in book.yaml lacks its rule, its grade or its reason, and has no effect",
    looks_at: "`rules` in book.yaml.",
    why: "A rule graded otherwise without a reason looks, to the next reader, like one that was found inconvenient.",
    sources: &["common practice"],
    bad: Example::Keys("book.yaml: {rules: [{rule: unknown-key, grade: silent}]}"),
    good: Example::Keys("book.yaml: {rules: [{rule: unknown-key, grade: silent, why: an older program writes keys of its own}]}"),
    cure: "Give each entry a `rule`, a `grade` and a `why`.",
    check: Check::Judging,
};

/// Findings that the backlog accepts are no longer found.
pub const BACKLOG_SPARE: Rule = Rule {
    id: "backlog-spare",
    family: Family::Answers,
    grade: Grade::Tidy,
    title: "The backlog accepts findings that are no longer found",
    looks_at: "The counts in backlog.yaml against what is found. A renamed file shows here too: its old name is spare, and its findings are new.",
    why: "A count that is too high would let as many new findings pass.",
    sources: &["common practice"],
    bad: Example::Keys(
        "backlog.yaml: {format: 1, accepted: [{file: sites/elm-row/2026-11-02-shed.md, rule: unknown-key, grade: breach, count: 1, on: 2026-11-20, why: inherited book}]}",
    ),
    good: Example::Keys(
        "zzz: 1\nbacklog.yaml: {format: 1, accepted: [{file: sites/elm-row/2026-11-02-shed.md, rule: unknown-key, grade: breach, count: 1, on: 2026-11-20, why: inherited book}]}",
    ),
    cure: "`ampledger check --accept` lowers the counts to what is found.",
    check: Check::Judging,
};

/// A day of the backlog has gone by.
pub const BACKLOG_RUN_OUT: Rule = Rule {
    id: "backlog-run-out",
    family: Family::Answers,
    grade: Grade::Doubt,
    title: "The backlog accepted findings until a day that has gone by",
    looks_at: "Entries in backlog.yaml whose `until` is before today.",
    why: "A dated amnesty is a promise to have looked at what it covers by that day; its findings are shown again.",
    sources: &["common practice"],
    bad: Example::Keys(
        "backlog.yaml: {format: 1, accepted: [{file: sites/elm-row/2026-11-02-shed.md, rule: unknown-key, grade: breach, count: 1, on: 2026-11-02, until: 2026-11-20, why: inherited book}]}",
    ),
    good: Example::Keys(
        "zzz: 1\nbacklog.yaml: {format: 1, accepted: [{file: sites/elm-row/2026-11-02-shed.md, rule: unknown-key, grade: breach, count: 1, on: 2026-11-02, until: 2026-12-20, why: inherited book}]}",
    ),
    cure: "Put right what is shown again; what has to wait longer goes in once more: `ampledger check --accept --add --reason`.",
    check: Check::Judging,
};

/// An entry of the backlog without effect.
pub const BACKLOG_WITHOUT_EFFECT: Rule = Rule {
    id: "backlog-without-effect",
    family: Family::Answers,
    grade: Grade::Breach,
    title: "An entry of the backlog lacks something, and accepts nothing",
    looks_at: "Entries in backlog.yaml without file, rule, grade, count or reason, and those that would accept a danger.",
    why: "What is set aside without a reason looks, to the next reader, like something that was found inconvenient.",
    sources: &["common practice"],
    bad: Example::Keys(
        "backlog.yaml: {format: 1, accepted: [{file: sites/elm-row/2026-11-02-shed.md, rule: unknown-key, grade: breach, count: 1, on: 2026-11-20}]}",
    ),
    good: Example::Keys(
        "zzz: 1\nbacklog.yaml: {format: 1, accepted: [{file: sites/elm-row/2026-11-02-shed.md, rule: unknown-key, grade: breach, count: 1, on: 2026-11-20, why: inherited book}]}",
    ),
    cure: "Complete the entry, or take it out; `ampledger check --accept --add --reason` writes whole ones.",
    check: Check::Judging,
};
