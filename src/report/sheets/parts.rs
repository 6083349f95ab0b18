//! Pieces that sheets share: cautions, sources, room to write.

use super::lid_map::Mark;
use super::page::Sheet;
use super::{Kind, Setting};
use crate::domain::calendar::Week;
use crate::domain::crop::{Crop, Source};
use crate::domain::units::{Mass, Units};
use crate::report::cautions::LOCAL_RULES;
use crate::report::tank_work::{self, TankWork};
use crate::report::words::{and, long_day, numbers};
use crate::report::work::TaskKind;
use chrono::NaiveDate;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// `Monday 18 January 2027, week 2027-W03`.
pub(super) fn on(day: NaiveDate) -> String {
    format!("{}, week {}", long_day(day), Week::of(day))
}

/// Text whose numbers stay in one line with their units.
pub(super) fn glued(text: &str) -> String {
    let units = ["g", "kg", "oz", "lb", "cm", "in", "°C", "°F", "hours", "days", "mS/cm"];
    let mut glued = String::with_capacity(text.len());
    let mut number = false;
    for (index, word) in text.split(' ').enumerate() {
        let unit = units.contains(&word.trim_end_matches(['.', ',', ';', ':', ')']));
        if index > 0 {
            glued.push(if number && unit { '\u{a0}' } else { ' ' });
        }
        glued.push_str(word);
        number = word.ends_with(|c: char| c.is_ascii_digit());
    }
    glued
}

/// Sorted numbers, `1-6, 9`, whose runs are never broken at the end of a line.
pub(super) fn runs(sorted: &[u32]) -> Markup {
    let text = numbers(sorted);
    html! {
        @for (index, run) in text.split(", ").enumerate() {
            @if index > 0 { ", " }
            span.run { (run) }
        }
    }
}

/// `hole 4`, `holes 1-6, 9`.
pub(super) fn hole_runs(sorted: &[u32]) -> Markup {
    html! { (if sorted.len() == 1 { "hole " } else { "holes " }) (runs(sorted)) }
}

/// Grams in the reader's units.
pub(super) fn mass(grams: f64, units: Units) -> String {
    glued(&Mass::from_grams(grams).show(units).to_string())
}

/// Facts side by side, each a small name over a large value.
pub(super) fn facts(facts: &[(&str, String)]) -> Markup {
    html! {
        dl.facts {
            @for (name, value) in facts {
                div { dt { (name) } dd { (value) } }
            }
        }
    }
}

/// Names with a line to write on after each.
pub(super) fn write(names: &[&str]) -> Markup {
    html! {
        div.write { @for name in names { span { (name) } } }
    }
}

/// The head of a sheet: where it comes in the day's work, what to do, and what to mind.
pub(super) fn intro(
    setting: &Setting<'_>,
    kind: Kind,
    day: NaiveDate,
    steps: &Markup,
    lines: &[String],
) -> Markup {
    let order = order(setting, day);
    html! {
        @if order.len() > 1 {
            p { "Today's order: " (order.join(", then ")) ". This is the sheet for " b { (kind.name()) } "." }
        }
        div.intro { div { (steps) } (cautions(lines)) }
    }
}

/// What is done on a day, in the order of the sheets; tanks are cleaned and filled while nothing stands in them.
fn order(setting: &Setting<'_>, day: NaiveDate) -> Vec<String> {
    let due = |work| tank_work::on(setting.term, setting.plan, setting.site, day, work);
    let tanks = [("clean", due(TankWork::Clean)), ("fill", due(TankWork::Fill))];
    let tanks = tanks.iter().filter(|(_, tanks)| !tanks.is_empty());
    let tanks = tanks.map(|(what, tanks)| format!("{what} tank {}", and(tanks)));
    let kind =
        |kind: TaskKind| setting.tasks_on(day).iter().any(|task| task.kind == kind).then(|| kind.to_string());
    let planted = [TaskKind::Transplant, TaskKind::Sow].into_iter().filter_map(kind);
    kind(TaskKind::Harvest).into_iter().chain(tanks).chain(planted).collect()
}

/// Cautions of single crops: beside the others they would take the room of the work itself.
pub(super) fn crop_notes(notes: &[String]) -> Markup {
    html! {
        @if !notes.is_empty() {
            section.cautions.crops { @for note in notes { p { (glued(note)) } } }
        }
    }
}

/// Gives the holes a mark; holes the lid does not have are left out.
pub(super) fn set<'a>(marks: &mut [Mark<'a>], holes: &[u32], mark: Mark<'a>) {
    for hole in holes {
        if let Some(place) = marks.get_mut((*hole as usize).wrapping_sub(1)) {
            *place = mark;
        }
    }
}

/// The cautions of a sheet, and who has the last word.
pub(super) fn cautions(lines: &[String]) -> Markup {
    html! {
        section.cautions {
            h2 { "Take care" }
            ul { @for line in lines { li { (glued(line)) } } }
            p { (LOCAL_RULES) }
        }
    }
}

/// Where a sheet's figures come from: each source once, with the figures it gives; then sentences as they are.
pub(super) fn sources(figures: &[(String, &Source)], sentences: &[&str]) -> Markup {
    let mut by_source: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (figure, source) in figures {
        let all = by_source.entry(source.to_string()).or_default();
        if !all.contains(figure) {
            all.push(figure.clone());
        }
    }
    html! {
        footer.sources {
            @for (source, figures) in by_source {
                div { (and(&figures)) ": " (source) "." }
            }
            @for sentence in sentences { div { (glued(sentence)) } }
        }
    }
}

/// A tank's name in at most so many letters. Where some must go, its end stays, which tells tanks alike apart.
pub(super) fn shortened(name: &str, most: usize) -> String {
    const END: usize = 3;
    let letters: Vec<char> = name.chars().collect();
    if letters.len() <= most {
        return name.to_owned();
    }
    let begin = letters.iter().take(most.saturating_sub(END + 1));
    begin.chain(&['…']).chain(&letters[letters.len().saturating_sub(END)..]).collect()
}

/// What people with allergies must know about these crops.
pub(super) fn allergies<'a>(crops: impl Iterator<Item = &'a Crop>) -> Vec<String> {
    let mut lines: Vec<String> = crops
        .filter_map(|crop| {
            crop.allergy.as_ref().map(|note| format!("Allergies, {}: {}", crop.name, note.value))
        })
        .collect();
    lines.sort();
    lines.dedup();
    lines
}

/// The one sheet of a site that has no such work on the days wanted.
pub(super) fn nothing_to_do(setting: &Setting<'_>, kinds: &[Kind]) -> Sheet {
    let kinds: Vec<String> = kinds.iter().map(|kind| kind.name().to_owned()).collect();
    let body = html! {
        p.lead { "Nothing to do on these days: " (and(&kinds)) "." }
        p { (LOCAL_RULES) }
    };
    Sheet::new(setting.site.name.clone(), setting.wish.days.title(), body)
}

#[cfg(test)]
mod tests {
    use super::shortened;

    #[test]
    fn tanks_alike_keep_different_names() {
        assert_eq!(shortened("window-side-1", 13), "window-side-1");
        assert_eq!(shortened("window-side-1", 10), "window…e-1");
        assert_eq!(shortened("window-side-12", 10), "window…-12");
        assert_eq!(shortened("window", 2), "…dow");
    }
}
