//! The instance: every batch that could be sown, and tables of what its plants yield. It does not change while planning.
//!
//! Inside the search a day is the index of a class day at its site, because nothing else happens on
//! other days; every window is then a range of such indices.

mod candidate;
mod cleaning;
mod hint;
mod network;
mod path;
mod put_off;
mod rhythm;
mod ripe;
mod starts;
mod turns;

use crate::domain::growth::Way;
use crate::domain::lid::Room;
use crate::domain::luck::{Pacing, Spread};
use crate::domain::plan::{Origin, Plan};
use crate::domain::term::WayWish;
pub(crate) use candidate::Candidate;
use candidate::indices;
pub(crate) use cleaning::Stretches;
pub(crate) use hint::{Hint, Hints};
pub(crate) use network::{Day, Network, ServingNet, SiteNet, StandingPlace, TankNet};
pub(crate) use path::{Index, Loss, Lot, MOST_HARVESTS, Path};
pub(crate) use rhythm::{Rhythms, Slot};
pub(crate) use ripe::Ripe;
pub(crate) use starts::{Grown, Start};
use std::collections::BTreeMap;
use std::ops::Range;
pub(crate) use turns::turns;

/// A crop at a site, as tables.
pub(crate) struct Yields {
    /// By [`Ripe`]: days on which plants cut on a class day may be harvested again.
    regrowths: [Vec<Range<Index>>; 2],
    /// Room in holes by tank; 0 where the crop cannot stand.
    pub(crate) room: Vec<u32>,
    /// Tanks its plants may be put into, sorted.
    pub(crate) tanks: Vec<u16>,
    /// Plants of a handful by tank, where a tank has no room for more of them.
    pub(crate) handfuls: Vec<i32>,
    /// Litres a plant draws over each absence.
    pub(crate) litres: Vec<f64>,
    /// First and last serving of cut leaves, and of whole heads, by class day.
    reach: [Vec<Option<(usize, usize)>>; 2],
    pub(crate) harvests: u32,
    wish: WayWish,
}

/// Everything that stays the same during the search.
pub(crate) struct Instance<'n> {
    pub(crate) net: &'n Network<'n>,
    pub(crate) candidates: Vec<Candidate>,
    /// By site, then crop.
    pub(crate) yields: Vec<Vec<Yields>>,
    /// By site, crop and class day: candidates whose first harvest could fall on that day.
    ripe: Vec<Vec<Vec<Vec<u32>>>>,
    /// Candidates that may still begin, by site, crop and start.
    begun: BTreeMap<(usize, usize, Start), u32>,
    /// By site and tank.
    pub(crate) cleaning: Vec<Vec<Stretches>>,
    /// By site, where every one is to have something to do.
    pub(crate) turns: Vec<Stretches>,
    /// The rhythm of sowings, if there is to be one.
    pub(crate) rhythm: Option<Rhythms>,
    /// See [`crate::domain::term::Term::sure`].
    pub(crate) sure: f64,
    /// By crop: plugs to sow for so many plants, up to twice as many as any site has holes (the search tries more than there is
    /// room for), and those of them from which as many plants
    /// are to be expected; the others are spare.
    plugs: Vec<Vec<(u32, u32)>>,
    /// By crop, how far harvests spread.
    spreads: Vec<Spread>,
}

impl<'n> Instance<'n> {
    pub(crate) fn new(net: &'n Network<'n>) -> Self {
        Self::with(net, &[], None)
    }

    /// With batches of a plan under way that were sown before today, each once.
    pub(crate) fn with(net: &'n Network<'n>, grown: &[Grown], under_way: Option<&Plan>) -> Self {
        let yields: Vec<Vec<Yields>> = net
            .sites
            .iter()
            .map(|site| (0..site.fields.len()).map(|crop| Yields::new(net, site, crop)).collect())
            .collect();
        let mut candidates = Vec::new();
        for (site_index, site) in net.sites.iter().enumerate() {
            for crop in 0..site.fields.len() {
                for start in net.starts(site_index, crop) {
                    let own = Grown { site: site_index, crop, start };
                    if net.today.is_none_or(|today| start.begins >= today)
                        && !grown.contains(&own)
                        && !net.came_early(grown, &own)
                    {
                        let offer = net.offer(site_index, crop, &start);
                        let offered = offer.map(|arrival| arrival.plants as i32);
                        candidates
                            .push(Candidate { offered, ..Candidate::begun(site, site_index, crop, start) });
                    }
                }
            }
        }
        for grown in grown {
            let site = &net.sites[grown.site];
            let mut candidate =
                Candidate::begun(site, grown.site, grown.crop, grown.start).given(site, Ripe::Young);
            if let Some(batch) = under_way.and_then(|plan| grown.batch(net, plan)) {
                candidate.laid = Some(batch.plugs);
                candidate.mass_factor = site.site.batch_here(&batch.id);
            }
            candidates.push(candidate);
        }
        for number in 0..net.standing.len() {
            candidates.push(Candidate::standing(net, number));
        }
        put_off::hold_back(net, under_way, &mut candidates);
        let empty = |site: &SiteNet| vec![vec![Vec::new(); site.class_days.len()]; site.fields.len()];
        let mut ripe: Vec<Vec<Vec<Vec<u32>>>> = net.sites.iter().map(empty).collect();
        let mut begun = BTreeMap::new();
        for (number, candidate) in candidates.iter().enumerate() {
            if candidate.given {
                continue;
            }
            let (site, crop) = (candidate.site, candidate.crop);
            begun.insert((site, crop, candidate.start), number as u32);
            for day in
                candidate.pulls.start.min(candidate.cuts.start)..candidate.pulls.end.max(candidate.cuts.end)
            {
                if candidate.pulls.contains(&day) || candidate.cuts.contains(&day) {
                    ripe[site][crop][usize::from(day)].push(number as u32);
                }
            }
        }
        let cleaning = cleaning::stretches(net, under_way);
        let turns = turns(net);
        let spreads = net.term.crops.iter().map(|wanted| Spread::of(&wanted.crop, Origin::Sown)).collect();
        let mut instance = Self {
            net,
            candidates,
            yields,
            ripe,
            begun,
            cleaning,
            turns,
            rhythm: None,
            sure: net.term.sure(),
            plugs: plugs(net),
            spreads,
        };
        instance.rhythm = Rhythms::new(&instance);
        instance
    }

    pub(crate) fn yields(&self, candidate: &Candidate) -> &Yields {
        &self.yields[candidate.site][candidate.crop]
    }

    /// Plugs for so many plants; a seedling that stands or is bought has its plug already, and a cup is counted as one.
    pub(crate) fn plugs(&self, candidate: &Candidate, plants: i32) -> u32 {
        let plants = plants.max(0) as u32;
        if candidate.start.origin != Origin::Sown {
            return plants;
        }
        candidate.laid.unwrap_or_else(|| self.plugs_of(candidate, plants).0)
    }

    /// Cells of the nursery for those plants of a batch that still wait there: spare plugs do so until the last one is moved.
    pub(crate) fn cells(&self, candidate: &Candidate, waiting: i32, plants: i32) -> u32 {
        let (waiting, plants) = (waiting.max(0) as u32, plants.max(0) as u32);
        if candidate.start.origin != Origin::Sown || waiting == 0 {
            return waiting;
        }
        let (all, expected) = self.plugs_of(candidate, plants);
        self.plugs_of(candidate, waiting).1 + candidate.laid.unwrap_or(all).saturating_sub(expected)
    }

    fn plugs_of(&self, candidate: &Candidate, plants: u32) -> (u32, u32) {
        let known = self.plugs[candidate.crop].get(plants as usize).copied();
        let crop = &self.net.term.crops[candidate.crop].crop;
        known.unwrap_or_else(|| (crop.plugs_for(plants, self.sure), crop.plugs_for(plants, 0.0)))
    }

    /// Points for a plug, a cup or a bought seedling.
    pub(crate) fn plug_price(&self, candidate: &Candidate) -> f64 {
        let weights = &self.net.term.rules.weights;
        if candidate.start.laid() { weights.plug } else { weights.bought }
    }

    pub(crate) fn ripe_on(&self, site: usize, crop: usize, day: Index) -> &[u32] {
        &self.ripe[site][crop][usize::from(day)]
    }

    /// The candidate that begins so, if it may.
    pub(crate) fn begun(&self, site: usize, crop: usize, start: Start) -> Option<u32> {
        self.begun.get(&(site, crop, start)).copied()
    }

    /// Whether the path keeps every window of the candidate. What is past needs no window.
    pub(crate) fn allows(&self, candidate: &Candidate, path: &Path) -> bool {
        let yields = self.yields(candidate);
        let harvests = path.harvests();
        let past = |day: Index| usize::from(day) < self.net.sites[candidate.site].past_days;
        let Some(&first) = harvests.first().filter(|_| path.lost.is_none()) else {
            return false;
        };
        let placed = match candidate.fixed_tank {
            Some(tank) => tank == path.tank && path.moved == 0,
            None => self.placed(candidate, path, past(path.moved)) && path.moved < first,
        };
        let first_ok = if candidate.cuts_before > 0 || harvests.len() > 1 {
            candidate.cuts.contains(&first)
        } else {
            candidate.pulls.contains(&first)
        };
        placed
            && (past(first) || first_ok && self.stood_long_enough(candidate, path.moved, first))
            && candidate.cuts_before as usize + harvests.len() <= yields.harvests as usize
            && harvests.windows(2).all(|pair| match (past(pair[0]), past(pair[1])) {
                (true, true) => pair[0] < pair[1],
                _ => self.regrowths(candidate, pair[0]).contains(&pair[1]),
            })
            && self.in_use(candidate, path)
    }

    /// Whether plants may come into the path's tank on its day. What stands already may do so where no more may be put.
    fn placed(&self, candidate: &Candidate, path: &Path, past: bool) -> bool {
        let yields = self.yields(candidate);
        let may_go = || yields.tanks.binary_search(&path.tank).is_ok();
        past && yields.room[usize::from(path.tank)] > 0
            || may_go() && candidate.transplants.contains(&path.moved)
    }

    /// Whether plants moved on one day may be harvested on the other.
    fn stood_long_enough(&self, candidate: &Candidate, moved: Index, first: Index) -> bool {
        let site = &self.net.sites[candidate.site];
        let days = || site.class_days[usize::from(first)] - site.class_days[usize::from(moved)];
        candidate.in_tank() || days() >= candidate.ripe.least(site.fields[candidate.crop].tank_days)
    }

    /// Whether the path's tank is in use while its plants stand there.
    fn in_use(&self, candidate: &Candidate, path: &Path) -> bool {
        let site = &self.net.sites[candidate.site];
        let from = if candidate.in_tank() { Day::MIN } else { site.class_days[usize::from(path.moved)] };
        site.tanks[usize::from(path.tank)].in_use(from, self.leaves(candidate, path))
    }

    /// Day on which plants leave their tank.
    pub(crate) fn leaves(&self, candidate: &Candidate, path: &Path) -> Day {
        let pulled = || self.net.sites[candidate.site].class_days[usize::from(path.last())];
        path.lost.map_or_else(pulled, |loss| loss.day)
    }

    /// Whether plants on one path can still take the other: nothing in it that is past differs.
    pub(crate) fn keeps_past(&self, candidate: &Candidate, old: &Path, new: &Path) -> bool {
        let open = self.net.sites[candidate.site].past_days as Index;
        let stands = candidate.in_tank() || old.moved < open || new.moved < open;
        old.lost.is_none()
            && new.lost.is_none()
            && (!stands || (old.tank, old.moved) == (new.tank, new.moved))
            && old.harvests_before(open) == new.harvests_before(open)
            && (old.last() < open) == (new.last() < open)
    }

    /// Each harvest of the path: its day, its way, and grams of one plant standing then.
    pub(crate) fn harvests<'a>(
        &'a self,
        candidate: &Candidate,
        path: &'a Path,
    ) -> impl Iterator<Item = (Index, Way, f64)> + 'a {
        let site = &self.net.sites[candidate.site];
        let (days, growing) = (&site.class_days, &site.fields[candidate.crop].growing);
        let sown = candidate.sown;
        // Plants that never came into a tank have no harvests.
        let planted = move || {
            let moved = days.get(usize::from(path.moved)).copied().unwrap_or(sown);
            (moved, growing.planted((moved - sown).max(0) as u32))
        };
        let (mut since, mut stand) = candidate.stand.unwrap_or_else(planted);
        let last = path.harvests().len().checked_sub(1).filter(|_| path.lost.is_none());
        path.harvests().iter().enumerate().map(move |(position, index)| {
            let day = days[usize::from(*index)];
            stand = growing.later(stand, (day - since).max(0) as u32);
            since = day;
            let grams = growing.grams(stand);
            let way = if Some(position) == last { Way::WholeHead } else { Way::Cut };
            if way == Way::Cut {
                stand = growing.cut(stand);
            }
            (*index, way, grams)
        })
    }

    /// Expected grams of one plant at each harvest of the path.
    pub(crate) fn grams<'a>(
        &'a self,
        candidate: &Candidate,
        path: &'a Path,
    ) -> impl Iterator<Item = (Index, f64)> + 'a {
        let growing = &self.net.sites[candidate.site].fields[candidate.crop].growing;
        let there = self.there(candidate);
        let harvests = self.harvests(candidate, path);
        harvests.map(move |(day, way, standing)| (day, there * growing.expected(standing, way)))
    }

    /// Ready-to-eat grams to expect from one plant, given what stands in one and the way it is harvested.
    pub(crate) fn expected(&self, candidate: &Candidate, standing: f64, way: Way) -> f64 {
        let growing = &self.net.sites[candidate.site].fields[candidate.crop].growing;
        self.there(candidate) * growing.expected(standing, way)
    }

    /// Share of a plant that is counted for each: of cups, those in which something grows; of a batch that was weighed, as much
    /// as that said.
    fn there(&self, candidate: &Candidate) -> f64 {
        let crop = &self.net.term.crops[candidate.crop].crop;
        candidate.start.origin.growing(crop) * candidate.mass_factor
    }

    /// Mean of what comes of a gram of the batch, and the standard deviation that all its plants share, at the harvest at `position`, when so many grams stand
    /// in a plant.
    pub(crate) fn comes(
        &self,
        candidate: &Candidate,
        path: &Path,
        (position, standing): (usize, f64),
    ) -> (f64, f64) {
        let growing = &self.net.sites[candidate.site].fields[candidate.crop].growing;
        let days = self.grown_days(candidate, path, position).max(0) as u32;
        let is_first = candidate.cuts_before == 0 && position == 0;
        self.spreads[candidate.crop].batch(&Pacing::new(growing, (days, is_first), standing))
    }

    /// Days on which plants cut on `day` may be harvested again.
    pub(crate) fn regrowths(&self, candidate: &Candidate, day: Index) -> Range<Index> {
        let days = &self.yields(candidate).regrowths[candidate.ripe as usize][usize::from(day)];
        let end = days.end.min(candidate.again.end);
        days.start.max(candidate.again.start).min(end)..end
    }

    /// Days since sowing, or since the cut before, at the harvest at `position`.
    pub(crate) fn grown_days(&self, candidate: &Candidate, path: &Path, position: usize) -> Day {
        let days = &self.net.sites[candidate.site].class_days;
        let day = days[usize::from(path.harvests()[position])];
        match position.checked_sub(1) {
            Some(before) => day - days[usize::from(path.harvests()[before])],
            None => day - candidate.last_cut.unwrap_or(candidate.sown),
        }
    }
}

/// By crop, plugs for so many plants.
fn plugs(net: &Network) -> Vec<Vec<(u32, u32)>> {
    let holes = net.sites.iter().map(|site| site.tanks.iter().map(|tank| tank.holes).sum::<u32>());
    let most = 2 * holes.max().unwrap_or(0);
    let sure = net.term.sure();
    net.term.crops.iter().map(|wanted| wanted.crop.plugs_up_to(most, sure)).collect()
}

impl Yields {
    fn new(net: &Network, site: &SiteNet, crop: usize) -> Self {
        let field = &site.fields[crop];
        let handful = |(tank, room): (&TankNet, &Option<Room>)| {
            room.map_or(0, |room| net.term.rules.handful.min(tank.plants(room)) as i32)
        };
        let handfuls = site.tanks.iter().zip(&field.room).map(handful).collect();
        let room: Vec<u32> = field.room.iter().map(|room| room.map_or(0, Room::holes)).collect();
        Self {
            regrowths: [Ripe::Usual, Ripe::Young].map(|ripe| {
                site.class_days.iter().map(|day| indices(site, site.regrowths(crop, *day, ripe))).collect()
            }),
            tanks: (0..room.len() as u16).filter(|tank| field.open[usize::from(*tank)]).collect(),
            room,
            handfuls,
            litres: site.absences.iter().map(|gap| field.water * f64::from(gap.alone)).collect(),
            reach: [false, true].map(|heads| {
                let keeps = field.keeps(heads);
                site.class_days.iter().map(|day| net.reach(*day, keeps)).collect()
            }),
            harvests: field.harvests,
            wish: field.wanted.way,
        }
    }

    /// First and last serving of greens harvested on a class day, if they keep for any: heads never cut, or else leaves.
    pub(crate) fn reach(&self, day: Index, heads: bool) -> Option<(usize, usize)> {
        self.reach[usize::from(heads)][usize::from(day)]
    }

    /// Whether the user wants at least one cut.
    pub(crate) fn must_cut(&self) -> bool {
        self.wish == WayWish::Cut
    }
}
