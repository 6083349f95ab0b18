//! Where lists and maps in brackets end, and where their parts do.

use std::iter::Peekable;
use std::ops::Range;

/// A list or map in brackets.
pub(super) struct Flow {
    /// The bytes between the brackets.
    pub(super) inside: Range<usize>,
    /// The bytes of its parts, from bracket or comma to comma or bracket.
    pub(super) parts: Vec<Range<usize>>,
}

/// Whether what begins at a byte is written in brackets.
pub(super) fn is_flow(text: &str, at: usize) -> bool {
    text[at..].starts_with(['[', '{'])
}

/// The list or map whose opening bracket stands at a byte; `None` if there is none or it is never closed.
pub(super) fn flow(text: &str, open: usize) -> Option<Flow> {
    if !is_flow(text, open) {
        return None;
    }
    let (mut depth, mut before) = (0_u32, ' ');
    let (mut parts, mut part) = (Vec::new(), open + 1);
    let mut chars = text[open..].char_indices().map(|(at, c)| (open + at, c)).peekable();
    while let Some((at, c)) = chars.next() {
        let begins = before.is_whitespace() || matches!(before, '[' | '{' | ',' | ':');
        match c {
            '[' | '{' => depth += 1,
            ']' | '}' => {
                depth -= 1;
                if depth == 0 {
                    // Nothing behind the last comma is no part.
                    if !text[part..at].trim().is_empty() {
                        parts.push(part..at);
                    }
                    return Some(Flow { inside: open + 1..at, parts });
                }
            }
            ',' if depth == 1 => {
                parts.push(part..at);
                part = at + 1;
            }
            '"' | '\'' if begins => skip_quoted(&mut chars, c),
            '#' if before.is_whitespace() => drop(chars.by_ref().find(|(_, c)| *c == '\n')),
            _ => {}
        }
        before = c;
    }
    None
}

/// Goes on behind the end of a text in quotes.
fn skip_quoted(chars: &mut Peekable<impl Iterator<Item = (usize, char)>>, quote: char) {
    while let Some((_, c)) = chars.next() {
        // Two single quotes are one in the text.
        let doubled = c == '\'' && quote == '\'' && chars.next_if(|(_, next)| *next == '\'').is_some();
        if c == quote && !doubled {
            return;
        }
        if c == '\\' && quote == '"' {
            chars.next();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts(text: &str) -> Option<Vec<&str>> {
        let found = flow(text, 0)?;
        Some(found.parts.into_iter().map(|part| text[part].trim()).collect())
    }

    #[test]
    fn parts_are_told_by_commas_outside_of_everything() {
        assert_eq!(parts("[a, b ] , c"), Some(vec!["a", "b"]));
        assert_eq!(parts("[]"), Some(vec![]));
        assert_eq!(parts("{ a: [1, 2], b: { c: 3, d: 4 }, }"), Some(vec!["a: [1, 2]", "b: { c: 3, d: 4 }"]));
        assert_eq!(
            parts(r#"[ "x, ]\"", 'it''s, ]', o'c, d]"#),
            Some(vec![r#""x, ]\"""#, "'it''s, ]'", "o'c", "d"])
        );
        assert_eq!(parts("[ a, # one, ]\n  b ]"), Some(vec!["a", "# one, ]\n  b"]));
        assert_eq!(parts("[ a, b"), None);
        assert_eq!(parts("a, b]"), None);
    }
}
