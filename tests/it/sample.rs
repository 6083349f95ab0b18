//! A small term, read from `tests/data/autumn`, and a sound plan for it, written by hand, so that
//! reports can be compared word for word.

use crate::support::term_of;
use chrono::{DateTime, NaiveDate, Utc};
use sowtide::domain::calendar::days_between;
use sowtide::domain::growth::{Growing, Way};
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::journal::{
    Amount, Entry, EntryId, Harvested, InTank, Journal, Measured, Place, Sample, What,
};
use sowtide::domain::known::KnownEntries;
use sowtide::domain::plan::{
    Arithmetic, Batch, Facts, Harvest, Origin, Part, Plan, Served, Serving, Shortfall,
};
use sowtide::domain::term::Term;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

pub(crate) fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// The folder with the term file.
pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/autumn")
}

pub(crate) fn term() -> Term {
    term_of(folder())
}

/// What a harvest takes, after how many days of growth, and the grams of it served on the serving day
/// of the same week.
#[derive(Clone, Copy)]
struct Picking {
    date: &'static str,
    way: Way,
    number: u32,
    days: u32,
    served: f64,
}

fn pulled(date: &'static str, number: u32, days: u32, served: f64) -> Picking {
    Picking { date, way: Way::WholeHead, number, days, served }
}

fn cut(date: &'static str, number: u32, days: u32, served: f64) -> Picking {
    Picking { way: Way::Cut, ..pulled(date, number, days, served) }
}

/// Builds batches of one crop at one site.
struct Grower<'a> {
    term: &'a Term,
    crop: &'a str,
    site: &'a str,
}

impl Grower<'_> {
    fn growing(&self) -> Growing<'_> {
        let wanted = self.term.crop(&CropId::new(self.crop)).unwrap();
        Growing::new(&wanted.crop, self.term.site(&SiteId::new(self.site)).unwrap())
    }

    fn harvest(&self, plants: u32, standing_grams: f64, picking: Picking) -> Harvest {
        let wanted = self.term.crop(&CropId::new(self.crop)).unwrap();
        let growing = self.growing();
        let day = date(picking.date);
        let serving = servings().iter().map(|serving| serving.date).find(|serving| *serving >= day);
        Harvest {
            date: day,
            way: picking.way,
            number: picking.number,
            grams: f64::from(plants) * growing.expected(standing_grams, picking.way),
            arithmetic: Arithmetic {
                days: picking.days,
                standing_grams,
                taken: growing.taken(picking.way),
                survival: wanted.crop.tank_survival.value,
                yield_factor: growing.yield_factor,
                ready_to_eat: wanted.crop.ready_to_eat.value,
            },
            serves: vec![Served { date: serving.unwrap(), grams: picking.served }],
        }
    }

    /// Plants in the tank "blue", with the holes left empty beside them: sown, moved, cut before the term.
    fn part(
        &self,
        (sown, transplant, cuts): (&str, &str, &[&str]),
        holes: [&[u32]; 2],
        pickings: &[Picking],
    ) -> Part {
        let plants = holes[0].len() as u32;
        let growing = self.growing();
        let days = |from, to| days_between(from, to) as u32;
        let (mut since, mut stand) = (date(transplant), growing.planted(days(date(sown), date(transplant))));
        for cut in cuts {
            stand = growing.cut(growing.later(stand, days(since, date(cut))));
            since = date(cut);
        }
        let mut harvests = Vec::new();
        for picking in pickings {
            stand = growing.later(stand, days(since, date(picking.date)));
            harvests.push(self.harvest(plants, growing.grams(stand), *picking));
            stand = growing.cut(stand);
            since = date(picking.date);
        }
        Part {
            plants,
            tank: TankId::new("blue"),
            transplant: date(transplant),
            holes: holes[0].to_vec(),
            kept_empty: holes[1].to_vec(),
            cuts_before: cuts.len() as u32,
            lost: None,
            harvests,
        }
    }

    fn batch(&self, id: &str, sown: &str, plugs: u32, parts: Vec<Part>) -> Batch {
        Batch {
            id: BatchId::new(id),
            crop: CropId::new(self.crop),
            site: SiteId::new(self.site),
            sown: date(sown),
            origin: Origin::Sown,
            plugs,
            seeds_per_plug: 2,
            parts,
            task_numbers: BTreeMap::new(),
        }
    }
}

fn servings() -> Vec<Serving> {
    let serving =
        |day: &str, target, planned, shortfall| Serving { date: date(day), target, planned, shortfall };
    vec![
        serving("2026-09-18", 600.0, 418.0, Some(Shortfall::TooEarly)),
        serving("2026-10-09", 480.0, 480.0, None),
        serving("2026-10-23", 400.0, 400.0, None),
        serving("2026-11-06", 600.0, 538.0, Some(Shortfall::Holes)),
    ]
}

pub(crate) fn plan() -> Plan {
    let term = term();
    let oakleaf = Grower { term: &term, crop: "oakleaf", site: "hall" };
    let mustard = Grower { crop: "leaf-mustard", site: "room-4", ..oakleaf };
    let mut standing = oakleaf.batch(
        "b-0001",
        "2026-08-03",
        6,
        vec![oakleaf.part(
            ("2026-08-03", "2026-08-17", &["2026-09-03"]),
            [&[1, 2, 3, 4, 5, 6], &[]],
            &[pulled("2026-09-17", 2, 14, 418.0)],
        )],
    );
    standing.origin = Origin::Standing;
    // Two parts that move on one day, are cut or pulled on one day and leave on different days.
    let twins = oakleaf.batch(
        "b-0002",
        "2026-09-07",
        10,
        vec![
            oakleaf.part(
                ("2026-09-07", "2026-09-21", &[]),
                [&[1, 2, 3, 4, 5, 6], &[]],
                &[cut("2026-10-08", 1, 31, 289.0), pulled("2026-10-22", 2, 14, 400.0)],
            ),
            oakleaf.part(
                ("2026-09-07", "2026-09-21", &[]),
                [&[7, 8, 9], &[]],
                &[pulled("2026-10-08", 1, 31, 191.0)],
            ),
        ],
    );
    let wide = mustard.batch(
        "b-0003",
        "2026-09-25",
        6,
        vec![mustard.part(
            ("2026-09-25", "2026-10-09", &[]),
            [&[1, 3, 8, 10, 13], &[2, 4, 7, 9, 14]],
            &[pulled("2026-11-03", 1, 39, 538.0)],
        )],
    );
    let batches = vec![standing, twins, wide];
    let harvests = batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
    let surplus_grams = harvests.map(Harvest::surplus).sum();
    Plan {
        term_id: "0f1e2d3c4b5a6978".into(),
        term_name: "Autumn 2026".into(),
        revision: 3,
        last_number: 0,
        last_task_numbers: BTreeMap::new(),
        reason: "planned again".into(),
        made: "2026-09-01T08:30:00Z".parse::<DateTime<Utc>>().unwrap(),
        sure: None,
        replanned: None,
        known: KnownEntries::default(),
        mass_factors: Vec::new(),
        batches,
        servings: servings(),
        facts: Facts {
            solver: "test".into(),
            cost: 49.12,
            cost_bound: Some(38.0),
            short_grams: 244.0,
            short_bound_grams: Some(182.0),
            surplus_grams,
            effort: 40,
            seed: 1,
            seconds: 2.5,
            stopped: false,
        },
    }
}

/// What was recorded of the plan until its end: estimates of most plants, counts, losses, a harvest without a record.
pub(crate) fn journal() -> Journal {
    let (batch, tank) = (|id: &str| BatchId::new(id), || TankId::new("blue"));
    let harvested = |id: &str, way, grams, samples: Vec<Sample>| {
        let plants = samples.len() as u32;
        What::Harvested(Harvested {
            batch: batch(id),
            places: vec![InTank { tank: tank(), plants, holes: Vec::new() }],
            way,
            grams,
            measured_as: None,
            samples,
        })
    };
    let lost = |place, plants, cause: &str| What::Lost {
        batch: batch("b-0002"),
        place,
        plants,
        holes: Vec::new(),
        cause: cause.to_owned(),
    };
    let told = vec![
        ("2026-09-07", "hall", What::Sown { batch: batch("b-0002"), plugs: 12 }),
        ("2026-09-14", "hall", What::CameUp { batch: batch("b-0002"), plugs: 11 }),
        ("2026-09-17", "hall", lost(Place::Nursery, Amount::Plants(1), "dried out")),
        (
            "2026-09-17",
            "hall",
            harvested("b-0001", Way::WholeHead, 380.0, measured(&[22, 25, 24, 21, 26, 24], 20)),
        ),
        ("2026-09-21", "hall", What::Transplanted { batch: batch("b-0002"), tank: tank(), plants: 9 }),
        ("2026-10-01", "hall", lost(Place::Tank(tank()), Amount::Plants(1), "Dried out")),
        ("2026-10-08", "hall", harvested("b-0002", Way::Cut, 260.0, measured(&[21, 19, 22, 20, 23, 18], 20))),
        ("2026-10-08", "hall", harvested("b-0002", Way::WholeHead, 110.0, measured(&[20, 21], 20))),
        ("2026-10-05", "room-4", What::CameUp { batch: batch("b-0003"), plugs: 6 }),
        ("2026-11-03", "room-4", harvested("b-0003", Way::WholeHead, 500.0, measured(&[10, 9, 11, 80], 12))),
    ];
    let entries = told.into_iter().zip(1..).map(|((day, site, what), number)| Entry {
        id: EntryId(number),
        recorded: DateTime::UNIX_EPOCH,
        day: date(day),
        site: Some(SiteId::new(site)),
        by: None,
        what,
        replaces: None,
    });
    Journal::new(entries.collect())
}

/// Plants of one height, as they were estimated; every second one's mass as well, ten grams too low.
fn measured(estimates: &[u32], height: u32) -> Vec<Sample> {
    let of = |estimate: u32, found: u32| {
        Some(Measured { estimate: Some(f64::from(estimate)), found: f64::from(found) })
    };
    let sample = |(number, estimate): (usize, &u32)| Sample {
        height_cm: of(*estimate, height),
        mass_g: of(40 + number as u32, 50 + number as u32).filter(|_| number % 2 == 0),
        ..Sample::default()
    };
    estimates.iter().enumerate().map(sample).collect()
}
