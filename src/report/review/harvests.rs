//! Harvests against the plan.

use crate::domain::review::{Masses, Review};
use crate::domain::term::Term;
use crate::domain::weighed::Slip;
use crate::report::grid::Grid;
use crate::report::look::Look;
use crate::report::words::{and, counted, crop_name, percent, short_day, site_name};

const FIGURES: [&str; 5] = ["Planned", "Weighed", "Not recorded", "Of plan", "Of figures"];

/// Tables by batch, crop and site, and what they mean.
pub(super) fn part(term: &Term, review: &Review, look: &Look) -> String {
    let mut batches = grid(look, &["Batch", "Crop", "Site"]);
    for batch in review.batches.iter().filter(|batch| batch.outcome.mass.is_told()) {
        let names = [batch.batch.as_str(), crop_name(term, &batch.crop), site_name(term, &batch.site)];
        batches.row(row(&names, &batch.outcome.mass, look));
    }
    let mut crops = grid(look, &["Crop"]);
    for (name, mass) in by_crop(term, review) {
        crops.row(row(&[name], &mass, look));
    }
    let mut sites = grid(look, &["Site"]);
    let by_site = review.by(|batch| &batch.site);
    for site in &term.sites {
        if let Some(outcome) = by_site.get(&site.id).filter(|outcome| outcome.mass.is_told()) {
            sites.row(row(&[&site.name], &outcome.mass, look));
        }
    }
    sites.line();
    let all = review.in_all().mass;
    if !all.is_told() {
        return look.wrap("No harvest was planned or weighed until then.");
    }
    sites.row(row(&["All"], &all, look));
    let grids = [batches, crops, sites].map(|grid| grid.draw(look));
    format!("{}{}", grids.join("\n"), notes(review, look))
}

/// What each crop gave, by name.
pub(super) fn by_crop<'a>(term: &'a Term, review: &'a Review) -> Vec<(&'a str, Masses)> {
    let crops = review.by(|batch| crop_name(term, &batch.crop)).into_iter();
    crops.map(|(name, outcome)| (name, outcome.mass)).filter(|(_, mass)| mass.is_told()).collect()
}

fn grid(look: &Look, names: &[&str]) -> Grid {
    let headings: Vec<&str> = names.iter().copied().chain(FIGURES).collect();
    let figures: Vec<usize> = (names.len()..headings.len()).collect();
    Grid::new(look, &headings).right(&figures)
}

fn row(names: &[&str], mass: &Masses, look: &Look) -> Vec<String> {
    let grams = |grams: f64| if grams > 0.0 { look.grams(grams) } else { "-".to_owned() };
    let share = |share: Option<f64>| share.map_or_else(|| "-".to_owned(), percent);
    let figures = [
        grams(mass.planned),
        grams(mass.weighed),
        grams(mass.unrecorded),
        share(mass.of_plan()),
        share(mass.of_figures()),
    ];
    names.iter().map(ToString::to_string).chain(figures).collect()
}

fn notes(review: &Review, look: &Look) -> String {
    let mut notes = vec![
        "Planned: what was due until that day, as the plan told it when a batch was to be sown. Not recorded: planned for harvests \
         that nobody wrote down; \"of plan\" leaves them out. Of figures: what was weighed against what just these plants should \
         have given by the figures of crop and site."
            .to_owned(),
    ];
    if !review.undone.is_empty() {
        let steps = review.undone.iter().map(|step| {
            format!("{} of {} on {}", counted(step.number, "plant"), step.batch, short_day(step.day))
        });
        notes.push(format!(
            "Not recorded though others were before and after, and so taken as not done: {}. If they were harvested, or are dead, \
             record that.",
            and(&steps.collect::<Vec<_>>())
        ));
    }
    notes.extend(review.slips.iter().map(slip));
    notes.iter().map(|note| look.wrap(note)).collect()
}

/// A harvest that cannot have weighed what was recorded. In a review it counts as it is.
fn slip(slip: &Slip) -> String {
    format!(
        "The harvest of {} on {} weighs {} of what its figures say, which can hardly be; it counts here as it was recorded. Look at \
         plants, mass and unit, and correct the entry with --replaces.",
        slip.batch,
        short_day(slip.day),
        percent(slip.share)
    )
}
