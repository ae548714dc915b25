//! Facts to sentences: every fact has one in every language, and no fact is left without a message.
//!
//! Each list is checked against a `match` that names every variant, so that a new one must be put into both.
#![allow(missing_docs, reason = "a test's name and comment say what it checks")]

use idlewright::bench::facts::{DriverTells, Hindrance, LifeEnd, ModelNote, Stranded, Told};
use idlewright::bench::not_whole::NotWhole;
use idlewright::bench::pattern;
use idlewright::label::{BatteryKind, Unreadable};
use idlewright::lesson::facts::{Found, Outcome};
use idlewright::link::{
    CodeState, DiagRequest, Failed, Gate, GateStatus, Group, Hold, NoStop, Notice, Refused, Routine,
    RoutineState, ThrownAway, WaitsFor, Writer,
};
use idlewright::words::numbers::{Units, show_in, shown_units};
use idlewright::words::{Words, facts, speak};

/// A list of one sort of fact, each beside its pattern in a `match` without a rest: a new variant does not compile until
/// it stands in the list.
macro_rules! every {
    ($sort:ident: $($pattern:pat => $fact:expr),+ $(,)?) => {{
        let all = vec![$($fact),+];
        let listed = |f: &$sort| match f { $($pattern => ()),+ };
        all.iter().for_each(listed);
        all
    }};
}

const HOLD: Hold = Hold { low_rpm: 3300.0, high_rpm: 3800.0, for_s: 3.0 };

fn refusals() -> Vec<Refused> {
    let mut all = every!(Refused:
        Refused::NoValue(_) => Refused::NoValue("boost".into()),
        Refused::EngineTurning { .. } => Refused::EngineTurning { rpm: 720.0 },
        Refused::BatteryCapacity { .. } => Refused::BatteryCapacity { is_ah: 7.0, takes_ah: [30.0, 120.0] },
        Refused::NoInjectorCodes => Refused::NoInjectorCodes,
        Refused::NoCylinder { .. } => Refused::NoCylinder { cylinder: 7, of: 4 },
        Refused::InjectorCode(_) => Refused::InjectorCode(Unreadable::Check),
        Refused::OtherKind { .. } => Refused::OtherKind { is: 'H', takes: 'D' },
        Refused::UnderWay(_) => Refused::UnderWay(Routine::LearnWheel),
        Refused::NoGroup(_) => Refused::NoGroup(Group::ShortPulse),
        Refused::SupplyBelow { .. } => Refused::SupplyBelow { is_v: 10.4, needs_v: 11.0 },
        Refused::ThrottleNotReady => Refused::ThrottleNotReady,
        Refused::NotRunning => Refused::NotRunning,
        Refused::IdleSpeed { .. } => Refused::IdleSpeed { asked_rpm: 2000, takes_rpm: [600, 1500] },
        Refused::NotIdling => Refused::NotIdling,
        Refused::NotParked => Refused::NotParked,
        Refused::NoShortPulse => Refused::NoShortPulse,
        Refused::NoVapourTest => Refused::NoVapourTest,
        Refused::FuelLevelOutside { .. } => Refused::FuelLevelOutside { is_pct: 9.0, needs_pct: [15.0, 85.0] },
        Refused::InjectorCodesMissing => Refused::InjectorCodesMissing,
        Refused::NoPhaser => Refused::NoPhaser,
        Refused::NoEgrValve => Refused::NoEgrValve,
        Refused::InletOutside { .. } => Refused::InletOutside { is_c: -8.0, needs_c: [5.0, 110.0] },
        Refused::CamTooFar { .. } => Refused::CamTooFar { is_deg: 18.4, most_deg: 9.5 },
        Refused::IdleControlOff { .. } => Refused::IdleControlOff { rpm: 1800.0 },
        Refused::CoolantBelow { .. } => Refused::CoolantBelow { is_c: 40.0, needs_c: 70.0 },
        Refused::CoolantOutside { .. } => Refused::CoolantOutside { is_c: 40.0, needs_c: [70.0, 105.0] },
        Refused::InGear => Refused::InGear,
        Refused::LoadOn => Refused::LoadOn,
        Refused::OpenLoop => Refused::OpenLoop,
        Refused::Moving { .. } => Refused::Moving { km_h: 12.0 },
        Refused::CodeStored(_) => Refused::CodeStored("P0302".into()),
        Refused::AttemptsUsedUp { .. } => Refused::AttemptsUsedUp { of: 6 },
        Refused::StopUnknown => Refused::StopUnknown,
        Refused::ElectricalLoad { .. } => Refused::ElectricalLoad { is_a: 45.0, most_a: 30.0 },
        Refused::PurgeFlowing { .. } => Refused::PurgeFlowing { duty_pct: 12.0 },
        Refused::CodeMatured(_) => Refused::CodeMatured("P0507".into()),
        Refused::Withheld => Refused::Withheld,
    );
    all.push(Refused::InjectorCode(Unreadable::Length(3)));
    all.push(Refused::InjectorCode(Unreadable::Character('I')));
    all.extend(Group::ALL.iter().map(|g| Refused::NoGroup(*g)));
    all
}

fn failures() -> Vec<Failed> {
    every!(Failed:
        Failed::NotAtRest => Failed::NotAtRest,
        Failed::AtLimit => Failed::AtLimit,
        Failed::StopOutside => Failed::StopOutside,
        Failed::LeftIdle => Failed::LeftIdle,
        Failed::LeftWarmIdle => Failed::LeftWarmIdle,
        Failed::NoVerdict => Failed::NoVerdict,
        Failed::CylindersNotAtRest => Failed::CylindersNotAtRest,
        Failed::CamTooFar => Failed::CamTooFar,
        Failed::EngineTurned => Failed::EngineTurned,
        Failed::LearnBrokenOff => Failed::LearnBrokenOff,
        Failed::EgrStopOutside => Failed::EgrStopOutside,
        Failed::Stopped => Failed::Stopped,
        Failed::NotParked => Failed::NotParked,
        Failed::EngineStopped => Failed::EngineStopped,
        Failed::AttemptsUsedUp { .. } => Failed::AttemptsUsedUp { of: 6 },
        Failed::Withheld => Failed::Withheld,
    )
}

fn thrown() -> Vec<ThrownAway> {
    every!(ThrownAway:
        ThrownAway::Pedal => ThrownAway::Pedal,
        ThrownAway::LiftedLate => ThrownAway::LiftedLate,
        ThrownAway::Load => ThrownAway::Load,
        ThrownAway::FewCycles { .. } => ThrownAway::FewCycles { cycles: 1 },
        ThrownAway::Disagrees { .. } => ThrownAway::Disagrees { deg: 0.041 },
        ThrownAway::TooFar { .. } => ThrownAway::TooFar { deg: 1.2 },
        ThrownAway::Moving => ThrownAway::Moving,
        ThrownAway::Brake => ThrownAway::Brake,
        ThrownAway::RoughRoad => ThrownAway::RoughRoad,
        ThrownAway::GearChange => ThrownAway::GearChange,
    )
}

fn waits() -> Vec<WaitsFor> {
    every!(WaitsFor:
        WaitsFor::Hold(_) => WaitsFor::Hold(HOLD),
        WaitsFor::LetGo => WaitsFor::LetGo,
        WaitsFor::HoldAgain { .. } => WaitsFor::HoldAgain { thrown: ThrownAway::Pedal, hold: HOLD },
    )
}

fn writers() -> Vec<Writer> {
    every!(Writer:
        Writer::Delivered => Writer::Delivered,
        Writer::Factory => Writer::Factory,
        Writer::Ordinary => Writer::Ordinary,
        Writer::Sequence => Writer::Sequence,
        Writer::Routine => Writer::Routine,
        Writer::CoastDowns => Writer::CoastDowns,
        Writer::Refinement => Writer::Refinement,
        Writer::Reset => Writer::Reset,
        Writer::PowerCut => Writer::PowerCut,
        Writer::CodeClear => Writer::CodeClear,
        Writer::Entered => Writer::Entered,
    )
}

/// Every gate open and shut, on either side of its limit, and with a code.
fn gates() -> Vec<GateStatus> {
    let all = every!(Gate:
        Gate::Idling => Gate::Idling,
        Gate::Warm => Gate::Warm,
        Gate::Neutral => Gate::Neutral,
        Gate::Standing => Gate::Standing,
        Gate::NoLoad => Gate::NoLoad,
        Gate::Loaded => Gate::Loaded,
        Gate::SpeedError => Gate::SpeedError,
        Gate::IntegratorBounded => Gate::IntegratorBounded,
        Gate::StopKnown => Gate::StopKnown,
        Gate::NoBlockingCode => Gate::NoBlockingCode,
        Gate::InCell => Gate::InCell,
        Gate::ClosedLoop => Gate::ClosedLoop,
        Gate::Steady => Gate::Steady,
        Gate::NoPurge => Gate::NoPurge,
        Gate::Certain => Gate::Certain,
        Gate::AtRestOrWide => Gate::AtRestOrWide,
        Gate::Refuelled => Gate::Refuelled,
        Gate::BlendKnown => Gate::BlendKnown,
        Gate::Asleep => Gate::Asleep,
        Gate::LittleCurrent => Gate::LittleCurrent,
        Gate::Rested => Gate::Rested,
        Gate::Referenced => Gate::Referenced,
        Gate::Charged => Gate::Charged,
        Gate::BatteryMild => Gate::BatteryMild,
        Gate::CatalystWarm => Gate::CatalystWarm,
        Gate::TrimSettled => Gate::TrimSettled,
        Gate::RearAnswers => Gate::RearAnswers,
        Gate::FrontFollows => Gate::FrontFollows,
        Gate::RearInRange => Gate::RearInRange,
        Gate::ColdStart => Gate::ColdStart,
        Gate::AirMild => Gate::AirMild,
        Gate::FuelLevel => Gate::FuelLevel,
        Gate::AmbientPressure => Gate::AmbientPressure,
        Gate::FuelCalm => Gate::FuelCalm,
        Gate::CamAtRest => Gate::CamAtRest,
        Gate::NearStored => Gate::NearStored,
        Gate::EngineStands => Gate::EngineStands,
        Gate::Supply => Gate::Supply,
        Gate::KeyOnTime => Gate::KeyOnTime,
    );
    let mut out = Vec::new();
    for name in all {
        for (open, now) in [(true, 1.0), (false, 1.0), (false, 99.0), (false, -99.0)] {
            for code in [None, Some("P0507".to_owned())] {
                out.push(GateStatus { name, open, now, limit: 10.0, code });
            }
        }
    }
    out
}

fn notices() -> Vec<Notice> {
    let mut all = every!(Notice:
        Notice::KeyOn => Notice::KeyOn,
        Notice::KeyOnUnsaved => Notice::KeyOnUnsaved,
        Notice::SupplyBack => Notice::SupplyBack,
        Notice::KeyOff => Notice::KeyOff,
        Notice::Saved => Notice::Saved,
        Notice::EngineStopped => Notice::EngineStopped,
        Notice::SequenceAborted { .. } => Notice::SequenceAborted { step: 3 },
        Notice::SequenceComplete { .. } => Notice::SequenceComplete { idle_air_light_g_s: 0.123 },
        Notice::RoutineStarted { .. } => Notice::RoutineStarted { routine: Routine::CutOut(2) },
        Notice::RoutineDone { .. } => Notice::RoutineDone { routine: Routine::CommandIdle(900), error_deg: None },
        Notice::RoutineFailed { .. } => {
            Notice::RoutineFailed { routine: Routine::LearnIdle, because: Failed::LeftIdle }
        },
        Notice::WaitsFor(_) => Notice::WaitsFor(WaitsFor::LetGo),
        Notice::Refused { .. } => {
            Notice::Refused { request: DiagRequest::Start(Routine::LearnIdle), because: Refused::InGear }
        },
        Notice::CodeBecame { .. } => Notice::CodeBecame { code: "P0507".into(), state: CodeState::Pending },
        Notice::CodesCleared => Notice::CodesCleared,
        Notice::TankFilled { .. } => Notice::TankFilled { level_pct: 71.0 },
        Notice::AlcoholInferred { .. } => Notice::AlcoholInferred { alcohol_pct: 63.2 },
        Notice::GroupReset { .. } => Notice::GroupReset { group: Group::IdleAir },
        Notice::IdleSpeedAsked { .. } => Notice::IdleSpeedAsked { rpm: 900 },
        Notice::OwnIdleSpeed => Notice::OwnIdleSpeed,
        Notice::BatteryEntered { .. } => Notice::BatteryEntered { kind: BatteryKind::Agm, rated_ah: 70.0 },
        Notice::InjectorCodeWritten { .. } => {
            Notice::InjectorCodeWritten { cylinder: 2, flow_pct: -1.25, dead_us: 3.0 }
        },
        Notice::WheelSuspect => Notice::WheelSuspect,
        Notice::InjectorCut { .. } => Notice::InjectorCut { cylinder: 3 },
        Notice::InjectorWorks { .. } => Notice::InjectorWorks { cylinder: 3 },
        Notice::RunDownCounts { .. } => Notice::RunDownCounts { number: 1, of: 3, hold: Some(HOLD) },
        Notice::RunDownThrownAway { .. } => {
            Notice::RunDownThrownAway { because: ThrownAway::Load, hold: Some(HOLD) }
        },
        Notice::CoastDownCounts { .. } => Notice::CoastDownCounts { number: 1, of: 3 },
        Notice::CoastDownThrownAway { .. } => Notice::CoastDownThrownAway { because: ThrownAway::Brake },
        Notice::WheelLearned { .. } => Notice::WheelLearned { error_deg: 0.0021 },
    );
    all.push(Notice::CodeBecame { code: "P0507".into(), state: CodeState::Confirmed });
    all.push(Notice::RunDownCounts { number: 4, of: 4, hold: None });
    for because in thrown() {
        all.push(Notice::RunDownThrownAway { because, hold: None });
        all.push(Notice::CoastDownThrownAway { because });
    }
    for (_, routine) in Routine::ALL {
        all.push(Notice::RoutineDone { routine: *routine, error_deg: None });
        all.push(Notice::RoutineDone { routine: *routine, error_deg: Some(0.001) });
    }
    let battery = DiagRequest::EnterBatteryRecord { kind: BatteryKind::Flooded, rated_ah: 5.0 };
    let code = DiagRequest::WriteInjectorCode { cylinder: 1, code: "D2".into() };
    for request in [battery, code, DiagRequest::Progress] {
        all.push(Notice::Refused { request, because: Refused::NotRunning });
    }
    all
}

fn hindrances() -> Vec<Hindrance> {
    every!(Hindrance:
        Hindrance::KeyOn => Hindrance::KeyOn,
        Hindrance::EngineTurns => Hindrance::EngineTurns,
        Hindrance::Moving => Hindrance::Moving,
        Hindrance::Rolling => Hindrance::Rolling,
        Hindrance::NotRunning => Hindrance::NotRunning,
        Hindrance::NoTime => Hindrance::NoTime,
        Hindrance::ClampOff => Hindrance::ClampOff,
        Hindrance::ClampOn => Hindrance::ClampOn,
        Hindrance::OnRollers => Hindrance::OnRollers,
        Hindrance::NoAirMeter => Hindrance::NoAirMeter,
        Hindrance::NoVapourSystem => Hindrance::NoVapourSystem,
        Hindrance::NoPhaser => Hindrance::NoPhaser,
        Hindrance::NoEgrValve => Hindrance::NoEgrValve,
        Hindrance::NoCylinder { .. } => Hindrance::NoCylinder { cylinder: 7, of: 4 },
        Hindrance::NoBank { .. } => Hindrance::NoBank { bank: 2, of: 1 },
        Hindrance::OneBank => Hindrance::OneBank,
        Hindrance::NoCodePrinted => Hindrance::NoCodePrinted,
        Hindrance::NoModule(_) => Hindrance::NoModule("why".into()),
        Hindrance::TooManyWatched { .. } => Hindrance::TooManyWatched { most: 8 },
        Hindrance::NoValue(_) => Hindrance::NoValue("boost".into()),
        Hindrance::AtWork { .. } => Hindrance::AtWork { instrument: "vacuum_gauge".into() },
        Hindrance::GaugeNotFitted => Hindrance::GaugeNotFitted,
        Hindrance::GaugeElsewhere => Hindrance::GaugeElsewhere,
        Hindrance::ProbeElsewhere => Hindrance::ProbeElsewhere,
        Hindrance::ThrottlePowered => Hindrance::ThrottlePowered,
        Hindrance::NoExhaustGas => Hindrance::NoExhaustGas,
        Hindrance::EdgesOnly => Hindrance::EdgesOnly,
        Hindrance::NoSupply => Hindrance::NoSupply,
        Hindrance::PulsesTooShort => Hindrance::PulsesTooShort,
        Hindrance::PlugMustComeOut => Hindrance::PlugMustComeOut,
        Hindrance::WouldStart => Hindrance::WouldStart,
        Hindrance::NothingWired => Hindrance::NothingWired,
        Hindrance::ChargerConnected => Hindrance::ChargerConnected,
        Hindrance::LoadsFalsify => Hindrance::LoadsFalsify,
        Hindrance::AgmHoldsAcid => Hindrance::AgmHoldsAcid,
    )
}

fn driver() -> Vec<DriverTells> {
    let driven = |how, full| DriverTells::DrivenOn { how, days: 3.0, driven: 3, full, hours: 2.5 };
    let mut all = every!(DriverTells:
        DriverTells::Over => DriverTells::Over,
        DriverTells::AnotherHand => DriverTells::AnotherHand,
        DriverTells::Stalled => DriverTells::Stalled,
        DriverTells::NoStart => DriverTells::NoStart,
        DriverTells::NoStand => DriverTells::NoStand,
        DriverTells::RestOver => DriverTells::RestOver,
        DriverTells::RestTouched => DriverTells::RestTouched,
        DriverTells::Stranded { .. } => DriverTells::Stranded { day: 1, because: Stranded::NoStart },
        DriverTells::DrivenOn { .. } => driven(LifeEnd::Whole, 3),
    );
    all.extend(
        every!(LifeEnd:
            LifeEnd::Whole => LifeEnd::Whole,
            LifeEnd::Stranded => LifeEnd::Stranded,
            LifeEnd::Touched => LifeEnd::Touched,
        )
        .into_iter()
        .map(|how| driven(how, 1)),
    );
    all.extend(
        every!(Stranded:
            Stranded::NoStart => Stranded::NoStart,
            Stranded::GivenUp => Stranded::GivenUp,
            Stranded::NoDrive(_) => Stranded::NoDrive(Hindrance::ClampOff),
        )
        .into_iter()
        .map(|because| DriverTells::Stranded { day: 2, because }),
    );
    all
}

fn model_notes() -> Vec<ModelNote> {
    let pattern = pattern::Name::Town;
    every!(ModelNote:
        ModelNote::DriveNoStart => ModelNote::DriveNoStart,
        ModelNote::DriveNoStand => ModelNote::DriveNoStand,
        ModelNote::NotStarted => ModelNote::NotStarted,
        ModelNote::PiecesTooShort { .. } => ModelNote::PiecesTooShort { seconds: 20.0 },
        ModelNote::NotDriven { .. } => ModelNote::NotDriven { pattern, because: Hindrance::NotRunning },
        ModelNote::HoldStalled => ModelNote::HoldStalled,
        ModelNote::WouldNotIdle => ModelNote::WouldNotIdle,
        ModelNote::StillMoving { .. } => ModelNote::StillMoving { g_s: 0.031 },
    )
}

/// Every fact's sentence, beside the fact.
fn not_whole() -> Vec<NotWhole> {
    let name = || "wheel_table".to_owned();
    let sensor = || "coolant".to_owned();
    every!(NotWhole:
        NotWhole::Part { .. } => NotWhole::Part { part: "injector_2".into(), key: "clogged_pct".into(), is: 9.0 },
        NotWhole::WrongPart { .. } => NotWhole::WrongPart { part: "battery".into() },
        NotWhole::Sensor { .. } => NotWhole::Sensor { sensor: sensor() },
        NotWhole::Wire { .. } => NotWhole::Wire { sensor: sensor() },
        NotWhole::Unplugged { .. } => NotWhole::Unplugged { connector: "coil_2".into() },
        NotWhole::InletLeak { .. } => NotWhole::InletLeak { mm2: 2.0 },
        NotWhole::ExhaustLeak { .. } => NotWhole::ExhaustLeak { mm2: 40.0 },
        NotWhole::Interrupter { .. } => NotWhole::Interrupter { cylinder: 3 },
        NotWhole::Accessory { .. } => NotWhole::Accessory { amps: 0.4 },
        NotWhole::Charger => NotWhole::Charger,
        NotWhole::InjectorCode { .. } => NotWhole::InjectorCode { cylinder: 2 },
        NotWhole::BatteryRecord => NotWhole::BatteryRecord,
        NotWhole::BatteryAge => NotWhole::BatteryAge,
        NotWhole::NotLearned { .. } => NotWhole::NotLearned { name: name() },
        NotWhole::Learned { .. } => {
            NotWhole::Learned { name: name(), value: 0.1, needs: -0.5, unit: "°".into() }
        },
        NotWhole::NotSaved { .. } => NotWhole::NotSaved { name: name() },
        NotWhole::Code { .. } => NotWhole::Code { code: "P0507".into(), lamp: true },
    )
}

fn found() -> Vec<Found> {
    let whole = not_whole().into_iter().map(Found::NotWhole);
    let own = [
        Found::Whole,
        Found::LearnedRight,
        Found::NotWholeKept,
        Found::LearnedWrongKept,
        Found::NotMended,
        Found::ProofStarted,
        Found::ProofNotStarted,
        Found::ProofCodesRead,
        Found::ProofCodesNotRead,
        Found::NoCodeLeft,
        Found::CodeLeft { code: "P0507".into() },
        Found::CausesTooMany { wrong: 1 },
        Found::CausesTooMany { wrong: 2 },
    ];
    whole.chain(own).collect()
}

fn sentences() -> Vec<(String, String)> {
    fn of<T: std::fmt::Debug>(all: Vec<T>, say: impl Fn(&T) -> String) -> Vec<(String, String)> {
        all.into_iter().map(|f| (format!("{f:?}"), say(&f))).collect()
    }
    let routine = Routine::LearnWheel;
    let states = every!(RoutineState:
        RoutineState::None => RoutineState::None,
        RoutineState::Running { .. } => RoutineState::Running { routine, for_s: 3.0, waits_for: None },
        RoutineState::Done { .. } => RoutineState::Done { routine },
        RoutineState::Failed { .. } => RoutineState::Failed { routine, because: Failed::NotAtRest },
    );
    let told = every!(Told:
        Told::Hindered(_) => Told::Hindered(Hindrance::KeyOn),
        Told::Refused(_) => Told::Refused(Refused::LoadOn),
        Told::Silent => Told::Silent,
        Told::NoMark => Told::NoMark,
        Told::Locked => Told::Locked,
    );
    let stops = gates().into_iter().map(NoStop::Gate).chain([NoStop::NotRunning]).collect();
    let flags = notices().into_iter().filter(|n| facts::flag(n).is_some()).collect();
    [
        of(refusals(), facts::refused),
        of(failures(), |f| facts::failed(*f)),
        of(waits(), facts::waits_for),
        of(writers(), |w| facts::writer(*w)),
        of(gates(), facts::gate),
        of(stops, |why| facts::no_stop(shown_units(), why)),
        of(notices(), facts::notice),
        of(flags, |n| facts::flag(n).unwrap_or_default()),
        of(states, facts::routine_state),
        of(hindrances(), facts::hindrance),
        of(driver(), facts::driver),
        of(model_notes(), facts::model_note),
        of(told, facts::told),
        of(not_whole(), facts::not_whole),
        of(found(), facts::found),
    ]
    .concat()
}

#[test]
fn holds_every_fact_has_its_sentence() {
    for words in [Words::english(), Words::pseudo()] {
        let _speaking = speak(&words);
        for (fact, said) in sentences() {
            assert!(!said.trim().is_empty() && !said.contains('⟨'), "{}: {fact}: {said}", words.tag());
        }
    }
}

/// Metric units that have another one in the trade of the United States.
const METRIC: [&str; 7] = [" °C", " kPa", " km/h", " km", " g/s", " N·m", " kg"];

/// A refusal told °C beside a gauge in °F.
#[test]
fn bug_facts_tell_quantities_in_the_units_of_the_gauges() {
    let _units = show_in(Units::Us);
    let mut said = sentences();
    let learned =
        NotWhole::Learned { name: "idle_air_light".into(), value: 1.0, needs: 0.2, unit: "g/s".into() };
    said.push((String::new(), facts::not_whole(&learned)));
    let outcome = Outcome::Number { x: 90.0, unit: "°C".into() };
    said.push((String::new(), facts::outcome(&outcome)));
    for (fact, said) in said {
        let left = METRIC.iter().find(|unit| said.contains(**unit));
        assert!(left.is_none(), "{fact}: {said}");
    }
    assert_eq!(facts::outcome(&outcome), "194 °F");
    let cold = Refused::CoolantOutside { is_c: 39.6, needs_c: [70.0, 105.0] };
    assert_eq!(facts::refused(&cold), "coolant 103 °F. Needs 158 to 221 °F");
    assert_eq!(
        facts::refused(&Refused::Moving { km_h: 12.0 }),
        "car moving at 7 mph. Needs the car stationary"
    );
    // rpm has no other unit
    let own = Outcome::Number { x: 720.0, unit: "rpm".into() };
    assert_eq!(facts::outcome(&own), "720 rpm");
    drop(_units);
    assert_eq!(facts::outcome(&outcome), "90 °C");
}

#[test]
fn exact_facts_read_well() {
    let _speaking = speak(&Words::english());
    let cold = Refused::CoolantOutside { is_c: 39.6, needs_c: [70.0, 105.0] };
    assert_eq!(facts::refused(&cold), "coolant 40 °C. Needs 70 to 105 °C");
    let done = Notice::RoutineDone { routine: Routine::LearnWheel, error_deg: Some(0.00213) };
    let wanted = "learn crankshaft variation complete: standard error 0.0021°; saved after key off";
    assert_eq!(facts::notice(&done), wanted);
    let gate = GateStatus { name: Gate::SpeedError, open: false, now: -412.0, limit: 30.0, code: None };
    assert_eq!(facts::gate(&gate), "idle speed 412 rpm above target; must stay within 30 rpm");
    let complete = Notice::SequenceComplete { idle_air_light_g_s: 0.1 };
    assert_eq!(facts::notice(&complete), "manual sequence complete; idle air, no load, now +0.100 g/s");
    assert_eq!(facts::hindrance(&Hindrance::NoBank { bank: 2, of: 1 }), "this engine has 1 bank, no bank 2");
}
