//! Sheets to print: what stands on them, word for word and number for number.

use crate::sample::{date, plan, term};
use chrono::NaiveDate;
use sowtide::domain::calendar::{DateSpan, Week};
use sowtide::domain::growth::Way;
use sowtide::domain::site::Site;
use sowtide::domain::term::Term;
use sowtide::domain::units::{Mass, Units};
use sowtide::report::sheets::{Days, Kind, LabelFor, LabelPaper, LabelWish, Paper, Wish, cell_stays, files};
use sowtide::report::words::long_day;
use sowtide::report::work::{TaskKind, tasks};
use std::collections::HashSet;

/// Every kind of sheet there is.
pub(crate) const ALL_KINDS: &[Kind] = &[
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

const LABELS: LabelWish = LabelWish { paper: LabelPaper::Plain, one_for: LabelFor::EachPlant };

/// A wish for these kinds of sheets for all days of a term.
pub(crate) fn whole_term(term: &Term, kinds: &[Kind], paper: Paper) -> Wish {
    let days = Days::Term(DateSpan { first: term.start, last: term.end });
    Wish { days, kinds: kinds.to_vec(), paper, units: Units::Metric, labels: LABELS }
}

/// What stands in an HTML file, one line a block, without its styles.
pub(crate) fn words(html: &str) -> String {
    let body = html.split_once("<body>").unwrap().1;
    let mut text = String::new();
    let mut rest = body;
    while let Some((before, after)) = rest.split_once('<') {
        text.push_str(before);
        let (tag, after) = after.split_once('>').unwrap();
        let name = tag.split(' ').next().unwrap();
        match name {
            "b" | "/b" | "/span" | "rect" | "/rect" | "path" | "/path" => {}
            "td" | "th" | "dt" | "dd" | "span" | "text" | "/td" | "/th" | "/dt" | "/dd" | "/text" => {
                text.push(' ');
            }
            _ => text.push('\n'),
        }
        rest = after;
    }
    let lines = text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    let lines: Vec<String> = lines.filter(|line| !line.is_empty()).collect();
    lines.join("\n").replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
        + "\n"
}

pub(crate) fn all_sites(term: &Term) -> Vec<&Site> {
    term.sites.iter().collect()
}

/// All sheets of one kind of the stored plan.
pub(crate) fn sheets(kind: Kind) -> String {
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
fn transplant_sheets() {
    insta::assert_snapshot!(sheets(Kind::Transplant));
}

#[test]
fn harvest_sheets() {
    insta::assert_snapshot!(sheets(Kind::Harvest));
}

#[test]
fn labels() {
    insta::assert_snapshot!(sheets(Kind::Labels));
}

#[test]
fn term_on_one_page() {
    insta::assert_snapshot!(sheets(Kind::Term));
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
    assert_eq!(names, ["2026-W42-hall-sowing.html", "2026-W42-room-4-sowing.html"]);
    assert!(files.iter().all(|file| words(&file.html).contains("Nothing to do on these days")));
}

/// What the lid maps of a file say, as (day, batch if told, tank, hole, word).
fn holes_on_maps(html: &str) -> Vec<(String, String, String, u32, String)> {
    let text = words(html);
    let (mut day, mut card, mut tank) = (String::new(), String::new(), String::new());
    let mut found = Vec::new();
    for line in text.lines() {
        if let Some((date, _)) = line.split_once(", week ") {
            date.clone_into(&mut day);
        } else if let Some(name) = line.strip_prefix("Tank ") {
            name.clone_into(&mut tank);
        } else if let Some((id, _)) = line.split_once(", ").filter(|(id, _)| id.starts_with("b-")) {
            id.clone_into(&mut card);
        } else if let [number, middle @ .., word] = &line.split(' ').collect::<Vec<_>>()[..]
            && let Ok(hole) = number.parse()
            && ["new", "empty", "cut", "pull"].contains(word)
        {
            let batch = middle.first().map_or(card.clone(), ToString::to_string);
            found.push((day.clone(), batch, tank.clone(), hole, (*word).to_owned()));
        }
    }
    found.sort();
    found
}

/// Today's holes on every lid map are just those of the plan.
#[test]
fn lid_maps_show_the_holes_of_the_plan() {
    let (term, plan) = (term(), plan());
    for site in &term.sites {
        let on_paper = |kind| {
            let files = files(&term, &plan, &[site], &whole_term(&term, &[kind], Paper::Letter));
            holes_on_maps(&files[0].html)
        };
        let (mut moved, mut harvested) = (Vec::new(), Vec::new());
        for task in tasks(&term, &plan).iter().filter(|task| task.batch.site == site.id) {
            let day = long_day(task.date);
            for part in &task.parts {
                let entry = |hole: &u32, word: &str| {
                    (
                        day.clone(),
                        task.batch.id.to_string(),
                        part.part.tank.to_string(),
                        *hole,
                        word.to_owned(),
                    )
                };
                match (task.kind, part.harvest) {
                    (TaskKind::Transplant, _) => {
                        moved.extend(part.part.holes.iter().map(|hole| entry(hole, "new")));
                    }
                    (TaskKind::Harvest, Some(harvest)) => {
                        let word = if harvest.way == Way::Cut { "cut" } else { "pull" };
                        harvested.extend(part.part.holes.iter().map(|hole| entry(hole, word)));
                    }
                    _ => {}
                }
            }
        }
        moved.sort();
        harvested.sort();
        let transplants = on_paper(Kind::Transplant);
        let (empty, new): (Vec<_>, Vec<_>) = transplants.into_iter().partition(|hole| hole.4 == "empty");
        assert_eq!(new, moved);
        assert_eq!(on_paper(Kind::Harvest), harvested);
        // Every hole left empty for spacing is one of a part that stands there on that day.
        let mut kept = Vec::new();
        for (day, ..) in &new {
            let here =
                plan.batches.iter().filter(|batch| batch.site == site.id).flat_map(|batch| &batch.parts);
            for part in
                here.filter(|part| part.transplant <= date_of(day) && part.leaves().unwrap() > date_of(day))
            {
                kept.extend(part.kept_empty.iter().map(|hole| (day.clone(), *hole)));
            }
        }
        kept.sort();
        kept.dedup();
        assert_eq!(empty.iter().map(|hole| (hole.0.clone(), hole.3)).collect::<Vec<_>>(), kept);
    }
}

fn date_of(long: &str) -> NaiveDate {
    NaiveDate::parse_from_str(long, "%A %-d %B %Y").unwrap()
}

/// Every figure of the plan stands on its sheet: plugs, seeds, plants, and masses before and after trimming.
#[test]
fn figures_on_paper_are_those_of_the_plan() {
    let (term, plan) = (term(), plan());
    for units in [Units::Metric, Units::Us] {
        for task in tasks(&term, &plan) {
            let site = term.site(&task.batch.site).unwrap();
            let (kind, lines) = match task.kind {
                TaskKind::Sow => (
                    Kind::Sowing,
                    vec![
                        format!("plugs {}", task.batch.plugs),
                        format!("seeds in each plug {}", task.batch.seeds_per_plug),
                        format!("seeds in all {}", task.batch.plugs * task.batch.seeds_per_plug),
                    ],
                ),
                TaskKind::Transplant => (Kind::Transplant, vec![format!(" {} plants", task.plants())]),
                TaskKind::Harvest => {
                    let show = |grams: f64| Mass::from_grams(grams).show(units).to_string();
                    let raw: f64 =
                        task.harvests().map(|harvest| harvest.grams / harvest.arithmetic.ready_to_eat).sum();
                    let mut lines = vec![
                        format!("Plants harvested, of {}", task.plants()),
                        format!("On the scales (about {})", show(raw)),
                        format!("Ready to eat (about {})", show(task.grams())),
                    ];
                    lines.extend(
                        task.harvests().map(|harvest| format!("Expect about {} ready", show(harvest.grams))),
                    );
                    (Kind::Harvest, lines)
                }
            };
            let days = Days::Span(DateSpan { first: task.date, last: task.date });
            let wish = Wish { days, units, ..whole_term(&term, &[kind], Paper::A4) };
            let text = words(&files(&term, &plan, &[site], &wish)[0].html).replace('\u{a0}', " ");
            assert!(text.contains(task.batch.id.as_str()), "{text}");
            for line in lines {
                assert!(text.contains(&line), "{line:?} is not in:\n{text}");
            }
        }
    }
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
