//! A steady rhythm of sowings.

use super::plan::{CUTS, HEADS, LATE_HEADS};
use super::{after, last_harvest, only};
use crate::support::day;
use sowtide::check::{Rule, Violation};
use sowtide::domain::calendar::DateSpan;
use sowtide::domain::ids::BatchId;
use sowtide::domain::plan::{Origin, Plan};
use sowtide::domain::term::{Rhythm, Term};

/// The second heads are sown three weeks after the first, and as old as may be when they are pulled.
fn three_weeks_later(term: &mut Term, plan: &mut Plan, every: u32) {
    term.rules.rhythm = Rhythm::Steady { every };
    plan.batches[LATE_HEADS].sown = day("2026-09-28");
    last_harvest(plan, LATE_HEADS).arithmetic.days = 45;
}

const TOO_FEW: &str = "which is no rhythm";

/// What is found besides too few sowings, of which the plan has two.
fn beside_few(found: &[Violation]) -> Vec<String> {
    found.iter().map(ToString::to_string).filter(|found| !found.contains(TOO_FEW)).collect()
}

#[test]
fn sowings_in_rhythm() {
    assert_eq!(beside_few(&after(|term, plan| three_weeks_later(term, plan, 3))), [""; 0]);
    only(
        Rule::Rhythm,
        "Thu 1 Oct 2026, site hall, batch oakleaf-2: oakleaf is sown here every week",
        |term, _| {
            term.rules.rhythm = Rhythm::Steady { every: 1 };
        },
    );
    only(Rule::Rhythm, "every 2 weeks from Mon 7 Sep 2026 on, so not 21 days later", |term, plan| {
        three_weeks_later(term, plan, 2);
    });
    let missing = "Mon 14 Sep 2026, site hall, batch oakleaf-1: oakleaf is sown here every week from Mon 7 Sep 2026 to Mon \
                   28 Sep 2026, but not on this day";
    only(Rule::Rhythm, missing, |term, plan| three_weeks_later(term, plan, 1));
    only(Rule::Rhythm, "11 plugs of oakleaf are sown, but 10 on Mon 7 Sep 2026", |term, plan| {
        three_weeks_later(term, plan, 3);
        plan.batches[LATE_HEADS].plugs = 11;
    });
    assert_eq!(told(1, "2026-09-07", |_, _| {}), ["2026-09-07"], "twice on a day");
    let again = |_: &mut Term, plan: &mut Plan| {
        let mut batch = plan.batches[LATE_HEADS].clone();
        batch.id = BatchId::new("oakleaf-3");
        plan.batches.push(batch);
    };
    assert_eq!(told(3, "2026-09-28", again), ["2026-09-28"], "twice on a later day");
    let in_cups = |_: &mut Term, plan: &mut Plan| plan.batches[HEADS].origin = Origin::InCups;
    assert_eq!(told(3, "2026-09-28", in_cups), ["2026-09-28"], "otherwise");
}

/// One series of heads, one of cuts.
#[test]
fn each_series_costs_when_it_begins() {
    let costs = |again: Option<&str>, begun: f64| {
        let found = after(|term, plan| {
            three_weeks_later(term, plan, 3);
            term.rules.weights.series = 7.0;
            plan.facts.cost += 7.0 * begun;
            if again.is_some() {
                (plan.facts.cost_bound, plan.facts.short_bound_grams) = (None, None);
            }
            plan.replanned = again.map(day);
        });
        beside_few(&found)
    };
    assert_eq!(costs(None, 2.0), [""; 0]);
    assert_eq!(costs(Some("2026-09-08"), 1.0), [""; 0], "what was begun before goes on");
    assert_eq!(costs(Some("2026-10-15"), 0.0), [""; 0], "nothing more is sown");
}

#[test]
fn a_rhythm_goes_on() {
    let few = |every: u32, change: &dyn Fn(&mut Term, &mut Plan)| {
        let found = after(|term, plan| {
            three_weeks_later(term, plan, every);
            term.rules.smallest_batch = 1;
            change(term, plan);
        });
        let few = found.iter().map(ToString::to_string).filter(|found| found.contains(TOO_FEW));
        few.map(|found| found.split(" here ").nth(1).unwrap().to_owned()).collect::<Vec<_>>()
    };
    let rest = "which is no rhythm; sow it 3 times every 3 weeks, or not at all, or make rhythm under \"rules:\" free";
    // Heads could follow on 9 November; chard, sown on 10 September, on 1 October and 22 October and later.
    assert_eq!(few(3, &|_, _| {}), [format!("only 2 times, {rest}"), format!("only once, {rest}")]);
    let large = few(3, &|term, _| term.rules.smallest_batch = 6);
    assert_eq!(
        large,
        [format!("only 2 times, {rest}")],
        "six chard fill the room, so one sowing of them will do"
    );
    // They would be ripe after the last day that is served, and chard of 22 October, too; that of 1 October has 10 September.
    let sooner = |term: &mut Term| term.servings.retain(|serving| serving.date <= day("2026-11-12"));
    let once = "only once, which is no rhythm; sow it 2 times every 3 weeks";
    let from_september = few(3, &|term, _| sooner(term));
    assert!(matches!(&from_september[..], [chard] if chard.starts_with(once)), "{from_september:?}");
    let from_october = few(3, &|term, plan| {
        sooner(term);
        plan.batches[CUTS].sown = day("2026-10-01");
    });
    assert!(matches!(&from_october[..], [chard] if chard.starts_with(once)), "{from_october:?}");
    assert_eq!(
        few(3, &|_, plan| plan.replanned = Some(day("2026-09-08"))),
        [""; 0],
        "what is left may be single"
    );
}

/// Days out of rhythm if the second heads are sown on a day, whatever else is then wrong.
fn told(every: u32, sown: &str, change: impl FnOnce(&mut Term, &mut Plan)) -> Vec<String> {
    let found = after(|term, plan| {
        term.rules.rhythm = Rhythm::Steady { every };
        plan.batches[LATE_HEADS].sown = day(sown);
        change(term, plan);
    });
    let rhythm = found.iter().filter(|violation| violation.rule == Rule::Rhythm);
    let others = rhythm.filter(|violation| !violation.message.contains(TOO_FEW));
    others.map(|violation| violation.date.unwrap().to_string()).collect()
}

#[test]
fn days_on_which_nothing_can_be_sown_are_left_out() {
    // On 19 October seedlings would be left alone over the break, on 26 October nobody is there.
    let all = ["2026-09-14", "2026-09-21", "2026-09-28", "2026-10-05", "2026-10-12"];
    assert_eq!(told(1, "2026-11-02", |_, _| {}), all);
    assert_eq!(told(2, "2026-11-02", |_, _| {}), [all[1], all[3]]);
    assert_eq!(told(8, "2026-11-02", |_, _| {}), [""; 0]);
    // Who can wait longer in the nursery can be sown.
    let patient = |term: &mut Term, _: &mut Plan| term.sites[0].nursery.unattended_days = 11;
    assert_eq!(told(4, "2026-11-30", patient), ["2026-10-05", "2026-11-02"]);
    assert_eq!(told(6, "2026-11-30", patient), ["2026-10-19"]);
    assert_eq!(told(6, "2026-11-30", |_, _| {}), [""; 0]);
    // Heads of 23 November would be ripe after the term, and those of 16 November after the last day that is served.
    let late = |every| told(every, "2026-12-14", |_, _| {});
    assert_eq!(late(7), [""; 0]);
    assert_eq!(late(1).last().unwrap(), "2026-11-16");
    let soon = |term: &mut Term, _: &mut Plan| {
        term.servings.pop();
    };
    assert_eq!(told(1, "2026-12-14", soon).last().unwrap(), "2026-11-09");
    // Nothing can be moved to a tank that is out of use.
    let out = |term: &mut Term, _: &mut Plan| {
        term.sites[0].tanks[0].out = vec![DateSpan { first: day("2026-09-24"), last: day("2026-10-10") }];
    };
    assert_eq!(told(1, "2026-09-28", out), ["2026-09-21"]);
}

#[test]
fn what_grew_before_the_plan_has_no_part_in_the_rhythm() {
    let since = |replanned| told(2, "2026-10-01", |_, plan| plan.replanned = Some(day(replanned)));
    assert_eq!(since("2026-09-07"), ["2026-09-21", "2026-10-01"]);
    assert_eq!(since("2026-09-08"), [""; 0]);
}
