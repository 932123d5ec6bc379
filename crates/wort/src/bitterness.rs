//! Bitterness: how alpha-acids become iso-alpha-acids and what of them reaches
//! the glass.

use std::sync::LazyLock;

use quantity::{Bitterness, Duration, Fraction, Gravity, Mass, Source, Temperature, Volume};

use crate::error::{WortError, check};

/// What became of dissolved alpha-acids, each as a share of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Isomerised {
    /// Still alpha-acids.
    pub alpha: Fraction,
    /// Iso-alpha-acids.
    pub iso: Fraction,
}

/// Dissolved alpha-acids after a time at one temperature.
///
/// α = e^(−k₁t), iso = k₁/(k₂ − k₁)·(e^(−k₁t) − e^(−k₂t)); k₁ = 7.9·10¹¹
/// e^(−11858/T) min⁻¹ to iso-alpha-acids, k₂ = 4.1·10¹² e^(−12994/T) min⁻¹ to what is
/// lost. Source: Malowicki & Shellhammer, *J. Agric. Food Chem.* 53, 4434–4439,
/// 2005 (abstract read), pH 5.2, measured from 90 to 130 °C; below is extrapolated.
///
/// # Errors
/// [`WortError::Impossible`] outside −5 to 150 °C or for a negative time.
pub fn isomerised(temperature: Temperature, time: Duration) -> Result<Isomerised, WortError> {
    let temp_c = check("temperature", temperature.c(), "°C", -5.0, 150.0)?;
    let min = check("time", time.min(), "min", 0.0, 1e5)?;
    let mut hop = Acids {
        alpha: 1.0,
        iso: 0.0,
    };
    hop.step(&Rates::at(temp_c), min);
    Ok(Isomerised {
        alpha: Fraction::from_ratio(hop.alpha),
        iso: Fraction::from_ratio(hop.iso),
    })
}

/// Bitterness by Tinseth's formula, a second opinion for boil additions.
///
/// IBU = (α·m/V)·U; U as [`tinseth_utilisation`]. Source: Tinseth, published table
/// and formula, mid-1990s (read). Good to 20 or 30 %; it gives a hop stand nothing.
///
/// # Errors
/// [`WortError::Impossible`] for a volume that is not positive.
pub fn tinseth(
    alpha: Fraction,
    mass: Mass,
    volume: Volume,
    gravity: Gravity,
    time: Duration,
) -> Result<Bitterness, WortError> {
    let litres = check("volume of the wort", volume.l(), "L", 1e-3, 1e6)?;
    let dosed_mg_per_l = alpha.ratio() * mass.g() * 1000.0 / litres;
    Ok(Bitterness::from_ibu(
        dosed_mg_per_l * tinseth_utilisation(gravity, time).ratio(),
    ))
}

/// Share of the alpha-acids that reaches the beer by Tinseth \[–\]:
/// 1.65·0.000125^(SG−1)·(1 − e^(−0.04 t))/4.15, t in minutes.
#[must_use]
pub fn tinseth_utilisation(gravity: Gravity, time: Duration) -> Fraction {
    let bigness = 1.65 * 0.000_125f64.powf(gravity.sg() - 1.0);
    Fraction::from_ratio(bigness * (1.0 - (-0.04 * time.min().max(0.0)).exp()) / 4.15)
}

/// Alpha-acids that dissolve in boiling wort \[mg/L\]: 250 at pH 5 and 100 °C (Hough et al.
/// 1982, read as quoted). A buffer at pH 5.2 took up about 90 (Malowicki, thesis, 2004,
/// abstract read): with no more than that, no beer could have the 50 mg/L and more of
/// iso-alpha-acids that bitter beers have.
pub(crate) const DISSOLVES_MG_PER_L: f64 = 250.0;

/// Where on its way bitter matter is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LossPlace {
    /// Before the wort is in the fermenter.
    Kettle,
    /// After it.
    Cellar,
}

/// A loss of bitter matter on the way to the glass.
#[derive(Debug, Clone, PartialEq)]
pub struct Loss {
    /// Key of the row.
    pub key: String,
    /// What it is.
    pub what: String,
    /// Where it is lost.
    pub place: LossPlace,
    /// The share lost.
    pub share: Fraction,
    /// Where it comes from.
    pub source: Source,
}

/// The losses, in order.
#[must_use]
pub fn losses() -> &'static [Loss] {
    &LOSSES
}

/// What is left of the iso-alpha-acids in the kettle when the wort is in the
/// fermenter \[–\].
#[must_use]
pub fn kept_to_fermenter() -> Fraction {
    kept(LossPlace::Kettle)
}

/// What is left of the iso-alpha-acids of the wort in the finished beer \[–\].
#[must_use]
pub fn kept_in_cellar() -> Fraction {
    kept(LossPlace::Cellar)
}

fn kept(place: LossPlace) -> Fraction {
    let lost = LOSSES.iter().filter(|l| l.place == place);
    Fraction::from_ratio(lost.fold(1.0, |left, l| left * (1.0 - l.share.ratio())))
}

/// Rate constants at a temperature \[1/min\].
#[derive(Debug, Clone, Copy)]
pub(crate) struct Rates {
    pub(crate) to_iso: f64,
    pub(crate) to_loss: f64,
}

impl Rates {
    pub(crate) fn at(temp_c: f64) -> Self {
        let temp_k = temp_c + quantity::ZERO_CELSIUS_K;
        Self {
            to_iso: 7.9e11 * (-11_858.0 / temp_k).exp(),
            to_loss: 4.1e12 * (-12_994.0 / temp_k).exp(),
        }
    }

    pub(crate) const fn each(self) -> [f64; 2] {
        [self.to_iso, self.to_loss]
    }
}

/// What a time does to dissolved acids, as shares.
struct Passage {
    alpha_kept: f64,
    iso_kept: f64,
    made: f64,
}

impl Passage {
    /// Exact at constant rates. The two rate constants meet only above 400 °C, so their
    /// difference never vanishes here.
    fn over(k: &Rates, min: f64) -> Self {
        let (alpha_kept, iso_kept) = ((-k.to_iso * min).exp(), (-k.to_loss * min).exp());
        Self {
            alpha_kept,
            iso_kept,
            made: k.to_iso / (k.to_loss - k.to_iso) * (alpha_kept - iso_kept),
        }
    }
}

/// Alpha- and iso-alpha-acids, in any unit of mass.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Acids {
    pub(crate) alpha: f64,
    pub(crate) iso: f64,
}

impl Acids {
    /// A time at constant rates.
    pub(crate) fn step(&mut self, k: &Rates, min: f64) {
        self.pass(&Passage::over(k, min));
    }

    fn pass(&mut self, passage: &Passage) {
        self.iso = self.iso * passage.iso_kept + self.alpha * passage.made;
        self.alpha *= passage.alpha_kept;
    }
}

/// A time at constant rates for the acids of all additions, of which `room_mg` of
/// alpha-acids at most are dissolved. What is dissolved is taken to be the same
/// share of each addition; the rest waits and follows as the dissolved isomerises.
/// Gives whether some had to wait.
pub(crate) fn dissolve(acids: &mut [Acids], k: &Rates, min: f64, room_mg: f64) -> bool {
    let total_mg: f64 = acids.iter().map(|a| a.alpha).sum();
    let waits = total_mg > room_mg && min > 0.0;
    let waits_min = if waits {
        wait(acids, k, min, room_mg, total_mg)
    } else {
        0.0
    };
    let passage = Passage::over(k, min - waits_min);
    acids.iter_mut().for_each(|acid| acid.pass(&passage));
    waits
}

/// The time for which some alpha-acids wait \[min\], and what it does: their sum falls by
/// k₁·room in a unit of time.
fn wait(acids: &mut [Acids], k: &Rates, min: f64, room_mg: f64, total_mg: f64) -> f64 {
    let waits_min = ((total_mg - room_mg) / (k.to_iso * room_mg)).min(min);
    let made_mg = k.to_iso * room_mg * waits_min;
    let kept = (-k.to_loss * waits_min).exp();
    // Mean survival of what is made evenly over the time.
    let mean = -(-k.to_loss * waits_min).exp_m1() / (k.to_loss * waits_min);
    for acid in acids {
        let share = acid.alpha / total_mg;
        acid.iso = acid.iso * kept + made_mg * share * mean;
        acid.alpha -= made_mg * share;
    }
    waits_min
}

static LOSSES: LazyLock<Vec<Loss>> = LazyLock::new(|| {
    const FILE: &str = "hop_losses.toml";
    let file: File = quantity::data::builtin(FILE, include_str!("../data/hop_losses.toml"));
    file.loss
        .into_iter()
        .map(|row| Loss {
            share: Fraction::from_ratio(row.percent / 100.0),
            source: Source {
                mark: quantity::data::mark(FILE, &row.key, &row.mark),
                text: row.source,
            },
            key: row.key,
            what: row.what,
            place: row.place.into(),
        })
        .collect()
});

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    loss: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    what: String,
    place: Place,
    percent: f64,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum Place {
    Kettle,
    Cellar,
}

impl From<Place> for LossPlace {
    fn from(place: Place) -> Self {
        match place {
            Place::Kettle => Self::Kettle,
            Place::Cellar => Self::Cellar,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(ours: f64, printed: f64, tolerance: f64) {
        assert!(
            (ours - printed).abs() <= tolerance,
            "{ours} against {printed}"
        );
    }

    fn min(x: f64) -> Duration {
        Duration::from_min(x)
    }

    /// Malowicki & Shellhammer 2005: the Arrhenius fits of the abstract, their
    /// consequences computed with NumPy.
    #[test]
    fn isomerisation_agrees_with_the_computed_table() {
        for (temp_c, k1, k2, half_life, sixty, ninety, most_at) in [
            (70.0, 0.00078, 0.000_147, 893.0, 0.0453, 0.0670, 2644.0),
            (80.0, 0.00207, 0.000_430, 336.0, 0.1150, 0.1663, 960.0),
            (85.0, 0.00330, 0.000_718, 210.0, 0.1757, 0.2485, 591.0),
            (90.0, 0.00521, 0.001_183, 133.0, 0.2585, 0.3534, 368.0),
            (95.0, 0.00811, 0.001_924, 85.4, 0.3623, 0.4708, 233.0),
            (98.0, 0.01052, 0.002_559, 65.9, 0.4305, 0.5370, 178.0),
            (100.0, 0.01249, 0.003_087, 55.5, 0.4759, 0.5745, 149.0),
            (105.0, 0.01901, 0.004_893, 36.5, 0.5737, 0.6236, 96.0),
            (110.0, 0.02863, 0.007_661, 24.2, 0.6172, 0.5814, 63.0),
            (120.0, 0.06290, 0.018_152, 11.0, 0.4408, 0.2695, 28.0),
            (130.0, 0.13291, 0.041_206, 5.2, 0.1218, 0.0355, 13.0),
        ] {
            let rates = Rates::at(temp_c);
            near(rates.to_iso, k1, 6e-6);
            near(rates.to_loss, k2, 6e-7);
            let digit = if half_life > 100.0 { 0.6 } else { 0.06 };
            near(std::f64::consts::LN_2 / rates.to_iso, half_life, digit);
            let most = (rates.to_loss / rates.to_iso).ln() / (rates.to_loss - rates.to_iso);
            near(most, most_at, 0.6);
            for (time, printed) in [(60.0, sixty), (90.0, ninety)] {
                let out = isomerised(Temperature::from_c(temp_c), min(time)).unwrap();
                near(out.iso.ratio(), printed, 6e-5);
            }
        }
        for (time, printed) in [
            (5.0, 0.0601),
            (10.0, 0.1156),
            (15.0, 0.1668),
            (20.0, 0.2141),
            (30.0, 0.2976),
            (45.0, 0.3988),
            (60.0, 0.4759),
            (75.0, 0.5332),
            (90.0, 0.5745),
            (120.0, 0.6203),
        ] {
            let out = isomerised(Temperature::from_c(100.0), min(time)).unwrap();
            near(out.iso.ratio(), printed, 6e-5);
        }
    }

    /// Twenty minutes of a stand against twenty at 100 °C, computed with NumPy.
    #[test]
    fn a_stand_gives_less_than_the_boil() {
        let iso =
            |temp_c| isomerised(Temperature::from_c(temp_c), min(20.0)).map(|i| i.iso.ratio());
        let boil = iso(100.0).unwrap();
        for (temp_c, share) in [(95.0, 0.686), (90.0, 0.456), (85.0, 0.296), (80.0, 0.188)] {
            near(iso(temp_c).unwrap() / boil, share, 6e-4);
        }
    }

    /// Kappler et al., *J. Inst. Brew.* 116, 332, 2010 (abstract read): more than
    /// 20 % of dosed iso-alpha-acids are lost in a 90 min boil.
    #[test]
    fn iso_alpha_acids_are_lost_as_kappler_found() {
        let mut dosed = Acids {
            alpha: 0.0,
            iso: 1.0,
        };
        dosed.step(&Rates::at(100.0), 90.0);
        near(1.0 - dosed.iso, 0.243, 6e-4);
        assert!(1.0 - dosed.iso > 0.20);
    }

    /// Tinseth's published table, three decimals.
    #[test]
    fn utilisation_agrees_with_tinseths_table() {
        let sg = [
            1.030, 1.040, 1.050, 1.060, 1.070, 1.080, 1.090, 1.100, 1.120,
        ];
        for (time, row) in [
            (
                5.0,
                [
                    0.055, 0.050, 0.046, 0.042, 0.038, 0.035, 0.032, 0.029, 0.025,
                ],
            ),
            (
                10.0,
                [
                    0.100, 0.091, 0.084, 0.076, 0.070, 0.064, 0.058, 0.053, 0.045,
                ],
            ),
            (
                15.0,
                [
                    0.137, 0.125, 0.114, 0.105, 0.096, 0.087, 0.080, 0.073, 0.061,
                ],
            ),
            (
                20.0,
                [
                    0.167, 0.153, 0.140, 0.128, 0.117, 0.107, 0.098, 0.089, 0.074,
                ],
            ),
            (
                30.0,
                [
                    0.212, 0.194, 0.177, 0.162, 0.148, 0.135, 0.124, 0.113, 0.094,
                ],
            ),
            (
                45.0,
                [
                    0.253, 0.232, 0.212, 0.194, 0.177, 0.162, 0.148, 0.135, 0.113,
                ],
            ),
            (
                60.0,
                [
                    0.276, 0.252, 0.231, 0.211, 0.193, 0.176, 0.161, 0.147, 0.123,
                ],
            ),
            (
                90.0,
                [
                    0.295, 0.270, 0.247, 0.226, 0.206, 0.188, 0.172, 0.157, 0.132,
                ],
            ),
            (
                120.0,
                [
                    0.301, 0.275, 0.252, 0.230, 0.210, 0.192, 0.176, 0.161, 0.134,
                ],
            ),
        ] {
            for (sg, printed) in sg.into_iter().zip(row) {
                near(
                    tinseth_utilisation(Gravity::from_sg(sg), min(time)).ratio(),
                    printed,
                    5.1e-4,
                );
            }
        }
    }

    /// Worked from the formula.
    #[test]
    fn tinseth_examples() {
        for (g, alpha, time, sg, litres, ibu) in [
            (28.0, 0.064, 60.0, 1.050, 20.0, 20.67),
            (30.0, 0.12, 60.0, 1.060, 23.0, 33.00),
            (20.0, 0.055, 15.0, 1.048, 19.0, 6.75),
        ] {
            let ours = tinseth(
                Fraction::from_ratio(alpha),
                Mass::from_g(g),
                Volume::from_l(litres),
                Gravity::from_sg(sg),
                min(time),
            );
            near(ours.unwrap().ibu(), ibu, 6e-3);
        }
    }

    /// The trub factor is set so that an hour at the boil agrees with Tinseth's
    /// 0.231 at 1.050: 0.476·(1 − 0.337)·0.73.
    #[test]
    fn an_hour_at_the_boil_reconciles_with_tinseth() {
        let iso = isomerised(Temperature::from_c(100.0), min(60.0))
            .unwrap()
            .iso
            .ratio();
        let beer = iso * kept_to_fermenter().ratio() * kept_in_cellar().ratio();
        near(
            beer,
            tinseth_utilisation(Gravity::from_sg(1.050), min(60.0)).ratio(),
            1e-3,
        );
        near(kept_in_cellar().ratio(), 1.0 - 0.337, 5e-6);
        assert_eq!(losses().len(), 5);
    }

    fn dosed(alpha: &[f64]) -> Vec<Acids> {
        alpha
            .iter()
            .map(|&alpha| Acids { alpha, iso: 0.0 })
            .collect()
    }

    /// An hour at 100 °C with 90 mg/L of room: dα/dt = −k₁·min(α, 90), integrated
    /// with SciPy 1.17 by tests/reference/solubility.py.
    #[test]
    fn what_does_not_dissolve_follows_later() {
        for (start, alpha, iso) in [
            (80.0, 37.81, 38.07),
            (120.0, 59.37, 54.99),
            (200.0, 132.55, 61.57),
        ] {
            let mut acids = dosed(&[start * 0.25, start * 0.75]);
            dissolve(&mut acids, &Rates::at(100.0), 60.0, 90.0);
            near(acids[0].alpha + acids[1].alpha, alpha, 6e-3);
            near(acids[0].iso + acids[1].iso, iso, 6e-3);
            near(acids[1].iso, 3.0 * acids[0].iso, 1e-9);
        }
    }

    proptest::proptest! {
        /// More hops never give less, what waits isomerises no sooner, and acids only
        /// become fewer; the steps do not matter. Iso-alpha-acids are not compared with
        /// those of a kettle that has room for all: what is made late is lost less, so
        /// that after some two hours the full kettle may hold more of them.
        #[test]
        fn a_full_kettle_is_fair(
            a in 0.1..300.0f64, b in 0.0..300.0f64, temp_c in 70.0..105.0f64, time in 0.1..120.0f64,
        ) {
            let k = Rates::at(temp_c);
            let mut acids = dosed(&[a, b]);
            dissolve(&mut acids, &k, time, 90.0);
            let mut alone = dosed(&[a]);
            dissolve(&mut alone, &k, time, 90.0);
            let mut free = dosed(&[a]);
            dissolve(&mut free, &k, time, f64::MAX);
            let iso = acids[0].iso + acids[1].iso;
            proptest::prop_assert!(iso >= alone[0].iso - 1e-9);
            proptest::prop_assert!(acids[0].alpha >= free[0].alpha - 1e-9);
            proptest::prop_assert!(acids.iter().all(|x| x.alpha >= 0.0 && x.iso >= 0.0));
            proptest::prop_assert!(acids[0].alpha + acids[0].iso <= a + 1e-9);
            let mut halves = dosed(&[a, b]);
            dissolve(&mut halves, &k, time / 3.0, 90.0);
            dissolve(&mut halves, &k, time * 2.0 / 3.0, 90.0);
            proptest::prop_assert!((halves[0].iso - acids[0].iso).abs() < 1e-9 * (a + b));
        }
    }
}
