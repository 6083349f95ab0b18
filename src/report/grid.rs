//! The one table style of all outputs: no frame, a thin line under the headings, two blanks between
//! columns, nothing at the ends of lines.

use super::look::{Look, Mood, longest_word, wrapped};
use tabled::builder::Builder;
use tabled::grid::util::string::get_text_width;
use tabled::settings::formatting::AlignmentStrategy;
use tabled::settings::object::Columns;
use tabled::settings::style::HorizontalLine;
use tabled::settings::{Alignment, Padding, Style, Theme};

/// Blanks between two columns.
const GAP: usize = 2;

/// Rows under a heading row.
pub(super) struct Grid {
    rows: Vec<Vec<String>>,
    right: Vec<usize>,
    lines_above: Vec<usize>,
}

impl Grid {
    pub(super) fn new(look: &Look, headings: &[&str]) -> Self {
        let headings = headings.iter().map(|heading| look.paint(Mood::Heading, heading)).collect();
        Self { rows: vec![headings], right: Vec::new(), lines_above: vec![1] }
    }

    /// Sets these columns flush right, as numbers should be.
    pub(super) fn right(mut self, columns: &[usize]) -> Self {
        self.right.extend_from_slice(columns);
        self
    }

    /// Adds a row; line ends within a cell are kept.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// Draws a line before the next row.
    pub(super) fn line(&mut self) {
        self.lines_above.push(self.rows.len());
    }

    /// The table, its widest columns wrapped between words until it fits the width.
    pub(super) fn draw(self, look: &Look) -> String {
        let widths = self.widths(look.width);
        let mut builder = Builder::default();
        for row in &self.rows {
            builder
                .push_record(row.iter().zip(&widths).map(|(cell, width)| wrapped(cell, *width).join("\n")));
        }
        let mut theme = Theme::from_style(Style::empty());
        for row in self.lines_above {
            theme.insert_horizontal_line(row, HorizontalLine::new('─'));
        }
        let mut table = builder.build();
        table.with(theme).with(Padding::new(0, GAP, 0, 0)).modify(Columns::last(), Padding::zero());
        for column in self.right {
            table
                .modify(Columns::one(column), Alignment::right())
                .modify(Columns::one(column), AlignmentStrategy::PerLine);
        }
        let mut text = String::new();
        for line in table.to_string().lines() {
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }

    /// Column widths: as wide as the text, then the widest columns narrowed step by step until all
    /// fit, but none below its longest word.
    fn widths(&self, room: usize) -> Vec<usize> {
        let columns = self.rows.first().map_or(0, Vec::len);
        let most = |column: usize, measure: &dyn Fn(&str) -> usize| -> usize {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| measure(cell)).max().unwrap_or(0)
        };
        let least: Vec<usize> = (0..columns).map(|column| most(column, &longest_word)).collect();
        let mut widths: Vec<usize> = (0..columns).map(|column| most(column, &get_text_width)).collect();
        let room = room.saturating_sub(GAP * columns.saturating_sub(1));
        while widths.iter().sum::<usize>() > room {
            let widest = (0..columns)
                .filter(|column| widths[*column] > least[*column])
                .max_by_key(|column| widths[*column]);
            let Some(widest) = widest else {
                break;
            };
            // Words rarely fill a line, so one column less often saves several.
            let narrower = widths[widest] - 1;
            widths[widest] = most(widest, &|cell| get_text_width(&wrapped(cell, narrower).join("\n")));
        }
        widths
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::units::Units;

    #[test]
    fn a_table_keeps_to_the_width_and_leaves_no_blanks_at_line_ends() {
        for colour in [false, true] {
            let look = Look { units: Units::Metric, width: 40, colour };
            let mut grid = Grid::new(&look, &["What", "Grams", "Why"]).right(&[1]);
            let why = look.paint(Mood::Warn, "a reason that is much too long for one line");
            grid.row(["oakleaf".into(), "5 g".into(), why]);
            grid.line();
            grid.row(["all".into(), "1005 g".into(), String::new()]);
            let text = anstream::adapter::strip_str(&grid.draw(&look)).to_string();
            assert!(text.lines().all(|line| line.chars().count() <= 40 && line == line.trim_end()), "{text}");
            assert_eq!(text.lines().filter(|line| line.starts_with('─')).count(), 2);
            assert!(text.contains("oakleaf     5 g  a reason"), "{text}");
        }
    }
}
