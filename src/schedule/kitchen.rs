//! Harvested greens on their way to serving days, for who wants to know what becomes of other harvests than planned.

use super::hand_out::{hand_out, servings};
use super::instance::{Day, Network};
use super::supply::{Greens, Supply};
use crate::domain::calendar::days_between;
use crate::domain::ids::{CropId, SiteId, TankId};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use chrono::NaiveDate;

/// Gives greens to the serving days of a term, just as plans do.
pub(crate) struct Kitchen<'t> {
    net: Network<'t>,
    empty: Supply,
}

/// Greens of a crop from a tank, harvested on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Pot {
    day: Day,
    reach: (usize, usize),
    crop: usize,
    tank: (usize, usize),
}

impl Pot {
    /// The first serving of the term that can have it, by index.
    pub(crate) fn first(self) -> usize {
        self.reach.0
    }
}

impl<'t> Kitchen<'t> {
    /// The kitchen of a term.
    pub(crate) fn new(term: &'t Term) -> Self {
        let mut net = Network::new(term);
        // What comes is what comes, whatever was promised.
        net.servings.iter_mut().for_each(|serving| serving.sure = 0.0);
        let empty = Supply::new(&net);
        Self { net, empty }
    }

    /// Greens harvested on a day that may be served for so many days after it; `None` if that is on no serving day, or the term
    /// does not know where they come from.
    pub(crate) fn pot(
        &self,
        (date, keeps): (NaiveDate, u32),
        crop: &CropId,
        (site, tank): (&SiteId, &TankId),
    ) -> Option<Pot> {
        let term = self.net.term;
        let day = days_between(term.start, date) as Day;
        let place = term.sites.iter().position(|other| other.id == *site)?;
        Some(Pot {
            day,
            reach: self.net.reach(day, keeps as Day)?,
            crop: term.crops.iter().position(|wanted| wanted.crop.id == *crop)?,
            tank: (place, term.sites[place].tanks.iter().position(|other| other.id == *tank)?),
        })
    }

    /// Gives the harvests of a plan out anew, whatever they served, so that its serving days get what they now can.
    pub(crate) fn give_out(&self, plan: &mut Plan) {
        let mut pots = Vec::new();
        for batch in &mut plan.batches {
            let Some(wanted) = self.net.term.crop(&batch.crop) else { continue };
            for part in &mut batch.parts {
                for harvest in &mut part.harvests {
                    harvest.serves.clear();
                    let keeps = wanted.crop.keeps(harvest.way, harvest.number).value;
                    let pot = self.pot((harvest.date, keeps), &batch.crop, (&batch.site, &part.tank));
                    pots.extend(pot.map(|pot| (pot, harvest.grams)));
                }
            }
        }
        let taken = self.supply(pots).taken();
        hand_out(&self.net, &mut plan.batches, &taken);
        plan.servings = servings(self.net.term, &plan.batches);
    }

    /// Grams that each serving day of the term gets.
    pub(crate) fn serve(&self, harvests: impl IntoIterator<Item = (Pot, f64)>) -> Vec<f64> {
        let supply = self.supply(harvests);
        let wanted = self.net.servings.iter().map(|serving| serving.target);
        wanted.zip(supply.short()).map(|(target, short)| target - short).collect()
    }

    /// All that is harvested, given out.
    fn supply(&self, harvests: impl IntoIterator<Item = (Pot, f64)>) -> Supply {
        let mut supply = self.empty.clone();
        for (pot, grams) in harvests {
            let Pot { crop, tank, .. } = pot;
            let greens = Greens { crop, tank, grams, batch: 0, comes: (1.0, 0.0), plants: 1, in_cups: false };
            supply.add((pot.day, pot.reach), &greens);
        }
        supply.try_out();
        supply.agree();
        supply
    }
}
