mod known;
mod whole;

use super::*;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::journal::EntryId;
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Arithmetic, Batch, Facts, Harvest, Origin, Part, Served, Serving, Shortfall};
use crate::domain::task_numbers::TaskKind;
use crate::domain::text;
use crate::files::cases;
use crate::files::store::Memory;
use chrono::{DateTime, NaiveDate, Utc};
use known::{known, mass_factor};
use proptest::collection::{btree_map, vec};
use proptest::option;
use proptest::prelude::*;

/// Dates far beyond any term, so that nothing depends on the century.
fn day() -> impl Strategy<Value = NaiveDate> {
    (1900..2200, 1..366_u32).prop_map(|(year, day)| {
        NaiveDate::from_yo_opt(year, day).unwrap_or_else(|| unreachable!("every year has 365 days"))
    })
}

fn grams() -> impl Strategy<Value = f64> {
    prop_oneof![0.0..1e6, Just(0.1 + 0.2), Just(94.08), Just(-0.0), Just(4e-9)]
}

fn moment() -> impl Strategy<Value = DateTime<Utc>> {
    (0..4_000_000_000_i64, 0..1_000_000_000_u32)
        .prop_map(|(seconds, nanos)| DateTime::from_timestamp(seconds, nanos).unwrap_or_default())
}

/// Any text fit for people, and the kinds of text that other readers take for something else.
fn name() -> impl Strategy<Value = String> {
    some_text().prop_filter("fit for people", |name| text::check(name).is_ok())
}

fn some_text() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[a-z0-9-]{1,12}",
        Just("no".to_owned()),
        Just("1.50".to_owned()),
        Just("~".to_owned()),
        Just("null".to_owned()),
        Just("2026-09-01".to_owned()),
        Just("- a: {b} # c".to_owned()),
        Just(" padded ".to_owned()),
    ]
}

fn harvest() -> impl Strategy<Value = Harvest> {
    let arithmetic = (0..200_u32, vec(grams(), 5)).prop_map(|(days, steps)| Arithmetic {
        days,
        standing_grams: steps[0],
        taken: steps[1],
        survival: steps[2],
        yield_factor: steps[3],
        ready_to_eat: steps[4],
    });
    let way = prop_oneof![Just(Way::Cut), Just(Way::WholeHead)];
    let served = (day(), grams()).prop_map(|(date, grams)| Served { date, grams });
    (day(), way, 0..9_u32, grams(), arithmetic, vec(served, 0..3)).prop_map(
        |(date, way, number, grams, arithmetic, serves)| Harvest {
            date,
            way,
            number,
            grams,
            arithmetic,
            serves,
        },
    )
}

fn part() -> impl Strategy<Value = Part> {
    let holes = || vec(any::<u32>(), 0..5);
    (0..=100_000_u32, name(), day(), holes(), holes(), 0..9_u32, vec(harvest(), 0..3)).prop_map(
        |(plants, tank, transplant, holes, kept_empty, cuts_before, harvests)| Part {
            plants,
            tank: TankId::new(tank),
            transplant,
            holes,
            kept_empty,
            cuts_before,
            lost: None,
            harvests,
        },
    )
}

fn batch() -> impl Strategy<Value = Batch> {
    let origin = prop_oneof![
        Just(Origin::Sown),
        Just(Origin::InCups),
        Just(Origin::Standing),
        (1..60_u32).prop_map(|days| Origin::Bought { days }),
    ];
    let counts = (origin, 0..=100_000_u32, 0..60_u32);
    let numbers = btree_map((task_kind(), day()), any::<u32>(), 0..4);
    (vec(name(), 3), day(), counts, vec(part(), 0..3), numbers).prop_map(
        |(names, sown, (origin, plugs, seeds_per_plug), parts, task_numbers)| Batch {
            id: BatchId::new(&*names[0]),
            crop: CropId::new(&*names[1]),
            site: SiteId::new(&*names[2]),
            sown,
            origin,
            plugs,
            seeds_per_plug,
            parts,
            task_numbers,
        },
    )
}

fn task_kind() -> impl Strategy<Value = TaskKind> {
    prop::sample::select(TaskKind::ALL.to_vec())
}

fn serving() -> impl Strategy<Value = Serving> {
    let shortfall = prop::sample::select(vec![
        Shortfall::TooEarly,
        Shortfall::DaysOff,
        Shortfall::Holes,
        Shortfall::Nursery,
        Shortfall::Hands,
        Shortfall::Crops,
        Shortfall::OnlyIn,
        Shortfall::OneTank,
        Shortfall::Together,
        Shortfall::Water,
        Shortfall::Unattended,
        Shortfall::Search,
    ]);
    (day(), grams(), grams(), option::of(shortfall)).prop_map(|(date, target, planned, shortfall)| Serving {
        date,
        target,
        planned,
        shortfall,
    })
}

fn facts() -> impl Strategy<Value = Facts> {
    let bounds = (option::of(grams()), option::of(grams()));
    (name(), vec(grams(), 4), bounds, any::<(u64, u64, bool)>()).prop_map(
        |(solver, sums, (cost_bound, short_bound_grams), (effort, seed, stopped))| Facts {
            solver,
            cost: sums[0],
            cost_bound,
            short_grams: sums[1],
            short_bound_grams,
            surplus_grams: sums[2],
            effort,
            seed,
            seconds: sums[3],
            stopped,
        },
    )
}

fn plan() -> impl Strategy<Value = Plan> {
    let last = btree_map((name().prop_map(BatchId::new), task_kind()), any::<u32>(), 0..4);
    let head = (vec(name(), 2), 0..=LAST_RUNNING, last, moment(), known(), vec(mass_factor(), 0..3));
    (head, vec(batch(), 0..4), vec(serving(), 0..4), facts()).prop_map(
        |((names, revision, last, made, known, mass_factors), batches, servings, facts)| Plan {
            term_id: names[0].clone(),
            term_name: names[1].clone(),
            revision,
            last_number: revision / 2,
            last_task_numbers: last,
            reason: "first plan".into(),
            made,
            sure: (revision % 3 == 1).then_some(0.9),
            replanned: None,
            known,
            mass_factors,
            batches,
            servings,
            facts,
        },
    )
}

proptest! {
    #![proptest_config(cases::few(128, "tests/proptest-regressions/src"))]

    #[test]
    fn what_is_written_is_read_back(plan in plan()) {
        let text = to_text(&plan).unwrap();
        let read = from_file(&TextFile::new("plan.yaml", &text)).map_err(|problems| {
            TestCaseError::fail(format!("{problems}\n{text}"))
        })?;
        prop_assert_eq!(read, plan);
    }
}

fn small() -> Plan {
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    let harvest = Harvest {
        date: day("2026-10-06"),
        way: Way::WholeHead,
        number: 1,
        grams: 940.8,
        arithmetic: Arithmetic {
            days: 35,
            standing_grams: 100.0,
            taken: 1.0,
            survival: 0.98,
            yield_factor: 1.0,
            ready_to_eat: 0.8,
        },
        serves: vec![Served { date: day("2026-10-08"), grams: 900.0 }],
    };
    Plan {
        term_id: "k3v9".into(),
        term_name: "Autumn: year 5".into(),
        revision: 1,
        last_number: 7,
        last_task_numbers: [((BatchId::new("b003"), TaskKind::Harvest), 4)].into(),
        reason: String::new(),
        made: "2026-08-20T09:30:00Z".parse().unwrap(),
        sure: None,
        replanned: None,
        known: KnownEntries::default(),
        mass_factors: Vec::new(),
        batches: vec![Batch {
            id: BatchId::new("oakleaf-1"),
            crop: CropId::new("oakleaf"),
            site: SiteId::new("hall"),
            sown: day("2026-09-01"),
            origin: Origin::Sown,
            plugs: 15,
            seeds_per_plug: 1,
            parts: vec![Part {
                plants: 12,
                tank: TankId::new("a"),
                transplant: day("2026-09-15"),
                holes: vec![1, 4],
                kept_empty: vec![2, 3],
                cuts_before: 0,
                lost: None,
                harvests: vec![harvest],
            }],
            task_numbers: [
                ((TaskKind::Sow, day("2026-09-01")), 1),
                ((TaskKind::Transplant, day("2026-09-15")), 1),
                ((TaskKind::Harvest, day("2026-10-06")), 2),
            ]
            .into(),
        }],
        servings: vec![Serving {
            date: day("2026-10-08"),
            target: 1000.0,
            planned: 900.0,
            shortfall: Some(Shortfall::TooEarly),
        }],
        facts: Facts {
            solver: "Clarabel".into(),
            cost: 12.5,
            cost_bound: None,
            short_grams: 100.0,
            short_bound_grams: Some(80.0),
            surplus_grams: 40.8,
            effort: 200,
            seed: 7,
            seconds: 1.5,
            stopped: false,
        },
    }
}

#[test]
fn the_file_can_be_read_by_people() {
    insta::assert_snapshot!(to_text(&small()).unwrap(), @r#"
    # A term's plan, written by sowtide. Please do not edit it by hand: change the term file and plan again.
    # Masses are grams, ready to eat where nothing else is said.
    format: 2
    term-id: k3v9
    term-name: "Autumn: year 5"
    revision: 1
    last-number: 7
    last-task-numbers:
    - {batch: b003, harvest: 4}
    made: 2026-08-20T09:30:00Z
    facts:
      solver: Clarabel
      cost: 12.5
      short-grams: 100.0
      short-bound-grams: 80.0
      surplus-grams: 40.8
      effort: 200
      seed: 7
      seconds: 1.5
      stopped: false
    servings:
    - {date: 2026-10-08, target: 1000.0, planned: 900.0, shortfall: too-early}
    batches:
    - id: oakleaf-1
      crop: oakleaf
      site: hall
      sown: 2026-09-01
      plugs: 15
      seeds-per-plug: 1
      task-numbers:
        sow: {2026-09-01: 1}
        transplant: {2026-09-15: 1}
        harvest: {2026-10-06: 2}
      parts:
      - plants: 12
        tank: a
        transplant: 2026-09-15
        holes: [1, 4]
        kept-empty: [2, 3]
        cuts-before: 0
        harvests:
        - date: 2026-10-06
          way: whole-head
          number: 1
          grams: 940.8
          arithmetic: {days: 35, standing-grams: 100.0, taken: 1.0, survival: 0.98, yield-factor: 1.0, ready-to-eat: 0.8}
          serves:
          - {date: 2026-10-08, grams: 900.0}
    "#);
}

#[test]
fn files_are_written_and_read() {
    let store = Memory::new();
    assert_eq!(read(&store, "plan.yaml"), Ok(None));
    write(&store, "plan.yaml", &small()).unwrap();
    assert_eq!(read(&store, "plan.yaml"), Ok(Some(small())));
}

#[test]
fn a_plan_that_cannot_be_read_back_leaves_the_old_file() {
    let store = Memory::new();
    write(&store, "plan.yaml", &small()).unwrap();
    let mut broken = small();
    broken.facts.cost = f64::NAN;
    assert_eq!(write(&store, "plan.yaml", &broken).unwrap_err().kind(), io::ErrorKind::InvalidData);
    assert_eq!(read(&store, "plan.yaml"), Ok(Some(small())));
}

#[test]
fn slips_are_placed_and_plain() {
    let sound = to_text(&small()).unwrap();
    let slips = [
        ("format: 2", "format: 3"),
        ("plugs: 15", "plugs: 4000000000"),
        ("plugs: 15", "plugs: many"),
        ("sown: 2026-09-01", "sown: 2026-02-30"),
        ("sow: {2026-09-01: 1}", "sow: {2026-02-30: 1}"),
        ("sow: {2026-09-01: 1}", "sow: {2026-09-01: 1, 2026-09-01: 2}"),
        ("way: whole-head", "way: whole"),
        ("  tank: a", "  tnak: a"),
        ("taken: 1.0", "taken: .nan"),
        ("revision: 1\n", ""),
        ("made: 2026-08-20T09:30:00Z", "made: yesterday"),
        ("sown: 2026-09-01", "sown: -262143-01-01"),
        ("made: 2026-08-20T09:30:00Z", "made: 9999-08-20T09:30:00Z"),
        ("id: oakleaf-1", r#"id: "oak\e[31mleaf""#),
        ("tank: a", r#"tank: "\u202Ea""#),
        ("term-name: \"Autumn: year 5\"", r#"term-name: "\u200B""#),
    ];
    let complaints: Vec<String> = slips
        .into_iter()
        .map(|(from, to)| {
            assert!(sound.contains(from), "{from} is in {sound}");
            let file = TextFile::new("plan.yaml", &sound.replacen(from, to, 1));
            let problems = from_file(&file).unwrap_err();
            let problem = problems.iter().next().unwrap();
            let (line, column) = (problem.line().unwrap_or(0), problem.column().unwrap_or(0));
            format!("{to:?} {line}:{column} {} | {}", problem.message(), problem.help())
        })
        .collect();
    insta::assert_snapshot!(complaints.join("\n"), @r#"
    "format: 3" 3:1 a plan of another format cannot stand here | write format: 2, the newest known here; a newer sowtide may have written this plan
    "plugs: 4000000000" 28:3 "4000000000" cannot stand here | write a number up to 100000
    "plugs: many" 28:10 this is not a whole number in range | write digits only, such as 12
    "sown: 2026-02-30" 27:3 "2026-02-30" cannot stand here | write a date such as 2026-09-01
    "sow: {2026-02-30: 1}" 31:11 "2026-02-30" cannot stand here | write a date such as 2026-09-01
    "sow: {2026-09-01: 1, 2026-09-01: 2}" 31:26 "2026-09-01" is given twice | keep only one of them
    "way: whole" 43:12 "whole" is not known here | known here: cut, whole-head
    "  tnak: a" 36:5 unknown key "tnak" | did you mean "tank"?
    "taken: .nan" 46:53 something that is no number cannot stand here | write a number such as 12.5
    "" 22:1 "revision" is missing here | add a line "revision: ..."
    "made: yesterday" 10:1 "yesterday" cannot stand here | write a time such as 2026-09-01T12:00:00Z
    "sown: -262143-01-01" 27:3 "-262143-01-01" cannot stand here | write a date in the years from 1900 to 2199
    "made: 9999-08-20T09:30:00Z" 10:1 "9999-08-20T09:30:00Z" cannot stand here | write a time in the years from 1900 to 2199
    "id: \"oak\\e[31mleaf\"" 24:3 text with a hidden character cannot stand here | write letters and digits, all on one line
    "tank: \"\\u202Ea\"" 36:5 text with a hidden character cannot stand here | write letters and digits, all on one line
    "term-name: \"\\u200B\"" 5:1 text without a letter cannot stand here | write letters and digits, all on one line
    "#);
}
