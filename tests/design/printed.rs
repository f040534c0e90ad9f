//! What is printed: the same for people and machines, whatever the width; and what is said to somebody who asks wrongly.

use super::{CHARGE_POINT, ran};
use crate::cli::{run, run_with};
use crate::support::{TestBook, repository};

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every job of the example book that has something to design, and circuits by flags that pass, fail and lack.
fn many() -> Vec<Vec<String>> {
    let book = repository().join("example-sites/sites");
    let mut asked: Vec<Vec<String>> = Vec::new();
    for site in std::fs::read_dir(book).unwrap() {
        let site = site.unwrap().path();
        let Ok(files) = std::fs::read_dir(&site) else { continue };
        for file in files {
            let file = file.unwrap().path();
            if file.extension().is_some_and(|ending| ending == "md") && file.file_stem().unwrap() != "site" {
                asked.push(vec![file.display().to_string()]);
            }
        }
    }
    asked.sort();
    for more in
        [&[][..], &["--grouped", "4"], &["--trip-ma", "30", "--earthing", "TT"], &["--insulation", "300", "--device", "BS 3036 45 A"]]
    {
        let args = CHARGE_POINT.iter().filter(|arg| !more.contains(&"TT") || !["--earthing", "TN-C-S"].contains(arg));
        let args = args.copied().collect::<Vec<_>>();
        let args = if more.contains(&"--device") {
            args.into_iter().filter(|arg| !["--device", "BS EN 61009-1 B40"].contains(arg)).collect()
        } else {
            args
        };
        asked.push(args.iter().chain(more).map(|arg| (*arg).to_owned()).collect());
    }
    asked
}

fn at_width(width: &str, args: &[String]) -> String {
    let args: Vec<&str> = ["design", "--edition", "2022"].into_iter().chain(args.iter().map(String::as_str)).collect();
    run_with(&repository(), &[("COLUMNS", width)], &args).out
}

#[test]
fn every_line_fits_nothing_is_lost_on_a_telephone_and_nothing_is_called_safe() {
    let mut worked = 0;
    for args in many() {
        let (wide, narrow) = (at_width("80", &args), at_width("40", &args));
        for (text, width) in [(&wide, 80), (&narrow, 40)] {
            for line in text.lines() {
                assert!(line.chars().count() <= width, "{args:?}, {width}: {line}");
            }
        }
        // A word wider than the screen is broken, so blanks do not count.
        let letters = |text: &str| text.split_whitespace().collect::<String>();
        assert_eq!(letters(&wide), letters(&narrow), "{args:?}");
        assert!(!wide.to_lowercase().contains("safe"), "{args:?}");
        assert!(wide.is_empty() || squeezed(&wide).contains("certifies nothing"), "{args:?}");
        worked += usize::from(!wide.is_empty());
    }
    assert!(worked > 40, "{worked}");
}

#[test]
fn text_and_json_say_the_same() {
    let mut compared = 0;
    for args in many() {
        let text = squeezed(&at_width("80", &args));
        if text.is_empty() {
            continue;
        }
        let json = at_width("80", &[args.clone(), vec!["--format".to_owned(), "json".to_owned()]].concat());
        let report: serde_json::Value = serde_json::from_str(&json).unwrap();
        let circuits = report["circuits"].as_array().unwrap();
        let texts: Vec<&str> = text.split("on the figures above.").collect();
        assert_eq!(texts.len(), circuits.len() + 1, "{args:?}");
        for (circuit, text) in circuits.iter().zip(texts) {
            let holds = |words: &str| assert!(text.contains(&squeezed(words)), "{args:?}: the text lacks {words}");
            for given in circuit["given"].as_array().unwrap() {
                holds(&format!("{}: {}", given["key"].as_str().unwrap(), given["value"].as_str().unwrap()));
            }
            for check in circuit["checks"].as_array().unwrap() {
                holds(&format!("{} {}", check["verdict"].as_str().unwrap(), check["title"].as_str().unwrap()));
                for step in check["steps"].as_array().unwrap() {
                    let (formula, numbers) = (step["formula"].as_str().unwrap(), step["numbers"].as_str().unwrap());
                    let before = if numbers.is_empty() { format!("{formula}: ") } else { format!("{formula} = {numbers} = ") };
                    assert_eq!(figure_after(text, &squeezed(&before)), step["result"]["value"].as_f64(), "{args:?}: {before}");
                }
                if let Some(comparison) = check.get("comparison") {
                    let before = format!("{}:", comparison["symbols"].as_str().unwrap());
                    let fails = check["verdict"] == "fails";
                    let value = comparison["value"]["value"].as_f64();
                    let before = if fails { format!("{before} no,") } else { before };
                    assert!(figures_after(text, &before).contains(&value), "{args:?}: {before} {value:?}");
                }
                if let Some(missing) = check.get("missing") {
                    holds(missing["what"].as_str().unwrap());
                }
                for source in check["sources"].as_array().unwrap() {
                    let memory = if source["memory"] == true { ", from memory" } else { "" };
                    holds(&format!("{}{memory}", source["text"].as_str().unwrap()));
                }
                compared += 1;
            }
        }
    }
    assert!(compared > 1000, "{compared}");
}

/// The numbers that follow some words wherever they stand.
fn figures_after(text: &str, words: &str) -> Vec<Option<f64>> {
    text.match_indices(words)
        .map(|(at, _)| text[at + words.len()..].split_whitespace().next().and_then(|figure| figure.parse().ok()))
        .collect()
}

/// The number that first follows some words; one circuit has the same one everywhere.
fn figure_after(text: &str, words: &str) -> Option<f64> {
    *figures_after(text, words).first()?
}

#[test]
fn the_summary_counts_what_is_printed() {
    let out = ran(&repository(), &CHARGE_POINT).out;
    let verdicts = |word: &str| out.lines().filter(|line| line.starts_with(word)).count();
    let sum = format!(
        "{} checks pass, {} fail, {} not worked, on the figures above.",
        verdicts("pass  "),
        verdicts("fails  "),
        verdicts("not worked  ")
    );
    assert!(squeezed(&out).contains(&sum), "{sum}\n{out}");
}

#[test]
fn the_help_teaches_with_the_worked_example() {
    let help = run(&repository(), &["design", "--help"]).out;
    let example = help.split("ampledger design --use ev").nth(1).unwrap().replace("\\\n", " ");
    for arg in CHARGE_POINT.iter().skip(2) {
        assert!(example.contains(arg), "{arg}\n{example}");
    }
}

#[test]
fn wrong_questions_get_an_answer_that_teaches() {
    let book = TestBook::sound();
    let visit = "elm-row/2026-11-02-shed";
    for (args, lesson) in [
        (&[][..], "ampledger design elm-row/2026-11-02-shed"),
        (&["--length", "20"], "--device and --cable"),
        (&["--use", "lights"], "a use is one of ev, ring, sockets, lighting"),
        (&["--cable", "armored-90"], "did you mean armoured-90?"),
        (&["--earthing", "TNCS"], "did you mean TN-C-S?"),
        (&["--length", "20m"], "a plain number above 0, without its unit"),
        (&["--ze=-0.2"], "a plain number above 0"),
        (&["--length", "0"], "a plain number above 0"),
        (&["--ze", "NaN"], "a plain number above 0"),
        (&["--length", "1e400"], "a plain number above 0"),
        (&["--grouped", "0"], "1..=100"),
        (&["--method", "Z"], "a reference method is one of A, B"),
        (&["--device", "B40"], "as in \"BS EN 61009-1 B40\""),
        (&["--device", "BS EN 61009-1"], "as in \"BS EN 61009-1 B40\""),
        (&["--device", "BS EN 61009-1 40"], "has one of the curves B, C, D"),
        (&["--device", "BS EN 60898 K16"], "has one of the curves B, C, D"),
        (&["--device", "BS 88-3 B32"], "has no curve"),
        (&["--device", "BS EN 61008-1 63 A"], "a device is its standard, curve and rating"),
        (&["--edition", "2019"], "an edition is cited as one of"),
        (&["--circuit", "main/1"], "JOB"),
        (&[visit, "--line", "10"], "Name it with --circuit: main/1, main/2"),
        (&[visit, "--circuit", "main/9"], "It has main/1, main/2, main/3."),
        (&["elm-row/2026-11-02-shad"], "Did you mean elm-row/2026-11-02-shed?"),
        (&["elm-row"], "A visit is named by its file, or as SITE/VISIT"),
    ] {
        let ran = run(book.root(), &[&["design"], args].concat());
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{args:?}");
        assert!(squeezed(&ran.err).contains(lesson), "{args:?} lacks {lesson}:\n{}", ran.err);
    }
    let nowhere = tempfile::tempdir().unwrap();
    assert_eq!(run(nowhere.path(), &["design", visit]).status, 2);
    // Without a record no book is wanted.
    assert_eq!(ran(nowhere.path(), &CHARGE_POINT).status, 0);
}

#[test]
fn a_device_is_read_however_it_is_said() {
    for (said, shown) in [
        ("BS EN 61009-1 B40", "BS EN 61009-1 B40"),
        ("bs en 60898-1 c 32", "BS EN 60898 C32"),
        ("BSEN60898 B6A", "BS EN 60898 B6"),
        ("BS 88-3 32 A", "BS 88-3 32 A"),
        ("BS 3871 type 2 30 A", "BS 3871 type 2 30 A"),
        ("BS 1361 5A", "BS 1361 5 A"),
    ] {
        let out = ran(&repository(), &["--device", said, "--design-a", "4"]).out;
        assert!(out.contains(&format!("ocpd: {shown} (--device)")), "{said}:\n{out}");
    }
}

#[test]
fn what_a_record_says_does_not_steer_the_terminal() {
    let book = TestBook::sound();
    let job = "sites/elm-row/2026-11-02-shed.md";
    book.write(job, book.read(job).replacen("charge point on the garage wall", "\"red \\e[31m and\\nbreak\"", 1));
    let visit = "elm-row/2026-11-02-shed";
    for form in ["human", "json"] {
        let out = ran(book.root(), &[visit, "--format", form]).out;
        assert!(!out.contains('\u{1b}'), "{form}");
    }
    assert!(ran(book.root(), &[visit]).out.starts_with("main/1, red \u{fffd}[31m and break\n"));
}
