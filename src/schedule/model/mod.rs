//! The planning model as a mixed-integer linear program, one file a rule.
//!
//! For each crop at each site a network carries plants from sowing to the last harvest:
//! [`batches`] builds it, the other files limit what flows through it or price what comes out.
//! Equal tanks of a site are taken together as a group where the program would be too large else; the search
//! and the checker look at every single tank.

mod batches;
mod chores;
mod hands;
mod holes;
mod nursery;
mod program;
mod rhythm;
mod servings;
mod tally;
mod turns;
mod visits;
mod water;

use super::instance::{Day, Network, SiteNet, Start};
pub(crate) use program::{Col, Program, Row};
use std::collections::BTreeMap;

/// The program, and what some of its columns mean.
#[derive(Clone)]
pub(super) struct Model {
    pub(super) program: Program,
    /// Grams short on each serving day: columns whose sum it is.
    pub(super) short: Vec<Vec<Col>>,
    /// First harvests of batches that may be sown.
    pub(super) first_harvests: Vec<FirstHarvest>,
}

/// Plants of a batch harvested for the first time on a day.
#[derive(Debug, Clone, Copy)]
pub(super) struct FirstHarvest {
    pub(super) col: Col,
    pub(super) site: usize,
    pub(super) crop: usize,
    pub(super) start: Start,
    pub(super) day: Day,
    pub(super) pulled: bool,
}

/// Rules that can be relaxed to find out which of them a shortfall comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Relaxed {
    /// None: the whole model.
    #[default]
    Nothing,
    /// As many holes as one likes.
    Holes,
    /// As many nursery cells as one likes.
    Nursery,
    /// Unlimited minutes and sowings.
    Hands,
    /// No share limits for crops, no kinds asked for.
    Crops,
    /// Crops may stand at every site and in every tank.
    OnlyIn,
    /// One tank may carry everything.
    OneTank,
    /// Reservoirs never run dry.
    Water,
    /// Seedlings may be left alone for as long as one likes.
    Endurance,
    /// Class meets on its weekdays in breaks and closures, too.
    DaysOff,
}

/// How finely plants of different age are told apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ages {
    /// By whole days, rounded in the plants' favour, and as if no plug had been held too long. The program is small, and
    /// promises a little more than there is.
    Rounded,
    /// To a hundredth of a day, with so many columns at most for plants.
    Exact(usize),
}

/// Plants that move into a tank, or stood there.
struct Transplant {
    col: Col,
    site: usize,
    crop: usize,
    group: usize,
    /// How they began; `None` for plants that stood in the tank before the term.
    start: Option<Start>,
    /// Number in [`Network::standing`], for plants that stand at the start.
    standing: Option<usize>,
    day: Day,
}

/// Plants harvested, pulled or cut.
struct Harvest {
    col: Col,
    site: usize,
    crop: usize,
    group: usize,
    day: Day,
    /// Ready-to-eat grams of one plant.
    grams: f64,
    /// Whether the plant is pulled.
    pulled: bool,
    /// Whether it is pulled as a head that was never cut.
    heads: bool,
    /// Whose first harvest it is.
    first_of: Option<Cohort>,
}

/// Which batch plants belong to: how it began, and its number in [`Network::standing`] if it stands at the start.
type Cohort = (Option<Start>, Option<usize>);

/// A batch that may be sown.
struct Sowing {
    /// 1 if it is.
    col: Col,
    site: usize,
    crop: usize,
    start: Start,
    /// Plugs sown, or seedlings bought.
    plugs: Col,
}

/// Everything that flows at a site.
#[derive(Default)]
struct Flows {
    sowings: Vec<Sowing>,
    transplants: Vec<Transplant>,
    harvests: Vec<Harvest>,
    first_harvests: Vec<FirstHarvest>,
}

/// What hands do at a site on a day.
#[derive(Default)]
struct Doings<'f> {
    begun: Vec<&'f Sowing>,
    moved: Vec<&'f Transplant>,
    harvested: Vec<&'f Harvest>,
}

impl Flows {
    /// What hands do, by day.
    fn by_day(&self) -> BTreeMap<Day, Doings<'_>> {
        let mut days: BTreeMap<Day, Doings<'_>> = BTreeMap::new();
        for sowing in &self.sowings {
            days.entry(sowing.start.begins).or_default().begun.push(sowing);
        }
        for flow in self.transplants.iter().filter(|flow| flow.by_hand()) {
            days.entry(flow.day).or_default().moved.push(flow);
        }
        for flow in &self.harvests {
            days.entry(flow.day).or_default().harvested.push(flow);
        }
        days
    }
}

impl Transplant {
    /// Whether hands move its plants from the nursery into the tank.
    fn by_hand(&self) -> bool {
        self.start.is_some_and(|start| start.waits())
    }
}

/// Equal tanks of a site, by index.
pub(super) struct Groups {
    by_site: Vec<Vec<Vec<usize>>>,
}

impl Groups {
    /// Every tank for itself.
    fn each(net: &Network) -> Self {
        let alone = |site: &SiteNet| (0..site.tanks.len()).map(|tank| vec![tank]).collect();
        Self { by_site: net.sites.iter().map(alone).collect() }
    }

    /// Equal tanks together.
    fn new(net: &Network) -> Self {
        let by_site = net
            .sites
            .iter()
            .map(|site| {
                let mut groups: Vec<Vec<usize>> = Vec::new();
                for (index, tank) in site.tanks.iter().enumerate() {
                    let alike = |first: usize| {
                        let (one, other) = (site.tanks[first].tank, tank.tank);
                        site.fields.iter().all(|field| field.open[first] == field.open[index])
                            && one.lid == other.lid
                            && (one.ec, one.ph, one.usable_litres)
                                == (other.ec, other.ph, other.usable_litres)
                    };
                    match groups.iter_mut().find(|group| alike(group[0])) {
                        Some(group) => group.push(index),
                        None => groups.push(vec![index]),
                    }
                }
                groups
            })
            .collect();
        Self { by_site }
    }

    fn of(&self, site: usize) -> &[Vec<usize>] {
        &self.by_site[site]
    }
}

/// How finely a program tells things apart. What is not told apart makes it promise a little more than there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    /// Plants by their exact age, every tank and every task.
    All,
    /// Plants by their exact age; equal tanks together, and as few tasks as a batch can have.
    Ages,
    /// The same with ages rounded to days.
    Days,
}

/// Builds the program, leaving out the relaxed rule, in as much detail as so many columns are enough for.
pub(super) fn model_within(net: &Network, relaxed: Relaxed, most: usize) -> (Model, Detail) {
    for detail in [Detail::All, Detail::Ages] {
        let model = model(net, relaxed, detail, most);
        if model.program.columns.len() <= most {
            return (model, detail);
        }
    }
    (model(net, relaxed, Detail::Days, most), Detail::Days)
}

/// Builds the program, leaving out the relaxed rule. May end early with more than `most` columns where ages are exact.
pub(super) fn model(net: &Network, relaxed: Relaxed, detail: Detail, most: usize) -> Model {
    let mut program = Program::default();
    let groups = if detail == Detail::All { Groups::each(net) } else { Groups::new(net) };
    let ages = if detail == Detail::Days { Ages::Rounded } else { Ages::Exact(most) };
    let flows = batches::add(&mut program, net, &groups, relaxed, ages);
    if detail == Detail::All {
        chores::add(&mut program, net, &groups, &flows);
    } else {
        batches::price_tasks(&mut program, net, &flows);
    }
    if relaxed != Relaxed::Nursery {
        nursery::add(&mut program, net, &flows);
    }
    if relaxed != Relaxed::Holes {
        holes::add(&mut program, net, &groups, &flows);
    }
    if relaxed != Relaxed::Water {
        water::add(&mut program, net, &groups, &flows);
    }
    if relaxed != Relaxed::Hands {
        hands::add(&mut program, net, &flows);
    }
    if relaxed != Relaxed::Holes {
        visits::add(&mut program, net, &flows);
    }
    turns::add(&mut program, net, &flows);
    // Where ages are rounded up, plants that stand already weigh more than they will, which must not cost anything.
    let surplus = if detail == Detail::Days { 0.0 } else { net.term.rules.weights.surplus };
    let short = servings::add(&mut program, net, &groups, &flows, relaxed, surplus);
    Model {
        program,
        short,
        first_harvests: flows.into_iter().flat_map(|flows| flows.first_harvests).collect(),
    }
}
