//! What a reader likes to see: units, width, colour.

use crate::domain::units::{Mass, Units};
use anstyle::{AnsiColor, Style};
use tabled::grid::util::string::get_line_width;

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

    /// Colours each word by itself, so that text can be wrapped afterwards.
    pub(super) fn paint(&self, mood: Mood, text: &str) -> String {
        if !self.colour {
            return text.to_owned();
        }
        let style = match mood {
            Mood::Heading => Style::new().bold(),
            Mood::Good => AnsiColor::Green.on_default(),
            Mood::Warn => AnsiColor::Red.on_default().bold(),
            Mood::Quiet => Style::new().dimmed(),
        };
        let words: Vec<String> = text.split(' ').map(|word| format!("{style}{word}{style:#}")).collect();
        words.join(" ")
    }

    /// A paragraph, broken between words.
    pub fn wrap(&self, text: &str) -> String {
        self.wrap_after("", text)
    }

    /// A paragraph behind a lead such as a bullet, its further lines indented to match.
    pub(super) fn wrap_after(&self, lead: &str, text: &str) -> String {
        let indent = get_line_width(lead);
        let room = self.width.saturating_sub(indent).max(20);
        let gap = format!("\n{}", " ".repeat(indent));
        format!("{lead}{}\n", wrapped(text, room).join(&gap))
    }
}

/// Breaks text between words into lines of at most `room` columns, where words allow; a number and
/// its unit stay together.
pub(super) fn wrapped(text: &str, room: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let mut line = String::new();
        for word in words(paragraph) {
            if !line.is_empty() && get_line_width(&line) + 1 + get_line_width(&word) > room {
                lines.push(std::mem::take(&mut line));
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&word);
        }
        lines.push(line);
    }
    lines
}

/// Columns of the longest piece that cannot be broken.
pub(super) fn longest_word(text: &str) -> usize {
    text.split('\n').flat_map(words).map(|word| get_line_width(&word)).max().unwrap_or(0)
}

/// Words, units drawn to the number before them.
fn words(text: &str) -> Vec<String> {
    const UNITS: [&str; 8] = ["g", "kg", "oz", "lb", "cm", "°C", "°F", "mS/cm"];
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let plain = anstream::adapter::strip_str(word).to_string();
        let unit = plain.trim_end_matches([',', ';', '.', ')']);
        match words.last_mut() {
            Some(number) if UNITS.contains(&unit) => {
                number.push(' ');
                number.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOOK: Look = Look { units: Units::Metric, width: 40, colour: false };

    #[test]
    fn colour_changes_no_word_and_no_width() {
        let coloured = Look { colour: true, ..LOOK };
        assert_eq!(LOOK.paint(Mood::Warn, "short 5 g"), "short 5 g");
        let painted = coloured.paint(Mood::Warn, "short 5 g");
        assert_ne!(painted, "short 5 g");
        assert_eq!(anstream::adapter::strip_str(&painted).to_string(), "short 5 g");
        assert_eq!(wrapped(&painted, 5).len(), 2);
    }

    #[test]
    fn paragraphs_hang_under_their_lead() {
        assert_eq!(
            LOOK.wrap_after("- ", "one two three four five six seven eight"),
            "- one two three four five six seven\n  eight\n"
        );
    }

    #[test]
    fn numbers_keep_their_units() {
        assert_eq!(wrapped("over 160 g; or", 8), ["over", "160 g;", "or"]);
        assert_eq!(wrapped("a\nb c", 9), ["a", "b c"]);
    }
}
