//! What the search found, written down as a plan.

use super::hand_out::{hand_out, servings};
use super::instance::{Candidate, Index, Instance, Loss, StandingPlace};
use super::options::Options;
use super::search::{Found, FoundBatch, FoundPart};
use crate::domain::calendar::days_between;
use crate::domain::growth::Way;
use crate::domain::ids::BatchId;
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Arithmetic, Batch, Facts, Harvest, Part, Plan, Serving};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};
use std::mem::discriminant;

/// Writes down the plan; numbers of tasks, and facts about bounds and solver, are left to the caller.
pub(super) fn decode(instance: &Instance, previous: Option<&Plan>, options: &Options, found: &Found) -> Plan {
    let net = instance.net;
    let mut batches: Vec<Batch> = found.batches.iter().map(|batch| write_batch(instance, batch)).collect();
    batches.sort_by(|a, b| (a.sown, &a.site, &a.crop, &a.id).cmp(&(b.sown, &b.site, &b.crop, &b.id)));
    let last_number = name(&mut batches, previous, options.made.date_naive());
    hand_out(net, &mut batches, &found.taken);
    let servings = servings(net.term, &batches);
    let harvests = batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
    let facts = Facts {
        solver: String::new(),
        cost: found.points,
        cost_bound: None,
        short_grams: servings.iter().map(Serving::short).sum(),
        short_bound_grams: None,
        surplus_grams: harvests.map(Harvest::surplus).sum(),
        effort: 0,
        seed: 0,
        seconds: 0.0,
        stopped: false,
    };
    Plan {
        term_id: options.term_id.clone(),
        term_name: net.term.name.clone(),
        revision: previous.map_or(1, |plan| plan.revision.saturating_add(1)),
        last_number,
        last_task_numbers: BTreeMap::new(),
        made: options.made,
        reason: String::new(),
        sure: None,
        replanned: None,
        known: KnownEntries::default(),
        mass_factors: Vec::new(),
        batches,
        servings,
        facts,
    }
}

fn write_batch(instance: &Instance, found: &FoundBatch) -> Batch {
    let candidate = &instance.candidates[found.candidate];
    let net = instance.net;
    let crop = &net.term.crops[candidate.crop].crop;
    let mut parts: Vec<Part> = found.parts.iter().map(|part| write_part(instance, candidate, part)).collect();
    parts.sort_by(|a, b| (a.transplant, &a.tank, &a.holes).cmp(&(b.transplant, &b.tank, &b.holes)));
    let plants: u32 = parts.iter().map(|part| part.plants).sum();
    let standing = candidate.standing.map(|number| net.standing[number].standing);
    Batch {
        id: standing.map_or_else(|| BatchId::new(""), |standing| standing.batch.clone()),
        crop: crop.id.clone(),
        site: net.sites[candidate.site].site.id.clone(),
        sown: standing.map_or_else(|| net.date(candidate.start.begins), |standing| standing.sown),
        origin: candidate.start.origin,
        plugs: instance.plugs(candidate, plants as i32),
        seeds_per_plug: crop.seeds_per_plug.value,
        parts,
        task_numbers: BTreeMap::new(),
    }
}

fn write_part(instance: &Instance, candidate: &Candidate, part: &FoundPart) -> Part {
    let net = instance.net;
    let site = &net.sites[candidate.site];
    let place = candidate.standing.map(|number| &net.standing[number].place);
    let transplant = match (place, part.path.lost) {
        (Some(StandingPlace::Tank { transplanted, .. }), _) => *transplanted,
        (_, Some(Loss { day, in_nursery: true })) => day,
        _ => site.class_days[usize::from(part.path.moved)],
    };
    let mut holes: Vec<u32> = part.places.iter().map(|place| place.hole).collect();
    let mut kept_empty: Vec<u32> = part.places.iter().flat_map(|place| place.kept_empty.clone()).collect();
    holes.sort_unstable();
    kept_empty.sort_unstable();
    let plants = part.plants;
    Part {
        plants,
        tank: site.tanks[usize::from(part.path.tank)].tank.id.clone(),
        transplant: net.date(transplant),
        holes,
        kept_empty,
        cuts_before: candidate.cuts_before,
        lost: part.path.lost.map(|loss| net.date(loss.day)),
        harvests: instance
            .harvests(candidate, &part.path)
            .enumerate()
            .map(|(position, harvest)| write_harvest(instance, candidate, part, position, harvest))
            .collect(),
    }
}

fn write_harvest(
    instance: &Instance,
    candidate: &Candidate,
    part: &FoundPart,
    position: usize,
    (index, way, standing_grams): (Index, Way, f64),
) -> Harvest {
    let net = instance.net;
    let site = &net.sites[candidate.site];
    let field = &site.fields[candidate.crop];
    let days = instance.grown_days(candidate, &part.path, position);
    let crop = &field.wanted.crop;
    Harvest {
        date: net.date(site.class_days[usize::from(index)]),
        way,
        number: candidate.cuts_before + position as u32 + 1,
        grams: instance.expected(candidate, standing_grams, way) * f64::from(part.plants),
        arithmetic: Arithmetic {
            days: days.max(0) as u32,
            standing_grams,
            taken: field.taken(way),
            survival: candidate.start.origin.survival(crop),
            yield_factor: field.growing.yield_factor * candidate.mass_factor,
            ready_to_eat: crop.ready_to_eat.value,
        },
        serves: Vec::new(),
    }
}

/// Days by which a batch may be sown earlier or later than before and still count as the same.
const MOVED_DAYS: u64 = 14;

/// Keeps the ids of batches the previous plan had too and numbers the others on, so that no number is given twice
/// in a term. Returns the highest number.
///
/// A batch is the same if crop, site and sowing day are. While neither day has come, a batch of the same crop and
/// site that is sown a little earlier or later is the same, too: nobody has labelled a tray with its id yet, and
/// people's calendars then show work that moves instead of work that goes and other work that comes.
fn name(batches: &mut [Batch], previous: Option<&Plan>, today: NaiveDate) -> u32 {
    let known: &[Batch] = previous.map_or(&[], |plan| &plan.batches);
    let mut taken: BTreeSet<BatchId> =
        batches.iter().filter(|batch| batch.is_standing()).map(|batch| batch.id.clone()).collect();
    let nameless = |batch: &&mut Batch| batch.id.as_str().is_empty();
    for batch in batches.iter_mut().filter(nameless) {
        let same = heirs(known, batch, &taken)
            .find(|other| (other.sown, other.origin) == (batch.sown, batch.origin));
        if let Some(id) = same.map(|other| other.id.clone()) {
            taken.insert(id.clone());
            batch.id = id;
        }
    }
    for batch in batches.iter_mut().filter(nameless).filter(|batch| batch.sown > today) {
        let days = |other: &&Batch| days_between(other.sown, batch.sown).unsigned_abs();
        let near = heirs(known, batch, &taken)
            .filter(|other| other.sown > today && days(other) <= MOVED_DAYS)
            .min_by_key(days);
        if let Some(id) = near.map(|other| other.id.clone()) {
            taken.insert(id.clone());
            batch.id = id;
        }
    }
    let mut number = previous.map_or(0, |plan| plan.last_number);
    for batch in batches.iter_mut().filter(nameless) {
        batch.id = loop {
            number += 1;
            let id = BatchId::new(format!("b{number:03}"));
            if !taken.contains(&id) && known.iter().all(|other| other.id != id) {
                break id;
            }
        };
    }
    number
}

/// Batches of the plan before whose id `batch` could take over.
fn heirs<'k>(
    known: &'k [Batch],
    batch: &Batch,
    taken: &BTreeSet<BatchId>,
) -> impl Iterator<Item = &'k Batch> {
    known.iter().filter(move |other| {
        !other.is_standing()
            && !taken.contains(&other.id)
            && (&other.crop, &other.site) == (&batch.crop, &batch.site)
            && discriminant(&other.origin) == discriminant(&batch.origin)
    })
}
