//! Tank care and days off as a browser prints them.

use super::browser;
use super::needs::{PAPER, first_or_all};
use crate::sample::{plan, term};
use crate::support::sheets::whole_term;
use sowtide::report::sheets::{Kind, Paper, files};

checks! {
    PAPER =>
        small_sheets_fit_one_page;
}

/// A site with one tank needs one page for each sheet, on both papers.
fn small_sheets_fit_one_page() {
    let (term, plan) = (term(), plan());
    let sites: Vec<_> = term.sites.iter().collect();
    for &paper in first_or_all(&[Paper::Letter, Paper::A4]) {
        for kind in [Kind::Care, Kind::Before, Kind::After] {
            for file in files(&term, &plan, &sites, &whole_term(&term, &[kind], paper)) {
                let sheets = file.html.matches("<h1>").count();
                assert!(sheets > 0, "{} has no sheet", file.name);
                assert_eq!(browser::print(&file.html).len(), sheets, "{} on {paper:?}", file.name);
            }
        }
    }
}
