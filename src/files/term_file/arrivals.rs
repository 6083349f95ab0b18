//! Seedlings that can be bought.

use super::calendar::shown;
use super::named;
use super::standing::{self, Around};
use crate::domain::calendar::days_between;
use crate::domain::growth::Growing;
use crate::domain::site::Site;
use crate::domain::term::Arrival;
use crate::files::reading::{Entries, Reading};
use crate::files::tree::{Content, Node};
use chrono::NaiveDate;

const KEYS: [&str; 6] = ["crop", "plants", "age", "date", "site", "price"];

/// All offers; none if any of them could not be read.
pub(super) fn read(reading: &mut Reading, entries: &Entries<'_>, around: Around<'_>) -> Option<Vec<Arrival>> {
    let nodes = entries.get("arrivals").map(Reading::items).unwrap_or_default();
    let mut found: Vec<Option<Arrival>> = Vec::new();
    for node in nodes {
        let arrival = arrival(reading, node, around);
        let key =
            |arrival: &Arrival| (arrival.crop.clone(), arrival.site.clone(), arrival.date, arrival.days);
        if let Some(new) = &arrival
            && found.iter().flatten().any(|other| key(other) == key(new))
        {
            let help = "write one entry with all of them";
            reading.note(&node.span, "the same seedlings are offered twice", help);
        }
        found.push(arrival);
    }
    found.into_iter().collect()
}

fn arrival(reading: &mut Reading, node: &Node, around: Around<'_>) -> Option<Arrival> {
    let entries = reading.map(node, &KEYS)?;
    let wanted = standing::crop(reading, &entries, around);
    let site = named::site(reading, &entries, around.sites);
    let plants =
        reading.need(&entries, "plants", "plants: 24").and_then(|node| reading.whole(node, 1..=10_000));
    let age = reading.need(&entries, "age", "age: 21 days");
    let days = age.and_then(|node| age_in_days(reading, node));
    let day = reading.need(&entries, "date", "date: 2026-09-14");
    let date = day.and_then(|node| reading.date(node));
    let price =
        entries.get("price").map_or(Some(None), |node| reading.number(node, 0.0..=1_000_000.0).map(Some));
    let (wanted, site, days, date) = (wanted?, site?, days?, date?);
    let in_time = comes_on_a_class_day(reading, day?, site, date);
    if !wanted.may_begin_at(&site.id) {
        let (place, name) = (&site.name, &wanted.crop.name);
        let day = shown(date);
        reading.remark(format!(
            "{place}: {name} offered on {day} is not bought, as its only-in names other sites"
        ));
    }
    let growing = Growing::new(&wanted.crop, site);
    let oldest = *growing.nursery_window().end();
    // They are kept apart on the day they come.
    let next = site.class_days.iter().find(|day| **day > date).copied().unwrap_or(date);
    let then = i64::from(days) + days_between(date, next);
    if then > i64::from(oldest) {
        let name = &wanted.crop.name;
        let title =
            format!("on the next class day, {name} of {days} days is too old to be moved into a tank");
        let help = format!(
            "at this site seedlings are moved with {oldest} days at most, and not on the day they come"
        );
        reading.note(&age?.span, title, help);
        return None;
    }
    in_time.then_some(())?;
    Some(Arrival {
        crop: wanted.crop.id.clone(),
        site: site.id.clone(),
        date,
        days,
        plants: plants?,
        price: price?,
    })
}

/// "21 days" or 21.
fn age_in_days(reading: &mut Reading, node: &Node) -> Option<u32> {
    let number = match &node.content {
        Content::Text(text) => {
            let number = text.strip_suffix("days").or_else(|| text.strip_suffix("day")).unwrap_or(text);
            number.trim().parse().ok()
        }
        _ => None,
    };
    let days = number.filter(|days| (1..=120).contains(days));
    if days.is_none() {
        let help = "write how old they are when they come, from 1 to 120, such as age: 21 days";
        reading.note(&node.span, "this is not an age in days", help);
    }
    days
}

fn comes_on_a_class_day(reading: &mut Reading, node: &Node, site: &Site, date: NaiveDate) -> bool {
    if site.meets_on(date) {
        return true;
    }
    let before = site.class_days.iter().rev().find(|day| **day < date);
    let after = site.class_days.iter().find(|day| **day > date);
    let near: Vec<String> = before.into_iter().chain(after).map(|day| shown(*day)).collect();
    let help = if near.is_empty() {
        "this site has no class days".to_owned()
    } else {
        format!("write {}", near.join(" or "))
    };
    reading.note(&node.span, format!("{} is no class day of {}", shown(date), site.name), help);
    false
}
