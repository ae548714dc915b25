//! Negative response codes of ISO 14229-1, and which of them says why the module refuses.
//!
//! *Inside*: the codes (annex A.1, from memory) and one table from the module's own reasons to them. *Outside*: the
//! reasons ([`crate::link::Refused`]), the order in which a request is checked ([`super::uds`]).

use super::car::Module;
use crate::link::{DiagRequest, DiagResponse, LiveValues, Refused};

/// A negative response code.
pub type Nrc = u8;

/// The codes in use.
pub mod nrc {
    use super::Nrc;
    /// No such service.
    pub const SERVICE: Nrc = 0x11;
    /// No such sub-function.
    pub const SUBFUNCTION: Nrc = 0x12;
    /// Wrong length or format.
    pub const LENGTH: Nrc = 0x13;
    /// The answer would be too long.
    pub const TOO_LONG: Nrc = 0x14;
    /// Busy: ask again.
    pub const BUSY: Nrc = 0x21;
    /// Conditions are not right.
    pub const CONDITIONS: Nrc = 0x22;
    /// Something else must come before.
    pub const SEQUENCE: Nrc = 0x24;
    /// Out of range.
    pub const RANGE: Nrc = 0x31;
    /// Security access is denied.
    pub const LOCKED: Nrc = 0x33;
    /// The key is wrong.
    pub const KEY: Nrc = 0x35;
    /// Too many wrong keys.
    pub const TRIES: Nrc = 0x36;
    /// The waiting time after them is not over.
    pub const WAIT: Nrc = 0x37;
    /// Received, answer pending.
    pub const PENDING: Nrc = 0x78;
    /// No such sub-function in this session.
    pub const SUBFUNCTION_SESSION: Nrc = 0x7E;
    /// No such service in this session.
    pub const SERVICE_SESSION: Nrc = 0x7F;
    /// The engine turns too fast.
    pub const RPM_HIGH: Nrc = 0x81;
    /// The engine turns too slowly.
    pub const RPM_LOW: Nrc = 0x82;
    /// The engine turns.
    pub const ENGINE_RUNS: Nrc = 0x83;
    /// The engine does not run.
    pub const ENGINE_STANDS: Nrc = 0x84;
    /// Too hot.
    pub const TOO_HOT: Nrc = 0x86;
    /// Too cold.
    pub const TOO_COLD: Nrc = 0x87;
    /// The car moves.
    pub const SPEED_HIGH: Nrc = 0x88;
    /// The pedal is pressed.
    pub const PEDAL_HIGH: Nrc = 0x8A;
    /// Not in neutral.
    pub const NOT_NEUTRAL: Nrc = 0x8C;
    /// The voltage is too low.
    pub const VOLTAGE_LOW: Nrc = 0x93;
}

/// The code for a refusal at such live values.
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
        | Refused::NoShortPulse => nrc::RANGE,
        Refused::EngineTurning { .. } => nrc::ENGINE_RUNS,
        Refused::NotRunning => nrc::ENGINE_STANDS,
        Refused::UnderWay(_) | Refused::ThrottleNotReady => nrc::BUSY,
        Refused::SupplyBelow { .. } => nrc::VOLTAGE_LOW,
        Refused::CoolantBelow { .. } => nrc::TOO_COLD,
        Refused::CoolantOutside { is_c, needs_c } if *is_c > needs_c[1] => nrc::TOO_HOT,
        Refused::CoolantOutside { .. } => nrc::TOO_COLD,
        Refused::Moving { .. } => nrc::SPEED_HIGH,
        Refused::NotParked if live.road_km_h >= 1.0 => nrc::SPEED_HIGH,
        Refused::NotParked | Refused::InGear => nrc::NOT_NEUTRAL,
        Refused::IdleControlOff { rpm } => off_idle(*rpm),
        Refused::NotIdling => off_idle(live.engine_speed_rpm),
        Refused::InjectorCodesMissing | Refused::StopUnknown => nrc::SEQUENCE,
        Refused::LoadOn
        | Refused::OpenLoop
        | Refused::CodeStored(_)
        | Refused::AttemptsUsedUp { .. }
        | Refused::ElectricalLoad { .. }
        | Refused::PurgeFlowing { .. }
        | Refused::CodeMatured(_)
        | Refused::Withheld => nrc::CONDITIONS,
    }
}

/// A refusal that says nothing of why: what a scenario keeps back is kept back on the network too.
fn kept(code: Nrc) -> Nrc {
    if code == nrc::SEQUENCE || code >= nrc::RPM_HIGH { nrc::CONDITIONS } else { code }
}

/// Puts a request that changes something; the module's answer, or the code of its refusal.
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
