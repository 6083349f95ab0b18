//! Changes to the text of a term file that leave everything else as its teacher wrote it.

use super::flow::{flow, is_flow};
use crate::domain::text;
use crate::files::problem::{Problem, TextFile};
use crate::files::tree::{Content, Key, Node};
use std::ops::Range;

/// What lines begin with that are written, or put out of force, for a term that goes on from another. The next term that
/// goes on from it starts without them, so that they do not pile up.
pub(super) const MARK: &str = "#~";

/// Changes to be made to a text.
pub(super) struct Edits<'t> {
    file: &'t TextFile,
    /// What takes the place of these bytes, in the order in which it was asked for.
    made: Vec<(Range<usize>, String)>,
}

impl<'t> Edits<'t> {
    /// Takes out the lines that an earlier term left behind.
    pub(super) fn of(file: &'t TextFile) -> Self {
        let mut edits = Self { file, made: Vec::new() };
        let mut at = 0;
        for line in file.text().split_inclusive('\n') {
            if is_marked(line) {
                edits.replace(at..at + line.len(), "");
            }
            at += line.len();
        }
        edits
    }

    pub(super) fn text(&self) -> &'t str {
        self.file.text()
    }

    /// How lines end in this file.
    pub(super) fn newline(&self) -> &'static str {
        if self.text().contains("\r\n") { "\r\n" } else { "\n" }
    }

    fn replace(&mut self, span: Range<usize>, new: impl Into<String>) {
        self.made.push((span, new.into()));
    }

    /// Writes another value, which must stand on one line.
    pub(super) fn set_value(&mut self, span: &Range<usize>, new: &str) -> Result<(), Problem> {
        if self.text()[span.clone()].contains('\n') {
            return Err(self.in_the_way(span));
        }
        self.replace(span.clone(), new);
        Ok(())
    }

    /// Writes lines before the one that holds a byte, indented like it.
    pub(super) fn remark_before(&mut self, at: usize, lines: &[String]) {
        let start = self.line_start(at);
        let indent = " ".repeat(indent_of(&self.text()[start..]));
        let newline = self.newline();
        let written: Vec<String> =
            lines.iter().map(|line| format!("{indent}{MARK} {line}{newline}")).collect();
        self.replace(start..start, written.concat());
    }

    /// Writes lines at the end of the file, once.
    pub(super) fn append(&mut self, lines: &str) {
        let (end, newline) = (self.text().len(), self.newline());
        let missing = if self.text().ends_with('\n') { "" } else { newline };
        self.replace(end..end, format!("{missing}{}", lines.replace('\n', newline)));
    }

    /// Puts parts of a list or map out of force: lines become remarks, what stands in brackets goes. `why` is told above.
    /// Where none are left, the key is given the value `empty`.
    pub(super) fn take_out(
        &mut self,
        (key, node): (&Key, &Node),
        parts: &[usize],
        (empty, why): (&str, &str),
    ) -> Result<(), Problem> {
        if parts.is_empty() {
            return Ok(());
        }
        match &node.content {
            // A list whose items are not indented is said to begin with its first item, which may be in braces.
            Content::List(items) if self.text()[node.span.start..].starts_with('{') => {
                self.take_out_items(items, parts, why)
            }
            _ if is_flow(self.text(), node.span.start) => {
                self.take_out_of_brackets((key, node), parts, (empty, why))
            }
            Content::List(items) => self.take_out_items(items, parts, why),
            Content::Map(entries) if parts.len() == entries.len() => {
                let firsts: Vec<usize> = entries.iter().map(|(key, _)| key.span.start).collect();
                self.take_out_lines(&firsts, why)?;
                let colon = key.span.end + self.text()[key.span.end..].find(':').unwrap_or(0) + 1;
                self.replace(colon..colon, format!(" {empty}"));
                Ok(())
            }
            Content::Map(entries) => {
                let firsts: Vec<usize> = parts.iter().map(|part| entries[*part].0.span.start).collect();
                self.take_out_lines(&firsts, why)
            }
            Content::Text(written) => {
                self.remark_before(node.span.start, &[why.to_owned(), format!("{}: {written}", key.text)]);
                self.replace(node.span.clone(), empty);
                Ok(())
            }
            Content::Nothing => Ok(()),
        }
    }

    /// Puts the lines of a key of the whole file out of force, and writes others before them.
    pub(super) fn supersede(&mut self, key: &Key, new: &str, why: &str) -> Result<(), Problem> {
        let start = self.first_of_line(&key.span)?;
        self.replace(start..start, new.replace('\n', self.newline()));
        self.put_out_of_force(start, Reach::Entry, Some(why));
        Ok(())
    }

    /// Sets a key of a map to a value.
    pub(super) fn set(&mut self, map: &Node, key: &str, value: &str) -> Result<(), Problem> {
        let Content::Map(entries) = &map.content else { return Ok(()) };
        if let Some((_, old)) = entries.iter().find(|(known, _)| known.text == key) {
            return self.set_value(&old.span, value);
        }
        let Some((first, _)) = entries.first() else { return Ok(()) };
        if is_flow(self.text(), map.span.start) {
            let last = flow(self.text(), map.span.start).and_then(|found| found.parts.last().cloned());
            let last = last.ok_or_else(|| self.in_the_way(&map.span))?;
            let end = last.start + self.text()[last].trim_end().len();
            self.replace(end..end, format!(", {key}: {value}"));
            return Ok(());
        }
        let start = self.line_start(first.span.start);
        let before = &self.text()[start..first.span.start];
        if !before.chars().all(|c| matches!(c, ' ' | '-')) {
            return Err(self.in_the_way(&first.span));
        }
        let indent = " ".repeat(before.len());
        let at = first.span.start;
        self.replace(at..at, format!("{key}: {value}{}{indent}", self.newline()));
        Ok(())
    }

    /// The text with all changes.
    pub(super) fn finish(mut self) -> Result<String, Problem> {
        self.made.sort_by_key(|(span, _)| (span.start, span.end));
        let (mut text, mut done) = (String::new(), 0);
        for (span, new) in &self.made {
            if span.start < done {
                return Err(self.in_the_way(span));
            }
            text.push_str(&self.text()[done..span.start]);
            text.push_str(new);
            done = span.end;
        }
        text.push_str(&self.text()[done..]);
        Ok(text)
    }

    fn take_out_items(&mut self, items: &[Node], parts: &[usize], why: &str) -> Result<(), Problem> {
        for (nth, part) in parts.iter().enumerate() {
            let dash = self.dash(&items[*part])?;
            self.put_out_of_force(dash, Reach::Item, (nth == 0).then_some(why));
        }
        Ok(())
    }

    fn take_out_of_brackets(
        &mut self,
        (key, node): (&Key, &Node),
        parts: &[usize],
        (empty, why): (&str, &str),
    ) -> Result<(), Problem> {
        let found = flow(self.text(), node.span.start).ok_or_else(|| self.in_the_way(&node.span))?;
        let brackets = if matches!(node.content, Content::Map(_)) { ["{", "}"] } else { ["[", "]"] };
        let gone = parts.iter().filter_map(|part| found.parts.get(*part));
        let gone: Vec<String> = gone.map(|part| text::cleaned(&self.text()[part.clone()])).collect();
        let told = format!("{}: {}{}{}", key.text, brackets[0], gone.join(", "), brackets[1]);
        self.remark_before(node.span.start, &[why.to_owned(), told]);
        if parts.len() == found.parts.len() {
            self.replace(found.inside.start - 1..found.inside.end + 1, empty);
            return Ok(());
        }
        for part in parts {
            let Some(span) = found.parts.get(*part) else { return Err(self.in_the_way(&node.span)) };
            // With the comma behind it, or with that before it if nothing is left behind it.
            let last = (*part..found.parts.len()).all(|later| parts.contains(&later));
            self.replace(if last { span.start - 1..span.end } else { span.start..span.end + 1 }, "");
        }
        Ok(())
    }

    fn take_out_lines(&mut self, firsts: &[usize], why: &str) -> Result<(), Problem> {
        for (nth, first) in firsts.iter().enumerate() {
            let start = self.first_of_line(&(*first..*first))?;
            self.put_out_of_force(start, Reach::Entry, (nth == 0).then_some(why));
        }
        Ok(())
    }

    /// Marks the lines of an entry or item that begins on the line that starts at a byte.
    fn put_out_of_force(&mut self, start: usize, reach: Reach, why: Option<&str>) {
        let text = self.text();
        let column = indent_of(&text[start..]);
        if let Some(why) = why {
            self.remark_before(start, &[why.to_owned()]);
        }
        let end = reach.end(text, start, column);
        let mut at = start;
        for line in text[start..end].split_inclusive('\n') {
            if !line.trim().is_empty() && !is_marked(line) {
                let place = at + column.min(indent_of(line));
                self.replace(place..place, format!("{MARK} "));
            }
            at += line.len();
        }
    }

    /// Start of the line on which the dash of an item stands.
    fn dash(&self, item: &Node) -> Result<usize, Problem> {
        let text = self.text();
        let mut at = match &item.content {
            Content::Map(entries) if !is_flow(text, item.span.start) => {
                entries.first().map_or(item.span.start, |(key, _)| key.span.start)
            }
            _ => item.span.start,
        };
        loop {
            let start = self.line_start(at);
            let before = text[start..at].trim();
            if before == "-" || before.starts_with("- #") {
                return Ok(start);
            }
            // The dash may stand alone on a line above.
            if !is_silent(before) || start == 0 {
                return Err(self.in_the_way(&item.span));
            }
            at = start - 1;
        }
    }

    /// Start of the line, if a key is the first on it.
    fn first_of_line(&self, key: &Range<usize>) -> Result<usize, Problem> {
        let start = self.line_start(key.start);
        if self.text()[start..key.start].trim().is_empty() { Ok(start) } else { Err(self.in_the_way(key)) }
    }

    fn line_start(&self, at: usize) -> usize {
        self.text()[..at].rfind('\n').map_or(0, |end| end + 1)
    }

    fn in_the_way(&self, span: &Range<usize>) -> Problem {
        self.file.problem(
            span.clone(),
            "this cannot be changed here for a term that goes on from this one",
            "write each key and each item of a list on a line of its own, then try again; nothing was written",
        )
    }
}

/// What belongs to a line that is put out of force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Reach {
    /// An item of a list: the lines indented more than its dash.
    Item,
    /// A key: the lines indented more than it, and items whose dashes stand right below it.
    Entry,
}

impl Reach {
    /// The byte behind the last line of it that says something.
    fn end(self, text: &str, start: usize, column: usize) -> usize {
        let (mut at, mut end) = (start, start);
        for line in text[start..].split_inclusive('\n') {
            let says = line.trim();
            let indent = indent_of(line);
            let dash = self == Self::Entry && indent == column && (says == "-" || says.starts_with("- "));
            if at > start && !is_silent(says) && indent <= column && !dash {
                break;
            }
            at += line.len();
            if !is_silent(says) {
                end = at;
            }
        }
        end
    }
}

/// Whether a line is blank or a remark.
fn is_silent(says: &str) -> bool {
    says.is_empty() || says.starts_with('#')
}

fn is_marked(line: &str) -> bool {
    line.trim_start().starts_with(MARK)
}

fn indent_of(line: &str) -> usize {
    line.len() - line.trim_start_matches(' ').len()
}
