//! Resistance of conductors, of a circuit's R1+R2, and the expected loop impedance.

use super::{Result, Worked, figure, not_negative, positive, within};
use crate::record::{Cable, CpcKind, MakeUp};
use crate::tables::{Limit, conductors};

/// Which temperature coefficient of copper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coefficient {
    /// 0.004 per C from 20 C, as the UK tables and the On-Site Guide take it.
    Tables,
    /// 0.00393 per C from 20 C, as copper measures.
    Measured,
}

impl Coefficient {
    fn limit(self) -> Result<Limit> {
        figure(
            match self {
                Coefficient::Tables => conductors::copper_coefficient_of_tables(),
                Coefficient::Measured => conductors::copper_coefficient(),
            },
            "a temperature coefficient of copper",
        )
    }

    /// The coefficient, per C.
    pub fn per_c(self) -> Result<f64> {
        self.limit().map(|limit| limit.value)
    }
}

/// Resistance at a temperature from that at 20 C: R20 (1 + coefficient (T - 20)). `conductor_c` from -40 to 300 C.
pub fn at_temperature(r20_ohm: f64, conductor_c: f64, per_c: f64) -> Result<f64> {
    let rise = within("conductor temperature (C)", conductor_c, -40.0, 300.0)? - 20.0;
    Ok(not_negative("resistance (ohm)", r20_ohm)? * (1.0 + per_c * rise))
}

/// Resistances side by side. One of zero makes the whole zero; at least one is needed.
pub fn parallel(ohms: &[f64]) -> Result<f64> {
    within("number of paths", ohms.len() as f64, 1.0, f64::MAX)?;
    let mut siemens = 0.0;
    for ohm in ohms {
        siemens += 1.0 / not_negative("resistance (ohm)", *ohm)?;
    }
    Ok(1.0 / siemens)
}

/// What carries a fault current back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Protective {
    /// A copper core of so many mm2.
    Core {
        /// Size, mm2.
        mm2: f64,
    },
    /// The steel-wire armour of the cable alone.
    Armour {
        /// Size of the cable's conductors, mm2.
        cable_mm2: f64,
        /// Number of cores.
        cores: u32,
    },
    /// A copper core with the armour beside it, both ends of the armour earthed.
    CoreBesideArmour {
        /// Size of the core, mm2.
        mm2: f64,
        /// Size of the cable's conductors, mm2.
        cable_mm2: f64,
        /// Number of cores.
        cores: u32,
    },
}

/// A run of cable whose R1+R2 is wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Line conductor, mm2.
    pub line_mm2: f64,
    /// Protective conductor.
    pub protective: Protective,
    /// Length one way, m.
    pub length_m: f64,
}

impl Run {
    /// The run that a record describes; nothing when a size or the length is missing, or the conduit is the protective conductor, whose
    /// resistance no table here holds. A core in an armoured cable is taken alone: see [`Run::with_armour`].
    pub fn of(cable: &Cable) -> Option<Run> {
        let line_mm2 = *cable.line_mm2?;
        let protective = match cable.cpc.unwrap_or(CpcKind::Core) {
            CpcKind::Core => Protective::Core { mm2: *cable.cpc_mm2? },
            CpcKind::Armour => Protective::Armour { cable_mm2: line_mm2, cores: *cable.cores? },
            CpcKind::Conduit => return None,
        };
        Some(Run { line_mm2, protective, length_m: *cable.length_m? })
    }

    /// The same run with the armour in parallel with the core, where the record describes an armoured cable with a core as protective
    /// conductor. A reading lies between the two when the armour is earthed at both ends.
    pub fn with_armour(self, cable: &Cable) -> Option<Run> {
        let armoured = matches!(cable.make_up, Some(MakeUp::Armoured70 | MakeUp::Armoured90));
        match self.protective {
            Protective::Core { mm2 } if armoured => {
                Some(Run { protective: Protective::CoreBesideArmour { mm2, cable_mm2: self.line_mm2, cores: *cable.cores? }, ..self })
            }
            _ => None,
        }
    }
}

/// Expected R1+R2 in ohm at a conductor temperature: (line + protective) x length / 1000, each at its temperature.
///
/// `conductor_c`: 20 to compare with printed tables, the ambient temperature to compare with a reading, 70 or 90 for the working circuit.
/// Copper by IEC 60228, armour by BS 5467 (a greatest value, so a reading through armour may be lower).
pub fn r1_r2(run: &Run, conductor_c: f64, coefficient: Coefficient) -> Result<Worked> {
    let length_m = not_negative("length (m)", run.length_m)?;
    let copper = coefficient.limit()?;
    let hot = |limit: &Limit, per_c: f64| at_temperature(limit.value * length_m / 1000.0, conductor_c, per_c);
    let line = figure(conductors::resistance(run.line_mm2), "the resistance of that line conductor")?;
    let line_ohm = hot(&line, copper.value)?;
    let core = |mm2| figure(conductors::resistance(mm2), "the resistance of that protective conductor");
    let armour = |mm2, cores| figure(conductors::armour_resistance(mm2, cores), "the resistance of that armour");
    let steel = || figure(conductors::steel_coefficient(), "a temperature coefficient of steel");
    Ok(match run.protective {
        Protective::Core { mm2 } => {
            let core = core(mm2)?;
            Worked::from_limits(line_ohm + hot(&core, copper.value)?, &[&line, &core])
        }
        Protective::Armour { cable_mm2, cores } => {
            let (armour, steel) = (armour(cable_mm2, cores)?, steel()?);
            Worked::from_limits(line_ohm + hot(&armour, steel.value)?, &[&line, &armour])
        }
        Protective::CoreBesideArmour { mm2, cable_mm2, cores } => {
            let (core, armour, steel) = (core(mm2)?, armour(cable_mm2, cores)?, steel()?);
            let beside = parallel(&[hot(&core, copper.value)?, hot(&armour, steel.value)?])?;
            Worked::from_limits(line_ohm + beside, &[&line, &core, &armour])
        }
    })
}

/// The length, m, that an R1+R2 reading stands for at a conductor temperature.
pub fn length_from_r1_r2(run: &Run, r1_r2_ohm: f64, conductor_c: f64, coefficient: Coefficient) -> Result<Worked> {
    let metre = r1_r2(&Run { length_m: 1.0, ..*run }, conductor_c, coefficient)?;
    Ok(Worked { value: not_negative("R1+R2 (ohm)", r1_r2_ohm)? / metre.value, ..metre })
}

/// Expected Zs, ohm: Ze + R1+R2 added as plain numbers. That is never under the true magnitude, so it is the strict side for
/// disconnection; it understates the greatest fault current (see [`super::fault::loop_impedance`]).
pub fn expected_zs(ze_ohm: f64, r1_r2_ohm: f64) -> Result<f64> {
    Ok(not_negative("Ze (ohm)", ze_ohm)? + not_negative("R1+R2 (ohm)", r1_r2_ohm)?)
}

/// The loop impedance with the circuit at its working temperature, ohm, from a reading taken with its conductors at `read_c`: only the
/// circuit's own part R1+R2 warms, the part outside does not.
pub fn zs_at_working_temperature(ze_ohm: f64, r1_r2_ohm: f64, read_c: f64, working_c: f64) -> Result<f64> {
    let per_c = Coefficient::Tables.per_c()?;
    let at_20 = not_negative("R1+R2 (ohm)", r1_r2_ohm)? / at_temperature(1.0, read_c, per_c)?;
    expected_zs(ze_ohm, at_temperature(at_20, working_c, per_c)?)
}

/// Longest run, m, that keeps Zs within a limit: (limit - Ze) / (mohm/m at working temperature) x 1000. Zero when Ze alone is over it.
pub fn longest_run_for_zs(limit_ohm: f64, ze_ohm: f64, mohm_per_m: f64) -> Result<f64> {
    let left = positive("limit (ohm)", limit_ohm)? - not_negative("Ze (ohm)", ze_ohm)?;
    Ok((left.max(0.0)) * 1000.0 / positive("resistance (mohm/m)", mohm_per_m)?)
}
