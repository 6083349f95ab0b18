//! The points a plan is judged by.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{counted, percent};
use crate::domain::term::Rules;

/// What costs how many points.
pub fn table(rules: &Rules, look: &Look) -> String {
    let weights = &rules.weights;
    let mut grid = Grid::new(look, &["Points", "Name", "For"]).right(&[0]);
    let mild = percent(weights.mild_share);
    let rows = [
        (weights.short, "short", format!("each gram short, up to {mild} of a day's target (mild-share)")),
        (weights.very_short, "very-short", "each further gram short".to_owned()),
        (
            weights.unsure,
            "unsure",
            "each gram missing to the reserve for what a day is promised, and more for many".to_owned(),
        ),
        (weights.surplus, "surplus", "each gram harvested that cannot be served".to_owned()),
        (weights.sowing, "sowing", "each batch sown".to_owned()),
        (weights.visit, "visit", "each class day with work at a site".to_owned()),
        (weights.task, "task", "each batch and day of transplanting or harvest".to_owned()),
        (weights.further_tank, "further-tank", "each further tank of such a task".to_owned()),
        (weights.scant, "scant", format!("each plant that is missing to {} in a tank", rules.handful)),
        (
            weights.split,
            "split",
            "each part of a batch in a tank that is moved or harvested otherwise than the rest".to_owned(),
        ),
        (
            weights.overmature,
            "overmature",
            "each head and day that it stands longer than it usually holds".to_owned(),
        ),
        (rules.mixed_price(), "mixed", "each further crop in a tank after a class day".to_owned()),
        (
            rules.idle_price(),
            "idle",
            "each stretch between breaks in which a site has nothing to do".to_owned(),
        ),
        (
            rules.series_price(),
            "series",
            "each crop that begins to be sown at a site in a steady rhythm".to_owned(),
        ),
        (weights.plug, "plug", "each plug sown".to_owned()),
        (weights.bought, "bought", "each seedling bought".to_owned()),
        (weights.hole_day, "hole-day", "each hole in use for a day".to_owned()),
        (
            weights.stored,
            "stored",
            format!("each gram and day of storage, up to {}", counted(rules.fresh_days, "day")),
        ),
        (weights.stale, "stale", "each gram and further day of storage".to_owned()),
    ];
    for (points, name, what) in rows {
        grid.row([points.to_string(), name.to_owned(), what]);
    }
    let heading = look.paint(Mood::Heading, "What a plan is judged by (the fewer points, the better)");
    let note = "Under rules: in the term file, weights: { task: 2 } gives one of them another price.";
    format!("{heading}\n{}\n{}\n", grid.draw(look), look.wrap(note))
}
