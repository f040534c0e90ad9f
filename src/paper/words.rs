//! Every word that a paper says of itself, in one table, so that another language is another column. What a record says stays in the
//! words of the record.

use crate::record::Date;

/// A language that papers are made in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Language {
    /// English as used in the United Kingdom.
    English,
}

/// Declares the phrases: a name, the key that the paper's HTML carries, and the English.
macro_rules! phrases {
    ($($name:ident = $key:literal $english:literal;)+) => {
        /// A word, name or sentence of a paper. `{}` in it is filled in.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs)]
        pub enum Phrase { $($name),+ }

        impl Phrase {
            /// Every phrase.
            pub const ALL: &'static [Phrase] = &[$(Phrase::$name),+];

            /// Its key in `data-holds` and in ids: kebab-case.
            pub const fn key(self) -> &'static str {
                match self { $(Phrase::$name => $key),+ }
            }

            const fn english(self) -> &'static str {
                match self { $(Phrase::$name => $english),+ }
            }
        }
    };
}

phrases! {
    // Papers.
    InstallationCertificate = "installation-certificate" "Electrical installation certificate";
    MinorWorksCertificate = "minor-works-certificate" "Minor electrical works certificate";
    ConditionReport = "condition-report" "Electrical installation condition report";
    AdviceNote = "advice-note" "Advice note";
    CalloutReport = "callout-report" "Callout report";
    CustomerSheet = "customer-sheet" "Your visit in plain words";

    // What every page says.
    NotACertificate = "what-it-is-not" "A reader\u{2019}s copy made from the electrician\u{2019}s record. It certifies nothing by itself: competence, judgement, the signature and local rules remain with the signatory, and the current printed standard decides.";
    NotACertificateShort = "what-it-is-not-short" "Reader\u{2019}s copy of a record. It certifies nothing by itself: competence, signature and local rules remain with the signatory.";
    Draft = "draft" "Draft";
    DraftExplained = "draft-explained" "Draft, not to be issued ({}). The list is at the end.";
    DraftBrief = "draft-brief" "Draft, not to be issued ({}). What is not recorded shows where it belongs.";
    DraftWhole = "draft-whole" "Draft, not to be issued until it is made final.";
    GapsCounted = "gaps-counted" "not recorded: {}";
    ObstaclesCounted = "obstacles-counted" "in the way: {}";
    NotRecorded = "not-recorded" "not recorded";
    Unreadable = "unreadable" "cannot be read";
    ByHand = "by-hand" "to be filled in by hand";
    DoesNotApply = "does-not-apply" "does not apply or was not asked for";
    FromVisit = "from-visit" "from the visit {}";
    PageOf = "page-of" "Page {} of {}";
    RecordDigest = "record-digest" "SHA-256 of the record {}";

    // Beginning.
    Parties = "parties" "Place and people";
    Client = "client" "Client";
    ClientAddress = "client-address" "Client\u{2019}s address";
    SiteAddress = "site-address" "Address of the installation";
    SiteName = "site-name" "Place, as the record calls it";
    Premises = "premises" "Use of the premises";
    Firm = "firm" "Electrician";
    Number = "number" "Number of this paper";
    Issued = "issued" "Date of issue";
    VisitDay = "visit-day" "Date of the visit";
    DayTested = "day-tested" "Inspected and tested";
    DayDesigned = "day-designed" "Designed";
    DayInstalled = "day-installed" "Constructed";
    Edition = "edition" "Designed and verified to";
    EditionInspected = "edition-inspected" "Inspected to";
    GivenTo = "given-to" "Given to";
    GivenHow = "given-how" "{}, {}, {}";

    // The work.
    Work = "work" "The work";
    Description = "description" "Description";
    Extent = "extent" "Extent";
    KindOfWork = "kind-of-work" "New, addition or alteration";
    NewCircuits = "new-circuits" "{}; new circuits: {}";
    NewInstallation = "new-installation" "new work";
    Alteration = "alteration" "alteration or addition to existing work";
    Replacement = "replacement" "replacement of equipment";
    OtherWork = "other-work" "other work";
    Departures = "departures" "Departures from BS 7671 (120.3, 133.1.3, 133.5) and permitted exceptions (411.3.3)";
    Existing = "existing" "Comments on the existing installation";
    Continues = "continues" "Follows the visit";

    // Limitations.
    Limitations = "limitations" "Limitations";
    LimitationsNone = "limitations-none" "No limitation is recorded.";
    LimitationsOwnWork = "limitations-own-work" "A limitation covers nothing that belongs to the new work itself (BS 7671 Chapter 64).";
    LimitWhat = "limit-what" "Left out";
    LimitWhere = "limit-where" "Where";
    LimitWhy = "limit-why" "Why";
    LimitKind = "limit-kind" "Agreed or met on the day";
    LimitWho = "limit-who" "Agreed with, on";
    LimitEffect = "limit-effect" "Effect";
    LimitLift = "limit-lift" "How it will be lifted";
    AgreedWithOn = "agreed-with-on" "{}, {}";

    // Supply.
    Supply = "supply" "Supply and earthing";
    Earthing = "supply-earthing" "Earthing system";
    LiveConductors = "supply-conductors" "Live conductors";
    OnePhase = "one-phase" "single-phase, two-wire, a.c.";
    ThreePhase = "three-phase" "three-phase, four-wire, a.c.";
    NominalVoltage = "supply-voltage" "Nominal voltage U0 to earth (V)";
    Frequency = "supply-frequency" "Frequency (Hz)";
    ByDefault = "by-default" "nominal value; none is written in the record";
    Ipf = "supply-ipf" "Prospective fault current Ipf (kA)";
    Ze = "supply-ze" "External loop impedance Ze (\u{3a9})";
    SupplyDevice = "supply-device" "Supply protective device";
    SupplyPolarity = "supply-polarity" "Polarity of the supply";
    SupplyV = "supply-v" "Voltage on the day (V)";
    OtherSources = "other-sources" "Other sources of supply";
    MeansOfEarthing = "means-of-earthing" "Means of earthing";
    ByDistributor = "by-distributor" "the distributor\u{2019}s facility";
    ByElectrode = "by-electrode" "the installation\u{2019}s own electrode";
    Electrode = "electrode" "Earth electrode: kind and location";
    ElectrodeOhm = "electrode-ohm" "Electrode resistance (\u{3a9})";
    MaximumDemand = "maximum-demand" "Maximum demand (A per phase)";
    Obtained = "obtained" "{}";
    ShownBy = "shown-by" "known by: {}";

    // Main protective conductors and switch.
    Protective = "protective-conductors" "Main protective conductors";
    EarthingConductor = "earthing-conductor" "Earthing conductor";
    Bonding = "bonding" "Main protective bonding";
    BondedPart = "bonded-part" "Bonded part";
    ConductorSize = "conductor-size" "Size (mm\u{b2})";
    ConductorMaterial = "conductor-material" "Material";
    ConductorVerified = "conductor-verified" "Connection seen";
    BondingOhm = "bonding-ohm" "Resistance (\u{3a9})";
    MainSwitch = "main-switch" "Main switch";
    MainSwitchWhere = "main-switch-where" "Location";
    MainSwitchStandard = "main-switch-standard" "Standard";
    MainSwitchPoles = "main-switch-poles" "Poles";
    MainSwitchAmps = "main-switch-amps" "Rated current (A)";
    MainSwitchVolts = "main-switch-volts" "Rated voltage (V)";
    MainSwitchFuse = "main-switch-fuse" "Fuse or setting (A)";
    MainSwitchRcd = "main-switch-rcd" "RCD: rated residual current (mA)";
    MainSwitchDelay = "main-switch-delay" "RCD: time-delayed";
    MainSwitchRcdMs = "main-switch-rcd-ms" "RCD: operating time (ms)";
    EarthingAdequate = "earthing-adequate" "Earthing adequate for the work";
    BondingAdequate = "bonding-adequate" "Bonding adequate for the work";

    // Boards and circuits.
    Boards = "boards" "Boards";
    Board = "board" "Board";
    BoardWhere = "board-where" "Location";
    BoardFedFrom = "board-fed-from" "Supplied from";
    BoardPhases = "board-phases" "Phases";
    BoardDevice = "board-device" "Device feeding it";
    BoardStandard = "board-standard" "Standard";
    BoardSpd = "board-spd" "Surge protection: type, standard";
    BoardSpdState = "board-spd-state" "Surge indicator";
    BoardZdb = "board-zdb" "Zdb (\u{3a9})";
    BoardIpf = "board-ipf" "Ipf (kA)";
    Circuits = "circuit-details" "Circuit details";
    CircuitId = "circuit-id" "Circuit";
    CircuitServes = "circuit-serves" "Serves";
    CircuitPoints = "circuit-points" "Points";
    CircuitWiring = "circuit-wiring" "Wiring";
    CircuitMethod = "circuit-method" "Ref. method";
    CircuitLive = "circuit-live" "Live (mm\u{b2})";
    CircuitCpc = "circuit-cpc" "cpc (mm\u{b2})";
    CircuitLength = "circuit-length" "Length (m)";
    CircuitTime = "circuit-time" "Max. disconn. (s)";
    CircuitProtection = "circuit-protection" "Fault protection: automatic disconnection by";
    ByOvercurrentDevice = "by-overcurrent-device" "the overcurrent device";
    ByRcd = "by-rcd" "the RCD";
    OcpdStandard = "ocpd-standard" "Device standard";
    OcpdType = "ocpd-type" "Device type";
    OcpdRating = "ocpd-rating" "Device rating (A)";
    OcpdBreaking = "ocpd-breaking" "Breaking cap. (kA)";
    MaxZs = "max-zs" "Max. Zs (\u{3a9})";
    RcdStandard = "rcd-standard" "RCD standard";
    RcdType = "rcd-type" "RCD type";
    RcdTrip = "rcd-trip" "RCD I\u{394}n (mA)";
    RcdRating = "rcd-rating" "RCD rating (A)";
    NoteCalculated = "note-calculated" "{} (calc.)";
    NoteMaxZs = "note-max-zs" "Maximum Zs from {}. The figures hold for conductors at their working temperature; a reading taken cold is compared with 0.8 of the figure (BS 7671 Appendix 3).";
    NoteMaxZsRcd = "note-max-zs-rcd" "Maximum Zs of {}, where an RCD clears an earth fault, from {}.";
    NoteMemory = "note-memory" "{}: the maximum Zs is confirmed by no print that was seen; look it up before it is relied on.";
    NoteTimes = "note-times" "Longest disconnection times by the edition named above, from the use and the device of each circuit.";
    Spare = "spare" "spare way";

    // Tests.
    Tests = "test-results" "Test results";
    RingR1 = "ring-r1" "Ring r1 (\u{3a9})";
    RingRn = "ring-rn" "Ring rn (\u{3a9})";
    RingR2 = "ring-r2" "Ring r2 (\u{3a9})";
    R1R2 = "r1-r2" "R1+R2 (\u{3a9})";
    R2 = "r2" "R2 (\u{3a9})";
    IrVolts = "ir-volts" "IR test (V)";
    IrLiveLive = "ir-live-live" "IR live\u{2013}live (M\u{3a9})";
    IrLiveEarth = "ir-live-earth" "IR live\u{2013}earth (M\u{3a9})";
    Polarity = "polarity" "Polarity";
    Zs = "zs" "Zs (\u{3a9})";
    RcdMs = "rcd-ms" "RCD at I\u{394}n (ms)";
    Rcd5xMs = "rcd-5x-ms" "RCD at 5 I\u{394}n (ms)";
    RcdHalf = "rcd-half" "RCD at \u{bd} I\u{394}n";
    RcdButton = "rcd-button" "RCD button";
    RcdDcMs = "rcd-dc-ms" "6 mA d.c. (ms)";
    AfddButton = "afdd-button" "AFDD button";
    Leakage = "leakage" "Protective cond. current (mA)";
    Pilot = "pilot" "Pilot checks";
    PilotChecks = "pilot-checks" "{}: {}";
    NotTaken = "not-taken" "not taken";
    NoteNotTaken = "note-not-taken" "{}: {} not taken: {}";
    SharedRcd = "shared-rcd" "as {}";
    NoteWithUnit = "note-with-unit" "{}: insulation tested with equipment or a surge device connected";
    NoteIr250 = "note-ir-250" "{}: insulation tested at a reduced voltage: {}";
    NoteZsMode = "note-zs-mode" "{}: loop test mode {}";
    Remarks = "remarks" "Remarks on the tests";
    RemarksNone = "remarks-none" "none in the record";
    Vulnerable = "vulnerable" "Circuits or equipment that a test could harm";
    Instruments = "instruments" "Instruments";
    Instrument = "instrument" "Instrument";
    InstrumentKind = "instrument-kind" "Kind";
    InstrumentSerial = "instrument-serial" "Serial";
    InstrumentCalibrated = "instrument-calibrated" "Calibrated";
    InstrumentDue = "instrument-due" "Next due";
    InstrumentDuePast = "instrument-due-past" "{}, before the tests";
    InstrumentChecked = "instrument-checked" "Last check before";
    TestedBy = "tested-by" "Tested by";

    // Inspection.
    Inspected = "inspected" "Schedule of inspections";
    InspectedWhat = "inspected-what" "Looked at";
    InspectedResult = "inspected-result" "Outcome";
    InspectedNote = "inspected-note" "Remark";

    // Charging points and equipment.
    Charging = "charging" "Vehicle charging";
    ChargingMode = "charging-mode" "Mode";
    ChargingUnit = "charging-unit" "Charge point, serial";
    ChargingSet = "charging-set" "Set to (A)";
    ChargingPlace = "charging-place" "Place";
    ChargingOpenPen = "charging-open-pen" "Measure against a broken PEN conductor (722.411.4.1)";
    ChargingDc = "charging-dc" "Smooth d.c. fault current detected";
    ChargingLimit = "charging-limit" "Load limiting";
    LoadLimit = "load-limit" "{} A, proved {}: {}";
    Equipment = "equipment" "Equipment";
    EquipmentEvent = "equipment-event" "Fitted or removed";
    EquipmentSerial = "equipment-serial" "Serial";
    EquipmentModel = "equipment-model" "Model, by the record\u{2019}s name";
    EquipmentCircuit = "equipment-circuit" "Circuit";
    EquipmentWarranty = "equipment-warranty" "Maker\u{2019}s warranty until";

    // Next inspection and notices.
    Next = "next-inspection-section" "Next inspection";
    NextInspection = "next-inspection" "Recommended by";
    NextLaw = "next-law" "The law for a let home allows until {} ({}).";
    NextGuidance = "next-guidance" "Guidance for such premises: {} months at most ({}).";
    Notices = "notices" "Notices";
    NoticeTo = "notice-to" "To";
    NoticeRoute = "notice-route" "Route";
    NoticeSent = "notice-sent" "Sent";
    NoticeAnswered = "notice-answered" "Answered";
    NoticeRef = "notice-ref" "Reference";
    NoticesNone = "notices-none" "No notice is recorded.";

    // Condition report.
    Purpose = "purpose" "The inspection";
    ReportReason = "report-reason" "Reason for the report";
    Installed = "installed" "Age of the installation";
    Alterations = "alterations" "Alterations and additions";
    RecordsSeen = "records-seen" "Earlier papers shown";
    LastReport = "last-report" "Last report in this book";
    LastReportNone = "last-report-none" "none in this book";
    ChargingIncluded = "charging-included" "Charge point within the extent";
    ChargingNone = "charging-none" "no charge point is on record here";
    ChargingYes = "charging-yes" "yes: {}";
    ChargingLimited = "charging-limited" "no; see the limitation: {}";
    Outcome = "outcome" "Overall assessment";
    OutcomeIs = "outcome-is" "The installation, as far as it was inspected, for continued use";
    OutcomeCodes = "outcome-codes" "Codes not cleared when the report was made";
    OutcomeNoCodes = "outcome-no-codes" "none";
    OutcomeGround = "outcome-ground" "Any C1 or C2 makes a report unsatisfactory. Sources differ about FI alone: landlord law treats it as unsatisfactory until it has been looked into; the edition and the inspector decide.";
    Observations = "observations" "Observations";
    ObservationsNone = "observations-none" "No observation is recorded.";
    ObservationId = "observation-id" "No.";
    ObservationCode = "observation-code" "Code";
    ObservationWhat = "observation-what" "What was seen";
    ObservationWhere = "observation-where" "Where";
    ObservationClause = "observation-clause" "Regulation";
    ObservationDue = "observation-due" "Put right by";
    ObservationTold = "observation-told" "Who was told, how, when";
    ObservationSafe = "observation-safe" "Made safe, and how it was left";
    Cleared = "cleared" "cleared by {}";
    Codes = "codes" "What the codes mean";
    CodeC1 = "code-c1" "C1: danger present. Somebody can be hurt as it is; it has to be dealt with at once.";
    CodeC2 = "code-c2" "C2: potentially dangerous. One more fault or one wrong touch can hurt somebody; it has to be put right without delay.";
    CodeC3 = "code-c3" "C3: improvement recommended. Nothing about it called for C1, C2 or FI on the day, and it is better done.";
    CodeFi = "code-fi" "FI: further investigation without delay. What was seen may hide a danger, and the inspection could not settle it.";
    OneCode = "one-code" "Each observation has one code, the gravest that fits.";
    Guidance = "guidance" "For whoever receives this report";
    GuidanceWhat = "guidance-what" "The report says in what condition the installation was found on the day, as far as it could be seen and tested within the extent and the limitations above. It is no proof of what lies hidden.";
    GuidanceCodes = "guidance-codes" "Whoever answers for the installation should have C1, C2 and FI dealt with by a competent person and keep the written confirmation with this report.";
    GuidanceKeep = "guidance-keep" "Keep it, show it to the next inspector and to anybody who works on the installation, and pass it on to a new owner or occupier. A let home has duties and dates of its own under the law of its nation.";
    GuidanceRcd = "guidance-rcd" "Press the test button of each RCD every {} months ({}); if it does not switch off, ask an electrician.";
    GuidanceNext = "guidance-next" "Have the installation inspected again by the date recommended, or sooner after damage, flood, fire or a change of use.";

    // Faults, advice and callouts.
    Faults = "faults" "What was found";
    FaultsNone = "faults-none" "No fault is recorded.";
    Fault = "fault" "Fault {}";
    FaultReported = "fault-reported" "Reported";
    FaultSymptom = "fault-symptom" "What was noticed";
    FaultFound = "fault-found" "What was found";
    FaultBelieved = "fault-believed" "Believed to be behind it";
    FaultExcluded = "fault-excluded" "Ruled out";
    FaultCause = "fault-cause" "Cause";
    FaultCircuit = "fault-circuit" "Circuit";
    FaultUnit = "fault-unit" "Equipment, serial";
    FaultCode = "fault-code" "Code";
    FaultState = "fault-state" "Where it stands";
    FaultLeft = "fault-left" "How it was left";
    FaultFixedBy = "fault-fixed-by" "Put right by the visit";
    Dangers = "dangers" "What is wrong, and what not to use";
    DangersNone = "dangers-none" "Defect to be advised of";
    WhatIsWrong = "what-is-wrong" "What is wrong";
    WhereItIs = "where-it-is" "Where";
    HowGrave = "how-grave" "How grave";
    DoNotUse = "do-not-use" "What not to use, and what to do";
    MadeSafe = "made-safe" "How it was made safe";
    WarningNotice = "warning-notice" "Warning notice left";
    Told = "told" "Who was told";
    ToldWhen = "told-when" "When";
    ToldHow = "told-how" "How";
    Acknowledged = "acknowledged" "Acknowledged";
    ReturnBy = "return-by" "We come back by";
    Left = "left" "How it was left";
    UrgentCall = "urgent-call" "If anything smells of burning, sparks, gets hot or gives a shock, keep away from it. If it can be done without touching it, switch off at the main switch. Call the fire service on 999 for fire, and 105 for the electricity network.";
    CalloutWork = "callout-work" "What was done";
    MinutesOnSite = "minutes-on-site" "Time on site (minutes)";
    OpenPromises = "open-promises" "Still to be done";
    FollowUpDue = "follow-up-due" "{}, by {}";
    FollowUpWith = "follow-up-with" "{}, with {}";
    FollowUp = "follow-up" "What was promised";
    Photographs = "photographs" "Photographs kept with the record";
    PhotographsRecordOnly = "photographs-record-only" "Photographs are kept for the electrician\u{2019}s own record only.";
    Notes = "notes" "Notes of the visit";

    // Customer sheet.
    DoneToday = "done-today" "What was done";
    DoneWhat = "done-what" "The work";
    DoneWho = "done-who" "Done by";
    DoneTested = "done-tested" "Tested";
    DoneTestedCount = "done-tested-count" "{} circuits were tested; the readings are in the electrician\u{2019}s record and in the certificate or report of the visit.";
    DoneTestedOne = "done-tested-one" "One circuit was tested; the readings are in the electrician\u{2019}s record and in the certificate or report of the visit.";
    DoneTestedNone = "done-tested-none" "The record of the visit holds no test readings.";
    PlainWrong = "plain-wrong" "What is wrong, and what not to use";
    PlainNothing = "plain-nothing" "The record of this visit names nothing that is still wrong. Only what was looked at is in it: this is no promise about the rest.";
    PlainMore = "plain-more" "Besides, improvements recommended: {}.";
    PlainNext = "plain-next" "What happens next";
    PlainReturn = "plain-return" "We come back by {} for: {}";
    PlainWatch = "plain-watch" "We keep an eye on it until {}: {}";
    PlainInspection = "plain-inspection" "Have the installation inspected again by {}.";
    PlainNoNext = "plain-no-next" "The record names nothing more to be done.";
    PlainButton = "plain-button" "Press the test button of each RCD every {} months; if it does not switch off, ask an electrician.";
    PlainPapers = "plain-papers" "Papers of this visit";
    PlainPaper = "plain-paper" "{}, number {}";
    PlainNoPapers = "plain-no-papers" "The record names no paper of this visit.";
    PlainQuestions = "plain-questions" "Questions";
    PlainAsk = "plain-ask" "Ask the electrician named above, and show this sheet to anybody who works on the installation. Never open equipment or boards yourself.";
    PlainContact = "plain-contact" "Telephone of the electrician";

    // Signing.
    Signing = "signing" "Declaration and signature";
    SignDesign = "sign-design" "Design";
    SignConstruction = "sign-construction" "Construction";
    SignTesting = "sign-testing" "Inspection and testing";
    SignMinor = "sign-minor" "Work, inspection and testing";
    SignReport = "sign-report" "Inspection and report";
    SignAdvice = "sign-advice" "Advice given by";
    SignCallout = "sign-callout" "Report by";
    SignReceived = "sign-received" "Received and understood";
    DeclareDesign = "declare-design" "I answer for the design. I made it with reasonable skill and care, and to the best of my knowledge it follows the edition named above, apart from the departures listed.";
    DeclareConstruction = "declare-construction" "I answer for the construction. I carried it out with reasonable skill and care, and to the best of my knowledge it follows the edition named above, apart from the departures listed.";
    DeclareTesting = "declare-testing" "I answer for the inspection and testing. I made them with reasonable skill and care, and to the best of my knowledge the work follows the edition named above, apart from the departures listed.";
    DeclareMinor = "declare-minor" "I answer for this work. It does not impair the existing installation, was designed, constructed, inspected and tested with reasonable skill and care, and to the best of my knowledge follows the edition named above, apart from the departures listed.";
    DeclareReport = "declare-report" "I inspected and tested with reasonable skill and care. To the best of my knowledge this report gives a true account of what I found, within its extent and limitations.";
    DeclareAdvice = "declare-advice" "I gave this advice on the day and in the way stated above.";
    DeclareCallout = "declare-callout" "This is what I found and did.";
    DeclareReceived = "declare-received" "I have received this note. My signature does not mean that I agree with it.";
    SignatureLine = "signature-line" "Signature";
    SignatureDate = "signature-date" "Date";
    RecipientName = "recipient-name" "Name of the person who received it";
    SignNobody = "signed-by" "Name";

    // End.
    Gaps = "gaps" "Not recorded";
    GapsIntro = "gaps-intro" "The record does not say these things, and this paper needs them. Write them into the record, or its reason, and make the paper again.";
    Obstacles = "obstacles" "In the way of a final paper";
    ObstacleDraft = "obstacle-draft" "the record of the visit is not finished (its status is not complete or issued)";
    ObstacleNewCircuit = "obstacle-new-circuit" "{} is a new circuit: it needs an installation certificate, not one for minor works";
    ObstacleNotInspect = "obstacle-not-inspect" "a condition report is for existing work; this visit was not an inspection";
    ObstacleIsInspect = "obstacle-is-inspect" "this visit was an inspection without new circuits; it ends in a condition report";
    ObstacleUnreadable = "obstacle-unreadable" "something in the record cannot be read";
    Origins = "origins" "Made from";
    OriginFile = "origin-file" "File of the book";
    OriginDigest = "origin-digest" "SHA-256 of its bytes";

    // Answers to yes and no.
    Yes = "yes" "yes";
    No = "no" "no";
}

impl Language {
    /// The language as `lang` names it.
    pub const fn tag(self) -> &'static str {
        match self {
            Language::English => "en-GB",
        }
    }

    /// A phrase in this language.
    pub const fn say(self, phrase: Phrase) -> &'static str {
        match self {
            Language::English => phrase.english(),
        }
    }

    /// A phrase with its blanks filled in, one after another.
    pub fn fill(self, phrase: Phrase, with: &[&str]) -> String {
        let mut parts = self.say(phrase).split("{}");
        let mut text = parts.next().unwrap_or_default().to_owned();
        for (part, word) in parts.zip(with) {
            text.push_str(word);
            text.push_str(part);
        }
        text
    }

    /// Yes or no.
    pub const fn yes_or_no(self, yes: bool) -> &'static str {
        self.say(if yes { Phrase::Yes } else { Phrase::No })
    }

    /// A word of the record format as a reader says it: from [`WORDS`], or as it stands with blanks for hyphens.
    pub fn word(self, word: &str) -> String {
        match self {
            Language::English => {
                let known = WORDS.iter().find(|(key, _)| *key == word).map(|(_, english)| (*english).to_owned());
                known.unwrap_or_else(|| word.replace('-', " "))
            }
        }
    }

    /// A day: `2 November 2026`.
    pub fn day(self, date: Date) -> String {
        match self {
            Language::English => {
                let month = usize::try_from(date.0.month()).ok().and_then(|month| MONTHS.get(month.checked_sub(1)?));
                format!("{} {} {}", date.0.day(), month.copied().unwrap_or_default(), date.0.year())
            }
        }
    }
}

const MONTHS: [&str; 12] =
    ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];

/// Words of the record format that a reader of a paper would not say as they are spelt there.
const WORDS: &[(&str, &str)] = &[
    ("TN-S", "TN-S"),
    ("TN-C-S", "TN-C-S"),
    ("dwelling", "dwelling, lived in by its owner"),
    ("dwelling-let", "dwelling, let"),
    ("hmo", "house in multiple occupation"),
    ("seen", "seen"),
    ("operator-reply", "reply of the network operator"),
    ("flat-70", "flat twin and earth, 70\u{a0}\u{b0}C"),
    ("singles-70", "singles in conduit or trunking, 70\u{a0}\u{b0}C"),
    ("multicore-70", "multicore, 70\u{a0}\u{b0}C"),
    ("multicore-90", "multicore, 90\u{a0}\u{b0}C"),
    ("armoured-70", "steel-wire armoured, 70\u{a0}\u{b0}C"),
    ("armoured-90", "steel-wire armoured, 90\u{a0}\u{b0}C"),
    ("i", "(i) three-phase loads that hold the voltage down"),
    ("ii", "(ii) additional low-resistance electrode"),
    ("iii", "(iii) device watching the protective conductor"),
    ("iv", "(iv) device watching the supply voltage"),
    ("v", "(v) another device, by its maker\u{2019}s statement"),
    ("tt", "TT earth for the charging circuit"),
    ("separated", "electrical separation"),
    ("not-needed", "none needed"),
    ("in-unit", "in the charge point"),
    ("type-b", "by a type B RCD"),
    ("live", "under power"),
    ("isolated", "isolated"),
    ("removed", "taken away"),
    ("fixed", "put right"),
    ("open", "not put right"),
    ("watching", "being watched"),
    ("verbal", "by word of mouth"),
    ("written", "in writing"),
    ("email", "by e-mail"),
    ("message", "by message"),
    ("post", "by post"),
    ("no-trip", "no-trip"),
    ("high-current", "high current"),
    ("a", "A"),
    ("b", "B"),
    ("c", "C"),
    ("d", "D"),
    ("ev-adapter", "EV adapter"),
    ("limited", "not seen: limitation"),
    ("wanting", "not as it should be"),
    ("operational", "met on the day"),
    ("agreed", "agreed beforehand"),
];
