//! What could be sown, moved and harvested, and when: the choices a plan is made from.
//!
//! Both the linear program and the search read the same network, so that they talk of the same
//! choices. Days are counted from the term's first day; plants that already stand were sown on days
//! below nought.

use super::Index;
use super::ripe::Ripe;
use crate::domain::calendar::days_between;
use crate::domain::growth::{DayWindow, Growing, Stand, Way};
use crate::domain::lid::Room;
use crate::domain::plan::Part;
use crate::domain::site::{Site, Tank};
use crate::domain::term::{Rules, Stage, Standing, Term, WantedCrop, WayWish};
use chrono::{Days, NaiveDate};

/// A day, counted from the term's first day.
pub(crate) type Day = i32;

/// All choices of a term.
pub(crate) struct Network<'t> {
    pub(crate) term: &'t Term,
    /// The first day that can still be planned, when a plan under way is planned again.
    pub(crate) today: Option<Day>,
    pub(crate) sites: Vec<SiteNet<'t>>,
    pub(crate) servings: Vec<ServingNet>,
    pub(crate) standing: Vec<StandingNet<'t>>,
    /// Whether the nurseries of all sites have fewer cells than the tanks have holes.
    pub(crate) few_cells: bool,
}

/// One site's days, tanks and crops.
pub(crate) struct SiteNet<'t> {
    pub(crate) site: &'t Site,
    /// Class days inside the term, sorted.
    pub(crate) class_days: Vec<Day>,
    /// By class day, the first one on which a hole emptied then may be used again.
    pub(crate) rested: Vec<Index>,
    /// How many of the class days are past.
    pub(crate) past_days: usize,
    pub(crate) absences: Vec<AbsenceNet>,
    pub(crate) tanks: Vec<TankNet<'t>>,
    /// By crop, as in [`Term::crops`].
    pub(crate) fields: Vec<Field<'t>>,
}

/// Between the class days `leave` and `back` nobody looks in for so many days.
#[derive(Debug, Clone, Copy)]
pub(crate) struct AbsenceNet {
    pub(crate) leave: Day,
    pub(crate) back: Day,
    pub(crate) alone: Day,
}

/// A tank and the room its lid offers.
pub(crate) struct TankNet<'t> {
    pub(crate) tank: &'t Tank,
    pub(crate) holes: u32,
    pub(crate) pairs: u32,
    pub(crate) blocks: u32,
    /// First and last day of each stretch out of use.
    out: Vec<(Day, Day)>,
}

/// A serving day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ServingNet {
    pub(crate) day: Day,
    pub(crate) target: f64,
    /// Chance promised; nought if nothing is, or the day is past.
    pub(crate) sure: f64,
}

/// Plants that stand at the start, by index into sites and crops.
pub(crate) struct StandingNet<'t> {
    pub(crate) standing: &'t Standing,
    pub(crate) site: usize,
    pub(crate) crop: usize,
    pub(crate) sown: Day,
    pub(crate) place: StandingPlace,
}

/// Where standing plants are.
#[derive(PartialEq, Eq)]
pub(crate) enum StandingPlace {
    Nursery,
    Tank { tank: usize, transplanted: Day, cuts: Vec<Day> },
}

/// A crop at a site.
pub(crate) struct Field<'t> {
    pub(crate) wanted: &'t WantedCrop,
    pub(crate) growing: Growing<'t>,
    /// Fewest days from transplanting to a first harvest.
    pub(crate) tank_days: Day,
    /// Room a plant takes in each tank; `None` where the crop cannot stand.
    pub(crate) room: Vec<Option<Room>>,
    /// Whether plants may be put into each tank. Plants that stand elsewhere already stay there.
    pub(crate) open: Vec<bool>,
    /// Whether batches may be begun here.
    pub(crate) begins: bool,
    /// Days that cut leaves, and whole heads, may be served after their harvest.
    keeps: [Day; 2],
    /// Litres a plant draws in a day.
    pub(crate) water: f64,
    pub(crate) nursery: DayWindow,
    pull: Option<DayWindow>,
    prime: Option<Day>,
    cut: Option<DayWindow>,
    regrowth: Option<DayWindow>,
    /// Most harvests of one plant.
    pub(crate) harvests: u32,
}

impl TankNet<'_> {
    /// Most plants that take so much room which stand in the tank at a time.
    pub(crate) fn plants(&self, room: Room) -> u32 {
        match room {
            Room::Single => self.holes,
            Room::Pair => self.pairs,
            Room::Block => self.blocks,
        }
    }
}

impl<'t> Network<'t> {
    pub(crate) fn new(term: &'t Term) -> Self {
        Self::since(term, None)
    }

    /// The choices left on a day of the term; what lies before is past.
    pub(crate) fn since(term: &'t Term, today: Option<NaiveDate>) -> Self {
        let day = |date: NaiveDate| days_between(term.start, date) as Day;
        let horizon = day(term.end) + 1;
        let today = today.map(day);
        let sites: Vec<SiteNet<'t>> =
            term.sites.iter().map(|site| SiteNet::new(term, site, horizon, today)).collect();
        let servings = term
            .servings
            .iter()
            .map(|serving| {
                let own = day(serving.date);
                let sure = if today.is_some_and(|today| own < today) { 0.0 } else { serving.sure };
                ServingNet { day: own, target: serving.grams, sure }
            })
            .collect();
        let standing = term.standing.iter().filter_map(|standing| StandingNet::new(term, standing)).collect();
        let cells: u32 = term.sites.iter().map(|site| site.nursery.cells).sum();
        let few_cells = cells < sites.iter().flat_map(|site| &site.tanks).map(|tank| tank.holes).sum();
        Self { term, today, sites, servings, standing, few_cells }
    }

    /// The date of a day.
    pub(crate) fn date(&self, day: Day) -> NaiveDate {
        let start = self.term.start;
        let moved = if day >= 0 {
            start.checked_add_days(Days::new(day as u64))
        } else {
            start.checked_sub_days(Days::new(u64::from(day.unsigned_abs())))
        };
        moved.unwrap_or(start)
    }

    /// First and last serving (by index) that a harvest on `day` can still be served on, if any.
    pub(crate) fn reach(&self, day: Day, shelf_life: Day) -> Option<(usize, usize)> {
        let first = self.servings.partition_point(|serving| serving.day < day);
        let end = self.servings.partition_point(|serving| serving.day <= day + shelf_life);
        (first < end).then(|| (first, end - 1))
    }
}

impl<'t> StandingNet<'t> {
    /// Standing plants of an unknown site, crop or tank cannot come from the readers.
    fn new(term: &'t Term, standing: &'t Standing) -> Option<Self> {
        let day = |date: NaiveDate| days_between(term.start, date) as Day;
        let site = term.sites.iter().position(|site| site.id == standing.site)?;
        let crop = term.crops.iter().position(|wanted| wanted.crop.id == standing.crop)?;
        let place = match &standing.stage {
            Stage::Nursery => StandingPlace::Nursery,
            Stage::Tank { tank, transplanted, cuts, .. } => StandingPlace::Tank {
                tank: term.sites[site].tanks.iter().position(|other| other.id == *tank)?,
                transplanted: day(*transplanted),
                cuts: cuts.iter().map(|date| day(*date)).collect(),
            },
        };
        Some(Self { standing, site, crop, sown: day(standing.sown), place })
    }
}

impl StandingNet<'_> {
    /// Day of the last cut before the term.
    pub(crate) fn last_cut(&self) -> Option<Day> {
        match &self.place {
            StandingPlace::Nursery => None,
            StandingPlace::Tank { cuts, .. } => cuts.last().copied(),
        }
    }

    /// What stands in such a plant, and since which day it has grown like that: right after it came into its tank or was
    /// last cut. `None` in the nursery.
    pub(crate) fn stand(&self, growing: &Growing<'_>) -> Option<(Day, Stand)> {
        let StandingPlace::Tank { transplanted, cuts, .. } = &self.place else { return None };
        let days = |from: Day, to: Day| (to - from).max(0) as u32;
        let planted = (*transplanted, growing.planted(days(self.sown, *transplanted)));
        let cut = |(since, stand): (Day, Stand), day: &Day| {
            (*day, growing.cut(growing.later(stand, days(since, *day))))
        };
        Some(cuts.iter().fold(planted, cut))
    }

    /// Whether a part of a plan is made of these plants.
    pub(crate) fn consists_of(&self, net: &Network, part: &Part) -> bool {
        match &self.place {
            StandingPlace::Nursery => part.transplant >= net.term.start && part.cuts_before == 0,
            StandingPlace::Tank { tank, transplanted, cuts } => {
                net.sites[self.site].tanks[*tank].tank.id == part.tank
                    && net.date(*transplanted) == part.transplant
                    && cuts.len() == part.cuts_before as usize
            }
        }
    }
}

/// Whether seedlings, or the fullest of tanks, could come to harm in an absence. Most weekends do not matter.
fn matters(term: &Term, site: &Site, absence: &AbsenceNet) -> bool {
    let thirst = term.crops.iter().map(|wanted| wanted.crop.water_a_day.value).fold(0.0, f64::max);
    let dry =
        |tank: &Tank| thirst * f64::from(tank.lid.holes()) * f64::from(absence.alone) > tank.usable_litres;
    absence.alone > site.nursery.unattended_days as Day || site.tanks.iter().any(dry)
}

impl<'t> SiteNet<'t> {
    fn new(term: &'t Term, site: &'t Site, horizon: Day, today: Option<Day>) -> Self {
        let day = |date: NaiveDate| days_between(term.start, date) as Day;
        let class_days: Vec<Day> =
            site.class_days.iter().map(|date| day(*date)).filter(|day| (0..horizon).contains(day)).collect();
        let past_days = today.map_or(0, |today| class_days.partition_point(|day| *day < today));
        // Once people are away nothing can be done about it any more.
        let absences = site
            .absences()
            .iter()
            .map(|absence| AbsenceNet {
                leave: day(absence.leave),
                back: day(absence.back),
                alone: absence.alone as Day,
            })
            .filter(|absence| {
                today.is_none_or(|today| absence.leave >= today) && matters(term, site, absence)
            })
            .collect();
        let tanks: Vec<TankNet<'t>> = site.tanks.iter().map(|tank| TankNet::new(term, tank)).collect();
        let fields = term.crops.iter().map(|wanted| Field::new(wanted, site, &tanks)).collect();
        let mut net = Self { site, class_days, rested: Vec::new(), past_days, absences, tanks, fields };
        net.rested = net.class_days.iter().map(|day| net.rested(&term.rules, *day)).collect();
        net
    }

    /// First class day on which a hole emptied on `day` may be used again.
    pub(crate) fn rested(&self, rules: &Rules, day: Day) -> Index {
        self.class_days.partition_point(|other| *other < day + rules.turnover_days as Day) as Index
    }

    /// Class days in a stretch, both ends included.
    pub(crate) fn class_days_in(&self, first: Day, last: Day) -> &[Day] {
        let from = self.class_days.partition_point(|day| *day < first);
        let to = self.class_days.partition_point(|day| *day <= last);
        &self.class_days[from..to.max(from)]
    }

    /// Class days on which plants that were never cut may be pulled, if the crop may be grown so.
    pub(crate) fn first_pulls(&self, crop: usize, sown: Day, ripe: Ripe) -> &[Day] {
        let field = &self.fields[crop];
        match &field.pull {
            Some(window) if field.wanted.way != WayWish::Cut => self.window(sown, window, ripe),
            _ => &[],
        }
    }

    /// Days beyond its prime on which a plant that was never cut is pulled.
    pub(crate) fn overmature(&self, crop: usize, sown: Day, pulled: Day) -> Day {
        self.fields[crop].prime.map_or(0, |prime| (pulled - sown - prime).max(0))
    }

    /// Class days on which a first cut may be taken, if the crop may be grown so.
    pub(crate) fn first_cuts(&self, crop: usize, sown: Day, ripe: Ripe) -> &[Day] {
        let field = &self.fields[crop];
        match &field.cut {
            Some(window) if field.wanted.way != WayWish::WholeHead && field.harvests > 1 => {
                self.window(sown, window, ripe)
            }
            _ => &[],
        }
    }

    /// Class days on which plants cut on `cut` may be harvested again.
    pub(crate) fn regrowths(&self, crop: usize, cut: Day, ripe: Ripe) -> &[Day] {
        self.fields[crop].regrowth.as_ref().map_or(&[], |window| self.window(cut, window, ripe))
    }

    /// How many of the class days come before plants sown on `sown` are too old to be harvested again after a cut.
    pub(crate) fn young_until(&self, crop: usize, sown: Day) -> usize {
        let last = self.fields[crop].growing.last_age();
        last.map_or(self.class_days.len(), |age| {
            self.class_days.partition_point(|day| *day <= sown + age as Day)
        })
    }

    fn window(&self, from: Day, window: &DayWindow, ripe: Ripe) -> &[Day] {
        let first = ripe.least(*window.start() as Day);
        self.class_days_in(from + first, from + *window.end() as Day)
    }
}

impl<'t> TankNet<'t> {
    fn new(term: &Term, tank: &'t Tank) -> Self {
        let count = |room| tank.lid.spots(room).len() as u32;
        let day = |date: NaiveDate| days_between(term.start, date) as Day;
        Self {
            tank,
            holes: tank.lid.holes(),
            pairs: count(Room::Pair),
            blocks: count(Room::Block),
            out: tank.out.iter().map(|out| (day(out.first), day(out.last))).collect(),
        }
    }

    /// The day on which plants that stand there from one day on are gone for good if they find no way on by
    /// another: the day the tank goes out of use, if that is sooner.
    pub(crate) fn gone_by(&self, from: Day, day: Day) -> Day {
        let outs = self.out.iter().map(|(first, _)| *first);
        outs.filter(|first| *first >= from).fold(day, Day::min)
    }

    /// Whether it is in use all the time from one day until plants leave on another.
    pub(crate) fn in_use(&self, from: Day, leaves: Day) -> bool {
        self.out.iter().all(|(first, last)| from > *last || leaves <= *first)
    }
}

impl<'t> Field<'t> {
    fn new(wanted: &'t WantedCrop, site: &'t Site, tanks: &[TankNet<'_>]) -> Self {
        let crop = &wanted.crop;
        let growing = Growing::new(crop, site);
        let room: Vec<Option<Room>> = site
            .tanks
            .iter()
            .map(|tank| {
                crop.tolerates(tank.ph, tank.ec).then(|| tank.lid.room_for(crop.spacing.value.cm())).flatten()
            })
            .collect();
        let begins = wanted.may_begin_at(&site.id);
        // Seedlings that are here although the crop may not be cannot go anywhere else.
        let allowed = |tank: &Tank| !begins || wanted.may_stand_in(&site.id, &tank.id);
        let fits = |(tank, room): (&TankNet, &Option<Room>)| {
            room.is_some_and(|room| tank.plants(room) > 0) && allowed(tank.tank)
        };
        let open = tanks.iter().zip(&room).map(fits).collect();
        Self {
            wanted,
            growing,
            room,
            open,
            begins,
            keeps: [Way::Cut, Way::WholeHead].map(|way| crop.keeps(way, 1).value as Day),
            tank_days: growing.tank_days() as Day,
            water: crop.water_a_day.value,
            nursery: growing.nursery_window(),
            pull: growing.pull_window(),
            prime: growing.prime().map(|age| age as Day),
            cut: growing.cut_window(),
            regrowth: growing.regrowth_window(),
            harvests: growing.harvests(),
        }
    }

    /// Days after a harvest during which its greens may be served: heads never cut, or else leaves.
    pub(crate) fn keeps(&self, heads: bool) -> Day {
        self.keeps[usize::from(heads)]
    }

    /// Share of the standing leaf a harvest takes.
    pub(crate) fn taken(&self, way: Way) -> f64 {
        self.growing.taken(way)
    }
}
