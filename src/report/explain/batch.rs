//! Why a batch has its dates, as two tables and a few sentences.

use crate::domain::explain::{Against, AgainstHarvest, BatchExplained, HarvestDay, HarvestExplained, SowDay};
use crate::domain::growth::Way;
use crate::domain::plan::Batch;
use crate::domain::term::Term;
use crate::report::grid::Grid;
use crate::report::look::{Look, Mood};
use crate::report::words::{and, counted, crop_name, day, site_name};

/// The days on which it could be sown, with what speaks against each, and the days on which it may be harvested.
pub fn batch(explained: &BatchExplained, term: &Term, batch: &Batch, look: &Look) -> String {
    let (crop, site) = (crop_name(term, &batch.crop), site_name(term, &batch.site));
    let mut text = look.paint(Mood::Heading, &format!("{}, {crop} at {site}", batch.id));
    text += "\n";
    if explained.harvests.is_empty() {
        return text + &look.wrap("Nothing is to be harvested of it.");
    }
    text += &sow_days(explained, batch, look);
    text += "\n";
    text += &harvests(&explained.harvests, look);
    text += &other_days(&explained.harvests, look);
    text + &look.wrap(&format!(
        "sowtide show --batch {} tells how its mass comes about, sowtide explain --day DATE what else a serving day is made of.",
        batch.id
    ))
}

fn sow_days(explained: &BatchExplained, batch: &Batch, look: &Look) -> String {
    let Some(first) = explained.harvests.first() else { return String::new() };
    if batch.is_standing() {
        return look.wrap("It stood there when the term began, so that only its harvests are planned.");
    }
    if explained.sow_days.is_empty() {
        return String::new();
    }
    let mut text = look.wrap(&format!(
        "On {} it would be of the right age for its first harvest from {}:",
        day(first.date),
        counted(explained.sow_days.len() as u32, "class day"),
    ));
    let begun = if batch.origin.is_bought() { "Comes" } else { "Sown" };
    let mut grid = Grid::new(look, &[begun, "Days old then", "A plant gives", "Why not"]).right(&[1, 2]);
    for tried in &explained.sow_days {
        grid.row([
            day(tried.day),
            tried.age.to_string(),
            tried.grams.map_or_else(String::new, |grams| look.grams(grams)),
            why_not(tried),
        ]);
    }
    text += &grid.draw(look);
    if explained.sow_days.iter().any(|tried| !tried.is_planned && tried.against.is_none()) {
        text += &look.wrap(
            "On a day that could be, this batch could be sown instead with nothing else changed; the plan weighs mass, rhythm, work and \
             seed of all batches against each other (sowtide plan --show-weights).",
        );
    }
    text
}

fn why_not(tried: &SowDay) -> String {
    match &tried.against {
        _ if tried.is_planned => "planned".to_owned(),
        None => "could be".to_owned(),
        Some(Against::NoMove) => "no class day on which it could be moved".to_owned(),
        Some(Against::Holes { tank, day: full, free, needed }) => {
            format!("tank {tank} full until {}: {free} holes free, {needed} needed", day(*full))
        }
        Some(Against::Out { tank }) => format!("tank {tank} is out of use"),
        Some(Against::OffRhythm) => "it would not keep the rhythm in which this crop is sown here".to_owned(),
        Some(Against::Rule(message)) => message.clone(),
    }
}

fn harvests(harvests: &[HarvestExplained], look: &Look) -> String {
    let mut grid = Grid::new(look, &["Harvest", "Plants", "Days", "Allowed", "For"]).right(&[1]);
    for harvest in harvests {
        let since = if harvest.number == 1 { "old" } else { "after the cut" };
        let allowed = harvest.allowed.as_ref();
        let serves: Vec<String> = harvest
            .serves
            .iter()
            .map(|(date, grams)| format!("{} ({})", day(*date), look.grams(*grams)))
            .collect();
        grid.row([
            format!("{} {}", day(harvest.date), way(harvest)),
            harvest.plants.to_string(),
            format!("{} {since}", harvest.days),
            allowed.map_or_else(String::new, |days| format!("{} to {}", days.start(), days.end())),
            if serves.is_empty() { "no serving day".to_owned() } else { and(&serves) },
        ]);
    }
    grid.draw(look)
}

/// The days on which harvests could be instead; empty if there is no choice.
fn other_days(harvests: &[HarvestExplained], look: &Look) -> String {
    let mut grid = Grid::new(look, &["Harvest", "Instead", "A plant gives", "Why not"]).right(&[2]);
    for harvest in harvests {
        for (index, tried) in harvest.other_days.iter().enumerate() {
            grid.row([
                if index == 0 { planned(harvest, look) } else { String::new() },
                day(tried.day),
                tried.grams.map_or_else(String::new, |grams| look.grams(grams)),
                why_not_then(tried),
            ]);
        }
    }
    if harvests.iter().all(|harvest| harvest.other_days.is_empty()) {
        return String::new();
    }
    format!("\n{}", grid.draw(look))
}

/// `Thu 8 Oct cut, 48 g each`.
fn planned(harvest: &HarvestExplained, look: &Look) -> String {
    format!("{} {}, {} each", day(harvest.date), way(harvest), look.grams(harvest.plant_grams))
}

fn way(harvest: &HarvestExplained) -> &'static str {
    if harvest.way == Way::Cut { "cut" } else { "pull" }
}

fn why_not_then(tried: &HarvestDay) -> String {
    match &tried.against {
        None => "could be".to_owned(),
        Some(AgainstHarvest::TooLate { serving }) => format!("too late for {}", day(*serving)),
        Some(AgainstHarvest::NotKept { serving, days }) => {
            format!("would not keep until {} ({})", day(*serving), counted(*days, "day"))
        }
        Some(AgainstHarvest::HolesWanted { batch, day: moved }) => {
            format!("{batch} comes into its holes on {}", day(*moved))
        }
        Some(AgainstHarvest::NextCut { day: next }) => {
            format!("wrong time to grow until the next harvest, {}", day(*next))
        }
    }
}
