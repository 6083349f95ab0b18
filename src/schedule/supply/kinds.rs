//! Kinds of greens that every serving day is to have.

use super::NOTHING;
use super::pots::Pot;
use crate::domain::term::Rules;

/// Which crops are to be the kinds of a day, and what is missing to them.
#[derive(Clone)]
pub(super) struct Kinds {
    /// Kinds wanted on every day.
    wanted: usize,
    /// Share of a day's target that makes a crop a kind.
    from: f64,
    /// By crop: grams that a day could have, up to a portion, and the place of the first pot of it.
    there: Vec<(f64, usize)>,
    /// Crops, the likeliest kinds first.
    order: Vec<usize>,
    /// Grams of each crop, as far as they count.
    counted: Vec<f64>,
}

impl Kinds {
    pub(super) fn new(rules: &Rules, crops: usize) -> Self {
        let there = vec![(0.0, 0); crops];
        let (order, counted) = (Vec::with_capacity(crops), Vec::with_capacity(crops));
        Self { wanted: rules.kinds as usize, from: rules.kind_from, there, order, counted }
    }

    /// Grams that make a crop a kind.
    pub(super) fn portion(&self, target: f64) -> f64 {
        self.from * target
    }

    /// Puts crops in order for the kinds of a day: first those of which there is a portion, what spoils first before others; then
    /// those of which there is most. `served` and `most` tell by crop what the day has already and may have.
    pub(super) fn put_in_order(
        &mut self,
        pots: &[Pot],
        served: &[f64],
        most: impl Fn(usize) -> f64,
        target: f64,
    ) {
        self.order.clear();
        if self.wanted == 0 {
            return;
        }
        for (there, served) in self.there.iter_mut().zip(served) {
            *there = (*served, if *served > 0.0 { 0 } else { usize::MAX });
        }
        for (place, pot) in pots.iter().enumerate() {
            let (grams, first) = &mut self.there[pot.label.crop()];
            *grams += pot.grams;
            *first = place.min(*first);
        }
        let portion = self.portion(target);
        let found = self.there.iter_mut().enumerate().filter(|(_, there)| there.0 > 0.0);
        self.order.extend(found.map(|(crop, there)| {
            there.0 = there.0.min(most(crop)).min(portion);
            crop
        }));
        let there = &self.there;
        self.order.sort_unstable_by(|a, b| {
            let ((grams, first), (other, later)) = (there[*a], there[*b]);
            other.total_cmp(&grams).then(first.cmp(&later)).then(a.cmp(b))
        });
    }

    /// The crop chosen in some place; there are more of them than kinds are wanted, in case some cannot give a portion.
    pub(super) fn chosen(&self, place: usize) -> Option<usize> {
        self.order.get(place).copied()
    }

    /// Whether a crop gave what it could to be a kind, so that no other has to be one in its place.
    pub(super) fn gave(&self, crop: usize, served: f64) -> bool {
        served >= self.there[crop].0 - NOTHING
    }

    /// Kinds wanted on every day.
    pub(super) fn wanted(&self) -> usize {
        self.wanted
    }

    /// Grams missing to a portion of each kind, where crops of which a day has most are its kinds.
    pub(super) fn missing(&mut self, served: &[f64], target: f64) -> f64 {
        if self.wanted == 0 {
            return 0.0;
        }
        let portion = self.portion(target);
        self.counted.clear();
        self.counted.extend(served.iter().map(|grams| grams.min(portion)));
        self.counted.sort_unstable_by(|a, b| b.total_cmp(a));
        let present: f64 = self.counted.iter().take(self.wanted).sum();
        (portion * self.wanted as f64 - present).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::super::pots::Label;
    use super::*;

    fn kinds(wanted: usize, from: f64) -> Kinds {
        Kinds { wanted, from, there: vec![(0.0, 0); 4], order: Vec::new(), counted: Vec::new() }
    }

    /// Crops of pots in order of what spoils first.
    fn pots(greens: &[(usize, f64)]) -> Vec<Pot> {
        let pot = |(place, (crop, grams)): (usize, &(usize, f64))| Pot {
            label: Label::new(place, 0, *crop, 0),
            grams: *grams,
        };
        greens.iter().enumerate().map(pot).collect()
    }

    #[test]
    fn whole_portions_come_before_scraps_and_what_spoils_before_what_keeps() {
        let mut kinds = kinds(2, 0.2);
        let mut chosen = |greens: &[(usize, f64)]| {
            kinds.put_in_order(&pots(greens), &[0.0; 4], |_| 100.0, 100.0);
            kinds.order[..2.min(kinds.order.len())].to_vec()
        };
        assert_eq!(chosen(&[(0, 5.0), (1, 30.0), (2, 90.0), (3, 25.0)]), [1, 2]);
        assert_eq!(chosen(&[(0, 5.0), (1, 30.0), (0, 15.0)]), [0, 1], "pots of a crop add up");
        assert_eq!(chosen(&[(0, 5.0), (1, 30.0), (3, 8.0)]), [1, 3], "then what there is most of");
        assert_eq!(chosen(&[(0, 5.0)]), [0]);
        kinds.put_in_order(&pots(&[(2, 9.0), (3, 50.0)]), &[0.0, 20.0, 0.0, 0.0], |_| 100.0, 100.0);
        assert_eq!(kinds.order, [1, 3, 2], "what the day has already counts");
    }

    #[test]
    fn two_halves_are_no_kind() {
        let mut kinds = kinds(2, 0.2);
        assert!(kinds.missing(&[20.0, 60.0, 0.0, 0.0], 100.0).abs() < 1e-9);
        assert!((kinds.missing(&[10.0, 60.0, 10.0, 0.0], 100.0) - 10.0).abs() < 1e-9);
        assert!((kinds.missing(&[0.0; 4], 100.0) - 40.0).abs() < 1e-9);
    }
}
