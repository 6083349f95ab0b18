//! Free holes that spare seedlings may have.

use crate::domain::calendar::plus_days;
use crate::domain::lid::Lid;
use crate::domain::plan::{Origin, Part, Plan};
use crate::domain::site::Tank;
use crate::domain::term::Term;
use chrono::NaiveDate;

/// Holes of a tank in use for some days, and the spacing of the plants in them.
struct Used<'p> {
    place: (&'p str, &'p str),
    days: (NaiveDate, NaiveDate),
    hole: u32,
    kept_empty: Vec<u32>,
    spacing_cm: f64,
}

/// For each part of each batch: the places beside its plants that are free for as long as they stand. Only the last parts of a
/// batch that are moved from the nursery have some, as until then nobody knows which seedlings are to spare.
pub(super) fn spare_places(term: &Term, plan: &Plan, from: NaiveDate) -> Vec<Vec<u32>> {
    let mut used = Vec::new();
    for batch in &plan.batches {
        let spacing_cm = term.crop(&batch.crop).map_or(0.0, |wanted| wanted.crop.spacing.value.cm());
        for part in batch.parts.iter().filter(|part| !part.lost_in_nursery()) {
            let days = stay(term, part);
            let place = (batch.site.as_str(), part.tank.as_str());
            used.extend(part.holes.iter().map(|hole| Used {
                place,
                days,
                hole: *hole,
                kept_empty: Vec::new(),
                spacing_cm,
            }));
            // Which plant they are kept empty for does not matter here.
            if let Some(first) = part.holes.first() {
                let kept_empty = part.kept_empty.clone();
                used.push(Used { place, days, hole: *first, kept_empty, spacing_cm });
            }
        }
    }
    let mut spare: Vec<Vec<u32>> = plan.batches.iter().map(|batch| vec![0; batch.parts.len()]).collect();
    for (batch, spare) in plan.batches.iter().zip(&mut spare) {
        let moved = batch.parts.iter().filter(|part| part.transplant >= from && part.lost.is_none());
        let Some(last) = moved.map(|part| part.transplant).max().filter(|_| batch.origin == Origin::Sown)
        else {
            continue;
        };
        let spacing_cm = term.crop(&batch.crop).map_or(0.0, |wanted| wanted.crop.spacing.value.cm());
        for (part, spare) in
            batch.parts.iter().zip(spare.iter_mut()).rev().filter(|(part, _)| part.transplant == last)
        {
            let tank = term.site(&batch.site).and_then(|site| site.tank(&part.tank));
            let place = (batch.site.as_str(), part.tank.as_str());
            let days = stay(term, part);
            let free = free_spots(tank, place, days, spacing_cm, &used);
            *spare = free.len() as u32;
            used.extend(free.into_iter().map(|(hole, kept_empty)| Used {
                place,
                days,
                hole,
                kept_empty,
                spacing_cm,
            }));
        }
    }
    spare
}

/// The days for which a part has its holes, the days they rest afterwards included.
fn stay(term: &Term, part: &Part) -> (NaiveDate, NaiveDate) {
    (part.transplant, plus_days(part.leaves().unwrap_or(term.end), term.rules.turnover_days))
}

/// Places in which nothing stands, or is kept empty, in some days, and in which plants crowd nothing.
fn free_spots(
    tank: Option<&Tank>,
    place: (&str, &str),
    days: (NaiveDate, NaiveDate),
    spacing_cm: f64,
    used: &[Used<'_>],
) -> Vec<(u32, Vec<u32>)> {
    let Some(tank) = tank else { return Vec::new() };
    let lid: &Lid = &tank.lid;
    let meanwhile: Vec<&Used> = used
        .iter()
        .filter(|other| other.place == place && other.days.0 < days.1 && days.0 < other.days.1)
        .collect();
    let spots = lid.room_for(spacing_cm).map_or_else(Vec::new, |room| lid.spots(room));
    let is_free =
        |hole: u32| meanwhile.iter().all(|other| other.hole != hole && !other.kept_empty.contains(&hole));
    let crowds = |hole: u32| {
        meanwhile.iter().any(|other| lid.crowds((hole, spacing_cm), (other.hole, other.spacing_cm)))
    };
    let free = spots.into_iter().filter(|spot| {
        is_free(spot.hole) && spot.kept_empty.iter().all(|hole| is_free(*hole)) && !crowds(spot.hole)
    });
    free.map(|spot| (spot.hole, spot.kept_empty)).collect()
}
