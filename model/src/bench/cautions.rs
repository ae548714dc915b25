//! Cautions for each act that a person can carry out.
//!
//! *Inside*: which cautions apply to an act, from what the catalogue declares for its hand, part and service, and the
//! cautions for tools and connectors. *Outside*: the keys themselves (`catalogue/cautions.rs`) and their sentences.

use super::action::{Action, Connector, Gear, Key, PartKind};
use super::tools::{Look, Point, Tool};
use crate::catalogue::cautions::{Caution, none};
use crate::catalogue::{hands, services};
use crate::link::DiagRequest;

impl Action {
    /// Cautions for carrying out the act in a real workshop.
    pub fn cautions(&self) -> &'static [Caution] {
        match self {
            Action::Key(Key::Off | Key::On) => none("nothing turns yet, or any more"),
            Action::Key(Key::Crank) => hands::cautions("key"),
            Action::Pedal(pct) if *pct <= 0.0 => none("it is let go"),
            Action::Pedal(_) => hands::cautions("pedal_pct"),
            Action::Brake(_) => hands::cautions("brake"),
            Action::Gear(Gear::Park | Gear::Neutral) => none("nothing is driven"),
            Action::Gear(Gear::Drive) => hands::cautions("gear"),
            Action::Load(..) => hands::cautions("load"),
            Action::Connector(connector, _) => connector.cautions(),
            Action::Fit(choice) => choice.kind.cautions(),
            Action::CleanThrottle => hands::cautions("clean"),
            Action::Leak(_) => hands::cautions("leak_mm2"),
            Action::ExhaustLeak(_) => hands::cautions("exhaust_leak_mm2"),
            Action::Sensor(..) => hands::cautions("sensor"),
            Action::Interrupt(..) => hands::cautions("interrupt_pct"),
            Action::Accessory { .. } => hands::cautions("accessory_a"),
            Action::Charger { .. } => hands::cautions("charger_a"),
            Action::DriveOn(_) => hands::cautions("drive_on"),
            Action::Rest(_) => hands::cautions("rest_h"),
            Action::Refuel(_) => hands::cautions("refuel_l"),
            Action::SwapInjectors(..) => hands::cautions("swap_injectors"),
            Action::CopyInjectorCode { cylinder, .. } => {
                services::cautions(&DiagRequest::WriteInjectorCode {
                    cylinder: *cylinder,
                    code: String::new(),
                })
            }
            Action::Ask(request) => services::cautions(request),
            Action::Drive { .. } => hands::cautions("drive"),
            Action::Hold { nm, .. } if *nm == 0.0 => &[Caution::HighRevs],
            Action::Hold { .. } => hands::cautions("hold_rpm"),
            Action::Measure(tool) => tool.cautions(),
            Action::Watch(_) => hands::cautions("watch"),
            Action::Note(_) => hands::cautions("note"),
            Action::Wait => hands::cautions("wait_s"),
        }
    }
}

impl PartKind {
    /// Cautions for fitting the part.
    pub fn cautions(self) -> &'static [Caution] {
        self.declared().cautions
    }
}

impl Connector {
    /// Cautions for unplugging the connector or plugging it in.
    pub fn cautions(self) -> &'static [Caution] {
        match self {
            Connector::Battery => &[Caution::BatteryLeads, Caution::BatteryHydrogen],
            Connector::ThrottleBody => &[Caution::ThrottlePlate],
            Connector::Coil(_) => &[Caution::IgnitionVoltage],
            Connector::PurgeValve | Connector::PurgeHose | Connector::FuelCap => &[Caution::FuelVapour],
            Connector::Fan | Connector::Alternator => &[Caution::MovingParts],
            Connector::CamValve | Connector::EgrValve => &[Caution::Connectors, Caution::HotParts],
            Connector::Belt => &[Caution::DriveBelt],
            Connector::OxygenSensor1
            | Connector::OxygenSensor2
            | Connector::RearOxygenSensor1
            | Connector::RearOxygenSensor2 => &[Caution::Connectors, Caution::HotParts],
            Connector::AirMeter
            | Connector::ManifoldPressure
            | Connector::CoolantSensor
            | Connector::CrankSensor
            | Connector::Injector(_)
            | Connector::Pedal => &[Caution::Connectors],
        }
    }
}

impl Tool {
    /// Cautions for measuring with the tool.
    pub fn cautions(self) -> &'static [Caution] {
        match self {
            Tool::FuelPressure => &[Caution::FuelPressure],
            Tool::Compression(_) => &[Caution::Cranking],
            Tool::LeakDown(_) => &[Caution::AirTurnsEngine, Caution::IgnitionVoltage, Caution::HotParts],
            Tool::GasReading => &[Caution::CarbonMonoxide],
            Tool::GasAhead(_) => &[Caution::CarbonMonoxide, Caution::HotParts],
            Tool::ExhaustSmoke | Tool::BackPressure(_) => &[Caution::HotParts],
            Tool::SmokeTest => &[Caution::FuelVapour],
            Tool::Hydrometer => &[Caution::BatteryAcid, Caution::BatteryHydrogen],
            Tool::Voltmeter(Point::BatteryPost) | Tool::Scope(Point::BatteryPost) | Tool::BatteryTester => {
                &[Caution::BatteryHydrogen, Caution::BatteryAcid]
            }
            Tool::Voltmeter(Point::ModuleSupply | Point::Pin(_) | Point::Injector(_))
            | Tool::Scope(Point::ModuleSupply | Point::Pin(_) | Point::Injector(_))
            | Tool::VacuumGauge
            | Tool::Thermometer
            | Tool::AmpereClamp
            | Tool::ClampOn(_)
            | Tool::Inspect(Look::Hoses | Look::Injector(_)) => &[Caution::MovingParts],
            Tool::Inspect(Look::ThrottleBody) => &[Caution::ThrottlePlate],
            Tool::Inspect(Look::AirFilter) => none("its box is neither hot nor live"),
            Tool::Inspect(Look::Battery) => none("a label is read"),
        }
    }
}
