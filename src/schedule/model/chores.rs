//! Tasks: each costs a little, so does every further tank it leads to, and so does every plant that is missing to a handful.
//!
//! Only for tanks taken one by one. Plants that were cut before are alike whatever batch they come from, so the tasks of
//! batches that are cut again on one day are taken for one, and what is pulled makes up a handful with what is cut beside it:
//! the program then promises a little more than there is.

use super::super::instance::{Day, Network};
use super::program::{Col, Program};
use super::{Cohort, Flows};
use crate::domain::task_numbers::TaskKind;
use std::collections::BTreeMap;

/// What is done to a crop of a site on a day: to plants of one batch, or to all that were cut before.
type Task = (usize, usize, Day, TaskKind, Option<Cohort>);

/// The plants of a task, by group.
type Stops = BTreeMap<usize, Vec<Col>>;

/// The tasks of each batch of a crop at a site, by kind.
type ByCohort = BTreeMap<(usize, usize, Option<Cohort>, TaskKind), Vec<Col>>;

/// 1 if the task is done, and 1 for each group if it is done there.
struct Done {
    task: Col,
    stops: BTreeMap<usize, Col>,
}

pub(super) fn add(program: &mut Program, net: &Network, groups: &super::Groups, flows: &[Flows]) {
    let tasks = tasks(flows);
    let mut builder = Builder { program, net, groups };
    // First harvests come after those of plants cut before in the order of tasks, but are counted first.
    let of_batches = tasks.iter().filter(|((.., cohort), _)| cohort.is_some());
    let mut done: BTreeMap<(usize, usize, Day), Vec<Done>> = BTreeMap::new();
    let mut by_cohort = ByCohort::new();
    for (number, (task, stops)) in of_batches.enumerate() {
        let &(site, crop, day, kind, cohort) = task;
        let again = tasks.get(&(site, crop, day, kind, None));
        let own = builder.of_batch((site, crop), stops, again, number);
        by_cohort.entry((site, crop, cohort, kind)).or_default().push(own.task);
        if kind == TaskKind::Harvest {
            done.entry((site, crop, day)).or_default().push(own);
        }
    }
    builder.once(flows, &by_cohort);
    let again = tasks.iter().filter(|((.., cohort), _)| cohort.is_none());
    for (number, (&(site, crop, day, ..), stops)) in again.enumerate() {
        let firsts = done.get(&(site, crop, day)).map_or(&[][..], Vec::as_slice);
        builder.again((site, crop), stops, firsts, number);
    }
}

fn tasks(flows: &[Flows]) -> BTreeMap<Task, Stops> {
    let mut tasks: BTreeMap<Task, Stops> = BTreeMap::new();
    let transplants = flows.iter().flat_map(|flows| &flows.transplants);
    for flow in transplants.filter(|flow| flow.by_hand()) {
        let task = (flow.site, flow.crop, flow.day, TaskKind::Transplant, Some((flow.start, flow.standing)));
        tasks.entry(task).or_default().entry(flow.group).or_default().push(flow.col);
    }
    for flow in flows.iter().flat_map(|flows| &flows.harvests) {
        let task = (flow.site, flow.crop, flow.day, TaskKind::Harvest, flow.first_of);
        tasks.entry(task).or_default().entry(flow.group).or_default().push(flow.col);
    }
    tasks
}

struct Builder<'a, 'n, 't> {
    program: &'a mut Program,
    net: &'a Network<'t>,
    groups: &'n super::Groups,
}

impl Builder<'_, '_, '_> {
    /// Counts a task of one batch; `again` is what else is harvested then of plants cut before, which may make up a handful.
    fn of_batch(
        &mut self,
        whose: (usize, usize),
        stops: &Stops,
        again: Option<&Stops>,
        number: usize,
    ) -> Done {
        let mut counted = BTreeMap::new();
        for (&group, plants) in stops {
            let stop = self.stop(whose, group, plants, &format!("b{number}"));
            self.program.columns[stop.0].cost += self.net.term.rules.weights.further_tank;
            let others = again.and_then(|again| again.get(&group)).into_iter().flatten();
            self.handful(
                stop,
                self.fits(whose, group),
                plants.iter().chain(others),
                &format!("b{number}_g{group}"),
            );
            counted.insert(group, stop);
        }
        let all: Vec<(Col, f64)> = counted.values().map(|stop| (*stop, 1.0)).collect();
        let task = self.task(&all, &[], &format!("b{number}"));
        Done { task, stops: counted }
    }

    /// Every batch is moved once and harvested once at least. Whole batches are so anyway, but fractions of plants would come by
    /// with fractions of tasks.
    fn once(&mut self, flows: &[Flows], tasks: &ByCohort) {
        for sowing in flows.iter().flat_map(|flows| &flows.sowings) {
            for (kind, name) in [(TaskKind::Transplant, "moved"), (TaskKind::Harvest, "harvested")] {
                let cohort = Some((Some(sowing.start), None));
                let Some(own) = tasks.get(&(sowing.site, sowing.crop, cohort, kind)) else { continue };
                let terms = own.iter().map(|task| (*task, 1.0)).chain([(sowing.col, -1.0)]).collect();
                self.program.row(format!("{name}_once_{}", sowing.col.0), terms, 0.0, f64::INFINITY);
            }
        }
    }

    /// Counts what is harvested of plants cut before, so far as it is not on the way of a first harvest.
    fn again(&mut self, whose: (usize, usize), stops: &Stops, firsts: &[Done], number: usize) {
        let weights = self.net.term.rules.weights;
        let mut extra = Vec::new();
        for (&group, plants) in stops {
            let stop = self.stop(whose, group, plants, &format!("a{number}"));
            let name = format!("further_a{number}_g{group}");
            let further = self.program.column(name.clone(), 1.0, false, weights.further_tank);
            let mut terms = vec![(further, 1.0), (stop, -1.0)];
            terms.extend(firsts.iter().filter_map(|done| done.stops.get(&group)).map(|stop| (*stop, 1.0)));
            self.program.row(name, terms, 0.0, f64::INFINITY);
            extra.push((stop, 1.0));
        }
        let firsts: Vec<(Col, f64)> = firsts.iter().map(|done| (done.task, 1.0)).collect();
        self.task(&extra, &firsts, &format!("a{number}"));
    }

    /// A column that is 1 if any of the plants are touched in a group.
    fn stop(&mut self, (site, crop): (usize, usize), group: usize, plants: &[Col], label: &str) -> Col {
        let most = self.fits((site, crop), group);
        // Longer than twelve letters: some readers take a shorter line for one in fixed columns.
        let name = format!("stop_there_{label}_g{group}");
        let stop = self.program.column(name.clone(), 1.0, true, 0.0);
        let mut terms: Vec<(Col, f64)> = plants.iter().map(|col| (*col, 1.0)).collect();
        terms.push((stop, -f64::from(most)));
        self.program.row(name, terms, f64::NEG_INFINITY, 0.0);
        stop
    }

    /// Plants that fit a tank.
    fn fits(&self, (site, crop): (usize, usize), group: usize) -> u32 {
        let tank = self.groups.of(site)[group][0];
        let site = &self.net.sites[site];
        site.fields[crop].room[tank].map_or(0, |room| site.tanks[tank].plants(room))
    }

    /// A column that is 1 if any stop is made and no other task leads there anyway: the first stop costs as much as the task,
    /// a further one as much as a further tank.
    fn task(&mut self, stops: &[(Col, f64)], others: &[(Col, f64)], label: &str) -> Col {
        let weights = self.net.term.rules.weights;
        let name = format!("task_{label}");
        let cost = weights.task - weights.further_tank;
        let task = self.program.column(
            name.clone(),
            1.0,
            false,
            if others.is_empty() { cost } else { cost.max(0.0) },
        );
        for (stop, _) in stops {
            let mut terms = vec![(task, 1.0), (*stop, -1.0)];
            terms.extend_from_slice(others);
            self.program.row(format!("{name}_{}", stop.0), terms, 0.0, f64::INFINITY);
        }
        let mut terms = vec![(task, -1.0)];
        terms.extend_from_slice(stops);
        self.program.row(format!("{name}_most"), terms, 0.0, f64::INFINITY);
        task
    }

    /// Prices what is missing to a handful where a stop is made.
    fn handful<'c>(&mut self, stop: Col, fits: u32, plants: impl Iterator<Item = &'c Col>, label: &str) {
        let rules = &self.net.term.rules;
        if rules.weights.scant == 0.0 || rules.handful.min(fits) < 2 {
            return;
        }
        let name = format!("scant_plants_{label}");
        let missing = self.program.column(name.clone(), f64::from(rules.handful), false, rules.weights.scant);
        let mut terms: Vec<(Col, f64)> = plants.map(|col| (*col, 1.0)).collect();
        terms.extend([(missing, 1.0), (stop, -f64::from(rules.handful.min(fits)))]);
        self.program.row(name, terms, 0.0, f64::INFINITY);
    }
}
