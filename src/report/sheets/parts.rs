//! Pieces that sheets share: cautions, sources, room to write.

use super::page::Sheet;
use super::{Kind, Setting};
use crate::domain::calendar::Week;
use crate::domain::crop::{Crop, Source};
use crate::report::cautions::LOCAL_RULES;
use crate::report::words::{and, long_day};
use chrono::NaiveDate;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// `Monday 18 January 2027, week 2027-W03`.
pub(super) fn on(day: NaiveDate) -> String {
    format!("{}, week {}", long_day(day), Week::of(day))
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

/// The cautions of a sheet, and who has the last word.
pub(super) fn cautions(lines: &[String]) -> Markup {
    html! {
        section.cautions {
            h2 { "Take care" }
            ul { @for line in lines { li { (line) } } }
            p { (LOCAL_RULES) }
        }
    }
}

/// Where a sheet's figures come from: each source once, with the figures it gives.
pub(super) fn sources(figures: &[(String, &Source)]) -> Markup {
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
        }
    }
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
