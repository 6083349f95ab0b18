//! The planning model as a mixed-integer linear program, one file a rule.
//!
//! For each crop at each site a network carries plants from sowing to the last harvest:
//! [`batches`] builds it, the other files limit what flows through it or price what comes out.
//! Equal tanks of a site are taken together as a group, which keeps the program small; the search
//! and the checker look at every single tank.

mod batches;
mod hands;
mod holes;
mod nursery;
mod servings;
mod tally;
mod visits;
mod water;

use super::network::{Day, Network};
use super::program::{Col, Program};
use super::starts::Start;

/// The program, and what some of its columns mean.
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
    pub(super) sown: Day,
    pub(super) day: Day,
    pub(super) pulled: bool,
}

/// Rules that can be lifted to find out which of them a shortfall comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Lifted {
    /// None: the whole model.
    #[default]
    Nothing,
    /// As many holes as one likes.
    Holes,
    /// As many nursery cells as one likes, tended in every absence.
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
}

/// A batch that may be sown.
struct Sowing {
    /// 1 if it is.
    col: Col,
    site: usize,
    crop: usize,
    day: Day,
    /// Plugs sown, or seedlings bought.
    plugs: Col,
    /// Whether seed is laid.
    laid: bool,
}

/// Everything that flows.
#[derive(Default)]
struct Flows {
    sowings: Vec<Sowing>,
    transplants: Vec<Transplant>,
    harvests: Vec<Harvest>,
    first_harvests: Vec<FirstHarvest>,
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

/// Builds the program, leaving out the lifted rule. Tells plants apart exactly if so many columns are enough for that; says
/// whether they were.
pub(super) fn model_within(net: &Network, lifted: Lifted, most: usize) -> (Model, bool) {
    let exact = model(net, lifted, Ages::Exact(most));
    if exact.program.columns.len() <= most {
        (exact, true)
    } else {
        (model(net, lifted, Ages::Rounded), false)
    }
}

/// Builds the program, leaving out the lifted rule.
pub(super) fn model(net: &Network, lifted: Lifted, ages: Ages) -> Model {
    let mut program = Program::default();
    let groups = Groups::new(net);
    let flows = batches::add(&mut program, net, &groups, lifted, ages);
    if lifted != Lifted::Nursery {
        nursery::add(&mut program, net, &flows);
    }
    if lifted != Lifted::Holes {
        holes::add(&mut program, net, &groups, &flows);
    }
    if lifted != Lifted::Water {
        water::add(&mut program, net, &groups, &flows);
    }
    if lifted != Lifted::Hands {
        hands::add(&mut program, net, &flows);
    }
    visits::add(&mut program, net, &flows);
    let short = servings::add(&mut program, net, &groups, &flows, lifted);
    Model { program, short, first_harvests: flows.first_harvests }
}
