//! A plan: batches with their dated events and what they should yield.

use super::calendar::minus_days;
use super::crop::Crop;
use super::growth::Way;
use super::ids::{BatchId, CropId, SiteId, TankId};
use super::known::KnownEntries;
use super::task_numbers::{LastTaskNumbers, TaskNumbers};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeSet;

/// A term's plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Random once, then kept: tells the calendars of two schools apart.
    pub term_id: String,
    /// The term's name when the plan was made.
    pub term_name: String,
    /// 1 for the first plan of a term, then counting up.
    pub revision: u32,
    /// Highest number given to a batch in this or an earlier plan of the term, so that no id comes back for other
    /// plants.
    pub last_number: u32,
    /// Highest number given to a task in this or an earlier plan of the term, where no task of this plan has it or a
    /// higher one.
    pub last_task_numbers: LastTaskNumbers,
    /// When it was made.
    pub made: DateTime<Utc>,
    /// Why it was made, in a few words on one line; empty if nobody knows.
    pub reason: String,
    /// The chance that all serving days are promised, where this was asked for another than the term file's.
    pub sure: Option<f64>,
    /// The day from which on it was last planned again; what lies before is past and stays as it was.
    pub replanned: Option<NaiveDate>,
    /// The journal entries it takes into account.
    pub known: KnownEntries,
    /// With how much of their mass crops are counted at sites because of weighed harvests, by site and crop.
    pub mass_factors: Vec<MassFactor>,
    /// The batches, sorted by sowing day, then id.
    pub batches: Vec<Batch>,
    /// Every serving day, sorted.
    pub servings: Vec<Serving>,
    /// How the plan was found and how good it is.
    pub facts: Facts,
}

/// How much of its mass a crop at a site, or one batch of it, is counted with because of harvests that were weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct MassFactor {
    /// The site.
    pub site: SiteId,
    /// The crop.
    pub crop: CropId,
    /// The batch, if only that one is meant.
    pub batch: Option<BatchId>,
    /// Factor on the mass of every harvest, in thousandths, as a plan keeps it: for a crop beside the figures of crop and
    /// site, for a batch beside all of these.
    pub factor: f64,
}

/// The plants of one crop sown on one day at one site.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Its id, kept for good.
    pub id: BatchId,
    /// Which crop.
    pub crop: CropId,
    /// Where.
    pub site: SiteId,
    /// When it begins: sown, or come as bought seedlings; see [`Batch::born`] for its age.
    pub sown: NaiveDate,
    /// How it begins.
    pub origin: Origin,
    /// Plugs to sow, or cups where it is sown straight into them; of bought seedlings as many as come, of a standing batch
    /// the plants it began the term with.
    pub plugs: u32,
    /// Seeds in one plug or cup, as usual for the crop even where none are laid.
    pub seeds_per_plug: u32,
    /// Plants in parts of equal dates, each in one tank.
    pub parts: Vec<Part>,
    /// Numbers of its tasks; empty in plans from before numbers were kept. [`super::tasks::numbers`] has them all.
    pub task_numbers: TaskNumbers,
}

/// How a batch begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Origin {
    /// Sown in the nursery.
    #[default]
    Sown,
    /// Sown straight into the cups of a tank, where every cup counts as a plant; those in which nothing comes up are part
    /// of what does not survive, so that only what is lost later need be recorded.
    InCups,
    /// Bought as seedlings.
    Bought {
        /// Their age on the day they come, in days since sowing, 1 to 120.
        days: u32,
    },
    /// It stood there before the term began, so that there is nothing to sow.
    Standing,
}

impl Origin {
    /// Share of plugs, cups or seedlings that become plants as far as they are counted: nothing is lost on the way to the
    /// tank but what is sown in the nursery.
    pub fn plants_per_plug(self, crop: &Crop) -> f64 {
        match self {
            Self::Sown => crop.plants_per_plug(),
            Self::InCups | Self::Bought { .. } | Self::Standing => 1.0,
        }
    }

    /// Plugs, cups or seedlings from which so many plants are to be expected.
    pub fn plugs_for(self, crop: &Crop, plants: u32) -> u32 {
        match self {
            Self::Sown => crop.plugs_for(plants, 0.0),
            Self::InCups | Self::Bought { .. } | Self::Standing => plants,
        }
    }

    /// Share of the plants counted in a tank that are there at all: of cups, those in which something grows.
    pub fn growing(self, crop: &Crop) -> f64 {
        if self == Self::InCups { crop.plants_per_plug() } else { 1.0 }
    }

    /// Share of the plants counted in a tank that live until the harvest.
    pub fn survival(self, crop: &Crop) -> f64 {
        crop.tank_survival.value * self.growing(crop)
    }

    /// Whether seed is laid.
    pub fn is_sown(self) -> bool {
        matches!(self, Self::Sown | Self::InCups)
    }

    /// Whether seedlings come from outside.
    pub fn is_bought(self) -> bool {
        matches!(self, Self::Bought { .. })
    }
}

/// Plants of a batch that share tank and dates.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// How many, at least 1.
    pub plants: u32,
    /// Their tank.
    pub tank: TankId,
    /// Day they move from nursery to tank (in the past for plants standing in a tank).
    pub transplant: NaiveDate,
    /// Numbers of the holes they stand in, one a plant, sorted.
    pub holes: Vec<u32>,
    /// Numbers of the holes left empty beside them, sorted.
    pub kept_empty: Vec<u32>,
    /// Cuts taken before the term began.
    pub cuts_before: u32,
    /// Day the plants were lost, if they were: the day they would have been transplanted on if lost in the
    /// nursery, a later one if lost in the tank.
    pub lost: Option<NaiveDate>,
    /// Their harvests, by date; all but the last are cuts, the last pulls the plants. Lost plants have only
    /// the cuts taken before.
    pub harvests: Vec<Harvest>,
}

/// One harvest of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct Harvest {
    /// The day.
    pub date: NaiveDate,
    /// Cut, or pulled whole.
    pub way: Way,
    /// 1 for the first harvest of these plants, 2 for the second ..., earlier terms included.
    pub number: u32,
    /// Ready-to-eat grams expected from the whole part.
    pub grams: f64,
    /// The steps from plant to `grams`.
    pub arithmetic: Arithmetic,
    /// Serving days it covers, by date; what is left over is surplus.
    pub serves: Vec<Served>,
}

/// `plants * standing_grams * taken * survival * yield_factor * ready_to_eat` is a harvest's mass.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Arithmetic {
    /// Days since sowing for a first harvest, since the cut before for later ones.
    pub days: u32,
    /// Grams standing in one plant.
    pub standing_grams: f64,
    /// Share taken.
    pub taken: f64,
    /// Share of transplants that survive.
    pub survival: f64,
    /// The site's yield factor.
    pub yield_factor: f64,
    /// Share that is ready to eat.
    pub ready_to_eat: f64,
}

/// Mass of one harvest that goes to one serving day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Served {
    /// The serving day.
    pub date: NaiveDate,
    /// Ready-to-eat grams.
    pub grams: f64,
}

/// A serving day in the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Serving {
    /// The day.
    pub date: NaiveDate,
    /// Grams wanted.
    pub target: f64,
    /// Grams planned to be served; never above the target.
    pub planned: f64,
    /// Why it falls short, if it does.
    pub shortfall: Option<Shortfall>,
}

impl Serving {
    /// Grams below the target.
    pub fn short(&self) -> f64 {
        (self.target - self.planned).max(0.0)
    }

    /// Whether it is called short: by more than the share of its target that the term tolerates
    /// ([`super::term::Rules::tolerance`]), and by more than anybody notices.
    pub fn is_short(&self, tolerance: f64) -> bool {
        is_short(self.target, self.planned, tolerance)
    }
}

/// Whether a target is called missed with so many grams planned: by more than anybody notices, and by more than the share of
/// it that the term tolerates.
pub fn is_short(target: f64, planned: f64, tolerance: f64) -> bool {
    let short = target - planned;
    short >= NOTICEABLE && short > tolerance * target
}

/// Grams below which what is missing or too much is not worth a word: it would show as nil in ounces.
pub const NOTICEABLE: f64 = 1.5;

/// The main reason for a short serving day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shortfall {
    /// Nothing sown in the term can be ready yet.
    TooEarly,
    /// Days off leave no way to have greens then.
    DaysOff,
    /// The tanks have too few holes.
    Holes,
    /// The nurseries have too few cells.
    Nursery,
    /// Classes have too little time, or may sow too few batches.
    Hands,
    /// The nutrient set-points or share limits exclude too many crops, or kinds are missing.
    Crops,
    /// Crops are bound to certain sites or tanks.
    OnlyIn,
    /// Several limits together; lifting any single one would not help much.
    Together,
    /// One tank may not carry more.
    OneTank,
    /// Too little water for an absence.
    Water,
    /// Seedlings are left alone for too long to be raised in time.
    Unattended,
    /// What failed, weighed less or was asked for after the plan was made could not be made up in time.
    Failure,
    /// Whole plants and smallest batches do not fit more closely, or the search was stopped early.
    Search,
}

/// How the plan was found and how good it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// Backend that solved the linear programs.
    pub solver: String,
    /// What the plan costs, in points of the term's weights.
    pub cost: f64,
    /// No plan costs less, if the bound was worked out.
    pub cost_bound: Option<f64>,
    /// Grams short in all.
    pub short_grams: f64,
    /// No plan is shorter, if the bound was worked out.
    pub short_bound_grams: Option<f64>,
    /// Grams harvested but not served.
    pub surplus_grams: f64,
    /// Steps of the search, in thousands.
    pub effort: u64,
    /// Seed of the search.
    pub seed: u64,
    /// Seconds it took.
    pub seconds: f64,
    /// Whether it ended because time was up or a person stopped it.
    pub stopped: bool,
}

impl Plan {
    /// Whether both plans ask for the same work, serve and promise the same and count the same days as past. Facts about the search, and why days are short,
    /// may differ.
    pub fn says_the_same(&self, other: &Self) -> bool {
        let served = |plan: &Self| -> Vec<(NaiveDate, f64, f64)> {
            plan.servings.iter().map(|serving| (serving.date, serving.target, serving.planned)).collect()
        };
        (&self.batches, self.replanned, self.sure) == (&other.batches, other.replanned, other.sure)
            && self.mass_factors == other.mass_factors
            && served(self) == served(other)
    }

    /// Plants that were lost in tanks.
    pub fn lost_in_tanks(&self) -> u32 {
        let parts = self.batches.iter().flat_map(|batch| &batch.parts);
        parts.filter(|part| part.lost.is_some() && !part.lost_in_nursery()).map(|part| part.plants).sum()
    }
}

impl Batch {
    /// Plants that go to the tanks.
    pub fn plants(&self) -> u32 {
        self.parts.iter().map(|part| part.plants).sum()
    }

    /// Whether it stood there before the term began.
    pub fn is_standing(&self) -> bool {
        self.origin == Origin::Standing
    }

    /// The number in its id, if planning gave it one (`b007`); what stood there before has its id from elsewhere.
    pub fn number(&self) -> Option<u32> {
        let digits = self.id.as_str().strip_prefix('b')?;
        let given = !self.is_standing() && digits.bytes().all(|digit| digit.is_ascii_digit());
        digits.parse().ok().filter(|_| given)
    }

    /// The day its age is counted from.
    pub fn born(&self) -> NaiveDate {
        match self.origin {
            Origin::Bought { days } => minus_days(self.sown, days),
            _ => self.sown,
        }
    }

    /// Seeds to lay; none for a batch that is not sown.
    pub fn seeds(&self) -> u32 {
        if self.origin.is_sown() { self.plugs * self.seeds_per_plug } else { 0 }
    }

    /// Days on which its plants come into a tank, each once, sorted.
    pub fn move_days(&self) -> BTreeSet<NaiveDate> {
        let planted = self.parts.iter().filter(|part| !part.lost_in_nursery());
        planted.map(|part| part.transplant).collect()
    }

    /// Plants lost.
    pub fn lost(&self) -> u32 {
        self.parts.iter().filter(|part| part.lost.is_some()).map(|part| part.plants).sum()
    }

    /// Ready-to-eat grams of all its harvests.
    pub fn grams(&self) -> f64 {
        self.parts.iter().flat_map(|part| &part.harvests).map(|harvest| harvest.grams).sum()
    }
}

impl Part {
    /// Whether the plants stand in their tank at the end of `day`.
    pub fn stands_on(&self, day: NaiveDate) -> bool {
        self.transplant <= day && self.leaves().is_none_or(|leaves| day < leaves)
    }

    /// Day the plants leave the tank: pulled, or lost. Plants that were cut and of which nothing more is planned stand on.
    pub fn leaves(&self) -> Option<NaiveDate> {
        let pulled = || self.harvests.last().filter(|harvest| harvest.way == Way::WholeHead);
        self.lost.or_else(|| pulled().map(|harvest| harvest.date))
    }

    /// Whether the plants were lost before they came into a tank.
    pub fn lost_in_nursery(&self) -> bool {
        self.lost.is_some_and(|day| day <= self.transplant)
    }
}

impl Harvest {
    /// Whether it pulls plants that were never cut, so that they give whole heads.
    pub fn pulls_uncut(&self) -> bool {
        self.way == Way::WholeHead && self.number == 1
    }

    /// Grams that serve no day.
    pub fn surplus(&self) -> f64 {
        (self.grams - self.serves.iter().map(|served| served.grams).sum::<f64>()).max(0.0)
    }
}
