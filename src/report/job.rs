//! The job card: what work cost, line by line.
//!
//! *Inside*: its lines. *Outside*: prices and sums (`session`), how it looks on paper (`card`).

use serde::{Deserialize, Serialize};

/// One line of the card.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct JobLine {
    /// Id of the act; empty for time.
    pub id: String,
    /// What was done, in words.
    pub what: String,
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
