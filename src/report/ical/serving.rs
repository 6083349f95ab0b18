//! Serving days in calendars: what to expect, and how sure it is.

use super::Wishes;
use super::live::{Live, finish, uid};
use crate::domain::calendar::DateSpan;
use crate::domain::ids::{CropId, SiteId};
use crate::domain::odds::{DayOdds, Odds};
use crate::domain::plan::{NOTICEABLE, Plan, Serving};
use crate::domain::published::{Entry, EventKind};
use crate::domain::term::Term;
use crate::report::look::Look;
use crate::report::odds::in_ten;
use crate::report::words::{and, crop_name, site_name};
use std::collections::{BTreeMap, BTreeSet};

/// One event for each serving day.
pub(super) fn days(term: &Term, plan: &Plan, odds: &Odds, wishes: &Wishes<'_>) -> Vec<Live> {
    let odds_of = |serving: &Serving| odds.days.iter().find(|day| day.date == serving.date);
    plan.servings.iter().map(|serving| event(term, plan, (serving, odds_of(serving)), wishes)).collect()
}

fn event(
    term: &Term,
    plan: &Plan,
    (serving, odds): (&Serving, Option<&DayOdds>),
    wishes: &Wishes<'_>,
) -> Live {
    let look = Look { units: wishes.units, width: usize::MAX, colour: false };
    let crops = crops(plan, serving);
    let expected = odds.map_or(serving.planned, |day| day.mean);
    let mut lines = vec![told(serving, odds, &look)];
    for (crop, (grams, sites)) in &crops {
        let sites: Vec<String> = sites.iter().map(|site| site_name(term, site).to_owned()).collect();
        lines.push(format!("{}: {} from {}", crop_name(term, crop), look.grams(*grams), and(&sites)));
    }
    let mut sites: BTreeSet<&SiteId> = crops.values().flat_map(|(_, sites)| sites).copied().collect();
    if sites.is_empty() {
        sites = term.sites.iter().map(|site| &site.id).collect();
    }
    let entry = Entry {
        uid: uid(plan, &format!("serving-{}", serving.date)),
        kind: EventKind::Serving,
        sites: sites.into_iter().cloned().collect(),
        days: DateSpan { first: serving.date, last: serving.date },
        title: format!("Serve about {} of greens", look.grams(expected)),
        place: String::new(),
        fingerprint: 0,
    };
    finish(entry, &lines.join("\n"), wishes)
}

/// What is planned, and how sure that is.
fn told(serving: &Serving, odds: Option<&DayOdds>, look: &Look) -> String {
    let mut told = format!("Wanted {}, planned {}", look.grams(serving.target), look.grams(serving.planned));
    if serving.short() >= NOTICEABLE {
        told = format!("{told}, {} short", look.grams(serving.short()));
    }
    let Some(odds) = odds else { return format!("{told}.") };
    let range = if odds.high - odds.low < NOTICEABLE {
        String::new()
    } else {
        format!(", between {} and {} in 8 of 10 terms", look.grams(odds.low), look.grams(odds.high))
    };
    format!(
        "{told}.\nExpected {}{range}. The target is reached in {}.",
        look.grams(odds.mean),
        in_ten(odds.reached)
    )
}

/// Planned grams by crop, and the sites they come from.
fn crops<'p>(plan: &'p Plan, serving: &Serving) -> BTreeMap<&'p CropId, (f64, BTreeSet<&'p SiteId>)> {
    let mut crops: BTreeMap<&CropId, (f64, BTreeSet<&SiteId>)> = BTreeMap::new();
    for batch in &plan.batches {
        let served = batch.parts.iter().flat_map(|part| &part.harvests).flat_map(|harvest| &harvest.serves);
        let grams: f64 = served.filter(|served| served.date == serving.date).map(|served| served.grams).sum();
        if grams >= NOTICEABLE {
            let (all, sites) = crops.entry(&batch.crop).or_default();
            *all += grams;
            sites.insert(&batch.site);
        }
    }
    crops
}
