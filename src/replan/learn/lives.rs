//! What counts say of seed, seedlings and transplants.
//!
//! Only what was written down counts ([`crate::replan::counts`]). Where a site never recorded a loss of seedlings, nobody knows
//! whether there was none; and plants that went most of them at once tell of their tank.

use super::BAND;
use crate::domain::chance::deviations;
use crate::domain::crop;
use crate::domain::ids::SiteId;
use crate::domain::journal::{Entry, Journal, Place, What};
use crate::domain::learned::{Figure, Lesson, Of};
use crate::domain::plan::Plan;
use crate::domain::review::{Outcome, Tally};
use crate::domain::shares::Share;
use crate::domain::term::Term;
use crate::replan::counts;
use crate::replan::replay::{BatchReplay, heard};
use chrono::NaiveDate;

/// Chance that a figure is not above the high end told of it, from a poor batch to a good one, nor with the same chance below the low
/// end (from memory).
const ENDS: f64 = 0.9;
/// Standard deviation of a figure that does not say how far it may be off (from memory).
const UNTOLD: f64 = 0.05;

/// How many of how many, by batch.
type Counts = Vec<(u32, u32)>;

/// Every figure of which something was counted.
pub(super) fn lessons(
    term: &Term,
    plan: &Plan,
    replayed: &[BatchReplay<'_>],
    (journal, today): (&Journal, NaiveDate),
) -> Vec<Lesson> {
    let entries = heard(plan, journal, today);
    let told = |replay: &BatchReplay<'_>| {
        let id = &replay.batch.id;
        let own: Vec<&Entry> =
            entries.iter().copied().filter(|entry| entry.what.batch() == Some(id)).collect();
        counts::of(term, replay, &own, today)
    };
    let mut lessons = Vec::new();
    for wanted in &term.crops {
        let crop = &wanted.crop;
        let own = replayed.iter().filter(|replay| replay.batch.crop == crop.id);
        let told: Vec<(&SiteId, Outcome)> = own.map(|replay| (&replay.batch.site, told(replay))).collect();
        // Where several seeds lie in a plug, an empty one tells of the plug.
        let single = crop.seeds_per_plug.value == 1;
        let plug = crop.plants_per_plug() / crop.nursery_survival.value;
        let plugs: Ways<'_> = (&|share| share * plug, &|share| share / plug);
        let came_up = told.iter().filter(|_| single).map(|(_, own)| pair(&own.came_up)).collect();
        let kept = told.iter().filter(|(site, _)| loses_seedlings(&entries, site));
        let kept = kept.map(|(_, own)| pair(if single { &own.kept } else { &own.fit })).collect();
        let lived = told.iter().filter(|(_, own)| !went_at_once(&own.lived)).map(|(_, own)| {
            let (count, of) = pair(&own.lived);
            (count - own.assumed.min(count), of - own.assumed.min(of))
        });
        let found = [
            (Figure::Germination, believed(&crop.germination, &came_up, SAME)),
            (
                Figure::NurserySurvival,
                believed(&crop.nursery_survival, &kept, if single { SAME } else { plugs }),
            ),
            (Figure::TankSurvival, believed(&crop.tank_survival, &lived.collect(), SAME)),
        ];
        lessons.extend(found.into_iter().filter_map(|(figure, found)| {
            let Learned { before, now, band, seen } = found?;
            let of = Of { crop: crop.id.clone(), site: None, figure };
            Some(Lesson { of, before, now, band, seen })
        }));
    }
    lessons
}

fn pair(tally: &Tally) -> (u32, u32) {
    (tally.count, tally.of)
}

/// Whether losses in the nursery are written down at a site.
fn loses_seedlings(entries: &[&Entry], site: &SiteId) -> bool {
    let lost = |entry: &&Entry| matches!(entry.what, What::Lost { place: Place::Nursery, .. });
    entries.iter().copied().filter(lost).any(|entry| entry.site.as_ref() == Some(site))
}

/// Whether more than half of a batch was lost on one occasion.
fn went_at_once(lived: &Tally) -> bool {
    lived.times() == Some(1) && 2 * lived.count < lived.of
}

/// From a figure to the share that is counted, and back.
type Ways<'a> = (&'a dyn Fn(f64) -> f64, &'a dyn Fn(f64) -> f64);
const SAME: Ways<'static> = (&|share| share, &|share| share);

/// A figure, before and after something was counted.
struct Learned {
    before: f64,
    now: f64,
    band: (f64, f64),
    seen: u32,
}

/// What counts say of a figure; `None` if there are none.
fn believed(figure: &crop::Figure<f64>, counts: &Counts, (there, back): Ways<'_>) -> Option<Learned> {
    let seen = counts.iter().map(|(_, of)| *of).fold(0, u32::saturating_add);
    let before = figure.value;
    let spread = figure.spread.as_ref();
    let deviation =
        spread.map_or(UNTOLD, |spread| (there(spread.high) - there(spread.low)) / (2.0 * deviations(ENDS)));
    let share = Share::new(there(before), deviation.max(0.01)).after(counts);
    let now = |share: f64| back(share).clamp(0.01, 1.0);
    let outside = (1.0 - BAND) / 2.0;
    let band = (now(share.below(outside)), now(share.below(1.0 - outside)));
    (seen > 0).then(|| Learned { before, now: now(share.mean()), band, seen })
}
