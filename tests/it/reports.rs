//! Reports of a stored plan, word for word, and what every calendar must keep to.

use crate::sample::{date, plan, term};
use icalendar::Component;
use sowtide::check::check;
use sowtide::domain::calendar::Week;
use sowtide::domain::crop::Crop;
use sowtide::domain::ids::{CropId, SiteId};
use sowtide::domain::units::Units;
use sowtide::report::work::tasks;
use sowtide::report::{Look, batches, crops, glance, ical, instructions, json, steps, summary, week};
use std::collections::HashSet;

const PLAIN: Look = Look { units: Units::Metric, width: 80, colour: false };
/// The crop of that name in the stored term.
fn crop(id: &str) -> Crop {
    term().crop(&CropId::new(id)).unwrap().crop.clone()
}

const US: Look = Look { units: Units::Us, ..PLAIN };

/// No line may run over the screen.
fn fits(text: &str, look: Look) {
    for line in text.lines() {
        assert!(line.chars().count() <= look.width, "{line:?}");
        assert_eq!(line, line.trim_end());
    }
}

#[test]
fn the_stored_plan_is_sound() {
    let found: Vec<String> = check(&term(), &plan()).iter().map(ToString::to_string).collect();
    assert_eq!(found, [""; 0]);
}

#[test]
fn term_at_a_glance() {
    let text = glance::table(&term(), &plan(), &PLAIN);
    fits(&text, PLAIN);
    insta::assert_snapshot!(text);
}

#[test]
fn term_at_a_glance_in_us_units_on_a_wide_screen() {
    let look = Look { width: 120, ..US };
    let text = glance::table(&term(), &plan(), &look);
    fits(&text, look);
    insta::assert_snapshot!(text);
}

#[test]
fn batches_table() {
    let text = batches::table(&term(), &plan(), &PLAIN);
    fits(&text, PLAIN);
    insta::assert_snapshot!(text);
}

#[test]
fn week_lists() {
    let mut all = String::new();
    for monday in ["2026-09-07", "2026-09-21", "2026-10-05", "2026-10-12"] {
        let text = week::list(&term(), &plan(), Week::of(date(monday)), &PLAIN);
        fits(&text, PLAIN);
        all.push_str(&text);
        all.push_str("=====\n");
    }
    insta::assert_snapshot!(all);
}

#[test]
fn summary_of_a_plan() {
    let text = summary::lines(&plan(), &PLAIN);
    fits(&text, PLAIN);
    insta::assert_snapshot!(text);
}

#[test]
fn arithmetic_of_batches() {
    let (term, plan) = (term(), plan());
    let texts: Vec<String> = plan.batches.iter().map(|batch| steps::batch(&term, batch, &PLAIN)).collect();
    let text = texts.join("\n");
    fits(&text, PLAIN);
    insta::assert_snapshot!(text);
}

#[test]
fn crop_list_and_crop() {
    let crop_list = crops::list([crop("leaf-mustard"), crop("oakleaf")].iter(), &PLAIN);
    let text = format!("{crop_list}\n{}", crops::show(&crop("oakleaf"), &US));
    fits(&text, PLAIN);
    insta::assert_snapshot!(text);
}

#[test]
fn colour_only_adds_colour() {
    let coloured = Look { colour: true, ..PLAIN };
    let text = glance::table(&term(), &plan(), &coloured);
    assert_ne!(text, glance::table(&term(), &plan(), &PLAIN));
    assert_eq!(without_colour(&text), glance::table(&term(), &plan(), &PLAIN));
}

/// Drops escape sequences of the form `ESC [ ... m`.
fn without_colour(text: &str) -> String {
    let mut parts = text.split('\u{1b}');
    let mut plain = parts.next().unwrap_or("").to_owned();
    for part in parts {
        plain.push_str(part.split_once('m').map_or(part, |(_, rest)| rest));
    }
    let lines: Vec<&str> = plain.lines().map(str::trim_end).collect();
    lines.join("\n") + "\n"
}

#[test]
fn json_of_a_plan() {
    insta::assert_snapshot!(json::plan(&term(), &plan()));
}

#[test]
fn json_of_a_week() {
    insta::assert_snapshot!(json::week(&term(), &plan(), Week::of(date("2026-10-05"))));
}

#[test]
fn json_of_crops() {
    let list: serde_json::Value =
        serde_json::from_str(&json::crop_list([crop("leaf-mustard")].iter())).unwrap();
    let one: serde_json::Value = serde_json::from_str(&json::crop(&crop("leaf-mustard"))).unwrap();
    assert_eq!(list["format"], 1);
    assert_eq!(list["crops"][0]["figures"], one["figures"]);
    assert_eq!(one["figures"]["ready_to_eat"]["value"], 0.9);
    assert_eq!(one["figures"]["ready_to_eat"]["source"], "common practice");
    assert!(one["figures"].get("taken").is_none());
}

#[test]
fn calendar_of_all_sites() {
    let text = ical::calendar(&term(), &plan(), None, Units::Metric);
    insta::assert_snapshot!(text.replace("\r\n", "\n"));
}

#[test]
fn calendars_keep_to_the_standard() {
    let text = ical::calendar(&term(), &plan(), None, Units::Us);
    assert!(text.ends_with("\r\n"));
    assert!(text.split("\r\n").all(|line| line.len() <= 75 && !line.contains(['\r', '\n'])));
    assert!(text.contains("ä") || text.contains("°F"), "non-ASCII text survives");
    let lines = lines(&text);
    let uids: Vec<&str> = values(&lines, "UID:");
    assert_eq!(uids.len(), values(&lines, "BEGIN:VEVENT").len());
    assert_eq!(uids.iter().collect::<HashSet<_>>().len(), uids.len());
    let starts = values(&lines, "DTSTART;VALUE=DATE:");
    let ends = values(&lines, "DTEND;VALUE=DATE:");
    assert_eq!((starts.len(), ends.len()), (uids.len(), uids.len()));
    for (start, end) in starts.iter().zip(&ends) {
        let day = chrono::NaiveDate::parse_from_str(start, "%Y%m%d").unwrap();
        assert_eq!(day.succ_opt().unwrap().format("%Y%m%d").to_string(), **end);
    }
    assert!(values(&lines, "METHOD:").is_empty());
}

#[test]
fn another_program_reads_the_same_text() {
    let (term, plan) = (term(), plan());
    let text = ical::calendar(&term, &plan, None, Units::Metric);
    let read: icalendar::Calendar = text.parse().unwrap();
    let events: Vec<_> = read.components.iter().filter_map(|one| one.as_event()).collect();
    let tasks = tasks(&term, &plan);
    assert_eq!(events.len(), tasks.len());
    for (event, task) in events.iter().zip(&tasks) {
        assert_eq!(event.get_summary(), Some(instructions::title(&term, task).as_str()));
        let body = instructions::body(&term, task, &PLAIN);
        assert_eq!(event.get_description(), Some(body.as_str()));
        assert_eq!(event.get_start(), Some(task.date.into()));
        assert_eq!(event.get_end(), task.date.succ_opt().map(Into::into));
    }
}

#[test]
fn a_second_export_is_the_same_and_a_revision_keeps_uids() {
    let first = ical::calendar(&term(), &plan(), None, Units::Metric);
    assert_eq!(first, ical::calendar(&term(), &plan(), None, Units::Metric));
    let mut later = plan();
    later.revision += 1;
    later.batches[1].parts[0].harvests[0].date = date("2026-10-05");
    later.batches[1].parts[1].harvests[0].date = date("2026-10-05");
    let second = ical::calendar(&term(), &later, None, Units::Metric);
    let (first, second) = (lines(&first), lines(&second));
    let ids = |lines| values(lines, "UID:").into_iter().map(str::to_owned).collect::<HashSet<_>>();
    assert_eq!(ids(&first), ids(&second));
    assert!(values(&first, "SEQUENCE:").iter().all(|number| *number == "2"));
    assert!(values(&second, "SEQUENCE:").iter().all(|number| *number == "3"));
}

#[test]
fn the_calendars_of_the_sites_make_up_the_whole() {
    let (term, plan) = (term(), plan());
    let uids = |site: Option<&str>| -> HashSet<String> {
        let site = site.map(SiteId::new);
        let text = ical::calendar(&term, &plan, site.as_ref(), Units::Metric);
        values(&lines(&text), "UID:").into_iter().map(str::to_owned).collect()
    };
    let (hall, room) = (uids(Some("hall")), uids(Some("room-4")));
    assert!(hall.is_disjoint(&room) && !hall.is_empty() && !room.is_empty());
    assert_eq!(&hall | &room, uids(None));
}

fn lines(calendar: &str) -> Vec<String> {
    calendar.replace("\r\n ", "").split_terminator("\r\n").map(str::to_owned).collect()
}

fn values<'a>(lines: &'a [String], name: &str) -> Vec<&'a str> {
    lines.iter().filter_map(|line| line.strip_prefix(name)).collect()
}
