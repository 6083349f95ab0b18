//! What a term has in store and how it buys: seed packets, plugs, net cups, growing medium, nutrient.
//!
//! Everything here is optional. What the user does not state is either left out of the order (no product,
//! no price) or taken from the defaults below, each of which names where it comes from.

use super::ids::CropId;

/// Seed bought beyond what is laid, as a share of it: 10 to 20 % for losses ("Succession planting in the
/// greenhouse", Growing for Market magazine).
pub const SPARE_SEED: f64 = 0.1;
/// Days from ordering to delivery (common practice, no source).
pub const LEAD_DAYS: u32 = 14;
/// Weeks between two changes of the whole solution (common practice, no source).
pub const CHANGE_WEEKS: u32 = 3;

/// Stock, packs and habits of a term.
#[derive(Debug, Clone, PartialEq)]
pub struct Supplies {
    /// Seed bought beyond what is laid, as a share of it, 0 to 1.
    pub spare_seed: f64,
    /// Days from ordering to delivery.
    pub lead_days: u32,
    /// Weeks between two changes of the whole solution, at least 1.
    pub change_weeks: u32,
    /// Word printed behind prices, such as `dollars`.
    pub currency: Option<String>,
    /// Seed packets and stock, one entry a crop at most.
    pub seed: Vec<Seed>,
    /// Plugs to sow into, in pieces; each is used once.
    pub plugs: Stock,
    /// Net cups, in pieces; washed and used again.
    pub net_cups: Stock,
    /// Growing medium filled around the plug, if any is used.
    pub medium: Option<Medium>,
    /// Nutrient concentrates and pH adjusters, in the order they are listed.
    pub doses: Vec<Dose>,
}

impl Default for Supplies {
    fn default() -> Self {
        Self {
            spare_seed: SPARE_SEED,
            lead_days: LEAD_DAYS,
            change_weeks: CHANGE_WEEKS,
            currency: None,
            seed: Vec::new(),
            plugs: Stock::default(),
            net_cups: Stock::default(),
            medium: None,
            doses: Vec::new(),
        }
    }
}

impl Supplies {
    /// What is known of a crop's seed.
    pub fn seed_of(&self, crop: &CropId) -> Option<&Seed> {
        self.seed.iter().find(|seed| seed.crop == *crop)
    }
}

/// What there is of a thing, and how it is sold. The unit is the thing's own: pieces or litres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stock {
    /// How much is there already.
    pub on_hand: f64,
    /// What one pack holds, if packs matter; above 0.
    pub pack: Option<f64>,
    /// Price of one pack; only where the pack is known.
    pub price: Option<f64>,
}

/// An amount of seed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SeedAmount {
    /// Counted.
    Seeds(u32),
    /// Weighed, in grams.
    Grams(f64),
}

impl SeedAmount {
    /// How many seeds that is, for a crop with so many seeds in a gram.
    pub fn seeds(self, per_gram: f64) -> f64 {
        match self {
            Self::Seeds(count) => f64::from(count),
            Self::Grams(grams) => (grams * per_gram).floor(),
        }
    }
}

/// Seed of a crop: what there is, and how it is sold.
#[derive(Debug, Clone, PartialEq)]
pub struct Seed {
    /// Which crop.
    pub crop: CropId,
    /// What is there already.
    pub on_hand: Option<SeedAmount>,
    /// Year for which that was packed, if known. It tells the age of what is left over: see [`super::longevity`].
    pub packed: Option<i32>,
    /// What one packet holds.
    pub packet: Option<SeedAmount>,
    /// Price of one packet; only where the packet is known.
    pub price: Option<f64>,
}

/// Growing medium filled around the plug.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Medium {
    /// Litres in one net cup.
    pub litres_a_cup: f64,
    /// Whether it is washed and used again, as clay pebbles are.
    pub reused: bool,
    /// Stock in litres.
    pub stock: Stock,
}

/// What a dose is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DoseKind {
    /// Feeds the plants.
    Nutrient,
    /// Lowers the pH.
    Acid,
    /// Raises the pH.
    Base,
}

/// A concentrate that goes into the water, dosed as its label says. Sowtide has no recipe of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Dose {
    /// What it is for.
    pub kind: DoseKind,
    /// What people call it.
    pub name: String,
    /// Millilitres for each litre of water, from the product's label.
    pub ml_per_litre: f64,
    /// Stock in litres.
    pub stock: Stock,
}
