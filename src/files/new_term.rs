//! A term file to start from.

use super::problem::{Problem, Problems};
use super::store::Store;
use super::term_file::FILE_NAME;
use crate::domain::calendar::{Week, plus_days};
use chrono::{Days, NaiveDate};
use std::io;

const TEMPLATE: &str = include_str!("new_term.yaml");

/// Weeks of the term that is suggested.
const WEEKS: u32 = 12;

/// Text of a commented term file of twelve weeks that begins on `start`, with a break in its sixth week.
pub fn text(start: NaiveDate) -> String {
    let monday = Week::of(start).monday();
    // Days counted from the Monday of the first week; Friday of a week is 4 days after its Monday.
    let day = |week: u32, weekday: u32| plus_days(monday, week * 7 + weekday);
    let before = |days: u64| start.checked_sub_days(Days::new(days)).unwrap_or(start);
    let dates = [
        ("{start}", start),
        ("{end}", day(WEEKS - 1, 4)),
        ("{next_start}", day(WEEKS + 1, 0)),
        ("{break_first}", day(5, 0)),
        ("{break_last}", day(5, 4)),
        ("{closure}", day(7, 1)),
        ("{serve_from}", day(6, 4)),
        ("{exception}", day(WEEKS - 1, 4)),
        ("{arrival}", day(1, 1)),
        ("{standing_sown}", before(25)),
        ("{standing_moved}", before(11)),
    ];
    dates.iter().fold(TEMPLATE.to_owned(), |text, (place, date)| text.replace(place, &date.to_string()))
}

/// Writes the term file, in a folder that is made if it is missing.
///
/// # Errors
/// If there is a term file already, or the file cannot be written.
pub fn create(store: &dyn Store, start: NaiveDate) -> Result<(), Problems> {
    store.create(FILE_NAME, text(start).as_bytes()).map_err(|error| {
        let title = match error.kind() {
            io::ErrorKind::AlreadyExists => "there is a term here already; it was left as it is".to_owned(),
            _ => format!("the term cannot be written: {error}"),
        };
        Problem::without_text(store.shown(FILE_NAME), title, "choose another folder").alone()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::store::{Disk, Memory};
    use crate::files::term_file;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn the_term_reads_without_a_mistake_whatever_day_it_starts_on() {
        for start in (0..7).map(|offset| plus_days(day("2028-02-28"), offset)) {
            let store = Memory::new();
            create(&store, start).unwrap();
            let read = term_file::read(&store).unwrap_or_else(|problems| panic!("{problems}"));
            assert_eq!(read.term.start, start);
            assert_eq!(read.term.servings.len(), 6);
            assert_eq!(read.remarks, []);
        }
    }

    /// Notes that show keys must be right when the mark before them is removed. Notes in prose begin
    /// with a capital letter.
    #[test]
    fn the_lines_offered_as_notes_are_right_too() {
        let offered: String = text(day("2027-01-18"))
            .lines()
            .map(|line| match line.split_once("# ") {
                Some((indent, note)) if indent.trim().is_empty() && !note.starts_with(char::is_uppercase) => {
                    format!("{indent}{note}\n")
                }
                _ => format!("{line}\n"),
            })
            .collect();
        // With the line about several tanks alike, the tank has another name.
        let offered = offered.replace("tank: tank ", "tank: tank-1 ");
        let calendar = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nDTSTART;VALUE=DATE:20270201\r\nSUMMARY:Holiday\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";
        let store = Memory::new().with(FILE_NAME, &offered).with("days-off.ics", calendar);
        let read = term_file::read(&store).unwrap_or_else(|problems| panic!("{problems}"));
        assert_eq!(read.term.standing.len(), 1);
        assert!((read.term.sites[0].pace - 1.1).abs() < 1e-9);
        assert!(read.term.sites[0].days_off.iter().any(|off| off.name == "Holiday"));
    }

    #[test]
    fn a_term_that_is_there_is_never_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let inside = Disk::at(folder.path().join("new/folder"));
        create(&inside, day("2027-01-18")).unwrap();
        inside.write(FILE_NAME, b"mine").unwrap();
        let refused = create(&inside, day("2027-01-18")).unwrap_err();
        assert!(refused.to_string().contains("already"), "{refused}");
        assert_eq!(inside.read(FILE_NAME).unwrap().unwrap(), b"mine");
    }
}
