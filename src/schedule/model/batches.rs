//! The network of plants: sowing, transplanting, first harvest, regrowth, and the smallest batch.
//!
//! For a batch sown on day `a`: plants transplanted = plants first harvested. Whoever is cut on day `h`
//! reappears as input of harvest number 2, and so on until pulled. Which transplanting day goes with
//! which harvest day need not be told apart: it is enough that no more plants are harvested up to a day than
//! were transplanted long enough before it. Plants of different age are told apart where [`Ages`] asks for it: those
//! whose plugs were held until another day, and those of which a cut left more or less.

mod ages;
mod standing;

use super::super::instance::{Day, Network, Ripe, SiteNet, Start};
use super::program::{Col, Program};
use super::{Ages, Cohort, FirstHarvest, Flows, Groups, Harvest, Relaxed, Sowing, Transplant};
use crate::domain::growth::Way;
use crate::domain::lid::Room;
use crate::domain::plan::Origin;
use std::collections::{BTreeMap, BTreeSet};

/// Plants cut on a day that must be harvested again, by harvest number, day, group, age and origin. The age is that of an
/// uncut plant of the same mass, in hundredths of a day here.
type Regrowing = BTreeMap<(u32, Day, usize, i64, Origin), Vec<(Col, f64)>>;

/// Builds the network, site by site; returns what flows at each of them.
pub(super) fn add(
    program: &mut Program,
    net: &Network,
    groups: &Groups,
    relaxed: Relaxed,
    ages: Ages,
) -> Vec<Flows> {
    let mut all: Vec<Flows> = net.sites.iter().map(|_| Flows::default()).collect();
    for ((site_index, site), flows) in net.sites.iter().enumerate().zip(&mut all) {
        for crop in 0..site.fields.len() {
            let mut builder = Builder {
                program,
                net,
                site,
                site_index,
                crop,
                groups: groups.of(site_index),
                flows,
                ages,
                regrowing: Regrowing::new(),
            };
            builder.sowings(relaxed);
            builder.standing();
            builder.regrowth();
            if builder.too_many() {
                return all;
            }
        }
    }
    all
}

/// As few tasks as a batch can have: it is harvested at least once, and moved before unless it is sown where it stands.
pub(super) fn price_tasks(program: &mut Program, net: &Network, flows: &[Flows]) {
    for sowing in flows.iter().flat_map(|flows| &flows.sowings) {
        let tasks = if sowing.start.waits() { 2.0 } else { 1.0 };
        program.columns[sowing.col.0].cost += tasks * net.term.rules.weights.task;
    }
}

struct Builder<'a, 't> {
    program: &'a mut Program,
    net: &'a Network<'t>,
    site: &'a SiteNet<'t>,
    site_index: usize,
    crop: usize,
    groups: &'a [Vec<usize>],
    flows: &'a mut Flows,
    ages: Ages,
    regrowing: Regrowing,
}

impl Builder<'_, '_> {
    fn name(&self, kind: &str, rest: &str) -> String {
        format!("{kind}_{}_{}_{rest}", self.site.site.id, self.site.fields[self.crop].wanted.crop.id)
    }

    /// Groups of tanks plants may be put into, with the holes of all their tanks.
    fn usable_groups(&self) -> Vec<(usize, u32)> {
        let field = &self.site.fields[self.crop];
        (0..self.groups.len())
            .filter_map(|group| {
                let tank = self.groups[group][0];
                let room = field.room[tank].filter(|_| field.open[tank])?;
                Some((group, self.site.tanks[tank].holes / room.holes() * self.groups[group].len() as u32))
            })
            .collect()
    }

    fn sowings(&mut self, relaxed: Relaxed) {
        for start in self.net.starts(self.site_index, self.crop) {
            self.batch(relaxed, &start);
        }
    }

    /// Most plants of a batch.
    fn largest(&self, relaxed: Relaxed, start: &Start, holes: f64) -> f64 {
        let field = &self.site.fields[self.crop];
        let mut largest = f64::INFINITY;
        if relaxed != Relaxed::Nursery && start.waits() {
            let per_plug = start.origin.plants_per_plug(&field.wanted.crop);
            largest = (f64::from(self.site.site.nursery.cells) * per_plug + 1e-9).floor();
        }
        if relaxed != Relaxed::Holes {
            largest = largest.min(holes * f64::from(self.turns(start)));
        }
        let offer = self.net.offer(self.site_index, self.crop, start);
        largest = largest.min(offer.map_or(f64::INFINITY, |arrival| f64::from(arrival.plants)));
        // Lifting both limits at once is never asked for; a bound keeps the program finite anyway.
        largest.min(100_000.0)
    }

    fn batch(&mut self, relaxed: Relaxed, start: &Start) {
        let weights = self.net.term.rules.weights;
        let smallest = f64::from(self.net.term.rules.smallest_batch);
        let groups = self.usable_groups();
        let largest = self.largest(relaxed, start, groups.iter().map(|(_, plants)| f64::from(*plants)).sum());
        if largest < smallest {
            return;
        }
        let per_plug = start.origin.plants_per_plug(&self.site.fields[self.crop].wanted.crop);
        let own = label(start);
        let (sow, plugs) = (self.name("sow", &own), self.name("plugs", &own));
        let batch = self.program.column(sow, 1.0, true, weights.sowing);
        let price = if start.laid() { weights.plug } else { weights.bought };
        // More would be of no use.
        let plugs = self.program.column(plugs, (largest / per_plug).ceil() + 1.0, true, price);
        let mut planted = Vec::new();
        let moves = self.site.moves(self.crop, start);
        for day in &moves {
            for (group, _) in &groups {
                planted.push((self.transplant(*group, Some(*start), *day, None), 1.0));
            }
        }
        for (group, _) in &groups {
            for held in self.held(start.born, &moves) {
                self.first_harvests(*group, start, Source::Transplants, held);
            }
        }
        let [fits, least, seeded] = ["fits", "least", "seeded"].map(|kind| self.name(kind, &own));
        let with = |factor: f64, col: Col, scale: f64| {
            let mut terms: Vec<_> = planted.iter().map(|(c, f)| (*c, f * scale)).collect();
            terms.push((col, factor));
            terms
        };
        self.program.row(fits, with(-largest, batch, 1.0), f64::NEG_INFINITY, 0.0);
        self.program.row(least, with(-smallest, batch, 1.0), 0.0, f64::INFINITY);
        self.program.row(seeded, with(-per_plug, plugs, 1.0), f64::NEG_INFINITY, 0.0);
        let (site, crop) = (self.site_index, self.crop);
        self.flows.sowings.push(Sowing { col: batch, site, crop, start: *start, plugs });
    }

    /// How often one hole can hold plants of a batch: those moved last may follow those that were moved and pulled first.
    fn turns(&self, start: &Start) -> Day {
        let moves = self.site.moves(self.crop, start);
        let (Some(first), Some(last)) = (moves.first(), moves.last()) else { return 1 };
        let stay = self.site.fields[self.crop].tank_days.max(1) + self.net.term.rules.turnover_days as Day;
        1 + (last - first) / stay
    }

    /// A column for plants moved into a group's tanks. Room is paid from here to the release, so this
    /// end takes its day off the bill.
    fn transplant(&mut self, group: usize, start: Option<Start>, day: Day, standing: Option<usize>) -> Col {
        let cost = -f64::from(day) * self.hole_day(group);
        let name = self
            .name("move", &format!("{}_d{day}_g{group}", start.map_or(String::new(), |start| label(&start))));
        let col = self.program.column(name, f64::INFINITY, true, cost);
        self.flows.transplants.push(Transplant {
            col,
            site: self.site_index,
            crop: self.crop,
            group,
            start,
            standing,
            day,
        });
        col
    }

    /// Points for one plant's holes for a day.
    fn hole_day(&self, group: usize) -> f64 {
        let room = self.site.fields[self.crop].room[self.groups[group][0]].map_or(1, Room::holes);
        self.net.term.rules.weights.hole_day * f64::from(room)
    }

    fn harvest(
        &mut self,
        group: usize,
        day: Day,
        grams: f64,
        [pulled, heads]: [bool; 2],
        first_of: Option<Cohort>,
        name: String,
    ) -> Col {
        let released = f64::from(day) + f64::from(self.net.term.rules.turnover_days);
        let cost = if pulled { released * self.hole_day(group) } else { 0.0 };
        let col = self.program.column(name, f64::INFINITY, true, cost);
        let (site, crop) = (self.site_index, self.crop);
        self.flows.harvests.push(Harvest { col, site, crop, group, day, grams, pulled, heads, first_of });
        col
    }

    /// First harvests of the plants sown on `sown` in a group that were held alike, and the row that balances them.
    fn first_harvests(&mut self, group: usize, start: &Start, source: Source, held: Option<Day>) {
        let (sown, origin, own) = (start.born, start.origin, label(start));
        let field = &self.site.fields[self.crop];
        let there = origin.growing(field.growing.crop);
        let days = |from: Day, to: Day| (to - from).max(0) as u32;
        let uncut = |day: Day| match held {
            None => field.growing.never_held(days(sown, day)),
            Some(moved) => field.growing.later(field.growing.planted(days(sown, moved)), days(moved, day)),
        };
        let standing = |day: Day| field.growing.grams(uncut(day));
        let mark = held.map_or_else(|| source.mark(), |moved| format!("{}h{moved}_", source.mark()));
        let cohort = Some((Some(*start), source.standing()));
        let mut terms = Vec::new();
        let mut harvested = Vec::new();
        for &day in self.site.first_pulls(self.crop, sown, Ripe::Usual) {
            let grams = there * field.growing.expected(standing(day), Way::WholeHead);
            let name = self.name("pull", &format!("{mark}{own}_d{day}_g{group}"));
            let col = self.harvest(group, day, grams, [true, true], cohort, name);
            let late = self.site.overmature(self.crop, sown, day);
            self.program.columns[col.0].cost += self.net.term.rules.weights.overmature * f64::from(late);
            terms.push((col, -1.0));
            harvested.push((col, day));
            self.note_first(source, col, start, day, true);
        }
        for &day in self.site.first_cuts(self.crop, sown, Ripe::Usual) {
            if self.site.regrowths(self.crop, day, Ripe::Usual).is_empty() {
                continue;
            }
            let grams = there * field.growing.expected(standing(day), Way::Cut);
            let name = self.name("cut", &format!("{mark}{own}_d{day}_g{group}"));
            let col = self.harvest(group, day, grams, [false, false], cohort, name);
            terms.push((col, -1.0));
            harvested.push((col, day));
            self.note_first(source, col, start, day, false);
            let age = self.age_here(field.growing.cut(uncut(day)));
            self.regrowing.entry((2, day, group, age, pool(origin))).or_default().push((col, 1.0));
        }
        let moved = self.moved_into(group, start, source.standing(), held);
        self.harvest_after_moving(&format!("{mark}{own}"), group, &moved, &harvested);
        let inflow = match source {
            Source::Transplants => {
                terms.extend(moved.iter().map(|(col, _)| (*col, 1.0)));
                0.0
            }
            Source::Standing { plants, .. } => -plants,
        };
        let name = self.name("grow", &format!("{mark}{own}_g{group}"));
        self.program.row(name, terms, inflow, inflow);
    }

    /// Columns and days of the batch's plants that were held alike and moved into a group; the batch's flows are the latest
    /// ones.
    fn moved_into(
        &self,
        group: usize,
        start: &Start,
        standing: Option<usize>,
        held: Option<Day>,
    ) -> Vec<(Col, Day)> {
        let own = |flow: &&Transplant| {
            (flow.crop, flow.start, flow.standing) == (self.crop, Some(*start), standing)
        };
        let flows = self.flows.transplants.iter().rev().take_while(own);
        flows
            .filter(|flow| flow.group == group && self.held_until(start.born, flow.day) == held)
            .map(|flow| (flow.col, flow.day))
            .collect()
    }

    /// Where a nursery window reaches near a harvest window: no more plants are harvested up to a day than were moved
    /// long enough before it.
    fn harvest_after_moving(
        &mut self,
        mark: &str,
        group: usize,
        moved: &[(Col, Day)],
        harvested: &[(Col, Day)],
    ) {
        let stay = self.site.fields[self.crop].tank_days.max(1);
        let latest = moved.iter().map(|(_, day)| *day + stay).max().unwrap_or(Day::MIN);
        let days: BTreeSet<Day> = harvested.iter().map(|(_, day)| *day).filter(|day| *day < latest).collect();
        for day in days {
            let out = harvested.iter().filter(|(_, harvest)| *harvest <= day).map(|(col, _)| (*col, 1.0));
            let before = moved.iter().filter(|(_, moved)| *moved + stay <= day).map(|(col, _)| (*col, -1.0));
            let name = self.name("after", &format!("{mark}_d{day}_g{group}"));
            self.program.row(name, out.chain(before).collect(), f64::NEG_INFINITY, 0.0);
        }
    }

    fn note_first(&mut self, source: Source, col: Col, start: &Start, day: Day, pulled: bool) {
        if matches!(source, Source::Transplants) {
            let (site, crop, start) = (self.site_index, self.crop, *start);
            self.flows.first_harvests.push(FirstHarvest { col, site, crop, start, day, pulled });
        }
    }

    /// Second and later harvests, in order of day so that each feeds the next.
    fn regrowth(&mut self) {
        while let Some(((number, day, group, age, origin), mut terms)) = self.regrowing.pop_first() {
            if self.too_many() {
                return;
            }
            let field = &self.site.fields[self.crop];
            let growing = &field.growing;
            let there = origin.growing(growing.crop);
            let own = if origin == Origin::InCups { "c" } else { "" };
            let cut = growing.cut_back_to(age as f64 / 100.0 / growing.pace, number - 1);
            for &next in self.site.regrowths(self.crop, day, Ripe::Usual) {
                let label = format!("n{number}_{own}d{day}a{age}_d{next}_g{group}");
                let stand = growing.later(cut, (next - day).max(0) as u32);
                let grams = there * growing.expected(growing.grams(stand), Way::WholeHead);
                let name = self.name("pull", &label);
                let pull = self.harvest(group, next, grams, [true, false], None, name);
                terms.push((pull, -1.0));
                if number < field.harvests && !self.site.regrowths(self.crop, next, Ripe::Usual).is_empty() {
                    let grams = there * growing.expected(growing.grams(stand), Way::Cut);
                    let name = self.name("cut", &label);
                    let col = self.harvest(group, next, grams, [false, false], None, name);
                    terms.push((col, -1.0));
                    let age = self.age_here(growing.cut(stand));
                    self.regrowing
                        .entry((number + 1, next, group, age, origin))
                        .or_default()
                        .push((col, 1.0));
                }
            }
            let name = self.name("regrow", &format!("n{number}_{own}d{day}a{age}_g{group}"));
            self.program.row(name, terms, 0.0, 0.0);
        }
    }
}

/// What has been cut is alike, however it began; only of cups not all have a plant.
fn pool(origin: Origin) -> Origin {
    if origin == Origin::InCups { origin } else { Origin::Standing }
}

/// Tells a batch's columns and rows from those of others of the crop at the site.
fn label(start: &Start) -> String {
    let day = start.begins;
    match start.origin {
        Origin::Sown | Origin::Standing => format!("d{day}"),
        Origin::InCups => format!("c{day}"),
        Origin::Bought { days } => format!("b{days}d{day}"),
    }
}

/// Where a batch's plants come from.
#[derive(Clone, Copy)]
enum Source {
    Transplants,
    Standing { number: usize, plants: f64 },
}

impl Source {
    fn standing(self) -> Option<usize> {
        match self {
            Self::Transplants => None,
            Self::Standing { number, .. } => Some(number),
        }
    }

    fn mark(self) -> String {
        match self {
            Self::Transplants => String::new(),
            Self::Standing { number, .. } => format!("s{number}_"),
        }
    }
}
