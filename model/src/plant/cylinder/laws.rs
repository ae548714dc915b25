//! Laws of burning and wall loss in closed form.
//!
//! *Inside*: Wiebe's burned share, Woschni's coefficient and gas velocity, relative flame speed. *Outside*: where a cycle applies
//! them ([`super::State`]); numbers in brackets are its equations.
//!
//! **Checked by** `exact_wiebe…`, `source_woschni…` in `tests/model/physics.rs`.

use crate::num;

/// Relative laminar flame speed of a mixture: 1 at the fastest-burning mixture without residual.
/// `phi` is fuel over stoichiometric fuel; `residual` the mass share of residual gas.
pub fn flame_speed_factor(phi: f64, residual: f64) -> f64 {
    // Metghalchi and Keck 1982, gasoline: 30.5 − 54.9 (φ − 1.21)² cm/s; Rhodes and Keck 1985: 1 − 2.06 x^0.77
    let mix = 1.0 - 54.9 / 30.5 * (phi - 1.21) * (phi - 1.21);
    let dilution = if residual > 0.0 { 1.0 - 2.06 * num::pow(residual, 0.77) } else { 1.0 };
    mix.max(0.0) * dilution.max(0.0)
}

/// Burned share by Wiebe's law with a 5, m 2, at a share `y` of the duration.
pub fn wiebe(y: f64) -> f64 {
    let y = y.clamp(0.0, 1.0);
    1.0 - num::exp(-5.0 * y * y * y)
}

/// Woschni's heat transfer coefficient \[W/m² K\]; bore \[m\], pressure \[kPa\], temperature \[K\], gas
/// velocity \[m/s\].
pub fn woschni(bore_m: f64, p_kpa: f64, t_k: f64, w_m_s: f64) -> f64 {
    3.26 * num::pow(bore_m, -0.2) * num::pow(p_kpa, 0.8) * num::pow(t_k, -0.55) * num::pow(w_m_s, 0.8)
}

/// Woschni's gas velocity \[m/s\]: mean piston speed, displacement, reference state, firing less motored
/// pressure (any one pressure unit throughout).
pub fn woschni_velocity(s_p_m_s: f64, v_d: f64, t_r_k: f64, p_r: f64, v_r: f64, over_motored: f64) -> f64 {
    2.28 * s_p_m_s + 3.24e-3 * v_d * t_r_k / (p_r * v_r) * over_motored.max(0.0)
}
