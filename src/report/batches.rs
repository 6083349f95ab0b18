//! Every batch with its dates, places and expected mass.

use super::begin;
use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{crop_name, numbers, short_day};
use crate::domain::growth::Way;
use crate::domain::plan::{Batch, Harvest, Part, Plan};
use crate::domain::term::Term;

/// A table for each site: one row for each part of a batch, the batch's own figures on its first row.
pub fn table(term: &Term, plan: &Plan, look: &Look) -> String {
    let tables: Vec<String> = term
        .sites
        .iter()
        .map(|site| {
            let heading = look.paint(Mood::Heading, &site.name);
            let batches: Vec<&Batch> = plan.batches.iter().filter(|batch| batch.site == site.id).collect();
            if batches.is_empty() {
                format!("{heading}\nNo batch is planned here.\n")
            } else {
                format!("{heading}\n{}", site_table(term, &batches, look))
            }
        })
        .collect();
    tables.join("\n")
}

fn site_table(term: &Term, batches: &[&Batch], look: &Look) -> String {
    let mut grid = Grid::new(
        look,
        &["Batch", "Crop", "Sow", "Plugs x seeds", "Move", "Tank: holes", "Harvest", "Expect"],
    )
    .right(&[7]);
    for batch in batches {
        for (index, part) in batch.parts.iter().enumerate() {
            let mut row = if index == 0 { batch_cells(term, batch) } else { vec![String::new(); 4] };
            row.extend(part_cells(part, look));
            grid.row(row);
        }
    }
    grid.draw(look)
}

fn batch_cells(term: &Term, batch: &Batch) -> Vec<String> {
    let (sow, plugs) = begin::in_table(batch);
    vec![batch.id.to_string(), crop_name(term, &batch.crop).to_owned(), sow, plugs]
}

/// Date, place and mass of a part, each of its harvests on a line of its own.
fn part_cells(part: &Part, look: &Look) -> [String; 4] {
    let lines = |line: fn(&Harvest, &Look) -> String| -> String {
        let lines: Vec<String> = part.harvests.iter().map(|harvest| line(harvest, look)).collect();
        lines.join("\n")
    };
    let lost = part.lost.map(|day| format!("{} {} lost", short_day(day), part.plants));
    if part.lost_in_nursery() {
        return [String::new(), String::new(), lost.unwrap_or_default(), String::new()];
    }
    let mut cells = [
        short_day(part.transplant),
        format!("{}: {}", part.tank, numbers(&part.holes)),
        lines(|harvest, _| {
            let way = match harvest.way {
                Way::Cut => "cut",
                Way::WholeHead => "pull",
            };
            format!("{} {way}", short_day(harvest.date))
        }),
        lines(|harvest, look| look.grams(harvest.grams)),
    ];
    let stays = part.leaves().is_none().then(|| "stays".to_owned());
    if let Some(end) = lost.or(stays) {
        if !cells[2].is_empty() {
            cells[2].push('\n');
        }
        cells[2].push_str(&end);
    }
    cells
}
