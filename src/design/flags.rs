//! What the command line says of a circuit: the whole of it, or what is to be tried in place of a record's values.

use super::device;
use super::given::{Given, Known, Stated};
use crate::record::{Count, CpcKind, DcDetection, Earthing, MakeUp, Num, Ocpd, RcdType, Use};
use crate::tables::Edition;
use crate::tables::ampacity::Arrangement;

/// The values that flags give; units as in the record's keys.
#[derive(Debug, Clone, Default)]
#[allow(missing_docs, reason = "each is the record's key of that name")]
pub struct Flags {
    pub usage: Option<Use>,
    pub design_a: Option<f64>,
    pub device: Option<Ocpd>,
    pub breaking_ka: Option<f64>,
    pub rcd_type: Option<RcdType>,
    pub trip_ma: Option<f64>,
    pub rcd_gives_fault_protection: bool,
    pub dc_detection: Option<DcDetection>,
    pub make_up: Option<MakeUp>,
    pub cores: Option<u32>,
    pub line_mm2: Option<f64>,
    pub cpc: Option<CpcKind>,
    pub cpc_mm2: Option<f64>,
    pub length_m: Option<f64>,
    pub method: Option<String>,
    pub ambient_c: Option<f64>,
    pub grouped: Option<u32>,
    pub insulation_mm: Option<f64>,
    pub earthing: Option<Earthing>,
    pub ze_ohm: Option<f64>,
    pub electrode_ohm: Option<f64>,
    pub ipf_ka: Option<f64>,
    pub phases: Option<u32>,
    pub max_demand_a: Option<f64>,
    pub cutout_a: Option<f64>,
    pub single_layer: bool,
    pub terminal_c: Option<u32>,
    pub let_through_a2s: Option<f64>,
}

impl Flags {
    /// Whether there is enough for a circuit that stands in no record.
    pub fn describe_a_circuit(&self) -> bool {
        self.device.is_some() || self.make_up.is_some()
    }

    /// Whether something is said that holds for one circuit only, and not for the supply of all.
    pub fn describe_one_circuit(&self) -> bool {
        let of_circuit = [
            self.usage.is_some(),
            self.design_a.is_some(),
            self.device.is_some(),
            self.breaking_ka.is_some(),
            self.rcd_type.is_some(),
            self.trip_ma.is_some(),
            self.rcd_gives_fault_protection,
            self.dc_detection.is_some(),
            self.make_up.is_some(),
            self.cores.is_some(),
            self.line_mm2.is_some(),
            self.cpc.is_some(),
            self.cpc_mm2.is_some(),
            self.length_m.is_some(),
            self.method.is_some(),
            self.ambient_c.is_some(),
            self.grouped.is_some(),
            self.insulation_mm.is_some(),
            self.phases.is_some(),
            self.let_through_a2s.is_some(),
        ];
        of_circuit.contains(&true)
    }

    /// The circuit that the flags describe by themselves.
    pub fn alone(&self, edition: Edition) -> Given {
        let mut given = Given::blank("a circuit in no record", edition);
        given.assumed.push("no board between the circuit and the origin".to_owned());
        if self.phases.is_none() {
            given.assumed.push("single-phase, 230 V to earth".to_owned());
        }
        self.put_into(&mut given);
        given
    }

    /// Puts the flags' values in place of what the circuit has, each marked.
    pub fn put_into(&self, given: &mut Given) {
        let say = |given: &mut Given, key: &'static str, flag: &str, value: String| {
            let old = given.stated.iter().position(|stated| stated.key == key);
            let instead_of = old.and_then(|old| {
                let was = &given.stated[old];
                (was.value != value).then(|| was.value.clone())
            });
            let stated = Stated { key, value, from: flag.to_owned(), instead_of };
            match old {
                Some(old) => given.stated[old] = stated,
                None => given.stated.push(stated),
            }
        };
        /// One flag: where its value goes, and how it is shown.
        macro_rules! put {
            ($field:ident, $key:literal, $flag:literal, $unit:literal, |$given:ident, $value:ident| $set:expr) => {
                if let Some($value) = self.$field.clone() {
                    say(given, $key, $flag, format!("{}{}", $value, $unit));
                    let $given = &mut *given;
                    $set;
                }
            };
        }
        put!(usage, "use", "--use", "", |given, value| given.usage = Some(value));
        put!(design_a, "design_a", "--design-a", " A", |given, value| given.design_a = Some(value));
        if let Some(device) = &self.device {
            say(given, "ocpd", "--device", device::words(device));
            // What the flag does not say was said of another device, and goes with it.
            given.stated.retain(|stated| stated.key != "ocpd.breaking_ka");
            given.ocpd = device.clone();
        }
        put!(breaking_ka, "ocpd.breaking_ka", "--breaking-ka", " kA", |given, value| given.ocpd.breaking_ka = Some(Num(value)));
        put!(rcd_type, "rcd.type", "--rcd-type", "", |given, value| given.rcd.get_or_insert_default().kind = Some(value));
        put!(trip_ma, "rcd.trip_ma", "--trip-ma", " mA", |given, value| given.rcd.get_or_insert_default().trip_ma = Some(Num(value)));
        if self.rcd_gives_fault_protection {
            say(given, "rcd.gives_fault_protection", "--rcd-gives-fault-protection", "true".to_owned());
            given.rcd_for_faults = true;
        }
        put!(dc_detection, "ev.dc_detection", "--dc-detection", "", |given, value| given.ev.get_or_insert_default().dc_detection =
            Some(value));
        let is_other_cable = self.make_up.is_some_and(|make_up| given.cable.make_up.is_some_and(|was| was != make_up));
        let is_other_size = self.line_mm2.is_some_and(|mm2| given.cable.line_mm2.is_some_and(|was| *was != mm2));
        if is_other_cable {
            given.cable.cores = None;
            given.stated.retain(|stated| stated.key != "cable.cores");
        }
        if (is_other_cable || is_other_size) && self.cpc_mm2.is_none() && given.cable.cpc_mm2.is_some() {
            // The cpc follows the cable, as it does in the search for the smallest.
            given.cable.cpc_mm2 = None;
            given.stated.retain(|stated| stated.key != "cable.cpc_mm2");
        }
        put!(make_up, "cable.make_up", "--cable", "", |given, value| given.cable.make_up = Some(value));
        put!(cores, "cable.cores", "--cores", "", |given, value| given.cable.cores = Some(Count(value)));
        put!(line_mm2, "cable.line_mm2", "--line", " mm2", |given, value| given.cable.line_mm2 = Some(Num(value)));
        put!(cpc, "cable.cpc", "--cpc", "", |given, value| given.cable.cpc = Some(value));
        put!(cpc_mm2, "cable.cpc_mm2", "--cpc-mm2", " mm2", |given, value| given.cable.cpc_mm2 = Some(Num(value)));
        put!(length_m, "cable.length_m", "--length", " m", |given, value| given.cable.length_m = Some(Num(value)));
        put!(method, "cable.method", "--method", "", |given, value| given.cable.method = Some(value));
        put!(ambient_c, "cable.ambient_c", "--ambient", " C", |given, value| given.cable.ambient_c = Some(Num(value)));
        put!(grouped, "cable.grouped", "--grouped", "", |given, value| given.cable.grouped = Some(Count(value)));
        put!(insulation_mm, "cable.insulation_mm", "--insulation", " mm", |given, value| given.cable.insulation_mm = Some(Num(value)));
        put!(earthing, "supply.earthing", "--earthing", "", |given, value| given.earthing = Some(value));
        if let Some(ohm) = self.ze_ohm {
            say(given, "supply.ze_ohm", "--ze", format!("{ohm} ohm"));
            given.ze = Some(Known { value: ohm, from: "--ze".to_owned() });
            // A Ze to be tried stands in front of what was read behind it.
            given.zdb = None;
            given.stated.retain(|stated| stated.key != "boards.zdb_ohm");
        }
        if let Some(ohm) = self.electrode_ohm {
            say(given, "supply.electrode_ohm", "--electrode", format!("{ohm} ohm"));
            given.electrode = Some(Known { value: ohm, from: "--electrode".to_owned() });
        }
        if let Some(ka) = self.ipf_ka {
            say(given, "ipf_ka", "--ipf-ka", format!("{ka} kA"));
            given.ipf_ka = Some(Known { value: ka, from: "--ipf-ka".to_owned() });
        }
        put!(phases, "supply.phases", "--phases", "", |given, value| given.phases = value);
        put!(max_demand_a, "supply.max_demand_a", "--max-demand", " A", |given, value| given.max_demand_a = Some(value));
        put!(cutout_a, "supply.cutout.rating_a", "--cutout", " A", |given, value| given.cutout_a = Some(value));
        if self.single_layer {
            given.arrangement = Arrangement::SingleLayer;
            given.assumed.push("grouped circuits lie in one layer, touching (--single-layer)".to_owned());
        }
        if let Some(terminal_c) = self.terminal_c {
            given.terminal_c = terminal_c;
            given.assumed.push(format!("terminals at both ends allow {terminal_c} C (--terminal-c)"));
        }
        if let Some(energy) = self.let_through_a2s {
            given.let_through_a2s = Some(energy);
            given.assumed.push(format!("the device lets {energy} A2s through (--let-through)"));
        }
    }
}
