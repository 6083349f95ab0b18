//! The report page: its words, its figures and its shape.

use crate::sample::{plan, term};
use crate::sheets::words as words_of;
use crate::support::{plan_at, write_plan};
use sowtide::domain::calendar::Week;
use sowtide::domain::room;
use sowtide::domain::units::Units;
use sowtide::report::supply::WeekSupply;
use sowtide::report::work::{TaskKind, tasks};
use sowtide::report::{Look, page, supply, words, workload};
use std::collections::HashSet;

const METRIC: Look = Look { units: Units::Metric, width: 80, colour: false };
const US: Look = Look { units: Units::Us, ..METRIC };

#[test]
fn words_of_the_page() {
    insta::assert_snapshot!(words_of(&page::html(&term(), &plan(), &[], None, &METRIC)));
}

#[test]
fn us_units_throughout() {
    let text = words_of(&page::html(&term(), &plan(), &[], None, &US));
    assert!(text.contains("oz ready to eat") || text.contains("lb ready to eat"), "{text}");
    assert!(!text.contains(" kg") && !text.contains(" g\n"), "{text}");
}

#[test]
fn weeks_add_up_to_the_plan() {
    let (term, plan) = (term(), plan());
    let weeks = supply::weeks(&term, &plan);
    let near = |one: f64, other: f64| assert!((one - other).abs() < 1e-6, "{one} is not {other}");
    for week in &weeks {
        let crops: f64 = week.crops.values().map(|ways| ways.whole_heads + ways.cuts).sum();
        near(crops, week.planned());
    }
    let (planned, target): (f64, f64) =
        (weeks.iter().map(WeekSupply::planned).sum(), weeks.iter().map(WeekSupply::target).sum());
    near(planned, plan.servings.iter().map(|serving| serving.planned).sum());
    near(target, plan.servings.iter().map(|serving| serving.target).sum());
    near(weeks.iter().map(|week| week.surplus).sum(), plan.facts.surplus_grams);
    let served: f64 = supply::by_crop(&plan).values().map(|ways| ways.whole_heads + ways.cuts).sum();
    near(served, plan.servings.iter().map(|serving| serving.planned).sum());
    assert_eq!(weeks.iter().flat_map(WeekSupply::short_days).count(), 2);
}

#[test]
fn work_adds_up_to_the_plan() {
    let (term, plan) = (term(), plan());
    let weeks = workload::weeks(&term, &plan);
    let count = |kind| weeks.iter().map(|week| week.load(kind).tasks).sum::<u32>() as usize;
    let all = tasks(&term, &plan);
    for kind in workload::KINDS {
        assert_eq!(count(kind), all.iter().filter(|task| task.kind == kind).count(), "{kind}");
    }
    let days: HashSet<_> = all.iter().map(|task| (task.date, &task.batch.site)).collect();
    assert_eq!(weeks.iter().map(|week| week.visits).sum::<u32>() as usize, days.len());
    let plugs: u32 = plan.batches.iter().filter(|batch| !batch.is_standing()).map(|batch| batch.plugs).sum();
    let minutes: f64 = weeks.iter().map(|week| week.load(TaskKind::Sow).minutes).sum();
    assert!((minutes - f64::from(plugs) * term.rules.minutes.sow).abs() < 1e-9);
    let (_, _, most) = workload::fullest_day(&term, &plan).unwrap();
    assert!(weeks.iter().any(|week| week.minutes() >= most));
}

#[test]
fn room_over_time_is_that_of_each_day() {
    let (term, plan) = (term(), plan());
    for site in &term.sites {
        let days = room::daily(&term, &plan, site);
        assert_eq!((days[0].0, days[days.len() - 1].0), (term.start, term.end));
        for (day, room) in &days {
            assert_eq!(room.cells, room::cells(&term, &plan, &site.id, *day));
            let holes = room::holes(&plan, &site.id, &site.tanks[0].id, *day);
            assert_eq!(room.holes, holes);
            assert!(holes.planted <= holes.holes && holes.holes <= room::all_holes(site));
        }
        let most = room::weekly_most(&days).iter().map(|(_, room)| room.holes.holes).max();
        assert_eq!(most, days.iter().map(|(_, room)| room.holes.holes).max());
    }
}

/// Cells of the tables' rows.
fn rows(html: &str) -> Vec<Vec<String>> {
    let text = |cell: &str| cell.split_once('>').unwrap().1.split_once("</t").unwrap().0.to_owned();
    let row = |row: &str| row.replace("<th", "<td").split("<td").skip(1).map(text).collect();
    html.split("<tr").skip(1).map(|after| row(after.split("</tr>").next().unwrap())).collect()
}

#[test]
fn figures_are_those_of_the_plan_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.yaml");
    write_plan(&path, &plan());
    let plan = plan_at(&path);
    let html = page::html(&term(), &plan, &[], None, &METRIC);
    let rows = rows(&html);
    let find =
        |first: &str| rows.iter().find(|row| row[0] == first).unwrap_or_else(|| panic!("no row {first}"));
    for serving in &plan.servings {
        let row = find(&words::short_day(Week::of(serving.date).monday()));
        let figures = [serving.target, serving.planned, serving.short()].map(|grams| METRIC.grams(grams));
        assert_eq!(row[1..4], figures);
    }
    for batch in &plan.batches {
        let row = find(batch.id.as_str());
        let sown = if batch.is_standing() { "stands".to_owned() } else { words::short_day(batch.sown) };
        assert_eq!(
            (&row[2], &row[5], &row[8]),
            (&sown, &batch.plants().to_string(), &METRIC.grams(batch.grams()))
        );
        for harvest in batch.parts.iter().flat_map(|part| &part.harvests) {
            assert!(row[7].contains(&words::short_day(harvest.date)), "{row:?}");
        }
    }
}

/// Columns are as high as their figures say, and end where the plan says that the day's supply ends.
#[test]
fn columns_are_drawn_to_scale() {
    let html = page::html(&term(), &plan(), &[], None, &METRIC);
    let chart = between(&html, "id=\"supply-chart\"", "</svg>");
    let mut grams_drawn = 0.0;
    let mut scales = Vec::new();
    for piece in chart.split("<rect class=\"edge\"").skip(1).filter(|piece| piece.contains("<title>")) {
        let number = |name| between(piece, &format!(" {name}=\""), "\"").parse::<f64>().unwrap();
        let grams: f64 = between(between(piece, "<title>", "</title>"), ": ", " g").parse().unwrap();
        assert!(number("height") > 0.0 && number("width") > 0.0);
        grams_drawn += grams;
        scales.push(number("height") / grams);
    }
    let planned: f64 = plan().servings.iter().map(|serving| serving.planned).sum();
    assert!((grams_drawn - planned).abs() < 2.0, "{grams_drawn} g drawn, {planned} g planned");
    // Heights are rounded to a tenth of a unit, masses to a gram.
    assert!(scales.iter().all(|scale| (scale / scales[0] - 1.0).abs() < 0.01), "{scales:?}");
}

#[test]
fn every_chart_has_a_title_a_description_and_figures() {
    let html = page::html(&term(), &plan(), &[], None, &METRIC);
    let charts: Vec<&str> = html.split("<div class=\"chart\"").skip(1).collect();
    assert_eq!(charts.len(), 7);
    let mut ids = HashSet::new();
    for chart in charts {
        let labels = between(chart, "aria-labelledby=\"", "\"");
        assert!(chart.contains("role=\"img\""));
        for id in labels.split(' ') {
            assert!(chart.contains(&format!(" id=\"{id}\">")), "{id}");
            assert!(ids.insert(id), "{id} is used twice");
        }
        assert!(!between(chart, "<desc", "</desc>").ends_with('>'), "{labels} lacks a description");
        assert!(chart.contains("<details>") && chart.contains("<table>"));
    }
    for url in html.split("url(#").skip(1) {
        let id = url.split(')').next().unwrap();
        assert!(html.contains(&format!("<pattern id=\"{id}\"")), "{id}");
    }
}

fn between<'a>(text: &'a str, start: &str, end: &str) -> &'a str {
    text.split_once(start).unwrap().1.split_once(end).unwrap().0
}

#[test]
fn the_page_needs_nothing_from_elsewhere() {
    let html = page::html(&term(), &plan(), &[], None, &METRIC);
    for word in ["http:", "https:", "<script", "@import", "src="] {
        assert!(!html.contains(word), "{word}");
    }
    assert_eq!(html, page::html(&term(), &plan(), &[], None, &METRIC));
}

#[test]
fn names_cannot_break_the_page() {
    let mut term = term();
    term.name = "Peas & <script>alert(1)</script>".into();
    term.sites[0].name = "\"Hall\" </svg>".into();
    let html = page::html(&term, &plan(), &[], None, &METRIC);
    assert!(!html.contains("<script") && html.contains("Peas &amp; &lt;script&gt;"));
    assert_eq!(html.matches("<svg").count(), html.matches("</svg>").count());
}
