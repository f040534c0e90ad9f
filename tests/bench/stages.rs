//! What each stage of a check costs a record: `stages FOLDER [ROUNDS]`, a book that `make_book` wrote; five rounds unless told otherwise.
//!
//! One thread and nothing kept between rounds, site by site as a check goes. Prints the median of the rounds for each stage, and its part of the
//! whole; the first round warms up and is not counted.

// A program for the command line, and none that anybody else calls.
#![allow(clippy::print_stdout, clippy::unwrap_used, clippy::expect_used)]

use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

use ampledger::book::{Book, Places, SourceFile};
use ampledger::check::{Checked, check_registers, locate, run_site};
use ampledger::judge::{Filter, judge};
use ampledger::record::{Date, Job};
use ampledger::render::{Look, Run, concise, human, json, sarif};
use ampledger::rules::facts::SiteFacts;
use ampledger::rules::view::SiteView;

/// The program itself uses the same.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const TODAY: &str = "2026-11-25";
const USAGE: &str = "stages FOLDER [ROUNDS]";

/// A stage, and whether it counts towards a check. Of the others, those set in are a part of the stage before them or stand beside it to
/// compare with; the rest is asked for by a flag.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Stage(&'static str, bool);

const OPEN: Stage = Stage("index: walk the book, read its registers", true);
const READ: Stage = Stage("read the bytes of the records", true);
const DECODE: Stage = Stage("decode: split, mend, YAML into the record types", true);
const YAML: Stage = Stage("  the YAML of the visits alone, by serde_yaml", false);
const RULES: Stage = Stage("rules: of visits, circuits and sites", true);
const VIEW: Stage = Stage("  of it, index: what is known of each circuit", false);
const ACROSS: Stage = Stage("rules: across sites and registers", true);
const LOCATE: Stage = Stage("locate: the bytes of what was found", true);
const TREES: Stage = Stage("  locate, if every record had a finding", false);
const JUDGE: Stage = Stage("judge: grade, answer, sort, count", true);
const HUMAN: Stage = Stage("render: human, 80 columns", true);
const CONCISE: Stage = Stage("render: concise", false);
const JSON: Stage = Stage("render: json", false);
const SARIF: Stage = Stage("render: sarif", false);
const STAGES: [Stage; 14] = [OPEN, READ, DECODE, YAML, RULES, VIEW, ACROSS, LOCATE, TREES, JUDGE, HUMAN, CONCISE, JSON, SARIF];

/// What the stages of one round took, in their order.
#[derive(Default)]
struct Clock([Duration; STAGES.len()]);

impl Clock {
    fn time<T>(&mut self, stage: Stage, work: impl FnOnce() -> T) -> T {
        let at = Instant::now();
        let done = black_box(work());
        self.0[STAGES.iter().position(|one| *one == stage).unwrap()] += at.elapsed();
        done
    }
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).filter(|arg| arg != "--bench").collect();
    let (folder, rounds) = match args.as_slice() {
        [folder] => (folder, 5),
        [folder, rounds] => (folder, rounds.parse().expect(USAGE)),
        _ => return println!("{USAGE}"),
    };
    // What a stage would spread over threads is held to one.
    rayon::ThreadPoolBuilder::new().num_threads(1).build_global().unwrap();
    let root = Path::new(folder).canonicalize().unwrap();
    let (records, findings, _) = round(&root);
    let clocks: Vec<Clock> = (0..rounds).map(|_| round(&root).2).collect();
    println!("{records} visits, {findings} findings, {rounds} rounds, one thread\n");
    println!("{:<50} {:>12} {:>6}", "stage", "us a visit", "%");
    let medians = STAGES.map(|stage| {
        let at = STAGES.iter().position(|one| *one == stage).unwrap();
        let mut times: Vec<Duration> = clocks.iter().map(|clock| clock.0[at]).collect();
        times.sort_unstable();
        times.get(times.len() / 2).copied().unwrap_or_default().as_secs_f64()
    });
    let whole: f64 = STAGES.iter().zip(medians).filter(|(stage, _)| stage.1).map(|(_, median)| median).sum();
    let micros = |seconds: f64| seconds * 1e6 / records as f64;
    for (Stage(name, is_part), median) in STAGES.into_iter().zip(medians) {
        let part = if is_part { format!("{:.1}", median / whole * 100.0) } else { String::new() };
        println!("{name:<50} {:>12.2} {part:>6}", micros(median));
    }
    println!("{:<50} {:>12.2} {:>6}", "a check, printed for people", micros(whole), "100.0");
}

/// One check from the first file to the last word: how many visits were read, how much was found, and what each stage took.
fn round(root: &Path) -> (usize, usize, Clock) {
    let today: Date = TODAY.parse().unwrap();
    let mut clock = Clock::default();
    let book = clock.time(OPEN, || Book::open(root).unwrap());
    let mut facts = Vec::new();
    let mut all = Checked::default();
    for files in &book.sites {
        let bytes = clock.time(READ, || book.read_bytes(files));
        let (records, strays) = clock.time(DECODE, || Book::decode_site(files, bytes));
        for job in &records.jobs {
            clock.time(YAML, || drop(black_box(serde_yaml::from_str::<Job>(job.source.front_text()))));
        }
        let mut checked = clock.time(RULES, || run_site(&book, &records, &strays, today));
        clock.time(VIEW, || drop(black_box(SiteFacts::of(&SiteView::new(&book, &records, today)))));
        clock.time(LOCATE, || locate(&mut checked.findings));
        for job in &records.jobs {
            let source: &SourceFile = &job.source;
            clock.time(TREES, || drop(black_box(Places::of(source))));
        }
        facts.append(&mut checked.facts);
        all.findings.append(&mut checked.findings);
        all.answers.append(&mut checked.answers);
        all.sites += checked.sites;
        all.jobs += checked.jobs;
        all.files += checked.files;
    }
    let mut across = clock.time(ACROSS, || check_registers(&book, &facts, today));
    all.findings.append(&mut across.findings);
    all.answers.append(&mut across.answers);
    all.files += across.files;
    let jobs = all.jobs;
    let verdict = clock.time(JUDGE, || judge(&book, all, today, &Filter::default()));
    clock.time(HUMAN, || human(&verdict, Look { width: 80, colour: false }, false).len());
    clock.time(CONCISE, || concise(&verdict, false).len());
    clock.time(JSON, || json(&verdict, false).len());
    clock.time(SARIF, || sarif(&verdict, &Run::default()).len());
    (jobs, verdict.findings.len(), clock)
}
