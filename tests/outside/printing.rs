//! Sheets as a browser prints them.

use super::browser::{self, Page};
use super::needs::{PAPER, first_or_all};
use crate::sample::{journal, plan, term};
use crate::support::sheets::whole_term;
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::replan::review::review;
use sowtide::report::Look;
use sowtide::report::review::wall;
use sowtide::report::sheets::{
    Kind, LabelFor, LabelGrid, LabelPaper, LabelWish, Paper, PrintFile, Wish, files,
};

checks! {
    PAPER =>
        every_sheet_prints_on_letter_and_a4,
        large_lids_and_long_names_stay_on_the_paper,
        labels_fill_their_paper,
        the_page_for_the_wall_prints_on_letter_and_a4;
}

/// Every kind of sheet there is.
const ALL_KINDS: &[Kind] = &[
    Kind::Harvest,
    Kind::Transplant,
    Kind::Sowing,
    Kind::Labels,
    Kind::Term,
    Kind::Care,
    Kind::Before,
    Kind::After,
    Kind::Order,
];

const PAPERS: [Paper; 2] = [Paper::Letter, Paper::A4];

fn all_files(term: &Term, wish: &Wish) -> Vec<PrintFile> {
    files(term, &plan(), &term.sites.iter().collect::<Vec<_>>(), wish)
}

/// Whole pages of the right size, each with its number, none empty, nothing beyond the paper.
fn are_sound(name: &str, pages: &[Page], paper: Paper) {
    let (short, long) = paper.millimetres();
    assert!(!pages.is_empty(), "{name}");
    for (number, page) in (1..).zip(pages) {
        let name = format!("{name} on {paper:?}, page {number}");
        let sideways = page.width > page.height;
        let size = if sideways { (long, short) } else { (short, long) };
        assert!(page.measures(size), "{name}: {} x {} points", page.width, page.height);
        let counted = format!("page {number} of {}", pages.len());
        assert!(page.text.contains(&counted), "{name} lacks \"{counted}\":\n{}", page.text);
        // Header, footer and number alone are some hundred letters.
        assert!(page.text.len() > 150, "{name} is empty:\n{}", page.text);
        assert!(page.keeps_to_the_paper(), "{name} goes beyond the paper:\n{}", page.text);
    }
}

fn every_sheet_prints_on_letter_and_a4() {
    let term = term();
    for &paper in first_or_all(&PAPERS) {
        for file in all_files(&term, &whole_term(&term, ALL_KINDS, paper)) {
            are_sound(&file.name, &browser::print(&file.html), paper);
        }
    }
}

/// A lid far wider than the paper, and names longer than any line.
fn large_lids_and_long_names_stay_on_the_paper() {
    let mut term = term();
    let lid = &mut term.sites[0].tanks[0].lid;
    (lid.rows, lid.columns) = (14, 30);
    let name = "The very long hall of the upper north wing, behind the second garden, ".repeat(2);
    term.sites[0].name.clone_from(&name);
    term.crops[1].crop.name = format!("{name} </style><b>lettuce</b>");
    let holes = term.sites[0].tanks[0].lid.holes();
    let kinds = &[Kind::Transplant, Kind::Harvest, Kind::Term];
    for file in all_files(&term, &whole_term(&term, kinds, Paper::A4)) {
        let pages = browser::print(&file.html);
        are_sound(&file.name, &pages, Paper::A4);
        if file.name.contains("hall") {
            let words: Vec<&str> = pages.iter().flat_map(|page| page.text.split_whitespace()).collect();
            assert!((1..=holes).all(|hole| words.contains(&hole.to_string().as_str())), "{}", file.name);
        }
    }
}

/// A page of label paper takes as many labels as it has, no more and no less.
fn labels_fill_their_paper() {
    let term = term();
    for (paper, columns, rows) in [(Paper::Letter, 2, 5), (Paper::A4, 3, 7), (Paper::A4, 5, 13)] {
        let grid = LabelGrid::common(paper, columns, rows).unwrap();
        let labels = LabelWish { paper: LabelPaper::Grid(grid), one_for: LabelFor::EachPlant };
        let wish = Wish { labels, ..whole_term(&term, &[Kind::Labels], paper) };
        let file = &all_files(&term, &wish)[0];
        let pages = browser::print(&file.html);
        let count = |text: &str| text.matches("harvest from").count();
        let printed: Vec<usize> = pages.iter().map(|page| count(&page.text)).collect();
        let all = vec![(); count(&file.html)];
        let expected: Vec<usize> = all.chunks((columns * rows) as usize).map(<[()]>::len).collect();
        assert_eq!(printed, expected, "{columns} x {rows} on {paper:?}");
        assert!(pages.iter().all(Page::keeps_to_the_paper));
    }
}

fn the_page_for_the_wall_prints_on_letter_and_a4() {
    let (mut term, plan) = (term(), plan());
    let review = review(&term, (&plan, &[]), &journal(), term.end);
    term.sites[0].name = "The very long hall of the upper north wing, behind the second garden, ".repeat(2);
    let look = Look { units: Units::Metric, width: 80, colour: false };
    for &paper in first_or_all(&PAPERS) {
        are_sound("review", &browser::print(&wall::page(&term, &plan, &review, &look, paper)), paper);
    }
}
