//! What a check keeps between runs: never another word in its output, whatever happened meanwhile, and really used.

use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use ampledger::book::Book;
use ampledger::cache::Cache;
use ampledger::check::{check, check_with};
use ampledger::fix;
use ampledger::judge::{Filter, judge};
use ampledger::record::Date;
use ampledger::render::{Look, human, json};

use crate::cli::{program, run};
use crate::support::{SOUND_JOB, TODAY, TestBook, copy, repository};

/// A copy of the example book, and a folder for what is kept of it.
struct Desk {
    book: tempfile::TempDir,
    kept: tempfile::TempDir,
}

impl Desk {
    fn of_the_example() -> Desk {
        let desk = Desk { book: tempfile::tempdir().unwrap(), kept: tempfile::tempdir().unwrap() };
        copy(&repository().join("example-sites"), desk.book.path());
        desk.age();
        desk
    }

    fn path(&self, name: &str) -> PathBuf {
        self.book.path().join(name)
    }

    fn edit(&self, name: &str, change: impl FnOnce(String) -> String) {
        let text = std::fs::read_to_string(self.path(name)).unwrap();
        let changed = change(text.clone());
        assert_ne!(text, changed, "{name} is not changed");
        std::fs::write(self.path(name), changed).unwrap();
    }

    fn age(&self) {
        age(self.kept.path());
    }

    /// The output with what was kept; and of how many sites something was. Held against the output without.
    fn check(&self, on: &str, build: &str) -> usize {
        let on: Date = on.parse().unwrap();
        let book = Book::open(self.book.path()).unwrap();
        let cache = Cache::open_as(&book, on, self.kept.path(), build).unwrap();
        let with = check_with(&book, on, Some(&cache), &|| ());
        let hits = cache.hits();
        assert!(cache.save());
        let words = |checked| {
            let mut verdict = judge(&book, checked, on, &Filter::default());
            fix::offer(&book, &mut verdict);
            json(&verdict, true) + &human(&verdict, Look { width: 80, colour: false }, true)
        };
        let without = words(check(&book, on, &|| ()));
        let with = words(with);
        if let Some((wanted, had)) = without.lines().zip(with.lines()).find(|(without, with)| without != with) {
            panic!("without: {wanted}\nwith:    {had}");
        }
        assert_eq!(with, without);
        hits
    }

    fn sites(&self) -> usize {
        Book::open(self.book.path()).unwrap().sites.len()
    }

    fn file(&self) -> PathBuf {
        std::fs::read_dir(self.kept.path()).unwrap().next().unwrap().unwrap().path()
    }
}

/// Lets what is kept look as if it had been written long after everything in the book, as it is when a person comes back to it: what is
/// as young as the file is not trusted.
fn age(kept: &Path) {
    for entry in std::fs::read_dir(kept).unwrap().map(Result::unwrap) {
        let file = std::fs::File::options().write(true).open(entry.path()).unwrap();
        file.set_modified(std::fs::metadata(entry.path()).unwrap().modified().unwrap() + Duration::from_secs(60)).unwrap();
    }
}

const ONE: &str = "one build";

#[test]
fn what_is_the_same_is_not_read_again_and_what_is_not_is() {
    let desk = Desk::of_the_example();
    let sites = desk.sites();
    assert_eq!(desk.check(TODAY, ONE), 0);
    desk.age();
    let kept = desk.check(TODAY, ONE);
    // Sites with sealed photographs, or with a link to what is not there, are read each time.
    assert!(kept * 4 >= sites * 3 && kept <= sites, "{kept} of {sites}");
    desk.edit("sites/weir-house/site.md", |text| text + "\nA word.\n");
    desk.age();
    assert_eq!(desk.check(TODAY, ONE), kept - 1, "one site has changed");
    assert_eq!(desk.check("2026-11-26", ONE), 0, "the day");
    assert_eq!(desk.check("2026-11-26", "another build"), 0, "the build");
    desk.edit("book.yaml", |text| text + "# A word.\n");
    assert_eq!(desk.check("2026-11-26", "another build"), 0, "the settings");
    let instrument = std::fs::read_dir(desk.path("instruments")).unwrap().next().unwrap().unwrap().path();
    std::fs::remove_file(instrument).unwrap();
    assert_eq!(desk.check("2026-11-26", "another build"), 0, "a register");
    assert!(desk.check("2026-11-26", "another build") > 0);
}

/// Numbers that are the same in every run (the multiplier of Knuth's MMIX).
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % count
    }

    fn of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }
}

/// The records of the sites, and all other files of the book but its settings.
fn files(root: &Path) -> (Vec<PathBuf>, Vec<PathBuf>) {
    let all = walkdir::WalkDir::new(root).sort_by_file_name().into_iter().map(Result::unwrap).filter(|entry| entry.file_type().is_file());
    let all = all.map(walkdir::DirEntry::into_path).filter(|path| !path.ends_with("book.yaml"));
    all.partition(|path| path.starts_with(root.join("sites")) && path.extension().is_some_and(|ending| ending == "md"))
}

#[test]
fn no_word_differs_over_a_long_series_of_changes() {
    let desk = Desk::of_the_example();
    let mut dice = Dice(20_261_125);
    let mut on: Date = TODAY.parse().unwrap();
    let mut hits = 0;
    let root = desk.book.path();
    for step in 0..50 {
        let (records, others) = files(root);
        let record = dice.of(&records).clone();
        let text = std::fs::read_to_string(&record).unwrap_or_default();
        let lines: Vec<&str> = text.lines().collect();
        match dice.below(12) {
            0 => std::fs::remove_file(&record).unwrap(),
            1 => {
                std::fs::rename(&record, record.with_file_name(format!("2025-0{}-1{}-moved.md", 1 + dice.below(9), dice.below(9)))).unwrap()
            }
            2 => drop(
                std::fs::copy(&record, dice.of(&records).with_file_name(format!("2024-0{}-2{}-copy.md", 1 + dice.below(9), dice.below(9))))
                    .unwrap(),
            ),
            3 | 4 => {
                // A line goes, in the middle of anything.
                let gone = dice.below(lines.len().max(1));
                let left: Vec<&str> = lines.iter().enumerate().filter(|(at, _)| *at != gone).map(|(_, line)| *line).collect();
                let damages = ["", "\t", "zs_ohm: 0,5 # ", "\u{2014}", "[", "\u{a0}x: >999", "<<<<<<< ours", "\0"];
                std::fs::write(&record, left.join("\n").replacen("\n  ", &format!("\n{}  ", dice.of(&damages)), 1 + dice.below(3)))
                    .unwrap();
            }
            5 | 6 => std::fs::write(
                &record,
                text.replacen("zs_ohm: 0", "zs_ohm: 9", 1).replacen("status: complete", "status: draft", dice.below(2)),
            )
            .unwrap(),
            7 => {
                // A photograph that somebody puts down, or a link to what may not be there.
                let folder = record.parent().unwrap().join("photos");
                std::fs::create_dir_all(&folder).unwrap();
                std::fs::write(folder.join(format!("2025-01-0{}-x.jpg", 1 + dice.below(9))), [0xff, 0xd8, step as u8]).unwrap();
                std::fs::write(&record, text + "\nSee [that](../elsewhere/note.txt).\n").unwrap();
            }
            8 => {
                let elsewhere = root.join("sites/elsewhere");
                if elsewhere.exists() {
                    std::fs::remove_dir_all(elsewhere).unwrap()
                } else {
                    std::fs::create_dir(&elsewhere).unwrap();
                    std::fs::write(elsewhere.join("note.txt"), "a note").unwrap();
                }
            }
            9 => {
                let other = dice.of(&others);
                let text = std::fs::read(other).unwrap();
                let cut = text.len() - text.len() / (2 + dice.below(30));
                std::fs::write(other, &text[..cut]).unwrap();
            }
            10 => on = on.plus_days(1 + dice.below(40) as i32),
            _ => {
                let settings = std::fs::read_to_string(root.join("book.yaml")).unwrap();
                std::fs::write(root.join("book.yaml"), settings + "# Another line.\n").unwrap();
            }
        }
        if dice.below(2) == 0 {
            desk.age();
        }
        hits += desk.check(&on.to_string(), if step < 40 { ONE } else { "another build" });
    }
    assert!(hits > 60, "kept findings were hardly ever used: {hits}");
}

#[test]
fn a_damaged_file_is_as_good_as_none() {
    let desk = Desk::of_the_example();
    desk.check(TODAY, ONE);
    desk.age();
    let whole = std::fs::read(desk.file()).unwrap();
    let damages = (0..whole.len()).step_by(whole.len() / 40).flat_map(|at| {
        let mut flipped = whole.clone();
        flipped[at] ^= 0x10;
        [flipped, whole[..at].to_vec()]
    });
    for damaged in damages.chain([[whole.as_slice(), b"x"].concat()]) {
        std::fs::write(desk.file(), damaged).unwrap();
        desk.age();
        assert_eq!(desk.check(TODAY, ONE), 0);
    }
    desk.age();
    assert!(desk.check(TODAY, ONE) > 0, "the next run keeps it anew");
}

/// A photograph that bears a place, in place of one that bears none, of the same length and with the same time of writing.
#[test]
fn a_photograph_changed_behind_its_time_is_looked_at_again() {
    let book = TestBook::sound();
    let kept = tempfile::tempdir().unwrap();
    let plain = crate::pack::pictures::bare_jpeg();
    let placed = crate::pack::pictures::jpeg();
    let longest = plain.len().max(placed.len());
    let padded = |bytes: &[u8]| [bytes, vec![0; longest - bytes.len()].as_slice()].concat();
    let name = "sites/elm-row/photos/2026-11-02-box.jpg";
    book.write(name, padded(&plain));
    let long_ago = SystemTime::UNIX_EPOCH + Duration::from_secs(1_700_000_000);
    let file = book.root().join(name);
    let put = |bytes: &[u8]| {
        std::fs::write(&file, padded(bytes)).unwrap();
        std::fs::File::options().write(true).open(&file).unwrap().set_modified(long_ago).unwrap();
    };
    put(&plain);
    let told = |cache: &Path| {
        let output =
            program(book.root()).env("AMPLEDGER_CACHE_DIR", cache).args(["check", "--on", TODAY, "--format", "concise"]).output().unwrap();
        String::from_utf8(output.stdout).unwrap().contains("photograph-tells-the-place")
    };
    for (bytes, is_told) in [(&plain, false), (&placed, true), (&plain, false)] {
        put(bytes);
        for _ in 0..2 {
            age(kept.path());
            assert_eq!(told(kept.path()), is_told);
        }
    }
}

#[test]
fn the_file_is_the_users_own_and_holds_nothing_private() {
    let book = TestBook::sound();
    let outside = tempfile::tempdir().unwrap();
    let folder = outside.path().join("deep/cache");
    book.write("private/contacts.yaml", "elm-row:\n  name: Zebedee Marked\n  phone: 0000 111 222\n");
    let text = book.read(SOUND_JOB).replacen("status: issued", "status: draft", 1);
    book.write(SOUND_JOB, text);
    let check = |more: &[&str]| {
        let mut command = program(book.root());
        command.env("AMPLEDGER_CACHE_DIR", &folder).args(["check", "--on", TODAY]).args(more).output().unwrap()
    };
    let without = check(&["--no-cache"]);
    assert!(!folder.exists(), "--no-cache keeps nothing");
    let first = check(&[]);
    assert_eq!(first.stdout, without.stdout);
    let files: Vec<PathBuf> = std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(files.len(), 1, "{files:?}");
    let bytes = std::fs::read(&files[0]).unwrap();
    let holds = |word: &str| bytes.windows(word.len()).any(|window| window == word.as_bytes());
    assert!(holds("still-draft"), "the finding is kept");
    assert!(!holds("Zebedee") && !holds("Marked") && !holds("0000 111"), "a private word is kept");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode(&folder), mode(&files[0])), (0o700, 0o600));
    }
    assert_eq!(check(&[]).stdout, first.stdout);
    let in_book = walkdir::WalkDir::new(book.root())
        .into_iter()
        .filter(|entry| entry.as_ref().unwrap().path().extension().is_some_and(|end| end == "kept"));
    assert_eq!(in_book.count(), 0, "nothing is written into the book");
}

#[test]
fn a_place_that_cannot_be_written_is_no_fault() {
    let book = TestBook::sound();
    let plain = run(book.root(), &["check", "--on", TODAY]);
    let file = book.root().join("private.txt");
    std::fs::write(&file, "no folder").unwrap();
    let told = program(book.root()).env("AMPLEDGER_CACHE_DIR", &file).args(["check", "--on", TODAY]).output().unwrap();
    assert_eq!((String::from_utf8(told.stdout).unwrap(), told.status.code()), (plain.out, Some(plain.status)));
    assert!(told.stderr.is_empty(), "{}", String::from_utf8_lossy(&told.stderr));
}

#[test]
fn two_runs_at_once_say_the_same() {
    let desk = Desk::of_the_example();
    let plain = run(desk.book.path(), &["check", "--on", TODAY]).out;
    for _ in 0..4 {
        let begin = || {
            let mut command = program(desk.book.path());
            command.env("AMPLEDGER_CACHE_DIR", desk.kept.path()).args(["check", "--on", TODAY]).stdout(std::process::Stdio::piped());
            command.spawn().unwrap()
        };
        let runs: Vec<_> = (0..4).map(|_| begin()).collect();
        for run in runs {
            assert_eq!(String::from_utf8(run.wait_with_output().unwrap().stdout).unwrap(), plain);
        }
    }
    let left: Vec<_> = std::fs::read_dir(desk.kept.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "no half-written file is left: {left:?}");
}
