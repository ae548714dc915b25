//! Workshop tools: instruments that measure the world, each with its own error.
//!
//! *Inside*: what each instrument measures, how it errs, how long it needs, when it may not be used, and what it
//! reports in numbers and words by id. *Outside*: the cost of its use (`session`), truth without an instrument
//! ([`crate::bench::Bench::truth`]).
//!
//! Every instrument has its own slope and zero errors, drawn once per run from its stream `tool.<name>`, noise on
//! each reading from the same stream, and a last digit. Measuring changes nothing in engine and module. An
//! instrument that needs time takes every sample of 10 ms until it is done; hands are free meanwhile.
//!
//! Leaves out: drifting batteries, a probe that loads its circuit, false positives of the
//! smoke test.
//!
//! **Checked by** `tests/bench/tools.rs`.

pub mod battery;
mod data;
mod kinds;
mod numbers;

pub use self::battery::Lead;
pub use self::data::{Channel, Data, Smoke};
use self::kinds::CRANK;
pub use self::kinds::{INSTRUMENTS, Look, Point, Tool};
use self::numbers::told;
use crate::bench::compression::{self, Gauge};
use crate::bench::crank_scope::Teeth;
use crate::bench::facts::{Hindrance, place};
use crate::bench::gas;
use crate::bench::leak_down;
use crate::bench::tester::Tester;
use crate::num::{Stream, lag_share};
use crate::plant::{Plant, TICK_S, vapour};
use crate::signals::{ActuatorFrame, ToothEdge};
use crate::units::celsius;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Largest number of values in the scan tool's list.
pub const MOST_WATCHED: usize = crate::bench::tester::MOST;

/// A tool's reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The tool.
    pub tool: Tool,
    /// When it was read \[s\], scenario time.
    pub at_s: f64,
    /// Numbers by name, the unit in the name.
    pub numbers: Vec<(String, f64)>,
    /// Words by name: grade, place, state.
    pub marks: Vec<(String, String)>,
    /// A scope's samples, 10 ms apart, in the unit of its numbers; for the crank sensor, one for each tooth \[%\].
    pub samples: Vec<f64>,
    /// A scope on the crank sensor: deviation of each edge from where it should be \[deg\], mean zero, firing ripple
    /// removed; empty from any other tool.
    pub edges_deg: Vec<f64>,
}

impl Reading {
    /// A number by its name.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.numbers.iter().find(|(n, _)| n == name).map(|(_, x)| *x)
    }
    /// A word by its name.
    pub fn mark(&self, name: &str) -> Option<&str> {
        self.marks.iter().find(|(n, _)| n == name).map(|(_, x)| x.as_str())
    }
    /// A reading that holds everything this tool can show, all numbers zero: for checking names.
    pub fn sample(tool: Tool) -> Self {
        let seen = Seen { values: [0.0; 4], low: 0.0, high: 0.0, samples: vec![0.0] };
        let marks = match tool {
            Tool::SmokeTest | Tool::ExhaustSmoke => vec![mark("grade", "none"), mark("place", "nowhere")],
            Tool::Inspect(Look::ThrottleBody | Look::AirFilter) => vec![mark("state", "clean")],
            Tool::Inspect(Look::Hoses) => vec![mark("state", "good")],
            Tool::Inspect(Look::Injector(_)) => vec![mark("state", "no_code")],
            Tool::Inspect(Look::Battery) => vec![mark("state", "flooded")],
            Tool::Compression(_) => vec![mark("state", "held")],
            Tool::LeakDown(_) => vec![mark("state", "low"), mark("place", "nowhere")],
            Tool::BatteryTester => vec![mark("state", "passes")],
            Tool::Scope(CRANK) => vec![mark("state", "tooth_1")],
            _ => Vec::new(),
        };
        let numbers = told(tool, &seen, 0.0);
        Self { tool, at_s: 0.0, numbers, marks, samples: seen.samples, edges_deg: Vec::new() }
    }
}

fn mark(name: &str, word: &str) -> (String, String) {
    (name.into(), word.into())
}

/// One instrument with its errors in this run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Instrument {
    stream: Stream,
    /// Slope \[-\] and zero by channel.
    errors: Vec<[f64; 2]>,
}

impl Instrument {
    fn new(seed: u64, name: &str, channels: &[Channel]) -> Self {
        let mut stream = Stream::new(seed, &format!("tool.{name}"));
        let errors = channels
            .iter()
            .map(|c| [stream.cut_normal(0.5 * c.gain_pct / 100.0), stream.cut_normal(0.5 * c.offset)])
            .collect();
        Self { stream, errors }
    }
    fn read(&mut self, channel: usize, c: &Channel, truth: f64) -> f64 {
        let [gain, offset] = self.errors[channel];
        c.rounded(truth * (1.0 + gain) + offset + self.stream.cut_normal(c.noise))
    }
}

/// What an instrument has seen, before its errors.
#[derive(Debug, Clone, PartialEq)]
struct Seen {
    values: [f64; 4],
    low: f64,
    high: f64,
    samples: Vec<f64>,
}

/// An instrument that is measuring.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Working {
    id: String,
    tool: Tool,
    since_s: f64,
    due_s: f64,
    count: u32,
    /// Lagged values or sums.
    held: [f64; 4],
    low: f64,
    high: f64,
    samples: Vec<f64>,
    /// A compression gauge in its hole.
    gauge: Option<Gauge>,
    /// A scope on the crank sensor's wire.
    teeth: Option<Teeth>,
}

/// What changes in the bay: instruments, what they are doing, what they last showed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct State {
    instruments: Vec<Instrument>,
    working: Vec<Working>,
    /// The fuel gauge is fitted to its port.
    gauge_on: bool,
    /// Bank whose port the exhaust gauge is fitted to; 0 for none.
    back_gauge_on: u8,
    /// Bank whose port the gas probe is fitted to; zero for none.
    gas_port_on: u8,
    last: Vec<Reading>,
    pub(super) tester: Tester,
}

/// The bay.
#[derive(Debug, Clone)]
pub(super) struct Bay {
    data: Arc<Data>,
    /// Where air leaks into the manifold, if it does: the plant knows only an area.
    place: usize,
    pub(super) s: State,
}

/// Places where a manifold can leak; invented, and drawn from the seed.
const PLACES: [&str; 5] =
    ["manifold_last", "manifold_first", "servo_hose", "breather_hose", "throttle_flange"];

/// Outcome of starting a tool.
pub(super) enum Put {
    /// It showed its reading at once.
    Shown(Reading),
    /// It needs this long \[s\].
    Working(f64),
    /// Not possible now, and why.
    Hindered(Hindrance),
}

impl Bay {
    pub(super) fn new(seed: u64) -> Result<Self, String> {
        let data = Data::shipped()?;
        let instruments = INSTRUMENTS
            .iter()
            .enumerate()
            .map(|(i, name)| Instrument::new(seed, name, &data.channels(i)))
            .collect();
        let place = (Stream::new(seed, "leak.place").uniform() * PLACES.len() as f64) as usize;
        let tester = Tester::new(data.link, seed);
        let s = State {
            instruments,
            working: Vec::new(),
            gauge_on: false,
            back_gauge_on: 0,
            gas_port_on: 0,
            last: Vec::new(),
            tester,
        };
        Ok(Self { data: Arc::new(data), place, s })
    }
    /// No instrument is measuring.
    pub(super) fn idle(&self) -> bool {
        self.s.working.is_empty()
    }
    /// The last reading of every tool that was used.
    pub(super) fn last(&self) -> &[Reading] {
        &self.s.last
    }

    /// Starts a tool; `at_s` is the scenario time for a reading that is shown at once.
    pub(super) fn put(&mut self, plant: &Plant, id: &str, tool: Tool, at_s: f64) -> Put {
        if let Err(why) = self.may(plant, tool) {
            return Put::Hindered(why);
        }
        let takes_s = self.data.takes_s(tool);
        if takes_s <= 0.0 {
            let reading = self.at_once(plant, tool, at_s);
            self.keep(&reading);
            return Put::Shown(reading);
        }
        let since_s = plant.s.time_s;
        let beats = (plant.params().layout.firing_order.len() / 2) as u8;
        let samples = if matches!(tool, Tool::Scope(p) if p != CRANK) {
            Vec::with_capacity((takes_s / TICK_S) as usize + 2)
        } else {
            Vec::new()
        };
        self.s.working.push(Working {
            id: id.into(),
            tool,
            since_s,
            due_s: since_s + takes_s,
            count: 0,
            held: [0.0; 4],
            low: f64::INFINITY,
            high: f64::NEG_INFINITY,
            samples,
            gauge: match tool {
                Tool::Compression(k) => Some(Gauge::new(plant, k)),
                _ => None,
            },
            teeth: (tool == Tool::Scope(CRANK)).then(|| Teeth::new(beats)),
        });
        Put::Working(takes_s)
    }

    fn may(&mut self, plant: &Plant, tool: Tool) -> Result<(), Hindrance> {
        let (turning, h) = (plant.turning(), &plant.s.hands);
        let stopped = || if turning { Err(Hindrance::EngineTurns) } else { Ok(()) };
        if self.s.working.iter().any(|w| w.tool.instrument() == tool.instrument()) {
            return Err(Hindrance::AtWork { instrument: tool.instrument().into() });
        }
        match tool {
            Tool::FuelPressure if !self.s.gauge_on => {
                if turning {
                    return Err(Hindrance::GaugeNotFitted);
                }
                self.s.gauge_on = true;
                Ok(())
            }
            Tool::BackPressure(b) | Tool::GasAhead(b) => {
                let banks = plant.params().layout.bank_count();
                if b == 0 || usize::from(b) > banks {
                    return Err(Hindrance::NoBank { bank: b, of: banks as u8 });
                }
                let probe = matches!(tool, Tool::GasAhead(_));
                let (on, elsewhere) = if probe {
                    (&mut self.s.gas_port_on, Hindrance::ProbeElsewhere)
                } else {
                    (&mut self.s.back_gauge_on, Hindrance::GaugeElsewhere)
                };
                if *on != b {
                    if turning {
                        return Err(elsewhere);
                    }
                    *on = b;
                }
                Ok(())
            }
            Tool::Compression(k) => compression::may(plant, k),
            Tool::LeakDown(k) => leak_down::may(plant, k),
            Tool::SmokeTest | Tool::Inspect(Look::ThrottleBody) => {
                stopped()?;
                if h.key_on {
                    return Err(Hindrance::ThrottlePowered);
                }
                Ok(())
            }
            Tool::Inspect(Look::Injector(k)) => {
                place(plant.params().layout.cylinders(), k)?;
                stopped()
            }
            Tool::ExhaustSmoke | Tool::Inspect(Look::AirFilter) => stopped(),
            Tool::BatteryTester | Tool::Hydrometer | Tool::ClampOn(_) => battery::may(plant, tool),
            Tool::GasReading if !turning => Err(Hindrance::NoExhaustGas),
            Tool::Voltmeter(p) | Tool::Scope(p) => {
                let (banks, n) = (plant.params().layout.bank_count(), plant.params().layout.cylinders());
                match p {
                    Point::Pin(s) if s.bank().is_some_and(|b| usize::from(b) > banks) => {
                        Err(Hindrance::OneBank)
                    }
                    CRANK if matches!(tool, Tool::Voltmeter(_)) => Err(Hindrance::EdgesOnly),
                    Point::Pin(_) if !h.key_on => Err(Hindrance::NoSupply),
                    Point::Injector(k) if k == 0 || usize::from(k) > n => {
                        Err(Hindrance::NoCylinder { cylinder: k, of: n as u8 })
                    }
                    Point::Injector(_) if matches!(tool, Tool::Voltmeter(_)) => {
                        Err(Hindrance::PulsesTooShort)
                    }
                    _ => Ok(()),
                }
            }
            _ => Ok(()),
        }
    }

    /// An edge arrived on the crank sensor's wire.
    #[inline]
    pub(super) fn edge(&mut self, edge: &ToothEdge) {
        for teeth in self.s.working.iter_mut().filter_map(|w| w.teeth.as_mut()) {
            teeth.edge(edge);
        }
    }

    /// One 10 ms sample for every active instrument; returns finished readings with the ids of their acts.
    pub(super) fn sample(
        &mut self,
        plant: &Plant,
        drive: &ActuatorFrame,
        start_s: f64,
    ) -> Vec<(String, Reading)> {
        let now_s = plant.s.time_s;
        for w in &mut self.s.working {
            let v = look(&self.data, plant, drive, w.tool);
            let first = w.count == 0;
            match w.tool {
                Tool::VacuumGauge => {
                    if first {
                        w.held[0] = v[0];
                    }
                    w.held[0] += (v[0] - w.held[0]) * lag_share(TICK_S, self.data.vacuum_gauge.lag_s);
                    w.held[1] += w.held[0];
                    (w.low, w.high) = (w.low.min(w.held[0]), w.high.max(w.held[0]));
                }
                Tool::BackPressure(_) => {
                    if first {
                        w.held[0] = v[0];
                    }
                    w.held[0] += (v[0] - w.held[0]) * lag_share(TICK_S, self.data.back_pressure.lag_s);
                }
                Tool::GasReading | Tool::GasAhead(_) => {
                    let g = &self.data.gas_reading;
                    if first {
                        w.held = air();
                    }
                    if now_s - w.since_s >= g.line_s {
                        for (held, v) in w.held.iter_mut().zip(v) {
                            *held += (v - *held) * lag_share(TICK_S, g.lag_s);
                        }
                    }
                }
                Tool::Scope(CRANK) => {}
                Tool::BatteryTester => battery::look(plant, &self.data.battery_tester, w.count, &mut w.held),
                Tool::Compression(_) => {
                    if let Some(gauge) = &mut w.gauge {
                        gauge
                            .look(plant, [self.data.compression.hose_cm3, self.data.compression.adapter_cm3]);
                        if gauge.is_over() {
                            w.due_s = now_s;
                        }
                    }
                }
                Tool::Scope(point) => {
                    let us = matches!(point, Point::Injector(_));
                    let c = if us { &self.data.scope.us } else { &self.data.scope.v };
                    let x = self.s.instruments[w.tool.index()].read(usize::from(us), c, v[0]);
                    w.samples.push(x);
                    w.held[0] += x;
                    (w.low, w.high) = (w.low.min(x), w.high.max(x));
                }
                _ => w.held[0] += v[0],
            }
            w.count += 1;
        }
        let mut done = Vec::new();
        while let Some(i) = self.s.working.iter().position(|w| w.due_s <= now_s + 1e-9) {
            let w = self.s.working.remove(i);
            let id = w.id.clone();
            let reading = self.finish(plant, w, now_s - start_s);
            self.keep(&reading);
            done.push((id, reading));
        }
        done
    }

    /// Turns what was measured into what is shown.
    fn finish(&mut self, plant: &Plant, w: Working, at_s: f64) -> Reading {
        let (i, n) = (w.tool.index(), f64::from(w.count.max(1)));
        let data = &self.data;
        let own = &mut self.s.instruments[i];
        let mut seen = Seen { values: [0.0; 4], low: w.low, high: w.high, samples: w.samples };
        let mut state = None;
        let mut edges_deg = Vec::new();
        match w.tool {
            Tool::Scope(CRANK) => {
                let c = &data.scope.pct;
                match w.teeth.as_ref().and_then(|t| Some((t.turns, t.round()?))) {
                    Some((turns, round)) => {
                        // one error for the whole record: its time base and trigger
                        seen.samples = round.off_pct.iter().map(|x| c.rounded(*x)).collect();
                        // shares of a turn: a time base error cancels
                        edges_deg = round.edge_deg.iter().map(|x| (x * 1000.0).round() / 1000.0).collect();
                        seen.values =
                            [own.read(2, c, round.most_pct), round.tooth as f64, f64::from(turns), 0.0];
                        state = Some(format!("tooth_{}", round.tooth));
                    }
                    None => state = Some("no_turn".into()),
                }
            }
            Tool::Compression(_) => {
                let c = &data.compression.kpa;
                if let Some(gauge) = &w.gauge {
                    // the needle rests on its stop at zero
                    let kpa = own.read(0, c, gauge.held_pa * 1e-3).max(0.0);
                    seen.values = [kpa, f64::from(gauge.strokes), 0.0, 0.0];
                    state = Some(gauge.state().into());
                }
            }
            Tool::VacuumGauge => {
                seen.values[0] = own.read(0, &data.vacuum_gauge.kpa, w.held[1] / n);
                seen.values[1] = data.vacuum_gauge.kpa.rounded(w.high - w.low);
            }
            Tool::BackPressure(_) => {
                let g = &data.back_pressure;
                seen.values[0] = own.read(0, &g.kpa, w.held[0]).clamp(0.0, g.most_kpa);
            }
            Tool::Scope(_) => seen.values[0] = w.held[0] / n,
            Tool::BatteryTester => {
                let t = &data.battery_tester;
                let read = [own.read(0, &t.v, w.held[0] / n), own.read(1, &t.mohm, w.held[1])];
                let label = plant.s.parts.battery.label;
                let (values, verdict) = t.made_of(read, w.held[2], &label);
                seen.values = values;
                state = Some(verdict.into());
            }
            Tool::GasReading | Tool::GasAhead(_) => {
                for (k, c) in data.channels(i).iter().enumerate() {
                    // a tester shows nothing below zero
                    seen.values[k] = own.read(k, c, w.held[k]).max(0.0);
                }
            }
            _ => {
                if let Some(c) = data.channels(i).first() {
                    seen.values[0] = own.read(0, c, w.held[0] / n);
                }
            }
        }
        let lambda = if matches!(w.tool, Tool::GasReading | Tool::GasAhead(_)) {
            let g = &data.gas_reading;
            let [o2_pct, co_pct, co2_pct, hc_ppm] = seen.values;
            let dry = gas::Dry { o2_pct, co_pct, co2_pct, hc_ppm };
            (1000.0 * gas::lambda(&dry, g.hydrogen_per_carbon, g.oxygen_per_carbon)).round() / 1000.0
        } else {
            0.0
        };
        let mut numbers = told(w.tool, &seen, lambda);
        if ["no_turn", "not_cranked", "engine_ran"].map(Some).contains(&state.as_deref()) {
            // nothing was measured: the state says why, and there is no number
            numbers.clear();
        }
        let marks: Vec<_> = state.into_iter().map(|word| ("state".to_string(), word)).collect();
        Reading { tool: w.tool, at_s, numbers, marks, samples: seen.samples, edges_deg }
    }

    /// Readings that need no time.
    fn at_once(&mut self, plant: &Plant, tool: Tool, at_s: f64) -> Reading {
        let data = Arc::clone(&self.data);
        let own = &mut self.s.instruments[tool.index()];
        let (parts, h) = (&plant.s.parts, &plant.s.hands);
        let mut seen = Seen { values: [0.0; 4], low: 0.0, high: 0.0, samples: Vec::new() };
        let mut marks = Vec::new();
        match tool {
            Tool::Thermometer => {
                let hose_c = look(&data, plant, &ActuatorFrame::default(), tool)[0];
                seen.values[0] = own.read(0, &data.thermometer.c, hose_c);
            }
            Tool::Hydrometer => {
                // six cells, alike; each sampled separately
                let density = parts.battery.density();
                let cells = (0..6).map(|_| own.read(0, &data.hydrometer.kg_l, density));
                seen.samples = cells.collect();
                (seen.low, seen.high) = (f64::INFINITY, f64::NEG_INFINITY);
                for x in &seen.samples {
                    (seen.low, seen.high) = (seen.low.min(*x), seen.high.max(*x));
                }
                seen.values[0] = data.hydrometer.mean(&seen.samples);
            }
            Tool::SmokeTest => {
                let purge_mm2 = if h.plugs.purge_hose { parts.purge_valve.leak_mm2 } else { 0.0 };
                let mut holes = vec![(h.leak_mm2, PLACES[self.place]), (purge_mm2, "purge_valve")];
                holes.extend(vapour_holes(plant));
                marks = smoke(&data.smoke_test, &mut own.stream, &holes);
            }
            Tool::ExhaustSmoke => {
                let mut holes = vec![(h.exhaust_leak_mm2, "exhaust_flange")];
                let flanges = ["catalyst_flange_1", "catalyst_flange_2"];
                let joints = parts.exhausts.iter().zip(flanges);
                holes.extend(joints.map(|(pipe, place)| (pipe.joint_leak_mm2, place)));
                marks = smoke(&data.exhaust_smoke, &mut own.stream, &holes);
            }
            Tool::LeakDown(k) => {
                let t = &data.leak_down;
                let settled = leak_down::settle(plant, k, &t.orifice());
                // each dial has its own error; the loss is worked out from what they show
                let supply = own.read(0, &t.kpa, t.supply_kpa);
                let held = own.read(1, &t.kpa, settled.held_pa * 1e-3).max(0.0);
                let loss = (100.0 * (supply - held) / supply).round().max(0.0);
                (seen.values[0], seen.values[1], seen.values[2]) = (supply, held, loss);
                marks = vec![mark("state", t.called(loss)), ("place".into(), t.heard(&settled))];
            }
            Tool::Inspect(at) => {
                let scale = 1.0 + own.errors[0][0];
                let e = &data.inspect;
                let grade = |x: f64, [low, high]: [f64; 2], words: [&'static str; 3]| {
                    words[usize::from(x * scale >= low) + usize::from(x * scale >= high)]
                };
                let code;
                let state = match at {
                    Look::Injector(k) => {
                        // the printed code is read, if there is one
                        let body = parts.injectors.get(usize::from(k).saturating_sub(1));
                        code = body.and_then(|b| b.code.clone());
                        code.as_deref().unwrap_or("no_code")
                    }
                    Look::ThrottleBody => {
                        grade(parts.throttle.deposit_um, e.throttle_um, ["clean", "light", "heavy"])
                    }
                    Look::AirFilter => {
                        let pct = 100.0 * parts.air_filter.blocked;
                        grade(pct, e.air_filter_pct, ["clean", "dusty", "blocked"])
                    }
                    Look::Battery => {
                        // the printed label is read
                        let label = &parts.battery.label;
                        (seen.values[0], seen.values[1]) = (label.rated_ah, label.cold_a);
                        label.kind.name()
                    }
                    Look::Hoses => grade(h.leak_mm2, [e.hose_mm2, f64::INFINITY], ["good", "off", "off"]),
                };
                marks.push(mark("state", state));
            }
            _ => {}
        }
        let numbers = told(tool, &seen, 0.0);
        Reading { tool, at_s, numbers, marks, samples: seen.samples, edges_deg: Vec::new() }
    }

    fn keep(&mut self, reading: &Reading) {
        match self.s.last.iter_mut().find(|r| r.tool == reading.tool) {
            Some(old) => old.clone_from(reading),
            None => self.s.last.push(reading.clone()),
        }
    }
}

/// Dry air, as the gas tester's values.
fn air() -> [f64; 4] {
    let d = gas::Moles::default().dry();
    [d.o2_pct, d.co_pct, d.co2_pct, d.hc_ppm]
}

/// What a tool measures, without its errors.
fn look(data: &Data, plant: &Plant, drive: &ActuatorFrame, tool: Tool) -> [f64; 4] {
    let (ambient_pa, ambient_k) = plant.ambient();
    let s = &plant.s;
    let x = match tool {
        Tool::VacuumGauge => (ambient_pa - s.air.manifold_pa) * 1e-3,
        Tool::FuelPressure => s.fuel.rail_pa * 1e-3,
        Tool::GasReading => {
            let d = gas::tailpipe(plant);
            return [d.o2_pct, d.co_pct, d.co2_pct, d.hc_ppm];
        }
        Tool::GasAhead(b) => {
            let d = gas::ahead(plant, usize::from(b).saturating_sub(1));
            return [d.o2_pct, d.co_pct, d.co2_pct, d.hc_ppm];
        }
        Tool::Voltmeter(p) | Tool::Scope(p) => match p {
            Point::BatteryPost => s.electrical.posts_v(s.hands.plugs.battery),
            Point::ModuleSupply => plant.frame().supply_v,
            Point::Pin(sensor) => plant.frame().pin_v(sensor),
            Point::Injector(k) => drive.inject_us[usize::from(k) - 1],
        },
        Tool::AmpereClamp => s.electrical.battery_a,
        Tool::ClampOn(lead) => lead.amps(plant),
        Tool::Thermometer => {
            celsius(ambient_k) + data.thermometer.hose_share * (plant.coolant_c() - celsius(ambient_k))
        }
        Tool::BackPressure(b) => {
            let bank = usize::from(b).checked_sub(1).and_then(|i| s.exhaust.banks.get(i));
            bank.map_or(0.0, |bank| (bank.pressure_pa - ambient_pa) * 1e-3)
        }
        // handled on their own: edges, and peaks of cycles
        Tool::SmokeTest
        | Tool::ExhaustSmoke
        | Tool::Inspect(_)
        | Tool::Compression(_)
        | Tool::LeakDown(_)
        | Tool::BatteryTester
        | Tool::Hydrometer => 0.0,
    };
    [x, 0.0, 0.0, 0.0]
}

/// Holes in the tank's EVAP system: effective area \[mm²\] and place; none on a car where it is not modelled.
fn vapour_holes(plant: &Plant) -> Vec<(f64, &'static str)> {
    let (parts, Some(p)) = (&plant.s.parts, &plant.params().vapour) else { return Vec::new() };
    let cap_on = plant.s.hands.plugs.fuel_cap;
    let cap_mm2 = if cap_on { vapour::hole_mm2(parts.fuel_cap.hole_mm) } else { p.neck_mm2 };
    vec![(cap_mm2, "fuel_cap"), (vapour::hole_mm2(parts.vapour_line.hole_mm), "vapour_line")]
}

/// Result of a smoke test: each hole \[mm²\] with its place is either seen or not.
fn smoke(p: &Smoke, stream: &mut Stream, holes: &[(f64, &'static str)]) -> Vec<(String, String)> {
    let (mut area, mut places) = (0.0, Vec::new());
    for (mm2, place) in holes {
        // one draw for every hole, present or not, so that the next test is the same
        if stream.uniform() < p.chance(*mm2) {
            area += mm2;
            places.push(*place);
        }
    }
    let grade = match places.len() {
        0 => "none",
        _ if area >= p.large_mm2 => "large",
        _ => "small",
    };
    let place = if places.is_empty() { "nowhere".into() } else { places.join("+") };
    vec![mark("grade", grade), ("place".into(), place)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every channel of every instrument over many seeds and values: the error never exceeds its class, and often
    /// comes near it.
    #[test]
    fn holds_every_instrument_within_its_class() {
        let data = Data::shipped().expect("data");
        for (i, name) in INSTRUMENTS.iter().enumerate() {
            let channels = data.channels(i);
            for (k, c) in channels.iter().enumerate() {
                let mut worst = 0.0_f64;
                for seed in 0..2000 {
                    let mut own = Instrument::new(seed, name, &channels);
                    for truth in [-40.0, 0.0, 0.37, 14.2, 300.0] {
                        let off = (own.read(k, c, truth) - truth).abs();
                        assert!(
                            off <= c.class(truth) * (1.0 + 1e-9),
                            "{name} {k}, seed {seed}: {truth} off by {off}"
                        );
                        worst = worst.max(off / c.class(truth));
                    }
                }
                assert!(worst > 0.6, "{name} {k} never errs by more than {worst} of its class");
            }
        }
    }

    #[test]
    fn trips_on_bad_data() {
        let good = include_str!("../../../assets/tools.toml");
        assert!(Data::parse(good).is_ok());
        for (from, to) in
            [("schema = 1", "schema = 2"), ("resolution = 0.5", "resolution = 0.0"), ("lag_s", "lag")]
        {
            assert!(Data::parse(&good.replacen(from, to, 1)).is_err(), "{from} to {to}");
        }
        assert!(Data::parse(&good.replacen("offset = 1.6", "offset = -1.6", 1)).is_err());
    }
}
