//! The term on one page of HTML, with charts: for a coordinator to work with and a head teacher to read.
//!
//! The page stands alone (no script, no font, no picture from elsewhere) and is the same each time for the same
//! term, plan and units.

mod batches;
pub(super) mod charts;
mod mix;
mod room;
mod summary;
mod supply;
mod work;

use super::GENERATOR;
use super::cautions::LOCAL_RULES;
use super::look::Look;
use super::words::{and, short_day};
use crate::domain::calendar::{DaysOff, DaysOffKind};
use crate::domain::idle::Idle;
use crate::domain::ids::CropId;
use crate::domain::odds::Odds;
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// What all parts of the page are drawn from.
struct Page<'a> {
    term: &'a Term,
    plan: &'a Plan,
    /// Sites without anything to do.
    idle: &'a [Idle],
    odds: Option<&'a Odds>,
    look: &'a Look,
    /// Crops in the order of every legend.
    crops: Vec<&'a CropId>,
}

/// The page; sites without anything to do are told on it, and how sure the plan is, where that was asked.
pub fn html(term: &Term, plan: &Plan, idle: &[Idle], odds: Option<&Odds>, look: &Look) -> String {
    let page = Page { term, plan, idle, odds, look, crops: super::supply::crops(term, plan) };
    let title = format!("{}: greens of the term", term.name);
    let parts = [
        ("summary", "Summary", summary::part(&page)),
        ("supply", "Supply week by week", supply::part(&page)),
        ("mix", "Mix of greens", mix::part(&page)),
        ("tanks", "Room in the tanks", room::tanks(&page)),
        ("nurseries", "Room in the nurseries", room::nurseries(&page)),
        ("work", "Work week by week", work::part(&page)),
        ("batches", "Every batch", batches::part(&page)),
    ];
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                (PreEscaped(format!("<meta {GENERATOR}>")))
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light";
                link rel="icon" href="data:,";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (charts::inks(page.crops.len()))
                main {
                    h1 { (term.name) }
                    nav aria-label="Parts of this page" {
                        ul { @for (id, heading, _) in &parts { li { a href={ "#" (id) } { (heading) } } } }
                    }
                    @for (id, heading, part) in &parts {
                        section id=(id) { h2 { (heading) } (part) }
                    }
                    footer { (footer(&page)) }
                }
            }
        }
    };
    markup.into_string()
}

fn footer(page: &Page) -> Markup {
    html! {
        p {
            "All masses are ready to eat and estimated: real harvests will lie above and below. "
            "Plan " (page.plan.revision) " of this term, made " (page.plan.made.format("%-d %B %Y")) ". "
            (LOCAL_RULES)
        }
    }
}

/// Breaks of a site.
fn breaks(site: &Site) -> Vec<&DaysOff> {
    site.days_off.iter().filter(|off| off.kind == DaysOffKind::Break).collect()
}

/// Breaks that hold at every site.
fn common_breaks(term: &Term) -> Vec<&DaysOff> {
    let Some((first, others)) = term.sites.split_first() else {
        return Vec::new();
    };
    let mut common = breaks(first);
    common.retain(|off| others.iter().all(|site| site.days_off.contains(off)));
    common
}

/// What the shaded bands are, with their dates; nothing where there are none.
fn break_key(breaks: &[&DaysOff]) -> Markup {
    let names: Vec<String> = breaks
        .iter()
        .map(|off| format!("{} ({} to {})", off.name, short_day(off.span.first), short_day(off.span.last)))
        .collect();
    html! { @if !names.is_empty() { (charts::key(charts::BREAK, &and(&names))) } }
}

/// The first letter made large.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
