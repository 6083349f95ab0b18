//! Every batch with its dates, place and expected mass.

use super::Page;
use crate::domain::growth::Way;
use crate::domain::plan::{Batch, Part};
use crate::domain::site::Site;
use crate::report::words::{counted, crop_name, numbers, short_day};
use maud::{Markup, html};

pub(super) fn part(page: &Page) -> Markup {
    html! {
        p {
            "A batch is the plants of one crop sown on one day at one site. Plants of a batch that stand in another \
             tank or leave on another day have a row of their own."
        }
        div.box tabindex="0" role="group" aria-label="Table of batches" {
            table.batches {
                thead { tr {
                    @for heading in ["Batch", "Crop", "Sow", "Plugs x seeds", "Move", "Plants", "Tank: holes", "Harvest"] {
                        th scope="col" class=[(heading == "Plants").then_some("n")] { (heading) }
                    }
                    th.n scope="col" { "Expect" }
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
            tr.site { th scope="rowgroup" colspan="9" { (site.name) } }
            @if batches.is_empty() { tr { td colspan="9" { "No batch is planned here." } } }
            @for batch in batches {
                @for (index, part) in batch.parts.iter().enumerate() {
                    tr class=[(index > 0).then_some("more")] {
                        @if index == 0 { (batch_cells(page, batch)) } @else { td {} td {} td {} td {} }
                        (part_cells(page, part))
                    }
                }
            }
        }
    }
}

fn batch_cells(page: &Page, batch: &Batch) -> Markup {
    html! {
        th scope="row" { (batch.id) }
        td { (crop_name(page.term, &batch.crop)) }
        @if batch.standing {
            td { "stands" }
            td { (counted(batch.plugs, "plant")) }
        } @else {
            td { (short_day(batch.sown)) }
            td { (batch.plugs) " x " (batch.seeds_per_plug) }
        }
    }
}

/// Date, place and mass, each harvest on a line of its own.
fn part_cells(page: &Page, part: &Part) -> Markup {
    html! {
        td { (short_day(part.transplant)) }
        td.n { (part.plants) }
        td.holes { (part.tank) ": " (numbers(&part.holes)) }
        td {
            @for (index, harvest) in part.harvests.iter().enumerate() {
                @if index > 0 { br; }
                (short_day(harvest.date)) " " (if harvest.way == Way::Cut { "cut" } else { "pull" })
            }
        }
        td.n {
            @for (index, harvest) in part.harvests.iter().enumerate() {
                @if index > 0 { br; }
                (page.look.grams(harvest.grams))
            }
        }
    }
}
