//! How a term stands: tanks, trays, batches with their next step, losses, and the serving days ahead.

use super::begin;
use super::grid::Grid;
use super::look::{Look, Mood};
use super::stands::{cells, next_step, outage, outage_in_words, taken, tray};
use super::today::places;
use super::weighed;
use super::words::{counted, crop_name, day, long_day, short_day};
use crate::domain::plan::{Plan, Serving};
use crate::domain::site::Site;
use crate::domain::state::{BatchState, Progress, State, Step};
use crate::domain::term::Term;
use chrono::NaiveDate;

/// Serving days shown.
const AHEAD: usize = 4;

/// How things stand on `today`, for which `state` was worked out.
pub fn list(term: &Term, plan: &Plan, state: &State, today: NaiveDate, look: &Look) -> String {
    let mut text =
        format!("{}\n", look.paint(Mood::Heading, &format!("How things stand on {}", long_day(today))));
    for site in &term.sites {
        text = format!("{text}\n{}\n", look.paint(Mood::Heading, &site.name));
        text.push_str(&room(term, state, site, look));
        text.push_str(&batches((term, plan), state, site, look));
    }
    text.push('\n');
    text.push_str(&servings((term, plan), state, today, look));
    text
}

fn room(term: &Term, state: &State, site: &Site, look: &Look) -> String {
    let nursery = format!("{} of {} cells in use", cells(state, &site.id), site.nursery.cells);
    let mut text = look.wrap_after("Nursery: ", &nursery);
    for tank in &site.tanks {
        let mut line = taken(term, state, &site.id, tank);
        if let Some(out) = outage(state, &site.id, tank) {
            line = look.paint(Mood::Warn, &format!("{line}; {}", outage_in_words(out)));
        }
        text.push_str(&look.wrap_after(&format!("Tank {}: ", tank.id), &line));
    }
    text
}

fn batches((term, plan): (&Term, &Plan), state: &State, site: &Site, look: &Look) -> String {
    let here: Vec<&BatchState> = state.batches.iter().filter(|batch| batch.site == site.id).collect();
    let unsown = |batch: &&&BatchState| batch.sown.is_none();
    let overdue = |batch: &BatchState| {
        next_step(state, &batch.batch).is_some_and(|step| step.progress == Progress::Overdue)
    };
    let shown: Vec<&&BatchState> = here.iter().filter(|batch| batch.lives() || overdue(batch)).collect();
    let to_come = here.iter().filter(unsown).filter(|batch| !overdue(batch)).count();
    let over = here.iter().filter(|batch| batch.sown.is_some() && !batch.lives()).count();
    let mut text = String::new();
    if !shown.is_empty() {
        let headings = ["Batch", "Crop", "Sown", "Nursery", "In tanks", "Lost", "Weighed", "Next step"];
        let mut grid = Grid::new(look, &headings).right(&[5, 6]);
        for batch in shown {
            grid.row(row((term, plan), state, batch, look));
        }
        text.push_str(&grid.draw(look));
    }
    text.push_str(&look.wrap(&format!(
        "Still to be sown: {}. Over: {}.",
        counted(to_come as u32, "batch"),
        counted(over as u32, "batch")
    )));
    text
}

fn row((term, plan): (&Term, &Plan), state: &State, batch: &BatchState, look: &Look) -> Vec<String> {
    let or_none = |text: String| if text.is_empty() { "-".to_owned() } else { text };
    vec![
        batch.batch.to_string(),
        crop_name(term, &batch.crop).to_owned(),
        batch.sown.map_or_else(|| "not yet".to_owned(), short_day),
        or_none(if batch.tray.plugs > 0 { tray(batch) } else { String::new() }),
        or_none(places(batch)),
        or_none(if batch.lost > 0 { batch.lost.to_string() } else { String::new() }),
        or_none(if batch.grams > 0.0 { look.grams(batch.grams) } else { String::new() }),
        next_step(state, &batch.batch)
            .map_or_else(|| "none planned".to_owned(), |step| next(plan, step, look)),
    ]
}

fn next(plan: &Plan, step: &Step, look: &Look) -> String {
    let batch = plan.batches.iter().find(|batch| batch.id == step.batch);
    let work = batch.map_or_else(|| step.work.to_string(), |batch| begin::kind(step.work, batch.origin));
    let text = format!("{work} {}", short_day(step.day));
    match step.progress {
        Progress::Overdue => look.paint(Mood::Warn, &format!("{text}, overdue")),
        Progress::Due => format!("{text}, today"),
        _ => text,
    }
}

/// The last serving day, the next ones, and what was weighed so far.
fn servings((term, plan): (&Term, &Plan), state: &State, today: NaiveDate, look: &Look) -> String {
    let open = plan.servings.partition_point(|serving| serving.date < today);
    let shown = &plan.servings[open.saturating_sub(1)..(open + AHEAD).min(plan.servings.len())];
    let stands =
        |serving: &Serving| state.outlook.servings.get(&serving.date).copied().unwrap_or(serving.planned);
    let otherwise = |serving: &Serving| {
        (stands(serving) - serving.planned).abs() > (term.rules.tolerance * serving.target).max(0.5)
    };
    let is_news = state.outlook.weighed().next().is_some() || shown.iter().any(otherwise);
    let mut text = String::new();
    if open == plan.servings.len() {
        text.push_str("No serving day lies ahead.\n");
    }
    if !shown.is_empty() {
        let headings = ["Serving day", "Target", "Planned", "As it stands"];
        let mut grid = Grid::new(look, &headings[..3 + usize::from(is_news)]).right(&[1, 2, 3]);
        for serving in shown {
            let wanted = match term.wanted_on(serving.date) {
                0.0 => "none".to_owned(),
                grams => look.grams(grams),
            };
            let cells = [day(serving.date), wanted, look.grams(serving.planned), look.grams(stands(serving))];
            grid.row(cells.into_iter().take(3 + usize::from(is_news)));
        }
        text.push_str(&grid.draw(look));
    }
    let weighed: f64 = state.batches.iter().map(|batch| batch.grams).sum();
    let planned = plan.batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
    let planned: f64 = planned.filter(|harvest| harvest.date <= today).map(|harvest| harvest.grams).sum();
    text.push_str(&look.wrap(&format!(
        "Weighed so far: {}; planned up to this day: {}.",
        look.grams(weighed),
        look.grams(planned)
    )));
    text.push_str(&weighed::told(term, plan, &state.outlook, look));
    text
}
