//! What is in use: holes, cells, minutes, sowings and water, against their limits.
//!
//! Every entry that lies above its limit is counted, so that a change can be judged after all of it is
//! booked, whatever the order.

use super::super::instance::{Instance, Stretches};
use super::mixing::Mixing;
use super::turns::Turns;
use std::ops::Range;

/// What is left of one thing over the class days of a site; below nought where too much is used.
#[derive(Clone)]
struct Account<T> {
    left: Vec<T>,
}

/// Holes, cells or batches: whole numbers, which are quick to book over many days.
type Counts = Account<i32>;

/// Minutes or litres.
type Amounts = Account<f64>;

/// Rounding of sums of minutes and litres must not look like overuse.
const SLACK: f64 = 1e-6;

impl<T: Copy> Account<T> {
    fn new(entries: usize, limit: T) -> Self {
        Self { left: vec![limit; entries] }
    }

    /// Without a limit on the first entries: what is past is as it is.
    fn after(past: usize, entries: usize, limit: T, none: T) -> Self {
        let mut account = Self::new(entries, limit);
        account.left[..past].fill(none);
        account
    }
}

/// More than can ever be counted.
const NO_COUNT: i32 = i32::MAX / 2;

impl Counts {
    /// Books a number and returns by how many the overused entries grew.
    fn book(&mut self, range: Range<usize>, number: i32) -> i32 {
        let mut over = 0;
        for left in &mut self.left[range] {
            over -= i32::from(*left < 0);
            *left -= number;
            over += i32::from(*left < 0);
        }
        over
    }
}

impl Amounts {
    /// Books an amount in one entry and returns by how many the overused entries grew.
    fn book(&mut self, entry: usize, amount: f64) -> i32 {
        let left = &mut self.left[entry];
        let before = i32::from(*left < -SLACK);
        *left -= amount;
        i32::from(*left < -SLACK) - before
    }
}

/// Days on which a tank is empty, and stretches in which it must be so once.
#[derive(Clone)]
struct Cleaning {
    /// Plants that stay over each class day.
    staying: Vec<i32>,
    /// Days of each stretch on which the tank is empty.
    empty: Vec<i32>,
    /// Numbers of the stretches that each class day lies in.
    stretches: Vec<Range<usize>>,
}

impl Cleaning {
    fn new(days: usize, stretches: &Stretches) -> Self {
        let over = |day: usize| {
            let first = stretches.partition_point(|stretch| *stretch.end() < day);
            first..stretches.partition_point(|stretch| *stretch.start() <= day).max(first)
        };
        Self {
            staying: vec![0; days],
            empty: stretches.iter().map(|stretch| stretch.clone().count() as i32).collect(),
            stretches: (0..days).map(over).collect(),
        }
    }

    /// Books plants that stay over some days; returns by how many the stretches without an empty day grew.
    fn book(&mut self, days: Range<usize>, plants: i32) -> i32 {
        let mut over = 0;
        for day in days {
            let before = self.staying[day];
            self.staying[day] += plants;
            let filled = i32::from(before == 0) - i32::from(self.staying[day] == 0);
            if filled == 0 {
                continue;
            }
            for empty in &mut self.empty[self.stretches[day].clone()] {
                over -= i32::from(*empty == 0);
                *empty -= filled;
                over += i32::from(*empty == 0);
            }
        }
        over
    }
}

/// All accounts.
#[derive(Clone)]
pub(super) struct Ledger {
    sites: Vec<SiteAccounts>,
    over: i32,
    /// What is against the limits and cannot be helped.
    pardoned: i32,
}

#[derive(Clone)]
struct SiteAccounts {
    cells: Counts,
    minutes: Amounts,
    sowings: Counts,
    /// Batches or parts with something to do, by class day.
    work: Vec<u32>,
    turns: Turns,
    days: usize,
    tanks: Vec<TankAccounts>,
}

#[derive(Clone)]
struct TankAccounts {
    holes: Counts,
    /// Holes taken in pairs or blocks, and in blocks only, where the lid's odd holes make a difference.
    pairs: Option<Counts>,
    blocks: Option<Counts>,
    /// Litres by absence, and the class days before and after it.
    water: Amounts,
    absences: Vec<(u16, u16)>,
    cleaning: Cleaning,
    mixing: Option<Mixing>,
}

impl Ledger {
    pub(super) fn new(instance: &Instance) -> Self {
        let sites = instance
            .net
            .sites
            .iter()
            .zip(&instance.cleaning)
            .zip(&instance.turns)
            .map(|((site, cleaning), turns)| {
                let days = site.class_days.len();
                let counts = |limit: u32| Counts::after(site.past_days, days, limit as i32, NO_COUNT);
                let index = |day: i32| site.class_days.partition_point(|other| *other < day) as u16;
                let absences: Vec<(u16, u16)> =
                    site.absences.iter().map(|gap| (index(gap.leave), index(gap.back))).collect();
                let tanks = site
                    .tanks
                    .iter()
                    .zip(cleaning)
                    .map(|(tank, cleaning)| {
                        let partial = |places: u32, room: u32| {
                            let holes = places * room;
                            (holes < tank.holes).then(|| counts(holes))
                        };
                        TankAccounts {
                            holes: counts(tank.holes),
                            pairs: partial(tank.pairs, 2),
                            blocks: partial(tank.blocks, 4),
                            water: Account::new(absences.len(), tank.tank.usable_litres),
                            absences: absences.clone(),
                            cleaning: Cleaning::new(days, cleaning),
                            mixing: Mixing::new(
                                &instance.net.term.rules,
                                site.fields.len(),
                                (site.past_days, days),
                            ),
                        }
                    })
                    .collect();
                let minutes = site.site.minutes_a_day.unwrap_or(f64::INFINITY);
                SiteAccounts {
                    cells: counts(site.site.nursery.cells),
                    minutes: Amounts::after(site.past_days, days, minutes, f64::INFINITY),
                    sowings: site.site.sowings_a_day.map_or_else(|| Account::new(days, NO_COUNT), counts),
                    work: vec![0; days],
                    turns: Turns::new(days, turns),
                    days,
                    tanks,
                }
            })
            .collect();
        Self { sites, over: 0, pardoned: 0 }
    }

    /// Whether everything keeps its limit, but for what was pardoned.
    pub(super) fn sound(&self) -> bool {
        self.over <= self.pardoned
    }

    /// Takes what is against the limits now as a fact that no plan can change.
    pub(super) fn pardon(&mut self) {
        self.pardoned = self.over;
    }

    /// Counts something else that is (or no longer is) against the rules.
    pub(super) fn blame(&mut self, change: i32) {
        self.over += change;
    }

    /// Books holes of a tank from one class day until before another.
    pub(super) fn holes(&mut self, site: usize, tank: u16, days: Range<u16>, room: u32, plants: i32) {
        let accounts = &mut self.sites[site];
        let range = usize::from(days.start)..usize::from(days.end).min(accounts.days);
        if range.is_empty() {
            return;
        }
        let number = plants * room as i32;
        let tank = &mut accounts.tanks[usize::from(tank)];
        self.over += tank.holes.book(range.clone(), number);
        for (least, account) in [(2, &mut tank.pairs), (4, &mut tank.blocks)] {
            if let Some(account) = account.as_mut().filter(|_| room >= least) {
                self.over += account.book(range.clone(), number);
            }
        }
    }

    /// Holes of a tank that are free from one class day until before another, of those that such plants can stand in.
    pub(super) fn free(&self, site: usize, tank: u16, days: Range<u16>, room: u32) -> i32 {
        let accounts = &self.sites[site];
        let range = usize::from(days.start)..usize::from(days.end).min(accounts.days);
        let tank = &accounts.tanks[usize::from(tank)];
        let kinds = [(1, Some(&tank.holes)), (2, tank.pairs.as_ref()), (4, tank.blocks.as_ref())];
        let limits = kinds.into_iter().filter(|(least, _)| room >= *least).filter_map(|(_, account)| account);
        limits.filter_map(|account| account.left.get(range.clone())?.iter().min().copied()).min().unwrap_or(0)
    }

    /// Books the water of plants that stand in a tank from `moved` until pulled on `last`.
    pub(super) fn water(
        &mut self,
        site: usize,
        tank: u16,
        moved: u16,
        last: u16,
        litres: &[f64],
        plants: i32,
    ) {
        let tank = &mut self.sites[site].tanks[usize::from(tank)];
        for (number, (leave, back)) in tank.absences.iter().enumerate() {
            if moved <= *leave && last >= *back {
                self.over += tank.water.book(number, litres[number] * f64::from(plants));
            }
        }
    }

    /// Books plants that stay in a tank over these class days, so that it is not empty on them.
    pub(super) fn stays(&mut self, site: usize, tank: u16, days: Range<u16>, plants: i32) {
        let tank = &mut self.sites[site].tanks[usize::from(tank)];
        self.over += tank.cleaning.book(usize::from(days.start)..usize::from(days.end), plants);
    }

    /// Books plants of a crop that stand in a tank after these class days; returns by how many the further crops in the tank
    /// grew, added up over the days.
    pub(super) fn crops(
        &mut self,
        (site, tank): (usize, u16),
        crop: usize,
        days: Range<u16>,
        plants: i32,
        is_new: bool,
    ) -> i32 {
        let Some(mixing) = &mut self.sites[site].tanks[usize::from(tank)].mixing else { return 0 };
        let (further, over) = mixing.book(crop, days, plants, is_new);
        self.over += over;
        further
    }

    /// Books nursery cells from one class day until before another.
    pub(super) fn cells(&mut self, site: usize, days: Range<u16>, cells: i32) {
        let range = usize::from(days.start)..usize::from(days.end);
        self.over += self.sites[site].cells.book(range, cells);
    }

    /// Books minutes on a class day.
    pub(super) fn minutes(&mut self, site: usize, day: u16, minutes: f64) {
        self.over += self.sites[site].minutes.book(usize::from(day), minutes);
    }

    /// Books sowings on a class day.
    pub(super) fn sowings(&mut self, site: usize, day: u16, sowings: i32) {
        let day = usize::from(day);
        self.over += self.sites[site].sowings.book(day..day + 1, sowings);
    }

    /// Notes that something is to do on a class day (or no longer is); returns by how many the days with work, and the
    /// stretches without any, grew.
    pub(super) fn work(&mut self, site: usize, day: u16, begins: bool) -> (i32, i32) {
        let site = &mut self.sites[site];
        let count = &mut site.work[usize::from(day)];
        let visits = if begins {
            *count += 1;
            i32::from(*count == 1)
        } else {
            *count -= 1;
            -i32::from(*count == 0)
        };
        (visits, if visits == 0 { 0 } else { site.turns.book(usize::from(day), visits) })
    }

    /// Stretches of class in which a site has nothing to do, of those in which it should.
    pub(super) fn idle(&self) -> i32 {
        self.sites.iter().map(|site| site.turns.idle()).sum()
    }

    /// Takes holes of a tank out of use from one class day until before another.
    pub(super) fn close_holes(&mut self, site: usize, tank: u16, days: Range<u16>, holes: u32) {
        let account = &mut self.sites[site].tanks[usize::from(tank)].holes;
        let end = usize::from(days.end).min(account.left.len());
        self.over += account.book(usize::from(days.start).min(end)..end, holes as i32);
    }
}
