//! One term, played once.

use super::later::READY;
use super::setting::{Lot, Setting};
use super::stays::Cycle;
use crate::domain::luck::{LEFT, SHARED};
use crate::schedule::Pot;
use rand::Rng;
use rand_distr::{Binomial, Distribution, StandardNormal};

/// What came of it.
pub(super) struct Played {
    /// Grams, by serving day of the term.
    pub(super) served: Vec<f64>,
    /// Grams harvested and not served.
    pub(super) surplus: f64,
    pub(super) empty_places: u32,
    pub(super) spare_seedlings: u32,
}

/// What a stretch of a tank brings.
struct Fate {
    /// Mass of everything in it, against what it should be.
    left: f64,
    /// Day on which all is lost.
    lost: Option<i64>,
    /// Whether it is a good place or a bad one, in standard deviations.
    place: f64,
}

pub(super) fn play(setting: &Setting, rng: &mut impl Rng) -> Played {
    let fates: Vec<Fate> = setting.cycles.iter().map(|cycle| fate(cycle, rng)).collect();
    let mut played = Played { served: Vec::new(), surplus: 0.0, empty_places: 0, spare_seedlings: 0 };
    let mut harvested: Vec<(Pot, f64)> = setting.done.clone();
    for lot in &setting.batches {
        grow(lot, &fates, &mut harvested, &mut played, rng);
    }
    let all: f64 = played.surplus + harvested.iter().map(|(_, grams)| grams).sum::<f64>();
    played.served = setting.kitchen.serve(harvested);
    played.surplus = (all - played.served.iter().sum::<f64>()).max(0.0);
    played
}

fn fate(cycle: &Cycle, rng: &mut impl Rng) -> Fate {
    // All are drawn each time, so that one stretch's luck does not shift that of the next.
    let (suffers, left) = (rng.random_bool(cycle.trouble.suffers), rng.random_range(LEFT));
    let (lost, day) = (
        rng.random_bool(cycle.trouble.lost),
        rng.random_range(cycle.days.0..cycle.days.1.max(cycle.days.0 + 1)),
    );
    Fate {
        left: if suffers { left } else { 1.0 },
        lost: lost.then_some(day),
        place: rng.sample(StandardNormal),
    }
}

/// Plays one batch: what comes up, what is moved, what lives and what it weighs. What can be served on no day counts as
/// surplus at once.
fn grow(lot: &Lot, fates: &[Fate], harvested: &mut Vec<(Pot, f64)>, played: &mut Played, rng: &mut impl Rng) {
    let late = lot.pace * rng.sample::<f64, _>(StandardNormal);
    let batch = log_normal(lot.mass, rng.sample(StandardNormal));
    for (group, planted) in lot.groups.iter().zip(plant(lot, played, rng)) {
        let fate = &fates[group.cycle];
        let living = some_of(planted, group.lives, rng);
        let alone = lot.plants * ((1.0 - SHARED) / f64::from(living.max(1))).sqrt();
        let plants = log_normal(lot.plants * SHARED.sqrt(), fate.place)
            * log_normal(alone, rng.sample(StandardNormal));
        for planned in &group.harvests {
            let seen = plants * batch * fate.left * planned.growth.share(late);
            let pick = planned.later.as_deref().filter(|_| seen < READY).unwrap_or(planned);
            if fate.lost.is_some_and(|day| group.moved <= day && day <= pick.day) {
                continue;
            }
            let grams = f64::from(living) * pick.each * plants * batch * fate.left * pick.growth.share(late);
            match pick.pot {
                Some(pot) => harvested.push((pot, grams)),
                None => played.surplus += grams,
            }
        }
    }
}

/// Plants of each group: as many as planned, as far as seedlings came up; what is then to spare takes free holes.
fn plant(lot: &Lot, played: &mut Played, rng: &mut impl Rng) -> Vec<u32> {
    let places = || lot.groups.iter().map(|group| group.places);
    let Some(nursery) = lot.nursery else { return places().collect() };
    let mut left = some_of(nursery.plugs, nursery.each, rng).saturating_sub(nursery.moved);
    let mut take = |most: u32| {
        let taken = most.min(left);
        left -= taken;
        taken
    };
    let mut planted: Vec<u32> = lot
        .groups
        .iter()
        .map(|group| if group.to_come { take(group.places) } else { group.places })
        .collect();
    played.empty_places += places().sum::<u32>() - planted.iter().sum::<u32>();
    // Where fewer seedlings were counted than planned for, the last places were given up first; they are the first to be filled.
    for (group, planted) in lot.groups.iter().zip(&mut planted).rev() {
        *planted += take(group.spare_places);
    }
    played.spare_seedlings += left;
    planted
}

/// How many of some come out well, each with the same chance.
fn some_of(count: u32, chance: f64, rng: &mut impl Rng) -> u32 {
    Binomial::new(u64::from(count), chance.clamp(0.0, 1.0)).map_or(0, |draw| draw.sample(rng) as u32)
}

/// A factor of mean 1 with a coefficient of variation, so many standard deviations from the middle on a logarithmic scale.
fn log_normal(variation: f64, deviations: f64) -> f64 {
    let variance = (1.0 + variation * variation).ln();
    (variance.sqrt() * deviations - variance / 2.0).exp()
}
