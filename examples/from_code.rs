//! Planning a term and writing down what happened, from code, without a file on a disk.
//!
//! Run it with: `cargo run --example from_code`

use chrono::NaiveDate;
use sowtide::desk::{Desk, Draft, Moment, Search, Trouble};
use sowtide::domain::journal::What;
use sowtide::domain::units::Units;
use sowtide::files::store::Memory;
use sowtide::report::{Look, today};
use sowtide::schedule::Watch;

/// A term file, as it could stand in a folder.
const TERM: &str = include_str!("one-room/term.yaml");

fn main() -> Result<(), Trouble> {
    let store = Memory::new().with("term.yaml", TERM);
    let on = |day: NaiveDate| Desk { store: &store, moment: Moment::noon(day), face: &() };
    let start = on(NaiveDate::MIN).open()?.read.term.start;

    // Who asks decides how long to search, and is told how far the search is.
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 1 };
    let search = Search { seed: 1, effort: Some(50), until_stopped: false };
    let begun = on(start).begin_plan("0123456789abcdef", None)?;
    let mut plan = begun.seek(&search, &watch)?;
    begun.explain(&mut plan, &watch);
    let saved = on(start).finish_plan(&begun, &plan)?;

    // The first batch was sown on its day, with all of its plugs.
    let batch = &saved.plan().batches[0];
    let desk = on(batch.sown);
    let recorded = desk.record(|clerk| {
        let what = What::Sown { batch: batch.id.clone(), plugs: batch.plugs };
        let site = clerk.site_of_batch(&batch.id, None);
        Ok(vec![Draft { day: clerk.today, site, by: None, what, replaces: None }])
    })?;

    let look = Look { units: Units::Metric, width: 80, colour: false };
    let (opened, plan) = desk.open_planned()?;
    let now = sowtide::replan::state::state(&opened.read.term, &plan, &recorded.journal, batch.sown);
    print!("{}", today::list(&opened.read.term, &plan, &now, batch.sown, &look));
    Ok(())
}
