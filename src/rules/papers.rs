//! The right paper for the work, ways accounted for, limitations justified, observations that say what is wrong.

use std::collections::BTreeSet;

use super::view::JobView;
use super::{Check, Example, Family, Report, Rule};
use crate::finding::Grade;
use crate::path;
use crate::record::{Board, Code, JobKind, LimitationKind, PaperKind, ReadingKey, Use};

/// The rules of this family.
pub const RULES: &[&Rule] =
    &[&WRONG_PAPER, &WAYS_UNACCOUNTED, &LIMITATION_UNJUSTIFIED, &BLANKET_LIMITATION, &STATES_CURE, &NOT_PLACED, &OVER_CODED];

const WRONG_PAPER: Rule = Rule {
    id: "wrong-paper",
    family: Family::Papers,
    grade: Grade::Breach,
    title: "The paper issued is not the one this work needs",
    looks_at: "New circuits under a minor works certificate; new work under a condition report alone; an inspection under an installation certificate or a minor works certificate alone. Quiet for an alteration without a new circuit under minor works, and where the right paper stands beside the other.",
    why: "A minor works certificate has no schedule for a new circuit, and a condition report certifies no work: what was built stays uncertified.",
    sources: &["BS 7671:2018 644.1 and 644.4", "BS 7671:2018 Appendix 6"],
    bad: Example::Keys(
        "papers: [{kind: minor-works-certificate, number: \"LE-0142\", issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}]",
    ),
    good: Example::Keys(
        "papers: [{kind: minor-works-certificate, number: \"LE-0141\", issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}, {kind: installation-certificate, number: \"LE-0142\", issued: 2026-11-03, given_to: customer, how: email, on: 2026-11-03}]",
    ),
    cure: "Issue the right paper, and withdraw this one.",
    check: Check::Job(check_paper),
};

const WAYS_UNACCOUNTED: Rule = Rule {
    id: "ways-not-accounted-for",
    family: Family::Papers,
    grade: Grade::Breach,
    title: "A board has more ways than the records account for",
    looks_at: "Inspections of a whole installation, and boards that are new at the visit: the board's ways against the circuits and spares on record. Quiet for other visits, for an inspection with another extent, where a limitation names the board, and where devices of several poles may take the rest.",
    why: "A way that is neither a circuit nor a spare is a circuit nobody tested.",
    sources: &["BS 7671:2018 514.9.1", "common practice: every way is a circuit or a spare"],
    bad: inspection!("circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nsites/elm-row/site.md: {boards: [{id: main, ways: 6}]}"),
    good: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}, {id: main/4, use: spare}, {id: main/5, use: spare}, {id: main/6, use: spare}]\nsites/elm-row/site.md: {boards: [{id: main, ways: 6}]}"
    ),
    cure: "Add the missing circuits, or `- {id: <board>/<way>, use: spare}` for an empty way.",
    check: Check::Job(check_ways),
};

const LIMITATION_UNJUSTIFIED: Rule = Rule {
    id: "limitation-without-reason",
    family: Family::Papers,
    grade: Grade::Breach,
    title: "A limitation gives no reason, or was agreed with nobody",
    looks_at: "Each limitation of a finished visit: `why`, and `agreed_with` where it was agreed. Quiet about who agreed to a limitation that was met on site.",
    why: "Only what could not be done, and was agreed beforehand, may be left out; a bare limitation reads as a test that was skipped.",
    sources: &["BS 7671:2018 653.2", "common practice"],
    bad: Example::Keys("limitations: [{what: loft wiring, kind: agreed, agreed_with: customer, on: 2026-11-02}]"),
    good: Example::Keys("limitations: [{what: loft wiring, why: no boards to walk on, kind: operational, on: 2026-11-02}]"),
    cure: "Say why, and with whom it was agreed (by part played, such as customer or agent).",
    check: Check::Job(check_limitations),
};

const BLANKET_LIMITATION: Rule = Rule {
    id: "blanket-limitation",
    family: Family::Papers,
    grade: Grade::Doubt,
    title: "A limitation or a whole column of tests not taken leaves the report empty",
    looks_at: "Inspections: a limitation over all circuits or the whole installation, and, with four circuits or more, insulation or every proof of the earth path not taken on any of them. Quiet where Zs was read instead of continuity.",
    why: "A report that has excluded the tests says nothing about the installation, whoever agreed to it.",
    sources: &["BS 7671:2018 653.2", "common practice"],
    bad: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nlimitations: [{what: all circuits, why: in use, kind: agreed, agreed_with: customer, on: 2026-11-02}]"
    ),
    good: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nlimitations: [{what: the loft, why: no boards to walk on, kind: agreed, agreed_with: customer, on: 2026-11-02}]"
    ),
    cure: "Test what can be tested; limit each thing by itself, with its own reason.",
    check: Check::Job(check_blanket),
};

const STATES_CURE: Rule = Rule {
    id: "observation-states-the-cure",
    family: Family::Papers,
    grade: Grade::Tidy,
    title: "An observation says what to buy and not what is wrong",
    looks_at: "Observations whose text begins with an order to do something.",
    why: "The reader cannot judge the code, nor whether a cheaper cure would do; a second electrician cannot find the defect.",
    sources: &["BS 7671:2018 653.2", "common practice"],
    bad: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nobservations: [{id: o1, code: C3, what: replace the consumer unit, where: main, clause: \"421.1.201\"}]"
    ),
    good: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nobservations: [{id: o1, code: C3, what: replacement blanks are of another make than the unit, where: main, clause: \"421.1.201\"}]"
    ),
    cure: "Write what was seen: \"no RCD on the kitchen ring\", not \"fit an RCD\".",
    check: Check::Job(check_observations),
};

const NOT_PLACED: Rule = Rule {
    id: "observation-not-placed",
    family: Family::Papers,
    grade: Grade::Tidy,
    title: "An observation names no place or no regulation",
    looks_at: "`where` and `clause` of each observation at a finished visit. Quiet about the regulation for further investigation (FI), where none is known yet.",
    why: "Whoever comes to put it right looks for it twice, and a code without a regulation is an opinion.",
    sources: &["BS 7671:2018 653.2", "common practice"],
    bad: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nobservations: [{id: o1, code: C3, what: cover of the junction box is cracked, clause: \"416.2\"}]"
    ),
    good: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nobservations: [{id: o1, code: C3, what: cover of the junction box is cracked, where: loft hatch, clause: \"416.2\"}]"
    ),
    cure: "Add `where`, and `clause` in quotes.",
    check: Check::Job(check_placed),
};

const OVER_CODED: Rule = Rule {
    id: "observation-over-coded",
    family: Family::Papers,
    grade: Grade::Doubt,
    title: "What later editions asked for first is coded as a danger",
    looks_at: "Observations coded C1 or C2 that speak of nothing but a plastic board or of missing surge protection. Quiet when they also speak of heat, damage or looseness.",
    why: "An installation is not dangerous because the book moved on; over-coding sells work and costs the report its weight.",
    sources: &["common practice"],
    bad: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nobservations: [{id: o1, code: C2, what: plastic consumer unit, where: main, clause: \"421.1.201\", due: 2026-11-30}]\nsites/elm-row/2026-11-02-shed.md: {outcome: unsatisfactory}"
    ),
    good: inspection!(
        "circuits: [{id: main/1, new: ~}, {id: main/2, new: ~}]\nobservations: [{id: o1, code: C3, what: plastic consumer unit, where: main, clause: \"421.1.201\"}]"
    ),
    cure: "Give it C3, or say what about it is dangerous here.",
    check: Check::Job(check_over_coded),
};

fn check_paper(job: JobView<'_>, report: &mut Report<'_>) {
    let data = job.data();
    let has = |kind: PaperKind| data.papers.iter().any(|paper| paper.kind == Some(kind));
    let new_circuit = job.circuits().find(|circuit| circuit.is_new() && circuit.circuit.usage != Some(Use::Spare));
    for (index, paper) in data.papers.iter().enumerate() {
        let work = job.is_kind(&[JobKind::Install, JobKind::Alter]);
        let inspection = job.is_kind(&[JobKind::Inspect]);
        let (message, reason) = match paper.kind {
            Some(PaperKind::MinorWorksCertificate) if !has(PaperKind::InstallationCertificate) && new_circuit.is_some() => {
                let id = new_circuit.map_or("", |circuit| circuit.id());
                (format!("{id} is a new circuit, and a minor works certificate does not cover one"), new_circuit)
            }
            Some(PaperKind::ConditionReport)
                if work && !has(PaperKind::InstallationCertificate) && !has(PaperKind::MinorWorksCertificate) =>
            {
                ("new work under a condition report: it needs an installation or a minor works certificate".to_owned(), None)
            }
            Some(kind @ (PaperKind::InstallationCertificate | PaperKind::MinorWorksCertificate))
                if inspection && !has(PaperKind::ConditionReport) && new_circuit.is_none() =>
            {
                (format!("an inspection that ends in a {}: it needs a condition report", kind.as_str().replace('-', " ")), None)
            }
            _ => continue,
        };
        let finding = report.raise(job.place(path!["papers", index, "kind"]), message);
        finding.subject(paper.number.clone().unwrap_or_default());
        if let Some(circuit) = reason {
            finding.because(circuit.place_of("new"), "new here");
        }
    }
}

/// Whether the visit's extent is the whole installation. An extent that is missing is another rule's matter.
fn inspects_all(job: JobView<'_>) -> bool {
    let whole = |extent: &str| ["whole", "entire", "complete", "all "].iter().any(|word| extent.to_lowercase().contains(word));
    job.is_kind(&[JobKind::Inspect]) && job.data().extent.as_deref().is_some_and(whole)
}

/// Whether a board is new at a visit: nothing on it is on record before, and its feeder or all of its circuits are new.
fn is_new_board(job: JobView<'_>, board: &Board) -> bool {
    let id = board.id.as_deref().unwrap_or_default();
    let feeder = board.fed_from.as_deref().and_then(|feeder| job.circuit(feeder));
    let seen_before = job.earlier().any(|earlier| earlier.circuits().any(|circuit| circuit.board_id() == id));
    !seen_before && feeder.is_some_and(|feeder| feeder.is_new()) && job.circuits().any(|circuit| circuit.board_id() == id)
}

fn check_ways(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(site) = job.site.record().filter(|_| job.is_finished()) else { return };
    let installation = job.installation();
    let inspected = inspects_all(job);
    for (index, board) in site.data.boards.iter().enumerate() {
        let (Some(id), Some(ways)) = (board.id.as_deref(), board.ways) else { continue };
        let limits_it = job.data().limitations.iter().filter_map(|limitation| limitation.what.as_deref()).any(|what| what.contains(id));
        if limits_it || !(inspected || is_new_board(job, board)) {
            continue;
        }
        let on_board: Vec<_> = installation.iter().filter(|circuit| circuit.board_id() == id).collect();
        let accounted: BTreeSet<&str> = on_board.iter().map(|circuit| circuit.id()).collect();
        // A device of several poles, or one device over a group of ways, may take more ways than it has circuits.
        let poles = |circuit: &super::view::CircuitView<'_>| circuit.ocpd().and_then(|ocpd| ocpd.value.poles).map_or(1, |poles| *poles);
        let three_phase: u32 = on_board.iter().map(|circuit| poles(circuit)).filter(|poles| *poles >= 3).map(|poles| poles - 1).sum();
        let count = accounted.len() as u32 + three_phase;
        if !on_board.is_empty() && count < *ways {
            let missing = *ways - count;
            let message = format!("the board has {ways} ways, and {count} are on record: {missing} unaccounted for");
            let finding = report.raise(job.place(path!["circuits"]), message);
            finding.subject(id).because(job.site.place(path!["boards", index, "ways"]), "ways here");
        }
    }
}

fn is_blank(text: &Option<String>) -> bool {
    text.as_deref().is_none_or(|text| text.trim().is_empty())
}

fn check_limitations(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for (index, limitation) in job.data().limitations.iter().enumerate() {
        let what = limitation.what.as_deref().unwrap_or("this limitation");
        if is_blank(&limitation.why) {
            let message = "left out, and nothing says why";
            report.raise(job.place(path!["limitations", index, "why"]), message).subject(what);
        }
        if limitation.kind == Some(LimitationKind::Agreed) && is_blank(&limitation.agreed_with) {
            let message = "agreed, and nothing says with whom";
            report.raise(job.place(path!["limitations", index, "agreed_with"]), message).subject(what);
        }
    }
}

/// Circuits from which a column that is empty throughout is no chance.
const COLUMN: usize = 4;

fn check_blanket(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_kind(&[JobKind::Inspect]) || !job.is_finished() {
        return;
    }
    for (index, limitation) in job.data().limitations.iter().enumerate() {
        let what = limitation.what.as_deref().unwrap_or_default().to_lowercase();
        let all = ["all circuits", "all testing", "all tests", "all dead tests", "every circuit", "whole installation", "everything"];
        if all.iter().any(|words| what.contains(words)) {
            let message = format!("this leaves out {what}: what is left of the report?");
            report.raise(job.place(path!["limitations", index, "what"]), message).subject(what);
        }
    }
    let circuits: Vec<_> = job.circuits().filter(|circuit| circuit.usage() != Some(Use::Spare)).collect();
    if circuits.len() < COLUMN {
        return;
    }
    let excused = |keys: &[ReadingKey]| {
        circuits.iter().all(|circuit| {
            let none_read = !keys.iter().any(|key| key.is_in(circuit.readings()));
            none_read && keys.iter().any(|key| circuit.circuit.not_taken.contains_key(key))
        })
    };
    let earth_path = [ReadingKey::Zs, ReadingKey::R1R2, ReadingKey::R2];
    let insulation = [ReadingKey::IrLiveEarth, ReadingKey::IrLiveLive];
    for (keys, words) in [(&earth_path[..], "the earth path was proved"), (&insulation[..], "insulation was tested")] {
        if excused(keys) {
            let message = format!("on none of the {} circuits {words}", circuits.len());
            let finding = report.raise(job.place(path!["circuits"]), message);
            finding.subject(keys.first().map_or("", |key| key.as_str()));
        }
    }
}

/// Words that order somebody to do something.
const ORDERS: [&str; 13] =
    ["replace", "renew", "fit", "install", "upgrade", "rewire", "remove", "provide", "repair", "tighten", "add", "rectify", "recommend"];

fn check_observations(job: JobView<'_>, report: &mut Report<'_>) {
    for (index, observation) in job.data().observations.iter().enumerate() {
        let what = observation.what.as_deref().unwrap_or_default();
        let first = what.split_whitespace().next().unwrap_or_default().to_lowercase();
        if ORDERS.contains(&first.trim_end_matches([',', ':'])) {
            let finding = report.raise(job.place(path!["observations", index, "what"]), "this says what to do; what was seen?");
            finding.subject(observation.id.clone().unwrap_or_default());
        }
    }
}

fn check_placed(job: JobView<'_>, report: &mut Report<'_>) {
    if !job.is_finished() {
        return;
    }
    for (index, observation) in job.data().observations.iter().enumerate() {
        let clause_due = observation.code != Some(Code::Fi);
        let missing =
            [("where", is_blank(&observation.place), "no place"), ("clause", clause_due && is_blank(&observation.clause), "no regulation")];
        for (key, _, words) in missing.iter().filter(|(_, missing, _)| *missing) {
            let id = observation.id.clone().unwrap_or_default();
            report.raise(job.place(path!["observations", index, *key]), format!("{words} given")).subject(id);
        }
    }
}

fn check_over_coded(job: JobView<'_>, report: &mut Report<'_>) {
    for (index, observation) in job.data().observations.iter().enumerate() {
        let Some(code @ (Code::C1 | Code::C2)) = observation.code else { continue };
        let what = observation.what.as_deref().unwrap_or_default().to_lowercase();
        let has = |words: &[&str]| words.iter().any(|word| what.contains(word));
        let board = has(&["plastic", "non-combustible", "combustible"]) && has(&["board", "consumer unit", "enclosure"]);
        let surge = has(&["surge protection", "no spd", "no surge", "surge protective"]);
        let damage =
            ["heat", "burn", "scorch", "melt", "damage", "crack", "broken", "loose", "exposed", "live", "missing", "hole", "water"];
        if (board || surge) && !has(&damage) {
            let subject = if board { "a plastic board" } else { "missing surge protection" };
            let finding = report.raise(job.place(path!["observations", index, "code"]), format!("{subject} by itself is not a {code}"));
            finding.subject(observation.id.clone().unwrap_or_default());
        }
    }
}
