//! RCDs on farms: every circuit has one.

use super::{has_last_word, raise_at_rcd};
use crate::finding::Grade;
use crate::record::{Premises, Use};
use crate::rules::view::CircuitView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::{Edition, rcd};

pub(super) const WRONG_FOR_A_FARM: Rule = Rule {
    id: "rcd-wrong-for-a-farm",
    family: Family::Rcds,
    grade: Grade::Doubt,
    title: "A circuit on a farm has no RCD, or one that opens on too much",
    looks_at: "`premises: farm`: the RCD of each circuit and those upstream, of which one has to be of 30 mA or less for socket-outlets up to \
               32 A, 100 mA for larger ones, 300 mA for every other circuit. A breach for new work to BS 7671:2008+A3:2015, whose text was \
               seen; a question for other editions and for older installations. Quiet where an RCD's rating is not recorded, before the \
               17th Edition, and where rcd-over-30-ma tells of the same device.",
    why: "Animals feel less voltage than people do and stand on wet ground, and dust and straw burn.",
    sources: &["BS 7671:2008+A3:2015 705.411.1 (other editions from memory)"],
    bad: Example::Keys(
        "sites/elm-row/site.md: {premises: farm}\nnext_inspection: 2029-11-01\ncircuits: [{id: main/2, ocpd: {standard: BS EN 60898}, rcd: \
         {trip_ma: 500}}]",
    ),
    good: Example::Keys(
        "sites/elm-row/site.md: {premises: farm}\nnext_inspection: 2029-11-01\ncircuits: [{id: main/2, ocpd: {standard: BS EN 60898}, rcd: \
         {trip_ma: 300}}]",
    ),
    cure: "Look in the edition you work to; fit the RCD, or answer with why the section does not apply: a farmhouse's own rooms, a supply for \
           life support of animals.",
    check: Check::Circuit(check_farm),
};

fn check_farm(circuit: CircuitView<'_>, report: &mut Report<'_>) {
    let is_farm = circuit.site().site().is_some_and(|site| site.premises == Some(Premises::Farm));
    if !is_farm || !has_last_word(circuit) || matches!(circuit.usage(), None | Some(Use::Spare)) {
        return;
    }
    let Some(edition) = circuit.job.edition() else { return };
    let rating = circuit.ocpd().and_then(|ocpd| ocpd.value.rating_a).map(|rating| *rating);
    let sockets = matches!(circuit.usage(), Some(Use::Ring | Use::Sockets)).then_some(rating);
    let Some(most) = rcd::on_a_farm(sockets, edition) else { return };
    let chain: Vec<CircuitView<'_>> = std::iter::once(circuit).chain(circuit.upstream()).collect();
    let devices = || chain.iter().filter_map(CircuitView::rcd);
    // One whose rating nobody wrote down may be the one.
    if devices().any(|device| device.value.trip_ma.is_none()) || chain.iter().any(|link| link.job.is_unreadable(&link.path().at("rcd"))) {
        return;
    }
    let lowest = devices().filter_map(|device| device.value.trip_ma).map(|trip| *trip).min_by(f64::total_cmp);
    if lowest.is_some_and(|trip| trip <= most.value) {
        return;
    }
    let what = if sockets.is_some() { "socket-outlet circuit" } else { "circuit" };
    let asks = !circuit.is_new() || most.is_memory();
    let (grade, ends) = if asks { (Grade::Doubt, " Is there another?") } else { (Grade::Breach, "") };
    let finding = match (circuit.rcd(), lowest) {
        // That the device is over 30 mA is told already.
        (Some(_), Some(_)) if sockets.is_some_and(|_| most.value <= 30.0) && edition >= Edition::Y2018 => return,
        (Some(rcd), Some(lowest)) => {
            let message = format!("{lowest} mA on a farm: a {what} is to have an RCD of {most} or less.{ends}");
            raise_at_rcd(circuit, rcd, "trip_ma", message, report)
        }
        (_, Some(lowest)) => {
            let message = format!("{lowest} mA upstream, on a farm: a {what} is to have an RCD of {most} or less.{ends}");
            report.raise(circuit.place_of("rcd"), message)
        }
        (_, None) => {
            let message = format!("no RCD is recorded, on a farm: a {what} is to have one of {most} or less.{ends}");
            report.raise(circuit.place_of("rcd"), message)
        }
    };
    finding.grade(grade).source(most.source);
}
