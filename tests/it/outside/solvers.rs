//! The bound, worked out by solvers other than ours from the model as it is exported.

use super::python;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, head, young};
use crate::support::day;
use chrono::Weekday;
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::site::Tank;
use sowtide::domain::term::{Stage, Standing, Term, WantedCrop};
use sowtide::files::term_file;
use sowtide::schedule;
use std::path::Path;

/// The optimum that another solver, `highs` or `cbc`, finds for the exported model, `relaxed` or `whole`.
pub(super) fn optimum(term: &Term, solver: &str, how: &str) -> f64 {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("model.mps");
    std::fs::write(&file, schedule::export_model(term)).unwrap();
    let printed = python::run("solve.py", &[solver, how, file.to_str().unwrap()]);
    // HiGHS prints its name first.
    printed.lines().last().unwrap().parse().unwrap()
}

fn example(name: &str) -> Term {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    term_file::read(&folder).unwrap().term
}

fn standing(batch: &str, at: &str, crop: &str, sown: &str, plants: u32, stage: Stage) -> Standing {
    Standing {
        batch: BatchId::new(batch),
        crop: CropId::new(crop),
        site: SiteId::new(at),
        sown: day(sown),
        plants,
        stage,
    }
}

/// Three sites, of which one is slow, tanks of two strengths and three lids, a break and a closure,
/// limits of every kind, plants in the nursery and in tanks, cut and never cut.
fn every_rule() -> Term {
    let strong = Tank { ec: 2.2, ..tank("strong", 4, 5) };
    let dry = Tank { usable_litres: 15.0, ..tank("dry", 3, 4) };
    TermBuilder::default()
        .weeks(14)
        .serves(Weekday::Thu, 900.0)
        .holiday(day("2026-10-19"), day("2026-10-30"))
        .closure(day("2026-11-11"))
        .site(site("annex").tank(tank("a", 4, 6)).tank(tank("b", 4, 6)).hands(Some(60.0), Some(2)))
        .site(site("hall").tank(strong).tank(tank("a", 3, 5)).grows(1.1, 0.9))
        .site(site("room-12").tank(dry).meets(&[Weekday::Tue, Weekday::Fri]).nursery(10, 3))
        .crop(wanted(head("oakleaf")))
        .crop(WantedCrop { at_most: 0.6, at_least: 0.1, ..wanted(cutter("chard")) })
        .crop(WantedCrop { at_most: 0.5, ..wanted(young("rocket")) })
        .rules(|rules| {
            rules.kinds = 2;
            rules.one_tank_at_most = 0.7;
        })
        .standing(standing("old-1", "annex", "oakleaf", "2026-08-27", 6, Stage::Nursery))
        .standing(standing(
            "old-2",
            "hall",
            "chard",
            "2026-07-27",
            3,
            Stage::Tank {
                tank: TankId::new("a"),
                transplanted: day("2026-08-10"),
                holes: vec![],
                cuts: vec![day("2026-08-31")],
            },
        ))
        .standing(standing(
            "old-3",
            "room-12",
            "rocket",
            "2026-08-10",
            4,
            Stage::Tank {
                tank: TankId::new("dry"),
                transplanted: day("2026-08-24"),
                holes: vec![1, 2, 3, 4],
                cuts: vec![],
            },
        ))
        .build()
}

fn others_agree(term: &Term) {
    let ours = schedule::bound(term).unwrap().points;
    for solver in ["highs", "cbc"] {
        let theirs = optimum(term, solver, "relaxed");
        assert!((ours - theirs).abs() <= 1e-6 * theirs.abs(), "{solver}: {theirs}, we: {ours}");
    }
}

#[test]
fn other_solvers_find_the_same_bound_for_the_one_room_example() {
    others_agree(&example("one-room"));
}

#[test]
fn other_solvers_find_the_same_bound_where_every_rule_plays_a_part() {
    others_agree(&every_rule());
}
