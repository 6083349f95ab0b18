//! The journal as a table, and its entries in words.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{self, counted, day, short_day, site_name};
use crate::domain::growth::Way;
use crate::domain::ids::BatchId;
use crate::domain::journal::{
    Amount, Entry, Harvested, InTank, Journal, Measuring, Place, TargetHolds, What,
};
use crate::domain::term::Term;
use chrono::Datelike;

/// A table of entries: number, day, place, what happened, who says so, and what became of the entry.
pub fn table(term: &Term, journal: &Journal, entries: &[&Entry], look: &Look) -> String {
    if entries.is_empty() {
        return "No entry.\n".to_owned();
    }
    let mut grid = Grid::new(look, &["No.", "Day", "Site", "What happened", "By"]);
    for entry in entries {
        let mut what = sentence(entry, look);
        if let Some(old) = entry.replaces.filter(|_| entry.what != What::Withdrawn) {
            what = format!("{what} (corrects {old})");
        }
        let mut row = vec![
            entry.id.to_string(),
            day_of(entry, term),
            entry.site.as_ref().map_or_else(|| "all".to_owned(), |site| site_name(term, site).to_owned()),
            what,
            entry.by.clone().unwrap_or_default(),
        ];
        if let Some(by) = journal.replaced_by(entry.id) {
            let how = if by.what == What::Withdrawn { "withdrawn" } else { "corrected" };
            row[3] = look.paint(Mood::Quiet, &format!("[{how} by {}] {}", by.id, row[3]));
        }
        grid.row(row);
    }
    grid.draw(look)
}

/// An entry's day, with its year where that is none of the term's: somebody mistyped it.
fn day_of(entry: &Entry, term: &Term) -> String {
    let year = entry.day.year();
    if (term.start.year()..=term.end.year()).contains(&year) {
        return day(entry.day);
    }
    format!("{} {year}", day(entry.day))
}

/// What an entry says, without its day and site: `b012: 6 plants cut in tank blue, 289 g`.
pub fn sentence(entry: &Entry, look: &Look) -> String {
    match &entry.what {
        What::Sown { batch, plugs } => format!("{batch}: {} sown", counted(*plugs, "plug")),
        What::CameUp { batch, plugs } => format!("{batch}: seedlings up in {}", counted(*plugs, "plug")),
        What::Transplanted { batch, tank, plants } => {
            format!("{batch}: {} moved to tank {tank}", counted(*plants, "plant"))
        }
        What::Lost { batch, place, plants, holes, cause } => lost(batch, (place, holes), *plants, cause),
        What::Harvested(harvested) => harvest(harvested, look),
        What::Measured(Measuring { batch, tank, holes, samples }) => format!(
            "{batch}: {} measured in tank {tank}{}",
            counted(samples.len() as u32, "plant"),
            in_holes(holes)
        ),
        What::PutOff { batch, until } => {
            format!("{batch}: what was planned for this day put off to {}", short_day(*until))
        }
        What::TankOut { tank, until: None } => format!("tank {tank} out of use from this day on"),
        What::TankOut { tank, until: Some(until) } => {
            format!("tank {tank} out of use until {}", short_day(*until))
        }
        What::TankBack { tank } => format!("tank {tank} back in use"),
        What::ClassLost => "no class on this day".to_owned(),
        What::ClassAdded => "a class on this day".to_owned(),
        What::TargetChanged { holds, grams } => {
            let wanted = if *grams > 0.0 { look.grams(*grams) } else { "nothing".to_owned() };
            match holds {
                TargetHolds::ThatDay => format!("{wanted} wanted on this day"),
                TargetHolds::FromThenOn => format!("{wanted} wanted a serving day from this day on"),
            }
        }
        What::Behind { batch, days } => format!("{batch}: {} behind", counted(*days, "day")),
        What::Note { batch: None, text } => text.clone(),
        What::Note { batch: Some(batch), text } => format!("{batch}: {text}"),
        What::Withdrawn => match entry.replaces {
            Some(old) => format!("{old} withdrawn"),
            None => "withdrawn".to_owned(),
        },
    }
}

fn lost(batch: &BatchId, (place, holes): (&Place, &[u32]), plants: Amount, cause: &str) -> String {
    let (noun, place) = match place {
        Place::Nursery => ("plug", "the nursery".to_owned()),
        Place::Tank(tank) => ("plant", format!("tank {tank}")),
    };
    let number = match plants {
        Amount::All => format!("all {noun}s"),
        Amount::Plants(number) => counted(number, noun),
    };
    format!("{batch}: {number} lost in {place}{}: {cause}", in_holes(holes))
}

fn harvest(harvested: &Harvested, look: &Look) -> String {
    let way = match harvested.way {
        Way::Cut => "cut",
        Way::WholeHead => "pulled",
    };
    let measured = match harvested.samples.len() {
        0 => String::new(),
        number => format!("; {} measured", counted(number as u32, "plant")),
    };
    let volume = harvested.measured_as.as_ref().map(|words| format!(" (measured as {words})"));
    format!(
        "{}: {} {way} in {}, {}{}{measured}",
        harvested.batch,
        counted(harvested.plants(), "plant"),
        tanks(&harvested.places),
        look.grams(harvested.grams),
        volume.unwrap_or_default()
    )
}

/// `tank blue, holes 4-7`; of several tanks with the number of each: `tank blue (4, holes 4-7) and tank red (2)`.
fn tanks(places: &[InTank]) -> String {
    if let [only] = places {
        return format!("tank {}{}", only.tank, in_holes(&only.holes));
    }
    let told = |place: &InTank| format!("tank {} ({}{})", place.tank, place.plants, in_holes(&place.holes));
    words::and(&places.iter().map(told).collect::<Vec<_>>())
}

/// The holes named, if any: `, holes 4-7`.
fn in_holes(holes: &[u32]) -> String {
    if holes.is_empty() { String::new() } else { format!(", {}", words::holes(holes)) }
}

/// Where an entry belongs, in words: the site's name, or every site.
pub(super) fn place<'a>(term: &'a Term, entry: &'a Entry) -> &'a str {
    entry.site.as_ref().map_or("all sites", |site| words::site_name(term, site))
}
