//! The pages in a real browser, from the file system: no complaint, nothing too wide, the search, and what the accessibility checker says.

use super::{example, hostile, pages, report};
use crate::support::webdriver::Browser;

#[test]
fn pages_open_without_a_complaint_and_nothing_is_too_wide() {
    let Some(browser) = Browser::start("report::browser: width and complaints") else { return };
    let folder = example(&[]);
    for path in pages(folder.path()).keys() {
        browser.open(&folder.path().join(path));
        browser.assert_fits(path);
        let styled = browser.ask("return getComputedStyle(document.querySelector('.skip')).position");
        assert_eq!(styled, "absolute", "{path}: the style is read from beside the page");
        assert_eq!(browser.complaints(), Vec::<String>::new(), "{path}");
    }
}

#[test]
fn the_search_finds_what_a_row_does_not_show() {
    let Some(browser) = Browser::start("report::browser: search") else { return };
    let folder = example(&[]);
    let search = |words: &str| {
        let words = serde_json::to_string(words).unwrap();
        browser.ask(&format!(
            "const input = document.querySelector('#search');
             input.value = {words}; input.dispatchEvent(new Event('input'));
             return [[...document.querySelectorAll('[data-row]')].filter(row => row.getClientRects().length > 0)
                     .map(row => row.querySelector('a, th') ? row.querySelector('a, th').textContent.trim() : ''),
                 document.querySelector('output').textContent];"
        ))
    };
    browser.open(&folder.path().join("index.html"));
    // A serial stands in no row of the list of sites.
    assert_eq!(search("AL-31240"), serde_json::json!([["weir-house"], "1 of 16 shown"]));
    assert_eq!(search("WEIR dwelling"), serde_json::json!([["weir-house"], "1 of 16 shown"]));
    assert_eq!(search("nowhere at all"), serde_json::json!([[], "0 of 16 shown"]));
    assert_eq!(search("")[0].as_array().unwrap().len(), 16);
    let dangers = browser.ask("return document.querySelectorAll('#danger .entry').length");
    search("nowhere at all");
    let still =
        browser.ask("return [...document.querySelectorAll('#danger .entry')].filter(entry => entry.getClientRects().length > 0).length");
    assert_eq!(dangers, still, "no search hides a danger of the first page");

    browser.open(&folder.path().join("findings.html"));
    let found = search("zs-over-limit dovetail");
    assert_eq!(found[0].as_array().unwrap().len(), 0, "a rule's name stands above its findings and not in them: {found}");
    let found = search("dovetail 0.92");
    assert_eq!(found[0].as_array().unwrap().len(), 1, "{found}");
    let headings =
        browser.ask("return [...document.querySelectorAll('h3')].filter(h => h.getClientRects().length > 0).map(h => h.textContent)");
    assert_eq!(headings.as_array().unwrap().len(), 1, "rules without a finding left are folded away: {headings}");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn the_accessibility_checker_finds_nothing_serious() {
    let Some(browser) = Browser::start("report::browser: accessibility") else { return };
    let Some(axe) = Browser::axe("report::browser: accessibility") else { return };
    let folder = example(&[]);
    for path in pages(folder.path()).keys() {
        for scheme in ["light", "dark"] {
            browser.media("screen", scheme);
            browser.wide(1280);
            browser.open(&folder.path().join(path));
            browser.assert_accessible(&axe, &format!("{path}, {scheme}"));
        }
    }
}

#[test]
fn a_hostile_book_opens_as_text() {
    let Some(browser) = Browser::start("report::browser: a hostile book") else { return };
    let book = hostile();
    let folder = tempfile::tempdir().unwrap();
    let ran = report(book.root(), folder.path(), &["--private"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    for path in pages(folder.path()).keys() {
        browser.assert_nothing_lives(&folder.path().join(path));
    }
}
