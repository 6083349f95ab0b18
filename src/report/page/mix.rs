//! The greens of the term, crop by crop.

use super::Page;
use super::charts::{self, Bar, Figure, Table, bars, figure};
use super::supply::{cuts_key, whole_heads_key};
use crate::domain::ids::CropId;
use crate::report::glance::Ways;
use crate::report::supply::{by_crop, weeks};
use crate::report::words::{counted, crop_name, percent};
use maud::{Markup, html};

pub(super) fn part(page: &Page) -> Markup {
    let served = by_crop(page.plan);
    let ways = |crop: &CropId| served.get(crop).copied().unwrap_or_default();
    let all: f64 = served.values().map(sum).sum();
    let share = |ways: &Ways| percent(if all > 0.0 { sum(ways) / all } else { 0.0 });
    let list: Vec<Bar> = page
        .crops
        .iter()
        .enumerate()
        .map(|(place, crop)| {
            let ways = ways(crop);
            let name = crop_name(page.term, crop);
            Bar {
                words: format!("{} {name}: {} ({})", place + 1, page.look.grams(sum(&ways)), share(&ways)),
                ink: charts::crop_ink(place),
                plain: ways.whole_heads,
                striped: ways.cuts,
            }
        })
        .collect();
    let rows = page
        .crops
        .iter()
        .map(|crop| {
            let ways = ways(crop);
            vec![
                crop_name(page.term, crop).to_owned(),
                page.look.grams(sum(&ways)),
                share(&ways),
                page.look.grams(ways.whole_heads),
                page.look.grams(ways.cuts),
                weeks_with(page, crop).to_string(),
            ]
        })
        .collect();
    let head = ["Crop", "Served", "Share", "Whole heads", "Cut and come again", "Weeks"];
    figure(
        &Figure {
            id: "mix-chart",
            heading: "Greens served in the whole term by crop",
            title: "Greens served in the whole term by crop",
            description: &description(page, all),
            below: html! { ul.keys { (whole_heads_key()) (cuts_key()) } },
            table: Table { head: head.iter().map(ToString::to_string).collect(), words: 0, rows },
        },
        &bars(&list),
    )
}

fn sum(ways: &Ways) -> f64 {
    ways.whole_heads + ways.cuts
}

fn weeks_with(page: &Page, crop: &CropId) -> usize {
    let weeks = weeks(page.term, page.plan);
    weeks.iter().filter(|week| week.crops.get(crop).is_some_and(|ways| sum(ways) > 0.0)).count()
}

fn description(page: &Page, all: f64) -> String {
    let served = by_crop(page.plan);
    let most = served
        .iter()
        .reduce(|most, next| if sum(next.1) > sum(most.1) { next } else { most })
        .map_or_else(String::new, |(crop, ways)| {
            format!(" Most of it is {}: {}.", crop_name(page.term, crop), page.look.grams(sum(ways)))
        });
    let crops = counted(page.crops.len() as u32, "crop");
    format!("A bar for each of {crops}, {} in all.{most}", page.look.grams(all))
}
