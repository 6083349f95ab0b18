//! The plan as it stands: each lot of the replay as a part, with what happened to it and what is still planned for it.
//!
//! What is planned goes on where nothing stands against it. Plants that missed a harvest keep neither that one nor later
//! ones, seedlings that missed their move no day and no hole, so that new ones are found for them. Weighed grams stay in
//! the journal; the plan goes on with its estimates.

use super::late::weigh_anew;
use super::put_off::put_off;
use super::replay::{BatchReplay, Event, Happened, Lot, heard, replay};
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::journal::{self, Entry, Journal};
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Arithmetic, Harvest, NOTICEABLE, Origin, Part, Plan, Served, Serving, Shortfall};
use crate::domain::term::Term;
use chrono::NaiveDate;

/// The plan with everything the journal has told since it was made; what lies before `today` is past. Its tasks are known by
/// the numbers they had.
#[must_use]
pub fn carried(term: &Term, known: &Plan, journal: &Journal, today: NaiveDate) -> Plan {
    let mut plan = with_told(term, known, journal, today, Missed::Open);
    plan.number_tasks(Some(known), Some(today));
    plan
}

/// Days that were as short before are so for the reason known then, others because of what failed.
pub(super) fn blame(new: &mut Plan, old: &Plan) {
    for serving in new.servings.iter_mut().filter(|serving| serving.short() >= NOTICEABLE) {
        let as_short = |before: &&Serving| serving.short() <= before.short() + NOTICEABLE;
        let before = old.servings.iter().find(|before| before.date == serving.date).filter(as_short);
        serving.shortfall = before.and_then(|before| before.shortfall).or(Some(Shortfall::Failure));
    }
}

/// The same if what was missed is done on the next class day. Plants that are late have the mass that they will have then.
pub(super) fn going_on(term: &Term, known: &Plan, journal: &Journal, today: NaiveDate) -> Plan {
    let mut plan = with_told(term, known, journal, today, Missed::DoneNext);
    weigh_anew(&mut plan, known, term, today);
    plan.number_tasks(Some(known), Some(today));
    plan
}

/// What becomes of moves and harvests that were planned and not done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Missed {
    /// Somebody has to find a day for them.
    Open,
    /// They are done on the site's next class day.
    DoneNext,
}

fn with_told(term: &Term, known: &Plan, journal: &Journal, today: NaiveDate, missed: Missed) -> Plan {
    let known = &*put_off(known, journal);
    let mut plan = known.clone();
    let past = heard(known, journal, today);
    for entry in past.iter().filter(|entry| !known.known.knows(entry)) {
        if entry.what.kind() == journal::Kind::Sown {
            sown(&mut plan, entry, &past);
        }
    }
    let mut replay = replay(term, known, journal, today);
    let there = |replay: &BatchReplay<'_>| {
        let batch = replay.batch;
        batch.is_standing() || batch.sown >= today || replay.sown.is_some()
    };
    replay.batches.retain(there);
    plan.batches.retain(|batch| replay.batches.iter().any(|replay| replay.batch.id == batch.id));
    for (batch, replay) in plan.batches.iter_mut().zip(&replay.batches) {
        let next = term.site(&batch.site).and_then(|site| site.class_days.iter().find(|day| **day >= today));
        let next = next.copied().filter(|_| missed == Missed::DoneNext);
        let view = View { term, replay, today, sown: batch.sown, next };
        batch.parts = view.parts();
        if batch.plants() > replay.batch.plants() {
            // Spare plugs came to something.
            let needed = term
                .crop(&batch.crop)
                .map_or(0, |wanted| batch.origin.plugs_for(&wanted.crop, batch.plants()));
            batch.plugs = batch.plugs.max(needed);
        }
    }
    close_tanks(term, &mut plan, today);
    plan.known = KnownEntries::all_of(journal, &known.known);
    plan.replanned = Some(known.replanned.map_or(today, |before| before.max(today)));
    plan
}

/// A batch is sown on the day it really was, unless something happened to it before.
fn sown(plan: &mut Plan, entry: &Entry, past: &[&Entry]) {
    let Some(at) = plan.batches.iter().position(|batch| Some(&batch.id) == entry.what.batch()) else {
        return;
    };
    let batch = &plan.batches[at];
    let before = |other: &&Entry| other.what.batch() == Some(&batch.id) && other.day < entry.day;
    let lost_before = batch.parts.iter().any(|part| part.lost.is_some_and(|lost| lost < entry.day));
    let happened = lost_before || past.iter().any(|other| before(other) && !other.what.kind().only_tells());
    if happened {
        return;
    }
    let batch = &mut plan.batches[at];
    if let Origin::Bought { days } = &mut batch.origin {
        // What comes on another day is older or younger.
        *days = (i64::from(*days) + days_between(batch.sown, entry.day)).max(1) as u32;
    }
    batch.sown = entry.day;
}

/// A batch's lots as seen by a plan.
struct View<'a> {
    term: &'a Term,
    replay: &'a BatchReplay<'a>,
    today: NaiveDate,
    /// When the plan says it was sown.
    sown: NaiveDate,
    /// When what was missed is done.
    next: Option<NaiveDate>,
}

impl View<'_> {
    fn parts(&self) -> Vec<Part> {
        let mut lots: Vec<&Lot> = self.replay.lots.iter().collect();
        // What was split off comes beside what is left; spare plants come last.
        lots.sort_by_key(|lot| lot.part.unwrap_or(usize::MAX));
        lots.into_iter().map(|lot| self.part(lot)).collect()
    }

    fn planned(&self, lot: &Lot) -> Option<&Part> {
        lot.part.map(|part| &self.replay.batch.parts[part])
    }

    fn part(&self, lot: &Lot) -> Part {
        let planned = self.planned(lot);
        let mut part = Part {
            plants: lot.plants,
            tank: lot.tank.clone(),
            transplant: self.moved(lot),
            holes: lot.holes.clone(),
            kept_empty: lot.kept_empty.clone(),
            cuts_before: planned.map_or(0, |part| part.cuts_before),
            lost: None,
            harvests: self.harvests(lot),
        };
        match lot.end() {
            Some(Event { day, what: Happened::Lost, .. }) => {
                let told = planned.is_some_and(|part| part.lost == Some(*day));
                let day = (*day).max(self.sown);
                if told {
                    part.lost = Some(day);
                } else {
                    end(&mut part, lot.lost_in_nursery(), day);
                }
            }
            _ if lot.waits() && part.transplant < self.today => match self.next {
                Some(next) => {
                    part.transplant = next;
                    part.harvests.retain(|harvest| harvest.date > next);
                }
                None => still_in_nursery(&mut part, self.today),
            },
            _ => {}
        }
        part
    }

    /// When a lot came into its tank, or will. What is sown straight into cups came when its batch was sown.
    fn moved(&self, lot: &Lot) -> NaiveDate {
        let moved = lot.moved();
        if moved.is_some() && self.replay.batch.origin == Origin::InCups {
            return self.sown;
        }
        moved.or(self.planned(lot).map(|part| part.transplant)).unwrap_or(self.today)
    }

    /// The harvests that were taken, and those that are still planned.
    fn harvests(&self, lot: &Lot) -> Vec<Harvest> {
        let planned = self.planned(lot);
        let share = planned.map_or(1.0, |part| f64::from(lot.plants) / f64::from(part.plants.max(1)));
        let number = |number: usize| planned.and_then(|part| part.harvests.get(number));
        let mut harvests: Vec<Harvest> = Vec::new();
        for event in lot.harvests() {
            let way = if matches!(event.what, Happened::Pulled(_)) { Way::WholeHead } else { Way::Cut };
            let as_planned = event.what.harvest().and_then(number);
            let harvest = as_planned.map_or_else(unplanned, |harvest| shared(harvest, share));
            harvests.push(Harvest { date: event.day, way, ..harvest });
        }
        if lot.end().is_none() {
            let open = planned.iter().flat_map(|part| part.harvests.iter().skip(lot.harvests_done));
            let missed = open.clone().next().is_some_and(|next| next.date < self.today);
            let on = |open: &Harvest| if missed { Some(open.date.max(self.next?)) } else { Some(open.date) };
            for later in open {
                let Some(date) = on(later) else { break };
                if harvests.last().is_none_or(|before| date > before.date) {
                    harvests.push(Harvest { date, ..shared(later, share) });
                }
            }
        }
        self.number(lot, harvests)
    }

    /// Numbers harvests through. After one that nobody planned, one of those planned may be too many.
    fn number(&self, lot: &Lot, mut harvests: Vec<Harvest>) -> Vec<Harvest> {
        let before = self.planned(lot).map_or(0, |part| part.cuts_before);
        let crop = self.term.crop(&self.replay.batch.crop).map(|wanted| &wanted.crop);
        let most = crop
            .map_or(u32::MAX, |crop| crop.regrowth.as_ref().map_or(1, |regrowth| regrowth.harvests.value));
        let taken = lot.harvests().count();
        harvests.truncate((most.saturating_sub(before) as usize).max(taken));
        for (harvest, number) in harvests.iter_mut().zip(before + 1..) {
            harvest.number = number;
        }
        harvests
    }
}

/// The share of a planned harvest that some of the plants give.
fn shared(planned: &Harvest, share: f64) -> Harvest {
    let serves = planned.serves.iter().map(|served| Served { grams: served.grams * share, ..*served });
    Harvest { grams: planned.grams * share, serves: serves.collect(), ..planned.clone() }
}

/// A harvest nobody planned. What it gives is worked out when the plan is made anew.
fn unplanned() -> Harvest {
    Harvest {
        date: NaiveDate::MIN,
        way: Way::Cut,
        number: 0,
        grams: 0.0,
        arithmetic: Arithmetic::default(),
        serves: Vec::new(),
    }
}

/// Ends a part by a loss. Plants lost on the day they came into a tank count as lost in the nursery.
fn end(part: &mut Part, in_nursery: bool, day: NaiveDate) {
    part.lost = Some(day);
    part.harvests.retain(|harvest| harvest.date < day);
    if in_nursery || part.transplant >= day {
        part.transplant = day;
        part.holes.clear();
        part.kept_empty.clear();
        part.harvests.clear();
    }
}

/// What stood in a tank when it went out of use is lost; what should have come into it since then has not.
fn close_tanks(term: &Term, plan: &mut Plan, today: NaiveDate) {
    for site in &term.sites {
        for tank in &site.tanks {
            for out in tank.out.iter().filter(|out| out.first <= today) {
                let batches = plan.batches.iter_mut().filter(|batch| batch.site == site.id);
                let parts = batches.flat_map(|batch| {
                    let origin = batch.origin;
                    batch.parts.iter_mut().map(move |part| (origin, part))
                });
                let living = parts.filter(|(_, part)| !part.lost_in_nursery());
                for (origin, part) in
                    living.filter(|(_, part)| part.tank == tank.id && part.transplant < today)
                {
                    if out.contains(part.transplant) && origin == Origin::InCups {
                        end(part, true, part.transplant);
                    } else if out.contains(part.transplant) {
                        still_in_nursery(part, today);
                    } else if part.transplant < out.first
                        && part.leaves().is_none_or(|leaves| leaves > out.first)
                    {
                        end(part, false, out.first);
                    }
                }
            }
        }
    }
}

/// Plants that were not moved wait for other days.
fn still_in_nursery(part: &mut Part, today: NaiveDate) {
    part.transplant = today;
    part.holes.clear();
    part.kept_empty.clear();
    part.harvests.clear();
}
