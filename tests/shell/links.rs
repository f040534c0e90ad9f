//! Links in what is printed for people.

use crate::cli::{program, run};
use crate::support::{TODAY, TestBook};

/// A sound book with one finding.
fn book() -> TestBook {
    let book = TestBook::sound();
    let job = "sites/elm-row/2026-11-02-shed.md";
    let text = book.read(job).replacen("status: issued", "status: draft", 1);
    book.write(job, text);
    book
}

/// The text with its links taken out again.
fn without_links(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("\x1b]8;;") {
        plain.push_str(&rest[..at]);
        let after = &rest[at + 5..];
        rest = &after[after.find("\x1b\\").expect("a link that does not end") + 2..];
    }
    plain + rest
}

#[test]
fn files_are_links_where_that_is_asked_for_and_nowhere_else() {
    let book = book();
    let file = book.root().canonicalize().unwrap().join("sites/elm-row/2026-11-02-shed.md");
    let address = format!("\x1b]8;;file://{}\x1b\\", file.display());
    for command in [
        &["check", "--on", TODAY, "--fail-on", "tidy"][..],
        &["check", "--on", TODAY, "--format", "concise"],
        &["due", "--on", TODAY, "--within", "9y"],
        &["find", "shed"],
        &["history", "elm-row"],
    ] {
        let plain = run(book.root(), command).out;
        assert!(!plain.contains('\x1b'), "{command:?} steers what is no terminal: {plain:?}");
        let never = run(book.root(), &[command, &["--hyperlinks", "never"]].concat()).out;
        assert_eq!(never, plain);
        let linked = run(book.root(), &[command, &["--hyperlinks", "always"]].concat()).out;
        assert_eq!(without_links(&linked), plain, "{command:?}");
        if plain.contains("2026-11-02-shed.md") {
            assert!(linked.contains(&address), "{command:?}: {linked:?}");
        }
        let coloured = run(book.root(), &[command, &["--color", "always"]].concat()).out;
        let both = run(book.root(), &[command, &["--color", "always", "--hyperlinks", "always"]].concat()).out;
        assert_eq!(without_links(&both), coloured, "{command:?}");
    }
    let checked = run(book.root(), &["check", "--on", TODAY, "--hyperlinks", "always", "--fail-on", "tidy"]).out;
    assert!(checked.contains(&format!("{address}sites/elm-row/2026-11-02-shed.md:")), "{checked:?}");
    let json = run(book.root(), &["check", "--on", TODAY, "--hyperlinks", "always", "--format", "json"]).out;
    assert!(!json.contains("file://"), "{json}");
}

#[test]
fn a_rule_is_a_link_to_its_explanation() {
    let book = book();
    let kept = tempfile::tempdir().unwrap();
    let mut command = program(book.root());
    command.env("AMPLEDGER_CACHE_DIR", kept.path()).args(["check", "--on", TODAY, "--hyperlinks", "always"]);
    let text = String::from_utf8(command.output().unwrap().stdout).unwrap();
    let at = text.find("#still-draft\x1b\\still-draft\x1b]8;;\x1b\\").unwrap_or_else(|| panic!("{text:?}"));
    let address = text[..at].rsplit("\x1b]8;;file://").next().unwrap();
    let page = std::fs::read_to_string(address).unwrap();
    let page = scraper::Html::parse_document(&page);
    assert!(page.errors.is_empty(), "{:?}", page.errors);
    for rule in ampledger::rules::all() {
        let heading = scraper::Selector::parse(&format!("h2#{} + pre", rule.id)).unwrap();
        let explained: String = page.select(&heading).next().unwrap_or_else(|| panic!("{}", rule.id)).text().collect();
        assert_eq!(explained.trim_end(), run(book.root(), &["explain", rule.id]).out.trim_end());
    }
    // Without a folder to put the page into, the rule stays a word.
    let plain = run(book.root(), &["check", "--on", TODAY, "--hyperlinks", "always"]).out;
    assert!(plain.contains("tidy still-draft") && !plain.contains("#still-draft"), "{plain:?}");
}

#[test]
fn only_files_of_the_book_are_links() {
    let book = book();
    let outside = tempfile::NamedTempFile::new().unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink(outside.path(), book.root().join("sites/led-out.md")).unwrap();
    book.write("private/contacts.yaml", "elm-row:\n  name: Marked\n");
    let job = "sites/elm-row/2026-11-02-shed.md";
    let text = book.read(job);
    let paths = [
        "../outside.md",
        "/etc/passwd",
        "sites/elm-row/gone.md",
        "sites/../private/contacts.yaml",
        "private/contacts.yaml",
        "sites/led-out.md",
    ];
    for (path, is_link) in paths.map(|path| (path, false)).into_iter().chain([("sites/elm-row/site.md", true)]) {
        book.write(job, format!("{text}\nzebra {path}\n"));
        let found = run(book.root(), &["find", "zebra", "--hyperlinks", "always"]).out;
        assert!(without_links(&found).contains(&format!("zebra {path}")), "{path} is not shown: {found}");
        assert_eq!(found.contains(&format!("\x1b\\{path}\x1b]8;;")), is_link, "{path} in {found:?}");
    }
}
