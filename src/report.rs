//! Results on paper: the account at the end of a run, the trace as CSV, and the debrief as one HTML file to read and to print.
//!
//! *Inside*: units, layout, pictures; the sentences are messages (`assets/words/en/paper.ftl`). *Outside*: judging (the
//! caller hands in what was judged), files and clocks. Same sheet, same bytes.
//!
//! The lid: nothing here shows truth unless the sheet says that the lid is open, whatever the trace holds.
//! Of an expectation about truth a closed lid leaves only whether it was met.
//!
//! Files name those above them only: `sheet`, `cells`; `names`, `acts`, `cautions`, `timeline`; `svg`; `page`; then what stands on
//! pages and terminals.

mod acts;
mod card;
mod cautions;
mod cells;
mod charts;
mod curves;
mod days;
mod debrief;
mod evidence;
mod expectations;
mod grade;
mod gradebook;
mod handed_in;
mod job;
mod logbook;
mod names;
mod page;
mod ruler;
mod sheet;
mod svg;
mod sweep;
mod text;
mod time_axis;
mod time_chart;
mod timeline;
mod twin;
mod twin_page;

pub use self::acts::{action_words, answered, ask_words, entry_words, who_words};
pub use self::cautions::{AtAct, Told, act_cautions, caution_words, job_cautions, standing_cautions};
pub use self::cells::{csv_text, fixed, rows_csv, trace_csv};
pub use self::curves::{Curves, Detection, curves_svg};
pub use self::days::{DAY_HEADS, Day, Spent, day_cells, days};
pub use self::debrief::debrief_html;
pub use self::evidence::{Evidence, evidence_html, evidence_line};
pub use self::grade::sum_words as grade_words;
pub use self::gradebook::{Attempt, GRADEBOOK, gradebook_cells, gradebook_csv};
pub use self::handed_in::{HandedIn, handed_in_csv, handed_in_table};
pub use self::job::job_text;
pub use self::names::{code_states, connector_words, cost_words, learned_words, written};
pub use self::sheet::{Beside, Sheet};
pub use self::svg::escaped;
pub use self::sweep::{
    Axis, Item, Of, PERCENTS, Stat, Swept, SweptRun, sweep_csv, sweep_html, sweep_runs_csv, sweep_table,
};
pub use self::text::{cautions_text, table};
pub use self::twin::{Difference, Pair, twin_lines, twin_table};
pub use self::twin_page::{twin_html, twin_svg, twin_traces};

#[cfg(test)]
mod tests;
