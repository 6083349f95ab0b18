//! What is different between two plans of a term, in terms people can act on.

use super::calendar::Week;
use super::ids::{BatchId, CropId, SiteId, TankId};
use super::journal::Entry;
use super::plan::{NOTICEABLE, Shortfall};
use super::task_numbers::TaskKind;
use chrono::NaiveDate;

/// The difference of two plans from a day on. What lies before that day cannot be changed and is left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// The first day looked at.
    pub from: NaiveDate,
    /// Number of the plan before.
    pub before: u32,
    /// Number of the plan after.
    pub after: u32,
    /// Every batch of either plan, by site as the term has them, then by the day of its first change, or of its
    /// sowing if there is none.
    pub batches: Vec<BatchChange>,
    /// Every week with a serving day from the first day on, sorted.
    pub weeks: Vec<WeekChange>,
    /// How many tasks change; each is one entry in people's calendars.
    pub tasks: TaskTally,
    /// Every task that changes, by site as the term has them, then by day.
    pub lines: Vec<TaskLine>,
    /// What was recorded that the plan after takes into account and the plan before does not, by day.
    pub because: Vec<Entry>,
}

/// A task that changes, as people knew it and as it is now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaskLine {
    /// Its site.
    pub site: SiteId,
    /// Its batch.
    pub batch: BatchId,
    /// The batch's crop.
    pub crop: CropId,
    /// Its kind.
    pub kind: TaskKind,
    /// As it was; none if it comes.
    pub before: Option<TaskSide>,
    /// As it is; none if it goes.
    pub after: Option<TaskSide>,
}

/// A task in one of two plans.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaskSide {
    /// Its day.
    pub day: NaiveDate,
    /// Plugs sown, or plants moved or harvested.
    pub amount: u32,
    /// With how many plants what is done in each tank, sorted; none for what is sown in the nursery. Holes are left to the
    /// sheets of the week: where two sides say the same, they are what differs.
    pub tanks: Vec<TankSide>,
}

/// What a task does in one tank.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TankSide {
    /// The tank.
    pub tank: TankId,
    /// The way of harvesting, as [`super::tasks::TaskPart::way`] says it; empty for other tasks.
    pub way: String,
    /// How many plants.
    pub plants: u32,
}

impl TaskLine {
    /// Its day; the earlier one of before and after.
    pub fn day(&self) -> Option<NaiveDate> {
        self.before.iter().chain(&self.after).map(|side| side.day).min()
    }
}

/// What becomes of a batch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BatchChange {
    /// The batch.
    pub batch: BatchId,
    /// Its crop.
    pub crop: CropId,
    /// Its site.
    pub site: SiteId,
    /// Day of its first change, the earlier one of before and after; the sowing day if nothing changes.
    pub day: NaiveDate,
    /// What becomes of it, in a word.
    pub change: Change,
    /// What exactly changes; empty if nothing does.
    pub details: Vec<Detail>,
}

/// What becomes of a batch, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Change {
    /// Nothing to be done otherwise.
    Kept,
    /// Other days, holes or ways of harvesting.
    Moved,
    /// Other numbers of plugs or plants.
    Resized,
    /// Both.
    MovedAndResized,
    /// Nothing more to be done.
    Dropped,
    /// Not in the plan before.
    Added,
}

impl Change {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 6] =
        [Self::Kept, Self::Moved, Self::Resized, Self::MovedAndResized, Self::Dropped, Self::Added];
}

/// One thing that changes about a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Detail {
    /// A task has another day, comes (no day before) or goes (no day after).
    Day {
        /// Kind of the task.
        kind: TaskKind,
        /// The task's number.
        number: u32,
        /// Its day before.
        before: Option<NaiveDate>,
        /// Its day after.
        after: Option<NaiveDate>,
    },
    /// Another number of plugs is sown.
    Plugs {
        /// Before.
        before: u32,
        /// After.
        after: u32,
    },
    /// Another number of plants is moved or harvested.
    Plants {
        /// Kind of the task.
        kind: TaskKind,
        /// The task's number.
        number: u32,
        /// The task's day after.
        day: NaiveDate,
        /// Before.
        before: u32,
        /// After.
        after: u32,
    },
    /// The same number of plants in other tanks or holes.
    Place,
    /// Cut instead of pulled whole, or the other way round.
    Way {
        /// The harvest's number.
        number: u32,
        /// The harvest's day after.
        day: NaiveDate,
        /// Whether plants are cut now.
        cuts: bool,
        /// Whether plants are pulled now; some may be pulled and others cut.
        pulls: bool,
    },
}

/// What a week gets. Grams ready to eat, on all its serving days together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekChange {
    /// The week.
    pub week: Week,
    /// Wanted.
    pub target: f64,
    /// Expected before.
    pub before: f64,
    /// Left if nothing is done, where that is known.
    pub left: Option<f64>,
    /// What the plan after brings.
    pub after: f64,
    /// Why the plan after brings too little, if it does: the main reason of the day that misses most.
    pub shortfall: Option<Shortfall>,
}

impl WeekChange {
    /// Whether it gets its target, or at least what was expected before.
    pub fn holds(&self) -> bool {
        self.enough(self.after)
    }

    /// Whether it would get too little if nothing were done (or gets too little now, if that is not known).
    pub fn is_hit(&self) -> bool {
        !self.enough(self.left.unwrap_or(self.after))
    }

    fn enough(&self, grams: f64) -> bool {
        grams + NOTICEABLE >= self.target.min(self.before)
    }
}

/// Tasks by what becomes of them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct TaskTally {
    /// The same as before.
    pub kept: u32,
    /// On another day.
    pub moved: u32,
    /// On the same day, with other plants, places or ways.
    pub changed: u32,
    /// No longer to be done.
    pub dropped: u32,
    /// New.
    pub added: u32,
}

impl TaskTally {
    /// Tasks that people have to do otherwise than they knew.
    pub fn altered(&self) -> u32 {
        self.moved + self.changed + self.dropped + self.added
    }
}

impl Difference {
    /// Whether there is nothing to do otherwise and no week gets more or less.
    pub fn is_empty(&self) -> bool {
        let same_grams = |week: &WeekChange| (week.before - week.after).abs() < NOTICEABLE;
        self.tasks.altered() == 0
            && self.batches.iter().all(|batch| batch.change == Change::Kept)
            && self.weeks.iter().all(same_grams)
    }

    /// How many batches have this change.
    pub fn count(&self, change: Change) -> u32 {
        self.batches.iter().filter(|batch| batch.change == change).count() as u32
    }

    /// Weeks that would get too little if nothing were done.
    pub fn hit(&self) -> impl Iterator<Item = &WeekChange> {
        self.weeks.iter().filter(|week| week.is_hit())
    }

    /// The first week from which on every week gets its target, or at least what was expected before. None if the
    /// last week does not.
    pub fn holds_from(&self) -> Option<Week> {
        self.weeks.iter().rev().take_while(|week| week.holds()).last().map(|week| week.week)
    }
}
