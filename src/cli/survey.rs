//! `calibrate`, `curves` and `speed`: the limits for the misfire monitor, how well it detects with them, and how fast
//! the car is simulated.

use super::files::{print, print_data, write_one};
use super::run::check_step;
use crate::app::survey::{self, LIMIT_AXES, Survey};
use crate::app::{Error, terminal};
use crate::words::numbers::number;
use crate::words::say;
use clap::Args;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

#[derive(Args)]
pub(super) struct CalibrateArgs {
    #[arg(long, default_value = "plover")]
    car: String,
    #[arg(long, default_value_t = 1)]
    seed: u64,
    #[arg(long, default_value_t = 4000.0)]
    turns: f64,
}

#[derive(Args)]
pub(super) struct CurvesArgs {
    #[arg(long, default_value = "plover")]
    car: String,
    #[arg(long, default_value_t = 20)]
    wheels: usize,
    #[arg(long, default_value_t = 10_000.0)]
    turns: f64,
    #[arg(long)]
    json: bool,
    #[arg(long)]
    picture: Option<PathBuf>,
}

#[derive(Args)]
pub(super) struct SpeedArgs {
    #[arg(long)]
    json: bool,
    #[arg(long, default_value_t = 2.0)]
    step_deg: f64,
    #[arg(long, default_value_t = 2000.0)]
    seconds: f64,
}

/// Prints the limits in the form in which a car's file holds them.
pub(super) fn calibrate(args: &CalibrateArgs) -> Result<u8, Error> {
    let l = survey::limits(&args.car, args.seed, args.turns)?;
    let (seed, turns) = (args.seed.to_string(), number(args.turns, 0));
    let mut out = format!(
        "# {}\n# {}\n",
        say!("calibrate-by", car = args.car.as_str(), seed = seed, turns = turns),
        say("calibrate-columns")
    );
    for p in &l.points {
        let (h, m) = (&p.score.healthy, &p.score.missed);
        let cell = |x: f64, wide: usize, decimals: usize| format!("{:>wide$}", number(x, decimals));
        let line = say!(
            "calibrate-point",
            rpm = cell(p.rpm, 4, 0),
            kpa = cell(p.map_kpa, 3, 0),
            healthy = cell(h.mean(), 5, 1),
            healthysd = cell(h.sd(), 4, 1),
            missed = cell(m.mean(), 5, 1),
            missedsd = cell(m.sd(), 4, 1),
            limit = cell(p.limit(), 5, 1),
            distance = number(p.distance(), 1),
        );
        out += &format!("# {line}\n");
    }
    let list = |x: &[f64]| x.iter().map(|v| format!("{v:.1}")).collect::<Vec<_>>().join(", ");
    let rows: Vec<String> = l.limit.iter().map(|r| format!("[{}]", list(r))).collect();
    let pairs: Vec<String> = l.no_load_kpa.iter().map(|p| format!("[{:.1}, {:.1}]", p[0], p[1])).collect();
    out += &format!(
        "echo = {:.3}\nrpm = [{}]\nmap_kpa = [{}]\nlimit = [{}]\nno_load_kpa = [{}]\nno_load_ambient = {:.2}\n",
        l.echo,
        list(LIMIT_AXES.0),
        list(LIMIT_AXES.1),
        rows.join(", "),
        pairs.join(", "),
        l.no_load_ambient
    );
    print(&out)?;
    Ok(0)
}

/// Prints detection rates and false counts; draws a chart of them if a file is named.
pub(super) fn curves(args: &CurvesArgs) -> Result<u8, Error> {
    if !(1..=10_000).contains(&args.wheels) || !(200.0..=1e6).contains(&args.turns) {
        return Err(Error::rule(say("usage-curves")));
    }
    let folder = args.picture.as_ref().and_then(|p| p.parent()).filter(|p| !p.as_os_str().is_empty());
    if let Some(folder) = folder.filter(|f| !f.is_dir()) {
        return Err(Error::File(say!("curves-no-folder", folder = folder.display().to_string())));
    }
    let done = AtomicUsize::new(0);
    let told = |_: usize| {
        let k = done.fetch_add(1, Ordering::Relaxed) + 1;
        terminal::progress(&say!("curves-progress", done = k, all = args.wheels));
    };
    let found = survey::curves(&args.car, args.wheels, args.turns, &told)?;
    terminal::progress("");
    if let Some(path) = &args.picture {
        write_one(path, found.picture())?;
    }
    print(&if args.json { format!("{}\n", found.json()) } else { table(&found) })?;
    Ok(0)
}

fn table(s: &Survey) -> String {
    let title = say!("curves-title", car = s.title.as_str(), engines = s.wheels, turns = number(s.turns, 0));
    let groups = ["curves-learned", "curves-not-learned", "curves-false"].map(say);
    let mut out =
        format!("{title}\n{:>6} {:>5}  {:^31}  {:^31}  {:^17}\n", "", "", groups[0], groups[1], groups[2]);
    let shares = ["1 %".to_owned(), "2 %".to_owned(), "5 %".to_owned(), say("curves-all")]
        .map(|s| format!("{s:>7}"))
        .join(" ");
    let (learned, not) = (say("curves-short-learned"), say("curves-short-not"));
    out += &format!("{:>6} {:>5}  {shares}  {shares}  {learned:>8} {not:>8}\n", "rpm", "kPa");
    for c in &s.points {
        let found = |which: usize| {
            let one = |share: usize| format!("{:>7}", number(c.found_pct(share, which), 1));
            (0..4).map(one).collect::<Vec<_>>().join(" ")
        };
        let wrong = [0, 1].map(|which| number(c.wrong_per_1000(s.cylinders, which), 3));
        let lost = if c.lost > 0 {
            format!("  {}", say!("curves-not-held", engines = c.lost))
        } else {
            String::new()
        };
        out += &format!(
            "{:>6} {:>5}  {}  {}  {:>8} {:>8}{lost}\n",
            number(c.rpm, 0),
            number(c.map_kpa, 0),
            found(0),
            found(1),
            wrong[0],
            wrong[1]
        );
    }
    out
}

/// Prints how fast a warm idle and mixed driving are simulated on this machine.
pub(super) fn speed(args: &SpeedArgs) -> Result<u8, Error> {
    check_step(args.step_deg)?;
    if !(1.0..=1e6).contains(&args.seconds) {
        return Err(Error::rule(say!("usage-seconds", given = args.seconds.to_string())));
    }
    let s = survey::speed(args.step_deg, args.seconds)?;
    if args.json {
        print_data(&format!("{}\n", serde_json::json!(s)))?;
        return Ok(0);
    }
    let rows = [
        ("speed-idle", "speed-times", number(s.idle_times_real_time, 0)),
        ("speed-mixed", "speed-times", number(s.mixed_times_real_time.unwrap_or(0.0), 0)),
        ("speed-step", "speed-ns", number(s.ns_per_cylinder_step, 1)),
    ];
    let mut out =
        say!("speed-car", car = s.car.as_str(), cylinders = s.cylinders, step = s.step_deg.to_string());
    for (name, value, x) in rows {
        out += &format!("\n{:<16} {}", say(name), say!(value, x = x));
    }
    print(&format!("{out}\n"))?;
    Ok(0)
}
