//! Building terms step by step.

use super::day;
use chrono::{Datelike, Days, NaiveDate, Weekday};
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use sowtide::domain::crop::Crop;
use sowtide::domain::ids::{SiteId, TankId};
use sowtide::domain::lid::Lid;
use sowtide::domain::site::{Nursery, Site, Tank};
use sowtide::domain::supplies::Supplies;
use sowtide::domain::term::{
    Minutes, OneCropTanks, Rhythm, Rules, ServingTarget, SowWish, Standing, Term, WantedCrop, WayWish,
    Weights,
};
use std::collections::BTreeMap;

/// A term to be: starts on Monday, 7 September 2026, runs for 16 weeks, has no days off, and wants
/// 400 g every Thursday. Sites and crops must be added.
#[derive(Debug, Clone)]
pub(crate) struct TermBuilder {
    weeks: u32,
    sites: Vec<SiteBuilder>,
    days_off: Vec<DaysOff>,
    serving: (Weekday, f64),
    crops: Vec<WantedCrop>,
    rules: Rules,
    standing: Vec<Standing>,
}

/// A site to be: meets on Mondays and Thursdays, has 20 cells that may be left for 4 days. Tanks must be
/// added.
#[derive(Debug, Clone)]
pub(crate) struct SiteBuilder {
    site: Site,
    meets: Vec<Weekday>,
}

/// A site of that id.
pub(crate) fn site(id: &str) -> SiteBuilder {
    SiteBuilder {
        site: Site {
            id: SiteId::new(id),
            name: id.to_owned(),
            class_days: Vec::new(),
            days_off: Vec::new(),
            looks_in: Vec::new(),
            // Cells so wide that no plug fills them.
            nursery: Nursery { cells: 20, cell_cm: 15.0, unattended_days: 4 },
            air: None,
            lamp_hours: None,
            tanks: Vec::new(),
            minutes_a_day: None,
            sowings_a_day: None,
            pace: 1.0,
            yield_factor: 1.0,
            crops: BTreeMap::new(),
            mass_factors: BTreeMap::new(),
            batch_mass_factors: BTreeMap::new(),
        },
        meets: vec![Weekday::Mon, Weekday::Thu],
    }
}

/// A tank with holes 20 cm apart, 100 usable litres, pH 6 and EC 1.5.
pub(crate) fn tank(id: &str, rows: u32, columns: u32) -> Tank {
    Tank {
        id: TankId::new(id),
        lid: Lid { rows, columns, spacing_cm: 20.0 },
        usable_litres: 100.0,
        reservoir_litres: None,
        ec: 1.5,
        ph: 6.0,
        out: Vec::new(),
    }
}

/// A crop the plan may use without limits.
pub(crate) fn wanted(crop: Crop) -> WantedCrop {
    let (way, sow) = (WayWish::Either, SowWish::Nursery);
    WantedCrop { crop, way, sow, at_most: 1.0, at_least: 0.0, only_in: Vec::new() }
}

impl SiteBuilder {
    /// Weekdays of its classes.
    pub(crate) fn meets(mut self, weekdays: &[Weekday]) -> Self {
        self.meets = weekdays.to_vec();
        self
    }

    /// Adds a tank.
    pub(crate) fn tank(mut self, tank: Tank) -> Self {
        self.site.tanks.push(tank);
        self
    }

    /// Cells of the nursery, and days seedlings may be left.
    pub(crate) fn nursery(mut self, cells: u32, unattended_days: u32) -> Self {
        self.site.nursery = Nursery { cells, unattended_days, ..self.site.nursery };
        self
    }

    /// Minutes and sowings of a class day, if limited.
    pub(crate) fn hands(mut self, minutes: Option<f64>, sowings: Option<u32>) -> Self {
        self.site.minutes_a_day = minutes;
        self.site.sowings_a_day = sowings;
        self
    }

    /// Pace and yield factor.
    pub(crate) fn grows(mut self, pace: f64, yield_factor: f64) -> Self {
        self.site.pace = pace;
        self.site.yield_factor = yield_factor;
        self
    }

    fn build(self, span: DateSpan, days_off: &[DaysOff]) -> Site {
        let class_days = span
            .days()
            .filter(|day| self.meets.contains(&day.weekday()))
            .filter(|day| !days_off.iter().any(|off| off.span.contains(*day)))
            .collect();
        Site { class_days, days_off: days_off.to_vec(), ..self.site }
    }
}

impl Default for TermBuilder {
    fn default() -> Self {
        Self {
            weeks: 16,
            sites: Vec::new(),
            days_off: Vec::new(),
            serving: (Weekday::Thu, 400.0),
            crops: Vec::new(),
            rules: Rules {
                kinds: 0,
                kind_from: 0.1,
                one_tank_at_most: 1.0,
                tolerance: 0.0,
                smallest_batch: 2,
                fresh_days: 2,
                handful: 1,
                one_crop_tanks: OneCropTanks::No,
                every_site: false,
                rhythm: Rhythm::Free,
                turnover_days: 1,
                clean_every: None,
                minutes: Minutes { sow: 1.0, transplant: 2.0, harvest: 3.0 },
                // Round prices, so that the cost of a plan can be worked out by hand.
                weights: Weights {
                    short: 0.1,
                    very_short: 0.3,
                    task: 0.0,
                    further_tank: 0.0,
                    scant: 0.0,
                    split: 0.0,
                    overmature: 0.0,
                    series: 0.0,
                    hole_day: 0.005,
                    stored: 0.0,
                    stale: 0.0,
                    ..Weights::default()
                },
            },
            standing: Vec::new(),
        }
    }
}

impl TermBuilder {
    /// First day of every built term.
    pub(crate) fn start() -> NaiveDate {
        day("2026-09-07")
    }

    /// Length of the term.
    pub(crate) fn weeks(mut self, weeks: u32) -> Self {
        self.weeks = weeks;
        self
    }

    /// Adds a site.
    pub(crate) fn site(mut self, site: SiteBuilder) -> Self {
        self.sites.push(site);
        self
    }

    /// Adds a break, for all sites.
    pub(crate) fn holiday(self, first: NaiveDate, last: NaiveDate) -> Self {
        self.off(first, last, DaysOffKind::Break)
    }

    /// Adds a closure, for all sites.
    pub(crate) fn closure(self, day: NaiveDate) -> Self {
        self.off(day, day, DaysOffKind::Closure)
    }

    fn off(mut self, first: NaiveDate, last: NaiveDate, kind: DaysOffKind) -> Self {
        self.days_off.push(DaysOff { name: "days off".to_owned(), span: DateSpan { first, last }, kind });
        self.days_off.sort_by_key(|off| off.span);
        self
    }

    /// Weekday of serving and grams wanted.
    pub(crate) fn serves(mut self, weekday: Weekday, grams: f64) -> Self {
        self.serving = (weekday, grams);
        self
    }

    /// Adds a crop.
    pub(crate) fn crop(mut self, crop: WantedCrop) -> Self {
        self.crops.push(crop);
        self
    }

    /// Changes limits and wishes.
    pub(crate) fn rules(mut self, change: impl FnOnce(&mut Rules)) -> Self {
        change(&mut self.rules);
        self
    }

    /// Adds plants that stand at the start.
    pub(crate) fn standing(mut self, standing: Standing) -> Self {
        self.standing.push(standing);
        self
    }

    /// The term.
    pub(crate) fn build(self) -> Term {
        let start = Self::start();
        let end = start + Days::new(u64::from(self.weeks) * 7 - 1);
        let span = DateSpan { first: start, last: end };
        let served = |day: &NaiveDate| {
            let on_break =
                self.days_off.iter().any(|off| off.kind == DaysOffKind::Break && off.span.contains(*day));
            day.weekday() == self.serving.0 && !on_break
        };
        let servings = span
            .days()
            .filter(served)
            .map(|date| ServingTarget { date, grams: self.serving.1, sure: 0.0 })
            .collect();
        let sites = self.sites.into_iter().map(|site| site.build(span, &self.days_off)).collect();
        Term {
            name: "Autumn".to_owned(),
            start,
            end,
            ahead: None,
            sites,
            servings,
            crops: self.crops,
            rules: self.rules,
            standing: self.standing,
            arrivals: Vec::new(),
            put_off: Vec::new(),
            supplies: Supplies::default(),
            serving_grams: None,
        }
    }
}
