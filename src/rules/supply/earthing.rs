//! The earthing system, and figures of it that look told and not read.

use crate::finding::Grade;
use crate::path;
use crate::record::{Earthing, EvPlace, OpenPen, ShownBy, SupplyBy, Use};
use crate::rules::view::{CircuitView, JobView, SiteView};
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::supply;

pub(super) const TN_S_BY_LOOK: Rule = Rule {
    id: "tn-s-by-look-only",
    family: Family::Supply,
    grade: Grade::Doubt,
    title: "A charge point rests on a TN-S earth that was only seen or labelled so",
    looks_at: "TN-S in site.md with `earthing_shown_by: seen` or `label`, where a charge point outdoors uses that earth without a measure \
               against a broken PEN conductor. Quiet with the operator's reply or a test, indoors, and with a measure or a TT earth.",
    why: "A supply that looks like TN-S is often PME farther up the street, and the vehicle's body is earthed through it.",
    sources: &["BS 7671:2018+A2:2022 722.411.4.1", "common practice: taken as PME unless the network operator confirms"],
    bad: Example::Keys(
        "sites/elm-row/site.md: {supply: {earthing: TN-S, earthing_shown_by: seen}}\ncircuits: [{id: main/1, ev: {open_pen: ~, \
         pen_statement: ~}}]",
    ),
    good: Example::Keys(
        "sites/elm-row/site.md: {supply: {earthing: TN-S, earthing_shown_by: operator-reply}}\ncircuits: [{id: main/1, ev: {open_pen: ~, \
         pen_statement: ~}}]",
    ),
    cure: "Ask the network operator and write `earthing_shown_by: operator-reply`; until then treat it as PME.",
    check: Check::Site(check_tn_s),
};

pub(super) const LOOKS_DECLARED: Rule = Rule {
    id: "ze-looks-declared",
    family: Family::Supply,
    grade: Grade::Doubt,
    title: "Ze is marked as measured and is exactly the usual declared figure",
    looks_at: "`supply.ze_ohm` with `ze_by: measured` at exactly 0.35 on TN-C-S or 0.80 on TN-S. Quiet for enquiry.",
    why: "A figure from a letter proves no earth; only a reading shows that it is connected today.",
    sources: &["common practice", "ENA Engineering Recommendation P23/1:1991 (0.35 and 0.8 ohm, typical)"],
    bad: Example::Keys(ZE_035),
    good: Example::Keys(ZE_034),
    cure: "If it was told, write `ze_by: enquiry` and measure that an earth is there; if it was read, answer this.",
    check: Check::Job(check_declared),
};

const ZE_035: &str = "
supply: {ze_ohm: 0.35, ipf_ka: 0.66}
boards: [{id: main, zdb_ohm: 0.36, ipf_ka: 0.64}]
circuits: [{id: main/1, readings: {zs_ohm: 0.48}}, {id: main/2, readings: {zs_ohm: 0.79}}]";
const ZE_034: &str = "
supply: {ze_ohm: 0.34, ipf_ka: 0.68}
boards: [{id: main, zdb_ohm: 0.35, ipf_ka: 0.66}]
circuits: [{id: main/1, readings: {zs_ohm: 0.47}}, {id: main/2, readings: {zs_ohm: 0.78}}]";

/// Whether a circuit charges vehicles outdoors on the supply's earth, with nothing against a broken PEN conductor.
fn rests_on_supply_earth(circuit: &CircuitView<'_>) -> bool {
    let ev = circuit.ev().map(|ev| ev.value);
    let outdoors = ev.is_none_or(|ev| ev.place != Some(EvPlace::Indoor));
    let bare = ev.is_none_or(|ev| matches!(ev.open_pen, None | Some(OpenPen::NotNeeded)));
    let hole = circuit.job.is_unreadable(&circuit.path().at("ev").at("open_pen"));
    circuit.usage() == Some(Use::Ev) && circuit.job.is_finished() && outdoors && bare && !hole
}

fn check_tn_s(site: &SiteView<'_>, report: &mut Report<'_>) {
    let Some(shown @ (ShownBy::Seen | ShownBy::Label)) = site.supply().and_then(|supply| supply.earthing_shown_by) else { return };
    if site.earthing() != Some(Earthing::TnS) {
        return;
    }
    let Some(last) = site.jobs().rev().find(|job| job.is_finished()) else { return };
    let Some(point) = last.installation().into_iter().find(rests_on_supply_earth) else { return };
    let how = if shown == ShownBy::Label { "a label" } else { "its look" };
    let message = format!("{} uses a TN-S earth known by {how} only: has the network operator confirmed it?", point.id());
    let finding = report.raise(site.place(path!["supply", "earthing_shown_by"]), message);
    finding
        .label("how it is known")
        .source("BS 7671:2018+A2:2022 722.411.4.1; common practice")
        .because(point.place(), "this charge point");
}

fn check_declared(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(read) = job.data().supply.as_ref().filter(|read| read.ze_by == Some(SupplyBy::Measured)) else { return };
    let earthing = job.site.earthing().filter(|earthing| matches!(earthing, Earthing::TnS | Earthing::TnCS));
    let Some((ze, usual)) = read.ze_ohm.zip(earthing.and_then(supply::usual_ze)) else { return };
    if ze.exact() != Some(usual.value) {
        return;
    }
    let message = format!("Ze {ze} ohm, marked as measured, is exactly the usual declared figure: was it read or told?");
    report.raise(job.place(path!["supply", "ze_ohm"]), message).label("read or told").source("common practice");
}
