//! What is wrong with a file that a person writes, why its contents give no bench or session, and why a logbook got
//! its verdict.

use super::{hindrance, sentence};
use crate::bench::car::{CarError, CarRule, NoCar};
use crate::bench::{self, Unfit};
use crate::scenario::{Mistake, Type, Who};
use crate::session;
use crate::session::live::Trouble;
use crate::session::twin::NoAct;
use crate::session::verdict::Reason;
use crate::units::ParamError;
use crate::words::say;

/// A rule that a file breaks.
pub fn mistake(what: &Mistake) -> String {
    match what {
        Mistake::WrongType { key, wanted, given } => {
            let (wanted, given) = (type_of(*wanted), type_of(*given));
            say!("mistake-wrong-type", key = key.as_str(), wanted = wanted, given = given)
        }
        Mistake::PathType { given, is, wanted } => {
            let (is, wanted) = (type_of(*is), type_of(*wanted));
            say!("mistake-path-type", given = given.as_str(), is = is, wanted = wanted)
        }
        Mistake::Answer { ask, wanted } => {
            say!("mistake-answer", ask = ask.as_str(), wanted = type_of(*wanted))
        }
        Mistake::OutOfRange { key, low, high, unit, given } => {
            let (low, high) = (low.to_string(), format!("{high} {unit}"));
            let (high, given) = (high.trim_end(), given.to_string());
            say!("mistake-out-of-range", key = key.as_str(), low = low, high = high, given = given)
        }
        Mistake::NoCar(NoCar::Wrong { car: name, why }) => {
            say!("no-car-wrong", car = name.as_str(), why = car(why))
        }
        Mistake::NoCar(why) => sentence("no-car", why),
        other => sentence("mistake", other),
    }
}

/// Why a logbook got its verdict.
pub fn reason(why: &Reason) -> String {
    match why {
        Reason::HeaderTrainee(why) => say!("reason-header-trainee", why = mistake(why)),
        Reason::Act(why) => say!("reason-act", why = mistake(why)),
        Reason::OtherSources(why) => say!("reason-other-sources", why = reason(why)),
        Reason::ChangedText(why) => say!("reason-changed-text", why = reason(why)),
        other => sentence("reason", other),
    }
}

/// Why a word names no act.
pub fn no_act(why: &NoAct) -> String {
    let lists = |of_actions: &[String], of_scenario: &[String]| {
        let (own, scenario) = (of_actions.join(", "), of_scenario.join(", "));
        match of_actions {
            [] => say!("no-act-of-scenario", scenario = scenario),
            _ => say!("no-act-of-both", own = own, scenario = scenario),
        }
    };
    match why {
        NoAct::InBoth { act } => say!("no-act-in-both", act = act.as_str()),
        NoAct::Unknown { act, of_actions, of_scenario } => {
            say!("no-act-unknown", act = act.as_str(), acts = lists(of_actions, of_scenario))
        }
        NoAct::NotUnderLid { act, of_actions, of_scenario } => {
            say!("no-act-not-under-lid", act = act.as_str(), acts = lists(of_actions, of_scenario))
        }
    }
}

/// The type of a value.
fn type_of(of: Type) -> String {
    sentence("type", &of)
}

/// What is wrong with a car's file.
pub fn car(what: &CarError) -> String {
    let rule = match &what.rule {
        CarRule::Param(e) => param(e),
        rule => sentence("car-rule", rule),
    };
    match what.line {
        Some(line) => say!("car-line", line = line, rule = rule),
        None => say!("car-file", rule = rule),
    }
}

/// What is wrong with a parameter of a car's file.
fn param(e: &ParamError) -> String {
    say!("param", key = e.key.as_str(), rule = sentence("param", &e.rule))
}

/// Why no bench could be built.
pub fn bench(why: &bench::Error) -> String {
    match why {
        bench::Error::Car(what) => car(what),
        bench::Error::Setup(Unfit::Module(e)) => say!("unfit-module", why = param(e)),
        bench::Error::Setup(why) => sentence("unfit", why),
        bench::Error::Part(why) => say!("bench-part", why = hindrance(why)),
        bench::Error::Stopped => say("bench-stopped"),
    }
}

/// The trainee whose variant it is, and whether it is sealed: for paper, where nobody has checked the seal.
pub fn trainee(who: &Who) -> String {
    trainee_checked(who, false)
}

/// The same if the seal may have been checked: `sealed` means that it was, and was found good.
pub fn trainee_checked(who: &Who, sealed: bool) -> String {
    let id = match (who.seal.is_some(), sealed) {
        (false, _) => "trainee-unsealed",
        (true, false) => "trainee-by-ticket",
        (true, true) => "trainee-sealed",
    };
    say!(id, trainee = who.trainee.as_str(), seed = who.class_seed.to_string())
}

/// What ended a desk's thread early.
pub fn trouble(why: &Trouble) -> String {
    match why {
        Trouble::NoThread => say("session-no-thread"),
        Trouble::Session(why) => session(why),
    }
}

/// What went wrong with a session.
pub fn session(why: &session::Error) -> String {
    match why {
        session::Error::Bench(e) => bench(e),
        session::Error::Prices(why) => say!("session-prices", why = why.as_str()),
        session::Error::Rubric(e) => {
            say!("session-rubric", file = e.file.as_str(), line = e.line, why = mistake(&e.mistake))
        }
        session::Error::Locked => say("session-locked"),
        session::Error::AsksForTruth(_, path) => say!("session-asks-for-truth", path = path.as_str()),
    }
}
