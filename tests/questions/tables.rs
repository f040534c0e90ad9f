//! Questions that join tables, answered by DuckDB over an export. They need Python with the package `duckdb`, and are
//! skipped with a word without it.

use std::path::Path;
use std::process::Command;

use crate::cli::run;
use crate::support::{python_with, repository};

/// The rows that DuckDB answers, cells with a bar between them.
fn rows(python: &str, folder: &Path, sql: &str) -> Vec<String> {
    let script = "import duckdb, sys\nfor row in duckdb.connect().sql(sys.stdin.read()).fetchall():\n    print(' | '.join('' if c is None else str(c) for c in row))";
    let mut child = Command::new(python)
        .args(["-c", script])
        .current_dir(folder)
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), sql.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect()
}

/// The example book as tables.
fn exported(format: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let ran = run(&repository(), &["export", "example-sites", "--out", out, "--format", format]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    folder
}

/// The query that the help shows, word for word.
#[test]
fn q16_the_example_in_the_help_answers_which_charging_circuits_share_or_hang_on_a_type_ac() {
    let Some(python) = python_with("duckdb") else { return };
    let help = run(&repository(), &["export", "--help"]).out;
    let sql = help.split_once("-- question.sql\n").unwrap().1.split_once("-- end").unwrap().0;
    let tables = exported("csv");
    // No charging circuit of the example book does: each has a device of its own, of type A, and none is fed through another.
    assert_eq!(rows(&python, tables.path(), sql), Vec::<String>::new());
    // The same question of all circuits finds the old shared devices, so that the empty answer above means something.
    let all = sql.replace("WHERE ev.use = 'ev'", "WHERE ev.site = 'tollgate-14'");
    assert_ne!(all, sql);
    assert_eq!(
        rows(&python, tables.path(), &all),
        [
            "tollgate-14 | main/2 | AC |  | 2",
            "tollgate-14 | main/3 | AC |  | 2",
            "tollgate-14 | main/4 | AC |  | 2",
            "tollgate-14 | main/5 | AC |  | 0"
        ]
    );
}

#[test]
fn q07_which_units_leave_their_warranty_soon_with_a_fault_on_record() {
    let Some(python) = python_with("duckdb") else { return };
    let tables = exported("jsonl");
    let sql = "SELECT u.site, u.serial, u.warranty_until, f.visit, f.state
               FROM 'units.jsonl' u JOIN 'faults.jsonl' f ON f.site = u.site AND f.unit = u.serial
               WHERE u.event = 'fitted' AND u.warranty_until BETWEEN DATE '2026-11-25' AND DATE '2027-06-25' ORDER BY ALL";
    assert_eq!(rows(&python, tables.path(), sql), ["teasel-barn | AL-22015 | 2027-04-12 | 2026-09-15-callout | open"]);
}

#[test]
fn q23_which_loops_have_changed_most_since_the_visit_before() {
    let Some(python) = python_with("duckdb") else { return };
    let tables = exported("csv");
    let sql = "WITH pairs AS (
                 SELECT site, circuit, visit, zs_ohm, lag(zs_ohm) OVER (PARTITION BY site, circuit ORDER BY visit) AS before
                 FROM 'circuits.csv' WHERE zs_ohm_scale = 'on')
               SELECT site, circuit, visit, before, zs_ohm FROM pairs
               WHERE abs(zs_ohm - before) > 0.13 * before AND abs(zs_ohm - before) > 0.03 ORDER BY ALL";
    assert_eq!(
        rows(&python, tables.path(), sql),
        [
            "larder-lane-3 | main/3 | 2024-09-03-condition | 0.36 | 0.31",
            "weir-house | main/6 | 2024-10-29-trips | 0.29 | 0.33",
            "weir-house | main/6 | 2024-11-19-trips | 0.33 | 0.38",
            "weir-house | main/6 | 2025-05-13-recall | 0.35 | 0.29",
        ]
    );
}

/// The three forms hold the same.
#[test]
fn csv_json_lines_and_parquet_hold_the_same_rows() {
    let Some(python) = python_with("duckdb") else { return };
    let forms: &[&str] = if cfg!(feature = "parquet") { &["csv", "jsonl", "parquet"] } else { &["csv", "jsonl"] };
    let asked = |form: &str| {
        let tables = exported(form);
        let sql = format!(
            "SELECT c.site, c.visit, c.circuit, c.date, c.zs_ohm, c.zs_ohm_scale, c.ir_live_earth_mohm, c.ir_live_earth_mohm_scale, c.is_new,
             c.ocpd_from, v.title FROM 'circuits.{form}' c JOIN 'visits.{form}' v USING (site, visit) ORDER BY ALL"
        );
        rows(&python, tables.path(), &sql)
    };
    let first = asked(forms[0]);
    assert_eq!(first.len(), 213);
    for form in &forms[1..] {
        assert_eq!(asked(form), first, "{form}");
    }
}
