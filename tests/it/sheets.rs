//! Sheets to print: what stands on them, word for word and number for number.

use crate::sample::{date, plan, term};
use sowtide::domain::calendar::{DateSpan, Week};
use sowtide::domain::site::Site;
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::report::sheets::{Days, Kind, Paper, Wish, cell_stays, files};
use std::collections::HashSet;

/// Every kind of sheet there is.
pub(crate) const ALL_KINDS: &[Kind] = &[Kind::Sowing];

/// A wish for these kinds of sheets for all days of a term.
pub(crate) fn whole_term(term: &Term, kinds: &[Kind], paper: Paper) -> Wish {
    let days = Days::Term(DateSpan { first: term.start, last: term.end });
    Wish { days, kinds: kinds.to_vec(), paper, units: Units::Metric }
}

/// What stands in an HTML file, one line a block, without its styles.
pub(crate) fn words(html: &str) -> String {
    let body = html.split_once("<body>").unwrap().1;
    let mut text = String::new();
    let mut rest = body;
    while let Some((before, after)) = rest.split_once('<') {
        text.push_str(before);
        let (tag, after) = after.split_once('>').unwrap();
        let name = tag.trim_start_matches('/').split(' ').next().unwrap();
        match name {
            "b" | "strong" | "em" => {}
            "td" | "th" | "dt" | "dd" | "span" | "text" => text.push(' '),
            _ => text.push('\n'),
        }
        rest = after;
    }
    let lines = text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    let lines: Vec<String> = lines.filter(|line| !line.is_empty()).collect();
    lines.join("\n").replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
        + "\n"
}

fn all_sites(term: &Term) -> Vec<&Site> {
    term.sites.iter().collect()
}

/// All sheets of one kind of the stored plan.
fn sheets(kind: Kind) -> String {
    let term = term();
    let files = files(&term, &plan(), &all_sites(&term), &whole_term(&term, &[kind], Paper::A4));
    let texts: Vec<String> =
        files.iter().map(|file| format!("===== {}\n{}", file.name, words(&file.html))).collect();
    texts.join("\n")
}

#[test]
fn sowing_sheets() {
    insta::assert_snapshot!(sheets(Kind::Sowing));
}

#[test]
fn a_week_without_work_is_told() {
    let term = term();
    let wish = Wish {
        days: Days::Week(Week::of(date("2026-10-12"))),
        ..whole_term(&term, &[Kind::Sowing], Paper::Letter)
    };
    let files = files(&term, &plan(), &all_sites(&term), &wish);
    let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["2026-W42-hall.html", "2026-W42-room-4.html"]);
    assert!(files.iter().all(|file| words(&file.html).contains("Nothing to do on these days")));
}

/// Two batches never share a cell, and no cell is beyond the nursery.
#[test]
fn every_plug_has_a_cell_of_its_own() {
    let (term, plan) = (term(), plan());
    for site in &term.sites {
        let stays = cell_stays(&term, &plan, site);
        let batches = || plan.batches.iter().filter(|batch| batch.site == site.id);
        for batch in batches().filter(|batch| !batch.standing) {
            assert_eq!(stays[&batch.id].cells.len() as u32, batch.plugs);
        }
        for day in (DateSpan { first: term.start, last: term.end }).days() {
            let there = batches().filter(|batch| batch.sown <= day).filter_map(|batch| stays.get(&batch.id));
            let cells: Vec<u32> = there.flat_map(|stay| stay.on(day)).copied().collect();
            assert_eq!(cells.iter().collect::<HashSet<_>>().len(), cells.len(), "{} on {day}", site.id);
            assert!(cells.iter().all(|cell| (1..=site.nursery.cells).contains(cell)));
        }
    }
}
