//! A small term and a plan for it, written by hand, so that reports can be compared word for word.

use chrono::{DateTime, NaiveDate, Utc, Weekday};
use chrono::{Datelike, Days};
use sowtide::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use sowtide::domain::crop::{Crop, DaySpan, Figure, GrowthCurve, Limits, Regrowth, Source};
use sowtide::domain::growth::Way;
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::lid::Lid;
use sowtide::domain::plan::{Arithmetic, Batch, Facts, Harvest, Part, Plan, Served, Serving, Shortfall};
use sowtide::domain::site::{Nursery, Site, Tank};
use sowtide::domain::term::{
    Minutes, Rules, ServingTarget, Stage, Standing, Term, WantedCrop, WayWish, Weights,
};
use sowtide::domain::units::{Length, Mass, Temperature};

pub(crate) fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn published<T>(value: T) -> Figure<T> {
    Figure {
        value,
        source: Source::Published("Leafy greens in still water, bulletin 12".into()),
    }
}

fn practice<T>(value: T) -> Figure<T> {
    Figure {
        value,
        source: Source::CommonPractice,
    }
}

fn days(min: u32, usual: u32, max: u32) -> DaySpan {
    DaySpan { min, usual, max }
}

fn limits(low: f64, high: f64) -> Limits<f64> {
    Limits { low, high }
}

/// A lettuce that regrows.
pub(crate) fn oakleaf() -> Crop {
    let points = [(21, 20.0), (35, 110.0), (45, 150.0)].map(|(age, grams)| (age, Mass::from_grams(grams)));
    Crop {
        id: CropId::new("oakleaf"),
        name: "Oakleaf lettuce".into(),
        scientific_name: "Lactuca sativa".into(),
        kind: "lettuce".into(),
        germination: published(0.9),
        seeds_per_plug: practice(2),
        seeds_per_gram: published(900.0),
        emergence: published(days(2, 3, 6)),
        nursery: practice(days(10, 14, 18)),
        nursery_survival: Figure {
            value: 0.95,
            source: Source::FromMemory,
        },
        tank_survival: practice(0.95),
        first_cut: Some(published(days(28, 32, 42))),
        whole_head: Some(published(days(35, 42, 50))),
        hold: practice(days(3, 7, 10)),
        growth: published(GrowthCurve::new(&points).unwrap()),
        regrowth: Some(Regrowth {
            interval: published(days(10, 14, 21)),
            harvests: practice(3),
            taken: published(0.67),
            strength: practice(vec![0.9, 0.7]),
        }),
        spacing: published(Length::from_cm(15.0)),
        ph: published(limits(5.6, 6.2)),
        ec: published(limits(0.8, 1.6)),
        air: published(Limits {
            low: Temperature::from_celsius(16.0),
            high: Temperature::from_celsius(24.0),
        }),
        water_a_day: practice(0.15),
        shelf_life: published(7),
        storage: published(Temperature::from_celsius(2.0)),
        ready_to_eat: practice(0.9),
        bolting: Some(practice("Warmth above 24 °C makes it bolt.".into())),
        handling: None,
        allergy: None,
    }
}

/// A mustard that is only cut whole, wide, and a known allergen.
pub(crate) fn mustard() -> Crop {
    Crop {
        id: CropId::new("leaf-mustard"),
        name: "Leaf mustard".into(),
        scientific_name: "Brassica juncea".into(),
        kind: "brassica leaf".into(),
        first_cut: None,
        regrowth: None,
        whole_head: Some(published(days(30, 35, 40))),
        spacing: published(Length::from_cm(20.0)),
        bolting: None,
        allergy: Some(published(
            "Mustard is a known allergen; tell the kitchen, label it.".into(),
        )),
        ..oakleaf()
    }
}

fn site(id: &str, name: &str, weekdays: [Weekday; 2]) -> Site {
    let off = DateSpan {
        first: date("2026-10-12"),
        last: date("2026-10-18"),
    };
    let class_days = date("2026-09-07")
        .iter_days()
        .take_while(|day| *day <= date("2026-11-06"))
        .filter(|day| weekdays.contains(&day.weekday()) && !off.contains(*day))
        .collect();
    Site {
        id: SiteId::new(id),
        name: name.into(),
        class_days,
        days_off: vec![DaysOff {
            name: "autumn break".into(),
            span: off,
            kind: DaysOffKind::Break,
        }],
        nursery: Nursery {
            cells: 48,
            unattended_days: 4,
        },
        tanks: vec![Tank {
            id: TankId::new("blue"),
            lid: Lid {
                rows: 4,
                columns: 6,
                spacing_cm: 15.0,
            },
            usable_litres: 40.0,
            ec: 1.2,
            ph: 5.9,
        }],
        minutes_a_day: None,
        sowings_a_day: None,
        pace: 1.0,
        yield_factor: 1.0,
    }
}

pub(crate) fn term() -> Term {
    let wanted = |crop| WantedCrop {
        crop,
        way: WayWish::Either,
        at_most: 1.0,
        at_least: 0.0,
    };
    Term {
        name: "Autumn 2026".into(),
        start: date("2026-09-07"),
        end: date("2026-11-06"),
        sites: vec![
            site("hall", "Hall; north, upper", [Weekday::Mon, Weekday::Thu]),
            site("room-4", "Room 4", [Weekday::Tue, Weekday::Fri]),
        ],
        servings: servings()
            .iter()
            .map(|serving| ServingTarget {
                date: serving.date,
                grams: serving.target,
            })
            .collect(),
        crops: vec![wanted(mustard()), wanted(oakleaf())],
        rules: Rules {
            kinds: 1,
            kind_from: 0.1,
            one_tank_at_most: 1.0,
            smallest_batch: 4,
            turnover_days: 0,
            minutes: Minutes {
                sow: 1.0,
                transplant: 1.0,
                harvest: 1.0,
            },
            weights: Weights::default(),
        },
        standing: vec![Standing {
            batch: BatchId::new("b-0001"),
            crop: CropId::new("oakleaf"),
            site: SiteId::new("hall"),
            sown: date("2026-08-10"),
            plants: 6,
            stage: Stage::Tank {
                tank: TankId::new("blue"),
                transplanted: date("2026-08-24"),
                holes: (1..=6).collect(),
                cuts: vec![date("2026-09-03")],
            },
        }],
    }
}

/// What a harvest should yield, and the one serving day that gets `served` grams of it.
struct Picking {
    date: &'static str,
    way: Way,
    number: u32,
    days: u32,
    standing_grams: f64,
    serves: (&'static str, f64),
}

fn harvest(plants: u32, picking: &Picking) -> Harvest {
    let arithmetic = Arithmetic {
        days: picking.days,
        standing_grams: picking.standing_grams,
        taken: if picking.way == Way::Cut { 0.67 } else { 1.0 },
        survival: 0.95,
        yield_factor: 1.0,
        ready_to_eat: 0.9,
    };
    Harvest {
        date: date(picking.date),
        way: picking.way,
        number: picking.number,
        grams: f64::from(plants)
            * arithmetic.standing_grams
            * arithmetic.taken
            * arithmetic.survival
            * arithmetic.ready_to_eat,
        arithmetic,
        serves: vec![Served {
            date: date(picking.serves.0),
            grams: picking.serves.1,
        }],
    }
}

fn part(plants: u32, transplant: &str, holes: Vec<u32>, pickings: &[Picking]) -> Part {
    Part {
        plants,
        tank: TankId::new("blue"),
        transplant: date(transplant),
        holes,
        kept_empty: Vec::new(),
        cuts_before: 0,
        harvests: pickings.iter().map(|picking| harvest(plants, picking)).collect(),
    }
}

fn servings() -> Vec<Serving> {
    let serving = |day: &str, target, planned, shortfall| Serving {
        date: date(day),
        target,
        planned,
        shortfall,
    };
    vec![
        serving("2026-09-18", 600.0, 436.0, Some(Shortfall::TooEarly)),
        serving("2026-10-09", 550.0, 550.0, None),
        serving("2026-10-23", 450.0, 450.0, None),
        serving("2026-11-06", 600.0, 589.0, Some(Shortfall::Holes)),
    ]
}

fn pulled(date: &'static str, number: u32, days: u32, standing_grams: f64, serves: f64) -> Picking {
    Picking {
        date,
        way: Way::WholeHead,
        number,
        days,
        standing_grams,
        serves: (serving_after(date), serves),
    }
}

fn cut(date: &'static str, number: u32, days: u32, standing_grams: f64, serves: f64) -> Picking {
    Picking {
        way: Way::Cut,
        ..pulled(date, number, days, standing_grams, serves)
    }
}

/// The serving day of the same week.
fn serving_after(day: &str) -> &'static str {
    ["2026-09-18", "2026-10-09", "2026-10-23", "2026-11-06"]
        .into_iter()
        .find(|serving| date(serving) >= date(day))
        .unwrap()
}

pub(crate) fn plan() -> Plan {
    let batch = |id: &str, crop: &str, site: &str, sown: &str, plugs, parts| Batch {
        id: BatchId::new(id),
        crop: CropId::new(crop),
        site: SiteId::new(site),
        sown: date(sown),
        standing: false,
        plugs,
        seeds_per_plug: 2,
        parts,
    };
    let mut standing = batch(
        "b-0001",
        "oakleaf",
        "hall",
        "2026-08-10",
        6,
        vec![part(
            6,
            "2026-08-24",
            (1..=6).collect(),
            &[pulled("2026-09-17", 2, 14, 85.0, 436.0)],
        )],
    );
    standing.standing = true;
    standing.parts[0].cuts_before = 1;
    // Two parts that move on one day, are cut on one day and leave on different days.
    let twins = batch(
        "b-0002",
        "oakleaf",
        "hall",
        "2026-09-07",
        10,
        vec![
            part(
                6,
                "2026-09-21",
                (1..=6).collect(),
                &[
                    cut("2026-10-08", 1, 31, 95.0, 327.0),
                    pulled("2026-10-22", 2, 14, 97.0, 450.0),
                ],
            ),
            part(
                3,
                "2026-09-21",
                (7..=9).collect(),
                &[pulled("2026-10-08", 1, 31, 95.0, 223.0)],
            ),
        ],
    );
    let mut wide = batch(
        "b-0003",
        "leaf-mustard",
        "room-4",
        "2026-09-22",
        6,
        vec![part(
            5,
            "2026-10-06",
            vec![1, 3, 8, 10, 13],
            &[pulled("2026-11-03", 1, 42, 138.0, 589.0)],
        )],
    );
    wide.parts[0].kept_empty = vec![2, 4, 7, 9, 14];
    Plan {
        term_id: "0f1e2d3c4b5a6978".into(),
        term_name: "Autumn 2026".into(),
        revision: 3,
        made: "2026-09-01T08:30:00Z".parse::<DateTime<Utc>>().unwrap(),
        batches: vec![standing, twins, wide],
        servings: servings(),
        facts: Facts {
            solver: "test".into(),
            cost: 61.5,
            cost_bound: Some(58.0),
            short_grams: 175.0,
            short_bound_grams: Some(150.0),
            surplus_grams: 69.4,
            effort: 40,
            seed: 1,
            seconds: 2.5,
            stopped: false,
        },
    }
}

/// The day after.
pub(crate) fn day_after(day: NaiveDate) -> NaiveDate {
    day.checked_add_days(Days::new(1)).unwrap()
}
