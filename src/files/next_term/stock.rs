//! What is left in store, as the stock of a term file.

use super::dates::{entry, items};
use super::edits::Edits;
use crate::domain::leftover::{Leftover, is_stated};
use crate::domain::supplies::{SeedAmount, Stock};
use crate::files::problem::Problem;
use crate::files::tree::Node;

/// Sets every stock that is told to what is left of it.
pub(super) fn set(edits: &mut Edits<'_>, root: &Node, leftover: &Leftover) -> Result<(), Problem> {
    let Some((_, node)) = entry(root, "supplies") else { return Ok(()) };
    let supplies = &leftover.supplies;
    if let Some((_, seeds)) = entry(node, "seed") {
        for seed in &supplies.seed {
            let Some((_, map)) = entry(seeds, seed.crop.as_str()) else { continue };
            if let Some(amount) = seed.on_hand {
                edits.set(map, "on-hand", &seed_amount(amount))?;
            }
            if let Some(year) = seed.packed {
                edits.set(map, "packed", &year.to_string())?;
            }
        }
    }
    let pieces = [("plugs", &supplies.plugs), ("net-cups", &supplies.net_cups)];
    let medium = supplies.medium.iter().map(|medium| ("medium", &medium.stock));
    for (key, stock) in pieces.into_iter().chain(medium) {
        if let Some((_, map)) = entry(node, key) {
            let unit = if key == "medium" { " litres" } else { "" };
            set_stock(edits, map, stock, unit)?;
        }
    }
    // The reader takes them in this order, too.
    let maps = ["nutrient", "acid", "base"].into_iter().flat_map(|key| items(node, key));
    for (map, dose) in maps.zip(&supplies.doses) {
        set_stock(edits, map, &dose.stock, " litres")?;
    }
    Ok(())
}

fn set_stock(edits: &mut Edits<'_>, map: &Node, stock: &Stock, unit: &str) -> Result<(), Problem> {
    if entry(map, "on-hand").is_none() && !is_stated(stock) {
        return Ok(());
    }
    let amount = stock.on_hand;
    let written = if amount > 0.0 { format!("{amount}{unit}") } else { "0".to_owned() };
    edits.set(map, "on-hand", &written)
}

/// An amount of seed as the reader of term files takes it.
pub fn seed_amount(amount: SeedAmount) -> String {
    match amount {
        SeedAmount::Seeds(0) => "0".to_owned(),
        SeedAmount::Seeds(1) => "1 seed".to_owned(),
        SeedAmount::Seeds(count) => format!("{count} seeds"),
        SeedAmount::Grams(grams) => format!("{grams} g"),
    }
}
