//! Every batch with its dates, places and expected mass.

use super::look::{Grid, Look, Mood};
use super::words::{crop_name, numbers, short_day, site_name};
use crate::domain::plan::{Batch, Part, Plan};
use crate::domain::term::Term;

/// The table: one row for each part of a batch, the batch's own figures on its first row.
pub fn table(term: &Term, plan: &Plan, look: &Look) -> String {
    if plan.batches.is_empty() {
        return "No batch is planned.\n".to_owned();
    }
    let mut grid = Grid::new(
        look,
        &[
            "Batch",
            "Crop, site",
            "Sow",
            "Plugs",
            "Move",
            "Tank: holes",
            "Harvest",
            "Expect",
        ],
    )
    .right(&[3, 7]);
    for batch in &plan.batches {
        for (index, part) in batch.parts.iter().enumerate() {
            let mut row = if index == 0 {
                batch_cells(term, batch)
            } else {
                vec![String::new(); 4]
            };
            row.extend(part_cells(part, look));
            grid.row(row);
        }
    }
    let mut text = grid.draw(look);
    text.push_str(&look.paint(
        Mood::Quiet,
        "Plugs: number x seeds in each. Harvest: c = cut, p = plants pulled.",
    ));
    text.push('\n');
    text
}

fn batch_cells(term: &Term, batch: &Batch) -> Vec<String> {
    let (sow, plugs) = if batch.standing {
        ("stands".to_owned(), batch.plugs.to_string())
    } else {
        (
            short_day(batch.sown),
            format!("{} x {}", batch.plugs, batch.seeds_per_plug),
        )
    };
    vec![
        batch.id.to_string(),
        format!(
            "{}, {}",
            crop_name(term, &batch.crop),
            site_name(term, &batch.site)
        ),
        sow,
        plugs,
    ]
}

fn part_cells(part: &Part, look: &Look) -> [String; 4] {
    let last = part.harvests.len().saturating_sub(1);
    let harvests: Vec<String> = part
        .harvests
        .iter()
        .enumerate()
        .map(|(index, harvest)| {
            let way = if index == last { "p" } else { "c" };
            format!("{} {way}", short_day(harvest.date))
        })
        .collect();
    [
        short_day(part.transplant),
        format!("{}: {}", part.tank, numbers(&part.holes)),
        harvests.join(", "),
        look.grams(part.harvests.iter().map(|harvest| harvest.grams).sum()),
    ]
}
