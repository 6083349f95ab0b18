//! Whether a term can be meant: what the readers of term files ensure, for terms made in code. Farms made in code may be
//! larger than any school's.

use super::calendar::{DateSpan, days_between};
use super::crop::{CUT_LEAVES_KEEP, Crop, DaySpan, Limits};
use super::ids::is_plain;
use super::site::{Site, Tank};
use super::term::{
    Ahead, Arrival, LONGEST_TERM, PROMISED, Rhythm, Rules, ServingTarget, SowWish, Stage, Standing, Term,
    WantedCrop,
};
use chrono::NaiveDate;
use std::collections::BTreeSet;
use std::fmt::Display;
use std::ops::RangeInclusive;

impl Term {
    /// Everything in the term that cannot be meant, in words; empty if it can be planned. Terms read from files have no
    /// faults.
    #[must_use]
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Faults::default();
        let span = DateSpan { first: self.start, last: self.end };
        if self.end < self.start || days_between(self.start, self.end) > i64::from(LONGEST_TERM) {
            faults.add("the term", "must end on or after its first day and last at most 400 days");
            return faults.0;
        }
        let goes_on =
            |ahead: Ahead| self.start <= ahead.last && ahead.last < ahead.next && ahead.next <= self.end;
        faults.unless(
            self.ahead.is_none_or(goes_on),
            "the term",
            "must end before the next one, and that before the last day planned for",
        );
        faults.unless(!self.sites.is_empty(), "the term", "needs a site");
        faults.unless(!self.crops.is_empty(), "the term", "needs a crop");
        faults.distinct("site", self.sites.iter().map(|site| site.id.as_str()));
        faults.distinct("crop", self.crops.iter().map(|wanted| wanted.crop.id.as_str()));
        faults.distinct("standing batch", self.standing.iter().map(|standing| standing.batch.as_str()));
        for site in &self.sites {
            faults.site(site, span);
        }
        faults.servings(&self.servings, span);
        for wanted in &self.crops {
            faults.wanted(wanted);
            faults.only_in(self, wanted);
        }
        faults.rules(&self.rules);
        for standing in &self.standing {
            faults.standing(self, standing);
        }
        for arrival in &self.arrivals {
            faults.arrival(self, arrival);
        }
        faults.0
    }
}

/// What was found so far.
#[derive(Debug, Default)]
struct Faults(Vec<String>);

impl Faults {
    fn add(&mut self, whose: impl Display, what: &str) {
        self.0.push(format!("{whose} {what}"));
    }

    fn unless(&mut self, holds: bool, whose: impl Display, what: &str) {
        if !holds {
            self.add(whose, what);
        }
    }

    /// A number within limits; what is no number at all lies nowhere.
    fn within(&mut self, whose: &str, what: &str, value: f64, limits: RangeInclusive<f64>) {
        if !limits.contains(&value) {
            self.0.push(format!("{whose}: {what} is {value}, not {} to {}", limits.start(), limits.end()));
        }
    }

    fn distinct<'a>(&mut self, what: &str, ids: impl Iterator<Item = &'a str>) {
        let mut seen = BTreeSet::new();
        for id in ids {
            self.unless(is_plain(id), format!("\"{id}\""), "cannot be a name for files");
            self.unless(seen.insert(id), format!("{what} \"{id}\""), "is there twice");
        }
    }

    fn rising(&mut self, whose: &str, days: &[NaiveDate], span: DateSpan) {
        let rises = days.windows(2).all(|pair| pair[0] < pair[1]);
        self.unless(rises, whose, "must be sorted, each day once");
        self.unless(days.iter().all(|day| span.contains(*day)), whose, "must lie in the term");
    }

    fn site(&mut self, site: &Site, span: DateSpan) {
        let id = site.id.as_str();
        self.rising(&format!("class days of {id}"), &site.class_days, span);
        let forward = site.days_off.iter().all(|off| off.span.first <= off.span.last);
        self.unless(forward, format!("days off of {id}"), "must not end before they begin");
        self.within(id, "nursery cells", f64::from(site.nursery.cells), 1.0..=100_000.0);
        self.within(id, "days seedlings last", f64::from(site.nursery.unattended_days), 1.0..=60.0);
        self.within(id, "width of a nursery cell in cm", site.nursery.cell_cm, 0.5..=50.0);
        for (crop, here) in &site.crops {
            self.within(id, &format!("pace of {crop}"), here.pace, 0.5..=2.0);
            self.within(id, &format!("yield of {crop}"), here.yield_factor, 0.2..=2.0);
        }
        self.within(id, "pace", site.pace, 0.5..=2.0);
        self.within(id, "yield", site.yield_factor, 0.2..=2.0);
        if let Some(minutes) = site.minutes_a_day {
            self.within(id, "minutes a day", minutes, 1.0..=1440.0);
        }
        if let Some(sowings) = site.sowings_a_day {
            self.within(id, "sowings a day", f64::from(sowings), 1.0..=100.0);
        }
        self.unless(!site.tanks.is_empty(), id, "needs a tank");
        let mut seen = BTreeSet::new();
        let twice = site.tanks.iter().any(|tank| !seen.insert(&tank.id));
        self.unless(!twice, id, "has two tanks of the same name");
        for tank in &site.tanks {
            self.tank(&format!("tank {} of {id}", tank.id), tank);
        }
    }

    fn tank(&mut self, whose: &str, tank: &Tank) {
        self.within(whose, "rows of holes", f64::from(tank.lid.rows), 1.0..=1_000.0);
        self.within(whose, "holes in a row", f64::from(tank.lid.columns), 1.0..=1_000.0);
        self.within(whose, "spacing in cm", tank.lid.spacing_cm, 2.0..=100.0);
        self.within(whose, "litres plants can draw", tank.usable_litres, 0.5..=10_000.0);
        if let Some(whole) = tank.reservoir_litres {
            self.within(whose, "litres of the reservoir", whole, tank.usable_litres - 0.05..=20_000.0);
        }
        self.within(whose, "EC", tank.ec, 0.2..=6.0);
        self.within(whose, "pH", tank.ph, 4.0..=8.5);
        self.unless(
            tank.out.iter().all(|out| out.first <= out.last),
            whose,
            "is back before it is out of use",
        );
    }

    fn servings(&mut self, servings: &[ServingTarget], span: DateSpan) {
        let days: Vec<NaiveDate> = servings.iter().map(|serving| serving.date).collect();
        self.rising("serving days", &days, span);
        for serving in servings {
            let day = serving.date.to_string();
            self.within(&day, "target in grams", serving.grams, 1e-6..=1e7);
            let is_promise = serving.sure == 0.0 || PROMISED.contains(&serving.sure);
            self.unless(is_promise, &day, "is promised what nobody can promise");
        }
    }

    fn wanted(&mut self, wanted: &WantedCrop) {
        let id = wanted.crop.id.as_str();
        self.within(id, "largest share", wanted.at_most, 0.01..=1.0);
        self.within(id, "least share", wanted.at_least, 0.0..=1.0);
        self.unless(wanted.at_least <= wanted.at_most, id, "is to cover more than it may");
        let allowed = wanted.sow == SowWish::Nursery || wanted.crop.in_cups.is_some();
        self.unless(allowed, id, "is to be sown straight into cups, which its figures do not allow");
        self.crop(id, &wanted.crop);
    }

    fn only_in(&mut self, term: &Term, wanted: &WantedCrop) {
        let id = wanted.crop.id.as_str();
        for (index, place) in wanted.only_in.iter().enumerate() {
            let tanks = term.site(&place.site).map(|site| &site.tanks);
            let known = |tanks: &Vec<Tank>| {
                place.tank.as_ref().is_none_or(|id| tanks.iter().any(|tank| tank.id == *id))
            };
            self.unless(tanks.is_some_and(known), id, "is bound to a site or tank the term does not name");
            let others = wanted.only_in.iter().enumerate().filter(|(other, _)| *other != index);
            let covered = others
                .filter(|(_, other)| other.site == place.site)
                .any(|(other, covers)| covers.tank.is_none() || other < index && covers.tank == place.tank);
            self.unless(!covered, id, "is bound twice to the same tank");
        }
    }

    fn crop(&mut self, id: &str, crop: &Crop) {
        for (what, share) in [
            ("germination", crop.germination.value),
            ("nursery survival", crop.nursery_survival.value),
            ("tank survival", crop.tank_survival.value),
            ("share ready to eat", crop.ready_to_eat.value),
        ] {
            self.within(id, what, share, 1e-3..=1.0);
        }
        for figure in crop.deciding().iter().filter(|figure| !figure.within) {
            self.add(format!("{} of {id}", figure.key), "lies outside its own spread");
        }
        let variation = crop.variation.value;
        self.within(id, "variation between plants", variation.between_plants, 0.0..=1.0);
        self.within(id, "variation between batches", variation.between_batches, 0.0..=1.0);
        self.within(id, "variation of days", variation.days, 0.0..=60.0);
        self.within(id, "seeds a plug", f64::from(crop.seeds_per_plug.value), 1.0..=60.0);
        self.within(id, "seeds a gram", crop.seeds_per_gram.value, 1e-3..=1e6);
        self.within(id, "spacing in cm", crop.spacing.value.cm(), 1.0..=100.0);
        self.within(
            id,
            "fewest days in a tank",
            f64::from(crop.tank_days.value),
            0.0..=f64::from(LONGEST_TERM),
        );
        self.within(
            id,
            "days that cut leaves keep",
            f64::from(crop.cut_shelf_life.value),
            0.0..=f64::from(CUT_LEAVES_KEEP),
        );
        self.within(id, "litres a day", crop.water_a_day.value, 0.0..=100.0);
        let days = [Some(&crop.nursery), crop.first_cut.as_ref(), crop.whole_head.as_ref(), Some(&crop.hold)];
        for span in days.into_iter().flatten() {
            self.days(id, span.value);
        }
        self.limits(id, "pH", crop.ph.value);
        self.limits(id, "EC", crop.ec.value);
        self.unless(
            crop.first_cut.is_some() || crop.whole_head.is_some(),
            id,
            "is harvested neither cut nor whole",
        );
        if let Some(regrowth) = &crop.regrowth {
            self.days(id, regrowth.interval.value);
            self.within(id, "share taken", regrowth.taken.value, 0.01..=0.99);
            self.within(id, "days without growth after a cut", regrowth.lag.value, 0.0..=60.0);
            self.within(id, "vigour after a cut", regrowth.vigour.value, 0.01..=1.0);
            let strengths = &regrowth.strength.value;
            let sound = strengths.iter().all(|strength| *strength > 0.0 && *strength <= 1.0);
            let all = strengths.len() + 1 == regrowth.harvests.value as usize;
            self.unless(sound && all, id, "needs a strength above 0 and at most 1 for each regrowth");
        }
    }

    fn days(&mut self, id: &str, span: DaySpan) {
        self.unless(
            span.min <= span.usual && span.usual <= span.max,
            id,
            "has days that fall from least to most",
        );
        self.unless(span.max <= LONGEST_TERM, id, "takes longer than any term");
    }

    fn limits(&mut self, id: &str, what: &str, limits: Limits<f64>) {
        self.unless(limits.low <= limits.high, format!("{what} of {id}"), "must not fall from low to high");
    }

    fn rules(&mut self, rules: &Rules) {
        self.within("the rules", "kinds", f64::from(rules.kinds), 0.0..=10.0);
        self.within("the rules", "share of a kind", rules.kind_from, 0.01..=1.0);
        self.within(
            "the rules",
            "kinds by their share",
            rules.kind_from * f64::from(rules.kinds),
            0.0..=1.0 + 1e-9,
        );
        self.within("the rules", "share of one tank", rules.one_tank_at_most, 0.01..=1.0);
        self.within("the rules", "tolerance", rules.tolerance, 0.0..=0.2);
        self.within("the rules", "smallest batch", f64::from(rules.smallest_batch), 1.0..=1_000.0);
        self.within("the rules", "a handful", f64::from(rules.handful), 1.0..=100.0);
        self.within("the rules", "turnover days", f64::from(rules.turnover_days), 0.0..=30.0);
        if let Some(weeks) = rules.clean_every {
            self.within("the rules", "weeks between cleanings", f64::from(weeks), 4.0..=52.0);
        }
        if let Rhythm::Steady { every } = rules.rhythm {
            self.within("the rules", "weeks between sowings", f64::from(every), 1.0..=8.0);
        }
        let minutes = &rules.minutes;
        for minutes in [minutes.sow, minutes.transplant, minutes.harvest] {
            self.within("the rules", "minutes for a plant", minutes, 0.0..=60.0);
        }
        let weights = &rules.weights;
        for price in [
            weights.short,
            weights.very_short,
            weights.unsure,
            weights.surplus,
            weights.sowing,
            weights.visit,
            weights.task,
            weights.further_tank,
            weights.scant,
            weights.split,
            weights.overmature,
            weights.mixed,
            weights.idle,
            weights.series,
            weights.plug,
            weights.bought,
            weights.hole_day,
            weights.stored,
            weights.stale,
        ] {
            self.within("the rules", "a weight", price, 0.0..=1000.0);
        }
        self.within("the rules", "mild share", weights.mild_share, 0.0..=1.0);
        self.unless(
            weights.short <= weights.very_short,
            "the rules",
            "make a large shortfall cheaper than a small one",
        );
    }

    fn arrival(&mut self, term: &Term, arrival: &Arrival) {
        let what = format!("{} offered for {}", arrival.crop, arrival.date);
        self.within(&what, "plants", f64::from(arrival.plants), 1.0..=10_000.0);
        self.within(&what, "age in days", f64::from(arrival.days), 1.0..=120.0);
        self.unless(term.crop(&arrival.crop).is_some(), &what, "is of a crop the term does not name");
        self.unless(term.site(&arrival.site).is_some(), &what, "comes to a site the term does not name");
        let same = |other: &&Arrival| {
            (&other.crop, &other.site, other.date, other.days)
                == (&arrival.crop, &arrival.site, arrival.date, arrival.days)
        };
        self.unless(term.arrivals.iter().filter(same).count() < 2, &what, "is offered twice");
    }

    fn standing(&mut self, term: &Term, standing: &Standing) {
        let id = standing.batch.as_str();
        self.unless(term.crop(&standing.crop).is_some(), id, "is of a crop the term does not name");
        self.unless(standing.sown <= term.start, id, "must not be sown after the term begins");
        self.within(id, "plants", f64::from(standing.plants), 1.0..=10_000.0);
        let Some(site) = term.site(&standing.site) else {
            self.add(id, "stands at a site the term does not name");
            return;
        };
        let Stage::Tank { tank, transplanted, holes, cuts } = &standing.stage else { return };
        let Some(tank) = site.tank(tank) else {
            self.add(id, "stands in a tank its site does not have");
            return;
        };
        let past = |day: &NaiveDate| standing.sown <= *day && *day < term.start;
        self.unless(
            past(transplanted) && cuts.iter().all(past),
            id,
            "was moved or cut on a day that cannot be",
        );
        let known: BTreeSet<&u32> =
            holes.iter().filter(|hole| (1..=tank.lid.holes()).contains(*hole)).collect();
        let all = holes.is_empty() || known.len() == holes.len() && holes.len() == standing.plants as usize;
        self.unless(all, id, "needs a hole of its tank for each plant, or none named");
    }
}
