//! Texts that a spreadsheet program would take for formulas, defused so that nothing is lost.
//!
//! Anybody may have typed a text, and a formula can fetch, send and start things on the computer of whoever opens the
//! file. A text that begins like one gets an apostrophe in front, and so does one that begins with apostrophes before
//! that: then each text can be told from each other one again. As a program may divide lines where we did not, the same
//! is done behind every character that parts cells somewhere.

/// What formulas begin with, their full-width forms, and what programs skip before them; as in OWASP's advice on CSV
/// injection.
const SIGNS: [char; 11] =
    ['=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// Characters that part cells.
const PARTS: [char; 3] = [',', ';', '\t'];

const MARK: char = '\'';

/// The text as it may stand in a cell.
pub(super) fn defused(text: &str) -> String {
    changed(text, |safe, rest| {
        safe.push(MARK);
        safe.push_str(rest);
    })
}

/// The text that a cell stands for. One that nobody defused stays as it is.
pub(super) fn meant(cell: &str) -> String {
    changed(cell, |text, rest| text.push_str(rest.strip_prefix(MARK).unwrap_or(rest)))
}

/// The text with every piece changed that may be taken for a formula, from its first mark or sign on.
fn changed(text: &str, change: impl Fn(&mut String, &str)) -> String {
    let mut all = String::with_capacity(text.len() + 1);
    for piece in text.split_inclusive(PARTS) {
        let rest = piece.trim_start_matches(' ');
        all.push_str(&piece[..piece.len() - rest.len()]);
        if rest.trim_start_matches(MARK).starts_with(SIGNS) {
            change(&mut all, rest);
        } else {
            all.push_str(rest);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::cases;
    use proptest::prelude::*;

    #[test]
    fn formulas_are_defused_and_other_texts_left_alone() {
        for (text, cell) in [
            ("=1+1", "'=1+1"),
            ("'=1+1", "''=1+1"),
            ("''@now", "'''@now"),
            ("-5 °C at night", "'-5 °C at night"),
            ("\u{ff1d}1", "'\u{ff1d}1"),
            ("slugs;=1", "slugs;'=1"),
            ("slugs, '+1", "slugs, ''+1"),
            ("'tis dry", "'tis dry"),
            ("pH 5.8 - 6.2, see a=b", "pH 5.8 - 6.2, see a=b"),
            ("", ""),
        ] {
            assert_eq!(defused(text), cell);
            assert_eq!(meant(&defused(text)), text);
        }
        assert_eq!(meant("=1+1"), "=1+1");
    }

    proptest! {
        #![proptest_config(cases::few(256, "tests/proptest-regressions/src"))]

        #[test]
        fn every_text_comes_back(text in "[ '=+@,;\ta\u{ff1d}-]{0,12}") {
            let cell = defused(&text);
            prop_assert_eq!(meant(&cell), text);
            for piece in cell.split(PARTS) {
                prop_assert!(!piece.trim_start_matches(' ').starts_with(SIGNS), "{:?}", cell);
            }
        }
    }
}
