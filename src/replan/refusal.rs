//! Why an entry cannot be true.

mod words;

use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::journal::EntryId;
use chrono::NaiveDate;

/// Why an entry cannot be true. Its `Display` says what is wrong, [`Refusal::help`] how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// The day lies before or after the term.
    OutsideTerm {
        /// The day.
        day: NaiveDate,
        /// First and last day of the term.
        term: (NaiveDate, NaiveDate),
    },
    /// Nobody can know what happened on a day to come.
    Future {
        /// The day.
        day: NaiveDate,
        /// Today.
        today: NaiveDate,
    },
    /// A name that leads nowhere.
    Unknown {
        /// What it should be a name of.
        what: Named,
        /// The name.
        name: String,
        /// Names that exist.
        known: Vec<String>,
    },
    /// The tank is not at the site, but at others.
    TankElsewhere {
        /// The tank.
        tank: TankId,
        /// The site named.
        site: SiteId,
        /// Sites that have such a tank.
        at: Vec<SiteId>,
        /// Tanks of the site named.
        known: Vec<TankId>,
    },
    /// The batch is planned for another site.
    BatchElsewhere {
        /// The batch.
        batch: BatchId,
        /// The site named.
        site: SiteId,
        /// The batch's site.
        at: SiteId,
    },
    /// A site must be named.
    NoSite,
    /// An entry that is to be replaced was never written.
    NoEntry(EntryId),
    /// An entry that is to be replaced has been replaced before.
    Replaced {
        /// The old entry.
        id: EntryId,
        /// What took its place.
        by: EntryId,
        /// Whether it was withdrawn.
        withdrawn: bool,
    },
    /// An entry that is to be replaced is a withdrawal.
    WithdrawalStands(EntryId),
    /// A withdrawal that names no entry.
    WithdrawsNothing,
    /// The same is in the journal.
    Twice {
        /// As which entry.
        entry: EntryId,
        /// Whether it may have happened twice, so that its numbers could be summed up.
        adds_up: bool,
    },
    /// The tank cannot be used on that day.
    OutOfUse {
        /// The tank.
        tank: TankId,
        /// Since when.
        from: NaiveDate,
        /// The entry that says so.
        entry: EntryId,
    },
    /// The tank is in use on that day.
    InUse(TankId),
    /// A stretch that ends before it begins.
    Backwards,
    /// Nothing is planned with the batch on the day from which work is put off.
    NothingPlanned {
        /// The batch.
        batch: BatchId,
        /// The day.
        day: NaiveDate,
        /// Days on which something is still to be done with it.
        days: Vec<NaiveDate>,
    },
    /// Something else is to be done with the batch before what is put off.
    NotNext {
        /// The batch.
        batch: BatchId,
        /// The day from which work is put off.
        day: NaiveDate,
        /// The day before it with work.
        before: NaiveDate,
    },
    /// Work is put off beyond the next thing to do with the plants.
    PutOffTooFar {
        /// The batch.
        batch: BatchId,
        /// The day of what follows.
        next: NaiveDate,
    },
    /// No class is planned on that day.
    NoClass(NaiveDate),
    /// A class is planned on that day anyway.
    ClassAnyway(NaiveDate),
    /// No serving day is concerned.
    NothingServed {
        /// The day.
        day: NaiveDate,
        /// Serving days before and after it.
        near: Vec<NaiveDate>,
    },
    /// The crop does not grow again after a cut.
    NoRegrowth(CropId),
    /// More plants were measured than harvested.
    TooManySamples,
    /// No plant of the crop can weigh that much.
    TooHeavy {
        /// The crop.
        crop: CropId,
        /// Grams recorded for one plant.
        each: u64,
        /// Grams of a full-grown plant.
        full_grams: u64,
    },
    /// The batch stood there before the term began.
    StoodBefore(BatchId),
    /// The batch has been sown before.
    SownBefore {
        /// The batch.
        batch: BatchId,
        /// When.
        on: NaiveDate,
        /// The entry that says so.
        entry: EntryId,
    },
    /// The batch is not sown on that day.
    NotSown {
        /// The batch.
        batch: BatchId,
        /// The day.
        day: NaiveDate,
        /// When it is sown, as recorded or planned.
        sown: NaiveDate,
    },
    /// No seedling can be up on that day.
    NotUp {
        /// The batch.
        batch: BatchId,
        /// When it was sown, as recorded or planned.
        sown: NaiveDate,
        /// The day.
        day: NaiveDate,
        /// Days the crop needs at least to come up.
        days: u32,
    },
    /// The batch was sown straight into cups and never stood in the nursery.
    InCups(BatchId),
    /// More plugs than stand in the nursery.
    TooManyPlugs {
        /// The batch.
        batch: BatchId,
        /// Plugs stated.
        stated: u32,
        /// Plugs standing.
        standing: u32,
        /// Plugs sown.
        sown: u32,
    },
    /// More plants than stand in the tank.
    TooManyPlants {
        /// The batch.
        batch: BatchId,
        /// The tank.
        tank: TankId,
        /// Plants stated.
        stated: u32,
        /// Plants standing.
        standing: u32,
    },
    /// More plants than the tank has holes for.
    TankFull {
        /// The tank.
        tank: TankId,
        /// Its holes.
        holes: u32,
        /// The day.
        day: NaiveDate,
        /// Other plants that stand there at the end of the day.
        others: u32,
    },
    /// A tank is named twice in one harvest.
    TankTwice(TankId),
    /// Holes are named for plugs in the nursery.
    HolesInNursery,
    /// Not as many holes are named as plants.
    HolesMiscounted {
        /// Plants stated; `None` for all that stood there.
        plants: Option<u32>,
        /// Different holes named.
        holes: u32,
    },
    /// The tank has no such holes.
    NoSuchHoles {
        /// The tank.
        tank: TankId,
        /// Those it does not have.
        holes: Vec<u32>,
        /// Number of its last hole.
        last: u32,
    },
    /// No plants of the batch stand in the holes.
    NotInHoles {
        /// The batch.
        batch: BatchId,
        /// The tank.
        tank: TankId,
        /// Those in which none stand.
        holes: Vec<u32>,
    },
    /// No plant of the batch stands in the tank.
    NotInTank {
        /// The batch.
        batch: BatchId,
        /// The tank.
        tank: TankId,
        /// Why not.
        why: Absence,
    },
    /// All these plants were cut on that day before.
    CutThatDay {
        /// The batch.
        batch: BatchId,
        /// The tank.
        tank: TankId,
        /// The day.
        day: NaiveDate,
        /// The entry that says so.
        entry: EntryId,
    },
    /// With it, another entry could no longer be true.
    Contradicts {
        /// The other entry.
        entry: EntryId,
        /// Why that could not be.
        because: Box<Refusal>,
    },
}

/// What a name is a name of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Named {
    /// A site of the term.
    Site,
    /// A batch of the plan.
    Batch,
    /// A crop of the term.
    Crop,
    /// A tank of the site.
    Tank,
}

/// Why no plant of a batch stands in a tank.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Absence {
    /// It is moved later, as recorded or planned.
    MovedLater(NaiveDate),
    /// All its seedlings were lost before they could be moved.
    LostBefore,
    /// It stands in these tanks instead.
    In(Vec<TankId>),
    /// All plants have been pulled or lost.
    Gone {
        /// Since when.
        since: NaiveDate,
        /// What took the last of them.
        by: LastTaken,
    },
    /// It never was there.
    NeverThere,
}

/// What took the last plants of a batch from a tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LastTaken {
    /// A last harvest that was recorded.
    Harvest(EntryId),
    /// A loss that was recorded.
    Loss(EntryId),
    /// A loss that the plan tells of, since it was made anew.
    LossOfPlan,
    /// A last harvest that was planned and counts as done.
    Plan,
}
