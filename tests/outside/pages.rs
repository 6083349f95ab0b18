//! The report page in a real browser: on a phone, on a wide screen and on paper.

use super::browser::{self, Page};
use super::needs::{BROWSER, PAPER, first_or_all};
use crate::sample::{plan, term};
use sowtide::domain::ids::{BatchId, CropId, SiteId};
use sowtide::domain::plan::Plan;
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::report::{Look, page};

checks! {
    BROWSER =>
        the_page_fits_a_phone_and_a_wide_screen_without_complaint;
    PAPER =>
        every_chart_is_whole_on_letter_and_a4;
}

const METRIC: Look = Look { units: Units::Metric, width: 80, colour: false };

/// The stored term and plan with 28 sites beside the two and 22 more kinds of greens, all with long names.
fn large() -> (Term, Plan) {
    let (mut term, mut plan) = (term(), plan());
    let (site, wanted, batches) = (term.sites[0].clone(), term.crops[0].clone(), plan.batches.clone());
    for number in 0..22 {
        let mut copy = wanted.clone();
        copy.crop.id = CropId::new(format!("kind-{number}"));
        copy.crop.name = format!("Kind of lettuce with a rather long name {number}");
        term.crops.push(copy);
    }
    for number in 0..28 {
        let mut copy = site.clone();
        copy.id = SiteId::new(format!("site-{number}"));
        copy.name = format!(
            "Neighbouring school {number} beyond the river, ground floor, room with the long windows"
        );
        for batch in batches.iter().filter(|batch| batch.site == site.id) {
            let mut batch = batch.clone();
            batch.site = copy.id.clone();
            batch.id = BatchId::new(format!("b-{number}-{}", batch.id));
            batch.crop = CropId::new(format!("kind-{}", number % 22));
            plan.batches.push(batch);
        }
        term.sites.push(copy);
    }
    (term, plan)
}

/// A term of a whole year without a plan.
fn long() -> (Term, Plan) {
    let (mut term, mut plan) = (term(), plan());
    term.end = term.start + chrono::Days::new(365);
    plan.batches.clear();
    plan.servings.clear();
    (term, plan)
}

fn cases() -> [(&'static str, (Term, Plan)); 3] {
    [("stored", (term(), plan())), ("a year", long()), ("large", large())]
}

fn the_page_fits_a_phone_and_a_wide_screen_without_complaint() {
    for (name, (term, plan)) in cases() {
        for (width, units) in [(360, Units::Metric), (360, Units::Us), (1400, Units::Metric)] {
            let html = page::html(&term, &plan, &[], None, &Look { units, ..METRIC });
            // The tables below the charts must not widen the page either.
            let html = html.replace("<details>", "<details open>");
            let sight = browser::look(&html, width);
            assert!(sight.width <= f64::from(width), "{name} takes {} of {width}", sight.width);
            assert_eq!((sight.cramped, sight.console), (vec![], vec![]), "{name} at {width}");
        }
    }
}

/// Each chart has one line above its values and one below its days: both must be on the same page.
fn whole(page: &Page, above: &[&str], below: &str) -> bool {
    let count = |words: &str| page.text.matches(words).count();
    above.iter().map(|words| count(words)).sum::<usize>() == count(below)
}

fn every_chart_is_whole_on_letter_and_a4() {
    let papers = [("letter", (215.9, 279.4)), ("A4", (210.0, 297.0))];
    for (name, (term, plan)) in first_or_all(&cases()) {
        let html = page::html(term, plan, &[], None, &METRIC);
        for (paper, size) in first_or_all(&papers) {
            let styled = html.replace("</head>", &format!("<style>@page {{ size: {paper} }}</style></head>"));
            let pages = browser::print(&styled);
            for (number, page) in (1..).zip(&pages) {
                let place = format!("{name}, {paper}, page {number}:\n{}", page.text);
                assert!(page.measures(*size), "{place}");
                assert!(
                    whole(page, &["ready to eat\n", "all sites together"], "week beginning on Monday"),
                    "{place}"
                );
                // Every tank of these terms has 24 holes, every nursery 48 cells.
                assert!(whole(page, &["all 24", "all 48"], "Mondays"), "{place}");
                assert!(!page.text.contains("Figures of this chart"), "{place}");
            }
            let all: String = pages.iter().map(|page| page.text.as_str()).collect();
            assert_eq!(all.matches("Mondays").count(), 2 * term.sites.len(), "{name}");
            assert_eq!(all.matches("week beginning on Monday").count(), 2, "{name}");
        }
    }
}
