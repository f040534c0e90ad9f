//! Fault current and loop impedance that cannot both be right.

use crate::finding::Grade;
use crate::path;
use crate::record::{Earthing, JobSupply, Reading, SupplyBy};
use crate::rules::view::JobView;
use crate::rules::{Check, Example, Family, Report, Rule};
use crate::tables::supply;
use crate::wiring::fault;

pub(super) const DOES_NOT_FIT: Rule = Rule {
    id: "ipf-does-not-fit-ze",
    family: Family::Supply,
    grade: Grade::Doubt,
    title: "The prospective fault current does not fit the loop at the origin",
    looks_at: "`ipf_ka` over what a public supply can give, on any earthing; on TN-C-S also against 230 V over a measured `ze_ohm`, \
               outside 0.7 to 1.5 times it (on three phases twice that is expected). Quiet where one of the two was told by enquiry, and \
               for the arithmetic on TN-S and TT, where the short-circuit loop is another one.",
    why: "One of the two was misread, or amperes stand in a field of kA; the devices are judged by it.",
    sources: &["common practice (0.7 to 1.5)", "ENA Engineering Recommendation P25/2:2018 (16 kA; 19.6 kA on the main)"],
    bad: Example::Keys("supply: {ipf_ka: 0.66}\nboards: [{id: main, ipf_ka: 0.65}]"),
    good: Example::Keys("supply: {ipf_ka: 0.95}\nboards: [{id: main, ipf_ka: 0.94}]"),
    cure: "Read both again at the origin, line to neutral and line to earth, and write the higher current in kA.",
    check: Check::Job(check_fit),
};

pub(super) const BOARD_BEYOND_ORIGIN: Rule = Rule {
    id: "board-beyond-origin",
    family: Family::Supply,
    grade: Grade::Doubt,
    title: "A board reads better than the origin that feeds it",
    looks_at: "`boards[].ipf_ka` over `supply.ipf_ka`, and on TN `zdb_ohm` under a measured `ze_ohm`, both at one visit and by more than \
               instruments scatter (10 % and 0.03 ohm or 0.1 kA). Quiet on TT for the loop, and where the figure at the origin was told.",
    why: "Conductors only add impedance. The two were exchanged, or were not read on the same supply.",
    sources: &["common practice (scatter)", "plain physics: impedances in series add"],
    bad: Example::Keys("boards: [{id: main, ipf_ka: 1.9}]"),
    good: Example::Keys("boards: [{id: main, ipf_ka: 1.25}]"),
    cure: "Read both again. A loop made lower by bonded metalwork is no fault: answer with that.",
    check: Check::Job(check_boards),
};

/// Screening band of Ipf over U/Z. Common practice.
const BAND: (f64, f64) = (0.7, 1.5);

/// The currents, kA, between which a loop read to its last digit lies, one digit either way; the upper is infinite near zero.
fn expected_ka(ze: &Reading, conductors: f64) -> Option<(f64, f64)> {
    let z = ze.exact()?;
    let u0 = supply::nominal_v(1)?.value;
    let digit = 0.1_f64.powi(i32::from(ze.decimals).clamp(1, 2));
    let at = |ohm: f64| fault::fault_current(u0, 1.0, ohm).map(|amperes| conductors * amperes / 1000.0);
    Some((at(z + digit).ok()?, at(z - digit).unwrap_or(f64::INFINITY)))
}

fn is_told(by: Option<SupplyBy>) -> bool {
    by == Some(SupplyBy::Enquiry)
}

fn check_fit(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(read) = job.data().supply.as_ref() else { return };
    let Some(ipf) = read.ipf_ka.filter(|_| !is_told(read.ipf_by)) else { return };
    let place = job.place(path!["supply", "ipf_ka"]);
    if let Some(most) = supply::max_fault_at_main_ka().filter(|most| ipf.surely_over(most.value)) {
        let message = format!("Ipf {ipf} kA is over the {most} that a supply up to 100 A can give: is it in amperes?");
        report.raise(place, message).label("kA").source(most.source).help("1100 A is written 1.1 in a field of kA.");
        return;
    }
    check_ratio(job, read, ipf, report);
}

fn check_ratio(job: JobView<'_>, read: &JobSupply, ipf: Reading, report: &mut Report<'_>) {
    let nominal = job.site.supply().and_then(|supply| supply.nominal_v);
    let measured = job.site.earthing() == Some(Earthing::TnCS) && read.ze_by == Some(SupplyBy::Measured);
    if !measured || nominal.is_some_and(|volts| *volts != 230.0) {
        return;
    }
    let three = job.site.phases() == 3;
    let Some((ze, ka)) = read.ze_ohm.zip(ipf.exact()) else { return };
    let Some((low, high)) = expected_ka(&ze, if three { 2.0 } else { 1.0 }) else { return };
    if ka >= low * BAND.0 && ka <= high * BAND.1 {
        return;
    }
    let Some(plain) = ze.exact().and_then(|z| fault::fault_current(230.0, 1.0, z).ok()).map(|amperes| amperes / 1000.0) else { return };
    let message = match three {
        true => format!("Ipf {ipf} kA; 230 V over Ze {ze} ohm is {plain:.2} kA, and on three phases about twice that: which is right?"),
        false => format!("Ipf {ipf} kA; 230 V over Ze {ze} ohm is {plain:.2} kA: which of the two is right?"),
    };
    let finding = report.raise(job.place(path!["supply", "ipf_ka"]), message);
    finding.label("does not fit").source("common practice (0.7 to 1.5 times U/Z)");
    finding.because(job.place(path!["supply", "ze_ohm"]), "this loop");
}

/// How far two readings of one thing lie apart without a cause: a share, and a least difference in ohm and kA. Common practice.
const SCATTER: f64 = 0.1;
const SCATTER_OHM: f64 = 0.03;
const SCATTER_KA: f64 = 0.1;

fn check_boards(job: JobView<'_>, report: &mut Report<'_>) {
    let Some(origin) = job.data().supply.as_ref() else { return };
    let ipf_at_origin = origin.ipf_ka.filter(|_| !is_told(origin.ipf_by)).and_then(|reading| Some((reading, reading.exact()?)));
    let is_tn = matches!(job.site.earthing(), Some(Earthing::TnS | Earthing::TnCS));
    let ze =
        origin.ze_ohm.filter(|_| is_tn && origin.ze_by == Some(SupplyBy::Measured)).and_then(|reading| Some((reading, reading.exact()?)));
    for (index, board) in job.data().boards.iter().enumerate() {
        let id = board.id.as_deref().unwrap_or_default();
        if let Some((board, (read, ka))) = board.ipf_ka.zip(ipf_at_origin)
            && board.surely_over((ka * (1.0 + SCATTER)).max(ka + SCATTER_KA))
        {
            let message = format!("Ipf {board} kA at {id} is more than the {read} kA at the origin that feeds it: were they exchanged?");
            let finding = report.raise(job.place(path!["boards", index, "ipf_ka"]), message);
            finding.subject(id).label("at the board").source("common practice");
            finding.because(job.place(path!["supply", "ipf_ka"]), "at the origin");
        }
        if let Some((board, (read, ohm))) = board.zdb_ohm.zip(ze)
            && board.surely_under((ohm * (1.0 - SCATTER)).min(ohm - SCATTER_OHM))
        {
            let message = format!("Zdb {board} ohm at {id} is less than Ze {read} ohm: exchanged, or is other metalwork in parallel?");
            let finding = report.raise(job.place(path!["boards", index, "zdb_ohm"]), message);
            finding.subject(id).label("at the board").source("common practice");
            finding.because(job.place(path!["supply", "ze_ohm"]), "at the origin");
        }
    }
}
