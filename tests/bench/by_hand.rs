//! A repair as people do it by hand: what was lost is sown again at the same site on the next class day, with as many days
//! to each task as before, in whichever tank of the site gives most, or half or a quarter of it where there is no room for
//! more; everything else stays.

use super::{WATCH, options, planned_short};
use chrono::{Days, NaiveDate};
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, TankId};
use sowtide::domain::journal::Journal;
use sowtide::domain::plan::{Batch, Part, Plan};
use sowtide::domain::site::Site;
use sowtide::domain::term::Term;
use sowtide::replan::{self, Outcome};
use std::error::Error;

/// The plan after all that was lost is sown again, as far as there is room and time.
pub(super) fn sown_again(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    today: NaiveDate,
) -> Result<Plan, Box<dyn Error>> {
    let mut best = carried_out(term, plan, journal, today)?;
    let mut known = plan.clone();
    let lost = best.batches.clone();
    for (number, left) in lost.iter().enumerate() {
        let Some(batch) = plan.batches.iter().find(|batch| batch.id == left.id) else { continue };
        let Some(site) = term.site(&batch.site) else { continue };
        let plants = left.lost() - batch.lost().min(left.lost());
        for (tank, plants) in site.tanks.iter().flat_map(|tank| [1, 2, 4].map(|share| (tank, plants / share)))
        {
            let id = BatchId::new(format!("again-{number}"));
            let Some(again) = again(site, batch, (id, plants, &tank.id), today) else { continue };
            let mut tried = known.clone();
            tried.batches.retain(|other| other.id != again.id);
            tried.batches.push(again);
            let found = carried_out(term, &tried, journal, today)?;
            if planned_short(&found, today) < planned_short(&best, today) - 1.0 {
                (best, known) = (found, tried);
            }
        }
    }
    Ok(best)
}

/// What a plan comes to if nothing is done but what must be.
fn carried_out(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    today: NaiveDate,
) -> Result<Plan, Box<dyn Error>> {
    let outcome = replan::replan(term, plan, journal, (today, 0.0), &options(Some(0)), &WATCH)?;
    Ok(match outcome {
        Outcome::NothingNew => plan.clone(),
        Outcome::New(resumed) => resumed.left,
    })
}

/// A batch sown anew in one tank.
fn again(
    site: &Site,
    batch: &Batch,
    (id, plants, tank): (BatchId, u32, &TankId),
    today: NaiveDate,
) -> Option<Batch> {
    let class = |day: NaiveDate| site.class_days.iter().copied().find(|class| *class >= day);
    let sown = class(today)?;
    let later = Days::new((sown - batch.sown).num_days().max(0) as u64);
    let part = batch.parts.iter().find(|part| !part.harvests.is_empty())?;
    let mut harvests = part.harvests.clone();
    for harvest in &mut harvests {
        harvest.date = class(harvest.date + later).unwrap_or(NaiveDate::MAX);
    }
    harvests.retain(|harvest| harvest.date < NaiveDate::MAX);
    harvests.last_mut()?.way = Way::WholeHead;
    let transplant = class(part.transplant + later)?;
    let part = Part {
        plants,
        tank: tank.clone(),
        transplant,
        holes: Vec::new(),
        lost: None,
        harvests,
        ..part.clone()
    };
    let fits = plants > 0 && !batch.is_standing();
    fits.then(|| Batch { id, sown, parts: vec![part], ..batch.clone() })
}
