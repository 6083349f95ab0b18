//! How old plants must be for a harvest.

use super::network::Day;
use crate::domain::growth::young;

/// From which age on plants may be harvested.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ripe {
    /// As old as the crop's figures say.
    Usual,
    /// A little younger, if need be: plants of a plan under way that grow already.
    Young,
}

impl Ripe {
    /// What plants are that grow already. A plan made from the beginning, and its bound, know no younger ones.
    pub(crate) fn of_given(today: Option<Day>) -> Self {
        if today.is_some() { Self::Young } else { Self::Usual }
    }

    /// The fewest days, given those that it usually takes.
    pub(crate) fn least(self, days: Day) -> Day {
        match self {
            Self::Usual => days,
            Self::Young => young(days.max(0) as u32) as Day,
        }
    }
}
