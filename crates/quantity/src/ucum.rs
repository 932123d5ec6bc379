//! Units as codes of the *Unified Code for Units of Measure* (UCUM), for machines.
//!
//! The trade's scales (°P, °Bx, EBC, IBU, degrees of hardness) have no code there: an
//! annotation in braces says what the number is, and a machine that knows only UCUM
//! takes it as the unit before the brace. Codes that were read in UCUM 2.2 are marked
//! so; the others are from memory and pass its grammar (a test holds them to it, and to
//! the factors of this crate).

use crate::{Mark, Quantity};

/// A unit and its code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ucum {
    /// The symbol of a unit in this crate.
    pub symbol: &'static str,
    /// Its code.
    pub code: &'static str,
    /// Whether the code was read in UCUM or comes from memory.
    pub mark: Mark,
}

const fn read(symbol: &'static str, code: &'static str) -> Ucum {
    Ucum {
        symbol,
        code,
        mark: Mark::Read,
    }
}

const fn recalled(symbol: &'static str, code: &'static str) -> Ucum {
    Ucum {
        symbol,
        code,
        mark: Mark::FromMemory,
    }
}

/// Units that mean the same in every quantity.
const CODES: &[Ucum] = &[
    read("L", "L"),
    read("mL", "mL"),
    read("hL", "hL"),
    read("gal", "[gal_us]"),
    read("imp gal", "[gal_br]"),
    recalled("qt", "[qt_us]"),
    recalled("pt", "[pt_us]"),
    recalled("imp pt", "[pt_br]"),
    recalled("fl oz", "[foz_us]"),
    // The barrel of UCUM is the one of petroleum, of 42 gal.
    read("bbl", "31.[gal_us]"),
    read("kg", "kg"),
    read("g", "g"),
    read("mg", "mg"),
    recalled("t", "t"),
    read("lb", "[lb_av]"),
    recalled("oz", "[oz_av]"),
    read("gr", "[gr]"),
    read("°C", "Cel"),
    read("°F", "[degF]"),
    read("K", "K"),
    recalled("s", "s"),
    recalled("min", "min"),
    recalled("h", "h"),
    recalled("d", "d"),
    recalled("week", "wk"),
    recalled("month", "mo"),
    recalled("year", "a"),
    recalled("m", "m"),
    recalled("cm", "cm"),
    recalled("mm", "mm"),
    recalled("in", "[in_i]"),
    recalled("ft", "[ft_i]"),
    read("bar", "bar"),
    read("atm", "atm"),
    read("psi", "[psi]"),
    recalled("kPa", "kPa"),
    recalled("MPa", "MPa"),
    recalled("Pa", "Pa"),
    recalled("uatm", "uatm"),
    recalled("kW", "kW"),
    recalled("W", "W"),
    read("BTU/h", "[Btu_IT]/h"),
    recalled("kWh", "kW.h"),
    recalled("MJ", "MJ"),
    recalled("kJ", "kJ"),
    read("BTU", "[Btu_IT]"),
    recalled("kJ/100 mL", "kJ/(100.mL)"),
    read("kcal/100 mL", "kcal_th/(100.mL)"),
    recalled("mV", "mV"),
    recalled("V", "V"),
    read("%", "%"),
    recalled("% vol", "%{vol}"),
    read("mg/L", "mg/L"),
    recalled("µg/L", "ug/L"),
    recalled("ng/L", "ng/L"),
    recalled("g/L", "g/L"),
    recalled("g/mL", "g/mL"),
    recalled("kg/m³", "kg/m3"),
    recalled("lb/gal", "[lb_av]/[gal_us]"),
    recalled("mg/kg", "mg/kg"),
    recalled("g/kg", "g/kg"),
    recalled("mmol/L", "mmol/L"),
    recalled("mmol/kg", "mmol/kg"),
    recalled("mol/kg", "mol/kg"),
    recalled("umol/kg", "umol/kg"),
    read("mEq/L", "meq/L"),
    recalled("mEq/kg", "meq/kg"),
    recalled("mEq/(kg pH)", "meq/kg/[pH]"),
    recalled("uS/cm", "uS/cm"),
    recalled("mS/m", "mS/m"),
    recalled("mS/cm", "mS/cm"),
    recalled("L/kg", "L/kg"),
    recalled("qt/lb", "[qt_us]/[lb_av]"),
    recalled("gal/lb", "[gal_us]/[lb_av]"),
    recalled("L/h", "L/h"),
    recalled("L/min", "L/min"),
    recalled("mL/min", "mL/min"),
    recalled("gal/h", "[gal_us]/h"),
    recalled("gal/min", "[gal_us]/min"),
    recalled("kg/h", "kg/h"),
    recalled("mL/L", "mL/L"),
    recalled("fl oz/gal", "[foz_us]/[gal_us]"),
    recalled("/s", "/s"),
    recalled("/min", "/min"),
    recalled("/h", "/h"),
    recalled("cells", "{cells}"),
    recalled("million cells", "10*6.{cells}"),
    recalled("billion cells", "10*9.{cells}"),
    recalled("cells/mL", "{cells}/mL"),
    recalled("million/mL", "10*6.{cells}/mL"),
    recalled("billion/mL", "10*9.{cells}/mL"),
    recalled("million/g", "10*6.{cells}/g"),
    recalled("billion/g", "10*9.{cells}/g"),
    recalled("million/mL/°P", "10*6.{cells}/mL/%{Plato}"),
    recalled("mg/L as CaCO3", "mg/L{CaCO3}"),
    recalled("mg/L as HCO3", "mg/L{HCO3}"),
    recalled("mg/L as N", "mg/L{N}"),
    recalled("mg/L as S", "mg/L{S}"),
    recalled("mg/L as SO2", "mg/L{SO2}"),
    recalled("mg/L as Cl2", "mg/L{Cl2}"),
    recalled("mg/L as NH2Cl", "mg/L{NH2Cl}"),
    recalled("gr/gal", "[gr]/[gal_us]{CaCO3}"),
    recalled("°dH", "{dH}"),
    recalled("°e", "{Clark}"),
    recalled("°fH", "{fH}"),
    recalled("°P", "%{Plato}"),
    recalled("°Bx", "%{Brix}"),
    recalled("EBC", "{EBC}"),
    recalled("SRM", "{SRM}"),
    recalled("IBU", "mg/L{IBU}"),
    recalled("NTU", "{NTU}"),
    recalled("vol", "{vol_CO2}"),
    recalled("°Lintner", "{Lintner}"),
    recalled("L°/kg", "L/kg{gravity}"),
];

/// The code of a unit of a quantity; what is written without a unit is told by the
/// quantity.
///
/// ```
/// use quantity::{Gravity, Ph, Volume, ucum};
/// assert_eq!(ucum::<Volume>("bbl").map(|u| u.code), Some("31.[gal_us]"));
/// assert_eq!(ucum::<Ph>("").map(|u| u.code), Some("[pH]"));
/// assert_eq!(ucum::<Gravity>("").map(|u| u.code), Some("{SG}"));
/// ```
#[must_use]
pub fn ucum<Q: Quantity>(symbol: &str) -> Option<Ucum> {
    if symbol.is_empty() {
        return Some(match Q::NAME {
            "pH" | "pH difference" => read("", "[pH]"),
            "gravity" => recalled("", "{SG}"),
            _ => recalled("", "1"),
        });
    }
    CODES.iter().find(|row| row.symbol == symbol).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::*;

    /// What a code comes to: its factor to SI, and its dimensions in m, kg, s, K, mol, A.
    #[derive(Debug, Clone, PartialEq)]
    struct Value {
        factor: f64,
        dims: [i32; 6],
        notes: Vec<String>,
    }

    impl Value {
        fn times(mut self, other: Self, sign: i32) -> Self {
            self.factor *= other.factor.powi(sign);
            for (d, o) in self.dims.iter_mut().zip(other.dims) {
                *d += sign * o;
            }
            self.notes.extend(other.notes);
            self
        }
    }

    /// Atoms of UCUM with their values as its table prints them (2.2, from memory where
    /// the codes are), and whether they take a prefix.
    fn atom(code: &str) -> Option<(f64, [i32; 6], bool)> {
        const M3: [i32; 6] = [3, 0, 0, 0, 0, 0];
        const KG: [i32; 6] = [0, 1, 0, 0, 0, 0];
        const S: [i32; 6] = [0, 0, 1, 0, 0, 0];
        const PA: [i32; 6] = [-1, 1, -2, 0, 0, 0];
        const J: [i32; 6] = [2, 1, -2, 0, 0, 0];
        const ONE: [i32; 6] = [0; 6];
        let inch = 0.0254;
        let gallon = 231.0 * inch * inch * inch;
        Some(match code {
            "L" | "l" => (1e-3, M3, true),
            "[gal_us]" => (gallon, M3, false),
            "[qt_us]" => (gallon / 4.0, M3, false),
            "[pt_us]" => (gallon / 8.0, M3, false),
            "[foz_us]" => (gallon / 128.0, M3, false),
            "[gal_br]" => (4.54609e-3, M3, false),
            "[pt_br]" => (4.54609e-3 / 8.0, M3, false),
            "g" => (1e-3, KG, true),
            "t" => (1e3, KG, true),
            "[gr]" => (64.79891e-6, KG, false),
            "[lb_av]" => (7000.0 * 64.79891e-6, KG, false),
            "[oz_av]" => (7000.0 / 16.0 * 64.79891e-6, KG, false),
            "K" => (1.0, [0, 0, 0, 1, 0, 0], true),
            "Cel" | "[degF]" => (1.0, [0, 0, 0, 1, 0, 0], false),
            "s" => (1.0, S, true),
            "min" => (60.0, S, false),
            "h" => (3600.0, S, false),
            "d" => (86_400.0, S, false),
            "wk" => (7.0 * 86_400.0, S, false),
            "mo" => (365.25 / 12.0 * 86_400.0, S, false),
            "a" => (365.25 * 86_400.0, S, false),
            "m" => (1.0, [1, 0, 0, 0, 0, 0], true),
            "[in_i]" => (inch, [1, 0, 0, 0, 0, 0], false),
            "[ft_i]" => (12.0 * inch, [1, 0, 0, 0, 0, 0], false),
            "Pa" => (1.0, PA, true),
            "bar" => (1e5, PA, true),
            "atm" => (101_325.0, PA, true),
            "[psi]" => (0.453_592_37 * 9.806_65 / (inch * inch), PA, false),
            "J" => (1.0, J, true),
            "W" => (1.0, [2, 1, -3, 0, 0, 0], true),
            "[Btu_IT]" => (1_055.055_852_62, J, false),
            "cal_th" => (4.184, J, true),
            "V" => (1.0, [2, 1, -3, 0, 0, -1], true),
            "S" => (1.0, [-2, -1, 3, 0, 0, 2], true),
            "mol" => (1.0, [0, 0, 0, 0, 1, 0], true),
            // A mole of charges is no mole of what carries them: told apart as charge.
            "eq" => (1.0, [0, 0, 1, 0, 0, 1], true),
            "%" => (1e-2, ONE, false),
            "[pH]" => (1.0, ONE, false),
            "10*" => (10.0, ONE, false),
            _ => return None,
        })
    }

    /// The grammar of UCUM 2.2, section 2: terms of components with . and /, parentheses,
    /// factors, exponents, annotations, prefixes on metric atoms.
    struct Parser<'c> {
        rest: &'c str,
    }

    impl<'c> Parser<'c> {
        fn whole(code: &'c str) -> Option<Value> {
            let mut parser = Self { rest: code };
            let value = parser.main_term()?;
            parser.rest.is_empty().then_some(value)
        }

        fn eat(&mut self, mark: char) -> bool {
            let after = self.rest.strip_prefix(mark);
            self.rest = after.unwrap_or(self.rest);
            after.is_some()
        }

        fn main_term(&mut self) -> Option<Value> {
            if self.eat('/') {
                let one = Value {
                    factor: 1.0,
                    dims: [0; 6],
                    notes: vec![],
                };
                return Some(one.times(self.term()?, -1));
            }
            self.term()
        }

        fn term(&mut self) -> Option<Value> {
            let mut value = self.component()?;
            loop {
                let sign = if self.eat('.') {
                    1
                } else if self.eat('/') {
                    -1
                } else {
                    return Some(value);
                };
                value = value.times(self.component()?, sign);
            }
        }

        fn component(&mut self) -> Option<Value> {
            if self.eat('(') {
                let value = self.term()?;
                return self.eat(')').then_some(value);
            }
            if self.rest.starts_with('{') {
                return self.annotation().map(|note| Value {
                    factor: 1.0,
                    dims: [0; 6],
                    notes: vec![note],
                });
            }
            let digits = self.rest.len()
                - self
                    .rest
                    .trim_start_matches(|c: char| c.is_ascii_digit())
                    .len();
            if digits > 0 && !self.rest.starts_with("10*") {
                let (number, rest) = self.rest.split_at(digits);
                self.rest = rest;
                return Some(Value {
                    factor: number.parse().ok()?,
                    dims: [0; 6],
                    notes: vec![],
                });
            }
            let mut value = self.simple_unit()?;
            let exponent = self.exponent();
            value = Value {
                factor: value.factor.powi(exponent),
                dims: value.dims.map(|d| d * exponent),
                ..value
            };
            if self.rest.starts_with('{') {
                value.notes.push(self.annotation()?);
            }
            Some(value)
        }

        fn annotation(&mut self) -> Option<String> {
            let (note, rest) = self.rest.strip_prefix('{')?.split_once('}')?;
            self.rest = rest;
            let plain = note.chars().all(|c| c.is_ascii_graphic() && c != '{');
            (plain && !note.is_empty()).then(|| note.to_owned())
        }

        fn exponent(&mut self) -> i32 {
            let signed = self.rest.strip_prefix(['-', '+']).unwrap_or(self.rest);
            let digits = signed.len()
                - signed
                    .trim_start_matches(|c: char| c.is_ascii_digit())
                    .len();
            if digits == 0 {
                return 1;
            }
            let (number, rest) = self.rest.split_at(self.rest.len() - signed.len() + digits);
            self.rest = rest;
            number.parse().unwrap_or(1)
        }

        fn simple_unit(&mut self) -> Option<Value> {
            let end = if self.rest.starts_with("10*") {
                3
            } else if self.rest.starts_with('[') {
                self.rest.find(']')? + 1
            } else {
                let stops = |c: char| {
                    matches!(c, '.' | '/' | '{' | '}' | '(' | ')' | '-' | '+') || c.is_ascii_digit()
                };
                self.rest.find(stops).unwrap_or(self.rest.len())
            };
            let (symbol, rest) = self.rest.split_at(end);
            self.rest = rest;
            let of = |(factor, dims): (f64, [i32; 6])| Value {
                factor,
                dims,
                notes: vec![],
            };
            if let Some((factor, dims, _)) = atom(symbol) {
                return Some(of((factor, dims)));
            }
            let prefixes = [
                ("n", 1e-9),
                ("u", 1e-6),
                ("m", 1e-3),
                ("c", 1e-2),
                ("h", 1e2),
                ("k", 1e3),
                ("M", 1e6),
            ];
            prefixes.into_iter().find_map(|(prefix, by)| {
                let (factor, dims, metric) = atom(symbol.strip_prefix(prefix)?)?;
                metric.then(|| of((factor * by, dims)))
            })
        }
    }

    #[test]
    fn every_code_is_of_the_grammar_and_every_symbol_stands_once() {
        for (n, row) in CODES.iter().enumerate() {
            assert!(Parser::whole(row.code).is_some(), "{row:?}");
            assert!(
                CODES
                    .iter()
                    .skip(n + 1)
                    .all(|other| other.symbol != row.symbol),
                "{row:?}"
            );
        }
        for wrong in [
            "",
            "mg//L",
            "g/(100.g){Plato}",
            "{open",
            "kg m",
            "[bbl",
            "foo",
            "/",
            "m{a b}",
        ] {
            assert!(Parser::whole(wrong).is_none(), "{wrong}");
        }
        assert!((Parser::whole("10*-3.{SG}").unwrap().factor - 1e-3).abs() < 1e-18);
    }

    /// Where two units of a quantity have codes of the same dimensions and the same
    /// annotation, UCUM converts as this crate does.
    fn agrees<Q: Quantity>() -> usize {
        let mut compared = 0;
        let known: Vec<(&Unit, Value)> = Q::UNITS
            .iter()
            .map(|unit| {
                let row = ucum::<Q>(unit.symbol);
                let code = row
                    .unwrap_or_else(|| panic!("{}: {:?}", Q::NAME, unit.symbol))
                    .code;
                (
                    unit,
                    Parser::whole(code).unwrap_or(Value {
                        factor: 1.0,
                        dims: [0; 6],
                        notes: vec!["1".to_owned()],
                    }),
                )
            })
            .collect();
        for (a, of_a) in &known {
            for (b, of_b) in &known {
                let scale = |u: &Unit| (u.to_canonical)(2.0) - (u.to_canonical)(1.0);
                let same = of_a.dims == of_b.dims && of_a.notes == of_b.notes;
                let special = |u: &Unit| matches!(u.symbol, "°F" | "°C" | "");
                if a.symbol == b.symbol || !same || special(a) || special(b) {
                    continue;
                }
                let (ours, theirs) = (scale(a) / scale(b), of_a.factor / of_b.factor);
                assert!(
                    (ours / theirs - 1.0).abs() < 2e-6,
                    "{}: {} {} {ours} {theirs}",
                    Q::NAME,
                    a.symbol,
                    b.symbol
                );
                compared += 1;
            }
        }
        compared
    }

    #[test]
    fn the_codes_convert_as_the_units_do() {
        assert_eq!(
            agrees::<Volume>(),
            90,
            "ten units of volume, each against each"
        );
        assert!(agrees::<Mass>() >= 30);
        assert!(agrees::<Duration>() >= 12);
        assert!(agrees::<Altitude>() >= 2);
        assert!(agrees::<GaugePressure>() >= 6);
        assert!(agrees::<Power>() >= 6);
        assert!(agrees::<Energy>() >= 6);
        assert!(agrees::<ElectrodePotential>() >= 2);
        assert!(agrees::<Density>() >= 2);
        assert!(agrees::<VolumePerMass>() >= 2);
        agrees::<Temperature>();
        agrees::<TemperatureDifference>();
        agrees::<Gravity>();
        agrees::<Brix>();
        agrees::<Ph>();
        agrees::<Alkalinity>();
        agrees::<Hardness>();
        agrees::<Calcium>();
        agrees::<Magnesium>();
        agrees::<Nitrate>();
        agrees::<Sulfate>();
        agrees::<Fraction>();
        agrees::<Bitterness>();
        agrees::<CarbonDioxide>();
        agrees::<AlcoholByVolume>();
        agrees::<WortFactor>();
        agrees::<EvaporationRate>();
    }
}
