//! `ampledger report`: the example book's pages read with a real parser, text that would break out, private details, and what is left alone
//! in the folder that they are written into.

mod browser;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::time::SystemTime;

use ampledger::book::Book;
use ampledger::units::Fleet;
use percent_encoding::percent_decode_str;
use scraper::{ElementRef, Html, Selector};

use crate::cli::{Ran, run};
use crate::support::{SOUND_JOB, TODAY, TestBook, apply, copy, repository};

fn report(book: &Path, out: &Path, more: &[&str]) -> Ran {
    let out = out.to_str().unwrap();
    let args: Vec<&str> = ["report", "--on", TODAY, "--out", out].into_iter().chain(more.iter().copied()).collect();
    run(book, &args)
}

/// The example book's pages in a folder of their own.
fn example(more: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let ran = report(&repository().join("example-sites"), folder.path(), more);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    folder
}

/// Every file below a folder, by its path there.
fn files(root: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = walkdir::WalkDir::new(root).into_iter().map(Result::unwrap).filter(|entry| entry.file_type().is_file());
    files
        .map(|entry| (entry.path().strip_prefix(root).unwrap().to_str().unwrap().to_owned(), std::fs::read(entry.path()).unwrap()))
        .collect()
}

/// The pages, parsed; each must be HTML without a fault.
fn pages(root: &Path) -> BTreeMap<String, Html> {
    let pages = files(root).into_iter().filter(|(path, _)| path.ends_with(".html"));
    pages
        .map(|(path, bytes)| {
            let page = Html::parse_document(std::str::from_utf8(&bytes).unwrap());
            assert!(page.errors.is_empty(), "{path}: {:?}", page.errors);
            (path, page)
        })
        .collect()
}

fn all<'p>(page: &'p Html, selector: &str) -> Vec<ElementRef<'p>> {
    page.select(&Selector::parse(selector).unwrap()).collect()
}

fn text(element: ElementRef<'_>) -> String {
    element.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

fn page_text(page: &Html) -> String {
    text(all(page, "main")[0])
}

#[test]
fn every_link_of_the_example_leads_somewhere_and_no_id_stands_twice() {
    let folder = example(&[]);
    let pages = pages(folder.path());
    let there = files(folder.path());
    let mut ids: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for (path, page) in &pages {
        for element in all(page, "[id]") {
            let id = element.attr("id").unwrap();
            assert!(ids.entry(path).or_default().insert(id), "{path} has {id} twice");
        }
    }
    let mut links = 0;
    for (path, page) in &pages {
        for element in all(page, "[href], [src]") {
            let href = element.attr("href").or(element.attr("src")).unwrap();
            let (file, id) = href.split_once('#').map_or((href, None), |(file, id)| (file, Some(id)));
            let target = if file.is_empty() {
                path.clone()
            } else {
                let file = percent_decode_str(file).decode_utf8().unwrap().into_owned();
                let folder = Path::new(path).parent().unwrap();
                match file.strip_prefix("../") {
                    Some(above) => folder.parent().unwrap().join(above),
                    None => folder.join(file),
                }
                .to_str()
                .unwrap()
                .to_owned()
            };
            assert!(there.contains_key(&target), "{path} links to {target}, which is not there");
            if let Some(id) = id {
                assert!(ids[target.as_str()].contains(id), "{path} links to {id} in {target}");
            }
            links += 1;
        }
        for element in all(page, "[aria-labelledby]") {
            for id in element.attr("aria-labelledby").unwrap().split(' ') {
                assert!(ids[path.as_str()].contains(id), "{path}: labelled by {id}");
            }
        }
    }
    assert!(links > 500, "{links} links only");
}

#[test]
fn every_site_unit_instrument_and_finding_of_the_example_appears() {
    let folder = example(&[]);
    let pages = pages(folder.path());
    let root = repository().join("example-sites");
    let book = Book::open(&root).unwrap();
    let index = page_text(&pages["index.html"]);
    for site in &book.sites {
        assert!(index.contains(&site.id), "{}", site.id);
        let page = &pages[&format!("sites/{}.html", site.id)];
        let (records, _) = book.read_site(site);
        let text = page_text(page);
        for job in &records.jobs {
            assert!(text.contains(&job.source.path), "{} is not on its site's page", job.id);
            for circuit in job.data.circuits.iter().filter_map(|circuit| circuit.id.as_deref()) {
                assert!(text.contains(circuit), "{} {circuit}", job.id);
            }
        }
    }
    let units = page_text(&pages["units.html"]);
    for life in Fleet::read(&book, TODAY.parse().unwrap()).lives {
        assert!(units.contains(&life.name()), "{}", life.name());
        for stay in &life.stays {
            assert!(page_text(&pages[&format!("sites/{}.html", stay.site)]).contains(&life.name()));
        }
    }
    let instruments = page_text(&pages["instruments.html"]);
    for (id, record) in &book.instruments {
        assert!(instruments.contains(id.as_str()), "{id}");
        for certificate in record.data.calibrations.iter().filter_map(|calibration| calibration.certificate.as_deref()) {
            assert!(instruments.contains(certificate), "{id} {certificate}");
        }
    }
    let verdict = crate::support::verdict_on(&root, TODAY);
    let findings = page_text(&pages["findings.html"]);
    assert_eq!(all(&pages["findings.html"], ".entry").len(), verdict.findings.len() + verdict.answered.len());
    for finding in &verdict.findings {
        let message = finding.message.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(findings.contains(&message), "{message}");
        if let Some(site) = finding.place.file.path.strip_prefix("sites/").and_then(|path| path.split('/').next()) {
            assert!(page_text(&pages[&format!("sites/{site}.html")]).contains(&message), "{message}");
        }
    }
}

/// What `due` and `check` call dangerous stands at the head of the first page and in the first section of the site's, whatever else is
/// there.
#[test]
fn dangers_come_first() {
    let folder = example(&[]);
    let pages = pages(folder.path());
    let first = all(&pages["index.html"], "main section")[0];
    assert_eq!(first.attr("id"), Some("danger"));
    let told = text(first);
    // From the records: what is left live, isolated or coded C2 and has no word that closes it.
    for what in
        ["keep dairy/3 off", "gas bond cut off", "door heater isolator cracked", "leave main/7 off", "stop charging from the kitchen"]
    {
        assert!(told.contains(what), "{what}: {told}");
    }
    assert!(told.contains("Zs 0.92 ohm is over the 0.68 ohm"), "a danger that only the rules know");
    assert!(told.contains("\u{25b2} danger"), "by word and shape");
    let farm = all(&pages["sites/moss-farm.html"], "main section")[0];
    assert!(farm.attr("id") == Some("danger") && text(farm).contains("keep dairy/3 off"));
    let quiet = all(&pages["sites/weir-house.html"], "main section")[0];
    assert_eq!(quiet.attr("id"), Some("owed"));
}

#[test]
fn pages_can_be_heard_and_walked_by_keyboard() {
    let folder = example(&[]);
    for (path, page) in pages(folder.path()) {
        let count = |selector: &str| all(&page, selector).len();
        assert_eq!(all(&page, "html")[0].attr("lang"), Some("en-GB"));
        for (selector, wanted) in [("main", 1), ("h1", 1), ("body > header", 1), ("body > footer", 1), ("nav[aria-label='Pages']", 1)] {
            assert_eq!(count(selector), wanted, "{path}: {selector}");
        }
        assert_eq!(all(&page, "body > a")[0].attr("href"), Some("#main"), "{path}: the way past the head comes first");
        let mut level = 1;
        for heading in all(&page, "main :is(h1, h2, h3, h4, h5, h6)").into_iter().filter(|heading| {
            // The notes of a visit bring headings of their own.
            !heading.ancestors().filter_map(ElementRef::wrap).any(|above| above.attr("class") == Some("notes"))
        }) {
            let next: u32 = heading.value().name()[1..].parse().unwrap();
            assert!(next <= level + 1, "{path}: {} leaves a level out", text(heading));
            assert!(!text(heading).is_empty());
            level = next;
        }
        for table in all(&page, "main table")
            .into_iter()
            .filter(|table| table.parent().and_then(ElementRef::wrap).is_some_and(|above| above.attr("class") != Some("notes")))
        {
            let of = |selector: &str| table.select(&Selector::parse(selector).unwrap()).count();
            assert_eq!((of("caption"), of("th:not([scope])")), (1, 0), "{path}");
            let around = ElementRef::wrap(table.parent().unwrap()).unwrap();
            assert_eq!((around.attr("class"), around.attr("tabindex")), (Some("scroll"), Some("0")), "{path}");
        }
        for svg in all(&page, "svg") {
            let of = |selector: &str| text(svg.select(&Selector::parse(selector).unwrap()).next().unwrap());
            assert_eq!(svg.attr("role"), Some("img"));
            assert!(of("title").len() > 10 && of("desc").len() > 20, "{path}");
        }
    }
}

/// The figures of the plots stand in a table beside them, with the limit drawn in and named.
#[test]
fn plots_show_what_the_tables_say() {
    let folder = example(&[]);
    let pages = pages(folder.path());
    let weir = &pages["sites/weir-house.html"];
    let table = text(all(weir, "[aria-labelledby='table-main.6-caption'] table")[0]);
    let of = |title: &str| all(weir, ".circuit svg").into_iter().map(text).find(|words| words.starts_with(title)).unwrap();
    // The two scales with a limit, with all that the five visits read.
    for (title, readings) in [
        ("weir-house main/6: Zs, ohm", ["0.29", "0.33", "0.38", "0.35", "limit 1.09 ohm"]),
        ("weir-house main/6: IR L-E, Mohm", ["507", "182", "96", "640", "minimum 1.0 Mohm"]),
    ] {
        let words = of(title);
        for reading in readings {
            assert!(words.contains(reading) && table.contains(reading), "{title}: {reading}");
        }
    }
    // One visit alone read the other circuits: their figures stand in tables and are not drawn.
    assert!(all(weir, ".circuit svg title").into_iter().all(|title| text(title).starts_with("weir-house main/6: ")));
    // Two of alder-7's faults are laid to the maker, in 12.2 unit-years: Garwood's interval of 2 is 0.242 to 7.22.
    let units = &pages["units.html"];
    let rates = text(all(units, "[aria-labelledby='rates-of-caption'] table")[0]);
    assert!(rates.contains("16 (2.0 to 59)"), "{rates}");
    let picture = text(all(units, "#rates svg")[0]);
    assert!(picture.contains("16 (2.0 to 59)") && picture.contains("faults per 100 unit-years"), "{picture}");
}

#[test]
fn a_notice_tells_how_far_it_is_dealt_with() {
    let folder = example(&[]);
    let pages = pages(folder.path());
    let notices = text(all(&pages["units.html"], "#notices")[0]);
    assert!(notices.contains("2 of 3 done, 1 certain still in place, 0 possible"), "{notices}");
    assert!(notices.contains("alder-7 AL-31302, plover-close-5 main/8, still in use on record"), "{notices}");
}

const BREAKING_OUT: &str = r#"x"><script>alert(1)</script></title></style></svg><img src=y onerror=alert(2)> ]]> <!-- & ${z} `"#;

/// A book whose every text would break out of the page, with a site's folder and a circuit named likewise.
fn hostile() -> TestBook {
    let book = TestBook::sound();
    let quoted = serde_json::to_string(BREAKING_OUT).unwrap();
    apply(
        book.root(),
        &format!(
            "title: {quoted}\ncircuits: [{{id: main/1, serves: {quoted}}}]\n\
             units: [{{event: fitted, serial: {quoted}, model: {quoted}, circuit: main/1, firmware: {quoted}}}]\n\
             faults: [{{id: {quoted}, reported: 2026-11-02, symptom: heat, found: {quoted}, circuit: main/1, code: C1, state: open, left: live, claim: {{with: {quoted}, sent: 2026-11-02, ref: {quoted}}}}}]\n\
             observations: [{{id: o1, code: C2, what: {quoted}, where: {quoted}}}]\nfollow_ups: [{{what: {quoted}, with: {quoted}, due: 2026-11-03}}]\n\
             body: |\n  # A heading\n  <script>alert(3)</script> [a link](javascript:alert(4)) ![a picture](photos/x.png) <b onclick=alert(5)>bold</b>\n\
             book.yaml: {{trading_as: {quoted}, rules: [{{rule: {quoted}, grade: silent, why: {quoted}}}]}}\n\
             instruments/mft-1.md: {{serial: {quoted}, calibrations: [{{on: 2026-01-01, due: 2027-01-01, certificate: {quoted}}}]}}\n\
             sites/elm-row/site.md: {{name: {quoted}, privacy: {{share: none, photographs: none, why: {quoted}}}, boards: [{{id: main, where: {quoted}}}]}}\n\
             recalls/2026-11-01-notice.md: {{record: recall, issued: 2026-11-01, model: {quoted}, advice: {quoted}, firmware_below: {quoted}}}\n",
        ),
    );
    let odd = "a\"b'<i>#?%25 \u{202e}c";
    for (day, zs) in [("2019-05-01", "0.50"), ("2021-05-01", "0.61"), ("2023-05-01", "0.66"), ("2024-05-01", "1.90")] {
        let text = format!(
            "---\nrecord: job\nkind: survey\nstatus: complete\ntitle: {quoted}\nregulations: BS 7671:2018+A4:2026\ndates: {{tested: {day}}}\n\
             instruments: [mft-1, {quoted}]\ncircuits:\n  - id: {}\n    serves: {quoted}\n    use: fixed\n    ocpd: {{standard: BS EN 60898, curve: B, rating_a: 32}}\n    \
             cable: {{method: {quoted}}}\n    readings: {{zs_ohm: {zs}}}\n    not_taken: {{rcd_ms: {quoted}}}\n---\n",
            serde_json::to_string(&format!("main/{BREAKING_OUT}")).unwrap(),
        );
        book.write(&format!("sites/{odd}/{day}-look.md"), text);
    }
    book.write("sites/elm-row/2026-11-20-broken.md", "---\nrecord: job\nkind: callout\nfaults: [\n---\n");
    book.write("private/contacts.yaml", format!("elm-row: {{name: {quoted}, telephones: [{quoted}, 1]}}\n"));
    book
}

#[test]
fn no_text_of_a_record_breaks_out_of_its_page() {
    let book = hostile();
    let folder = tempfile::tempdir().unwrap();
    let ran = report(book.root(), folder.path(), &["--private"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let pages = pages(folder.path());
    assert_eq!(pages.len(), 4 + 2);
    let script = include_str!("../../src/report/register.js");
    let mut shown = 0;
    for (path, page) in &pages {
        let scripts: Vec<String> = all(page, "script").into_iter().map(|script| script.text().collect()).collect();
        assert_eq!(scripts, [script], "{path}");
        assert!(all(page, "img, iframe, object, embed, form, base, style, b, i").is_empty(), "{path}");
        for element in all(page, "*") {
            for (name, value) in element.value().attrs() {
                assert!(!name.starts_with("on"), "{path}: {name}");
                // Whatever begins like a scheme is none of ours.
                let is_link = ["href", "src", "action", "xlink:href"].contains(&name);
                assert!(!is_link || !value.split(['/', '#', '?']).next().unwrap().contains(':'), "{path}: {name}={value}");
            }
        }
        let raw = page.html();
        assert!(!raw.contains('\u{202e}'), "{path}: a record turns the direction of its page");
        shown += page_text(page).matches("<script>alert(1)</script>").count();
    }
    assert!(shown > 20, "the texts are shown as they are written, {shown} times");
    let odd = pages.keys().find(|path| path.contains("a\"b")).unwrap();
    let svg = text(all(&pages[odd], "svg title")[0]);
    assert!(svg.contains("<script>alert(1)</script>"), "{svg}");
    assert!(page_text(&pages["index.html"]).contains("2026-11-20-broken.md"), "a record that cannot be read is named");
}

/// The one script that may run is the one that stands there.
#[test]
fn the_policy_names_the_script_by_its_digest() {
    use sha2::{Digest, Sha256};
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let digest = Sha256::digest(include_bytes!("../../src/report/register.js"));
    let mut base64 = String::new();
    for three in digest.chunks(3) {
        let bits = three.iter().fold(0_u32, |bits, byte| bits << 8 | u32::from(*byte)) << (8 * (3 - three.len()));
        (0..=three.len()).for_each(|sextet| base64.push(char::from(LETTERS[(bits >> (18 - 6 * sextet) & 63) as usize])));
    }
    base64.extend(std::iter::repeat_n('=', (4 - base64.len() % 4) % 4));
    let folder = example(&[]);
    for (path, page) in pages(folder.path()) {
        let policy = all(&page, "meta[http-equiv='Content-Security-Policy']")[0].attr("content").unwrap().to_owned();
        assert!(
            policy.contains("default-src 'none'") && policy.contains(&format!("script-src 'sha256-{base64}'")),
            "{path}: {policy} {base64}"
        );
    }
}

#[test]
fn private_details_are_there_only_where_they_are_asked_for() {
    let book = TestBook::sound();
    copy(&repository().join("example-sites"), book.root());
    let site = book.read("sites/weir-house/site.md").replace("  service: separate\n", "  service: separate\n  mpan: \"1200012345678\"\n");
    book.write("sites/weir-house/site.md", site);
    book.write(
        "private/contacts.yaml",
        format!("{}\nelm-row: {{name: Z. Onlyhere, codes: {{gate: 4711x}}}}\n", book.read("private/contacts.yaml")),
    );
    let told = |more: &[&str]| {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(report(book.root(), folder.path(), more).status, 0);
        files(folder.path()).into_values().map(|bytes| String::from_utf8_lossy(&bytes).into_owned()).collect::<String>()
    };
    let secrets = ["S. Milldam", "M. Larkrise", "01632 960101", "Z. Onlyhere", "4711x", "1200012345678"];
    let (plain, private) = (told(&[]), told(&["--private"]));
    for secret in secrets {
        assert!(!plain.contains(secret), "{secret} without --private");
        assert!(private.contains(secret), "{secret} with --private");
    }
    assert!(private.contains("holds private details") && !plain.contains("holds private details"));
}

#[test]
fn a_photograph_is_copied_without_its_place_and_only_where_the_site_allows_it() {
    let book = TestBook::sound();
    let picture = std::fs::read(repository().join("example-sites/sites/dovetail-workshop/photos/2025-09-09-inlet.png")).unwrap();
    // A text chunk behind the header: keyword, nought, text, and a checksum that nobody asks for.
    let note = b"\0\0\0\x18tEXtComment\0at 51.5 N, 0.1 W\0\0\0\0";
    let placed = [&picture[..33], note, &picture[33..]].concat();
    book.write("sites/elm-row/photos/box.png", &placed);
    book.write("sites/elm-row/photos/other.jpg", b"no picture");
    apply(
        book.root(),
        "joints: [{where: box behind the shed, kind: screw, made_by: us, access: open, torque_nm: 2.5, photo: photos/box.png}]",
    );
    let told = |allowed: &str| {
        apply(book.root(), &format!("sites/elm-row/site.md: {{privacy: {{photographs: {allowed}}}}}"));
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(report(book.root(), folder.path(), &[]).status, 0);
        let copies: BTreeMap<String, Vec<u8>> = files(folder.path()).into_iter().filter(|(path, _)| path.starts_with("photos/")).collect();
        (text(all(&pages(folder.path())["sites/elm-row.html"], "#photographs")[0]), copies)
    };
    for allowed in ["any", "record-only", "~"] {
        let (words, copies) = told(allowed);
        assert!(words.contains("box behind the shed") && words.contains("photos/other.jpg: it is damaged"), "{allowed}: {words}");
        assert_eq!(copies.keys().collect::<Vec<_>>(), ["photos/elm-row/photos/box.png"]);
        assert!(copies.values().all(|copy| copy.len() > 60 && !copy.windows(6).any(|bytes| bytes == b"51.5 N")), "{allowed}");
    }
    let (none, copies) = told("none");
    assert!(copies.is_empty() && !none.contains("box.png") && none.contains("asks for none"), "{none}");
}

/// When each file was last written.
fn times(root: &Path) -> BTreeMap<String, SystemTime> {
    files(root).into_keys().map(|path| (path.clone(), std::fs::metadata(root.join(path)).unwrap().modified().unwrap())).collect()
}

#[test]
fn a_page_that_has_not_changed_is_not_written_again() {
    let book = TestBook::sound();
    copy(&repository().join("example-sites"), book.root());
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("register");
    let ran = report(book.root(), &out, &[]);
    let (first, before) = (files(&out), times(&out));
    // The list of what was written is not counted.
    let count = first.len() - 1;
    assert!(ran.out.ends_with(&format!("index.html: {count} files written\n")), "{}", ran.out);
    let again = report(book.root(), &out, &[]);
    assert!(again.out.ends_with(&format!("index.html: 0 files written, {count} unchanged\n")), "{}", again.out);
    assert_eq!(times(&out), before);
    // Another folder, the same bytes.
    let other = folder.path().join("other");
    report(book.root(), &other, &[]);
    assert!(files(&other) == first, "the same book and day give the same bytes");

    let record = book.read("sites/wren-hall/site.md");
    book.write("sites/wren-hall/site.md", record.replace("name: ", "name: The old "));
    report(book.root(), &out, &[]);
    let changed: Vec<String> =
        times(&out).into_iter().filter(|(path, time)| before.get(path) != Some(time)).map(|(path, _)| path).collect();
    assert_eq!(changed, [".ampledger-report.json", "index.html", "sites/wren-hall.html"]);
}

#[test]
fn only_what_this_program_wrote_is_removed() {
    let book = TestBook::sound();
    copy(&repository().join("example-sites"), book.root());
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("register");
    report(book.root(), &out, &[]);
    std::fs::write(out.join("sites/notes.html"), "mine").unwrap();
    std::fs::write(out.join("sites/moss-farm.html"), "somebody wrote here").unwrap();
    for site in ["moss-farm", "osier-bank"] {
        std::fs::remove_dir_all(book.root().join("sites").join(site)).unwrap();
    }
    let ran = report(book.root(), &out, &[]);
    assert!(ran.out.contains("1 removed, 1 changed by somebody and left"), "{}", ran.out);
    assert!(!out.join("sites/osier-bank.html").exists());
    for (file, text) in [("sites/notes.html", "mine"), ("sites/moss-farm.html", "somebody wrote here")] {
        assert_eq!(std::fs::read_to_string(out.join(file)).unwrap(), text);
    }
    // A list that names a file elsewhere reaches nothing there.
    let outside = folder.path().join("outside.html");
    std::fs::write(&outside, "elsewhere").unwrap();
    let digest = "7c4ba5cb28aa4d4ca1a9a1b8e7ac2d68b2c6a02c1ae0c5d1a35bbb7d8e6d8ab4";
    let list = out.join(".ampledger-report.json");
    let text = std::fs::read_to_string(&list).unwrap().replace("\"files\": {", &format!("\"files\": {{\"../outside.html\": \"{digest}\","));
    std::fs::write(&list, text).unwrap();
    report(book.root(), &out, &[]);
    assert_eq!(std::fs::read_to_string(&outside).unwrap(), "elsewhere");
}

#[test]
fn a_folder_with_anything_else_in_it_is_refused() {
    let book = TestBook::sound();
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("letter.txt"), "mine").unwrap();
    let ran = report(book.root(), folder.path(), &[]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("is not empty, and no report of this program's is in it"), "{}", ran.err);
    assert_eq!(files(folder.path()).len(), 1);

    // A file that came between, where a page belongs.
    let out = folder.path().join("register");
    report(book.root(), &out, &[]);
    book.write("sites/new-place/site.md", "---\nrecord: site\nname: new\n---\n");
    std::fs::write(out.join("sites/new-place.html"), "mine").unwrap();
    let ran = report(book.root(), &out, &[]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("new-place.html stands where a page belongs"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(out.join("sites/new-place.html")).unwrap(), "mine");

    for among in ["sites/elm-row/register", "sites", "instruments/x/y"] {
        let ran = report(book.root(), &book.root().join(among), &[]);
        assert!(ran.status == 2 && ran.err.contains("is among the records"), "{among}: {}", ran.err);
    }
    assert!(!book.root().join("instruments/x").exists());
    assert!(book.read(SOUND_JOB).starts_with("---"));
}

#[cfg(unix)]
#[test]
fn a_link_in_the_folder_leads_nowhere() {
    let book = TestBook::sound();
    let folder = tempfile::tempdir().unwrap();
    let (out, elsewhere) = (folder.path().join("register"), folder.path().join("elsewhere"));
    report(book.root(), &out, &[]);
    std::fs::rename(out.join("sites"), &elsewhere).unwrap();
    std::os::unix::fs::symlink(&elsewhere, out.join("sites")).unwrap();
    let before = files(&elsewhere);
    book.write("sites/new-place/site.md", "---\nrecord: site\nname: new\n---\n");
    let ran = report(book.root(), &out, &[]);
    assert!(ran.status == 2 && ran.err.contains("stands where a page belongs"), "{}", ran.err);
    assert_eq!(files(&elsewhere), before);
}
