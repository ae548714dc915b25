//! The plant: the physical engine and car. Owns the parts and defines the order of work within one step.
//!
//! *Inside*: engine, air, fuel, exhaust, heat, electrics, driveline, wear, and the sensors, which are the only
//! output. *Outside*: what a control module believes (it sees only pins), the names of scenarios and lessons,
//! grading. No code in here may know a fault by name: there are only parts, wear and wiring.
//!
//! **Order of one crank step** ([`Plant::step`])
//! 1. each cylinder in turn: its events at the start of the step, its gas over the step (work, air drawn, heat), the
//!    gas it discharges into its bank's pipe; after the last cylinder the pipes' delay line advances;
//! 2. crank: the sum of work changes the speed, the mean speed gives the step's length in time;
//! 3. manifold: air that flowed in less air that was drawn out;
//! 4. wheel: a tooth edge, if one was passed;
//! 5. time; and every 10 ms, in this order: phaser, throttle plate and air filter, recirculated exhaust gas, tank vapour, fuel, exhaust back
//!    pressure, catalysts,
//!    electrics, heat, road and loads, wear (`slow.rs` prepares the inputs of each), sensor samples (`sensors.rs`).
//!
//! When the crank is nearly stopped, steps are of time instead of angle; the gas advances whenever an angle step is
//! complete.

mod account;
pub mod air;
pub mod battery;
pub mod catalyst;
pub mod crank;
pub mod cylinder;
pub mod egr;
pub mod electrical;
pub mod exhaust;
mod fitted;
pub mod fuel;
mod hands;
pub mod ignition;
mod layout;
pub mod parts;
pub mod phaser;
pub mod road;
pub mod sensors;
mod slow;
pub mod thermal;
pub mod vapour;
pub mod wear;
pub mod wires;

pub use self::account::{CycleAccount, Totals};
pub use self::fitted::Parts;
pub use self::hands::{Hands, Plugs};
use self::layout::Lane;
pub use self::layout::{Layout, Params};

use crate::num::{self, FlowFunction, Stream};
use crate::signals::{ActuatorFrame, MAX_CYLINDERS, SensorFrame, TICKS_PER_S, ToothEdge};
use crate::units::{R_AIR, celsius, kelvin, rpm};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Time between two samples of the sensors \[s\].
pub const TICK_S: f64 = 0.01;
/// Crank angle after firing top dead centre at which a port injector fires: before its inlet opens \[deg\].
pub const INJECT_DEG: f64 = 300.0;

/// Tables computed once from the parameters and the step.
#[derive(Debug, Clone, PartialEq)]
struct Derived {
    gas: cylinder::Kinematics,
    crank: crank::Tables,
    flow: FlowFunction,
    lanes: Vec<Lane>,
    /// Share of a turn in one step \[-\].
    step_turns: f64,
    /// Steps of the cycle by which the cam is retarded.
    cam_late: usize,
    inject_step: usize,
    /// Steps by which a phaser lets the inlet close at most earlier.
    earliest_steps: usize,
    /// By step of the cycle, whether a valve of any cylinder opens at its start or may shut, or an injector fires.
    eventful: Vec<bool>,
    exhaust_steps: f64,
    shift_steps: usize,
    swept_all_m3: f64,
}

impl Derived {
    /// Marks the steps at whose start something happens to a cylinder, for the valve events in use.
    fn mark_events(&mut self) {
        let per_cycle = self.gas.per_cycle();
        let (evo, evc, ivc) = self.gas.events();
        self.eventful = vec![false; per_cycle];
        for Lane { after, .. } in &self.lanes {
            let shut = ivc - self.earliest_steps..=ivc;
            for own in [evo, evc, self.inject_step].into_iter().chain(shut) {
                self.eventful[(own + after) % per_cycle] = true;
            }
        }
    }

    /// Level of the cam sensor at a step of the cycle: high during the turn that starts at cylinder 1's firing top
    /// dead centre.
    #[inline]
    fn cam_high(&self, index: usize) -> bool {
        let n = self.gas.per_turn;
        let i = if index >= self.cam_late { index - self.cam_late } else { index + 2 * n - self.cam_late };
        i < n
    }
}

/// Ambient conditions and initial state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Ambient pressure \[Pa\].
    pub ambient_pa: f64,
    /// Ambient temperature \[K\].
    pub ambient_k: f64,
    /// Coolant, oil and metal \[K\].
    pub coolant_k: f64,
    /// Battery charge \[-\].
    pub charge: f64,
    /// Seed of the plant's streams.
    pub seed: u64,
    /// Crank step \[deg\].
    pub step_deg: f64,
}

/// Everything that changes during a run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Simulated time since the plant was built \[s\].
    pub time_s: f64,
    next_tick: u64,
    /// Crank.
    pub crank: crank::State,
    /// Phaser of the inlet camshaft.
    pub phaser: phaser::State,
    /// Cylinders.
    pub cylinders: Vec<cylinder::State>,
    pulses: Vec<exhaust::Pulse>,
    drawn_s: Vec<f64>,
    /// Whether fuel was injected since the last cycle report, by cylinder.
    fed: [bool; MAX_CYLINDERS],
    /// Whether the interrupter box in a coil's wire suppresses the cylinder's next spark.
    swallowed: [bool; MAX_CYLINDERS],
    box_streams: Vec<Stream>,
    /// Air that each cylinder has drawn since its inlet last closed \[kg\].
    drawn_kg: Vec<f64>,
    /// Air.
    pub air: air::State,
    /// Fuel.
    pub fuel: fuel::State,
    /// Vapour over the fuel in the tank.
    pub vapour: vapour::State,
    /// Recirculated exhaust gas.
    pub egr: egr::State,
    /// Exhaust.
    pub exhaust: exhaust::State,
    /// Catalysts.
    pub catalysts: catalyst::State,
    /// Electrics.
    pub electrical: electrical::State,
    /// Heat.
    pub thermal: thermal::State,
    /// Road.
    pub road: road::State,
    sensors: sensors::State,
    wires: wires::State,
    crank_wire_broken: bool,
    frame: SensorFrame,
    /// Parts.
    pub parts: Parts,
    /// Hands.
    pub hands: Hands,
    /// Accounts by cylinder.
    pub accounts: Vec<CycleAccount>,
    /// Sums.
    pub totals: Totals,
    ambient_pa: f64,
    ambient_k: f64,
    /// Slow values kept from tick to tick.
    friction_factor: f64,
    external_nm: f64,
    charge_k: f64,
    /// One over gas constant and temperature of the charge \[kg/J\].
    per_rt: f64,
    wall_k: f64,
    tick_wall_j: f64,
    tick_friction_j: f64,
    /// Metered air and time at the last tick \[kg, s\].
    tick_metered: (f64, f64),
    shift_in: usize,
}

impl State {
    /// How many of each thing there are: the same at any time on a car.
    pub fn lengths(&self) -> Vec<usize> {
        let by_bank = [self.exhaust.banks.len(), self.catalysts.banks.len(), self.wires.length()];
        let by_cylinder =
            [self.cylinders.len(), self.accounts.len(), self.fuel.ports.len(), self.pulses.len()];
        let inner = [self.box_streams.len(), self.drawn_s.len(), self.drawn_kg.len()];
        [&self.parts.lengths()[..], &by_bank, &by_cylinder, &inner].concat()
    }
}

/// Result of one step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stepped {
    /// Tooth edge passed, if any.
    pub edge: Option<ToothEdge>,
    /// The sensors were sampled: see [`Plant::frame`].
    pub sampled: bool,
}

/// The engine and the car around it.
#[derive(Debug, Clone)]
pub struct Plant {
    p: Arc<Params>,
    d: Arc<Derived>,
    /// State; readable by the bench.
    pub s: State,
}

impl Plant {
    /// Builds a stationary engine from checked parameters.
    pub fn new(p: Arc<Params>, start: &Start, parts: Parts) -> Self {
        let offsets = p.layout.offsets_deg();
        let gas = cylinder::Kinematics::new(&p.cylinder, start.step_deg);
        let crank_tables = crank::Tables::new(&p.crank, &p.cylinder, &parts.shaft, &offsets, start.step_deg);
        let n = p.layout.cylinders();
        let (evo, evc, _) = gas.events();
        // an engine comes to rest half-way between two compressions
        let index = (0.25 * 720.0 / n as f64 / start.step_deg).round() as usize * 2;
        let lanes = p.layout.lanes(start.step_deg);
        let cylinders = (0..n)
            .map(|c| {
                let own = lanes[c].own(index);
                let stream = Stream::new(start.seed, &format!("burn.cyl{}", c + 1));
                let sparks = Stream::new(start.seed, &format!("spark.cyl{}", c + 1));
                cylinder::State::at_rest(&gas, own, start.ambient_pa, start.coolant_k, (stream, sparks))
            })
            .collect();
        let mut d = Derived {
            eventful: Vec::new(),
            earliest_steps: p
                .phaser
                .as_ref()
                .map_or(0, |c| (c.most_deg / start.step_deg).ceil() as usize + 1),
            flow: FlowFunction::new(air::GAMMA),
            inject_step: (p.fuel.direct.as_ref().map_or(INJECT_DEG, |d| 720.0 - d.start_btdc_deg)
                / start.step_deg)
                .round() as usize,
            exhaust_steps: (evc - evo) as f64,
            shift_steps: (exhaust::DELAY_PITCH_DEG / start.step_deg).round() as usize,
            swept_all_m3: gas.swept_m3() * n as f64,
            lanes,
            step_turns: start.step_deg / 360.0,
            cam_late: 0,
            gas,
            crank: crank_tables,
        };
        d.mark_events();
        let mut parts = parts;
        (parts.battery.charge, parts.battery.acid_k) = (start.charge, start.ambient_k);
        let s = State {
            time_s: 0.0,
            next_tick: 1,
            crank: crank::State::at_rest(&d.crank, index, start.seed),
            phaser: phaser::State::at_rest(start.seed),
            cylinders,
            pulses: vec![exhaust::Pulse::default(); n],
            drawn_s: vec![0.0; n],
            fed: [false; MAX_CYLINDERS],
            swallowed: [false; MAX_CYLINDERS],
            box_streams: (1..=n).map(|c| Stream::new(start.seed, &format!("box.cyl{c}"))).collect(),
            drawn_kg: vec![0.0; n],
            air: air::State::at_rest(&p.air, start.ambient_pa, start.ambient_k),
            fuel: fuel::State::at_rest(&p.fuel, n),
            vapour: vapour::State::at_rest(p.vapour.as_ref(), start.ambient_k),
            egr: egr::State::at_rest(start.coolant_k),
            exhaust: exhaust::State::at_rest(&p.exhaust, p.layout.bank_count(), start.ambient_pa),
            catalysts: catalyst::State::at_rest(&p.catalyst, p.layout.bank_count(), start.coolant_k),
            electrical: electrical::State::at_rest(&parts.battery),
            thermal: thermal::State::at(start.coolant_k),
            road: road::State::at_rest(start.seed),
            sensors: sensors::State::at_rest(start.seed),
            wires: wires::State::at_rest(start.seed),
            crank_wire_broken: false,
            frame: SensorFrame::default(),
            parts,
            hands: Hands::away(),
            accounts: vec![CycleAccount::default(); n],
            totals: Totals::default(),
            ambient_pa: start.ambient_pa,
            ambient_k: start.ambient_k,
            friction_factor: 1.0,
            external_nm: 0.0,
            charge_k: start.ambient_k,
            per_rt: 1.0 / (R_AIR * start.ambient_k),
            wall_k: start.coolant_k,
            tick_wall_j: 0.0,
            tick_friction_j: 0.0,
            tick_metered: (0.0, 0.0),
            shift_in: 0,
        };
        let mut plant = Self { p, d: Arc::new(d), s };
        plant.wheel_fitted();
        plant.look();
        plant
    }

    /// Samples a stationary engine again, after its initial state was set by hand.
    pub fn look(&mut self) {
        self.tick(&ActuatorFrame::default(), TICK_S);
    }
    /// Call after parts were changed with the engine stopped: updates the valve events and the sensed edge positions.
    pub fn parts_fitted(&mut self) {
        self.rederive();
        self.wheel_fitted();
        self.s.electrical.refit(&self.s.parts.battery);
        if let Some(p) = &self.p.egr {
            self.s.egr.fitted(p, &self.s.parts.egr_valve);
        }
    }
    /// Recomputes what is derived from the fitted parts; the state is unchanged.
    pub fn rederive(&mut self) {
        let late_deg = self.s.parts.cam_drive.late_deg(self.p.crank.cam_tooth_deg);
        let step_deg = self.d.gas.step_deg;
        let gas = cylinder::Kinematics::with_cam(&self.p.cylinder, step_deg, late_deg);
        let (evo, evc, _) = gas.events();
        let d = Arc::make_mut(&mut self.d);
        d.exhaust_steps = (evc - evo) as f64;
        d.cam_late = (late_deg / step_deg).round().rem_euclid(gas.per_cycle() as f64) as usize;
        d.gas = gas;
        d.mark_events();
        self.inlet_turned();
    }
    fn wheel_fitted(&mut self) {
        let Self { p, d, s } = self;
        let sensor = &s.parts.crank_sensor;
        let off_deg = parts::edges_deg(&s.parts.wheel, sensor, p.crank.wheel_radius_mm);
        // a wider gap means a weaker, noisier signal; twice is assumed
        let jitter = p.crank.edge_jitter_deg * if sensor.bent { 2.0 } else { 1.0 };
        s.crank.fit(&d.crank, &off_deg, jitter);
    }
    /// Offset of the fitted throttle body's closed stop from nominal, as its sensor sees it \[deg\].
    pub fn stop_deg(&self) -> f64 {
        self.p.air.stop_of_deg(&self.s.parts.throttle)
    }

    /// Parameters.
    pub fn params(&self) -> &Params {
        &self.p
    }
    /// The last sample of the pins.
    pub fn frame(&self) -> &SensorFrame {
        &self.s.frame
    }
    /// Combustion properties of the fuel at the injectors.
    pub fn fuel_heat(&self) -> cylinder::FuelHeat {
        self.s.fuel.heat
    }
    /// Swept volume of all cylinders \[m³\].
    pub fn swept_m3(&self) -> f64 {
        self.d.swept_all_m3
    }
    /// Whether the crank is turning.
    pub fn turning(&self) -> bool {
        self.s.crank.omega > 0.0
    }
    /// Engine speed \[rpm\].
    pub fn speed_rpm(&self) -> f64 {
        rpm(self.s.crank.omega)
    }
    /// Advances one step of angle, or of time when nearly stopped, in the order given in the module documentation.
    #[inline]
    pub fn step(&mut self, drive: &ActuatorFrame) -> Stepped {
        if self.s.crank.omega <= crank::SLOW_RAD_S { self.time_step(drive) } else { self.angle_step(drive) }
    }

    /// 1: every cylinder over one angle step. Returns the work less the crankcase's share \[J\] and the air drawn
    /// \[kg\].
    #[inline]
    fn gas_step(&mut self, drive: &ActuatorFrame, dt_s: f64, omega: f64) -> (f64, f64) {
        let mut drawn = 0.0;
        if self.d.eventful[self.s.crank.index] {
            drawn += self.cylinder_events(drive, dt_s, omega);
        }
        let Self { p, d, s } = self;
        let air = cylinder::IntakeAir::new(&p.cylinder, omega, s.air.manifold_pa, s.per_rt);
        let (mut work, mut wall) = (0.0, 0.0);
        let (index, ambient_pa) = (s.crank.index, s.ambient_pa);
        // slices of one length, so that an index is checked once and not for each of them
        let n = s.cylinders.len();
        let (cylinders, lanes) = (&mut s.cylinders[..n], &d.lanes[..n]);
        let (pulses, drawn_kg, seals) = (&s.pulses[..n], &mut s.drawn_kg[..n], &s.parts.seals[..n]);
        for c in 0..n {
            let (gas, lane) = (&mut cylinders[c], &lanes[c]);
            let (i, bank) = (lane.own(index), &mut s.exhaust.banks[lane.bank]);
            let row = d.gas.row(i);
            let out = match gas.phase {
                cylinder::Phase::Closed => {
                    if gas.awaits_spark() {
                        let fires = s.hands.plugs.coils[c] && !s.swallowed[c];
                        let spark_deg = if fires { drive.spark_deg[c] } else { None };
                        // what the coil can do matters in the one step in which the spark falls
                        if gas.spark_falls(&d.gas, row, spark_deg) {
                            let full_kv = p.ignition.reached_kv(1.0, s.electrical.supply_v);
                            let coil = cylinder::Coil {
                                spark_deg,
                                spark_kv: full_kv * s.parts.coils[c].strength,
                                gap_mm: s.parts.plugs[c].gap_mm,
                                spread: p.ignition.spread,
                            };
                            gas.spark(&p.cylinder, &d.gas, row, (omega, s.fuel.heat), &coil);
                        }
                    }
                    let out = gas.closed_step(&d.gas, row, dt_s);
                    if seals[c].leak() {
                        let leaks = cylinder::Leaks {
                            seals: seals[c],
                            exhaust_pa: bank.pressure_pa,
                            crankcase_pa: ambient_pa,
                        };
                        gas.slip(&d.gas, row, dt_s, &leaks);
                    }
                    gas.mark_peak();
                    wall += out.wall_j;
                    out
                }
                cylinder::Phase::Exhaust => {
                    let out = gas.exhaust_step(&d.gas, row, bank.pressure_pa);
                    bank.take(&pulses[c]);
                    out
                }
                cylinder::Phase::Intake => {
                    let out = gas.intake_step(&d.gas, i, row, &air);
                    drawn += out.drawn_kg;
                    drawn_kg[c] += out.drawn_kg;
                    out
                }
            };
            // crankcase pressure acts on the underside of the piston
            work += out.work_j - ambient_pa * out.grown_m3;
        }
        s.totals.gas_work_j += work;
        s.totals.wall_j += wall;
        s.totals.drawn_kg += drawn;
        s.tick_wall_j += wall;
        s.shift_in += 1;
        if s.shift_in >= d.shift_steps {
            s.shift_in = 0;
            s.exhaust.shift(s.fuel.heat.afr);
        }
        (work, drawn)
    }

    /// What happens to cylinders at the start of this step: a valve opens or shuts, an injector fires. Returns the air
    /// drawn meanwhile \[kg\].
    fn cylinder_events(&mut self, drive: &ActuatorFrame, dt_s: f64, omega: f64) -> f64 {
        let Self { p, d, s } = self;
        let (fuel, index) = (s.fuel.heat, s.crank.index);
        let mut around = cylinder::Surroundings {
            dt_s,
            omega,
            manifold_pa: s.air.manifold_pa,
            charge_k: s.charge_k,
            exhaust_pa: s.ambient_pa,
            wall_k: s.wall_k,
            spark_deg: None,
            own: cylinder::Own::default(),
            fuel,
        };
        let mut all_drawn_kg = 0.0;
        for (c, gas) in s.cylinders.iter_mut().enumerate() {
            let Lane { bank, .. } = d.lanes[c];
            let i = d.lanes[c].own(index);
            if i != d.inject_step && !gas.has_event(&d.gas, i) {
                continue;
            }
            around.exhaust_pa = s.exhaust.banks[bank].pressure_pa;
            let mut port = cylinder::Charge::default();
            if i == gas.shuts(&d.gas) {
                let drawn_kg = std::mem::take(&mut s.drawn_kg[c]);
                let since_s = s.time_s - s.drawn_s[c];
                port.fuel = s.fuel.draw(c, since_s, s.air.manifold_pa) + s.air.take_vapour(drawn_kg);
                s.air.take_burned(drawn_kg, &mut port);
                let drop_pa = s.fuel.rail_pa + s.ambient_pa - s.air.manifold_pa;
                let dripped_kg =
                    s.fuel.flows * fuel::dripped_kg(&p.fuel, &s.parts.injectors[c], since_s, drop_pa);
                port.fuel += dripped_kg;
                s.totals.injected_kg += dripped_kg;
                s.drawn_s[c] = s.time_s;
                let swallows = s.hands.interrupted[c];
                s.swallowed[c] = swallows > 0.0 && s.box_streams[c].uniform() < swallows;
            } else if i == d.inject_step && drive.inject_us[c] > 0.0 && s.hands.plugs.injectors[c] {
                // during the intake stroke the cylinder, too, is at about manifold pressure
                let drive = (drive.inject_us[c], s.electrical.supply_v);
                let outside = (s.ambient_pa, s.air.manifold_pa);
                let kg = s.fuel.given_kg(&p.fuel, &s.parts.injectors[c], drive, outside);
                s.fuel.inject(c, kg);
                s.fed[c] = true;
                s.totals.injected_kg += kg;
            }
            let cylinder::AtStart { drawn_kg, opened } =
                gas.event(&p.cylinder, &d.gas, i, &around, &mut port);
            all_drawn_kg += drawn_kg;
            s.drawn_kg[c] += drawn_kg;
            let Some(cylinder::Opened { report, gone, heat_j }) = opened else { continue };
            s.accounts[c].add(&report, std::mem::take(&mut s.fed[c]));
            let [by_valves, by_rings] = gas.take_slipped();
            let air_kg = gone.air_in(fuel.afr) + by_valves.air_in(fuel.afr);
            let fuel_kg = gone.fuel_in(fuel.afr) + by_valves.fuel_in(fuel.afr);
            s.totals.rings_air_kg += by_rings.air_in(fuel.afr);
            s.totals.rings_fuel_kg += by_rings.fuel_in(fuel.afr);
            s.totals.exhaust_air_kg += air_kg;
            s.totals.exhaust_fuel_kg += fuel_kg;
            s.totals.unburned_kg += gone.fuel;
            s.totals.open_wall_j += report.open_wall_j;
            s.tick_wall_j += report.open_wall_j;
            // what is recirculated branches off ahead of sensor and catalyst
            let on = if bank == 0 { 1.0 - s.egr.share } else { 1.0 };
            s.catalysts.take(bank, &gone.times(on), &by_valves.times(on), on * heat_j, &fuel);
            let raw_kg = catalyst::late_kg(&gone, fuel.afr).1 + by_valves.fuel;
            let mass_kg = gone.mass() / d.exhaust_steps;
            s.pulses[c] = exhaust::Pulse {
                mass_kg,
                displaces: mass_kg / (p.exhaust.mixing_g * 1e-3),
                air_kg: air_kg / d.exhaust_steps,
                fuel_kg: fuel_kg / d.exhaust_steps,
                raw_kg: raw_kg / d.exhaust_steps,
            };
        }
        all_drawn_kg
    }

    #[inline]
    fn angle_step(&mut self, drive: &ActuatorFrame) -> Stepped {
        let w0 = self.s.crank.omega;
        let step_rad = self.d.crank.step_rad();
        let (gas_work, drawn) = self.gas_step(drive, step_rad / w0, w0);
        let per_cycle = self.d.gas.per_cycle();
        let Self { p, d, s } = self;
        let friction_j =
            self::crank::friction_torque_nm(d.crank.friction_pa(w0) * s.friction_factor, d.swept_all_m3)
                * step_rad;
        let load_j = s.external_nm * step_rad;
        let mut work = gas_work - friction_j - load_j;
        if s.parts.pulley.ripple_nm != 0.0 && s.hands.plugs.belt {
            // once per turn, so that the net work over a turn is zero
            let deg = s.crank.index as f64 * d.gas.step_deg;
            work -= s.parts.pulley.ripple_nm * num::sin_deg(deg) * step_rad;
        }
        if drive.starter && s.hands.plugs.battery {
            let starter_j = p.crank.starter_torque_nm(w0, s.electrical.starter_v) * step_rad;
            s.totals.starter_j += starter_j;
            work += starter_j;
        }
        s.totals.friction_j += friction_j;
        s.totals.load_j += load_j;
        s.tick_friction_j += friction_j;
        // 2
        let w1 = s.crank.speed_after(&d.crank, work).unwrap_or(crank::SLOW_RAD_S);
        let dt = 2.0 * step_rad / (w0 + w1);
        // 3
        s.air.step(&d.flow, drawn, dt, &mut s.totals);
        // 4
        let start = s.time_s;
        let tooth = s.crank.edge_in_step(&d.crank, (start, dt), (w0, w1));
        let edge = s.sensed_edge(p, d, (start, dt), (w0, w1), tooth);
        let edge = if s.hands.plugs.crank && !s.crank_wire_broken { edge } else { None };
        s.crank.turn_on(per_cycle);
        s.crank.omega = w1;
        s.totals.turns += d.step_turns;
        // 5
        s.time_s += dt;
        let sampled = self.tick_if_due(drive);
        Stepped { edge, sampled }
    }

    fn time_step(&mut self, drive: &ActuatorFrame) -> Stepped {
        let starter = drive.starter && self.s.hands.plugs.battery;
        let still = self.s.crank.omega <= 0.0 && !starter;
        let dt = if still { TICK_S } else { 0.002 };
        let step_rad = self.d.crank.step_rad();
        let per_cycle = self.d.gas.per_cycle();
        let start = self.s.time_s;
        let w0 = self.s.crank.omega;
        let mut edge = None;
        let mut drawn = 0.0;
        if !still {
            let Self { p, d, s } = self;
            let mut torque = 0.0;
            for (c, gas) in s.cylinders.iter().enumerate() {
                let i = d.lanes[c].own(s.crank.index);
                let (v0, v1) = (d.gas.volume_m3(i), d.gas.volume_m3(i + 1));
                torque += (gas.p_pa - s.ambient_pa) * (v1 - v0) / step_rad;
            }
            if starter {
                torque += p.crank.starter_torque_nm(w0, s.electrical.starter_v);
            }
            let resist =
                crank::friction_torque_nm(d.crank.friction_pa(w0) * s.friction_factor, d.swept_all_m3);
            let inertia = d.crank.inertia[s.crank.index % d.gas.per_turn];
            s.crank.omega = (w0 + (torque - resist) / inertia * dt).max(0.0);
            s.tick_friction_j += resist * w0 * dt;
            s.crank.share += 0.5 * (w0 + s.crank.omega) * dt / step_rad;
            s.crank.in_step_s += dt;
            while self.s.crank.share >= 1.0 {
                let w = self.s.crank.omega.max(0.5);
                let (_, d_kg) = self.gas_step(drive, self.s.crank.in_step_s, w);
                drawn += d_kg;
                let Self { p, d, s } = self;
                let tooth = s.crank.edge_in_step(&d.crank, (start, dt), (w, w));
                edge = s.sensed_edge(p, d, (start, dt), (w, w), tooth).or(edge);
                s.crank.turn_on(per_cycle);
                s.crank.share -= 1.0;
                s.crank.in_step_s = 0.0;
                s.totals.turns += d.step_turns;
            }
            if self.s.crank.omega > crank::SLOW_RAD_S {
                self.s.crank.share = 0.0;
            }
        }
        let Self { d, s, .. } = self;
        if !s.hands.plugs.crank || s.crank_wire_broken {
            edge = None;
        }
        let leak = num::lag_share(dt, 1.5);
        for (c, gas) in s.cylinders.iter_mut().enumerate() {
            let i = d.lanes[c].own(s.crank.index);
            gas.relax(leak, s.ambient_pa, s.wall_k, d.gas.volume_m3(i));
        }
        s.air.step(&d.flow, drawn, dt, &mut s.totals);
        s.time_s += dt;
        let sampled = self.tick_if_due(drive);
        Stepped { edge, sampled }
    }

    /// A long step \[s\] of a parked car that sleeps: nothing turns or flows; only the slow states advance.
    pub fn rest(&mut self, drive: &ActuatorFrame, dt: f64) {
        let Self { d, s, .. } = self;
        for (c, gas) in s.cylinders.iter_mut().enumerate() {
            let i = d.lanes[c].own(s.crank.index);
            gas.relax(num::lag_share(dt, 1.5), s.ambient_pa, s.wall_k, d.gas.volume_m3(i));
        }
        s.time_s += dt;
        s.next_tick = (s.time_s / TICK_S) as u64 + 1;
        self.tick(drive, dt);
    }

    /// Advances to a time \[s\] with the electrics alone, from the conditions around the battery and a set-point
    /// \[V\]: updates the battery and its sensors' pins; heat and gas are unchanged.
    pub fn carry_on(&mut self, to_s: f64, round: &electrical::Round, set_v: f64) {
        let Self { p, s, .. } = self;
        let dt = to_s - s.time_s;
        s.time_s = to_s;
        s.next_tick = (to_s / TICK_S) as u64 + 1;
        s.electrical.carry(&mut s.parts.battery, round, &s.hands.at_posts(), set_v, dt);
        let f = &mut s.frame;
        f.tick = (to_s * TICKS_PER_S).round() as u64;
        f.supply_v = s.electrical.supply_v;
        f.battery_sense_v = 2.5 + p.sensors.battery_sense_v_a * s.electrical.sensed_a;
        f.battery_temp_v = p.sensors.battery_temp_v.at(celsius(s.parts.battery.acid_k));
    }

    #[inline]
    fn tick_if_due(&mut self, drive: &ActuatorFrame) -> bool {
        // signed, since processors convert signed integers to floats faster
        if self.s.time_s < self.s.next_tick as i64 as f64 * TICK_S {
            return false;
        }
        self.s.next_tick = (self.s.time_s / TICK_S) as u64 + 1;
        self.tick(drive, TICK_S);
        true
    }

    /// 5: the slow part, every 10 ms.
    fn tick(&mut self, drive: &ActuatorFrame, dt: f64) {
        let now = self.now(drive);
        self.camshaft(drive, &now, dt);
        self.plate_and_filter(drive, &now, dt);
        self.recirculate_gas(drive, &now, dt);
        self.tank_vapour(drive, &now, dt);
        self.fuel_pressure(drive, &now, dt);
        self.exhaust_and_catalysts(dt);
        self.electrics(drive, &now, dt);
        self.heat(drive, &now, dt);
        self.road_and_loads(drive, &now, dt);
        self.wear(&now, dt);
        self.sample(drive, &now, dt);
    }

    /// Temperature of the charge on its way into the cylinders \[K\], for checks.
    pub fn charge_k(&self) -> f64 {
        self.s.charge_k
    }
    /// Ambient \[Pa, K\].
    pub fn ambient(&self) -> (f64, f64) {
        (self.s.ambient_pa, self.s.ambient_k)
    }
    /// Moves the car to a place with another ambient pressure \[Pa\].
    pub fn carry_to(&mut self, ambient_pa: f64) {
        self.s.ambient_pa = ambient_pa;
    }
    /// Coolant \[°C\].
    pub fn coolant_c(&self) -> f64 {
        celsius(self.s.thermal.coolant_k)
    }
    /// Charges the battery to a share of its present capacity and lets it rest, before a run.
    pub fn charge_battery(&mut self, share: f64) {
        let battery = &mut self.s.parts.battery;
        (battery.charge, battery.polarisation_v) = (share, 0.0);
        self.s.electrical.refit(battery);
    }
    /// Sets metal, coolant and oil \[°C\], before a run.
    pub fn set_coolant_c(&mut self, c: f64) {
        self.s.thermal = thermal::State::at(kelvin(c));
    }
}
