//! What a new plan changes, as a page to print and pin up.

use super::{by_site, counts, details, outlook, result, title, word};
use crate::domain::difference::Difference;
use crate::domain::term::Term;
use crate::report::look::Look;
use crate::report::sheets::page::{Paper, Sheet, document};
use crate::report::words::{crop_name, day, short_day, site_name};
use maud::{Markup, html};

/// The HTML file, for this paper.
pub fn page(term: &Term, difference: &Difference, look: &Look, paper: Paper) -> String {
    let sheet =
        Sheet::new(format!("What changes: {}", term.name), title(difference), body(term, difference, look));
    let foot = format!("{}, plan revision {}", term.name, difference.after);
    document(&format!("What changes: {}", term.name), &foot, &[sheet], paper)
}

fn body(term: &Term, difference: &Difference, look: &Look) -> Markup {
    html! {
        @for sentence in counts(difference) { p { (sentence) } }
        @for (site, batches) in by_site(difference) {
            h2 { (site_name(term, site)) }
            table {
                thead { tr { th { "From" } th { "Batch" } th { "Crop" } th { "Change" } th { "What" } th { "Done" } } }
                tbody {
                    @for batch in batches {
                        tr {
                            td style="white-space: nowrap" { (day(batch.day)) }
                            td style="white-space: nowrap" { (batch.batch) }
                            td style="overflow-wrap: normal" { (crop_name(term, &batch.crop)) }
                            td style="overflow-wrap: normal" { (word(batch.change)) }
                            td { (details(batch)) }
                            td { svg width="14" height="14" role="img" aria-label="box to tick" {
                                rect x="1" y="1" width="12" height="12" fill="none" stroke="#000" {}
                            } }
                        }
                    }
                }
            }
        }
        h2 { "Greens a week" }
        (weeks(term, difference, look))
        @for sentence in outlook(difference) { p.lead { (sentence) } }
    }
}

fn weeks(term: &Term, difference: &Difference, look: &Look) -> Markup {
    let left = difference.weeks.iter().any(|week| week.left.is_some());
    html! {
        table {
            thead { tr {
                th { "Week" } th { "Monday" } th.number { "Target" } th.number { "Before" }
                @if left { th.number { "If nothing is done" } }
                th.number { "Now" } th { "Result" }
            } }
            tbody {
                @for week in &difference.weeks {
                    tr {
                        td { (format!("W{:02}", week.week.number())) }
                        td { (short_day(week.week.monday())) }
                        td.number { (look.grams(week.target)) }
                        td.number { (look.grams(week.before)) }
                        @if left { td.number { (week.left.map(|grams| look.grams(grams)).unwrap_or_default()) } }
                        td.number { (look.grams(week.after)) }
                        td { (result(term, week, look)) }
                    }
                }
            }
        }
    }
}
