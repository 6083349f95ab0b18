//! What is to be done on a day, and what stands, site by site.

use super::look::{Look, Mood};
use super::stands::{cells, outage, outage_in_words, taken, tanks, tray};
use super::tank_work;
use super::words::{counted, crop_name, day, long_day};
use super::work_list;
use crate::domain::calendar::{DateSpan, days_between};
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::state::{BatchState, Progress, State, Step};
use crate::domain::term::Term;
use chrono::NaiveDate;

/// The list for `today`, for which `state` was worked out.
pub fn list(term: &Term, plan: &Plan, state: &State, today: NaiveDate, look: &Look) -> String {
    let mut text = format!("{}\n", look.paint(Mood::Heading, &long_day(today)));
    let now: Vec<&Step> = state
        .steps
        .iter()
        .filter(|step| matches!(step.progress, Progress::Due | Progress::Overdue))
        .collect();
    for site in &term.sites {
        let here: Vec<&Step> = now.iter().copied().filter(|step| step.site == site.id).collect();
        text = format!("{text}\n{}\n", look.paint(Mood::Heading, &site.name));
        if state.classes_lost.contains(&site.id) {
            text.push_str("The class of this day was recorded as lost.\n");
        }
        text.push_str(&work((term, plan), state, site, &here, today, look));
        text.push_str(&tank_work::lines(term, plan, site, DateSpan { first: today, last: today }, look));
        text.push_str(&standing(term, state, site, today, look));
    }
    text.push('\n');
    text.push_str(&work_list::notes(plan, &now, look));
    text
}

fn work(
    (term, plan): (&Term, &Plan),
    state: &State,
    site: &Site,
    here: &[&Step],
    today: NaiveDate,
    look: &Look,
) -> String {
    if !here.is_empty() {
        let mut text = work_list::table(term, plan, state, here, look);
        if here.iter().any(|step| step.progress == Progress::Overdue) {
            text.push_str(&look.wrap(
                "\"Since\": by what was recorded, this was not done. If it was, record it with its day.",
            ));
        }
        return text;
    }
    let next = state.steps.iter().find(|step| step.site == site.id && step.progress == Progress::Coming);
    let nothing = if site.meets_on(today) { "Nothing to do today" } else { "No class is planned for today" };
    match next {
        Some(step) => format!("{nothing}. Next work: {}.\n", day(step.day)),
        None => format!("{nothing}, and no work any more.\n"),
    }
}

fn standing(term: &Term, state: &State, site: &Site, today: NaiveDate, look: &Look) -> String {
    let batches: Vec<&BatchState> = state.batches.iter().filter(|batch| batch.site == site.id).collect();
    let used = format!("{} of {} cells in use", cells(state, &site.id), site.nursery.cells);
    let trays: Vec<String> = batches
        .iter()
        .filter(|batch| batch.tray.plugs > 0)
        .map(|batch| {
            format!("{} {} ({}{})", batch.batch, crop_name(term, &batch.crop), tray(batch), age(batch, today))
        })
        .collect();
    let nursery = [vec![used], trays].concat().join("; ");
    let mut text = look.wrap_after("Nursery: ", &nursery);
    for tank in &site.tanks {
        let mut pieces = vec![taken(term, state, &site.id, tank)];
        pieces.extend(outage(state, &site.id, tank).map(outage_in_words));
        pieces.extend(batches.iter().filter(|batch| batch.in_tank(&tank.id) > 0).map(|batch| {
            let number = batch.in_tank(&tank.id);
            format!(
                "{} {} ({}{})",
                batch.batch,
                crop_name(term, &batch.crop),
                counted(number, "plant"),
                age(batch, today)
            )
        }));
        text.push_str(&look.wrap_after(&format!("Tank {}: ", tank.id), &pieces.join("; ")));
    }
    text
}

fn age(batch: &BatchState, today: NaiveDate) -> String {
    let days = batch.born.map(|born| days_between(born, today)).filter(|days| *days >= 0);
    days.map_or(String::new(), |days| format!(", {} old", counted(days as u32, "day")))
}

/// Where the living plants of a batch stand, for tables.
pub(super) fn places(batch: &BatchState) -> String {
    tanks(batch).join("\n")
}
