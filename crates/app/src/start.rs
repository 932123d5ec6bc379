//! A batch from three answers: which water, what beer, how much.

use quantity::Volume;

use crate::batches::OpenBatch;
use crate::{App, AppError};

/// The water that comes from the tap, as far as the brewer knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tap {
    /// Hard, with chloramine.
    Hard,
    /// Soft.
    Soft,
    /// Not known: middling figures with a wide spread.
    Unknown,
}

/// What to brew, to start from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beer {
    /// Pale, dry, hopped, clean.
    PaleAle,
    /// Pale and dry with clove.
    CloveAle,
    /// Wheat, clove and banana.
    Wheat,
    /// Amber, clean, cold.
    AmberLager,
    /// Dark and dry.
    DryStout,
}

/// The answers.
#[derive(Debug, Clone, PartialEq)]
pub struct Beginning {
    /// What the batch is called.
    pub name: String,
    /// Which water.
    pub tap: Tap,
    /// What beer.
    pub beer: Beer,
    /// How much into the fermenter.
    pub volume: Volume,
}

impl Tap {
    /// Every answer, with its key and its words.
    pub const ALL: [(Self, &'static str, &'static str); 3] = [
        (Self::Hard, "hard", "hard tap water with chloramine"),
        (Self::Soft, "soft", "soft tap water with a little chlorine"),
        (Self::Unknown, "unknown", "I do not know yet"),
    ];

    fn section(self) -> &'static str {
        match self {
            Self::Hard => {
                "name = \"tap, hard (typical figures: replace them by your supplier's)\"\ncalcium = \"95 ± 15 mg/L\"\nmagnesium = \"10 ± 3 mg/L\"\nsodium = \"20 ± 8 mg/L\"\nalkalinity = \"220 ± 30 mg/L as CaCO3\"\nsulfate = \"50 ± 20 mg/L\"\nchloride = \"35 ± 15 mg/L\"\ntotal_chlorine = \"1.5 ± 0.5 mg/L\"\n"
            }
            Self::Soft => {
                "name = \"tap, soft (typical figures: replace them by your supplier's)\"\ncalcium = \"15 ± 5 mg/L\"\nmagnesium = \"3 ± 1 mg/L\"\nsodium = \"8 ± 3 mg/L\"\nalkalinity = \"35 ± 10 mg/L as CaCO3\"\nsulfate = \"12 ± 5 mg/L\"\nchloride = \"12 ± 5 mg/L\"\ntotal_chlorine = \"0.4 ± 0.2 mg/L\"\nfree_chlorine = \"0.3 ± 0.2 mg/L\"\n"
            }
            Self::Unknown => {
                "name = \"tap, not known (guesses: ask your supplier)\"\ncalcium = \"50 ± 30 mg/L\"\nmagnesium = \"7 ± 5 mg/L\"\nsodium = \"15 ± 10 mg/L\"\nalkalinity = \"120 ± 70 mg/L as CaCO3\"\nsulfate = \"30 ± 20 mg/L\"\nchloride = \"25 ± 15 mg/L\"\ntotal_chlorine = \"1 ± 0.6 mg/L\"\n"
            }
        }
    }
}

impl Tap {
    /// Lactic acid 80 % into the mash \[mL for a litre of beer\], to bring pale malt
    /// near pH 5.5 (reckoned with the mash model for these typical figures).
    fn acid_ml_per_l(self) -> f64 {
        match self {
            Self::Hard => 0.30,
            Self::Soft => 0.0,
            Self::Unknown => 0.14,
        }
    }

    /// Calcium chloride dihydrate into the mash \[g for a litre of beer\]: soft
    /// water has too little calcium for a mash (common practice: 50 mg/L and more).
    fn calcium_chloride_g_per_l(self) -> f64 {
        match self {
            Self::Hard => 0.0,
            Self::Soft => 0.15,
            Self::Unknown => 0.1,
        }
    }
}

/// What a beer is begun from, for a litre in the fermenter.
struct Recipe {
    /// Class of malt and grams a litre.
    grist: &'static [(&'static str, f64)],
    /// Hop, alpha, grams a litre, minutes.
    hops: &'static [(&'static str, &'static str, f64, u32)],
    mash_c: f64,
    yeast: &'static str,
    /// Grams of dry yeast a litre.
    yeast_g_per_l: f64,
    /// Days and temperatures.
    course: &'static [(f64, f64)],
    volumes_of_co2: f64,
    aim: &'static str,
    /// Acid against that of an all-pale mash: dark malt brings its own.
    acid_share: f64,
    /// Lactic acid 80 % that the grist itself asks for \[mL for a litre of beer\].
    acid_ml_per_l: f64,
}

impl Beer {
    /// Every answer, with its key and its words.
    pub const ALL: [(Self, &'static str, &'static str); 5] = [
        (Self::PaleAle, "pale-ale", "a pale, hopped, clean ale"),
        (Self::CloveAle, "clove-ale", "a pale, dry ale with clove"),
        (Self::Wheat, "wheat", "a wheat beer, clove and banana"),
        (Self::AmberLager, "amber-lager", "an amber lager"),
        (Self::DryStout, "dry-stout", "a dry, dark stout"),
    ];

    fn recipe(self) -> Recipe {
        match self {
            Self::PaleAle => Recipe {
                grist: &[
                    ("pale ale malt", 190.0),
                    ("crystal malt 50 to 80 EBC", 12.0),
                ],
                hops: &[("Magnum", "13 %", 0.8, 60), ("Cascade", "6 %", 2.0, 10)],
                mash_c: 66.0,
                yeast: "neutral ale",
                yeast_g_per_l: 0.7,
                course: &[(0.0, 18.0), (3.0, 19.0), (6.0, 20.0), (12.0, 20.0)],
                volumes_of_co2: 2.3,
                aim: "bitterness = \"32 ± 5 IBU\"\nflavour = \"clean, hops in front\"\n",
                acid_share: 1.0,
                acid_ml_per_l: 0.0,
            },
            Self::CloveAle => Recipe {
                grist: &[("pilsner malt", 180.0), ("sucrose", 12.0)],
                hops: &[("Perle", "8 %", 1.2, 60), ("Saaz", "3.5 %", 1.2, 10)],
                mash_c: 64.0,
                yeast: "phenolic ale",
                yeast_g_per_l: 0.9,
                course: &[(0.0, 19.0), (2.0, 20.0), (5.0, 22.0), (14.0, 22.0)],
                volumes_of_co2: 2.7,
                aim: "clove = \"0.8 ± 0.6 mg/L\"\nflavour = \"dry, soft clove, nothing medicinal\"\n",
                acid_share: 1.0,
                acid_ml_per_l: 0.0,
            },
            Self::Wheat => Recipe {
                grist: &[("wheat malt", 105.0), ("pilsner malt", 90.0)],
                hops: &[("Perle", "7.5 %", 0.6, 60)],
                mash_c: 66.0,
                yeast: "wheat",
                yeast_g_per_l: 0.6,
                course: &[(0.0, 18.0), (2.0, 19.0), (5.0, 21.0), (12.0, 21.0)],
                volumes_of_co2: 2.7,
                aim: "clove = \"1.5 ± 0.8 mg/L\"\nbanana = \"3 ± 1.5 mg/L\"\nflavour = \"clove and banana in balance\"\n",
                acid_share: 1.0,
                acid_ml_per_l: 0.12,
            },
            Self::AmberLager => Recipe {
                grist: &[
                    ("Vienna malt", 140.0),
                    ("Munich malt, light", 60.0),
                    ("crystal malt 100 to 160 EBC", 8.0),
                ],
                hops: &[("Perle", "7.5 %", 1.2, 60)],
                mash_c: 65.0,
                yeast: "lager",
                yeast_g_per_l: 1.3,
                course: &[
                    (0.0, 10.0),
                    (8.0, 11.0),
                    (11.0, 16.0),
                    (16.0, 16.0),
                    (20.0, 3.0),
                    (42.0, 2.0),
                ],
                volumes_of_co2: 2.5,
                aim: "bitterness = \"25 ± 4 IBU\"\nflavour = \"toasted malt, clean, no butter\"\n",
                acid_share: 0.8,
                acid_ml_per_l: 0.0,
            },
            Self::DryStout => Recipe {
                grist: &[
                    ("pale ale malt", 140.0),
                    ("flaked barley", 30.0),
                    ("roast barley", 16.0),
                ],
                hops: &[("East Kent Golding", "5.5 %", 2.4, 60)],
                mash_c: 66.0,
                yeast: "English ale",
                yeast_g_per_l: 0.7,
                course: &[(0.0, 18.0), (3.0, 19.0), (10.0, 20.0)],
                volumes_of_co2: 2.1,
                aim: "bitterness = \"38 ± 5 IBU\"\nflavour = \"roast, dry, bitter\"\n",
                acid_share: 0.6,
                acid_ml_per_l: 0.0,
            },
        }
    }
}

impl Beginning {
    /// The document to start from.
    #[must_use]
    pub fn document(&self) -> String {
        let recipe = self.beer.recipe();
        let litres = self.volume.l();
        let mut text = format!(
            "[batch]\nname = {}\nvolume = \"{litres:.1} L\"\n\n[[water.source]]\n{}\n[water.treatment]\nway = \"reagent\"\nreagent = \"potassium metabisulfite\"\nexcess = \"50 %\"\n\n",
            quoted(&self.name),
            self.tap.section()
        );
        let salt_g = self.tap.calcium_chloride_g_per_l() * litres;
        if salt_g > 0.0 {
            text += &format!(
                "[[water.salt]]\nsalt = \"calcium chloride dihydrate\"\namount = \"{salt_g:.1} g\"\ninto = \"mash\"\n\n"
            );
        }
        let acid_ml =
            (self.tap.acid_ml_per_l() * recipe.acid_share + recipe.acid_ml_per_l) * litres;
        if acid_ml > 0.0 {
            text += &format!(
                "[[water.acid]]\nacid = \"lactic acid 80 %\"\nvolume = \"{acid_ml:.1} mL\"\ninto = \"mash\"\n\n"
            );
        }
        for (class, grams) in recipe.grist {
            text += &format!(
                "[[grist]]\nclass = \"{class}\"\namount = \"{:.2} kg\"\n\n",
                grams * litres / 1000.0
            );
        }
        text += &format!(
            "[mash]\n\n[[mash.rest]]\ntemperature = \"{} °C\"\ntime = \"60 min\"\n\n[boil]\nchilled_to = \"{} °C\"\n\n",
            recipe.mash_c,
            recipe.course.first().map_or(18.0, |p| p.1)
        );
        for (hop, alpha, grams, minutes) in recipe.hops {
            text += &format!(
                "[[hop]]\nhop = \"{hop}\"\nalpha = \"{alpha}\"\namount = \"{:.0} g\"\nused = \"boil\"\ntime = \"{minutes} min\"\n\n",
                grams * litres
            );
        }
        text += &format!(
            "[yeast]\nclass = \"{}\"\nform = \"dry\"\npackets = 1\npacket_mass = \"{:.1} g\"\n\n[fermentation]\n\n",
            recipe.yeast,
            recipe.yeast_g_per_l * litres
        );
        for (days, temperature) in recipe.course {
            text += &format!(
                "[[fermentation.course]]\nat = \"{days} d\"\ntemperature = \"{temperature} °C\"\n\n"
            );
        }
        text + &format!(
            "[package]\nvessel = \"bottles\"\n# New bottles made for beer; write \"unknown\" for any others.\nbottle = \"standard-crown\"\ncarbon_dioxide = \"{} vol\"\n\n[aim]\n{}",
            recipe.volumes_of_co2, recipe.aim
        )
    }
}

/// A TOML string.
fn quoted(text: &str) -> String {
    let clean: String = text.chars().filter(|c| !c.is_control()).take(200).collect();
    format!("\"{}\"", clean.replace('\\', "\\\\").replace('"', "\\\""))
}

impl App {
    /// Begins a batch from three answers.
    ///
    /// # Errors
    /// [`AppError::Faulty`] if the volume makes no batch, [`AppError::Store`].
    pub async fn begin(&self, beginning: &Beginning) -> Result<OpenBatch, AppError> {
        let text = beginning.document();
        if let Err(faults) = batch::Document::read(&text) {
            return Err(AppError::Faulty { faults, text });
        }
        self.keep_batch(&text, "begun").await
    }

    /// Opens a demo document as a batch of one's own.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_demo(&self, demo: &crate::Demo) -> Result<OpenBatch, AppError> {
        self.keep_batch(demo.text, "from the demo").await
    }
}
