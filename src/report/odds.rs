//! How sure a plan is, as a table and a few sentences.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{counted, day};
use crate::domain::odds::{Chance, DayOdds, Odds};

/// The table, one row a serving day still to come, and what the whole term comes to.
pub fn table(odds: &Odds, look: &Look) -> String {
    let headings = ["Serving", "Target", "Planned", "On average", "8 terms in 10", "Reached", "4/5 of it"];
    let mut grid = Grid::new(look, &headings).right(&[1, 2, 3, 5, 6]);
    for day in &odds.days {
        grid.row(row(day, look));
    }
    let heading =
        look.paint(Mood::Heading, &format!("How sure the plan is: the term played {} times", odds.runs));
    let mut text = format!("{heading}\n{}\n", grid.draw(look));
    for sentence in sentences(odds, look) {
        text.push_str(&look.wrap(&sentence));
    }
    text
}

fn row(odds: &DayOdds, look: &Look) -> [String; 7] {
    [
        day(odds.date),
        look.grams(odds.target),
        look.grams(odds.planned),
        look.grams(odds.mean),
        format!("{} to {}", look.grams(odds.low), look.grams(odds.high)),
        chance(odds.reached),
        chance(odds.nearly),
    ]
}

/// What the table does not say.
fn sentences(odds: &Odds, look: &Look) -> Vec<String> {
    if odds.days.is_empty() {
        return vec!["No serving day is still to come.".to_owned()];
    }
    let mut told =
        vec![format!("Every serving day reaches its target in {} of terms.", chance(odds.every_day))];
    if let Some(least) =
        odds.days.iter().min_by(|one, other| one.reached.share.total_cmp(&other.reached.share))
    {
        told.push(format!("The least sure day is {}: {}.", day(least.date), chance(least.reached)));
    }
    told.push(format!(
        "In an average term {} are missing, {} are harvested and not served, {} places in tanks stay empty as too few \
         seedlings came up, and {} seedlings find no place.",
        look.grams(odds.short_grams),
        look.grams(odds.surplus_grams),
        whole(odds.empty_places),
        whole(odds.spare_seedlings),
    ));
    told.push(
        "Played are seeds that do not come up, seedlings and plants that die, slow and weak batches, good and bad places \
         and tanks in trouble, by the figures of the crop library (sowtide crops). Nobody in it knows what will happen, or \
         plans anew."
            .to_owned(),
    );
    told
}

/// A chance in words, with no more digits than it has: its last digit is worth at least its standard error twice.
pub fn chance(chance: Chance) -> String {
    let percent = 100.0 * chance.share;
    let step = if chance.error < 0.0125 { 1.0 } else { 5.0 };
    match (percent / step).round() * step {
        rounded if rounded < 0.5 => "under 1%".to_owned(),
        rounded if rounded > 99.5 => "over 99%".to_owned(),
        rounded => format!("{rounded:.0}%"),
    }
}

/// How many terms reach a target, in a few words.
pub(super) fn sure(chance: Chance) -> String {
    match (10.0 * chance.share).round() as u32 {
        0 => "sure: < 1 in 10".to_owned(),
        10 => "sure: > 9 in 10".to_owned(),
        terms => format!("sure: {terms} in 10"),
    }
}

/// The same for a whole plan; nothing if no serving day is still to come. Of one that falls short nobody asks how sure it is
/// to meet its targets.
pub(super) fn in_all(odds: &Odds, short: bool, look: &Look) -> Option<String> {
    let least = odds.days.iter().min_by(|one, other| one.reached.share.total_cmp(&other.reached.share))?;
    let served: f64 = odds.days.iter().map(|day| day.mean).sum();
    let mut told = format!(
        "How sure a day is comes from {} terms played with seeds, plants and tanks that fail as the crops' figures say. On \
         average {} are served",
        odds.runs,
        look.grams(served),
    );
    if !short {
        told = format!(
            "{told}; all {} reach their targets in {} of terms, the least sure day, {}, in {}",
            counted(odds.days.len() as u32, "serving day"),
            chance(odds.every_day),
            day(least.date),
            chance(least.reached),
        );
    }
    Some(format!("{told}. Day by day: sowtide odds"))
}

fn whole(number: f64) -> String {
    if number > 0.0 && number < 0.5 { "hardly any".to_owned() } else { format!("{number:.0}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chance_has_no_more_digits_than_it_knows() {
        let told = |times, runs| chance(Chance::of(times, runs));
        assert_eq!(told(874, 2000), "44%");
        assert_eq!(told(44, 100), "45%", "the standard error is five percent");
        assert_eq!((told(0, 2000), told(2000, 2000)), ("under 1%".to_owned(), "over 99%".to_owned()));
    }
}
