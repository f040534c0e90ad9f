//! Current-carrying capacity Iz with every rating factor, and the coordination Ib <= In <= Iz (BS 7671 regulation 433.1.1).

use super::{Result, figure, positive};
use crate::record::MakeUp;
use crate::tables::ampacity::{self, Arrangement, Surroundings};
use crate::tables::{Confidence, Edition, Limit};

/// How a cable is installed.
#[derive(Debug, Clone, PartialEq)]
pub struct Installation<'a> {
    /// Construction and insulation.
    pub make_up: MakeUp,
    /// Reference method: `A`, `B`, `C`, `D`, `E`, `100` to `103`.
    pub method: &'a str,
    /// Loaded phases: 1 or 3.
    pub phases: u32,
    /// Ambient temperature, C; the table's own (30 in air, 20 in ground) where nothing is said.
    pub ambient_c: Option<f64>,
    /// Circuits grouped, this one included.
    pub grouped: u32,
    /// How they lie.
    pub arrangement: Arrangement,
    /// Run surrounded by thermal insulation, mm. Methods 100 to 103 already hold theirs.
    pub insulation_mm: f64,
    /// Whether a rewireable fuse to BS 3036 gives overload protection.
    pub rewireable: bool,
    /// What the terminals allow, C: a 90 C cable that ends in 70 C terminals is sized on the 70 C table of its construction.
    pub terminal_c: u32,
    /// The edition whose factors hold.
    pub edition: Edition,
}

/// A rating with its factors, as an engineer writes it out.
#[derive(Debug, Clone, PartialEq)]
pub struct Capacity {
    /// Tabulated rating It, A.
    pub tabulated: Limit,
    /// Each factor with its symbol: Ca, Cg, Ci, Cf. Only those that are not 1.
    pub factors: Vec<(&'static str, Limit)>,
    /// It x all factors, A: Iz, or for a rewireable fuse the rating its overload protection allows.
    pub iz_a: f64,
    /// The weakest confidence among the figures.
    pub confidence: Confidence,
}

impl Capacity {
    /// The product of the factors.
    pub fn product(&self) -> f64 {
        self.factors.iter().map(|(_, limit)| limit.value).product()
    }

    /// Whether a figure is confirmed nowhere.
    pub fn is_memory(&self) -> bool {
        self.confidence == Confidence::Memory
    }
}

impl Installation<'_> {
    /// The make-up whose table is used.
    fn rated_as(&self) -> MakeUp {
        match self.make_up {
            MakeUp::Armoured90 if self.terminal_c <= 70 => MakeUp::Armoured70,
            MakeUp::Multicore90 if self.terminal_c <= 70 => MakeUp::Multicore70,
            as_it_is => as_it_is,
        }
    }

    /// The factors of this installation, with their symbols.
    fn factors(&self) -> Result<Vec<(&'static str, Limit)>> {
        let mut factors = Vec::new();
        if let Some(ambient_c) = self.ambient_c {
            let surroundings = Surroundings::of_method(self.method);
            let limit = ampacity::ambient(ampacity::insulation_c(self.rated_as()), surroundings, ambient_c);
            factors.push(("Ca", figure(limit, "an ambient factor for that temperature")?));
        }
        if self.grouped > 1 {
            factors.push(("Cg", figure(ampacity::grouping(self.arrangement, self.grouped), "a grouping factor for so many circuits")?));
        }
        if self.insulation_mm > 0.0 {
            let limit = ampacity::thermal_insulation(self.insulation_mm, self.edition);
            factors.push(("Ci", figure(limit, "a factor for that length of thermal insulation")?));
        }
        if self.rewireable {
            factors.push(("Cf", figure(ampacity::rewireable_factor(), "the factor of rewireable fuses")?));
        }
        factors.retain(|(_, limit)| limit.value != 1.0);
        Ok(factors)
    }
}

/// Iz of a conductor of `mm2` so installed, A: It Ca Cg Ci, with Cf for a rewireable fuse (regulation 433.1.202).
pub fn iz(installation: &Installation<'_>, mm2: f64) -> Result<Capacity> {
    let tabulated = figure(
        ampacity::tabulated(installation.rated_as(), installation.method, mm2, installation.phases),
        "a rating for that cable, method and size",
    )?;
    let factors = installation.factors()?;
    let confidence = factors.iter().map(|(_, limit)| limit.confidence).fold(tabulated.confidence, Ord::max);
    let iz_a = factors.iter().map(|(_, limit)| limit.value).product::<f64>() * tabulated.value;
    Ok(Capacity { tabulated, factors, iz_a, confidence })
}

/// The tabulated rating that a device's rated current asks for, A: In / (Ca Cg Ci Cf).
pub fn tabulated_needed(rating_a: f64, factors: &[f64]) -> Result<f64> {
    let mut needed = positive("rated current (A)", rating_a)?;
    for factor in factors {
        needed /= positive("rating factor", *factor)?;
    }
    Ok(needed)
}

/// The smallest size held, mm2, whose Iz reaches `needed_a`, with its rating.
pub fn smallest_size(installation: &Installation<'_>, needed_a: f64) -> Result<(f64, Capacity)> {
    positive("current (A)", needed_a)?;
    for mm2 in ampacity::sizes(installation.rated_as(), installation.method, installation.phases) {
        let capacity = iz(installation, mm2)?;
        if capacity.iz_a >= needed_a {
            return Ok((mm2, capacity));
        }
    }
    figure(None, "a size large enough for that cable and method")
}
