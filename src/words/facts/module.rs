//! The module's facts.

use crate::label::{LENGTH, Unreadable};
use crate::link::{
    CodeState, DiagRequest, Failed, Gate, GateStatus, Group, Hold, NoStop, Notice, Refused, Routine,
    RoutineState, ThrownAway, WaitsFor, Writer,
};
use crate::words::numbers::{Units, measured, number, shown_units, signed, signed_measured};
use crate::words::{message_of, name, say};

/// The name of a routine inside a sentence.
pub fn routine(routine: Routine) -> String {
    name("service", routine.name())
}

/// The name of a group inside a sentence.
fn group(group: Group) -> String {
    name("group", group.name())
}

/// A temperature \[°C\].
fn degrees(c: f64) -> String {
    measured(c, "°C", 0)
}

/// The same without its unit, for the beginning of a range.
fn degrees_alone(c: f64) -> String {
    number(shown_units().quantity(c, "°C").0, 0)
}

/// Why a request was refused.
pub fn refused(why: &Refused) -> String {
    match why {
        Refused::NoValue(value) => say!("refused-no-value", name = value.as_str()),
        Refused::EngineTurning { rpm } => say!("refused-engine-turning", rpm = number(*rpm, 0)),
        Refused::BatteryCapacity { is_ah, takes_ah: [least, most] } => say!(
            "refused-battery-capacity",
            is = number(*is_ah, 0),
            least = number(*least, 0),
            most = number(*most, 0),
        ),
        Refused::NoInjectorCodes => say("refused-no-injector-codes"),
        Refused::NoCylinder { cylinder, of } => {
            say!("refused-no-cylinder", cylinder = *cylinder, of = *of)
        }
        Refused::InjectorCode(why) => unreadable(*why),
        Refused::OtherKind { is, takes } => {
            say!("refused-other-kind", kind = is.to_string(), takes = takes.to_string())
        }
        Refused::UnderWay(r) => say!("refused-under-way", routine = routine(*r)),
        Refused::NoGroup(g) => say!("refused-no-group", group = group(*g)),
        Refused::SupplyBelow { is_v, needs_v } => {
            say!("refused-supply-below", is = number(*is_v, 1), needs = number(*needs_v, 1))
        }
        Refused::ThrottleNotReady => say("refused-throttle-not-ready"),
        Refused::NotRunning => say("refused-not-running"),
        Refused::IdleSpeed { asked_rpm, takes_rpm: [least, most] } => {
            say!("refused-idle-speed", asked = *asked_rpm, least = *least, most = *most)
        }
        Refused::NotIdling => say("refused-not-idling"),
        Refused::NotParked => say("refused-not-parked"),
        Refused::NoShortPulse => say("refused-no-short-pulse"),
        Refused::NoVapourTest => say("refused-no-vapour-test"),
        Refused::FuelLevelOutside { is_pct, needs_pct: [low, high] } => say!(
            "refused-fuel-level-outside",
            is = number(*is_pct, 0),
            low = number(*low, 0),
            high = number(*high, 0),
        ),
        Refused::InjectorCodesMissing => say("refused-injector-codes-missing"),
        Refused::NoPhaser => say("refused-no-phaser"),
        Refused::NoEgrValve => say("refused-no-egr-valve"),
        Refused::InletOutside { is_c, needs_c: [low, high] } => say!(
            "refused-inlet-outside",
            is = degrees(*is_c),
            low = degrees_alone(*low),
            high = degrees(*high),
        ),
        Refused::CamTooFar { is_deg, most_deg } => {
            say!("refused-cam-too-far", is = number(is_deg.abs(), 1), most = number(*most_deg, 1))
        }
        Refused::IdleControlOff { rpm } => say!("refused-idle-control-off", rpm = number(*rpm, 0)),
        Refused::CoolantBelow { is_c, needs_c } => {
            say!("refused-coolant-below", is = degrees(*is_c), needs = degrees(*needs_c))
        }
        Refused::CoolantOutside { is_c, needs_c: [low, high] } => say!(
            "refused-coolant-outside",
            is = degrees(*is_c),
            low = degrees_alone(*low),
            high = degrees(*high),
        ),
        Refused::InGear => say("refused-in-gear"),
        Refused::LoadOn => say("refused-load-on"),
        Refused::OpenLoop => say("refused-open-loop"),
        Refused::Moving { km_h } => say!("refused-moving", speed = measured(*km_h, "km/h", 0)),
        Refused::CodeStored(code) => say!("refused-code-stored", code = code.as_str()),
        Refused::AttemptsUsedUp { of } => say!("refused-attempts-used-up", of = *of),
        Refused::StopUnknown => say("refused-stop-unknown"),
        Refused::ElectricalLoad { is_a, most_a } => {
            say!("refused-electrical-load", is = number(*is_a, 0), most = number(*most_a, 0))
        }
        Refused::PurgeFlowing { duty_pct } => say!("refused-purge-flowing", duty = number(*duty_pct, 0)),
        Refused::CodeMatured(code) => say!("refused-code-matured", code = code.as_str()),
        Refused::Withheld => say("withheld"),
    }
}

/// Why an injector's code cannot be read.
fn unreadable(why: Unreadable) -> String {
    match why {
        Unreadable::Length(n) => {
            say!("injector-code-length", needs = LENGTH as u32, given = n as u32)
        }
        Unreadable::Character(c) => say!("injector-code-character", character = c.to_string()),
        Unreadable::Check => say("injector-code-check"),
    }
}

/// Why a routine ended without result.
pub fn failed(why: Failed) -> String {
    match why {
        Failed::NotAtRest => say("failed-not-at-rest"),
        Failed::AtLimit => say("failed-at-limit"),
        Failed::StopOutside => say("failed-stop-outside"),
        Failed::LeftIdle => say("failed-left-idle"),
        Failed::LeftWarmIdle => say("failed-left-warm-idle"),
        Failed::CylindersNotAtRest => say("failed-cylinders-not-at-rest"),
        Failed::CamTooFar => say("failed-cam-too-far"),
        Failed::EngineTurned => say("failed-engine-turned"),
        Failed::LearnBrokenOff => say("failed-learn-broken-off"),
        Failed::EgrStopOutside => say("failed-egr-stop-outside"),
        Failed::Stopped => say("failed-stopped"),
        Failed::NotParked => say("failed-not-parked"),
        Failed::EngineStopped => say("failed-engine-stopped"),
        Failed::NoVerdict => say("failed-no-verdict"),
        Failed::AttemptsUsedUp { of } => say!("failed-attempts-used-up", of = of),
        Failed::Withheld => say("withheld"),
    }
}

/// What a running routine waits for.
pub fn waits_for(what: &WaitsFor) -> String {
    match what {
        WaitsFor::Hold(h) => hold(h),
        WaitsFor::LetGo => say("waits-let-go"),
        WaitsFor::HoldAgain { thrown, hold: h } => {
            say!("run-down-thrown-away-again", because = thrown_away(*thrown), hold = hold(h))
        }
    }
}

fn hold(h: &Hold) -> String {
    say!("waits-hold", low = number(h.low_rpm, 0), high = number(h.high_rpm, 0), seconds = number(h.for_s, 0),)
}

/// Why a run-down or a coast-down was discarded.
fn thrown_away(why: ThrownAway) -> String {
    match why {
        ThrownAway::Pedal => say("thrown-pedal"),
        ThrownAway::LiftedLate => say("thrown-lifted-late"),
        ThrownAway::Load => say("thrown-load"),
        ThrownAway::FewCycles { cycles } => say!("thrown-few-cycles", cycles = cycles),
        ThrownAway::Disagrees { deg } => say!("thrown-disagrees", deg = number(deg, 3)),
        ThrownAway::TooFar { deg } => say!("thrown-too-far", deg = number(deg, 2)),
        ThrownAway::Moving => say("thrown-moving"),
        ThrownAway::Brake => say("thrown-brake"),
        ThrownAway::RoughRoad => say("thrown-rough-road"),
        ThrownAway::GearChange => say("thrown-gear-change"),
    }
}

/// The state of a routine.
pub fn routine_state(state: &RoutineState) -> String {
    match state {
        RoutineState::None => say("routine-state-none"),
        RoutineState::Running { routine: r, for_s, .. } => {
            say!("routine-state-running", routine = routine(*r), seconds = number(*for_s, 0))
        }
        RoutineState::Done { routine: r } => say!("routine-state-done", routine = routine(*r)),
        RoutineState::Failed { routine: r, because } => routine_failed(*r, *because),
    }
}

fn routine_failed(r: Routine, because: Failed) -> String {
    say!("notice-routine-failed", routine = routine(r), because = failed(because))
}

/// Who wrote a learned value.
pub fn writer(by: Writer) -> String {
    say(match by {
        Writer::Delivered => "written-by-nobody",
        Writer::Factory => "written-by-works",
        Writer::Ordinary => "written-by-ordinary-learning",
        Writer::Sequence => "written-by-manual-sequence",
        Writer::Routine => "written-by-service-routine",
        Writer::CoastDowns => "written-by-coast-downs",
        Writer::Refinement => "written-by-fired-refinement",
        Writer::Reset => "written-by-group-reset",
        Writer::PowerCut => "written-by-power-cut",
        Writer::CodeClear => "written-by-code-clear",
        Writer::Entered => "written-by-code-entered",
    })
}

/// The state of a gate: the condition with its number.
pub fn gate(g: &GateStatus) -> String {
    gate_in(shown_units(), g)
}

/// The same in other units.
pub fn gate_in(units: Units, g: &GateStatus) -> String {
    let (now, limit) = (|decimals| number(g.now, decimals), |decimals| number(g.limit, decimals));
    let (now_in, limit_in) = (|unit| units.value(g.now, unit), |unit| units.value(g.limit, unit));
    let over = g.now > g.limit;
    let within = g.now.abs() <= g.limit;
    match (g.name, g.open) {
        (Gate::Warm, true) => say!("gate-warm-open", now = now_in("°C")),
        (Gate::Warm, false) if over => say!("gate-warm-hot", now = now_in("°C")),
        (Gate::Warm, false) => say!("gate-warm-shut", now = now_in("°C"), limit = limit_in("°C")),
        (Gate::Standing, false) => say!("gate-standing-shut", now = now_in("km/h")),
        (Gate::SpeedError, true) => say!("gate-speed-error-open", limit = limit(0)),
        (Gate::SpeedError, false) if within => say!("gate-speed-error-new", limit = limit(0)),
        (Gate::SpeedError, false) if g.now < 0.0 => {
            say!("gate-speed-error-over", now = number(-g.now, 0), limit = limit(0))
        }
        (Gate::SpeedError, false) => say!("gate-speed-error-under", now = now(0), limit = limit(0)),
        (Gate::IntegratorBounded, true) => {
            say!("gate-integrator-bounded-open", now = units.signed_value(g.now, "g/s"))
        }
        (Gate::IntegratorBounded, false) if within => {
            say!("gate-integrator-bounded-new", now = units.signed_value(g.now, "g/s"))
        }
        (Gate::IntegratorBounded, false) => {
            say!(
                "gate-integrator-bounded-shut",
                now = units.signed_value(g.now, "g/s"),
                limit = limit_in("g/s")
            )
        }
        (Gate::NoBlockingCode, false) => match &g.code {
            Some(code) => say!("gate-no-blocking-code-shut", code = code.as_str()),
            None => say("gate-no-blocking-code-some"),
        },
        (Gate::Certain, true) => say!("gate-certain-open", now = now(2)),
        (Gate::Certain, false) => say!("gate-certain-shut", now = now(2), limit = limit(2)),
        (Gate::LittleCurrent, true) => say!("gate-little-current-open", now = now(2)),
        (Gate::LittleCurrent, false) => say!("gate-little-current-shut", now = now(2), limit = limit(2)),
        (Gate::Rested, true) => say!("gate-rested-open", now = now(1)),
        (Gate::Rested, false) => say!("gate-rested-shut", now = now(1), limit = limit(1)),
        (Gate::Referenced, false) => say!("gate-referenced-shut", limit = limit(1)),
        (Gate::Charged, true) => say!("gate-charged-open", now = now(0)),
        (Gate::Charged, false) => say!("gate-charged-shut", now = now(0), limit = limit(0)),
        (Gate::BatteryMild, true) => say!("gate-battery-mild-open", now = now_in("°C")),
        (Gate::BatteryMild, false) if over => {
            say!("gate-battery-mild-hot", now = now_in("°C"), limit = limit_in("°C"))
        }
        (Gate::BatteryMild, false) => {
            say!("gate-battery-mild-cold", now = now_in("°C"), limit = limit_in("°C"))
        }
        (Gate::CatalystWarm, true) => say!("gate-catalyst-warm-open", now = now_in("°C")),
        (Gate::CatalystWarm, false) => {
            say!("gate-catalyst-warm-shut", now = now_in("°C"), limit = limit_in("°C"))
        }
        (Gate::Supply | Gate::KeyOnTime | Gate::EngineStands, _) => at_key_on(g),
        (Gate::NearStored, true) => say!("gate-near-stored-open", now = now(1)),
        (Gate::NearStored, false) => say!("gate-near-stored-shut", now = now(1), limit = limit(1)),
        (Gate::TrimSettled, true) => say!("gate-trim-settled-open", now = now(1)),
        (Gate::TrimSettled, false) => say!("gate-trim-settled-shut", now = now(1), limit = limit(0)),
        (Gate::ColdStart | Gate::AirMild | Gate::FuelLevel | Gate::AmbientPressure | Gate::FuelCalm, _) => {
            of_leak_test(units, g)
        }
        // conditions without a number
        (
            Gate::Idling
            | Gate::Neutral
            | Gate::Standing
            | Gate::NoLoad
            | Gate::Loaded
            | Gate::StopKnown
            | Gate::NoBlockingCode
            | Gate::InCell
            | Gate::ClosedLoop
            | Gate::Steady
            | Gate::NoPurge
            | Gate::AtRestOrWide
            | Gate::Refuelled
            | Gate::BlendKnown
            | Gate::Asleep
            | Gate::Referenced
            | Gate::RearAnswers
            | Gate::FrontFollows
            | Gate::RearInRange
            | Gate::CamAtRest,
            open,
        ) => {
            let id = message_of("gate", g.name.name());
            say(&format!("{id}-{}", if open { "open" } else { "shut" }))
        }
    }
}

/// A condition of the leak test of the tank's EVAP system.
fn of_leak_test(units: Units, g: &GateStatus) -> String {
    let (now, limit) = (number(g.now, 0), number(g.limit, 0));
    let (now_in, limit_in) = (|unit| units.value(g.now, unit), |unit| units.value(g.limit, unit));
    let over = g.now > g.limit;
    match (g.name, g.open) {
        (Gate::ColdStart, true) => say!("gate-cold-start-open", now = now),
        (Gate::ColdStart, false) => say!("gate-cold-start-shut", now = now, limit = limit),
        (Gate::AirMild, true) => say!("gate-air-mild-open", now = now_in("°C")),
        (Gate::AirMild, false) if over => {
            say!("gate-air-mild-hot", now = now_in("°C"), limit = limit_in("°C"))
        }
        (Gate::AirMild, false) => say!("gate-air-mild-cold", now = now_in("°C"), limit = limit_in("°C")),
        (Gate::FuelLevel, true) => say!("gate-fuel-level-open", now = now),
        (Gate::FuelLevel, false) if over => say!("gate-fuel-level-full", now = now, limit = limit),
        (Gate::FuelLevel, false) => say!("gate-fuel-level-low", now = now, limit = limit),
        (Gate::AmbientPressure, true) => say!("gate-ambient-pressure-open", now = now_in("kPa")),
        (Gate::AmbientPressure, false) => {
            say!("gate-ambient-pressure-shut", now = now_in("kPa"), limit = limit_in("kPa"))
        }
        (_, true) => say("gate-fuel-calm-open"),
        (_, false) => say!("gate-fuel-calm-shut", now = now, limit = limit),
    }
}

/// A condition of what is learned between key on and the start.
fn at_key_on(g: &GateStatus) -> String {
    let (now, limit) = (number(g.now, 1), number(g.limit, 1));
    match (g.name, g.open) {
        (Gate::Supply, true) => say!("gate-supply-open", now = now),
        (Gate::Supply, false) => say!("gate-supply-shut", now = now, limit = limit),
        (Gate::KeyOnTime, true) => say!("gate-key-on-time-open", now = now),
        (Gate::KeyOnTime, false) => say!("gate-key-on-time-shut", now = now, limit = limit),
        (_, true) => say("gate-engine-stands-open"),
        (_, false) => say("gate-engine-stands-shut"),
    }
}

/// Why the engine is not stopped at lights, in the displayed units.
pub fn no_stop(units: Units, why: &NoStop) -> String {
    match why {
        NoStop::Gate(g) => gate_in(units, g),
        NoStop::NotRunning => say("no-stop-not-running"),
    }
}

/// A decision of the module.
pub fn notice(what: &Notice) -> String {
    match what {
        Notice::KeyOn => say("notice-key-on"),
        Notice::KeyOnUnsaved => say("notice-key-on-unsaved"),
        Notice::SupplyBack => say("notice-supply-back"),
        Notice::KeyOff => say("notice-key-off"),
        Notice::Saved => say("notice-saved"),
        Notice::EngineStopped => say("notice-engine-stopped"),
        Notice::SequenceAborted { step } => say!("notice-sequence-aborted", step = *step),
        Notice::SequenceComplete { idle_air_light_g_s } => {
            say!("notice-sequence-complete", value = signed_measured(*idle_air_light_g_s, "g/s", 3))
        }
        Notice::RoutineStarted { routine: r } => say!("notice-routine-started", routine = routine(*r)),
        Notice::RoutineDone { routine: r, error_deg } => done(*r, *error_deg),
        Notice::RoutineFailed { routine: r, because } => routine_failed(*r, *because),
        Notice::WaitsFor(w) => waits_for(w),
        Notice::Refused { request, because } => request_refused(request, because),
        Notice::CodeBecame { code, state } => became(code, *state),
        Notice::CodesCleared => say("notice-codes-cleared"),
        Notice::GroupReset { group: g } => say!("notice-group-reset", group = group(*g)),
        Notice::IdleSpeedAsked { rpm } => say!("notice-idle-speed-asked", rpm = *rpm),
        Notice::OwnIdleSpeed => say("notice-own-idle-speed"),
        Notice::BatteryEntered { kind, rated_ah } => {
            say!("notice-battery-entered", kind = kind.name(), rated = number(*rated_ah, 0))
        }
        Notice::InjectorCodeWritten { cylinder, flow_pct, dead_us } => say!(
            "notice-injector-code-written",
            cylinder = *cylinder,
            flow = signed(*flow_pct, 2),
            dead = signed(*dead_us, 1),
        ),
        Notice::WheelSuspect => say("notice-wheel-suspect"),
        Notice::InjectorCut { cylinder } => say!("notice-injector-cut", cylinder = *cylinder),
        Notice::InjectorWorks { cylinder } => say!("notice-injector-works", cylinder = *cylinder),
        Notice::RunDownCounts { number: n, of, hold: h } => match h {
            Some(h) => say!("run-down-counts-again", number = *n, of = *of, hold = hold(h)),
            None => say!("run-down-counts", number = *n, of = *of),
        },
        Notice::RunDownThrownAway { because, hold: h } => {
            let because = thrown_away(*because);
            match h {
                Some(h) => say!("run-down-thrown-away-again", because = because, hold = hold(h)),
                None => say!("run-down-thrown-away", because = because),
            }
        }
        Notice::CoastDownCounts { number: n, of } => say!("coast-down-counts", number = *n, of = *of),
        Notice::CoastDownThrownAway { because } => {
            say!("coast-down-thrown-away", because = thrown_away(*because))
        }
        Notice::TankFilled { level_pct } => say!("notice-tank-filled", level = number(*level_pct, 0)),
        Notice::AlcoholInferred { alcohol_pct } => {
            say!("notice-alcohol-inferred", share = number(*alcohol_pct, 1))
        }
        Notice::WheelLearned { error_deg } => say!("notice-wheel-learned", error = number(*error_deg, 4)),
    }
}

/// A routine that ended well, with its result.
fn done(r: Routine, error_deg: Option<f64>) -> String {
    let routine = routine(r);
    match (r, error_deg) {
        (_, Some(error)) => say!("notice-learn-wheel-done", routine = routine, error = number(error, 4)),
        (Routine::LearnIdle, None) => say!("notice-learn-idle-done", routine = routine),
        (Routine::LearnClosedStop, None) => say!("notice-learn-closed-stop-done", routine = routine),
        (Routine::TestVapour, None) => say!("notice-test-vapour-done", routine = routine),
        (Routine::LearnCamRest, None) => say!("notice-learn-cam-rest-done", routine = routine),
        (Routine::LearnEgrStop, None) => say!("notice-learn-egr-stop-done", routine = routine),
        (Routine::LearnShortPulse, None) => say!("notice-learn-short-pulse-done", routine = routine),
        (_, None) => say!("routine-state-done", routine = routine),
    }
}

fn request_refused(request: &DiagRequest, because: &Refused) -> String {
    let because = refused(because);
    match request {
        DiagRequest::WriteInjectorCode { cylinder, .. } => {
            say!("notice-injector-code-refused", cylinder = *cylinder, because = because)
        }
        DiagRequest::EnterBatteryRecord { .. } => say!("notice-battery-refused", because = because),
        DiagRequest::Start(r) => say!("notice-routine-refused", routine = routine(*r), because = because),
        _ => say!("notice-request-refused", because = because),
    }
}

fn became(code: &str, state: CodeState) -> String {
    match state {
        CodeState::Pending => say!("notice-code-pending", code = code),
        CodeState::Confirmed => say!("notice-code-confirmed", code = code),
    }
}

/// The few words that a chart has space for beside its mark; none if the chart does not mark the notice.
pub fn flag(what: &Notice) -> Option<String> {
    Some(match what {
        Notice::SequenceAborted { step } => say!("flag-sequence-aborted", step = *step),
        Notice::SequenceComplete { .. } => say("flag-sequence-complete"),
        Notice::RoutineDone { routine: r, .. } => say!("routine-state-done", routine = routine(*r)),
        Notice::RoutineFailed { routine: r, .. } => say!("flag-routine-failed", routine = routine(*r)),
        Notice::CodeBecame { code, state } => became(code, *state),
        _ => return None,
    })
}
