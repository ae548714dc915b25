//! A job as it is handed to a trainee, for a terminal.

use super::text::{cautions_text, plain};
use crate::bench::car::Car;
use crate::scenario::{Ask, AskKind, Scenario};
use crate::words::numbers::number;
use crate::words::say;

/// A job as a trainee gets it: the complaint, the cautions, the possible causes and the questions, each with the id
/// that an action or answers file uses for it. Nothing in it gives away which cause is right.
pub fn job_text(of: &Scenario) -> String {
    let about = &of.about;
    let car = Car::parse(&of.setup.car_toml).map_or(String::new(), |c| c.title);
    let mut text = format!(
        "{}: {}\n{}\n",
        about.id,
        plain(&about.title),
        say!("printed-job-car", car = plain(&car), level = about.level)
    );
    text += &format!("\n{}\n\n", say!("printed-job-complaint", complaint = plain(&about.complaint)));
    text += &cautions_text(&about.cautions, &[]);
    let Some(plan) = &of.plan else {
        return text + &format!("\n{}\n", say("printed-job-unmarked"));
    };
    if !plan.causes.is_empty() {
        text += &format!("\n{}\n", say("printed-job-causes"));
        for cause in &plan.causes {
            text += &format!("  {:<20} {}\n", cause.id, plain(&cause.says));
        }
    }
    if !plan.asks.is_empty() {
        text += &format!("\n{}\n", say("printed-job-questions"));
        for ask in &plan.asks {
            text += &format!("  {:<20} {}\n", ask.id, plain(&ask.question));
            for line in [answer(ask), when(ask)] {
                text += &format!("{:23}{}\n", "", plain(&line));
            }
        }
    }
    if let Some(minutes) = plan.minutes {
        text += &format!("\n{}\n", say!("printed-job-minutes", minutes = number(minutes, 0)));
    }
    if let Some(money) = plan.money {
        text += &format!("{}\n", say!("printed-job-money", money = number(money, 0)));
    }
    text
}

/// When the question comes up.
fn when(ask: &Ask) -> String {
    match &ask.before {
        Some(deed) => say!("printed-job-asked-before", action = deed.as_str()),
        None => say("printed-job-asked-at-hand-over"),
    }
}

/// The form of answer that a question takes.
fn answer(ask: &Ask) -> String {
    match &ask.kind {
        AskKind::Number { unit, .. } => say!("printed-job-answer-number", unit = unit.as_str()),
        AskKind::Direction { .. } => say("printed-job-answer-direction"),
        AskKind::Choice(all) => {
            let all: Vec<String> = all.iter().map(|c| format!("{} ({})", c.id, c.says)).collect();
            say!("printed-job-answer-choice", choices = all.join(", "))
        }
    }
}
