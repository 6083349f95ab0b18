//! Every batch with its dates, place and expected mass.

use super::Page;
use crate::domain::growth::Way;
use crate::domain::ids::TankId;
use crate::domain::plan::Batch;
use crate::domain::site::Site;
use crate::report::begin;
use crate::report::words::{crop_name, numbers, short_day};
use chrono::NaiveDate;
use maud::{Markup, html};
use std::collections::{BTreeMap, BTreeSet};

/// Headings of the columns, and whether they hold figures.
const HEAD: [(&str, bool); 9] = [
    ("Batch", false),
    ("Crop", false),
    ("Sow", false),
    ("Plugs x seeds", false),
    ("Move", false),
    ("Plants", true),
    ("Tank: holes", false),
    ("Harvest", false),
    ("Expect", true),
];

pub(super) fn part(page: &Page) -> Markup {
    html! {
        p.lead {
            "A batch is the plants of one crop sown on one day at one site. \u{201c}Pull\u{201d} takes whole plants;              after \u{201c}cut\u{201d} they grow again."
        }
        p.hint.lead { "Move the table sideways to see all of it." }
        div.box tabindex="0" role="group" aria-label="Table of batches" {
            table.batches {
                thead { tr {
                    @for (heading, figures) in HEAD {
                        th scope="col" class=[figures.then_some("n")] { (heading) }
                    }
                } }
                @for site in &page.term.sites { (rows_of_site(page, site)) }
            }
        }
    }
}

fn rows_of_site(page: &Page, site: &Site) -> Markup {
    let batches: Vec<&Batch> = page.plan.batches.iter().filter(|batch| batch.site == site.id).collect();
    html! {
        tbody {
            tr.site { th scope="rowgroup" colspan=(HEAD.len()) { span { (site.name) } } }
            @if batches.is_empty() { tr { td colspan=(HEAD.len()) { "No batch is planned here." } } }
            @for batch in batches { (row(page, batch)) }
        }
    }
}

fn row(page: &Page, batch: &Batch) -> Markup {
    let (sow, plugs) = begin::in_table(batch);
    html! {
        tr {
            th scope="row" { (batch.id) }
            td.crop { (crop_name(page.term, &batch.crop)) }
            td { (sow) }
            td { (plugs) }
            td { (lines(batch.move_days().into_iter().map(short_day))) }
            td.n {
                (batch.plants())
                @if batch.lost() > 0 { br; (batch.lost()) " lost" }
            }
            td.holes { (lines(places(batch).into_iter())) }
            td { (lines(harvests(page, batch).into_iter())) }
            td.n { (page.look.grams(batch.grams())) }
        }
    }
}

/// Each on a line of its own.
fn lines(lines: impl Iterator<Item = String>) -> Markup {
    html! {
        @for (index, line) in lines.enumerate() {
            @if index > 0 { br; }
            (line)
        }
    }
}

/// Every tank with the holes in it.
fn places(batch: &Batch) -> Vec<String> {
    let mut tanks: BTreeMap<&TankId, BTreeSet<u32>> = BTreeMap::new();
    for part in batch.parts.iter().filter(|part| !part.lost_in_nursery()) {
        tanks.entry(&part.tank).or_default().extend(&part.holes);
    }
    tanks
        .into_iter()
        .map(|(tank, holes)| {
            let holes: Vec<u32> = holes.into_iter().collect();
            format!("{tank}: {}", numbers(&holes))
        })
        .collect()
}

/// Every harvest day with what is cut or pulled and the mass of it.
fn harvests(page: &Page, batch: &Batch) -> Vec<String> {
    let mut days: BTreeMap<(NaiveDate, bool), (u32, f64)> = BTreeMap::new();
    for part in &batch.parts {
        for harvest in &part.harvests {
            let day = days.entry((harvest.date, harvest.way == Way::WholeHead)).or_default();
            day.0 += part.plants;
            day.1 += harvest.grams;
        }
    }
    days.into_iter()
        .map(|((date, pull), (plants, grams))| {
            let way = if pull { "pull" } else { "cut" };
            format!("{} {way} {plants}: {}", short_day(date), page.look.grams(grams))
        })
        .collect()
}
