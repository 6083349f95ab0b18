//! An entry just recorded: what was written down, and what it means for what stands and what comes.

use super::journal::{place, sentence};
use super::look::Look;
use super::stands::{in_words, next_step};
use super::weighed;
use super::words::{self, long_day};
use super::work_list;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::journal::{Amount, Entry, Harvested, Journal, Kind, What};
use crate::domain::plan::Plan;
use crate::domain::state::{BatchState, State, Step, TankOut};
use crate::domain::task_numbers::TaskKind;
use crate::domain::term::Term;
use std::collections::BTreeMap;

/// The entry as recorded, and what it means as things stand now. `holes` are those of the plants it is taken to be about.
pub fn told(
    term: &Term,
    plan: &Plan,
    journal: &Journal,
    (entry, holes): (&Entry, &BTreeMap<TankId, Vec<u32>>),
    state: &State,
    look: &Look,
) -> String {
    let mut text = look.wrap(&format!(
        "Recorded as {} for {}, {}: {}.",
        entry.id,
        long_day(entry.day),
        place(term, entry),
        sentence(entry, look)
    ));
    if let Some(taken_to_be) = holes_taken(entry, holes) {
        text.push_str(&look.wrap(&taken_to_be));
    }
    if let What::Harvested(Harvested { measured_as: Some(measure), grams, .. }) = &entry.what {
        let counts = if measure.starts_with("1 ") { "counts" } else { "count" };
        text.push_str(&look.wrap(&format!(
            "{measure} of loose leaves {counts} as {}. That may be off by a third and more, so it teaches less than a weighing.",
            look.grams(*grams)
        )));
    }
    let old = entry.replaces.and_then(|old| journal.entry(old));
    if let Some(old) = old {
        let means = match entry.what {
            What::Withdrawn => "No longer counts",
            _ => "Takes the place of",
        };
        text.push_str(&look.wrap(&format!("{means}: {}, {}.", old.id, sentence(old, look))));
    }
    if let Some(kept) = old.and_then(|old| samples_kept(entry, old)) {
        text.push_str(&look.wrap(&kept));
    }
    // What a withdrawal changes is what the entry taken back was about.
    let withdrawn = entry.what == What::Withdrawn;
    let about = if withdrawn { old.unwrap_or(entry) } else { entry };
    let lines = match &about.what {
        What::TankOut { tank, .. } | What::TankBack { tank } if withdrawn => tank_now(tank, about, state),
        What::ClassLost if withdrawn => Vec::new(),
        _ => meaning((term, plan), about, state, look),
    };
    for line in lines {
        text.push_str(&look.wrap(&line));
    }
    text
}

/// That the measured plants of a corrected entry stay, if so.
fn samples_kept(entry: &Entry, old: &Entry) -> Option<String> {
    let (What::Harvested(new), What::Harvested(before)) = (&entry.what, &old.what) else { return None };
    let kept = !new.samples.is_empty() && new.samples == before.samples;
    kept.then(|| {
        format!(
            "What {} says of single plants that were measured stays. If that is wrong, too, give it anew with --sample, or drop it with \
             --no-samples.",
            old.id
        )
    })
}

/// Which holes the plants are taken to have stood in, where nobody named them.
fn holes_taken(entry: &Entry, holes: &BTreeMap<TankId, Vec<u32>>) -> Option<String> {
    let several = entry.what.tanks().len() > 1;
    let is_named = match &entry.what {
        What::Lost { plants: Amount::All, .. } => true,
        What::Harvested(harvested) => harvested.places.iter().any(|place| !place.holes.is_empty()),
        _ => !entry.what.holes().is_empty(),
    };
    let told = |(tank, holes): (&TankId, &Vec<u32>)| {
        let holes = words::holes(holes);
        if several { format!("{holes} in tank {tank}") } else { holes }
    };
    let told: Vec<String> = holes.iter().filter(|(_, holes)| !holes.is_empty()).map(told).collect();
    let option = if several { "a --place for each tank" } else { "--holes" };
    (!is_named && !told.is_empty()).then(|| {
        format!(
            "No hole was named; taken to be {}. If it was others, correct it with --replaces {} and {option}.",
            words::and(&told),
            entry.id
        )
    })
}

fn meaning((term, plan): (&Term, &Plan), entry: &Entry, state: &State, look: &Look) -> Vec<String> {
    if let Some(batch) = entry.what.batch().and_then(|batch| state.batch(batch)) {
        let mut lines = vec![format!("Now of {}: {}.", batch.batch, in_words(batch))];
        lines.extend(left_behind(plan, entry, batch));
        if entry.what.kind() == Kind::Sown {
            lines.extend(nursery_overfull(term, &batch.site, state));
        }
        let planned = plan.batches.iter().find(|planned| planned.id == batch.batch);
        if let (Kind::Harvested | Kind::Measured, Some(planned)) = (entry.what.kind(), planned) {
            lines.extend(weighed::of_batch((term, plan), &state.outlook, planned, !batch.stands.is_empty()));
        }
        if let Some(step) = next_step(state, &batch.batch) {
            let words = work_list::in_words(plan, state, step);
            lines.push(format!("Next on {}: {words}.", long_day(step.day)));
            if step.work == TaskKind::Harvest && entry.what.kind() == Kind::Harvested && step.day <= entry.day
            {
                lines.push("If there are no such plants any more, record them as lost, too.".to_owned());
            }
        }
        return lines;
    }
    match (&entry.what, &entry.site) {
        (What::TankOut { tank, .. }, Some(site)) => tank_out(site, tank, entry, state),
        (What::ClassLost, _) => class_lost(entry, state),
        (What::TargetChanged { .. }, _) => target(term, plan, entry, look),
        _ => Vec::new(),
    }
}

/// What becomes of seedlings that were to move, too, where none are left that move later.
fn left_behind(plan: &Plan, entry: &Entry, batch: &BatchState) -> Option<String> {
    let planned = plan.batches.iter().find(|planned| planned.id == batch.batch)?.plants();
    let left = planned.saturating_sub(batch.moved + batch.lost);
    (entry.what.kind() == Kind::Transplanted && batch.tray.plugs == 0 && left > 0).then(|| {
        format!(
            "{left} more were to be moved; what is left in the nursery counts as spare. If some move later, record that."
        )
    })
}

/// That more plugs stand in a nursery than it has cells for, if so.
fn nursery_overfull(term: &Term, site: &SiteId, state: &State) -> Option<String> {
    let here = state.batches.iter().filter(|batch| batch.site == *site);
    let plugs: u32 = here.map(|batch| batch.tray.plugs).sum();
    let cells = term.site(site)?.nursery.cells;
    (plugs > cells).then(|| {
        format!(
            "By now {} stand in the nursery, which has {}. If a number is wrong, correct it.",
            words::counted(plugs, "plug"),
            words::counted(cells, "cell")
        )
    })
}

/// Whether a tank is out of use, after an entry about that was taken back.
fn tank_now(tank: &TankId, entry: &Entry, state: &State) -> Vec<String> {
    let here = |out: &&TankOut| Some(&out.site) == entry.site.as_ref() && out.tank == *tank;
    vec![match state.tanks_out.iter().find(here) {
        Some(out) => format!("Tank {tank} is out of use since {} ({}).", long_day(out.from), out.entry),
        None => format!("Tank {tank} is in use."),
    }]
}

fn tank_out(site: &SiteId, tank: &TankId, entry: &Entry, state: &State) -> Vec<String> {
    let standing: Vec<String> = state
        .batches
        .iter()
        .filter(|batch| batch.site == *site && batch.in_tank(tank) > 0)
        .map(|batch| format!("{} of {}", words::counted(batch.in_tank(tank), "plant"), batch.batch))
        .collect();
    let mut lines = Vec::new();
    if !standing.is_empty() {
        lines.push(format!("In it stand {}. Planning again counts them as lost.", words::and(&standing)));
    }
    let until = match entry.what {
        What::TankOut { until, .. } => until,
        _ => None,
    };
    let here = |step: &&Step| {
        step.is_open()
            && step.work == TaskKind::Transplant
            && step.site == *site
            && step.tank.as_ref() == Some(tank)
            && step.day >= entry.day
            && until.is_none_or(|until| step.day <= until)
    };
    lines.extend(no_longer_fits(state.steps.iter().filter(here)));
    lines
}

fn class_lost(entry: &Entry, state: &State) -> Vec<String> {
    let then = |step: &&Step| step.is_open() && step.day == entry.day && entry.concerns(&step.site);
    no_longer_fits(state.steps.iter().filter(then)).into_iter().collect()
}

/// Planned work that cannot be done as planned any more.
fn no_longer_fits<'a>(steps: impl Iterator<Item = &'a Step>) -> Option<String> {
    let work: Vec<String> = steps.map(|step| format!("{} {}", step.work, step.batch)).collect();
    (!work.is_empty()).then(|| format!("Planned work that does not fit any more: {}.", work.join(", ")))
}

fn target(term: &Term, plan: &Plan, entry: &Entry, look: &Look) -> Vec<String> {
    let serving = plan.servings.iter().find(|serving| serving.date >= entry.day);
    let told = serving.map(|serving| {
        let planned = format!("The plan as it is serves {}", look.grams(serving.planned));
        let day = long_day(serving.date);
        match term.wanted_on(serving.date) {
            0.0 => format!("{planned} on {day}."),
            wanted => format!("{planned} of {} on {day}.", look.grams(wanted)),
        }
    });
    told.into_iter().collect()
}
