//! YAML text to values, with the parser's complaints put into plain words.

use super::problem::{Problem, TextFile, suggest};
use serde::Deserialize;
use serde::de::{DeserializeOwned, Deserializer, Error as _, Unexpected};
use serde_yaml::{Error, Location};
use std::ops::Range;

/// Reads a file's text. The first complaint ends the reading.
///
/// # Errors
/// If the text is no YAML or does not fit `T`, with the place concerned.
pub fn from_text<T: DeserializeOwned>(file: &TextFile) -> Result<T, Problem> {
    serde_yaml::from_str_with_options(file.text(), options()).map_err(|error| placed(file, &error))
}

/// Values in a file that sowtide writes itself. The largest, of terms with dozens of sites, have about a tenth of it.
const MOST_VALUES: usize = 1_000_000;

/// The format of a file of which there is one so far; `other` is what a file of another one would be.
///
/// # Errors
/// If it is of another one.
pub(super) fn only_format<'de, D: Deserializer<'de>>(from: D, other: &str) -> Result<u32, D::Error> {
    let format = u32::deserialize(from)?;
    if format == 1 {
        return Ok(format);
    }
    let known = "format: 1, the only one known here; a newer sowtide may have written this file";
    Err(D::Error::invalid_value(Unexpected::Other(other), &known))
}

/// How files are read that sowtide writes itself: as [`options`], but they may be long.
pub(super) fn long_options() -> serde_yaml::Options {
    let mut options = options();
    if let Some(budget) = &mut options.budget {
        budget.max_nodes = MOST_VALUES;
        budget.max_events = 2 * MOST_VALUES;
    }
    options
}

/// How every file is read. The limits stand far above any real file and keep a hostile one from using
/// up memory or stack.
pub(super) fn options() -> serde_yaml::Options {
    serde_yaml::options! {
        with_snippet: false,
        strict_booleans: true,
        budget: serde_yaml::budget! {
            max_depth: 40,
            flow_nesting_limit: 40,
            max_nodes: 100_000,
            max_documents: 2,
            max_aliases: 1_000,
        },
    }
}

/// The bytes a parser's location speaks of.
pub(super) fn bytes(location: Location) -> Option<Range<usize>> {
    let span = location.span();
    let start = usize::try_from(span.byte_offset()?).ok()?;
    let length = usize::try_from(span.byte_len().unwrap_or(0)).ok()?;
    Some(start..start.saturating_add(length))
}

/// The parser's complaint as one of ours.
pub(super) fn placed(file: &TextFile, error: &Error) -> Problem {
    let error = error.without_snippet();
    let (title, help) = words(error);
    match error.location().and_then(|location| span_of(file, location)) {
        Some(span) => file.problem(at_fault(file, error, span), title, help),
        None => file.whole_problem(title, help),
    }
}

/// A stray tab is reported where the value before it begins; people look for the tab itself.
fn at_fault(file: &TextFile, error: &Error, span: Range<usize>) -> Range<usize> {
    let tab = match error {
        Error::ExternalMessage { msg, .. } if msg.contains("tab") => {
            file.text().get(span.start..).and_then(|rest| rest.find('\t'))
        }
        _ => None,
    };
    tab.map_or(span.clone(), |offset| span.start + offset..span.start + offset + 1)
}

/// The bytes a location speaks of; where the parser only knows line and column, the character there.
pub(super) fn span_of(file: &TextFile, location: Location) -> Option<Range<usize>> {
    if let Some(span) = bytes(location) {
        return Some(span);
    }
    let line = usize::try_from(location.line()).ok()?.checked_sub(1)?;
    let column = usize::try_from(location.column()).ok()?.saturating_sub(1);
    let text = file.text();
    let from = match line {
        0 => 0,
        _ => text.match_indices('\n').nth(line - 1)?.0 + 1,
    };
    let rest = text[from..].split('\n').next().unwrap_or("");
    let at = from + rest.char_indices().nth(column).map_or(rest.len(), |(at, _)| at);
    Some(at..(at + 1).min(text.len()))
}

fn words(error: &Error) -> (String, String) {
    let (title, help) = match error {
        Error::SerdeUnknownField { field, expected, .. } => {
            return (format!("unknown key \"{field}\""), suggest(field, expected.iter().copied()));
        }
        Error::SerdeUnknownVariant { variant, expected, .. } => {
            return (format!("\"{variant}\" is not known here"), suggest(variant, expected.iter().copied()));
        }
        Error::SerdeMissingField { field, .. } => {
            return (format!("\"{field}\" is missing here"), format!("add a line \"{field}: ...\""));
        }
        Error::DuplicateMappingKey { key, .. } => {
            let key = key.as_deref().unwrap_or("this key");
            return (format!("\"{key}\" is given twice"), "keep only one of them".to_owned());
        }
        Error::SerdeInvalidType { unexpected, expected, .. }
        | Error::SerdeInvalidValue { unexpected, expected, .. } => {
            return (
                format!("{} cannot stand here", plain(unexpected)),
                format!("write {}", plain(expected)),
            );
        }
        Error::Eof { .. } => ("nothing is written here", "the file is empty or ends too early"),
        Error::NullIntoString { .. } => ("the value is missing", "write it after the colon"),
        Error::MultipleDocuments { .. } => {
            ("a second document starts here", "remove the line with --- and what follows it")
        }
        Error::UnknownAnchor { .. } => (
            "* refers to something that is not defined above",
            "put the text into quotes if the star is meant to be read",
        ),
        Error::Budget { .. }
        | Error::AliasReplayLimitExceeded { .. }
        | Error::AliasExpansionLimitExceeded { .. }
        | Error::AliasReplayStackDepthExceeded { .. } => {
            ("this is nested or repeated far too much", "check that it is the right file")
        }
        Error::InvalidScalar { ty, .. } if ty.starts_with(['u', 'i']) => {
            ("this is not a whole number in range", "write digits only, such as 12")
        }
        Error::InvalidScalar { ty: "floating point", .. } => {
            ("this is not a number", "write it with a decimal point, such as 1.6")
        }
        Error::InvalidScalar { .. } | Error::InvalidBooleanStrict { .. } => {
            ("this can only be true or false", "write true or false")
        }
        Error::Unexpected { expected, .. } => {
            return (
                format!("this value does not fit here, {} was expected", plain(expected)),
                "check the indentation of this line and the one above".to_owned(),
            );
        }
        Error::ExternalMessage { msg, .. } => return ill_formed(msg),
        _ => ("this cannot be read", "compare with the examples"),
    };
    (title.to_owned(), help.to_owned())
}

/// The parser's word for a kind of value, as people would say it.
fn plain(word: &str) -> String {
    const KINDS: [(&str, &str); 12] = [
        ("string scalar", "a single value"),
        ("scalar", "a single value"),
        ("sequence start", "a list"),
        ("sequence end", "the end of a list"),
        ("sequence", "a list"),
        ("a sequence", "a list"),
        ("mapping start", "keys with values, each on a line such as \"key: value\","),
        ("mapping end", "the end of the keys here"),
        ("map", "a group of keys with values"),
        ("unit value", "nothing"),
        ("newtype struct", "a group of keys with values"),
        ("a string", "text"),
    ];
    if let Some((_, plain)) = KINDS.iter().find(|(kind, _)| *kind == word) {
        return (*plain).to_owned();
    }
    if word.starts_with("struct ") {
        return "keys with values".to_owned();
    }
    let lead = ["string ", "integer ", "floating point ", "boolean ", "character "];
    match lead.iter().find_map(|lead| word.strip_prefix(lead)) {
        Some("`NaN`") => "something that is no number".to_owned(),
        Some(value) => value.replace('`', "\""),
        None => word.to_owned(),
    }
}

/// Words for text that is no YAML at all.
fn ill_formed(parser_words: &str) -> (String, String) {
    let (title, help) = if parser_words.contains("tab") {
        ("a tab stands where spaces are needed", "replace every tab by spaces")
    } else if ["nest", "recursion", "budget"].iter().any(|word| parser_words.contains(word)) {
        ("this is nested or repeated far too much", "check that it is the right file")
    } else if parser_words.contains("mapping values are not allowed") {
        (
            "there is a second colon in this line",
            "put a text that holds a colon in quotes, or begin a new line",
        )
    } else if parser_words.contains("simple key") || parser_words.contains("expected ':'") {
        ("a colon is missing here or in the line above", "write \"key: value\", and long texts in quotes")
    } else if parser_words.contains("unclosed quote") {
        ("this quotation mark is never closed", "write another one at the end of the text")
    } else if parser_words.contains("quote") || parser_words.contains("scalar") {
        (
            "a text in quotes does not end, or begins in a way that needs quotes",
            "put the whole text into quotes",
        )
    } else {
        (
            "this line does not fit what stands above it",
            "check the indentation, that every key ends with a colon and a space, and that quotes and brackets are closed",
        )
    };
    (title.to_owned(), help.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde::Deserialize;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code, reason = "only errors are looked at")]
    struct Bed {
        holes: u32,
        name: String,
    }

    fn complaint(text: &str) -> String {
        let problem = from_text::<Bed>(&TextFile::new("bed.yaml", text)).unwrap_err();
        let place = (problem.line().unwrap_or(0), problem.column().unwrap_or(0));
        format!("{}:{} {} | {}", place.0, place.1, problem.message(), problem.help())
    }

    #[test]
    fn complaints_are_placed_and_plain() {
        let all: Vec<String> = [
            "holes: 3\nnmae: x\n",
            "holes: many\nname: x\n",
            "holes: -1\nname: x\n",
            "holes: 1\nname: x\nholes: 2\n",
            "holes: 1\n",
            "holes: 1\nname:\n",
            "holes: [1\nname: x\n",
            "holes: 1\n\tname: x\n",
            "holes: 1\nname: *x\n",
            "",
            "holes: 1\nname: x\n---\nholes: 2\n",
        ]
        .into_iter()
        .map(complaint)
        .collect();
        insta::assert_snapshot!(all.join("\n"), @r#"
        2:1 unknown key "nmae" | did you mean "name"?
        1:8 this is not a whole number in range | write digits only, such as 12
        1:8 this is not a whole number in range | write digits only, such as 12
        3:1 "holes" is given twice | keep only one of them
        1:1 "name" is missing here | add a line "name: ..."
        2:5 the value is missing | write it after the colon
        1:8 this value does not fit here, a single value was expected | check the indentation of this line and the one above
        2:1 a tab stands where spaces are needed | replace every tab by spaces
        2:7 * refers to something that is not defined above | put the text into quotes if the star is meant to be read
        1:1 nothing is written here | the file is empty or ends too early
        4:1 a second document starts here | remove the line with --- and what follows it
        "#);
    }

    #[test]
    fn no_word_of_the_parser_is_told() {
        for text in [
            "holes: 1\nname\n",
            "holes: 1\nname: \"x\n",
            "holes: 1\nname: 'x\n",
            "holes: 1\n  name: x\n",
            "- holes: 1\n",
            "holes\n",
            "holes: 1\nname: {a: b}\n",
            "holes: .nan\nname: x\n",
            "holes: 1\nname: [x\n",
            "holes: 1\nname: @x\n",
            "holes: 1\nname: \"\\q\"\n",
            "? [a]\n: x\n",
            "%YAML 9\n",
            "holes: 1\nname: |x\n  a\n",
            "holes: &a 1\nname: !!int x\n",
        ] {
            let told = complaint(text);
            for word in [
                "mapping",
                "simple key",
                "scalar",
                "sequence",
                "floating",
                "parsing",
                "token",
                "budget",
                "block",
            ] {
                assert!(!told.contains(word), "{text:?}: {told}");
            }
        }
        let many: String = "- 7\n".repeat(200_000);
        let told = from_text::<Vec<u32>>(&TextFile::new("a.yaml", &many)).unwrap_err();
        assert_eq!(told.message(), "this is nested or repeated far too much");
    }

    #[test]
    fn deep_nesting_ends_in_a_complaint() {
        let complaint = complaint(&"[".repeat(50_000));
        assert!(complaint.contains("nested"), "{complaint}");
    }
}
