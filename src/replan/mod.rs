//! Going on after something went wrong: the plan and the journal to a new plan that changes as little as it must.

pub mod accept;
mod carry;
mod circumstances;
mod counts;
pub mod difference;
mod effects;
mod late;
pub mod learn;
mod news;
pub mod outages;
mod put_off;
pub mod refusal;
mod replay;
pub mod review;
pub mod state;
pub mod weighed;

use crate::check;
use crate::domain::calendar::plus_days;
use crate::domain::ids::TankId;
use crate::domain::journal::{Entry, Journal, Kind};
use crate::domain::plan::Plan;
use crate::domain::term::{Term, Weights};
use crate::schedule::{self, Options, Resumed, ScheduleError, UnderWay, Watch};
use chrono::NaiveDate;
use std::collections::BTreeMap;

use carry::blame;
pub use carry::carried;
pub use circumstances::laid_over;
pub use news::{causes, news};
pub use put_off::next_work;
use replay::{Event, Happened};

/// How much people mind changes in their calendars.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Steady {
    /// Changes hardly count.
    Low,
    /// A changed task must be worth a dozen grams of greens.
    #[default]
    Usual,
    /// Only what helps much is changed.
    High,
}

impl Steady {
    /// Points for a changed task: what so many grams of greens cost that are missing.
    pub fn price(self, weights: &Weights) -> f64 {
        let grams = match self {
            Self::Low => 0.7,
            Self::Usual => 12.0,
            Self::High => 27.0,
        };
        grams * weights.short
    }
}

/// What came of planning again.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Nothing happened since the plan was made that it does not know of.
    NothingNew,
    /// A new plan, and what the old one would have come to.
    New(Box<Resumed>),
}

/// The first day that can still be planned: `day`, or a later one if the journal tells of plants on that day or after
/// it; days on which work was done are over.
pub fn first_open_day(journal: &Journal, day: NaiveDate) -> NaiveDate {
    let open = |entry: &&Entry| match entry.what.kind() {
        Kind::Sown | Kind::Transplanted | Kind::Harvested => Some(plus_days(entry.day, 1)),
        Kind::CameUp | Kind::Lost => Some(entry.day),
        _ => None,
    };
    journal.in_force().iter().filter_map(open).fold(day, NaiveDate::max)
}

/// Plans again from `today` on. `term` is the term as it really is, see [`laid_over`]; `price` are the points for a
/// task that changes, such as [`Steady::price`].
///
/// # Errors
/// As [`schedule::resume`].
pub fn replan(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    (today, price): (NaiveDate, f64),
    options: &Options,
    watch: &Watch,
) -> Result<Outcome, ScheduleError> {
    let standing = carried(term, plan, journal, today);
    let outlook = weighed::outlook(term, plan, journal, today);
    if holds(term, plan, &standing) && !weighed::tells_news(plan, &outlook, today) {
        return Ok(Outcome::NothingNew);
    }
    let mut term = with_past_days(term, &standing, today);
    let factors = weighed::counted(standing.clone(), &outlook, journal, today).mass_factors;
    term.count_with(&factors);
    let known = sown_as(plan, &standing);
    let under_way = UnderWay {
        plan: &standing,
        known: &known,
        today,
        price,
        concerned: &news::concerned(&term, plan, &standing, journal),
        only_losses: !weighed::tells_news(plan, &outlook, today) && news::only_losses(plan, journal),
    };
    let mut resumed = schedule::resume(&term, &under_way, options, watch)?;
    for new in [&mut resumed.left, &mut resumed.plan] {
        new.mass_factors.clone_from(&factors);
        blame(new, plan);
    }
    Ok(Outcome::New(Box::new(resumed)))
}

/// Whether the journal tells of something that the plan has no answer to yet. `term` is the term as it really is.
#[must_use]
pub fn is_overtaken(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> bool {
    let open = first_open_day(journal, today);
    !holds(term, plan, &carried(term, plan, journal, open))
        || weighed::tells_news(plan, &weighed::outlook(term, plan, journal, open), open)
}

/// Numbers of the holes of those plants which an entry says were harvested or lost, named or not, by tank; sorted, and
/// empty if they cannot be told. `term` is the term as it really is.
#[must_use]
pub fn holes_meant(
    (term, plan): (&Term, &Plan),
    journal: &Journal,
    entry: &Entry,
    today: NaiveDate,
) -> BTreeMap<TankId, Vec<u32>> {
    let plan = put_off::put_off(plan, journal);
    let replay = replay::replay(term, &plan, journal, today);
    let gone = |event: &Event| event.entry == Some(entry.id) && event.what != Happened::Moved;
    let lots = replay.batches.iter().filter(|batch| Some(&batch.batch.id) == entry.what.batch());
    let meant =
        lots.flat_map(|batch| &batch.lots).filter(|lot| lot.moved().is_some() && lot.events.iter().any(gone));
    let mut holes: BTreeMap<TankId, Vec<u32>> = BTreeMap::new();
    for lot in meant {
        let here = holes.entry(lot.tank.clone()).or_default();
        here.extend(&lot.holes);
        here.sort_unstable();
    }
    holes
}

/// Whether the plan is as good as ever, as things stand.
fn holds(term: &Term, plan: &Plan, standing: &Plan) -> bool {
    standing.batches == plan.batches && check::check(term, plan).is_empty()
}

/// What people know of each batch, told of the batch that was really sown: day and way of its beginning tell two of a crop
/// apart.
fn sown_as(plan: &Plan, standing: &Plan) -> Plan {
    let mut known = plan.clone();
    for batch in &mut known.batches {
        let really = standing.batches.iter().find(|other| other.id == batch.id);
        if let Some(really) = really {
            (batch.sown, batch.origin) = (really.sown, really.origin);
        }
    }
    // What is sown comes before what was not and would have been that day: twins go by their order.
    known.batches.sort_by_key(|batch| standing.batches.iter().all(|other| other.id != batch.id));
    known.number_tasks(Some(plan), None);
    known
}

/// The term with every past day on which work was done as a class day, lest work seem undone because the term file
/// names other days by now.
fn with_past_days(term: &Term, plan: &Plan, today: NaiveDate) -> Term {
    let mut term = term.clone();
    for site in &mut term.sites {
        let days: Vec<NaiveDate> = plan
            .batches
            .iter()
            .filter(|batch| batch.site == site.id)
            .flat_map(|batch| {
                let parts = batch.parts.iter();
                let moved = parts.clone().filter(|part| !part.lost_in_nursery()).map(|part| part.transplant);
                let harvests = parts.flat_map(|part| &part.harvests).map(|harvest| harvest.date);
                moved.chain(harvests).chain([batch.sown])
            })
            .filter(|day| (term.start..today).contains(day))
            .collect();
        site.meet_also(days);
    }
    term
}
