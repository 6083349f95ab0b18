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
use crate::report::words::{and, crop_name, day, site_name};
use chrono::NaiveDate;
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
    let mut lines = vec![told(serving, odds, &look)];
    for (crop, greens) in &crops {
        let from: Vec<String> = greens
            .from
            .iter()
            .map(|(date, site)| format!("{} {}", site_name(term, site), day(*date)))
            .collect();
        lines.push(format!(
            "{}: {}, harvested: {}",
            crop_name(term, crop),
            look.grams(greens.grams),
            and(&from)
        ));
    }
    let mut sites: BTreeSet<&SiteId> =
        crops.values().flat_map(|greens| &greens.from).map(|(_, site)| *site).collect();
    if sites.is_empty() {
        sites = term.sites.iter().map(|site| &site.id).collect();
    }
    let entry = Entry {
        uid: uid(plan, &format!("serving-{}", serving.date)),
        kind: EventKind::Serving,
        sites: sites.into_iter().cloned().collect(),
        days: DateSpan { first: serving.date, last: serving.date },
        title: format!("Serve {} of greens", look.grams(serving.planned)),
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
        format!("; in 8 of 10 cases between {} and {}", look.grams(odds.low), look.grams(odds.high))
    };
    format!(
        "{told}.\nSeeds, plants and tanks may fail: about {} on average{range}. All that is wanted comes in {}.",
        look.grams(odds.mean),
        in_ten(odds.reached)
    )
}

/// Greens of one crop.
#[derive(Default)]
struct Greens<'p> {
    grams: f64,
    /// When and where they are harvested.
    from: BTreeSet<(NaiveDate, &'p SiteId)>,
}

/// What is planned of each crop.
fn crops<'p>(plan: &'p Plan, serving: &Serving) -> BTreeMap<&'p CropId, Greens<'p>> {
    let mut crops: BTreeMap<&CropId, Greens<'_>> = BTreeMap::new();
    for batch in &plan.batches {
        for harvest in batch.parts.iter().flat_map(|part| &part.harvests) {
            let served = harvest.serves.iter().filter(|served| served.date == serving.date);
            let grams: f64 = served.map(|served| served.grams).sum();
            if grams > 0.0 {
                let greens = crops.entry(&batch.crop).or_default();
                greens.grams += grams;
                greens.from.insert((harvest.date, &batch.site));
            }
        }
    }
    crops
}
