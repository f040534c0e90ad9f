//! Secrets in text and in file names. What is found is shown in its own file and never repeated in a message.

use std::ops::Range;
use std::sync::{Arc, LazyLock};

use aho_corasick::{AhoCorasick, packed};

use crate::book::{Book, FieldPath, SourceFile};
use crate::finding::{Grade, Place};
use crate::rules::view::{BookView, SiteView};
use crate::rules::{Check, Example, Family, Report, Rule};

pub const ACCESS_CODE: Rule = Rule {
    id: "access-code-in-text",
    family: Family::Privacy,
    grade: Grade::Breach,
    title: "The text gives away how to get in",
    looks_at: "Records of sites, visits, instruments, models and notices, front matter and text, and file names: digits after words for an alarm, a key safe, a door or gate code, and words for where a key is hidden. Quiet for fire and smoke alarms, for dates and sizes, and for the key of a lock-off.",
    why: "A record is copied, shared and kept for years; whoever reads it can open the door.",
    sources: &["UK GDPR article 5(1)(c) and (f)", "common practice"],
    bad: Example::Keys("sites/elm-row/2026-11-02-shed.md: {body: 'Came in by the side gate, code 4471. No photographs were needed.'}"),
    good: Example::Keys(
        "sites/elm-row/2026-11-02-shed.md: {body: 'Came in by the side gate; the customer has the code. Smoke alarm 2021 model on main/2. No photographs were needed.'}",
    ),
    cure: "Take it out, ask the customer to change it if this was ever pushed, and keep access details under private/.",
    check: Check::SiteAndBook(check_access, check_access_in_registers),
};

pub const CONTACT: Rule = Rule {
    id: "contact-in-text",
    family: Family::Privacy,
    grade: Grade::Breach,
    title: "The text or a file's name holds a telephone number, an e-mail address or a person's name",
    looks_at: "Records of sites, visits, instruments, models and notices, front matter and text, and file names: UK telephone numbers, e-mail addresses, and as a doubt Mr, Mrs or Ms with a name, and the names in private/contacts.yaml, for that site or, in a register, for any. Quiet for serials, references and supply numbers, and in registers for 03, 0800 and 0808 numbers: those are an office's and no person's.",
    why: "Personal details that stand apart can be left out of a copy; those in free text go wherever it goes.",
    sources: &["UK GDPR article 5(1)(c)", "common practice: people are kept in one separate file, keyed by site"],
    bad: Example::Keys("extent: the two new circuits; questions to 01632 960983"),
    good: Example::Keys("extent: the two new circuits; questions to the customer"),
    cure: "Name people by the part they play (customer, tenant, agent) and keep their details in private/contacts.yaml.",
    check: Check::SiteAndBook(check_contacts, check_contacts_in_registers),
};

pub const CARD_NUMBER: Rule = Rule {
    id: "card-number-in-text",
    family: Family::Privacy,
    grade: Grade::Breach,
    title: "The text holds what looks like a payment card's number",
    looks_at: "Records of sites, visits, instruments, models and notices, front matter and text: 15 or 16 digits that begin as card numbers do and fit their check digit (ISO/IEC 7812-1). Quiet for serials, references and supply numbers.",
    why: "A card number in a record can be used by anyone who ever sees a copy.",
    sources: &["ISO/IEC 7812-1 (check digit)", "common practice"],
    bad: Example::Keys("sites/elm-row/2026-11-02-shed.md: {body: 'Paid by card 4111 1111 1111 1111. No photographs were needed.'}"),
    good: Example::Keys("sites/elm-row/2026-11-02-shed.md: {body: 'Paid by card, order 4111 1111 1111 1112. No photographs were needed.'}"),
    cure: "Take it out, and out of the history if it was ever pushed; tell the customer.",
    check: Check::SiteAndBook(check_cards, check_cards_in_registers),
};

/// Something private: where it stands, and what it is.
pub struct Hit {
    /// Its bytes in the text.
    pub span: Range<usize>,
    /// What it is, with its article.
    pub words: &'static str,
    grade: Grade,
}

/// What the place of a key is called. A hit names its first word only: where the place ends, the text does not say.
pub const HIDDEN_KEY: &str = "where a key is hidden";

/// What opens a door or pays a bill: access codes, where keys are hidden, payment cards' numbers.
pub fn secrets(text: &str) -> Vec<Hit> {
    let mut hits = access_codes(text);
    hits.extend(cards(text));
    hits
}

/// Who somebody is and how to reach them: telephone numbers, e-mail addresses, titled names, and the full names in `contacts`.
pub fn personal(text: &str, contacts: &[String]) -> Vec<Hit> {
    let mut hits = telephones(text);
    hits.extend(addresses(text));
    hits.extend(titled_names(text));
    hits.extend(known_names(text, contacts));
    hits
}

/// Whether a file's name reads as if it held an access code; a day at its beginning is none.
pub fn name_has_code(name: &str) -> bool {
    let words = name.replace(['-', '_', '.'], " ");
    !access_codes(words.get(10..).unwrap_or_default()).is_empty()
}

/// Whether a file's name holds a telephone number or an e-mail address.
pub fn name_has_reach(name: &str) -> bool {
    let has_number = !telephones(name).is_empty() || !telephones(name.get(11..).unwrap_or_default()).is_empty();
    has_number || !addresses(name).is_empty()
}

/// The texts of a site: its records, whole.
fn sources<'a>(site: &SiteView<'a>) -> impl Iterator<Item = &'a Arc<SourceFile>> {
    let records = site.records;
    records.site.iter().map(|record| &record.source).chain(records.jobs.iter().map(|record| &record.source))
}

/// The texts of the registers: records of instruments, models and notices, whole. What stands in `book.yaml` is its owner's.
fn register_sources(book: &Book) -> impl Iterator<Item = &Arc<SourceFile>> {
    let instruments = book.instruments.values().map(|record| &record.source);
    let models = book.models.values().map(|record| &record.source);
    instruments.chain(models).chain(book.recalls.values().map(|record| &record.source))
}

fn last_part(path: &str) -> &str {
    path.rsplit('/').next().unwrap_or(path)
}

/// The files of a site whose names are somebody's choice, with the name alone.
fn names<'a>(site: &SiteView<'a>) -> impl Iterator<Item = (&'a str, &'a str)> {
    let files = &site.records.files;
    files.jobs.iter().chain(&files.others).map(|file| (file.as_str(), last_part(file)))
}

const REACH_IN_NAME: &str = "a telephone number or an e-mail address";

fn tell(source: &Arc<SourceFile>, hit: Hit, report: &mut Report<'_>) {
    let place = Place::bytes(source, FieldPath::root(), hit.span);
    report.raise(place, format!("this reads like {}", hit.words)).grade(hit.grade).label(hit.words);
}

fn tell_name(file: &str, words: &str, grade: Grade, report: &mut Report<'_>) {
    let source = SourceFile::unread(file.to_owned());
    let place = Place::bytes(&Arc::new(source), FieldPath::root(), 0..0);
    report.raise(place, format!("this file's name holds {words}")).grade(grade);
}

fn tell_access(source: &Arc<SourceFile>, report: &mut Report<'_>) {
    for hit in access_codes(&source.text) {
        tell(source, hit, report);
    }
}

fn tell_access_in_name(file: &str, name: &str, report: &mut Report<'_>) {
    if name_has_code(name) {
        tell_name(file, "what reads like an access code", Grade::Breach, report);
    }
}

fn check_access(site: &SiteView<'_>, report: &mut Report<'_>) {
    sources(site).for_each(|source| tell_access(source, report));
    names(site).for_each(|(file, name)| tell_access_in_name(file, name, report));
}

fn check_access_in_registers(view: BookView<'_>, report: &mut Report<'_>) {
    for source in register_sources(view.book) {
        tell_access(source, report);
        tell_access_in_name(&source.path, last_part(&source.path), report);
    }
}

fn check_contacts(site: &SiteView<'_>, report: &mut Report<'_>) {
    let contacts = site.book.contacts.names(site.id());
    for source in sources(site) {
        let text = &source.text;
        for hit in personal(text, contacts) {
            tell(source, hit, report);
        }
    }
    for (file, name) in names(site) {
        if name_has_reach(name) {
            tell_name(file, REACH_IN_NAME, Grade::Breach, report);
        } else if has_surname(name, contacts) {
            tell_name(file, "the name of a person in private/contacts.yaml", Grade::Doubt, report);
        }
    }
    if has_surname(site.id(), contacts) {
        let finding = report.raise(site.place(FieldPath::root()), "this site's folder is named after a person in private/contacts.yaml");
        finding.grade(Grade::Doubt).subject(site.id());
    }
}

fn check_contacts_in_registers(view: BookView<'_>, report: &mut Report<'_>) {
    let everyone: Vec<String> = view.book.contacts.all().map(str::to_owned).collect();
    for source in register_sources(view.book) {
        let text = &source.text;
        for hit in personal(text, &everyone).into_iter().filter(|hit| !is_office_number(&text[hit.span.clone()])) {
            tell(source, hit, report);
        }
        if name_has_reach(last_part(&source.path)) {
            tell_name(&source.path, REACH_IN_NAME, Grade::Breach, report);
        }
    }
}

/// Whether a telephone number is of a kind that only offices have: 03, 0800 or 0808, as Ofcom's numbering plan gives them out.
fn is_office_number(text: &str) -> bool {
    let digits: String = text.chars().filter(char::is_ascii_digit).collect();
    let national = digits.strip_prefix("0044").or_else(|| digits.strip_prefix("44")).unwrap_or(&digits);
    let national = national.strip_prefix('0').unwrap_or(national);
    ["3", "800", "808"].iter().any(|code| national.starts_with(code)) && !text.contains('@')
}

fn check_cards(site: &SiteView<'_>, report: &mut Report<'_>) {
    sources(site).for_each(|source| tell_cards(source, report));
}

fn check_cards_in_registers(view: BookView<'_>, report: &mut Report<'_>) {
    register_sources(view.book).for_each(|source| tell_cards(source, report));
}

fn tell_cards(source: &Arc<SourceFile>, report: &mut Report<'_>) {
    for hit in cards(&source.text) {
        tell(source, hit, report);
    }
}

/// Keys whose values are numbers of another kind.
const NUMBER_KEYS: [&str; 11] =
    ["serial", "unit", "ref", "number", "certificate", "mpan", "firmware", "firmware_below", "clause", "from", "to"];

/// Whether the value at `at` stands under a key of the front matter that holds another kind of number.
fn is_other_number(text: &str, at: usize) -> bool {
    let line = text[..at].rsplit('\n').next().unwrap_or_default();
    let Some((before, _)) = line.rsplit_once(": ") else { return false };
    let key = before.rsplit(|c: char| !(c.is_ascii_alphanumeric() || c == '_')).next().unwrap_or_default();
    NUMBER_KEYS.contains(&key)
}

/// Digits from `start` with single spaces, hyphens or brackets between them, at most `most`; their text and where they end.
fn digits_from(text: &str, start: usize, most: usize) -> (String, usize) {
    let bytes = text.as_bytes();
    let (mut digits, mut at, mut end) = (String::new(), start, start);
    let mut gap = 0;
    while let Some(byte) = bytes.get(at).filter(|_| digits.len() < most) {
        match byte {
            b'0'..=b'9' => {
                digits.push(char::from(*byte));
                gap = 0;
                end = at + 1;
            }
            b' ' | b'-' | b'(' | b')' if gap < 2 => gap += 1,
            _ => break,
        }
        at += 1;
    }
    (digits, end)
}

/// A byte that a telephone or card number may be written with.
const fn is_of_number(byte: u8) -> bool {
    matches!(byte, b'0'..=b'9' | b' ' | b'-' | b'(' | b')' | b'+')
}

/// Stretches of at least `least` bytes that a telephone or card number may be written with. In a record they are rare: nearly all of its
/// bytes are stepped over unseen, since such a stretch has one at every place that is a multiple of its least length.
fn number_stretches(text: &str, least: usize) -> impl Iterator<Item = Range<usize>> {
    let bytes = text.as_bytes();
    let mut at = least - 1;
    std::iter::from_fn(move || {
        while let Some(byte) = bytes.get(at) {
            if !is_of_number(*byte) {
                at += least;
                continue;
            }
            let start = at - bytes[..at].iter().rev().take_while(|byte| is_of_number(**byte)).count();
            let end = at + bytes[at..].iter().take_while(|byte| is_of_number(**byte)).count();
            at = end + least;
            if end - start >= least {
                return Some(start..end);
            }
        }
        None
    })
}

/// Places where a number of at least `least` bytes may begin: a digit or `+` that nothing belongs to on its left.
fn number_starts(text: &str, least: usize) -> impl Iterator<Item = usize> {
    let bytes = text.as_bytes();
    number_stretches(text, least).flatten().filter(move |at| {
        let before = at.checked_sub(1).and_then(|at| bytes.get(at)).copied().unwrap_or(b' ');
        let begins = bytes[*at].is_ascii_digit() || bytes[*at] == b'+';
        begins && !(before.is_ascii_alphanumeric() || matches!(before, b'.' | b'-' | b'/' | b'+' | b'_' | b'#'))
    })
}

/// Whether nothing that belongs to a number follows it.
fn ends_at(text: &str, end: usize) -> bool {
    text.as_bytes().get(end).is_none_or(|byte| !byte.is_ascii_alphanumeric())
}

/// Digits of a UK telephone number as it is dialled within the country, its leading nought among them (Ofcom's numbering plan).
const TELEPHONE_DIGITS: usize = 11;
/// Digits of the shortest payment card number told of here.
const CARD_DIGITS: usize = 15;

fn telephones(text: &str) -> Vec<Hit> {
    let mut hits = Vec::new();
    let mut from = 0;
    for start in number_starts(text, TELEPHONE_DIGITS) {
        let rest = &text[start..];
        let prefix = ["+44", "0044"].iter().find(|prefix| rest.starts_with(**prefix)).map_or(0, |prefix| prefix.len());
        // Nearly every number in a record is a reading: its second character tells.
        let national = rest.starts_with('0') && rest.as_bytes().get(1).is_some_and(|byte| byte.is_ascii_digit() || b" (-".contains(byte));
        if start < from || !(prefix > 0 || national) {
            continue;
        }
        let (mut digits, end) = digits_from(text, start + prefix, TELEPHONE_DIGITS);
        if prefix > 0 && !digits.starts_with('0') {
            digits.insert(0, '0');
            digits.truncate(TELEPHONE_DIGITS);
        }
        let known = ["01", "02", "03", "07", "08"].iter().any(|code| digits.starts_with(code));
        // The area code stands together: `0 1 2 3` down a column is no telephone number.
        let first_group = rest[prefix..].trim_start().bytes().take_while(|byte| byte.is_ascii_digit() || *byte == b'(').count();
        if known && digits.len() == TELEPHONE_DIGITS && first_group >= 3 && ends_at(text, end) && !is_other_number(text, start) {
            hits.push(Hit { span: start..end, words: "a telephone number", grade: Grade::Breach });
            from = end;
        }
    }
    hits
}

fn addresses(text: &str) -> Vec<Hit> {
    let is_local = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '%' | '+' | '-');
    let is_domain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-');
    let hits = text.match_indices('@').filter_map(|(at, _)| {
        let start = at - text[..at].chars().rev().take_while(|c| is_local(*c)).map(char::len_utf8).sum::<usize>();
        let domain: &str = text[at + 1..].split(|c: char| !is_domain(c)).next().unwrap_or_default().trim_end_matches('.');
        let (host, ending) = domain.rsplit_once('.')?;
        let sound = start < at && !host.is_empty() && ending.len() >= 2 && ending.bytes().all(|byte| byte.is_ascii_alphabetic());
        sound.then(|| Hit { span: start..at + 1 + domain.len(), words: "an e-mail address", grade: Grade::Breach })
    });
    hits.collect()
}

fn titled_names(text: &str) -> Vec<Hit> {
    let mut hits = Vec::new();
    for (at, _) in text.match_indices('M') {
        for title in ["Mr", "Mrs", "Ms"].into_iter().filter(|title| text[at..].starts_with(title)) {
            let after = text[at + title.len()..].strip_prefix('.').unwrap_or(&text[at + title.len()..]);
            let name = after.strip_prefix(' ').unwrap_or_default();
            let begins = !text[..at].ends_with(char::is_alphanumeric);
            let length = name.chars().take_while(|c| c.is_alphabetic() || matches!(c, '\'' | '-')).map(char::len_utf8).sum::<usize>();
            if begins && length > 1 && name.starts_with(char::is_uppercase) {
                let skipped = text.len() - at - name.len();
                hits.push(Hit { span: at..at + skipped + length, words: "a person's name", grade: Grade::Doubt });
            }
        }
    }
    hits
}

/// Full names from the contacts, as whole words and whatever their capitals.
fn known_names(text: &str, contacts: &[String]) -> Vec<Hit> {
    let mut hits = Vec::new();
    if contacts.is_empty() {
        return hits;
    }
    // Lower case of ASCII alone keeps every byte where it is.
    let lower = text.to_ascii_lowercase();
    for name in contacts.iter().filter(|name| name.split_whitespace().count() > 1) {
        let name = name.to_ascii_lowercase();
        for (at, _) in lower.match_indices(&name) {
            let whole = !lower[..at].ends_with(char::is_alphanumeric) && !lower[at + name.len()..].starts_with(char::is_alphanumeric);
            if whole {
                hits.push(Hit { span: at..at + name.len(), words: "the name of a contact", grade: Grade::Breach });
            }
        }
    }
    hits
}

/// Whether a text holds what no copy should: a telephone number, an e-mail address, an access code, where a key is hidden, a card number,
/// a person's name behind a title, or any name of these contacts, the surname alone among them.
pub fn is_private(text: &str, contacts: &[String]) -> bool {
    !secrets(text).is_empty() || !personal(text, contacts).is_empty() || names_contact(text, contacts)
}

/// Whether a site's id or another short text names one of these contacts.
pub fn names_contact(text: &str, contacts: &[String]) -> bool {
    has_surname(text, contacts)
}

/// Whether a file's or a folder's name has the last word of a contact's name as a word of its own.
fn has_surname(name: &str, contacts: &[String]) -> bool {
    let words: Vec<String> = name.split(|c: char| !c.is_alphanumeric()).map(str::to_lowercase).collect();
    let surnames = contacts.iter().filter_map(|name| name.split_whitespace().last()).filter(|surname| surname.chars().count() >= 3);
    surnames.map(str::to_lowercase).any(|surname| words.contains(&surname))
}

fn cards(text: &str) -> Vec<Hit> {
    let mut hits = Vec::new();
    let mut from = 0;
    for start in number_starts(text, CARD_DIGITS).filter(|start| text.as_bytes()[*start] != b'+') {
        let could_be = text
            .as_bytes()
            .get(start..start + CARD_DIGITS)
            .is_some_and(|part| part.iter().all(|byte| byte.is_ascii_digit() || b" -()".contains(byte)));
        if start < from || !could_be {
            continue;
        }
        let (digits, end) = digits_from(text, start, 20);
        let begins = match digits.len() {
            CARD_DIGITS => ["34", "37"].iter().any(|prefix| digits.starts_with(prefix)),
            16 => digits.starts_with(['2', '4', '5', '6']),
            _ => false,
        };
        if begins && fits_luhn(&digits) && ends_at(text, end) && !is_other_number(text, start) {
            hits.push(Hit { span: start..end, words: "a payment card's number", grade: Grade::Breach });
        }
        from = from.max(end);
    }
    hits
}

/// The check digit of ISO/IEC 7812-1 annex B.
fn fits_luhn(digits: &str) -> bool {
    let sum: u32 = digits
        .bytes()
        .rev()
        .enumerate()
        .map(|(place, byte)| {
            let digit = u32::from(byte - b'0') * if place % 2 == 1 { 2 } else { 1 };
            if digit > 9 { digit - 9 } else { digit }
        })
        .sum();
    sum.is_multiple_of(10)
}

/// A word and where it stands.
struct Word<'t> {
    text: &'t str,
    span: Range<usize>,
}

fn words_of(line: &str, start: usize) -> Vec<Word<'_>> {
    let mut words = Vec::new();
    let mut at = 0;
    for part in line.split(|c: char| !(c.is_alphanumeric() || matches!(c, '.' | '\''))) {
        let text = part.trim_matches(['.', '\'']);
        if !text.is_empty() {
            let begin = at + (part.len() - part.trim_start_matches(['.', '\'']).len());
            words.push(Word { text, span: start + begin..start + begin + text.len() });
        }
        at += part.len();
        at += line[at..].chars().next().map_or(0, char::len_utf8);
    }
    words
}

/// Things that a code opens by itself.
const LOCKED: [&str; 8] = ["alarm", "keysafe", "lockbox", "keybox", "keypad", "burglar", "intruder", "padlock"];
/// Things that have a code only where one is spoken of.
const OPENED: [&str; 9] = ["gate", "door", "safe", "box", "entry", "lock", "shutter", "barrier", "garage"];
/// Words for a code.
const CODES: [&str; 6] = ["code", "codes", "pin", "combination", "combo", "passcode"];
/// All words that make a line worth a closer look.
static SPEAKS_OF_ACCESS: LazyLock<Speaks> = LazyLock::new(|| {
    let words = || LOCKED.iter().chain(&CODES).chain(&["key"]);
    Speaks { packed: packed::Searcher::new(words()), automaton: AhoCorasick::new(words()).ok() }
});

/// Looks for any of a few words in a text in small letters: many bytes at once where the machine can do that.
struct Speaks {
    packed: Option<packed::Searcher>,
    automaton: Option<AhoCorasick>,
}

impl Speaks {
    fn is_match(&self, text: &str) -> bool {
        match &self.packed {
            Some(words) => words.find(text).is_some(),
            None => self.automaton.as_ref().is_none_or(|words| words.is_match(text)),
        }
    }
}

/// Words that may stand between the thing and its digits.
const BETWEEN: [&str; 22] = [
    "is",
    "no",
    "number",
    "the",
    "for",
    "of",
    "to",
    "set",
    "unset",
    "on",
    "now",
    "side",
    "front",
    "back",
    "main",
    "key",
    "and",
    "was",
    "customer's",
    "at",
    "by",
    "in",
];
/// Units, after which digits are a measure.
const UNITS: [&str; 12] = ["v", "a", "ma", "mm", "m", "w", "kw", "ohm", "ms", "mm2", "min", "minutes"];
/// Alarms that open nothing.
const FIRE: [&str; 7] = ["smoke", "fire", "heat", "co", "monoxide", "detection", "detector"];

fn access_codes(text: &str) -> Vec<Hit> {
    let mut hits = Vec::new();
    // Lower case of ASCII alone keeps every byte where it is.
    let lower = text.to_ascii_lowercase();
    // Most records have none of these words; lines are looked at only where one does.
    if !SPEAKS_OF_ACCESS.is_match(&lower) {
        return hits;
    }
    let mut start = 0;
    for line in lower.split_inclusive('\n') {
        if SPEAKS_OF_ACCESS.is_match(line) {
            let words = words_of(line, start);
            hits.extend(codes_in(&words));
            hits.extend(hidden_key(&words, line));
        }
        start += line.len();
    }
    hits
}

/// Digits of three to eight that follow a word for what they open, with nothing but small words between.
fn codes_in(words: &[Word<'_>]) -> Vec<Hit> {
    let mut hits = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let digits = word.text.bytes().all(|byte| byte.is_ascii_digit()) && (3..=8).contains(&word.text.len());
        if !digits {
            continue;
        }
        let lead: Vec<&str> = words[..at].iter().rev().map(|word| word.text).take_while(|word| is_lead(word)).collect();
        let fire = FIRE.iter().any(|fire| words[..at].iter().rev().take(lead.len() + 3).any(|word| word.text == *fire));
        let has = |known: &[&str]| lead.iter().any(|word| known.contains(word));
        let code = has(&CODES);
        let year = word.text.len() == 4 && ["19", "20"].iter().any(|century| word.text.starts_with(century));
        let measure = words.get(at + 1).is_some_and(|next| UNITS.contains(&next.text));
        let bare = has(&LOCKED) && !fire && !year && !measure && word.text.len() >= 4;
        let opens = if code { has(&LOCKED) || has(&OPENED) } else { bare };
        if opens {
            hits.push(Hit { span: word.span.clone(), words: "an access code", grade: Grade::Breach });
        }
    }
    hits
}

fn is_lead(word: &str) -> bool {
    LOCKED.contains(&word) || OPENED.contains(&word) || CODES.contains(&word) || BETWEEN.contains(&word)
}

/// `key under the mat`, `spare keys are behind the pot`.
fn hidden_key(words: &[Word<'_>], line: &str) -> Option<Hit> {
    // The key of a lock-off belongs to the record: somebody's life may hang on finding it.
    if ["lock-off", "locked off", "padlock", "isolat"].iter().any(|word| line.contains(word)) {
        return None;
    }
    let small = ["is", "are", "was", "were", "kept", "left", "hidden", "hangs", "lives"];
    let under = ["under", "underneath", "beneath", "behind", "above", "inside"];
    words.iter().enumerate().filter(|(_, word)| matches!(word.text, "key" | "keys")).find_map(|(at, key)| {
        let place = words[at + 1..].iter().find(|word| !small.contains(&word.text))?;
        let hit = Hit { span: key.span.start..place.span.end, words: HIDDEN_KEY, grade: Grade::Breach };
        under.contains(&place.text).then_some(hit)
    })
}
