//! Trouble codes: mature, pend, confirm, heal; lamp, freeze frame, permanent codes.
//!
//! *Inside*: the two-trip life of a code. *Outside*: each monitor's own test; it reports here whether it
//! ran and what it saw.
//!
//! Numbers and meaning as SAE J2012 / ISO 15031-6; life of codes as 13 CCR 1968.2 (d)(2) has it, from
//! memory: fault in one trip pends; in the next trip that tests it, confirms and lights the lamp; three
//! trips in a row that tested and passed put the lamp out; forty warm-ups without it erase the code; a
//! permanent code stays until the monitor itself has passed, clearing or not.
//!
//! **Checked by** `source_pending…`, `source_three_good…`, `source_permanent…` in `tests/module/learning_more.rs`.

use crate::ecm::memory::Item;
use crate::link::{CodeDetail, CodeState, CodeStatus, FreezeFrame, MonitorStatus};
use serde::{Deserialize, Serialize};

/// A code the module can set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Code {
    /// Circuit of the phaser's oil control valve open, inlet camshaft, bank 1.
    P0010,
    /// Inlet camshaft over-advanced, or it does not follow, bank 1.
    P0011,
    /// Crank and cam do not agree.
    P0016,
    /// MAF sensor disagrees with pressure and speed.
    P0101,
    /// MAF sensor circuit low.
    P0102,
    /// MAF sensor circuit high.
    P0103,
    /// Manifold pressure circuit low.
    P0107,
    /// Manifold pressure circuit high.
    P0108,
    /// Inlet air temperature circuit low.
    P0112,
    /// Inlet air temperature circuit high.
    P0113,
    /// Coolant temperature sensor out of range: after a night it does not agree with the inlet air.
    P0116,
    /// Coolant temperature circuit low.
    P0117,
    /// Coolant temperature circuit high.
    P0118,
    /// Throttle position, first track, circuit low.
    P0122,
    /// Throttle position, first track, circuit high.
    P0123,
    /// Coolant does not reach the thermostat's temperature.
    P0128,
    /// Oxygen sensor circuit low, bank 1.
    P0131,
    /// Oxygen sensor circuit high, bank 1.
    P0132,
    /// Oxygen sensor slow to respond, bank 1.
    P0133,
    /// Oxygen sensor heater, bank 1.
    P0135,
    /// Heater circuit of the oxygen sensor after the catalyst open, bank 1.
    P0141,
    /// Oxygen sensor circuit low, bank 2.
    P0151,
    /// Oxygen sensor circuit high, bank 2.
    P0152,
    /// Oxygen sensor slow to respond, bank 2.
    P0153,
    /// Oxygen sensor heater, bank 2.
    P0155,
    /// Heater circuit of the oxygen sensor after the catalyst open, bank 2.
    P0161,
    /// Mixture too lean, bank 1.
    P0171,
    /// Mixture too rich, bank 1.
    P0172,
    /// Mixture too lean, bank 2.
    P0174,
    /// Mixture too rich, bank 2.
    P0175,
    /// Injector circuit open, cylinder 1.
    P0201,
    /// The same, cylinder 2.
    P0202,
    /// The same, cylinder 3.
    P0203,
    /// The same, cylinder 4.
    P0204,
    /// The same, cylinder 5.
    P0205,
    /// The same, cylinder 6.
    P0206,
    /// The same, cylinder 7.
    P0207,
    /// The same, cylinder 8.
    P0208,
    /// Coolant too hot.
    P0217,
    /// Throttle position, second track, circuit low.
    P0222,
    /// Throttle position, second track, circuit high.
    P0223,
    /// Misfire in more than one cylinder.
    P0300,
    /// Misfire in cylinder 1.
    P0301,
    /// Misfire in cylinder 2.
    P0302,
    /// Misfire in cylinder 3.
    P0303,
    /// Misfire in cylinder 4.
    P0304,
    /// Misfire in cylinder 5.
    P0305,
    /// Misfire in cylinder 6.
    P0306,
    /// Misfire in cylinder 7.
    P0307,
    /// Misfire in cylinder 8.
    P0308,
    /// Crankshaft position system variation not learned.
    P0315,
    /// Misfire in the first 1000 turns after a start.
    P0316,
    /// Crank sensor circuit: no teeth while cranking.
    P0335,
    /// Crank sensor range or performance: teeth that do not count out, or one that stands aside.
    P0336,
    /// Primary circuit of an ignition coil open, cylinder 1.
    P0351,
    /// The same, cylinder 2.
    P0352,
    /// The same, cylinder 3.
    P0353,
    /// The same, cylinder 4.
    P0354,
    /// The same, cylinder 5.
    P0355,
    /// The same, cylinder 6.
    P0356,
    /// The same, cylinder 7.
    P0357,
    /// The same, cylinder 8.
    P0358,
    /// Too little recirculated exhaust gas.
    P0401,
    /// Circuit of the exhaust-gas-recirculation valve's motor open.
    P0403,
    /// The exhaust-gas-recirculation valve does not stand where it should.
    P0404,
    /// Position sensor of the exhaust-gas-recirculation valve, circuit low.
    P0405,
    /// The same, circuit high.
    P0406,
    /// Catalyst stores too little oxygen, bank 1.
    P0420,
    /// The same, bank 2.
    P0430,
    /// Small leak in the EVAP system.
    P0442,
    /// Purge valve circuit open.
    P0443,
    /// The EVAP system's vent does not open.
    P0446,
    /// Tank pressure circuit low.
    P0452,
    /// Tank pressure circuit high.
    P0453,
    /// Gross leak in the EVAP system.
    P0455,
    /// Radiator fan circuit open.
    P0480,
    /// The purge valve passes when it should be shut.
    P0496,
    /// Idle speed lower than expected.
    P0506,
    /// Idle speed higher than expected.
    P0507,
    /// System voltage low.
    P0562,
    /// System voltage high.
    P0563,
    /// Alternator's field line open.
    P0622,
    /// Fuel trim after the catalyst too lean, bank 1: it still reads lean with the rear trim at its rich limit.
    P2096,
    /// The same too rich, bank 1.
    P2097,
    /// Too lean, bank 2.
    P2098,
    /// Too rich, bank 2.
    P2099,
    /// Throttle plate does not follow its command.
    P2119,
    /// Pedal position circuit low.
    P2122,
    /// Pedal position circuit high.
    P2123,
    /// Throttle position tracks disagree.
    P2135,
    /// Throttle idle position not learned.
    P2176,
    /// Fuel rail pressure too low.
    P0087,
    /// Injector calibration not programmed.
    P268A,
    /// Injector data incompatible, cylinder 1.
    P268C,
    /// The same, cylinder 2.
    P268D,
    /// The same, cylinder 3.
    P268E,
    /// The same, cylinder 4.
    P268F,
}

/// A monitor whose readiness is told, by the names of SAE J1979.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Monitor {
    /// Comprehensive components.
    Components,
    /// Fuel system.
    Fuel,
    /// Oxygen sensor.
    Oxygen,
    /// Oxygen sensor heater.
    OxygenHeater,
    /// Misfire.
    Misfire,
    /// Catalyst.
    Catalyst,
    /// EVAP system; told by cars that test it.
    Vapour,
    /// Recirculated exhaust gas; told by cars that do so.
    Egr,
}

impl Monitor {
    /// Told as complete whatever has run: 13 CCR 1968.2 (g)(4.1), from memory. Comprehensive components always are;
    /// misfire and fuel system were until model year 2018, and must run after a clear from 2019 on.
    fn always_complete(self, model_year: u16) -> bool {
        match self {
            Monitor::Components => true,
            Monitor::Misfire | Monitor::Fuel => model_year < 2019,
            Monitor::Oxygen | Monitor::OxygenHeater | Monitor::Catalyst | Monitor::Vapour | Monitor::Egr => {
                false
            }
        }
    }
}

/// Monitors in the order in which they are told, with names in files.
pub const MONITORS: &[(Monitor, &str)] = &[
    (Monitor::Misfire, "misfire"),
    (Monitor::Fuel, "fuel_system"),
    (Monitor::Components, "components"),
    (Monitor::Oxygen, "oxygen_sensor"),
    (Monitor::OxygenHeater, "oxygen_sensor_heater"),
    (Monitor::Catalyst, "catalyst"),
    (Monitor::Vapour, "evaporative_system"),
    (Monitor::Egr, "egr_system"),
];

/// Every code with its standard number, and its monitor; the words room says what it means.
pub const CODES: &[(Code, &str, Monitor)] = &[
    (Code::P0010, "P0010", Monitor::Components),
    (Code::P0011, "P0011", Monitor::Components),
    (Code::P0016, "P0016", Monitor::Components),
    (Code::P0101, "P0101", Monitor::Components),
    (Code::P0102, "P0102", Monitor::Components),
    (Code::P0103, "P0103", Monitor::Components),
    (Code::P0107, "P0107", Monitor::Components),
    (Code::P0108, "P0108", Monitor::Components),
    (Code::P0112, "P0112", Monitor::Components),
    (Code::P0113, "P0113", Monitor::Components),
    (Code::P0116, "P0116", Monitor::Components),
    (Code::P0117, "P0117", Monitor::Components),
    (Code::P0118, "P0118", Monitor::Components),
    (Code::P0122, "P0122", Monitor::Components),
    (Code::P0123, "P0123", Monitor::Components),
    (Code::P0128, "P0128", Monitor::Components),
    (Code::P0131, "P0131", Monitor::Oxygen),
    (Code::P0132, "P0132", Monitor::Oxygen),
    (Code::P0133, "P0133", Monitor::Oxygen),
    (Code::P0135, "P0135", Monitor::OxygenHeater),
    (Code::P0141, "P0141", Monitor::OxygenHeater),
    (Code::P0151, "P0151", Monitor::Oxygen),
    (Code::P0152, "P0152", Monitor::Oxygen),
    (Code::P0153, "P0153", Monitor::Oxygen),
    (Code::P0155, "P0155", Monitor::OxygenHeater),
    (Code::P0161, "P0161", Monitor::OxygenHeater),
    (Code::P0171, "P0171", Monitor::Fuel),
    (Code::P0172, "P0172", Monitor::Fuel),
    (Code::P0174, "P0174", Monitor::Fuel),
    (Code::P0175, "P0175", Monitor::Fuel),
    (Code::P0201, "P0201", Monitor::Components),
    (Code::P0202, "P0202", Monitor::Components),
    (Code::P0203, "P0203", Monitor::Components),
    (Code::P0204, "P0204", Monitor::Components),
    (Code::P0205, "P0205", Monitor::Components),
    (Code::P0206, "P0206", Monitor::Components),
    (Code::P0207, "P0207", Monitor::Components),
    (Code::P0208, "P0208", Monitor::Components),
    (Code::P0217, "P0217", Monitor::Components),
    (Code::P0222, "P0222", Monitor::Components),
    (Code::P0223, "P0223", Monitor::Components),
    (Code::P0300, "P0300", Monitor::Misfire),
    (Code::P0301, "P0301", Monitor::Misfire),
    (Code::P0302, "P0302", Monitor::Misfire),
    (Code::P0303, "P0303", Monitor::Misfire),
    (Code::P0304, "P0304", Monitor::Misfire),
    (Code::P0305, "P0305", Monitor::Misfire),
    (Code::P0306, "P0306", Monitor::Misfire),
    (Code::P0307, "P0307", Monitor::Misfire),
    (Code::P0308, "P0308", Monitor::Misfire),
    (Code::P0315, "P0315", Monitor::Components),
    (Code::P0316, "P0316", Monitor::Misfire),
    (Code::P0335, "P0335", Monitor::Components),
    (Code::P0336, "P0336", Monitor::Components),
    (Code::P0351, "P0351", Monitor::Components),
    (Code::P0352, "P0352", Monitor::Components),
    (Code::P0353, "P0353", Monitor::Components),
    (Code::P0354, "P0354", Monitor::Components),
    (Code::P0355, "P0355", Monitor::Components),
    (Code::P0356, "P0356", Monitor::Components),
    (Code::P0357, "P0357", Monitor::Components),
    (Code::P0358, "P0358", Monitor::Components),
    (Code::P0401, "P0401", Monitor::Egr),
    (Code::P0403, "P0403", Monitor::Components),
    (Code::P0404, "P0404", Monitor::Egr),
    (Code::P0405, "P0405", Monitor::Components),
    (Code::P0406, "P0406", Monitor::Components),
    (Code::P0420, "P0420", Monitor::Catalyst),
    (Code::P0430, "P0430", Monitor::Catalyst),
    (Code::P0442, "P0442", Monitor::Vapour),
    (Code::P0443, "P0443", Monitor::Components),
    (Code::P0446, "P0446", Monitor::Components),
    (Code::P0452, "P0452", Monitor::Components),
    (Code::P0453, "P0453", Monitor::Components),
    (Code::P0455, "P0455", Monitor::Vapour),
    (Code::P0480, "P0480", Monitor::Components),
    (Code::P0496, "P0496", Monitor::Components),
    (Code::P0506, "P0506", Monitor::Components),
    (Code::P0507, "P0507", Monitor::Components),
    (Code::P0562, "P0562", Monitor::Components),
    (Code::P0563, "P0563", Monitor::Components),
    (Code::P0622, "P0622", Monitor::Components),
    (Code::P2096, "P2096", Monitor::Fuel),
    (Code::P2097, "P2097", Monitor::Fuel),
    (Code::P2098, "P2098", Monitor::Fuel),
    (Code::P2099, "P2099", Monitor::Fuel),
    (Code::P2119, "P2119", Monitor::Components),
    (Code::P2122, "P2122", Monitor::Components),
    (Code::P2123, "P2123", Monitor::Components),
    (Code::P2135, "P2135", Monitor::Components),
    (Code::P2176, "P2176", Monitor::Components),
    (Code::P0087, "P0087", Monitor::Fuel),
    (Code::P268A, "P268A", Monitor::Components),
    (Code::P268C, "P268C", Monitor::Components),
    (Code::P268D, "P268D", Monitor::Components),
    (Code::P268E, "P268E", Monitor::Components),
    (Code::P268F, "P268F", Monitor::Components),
];

/// Misfire of a cylinder, from cylinder 1 on.
pub const BY_CYLINDER: [Code; 8] =
    [Code::P0301, Code::P0302, Code::P0303, Code::P0304, Code::P0305, Code::P0306, Code::P0307, Code::P0308];

/// Injector circuits, from cylinder 1 on.
pub const INJECTOR_OPEN: [Code; 8] =
    [Code::P0201, Code::P0202, Code::P0203, Code::P0204, Code::P0205, Code::P0206, Code::P0207, Code::P0208];

/// Circuits of ignition coils, from cylinder 1 on.
pub const COIL_OPEN: [Code; 8] =
    [Code::P0351, Code::P0352, Code::P0353, Code::P0354, Code::P0355, Code::P0356, Code::P0357, Code::P0358];

impl Code {
    /// Standard number.
    pub fn number(self) -> &'static str {
        CODES.iter().find(|c| c.0 == self).map_or("", |c| c.1)
    }
    fn index(self) -> usize {
        self as usize
    }
}

/// How a code stands.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Standing {
    /// Seen in this trip or the last that tested it.
    pub pending: bool,
    /// Seen in two.
    pub confirmed: bool,
    /// Lights the lamp.
    pub lamp: bool,
    /// Held until the monitor has passed.
    pub permanent: bool,
    /// Tested in this trip.
    pub tested: bool,
    /// Failed in this trip.
    pub failed: bool,
    /// Failing at present.
    pub failing: bool,
    /// Tested since codes were last cleared: what readiness counts.
    pub done: bool,
    /// Cleared in this trip: what the trip has seen says nothing for a permanent code.
    cleared: bool,
    good_trips: u8,
    warm_ups: u8,
    /// Module's time when it last matured \[s\].
    pub matured_s: f64,
    /// Conditions when it first pended.
    pub frame: Option<FreezeFrame>,
}

/// All codes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Codes {
    all: Vec<Standing>,
    start_c: f64,
    warmed: bool,
    ran: bool,
    /// The car has direct injection with coded injectors.
    direct: bool,
    /// It tests its EVAP system.
    vapour: bool,
    /// The inlet camshaft has a phaser.
    phased: bool,
    /// It recirculates exhaust gas.
    egr: bool,
    #[serde(skip)]
    lit: Lit,
}

/// Whether any code has its lamp on, once that was looked up: the lamp is driven every 10 ms, and codes change seldom. It
/// follows from the codes, so it is neither written nor compared.
#[derive(Debug, Clone, Copy, Default)]
struct Lit(Option<bool>);

impl PartialEq for Lit {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Default for Codes {
    fn default() -> Self {
        Self {
            all: vec![Standing::default(); CODES.len()],
            start_c: 0.0,
            warmed: false,
            ran: false,
            direct: false,
            vapour: false,
            phased: false,
            egr: false,
            lit: Lit(None),
        }
    }
}

/// Codes that only a car with direct injection and coded injectors can set.
const DIRECT_ONLY: [Code; 6] = [Code::P0087, Code::P268A, Code::P268C, Code::P268D, Code::P268E, Code::P268F];

/// Codes that only a car with a leak test can set.
const VAPOUR_ONLY: [Code; 6] = [Code::P0442, Code::P0446, Code::P0452, Code::P0453, Code::P0455, Code::P0496];
/// Codes that only a car with a phaser can set.
const PHASED_ONLY: [Code; 2] = [Code::P0010, Code::P0011];
/// Codes that only a car with an exhaust-gas-recirculation valve can set.
const EGR_ONLY: [Code; 5] = [Code::P0401, Code::P0403, Code::P0404, Code::P0405, Code::P0406];

impl Codes {
    /// None stored; whether the car has direct injection with coded injectors, a leak test of its EVAP system, and a
    /// phaser, an exhaust-gas-recirculation valve.
    pub fn of_car(direct: bool, vapour: bool, phased: bool, egr: bool) -> Self {
        Self { direct, vapour, phased, egr, ..Self::default() }
    }
    /// How many codes there are, whether set or not.
    pub fn length(&self) -> usize {
        self.all.len()
    }
    /// How one code stands.
    pub fn standing(&self, code: Code) -> &Standing {
        &self.all[code.index()]
    }
    /// Seen and not healed: pending or confirmed with its lamp on.
    pub fn active(&self, code: Code) -> bool {
        let c = self.standing(code);
        c.pending || c.lamp
    }
    /// A monitor saw its fault for long enough. What the code has become by that, if it is now pending, or lights the lamp,
    /// and did not before.
    pub fn fail(&mut self, code: Code, at_s: f64, frame: FreezeFrame) -> Option<CodeState> {
        self.lit = Lit(None);
        let c = &mut self.all[code.index()];
        let before = (c.pending, c.lamp);
        c.tested = true;
        c.done = true;
        c.failing = true;
        let first = !c.failed;
        c.failed = true;
        c.matured_s = at_s;
        c.good_trips = 0;
        c.warm_ups = 0;
        if first {
            if c.frame.is_none() {
                c.frame = Some(frame);
            }
            if c.pending {
                c.confirmed = true;
                c.lamp = true;
                c.permanent = true;
            }
            c.pending = true;
        }
        match before {
            (_, false) if c.lamp => Some(CodeState::Confirmed),
            (false, _) => Some(CodeState::Pending),
            _ => None,
        }
    }
    /// A monitor ran to its end and saw no fault.
    pub fn pass(&mut self, code: Code) {
        let c = &mut self.all[code.index()];
        c.tested = true;
        c.done = true;
        c.failing = false;
    }
    /// A trip begins with the first start after key-on; what was seen between key-on and start belongs to it.
    pub fn trip_begins(&mut self, coolant_c: f64) {
        self.ran = true;
        self.warmed = false;
        self.start_c = coolant_c;
        for c in &mut self.all {
            c.cleared = false;
        }
    }
    /// Warm-up cycle by SAE J1979: up by 22 K and at least 70 °C (from memory).
    pub fn watch_warm_up(&mut self, coolant_c: f64) {
        if self.ran && coolant_c >= self.start_c + 22.0 && coolant_c >= 70.0 {
            self.warmed = true;
        }
    }
    /// The trip is over, at key-off.
    pub fn trip_ends(&mut self) {
        if !self.ran {
            return;
        }
        self.ran = false;
        self.lit = Lit(None);
        for c in &mut self.all {
            if c.tested && !c.failed {
                c.pending = false;
                if !c.confirmed && !c.cleared {
                    c.permanent = false;
                }
                if c.lamp {
                    c.good_trips += 1;
                    if c.good_trips >= 3 {
                        c.lamp = false;
                        c.permanent = false;
                    }
                }
            }
            if self.warmed && c.confirmed && !c.lamp {
                c.warm_ups += 1;
                if c.warm_ups >= 40 {
                    c.confirmed = false;
                    c.frame = None;
                }
            }
            if !c.pending && !c.confirmed {
                c.frame = None;
            }
            (c.tested, c.failed, c.failing) = (false, false, false);
        }
        self.warmed = false;
    }
    /// Erases what a profile says of codes, freeze frames and readiness; permanent codes outlive it.
    pub fn erase(&mut self, items: &[Item]) {
        let has = |item| items.contains(&item);
        self.lit = Lit(None);
        for c in &mut self.all {
            if has(Item::Pending) {
                c.pending = false;
            }
            if has(Item::Confirmed) {
                (c.confirmed, c.lamp, c.good_trips, c.warm_ups) = (false, false, 0, 0);
            }
            if has(Item::FreezeFrame) {
                c.frame = None;
            }
            if has(Item::Readiness) {
                // the trip so far says nothing any more
                (c.tested, c.failed, c.failing, c.done, c.cleared) = (false, false, false, false, true);
            }
            if has(Item::Pending) && has(Item::Confirmed) {
                c.matured_s = 0.0;
            }
        }
    }
    /// Which monitors have run to their end since codes were cleared; `banks` and `cylinders` say what there is. Those that
    /// run all the time count as complete at once (`Monitor::always_complete`).
    pub fn readiness(&self, banks: usize, cylinders: usize, model_year: u16) -> Vec<MonitorStatus> {
        self.monitors()
            .map(|(m, name)| MonitorStatus {
                name: (*name).into(),
                complete: m.always_complete(model_year)
                    || CODES.iter().zip(&self.all).all(|((code, _, of), s)| {
                        of != m || !self.can_set(*code, banks, cylinders) || s.done
                    }),
            })
            .collect()
    }
    /// Monitors that the car tells of.
    fn monitors(&self) -> impl Iterator<Item = &'static (Monitor, &'static str)> {
        let (vapour, egr) = (self.vapour, self.egr);
        MONITORS.iter().filter(move |(m, _)| match m {
            Monitor::Vapour => vapour,
            Monitor::Egr => egr,
            _ => true,
        })
    }
    /// A car with so many banks and cylinders can set this code.
    pub fn can_set(&self, code: Code, banks: usize, cylinders: usize) -> bool {
        let missing = [
            (self.direct, &DIRECT_ONLY[..]),
            (self.vapour, &VAPOUR_ONLY),
            (self.phased, &PHASED_ONLY),
            (self.egr, &EGR_ONLY),
        ];
        if missing.iter().any(|(has, only)| !has && only.contains(&code)) {
            return false;
        }
        let of_cylinder = |codes: &[Code; 8]| codes.iter().position(|k| *k == code);
        if let Some(c) = [&BY_CYLINDER, &INJECTOR_OPEN, &COIL_OPEN].into_iter().find_map(of_cylinder) {
            return c < cylinders;
        }
        banks > 1
            || !matches!(
                code,
                Code::P0151
                    | Code::P0152
                    | Code::P0153
                    | Code::P0155
                    | Code::P0161
                    | Code::P0174
                    | Code::P0175
                    | Code::P0430
                    | Code::P2098
                    | Code::P2099
            )
    }
    /// All that is kept of a code.
    pub fn detail(&self, code: Code) -> CodeDetail {
        let s = self.standing(code);
        let of = CODES.iter().find(|c| c.0 == code).map(|c| c.2);
        CodeDetail {
            code: code.number(),
            failing: s.failing,
            failed: s.failed,
            tested: s.tested,
            done: s.done,
            pending: s.pending,
            confirmed: s.confirmed,
            lamp: s.lamp,
            permanent: s.permanent,
            good_trips: s.good_trips,
            warm_ups: s.warm_ups,
            matured_s: s.matured_s,
            monitor: MONITORS.iter().find(|m| Some(m.0) == of).map_or("", |m| m.1),
            frame: s.frame,
        }
    }
    /// Which monitors have run to their end in this trip, in the order in which they are told.
    pub fn this_trip(&self, banks: usize, cylinders: usize) -> impl Iterator<Item = (&'static str, bool)> {
        self.monitors().map(move |(m, name)| {
            let mut own = CODES.iter().zip(&self.all);
            let all =
                own.all(|((code, _, of), s)| of != m || !self.can_set(*code, banks, cylinders) || s.tested);
            (*name, all)
        })
    }
    /// The lamp should burn.
    pub fn lamp(&self) -> bool {
        self.all.iter().any(|c| c.lamp)
    }
    /// The same for the module's own output, looked up only after a code has changed.
    pub fn drive_lamp(&mut self) -> bool {
        let lit = self.lit.0.unwrap_or_else(|| self.lamp());
        self.lit = Lit(Some(lit));
        lit
    }
    /// Codes with something to say.
    pub fn stored(&self) -> Vec<CodeStatus> {
        CODES
            .iter()
            .zip(&self.all)
            .filter(|(_, s)| s.pending || s.confirmed || s.permanent)
            .map(|((_, number, _), s)| CodeStatus {
                code: (*number).into(),
                pending: s.pending,
                confirmed: s.confirmed,
                permanent: s.permanent,
            })
            .collect()
    }
}
