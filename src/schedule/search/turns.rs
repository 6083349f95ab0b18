//! Stretches of class in which a site has nothing to do.

use super::super::instance::Stretches;

/// Days with work in each stretch of a site.
#[derive(Clone)]
pub(super) struct Turns {
    /// Number of the stretch that each class day lies in.
    stretch: Vec<Option<u16>>,
    /// Class days with work, by stretch.
    worked: Vec<i32>,
}

impl Turns {
    pub(super) fn new(days: usize, stretches: &Stretches) -> Self {
        let of_day = |day: usize| stretches.iter().position(|days| days.contains(&day));
        Self {
            stretch: (0..days).map(|day| of_day(day).map(|stretch| stretch as u16)).collect(),
            worked: vec![0; stretches.len()],
        }
    }

    /// Stretches without work.
    pub(super) fn idle(&self) -> i32 {
        self.worked.iter().filter(|days| **days == 0).count() as i32
    }

    /// Books a class day that has work from now on (or no longer has); returns by how many the stretches without work grew.
    pub(super) fn book(&mut self, day: usize, change: i32) -> i32 {
        let Some(stretch) = self.stretch[day] else { return 0 };
        let worked = &mut self.worked[usize::from(stretch)];
        let before = i32::from(*worked == 0);
        *worked += change;
        i32::from(*worked == 0) - before
    }
}
