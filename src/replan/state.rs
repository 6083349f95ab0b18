//! How things stand on a day: what stands in trays and tanks, and which work is due.

mod steps;

use super::outages::outages;
use super::put_off::put_off;
use super::replay::{BatchReplay, Happened, Lot, replay};
use crate::domain::journal::Journal;
use crate::domain::plan::Plan;
use crate::domain::state::{BatchState, Stand, State};
use crate::domain::term::Term;
use crate::domain::weighed::Outlook;
use chrono::NaiveDate;

/// How things stand on `today`: after everything recorded up to that day, but before unrecorded work of the day itself.
///
/// Entries that cannot be true count as far as they can: no more is taken away than stands.
pub fn state(term: &Term, plan: &Plan, journal: &Journal, today: NaiveDate) -> State {
    let plan = put_off(plan, journal);
    let replay = replay(term, &plan, journal, today);
    let mut steps: Vec<_> = replay.batches.iter().flat_map(|batch| steps::of(batch, today)).collect();
    steps.sort_by(|one, other| {
        let (one_turn, other_turn) = (one.work.turn(), other.work.turn());
        (one.day, &one.site, one_turn, &one.batch).cmp(&(other.day, &other.site, other_turn, &other.batch))
    });
    State {
        batches: replay.batches.iter().map(batch).collect(),
        steps,
        tanks_out: outages(&journal.in_force()).into_iter().filter(|out| out.holds_on(today)).collect(),
        classes_lost: replay.classes_lost,
        outlook: Outlook::default(),
    }
}

fn batch(replay: &BatchReplay<'_>) -> BatchState {
    let standing = replay.lots.iter().filter(|lot| lot.stands());
    let mut stands: Vec<Stand> = standing.filter_map(|lot| stand(replay, lot)).collect();
    stands.sort_by(|one, other| {
        (&one.tank, one.transplanted, one.part).cmp(&(&other.tank, other.transplanted, other.part))
    });
    BatchState {
        batch: replay.batch.id.clone(),
        crop: replay.batch.crop.clone(),
        site: replay.batch.site.clone(),
        sown: replay.sown.map(|done| done.on),
        born: replay
            .sown
            .map(|done| if replay.batch.origin.is_sown() { done.on } else { replay.batch.born() }),
        plugs: replay.plugs,
        tray: replay.tray(),
        stands,
        moved: replay.moved(),
        lost: replay.lost(),
        pulled: replay.pulled(),
        grams: replay.grams,
    }
}

fn stand(replay: &BatchReplay<'_>, lot: &Lot) -> Option<Stand> {
    let cuts = lot.events.iter().filter(|event| matches!(event.what, Happened::Cut(_)));
    Some(Stand {
        tank: lot.tank.clone(),
        plants: lot.plants,
        holes: lot.holes.clone(),
        transplanted: lot.moved()?,
        cuts_before: lot.part.map_or(0, |part| replay.batch.parts[part].cuts_before),
        cuts: cuts.map(|event| event.day).collect(),
        part: lot.part,
        harvests_done: lot.harvests_done,
    })
}
