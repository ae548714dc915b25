//! What ships, as lists: scenarios with their action files, the glossary, the template; a job as it is handed out.

use super::load::SCENARIO;
use super::{Error, Wrong, shown};
use crate::bench::car::Car;
use crate::report;
use crate::scenario::{self, Ask, AskKind, Scenario};
use crate::store;
use crate::words::glossary::{self, Word};
use crate::words::{numbers::number, say};

/// A scenario to begin one's own with, every key explained; its id is the word that its folder is called by.
pub fn template(folder: Option<&str>) -> String {
    let id = folder.filter(|f| scenario::is_word(f, false)).unwrap_or("my-scenario");
    store::TEMPLATE.replacen("my-scenario", id, 1)
}

/// The files of a shipped scenario, to make one's own of: names and texts. The copy's id is the word that its folder is
/// called by, so that it is not taken for the one that ships.
pub fn copied(from: &str, folder: Option<&str>) -> Result<Vec<(String, String)>, Error> {
    let Some(shipped) = store::shipped(from) else {
        let all: Vec<&str> = store::SCENARIOS.iter().map(|s| s.id).collect();
        let help = scenario::nearest(from, &all);
        return Err(Error::Input(Wrong {
            help,
            ..Wrong::of("", say!("app-nothing-ships", name = shown(from)))
        }));
    };
    let own = folder.filter(|f| scenario::is_word(f, false)).unwrap_or("my-scenario");
    let id = |id: &str| format!("\nid = \"{id}\"\n");
    let mut all = vec![(SCENARIO.to_owned(), shipped.text.replacen(&id(shipped.id), &id(own), 1))];
    let file = |name: &str| format!("{}.toml", name.rsplit('/').next().unwrap_or(name));
    all.extend(shipped.actions.iter().map(|(name, text)| (file(name), (*text).to_owned())));
    Ok(all)
}

/// A job as a trainee gets it, in words: the complaint, the cautions, what may be wrong and what is asked, each with the
/// id that a file of actions or answers names it by. Nothing in it tells which cause is right.
pub fn job(of: &Scenario) -> String {
    let about = &of.about;
    let car = Car::parse(&of.setup.car_toml).map_or(String::new(), |c| c.title);
    let plain = report::plain;
    let mut text = format!(
        "{}: {}\n{}\n",
        about.id,
        plain(&about.title),
        say!("printed-job-car", car = plain(&car), level = about.level)
    );
    text += &format!("\n{}\n\n", say!("printed-job-complaint", complaint = plain(&about.complaint)));
    text += &report::cautions_text(&about.cautions, &[]);
    let Some(plan) = &of.plan else {
        return text + &format!("\n{}\n", say("job-unmarked"));
    };
    if !plan.causes.is_empty() {
        text += &format!("\n{}\n", say("job-causes"));
        for cause in &plan.causes {
            text += &format!("  {:<20} {}\n", cause.id, plain(&cause.says));
        }
    }
    if !plan.asks.is_empty() {
        text += &format!("\n{}\n", say("job-questions"));
        for ask in &plan.asks {
            text += &format!("  {:<20} {}\n{:23}{}\n", ask.id, plain(&ask.question), "", plain(&answer(ask)));
        }
    }
    if let Some(minutes) = plan.minutes {
        text += &format!("\n{}\n", say!("printed-job-minutes", minutes = number(minutes, 0)));
    }
    if let Some(money) = plan.money {
        text += &format!("{}\n", say!("job-money", money = number(money, 0)));
    }
    text
}

/// What answers a question takes.
fn answer(ask: &Ask) -> String {
    match &ask.kind {
        AskKind::Number { unit, .. } => say!("job-answer-number", unit = unit.as_str()),
        AskKind::Direction { .. } => say("job-answer-direction"),
        AskKind::Choice(all) => {
            let all: Vec<String> = all.iter().map(|c| format!("{} ({})", c.id, c.says)).collect();
            say!("job-answer-choice", choices = all.join(", "))
        }
    }
}

/// A shipped scenario.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// The name that it is run by.
    pub name: &'static str,
    /// Its level, from easy to hard.
    pub level: u8,
    /// Its title.
    pub title: String,
    /// The family that it belongs to.
    pub family: &'static str,
    /// Names of the action files that ship with it; what they do would tell what is wrong.
    pub actions: Vec<&'static str>,
}

/// The scenario that is open, or run, when nothing else is asked for: a healthy car.
pub fn first() -> &'static str {
    store::SCENARIOS[0].id
}

/// All that ship, in their order.
pub fn scenarios() -> Vec<Listed> {
    let mut car = |name: &str| store::car_text(name, None);
    let mut listed = |s: &store::Shipped| {
        let about = scenario::parse_scenario(s.text, s.id, &mut car).ok()?.about;
        let actions = s.actions.iter().map(|a| a.0).collect();
        Some(Listed { name: s.id, level: about.level, title: about.title, family: s.family, actions })
    };
    store::SCENARIOS.iter().filter_map(&mut listed).collect()
}

/// The glossary.
pub fn glossary() -> Result<Vec<Word>, Error> {
    glossary::glossary(store::GLOSSARY).map_err(Error::rule)
}

/// Its entries that a word finds; else the nearest word that it has, if one is near.
pub fn entries<'w>(all: &'w [Word], asked: &str) -> Result<Vec<&'w Word>, Option<String>> {
    let hits = glossary::found(all, asked);
    if !hits.is_empty() {
        return Ok(hits);
    }
    let names: Vec<&String> = all.iter().flat_map(|w| std::iter::once(&w.term).chain(&w.also)).collect();
    Err(scenario::nearest(asked, &names))
}
