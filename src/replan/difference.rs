//! The difference of two plans.

use crate::domain::calendar::Week;
use crate::domain::difference::{
    BatchChange, Change, Detail, Difference, TankSide, TaskLine, TaskSide, TaskTally, WeekChange,
};
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::plan::{Batch, Origin, Plan, Serving, Shortfall};
use crate::domain::tasks::{Handful, Task, TaskKind, tasks};
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// Plans to compare.
#[derive(Debug, Clone, Copy)]
pub struct Plans<'a> {
    /// What people knew.
    pub before: &'a Plan,
    /// What is left of it if nothing is done, after something went wrong.
    pub left: Option<&'a Plan>,
    /// What counts now.
    pub after: &'a Plan,
}

/// What is different from `from` on. Expected grams alone make no task another one: nobody has to do anything else.
pub fn difference(term: &Term, plans: Plans, from: NaiveDate) -> Difference {
    let (before, after) = (by_batch(term, plans.before), by_batch(term, plans.after));
    let mut tally = TaskTally::default();
    let mut batches: Vec<BatchChange> = Vec::new();
    let mut lines: Vec<TaskLine> = Vec::new();
    for batch in all_batches(plans) {
        let nothing = Tasks::new();
        let sides = Sides {
            before: before.get(&batch.id).unwrap_or(&nothing),
            after: after.get(&batch.id).unwrap_or(&nothing),
            from,
        };
        batches.push(change(batch, &sides, &mut tally, &mut lines));
    }
    let turn = |site: &SiteId| {
        let place = term.sites.iter().position(|other| other.id == *site);
        (place.unwrap_or(usize::MAX), site.clone())
    };
    batches.sort_by_key(|batch| (turn(&batch.site), batch.day, batch.batch.clone()));
    lines.sort_by_key(|line| (turn(&line.site), line.day(), line.kind.turn(), line.batch.clone()));
    Difference {
        from,
        before: plans.before.revision,
        after: plans.after.revision,
        batches,
        weeks: weeks(plans, from),
        tasks: tally,
        lines,
        because: Vec::new(),
    }
}

/// The tasks of a batch by kind and number, as calendars know them.
type Tasks<'a> = BTreeMap<(TaskKind, u32), Task<'a>>;

fn by_batch<'a>(term: &Term, plan: &'a Plan) -> BTreeMap<&'a BatchId, Tasks<'a>> {
    let mut all: BTreeMap<&BatchId, Tasks> = BTreeMap::new();
    for task in tasks(term, plan) {
        all.entry(&task.batch.id).or_default().insert((task.kind, task.number), task);
    }
    all
}

/// Each batch once, as it is after if it is there.
fn all_batches(plans: Plans<'_>) -> impl Iterator<Item = &Batch> {
    let known: BTreeSet<&BatchId> = plans.after.batches.iter().map(|batch| &batch.id).collect();
    let gone = plans.before.batches.iter().filter(move |batch| !known.contains(&batch.id));
    plans.after.batches.iter().chain(gone)
}

/// What is to be done for a batch before and after.
struct Sides<'a> {
    before: &'a Tasks<'a>,
    after: &'a Tasks<'a>,
    from: NaiveDate,
}

impl<'a> Sides<'a> {
    /// Tasks that are not past on both sides, paired, by kind and day.
    fn pairs(&self) -> Vec<(Option<&'a Task<'a>>, Option<&'a Task<'a>>)> {
        let keys: BTreeSet<_> = self.before.keys().chain(self.after.keys()).collect();
        let mut pairs: Vec<_> = keys
            .into_iter()
            .map(|key| (self.before.get(key), self.after.get(key)))
            .filter(|(before, after)| before.iter().chain(after.iter()).any(|task| task.date >= self.from))
            .collect();
        pairs.sort_by_key(|(before, after)| after.or(*before).map(|task| (task.kind, task.date)));
        pairs
    }
}

fn change(batch: &Batch, sides: &Sides, tally: &mut TaskTally, lines: &mut Vec<TaskLine>) -> BatchChange {
    let pairs = sides.pairs();
    let mut details = Vec::new();
    let mut changed_on: Option<NaiveDate> = None;
    for (before, after) in &pairs {
        let found = compare(*before, *after, tally);
        if !found.is_empty() {
            let first = before.iter().chain(after.iter()).map(|task| task.date).min();
            changed_on = [changed_on, first].into_iter().flatten().min();
            lines.extend(line(*before, *after));
        }
        details.extend(found);
    }
    let change = in_a_word(&pairs, sides, &details);
    BatchChange {
        batch: batch.id.clone(),
        crop: batch.crop.clone(),
        site: batch.site.clone(),
        day: changed_on.unwrap_or(batch.sown),
        change,
        details: drawn_together(details),
    }
}

/// A task that changes, as it was and as it is.
fn line(before: Option<&Task>, after: Option<&Task>) -> Option<TaskLine> {
    let task = after.or(before)?;
    let (site, batch, crop) = (task.batch.site.clone(), task.batch.id.clone(), task.batch.crop.clone());
    Some(TaskLine { site, batch, crop, kind: task.kind, before: before.map(side), after: after.map(side) })
}

fn side(task: &Task) -> TaskSide {
    let in_tanks = task.kind != TaskKind::Sow || task.batch.origin == Origin::InCups;
    let handfuls = task.handfuls().into_iter().filter(|_| in_tanks);
    let place =
        |handful: Handful| TankSide { tank: handful.tank.clone(), way: handful.way, plants: handful.plants };
    let amount = if task.kind == TaskKind::Sow { task.batch.plugs } else { task.plants() };
    TaskSide { day: task.date, amount, tanks: handfuls.map(place).collect() }
}

/// What is different between a task before and after, counted.
fn compare(before: Option<&Task>, after: Option<&Task>, tally: &mut TaskTally) -> Vec<Detail> {
    let (Some(old), Some(new)) = (before, after) else {
        let Some(task) = before.or(after) else { return Vec::new() };
        let count = if before.is_some() { &mut tally.dropped } else { &mut tally.added };
        *count += 1;
        let day = |side: Option<&Task>| side.map(|task| task.date);
        return vec![Detail::Day {
            kind: task.kind,
            number: task.number,
            before: day(before),
            after: day(after),
        }];
    };
    let mut details = Vec::new();
    if old.date != new.date {
        let (kind, number) = (new.kind, new.number);
        details.push(Detail::Day { kind, number, before: Some(old.date), after: Some(new.date) });
    }
    if new.kind == TaskKind::Sow {
        let (before, after) = (old.batch.plugs, new.batch.plugs);
        if (before, old.batch.seeds_per_plug) != (after, new.batch.seeds_per_plug) {
            details.push(Detail::Plugs { before, after });
        } else if new.batch.origin == Origin::InCups && places(old) != places(new) {
            details.push(Detail::Place);
        }
    } else if old.plants() != new.plants() {
        let (kind, number, day) = (new.kind, new.number, new.date);
        details.push(Detail::Plants { kind, number, day, before: old.plants(), after: new.plants() });
    } else if places(old) != places(new) {
        details.push(Detail::Place);
    }
    let ways_now = ways(new);
    if ways(old) != ways_now {
        let (cuts, pulls) = (ways_now.contains(&false), ways_now.contains(&true));
        details.push(Detail::Way { number: new.number, day: new.date, cuts, pulls });
    }
    if old.date != new.date {
        tally.moved += 1;
    } else if details.is_empty() {
        tally.kept += 1;
    } else {
        tally.changed += 1;
    }
    details
}

/// Holes in use and kept empty, by tank and by whether the plants stay, from however many parts they come.
fn places<'a>(task: &Task<'a>) -> BTreeMap<(&'a TankId, bool), BTreeSet<(u32, bool)>> {
    let mut places: BTreeMap<(&TankId, bool), BTreeSet<(u32, bool)>> = BTreeMap::new();
    for handful in task.handfuls() {
        let used = handful.holes.iter().map(|hole| (*hole, true));
        let kept_empty = handful.kept_empty.iter().map(|hole| (*hole, false));
        places.entry((handful.tank, handful.cut)).or_default().extend(used.chain(kept_empty));
    }
    places
}

/// Whether plants are pulled (true), cut (false), or both.
fn ways(task: &Task) -> BTreeSet<bool> {
    task.harvests().map(|harvest| harvest.way == Way::WholeHead).collect()
}

fn in_a_word(pairs: &[(Option<&Task>, Option<&Task>)], sides: &Sides, details: &[Detail]) -> Change {
    let (open_before, open_after) =
        (pairs.iter().any(|(before, _)| before.is_some()), pairs.iter().any(|(_, after)| after.is_some()));
    if sides.after.is_empty() && !sides.before.is_empty() || open_before && !open_after {
        return Change::Dropped;
    }
    if sides.before.is_empty() && !sides.after.is_empty() || open_after && !open_before {
        return Change::Added;
    }
    let resizes = |detail: &Detail| matches!(detail, Detail::Plugs { .. } | Detail::Plants { .. });
    match (details.iter().any(|detail| !resizes(detail)), details.iter().any(resizes)) {
        (false, false) => Change::Kept,
        (true, false) => Change::Moved,
        (false, true) => Change::Resized,
        (true, true) => Change::MovedAndResized,
    }
}

/// Each detail once: that plants stand in other holes concerns all of their tasks.
fn drawn_together(details: Vec<Detail>) -> Vec<Detail> {
    let mut once: Vec<Detail> = Vec::new();
    for detail in details {
        if !once.contains(&detail) {
            once.push(detail);
        }
    }
    once
}

/// Weeks from that of `from` on that have a serving day in one of the plans.
fn weeks(plans: Plans, from: NaiveDate) -> Vec<WeekChange> {
    let first = Week::of(from);
    let by_week = |plan: &Plan, grams: fn(&Serving) -> f64| -> BTreeMap<Week, f64> {
        let mut weeks = BTreeMap::new();
        for serving in plan.servings.iter().filter(|serving| Week::of(serving.date) >= first) {
            *weeks.entry(Week::of(serving.date)).or_insert(0.0) += grams(serving);
        }
        weeks
    };
    let planned = |serving: &Serving| serving.planned;
    let (before, after) = (by_week(plans.before, planned), by_week(plans.after, planned));
    let left = plans.left.map(|plan| by_week(plan, planned));
    // A week without a serving day in the plan after is one in which nothing is wanted any more.
    let wanted = by_week(plans.after, |serving| serving.target);
    let all: BTreeSet<Week> = before.keys().chain(after.keys()).copied().collect();
    let of = |weeks: &BTreeMap<Week, f64>, week: Week| weeks.get(&week).copied().unwrap_or(0.0);
    all.into_iter()
        .map(|week| WeekChange {
            week,
            target: of(&wanted, week),
            before: of(&before, week),
            left: left.as_ref().map(|left| of(left, week)),
            after: of(&after, week),
            shortfall: main_reason(plans.after, week),
        })
        .collect()
}

/// The reason of the day of a week that misses most.
fn main_reason(plan: &Plan, week: Week) -> Option<Shortfall> {
    let days = plan.servings.iter().filter(|serving| Week::of(serving.date) == week);
    days.max_by(|one, other| one.short().total_cmp(&other.short())).and_then(|serving| serving.shortfall)
}
