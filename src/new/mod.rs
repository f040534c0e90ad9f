//! New records, ready to fill: what the book knows is there or stands beside as a comment, what it does not know is blank. No
//! reading, date or name is made up.

mod job;
mod known;
mod sheet;

use crate::book::Book;
use crate::record::{
    CheckResult, Date, Earthing, InstrumentKind, JobKind, JointKind, ModelKind, Nation, OpenPen, Photographs, Premises, Reads, Service,
    Share, ShownBy,
};
use crate::rules::view::SiteView;
pub(crate) use sheet::scalar;
use sheet::{Sheet, words};

/// A record that is to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// Where, relative to the book's root.
    pub path: String,
    /// What.
    pub text: String,
}

/// Whether a text can be the id of a site, an instrument or a model, or the slug of a visit: kebab-case.
pub fn is_id(text: &str) -> bool {
    let part = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit());
    text.split('-').all(part)
}

/// The nearest id to a text: `Oak Lane` gives `oak-lane`; nothing when no letter or digit is left.
pub fn id_of(text: &str) -> Option<String> {
    let lower = text.to_lowercase();
    let parts: Vec<&str> = lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|part| !part.is_empty()).collect();
    (!parts.is_empty()).then(|| parts.join("-"))
}

/// What is known of a place before its record is begun.
#[derive(Debug, Clone, Copy, Default)]
pub struct SiteAnswers {
    /// What it is used for.
    pub premises: Option<Premises>,
    /// How it is earthed.
    pub earthing: Option<Earthing>,
}

/// What stays at a place.
pub fn site(book: &Book, id: &str, answers: SiteAnswers) -> Draft {
    let mut sheet = Sheet::of("site");
    sheet.blank(0, "name", "what the place is called; no personal details");
    let nation = book.settings.data.nation.map(|nation| format!("only where it is not {nation}: ")).unwrap_or_default();
    sheet.blank(0, "nation", &format!("{nation}{}", words(Nation::ALL)));
    match answers.premises {
        Some(premises) => sheet.filled(0, "premises", premises),
        None => sheet.blank(0, "premises", &words(Premises::ALL)),
    }
    sheet.blank(0, "storeys", "");
    sheet.blank(0, "privacy", "");
    sheet.blank(2, "share", &words(Share::ALL));
    sheet.blank(2, "photographs", &words(Photographs::ALL));
    sheet.blank(2, "why", "who asked for it, and when");
    sheet.blank(0, "supply", "");
    match answers.earthing {
        Some(earthing) => sheet.filled(2, "earthing", earthing),
        None => sheet.blank(2, "earthing", &words(Earthing::ALL)),
    }
    sheet.blank(2, "earthing_shown_by", &words(ShownBy::ALL));
    sheet.blank(2, "phases", "1 | 3");
    sheet.blank(2, "cutout", "");
    sheet.blank(4, "standard", "such as BS 88-3");
    sheet.blank(4, "rating_a", "");
    sheet.blank(4, "shown_by", &words(ShownBy::ALL));
    sheet.blank(2, "service", &words(Service::ALL));
    sheet.blank(2, "declared", "what the network operator declares at most");
    sheet.blank(4, "ze_ohm", "");
    sheet.blank(4, "ipf_ka", "");
    sheet.blank(2, "mpan", "13 digits, quoted");
    sheet.blank(2, "bonding", "");
    sheet.offered(4, "- {service: water, mm2: , length_m: , reading_ohm: }", "");
    sheet.offered(4, "- {service: gas, mm2: , length_m: , reading_ohm: }", "");
    sheet.blank(2, "tails", "");
    sheet.blank(4, "mm2", "");
    sheet.blank(4, "length_m", "");
    sheet.blank(0, "boards", "");
    sheet.offered(2, "- id: main", "circuits are <board>/<way>");
    sheet.offered(4, "fed_from: origin", "or the circuit that feeds it");
    sheet.offered(4, "standard:", "such as BS EN 61439-3");
    sheet.offered(4, "maker:", "a short code of your own");
    sheet.offered(4, "enclosure:", "");
    sheet.offered(4, "main_switch: {rating_a: , poles: }", "");
    sheet.offered(4, "spd: {type: , standard: }", "");
    sheet.offered(4, "ways:", "");
    sheet.offered(4, "conditional_ka:", "");
    Draft { path: format!("sites/{id}/site.md"), text: sheet.finish("") }
}

/// One visit to a site.
pub fn job(site: &SiteView<'_>, kind: JobKind, day: Date, slug: &str) -> Draft {
    let visit = job::Visit { site, kind, day };
    Draft { path: format!("sites/{}/{day}-{slug}.md", site.id()), text: job::text(&visit) }
}

/// A test instrument or tool.
pub fn instrument(id: &str) -> Draft {
    let mut sheet = Sheet::of("instrument");
    sheet.blank(0, "kind", &words(InstrumentKind::ALL));
    sheet.blank(0, "serial", "quoted");
    sheet.blank(0, "reads", &format!("a list in brackets: {}", words(Reads::ALL)));
    sheet.blank(0, "ranges", "");
    sheet.blank(2, "ir_top_mohm", "the highest insulation resistance it shows");
    sheet.blank(0, "calibrations", "");
    sheet.offered(2, "- {on: , due: , certificate: }", "");
    sheet.blank(0, "checks", "");
    sheet.offered(2, "- {on: , result: , against: }", &words(CheckResult::ALL));
    Draft { path: format!("instruments/{id}.md"), text: sheet.finish("") }
}

/// What a make and model of equipment is known to do.
pub fn model(id: &str) -> Draft {
    let mut sheet = Sheet::of("model");
    sheet.blank(0, "kind", &words(ModelKind::ALL));
    sheet.blank(0, "rated_a", "");
    sheet.blank(0, "phases", "");
    sheet.blank(0, "standards", "a list in brackets, such as [BS EN 61851-1]");
    sheet.blank(0, "dc_detection", "true when it detects 6 mA d.c.");
    sheet.blank(0, "open_pen", &format!("a list in brackets: {}", words(OpenPen::ALL)));
    sheet.blank(0, "max_ocpd_a", "the highest rating its maker allows in front of it");
    sheet.blank(0, "terminals", "");
    sheet.blank(2, "kind", &words(JointKind::ALL));
    sheet.blank(2, "torque_nm", "");
    sheet.blank(0, "bidirectional", "true when it can feed back");
    Draft { path: format!("models/{id}.md"), text: sheet.finish("") }
}

/// A safety notice. `issued` is the day it bears, when that is known; the file is named after it, or else after `today`.
pub fn recall(book: &Book, slug: &str, issued: Option<Date>, today: Date) -> Draft {
    let mut sheet = Sheet::of("recall");
    match issued {
        Some(day) => sheet.filled(0, "issued", day),
        None => sheet.blank(0, "issued", "the day the notice bears"),
    }
    let models: Vec<&str> = book.models.keys().map(String::as_str).collect();
    sheet.blank(0, "model", &models.join(" | "));
    sheet.blank(0, "serials", "all where none are given");
    sheet.offered(2, "- {from: , to: }", "");
    sheet.blank(0, "fitted", "");
    sheet.blank(2, "from", "");
    sheet.blank(2, "to", "");
    sheet.blank(0, "firmware_below", "quoted");
    sheet.blank(0, "advice", "what the maker says to do");
    sheet.blank(0, "done", "");
    sheet.offered(2, "- {serial: , by: }", "by: <site>/<visit>");
    Draft { path: format!("recalls/{}-{slug}.md", issued.unwrap_or(today)), text: sheet.finish("") }
}
