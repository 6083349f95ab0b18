//! Replays one batch, day by day.

use super::believed::Believed;
use super::records::Records;
use crate::domain::crop::Crop;
use crate::domain::ids::TankId;
use crate::domain::journal::{Amount, Entry, EntryId, Kind, Place, What};
use crate::domain::known::KnownEntries;
use crate::domain::plan::Batch;
use crate::domain::state::{BatchState, Stand, Tray};
use crate::domain::term::{Stage, Standing, Term};
use crate::replan::refusal::{LastTaken, Refusal};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// When something was done, and the entry that says so; `None` if it counts as done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Done {
    pub(super) on: NaiveDate,
    pub(super) entry: Option<EntryId>,
}

/// A batch as far as it has been replayed.
pub(super) struct BatchReplay<'a> {
    pub(super) batch: &'a Batch,
    crop: Option<&'a Crop>,
    /// Entries the plan takes into account: what they say of losses is in the plan already.
    known: &'a KnownEntries,
    /// Whether its plants stood in a tank before the term began.
    pub(super) stood_in_tank: bool,
    /// What was recorded of it.
    pub(super) records: Records<'a>,
    pub(super) sown: Option<Done>,
    pub(super) plugs: u32,
    pub(super) tray: Tray,
    pub(super) stands: Vec<Stand>,
    /// For each part, plants moved.
    pub(super) moved_of: Vec<u32>,
    /// For each part, when its move was settled.
    pub(super) moves: Vec<Option<Done>>,
    /// For part and planned harvest, from 0, when it was first taken.
    pub(super) harvests: BTreeMap<(usize, usize), Done>,
    /// What took the last plants from a tank.
    pub(super) gone: BTreeMap<TankId, (NaiveDate, LastTaken)>,
    pub(super) impossible: Vec<(EntryId, Refusal)>,
    pub(super) moved: u32,
    pub(super) lost: u32,
    pub(super) pulled: u32,
    grams: f64,
}

/// What happens to a batch on a day; on one day in this order, so that what counts as done comes before what people
/// wrote about it.
enum Event<'a> {
    Sowing,
    Move(usize),
    Harvest(usize, usize),
    Loss(usize),
    Recorded(&'a Entry),
}

impl<'a> BatchReplay<'a> {
    pub(super) fn new(
        term: &'a Term,
        batch: &'a Batch,
        records: Records<'a>,
        known: &'a KnownEntries,
    ) -> Self {
        Self {
            grams: records.told_grams(),
            batch,
            crop: term.crop(&batch.crop).map(|wanted| &wanted.crop),
            known,
            stood_in_tank: stood_in_tank(term, batch),
            records,
            sown: None,
            plugs: 0,
            tray: Tray::default(),
            stands: Vec::new(),
            moved_of: vec![0; batch.parts.len()],
            moves: vec![None; batch.parts.len()],
            harvests: BTreeMap::new(),
            gone: BTreeMap::new(),
            impossible: Vec::new(),
            moved: 0,
            lost: 0,
            pulled: 0,
        }
    }

    /// Lets everything happen that was recorded or counts as done.
    pub(super) fn run(&mut self, believed: &Believed<'_>) {
        for (day, event) in self.events(believed) {
            match event {
                Event::Sowing => self.sow(Done { on: day, entry: None }, self.batch.plugs),
                Event::Move(part) => self.move_as_planned(part, day),
                Event::Harvest(part, harvest) => self.harvest_as_planned(part, harvest, day),
                Event::Loss(part) => self.lose_as_planned(part),
                Event::Recorded(entry) => self.record(entry),
            }
        }
    }

    fn events(&self, believed: &Believed<'_>) -> Vec<(NaiveDate, Event<'a>)> {
        let (batch, records) = (self.batch, &self.records);
        let mut events = Vec::new();
        if batch.standing || believed.sown(batch, records) {
            events.push((batch.sown, Event::Sowing));
        }
        for (index, part) in batch.parts.iter().enumerate() {
            if !part.lost_in_nursery() && (self.stood_in_tank || believed.moved(batch, part, records)) {
                events.push((part.transplant, Event::Move(index)));
            }
        }
        for (index, part) in batch.parts.iter().enumerate() {
            for (number, harvest) in part.harvests.iter().enumerate() {
                if believed.harvested(batch, part, harvest, records) {
                    events.push((harvest.date, Event::Harvest(index, number)));
                }
            }
        }
        let losses =
            batch.parts.iter().enumerate().filter_map(|(index, part)| Some((part.lost?, Event::Loss(index))));
        events.extend(losses.filter(|(day, _)| *day <= believed.today()));
        events.extend(records.news.iter().map(|entry| (entry.day, Event::Recorded(entry))));
        // A stable sort keeps the order above within a day.
        events.sort_by_key(|(day, _)| *day);
        events
    }

    fn sow(&mut self, done: Done, plugs: u32) {
        self.sown = Some(done);
        self.plugs = plugs;
        self.tray = Tray { plugs, came_up: None };
    }

    fn record(&mut self, entry: &Entry) {
        let fits = match &entry.what {
            What::Sown { plugs, .. } => self.record_sowing(entry, *plugs),
            What::CameUp { plugs, .. } => self.count_seedlings(entry.day, *plugs),
            What::Transplanted { tank, plants, .. } => self.record_move(entry, tank, *plants),
            What::Lost { place: Place::Nursery, plants, .. } => self.lose_seedlings(entry.day, *plants),
            What::Lost { place: Place::Tank(tank), plants, .. } => self.lose_plants(entry, tank, *plants),
            What::Harvested(harvested) => {
                self.grams += harvested.grams;
                self.record_harvest(entry, harvested)
            }
            _ => Ok(()),
        };
        if let Err(refusal) = fits
            && !self.known.knows(entry)
        {
            self.impossible.push((entry.id, refusal));
        }
    }

    fn record_sowing(&mut self, entry: &Entry, plugs: u32) -> Result<(), Refusal> {
        let batch = self.batch.id.clone();
        if self.batch.standing {
            return Err(Refusal::StoodBefore(batch));
        }
        if let Some(Done { on, entry: Some(entry) }) = self.sown {
            return Err(Refusal::SownBefore { batch, on, entry });
        }
        self.sow(Done { on: entry.day, entry: Some(entry.id) }, plugs);
        Ok(())
    }

    fn count_seedlings(&mut self, day: NaiveDate, plugs: u32) -> Result<(), Refusal> {
        self.is_sown(day)?;
        let standing = self.tray.plugs;
        self.tray.came_up = Some(plugs.min(standing));
        self.enough_plugs(plugs, standing)
    }

    fn lose_seedlings(&mut self, day: NaiveDate, plugs: Amount) -> Result<(), Refusal> {
        self.is_sown(day)?;
        let standing = self.tray.plugs;
        let stated = match plugs {
            // Losing all where nothing stands is as impossible as losing one.
            Amount::All => standing.max(1),
            Amount::Plants(plugs) => plugs,
        };
        self.take_from_tray(stated.min(standing));
        self.lost += stated.min(standing);
        self.enough_plugs(stated, standing)
    }

    /// Plants that the plan counts as lost: in the nursery, no more plugs are left than the others need.
    fn lose_as_planned(&mut self, index: usize) {
        let part = &self.batch.parts[index];
        self.lost += part.plants;
        if part.lost_in_nursery() {
            self.moves[index] = part.lost.map(|on| Done { on, entry: None });
            let living =
                self.batch.parts.iter().filter(|part| part.lost.is_none()).map(|part| part.plants).sum();
            let plugs = match self.crop {
                Some(crop) if !self.batch.standing => crop.plugs_for(living),
                _ => living,
            };
            self.tray.plugs = self.tray.plugs.min(plugs);
            self.tray.came_up = self.tray.came_up.map(|up| up.min(plugs));
        } else {
            self.stands.retain(|stand| stand.part != Some(index));
        }
    }

    /// Takes plugs out of the nursery, those with seedlings first.
    pub(super) fn take_from_tray(&mut self, plugs: u32) {
        self.tray.plugs -= plugs;
        self.tray.came_up = self.tray.came_up.map(|up| up.saturating_sub(plugs));
    }

    /// Whether the batch is sown on that day.
    pub(super) fn is_sown(&self, day: NaiveDate) -> Result<(), Refusal> {
        match self.sown {
            Some(done) if done.on <= day => Ok(()),
            _ => {
                let sown = self.recorded(Kind::Sown, None).unwrap_or(self.batch.sown);
                Err(Refusal::NotSown { batch: self.batch.id.clone(), day, sown })
            }
        }
    }

    /// First day for which such a thing was recorded, of this tank if one is given.
    pub(super) fn recorded(&self, kind: Kind, tank: Option<&TankId>) -> Option<NaiveDate> {
        let alike = |entry: &&&Entry| {
            entry.what.kind() == kind && tank.is_none_or(|tank| entry.what.tank() == Some(tank))
        };
        self.records.news.iter().filter(alike).map(|entry| entry.day).min()
    }

    pub(super) fn enough_plugs(&self, stated: u32, standing: u32) -> Result<(), Refusal> {
        if stated <= standing {
            return Ok(());
        }
        Err(Refusal::TooManyPlugs { batch: self.batch.id.clone(), stated, standing, sown: self.plugs })
    }

    /// Whether all planned moves are settled, so that seedlings left over are given up.
    fn all_moved(&self) -> bool {
        self.moves.iter().all(Option::is_some)
    }

    /// How the batch stands in the end.
    pub(super) fn finish(mut self) -> BatchState {
        let tray = if self.all_moved() { Tray::default() } else { self.tray };
        self.stands.sort_by(|one, other| {
            (&one.tank, one.transplanted, one.part).cmp(&(&other.tank, other.transplanted, other.part))
        });
        BatchState {
            batch: self.batch.id.clone(),
            crop: self.batch.crop.clone(),
            site: self.batch.site.clone(),
            sown: self.sown.map(|done| done.on),
            plugs: self.plugs,
            tray,
            stands: joined(self.stands),
            moved: self.moved,
            lost: self.lost,
            pulled: self.pulled,
            grams: self.grams,
        }
    }
}

/// Plants that were treated alike in one go as well as in two.
fn joined(stands: Vec<Stand>) -> Vec<Stand> {
    let mut joined: Vec<Stand> = Vec::new();
    for stand in stands {
        let twin = joined.iter_mut().find(|known| {
            Stand { plants: 0, holes: Vec::new(), ..(*known).clone() }
                == Stand { plants: 0, holes: Vec::new(), ..stand.clone() }
        });
        match twin {
            Some(known) => {
                let told = known.holes.len() + stand.holes.len() == (known.plants + stand.plants) as usize;
                known.plants += stand.plants;
                known.holes = if told { [known.holes.clone(), stand.holes].concat() } else { Vec::new() };
                known.holes.sort_unstable();
            }
            None => joined.push(stand),
        }
    }
    joined
}

/// Whether the plants of a batch that stood there before the term began were in a tank already.
fn stood_in_tank(term: &Term, batch: &Batch) -> bool {
    let in_tank =
        |standing: &Standing| standing.batch == batch.id && matches!(standing.stage, Stage::Tank { .. });
    let long_ago = batch.parts.iter().all(|part| part.transplant < term.start);
    batch.standing && (long_ago || term.standing.iter().any(in_tank))
}
