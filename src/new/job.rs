//! A visit's record, ready to fill: which parts a visit of each kind has, and what the book knows for them.

use super::known;
use super::sheet::{Sheet, list, scalar, words};
use crate::record::{
    Code, Date, Earthing, ElectrodeBy, FaultState, How, InspectionResult, JobKind, JobSupply, JointKind, Left, LimitationKind, MadeBy,
    Outcome, PaperKind, Photographs, Polarity, Status, SupplyBy, Symptom,
};
use crate::rules::view::{CircuitView, SiteView};
use crate::tables::Edition;

/// What is asked for.
pub struct Visit<'a> {
    /// The site, with all its visits.
    pub site: &'a SiteView<'a>,
    /// What the visit is for.
    pub kind: JobKind,
    /// The day it is made.
    pub day: Date,
}

/// What a visit of one kind writes down.
struct Form {
    dates: &'static [&'static str],
    people: &'static [&'static str],
    /// Figures at the origin and at the boards are taken.
    supply: bool,
    /// Which circuits it is likely to test, so that a line a reading is worth its room.
    tests: Tests,
    parts: &'static [Part],
    paper: Option<PaperKind>,
    body: &'static str,
}

enum Tests {
    All,
    WithUnits,
    None,
}

#[derive(Clone, Copy)]
enum Part {
    Continues,
    NewCircuit,
    Units,
    Joints,
    Fault,
    Observations,
    Outcome,
    Extent,
    Limitations,
    /// What a certificate says beside the readings.
    OnCertificate,
    /// What a condition report says beside the readings.
    OnReport,
    Notices,
    FollowUps,
    NextInspection,
}

fn form(kind: JobKind) -> Form {
    use Part::*;
    match kind {
        JobKind::Survey => Form {
            dates: &["designed"],
            people: &["designed"],
            supply: true,
            tests: Tests::None,
            parts: &[Limitations, Notices, FollowUps],
            paper: None,
            body: "# What was asked for\n\n# What was seen\n",
        },
        JobKind::Install => Form {
            dates: &["designed", "installed", "tested", "energised"],
            people: &["designed", "built", "tested"],
            supply: true,
            tests: Tests::All,
            parts: &[Continues, NewCircuit, Units, Joints, Extent, OnCertificate, Notices, FollowUps, NextInspection],
            paper: Some(PaperKind::InstallationCertificate),
            body: "# What was done\n",
        },
        JobKind::Alter => Form {
            dates: &["designed", "installed", "tested", "energised"],
            people: &["designed", "built", "tested"],
            supply: true,
            tests: Tests::All,
            parts: &[Continues, Units, Joints, Extent, OnCertificate, Notices, FollowUps, NextInspection],
            paper: Some(PaperKind::MinorWorksCertificate),
            body: "# What was done\n",
        },
        JobKind::Inspect => Form {
            dates: &["tested"],
            people: &["tested"],
            supply: true,
            tests: Tests::All,
            parts: &[Units, Observations, Outcome, Extent, Limitations, OnReport, FollowUps, NextInspection],
            paper: Some(PaperKind::ConditionReport),
            body: "# What was seen\n",
        },
        JobKind::Callout => Form {
            dates: &["tested"],
            people: &["tested"],
            supply: false,
            tests: Tests::None,
            parts: &[Continues, Units, Fault, FollowUps],
            paper: Some(PaperKind::AdviceNote),
            body: "# What was reported\n\n# What was found\n\n# What was done\n",
        },
        JobKind::Swap => Form {
            dates: &["installed", "tested", "energised"],
            people: &["built", "tested"],
            supply: false,
            tests: Tests::WithUnits,
            parts: &[Continues, Units, Joints, Fault, Notices, FollowUps],
            paper: Some(PaperKind::MinorWorksCertificate),
            body: "# Why\n\n# What was done\n",
        },
    }
}

/// The record's text.
pub fn text(visit: &Visit<'_>) -> String {
    let form = form(visit.kind);
    let mut sheet = Sheet::of("job");
    sheet.filled(0, "kind", visit.kind);
    sheet.filled_with_hint(0, "status", Status::Draft, "complete when nothing is left to write, issued with its paper");
    sheet.blank(0, "title", "one line for lists");
    remarks(&mut sheet, visit);
    regulations(&mut sheet, visit.day);
    sheet.blank(0, "dates", "");
    form.dates.iter().for_each(|key| sheet.blank(2, key, ""));
    people(&mut sheet, visit, &form);
    instruments(&mut sheet, visit);
    if form.supply {
        supply(&mut sheet, visit);
    }
    sheet.blank(0, "minutes_on_site", "");
    if form.supply {
        boards(&mut sheet, visit);
    }
    circuits(&mut sheet, visit, &form);
    form.parts.iter().filter(|part| !matches!(part, Part::NewCircuit)).for_each(|part| write_part(&mut sheet, visit, *part));
    if let Some(paper) = form.paper {
        sheet.blank(0, "papers", "");
        sheet.offered(2, &format!("- {{kind: {paper}, number: , issued: , given_to: , how: , on: }}"), &words(How::ALL));
    }
    sheet.finish(form.body)
}

/// What whoever makes the visit should know before beginning.
fn remarks(sheet: &mut Sheet, visit: &Visit<'_>) {
    for id in known::half_read(visit.site, visit.day) {
        sheet.note(&format!("{id} cannot be read whole; what cannot be read in it is not shown here. `ampledger check` says why."));
    }
    let open = known::left_open(visit.site, visit.day);
    if !open.is_empty() {
        sheet.note("Left open here:");
        open.iter().for_each(|line| sheet.note(&format!("- {line}")));
    }
    if let Some(privacy) = visit.site.site().and_then(|site| site.privacy.as_ref())
        && let Some(photographs @ (Photographs::None | Photographs::RecordOnly)) = privacy.photographs
    {
        let why = privacy.why.as_deref().map(|why| format!(" ({why})")).unwrap_or_default();
        sheet.note(&format!("Photographs at this site: {photographs}{why}."));
    }
}

/// The edition in force on the day; while an older one may be cited beside it, only the designer knows which it was.
fn regulations(sheet: &mut Sheet, day: Date) {
    let in_force = Edition::in_force_on(day);
    let older: Vec<String> =
        Edition::ALL.iter().filter(|edition| **edition != in_force && edition.may_be_cited_on(day)).map(ToString::to_string).collect();
    let older = if older.is_empty() { String::new() } else { format!("; {} may still be cited", older.join(", ")) };
    sheet.filled_with_hint(0, "regulations", in_force, &format!("in force on {day}{older}"));
}

/// The one person of a one-person book is known; of several, only the owner can say who it was.
fn people(sheet: &mut Sheet, visit: &Visit<'_>, form: &Form) {
    let ids: Vec<&str> = visit.site.book.settings.data.people.iter().filter_map(|person| person.id.as_deref()).collect();
    sheet.blank(0, "people", "");
    for key in form.people {
        match ids.as_slice() {
            [only] => sheet.filled(2, key, scalar(only)),
            several => sheet.blank(2, key, &several.join(" | ")),
        }
    }
}

/// Every instrument in use on the day, to be struck out where it was not used.
fn instruments(sheet: &mut Sheet, visit: &Visit<'_>) {
    let in_use = visit.site.book.instruments.values().filter(|record| !record.lost);
    let in_use: Vec<_> = in_use.filter(|record| record.data.retired.is_none_or(|retired| retired > visit.day)).collect();
    if in_use.is_empty() {
        sheet.blank(0, "instruments", "ids of the files in instruments/");
        return;
    }
    let run_out = in_use.iter().filter_map(|record| {
        let due = record.data.calibrations.iter().filter_map(|calibration| calibration.due).max()?;
        (due < visit.day).then(|| format!("{} since {due}", record.id))
    });
    let run_out: Vec<String> = run_out.collect();
    let run_out = if run_out.is_empty() { String::new() } else { format!("; out of calibration: {}", run_out.join(", ")) };
    let ids = list(in_use.iter().map(|record| record.id.as_str()));
    sheet.filled_with_hint(0, "instruments", ids, &format!("strike out what was not used{run_out}"));
}

fn supply(sheet: &mut Sheet, visit: &Visit<'_>) {
    let (site, day) = (visit.site, visit.day);
    let last = |of: fn(&JobSupply) -> Option<String>| known::at_origin(site, day, of).map(|earlier| earlier.hint()).unwrap_or_default();
    let declared = site.supply().and_then(|supply| supply.declared.as_ref());
    let with_declared = |last: String, declared: Option<crate::record::Num>, unit: &str| match (last.is_empty(), declared) {
        (_, None) => last,
        (true, Some(figure)) => format!("declared: at most {figure} {unit}"),
        (false, Some(figure)) => format!("{last}; declared: at most {figure} {unit}"),
    };
    sheet.blank(0, "supply", "");
    let ze = last(|supply| Some(supply.ze_ohm?.to_string()));
    sheet.blank(2, "ze_ohm", &with_declared(ze, declared.and_then(|declared| declared.ze_ohm), "ohm"));
    sheet.blank(2, "ze_by", &words(SupplyBy::ALL));
    let ipf = last(|supply| Some(supply.ipf_ka?.to_string()));
    sheet.blank(2, "ipf_ka", &with_declared(ipf, declared.and_then(|declared| declared.ipf_ka), "kA"));
    sheet.blank(2, "ipf_by", &words(SupplyBy::ALL));
    sheet.blank(2, "max_demand_a", &last(|supply| Some(supply.max_demand_a?.to_string())));
    sheet.blank(2, "polarity", &words(Polarity::ALL));
    if site.earthing() == Some(Earthing::Tt) {
        sheet.blank(2, "electrode_ohm", &last(|supply| Some(supply.electrode_ohm?.to_string())));
        sheet.blank(2, "electrode_by", &words(ElectrodeBy::ALL));
    }
}

fn boards(sheet: &mut Sheet, visit: &Visit<'_>) {
    let ids: Vec<&str> = visit.site.site().map_or(&[][..], |site| &site.boards).iter().filter_map(|board| board.id.as_deref()).collect();
    if ids.is_empty() {
        return;
    }
    sheet.blank(0, "boards", "");
    for id in ids {
        let last = |of| known::at_board(visit.site, visit.day, id, of).map(|earlier| earlier.hint()).unwrap_or_default();
        sheet.offered(2, &format!("- id: {}", scalar(id)), "");
        sheet.offered(4, "zdb_ohm:", &last(|reading| Some(reading.zdb_ohm?.to_string())));
        sheet.offered(4, "ipf_ka:", &last(|reading| Some(reading.ipf_ka?.to_string())));
    }
}

fn circuits(sheet: &mut Sheet, visit: &Visit<'_>, form: &Form) {
    let known = known::circuits(visit.site, visit.day);
    sheet.blank(0, "circuits", "");
    if !known.is_empty() {
        sheet
            .note("What earlier visits say. Take the # off the lines of each circuit that this visit touches, and write what is read now.");
    }
    let units = known::units(visit.site, visit.day);
    for circuit in known {
        let line_each = match form.tests {
            Tests::All => true,
            Tests::WithUnits => units.iter().any(|unit| unit.circuit == Some(circuit.id())),
            Tests::None => false,
        };
        known_circuit(sheet, circuit, line_each);
    }
    if form.parts.iter().any(|part| matches!(part, Part::NewCircuit)) {
        new_circuit(sheet);
    }
}

fn known_circuit(sheet: &mut Sheet, circuit: CircuitView<'_>, line_each: bool) {
    sheet.offered(2, &format!("- id: {}", scalar(circuit.id())), &known::nature(circuit));
    let readings = known::readings(circuit);
    if readings.is_empty() {
        return;
    }
    if line_each {
        sheet.offered(4, "readings:", "");
        for (key, earlier) in readings {
            sheet.offered(6, &format!("{key}:"), &earlier.hint());
        }
        return;
    }
    // One line a day, in the order in which the days come up.
    let mut by_day: Vec<(String, Vec<String>)> = Vec::new();
    for (key, earlier) in readings {
        let reading = format!("{key} {}", earlier.value);
        match by_day.iter_mut().find(|(when, _)| *when == earlier.when) {
            Some((_, readings)) => readings.push(reading),
            None => by_day.push((earlier.when, vec![reading])),
        }
    }
    for (when, readings) in by_day {
        sheet.offered(4, &format!("# {when}: {}", readings.join(", ")), "");
    }
}

fn new_circuit(sheet: &mut Sheet) {
    sheet.note("A new circuit:");
    for (indent, line) in [
        (2, "- id:"),
        (4, "serves:"),
        (4, "use:"),
        (4, "new: true"),
        (4, "design_a:"),
        (4, "ocpd: {standard: , curve: , rating_a: , breaking_ka: , poles: }"),
        (4, "rcd: {standard: , type: , trip_ma: , device: }"),
        (4, "cable: {make_up: , cores: , line_mm2: , cpc_mm2: , cpc: , length_m: , length_by: , method: }"),
        (4, "readings:"),
        (6, "r1_r2_ohm:"),
        (6, "ir_test_v:"),
        (6, "ir_live_live_mohm:"),
        (6, "ir_live_earth_mohm:"),
        (6, "polarity:"),
        (6, "zs_ohm:"),
        (6, "zs_by:"),
        (6, "rcd_ms:"),
        (6, "rcd_button:"),
    ] {
        let hint = match line {
            "- id:" => "<board>/<way>",
            "use:" => &words(crate::record::Use::ALL),
            _ => "",
        };
        sheet.offered(indent, line, hint);
    }
}

fn write_part(sheet: &mut Sheet, visit: &Visit<'_>, part: Part) {
    match part {
        Part::NewCircuit => {}
        Part::Continues => {
            let last = known::visits(visit.site, visit.day).next();
            if let Some(last) = last {
                sheet.blank(0, "continues", &format!("the visit that this one follows; the last was {}", last.id()));
            }
        }
        Part::Units => units(sheet, visit),
        Part::Joints => {
            sheet.blank(0, "joints", "");
            let line = "- {where: , circuit: , kind: , made_by: , access: , conductor: , torque_nm: }";
            sheet.offered(2, line, &format!("kind: {}; made_by: {}", words(JointKind::ALL), words(MadeBy::ALL)));
        }
        Part::Fault => {
            sheet.blank(0, "faults", "");
            for (indent, line, hint) in [
                (2, "- id: f1", String::new()),
                (4, "reported:", String::new()),
                (4, "symptom:", words(Symptom::ALL)),
                (4, "found:", String::new()),
                (4, "believed:", String::new()),
                (4, "circuit:", String::new()),
                (4, "code:", words(Code::ALL)),
                (4, "state:", words(FaultState::ALL)),
                (4, "left:", words(Left::ALL)),
                (4, "made_safe: {how: , notice: , told: , on: }", String::new()),
                (4, "advice: {words: , how: , on: , acknowledged: }", String::new()),
                (4, "return_by:", "or watch_until".to_owned()),
            ] {
                sheet.offered(indent, line, &hint);
            }
        }
        Part::Observations => {
            sheet.blank(0, "observations", "");
            sheet.offered(2, "- {id: o1, code: , what: , where: , clause: , due: }", &words(Code::ALL));
        }
        Part::Outcome => sheet.blank(0, "outcome", &words(Outcome::ALL)),
        Part::Extent => sheet.blank(0, "extent", "what it covered"),
        Part::Limitations => {
            sheet.blank(0, "limitations", "");
            sheet.offered(2, "- {what: , why: , kind: , agreed_with: , on: }", &words(LimitationKind::ALL));
        }
        Part::OnCertificate => {
            sheet.blank(0, "departures", "none, or what departs from BS 7671, why, and where the risk assessment is");
            sheet.blank(0, "existing", "what was seen of the existing installation");
            inspected(sheet);
        }
        Part::OnReport => {
            sheet.blank(0, "reason", "why the report was asked for");
            sheet.blank(0, "records_seen", "none, or the earlier papers that were shown");
            inspected(sheet);
        }
        Part::Notices => {
            sheet.blank(0, "notices", "");
            sheet.offered(2, "- {to: , sent: , ref: }", &words(crate::record::NoticeTo::ALL));
        }
        Part::FollowUps => {
            sheet.blank(0, "follow_ups", "");
            sheet.offered(2, "- {what: , with: , due: }", "");
        }
        Part::NextInspection => {
            let last = known::latest(visit.site, visit.day, |job| Some(job.next_inspection?.to_string()));
            let last = last.map(|earlier| format!("{} was set on {}", earlier.value, earlier.when)).unwrap_or_default();
            sheet.blank(0, "next_inspection", &last);
        }
    }
}

fn inspected(sheet: &mut Sheet) {
    sheet.blank(0, "vulnerable", "none, or what a test could harm");
    sheet.blank(0, "inspected", "what was looked at");
    sheet.offered(2, "- {what: , result: , note: }", &words(InspectionResult::ALL));
}

fn units(sheet: &mut Sheet, visit: &Visit<'_>) {
    sheet.blank(0, "units", "");
    let standing = known::units(visit.site, visit.day);
    let event = if visit.kind == JobKind::Swap { "removed" } else { "seen" };
    for unit in standing {
        let model = unit.model.map(|model| format!(", model: {}", scalar(model))).unwrap_or_default();
        let circuit = unit.circuit.map(|circuit| format!(", circuit: {}", scalar(circuit))).unwrap_or_default();
        sheet.offered(2, &format!("- {{event: {event}, serial: {}{model}{circuit}}}", scalar(unit.serial)), &unit.last);
    }
    if matches!(visit.kind, JobKind::Swap | JobKind::Install | JobKind::Alter) {
        sheet.offered(2, "- {event: fitted, serial: , model: , circuit: , firmware: , warranty_until: , supplied_by: }", "");
    }
}
