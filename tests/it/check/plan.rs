//! A small term and a sound plan for it, worked out by hand.

use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head};
use crate::support::day;
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::known::KnownEntries;
use sowtide::domain::plan::{
    Arithmetic, Batch, Facts, Harvest, Origin, Part, Plan, Served, Serving, Shortfall,
};
use sowtide::domain::site::Tank;
use sowtide::domain::term::{Stage, Standing, Term};
use std::collections::BTreeMap;

/// Everything a rule could refuse is used up to the limit: the hall's nursery is full on 10 September,
/// its busiest days (12 October, 12 November) take 24 minutes, its tank is full of plants until
/// 13 October. Over the break (11 days from 22 October) eight plants draw 8.8 litres.
pub(super) fn term() -> Term {
    TermBuilder::default()
        .site(site("hall").hands(Some(24.0), Some(1)).tank(Tank { usable_litres: 10.0, ..tank("a", 4, 5) }))
        .site(site("annex").tank(tank("c", 2, 4)))
        .holiday(day("2026-10-26"), day("2026-11-01"))
        .crop(wanted(head("oakleaf")))
        .crop(wanted(cutter("chard")))
        .rules(|rules| rules.smallest_batch = 6)
        .standing(Standing {
            batch: BatchId::new("old-1"),
            crop: CropId::new("oakleaf"),
            site: SiteId::new("annex"),
            sown: day("2026-08-03"),
            plants: 2,
            stage: Stage::Tank {
                tank: TankId::new("c"),
                transplanted: day("2026-08-17"),
                holes: vec![1, 2],
                cuts: Vec::new(),
            },
        })
        .standing(Standing {
            batch: BatchId::new("old-2"),
            crop: CropId::new("chard"),
            site: SiteId::new("annex"),
            sown: day("2026-08-31"),
            plants: 3,
            stage: Stage::Nursery,
        })
        .build()
}

/// Days, grams standing in a plant and share taken when it is pulled.
fn whole(days: u32, grams: f64) -> (u32, f64, f64) {
    (days, grams, 1.0)
}

fn harvest(date: &str, number: u32, steps: (u32, f64, f64), grams: f64, serves: &[(&str, f64)]) -> Harvest {
    let (days, standing_grams, taken) = steps;
    Harvest {
        date: day(date),
        way: if taken < 1.0 { Way::Cut } else { Way::WholeHead },
        number,
        grams,
        arithmetic: Arithmetic {
            days,
            standing_grams,
            taken,
            survival: 0.8,
            yield_factor: 1.0,
            ready_to_eat: 0.5,
        },
        serves: serves.iter().map(|(date, grams)| Served { date: day(date), grams: *grams }).collect(),
    }
}

fn part(tank: &str, transplant: &str, holes: &[u32], kept_empty: &[u32], harvests: Vec<Harvest>) -> Part {
    Part {
        plants: u32::try_from(holes.len()).unwrap(),
        tank: TankId::new(tank),
        transplant: day(transplant),
        holes: holes.to_vec(),
        kept_empty: kept_empty.to_vec(),
        cuts_before: 0,
        lost: None,
        harvests,
    }
}

fn batch(name: &str, site: &str, sown: &str, plugs: u32, part: Part) -> Batch {
    let (crop, seeds_per_plug) =
        if name.starts_with("chard") || name == "old-2" { ("chard", 2) } else { ("oakleaf", 1) };
    Batch {
        id: BatchId::new(name),
        crop: CropId::new(crop),
        site: SiteId::new(site),
        sown: day(sown),
        origin: if name.starts_with("old") { Origin::Standing } else { Origin::Sown },
        plugs,
        seeds_per_plug,
        parts: vec![part],
        task_numbers: BTreeMap::new(),
    }
}

/// Positions in [`plan`]'s batches.
pub(super) const OLD_HEADS: usize = 0;
pub(super) const OLD_SEEDLINGS: usize = 1;
pub(super) const HEADS: usize = 2;
pub(super) const CUTS: usize = 3;
pub(super) const LATE_HEADS: usize = 4;

/// Five batches. One plant of 100 g, pulled, gives 100 × 0.8 × 0.5 = 40 g.
pub(super) fn plan() -> Plan {
    let batches = [in_the_annex(), in_the_hall()].concat();
    Plan {
        term_id: "k3v9".to_owned(),
        term_name: "Autumn".to_owned(),
        revision: 1,
        last_number: 0,
        last_task_numbers: BTreeMap::new(),
        reason: String::new(),
        made: "2026-08-20T09:30:00Z".parse().unwrap(),
        sure: None,
        replanned: None,
        known: KnownEntries::default(),
        mass_factors: Vec::new(),
        batches,
        servings: servings(),
        facts: facts(),
    }
}

fn in_the_annex() -> Vec<Batch> {
    vec![
        // 2 plants of 42 days: 2 x 140 g x 0.4 = 112 g.
        batch(
            "old-1",
            "annex",
            "2026-08-03",
            2,
            part(
                "c",
                "2026-08-17",
                &[1, 2],
                &[],
                vec![harvest("2026-09-14", 1, whole(42, 140.0), 112.0, &[("2026-09-17", 112.0)])],
            ),
        ),
        // 3 plants of 42 days: 3 x 140 g x 0.4 = 168 g, of which 88 g are too much.
        batch(
            "old-2",
            "annex",
            "2026-08-31",
            3,
            part(
                "c",
                "2026-09-14",
                &[3, 6, 8],
                &[4, 5, 7],
                vec![harvest("2026-10-12", 1, whole(42, 140.0), 168.0, &[("2026-10-15", 80.0)])],
            ),
        ),
    ]
}

fn in_the_hall() -> Vec<Batch> {
    vec![
        // 8 plants need 8 / 0.8 = 10 plugs and give, at 35 days, 8 x 100 g x 0.4 = 320 g.
        batch(
            "oakleaf-1",
            "hall",
            "2026-09-07",
            10,
            part(
                "a",
                "2026-09-21",
                &[1, 2, 3, 4, 6, 7, 8, 9],
                &[],
                vec![harvest("2026-10-12", 1, whole(35, 100.0), 320.0, &[("2026-10-15", 320.0)])],
            ),
        ),
        // 6 plants need 6 / 0.6 = 10 plugs. Cut at 28 days: 6 x 60 g x 0.5 x 0.4 = 72 g. Pulled 14 days
        // later at 60 g x 0.8 = 48 g: 6 x 48 g x 0.4 = 115.2 g.
        batch(
            "chard-1",
            "hall",
            "2026-09-10",
            10,
            part(
                "a",
                "2026-09-24",
                &[5, 11, 13, 15, 17, 19],
                &[10, 12, 14, 16, 18, 20],
                vec![
                    harvest("2026-10-08", 1, (28, 60.0, 0.5), 72.0, &[("2026-10-08", 72.0)]),
                    harvest("2026-10-22", 2, whole(14, 48.0), 115.2, &[("2026-10-22", 115.2)]),
                ],
            ),
        ),
        // 8 plants of 42 days: 8 x 140 g x 0.4 = 448 g, of which 48 g are too much.
        batch(
            "oakleaf-2",
            "hall",
            "2026-10-01",
            10,
            part(
                "a",
                "2026-10-15",
                &[1, 2, 3, 4, 6, 7, 8, 9],
                &[],
                vec![harvest("2026-11-12", 1, whole(42, 140.0), 448.0, &[("2026-11-12", 400.0)])],
            ),
        ),
    ]
}

/// Fifteen Thursdays, five of them with greens.
fn servings() -> Vec<Serving> {
    let planned = |date| match date {
        "2026-09-17" => 112.0,
        "2026-10-08" => 72.0,
        "2026-10-15" | "2026-11-12" => 400.0,
        "2026-10-22" => 115.2,
        _ => 0.0,
    };
    [
        "2026-09-10",
        "2026-09-17",
        "2026-09-24",
        "2026-10-01",
        "2026-10-08",
        "2026-10-15",
        "2026-10-22",
        "2026-11-05",
        "2026-11-12",
        "2026-11-19",
        "2026-11-26",
        "2026-12-03",
        "2026-12-10",
        "2026-12-17",
        "2026-12-24",
    ]
    .into_iter()
    .map(|date| {
        let (target, planned) = (400.0, planned(date));
        let shortfall = (planned < target).then_some(Shortfall::Search);
        Serving { date: day(date), target, planned, shortfall }
    })
    .collect()
}

/// Short: ten days of 400 g, then 288 g, 328 g and 284.8 g. Mild is what stays within 60 g a day.
fn facts() -> Facts {
    let empty_days = 10.0 * (60.0 * 0.1 + 340.0 * 0.3);
    let other_days = 3.0 * 60.0 * 0.1 + (228.0 + 268.0 + 224.8) * 0.3;
    let surplus = 136.0 * 0.01;
    let sowings = 3.0 * 1.0;
    // The hall on ten days, the annex on two.
    let visits = 12.0 * 0.1;
    let plugs = 30.0 * 0.02;
    // Each with a day of rest; the plants in the annex since the start of the term.
    let hole_days = 2.0 * 8.0 + 3.0 * 2.0 * 29.0 + 8.0 * 22.0 + 6.0 * 2.0 * 29.0 + 8.0 * 29.0;
    Facts {
        solver: "by hand".to_owned(),
        cost: empty_days + other_days + surplus + sowings + visits + plugs + hole_days * 0.005,
        cost_bound: None,
        short_grams: 4000.0 + 288.0 + 328.0 + 284.8,
        short_bound_grams: None,
        surplus_grams: 136.0,
        effort: 0,
        seed: 0,
        seconds: 0.0,
        stopped: false,
    }
}
