//! Plants of two crops that share a lid keep their distance.

use crate::properties::plan;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{figure, head, young};
use chrono::Weekday::{Fri, Tue};
use sowtide::check::{Rule, check};
use sowtide::domain::crop::Crop;
use sowtide::domain::plan::Part;
use sowtide::domain::term::{Term, WantedCrop};
use sowtide::domain::units::Length;

/// One tank of six rows and columns, and two crops of which one takes four of its holes a plant.
fn term() -> Term {
    let apart = |crop: Crop, cm: f64| Crop { spacing: figure(Length::from_cm(cm)), ..crop };
    TermBuilder::default()
        .weeks(11)
        .site(site("hall").meets(&[Tue, Fri]).tank(tank("a", 6, 6)).nursery(60, 5))
        .serves(Fri, 400.0)
        .crop(WantedCrop { at_least: 0.4, ..wanted(apart(head("wide"), 40.0)) })
        .crop(wanted(apart(young("narrow"), 20.0)))
        .build()
}

fn meet(one: &Part, other: &Part) -> bool {
    one.leaves().is_some_and(|leaves| other.transplant < leaves)
        && other.leaves().is_some_and(|leaves| one.transplant < leaves)
}

#[test]
fn a_narrow_plant_never_stands_right_beside_a_wide_one() {
    let term = term();
    let mut met = 0;
    for seed in 1..6 {
        let sound = plan(&term, seed, 60).unwrap();
        let is = |number: usize, crop: &str| sound.batches[number].crop.as_str() == crop;
        let of = |crop: &'static str| (0..sound.batches.len()).filter(move |number| is(*number, crop));
        for (wide, narrow) in of("wide").flat_map(|wide| of("narrow").map(move |narrow| (wide, narrow))) {
            let (part, other) = (&sound.batches[wide].parts[0], &sound.batches[narrow].parts[0]);
            let Some(hole) = part.holes.iter().find(|hole| (**hole - 1) % 6 > 0) else { continue };
            if !meet(part, other) {
                continue;
            }
            met += 1;
            let mut broken = sound.clone();
            broken.batches[narrow].parts[0].holes[0] = hole - 1;
            let found = check(&term, &broken);
            let close = found.iter().find(|found| found.rule == Rule::Spacing);
            let message = &close.unwrap_or_else(|| panic!("seed {seed}: {found:#?}")).message;
            assert!(message.contains("stand too close"), "{message}");
        }
    }
    assert!(met > 0, "nothing stands together in any of the plans");
}
