//! Questions that an electrician asks of past jobs, each answered by one command over the example book.
//!
//! The answers are in `snapshots/`; each was read beside the records that it comes from.

mod tables;

use crate::cli::run;
use crate::support::{TODAY, repository};

/// What a command answers in the example book, below the command itself.
fn answer(args: &[&str]) -> String {
    let book = repository().join("example-sites");
    // Double quotes within, so that the whole goes into single ones on a command line.
    let args: Vec<String> = args.iter().map(|arg| arg.replace('\'', "\"")).collect();
    let ran = run(&book, &args.iter().map(String::as_str).collect::<Vec<_>>());
    assert!(ran.err.is_empty(), "{}", ran.err);
    let quoted = |arg: &String| if arg.contains([' ', '$']) { format!("'{arg}'") } else { arg.clone() };
    let asked: Vec<String> = args.iter().map(quoted).collect();
    format!("$ ampledger {}\n{}(exit status {})\n", asked.join(" "), ran.out, ran.status)
}

/// Declares a question: its name, and the command that answers it.
macro_rules! question {
    ($name:ident, $($arg:expr),+) => {
        #[test]
        fn $name() {
            insta::assert_snapshot!(answer(&[$($arg),+]));
        }
    };
}

question!(
    q01_where_was_this_model_fitted_between_two_days,
    "find",
    "--where",
    "$.units[?@.model == 'alder-7' && @.event == 'fitted'].serial",
    "--from",
    "2023-01-01",
    "--to",
    "2023-12-31"
);
question!(
    q02_what_did_this_circuit_read_last_time_and_with_which_tester,
    "find",
    "--site",
    "weir-house",
    "--limit",
    "2",
    "--where",
    "$.circuits[?@.id == 'main/6'].readings['zs_ohm','r1_r2_ohm','ir_live_earth_mohm','rcd_ms']",
    "--where",
    "$.instruments"
);
question!(
    q03_whom_did_i_tell_not_to_use_it_and_never_went_back,
    "check",
    "--on",
    TODAY,
    "--format",
    "concise",
    "--rule",
    "return-date-gone-by",
    "--rule",
    "isolated-not-secured",
    "--rule",
    "fault-left-live"
);
question!(
    q04_what_did_i_say_how_and_did_they_acknowledge_it,
    "find",
    "--site",
    "moss-farm",
    "--where",
    "$.faults[*].advice['words','how','on','acknowledged']"
);
question!(q05_what_is_still_being_watched, "find", "--where", "$.faults[?@.state == 'watching'].watch_until");
question!(
    q06_which_claims_have_had_no_reply_for_a_fortnight,
    "find",
    "--where",
    "$.faults[?@.claim.sent <= '2026-11-11' && !@.claim.answered].claim['ref','sent','with']"
);
question!(q08_which_jobs_are_on_hold, "find", "--where", "$[?@ == 'on-hold']");
question!(q09_which_notices_were_late, "check", "--on", TODAY, "--format", "concise", "--rule", "network-operator-told-late");
question!(
    q10_what_was_measured_with_this_tester_since_its_last_good_check,
    "find",
    "--where",
    "$.instruments[?@ == 'clamp-1']",
    "--from",
    "2024-10-15",
    "--to",
    "2024-12-16"
);
question!(
    q11_which_c2_or_fi_has_no_closing_record,
    "find",
    "--where",
    "$.observations[?(@.code == 'C2' || @.code == 'FI') && !@.cleared_by]['what','due']"
);
question!(q12_have_i_seen_this_fault_before_and_what_was_it, "find", "trips", "wet", "--where", "$.faults[*]['cause','found']");
question!(
    q13_which_joints_are_hidden,
    "find",
    "--where",
    "$.joints[?@.access == 'covered' || @.access == 'none' || @.kind == 'maintenance-free'].where"
);
question!(q14_what_is_behind_the_units, "find", "behind", "units");
question!(q15_which_points_rely_on_which_open_pen_measure, "find", "--where", "$.circuits[?@.ev.open_pen].ev['unit','open_pen']");
question!(q17_which_rods_read_over_50_ohm_and_when, "find", "--where", "$[?@.electrode_ohm > 50].electrode_ohm");
question!(
    q18_where_is_torque_unrecorded_on_fine_strands,
    "find",
    "--where",
    "$.joints[?@.conductor == 'fine-stranded' && !@.torque_nm].where"
);
question!(
    q19_which_main_fuse_is_60_a_or_assumed,
    "find",
    "--kind",
    "site",
    "--where",
    "$.supply[?@.rating_a == 60 || @.shown_by == 'assumed']"
);
question!(
    q20_what_is_the_latest_paper_and_who_got_it,
    "find",
    "--site",
    "larder-lane-3",
    "--limit",
    "1",
    "--where",
    "$.papers[*]['kind','number','given_to','on']"
);
question!(q21_everything_at_this_address, "find", "--site", "tollgate-14");
question!(q24_when_should_records_go, "find", "--kind", "site", "--where", "$.keep_until");
question!(
    q25_what_did_i_do_with_no_paper_issued,
    "find",
    "--kind",
    "job",
    "--from",
    "2026-09-01",
    "--to",
    "2026-11-30",
    "--where",
    "$.dates[?!$.papers]"
);

/// Serials on more than one site, by the shell: a unit that moved or a serial typed twice.
#[test]
fn q22_which_serials_appear_at_more_than_one_site() {
    let ran = run(&repository().join("example-sites"), &["lines"]);
    let mut sites: std::collections::BTreeMap<String, std::collections::BTreeSet<String>> = std::collections::BTreeMap::new();
    for line in ran.out.lines() {
        let columns: Vec<&str> = line.split('\t').collect();
        if columns[3].starts_with("unit:") && columns[4] == "serial" {
            sites.entry(columns[5].to_owned()).or_default().insert(columns[0].to_owned());
        }
    }
    assert_eq!(sites.len(), 8, "{sites:?}");
    assert!(sites.values().all(|sites| sites.len() == 1), "{sites:?}");
    assert!(sites["AL-31077"].contains("heron-cottage"));
}

/// Half-remembered words, slips of spelling and a name typed nearly right.
#[test]
fn half_remembered_words_find_their_record() {
    let first = |words: &[&str]| {
        let ran = run(&repository().join("example-sites"), &[&["find", "--format", "paths", "--limit", "1"], words].concat());
        ran.out.trim_end().to_owned()
    };
    assert_eq!(first(&["the", "wash", "down", "sokcet"]), "sites/moss-farm/2026-09-04-callout.md");
    assert_eq!(first(&["shower", "smels", "hot"]), "sites/sexton-yard/2026-11-04-shower.md");
    assert_eq!(first(&["mist", "carport"]), "sites/weir-house/site.md");
    assert_eq!(first(&["breakfast", "trips"]), "sites/larder-lane-3/2026-11-03-trips.md");
    assert_eq!(first(&["AL-31302", "fitted"]), "sites/plover-close-5/2023-10-17-charge-point.md");
}
