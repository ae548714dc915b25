//! A year of commuting, once with every day at full physics or nearly so and once with most days carried on: what is
//! left of the car after both, and how long each took.
//!
//! `cargo run --no-default-features --example year -- [--each 1,14] [--days 364] [--minutes 57.6] [--trips 2]
//! [--days-a-week 5] [--pattern mixed] [--car plover] [--seed 1]`
//!
//! With several values of `--each` they run one after the other and are compared with the first. `--keep FILE` with
//! `--stop-s SECONDS` stops after so long and keeps the bench; the same call again goes on from there.

#![expect(clippy::disallowed_methods, reason = "it reads the clock and keeps a file")]

use idlewright::bench::Bench;
use idlewright::bench::action::{Action, Life};
use idlewright::bench::pattern::Name;
use idlewright::bench::setup::Setup;
use idlewright::store;

/// What is compared.
const WHAT: [&str; 12] = [
    "hours driven",
    "deposit [µm]",
    "learned idle air [g/s]",
    "idle air the parts need [g/s]",
    "capacity left [%]",
    "water lost [g]",
    "charge [%]",
    "given by the battery [Ah]",
    "gap of plug 1 [mm]",
    "injector 1 clogged [%]",
    "charge by the module [%]",
    "counted through by the module [Ah]",
];

fn values(b: &Bench) -> [f64; 12] {
    let s = &b.plant().s;
    let battery = &s.parts.battery;
    let seen = b.observe();
    let learned = seen.learned.iter().find(|l| l.name == "idle_air_light").map_or(0.0, |l| l.value);
    [
        s.totals.running_s / 3600.0,
        s.parts.throttle.deposit_um,
        learned,
        b.quick_truth()[1],
        100.0 * battery.health(),
        battery.water_lost_g,
        100.0 * battery.charge,
        battery.given_ah,
        s.parts.plugs[0].gap_mm,
        100.0 * s.parts.injectors[0].clogged,
        b.ecm().live().battery_charge_pct,
        b.ecm().s.store.battery.passed_ah,
    ]
}

fn main() -> Result<(), String> {
    let mut each = vec![14_u32];
    let (mut car, mut seed) = ("plover".to_string(), 1_u64);
    let mut life =
        Life { pattern: Name::Mixed, minutes: 57.6, trips: 2, days_a_week: 5, days: 364, each: 14 };
    let (mut keep, mut stop_s) = (None::<String>, f64::INFINITY);
    let mut args = std::env::args().skip(1);
    while let Some(key) = args.next() {
        let value = args.next().ok_or_else(|| format!("`{key}` needs a value"))?;
        let unfit = |_| format!("`{value}` does not fit `{key}`");
        let whole = || value.parse::<u32>().map_err(unfit);
        match key.as_str() {
            "--each" => {
                each = value.split(',').map(|n| n.parse().map_err(unfit)).collect::<Result<_, _>>()?;
            }
            "--days" => life.days = whole()?,
            "--trips" => life.trips = whole()?.min(8) as u8,
            "--days-a-week" => life.days_a_week = whole()?.min(7) as u8,
            "--minutes" => {
                life.minutes = value.parse().map_err(|_| format!("`{value}` does not fit `{key}`"))?
            }
            "--keep" => keep = Some(value),
            "--stop-s" => stop_s = f64::from(whole()?),
            "--seed" => seed = u64::from(whole()?),
            "--car" => car = value,
            "--pattern" => {
                let known = Name::ALL.iter().find(|(word, _)| *word == value);
                life.pattern = known.ok_or_else(|| format!("no pattern `{value}`"))?.1;
            }
            _ => return Err(format!("`{key}` is not known")),
        }
    }
    let text = store::CARS.iter().find(|c| c.0 == car).ok_or_else(|| format!("no car `{car}`"))?.1;
    let mut first: Option<[f64; 12]> = None;
    for each in each {
        life.each = each;
        let began = std::time::Instant::now();
        let setup = Setup::healthy(text, seed, 15.0);
        let kept = keep.as_ref().and_then(|file| std::fs::read(file).ok());
        let mut b = match kept {
            Some(bytes) => Bench::from_bytes(&setup, &bytes).map_err(|e| e.to_string())?,
            None => {
                let mut b = Bench::standing(&setup).map_err(|e| e.to_string())?;
                b.advance_by(1.0);
                let _ = b.act("life", Action::DriveOn(life));
                b
            }
        };
        while let Some(until_s) = b.slow_until_s() {
            let day_s = b.time_s() + 86_400.0;
            b.advance_to(day_s.min(until_s));
            if began.elapsed().as_secs_f64() > stop_s
                && let Some(file) = &keep
            {
                return std::fs::write(file, b.to_bytes()).map_err(|e| e.to_string());
            }
            let v = values(&b);
            eprintln!(
                "each {each}: day {:.0}, {:.0} s, {:.1} h at full physics, deposit {:.2} µm, learned {:.3} g/s, capacity \
                 {:.2} %, water {:.2} g, charge {:.1} %",
                b.time_s() / 86_400.0,
                began.elapsed().as_secs_f64(),
                v[0],
                v[1],
                v[2],
                v[4],
                v[5],
                v[6]
            );
        }
        let last = b.log().iter().rev().find(|e| format!("{:?}", e.kind).contains("riv"));
        println!("each = {each}: {:.0} s. {:?}", began.elapsed().as_secs_f64(), last.map(|e| &e.kind));
        let v = values(&b);
        for (what, x) in WHAT.iter().zip(v) {
            println!("  {what}: {x:.4}");
        }
        let Some(reference) = &first else {
            first = Some(v);
            continue;
        };
        for ((what, x), r) in WHAT.iter().zip(v).zip(reference).skip(1) {
            println!("  {what}: {:+.2} % of the first", 100.0 * (x - r) / r.abs().max(1e-12));
        }
    }
    Ok(())
}
