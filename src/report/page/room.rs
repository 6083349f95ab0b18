//! How full tanks and nurseries are, site by site.

use super::charts::{self, Figure, Steps, Table, figure, key, key_shape};
use super::{Page, break_key, breaks, common_breaks};
use crate::domain::room::{RoomInUse, all_holes, daily, weekly_most};
use crate::domain::site::Site;
use crate::report::words::short_day;
use chrono::NaiveDate;
use maud::{Markup, html};

/// Up to this many sites, each chart takes the full width.
const WIDE_SITES: usize = 2;

pub(super) fn tanks(page: &Page) -> Markup {
    html! {
        p.lead { "Holes in use at the end of each day, all tanks of a site together." }
        ul.keys.lead {
            (key(charts::PLANTED, "planted"))
            @if keeps_holes_empty(page) { (key(charts::KEPT_EMPTY, "left empty beside wide plants")) }
            (capacity_key("all holes"))
            (shade_key(page))
        }
        (charts_of_sites(page, tank_chart))
    }
}

pub(super) fn nurseries(page: &Page) -> Markup {
    html! {
        p.lead { "Nursery cells in use at the end of each day." }
        ul.keys.lead {
            (key(charts::CELLS, "cells in use"))
            (capacity_key("all cells"))
            (shade_key(page))
        }
        (charts_of_sites(page, nursery_chart))
    }
}

fn keeps_holes_empty(page: &Page) -> bool {
    page.plan.batches.iter().flat_map(|batch| &batch.parts).any(|part| !part.kept_empty.is_empty())
}

fn capacity_key(words: &str) -> Markup {
    key_shape(&html! { path.capacity d="M1 8H25" {} }, words)
}

/// The shade's meaning: breaks by name where all sites have the same ones.
fn shade_key(page: &Page) -> Markup {
    let common = common_breaks(page.term);
    let same = page.term.sites.iter().all(|site| breaks(site).len() == common.len());
    let any = page.term.sites.iter().any(|site| !breaks(site).is_empty());
    html! {
        @if same { (break_key(&common)) }
        @else if any { (key(charts::BREAK, "breaks of the site")) }
    }
}

fn charts_of_sites(page: &Page, chart: fn(&Page, &Site, usize) -> Markup) -> Markup {
    let wide = page.term.sites.len() <= WIDE_SITES;
    html! {
        div class=[(!wide).then_some("beside")] {
            @for (index, site) in page.term.sites.iter().enumerate() { (chart(page, site, index + 1)) }
        }
    }
}

fn tank_chart(page: &Page, site: &Site, number: usize) -> Markup {
    let days = daily(page.term, page.plan, site);
    let all = all_holes(site);
    let numbers = |figure: fn(&RoomInUse) -> u32| days.iter().map(|(_, room)| figure(room)).collect();
    let chart = steps(
        page,
        site,
        ("holes in use", all),
        vec![
            (charts::KEPT_EMPTY, numbers(|room| room.holes.holes)),
            (charts::PLANTED, numbers(|room| room.holes.planted)),
        ],
    );
    let rows = weekly_most(&days)
        .into_iter()
        .map(|(week, room)| {
            let holes = room.holes;
            vec![
                short_day(week.monday()),
                holes.holes.to_string(),
                holes.planted.to_string(),
                all.to_string(),
            ]
        })
        .collect();
    let most = fullest(&days, |room| room.holes.holes);
    site_figure(
        (&format!("tanks-{number}"), site),
        &words(most, all, "hole"),
        &["Week of", "Most in use", "Most planted", "All holes"],
        rows,
        &chart,
    )
}

fn nursery_chart(page: &Page, site: &Site, number: usize) -> Markup {
    let days = daily(page.term, page.plan, site);
    let all = site.nursery.cells;
    let numbers = days.iter().map(|(_, room)| room.cells).collect();
    let chart = steps(page, site, ("cells in use", all), vec![(charts::CELLS, numbers)]);
    let rows = weekly_most(&days)
        .into_iter()
        .map(|(week, room)| vec![short_day(week.monday()), room.cells.to_string(), all.to_string()])
        .collect();
    let most = fullest(&days, |room| room.cells);
    site_figure(
        (&format!("nursery-{number}"), site),
        &words(most, all, "cell"),
        &["Week of", "Most in use", "All cells"],
        rows,
        &chart,
    )
}

fn steps<'a>(
    page: &Page,
    site: &'a Site,
    (unit, capacity): (&'a str, u32),
    areas: Vec<(&'a str, Vec<u32>)>,
) -> Steps<'a> {
    let wide = page.term.sites.len() <= WIDE_SITES;
    Steps { unit, first: page.term.start, capacity, areas, breaks: breaks(site), wide }
}

fn site_figure(
    (id, site): (&str, &Site),
    words: &str,
    head: &[&str],
    rows: Vec<Vec<String>>,
    chart: &Steps,
) -> Markup {
    figure(
        &Figure {
            id,
            heading: &site.name,
            title: &format!("{}: {}", site.name, chart.unit),
            description: words,
            below: html! { p.under { (words) } },
            table: Table { head: head.iter().map(ToString::to_string).collect(), words: 0, rows },
        },
        &chart.draw(),
    )
}

/// The first day on which most is in use, and how much.
fn fullest(days: &[(NaiveDate, RoomInUse)], figure: fn(&RoomInUse) -> u32) -> Option<(NaiveDate, u32)> {
    let numbers = days.iter().map(|(day, room)| (*day, figure(room)));
    numbers.reduce(|most, next| if next.1 > most.1 { next } else { most })
}

fn words(most: Option<(NaiveDate, u32)>, all: u32, noun: &str) -> String {
    match most {
        Some((day, most)) if most > 0 => {
            format!("Up to {most} of {all} {noun}s in use, first on {}.", short_day(day))
        }
        _ => format!("None of {all} {noun}s is used."),
    }
}
