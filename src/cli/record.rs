//! `sowtide record`: writing down what really happened.

mod holes;
mod import;
mod places;
mod samples;
mod what;

pub(super) use what::name;

use super::failure::Failure;
use super::folder::Folder;
use super::screen::Screen;
use crate::desk::{Recorded, Trouble};
use crate::domain::journal::Entry;
use crate::domain::state::State;
use crate::replan::holes_meant;
use crate::replan::state::state;
use crate::replan::weighed::outlook;
use crate::report::words::counted;
use crate::report::{json, recorded};
use chrono::NaiveDate;
use clap::Args;
use what::What;

/// Write down what really happened: sowings, losses, harvests, lost class days ...
///
/// Entries go to journal.yaml beside the term file. They are only added, never changed: to correct one, record it again
/// with --replaces and its number; to take one back, use "withdraw". What cannot be true is refused, with the reason.
///
/// You need not record everything. Planned work that nobody recorded counts as done as planned, unless both earlier and
/// later work of the same kind was recorded at the same site.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
        sowtide record autumn sown --batch b002 --plugs 24\n  \
        sowtide record autumn harvested --batch b002 --way cut --plants 12 --mass \"480 g\"\n  \
        sowtide record autumn lost --batch b003 --in nursery --plants 5 --cause \"dried out\" --day 2026-10-05\n  \
        sowtide record autumn withdraw j007\n\n\
        Each of them explains itself: sowtide record harvested --help")]
pub(super) struct Record {
    #[command(flatten)]
    folder: Folder,
    #[command(subcommand)]
    what: What,
}

impl Record {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let desk = screen.desk(&files);
        let today = desk.moment.today;
        if let What::Import(import) = &self.what {
            let recorded = import.run(&desk)?;
            screen.remark(&format!("{} recorded", counted(recorded.entries.len() as u32, "entry")));
            return tell_list(&recorded, today, screen).map_err(|failure| but_recorded(failure, &recorded));
        }
        let recorded = desk.record(|clerk| self.what.drafts(clerk))?;
        if recorded.entries.len() > 1 {
            return tell_list(&recorded, today, screen).map_err(|failure| but_recorded(failure, &recorded));
        }
        tell(&recorded, today, screen).map_err(|failure| but_recorded(failure, &recorded))
    }
}

/// Who cannot read the result must not record it again.
fn but_recorded(failure: Failure, recorded: &Recorded) -> Failure {
    let ids: Vec<String> = recorded.entries.iter().map(|entry| entry.id.to_string()).collect();
    match failure {
        Failure::Trouble(Trouble::Told { what, help }) => {
            Failure::told(format!("{what}; but it is recorded, as {}", ids.join(", ")), help)
        }
        other => other,
    }
}

/// Tells an entry as recorded, and what it means.
fn tell(recorded: &Recorded, today: NaiveDate, screen: &Screen) -> Result<(), Failure> {
    let Recorded { entries, journal, term, plan, .. } = recorded;
    let now = State { outlook: outlook(term, plan, journal, today), ..state(term, plan, journal, today) };
    for entry in entries {
        screen.result(&if screen.json {
            json::journal(journal, &[entry])
        } else {
            let holes = holes_meant((term, plan), journal, entry, today);
            recorded::told(term, plan, journal, (entry, &holes), &now, &screen.look)
        })?;
    }
    point_on(recorded, today, screen);
    Ok(())
}

fn tell_list(recorded: &Recorded, today: NaiveDate, screen: &Screen) -> Result<(), Failure> {
    let Recorded { entries, journal, term, .. } = recorded;
    let entries: Vec<&Entry> = entries.iter().collect();
    screen.result(&if screen.json {
        json::journal(journal, &entries)
    } else {
        crate::report::journal::table(term, journal, &entries, &screen.look)
    })?;
    point_on(recorded, today, screen);
    Ok(())
}

/// Says what to look at again. Where something is amiss, or went wrong that the plan has no answer to, says what to do about it.
fn point_on(recorded: &Recorded, today: NaiveDate, screen: &Screen) {
    for told in recorded.remarks(today, &screen.look) {
        screen.remark(screen.look.wrap(&told).trim_end());
    }
    if recorded.upset {
        screen.remark("To plan around it: sowtide replan (with --try it only shows what would change)");
    }
}
