//! Sites with their class days, nurseries and tanks.

use super::calendar::{Absence, DateSpan, DaysOff, DaysOffKind, Week, absences};
use super::crop::Limits;
use super::ids::{BatchId, CropId, SiteId, TankId};
use super::lid::Lid;
use super::units::Temperature;
use chrono::{Datelike, NaiveDate, Weekday};
use std::collections::{BTreeMap, BTreeSet};

/// Days of a break from Monday to Friday that part two stretches of class.
const PARTING_DAYS: usize = 3;
/// Weeks with class in a stretch that is worth a part of its own.
const STRETCH_WEEKS: usize = 3;

/// A place with its own class days.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Short name used in files.
    pub id: SiteId,
    /// Name shown to people.
    pub name: String,
    /// Every class day of the term here, sorted, days off already taken out.
    pub class_days: Vec<NaiveDate>,
    /// Breaks and closures that hold here, shared ones included, sorted by first day.
    pub days_off: Vec<DaysOff>,
    /// Weekdays on which somebody looks in: waters seedlings and tops up tanks, class or not, unless they are days off.
    pub looks_in: Vec<Weekday>,
    /// Where seedlings stand.
    pub nursery: Nursery,
    /// Lowest and highest air temperature of the room over a term, if known.
    pub air: Option<Limits<Temperature>>,
    /// Hours a day for which lamps are on, if known.
    pub lamp_hours: Option<f64>,
    /// The tanks, at least one.
    pub tanks: Vec<Tank>,
    /// Minutes of work a class has in a day, if limited.
    pub minutes_a_day: Option<f64>,
    /// Batches a class can sow in a day, if limited.
    pub sowings_a_day: Option<u32>,
    /// Growing days here against the library's: 1.1 takes a tenth longer. 0.5 to 2.
    pub pace: f64,
    /// Harvested mass here against the library's. 0.2 to 2.
    pub yield_factor: f64,
    /// The same for single crops, where they are known to differ from that.
    pub crops: BTreeMap<CropId, CropHere>,
    /// With how much of the mass that all this says crops are counted here because of weighed harvests; 1 for those that are
    /// not listed. Term files say nothing of it: see [`super::weighed`].
    pub mass_factors: BTreeMap<CropId, f64>,
    /// The same for single batches, beside what holds for their crop.
    pub batch_mass_factors: BTreeMap<BatchId, f64>,
}

/// What is known of one crop at a site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CropHere {
    /// Its growing days here against the library's, 0.5 to 2.
    pub pace: f64,
    /// Its harvested mass here against the library's, 0.2 to 2.
    pub yield_factor: f64,
    /// How far the mass that both make may be off, as a standard deviation of its logarithm, if that is known from harvests: above
    /// 0 and below 1.
    pub give_or_take: Option<f64>,
}

/// Cells for seedlings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nursery {
    /// Cells; one plug a cell.
    pub cells: u32,
    /// Width of a cell or cube, cm, 1 to 15; it counts as one as wide as deep.
    pub cell_cm: f64,
    /// Days seedlings may stand without anybody looking after them: this many day-steps from one day on which somebody is
    /// there to the next.
    pub unattended_days: u32,
}

/// A reservoir with a lid.
#[derive(Debug, Clone, PartialEq)]
pub struct Tank {
    /// Short name, unique at its site.
    pub id: TankId,
    /// The holes.
    pub lid: Lid,
    /// Litres plants can draw before roots hang dry.
    pub usable_litres: f64,
    /// Litres in the whole reservoir when full, if known; at least the usable ones.
    pub reservoir_litres: Option<f64>,
    /// Electrical conductivity the solution is kept at, mS/cm.
    pub ec: f64,
    /// pH the solution is kept at.
    pub ph: f64,
    /// Stretches in which nothing can stand in it, such as for a repair. Plants may leave on the first day.
    pub out: Vec<DateSpan>,
}

impl Nursery {
    /// Width of the usual cube for seedlings, cm (common practice, no source).
    pub const USUAL_CELL_CM: f64 = 2.5;
}

impl Tank {
    /// The stretch out of use that gets into the way of plants standing here from one day until they leave on
    /// another.
    pub fn out_during(&self, from: NaiveDate, leaves: NaiveDate) -> Option<DateSpan> {
        self.out.iter().copied().find(|out| from <= out.last && leaves > out.first)
    }

    /// Whether it is out of use on all of some days.
    pub fn is_out_throughout(&self, days: DateSpan) -> bool {
        self.out.iter().any(|out| out.first <= days.first && days.last <= out.last)
    }
}

impl Tank {
    /// Litres to fill it anew: the whole reservoir, or at least what the plants can draw where the whole is not
    /// known.
    pub fn filling_litres(&self) -> f64 {
        self.reservoir_litres.unwrap_or(self.usable_litres)
    }
}

impl Site {
    /// What is known of a crop here, weighed harvests included; of most, no more than of the site.
    pub fn crop_here(&self, crop: &CropId) -> CropHere {
        let stated = self.as_stated(crop);
        let weighed = self.mass_factors.get(crop).copied().unwrap_or(1.0);
        CropHere { yield_factor: stated.yield_factor * weighed, ..stated }
    }

    /// With how much of what its crop gives here a batch is counted because of its own weighed harvests.
    pub fn batch_here(&self, batch: &BatchId) -> f64 {
        self.batch_mass_factors.get(batch).copied().unwrap_or(1.0)
    }

    /// What is known of crops of which nothing is told by itself.
    pub fn usual(&self) -> CropHere {
        CropHere { pace: self.pace, yield_factor: self.yield_factor, give_or_take: None }
    }

    /// What the term file says of a crop here.
    pub fn as_stated(&self, crop: &CropId) -> CropHere {
        self.crops.get(crop).copied().unwrap_or_else(|| self.usual())
    }

    /// Stretches between class days in which nobody looks after the plants for longer than a day.
    pub fn absences(&self) -> Vec<Absence> {
        absences(&self.class_days, |day| self.is_attended(day))
    }

    /// Whether seedlings are left alone for too long between any two class days, so that none can be raised.
    pub fn raises_nothing(&self) -> bool {
        let endured = self.nursery.unattended_days;
        let too_long = self.absences().iter().filter(|absence| absence.alone > endured).count();
        too_long > 0 && too_long + 1 >= self.class_days.len()
    }

    /// Stretches of class from one break of three days or more, Monday to Friday, to the next, so far as they lie on or after
    /// a day, with class in at least three weeks then: from the first class day to the last.
    pub fn stretches(&self, from: NaiveDate) -> Vec<DateSpan> {
        let breaks: Vec<DaysOff> =
            self.days_off.iter().filter(|off| off.kind == DaysOffKind::Break).cloned().collect();
        let parting = |gap: &Absence| gap.weekdays_off(&breaks) >= PARTING_DAYS;
        let backs: BTreeSet<NaiveDate> =
            self.absences().into_iter().filter(parting).map(|gap| gap.back).collect();
        let weeks = |days: &[NaiveDate]| days.iter().map(|day| Week::of(*day)).collect::<BTreeSet<_>>().len();
        let open = self.class_days.partition_point(|day| *day < from);
        self.class_days[open..]
            .chunk_by(|_, next| !backs.contains(next))
            .filter(|days| weeks(days) >= STRETCH_WEEKS)
            .filter_map(|days| Some(DateSpan { first: *days.first()?, last: *days.last()? }))
            .collect()
    }

    /// Whether somebody looks after the plants on a day.
    pub fn is_attended(&self, day: NaiveDate) -> bool {
        let is_off = || self.days_off.iter().any(|off| off.span.contains(day));
        self.meets_on(day) || self.looks_in.contains(&day.weekday()) && !is_off()
    }

    /// Lets class meet on further days, too.
    pub fn meet_also(&mut self, days: impl IntoIterator<Item = NaiveDate>) {
        self.class_days.extend(days);
        self.class_days.sort_unstable();
        self.class_days.dedup();
    }

    /// Weekdays on which class meets more than once in the term, from Monday on: one-off class days are no habit.
    pub fn usual_weekdays(&self) -> Vec<Weekday> {
        let week = std::iter::successors(Some(Weekday::Mon), |day| Some(day.succ())).take(7);
        let often = |weekday: &Weekday| {
            self.class_days.iter().filter(|day| day.weekday() == *weekday).nth(1).is_some()
        };
        week.filter(often).collect()
    }

    /// Whether classes meet here on `day`.
    pub fn meets_on(&self, day: NaiveDate) -> bool {
        self.class_days.binary_search(&day).is_ok()
    }

    /// The tank of that name.
    pub fn tank(&self, id: &TankId) -> Option<&Tank> {
        self.tanks.iter().find(|tank| tank.id == *id)
    }
}
