//! Answers to the diagnostic link: read, clear, routines with entry conditions and results.
//!
//! *Inside*: what a request means to the module and why it is refused. *Outside*: bytes on a network,
//! sessions of people.
//!
//! **Checked by** `tests/module/services.rs`.

use crate::ecm::airflow::Plate;
use crate::ecm::codes::{CODES, Code};
use crate::ecm::memory::{BatteryEntry, Name, Writer};
use crate::ecm::{Ecm, Gate, GateKind, Power, cylinder_trim, injectors};
use crate::label::BatteryKind;
use crate::link::{
    BatteryRecord, DiagRequest, DiagResponse, GateStatus, Group, LearnedStatus, Refusal, Routine,
    RoutineState,
};

impl Gate {
    /// Stable short name.
    pub fn name(&self) -> &'static str {
        match self.kind {
            GateKind::Idling => "idling",
            GateKind::Warm => "warm",
            GateKind::Neutral => "neutral",
            GateKind::Standing => "standing",
            GateKind::NoLoad => "no_load",
            GateKind::Loaded => "loaded",
            GateKind::SpeedError => "speed_error",
            GateKind::IntegratorBounded => "integrator_bounded",
            GateKind::StopKnown => "stop_known",
            GateKind::NoBlockingCode(_) => "no_blocking_code",
            GateKind::InCell => "in_cell",
            GateKind::ClosedLoop => "closed_loop",
            GateKind::Steady => "steady",
            GateKind::NoPurge => "no_purge",
            GateKind::Certain => "certain",
            GateKind::Asleep => "asleep",
            GateKind::LittleCurrent => "little_current",
            GateKind::Rested => "rested",
            GateKind::Referenced => "referenced",
            GateKind::Charged => "charged",
            GateKind::BatteryMild => "battery_mild",
        }
    }
    /// The condition with its number, in plain words.
    pub fn why(&self) -> String {
        match (self.kind, self.open) {
            (GateKind::Idling, true) => "idle control in force".into(),
            (GateKind::Idling, false) => "idle control is not in force".into(),
            (GateKind::Warm, true) => format!("coolant {:.0} °C, warm enough", self.now),
            (GateKind::Warm, false) if self.now > self.limit => {
                format!("coolant {:.0} °C, too hot", self.now)
            }
            (GateKind::Warm, false) => {
                format!("coolant {:.0} °C; must be {:.0} or more", self.now, self.limit)
            }
            (GateKind::Neutral, true) => "park or neutral".into(),
            (GateKind::Neutral, false) => "in gear; must be in park or neutral".into(),
            (GateKind::Standing, true) => "car standing".into(),
            (GateKind::Standing, false) => format!("car moving at {:.0} km/h; must stand", self.now),
            (GateKind::NoLoad, true) => "nothing switched on".into(),
            (GateKind::NoLoad, false) => "a load is switched on; all must be off".into(),
            (GateKind::Loaded, true) => "a load is switched on".into(),
            (GateKind::Loaded, false) => "no load is switched on; one must be".into(),
            (GateKind::SpeedError, true) => {
                format!("speed within its window of {:.0} rpm, or window opened by a reset", self.limit)
            }
            (GateKind::SpeedError, false) if self.now.abs() <= self.limit => {
                format!("speed within {:.0} rpm of target, not for long enough yet", self.limit)
            }
            (GateKind::SpeedError, false) if self.now < 0.0 => {
                format!(
                    "speed {:.0} rpm over target; must be within {:.0} and stay there",
                    -self.now, self.limit
                )
            }
            (GateKind::SpeedError, false) => {
                format!(
                    "speed {:.0} rpm under target; must be within {:.0} and stay there",
                    self.now, self.limit
                )
            }
            (GateKind::IntegratorBounded, true) => {
                format!("integrator {:+.2} g/s, away from its limit", self.now)
            }
            (GateKind::IntegratorBounded, false) if self.now.abs() <= self.limit => {
                format!("integrator {:+.2} g/s, not watched for long enough yet", self.now)
            }
            (GateKind::IntegratorBounded, false) => {
                format!("integrator {:+.2} g/s, at its limit; must be within {:.2}", self.now, self.limit)
            }
            (GateKind::StopKnown, true) => "closed stop known".into(),
            (GateKind::StopKnown, false) => "closed stop not learned".into(),
            (GateKind::NoBlockingCode(_), true) => "no code that blocks learning".into(),
            (GateKind::NoBlockingCode(code), false) => {
                format!("{} is stored and blocks learning", code.map_or("a code", Code::number))
            }
            (GateKind::InCell, true) => "working in this cell".into(),
            (GateKind::InCell, false) => "not working in this cell".into(),
            (GateKind::ClosedLoop, true) => "closed loop".into(),
            (GateKind::ClosedLoop, false) => "open loop".into(),
            (GateKind::NoPurge, true) => "canister not being drawn from".into(),
            (GateKind::NoPurge, false) => "the vapour canister is being drawn from".into(),
            (GateKind::Certain, true) => format!("known to {:.2} %", self.now),
            (GateKind::Certain, false) => {
                format!("known to {:.2} % only; must be {:.2} % or less", self.now, self.limit)
            }
            (GateKind::Asleep, true) => "module asleep".into(),
            (GateKind::Asleep, false) => "module awake; must sleep".into(),
            (GateKind::LittleCurrent, true) => format!("battery current {:.2} A, little", self.now),
            (GateKind::LittleCurrent, false) => {
                format!("battery current {:.2} A; must be {:.2} A or less", self.now, self.limit)
            }
            (GateKind::Rested, true) => format!("rested for {:.1} h", self.now),
            (GateKind::Rested, false) => {
                format!("rested for {:.1} h; must be {:.1} h or more", self.now, self.limit)
            }
            (GateKind::Referenced, true) => "a rest has told the battery's charge".into(),
            (GateKind::Referenced, false) => {
                format!("the battery's charge is not known: it takes a rest of {:.1} h", self.limit)
            }
            (GateKind::Charged, true) => format!("battery charged to {:.0} %", self.now),
            (GateKind::Charged, false) => {
                format!("battery charged to {:.0} %; must be {:.0} % or more", self.now, self.limit)
            }
            (GateKind::BatteryMild, true) => format!("battery at {:.0} °C", self.now),
            (GateKind::BatteryMild, false) if self.now > self.limit => {
                format!("battery at {:.0} °C; must be {:.0} °C or less", self.now, self.limit)
            }
            (GateKind::BatteryMild, false) => {
                format!("battery at {:.0} °C; must be {:.0} °C or more", self.now, self.limit)
            }
            (GateKind::Steady, true) => "air flow steady".into(),
            (GateKind::Steady, false) => "air flow not steady".into(),
        }
    }
    fn status(&self) -> GateStatus {
        GateStatus { name: self.name().into(), open: self.open, why: self.why() }
    }
}

impl Ecm {
    /// Learned values with limits and gates.
    pub fn learned(&self) -> Vec<LearnedStatus> {
        let s = &self.s;
        s.store
            .names()
            .into_iter()
            .map(|name| {
                let v = s.store.entry(name);
                let [default, low, high] = s.store.limits(&self.cal.s.memory, name);
                let gates: &[Gate] = match name {
                    Name::IdleAirLight => &s.air.gates[0],
                    Name::IdleAirLoaded => &s.air.gates[1],
                    Name::ClosedStop => &[],
                    Name::LongIdle(_) => &s.fuel.gates[0],
                    Name::LongPart(_) => &s.fuel.gates[1],
                    Name::LongHigh(_) => &s.fuel.gates[2],
                    Name::CylinderTrim(_) => &s.cylinder_trim.gates,
                    Name::InjectorFlow(_) | Name::InjectorDead(_) | Name::ShortPulse(_) => &[],
                };
                LearnedStatus {
                    name: name.text(),
                    unit: name.unit().into(),
                    value: v.value,
                    default,
                    low,
                    high,
                    learned: v.learned,
                    written_by: v.by.text().into(),
                    written_s: v.at_s,
                    gates: gates.iter().map(Gate::status).collect(),
                }
            })
            .chain(std::iter::once(self.wheel_status()))
            .chain(self.battery_status())
            .collect()
    }

    /// The battery's age by its record, and its charge by the module's count.
    fn battery_status(&self) -> [LearnedStatus; 2] {
        let (record, cal) = (&self.s.store.battery, &self.cal.s.charging);
        let c = &self.s.charging;
        let one =
            |name: &str, value: f64, default: f64, learned: bool, gates: Vec<GateStatus>| LearnedStatus {
                name: name.into(),
                unit: "%".into(),
                value,
                default,
                low: 0.0,
                high: 100.0,
                learned,
                written_by: record.by.text().into(),
                written_s: record.entered_s,
                gates,
            };
        let age = (100.0 * record.passed_ah / cal.worn_out_ah(record)).min(100.0);
        let gates = c.gates(cal).iter().map(Gate::status).collect();
        [
            one("battery_age", age, 0.0, true, Vec::new()),
            one("battery_charge", 100.0 * c.charge, 80.0, c.referenced, gates),
        ]
    }

    /// The battery that the module counts on.
    pub fn battery_record(&self) -> BatteryRecord {
        let record = &self.s.store.battery;
        BatteryRecord {
            kind: record.kind,
            rated_ah: record.rated_ah,
            passed_ah: record.passed_ah,
            worn_out_ah: self.cal.s.charging.worn_out_ah(record),
            entered_s: record.entered_s,
        }
    }

    /// What stands in the record of a car that has been driven: who knows who entered it.
    pub fn enter_delivered(&mut self, kind: BatteryKind, rated_ah: f64, passed_ah: f64) {
        self.s.store.battery =
            BatteryEntry { kind, rated_ah, passed_ah, entered_s: 0.0, by: Writer::Factory };
    }

    /// Whether the engine might stop at lights, and the first condition that forbids it.
    pub fn stop_start(&self) -> (&'static str, String) {
        if self.cal.s.charging.stop_start.is_none() {
            return ("none", String::new());
        }
        match self.s.charging.stop_start.iter().find(|g| !g.open) {
            Some(g) => ("refused", g.why()),
            None if !self.s.running => ("refused", "the engine does not run".into()),
            None => ("allowed", String::new()),
        }
    }

    fn enter_battery(&mut self, kind: BatteryKind, rated_ah: f64) -> Result<(), String> {
        let i = &self.s.inputs;
        if i.rpm > 0.0 {
            return Err(format!("engine turning at {:.0} rpm; key on, engine stopped", i.rpm));
        }
        if !(30.0..=120.0).contains(&rated_ah) {
            return Err(format!("{rated_ah:.0} Ah; this module takes batteries of 30 to 120 Ah"));
        }
        let entered_s = i.time_s;
        self.s.store.battery =
            BatteryEntry { kind, rated_ah, passed_ah: 0.0, entered_s, by: Writer::Entered };
        self.s.charging.entered();
        self.note(format!("battery record entered: {}, {rated_ah:.0} Ah", kind.name()));
        Ok(())
    }

    /// The wheel table by its largest correction of a firing's window.
    fn wheel_status(&self) -> LearnedStatus {
        let t = &self.s.store.wheel;
        let most = (0..self.windows.count())
            .map(|p| self.windows.error_deg(p, &t.edges_deg))
            .fold(0.0, |m: f64, x| if x.abs() > m.abs() { x } else { m });
        let limit = self.cal.s.wheel.most_deg;
        LearnedStatus {
            name: "wheel_table".into(),
            unit: "°".into(),
            value: most,
            default: 0.0,
            low: -2.0 * limit,
            high: 2.0 * limit,
            learned: t.learned,
            written_by: t.by.text().into(),
            written_s: t.at_s,
            gates: Vec::new(),
        }
    }

    /// Corrections of the wheel table over the windows of the firing order \[deg\], as believed.
    pub fn window_corrections_deg(&self) -> Vec<f64> {
        self.window_errors_deg(&self.s.store.wheel.edges_deg)
    }
    /// Errors of the windows of the firing order for such edges \[deg\].
    pub fn window_errors_deg(&self, edges_deg: &[f64]) -> Vec<f64> {
        (0..self.windows.count()).map(|p| self.windows.error_deg(p, edges_deg)).collect()
    }

    /// One request over the link.
    pub fn ask(&mut self, request: &DiagRequest) -> DiagResponse {
        if self.s.power != Power::On {
            return DiagResponse::Silent;
        }
        match request {
            DiagRequest::ReadCodes => DiagResponse::Codes(self.s.codes.stored()),
            DiagRequest::ClearCodes => {
                let at_s = self.s.inputs.time_s;
                let items = self.profile.clear_codes.clone();
                self.s.codes.erase(&items);
                self.s.store.erase(&self.cal.s.memory, &items, Writer::CodeClear, at_s);
                self.s.air.forget_monitor();
                self.s.fuel.forget_monitor();
                self.s.watch.forget();
                self.s.injectors = injectors::State::default();
                self.s.misfire.forget();
                self.s.similar = None;
                self.note("codes cleared".into());
                DiagResponse::Ok
            }
            DiagRequest::ReadFreezeFrame(number) => {
                let code = CODES.iter().find(|c| c.1 == number);
                DiagResponse::FreezeFrame(code.and_then(|c| self.s.codes.standing(c.0).frame))
            }
            DiagRequest::ReadLearned => DiagResponse::Learned(self.learned()),
            DiagRequest::ReadLive => DiagResponse::Live(self.live()),
            DiagRequest::ReadValue(name) => match self.live().named(name) {
                Some(value) => DiagResponse::Value(value),
                None => DiagResponse::Refused(Refusal { why: format!("no value is called {name}") }),
            },
            DiagRequest::WriteInjectorCode { cylinder, code } => match self.write_code(*cylinder, code) {
                Ok(()) => DiagResponse::Ok,
                Err(why) => {
                    self.note(format!("injector code for cylinder {cylinder} refused: {why}"));
                    DiagResponse::Refused(Refusal { why })
                }
            },
            DiagRequest::ReadInjectorCode(cylinder) => match self.class_for(*cylinder) {
                Ok(class) => {
                    DiagResponse::InjectorCode(injectors::State::stored(&self.s.store, class, cylinder - 1))
                }
                Err(why) => DiagResponse::Refused(Refusal { why }),
            },
            DiagRequest::EnterBatteryRecord { kind, rated_ah } => {
                match self.enter_battery(*kind, *rated_ah) {
                    Ok(()) => DiagResponse::Ok,
                    Err(why) => {
                        self.note(format!("enter_battery_record refused: {why}"));
                        DiagResponse::Refused(Refusal { why })
                    }
                }
            }
            DiagRequest::ReadBatteryRecord => DiagResponse::BatteryRecord(self.battery_record()),
            DiagRequest::ReadReadiness => DiagResponse::Readiness(
                self.s.codes.readiness(self.banks(), self.cal.plate.firing_order.len()),
            ),
            DiagRequest::Start(routine) => match self.start(*routine) {
                Ok(()) => DiagResponse::Ok,
                Err(why) => {
                    self.note(format!("{} refused: {why}", routine.name()));
                    DiagResponse::Refused(Refusal { why })
                }
            },
            DiagRequest::Progress => DiagResponse::Routine(self.s.routine.clone()),
            DiagRequest::Stop => {
                if let RoutineState::Running { routine, .. } = &self.s.routine {
                    let routine = *routine;
                    self.s.air.commanded = None;
                    self.s.short_pulse.end();
                    self.s.air.held = false;
                    self.s.cut_out = None;
                    self.s.wheel.stop();
                    if matches!(self.s.air.plate, Plate::Learning(_)) {
                        self.s.air.plate = Plate::Driven;
                    }
                    self.s.routine = RoutineState::Failed { routine, why: "stopped on request".into() };
                }
                DiagResponse::Ok
            }
        }
    }

    /// Kind of injector whose codes this module takes, if the cylinder is there.
    fn class_for(&self, cylinder: u8) -> Result<char, String> {
        let Some(direct) = &self.cal.s.fuel.direct else {
            return Err("this module works without injector codes".into());
        };
        let n = self.cal.plate.firing_order.len();
        if cylinder == 0 || usize::from(cylinder) > n {
            return Err(format!("this engine has {n} cylinders, no cylinder {cylinder}"));
        }
        Ok(direct.class)
    }

    fn write_code(&mut self, cylinder: u8, code: &str) -> Result<(), String> {
        let class = self.class_for(cylinder)?;
        let i = &self.s.inputs;
        if i.rpm > 0.0 {
            return Err(format!("engine turning at {:.0} rpm; key on, engine stopped", i.rpm));
        }
        let at_s = i.time_s;
        let label = self.s.injectors.write(&mut self.s.store, class, cylinder, code, at_s)?;
        self.note(format!(
            "injector code for cylinder {cylinder} written: flow {:+.2} %, dead time {:+.1} µs",
            label.flow_pct, label.dead_us
        ));
        Ok(())
    }

    fn start(&mut self, routine: Routine) -> Result<(), String> {
        if let RoutineState::Running { routine, .. } = &self.s.routine {
            return Err(format!("{} is under way", routine.name()));
        }
        let i = &self.s.inputs;
        let standing = i.rpm <= 0.0;
        match routine {
            Routine::ResetGroup(group) => {
                if !standing {
                    return Err(format!("engine turning at {:.0} rpm; key on, engine stopped", i.rpm));
                }
                let held =
                    group == Group::WheelTable || self.s.store.names().iter().any(|n| n.group() == group);
                if !held {
                    return Err(format!("this module holds no {}", group.name().replace('_', " ")));
                }
                let at_s = i.time_s;
                self.s.store.reset(&self.cal.s.memory, group, Writer::Reset, at_s);
                match group {
                    Group::IdleAir => self.s.air.integrator = 0.0,
                    Group::ClosedStop => self.s.air.stop_known = false,
                    // what was estimated beside the old trims is not what is to be seen without them
                    Group::CylinderTrims => self.s.cylinder_trim = cylinder_trim::State::default(),
                    _ => {}
                }
                self.s.routine = RoutineState::Done { routine };
                self.note(format!("group {} reset", group.name()));
                Ok(())
            }
            Routine::LearnClosedStop => {
                if !standing {
                    return Err(format!("engine turning at {:.0} rpm; key on, engine stopped", i.rpm));
                }
                if i.supply_v < 11.0 {
                    return Err(format!("supply {:.1} V; must be 11.0 V or more", i.supply_v));
                }
                if !matches!(self.s.air.plate, Plate::Driven) {
                    return Err("throttle not ready; wait a second after key-on".into());
                }
                self.s.air.plate = Plate::Learning(i.time_s);
                self.begin(routine);
                Ok(())
            }
            Routine::CommandIdle(rpm) => {
                if !self.s.running {
                    return Err("engine not running; must idle".into());
                }
                if rpm != 0 && !(600..=1500).contains(&rpm) {
                    return Err(format!("{rpm} rpm asked for; must be 600 to 1500"));
                }
                self.s.air.asked_rpm = (rpm != 0).then_some(f64::from(rpm));
                self.s.routine = RoutineState::Done { routine };
                self.note(if rpm == 0 {
                    "own idle speed again".into()
                } else {
                    format!("idle speed {rpm} rpm asked for")
                });
                Ok(())
            }
            Routine::LearnShortPulse => {
                self.short_pulse_entry()?;
                self.s.short_pulse.begin();
                self.begin(routine);
                Ok(())
            }
            Routine::LearnWheel => {
                self.wheel_entry()?;
                self.s.wheel.begin();
                self.begin(routine);
                let [low, high] = self.cal.s.wheel.band_rpm;
                let hold = format!("hold {low:.0} to {high:.0} rpm for {:.0} s", self.cal.s.wheel.hold_s);
                if let RoutineState::Running { says, .. } = &mut self.s.routine {
                    says.clone_from(&hold);
                }
                self.note(hold);
                Ok(())
            }
            Routine::CutOut(k) => {
                let n = self.cal.plate.firing_order.len();
                if k == 0 || usize::from(k) > n {
                    return Err(format!("this engine has {n} cylinders, no cylinder {k}"));
                }
                if !self.s.running || !self.s.air.idling {
                    return Err("engine not idling; must idle".into());
                }
                if !i.neutral || i.road_km_h >= 1.0 {
                    return Err("must stand in park or neutral".into());
                }
                self.s.cut_out = Some((k - 1, i.time_s));
                self.s.air.held = true;
                self.begin(routine);
                Ok(())
            }
            Routine::LearnIdle => {
                self.idle_entry()?;
                self.s.air.commanded = Some((0.0, 0.0));
                self.begin(routine);
                Ok(())
            }
        }
    }

    fn begin(&mut self, routine: Routine) {
        self.s.routine_since_s = self.s.inputs.time_s;
        self.s.routine = RoutineState::Running { routine, for_s: 0.0, says: String::new() };
        self.note(format!("{} started", routine.name()));
    }

    /// Entry conditions of the short-pulse routine.
    fn short_pulse_entry(&self) -> Result<(), String> {
        let (s, i) = (&self.s, &self.s.inputs);
        if !s.store.holds().short {
            return Err("this module has no short-pulse trim".into());
        }
        if !s.running {
            return Err("engine not running; must idle".into());
        }
        if injectors::State::missing(&s.store) {
            return Err("injector codes missing; write them first".into());
        }
        if !s.air.idling {
            return Err(format!("engine at {:.0} rpm, idle control not in force", i.rpm));
        }
        let warm_c = self.cal.s.cylinder_trim.as_ref().map_or(70.0, |c| c.window[2]);
        if i.coolant_c < warm_c {
            return Err(format!("coolant {:.0} °C; must be {warm_c:.0} or more", i.coolant_c));
        }
        if !i.neutral {
            return Err("in gear; must be in park or neutral".into());
        }
        if s.air.switched_load(i) {
            return Err("a load is switched on; all must be off".into());
        }
        if !s.fuel.closed_loop[0] {
            return Err("mixture in open loop; wait for closed loop".into());
        }
        Ok(())
    }

    /// Entry conditions of the wheel's learn.
    fn wheel_entry(&self) -> Result<(), String> {
        let (i, cal) = (&self.s.inputs, &self.cal.s.wheel);
        if !self.s.running {
            return Err("engine not running; must idle".into());
        }
        let [low, high] = cal.warm_c;
        if i.coolant_c < low || i.coolant_c > high {
            return Err(format!("coolant {:.0} °C; must be {low:.0} to {high:.0}", i.coolant_c));
        }
        if i.road_km_h >= 1.0 {
            return Err(format!("car moving at {:.0} km/h; must stand", i.road_km_h));
        }
        if !i.neutral {
            return Err("in gear; must be in park or neutral".into());
        }
        if self.s.air.switched_load(i) {
            return Err("a load is switched on; all must be off".into());
        }
        let misfire = crate::ecm::codes::BY_CYLINDER.into_iter().chain([Code::P0300]);
        // not P0336: what is odd about an edge is for the learn itself to judge
        for code in misfire.chain([Code::P0335]) {
            if self.s.codes.active(code) {
                return Err(format!("{} is stored; mend its cause first", code.number()));
            }
        }
        if f64::from(self.s.wheel.attempts) >= cal.run_downs[1] {
            return Err(format!(
                "all {:.0} attempts of this key cycle used up; key off, let it rest, find out why",
                cal.run_downs[1]
            ));
        }
        Ok(())
    }

    /// Entry conditions of the commanded idle learn, in the order a technician would check them.
    fn idle_entry(&self) -> Result<(), String> {
        let (i, a, cal) = (&self.s.inputs, &self.s.air, &self.cal.s.idle);
        if !self.s.running {
            return Err("engine not running; must idle".into());
        }
        if !a.stop_known {
            return Err("closed stop not learned; learn it first".into());
        }
        if !a.idling {
            return Err(format!("engine at {:.0} rpm, idle control not in force", i.rpm));
        }
        let [low, high] = cal.learn_coolant_c;
        if i.coolant_c < low || i.coolant_c > high {
            return Err(format!("coolant {:.0} °C; must be {low:.0} to {high:.0}", i.coolant_c));
        }
        if i.road_km_h >= 1.0 {
            return Err(format!("car moving at {:.0} km/h; must stand", i.road_km_h));
        }
        if !i.neutral {
            return Err("in gear; must be in park or neutral".into());
        }
        if i.supply_v < cal.commanded_electrical[1] {
            return Err(format!(
                "supply {:.1} V; must be {:.1} V or more",
                i.supply_v, cal.commanded_electrical[1]
            ));
        }
        let amps = i.field_duty * cal.alternator_a.at(i.rpm);
        if amps > cal.commanded_electrical[0] {
            return Err(format!(
                "electrical load {amps:.0} A; must be {:.0} A or less",
                cal.commanded_electrical[0]
            ));
        }
        if a.switched_load(i) {
            return Err("a load is switched on; all must be off".into());
        }
        if self.s.purge.duty > 0.0 && self.s.purge.vapour {
            return Err(format!(
                "purge flowing, valve at {:.0} %; wait until the canister gives no vapour",
                100.0 * self.s.purge.duty
            ));
        }
        for code in [Code::P2135, Code::P2119, Code::P0101, Code::P0117, Code::P0118] {
            if self.s.codes.active(code) {
                return Err(format!("{} is stored; mend its cause first", code.number()));
            }
        }
        for code in [Code::P0506, Code::P0507] {
            let c = self.s.codes.standing(code);
            if (c.pending || c.lamp) && c.matured_s > self.s.store.idle_reset_s {
                return Err(format!(
                    "{} has matured since the last group reset; find its cause and reset first",
                    code.number()
                ));
            }
        }
        Ok(())
    }
}
