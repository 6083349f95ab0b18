//! How far the harvests of a serving day spread, from what they have in common.
//!
//! The greens of a batch are all heavy or all light, and so are those of a tank; what plants do on their own evens out. The
//! variance of their sum is that of each batch's and each tank's sum by itself, added up (the formula for the variance of a
//! sum of independent parts). So a day that lives on one tank needs a larger reserve than one that lives on four.

use super::super::instance::Network;
use super::{Greens, NOTHING};
use crate::domain::luck::{Spread, Trouble};
use crate::domain::plan::Origin;
use crate::domain::term::WantedCrop;

/// Grams of one batch, and of one tank.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Together {
    key: Key,
    /// Standard deviation they share.
    deviation: f64,
    grams: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Key {
    Batch(u32),
    Tank(u32),
}

/// What is known of the harvests that a serving day is the first to get.
#[derive(Debug, Clone, PartialEq, Default)]
struct Harvests {
    shared: Vec<Together>,
    /// Grams lost on average.
    lost: f64,
    /// Variance of what plants do on their own.
    alone: f64,
}

impl Harvests {
    /// Adds greens from a tank, by its number among all tanks, or takes them off again, whose crop spreads in this way.
    fn add(&mut self, greens: &Greens, tank: u32, spread: &Spread, trouble: &Trouble) {
        let Greens { grams, batch, plants, comes: (mean, deviation), .. } = *greens;
        self.share(Key::Batch(batch), grams, deviation);
        self.share(Key::Tank(tank), grams, spread.tank);
        self.lost += (1.0 - trouble.mean() * mean) * grams;
        self.alone += if plants == 0 { 0.0 } else { spread.alone * grams * grams / f64::from(plants) };
        if self.shared.is_empty() {
            (self.lost, self.alone) = (0.0, 0.0);
        }
    }

    fn share(&mut self, key: Key, grams: f64, each: f64) {
        match self.shared.iter_mut().position(|other| other.key == key) {
            Some(at) => {
                let own = &mut self.shared[at];
                own.grams += grams;
                own.deviation += each * grams;
                if own.grams < NOTHING {
                    self.shared.swap_remove(at);
                }
            }
            None => self.shared.push(Together { key, deviation: each * grams, grams }),
        }
    }

    /// How far what there is may fall short, with what is left over from the serving before.
    fn with(&self, left_over: Doubt, trouble: &Trouble) -> Doubt {
        let fate = trouble.variance();
        let of = |own: &Together| {
            let tank = if matches!(own.key, Key::Tank(_)) { fate * own.grams * own.grams } else { 0.0 };
            own.deviation * own.deviation + tank
        };
        Doubt {
            lost: left_over.lost + self.lost,
            variance: left_over.variance + self.alone.max(0.0) + self.shared.iter().map(of).sum::<f64>(),
        }
    }
}

/// What is known of the harvests of all servings.
#[derive(Debug, Clone)]
pub(super) struct Doubts {
    /// By first serving, and those touched since the last agreement as they were.
    harvests: Vec<Harvests>,
    before: Vec<(usize, Harvests)>,
    /// By crop, for plants from plugs and from cups.
    spreads: Vec<[Spread; 2]>,
    /// Number of the first tank of each site among all tanks.
    first_tanks: Vec<u32>,
    trouble: Trouble,
}

impl Doubts {
    pub(super) fn new(net: &Network) -> Self {
        let spread = |wanted: &WantedCrop| {
            [Origin::Sown, Origin::InCups].map(|origin| Spread::of(&wanted.crop, origin))
        };
        let mut tanks = 0;
        let first_tanks = net.sites.iter().map(|site| {
            let first = tanks;
            tanks += site.tanks.len() as u32;
            first
        });
        Self {
            harvests: vec![Harvests::default(); net.servings.len()],
            before: Vec::new(),
            spreads: net.term.crops.iter().map(spread).collect(),
            first_tanks: first_tanks.collect(),
            trouble: Trouble::default(),
        }
    }

    /// Adds greens that a serving is the first to get, or takes them off again.
    pub(super) fn add(&mut self, first: usize, greens: &Greens) {
        if self.before.iter().all(|(touched, _)| *touched != first) {
            self.before.push((first, self.harvests[first].clone()));
        }
        let (site, tank) = greens.tank;
        let tank = self.first_tanks[site] + tank as u32;
        let spread = self.spreads[greens.crop][usize::from(greens.in_cups)];
        self.harvests[first].add(greens, tank, &spread, &self.trouble);
    }

    /// Takes what there is now as agreed.
    pub(super) fn agree(&mut self) {
        self.before.clear();
    }

    /// Takes back everything since the last agreement.
    pub(super) fn forget(&mut self) {
        for (first, before) in self.before.drain(..) {
            self.harvests[first] = before;
        }
    }

    /// How far what a serving has may fall short.
    pub(super) fn at(&self, serving: usize, left_over: Doubt) -> Doubt {
        self.harvests[serving].with(left_over, &self.trouble)
    }
}

/// How far greens may fall short of what is planned.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Doubt {
    /// Grams lost on average.
    lost: f64,
    /// In square grams.
    variance: f64,
}

impl Doubt {
    /// What remains of it where so many grams are left over: they bear what all fell short of, as far as they go.
    pub(super) fn left_with(self, grams: f64) -> Self {
        let lost = self.lost.min(grams).max(0.0);
        Self { lost, variance: self.variance.min((grams - lost).powi(2)) }
    }
}

/// What a serving day should be sure of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Promise {
    /// Grams it may not fall below.
    pub(super) least: f64,
    /// Standard deviations for the chance promised.
    pub(super) deviations: f64,
}

impl Promise {
    /// Grams to plan beyond the least, so that it holds.
    pub(super) fn reserve(&self, doubt: Doubt) -> f64 {
        (doubt.lost + self.deviations * doubt.variance.sqrt()).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NONE: Trouble = Trouble { suffers: 0.0, lost: 0.0 };

    /// A head of 100 g, in a batch of its own, or one taken off.
    fn head(batch: u32, plants: i32) -> Greens {
        let grams = 100.0 * f64::from(plants);
        Greens { crop: 0, tank: (0, 0), grams, batch, comes: (1.0, 0.0), plants, in_cups: false }
    }

    /// Heads in one tank that weigh 12 % more or less, of which a share is common to all.
    fn spread(shared: f64) -> Spread {
        let square = 0.12 * 0.12;
        Spread::with((square * shared).sqrt(), square * (1.0 - shared))
    }

    fn heads(count: u32, shared: f64) -> Harvests {
        let mut harvests = Harvests::default();
        for batch in 0..count {
            harvests.add(&head(batch, 1), 0, &spread(shared), &NONE);
        }
        harvests
    }

    /// Forty heads with a coefficient of variation of 12 %: their sum spreads by 12 / √40 = 1.9 % if each is on its own, and by
    /// √(0.5 + 0.5 / 40) · 12 = 8.6 % if half of the variance is shared (variance of a sum, any textbook of statistics).
    #[test]
    fn what_is_shared_does_not_even_out() {
        for (shared, expected) in [(0.0, 0.018_97), (0.5, 0.085_91), (1.0, 0.12)] {
            let doubt = heads(40, shared).with(Doubt::default(), &NONE);
            let share = doubt.variance.sqrt() / 4000.0;
            assert!((share - expected).abs() < 1e-5, "{shared}: {share}");
        }
    }

    #[test]
    fn what_is_taken_off_again_leaves_nothing() {
        let mut harvests = heads(3, 0.5);
        for batch in 0..3 {
            harvests.add(&head(batch, -1), 0, &spread(0.5), &NONE);
        }
        assert_eq!(harvests, Harvests::default());
    }

    /// Where all is served nothing is left over to doubt; what is left bears no more than itself.
    #[test]
    fn doubt_goes_no_further_than_what_is_left() {
        let doubt = Doubt { lost: 50.0, variance: 10_000.0 };
        assert_eq!(doubt.left_with(0.0), Doubt::default());
        assert_eq!(doubt.left_with(80.0), Doubt { lost: 50.0, variance: 900.0 });
        assert_eq!(doubt.left_with(1000.0), doubt);
    }
}
