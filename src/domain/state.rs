//! How things stand on a day: what plan and journal together say of every tray and tank.

use super::growth::Way;
use super::ids::{BatchId, CropId, SiteId, TankId};
use super::journal::EntryId;
use super::task_numbers::TaskKind;
use super::weighed::Outlook;
use chrono::NaiveDate;

/// How a term stands on a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct State {
    /// Every batch of the plan, in its order.
    pub batches: Vec<BatchState>,
    /// What the plan asks for, by day, then site, the turn of the work and batch.
    pub steps: Vec<Step>,
    /// Tanks that cannot be used on the day.
    pub tanks_out: Vec<TankOut>,
    /// Sites whose class of the day was recorded as lost.
    pub classes_lost: Vec<SiteId>,
    /// What is to be expected now, given what was weighed until the day; empty unless somebody asked for it.
    pub outlook: Outlook,
}

/// How a batch stands.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchState {
    /// Which one.
    pub batch: BatchId,
    /// Its crop.
    pub crop: CropId,
    /// Where.
    pub site: SiteId,
    /// When it was sown; `None` while it is not.
    pub sown: Option<NaiveDate>,
    /// The day its age counts from; `None` while it is not sown.
    pub born: Option<NaiveDate>,
    /// Plugs sown; for a batch that stood before the term, the plants it began with.
    pub plugs: u32,
    /// What stands in the nursery.
    pub tray: Tray,
    /// What stands in tanks, by tank and day of moving.
    pub stands: Vec<Stand>,
    /// Plants moved to tanks so far.
    pub moved: u32,
    /// Plugs and plants recorded as lost.
    pub lost: u32,
    /// Plants pulled so far.
    pub pulled: u32,
    /// Ready-to-eat grams recorded, without harvests that only count as done.
    pub grams: f64,
}

/// Plugs of a batch in the nursery. Once all planned moves are done, those left over count as given up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tray {
    /// Plugs, each in its cell.
    pub plugs: u32,
    /// Seedlings in them, if they were counted.
    pub came_up: Option<u32>,
}

/// Plants of a batch that stand in one tank and were treated alike.
#[derive(Debug, Clone, PartialEq)]
pub struct Stand {
    /// The tank.
    pub tank: TankId,
    /// Plants, at least 1.
    pub plants: u32,
    /// Numbers of their holes, one a plant, as planned; empty if they cannot be told. Nobody writes down in which hole a
    /// plant died, so the last ones count as empty.
    pub holes: Vec<u32>,
    /// When they were moved there.
    pub transplanted: NaiveDate,
    /// Cuts taken before the term began.
    pub cuts_before: u32,
    /// Days of the cuts since, recorded or counted as done.
    pub cuts: Vec<NaiveDate>,
    /// The part of the planned batch they are, from 0; `None` for more plants than planned.
    pub part: Option<usize>,
    /// Planned harvests of that part that are over for them.
    pub harvests_done: usize,
}

/// A tank that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TankOut {
    /// Its site.
    pub site: SiteId,
    /// The tank.
    pub tank: TankId,
    /// First day.
    pub from: NaiveDate,
    /// Last day, if known.
    pub until: Option<NaiveDate>,
    /// The entry that says so.
    pub entry: EntryId,
}

/// One piece of planned work, and how far it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The planned day.
    pub day: NaiveDate,
    /// Where.
    pub site: SiteId,
    /// Its kind.
    pub work: TaskKind,
    /// The batch.
    pub batch: BatchId,
    /// The tank; `None` for sowing.
    pub tank: Option<TankId>,
    /// Cut or pulled; `None` unless this is a harvest.
    pub way: Option<Way>,
    /// Plugs to sow, plants to move or harvest: what is left to do, else what was planned.
    pub number: u32,
    /// Ready-to-eat grams the plan expects of that number; 0 unless this is a harvest.
    pub grams: f64,
    /// How far it is.
    pub progress: Progress,
}

/// How far a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Progress {
    /// Its day is over, earlier and later work of its kind was recorded at its site, but not this, or something recorded
    /// shows that it was not done.
    Overdue,
    /// It is to be done on the day.
    Due,
    /// Its day lies ahead.
    Coming,
    /// Recorded, on its day or later.
    Done {
        /// When.
        on: NaiveDate,
    },
    /// Recorded, before its planned day.
    DoneEarly {
        /// When.
        on: NaiveDate,
    },
    /// Its day is over and nothing else was recorded, so it counts as done as planned.
    TakenAsDone,
    /// Nothing is left to do it with: the plants are lost or were harvested otherwise.
    Dropped,
}

impl BatchState {
    /// Plants standing in tanks.
    pub fn in_tanks(&self) -> u32 {
        self.stands.iter().map(|stand| stand.plants).sum()
    }

    /// Plants standing in this tank.
    pub fn in_tank(&self, tank: &TankId) -> u32 {
        self.stands.iter().filter(|stand| stand.tank == *tank).map(|stand| stand.plants).sum()
    }

    /// Whether anything of it is alive.
    pub fn lives(&self) -> bool {
        self.tray.plugs > 0 || !self.stands.is_empty()
    }
}

impl Tray {
    /// Seedlings that can be moved: those counted, else one in every plug.
    pub fn seedlings(&self) -> u32 {
        self.came_up.unwrap_or(self.plugs)
    }
}

impl Step {
    /// Whether it is still to be done, today or some day.
    pub fn is_open(&self) -> bool {
        matches!(self.progress, Progress::Overdue | Progress::Due | Progress::Coming)
    }
}

impl State {
    /// The batch of that id.
    pub fn batch(&self, id: &BatchId) -> Option<&BatchState> {
        self.batches.iter().find(|batch| batch.batch == *id)
    }
}
