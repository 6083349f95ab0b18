//! The tank care sheet: what each tank of a site should be like in a week, and room for what is measured.

use super::figures::{Named, WATER, each_once, sources};
use super::page::Sheet;
use super::{Setting, parts};
use crate::domain::calendar::{DateSpan, Week};
use crate::domain::crop::{Crop, Limits};
use crate::domain::site::Tank;
use crate::domain::units::Volume;
use crate::domain::water::{self, Cleaning, Solution};
use crate::report::cautions::{CHEMICALS, CLEANING, ELECTRICITY, HANDS};
use crate::report::words::{self, and, counted};
use chrono::NaiveDate;
use maud::{Markup, html};

/// A tank with what stands in it in the week.
struct Kept<'a> {
    tank: &'a Tank,
    crops: Vec<&'a Crop>,
    /// Most plants that stand in it on a day.
    plants: u32,
    /// Litres of topping up in the week, at most.
    litres: f64,
    /// Day of the week on which the whole solution is changed.
    change: Option<NaiveDate>,
    /// Day of the week on which it is empty and cleaned.
    cleaning: Option<Cleaning>,
    /// Day of the week on which it is filled that was empty.
    filled: Option<NaiveDate>,
}

/// The sheet of a week, made for the first of its class days that is wanted.
pub(super) fn sheet(setting: &Setting<'_>, day: NaiveDate) -> Option<Sheet> {
    let week = Week::of(day);
    let span = setting.wish.days.span();
    let days = class_days(setting, week);
    if days.iter().find(|class_day| span.contains(**class_day)) != Some(&day) {
        return None;
    }
    let tanks: Vec<Kept<'_>> = setting.site.tanks.iter().map(|tank| kept(setting, tank, week)).collect();
    let used: Vec<&Kept<'_>> = tanks.iter().filter(|kept| !kept.crops.is_empty()).collect();
    let cleaned = tanks.iter().any(|kept| kept.cleaning.is_some());
    let mut cautions: Vec<String> = Vec::new();
    if cleaned || !used.is_empty() {
        cautions.extend([CHEMICALS, ELECTRICITY, HANDS].map(str::to_owned));
        cautions.extend(cleaned.then(|| CLEANING.to_owned()));
    }
    let body = html! { div.compact {
        (should_be(setting, &tanks))
        (cleaning(&tanks))
        @if used.is_empty() {
            p.lead { "Nothing stands in the tanks this week, so there is nothing to measure." }
        } @else {
            (how_to_use())
            (measured(&days, &used))
        }
        @if !cautions.is_empty() { (parts::cautions(&cautions)) }
        @if !used.is_empty() { (figures(&used)) }
    } };
    let title = format!("Tank care, {}", setting.site.name);
    Some(Sheet::new(title, setting_week(week), body))
}

fn setting_week(week: Week) -> String {
    let (first, last) = (words::short_day(week.monday()), words::long_day(week.sunday()));
    format!("{first} to {last}, week {week}")
}

fn class_days(setting: &Setting<'_>, week: Week) -> Vec<NaiveDate> {
    setting.site.class_days.iter().copied().filter(|day| Week::of(*day) == week).collect()
}

fn kept<'a>(setting: &Setting<'a>, tank: &'a Tank, week: Week) -> Kept<'a> {
    let Setting { term, plan, site, .. } = *setting;
    let span = DateSpan { first: week.monday(), last: week.sunday() };
    let plants = span
        .days()
        .map(|day| water::standing(plan, &site.id, &tank.id, day).map(|(_, part)| part.plants).sum())
        .max()
        .unwrap_or(0);
    let solution = Solution::of(term, plan, site, &tank.id);
    Kept {
        tank,
        crops: water::crops(term, plan, site, &tank.id, span),
        plants,
        litres: water::litres(term, plan, site, &tank.id, span),
        change: solution.changes.iter().copied().find(|day| span.contains(*day)),
        filled: solution.fill_days().into_iter().find(|day| span.contains(*day)),
        cleaning: solution.cleanings.into_iter().find(|cleaning| span.contains(cleaning.day)),
    }
}

/// The part of a range that suits all crops.
fn common<'a>(crops: &[&'a Crop], range: impl Fn(&'a Crop) -> Limits<f64>) -> Limits<f64> {
    let whole = Limits { low: f64::NEG_INFINITY, high: f64::INFINITY };
    crops
        .iter()
        .map(|crop| range(crop))
        .fold(whole, |all, one| Limits { low: all.low.max(one.low), high: all.high.min(one.high) })
}

fn range(limits: Limits<f64>) -> String {
    format!("{:.1} to {:.1}", limits.low, limits.high)
}

fn should_be(setting: &Setting<'_>, tanks: &[Kept<'_>]) -> Markup {
    html! {
        h2 { "How each tank should be" }
        table {
            thead {
                tr {
                    th { "Tank" }
                    th { "Standing this week" }
                    th { "pH: set to" }
                    th { "may be" }
                    th { "EC, mS/cm: set to" }
                    th { "may be" }
                    th { "Top up this week, at most" }
                    th { "Change all the solution" }
                }
            }
            tbody {
                @for kept in tanks { (tank_row(setting, kept)) }
            }
        }
    }
}

fn tank_row(setting: &Setting<'_>, kept: &Kept<'_>) -> Markup {
    let units = setting.wish.units;
    let tank = kept.tank;
    html! {
        tr {
            td.tank { b { (tank.id) } }
            @if kept.crops.is_empty() && kept.cleaning.is_none() {
                td colspan="7" { "empty" }
            } @else if kept.crops.is_empty() {
                td colspan="6" { "empty" }
                td { (fill_anew(setting, kept)) }
            } @else {
                td { (standing(kept)) }
                td.number { b { (format!("{:.1}", tank.ph)) } }
                td.number { (range(common(&kept.crops, |crop| crop.ph.value))) }
                td.number { b { (format!("{:.1}", tank.ec)) } }
                td.number { (range(common(&kept.crops, |crop| crop.ec.value))) }
                td.number { (Volume::from_litres(kept.litres).show(units)) }
                td { (fill_anew(setting, kept)) }
            }
        }
    }
}

/// When the tank gets new solution this week, and how much.
fn fill_anew(setting: &Setting<'_>, kept: &Kept<'_>) -> Markup {
    let litres = Volume::from_litres(kept.tank.filling_litres()).show(setting.wish.units);
    let filling =
        if kept.tank.reservoir_litres.is_some() { litres.to_string() } else { format!("{litres} or more") };
    html! {
        @match (kept.cleaning, kept.filled, kept.change) {
            (Some(Cleaning { day, filled }), ..) if day < filled => {
                b { (words::day(day)) } ", cleaned and left dry; filled on " (words::day(filled))
            }
            (Some(Cleaning { day, .. }), ..) => { b { (words::day(day)) } ", cleaned, then " (filling) }
            (None, Some(day), _) => { b { (words::day(day)) } ", filled before plants come: " (filling) }
            (None, None, Some(day)) => { b { (words::day(day)) } ", " (filling) }
            (None, None, None) => "not due",
        }
    }
}

/// What to do with tanks that are empty and cleaned this week.
fn cleaning(tanks: &[Kept<'_>]) -> Markup {
    let due = || tanks.iter().filter_map(|kept| Some((kept.cleaning?, kept.tank)));
    html! {
        @if due().next().is_some() {
            h2 { "To be cleaned" }
            ul.ticks {
                @for (cleaning, tank) in due() {
                    li {
                        b { (words::day(cleaning.day)) ", tank " (tank.id) ": " }
                        "after the harvest and before new plants come, unplug it, drain it, scrub tank, lid, cups, hose and \
                         air stone, and rinse. "
                        @if cleaning.day < cleaning.filled {
                            "Leave it dry with its lid off until " (words::day(cleaning.filled)) ", then fill it and set pH and EC."
                        } @else {
                            "Fill it anew, and set pH and EC."
                        }
                    }
                }
            }
        }
    }
}

fn standing(kept: &Kept<'_>) -> String {
    let names: Vec<String> = kept.crops.iter().map(|crop| crop.name.clone()).collect();
    format!("{}: {}", counted(kept.plants, "plant"), and(&names))
}

fn how_to_use() -> Markup {
    html! {
        p {
            "Measure before you top up, and write down what you read. EC above its range: top up with plain water. EC \
             below it: an adult adds nutrient as the label says. pH outside its range: an adult brings it back in \
             small steps. Plants may need less water than the table says; fill up to the mark of the tank."
        }
    }
}

fn measured(days: &[NaiveDate], used: &[&Kept<'_>]) -> Markup {
    html! {
        h2 { "Measured" }
        table.fill {
            colgroup {
                @for width in [13, 9, 11, 8, 8, 11, 15, 8, 8, 9] { col style=(format!("width: {width}%")); }
            }
            thead {
                tr {
                    th { "Day" }
                    th { "Tank" }
                    th { "Looked over" }
                    th { "pH" }
                    th { "EC" }
                    th { "Water added" }
                    th { "Nutrient, acid or base added" }
                    th { "pH after" }
                    th { "EC after" }
                    th { "By" }
                }
            }
            tbody {
                @for day in days {
                    @for (index, kept) in used.iter().enumerate() {
                        tr {
                            @if index == 0 {
                                td rowspan=(used.len()) { b { (words::day(*day)) } }
                            }
                            td.tank { (kept.tank.id) }
                            @for _ in 0..8 { td {} }
                        }
                    }
                }
            }
        }
        p.small { "Looked over: pump or air runs, roots are pale and in the water, no dead leaves, nothing leaks." }
    }
}

fn figures(used: &[&Kept<'_>]) -> Markup {
    let crops: Vec<&Crop> = used.iter().flat_map(|kept| kept.crops.iter().copied()).collect();
    let named: [Named; 3] = [("pH", |crop| &crop.ph.source), ("EC", |crop| &crop.ec.source), WATER];
    sources(&each_once(crops), &named)
}
