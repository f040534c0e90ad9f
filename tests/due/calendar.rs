//! The calendar of what is owed: RFC 5545 by its bytes and by a second reader, and nothing private in it.

use icalendar::parser::{Component, read_calendar, unfold};

use super::{ONE_OF_EACH, fault, with};
use crate::cli::run;
use crate::support::{TODAY, TestBook, apply, repository};

/// The calendar of a book over a year.
fn calendar(book: &TestBook) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("owed.ics");
    let ran = run(book.root(), &["due", "--on", TODAY, "--within", "1y", "--ical", file.to_str().unwrap()]);
    assert_eq!(ran.err, "");
    std::fs::read_to_string(file).unwrap()
}

/// Holds what RFC 5545 asks of lines: CRLF and nothing else ends one (3.1), none is longer than 75 octets, none is empty.
fn hold_lines(text: &str) {
    assert!(text.ends_with("END:VCALENDAR\r\n"));
    for line in text.strip_suffix("\r\n").unwrap().split("\r\n") {
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
        assert!(!line.is_empty() && !line.contains(['\r', '\n']) && !line.chars().any(|c| c.is_control()), "{line:?}");
    }
}

/// The events, as the second reader has them.
fn events<'t>(unfolded: &'t str) -> Vec<Component<'t>> {
    let calendar = read_calendar(unfolded).unwrap();
    let has = |name: &str, value: &str| calendar.properties.iter().any(|property| property.name == name && property.val == value);
    assert!(has("VERSION", "2.0") && has("PRODID", "-//ampledger//due//EN"));
    calendar.components.into_iter().filter(|component| component.name == "VEVENT").collect()
}

fn value<'c>(event: &'c Component<'_>, name: &str) -> &'c str {
    event.find_prop(name).unwrap_or_else(|| panic!("no {name}")).val.as_str()
}

/// The event whose summary has these words.
fn find<'e, 't>(events: &'e [Component<'t>], words: &str) -> &'e Component<'t> {
    let found: Vec<_> = events.iter().filter(|event| value(event, "SUMMARY").contains(words)).collect();
    assert_eq!(found.len(), 1, "{words}");
    found[0]
}

const FULL: &str = "sites/elm-row/site.md: {privacy: {share: full}}\n";

#[test]
fn a_second_reader_finds_every_dated_item_once_with_all_that_an_event_must_have() {
    let book = with(&format!("{ONE_OF_EACH}{FULL}"));
    let text = calendar(&book);
    hold_lines(&text);
    let report = run(book.root(), &["due", "--on", TODAY, "--within", "1y", "--format", "json"]).out;
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
    let dated: Vec<&serde_json::Value> = report["items"].as_array().unwrap().iter().filter(|item| !item["day"].is_null()).collect();
    let unfolded = unfold(&text);
    let events = events(&unfolded);
    assert_eq!(events.len(), dated.len());
    for (event, item) in events.iter().zip(&dated) {
        let day = item["day"].as_str().unwrap().replace('-', "");
        assert_eq!(value(event, "DTSTART"), day);
        assert!(event.find_prop("DTSTART").unwrap().params.iter().any(|param| param.key == "VALUE"));
        assert!(value(event, "DTEND") > day.as_str());
        assert_eq!(value(event, "DTSTAMP"), "20261125T000000Z");
        assert_eq!(value(event, "UID"), format!("{}@ampledger", item["uid"].as_str().unwrap()));
        let over = item["days_left"].as_i64().unwrap() < 0;
        assert_eq!(value(event, "DESCRIPTION").contains("Overdue since"), over);
        assert_eq!(event.components.len(), usize::from(!over), "an alarm for what is still to come");
    }
    let mut uids: Vec<&str> = events.iter().map(|event| value(event, "UID")).collect();
    uids.sort_unstable();
    uids.dedup();
    assert_eq!(uids.len(), events.len());
    // The end of a month: an event of 2026-11-30 ends on 2026-12-01.
    let month = with(&fault("state: open, return_by: 2026-11-30"));
    assert!(calendar(&month).contains("DTSTART;VALUE=DATE:20261130\r\nDTEND;VALUE=DATE:20261201\r\n"));
}

#[test]
fn text_is_escaped_and_folded_between_characters() {
    let promise = "follow_ups: [{what: \"a\\\\b; c, d\\nEND:VEVENT \u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{3a9}\u{1F50C} \\u001b[2J\", due: 2026-12-10}]\n";
    let text = calendar(&with(&format!("{promise}{FULL}")));
    hold_lines(&text);
    let raw = text.replace("\r\n ", "");
    assert!(raw.contains("SUMMARY:promise: elm-row: a\\\\b\\; c\\, d\\nEND:VEVENT \u{3a9}"), "{raw}");
    assert!(raw.contains("\u{1F50C} \u{fffd}[2J\r\n"), "{raw}");
    let unfolded = unfold(&text);
    let events = events(&unfolded);
    let summary = value(find(&events, "END:VEVENT"), "SUMMARY");
    assert!(summary.starts_with("promise: elm-row: a\\b; c, d\nEND:VEVENT"), "{summary}");
    // Four octets a character: at one of four beginnings each fold would fall within one.
    for pad in 0..4 {
        let plugs = format!("{}{}", "x".repeat(pad), "\u{1F50C}".repeat(40));
        let text = calendar(&with(&format!("follow_ups: [{{what: \"{plugs}\", due: 2026-12-10}}]\n{FULL}")));
        hold_lines(&text);
        assert!(text.replace("\r\n ", "").contains(&format!("SUMMARY:promise: elm-row: {plugs}\r\n")));
    }
}

#[test]
fn a_moved_date_moves_the_event_and_keeps_its_name() {
    let named = |day: &str, task: &str| {
        let book = with(&format!(
            "{}body: \"No photographs.\\n\\n- [ ] label it (by {task})\\n\"\n",
            fault(&format!("state: open, return_by: {day}"))
        ));
        let text = calendar(&book);
        let unfolded = unfold(&text);
        let mut named: Vec<(String, String)> =
            events(&unfolded).iter().map(|event| (value(event, "UID").to_owned(), value(event, "DTSTART").to_owned())).collect();
        named.sort();
        named
    };
    let (before, after) = (named("2026-12-01", "2026-12-10"), named("2027-02-28", "2027-01-31"));
    let uids = |named: &[(String, String)]| named.iter().map(|(uid, _)| uid.clone()).collect::<Vec<_>>();
    assert_eq!(uids(&before), uids(&after));
    let moved = before.iter().zip(&after).filter(|(before, after)| before.1 != after.1).count();
    assert_eq!(moved, 2);
}

#[test]
fn only_the_kind_the_day_and_the_site_leave_unless_the_site_shares_everything() {
    for share in ["none", "redacted"] {
        let book = with(&format!("{ONE_OF_EACH}sites/elm-row/site.md: {{privacy: {{share: {share}}}}}\n"));
        let text = calendar(&book).replace("\r\n ", "");
        for word in
            ["CP-204117", "charge point", "wholesaler", "R-88", "photographs", "isolator", "2026-11-02-shed", "loft", "Second light"]
        {
            assert!(!text.contains(word), "{share}: {word}");
        }
        let unfolded = unfold(&text);
        let events = events(&unfolded);
        assert_eq!(value(find(&events, "danger, return"), "SUMMARY"), "danger, return: elm-row");
        assert_eq!(value(find(&events, "promise"), "SUMMARY"), "promise: elm-row");
        assert!(value(find(&events, "danger, return"), "DESCRIPTION").starts_with("Overdue since 2026-11-13; 12 days over on 2026-11-25."));
    }
}

#[test]
fn a_site_that_shares_everything_still_keeps_people_codes_and_serials() {
    let book = with(FULL);
    book.write(
        "private/contacts.yaml",
        "elm-row: {name: Wilhelmina Pettigrew, telephone: \"01632 960999\"}\nbrick-lane: {name: \"Owner, D. Fennimore\"}\n",
    );
    let promises = [
        "ring Wilhelmina Pettigrew",
        "ask pettigrew about the gate",
        "ask d. fennimore next door",
        "ring 01632 960101",
        "write to someone@example.org",
        "gate code 4471 before noon",
        "spare key under the pot",
        "see Mr Bracken",
        "send back CP 204117",
    ];
    for promise in promises {
        apply(book.root(), &format!("follow_ups: [{{what: {promise}, due: 2026-12-10}}]"));
        let text = calendar(&book).replace("\r\n ", "");
        assert!(text.contains("SUMMARY:promise: elm-row\r\n"), "{promise}: {text}");
        assert!(!text.contains(promise), "{promise}");
    }
    apply(book.root(), "follow_ups: [{what: send the photographs, due: 2026-12-10}]");
    assert!(calendar(&book).contains("SUMMARY:promise: elm-row: send the photographs\r\n"));
    // Names that cannot be read cannot be looked for.
    book.write("private/contacts.yaml", "elm-row: {name: Wilhelmina\n");
    assert!(calendar(&book).contains("SUMMARY:promise: elm-row\r\n"));
    // A folder named after somebody is not named either.
    book.write("private/contacts.yaml", "elm-row: {name: Wilhelmina Row}\n");
    assert!(calendar(&book).contains("SUMMARY:promise: a site\r\n"));
}

#[test]
fn its_own_file_is_replaced_and_no_other() {
    let book = TestBook::sound();
    let write = || run(book.root(), &["due", "--on", TODAY, "--ical", "owed.ics"]);
    assert!(write().out.ends_with("owed.ics: 1 event; 0 without a day left out\n"));
    let first = book.read("owed.ics");
    assert_eq!(write().status, 0);
    assert_eq!(book.read("owed.ics"), first, "the same bytes on the same day");
    apply(book.root(), &fault("state: open, return_by: 2026-12-01"));
    write();
    assert!(book.read("owed.ics").contains("DTSTART;VALUE=DATE:20261201"));
    for other in [
        "",
        "BEGIN:VCALENDAR\r\nPRODID:-//somebody//else//EN\r\nX:PRODID:-//ampledger//due//EN\r\n",
        "notes\nPRODID:-//ampledger//due//EN\n",
    ] {
        book.write("owed.ics", other);
        let ran = write();
        assert_eq!((ran.status, ran.out.as_str()), (2, ""));
        assert!(ran.err.contains("owed.ics is there already"), "{}", ran.err);
        assert_eq!(book.read("owed.ics"), other);
    }
    let record = run(book.root(), &["due", "--on", TODAY, "--ical", "sites/elm-row/site.md"]);
    assert_eq!(record.status, 2);
    let nowhere = run(book.root(), &["due", "--on", TODAY, "--ical", "no/such/folder/owed.ics"]);
    assert_eq!((nowhere.status, nowhere.out.as_str()), (2, ""));
}

#[test]
fn a_calendar_with_nothing_in_it_is_still_one() {
    let book = TestBook::sound();
    run(book.root(), &["due", "--on", TODAY, "--within", "1d", "--ical", "owed.ics"]);
    let text = book.read("owed.ics");
    hold_lines(&text);
    let unfolded = unfold(&text);
    assert_eq!(events(&unfolded).len(), 0);
    assert!(text.contains("BEGIN:VTIMEZONE\r\n"), "a calendar holds a component at least (RFC 5545, 3.4)");
}

#[test]
fn the_calendar_of_the_example_book_as_reviewed() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("owed.ics");
    run(&repository(), &["due", "example-sites", "--on", TODAY, "--ical", file.to_str().unwrap()]);
    let text = std::fs::read_to_string(&file).unwrap();
    hold_lines(&text);
    insta::assert_snapshot!("calendar", text.replace("\r\n", "\n"));
}
