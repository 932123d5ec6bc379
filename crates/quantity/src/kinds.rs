//! The quantities themselves. One block each: what it is, its bounds, the units
//! it may be written in, and how it is printed.

use crate::atoms::molar_mass as m;
use crate::unit::{Ambiguous, Quantity, Shown, Unit};

/// Declares quantities that are a number in one canonical unit.
macro_rules! quantities {
    ($(
        $(#[$doc:meta])*
        $name:ident, $label:literal, $min:expr => $max:expr, $additive:literal;
        new $ctor:ident, get $getter:ident;
        units { $( $symbol:literal $([$($alias:literal),* $(,)?])? = $factor:expr; )+ }
        $(ambiguous { $( [$($spelling:literal),+] => $hint:literal; )+ })?
        metric { $( $mfrom:expr => $msym:literal, $mdec:literal; )+ }
        us { $( $ufrom:expr => $usym:literal, $udec:literal; )+ }
    )+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a number in ", stringify!($ctor), ". The caller vouches for the bounds; text is checked by parsing.")]
            #[must_use]
            pub const fn $ctor(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The number in the unit of [`", stringify!($ctor), "`](Self::", stringify!($ctor), ").")]
            #[must_use]
            pub const fn $getter(self) -> f64 {
                self.0
            }
        }

        impl Quantity for $name {
            const NAME: &'static str = $label;
            const UNITS: &'static [Unit] = &[$(
                Unit {
                    symbol: $symbol,
                    aliases: &[$($($alias),*)?],
                    to_canonical: |x| x * ($factor),
                    from_canonical: |x| x / ($factor),
                },
            )+];
            const AMBIGUOUS: &'static [Ambiguous] = &[$($(
                Ambiguous { spellings: &[$($spelling),+], hint: $hint },
            )+)?];
            const MIN: f64 = $min;
            const MAX: f64 = $max;
            const ADDITIVE: bool = $additive;
            const METRIC: &'static [Shown] = &[$(Shown { from: $mfrom, symbol: $msym, decimals: $mdec },)+];
            const US: &'static [Shown] = &[$(Shown { from: $ufrom, symbol: $usym, decimals: $udec },)+];

            fn from_canonical(value: f64) -> Self {
                Self(value)
            }

            fn canonical(self) -> f64 {
                self.0
            }
        }

        text_forms!($name);
    )+};
}

/// `FromStr`, `Display` and the measured form of a quantity.
macro_rules! text_forms {
    ($name:ident) => {
        impl std::str::FromStr for $name {
            type Err = $crate::QuantityError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                $crate::parse::parse_value(text)
            }
        }

        impl std::str::FromStr for $crate::Measured<$name> {
            type Err = $crate::QuantityError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                $crate::parse::parse_measured(text)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&$crate::show::show(*self, $crate::show::Units::Metric))
            }
        }
    };
}
pub(crate) use text_forms;

/// Litres in a US gallon (231 in³, exact).
pub(crate) const US_GALLON_L: f64 = 3.785_411_784;
/// Litres in an imperial gallon (exact).
pub(crate) const IMPERIAL_GALLON_L: f64 = 4.546_09;
/// Kilograms in a pound avoirdupois (exact).
pub(crate) const POUND_KG: f64 = 0.453_592_37;
/// Bar in a pound-force per square inch (exact pound, gravity and inch).
pub const PSI_BAR: f64 = 0.068_947_572_931_683;
/// Grams of CO₂ per litre of beer in one volume: real gas at 0 °C and 1 atm
/// (density 1.97681 kg/m³, computed with CoolProp 8.0).
pub const CO2_G_PER_L_PER_VOLUME: f64 = 1.976_81;
/// EBC units in one SRM unit: 25/12.7, both being multiples of absorbance.
pub const EBC_PER_SRM: f64 = 25.0 / 12.7;
/// Milligrams of CaCO₃ that carry one milliequivalent.
pub const CACO3_MG_PER_MEQ: f64 = m::CACO3 / 2.0;
/// Milliequivalents in one German degree of hardness (10 mg CaO).
const DH_MEQ: f64 = 10.0 * 2.0 / m::CAO;
/// Milligrams of CaCO₃ in one English (Clark) degree: one grain in an imperial
/// gallon.
const CLARK_MG_CACO3: f64 = GRAIN_MG / IMPERIAL_GALLON_L;
/// Milligrams in a grain (exact).
const GRAIN_MG: f64 = 64.798_91;

quantities! {
    /// Volume of liquid \[L\]. Volumes in documents are at 20 °C.
    Volume, "volume", 0.0 => 1.0e5, true;
    new from_l, get l;
    units {
        "L" ["l", "litre", "litres", "liter", "liters"] = 1.0;
        "mL" ["ml", "millilitre", "millilitres", "milliliter", "milliliters", "cc"] = 1e-3;
        "hL" ["hl", "hectolitre", "hectolitres", "hectoliter", "hectoliters"] = 100.0;
        "gal" ["gallon", "gallons", "US gal", "US gallon", "US gallons"] = US_GALLON_L;
        "imp gal" ["UK gal", "imperial gallon", "imperial gallons"] = IMPERIAL_GALLON_L;
        "qt" ["quart", "quarts"] = US_GALLON_L / 4.0;
        "pt" ["pint", "pints", "US pint"] = US_GALLON_L / 8.0;
        "imp pt" ["imperial pint", "imperial pints", "UK pint"] = IMPERIAL_GALLON_L / 8.0;
        "fl oz" ["US fl oz", "floz"] = US_GALLON_L / 128.0;
        "bbl" ["US bbl", "US beer barrel", "beer barrel"] = 31.0 * US_GALLON_L;
    }
    ambiguous {
        ["barrel", "barrels"] => "a US beer barrel is 31 gal and a UK one 36 imp gal: write bbl, gal or imp gal";
        ["oz"] => "oz is a mass: write fl oz, mL or L";
    }
    metric { 0.1 => "L", 1; 0.0 => "mL", 1; }
    us { 1.8 => "gal", 2; 0.2 => "qt", 2; 0.0 => "mL", 1; }

    /// Mass \[kg\].
    Mass, "mass", 0.0 => 1.0e5, true;
    new from_kg, get kg;
    units {
        "kg" ["kilogram", "kilograms", "kilo", "kilos"] = 1.0;
        "g" ["gram", "grams", "gramme", "grammes"] = 1e-3;
        "mg" ["milligram", "milligrams"] = 1e-6;
        "t" ["tonne", "tonnes"] = 1e3;
        "lb" ["lbs", "pound", "pounds"] = POUND_KG;
        "oz" ["ounce", "ounces"] = POUND_KG / 16.0;
        "gr" ["grain", "grains"] = GRAIN_MG * 1e-6;
    }
    metric { 1.0 => "kg", 2; 0.01 => "g", 0; 0.000_5 => "g", 2; 0.0 => "mg", 0; }
    us { 0.2 => "lb", 2; 0.01 => "oz", 2; 0.000_5 => "g", 2; 0.0 => "mg", 0; }

    /// Difference of two temperatures \[K\].
    TemperatureDifference, "temperature difference", -1.0e3 => 1.0e3, false;
    new from_k, get k;
    units { "K" ["°C", "C", "kelvin"] = 1.0; "°F" ["F"] = 5.0 / 9.0; }
    metric { 0.0 => "K", 1; }
    us { 0.0 => "°F", 1; }

    /// Amount of a dissolved substance per mass of water \[mmol/kg\].
    Molality, "molality", 0.0 => 1.0e5, false;
    new from_mmol_per_kg, get mmol_per_kg;
    units { "mmol/kg" [] = 1.0; "mol/kg" [] = 1e3; "umol/kg" ["µmol/kg"] = 1e-3; }
    metric { 0.1 => "mmol/kg", 3; 0.0 => "umol/kg", 3; }
    us { 0.1 => "mmol/kg", 3; 0.0 => "umol/kg", 3; }

    /// Pressure of one gas in a mixture \[atm\].
    PartialPressure, "partial pressure", 0.0 => 10.0, false;
    new from_atm, get atm;
    units { "atm" [] = 1.0; "bar" [] = 1.0 / 1.013_25; "uatm" ["µatm", "ppm"] = 1e-6; }
    metric { 0.01 => "atm", 3; 0.0 => "uatm", 0; }
    us { 0.01 => "atm", 3; 0.0 => "uatm", 0; }

    /// Length of time \[h\].
    Duration, "time", 0.0 => 1.0e6, true;
    new from_h, get h;
    units {
        "h" ["hr", "hrs", "hour", "hours"] = 1.0;
        "min" ["minute", "minutes", "mins"] = 1.0 / 60.0;
        "s" ["sec", "second", "seconds"] = 1.0 / 3600.0;
        "d" ["day", "days"] = 24.0;
        "week" ["weeks", "wk"] = 168.0;
        "month" ["months"] = 730.5;
        "year" ["years", "yr"] = 8766.0;
    }
    ambiguous { ["m"] => "m could be minutes or months: write min or month"; }
    metric { 48.0 => "d", 1; 3.0 => "h", 1; 0.0 => "min", 0; }
    us { 48.0 => "d", 1; 3.0 => "h", 1; 0.0 => "min", 0; }

    /// Pressure difference against the air around \[bar\].
    GaugePressure, "gauge pressure", -1.0 => 1.0e3, false;
    new from_bar, get bar;
    units {
        "bar" ["bar(g)", "barg"] = 1.0;
        "psi" ["psig", "psi(g)"] = PSI_BAR;
        "kPa" [] = 0.01;
        "MPa" [] = 10.0;
        "atm" [] = 1.013_25;
    }
    metric { 0.0 => "bar", 1; }
    us { 0.0 => "psi", 1; }

    /// Height above sea level \[m\].
    Altitude, "altitude", -430.0 => 6000.0, false;
    new from_m, get m;
    units { "m" ["metre", "metres", "meter", "meters"] = 1.0; "ft" ["foot", "feet"] = 0.3048; }
    metric { 0.0 => "m", 0; }
    us { 0.0 => "ft", 0; }

    /// Potential of an electrode \[mV\].
    ElectrodePotential, "potential", -2.0e3 => 2.0e3, false;
    new from_mv, get mv;
    units { "mV" ["millivolt", "millivolts"] = 1.0; "V" ["volt", "volts"] = 1e3; }
    metric { 0.0 => "mV", 1; }
    us { 0.0 => "mV", 1; }

    /// Part of a whole \[–\], written as a percentage.
    Fraction, "share", 0.0 => 1.0, false;
    new from_ratio, get ratio;
    units { "%" ["percent", "per cent", "pct"] = 0.01; }
    ambiguous { [""] => "write a percentage, as in 60 %"; }
    metric { 0.0 => "%", 1; }
    us { 0.0 => "%", 1; }

    /// Rate at which a kettle loses water as steam \[kg/h\].
    EvaporationRate, "evaporation rate", 0.0 => 1.0e4, false;
    new from_kg_per_h, get kg_per_h;
    units {
        "kg/h" ["kg/hr"] = 1.0;
        "L/h" ["l/h", "L/hr", "litres/h", "litre/h"] = 0.998_2;
        "gal/h" ["gal/hr", "gallon/h"] = US_GALLON_L * 0.998_2;
    }
    ambiguous { ["%/h", "%"] => "a kettle evaporates kg/h, whatever its fill: write kg/h, L/h or gal/h"; }
    metric { 0.0 => "kg/h", 1; }
    us { 0.0 => "gal/h", 2; }

    /// Volume of liquid per mass of grain \[L/kg\]: mash thickness, absorption.
    VolumePerMass, "volume per mass", 0.0 => 100.0, false;
    new from_l_per_kg, get l_per_kg;
    units {
        "L/kg" ["l/kg"] = 1.0;
        "qt/lb" ["quart/lb"] = US_GALLON_L / 4.0 / POUND_KG;
        "gal/lb" [] = US_GALLON_L / POUND_KG;
    }
    metric { 0.0 => "L/kg", 2; }
    us { 0.0 => "qt/lb", 2; }

    /// Mass of a dissolved compound per volume \[mg/L\].
    MassConcentration, "concentration", 0.0 => 1.0e6, false;
    new from_mg_per_l, get mg_per_l;
    units {
        "mg/L" ["mg/l", "ppm", "mg L-1"] = 1.0;
        "g/L" ["g/l"] = 1e3;
        "µg/L" ["ug/L", "μg/L", "µg/l", "ug/l", "ppb"] = 1e-3;
        "ng/L" ["ng/l", "ppt"] = 1e-6;
    }
    metric { 1000.0 => "g/L", 1; 10.0 => "mg/L", 0; 1.0 => "mg/L", 1; 0.1 => "mg/L", 2; 1e-4 => "µg/L", 1; 0.0 => "µg/L", 2; }
    us { 1000.0 => "g/L", 1; 10.0 => "mg/L", 0; 1.0 => "mg/L", 1; 0.1 => "mg/L", 2; 1e-4 => "µg/L", 1; 0.0 => "µg/L", 2; }

    /// Oxidising chlorine, free or combined, expressed as chlorine
    /// \[mg/L as Cl₂\]. This is how DPD tests, strips and utilities report it.
    Chlorine, "chlorine", 0.0 => 1.0e4, false;
    new from_mg_per_l, get mg_per_l;
    units {
        "mg/L as Cl2" ["mg/L", "mg/l", "ppm", "mg/L Cl2", "ppm as Cl2", "mg/l as Cl2"] = 1.0;
        "mg/L as NH2Cl" ["mg/L NH2Cl", "mg/L of monochloramine"] = m::CL2 / m::NH2CL;
    }
    metric { 0.0 => "mg/L as Cl2", 2; }
    us { 0.0 => "mg/L as Cl2", 2; }

    /// Sulfur dioxide, free and bound \[mg/L as SO₂\].
    SulfurDioxide, "sulfur dioxide", 0.0 => 1.0e4, false;
    new from_mg_per_l, get mg_per_l;
    units { "mg/L as SO2" ["mg/L", "ppm", "mg/L SO2"] = 1.0; }
    metric { 0.0 => "mg/L as SO2", 1; }
    us { 0.0 => "mg/L as SO2", 1; }

    /// Alkalinity to the CO₂ end point \[mEq/L\]. Negative after more acid than
    /// the water can take up.
    Alkalinity, "alkalinity", -200.0 => 200.0, false;
    new from_meq_per_l, get meq_per_l;
    units {
        "mEq/L" ["meq/L", "meq/l", "mval/L", "mmol/L"] = 1.0;
        "mg/L as CaCO3" ["mg/L CaCO3", "ppm as CaCO3", "ppm CaCO3", "mg/l as CaCO3", "mg/l CaCO3"] = 1.0 / CACO3_MG_PER_MEQ;
        "mg/L as HCO3" ["mg/L HCO3", "mg/L of HCO3", "ppm HCO3", "ppm as HCO3", "mg/L bicarbonate", "mg/l HCO3"] = 1.0 / m::HCO3;
        "°dH" ["dH", "dKH", "°dKH", "KH"] = DH_MEQ;
        "°fH" ["fH", "°f", "°TH"] = 10.0 / CACO3_MG_PER_MEQ;
        "°e" ["°Clark", "Clark"] = CLARK_MG_CACO3 / CACO3_MG_PER_MEQ;
    }
    ambiguous { ["mg/L", "mg/l", "ppm"] => "say of what: mg/L as CaCO3, or mg/L as HCO3 (they differ by 1.22)"; }
    metric { 0.0 => "mg/L as CaCO3", 0; }
    us { 0.0 => "mg/L as CaCO3", 0; }

    /// Total hardness, calcium and magnesium together \[mEq/L\].
    Hardness, "hardness", 0.0 => 200.0, false;
    new from_meq_per_l, get meq_per_l;
    units {
        "mEq/L" ["meq/L", "meq/l", "mval/L"] = 1.0;
        "mg/L as CaCO3" ["mg/L CaCO3", "ppm as CaCO3", "ppm CaCO3", "mg/l as CaCO3"] = 1.0 / CACO3_MG_PER_MEQ;
        "mmol/L" ["mmol/l"] = 2.0;
        "°dH" ["dH", "dGH", "°dGH", "GH"] = DH_MEQ;
        "°fH" ["fH", "°f", "°TH"] = 10.0 / CACO3_MG_PER_MEQ;
        "°e" ["°Clark", "Clark"] = CLARK_MG_CACO3 / CACO3_MG_PER_MEQ;
        "gr/gal" ["gpg", "grains/gal"] = GRAIN_MG / US_GALLON_L / CACO3_MG_PER_MEQ;
    }
    ambiguous { ["mg/L", "mg/l", "ppm"] => "say of what: mg/L as CaCO3 is the usual basis of hardness"; }
    metric { 0.0 => "mg/L as CaCO3", 0; }
    us { 0.0 => "mg/L as CaCO3", 0; }

    /// Charge concentration of one kind of ion, or of a balance \[mEq/L\].
    ChargeConcentration, "charge concentration", -1.0e3 => 1.0e3, false;
    new from_meq_per_l, get meq_per_l;
    units { "mEq/L" ["meq/L", "meq/l", "mval/L"] = 1.0; }
    metric { 0.0 => "mEq/L", 2; }
    us { 0.0 => "mEq/L", 2; }

    /// How well water conducts, at 25 °C unless said otherwise \[µS/cm\].
    Conductivity, "conductivity", 0.0 => 1.0e6, false;
    new from_us_per_cm, get us_per_cm;
    units { "uS/cm" ["µS/cm", "umho/cm", "µmho/cm"] = 1.0; "mS/m" [] = 10.0; "mS/cm" [] = 1e3; }
    metric { 0.0 => "uS/cm", 0; }
    us { 0.0 => "uS/cm", 0; }

    /// Cloudiness by scattered light \[NTU\]; formazin units count the same.
    Turbidity, "turbidity", 0.0 => 1.0e4, false;
    new from_ntu, get ntu;
    units { "NTU" ["FNU", "FTU", "TE/F"] = 1.0; }
    metric { 0.0 => "NTU", 2; }
    us { 0.0 => "NTU", 2; }

    /// Acidity or basicity \[pH\]; a wort's is the reading of a cooled sample.
    Ph, "pH", 0.0 => 14.0, false;
    new from_ph, get ph;
    units { "" ["pH"] = 1.0; }
    metric { 0.0 => "", 2; }
    us { 0.0 => "", 2; }

    /// Difference of two pH \[pH\].
    PhShift, "pH difference", -14.0 => 14.0, false;
    new from_ph, get ph;
    units { "" ["pH"] = 1.0; }
    metric { 0.0 => "", 2; }
    us { 0.0 => "", 2; }

    /// Base that a kilogram of malt takes to rise by one pH \[mEq/(kg·pH)\].
    Buffering, "buffering", 0.0 => 1.0e3, false;
    new from_meq_per_kg_ph, get meq_per_kg_ph;
    units { "mEq/(kg pH)" ["mEq/kg/pH", "meq/(kg pH)", "meq/kg/pH", "mEq/kg pH", "meq/kg pH"] = 1.0; }
    metric { 0.0 => "mEq/(kg pH)", 0; }
    us { 0.0 => "mEq/(kg pH)", 0; }

    /// Acid in a kilogram of malt, titrated to about mash pH \[mEq/kg\].
    TitratableAcidity, "titratable acidity", 0.0 => 1.0e4, false;
    new from_meq_per_kg, get meq_per_kg;
    units { "mEq/kg" ["meq/kg", "mval/kg"] = 1.0; }
    metric { 0.0 => "mEq/kg", 0; }
    us { 0.0 => "mEq/kg", 0; }

    /// Colour by absorbance at 430 nm \[EBC\].
    Colour, "colour", 0.0 => 5000.0, false;
    new from_ebc, get ebc;
    units {
        "EBC" ["ebc", "°EBC"] = 1.0;
        "SRM" ["srm", "°SRM"] = EBC_PER_SRM;
    }
    ambiguous { ["°L", "L", "Lovibond"] => "degrees Lovibond are read by eye and vary: write the EBC or SRM figure of the analysis sheet"; }
    metric { 0.0 => "EBC", 1; }
    us { 0.0 => "SRM", 1; }

    /// Bitterness \[IBU\], about 1 mg/L of iso-alpha-acids.
    Bitterness, "bitterness", 0.0 => 1000.0, false;
    new from_ibu, get ibu;
    units { "IBU" ["EBU", "BU"] = 1.0; }
    metric { 0.0 => "IBU", 0; }
    us { 0.0 => "IBU", 0; }

    /// Hop storage index \[–\]: absorbance at 275 over that at 325 nm.
    StorageIndex, "hop storage index", 0.0 => 10.0, false;
    new from_ratio, get ratio;
    units { "" ["HSI"] = 1.0; }
    metric { 0.0 => "", 2; }
    us { 0.0 => "", 2; }

    /// Content of a trace compound in malt \[mg/kg\].
    MassFraction, "content", 0.0 => 1.0e6, false;
    new from_mg_per_kg, get mg_per_kg;
    units { "mg/kg" ["ppm", "ug/g", "µg/g"] = 1.0; "g/kg" [] = 1000.0; }
    metric { 0.0 => "mg/kg", 1; }
    us { 0.0 => "mg/kg", 1; }

    /// Number of yeast cells \[10⁹\].
    Cells, "cells", 0.0 => 1.0e9, false;
    new from_billions, get billions;
    units {
        "billion cells" ["billion", "bn", "bn cells", "1e9 cells", "10^9 cells"] = 1.0;
        "million cells" ["million"] = 1e-3;
        "cells" [] = 1e-9;
    }
    metric { 0.0 => "billion cells", 0; }
    us { 0.0 => "billion cells", 0; }

    /// Yeast cells per volume \[10⁶/mL\].
    CellDensity, "cell density", 0.0 => 1.0e4, false;
    new from_millions_per_ml, get millions_per_ml;
    units {
        "million/mL" ["million cells/mL", "M/mL", "1e6/mL", "10^6/mL"] = 1.0;
        "billion/mL" ["billion cells/mL", "1e9/mL", "bn/mL"] = 1e3;
        "cells/mL" ["/mL"] = 1e-6;
    }
    metric { 0.1 => "million/mL", 1; 1e-6 => "cells/mL", 0; 0.0 => "million/mL", 1; }
    us { 0.1 => "million/mL", 1; 1e-6 => "cells/mL", 0; 0.0 => "million/mL", 1; }

    /// Viable yeast cells in a gram of dry yeast \[10⁹/g\].
    CellsPerMass, "cells per gram", 0.0 => 100.0, false;
    new from_billions_per_g, get billions_per_g;
    units { "billion/g" ["billion cells/g", "bn/g", "1e9/g"] = 1.0; "million/g" ["million cells/g"] = 1e-3; }
    metric { 0.0 => "billion/g", 1; }
    us { 0.0 => "billion/g", 1; }

    /// Pitching rate by gravity \[10⁶ cells per mL and °P\].
    PitchRate, "pitching rate", 0.0 => 100.0, false;
    new from_millions_per_ml_plato, get millions_per_ml_plato;
    units { "million/mL/°P" ["million/(mL °P)", "million/mL/P", "M/mL/°P", "million cells/mL/°P"] = 1.0; }
    metric { 0.0 => "million/mL/°P", 2; }
    us { 0.0 => "million/mL/°P", 2; }

    /// Dissolved carbon dioxide \[g/L\]; "vol" is the gas at 0 °C and 1 atm.
    CarbonDioxide, "carbon dioxide", 0.0 => 50.0, false;
    new from_g_per_l, get g_per_l;
    units {
        "g/L" ["g/l"] = 1.0;
        "vol" ["vols", "volumes", "volume"] = CO2_G_PER_L_PER_VOLUME;
    }
    metric { 0.0 => "g/L", 1; }
    us { 0.0 => "vol", 2; }

    /// Alcohol by volume at 20 °C \[–\], written in per cent by volume.
    AlcoholByVolume, "alcohol", 0.0 => 1.0, false;
    new from_ratio, get ratio;
    units { "% vol" ["%", "% ABV", "% abv", "ABV", "%vol", "% v/v"] = 0.01; }
    ambiguous { ["% w/w", "% ABW", "%mas"] => "alcohol is entered by volume: write % vol"; }
    metric { 0.0 => "% vol", 1; }
    us { 0.0 => "% vol", 1; }

    /// Mass of a liquid per volume \[kg/m³\].
    Density, "density", 700.0 => 1600.0, false;
    new from_kg_per_m3, get kg_per_m3;
    units {
        "kg/m³" ["kg/m3", "g/L", "g/l"] = 1.0;
        "g/mL" ["g/ml", "g/cm³", "g/cm3", "kg/L", "kg/l"] = 1e3;
        "lb/gal" ["lb/US gal"] = POUND_KG / US_GALLON_L * 1e3;
    }
    metric { 0.0 => "kg/m³", 2; }
    us { 0.0 => "kg/m³", 2; }

    /// Volume of one liquid in a litre of a mixture \[mL/L\].
    Dilution, "dilution", 0.0 => 1.0e3, false;
    new from_ml_per_l, get ml_per_l;
    units {
        "mL/L" ["ml/l", "mL/l", "ml/L"] = 1.0;
        "% vol" ["%", "% v/v", "%vol", "vol %"] = 10.0;
        "fl oz/gal" ["oz/gal"] = US_GALLON_L / 128.0 * 1e3 / US_GALLON_L;
    }
    metric { 100.0 => "% vol", 0; 0.0 => "mL/L", 2; }
    us { 100.0 => "% vol", 0; 0.0 => "fl oz/gal", 2; }

    /// What a refractometer with a sugar scale shows \[°Bx\]: the mass per cent of
    /// sucrose in a solution that refracts alike at 20 °C.
    Brix, "refractometer reading", 0.0 => 40.0, false;
    new from_bx, get bx;
    units { "°Bx" ["Bx", "bx", "Brix", "°Brix", "% Brix"] = 1.0; }
    ambiguous { ["°P", "Plato"] => "a refractometer shows °Bx; the wort factor makes °P of it"; }
    metric { 0.0 => "°Bx", 1; }
    us { 0.0 => "°Bx", 1; }

    /// How many times as strongly as sucrose the extract of wort refracts \[–\].
    WortFactor, "wort factor", 0.9 => 1.2, false;
    new from_ratio, get ratio;
    units { "" [] = 1.0; }
    metric { 0.0 => "", 2; }
    us { 0.0 => "", 2; }

    /// Energy in a volume of beer \[kJ/100 mL\].
    EnergyContent, "energy", 0.0 => 4000.0, false;
    new from_kj_per_100_ml, get kj_per_100_ml;
    units {
        "kJ/100 mL" ["kJ/100 ml", "kJ/dL"] = 1.0;
        "kcal/100 mL" ["kcal/100 ml", "kcal/dL"] = 4.184;
    }
    ambiguous { ["cal/100 mL", "Cal/100 mL"] => "a food calorie is a kilocalorie: write kcal/100 mL"; }
    metric { 0.0 => "kJ/100 mL", 0; }
    us { 0.0 => "kcal/100 mL", 0; }

    /// A plain count \[–\], such as packets, tablets or cells in a chamber; halves are
    /// allowed.
    Count, "count", 0.0 => 1.0e5, false;
    new from_number, get number;
    units { "" [] = 1.0; }
    metric { 0.0 => "", 1; }
    us { 0.0 => "", 1; }

    /// Speed, relative to what is usual \[–\].
    RelativeSpeed, "speed relative to the usual", 0.05 => 20.0, false;
    new from_times, get times;
    units { "" ["times"] = 1.0; }
    metric { 0.0 => "", 2; }
    us { 0.0 => "", 2; }

    /// How much two figures move together \[–\]: 1 as one, 0 not at all, −1 against each
    /// other.
    Correlation, "correlation", -1.0 => 1.0, false;
    new from_ratio, get ratio;
    units { "" [] = 1.0; }
    metric { 0.0 => "", 2; }
    us { 0.0 => "", 2; }

    /// Power of a malt to convert starch \[degrees Lintner\].
    DiastaticPower, "diastatic power", 0.0 => 1.0e3, false;
    new from_lintner, get lintner;
    units { "°Lintner" ["Lintner", "deg Lintner"] = 1.0; }
    ambiguous { ["°WK", "WK", "Windisch-Kolbach"] => "write degrees Lintner: °Lintner = (°WK + 16) / 3.5"; }
    metric { 0.0 => "°Lintner", 0; }
    us { 0.0 => "°Lintner", 0; }

    /// Hot water extract of a malt as it is \[L°/kg\]: litres of wort times its
    /// gravity points, from a kilogram.
    HotWaterExtract, "hot water extract", 0.0 => 400.0, false;
    new from_litre_degrees_per_kg, get litre_degrees_per_kg;
    units { "L°/kg" ["l°/kg", "L deg/kg", "LDK"] = 1.0; }
    metric { 0.0 => "L°/kg", 0; }
    us { 0.0 => "L°/kg", 0; }

    /// Rate at which a gas goes into a liquid, k_La \[1/min\].
    GasTransfer, "gas transfer rate", 0.0 => 1.0e3, false;
    new from_per_min, get per_min;
    units { "/min" ["1/min", "per min"] = 1.0; "/h" ["1/h", "per h"] = 1.0 / 60.0; "/s" ["1/s", "per s"] = 60.0; }
    metric { 0.0 => "/min", 2; }
    us { 0.0 => "/min", 2; }

    /// Flow of a liquid \[L/min\].
    FlowRate, "flow", 0.0 => 1.0e4, false;
    new from_l_per_min, get l_per_min;
    units {
        "L/min" ["l/min", "litres/min", "lpm"] = 1.0;
        "mL/min" ["ml/min"] = 1e-3;
        "L/h" ["l/h", "litres/h"] = 1.0 / 60.0;
        "gal/min" ["gpm", "US gal/min"] = US_GALLON_L;
    }
    metric { 1.0 => "L/min", 1; 0.0 => "mL/min", 0; }
    us { 1.0 => "gal/min", 2; 0.0 => "mL/min", 0; }

    /// Units of money \[–\], of whatever currency the brewer pays in.
    Money, "cost", 0.0 => 1.0e9, false;
    new from_units, get units;
    units { "" [] = 1.0; }
    metric { 0.0 => "", 2; }
    us { 0.0 => "", 2; }

    /// Length \[cm\].
    Length, "length", 0.0 => 1.0e5, false;
    new from_cm, get cm;
    units { "cm" ["centimetre", "centimetres", "centimeter", "centimeters"] = 1.0; "mm" [] = 0.1; "in" ["inch", "inches"] = 2.54; "m" ["metre", "metres", "meter", "meters"] = 100.0; "ft" ["foot", "feet"] = 30.48; }
    metric { 100.0 => "m", 2; 0.0 => "cm", 1; }
    us { 61.0 => "ft", 1; 0.0 => "in", 1; }

    /// Heat taken up as steam or given by the heater \[kW\].
    Power, "power", 0.0 => 1.0e4, false;
    new from_kw, get kw;
    units { "kW" ["kw"] = 1.0; "W" ["w", "watt"] = 1e-3; "BTU/h" ["Btu/h"] = 0.000_293_071_07; }
    metric { 1.0 => "kW", 1; 0.0 => "W", 0; }
    us { 1.0 => "kW", 1; 0.0 => "W", 0; }

    /// Heat \[kWh\].
    Energy, "heat", 0.0 => 1.0e6, true;
    new from_kwh, get kwh;
    units { "kWh" [] = 1.0; "MJ" [] = 1.0 / 3.6; "kJ" [] = 1.0 / 3600.0; "BTU" ["Btu"] = 0.000_293_071_07; }
    metric { 0.0 => "kWh", 2; }
    us { 0.0 => "kWh", 2; }
}

/// Declares the concentration of what water holds in traces \[mg/L of the element\];
/// its charge is not known, or too small to count.
macro_rules! traces {
    ($( $(#[$doc:meta])* $name:ident, $label:literal; )+) => {
        quantities! {$(
            $(#[$doc])*
            $name, $label, 0.0 => 1.0e5, false;
            new from_mg_per_l, get mg_per_l;
            units {
                "mg/L" ["mg/l", "ppm"] = 1.0;
                "ug/L" ["µg/L", "ug/l", "µg/l", "ppb"] = 1e-3;
            }
            metric { 10.0 => "mg/L", 0; 1.0 => "mg/L", 1; 0.1 => "mg/L", 2; 0.0 => "ug/L", 1; }
            us { 10.0 => "mg/L", 0; 1.0 => "mg/L", 1; 0.1 => "mg/L", 2; 0.0 => "ug/L", 1; }
        )+}
    };
}

traces! {
    /// Copper \[mg/L of Cu\].
    Copper, "copper";
    /// Lead \[mg/L of Pb\].
    Lead, "lead";
    /// Arsenic \[mg/L of As\].
    Arsenic, "arsenic";
    /// Fluoride \[mg/L of F⁻\].
    Fluoride, "fluoride";
    /// Zinc \[mg/L of Zn\].
    Zinc, "zinc";
}

/// Declares the concentration of one ion \[mg/L of the ion\].
macro_rules! ions {
    ($(
        $(#[$doc:meta])*
        $name:ident, $label:literal, $mass:expr, charge $charge:literal;
        units { $( $symbol:literal $([$($alias:literal),* $(,)?])? = $factor:expr; )* }
    )+) => {
        quantities! {$(
            $(#[$doc])*
            $name, $label, 0.0 => 1.0e5, false;
            new from_mg_per_l, get mg_per_l;
            units {
                "mg/L" ["mg/l", "ppm"] = 1.0;
                "µg/L" ["ug/L", "μg/L", "ug/l", "µg/l", "ppb"] = 1e-3;
                "mmol/L" ["mmol/l", "mM"] = $mass;
                "mEq/L" ["meq/L", "meq/l", "mval/L"] = $mass / $charge;
                $( $symbol $([$($alias),*])? = $factor; )*
            }
            metric { 10.0 => "mg/L", 0; 1.0 => "mg/L", 1; 0.0 => "mg/L", 2; }
            us { 10.0 => "mg/L", 0; 1.0 => "mg/L", 1; 0.0 => "mg/L", 2; }
        )+}
        $(
            impl $name {
                /// Molar mass of the ion \[g/mol\].
                pub const MOLAR_MASS: f64 = $mass;
                /// Charges that one ion carries, without sign.
                pub const CHARGE: f64 = $charge;

                /// The amount of substance \[mmol/L\].
                #[must_use]
                pub fn mmol_per_l(self) -> f64 {
                    self.mg_per_l() / Self::MOLAR_MASS
                }

                /// The charge that it carries \[mEq/L\], without sign.
                #[must_use]
                pub fn meq_per_l(self) -> f64 {
                    self.mmol_per_l() * Self::CHARGE
                }
            }
        )+
    };
}

ions! {
    /// Calcium \[mg/L of Ca²⁺\].
    Calcium, "calcium", m::CA, charge 2.0;
    units {
        "mg/L as CaCO3" ["mg/L CaCO3", "ppm as CaCO3"] = m::CA / m::CACO3;
        "°dH" ["dH"] = DH_MEQ * m::CA / 2.0;
        "°fH" ["fH"] = 10.0 * m::CA / m::CACO3;
    }
    /// Magnesium \[mg/L of Mg²⁺\].
    Magnesium, "magnesium", m::MG, charge 2.0;
    units {
        "mg/L as CaCO3" ["mg/L CaCO3", "ppm as CaCO3"] = m::MG / m::CACO3;
        "°dH" ["dH"] = DH_MEQ * m::MG / 2.0;
        "°fH" ["fH"] = 10.0 * m::MG / m::CACO3;
    }
    /// Sodium \[mg/L of Na⁺\].
    Sodium, "sodium", m::NA, charge 1.0;
    units {}
    /// Potassium \[mg/L of K⁺\].
    Potassium, "potassium", m::K, charge 1.0;
    units {}
    /// Ammonium \[mg/L of NH₄⁺\].
    Ammonium, "ammonium", m::NH4, charge 1.0;
    units { "mg/L as N" ["mg/L N", "mg/L NH4-N", "mg/L NH3-N"] = m::NH4 / m::N; }
    /// Chloride \[mg/L of Cl⁻\]; not to be taken for chlorine.
    Chloride, "chloride", m::CL, charge 1.0;
    units {}
    /// Sulfate \[mg/L of SO₄²⁻\].
    Sulfate, "sulfate", m::SO4, charge 2.0;
    units { "mg/L as S" ["mg/L S", "mg/L SO4-S"] = m::SO4 / m::S; }
    /// Nitrate \[mg/L of NO₃⁻\].
    Nitrate, "nitrate", m::NO3, charge 1.0;
    units { "mg/L as N" ["mg/L N", "mg/L NO3-N"] = m::NO3 / m::N; }
    /// Nitrite \[mg/L of NO₂⁻\].
    Nitrite, "nitrite", m::NO2, charge 1.0;
    units { "mg/L as N" ["mg/L N", "mg/L NO2-N"] = m::NO2 / m::N; }
    /// Iron \[mg/L of Fe\].
    Iron, "iron", m::FE, charge 2.0;
    units {}
    /// Manganese \[mg/L of Mn\].
    Manganese, "manganese", m::MN, charge 2.0;
    units {}
}

impl AlcoholByVolume {
    /// From a number in per cent by volume.
    #[must_use]
    pub const fn from_percent(value: f64) -> Self {
        Self(value / 100.0)
    }

    /// The number in per cent by volume.
    #[must_use]
    pub const fn percent(self) -> f64 {
        self.0 * 100.0
    }
}

impl CarbonDioxide {
    /// From volumes of gas at 0 °C and 1 atm per volume of beer.
    #[must_use]
    pub const fn from_volumes(value: f64) -> Self {
        Self(value * CO2_G_PER_L_PER_VOLUME)
    }

    /// Volumes of gas at 0 °C and 1 atm per volume of beer.
    #[must_use]
    pub const fn volumes(self) -> f64 {
        self.0 / CO2_G_PER_L_PER_VOLUME
    }
}

impl Mass {
    /// From a number in grams.
    #[must_use]
    pub const fn from_g(value: f64) -> Self {
        Self(value / 1000.0)
    }

    /// The number in grams.
    #[must_use]
    pub const fn g(self) -> f64 {
        self.0 * 1000.0
    }
}

impl Duration {
    /// From a number in minutes.
    #[must_use]
    pub const fn from_min(value: f64) -> Self {
        Self(value / 60.0)
    }

    /// The number in minutes.
    #[must_use]
    pub const fn min(self) -> f64 {
        self.0 * 60.0
    }
}

impl Alkalinity {
    /// The number in mg/L as CaCO₃.
    #[must_use]
    pub fn mg_per_l_as_caco3(self) -> f64 {
        self.0 * CACO3_MG_PER_MEQ
    }
}

impl Colour {
    /// The number in SRM units.
    #[must_use]
    pub fn srm(self) -> f64 {
        self.0 / EBC_PER_SRM
    }
}
