//! Requests to the module over the diagnostic link, and what each needs besides its name.
//!
//! *Inside*: requests with their keys in files and their cautions. *Outside*: the requests themselves and the routines (`link.rs`), what
//! the module does with them (`ecm/services.rs`).

use super::cautions::{Caution, none};
use crate::label::BatteryKind;
use crate::link::{DiagRequest, Routine};

/// A request.
#[derive(Debug, Clone, PartialEq)]
pub struct Service {
    /// The request, with its required values left empty.
    pub ask: DiagRequest,
    /// Keys that it takes in files.
    pub takes: &'static [&'static str],
}

impl Service {
    /// Name in files, deeds and prices.
    pub fn id(&self) -> &'static str {
        self.ask.name()
    }
}

const fn plain(ask: DiagRequest) -> Service {
    Service { ask, takes: &[] }
}

const OTHERS: &[Service] = &[
    plain(DiagRequest::ReadCodes),
    plain(DiagRequest::ClearCodes),
    plain(DiagRequest::ReadLearned),
    plain(DiagRequest::ReadLive),
    plain(DiagRequest::ReadReadiness),
    Service { ask: DiagRequest::ReadFreezeFrame(String::new()), takes: &["code"] },
    Service { ask: DiagRequest::Start(Routine::CutOut(1)), takes: &["cylinder"] },
    Service {
        ask: DiagRequest::WriteInjectorCode { cylinder: 1, code: String::new() },
        takes: &["cylinder", "code", "off_body"],
    },
    Service { ask: DiagRequest::ReadInjectorCode(1), takes: &["cylinder"] },
    Service {
        ask: DiagRequest::EnterBatteryRecord { kind: BatteryKind::Flooded, rated_ah: 60.0 },
        takes: &["battery_type", "rated_ah"],
    },
    plain(DiagRequest::ReadBatteryRecord),
    Service { ask: DiagRequest::Start(Routine::CommandIdle(0)), takes: &["idle_rpm"] },
    plain(DiagRequest::Progress),
    plain(DiagRequest::Stop),
    plain(DiagRequest::Restart),
];

/// Every request that a file can make: the routines first.
pub fn services() -> impl Iterator<Item = Service> {
    let routines = Routine::ALL.iter().map(|(_, routine)| plain(DiagRequest::Start(*routine)));
    routines.chain(OTHERS.iter().cloned())
}

const READS: &[Caution] = none("the module only answers");
const CLEARS: &[Caution] = none("numbers in the module are cleared; nothing moves");

/// Cautions for the person who makes that request.
pub fn cautions(ask: &DiagRequest) -> &'static [Caution] {
    match ask {
        DiagRequest::ReadCodes
        | DiagRequest::ReadFreezeFrame(_)
        | DiagRequest::ReadLearned
        | DiagRequest::ReadLive
        | DiagRequest::ReadValue(_)
        | DiagRequest::ReadReadiness
        | DiagRequest::ReadInjectorCode(_)
        | DiagRequest::ReadBatteryRecord
        | DiagRequest::Progress => READS,
        DiagRequest::ClearCodes => CLEARS,
        DiagRequest::WriteInjectorCode { .. } => &[Caution::SteadySupply],
        DiagRequest::EnterBatteryRecord { .. } => none("one entry, with the engine stopped"),
        DiagRequest::Stop => none("it ends what could hurt"),
        DiagRequest::Restart => none("the engine stands, and nothing moves"),
        DiagRequest::Start(routine) => of_routine(*routine),
    }
}

fn of_routine(routine: Routine) -> &'static [Caution] {
    match routine {
        Routine::ResetGroup(_) => CLEARS,
        Routine::LearnIdle | Routine::LearnShortPulse | Routine::TestVapour => &[Caution::CarbonMonoxide],
        Routine::LearnCamRest => &[Caution::CarbonMonoxide, Caution::MovingParts],
        Routine::LearnClosedStop => &[Caution::ThrottlePlate],
        Routine::LearnEgrStop => &[Caution::HotParts],
        Routine::LearnWheel => &[Caution::HighRevs],
        Routine::CutOut(_) => &[Caution::MisfireHeat],
        Routine::CommandIdle(0) => none("the module goes back to its own idle"),
        Routine::CommandIdle(_) => &[Caution::CreepsInGear],
    }
}
