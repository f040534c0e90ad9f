//! The pages in a real browser, from the file system: no complaint, nothing too wide, the search, and what the accessibility checker says.

use serde_json::Value;

use super::webdriver::Browser;
use super::{example, pages};

/// Widths of a telephone, of a desktop, and of the printed part of an A4 page, with the medium.
const WIDTHS: [(u32, &str); 3] = [(375, "screen"), (1280, "screen"), (688, "print")];

#[test]
fn pages_open_without_a_complaint_and_nothing_is_too_wide() {
    let Some(browser) = Browser::start("report::browser: width and complaints") else { return };
    let folder = example(&[]);
    for path in pages(folder.path()).keys() {
        browser.open(&folder.path().join(path));
        for (width, media) in WIDTHS {
            browser.wide(width);
            browser.media(media, "light");
            let found = browser.ask(
                "const wide = document.documentElement.clientWidth;
                 const culprits = [...document.querySelectorAll('body *')].filter(e => !(!matchMedia('print').matches && e.closest('.scroll')) && !e.matches('.skip, .unseen')
                     && e.getBoundingClientRect().right > wide + 0.5).map(e => e.tagName + '.' + e.className + ' ' + e.textContent.slice(0, 60));
                 return {wide, needs: document.documentElement.scrollWidth, culprits};",
            );
            assert_eq!(found["wide"], width, "{path}");
            assert!(found["needs"] == found["wide"] && found["culprits"] == serde_json::json!([]), "{path} at {width}, {media}: {found}");
        }
        browser.media("screen", "light");
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
    let Ok(axe) = std::env::var("AXE_JS") else {
        assert!(std::env::var_os("NEED_BROWSER").is_none(), "AXE_JS does not name axe.min.js of the npm package axe-core");
        eprintln!("left out: report::browser: accessibility; AXE_JS does not name axe.min.js of the npm package axe-core");
        return;
    };
    let axe = std::fs::read_to_string(&axe).unwrap_or_else(|error| panic!("{axe}: {error}"));
    let folder = example(&[]);
    for path in pages(folder.path()).keys() {
        for scheme in ["light", "dark"] {
            browser.media("screen", scheme);
            browser.wide(1280);
            browser.open(&folder.path().join(path));
            browser.ask(&format!("{axe}; return typeof axe"));
            let found = browser.ask_later(
                "const done = arguments[arguments.length - 1];
                 axe.run(document, {resultTypes: ['violations']}).then(result => done({passes: result.passes.length, violations:
                     result.violations.map(v => ({id: v.id, impact: v.impact, nodes: v.nodes.map(n => n.target.join(' ') + ': ' + n.failureSummary).slice(0, 3)}))}));",
            );
            let serious: Vec<&Value> = found["violations"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|one| one["impact"] == "serious" || one["impact"] == "critical")
                .collect();
            assert!(serious.is_empty(), "{path}, {scheme}: {serious:#?}");
            assert!(found["passes"].as_u64().unwrap() > 10, "{path}: the checker looked at nothing: {found}");
        }
    }
}
