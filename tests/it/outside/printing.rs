//! Sheets as a browser prints them.

use super::browser;
use crate::sample::{plan, term};
use crate::sheets::{ALL_KINDS, whole_term};
use sowtide::report::sheets::{Paper, files};

/// Every sheet of the stored plan, on both papers: whole pages of the right size, each with its number, none empty.
#[test]
fn every_sheet_prints_on_letter_and_a4() {
    let (term, plan) = (term(), plan());
    let sites: Vec<_> = term.sites.iter().collect();
    for paper in [Paper::Letter, Paper::A4] {
        let (short, long) = paper.millimetres();
        for file in files(&term, &plan, &sites, &whole_term(&term, ALL_KINDS, paper)) {
            let pages = browser::print(&file.html);
            assert!(!pages.is_empty(), "{}", file.name);
            for (number, page) in (1..).zip(&pages) {
                let name = format!("{} on {paper:?}, page {number}", file.name);
                let sideways = page.width > page.height;
                let size = if sideways { (long, short) } else { (short, long) };
                assert!(page.measures(size), "{name}: {} x {} points", page.width, page.height);
                let counted = format!("page {number} of {}", pages.len());
                assert!(page.text.contains(&counted), "{name} lacks \"{counted}\":\n{}", page.text);
                // Header, footer and number alone are some ninety letters.
                assert!(page.text.len() > 150, "{name} is empty:\n{}", page.text);
            }
        }
    }
}
