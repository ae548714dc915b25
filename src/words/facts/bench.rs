//! Facts of the bench: what prevents an act, what the driver reports, what a model notes.

use super::{failed, files, refused, sentence};
use crate::bench::facts::{Alone, DriverTells, Hindrance, LifeEnd, ModelNote, Stranded, Told};
use crate::bench::survey::NoSurvey;
use crate::bench::view::SlowView;
use crate::words::numbers::{measured, number};
use crate::words::{name, say};

/// Why the bench does not allow an act now.
pub fn hindrance(why: &Hindrance) -> String {
    match why {
        Hindrance::KeyOn => say("hindered-key-on"),
        Hindrance::EngineTurns => say("hindered-engine-turns"),
        Hindrance::Moving => say("hindered-moving"),
        Hindrance::Rolling => say("hindered-rolling"),
        Hindrance::NotRunning => say("hindered-not-running"),
        Hindrance::NoTime => say("hindered-no-time"),
        Hindrance::ClampOff => say("hindered-clamp-off"),
        Hindrance::ClampOn => say("hindered-clamp-on"),
        Hindrance::OnRollers => say("hindered-on-rollers"),
        Hindrance::NoAirMeter => say("hindered-no-air-meter"),
        Hindrance::NoVapourSystem => say("hindered-no-vapour-system"),
        Hindrance::NoPhaser => say("hindered-no-phaser"),
        Hindrance::NoEgrValve => say("hindered-no-egr-valve"),
        Hindrance::NoCylinder { cylinder, of } => {
            say!("refused-no-cylinder", cylinder = *cylinder, of = *of)
        }
        Hindrance::NoBank { bank, of } => say!("hindered-no-bank", bank = *bank, of = *of),
        Hindrance::OneBank => say("hindered-one-bank"),
        Hindrance::NoCodePrinted => say("hindered-no-code-printed"),
        Hindrance::NoModule(why) => say!("hindered-no-module", because = why.as_str()),
        Hindrance::TooManyWatched { most } => say!("hindered-too-many-watched", most = *most),
        Hindrance::NoValue(value) => say!("hindered-no-value", name = value.as_str()),
        Hindrance::AtWork { instrument } => {
            say!("hindered-at-work", instrument = name("tool", instrument))
        }
        Hindrance::GaugeNotFitted => say("hindered-gauge-not-fitted"),
        Hindrance::GaugeElsewhere => say("hindered-gauge-elsewhere"),
        Hindrance::ProbeElsewhere => say("hindered-probe-elsewhere"),
        Hindrance::ThrottlePowered => say("hindered-throttle-powered"),
        Hindrance::NoExhaustGas => say("hindered-no-exhaust-gas"),
        Hindrance::EdgesOnly => say("hindered-edges-only"),
        Hindrance::NoSupply => say("hindered-no-supply"),
        Hindrance::PulsesTooShort => say("hindered-pulses-too-short"),
        Hindrance::PlugMustComeOut => say("hindered-plug-must-come-out"),
        Hindrance::WouldStart => say("hindered-would-start"),
        Hindrance::ChargerConnected => say("hindered-charger-connected"),
        Hindrance::NothingWired => say("hindered-nothing-wired"),
        Hindrance::LoadsFalsify => say("hindered-loads-falsify"),
        Hindrance::AgmHoldsAcid => say("hindered-agm-holds-acid"),
    }
}

/// Something that the driver reports.
pub fn driver(what: &DriverTells) -> String {
    match what {
        DriverTells::Over => say("driver-over"),
        DriverTells::AnotherHand => say("driver-another-hand"),
        DriverTells::Stalled => say("driver-stalled"),
        DriverTells::NoStart => say("driver-no-start"),
        DriverTells::NoStand => say("driver-no-stand"),
        DriverTells::RestOver => say("driver-rest-over"),
        DriverTells::RestTouched => say("driver-rest-touched"),
        DriverTells::Stranded { day, because } => {
            let because = match because {
                Stranded::NoStart => say("stranded-no-start"),
                Stranded::GivenUp => say("stranded-given-up"),
                Stranded::NoDrive(why) => hindrance(why),
            };
            say!("driver-stranded", day = *day, because = because)
        }
        DriverTells::DrivenOn { how, days, driven, full, hours } => {
            let how = say(match how {
                LifeEnd::Whole => "driven-on-whole",
                LifeEnd::Stranded => "driven-on-stranded",
                LifeEnd::Touched => "driven-on-touched",
            });
            let id = if driven > full { "driver-driven-on-carried" } else { "driver-driven-on" };
            let (days, hours) = (number(*days, 1), number(*hours, 1));
            say!(id, how = how, days = days, driven = *driven, full = *full, hours = hours)
        }
    }
}

/// What happens while nobody works on the car.
pub fn alone(what: Alone) -> String {
    sentence("alone", &what)
}

/// The same, with the current day.
pub fn slow(what: &SlowView) -> String {
    let doing = alone(what.doing);
    match what.day {
        Some((day, of)) => say!("alone-day", day = day, of = of, doing = doing),
        None => doing,
    }
}

/// A model has reached its limits.
pub fn model_note(note: &ModelNote) -> String {
    match note {
        ModelNote::DriveNoStart => say("model-drive-no-start"),
        ModelNote::DriveNoStand => say("model-drive-no-stand"),
        ModelNote::NotStarted => say("model-not-started"),
        ModelNote::PiecesTooShort { seconds } => {
            say!("model-pieces-too-short", seconds = number(*seconds, 0))
        }
        ModelNote::NotDriven { pattern, because } => {
            say!("model-not-driven", pattern = name("pattern", pattern.word()), because = hindrance(because),)
        }
        ModelNote::HoldStalled => say("model-hold-stalled"),
        ModelNote::WouldNotIdle => say("model-would-not-idle"),
        ModelNote::StillMoving { g_s } => say!("model-still-moving", rate = measured(*g_s, "g/s", 3)),
    }
}

/// The result of an act that was not simply carried out.
pub fn told(what: &Told) -> String {
    match what {
        Told::Hindered(why) => say!("told-hindered", because = hindrance(why)),
        Told::Refused(why) => say!("told-refused", because = refused(why)),
        Told::Silent => say("told-silent"),
        Told::NoMark => say("told-no-mark"),
        Told::Locked => say("session-locked"),
    }
}

/// Why there is nothing to survey.
pub fn no_survey(why: &NoSurvey) -> String {
    match why {
        NoSurvey::Bench(e) => files::bench(e),
        NoSurvey::NotStarted => say("no-survey-not-started"),
        NoSurvey::Refused(why) => refused(why),
        NoSurvey::Failed(why) => failed(*why),
        NoSurvey::NoEnd => say("no-survey-no-end"),
        NoSurvey::NotHeld(rpm) => say!("no-survey-not-held", rpm = number(*rpm, 0)),
    }
}
