use super::*;
use crate::domain::calendar::plus_days;
use crate::domain::growth::Way;
use crate::domain::ids::{CropId, SiteId};
use crate::domain::known::KnownEntries;
use crate::domain::plan::{Arithmetic, Facts, Harvest, Origin, Part};
use chrono::DateTime;
use proptest::collection::{btree_map, vec};
use proptest::prelude::*;

fn day(number: u32) -> NaiveDate {
    plus_days(DateTime::UNIX_EPOCH.date_naive(), number)
}

/// Plants in these holes, moved on day 20 and harvested on these days.
fn part(holes: &[u32], days: &[u32]) -> Part {
    let harvest = |(index, on): (usize, &u32)| Harvest {
        date: day(*on),
        way: if index + 1 == days.len() { Way::WholeHead } else { Way::Cut },
        number: index as u32 + 1,
        grams: 10.0,
        arithmetic: Arithmetic::default(),
        serves: Vec::new(),
    };
    Part {
        plants: holes.len() as u32,
        tank: TankId::new("a"),
        transplant: day(20),
        holes: holes.to_vec(),
        kept_empty: Vec::new(),
        cuts_before: 0,
        lost: None,
        harvests: days.iter().enumerate().map(harvest).collect(),
    }
}

fn batch(parts: Vec<Part>) -> Batch {
    Batch {
        id: BatchId::new("b001"),
        crop: CropId::new("oakleaf"),
        site: SiteId::new("hall"),
        sown: day(1),
        origin: Origin::Sown,
        plugs: 20,
        seeds_per_plug: 1,
        parts,
        task_numbers: TaskNumbers::new(),
    }
}

fn plan(batches: Vec<Batch>) -> Plan {
    Plan {
        term_id: String::new(),
        term_name: String::new(),
        revision: 1,
        last_number: 1,
        last_task_numbers: BTreeMap::new(),
        made: DateTime::UNIX_EPOCH,
        reason: String::new(),
        sure: None,
        replanned: None,
        known: KnownEntries::default(),
        mass_factors: Vec::new(),
        batches,
        servings: Vec::new(),
        facts: Facts {
            solver: String::new(),
            cost: 0.0,
            cost_bound: None,
            short_grams: 0.0,
            short_bound_grams: None,
            surplus_grams: 0.0,
            effort: 0,
            seed: 0,
            seconds: 0.0,
            stopped: false,
        },
    }
}

fn first(parts: Vec<Part>) -> Plan {
    let mut plan = plan(vec![batch(parts)]);
    plan.number_tasks(None, None);
    plan
}

fn after(before: &Plan, today: u32, parts: Vec<Part>) -> Plan {
    let mut plan = plan(vec![batch(parts)]);
    plan.number_tasks(Some(before), Some(day(today)));
    plan
}

/// Days and numbers of the harvests.
fn harvests(plan: &Plan) -> Vec<(i64, u32)> {
    let harvests = plan.batches[0].task_numbers.iter().filter(|((kind, _), _)| *kind == TaskKind::Harvest);
    harvests.map(|((_, on), number)| (days_between(day(0), *on), *number)).collect()
}

#[test]
fn a_first_plan_counts_by_day() {
    let plan = first(vec![part(&[1, 2], &[60]), part(&[3], &[50, 70])]);
    assert_eq!(harvests(&plan), [(50, 1), (60, 2), (70, 3)]);
    let mut unnumbered = plan.clone();
    unnumbered.batches[0].task_numbers.clear();
    assert_eq!(numbers(&unnumbered.batches[0]), plan.batches[0].task_numbers);
    // Who changes nothing about an old plan leaves it without numbers.
    let again = after(&unnumbered, 30, plan.batches[0].parts.clone());
    assert_eq!(again.batches, unnumbered.batches);
}

#[test]
fn an_early_harvest_renames_no_other() {
    let old = first(vec![part(&[1, 2, 3], &[60]), part(&[4, 5], &[70]), part(&[6], &[80])]);
    let some = vec![part(&[1], &[50]), part(&[2, 3], &[60]), part(&[4, 5], &[70]), part(&[6], &[80])];
    assert_eq!(harvests(&after(&old, 51, some)), [(50, 4), (60, 1), (70, 2), (80, 3)]);
    let all = vec![part(&[1, 2, 3], &[60]), part(&[4, 5], &[50]), part(&[6], &[80])];
    assert_eq!(harvests(&after(&old, 51, all)), [(50, 2), (60, 1), (80, 3)]);
}

#[test]
fn what_was_done_early_comes_before_what_moves() {
    let old = first(vec![part(&[1, 2], &[60, 74, 88])]);
    let new = after(&old, 51, vec![part(&[1, 2], &[50, 63, 77, 91])]);
    assert_eq!(harvests(&new), [(50, 1), (63, 4), (77, 2), (91, 3)]);
    // Work that was not done in time and is made up for later is the same work.
    let new = after(&old, 61, vec![part(&[1, 2], &[63, 74, 88])]);
    assert_eq!(harvests(&new), [(63, 1), (74, 2), (88, 3)]);
    // Rather the harvest of the same plants than the nearer one.
    let old = first(vec![part(&[1, 2], &[60]), part(&[3, 4], &[70])]);
    let new = after(&old, 51, vec![part(&[3, 4], &[62])]);
    assert_eq!(harvests(&new), [(62, 2)]);
}

#[test]
fn numbers_of_what_is_gone_never_come_back() {
    let old = first(vec![part(&[1], &[60]), part(&[2], &[70])]);
    let more = after(&old, 30, vec![part(&[1], &[60]), part(&[2], &[70]), part(&[3], &[80])]);
    let fewer = after(&more, 30, vec![part(&[1], &[60])]);
    assert_eq!(fewer.last_task_number(&BatchId::new("b001"), TaskKind::Harvest), 3);
    let later = after(&fewer, 30, vec![part(&[1], &[60]), part(&[2], &[72])]);
    assert_eq!(harvests(&later), [(60, 1), (72, 4)]);
    let mut none = plan(Vec::new());
    none.number_tasks(Some(&later), None);
    // The first plan is brought back, and made again with a harvest more.
    let mut back = old.clone();
    back.keep_last_task_numbers(&none);
    let newest = after(&back, 30, vec![part(&[1], &[60]), part(&[2], &[70]), part(&[3], &[90])]);
    assert_eq!(harvests(&newest), [(60, 1), (70, 2), (90, 5)]);
}

/// What happens to a plan: it is made again with harvests on these days of these holes, or an older one comes back.
#[derive(Debug, Clone)]
enum Step {
    Again { today: u32, holes: BTreeMap<u32, u32> },
    BackTo(usize),
}

fn any_step() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => (30..60_u32, btree_map(30..60_u32, 1..6_u32, 0..6))
            .prop_map(|(today, holes)| Step::Again { today, holes }),
        1 => (0..8_usize).prop_map(Step::BackTo),
    ]
}

proptest! {
    #[test]
    fn whatever_happens_tasks_keep_their_numbers(steps in vec(any_step(), 1..9)) {
        let mut plans = vec![first(vec![part(&[1], &[40]), part(&[2], &[50])])];
        let mut highest = 2;
        for step in steps {
            let newest = plans[plans.len() - 1].clone();
            let (mut new, made) = match &step {
                Step::Again { today, holes } => {
                    let parts = holes.iter().map(|(on, hole)| part(&[*hole], &[*on])).collect();
                    (after(&newest, *today, parts), true)
                }
                Step::BackTo(number) => (plans[number % plans.len()].clone(), false),
            };
            new.keep_last_task_numbers(&newest);
            let (before, now) = (harvests(&newest), harvests(&new));
            let numbers: BTreeSet<u32> = now.iter().map(|(_, number)| *number).collect();
            prop_assert_eq!(numbers.len(), now.len(), "each has its own: {:?}", now);
            for (on, number) in now.iter().filter(|_| made) {
                match before.iter().find(|(other, _)| other == on) {
                    Some((_, same)) => prop_assert_eq!(number, same, "the same day is the same task"),
                    None => prop_assert!(
                        *number > highest || before.iter().any(|(_, known)| known == number),
                        "{number} came back: {before:?}, {now:?}"
                    ),
                }
            }
            highest = numbers.into_iter().fold(highest, u32::max);
            let known = new.last_task_number(&BatchId::new("b001"), TaskKind::Harvest);
            prop_assert_eq!(known, highest);
            plans.push(new);
        }
    }
}
