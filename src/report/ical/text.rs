//! Text as iCalendar files hold it: escaped, and folded by octets.

use ics::escape_text;

/// Octets in a content line, its break not counted (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// Text with line ends of one kind and without other control characters, which have no place in a calendar
/// (RFC 5545, 3.3.11). The separators of Unicode would end a line for some readers.
pub(super) fn clean(text: &str) -> String {
    text.replace("\r\n", "\n")
        .chars()
        .filter_map(|c| match c {
            '\r' | '\n' | '\u{2028}' | '\u{2029}' => Some('\n'),
            '\t' => Some(' '),
            _ if c.is_control() => None,
            _ => Some(c),
        })
        .collect()
}

/// A value of type TEXT.
pub(super) fn escaped(text: &str) -> String {
    escape_text(clean(text)).into_owned()
}

/// Some calendar programs show the backslash of an escaped character in a calendar's name, so names go
/// without any character that would need one.
pub(super) fn calendar_name(name: &str) -> String {
    let blank = |c: char| matches!(c, ',' | ';' | '\\') || c.is_control() || c.is_whitespace();
    name.split(blank).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Folds lines anew: the writer forgets that the blank before a continued line counts too.
pub(super) fn refold(calendar: &str) -> String {
    let mut folded = String::with_capacity(calendar.len() + calendar.len() / 40);
    let whole_lines = calendar.replace("\r\n ", "");
    for line in whole_lines.split_terminator("\r\n") {
        let mut octets = 0;
        for c in line.chars() {
            if octets + c.len_utf8() > LINE_OCTETS {
                folded.push_str("\r\n ");
                octets = 1;
            }
            folded.push(c);
            octets += c.len_utf8();
        }
        folded.push_str("\r\n");
    }
    folded
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folded_lines_count_their_blank_and_split_no_character() {
        let value = "ä€😀".repeat(40);
        let folded = refold(&format!("SUMMARY:{value}\r\nEND:X\r\n"));
        assert!(folded.split("\r\n").all(|line| line.len() <= 75));
        assert_eq!(folded.replace("\r\n ", ""), format!("SUMMARY:{value}\r\nEND:X\r\n"));
    }

    #[test]
    fn text_is_escaped_and_names_need_no_escape() {
        assert_eq!(escaped("a, b; c\\d\ne\u{7}"), "a\\, b\\; c\\\\d\\ne");
        assert_eq!(escaped("a\r\nb\rc\td\u{2028}e"), "a\\nb\\nc d\\ne");
        assert_eq!(calendar_name("A, B; C\\D"), "A B C D");
    }
}
