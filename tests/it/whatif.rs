//! What one thing more would bring.

use crate::replan::planned;
use crate::steady;
use crate::support::any::any_term;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{cutter, figure};
use crate::support::few;
use chrono::{DateTime, Datelike, Weekday};
use proptest::prelude::*;
use sowtide::domain::crop::Variation;
use sowtide::domain::ids::{SiteId, TankId};
use sowtide::domain::luck::Trouble;
use sowtide::domain::term::{Arrival, Location, Term};
use sowtide::domain::whatif::{Idea, Tried, WhatIf};
use sowtide::files::library::Library;
use sowtide::insight::odds::Luck;
use sowtide::insight::whatif::what_if;
use sowtide::schedule::{Options, Watch};
use std::collections::BTreeSet;

fn tried(term: &Term, effort: u64) -> WhatIf {
    let options = Options {
        seed: 1,
        effort: Some(effort),
        until_stopped: false,
        term_id: String::new(),
        made: DateTime::UNIX_EPOCH,
    };
    let luck = Luck { runs: 100, seed: 1, threads: 1, trouble: Trouble { suffers: 0.0, lost: 0.0 } };
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    let library = Library::builtin().unwrap();
    what_if(term, library.iter().take(1), &options, luck, &watch).unwrap().unwrap()
}

/// The published lettuce schedule of [`steady`], without luck: by Little's law four batches of 40 heads stand at a time, so that
/// 159 holes cost two heads in the term, and as many again cost none.
#[test]
fn one_tank_more_mends_what_littles_law_says_is_missing() {
    let mut term = steady::term(3, 53);
    let lettuce = &mut term.crops[0].crop;
    lettuce.germination = figure(1.0);
    lettuce.variation = figure(Variation { between_plants: 0.0, between_batches: 0.0, days: 0.0 });
    // Crops that are bound to the tank may go into one like it, too.
    let pond = Location { site: SiteId::new("hall"), tank: Some(TankId::new("pond")) };
    term.crops[0].only_in = vec![pond];
    let found = tried(&term, 300);
    assert!(found.luck.abs() < 1e-3, "{found:#?}");
    let of_tank = found.tried.iter().find(|tried| matches!(tried.idea, Idea::Tank { .. })).unwrap();
    assert!((found.gain(of_tank) - 2.0 * steady::HEAD_GRAMS).abs() < 1e-3, "{found:#?}");
    assert!(found.is_of_use(of_tank));
    let of_cells = found.tried.iter().find(|tried| matches!(tried.idea, Idea::Cells { .. })).unwrap();
    assert!(found.gain(of_cells).abs() < 1e-3 && !found.is_of_use(of_cells));
}

/// Every kind of change is tried where it makes sense, and none where it does not.
#[test]
fn what_makes_sense_is_tried() {
    use Weekday::{Fri, Mon, Thu, Tue, Wed};
    let term = |promise: f64, days: &[Weekday]| {
        let hall = site("hall").meets(days).tank(tank("a", 2, 3)).tank(tank("b", 1, 3));
        let term = TermBuilder::default().weeks(8).site(hall).crop(wanted(cutter("rocket")));
        let mut term = term.serves(Fri, 100.0).build();
        term.promise(promise);
        term
    };
    let kinds = |found: &WhatIf| -> BTreeSet<String> {
        let name = |idea: &Idea| format!("{idea:?}").split(' ').next().unwrap_or_default().to_owned();
        found.tried.iter().map(|tried| name(&tried.idea)).collect()
    };
    let found = tried(&term(0.8, &[Tue, Thu]), 1);
    let all = kinds(&found);
    for kind in ["Tank", "Cells", "ClassDay", "Crop", "Bought", "Keeps", "LessSure"] {
        assert!(all.contains(kind), "{kind} of {all:?}");
    }
    assert!(!all.contains("ComeIn"), "there is no break");
    let like = found.tried.iter().find_map(|tried| match &tried.idea {
        Idea::Tank { like, .. } => Some(like.as_str()),
        _ => None,
    });
    assert_eq!(like, Some("a"), "the larger of the two");
    let mut large = term(0.8, &[Tue, Thu]);
    (large.rules.smallest_batch, large.rules.handful) = (6, 4);
    let smaller = |tried: &Tried| tried.idea == Idea::SmallerBatches { from: 6, to: 4 };
    assert!(tried(&large, 1).tried.iter().any(smaller));
    large.rules.handful = 6;
    assert!(
        !kinds(&tried(&large, 1)).contains("SmallerBatches"),
        "batches are as small as a handful already"
    );
    assert!(found.tried.is_sorted_by(|one, other| found.gain(one) >= found.gain(other)));
    let mut full = term(0.0, &[Mon, Tue, Wed, Thu, Fri]);
    let (site, date) = (full.sites[0].id.clone(), full.sites[0].class_days[0]);
    let crop = full.crops[0].crop.id.clone();
    full.arrivals.push(Arrival { crop, site, date, days: 14, plants: 9, price: None });
    let all = kinds(&tried(&full, 1));
    assert!(!all.contains("Bought"), "such are on offer already");
    assert!(!all.contains("LessSure"), "nothing is promised");
    assert!(!all.contains("ClassDay"), "no weekday is left");
}

#[test]
fn somebody_comes_in_on_a_weekday_within_the_break() {
    let term = crate::sample::term();
    let found = tried(&term, 1);
    let days = found.tried.iter().find_map(|tried| match &tried.idea {
        Idea::ComeIn { days } => Some(days.clone()),
        _ => None,
    });
    let days = days.unwrap();
    assert!(!days.is_empty());
    for (id, date) in days {
        let site = term.site(&id).unwrap();
        assert!(site.days_off.iter().any(|off| off.span.contains(date)), "{id} {date}");
        assert!(!site.class_days.contains(&date) && date.weekday().num_days_from_monday() < 5, "{date}");
    }
}

proptest! {
    #![proptest_config(few(3))]

    /// Whatever can be planned can be planned with every change, too.
    #[test]
    fn every_change_of_any_term_can_be_planned(term in any_term()) {
        if planned(&term).is_some() {
            let found = tried(&term, 1);
            prop_assert_eq!(found.untried.len(), 0);
            prop_assert!(found.tried.iter().all(|tried| tried.outcome.missing >= 0.0));
        }
    }
}
