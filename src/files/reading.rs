//! Taking values out of a file's tree, noting every mistake and going on.
//!
//! Each `Option` a function here returns is `None` only after a problem was noted (or, in
//! [`Entries::get`], where nothing is written), so callers can use `?` without a word of their own.

mod values;

use super::problem::{Problem, Problems, TextFile, suggest};
use super::remark::Remark;
use super::tree::{Content, Key, Node};
use std::ops::Range;

/// The mistakes found in one file so far.
#[derive(Debug)]
pub(super) struct Reading {
    file: TextFile,
    /// Whether values stand in the cells of a table, not behind keys.
    in_cells: bool,
    problems: Vec<Problem>,
    remarks: Vec<Remark>,
}

/// A mistake was noted, so there is no value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Noted;

/// The keys and values of a map, each key once.
#[derive(Debug, Clone)]
pub(super) struct Entries<'n> {
    /// Where the map begins: at its first key.
    pub(super) span: Range<usize>,
    entries: Vec<(&'n Key, &'n Node)>,
}

impl<'n> Entries<'n> {
    /// The value of a key, if it is written.
    pub(super) fn get(&self, key: &str) -> Option<&'n Node> {
        self.entries.iter().find(|(known, _)| known.text == key).map(|(_, node)| *node)
    }

    /// Where a key stands, or the whole map if it is not written.
    pub(super) fn key_span(&self, key: &str) -> Range<usize> {
        let found = self.entries.iter().find(|(known, _)| known.text == key);
        found.map_or_else(|| self.span.clone(), |(key, _)| key.span.clone())
    }

    /// Every key with its value, in the order written.
    pub(super) fn iter(&self) -> impl Iterator<Item = (&'n Key, &'n Node)> + '_ {
        self.entries.iter().copied()
    }
}

impl Reading {
    /// Begins with no mistake.
    pub(super) fn new(file: &TextFile) -> Self {
        Self { file: file.clone(), in_cells: false, problems: Vec::new(), remarks: Vec::new() }
    }

    /// As [`Reading::new`], for a table.
    pub(super) fn of_table(file: &TextFile) -> Self {
        Self { in_cells: true, ..Self::new(file) }
    }

    /// Notes a mistake.
    pub(super) fn note(&mut self, span: &Range<usize>, title: impl Into<String>, help: impl Into<String>) {
        self.problems.push(self.file.problem(span.clone(), title, help));
    }

    /// Takes over mistakes found elsewhere.
    pub(super) fn take(&mut self, problems: Problems) {
        self.problems.extend(problems.into_vec());
    }

    /// Notes something worth telling that is no mistake.
    pub(super) fn remark(&mut self, text: impl Into<String>) {
        self.remarks.push(Remark::of(text));
    }

    /// Notes what another reader found worth telling.
    pub(super) fn take_remark(&mut self, remark: Remark) {
        self.remarks.push(remark);
    }

    /// All mistakes, or the remarks if there is none.
    pub(super) fn finish(self) -> Result<Vec<Remark>, Problems> {
        Problems::check(self.problems)?;
        Ok(self.remarks)
    }

    /// A map with only these keys, each at most once.
    pub(super) fn map<'n>(&mut self, node: &'n Node, known: &[&str]) -> Option<Entries<'n>> {
        let entries = self.free_map(node, "keys")?;
        for (key, _) in entries.iter() {
            if !known.contains(&key.text.as_str()) {
                let help = suggest(&key.text, known.iter().copied());
                self.note(&key.span, format!("unknown key \"{}\"", shorten(&key.text)), help);
            }
        }
        Some(entries)
    }

    /// A map with any keys, each at most once.
    pub(super) fn free_map<'n>(&mut self, node: &'n Node, what: &str) -> Option<Entries<'n>> {
        let Content::Map(written) = &node.content else {
            let title = format!("{what} with values were expected here");
            self.note(&node.span, title, "write each as \"key: value\" on a line of its own, indented");
            return None;
        };
        let mut entries: Vec<(&Key, &Node)> = Vec::new();
        for (key, value) in written {
            if entries.iter().any(|(known, _)| known.text == key.text) {
                let title = format!("\"{}\" is given twice", shorten(&key.text));
                self.note(&key.span, title, "keep only one of them");
            } else {
                entries.push((key, value));
            }
        }
        let span = entries.first().map_or_else(|| node.span.clone(), |(key, _)| key.span.clone());
        Some(Entries { span, entries })
    }

    /// The value of a key that must be there; `example` shows the whole line.
    pub(super) fn need<'n>(&mut self, entries: &Entries<'n>, key: &str, example: &str) -> Option<&'n Node> {
        let found = entries.get(key);
        if found.is_none() {
            let help = match example.split_once(": ") {
                Some((_, value)) if self.in_cells => {
                    format!("fill in that column of the line, such as {value}")
                }
                _ => format!("add a line such as {example}"),
            };
            self.note(&entries.span, format!("\"{key}\" is missing here"), help);
        }
        found
    }

    /// The items of a list; a single value counts as a list of one, nothing as an empty list.
    pub(super) fn items(node: &Node) -> &[Node] {
        match &node.content {
            Content::Nothing => &[],
            Content::List(items) => items,
            Content::Text(_) | Content::Map(_) => std::slice::from_ref(node),
        }
    }

    /// One value as written.
    pub(super) fn text<'n>(&mut self, node: &'n Node) -> Option<&'n str> {
        match &node.content {
            Content::Text(text) if !text.trim().is_empty() => Some(text.trim()),
            Content::Text(_) | Content::Nothing => {
                self.note(&node.span, "the value is missing", "write it after the colon, or remove the line");
                None
            }
            Content::List(_) | Content::Map(_) => {
                self.note(&node.span, "a single value was expected here", "write only one value");
                None
            }
        }
    }
}

/// The beginning of a text, so that a stray paragraph does not fill the screen.
pub(super) fn shorten(text: &str) -> String {
    let mut shown: String = text.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(40).is_some() {
        shown.push_str("...");
    }
    shown
}
