//! Recorded signals: which, and their rows.

use crate::bench::Bench;
use crate::bench::view::Observation;
use std::sync::Arc;

/// Time between two rows of the trace and two looks at a condition \[s\].
pub const ROW_S: f64 = 0.1;

/// One column of the trace.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Name with its unit.
    pub name: &'static str,
    /// Words for charts.
    pub words: &'static str,
    /// Unit for charts.
    pub unit: &'static str,
    /// It holds truth.
    pub truth: bool,
}

const fn seen(name: &'static str, words: &'static str, unit: &'static str) -> Column {
    Column { name, words, unit, truth: false }
}
const fn true_(name: &'static str, words: &'static str, unit: &'static str) -> Column {
    Column { name, words, unit, truth: true }
}

/// Columns of the trace.
pub const COLUMNS: &[Column] = &[
    seen("time_s", "time", "s"),
    seen("engine_speed_rpm", "engine speed", "rpm"),
    seen("target_speed_rpm", "target speed", "rpm"),
    seen("map_kpa", "manifold pressure", "kPa"),
    seen("air_g_s", "metered air", "g/s"),
    seen("throttle_deg", "throttle", "°"),
    seen("pedal_pct", "pedal", "%"),
    seen("spark_deg", "spark", "°"),
    seen("lambda_1", "lambda", ""),
    seen("short_trim_1_pct", "short-term trim", "%"),
    seen("long_trim_1_pct", "long-term trim", "%"),
    seen("coolant_c", "coolant", "°C"),
    seen("supply_v", "supply", "V"),
    seen("road_km_h", "road speed", "km/h"),
    seen("idle_air_base_g_s", "idle air: base", "g/s"),
    seen("idle_air_load_g_s", "idle air: loads", "g/s"),
    seen("idle_air_learned_g_s", "idle air: learned", "g/s"),
    seen("idle_air_pi_g_s", "idle air: PI", "g/s"),
    seen("battery_a", "battery current", "A"),
    seen("charge_set_v", "charging set-point", "V"),
    seen("battery_charge_pct", "battery charge by the module", "%"),
    true_("true_deposit_um", "deposit", "µm"),
    true_("true_idle_air_needed_g_s", "idle air the parts need", "g/s"),
    true_("true_leak_g_s", "unmetered leak", "g/s"),
    true_("true_lambda_cylinder_1", "lambda of cylinder 1", ""),
    true_("true_catalyst_c", "catalyst, bank 1", "°C"),
    true_("true_battery_charge_pct", "battery charge", "%"),
    true_("true_battery_left_pct", "battery capacity left", "%"),
    true_("true_battery_water_g", "water lost by the battery", "g"),
];

/// Rows in a piece that is shared between clones: two minutes.
const PIECE_ROWS: usize = 1200;

/// The recorded signals, ten rows a second. Clones share what is older than two minutes, so that a bench can be
/// kept at many moments.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace {
    /// Whole pieces.
    older: Vec<Arc<Vec<f64>>>,
    /// Rows since.
    rows: Vec<f64>,
}

impl Trace {
    /// Rows, each as long as [`COLUMNS`].
    pub fn rows(&self) -> impl Iterator<Item = &[f64]> {
        let older = self.older.iter().flat_map(|p| p.chunks_exact(COLUMNS.len()));
        older.chain(self.rows.chunks_exact(COLUMNS.len()))
    }
    /// Rows from one on, counted from 0.
    pub fn rows_from(&self, first: usize) -> impl Iterator<Item = &[f64]> {
        let (piece, rest) = (first / PIECE_ROWS, first % PIECE_ROWS);
        let whole = piece.min(self.older.len());
        // beyond the whole pieces the tail is counted from its own start
        let skip = if piece > self.older.len() { first - whole * PIECE_ROWS } else { rest };
        let older = self.older.iter().skip(whole).flat_map(|p| p.chunks_exact(COLUMNS.len()));
        older.chain(self.rows.chunks_exact(COLUMNS.len())).skip(skip)
    }
    /// Number of rows.
    pub fn len(&self) -> usize {
        self.older.len() * PIECE_ROWS + self.rows.len() / COLUMNS.len()
    }
    /// No row yet.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Adds a row for the present moment.
    pub fn add(&mut self, b: &Bench, o: &Observation) {
        let l = &o.live;
        let light = o.learned.iter().find(|v| v.name == "idle_air_light").map_or(0.0, |v| v.value);
        let charging = b.ecm().live();
        let plant = b.quick_truth();
        let row = [
            b.time_s(),
            l.engine_speed_rpm,
            l.target_rpm,
            l.map_kpa,
            l.air_g_s,
            l.throttle_deg,
            l.pedal_pct,
            l.spark_deg,
            l.lambda,
            l.short_pct,
            l.long_pct,
            l.coolant_c,
            l.supply_v,
            l.road_km_h,
            l.idle_base_g_s,
            l.idle_load_g_s,
            light,
            l.idle_pi_g_s,
            charging.battery_a,
            charging.charge_set_v,
            charging.battery_charge_pct,
            plant[0],
            plant[1],
            plant[2],
            plant[3],
            plant[4],
            plant[5],
            plant[6],
            plant[7],
        ];
        self.rows.extend(row);
        if self.rows.len() >= PIECE_ROWS * COLUMNS.len() {
            // a vector that has grown may hold twice what is in it
            let mut whole = std::mem::take(&mut self.rows);
            whole.shrink_to_fit();
            self.older.push(Arc::new(whole));
        }
    }
}
