//! Answers to the diagnostic link: read, clear, routines with entry conditions and results.
//!
//! *Inside*: what a request means to the module and why it is refused. *Outside*: bytes on a network,
//! sessions of people.
//!
//! **Checked by** `tests/module/services.rs`.

use crate::ecm::airflow::PlateMode;
use crate::ecm::codes::{CODES, Code};
use crate::ecm::crank_tasks::CutOutSpeed;
use crate::ecm::memory::{BatteryEntry, Name};
use crate::ecm::{Ecm, Gate, Power, cylinder_trim, injectors};
use crate::label::BatteryKind;
use crate::link::{
    BatteryRecord, DiagRequest, DiagResponse, Failed, GateStatus, Group, Hold, LearnedStatus, NoStop, Notice,
    Refused, Routine, RoutineState, WaitsFor, Writer,
};

/// Capacities of batteries that may be entered \[Ah\].
const TAKES_AH: [f64; 2] = [30.0, 120.0];
/// Idle speeds that may be asked for \[rpm\].
const TAKES_RPM: [u16; 2] = [600, 1500];
/// Least supply for learning the closed stop \[V\].
const LEARN_STOP_V: f64 = 11.0;

impl Gate {
    /// As it is told over the link.
    pub fn status(&self) -> GateStatus {
        let code = self.code.map(|c| c.number().into());
        GateStatus { name: self.kind, open: self.open, now: self.now, limit: self.limit, code }
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
                    Name::Ambient => &s.ambient.gates,
                    Name::Alcohol => &s.alcohol.gates,
                    Name::CamRest => &s.phaser.gates,
                    Name::RearTrim(b) => &s.rear_trim.gates[usize::from(b)],
                    Name::EgrStop => &s.egr.gates,
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
                    written_by: v.by,
                    written_s: v.at_s,
                    gates: gates.iter().map(Gate::status).collect(),
                }
            })
            .chain(std::iter::once(self.wheel_status()))
            .chain(self.battery_status())
            .chain((0..self.cal.plate.bank_count()).map(|b| self.catalyst_status(b)))
            .chain(self.vapour_status())
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
                written_by: record.by,
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

    /// What the catalyst monitor last found, over a new catalyst; its limit is the low one.
    fn catalyst_status(&self, bank: usize) -> LearnedStatus {
        let c = &self.s.catalyst;
        let found = c.result_pct(bank);
        LearnedStatus {
            name: format!("catalyst_bank{}", bank + 1),
            unit: "%".into(),
            value: found.unwrap_or(0.0),
            default: 0.0,
            low: 0.0,
            high: 150.0,
            learned: found.is_some(),
            written_by: if found.is_some() { Writer::Ordinary } else { Writer::Delivered },
            written_s: c.result_s(bank),
            gates: c.gates[bank].iter().map(Gate::status).collect(),
        }
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
    pub fn stop_start(&self) -> (&'static str, Option<NoStop>) {
        if self.cal.s.charging.stop_start.is_none() {
            return ("none", None);
        }
        match self.s.charging.stop_start.iter().find(|g| !g.open) {
            Some(g) => ("refused", Some(NoStop::Gate(g.status()))),
            None if !self.s.running => ("refused", Some(NoStop::NotRunning)),
            None => ("allowed", None),
        }
    }

    fn enter_battery(&mut self, kind: BatteryKind, rated_ah: f64) -> Result<(), Refused> {
        self.stopped()?;
        let [least, most] = TAKES_AH;
        if !(least..=most).contains(&rated_ah) {
            return Err(Refused::BatteryCapacity { is_ah: rated_ah, takes_ah: TAKES_AH });
        }
        let entered_s = self.s.inputs.time_s;
        self.s.store.battery =
            BatteryEntry { kind, rated_ah, passed_ah: 0.0, entered_s, by: Writer::Entered };
        self.s.charging.entered();
        self.note(Notice::BatteryEntered { kind, rated_ah });
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
            written_by: t.by,
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

    /// Smallest difference between the wheel-table errors of neighbouring windows at which this module counts healthy
    /// firings as misfires at some monitored speed \[deg\].
    pub fn table_error_counted_deg(&self) -> f64 {
        self.cal.s.misfire.table_error_counted_deg(self.windows.span_deg())
    }

    /// It answers on the link: with the key off, and without power, it does not.
    pub fn answers(&self) -> bool {
        self.s.power == Power::On
    }

    /// One request over the link.
    pub fn ask(&mut self, request: &DiagRequest) -> DiagResponse {
        if !self.answers() {
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
                self.s.monitors.forget();
                self.s.injectors = injectors::State::default();
                self.s.misfire.forget();
                self.s.similar = None;
                self.s.catalyst.forget();
                self.s.rear_trim.forget();
                self.s.vapour.forget();
                self.s.egr.forget();
                self.note(Notice::CodesCleared);
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
                None => DiagResponse::Refused(Refused::NoValue(name.clone())),
            },
            DiagRequest::WriteInjectorCode { cylinder, code } => {
                let done = self.write_code(*cylinder, code);
                self.accepted(request, done)
            }
            DiagRequest::ReadInjectorCode(cylinder) => match self.class_for(*cylinder) {
                Ok(class) => {
                    DiagResponse::InjectorCode(injectors::State::stored(&self.s.store, class, cylinder - 1))
                }
                Err(because) => DiagResponse::Refused(because),
            },
            DiagRequest::EnterBatteryRecord { kind, rated_ah } => {
                let done = self.enter_battery(*kind, *rated_ah);
                self.accepted(request, done)
            }
            DiagRequest::ReadBatteryRecord => DiagResponse::BatteryRecord(self.battery_record()),
            DiagRequest::ReadReadiness => DiagResponse::Readiness(self.readiness()),
            DiagRequest::Start(routine) => {
                let done = self.start(*routine);
                // that an earlier routine was done is no answer to a start that was refused
                if done.is_err() && matches!(self.s.routine, RoutineState::Done { .. }) {
                    self.s.routine = RoutineState::None;
                }
                self.accepted(request, done)
            }
            DiagRequest::Progress => DiagResponse::Routine(self.s.routine),
            DiagRequest::Stop => {
                if let RoutineState::Running { routine, .. } = self.s.routine {
                    self.s.air.commanded = None;
                    self.s.short_pulse.end();
                    self.s.vapour.stop();
                    self.s.egr.stop();
                    self.s.air.cylinder_back();
                    self.s.cut_out = None;
                    self.s.wheel.stop();
                    if matches!(self.s.air.plate, PlateMode::Learning(_)) {
                        self.s.air.plate = PlateMode::Driven;
                    }
                    self.s.routine = RoutineState::Failed { routine, because: Failed::Stopped };
                }
                DiagResponse::Ok
            }
            DiagRequest::Restart => {
                let done = self.stopped().map(|()| self.restart());
                self.accepted(request, done)
            }
        }
    }

    /// The answer to a request to change something; a refusal is noted.
    fn accepted(&mut self, request: &DiagRequest, done: Result<(), Refused>) -> DiagResponse {
        match done {
            Ok(()) => DiagResponse::Ok,
            Err(because) => {
                self.note(Notice::Refused { request: request.clone(), because: because.clone() });
                DiagResponse::Refused(because)
            }
        }
    }

    /// The engine stands.
    fn stopped(&self) -> Result<(), Refused> {
        let rpm = self.s.inputs.rpm;
        if rpm > 0.0 { Err(Refused::EngineTurning { rpm }) } else { Ok(()) }
    }

    /// The engine has that cylinder, from 1.
    fn has_cylinder(&self, cylinder: u8) -> Result<(), Refused> {
        let of = self.cal.plate.firing_order.len() as u8;
        if cylinder == 0 || cylinder > of { Err(Refused::NoCylinder { cylinder, of }) } else { Ok(()) }
    }

    /// Kind of injector whose codes this module takes, if the cylinder is there.
    fn class_for(&self, cylinder: u8) -> Result<char, Refused> {
        let Some(direct) = &self.cal.s.fuel.direct else {
            return Err(Refused::NoInjectorCodes);
        };
        self.has_cylinder(cylinder)?;
        Ok(direct.class)
    }

    fn write_code(&mut self, cylinder: u8, code: &str) -> Result<(), Refused> {
        let class = self.class_for(cylinder)?;
        self.stopped()?;
        let at_s = self.s.inputs.time_s;
        let label = self.s.injectors.write(&mut self.s.store, class, cylinder, code, at_s)?;
        let (flow_pct, dead_us) = (label.flow_pct, label.dead_us);
        self.note(Notice::InjectorCodeWritten { cylinder, flow_pct, dead_us });
        Ok(())
    }

    fn start(&mut self, routine: Routine) -> Result<(), Refused> {
        if let RoutineState::Running { routine, .. } = self.s.routine {
            return Err(Refused::UnderWay(routine));
        }
        let i = &self.s.inputs;
        match routine {
            Routine::ResetGroup(group) => {
                self.stopped()?;
                let held = group == Group::WheelTable
                    || self.s.store.names().iter().any(|n| n.group() == Some(group));
                if !held {
                    return Err(Refused::NoGroup(group));
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
                self.note(Notice::GroupReset { group });
                Ok(())
            }
            Routine::LearnClosedStop => {
                self.stopped()?;
                if i.supply_v < LEARN_STOP_V {
                    return Err(Refused::SupplyBelow { is_v: i.supply_v, needs_v: LEARN_STOP_V });
                }
                if !matches!(self.s.air.plate, PlateMode::Driven) {
                    return Err(Refused::ThrottleNotReady);
                }
                self.s.air.plate = PlateMode::Learning(i.time_s);
                self.begin(routine);
                Ok(())
            }
            Routine::CommandIdle(rpm) => {
                if !self.s.running {
                    return Err(Refused::NotRunning);
                }
                let [least, most] = TAKES_RPM;
                if rpm != 0 && !(least..=most).contains(&rpm) {
                    return Err(Refused::IdleSpeed { asked_rpm: rpm, takes_rpm: TAKES_RPM });
                }
                self.s.air.asked_rpm = (rpm != 0).then_some(f64::from(rpm));
                self.s.routine = RoutineState::Done { routine };
                self.note(if rpm == 0 { Notice::OwnIdleSpeed } else { Notice::IdleSpeedAsked { rpm } });
                Ok(())
            }
            Routine::LearnShortPulse => {
                self.short_pulse_entry()?;
                self.s.short_pulse.begin();
                self.begin(routine);
                Ok(())
            }
            Routine::TestVapour => self.begin_vapour_test(),
            Routine::LearnCamRest => {
                self.cam_entry()?;
                self.begin(routine);
                Ok(())
            }
            Routine::LearnEgrStop => self.begin_egr_learn(),
            Routine::LearnWheel => {
                self.wheel_entry()?;
                self.s.wheel.begin();
                self.begin(routine);
                let cal = &self.cal.s.wheel;
                let [low_rpm, high_rpm] = cal.band_rpm;
                let hold = WaitsFor::Hold(Hold { low_rpm, high_rpm, for_s: cal.hold_s });
                if let RoutineState::Running { waits_for, .. } = &mut self.s.routine {
                    *waits_for = Some(hold);
                }
                self.note(Notice::WaitsFor(hold));
                Ok(())
            }
            Routine::CutOut(k) => {
                self.has_cylinder(k)?;
                if !self.s.running || !self.s.air.idling {
                    return Err(Refused::NotIdling);
                }
                if !i.neutral || i.road_km_h >= 1.0 {
                    return Err(Refused::NotParked);
                }
                self.s.cut_out = Some((k - 1, i.time_s));
                self.s.cut_out_speed = CutOutSpeed::from(self.s.air.mean_rpm());
                self.s.air.cylinder_out();
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

    pub(super) fn begin(&mut self, routine: Routine) {
        self.s.routine_since_s = self.s.inputs.time_s;
        self.s.routine = RoutineState::Running { routine, for_s: 0.0, waits_for: None };
        self.note(Notice::RoutineStarted { routine });
    }

    /// Entry conditions of the short-pulse routine.
    fn short_pulse_entry(&self) -> Result<(), Refused> {
        let (s, i) = (&self.s, &self.s.inputs);
        if !s.store.holds().short {
            return Err(Refused::NoShortPulse);
        }
        if !s.running {
            return Err(Refused::NotRunning);
        }
        if injectors::State::missing(&s.store) {
            return Err(Refused::InjectorCodesMissing);
        }
        if !s.air.idling {
            return Err(Refused::IdleControlOff { rpm: i.rpm });
        }
        let warm_c = self.cal.s.cylinder_trim.as_ref().map_or(70.0, |c| c.window[2]);
        if i.coolant_c < warm_c {
            return Err(Refused::CoolantBelow { is_c: i.coolant_c, needs_c: warm_c });
        }
        if !i.neutral {
            return Err(Refused::InGear);
        }
        if s.air.switched_load(i) {
            return Err(Refused::LoadOn);
        }
        if !s.fuel.closed_loop[0] {
            return Err(Refused::OpenLoop);
        }
        Ok(())
    }

    /// Coolant in its window \[°C\], car standing, park or neutral.
    pub(super) fn warm_and_standing(&self, needs_c: [f64; 2]) -> Result<(), Refused> {
        let i = &self.s.inputs;
        if i.coolant_c < needs_c[0] || i.coolant_c > needs_c[1] {
            return Err(Refused::CoolantOutside { is_c: i.coolant_c, needs_c });
        }
        if i.road_km_h >= 1.0 {
            return Err(Refused::Moving { km_h: i.road_km_h });
        }
        if !i.neutral {
            return Err(Refused::InGear);
        }
        Ok(())
    }

    /// Entry conditions of the wheel's learn.
    fn wheel_entry(&self) -> Result<(), Refused> {
        let (i, cal) = (&self.s.inputs, &self.cal.s.wheel);
        if !self.s.running {
            return Err(Refused::NotRunning);
        }
        self.warm_and_standing(cal.warm_c)?;
        if self.s.air.switched_load(i) {
            return Err(Refused::LoadOn);
        }
        let misfire = crate::ecm::codes::BY_CYLINDER.into_iter().chain([Code::P0300]);
        // not P0336: what is odd about an edge is for the learn itself to judge
        for code in misfire.chain([Code::P0335]) {
            if self.s.codes.active(code) {
                return Err(Refused::CodeStored(code.number().into()));
            }
        }
        if f64::from(self.s.wheel.attempts) >= cal.run_downs[1] {
            return Err(Refused::AttemptsUsedUp { of: cal.run_downs[1] as u32 });
        }
        Ok(())
    }

    /// Entry conditions of the commanded idle learn, in the order a technician would check them.
    fn idle_entry(&self) -> Result<(), Refused> {
        let (i, a, cal) = (&self.s.inputs, &self.s.air, &self.cal.s.idle);
        if !self.s.running {
            return Err(Refused::NotRunning);
        }
        if !a.stop_known {
            return Err(Refused::StopUnknown);
        }
        if !a.idling {
            return Err(Refused::IdleControlOff { rpm: i.rpm });
        }
        self.warm_and_standing(cal.learn_coolant_c)?;
        if i.supply_v < cal.commanded_electrical[1] {
            let needs_v = cal.commanded_electrical[1];
            return Err(Refused::SupplyBelow { is_v: i.supply_v, needs_v });
        }
        let amps = i.field_duty * cal.alternator_a.at(i.rpm);
        if amps > cal.commanded_electrical[0] {
            let most_a = cal.commanded_electrical[0];
            return Err(Refused::ElectricalLoad { is_a: amps, most_a });
        }
        if a.switched_load(i) {
            return Err(Refused::LoadOn);
        }
        if self.s.purge.duty > 0.0 && self.s.purge.vapour {
            return Err(Refused::PurgeFlowing { duty_pct: 100.0 * self.s.purge.duty });
        }
        for code in [Code::P2135, Code::P2119, Code::P0101, Code::P0116, Code::P0117, Code::P0118] {
            if self.s.codes.active(code) {
                return Err(Refused::CodeStored(code.number().into()));
            }
        }
        for code in [Code::P0506, Code::P0507] {
            let c = self.s.codes.standing(code);
            if (c.pending || c.lamp) && c.matured_s > self.s.store.idle_reset_s {
                return Err(Refused::CodeMatured(code.number().into()));
            }
        }
        Ok(())
    }
}
