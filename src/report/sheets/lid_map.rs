//! A tank's lid as it lies before the class: numbered holes in rows and columns, and what each is for today.
//!
//! Uses differ by frame, pattern and word, so that a grey copy says as much as the original. No letter is smaller
//! than 8 pt: a lid too wide for that is drawn in several pieces.

use crate::domain::ids::BatchId;
use crate::domain::lid::Lid;
use maud::{Markup, html};
use std::fmt::Write;

/// Letters of 8 pt, in mm.
const SMALL_LETTERS: f64 = 8.0 * 25.4 / 72.0;
/// Letters of batch names, 10 pt, in mm.
const NAME_LETTERS: f64 = 10.0 * 25.4 / 72.0;
/// Width of a bold letter against its height, a wide font taken.
const LETTER_WIDTH: f64 = 0.68;

/// What a hole is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Use {
    /// Today's work.
    Today,
    /// A plant stands there and is left alone.
    Stands,
    /// Stays empty, so that the plants beside it have room.
    KeptEmpty,
    /// Nothing.
    Free,
}

/// A hole on the map.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mark<'a> {
    pub(super) purpose: Use,
    /// The plant's batch.
    pub(super) batch: Option<&'a BatchId>,
    /// What to do, in a word that fits.
    pub(super) word: &'static str,
}

impl Mark<'_> {
    pub(super) const FREE: Mark<'static> = Mark { purpose: Use::Free, batch: None, word: "" };
    pub(super) const KEPT_EMPTY: Mark<'static> = Mark { purpose: Use::KeptEmpty, batch: None, word: "empty" };
}

/// How large a map is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scale {
    /// With the batch in every hole, to plant by.
    Large,
    /// With the work alone, to find the holes by.
    Small,
}

impl Scale {
    /// Smallest and largest side of a hole, mm.
    fn sides(self) -> (f64, f64) {
        match self {
            Self::Large => (15.0, 21.0),
            Self::Small => (9.2, 10.5),
        }
    }

    /// Most rows in one piece, so that it fits a page.
    fn rows(self) -> u32 {
        match self {
            Self::Large => 10,
            Self::Small => 16,
        }
    }
}

/// The map of a lid, `width` mm wide at most. `marks` has one for each hole, by number.
pub(super) fn draw(lid: &Lid, marks: &[Mark<'_>], scale: Scale, width: f64) -> Markup {
    let (least, most) = scale.sides();
    let columns = pieces(lid.columns, ((width / least) as u32).max(1));
    let rows = pieces(lid.rows, scale.rows());
    let widest = columns.iter().map(|(first, last)| last - first + 1).max().unwrap_or(1);
    let side = (width / f64::from(widest)).clamp(least, most);
    let names = Names::new(marks, side);
    html! {
        div.map {
            @for across in &rows {
                @for down in &columns {
                    figure {
                        @if rows.len() * columns.len() > 1 {
                            figcaption {
                                "Rows " (across.0 + 1) " to " (across.1 + 1) ", columns "
                                (down.0 + 1) " to " (down.1 + 1)
                            }
                        }
                        (piece(lid, marks, &names, scale, side, *across, *down))
                    }
                }
            }
            @if names.letters && scale == Scale::Large {
                p.legend { @for id in &names.batches { span { b { (names.of(id)) } " is " (id) } } }
            }
        }
    }
}

/// Splits `count` rows or columns into runs of at most `most`, as equal as can be; first and last, from 0.
fn pieces(count: u32, most: u32) -> Vec<(u32, u32)> {
    let length = count.div_ceil(count.div_ceil(most).max(1)).max(1);
    (0..count).step_by(length as usize).map(|first| (first, (first + length).min(count) - 1)).collect()
}

/// How batches are called on the map: by their id where that fits a hole, else by a letter.
struct Names<'a> {
    batches: Vec<&'a BatchId>,
    letters: bool,
}

impl<'a> Names<'a> {
    fn new(marks: &[Mark<'a>], side: f64) -> Self {
        let mut batches: Vec<&BatchId> = marks.iter().filter_map(|mark| mark.batch).collect();
        batches.sort();
        batches.dedup();
        let fits = |id: &&BatchId| id.as_str().len() as f64 * NAME_LETTERS * LETTER_WIDTH <= side - 2.0;
        let letters = !batches.iter().all(fits);
        Self { batches, letters }
    }

    fn of(&self, id: &BatchId) -> String {
        if !self.letters {
            return id.to_string();
        }
        let place = self.batches.iter().position(|batch| *batch == id).unwrap_or(0);
        let letter = char::from(b'A' + (place % 26) as u8);
        if place < 26 { letter.to_string() } else { format!("{letter}{}", place / 26 + 1) }
    }
}

fn piece(
    lid: &Lid,
    marks: &[Mark<'_>],
    names: &Names<'_>,
    scale: Scale,
    side: f64,
    rows: (u32, u32),
    columns: (u32, u32),
) -> Markup {
    let width = side * f64::from(columns.1 - columns.0 + 1);
    let height = side * f64::from(rows.1 - rows.0 + 1);
    html! {
        svg role="img" aria-label="Lid map" width=(format!("{width:.1}mm")) height=(format!("{height:.1}mm"))
            viewBox=(format!("0 0 {width:.1} {height:.1}")) font-family="Helvetica, Arial, sans-serif" {
            @for row in rows.0..=rows.1 {
                @for column in columns.0..=columns.1 {
                    @let number = row * lid.columns + column + 1;
                    @let mark = marks.get(number as usize - 1).unwrap_or(&Mark::FREE);
                    @let left = side * f64::from(column - columns.0);
                    @let top = side * f64::from(row - rows.0);
                    g transform=(format!("translate({left:.2} {top:.2})")) { (hole(number, mark, names, scale, side)) }
                }
            }
        }
    }
}

fn hole(number: u32, mark: &Mark<'_>, names: &Names<'_>, scale: Scale, side: f64) -> Markup {
    let name = match (scale, mark.batch) {
        (Scale::Large, Some(id)) => names.of(id),
        _ => String::new(),
    };
    let middle = side / 2.0;
    let word_line = match scale {
        Scale::Large => side - 2.2,
        Scale::Small => side - 2.0,
    };
    let plate = matches!(mark.purpose, Use::Stands | Use::KeptEmpty);
    let bold = if mark.purpose == Use::Today { "bold" } else { "normal" };
    html! {
        (background(mark.purpose, side))
        (text(&number.to_string(), (1.9, 1.4 + SMALL_LETTERS), SMALL_LETTERS, "start", "normal", plate))
        (text(&name, (middle, middle + NAME_LETTERS * 0.45), NAME_LETTERS, "middle", bold, plate))
        (text(mark.word, (middle, word_line), SMALL_LETTERS, "middle", bold, plate))
    }
}

/// Text; on a white plate where a pattern would blur it.
fn text(text: &str, (x, y): (f64, f64), size: f64, anchor: &str, weight: &str, plate: bool) -> Markup {
    let width = text.len() as f64 * size * LETTER_WIDTH * 0.95;
    let left = if anchor == "middle" { x - width / 2.0 } else { x - 0.3 };
    html! {
        @if plate && !text.is_empty() {
            rect x=(format!("{left:.2}")) y=(format!("{:.2}", y - size * 0.85)) width=(format!("{width:.2}"))
                height=(format!("{:.2}", size * 1.05)) fill="#fff" {}
        }
        @if !text.is_empty() {
            text x=(format!("{x:.2}")) y=(format!("{y:.2}")) font-size=(format!("{size:.2}"))
                text-anchor=(anchor) font-weight=(weight) { (text) }
        }
    }
}

/// Frame and pattern of a hole in a square of this side.
fn background(purpose: Use, side: f64) -> Markup {
    let (stroke, dashes) = match purpose {
        Use::Today => (1.1, ""),
        Use::Stands | Use::KeptEmpty => (0.25, ""),
        Use::Free => (0.25, "1 1"),
    };
    let inset = 0.5 + stroke / 2.0;
    let inner = side - 2.0 * inset;
    let (pattern, pattern_stroke) = match purpose {
        Use::Stands => (dots(side), "0.55"),
        Use::KeptEmpty => (hatch(side), "0.2"),
        Use::Today | Use::Free => (String::new(), "0"),
    };
    html! {
        rect x=(format!("{inset:.2}")) y=(format!("{inset:.2}")) width=(format!("{inner:.2}"))
            height=(format!("{inner:.2}")) rx="1.8" fill="#fff" stroke="#000" stroke-width=(stroke)
            stroke-dasharray=(dashes) {}
        @if !pattern.is_empty() {
            path d=(pattern) stroke="#000" stroke-width=(pattern_stroke) stroke-linecap="round" fill="none" {}
        }
    }
}

/// A dot every 2 mm: a stroke of no length with round ends.
fn dots(side: f64) -> String {
    let steps = ((side - 3.0) / 2.0) as u32;
    let mut path = String::new();
    for row in 0..=steps {
        for column in 0..=steps {
            // Writing to a string cannot fail.
            let _ = write!(path, "M{:.1} {:.1}h0", 1.6 + 2.0 * f64::from(column), 1.6 + 2.0 * f64::from(row));
        }
    }
    path
}

/// Slanting lines, 1.8 mm apart.
fn hatch(side: f64) -> String {
    let (low, high) = (0.8, side - 0.8);
    let mut path = String::new();
    let mut sum = 2.0 * low + 1.8;
    while sum < 2.0 * high {
        // Along the line x + y = sum, from edge to edge.
        let (from, to) = ((sum - high).max(low), (sum - low).min(high));
        let _ = write!(path, "M{from:.1} {:.1}L{to:.1} {:.1}", sum - from, sum - to);
        sum += 1.8;
    }
    path
}

/// The uses that occur, in order.
pub(super) fn uses(marks: &[Mark<'_>]) -> Vec<Use> {
    let mut uses: Vec<Use> = marks.iter().map(|mark| mark.purpose).collect();
    uses.sort_unstable();
    uses.dedup();
    uses
}

/// What frames and patterns mean; `today` says what today's holes are.
pub(super) fn legend(uses: &[Use], today: &'static str) -> Markup {
    let words = |purpose: &Use| match purpose {
        Use::Today => today,
        Use::Stands => "stands there, leave it",
        Use::KeptEmpty => "keep empty",
        Use::Free => "free",
    };
    html! {
        p.legend {
            @for purpose in uses {
                span {
                    svg width="6mm" height="6mm" viewBox="0 0 6 6" aria-hidden="true" { (background(*purpose, 6.0)) }
                    (words(purpose))
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_lids_are_split_evenly() {
        assert_eq!(pieces(6, 12), [(0, 5)]);
        assert_eq!(pieces(13, 12), [(0, 6), (7, 12)]);
        assert_eq!(pieces(50, 12).len(), 5);
        assert_eq!(pieces(50, 12).last(), Some(&(40, 49)));
    }

    #[test]
    fn long_names_give_way_to_letters() {
        let (short, long) = (BatchId::new("b012"), BatchId::new("from-the-old-hall"));
        let mark = |batch| Mark { purpose: Use::Today, batch: Some(batch), word: "new" };
        assert_eq!(Names::new(&[mark(&short)], 15.0).of(&short), "b012");
        let names = Names::new(&[mark(&short), mark(&long)], 15.0);
        assert_eq!((names.of(&short).as_str(), names.of(&long).as_str()), ("A", "B"));
    }
}
