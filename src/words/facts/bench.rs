//! Facts of the bench: what hinders a hand, what the driver tells, what a model notes.

use super::{failed, refused};
use crate::bench::record::Told;
use crate::bench::survey::NoSurvey;
use crate::words::numbers::number;
use crate::words::say;

/// What came of an act that was not simply done.
pub fn told(what: &Told) -> String {
    match what {
        Told::Hindered(why) => say!("told-hindered", because = why.as_str()),
        Told::Refused(why) => say!("told-refused", because = refused(why)),
        Told::Silent => say("told-silent"),
        Told::NoMark => say("told-no-mark"),
        Told::Unable(why) => why.clone(),
    }
}

/// Why there is nothing to survey.
pub fn no_survey(why: &NoSurvey) -> String {
    match why {
        NoSurvey::Bench(e) => e.to_string(),
        NoSurvey::NotStarted => say("no-survey-not-started"),
        NoSurvey::Refused(why) => refused(why),
        NoSurvey::Failed(why) => failed(*why),
        NoSurvey::NoEnd => say("no-survey-no-end"),
        NoSurvey::NotHeld(rpm) => say!("no-survey-not-held", rpm = number(*rpm, 0)),
    }
}
