//! Labels for plugs and holes, on label paper or on plain paper with lines to cut along.

use super::page::{Edges, Paper, Sheet, Turn};
use super::{Setting, cell_stays, parts};
use crate::domain::plan::{Origin, Part};
use crate::report::words::{crop_name, short_day};
use crate::report::work::{Task, TaskKind};
use maud::{Markup, html};

/// A sheet of equal labels: columns and rows, and the distances in mm. The edges are the same on opposite sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelGrid {
    /// Labels side by side.
    pub columns: u32,
    /// Labels one above the other.
    pub rows: u32,
    /// From the paper's upper edge to the first row, and from the last row to the lower edge.
    pub top: f64,
    /// From the paper's side to the labels.
    pub side: f64,
    /// Between two columns.
    pub across: f64,
    /// Between two rows.
    pub down: f64,
}

/// Smallest label that takes the text in letters of 8 pt, mm.
pub const SMALLEST_LABEL: (f64, f64) = (36.0, 20.0);

/// What labels are printed on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LabelPaper {
    /// Plain paper with lines to cut along.
    Plain,
    /// A sheet of labels.
    Grid(LabelGrid),
}

/// Which plants get a label of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelFor {
    /// Every plug and every hole.
    EachPlant,
    /// Only every batch, once for the nursery and once for each tank.
    EachBatch,
}

/// Labels wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelWish {
    /// What they are printed on.
    pub paper: LabelPaper,
    /// What gets one.
    pub one_for: LabelFor,
}

/// Grids in common use with the paper they are for: columns, rows, top, side, across, down. The sizes are from memory;
/// the packet knows best.
const COMMON: [(Paper, [f64; 6]); 8] = [
    (Paper::Letter, [3.0, 10.0, 12.7, 4.8, 3.0, 0.0]),
    (Paper::Letter, [2.0, 10.0, 12.7, 4.0, 4.8, 0.0]),
    (Paper::Letter, [2.0, 5.0, 12.7, 4.0, 4.8, 0.0]),
    (Paper::A4, [3.0, 8.0, 12.9, 7.2, 2.5, 0.0]),
    (Paper::A4, [3.0, 7.0, 15.1, 7.2, 2.5, 0.0]),
    (Paper::A4, [2.0, 7.0, 15.1, 4.7, 2.5, 0.0]),
    (Paper::A4, [4.0, 10.0, 21.5, 8.0, 0.0, 0.0]),
    (Paper::A4, [5.0, 13.0, 10.7, 4.7, 2.5, 0.0]),
];

impl LabelGrid {
    /// Columns and rows of the grids in common use on this paper.
    pub fn common_on(paper: Paper) -> impl Iterator<Item = (u32, u32)> {
        COMMON.iter().filter(move |(on, _)| *on == paper).map(|(_, grid)| (grid[0] as u32, grid[1] as u32))
    }

    /// The grid in common use with so many columns and rows, if there is one on this paper.
    pub fn common(paper: Paper, columns: u32, rows: u32) -> Option<Self> {
        let (_, [.., top, side, across, down]) = COMMON
            .iter()
            .find(|(on, grid)| *on == paper && (grid[0] as u32, grid[1] as u32) == (columns, rows))?;
        Some(Self { columns, rows, top: *top, side: *side, across: *across, down: *down })
    }

    /// Width and height of one label in mm; nil or less if the distances leave no room.
    pub fn label(&self, paper: Paper) -> (f64, f64) {
        let (width, height) = paper.millimetres();
        let one = |room: f64, edge: f64, gap: f64, count: u32| {
            (room - 2.0 * edge - gap * f64::from(count.saturating_sub(1))) / f64::from(count.max(1))
        };
        (one(width, self.side, self.across, self.columns), one(height, self.top, self.down, self.rows))
    }
}

/// Labels on a page: how many, how large, how far apart.
struct Layout {
    columns: u32,
    rows: u32,
    width: f64,
    height: f64,
    across: f64,
    down: f64,
}

impl Layout {
    fn new(on: LabelPaper, paper: Paper) -> Self {
        match on {
            LabelPaper::Grid(grid) => {
                let (width, height) = grid.label(paper);
                let LabelGrid { columns, rows, across, down, .. } = grid;
                Self { columns, rows, width, height, across, down }
            }
            LabelPaper::Plain => {
                let (width, height) = paper.room(Turn::Portrait);
                let (columns, rows) = (3, (height / 32.0) as u32);
                // A hair less than the page, so that rounding pushes nothing over its edge.
                let share = |room: f64, count: u32| (room - 1.0) / f64::from(count);
                Self {
                    columns,
                    rows,
                    width: share(width, columns),
                    height: share(height, rows),
                    across: 0.0,
                    down: 0.0,
                }
            }
        }
    }
}

/// One label.
struct Label {
    batch: String,
    place: Where,
    crop: String,
    lines: Vec<String>,
}

/// Where its plants are; either name may be empty.
#[derive(Default)]
struct Where {
    tank: String,
    /// Cell or hole.
    spot: String,
}

impl Label {
    /// Batch and place, in at most so many letters if only the tank's name is in the way.
    fn head(&self, most: usize) -> String {
        let Where { tank, spot } = &self.place;
        let tank = parts::shortened(tank, most.saturating_sub(self.batch.len() + spot.len() + 2).max(6));
        let words = [self.batch.as_str(), &tank, spot];
        words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
    }
}

/// The labels of a site for all that is sown or moved on the days wanted.
pub(super) fn sheets(setting: &Setting<'_>, wish: LabelWish) -> Vec<Sheet> {
    let labels: Vec<Label> = setting
        .wish
        .days
        .span()
        .days()
        .flat_map(|day| setting.tasks_on(day))
        .flat_map(|task| labels(setting, &task, wish.one_for))
        .collect();
    let layout = Layout::new(wish.paper, setting.wish.paper);
    let on_page = (layout.columns * layout.rows).max(1) as usize;
    labels.chunks(on_page).map(|labels| page(setting, labels, &layout, wish.paper)).collect()
}

fn labels(setting: &Setting<'_>, task: &Task<'_>, one_for: LabelFor) -> Vec<Label> {
    let cell = |cell: &u32| Where { spot: format!("cell {cell}"), ..Where::default() };
    let places: Vec<Where> = match (task.kind, one_for) {
        (TaskKind::Harvest, _) => Vec::new(),
        (TaskKind::Sow, LabelFor::EachBatch) => vec![Where::default()],
        (TaskKind::Sow, LabelFor::EachPlant) if task.batch.origin == Origin::InCups => holes(task),
        (TaskKind::Sow, LabelFor::EachPlant) => cell_stays(setting.term, setting.plan, setting.site)
            .get(&task.batch.id)
            .map(|stay| stay.cells.iter().map(cell).collect())
            .unwrap_or_default(),
        (TaskKind::Transplant, LabelFor::EachBatch) => {
            let mut tanks: Vec<String> = task.parts.iter().map(|task| task.part.tank.to_string()).collect();
            tanks.sort();
            tanks.dedup();
            tanks.into_iter().map(|tank| Where { tank, ..Where::default() }).collect()
        }
        (TaskKind::Transplant, LabelFor::EachPlant) => holes(task),
    };
    places.into_iter().map(|place| label(setting, task, place)).collect()
}

/// One place for each plant.
fn holes(task: &Task<'_>) -> Vec<Where> {
    let places = |part: &Part| -> Vec<Where> {
        let place = |hole| Where { tank: part.tank.to_string(), spot: format!("hole {hole}") };
        part.holes.iter().map(place).collect()
    };
    task.parts.iter().flat_map(|task| places(task.part)).collect()
}

fn label(setting: &Setting<'_>, task: &Task<'_>, place: Where) -> Label {
    let parts: Vec<&Part> = task.parts.iter().map(|task| task.part).collect();
    let moved = parts.iter().map(|part| part.transplant).min();
    let harvest = parts.iter().filter_map(|part| part.harvests.first()).map(|harvest| harvest.date).min();
    let mut lines = vec![format!(
        "{} {}",
        if task.batch.origin.is_bought() { "came" } else { "sown" },
        short_day(task.batch.sown)
    )];
    lines.extend(moved.map(|day| format!("to tank {}", short_day(day))));
    lines.extend(harvest.map(|day| format!("harvest from {}", short_day(day))));
    Label {
        batch: task.batch.id.to_string(),
        place,
        crop: crop_name(setting.term, &task.batch.crop).to_owned(),
        lines,
    }
}

fn page(setting: &Setting<'_>, labels: &[Label], layout: &Layout, on: LabelPaper) -> Sheet {
    let Layout { columns, width, height, across, down, .. } = layout;
    let style = format!(
        "grid-template-columns: repeat({columns}, {width:.2}mm); grid-auto-rows: {height:.2}mm; \
         column-gap: {across:.2}mm; row-gap: {down:.2}mm"
    );
    let body = html! {
        div class=(if on == LabelPaper::Plain { "labels cut" } else { "labels" }) style=(style) {
            @for label in labels { (one(label, *width, on)) }
        }
    };
    let mut sheet = Sheet::new(format!("Labels, {}", setting.site.name), setting.wish.days.title(), body);
    sheet.edges = match on {
        LabelPaper::Plain => Edges::USUAL,
        // What is left below the last row is the lower edge, whatever rounding makes of it.
        LabelPaper::Grid(grid) => Edges { top: grid.top, side: grid.side, bottom: 0.0 },
    };
    sheet.titled = false;
    sheet
}

fn one(label: &Label, width: f64, on: LabelPaper) -> Markup {
    // Widths of a letter, mm: in the head and below it, a wide font taken.
    let (bold, usual) = if on == LabelPaper::Plain { (2.7, 2.4) } else { (2.1, 1.85) };
    let fits = |letter: f64| ((width - 4.0) / letter) as usize;
    // Head and crop have three lines between them; where a line is turned, a few letters of it may stay empty.
    let one_line = label.head(usize::MAX).chars().count() <= fits(bold);
    let (head, crop) =
        if one_line { (fits(bold), fits(usual) * 2 - 4) } else { (fits(bold) * 2 - 4, fits(usual)) };
    html! {
        div.label {
            div { b { (label.head(head)) } }
            div { (shortened(&label.crop, crop)) }
            @for line in &label.lines { div { (line) } }
        }
    }
}

/// At most so many letters of a text, with a full stop where some are missing.
fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    text.chars().take(most.saturating_sub(1)).chain(['.']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn common_grids_leave_room_for_the_text() {
        for (paper, grid) in COMMON {
            let grid = LabelGrid::common(paper, grid[0] as u32, grid[1] as u32).unwrap();
            let (width, height) = grid.label(paper);
            assert!(width >= SMALLEST_LABEL.0 && height >= SMALLEST_LABEL.1, "{width} x {height}");
        }
        let letter = LabelGrid::common(Paper::Letter, 3, 10).unwrap().label(Paper::Letter);
        assert!((letter.0 - 66.8).abs() < 0.1 && (letter.1 - 25.4).abs() < 0.1, "{letter:?}");
    }
}
