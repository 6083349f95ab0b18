//! Reports of a stored plan, word for word.

use crate::sample::{date, plan, term};
use sowtide::check::check;
use sowtide::domain::calendar::Week;
use sowtide::domain::crop::Crop;
use sowtide::domain::ids::CropId;
use sowtide::domain::units::Units;
use sowtide::report::{Look, batches, crops, glance, json, steps, summary, week};

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
