//! A plan as it is played: what is drawn for which plants, and what these then give.

use super::SoFar;
use super::later::Waiting;
use super::spares::spare_places;
use super::stays::{Cycle, Stays};
use crate::domain::calendar::{DateSpan, days_between};
use crate::domain::crop::Crop;
use crate::domain::growth::Growing;
use crate::domain::luck::{Pacing, Spread, Trouble};
use crate::domain::plan::{Batch, Harvest, Origin, Part, Plan};
use crate::domain::site::{Site, Tank};
use crate::domain::state::Tray;
use crate::domain::term::Term;
use crate::schedule::{Kitchen, Pot};
use chrono::NaiveDate;

/// Everything that does not change from one playing to the next.
pub(super) struct Setting<'t> {
    pub(super) kitchen: Kitchen<'t>,
    /// What was harvested before today.
    pub(super) done: Vec<(Pot, f64)>,
    pub(super) batches: Vec<Lot<'t>>,
    pub(super) cycles: Vec<Cycle>,
}

/// Plants of one batch.
pub(super) struct Lot<'t> {
    /// Where seedlings are still to come from the nursery.
    pub(super) nursery: Option<Nursery>,
    /// Standard deviation of the batch's days to a mass, as a share of them.
    pub(super) pace: f64,
    /// Coefficient of variation of the batch's mass, beside what comes of its pace.
    pub(super) mass: f64,
    /// Coefficient of variation of mass between its plants.
    pub(super) plants: f64,
    /// What is still to be harvested, by day of transplanting.
    pub(super) groups: Vec<Group<'t>>,
}

/// Plugs of a batch that are still to show what comes of them.
#[derive(Clone, Copy)]
pub(super) struct Nursery {
    pub(super) plugs: u32,
    /// Chance that one gives a plant fit to transplant.
    pub(super) each: f64,
    /// Plants from these that were moved before today.
    pub(super) moved: u32,
}

/// Plants of a batch that share tank and dates.
pub(super) struct Group<'t> {
    /// Places for them.
    pub(super) places: u32,
    /// Whether they are still to be moved there.
    pub(super) to_come: bool,
    /// Free places beside them that spare seedlings may have.
    pub(super) spare_places: u32,
    /// Day of transplanting.
    pub(super) moved: i64,
    /// Their stretch of the tank.
    pub(super) cycle: usize,
    /// Chance that one of them lives until its harvests.
    pub(super) lives: f64,
    pub(super) harvests: Vec<Pick<'t>>,
}

/// A harvest of them.
pub(super) struct Pick<'t> {
    pub(super) day: i64,
    /// `None` if it can be served on no day.
    pub(super) pot: Option<Pot>,
    /// Grams of a plant that lives.
    pub(super) each: f64,
    pub(super) growth: Pacing<'t>,
    /// The same on the next class day, if they may wait for it.
    pub(super) later: Option<Box<Self>>,
}

impl<'t> Setting<'t> {
    pub(super) fn new(term: &'t Term, plan: &Plan, so_far: Option<&SoFar>, trouble: Trouble) -> Self {
        let kitchen = Kitchen::new(term);
        let from = so_far.map_or(NaiveDate::MIN, |so_far| so_far.today);
        let waiting = Waiting { term, plan, kitchen: &kitchen, from };
        let stays = Stays::new(term, plan, from, trouble);
        let spare = spare_places(term, plan, from);
        let mut done = Vec::new();
        let mut batches = Vec::new();
        for (batch, spare) in plan.batches.iter().zip(&spare) {
            let (Some(wanted), Some(site)) = (term.crop(&batch.crop), term.site(&batch.site)) else {
                continue;
            };
            let growing = Growing::new(&wanted.crop, site);
            let pot = |part: &Part, harvest: &Harvest| {
                let keeps = wanted.crop.keeps(harvest.way, harvest.number).value;
                kitchen.pot((harvest.date, keeps), &batch.crop, (&batch.site, &part.tank))
            };
            let past =
                batch.parts.iter().flat_map(|part| part.harvests.iter().map(move |harvest| (part, harvest)));
            let past = past.filter(|(_, harvest)| harvest.date < from);
            done.extend(past.filter_map(|(part, harvest)| Some((pot(part, harvest)?, harvest.grams))));
            let mut groups = Vec::new();
            for (part, spare) in batch.parts.iter().zip(spare) {
                let picks = part.harvests.iter().filter(|harvest| harvest.date >= from);
                let picks = picks.filter(|harvest| can_be(site, part, harvest.date, from));
                let picks = picks.map(|harvest| {
                    let pot = pot(part, harvest);
                    let later =
                        pot.and_then(|pot| waiting.later((site, batch, part), (harvest, pot), &growing));
                    Pick { later: later.map(Box::new), ..pick(term, part, harvest, &growing, pot) }
                });
                let harvests: Vec<Pick<'t>> = picks.collect();
                let Some(cycle) = stays.cycle_of(batch, part).filter(|_| !harvests.is_empty()) else {
                    continue;
                };
                groups.push(Group {
                    places: part.plants,
                    to_come: part.transplant >= from,
                    spare_places: *spare,
                    moved: days_between(term.start, part.transplant),
                    cycle,
                    lives: batch.origin.survival(&wanted.crop).powf(share_to_come(part, from)),
                    harvests,
                });
            }
            groups.sort_by_key(|group| group.moved);
            batches.push(lot(batch, &wanted.crop, groups, so_far));
        }
        Self { kitchen, done, batches, cycles: stays.cycles }
    }
}

/// Whether plants can be harvested on a day to come: class meets, and until then their tank is not taken out of use.
pub(super) fn can_be(site: &Site, part: &Part, day: NaiveDate, from: NaiveDate) -> bool {
    let stands = DateSpan { first: from.max(part.transplant), last: day };
    let is_out = |tank: &Tank| tank.out.iter().any(|out| out.first < stands.last && stands.first <= out.last);
    site.meets_on(day) && !site.tank(&part.tank).is_some_and(is_out)
}

/// Share of a part's days in its tank that lie after `from`, as losses are spread evenly over them.
fn share_to_come(part: &Part, from: NaiveDate) -> f64 {
    let Some(leaves) = part.leaves().filter(|leaves| *leaves > part.transplant) else { return 1.0 };
    let whole = days_between(part.transplant, leaves) as f64;
    days_between(from.max(part.transplant), leaves) as f64 / whole
}

fn pick<'t>(
    term: &Term,
    part: &Part,
    harvest: &Harvest,
    growing: &Growing<'t>,
    pot: Option<Pot>,
) -> Pick<'t> {
    let sums = harvest.arithmetic;
    Pick {
        day: days_between(term.start, harvest.date),
        pot,
        each: each(part, harvest),
        growth: Pacing::new(growing, (sums.days, harvest.number == 1), sums.standing_grams),
        later: None,
    }
}

/// Grams to be expected of a plant that lives.
pub(super) fn each(part: &Part, harvest: &Harvest) -> f64 {
    harvest.grams / f64::from(part.plants) / harvest.arithmetic.survival
}

fn lot<'t>(batch: &Batch, crop: &Crop, groups: Vec<Group<'t>>, so_far: Option<&SoFar>) -> Lot<'t> {
    let variation = &crop.variation.value;
    let Spread { pace, .. } = Spread::of(crop, batch.origin);
    // Slow batches weigh less; what is left of the spread between batches has other causes.
    let first = groups.iter().flat_map(|group| &group.harvests).next();
    let of_pace = first.map_or(0.0, |pick| pick.growth.of_pace(pace));
    let to_come = groups.iter().any(|group| group.to_come);
    Lot {
        nursery: (batch.origin == Origin::Sown && to_come).then(|| nursery(batch, crop, so_far)),
        pace,
        mass: (variation.between_batches.powi(2) - of_pace.powi(2)).max(0.0).sqrt(),
        plants: variation.between_plants,
        groups,
    }
}

/// What is to come from the nursery: seedlings that were counted have come up, and only may die.
fn nursery(batch: &Batch, crop: &Crop, so_far: Option<&SoFar>) -> Nursery {
    let each = batch.origin.plants_per_plug(crop);
    let Some(so_far) = so_far else { return Nursery { plugs: batch.plugs, each, moved: 0 } };
    let moved = batch.parts.iter().filter(|part| part.transplant < so_far.today && !part.lost_in_nursery());
    let moved = moved.map(|part| part.plants).sum();
    match so_far.trays.get(&batch.id) {
        Some(Tray { came_up: Some(seedlings), .. }) => {
            Nursery { plugs: *seedlings, each: crop.nursery_survival.value, moved: 0 }
        }
        Some(Tray { plugs, came_up: None }) => Nursery { plugs: plugs + moved, each, moved },
        None => Nursery { plugs: batch.plugs, each, moved },
    }
}
