//! Who says so: sources of rows, each declared once. Their words are the messages `evidence-source-ID`.

/// What kind of source it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A paper or a report.
    Published,
    /// A standard or a regulation.
    Standard,
    /// A textbook or a handbook.
    Handbook,
    /// Common practice of the trade, without a source.
    Practice,
    /// Worked out: a closed form, an independent program, or the car's own parts.
    Computed,
}

impl Kind {
    /// Its name in files; in words it is the message `evidence-kind-NAME`.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Published => "published",
            Kind::Standard => "standard",
            Kind::Handbook => "handbook",
            Kind::Practice => "practice",
            Kind::Computed => "computed",
        }
    }
}

/// A source.
#[derive(Debug, PartialEq, Eq)]
pub struct Source {
    /// Its name.
    pub id: &'static str,
    /// What kind it is.
    pub kind: Kind,
    /// The value is quoted from memory, without the page at hand.
    pub from_memory: bool,
}

const fn quoted(id: &'static str, kind: Kind) -> Source {
    Source { id, kind, from_memory: true }
}
const fn at_hand(id: &'static str, kind: Kind) -> Source {
    Source { id, kind, from_memory: false }
}

pub(super) const ORIFICE: Source = at_hand("orifice", Kind::Computed);
pub(super) const ATMOSPHERE: Source = at_hand("atmosphere", Kind::Standard);
pub(super) const PLATE: Source = at_hand("plate", Kind::Computed);
pub(super) const WIEBE: Source = at_hand("wiebe", Kind::Computed);
pub(super) const WOSCHNI: Source = quoted("woschni", Kind::Published);
pub(super) const GAS: Source = at_hand("gas", Kind::Computed);
pub(super) const FORMULA: Source = at_hand("formula", Kind::Computed);
pub(super) const MARKER: Source = quoted("marker", Kind::Handbook);
pub(super) const FRICTION: Source = quoted("friction", Kind::Handbook);
pub(super) const RESIDUAL: Source = quoted("residual", Kind::Handbook);
pub(super) const EGR: Source = quoted("egr", Kind::Handbook);
pub(super) const COV: Source = quoted("cov", Kind::Handbook);
pub(super) const ENGINE_OUT: Source = quoted("engine-out", Kind::Handbook);
pub(super) const CONVERSION: Source = quoted("conversion", Kind::Handbook);
pub(super) const BALANCE: Source = quoted("balance", Kind::Handbook);
pub(super) const IDLE_FUEL: Source = at_hand("idle-fuel", Kind::Published);
pub(super) const FUEL_MAPS: Source = quoted("fuel-maps", Kind::Published);
pub(super) const FILM: Source = quoted("film", Kind::Published);
pub(super) const PASCHEN: Source = quoted("paschen", Kind::Handbook);
pub(super) const BODE: Source = at_hand("bode", Kind::Published);
pub(super) const AGM_REST: Source = quoted("agm-rest", Kind::Published);
pub(super) const SCHIFFER: Source = quoted("schiffer", Kind::Published);
pub(super) const FARADAY: Source = at_hand("faraday", Kind::Computed);
pub(super) const EN_50342: Source = quoted("en-50342", Kind::Standard);
pub(super) const SAE_J537: Source = quoted("sae-j537", Kind::Standard);
pub(super) const BATTERY_BOOK: Source = quoted("battery-book", Kind::Handbook);
pub(super) const BATTERY_LEFT: Source = quoted("battery-left", Kind::Practice);
pub(super) const MISFIRE_RULE: Source = quoted("misfire-rule", Kind::Standard);
pub(super) const CATALYST_RULE: Source = quoted("catalyst-rule", Kind::Standard);
pub(super) const VAPOUR_RULE: Source = quoted("vapour-rule", Kind::Standard);
pub(super) const LAMP_RULE: Source = quoted("lamp-rule", Kind::Standard);
pub(super) const CODE_NUMBERS: Source = quoted("code-numbers", Kind::Standard);
pub(super) const MISFIRE_HEAT: Source = quoted("misfire-heat", Kind::Published);
pub(super) const PRACTICE: Source = at_hand("practice", Kind::Practice);
pub(super) const PARTS: Source = at_hand("parts", Kind::Computed);
