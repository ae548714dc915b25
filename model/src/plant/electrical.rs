//! Alternator, electrical loads and the voltage at the battery's posts.
//!
//! **Models** an alternator whose regulator holds a set-point within the output available at its speed and limits the
//! rise of its current as commanded; its torque from power and efficiency; loads switched by people and by the
//! module, the quiescent current of the sleeping car, accessories wired straight to the posts; a battery charger; the
//! current that the sensor at the earth lead sees.
//!
//! **Leaves out** resistance of leads and earth, rectifier ripple.
//!
//! **State** ([`State`]): alternator current \[A\], supply \[V\], the battery's values at its last update.
//!
//! **Equations**
//! 1. `V = E + v + R (I_alt + I_charger − I_load)`, the battery's own: [`crate::plant::battery`].
//! 2. `M = V I/(η ω)`.
//! 3. starter: `I = (I_held/12 V)(V_starter − V_back)`, with V_starter at its end of the leads; its torque is
//!    proportional to that current.
//! 4. charger: its highest current up to its voltage, then the current that holds that voltage, never less than none.
//!
//! **Valid** for 9 to 16 V; below 9 V the loads draw current in proportion to voltage.
//!
//! **Checked by** `holds_charge…` in `tests/model/balances.rs`, `tests/model/battery.rs`.

use crate::label::BatteryLabel;
use crate::num::Table;
use crate::plant::battery::Battery;
use crate::units::{ParamError, between};
use serde::{Deserialize, Serialize};

/// The `[electrical]` section of a car's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Params {
    /// Battery fitted when the car was built.
    pub battery: BatteryLabel,
    /// Temperature around the battery, as a share of the way from ambient to coolant temperature \[-\].
    pub bonnet_share: f64,
    /// Quiescent current while everything sleeps: clock, alarm, memories \[A\].
    pub asleep_a: f64,
    /// Resistance of both starter leads with their contacts \[mΩ\].
    pub starter_leads_mohm: f64,
    /// Alternator current \[A\] over engine speed \[rpm\].
    pub alternator_a: Table,
    /// Efficiency of alternator and belt \[-\].
    pub alternator_efficiency: f64,
    /// Current with the key on: module, sensors \[A\].
    pub key_on_a: f64,
    /// Additional current with the engine running: ignition, pump, injectors \[A\].
    pub running_a: f64,
    /// Lamps \[A\].
    pub lamps_a: f64,
    /// Heated glass \[A\].
    pub heated_glass_a: f64,
    /// Cabin blower \[A\].
    pub blower_a: f64,
    /// Radiator fan \[A\].
    pub fan_a: f64,
    /// Compressor clutch \[A\].
    pub clutch_a: f64,
    /// Compressor torque at the crank \[N m\].
    pub compressor_nm: f64,
    /// Steering pump torque at the crank, wheel turned at standstill \[N m\].
    pub steering_nm: f64,
    /// Water pump and belts, in addition to the friction correlation \[N m\].
    pub belt_nm: f64,
}

impl Params {
    /// Checks every value.
    pub fn check(&self) -> Result<(), ParamError> {
        let s = "electrical";
        self.battery.check("electrical.battery")?;
        between(s, "bonnet_share", self.bonnet_share, 0.0, 1.0)?;
        between(s, "asleep_a", self.asleep_a, 0.0, 2.0)?;
        between(s, "starter_leads_mohm", self.starter_leads_mohm, 0.0, 20.0)?;
        for p in self.alternator_a.points() {
            between(s, "alternator_a", p[1], 0.0, 500.0)?;
        }
        between(s, "alternator_efficiency", self.alternator_efficiency, 0.3, 0.9)?;
        for (key, v) in [
            ("key_on_a", self.key_on_a),
            ("running_a", self.running_a),
            ("lamps_a", self.lamps_a),
            ("heated_glass_a", self.heated_glass_a),
            ("blower_a", self.blower_a),
            ("fan_a", self.fan_a),
            ("clutch_a", self.clutch_a),
        ] {
            between(s, key, v, 0.0, 60.0)?;
        }
        between(s, "compressor_nm", self.compressor_nm, 0.0, 30.0)?;
        between(s, "steering_nm", self.steering_nm, 0.0, 30.0)?;
        between(s, "belt_nm", self.belt_nm, 0.0, 10.0)
    }
}

/// A battery charger, also the supply that holds the voltage up while the key is on and the engine off.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Charger {
    /// Highest current \[A\]; 0 without a charger.
    pub most_a: f64,
    /// Both its clamps are on the battery's posts: its current bypasses the current sensor. Otherwise its negative clamp is
    /// on the engine's earth.
    pub past_sensor: bool,
}

impl Charger {
    /// Voltage that it holds \[V\]: bulk charge of lead-acid at 25 °C, 2.4 V a cell, common practice.
    pub const HOLDS_V: f64 = 14.4;

    /// (4) Its current \[A\] beside other net current into the battery, by the voltage behind the resistance of the battery.
    fn amps(&self, other_a: f64, behind_v: f64, ohm: f64) -> f64 {
        ((Self::HOLDS_V - behind_v) / ohm - other_a).clamp(0.0, self.most_a)
    }
}

/// What is connected to the battery's posts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AtPosts {
    /// The car's own clamp.
    pub clamp: bool,
    /// Current of an accessory wired straight to the battery's posts \[A\]: it bypasses the current sensor.
    pub past_sensor_a: f64,
    /// A charger.
    pub charger: Charger,
}

/// State of the switched loads.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Switched {
    /// What is connected to the battery's posts.
    pub posts: AtPosts,
    /// Key on.
    pub key_on: bool,
    /// Pump relay closed (stands for the running loads).
    pub running: bool,
    /// Lamps.
    pub lamps: bool,
    /// Heated glass.
    pub heated_glass: bool,
    /// Cabin blower.
    pub blower: bool,
    /// Fan.
    pub fan: bool,
    /// Compressor clutch.
    pub clutch: bool,
    /// Starter engaged.
    pub starter: bool,
    /// Current of an accessory wired correctly, through the sensor \[A\].
    pub accessory_a: f64,
}

/// What the module asks of the alternator's regulator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alternator {
    /// Set-point \[V\].
    pub set_v: f64,
    /// Fastest rise of current \[A/s\].
    pub rise_a_s: f64,
    /// Output over that of a good alternator \[-\].
    pub share: f64,
}

/// Electrical conditions around the battery: enough to simulate the electrics alone, without the engine.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Round {
    /// Current that the switched loads would draw at full supply, accessories at the posts included \[A\].
    pub load_a: f64,
    /// Starter current \[A\].
    pub starter_a: f64,
    /// Current that the alternator could deliver \[A\].
    pub most_a: f64,
    /// Fastest rise of its current \[A/s\].
    pub rise_a_s: f64,
    /// Air around the battery \[K\].
    pub around_k: f64,
}

impl Round {
    /// Adds another set, weighted by its duration \[s\], for a mean.
    pub fn add(&mut self, other: &Self, dt_s: f64) {
        self.load_a += other.load_a * dt_s;
        self.starter_a += other.starter_a * dt_s;
        self.most_a += other.most_a * dt_s;
        self.rise_a_s += other.rise_a_s * dt_s;
        self.around_k += other.around_k * dt_s;
    }
    /// Mean of what was added over a total duration \[s\].
    pub fn over(&self, for_s: f64) -> Self {
        Self {
            load_a: self.load_a / for_s,
            starter_a: self.starter_a / for_s,
            most_a: self.most_a / for_s,
            rise_a_s: self.rise_a_s / for_s,
            around_k: self.around_k / for_s,
        }
    }
}

/// The starter as an electrical load.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Starter {
    /// Current at 12 V with the rotor locked \[A\]; zero where the starter is not engaged.
    pub held_a: f64,
    /// Back-EMF at its present speed \[V\].
    pub back_v: f64,
}

/// Sums since the car was built, for balances.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Sums {
    /// Charge into the battery \[A s\].
    pub battery_as: f64,
    /// Energy delivered by the alternator \[J\].
    pub alternator_j: f64,
    /// Energy delivered by a charger \[J\].
    pub charger_j: f64,
    /// Energy that loads drew \[J\].
    pub load_j: f64,
    /// Energy into the battery at its posts \[J\].
    pub battery_j: f64,
}

/// Supply at which the starter's figures are given \[V\].
const STARTER_V: f64 = 12.0;
/// Supply below which the loads draw current in proportion to voltage \[V\].
const FADES_V: f64 = 9.0;
/// Update interval of the battery \[s\]: its own states are slow.
const LOOK_S: f64 = 0.1;
/// Longest step with a charger \[s\], which follows the battery's voltage.
const CHARGING_S: f64 = 1.0;

/// State of the electrical system.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Alternator current \[A\].
    pub alternator_a: f64,
    /// Charger current \[A\].
    pub charger_a: f64,
    /// Supply \[V\].
    pub supply_v: f64,
    /// Voltage at the starter \[V\].
    pub starter_v: f64,
    /// Field duty \[-\].
    pub duty: f64,
    /// Battery current, positive charges \[A\].
    pub battery_a: f64,
    /// Current that the sensor at the earth lead sees \[A\].
    pub sensed_a: f64,
    /// Torque of the alternator \[N m\].
    pub torque_nm: f64,
    /// Electrical conditions around the battery at the last tick.
    pub round: Round,
    /// Sums.
    pub sums: Sums,
    /// Battery voltage behind its resistance \[V\], and that resistance \[Ω\], at the last update.
    behind_v: f64,
    ohm: f64,
    /// Charge \[A s\] and time \[s\] since that update.
    since: (f64, f64),
}

impl State {
    /// At rest with the given battery.
    pub fn at_rest(battery: &Battery) -> Self {
        let behind_v = battery.behind_v();
        Self {
            alternator_a: 0.0,
            charger_a: 0.0,
            supply_v: behind_v,
            starter_v: behind_v,
            duty: 0.0,
            battery_a: 0.0,
            sensed_a: 0.0,
            torque_nm: 0.0,
            round: Round::default(),
            sums: Sums::default(),
            behind_v,
            ohm: battery.resistance_ohm(),
            since: (0.0, 0.0),
        }
    }
    /// Present current of the accessories wired past the sensor and behind it, from their currents at full supply
    /// \[A\].
    pub fn accessory_a(&self, past_sensor_a: f64, behind_a: f64) -> f64 {
        (past_sensor_a + behind_a) * (self.supply_v / FADES_V).clamp(0.0, 1.0)
    }
    /// Voltage at the battery's posts \[V\], with the car's clamp on them or not.
    pub fn posts_v(&self, clamp: bool) -> f64 {
        if clamp { self.supply_v } else { self.behind_v + self.ohm * self.battery_a }
    }
    /// Call after another battery was fitted, or this one was changed from outside.
    pub fn refit(&mut self, battery: &Battery) {
        (self.behind_v, self.ohm) = (battery.behind_v(), battery.resistance_ohm());
        self.since = (0.0, 0.0);
    }
    /// Charge since the battery's last update \[A s\]: the battery's own state does not include it yet.
    pub fn pending_as(&self) -> f64 {
        self.since.0
    }
    /// Every 10 ms, or in longer steps while the car sleeps: (1), (2). `omega` \[rad/s\], starter, air round
    /// the battery \[K\].
    #[expect(clippy::too_many_arguments, reason = "what stands round it")]
    pub fn tick(
        &mut self,
        p: &Params,
        battery: &mut Battery,
        on: &Switched,
        (omega, starter): (f64, Starter),
        asked: &Alternator,
        around_k: f64,
        dt_s: f64,
    ) {
        let mut load = p.asleep_a + on.posts.past_sensor_a + on.accessory_a;
        for (is_on, amps) in [
            (on.key_on, p.key_on_a),
            (on.running, p.running_a),
            (on.lamps, p.lamps_a),
            (on.heated_glass, p.heated_glass_a),
            (on.blower, p.blower_a),
            (on.fan, p.fan_a),
            (on.clutch, p.clutch_a),
        ] {
            if is_on {
                load += amps;
            }
        }
        let most =
            if asked.set_v > 0.0 { asked.share * p.alternator_a.at(crate::units::rpm(omega)) } else { 0.0 };
        // 3, with all other loads unchanged; a free-wheel lets it only drive. Its current is counted before it
        // engages, too, so that its first torque is that at the sagging supply
        let leads_ohm = 1e-3 * p.starter_leads_mohm;
        let siemens = starter.held_a / STARTER_V;
        let over_v = (self.behind_v - self.ohm * load - starter.back_v).max(0.0);
        let would_a = siemens * over_v / (1.0 + siemens * (self.ohm + leads_ohm));
        let starter_a = if on.starter && on.posts.clamp { would_a } else { 0.0 };
        let round = Round { load_a: load, starter_a, most_a: most, rise_a_s: asked.rise_a_s, around_k };
        self.carry(battery, &round, &on.posts, asked.set_v, dt_s);
        let under_v = self.supply_v - self.ohm * (would_a - starter_a) - leads_ohm * would_a;
        self.starter_v = if on.posts.clamp { under_v.max(0.0) } else { 0.0 };
        self.torque_nm = if omega > 10.0 {
            self.supply_v * self.alternator_a / (p.alternator_efficiency * omega)
        } else {
            0.0
        };
    }
    /// Advances by a time \[s\] with the conditions around the battery: (1). Takes what is connected to the posts and the
    /// set-point \[V\].
    pub fn carry(&mut self, battery: &mut Battery, round: &Round, posts: &AtPosts, set_v: f64, dt_s: f64) {
        self.round = *round;
        let parts = if posts.charger.most_a > 0.0 { (dt_s / CHARGING_S).ceil().max(1.0) } else { 1.0 };
        for _ in 0..parts as usize {
            self.carry_part(battery, round, posts, set_v, dt_s / parts);
        }
    }

    fn carry_part(&mut self, battery: &mut Battery, round: &Round, posts: &AtPosts, set_v: f64, dt_s: f64) {
        let AtPosts { clamp, past_sensor_a, charger } = *posts;
        let most = round.most_a;
        let faded = (self.supply_v / FADES_V).clamp(0.0, 1.0);
        let load = round.load_a * faded + round.starter_a;
        if clamp {
            self.charger_a = charger.amps(self.alternator_a - load, self.behind_v, self.ohm);
            let wanted = load - self.charger_a + (set_v - self.behind_v) / self.ohm;
            let wanted = wanted.clamp(0.0, most.max(0.0));
            self.alternator_a = if wanted > self.alternator_a {
                wanted.min(self.alternator_a + round.rise_a_s * dt_s)
            } else {
                wanted
            };
            self.battery_a = self.alternator_a + self.charger_a - load;
            self.supply_v = (self.behind_v + self.ohm * self.battery_a).max(0.0);
            self.duty = if most > 0.0 { self.alternator_a / most } else { 0.0 };
        } else {
            // a turning, excited alternator carries the loads by itself while it can; without it the supply collapses
            self.charger_a = charger.amps(0.0, self.behind_v, self.ohm);
            self.battery_a = self.charger_a;
            let load = load - past_sensor_a * faded;
            if self.alternator_a > 0.0 && load > 0.0 && load <= most {
                (self.alternator_a, self.supply_v, self.duty) = (load, set_v, load / most);
            } else {
                (self.alternator_a, self.supply_v, self.duty) = (0.0, 0.0, 0.0);
            }
        }
        // the return current of what is bolted or clamped to the posts bypasses the sensor
        let bypasses_a = past_sensor_a * faded - if charger.past_sensor { self.charger_a } else { 0.0 };
        self.sensed_a = if clamp { self.battery_a + bypasses_a } else { 0.0 };
        let posts_v = self.posts_v(clamp);
        let sums = &mut self.sums;
        sums.battery_as += self.battery_a * dt_s;
        sums.alternator_j += self.alternator_a * self.supply_v * dt_s;
        sums.charger_j += self.charger_a * posts_v * dt_s;
        sums.battery_j += self.battery_a * posts_v * dt_s;
        sums.load_j += (self.alternator_a + self.charger_a - self.battery_a) * self.supply_v * dt_s;
        self.since.0 += self.battery_a * dt_s;
        self.since.1 += dt_s;
        if self.since.1 > LOOK_S - 1e-6 {
            battery.tick(self.since.0 / self.since.1, round.around_k, self.since.1);
            self.refit(battery);
        }
    }
}
