//! Tables for programs: comma-separated rows (RFC 4180), with a decimal point whatever the language.
//!
//! *Inside*: the one writer of all CSV files, the rules for a cell's contents, the trace. *Outside*: which rows a
//! file has.

use crate::bench::trace::{COLUMNS, Trace};

/// Rows below a header row. Quotes are used only where needed; a cell is on one line and is never a formula to a
/// spreadsheet.
pub fn csv_text<S: AsRef<str>>(names: &[S], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut out = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    let mut write = |row: Vec<String>| {
        let written = out.write_record(&row);
        debug_assert!(written.is_ok(), "a row goes into memory: {written:?}");
    };
    write(names.iter().map(|n| cell(n.as_ref())).collect());
    rows.into_iter().for_each(|row| write(row.iter().map(|c| cell(c)).collect()));
    let bytes = out.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// A cell: control characters become blanks, a true minus sign before a number becomes a hyphen-minus for programs,
/// and text that a spreadsheet would take for a formula is preceded by an apostrophe.
fn cell(text: &str) -> String {
    let mut text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if let Some(digits) = text.strip_prefix('\u{2212}').filter(|d| d.parse::<f64>().is_ok()) {
        text = format!("-{digits}");
    }
    let begins = text.trim_start();
    if begins.starts_with(['=', '+', '-', '@']) && begins.parse::<f64>().is_err() {
        text.insert(0, '\'');
    }
    text
}

/// A number for a program: fixed decimals and a point, with no minus sign on zero.
pub fn fixed(x: f64, decimals: usize) -> String {
    let text = format!("{x:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if !rest.bytes().any(|b| (b'1'..=b'9').contains(&b)) => rest.into(),
        _ => text,
    }
}

/// The trace as CSV: a header with names and units, then a row for each sample. Truth under an open lid only, learned
/// values where they were read, too.
pub fn trace_csv(trace: &Trace, lid_open: bool, read: bool) -> String {
    rows_csv(trace.rows(), lid_open, read)
}

/// The same for given rows of a trace.
pub fn rows_csv<'r>(rows: impl Iterator<Item = &'r [f64]>, lid_open: bool, read: bool) -> String {
    let shown: Vec<usize> = (0..COLUMNS.len()).filter(|i| COLUMNS[*i].seen(lid_open, read)).collect();
    let names: Vec<&str> = shown.iter().map(|i| COLUMNS[*i].name).collect();
    let number = |name: &str, x: f64| {
        if x.is_finite() { fixed(x, if name == "time_s" { 2 } else { 3 }) } else { String::new() }
    };
    csv_text(&names, rows.map(|row| shown.iter().map(|i| number(COLUMNS[*i].name, row[*i])).collect()))
}
