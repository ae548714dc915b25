//! The starter battery: six lead-acid cells, their printed ratings, their state and their wear.
//!
//! **Models** acid consumption and from it open-circuit voltage and density; ohmic resistance over temperature,
//! charge and age; one polarisation state on the plates' surface, hard to charge when full and hard to discharge when
//! empty; gassing by a Tafel law; one lumped temperature; capacity lost to grid corrosion, cycling, sulphation and
//! water lost as gas. Flooded cells and AGM (absorbent glass mat).
//!
//! **Leaves out** acid stratification, differences between the six cells, memory of single
//! cycles. The ageing relations are modelled: their forms are published, their magnitudes in a car are disputed.
//!
//! **State** ([`Battery`]): charge \[-\], polarisation \[V\], temperature \[K\], losses to corrosion, cycling and
//! sulphation \[-\], water lost \[g\], charge throughput \[Ah\].
//!
//! **Equations**
//! 1. `V = E(a, T) + v + R I`; acid `a = 1 − (1 − q) C/C₀`.
//! 2. `C_d v' = I − I_gas − I_main`, `q' = I_main/C`: incoming charge is stored, lost to gassing or held on the
//!    double layer.
//! 3. charging `I_main = i C (1.002 − q) sinh(v/v₀)`; discharging `I_main = v/r`, `r = r₀ (1 + m d/(1 − d))`, d = 1 − q.
//! 4. `I_gas = (C₀/100 Ah) 20 mA exp(11 (U − 2.23) + 0.06 (T − 298))`, U per cell (Schiffer et al. 2007).
//! 5. water `m' = 2.016 g/Ah I_gas`, a twentieth of that in AGM cells, whose mat recombines the oxygen.
//! 6. corrosion `c' = 2^((U − 2.23)/0.05) 2^((T − 298)/10)/L`.
//!
//! **Valid** for −30 to 60 °C and up to a few seconds at the cold-cranking current.
//!
//! **Checked by** `tests/model/battery.rs`, `holds_charge…` in `tests/model/balances.rs`.

use crate::label::{BatteryKind as Kind, BatteryLabel as Label};
use crate::num::{self, Stream};
use crate::plant::parts::Spread;
use serde::{Deserialize, Serialize};

/// Cells in series.
pub const CELLS: f64 = 6.0;
/// Water lost for each ampere-hour of gassing in six cells \[g/Ah\]: Faraday, 18.015 g/mol over two electrons.
pub const WATER_G_AH: f64 = CELLS * 18.015 * 3600.0 / (2.0 * 96_485.33);
/// Change of the open-circuit voltage of all six cells with temperature \[V/K\]; handbooks, from memory.
const REST_V_K: f64 = 0.0012;
/// Volts that a cell gains for each kg/L of density: E = density + 0.84, common practice.
const V_PER_DENSITY: f64 = 1.0;
/// Density gained per share of the water lost \[kg/L\]: the same acid in less water, initially 36 % by mass.
const DENSITY_DRIED: f64 = 0.23;
/// Resistance over temperature \[°C\], against that at 25 °C: 1.5 to 2 at −18 °C by common practice.
const COLD: [[f64; 2]; 5] = [[-30.0, 2.2], [-18.0, 1.8], [0.0, 1.3], [25.0, 1.0], [50.0, 0.9]];
/// Resistance at 25 °C times the cold-cranking current \[V\]: sized so that a battery delivers its printed current at
/// −18 °C.
const RESIST_V: f64 = 2.0;
/// Capacitance of the plates' surface \[F/Ah\]. On discharge the acid in the pores is included, and settling takes
/// about ten seconds; on charge the double layer acts alone. Assumed.
const PORES_F_AH: f64 = 62.5;
const LAYER_F_AH: f64 = 10.0;
/// Largest change of the surface voltage in one sub-step \[V\].
const MOST_STEP_V: f64 = 0.25;
/// Share of the pores' capacitance that is left with the weakest acid.
const PORES_LEAST: f64 = 0.02;
/// Discharge polarisation at the cold-cranking current when full \[V\]. Like the ohmic part it depends on the plates'
/// area. Set so that 30 s at the printed current stay above 7.2 V.
const POLARISES_V: f64 = 1.35;
/// Growth of that polarisation as the acid in the plates runs out; set so that a 20 h discharge to 10.5 V gives the
/// printed capacity. The curve then lies within 0.07 V of a porous-electrode model's down to a fifth of the charge:
/// `tests/model/battery.rs`.
const RUNS_OUT: f64 = 7.5;
/// Depth of discharge at which no more current would flow \[-\]: the printed capacity is reached at 10.5 V, with a
/// little acid left.
const EMPTY: f64 = 1.039;
/// Charging: current at 25 °C per missing Ah \[1/h\], and the voltage scale of its growth \[V\]. Assumed so that a 60
/// Ah battery at 90 % takes 4 A at 14.4 V; the fall of charge acceptance as the battery fills follows Shepherd and
/// Schiffer.
const CHARGE_PER_H: f64 = 0.0095;
const CHARGE_V: f64 = 0.35;
/// Temperature rise that doubles the charge acceptance \[K\]; common practice.
const CHARGE_DOUBLES_K: f64 = 14.0;
/// Charge at which acceptance ends \[-\]: a full battery still takes a little.
const BRIM: f64 = 1.002;
/// Life of the grids on float charge, 2.23 V per cell at 25 °C \[s\]: ten years, common practice; by then a fifth of
/// the capacity is lost.
const FLOAT_LIFE_S: f64 = 10.0 * 365.25 * 86_400.0;
/// Capacity lost over that life, and over the rated number of full cycles \[-\].
const WORN_OUT: f64 = 0.20;
/// Rise in cell voltage \[V\] and in temperature \[K\] that each double the corrosion rate; common practice for float
/// service.
const CORRODES_V: f64 = 0.05;
const CORRODES_K: f64 = 10.0;
/// Charge below which sulphate hardens \[-\], and the share hardened per second and missing charge: 3 % a month at
/// half charge; assumed.
const SULPHATES_UNDER: f64 = 0.8;
const SULPHATES_PER_S: f64 = 3.9e-8;
/// Cell voltage above which a full battery dissolves hardened sulphate \[V\], and the time constant of this \[s\];
/// assumed.
const DESULPHATES_V: f64 = 2.35;
const DESULPHATES_S: f64 = 50.0 * 3600.0;
/// Heat capacity \[J/K per Ah\] and heat exchange with the air around it \[W/K per Ah\]: a lump of 16 kg for 60 Ah;
/// assumed.
const HEAT_J_K_AH: f64 = 260.0;
const EXCHANGE_W_K_AH: f64 = 0.05;
/// Boiling point of the acid \[K\].
const BOILS_K: f64 = 383.0;
/// Thermoneutral voltage of six cells \[V\]: at this voltage, splitting water takes no heat from them.
const THERMONEUTRAL_V: f64 = CELLS * 1.48;
/// Data of a battery kind: open-circuit voltage \[V\] and acid density \[kg/L\] at 25 °C over the share of acid left;
/// share of the gassed water that escapes, water \[g/Ah\], the part of it above the plates \[g/Ah\], full cycles
/// until worn out. By common practice; water and its reserve are assumed.
struct Make {
    rest_v: [[f64; 2]; 5],
    density: [[f64; 2]; 5],
    escapes: f64,
    water_g_ah: f64,
    spare_g_ah: f64,
    cycles: f64,
}
/// Voltages are Bode's fits of 1977 for these densities, which are common practice for starter batteries.
const FLOODED: Make = Make {
    rest_v: [[0.0, 11.888], [0.25, 12.072], [0.5, 12.255], [0.75, 12.442], [1.0, 12.665]],
    density: [[0.0, 1.120], [0.25, 1.155], [0.5, 1.190], [0.75, 1.225], [1.0, 1.265]],
    escapes: 1.0,
    water_g_ah: 50.0,
    spare_g_ah: 12.0,
    cycles: 150.0,
};
/// A mat holds less acid for the same charge, so makers use a stronger acid, 1.29 to 1.31 kg/L, which ends up weaker
/// (common practice, from memory). Voltages by the same fits; they give 12.8 to 12.9 V at rest when full and 12.3 V
/// at half charge, as published for such batteries.
const AGM: Make = Make {
    rest_v: [[0.0, 11.814], [0.25, 12.072], [0.5, 12.330], [0.75, 12.593], [1.0, 12.860]],
    density: [[0.0, 1.106], [0.25, 1.155], [0.5, 1.204], [0.75, 1.252], [1.0, 1.300]],
    escapes: 0.05,
    water_g_ah: 35.0,
    spare_g_ah: 0.0,
    cycles: 450.0,
};

/// A battery: its ratings, its serial's spread, its state and its wear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Battery {
    /// Serial.
    pub serial: String,
    /// What is printed on it.
    pub label: Label,
    /// Capacity when new over the printed capacity \[-\].
    pub capacity_gain: f64,
    /// Resistance when new over that of its kind \[-\].
    pub resistance_gain: f64,
    /// State of charge: charge over present capacity \[-\].
    pub charge: f64,
    /// Polarisation of all cells \[V\].
    pub polarisation_v: f64,
    /// Temperature \[K\].
    pub acid_k: f64,
    /// Grid corrosion \[-\]: 1 at the end of a life on float charge.
    pub corroded: f64,
    /// Capacity lost to cycling \[-\].
    pub shed: f64,
    /// Capacity lost to hardened sulphate \[-\].
    pub sulphated: f64,
    /// Water lost as gas \[g\].
    pub water_lost_g: f64,
    /// Charge lost to gassing \[Ah\].
    pub gassed_ah: f64,
    /// Charge delivered so far \[Ah\].
    pub given_ah: f64,
}

/// Linear interpolation between points in rising order; constant beyond the ends.
fn along(points: &[[f64; 2]], x: f64) -> f64 {
    let k = points.partition_point(|p| p[0] <= x);
    if k == 0 {
        return points[0][1];
    }
    let Some(b) = points.get(k) else { return points[k - 1][1] };
    let a = points[k - 1];
    a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])
}

fn sinh_cosh(x: f64) -> (f64, f64) {
    let up = num::exp(x);
    (0.5 * (up - 1.0 / up), 0.5 * (up + 1.0 / up))
}

impl Battery {
    /// A new battery, full and at 25 °C; the maker's spread follows from the serial.
    pub fn new(spread: &Spread, label: Label, serial: String) -> Self {
        let mut own = Stream::new(0, &format!("battery.{serial}"));
        let capacity_gain = 1.0 + own.cut_normal(spread.battery_sigma);
        let resistance_gain = 1.0 + own.cut_normal(spread.battery_sigma);
        Self {
            serial,
            label,
            capacity_gain,
            resistance_gain,
            charge: 1.0,
            polarisation_v: 0.0,
            acid_k: 298.15,
            corroded: 0.0,
            shed: 0.0,
            sulphated: 0.0,
            water_lost_g: 0.0,
            gassed_ah: 0.0,
            given_ah: 0.0,
        }
    }
    /// Ages the battery by a share of its capacity \[-\], half by cycling and half by grid corrosion.
    pub fn aged(mut self, share: f64) -> Self {
        self.shed = 0.5 * share;
        self.corroded = 0.5 * share / WORN_OUT;
        self
    }
    fn make(&self) -> &'static Make {
        match self.label.kind {
            Kind::Flooded => &FLOODED,
            Kind::Agm => &AGM,
        }
    }
    /// Share of its water that has been lost \[-\].
    pub fn dried(&self) -> f64 {
        (self.water_lost_g / (self.make().water_g_ah * self.label.rated_ah)).clamp(0.0, 1.0)
    }
    /// Capacity lost to grid corrosion, cycling, sulphation and dried-out plates \[-\].
    pub fn lost(&self) -> [f64; 4] {
        let make = self.make();
        // water above the plates can be lost without harm
        let spare = make.spare_g_ah / make.water_g_ah;
        let dry = ((self.dried() - spare) / (1.0 - spare)).max(0.0);
        // a mat that dries out loses contact with the plates: twice the loss, assumed
        let dry = if make.spare_g_ah > 0.0 { dry } else { 2.0 * dry };
        [WORN_OUT * self.corroded, self.shed, self.sulphated, dry]
    }
    /// State of health: capacity left over the capacity of this battery when new \[-\].
    pub fn health(&self) -> f64 {
        (1.0 - self.lost().iter().sum::<f64>()).clamp(0.05, 1.0)
    }
    /// Present capacity \[Ah\].
    pub fn capacity_ah(&self) -> f64 {
        self.label.rated_ah * self.capacity_gain * self.health()
    }
    /// Acid left in solution \[-\].
    fn acid(&self) -> f64 {
        1.0 - (1.0 - self.charge) * self.capacity_ah() / self.label.rated_ah
    }
    /// State of charge as reported \[-\]: the little that a full battery still takes is not included.
    pub fn charged(&self) -> f64 {
        self.charge.min(1.0)
    }
    /// Density of its acid, corrected to 25 °C \[kg/L\].
    pub fn density(&self) -> f64 {
        along(&self.make().density, self.acid()) + DENSITY_DRIED * self.dried()
    }
    /// Voltage at rest \[V\].
    pub fn open_circuit_v(&self) -> f64 {
        along(&self.make().rest_v, self.acid())
            + CELLS * V_PER_DENSITY * DENSITY_DRIED * self.dried()
            + REST_V_K * (self.acid_k - 298.15)
    }
    /// Voltage behind its resistance \[V\].
    pub fn behind_v(&self) -> f64 {
        self.open_circuit_v() + self.polarisation_v
    }
    /// Ohmic resistance \[Ω\].
    pub fn resistance_ohm(&self) -> f64 {
        let new = RESIST_V / self.label.cold_a * self.resistance_gain;
        // about double from full to empty: handbooks, from memory
        let weak = 1.0 + (1.0 - self.acid()).clamp(0.0, 1.0);
        new * along(&COLD, self.acid_k - 273.15) * weak * (1.0 + 0.5 * self.corroded) / self.health()
    }
    /// Gassing current \[A\] at the voltage behind its resistance: (4).
    pub fn gassing_a(&self) -> f64 {
        self.label.rated_ah / 100.0
            * 0.020
            * num::exp(11.0 * (self.behind_v() / CELLS - 2.23) + 0.06 * (self.acid_k - 298.0))
    }
    /// Charge on the surface of the plates \[A s\], in addition to the charge stored in them.
    pub fn layer_as(&self) -> f64 {
        self.surface_f(self.polarisation_v > 0.0, self.charge) * self.polarisation_v
    }
    /// Capacitance of the plates' surface at a state of charge \[F\]. The pores can deliver at once only the acid in
    /// them, which weakens as it is used up: so a battery at a tenth of its charge delivers a tenth of its
    /// cold-cranking current for as long as the standard requires, and not half (common practice of battery makers).
    fn surface_f(&self, charges: bool, charge: f64) -> f64 {
        self.label.rated_ah * if charges { LAYER_F_AH } else { PORES_F_AH * charge.max(PORES_LEAST) }
    }
    /// Current of the main reaction \[A\] and its slope \[A/V\] at a polarisation \[V\]: (3).
    fn main_a(&self, v: f64, capacity_ah: f64) -> (f64, f64) {
        if v > 0.0 {
            let warm = num::exp((self.acid_k - 298.15) * std::f64::consts::LN_2 / CHARGE_DOUBLES_K);
            let free = (1.0 - 3.0 * self.sulphated).max(0.1);
            let i = CHARGE_PER_H * warm * free * capacity_ah * (BRIM - self.charge).max(0.0);
            let (sh, ch) = sinh_cosh((v / CHARGE_V).min(20.0));
            (i * sh, i * ch / CHARGE_V)
        } else {
            let depth = 1.0 - self.charge;
            let out = 1.0 + RUNS_OUT * depth / (EMPTY - depth).max(0.002);
            let g = self.label.cold_a * capacity_ah / self.label.rated_ah / (POLARISES_V * out);
            (g * v, g)
        }
    }
    /// Advances by a time step \[s\] at a current \[A\], positive when charging, in surroundings at a temperature
    /// \[K\].
    pub fn tick(&mut self, amps: f64, around_k: f64, dt_s: f64) {
        // a step is split so that no part changes the surface voltage by too much
        let parts = (amps.abs() * dt_s / (MOST_STEP_V * LAYER_F_AH * self.label.rated_ah)).ceil().max(1.0);
        for _ in 0..parts as u32 {
            self.part(amps, around_k, dt_s / parts);
        }
    }
    fn part(&mut self, amps: f64, around_k: f64, dt_s: f64) {
        let capacity_ah = self.capacity_ah();
        let gas_a = self.gassing_a();
        let v = self.polarisation_v;
        let (main_a, slope) = self.main_a(v, capacity_ah);
        let (layer_f, held_as) = (self.surface_f(v > 0.0, self.charge), self.layer_as());
        // 2, semi-implicit: the currents that drain the surface grow steeply with its voltage
        let gas_slope = gas_a * 11.0 / CELLS;
        let drains = 1.0 + dt_s * (slope + gas_slope) / layer_f;
        let goes_as = held_as + dt_s * (amps - gas_a - main_a) / drains;
        let gas_a = (gas_a + gas_slope * (goes_as / self.surface_f(goes_as > 0.0, self.charge) - v)).max(0.0);
        let stored_as = (amps - gas_a) * dt_s - (goes_as - held_as);
        let was = self.charge;
        let charge = (was + stored_as / 3600.0 / capacity_ah).clamp(0.0, BRIM);
        let in_ah = (charge - was) * capacity_ah;
        // charge that the plates can neither take nor give stays on their surface, so that none is lost
        let held_as = held_as + (amps - gas_a) * dt_s - 3600.0 * in_ah;
        let now_f = self.surface_f(held_as > 0.0, charge);
        let polarisation_v = held_as / now_f;
        // with weaker acid the same charge in the pores is at a higher voltage: the energy for this is not heat
        let lifts_j = 0.5 * polarisation_v * polarisation_v * (now_f - self.surface_f(held_as > 0.0, was));
        (self.charge, self.polarisation_v) = (charge, polarisation_v);
        // ageing: 5, 6
        let cell_v = self.behind_v() / CELLS;
        let make = self.make();
        self.gassed_ah += gas_a * dt_s / 3600.0;
        self.water_lost_g += make.escapes * WATER_G_AH * gas_a * dt_s / 3600.0;
        let doublings = (cell_v - 2.23) / CORRODES_V + (self.acid_k - 298.15) / CORRODES_K;
        self.corroded += dt_s / FLOAT_LIFE_S * num::exp(std::f64::consts::LN_2 * doublings.min(12.0));
        let given_ah = (-in_ah).max(0.0);
        self.given_ah += given_ah;
        // a deep cycle costs more than a shallow one of the same charge; assumed
        let deep = 1.0 + (1.0 - was);
        self.shed += WORN_OUT * deep * given_ah / (make.cycles * self.label.rated_ah);
        if was < SULPHATES_UNDER {
            self.sulphated += SULPHATES_PER_S * (SULPHATES_UNDER - was) * dt_s;
        } else if was > 0.98 && cell_v > DESULPHATES_V {
            self.sulphated *= 1.0 - num::lag_share(dt_s, DESULPHATES_S);
        }
        // heat of the charge and discharge losses; gas carries its own away, unless an AGM cell recombines it
        let gas_w = gas_a * (self.behind_v() - THERMONEUTRAL_V * make.escapes);
        let heat_w = amps * amps * self.resistance_ohm()
            + (self.polarisation_v * in_ah * 3600.0 + lifts_j) / dt_s
            + gas_w;
        let ah = self.label.rated_ah;
        let settles_k = around_k + heat_w.max(0.0) / (EXCHANGE_W_K_AH * ah);
        let to_k =
            self.acid_k + (settles_k - self.acid_k) * num::lag_share(dt_s, HEAT_J_K_AH / EXCHANGE_W_K_AH);
        // above that it boils, and further heat leaves as steam
        self.acid_k = to_k.min(BOILS_K);
    }
}
