//! The job card's ledger: what work costs in minutes and money.
//!
//! *Inside*: prices as data, the cost of each act, the running total. *Outside*: whether an act could be done
//! (bench), the layout of the card (report). An act that could not be done costs nothing; a purchased part is paid
//! for once, however often it is fitted.
//!
//! **Checked by** `tests/attempts/ledger.rs`.

use crate::bench::action::{Action, Connector, PartChoice, PartKind};
use crate::bench::tools::INSTRUMENTS;
use crate::catalogue::hands::WORK;
use crate::catalogue::parts::PARTS;
use crate::catalogue::services::services;
use crate::scenario::{ActionFile, Timing};
use crate::store;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What a line of the card is for, by its name in the price list.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Work {
    /// Time with the car.
    #[default]
    Time,
    /// A workshop tool.
    Measure(String),
    /// A request over the service link.
    Service(String),
    /// A part, fitting included.
    Fit(String),
    /// Other work.
    Hand(String),
}

/// One line of the card.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct JobLine {
    /// Id of the act; empty for time.
    pub id: String,
    /// What was done.
    pub work: Work,
    /// Time \[min\].
    pub minutes: f64,
    /// Money, time included.
    pub money: f64,
}

/// The card.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Job {
    /// Time of all lines \[min\].
    pub minutes: f64,
    /// Money of all lines.
    pub money: f64,
    /// Unit of money.
    pub currency: String,
    /// Parts bought.
    pub parts_bought: u32,
    /// Lines.
    pub lines: Vec<JobLine>,
}

/// What one piece of work costs.
#[derive(Debug, Clone, Copy, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Price {
    /// Time \[min\].
    #[serde(default)]
    pub minutes: f64,
    /// Money besides the time.
    #[serde(default)]
    pub money: f64,
}

/// All prices.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prices {
    schema: u64,
    /// Name of the unit of money.
    pub currency: String,
    /// What an hour costs.
    pub hour_money: f64,
    /// Workshop tools by name.
    pub tool: BTreeMap<String, Price>,
    /// Requests over the service link by name.
    pub service: BTreeMap<String, Price>,
    /// Parts by kind, fitting included.
    pub part: BTreeMap<String, Price>,
    /// Other work by name.
    pub hand: BTreeMap<String, Price>,
}

impl Prices {
    /// The shipped prices.
    pub fn shipped() -> Result<Self, String> {
        Self::parse(store::PRICES)
    }
    /// Reads prices and checks them.
    pub fn parse(text: &str) -> Result<Self, String> {
        let prices: Self = toml::from_str(text).map_err(|e| format!("prices: {}", e.message()))?;
        if prices.schema != 1 {
            return Err(format!("prices: schema must be 1 ({} given)", prices.schema));
        }
        let all = [&prices.tool, &prices.service, &prices.part, &prices.hand];
        let bad = |p: &Price| !(0.0..=1e4).contains(&p.minutes) || !(0.0..=1e6).contains(&p.money);
        if let Some((name, _)) = all.into_iter().flatten().find(|(_, p)| bad(p)) {
            return Err(format!("prices: {name} must cost from 0 to 10000 min and from 0 to 1000000"));
        }
        let services = services().map(|s| s.id()).chain(["read_value"]).collect();
        let declared: [(&str, &BTreeMap<String, Price>, Vec<&str>); 4] = [
            ("tool", &prices.tool, INSTRUMENTS.to_vec()),
            ("service", &prices.service, services),
            ("part", &prices.part, PARTS.iter().map(|p| p.id).collect()),
            ("hand", &prices.hand, WORK.to_vec()),
        ];
        for (kind, priced, known) in declared {
            if let Some(name) = priced.keys().find(|name| !known.contains(&name.as_str())) {
                return Err(format!("prices: no {kind} is called {name}"));
            }
        }
        if !(0.0..=1e5).contains(&prices.hour_money) {
            return Err(format!("prices: hour_money must be from 0 to 100000 ({} given)", prices.hour_money));
        }
        Ok(prices)
    }
    /// Group and name under which an act is priced, with the quantity; none if it is free.
    pub fn entry(action: &Action) -> Option<(&'static str, &'static str, f64)> {
        Some(match action {
            Action::Measure(tool) => ("tool", tool.instrument(), 1.0),
            Action::Ask(request) => ("service", request.name(), 1.0),
            Action::SwapInjectors(..) => ("hand", "swap_injectors", 1.0),
            Action::CopyInjectorCode { .. } => ("service", "write_injector_code", 1.0),
            Action::Fit(choice) => ("part", choice.kind.name(), 1.0),
            Action::Connector(Connector::Battery, _) => ("hand", "battery_clamp", 1.0),
            Action::Connector(..) => ("hand", "connector", 1.0),
            Action::CleanThrottle => ("hand", "clean_throttle_body", 1.0),
            Action::Leak(_) => ("hand", "inlet_leak", 1.0),
            Action::ExhaustLeak(_) => ("hand", "exhaust_leak", 1.0),
            Action::Sensor(..) => ("hand", "sensor_wiring", 1.0),
            Action::Interrupt(..) => ("hand", "spark_interrupter", 1.0),
            Action::Refuel(litres) => ("hand", "refuel", *litres),
            Action::Accessory { .. } => ("hand", "accessory", 1.0),
            Action::Charger { .. } => ("hand", "charger", 1.0),
            Action::Hold { nm, .. } if *nm > 0.0 => ("hand", "rollers", 1.0),
            // while the car is parked or driven by its owner nobody works on it
            Action::Rest(_) | Action::DriveOn(_)
            // a drive costs the time it takes
            | Action::Drive { .. }
            // holding an engine speed with the pedal needs no rollers
            | Action::Hold { .. }
            | Action::Key(_)
            | Action::Pedal(_)
            | Action::Brake(_)
            | Action::Gear(_)
            | Action::Load(..)
            | Action::Watch(_)
            | Action::Note(_)
            | Action::Wait => return None,
        })
    }
    /// A price in money alone: its minutes are charged at the hourly rate.
    pub fn whole(&self, price: Price) -> f64 {
        price.money + price.minutes / 60.0 * self.hour_money
    }
    /// The cost of an act by itself.
    pub fn of(&self, action: &Action) -> Price {
        let Some((group, name, times)) = Self::entry(action) else { return Price::default() };
        let table = match group {
            "tool" => &self.tool,
            "service" => &self.service,
            "part" => &self.part,
            _ => &self.hand,
        };
        let p = table.get(name).copied().unwrap_or_default();
        Price { minutes: times * p.minutes, money: times * p.money }
    }
}

/// The running total.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    prices: Arc<Prices>,
    from_s: f64,
    until_s: f64,
    /// How long the car was last away \[s\].
    away_s: f64,
    lines: Vec<JobLine>,
    bought: BTreeSet<(PartKind, String)>,
    parts_bought: u32,
}

impl Ledger {
    /// An empty card, from a moment on \[s\].
    pub fn new(prices: Arc<Prices>, from_s: f64) -> Self {
        Self {
            prices,
            from_s,
            until_s: from_s,
            away_s: 0.0,
            lines: Vec::new(),
            bought: BTreeSet::new(),
            parts_bought: 0,
        }
    }
    /// An empty card at the same prices, from another moment on \[s\].
    pub fn from(&self, from_s: f64) -> Self {
        Self::new(Arc::clone(&self.prices), from_s)
    }
    /// Somebody was at the car until this time \[s\].
    pub fn stayed(&mut self, until_s: f64) {
        self.until_s = self.until_s.max(until_s);
    }
    /// The car was away or parked for this long \[s\]: nobody is charged.
    pub fn away(&mut self, for_s: f64) {
        self.from_s += for_s;
        self.until_s = self.until_s.max(self.from_s);
        if for_s > 0.0 {
            self.away_s = for_s;
        }
    }
    /// The car came back now \[s\], earlier than planned by `early_s` \[s\].
    pub fn back(&mut self, now_s: f64, early_s: f64) {
        self.from_s -= early_s.min(self.away_s);
        self.away_s = 0.0;
        self.until_s = now_s.max(self.from_s);
    }
    /// Charges an act that was done.
    pub fn add(&mut self, id: &str, action: &Action) {
        let Some((group, name, _)) = Prices::entry(action) else { return };
        let mut price = self.prices.of(action);
        if let Action::Fit(choice) = action
            && !self.buy(choice)
        {
            price.money = 0.0;
        }
        let name = name.to_owned();
        let work = match group {
            "tool" => Work::Measure(name),
            "part" => Work::Fit(name),
            "service" => Work::Service(name),
            _ => Work::Hand(name),
        };
        let line = self.line(id, work, price);
        self.lines.push(line);
    }
    /// Buys a part; false if it was bought before.
    fn buy(&mut self, choice: &PartChoice) -> bool {
        let new = choice.serial.as_ref().is_none_or(|s| self.bought.insert((choice.kind, s.clone())));
        self.parts_bought += u32::from(new);
        new
    }
    fn line(&self, id: &str, work: Work, price: Price) -> JobLine {
        let money = self.prices.whole(price);
        JobLine { id: id.into(), work, minutes: price.minutes, money }
    }
    /// The card in its present state.
    pub fn job(&self) -> Job {
        let mut lines = self.lines.clone();
        let minutes = (self.until_s - self.from_s) / 60.0;
        if minutes > 0.0 {
            lines.push(self.line("", Work::Time, Price { minutes, money: 0.0 }));
        }
        Job {
            // an empty sum is negative zero
            minutes: lines.iter().map(|l| l.minutes).sum::<f64>() + 0.0,
            money: lines.iter().map(|l| l.money).sum::<f64>() + 0.0,
            currency: self.prices.currency.clone(),
            parts_bought: self.parts_bought,
            lines,
        }
    }
}

/// The cost of an action file's work as written, up to its last act: conditions are assumed to be met at once.
pub fn work_of(file: &ActionFile) -> Result<Job, String> {
    let mut card = Ledger::new(Arc::new(Prices::shipped()?), 0.0);
    let mut t = 0.0_f64;
    for a in &file.acts {
        t = match a.timing {
            Timing::At(at) => t.max(at),
            Timing::After(after) => t + after,
            Timing::When { .. } => t,
        } + a.wait_s;
        card.add(&a.id, &a.hand);
        if matches!(a.hand, Action::Rest(_) | Action::DriveOn(_)) {
            card.away(a.wait_s);
        }
    }
    card.stayed(t);
    Ok(card.job())
}
