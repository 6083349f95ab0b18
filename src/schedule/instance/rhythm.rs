//! The rhythms in which the sowings of a crop at a site can follow each other.

use super::{Candidate, Day, Instance, Path};
use crate::domain::calendar::DateSpan;
use crate::domain::plan::Origin;
use crate::domain::term::{LEAST_IN_RHYTHM, Rhythm};
use std::collections::BTreeMap;

/// Every rhythm there can be. A beat has all candidates that lie whole multiples of so many weeks apart and are sown in the
/// same way; a series has all beats of a crop at a site, of which a plan uses one.
pub(crate) struct Rhythms {
    /// Candidates of each beat, by day.
    beats: Vec<Vec<u32>>,
    /// Rhythms of each series.
    series: Vec<Vec<usize>>,
    /// By candidate; `None` for what stands, is bought or could not be served.
    slots: Vec<Option<Slot>>,
    /// By series: the beat in which it was last sown before this plan.
    going: Vec<Option<usize>>,
    /// By beat: sowings at least, if there are any.
    least: Vec<usize>,
}

/// Where a candidate is found in a rhythm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Slot {
    pub(crate) series: usize,
    pub(crate) beat: usize,
    /// Among the candidates of the beat.
    pub(crate) position: usize,
}

impl Rhythms {
    /// `None` if sowings need no rhythm.
    pub(super) fn new(instance: &Instance) -> Option<Self> {
        let Rhythm::Steady { every } = instance.net.term.rules.rhythm else { return None };
        let length = 7 * every as Day;
        let mut sown: BTreeMap<_, BTreeMap<_, Vec<u32>>> = BTreeMap::new();
        for (number, candidate) in instance.candidates.iter().enumerate() {
            if candidate.keeps_rhythm() && instance.can_be_served(candidate) {
                let start = &candidate.start;
                let beat = (start.origin, start.begins.rem_euclid(length));
                let series = sown.entry((candidate.site, candidate.crop)).or_default();
                series.entry(beat).or_default().push(number as u32);
            }
        }
        let last = last_begun(instance);
        let slots = vec![None; instance.candidates.len()];
        let mut found =
            Self { beats: Vec::new(), series: Vec::new(), slots, going: Vec::new(), least: Vec::new() };
        for (place, beats) in sown {
            let fewest = fewest(instance, place);
            let going = last.get(&place).map(|(day, origin)| (*origin, day.rem_euclid(length)));
            let going = beats.keys().position(|beat| Some(*beat) == going);
            found.going.push(going.map(|at| found.beats.len() + at));
            let series = found.series.len();
            found.series.push((found.beats.len()..found.beats.len() + beats.len()).collect());
            for mut beat in beats.into_values() {
                beat.sort_by_key(|number| instance.candidates[*number as usize].start.begins);
                for (position, number) in beat.iter().enumerate() {
                    let slot = Slot { series, beat: found.beats.len(), position };
                    found.slots[*number as usize] = Some(slot);
                }
                found.least.push(fewest.min(beat.len()));
                found.beats.push(beat);
            }
        }
        Some(found)
    }

    /// How many series there are.
    pub(crate) fn count(&self) -> usize {
        self.series.len()
    }

    /// The beats of a series.
    pub(crate) fn of(&self, series: usize) -> &[usize] {
        &self.series[series]
    }

    /// The candidates of a beat, by day.
    pub(crate) fn beat(&self, beat: usize) -> &[u32] {
        &self.beats[beat]
    }

    /// The beat in which a series was last sown before this plan.
    pub(crate) fn going(&self, series: usize) -> Option<usize> {
        self.going[series]
    }

    /// Sowings in a beat at least, if there are any.
    pub(crate) fn least(&self, beat: usize) -> usize {
        self.least[beat]
    }

    pub(crate) fn slot(&self, candidate: u32) -> Option<Slot> {
        self.slots[candidate as usize]
    }
}

/// Sowings that a series of a crop at a site must have, if it can have so many: no more than smallest batches stand side by
/// side there. Repairs and what is left of a series may be a single sowing.
fn fewest(instance: &Instance, (site, crop): (usize, usize)) -> usize {
    if instance.net.today.is_some() {
        return 1;
    }
    let (term, yields) = (instance.net.term, &instance.yields[site][crop]);
    let (site, days) = (&instance.net.sites[site], DateSpan { first: term.start, last: term.end });
    let usable = yields.tanks.iter().map(|tank| usize::from(*tank));
    let usable = usable.filter(|tank| !site.tanks[*tank].tank.is_out_throughout(days));
    let places = |tank: usize| site.fields[crop].room[tank].map_or(0, |room| site.tanks[tank].plants(room));
    let plants: u32 = usable.map(places).sum();
    let side_by_side = plants / term.rules.smallest_batch.max(1);
    LEAST_IN_RHYTHM.min(side_by_side as usize).max(1)
}

/// When and how each crop at each site was last sown before this plan.
fn last_begun(instance: &Instance) -> BTreeMap<(usize, usize), (Day, Origin)> {
    let mut last = BTreeMap::new();
    for candidate in instance.candidates.iter().filter(|candidate| candidate.given && candidate.start.laid())
    {
        let sown = (candidate.start.begins, candidate.start.origin);
        let known = last.entry((candidate.site, candidate.crop)).or_insert(sown);
        *known = sown.max(*known);
    }
    last
}

impl Candidate {
    /// Whether it is sown by this plan, so that it has to keep a rhythm if there is to be one.
    pub(crate) fn keeps_rhythm(&self) -> bool {
        self.start.laid() && !self.given
    }
}

impl Instance<'_> {
    /// Whether a single plant can be harvested so that some of it is eaten, at its first or second harvest.
    fn can_be_served(&self, candidate: &Candidate) -> bool {
        let yields = self.yields(candidate);
        let pulls = candidate.pulls.clone().map(|day| vec![day]);
        let cuts = candidate.cuts.clone();
        let cuts = cuts.flat_map(|cut| self.regrowths(candidate, cut).map(move |again| vec![cut, again]));
        let mut harvests = pulls.chain(cuts);
        harvests.any(|days| {
            let eaten = days.iter().any(|day| yields.reach(*day, days.len() == 1).is_some());
            let mut starts = yields.tanks.iter().flat_map(|tank| {
                let moves = candidate.transplants.clone();
                moves.map(move |moved| (*tank, moved))
            });
            eaten && starts.any(|(tank, moved)| self.allows(candidate, &Path::new(tank, moved, &days)))
        })
    }
}
