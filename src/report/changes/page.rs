//! What a new plan changes, as sheets to print and pin up: one for each site, and one for all.

use super::{counts, happened, outlook, result, title};
use crate::domain::difference::{Difference, TaskLine, TaskSide};
use crate::domain::ids::{SiteId, TankId};
use crate::domain::tasks::TaskKind;
use crate::domain::term::Term;
use crate::report::look::Look;
use crate::report::sheets::page::{Paper, Sheet, document};
use crate::report::words::{and, counted, crop_name, day, short_day, site_name};
use maud::{Markup, html};
use std::collections::{BTreeMap, BTreeSet};

/// The HTML file, for this paper: for each site with tasks that change what was to be done until now beside what is to be done
/// instead, and a sheet on what all weeks get.
pub fn page(term: &Term, difference: &Difference, look: &Look, paper: Paper) -> String {
    let of_one = |(site, lines): (&SiteId, Vec<&TaskLine>)| {
        let heading = format!("What changes: {}", site_name(term, site));
        Sheet::new(heading, title(difference), of_site(term, difference, (site, &lines), look))
    };
    let mut sheets: Vec<Sheet> = sites(difference).into_iter().map(of_one).collect();
    let all = format!("What changes: {}", term.name);
    sheets.push(Sheet::new(all.clone(), title(difference), of_term(term, difference, look)));
    let foot = format!("{}, plan revision {}", term.name, difference.after);
    document(&all, &foot, &sheets, paper)
}

/// Tasks that change, site by site in the order of the term.
fn sites(difference: &Difference) -> Vec<(&SiteId, Vec<&TaskLine>)> {
    let mut sites: Vec<(&SiteId, Vec<&TaskLine>)> = Vec::new();
    for line in &difference.lines {
        match sites.last_mut() {
            Some((site, lines)) if **site == line.site => lines.push(line),
            _ => sites.push((&line.site, vec![line])),
        }
    }
    sites
}

fn of_site(
    term: &Term,
    difference: &Difference,
    (site, lines): (&SiteId, &[&TaskLine]),
    look: &Look,
) -> Markup {
    html! {
        (news(term, difference, look))
        table.dense {
            thead { tr {
                th style="width: 27%" { "What" } th style="width: 32%" { "Until now" } th { "Now" } th { "Done" }
            } }
            tbody {
                @for line in lines {
                    tr {
                        td style="overflow-wrap: normal" {
                            b { (what(line.kind)) " " (line.batch) } ", " (crop_name(term, &line.crop))
                        }
                        td {
                            @if let Some(before) = &line.before { (side(line.kind, before)) } @else { "not planned" }
                        }
                        td { (now(line)) }
                        td { @if line.after.is_some() { (box_to_tick()) } }
                    }
                }
            }
        }
        p { "All else at " (site_name(term, site)) " stays as it was." }
    }
}

/// What was recorded that the plan before did not know.
fn news(term: &Term, difference: &Difference, look: &Look) -> Markup {
    let told = happened(term, difference, look);
    html! {
        @if !told.is_empty() {
            div.card {
                h2 { "What happened" }
                @for one in told { p { (one) } }
            }
        }
    }
}

fn what(kind: TaskKind) -> &'static str {
    match kind {
        TaskKind::Sow => "Sow",
        TaskKind::Transplant => "Transplant",
        TaskKind::Harvest => "Harvest",
    }
}

/// What is to be done now, beside what was: where only holes differ, that is said.
fn now(line: &TaskLine) -> String {
    match (&line.before, &line.after) {
        (_, None) => "no longer to be done".to_owned(),
        (Some(before), Some(after)) if before == after => format!("{}, other holes", side(line.kind, after)),
        (_, Some(after)) => side(line.kind, after),
    }
}

/// A task on one side, in a line: `Tue 9 Mar: 14 plants, tanks a-1 (6) and a-2 (8), whole heads`.
fn side(kind: TaskKind, side: &TaskSide) -> String {
    let amount = counted(side.amount, if kind == TaskKind::Sow { "plug" } else { "plant" });
    let mut plants: BTreeMap<&TankId, u32> = BTreeMap::new();
    for place in &side.tanks {
        *plants.entry(&place.tank).or_default() += place.plants;
    }
    let alone = plants.len() == 1;
    let in_tank =
        |(tank, plants): (&TankId, u32)| if alone { tank.to_string() } else { format!("{tank} ({plants})") };
    let tanks: Vec<String> = plants.into_iter().map(in_tank).collect();
    let noun = if alone { "tank" } else { "tanks" };
    let tanks = (!tanks.is_empty()).then(|| format!("{noun} {}", and(&tanks)));
    let ways: BTreeSet<&str> =
        side.tanks.iter().map(|place| place.way.as_str()).filter(|way| !way.is_empty()).collect();
    let ways: Vec<String> = ways.into_iter().map(str::to_owned).collect();
    let ways = (!ways.is_empty()).then(|| and(&ways));
    let told: Vec<String> = [amount].into_iter().chain(tanks).chain(ways).collect();
    format!("{}: {}", day(side.day), told.join(", "))
}

fn box_to_tick() -> Markup {
    html! {
        svg width="14" height="14" role="img" aria-label="box to tick" {
            rect x="1" y="1" width="12" height="12" fill="none" stroke="#000" {}
        }
    }
}

fn of_term(term: &Term, difference: &Difference, look: &Look) -> Markup {
    let changes = sites(difference);
    let is_there = |site: &SiteId| changes.iter().any(|(other, _)| *other == site);
    let untouched = term.sites.iter().filter(|site| !is_there(&site.id));
    let untouched: Vec<String> = untouched.map(|site| site.name.clone()).collect();
    html! {
        (news(term, difference, look))
        @for sentence in counts(difference) { p { (sentence) } }
        @if !untouched.is_empty() { p { "Nothing changes at " (and(&untouched)) "." } }
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
