//! What a plan under way leaves to go on with: its batches, told in terms of the instance.

use super::instance::{Day, Grown, Index, Instance, Lot, Network, Path, Start};
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::plan::{Batch, Origin, Part, Plan};
use crate::domain::same_tasks::same_tasks;
use crate::domain::task_numbers::TaskKind;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// A plan under way, to be made anew from a day on.
#[derive(Debug, Clone, Copy)]
pub struct UnderWay<'a> {
    /// The plan as it stands: what was lost is lost.
    pub plan: &'a Plan,
    /// The plan people have in their calendars.
    pub known: &'a Plan,
    /// The first day that can still be planned.
    pub today: NaiveDate,
    /// Points for a task that changes against what people have in their calendars.
    pub price: f64,
    /// Sites that what happened is about. Others are only asked where a serving day would be missed without them.
    pub concerned: &'a BTreeSet<SiteId>,
    /// Whether nothing happened but that something was lost. If no serving day misses it then, nothing else changes.
    pub only_losses: bool,
}

/// The parts of a plan, by candidate.
pub(super) struct Rest {
    pub(super) parts: Vec<Vec<OldPart>>,
}

/// A part of the plan under way.
pub(super) struct OldPart {
    pub(super) plants: i32,
    /// Its path, unless a day of it is no class day any more.
    pub(super) planned: Option<Path>,
    /// What happened already: moved is meaningful only once the plants stand in the tank.
    pub(super) past: Path,
    /// Whether its plants came into a tank.
    pub(super) stands: bool,
    /// Its path on the days that are still class days, as people have it in their calendars.
    pub(super) habit: Path,
    /// Day on which it was to leave the tank, or of its last harvest if nothing more was planned.
    pub(super) leaves: Day,
    pub(super) holes: Vec<u32>,
}

/// The batches that were sown before today, or of which something was lost today already.
pub(super) fn grown(net: &Network, plan: &Plan) -> Vec<Grown> {
    let mut all: Vec<Grown> = plan
        .batches
        .iter()
        .filter(|batch| !batch.is_standing())
        .filter_map(|batch| Some((place(net, plan, batch)?, batch.lost() > 0)))
        .filter(|(grown, lost)| *lost || net.today.is_some_and(|today| grown.start.begins < today))
        .map(|(grown, _)| grown)
        .filter(|grown| index(net, grown.site, grown.start.begins).is_some())
        .collect();
    all.sort_unstable();
    all.dedup();
    all
}

impl Rest {
    /// Finds the candidate of every part. Batches that cannot be sown any more are left out.
    pub(super) fn new(instance: &Instance, plan: &Plan) -> Self {
        let mut parts: Vec<Vec<OldPart>> = instance.candidates.iter().map(|_| Vec::new()).collect();
        for batch in &plan.batches {
            for part in &batch.parts {
                let found = candidate(instance, (plan, batch), part);
                if let Some((number, old)) =
                    found.and_then(|number| Some((number, old(instance, number, part)?)))
                {
                    parts[number].push(old);
                }
            }
        }
        Self { parts }
    }

    /// What people have in their calendars, by candidate.
    pub(super) fn habits(&self) -> Vec<Vec<Lot>> {
        let lots = |parts: &Vec<OldPart>| {
            parts.iter().map(|part| Lot { path: part.habit, plants: part.plants }).collect()
        };
        self.parts.iter().map(lots).collect()
    }
}

/// Tasks that people have in their calendars for days to come and that are done already, by candidate.
pub(super) fn early(instance: &Instance, under_way: &UnderWay) -> Vec<Vec<(TaskKind, Index)>> {
    let mut early: Vec<Vec<(TaskKind, Index)>> = instance.candidates.iter().map(|_| Vec::new()).collect();
    for known in &under_way.known.batches {
        let Some(batch) = under_way.plan.batches.iter().find(|batch| batch.id == known.id) else { continue };
        let same = same_tasks(known, batch, Some(under_way.today));
        let done =
            same.into_iter().filter(|(now, then)| now.1 < under_way.today && under_way.today <= then.1);
        for (_, (kind, date)) in done {
            for number in
                known.parts.iter().filter_map(|part| candidate(instance, (under_way.known, known), part))
            {
                let site = instance.candidates[number].site;
                early[number]
                    .extend(index(instance.net, site, day(instance.net, date)).map(|day| (kind, day)));
            }
        }
    }
    early
}

/// Where and how a batch of a plan began.
fn place(net: &Network, plan: &Plan, batch: &Batch) -> Option<Grown> {
    let mut grown = alone(net, batch)?;
    let before = plan.batches.iter().take_while(|other| other.id != batch.id);
    let twins = before.filter(|other| !other.is_standing() && alone(net, other) == Some(grown));
    grown.start.twin = twins.count();
    Some(grown)
}

/// The same without a look at other batches.
fn alone(net: &Network, batch: &Batch) -> Option<Grown> {
    let site = net.sites.iter().position(|site| site.site.id == batch.site)?;
    let crop = net.term.crops.iter().position(|wanted| wanted.crop.id == batch.crop)?;
    let begins = day(net, batch.sown);
    let start = match batch.origin {
        Origin::Bought { days } => Start::bought(begins, days),
        origin => Start::sown(begins, origin),
    };
    Some(Grown { site, crop, start })
}

fn day(net: &Network, date: NaiveDate) -> Day {
    days_between(net.term.start, date) as Day
}

/// Index of a class day.
fn index(net: &Network, site: usize, day: Day) -> Option<Index> {
    net.sites[site].class_days.binary_search(&day).ok().map(|index| index as Index)
}

fn candidate(instance: &Instance, (plan, batch): (&Plan, &Batch), part: &Part) -> Option<usize> {
    let net = instance.net;
    let wanted = place(net, plan, batch)?;
    instance.candidates.iter().position(|candidate| {
        let same =
            (candidate.site, candidate.crop, candidate.start) == (wanted.site, wanted.crop, wanted.start);
        let standing = candidate.standing.map(|number| &net.standing[number]);
        same && match standing {
            None => true,
            Some(standing) => standing.standing.batch == batch.id && standing.consists_of(net, part),
        }
    })
}

fn tank(net: &Network, site: usize, id: &TankId) -> Option<u16> {
    net.sites[site].tanks.iter().position(|tank| tank.tank.id == *id).map(|tank| tank as u16)
}

fn ends_by(part: &Part) -> Option<NaiveDate> {
    part.leaves().or_else(|| part.harvests.last().map(|harvest| harvest.date))
}

fn old(instance: &Instance, number: usize, part: &Part) -> Option<OldPart> {
    let net = instance.net;
    let candidate = &instance.candidates[number];
    let site = &net.sites[candidate.site];
    let open = site.past_days as Index;
    let tank = tank(net, candidate.site, &part.tank)?;
    let index_of = |date: NaiveDate| index(net, candidate.site, day(net, date));
    let moved = if candidate.in_tank() {
        Some(0)
    } else if part.lost_in_nursery() {
        Some(site.class_days.partition_point(|other| *other < day(net, part.transplant)) as Index)
    } else {
        index_of(part.transplant)
    };
    let harvests: Vec<Option<Index>> = part.harvests.iter().map(|harvest| index_of(harvest.date)).collect();
    let class_days: Vec<Index> = harvests.iter().flatten().copied().collect();
    let stands = candidate.in_tank() || moved.is_some_and(|moved| moved < open && !part.lost_in_nursery());
    let done: Vec<Index> = harvests.iter().map_while(|day| day.filter(|day| *day < open)).collect();
    let from = moved.unwrap_or(0);
    let ends = part.lost.is_some() || part.harvests.last().is_some_and(|last| last.way == Way::WholeHead);
    let complete = ends && moved.is_some() && class_days.len() == harvests.len();
    let lost = |path: Path| match part.lost {
        Some(date) => path.lost(day(net, date), part.lost_in_nursery()),
        None => path,
    };
    Some(OldPart {
        plants: part.plants as i32,
        planned: complete.then(|| lost(Path::new(tank, from, &class_days))),
        past: Path::new(tank, from, if stands { &done } else { &[] }),
        stands,
        habit: lost(Path::new(tank, from, &class_days)),
        leaves: ends_by(part).map_or(0, |date| day(net, date)),
        holes: part.holes.clone(),
    })
}
