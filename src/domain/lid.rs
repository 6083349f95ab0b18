//! A tank's lid: numbered holes in rows and columns, and how much room a wide plant takes.
//!
//! Holes are numbered from 1, row by row, as one reads. A lid is cut into *blocks* of two by two
//! holes, blocks into *pairs* of neighbours, so that plants of different width share a lid without
//! coming too close: a plant that needs two holes stands in the shaded hole of a pair (shaded as on a
//! chessboard, so that two such plants are at least 1.41 hole spacings apart), one that needs four
//! stands in the first hole of a block (at least 2 spacings apart). The other holes stay empty.

use std::f64::consts::SQRT_2;

/// Rows and columns of holes, and the distance between neighbouring holes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lid {
    /// Rows, at least 1.
    pub rows: u32,
    /// Holes in a row, at least 1.
    pub columns: u32,
    /// Centre to centre, cm.
    pub spacing_cm: f64,
}

/// How many holes one plant takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Room {
    /// One hole.
    Single = 1,
    /// A pair: every other hole.
    Pair = 2,
    /// A block of four: every other hole in both directions.
    Block = 4,
}

impl Room {
    /// Holes taken, the planted one included.
    pub fn holes(self) -> u32 {
        self as u32
    }
}

/// A place for one plant: the hole it stands in and those left empty beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// The planted hole's number.
    pub hole: u32,
    /// Numbers of the holes left empty for spacing.
    pub kept_empty: Vec<u32>,
}

/// How far apart plants of each room stand, in distances from hole to hole.
const DISTANCES: [(Room, f64); 3] = [(Room::Single, 1.0), (Room::Pair, SQRT_2), (Room::Block, 2.0)];
/// Share of the distance from hole to hole by which a lid may miss a smaller room narrowly.
const NARROWLY: f64 = 1.0 / 12.0;

/// Share of half the sum of their spacings by which plants of two crops stand apart at least. Half the sum is common practice, no
/// source; a fifth less is our own choice: leaves of neighbours may overlap a little, so that crops of one and of two holes a
/// plant may share a lid.
const APART: f64 = 0.8;

impl Lid {
    /// Whether two plants, each with its hole and its spacing in centimetres, stand too close. In the places for one room
    /// ([`Self::spots`]) they never do.
    pub fn crowds(&self, (hole, spacing_cm): (u32, f64), (other, other_cm): (u32, f64)) -> bool {
        let ((row, column), (other_row, other_column)) = (self.position(hole), self.position(other));
        let rows = f64::from(row.abs_diff(other_row));
        let columns = f64::from(column.abs_diff(other_column));
        rows.hypot(columns) * self.spacing_cm + 1e-9 < APART * f64::midpoint(spacing_cm, other_cm)
    }

    /// Whether plants of two spacings, in centimetres, can stand too close at all.
    pub fn may_crowd(&self, spacing_cm: f64, other_cm: f64) -> bool {
        self.spacing_cm + 1e-9 < APART * f64::midpoint(spacing_cm, other_cm)
    }

    /// Every hole in which a plant may stand too close to one in `hole`, that hole included.
    pub fn near(&self, hole: u32, spacing_cm: f64, other_cm: f64) -> impl Iterator<Item = u32> {
        let reach = (APART * f64::midpoint(spacing_cm, other_cm) / self.spacing_cm).floor() as u32;
        let (row, column) = self.position(hole);
        let rows = row.saturating_sub(reach)..=(row + reach).min(self.rows - 1);
        let columns = column.saturating_sub(reach)..=(column + reach).min(self.columns - 1);
        let lid = *self;
        rows.flat_map(move |row| columns.clone().map(move |column| lid.number(row, column)))
    }

    /// Holes in all.
    pub fn holes(&self) -> u32 {
        self.rows * self.columns
    }

    /// Room a plant of this spacing needs here, or `None` if even every other hole in both
    /// directions is too close.
    pub fn room_for(&self, spacing_cm: f64) -> Option<Room> {
        DISTANCES
            .into_iter()
            .find(|(_, factor)| spacing_cm <= self.spacing_cm * factor + 1e-9)
            .map(|(room, _)| room)
    }

    /// Whether there is room for even one plant of this spacing.
    pub fn has_place(&self, spacing_cm: f64) -> bool {
        self.room_for(spacing_cm).is_some_and(|room| !self.spots(room).is_empty())
    }

    /// The smaller room that a plant of this spacing would need if holes lay a little further apart, by a twelfth at most,
    /// and the distance in centimetres from hole to hole.
    pub fn narrowly_missed(&self, spacing_cm: f64) -> Option<(Room, f64)> {
        let now = self.room_for(spacing_cm);
        DISTANCES.into_iter().map(|(room, factor)| (room, spacing_cm / factor)).find(|(room, distance)| {
            now.is_none_or(|now| *room < now) && *distance <= self.spacing_cm * (1.0 + NARROWLY)
        })
    }

    /// Row and column of a hole, from 0.
    pub fn position(&self, hole: u32) -> (u32, u32) {
        ((hole - 1) / self.columns, (hole - 1) % self.columns)
    }

    fn number(&self, row: u32, column: u32) -> u32 {
        row * self.columns + column + 1
    }

    /// Every place for plants of this room, in reading order. Places of one room never overlap, and a
    /// smaller room's places never straddle two places of a larger one.
    pub fn spots(&self, room: Room) -> Vec<Spot> {
        match room {
            Room::Single => (1..=self.holes()).map(|hole| Spot { hole, kept_empty: Vec::new() }).collect(),
            Room::Pair => self.pairs(),
            Room::Block => self.blocks(),
        }
    }

    fn pairs(&self) -> Vec<Spot> {
        let mut pairs = Vec::new();
        for row in 0..self.rows {
            for column in (0..self.columns.saturating_sub(1)).step_by(2) {
                let (left, right) = (self.number(row, column), self.number(row, column + 1));
                let (hole, empty) = if row % 2 == 0 { (left, right) } else { (right, left) };
                pairs.push(Spot { hole, kept_empty: vec![empty] });
            }
        }
        // With an odd number of columns the last one is paired downwards.
        if self.columns % 2 == 1 {
            for row in (0..self.rows.saturating_sub(1)).step_by(2) {
                let (upper, lower) =
                    (self.number(row, self.columns - 1), self.number(row + 1, self.columns - 1));
                pairs.push(Spot { hole: upper, kept_empty: vec![lower] });
            }
        }
        pairs.sort_by_key(|place| place.hole);
        pairs
    }

    fn blocks(&self) -> Vec<Spot> {
        let mut blocks = Vec::new();
        for row in (0..self.rows.saturating_sub(1)).step_by(2) {
            for column in (0..self.columns.saturating_sub(1)).step_by(2) {
                blocks.push(Spot {
                    hole: self.number(row, column),
                    kept_empty: vec![
                        self.number(row, column + 1),
                        self.number(row + 1, column),
                        self.number(row + 1, column + 1),
                    ],
                });
            }
        }
        blocks
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    fn lid(rows: u32, columns: u32) -> Lid {
        Lid { rows, columns, spacing_cm: 15.0 }
    }

    #[test]
    fn room_follows_from_spacing() {
        for (spacing, room) in [
            (10.0, Some(Room::Single)),
            (15.0, Some(Room::Single)),
            (20.0, Some(Room::Pair)),
            (21.2, Some(Room::Pair)),
            (25.0, Some(Room::Block)),
            (31.0, None),
        ] {
            assert_eq!(lid(4, 6).room_for(spacing), room, "{spacing} cm");
        }
    }

    #[test]
    fn wide_plants_crowd_only_what_stands_right_beside_them() {
        let lid = lid(4, 6);
        // Hole 9 has 3, 8, 10 and 15 beside it. Half the sum of 30 and 15 cm is 22.5 cm, four fifths of it 18 cm.
        let crowded: Vec<u32> = (1..=24).filter(|hole| lid.crowds((9, 30.0), (*hole, 15.0))).collect();
        assert_eq!(crowded, [3, 8, 9, 10, 15]);
        for (hole, spacing) in [(9, 30.0), (1, 60.0), (24, 25.0)] {
            let near: Vec<u32> = lid.near(hole, spacing, 15.0).collect();
            let far = (1..=24).filter(|other| !near.contains(other));
            assert!(far.clone().count() > 0 || hole == 1);
            assert!(
                far.into_iter().all(|other| !lid.crowds((hole, spacing), (other, 15.0))),
                "{hole} {near:?}"
            );
        }
        // 20 and 15 cm: 14 cm, less than from hole to hole.
        assert!(!lid.may_crowd(20.0, 15.0) && lid.may_crowd(30.0, 15.0));
    }

    #[test]
    fn a_room_is_missed_narrowly_by_a_twelfth_of_the_spacing_at_most() {
        let missed = |spacing: f64| {
            lid(4, 6).narrowly_missed(spacing).map(|(room, wider)| (room, (wider * 100.0).round()))
        };
        assert_eq!(missed(16.2), Some((Room::Single, 1620.0)));
        assert_eq!(missed(16.3), None, "a pair is enough");
        assert_eq!(missed(22.0), Some((Room::Pair, 1556.0)));
        assert_eq!((missed(15.0), missed(25.0)), (None, None));
        assert_eq!(missed(32.0), Some((Room::Block, 1600.0)), "there is none so far");
    }

    #[test]
    fn places_keep_their_distance_and_share_no_hole() {
        for (rows, columns) in [(1, 1), (1, 5), (4, 6), (3, 3), (5, 4), (2, 7)] {
            for (room, least) in [(Room::Pair, 2.0_f64.sqrt()), (Room::Block, 2.0)] {
                let lid = lid(rows, columns);
                let places = lid.spots(room);
                let mut used = HashSet::new();
                for place in &places {
                    assert_eq!(place.kept_empty.len() as u32 + 1, room.holes());
                    assert!(
                        used.insert(place.hole) && place.kept_empty.iter().all(|hole| used.insert(*hole))
                    );
                    assert!(used.iter().all(|hole| (1..=lid.holes()).contains(hole)));
                }
                for (index, one) in places.iter().enumerate() {
                    for other in &places[index + 1..] {
                        let (a, b) = (lid.position(one.hole), lid.position(other.hole));
                        let distance =
                            (f64::from(a.0) - f64::from(b.0)).hypot(f64::from(a.1) - f64::from(b.1));
                        assert!(distance >= least - 1e-9, "{rows}x{columns} {room:?} {one:?} {other:?}");
                    }
                }
            }
        }
    }
}
