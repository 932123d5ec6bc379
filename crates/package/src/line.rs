//! The line from keg to tap: how long it must be, and how fast it pours.

use std::sync::LazyLock;

use quantity::{FlowRate, GaugePressure, Length, Measured, Note, PSI_BAR, Source, Spread};

use crate::error::{PackageError, find, within};

/// Beer at 6 °C: density \[kg/m³\] and viscosity \[Pa·s\], measured on a lager
/// (*ACS Omega* 2021, table 1, read).
const DENSITY_KG_PER_M3: f64 = 1010.0;
const VISCOSITY_PA_S: f64 = 2.42e-3;
const GRAVITY_M_PER_S2: f64 = 9.806_65;
/// Below this Reynolds number the flow is laminar.
const LAMINAR_TO: f64 = 2040.0;
/// The flow that the trade's resistances are for, 2 US fl oz/s \[m³/s\].
const TRADE_FLOW_M3_PER_S: f64 = 2.0 * 29.573_529_562_5e-6;
/// Resistance of turbulent flow rises with flow to this power (Blasius).
const TURBULENT_POWER: f64 = 1.75;
const FOOT_M: f64 = 0.3048;
const BAR_PA: f64 = 1e5;
/// What a tap takes \[bar\], 0 to 1 psi (common practice): its middle.
const TAP_BAR: f64 = 0.5 * PSI_BAR;

/// A kind of beer tube.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// Key of the row.
    pub key: String,
    /// What it is.
    pub name: String,
    /// Inner diameter.
    pub inner: Length,
    /// What the trade reckons that it resists at 2 US fl oz/s, least and most
    /// \[bar/m\].
    trade_bar_per_m: (f64, f64),
    /// Where that comes from.
    pub source: Source,
}

/// A line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draught<'a> {
    /// The tube.
    pub tube: &'a Tube,
    /// How far the tap stands above the middle of the keg; below nought where it
    /// stands lower.
    pub rise: Length,
    /// What the keg is set to.
    pub pressure: GaugePressure,
}

/// The length of a line, two ways.
#[derive(Debug, Clone, PartialEq)]
pub struct LineLength {
    /// By the friction of a smooth tube.
    pub by_friction: Length,
    /// By the resistances of the trade.
    pub by_trade: Measured<Length>,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// The pour of a line, two ways.
#[derive(Debug, Clone, PartialEq)]
pub struct Pour {
    /// By the friction of a smooth tube.
    pub by_friction: FlowRate,
    /// By the resistances of the trade.
    pub by_trade: Measured<FlowRate>,
    /// Remarks.
    pub notes: Vec<Note>,
}

impl Tube {
    /// All tubes, in the order of the table.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &TUBES
    }

    /// The tube with a key.
    ///
    /// # Errors
    /// [`PackageError::UnknownKey`], with the nearest key.
    pub fn find(key: &str) -> Result<&'static Self, PackageError> {
        find("tube", &TUBES, |tube| &tube.key, key)
    }

    /// Friction of beer in a smooth tube \[bar for each metre\].
    ///
    /// Darcy–Weisbach, Δp/L = f ρ v²/(2 D), f = 64/Re below Re = 2040, else Blasius
    /// 0.316 Re^(−1/4). Soft tube, couplings and gas that breaks out come on top.
    #[must_use]
    pub fn friction_bar_per_m(&self, flow: FlowRate) -> f64 {
        friction_bar_per_m(self.inner_m(), m3_per_s(flow))
    }

    fn inner_m(&self) -> f64 {
        self.inner.cm() / 100.0
    }

    /// Resistances of the trade at a flow \[bar/m\].
    fn trade_at(&self, flow: FlowRate) -> (f64, f64) {
        let scale = (m3_per_s(flow) / TRADE_FLOW_M3_PER_S).powf(TURBULENT_POWER);
        (
            self.trade_bar_per_m.0 * scale,
            self.trade_bar_per_m.1 * scale,
        )
    }
}

impl Draught<'_> {
    /// How long the line must be for a pour.
    ///
    /// The pressure of the keg is what the line, the rise (0.099 bar/m) and the tap
    /// take together. The pressure itself belongs to the CO₂ of the beer: it is the
    /// line that is changed, never the pressure.
    ///
    /// # Errors
    /// [`PackageError::Impossible`] for a flow outside 0.2 to 20 L/min, a rise outside
    /// ±20 m or a pressure outside 0 to 10 bar; [`PackageError::NoPour`] where the rise
    /// alone takes the pressure.
    pub fn length_for(&self, flow: FlowRate) -> Result<LineLength, PackageError> {
        let flow = within("flow at the tap", flow, 0.2, 20.0)?;
        let bar = self.for_the_line()?;
        let (low, high) = self.tube.trade_at(flow);
        let by_trade = Measured {
            value: metres(bar / f64::midpoint(low, high)),
            spread: Spread::Range {
                low: metres(bar / high).cm(),
                high: metres(bar / low).cm(),
            },
        };
        Ok(LineLength {
            by_friction: metres(bar / self.tube.friction_bar_per_m(flow)),
            by_trade,
            notes: vec![Note::look(
                "the two ways do not agree, since the trade's figures are of no one flow: start with the longest and cut back until it pours well",
            )],
        })
    }

    /// How fast a line of a length pours.
    ///
    /// # Errors
    /// [`PackageError::Impossible`] for a length outside 0.1 to 100 m; as
    /// [`length_for`](Self::length_for).
    pub fn pour_through(&self, length: Length) -> Result<Pour, PackageError> {
        let length_m = within("length of the line", length, 10.0, 1e4)?.cm() / 100.0;
        let bar_per_m = self.for_the_line()? / length_m;
        let (low, high) = self.tube.trade_bar_per_m;
        let by_trade = |resistance: f64| {
            let ratio = (bar_per_m / resistance).powf(1.0 / TURBULENT_POWER);
            l_per_min(TRADE_FLOW_M3_PER_S * ratio)
        };
        Ok(Pour {
            by_friction: l_per_min(flow_m3_per_s(self.tube.inner_m(), bar_per_m)),
            by_trade: Measured {
                value: by_trade(f64::midpoint(low, high)),
                spread: Spread::Range {
                    low: by_trade(high).l_per_min(),
                    high: by_trade(low).l_per_min(),
                },
            },
            notes: vec![Note::fine(
                "to pour slower take a longer line, not less pressure: less pressure takes the gas out of the beer",
            )],
        })
    }

    /// Pressure that is left for the line \[bar\].
    fn for_the_line(&self) -> Result<f64, PackageError> {
        let keg_bar = within("pressure of the keg", self.pressure, 0.0, 10.0)?.bar();
        let rise_m = within("rise to the tap", self.rise, -2000.0, 2000.0)?.cm() / 100.0;
        let lift_bar = DENSITY_KG_PER_M3 * GRAVITY_M_PER_S2 * rise_m / BAR_PA;
        let left_bar = keg_bar - lift_bar - TAP_BAR;
        if left_bar > 0.0 {
            Ok(left_bar)
        } else {
            Err(PackageError::NoPour {
                keg: self.pressure,
                needed: GaugePressure::from_bar(lift_bar + TAP_BAR),
            })
        }
    }
}

fn friction_bar_per_m(inner_m: f64, flow_m3_per_s: f64) -> f64 {
    let area_m2 = std::f64::consts::PI * inner_m * inner_m / 4.0;
    let speed_m_per_s = flow_m3_per_s / area_m2;
    let reynolds = DENSITY_KG_PER_M3 * speed_m_per_s * inner_m / VISCOSITY_PA_S;
    let factor = if reynolds < LAMINAR_TO {
        64.0 / reynolds
    } else {
        0.316 * reynolds.powf(-0.25)
    };
    factor * DENSITY_KG_PER_M3 * speed_m_per_s * speed_m_per_s / (2.0 * inner_m) / BAR_PA
}

/// The flow at which a smooth tube takes so much \[m³/s\], by bisection: friction only
/// rises with flow.
fn flow_m3_per_s(inner_m: f64, bar_per_m: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1e-2);
    for _ in 0..80 {
        let middle = f64::midpoint(low, high);
        if friction_bar_per_m(inner_m, middle) < bar_per_m {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

fn m3_per_s(flow: FlowRate) -> f64 {
    flow.l_per_min() / 60_000.0
}

fn l_per_min(m3_per_s: f64) -> FlowRate {
    FlowRate::from_l_per_min(m3_per_s * 60_000.0)
}

fn metres(m: f64) -> Length {
    Length::from_cm(100.0 * m)
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    tube: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    inner: String,
    low: f64,
    high: f64,
    source: String,
    mark: String,
}

const FILE: &str = "tubes.toml";

static TUBES: LazyLock<Vec<Tube>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../data/tubes.toml"));
    file.tube.into_iter().map(tube).collect()
});

fn tube(row: Row) -> Tube {
    let bar_per_m = |psi_per_foot: f64| psi_per_foot * PSI_BAR / FOOT_M;
    Tube {
        inner: quantity::data::quantity(FILE, &row.key, &row.inner),
        trade_bar_per_m: (bar_per_m(row.low), bar_per_m(row.high)),
        source: Source {
            mark: quantity::data::mark(FILE, &row.key, &row.mark),
            text: row.source,
        },
        key: row.key,
        name: row.name,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ml_per_s(x: f64) -> FlowRate {
        FlowRate::from_l_per_min(0.06 * x)
    }

    fn psi_per_foot(inner_mm: f64, flow_ml_per_s: f64) -> f64 {
        friction_bar_per_m(inner_mm / 1000.0, flow_ml_per_s * 1e-6) / PSI_BAR * FOOT_M
    }

    /// Friction of a smooth pipe by the general-purpose library fluids 1.3.1, beer at
    /// 6 °C, 2 US fl oz/s \[psi/ft\]; the last at half that flow.
    #[test]
    fn friction_is_that_of_a_smooth_pipe() {
        for (inner_mm, flow, printed) in [
            (4.7625, 59.1, 1.81),
            (6.35, 59.1, 0.46),
            (7.9375, 59.1, 0.16),
            (9.525, 59.1, 0.07),
            (5.0, 59.1, 1.44),
            (4.0, 59.1, 4.14),
            (8.0, 59.1, 0.16),
            (4.7625, 30.0, 0.56),
        ] {
            let ours = psi_per_foot(inner_mm, flow);
            assert!((ours - printed).abs() < 0.009, "{inner_mm}: {ours}");
        }
    }

    /// An industry page on draught quality (read): 20 ft of 1/4 in vinyl take 17 psi,
    /// 20 ft of 5/16 in barrier tube 2 psi.
    #[test]
    fn the_trade_s_lines_are_in_the_range() {
        for (key, psi) in [("vinyl-1/4", 17.0), ("barrier-5/16", 2.0)] {
            let line = Draught {
                tube: Tube::find(key).unwrap(),
                rise: Length::from_cm(0.0),
                pressure: GaugePressure::from_bar(psi * PSI_BAR + TAP_BAR),
            };
            let found = line.length_for(ml_per_s(59.147)).unwrap().by_trade;
            let feet = 20.0 * FOOT_M * 100.0;
            let Spread::Range { low, high } = found.spread else {
                panic!("a range");
            };
            assert!(
                (low - 0.01..=high + 0.01).contains(&feet),
                "{low} {feet} {high}"
            );
        }
    }

    #[test]
    fn a_tap_too_high_does_not_pour() {
        let line = Draught {
            tube: Tube::find("vinyl-3/16").unwrap(),
            rise: Length::from_cm(900.0),
            pressure: GaugePressure::from_bar(0.8),
        };
        let error = line.length_for(ml_per_s(40.0)).unwrap_err().to_string();
        assert!(error.contains("lower the tap"), "{error}");
        assert!(Tube::find("vinyl").is_err());
    }

    proptest! {
        #[test]
        fn length_and_pour_are_each_other_s_inverse(
            flow in 15.0..120.0f64, bar in 0.5..2.0f64, rise_cm in -100.0..250.0f64, n in 0usize..4,
        ) {
            let line = Draught {
                tube: &Tube::all()[n],
                rise: Length::from_cm(rise_cm),
                pressure: GaugePressure::from_bar(bar),
            };
            let length = line.length_for(ml_per_s(flow)).unwrap().by_friction;
            prop_assume!((10.0..1e4).contains(&length.cm()));
            let back = line.pour_through(length).unwrap().by_friction;
            prop_assert!((back.l_per_min() / ml_per_s(flow).l_per_min() - 1.0).abs() < 1e-6);
        }

        #[test]
        fn a_longer_line_pours_slower(bar in 0.5..2.0f64, metres in 0.5..10.0f64, more in 0.1..10.0f64) {
            let line = Draught {
                tube: Tube::find("vinyl-3/16").unwrap(),
                rise: Length::from_cm(30.0),
                pressure: GaugePressure::from_bar(bar),
            };
            let at = |m: f64| line.pour_through(Length::from_cm(100.0 * m)).unwrap();
            prop_assert!(at(metres + more).by_friction <= at(metres).by_friction);
            prop_assert!(at(metres + more).by_trade.value < at(metres).by_trade.value);
        }
    }
}
