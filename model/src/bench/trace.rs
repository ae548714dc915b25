//! Recorded signals: which ones, and their rows.

use crate::bench::Bench;
use crate::bench::view::Observation;
use crate::catalogue::signals::{RECORDED, Signal, Source};
use std::sync::Arc;

/// Time between two rows of the trace, and between two checks of a condition \[s\].
pub const ROW_S: f64 = 0.1;

/// One column of the trace.
pub type Column = Signal;

/// Columns of the trace.
pub const COLUMNS: &[Column] = RECORDED;

/// Rows in a piece that is shared between clones: two minutes.
const PIECE_ROWS: usize = 1200;

/// The recorded signals, ten rows a second. Clones share all rows older than two minutes, so that a bench can be
/// kept at many points in time.
#[derive(Debug, Clone, Default)]
pub struct Trace {
    /// Whole pieces.
    older: Vec<Arc<Vec<f64>>>,
    /// Rows since the last whole piece.
    rows: Vec<f64>,
}

/// Equality is bit by bit: a value that was not measured equals another that was not measured.
impl PartialEq for Trace {
    fn eq(&self, other: &Self) -> bool {
        let same = |(a, b): (&[f64], &[f64])| a.iter().zip(b).all(|(x, y)| x.to_bits() == y.to_bits());
        self.len() == other.len() && self.rows().zip(other.rows()).all(same)
    }
}

impl Trace {
    /// Rows, each as long as [`COLUMNS`].
    pub fn rows(&self) -> impl Iterator<Item = &[f64]> {
        let older = self.older.iter().flat_map(|p| p.chunks_exact(COLUMNS.len()));
        older.chain(self.rows.chunks_exact(COLUMNS.len()))
    }
    /// Rows from this one on, counted from 0.
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
    /// Whether there is no row yet.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
    /// Adds a row for the present moment. Values that the module would report are not numbers (NaN) while it does not
    /// answer.
    pub fn add(&mut self, b: &Bench, o: &Observation) {
        let truth = b.quick_truth();
        self.rows.extend(COLUMNS.iter().map(|c| match c.source {
            Source::Time => b.time_s(),
            Source::Link(_) | Source::Learned(_) if !o.answers => f64::NAN,
            Source::Link(get) => get(&o.live),
            Source::Learned(name) => o.learned.iter().find(|v| v.name == name).map_or(0.0, |v| v.value),
            Source::Truth(place) => truth[place],
        }));
        if self.rows.len() >= PIECE_ROWS * COLUMNS.len() {
            // a vector that has grown may have twice the capacity that it uses
            let mut whole = std::mem::take(&mut self.rows);
            whole.shrink_to_fit();
            self.older.push(Arc::new(whole));
        }
    }
}
