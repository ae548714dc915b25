//! The logbook as a person reads it: rows of text, numbered where a chart marks them.
//!
//! *Inside*: which lines belong together, which add nothing new, which are marked on charts. *Outside*: the words of
//! a single line (`acts`), layout (`logged`).

use super::acts::{Answered, answer_words, answered, entry_id, entry_words};
use super::names::listed;
use crate::bench::action::{Action, Key};
use crate::bench::record::{Entry, Kind};
use crate::catalogue::cautions::Caution;
use crate::link::{DiagResponse, Notice};
use crate::words::facts;
use crate::words::say;

/// One row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    /// When \[s\].
    pub at_s: f64,
    /// Its line of the logbook, from 0.
    pub line: usize,
    /// Its number on the charts, if they mark it.
    pub number: Option<usize>,
    /// Who did it, as an id.
    pub who: &'static str,
    /// What, in words.
    pub what: String,
    /// Cautions for doing it in a real bay.
    pub cautions: &'static [Caution],
    /// Words beside the mark on a chart.
    pub flag: Option<String>,
    /// The module's answer to a request, if it is long.
    pub read: Option<Answered>,
}

/// The rows of a logbook, in its order. An act by hand and its answer are one row; waiting has no row.
pub(super) fn rows(log: &[Entry], lid_open: bool) -> Vec<Row> {
    let mut out: Vec<Row> = Vec::new();
    let mut asked: Option<(usize, &str)> = None;
    let mut turned: Option<(f64, Key)> = None;
    let mut answer_s: Option<(f64, &DiagResponse)> = None;
    for (line, e) in log.iter().enumerate() {
        let id = entry_id(e);
        match &e.kind {
            Kind::Act { action: Action::Wait, .. } => continue,
            Kind::Act { action, .. } => {
                asked = Some((out.len(), id));
                if let Action::Key(key) = action {
                    turned = Some((e.t_s, *key));
                }
            }
            Kind::Answer { answer, .. } => {
                answer_s = Some((e.t_s, answer));
                if let Some((k, of)) = asked
                    && of == id
                    && let Some(row) = out.get_mut(k)
                {
                    add_answer(row, answer);
                    continue;
                }
            }
            Kind::Hindered { why, .. } => {
                if let Some((k, of)) = asked
                    && of == id
                    && let Some(row) = out.get_mut(k)
                {
                    row.what = say!("row-not-done", what = row.what.as_str(), why = facts::hindrance(why));
                    continue;
                }
            }
            // the module notices the key that the row above turned
            Kind::Module { what: Notice::KeyOn }
                if turned.is_some_and(|t| t.1 == Key::On && (e.t_s - t.0).abs() < 0.1) =>
            {
                continue;
            }
            // an answer that is already part of the row above
            Kind::Module { what }
                if answer_s.is_some_and(|(t, a)| (e.t_s - t).abs() < 0.1 && says_the_same(what, a)) =>
            {
                continue;
            }
            _ => {}
        }
        let (who, what) = entry_words(e, lid_open);
        let cautions = if let Kind::Act { action, .. } = &e.kind { action.cautions() } else { &[] };
        let flag = if let Kind::Module { what } = &e.kind { facts::flag(what) } else { None };
        out.push(Row { at_s: e.t_s, line, number: None, who, what, cautions, flag, read: None });
    }
    let mut next = 0;
    let mut latest_s = f64::NEG_INFINITY;
    for row in &mut out {
        // the module dates its entries by its last sample, which may precede the act: no effect is listed before its
        // cause
        latest_s = latest_s.max(row.at_s);
        row.at_s = latest_s;
        if row.at_s >= 0.0 && (["hand", "asks"].contains(&row.who) || row.flag.is_some()) {
            next += 1;
            row.number = Some(next);
        }
    }
    out
}

/// Adds an answer to the row of its request.
fn add_answer(row: &mut Row, answer: &DiagResponse) {
    let told = answered(answer);
    let what = std::mem::take(&mut row.what);
    row.what = match answer {
        DiagResponse::Learned(_) | DiagResponse::Live(_) | DiagResponse::FreezeFrame(Some(_)) => what,
        DiagResponse::Codes(_) | DiagResponse::Readiness(_) | DiagResponse::Routine(_) => {
            say!("row-told", what = what, told = listed(&told.items))
        }
        _ => {
            row.what = say!("row-answered", what = what, answer = answer_words(answer));
            return;
        }
    };
    row.read = Some(told);
}

/// True when a note of the module says the same as its answer.
fn says_the_same(what: &Notice, answer: &DiagResponse) -> bool {
    match (what, answer) {
        (Notice::RoutineStarted { .. }, DiagResponse::Ok) => true,
        (Notice::Refused { because, .. }, DiagResponse::Refused(why)) => because == why,
        _ => false,
    }
}
