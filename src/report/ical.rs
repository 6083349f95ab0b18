//! A plan's tasks as iCalendar files (RFC 5545, with names of RFC 7986).
//!
//! An event keeps its UID for good: term id, batch, kind and number of the task, and nothing that can
//! change. SEQUENCE and the time stamps come from what was published before: they change when the event
//! does, and only then, so that writing the same plan twice gives the same bytes. Work that is no longer
//! planned stays in the files, called off, until its day is past. There is no METHOD: these files are for
//! subscribing, and without METHOD a DTSTAMP is the time of the last revision (RFC 5545, 3.8.7.2).

mod event;
mod live;
mod serving;
mod text;

use super::words::site_name;
use crate::domain::ids::SiteId;
use crate::domain::odds::Odds;
use crate::domain::plan::Plan;
use crate::domain::published::{EventKind, Published, PublishedEvent, Tally};
use crate::domain::tasks::TaskKind;
use crate::domain::term::Term;
use crate::domain::units::Units;
use chrono::{DateTime, NaiveDate, Utc};
use ics::ICalendar;
use ics::components::Property;
use ics::properties::{Description, LastModified, Name, RefreshInterval, UID};
use live::Live;
pub use live::task_uid;
use std::collections::{BTreeMap, BTreeSet};

/// How often programs should look for changes. People plan anew in the evening and look in the morning.
/// What a calendar says it was written by.
pub const PRODUCT: &str = "-//Sowtide//Sowtide//EN";
const REFRESH: &str = "PT12H";

/// What people want in their calendars.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wishes<'a> {
    /// Units of masses and temperatures.
    pub units: Units,
    /// When to remind of each task, if at all.
    pub alarm: Option<Alarm>,
    /// Whether to have breaks and closures as events, too.
    pub breaks: bool,
    /// How sure the serving days are, to have them as events, too: as the plan was made, so that they do not change with every entry.
    pub serving: Option<&'a Odds>,
}

/// When a calendar reminds of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Alarm {
    /// Minutes after the day begins; negative before it.
    pub minutes: i32,
}

/// Calendar files, and what is published once they are written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Export {
    /// The files; none without events, because a calendar must hold one (RFC 5545, 3.6).
    pub calendars: Vec<Calendar>,
    /// To be remembered for the next export.
    pub published: Published,
    /// What changes for people.
    pub tally: Tally,
}

/// A calendar file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calendar {
    /// Name of its file, without folder and ending.
    pub stem: String,
    /// The whole text.
    pub text: String,
}

/// Whose events a file holds.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Scope {
    All,
    Site(SiteId),
    Kind(TaskKind),
    Serving,
}

/// Calendar files for all sites together, for each site, for each kind of work, and for serving days.
///
/// `before` is what earlier exports published. Where nobody remembers, events begin to count with the plan's
/// revision, which is as high as plans alone can have brought them.
pub fn export(
    term: &Term,
    plan: &Plan,
    before: Option<&Published>,
    wishes: &Wishes<'_>,
    (today, now): (NaiveDate, DateTime<Utc>),
) -> Export {
    let live = live::events(term, plan, wishes);
    let entries = live.iter().map(|event| event.entry.clone()).collect();
    let first_sequence = before.map_or(plan.revision.saturating_sub(1), |_| 0);
    let nothing = Published::default();
    let (published, tally) = before.unwrap_or(&nothing).after(entries, first_sequence, today, now);
    let shown = shown(&published, &live, today);
    let calendars =
        scopes(term, &shown).iter().filter_map(|scope| file(term, plan, scope, &shown, wishes)).collect();
    Export { calendars, published, tally }
}

/// An event and its text; none if it is called off.
type Shown<'a> = (&'a PublishedEvent, Option<&'a str>);

/// Every event that calendars must hold, by day.
fn shown<'a>(published: &'a Published, live: &'a [Live], today: NaiveDate) -> Vec<Shown<'a>> {
    let bodies: BTreeMap<&str, &str> =
        live.iter().map(|event| (event.entry.uid.as_str(), event.body.as_str())).collect();
    let mut shown: Vec<Shown> = published
        .events
        .values()
        .map(|event| (event, bodies.get(event.entry.uid.as_str()).copied()))
        .filter(|(event, body)| body.is_some() || event.is_called_off_on(today))
        .collect();
    shown.sort_by_key(|(event, _)| {
        let entry = &event.entry;
        (entry.days, &entry.sites, entry.kind, &entry.uid)
    });
    shown
}

/// The files to write; a site that left the term has one as long as work there is called off.
fn scopes(term: &Term, shown: &[Shown]) -> Vec<Scope> {
    let known = term.sites.iter().map(|site| site.id.clone());
    let mut sites: Vec<SiteId> = known.collect();
    let named: BTreeSet<&SiteId> = shown.iter().flat_map(|(event, _)| &event.entry.sites).collect();
    for site in named {
        if !sites.contains(site) {
            sites.push(site.clone());
        }
    }
    let kinds = [TaskKind::Sow, TaskKind::Transplant, TaskKind::Harvest];
    [Scope::All]
        .into_iter()
        .chain(sites.into_iter().map(Scope::Site))
        .chain(kinds.into_iter().map(Scope::Kind))
        .chain([Scope::Serving])
        .collect()
}

impl Scope {
    fn holds(&self, event: &PublishedEvent) -> bool {
        match self {
            Self::All => true,
            // Who works at a site wants to see work; serving days have a calendar of their own.
            Self::Site(site) => event.entry.kind != EventKind::Serving && event.entry.sites.contains(site),
            Self::Kind(kind) => event.entry.kind == EventKind::Task(*kind),
            Self::Serving => event.entry.kind == EventKind::Serving,
        }
    }

    fn stem(&self) -> String {
        match self {
            Self::All => "all-sites".to_owned(),
            Self::Site(site) => format!("site-{site}"),
            Self::Kind(TaskKind::Sow) => "sowing".to_owned(),
            Self::Kind(TaskKind::Transplant) => "transplanting".to_owned(),
            Self::Kind(TaskKind::Harvest) => "harvest".to_owned(),
            Self::Serving => "serving".to_owned(),
        }
    }

    fn name(&self, term: &Term) -> String {
        match self {
            Self::All => "all sites".to_owned(),
            Self::Site(site) => site_name(term, site).to_owned(),
            Self::Kind(_) | Self::Serving => self.stem(),
        }
    }
}

fn file(term: &Term, plan: &Plan, scope: &Scope, shown: &[Shown], wishes: &Wishes<'_>) -> Option<Calendar> {
    let events: Vec<&Shown> = shown.iter().filter(|(event, _)| scope.holds(event)).collect();
    let changed = events.iter().map(|(event, _)| event.changed).max()?;
    let mut calendar = ICalendar::new("2.0", PRODUCT);
    let name = text::calendar_name(&format!("Greens {} - {}", term.name, scope.name(term)));
    calendar.push(UID::new(live::uid(plan, &scope.stem())));
    calendar.push(LastModified::new(event::stamp(changed)));
    calendar.push(Name::new(name.clone()));
    // Older readers know the name, and how often to look, only by these properties.
    calendar.push(Property::new("X-WR-CALNAME", name));
    calendar.push(Description::new(text::escaped(&format!(
        "Greens to grow, {}: what to do when.",
        scope.name(term)
    ))));
    calendar.push(RefreshInterval::new(REFRESH));
    calendar.push(Property::new("X-PUBLISHED-TTL", REFRESH));
    for (event, body) in events {
        calendar.add_event(match body {
            Some(body) => event::standing(event, body, wishes),
            None => event::cancelled(event),
        });
    }
    Some(Calendar { stem: scope.stem(), text: text::refold(&calendar.to_string()) })
}
