//! How sure a plan is, as a table and a few sentences.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{and, counted, day, percent};
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
    told.extend(promise(odds, look));
    told.push(format!(
        "In an average term {} are missing, {} are harvested and not served, {} in tanks stay empty as too few seedlings \
         came up, and {} find no place.",
        look.grams(odds.short_grams),
        look.grams(odds.surplus_grams),
        whole(odds.empty_places, "place"),
        whole(odds.spare_seedlings, "seedling"),
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
    match of_ten(chance) {
        0 => "sure: < 1 in 10".to_owned(),
        10 => "sure: > 9 in 10".to_owned(),
        terms => format!("sure: {terms} in 10"),
    }
}

/// The same in a sentence.
pub(super) fn in_ten(chance: Chance) -> String {
    match of_ten(chance) {
        0 => "fewer than 1 of 10 cases".to_owned(),
        10 => "more than 9 of 10 cases".to_owned(),
        terms => format!("{terms} of 10 cases"),
    }
}

/// Terms of ten, rounded.
pub(super) fn of_ten(chance: Chance) -> u32 {
    (10.0 * chance.share).round() as u32
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
    let promise = if short { None } else { promise(odds, look) };
    let promise = promise.map(|told| format!(" {told}")).unwrap_or_default();
    Some(format!("{told}.{promise}"))
}

/// Whether what is promised is kept, and what is missing where it is not; of a plan without a promise, how to ask for one.
fn promise(odds: &Odds, look: &Look) -> Option<String> {
    let promised = odds.days.iter().filter(|day| day.sure > 0.0);
    let most = promised.clone().map(|day| day.sure).fold(0.0, f64::max);
    if most <= 0.0 {
        return (!odds.days.is_empty()).then(|| {
            "Nothing is kept in reserve; \"sure: 80 %\" under target: in the term file asks for it."
                .to_owned()
        });
    }
    let broken: Vec<String> = promised
        .clone()
        .filter(|day| day.breaks_promise())
        .map(|day| {
            let (date, reached) = (self::day(day.date), chance(day.reached));
            format!("{date} ({reached}, about {} more would be needed)", look.grams(day.missing))
        })
        .collect();
    let alike = promised.clone().all(|day| (day.sure - most).abs() < 1e-9);
    let what =
        if alike { format!("{} is promised", percent(most)) } else { "A chance is promised".to_owned() };
    let each =
        if odds.days.iter().all(|day| day.sure > 0.0) { "each day" } else { "each day with a promise" };
    Some(match &broken[..] {
        [] => format!("{what} of {each}, and that is about kept."),
        [first, second, third, others @ ..] if others.len() > 1 => format!(
            "{what} of {each}, but not kept on {first}, {second}, {third} and {}.",
            counted(others.len() as u32, "more day")
        ),
        broken => format!("{what} of {each}, but not kept on {}.", and(broken)),
    })
}

fn whole(number: f64, noun: &str) -> String {
    if number > 0.0 && number < 0.5 {
        format!("hardly any {noun}s")
    } else {
        counted(number.round() as u32, noun)
    }
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
