//! The rhythm of sowings: what is sown of each series, and whether that keeps the rhythm.

use super::super::instance::{Rhythms, Slot};

/// A batch that is sown, and how many plants it has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Sown {
    pub(super) slot: Slot,
    pub(super) plants: i32,
}

/// What is sown of each series.
#[derive(Clone)]
pub(super) struct Rhythm<'g> {
    pub(super) beats: &'g Rhythms,
    /// Sorted by slot.
    sown: Vec<Vec<Sown>>,
    /// Sowings that lie in no beat, which is never allowed.
    strays: i32,
    /// While a series is being sown anew, batch by batch, it may be out of rhythm.
    pub(super) paused: bool,
    /// By series: plants that would have to be added or taken out for it to be in rhythm.
    uneven: Vec<i32>,
    total: i32,
    /// Points for each of them, while that is allowed; `None` if it is not.
    pub(super) price: Option<f64>,
}

impl<'g> Rhythm<'g> {
    pub(super) fn new(beats: &'g Rhythms) -> Self {
        let count = beats.count();
        Self {
            beats,
            sown: vec![Vec::new(); count],
            strays: 0,
            paused: false,
            uneven: vec![0; count],
            total: 0,
            price: None,
        }
    }

    /// Whether nothing is out of rhythm that may not be so.
    pub(super) fn sound(&self) -> bool {
        self.strays == 0 && (self.paused || self.price.is_some() || self.total == 0)
    }

    /// What is sown of a series, by beat and day.
    pub(super) fn sown(&self, series: usize) -> &[Sown] {
        &self.sown[series]
    }

    pub(super) fn candidate(&self, sown: Sown) -> u32 {
        self.beats.beat(sown.slot.beat)[sown.slot.position]
    }

    /// Notes that a batch has other plants than before; returns how many more rhythms are begun, and how many more
    /// plants are out of rhythm.
    pub(super) fn book(&mut self, candidate: u32, before: i32, plants: i32) -> (i32, i32) {
        let Some(slot) = self.beats.slot(candidate) else {
            self.strays += i32::from(plants > 0) - i32::from(before > 0);
            return (0, 0);
        };
        let series = &mut self.sown[slot.series];
        let begun = begun(self.beats, slot.series, series);
        match series.binary_search_by_key(&slot, |sown| sown.slot) {
            Ok(at) if plants > 0 => series[at].plants = plants,
            Ok(at) => _ = series.remove(at),
            Err(at) if plants > 0 => series.insert(at, Sown { slot, plants }),
            Err(_) => {}
        }
        let uneven = uneven(series, |beat| self.beats.least(beat));
        let more = uneven - std::mem::replace(&mut self.uneven[slot.series], uneven);
        self.total += more;
        (self::begun(self.beats, slot.series, &self.sown[slot.series]) - begun, more)
    }

    /// The series that are out of rhythm.
    pub(super) fn out_of_rhythm(&self) -> impl Iterator<Item = usize> {
        (0..self.uneven.len()).filter(|series| self.uneven[*series] > 0)
    }

    /// Plants that would have to be added or taken out for all series to be in rhythm.
    pub(super) fn uneven(&self) -> i32 {
        self.total
    }
}

/// Beats that are sown of a series, but for the one that goes on from before.
fn begun(beats: &Rhythms, series: usize, sown: &[Sown]) -> i32 {
    let rows = sown.chunk_by(|one, other| one.slot.beat == other.slot.beat);
    rows.filter(|row| Some(row[0].slot.beat) != beats.going(series)).count() as i32
}

/// Whether sowings lie in more than one beat, leave one out, differ in their plants, or are fewer than the least of the beat.
fn is_broken(sown: &[Sown], fewest: impl Fn(usize) -> usize) -> bool {
    let (Some(first), Some(last)) = (sown.first(), sown.last()) else { return false };
    first.slot.beat != last.slot.beat
        || sown.len() < fewest(first.slot.beat)
        || last.slot.position - first.slot.position + 1 != sown.len()
        || sown.iter().any(|other| other.plants != first.plants)
}

/// Plants that would have to be added or taken out for a series to be in rhythm: in the beat that has most of them, as many
/// for each sowing as the middle one of them has, without those at the ends that have less than half; or all of them, if it
/// takes more than they are to have the least number of sowings in the beat.
fn uneven(sown: &[Sown], fewest: impl Fn(usize) -> usize) -> i32 {
    if !is_broken(sown, &fewest) {
        return 0;
    }
    let beats = || sown.chunk_by(|one, other| one.slot.beat == other.slot.beat);
    let sum = |row: &[Sown]| row.iter().map(|sown| sown.plants).sum::<i32>();
    let Some(row) = beats().max_by_key(|row| sum(row)) else { return 0 };
    let mut plants: Vec<i32> = row.iter().map(|sown| sown.plants).collect();
    plants.sort_unstable();
    let each = plants[plants.len() / 2];
    let many = |sown: &Sown| 2 * sown.plants >= each;
    let first = row.iter().position(many).unwrap_or(0);
    let end = row.iter().rposition(many).map_or(0, |last| last + 1);
    let kept = &row[first..end];
    let length = kept[kept.len() - 1].slot.position + 1 - kept[0].slot.position;
    let missing = length.max(fewest(kept[0].slot.beat)) - kept.len();
    let off: i32 = kept.iter().map(|sown| (sown.plants - each).abs()).sum();
    let most = sum(sown);
    (most - sum(kept) + off + missing as i32 * each).min(most)
}

/// The batches to keep, and with how many plants, of a series that is broken: those in a row which have the most plants if
/// all have as many as the smallest of them, at least `smallest`; none if no row has the least number of sowings in its beat.
pub(super) fn best_row(sown: &[Sown], smallest: i32, fewest: impl Fn(usize) -> usize) -> (&[Sown], i32) {
    let mut best: (&[Sown], i32) = (&[], 0);
    for from in 0..sown.len() {
        let first = sown[from].slot;
        let mut plants = i32::MAX;
        for to in from..sown.len() {
            let slot = sown[to].slot;
            if slot.beat != first.beat || slot.position - first.position != to - from {
                break;
            }
            plants = plants.min(sown[to].plants);
            let row = &sown[from..=to];
            let enough = plants >= smallest && row.len() >= fewest(first.beat);
            if enough && row.len() as i32 * plants > best.0.len() as i32 * best.1 {
                best = (row, plants);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sown(batches: &[(usize, usize, i32)]) -> Vec<Sown> {
        let one = |&(beat, position, plants): &(usize, usize, i32)| Sown {
            slot: Slot { series: 0, beat, position },
            plants,
        };
        batches.iter().map(one).collect()
    }

    /// A single sowing will do.
    fn one(_beat: usize) -> usize {
        1
    }

    #[test]
    fn a_rhythm_is_one_beat_without_gaps_and_one_number() {
        assert!(!is_broken(&[], one));
        assert!(!is_broken(&sown(&[(3, 4, 7), (3, 5, 7), (3, 6, 7)]), one));
        assert!(is_broken(&sown(&[(3, 4, 7), (3, 6, 7)]), one), "one is missing");
        assert!(is_broken(&sown(&[(3, 4, 7), (4, 5, 7)]), one), "another weekday");
        assert!(is_broken(&sown(&[(3, 4, 7), (3, 5, 8)]), one), "another number");
    }

    proptest! {
        #[test]
        fn a_series_is_even_just_if_it_keeps_the_rhythm(
            batches in prop::collection::btree_map((0..2_usize, 0..5_usize), 1..9, 0..7), fewest in 1..4_usize,
        ) {
            let least = |_| fewest;
            let batches: Vec<_> = batches.into_iter().map(|((beat, day), plants)| (beat, day, plants)).collect();
            let sown = sown(&batches);
            prop_assert_eq!(uneven(&sown, least) == 0, !is_broken(&sown, least));
            let (row, plants) = best_row(&sown, 1, least);
            let kept: Vec<Sown> = row.iter().map(|sown| Sown { plants, ..*sown }).collect();
            prop_assert_eq!(uneven(&kept, least), 0);
        }
    }

    #[test]
    fn what_is_out_of_rhythm_is_counted_in_plants() {
        assert_eq!(uneven(&[], one), 0);
        assert_eq!(uneven(&sown(&[(3, 4, 7), (3, 5, 7), (3, 6, 7)]), one), 0);
        assert_eq!(uneven(&sown(&[(3, 4, 7), (3, 6, 7)]), one), 7, "one is missing");
        assert_eq!(uneven(&sown(&[(3, 4, 7), (3, 5, 7), (4, 5, 3)]), one), 3, "another weekday");
        assert_eq!(uneven(&sown(&[(3, 4, 7), (3, 5, 9), (3, 6, 8)]), one), 2, "other numbers");
        assert_eq!(uneven(&sown(&[(3, 0, 2), (3, 4, 7), (3, 5, 7)]), one), 2, "a few long before");
    }

    #[test]
    fn a_rhythm_goes_on_or_is_given_up() {
        let three = |_| 3;
        assert!(is_broken(&sown(&[(3, 4, 7), (3, 5, 7)]), three));
        assert!(!is_broken(&sown(&[(3, 4, 7), (3, 5, 7), (3, 6, 7)]), three));
        assert_eq!(uneven(&sown(&[(3, 4, 7), (3, 5, 7)]), three), 7, "a third one is added");
        assert_eq!(uneven(&sown(&[(3, 4, 7)]), three), 7, "it is taken out");
        let batches = sown(&[(1, 0, 9), (2, 0, 2), (2, 1, 3), (2, 2, 2)]);
        assert_eq!(best_row(&batches, 1, three), (&batches[1..], 2));
        assert_eq!(best_row(&batches, 3, three), (&[][..], 0));
    }

    #[test]
    fn a_broken_rhythm_keeps_the_row_with_the_most_plants() {
        let batches = sown(&[(1, 0, 9), (2, 0, 8), (2, 1, 6), (2, 2, 2), (2, 4, 11)]);
        assert_eq!(best_row(&batches, 1, one), (&batches[1..3], 6));
        assert_eq!(best_row(&batches, 7, one), (&batches[4..5], 11));
        assert_eq!(best_row(&batches, 12, one), (&[][..], 0));
    }
}
