//! Numbered holes for every plant, for its whole stay.
//!
//! Stays are intervals, so that giving holes out in order of arrival never fails where all plants need the
//! same room; they then get whole rows where they can, which a class finds without counting. Where plants of different room
//! share a lid, a hole is chosen that spoils as few free pairs and blocks as it can; several orders are tried. Plants of two
//! crops also keep their distance from each other.

use crate::domain::lid::{Lid, Room, Spot};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::Range;

/// Plants of one part that need holes in one tank.
#[derive(Debug, Clone)]
pub(super) struct Stay {
    pub(super) plants: u32,
    pub(super) room: Room,
    /// Distance that plants of the crop keep from each other, in centimetres.
    pub(super) spacing_cm: f64,
    /// Slots of time in which the holes are taken: 0 before the first class day, then one a class day.
    pub(super) days: Range<usize>,
    /// Holes the plants already stand in.
    pub(super) holes: Vec<u32>,
    /// First slot that is not past: what stood in a hole before does not matter any more.
    pub(super) open: usize,
    /// Holes they should get if these are free.
    pub(super) wished: Vec<u32>,
    /// Whether nothing else changes for the plants, so that their wishes come before others.
    pub(super) as_planned: bool,
    /// Whether the plants must not be turned away.
    pub(super) must: bool,
}

/// Places given to each stay, and how many of its plants found none.
#[derive(Debug, Clone, Default)]
pub(super) struct Placed {
    pub(super) places: Vec<Vec<Spot>>,
    pub(super) missing: Vec<u32>,
}

/// Gives every stay its places in a tank.
pub(super) fn place(lid: &Lid, days: usize, stays: &[Stay]) -> Placed {
    let key_arrival =
        |stay: &Stay| (!stay.must, stay.days.start, std::cmp::Reverse(stay.room), stay.days.end);
    let key_room = |stay: &Stay| (!stay.must, 4 - stay.room.holes() as usize, stay.days.start, stay.days.end);
    let mut orders: Vec<Vec<usize>> = vec![(0..stays.len()).collect(); 2];
    orders[0].sort_by_key(|stay| (stays[*stay].holes.is_empty(), key_arrival(&stays[*stay])));
    orders[1].sort_by_key(|stay| (stays[*stay].holes.is_empty(), key_room(&stays[*stay])));
    let wishing = stays.iter().any(|stay| !stay.wished.is_empty());
    let granted: [&[bool]; 3] = [&[true, false], &[true], &[]];
    let ways = granted.iter().flat_map(|granted| orders.iter().map(move |order| (order, *granted)));
    ways.filter(|(_, granted)| wishing || granted.is_empty())
        .map(|(order, granted)| place_in_order(lid, days, stays, order, granted))
        .min_by_key(|placed| placed.missing.iter().sum::<u32>())
        .unwrap_or_default()
}

/// Grants wishes of plants that go on as planned (true) and of others (false) in the order of `granted`, no others.
fn place_in_order(lid: &Lid, days: usize, stays: &[Stay], order: &[usize], granted: &[bool]) -> Placed {
    let mut board = Board::new(lid, days, stays);
    let mut placed = Placed { places: vec![Vec::new(); stays.len()], missing: vec![0; stays.len()] };
    for &number in order {
        let stay = &stays[number];
        for known in &stay.holes {
            let days = stay.open.clamp(stay.days.start, stay.days.end)..stay.days.end;
            let place = board.around(stay.room, *known);
            if let Some(place) = place.filter(|place| board.all_free(place, &days)) {
                board.take(&place, stay);
                placed.places[number].push(place);
            }
        }
    }
    for as_planned in granted {
        for &number in order.iter().filter(|number| stays[**number].as_planned == *as_planned) {
            board.grant(&stays[number], &mut placed.places[number]);
        }
    }
    for &number in order {
        let stay = &stays[number];
        if board.spoiled_by(stay.room) {
            board.sparing(stay, &mut placed.places[number]);
        }
        while placed.places[number].len() < stay.plants as usize {
            let more = board.row(stay, stay.plants as usize - placed.places[number].len());
            if more.is_empty() {
                break;
            }
            for place in more {
                board.take(&place, stay);
                placed.places[number].push(place);
            }
        }
        placed.missing[number] = stay.plants - placed.places[number].len() as u32;
        placed.places[number].sort_by_key(|place| place.hole);
    }
    placed
}

/// Which holes are taken on which day.
struct Board<'s> {
    lid: Lid,
    /// By hole (from 0), then slot of time.
    taken: Vec<Vec<bool>>,
    places: [Places; 3],
    /// Rooms larger than a single hole that occur in this tank.
    wide: Vec<Room>,
    /// The greatest distance that plants keep.
    widest_cm: f64,
    /// Where plants may stand too close: by hole (from 0), who stands there.
    planted: Option<Vec<Vec<&'s Stay>>>,
}

/// All places for plants of a room.
struct Places {
    room: Room,
    all: Vec<Spot>,
    /// By hole (from 0), the place that it belongs to.
    of_hole: Vec<Option<usize>>,
}

impl Places {
    fn new(lid: &Lid, room: Room) -> Self {
        let all = lid.spots(room);
        let mut of_hole = vec![None; lid.holes() as usize];
        for (number, place) in all.iter().enumerate() {
            holes(place).for_each(|hole| of_hole[hole as usize - 1] = Some(number));
        }
        Self { room, all, of_hole }
    }

    fn of(&self, hole: u32) -> Option<&Spot> {
        Some(&self.all[(*self.of_hole.get(hole as usize - 1)?)?])
    }
}

impl<'s> Board<'s> {
    fn new(lid: &Lid, days: usize, stays: &'s [Stay]) -> Self {
        let places = [Room::Single, Room::Pair, Room::Block].map(|room| Places::new(lid, room));
        let wide: BTreeSet<Room> =
            stays.iter().map(|stay| stay.room).filter(|room| *room > Room::Single).collect();
        let spacings = || stays.iter().map(|stay| stay.spacing_cm);
        let widest = spacings().fold(0.0, f64::max);
        let may_crowd = spacings().any(|other| lid.may_crowd(widest, other));
        Self {
            lid: *lid,
            taken: vec![vec![false; days]; lid.holes() as usize],
            places,
            wide: wide.into_iter().collect(),
            widest_cm: widest,
            planted: may_crowd.then(|| vec![Vec::new(); lid.holes() as usize]),
        }
    }

    fn places(&self, room: Room) -> &[Spot] {
        self.places.iter().find(|places| places.room == room).map_or(&[], |places| &places.all)
    }

    /// The place of a room that a hole belongs to.
    fn place_of(&self, room: Room, hole: u32) -> Option<&Spot> {
        self.places.iter().find(|places| places.room == room)?.of(hole)
    }

    fn free(&self, hole: u32, days: &Range<usize>) -> bool {
        let row = &self.taken[hole as usize - 1];
        !row[days.start..days.end.min(row.len())].contains(&true)
    }

    fn all_free(&self, place: &Spot, days: &Range<usize>) -> bool {
        holes(place).all(|hole| self.free(hole, days))
    }

    /// Whether plants find the place free and nobody too close.
    fn fits(&self, place: &Spot, stay: &Stay) -> bool {
        self.all_free(place, &stay.days) && !self.crowded(place.hole, stay)
    }

    /// Whether a plant stands too close to a hole. Plants that stood before do not count for each other.
    fn crowded(&self, hole: u32, stay: &Stay) -> bool {
        let Some(planted) = &self.planted else { return false };
        self.lid.near(hole, stay.spacing_cm, self.widest_cm).any(|near| {
            planted[near as usize - 1].iter().any(|other| {
                !(stay.must && other.must)
                    && other.days.start < stay.days.end
                    && stay.days.start < other.days.end
                    && self.lid.crowds((hole, stay.spacing_cm), (near, other.spacing_cm))
            })
        })
    }

    fn take(&mut self, place: &Spot, stay: &'s Stay) {
        for hole in holes(place) {
            let row = &mut self.taken[hole as usize - 1];
            let end = stay.days.end.min(row.len());
            row[stay.days.start..end].fill(true);
        }
        if let Some(planted) = &mut self.planted {
            planted[place.hole as usize - 1].push(stay);
        }
    }

    /// The place that holds a hole plants already stand in, planted in that very hole.
    fn around(&self, room: Room, hole: u32) -> Option<Spot> {
        let place = self.place_of(room, hole)?;
        let kept_empty = holes(place).filter(|other| *other != hole).collect();
        Some(Spot { hole, kept_empty })
    }

    /// Gives plants the holes they should get, as far as these are free.
    fn grant(&mut self, stay: &'s Stay, places: &mut Vec<Spot>) {
        for hole in &stay.wished {
            let wished = self.place_of(stay.room, *hole).filter(|place| place.hole == *hole).cloned();
            let free = wished.filter(|place| places.len() < stay.plants as usize && self.fits(place, stay));
            if let Some(place) = free {
                self.take(&place, stay);
                places.push(place);
            }
        }
    }

    /// Whether plants of a room may spoil places of larger ones.
    fn spoiled_by(&self, room: Room) -> bool {
        self.wide.iter().any(|wide| *wide > room)
    }

    /// Free places for so many plants in one row: the one with the least room beyond them, or else with the most room.
    fn row(&self, stay: &Stay, plants: usize) -> Vec<Spot> {
        let mut rows: BTreeMap<u32, Vec<Spot>> = BTreeMap::new();
        for place in self.places(stay.room).iter().filter(|place| self.fits(place, stay)) {
            rows.entry(self.lid.position(place.hole).0).or_default().push(place.clone());
        }
        let waste = |row: &Vec<Spot>| match row.len().checked_sub(plants) {
            Some(beyond) => (false, beyond),
            None => (true, plants - row.len()),
        };
        let mut row = rows.into_values().min_by_key(waste).unwrap_or_default();
        row.truncate(plants);
        row
    }

    /// Gives plants one place after another, each the free one that spoils the fewest free pairs and blocks; among equals the
    /// first.
    fn sparing(&mut self, stay: &'s Stay, places: &mut Vec<Spot>) {
        // Plants of one crop do not crowd each other, so that what is free now stays so until it is taken.
        let free: Vec<Spot> =
            self.places(stay.room).iter().filter(|place| self.fits(place, stay)).cloned().collect();
        let at: HashMap<u32, usize> = free.iter().enumerate().map(|(at, place)| (place.hole, at)).collect();
        let mut spoils: Vec<usize> = free.iter().map(|place| self.spoils(place, stay)).collect();
        let mut queue: BTreeSet<(usize, usize)> = spoils.iter().copied().zip(0..).collect();
        while places.len() < stay.plants as usize {
            let Some((_, taken)) = queue.pop_first() else { return };
            self.take(&free[taken], stay);
            places.push(free[taken].clone());
            let wider = self.wider(stay).filter_map(|room| self.place_of(room, free[taken].hole));
            let beside = wider.flat_map(holes).filter_map(|hole| at.get(&hole).copied());
            for number in beside.collect::<BTreeSet<usize>>() {
                if queue.remove(&(spoils[number], number)) {
                    spoils[number] = self.spoils(&free[number], stay);
                    queue.insert((spoils[number], number));
                }
            }
        }
    }

    fn wider(&self, stay: &Stay) -> impl Iterator<Item = Room> {
        self.wide.iter().copied().filter(|room| *room > stay.room)
    }

    /// Free pairs and blocks that a plant in a place would spoil.
    fn spoils(&self, place: &Spot, stay: &Stay) -> usize {
        let wider = self.wider(stay).filter_map(|room| self.place_of(room, place.hole));
        wider.filter(|wide| self.all_free(wide, &stay.days)).count()
    }
}

fn holes(place: &Spot) -> impl Iterator<Item = u32> + '_ {
    std::iter::once(place.hole).chain(place.kept_empty.iter().copied())
}

#[cfg(test)]
mod tests {
    use super::*;

    const LID: Lid = Lid { rows: 2, columns: 4, spacing_cm: 15.0 };

    fn stay(plants: u32, room: Room, days: Range<usize>) -> Stay {
        Stay {
            plants,
            room,
            spacing_cm: 15.0 * f64::from(room.holes()).sqrt(),
            days,
            holes: Vec::new(),
            open: 0,
            wished: Vec::new(),
            as_planned: false,
            must: false,
        }
    }

    #[test]
    fn equal_plants_always_find_holes_while_there_are_enough() {
        let stays = [stay(5, Room::Single, 0..4), stay(3, Room::Single, 1..6), stay(5, Room::Single, 4..8)];
        let placed = place(&LID, 8, &stays);
        assert_eq!(placed.missing, [0, 0, 0]);
        let holes = |number: usize| placed.places[number].iter().map(|place| place.hole).collect::<Vec<_>>();
        assert_eq!(holes(0), [1, 2, 3, 4, 5]);
        assert_eq!(holes(1), [6, 7, 8]);
        assert_eq!(holes(2), [1, 2, 3, 4, 5]);
    }

    #[test]
    fn plants_get_whole_rows_where_they_can() {
        let holes = |stays: &[Stay]| -> Vec<Vec<u32>> {
            let placed = place(&Lid { rows: 4, columns: 6, spacing_cm: 15.0 }, 8, stays);
            placed.places.iter().map(|places| places.iter().map(|place| place.hole).collect()).collect()
        };
        let found = holes(&[stay(2, Room::Single, 0..4), stay(12, Room::Single, 1..6)]);
        assert_eq!(found, [vec![1, 2], (7..=18).collect()]);
        // What is left of a row takes those who fit it, before another row is begun.
        let found = holes(&[stay(8, Room::Single, 0..4), stay(4, Room::Single, 1..6)]);
        assert_eq!(found, [vec![1, 2, 3, 4, 5, 6, 7, 8], vec![9, 10, 11, 12]]);
        let found = holes(&[stay(1, Room::Pair, 0..4), stay(6, Room::Pair, 0..4)]);
        assert_eq!(found, [vec![1], vec![8, 10, 12, 13, 15, 17]]);
    }

    #[test]
    fn single_plants_leave_pairs_and_blocks_whole() {
        let stays = [stay(1, Room::Block, 0..4), stay(3, Room::Single, 0..4), stay(1, Room::Pair, 2..4)];
        // One block of four is left for three single plants, so the pair finds no place; without the
        // third single plant it does.
        assert_eq!(place(&LID, 4, &stays).missing.iter().sum::<u32>(), 1);
        let stays = [stay(1, Room::Block, 0..4), stay(2, Room::Single, 0..4), stay(1, Room::Pair, 2..4)];
        assert_eq!(place(&LID, 4, &stays).missing, [0, 0, 0]);
    }

    #[test]
    fn plants_of_two_crops_keep_their_distance() {
        let lid = Lid { rows: 4, columns: 4, spacing_cm: 15.0 };
        let wide = Stay { must: true, holes: vec![11], ..stay(1, Room::Block, 0..4) };
        let holes = |stays: &[Stay]| -> Vec<u32> {
            place(&lid, 4, stays).places[1].iter().map(|place| place.hole).collect()
        };
        // Beside and above hole 11 nothing may stand; to its right and below it the block is empty anyway.
        let small = stay(12, Room::Single, 0..4);
        assert_eq!(holes(&[wide.clone(), small.clone()]), [1, 2, 3, 4, 5, 6, 8, 9, 13, 14]);
        // What stood there before stays.
        assert_eq!(holes(&[wide.clone(), Stay { must: true, ..small.clone() }]).len(), 12);
        // When the wide plant has gone there is room.
        assert_eq!(holes(&[Stay { days: 0..2, ..wide }, Stay { days: 2..4, ..small }]).len(), 12);
    }

    #[test]
    fn plants_that_stand_keep_their_holes() {
        let mut known = stay(2, Room::Single, 0..4);
        known.holes = vec![3, 7];
        let placed = place(&LID, 4, &[stay(6, Room::Single, 0..4), known]);
        assert_eq!(placed.missing, [0, 0]);
        assert_eq!(placed.places[1].iter().map(|place| place.hole).collect::<Vec<_>>(), [3, 7]);
    }

    #[test]
    fn wishes_are_granted_where_the_holes_are_free() {
        let mut wishing = stay(3, Room::Single, 2..4);
        wishing.wished = vec![1, 6, 8];
        let mut known = stay(1, Room::Single, 0..4);
        known.holes = vec![6];
        let placed = place(&LID, 4, &[stay(4, Room::Single, 0..3), wishing, known]);
        assert_eq!(placed.missing, [0, 0, 0]);
        assert_eq!(placed.places[1].iter().map(|place| place.hole).collect::<Vec<_>>(), [1, 7, 8]);
    }

    #[test]
    fn wishes_of_plants_that_go_on_as_planned_come_first() {
        let wishing = |days, as_planned| Stay { wished: vec![5], as_planned, ..stay(1, Room::Single, days) };
        let placed = place(&LID, 4, &[wishing(0..4, false), wishing(2..4, true)]);
        assert_eq!((placed.places[0][0].hole, placed.places[1][0].hole), (6, 5));
    }
}
