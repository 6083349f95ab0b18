//! What a name or a text may hold: everything that is printed, drawn on a sheet or put into a calendar.
//!
//! Letters of every script are welcome, with the joiners that Persian, many Indian scripts and emoji are written with.
//! Refused are characters nobody sees that change what others see: commands to a terminal, line ends, and orders to
//! read backwards (the controls of the Unicode Bidirectional Algorithm, UAX 9, beyond its harmless marks).

/// Why a text is not fit for people.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Unfit {
    /// It holds no character that can be seen.
    #[error("there is nothing to read in this")]
    Empty,
    /// It holds a character that must not be in it, named by its Unicode number.
    #[error("this holds a hidden character (U+{:04X})", u32::from(*.0))]
    Hidden(char),
}

impl Unfit {
    /// How to mend it.
    pub fn help(self) -> &'static str {
        match self {
            Self::Empty => "write at least one letter or digit",
            Self::Hidden(_) => {
                "type the text anew on one line; hidden characters come along when text is copied"
            }
        }
    }
}

/// Whether `text` is fit for people: one line, something to see, and nothing hidden that changes how it is shown.
///
/// # Errors
/// Why not.
pub fn check(text: &str) -> Result<(), Unfit> {
    if let Some(hidden) = text.chars().find(|c| is_hidden(*c)) {
        return Err(Unfit::Hidden(hidden));
    }
    if text.chars().all(is_unseen) { Err(Unfit::Empty) } else { Ok(()) }
}

/// The same text on one line without what [`check`] refuses, for text that somebody else wrote. May become empty.
pub fn cleaned(text: &str) -> String {
    let blank = |c: char| if c.is_whitespace() { ' ' } else { c };
    let kept: String = text.chars().map(blank).filter(|c| !is_hidden(*c)).collect();
    let line = kept.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().all(is_unseen) { String::new() } else { line }
}

/// Whether a character is a command rather than something to read: to a terminal, to end a line or to change the
/// direction of reading.
pub fn is_hidden(c: char) -> bool {
    c.is_control() || matches!(c, '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Whether a character alone shows nothing: blanks, and what Unicode lists as ignorable by default
/// (`Default_Ignorable_Code_Point`), with the empty Braille cell.
fn is_unseen(c: char) -> bool {
    c.is_whitespace()
        || matches!(
            c,
            '\u{ad}'
                | '\u{34f}'
                | '\u{61c}'
                | '\u{115f}'
                | '\u{1160}'
                | '\u{17b4}'
                | '\u{17b5}'
                | '\u{180b}'..='\u{180f}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2060}'..='\u{206f}'
                | '\u{2800}'
                | '\u{3164}'
                | '\u{fe00}'..='\u{fe0f}'
                | '\u{feff}'
                | '\u{ffa0}'
                | '\u{fff0}'..='\u{fffb}'
                | '\u{1bca0}'..='\u{1bca3}'
                | '\u{1d173}'..='\u{1d17a}'
                | '\u{e0000}'..='\u{e0fff}'
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_every_script_are_fit() {
        for text in [
            "Room 12",
            "Häuser & Gärten",
            "می\u{200c}خواهم",
            "क\u{94d}\u{200d}ष",
            "👩\u{200d}🌾 farm",
            "🏴\u{e0067}\u{e007f}",
            "שלום\u{200f}!",
            "don\u{ad}ner",
        ] {
            assert_eq!(check(text), Ok(()), "{text:?}");
            assert_eq!(cleaned(text), text);
        }
    }

    #[test]
    fn what_hides_or_turns_text_is_not() {
        for (text, hidden) in [
            ("a\u{1b}[31mb", '\u{1b}'),
            ("a\u{202e}b", '\u{202e}'),
            ("a\u{2066}b", '\u{2066}'),
            ("a\u{2028}b", '\u{2028}'),
            ("a\u{9b}31mb", '\u{9b}'),
            ("a\nb", '\n'),
            ("a\u{7f}b", '\u{7f}'),
        ] {
            assert_eq!(check(text), Err(Unfit::Hidden(hidden)), "{text:?}");
            assert_eq!(check(&cleaned(text)), Ok(()), "{text:?}");
        }
        assert_eq!(cleaned("a\u{2028}\r\nb\u{202e}c"), "a bc");
        assert_eq!(Unfit::Hidden('\u{202e}').to_string(), "this holds a hidden character (U+202E)");
    }

    #[test]
    fn what_cannot_be_seen_is_empty() {
        for text in ["", "  ", "\u{200b}", "\u{200d}\u{2060}\u{feff}", "\u{3164}", " \u{200e} "] {
            assert_eq!(check(text), Err(Unfit::Empty), "{text:?}");
            assert_eq!(cleaned(text), "");
        }
    }
}
