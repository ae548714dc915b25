//! The graded part of an account: points by row, predictions beside outcomes, what was named as the cause, belief
//! beside truth at the moments that matter, a way to the same end; and a row for a gradebook.
//!
//! *Inside*: words and layout. *Outside*: what an attempt is worth ([`crate::lesson`]).

use super::cells::csv_text;
use super::html::{escape, mark, minus, sentence, upper_first};
use super::{Sheet, clock, fixed, signed};
use crate::bench::view::{LearnedView, Observation, Truth};
use crate::lesson::{Grade, Scored};
use crate::session::Job;
use std::fmt::Write;

macro_rules! put {
    ($out:expr, $($t:tt)*) => {{ let _ = write!($out, $($t)*); }};
}

/// A moment at which belief and truth are set side by side.
#[derive(Debug, Clone, Copy)]
pub struct Beside<'a> {
    /// What it was.
    pub what: &'a str,
    /// When \[s\].
    pub at_s: f64,
    /// What was seen.
    pub seen: &'a Observation,
    /// What was true.
    pub truth: &'a Truth,
}

fn points(x: f64) -> String {
    fixed(x, if (x - x.round()).abs() < 0.05 { 0 } else { 1 })
}

fn closed_words(g: &Grade) -> &'static str {
    if g.closed { "The job is closed" } else { "The job is not closed" }
}

/// One line: closed or not, points, share.
pub fn sum_words(g: &Grade) -> String {
    format!("{}: {} of {} points, {} %", closed_words(g), points(g.points), points(g.of), fixed(g.pct(), 0))
}

/// The same, where room is short.
pub(super) fn short_words(g: &Grade) -> String {
    format!("{} {} %", if g.closed { "✓" } else { "✗" }, fixed(g.pct(), 0))
}

/// Rows of words for the account on a terminal.
pub(super) fn lines(g: &Grade) -> Vec<(String, String)> {
    let mut out = vec![("grade".to_string(), sum_words(g))];
    for r in &g.rows {
        let lost: Vec<&str> = r.findings.iter().filter(|f| !f.met).map(|f| f.says.as_str()).collect();
        let why = if lost.is_empty() { String::new() } else { format!("; not met: {}", lost.join("; ")) };
        out.push((String::new(), format!("{:>4} of {:<3} {}{why}", points(r.points), points(r.of), r.says)));
    }
    for p in &g.predictions {
        let said = p.said.as_deref().unwrap_or("nothing");
        let came = p.came.as_deref().unwrap_or("not seen");
        out.push((String::new(), format!("\"{}\" predicted {said}; came {came}", p.question)));
    }
    out
}

/// The graded part of the debrief.
pub(super) fn html(o: &mut String, sheet: &Sheet, g: &Grade) {
    let (sign, class) = if g.closed { ("✓", "good") } else { ("✗", "bad") };
    put!(
        o,
        "<section><h2>What it is worth</h2><p class=\"verdict\"><span class=\"{class}\" aria-hidden=\"true\">{sign}</span> {}.</p>",
        escape(&sum_words(g))
    );
    if g.rewound > 0 {
        put!(
            o,
            "<p>The bench was set back to a mark {}.</p>",
            if g.rewound == 1 { "once".to_string() } else { format!("{} times", g.rewound) }
        );
    }
    if g.lid_opened > 0 {
        o.push_str("<p>The lid was opened over truth while the work went on.</p>");
    }
    let tasks = g.rows.iter().any(|r| r.task.is_some());
    put!(
        o,
        "<div class=\"scroll\"><table><thead><tr><th class=\"n\">Points</th>{}<th>What is judged, and what was found</th></tr></thead>\
         <tbody>",
        if tasks { "<th>Task</th>" } else { "" }
    );
    for r in &g.rows {
        row(o, r, tasks);
    }
    o.push_str("</tbody></table></div>");
    if !g.rows.iter().any(|r| r.closes) {
        o.push_str("<p class=\"note-line\">This scenario has nothing by which a job could be closed.</p>");
    }
    o.push_str("</section>\n");
    stated(o, g);
    predictions(o, g);
    if sheet.lid_open {
        moments(o, sheet);
        path(o, sheet);
    }
}

fn row(o: &mut String, r: &Scored, tasks: bool) {
    let class = if r.full() { "good" } else { "bad" };
    put!(
        o,
        "<tr><td class=\"n {class}\">{} of {}</td>{}<td>{}{}<ul class=\"found\">",
        points(r.points),
        points(r.of),
        if tasks { format!("<td>{}</td>", escape(r.task.as_deref().unwrap_or(""))) } else { String::new() },
        escape(&r.says),
        if r.closes { " <small>must be whole for the job to be closed</small>" } else { "" }
    );
    for f in &r.findings {
        put!(
            o,
            "<li><span class=\"{}\">{}</span> {}</li>",
            if f.met { "good" } else { "bad" },
            mark(f.met),
            sentence(&f.says)
        );
    }
    o.push_str("</ul></td></tr>");
}

fn stated(o: &mut String, g: &Grade) {
    if g.stated.is_empty() {
        return;
    }
    o.push_str("<section><h2>Named as the cause</h2><ul>");
    for (t, says) in &g.stated {
        put!(o, "<li>at {} min:s: {}</li>", clock(*t, false), escape(says));
    }
    o.push_str("</ul></section>\n");
}

fn predictions(o: &mut String, g: &Grade) {
    if g.predictions.is_empty() {
        return;
    }
    o.push_str(
        "<section><h2>Predicted, and what came</h2><div class=\"scroll\"><table><thead><tr><th>Question</th><th>Predicted</th>\
         <th>What came</th><th>Result</th></tr></thead><tbody>",
    );
    for p in &g.predictions {
        let (class, word) = match p.right {
            Some(true) => ("good", "✓ as predicted"),
            Some(false) => ("bad", "✗ not as predicted"),
            None => ("nb", "–"),
        };
        let looked = p.looked_s.map_or(String::new(), |t| format!("<small>at {}</small>", clock(t, false)));
        put!(
            o,
            "<tr><td>{}<small>put at {}. {}</small></td><td>{}</td><td>{}{looked}</td><td class=\"{class}\">{word}</td></tr>",
            escape(&p.question),
            clock(p.asked_s, false),
            // the reason would tell the outcome to who has not seen it
            if p.came.is_some() { escape(&p.why) } else { String::new() },
            p.said.as_deref().map_or_else(|| "no answer".into(), sentence),
            p.came.as_deref().map_or_else(|| "the attempt ended before".into(), sentence)
        );
    }
    o.push_str("</tbody></table></div></section>\n");
}

/// A column of the table of moments: heading, belief, truth.
type Column = (&'static str, fn(&Beside<'_>) -> Option<(String, String)>);

const COLUMNS: &[Column] = &[
    ("Learned idle air, g/s", |m| {
        let v = value(m.seen, "idle_air_light")?;
        Some((signed(v.value, 2), signed(m.truth.idle_air_needed_g_s, 2)))
    }),
    ("Closed stop, °", |m| {
        let v = value(m.seen, "closed_stop")?;
        Some((fixed(v.value, 2), fixed(m.truth.closed_stop_deg, 2)))
    }),
    ("Wheel table, largest window, °", |m| {
        let most = |f: fn(&crate::bench::view::WindowTruth) -> f64| {
            m.truth.windows.iter().map(f).max_by(|a, b| a.abs().total_cmp(&b.abs()))
        };
        Some((signed(most(|w| w.believed_deg)?, 2), signed(most(|w| w.is_deg)?, 2)))
    }),
];

fn value<'o>(seen: &'o Observation, name: &str) -> Option<&'o LearnedView> {
    seen.learned.iter().find(|v| v.name == name)
}

fn moments(o: &mut String, sheet: &Sheet) {
    let Some((before, after)) = sheet.shown_truth() else { return };
    let first = Beside { what: "hand-over", at_s: sheet.hand_over_s, seen: sheet.before, truth: before };
    let last = Beside { what: "the end", at_s: sheet.end_s, seen: sheet.after, truth: after };
    let all: Vec<Beside<'_>> =
        std::iter::once(first).chain(sheet.moments.iter().copied()).chain(std::iter::once(last)).collect();
    o.push_str(
        "<section><h2>Belief beside truth, at the moments that matter</h2><p class=\"note-line\">What the module believes in pencil, \
         what the parts are in ink; just before each repair and each learn.</p><div class=\"scroll\"><table><thead><tr>\
         <th>Before</th><th class=\"n\">At, min:s</th>",
    );
    for (name, _) in COLUMNS {
        put!(o, "<th class=\"n\">{}</th>", escape(name));
    }
    o.push_str("<th class=\"n\">Engine, rpm</th></tr></thead><tbody>");
    for m in &all {
        put!(
            o,
            "<tr><td>{}</td><td class=\"n\">{}</td>",
            escape(&upper_first(&m.what.replace(['-', '_'], " "))),
            clock(m.at_s, false)
        );
        for (_, of) in COLUMNS {
            match of(m) {
                Some((belief, truth)) => put!(
                    o,
                    "<td class=\"n\"><span class=\"belief\">{}</span> <b>{}</b></td>",
                    minus(&belief),
                    minus(&truth)
                ),
                None => o.push_str("<td class=\"n\">–</td>"),
            }
        }
        put!(o, "<td class=\"n\">{}</td></tr>", fixed(m.seen.live.engine_speed_rpm, 0));
    }
    o.push_str("</tbody></table></div></section>\n");
}

/// A way to the same end: the model solution's work.
fn path(o: &mut String, sheet: &Sheet) {
    let Some(job) = sheet.path else { return };
    put!(
        o,
        "<section><h2>A way to the same end</h2><p>The model solution comes to {}. Every car differs a little, and another order may \
         be as good.</p><p>{}.</p></section>\n",
        escape(&job.sum_words()),
        sentence(&job.lines_words())
    );
}

// ---------------------------------------------------------------------------------------------------
// Gradebook
// ---------------------------------------------------------------------------------------------------

/// What a gradebook's row tells of an attempt.
#[derive(Debug, Clone, Copy)]
pub struct Attempt<'a> {
    /// Trainee, as a pseudonym or a bench's number; none where nobody was named.
    pub trainee: Option<&'a str>,
    /// Scenario.
    pub scenario: &'a str,
    /// Title of what was done.
    pub actions: &'a str,
    /// Seed of the parts.
    pub seed: u64,
    /// Grade.
    pub grade: Option<&'a Grade>,
    /// Job card.
    pub job: &'a Job,
    /// Expectations met, and all.
    pub expectations: (usize, usize),
    /// Stopped before its end.
    pub stopped: bool,
}

/// Columns of a gradebook before those of the grade.
pub const GRADEBOOK: &[&str] = &[
    "trainee",
    "scenario",
    "actions",
    "seed",
    "minutes",
    "money",
    "parts",
    "met",
    "expectations",
    "stopped",
];

/// Columns of a grade, in a gradebook and in what a class handed in.
pub(super) const GRADED: [&str; 10] = [
    "closed",
    "points",
    "of",
    "pct",
    "cause_found",
    "good_parts",
    "predictions_made",
    "rewound",
    "lid_opened",
    "rows",
];

/// The cells of a gradebook's row, as [`GRADEBOOK`] and then the grade's columns name them.
pub fn gradebook_cells(a: &Attempt<'_>) -> Vec<String> {
    let mut all = vec![
        a.trainee.unwrap_or_default().into(),
        a.scenario.into(),
        a.actions.into(),
        a.seed.to_string(),
        fixed(a.job.minutes, 1),
        fixed(a.job.money, 2),
        a.job.parts_bought.to_string(),
        a.expectations.0.to_string(),
        a.expectations.1.to_string(),
        if a.stopped { "yes" } else { "no" }.into(),
    ];
    all.extend(cells(a.grade));
    all
}

/// A grade's cells for a table of many attempts; empty ones where there is none.
pub(super) fn cells(g: Option<&Grade>) -> Vec<String> {
    let yes = |b: bool| if b { "yes" } else { "no" }.to_string();
    let Some(g) = g else { return vec![String::new(); GRADED.len()] };
    let one = |r: &Scored| format!("{}={}/{}", r.id, points(r.points), points(r.of));
    vec![
        yes(g.closed),
        fixed(g.points, 2),
        fixed(g.of, 2),
        fixed(g.pct(), 1),
        g.cause_found.map_or_else(String::new, yes),
        g.good_parts.to_string(),
        g.predictions.iter().filter(|p| p.said.is_some()).count().to_string(),
        g.rewound.to_string(),
        g.lid_opened.to_string(),
        g.rows.iter().map(one).collect::<Vec<_>>().join(" "),
    ]
}

/// A gradebook of one attempt: the columns' names and its row.
pub fn gradebook_csv(a: &Attempt<'_>) -> String {
    let names: Vec<&str> = GRADEBOOK.iter().chain(&GRADED).copied().collect();
    csv_text(&names, [gradebook_cells(a)])
}
