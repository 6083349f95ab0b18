//! Plants that are not raised in the nursery: bought as seedlings, or sown straight into the cups of a tank.

use crate::properties::plan;
use crate::replan::{again, entry};
use crate::sheets::words;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{figure, head, young};
use crate::support::day;
use crate::support::sheets::whole_term;
use chrono::NaiveDate;
use chrono::Weekday::{Fri, Mon, Thu, Tue, Wed};
use sowtide::check::{Rule, check};
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind, Week};
use sowtide::domain::ids::{CropId, SiteId};
use sowtide::domain::journal::{Amount, Journal, Place, What};
use sowtide::domain::order::{Thing, order};
use sowtide::domain::plan::{Batch, Origin, Plan};
use sowtide::domain::room;
use sowtide::domain::tasks::{TaskKind, tasks};
use sowtide::domain::term::{Arrival, SowWish, Term, WantedCrop};
use sowtide::domain::units::Units;
use sowtide::replan::accept::{Known, accept};
use sowtide::report::sheets::{Kind, Paper, files};
use sowtide::report::{Look, week};

/// Ten weeks of a room, with greens wanted sooner than anything sown can be ripe.
fn term(offers: &[Arrival]) -> Term {
    let room = site("hall").meets(&[Tue, Fri]).tank(tank("a", 4, 6)).nursery(36, 5);
    let mut term =
        TermBuilder::default().weeks(10).site(room).serves(Fri, 300.0).crop(wanted(head("round"))).build();
    term.servings.retain(|serving| serving.date >= day("2026-10-02"));
    term.arrivals = offers.to_vec();
    term
}

fn offer(date: &str, days: u32, plants: u32) -> Arrival {
    let (crop, site) = (CropId::new("round"), SiteId::new("hall"));
    Arrival { crop, site, date: day(date), days, plants, price: Some(0.4) }
}

fn bought(plan: &Plan) -> u32 {
    let batches = plan.batches.iter().filter(|batch| matches!(batch.origin, Origin::Bought { .. }));
    batches.map(|batch| batch.plugs).sum()
}

#[test]
fn bought_seedlings_fill_the_first_weeks() {
    let without = plan(&term(&[]), 1, 100).unwrap();
    let offered = term(&[offer("2026-09-08", 14, 10)]);
    let with = plan(&offered, 1, 100).unwrap();
    assert_eq!(check(&offered, &with), []);
    let batch = with.batches.iter().find(|batch| batch.origin == Origin::Bought { days: 14 }).unwrap();
    // Two plants of 100 g, four fifths of which live and half of which is ready to eat, are 80 g; all ten help.
    assert_eq!((batch.plugs, batch.plants(), batch.seeds(), batch.born()), (10, 10, 0, day("2026-08-25")));
    assert!(with.facts.short_grams < without.facts.short_grams - 200.0);
    assert!(with.facts.cost < without.facts.cost);
    // As old as they are, no longer than the crop is fit.
    let first = batch.parts.iter().flat_map(|part| &part.harvests).next().unwrap();
    assert_eq!(i64::from(first.arithmetic.days), (first.date - batch.born()).num_days());
}

#[test]
fn nobody_buys_what_can_be_sown_in_time() {
    let mut late = term(&[offer("2026-10-13", 14, 30)]);
    late.rules.weights.bought = 2.0;
    assert_eq!(bought(&plan(&late, 1, 100).unwrap()), 0);
}

#[test]
fn bought_seedlings_are_on_the_order_list_and_on_the_lists_of_work() {
    let term = term(&[offer("2026-09-08", 14, 10)]);
    let plan = plan(&term, 1, 100).unwrap();
    let order = order(&term, &plan);
    let line = order.things.iter().find(|line| matches!(line.thing, Thing::Seedlings(..))).unwrap();
    assert_eq!((line.wanted.to_string(), line.purchase.first_use), ("10".to_owned(), day("2026-09-08")));
    assert!((line.purchase.cost.unwrap() - 4.0).abs() < 1e-9);
    let text = week::list(&term, &plan, Week::of(day("2026-09-08")), &plain());
    assert!(text.contains("take in") && text.contains("10 seedlings, 14 days old"), "{text}");
    assert!(text.contains("look at the undersides"), "{text}");
    let cells = room::cells(&term, &plan, &SiteId::new("hall"), day("2026-09-08"));
    assert!(cells >= 10, "they wait in the nursery until they are moved: {cells}");
    let wish = whole_term(&term, &[Kind::Sowing, Kind::Order], Paper::A4);
    let sheets: String =
        files(&term, &plan, &[&term.sites[0]], &wish).iter().map(|file| words(&file.html)).collect();
    assert!(sheets.contains("Take in 10 seedlings, 14 days old."), "{sheets}");
    assert!(sheets.contains("round, seedlings of 14 days"), "{sheets}");
}

/// What was sown first is lost in the nursery; a neighbour has seedlings to sell.
#[test]
fn bought_seedlings_come_to_the_rescue() {
    let before = term(&[]);
    let known = plan(&before, 1, 100).unwrap();
    let lost = known.batches[0].clone();
    let today = lost.sown + chrono::Days::new(7);
    let what = What::Lost {
        batch: lost.id.clone(),
        place: Place::Nursery,
        plants: Amount::All,
        holes: Vec::new(),
        cause: String::new(),
    };
    let journal = Journal::new(vec![entry(0, today, Some(lost.site.clone()), what)]);
    let short = |offers: &[Arrival]| {
        let term = term(offers);
        let new = again(&term, &known, &journal, today).unwrap().plan;
        assert_eq!(check(&term, &new), []);
        (new.facts.short_grams, bought(&new))
    };
    let date = before.sites[0].class_days.iter().find(|day| **day > today).unwrap();
    let (alone, none) = short(&[]);
    let (rescued, some) = short(&[offer(&date.to_string(), 14, 12)]);
    assert_eq!(none, 0);
    assert!(some > 0 && rescued < alone - 100.0, "{some} bought, {rescued} g short instead of {alone} g");
}

/// The van does not come.
#[test]
fn seedlings_lost_on_the_day_they_come_are_not_counted_on() {
    let term = term(&[offer("2026-09-08", 14, 10)]);
    let known = plan(&term, 1, 100).unwrap();
    let batch = known.batches.iter().find(|batch| batch.origin.is_bought()).unwrap();
    assert!(batch.parts.iter().all(|part| part.transplant > batch.sown), "they are kept apart at first");
    let lost = What::Lost {
        batch: batch.id.clone(),
        place: Place::Nursery,
        plants: Amount::All,
        holes: Vec::new(),
        cause: String::new(),
    };
    let journal = Journal::new(vec![entry(0, batch.sown, Some(batch.site.clone()), lost)]);
    for later in [0, 1, 4] {
        let new = again(&term, &known, &journal, batch.sown + chrono::Days::new(later)).unwrap().plan;
        assert_eq!(check(&term, &new), []);
        let grams: f64 = new.batches.iter().filter(|new| new.id == batch.id).map(Batch::grams).sum();
        assert!(grams.abs() < 1e-9, "{later} days later {grams} g are expected of lost plants");
    }
}

/// An offer is taken once, on whichever day it comes.
#[test]
fn seedlings_that_come_early_are_not_bought_again() {
    let term = term(&[offer("2026-09-15", 14, 10)]);
    let known = plan(&term, 1, 100).unwrap();
    let batch = known.batches.iter().find(|batch| batch.origin.is_bought()).unwrap();
    let came = What::Sown { batch: batch.id.clone(), plugs: batch.plugs };
    let journal = Journal::new(vec![entry(0, day("2026-09-11"), Some(batch.site.clone()), came)]);
    let new = again(&term, &known, &journal, day("2026-09-12")).unwrap().plan;
    assert_eq!(check(&term, &new), []);
    assert_eq!(bought(&new), batch.plugs);
    let early = new.batches.iter().find(|other| other.id == batch.id).unwrap();
    assert_eq!((early.origin, early.born()), (Origin::Bought { days: 10 }, batch.born()));
    let order = order(&term, &new);
    let line = order.things.iter().find(|line| matches!(line.thing, Thing::Seedlings(..))).unwrap();
    assert!(line.purchase.cost.is_some(), "they cost what they were offered for");
}

/// The same, of young leaves, sown straight into cups.
fn in_cups(sow: SowWish) -> Term {
    let crop =
        sowtide::domain::crop::Crop { in_cups: Some(figure("Keep it damp.".to_owned())), ..young("rocket") };
    let room = site("hall").meets(&[Tue, Fri]).tank(tank("a", 4, 6)).nursery(36, 5);
    TermBuilder::default()
        .weeks(10)
        .site(room)
        .serves(Fri, 150.0)
        .crop(WantedCrop { sow, ..wanted(crop) })
        .build()
}

#[test]
fn what_is_sown_in_cups_has_its_holes_at_once() {
    let term = in_cups(SowWish::InCups);
    let plan = plan(&term, 1, 100).unwrap();
    assert_eq!(check(&term, &plan), []);
    assert!(!plan.batches.is_empty());
    for batch in &plan.batches {
        assert_eq!((batch.origin, batch.plugs), (Origin::InCups, batch.plants()));
        for part in &batch.parts {
            assert_eq!((part.transplant, part.holes.len() as u32), (batch.sown, part.plants));
            // 0.75 of plugs with two seeds come up, 0.8 of them thrive, and 0.8 of those live on in the tank.
            assert!(part.harvests.iter().all(|harvest| (harvest.arithmetic.survival - 0.48).abs() < 1e-9));
        }
        assert_eq!(room::cells(&term, &plan, &batch.site, batch.sown), 0);
    }
    assert!(tasks(&term, &plan).iter().all(|task| task.kind != TaskKind::Transplant));
    let first = plan.batches[0].sown;
    let text = week::list(&term, &plan, Week::of(first), &plain());
    assert!(text.contains("cups x 2 seeds, tank a, holes"), "{text}");
    let wish = whole_term(&term, &[Kind::Sowing], Paper::A4);
    let sheets: String =
        files(&term, &plan, &[&term.sites[0]], &wish).iter().map(|file| words(&file.html)).collect();
    assert!(
        sheets.contains("Straight into cups, not into the nursery: tank a")
            && sheets.contains("Keep it damp."),
        "{sheets}"
    );
}

/// Seed in cups needs somebody who looks after it until it is up, in a short break as in a long one.
#[test]
fn nothing_is_sown_in_cups_before_it_is_left_alone() {
    for last in ["2026-10-09", "2026-10-16"] {
        let mut term = in_cups(SowWish::InCups);
        let span = DateSpan { first: day("2026-10-03"), last: day(last) };
        let own = &mut term.sites[0];
        own.days_off = vec![DaysOff { name: "break".to_owned(), span, kind: DaysOffKind::Break }];
        own.class_days.retain(|day| !span.contains(*day));
        own.looks_in = vec![Mon, Tue, Wed, Thu, Fri];
        let sound = plan(&term, 1, 100).unwrap();
        assert_eq!(check(&term, &sound), []);
        // Tender for ten days, from a Friday on which people leave.
        let tender =
            |day: NaiveDate| (day..day + chrono::Days::new(10)).contains(&crate::support::day("2026-10-02"));
        assert!(sound.batches.iter().all(|batch| !tender(batch.sown)), "{last}");
        let Some(batch) = sound.batches.iter().find(|batch| batch.sown < day("2026-10-02")) else { continue };
        let mut careless = sound.clone();
        let moved = careless.batches.iter_mut().find(|other| other.id == batch.id).unwrap();
        moved.sown = day("2026-10-02");
        let found = check(&term, &careless);
        assert!(found.iter().any(|violation| violation.rule == Rule::LeftAlone), "{last}: {found:?}");
    }
}

#[test]
fn without_a_nursery_the_plan_sows_in_cups() {
    let mut term = in_cups(SowWish::Either);
    term.sites[0].nursery.cells = 1;
    let plan = plan(&term, 1, 100).unwrap();
    assert_eq!(check(&term, &plan), []);
    assert!(plan.batches.iter().any(|batch| batch.origin == Origin::InCups));
}

/// Two batches of a crop that are sown on one day cannot be told apart by it.
#[test]
fn cups_sown_on_the_day_of_others_are_planned_on() {
    let term = in_cups(SowWish::InCups);
    let known = plan(&term, 1, 100).unwrap();
    let [first, second] = [&known.batches[0], &known.batches[1]];
    let sown = |batch: &Batch| What::Sown { batch: batch.id.clone(), plugs: batch.plugs };
    let on = |number, batch: &Batch, day| entry(number, day, Some(batch.site.clone()), sown(batch));
    for day in [first.sown, second.sown] {
        let journal = Journal::new(vec![on(0, first, day), on(1, second, day)]);
        if let Some(new) = again(&term, &known, &journal, second.sown + chrono::Days::new(1)) {
            assert_eq!(check(&term, &new.plan), []);
        }
    }
}

/// More cups than planned stand in the tank, and none of them in the nursery.
#[test]
fn more_cups_than_planned_are_in_the_tank() {
    let mut term = in_cups(SowWish::InCups);
    let known = plan(&term, 1, 100).unwrap();
    // However the plan fills the tank, there is room for two more.
    term.sites[0].tanks[0].lid.rows += 1;
    let batch = &known.batches[0];
    let what = What::Sown { batch: batch.id.clone(), plugs: batch.plugs + 2 };
    let journal = Journal::new(vec![entry(0, batch.sown, Some(batch.site.clone()), what)]);
    let today = batch.sown + chrono::Days::new(1);
    let state = sowtide::replan::state::state(&term, &known, &journal, today);
    let stands = state.batch(&batch.id).unwrap();
    assert_eq!((stands.tray.plugs, stands.moved), (0, batch.plugs + 2));
    let counted = What::CameUp { batch: batch.id.clone(), plugs: 3 };
    let entry = entry(1, today, Some(batch.site.clone()), counted);
    let refusal = accept(&Known { term: &term, plan: &known, journal: &journal, today }, &entry).unwrap_err();
    assert!(refusal.to_string().contains("straight into the cups"), "{refusal}");
}

#[test]
fn what_the_term_does_not_allow_is_told() {
    let offered = term(&[offer("2026-09-08", 14, 10)]);
    let mut greedy = plan(&offered, 1, 100).unwrap();
    let fewer = term(&[offer("2026-09-08", 14, 9)]);
    insta::assert_snapshot!(told(&fewer, &greedy, Rule::Arrivals), @"Tue 8 Sep 2026, site hall, batch b002: 10 seedlings of round, 14 days old, are to come on Tue 8 Sep 2026; the term offers 9");
    let batch = greedy.batches.iter_mut().find(|batch| batch.origin != Origin::Sown).unwrap();
    batch.origin = Origin::Bought { days: 15 };
    insta::assert_snapshot!(told(&offered, &greedy, Rule::Arrivals), @"Tue 8 Sep 2026, site hall, batch b002: 10 seedlings of round, 15 days old, are to come on Tue 8 Sep 2026; the term offers 0");
    let cups = plan(&in_cups(SowWish::InCups), 1, 100).unwrap();
    insta::assert_snapshot!(told(&in_cups(SowWish::Nursery), &cups, Rule::InCups), @"Tue 8 Sep 2026, site hall, batch b001: rocket is not to be sown straight into cups");
    let mut moved = cups.clone();
    moved.batches[0].parts[0].transplant = day("2026-10-30");
    insta::assert_snapshot!(told(&in_cups(SowWish::InCups), &moved, Rule::InCups), @"Tue 8 Sep 2026, site hall, batch b001: sown straight into cups, plants have their holes from that day on, not from Fri 30 Oct 2026");
}

fn told(term: &Term, plan: &Plan, rule: Rule) -> String {
    let found = check(term, plan);
    found.iter().find(|violation| violation.rule == rule).unwrap_or_else(|| panic!("{found:?}")).to_string()
}

fn plain() -> Look {
    Look { width: 200, units: Units::Metric, colour: false }
}
