//! What stands at the start of the term.

use super::plan::{HEADS, OLD_HEADS};
use super::{after, also, chard, only, part, planned};
use crate::support::crops::{days, figure};
use crate::support::day;
use sowtide::check::Rule;
use sowtide::domain::ids::{BatchId, CropId};
use sowtide::domain::plan::Plan;
use sowtide::domain::term::{Stage, Standing, Term};

#[test]
fn standing_plants() {
    only(Rule::Standing, "the plan leaves them out", |term, _| {
        let more = Standing { batch: BatchId::new("old-3"), ..term.standing[1].clone() };
        term.standing.push(more);
    });
    only(Rule::Standing, "sowing day", |term, _| {
        term.standing[0].sown = day("2026-08-02");
    });
    only(Rule::Standing, "goes on with 2 of them", |term, _| {
        term.standing[0].plants = 3;
    });
    only(Rule::Standing, "are not among what stands", |term, _| {
        if let Stage::Tank { transplanted, .. } = &mut term.standing[0].stage {
            *transplanted = day("2026-08-18");
        }
    });
    only(Rule::Standing, "crop of these standing plants is oakleaf in the plan", |term, _| {
        term.standing[0].crop = CropId::new("chard");
    });
    also(Rule::Standing, "the term does not", |term, _| {
        term.standing.remove(1);
    });
    also(Rule::Standing, "cannot have had 1 cut", |_, plan| {
        part(plan, HEADS).cuts_before = 1;
    });
    also(Rule::Standing, "are not among", |_, plan| {
        part(plan, OLD_HEADS).cuts_before = 1;
    });
}

#[test]
fn standing_plants_keep_their_holes() {
    only(Rule::Standing, "are not among what stands", |term, _| {
        if let Stage::Tank { holes, .. } = &mut term.standing[0].stage {
            *holes = vec![1, 5];
        }
    });
    assert_eq!(
        after(|term, _| {
            if let Stage::Tank { holes, .. } = &mut term.standing[0].stage {
                // Nobody wrote down where they stand, so the plan may say so.
                holes.clear();
            }
        }),
        []
    );
}

/// The two heads in the annex become one chard plant that was cut on 31 August.
fn cut_before(term: &mut Term, plan: &mut Plan) {
    term.standing[0].crop = CropId::new("chard");
    term.standing[0].plants = 1;
    if let Stage::Tank { holes, cuts, .. } = &mut term.standing[0].stage {
        *holes = vec![1];
        cuts.push(day("2026-08-31"));
    }
    let batch = &mut plan.batches[OLD_HEADS];
    (batch.crop, batch.plugs, batch.seeds_per_plug) = (CropId::new("chard"), 1, 2);
    let part = part(plan, OLD_HEADS);
    (part.plants, part.cuts_before) = (1, 1);
    (part.holes, part.kept_empty) = (vec![1], vec![2]);
    // Two weeks after the cut: 60 g x 0.8 standing, 48 g x 0.4 = 19.2 g on the plate.
    let harvest = &mut part.harvests[0];
    harvest.number = 2;
    harvest.grams = 19.2;
    (harvest.arithmetic.days, harvest.arithmetic.standing_grams) = (14, 48.0);
    harvest.serves[0].grams = 19.2;
    *planned(plan, "2026-09-17") = 19.2;
    plan.facts.short_grams += 92.8;
    plan.facts.cost += 92.8 * 0.3;
}

#[test]
fn plants_cut_before_the_term_go_on_from_that_cut() {
    assert_eq!(after(cut_before), []);
    only(Rule::Regrowth, "again 14 days after the cut on Mon 31 Aug 2026", |term, plan| {
        cut_before(term, plan);
        if let Some(regrowth) = &mut chard(term).regrowth {
            // The other harvests are 14 days apart, too.
            regrowth.interval = figure(days(7, 13, 13));
        }
    });
    only(Rule::HarvestOrder, "harvest number 2 of these plants, not 1", |term, plan| {
        cut_before(term, plan);
        part(plan, OLD_HEADS).harvests[0].number = 1;
    });
}

#[test]
fn cuts_before_the_term_count_as_harvests() {
    also(Rule::HarvestOrder, "batch old-1: 2 harvests are planned", |term, plan| {
        cut_before(term, plan);
        if let Some(regrowth) = &mut chard(term).regrowth {
            regrowth.harvests = figure(1);
        }
    });
}

#[test]
fn a_batch_may_stand_in_several_places() {
    let split = |term: &mut Term, plan: &mut Plan| {
        let mut second = term.standing[0].clone();
        for (entry, hole) in [(&mut term.standing[0], 1), (&mut second, 2)] {
            entry.plants = 1;
            if let Stage::Tank { holes, .. } = &mut entry.stage {
                *holes = vec![hole];
            }
        }
        term.standing.push(second);
        let first = part(plan, OLD_HEADS);
        (first.plants, first.holes) = (1, vec![1]);
        first.harvests[0].grams = 56.0;
        first.harvests[0].serves[0].grams = 56.0;
        let mut other = first.clone();
        other.holes = vec![2];
        plan.batches[OLD_HEADS].parts.push(other);
    };
    assert_eq!(after(split), []);
    only(Rule::Standing, "goes on with 1 of them", |term, plan| {
        split(term, plan);
        term.standing[2].plants = 2;
    });
}
