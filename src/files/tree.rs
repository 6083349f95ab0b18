//! A YAML file as a tree in which everything knows its place.
//!
//! Reading into structs would end at the first wrong key or type. People mend a file faster when
//! they see all of its mistakes at once, so the readers walk this tree and go on after a mistake.

use super::problem::{Problem, TextFile};
use super::yaml;
use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::Spanned;
use std::fmt;
use std::ops::Range;

/// A value and the bytes it stands at.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Node {
    pub(super) span: Range<usize>,
    pub(super) content: Content,
}

/// What a value is.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Content {
    /// Nothing written after the colon.
    Nothing,
    /// Text, numbers and dates alike, as written.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// Keys and values, in the order written, repeated keys included.
    Map(Vec<(Key, Node)>),
}

/// A key and the bytes it stands at.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Key {
    pub(super) span: Range<usize>,
    pub(super) text: String,
}

/// Reads a file's text into a tree.
///
/// # Errors
/// If the text is no YAML, is nested too deeply or is empty.
pub(super) fn parse(file: &TextFile) -> Result<Node, Problem> {
    parse_with(file, yaml::options())
}

/// Reads the text of a file that may hold up to `most_values` values.
///
/// # Errors
/// As [`parse`].
pub(super) fn parse_long(file: &TextFile, most_values: usize) -> Result<Node, Problem> {
    parse_with(file, yaml::long(most_values))
}

fn parse_with(file: &TextFile, mut options: serde_yaml::Options) -> Result<Node, Problem> {
    // Repeated keys are complained about by those who walk the tree, so that all are seen.
    options.duplicate_keys = serde_yaml::DuplicateKeyPolicy::PassThrough;
    options.merge_keys = serde_yaml::MergeKeyPolicy::AsOrdinary;
    options.non_finite_float_policy = serde_yaml::NonFiniteFloatPolicy::AsString;
    let raw: Spanned<Raw> = serde_yaml::from_str_with_options(file.text(), options)
        .map_err(|error| yaml::placed(file, &error))?;
    let node = settle(file, raw);
    if node.content == Content::Nothing {
        return Err(
            file.whole_problem("there is nothing in this file", "start from a new term or an example")
        );
    }
    Ok(node)
}

/// The tree as the parser gives it.
enum Raw {
    Nothing,
    /// Quoted or plain text.
    Text(String),
    /// A number or truth value, whose spelling is taken from the file.
    Plain,
    List(Vec<Spanned<Raw>>),
    Map(Vec<(Spanned<String>, Spanned<Raw>)>),
}

fn settle(file: &TextFile, raw: Spanned<Raw>) -> Node {
    let place = yaml::span_of(file, raw.referenced).unwrap_or(0..0);
    let content = match raw.value {
        Raw::Nothing => Content::Nothing,
        Raw::Text(text) => Content::Text(text),
        Raw::Plain => {
            let written = yaml::span_of(file, raw.defined).and_then(|span| file.text().get(span));
            Content::Text(written.unwrap_or_default().trim().to_owned())
        }
        Raw::List(items) => Content::List(items.into_iter().map(|item| settle(file, item)).collect()),
        Raw::Map(entries) => Content::Map(
            entries
                .into_iter()
                .map(|(key, value)| {
                    let key =
                        Key { span: yaml::span_of(file, key.referenced).unwrap_or(0..0), text: key.value };
                    (key, settle(file, value))
                })
                .collect(),
        ),
    };
    Node { span: place, content }
}

impl<'de> Deserialize<'de> for Raw {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(RawVisitor)
    }
}

struct RawVisitor;

impl<'de> Visitor<'de> for RawVisitor {
    type Value = Raw;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("any value")
    }

    fn visit_bool<E>(self, _: bool) -> Result<Raw, E> {
        Ok(Raw::Plain)
    }

    fn visit_i64<E>(self, _: i64) -> Result<Raw, E> {
        Ok(Raw::Plain)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Raw, E> {
        Ok(Raw::Plain)
    }

    fn visit_i128<E>(self, _: i128) -> Result<Raw, E> {
        Ok(Raw::Plain)
    }

    fn visit_u128<E>(self, _: u128) -> Result<Raw, E> {
        Ok(Raw::Plain)
    }

    fn visit_f64<E>(self, _: f64) -> Result<Raw, E> {
        Ok(Raw::Plain)
    }

    fn visit_str<E>(self, text: &str) -> Result<Raw, E> {
        Ok(Raw::Text(text.to_owned()))
    }

    fn visit_unit<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }

    fn visit_none<E>(self) -> Result<Raw, E> {
        Ok(Raw::Nothing)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Raw, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = seq.next_element()? {
            items.push(item);
        }
        Ok(Raw::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Raw, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
        }
        Ok(Raw::Map(entries))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(text: &str) -> Result<Node, Problem> {
        parse(&TextFile::new("t.yaml", text))
    }

    fn shape(node: &Node) -> String {
        match &node.content {
            Content::Nothing => "-".to_owned(),
            Content::Text(text) => format!("{text:?}@{}", node.span.start),
            Content::List(items) => format!("[{}]", items.iter().map(shape).collect::<Vec<_>>().join(" ")),
            Content::Map(entries) => {
                let entries: Vec<String> = entries
                    .iter()
                    .map(|(key, value)| format!("{}@{}={}", key.text, key.span.start, shape(value)))
                    .collect();
                format!("{{{}}}", entries.join(" "))
            }
        }
    }

    #[test]
    fn everything_keeps_its_spelling_and_place() {
        let text = "a: 007\nb: [yes, 1.50, .nan, \"x: y\", 1e999]\nc:\nä: 2026-09-01\na: 99999999999999999999999999\n2026-10-01: none\nd: &n {e: 0x10}\nf: *n\n";
        insta::assert_snapshot!(shape(&tree(text).unwrap()), @r#"{a@0="007"@3 b@7=["yes"@11 "1.50"@16 ".nan"@22 "x: y"@28 ".inf"@36] c@43=- ä@46="2026-09-01"@50 a@61="99999999999999999999999999"@64 2026-10-01@91="none"@103 d@108={e@115="0x10"@118} f@124={e@127="0x10"@127}}"#);
    }

    #[test]
    fn empty_files_say_so() {
        for text in ["", "# only a comment\n", "---\n", "\u{feff}"] {
            assert_eq!(tree(text).unwrap_err().message(), "there is nothing in this file", "{text:?}");
        }
    }
}
