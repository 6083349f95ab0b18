//! What has to be bought for a plan, how much of it, and by when.
//!
//! Seeds already hold the germination allowance, because the plan lays enough of them; the spare share
//! comes on top. Net cups are washed and used again, so only as many are needed as stand in the tanks at
//! once. Concentrates are counted for every filling of a tank and for all water its plants use, at full
//! strength: an upper figure, see [`super::water`].

use super::calendar::{DateSpan, minus_days, plus_days};
use super::crop::Crop;
use super::ids::{CropId, SiteId, TankId};
use super::plan::{Batch, Origin, Plan};
use super::supplies::{Dose, SeedAmount, Stock};
use super::term::{Arrival, Term};
use super::water::{self, Solution};
use chrono::{Datelike, Days, NaiveDate, Weekday};
use std::collections::BTreeMap;

/// Room for rounding before an amount is rounded up to whole packs or seeds.
const ROUNDING: f64 = 1e-9;

/// Everything to order for a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Seed by crop, by the crop's id.
    pub seeds: Vec<SeedLine>,
    /// Plugs, net cups, growing medium and concentrates, as far as the plan needs them.
    pub things: Vec<ThingLine>,
    /// Water of every tank, the ground for the concentrates.
    pub water: Vec<TankWater>,
    /// What it costs, if any price is known.
    pub cost: Option<Cost>,
}

/// Seed of one crop.
#[derive(Debug, Clone, PartialEq)]
pub struct SeedLine {
    /// Which crop.
    pub crop: CropId,
    /// Plugs to sow.
    pub plugs: u32,
    /// Seeds laid in them.
    pub laid: u32,
    /// Seeds wanted with the spare ones.
    pub wanted: u32,
    /// Grams of that many seeds.
    pub grams: f64,
    /// What one packet holds, if known.
    pub packet: Option<SeedAmount>,
    /// What to buy, in seeds.
    pub purchase: Purchase,
}

/// What is bought besides seed.
#[derive(Debug, Clone, PartialEq)]
pub enum Thing {
    /// Plugs to sow into, in pieces.
    Plugs,
    /// Net cups, in pieces.
    NetCups,
    /// Growing medium, in litres.
    Medium,
    /// Seedlings of an age in days, in pieces.
    Seedlings(CropId, u32),
    /// A concentrate, in litres.
    Concentrate(Dose),
}

/// A thing besides seed.
#[derive(Debug, Clone, PartialEq)]
pub struct ThingLine {
    /// What it is.
    pub thing: Thing,
    /// How much the plan needs, in the thing's unit.
    pub wanted: f64,
    /// What one pack holds, if known.
    pub pack: Option<f64>,
    /// What to buy.
    pub purchase: Purchase,
}

/// How much to buy and by when.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Purchase {
    /// How much is there already.
    pub on_hand: f64,
    /// How much is missing, 0 if nothing.
    pub missing: f64,
    /// Packs to buy, if what one holds is known.
    pub packs: Option<u32>,
    /// What the packs cost, if their price is known.
    pub cost: Option<f64>,
    /// First day it is used.
    pub first_use: NaiveDate,
    /// Day by which to order: the last class day of any site on which it would still arrive in time, or,
    /// before the term, the last weekday.
    pub order_by: NaiveDate,
}

/// Water that goes into a tank over the term.
#[derive(Debug, Clone, PartialEq)]
pub struct TankWater {
    /// Its site.
    pub site: SiteId,
    /// Which tank.
    pub tank: TankId,
    /// Litres of one filling.
    pub filling_litres: f64,
    /// Whether that is the whole reservoir, rather than only what plants can draw because no more is known.
    pub whole_known: bool,
    /// When it is filled and changed.
    pub solution: Solution,
    /// Litres of topping up, at most.
    pub top_up_litres: f64,
}

impl TankWater {
    /// Litres in all.
    pub fn litres(&self) -> f64 {
        self.filling_litres * f64::from(self.solution.fillings()) + self.top_up_litres
    }
}

/// What an order costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// All lines with a price, for whole packs.
    pub total: f64,
    /// Lines with something to buy but no price.
    pub without_price: u32,
    /// Ready-to-eat grams the plan serves.
    pub grams: f64,
    /// Cost of one serving, if the target is given in servings of one size and anything is served.
    pub per_serving: Option<f64>,
    /// Cost of 100 g ready to eat, if anything is served.
    pub per_100_grams: Option<f64>,
}

/// Works out the order for `plan`.
pub fn order(term: &Term, plan: &Plan) -> Order {
    let seeds: Vec<SeedLine> =
        term.crops.iter().filter_map(|wanted| seed(term, plan, &wanted.crop)).collect();
    let water = tank_water(term, plan);
    let things: Vec<ThingLine> = [plugs(term, plan), net_cups(term, plan), medium(term, plan)]
        .into_iter()
        .flatten()
        .chain(plan.batches.iter().filter_map(|batch| seedlings(term, batch)))
        .chain(term.supplies.doses.iter().filter_map(|dose| concentrate(term, dose, &water)))
        .collect();
    let purchases: Vec<Purchase> =
        seeds.iter().map(|line| line.purchase).chain(things.iter().map(|line| line.purchase)).collect();
    let cost = cost(term, plan, &purchases);
    let mut seeds = seeds;
    seeds.sort_by(|one, other| one.crop.cmp(&other.crop));
    Order { seeds, things, water, cost }
}

fn seed(term: &Term, plan: &Plan, crop: &Crop) -> Option<SeedLine> {
    let batches = || plan.batches.iter().filter(|batch| batch.crop == crop.id && batch.origin.is_sown());
    let first_use = batches().map(|batch| batch.sown).min()?;
    let laid: u32 = batches().map(super::plan::Batch::seeds).sum();
    let wanted = (f64::from(laid) * (1.0 + term.supplies.spare_seed) - ROUNDING).ceil() as u32;
    let per_gram = crop.seeds_per_gram.value;
    let seed = term.supplies.seed_of(&crop.id);
    let packet = seed.and_then(|seed| seed.packet);
    let stock = Stock {
        on_hand: seed.and_then(|seed| seed.on_hand).map_or(0.0, |amount| amount.seeds(per_gram)),
        pack: packet.map(|amount| amount.seeds(per_gram)),
        price: seed.and_then(|seed| seed.price),
    };
    Some(SeedLine {
        crop: crop.id.clone(),
        plugs: batches().map(|batch| batch.plugs).sum(),
        laid,
        wanted,
        grams: f64::from(wanted) / per_gram,
        packet,
        purchase: purchase(term, stock, f64::from(wanted), first_use),
    })
}

fn plugs(term: &Term, plan: &Plan) -> Option<ThingLine> {
    let sown = || plan.batches.iter().filter(|batch| batch.origin.is_sown());
    let count: u32 = sown().map(|batch| batch.plugs).sum();
    let first_use = sown().map(|batch| batch.sown).min()?;
    Some(thing(term, Thing::Plugs, term.supplies.plugs, f64::from(count), first_use))
}

/// Seedlings that come for a batch.
fn seedlings(term: &Term, batch: &Batch) -> Option<ThingLine> {
    let Origin::Bought { days } = batch.origin else { return None };
    // Those that came on another day were born on the same one.
    let born = |arrival: &&Arrival| minus_days(arrival.date, arrival.days) == batch.born();
    let mut offers =
        term.arrivals.iter().filter(|arrival| (&arrival.crop, &arrival.site) == (&batch.crop, &batch.site));
    let offer = offers.find(born);
    let stock = Stock { on_hand: 0.0, pack: Some(1.0), price: offer.and_then(|offer| offer.price) };
    let what = Thing::Seedlings(batch.crop.clone(), days);
    Some(thing(term, what, stock, f64::from(batch.plugs), batch.sown))
}

fn net_cups(term: &Term, plan: &Plan) -> Option<ThingLine> {
    let (first_use, most) = cups_in_use(term, plan)?;
    Some(thing(term, Thing::NetCups, term.supplies.net_cups, f64::from(most), first_use))
}

fn medium(term: &Term, plan: &Plan) -> Option<ThingLine> {
    let medium = term.supplies.medium?;
    let (mut first_use, mut cups) = cups_in_use(term, plan)?;
    if !medium.reused {
        // Plants that stand already have theirs.
        let moved = || plan.batches.iter().flat_map(|batch| &batch.parts).filter(|part| moves(term, part));
        cups = moved().map(|part| part.plants).sum();
        first_use = moved().map(|part| part.transplant).min()?;
    }
    Some(thing(term, Thing::Medium, medium.stock, f64::from(cups) * medium.litres_a_cup, first_use))
}

fn concentrate(term: &Term, dose: &Dose, water: &[TankWater]) -> Option<ThingLine> {
    let litres: f64 = water.iter().map(TankWater::litres).sum();
    let first_use = water
        .iter()
        .filter(|tank| tank.litres() > 0.0)
        .map(|tank| tank.solution.filled.unwrap_or(term.start))
        .min()?;
    let wanted = litres * dose.ml_per_litre / 1000.0;
    Some(thing(term, Thing::Concentrate(dose.clone()), dose.stock, wanted, first_use))
}

/// Whether a part is moved to its tank in the term.
fn moves(term: &Term, part: &super::plan::Part) -> bool {
    part.transplant >= term.start && !part.lost_in_nursery()
}

/// The first day on which net cups are used, and the most in use at once: cups stay at their site, and one
/// whose plant is pulled is washed and ready the day after.
fn cups_in_use(term: &Term, plan: &Plan) -> Option<(NaiveDate, u32)> {
    let first_use = plan.batches.iter().filter_map(|batch| batch.move_days().first().copied()).min()?;
    let most = term
        .sites
        .iter()
        .map(|site| {
            let mut changes: BTreeMap<NaiveDate, i64> = BTreeMap::new();
            for part in plan.batches.iter().filter(|batch| batch.site == site.id).flat_map(|b| &b.parts) {
                *changes.entry(part.transplant).or_default() += i64::from(part.plants);
                if let Some(leaves) = part.leaves() {
                    *changes.entry(plus_days(leaves, 1)).or_default() -= i64::from(part.plants);
                }
            }
            let mut used = 0;
            changes
                .into_values()
                .map(|change| {
                    used += change;
                    used
                })
                .max()
                .unwrap_or(0)
                .max(0) as u32
        })
        .sum();
    Some((first_use.max(term.start), most))
}

fn tank_water(term: &Term, plan: &Plan) -> Vec<TankWater> {
    let span = DateSpan { first: term.start, last: term.end };
    let tanks = term.sites.iter().flat_map(|site| site.tanks.iter().map(move |tank| (site, tank)));
    tanks
        .map(|(site, tank)| TankWater {
            site: site.id.clone(),
            tank: tank.id.clone(),
            filling_litres: tank.filling_litres(),
            whole_known: tank.reservoir_litres.is_some(),
            solution: Solution::of(term, plan, site, &tank.id),
            top_up_litres: water::litres(term, plan, site, &tank.id, span),
        })
        .collect()
}

fn thing(term: &Term, thing: Thing, stock: Stock, wanted: f64, first_use: NaiveDate) -> ThingLine {
    ThingLine { thing, wanted, pack: stock.pack, purchase: purchase(term, stock, wanted, first_use) }
}

fn purchase(term: &Term, stock: Stock, wanted: f64, first_use: NaiveDate) -> Purchase {
    let missing = (wanted - stock.on_hand).max(0.0);
    let packs = stock.pack.map(|pack| (missing / pack - ROUNDING).ceil().max(0.0) as u32);
    Purchase {
        on_hand: stock.on_hand,
        missing,
        packs,
        cost: packs.zip(stock.price).map(|(packs, price)| f64::from(packs) * price),
        first_use,
        order_by: order_by(term, first_use),
    }
}

/// The last class day of any site at least the lead time before `first_use`, or the last weekday before the
/// term.
fn order_by(term: &Term, first_use: NaiveDate) -> NaiveDate {
    let latest = first_use - Days::new(u64::from(term.supplies.lead_days));
    let class_days = term.sites.iter().flat_map(|site| &site.class_days);
    if let Some(day) = class_days.filter(|day| **day <= latest).max() {
        return *day;
    }
    let back = match latest.weekday() {
        Weekday::Sat => 1,
        Weekday::Sun => 2,
        _ => 0,
    };
    latest - Days::new(back)
}

fn cost(term: &Term, plan: &Plan, purchases: &[Purchase]) -> Option<Cost> {
    let priced: Vec<f64> = purchases.iter().filter_map(|purchase| purchase.cost).collect();
    if priced.is_empty() {
        return None;
    }
    let total: f64 = priced.iter().sum();
    let grams: f64 = plan.servings.iter().map(|serving| serving.planned).sum();
    let per = |each: f64| (grams > 0.0).then(|| total * each / grams);
    let unpriced = purchases.iter().filter(|purchase| purchase.missing > 0.0 && purchase.cost.is_none());
    Some(Cost {
        total,
        without_price: unpriced.count() as u32,
        grams,
        per_serving: term.serving_grams.and_then(per),
        per_100_grams: per(100.0),
    })
}
