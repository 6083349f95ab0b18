//! Plants stand in holes that exist, with the room they need, and never two in one hole or two crops too close.

use super::subject::{Known, KnownPart, Subject};
use super::violation::{Findings, Rule, Violation, count, list, say, verb};
use crate::domain::calendar::plus_days;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::lid::Lid;
use crate::domain::plan::{Batch, Part};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        if let Some(tank) = part.tank {
            one_a_plant(known, part.part, &tank.lid, found);
            spacing(known, part, &tank.lid, found);
        }
    }
    clashes(subject, found);
    crowds(subject, found);
}

/// Plants of two parts keep their distance, unless both grew before.
fn crowds(subject: &Subject<'_>, found: &mut Findings) {
    let mut by_tank: BTreeMap<(&SiteId, &TankId), Vec<(&Known<'_>, &KnownPart<'_>)>> = BTreeMap::new();
    for (known, part) in subject.parts().filter(|(_, part)| part.tank.is_some()) {
        by_tank.entry((&known.site.id, &part.part.tank)).or_default().push((known, part));
    }
    for parts in by_tank.values() {
        for (number, one) in parts.iter().enumerate() {
            for other in parts[..number].iter().filter(|other| meet(one.1.part, other.1.part)) {
                if !(subject.grew_before(one.0) && subject.grew_before(other.0)) {
                    crowd(one, other, found);
                }
            }
        }
    }
}

/// Whether two parts stand in their tanks at a time.
fn meet(one: &Part, other: &Part) -> bool {
    let until = |part: &Part| part.leaves().unwrap_or(NaiveDate::MIN);
    one.transplant < until(other) && other.transplant < until(one)
}

fn crowd(
    (known, part): &(&Known<'_>, &KnownPart<'_>),
    (other, other_part): &(&Known<'_>, &KnownPart<'_>),
    found: &mut Findings,
) {
    let Some(lid) = part.tank.map(|tank| tank.lid) else { return };
    let spacing = |known: &Known<'_>| known.wanted.crop.spacing.value.cm();
    let (wide, narrow) = (spacing(known), spacing(other));
    if !lid.may_crowd(wide, narrow) {
        return;
    }
    let exists = |hole: &&u32| (1..=lid.holes()).contains(*hole);
    let near = |hole: &u32| {
        let others = other_part.part.holes.iter().filter(exists);
        others.copied().any(|other| lid.crowds((*hole, wide), (other, narrow)))
    };
    let holes: Vec<u32> = part.part.holes.iter().filter(exists).copied().filter(near).collect();
    if !holes.is_empty() {
        let message = format!(
            "in tank {} plants in {} stand too close to batch {}: {} and {} keep at least four fifths of half the sum of \
             their spacings",
            part.part.tank,
            numbered(&holes),
            other.batch.id,
            known.wanted.crop.name,
            other.wanted.crop.name
        );
        found.push(complain(Rule::Spacing, known, part.part, message));
    }
}

fn numbered(holes: &[u32]) -> String {
    format!("{} {}", if holes.len() == 1 { "hole" } else { "holes" }, list(holes))
}

fn complain(rule: Rule, known: &Known<'_>, part: &Part, message: String) -> Violation {
    Violation::new(rule, message).on(part.transplant).at(&known.site.id).of(&known.batch.id)
}

fn one_a_plant(known: &Known<'_>, part: &Part, lid: &Lid, found: &mut Findings) {
    let holes = &part.holes;
    if part.lost_in_nursery() {
        if !holes.is_empty() || !part.kept_empty.is_empty() {
            let message = "plants lost in the nursery never came into a tank, but have holes".to_owned();
            found.push(complain(Rule::Holes, known, part, message));
        }
        return;
    }
    let different: BTreeSet<&u32> = holes.iter().collect();
    if holes.len() as u64 != u64::from(part.plants) || different.len() != holes.len() {
        found.push(complain(
            Rule::Holes,
            known,
            part,
            format!(
                "{} in tank {} {} {}; each needs one of its own",
                count(part.plants, "plant"),
                part.tank,
                verb(part.plants, "has", "have"),
                count(different.len() as u64, "different hole")
            ),
        ));
    }
    let strange: Vec<&u32> =
        part.holes.iter().chain(&part.kept_empty).filter(|hole| !(1..=lid.holes()).contains(hole)).collect();
    if !strange.is_empty() {
        found.push(complain(
            Rule::Holes,
            known,
            part,
            format!("tank {} has holes 1 to {}, but not {}", part.tank, lid.holes(), list(strange)),
        ));
    }
}

fn spacing(known: &Known<'_>, part: &KnownPart<'_>, lid: &Lid, found: &mut Findings) {
    let crop = &known.wanted.crop;
    let (part, tank) = (part.part, &part.part.tank);
    let Some(room) = lid.room_for(crop.spacing.value.cm()) else {
        let message = format!("{} grows too wide for the lid of tank {tank}", crop.name);
        found.push(complain(Rule::Spacing, known, part, message));
        return;
    };
    let places: BTreeMap<u32, Vec<u32>> =
        lid.spots(room).into_iter().map(|place| (place.hole, place.kept_empty)).collect();
    // Holes that do not exist are reported on their own.
    let odd: Vec<&u32> = part
        .holes
        .iter()
        .filter(|hole| !places.contains_key(hole) && (1..=lid.holes()).contains(*hole))
        .collect();
    if !odd.is_empty() {
        found.push(complain(
            Rule::Spacing,
            known,
            part,
            format!(
                "in tank {tank} {} needs {} a plant and may not stand in {}",
                crop.name,
                count(room.holes(), "hole"),
                list(&odd)
            ),
        ));
    }
    let right: BTreeSet<u32> =
        part.holes.iter().filter_map(|hole| places.get(hole)).flatten().copied().collect();
    let kept: BTreeSet<u32> =
        part.kept_empty.iter().copied().filter(|hole| (1..=lid.holes()).contains(hole)).collect();
    if odd.is_empty() && kept != right {
        found.push(complain(
            Rule::Spacing,
            known,
            part,
            format!(
                "holes kept empty beside {} in tank {tank} are {}; it should be {}",
                crop.name,
                list(&kept),
                list(&right)
            ),
        ));
    }
}

/// A hole in use, planted or kept empty, from a day until a day (not included).
struct Use<'a> {
    from: NaiveDate,
    leaves: NaiveDate,
    until: NaiveDate,
    part: usize,
    batch: &'a Batch,
}

fn clashes(subject: &Subject<'_>, found: &mut Findings) {
    let mut uses: BTreeMap<(&SiteId, &TankId, u32), Vec<Use<'_>>> = BTreeMap::new();
    for (index, (known, part)) in subject.parts().enumerate() {
        let (Some(_), Some(leaves)) = (part.tank, part.part.leaves()) else {
            continue;
        };
        let holes: BTreeSet<u32> = part.part.holes.iter().chain(&part.part.kept_empty).copied().collect();
        for hole in holes {
            uses.entry((&known.site.id, &part.part.tank, hole)).or_default().push(Use {
                from: part.part.transplant,
                leaves,
                until: plus_days(leaves, subject.term.rules.turnover_days),
                part: index,
                batch: known.batch,
            });
        }
    }
    report(subject, &uses, found);
}

/// One violation for each two parts that meet, with all the holes they meet in.
fn report(
    subject: &Subject<'_>,
    uses: &BTreeMap<(&SiteId, &TankId, u32), Vec<Use<'_>>>,
    found: &mut Findings,
) {
    let mut met: BTreeMap<(usize, usize), (Violation, Vec<u32>)> = BTreeMap::new();
    for ((site, tank, hole), uses) in uses {
        for (index, one) in uses.iter().enumerate() {
            for other in &uses[index + 1..] {
                if one.from >= other.until || other.from >= one.until {
                    continue;
                }
                let (first, second) = if one.from <= other.from { (one, other) } else { (other, one) };
                // What met in the past and has parted since happened, whatever a plan would have thought of it.
                let parted =
                    subject.plan.replanned.is_some_and(|today| one.leaves.min(other.leaves) <= today);
                if parted && subject.is_past(second.from) {
                    continue;
                }
                let entry = met.entry((first.part, second.part)).or_insert_with(|| {
                    let message = format!(
                        "tank {tank} is taken by batch {} until {} (rest between two plants included)",
                        first.batch.id,
                        say(first.until),
                    );
                    let violation = Violation::new(Rule::HoleClash, message)
                        .on(second.from)
                        .at(site)
                        .of(&second.batch.id);
                    (violation, Vec::new())
                });
                entry.1.push(*hole);
            }
        }
    }
    for (mut violation, holes) in met.into_values() {
        violation.message = format!("{} of {}", numbered(&holes), violation.message);
        found.push(violation);
    }
}
