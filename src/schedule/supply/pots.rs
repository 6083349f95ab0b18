//! Greens as they are harvested, and in pots in order of what spoils first.

use super::super::instance::Day;
use std::cmp::Ordering;

/// Greens from one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::schedule) struct Greens {
    pub(in crate::schedule) crop: usize,
    /// Site and tank.
    pub(in crate::schedule) tank: (usize, usize),
    pub(in crate::schedule) grams: f64,
    pub(in crate::schedule) batch: u32,
    /// Mean of what comes of a gram of the batch, and the standard deviation that all its plants share.
    pub(in crate::schedule) comes: (f64, f64),
    /// Plants that give them; below 0 if they are taken off.
    pub(in crate::schedule) plants: i32,
    /// Whether they were sown in cups, where part of them does not even come up.
    pub(in crate::schedule) in_cups: bool,
}

/// Greens a serving takes: of a crop harvested on a day, from a tank (a limited one, by site and tank) or from any of the
/// others, out of all that keeps until serving `last` and no longer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::schedule) struct Taken {
    pub(in crate::schedule) serving: usize,
    pub(in crate::schedule) crop: usize,
    pub(in crate::schedule) day: Day,
    pub(in crate::schedule) last: usize,
    pub(in crate::schedule) tank: Option<(usize, usize)>,
    pub(in crate::schedule) grams: f64,
}

/// Mass harvested on one day that keeps until the same serving and counts against the same limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pot {
    pub(super) label: Label,
    pub(super) grams: f64,
}

/// What tells a pot from others, in one number that is quick to compare: first what spoils first, then what is oldest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Label(u64);

impl Label {
    /// `day` is one of the term; `tank` is a number among tanks whose share is limited, from 1, or 0 for all others.
    pub(super) fn new(last: usize, day: Day, crop: usize, tank: u16) -> Self {
        Self((last as u64) << 48 | (day.max(0) as u64) << 32 | (crop as u64) << 16 | u64::from(tank))
    }

    fn part(self, shift: u32) -> usize {
        usize::from((self.0 >> shift) as u16)
    }

    /// Last serving it keeps for.
    pub(super) fn last(self) -> usize {
        self.part(48)
    }

    /// Day of its harvest.
    pub(super) fn day(self) -> Day {
        self.part(32) as Day
    }

    pub(super) fn crop(self) -> usize {
        self.part(16)
    }

    pub(super) fn tank(self) -> usize {
        self.part(0)
    }
}

/// Merges pots by what spoils first; equal ones are added up.
pub(super) fn merge(left: &[Pot], right: &[Pot], into: &mut Vec<Pot>) {
    let (mut i, mut j) = (0, 0);
    while let (Some(one), Some(other)) = (left.get(i), right.get(j)) {
        let order = one.label.cmp(&other.label);
        i += usize::from(order.is_le());
        j += usize::from(order.is_ge());
        into.push(match order {
            Ordering::Less => *one,
            Ordering::Equal => Pot { grams: one.grams + other.grams, ..*one },
            Ordering::Greater => *other,
        });
    }
    into.extend_from_slice(&left[i..]);
    into.extend_from_slice(&right[j..]);
}
