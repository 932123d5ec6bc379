//! What a report can give a figure for, and the typed figure.

use quantity::{
    Alkalinity, Ammonium, Calcium, Chloride, Chlorine, Conductivity, Hardness, Iron, Magnesium,
    Manganese, MassConcentration, Measured, Nitrate, Nitrite, Ph, Potassium, Quantity, Sodium,
    Spread, Sulfate, Temperature, Turbidity, molar_mass as m,
};

/// What a figure is measured in once its basis is settled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Kind {
    /// An ion or a dissolved element \[mg/L of itself\].
    Dissolved {
        /// \[g/mol\]
        mass: f64,
        /// Without sign; nought where the charge is not known.
        charge: f64,
    },
    Alkalinity,
    Hardness,
    Chlorine,
    Ph,
    Temperature,
    Conductivity,
    Turbidity,
    Solids,
    Microbes,
}

macro_rules! parameters {
    ($($name:ident, $key:literal, $label:literal, $formula:literal, $kind:expr;)+) => {
        /// What a report gives a figure for.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[expect(missing_docs, reason = "the names say it")]
        pub enum Parameter { $($name,)+ }

        impl Parameter {
            /// All of them, in the order in which reports list them.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// The key of its rows in the table of names.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self { $(Self::$name => $key,)+ }
            }

            /// The name to show.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self { $(Self::$name => $label,)+ }
            }

            /// The formula of what the figure counts by itself; empty where
            /// there is none.
            #[must_use]
            pub const fn formula(self) -> &'static str {
                match self { $(Self::$name => $formula,)+ }
            }

            pub(super) const fn kind(self) -> Kind {
                match self { $(Self::$name => $kind,)+ }
            }
        }
    };
}

const fn ion(mass: f64, charge: f64) -> Kind {
    Kind::Dissolved { mass, charge }
}

parameters! {
    Calcium, "calcium", "calcium", "Ca", ion(m::CA, 2.0);
    Magnesium, "magnesium", "magnesium", "Mg", ion(m::MG, 2.0);
    Sodium, "sodium", "sodium", "Na", ion(m::NA, 1.0);
    Potassium, "potassium", "potassium", "K", ion(m::K, 1.0);
    Ammonium, "ammonium", "ammonium", "NH4", ion(m::NH4, 1.0);
    Chloride, "chloride", "chloride", "Cl", ion(m::CL, 1.0);
    Sulfate, "sulfate", "sulfate", "SO4", ion(m::SO4, 2.0);
    Nitrate, "nitrate", "nitrate", "NO3", ion(m::NO3, 1.0);
    Nitrite, "nitrite", "nitrite", "NO2", ion(m::NO2, 1.0);
    Bicarbonate, "bicarbonate", "bicarbonate", "HCO3", Kind::Alkalinity;
    Carbonate, "carbonate", "carbonate", "CO3", Kind::Alkalinity;
    Alkalinity, "alkalinity", "total alkalinity", "", Kind::Alkalinity;
    PAlkalinity, "p-alkalinity", "alkalinity to pH 8.2", "", Kind::Alkalinity;
    TotalHardness, "total-hardness", "total hardness", "", Kind::Hardness;
    CalciumHardness, "calcium-hardness", "calcium hardness", "", Kind::Hardness;
    MagnesiumHardness, "magnesium-hardness", "magnesium hardness", "", Kind::Hardness;
    TemporaryHardness, "temporary-hardness", "temporary (carbonate) hardness", "", Kind::Hardness;
    PermanentHardness, "permanent-hardness", "permanent hardness", "", Kind::Hardness;
    Ph, "ph", "pH", "", Kind::Ph;
    Temperature, "temperature", "temperature", "", Kind::Temperature;
    Conductivity, "conductivity", "conductivity", "", Kind::Conductivity;
    DissolvedSolids, "dissolved-solids", "total dissolved solids", "", Kind::Solids;
    FreeChlorine, "free-chlorine", "free chlorine", "Cl2", Kind::Chlorine;
    TotalChlorine, "total-chlorine", "total chlorine", "Cl2", Kind::Chlorine;
    CombinedChlorine, "combined-chlorine", "combined chlorine", "Cl2", Kind::Chlorine;
    ResidualChlorine, "residual-chlorine", "residual chlorine", "Cl2", Kind::Chlorine;
    Phosphate, "phosphate", "phosphate", "PO4", ion(m::P + 4.0 * m::O, 0.0);
    Silica, "silica", "silica", "SiO2", ion(SILICON + 2.0 * m::O, 0.0);
    Iron, "iron", "iron", "Fe", ion(m::FE, 0.0);
    Manganese, "manganese", "manganese", "Mn", ion(m::MN, 0.0);
    Copper, "copper", "copper", "Cu", ion(63.546, 0.0);
    Zinc, "zinc", "zinc", "Zn", ion(65.38, 0.0);
    Lead, "lead", "lead", "Pb", ion(207.2, 0.0);
    Arsenic, "arsenic", "arsenic", "As", ion(74.922, 0.0);
    Fluoride, "fluoride", "fluoride", "F", ion(18.998, 0.0);
    EColi, "e-coli", "E. coli", "", Kind::Microbes;
    Coliforms, "coliforms", "coliform bacteria", "", Kind::Microbes;
    Turbidity, "turbidity", "turbidity", "", Kind::Turbidity;
}

/// Standard atomic weights that the shared table has no use for, abridged
/// (Prohaska et al. 2022, from memory).
pub(super) const SILICON: f64 = 28.085;

impl Parameter {
    pub(super) fn of_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|p| p.key() == key)
    }
}

/// Germs that must not be in drinking water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Microbes {
    /// None found in the volume tested.
    Absent,
    /// Some found; the number in 100 mL where it is given.
    Found {
        /// Colonies in 100 mL.
        per_100_ml: Option<f64>,
    },
}

macro_rules! values {
    ($($name:ident($kind:ty),)+) => {
        /// A figure, typed.
        #[derive(Debug, Clone, Copy, PartialEq)]
        #[expect(missing_docs, reason = "the names say it")]
        pub enum Value {
            $($name(Measured<$kind>),)+
            Microbes(Microbes),
        }

        impl Value {
            /// The number in the canonical unit of its quantity; of germs their
            /// number in 100 mL, if known.
            #[must_use]
            pub fn canonical(&self) -> Option<f64> {
                match self {
                    $(Self::$name(v) => Some(v.canonical()),)+
                    Self::Microbes(Microbes::Absent) => Some(0.0),
                    Self::Microbes(Microbes::Found { per_100_ml }) => *per_100_ml,
                }
            }

            /// The standard deviation in the canonical unit, nought if unstated.
            #[must_use]
            pub fn sd(&self) -> f64 {
                match self {
                    $(Self::$name(v) => v.sd(),)+
                    Self::Microbes(_) => 0.0,
                }
            }

            /// The spread in the canonical unit.
            #[must_use]
            pub fn spread(&self) -> Spread {
                match self {
                    $(Self::$name(v) => v.spread,)+
                    Self::Microbes(_) => Spread::Unstated,
                }
            }

            /// Printed with its unit, up to four digits.
            #[must_use]
            pub fn text(&self) -> String {
                match self {
                    $(Self::$name(v) => super::text::measured(v),)+
                    Self::Microbes(Microbes::Absent) => "none found".to_owned(),
                    Self::Microbes(Microbes::Found { per_100_ml: Some(n) }) =>
                        format!("{} in 100 mL", quantity::rounded(*n)),
                    Self::Microbes(Microbes::Found { per_100_ml: None }) => "found".to_owned(),
                }
            }
        }
    };
}

values! {
    Calcium(Calcium), Magnesium(Magnesium), Sodium(Sodium), Potassium(Potassium),
    Ammonium(Ammonium), Chloride(Chloride), Sulfate(Sulfate), Nitrate(Nitrate),
    Nitrite(Nitrite), Iron(Iron), Manganese(Manganese), Alkalinity(Alkalinity),
    Hardness(Hardness), Chlorine(Chlorine), Ph(Ph), Temperature(Temperature),
    Conductivity(Conductivity), Turbidity(Turbidity), Concentration(MassConcentration),
}

/// The bounds of what was given, in the canonical unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Figures {
    pub value: f64,
    pub spread: Spread,
}

impl Value {
    /// A typed value; `None` where it is outside what the quantity can be.
    pub(super) fn new(parameter: Parameter, figures: Figures) -> Option<Self> {
        use Parameter as P;
        Some(match parameter {
            P::Calcium => Self::Calcium(typed(figures)?),
            P::Magnesium => Self::Magnesium(typed(figures)?),
            P::Sodium => Self::Sodium(typed(figures)?),
            P::Potassium => Self::Potassium(typed(figures)?),
            P::Ammonium => Self::Ammonium(typed(figures)?),
            P::Chloride => Self::Chloride(typed(figures)?),
            P::Sulfate => Self::Sulfate(typed(figures)?),
            P::Nitrate => Self::Nitrate(typed(figures)?),
            P::Nitrite => Self::Nitrite(typed(figures)?),
            P::Iron => Self::Iron(typed(figures)?),
            P::Manganese => Self::Manganese(typed(figures)?),
            _ => match parameter.kind() {
                Kind::Alkalinity => Self::Alkalinity(typed(figures)?),
                Kind::Hardness => Self::Hardness(typed(figures)?),
                Kind::Chlorine => Self::Chlorine(typed(figures)?),
                Kind::Ph => Self::Ph(typed(figures)?),
                Kind::Temperature => Self::Temperature(typed(figures)?),
                Kind::Conductivity => Self::Conductivity(typed(figures)?),
                Kind::Turbidity => Self::Turbidity(typed(figures)?),
                Kind::Dissolved { .. } | Kind::Solids => Self::Concentration(typed(figures)?),
                Kind::Microbes => Self::Microbes(if figures.value == 0.0 {
                    Microbes::Absent
                } else {
                    Microbes::Found {
                        per_100_ml: Some(figures.value),
                    }
                }),
            },
        })
    }
}

fn typed<Q: Quantity>(figures: Figures) -> Option<Measured<Q>> {
    let ends = match figures.spread {
        Spread::Unstated => [figures.value; 2],
        Spread::Sd(sd) => [sd + figures.value, figures.value],
        Spread::Range { low, high } => [low, high],
    };
    let within = ends
        .iter()
        .chain([&figures.value])
        .all(|x| Q::from_canonical(*x).within_bounds());
    within.then(|| Measured {
        value: Q::from_canonical(figures.value),
        spread: figures.spread,
    })
}
