//! Dates, counts and reasons the way people say them.

use crate::domain::idle::{Idle, WhyIdle};
use crate::domain::ids::{CropId, SiteId};
use crate::domain::plan::{Facts, Shortfall};
use crate::domain::term::{Rhythm, Rules, Term, Weights};
use chrono::NaiveDate;

/// `Thu 10 Sep`.
pub fn day(date: NaiveDate) -> String {
    date.format("%a %-d %b").to_string()
}

/// `10 Sep`.
pub fn short_day(date: NaiveDate) -> String {
    date.format("%-d %b").to_string()
}

/// `Thursday 10 September 2026`.
pub fn long_day(date: NaiveDate) -> String {
    date.format("%A %-d %B %Y").to_string()
}

/// `1 plant`, `2 plants`.
pub fn counted(count: u32, noun: &str) -> String {
    if count == 1 {
        return format!("1 {noun}");
    }
    match noun {
        _ if noun.ends_with("ch") => format!("{count} {noun}es"),
        "entry" => format!("{count} entries"),
        _ => format!("{count} {noun}s"),
    }
}

/// Sorted numbers with runs drawn together: `1-6, 9, 11`.
pub fn numbers(sorted: &[u32]) -> String {
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for &number in sorted {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let shown: Vec<String> = runs
        .into_iter()
        .map(|(first, last)| if first == last { first.to_string() } else { format!("{first}-{last}") })
        .collect();
    shown.join(", ")
}

/// `hole 4`, `holes 1-6, 9`.
pub fn holes(sorted: &[u32]) -> String {
    let noun = if sorted.len() == 1 { "hole" } else { "holes" };
    format!("{noun} {}", numbers(sorted))
}

/// A share in percent without decimals, but not rounded to 0% or 100% where a decimal still tells them
/// apart.
pub fn percent(share: f64) -> String {
    let percent = share * 100.0;
    let shown = format!("{:.0}", percent + 0.0);
    let exact = format!("{percent:.1}");
    match (shown.as_str(), exact.as_str()) {
        ("0", "0.0" | "-0.0") | ("100", "100.0") => format!("{shown}%"),
        ("0" | "100", _) => format!("{exact}%"),
        _ => format!("{shown}%"),
    }
}

/// A share taken at a cut, in the words growers use where they fit.
pub fn taken(share: f64) -> String {
    if (share - 2.0 / 3.0).abs() < 0.04 {
        "about two thirds".to_owned()
    } else if (share - 0.5).abs() < 0.02 {
        "about half".to_owned()
    } else {
        format!("about {}", percent(share))
    }
}

/// What stays after a cut, to match [`taken`].
pub fn left(share_taken: f64) -> String {
    if (share_taken - 2.0 / 3.0).abs() < 0.04 {
        "one third".to_owned()
    } else if (share_taken - 0.5).abs() < 0.02 {
        "half".to_owned()
    } else {
        percent(1.0 - share_taken)
    }
}

/// `a, b and c`.
pub fn and(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The serving days that a harvest is meant for: `for Fri 19 Feb and Fri 26 Feb`, `for no serving day`.
pub fn meant_for(days: impl IntoIterator<Item = NaiveDate>) -> String {
    let days: Vec<String> = days.into_iter().map(day).collect();
    if days.is_empty() { "for no serving day".to_owned() } else { format!("for {}", and(&days)) }
}

/// What to call greens beyond the targets: where days are promised, most of them are there on purpose.
pub fn beyond(term: &Term) -> &'static str {
    if term.sure() > 0.0 { "reserve" } else { "surplus" }
}

/// A crop's name, or its id where the term does not know it.
pub fn crop_name<'a>(term: &'a Term, id: &'a CropId) -> &'a str {
    term.crop(id).map_or(id.as_str(), |wanted| wanted.crop.name.as_str())
}

/// A site's name, or its id where the term does not know it.
pub fn site_name<'a>(term: &'a Term, id: &'a SiteId) -> &'a str {
    term.site(id).map_or(id.as_str(), |site| site.name.as_str())
}

/// A reason in a few words, for tables.
pub fn reason(shortfall: Shortfall) -> &'static str {
    match shortfall {
        Shortfall::TooEarly => "too early in the term",
        Shortfall::DaysOff => "days off",
        Shortfall::Holes => "too few holes",
        Shortfall::Nursery => "too few nursery cells",
        Shortfall::Hands => "too little class time",
        Shortfall::Crops => "too few crops fit",
        Shortfall::OnlyIn => "crops bound to tanks",
        Shortfall::OneTank => "one-tank limit",
        Shortfall::Together => "several limits at once",
        Shortfall::Water => "too little water",
        Shortfall::Unattended => "seedlings left alone",
        Shortfall::Failure => "not made up for",
        Shortfall::Search => "no closer fit found",
    }
}

/// A reason in a sentence, with what would help; more time is advised only where the search, as the facts tell, was ended early.
pub fn reason_in_full(shortfall: Shortfall, rules: &Rules, facts: &Facts) -> String {
    let told = match shortfall {
        Shortfall::TooEarly => {
            "nothing sown in this term can be ready by then. Starting earlier, or counting what already \
             stands in the tanks, would help."
        }
        Shortfall::DaysOff => {
            "breaks and closures leave no class day on which these greens could be sown, moved or \
             harvested in time. One more class day near the break would help."
        }
        Shortfall::Holes => {
            "more plants would find no room in the tanks when they need it. One more tank, or crops that need less room, would help."
        }
        Shortfall::Nursery => {
            "more seedlings would find no cell when they need it. More nursery cells would help."
        }
        Shortfall::Hands => {
            "classes have too little time, or may sow too few batches a day. More time, or one more \
             class day, would help."
        }
        Shortfall::Crops => {
            "the tanks' nutrient set-points, the share limits or the kinds wanted leave too few crops. \
             Allowing more crops or larger shares would help."
        }
        Shortfall::OnlyIn => {
            "crops are bound to certain sites or tanks, and there is too little room or time there. More sites or \
             tanks under their only-in would help."
        }
        Shortfall::Together => {
            "several limits hold it back together, and lifting any one of them would help little. More of \
             everything, or a smaller target, would help."
        }
        Shortfall::OneTank => {
            "no single tank may carry more of a day's target. A larger share for one tank, or greens in \
             more tanks, would help."
        }
        Shortfall::Water => {
            "the tanks hold too little water for the days nobody comes. A visit during the break to top \
             up the tanks would help."
        }
        Shortfall::Unattended => {
            "seedlings would be left alone for longer than they last (unattended-days), so they cannot be raised in time. Somebody \
             who looks in on more days would help."
        }
        Shortfall::Failure => {
            "something failed or weighs less than was planned, or more was asked for, and what is sown now comes too late to make up for it."
        }
        Shortfall::Search if facts.stopped => {
            "the search was ended early. Planning again with more time, as with --time-limit 300, would help."
        }
        Shortfall::Search => return no_closer_fit(rules),
    };
    told.to_owned()
}

/// What keeps whole plants from a closer fit: what the rules ask for.
fn no_closer_fit(rules: &Rules) -> String {
    let mends = [
        ("a smaller smallest-batch", rules.smallest_batch > 1),
        ("a longer clean-every", rules.clean_every.is_some()),
        ("a free rhythm", rules.rhythm != Rhythm::Free),
        ("the usual weights", rules.weights != Weights::default()),
        ("more room", true),
    ];
    format!(
        "whole plants and batches do not fit more closely by these rules. What may help: {}.",
        any_of(&mends)
    )
}

/// Those of some remedies that can help, as a list.
fn any_of(mends: &[(&str, bool)]) -> String {
    let mends: Vec<&str> = mends.iter().filter(|(_, helps)| *helps).map(|(mend, _)| *mend).collect();
    match mends.as_slice() {
        [some @ .., last] if !some.is_empty() => format!("{} or {last}", some.join(", ")),
        few => few.concat(),
    }
}

/// Why a site has nothing to do, in a sentence, with what would help.
pub fn idle_in_full(idle: &Idle, term: &Term, facts: &Facts) -> String {
    let told = match idle.why {
        WhyIdle::Unattended => {
            "nobody looks after seedlings there often enough to raise any. Somebody who looks in on more days would help."
        }
        WhyIdle::OnlyIn => {
            "the crops that could grow there are bound to other sites or tanks. This site under their only-in would help."
        }
        WhyIdle::Room => {
            "no crop fits its lids and nutrient set-points. Crops that stand closer, or other set-points, would help."
        }
        WhyIdle::SmallestBatch => {
            "its tanks or its nursery hold fewer plants than the smallest batch. A smaller smallest-batch would help."
        }
        WhyIdle::Time => {
            "no crop can be sown, moved and harvested on its class days in time to be eaten. Quicker crops, or more class \
             days, would help."
        }
        WhyIdle::NotNeeded => {
            "its greens are not needed: every serving day they could be eaten on gets what is wanted without them. A \
             larger target, or every-site: yes under the rules, would give it work."
        }
        WhyIdle::Search if facts.stopped => {
            "nothing was found there that is worth its work, but the search was ended early. Planning again with more \
             time, as with --time-limit 300, may help."
        }
        WhyIdle::Search => return not_worth_it(idle, term),
    };
    told.to_owned()
}

/// What may help where nothing is worth its work: what stands in the way there.
fn not_worth_it(idle: &Idle, term: &Term) -> String {
    let site = term.sites.iter().find(|site| site.id == idle.site);
    let rules = &term.rules;
    let mends = [
        ("every-site: yes under \"rules:\"", !rules.every_site),
        ("a smaller smallest-batch", rules.smallest_batch > 1),
        ("larger minutes-a-day", site.is_some_and(|site| site.minutes_a_day.is_some())),
        ("larger sowings-a-day", site.is_some_and(|site| site.sowings_a_day.is_some())),
        ("a free rhythm", rules.rhythm != Rhythm::Free),
    ];
    match any_of(&mends).as_str() {
        "" => "nothing was found there that is worth its work. More class days, or other crops, may help."
            .to_owned(),
        some => format!("nothing was found there that is worth its work. It may get some with {some}."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_numbers_are_drawn_together() {
        for (list, text) in [(&[][..], ""), (&[4], "4"), (&[1, 2, 3, 7, 9, 10], "1-3, 7, 9-10")] {
            assert_eq!(numbers(list), text);
        }
    }

    #[test]
    fn percentages_do_not_claim_all_or_nothing() {
        for (share, text) in [
            (0.0, "0%"),
            (0.0003, "0%"),
            (0.999_99, "100%"),
            (0.002, "0.2%"),
            (0.424, "42%"),
            (0.998, "99.8%"),
            (1.0, "100%"),
        ] {
            assert_eq!(percent(share), text, "{share}");
        }
    }

    #[test]
    fn what_is_taken_and_what_stays_match() {
        assert_eq!((taken(0.66).as_str(), left(0.66).as_str()), ("about two thirds", "one third"));
        assert_eq!((taken(0.8).as_str(), left(0.8).as_str()), ("about 80%", "20%"));
    }

    #[test]
    fn counting() {
        assert_eq!(counted(1, "plant"), "1 plant");
        assert_eq!(counted(3, "batch"), "3 batches");
        assert_eq!(and(&["a".into(), "b".into(), "c".into()]), "a, b and c");
    }
}
