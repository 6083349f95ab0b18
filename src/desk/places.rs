//! Which plants of which tanks somebody means who does not say all of it.

use super::{Clerk, Trouble};
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, TankId};
use crate::domain::journal::{Entry, EntryId, InTank, Place, What};
use crate::domain::plan::{Batch, Harvest, Part};
use crate::domain::state::BatchState;
use crate::replan::state::state;
use crate::report::words::counted;
use chrono::{DateTime, NaiveDate};
use std::collections::BTreeMap;

/// A harvest so many days from a planned one is taken for it where no tank is named.
const SAME_HARVEST: i64 = 7;

/// A tank as somebody named it, and how many of its plants are meant if that was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// The tank.
    pub tank: TankId,
    /// Plants, at least 1.
    pub plants: Option<u32>,
    /// Numbers of their holes, one a plant, sorted; empty if that is not said.
    pub holes: Vec<u32>,
    /// Whether nobody named it, so that all plants may be of others.
    pub assumed: bool,
}

impl Named {
    /// A tank of which nothing more is said.
    #[must_use]
    pub fn all_of(tank: TankId) -> Self {
        Self { tank, plants: None, holes: Vec::new(), assumed: false }
    }

    /// A tank that nobody named.
    #[must_use]
    pub fn assumed(tank: TankId) -> Self {
        Self { assumed: true, ..Self::all_of(tank) }
    }

    /// Plants of it that must be meant at least.
    fn least(&self) -> u32 {
        self.number().unwrap_or(u32::from(!self.assumed))
    }

    fn number(&self) -> Option<u32> {
        self.plants.or(Some(self.holes.len() as u32).filter(|holes| *holes > 0))
    }
}

impl Clerk<'_> {
    /// The tanks in which a harvest of a batch is planned about that day, sorted; all of its tanks if there is just one.
    ///
    /// # Errors
    /// If there is no such batch, or nothing about that day.
    pub fn tanks_of_harvest(
        &self,
        batch: &BatchId,
        (day, way): (NaiveDate, Way),
    ) -> Result<Vec<TankId>, Trouble> {
        if let Some(tank) = self.tank_of_batch(batch, None) {
            return Ok(vec![tank]);
        }
        let planned = self.planned(batch)?;
        let near = about(planned, (day, way)).map(|(part, _)| part.tank.clone());
        let tanks = sorted(near);
        if tanks.is_empty() {
            let all = sorted(planned.parts.iter().map(|part| part.tank.clone()));
            return Err(Trouble::usage(
                format!("batch {batch} is planned for several tanks, and no harvest of it for that day"),
                format!("name those it came from with --tank: {}", listed(&all)),
            ));
        }
        Ok(tanks)
    }

    /// How many plants were harvested from each tank that was named. What was not said is taken from what is planned there about that
    /// day and still stands, tank after tank.
    ///
    /// # Errors
    /// If the numbers do not add up, or nobody can tell how many plants are meant.
    pub fn shared_out(
        &self,
        (batch, day, way): (&BatchId, NaiveDate, Way),
        (all, named): (Option<u32>, Vec<Named>),
        replaces: Option<EntryId>,
    ) -> Result<Vec<InTank>, Trouble> {
        let said: u32 = named.iter().filter_map(Named::number).sum();
        let open = named.iter().filter(|place| place.number().is_none()).count();
        let Some(all) = all.or(Some(said).filter(|_| open == 0)) else {
            return Err(Trouble::usage(
                "it is not said how many plants were harvested",
                "add --plants with their number",
            ));
        };
        let least: u32 = named.iter().map(Named::least).sum();
        if open == 0 && said != all {
            return Err(Trouble::usage(
                format!("the places name {}, but --plants says {all}", counted(said, "plant")),
                "let the numbers agree, or leave --plants out",
            ));
        }
        if least > all {
            return Err(Trouble::usage(
                format!("{} cannot be from {}", counted(all, "plant"), counted(named.len() as u32, "tank")),
                "name only the tanks they came from, or correct the number of plants",
            ));
        }
        let due = if open > 1 { self.due(batch, (day, way), replaces)? } else { BTreeMap::new() };
        let (mut rest, mut open, mut kept) = (all - said, open, least - said);
        let mut shared = |place: &Named| {
            (open, kept) = (open - 1, kept - place.least());
            // One at least for each tank that was named, and whatever is left for the last one.
            let due = due.get(&place.tank).copied().unwrap_or(0);
            let number = if open == 0 { rest } else { due.clamp(place.least(), rest - kept) };
            rest -= number;
            number
        };
        let place = |place: Named| InTank {
            plants: place.number().unwrap_or_else(|| shared(&place)),
            tank: place.tank,
            holes: place.holes,
        };
        Ok(named.into_iter().map(place).filter(|place| place.plants > 0).collect())
    }

    /// Plants of a batch to be harvested about a day, by tank, no more than stand there.
    fn due(
        &self,
        batch: &BatchId,
        (day, way): (NaiveDate, Way),
        replaces: Option<EntryId>,
    ) -> Result<BTreeMap<TankId, u32>, Trouble> {
        let mut due: BTreeMap<TankId, u32> = BTreeMap::new();
        for (part, _) in about(self.planned(batch)?, (day, way)) {
            *due.entry(part.tank.clone()).or_default() += part.plants;
        }
        let Some(now) = self.stood(batch, day, replaces) else { return Ok(due) };
        for (tank, plants) in &mut due {
            // Where by the plan all of them are gone by then, nobody knows how many really were there.
            let standing = now.in_tank(tank);
            *plants = if standing > 0 { standing.min(*plants) } else { *plants };
        }
        Ok(due)
    }

    /// The only place where plants of a batch stand on a day; `None` if there are several, or none.
    #[must_use]
    pub fn only_place(&self, batch: &BatchId, day: NaiveDate, replaces: Option<EntryId>) -> Option<Place> {
        only_place(&self.stood(batch, day, replaces)?)
    }

    /// How a batch stood on a day, but for what an entry to be replaced says.
    fn stood(&self, batch: &BatchId, day: NaiveDate, replaces: Option<EntryId>) -> Option<BatchState> {
        let mut journal = self.journal.clone();
        if replaces.is_some() {
            let id = journal.next_id();
            let (what, recorded) = (What::Withdrawn, DateTime::UNIX_EPOCH);
            journal.push(Entry { id, recorded, day, site: None, by: None, what, replaces });
        }
        state(self.term, self.plan, &journal, day).batch(batch).cloned()
    }

    fn planned(&self, batch: &BatchId) -> Result<&Batch, Trouble> {
        self.plan.batches.iter().find(|planned| planned.id == *batch).ok_or_else(|| self.unknown_batch(batch))
    }

    /// That a loss cannot be told without its place, with the places there are.
    #[must_use]
    pub fn place_needed(&self, batch: &BatchId) -> Trouble {
        let Ok(planned) = self.planned(batch) else { return self.unknown_batch(batch) };
        let tanks = sorted(planned.parts.iter().map(|part| part.tank.clone()));
        Trouble::usage(
            format!("it is not clear where plants of {batch} were lost"),
            format!("name the place with --tank: nursery, {}", listed(&tanks)),
        )
    }
}

/// The only place where plants of a batch stand.
pub(super) fn only_place(batch: &BatchState) -> Option<Place> {
    let tanks = sorted(batch.stands.iter().map(|stand| stand.tank.clone()));
    match (&tanks[..], batch.tray.plugs) {
        ([tank], 0) => Some(Place::Tank(tank.clone())),
        ([], 1..) => Some(Place::Nursery),
        _ => None,
    }
}

/// The planned harvests of all parts of a batch that are nearest to a day, of the same way if there are such; none if they are too far
/// from it.
fn about(batch: &Batch, (day, way): (NaiveDate, Way)) -> impl Iterator<Item = (&Part, &Harvest)> {
    let all = || batch.parts.iter().flat_map(|part| part.harvests.iter().map(move |harvest| (part, harvest)));
    let distance = move |harvest: &Harvest| days_between(harvest.date, day).abs();
    let like = move |harvest: &Harvest| (harvest.way != way, distance(harvest), harvest.date);
    let nearest =
        all().map(|(_, harvest)| harvest).filter(|own| distance(own) <= SAME_HARVEST).map(like).min();
    all().filter(move |(_, harvest)| nearest == Some(like(harvest)))
}

fn sorted(tanks: impl Iterator<Item = TankId>) -> Vec<TankId> {
    let mut tanks: Vec<TankId> = tanks.collect();
    tanks.sort_unstable();
    tanks.dedup();
    tanks
}

fn listed(tanks: &[TankId]) -> String {
    tanks.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
