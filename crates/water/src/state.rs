//! What passes between this stage and the others.

use quantity::{
    Alkalinity, Ammonium, Arsenic, Calcium, Chloride, Chlorine, Copper, Duration, Fluoride,
    Fraction, Iron, Lead, Magnesium, Manganese, MassConcentration, Measured, Nitrate, Nitrite, Ph,
    Potassium, Sodium, Sulfate, SulfurDioxide, Volume, Zinc,
};

/// The dissolved ions that brewing minds, alkalinity apart.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ions {
    /// Calcium.
    pub calcium: Calcium,
    /// Magnesium.
    pub magnesium: Magnesium,
    /// Sodium.
    pub sodium: Sodium,
    /// Potassium.
    pub potassium: Potassium,
    /// Ammonium.
    pub ammonium: Ammonium,
    /// Chloride.
    pub chloride: Chloride,
    /// Sulfate.
    pub sulfate: Sulfate,
    /// Nitrate.
    pub nitrate: Nitrate,
}

/// A water as it comes from the tap, the well or the bottle.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceWater {
    /// What the brewer calls it.
    pub name: String,
    /// Its ions.
    pub ions: Ions,
    /// Its alkalinity.
    pub alkalinity: Alkalinity,
    /// Its pH, if known; it tells little about brewing.
    pub ph: Option<Ph>,
    /// Free and combined chlorine together.
    pub total_chlorine: Measured<Chlorine>,
    /// Free chlorine alone; where it is not known, all of it is taken to be
    /// combined, the case that is harder to remove.
    pub free_chlorine: Option<Measured<Chlorine>>,
    /// Nitrite, if measured.
    pub nitrite: Option<Nitrite>,
    /// Iron, if measured.
    pub iron: Option<Iron>,
    /// Manganese, if measured.
    pub manganese: Option<Manganese>,
    /// Copper, if measured.
    pub copper: Option<Copper>,
    /// Lead, if measured.
    pub lead: Option<Lead>,
    /// Arsenic, if measured.
    pub arsenic: Option<Arsenic>,
    /// Fluoride, if measured.
    pub fluoride: Option<Fluoride>,
    /// Zinc, if measured.
    pub zinc: Option<Zinc>,
    /// All that is dissolved together, if measured.
    pub dissolved_solids: Option<MassConcentration>,
    /// Whether E. coli was found in 100 mL, if looked for.
    pub e_coli: Option<Germs>,
    /// Where it is drawn.
    pub origin: Origin,
    /// What the authority or the supplier says of it at present.
    pub notice: Option<Notice>,
    /// What it smells of that it should not.
    pub smell: Option<Smell>,
    /// How long ago it was last tested.
    pub test_age: Option<Duration>,
}

impl SourceWater {
    /// A water of which nothing is known but its name: no ions, no chlorine, no
    /// alkalinity. Fill in what is.
    ///
    /// ```
    /// use water::SourceWater;
    /// let tap = SourceWater { alkalinity: "60 mg/L as CaCO3".parse()?, ..SourceWater::named("tap") };
    /// assert_eq!((tap.name.as_str(), tap.iron), ("tap", None));
    /// # Ok::<(), quantity::QuantityError>(())
    /// ```
    #[must_use]
    pub fn named(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            ions: Ions::default(),
            alkalinity: Alkalinity::default(),
            ph: None,
            total_chlorine: Measured::exactly(Chlorine::default()),
            free_chlorine: None,
            nitrite: None,
            iron: None,
            manganese: None,
            copper: None,
            lead: None,
            arsenic: None,
            fluoride: None,
            zinc: None,
            dissolved_solids: None,
            e_coli: None,
            origin: Origin::Unknown,
            notice: None,
            smell: None,
            test_age: None,
        }
    }
}

/// Whether a germ was found in 100 mL.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Germs {
    /// Looked for and not found.
    Absent,
    /// Found.
    Found,
}

/// Where a water is drawn. The order is that of concern, so that the greatest of
/// several is what a blend answers for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Origin {
    /// Distilled, or by reverse osmosis.
    Purified,
    /// Sold in bottles.
    Bottled,
    /// The cold tap of a public supply.
    Mains,
    /// Not said.
    #[default]
    Unknown,
    /// A spring that nobody watches for the brewer.
    Spring,
    /// A well of one's own.
    PrivateWell,
    /// Behind a household softener that swaps hardness for sodium.
    Softened,
    /// The hot tap or a hot-water tank.
    HotTank,
    /// A hose that is not made for drinking water.
    GardenHose,
}

/// A notice in force. The order is that of concern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Notice {
    /// Boil it before drinking.
    Boil,
    /// Do not drink it.
    DoNotDrink,
    /// A chemical got into it.
    ChemicalIncident,
}

/// What a water must not smell of. The order is that of concern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Smell {
    /// Sewage.
    Sewage,
    /// Fuel.
    Fuel,
    /// Solvent.
    Solvent,
}

/// A source and its share of all the water drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceShare {
    /// The water.
    pub water: SourceWater,
    /// Its share.
    pub share: Fraction,
}

/// Chlorine still in the water when it meets malt, in mg/L as Cl₂.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ResidualChlorine {
    /// Free chlorine expected.
    pub free: Chlorine,
    /// Combined chlorine expected.
    pub combined: Chlorine,
    /// The most that total chlorine could still be, given how well the water
    /// was known and how surely the treatment works.
    pub at_most: Chlorine,
}

impl ResidualChlorine {
    /// Total chlorine expected.
    #[must_use]
    pub fn total(&self) -> Chlorine {
        Chlorine::from_mg_per_l(self.free.mg_per_l() + self.combined.mg_per_l())
    }
}

/// Water ready to meet malt: the state that the mash takes over.
#[derive(Debug, Clone, PartialEq)]
pub struct BrewingWater {
    /// How much, at 20 °C.
    pub volume: Volume,
    /// Its ions.
    pub ions: Ions,
    /// Its alkalinity, negative after an excess of acid.
    pub alkalinity: Alkalinity,
    /// Chlorine still in it.
    pub chlorine: ResidualChlorine,
    /// The most sulfite that can be left, as SO₂.
    pub sulfur_dioxide_at_most: SulfurDioxide,
}
