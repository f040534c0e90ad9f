//! `ampledger design`: whole circuits in, whole workings out. Every figure expected here is worked out by hand beside it, from the rows of
//! src/tables/data; each row there carries its source.

mod by_hand;
mod printed;
mod recorded;

use std::path::Path;

use serde_json::Value;

use crate::cli::{Ran, run};
use crate::support::repository;

/// The charge point at the end of 28 m that the help text shows.
pub const CHARGE_POINT: [&str; 20] = [
    "--use",
    "ev",
    "--design-a",
    "32",
    "--device",
    "BS EN 61009-1 B40",
    "--cable",
    "armoured-90",
    "--line",
    "6",
    "--cpc",
    "core",
    "--length",
    "28",
    "--method",
    "C",
    "--earthing",
    "TN-C-S",
    "--ze",
    "0.20",
];

/// Runs `design` by the edition of 2022.
pub fn ran(folder: &Path, args: &[&str]) -> Ran {
    run(folder, &[&["design", "--edition", "2022"], args].concat())
}

/// A circuit's working, as machines read it.
pub struct Work {
    circuit: Value,
    pub status: i32,
}

impl Work {
    /// A circuit that flags describe.
    pub fn of(args: &[&str]) -> Work {
        Work::in_folder(&repository(), args)
    }

    pub fn in_folder(folder: &Path, args: &[&str]) -> Work {
        let ran = ran(folder, &[args, &["--format", "json"]].concat());
        let report: Value = serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{error}: {} {}", ran.out, ran.err));
        Work { circuit: report["circuits"][0].clone(), status: ran.status }
    }

    pub fn at(&self, pointer: &str) -> &Value {
        self.circuit.pointer(pointer).unwrap_or_else(|| panic!("no {pointer} in {}", self.circuit))
    }

    fn check(&self, check: &str) -> &Value {
        let checks = self.at("/checks").as_array().unwrap();
        checks.iter().find(|line| line["check"] == check).unwrap_or_else(|| panic!("no check {check}"))
    }

    pub fn has(&self, check: &str) -> bool {
        self.at("/checks").as_array().unwrap().iter().any(|line| line["check"] == check)
    }

    pub fn verdict(&self, check: &str) -> &str {
        self.check(check)["verdict"].as_str().unwrap()
    }

    /// The steps' results, in order.
    pub fn results(&self, check: &str) -> Vec<f64> {
        self.check(check)["steps"].as_array().unwrap().iter().map(|step| step["result"]["value"].as_f64().unwrap()).collect()
    }

    /// The numbers put into the step whose formula begins so.
    pub fn numbers(&self, check: &str, formula: &str) -> &str {
        let steps = self.check(check)["steps"].as_array().unwrap();
        let step = steps.iter().find(|step| step["formula"].as_str().unwrap().starts_with(formula));
        step.unwrap_or_else(|| panic!("no step {formula} in {check}"))["numbers"].as_str().unwrap()
    }

    /// Result and limit.
    pub fn held(&self, check: &str) -> (f64, f64) {
        let comparison = &self.check(check)["comparison"];
        (comparison["value"]["value"].as_f64().unwrap(), comparison["limit"]["value"].as_f64().unwrap())
    }

    /// Where the check's figures come from, with whether one is from memory.
    pub fn sources(&self, check: &str) -> (String, bool) {
        let line = self.check(check);
        let texts: Vec<&str> = line["sources"].as_array().unwrap().iter().map(|source| source["text"].as_str().unwrap()).collect();
        (texts.join("; "), line["memory"].as_bool().unwrap())
    }

    /// What is missing, and the key that would supply it.
    pub fn missing(&self, check: &str) -> (&str, &str) {
        let missing = &self.check(check)["missing"];
        (missing["what"].as_str().unwrap(), missing["key"].as_str().unwrap())
    }

    pub fn notes(&self, check: &str) -> String {
        let notes: Vec<&str> = self.check(check)["notes"].as_array().unwrap().iter().map(|note| note.as_str().unwrap()).collect();
        notes.join(" ")
    }

    /// Line and protective conductor of the smallest cable, and what the next size below fails.
    pub fn smallest(&self) -> (f64, f64, Vec<&str>) {
        let mm2 = |key: &str| self.at(&format!("/smallest_cable/{key}")).as_f64().unwrap();
        let fails = self.at("/smallest_cable/below_fails").as_array().unwrap();
        (mm2("line_mm2"), mm2("cpc_mm2"), fails.iter().map(|title| title.as_str().unwrap()).collect())
    }

    pub fn longest(&self) -> (f64, &str) {
        (self.at("/longest_run/metres").as_f64().unwrap(), self.at("/longest_run/binding").as_str().unwrap())
    }

    /// Pass, fail, not worked.
    pub fn summary(&self) -> [u64; 3] {
        ["pass", "fails", "not_worked"].map(|key| self.at(&format!("/summary/{key}")).as_u64().unwrap())
    }
}
