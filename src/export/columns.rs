//! Every table and every column: its name, what it holds, what it means and where it comes from, in one place.

use super::rows::{
    InstrumentEvent, Item, day, events_of_instruments, flag, from, holes, items, joined, number, scale, text, value, whole, word,
};
use super::{Cell, Column, Kind, Rows, Table};
use crate::book::{FieldPath, Record};
use crate::record::{Fault, FollowUp, Instrument, Joint, Notice, Observation, Paper, Unit};
use crate::rules::view::{CircuitView, JobView, SiteView};

/// Declares a table: what its rows are made of, its columns, and the row that they make of one thing.
macro_rules! table {
    ($name:literal, $about:literal, $source:ident, $of:ty, |$from:ident| $things:expr,
     $($column:literal $kind:ident $meaning:literal = $get:expr;)+) => {
        Table {
            name: $name,
            about: $about,
            columns: vec![$(Column { name: $column, kind: Kind::$kind, about: $meaning }),+],
            rows: Rows::$source(|$from| {
                fn row(thing: &$of) -> Vec<Cell> {
                    let columns: &[fn(&$of) -> Cell] = &[$($get),+];
                    columns.iter().map(|get| get(thing)).collect()
                }
                $things.map(|thing| row(std::borrow::Borrow::<$of>::borrow(&thing))).collect()
            }),
        }
    };
}

/// Every table, in the order in which they are written.
pub fn tables() -> Vec<Table> {
    vec![
        sites(),
        visits(),
        visit_instruments(),
        circuits(),
        units(),
        joints(),
        faults(),
        observations(),
        notices(),
        papers(),
        follow_ups(),
        instruments(),
        instrument_events(),
        columns(),
    ]
}

/// The columns of all other tables, each with its table.
fn told_of() -> Vec<(&'static str, Column)> {
    let of = |table: Table| table.columns.into_iter().map(move |column| (table.name, column));
    tables().into_iter().filter(|table| table.name != "columns").flat_map(of).collect()
}

/// The table that tells what the others hold.
fn columns() -> Table {
    table! { "columns", "One column of one table", OfBook, (&'static str, Column), |_book| told_of().into_iter(),
        "table_name" Text "The table" = |c| word(Some(c.0));
        "column_name" Text "The column" = |c| word(Some(c.1.name));
        "holds" Text "What it holds" = |c| word(Some(c.1.kind.as_str()));
        "about" Text "What it means" = |c| word(Some(c.1.about));
    }
}

fn sites() -> Table {
    table! { "sites", "One site", OfSite, SiteView<'_>, |site| std::iter::once(site),
        "site" Text "Key: the site" = |s| word(Some(s.id()));
        "name" Text "What the place is called" = |s| text(s.site().and_then(|site| site.name.as_ref()));
        "premises" Text "What it is used for" = |s| word(s.site().and_then(|site| site.premises));
        "nation" Text "The nation whose law applies" = |s| word(s.nation());
        "keep_until" Day "When the record may go" = |s| day(s.site().and_then(|site| site.keep_until));
        "share" Text "How much may be handed to others" = |s| word(s.site().and_then(|site| site.privacy.as_ref()?.share));
        "earthing" Text "Type of earthing system" = |s| word(s.earthing());
        "earthing_shown_by" Text "How it is known" = |s| word(s.supply().and_then(|supply| supply.earthing_shown_by));
        "phases" Whole "Number of phases, where written" = |s| whole(s.supply().and_then(|supply| supply.phases));
        "nominal_v" Number "Nominal voltage to earth, V, where written" = |s| number(s.supply().and_then(|supply| supply.nominal_v));
        "cutout_standard" Text "Standard of the cut-out fuse" = |s| text(s.supply().and_then(|supply| supply.cutout.as_ref()?.standard.as_ref()));
        "cutout_a" Number "Rating of the cut-out fuse, A" = |s| number(s.supply().and_then(|supply| supply.cutout.as_ref()?.rating_a));
        "cutout_shown_by" Text "How the rating is known" = |s| word(s.supply().and_then(|supply| supply.cutout.as_ref()?.shown_by));
        "service" Text "Separate or looped service" = |s| word(s.supply().and_then(|supply| supply.service));
        "declared_ze_ohm" Number "Highest Ze declared by the network operator, ohm" = |s| number(s.supply().and_then(|supply| supply.declared.as_ref()?.ze_ohm));
        "declared_ipf_ka" Number "Highest fault current declared, kA" = |s| number(s.supply().and_then(|supply| supply.declared.as_ref()?.ipf_ka));
        "visits" Whole "Visits on record" = |s| Cell::Whole(s.jobs().count() as u32);
        "unreadable" Text "Values that stand in site.md and could not be read, as JSON Pointers; / is all of it" = |s| s.records.site.as_ref().map_or(Cell::Empty, |site| holes(&site.unreadable, &FieldPath::root()));
    }
}

fn visits() -> Table {
    table! { "visits", "One visit", OfSite, JobView<'_>, |site| site.jobs(),
        "site" Text "Key: the site" = |j| word(Some(j.site.id()));
        "visit" Text "Key: the visit" = |j| word(Some(j.id()));
        "date" Day "Day of the visit: of its tests, or of its file name" = |j| day(j.day());
        "kind" Text "What the visit was for" = |j| word(j.data().kind);
        "status" Text "How far the record has come" = |j| word(j.data().status);
        "title" Text "One line for lists" = |j| text(j.data().title.as_ref());
        "regulations" Text "Edition worked to" = |j| text(j.data().regulations.as_ref());
        "designed" Day "Design made" = |j| day(j.data().dates.designed);
        "installed" Day "Work installed" = |j| day(j.data().dates.installed);
        "tested" Day "Tests made" = |j| day(j.data().dates.tested);
        "energised" Day "Work put into use" = |j| day(j.data().dates.energised);
        "designed_by" Text "Who designed, by id" = |j| text(j.data().people.designed.as_ref());
        "built_by" Text "Who constructed, by id" = |j| text(j.data().people.built.as_ref());
        "tested_by" Text "Who inspected and tested, by id" = |j| text(j.data().people.tested.as_ref());
        "minutes_on_site" Whole "Time on site, minutes" = |j| whole(j.data().minutes_on_site);
        "ze_ohm" Number "External loop impedance, ohm" = |j| value(j.data().supply.as_ref().and_then(|supply| supply.ze_ohm));
        "ze_ohm_scale" Text "Whether ze_ohm is on the scale, or the true value above or below the figure" = |j| scale(j.data().supply.as_ref().and_then(|supply| supply.ze_ohm));
        "ze_by" Text "How Ze was obtained" = |j| word(j.data().supply.as_ref().and_then(|supply| supply.ze_by));
        "ipf_ka" Number "Fault current at the origin, kA" = |j| value(j.data().supply.as_ref().and_then(|supply| supply.ipf_ka));
        "ipf_ka_scale" Text "Whether ipf_ka is on the scale, or the true value above or below the figure" = |j| scale(j.data().supply.as_ref().and_then(|supply| supply.ipf_ka));
        "ipf_by" Text "How it was obtained" = |j| word(j.data().supply.as_ref().and_then(|supply| supply.ipf_by));
        "max_demand_a" Number "Maximum demand, A a phase" = |j| number(j.data().supply.as_ref().and_then(|supply| supply.max_demand_a));
        "electrode_ohm" Number "Earth electrode alone, ohm" = |j| value(j.data().supply.as_ref().and_then(|supply| supply.electrode_ohm));
        "electrode_ohm_scale" Text "Whether electrode_ohm is on the scale, or the true value above or below the figure" = |j| scale(j.data().supply.as_ref().and_then(|supply| supply.electrode_ohm));
        "electrode_by" Text "How it was measured" = |j| word(j.data().supply.as_ref().and_then(|supply| supply.electrode_by));
        "supply_v" Number "Supply voltage on the day, V" = |j| value(j.data().supply.as_ref().and_then(|supply| supply.supply_v));
        "supply_v_scale" Text "Whether supply_v is on the scale, or the true value above or below the figure" = |j| scale(j.data().supply.as_ref().and_then(|supply| supply.supply_v));
        "outcome" Text "Outcome of a condition report" = |j| word(j.data().outcome);
        "next_inspection" Day "Next inspection recommended or set" = |j| day(j.data().next_inspection);
        "continues" Text "The earlier visit that this one follows" = |j| text(j.data().continues.as_ref());
        "file" Text "The record" = |j| word(Some(&j.record.source.path));
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers; / is all of it" = |j| holes(&j.record.unreadable, &FieldPath::root());
    }
}

fn visit_instruments() -> Table {
    table! { "visit_instruments", "One instrument used at one visit", OfSite, Item<'_, String>, |site| items(site, "instruments", |job| &job.data().instruments).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "instrument" Text "Key: the instrument" = |i| text(Some(i.says));
    }
}

fn circuits() -> Table {
    table! { "circuits", "One circuit at one visit; what the visit does not say is inherited from the visit that said it last, as its _from column tells", OfSite, CircuitView<'_>, |site| site.jobs().flat_map(|job| job.circuits()),
        "site" Text "Key: the site" = |c| word(Some(c.site().id()));
        "visit" Text "Key: the visit" = |c| word(Some(c.job.id()));
        "circuit" Text "Key: the circuit, the same for life" = |c| text(c.circuit.id.as_ref());
        "date" Day "Day of the visit" = |c| day(c.job.day());
        "serves" Text "What it serves, where this visit says so" = |c| text(c.circuit.serves.as_ref());
        "is_new" Flag "This visit installed it" = |c| flag(c.circuit.new);
        "fed_from" Text "The circuit that feeds its board; empty at the origin" = |c| word(c.fed_from().map(|feeder| feeder.id()));
        "use" Text "What it is used for" = |c| word(c.usage());
        "use_from" Text "The visit that recorded use: this one, or the earlier one it is inherited from" = |c| from(c, c.usage_known());
        "design_a" Number "Design current, A" = |c| number(c.design_a().map(|known| *known.value));
        "design_a_from" Text "The visit that recorded design_a: this one, or the earlier one it is inherited from" = |c| from(c, c.design_a());
        "ocpd_standard" Text "Standard of the overcurrent device" = |c| text(c.ocpd().and_then(|known| known.value.standard.as_ref()));
        "ocpd_curve" Text "Its tripping curve" = |c| text(c.ocpd().and_then(|known| known.value.curve.as_ref()));
        "ocpd_a" Number "Its rating, A" = |c| number(c.ocpd().and_then(|known| known.value.rating_a));
        "ocpd_breaking_ka" Number "Its breaking capacity, kA" = |c| number(c.ocpd().and_then(|known| known.value.breaking_ka));
        "ocpd_poles" Whole "Poles opened" = |c| whole(c.ocpd().and_then(|known| known.value.poles));
        "ocpd_from" Text "The visit that recorded ocpd: this one, or the earlier one it is inherited from" = |c| from(c, c.ocpd());
        "rcd_standard" Text "Standard of the RCD" = |c| text(c.rcd().and_then(|known| known.value.standard.as_ref()));
        "rcd_type" Text "Its type" = |c| word(c.rcd().and_then(|known| known.value.kind));
        "rcd_trip_ma" Number "Its rated residual current, mA" = |c| number(c.rcd().and_then(|known| known.value.trip_ma));
        "rcd_delayed" Flag "Time-delayed" = |c| flag(c.rcd().and_then(|known| known.value.delayed));
        "rcd_device" Text "Which physical device" = |c| text(c.rcd().and_then(|known| known.value.device.as_ref()));
        "rcd_gives_fault_protection" Flag "It gives the fault protection" = |c| flag(c.rcd().and_then(|known| known.value.gives_fault_protection));
        "rcd_from" Text "The visit that recorded rcd: this one, or the earlier one it is inherited from" = |c| from(c, c.rcd());
        "cable_make_up" Text "Construction of the cable" = |c| word(c.cable().and_then(|known| known.value.make_up));
        "cable_cores" Whole "Cores" = |c| whole(c.cable().and_then(|known| known.value.cores));
        "cable_line_mm2" Number "Line conductor, mm2" = |c| number(c.cable().and_then(|known| known.value.line_mm2));
        "cable_cpc_mm2" Number "Protective conductor, mm2" = |c| number(c.cable().and_then(|known| known.value.cpc_mm2));
        "cable_cpc" Text "What serves as protective conductor" = |c| word(c.cable().and_then(|known| known.value.cpc));
        "cable_length_m" Number "Length, m; of a ring, once round" = |c| number(c.cable().and_then(|known| known.value.length_m));
        "cable_length_by" Text "How the length is known" = |c| word(c.cable().and_then(|known| known.value.length_by));
        "cable_method" Text "Reference method" = |c| text(c.cable().and_then(|known| known.value.method.as_ref()));
        "cable_from" Text "The visit that recorded cable: this one, or the earlier one it is inherited from" = |c| from(c, c.cable());
        "ev_mode" Whole "Charging mode" = |c| whole(c.ev().and_then(|known| known.value.mode));
        "ev_unit" Text "Serial of the charge point" = |c| text(c.ev().and_then(|known| known.value.unit.as_ref()));
        "ev_set_a" Number "Current it is set to, A" = |c| number(c.ev().and_then(|known| known.value.set_a));
        "ev_place" Text "Outdoors or indoors" = |c| word(c.ev().and_then(|known| known.value.place));
        "ev_open_pen" Text "Measure against a broken PEN conductor" = |c| word(c.ev().and_then(|known| known.value.open_pen));
        "ev_dc_detection" Text "Where d.c. fault current is detected" = |c| word(c.ev().and_then(|known| known.value.dc_detection));
        "ev_load_limit_a" Number "Current the whole supply is held to, A" = |c| number(c.ev().and_then(|known| known.value.load_limit.as_ref()?.limit_a));
        "ev_from" Text "The visit that recorded ev: this one, or the earlier one it is inherited from" = |c| from(c, c.ev());
        "r1_r2_ohm" Number "R1+R2, ohm" = |c| value(c.readings().r1_r2_ohm);
        "r1_r2_ohm_scale" Text "Whether r1_r2_ohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().r1_r2_ohm);
        "r2_ohm" Number "R2, ohm" = |c| value(c.readings().r2_ohm);
        "r2_ohm_scale" Text "Whether r2_ohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().r2_ohm);
        "ring_r1_ohm" Number "Ring line conductor end to end, ohm" = |c| value(c.readings().ring_r1_ohm);
        "ring_r1_ohm_scale" Text "Whether ring_r1_ohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().ring_r1_ohm);
        "ring_rn_ohm" Number "Ring neutral conductor end to end, ohm" = |c| value(c.readings().ring_rn_ohm);
        "ring_rn_ohm_scale" Text "Whether ring_rn_ohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().ring_rn_ohm);
        "ring_r2_ohm" Number "Ring protective conductor end to end, ohm" = |c| value(c.readings().ring_r2_ohm);
        "ring_r2_ohm_scale" Text "Whether ring_r2_ohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().ring_r2_ohm);
        "ir_test_v" Number "Insulation test voltage, V" = |c| number(c.readings().ir_test_v);
        "ir_live_live_mohm" Number "Insulation resistance between live conductors, Mohm" = |c| value(c.readings().ir_live_live_mohm);
        "ir_live_live_mohm_scale" Text "Whether ir_live_live_mohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().ir_live_live_mohm);
        "ir_live_earth_mohm" Number "Insulation resistance live to earth, Mohm" = |c| value(c.readings().ir_live_earth_mohm);
        "ir_live_earth_mohm_scale" Text "Whether ir_live_earth_mohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().ir_live_earth_mohm);
        "ir_with_unit" Flag "The unit or a surge device was still connected" = |c| flag(c.readings().ir_with_unit);
        "polarity" Text "Polarity" = |c| word(c.readings().polarity);
        "zs_ohm" Number "Earth fault loop impedance, ohm" = |c| value(c.readings().zs_ohm);
        "zs_ohm_scale" Text "Whether zs_ohm is on the scale, or the true value above or below the figure" = |c| scale(c.readings().zs_ohm);
        "zs_by" Text "How it was obtained, where written" = |c| word(c.readings().zs_by);
        "zs_mode" Text "Loop test mode" = |c| word(c.readings().zs_mode);
        "rcd_ms" Number "RCD operating time at 1 x, ms" = |c| value(c.readings().rcd_ms);
        "rcd_ms_scale" Text "Whether rcd_ms is on the scale, or the true value above or below the figure" = |c| scale(c.readings().rcd_ms);
        "rcd_5x_ms" Number "RCD operating time at 5 x, ms" = |c| value(c.readings().rcd_5x_ms);
        "rcd_5x_ms_scale" Text "Whether rcd_5x_ms is on the scale, or the true value above or below the figure" = |c| scale(c.readings().rcd_5x_ms);
        "rcd_half" Text "The RCD at half its rated current" = |c| word(c.readings().rcd_half);
        "rcd_button" Text "The RCD's test button" = |c| word(c.readings().rcd_button);
        "rcd_dc_ms" Number "6 mA d.c. detection time, ms" = |c| value(c.readings().rcd_dc_ms);
        "rcd_dc_ms_scale" Text "Whether rcd_dc_ms is on the scale, or the true value above or below the figure" = |c| scale(c.readings().rcd_dc_ms);
        "afdd_button" Text "The AFDD's test button" = |c| word(c.readings().afdd_button);
        "leakage_ma" Number "Protective conductor current, mA" = |c| value(c.readings().leakage_ma);
        "leakage_ma_scale" Text "Whether leakage_ma is on the scale, or the true value above or below the figure" = |c| scale(c.readings().leakage_ma);
        "not_taken" Text "Readings that could not be taken, each with its reason" = |c| joined(c.circuit.not_taken.iter().map(|(key, why)| format!("{key}: {why}")), "; ");
        "file" Text "The record" = |c| word(Some(&c.job.record.source.path));
        "unreadable" Text "Values of it that stand there and could not be read, as JSON Pointers" = |c| holes(&c.job.record.unreadable, &c.path());
    }
}

fn units() -> Table {
    table! { "units", "One piece of equipment fitted, removed or seen at one visit", OfSite, Item<'_, Unit>, |site| items(site, "units", |job| &job.data().units).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "event" Text "Fitted, removed or seen" = |i| word(i.says.event);
        "serial" Text "Its serial" = |i| text(i.says.serial.as_ref());
        "model" Text "Its model, by id" = |i| text(i.says.model.as_ref());
        "model_kind" Text "Kind of the model, from the register" = |i| word(i.says.model.as_ref().and_then(|model| i.job.site.book.models.get(model)?.data.kind));
        "circuit" Text "Key: the circuit it is on" = |i| text(i.says.circuit.as_ref());
        "firmware" Text "Firmware" = |i| text(i.says.firmware.as_ref());
        "warranty_until" Day "End of the maker's warranty" = |i| day(i.says.warranty_until);
        "supplied_by" Text "Who supplied it" = |i| word(i.says.supplied_by);
        "smart_statement" Flag "Statement under the smart charge point regulations held" = |i| flag(i.says.smart_statement);
        "why" Text "For a removed one, why" = |i| text(i.says.why.as_ref());
        "kept_until" Day "For a removed one, how long it is kept" = |i| day(i.says.kept_until);
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers" = |i| i.unreadable();
    }
}

fn joints() -> Table {
    table! { "joints", "One joint or termination", OfSite, Item<'_, Joint>, |site| items(site, "joints", |job| &job.data().joints).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "joint" Whole "Its place in the visit's list, from 1" = |i| Cell::Whole(i.index as u32 + 1);
        "place" Text "Where it is" = |i| text(i.says.place.as_ref());
        "circuit" Text "Key: the circuit" = |i| text(i.says.circuit.as_ref());
        "kind" Text "Its kind" = |i| word(i.says.kind);
        "made_by" Text "Who made it" = |i| word(i.says.made_by);
        "access" Text "Whether it can be reached" = |i| word(i.says.access);
        "conductor" Text "Stranding" = |i| word(i.says.conductor);
        "ferrule" Flag "A ferrule is on it" = |i| flag(i.says.ferrule);
        "torque_nm" Number "Tightening torque, Nm" = |i| number(i.says.torque_nm);
        "photo" Text "Picture, relative to the site's folder" = |i| text(i.says.photo.as_ref());
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers" = |i| i.unreadable();
    }
}

fn faults() -> Table {
    table! { "faults", "One fault as one visit records it", OfSite, Item<'_, Fault>, |site| items(site, "faults", |job| &job.data().faults).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "fault" Text "Key: the fault within the visit" = |i| text(i.says.id.as_ref());
        "reported" Day "Day it was reported" = |i| day(i.says.reported);
        "symptom" Text "What was noticed" = |i| word(i.says.symptom);
        "found" Text "What was found" = |i| text(i.says.found.as_ref());
        "believed" Text "What is believed to be behind it" = |i| text(i.says.believed.as_ref());
        "excluded" Text "What was ruled out" = |i| joined(&i.says.excluded, "; ");
        "cut_back_mm" Number "Conductor cut away, mm" = |i| number(i.says.cut_back_mm);
        "cause" Text "Its cause" = |i| word(i.says.cause);
        "laid_to" Text "To whom it is laid" = |i| word(i.says.laid_to);
        "circuit" Text "Key: the circuit" = |i| text(i.says.circuit.as_ref());
        "unit" Text "Serial of the unit" = |i| text(i.says.unit.as_ref());
        "code" Text "Classification" = |i| word(i.says.code);
        "state" Text "Where it stood then" = |i| word(i.says.state);
        "left" Text "How it was left" = |i| word(i.says.left);
        "made_safe" Text "How it was made safe" = |i| text(i.says.made_safe.as_ref().and_then(|safe| safe.how.as_ref()));
        "made_safe_notice" Flag "A notice was left" = |i| flag(i.says.made_safe.as_ref().and_then(|safe| safe.notice));
        "made_safe_on" Day "The day it was done" = |i| day(i.says.made_safe.as_ref().and_then(|safe| safe.on));
        "advice" Text "The words of the advice" = |i| text(i.says.advice.as_ref().and_then(|advice| advice.words.as_ref()));
        "advice_how" Text "How it was told" = |i| word(i.says.advice.as_ref().and_then(|advice| advice.how));
        "advice_on" Day "The day it was told" = |i| day(i.says.advice.as_ref().and_then(|advice| advice.on));
        "advice_acknowledged" Flag "It was acknowledged" = |i| flag(i.says.advice.as_ref().and_then(|advice| advice.acknowledged));
        "return_by" Day "Day by which somebody goes back" = |i| day(i.says.return_by);
        "watch_until" Day "Day until which it is watched" = |i| day(i.says.watch_until);
        "claim_with" Text "Whom the claim was sent to" = |i| text(i.says.claim.as_ref().and_then(|claim| claim.with.as_ref()));
        "claim_sent" Day "Claim sent" = |i| day(i.says.claim.as_ref().and_then(|claim| claim.sent));
        "claim_ref" Text "Their reference" = |i| text(i.says.claim.as_ref().and_then(|claim| claim.reference.as_ref()));
        "claim_chase" Day "Day to chase it" = |i| day(i.says.claim.as_ref().and_then(|claim| claim.chase));
        "claim_answered" Day "Answered" = |i| day(i.says.claim.as_ref().and_then(|claim| claim.answered));
        "claim_outcome" Text "What came of it" = |i| text(i.says.claim.as_ref().and_then(|claim| claim.outcome.as_ref()));
        "fixed_by" Text "The visit that fixed it" = |i| text(i.says.fixed_by.as_ref());
        "repeats" Text "The earlier fault it repeats, visit#fault" = |i| text(i.says.repeats.as_ref());
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers" = |i| i.unreadable();
    }
}

fn observations() -> Table {
    table! { "observations", "One observation of a condition report", OfSite, Item<'_, Observation>, |site| items(site, "observations", |job| &job.data().observations).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "observation" Text "Key: the observation within the visit" = |i| text(i.says.id.as_ref());
        "code" Text "Classification" = |i| word(i.says.code);
        "what" Text "What is wrong" = |i| text(i.says.what.as_ref());
        "place" Text "Where it is" = |i| text(i.says.place.as_ref());
        "clause" Text "The regulation it departs from" = |i| text(i.says.clause.as_ref());
        "made_safe" Text "How it was made safe" = |i| text(i.says.made_safe.as_ref().and_then(|safe| safe.how.as_ref()));
        "made_safe_notice" Flag "A notice was left" = |i| flag(i.says.made_safe.as_ref().and_then(|safe| safe.notice));
        "made_safe_on" Day "The day it was done" = |i| day(i.says.made_safe.as_ref().and_then(|safe| safe.on));
        "advice" Text "The words of the advice" = |i| text(i.says.advice.as_ref().and_then(|advice| advice.words.as_ref()));
        "advice_how" Text "How it was told" = |i| word(i.says.advice.as_ref().and_then(|advice| advice.how));
        "advice_on" Day "The day it was told" = |i| day(i.says.advice.as_ref().and_then(|advice| advice.on));
        "advice_acknowledged" Flag "It was acknowledged" = |i| flag(i.says.advice.as_ref().and_then(|advice| advice.acknowledged));
        "due" Day "Day by which it is to be cleared" = |i| day(i.says.due);
        "cleared_by" Text "The visit that cleared it" = |i| text(i.says.cleared_by.as_ref());
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers" = |i| i.unreadable();
    }
}

fn notices() -> Table {
    table! { "notices", "One notice sent", OfSite, Item<'_, Notice>, |site| items(site, "notices", |job| &job.data().notices).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "recipient" Text "To whom" = |i| word(i.says.to);
        "route" Text "By which route" = |i| word(i.says.route);
        "sent" Day "Sent" = |i| day(i.says.sent);
        "answered" Day "Answered" = |i| day(i.says.answered);
        "reference" Text "Their reference" = |i| text(i.says.reference.as_ref());
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers" = |i| i.unreadable();
    }
}

fn papers() -> Table {
    table! { "papers", "One paper issued", OfSite, Item<'_, Paper>, |site| items(site, "papers", |job| &job.data().papers).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "kind" Text "Its kind" = |i| word(i.says.kind);
        "number" Text "Its number" = |i| text(i.says.number.as_ref());
        "issued" Day "Issued" = |i| day(i.says.issued);
        "given_to" Text "To whom it was given, by part played" = |i| text(i.says.given_to.as_ref());
        "how" Text "How it was given" = |i| word(i.says.how);
        "given_on" Day "Day it was given" = |i| day(i.says.on);
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers" = |i| i.unreadable();
    }
}

fn follow_ups() -> Table {
    table! { "follow_ups", "One promise made", OfSite, Item<'_, FollowUp>, |site| items(site, "follow_ups", |job| &job.data().follow_ups).into_iter(),
        "site" Text "Key: the site" = |i| word(Some(i.job.site.id()));
        "visit" Text "Key: the visit" = |i| word(Some(i.job.id()));
        "date" Day "Day of the visit" = |i| day(i.job.day());
        "what" Text "What was promised" = |i| text(i.says.what.as_ref());
        "party" Text "With whom" = |i| text(i.says.with.as_ref());
        "due" Day "Due" = |i| day(i.says.due);
        "done" Day "Done" = |i| day(i.says.done);
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers" = |i| i.unreadable();
    }
}

fn instruments() -> Table {
    table! { "instruments", "One instrument", OfBook, Record<Instrument>, |book| book.instruments.values(),
        "instrument" Text "Key: the instrument" = |r| word(Some(&r.id));
        "kind" Text "Its kind" = |r| word(r.data.kind);
        "serial" Text "Its serial" = |r| text(r.data.serial.as_ref());
        "reads" Text "What it reads" = |r| joined(r.data.reads.iter().map(|reads| reads.as_str()), " ");
        "ir_top_mohm" Number "Highest insulation resistance shown, Mohm" = |r| number(r.data.ranges.as_ref().and_then(|ranges| ranges.ir_top_mohm));
        "retired" Day "Day it was withdrawn" = |r| day(r.data.retired);
        "unreadable" Text "Values that stand there and could not be read, as JSON Pointers; / is all of it" = |r| holes(&r.unreadable, &FieldPath::root());
    }
}

fn instrument_events() -> Table {
    table! { "instrument_events", "One calibration of an instrument, or one check between calibrations", OfBook, InstrumentEvent<'_>, |book| events_of_instruments(book).into_iter(),
        "instrument" Text "Key: the instrument" = |e| word(Some(e.id));
        "event" Text "calibration or check" = |e| word(Some(e.event));
        "date" Day "The day" = |e| day(e.on);
        "due" Day "The day the next calibration is due" = |e| day(e.due);
        "result" Text "Result of a check" = |e| e.result.clone();
        "against" Text "What it was checked against" = |e| text(e.against);
        "certificate" Text "Number of the calibration certificate" = |e| text(e.certificate);
    }
}
