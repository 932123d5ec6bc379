//! The batch document: one brewing, from plan to glass, as a person writes it.
//!
//! Reading and the published schema are the same code: each key is asked for
//! once, with its meaning, and is required, optional, or assumed from
//! `data/defaults.toml`.

use ferment::{PitchAim, StarterStep};
use inquiry::{Finding, TestResult};
use package::cleaning::{Agent, Rinse, Strength};
use quantity::{
    AlcoholByVolume, Alkalinity, Altitude, Ammonium, Arsenic, Bitterness, Buffering, Calcium,
    CarbonDioxide, Cells, CellsPerMass, Chloride, Chlorine, Colour, Copper, Correlation, Count,
    DiastaticPower, Dilution, Duration, EvaporationRate, FlowRate, Fluoride, Fraction,
    GaugePressure, Gravity, HotWaterExtract, Iron, Lead, Magnesium, Manganese, Mass,
    MassConcentration, MassFraction, Measured, Nitrate, Nitrite, Ph, PitchRate, Potassium, Power,
    Quantity, RelativeSpeed, Sodium, StorageIndex, Sulfate, Temperature, TitratableAcidity, Volume,
    VolumePerMass, Zinc,
};
use toml::de::DeTable;
use water::dechlorination::CarbonClaim;
use water::disinfectant::{Practice, Region, Smell as TapSmell};
use water::mash_ph::Tun;
use water::{Germs, Notice, Origin, Smell};

use crate::brew_day::{BrewDaySection, brew_day};
use crate::certainty::doubt::Doubts;
use crate::inquiry::{InquirySection, keys};
use crate::learning::{self, LearningSection};
use crate::pitch::YeastCount;
use crate::reader::{
    Assumption, Fault, FieldDoc, Memory, Reader, describe_document, read_document, read_table,
};
use crate::words;
use wort::HopForm;
use wort::hops::Storage;
use wort::malts::Kind::{Malt, MaltExtract};
use wort::{Part, Stepping};

/// The largest document that is read, in bytes. A batch document is a few
/// kilobytes; anything of this size was opened by mistake.
pub const MAX_BYTES: usize = 1 << 20;

/// A batch document that was read whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// What is brewed and how much.
    pub batch: BatchSection,
    /// The constants of the kit.
    pub kit: KitSection,
    /// The waters and what is done to them.
    pub water: WaterSection,
    /// Malts, adjuncts and sugars.
    pub grist: Vec<GristEntry>,
    /// How it is mashed.
    pub mash: MashSection,
    /// How it is boiled and cooled.
    pub boil: BoilSection,
    /// Hops and when they go in.
    pub hops: Vec<HopEntry>,
    /// What was read and done on brew day.
    pub brew_day: BrewDaySection,
    /// Yeast and how it is pitched.
    pub yeast: YeastSection,
    /// The planned course.
    pub fermentation: FermentationSection,
    /// How it is packaged.
    pub package: PackageSection,
    /// How the vessels were cleaned, in the order of the work.
    pub cleaning: Vec<CleaningEntry>,
    /// What the glass should hold.
    pub aim: Option<AimSection>,
    /// What was found in it.
    pub findings: Vec<Finding>,
    /// Tests that were made of it.
    pub tests: Vec<TestResult>,
    /// What else bears on a fault, and what was done about it.
    pub inquiry: InquirySection,
    /// Whether other batches learn from it, and what it has from them.
    pub learning: LearningSection,
    /// Spreads that move together.
    pub together: Vec<TogetherEntry>,
}

/// Figures whose spreads move together: read by one instrument, or of one report.
#[derive(Debug, Clone, PartialEq)]
pub struct TogetherEntry {
    /// Their paths, with commas between.
    pub figures: String,
    /// The correlation of each two of them.
    pub correlation: Measured<Correlation>,
}

/// What is brewed and how much.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchSection {
    /// What the batch is called.
    pub name: String,
    /// Wort into the fermenter, at 20 °C.
    pub volume: Measured<Volume>,
    /// The day, as written.
    pub brewed: Option<String>,
    /// Anything.
    pub notes: Option<String>,
}

/// The constants of one kit.
#[derive(Debug, Clone, PartialEq)]
pub struct KitSection {
    /// Height of the place above the sea.
    pub altitude: Measured<Altitude>,
    /// Share of the malt's coarse-grind extract that the mash dissolves.
    pub conversion: Measured<Fraction>,
    /// Wort that the spent grain keeps.
    pub absorption: Measured<VolumePerMass>,
    /// Wort left under the false bottom and in hoses.
    pub tun_dead_space: Measured<Volume>,
    /// Heat capacity of the tun as an equal mass of water.
    pub tun_heat_capacity: Measured<Mass>,
    /// Time in which the full tun, left alone, comes a factor e nearer to the room.
    pub tun_time_constant: Measured<Duration>,
    /// Temperature of the tun before mashing in; absent: as the grain.
    pub tun_temperature: Option<Measured<Temperature>>,
    /// Heat that goes into a mash that is heated.
    pub mash_power: Option<Measured<Power>>,
    /// Steam that the kettle gives off.
    pub evaporation: Measured<EvaporationRate>,
    /// Whether that is a default, before which the power goes where it is known.
    pub evaporation_assumed: bool,
    /// Share of the steam that leaves; absent: all, as from an open kettle.
    pub steam_escapes: Option<Measured<Fraction>>,
    /// Heat that goes into the kettle, if known.
    pub power: Option<Measured<Power>>,
    /// Heat that its walls lose at the boil.
    pub heat_loss: Option<Measured<Power>>,
    /// Wort and break left in the kettle.
    pub kettle_loss: Measured<Volume>,
    /// Wort left in chiller and hoses.
    pub transfer_loss: Measured<Volume>,
    /// Wort that spent hops keep.
    pub hop_absorption: Measured<VolumePerMass>,
    /// Time in which the chiller brings the wort a factor e closer to its end.
    pub chiller_time_constant: Measured<Duration>,
    /// The same for the covered kettle left alone.
    pub kettle_time_constant: Measured<Duration>,
    /// Temperature of the water that cools the chiller.
    pub coolant: Measured<Temperature>,
    /// Temperature of the room.
    pub room: Measured<Temperature>,
    /// Mixed stages that the grain bed is worth in a continuous sparge.
    pub lauter_stages: u32,
    /// What the mash tun holds, if known.
    pub tun_capacity: Option<Measured<Volume>>,
    /// What the kettle holds, if known.
    pub kettle_capacity: Option<Measured<Volume>>,
}

/// The waters and what is done to them.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterSection {
    /// The sources and their shares.
    pub sources: Vec<SourceEntry>,
    /// What is done about chlorine and chloramine.
    pub treatment: TreatmentSection,
    /// Salts given by hand.
    pub salts: Vec<SaltEntry>,
    /// Acids given by hand.
    pub acids: Vec<AcidEntry>,
}

/// One source of water.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceEntry {
    /// What it is called.
    pub name: String,
    /// Its share of the water drawn; absent where it is the only one.
    pub share: Option<Measured<Fraction>>,
    /// Calcium.
    pub calcium: Measured<Calcium>,
    /// Magnesium.
    pub magnesium: Measured<Magnesium>,
    /// Sodium.
    pub sodium: Measured<Sodium>,
    /// Potassium.
    pub potassium: Measured<Potassium>,
    /// Alkalinity.
    pub alkalinity: Measured<Alkalinity>,
    /// Chloride.
    pub chloride: Measured<Chloride>,
    /// Sulfate.
    pub sulfate: Measured<Sulfate>,
    /// Nitrate.
    pub nitrate: Measured<Nitrate>,
    /// Nitrite.
    pub nitrite: Option<Measured<Nitrite>>,
    /// Iron.
    pub iron: Option<Measured<Iron>>,
    /// Manganese.
    pub manganese: Option<Measured<Manganese>>,
    /// Copper.
    pub copper: Option<Measured<Copper>>,
    /// Lead.
    pub lead: Option<Measured<Lead>>,
    /// Arsenic.
    pub arsenic: Option<Measured<Arsenic>>,
    /// Fluoride.
    pub fluoride: Option<Measured<Fluoride>>,
    /// Zinc.
    pub zinc: Option<Measured<Zinc>>,
    /// All that is dissolved together.
    pub dissolved_solids: Option<Measured<MassConcentration>>,
    /// Whether E. coli was found.
    pub e_coli: Option<Germs>,
    /// Where it is drawn.
    pub kind: Option<Origin>,
    /// A notice in force.
    pub notice: Option<Notice>,
    /// What it smells of that it should not.
    pub smell: Option<Smell>,
    /// How long ago it was last tested.
    pub test_age: Option<Measured<Duration>>,
    /// pH.
    pub ph: Option<Measured<Ph>>,
    /// How warm it is when it is drawn.
    pub temperature: Measured<Temperature>,
    /// Free and combined chlorine together; absent where nobody measured it: it is then
    /// judged.
    pub total_chlorine: Option<Measured<Chlorine>>,
    /// Free chlorine alone; absent where nobody measured it: it is then judged.
    pub free_chlorine: Option<Measured<Chlorine>>,
    /// Ammonium.
    pub ammonium: Option<Measured<Ammonium>>,
    /// What the supplier keeps in the mains, where that is known.
    pub disinfectant: Option<Practice>,
    /// What the supplier says of it, in its words.
    pub supplier_says: Option<String>,
    /// What the tap smells of, of chlorine.
    pub chlorine_smell: Option<TapSmell>,
    /// Which part of the world it comes from.
    pub region: Option<Region>,
}

/// How chlorine and chloramine are taken out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Nothing is done.
    None,
    /// A reagent is dosed.
    Reagent,
    /// The water stands open.
    Stand,
    /// The liquor is boiled before use.
    Boil,
    /// Air is blown through it.
    Aerate,
    /// It runs through activated carbon.
    Carbon,
}

/// What is done about chlorine and chloramine.
#[derive(Debug, Clone, PartialEq)]
pub struct TreatmentSection {
    /// How.
    pub way: Way,
    /// With which reagent.
    pub reagent: Option<String>,
    /// How pure it is.
    pub purity: Measured<Fraction>,
    /// How much more than the matched dose.
    pub excess: Measured<Fraction>,
    /// The dose, where it is not to be matched.
    pub dose: Option<Measured<Mass>>,
    /// Tablets, where it is dosed by number.
    pub tablets: Option<f64>,
    /// Active reagent in a tablet.
    pub tablet_mass: Option<Measured<Mass>>,
    /// How long it stands, boils or is aerated.
    pub time: Option<Measured<Duration>>,
    /// The carbon, where it runs through some.
    pub carbon: CarbonKeys,
}

/// A filter of activated carbon and how it is run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CarbonKeys {
    /// The space that the carbon takes up.
    pub volume: Option<Measured<Volume>>,
    /// How fast the water runs through it.
    pub flow: Option<Measured<FlowRate>>,
    /// The litres that its maker claims.
    pub capacity: Option<Measured<Volume>>,
    /// The flow at which.
    pub rated_flow: Option<Measured<FlowRate>>,
    /// Against what.
    pub claim: Option<CarbonClaim>,
    /// Water that ran through it before.
    pub used: Option<Measured<Volume>>,
}

/// Which liquor an addition goes into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Into {
    /// The mash.
    Mash,
    /// The sparge.
    Sparge,
}

/// A salt given by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct SaltEntry {
    /// Which.
    pub salt: String,
    /// How much.
    pub amount: Measured<Mass>,
    /// Where.
    pub into: Into,
}

/// An acid given by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct AcidEntry {
    /// Which, with its strength.
    pub acid: String,
    /// How much by volume.
    pub volume: Option<Measured<Volume>>,
    /// How much by mass.
    pub mass: Option<Measured<Mass>>,
    /// Where.
    pub into: Into,
}

/// A malt, an adjunct or a sugar.
#[derive(Debug, Clone, PartialEq)]
pub struct GristEntry {
    /// What it says on the sack.
    pub name: Option<String>,
    /// Its generic class.
    pub class: String,
    /// How much.
    pub amount: Measured<Mass>,
    /// Its own analysis.
    pub sheet: MaltSheet,
    /// How long ago it was malted.
    pub malted: Option<Measured<Duration>>,
    /// How long ago it was crushed.
    pub crushed: Option<Measured<Duration>>,
}

/// What a malt's own analysis says of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaltSheet {
    /// Extract of fine grind on dry matter.
    pub extract: Option<Measured<Fraction>>,
    /// Extract of coarse grind on dry matter.
    pub coarse_extract: Option<Measured<Fraction>>,
    /// Hot water extract of the malt as it is.
    pub hot_water_extract: Option<Measured<HotWaterExtract>>,
    /// Difference of coarse grind.
    pub coarse_fine: Option<Measured<Fraction>>,
    /// Moisture.
    pub moisture: Option<Measured<Fraction>>,
    /// Colour.
    pub colour: Option<Measured<Colour>>,
    /// Diastatic power.
    pub diastatic_power: Option<Measured<DiastaticPower>>,
    /// Free amino nitrogen of its laboratory wort, on dry matter.
    pub amino_nitrogen: Option<Measured<MassFraction>>,
    /// Protein, on dry matter.
    pub protein: Option<Measured<Fraction>>,
    /// Kolbach index: soluble of total protein.
    pub kolbach: Option<Measured<Fraction>>,
    /// pH of a mash with distilled water.
    pub distilled_ph: Option<Measured<Ph>>,
    /// Buffering of that mash.
    pub buffering: Option<Measured<Buffering>>,
    /// Acid of acidulated malt.
    pub acidity: Option<Measured<TitratableAcidity>>,
    /// Precursor of dimethyl sulfide, as it.
    pub smm: Option<Measured<MassFraction>>,
}

/// How the tun is run off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpargeKind {
    /// All the liquor is in the mash.
    None,
    /// Drained, refilled, stirred, drained.
    Batch,
    /// Liquor on top while wort leaves below.
    Continuous,
}

/// How it is mashed.
#[derive(Debug, Clone, PartialEq)]
pub struct MashSection {
    /// Liquor for a kilogram of grain.
    pub thickness: Measured<VolumePerMass>,
    /// Temperature of the grain.
    pub grain_temperature: Measured<Temperature>,
    /// How it gets from one rest to the next.
    pub stepping: Stepping,
    /// What becomes of its carbon dioxide.
    pub carbon_dioxide: Tun,
    /// Temperature of the sparge liquor.
    pub sparge_temperature: Measured<Temperature>,
    /// The rests.
    pub rests: Vec<RestEntry>,
    /// The pH read in it.
    pub readings: Vec<ReadingEntry>,
    /// Temperatures read in it.
    pub measured: Vec<MeasuredEntry>,
    /// How the tun is run off.
    pub sparge: SpargeKind,
    /// Run-offs of the sparge liquor, for a batch sparge.
    pub sparge_steps: u32,
}

/// A rest of the mash.
#[derive(Debug, Clone, PartialEq)]
pub struct RestEntry {
    /// At which temperature.
    pub temperature: Measured<Temperature>,
    /// For how long.
    pub time: Measured<Duration>,
    /// How it is reached, if otherwise than the mash goes.
    pub by: Option<Stepping>,
    /// How long a decoction that leads to it boils.
    pub boiled: Option<Measured<Duration>>,
}

/// A temperature that was read in the mash.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredEntry {
    /// How long after mashing in.
    pub after: Measured<Duration>,
    /// What was read; absent while it was not read yet.
    pub temperature: Option<Measured<Temperature>>,
}

/// A pH that was read in the mash, or is to be.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingEntry {
    /// What the meter showed; absent while it was not read yet.
    pub ph: Option<Measured<Ph>>,
    /// Temperature of the sample while it was read.
    pub temperature: Measured<Temperature>,
    /// How long after mashing in.
    pub after: Measured<Duration>,
    /// The temperature that a meter without compensation takes every sample to have.
    pub set_to: Option<Measured<Temperature>>,
    /// What went in since the reading before, or since mashing in.
    pub added: Vec<AddedEntry>,
}

/// Something given to the mash.
#[derive(Debug, Clone, PartialEq)]
pub struct AddedEntry {
    /// An acid, a salt, or acidulated malt.
    pub what: String,
    /// How much by volume.
    pub volume: Option<Measured<Volume>>,
    /// How much by mass.
    pub mass: Option<Measured<Mass>>,
}

/// How it is boiled and cooled.
#[derive(Debug, Clone, PartialEq)]
pub struct BoilSection {
    /// How long.
    pub time: Measured<Duration>,
    /// How long the covered kettle stands before it is chilled.
    pub whirlpool: Measured<Duration>,
    /// How cold the chiller makes it.
    pub chilled_to: Measured<Temperature>,
}

/// When hops go in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HopUse {
    /// Into the mash.
    Mash,
    /// Into the kettle while it fills.
    FirstWort,
    /// Into the boil.
    Boil,
    /// After the boil, while the covered kettle stands.
    Whirlpool,
    /// Into wort that is held at a temperature below the boil.
    Stand,
    /// Into the fermenter.
    Dry,
}

/// A hop addition.
#[derive(Debug, Clone, PartialEq)]
pub struct HopEntry {
    /// The cultivar.
    pub hop: String,
    /// How much.
    pub amount: Measured<Mass>,
    /// Its alpha-acids and how it was kept.
    pub sheet: HopSheet,
    /// When.
    pub used: HopUse,
    /// Minutes of boil, of whirlpool rest or of stand.
    pub time: Option<Measured<Duration>>,
    /// Temperature of a stand.
    pub temperature: Option<Measured<Temperature>>,
}

/// What a packet of hops says of itself, and how it was kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HopSheet {
    /// Alpha-acids, from the packet; absent: the middle of the cultivar's range.
    pub alpha: Option<Measured<Fraction>>,
    /// Time since the alpha-acids were measured; absent: they are those of brew day.
    pub age: Option<Measured<Duration>>,
    /// Temperature at which it was kept meanwhile.
    pub stored_at: Option<Measured<Temperature>>,
    /// How it was packed meanwhile.
    pub packing: Option<Storage>,
    /// What it keeps of its alpha-acids over six months at 20 °C; absent: the cultivar's.
    pub kept: Option<Measured<Fraction>>,
    /// Hop storage index on brew day.
    pub storage_index: Option<Measured<StorageIndex>>,
    /// Hop storage index when the alpha-acids were measured.
    pub storage_index_then: Option<Measured<StorageIndex>>,
    /// Cones or pellets.
    pub form: Option<HopForm>,
}

/// How the yeast comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum YeastForm {
    /// Dried, by mass.
    Dry,
    /// Liquid culture, by number of cells.
    Liquid,
    /// Harvested slurry, by volume.
    Slurry,
}

/// Yeast and how it is pitched.
#[derive(Debug, Clone, PartialEq)]
pub struct YeastSection {
    /// What it says on the packet.
    pub name: Option<String>,
    /// Its generic class.
    pub class: String,
    /// How it comes.
    pub form: YeastForm,
    /// Number of packets.
    pub packets: f64,
    /// Mass in a packet of dry yeast.
    pub packet_mass: Option<Measured<Mass>>,
    /// Living cells in a gram of dry yeast when packed.
    pub cells_per_gram: Measured<CellsPerMass>,
    /// Living cells in a liquid packet when packed.
    pub cells: Option<Measured<Cells>>,
    /// Volume of slurry.
    pub slurry: Option<Measured<Volume>>,
    /// Age of the yeast.
    pub age: Measured<Duration>,
    /// Temperature at which it was stored.
    pub stored_at: Measured<Temperature>,
    /// What of it was counted under a microscope.
    pub count: Option<YeastCount>,
    /// Volume of a still starter of one step.
    pub starter: Option<Measured<Volume>>,
    /// The steps of a starter, in order.
    pub steps: Vec<StarterStep>,
    /// Whether a starter goes in with its liquid.
    pub whole: bool,
    /// What the pitch is to do for the beer.
    pub aim: Option<PitchAim>,
    /// Pitching rate aimed at; absent: as usual for the class.
    pub pitch_rate: Option<Measured<PitchRate>>,
    /// Apparent attenuation, from its own sheet or experience.
    pub attenuation: Option<Measured<Fraction>>,
    /// How fast it is, relative to its class.
    pub speed: Option<Measured<RelativeSpeed>>,
}

/// How oxygen gets into the wort.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aeration {
    /// Not at all.
    None,
    /// Splashing and shaking.
    Shaking,
    /// Air through a stone, to saturation.
    Air,
    /// Oxygen through a stone.
    Oxygen,
}

/// The planned course.
#[derive(Debug, Clone, PartialEq)]
pub struct FermentationSection {
    /// How oxygen gets in.
    pub aeration: Aeration,
    /// For how long, with a stone.
    pub aeration_time: Measured<Duration>,
    /// When the yeast was pitched, in milliseconds since 1970.
    pub pitched: Option<i64>,
    /// Where a forced fermentation of a sample ended.
    pub forced_gravity: Option<Measured<Gravity>>,
    /// How long that sample was kept warm.
    pub forced_time: Option<Measured<Duration>>,
    /// The pressure that the fermenter is rated for.
    pub rating: Option<Measured<GaugePressure>>,
    /// The pressure at which its valve lets gas out; absent: it is closed, or open to the air.
    pub relief: Option<Measured<GaugePressure>>,
    /// Room above the beer in it.
    pub head_space: Option<Measured<Volume>>,
    /// The temperature plan.
    pub course: Vec<CoursePoint>,
}

/// A point of the temperature plan.
#[derive(Debug, Clone, PartialEq)]
pub struct CoursePoint {
    /// Time after pitching.
    pub at: Measured<Duration>,
    /// Temperature of the beer then; straight in between.
    pub temperature: Measured<Temperature>,
}

/// What it is packaged in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Vessel {
    /// Bottles, primed.
    Bottles,
    /// A keg under gas.
    Keg,
}

/// How beer gets its gas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gas {
    /// Sugar ferments in the closed package.
    Priming,
    /// From a cylinder.
    Cylinder,
}

/// How it is packaged.
#[derive(Debug, Clone, PartialEq)]
pub struct PackageSection {
    /// In what.
    pub vessel: Vessel,
    /// How it gets its gas.
    pub gas: Gas,
    /// The class of bottle.
    pub bottle: String,
    /// What a bottle holds.
    pub bottle_volume: Measured<Volume>,
    /// Air left in a bottle.
    pub head_space: Measured<Volume>,
    /// CO₂ aimed at.
    pub carbon_dioxide: Measured<CarbonDioxide>,
    /// The sugar for priming.
    pub sugar: String,
    /// Beer left behind with the yeast.
    pub loss: Measured<Volume>,
    /// The warmest place where bottles will ever stand.
    pub warmest_storage: Measured<Temperature>,
    /// Temperature at which bottles condition.
    pub conditioning: Measured<Temperature>,
    /// The pressure stamped on the keg, if known.
    pub stamped: Option<Measured<GaugePressure>>,
    /// Temperature at which a keg is served.
    pub serving_temperature: Measured<Temperature>,
    /// Gravity read before packaging.
    pub gravity: Option<Measured<Gravity>>,
    /// Where a forced fermentation of a sample ended.
    pub forced_gravity: Option<Measured<Gravity>>,
    /// How long that sample was kept warm.
    pub forced_time: Option<Measured<Duration>>,
}

/// What was cleaned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cleaned {
    /// The mash tun.
    MashTun,
    /// The kettle.
    Kettle,
    /// The chiller and the hoses behind it.
    Chiller,
    /// The fermenter.
    Fermenter,
    /// The bottles.
    Bottles,
    /// The keg.
    Keg,
    /// The line to the tap.
    Line,
}

impl Cleaned {
    /// All of them, with their words.
    pub const WORDS: [(&'static str, Self); 7] = [
        ("mash tun", Self::MashTun),
        ("kettle", Self::Kettle),
        ("chiller", Self::Chiller),
        ("fermenter", Self::Fermenter),
        ("bottles", Self::Bottles),
        ("keg", Self::Keg),
        ("line", Self::Line),
    ];

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        let found = Self::WORDS.iter().find(|(_, one)| *one == self);
        found.map_or("", |(word, _)| word)
    }
}

/// What a vessel is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Material {
    /// Stainless steel.
    Stainless,
    /// Aluminium, or with zinc.
    Aluminium,
    /// Copper.
    Copper,
    /// Glass.
    Glass,
    /// Plastic.
    Plastic,
}

/// One use of a cleaner or a sanitiser.
#[derive(Debug, Clone, PartialEq)]
pub struct CleaningEntry {
    /// What was cleaned.
    pub vessel: Cleaned,
    /// What it is made of, if said.
    pub material: Option<Material>,
    /// With what.
    pub agent: String,
    /// How strong, of what works in it.
    pub concentration: Option<Measured<MassConcentration>>,
    /// How strong, of what is dosed as it is sold.
    pub dilution: Option<Measured<Dilution>>,
    /// For how long.
    pub contact: Option<Measured<Duration>>,
    /// How warm.
    pub temperature: Option<Measured<Temperature>>,
    /// How it was rinsed.
    pub rinse: Rinse,
    /// Water of the rinse.
    pub rinse_volume: Measured<Volume>,
    /// Solution that stays on the walls after draining.
    pub left: Measured<Volume>,
}

/// What the glass should hold.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AimSection {
    /// Original gravity.
    pub original_gravity: Option<Measured<Gravity>>,
    /// Final gravity.
    pub final_gravity: Option<Measured<Gravity>>,
    /// Alcohol.
    pub alcohol: Option<Measured<AlcoholByVolume>>,
    /// Colour.
    pub colour: Option<Measured<Colour>>,
    /// Bitterness.
    pub bitterness: Option<Measured<Bitterness>>,
    /// CO₂.
    pub carbon_dioxide: Option<Measured<CarbonDioxide>>,
    /// pH of the mash, cooled sample.
    pub mash_ph: Option<Measured<Ph>>,
    /// Calcium of the mash liquor.
    pub calcium: Option<Measured<Calcium>>,
    /// Magnesium of the mash liquor.
    pub magnesium: Option<Measured<Magnesium>>,
    /// Sodium of the mash liquor.
    pub sodium: Option<Measured<Sodium>>,
    /// Chloride of the mash liquor.
    pub chloride: Option<Measured<Chloride>>,
    /// Sulfate of the mash liquor.
    pub sulfate: Option<Measured<Sulfate>>,
    /// Milligrams of sulfate to one of chloride in the mash liquor.
    pub sulfate_to_chloride: Option<Measured<Count>>,
    /// Alkalinity of the mash liquor.
    pub alkalinity: Option<Measured<Alkalinity>>,
    /// Residual alkalinity of the mash liquor.
    pub residual_alkalinity: Option<Measured<Alkalinity>>,
    /// The most alkalinity that the sparge liquor may have.
    pub sparge_alkalinity: Option<Measured<Alkalinity>>,
    /// Clove, as 4-vinylguaiacol.
    pub clove: Option<Measured<MassConcentration>>,
    /// Banana, as isoamyl acetate.
    pub banana: Option<Measured<MassConcentration>>,
    /// Esters, as ethyl acetate.
    pub esters: Option<Measured<MassConcentration>>,
    /// Fusel alcohols, as isoamyl alcohol.
    pub fusel: Option<Measured<MassConcentration>>,
    /// pH of the beer as it is packed.
    pub beer_ph: Option<Measured<Ph>>,
    /// In words.
    pub flavour: Option<String>,
}

impl Document {
    /// Reads a document; the second part lists the gaps that defaults filled.
    ///
    /// # Errors
    /// Every fault found, in the order of the text.
    pub fn read(text: &str) -> Result<(Self, Vec<Assumption>), Vec<Fault>> {
        refuse_oversize(text, "a batch document")?;
        let (mut read, mut assumptions) = read_document(text, document)?;
        read.tell_taken(text, &mut assumptions);
        Ok((read, assumptions))
    }

    /// Reads a document whose text was parsed before, meeting the doubts of its figures.
    pub(crate) fn read_doubting(
        table: &DeTable<'_>,
        doubts: &mut Doubts,
        memory: &mut Memory,
    ) -> Result<(Self, Vec<Assumption>), Vec<Fault>> {
        read_table("", table, doubts, memory, document)
    }

    /// The keys of a document.
    #[must_use]
    pub fn fields() -> Vec<FieldDoc> {
        describe_document(document)
    }

    /// Where a forced fermentation of a sample ended, and how long it was kept warm:
    /// said with the fermentation, or with the package before which it is made.
    #[must_use]
    pub fn forced(&self) -> (Option<Measured<Gravity>>, Option<Measured<Duration>>) {
        let (fermentation, package) = (&self.fermentation, &self.package);
        if fermentation.forced_gravity.is_some() {
            (fermentation.forced_gravity, fermentation.forced_time)
        } else {
            (package.forced_gravity, package.forced_time)
        }
    }
}

/// # Errors
/// One fault, for a text that was opened by mistake.
pub(crate) fn refuse_oversize(text: &str, what: &str) -> Result<(), Vec<Fault>> {
    if text.len() <= MAX_BYTES {
        return Ok(());
    }
    Err(vec![Fault {
        span: 0..0,
        path: String::new(),
        message: format!("{} bytes are too many for {what}", text.len()),
        help: format!("up to {MAX_BYTES} bytes are read"),
    }])
}

fn document(r: &mut Reader<'_>) -> Document {
    let document = Document {
        batch: r.section("batch", "what is brewed and how much", batch),
        kit: r.assumed_section("kit", "the constants of the brewing kit", kit),
        water: r.section("water", "the waters and what is done to them", water),
        grist: grist_list(r),
        mash: r.section("mash", "how it is mashed", mash),
        boil: r.assumed_section("boil", "how it is boiled and cooled", boil),
        hops: r.sections("hop", "hops and when they go in", hop),
        brew_day: r.assumed_section("brew_day", "what was read and done on brew day", brew_day),
        yeast: r.section("yeast", "yeast and how it is pitched", yeast),
        fermentation: r.section("fermentation", "the planned course", fermentation),
        package: r.section("package", "how it is packaged", package),
        cleaning: r.sections(
            "cleaning",
            "a use of a cleaner or a sanitiser, in the order of the work",
            cleaning,
        ),
        aim: r.optional_section("aim", "what the glass should hold", aim),
        findings: r.sections(
            "finding",
            "something smelled, tasted, seen or measured in it",
            keys::finding,
        ),
        tests: r.sections("test", "a test that was made to find out why", keys::test),
        inquiry: r.assumed_section(
            "inquiry",
            "what else bears on a fault, and what was done about it",
            keys::section,
        ),
        learning: r.assumed_section(
            "learning",
            "whether other batches learn from it, and what it has from them",
            learning::section,
        ),
        together: r.sections("together", "figures whose spreads move together", together),
    };
    keys::refuse_twice(r, &document.findings, &document.tests);
    if document.fermentation.forced_gravity.is_some() && document.package.forced_gravity.is_some() {
        r.fault(
            Some("package"),
            "forced_gravity is said twice",
            "say it once, in [fermentation] or in [package]",
        );
    }
    document
}

fn together(r: &mut Reader<'_>) -> TogetherEntry {
    TogetherEntry {
        figures: r
            .text("figures", "their paths with commas between, such as water.source[1].calcium, water.source[1].alkalinity")
            .required(),
        correlation: r
            .quantity("correlation", "of each two of them: 1 move as one, 0 not at all, -1 against each other")
            .required(),
    }
}

fn batch(r: &mut Reader<'_>) -> BatchSection {
    BatchSection {
        name: r.name("what the batch is called").required(),
        volume: positive(r, "volume", "wort into the fermenter, measured at 20 °C"),
        brewed: r
            .text("brewed", "the brew day, such as 2027-03-14")
            .optional(),
        notes: r.text("notes", "anything worth keeping").optional(),
    }
}

/// The keys of `[kit]`.
pub(crate) fn kit(r: &mut Reader<'_>) -> KitSection {
    KitSection {
        altitude: r.quantity("altitude", "height above the sea: it sets the boiling point and the gauge pressures").assumed(),
        conversion: r.quantity("conversion", "share of the malt's coarse-grind extract that the mash dissolves").assumed(),
        absorption: r.quantity("absorption", "wort that the spent grain keeps").assumed(),
        tun_dead_space: r.quantity("tun_dead_space", "wort left under the false bottom and in hoses").assumed(),
        tun_heat_capacity: r.quantity("tun_heat_capacity", "heat capacity of the tun as an equal mass of water").assumed(),
        tun_time_constant: r.quantity("tun_time_constant", "time in which the full mash tun, left alone, comes a factor e (2.7) nearer to the room: 46 h lose 1 K in an hour at 66 °C, 23 h lose 2").assumed(),
        tun_temperature: r.quantity("tun_temperature", "temperature of the tun before mashing in; left out: as the grain").optional(),
        mash_power: r.quantity("mash_power", "heat that goes into a mash that is heated; left out: as much as warms it by 1 °C a minute").optional(),
        evaporation: r.quantity("evaporation", "steam that the kettle gives off at a full boil").assumed(),
        evaporation_assumed: !r.has("evaporation"),
        steam_escapes: r.quantity("steam_escapes", "share of that steam that leaves; left out: all, as from an open kettle; some 20 % under a lid").optional(),
        power: r.quantity("power", "heat that goes into the kettle; with it the time to the boil is reckoned, and the evaporation if that is not given").optional(),
        heat_loss: r.quantity("heat_loss", "heat that the walls of the kettle lose at the boil").optional(),
        kettle_loss: r.quantity("kettle_loss", "wort and break left in the kettle").assumed(),
        transfer_loss: r.quantity("transfer_loss", "wort left in chiller and hoses").assumed(),
        hop_absorption: r.quantity("hop_absorption", "wort that spent hops keep").assumed(),
        chiller_time_constant: r.quantity("chiller_time_constant", "time in which the chiller brings the wort a factor e (2.7) closer to its end temperature").assumed(),
        kettle_time_constant: r.quantity("kettle_time_constant", "the same for the covered kettle left alone").assumed(),
        coolant: r.quantity("coolant", "temperature of the water that cools the chiller").assumed(),
        room: r.quantity("room", "temperature of the room").assumed(),
        lauter_stages: whole(r, "lauter_stages", "mixed stages that the grain bed is worth in a continuous sparge, 1 to 10; more is evener", 10).unwrap_or(3),
        tun_capacity: r.quantity("tun_capacity", "what the mash tun holds to the brim").optional(),
        kettle_capacity: r.quantity("kettle_capacity", "what the kettle holds to the brim").optional(),
    }
}

fn water(r: &mut Reader<'_>) -> WaterSection {
    let sources = r.sections("source", "a water that is drawn", source);
    if sources.is_empty() {
        r.fault(
            None,
            "no source of water is given",
            "write [[water.source]] and its analysis below",
        );
    }
    if sources.len() > 1 && sources.iter().any(|s| s.share.is_none()) {
        r.fault(
            Some("source"),
            "several sources, but not every one has a share",
            "give each [[water.source]] its share, such as share = \"60 %\"",
        );
    }
    WaterSection {
        sources,
        treatment: r.assumed_section(
            "treatment",
            "what is done about chlorine and chloramine",
            treatment,
        ),
        salts: r.sections("salt", "a salt given by hand", salt),
        acids: r.sections("acid", "an acid given by hand", acid),
    }
}

fn source(r: &mut Reader<'_>) -> SourceEntry {
    let name = r.name("what the water is called").required();
    let share = r
        .quantity("share", "its share of the water drawn")
        .optional();
    analysis(r, name, share)
}

/// The words for where a water is drawn.
const ORIGINS: [(&str, Origin); 10] = [
    ("mains", Origin::Mains),
    ("private well", Origin::PrivateWell),
    ("spring", Origin::Spring),
    ("bottled", Origin::Bottled),
    ("distilled", Origin::Purified),
    ("reverse osmosis", Origin::Purified),
    ("softened", Origin::Softened),
    ("hot tank", Origin::HotTank),
    ("garden hose", Origin::GardenHose),
    ("unknown", Origin::Unknown),
];

/// The figures of an analysis, for a water of this name and share.
pub(crate) fn analysis(
    r: &mut Reader<'_>,
    name: String,
    share: Option<Measured<Fraction>>,
) -> SourceEntry {
    SourceEntry {
        name,
        share,
        calcium: r.quantity("calcium", "calcium in it").required(),
        magnesium: r.quantity("magnesium", "magnesium in it").required(),
        sodium: r.quantity("sodium", "sodium in it").assumed(),
        potassium: r.quantity("potassium", "potassium in it").assumed(),
        alkalinity: r
            .quantity("alkalinity", "its alkalinity, with the basis")
            .required(),
        chloride: r.quantity("chloride", "chloride in it").required(),
        sulfate: r.quantity("sulfate", "sulfate in it").required(),
        nitrate: r.quantity("nitrate", "nitrate in it").assumed(),
        nitrite: r.quantity("nitrite", "nitrite in it").optional(),
        iron: r.quantity("iron", "iron in it").optional(),
        manganese: r.quantity("manganese", "manganese in it").optional(),
        copper: r.quantity("copper", "copper in it").optional(),
        lead: r.quantity("lead", "lead in it").optional(),
        arsenic: r.quantity("arsenic", "arsenic in it").optional(),
        fluoride: r.quantity("fluoride", "fluoride in it").optional(),
        zinc: r.quantity("zinc", "zinc in it").optional(),
        dissolved_solids: r
            .quantity("dissolved_solids", "all that is dissolved in it together")
            .optional(),
        e_coli: r
            .choice(
                "e_coli",
                "whether E. coli was found in 100 mL",
                &[("absent", Germs::Absent), ("found", Germs::Found)],
            )
            .optional(),
        kind: r
            .choice(
                "kind",
                "where it is drawn; a private well or spring needs e_coli and test_age",
                &ORIGINS,
            )
            .optional(),
        notice: r
            .choice(
                "notice",
                "a notice in force: with one the water must not be used",
                &[
                    ("boil", Notice::Boil),
                    ("do not drink", Notice::DoNotDrink),
                    ("chemical incident", Notice::ChemicalIncident),
                ],
            )
            .optional(),
        smell: r
            .choice(
                "smell",
                "what it smells of that no drinking water should",
                &[
                    ("sewage", Smell::Sewage),
                    ("fuel", Smell::Fuel),
                    ("solvent", Smell::Solvent),
                ],
            )
            .optional(),
        test_age: r
            .quantity("test_age", "how long ago it was last tested")
            .optional(),
        ph: r.quantity("ph", "its pH").optional(),
        temperature: r
            .quantity(
                "temperature",
                "how warm it is when it is drawn and its pH is read",
            )
            .assumed(),
        total_chlorine: r
            .quantity(
                "total_chlorine",
                "free and combined chlorine together, as Cl2; left out, it is judged by what the supply keeps",
            )
            .optional(),
        free_chlorine: r
            .quantity(
                "free_chlorine",
                "free chlorine alone; left out, it is judged by what the supply keeps",
            )
            .optional(),
        ammonium: r.quantity("ammonium", "ammonium in it").optional(),
        disinfectant: r
            .choice(
                "disinfectant",
                "what the supplier keeps in the mains, where you know it",
                &[
                    ("chloramine", Practice::Chloramine),
                    ("free chlorine", Practice::FreeChlorine),
                ],
            )
            .optional(),
        supplier_says: r
            .text(
                "supplier_says",
                "what the supplier or its report says of the disinfectant, in its words",
            )
            .optional(),
        chlorine_smell: r
            .choice(
                "chlorine_smell",
                "what a glass of it smells of, of chlorine",
                &[
                    ("swimming pool", TapSmell::SwimmingPool),
                    ("bleach", TapSmell::Bleach),
                    ("nothing", TapSmell::Nothing),
                ],
            )
            .optional(),
        region: r
            .choice(
                "region",
                "where in the world it is drawn: supplies differ in what they keep",
                &[
                    ("Europe", Region::Europe),
                    ("United States", Region::UnitedStates),
                    ("elsewhere", Region::Elsewhere),
                ],
            )
            .optional(),
    }
}

fn treatment(r: &mut Reader<'_>) -> TreatmentSection {
    let way = r
        .choice(
            "way",
            "how chlorine and chloramine are taken out",
            &[
                ("none", Way::None),
                ("reagent", Way::Reagent),
                ("stand", Way::Stand),
                ("boil", Way::Boil),
                ("aerate", Way::Aerate),
                ("carbon", Way::Carbon),
            ],
        )
        .assumed(Way::None);
    let section = TreatmentSection {
        way,
        reagent: r
            .word("reagent", "the reagent", words::reagents, words::reagent)
            .optional(),
        purity: r.quantity("purity", "how pure the reagent is").assumed(),
        excess: r
            .quantity("excess", "how much more than the matched dose")
            .assumed(),
        dose: r
            .quantity(
                "dose",
                "reagent for all the water; left out, it is matched to the total chlorine",
            )
            .optional(),
        tablets: count(
            r,
            "tablets",
            "number of tablets for all the water, such as \"1.5\"",
        ),
        tablet_mass: r
            .quantity("tablet_mass", "active reagent in one tablet")
            .optional(),
        time: r
            .quantity("time", "how long the water stands, boils or is aerated")
            .optional(),
        carbon: carbon(r),
    };
    check_treatment(r, &section);
    section
}

fn carbon(r: &mut Reader<'_>) -> CarbonKeys {
    CarbonKeys {
        volume: r
            .quantity(
                "carbon_volume",
                "the space that the carbon takes up, not the housing",
            )
            .optional(),
        flow: r
            .quantity("carbon_flow", "how fast the water runs through the carbon")
            .optional(),
        capacity: r
            .quantity("carbon_capacity", "the litres that the maker claims")
            .optional(),
        rated_flow: r
            .quantity("carbon_rated_flow", "the flow that the claim is made at")
            .optional(),
        claim: r
            .choice(
                "carbon_claim",
                "what the claim is made against",
                &[
                    ("free chlorine", CarbonClaim::FreeChlorine),
                    ("chloramine", CarbonClaim::Chloramine),
                ],
            )
            .optional(),
        used: r
            .quantity(
                "carbon_used",
                "chlorinated water that ran through it before",
            )
            .optional(),
    }
}

fn check_carbon(r: &mut Reader<'_>, t: &TreatmentSection) {
    for (key, example) in [("carbon_volume", "0.62 L"), ("carbon_flow", "0.5 L/min")] {
        if t.way == Way::Carbon && !r.has(key) {
            let help = format!("add {key} = \"{example}\"");
            r.fault(Some("way"), format!("{key} is not said"), help);
        }
    }
    let of_claim = ["carbon_capacity", "carbon_rated_flow", "carbon_claim"];
    let said = of_claim.into_iter().find(|key| r.has(key));
    let unsaid = of_claim.into_iter().find(|key| !r.has(key));
    if let (Some(said), Some(unsaid)) = (said, unsaid) {
        r.fault(
            Some(said),
            format!("a claim of the maker needs {unsaid} as well"),
            "give carbon_capacity, carbon_rated_flow and carbon_claim together, or none of them",
        );
    }
}

fn check_treatment(r: &mut Reader<'_>, t: &TreatmentSection) {
    match t.way {
        Way::Reagent if t.reagent.is_none() && !r.has("reagent") => {
            let help = format!("reagent = one of {}", words::reagents().join(", "));
            r.fault(Some("way"), "which reagent is not said", help);
        }
        Way::Stand | Way::Boil | Way::Aerate if t.time.is_none() && !r.has("time") => {
            r.fault(
                Some("way"),
                "for how long is not said",
                "add time = \"30 min\"",
            );
        }
        _ => {}
    }
    check_carbon(r, t);
    if t.tablets.is_some() && t.tablet_mass.is_none() && !r.has("tablet_mass") {
        r.fault(
            Some("tablets"),
            "the mass of a tablet is not said",
            "add tablet_mass = \"0.44 g\" from the label: active reagent without binder",
        );
    }
    if t.tablets.is_some() && t.dose.is_some() {
        r.fault(
            Some("dose"),
            "both a dose and tablets are given",
            "keep one of them",
        );
    }
}

const LIQUORS: [(&str, Into); 2] = [("mash", Into::Mash), ("sparge", Into::Sparge)];

fn salt(r: &mut Reader<'_>) -> SaltEntry {
    SaltEntry {
        salt: r
            .word("salt", "which salt", words::salts, words::salt)
            .required()
            .unwrap_or_default(),
        amount: r.quantity("amount", "how much").required(),
        into: r
            .choice("into", "into which liquor", &LIQUORS)
            .required(Into::Mash),
    }
}

fn acid(r: &mut Reader<'_>) -> AcidEntry {
    let entry = AcidEntry {
        acid: r
            .word(
                "acid",
                "which acid, with its strength",
                words::acids,
                words::acid,
            )
            .required()
            .unwrap_or_default(),
        volume: r.quantity("volume", "how much, by volume").optional(),
        mass: r.quantity("mass", "how much, by mass").optional(),
        into: r
            .choice("into", "into which liquor", &LIQUORS)
            .required(Into::Mash),
    };
    refuse_unsaid_acid(r);
    entry
}

/// A fault where the amount of an acid is not given, or given twice.
pub(crate) fn refuse_unsaid_acid(r: &Reader<'_>) {
    if r.has("volume") == r.has("mass") {
        r.fault(
            Some("acid"),
            "how much acid is not said once",
            "give either volume = \"4 mL\" or mass = \"5 g\"",
        );
    }
}

fn grist_list(r: &mut Reader<'_>) -> Vec<GristEntry> {
    let list = r.sections("grist", "a malt, an adjunct or a sugar", grist);
    if list.is_empty() && !r.has("grist") {
        r.fault(
            None,
            "no malt is given",
            "write [[grist]] with class and amount below",
        );
    }
    list
}

fn grist(r: &mut Reader<'_>) -> GristEntry {
    let name = r.name("what it says on the sack").optional();
    let class = malt_class(r);
    let amount = positive(r, "amount", "how much");
    let sheet = malt_sheet(r, &class);
    GristEntry {
        name,
        class,
        amount,
        sheet,
        malted: r
            .quantity("malted", "how long ago it was malted, such as \"9 months\"")
            .optional(),
        crushed: r
            .quantity("crushed", "how long ago it was crushed")
            .optional(),
    }
}

/// The generic class of a malt, an adjunct or a sugar.
pub(crate) fn malt_class(r: &mut Reader<'_>) -> String {
    r.word("class", "its generic class", words::malts, words::malt)
        .required()
        .unwrap_or_default()
}

/// Figures of an analysis that nothing is reckoned from, and what says as much.
const WITHOUT_A_RULE: [(&str, &str); 9] = [
    ("friability", JUDGES_MODIFICATION),
    ("glassy_corns", JUDGES_MODIFICATION),
    ("hartong", JUDGES_MODIFICATION),
    ("modification", JUDGES_MODIFICATION),
    ("soluble_nitrogen", GIVES_KOLBACH),
    ("soluble_protein", GIVES_KOLBACH),
    (
        "total_nitrogen",
        "give protein, which is 6.25 times as much",
    ),
    ("beta_glucan", RUNS_OFF),
    ("viscosity", RUNS_OFF),
];
const JUDGES_MODIFICATION: &str =
    "modification is judged by kolbach and coarse_fine: give those, and keep this in notes";
const GIVES_KOLBACH: &str = "give kolbach, the soluble part of the total, and protein";
const RUNS_OFF: &str = "how a bed runs off is not foretold from it: keep it in notes";

/// A fault for each figure of an analysis that nothing would come of.
fn refuse_without_effect(r: &mut Reader<'_>, class: &str) {
    for (key, help) in WITHOUT_A_RULE {
        if r.refuses(key) {
            r.fault(
                Some(key),
                format!("nothing here is reckoned from {key}"),
                help,
            );
        }
    }
    let Ok(kind) = wort::malts::find(class).map(|class| class.kind) else {
        return;
    };
    for key in ["protein", "kolbach", "amino_nitrogen"] {
        let counts = kind == Malt || kind == MaltExtract && key == "amino_nitrogen";
        if r.has(key) && !counts {
            r.fault(
                Some(key),
                format!("{key} has no effect in {class}"),
                "amino nitrogen is counted from malt and malt extract alone, and only malt is judged by its protein; leave it out",
            );
        }
    }
}

/// The figures of a malt's own analysis.
pub(crate) fn malt_sheet(r: &mut Reader<'_>, class: &str) -> MaltSheet {
    refuse_without_effect(r, class);
    let said = ["extract", "coarse_extract", "hot_water_extract"].map(|key| r.has(key));
    if said.iter().filter(|said| **said).count() > 1 {
        r.fault(
            Some("extract"),
            "the extract is given in more than one way",
            "give one of extract, coarse_extract and hot_water_extract",
        );
    }
    MaltSheet {
        extract: r
            .quantity(
                "extract",
                "extract of fine grind on dry matter, from its analysis",
            )
            .optional(),
        coarse_extract: r
            .quantity(
                "coarse_extract",
                "extract of coarse grind on dry matter, in place of that of fine grind",
            )
            .optional(),
        hot_water_extract: r
            .quantity(
                "hot_water_extract",
                "hot water extract of the malt as it is, in place of the extract",
            )
            .optional(),
        coarse_fine: r
            .quantity(
                "coarse_fine",
                "how much less coarse grind gives, from its analysis",
            )
            .optional(),
        moisture: r
            .quantity("moisture", "moisture, from its analysis")
            .optional(),
        colour: r.quantity("colour", "colour, from its analysis").optional(),
        diastatic_power: r
            .quantity("diastatic_power", "diastatic power, from its analysis")
            .optional(),
        amino_nitrogen: r
            .quantity(
                "amino_nitrogen",
                "free amino nitrogen of its laboratory wort, on dry matter; 150 mg/100 g are 1500 mg/kg",
            )
            .optional(),
        protein: r
            .quantity(
                "protein",
                "protein on dry matter: with more of it the malt brings more amino nitrogen",
            )
            .optional(),
        kolbach: r
            .quantity(
                "kolbach",
                "Kolbach index, soluble of total protein: judges modification, and how much amino nitrogen the malt brings",
            )
            .optional(),
        distilled_ph: r
            .quantity(
                "distilled_ph",
                "pH of a mash with distilled water, cooled sample; without its spread, that of a \
                 hand meter is taken",
            )
            .optional(),
        buffering: r
            .quantity("buffering", "base that a kilogram takes to rise by one pH")
            .optional(),
        acidity: r
            .quantity("acidity", "acid in acidulated malt, titrated to mash pH")
            .optional(),
        smm: r
            .quantity("smm", "precursor of dimethyl sulfide, counted as that")
            .optional(),
    }
}

const STEPPINGS: [(&str, Stepping); 5] = [
    ("infusion", Stepping::Infusion),
    ("heat", Stepping::Heat),
    ("decoction", Stepping::Decoction(Part::Whole)),
    ("thick decoction", Stepping::Decoction(Part::Thick)),
    ("thin decoction", Stepping::Decoction(Part::Thin)),
];

fn mash(r: &mut Reader<'_>) -> MashSection {
    let section = MashSection {
        thickness: r
            .quantity("thickness", "liquor for a kilogram of grain")
            .assumed(),
        grain_temperature: r
            .quantity("grain_temperature", "temperature of the grain")
            .assumed(),
        stepping: r
            .choice(
                "stepping",
                "how it gets from one rest to the next",
                &STEPPINGS,
            )
            .assumed(Stepping::Infusion),
        carbon_dioxide: r
            .choice(
                "carbon_dioxide",
                "whether the carbon dioxide of the liquor's bicarbonate leaves the mash",
                &[("leaves", Tun::Open), ("stays", Tun::Closed)],
            )
            .assumed(Tun::Open),
        sparge_temperature: r
            .quantity("sparge_temperature", "temperature of the sparge liquor")
            .assumed(),
        rests: r.sections("rest", "a rest of the mash", |r| RestEntry {
            temperature: r
                .quantity("temperature", "temperature of the rest")
                .required(),
            time: r
                .quantity(
                    "time",
                    "how long, the time in which a decoction for the next rest boils with it",
                )
                .required(),
            by: r
                .choice(
                    "by",
                    "how this rest is reached; left out: as the mash goes",
                    &STEPPINGS,
                )
                .optional(),
            boiled: r
                .quantity(
                    "boiled",
                    "how long the decoction that leads to this rest boils; left out: 15 min",
                )
                .optional(),
        }),
        readings: r.sections("reading", "a pH read in the mash", reading),
        measured: r.sections("measured", "a temperature read in the mash", |r| {
            MeasuredEntry {
                after: r.quantity("after", "how long after mashing in").required(),
                temperature: r
                    .quantity(
                        "temperature",
                        "what was read; left out while it was not read yet",
                    )
                    .optional(),
            }
        }),
        sparge: r
            .choice(
                "sparge",
                "how the tun is run off",
                &[
                    ("none", SpargeKind::None),
                    ("batch", SpargeKind::Batch),
                    ("continuous", SpargeKind::Continuous),
                ],
            )
            .assumed(SpargeKind::Batch),
        sparge_steps: whole(
            r,
            "sparge_steps",
            "run-offs of the sparge liquor in a batch sparge, 1 to 6",
            6,
        )
        .unwrap_or(1),
    };
    if section.rests.is_empty() && !r.has("rest") {
        r.fault(
            None,
            "the mash has no rest",
            "write [[mash.rest]] with temperature and time below",
        );
    }
    if section.rests.first().is_some_and(|rest| rest.by.is_some()) {
        r.fault(
            Some("rest"),
            "the first rest has a way to reach it",
            "the strike water reaches it: give by to a later [[mash.rest]]",
        );
    }
    let times: Vec<f64> = section
        .readings
        .iter()
        .map(|p| p.after.canonical())
        .collect();
    if times.windows(2).any(|w| matches!(w, [a, b] if a > b)) {
        r.fault(
            Some("reading"),
            "the readings of the mash are out of order",
            "put them in the order of time",
        );
    }
    section
}

fn reading(r: &mut Reader<'_>) -> ReadingEntry {
    let entry = ReadingEntry {
        ph: r
            .quantity(
                "ph",
                "what the meter shows, with its uncertainty; left out while it was not read yet",
            )
            .optional(),
        temperature: r
            .quantity("temperature", "temperature of the sample while it is read")
            .assumed(),
        after: r
            .quantity("after", "how long after mashing in the sample was taken")
            .required(),
        set_to: r
            .quantity(
                "set_to",
                "for a meter that does not compensate for temperature: what it is set to",
            )
            .optional(),
        added: r.sections(
            "added",
            "what went into the mash since the reading before",
            added,
        ),
    };
    if let Some(ph) = entry.ph
        && !(3.0..=9.0).contains(&ph.value.ph())
    {
        r.fault(
            Some("ph"),
            format!("no mash reads pH {}", ph.value),
            "3 to 9 is accepted; check the meter in fresh buffer",
        );
    }
    for (key, given) in [
        ("temperature", Some(entry.temperature)),
        ("set_to", entry.set_to),
    ] {
        if given.is_some_and(|t| !(0.0..=100.0).contains(&t.value.c())) {
            r.fault(
                Some(key),
                format!("{key} is not that of a sample"),
                "0 to 100 °C is accepted",
            );
        }
    }
    entry
}

fn added(r: &mut Reader<'_>) -> AddedEntry {
    let entry = AddedEntry {
        what: r
            .word(
                "what",
                "an acid with its strength, a salt, or acidulated malt",
                words::remedies,
                words::remedy,
            )
            .required()
            .unwrap_or_default(),
        volume: r
            .quantity("volume", "how much, by volume, of a liquid")
            .optional(),
        mass: r.quantity("mass", "how much, by mass").optional(),
    };
    if r.has("volume") == r.has("mass") {
        r.fault(
            Some("what"),
            "how much was given is not said once",
            "give either volume = \"2 mL\" or mass = \"3 g\"",
        );
    } else if r.has("volume") && !words::is_liquid(&entry.what) && !entry.what.is_empty() {
        r.fault(
            Some("volume"),
            format!("{} is not measured by volume", entry.what),
            "give its mass, such as mass = \"3 g\"",
        );
    }
    entry
}

fn boil(r: &mut Reader<'_>) -> BoilSection {
    BoilSection {
        time: r.quantity("time", "how long it boils").assumed(),
        whirlpool: r.quantity("whirlpool", "how long the covered kettle stands after the boil, cooling by itself, before it is chilled").assumed(),
        chilled_to: r.quantity("chilled_to", "how cold the chiller makes it").assumed(),
    }
}

fn hop(r: &mut Reader<'_>) -> HopEntry {
    let entry = HopEntry {
        hop: r.text("hop", "the cultivar").required(),
        amount: r.quantity("amount", "how much").required(),
        sheet: hop_sheet(r),
        used: r
            .choice(
                "used",
                "when it goes in",
                &[
                    ("mash", HopUse::Mash),
                    ("first wort", HopUse::FirstWort),
                    ("boil", HopUse::Boil),
                    ("whirlpool", HopUse::Whirlpool),
                    ("stand", HopUse::Stand),
                    ("dry", HopUse::Dry),
                ],
            )
            .required(HopUse::Boil),
        time: r
            .quantity("time", "how long it boils, or stands in hot wort")
            .optional(),
        temperature: r
            .quantity(
                "temperature",
                "temperature at which the wort is held for a stand",
            )
            .optional(),
    };
    refuse_unknown_hop(r, &entry.hop);
    let timed = matches!(entry.used, HopUse::Boil | HopUse::Whirlpool | HopUse::Stand);
    if timed && entry.time.is_none() && !r.has("time") && r.has("used") {
        r.fault(
            Some("used"),
            "how long this hop is in the wort is not said",
            "add time = \"60 min\"",
        );
    }
    if entry.used == HopUse::Stand && entry.temperature.is_none() && !r.has("temperature") {
        r.fault(
            Some("used"),
            "at which temperature this hop stands is not said",
            "add temperature = \"80 °C\"",
        );
    }
    entry
}

/// The figures of a packet of hops, and how it was kept.
pub(crate) fn hop_sheet(r: &mut Reader<'_>) -> HopSheet {
    HopSheet {
        alpha: r
            .quantity("alpha", "alpha-acids, from the packet")
            .optional(),
        age: r
            .quantity(
                "age",
                "time since its alpha-acids were measured; left out: they are those of brew day",
            )
            .optional(),
        stored_at: r
            .quantity("stored_at", "temperature at which it was kept meanwhile")
            .optional(),
        packing: r
            .choice(
                "packing",
                "how it was packed meanwhile",
                &[
                    ("open", Storage::Open),
                    ("closed", Storage::Closed),
                    ("barrier", Storage::Barrier),
                ],
            )
            .optional(),
        kept: r
            .quantity(
                "kept",
                "alpha-acids that it keeps over six months at 20 °C, from its sheet; left out: the cultivar's",
            )
            .optional(),
        storage_index: r
            .quantity(
                "storage_index",
                "hop storage index (HSI) as the hop is now; it goes before age and packing",
            )
            .optional(),
        storage_index_then: r
            .quantity(
                "storage_index_then",
                "hop storage index when its alpha-acids were measured; left out: 0.25, as fresh as hops are",
            )
            .optional(),
        form: r
            .choice(
                "form",
                "cones or pellets",
                &[("cones", HopForm::Cones), ("pellets", HopForm::Pellets)],
            )
            .optional(),
    }
}

/// A fault where neither the packet nor the table tells the alpha-acids.
pub(crate) fn refuse_unknown_hop(r: &Reader<'_>, hop: &str) {
    if !r.has("alpha")
        && !hop.is_empty()
        && let Err(why) = words::hop(hop)
    {
        r.fault(
            Some("hop"),
            why,
            "give alpha = \"6.4 %\" from the packet, or the name of a known cultivar",
        );
    }
}

pub(crate) fn yeast(r: &mut Reader<'_>) -> YeastSection {
    let section = YeastSection {
        name: r.name("what it says on the packet").optional(),
        class: yeast_class(r),
        form: yeast_form(r),
        packets: packets(r),
        packet_mass: r
            .quantity("packet_mass", "mass in a packet of dry yeast")
            .optional(),
        cells_per_gram: r
            .quantity("cells_per_gram", "living cells in a gram of dry yeast")
            .assumed(),
        cells: r
            .quantity(
                "cells",
                "living cells in a liquid packet when it was packed",
            )
            .optional(),
        slurry: r.quantity("slurry", "volume of thick slurry").optional(),
        age: r
            .quantity("age", "time since it was packed or harvested")
            .assumed(),
        stored_at: r
            .quantity("stored_at", "temperature it was stored at")
            .assumed(),
        count: crate::pitch::count(r),
        starter: r
            .quantity(
                "starter",
                "volume of a still starter of 9 °P, left out where there is none",
            )
            .optional(),
        steps: crate::pitch::steps(r),
        whole: crate::pitch::whole(r),
        aim: crate::pitch::aim(r),
        pitch_rate: r
            .quantity(
                "pitch_rate",
                "pitching rate aimed at; left out: as usual for the class",
            )
            .optional(),
        attenuation: r
            .quantity(
                "attenuation",
                "apparent attenuation, from its sheet or from experience",
            )
            .optional(),
        speed: r
            .quantity(
                "speed",
                "how fast it is, relative to its class; left out: 1",
            )
            .optional(),
    };
    refuse_unsaid_yeast(r, section.form);
    crate::pitch::refuse_at_odds(r, section.form);
    section
}

/// The generic class of a yeast.
pub(crate) fn yeast_class(r: &mut Reader<'_>) -> String {
    r.word(
        "class",
        "its generic class",
        words::strain_names,
        words::strain,
    )
    .required()
    .unwrap_or_default()
}

/// How a yeast comes.
pub(crate) fn yeast_form(r: &mut Reader<'_>) -> YeastForm {
    r.choice(
        "form",
        "how it comes",
        &[
            ("dry", YeastForm::Dry),
            ("liquid", YeastForm::Liquid),
            ("slurry", YeastForm::Slurry),
        ],
    )
    .required(YeastForm::Dry)
}

/// How many packets, one unless said.
pub(crate) fn packets(r: &mut Reader<'_>) -> f64 {
    count(r, "packets", "number of packets, such as \"1\" or \"1.5\"").unwrap_or(1.0)
}

/// A fault where the key that tells how much there is of this form is missing.
pub(crate) fn refuse_unsaid_yeast(r: &Reader<'_>, form: YeastForm) {
    let (key, example) = match form {
        YeastForm::Dry => ("packet_mass", "\"11.5 g\""),
        YeastForm::Liquid => ("cells", "\"200 billion cells\""),
        YeastForm::Slurry => ("slurry", "\"150 mL\""),
    };
    if !r.has(key) && r.has("form") {
        r.fault(
            Some("form"),
            format!("how much yeast there is is not said: {key} is missing"),
            format!("add {key} = {example}"),
        );
    }
}

fn fermentation(r: &mut Reader<'_>) -> FermentationSection {
    let section = FermentationSection {
        aeration: r
            .choice(
                "aeration",
                "how oxygen gets into the wort",
                &[
                    ("none", Aeration::None),
                    ("shaking", Aeration::Shaking),
                    ("air", Aeration::Air),
                    ("oxygen", Aeration::Oxygen),
                ],
            )
            .assumed(Aeration::Shaking),
        aeration_time: r.quantity("aeration_time", "how long").assumed(),
        pitched: r.word("pitched", PITCHED, Vec::new, pitched).optional(),
        forced_gravity: r
            .quantity(
                "forced_gravity",
                "where a forced fermentation of a sample ended",
            )
            .optional(),
        forced_time: r
            .quantity("forced_time", "how long that sample was kept warm")
            .optional(),
        rating: r
            .quantity(
                "rating",
                "the pressure that the fermenter is rated for, as stamped on it",
            )
            .optional(),
        relief: r
            .quantity(
                "relief",
                "the pressure at which its spunding or relief valve lets gas out",
            )
            .optional(),
        head_space: r
            .quantity("head_space", "room above the beer in the fermenter")
            .optional(),
        course: r.sections("course", "a point of the temperature plan", |r| {
            CoursePoint {
                at: r.quantity("at", "time after pitching").required(),
                temperature: r
                    .quantity("temperature", "temperature of the beer then")
                    .required(),
            }
        }),
    };
    let times: Vec<f64> = section.course.iter().map(|p| p.at.canonical()).collect();
    if section.course.len() < 2 && !(section.course.is_empty() && r.has("course")) {
        r.fault(
            None,
            "the course needs a start and an end",
            "write two or more [[fermentation.course]] with at and temperature below",
        );
    } else if times.windows(2).any(|w| matches!(w, [a, b] if a > b)) {
        r.fault(
            Some("course"),
            "the points of the course are out of order",
            "put them in the order of time",
        );
    }
    section
}

const PITCHED: &str = "when the yeast was pitched, as in 2026-03-14T15:00:00Z";

fn pitched(text: &str) -> Result<i64, String> {
    crate::log::instant(text).ok_or_else(|| {
        format!("{text:?} is no moment; write it with its offset, as in 2026-03-14T15:00:00+01:00")
    })
}

fn package(r: &mut Reader<'_>) -> PackageSection {
    let vessel = r
        .choice(
            "vessel",
            "what it is packaged in",
            &[("bottles", Vessel::Bottles), ("keg", Vessel::Keg)],
        )
        .required(Vessel::Bottles);
    let usual = match vessel {
        Vessel::Bottles => Gas::Priming,
        Vessel::Keg => Gas::Cylinder,
    };
    PackageSection {
        vessel,
        gas: r
            .choice(
                "gas",
                "how it gets its gas; left out: bottles by priming, kegs from a cylinder",
                &[("priming", Gas::Priming), ("cylinder", Gas::Cylinder)],
            )
            .optional()
            .unwrap_or(usual),
        bottle: r
            .word(
                "bottle",
                "the class of bottle",
                words::bottles,
                words::bottle,
            )
            .assumed()
            .unwrap_or_default(),
        bottle_volume: r.quantity("bottle_volume", "what a bottle holds").assumed(),
        head_space: r.quantity("head_space", "air left in a bottle").assumed(),
        carbon_dioxide: r.quantity("carbon_dioxide", "CO2 aimed at").required(),
        sugar: r
            .word(
                "sugar",
                "the sugar for priming",
                words::sugars,
                words::sugar,
            )
            .assumed()
            .unwrap_or_default(),
        loss: r
            .quantity("loss", "beer left behind with the yeast")
            .assumed(),
        warmest_storage: r
            .quantity(
                "warmest_storage",
                "the warmest place where the package will ever stand",
            )
            .assumed(),
        conditioning: r
            .quantity("conditioning", "temperature at which bottles condition")
            .assumed(),
        stamped: r
            .quantity("stamped", "the pressure stamped on the keg")
            .optional(),
        serving_temperature: r
            .quantity(
                "serving_temperature",
                "temperature at which a keg is served",
            )
            .assumed(),
        gravity: r
            .quantity("gravity", "gravity read before packaging")
            .optional(),
        forced_gravity: r
            .quantity(
                "forced_gravity",
                "where a forced fermentation of a sample ended",
            )
            .optional(),
        forced_time: r
            .quantity("forced_time", "how long that sample was kept warm")
            .optional(),
    }
}

fn cleaning(r: &mut Reader<'_>) -> CleaningEntry {
    let entry = CleaningEntry {
        vessel: r
            .choice("vessel", "what was cleaned", &Cleaned::WORDS)
            .required(Cleaned::Fermenter),
        material: r
            .choice(
                "material",
                "what it is made of",
                &[
                    ("stainless", Material::Stainless),
                    ("aluminium", Material::Aluminium),
                    ("copper", Material::Copper),
                    ("glass", Material::Glass),
                    ("plastic", Material::Plastic),
                ],
            )
            .optional(),
        agent: r
            .word("agent", "with what", words::agents, words::agent)
            .required()
            .unwrap_or_default(),
        concentration: r
            .quantity("concentration", "how strong, of what works in it")
            .optional(),
        dilution: r
            .quantity("dilution", "how strong, of what is dosed as it is sold")
            .optional(),
        contact: r.quantity("contact", "for how long").optional(),
        temperature: r.quantity("temperature", "how warm").optional(),
        rinse: r
            .choice(
                "rinse",
                "how it was rinsed",
                &[
                    ("none", Rinse::None),
                    ("water", Rinse::Water),
                    ("boiled water", Rinse::BoiledWater),
                ],
            )
            .required(Rinse::None),
        rinse_volume: r
            .quantity("rinse_volume", "water of the rinse, for one vessel")
            .assumed(),
        left: r
            .quantity(
                "left",
                "solution that stays on the walls of one vessel after draining",
            )
            .assumed(),
    };
    refuse_wrong_strength(r, &entry);
    entry
}

/// Agents that are dosed as they are sold have no concentration, and the others no
/// dilution.
fn refuse_wrong_strength(r: &mut Reader<'_>, entry: &CleaningEntry) {
    let Ok(agent) = Agent::find(&entry.agent) else {
        return;
    };
    let (active, mixed) = match agent.strength {
        Some((Strength::Active(_), _)) => (true, false),
        Some((Strength::Mixed(_), _)) => (false, true),
        None => (false, false),
    };
    if entry.concentration.is_some() && !active {
        let help = if mixed {
            "write dilution, in mL/L"
        } else {
            "take it out"
        };
        r.fault(
            Some("concentration"),
            format!("{} has no concentration", agent.name),
            help,
        );
    }
    if entry.dilution.is_some() && !mixed {
        let help = if active {
            "write concentration, in mg/L or g/L"
        } else {
            "take it out"
        };
        r.fault(
            Some("dilution"),
            format!("{} has no dilution", agent.name),
            help,
        );
    }
}

fn aim(r: &mut Reader<'_>) -> AimSection {
    AimSection {
        original_gravity: r
            .quantity(
                "original_gravity",
                "original gravity, with the spread that would do",
            )
            .optional(),
        final_gravity: r.quantity("final_gravity", "final gravity").optional(),
        alcohol: r.quantity("alcohol", "alcohol").optional(),
        colour: r.quantity("colour", "colour").optional(),
        bitterness: r.quantity("bitterness", "bitterness").optional(),
        carbon_dioxide: r.quantity("carbon_dioxide", "CO2").optional(),
        mash_ph: r
            .quantity("mash_ph", "pH of the mash, cooled sample")
            .optional(),
        calcium: r
            .quantity("calcium", "calcium of the mash liquor, treated")
            .optional(),
        magnesium: r
            .quantity("magnesium", "magnesium of the mash liquor, treated")
            .optional(),
        sodium: r
            .quantity("sodium", "sodium of the mash liquor, treated")
            .optional(),
        chloride: r
            .quantity("chloride", "chloride of the mash liquor, treated")
            .optional(),
        sulfate: r
            .quantity("sulfate", "sulfate of the mash liquor, treated")
            .optional(),
        sulfate_to_chloride: r
            .quantity(
                "sulfate_to_chloride",
                "milligrams of sulfate to one of chloride in the mash liquor, such as \"2 ± 0.3\"",
            )
            .optional(),
        alkalinity: r
            .quantity("alkalinity", "alkalinity of the mash liquor, treated")
            .optional(),
        residual_alkalinity: r
            .quantity(
                "residual_alkalinity",
                "residual alkalinity of the mash liquor, treated",
            )
            .optional(),
        sparge_alkalinity: r
            .quantity(
                "sparge_alkalinity",
                "the most alkalinity that the sparge liquor may have, treated",
            )
            .optional(),
        clove: r.quantity("clove", "clove, as 4-vinylguaiacol").optional(),
        banana: r
            .quantity("banana", "banana, as isoamyl acetate")
            .optional(),
        esters: r.quantity("esters", "esters, as ethyl acetate").optional(),
        fusel: r
            .quantity("fusel", "fusel alcohols, as isoamyl alcohol")
            .optional(),
        beer_ph: r
            .quantity("beer_ph", "pH of the beer as it is packed")
            .optional(),
        flavour: r
            .text("flavour", "what it should taste of, in words")
            .optional(),
    }
}

/// A required quantity that must be above zero.
pub(crate) fn positive<Q: Quantity>(
    r: &mut Reader<'_>,
    key: &'static str,
    doc: &'static str,
) -> Measured<Q> {
    let value: Measured<Q> = r.quantity(key, doc).required();
    if r.has(key) && value.canonical() == 0.0 {
        r.fault(Some(key), format!("{key} must be above zero"), doc);
    }
    value
}

/// A plain number, such as how many packets.
pub(crate) fn count(r: &mut Reader<'_>, key: &'static str, doc: &'static str) -> Option<f64> {
    r.quantity::<quantity::Count>(key, doc)
        .optional()
        .map(|n| n.canonical())
}

/// A whole number from one to `most`; anything else is a fault, for nothing is
/// rounded silently.
pub(crate) fn whole(
    r: &mut Reader<'_>,
    key: &'static str,
    doc: &'static str,
    most: u32,
) -> Option<u32> {
    let given = count(r, key, doc)?;
    let found = (1..=most).find(|n| (f64::from(*n) - given).abs() < 1e-9);
    if found.is_none() {
        r.fault(
            Some(key),
            format!("{key} must be a whole number"),
            format!("1 to {most} is accepted"),
        );
    }
    found
}
