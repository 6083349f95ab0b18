//! What a reader likes to see, and the one table style of all outputs.

use crate::domain::units::{Mass, Units};
use anstyle::{AnsiColor, Style};
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::peaker::Priority;
use tabled::settings::style::HorizontalLine;
use tabled::settings::{Alignment, Padding, Style as Borders, Width};

/// What a reader likes to see.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Units of every quantity.
    pub units: Units,
    /// Characters in a line.
    pub width: usize,
    /// Whether colour may be used. It never says anything the words do not say.
    pub colour: bool,
}

/// What a piece of text means; decides its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mood {
    /// A heading.
    Heading,
    /// Something that went well.
    Good,
    /// Something to look at.
    Warn,
    /// Something of less weight.
    Quiet,
}

impl Look {
    /// Grams in the reader's units.
    pub fn grams(&self, grams: f64) -> String {
        Mass::from_grams(grams).show(self.units).to_string()
    }

    pub(super) fn paint(&self, mood: Mood, text: &str) -> String {
        if !self.colour || text.is_empty() {
            return text.to_owned();
        }
        let style = match mood {
            Mood::Heading => Style::new().bold(),
            Mood::Good => AnsiColor::Green.on_default(),
            Mood::Warn => AnsiColor::Red.on_default().bold(),
            Mood::Quiet => Style::new().dimmed(),
        };
        format!("{style}{text}{style:#}")
    }

    /// A paragraph, broken between words.
    pub(super) fn wrap(&self, text: &str) -> String {
        self.wrap_after("", text)
    }

    /// A paragraph behind a lead such as a bullet, its further lines indented to match.
    pub(super) fn wrap_after(&self, lead: &str, text: &str) -> String {
        let indent = lead.chars().count();
        let room = self.width.saturating_sub(indent).max(20);
        let mut lines = vec![String::new()];
        for word in text.split_whitespace() {
            let last = lines.len() - 1;
            let line = &mut lines[last];
            if line.is_empty() {
                line.push_str(word);
            } else if line.chars().count() + 1 + word.chars().count() <= room {
                line.push(' ');
                line.push_str(word);
            } else {
                lines.push(word.to_owned());
            }
        }
        let gap = format!("\n{}", " ".repeat(indent));
        format!("{lead}{}\n", lines.join(&gap))
    }
}

/// Rows under a heading row: no frame, one thin line under the heading, two blanks between columns.
pub(super) struct Grid {
    columns: usize,
    builder: Builder,
    right: Vec<usize>,
    lines_above: Vec<usize>,
    rows: usize,
}

impl Grid {
    pub(super) fn new(look: &Look, headings: &[&str]) -> Self {
        let mut builder = Builder::default();
        builder.push_record(headings.iter().map(|heading| look.paint(Mood::Heading, heading)));
        Self {
            columns: headings.len(),
            builder,
            right: Vec::new(),
            lines_above: vec![1],
            rows: 1,
        }
    }

    /// Sets these columns flush right, as numbers should be.
    pub(super) fn right(mut self, columns: &[usize]) -> Self {
        self.right.extend_from_slice(columns);
        self
    }

    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.builder.push_record(cells);
        self.rows += 1;
    }

    /// Draws a line before the next row.
    pub(super) fn line(&mut self) {
        self.lines_above.push(self.rows);
    }

    /// The table, its longest columns wrapped between words until it fits the width.
    pub(super) fn draw(self, look: &Look) -> String {
        let mut table = self.builder.build();
        let mut theme = tabled::settings::Theme::from_style(Borders::empty());
        for row in self.lines_above {
            theme.insert_horizontal_line(row, HorizontalLine::filled('─'));
        }
        table
            .with(theme)
            .with(Padding::new(0, 2, 0, 0))
            .modify(Columns::one(self.columns - 1), Padding::zero());
        for column in self.right {
            table.modify(Columns::one(column), Alignment::right());
        }
        table.with(
            Width::wrap(look.width)
                .priority(Priority::max(true))
                .keep_words(true),
        );
        let mut text = String::new();
        for line in table.to_string().lines() {
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOOK: Look = Look {
        units: Units::Metric,
        width: 40,
        colour: false,
    };

    #[test]
    fn a_table_keeps_to_the_width_and_leaves_no_blanks_at_line_ends() {
        let mut grid = Grid::new(&LOOK, &["What", "Grams", "Why"]).right(&[1]);
        grid.row([
            "oakleaf".into(),
            "5".into(),
            "a reason that is much too long for one line".into(),
        ]);
        grid.line();
        grid.row(["all".into(), "1005".into(), String::new()]);
        let text = grid.draw(&LOOK);
        for line in text.lines() {
            assert!(line.chars().count() <= 40 && line == line.trim_end(), "{line:?}");
        }
        assert_eq!(text.lines().filter(|line| line.starts_with('─')).count(), 2);
        assert!(text.contains("      5  a reason"), "{text}");
    }

    #[test]
    fn colour_changes_no_word() {
        let coloured = Look { colour: true, ..LOOK };
        assert_eq!(LOOK.paint(Mood::Warn, "short"), "short");
        let painted = coloured.paint(Mood::Warn, "short");
        assert!(painted.contains("short") && painted.len() > 5);
    }

    #[test]
    fn paragraphs_hang_under_their_lead() {
        assert_eq!(
            LOOK.wrap_after("- ", "one two three four five six seven eight"),
            "- one two three four five six seven\n  eight\n"
        );
    }
}
