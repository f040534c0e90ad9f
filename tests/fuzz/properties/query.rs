//! What `find` is asked.

use ampledger::book::{Book, SourceFile, Step, Written};
use ampledger::flat;
use ampledger::query::Query;
use ampledger::search::{Memory, Words};
use ampledger::sheets::{self, Sheet};
use serde_json::Value;

use super::{JOB, sound_book};

/// What `find` is asked: a filter where it begins with `$`, words otherwise. Either a reason that points into what was typed, or an
/// answer that lies in the record, the same twice.
pub fn query(bytes: &[u8]) {
    let typed = String::from_utf8_lossy(bytes);
    if typed.starts_with('$') { filter(&typed) } else { words(&typed) }
}

/// A record as it is searched, and as it is filtered.
struct Sought {
    sheet: &'static Sheet,
    written: Written<'static>,
    form: Value,
}

thread_local! {
    static SHED: Sought = shed();
}

/// The sound book's visit.
fn shed() -> Sought {
    let book = Book::open(&sound_book()).expect("the sound book opens");
    let (records, _) = book.read_site(book.site("elm-row").expect("its site"));
    let sheet = sheets::of_site(&records).into_iter().find(|sheet| sheet.source.path == JOB).expect("the visit");
    // As long as the program: both are read thousands of times a second.
    let sheet: &'static Sheet = Box::leak(Box::new(sheet));
    let file: &'static SourceFile = &sheet.source;
    let form = flat::Forms::new().json(sheet, Written::of(file).as_ref());
    Sought { sheet, written: Written::of(file).expect("sound"), form }
}

fn filter(typed: &str) {
    // What a filter may not have too much of is counted, and stands nowhere in particular.
    const COUNTED: [&str; 9] = [
        "longer than",
        "deep",
        "too often",
        "side by side",
        "too many places",
        "in quotes",
        "too large",
        "no regular expression",
        "no closing",
    ];
    SHED.with(|Sought { form, .. }| match Query::new(typed) {
        Ok(query) => {
            let selected = query.select(form);
            for value in &selected {
                let there = value.path.steps().iter().try_fold(form, |value, step| match step {
                    Step::Key(key) => value.get(key.as_ref()),
                    Step::Index(index) => value.get(*index),
                });
                assert_eq!(there, Some(value.value), "{:?} is not what stands there", value.path);
            }
            let again = Query::new(typed).expect("read before");
            let again = again.select(form);
            assert!(selected.iter().map(|value| &value.path).eq(again.iter().map(|value| &value.path)), "twice is not once");
        }
        Err(why) => {
            let place = why.split_once("at character ").and_then(|(_, rest)| rest.split_once(':')?.0.parse::<usize>().ok());
            match place {
                Some(place) => assert!((1..=typed.chars().count() + 1).contains(&place), "{why}"),
                None => assert!(COUNTED.iter().any(|known| why.contains(known)), "{why}"),
            }
        }
    });
}

fn words(typed: &str) {
    assert!(Query::new(typed).is_err(), "a JSONPath begins with $");
    let words: Vec<String> = typed.split('\n').map(str::to_owned).collect();
    let asked = Words::new(&words);
    SHED.with(|Sought { sheet, written, .. }| {
        let looked = asked.look_in(sheet, Some(written), &Memory::default());
        assert_eq!(looked.holds.len(), asked.iter().count());
        if let Some(found) = &looked.found {
            let text = &sheet.source.text;
            assert!(text.get(found.passage.clone()).is_some() && text.is_char_boundary(found.at), "{found:?}");
            assert!(found.passage.contains(&found.at) && looked.holds.iter().all(|holds| *holds), "{found:?}");
        }
        let again = asked.look_in(sheet, Some(written), &Memory::default());
        assert_eq!(format!("{looked:?}"), format!("{again:?}"), "twice is not once");
    });
}
