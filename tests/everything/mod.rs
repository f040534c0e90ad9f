//! What holds of every command in every format: nothing of private/ comes out, nothing in a record steers a terminal, no path in a record
//! leads out of the book, and a folder in disorder is read as far as it can be.

pub mod commands;
mod disorder;
mod paths;

use crate::support::{SOUND_JOB, TestBook, apply};
use commands::{Told, all, those};

/// Words that stand nowhere but in private/.
const MARKED: [&str; 11] = [
    "zorbentha",
    "quillmarsh",
    "900737",
    "900 737",
    "vexholm",
    "thrunby",
    "zq@marsh.example",
    "8305",
    "gramblewick",
    "pelliver",
    "ordwyck",
];

const CONTACTS: &str = "elm-row:
  name: Zorbentha Quillmarsh
  telephone: \"07700 900737\"
  email: zq@marsh.example
  address: 9 Vexholm Passage, Thrunby
  alarm: \"8305\"
  note: the dog is called Gramblewick
other-place: {tenant: Agent, landlord: [Pelliver Ordwyck]}
";

/// The sound book with marked words in every kind of file under private/.
fn private_book(contacts: &str) -> TestBook {
    let book = TestBook::sound();
    book.write("private/contacts.yaml", contacts);
    book.write("private/notes.md", "Zorbentha Quillmarsh, 07700 900737, shed charge elm-row");
    book.write("private/2026-11-02-shed.md", "---\nrecord: job\nkind: callout\ntitle: Gramblewick shed\n---\nVexholm, Thrunby 8305\n");
    book.write("private/sites/elm-row/2026-11-03-shed.md", "---\nrecord: job\nkind: callout\ntitle: Pelliver shed\n---\n");
    book.write("private/zorbentha-quillmarsh.csv", "Ordwyck,8305\n");
    // Something to be told of in every format.
    apply(
        book.root(),
        "circuits: [{id: main/1, readings: {zs_ohm: 1.9}}]\nfaults: [{id: f1, reported: 2026-11-02, symptom: heat, found: scorched, circuit: \
         main/1, unit: CP-204117, code: C2, state: open, left: live}]",
    );
    book
}

fn holding(told: &[Told], words: &[&str]) -> Vec<String> {
    let holds = |bytes: &[u8]| {
        let text = String::from_utf8_lossy(bytes).to_lowercase();
        words.iter().copied().filter(|word| text.contains(word)).collect::<Vec<_>>()
    };
    let mut leaks = Vec::new();
    for run in told {
        for (name, bytes) in [("stdout", &run.streams[0]), ("stderr", &run.streams[1])] {
            leaks.extend(holds(bytes).iter().map(|word| format!("{}: {word} in {name}", run.command)));
        }
        for (name, bytes) in &run.files {
            let both = [name.as_bytes(), bytes].concat();
            leaks.extend(holds(&both).iter().map(|word| format!("{}: {word} in {name}", run.command)));
        }
    }
    leaks
}

#[test]
fn nothing_of_private_comes_out_of_any_command() {
    let torn = CONTACTS.replace("elm-row:", "elm-row: [");
    let untidy = CONTACTS.replace("telephone:", "telephone:\t\u{7}");
    for contacts in [CONTACTS, &torn, &untidy] {
        let book = private_book(contacts);
        let before = commands::files(book.root());
        let leaks = holding(&all(&book), &MARKED);
        assert!(leaks.is_empty(), "{}", leaks.join("\n"));
        // What was written into the book itself: new records and seals.
        let written: Vec<(String, Vec<u8>)> =
            commands::files(book.root()).into_iter().filter(|(name, bytes)| before.get(name) != Some(bytes)).collect();
        let names: Vec<&String> = written.iter().map(|(name, _)| name).collect();
        assert!(names.len() >= 8, "{names:?}");
        for (name, bytes) in written {
            let text = format!("{name}\n{}", String::from_utf8_lossy(&bytes)).to_lowercase();
            assert!(!MARKED.iter().any(|word| text.contains(word)), "{text}");
        }
    }
}

/// A private word that somebody wrote into a record is shown where it stands, to whoever holds the record; what leaves the book does not
/// repeat it.
#[test]
fn what_leaves_the_book_repeats_no_private_word_of_a_record() {
    let book = private_book(CONTACTS);
    apply(
        book.root(),
        "title: Charge point for Quillmarsh\nextent: asked by Zorbentha Quillmarsh, 07700 900737\nfollow_ups: [{what: ring Quillmarsh on \
         07700 900737, due: 2026-12-01}, {what: send Quillmarsh the handbook}]\nfaults: [{id: f1, found: scorched as Zorbentha Quillmarsh \
         said, advice: {words: ring 07700 900737 Quillmarsh, how: verbal, on: 2026-11-02}}]\nbody: |\n  - [ ] ring Quillmarsh\n\n  Alarm \
         code 8305, at 9 Vexholm Passage.\nrecalls/2026-06-01-cover.md: {record: recall, issued: 2026-06-01, model: plover-7, serials: [{from: \
         CP-200000, to: CP-209999}], advice: tell Zorbentha Quillmarsh on 07700 900737}\nsites/elm-row/site.md: {privacy: {share: full}}\nsites/oak-lane/site.md: {record: site, name: Another house, premises: dwelling}",
    );
    let others = |command: &str| {
        let packed = command.starts_with("pack") && !command.contains("customer");
        packed || ["--ical", "sarif", "github", "gitlab", "junit", "markdown"].iter().any(|word| command.contains(word))
    };
    let leaving = |mut told: Vec<Told>| {
        // What is written leaves; beside it, the list stands on the owner's own screen.
        told.iter_mut().filter(|told| told.command.contains("--ical")).for_each(|told| told.streams = Default::default());
        told
    };
    // A customer who lets everything be shared still has no code in any copy.
    let told = leaving(those(&book, others));
    assert!(told.len() >= 9);
    let (packed, rest): (Vec<Told>, Vec<Told>) = told.into_iter().partition(|told| told.command.starts_with("pack"));
    let leaks = [holding(&packed, &["8305"]), holding(&rest, &["zorbentha quillmarsh", "900737", "900 737", "8305"])].concat();
    assert!(leaks.is_empty(), "{}", leaks.join("\n"));
    // Where less is shared, the name goes too, and the surname by itself.
    apply(book.root(), "sites/elm-row/site.md: {privacy: {share: redacted}}");
    let leaks = holding(&leaving(those(&book, |command| others(command) && command.starts_with("pack"))), &MARKED);
    assert!(leaks.is_empty(), "{}", leaks.join("\n"));
}

/// What a terminal would obey: colour, a new title, the bell, going back to the line's start, a C1 control, text turned around.
const STEERING: &str = "\u{1b}[31m\u{1b}]0;owned\u{7}\u{8}\u{b}\r\u{7f}\u{9b}2J\u{202e}";

/// Lays the steering characters into every text of a record, and leaves what names another thing alone.
fn steer(value: &mut serde_yaml::Value, key: &str) {
    const TEXTS: [&str; 21] = [
        "name",
        "title",
        "serves",
        "where",
        "what",
        "why",
        "how",
        "with",
        "found",
        "believed",
        "words",
        "ref",
        "number",
        "given_to",
        "told",
        "extent",
        "maker",
        "advice",
        "certificate",
        "pen_statement",
        "trading_as",
    ];
    match value {
        serde_yaml::Value::String(text) if TEXTS.contains(&key) => text.push_str(STEERING),
        serde_yaml::Value::Sequence(items) => items.iter_mut().for_each(|item| steer(item, key)),
        serde_yaml::Value::Mapping(map) => map.iter_mut().for_each(|(key, value)| {
            let key = key.as_str().unwrap_or_default().to_owned();
            steer(value, &key);
        }),
        _ => {}
    }
}

#[test]
fn no_command_lets_a_record_steer_the_terminal() {
    let book = private_book(CONTACTS);
    apply(
        book.root(),
        "extent: the two new circuits\njoints: [{where: lid, circuit: main/1, kind: screw, made_by: us, access: covered, conductor: solid, \
         torque_nm: 2.5, photo: photos/gone.jpg}]\nfollow_ups: [{what: send the handbook, with: customer, due: 2026-12-01}]\nobservations: \
         [{id: o1, code: C2, what: no lid, where: main/1}]\nlimitations: [{what: loft, why: no boards, kind: agreed}]\nanswers: [{rule: \
         zs-over-limit, why: asked}]\nrecalls/2026-06-01-cover.md: {record: recall, issued: 2026-06-01, model: plover-7, serials: [{from: \
         CP-200000, to: CP-209999}], advice: isolate it}",
    );
    for path in [SOUND_JOB, "sites/elm-row/site.md", "instruments/mft-1.md", "recalls/2026-06-01-cover.md"] {
        let text = book.read(path);
        let (front, body) = text.strip_prefix("---\n").unwrap().split_once("\n---\n").unwrap();
        let mut value = serde_yaml::from_str(front).unwrap();
        steer(&mut value, "");
        let front = serde_yaml::to_string(&value).unwrap();
        assert!(!front.contains('\u{1b}'), "as escapes, so that the values can be read");
        book.write(
            path,
            format!("---\n{front}---\n{body}\n# Head{STEERING}\n\n- [ ] open work{STEERING}\n\n![x](photos/x{STEERING}.jpg)\n"),
        );
    }
    book.write("sites/elm-row/2026-11-10-torn.md", format!("---\nrecord: job\nkind: {STEERING}\n{STEERING}: 1\ntitle: \"a\n---\n"));
    book.write(
        &format!("sites/elm-row/2026-11-11-a{STEERING}\nb.md"),
        "---\nrecord: job\nkind: callout\nstatus: draft\ntitle: shed\n---\n",
    );
    book.write(&format!("sites/elm-row/photos/2026-11-11 07700 900123{STEERING}\n.jpg"), "no picture");
    book.write(&format!("sites/elm{STEERING}\nrow/2026-11-12-shed.md"), "---\nrecord: job\nkind: callout\ntitle: shed\n---\n");
    let mut steered = Vec::new();
    let mut shown = 0;
    for told in all(&book) {
        let printed = told.streams.iter().enumerate().map(|(stream, bytes)| (["stdout", "stderr"][stream].to_owned(), bytes));
        let page = |name: &str| ["README.md", ".csv", ".html"].iter().any(|ending| name.ends_with(ending));
        let pages = told.files.iter().filter(|(name, _)| page(name)).map(|(name, bytes)| (name.clone(), bytes));
        for (name, bytes) in printed.chain(pages) {
            let text = String::from_utf8(bytes.clone()).unwrap_or_else(|_| panic!("{} prints what is not UTF-8", told.command));
            shown += usize::from(text.contains("owned"));
            // In JSON a character above ASCII is data; the control characters below it are escapes.
            let stays = |c: char| c == '\n' || c == '\t' && told.is_tabbed();
            let obeyed = |c: char| !stays(c) && if told.is_json() { c < ' ' } else { c.is_control() || c == '\u{202e}' };
            if let Some(at) = text.find(obeyed) {
                let from = text.floor_char_boundary(at.saturating_sub(60));
                steered.push(format!("{}: {name}: {:?}", told.command, &text[from..text.ceil_char_boundary(at + 8)]));
            }
        }
    }
    assert!(steered.is_empty(), "{}", steered.join("\n"));
    assert!(shown > 20, "the texts are shown, {shown} times");
}
