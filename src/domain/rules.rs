//! Limits and wishes that hold for a whole term, and what a plan is judged by.

/// Sowings from which people feel a rhythm: twice is a repeat, the third time shows that it goes on (common practice, no
/// source).
pub const LEAST_IN_RHYTHM: usize = 3;

/// Limits and wishes that hold for the whole term.
#[derive(Debug, Clone, PartialEq)]
pub struct Rules {
    /// Kinds of greens wanted on every serving day; what is missing counts as shortfall.
    pub kinds: u32,
    /// Share of the target from which a crop counts as a kind, above 0 and at most `1 / kinds`.
    pub kind_from: f64,
    /// Largest share of a serving day's target that may come from one tank, above 0 and at most 1.
    pub one_tank_at_most: f64,
    /// Share of a serving day's target that may be missing where the target is still called met, 0 to 0.2. It changes what is
    /// said of a plan, and how much is kept in reserve for a promise; for the target itself every gram counts.
    pub tolerance: f64,
    /// Fewest plants worth sowing as a batch.
    pub smallest_batch: u32,
    /// Days after harvest during which greens count as fresh. They may be served later, as long as they keep, but that
    /// costs more.
    pub fresh_days: u32,
    /// Plants that are worth a step to a tank: where fewer of a batch are moved or harvested there on a day, that costs
    /// points. 1 to 100.
    pub handful: u32,
    /// Whether a tank may hold several crops at a time.
    pub one_crop_tanks: OneCropTanks,
    /// Whether every site should have something to do in each of its [`super::site::Site::stretches`].
    pub every_site: bool,
    /// Whether the sowings of a crop at a site keep a rhythm.
    pub rhythm: Rhythm,
    /// Days a hole rests between two plants.
    pub turnover_days: u32,
    /// Weeks after which a tank with plants must have been empty on a class day, so that it can be cleaned, 4 to 52; `None`
    /// if that does not matter.
    pub clean_every: Option<u32>,
    /// Minutes of work for one plug, transplant or harvest.
    pub minutes: Minutes,
    /// What a plan is judged by.
    pub weights: Weights,
}

/// Whether a tank may hold several crops at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum OneCropTanks {
    /// It may, at a price: [`Weights::mixed`].
    #[default]
    Prefer,
    /// Nothing is put into a tank that holds another crop. What stands together already may stay.
    Always,
    /// It may.
    No,
}

/// Whether the sowings of a crop at a site keep a rhythm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Rhythm {
    /// The plan decides on days and numbers.
    #[default]
    Free,
    /// They lie on one weekday, whole multiples of `every` weeks apart, all in the nursery or all straight into cups, each
    /// with the same number of plugs or cups. Between the first and the last one only those are left out whose day has no
    /// class, or of which a single plant could not be raised and served, however much room there is. What grew before the
    /// plan was made, and bought seedlings, have no part in it. In a plan that is made from the beginning there are at least
    /// [`LEAST_IN_RHYTHM`] of them, or as many as days allow and as smallest batches stand side by side at the site; made
    /// anew, it may mend a loss with a single one. Each series that begins costs [`Weights::series`], but for those that were
    /// begun before and go on.
    Steady {
        /// Weeks from one sowing to the next, 1 to 8.
        every: u32,
    },
}

/// Minutes of work, for sites whose minutes are limited.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minutes {
    /// For sowing one plug.
    pub sow: f64,
    /// For moving one plant to a tank.
    pub transplant: f64,
    /// For cutting or pulling one plant.
    pub harvest: f64,
}

/// Price of everything a plan should avoid, in points.
///
/// A gram short is so dear that a plant is grown for it wherever one fits: a plant's plug and four weeks in a hole
/// cost about as much as a sixth of a gram short, a small batch with its tasks and visits as much as twelve grams. What does
/// not touch the shortfall is weighed up: a task or 100 g of surplus, a visit or 10 g. Greens are eaten fresh: a
/// portion of 100 g kept for a week costs half as much again as a task.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// For a gram short, up to `mild_share` of the day's target.
    pub short: f64,
    /// For every further gram short, so that shortfall is spread over the weeks.
    pub very_short: f64,
    /// Share of a day's target up to which shortfall is mild.
    pub mild_share: f64,
    /// For a gram that is missing to what is promised, and more for many ([`Weights::unsure_points`]): dearer than what a gram costs to
    /// grow and to be left over.
    pub unsure: f64,
    /// For a harvested gram that cannot be served.
    pub surplus: f64,
    /// For a batch sown.
    pub sowing: f64,
    /// For a class day on which a site has anything to sow, transplant or harvest.
    pub visit: f64,
    /// For a batch and a day on which it is transplanted or harvested.
    pub task: f64,
    /// For each tank such a task leads to beyond the first.
    pub further_tank: f64,
    /// For each plant that is missing to [`Rules::handful`] in one tank, among those that are pulled as among those that are
    /// cut: a class does not go there for a single plant, nor looks for the one to be pulled of twelve that are cut.
    pub scant: f64,
    /// For each part of a batch in a tank beyond the first there: plants that are moved or harvested otherwise than their
    /// neighbours have to be told apart from them.
    pub split: f64,
    /// For a plant that was never cut and each day it stands beyond its prime ([`super::growth::Growing::prime`]).
    pub overmature: f64,
    /// For each crop beyond the first that a tank holds after a class day to come, unless [`OneCropTanks::No`].
    pub mixed: f64,
    /// For each stretch of class in which a site has nothing to do, if [`Rules::every_site`]: more than a small batch with
    /// its tasks, visits and surplus.
    pub idle: f64,
    /// For each series of sowings that a plan begins where they keep a steady rhythm ([`Rhythm::Steady`]): for a habit that a
    /// class has to take up, as much as a batch with its tasks, so that few crops are sown often instead of many seldom.
    pub series: f64,
    /// For a plug sown.
    pub plug: f64,
    /// For a seedling bought.
    pub bought: f64,
    /// For a hole in use for a day.
    pub hole_day: f64,
    /// For a gram that waits a day between harvest and serving.
    pub stored: f64,
    /// The same for every day beyond [`Rules::fresh_days`].
    pub stale: f64,
}

impl Weights {
    /// Points for grams that are missing to what is promised of a serving day. They rise faster than these, so that all days
    /// become about as sure rather than most of them surer and one given up.
    pub fn unsure_points(&self, missing: f64, target: f64) -> f64 {
        self.unsure * missing * (1.0 + missing / (DOUBLED_AT * target))
    }

    /// Points for a gram served so many days after its harvest.
    pub fn storing(&self, days: u32, fresh_days: u32) -> f64 {
        self.stored * f64::from(days.min(fresh_days))
            + self.stale * f64::from(days.saturating_sub(fresh_days))
    }
}

/// Share of a day's target at which a gram missing to what is promised costs twice as much.
const DOUBLED_AT: f64 = 0.05;

impl Rules {
    /// Points for each crop beyond the first that a tank holds after a class day.
    pub fn mixed_price(&self) -> f64 {
        if self.one_crop_tanks == OneCropTanks::No { 0.0 } else { self.weights.mixed }
    }

    /// Points for each series of sowings in a steady rhythm that a plan begins.
    pub fn series_price(&self) -> f64 {
        if self.rhythm == Rhythm::Free { 0.0 } else { self.weights.series }
    }

    /// Points for each stretch of class in which a site has nothing to do.
    pub fn idle_price(&self) -> f64 {
        if self.every_site { self.weights.idle } else { 0.0 }
    }
}

impl Default for Weights {
    fn default() -> Self {
        Self {
            short: 0.3,
            very_short: 0.9,
            mild_share: 0.15,
            unsure: 0.05,
            surplus: 0.01,
            sowing: 1.0,
            visit: 0.1,
            task: 1.0,
            further_tank: 1.0,
            scant: 3.0,
            split: 0.5,
            overmature: 0.05,
            mixed: 0.1,
            idle: 20.0,
            series: 10.0,
            plug: 0.02,
            bought: 0.2,
            hole_day: 0.001,
            stored: 0.000_5,
            stale: 0.003,
        }
    }
}
