//! What only shows when the parts of a term meet: crops and tanks, shares and kinds, time.

use super::crops::DraftCrop;
use super::rooms;
use crate::domain::calendar::{DateSpan, days_between};
use crate::domain::growth::Growing;
use crate::domain::site::{Site, Tank};
use crate::domain::term::{Rules, ServingTarget, Standing, WayWish};
use crate::files::reading::{Entries, Reading};

/// The parts, each read without a mistake that would hide it.
pub(super) struct Parts<'a> {
    pub(super) entries: &'a Entries<'a>,
    pub(super) span: DateSpan,
    pub(super) sites: &'a [Site],
    pub(super) crops: &'a [DraftCrop],
    pub(super) servings: &'a Vec<ServingTarget>,
    pub(super) rules: &'a Rules,
    pub(super) standing: &'a Vec<Standing>,
}

/// Notes everything that makes the target unreachable by contradiction rather than by size.
pub(super) fn check(reading: &mut Reading, parts: &Parts<'_>) {
    for draft in parts.crops {
        some_tank_suits(reading, draft, parts);
    }
    shares_reach_the_target(reading, parts);
    kinds_are_possible(reading, parts);
    a_batch_fits_somewhere(reading, parts);
    tanks_reach_the_target(reading, parts);
    something_can_be_ready(reading, parts);
    rooms::remark(reading, parts.sites, parts.crops);
}

fn some_tank_suits(reading: &mut Reading, draft: &DraftCrop, parts: &Parts<'_>) {
    let crop = &draft.wanted.crop;
    let may_stand = |site: &Site, tank: &Tank| draft.wanted.may_stand_in(&site.id, &tank.id);
    let tanks = || {
        let all = parts.sites.iter().flat_map(|site| site.tanks.iter().map(move |tank| (site, tank)));
        all.filter(|(site, tank)| may_stand(site, tank)).map(|(_, tank)| tank)
    };
    let there = if draft.wanted.only_in.is_empty() { "" } else { " where it may stand" };
    let borne = |tank: &&Tank| crop.tolerates(tank.ph, tank.ec);
    let fits = |tank: &Tank| tank.lid.has_place(crop.spacing.value.cm());
    if tanks().filter(borne).any(fits) {
        return;
    }
    let (title, help) = if tanks().any(|tank| borne(&tank)) {
        (
            format!("no lid{there} has room for {}", crop.name),
            format!(
                "it needs {} cm between plants; use a lid with more or wider holes, or remove the crop",
                crop.spacing.value.cm()
            ),
        )
    } else {
        let (ec, ph) = (&crop.ec.value, &crop.ph.value);
        (
            format!("no tank's solution{there} suits {}", crop.name),
            format!(
                "it needs an EC of {} to {} mS/cm and a pH of {} to {}; change a tank's set-point, or remove the crop",
                ec.low, ec.high, ph.low, ph.high
            ),
        )
    };
    reading.note(&draft.place, title, help);
}

fn shares_reach_the_target(reading: &mut Reading, parts: &Parts<'_>) {
    let place = parts.entries.key_span("crops");
    let most: f64 = parts.crops.iter().map(|draft| draft.wanted.at_most).sum();
    if most < 1.0 - 1e-9 {
        let title = format!("the crops may cover only {:.0} % of the target together", most * 100.0);
        reading.note(&place, title, "raise an at-most, or add a crop");
    }
    let least: f64 = parts.crops.iter().map(|draft| draft.wanted.at_least).sum();
    if least > 1.0 + 1e-9 {
        let title = format!("the crops are to cover at least {:.0} % of the target together", least * 100.0);
        reading.note(&place, title, "lower an at-least, so that the sum is at most 100 %");
    }
}

fn kinds_are_possible(reading: &mut Reading, parts: &Parts<'_>) {
    let Rules { kinds, kind_from, .. } = *parts.rules;
    let able = parts.crops.iter().filter(|draft| draft.wanted.at_most >= kind_from - 1e-9).count();
    if kinds as usize <= able {
        return;
    }
    let title = format!("{kinds} kinds are wanted, but only {able} of the crops can count as one");
    let help = format!("ask for at most {able} kinds, or add crops");
    let rules =
        parts.entries.get("rules").map_or_else(|| parts.entries.span.clone(), |node| node.span.clone());
    reading.note(&rule_place(parts, "kinds").unwrap_or(rules), title, help);
}

fn a_batch_fits_somewhere(reading: &mut Reading, parts: &Parts<'_>) {
    let holes = |site: &Site| site.tanks.iter().map(|tank| tank.lid.holes()).sum::<u32>();
    let room = |site: &Site| holes(site).min(site.nursery.cells);
    let most = parts.sites.iter().map(room).max().unwrap_or(0);
    let Some(place) = rule_place(parts, "smallest-batch") else {
        return;
    };
    if parts.rules.smallest_batch > most {
        let title = format!("no site has room for a batch of {} plants", parts.rules.smallest_batch);
        let help = format!("the most that any site has holes and nursery cells for is {most}; ask for fewer");
        reading.note(&place, title, help);
    }
}

fn tanks_reach_the_target(reading: &mut Reading, parts: &Parts<'_>) {
    let tanks: usize = parts.sites.iter().map(|site| site.tanks.len()).sum();
    let share = parts.rules.one_tank_at_most;
    let Some(place) = rule_place(parts, "one-tank-at-most") else {
        return;
    };
    if share * (tanks as f64) < 1.0 - 1e-9 {
        let percent = share * 100.0;
        let title = match tanks {
            1 => format!("one tank that may give only {percent:.0} % cannot cover the target"),
            _ => format!("{tanks} tanks that may give only {percent:.0} % each cannot cover the target"),
        };
        let help = format!("write at least {:.0} %", (100.0 / tanks as f64).ceil());
        reading.note(&place, title, help);
    }
}

/// Where the value of a rule is written.
fn rule_place(parts: &Parts<'_>, key: &str) -> Option<std::ops::Range<usize>> {
    use crate::files::tree::Content;
    let Content::Map(rules) = &parts.entries.get("rules")?.content else {
        return None;
    };
    rules.iter().find(|(known, _)| known.text == key).map(|(_, node)| node.span.clone())
}

/// Complains if not even the quickest crop, sown on the first class day, is ready in time.
fn something_can_be_ready(reading: &mut Reading, parts: &Parts<'_>) {
    let (Some(last), true) = (parts.servings.last(), parts.standing.is_empty()) else {
        return;
    };
    let quickest = parts
        .sites
        .iter()
        .flat_map(|site| parts.crops.iter().map(move |crop| (site, crop)))
        .filter(|(site, crop)| crop.wanted.may_begin_at(&site.id))
        .filter_map(|(site, crop)| {
            let growing = Growing::new(&crop.wanted.crop, site);
            let pull = growing.pull_window().filter(|_| crop.wanted.way != WayWish::Cut);
            let cut = growing.cut_window().filter(|_| crop.wanted.way != WayWish::WholeHead);
            let days = pull.into_iter().chain(cut).map(|window| *window.start()).min()?;
            let first = *site.class_days.first()?;
            let spare = days_between(first, last.date) - i64::from(days);
            Some((spare, days, &crop.wanted.crop.name))
        })
        .max_by_key(|(spare, ..)| *spare);
    let Some((spare, days, name)) = quickest else {
        return;
    };
    if spare < 0 {
        let place =
            parts.entries.get("end").map_or_else(|| parts.entries.span.clone(), |node| node.span.clone());
        let title = format!("nothing can be ready by the last serving day, {}", last.date);
        let later = if spare == -1 { "a day".to_owned() } else { format!("{} days", -spare) };
        let help = format!(
            "even {name} takes {days} days from sowing; end the term at least {later} later, start earlier, or add a quicker crop"
        );
        reading.note(&place, title, help);
    }
}
