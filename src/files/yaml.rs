//! YAML text to values, with the parser's complaints put into plain words.

use super::problem::{Problem, TextFile, suggest};
use serde::de::DeserializeOwned;
use serde_yaml::{Error, Location};
use std::ops::Range;

/// Reads a file's text. The first complaint ends the reading.
///
/// # Errors
/// If the text is no YAML or does not fit `T`, with the place concerned.
pub fn from_text<T: DeserializeOwned>(file: &TextFile) -> Result<T, Problem> {
    serde_yaml::from_str_with_options(file.text(), options()).map_err(|error| placed(file, &error))
}

/// How every file is read. The limits stand far above any real file and keep a hostile one from using
/// up memory or stack.
pub fn options() -> serde_yaml::Options {
    serde_yaml::options! {
        with_snippet: false,
        strict_booleans: true,
        budget: serde_yaml::budget! {
            max_depth: 40,
            flow_nesting_limit: 40,
            max_nodes: 100_000,
            max_documents: 1,
            max_aliases: 1_000,
        },
    }
}

/// The bytes a parser's location speaks of.
pub fn bytes(location: Location) -> Option<Range<usize>> {
    let span = location.span();
    let start = usize::try_from(span.byte_offset()?).ok()?;
    let length = usize::try_from(span.byte_len().unwrap_or(0)).ok()?;
    Some(start..start.saturating_add(length))
}

/// The parser's complaint as one of ours.
pub fn placed(file: &TextFile, error: &Error) -> Problem {
    let error = error.without_snippet();
    let (title, help) = words(error);
    match error.location().and_then(bytes) {
        Some(span) => file.problem(span, title, help),
        None => file.whole_problem(title, help),
    }
}

fn words(error: &Error) -> (String, String) {
    let (title, help) = match error {
        Error::SerdeUnknownField { field, expected, .. } => {
            return (
                format!("unknown key \"{field}\""),
                suggest(field, expected.iter().copied()),
            );
        }
        Error::SerdeUnknownVariant {
            variant, expected, ..
        } => {
            return (
                format!("\"{variant}\" is not known here"),
                suggest(variant, expected.iter().copied()),
            );
        }
        Error::SerdeMissingField { field, .. } => {
            return (
                format!("\"{field}\" is missing here"),
                format!("add a line \"{field}: ...\""),
            );
        }
        Error::DuplicateMappingKey { key, .. } => {
            let key = key.as_deref().unwrap_or("this key");
            return (
                format!("\"{key}\" is given twice"),
                "keep only one of them".to_owned(),
            );
        }
        Error::SerdeInvalidType {
            unexpected, expected, ..
        }
        | Error::SerdeInvalidValue {
            unexpected, expected, ..
        } => {
            return (
                format!("{unexpected} cannot stand here"),
                format!("write {expected}"),
            );
        }
        Error::Eof { .. } => ("nothing is written here", "the file is empty or ends too early"),
        Error::NullIntoString { .. } => ("the value is missing", "write it after the colon"),
        Error::MultipleDocuments { .. } => (
            "a second document starts here",
            "remove the line with --- and what follows it",
        ),
        Error::UnknownAnchor { .. } => (
            "* refers to something that is not defined above",
            "put the text into quotes if the star is meant to be read",
        ),
        Error::Budget { .. }
        | Error::AliasReplayLimitExceeded { .. }
        | Error::AliasExpansionLimitExceeded { .. }
        | Error::AliasReplayStackDepthExceeded { .. } => (
            "this is nested or repeated far too much",
            "check that it is the right file",
        ),
        Error::InvalidScalar { .. } | Error::InvalidBooleanStrict { .. } | Error::Unexpected { .. } => {
            ("this value does not fit here", "compare with the examples")
        }
        Error::ExternalMessage { msg, .. } => {
            return (
                format!("this is not well-formed: {msg}"),
                "check the indentation, and that every key ends with a colon and a space".to_owned(),
            );
        }
        other => {
            return (
                format!("this cannot be read: {other}"),
                "compare with the examples".to_owned(),
            );
        }
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
        format!(
            "{}:{} {} | {}",
            place.0,
            place.1,
            problem.message(),
            problem.help()
        )
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
        insta::assert_snapshot!(all.join("\n"), @"");
    }

    #[test]
    fn deep_nesting_ends_in_a_complaint() {
        assert!(complaint(&"[".repeat(50_000)).contains("nested"));
    }
}
