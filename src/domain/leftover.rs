//! What is left in store at the end of a term.
//!
//! Seed and plugs go by what was really sown, all else by what the plan uses. Where that is more than there was, as many
//! packs count as bought as the order list told to buy. What nobody stated, neither a stock nor what a pack holds, is not
//! guessed at.

use super::ids::{BatchId, CropId};
use super::order::{Purchase, Thing, order};
use super::plan::Plan;
use super::supplies::{Seed, SeedAmount, Stock, Supplies};
use super::term::Term;
use chrono::Datelike;
use std::collections::BTreeMap;

/// Plugs that were really sown, by batch; batches that are not listed were not sown.
pub type Sown = BTreeMap<BatchId, u32>;

/// What is left in store at the end of a term.
#[derive(Debug, Clone, PartialEq)]
pub struct Leftover {
    /// Stock, packs and habits of the term, with what is left as the stock.
    pub supplies: Supplies,
    /// Seed that is left over, in the order of the supplies.
    pub seed: Vec<SeedLeft>,
}

/// Seed of a crop that is left over, at least one.
#[derive(Debug, Clone, PartialEq)]
pub struct SeedLeft {
    /// Which crop.
    pub crop: CropId,
    /// How much, in the unit in which the stock or the packet is stated.
    pub amount: SeedAmount,
    /// Packets that count as bought in the term.
    pub bought: u32,
    /// Year for which it was packed, as far as is known: seed of a packet bought in the term counts as packed for the
    /// year in which the term began, and so does a stock that nobody said more of.
    pub packed: i32,
    /// Whether that year is such a guess.
    pub year_guessed: bool,
}

/// Works out what is left of a term's supplies.
pub fn leftover(term: &Term, plan: &Plan, sown: &Sown) -> Leftover {
    let ordered = order(term, plan);
    let bought = |crop: &CropId| {
        let line = ordered.seeds.iter().find(|line| line.crop == *crop);
        line.and_then(|line| line.purchase.packs).unwrap_or(0)
    };
    let mut supplies = term.supplies.clone();
    let mut found = Vec::new();
    for seed in &mut supplies.seed {
        let left = seed_left(term, seed, bought(&seed.crop), laid(plan, sown, &seed.crop));
        let Some((amount, left)) = left else { continue };
        seed.on_hand = Some(amount);
        if let Some(left) = left {
            seed.packed = Some(left.packed);
            found.push(left);
        }
    }
    let plugs: u32 = sown_batches(plan, sown).map(|(_, plugs)| plugs).sum();
    for line in &ordered.things {
        let (stock, used) = match &line.thing {
            Thing::Plugs => (Some(&mut supplies.plugs), f64::from(plugs)),
            // They are washed and used again.
            Thing::NetCups => (Some(&mut supplies.net_cups), 0.0),
            Thing::Medium => {
                let reused = supplies.medium.is_some_and(|medium| medium.reused);
                let used = if reused { 0.0 } else { line.wanted };
                (supplies.medium.as_mut().map(|medium| &mut medium.stock), used)
            }
            Thing::Seedlings(..) => (None, 0.0),
            Thing::Concentrate(dose) => {
                let same = supplies.doses.iter_mut().find(|other| *other == dose);
                (same.map(|dose| &mut dose.stock), line.wanted)
            }
        };
        if let Some(stock) = stock.filter(|stock| is_stated(stock)) {
            stock.on_hand = stock_left(stock, &line.purchase, used);
        }
    }
    Leftover { supplies, seed: found }
}

/// Whether anything was said that a stock can be told from.
pub fn is_stated(stock: &Stock) -> bool {
    stock.on_hand > 0.0 || stock.pack.is_some()
}

fn stock_left(stock: &Stock, purchase: &Purchase, used: f64) -> f64 {
    let bought = purchase.packs.zip(stock.pack).map_or(0.0, |(packs, pack)| f64::from(packs) * pack);
    let left = (stock.on_hand + bought - used).max(0.0);
    // To the millilitre; nobody measures more.
    (left * 1000.0).round() / 1000.0
}

/// Batches that were sown, with their plugs.
fn sown_batches<'a>(
    plan: &'a Plan,
    sown: &'a Sown,
) -> impl Iterator<Item = (&'a super::plan::Batch, u32)> + 'a {
    let batches = plan.batches.iter().filter(|batch| batch.origin.is_sown());
    batches.filter_map(|batch| Some((batch, *sown.get(&batch.id)?)))
}

/// Seeds of a crop that were laid.
fn laid(plan: &Plan, sown: &Sown, crop: &CropId) -> u32 {
    let own = sown_batches(plan, sown).filter(|(batch, _)| batch.crop == *crop);
    own.map(|(batch, plugs)| plugs * batch.seeds_per_plug).sum()
}

/// What is left of a crop's seed, and more of it if that is anything; `None` if nobody said what there was. Old seed is
/// sown first.
fn seed_left(term: &Term, seed: &Seed, bought: u32, laid: u32) -> Option<(SeedAmount, Option<SeedLeft>)> {
    if seed.on_hand.is_none() && bought == 0 {
        return None;
    }
    let unit = seed.on_hand.filter(|had| *had != SeedAmount::Seeds(0)).or(seed.packet)?;
    let per_gram = term.crop(&seed.crop)?.crop.seeds_per_gram.value;
    let had = seed.on_hand.map_or(0.0, |amount| amount.seeds(per_gram));
    let packets = seed.packet.map_or(0.0, |packet| f64::from(bought) * packet.seeds(per_gram));
    let left = (had + packets - f64::from(laid)).max(0.0);
    let amount = match unit {
        SeedAmount::Seeds(_) => SeedAmount::Seeds(left as u32),
        // Packets are weighed to the hundredth of a gram; less than that is none.
        SeedAmount::Grams(_) => SeedAmount::Grams((left / per_gram * 100.0).floor() / 100.0),
    };
    if amount.seeds(per_gram) < 1.0 {
        return Some((SeedAmount::Seeds(0), None));
    }
    let stated = seed.packed.filter(|_| f64::from(laid) < had);
    let left = SeedLeft {
        crop: seed.crop.clone(),
        amount,
        bought,
        packed: stated.unwrap_or_else(|| term.start.year()),
        year_guessed: stated.is_none(),
    };
    Some((amount, Some(left)))
}
