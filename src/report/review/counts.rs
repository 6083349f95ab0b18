//! What came up, what lived and what was lost, against the figures of the crop library.

use crate::domain::crop::Limits;
use crate::domain::review::{Cause, Outcome, Review, Tally, Verdict};
use crate::domain::term::Term;
use crate::report::grid::Grid;
use crate::report::look::Look;
use crate::report::words::{counted, crop_name, percent, site_name};

/// What is counted, in the order in which plants go through it.
pub(super) const STAGES: [Stage; 4] = [
    Stage { name: "plugs with seedlings", of: |outcome| outcome.came_up },
    Stage { name: "seedlings fit to move", of: |outcome| outcome.kept },
    Stage { name: "both together", of: |outcome| outcome.fit },
    Stage { name: "plants harvested", of: |outcome| outcome.lived },
];

/// Something that is counted.
pub(super) struct Stage {
    /// What people call it.
    pub(super) name: &'static str,
    /// The count itself.
    pub(super) of: fn(&Outcome) -> Tally,
}

/// Tables by crop, site and batch, and what they mean.
pub(super) fn part(term: &Term, review: &Review, look: &Look) -> String {
    let mut text = String::new();
    let by_crop = review.by(|batch| crop_name(term, &batch.crop));
    text.push_str(&table("Crop", by_crop.iter().map(|(name, outcome)| (*name, outcome)), look));
    let by_site = review.by(|batch| &batch.site);
    let sites = term.sites.iter().filter_map(|site| Some((site.name.as_str(), by_site.get(&site.id)?)));
    let sites = table("Site", sites, look);
    if text.is_empty() {
        return look.wrap(
            "Nothing was counted: seedlings with \"came-up\", plants by their harvest, so that nothing can be told.",
        );
    }
    text = format!("{text}\n{sites}\n{}", batches(term, review, look));
    for note in notes(&review.in_all()) {
        text.push_str(&look.wrap(&note));
    }
    text
}

fn table<'a>(name: &str, rows: impl Iterator<Item = (&'a str, &'a Outcome)>, look: &Look) -> String {
    let headings = [name, "What", "Counted", "Share", "19 times in 20", "Library", "In words"];
    let mut grid = Grid::new(look, &headings).right(&[2, 3]);
    let mut any = false;
    for (name, outcome) in rows {
        for stage in &STAGES {
            if let Some(row) = row(&(stage.of)(outcome)) {
                grid.row([name.to_owned(), stage.name.to_owned()].into_iter().chain(row));
                any = true;
            }
        }
    }
    if any { grid.draw(look) } else { String::new() }
}

/// Count, share, its limits, the library's, and what that says; `None` if nothing was counted.
fn row(tally: &Tally) -> Option<[String; 5]> {
    let (Limits { low, high }, band) = (tally.limits()?, tally.band());
    Some([
        format!("{} of {}", tally.count, tally.of),
        percent(tally.share()),
        format!("{} to {}", percent(low), percent(high)),
        format!("{} ({} to {})", percent(band.value), percent(band.low), percent(band.high)),
        tally.verdict().map_or("", verdict).to_owned(),
    ])
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::TooFew => "too few to tell",
        Verdict::Fewer => "below the library",
        Verdict::More => "above the library",
        Verdict::Fits => "no difference seen",
    }
}

fn batches(term: &Term, review: &Review, look: &Look) -> String {
    let headings = ["Batch", "Crop", "Site", "Came up", "Fit to move", "Harvested"];
    let mut grid = Grid::new(look, &headings).right(&[3, 4, 5]);
    for batch in &review.batches {
        let Outcome { came_up, kept, lived, .. } = batch.outcome;
        let tallies = [came_up, kept, lived];
        if tallies.iter().any(|tally| tally.of > 0) {
            let names = [batch.batch.as_str(), crop_name(term, &batch.crop), site_name(term, &batch.site)];
            let counts = tallies.map(|Tally { of, count, .. }| match of {
                0 => "-".to_owned(),
                of => format!("{count} of {of}"),
            });
            grid.row(names.map(str::to_owned).into_iter().chain(counts));
        }
    }
    grid.draw(look)
}

fn notes(all: &Outcome) -> Vec<String> {
    let mut notes = vec![
        "19 times in 20: where the share of such plugs or plants lies in the long run (Wilson's interval), if each of them fails by \
         itself. Where many fail at once, that is less sure than it looks, and losses on fewer than three occasions tell nothing. Library: the crop's figure, and how far \
         it may be off. Plugs were counted with \"came-up\" before any seedling was moved; a seedling is fit to move unless it was recorded \
         as lost; a plant is harvested once it was cut or pulled."
            .to_owned(),
    ];
    if all.assumed > 0 {
        notes.push(format!(
            "Of {}, nobody recorded the harvest of {}: they count as harvested as planned.",
            counted(all.lived.of, "plant"),
            all.assumed
        ));
    }
    if all.missing > 0 {
        notes.push(format!(
            "Neither harvested with the others nor recorded as lost, and here taken for lost: {}.",
            counted(all.missing, "plant")
        ));
    }
    notes
}

/// Causes of losses.
pub(super) fn losses(review: &Review, look: &Look) -> String {
    if review.losses.is_empty() {
        return look.wrap("No loss was recorded: either there was none, or nobody wrote it down.");
    }
    let mut grid =
        Grid::new(look, &["Cause", "Plugs in nurseries", "Plants in tanks", "Times"]).right(&[1, 2, 3]);
    let number = |number: u32| if number == 0 { "-".to_owned() } else { number.to_string() };
    for cause in review.causes() {
        grid.row([
            in_words(&cause).to_owned(),
            number(cause.in_nursery),
            number(cause.in_tanks),
            cause.times.to_string(),
        ]);
    }
    grid.draw(look)
}

/// The cause, or that nobody told it.
pub(super) fn in_words<'a>(cause: &Cause<'a>) -> &'a str {
    cause.cause.unwrap_or("lost by the plan made again; no cause recorded")
}
