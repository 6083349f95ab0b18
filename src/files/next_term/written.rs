//! What is written anew into a term file that goes on from another.

use super::edits::MARK;
use crate::domain::term::{Stage, Standing, Term};
use std::fmt::Write;

/// The key `standing` with these batches; empty without any.
pub(super) fn standing(batches: &[Standing]) -> String {
    let mut text = String::new();
    for (nth, batch) in batches.iter().enumerate() {
        if nth == 0 {
            text.push_str("standing:\n");
        }
        let Standing { batch: id, crop, site, sown, plants, stage } = batch;
        let _ = write!(
            text,
            "  - batch: {id}\n    crop: {crop}\n    site: {site}\n    sown: {sown}\n    plants: {plants}\n"
        );
        if let Stage::Tank { tank, transplanted, holes, cuts } = stage {
            let _ = write!(text, "    tank: {tank}\n    transplanted: {transplanted}\n");
            for (key, list) in [("holes", listed(holes)), ("cuts", listed(cuts))] {
                if let Some(list) = list {
                    let _ = writeln!(text, "    {key}: [{list}]");
                }
            }
        }
    }
    text
}

/// A remark on plants that are too old for any harvest of the next term.
pub(super) fn cleared(batch: &Standing, old: &Term) -> String {
    let crop = old.crop(&batch.crop).map_or(batch.crop.as_str(), |wanted| &wanted.crop.name);
    let site = old.site(&batch.site).map_or(batch.site.as_str(), |site| &site.name);
    let place = match &batch.stage {
        Stage::Nursery => "the nursery".to_owned(),
        Stage::Tank { tank, .. } => format!("tank {tank}"),
    };
    format!(
        "{MARK} Too old or cut too often for any class day of this term, so use up: {} x {crop} in {place} of {site}, sown {}\n",
        batch.plants, batch.sown
    )
}

fn listed<T: ToString>(values: &[T]) -> Option<String> {
    let all: Vec<String> = values.iter().map(ToString::to_string).collect();
    (!all.is_empty()).then(|| all.join(", "))
}

/// A name in quotes.
pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('\\', "\\\\").replace('"', "\\\""))
}
