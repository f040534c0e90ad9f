//! The closed vocabularies of the record format: each value is a word of the trade, kebab-case as written in a record.

use serde::{Deserialize, Serialize};

/// Declares a closed vocabulary: the enum, its spelling in records, and the list of all its words.
macro_rules! words {
    ($(#[$meta:meta])* $name:ident { $($(#[$vmeta:meta])* $variant:ident = $text:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, schemars::JsonSchema)]
        pub enum $name { $($(#[$vmeta])* #[serde(rename = $text)] $variant),+ }

        impl $name {
            /// Every value, in the order of the record format.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The word as records spell it.
            pub const fn as_str(self) -> &'static str {
                match self { $($name::$variant => $text),+ }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.as_str())
            }
        }

        impl std::str::FromStr for $name {
            type Err = ();
            fn from_str(text: &str) -> Result<Self, ()> {
                Self::ALL.iter().copied().find(|word| word.as_str() == text).ok_or(())
            }
        }
    };
}

words! {
    /// What a file is: the value of its `record:` key.
    RecordKind {
        /// What stays at a place: supply, boards, premises, privacy.
        Site = "site",
        /// One visit.
        Job = "job",
        /// A test instrument or tool with its calibrations and checks.
        Instrument = "instrument",
        /// What a make and model of equipment is known to do.
        Model = "model",
        /// A safety notice and whom it touches.
        Recall = "recall",
    }
}

words! {
    /// The nation whose law and notices apply.
    Nation {
        /// England.
        England = "england",
        /// Wales.
        Wales = "wales",
        /// Scotland.
        Scotland = "scotland",
        /// Northern Ireland.
        NorthernIreland = "northern-ireland",
    }
}

words! {
    /// What the place is used for; decides inspection intervals and tenure law.
    Premises {
        /// A home lived in by its owner.
        Dwelling = "dwelling",
        /// A home that is let.
        DwellingLet = "dwelling-let",
        /// A house in multiple occupation.
        Hmo = "hmo",
        /// A shop.
        Shop = "shop",
        /// An office.
        Office = "office",
        /// A workshop or other industrial use.
        Workshop = "workshop",
        /// A village hall, club house or similar.
        VillageHall = "village-hall",
        /// A farm or horticultural holding.
        Farm = "farm",
        /// A caravan park.
        CaravanPark = "caravan-park",
        /// A marina.
        Marina = "marina",
        /// A car park.
        CarPark = "car-park",
        /// A construction site.
        Construction = "construction",
        /// Any other use.
        Other = "other",
    }
}

words! {
    /// How much of a site's record may be handed to others.
    Share {
        /// Nothing.
        None = "none",
        /// With private details left out.
        Redacted = "redacted",
        /// Everything.
        Full = "full",
    }
}

words! {
    /// Whether photographs may be taken and kept at a site.
    Photographs {
        /// No photographs at all.
        None = "none",
        /// Only for the electrician's own record.
        RecordOnly = "record-only",
        /// Any.
        Any = "any",
    }
}

words! {
    /// The type of earthing system, as BS 7671 names it.
    Earthing {
        /// Separate neutral and protective conductors throughout.
        TnS = "TN-S",
        /// Neutral and protective functions combined in the supply (PME).
        TnCS = "TN-C-S",
        /// Earthed by the installation's own electrode.
        Tt = "TT",
        /// Source isolated from Earth or earthed through an impedance.
        It = "IT",
    }
}

words! {
    /// How a fact about the supply is known.
    ShownBy {
        /// Read from a label at the origin.
        Label = "label",
        /// Told by the network operator.
        OperatorReply = "operator-reply",
        /// Seen with one's own eyes.
        Seen = "seen",
        /// Shown by a test.
        Test = "test",
        /// Taken for granted.
        Assumed = "assumed",
    }
}

words! {
    /// Whether a service cable feeds one property or loops on to the next.
    Service {
        /// One property only.
        Separate = "separate",
        /// Looped to or from a neighbour.
        Looped = "looped",
        /// Not known.
        Unknown = "unknown",
    }
}

words! {
    /// The kind of earth electrode.
    ElectrodeKind {
        /// A driven rod.
        Rod = "rod",
        /// Several rods joined.
        Rods = "rods",
        /// A buried plate.
        Plate = "plate",
        /// Buried tape or wire.
        Tape = "tape",
        /// Steel in the ground that belongs to the building.
        Structure = "structure",
    }
}

words! {
    /// What a main protective bonding conductor connects.
    BondedService {
        /// The water installation pipe.
        Water = "water",
        /// The gas installation pipe.
        Gas = "gas",
        /// The oil installation pipe.
        Oil = "oil",
        /// Exposed structural steel.
        Steel = "steel",
        /// A lightning protection system.
        Lightning = "lightning",
        /// Livestock-location metalwork.
        Livestock = "livestock",
        /// Another extraneous-conductive-part.
        Other = "other",
    }
}

words! {
    /// The material of a board's enclosure.
    Enclosure {
        /// Steel or other non-combustible material.
        Metal = "metal",
        /// Plastic.
        Plastic = "plastic",
    }
}

words! {
    /// What a conductor is made of.
    Material {
        /// Copper.
        Copper = "copper",
        /// Aluminium.
        Aluminium = "aluminium",
        /// Steel, such as the armour of a cable.
        Steel = "steel",
    }
}

words! {
    /// What came of looking at something.
    InspectionResult {
        /// As it should be.
        Sound = "sound",
        /// Not so; an observation or a fault says what.
        Wanting = "wanting",
        /// Not seen, because of a limitation.
        Limited = "limited",
        /// There is none of it here.
        None = "none",
    }
}

words! {
    /// What a visit was for.
    JobKind {
        /// Looking and measuring before work is designed.
        Survey = "survey",
        /// New work.
        Install = "install",
        /// Alteration or addition to existing work.
        Alter = "alter",
        /// Periodic inspection and testing.
        Inspect = "inspect",
        /// A call to a fault.
        Callout = "callout",
        /// Equipment replaced like for like or by another model.
        Swap = "swap",
    }
}

words! {
    /// How far a job's record has come.
    Status {
        /// Notes still being made.
        Draft = "draft",
        /// Work planned and not begun.
        Planned = "planned",
        /// Waiting for somebody or something.
        OnHold = "on-hold",
        /// Work and record finished.
        Complete = "complete",
        /// Its paper has been issued.
        Issued = "issued",
    }
}

words! {
    /// How a supply figure was obtained.
    SupplyBy {
        /// Read on an instrument.
        Measured = "measured",
        /// Told by the network operator.
        Enquiry = "enquiry",
        /// Worked out.
        Calculated = "calculated",
    }
}

words! {
    /// How an electrode's resistance was measured.
    ElectrodeBy {
        /// Three-terminal earth tester.
        ThreeTerminal = "three-terminal",
        /// Earth loop impedance tester.
        Loop = "loop",
        /// Stakeless clamp.
        Clamp = "clamp",
    }
}

words! {
    /// Result of a polarity check.
    Polarity {
        /// As it should be.
        Correct = "correct",
        /// Line and neutral exchanged.
        Reversed = "reversed",
    }
}

words! {
    /// What a circuit is used for.
    Use {
        /// Charging electric vehicles.
        Ev = "ev",
        /// Ring final circuit of socket-outlets.
        Ring = "ring",
        /// Radial circuit of socket-outlets.
        Sockets = "sockets",
        /// Lighting.
        Lighting = "lighting",
        /// One item of fixed equipment.
        Fixed = "fixed",
        /// Space or water heating.
        Heating = "heating",
        /// A distribution circuit to another board.
        SubMain = "sub-main",
        /// A way with nothing on it.
        Spare = "spare",
        /// Any other use.
        Other = "other",
    }
}

words! {
    /// RCD type by the residual currents it answers to (BS EN 61008-1, 61009-1, 62423).
    RcdType {
        /// Alternating residual current only.
        Ac = "AC",
        /// Alternating and pulsating direct residual current.
        A = "A",
        /// As A, with composite frequencies.
        F = "F",
        /// As F, with smooth direct residual current.
        B = "B",
    }
}

words! {
    /// A cable's make-up: construction, and the conductor temperature its insulation allows, in degrees Celsius.
    MakeUp {
        /// Flat twin and earth, 70 C thermoplastic.
        Flat70 = "flat-70",
        /// Single-core in conduit or trunking, 70 C thermoplastic.
        Singles70 = "singles-70",
        /// Multicore sheathed, 70 C thermoplastic.
        Multicore70 = "multicore-70",
        /// Multicore sheathed, 90 C thermosetting.
        Multicore90 = "multicore-90",
        /// Steel-wire armoured, 70 C thermoplastic.
        Armoured70 = "armoured-70",
        /// Steel-wire armoured, 90 C thermosetting.
        Armoured90 = "armoured-90",
    }
}

words! {
    /// What serves as a circuit's protective conductor.
    CpcKind {
        /// A core of the cable.
        Core = "core",
        /// The steel-wire armour.
        Armour = "armour",
        /// Steel conduit or trunking.
        Conduit = "conduit",
    }
}

words! {
    /// How a length is known.
    LengthBy {
        /// Measured on site or on the drum.
        Measured = "measured",
        /// Judged by eye or from a plan.
        Estimated = "estimated",
    }
}

words! {
    /// Where a charge point stands.
    EvPlace {
        /// Outdoors, or where a vehicle may be charged outdoors.
        Outdoor = "outdoor",
        /// Indoors, with the vehicle indoors as well.
        Indoor = "indoor",
    }
}

words! {
    /// The measure taken against a broken PEN conductor: the indent of 722.411.4.1, or another arrangement.
    OpenPen {
        /// Three-phase installation whose other loads hold the voltage down.
        I = "i",
        /// Additional low-resistance electrode.
        Ii = "ii",
        /// Device watching the protective conductor against Earth.
        Iii = "iii",
        /// Device watching the single-phase supply voltage.
        Iv = "iv",
        /// Another device of no less safety, by its maker's statement.
        V = "v",
        /// A TT earth for the charging circuit.
        Tt = "tt",
        /// Electrical separation.
        Separated = "separated",
        /// No measure needed; `open_pen_why` says why.
        NotNeeded = "not-needed",
    }
}

words! {
    /// Where smooth d.c. fault current is detected.
    DcDetection {
        /// In the charge point (IEC 62955 or equivalent).
        InUnit = "in-unit",
        /// A separate device.
        Separate = "separate",
        /// By a type B RCD.
        TypeB = "type-b",
        /// Nowhere.
        None = "none",
    }
}

words! {
    /// How a charge point that can feed back is connected with the network.
    Export {
        /// It cannot, or does not, export.
        None = "none",
        /// Under ENA Engineering Recommendation G98.
        G98 = "g98",
        /// Under ENA Engineering Recommendation G99.
        G99 = "g99",
    }
}

words! {
    /// How a loop impedance was obtained.
    ZsBy {
        /// Read on an instrument.
        Measured = "measured",
        /// Ze plus R1+R2.
        Calculated = "calculated",
    }
}

words! {
    /// The loop test mode used.
    ZsMode {
        /// Low current, so that an RCD holds.
        NoTrip = "no-trip",
        /// High current.
        HighCurrent = "high-current",
    }
}

words! {
    /// Whether something that can be operated did what it should.
    Works {
        /// It works.
        Works = "works",
        /// It does not.
        Fails = "fails",
    }
}

words! {
    /// What an RCD did at half its rated residual current.
    HalfTest {
        /// It held.
        Held = "held",
        /// It tripped.
        Tripped = "tripped",
    }
}

words! {
    /// What happened to a unit of equipment at a visit.
    UnitEvent {
        /// Fitted.
        Fitted = "fitted",
        /// Taken away.
        Removed = "removed",
        /// Seen in place.
        Seen = "seen",
    }
}

words! {
    /// Who supplied a unit.
    SuppliedBy {
        /// We did.
        Us = "us",
        /// The customer did.
        Customer = "customer",
        /// Somebody else did.
        Other = "other",
    }
}

words! {
    /// The kind of a joint or termination.
    JointKind {
        /// Screw terminal.
        Screw = "screw",
        /// Lever or spring clamp.
        Lever = "lever",
        /// Crimp or compression.
        Crimp = "crimp",
        /// Marked maintenance-free.
        MaintenanceFree = "maintenance-free",
    }
}

words! {
    /// Who made something, or to whom a fault is laid.
    MadeBy {
        /// We did.
        Us = "us",
        /// The manufacturer.
        Manufacturer = "manufacturer",
        /// Somebody else.
        Other = "other",
    }
}

words! {
    /// Whether a joint can be reached.
    Access {
        /// Open to view or behind a lid.
        Open = "open",
        /// Covered, and reachable with tools.
        Covered = "covered",
        /// Cannot be reached.
        None = "none",
    }
}

words! {
    /// The stranding of a conductor.
    Stranding {
        /// One solid wire.
        Solid = "solid",
        /// Several wires.
        Stranded = "stranded",
        /// Fine wires.
        FineStranded = "fine-stranded",
    }
}

words! {
    /// What the customer noticed.
    Symptom {
        /// Buzzing, humming or crackling.
        Noise = "noise",
        /// A smell of burning.
        BurningSmell = "burning-smell",
        /// A spark seen.
        Spark = "spark",
        /// Trips as soon as it is switched on.
        TripsAtOnce = "trips-at-once",
        /// Trips after some time.
        TripsLater = "trips-later",
        /// Trips in wet weather.
        TripsWhenWet = "trips-when-wet",
        /// Nothing works.
        Dead = "dead",
        /// Powered but will not charge.
        NoCharge = "no-charge",
        /// Something gets hot.
        Heat = "heat",
        /// Broken or struck.
        Damage = "damage",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// What caused a fault.
    Cause {
        /// A joint or terminal.
        Termination = "termination",
        /// Insulation.
        Insulation = "insulation",
        /// Water.
        Water = "water",
        /// The device itself.
        Device = "device",
        /// The cable.
        Cable = "cable",
        /// The supply.
        Supply = "supply",
        /// The load or the vehicle.
        Load = "load",
        /// The way it was used.
        User = "user",
        /// Not found.
        NotFound = "not-found",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// To whom a fault is laid.
    LaidTo {
        /// To us.
        Us = "us",
        /// To the manufacturer.
        Manufacturer = "manufacturer",
        /// To somebody else.
        Other = "other",
        /// Not known.
        Unknown = "unknown",
    }
}

words! {
    /// Classification code of an observation or fault, as condition reports use it.
    Code {
        /// Danger present.
        C1 = "C1",
        /// Potentially dangerous.
        C2 = "C2",
        /// Improvement recommended.
        C3 = "C3",
        /// Further investigation required.
        Fi = "FI",
    }
}

words! {
    /// Where a fault stands.
    FaultState {
        /// Not put right.
        Open = "open",
        /// Being watched.
        Watching = "watching",
        /// Put right.
        Fixed = "fixed",
    }
}

words! {
    /// How a faulty part was left.
    Left {
        /// Energised.
        Live = "live",
        /// Isolated.
        Isolated = "isolated",
        /// Taken away.
        Removed = "removed",
    }
}

words! {
    /// How something was told or given.
    How {
        /// Said.
        Verbal = "verbal",
        /// Written.
        Written = "written",
        /// By electronic mail.
        Email = "email",
        /// By message.
        Message = "message",
        /// By post.
        Post = "post",
        /// Handed over.
        ByHand = "by-hand",
    }
}

words! {
    /// The outcome of a condition report.
    Outcome {
        /// Fit for continued use in the inspector's judgement.
        Satisfactory = "satisfactory",
        /// Not so.
        Unsatisfactory = "unsatisfactory",
    }
}

words! {
    /// Whether a limitation was agreed beforehand or met on the day.
    LimitationKind {
        /// Agreed with the person ordering the work.
        Agreed = "agreed",
        /// Met on site.
        Operational = "operational",
    }
}

words! {
    /// Whom a notice goes to.
    NoticeTo {
        /// The network operator.
        NetworkOperator = "network-operator",
        /// Building control, directly or through a registration scheme.
        BuildingControl = "building-control",
        /// The landlord.
        Landlord = "landlord",
        /// The local housing authority.
        Council = "council",
        /// The manufacturer.
        Manufacturer = "manufacturer",
        /// An insurer.
        Insurer = "insurer",
    }
}

words! {
    /// The network operator's route.
    NoticeRoute {
        /// Connect, then notify.
        Notify = "notify",
        /// Apply, then connect.
        Apply = "apply",
    }
}

words! {
    /// The paper a visit ends in.
    PaperKind {
        /// Electrical installation certificate.
        InstallationCertificate = "installation-certificate",
        /// Minor electrical installation works certificate.
        MinorWorksCertificate = "minor-works-certificate",
        /// Electrical installation condition report.
        ConditionReport = "condition-report",
        /// A written note of advice.
        AdviceNote = "advice-note",
    }
}

words! {
    /// The kind of an instrument or tool.
    InstrumentKind {
        /// Multifunction installation tester.
        MultifunctionTester = "multifunction-tester",
        /// Insulation resistance tester.
        InsulationTester = "insulation-tester",
        /// Earth fault loop impedance tester.
        LoopTester = "loop-tester",
        /// RCD tester.
        RcdTester = "rcd-tester",
        /// Control-pilot test adapter for charge points.
        EvAdapter = "ev-adapter",
        /// Proving unit for a voltage indicator.
        ProvingUnit = "proving-unit",
        /// Torque screwdriver or wrench.
        TorqueDriver = "torque-driver",
        /// Thermal camera.
        ThermalCamera = "thermal-camera",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// What an instrument reads.
    Reads {
        /// Continuity and low resistance.
        Continuity = "continuity",
        /// Insulation resistance.
        Insulation = "insulation",
        /// Earth fault loop impedance and prospective fault current.
        Loop = "loop",
        /// RCD operation.
        Rcd = "rcd",
        /// Earth electrode resistance.
        Electrode = "electrode",
        /// Voltage.
        Voltage = "voltage",
        /// Leakage and load current.
        Current = "current",
        /// Charge-point pilot functions.
        Pilot = "pilot",
        /// Torque.
        Torque = "torque",
        /// Temperature.
        Temperature = "temperature",
    }
}

words! {
    /// The result of a check of an instrument.
    CheckResult {
        /// Within its limits.
        Passed = "passed",
        /// Outside them.
        Failed = "failed",
    }
}

words! {
    /// The kind of equipment that a model record describes.
    ModelKind {
        /// Charge point (mode 3).
        ChargePoint = "charge-point",
        /// Socket-outlet for charging vehicles.
        EvSocket = "ev-socket",
        /// Residual current device.
        Rcd = "rcd",
        /// Consumer unit or distribution board.
        ConsumerUnit = "consumer-unit",
        /// Surge protective device.
        Spd = "spd",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// How grave a finding is, worst first.
    Grade {
        /// Someone may be hurt.
        Danger = "danger",
        /// A rule, a limit or a date is not met.
        Breach = "breach",
        /// Probably wrong, or needs a reason.
        Doubt = "doubt",
        /// A record that a reader will trip over.
        Tidy = "tidy",
    }
}

words! {
    /// What `book.yaml` may re-grade a rule to.
    RuleGrade {
        /// Someone may be hurt.
        Danger = "danger",
        /// A rule, a limit or a date is not met.
        Breach = "breach",
        /// Probably wrong, or needs a reason.
        Doubt = "doubt",
        /// A record that a reader will trip over.
        Tidy = "tidy",
        /// Not told at all; refused for dangers.
        Silent = "silent",
    }
}
