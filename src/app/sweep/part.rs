//! The file of a sweep's runs: written, read again, and put together from the parts of several machines.
//!
//! *Inside*: its form. Numbers are written so that they read back as the same bits. *Outside*: what is kept of a run.

use super::{FILES, Head, Recipe, Row, Sweep};
use crate::app::verify::Share;
use crate::app::{Error, Files, Sort, VERSION, text_of};
use crate::bench::record::PHYSICS;
use crate::report::{PERCENTS, Swept};
use crate::store::SOURCES;
use crate::words::say;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Version of the file's form.
const SCHEMA: u64 = 1;
/// Most missing runs that a message names.
const NAMED: usize = 5;

/// The file.
#[derive(Serialize, Deserialize)]
struct Part {
    schema: u64,
    version: String,
    /// The recorded hash of the physics, and that of the sources that compute.
    physics: String,
    sources: String,
    sweep: Recipe,
    share: Share,
    expectations: Vec<Head>,
    rows: Vec<PartRow>,
    /// The spread at each point, of a whole sweep.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    points: Vec<Value>,
}

#[derive(Serialize, Deserialize)]
struct PartRow {
    run: usize,
    all_met: bool,
    points_pct: Option<f64>,
    /// The engine did not turn at the end.
    stopped: bool,
    /// By signal.
    values: Vec<Option<f64>>,
    /// Index of the expectation, whether it was met, the number found.
    judged: Vec<(usize, bool, Option<f64>)>,
}

/// The file's text: one object on one line.
pub(super) fn text(sweep: &Sweep) -> String {
    let heads = sweep.heads();
    let index: BTreeMap<&Head, usize> = heads.iter().enumerate().map(|(k, h)| (*h, k)).collect();
    let row = |(run, r): (&usize, &Row)| PartRow {
        run: *run,
        all_met: r.all_met,
        points_pct: r.points_pct,
        stopped: r.stopped,
        values: r.values.clone(),
        judged: r.judged.iter().map(|(h, met, x)| (index[h], *met, *x)).collect(),
    };
    let part = Part {
        schema: SCHEMA,
        version: VERSION.to_owned(),
        physics: PHYSICS.to_owned(),
        sources: SOURCES.to_owned(),
        sweep: sweep.recipe.clone(),
        share: sweep.share,
        expectations: heads.into_iter().cloned().collect(),
        rows: sweep.rows.iter().map(row).collect(),
        points: if sweep.is_whole() { points(&sweep.swept()) } else { Vec::new() },
    };
    json!(part).to_string() + "\n"
}

/// The spread as data.
fn points(s: &Swept<'_>) -> Vec<Value> {
    let one = |point: usize| {
        let at: Map<String, Value> = s
            .over
            .iter()
            .zip(Swept::values_at(s.over, point))
            .map(|(axis, x)| (axis.path.clone(), json!(x)))
            .collect();
        let item = |item: &crate::report::Item| {
            let stat = &item.at[point];
            let percentiles = stat.percentiles.map(|p| {
                PERCENTS.iter().zip(p).map(|(k, x)| (format!("p{k}"), json!(x))).collect::<Map<_, _>>()
            });
            json!({
                "of": item.of.word(), "what": item.id, "numbers": stat.values.len(), "percentiles": percentiles,
                "judged": stat.judged.0, "met": stat.judged.1, "met_pct": stat.met_pct(),
                "engine_stopped": stat.stopped,
            })
        };
        json!({ "at": at, "spread": s.items.iter().map(item).collect::<Vec<_>>() })
    };
    let points: usize = s.over.iter().map(|a| a.values.len()).product();
    (0..points).map(one).collect()
}

/// Reads the runs of a file, or of the folder that holds it.
pub(super) fn read(files: &dyn Files, name: &str) -> Result<Sweep, Error> {
    let in_folder = format!("{}/{}", name.trim_end_matches(['/', '\\']), FILES[0]);
    let name = if files.has(&in_folder) { in_folder.as_str() } else { name };
    let wrong = |why: &str| Error::of(name, say(why));
    let text = text_of(files, name, Sort::Logbook)?;
    // another version's form may differ in anything but this
    let value: Value = serde_json::from_str(&text).map_err(|_| wrong("sweep-no-part"))?;
    let of = |key: &str| value.get(key).and_then(Value::as_str).unwrap_or_default();
    if value.get("sweep").is_none() || of("version").is_empty() {
        return Err(wrong("sweep-no-part"));
    }
    if (of("version"), of("physics"), of("sources")) != (VERSION, PHYSICS, SOURCES) {
        return Err(wrong("sweep-part-version"));
    }
    let part: Part = serde_json::from_value(value).map_err(|_| wrong("sweep-no-part"))?;
    let (of, all) = (part.share, part.sweep.all());
    let mut rows = BTreeMap::new();
    for r in part.rows {
        let judged =
            r.judged.into_iter().map(|(k, met, x)| Some((part.expectations.get(k)?.clone(), met, x)));
        let judged = judged.collect::<Option<Vec<_>>>().ok_or_else(|| wrong("sweep-no-part"))?;
        let (all_met, points_pct, stopped) = (r.all_met, r.points_pct, r.stopped);
        let row = Row { values: r.values, judged, all_met, points_pct, stopped };
        let fits = r.run < all && of.of > 0 && of.has(r.run) && row.values.len() == part.sweep.signals.len();
        if !fits || rows.insert(r.run, row).is_some() {
            return Err(wrong("sweep-no-part"));
        }
    }
    Ok(Sweep { recipe: part.sweep, share: of, rows, fresh: 0, stopped: false })
}

/// Puts parts together; refuses those of different sweeps, a run that stands in two, and runs that stand in none.
pub(super) fn merged(files: &dyn Files, names: &[String]) -> Result<Sweep, Error> {
    let mut whole: Option<Sweep> = None;
    for name in names {
        let part = read(files, name)?;
        let Some(all) = &mut whole else {
            whole = Some(part);
            continue;
        };
        if all.recipe != part.recipe || all.share.of != part.share.of {
            return Err(Error::of(name, say("sweep-part-differs")));
        }
        if let Some(run) = part.rows.keys().find(|k| all.rows.contains_key(k)) {
            return Err(Error::of(name, say!("sweep-part-twice", run = *run)));
        }
        all.rows.extend(part.rows);
    }
    let Some(all) = whole else { return Err(Error::rule(say("sweep-no-part"))) };
    let missing: Vec<usize> = (0..all.recipe.all()).filter(|k| !all.rows.contains_key(k)).collect();
    if !missing.is_empty() {
        let shares: BTreeSet<usize> = missing.iter().map(|k| k % all.share.of + 1).collect();
        let named: Vec<String> = shares.iter().take(NAMED).map(|k| format!("{k}/{}", all.share.of)).collect();
        return Err(Error::rule(say!(
            "sweep-part-missing",
            runs = missing.len(),
            all = all.recipe.all(),
            shares = named.join(", "),
        )));
    }
    Ok(Sweep { share: Share::WHOLE, ..all })
}
