//! A calendar's text as its parser wants it: names in capital letters, and nothing nested deeper than calendars are.

use crate::files::problem::{Problem, TextFile};
use std::ops::Range;

/// How deep the parts of a calendar may lie in one another. An alarm of an entry is the third; the parser's stack does not
/// last for thousands.
const DEEPEST: usize = 20;

/// The text with all names of properties and parts in capital letters, as case means nothing there. Everything keeps its
/// place.
pub(super) fn in_capitals(file: &TextFile) -> Result<String, Problem> {
    let mut text = String::with_capacity(file.text().len());
    let mut depth = 0_usize;
    for line in lines(file.text()) {
        let written = &file.text()[line.clone()];
        let name_ends = written.find([':', ';']).unwrap_or(0);
        let (name, value) = written.split_at(name_ends);
        let name = name.to_ascii_uppercase();
        let bare: String = name.split_whitespace().collect();
        let marks_a_part = matches!(bare.as_str(), "BEGIN" | "END");
        depth = if bare == "BEGIN" { depth + 1 } else { depth.saturating_sub(usize::from(bare == "END")) };
        if depth > DEEPEST {
            let title = "this calendar file is damaged: its parts lie too deep in one another";
            let end = line.start + written.trim_end().len();
            return Err(file.problem(line.start..end, title, "export the calendar anew"));
        }
        text.push_str(&name);
        text.push_str(&if marks_a_part { value.to_ascii_uppercase() } else { value.to_owned() });
    }
    Ok(text)
}

/// The lines with their ends. One that goes on after a line end with a blank, as long ones do, is one.
fn lines(text: &str) -> Vec<Range<usize>> {
    let mut lines: Vec<Range<usize>> = Vec::new();
    let mut start = 0;
    for piece in text.split_inclusive('\n') {
        let end = start + piece.len();
        match lines.last_mut() {
            Some(last) if piece.starts_with([' ', '\t']) => last.end = end,
            _ => lines.push(start..end),
        }
        start = end;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_put_into_capitals_and_all_else_stays() {
        let text = "begin:vcalendar\r\nSummary:my begin:x\r\nBeg\r\n in:Vev\r\n ent\r\ndescription;language=en:a\r\n b:c\r\n";
        let read = in_capitals(&TextFile::new("x.ics", text)).unwrap();
        assert_eq!(
            read,
            "BEGIN:VCALENDAR\r\nSUMMARY:my begin:x\r\nBEG\r\n IN:VEV\r\n ENT\r\nDESCRIPTION;language=en:a\r\n b:c\r\n"
        );
    }

    #[test]
    fn what_is_nested_too_deep_is_told_by_its_line() {
        let nested = |folded: &str| format!("BEGIN:VCALENDAR\n{}", format!("{folded}:A\n").repeat(20));
        for begin in ["BEGIN", "begin", "BEG\n IN"] {
            let problem = in_capitals(&TextFile::new("x.ics", &nested(begin))).unwrap_err();
            let lines = begin.lines().count();
            assert_eq!(problem.line(), Some(2 + 19 * lines), "{begin}");
        }
        let flat = "BEGIN:A\nEND:A\n".repeat(50);
        assert!(in_capitals(&TextFile::new("x.ics", &flat)).is_ok());
    }
}
