//! What the checker says.

use crate::domain::ids::{BatchId, SiteId};
use chrono::NaiveDate;
use std::fmt;

/// Something in a plan that cannot be so, in plain words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// Which rule is broken.
    pub rule: Rule,
    /// The day it happens, if it belongs to a day.
    pub date: Option<NaiveDate>,
    /// The site, if it belongs to one.
    pub site: Option<SiteId>,
    /// The batch, if it belongs to one.
    pub batch: Option<BatchId>,
    /// What was found, and what would be right.
    pub message: String,
}

/// The rules a plan must keep.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// Batch ids are plain and each is used once.
    BatchIds,
    /// Crops, sites and tanks are those of the term.
    Names,
    /// Every task of a batch has a number of its own.
    TaskNumbers,
    /// The highest numbers ever given are no lower than those in use.
    LastNumbers,
    /// What stands at the start is in the plan as it stands.
    Standing,
    /// Bought seedlings are offered.
    Arrivals,
    /// Seed is laid straight into cups where crop and user allow it.
    InCups,
    /// Work falls on class days inside the term.
    ClassDays,
    /// Seedlings are transplanted at a fit age.
    NurseryAge,
    /// First harvests come at a fit age, and after transplanting.
    FirstHarvest,
    /// Plants get time to regrow between harvests, not too much and not too little.
    Regrowth,
    /// Plants are sown, then moved, then harvested.
    Order,
    /// Harvests are in order, numbered, and no more than the crop gives.
    HarvestOrder,
    /// All harvests but the last are cuts; the last pulls the plants.
    HarvestWays,
    /// The user's wish for a harvest way is kept.
    WayWish,
    /// Every part has plants, and no batch is too small to be worth sowing.
    BatchSize,
    /// Plugs and seeds suit the plants.
    Plugs,
    /// Seedlings fit into the nursery.
    NurseryCells,
    /// Seedlings are not left alone for too long.
    LeftAlone,
    /// Holes exist, one a plant.
    Holes,
    /// Wide plants keep their distance.
    Spacing,
    /// No hole is used twice at a time.
    HoleClash,
    /// Crops stand only at the sites and in the tanks they are bound to.
    OnlyIn,
    /// No plants stand in a tank that is out of use.
    TankOut,
    /// Tanks are empty often enough to be cleaned.
    Cleaning,
    /// Lost plants were lost on a day that is known, and are not harvested any more.
    Lost,
    /// Crops stand in a solution that suits them.
    Solution,
    /// Tanks do not run dry while nobody is there.
    Water,
    /// Work fits into the minutes of a class.
    Minutes,
    /// A class sows no more batches in a day than it can.
    Sowings,
    /// Harvest estimates follow from the crop figures.
    Estimate,
    /// Harvested greens are served on serving days, while they keep.
    Serves,
    /// Serving days add up.
    Planned,
    /// No crop covers more of a serving day than allowed.
    CropShare,
    /// No tank carries more of a serving day than allowed.
    TankShare,
    /// The totals of the plan are right.
    Totals,
    /// A tank holds one crop at a time where that is wanted.
    OneCrop,
    /// Sowings of a crop at a site keep a rhythm where that is wanted.
    Rhythm,
    /// No bound is above what the plan reaches.
    Bounds,
    /// Only days that are short have a reason to be.
    Reasons,
    /// A plan that was made again has nothing that only a plan of a whole term has.
    PlannedAgain,
    /// Work that was put off is not done before its new day.
    PutOff,
    /// Crops and batches that are counted with other masses are there, each is named once, and the factors can be meant.
    MassFactors,
}

impl Rule {
    /// Whether the rule says what should be done, rather than what can be.
    #[must_use]
    pub fn tells_what_to_do(self) -> bool {
        matches!(
            self,
            Self::ClassDays
                | Self::Arrivals
                | Self::InCups
                | Self::NurseryAge
                | Self::FirstHarvest
                | Self::Regrowth
                | Self::WayWish
                | Self::NurseryCells
                | Self::LeftAlone
                | Self::OnlyIn
                | Self::OneCrop
                | Self::Rhythm
                | Self::Cleaning
                | Self::Water
                | Self::Minutes
                | Self::Sowings
                | Self::PutOff
        )
    }
}

impl Violation {
    pub(super) fn new(rule: Rule, message: impl Into<String>) -> Self {
        Self { rule, date: None, site: None, batch: None, message: message.into() }
    }

    pub(super) fn on(mut self, date: NaiveDate) -> Self {
        self.date = Some(date);
        self
    }

    pub(super) fn at(mut self, site: &SiteId) -> Self {
        self.site = Some(site.clone());
        self
    }

    pub(super) fn of(mut self, batch: &BatchId) -> Self {
        self.batch = Some(batch.clone());
        self
    }
}

impl fmt::Display for Violation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let place = [
            self.date.map(say),
            self.site.as_ref().map(|site| format!("site {site}")),
            self.batch.as_ref().map(|batch| format!("batch {batch}")),
        ];
        let place: Vec<String> = place.into_iter().flatten().collect();
        if !place.is_empty() {
            write!(f, "{}: ", place.join(", "))?;
        }
        f.write_str(&self.message)
    }
}

/// Violations as they turn up.
#[derive(Default)]
pub(super) struct Findings(Vec<Violation>);

impl Findings {
    pub(super) fn retain(&mut self, keep: impl Fn(&Violation) -> bool) {
        self.0.retain(keep);
    }

    pub(super) fn push(&mut self, violation: Violation) {
        self.0.push(violation);
    }

    /// By date, those without a date last; what falls on the same day by site, batch and rule.
    pub(super) fn sorted(mut self) -> Vec<Violation> {
        self.0.sort_by(|a, b| {
            let key = |v: &Violation| (v.date.is_none(), v.date);
            key(a)
                .cmp(&key(b))
                .then_with(|| a.site.cmp(&b.site))
                .then_with(|| a.batch.cmp(&b.batch))
                .then_with(|| a.rule.cmp(&b.rule))
        });
        self.0
    }
}

/// A date as people say it, such as "Thu 3 Sep 2026".
pub(super) fn say(date: NaiveDate) -> String {
    date.format("%a %-d %b %Y").to_string()
}

/// A number with its noun: "1 plant", "12 plants".
pub(super) fn count(number: impl Into<u64>, noun: &str) -> String {
    let number = number.into();
    let plural = if number == 1 { "" } else { "s" };
    format!("{number} {noun}{plural}")
}

/// The form of a verb that goes with a number of things: "1 seed goes", "2 seeds go".
pub(super) fn verb(number: impl Into<u64>, of_one: &'static str, of_more: &'static str) -> &'static str {
    if number.into() == 1 { of_one } else { of_more }
}

/// A figure with two decimals, never "-0.00"; one that is out of all reason as a power of ten.
pub(super) fn figure(value: f64) -> String {
    with_digits(value, 2)
}

/// Two figures that are not the same, with as many decimals as it takes to see that, from two on.
pub(super) fn unlike(one: f64, other: f64) -> [String; 2] {
    let texts = (2..=9).map(|digits| [one, other].map(|value| with_digits(value, digits)));
    let differ = |[one, other]: &[String; 2]| one != other;
    let mut texts = texts.skip_while(|texts| !differ(texts));
    texts.next().unwrap_or_else(|| [one, other].map(|value| format!("{value:e}")))
}

fn with_digits(value: f64, digits: usize) -> String {
    if value.abs() >= 1e12 {
        return format!("{value:e}");
    }
    let text = format!("{value:.digits$}");
    if text.trim_matches(['-', '0', '.']).is_empty() { text.trim_start_matches('-').to_owned() } else { text }
}

/// Hole numbers in a row: "3, 4 and 9".
pub(super) fn list<T: ToString>(items: impl IntoIterator<Item = T>) -> String {
    let items: Vec<String> = items.into_iter().map(|item| item.to_string()).collect();
    match items.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        Some((last, _)) => last.clone(),
        None => "none".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_that_differ_look_different() {
        assert_eq!(unlike(161.77, 161.8), ["161.77", "161.80"]);
        assert_eq!(unlike(161.771, 161.774), ["161.771", "161.774"]);
        assert_eq!(unlike(1.0, 1.0 + 1e-13), ["1e0", "1.0000000000001e0"]);
        assert_eq!([figure(-0.001), figure(1e308), figure(-12.5)], ["0.00", "1e308", "-12.50"]);
    }
}
