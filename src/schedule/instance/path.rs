//! A path: when some plants of a batch are moved and harvested, and in which tank they stand.

use super::network::Day;

/// Most harvests one plant can give in a plan.
pub(crate) const MOST_HARVESTS: usize = 12;

/// Index of a class day at a site.
pub(crate) type Index = u16;

/// Tank and days of some plants of a batch. All harvests but the last are cuts; the last one pulls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Path {
    /// Tank at the batch's site.
    pub(crate) tank: u16,
    /// Day of transplanting; 0 for plants that already stand in a tank.
    pub(crate) moved: Index,
    days: [Index; MOST_HARVESTS],
    count: u8,
    /// How the plants were lost, if they were; then all harvests are cuts.
    pub(crate) lost: Option<Loss>,
}

/// When and where plants were lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Loss {
    pub(crate) day: Day,
    /// Before they came into a tank.
    pub(crate) in_nursery: bool,
}

/// Plants on one path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Lot {
    pub(crate) path: Path,
    pub(crate) plants: i32,
}

impl Path {
    pub(crate) fn new(tank: u16, moved: Index, harvests: &[Index]) -> Self {
        let mut days = [0; MOST_HARVESTS];
        let count = harvests.len().min(MOST_HARVESTS);
        days[..count].copy_from_slice(&harvests[..count]);
        Self { tank, moved, days, count: count as u8, lost: None }
    }

    pub(crate) fn harvests(&self) -> &[Index] {
        &self.days[..usize::from(self.count)]
    }

    pub(crate) fn last(&self) -> Index {
        self.harvests().last().copied().unwrap_or(self.moved)
    }

    /// The same path, ended by a loss.
    pub(crate) fn lost(mut self, day: Day, in_nursery: bool) -> Self {
        self.lost = Some(Loss { day, in_nursery });
        self
    }

    /// Whether its plants never came into a tank.
    pub(crate) fn lost_in_nursery(&self) -> bool {
        self.lost.is_some_and(|loss| loss.in_nursery)
    }

    /// Its harvests before a class day.
    pub(crate) fn harvests_before(&self, day: Index) -> &[Index] {
        let count = self.harvests().iter().take_while(|harvest| **harvest < day).count();
        &self.harvests()[..count]
    }

    /// The same path in another tank.
    pub(crate) fn in_tank(mut self, tank: u16) -> Self {
        self.tank = tank;
        self
    }

    /// The same path with another day of transplanting.
    pub(crate) fn moved_on(mut self, moved: Index) -> Self {
        self.moved = moved;
        self
    }

    /// The same path with one harvest moved to another day.
    pub(crate) fn with_harvest(mut self, position: usize, day: Index) -> Self {
        self.days[position] = day;
        self
    }

    /// The same path with one harvest more at its end.
    pub(crate) fn longer(mut self, day: Index) -> Option<Self> {
        let place = self.days.get_mut(usize::from(self.count))?;
        *place = day;
        self.count += 1;
        Some(self)
    }

    /// The same path without its last harvest.
    pub(crate) fn shorter(mut self) -> Option<Self> {
        self.count = self.count.checked_sub(1).filter(|count| *count > 0)?;
        self.days[usize::from(self.count)] = 0;
        Some(self)
    }
}
