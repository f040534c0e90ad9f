//! Boards, circuits, their tests, and the instruments that read them.

use super::Visit;
use super::model::{Block, Fact, Section, Table, Value};
use super::words::Phrase as P;
use crate::record::{Circuit, Date, OpenPen, Pilot, RcdType, ReadingKey, Use, Works, ZsBy, ZsMode};
use crate::rules::view::{CircuitView, Known};
use crate::rules::{limits, missing};
use crate::tables::required::Work;

/// Named cells of one row.
type Row = Vec<(P, Value)>;

/// The column of each reading, in the order of the table.
const READINGS: &[(ReadingKey, P)] = &[
    (ReadingKey::RingR1, P::RingR1),
    (ReadingKey::RingRn, P::RingRn),
    (ReadingKey::RingR2, P::RingR2),
    (ReadingKey::R1R2, P::R1R2),
    (ReadingKey::R2, P::R2),
    (ReadingKey::IrTestV, P::IrVolts),
    (ReadingKey::IrLiveLive, P::IrLiveLive),
    (ReadingKey::IrLiveEarth, P::IrLiveEarth),
    (ReadingKey::Polarity, P::Polarity),
    (ReadingKey::Zs, P::Zs),
    (ReadingKey::RcdMs, P::RcdMs),
    (ReadingKey::Rcd5xMs, P::Rcd5xMs),
    (ReadingKey::RcdHalf, P::RcdHalf),
    (ReadingKey::RcdButton, P::RcdButton),
    (ReadingKey::RcdDcMs, P::RcdDcMs),
    (ReadingKey::AfddButton, P::AfddButton),
    (ReadingKey::Leakage, P::Leakage),
    (ReadingKey::Pilot, P::Pilot),
];

impl<'a> Visit<'a> {
    /// The boards that the visit's circuits are on.
    pub(super) fn boards(&self) -> Section {
        let mut ids: Vec<&str> = Vec::new();
        let read = self.job.data().boards.iter().filter_map(|board| board.id.as_deref());
        for id in self.job.circuits().map(|circuit| circuit.board_id()).chain(read).filter(|id| !id.is_empty()) {
            if !ids.contains(&id) {
                ids.push(id);
            }
        }
        let mut rows: Vec<Row> = ids.iter().map(|id| self.board(id)).collect();
        if rows.is_empty() {
            rows.push(self.board(""));
        }
        Section::wide(P::Boards, vec![Block::Table(Table::of(P::Boards, rows))])
    }

    fn board(&self, id: &str) -> Row {
        let board = self.job.site.board(id).map(|(_, board)| board);
        let read = self.job.data().boards.iter().find(|read| read.id.as_deref() == Some(id));
        let fed_from = board.and_then(|board| board.fed_from.as_deref());
        let device = match fed_from {
            Some("origin") => self.cutout(),
            Some(feeder) => {
                let feeder = self.job.installation().into_iter().find(|circuit| circuit.id() == feeder).and_then(|circuit| circuit.ocpd());
                feeder.and_then(|ocpd| {
                    let curve = ocpd.value.curve.as_deref().unwrap_or_default();
                    Some(format!("{} {curve}{} A", ocpd.value.standard.as_deref()?, ocpd.value.rating_a?))
                })
            }
            None => None,
        };
        let phases = board.and_then(|board| board.phases).or_else(|| self.job.site.supply()?.phases);
        let spd = board.and_then(|board| board.spd.as_ref());
        let spd_words = spd.and_then(|spd| Some([spd.kind.as_deref()?, spd.standard.as_deref()?].join(", ")));
        let state = read.and_then(|read| read.spd).map(|state| self.word(state));
        let state = if spd.is_some() { Value::or_missing(state) } else { Value::or_nothing(state) };
        vec![
            (P::Board, Value::or_missing(Some(id))),
            (P::BoardWhere, Value::or_missing(board.and_then(|board| board.place.as_deref()))),
            (P::BoardStandard, Value::or_nothing(board.and_then(|board| board.standard.as_deref()))),
            (P::BoardFedFrom, Value::or_missing(fed_from.map(|from| self.word(from)))),
            (P::BoardPhases, Value::or_missing(phases)),
            (P::BoardDevice, Value::or_missing(device)),
            (P::BoardSpd, Value::or_missing(spd_words.or_else(|| board.filter(|_| spd.is_none()).map(|_| self.none())))),
            (P::BoardSpdState, state),
            (P::BoardZdb, Value::or_missing(read.and_then(|read| read.zdb_ohm))),
            (P::BoardIpf, Value::or_missing(read.and_then(|read| read.ipf_ka))),
        ]
    }

    /// A value of a fact that may come from an earlier visit.
    fn known<T>(&self, fact: Option<Known<'a, T>>, of: impl Fn(&T) -> Option<String>, gap: Value) -> Value {
        let Some(fact) = fact else { return gap };
        let Some(text) = of(fact.value).filter(|text| !text.trim().is_empty()) else { return gap };
        if fact.is_older_than(self.job) { Value::Known(text, fact.visit(self.job.site).id().to_owned()) } else { Value::Said(text) }
    }

    /// A plain fact of a circuit: this visit's word, or the last before it.
    fn of_circuit(&self, circuit: CircuitView<'a>, of: impl Fn(&Circuit) -> Option<String>, gap: Value) -> Value {
        let earlier = || circuit.previous().find_map(|before| Some(Value::Known(of(before.circuit)?, before.job.id().to_owned())));
        of(circuit.circuit).map(Value::Said).or_else(earlier).unwrap_or(gap)
    }

    /// What a circuit is.
    pub(super) fn details(&self, circuit: CircuitView<'a>) -> Row {
        let is_spare = circuit.usage() == Some(Use::Spare);
        let gap = || if is_spare { Value::Nothing } else { Value::Missing };
        let has_rcd = circuit.rcd().is_some() || circuit.usage() == Some(Use::Ev);
        let rcd_gap = || if has_rcd { gap() } else { Value::Nothing };
        let serves = if is_spare { Value::Said(self.language.say(P::Spare).to_owned()) } else { Value::Missing };
        let limit = limits::zs_allowed(circuit);
        let time = limits::disconnection_time(circuit);
        let is_fuse = circuit.ocpd().is_some_and(|ocpd| {
            let standard = ocpd.value.standard.as_deref().and_then(crate::tables::DeviceStandard::parse);
            standard.is_some_and(|standard| standard.is_fuse())
        });
        let curve_gap = || if is_fuse { Value::Nothing } else { gap() };
        let ocpd = circuit.ocpd();
        let cable = circuit.cable();
        let rcd = circuit.rcd();
        let text = |value: Option<crate::record::Num>| value.map(|value| value.to_string());
        vec![
            (P::CircuitId, Value::or_missing(circuit.circuit.id.as_deref())),
            (P::CircuitServes, self.of_circuit(circuit, |circuit| circuit.serves.clone(), serves)),
            (P::CircuitPoints, self.of_circuit(circuit, |circuit| circuit.points.map(|points| points.to_string()), gap())),
            (P::CircuitWiring, self.known(cable, |cable| cable.make_up.map(|make_up| self.word(make_up)), gap())),
            (P::CircuitMethod, self.known(cable, |cable| cable.method.clone(), gap())),
            (P::CircuitLength, self.known(cable, |cable| text(cable.length_m), Value::Nothing)),
            (P::CircuitLive, self.known(cable, |cable| text(cable.line_mm2), gap())),
            (P::CircuitCpc, self.known(cable, |cable| text(cable.cpc_mm2).or_else(|| cable.cpc.map(|cpc| self.word(cpc))), gap())),
            (P::CircuitTime, time.map_or_else(gap, |time| Value::Said(time.seconds().to_string()))),
            (P::OcpdStandard, self.known(ocpd, |ocpd| ocpd.standard.clone(), gap())),
            (P::OcpdType, self.known(ocpd, |ocpd| ocpd.curve.clone(), curve_gap())),
            (P::OcpdRating, self.known(ocpd, |ocpd| text(ocpd.rating_a), gap())),
            (P::OcpdBreaking, self.known(ocpd, |ocpd| text(ocpd.breaking_ka), gap())),
            (P::MaxZs, limit.map_or_else(gap, |(limit, _)| Value::Said(format!("{:.*}", usize::from(limit.decimals), limit.value)))),
            (P::RcdStandard, self.known(rcd, |rcd| rcd.standard.clone(), rcd_gap())),
            (P::RcdType, self.known(rcd, |rcd| rcd.kind.map(RcdType::as_str).map(str::to_owned), rcd_gap())),
            (P::RcdTrip, self.known(rcd, |rcd| text(rcd.trip_ma), rcd_gap())),
            (P::RcdRating, self.rcd_rating(circuit, rcd_gap())),
        ]
    }

    /// The rated current of a circuit's RCD; where RCD and breaker are one device, that of the breaker.
    fn rcd_rating(&self, circuit: CircuitView<'a>, gap: Value) -> Value {
        let own = self.known(circuit.rcd(), |rcd| rcd.rating_a.map(|rating| rating.to_string()), Value::Missing);
        let standard = circuit.rcd().and_then(|rcd| rcd.value.standard.as_deref());
        let is_one_device = standard.is_some_and(|standard| standard.contains("61009"))
            && standard == circuit.ocpd().and_then(|ocpd| ocpd.value.standard.as_deref());
        match own {
            Value::Missing if is_one_device => self.known(circuit.ocpd(), |ocpd| ocpd.rating_a.map(|rating| rating.to_string()), gap),
            Value::Missing => gap,
            own => own,
        }
    }

    /// Where the limits of circuits come from.
    pub(super) fn limit_notes(&self, circuits: &[CircuitView<'a>]) -> Vec<String> {
        let mut sources: Vec<(String, bool)> = Vec::new();
        for (limit, by_rcd) in circuits.iter().filter_map(|circuit| limits::zs_allowed(*circuit)) {
            if !sources.iter().any(|(source, _)| *source == limit.source) {
                sources.push((limit.source.into_owned(), by_rcd));
            }
        }
        let listed = |by_rcd: bool| {
            let named: Vec<&str> = sources.iter().filter(|(_, rcd)| *rcd == by_rcd).map(|(source, _)| source.as_str()).collect();
            (!named.is_empty()).then(|| named.join("; "))
        };
        let by_rcd = || {
            let of: Vec<&str> =
                circuits.iter().filter(|circuit| limits::zs_allowed(**circuit).is_some_and(|(_, rcd)| rcd)).map(|c| c.id()).collect();
            of.join(", ")
        };
        let plain = listed(false).map(|named| self.language.fill(P::NoteMaxZs, &[&named]));
        let rcd = listed(true).map(|named| self.language.fill(P::NoteMaxZsRcd, &[&by_rcd(), &named]));
        let times = circuits.iter().any(|circuit| limits::disconnection_time(*circuit).is_some());
        let times = times.then(|| self.language.say(P::NoteTimes).to_owned());
        let doubtful = circuits.iter().filter(|circuit| limits::zs_allowed(**circuit).is_some_and(|(limit, _)| limit.is_memory()));
        let doubtful: Vec<&str> = doubtful.map(|circuit| circuit.id()).collect();
        let memory = (!doubtful.is_empty()).then(|| self.language.fill(P::NoteMemory, &[&doubtful.join(", ")]));
        plain.into_iter().chain(rcd).chain(memory).chain(times).collect()
    }

    /// Details of these circuits.
    pub(super) fn circuit_table(&self, circuits: &[CircuitView<'a>]) -> Section {
        let mut rows: Vec<Row> = circuits.iter().map(|circuit| self.details(*circuit)).collect();
        if rows.is_empty() {
            rows.push(self.no_circuit(DETAILS));
        }
        let table = Table::of(P::Circuits, rows).notes(self.limit_notes(circuits));
        Section::wide(P::Circuits, vec![Block::Table(table)])
    }

    /// A row of gaps, for a paper that needs a circuit and has none.
    fn no_circuit(&self, columns: &[P]) -> Row {
        columns.iter().map(|column| (*column, Value::Missing)).collect()
    }

    /// What was read on a circuit.
    pub(super) fn tests(&self, circuit: CircuitView<'a>, work: Work) -> Row {
        let lacking = missing::lacking(circuit, work);
        // A circuit of which too little is known to say what it owes owes what every circuit does.
        let is_unknown = circuit.usage().is_none();
        let mut row = vec![(P::CircuitId, Value::or_missing(circuit.circuit.id.as_deref()))];
        for (key, column) in READINGS {
            let path = circuit.path().at("readings").at(key.as_str());
            let value = match key.shown_in(circuit.readings()) {
                Some(text) => Value::Said(self.reading(circuit, *key, text)),
                None if self.job.is_unreadable(&path) => Value::Unreadable,
                None if circuit.circuit.not_taken.contains_key(key) => Value::Said(self.language.say(P::NotTaken).to_owned()),
                None if lacking.iter().any(|owed| owed.any_of.first() == Some(key)) => Value::Missing,
                None if is_unknown && BASIC.contains(key) => Value::Missing,
                None => match missing::shared_rcd(circuit, *key) {
                    Some(other) => Value::Said(self.language.fill(P::SharedRcd, &[other.id()])),
                    None => Value::Nothing,
                },
            };
            row.push((*column, value));
        }
        row
    }

    fn reading(&self, circuit: CircuitView<'a>, key: ReadingKey, text: String) -> String {
        match key {
            ReadingKey::Zs if circuit.readings().zs_by == Some(ZsBy::Calculated) => self.language.fill(P::NoteCalculated, &[&text]),
            ReadingKey::Polarity | ReadingKey::RcdHalf | ReadingKey::RcdButton | ReadingKey::AfddButton => self.language.word(&text),
            ReadingKey::Pilot => circuit.readings().pilot.as_ref().map_or(text, |pilot| self.pilot(pilot)),
            _ => text,
        }
    }

    /// Which pilot checks worked, and which did not: `A, B, C: works`.
    fn pilot(&self, pilot: &Pilot) -> String {
        let checks = pilot.checks();
        let of = |result: &Works| {
            let names: Vec<String> = checks.iter().filter(|(_, made)| *made == Some(*result)).map(|(name, _)| self.word(name)).collect();
            (!names.is_empty()).then(|| self.language.fill(P::PilotChecks, &[&names.join(", "), &self.word(result)]))
        };
        Works::ALL.iter().rev().filter_map(of).collect::<Vec<_>>().join("; ")
    }

    /// What has to be said beneath the readings.
    pub(super) fn test_notes(&self, circuits: &[CircuitView<'a>]) -> Vec<String> {
        let mut notes = Vec::new();
        for circuit in circuits {
            let id = circuit.id();
            let readings = circuit.readings();
            for (key, why) in &circuit.circuit.not_taken {
                let column = READINGS.iter().find(|(known, _)| known == key).map_or(key.as_str(), |(_, column)| self.language.say(*column));
                notes.push(self.language.fill(P::NoteNotTaken, &[id, column, why]));
            }
            if readings.ir_with_unit == Some(true) {
                notes.push(self.language.fill(P::NoteWithUnit, &[id]));
            }
            if let Some(why) = readings.ir_250_why.as_deref() {
                notes.push(self.language.fill(P::NoteIr250, &[id, why]));
            }
        }
        for mode in ZsMode::ALL {
            let of_mode = circuits.iter().filter(|circuit| circuit.readings().zs_mode == Some(*mode));
            let ids: Vec<&str> = of_mode.map(|circuit| circuit.id()).collect();
            if !ids.is_empty() {
                notes.push(self.language.fill(P::NoteZsMode, &[&ids.join(", "), &self.word(mode)]));
            }
        }
        notes
    }

    /// Test results of these circuits.
    pub(super) fn test_table(&self, circuits: &[CircuitView<'a>]) -> Section {
        let mut rows: Vec<Row> = circuits
            .iter()
            .filter(|circuit| circuit.usage() != Some(Use::Spare))
            .map(|circuit| self.tests(*circuit, work_of(*circuit)))
            .collect();
        if rows.is_empty() {
            rows.push(self.no_circuit(TESTS));
        }
        let table = Table::of(P::Tests, rows);
        let mut notes = self.test_notes(circuits);
        if notes.is_empty() {
            notes.push(self.language.say(P::RemarksNone).to_owned());
        }
        let remarks = Block::Lines(P::Remarks, notes.into_iter().map(Value::Said).collect());
        let vulnerable = Fact::new(P::Vulnerable, Value::or_missing(self.job.data().vulnerable.as_deref()));
        let who = Fact::new(P::TestedBy, self.person(self.job.data().people.tested.as_deref()));
        let when = Fact::new(P::DayTested, Value::or_missing(self.job.day().map(|day| self.language.day(day))));
        Section::wide(P::Tests, vec![Block::Table(table), remarks, Block::Facts(None, vec![who, when, vulnerable])])
    }

    /// The instruments used, with the calibration in force on the day.
    pub(super) fn instruments(&self) -> Section {
        let day = self.job.day();
        let date = |date: Option<Date>| date.map(|date| self.language.day(date));
        let mut rows: Vec<Row> = Vec::new();
        for id in &self.job.data().instruments {
            let record = self.job.site.book.instruments.get(id).map(|record| &record.data);
            let before = |on: Option<Date>| on.is_some() && day.is_none_or(|day| on <= Some(day));
            let calibration = record.and_then(|data| data.calibrations.iter().filter(|c| before(c.on)).max_by_key(|c| c.on));
            let due = calibration.and_then(|c| c.due).map(|due| {
                let text = self.language.day(due);
                if day.is_some_and(|day| due < day) { self.language.fill(P::InstrumentDuePast, &[&text]) } else { text }
            });
            let check = record.and_then(|data| data.checks.iter().filter(|check| before(check.on)).max_by_key(|check| check.on));
            let checked = check.and_then(|check| Some(format!("{}, {}", date(check.on)?, self.word(check.result?))));
            let known = if calibration.is_none() && checked.is_some() {
                Value::Nothing
            } else {
                Value::or_missing(calibration.and_then(|c| date(c.on)))
            };
            rows.push(vec![
                (P::Instrument, Value::Said(id.clone())),
                (P::InstrumentKind, Value::or_missing(record.and_then(|data| data.kind).map(|kind| self.word(kind)))),
                (P::InstrumentSerial, Value::or_missing(record.and_then(|data| data.serial.as_deref()))),
                (P::InstrumentCalibrated, known),
                (P::InstrumentDue, Value::or_nothing(due)),
                (P::InstrumentChecked, Value::or_nothing(checked)),
            ]);
        }
        if rows.is_empty() {
            rows.push(self.no_circuit(&[P::Instrument, P::InstrumentKind, P::InstrumentSerial, P::InstrumentCalibrated]));
        }
        Section::new(P::Instruments, vec![Block::Table(Table::of(P::Instruments, rows))])
    }

    /// What makes circuits charging circuits; nothing where none is.
    pub(super) fn charging(&self, circuits: &[CircuitView<'a>]) -> Option<Section> {
        let rows: Vec<Row> =
            circuits.iter().filter(|circuit| circuit.usage() == Some(Use::Ev)).map(|circuit| self.charging_row(*circuit)).collect();
        (!rows.is_empty()).then(|| Section::new(P::Charging, vec![Block::Table(Table::of(P::Charging, rows))]))
    }

    fn charging_row(&self, circuit: CircuitView<'a>) -> Row {
        let ev = circuit.ev();
        let measure = |measure: OpenPen, why: Option<&str>| match why {
            Some(why) => format!("{}: {why}", self.word(measure)),
            None => self.word(measure),
        };
        vec![
            (P::CircuitId, Value::or_missing(circuit.circuit.id.as_deref())),
            (P::ChargingMode, self.known(ev, |ev| ev.mode.map(|mode| mode.to_string()), Value::Missing)),
            (P::ChargingUnit, self.known(ev, |ev| ev.unit.clone(), Value::Nothing)),
            (P::ChargingSet, self.known(ev, |ev| ev.set_a.map(|set| set.to_string()), Value::Nothing)),
            (P::ChargingPlace, self.known(ev, |ev| ev.place.map(|place| self.word(place)), Value::Missing)),
            (
                P::ChargingOpenPen,
                self.known(
                    ev,
                    |ev| ev.open_pen.map(|pen| measure(pen, ev.open_pen_why.as_deref().or(ev.pen_statement.as_deref()))),
                    Value::Missing,
                ),
            ),
            (P::ChargingDc, self.known(ev, |ev| ev.dc_detection.map(|dc| self.word(dc)), Value::Nothing)),
            (
                P::ChargingLimit,
                self.known(
                    ev,
                    |ev| {
                        let limit = ev.load_limit.as_ref()?;
                        let proved =
                            limit.proved.map(|day| self.language.day(day)).unwrap_or_else(|| self.language.say(P::NotRecorded).to_owned());
                        let how = limit.how.as_deref().unwrap_or(self.language.say(P::NotRecorded));
                        Some(self.language.fill(P::LoadLimit, &[&limit.limit_a?.to_string(), &proved, how]))
                    },
                    Value::Nothing,
                ),
            ),
        ]
    }

    /// Equipment fitted, removed or seen; nothing where there is none.
    pub(super) fn equipment(&self) -> Option<Section> {
        let rows = self.job.data().units.iter().map(|unit| {
            vec![
                (P::EquipmentSerial, Value::or_missing(unit.serial.as_deref())),
                (P::EquipmentEvent, Value::or_missing(unit.event.map(|event| event.as_str()))),
                (P::EquipmentModel, Value::or_nothing(unit.model.as_deref())),
                (P::EquipmentCircuit, Value::or_missing(unit.circuit.as_deref())),
                (P::EquipmentWarranty, Value::or_nothing(unit.warranty_until.map(|day| self.language.day(day)))),
            ]
        });
        let rows: Vec<Row> = rows.collect();
        (!rows.is_empty()).then(|| Section::new(P::Equipment, vec![Block::Table(Table::of(P::Equipment, rows))]))
    }

    /// One circuit as facts, for a certificate of its own.
    pub(super) fn one_circuit(&self, circuit: Option<CircuitView<'a>>) -> Vec<Section> {
        let details = circuit.map_or_else(|| self.no_circuit(DETAILS), |circuit| self.details(circuit));
        let tests = circuit.map_or_else(|| self.no_circuit(TESTS), |circuit| self.tests(circuit, Work::New));
        let by = circuit
            .and_then(limits::zs_allowed)
            .map(|(_, by_rcd)| self.language.say(if by_rcd { P::ByRcd } else { P::ByOvercurrentDevice }));
        let facts = |row: Row| row.into_iter().filter(|(_, value)| *value != Value::Nothing).map(|(item, value)| Fact::new(item, value));
        let mut of_circuit: Vec<Fact> = facts(details).collect();
        of_circuit.push(Fact::new(P::CircuitProtection, Value::or_missing(by)));
        let mut of_tests: Vec<Fact> = facts(tests).skip(1).collect();
        of_tests.push(Fact::new(P::Vulnerable, Value::or_missing(self.job.data().vulnerable.as_deref())));
        let circuits: Vec<CircuitView<'a>> = circuit.into_iter().collect();
        let notes = |notes: Vec<String>| notes.into_iter().map(Block::Prose);
        let details = std::iter::once(Block::Facts(None, of_circuit)).chain(notes(self.limit_notes(&circuits))).collect();
        let tests = std::iter::once(Block::Facts(None, of_tests)).chain(notes(self.test_notes(&circuits))).collect();
        let charging = self.charging(&circuits);
        [Section::new(P::Circuits, details)].into_iter().chain(charging).chain([Section::new(P::Tests, tests)]).collect()
    }
}

/// What a paper with circuits needs of at least one.
const DETAILS: &[P] = &[
    P::CircuitId,
    P::CircuitServes,
    P::CircuitPoints,
    P::CircuitWiring,
    P::CircuitMethod,
    P::CircuitLive,
    P::CircuitCpc,
    P::CircuitTime,
    P::OcpdStandard,
    P::OcpdType,
    P::OcpdRating,
    P::OcpdBreaking,
    P::MaxZs,
    P::RcdStandard,
    P::RcdType,
    P::RcdTrip,
    P::RcdRating,
];
const TESTS: &[P] = &[P::CircuitId, P::R1R2, P::IrVolts, P::IrLiveLive, P::IrLiveEarth, P::Polarity, P::Zs, P::RcdMs, P::RcdButton];

/// What every circuit owes, where too little is known of it to say more.
const BASIC: &[ReadingKey] =
    &[ReadingKey::R1R2, ReadingKey::IrTestV, ReadingKey::IrLiveLive, ReadingKey::IrLiveEarth, ReadingKey::Polarity, ReadingKey::Zs];

/// As what a circuit's readings are judged: new, or there already.
fn work_of(circuit: CircuitView<'_>) -> Work {
    if circuit.is_new() { Work::New } else { Work::Report }
}
