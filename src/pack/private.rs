//! What of a text may not be handed over, and the marks that stand in its place.

use std::collections::BTreeSet;
use std::ops::Range;

use aho_corasick::AhoCorasick;

use crate::book::{Book, DetailSort};
use crate::record::withheld;
use crate::rules::privacy::{HIDDEN_KEY, Hit, name_has_code, name_has_reach, names_contact, personal, secrets};

/// How much of a text may be handed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// All but what opens a door or pays a bill.
    Full,
    /// Neither that, nor who anybody is and how to reach them.
    Redacted,
    /// As redacted, but the details of the site's own people stay: the copy is theirs.
    Own,
}

/// Something to be left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Secret {
    /// Its bytes in the text.
    pub span: Range<usize>,
    /// What it is, in the words of the mark.
    pub what: &'static str,
}

/// A word of the book that is private wherever it stands.
struct Word {
    /// In small letters.
    text: String,
    what: &'static str,
    /// Whose it is; empty for what belongs to nobody who may have it.
    site: String,
    /// Whether it opens something, and so is left out at every level.
    opens: bool,
}

/// Everything private that the book knows, ready to be looked for.
pub struct Guard<'b> {
    book: &'b Book,
    words: Vec<Word>,
    automaton: Option<AhoCorasick>,
}

/// Fewer characters than these of an entry in the contacts would be found by chance.
const ADDRESS_LEAST: usize = 6;
const OTHER_LEAST: usize = 12;
const CODE_LEAST: usize = 4;

impl<'b> Guard<'b> {
    /// Gathers the contacts of the whole book, the supply numbers of these sites, and names that the copy must not hold: of sites kept
    /// back, and of files that were renamed.
    pub fn new(book: &'b Book, supply_numbers: &[(String, String)], names: &[(String, &'static str)]) -> Guard<'b> {
        let mut words = Vec::new();
        let mut add = |text: &str, what, site: &str, opens| {
            let text = text.trim().to_ascii_lowercase();
            if !text.is_empty() {
                words.push(Word { text, what, site: site.to_owned(), opens });
            }
        };
        for site in book.contacts.sites() {
            for name in book.contacts.names(site).iter().filter(|name| name.split_whitespace().count() > 1) {
                add(name, "the name of a contact", site, false);
                // `Agent, Wickerwork Lettings` is a part played and a name.
                for part in name.split(',').map(str::trim).filter(|part| *part != name && part.split_whitespace().count() > 1) {
                    add(part, "the name of a contact", site, false);
                }
            }
            for detail in book.contacts.details(site) {
                match detail.sort {
                    DetailSort::Reach => add(&detail.text, "a contact's number or address", site, false),
                    DetailSort::Address => {
                        for part in detail.text.split([',', '\n']).map(str::trim).filter(|part| part.len() >= ADDRESS_LEAST) {
                            add(part, "an address", site, false);
                        }
                    }
                    DetailSort::Access => {
                        for code in detail.text.split(|c: char| !c.is_ascii_alphanumeric()) {
                            if code.len() >= CODE_LEAST && code.bytes().any(|byte| byte.is_ascii_digit()) {
                                add(code, "an access code", site, true);
                            }
                        }
                        if detail.text.len() >= OTHER_LEAST {
                            add(&detail.text, "how to get in", site, true);
                        }
                    }
                    DetailSort::Other if detail.text.len() >= OTHER_LEAST => add(&detail.text, "a contact's detail", site, false),
                    DetailSort::Other => {}
                }
            }
        }
        for (site, number) in supply_numbers {
            add(number, "a supply number", site, false);
            let digits: String = number.chars().filter(char::is_ascii_digit).collect();
            add(&digits, "a supply number", site, false);
        }
        for (name, what) in names {
            add(name, what, "", true);
        }
        let automaton = AhoCorasick::builder().ascii_case_insensitive(true).build(words.iter().map(|word| &word.text)).ok();
        Guard { book, words, automaton }
    }

    /// What of a text about a site has to be left out at that level, in order and without overlaps.
    pub fn finds(&self, text: &str, level: Level, site: &str) -> Vec<Secret> {
        let whole = |hit: Hit| {
            let end = if hit.words == HIDDEN_KEY { end_of_words(text, hit.span.end) } else { hit.span.end };
            Secret { span: hit.span.start..end, what: without_article(hit.words) }
        };
        let mut found: Vec<Secret> = secrets(text).into_iter().map(whole).collect();
        if level != Level::Full {
            let names = self.book.contacts.names(site);
            let hits = personal(text, names).into_iter().map(|hit| Secret { span: hit.span, what: without_article(hit.words) });
            let hits = hits.chain(surnames(text, names));
            found.extend(hits.filter(|hit| level != Level::Own || !self.is_own(&text[hit.span.clone()], site)));
        }
        if let Some(automaton) = &self.automaton {
            for hit in automaton.find_overlapping_iter(text) {
                let word = &self.words[hit.pattern().as_usize()];
                let wanted = word.opens || level != Level::Full && !(level == Level::Own && word.site == site);
                if wanted && stands_alone(text, hit.range()) && !(word.what == "an access code" && is_whole_value(text, hit.range())) {
                    found.push(Secret { span: hit.range(), what: without_article(word.what) });
                }
            }
        }
        merged(found)
    }

    /// Whether the name of a file or folder holds something private.
    pub fn name_tells(&self, name: &str, level: Level, site: &str) -> bool {
        let personal = || name_has_reach(name) || names_contact(name, self.book.contacts.names(site));
        let spoken = name.replace(['-', '_', '.'], " ");
        name_has_code(name) || level == Level::Redacted && personal() || !self.finds(&spoken, level, site).is_empty()
    }

    /// Whether this is a detail of the site's own people.
    fn is_own(&self, found: &str, site: &str) -> bool {
        let plain = |text: &str| text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
        let of_site: BTreeSet<String> = self.book.contacts.details(site).iter().map(|detail| plain(&detail.text)).collect();
        let names = self.book.contacts.names(site);
        let surname = found.split_whitespace().last().map(plain).unwrap_or_default();
        let is_name = names.iter().any(|name| name.split_whitespace().last().map(plain).as_deref() == Some(&surname));
        of_site.contains(&plain(found)) || is_name && !surname.is_empty()
    }

    /// The text with marks for what was left out, and what that was.
    pub fn clean(&self, text: &str, level: Level, site: &str) -> (String, Vec<&'static str>) {
        let found = self.finds(text, level, site);
        (marked(text, &found), found.iter().map(|secret| secret.what).collect())
    }
}

/// The text with a mark for each of these.
pub fn marked(text: &str, found: &[Secret]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut from = 0;
    for secret in found {
        out.push_str(&text[from..secret.span.start]);
        out.push_str(&mark_in(text, secret));
        from = secret.span.end;
    }
    out.push_str(&text[from..]);
    out
}

/// The mark for one of these.
pub fn mark_in(text: &str, secret: &Secret) -> String {
    // A bracket straight behind the mark would make a link of it, a colon one for the whole text when the mark begins its line.
    let behind = &text[secret.span.end..];
    let begins_line = text[..secret.span.start].trim_end_matches(' ').ends_with('\n');
    let link = behind.starts_with(['(', '[']) || begins_line && behind.starts_with(':');
    format!("{}{}", withheld(secret.what), if link { " " } else { "" })
}

fn without_article(words: &'static str) -> &'static str {
    ["an ", "a ", "the "].iter().find_map(|article| words.strip_prefix(article)).unwrap_or(words)
}

/// The last words of names, as they are written, where they stand alone.
fn surnames(text: &str, names: &[String]) -> Vec<Secret> {
    let last = names.iter().filter_map(|name| name.split_whitespace().last());
    let telling = last.filter(|word| word.chars().count() >= 3 && word.starts_with(char::is_uppercase));
    telling
        .flat_map(|word| text.match_indices(word).map(|(at, word)| at..at + word.len()))
        .filter(|span| stands_alone(text, span.clone()))
        .map(|span| Secret { span, what: "person's name" })
        .collect()
}

/// Where the words of a sentence or of a value end.
fn end_of_words(text: &str, from: usize) -> usize {
    text[from..].find(['.', ';', ',', '"', '\'', '}', ']', '#', '\n', '\r']).map_or(text.len(), |end| from + end)
}

fn stands_alone(text: &str, span: Range<usize>) -> bool {
    !text[..span.start].ends_with(char::is_alphanumeric) && !text[span.end..].starts_with(char::is_alphanumeric)
}

/// Whether a code is all that stands behind a key or in a list: a serial or a reading that happens to be the same.
fn is_whole_value(text: &str, span: Range<usize>) -> bool {
    let before = text[..span.start].trim_end_matches([' ', '"', '\'']);
    let after = text[span.end..].trim_start_matches([' ', '"', '\'']);
    before.ends_with([':', '[', ',', '-', '/']) && (after.is_empty() || after.starts_with([',', '}', ']', '\n', '\r']))
}

fn merged(mut found: Vec<Secret>) -> Vec<Secret> {
    found.sort_by_key(|secret| (secret.span.start, std::cmp::Reverse(secret.span.end)));
    let mut merged: Vec<Secret> = Vec::new();
    for secret in found {
        match merged.last_mut() {
            Some(last) if secret.span.start < last.span.end => last.span.end = last.span.end.max(secret.span.end),
            _ => merged.push(secret),
        }
    }
    merged
}
