//! Negative response codes of ISO 14229-1, and which of them reports the module's reason for a refusal.
//!
//! *Inside*: the codes (annex A.1, from memory) and one table that maps the module's own reasons to them. *Outside*:
//! the reasons ([`crate::link::Refused`]), the order in which a request is checked ([`super::uds`]).

use super::car::Module;
use crate::link::{DiagRequest, DiagResponse, LiveValues, Refused};

/// A negative response code.
pub type Nrc = u8;

/// The codes in use.
pub mod nrc {
    use super::Nrc;
    /// Service not supported.
    pub const SERVICE: Nrc = 0x11;
    /// Sub-function not supported.
    pub const SUBFUNCTION: Nrc = 0x12;
    /// Incorrect message length or invalid format.
    pub const LENGTH: Nrc = 0x13;
    /// Response too long.
    pub const TOO_LONG: Nrc = 0x14;
    /// Busy, repeat request.
    pub const BUSY: Nrc = 0x21;
    /// Conditions not correct.
    pub const CONDITIONS: Nrc = 0x22;
    /// Request sequence error.
    pub const SEQUENCE: Nrc = 0x24;
    /// Request out of range.
    pub const RANGE: Nrc = 0x31;
    /// Security access denied.
    pub const LOCKED: Nrc = 0x33;
    /// Invalid key.
    pub const KEY: Nrc = 0x35;
    /// Exceeded number of attempts.
    pub const TRIES: Nrc = 0x36;
    /// Required time delay not expired.
    pub const WAIT: Nrc = 0x37;
    /// Request correctly received, response pending.
    pub const PENDING: Nrc = 0x78;
    /// Sub-function not supported in active session.
    pub const SUBFUNCTION_SESSION: Nrc = 0x7E;
    /// Service not supported in active session.
    pub const SERVICE_SESSION: Nrc = 0x7F;
    /// Engine speed too high.
    pub const RPM_HIGH: Nrc = 0x81;
    /// Engine speed too low.
    pub const RPM_LOW: Nrc = 0x82;
    /// Engine is running.
    pub const ENGINE_RUNS: Nrc = 0x83;
    /// Engine is not running.
    pub const ENGINE_STANDS: Nrc = 0x84;
    /// Temperature too high.
    pub const TOO_HOT: Nrc = 0x86;
    /// Temperature too low.
    pub const TOO_COLD: Nrc = 0x87;
    /// Vehicle speed too high.
    pub const SPEED_HIGH: Nrc = 0x88;
    /// Throttle/pedal too high.
    pub const PEDAL_HIGH: Nrc = 0x8A;
    /// Transmission not in neutral.
    pub const NOT_NEUTRAL: Nrc = 0x8C;
    /// Voltage too low.
    pub const VOLTAGE_LOW: Nrc = 0x93;
}

/// The code for a refusal with these live values.
pub fn of(why: &Refused, live: &LiveValues) -> Nrc {
    let off_idle = |rpm: f64| match rpm {
        rpm if rpm <= 0.0 => nrc::ENGINE_STANDS,
        _ if live.pedal_pct > 1.0 => nrc::PEDAL_HIGH,
        rpm if rpm > live.target_rpm => nrc::RPM_HIGH,
        _ => nrc::RPM_LOW,
    };
    match why {
        Refused::NoValue(_)
        | Refused::BatteryCapacity { .. }
        | Refused::NoInjectorCodes
        | Refused::NoCylinder { .. }
        | Refused::InjectorCode(_)
        | Refused::OtherKind { .. }
        | Refused::NoGroup(_)
        | Refused::IdleSpeed { .. }
        | Refused::NoVapourTest
        | Refused::NoPhaser
        | Refused::NoEgrValve
        | Refused::NoShortPulse => nrc::RANGE,
        Refused::EngineTurning { .. } => nrc::ENGINE_RUNS,
        Refused::NotRunning => nrc::ENGINE_STANDS,
        Refused::UnderWay(_) | Refused::ThrottleNotReady => nrc::BUSY,
        Refused::SupplyBelow { .. } => nrc::VOLTAGE_LOW,
        Refused::CoolantBelow { .. } => nrc::TOO_COLD,
        Refused::CoolantOutside { is_c, needs_c } | Refused::InletOutside { is_c, needs_c }
            if *is_c > needs_c[1] =>
        {
            nrc::TOO_HOT
        }
        Refused::CoolantOutside { .. } | Refused::InletOutside { .. } => nrc::TOO_COLD,
        Refused::Moving { .. } => nrc::SPEED_HIGH,
        Refused::NotParked if live.road_km_h >= 1.0 => nrc::SPEED_HIGH,
        Refused::NotParked | Refused::InGear => nrc::NOT_NEUTRAL,
        Refused::IdleControlOff { rpm } => off_idle(*rpm),
        Refused::NotIdling => off_idle(live.engine_speed_rpm),
        Refused::InjectorCodesMissing | Refused::StopUnknown => nrc::SEQUENCE,
        Refused::LoadOn
        | Refused::OpenLoop
        | Refused::CamTooFar { .. }
        | Refused::CodeStored(_)
        | Refused::AttemptsUsedUp { .. }
        | Refused::ElectricalLoad { .. }
        | Refused::PurgeFlowing { .. }
        | Refused::FuelLevelOutside { .. }
        | Refused::CodeMatured(_)
        | Refused::Withheld => nrc::CONDITIONS,
    }
}

/// The code that gives no reason: what a scenario hides is hidden on the network too.
fn kept(code: Nrc) -> Nrc {
    if code == nrc::SEQUENCE || code >= nrc::RPM_HIGH { nrc::CONDITIONS } else { code }
}

/// Sends a request that changes something; returns the module's answer, or the code of its refusal.
pub fn done(m: &mut dyn Module, request: &DiagRequest) -> Result<DiagResponse, Nrc> {
    match m.ask(request) {
        Some(DiagResponse::Refused(why)) => {
            let live = m.scan().map(|s| s.live).unwrap_or_default();
            let code = of(&why, &live);
            Err(if m.keeps_reasons() { kept(code) } else { code })
        }
        Some(DiagResponse::Silent) | None => Err(nrc::CONDITIONS),
        Some(answer) => Ok(answer),
    }
}
