//! What was recorded otherwise than planned or expected by more than usual, so that it may be a slip of the pen.

use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::journal::{Entry, Harvested, Journal, What};
use crate::domain::plan::{Batch, Harvest, Plan};
use crate::domain::state::BatchState;
use crate::domain::term::Term;
use crate::replan::state::state;
use crate::replan::weighed::surprise;
use crate::report::Look;
use crate::report::words::{and, counted, short_day};
use chrono::NaiveDate;

/// Days by which work may be done earlier or later than planned without a word (common practice, no source: a class day missed is
/// made up for within a week).
const A_FEW_DAYS: i64 = 7;
/// Remarks on what was recorded at a time; whoever takes over a long list reads no more.
const MOST: usize = 8;

/// Remarks on entries that are out of line with the plan or with what was to be expected. Of the journals, the first is without them.
pub(super) fn out_of_line(
    (term, plan): (&Term, &Plan),
    journals: [&Journal; 2],
    entries: &[Entry],
    today: NaiveDate,
    look: &Look,
) -> Vec<String> {
    let now = state(term, plan, journals[1], today);
    let mut told = Vec::new();
    for entry in entries {
        let Some(batch) = plan.batches.iter().find(|batch| Some(&batch.id) == entry.what.batch()) else {
            continue;
        };
        let mut odd: Vec<String> = of_plan(batch, entry).collect();
        odd.extend(too_many(batch, entry, now.batch(&batch.id)));
        odd.extend(surprise((term, plan), journals, entry, today).map(|grams| expected(batch, grams, look)));
        if !odd.is_empty() {
            let id = entry.id;
            let mend = format!("If that is a slip, record it again with --replaces {id}.");
            told.push(format!("{id}: {}. {mend}", odd.join("; ")));
        }
    }
    let more = told.len().saturating_sub(MOST);
    told.truncate(MOST);
    if more > 0 {
        told.push(format!("{} more are out of line with the plan", counted(more as u32, "entry")));
    }
    told
}

/// Day, way and tank against what is planned.
fn of_plan(batch: &Batch, entry: &Entry) -> impl Iterator<Item = String> {
    let id = &batch.id;
    let days: Vec<NaiveDate> = match &entry.what {
        What::Sown { .. } => vec![batch.sown],
        What::Transplanted { .. } => batch.parts.iter().map(|part| part.transplant).collect(),
        What::Harvested(_) => harvests(batch, |_| true).map(|harvest| harvest.date).collect(),
        _ => Vec::new(),
    };
    let nearest = days.into_iter().min_by_key(|day| days_between(*day, entry.day).abs());
    let far = nearest.filter(|day| days_between(*day, entry.day).abs() > A_FEW_DAYS);
    let far = far.map(|day| format!("this was planned with {id} for {}", short_day(day)));
    let way = match &entry.what {
        What::Harvested(harvested) => other_way(batch, harvested, entry.day),
        _ => None,
    };
    let tank = match &entry.what {
        What::Transplanted { tank, .. } => other_tank(batch, tank),
        _ => None,
    };
    [far, way, tank].into_iter().flatten()
}

fn harvests(batch: &Batch, is_meant: impl Fn(&TankId) -> bool) -> impl Iterator<Item = &Harvest> {
    batch.parts.iter().filter(move |part| is_meant(&part.tank)).flat_map(|part| &part.harvests)
}

/// That plants of these tanks were to be harvested otherwise on the planned day that is nearest.
fn other_way(batch: &Batch, harvested: &Harvested, day: NaiveDate) -> Option<String> {
    let away = |harvest: &Harvest| days_between(harvest.date, day).abs();
    let planned = || harvests(batch, |tank| harvested.places.iter().any(|place| place.tank == *tank));
    let nearest = planned().map(away).min()?;
    let then: Vec<Way> = planned().filter(|own| away(own) == nearest).map(|own| own.way).collect();
    let (planned, done) = match harvested.way {
        Way::Cut => ("pulled", "cut"),
        Way::WholeHead => ("cut and left to grow again", "pulled"),
    };
    (!then.contains(&harvested.way))
        .then(|| format!("plants of {} were to be {planned}, not {done}", batch.id))
}

fn other_tank(batch: &Batch, tank: &TankId) -> Option<String> {
    let mut tanks: Vec<String> = batch.parts.iter().map(|part| part.tank.to_string()).collect();
    tanks.sort_unstable();
    tanks.dedup();
    let planned = batch.parts.iter().any(|part| part.tank == *tank);
    (!planned && !tanks.is_empty())
        .then(|| format!("{} was planned for tank {}, not for tank {tank}", batch.id, and(&tanks)))
}

/// That more was sown or moved than planned.
fn too_many(batch: &Batch, entry: &Entry, now: Option<&BatchState>) -> Option<String> {
    let id = &batch.id;
    match entry.what {
        What::Sown { plugs, .. } if plugs > batch.plugs => {
            Some(format!("{} of {id} were planned, not {plugs}", counted(batch.plugs, "plug")))
        }
        What::Transplanted { .. } => {
            let (moved, planned) = (now?.moved, batch.plants());
            (moved > planned).then(|| {
                format!("{} of {id} were planned, and {moved} are moved by now", counted(planned, "plant"))
            })
        }
        _ => None,
    }
}

/// What was to be expected of a harvest that weighs much more or less.
fn expected(batch: &Batch, grams: f64, look: &Look) -> String {
    format!("about {} were to be expected of these plants of {}", look.grams(grams), batch.id)
}
