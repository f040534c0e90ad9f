//! Paths in records cannot leave the book: what lies outside it is neither read, copied, sealed nor told of.

use std::os::unix::fs::symlink;
use std::path::Path;

use sha2::{Digest, Sha256};

use super::commands::files;
use crate::cli::run;
use crate::support::{SOUND_JOB, TestBook, apply};

const SECRET: &[u8] = b"\xff\xd8\xff\xe1\x00\x16Exif\0\0MM\0\x2a\0\0\0\x08\0\0\0\0\0\0OUTSIDE\xff\xd9";

const RECORD: &str = "---\nrecord: job\nkind: callout\ntitle: OUTSIDE\n---\nOUTSIDE\n";

/// What each command says of the book, and what it writes.
fn said(book: &TestBook) -> Vec<String> {
    let out = tempfile::tempdir().unwrap();
    let copy = out.path().join("copy");
    let pages = out.path().join("pages");
    let mut said = Vec::new();
    for args in [
        &["check", "--format", "json", "--on", "2026-11-25"][..],
        &["check", "--on", "2026-11-25"],
        &["due", "--format", "json", "--on", "2026-11-25"],
        &["units"],
        &["seal", "elm-row/2026-11-02-shed", "--on", "2026-11-25", "--anyway", "--reason", "tried"],
        &["pack", "elm-row", "--for", "customer", "--on", "2026-11-25", "--out", copy.to_str().unwrap()],
        &["report", "--on", "2026-11-25", "--out", pages.to_str().unwrap()],
    ] {
        let ran = run(book.root(), args);
        said.push(format!("{} {}\n{}{}", args[0], ran.status, ran.out, ran.err).replace(out.path().to_str().unwrap(), "OUT"));
    }
    let written = files(out.path());
    assert!(written.contains_key("copy/sites/elm-row/site.md") && written.contains_key("pages/sites/elm-row.html"), "{written:?}");
    said.extend(written.iter().map(|(name, bytes)| format!("{name}\n{}", String::from_utf8_lossy(bytes))));
    said.push(book.read("seals.yaml"));
    said
}

/// A book whose records point outside in every way that they can, beside a folder that may hold what they point at.
fn book_beside(outside: &Path) -> TestBook {
    let book = TestBook::sound();
    let up = format!("../../../{}", outside.file_name().unwrap().to_str().unwrap());
    let far = outside.to_str().unwrap();
    apply(
        book.root(),
        &format!(
            "joints: [{{where: lid, circuit: main/1, kind: screw, made_by: us, access: open, conductor: solid, torque_nm: 2.5, photo: \
             {up}/secret.jpg}}]\ncontinues: {up}/secret\nfaults: [{{id: f1, reported: 2026-11-02, symptom: heat, cause: device, circuit: \
             main/1, state: fixed, fixed_by: {up}/secret}}]\nbody: |\n  ![a]({up}/secret.jpg) ![b]({far}/secret.jpg) \
             ![c](photos/../../../..{far}/secret.jpg) ![d](photos/link.jpg) ![e](linked/secret.jpg) [f]({up}/secret.md)\n\
             recalls/2026-06-01-cover.md: {{record: recall, issued: 2026-06-01, model: {up}/secret, serials: [{{from: CP-1, to: CP-2}}], \
             advice: isolate, done: [{{serial: CP-1, by: {up}/secret}}]}}"
        ),
    );
    std::fs::create_dir_all(book.root().join("sites/elm-row/photos")).unwrap();
    symlink(outside.join("linked.jpg"), book.root().join("sites/elm-row/photos/link.jpg")).unwrap();
    symlink(outside, book.root().join("sites/elm-row/linked")).unwrap();
    symlink(outside.join("linked.md"), book.root().join("sites/elm-row/2026-11-09-link.md")).unwrap();
    let seals = |file: &str| {
        let digest: String = Sha256::digest(SECRET).iter().map(|byte| format!("{byte:02x}")).collect();
        let photographs = [format!("{up}/secret.jpg"), format!("{far}/secret.jpg"), "sites/elm-row/photos/link.jpg".to_owned()];
        let photographs = photographs.map(|path| format!("\"{path}\": \"{digest}\"")).join(", ");
        format!("- {{file: \"{file}\", seal: 1, on: 2026-11-03, form: 1, digest: \"{digest}\", photographs: {{{photographs}}}}}\n")
    };
    let entries = [SOUND_JOB, &format!("{up}/secret.md"), &format!("{far}/secret.md"), "sites/../../x.md"].map(seals).concat();
    book.write("seals.yaml", format!("format: 1\nseals:\n{entries}"));
    book
}

/// Whether what records point at is there or not, and whatever links lead to, every command says and writes the same.
#[test]
fn what_lies_outside_the_book_changes_nothing_that_is_said() {
    let mut both = Vec::new();
    let outside = tempfile::tempdir().unwrap();
    let target = outside.path().join("target");
    for is_there in [true, false] {
        let _ = std::fs::remove_dir_all(&target);
        std::fs::create_dir(&target).unwrap();
        let book = book_beside(&target);
        if is_there {
            std::fs::write(target.join("secret.jpg"), SECRET).unwrap();
            std::fs::write(target.join("secret.md"), RECORD).unwrap();
        }
        std::fs::write(target.join("linked.jpg"), if is_there { SECRET } else { b"" }).unwrap();
        std::fs::write(target.join("linked.md"), if is_there { RECORD } else { "" }).unwrap();
        let said: Vec<String> = said(&book).iter().map(|text| plain(text, book.root(), outside.path())).collect();
        assert!(!said.iter().any(|text| text.contains("OUTSIDE")));
        both.push(said);
    }
    let [there, gone] = [&both[0], &both[1]];
    assert_eq!(there.len(), gone.len());
    for (there, gone) in there.iter().zip(gone) {
        let other = there.lines().zip(gone.lines()).find(|(there, gone)| there != gone);
        assert!(there == gone, "{other:?}");
    }
}

/// Without the names of temporary folders.
fn plain(text: &str, book: &Path, outside: &Path) -> String {
    text.replace(book.to_str().unwrap(), "BOOK").replace(outside.to_str().unwrap(), "FOLDER")
}
