//! The term in a few sentences.

use super::supply::{reasons, surplus_weeks};
use super::{Page, sentence};
use crate::domain::plan::{NOTICEABLE, Serving};
use crate::report::odds::chance;
use crate::report::words::{self, counted, day, percent, short_day};
use crate::report::work::TaskKind;
use crate::report::{begin, summary, workload};
use maud::{Markup, html};

pub(super) fn part(page: &Page) -> Markup {
    let short = page.plan.servings.iter().any(|serving| serving.is_short(page.term.rules.tolerance));
    html! {
        p { (frame(page)) }
        p.verdict { (verdict(page)) }
        @if short {
            ul {
                @for reason in reasons(page) {
                    li {
                        b { (sentence(words::reason(reason.why))) ": " }
                        (page.look.grams(reason.grams())) " short on "
                        (counted(reason.servings.len() as u32, "serving day")) ". "
                        (sentence(&words::reason_in_full(reason.why, &page.term.rules, &page.plan.facts)))
                    }
                }
            }
        }
        p {
            @for sentence in summary::sureness(&page.plan.facts, target(page), page.odds, page.look) { (sentence) " " }
            (surplus(page))
        }
        @for sentence in summary::lacks(page.term, page.plan, page.look) { p { (sentence) } }
        p { (sowing(page)) }
        @for sentence in summary::idle_sites(page.term, page.plan, page.idle) { p { (sentence) } }
        p { (work(page)) }
    }
}

fn frame(page: &Page) -> String {
    let term = page.term;
    let holes: u32 = term.sites.iter().map(crate::domain::room::all_holes).sum();
    let tanks: usize = term.sites.iter().map(|site| site.tanks.len()).sum();
    format!(
        "From {} to {}: {} with {} of {} in all, greens for {}.",
        words::long_day(term.start),
        words::long_day(term.end),
        counted(term.sites.len() as u32, "site"),
        counted(tanks as u32, "tank"),
        counted(holes, "hole"),
        counted(page.plan.servings.len() as u32, "serving day")
    )
}

fn target(page: &Page) -> f64 {
    page.plan.servings.iter().map(|serving| serving.target).sum()
}

fn verdict(page: &Page) -> String {
    let servings = &page.plan.servings;
    let (target, planned) = (target(page), servings.iter().map(|serving| serving.planned).sum::<f64>());
    let short: Vec<&Serving> =
        servings.iter().filter(|serving| serving.is_short(page.term.rules.tolerance)).collect();
    let met = servings.len() - short.len();
    let days = match (met, servings.len()) {
        (_, 0) => return "No serving day is planned.".to_owned(),
        (_, 1) if met == 1 => "The plan meets the target on the only serving day".to_owned(),
        (met, all) if met == all => format!("The plan meets the target on all {all} serving days"),
        (0, all) => format!("The plan meets the target on none of the {all} serving days"),
        (met, all) => format!("The plan meets the target on {met} of {}", counted(all as u32, "serving day")),
    };
    let amounts = format!(
        "{} of {} ({})",
        page.look.grams(planned),
        page.look.grams(target),
        percent(if target > 0.0 { planned / target } else { 1.0 })
    );
    let odds = page.odds.map_or(&[][..], |odds| &odds.days[..]);
    let shares = || odds.iter().map(|day| day.reached);
    let least = shares().min_by(|one, other| one.share.total_cmp(&other.share));
    let most = shares().max_by(|one, other| one.share.total_cmp(&other.share));
    if let (true, Some(least), Some(most)) = (short.is_empty(), least, most) {
        let (least, most) = (chance(least), chance(most));
        let sure = if least == most { least } else { format!("{least} to {most}") };
        let days = counted(servings.len() as u32, "serving day");
        return format!(
            "As much is planned as is wanted, {amounts}, on {days}; each gets it in {sure} of terms."
        );
    }
    if short.is_empty() {
        return format!("{days}: {amounts}.");
    }
    let grams: f64 = short.iter().map(|serving| serving.short()).sum();
    format!("{days}: {amounts}, {} short.", page.look.grams(grams))
}

fn surplus(page: &Page) -> String {
    let grams = page.plan.facts.surplus_grams;
    if grams < NOTICEABLE {
        return "Everything harvested is served.".to_owned();
    }
    let weeks: Vec<String> = surplus_weeks(page).iter().map(|week| short_day(week.week.monday())).collect();
    let most = if weeks.is_empty() {
        String::new()
    } else {
        format!(", most of it in the {} of {}", plural(weeks.len(), "week"), words::and(&weeks))
    };
    let what = if page.term.sure() > 0.0 {
        "Harvested beyond the targets, for what may fail"
    } else {
        "Harvested, but of no use on a serving day"
    };
    format!("{what}: {}{most}.", page.look.grams(grams))
}

fn plural(count: usize, noun: &str) -> String {
    if count == 1 { noun.to_owned() } else { format!("{noun}s") }
}

fn sowing(page: &Page) -> String {
    begin::in_all(&page.plan.batches, &format!(" of {},", kinds(page)))
}

fn kinds(page: &Page) -> String {
    match page.crops.len() {
        1 => "one kind of greens".to_owned(),
        kinds => format!("{kinds} kinds of greens"),
    }
}

fn work(page: &Page) -> String {
    let weeks = workload::weeks(page.term, page.plan);
    let visits: u32 = weeks.iter().map(|week| week.visits).sum();
    let minutes: f64 = weeks.iter().map(workload::WeekWork::minutes).sum();
    let tasks = |kind: TaskKind| -> u32 { weeks.iter().map(|week| week.load(kind).tasks).sum() };
    let mut text = format!(
        "Work: {} at the sites, with {}, {} and {}, about {} in all.",
        counted(visits, "class visit"),
        counted(tasks(TaskKind::Sow), "sowing"),
        counted(tasks(TaskKind::Transplant), "transplanting"),
        counted(tasks(TaskKind::Harvest), "harvest"),
        hours(minutes)
    );
    if let Some((date, site, minutes)) = workload::fullest_day(page.term, page.plan) {
        text = format!(
            "{text} The fullest class day is {} at {}, with about {}.",
            day(date),
            words::site_name(page.term, site),
            hours(minutes)
        );
    }
    text
}

/// `40 minutes`, `3 hours`.
fn hours(minutes: f64) -> String {
    if minutes < 119.5 {
        counted(minutes.round() as u32, "minute")
    } else {
        counted((minutes / 60.0).round() as u32, "hour")
    }
}
