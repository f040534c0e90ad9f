//! The papers in a real browser, and as PDF: widths, complaints, what the accessibility checker says, pages and words.

use std::path::Path;
use std::process::Command;

use ampledger::paper::words::Language;
use ampledger::paper::{Asked, Kind, html, make};
use ampledger::rules::view::SiteView;

use super::{KINDS, hostile, paper, rich_for};
use crate::support::webdriver::Browser;
use crate::support::{TODAY, repository};

/// The paper of that kind from a record that says everything, as a file.
fn file(folder: &Path, kind: &str) -> std::path::PathBuf {
    let file = folder.join(format!("{kind}.html"));
    let ran = paper(&rich_for(kind), &["--kind", kind, "--notes", "--out", file.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    file
}

/// Every paper that the example book owes, and the customer's sheet of every visit: its name, its HTML.
fn of_the_example() -> Vec<(String, String)> {
    let book = ampledger::book::Book::open(&repository().join("example-sites")).unwrap();
    let mut papers = Vec::new();
    for files in &book.sites {
        let (records, _) = book.read_site(files);
        let view = SiteView::new(&book, &records, TODAY.parse().unwrap());
        for job in view.jobs() {
            for kind in [Kind::owed(job), Kind::CustomerSheet] {
                let asked = Asked { kind, language: Language::English, client: None, notes: false, findings: &[] };
                papers.push((format!("{}/{} {kind:?}", files.id, job.id()), html::render(&make(job, &asked).unwrap())));
            }
        }
    }
    papers
}

#[test]
fn papers_open_without_a_complaint_and_nothing_is_too_wide() {
    let Some(browser) = Browser::start("papers::browser: width and complaints") else { return };
    let folder = tempfile::tempdir().unwrap();
    for kind in KINDS {
        browser.open(&file(folder.path(), kind));
        browser.assert_fits(kind);
        assert_eq!(browser.complaints(), Vec::<String>::new(), "{kind}");
    }
    let page = folder.path().join("page.html");
    for (name, html) in of_the_example() {
        std::fs::write(&page, html).unwrap();
        browser.open(&page);
        browser.assert_fits(&name);
        assert_eq!(browser.complaints(), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn the_accessibility_checker_finds_nothing_serious_in_a_paper() {
    let Some(browser) = Browser::start("papers::browser: accessibility") else { return };
    let Some(axe) = Browser::axe("papers::browser: accessibility") else { return };
    let folder = tempfile::tempdir().unwrap();
    for kind in KINDS {
        let file = file(folder.path(), kind);
        for (media, width) in [("screen", 1280), ("screen", 375), ("print", 688)] {
            browser.media(media, "light");
            browser.wide(width);
            browser.open(&file);
            browser.assert_accessible(&axe, &format!("{kind}, {media} {width}"));
        }
    }
}

#[test]
fn a_hostile_record_opens_as_text() {
    let Some(browser) = Browser::start("papers::browser: a hostile record") else { return };
    let folder = tempfile::tempdir().unwrap();
    for kind in KINDS {
        let page = folder.path().join(format!("{kind}.html"));
        let ran = paper(&hostile(), &["--kind", kind, "--notes", "--out", page.to_str().unwrap()]);
        assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
        browser.assert_nothing_lives(&page);
        let shown =
            browser.ask("return document.body.innerText.includes('<script>alert(1)</script>') + ' ' + document.title.includes('<script>')");
        assert_eq!(shown, "true true", "{kind}: the text is shown as it is written");
    }
}

/// What a PDF says of itself and in words; nothing where the machine lacks the tools that read it.
fn read(pdf: &Path) -> Option<(String, String)> {
    let told = |program: &str, args: &[&str]| Some(String::from_utf8(Command::new(program).args(args).output().ok()?.stdout).unwrap());
    let path = pdf.to_str().unwrap();
    let read = told("pdfinfo", &[path]).zip(told("pdftotext", &["-layout", path, "-"]));
    if read.is_none() {
        assert!(std::env::var_os("NEED_BROWSER").is_none(), "no pdfinfo and pdftotext on this machine");
        eprintln!("left out: papers::browser: PDF; it needs pdfinfo and pdftotext");
    }
    read
}

fn line<'t>(info: &'t str, key: &str) -> &'t str {
    info.lines().find_map(|line| line.strip_prefix(key)?.strip_prefix(':')).unwrap_or_else(|| panic!("no {key} in {info}")).trim()
}

#[test]
fn a_pdf_has_its_pages_its_words_and_its_tags() {
    let Some(browser) = Browser::start("papers::browser: PDF") else { return };
    drop(browser);
    let folder = tempfile::tempdir().unwrap();
    for kind in KINDS {
        let pdf = folder.path().join(format!("{kind}.pdf"));
        let page = folder.path().join(format!("{kind}.html"));
        let ran = paper(&rich_for(kind), &["--kind", kind, "--pdf", pdf.to_str().unwrap(), "--out", page.to_str().unwrap()]);
        assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
        let Some((info, words)) = read(&pdf) else { return };
        assert_eq!(line(&info, "Tagged"), "yes", "{kind}: {info}");
        assert!(line(&info, "Page size").contains("A4"), "{kind}: {info}");
        assert_eq!(line(&info, "JavaScript"), "no", "{kind}: {info}");
        let html = std::fs::read_to_string(&page).unwrap();
        let title = html.split_once("<title>").unwrap().1.split_once("</title>").unwrap().0;
        assert_eq!(line(&info, "Title"), title, "{kind}");
        // Every page has a number, and the digest of the record that it is a copy of.
        let pages: usize = line(&info, "Pages").parse().unwrap();
        let sheets: Vec<&str> = words.trim_end_matches('\u{c}').split('\u{c}').collect();
        assert_eq!(sheets.len(), pages);
        for (at, sheet) in sheets.iter().enumerate() {
            assert!(sheet.contains(&format!("{} of {pages}", at + 1)), "{kind}, page {}: no number in {sheet}", at + 1);
            assert!(sheet.contains("SHA-256"), "{kind}, page {}: no digest in {sheet}", at + 1);
        }
        assert!(if kind == "customer-sheet" { pages == 1 } else { pages <= 8 }, "{kind}: {pages} pages");
    }
}

#[test]
fn the_customers_sheet_is_one_page() {
    let Some(browser) = Browser::start("papers::browser: one page") else { return };
    drop(browser);
    let path = std::env::var_os("PATH");
    let program = ampledger::browser::find(None, path.as_deref()).unwrap();
    let mut sheets: Vec<_> = of_the_example().into_iter().filter(|(name, _)| name.ends_with("CustomerSheet")).collect();
    assert!(sheets.len() > 40);
    // The longest three are the ones that could need a second.
    sheets.sort_by_key(|(_, html)| std::cmp::Reverse(html.len()));
    let folder = tempfile::tempdir().unwrap();
    for (name, html) in &sheets[..3] {
        let pdf = folder.path().join("sheet.pdf");
        std::fs::write(&pdf, ampledger::browser::print_to_pdf(&program, html).unwrap()).unwrap();
        let Some((info, _)) = read(&pdf) else { return };
        assert_eq!(line(&info, "Pages"), "1", "{name}");
    }
}
