//! The smallest cable that passes, and the longest run.

use super::given::Given;
use super::working::{Line, Missing, Quantity};
use super::{checks, drop, earth_loop};
use crate::record::CpcKind;
use crate::tables::disconnection::DisconnectionTime;
use crate::tables::{conductors, zs};
use crate::wiring::fault;

/// The checks that another cable may settle.
/// The ones that hold and fail with another (the overload with the capacity, disconnection with Zs) are told there.
const OF_THE_CABLE: [&str; 9] =
    ["cable-capacity", "ring-capacity", "ring-size", "volt-drop", "volt-drop-total", "zs", "touch-voltage", "cpc-far-end", "cpc-near-end"];

/// The smallest cable of the same make-up that no check of the cable fails.
#[derive(Debug, Clone, PartialEq)]
pub struct Smallest {
    /// Its line conductor and its protective conductor, mm2; the second where that is a core.
    pub size: Option<(f64, Option<f64>)>,
    /// The next size below, and the checks that it fails.
    pub below: Option<(f64, Vec<String>)>,
    /// The checks that could not be worked at that size.
    pub not_worked: Vec<String>,
    /// Whether a figure from memory stands among those it rests on.
    pub memory: bool,
    /// Why there is none.
    pub none: Option<Missing>,
}

/// The longest run that passes.
#[derive(Debug, Clone, PartialEq)]
pub struct Longest {
    /// Metres, rounded down to half a metre.
    pub metres: Option<f64>,
    /// The check that binds.
    pub binding: String,
    /// The sums, and what could not be worked.
    pub line: Line,
}

fn of_cable(line: &&Line) -> bool {
    OF_THE_CABLE.contains(&line.check)
}

/// Looks for the smallest cable.
pub(super) fn smallest(given: &Given) -> Smallest {
    let none = |missing| Smallest { size: None, below: None, not_worked: Vec::new(), memory: false, none: Some(missing) };
    let wanting = [given.make_up().err(), given.method().err(), given.rating_a().err()];
    if let Some(missing) = wanting.into_iter().flatten().next() {
        return none(missing);
    }
    let mut below: Option<(f64, Vec<String>)> = None;
    for mm2 in conductors::sizes() {
        let Some(candidate) = given.in_size(mm2) else { continue };
        let lines = checks(&candidate);
        let of_cable: Vec<&Line> = lines.iter().filter(of_cable).collect();
        let has_rating = of_cable.iter().any(|line| matches!(line.check, "cable-capacity" | "ring-capacity") && !line.is_not_worked());
        if !has_rating {
            continue;
        }
        let failed: Vec<String> = of_cable.iter().filter(|line| line.fails()).map(|line| line.title.clone()).collect();
        if failed.is_empty() {
            let not_worked = of_cable.iter().filter(|line| line.is_not_worked()).map(|line| line.title.clone()).collect();
            let cpc = candidate.cable.cpc_mm2.filter(|_| candidate.cable.cpc == Some(CpcKind::Core)).map(|mm2| *mm2);
            let memory = of_cable.iter().any(|line| line.is_memory());
            return Smallest { size: Some((mm2, cpc)), below, not_worked, memory, none: None };
        }
        below = Some((mm2, failed));
    }
    let why = match &below {
        Some(_) => "no size held passes",
        None => "no rating is held for that cable and method",
    };
    Smallest { below, ..none(Missing::figure(why)) }
}

/// Looks for the longest run: the least of what volt drop, the loop and the protective conductor allow.
pub(super) fn longest(given: &Given) -> Longest {
    let mut line = Line::new("longest-run", "Longest run");
    let mut limits: Vec<(f64, &'static str)> = Vec::new();
    let mut wants: Vec<Missing> = Vec::new();
    match drop::longest(given, &mut line) {
        Ok(metres) => limits.push((metres, "volt drop")),
        Err(missing) => wants.push(missing),
    }
    if earth_loop::by_rcd(given) {
        line.note("An RCD gives the fault protection, so the loop sets no length that matters.");
    } else {
        let by_zs = earth_loop::zs_limit(given).and_then(|(limit, ..)| earth_loop::longest(given, Quantity::from(&limit), "Zs", &mut line));
        match by_zs {
            Ok(metres) => {
                limits.push((metres, "Zs"));
                match by_cpc(given, metres, &mut line) {
                    Ok(Some(metres)) => limits.push((metres, "the cpc's size")),
                    Ok(None) => {}
                    Err(missing) => wants.push(missing),
                }
            }
            Err(missing) => wants.push(missing),
        }
    }
    limits.sort_by(|a, b| a.0.total_cmp(&b.0));
    let least = limits.first().copied();
    if let Some(first) = wants.into_iter().reduce(|first, next| if first == next { first } else { both(first, &next) }) {
        line.verdict = super::Verdict::NotWorked(first);
    }
    let metres = least.map(|(metres, _)| (metres * 2.0 + 1e-6).floor() / 2.0);
    Longest { metres, binding: least.map_or(String::new(), |(_, word)| word.to_owned()), line }
}

fn both(first: Missing, next: &Missing) -> Missing {
    let key = [first.key.as_str(), next.key.as_str()].into_iter().filter(|key| !key.is_empty()).collect::<Vec<_>>().join("; ");
    Missing { what: format!("{}; {}", first.what, next.what), key }
}

/// A fuse that may take 5 s lets more energy through at the far end than at 0.4 s: where the cpc stands only the latter, that sets a
/// length.
fn by_cpc(given: &Given, by_zs_m: f64, line: &mut Line) -> Result<Option<f64>, Missing> {
    let standard = given.standard()?;
    let end = |metres: f64| checks(&given.at_length(metres)).into_iter().find(|line| line.check == "cpc-far-end");
    // A hair inside the limit, so that the fuse still opens in time there.
    let is_short = end(by_zs_m * 0.999).is_some_and(|line| line.fails());
    if !standard.is_fuse() || !is_short {
        return Ok(None);
    }
    let quick = zs::operating_current(standard, None, given.rating_a()?, DisconnectionTime::S0_4, given.edition)
        .ok_or_else(|| Missing::figure("the fuse's current for 0.4 s is not held"))?;
    let (u0, cmin) = earth_loop::table_voltage(given)?;
    let limit = Quantity::new(fault::zs_limit(u0, cmin, quick.value)?, 3, earth_loop::OHM);
    let metres = earth_loop::longest(given, limit, "the cpc (opening in 0.4 s)", line)?;
    let holds = end(metres * 0.999).is_some_and(|line| !line.fails());
    Ok(Some(if holds { metres } else { 0.0 }))
}
