//! Changes worth trying, each with the term as it would be with it.

use crate::domain::calendar::DaysOffKind;
use crate::domain::crop::{CUT_LEAVES_KEEP, Crop, Figure};
use crate::domain::ids::{SiteId, TankId};
use crate::domain::site::{Site, Tank};
use crate::domain::term::{Arrival, Location, PROMISED, SowWish, Term, WantedCrop, WayWish};
use crate::domain::whatif::Idea;
use chrono::{Datelike, Days, NaiveDate, Weekday};

/// Sites at which another tank is tried, in a large term.
const SITES_TRIED: usize = 6;
/// Crops that are tried.
const CROPS_TRIED: usize = 3;
/// Cells more at each site.
const CELLS: u32 = 10;
/// Days longer that greens keep.
const KEEPS: u32 = 2;
/// Days of a break from which it is worth coming in.
const LONG_BREAK: u64 = 5;

/// Every change that makes sense for a term, with the term as it is then. `library` has the crops there are.
pub(super) fn ideas<'c>(term: &Term, library: impl Iterator<Item = &'c Crop>) -> Vec<(Idea, Term)> {
    let mut all = tanks(term);
    all.push(cells(term));
    all.extend([class_day(term), come_in(term), bought(term)].into_iter().flatten());
    all.extend(crops(term, library));
    all.extend([keeps(term), smaller_batches(term), less_sure(term)].into_iter().flatten());
    all
}

fn with(term: &Term, change: impl FnOnce(&mut Term)) -> Term {
    let mut term = term.clone();
    change(&mut term);
    term
}

/// At each site one more tank, like its largest.
fn tanks(term: &Term) -> Vec<(Idea, Term)> {
    let every = term.sites.len().div_ceil(SITES_TRIED).max(1);
    let sites = term.sites.iter().enumerate().step_by(every);
    let one_more = |(at, site): (usize, &Site)| {
        let like = site.tanks.iter().max_by_key(|tank| tank.lid.holes())?;
        let new = Tank { id: new_id(site, &like.id), out: Vec::new(), ..like.clone() };
        let idea = Idea::Tank { site: site.id.clone(), like: like.id.clone() };
        Some((idea, with(term, |term| add_tank(term, at, &like.id, new))))
    };
    sites.filter_map(one_more).collect()
}

/// Adds a tank to a site, also for crops that are bound to the one it is like.
fn add_tank(term: &mut Term, at: usize, like: &TankId, new: Tank) {
    let site = term.sites[at].id.clone();
    let bound = Location { site: site.clone(), tank: Some(like.clone()) };
    for wanted in term.crops.iter_mut().filter(|wanted| wanted.only_in.contains(&bound)) {
        wanted.only_in.push(Location { site: site.clone(), tank: Some(new.id.clone()) });
    }
    term.sites[at].tanks.push(new);
}

fn new_id(site: &Site, like: &TankId) -> TankId {
    let mut id = format!("{like}-more");
    while site.tanks.iter().any(|tank| tank.id.as_str() == id) {
        id.push('s');
    }
    TankId::new(&id)
}

fn cells(term: &Term) -> (Idea, Term) {
    let more = |term: &mut Term| term.sites.iter_mut().for_each(|site| site.nursery.cells += CELLS);
    (Idea::Cells { more: CELLS }, with(term, more))
}

/// At each site, class on the weekday that is farthest from those of its class days.
fn class_day(term: &Term) -> Option<(Idea, Term)> {
    let days: Vec<(SiteId, Weekday)> =
        term.sites.iter().filter_map(|site| Some((site.id.clone(), free_weekday(site)?))).collect();
    let meet = |term: &mut Term| {
        let span: Vec<NaiveDate> = term.start.iter_days().take_while(|day| *day <= term.end).collect();
        for (id, weekday) in &days {
            let Some(site) = term.sites.iter_mut().find(|site| site.id == *id) else { continue };
            let is_off = |day: NaiveDate| site.days_off.iter().any(|off| off.span.contains(day));
            let new = span.iter().copied().filter(|day| day.weekday() == *weekday && !is_off(*day));
            let new: Vec<NaiveDate> = new.collect();
            site.meet_also(new);
        }
    };
    let changed = with(term, meet);
    (!days.is_empty()).then_some((Idea::ClassDay { days }, changed))
}

fn free_weekday(site: &Site) -> Option<Weekday> {
    let usual = site.usual_weekdays();
    let meets = |weekday: &Weekday| usual.contains(weekday);
    let week = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri];
    let distance = |weekday: Weekday| {
        let taken = week.iter().filter(|other| meets(other));
        taken.map(|other| other.days_since(weekday).min(weekday.days_since(*other))).min().unwrap_or(0)
    };
    // Of several, the first in the week.
    week.into_iter().rev().filter(|day| !meets(day)).max_by_key(|day| distance(*day))
}

/// In each long break in which a site has no class, somebody works there on a day in its middle.
fn come_in(term: &Term) -> Option<(Idea, Term)> {
    let mut days = Vec::new();
    for site in &term.sites {
        let breaks = site.days_off.iter().filter(|off| off.kind == DaysOffKind::Break).map(|off| off.span);
        for span in breaks.filter(|span| !site.class_days.iter().any(|day| span.contains(*day))) {
            let (first, last) = (span.first.max(term.start), span.last.min(term.end));
            let length = (last - first).num_days().max(0) as u64 + 1;
            // On a day from Monday to Friday.
            let middle = first + Days::new(length / 2);
            let day =
                middle - Days::new(u64::from(middle.weekday().num_days_from_monday()).saturating_sub(4));
            if length >= LONG_BREAK && span.contains(day) {
                days.push((site.id.clone(), day));
            }
        }
    }
    let come = |term: &mut Term| {
        for (id, day) in &days {
            if let Some(site) = term.sites.iter_mut().find(|site| site.id == *id) {
                site.meet_also([*day]);
            }
        }
    };
    let changed = with(term, come);
    (!days.is_empty()).then_some((Idea::ComeIn { days }, changed))
}

/// Of the crops of the library that the term does not use and has tanks for, those that gain the most grams in a day.
fn crops<'c>(term: &Term, library: impl Iterator<Item = &'c Crop>) -> Vec<(Idea, Term)> {
    let used = |crop: &Crop| term.crops.iter().any(|wanted| wanted.crop.id == crop.id);
    let fits = |crop: &Crop| term.sites.iter().any(|site| places(site, crop) > 0);
    let mut others: Vec<&Crop> = library.filter(|crop| !used(crop) && fits(crop)).collect();
    others.sort_by(|one, other| grams_a_day(other).total_cmp(&grams_a_day(one)));
    let one_more = |crop: &Crop| {
        let wanted = WantedCrop {
            crop: crop.clone(),
            way: WayWish::Either,
            sow: SowWish::Nursery,
            at_most: 1.0,
            at_least: 0.0,
            only_in: Vec::new(),
        };
        (Idea::Crop { crop: crop.id.clone() }, with(term, |term| term.crops.push(wanted)))
    };
    others.into_iter().take(CROPS_TRIED).map(one_more).collect()
}

fn grams_a_day(crop: &Crop) -> f64 {
    let days = crop.usual_days();
    crop.growth.value.grams_at(f64::from(days)) * crop.ready_to_eat.value / f64::from(days)
}

/// Seedlings of the quickest crop, as young as can be planted, on each site's first class day, unless such are on offer: as many
/// as there are places.
fn bought(term: &Term) -> Option<(Idea, Term)> {
    let quickest = term.crops.iter().min_by_key(|wanted| wanted.crop.usual_days())?;
    let (crop, age) = (quickest.crop.id.clone(), quickest.crop.nursery.value.min.max(1));
    let offered = |site: &Site, date: NaiveDate| {
        term.arrivals.iter().any(|other| other.crop == crop && other.site == site.id && other.date == date)
    };
    let sites = term.sites.iter().filter(|site| quickest.may_begin_at(&site.id)).filter_map(|site| {
        let first = site.class_days.first().filter(|date| !offered(site, **date))?;
        let places = places(site, &quickest.crop);
        (places > 0).then(|| (site.id.clone(), *first, places))
    });
    let sites: Vec<(SiteId, NaiveDate, u32)> = sites.collect();
    let buy = |term: &mut Term| {
        term.arrivals.extend(sites.iter().map(|(site, date, plants)| Arrival {
            crop: crop.clone(),
            site: site.clone(),
            date: *date,
            days: age,
            plants: *plants,
            price: None,
        }));
    };
    let changed = with(term, buy);
    (!sites.is_empty()).then_some((Idea::Bought { crop, age, sites }, changed))
}

/// Places for plants of a crop in all tanks that suit it.
fn places(site: &Site, crop: &Crop) -> u32 {
    let suited = site.tanks.iter().filter(|tank| crop.tolerates(tank.ph, tank.ec));
    let rooms = suited.filter_map(|tank| Some((tank.lid, tank.lid.room_for(crop.spacing.value.cm())?)));
    rooms.map(|(lid, room)| lid.spots(room).len() as u32).sum()
}

/// Greens that keep longer, but no longer than their figures call possible where these say so, and than cut leaves may be kept.
fn keeps(term: &Term) -> Option<(Idea, Term)> {
    let longer = |figure: &mut Figure<u32>, most: u32| {
        let most = figure.spread.map_or(most, |spread| spread.high);
        figure.value = figure.value.max(most.min(figure.value + KEEPS));
    };
    let changed = with(term, |term| {
        for wanted in &mut term.crops {
            longer(&mut wanted.crop.shelf_life, u32::MAX);
            longer(&mut wanted.crop.cut_shelf_life, CUT_LEAVES_KEEP);
        }
    });
    (changed != *term).then_some((Idea::Keeps { days: KEEPS }, changed))
}

/// Batches of half as many plants, but not below a handful.
fn smaller_batches(term: &Term) -> Option<(Idea, Term)> {
    let from = term.rules.smallest_batch;
    let to = (from / 2).max(term.rules.handful).max(1);
    (to < from)
        .then(|| (Idea::SmallerBatches { from, to }, with(term, |term| term.rules.smallest_batch = to)))
}

fn less_sure(term: &Term) -> Option<(Idea, Term)> {
    let (from, to) = (term.sure(), *PROMISED.start());
    let less =
        |term: &mut Term| term.servings.iter_mut().for_each(|serving| serving.sure = serving.sure.min(to));
    (from > to).then(|| (Idea::LessSure { from, to }, with(term, less)))
}
