//! Hands: what each action does to the car, and what prevents it.
//!
//! *Inside*: switches and pedals, connectors, parts fitted and exchanged, faults that are set. *Outside*: the logbook and
//! whose hand it is (`mod`), what a part does (`shelf`), driving, resting and measuring (files of their own).

use super::{Bench, Done, drive, shelf};
use crate::bench::action::{Action, Connector, Gear, Key, Load, PartChoice, PartKind};
use crate::bench::facts::{Hindrance, place};
use crate::ecm::Ecm;
use crate::link::DiagRequest;
use crate::plant::electrical::Charger;
use crate::plant::parts::serial_from_seed;

/// Whether the action could be carried out, or what prevented it.
type Tried = Result<(), Hindrance>;

/// The car is not driven away from a charger, and a battery lead that comes off under current draws a spark beside the gas
/// of the battery.
fn is_barred_by_a_charger(action: &Action) -> bool {
    matches!(
        action,
        Action::Gear(Gear::Drive)
            | Action::Drive { .. }
            | Action::DriveOn(_)
            | Action::Connector(Connector::Battery, _)
            | Action::Fit(PartChoice { kind: PartKind::Battery, .. })
    )
}

impl Bench {
    /// Carries out an action, whoever's hand it is.
    pub(super) fn hand_moves(&mut self, action: Action) -> Done {
        match action {
            Action::CopyInjectorCode { cylinder, body } => self.copy_code(cylinder, body),
            Action::Ask(request) => Done::Answer(self.ask(&request)),
            Action::Measure(tool) => self.measure("", tool),
            other => match self.try_hand(other) {
                Ok(()) => Done::Yes,
                Err(why) => Done::Hindered(why),
            },
        }
    }

    /// Carries out an action that is either done or hindered and returns no answer.
    fn try_hand(&mut self, action: Action) -> Tried {
        let turning = self.plant.turning();
        let h = &mut self.plant.s.hands;
        match action {
            _ if h.charger.most_a > 0.0 && is_barred_by_a_charger(&action) => {
                return Err(Hindrance::ChargerConnected);
            }
            Action::Key(key) => {
                (h.key_on, h.key_crank) = (key != Key::Off, key == Key::Crank);
                self.cranking_since_s = (key == Key::Crank).then_some(self.plant.s.time_s);
            }
            Action::Pedal(pct) => h.pedal_pct = pct.clamp(0.0, 100.0),
            Action::Brake(on) => h.brake_pct = if on { drive::BRAKE_PCT } else { 0.0 },
            Action::Gear(Gear::Park) if self.plant.s.road.speed_m_s > 1.0 => return Err(Hindrance::Moving),
            Action::Gear(g) => h.drive = g == Gear::Drive,
            Action::Load(Load::Compressor, on) => h.compressor = on,
            Action::Load(Load::HeatedGlass, on) => h.heated_glass = on,
            Action::Load(Load::Lamps, on) => h.lamps = on,
            Action::Load(Load::Steering, on) => h.steering = on,
            Action::Load(Load::Blower, on) => h.blower = on,
            Action::Connector(c, is_in) => return self.plug(c, is_in),
            Action::Fit(_) | Action::CleanThrottle | Action::SwapInjectors(..) | Action::Refuel(_)
                if turning =>
            {
                return Err(Hindrance::EngineTurns);
            }
            Action::CleanThrottle if h.key_on => return Err(Hindrance::ThrottlePowered),
            // under voltage a coil, a pump or a plate can start by itself
            Action::Fit(_) | Action::SwapInjectors(..) if h.key_on => return Err(Hindrance::KeyOn),
            Action::Fit(choice) => return self.fit(&choice),
            Action::CleanThrottle => self.plant.s.parts.throttle.deposit_um = 0.0,
            Action::SwapInjectors(a, b) => {
                let (a, b) = (self.cylinder(a)?, self.cylinder(b)?);
                self.plant.s.parts.injectors.swap(a, b);
            }
            Action::Refuel(litres) => {
                let (fuel, own) = (self.setup.fuel, self.car.plant.fuel.alcohol_pct);
                let sold_pct = fuel.station_pct.or(fuel.alcohol_pct).unwrap_or(own);
                self.plant.s.air.refuel(&self.car.plant.air, litres.max(0.0));
                self.plant.s.fuel.refuel(&self.car.plant.fuel, litres, sold_pct);
            }
            Action::Interrupt(k, pct) => {
                let c = self.cylinder(k)?;
                self.plant.s.hands.interrupted[c] = (pct / 100.0).clamp(0.0, 1.0);
            }
            Action::Leak(mm2) => h.leak_mm2 = mm2.max(0.0),
            Action::ExhaustLeak(mm2) => h.exhaust_leak_mm2 = mm2.max(0.0),
            Action::Sensor(sensor, ill) => h.ills[sensor.index()] = ill,
            Action::Accessory { .. } | Action::Charger { .. } if turning => {
                return Err(Hindrance::EngineTurns);
            }
            Action::Charger { amps, past_sensor } => {
                h.charger = Charger { most_a: amps.clamp(0.0, 50.0), past_sensor: past_sensor && amps > 0.0 };
            }
            Action::Accessory { amps, past_sensor } => {
                let amps = amps.clamp(0.0, 30.0);
                (h.past_sensor_a, h.accessory_a) = if past_sensor { (amps, 0.0) } else { (0.0, amps) };
            }
            Action::DriveOn(life) => return self.begin_life(life),
            Action::Rest(hours) => return self.begin_rest(hours),
            Action::Drive { pattern, minutes } => {
                return self.begin_drive(pattern, 0.0, 60.0 * minutes, false);
            }
            Action::Hold { rpm, nm } => return self.begin_hold(rpm, nm),
            Action::CopyInjectorCode { .. }
            | Action::Ask(_)
            | Action::Measure(_)
            | Action::Watch(_)
            | Action::Note(_)
            | Action::Wait => {}
        }
        Ok(())
    }

    fn cylinder(&self, k: u8) -> Result<usize, Hindrance> {
        place(self.cylinders(), k)
    }

    /// Plugs a connector in or unplugs it.
    fn plug(&mut self, connector: Connector, is_in: bool) -> Tried {
        self.car.has().connector(connector)?;
        let cylinder = match connector {
            Connector::Belt if self.plant.turning() => return Err(Hindrance::EngineTurns),
            Connector::Injector(k) | Connector::Coil(k) => self.cylinder(k)?,
            _ => 0,
        };
        let p = &mut self.plant.s.hands.plugs;
        let plug = match connector {
            Connector::AirMeter => &mut p.air_meter,
            Connector::ManifoldPressure => &mut p.map,
            Connector::ThrottleBody => &mut p.throttle,
            Connector::CoolantSensor => &mut p.coolant,
            Connector::OxygenSensor1 => &mut p.lambda[0],
            Connector::OxygenSensor2 => &mut p.lambda[1],
            Connector::RearOxygenSensor1 => &mut p.rear[0],
            Connector::RearOxygenSensor2 => &mut p.rear[1],
            Connector::CrankSensor => &mut p.crank,
            Connector::Battery => &mut p.battery,
            Connector::PurgeValve => &mut p.purge_valve,
            Connector::PurgeHose => &mut p.purge_hose,
            Connector::FuelCap => &mut p.fuel_cap,
            Connector::CamValve => &mut p.cam_valve,
            Connector::EgrValve => &mut p.egr_valve,
            Connector::Fan => &mut p.fan,
            Connector::Alternator => &mut p.alternator,
            Connector::Pedal => &mut p.pedal,
            Connector::Belt => &mut p.belt,
            Connector::Injector(_) => &mut p.injectors[cylinder],
            Connector::Coil(_) => &mut p.coils[cylinder],
        };
        *plug = is_in;
        Ok(())
    }

    /// Fits a part from the shelf, with the key off.
    fn fit(&mut self, choice: &PartChoice) -> Tried {
        self.car.has().part(choice.kind)?;
        match choice.kind {
            // an alternator's main terminal is live as long as the battery is connected, key or no key
            PartKind::Battery | PartKind::Alternator if self.plant.s.hands.plugs.battery => {
                return Err(Hindrance::ClampOn);
            }
            PartKind::Module => {
                let profile = self.setup.memory_profile.as_deref();
                self.ecm = Ecm::new(self.car.ecm.clone(), None, profile)
                    .map_err(|why| Hindrance::NoModule(why.key))?;
                self.fitted += 1;
                return Ok(());
            }
            _ => {}
        }
        let (seed, k) = (self.setup.seed, self.fitted + 1);
        let serial = || serial_from_seed(seed, &format!("shelf.{k}"));
        let s = &mut self.plant.s;
        let nominal = (&self.car.plant.spread, self.car.plant.ignition.gap_mm);
        shelf::put(&mut s.parts, &mut s.hands, nominal, choice, serial)?;
        self.fitted = k;
        self.plant.parts_fitted();
        Ok(())
    }

    /// Enters the code printed on the injector of one cylinder (`body`) into the module, for `cylinder`.
    fn copy_code(&mut self, cylinder: u8, body: u8) -> Done {
        let place = match self.cylinder(body) {
            Ok(place) => place,
            Err(why) => return Done::Hindered(why),
        };
        match self.plant.s.parts.injectors[place].code.clone() {
            Some(code) => Done::Answer(self.ask(&DiagRequest::WriteInjectorCode { cylinder, code })),
            None => Done::Hindered(Hindrance::NoCodePrinted),
        }
    }
}
