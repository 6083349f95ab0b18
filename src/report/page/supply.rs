//! What every week brings, against its target.

use super::charts::{self, Column, Columns, Figure, MassUnit, Segment, Table, figure, key, key_shape};
use super::{Page, break_key, common_breaks, sentence};
use crate::domain::ids::CropId;
use crate::domain::odds::DayOdds;
use crate::domain::plan::{Serving, Shortfall};
use crate::domain::term::Term;
use crate::report::glance::{Ways, breaks_in};
use crate::report::odds::chance;
use crate::report::supply::{WeekSupply, weeks};
use crate::report::words::{beyond, crop_name, day, reason, reason_in_full, short_day};
use maud::{Markup, html};
use std::collections::BTreeMap;

/// Short serving days with the same reason.
pub(super) struct Reason<'a> {
    pub(super) why: Shortfall,
    pub(super) servings: Vec<&'a Serving>,
}

impl Reason<'_> {
    pub(super) fn grams(&self) -> f64 {
        self.servings.iter().map(|serving| serving.short()).sum()
    }
}

/// Why days are short, each reason once. A day whose reason nobody looked for counts as one that the search left.
pub(super) fn reasons<'a>(page: &Page<'a>) -> Vec<Reason<'a>> {
    let mut found: BTreeMap<Shortfall, Vec<&Serving>> = BTreeMap::new();
    let tolerance = page.term.rules.tolerance;
    for serving in page.plan.servings.iter().filter(|serving| serving.is_short(tolerance)) {
        found.entry(why(serving)).or_default().push(serving);
    }
    found.into_iter().map(|(why, servings)| Reason { why, servings }).collect()
}

fn why(serving: &Serving) -> Shortfall {
    serving.shortfall.unwrap_or(Shortfall::Search)
}

/// Weeks whose surplus is worth a word.
pub(super) fn surplus_weeks<'a>(page: &Page<'a>) -> Vec<WeekSupply<'a>> {
    weeks(page.term, page.plan).into_iter().filter(WeekSupply::has_surplus).collect()
}

pub(super) fn part(page: &Page) -> Markup {
    let weeks = weeks(page.term, page.plan);
    let reasons = reasons(page);
    let most = weeks.iter().map(|week| week.target() + week.surplus).fold(0.0, f64::max);
    let unit = MassUnit::of(most, page.look.units);
    let chart = Columns {
        unit: &format!("{} ready to eat", unit.sign),
        weeks: weeks.iter().map(|week| column(page, week, unit, &reasons)).collect(),
        breaks: common_breaks(page.term),
    };
    figure(
        &Figure {
            id: "supply-chart",
            heading: "Planned supply and target by week",
            title: "Planned supply and target by week",
            description: &description(&weeks, page),
            below: html! { (legend(page, &weeks)) (notes(page, &reasons)) },
            table: table(page, &weeks),
        },
        &chart.draw(),
    )
}

fn description(weeks: &[WeekSupply], page: &Page) -> String {
    let serving: Vec<&WeekSupply> = weeks.iter().filter(|week| !week.servings.is_empty()).collect();
    let short = serving.iter().filter(|week| week.short_days().next().is_some()).count();
    let planned: Vec<f64> = serving.iter().map(|week| week.planned()).collect();
    let least = planned.iter().copied().fold(f64::INFINITY, f64::min);
    let most = planned.iter().copied().fold(0.0, f64::max);
    if serving.is_empty() {
        return "No week has a serving day.".to_owned();
    }
    format!(
        "A column for each of {} weeks, {} of them with serving days, stacked by crop, with the target as a line. \
         {} of these are short. Planned supply lies between {} and {} a week.",
        weeks.len(),
        serving.len(),
        if short == 0 { "None".to_owned() } else { short.to_string() },
        page.look.grams(least),
        page.look.grams(most)
    )
}

fn column(page: &Page, week: &WeekSupply, unit: MassUnit, reasons: &[Reason]) -> Column {
    let mut stack = Vec::new();
    for (striped, name) in [(false, "whole heads"), (true, "cut and come again")] {
        for (place, crop) in page.crops.iter().enumerate() {
            let ways = week.crops.get(crop).copied().unwrap_or_default();
            let grams = if striped { ways.cuts } else { ways.whole_heads };
            if grams > 0.0 {
                let crop = crop_name(page.term, crop);
                stack.push(Segment {
                    value: grams / unit.grams,
                    ink: charts::crop_ink(place),
                    striped,
                    label: (place + 1).to_string(),
                    hover: format!("{crop}, {name}: {}", page.look.grams(grams)),
                });
            }
        }
    }
    let surplus = if week.has_surplus() { week.surplus / unit.grams } else { 0.0 };
    let band = match &odds_of(page, week)[..] {
        [day] => Some((day.low / unit.grams, day.high / unit.grams)),
        // Those of several days do not add up.
        _ => None,
    };
    let target = week.target() / unit.grams;
    Column { week: week.week, stack, target, surplus, band, mark: mark(page, week, reasons) }
}

/// How sure the serving days of a week are, as far as they are still to come and somebody asked.
fn odds_of<'a>(page: &Page<'a>, week: &WeekSupply) -> Vec<&'a DayOdds> {
    let days = page.odds.into_iter().flat_map(|odds| &odds.days);
    days.filter(|day| week.servings.iter().any(|serving| serving.date == day.date)).collect()
}

/// How sure the least sure serving day of a week is.
fn least_sure(page: &Page, week: &WeekSupply) -> Option<String> {
    let days = odds_of(page, week);
    let least = days.iter().min_by(|one, other| one.reached.share.total_cmp(&other.reached.share))?;
    Some(chance(least.reached))
}

/// How sure a week is, the letters of its reasons, and a plus for surplus.
fn mark(page: &Page, week: &WeekSupply, reasons: &[Reason]) -> String {
    let mut mark = least_sure(page, week).unwrap_or_default();
    let letters = reasons
        .iter()
        .zip('A'..)
        .filter(|(reason, _)| week.short_days().any(|serving| why(serving) == reason.why))
        .map(|(_, letter)| letter);
    mark.extend(letters);
    if week.has_surplus() {
        mark.push('+');
    }
    mark
}

fn legend(page: &Page, weeks: &[WeekSupply]) -> Markup {
    let grams =
        |part: fn(&Ways) -> f64| -> f64 { weeks.iter().flat_map(|week| week.crops.values()).map(part).sum() };
    html! {
        ul.keys {
            @for (place, crop) in page.crops.iter().enumerate() {
                (key(&charts::crop_ink(place), &format!("{} {}", place + 1, crop_name(page.term, crop))))
            }
        }
        ul.keys {
            @if grams(|ways| ways.whole_heads) > 0.0 { (whole_heads_key()) }
            @if grams(|ways| ways.cuts) > 0.0 { (cuts_key()) }
            (key_shape(&html! { path.target d="M1 8H25" {} }, "target"))
            @if weeks.iter().any(|week| week.short_days().next().is_some()) {
                (key_shape(&html! { rect.missing x="2" y="2" width="22" height="12" {} }, "short (letter: why)"))
            }
            @if weeks.iter().any(WeekSupply::has_surplus) { (key(charts::SURPLUS, &format!("{} (+)", beyond(page.term)))) }
            @if page.odds.is_some() {
                (key_shape(&html! { path.band d="M10 2H16M10 14H16M13 2V14" {} }, "eight terms in ten; their share that reaches the target"))
            }
            (break_key(&common_breaks(page.term)))
        }
    }
}

pub(super) fn whole_heads_key() -> Markup {
    key_shape(&html! { rect.edge x="1" y="1" width="24" height="14" fill="#ffffff" {} }, "whole heads")
}

pub(super) fn cuts_key() -> Markup {
    let shape = html! {
        rect.edge x="1" y="1" width="24" height="14" fill="#ffffff" {}
        rect.stripe x="1" y="1" width="5" height="14" {}
    };
    key_shape(&shape, "cut and come again (dark stripe)")
}

/// Reasons and surplus in words.
fn notes(page: &Page, reasons: &[Reason]) -> Markup {
    let surplus = surplus_weeks(page);
    html! {
        @if !reasons.is_empty() || !surplus.is_empty() {
            ul.notes {
                @for (reason_here, letter) in reasons.iter().zip('A'..) {
                    li {
                        b { (letter) " " (sentence(reason(reason_here.why))) ": " }
                        @for (index, serving) in reason_here.servings.iter().enumerate() {
                            @if index > 0 { ", " }
                            (short_day(serving.date)) " by " (page.look.grams(serving.short()))
                        }
                        ". " (sentence(&reason_in_full(reason_here.why, &page.term.rules, &page.plan.facts)))
                    }
                }
                @if !surplus.is_empty() {
                    li {
                        b { "+ " (sentence(beyond(page.term))) ": " }
                        @for (index, week) in surplus.iter().enumerate() {
                            @if index > 0 { ", " }
                            "week of " (short_day(week.week.monday())) " " (page.look.grams(week.surplus))
                        }
                        ". " (beyond_in_full(page.term))
                    }
                }
            }
        }
    }
}

/// Crops with the ways in which they are harvested, as they head the table's columns.
fn harvested<'a>(page: &Page<'a>, weeks: &[WeekSupply]) -> Vec<(&'a CropId, bool)> {
    let grown = |crop: &CropId, part: fn(&Ways) -> f64| {
        weeks.iter().filter_map(|week| week.crops.get(crop)).any(|ways| part(ways) > 0.0)
    };
    let mut found = Vec::new();
    for &crop in &page.crops {
        if grown(crop, |ways| ways.whole_heads) {
            found.push((crop, false));
        }
        if grown(crop, |ways| ways.cuts) {
            found.push((crop, true));
        }
    }
    found
}

/// Why more is harvested than days need.
fn beyond_in_full(term: &Term) -> &'static str {
    if term.sure() > 0.0 {
        "So much more is harvested than serving days need, for what may fail: nobody knows before which plants will."
    } else {
        "More is harvested than the serving days within its keeping time need: whole plants and batches do not divide to the \
         gram."
    }
}

fn table(page: &Page, weeks: &[WeekSupply]) -> Table {
    let harvested = harvested(page, weeks);
    let mut head: Vec<String> = ["Week of", "Target", "Planned", "Short"].map(str::to_owned).to_vec();
    head.push(sentence(beyond(page.term)));
    if page.odds.is_some() {
        head.push("Reached in".to_owned());
    }
    head.extend(harvested.iter().map(|(crop, cut)| {
        format!("{}, {}", crop_name(page.term, crop), if *cut { "cut" } else { "heads" })
    }));
    head.push("Remarks".to_owned());
    let rows = weeks
        .iter()
        .map(|week| {
            let short: f64 = week.short_days().map(Serving::short).sum();
            let grams = |grams: f64, shown: bool| if shown { page.look.grams(grams) } else { "-".to_owned() };
            let days = !week.servings.is_empty();
            let mut row = vec![
                short_day(week.week.monday()),
                grams(week.target(), days),
                grams(week.planned(), days),
                grams(short, days),
                grams(week.surplus, days || week.has_surplus()),
            ];
            if page.odds.is_some() {
                row.push(least_sure(page, week).unwrap_or_else(|| "-".to_owned()));
            }
            row.extend(harvested.iter().map(|(crop, cut)| {
                let ways = week.crops.get(crop).copied().unwrap_or_default();
                let served = if *cut { ways.cuts } else { ways.whole_heads };
                grams(served, served > 0.0)
            }));
            row.push(remarks(page, week));
            row
        })
        .collect();
    Table { head, words: 1, rows }
}

fn remarks(page: &Page, week: &WeekSupply) -> String {
    let mut remarks: Vec<String> = week
        .short_days()
        .map(|serving| format!("{} short: {}", day(serving.date), reason(why(serving))))
        .collect();
    remarks.extend(breaks_in(page.term, week.week));
    if remarks.is_empty() && week.servings.is_empty() {
        remarks.push("no serving day".to_owned());
    }
    remarks.join("; ")
}
