//! `calibrate` and `curves`: what the misfire monitor's limits should be, and how well it then does.

use super::Trouble;
use crate::batch;
use crate::bench::survey::NoSurvey;
use crate::report;
use crate::store;
use crate::words::facts;
use clap::Args;
use serde_json::json;

#[derive(Args)]
pub(super) struct CalibrateArgs {
    /// Car: a shipped one's name, or a car file
    #[arg(long, default_value = "plover")]
    car: String,
    /// Seed of the engine's parts
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Turns watched at each point
    #[arg(long, default_value_t = 4000.0)]
    turns: f64,
}

#[derive(Args)]
pub(super) struct CurvesArgs {
    /// Car: a shipped one's name, or a car file
    #[arg(long, default_value = "plover")]
    car: String,
    /// Engines with parts and wheels of their own
    #[arg(long, default_value_t = 20)]
    wheels: usize,
    /// Turns watched for false counts on each
    #[arg(long, default_value_t = 10_000.0)]
    turns: f64,
    /// Print one JSON object instead of the table
    #[arg(long)]
    json: bool,
    /// Draw misfires found and false counts into this SVG file as well
    #[arg(long)]
    picture: Option<std::path::PathBuf>,
}

fn car_text(name: &str) -> Result<String, Trouble> {
    store::car_text(name, Some(std::path::Path::new("."))).map_err(Trouble::Input)
}

/// Prints the limits as they stand in a car's file.
fn no_survey(why: NoSurvey) -> Trouble {
    Trouble::Input(facts::no_survey(&why))
}

pub(super) fn calibrate(args: &CalibrateArgs) -> Result<u8, Trouble> {
    let text = car_text(&args.car)?;
    let l = batch::limits(&text, args.seed, args.turns).map_err(no_survey)?;
    println!(
        "# worked out by `idlewright calibrate --car {} --seed {} --turns {:.0}`:",
        args.car, args.seed, args.turns
    );
    println!("# healthy firings and missed ones, mean and standard deviation of the index, 1/s²");
    for p in &l.points {
        let (h, m) = (&p.score.healthy, &p.score.missed);
        println!(
            "# {:>4.0} rpm {:>3.0} kPa: healthy {:>5.1} ± {:>4.1}, missed {:>5.1} ± {:>4.1}, limit {:>5.1} ({:.1} deviations)",
            p.rpm,
            p.map_kpa,
            h.mean(),
            h.sd(),
            m.mean(),
            m.sd(),
            p.limit(),
            p.distance()
        );
    }
    let list = |x: &[f64]| x.iter().map(|v| format!("{v:.1}")).collect::<Vec<_>>().join(", ");
    println!("echo = {:.3}", l.echo);
    println!("rpm = [{}]", list(&batch::LIMIT_RPM));
    println!("map_kpa = [{}]", list(&batch::LIMIT_KPA));
    let rows: Vec<String> = l.limit.iter().map(|r| format!("[{}]", list(r))).collect();
    println!("limit = [{}]", rows.join(", "));
    let pairs: Vec<String> = l.no_load_kpa.iter().map(|p| format!("[{:.1}, {:.1}]", p[0], p[1])).collect();
    println!("no_load_kpa = [{}]", pairs.join(", "));
    Ok(0)
}

/// Which of the shares is drawn.
const DRAWN: usize = 1;

/// Writes the picture.
#[expect(clippy::disallowed_methods, reason = "the command line writes the file that it was told to")]
fn draw(
    path: &std::path::Path,
    args: &CurvesArgs,
    car: &str,
    cylinders: usize,
    all: &[batch::Curve],
) -> Result<(), Trouble> {
    let held = all.iter().filter(|c| c.lost < args.wheels as u64);
    let points = held
        .map(|c| report::Detection {
            rpm: c.rpm,
            low: c.low,
            found_pct: [c.found_pct(DRAWN, 0), c.found_pct(DRAWN, 1)],
            wrong_per_1000: [c.wrong_per_1000(cylinders, 0), c.wrong_per_1000(cylinders, 1)],
        })
        .collect();
    let share_pct = 100.0 * batch::CURVE_SHARES[DRAWN];
    let svg = report::curves_svg(&report::Curves {
        car,
        engines: args.wheels,
        turns: args.turns,
        share_pct,
        points,
    });
    std::fs::write(path, svg).map_err(|e| Trouble::File(format!("cannot write `{}`: {e}", path.display())))
}

/// Prints detection and false counts; a file, if one is named, takes their picture.
pub(super) fn curves(args: &CurvesArgs) -> Result<u8, Trouble> {
    let text = car_text(&args.car)?;
    let car = crate::bench::car::Car::parse(&text).map_err(|e| Trouble::Input(e.to_string()))?;
    let n = car.plant.layout.cylinders();
    if !(1..=10_000).contains(&args.wheels) || !(200.0..=1e6).contains(&args.turns) {
        return Err(Trouble::Input("--wheels from 1 to 10000, --turns from 200 to 1000000".into()));
    }
    let folder = args.picture.as_ref().and_then(|p| p.parent()).filter(|p| !p.as_os_str().is_empty());
    if let Some(folder) = folder.filter(|f| !f.is_dir()) {
        return Err(Trouble::File(format!("there is no folder `{}` for the picture", folder.display())));
    }
    let done = std::sync::atomic::AtomicUsize::new(0);
    let told = |_: usize| {
        let k = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
        eprint!("\r{k} of {} engines", args.wheels);
    };
    let all = batch::curves(&text, args.wheels, args.turns, &batch::CURVE_RPM, &told).map_err(no_survey)?;
    eprintln!();
    if let Some(path) = &args.picture {
        draw(path, args, &car.title, n, &all)?;
    }
    if args.json {
        let rows: Vec<_> = all
            .iter()
            .map(|c| {
                json!({
                    "rpm": c.rpm, "load": if c.low { "low" } else { "high" }, "map_kpa": c.map_kpa, "not_held": c.lost,
                    "found_pct_learned": (0..4).map(|s| c.found_pct(s, 0)).collect::<Vec<_>>(),
                    "found_pct_not_learned": (0..4).map(|s| c.found_pct(s, 1)).collect::<Vec<_>>(),
                    "false_per_1000_learned": c.wrong_per_1000(n, 0),
                    "false_per_1000_not_learned": c.wrong_per_1000(n, 1),
                })
            })
            .collect();
        println!(
            "{}",
            json!({ "car": car.name, "wheels": args.wheels, "turns": args.turns, "shares": batch::CURVE_SHARES, "points": rows })
        );
    } else {
        println!(
            "{}: {} engines, {:.0} turns each; real misfires found on the right cylinder, %",
            car.title, args.wheels, args.turns
        );
        println!(
            "{:>6} {:>5}  {:^31}  {:^31}  {:^17}",
            "", "", "wheel learned", "not learned", "false in 1000"
        );
        println!(
            "{:>6} {:>5}  {:>7} {:>7} {:>7} {:>7}  {:>7} {:>7} {:>7} {:>7}  {:>8} {:>8}",
            "rpm", "kPa", "1 %", "2 %", "5 %", "all", "1 %", "2 %", "5 %", "all", "learned", "not"
        );
        for c in &all {
            let f = |w: usize| {
                (0..4).map(|s| format!("{:>7.1}", c.found_pct(s, w))).collect::<Vec<_>>().join(" ")
            };
            let lost = if c.lost > 0 { format!("  ({} could not be held)", c.lost) } else { String::new() };
            println!(
                "{:>6.0} {:>5.0}  {}  {}  {:>8.3} {:>8.3}{lost}",
                c.rpm,
                c.map_kpa,
                f(0),
                f(1),
                c.wrong_per_1000(n, 0),
                c.wrong_per_1000(n, 1)
            );
        }
    }
    Ok(0)
}
