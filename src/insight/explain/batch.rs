//! Why a batch has the dates it has: the days on which it could have been sown for the same harvest, and what speaks against
//! each.

use crate::check::{Rule, Violation, check};
use crate::domain::calendar::{days_between, minus_days, plus_days};
use crate::domain::explain::{Against, BatchExplained, SowDay};
use crate::domain::growth::{DayWindow, Growing, Stand, Way};
use crate::domain::plan::{Batch, Harvest, Origin, Part, Plan};
use crate::domain::site::Site;
use crate::domain::term::Term;
use chrono::NaiveDate;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// Explains the dates of a batch; days before `today` are past.
pub fn of_batch(term: &Term, plan: &Plan, batch: &Batch, today: NaiveDate) -> BatchExplained {
    let ours = Ours::new(term, plan, batch, today);
    BatchExplained {
        batch: batch.id.clone(),
        sow_days: ours.as_ref().map_or_else(Vec::new, Ours::sow_days),
        harvests: ours.as_ref().map_or_else(Vec::new, Ours::harvests),
    }
}

/// A batch with what its dates hang on.
pub(super) struct Ours<'a> {
    pub(super) term: &'a Term,
    pub(super) plan: &'a Plan,
    pub(super) batch: &'a Batch,
    pub(super) site: &'a Site,
    pub(super) growing: Growing<'a>,
    /// The first day on which something can still be done.
    pub(super) open: NaiveDate,
    /// What the checker has to say of the plan as it is.
    before: Vec<Violation>,
}

/// A way to bring plants to their first harvest.
struct Try {
    moved: NaiveDate,
    against: Option<Against>,
}

impl<'a> Ours<'a> {
    fn new(term: &'a Term, plan: &'a Plan, batch: &'a Batch, today: NaiveDate) -> Option<Self> {
        let (wanted, site) = (term.crop(&batch.crop)?, term.site(&batch.site)?);
        let open = plan.replanned.map_or(today, |replanned| replanned.max(today)).max(term.start);
        let growing = Growing::new(&wanted.crop, site);
        Some(Self { term, plan, batch, site, growing, open, before: check(term, plan) })
    }

    pub(super) fn taken(&self) -> impl Iterator<Item = (&'a Part, &'a Harvest)> {
        self.batch.parts.iter().flat_map(|part| part.harvests.iter().map(move |harvest| (part, harvest)))
    }

    /// Every class day on which the batch could be sown, or come, so that its first harvest may be taken when it is.
    fn sow_days(&self) -> Vec<SowDay> {
        let first = self.taken().min_by_key(|(_, harvest)| harvest.date);
        let Some((part, harvest)) = first.filter(|_| !self.batch.is_standing()) else { return Vec::new() };
        let Some(ages) = self.ages(harvest) else { return Vec::new() };
        let older = u32::try_from(days_between(self.batch.born(), self.batch.sown)).unwrap_or(0);
        // What is sown has no choice any more, and may have been sown on any day.
        let class_days =
            self.site.class_days.iter().filter(|day| self.open <= self.batch.sown && self.open <= **day);
        let days: BTreeSet<NaiveDate> = class_days.copied().chain([self.batch.sown]).collect();
        let fit = days.into_iter().filter_map(|day| {
            let age = older + u32::try_from(days_between(day, harvest.date)).ok()?;
            (ages.contains(&age) || day == self.batch.sown).then_some((day, age))
        });
        let row = |(day, age): (NaiveDate, u32)| {
            let tried = self.attempt(day, part, harvest);
            let moved = tried.as_ref().map(|tried| tried.moved);
            let grown = moved.map(|moved| self.grams(&self.planted(day, moved, harvest.date), harvest.way));
            let is_planned = day == self.batch.sown;
            let against = tried.map_or(Some(Against::NoMove), |tried| tried.against);
            SowDay { day, age, grams: grown, is_planned, against: against.filter(|_| !is_planned) }
        };
        fit.map(row).collect()
    }

    /// Days since sowing, or since the cut before, at which such a harvest may be taken.
    pub(super) fn ages(&self, harvest: &Harvest) -> Option<DayWindow> {
        match (harvest.number, harvest.way) {
            (1, Way::Cut) => self.growing.cut_window(),
            (1, Way::WholeHead) => self.growing.pull_window(),
            _ => self.growing.regrowth_window(),
        }
    }

    /// The best way from a sowing to the first harvest: the earliest move that is possible, or else what comes nearest to it; none
    /// if there is no class day for the move.
    fn attempt(&self, sown: NaiveDate, part: &Part, harvest: &Harvest) -> Option<Try> {
        let planned = (sown == self.batch.sown).then_some(part.transplant);
        let until = minus_days(harvest.date, self.growing.tank_days());
        let moves: Vec<NaiveDate> = match (planned, self.batch.origin) {
            (Some(planned), _) => vec![planned],
            (None, Origin::InCups) => vec![sown],
            (None, origin) => {
                let older = if let Origin::Bought { days } = origin { days } else { 0 };
                let fits = |day: &&NaiveDate| {
                    let days = u32::try_from(days_between(sown, **day));
                    **day <= until
                        && days.is_ok_and(|days| self.growing.nursery_window().contains(&(days + older)))
                };
                self.site.class_days.iter().filter(fits).copied().collect()
            }
        };
        let tries = moves.into_iter().map(|moved| Try { moved, against: self.against(sown, moved, part) });
        let mut tries: Vec<Try> = tries.collect();
        let possible = tries.iter().position(|tried| tried.against.is_none());
        let rank = |tried: &Try| tried.against.as_ref().map_or(0, Against::rank);
        let nearest = || (0..tries.len()).min_by_key(|at| (rank(&tries[*at]), Reverse(tries[*at].moved)));
        let best = possible.or_else(nearest)?;
        Some(tries.swap_remove(best))
    }

    fn against(&self, sown: NaiveDate, moved: NaiveDate, part: &Part) -> Option<Against> {
        let broken = self.broken(sown, moved, part);
        // What a break forbids, an empty tank would not allow either.
        let alone = broken.iter().find(|found| matches!(found.rule, Rule::LeftAlone | Rule::Water));
        if let Some(alone) = alone {
            return Some(Against::Rule(alone.message.clone()));
        }
        self.no_holes(moved, part).or_else(|| {
            // Any other day is out of a rhythm; that is a reason only where there is no better one.
            let worst = broken.into_iter().min_by_key(|found| found.rule == Rule::Rhythm)?;
            Some(if worst.rule == Rule::Rhythm { Against::OffRhythm } else { Against::Rule(worst.message) })
        })
    }

    /// What the checker says of the plan with nothing but the batch's first days changed: of the nursery, days alone, later harvests,
    /// hands, cleaning and all else that should be. Of numbered holes it knows only those that are planned.
    fn broken(&self, sown: NaiveDate, moved: NaiveDate, part: &Part) -> Vec<Violation> {
        if sown == self.batch.sown {
            return Vec::new();
        }
        let mut plan = self.plan.clone();
        for batch in plan.batches.iter_mut().filter(|batch| batch.id == self.batch.id) {
            batch.sown = sown;
            for other in batch.parts.iter_mut().filter(|other| other.transplant == part.transplant) {
                other.transplant = moved;
            }
        }
        let found = check(self.term, &plan).into_iter().filter(|new| new.rule.tells_what_to_do());
        found.filter(|new| !self.before.contains(new)).collect()
    }

    /// Holes that are missing from an earlier move until the planned one.
    fn no_holes(&self, moved: NaiveDate, part: &Part) -> Option<Against> {
        let together: Vec<&Part> = self
            .batch
            .parts
            .iter()
            .filter(|other| {
                other.tank == part.tank && other.transplant == part.transplant && !other.lost_in_nursery()
            })
            .collect();
        let room = |part: &Part| part.plants + part.kept_empty.len() as u32;
        let needed = together.iter().map(|part| room(part)).sum();
        let tank = self.site.tank(&part.tank)?;
        if tank.out_during(moved, part.transplant).is_some() {
            return Some(Against::Out { tank: part.tank.clone() });
        }
        let rest = self.term.rules.turnover_days;
        let others = self.plan.batches.iter().filter(|other| other.site == self.site.id);
        let others: Vec<&Part> = others
            .flat_map(|other| &other.parts)
            .filter(|other| other.tank == part.tank && !other.lost_in_nursery())
            .filter(|other| !together.iter().any(|own| std::ptr::eq(*own, *other)))
            .collect();
        let stands = |other: &&&Part, day: NaiveDate| {
            other.transplant <= day && other.leaves().is_none_or(|leaves| day < plus_days(leaves, rest))
        };
        let free = |day: NaiveDate| {
            let used: u32 = others.iter().filter(|other| stands(other, day)).map(|other| room(other)).sum();
            tank.lid.holes().saturating_sub(used)
        };
        let days = moved.iter_days().take_while(|day| *day < part.transplant).map(|day| (day, free(day)));
        let (day, free) = days.filter(|(_, free)| *free < needed).last()?;
        Some(Against::Holes { tank: part.tank.clone(), day, free, needed })
    }

    /// A plant sown and moved on these days, on a later one on which it was not cut yet.
    pub(super) fn planted(&self, sown: NaiveDate, moved: NaiveDate, then: NaiveDate) -> Stand {
        let between = |from, to| u32::try_from(days_between(from, to)).unwrap_or(0);
        let stand = match self.batch.origin {
            Origin::Bought { days } => self.growing.planted(days + between(sown, moved)),
            Origin::InCups => self.growing.never_held(0),
            Origin::Sown | Origin::Standing => self.growing.planted(between(sown, moved)),
        };
        self.growing.later(stand, between(moved, then))
    }

    /// Grams to expect from such a plant.
    pub(super) fn grams(&self, stand: &Stand, way: Way) -> f64 {
        self.growing.expected(self.growing.grams(*stand), way) * self.batch.origin.growing(self.growing.crop)
    }
}
