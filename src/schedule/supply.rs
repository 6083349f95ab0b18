//! From harvests to serving days: who gets what, what is short and what is left over.
//!
//! Greens are given out serving by serving, what spoils first first, within the limits on crops and
//! tanks. A change of harvests is tried from the first serving it touches to the first one after which
//! everything is as before.

mod doubt;
mod kinds;
mod pots;
mod price;

use super::instance::{Day, Network};
use crate::domain::chance::deviations;
use crate::domain::term::Rules;
use doubt::{Doubt, Doubts, Promise};
use kinds::Kinds;
pub(super) use pots::{Greens, Taken};
use pots::{Label, Pot, merge};

/// Below this many grams a pot counts as empty.
const NOTHING: f64 = 1e-6;

/// Supply of all servings.
#[derive(Clone)]
pub(super) struct Supply {
    days: Vec<Serving>,
    /// Pots filled for each serving as the first one.
    fresh: Vec<Vec<Pot>>,
    /// Pots left over from the serving before, and the points of each serving, as agreed.
    carried: Vec<Vec<Pot>>,
    points: Vec<f64>,
    short: Vec<f64>,
    /// Grams missing to what is promised, and how doubtful is what is left over from the serving before.
    unsure: Vec<f64>,
    left_over: Vec<Doubt>,
    /// The same under trial, from `tried.0` up to `tried.1`.
    trial: Vec<Vec<Pot>>,
    trial_points: Vec<f64>,
    trial_short: Vec<f64>,
    trial_unsure: Vec<f64>,
    trial_left_over: Vec<Doubt>,
    tried: (usize, usize),
    /// Servings touched since the last agreement.
    touched: Option<(usize, usize)>,
    /// Pots filled since then, as they were, by first serving.
    before: Vec<(usize, Label, Option<Pot>)>,
    doubts: Doubts,
    /// The first day still to come.
    today: Day,
    rules: Rules,
    kinds: Kinds,
    crop_limits: Vec<(f64, f64)>,
    /// Numbers of limited tanks by site and tank.
    limited: Vec<Vec<u16>>,
    crop_served: Vec<f64>,
    tank_served: Vec<f64>,
    /// The day of the serving looked at, and the points for the storage of what it took.
    day: Day,
    stored: f64,
}

#[derive(Clone, Copy)]
struct Serving {
    day: Day,
    target: f64,
    tank_limit: f64,
    /// Grams below which it may not fall again, because it was met before; 0 if it was not.
    held: f64,
    promise: Option<Promise>,
    /// Whether anybody asks how sure it is: it is still to come, and something is promised of some day.
    is_doubted: bool,
}

impl Supply {
    pub(super) fn new(net: &Network) -> Self {
        let rules = net.term.rules.clone();
        let count = net.servings.len();
        let today = net.today.unwrap_or(Day::MIN);
        let promises = net.servings.iter().any(|serving| serving.sure > 0.0);
        let days = net
            .servings
            .iter()
            .map(|serving| Serving {
                day: serving.day,
                target: serving.target,
                tank_limit: rules.one_tank_at_most * serving.target,
                held: 0.0,
                promise: (serving.sure > 0.0).then(|| Promise {
                    least: (1.0 - rules.tolerance) * serving.target,
                    deviations: deviations(serving.sure),
                }),
                is_doubted: promises && serving.day >= today,
            })
            .collect();
        let mut number = 0;
        let limited: Vec<Vec<u16>> = net
            .sites
            .iter()
            .map(|site| {
                let mut count_on = || {
                    number += 1;
                    number
                };
                site.tanks.iter().map(|_| if rules.one_tank_at_most < 1.0 { count_on() } else { 0 }).collect()
            })
            .collect();
        let crop_limits = net.term.crops.iter().map(|wanted| (wanted.at_least, wanted.at_most)).collect();
        let mut supply = Self {
            days,
            fresh: vec![Vec::new(); count],
            carried: vec![Vec::new(); count + 1],
            points: vec![0.0; count],
            short: vec![0.0; count],
            unsure: vec![0.0; count],
            left_over: vec![Doubt::default(); count + 1],
            trial: vec![Vec::new(); count + 1],
            trial_points: vec![0.0; count],
            trial_short: vec![0.0; count],
            trial_unsure: vec![0.0; count],
            trial_left_over: vec![Doubt::default(); count + 1],
            tried: (0, 0),
            touched: count.checked_sub(1).map(|last| (0, last)),
            before: Vec::new(),
            doubts: Doubts::new(net),
            today,
            kinds: Kinds::new(&rules, net.term.crops.len()),
            rules,
            crop_limits,
            limited,
            crop_served: vec![0.0; net.term.crops.len()],
            tank_served: vec![0.0; usize::from(number) + 1],
            day: 0,
            stored: 0.0,
        };
        supply.try_out();
        supply.agree();
        supply
    }

    /// Adds greens harvested on `day` (or takes them away again) that may be served from `first` to `last`.
    pub(super) fn add(&mut self, (day, (first, last)): (Day, (usize, usize)), greens: &Greens) {
        let Greens { crop, tank: (site, tank), grams, .. } = *greens;
        // What lies in the fridge already is there.
        if self.days[first].is_doubted && day >= self.today {
            self.doubts.add(first, greens);
        }
        let tank = self.limited[site][tank];
        let label = Label::new(last, day, crop, tank);
        let pots = &mut self.fresh[first];
        match pots.binary_search_by_key(&label, |pot| pot.label) {
            Ok(found) => {
                self.before.push((first, label, Some(pots[found])));
                pots[found].grams += grams;
                if pots[found].grams < NOTHING {
                    pots.remove(found);
                }
            }
            Err(place) => {
                self.before.push((first, label, None));
                pots.insert(place, Pot { label, grams });
            }
        }
        let touched = self.touched.unwrap_or((first, first));
        self.touched = Some((touched.0.min(first), touched.1.max(first)));
    }

    /// Points the changes since the last agreement would add.
    pub(super) fn try_out(&mut self) -> f64 {
        let Some((first, last)) = self.touched else {
            self.tried = (0, 0);
            return 0.0;
        };
        let mut change = 0.0;
        let mut index = first;
        while index < self.days.len() {
            self.serve(index, index == first);
            change += self.trial_points[index] - self.points[index];
            index += 1;
            let as_before = self.trial[index] == self.carried[index]
                && self.trial_left_over[index] == self.left_over[index];
            if index > last && as_before {
                break;
            }
        }
        self.tried = (first, index);
        change
    }

    /// Takes the last trial as the new state.
    pub(super) fn agree(&mut self) {
        self.before.clear();
        self.doubts.agree();
        if self.touched.take().is_none() {
            return;
        }
        let (first, end) = self.tried;
        for index in first..end {
            self.points[index] = self.trial_points[index];
            self.short[index] = self.trial_short[index];
            self.unsure[index] = self.trial_unsure[index];
            self.left_over[index + 1] = self.trial_left_over[index + 1];
            std::mem::swap(&mut self.carried[index + 1], &mut self.trial[index + 1]);
        }
    }

    /// Takes back everything since the last agreement, to the last bit.
    pub(super) fn forget(&mut self) {
        self.touched = None;
        self.doubts.forget();
        while let Some((first, label, before)) = self.before.pop() {
            let pots = &mut self.fresh[first];
            match (pots.binary_search_by_key(&label, |pot| pot.label), before) {
                (Ok(found), Some(pot)) => pots[found] = pot,
                (Ok(found), None) => {
                    pots.remove(found);
                }
                (Err(place), Some(pot)) => pots.insert(place, pot),
                (Err(_), None) => {}
            }
        }
    }

    /// Points of all servings.
    pub(super) fn points(&self) -> f64 {
        self.points.iter().sum()
    }

    /// Grams short at each serving.
    pub(super) fn short(&self) -> &[f64] {
        &self.short
    }

    /// Grams missing at each serving, to the target and to what is promised.
    pub(super) fn needs(&self) -> impl Iterator<Item = f64> + '_ {
        self.short.iter().zip(&self.unsure).map(|(short, unsure)| short + unsure)
    }

    /// What each serving takes from which pot.
    pub(super) fn taken(&mut self) -> Vec<Taken> {
        let mut all = Vec::new();
        for serving in 0..self.days.len() {
            let mut before = Vec::new();
            merge(&self.carried[serving], &self.fresh[serving], &mut before);
            let mut after = before.clone();
            self.give_out(serving, &mut after);
            for (full, left) in before.iter().zip(&after) {
                let grams = full.grams - left.grams;
                if grams > 0.0 {
                    let Pot { label, .. } = full;
                    let tank = self.tank_of(label.tank());
                    let (crop, day, last) = (label.crop(), label.day(), label.last());
                    all.push(Taken { serving, crop, day, last, tank, grams });
                }
            }
        }
        all
    }

    /// Site and tank of a limited tank's number.
    fn tank_of(&self, number: usize) -> Option<(usize, usize)> {
        if number == 0 {
            return None;
        }
        let in_site = |tanks: &Vec<u16>| tanks.iter().position(|tank| usize::from(*tank) == number);
        self.limited.iter().enumerate().find_map(|(site, tanks)| in_site(tanks).map(|tank| (site, tank)))
    }

    /// Gives out what there is at one serving and notes points, shortfall and what is left; what was left over before is as
    /// agreed for the first serving of a trial.
    fn serve(&mut self, index: usize, first: bool) {
        let mut pots = std::mem::take(&mut self.trial[index + 1]);
        pots.clear();
        let carried = if first { &self.carried[index] } else { &self.trial[index] };
        merge(carried, &self.fresh[index], &mut pots);
        let served = self.give_out(index, &mut pots);
        let Serving { target, held, promise, is_doubted, .. } = self.days[index];
        let stored = self.stored;
        let doubt = if is_doubted {
            let left_over = if first { self.left_over[index] } else { self.trial_left_over[index] };
            self.doubts.at(index, left_over)
        } else {
            Doubt::default()
        };
        let short = (target - served).max(0.0);
        let points = self.price(target, short) + stored + self.given_up(held - served);
        // What is missing to the least itself is short already.
        let unsure = promise.map_or(0.0, |promise| {
            let reserve = promise.reserve(doubt);
            self.missing(index, &pots, served, promise.least + reserve).min(reserve)
        });
        let (mut surplus, mut left) = (0.0, 0.0);
        pots.retain(|pot| {
            let spoils = pot.label.last() == index;
            if spoils {
                surplus += pot.grams;
            } else {
                left += pot.grams;
            }
            !spoils && pot.grams > NOTHING
        });
        self.trial_short[index] = short;
        self.trial_unsure[index] = unsure;
        self.trial_left_over[index + 1] = doubt.left_with(left);
        let weights = &self.rules.weights;
        self.trial_points[index] = points + weights.surplus * surplus + weights.unsure_points(unsure, target);
        self.trial[index + 1] = pots;
    }

    /// Grams missing to what should be there, beside what was served, in pots that could be served from, too, within the limits.
    fn missing(&mut self, index: usize, pots: &[Pot], mut served: f64, needed: f64) -> f64 {
        let Serving { target, tank_limit, .. } = self.days[index];
        for pot in pots {
            if served >= needed {
                break;
            }
            let (crop, tank) = (pot.label.crop(), pot.label.tank());
            let mut grams = pot.grams.min(self.crop_limits[crop].1 * target - self.crop_served[crop]);
            if tank > 0 {
                grams = grams.min(tank_limit - self.tank_served[tank]);
            }
            if grams > 0.0 {
                served += grams;
                self.crop_served[crop] += grams;
                self.tank_served[tank] += grams;
            }
        }
        (needed - served).max(0.0)
    }

    /// Takes from the pots what one serving may have, and returns how many grams that is.
    fn give_out(&mut self, index: usize, pots: &mut [Pot]) -> f64 {
        let Serving { day, target, tank_limit, .. } = self.days[index];
        (self.day, self.stored) = (day, 0.0);
        self.crop_served.fill(0.0);
        self.tank_served.fill(0.0);
        let mut served = 0.0;
        self.wishes(pots, target, tank_limit, &mut served);
        for pot in pots.iter_mut() {
            if served >= target {
                break;
            }
            let most = self.crop_limits[pot.label.crop()].1 * target;
            self.take(pot, most, target, tank_limit, &mut served);
        }
        served
    }

    /// First portions for crops that must be there and for the kinds wanted.
    fn wishes(&mut self, pots: &mut [Pot], target: f64, tank_limit: f64, served: &mut f64) {
        for pot in pots.iter_mut() {
            let (least, most) = self.crop_limits[pot.label.crop()];
            if least > 0.0 {
                self.take(pot, least.min(most) * target, target, tank_limit, served);
            }
        }
        let limits = &self.crop_limits;
        self.kinds.put_in_order(pots, &self.crop_served, |crop| limits[crop].1 * target, target);
        let portion = self.kinds.portion(target);
        let (mut kinds, mut place) = (0, 0);
        // Where a tank may give no more of a crop, the next one may still be a whole kind.
        while let Some(crop) = self.kinds.chosen(place).filter(|_| kinds < self.kinds.wanted()) {
            let most = portion.min(self.crop_limits[crop].1 * target);
            for pot in pots.iter_mut().filter(|pot| pot.label.crop() == crop) {
                self.take(pot, most, target, tank_limit, served);
            }
            kinds += usize::from(self.kinds.gave(crop, self.crop_served[crop]));
            place += 1;
        }
    }

    /// Serves from a pot until the crop has `most`, the tank its limit or everybody enough.
    fn take(&mut self, pot: &mut Pot, most: f64, target: f64, tank_limit: f64, served: &mut f64) {
        let tank = pot.label.tank();
        let crop = &mut self.crop_served[pot.label.crop()];
        let mut grams = pot.grams.min(target - *served).min(most - *crop);
        if tank > 0 {
            grams = grams.min(tank_limit - self.tank_served[tank]);
        }
        if grams > 0.0 {
            pot.grams -= grams;
            *crop += grams;
            self.tank_served[tank] += grams;
            let waited = (self.day - pot.label.day()).max(0) as u32;
            self.stored += grams * self.rules.weights.storing(waited, self.rules.fresh_days);
            *served += grams;
        }
    }
}
