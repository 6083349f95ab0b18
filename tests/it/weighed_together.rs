//! Harvests from several tanks that were weighed as one.

use crate::replan::{entry, planned};
use crate::weighed::{harvests, term};
use sowtide::domain::calendar::plus_days;
use sowtide::domain::ids::TankId;
use sowtide::domain::journal::{Entry, Harvested, InTank, Journal, What};
use sowtide::domain::plan::{Harvest, Part, Plan};
use sowtide::domain::weighed::Outlook;
use sowtide::replan::review::review;
use sowtide::replan::weighed::{as_it_stands, outlook};

/// The plan with one batch only, half of whose first part stands in another tank: one a little earlier to be pulled or cut than
/// the other is never planned, so both are harvested alike.
fn of_two_tanks() -> Plan {
    let plan = planned(&term()).unwrap();
    let (batch, part, _) = harvests(&plan).into_iter().find(|(_, part, _)| part.plants >= 4).unwrap();
    let half = part.plants / 2;
    let piece = |plants: u32, tank: &str| Part {
        plants,
        tank: TankId::new(tank),
        holes: Vec::new(),
        kept_empty: Vec::new(),
        harvests: part.harvests.iter().map(|own| share(own, plants, part.plants)).collect(),
        ..part.clone()
    };
    let parts = vec![piece(half, "a"), piece(part.plants - half, "b")];
    let batch = sowtide::domain::plan::Batch { parts, ..batch.clone() };
    Plan { batches: vec![batch], ..plan }
}

fn share(harvest: &Harvest, plants: u32, all: u32) -> Harvest {
    Harvest { grams: harvest.grams * f64::from(plants) / f64::from(all), ..harvest.clone() }
}

/// What the first harvest of some parts weighs: so many times what was planned for plants that live.
fn weighed(plan: &Plan, (number, parts): (usize, &[usize]), times: f64, measured_as: Option<&str>) -> Entry {
    let batch = &plan.batches[0];
    let of = || parts.iter().map(|part| &batch.parts[*part]);
    let grams = |part: &Part| part.harvests[0].grams / part.harvests[0].arithmetic.survival * times;
    let place = |part: &Part| InTank { tank: part.tank.clone(), plants: part.plants, holes: Vec::new() };
    let harvest = &batch.parts[0].harvests[0];
    let harvested = Harvested {
        batch: batch.id.clone(),
        places: of().map(place).collect(),
        way: harvest.way,
        grams: of().map(grams).sum(),
        measured_as: measured_as.map(str::to_owned),
        samples: Vec::new(),
    };
    entry(number, harvest.date, Some(batch.site.clone()), What::Harvested(harvested))
}

fn factor(outlook: &Outlook) -> f64 {
    outlook.weighed().next().unwrap().factor
}

#[test]
fn one_tub_from_two_tanks_counts_once_and_little_less_than_two() {
    let (term, plan) = (term(), of_two_tanks());
    let today = plus_days(plan.batches[0].parts[0].harvests[0].date, 1);
    let together = Journal::new(vec![weighed(&plan, (0, &[0, 1]), 0.6, None)]);
    let apart =
        Journal::new(vec![weighed(&plan, (0, &[0]), 0.6, None), weighed(&plan, (1, &[1]), 0.6, None)]);
    let [one, two] = [&together, &apart].map(|journal| outlook(&term, &plan, journal, today));
    for told in [&one, &two] {
        let own = told.weighed().next().unwrap();
        let plants: u32 = plan.batches[0].parts.iter().map(|part| part.plants).sum();
        assert_eq!(own.plants, plants);
        assert!((own.share() - 0.6).abs() < 1e-9, "{own:?}");
    }
    let (one, two) = (factor(&one), factor(&two));
    assert!(two < one && one < two + 0.05, "{one} {two}: one weighing says less than two, but little");
    let grams = |journal: &Journal| -> f64 {
        let standing = as_it_stands(&term, &plan, journal, today);
        standing.batches[0].parts.iter().map(|part| part.harvests[0].grams).sum()
    };
    let weighed: f64 = grams(&apart);
    assert!((grams(&together) - weighed).abs() < 1e-6, "{} {weighed}", grams(&together));
    let told = review(&term, (&plan, &[]), &together, today);
    let mass = &told.batches[0].outcome.mass;
    assert!((mass.weighed - 0.6 * mass.by_figures).abs() < 1e-6, "{mass:?}");
}

#[test]
fn cups_say_less_than_scales() {
    let (term, plan) = (term(), of_two_tanks());
    let today = plus_days(plan.batches[0].parts[0].harvests[0].date, 1);
    let seen = |measured_as| {
        let journal = Journal::new(vec![weighed(&plan, (0, &[0, 1]), 0.6, measured_as)]);
        factor(&outlook(&term, &plan, &journal, today))
    };
    let (scales, cups) = (seen(None), seen(Some("3 cups")));
    assert!(scales < cups - 0.02 && cups < 1.0, "{scales} {cups}");
}
