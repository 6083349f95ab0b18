//! Whether an entry can be true: the check before anything is written into a journal.

mod all;
mod days;
mod said;

pub use all::accept_all;

use super::circumstances::laid_over;
use super::outages::outages;
use super::put_off::{self, put_off};
use super::refusal::{Named, Refusal};
use super::replay::replay;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::journal::{
    Amount, Entry, EntryId, Harvested, Journal, Kind, Measuring, Place, Sample, What,
};
use crate::domain::plan::{Origin, Plan};
use crate::domain::state::TankOut;
use crate::domain::term::Term;
use chrono::NaiveDate;
use said::Said;
use std::collections::BTreeSet;

/// What an entry is held against.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// The term.
    pub term: &'a Term,
    /// Its plan.
    pub plan: &'a Plan,
    /// What was recorded so far.
    pub journal: &'a Journal,
    /// Today.
    pub today: NaiveDate,
}

/// Whether `entry` can be added to the journal.
///
/// # Errors
/// Why it cannot be true, if so: names that lead nowhere, days that do not fit, more plants than stand, or a contradiction
/// to what is in the journal.
pub fn accept(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    replaces_what_can_be(known, entry)?;
    if entry.what != What::Withdrawn {
        can_be(known, &Said::by(known.journal), entry)?;
    }
    fits_with_the_rest(known, entry)
}

/// Entries in force that cannot be true, by number, each with the reason. What is recorded is held against all others
/// before it is written; but people write into files, and terms and plans change.
#[must_use]
pub fn untrue(known: &Known<'_>) -> Vec<(EntryId, Refusal)> {
    let alone = |entry: &&Entry| {
        let sound = days::in_term(known, entry)
            .and_then(|()| names_exist(known, entry))
            .and_then(|()| samples_are_of_the_harvest(entry))
            .and_then(|()| plants_can_weigh_that(known, entry))
            .and_then(|()| holes_exist(known, entry))
            .and_then(|()| cut_plants_grow_again(known, entry));
        sound.err().map(|refusal| (entry.id, refusal))
    };
    let mut found: Vec<(EntryId, Refusal)> = known.journal.in_force().iter().filter_map(alone).collect();
    let plan = put_off(known.plan, known.journal);
    for (id, refusal) in replay(known.term, &plan, known.journal, known.today).impossible {
        if found.iter().all(|(other, _)| *other != id) {
            found.push((id, refusal));
        }
    }
    found.sort_by_key(|(id, _)| *id);
    found
}

/// Whether an entry can be as far as its own words and those of others go, before anything is replayed.
fn can_be(known: &Known<'_>, said: &Said<'_>, entry: &Entry) -> Result<(), Refusal> {
    days::in_term(known, entry)?;
    names_exist(known, entry)?;
    said_once(said, entry)?;
    days::fits_the_calendar(known, said, entry)?;
    tank_is_in_use(known, said, entry)?;
    samples_are_of_the_harvest(entry)?;
    plants_can_weigh_that(known, entry)?;
    holes_exist(known, entry)?;
    cut_plants_grow_again(known, entry)?;
    can_be_put_off(known, entry)
}

fn replaces_what_can_be(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    let Some(old) = entry.replaces else {
        return if entry.what == What::Withdrawn { Err(Refusal::WithdrawsNothing) } else { Ok(()) };
    };
    let written = known.journal.entry(old).ok_or(Refusal::NoEntry(old))?;
    if written.what == What::Withdrawn {
        return Err(Refusal::WithdrawalStands(old));
    }
    match known.journal.replaced_by(old) {
        None => Ok(()),
        Some(by) => Err(Refusal::Replaced { id: old, by: by.id, withdrawn: by.what == What::Withdrawn }),
    }
}

fn names_exist(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    let sites = || known.term.sites.iter();
    if let Some(id) = entry.site.as_ref().filter(|id| known.term.site(id).is_none()) {
        return Err(unknown(Named::Site, id.as_str(), sites().map(|site| site.id.to_string())));
    }
    if let Some(batch) = entry.what.batch() {
        batch_exists(known, batch, entry.site.as_ref())?;
    }
    let tanks = entry.what.tanks();
    match &entry.site {
        None if tanks.is_empty() => Ok(()),
        None => Err(Refusal::NoSite),
        Some(site) => tanks.into_iter().try_for_each(|tank| tank_exists(known, tank, site)),
    }
}

fn batch_exists(known: &Known<'_>, id: &BatchId, site: Option<&SiteId>) -> Result<(), Refusal> {
    let batches = &known.plan.batches;
    let Some(batch) = batches.iter().find(|batch| batch.id == *id) else {
        return Err(unknown(Named::Batch, id.as_str(), batches.iter().map(|batch| batch.id.to_string())));
    };
    match site {
        None => Err(Refusal::NoSite),
        Some(site) if batch.site == *site => Ok(()),
        Some(site) => {
            Err(Refusal::BatchElsewhere { batch: id.clone(), site: site.clone(), at: batch.site.clone() })
        }
    }
}

fn tank_exists(known: &Known<'_>, tank: &TankId, site: &SiteId) -> Result<(), Refusal> {
    let here = known.term.site(site);
    if here.is_some_and(|site| site.tank(tank).is_some()) {
        return Ok(());
    }
    let tanks: Vec<TankId> = here.iter().flat_map(|site| &site.tanks).map(|tank| tank.id.clone()).collect();
    let others = known.term.sites.iter().filter(|other| other.tank(tank).is_some());
    let at: Vec<SiteId> = others.map(|other| other.id.clone()).collect();
    if at.is_empty() {
        return Err(unknown(Named::Tank, tank.as_str(), tanks.iter().map(ToString::to_string)));
    }
    Err(Refusal::TankElsewhere { tank: tank.clone(), site: site.clone(), at, known: tanks })
}

fn unknown(what: Named, name: &str, known: impl Iterator<Item = String>) -> Refusal {
    Refusal::Unknown { what, name: name.to_owned(), known: known.collect() }
}

/// Whether the very same is not in force already. A correction may say the same of what it replaces under another name.
fn said_once(said: &Said<'_>, entry: &Entry) -> Result<(), Refusal> {
    let corrected = |other: &Entry| Some(other.id) == entry.replaces && other.by != entry.by;
    let twin = said.alike(entry).iter().find(|other| !corrected(other));
    let adds_up = matches!(entry.what.kind(), Kind::Transplanted | Kind::Lost | Kind::Harvested);
    twin.map_or(Ok(()), |twin| Err(Refusal::Twice { entry: twin.id, adds_up }))
}

fn tank_is_in_use(known: &Known<'_>, said: &Said<'_>, entry: &Entry) -> Result<(), Refusal> {
    let Some(site) = &entry.site else { return Ok(()) };
    let others: Vec<&Entry> = said.of_tanks().filter(|other| Some(other.id) != entry.replaces).collect();
    let outages = outages(&others);
    let out = |tank: &TankId| {
        let of_tank = |out: &&TankOut| (&out.site, &out.tank) == (site, tank);
        outages.iter().filter(of_tank).find(|out| out.holds_on(entry.day))
    };
    if let (What::TankBack { tank }, None) = (&entry.what, entry.what.tank().and_then(out)) {
        return Err(Refusal::InUse(tank.clone()));
    }
    let tanks: Vec<&TankId> = match &entry.what {
        What::Transplanted { tank, .. } | What::TankOut { tank, .. } => vec![tank],
        What::Sown { batch, .. } => cups_of(known, batch),
        _ => Vec::new(),
    };
    match tanks.into_iter().find_map(|tank| Some((tank, out(tank)?))) {
        Some((tank, out)) => Err(Refusal::OutOfUse { tank: tank.clone(), from: out.from, entry: out.entry }),
        None => Ok(()),
    }
}

/// Tanks that a batch is sown straight into.
fn cups_of<'a>(known: &Known<'a>, batch: &BatchId) -> Vec<&'a TankId> {
    let batches = known.plan.batches.iter().filter(|other| other.id == *batch);
    let in_cups = batches.filter(|batch| batch.origin == Origin::InCups);
    in_cups.flat_map(|batch| &batch.parts).map(|part| &part.tank).collect()
}

fn samples_are_of_the_harvest(entry: &Entry) -> Result<(), Refusal> {
    match &entry.what {
        What::Harvested(harvested) if harvested.samples.len() > harvested.plants() as usize => {
            Err(Refusal::TooManySamples)
        }
        _ => Ok(()),
    }
}

/// A plant that weighs more than this many times what a full-grown one of its crop weighs is a slip of the pen.
const GIANT: f64 = 10.0;

fn plants_can_weigh_that(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    let batch = known.plan.batches.iter().find(|planned| Some(&planned.id) == entry.what.batch());
    let Some(wanted) = batch.and_then(|batch| known.term.crop(&batch.crop)) else { return Ok(()) };
    let of_one = |sample: &Sample| sample.mass_g.map_or(0.0, |mass| mass.found);
    let each = match &entry.what {
        What::Harvested(harvested) => harvested.grams / f64::from(harvested.plants().max(1)),
        What::Measured(Measuring { samples, .. }) => samples.iter().map(of_one).fold(0.0, f64::max),
        _ => 0.0,
    };
    let full_grams = wanted.crop.growth.value.full_grams();
    if each <= GIANT * full_grams {
        return Ok(());
    }
    let each = each.round() as u64;
    Err(Refusal::TooHeavy { crop: wanted.crop.id.clone(), each, full_grams: full_grams.round() as u64 })
}

/// Whether there are such holes, one a plant. Whether plants stand in them, the replay tells.
fn holes_exist(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    match &entry.what {
        What::Harvested(harvested) => harvested.places.iter().enumerate().try_for_each(|(at, place)| {
            if harvested.places[..at].iter().any(|other| other.tank == place.tank) {
                return Err(Refusal::TankTwice(place.tank.clone()));
            }
            are_holes_of(known, entry, &place.tank, (&place.holes, Some(place.plants)))
        }),
        What::Measured(Measuring { tank, holes, samples, .. }) => {
            are_holes_of(known, entry, tank, (holes, Some(samples.len() as u32)))
        }
        What::Lost { place: Place::Nursery, holes, .. } if !holes.is_empty() => Err(Refusal::HolesInNursery),
        What::Lost { place: Place::Tank(tank), plants, holes, .. } => {
            let plants = if let Amount::Plants(plants) = plants { Some(*plants) } else { None };
            are_holes_of(known, entry, tank, (holes, plants))
        }
        _ => Ok(()),
    }
}

fn are_holes_of(
    known: &Known<'_>,
    entry: &Entry,
    tank: &TankId,
    (holes, plants): (&[u32], Option<u32>),
) -> Result<(), Refusal> {
    if holes.is_empty() {
        return Ok(());
    }
    let different: BTreeSet<u32> = holes.iter().copied().collect();
    if plants != Some(different.len() as u32) || different.len() != holes.len() {
        return Err(Refusal::HolesMiscounted { plants, holes: different.len() as u32 });
    }
    let site = entry.site.as_ref().and_then(|site| known.term.site(site));
    let last = site.and_then(|site| site.tank(tank)).map_or(0, |tank| tank.lid.holes());
    let strange: Vec<u32> = different.into_iter().filter(|hole| !(1..=last).contains(hole)).collect();
    if strange.is_empty() {
        return Ok(());
    }
    Err(Refusal::NoSuchHoles { tank: tank.clone(), holes: strange, last })
}

fn cut_plants_grow_again(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    let What::Harvested(Harvested { batch, way: Way::Cut, .. }) = &entry.what else { return Ok(()) };
    let batch = known.plan.batches.iter().find(|planned| planned.id == *batch);
    let crop = batch.and_then(|batch| known.term.crop(&batch.crop)).map(|wanted| &wanted.crop);
    match crop.filter(|crop| crop.regrowth.is_none()) {
        Some(crop) => Err(Refusal::NoRegrowth(crop.id.clone())),
        None => Ok(()),
    }
}

/// Whether work that is put off was planned for that day and comes next, and whether a class meets on the new one.
fn can_be_put_off(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    let What::PutOff { batch, until } = &entry.what else { return Ok(()) };
    // What it takes the place of has moved nothing.
    let in_force = known.journal.in_force().into_iter().filter(|other| Some(other.id) != entry.replaces);
    let others = in_force.map(|other| Entry { replaces: None, ..other.clone() }).collect();
    let plan = put_off(known.plan, &Journal::new(others));
    put_off::can_be(&plan, batch, (entry.day, *until), known.today)?;
    let term = laid_over(known.term, known.journal);
    match entry.site.as_ref().and_then(|site| term.site(site)) {
        Some(site) if !site.meets_on(*until) => Err(Refusal::NoClass(*until)),
        _ => Ok(()),
    }
}

/// Replays the journal with the entry: neither it nor any that was possible before may be impossible now.
fn fits_with_the_rest(known: &Known<'_>, entry: &Entry) -> Result<(), Refusal> {
    let before = impossible_before(known);
    let mut with = known.journal.clone();
    with.push(entry.clone());
    refusal_of(known, &before, &with, entry.id).map_or(Ok(()), Err)
}

/// Entries that cannot be true as the journal stands.
fn impossible_before(known: &Known<'_>) -> BTreeSet<EntryId> {
    let plan = put_off(known.plan, known.journal);
    let replayed = replay(known.term, &plan, known.journal, known.today);
    replayed.impossible.into_iter().map(|(id, _)| id).collect()
}

/// Why a journal cannot be that became impossible with its entry `newest`; its own reason, or else that of another entry.
fn refusal_of(
    known: &Known<'_>,
    before: &BTreeSet<EntryId>,
    with: &Journal,
    newest: EntryId,
) -> Option<Refusal> {
    let plan = put_off(known.plan, with);
    let impossible = replay(known.term, &plan, with, known.today).impossible;
    let own = impossible.iter().find(|(id, _)| *id == newest);
    if let Some((_, refusal)) = own {
        return Some(refusal.clone());
    }
    let (entry, because) = impossible.into_iter().find(|(id, _)| !before.contains(id))?;
    Some(Refusal::Contradicts { entry, because: Box::new(because) })
}
