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

/// A stage of a check, or something beside it.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Stage {
    name: &'static str,
    /// Whether it counts towards a check.
    counts: bool,
}

impl Stage {
    fn place(self) -> usize {
        STAGES.iter().position(|one| *one == self).unwrap()
    }
}

/// What every check goes through.
const fn stage(name: &'static str) -> Stage {
    Stage { name, counts: true }
}

/// A part of the stage before it or something to compare that with, set in; or what a flag asks for.
const fn beside(name: &'static str) -> Stage {
    Stage { name, counts: false }
}

const OPEN: Stage = stage("index: walk the book, read its registers");
const READ: Stage = stage("read the bytes of the records");
const DECODE: Stage = stage("decode: split, mend, YAML into the record types");
const YAML: Stage = beside("  the YAML of the visits alone, by serde_yaml");
const RULES: Stage = stage("rules: of visits, circuits and sites");
const VIEW: Stage = beside("  of it, index: what is known of each circuit");
const ACROSS: Stage = stage("rules: across sites and registers");
const LOCATE: Stage = stage("locate: the bytes of what was found");
const TREES: Stage = beside("  locate, if every record had a finding");
const JUDGE: Stage = stage("judge: grade, answer, sort, count");
const HUMAN: Stage = stage("render: human, 80 columns");
const CONCISE: Stage = beside("render: concise");
const JSON: Stage = beside("render: json");
const SARIF: Stage = beside("render: sarif");
const STAGES: [Stage; 14] = [OPEN, READ, DECODE, YAML, RULES, VIEW, ACROSS, LOCATE, TREES, JUDGE, HUMAN, CONCISE, JSON, SARIF];

/// What the stages of one round took, in their order.
#[derive(Default)]
struct Clock([Duration; STAGES.len()]);

impl Clock {
    fn time<T>(&mut self, stage: Stage, work: impl FnOnce() -> T) -> T {
        let at = Instant::now();
        let done = black_box(work());
        self.0[stage.place()] += at.elapsed();
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
        let mut times: Vec<Duration> = clocks.iter().map(|clock| clock.0[stage.place()]).collect();
        times.sort_unstable();
        times.get(times.len() / 2).copied().unwrap_or_default().as_secs_f64()
    });
    let whole: f64 = STAGES.iter().zip(medians).filter(|(stage, _)| stage.counts).map(|(_, median)| median).sum();
    let micros = |seconds: f64| seconds * 1e6 / records as f64;
    for (Stage { name, counts }, median) in STAGES.into_iter().zip(medians) {
        let part = if counts { format!("{:.1}", median / whole * 100.0) } else { String::new() };
        println!("{name:<50} {:>12.2} {part:>6}", micros(median));
    }
    println!("{:<50} {:>12.2} {:>6}", "a check, printed for people", micros(whole), "100.0");
}

/// One check from the first file to the last word: how many visits were read, how much was found, and what each stage took.
fn round(root: &Path) -> (usize, usize, Clock) {
    let today: Date = TODAY.parse().unwrap();
    let mut clock = Clock::default();
    let book = clock.time(OPEN, || Book::open(root).unwrap());
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
        all.add(checked);
    }
    let across = clock.time(ACROSS, || check_registers(&book, &all.facts, today));
    all.add(across);
    let jobs = all.jobs;
    let verdict = clock.time(JUDGE, || judge(&book, all, today, &Filter::default()));
    clock.time(HUMAN, || human(&verdict, Look { width: 80, colour: false }, false).len());
    clock.time(CONCISE, || concise(&verdict, false).len());
    clock.time(JSON, || json(&verdict, false).len());
    clock.time(SARIF, || sarif(&verdict, &Run::default()).len());
    (jobs, verdict.findings.len(), clock)
}
