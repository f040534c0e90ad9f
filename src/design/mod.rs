//! The working of one circuit: every check with its formula, the numbers put in, the result, the limit, the source and the verdict.
//!
//! Nothing is computed here: the sums are those of [`crate::wiring`] on the figures of [`crate::tables`]. What is missing for a check is
//! named, with the key that would supply it, and the check is shown as not worked. A verdict says which check passes on which figures,
//! and nothing more.

mod charging;
mod current;
mod device;
mod drop;
mod earth_loop;
mod fault;
mod flags;
mod given;
mod recorded;
mod size;
mod working;

pub use device::parse as parse_device;
pub use flags::Flags;
pub use given::{Feeder, Given, Known, Stated};
pub use recorded::{Refused, given_by_record, is_designed};
pub use size::{Longest, Smallest};
pub use working::{Comparison, Line, Missing, Quantity, Relation, Source, Step, Verdict};

/// What every printout ends on.
pub const CAUTION: &str = "This compares figures and certifies nothing: the current printed standard, the makers' sheets and the designer's own \
                           judgement decide.";

/// A circuit with its working.
#[derive(Debug, Clone)]
pub struct Design {
    /// What it stands on.
    pub given: Given,
    /// The checks, in the order in which an engineer writes them.
    pub lines: Vec<Line>,
    /// The smallest cable.
    pub smallest: Smallest,
    /// The longest run.
    pub longest: Longest,
}

/// How many checks came out how.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Summary {
    /// Within their limits.
    pub pass: usize,
    /// Beyond them.
    pub fails: usize,
    /// Not worked, for want of a figure.
    pub not_worked: usize,
    /// Of those that pass or fail, how many rest on a figure from memory.
    pub memory: usize,
}

impl Design {
    /// Counts the checks; what is merely to be expected does not count.
    pub fn summary(&self) -> Summary {
        let mut summary = Summary::default();
        for line in &self.lines {
            match line.verdict {
                Verdict::Pass => summary.pass += 1,
                Verdict::Fails => summary.fails += 1,
                Verdict::NotWorked(_) => summary.not_worked += 1,
                Verdict::Expected => continue,
            }
            summary.memory += usize::from(line.is_memory() && !line.is_not_worked());
        }
        summary
    }
}

/// Works a circuit through. What its make-up settles by itself is filled in first.
pub fn design(mut given: Given) -> Design {
    given.complete();
    let lines = checks(&given);
    let (smallest, longest) = (size::smallest(&given), size::longest(&given));
    Design { given, lines, smallest, longest }
}

/// All checks of a circuit.
fn checks(given: &Given) -> Vec<Line> {
    let mut lines = current::lines(given);
    lines.extend(drop::lines(given));
    lines.extend(earth_loop::lines(given));
    lines.extend(fault::lines(given));
    lines.extend(charging::lines(given));
    lines
}
