//! What fixes do: the difference they make, and what became of them.

use similar::TextDiff;

use super::place::{is_steering, visible};
use super::{counted, wrapped};
use crate::book::is_odd_space;
use crate::finding::Finding;
use crate::fix::{Fix, Plan};

/// Lines around a change.
const CONTEXT: usize = 2;

/// What a finding's help says of its fix.
pub fn fix_words(fix: &Fix) -> &'static str {
    if fix.is_safe() { "`--fix` mends this." } else { "`--fix --unsafe` mends this; look first with `--diff`." }
}

/// What a plan changes, as a unified diff in paths of the book. Control characters are shown and not obeyed.
pub fn diff(plan: &Plan) -> String {
    let mut out = String::new();
    for mended in &plan.mended {
        let diff = TextDiff::from_lines(&mended.before, &mended.after);
        let (old, new) = (format!("a/{}", mended.file), format!("b/{}", mended.file));
        let text = diff.unified_diff().context_radius(CONTEXT).header(&old, &new).to_string();
        // The line end of a CRLF file is no part of what a reader looks for; a tab is.
        out.extend(text.replace("\r\n", "\n").chars().map(shown));
    }
    out
}

/// What stands for a character in a difference: what looks like a space and is none is shown as an open box.
fn shown(c: char) -> char {
    match c {
        '\t' => c,
        c if is_odd_space(c) => '\u{2423}',
        c if is_steering(c) => '\u{fffd}',
        c => c,
    }
}

/// How many findings a plan mends, in which files, and what it does not mend. `done` says whether it has been carried out.
pub fn plan_words(plan: &Plan, done: bool, width: usize) -> String {
    let count: usize = plan.mended.iter().flat_map(|mended| mended.done.values()).sum();
    let verb = if done { "mended" } else { "would be mended" };
    let mut out = match count {
        0 => format!("nothing {verb}\n"),
        _ => format!("{} {verb} in {}\n", counted(count, "finding", "findings"), counted(plan.mended.len(), "file", "files")),
    };
    for mended in &plan.mended {
        out.push_str(&format!("{}\n", visible(&mended.file)));
        let rules: Vec<String> =
            mended.done.iter().map(|(rule, count)| if *count > 1 { format!("{rule} ({count})") } else { (*rule).to_owned() }).collect();
        out.push_str(&format!("{}\n", wrapped(&rules.join(", "), 2, width)));
    }
    for refused in &plan.refused {
        out.push_str(&format!("{}:{}\n", visible(&refused.file), refused.line));
        let words = format!("{} not mended: {}", refused.rule, visible(&refused.why));
        out.push_str(&format!("{}\n", wrapped(&words, 2, width)));
    }
    out
}

/// A word on the fixes that are left for `--unsafe`.
pub fn left_words(findings: &[Finding], width: usize) -> String {
    let left = findings.iter().filter(|finding| finding.fix.as_ref().is_some_and(|fix| !fix.is_safe())).count();
    if left == 0 {
        return String::new();
    }
    let more = counted(left, "more finding", "more findings");
    let words = format!("`--unsafe` would mend {more} by a guess of what was meant; look first with `--fix --unsafe --diff`.");
    format!("{}\n", wrapped(&words, 0, width))
}
