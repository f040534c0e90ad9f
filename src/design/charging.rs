//! Additional protection, and what a charging circuit asks of the supply.

use super::given::Given;
use super::working::{Line, Missing, Quantity};
use crate::record::{DcDetection, NoticeRoute, RcdType, Use};
use crate::tables::{Edition, demand, rcd};
use crate::wiring::demand::cutout_headroom;
use crate::wiring::network;

const SECTION_722: &str = "BS 7671:2018+A1:2020 722.531.3.101";

/// The checks, in the order of the printout.
pub(super) fn lines(given: &Given) -> Vec<Line> {
    let mut lines = Vec::new();
    let small = given.rating_a().ok().zip(rcd::sockets_up_to(given.edition)).is_some_and(|(rating, most)| rating <= most.value);
    match given.usage {
        Some(Use::Ev) => lines.extend([trip_current(given, SECTION_722), rcd_type(given), headroom(given), route(given)]),
        Some(Use::Ring | Use::Sockets) if small => lines.push(trip_current(given, "BS 7671:2018 411.3.3")),
        _ => {}
    }
    lines
}

fn trip_current(given: &Given, source: &str) -> Line {
    Line::worked("rcd-trip-current", "Additional protection by the RCD", |line| {
        line.cite_text(source, false);
        let limit = rcd::additional_protection(given.edition)
            .ok_or_else(|| Missing::figure("no table holds the limit of additional protection for this edition"))?;
        line.cite(&limit);
        let trip = given.rcd.as_ref().and_then(|rcd| rcd.trip_ma);
        let trip = trip.ok_or_else(|| Missing::input("the RCD's trip current", "rcd.trip_ma", "--trip-ma"))?;
        line.at_most("IdN <= 30 mA", Quantity::written(*trip, "mA"), Quantity::from(&limit));
        Ok(())
    })
}

fn rcd_type(given: &Given) -> Line {
    Line::worked("rcd-type", "Type of the RCD for a vehicle", |line| {
        line.cite_text(SECTION_722, false);
        if given.edition < Edition::Y2018 {
            return Err(Missing::figure("what that edition asks of the type is not held here"));
        }
        let kind = given.rcd.as_ref().and_then(|rcd| rcd.kind);
        let kind = kind.ok_or_else(|| Missing::input("the RCD's type", "rcd.type", "--rcd-type"))?;
        match kind {
            RcdType::Ac => {
                line.note("Type AC: it has to be type A, F or B.");
                line.decide(false);
            }
            RcdType::B => {
                line.note("Type B opens on smooth d.c. too.");
                line.decide(true);
            }
            RcdType::A | RcdType::F => {
                let detection = given.ev.as_ref().and_then(|ev| ev.dc_detection);
                let detection =
                    detection.ok_or_else(|| Missing::input("where 6 mA d.c. is detected", "ev.dc_detection", "--dc-detection"))?;
                let is_detected = matches!(detection, DcDetection::InUnit | DcDetection::Separate);
                line.note(format!("Type {kind}, 6 mA d.c. detection: {detection}; the maker's sheet shows it."));
                line.decide(is_detected);
            }
        }
        Ok(())
    })
}

fn missing_demand() -> Missing {
    Missing::input("the maximum demand", "supply.max_demand_a", "--max-demand")
}

fn headroom(given: &Given) -> Line {
    Line::worked("demand", "Maximum demand against the cut-out", |line| {
        line.cite_text("BS 7671:2018 311.1", false);
        let demand = given.max_demand_a.ok_or_else(missing_demand)?;
        let cutout = given.cutout_a.ok_or_else(|| Missing::input("the cut-out's rating", "supply.cutout.rating_a", "--cutout"))?;
        let (demand_a, cutout_a) = (Quantity::written(demand, "A"), Quantity::written(cutout, "A"));
        let left = cutout_headroom(cutout, demand)?;
        line.step("left = cut-out - demand", format!("{cutout_a} - {demand_a}"), Quantity::written(left, "A"));
        line.note("The demand is taken to hold this circuit already, charging in full unless it is limited.");
        if let Some(limit) = given.ev.as_ref().and_then(|ev| ev.load_limit.as_ref()).and_then(|limit| limit.limit_a) {
            line.note(format!("A load limit of {limit} A is recorded; the verdict does not lean on it."));
        }
        line.at_most("demand <= cut-out", demand_a, cutout_a);
        Ok(())
    })
}

fn route(given: &Given) -> Line {
    Line::worked("operator", "Network operator's route", |line| {
        line.cite_text("Energy Networks Association connection process for low carbon technologies", false);
        let demand = given.max_demand_a.ok_or_else(missing_demand)?;
        let Some(connection) = &given.connection else {
            return Err(Missing::figure("premises and service are in no record: the route hangs on them"));
        };
        // The record's own demand may be another than the one to be tried; its limit holds for both.
        let limit = given.ev.as_ref().and_then(|ev| ev.load_limit.as_ref()).and_then(|limit| limit.limit_a);
        let limited = limit.map_or(demand, |limit| demand.min(*limit));
        let connection = network::Connection { cutout_a: given.cutout_a, demand_a: limited, ..connection.clone() };
        let (route, reasons) = network::route(&connection)?;
        line.step("demand counted", "", Quantity::written(limited, "A"));
        if limited < demand {
            line.note("Held down by a load limit only: tell the operator so.");
        }
        match route {
            NoticeRoute::Apply => {
                let reasons: Vec<String> = reasons.iter().map(ToString::to_string).collect();
                line.note(format!("Apply and wait for the answer: {}.", reasons.join("; ")));
            }
            NoticeRoute::Notify => {
                let within = demand::notify_within_days().map_or(String::new(), |days| format!(" within {} days", days.value));
                line.note(format!("No reason to apply first found: connect and notify{within}."));
            }
        }
        Ok(())
    })
}
