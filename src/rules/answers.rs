//! Answers and settings that quiet nothing, or that would quiet what must be heard. Raised by `judge`.

use super::{Check, Example, Family, Rule};
use crate::finding::Grade;

/// The rules of this family.
pub const RULES: &[&Rule] =
    &[&DANGER_SILENCED, &ANSWER_RUN_OUT, &ANSWER_WITHOUT_REASON, &ANSWER_MATCHES_NOTHING, &UNKNOWN_RULE, &SETTING_WITHOUT_EFFECT];

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
