//! What of an item may leave the book: the calendar, which other programs and other people's devices read.
//!
//! The text of an item leaves only where the site's `privacy.share` is `full` and the text, with the file's name, holds no telephone
//! number, e-mail address, access code or card number, no person's name behind a title, no name of any contact of the book nor a surname of
//! the site's own, and no serial of a unit of the site. Where `private/contacts.yaml` is there and cannot be read, no text leaves at all. Otherwise only the kind, the day and the site's id do; where even that id holds a contact's surname, not that either.

use aho_corasick::AhoCorasick;

use super::item::Item;
use crate::book::Contacts;
use crate::record::Share;
use crate::rules::identity::plain_serial;
use crate::rules::privacy::{is_private, names_contact};
use crate::rules::view::SiteView;

/// Letters and figures from which a serial is looked for in a text: shorter ones are found in any.
const SERIAL_LENGTH: usize = 4;

/// The full names of all contacts of a book, found in one pass.
pub(super) struct Names(Option<AhoCorasick>);

impl Names {
    /// The names of two words or more; of `Agent, A. Name` what stands behind the comma too.
    pub fn of(contacts: &Contacts) -> Names {
        let parts = contacts.all().flat_map(|name| [name, name.rsplit(", ").next().unwrap_or(name)]);
        let full: Vec<&str> = parts.map(str::trim).filter(|name| name.split_whitespace().count() > 1).collect();
        let search = AhoCorasick::builder().ascii_case_insensitive(true).build(full);
        Names(search.ok().filter(|_| !contacts.is_unread()))
    }

    /// Whether a text has one in it; also where that cannot be told.
    fn are_in(&self, text: &str) -> bool {
        self.0.as_ref().is_none_or(|names| names.is_match(text))
    }
}

/// What a site lets out.
pub(super) struct Sharing<'a> {
    full: bool,
    contacts: &'a [String],
    everyone: &'a Names,
    serials: Vec<String>,
}

impl<'a> Sharing<'a> {
    /// What `site.md` allows; nothing where it does not say, or cannot be read.
    pub fn of(site: &SiteView<'a>, everyone: &'a Names) -> Sharing<'a> {
        let share = site.site().and_then(|data| data.privacy.as_ref()?.share);
        let units = site.records.jobs.iter().flat_map(|job| &job.data.units).filter_map(|unit| unit.serial.as_deref());
        let faults = site.records.jobs.iter().flat_map(|job| &job.data.faults).filter_map(|fault| fault.unit.as_deref());
        let mut serials: Vec<String> = units.chain(faults).map(plain_serial).filter(|serial| serial.len() >= SERIAL_LENGTH).collect();
        serials.sort_unstable();
        serials.dedup();
        Sharing { full: share == Some(Share::Full), contacts: site.book.contacts.names(site.id()), everyone, serials }
    }

    /// The registers are the book owner's own.
    pub fn of_registers(everyone: &'a Names) -> Sharing<'a> {
        Sharing { full: true, contacts: &[], everyone, serials: Vec::new() }
    }

    /// Settles what of the item may leave.
    pub fn settle(&self, item: &mut Item) {
        item.site_shared = item.site.as_deref().is_none_or(|site| !names_contact(site, self.contacts));
        let told = |text: &str| is_private(text, self.contacts) || self.everyone.are_in(text) || self.holds_serial(text);
        let texts = std::iter::once(&item.what).chain(&item.notes).chain([&item.subject, &item.file]);
        item.shared = self.full && item.site_shared && !texts.into_iter().any(|text| told(text));
    }

    fn holds_serial(&self, text: &str) -> bool {
        let plain = plain_serial(text);
        self.serials.iter().any(|serial| plain.contains(serial.as_str()))
    }
}
