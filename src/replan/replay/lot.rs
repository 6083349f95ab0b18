//! Plants with one history.

use crate::domain::ids::TankId;
use crate::domain::journal::EntryId;
use crate::domain::lid;
use crate::domain::plan::Part;
use crate::domain::site::Site;
use crate::domain::term::WantedCrop;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Plants of a batch that share their part of the plan, tank, holes and history.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::replan) struct Lot {
    /// The part of the planned batch, from 0; spare plants go by the part they were moved with. `None` if there is none.
    pub(in crate::replan) part: Option<usize>,
    /// How many, at least 1.
    pub(in crate::replan) plants: u32,
    /// Where they stand or stood; while they wait in the nursery, where they are planned to go.
    pub(in crate::replan) tank: TankId,
    /// Their holes there, one a plant, sorted; empty if they cannot be told.
    pub(in crate::replan) holes: Vec<u32>,
    /// Holes left empty beside them, sorted.
    pub(in crate::replan) kept_empty: Vec<u32>,
    /// What happened to them since they were sown, by day.
    pub(in crate::replan) events: Vec<Event>,
    /// Planned harvests of their part that are over for them.
    pub(in crate::replan) harvests_done: usize,
}

/// Something that happened to all plants of a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::replan) struct Event {
    pub(in crate::replan) day: NaiveDate,
    pub(in crate::replan) what: Happened,
    /// The entry that says so; `None` if the plan does: it counts as done, or was told to the plan before.
    pub(in crate::replan) entry: Option<EntryId>,
}

/// What can happen to plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::replan) enum Happened {
    /// They came into their tank.
    Moved,
    /// They were cut; for a planned harvest its number in the part, from 0.
    Cut(Option<usize>),
    /// They were pulled.
    Pulled(Option<usize>),
    /// They were lost, in the nursery if they were not moved before.
    Lost,
}

impl Happened {
    /// The planned harvest it was.
    pub(in crate::replan) fn harvest(self) -> Option<usize> {
        match self {
            Self::Cut(planned) | Self::Pulled(planned) => planned,
            Self::Moved | Self::Lost => None,
        }
    }

    fn is_harvest(self) -> bool {
        matches!(self, Self::Cut(_) | Self::Pulled(_))
    }
}

/// From which end of the lid plants are picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    FirstHoles,
    LastHoles,
}

impl Lot {
    /// The plants of a part before anything happened to them.
    pub(super) fn planned(number: usize, part: &Part) -> Self {
        Self {
            part: Some(number),
            plants: part.plants,
            tank: part.tank.clone(),
            holes: part.holes.clone(),
            kept_empty: part.kept_empty.clone(),
            events: Vec::new(),
            harvests_done: 0,
        }
    }

    /// Plants nobody had planned for, which are treated as those of a part.
    pub(super) fn spare(part: Option<usize>, plants: u32, tank: &TankId) -> Self {
        Self {
            part,
            plants,
            tank: tank.clone(),
            holes: Vec::new(),
            kept_empty: Vec::new(),
            events: Vec::new(),
            harvests_done: 0,
        }
    }

    /// When they came into their tank.
    pub(in crate::replan) fn moved(&self) -> Option<NaiveDate> {
        self.events.first().filter(|event| event.what == Happened::Moved).map(|event| event.day)
    }

    /// When they were pulled or lost, and by what.
    pub(in crate::replan) fn end(&self) -> Option<&Event> {
        self.events.last().filter(|event| matches!(event.what, Happened::Pulled(_) | Happened::Lost))
    }

    /// Whether they are in the nursery, or are still to be sown.
    pub(in crate::replan) fn waits(&self) -> bool {
        self.events.is_empty()
    }

    /// Whether they stand in their tank.
    pub(in crate::replan) fn stands(&self) -> bool {
        self.moved().is_some() && self.end().is_none()
    }

    /// Whether they never came into a tank.
    pub(in crate::replan) fn lost_in_nursery(&self) -> bool {
        self.events.first().is_some_and(|event| event.what == Happened::Lost)
    }

    /// Cuts, and the pull that ended them.
    pub(in crate::replan) fn harvests(&self) -> impl DoubleEndedIterator<Item = &Event> {
        self.events.iter().filter(|event| event.what.is_harvest())
    }

    /// Adds what happened last.
    pub(super) fn add(&mut self, day: NaiveDate, what: Happened, entry: Option<EntryId>) {
        self.events.push(Event { day, what, entry });
    }

    /// Ends them by a loss. What was cut on that day or later was not cut from them.
    pub(super) fn lose(&mut self, day: NaiveDate, entry: Option<EntryId>) {
        self.events.retain(|event| event.what == Happened::Moved || event.day < day);
        self.add(day, Happened::Lost, entry);
    }

    /// Takes plants off: those in the given holes, or any so many if there are none to choose from.
    pub(super) fn split(&mut self, plants: u32, holes: &[u32], room: &Room) -> Self {
        let mut off = Self { plants, ..self.clone() };
        off.stand_in(holes, room);
        self.plants -= plants;
        self.holes.retain(|hole| !off.holes.contains(hole));
        self.kept_empty.retain(|hole| !off.kept_empty.contains(hole));
        off
    }

    /// Says in which holes they stand.
    pub(super) fn stand_in(&mut self, holes: &[u32], room: &Room) {
        self.holes = holes.to_vec();
        self.holes.sort_unstable();
        self.kept_empty = room.kept_empty(&self.tank, &self.holes);
    }
}

/// Room that plants of one crop take on the lids of a site.
#[derive(Debug, Clone, Copy)]
pub(super) struct Room<'a> {
    pub(super) crop: Option<&'a WantedCrop>,
    pub(super) site: Option<&'a Site>,
}

impl Room<'_> {
    /// Holes left empty beside plants in these holes.
    fn kept_empty(&self, tank: &TankId, holes: &[u32]) -> Vec<u32> {
        let places = self.places(tank).into_iter().filter(|place| holes.contains(&place.hole));
        let beside: BTreeSet<u32> = places.flat_map(|place| place.kept_empty).collect();
        beside.into_iter().collect()
    }

    /// Holes that each plant takes with those left empty beside it.
    pub(super) fn holes_each(&self, tank: &TankId) -> u32 {
        self.on_lid(tank).map_or(1, |(_, room)| room.holes())
    }

    fn places(&self, tank: &TankId) -> Vec<lid::Spot> {
        self.on_lid(tank).map_or_else(Vec::new, |(lid, room)| lid.spots(room))
    }

    fn on_lid(&self, tank: &TankId) -> Option<(lid::Lid, lid::Room)> {
        let lid = self.site.and_then(|site| site.tank(tank))?.lid;
        Some((lid, lid.room_for(self.crop?.crop.spacing.value.cm())?))
    }
}

/// Puts lots of one part and one history together again, whoever wrote it down.
pub(super) fn join(lots: &mut Vec<Lot>) {
    let mut joined: Vec<Lot> = Vec::new();
    for lot in lots.drain(..) {
        match joined.iter_mut().find(|other| alike(other, &lot)) {
            Some(other) => {
                other.plants += lot.plants;
                for (into, from) in [(&mut other.holes, lot.holes), (&mut other.kept_empty, lot.kept_empty)] {
                    into.extend(from);
                    into.sort_unstable();
                }
            }
            None => joined.push(lot),
        }
    }
    *lots = joined;
}

fn alike(one: &Lot, other: &Lot) -> bool {
    let told = |lot: &Lot| -> Vec<(NaiveDate, Happened)> {
        lot.events.iter().map(|event| (event.day, event.what)).collect()
    };
    (one.part, &one.tank, one.harvests_done, one.holes.is_empty())
        == (other.part, &other.tank, other.harvests_done, other.holes.is_empty())
        && told(one) == told(other)
}
