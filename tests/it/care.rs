//! Sheets for tank care, for days off and for the order, word for word.

use crate::sample::{date, plan, term};
use crate::sheets::{all_sites, sheets, words};
use crate::support::sheets::whole_term;
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::report::sheets::{Kind, Paper, Wish, files};

#[test]
fn tank_care_sheets() {
    insta::assert_snapshot!(sheets(Kind::Care));
}

#[test]
fn sheets_before_days_off() {
    insta::assert_snapshot!(sheets(Kind::Before));
}

#[test]
fn sheets_after_days_off() {
    insta::assert_snapshot!(sheets(Kind::After));
}

#[test]
fn order_list() {
    let term = Term { supplies: crate::order::supplies(), serving_grams: Some(20.0), ..term() };
    let wish = whole_term(&term, &[Kind::Order], Paper::A4);
    let files = files(&term, &plan(), &all_sites(&term), &wish);
    assert_eq!(files.len(), 1);
    insta::assert_snapshot!(words(&files[0].html));
}

/// Without a word about supplies there is still a list, in the units of the reader.
#[test]
fn order_list_in_us_units() {
    let term = term();
    let wish = Wish { units: Units::Us, ..whole_term(&term, &[Kind::Order], Paper::Letter) };
    let text = words(&files(&term, &plan(), &all_sites(&term), &wish)[0].html);
    for line in ["14 seeds", "59 gal", "10.6 gal", "No nutrient is listed", "Write the whole reservoir"] {
        assert!(text.contains(line), "{line} is not in\n{text}");
    }
    assert!(!text.contains("Cost:") && !text.contains("litres of"), "{text}");
}

/// A closed day or two need no sheets; three in a row do.
#[test]
fn only_long_absences_get_sheets() {
    let mut term = term();
    let plan = plan();
    for (last, sheets) in [("2026-09-22", 0), ("2026-09-23", 0), ("2026-09-24", 1)] {
        for site in &mut term.sites {
            let span = DateSpan { first: date("2026-09-22"), last: date(last) };
            site.class_days = term_days(&["2026-09-14", "2026-09-21", "2026-09-25"]);
            site.days_off = vec![DaysOff { name: "closed".to_owned(), span, kind: DaysOffKind::Closure }];
        }
        let wish = whole_term(&term, &[Kind::Before, Kind::After], Paper::A4);
        for file in files(&term, &plan, &all_sites(&term), &wish) {
            let text = words(&file.html);
            assert_eq!(text.matches("How long the water lasts").count(), sheets, "{last}");
            assert_eq!(text.matches("What you find").count(), sheets, "{last}");
        }
    }
}

fn term_days(days: &[&str]) -> Vec<chrono::NaiveDate> {
    days.iter().map(|day| date(day)).collect()
}

/// Where a tank holds too little for an absence, the sheet says so.
#[test]
fn water_that_does_not_last_is_told() {
    let mut term = term();
    term.sites[0].tanks[0].usable_litres = 5.0;
    let wish = whole_term(&term, &[Kind::Before], Paper::A4);
    let text = words(&files(&term, &plan(), &all_sites(&term), &wish)[0].html);
    assert!(text.contains("Tue 13 Oct, TOO SHORT"), "{text}");
}
