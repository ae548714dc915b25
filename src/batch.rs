//! Many engines at once: what the misfire monitor's limits should be, and how well it tells cylinders apart.
//!
//! *Inside*: which points are held, how engines are spread over threads, what is made of their scores.
//! *Outside*: holding and watching one engine ([`crate::bench::survey`]), printing.
//!
//! The same car, seeds and points give the same numbers on any number of threads.
//!
//! **Checked by** `tests/module/misfire.rs`.

use crate::bench::action::{PartChoice, PartKind};
use crate::bench::setup::{Setup, Weather};
use crate::bench::survey::{self, NoSurvey, Score, Shadow};
use crate::bench::{self, Bench, car::Car};
use std::sync::atomic::{AtomicUsize, Ordering};

/// Runs `work` on 0..n over the machine's cores; results in order.
pub fn spread<T: Send>(n: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get).min(n.max(1));
    let next = AtomicUsize::new(0);
    let mut all: Vec<(usize, T)> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..cores)
            .map(|_| {
                scope.spawn(|| {
                    let mut mine = Vec::new();
                    loop {
                        let i = next.fetch_add(1, Ordering::Relaxed);
                        if i >= n {
                            return mine;
                        }
                        mine.push((i, work(i)));
                    }
                })
            })
            .collect();
        // one that panics is no engine less, it is the end of the survey
        workers
            .into_iter()
            .flat_map(|w| w.join().unwrap_or_else(|why| std::panic::resume_unwind(why)))
            .collect()
    });
    all.sort_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, t)| t).collect()
}

/// A healthy engine, warm, idling, its wheel learned by the module's own routine.
fn learned(car_toml: &str, seed: u64) -> Result<Bench, NoSurvey> {
    let mut b = survey::warm(&Setup::healthy(car_toml, seed, 90.0))?;
    survey::learn_wheel(&mut b)?;
    Ok(b)
}

/// Speeds at which limits are worked out \[rpm\]; the first is idle.
pub const LIMIT_RPM: [f64; 7] = [720.0, 1200.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0];
/// Manifold pressures of the limits \[kPa\].
pub const LIMIT_KPA: [f64; 5] = [28.0, 40.0, 55.0, 70.0, 85.0];

/// One point of a survey for limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Speed \[rpm\].
    pub rpm: f64,
    /// Manifold pressure reached \[kPa\].
    pub map_kpa: f64,
    /// No load was put on.
    pub no_load: bool,
    /// What was seen.
    pub score: Score,
}

impl Point {
    /// As many standard deviations above the healthy as below the missed \[1/s²\].
    pub fn limit(&self) -> f64 {
        let (h, m) = (&self.score.healthy, &self.score.missed);
        h.mean() + h.sd() * (m.mean() - h.mean()) / (h.sd() + m.sd()).max(1e-9)
    }
    /// How many that are \[-\].
    pub fn distance(&self) -> f64 {
        let (h, m) = (&self.score.healthy, &self.score.missed);
        (m.mean() - h.mean()) / (h.sd() + m.sd()).max(1e-9)
    }
}

/// Limits by speed and pressure, with what they were worked out from.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Points held.
    pub points: Vec<Point>,
    /// Limits \[1/s²\] by [`LIMIT_RPM`] and [`LIMIT_KPA`].
    pub limit: Vec<Vec<f64>>,
    /// Pressure without load, the alternator resting \[kPa\], over speed \[rpm\].
    pub no_load_kpa: Vec<[f64; 2]>,
    /// By how much that falls with ambient pressure \[kPa/kPa\].
    pub no_load_ambient: f64,
    /// Echo of a missed push in the next window \[-\].
    pub echo: f64,
}

/// Works the limits out from healthy engines with learned wheels, a few of whose sparks are swallowed.
pub fn limits(car_toml: &str, seed: u64, turns: f64) -> Result<Limits, NoSurvey> {
    let warm = learned(car_toml, seed)?;
    let edges = warm.ecm().s.store.wheel.edges_deg.clone();
    let n = warm.cylinders();
    let mut wanted: Vec<(f64, Option<f64>)> = Vec::new();
    for rpm in LIMIT_RPM {
        wanted.push((rpm, None));
        wanted.extend(LIMIT_KPA.iter().skip(1).filter(|_| rpm > 1000.0).map(|kpa| (rpm, Some(*kpa))));
    }
    let points: Vec<Option<Point>> = spread(wanted.len(), |i| {
        let (rpm, kpa) = wanted[i];
        let mut b = warm.clone();
        let idle = rpm < 1000.0;
        // without load the foot comes to rest within half a minute
        let for_s = match (idle, kpa) {
            (true, _) => 10.0,
            (_, None) => 30.0,
            _ => 45.0,
        };
        let reached = survey::hold(&mut b, (!idle).then_some(rpm), kpa, for_s);
        // a pressure below that without load cannot be held, one that full throttle does not give neither
        if kpa.is_some_and(|k| (reached - k).abs() > 2.5)
            || !idle && (b.ecm().s.inputs.rpm - rpm).abs() > 60.0
        {
            return None;
        }
        let mut shadow = [Shadow::new(Some(&edges))];
        survey::watch(&mut b, turns, &vec![0.01; n], &mut shadow);
        let score = shadow[0].score;
        (score.missed.n > 20).then_some(Point { rpm, map_kpa: reached, no_load: kpa.is_none(), score })
    });
    let points: Vec<Point> = points.into_iter().flatten().collect();
    let row = |rpm: f64| -> Vec<&Point> { points.iter().filter(|p| p.rpm == rpm).collect() };
    let mut limit = Vec::new();
    for rpm in LIMIT_RPM {
        let mut at: Vec<[f64; 2]> = row(rpm).iter().map(|p| [p.map_kpa, p.limit()]).collect();
        at.sort_by(|a, b| a[0].total_cmp(&b[0]));
        if at.is_empty() {
            return Err(NoSurvey::NotHeld(rpm));
        }
        limit.push(LIMIT_KPA.iter().map(|k| along(&at, *k)).collect::<Vec<f64>>());
    }
    // idle, and a speed at which a small engine cannot be loaded, is seen at one pressure only: above it the limit rises as
    // the next speed's row does
    for i in (0..LIMIT_RPM.len() - 1).rev() {
        if row(LIMIT_RPM[i]).len() == 1 {
            let first = limit[i][0];
            limit[i] = limit[i + 1].iter().map(|l| first * l / limit[i + 1][0]).collect();
        }
    }
    let book_kpa = Weather::default().ambient_kpa;
    let high = no_load(car_toml, seed, book_kpa)?;
    let low = no_load(car_toml, seed, THIN_KPA)?;
    let falls = high.iter().zip(&low).map(|(h, l)| h[1] - l[1]).sum::<f64>() / high.len() as f64;
    let no_load_ambient = falls / (book_kpa - THIN_KPA);
    let echoes: Vec<f64> = points.iter().map(|p| p.score.after.mean() / p.score.missed.mean()).collect();
    let echo = (echoes.iter().sum::<f64>() / echoes.len().max(1) as f64).max(0.0);
    Ok(Limits { points, limit, no_load_kpa: high, no_load_ambient, echo })
}

/// Air of some 2500 m, in which the line of no load is drawn once more \[kPa\].
const THIN_KPA: f64 = 75.0;

/// Manifold pressure \[kPa\] at which a healthy engine turns itself and no more, over speed \[rpm\]. Its alternator gives
/// nothing, as one that rests beside a full battery.
fn no_load(car_toml: &str, seed: u64, ambient_kpa: f64) -> Result<Vec<[f64; 2]>, NoSurvey> {
    let mut setup = Setup::healthy(car_toml, seed, 90.0);
    setup.weather.ambient_kpa = ambient_kpa;
    setup.parts = vec![PartChoice { wear_pct: Some(100.0), ..PartChoice::new(PartKind::Alternator) }];
    let warm = survey::warm(&setup)?;
    Ok(spread(LIMIT_RPM.len(), |i| {
        let rpm = LIMIT_RPM[i];
        let reached = survey::hold(&mut warm.clone(), (rpm > 1000.0).then_some(rpm), None, 30.0);
        [rpm, reached]
    }))
}

/// Linear between points, level below the first, along the last two beyond the last.
fn along(at: &[[f64; 2]], x: f64) -> f64 {
    if at.len() == 1 || x <= at[0][0] {
        return at[0][1];
    }
    let i = at.iter().rposition(|p| p[0] <= x).unwrap_or(0).min(at.len() - 2);
    let [a, b] = [at[i], at[i + 1]];
    a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1])
}

/// Speeds of the detection curves \[rpm\]; the first is idle.
pub const CURVE_RPM: [f64; 5] = [720.0, 2000.0, 3000.0, 4000.0, 6000.0];
/// Shares of swallowed sparks \[-\]; the last is continuous.
pub const CURVE_SHARES: [f64; 4] = [0.01, 0.02, 0.05, 1.0];

/// What one speed and load came to over all wheels.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Speed \[rpm\].
    pub rpm: f64,
    /// The lower load, or the higher.
    pub low: bool,
    /// Mean manifold pressure \[kPa\].
    pub map_kpa: f64,
    /// Real misfires and how many were found, by share: learned, not learned.
    pub found: [[(u64, u64); 2]; 4],
    /// False counts and windows: learned, not learned.
    pub wrong: [(u64, u64); 2],
    /// Engines that could not be held there.
    pub lost: u64,
}

impl Curve {
    /// Share found \[%\], learned (0) or not (1).
    pub fn found_pct(&self, share: usize, which: usize) -> f64 {
        let (real, found) = self.found[share][which];
        100.0 * found as f64 / real.max(1) as f64
    }
    /// False counts in 1000 turns.
    pub fn wrong_per_1000(&self, cylinders: usize, which: usize) -> f64 {
        let (wrong, windows) = self.wrong[which];
        1000.0 * wrong as f64 * cylinders as f64 / 2.0 / windows.max(1) as f64
    }
}

/// Watches `wheels` engines with parts of their own, each with its wheel learned and beside it without a table.
/// `turns` without a misfire for false counts; a quarter of it for each share.
pub fn curves(
    car_toml: &str,
    wheels: usize,
    turns: f64,
    speeds_rpm: &[f64],
    told: &(dyn Fn(usize) + Sync),
) -> Result<Vec<Curve>, NoSurvey> {
    let car = Car::parse(car_toml).map_err(|e| NoSurvey::Bench(bench::Error::Car(e)))?;
    let no_load = car.ecm.s.misfire.no_load_kpa.clone();
    let points: Vec<(f64, bool)> = speeds_rpm.iter().flat_map(|r| [(*r, true), (*r, false)]).collect();
    let each: Vec<Result<Vec<Curve>, NoSurvey>> = spread(wheels, |w| {
        let warm = learned(car_toml, w as u64 + 1)?;
        let edges = warm.ecm().s.store.wheel.edges_deg.clone();
        let n = warm.cylinders();
        let suspect = w % n;
        let mut all = Vec::new();
        for (rpm, low) in &points {
            let idle = *rpm < 1000.0;
            // the lower: as near to no load as the rule goes; idle has its own, and one with a load on it
            let kpa = if *low { no_load.at(*rpm) + 13.0 } else { 75.0 };
            let mut b = warm.clone();
            let reached = if idle {
                if !*low {
                    b.act(
                        "",
                        crate::bench::action::Action::Load(crate::bench::action::Load::Compressor, true),
                    );
                }
                survey::hold(&mut b, None, None, 10.0)
            } else {
                survey::hold(&mut b, Some(*rpm), Some(kpa), 40.0)
            };
            let mut c = Curve {
                rpm: *rpm,
                low: *low,
                map_kpa: reached,
                found: [[(0, 0); 2]; 4],
                wrong: [(0, 0); 2],
                lost: 0,
            };
            if !idle && ((reached - kpa).abs() > 4.0 || (b.ecm().s.inputs.rpm - rpm).abs() > 80.0) {
                c.lost = 1;
                all.push(c);
                continue;
            }
            let shadows = || [Shadow::new(Some(&edges)), Shadow::new(None)];
            let mut healthy = b.clone();
            let mut s = shadows();
            survey::watch(&mut healthy, turns, &vec![0.0; n], &mut s);
            for (k, s) in s.iter().enumerate() {
                c.wrong[k] = (s.score.wrong, s.score.windows);
            }
            for (share, found) in CURVE_SHARES.iter().zip(&mut c.found) {
                let mut swallowed = vec![0.0; n];
                swallowed[suspect] = *share;
                let mut b = b.clone();
                let mut s = shadows();
                survey::watch(
                    &mut b,
                    if *share < 1.0 { 0.25 * turns } else { 0.05 * turns },
                    &swallowed,
                    &mut s,
                );
                for (k, s) in s.iter().enumerate() {
                    found[k] = (s.score.real, s.score.found);
                }
            }
            all.push(c);
        }
        told(w);
        Ok(all)
    });
    let mut sum: Vec<Curve> = Vec::new();
    let mut held = vec![0.0; points.len()];
    for one in each {
        let one = one?;
        if sum.is_empty() {
            held.iter_mut().zip(&one).for_each(|(h, c)| *h += f64::from(u8::from(c.lost == 0)));
            sum = one;
            continue;
        }
        for ((s, c), h) in sum.iter_mut().zip(&one).zip(&mut held) {
            if c.lost == 0 {
                s.map_kpa = (s.map_kpa * *h + c.map_kpa) / (*h + 1.0);
                *h += 1.0;
            }
            s.lost += c.lost;
            for k in 0..2 {
                s.wrong[k] = (s.wrong[k].0 + c.wrong[k].0, s.wrong[k].1 + c.wrong[k].1);
                for (a, b) in s.found.iter_mut().zip(&c.found) {
                    a[k] = (a[k].0 + b[k].0, a[k].1 + b[k].1);
                }
            }
        }
    }
    Ok(sum)
}
