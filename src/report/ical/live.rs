//! What the events of a term say: one for each task of the plan, and one for each break and serving day if wanted.

use super::Wishes;
use super::text::clean;
use crate::domain::calendar::{DateSpan, DaysOff, DaysOffKind};
use crate::domain::ids::SiteId;
use crate::domain::plan::Plan;
use crate::domain::published::{Entry, EventKind};
use crate::domain::tasks::{Task, tasks};
use crate::domain::term::Term;
use crate::report::instructions;
use crate::report::look::Look;
use crate::report::words::{and, site_name};
use siphasher::sip::SipHasher24;
use std::collections::BTreeMap;

/// An event with all it says.
#[derive(Debug)]
pub(super) struct Live {
    pub(super) entry: Entry,
    pub(super) body: String,
}

/// Every event of the term, each UID once.
pub(super) fn events(term: &Term, plan: &Plan, wishes: &Wishes<'_>) -> Vec<Live> {
    let mut all: Vec<Live> =
        tasks(term, plan).iter().map(|task| task_event(term, plan, task, wishes)).collect();
    if wishes.breaks {
        all.extend(days_off(term, plan, wishes));
    }
    if let Some(odds) = wishes.serving {
        all.extend(super::serving::days(term, plan, odds, wishes));
    }
    all
}

fn task_event(term: &Term, plan: &Plan, task: &Task, wishes: &Wishes<'_>) -> Live {
    let look = Look { units: wishes.units, width: usize::MAX, colour: false };
    finish(
        Entry {
            uid: task_uid(plan, task),
            kind: EventKind::Task(task.kind),
            sites: vec![task.batch.site.clone()],
            days: DateSpan { first: task.date, last: task.date },
            title: instructions::title(term, task),
            place: site_name(term, &task.batch.site).to_owned(),
            fingerprint: 0,
        },
        &instructions::body(term, plan, task, &look),
        wishes,
    )
}

/// Identifies a task in every calendar, whatever becomes of its day, its size and its neighbours.
pub fn task_uid(plan: &Plan, task: &Task) -> String {
    uid(plan, &format!("{}-{}-{}", task.batch.id, task.kind, task.number))
}

/// Breaks and closures within the term; what several sites share is one event.
fn days_off(term: &Term, plan: &Plan, wishes: &Wishes<'_>) -> Vec<Live> {
    let mut shared: BTreeMap<(&str, bool, DateSpan), Vec<SiteId>> = BTreeMap::new();
    for site in &term.sites {
        for off in site.days_off.iter().filter(|off| meets(off, term)) {
            let sites = shared.entry((&off.name, off.kind == DaysOffKind::Break, off.span)).or_default();
            if !sites.contains(&site.id) {
                sites.push(site.id.clone());
            }
        }
    }
    // A break that moves keeps its name and so its UID; where several have one name, their order decides.
    let mut numbers: BTreeMap<(&str, bool), u32> = BTreeMap::new();
    let mut all = Vec::new();
    for ((name, is_break, span), mut sites) in shared {
        sites.sort();
        let number = numbers.entry((name, is_break)).or_insert(0);
        *number += 1;
        all.push(day_off_event(term, plan, wishes, (name, is_break, *number), span, sites));
    }
    all
}

fn meets(off: &DaysOff, term: &Term) -> bool {
    off.span.first <= term.end && term.start <= off.span.last
}

fn day_off_event(
    term: &Term,
    plan: &Plan,
    wishes: &Wishes<'_>,
    (name, is_break, number): (&str, bool, u32),
    days: DateSpan,
    sites: Vec<SiteId>,
) -> Live {
    let everywhere = term.sites.iter().all(|site| sites.contains(&site.id));
    let names: Vec<String> = sites.iter().map(|site| site_name(term, site).to_owned()).collect();
    let (word, kind, title, body) = if is_break {
        let body = "No classes, and nothing is served. Work is only done where a task says so.";
        ("break", EventKind::Break, format!("Break: {name}"), body)
    } else {
        (
            "closure",
            EventKind::Closure,
            format!("No class: {name}"),
            "No classes. Work is only done where a task says so.",
        )
    };
    let digest = SipHasher24::new_with_keys(0, 0).hash(name.as_bytes());
    finish(
        Entry {
            uid: uid(plan, &format!("{word}-{digest:016x}-{number}")),
            kind,
            sites,
            days,
            title,
            place: if everywhere { String::new() } else { and(&names) },
            fingerprint: 0,
        },
        body,
        wishes,
    )
}

/// A UID of this term. A plan edited by hand must not be able to begin a line of its own.
pub(super) fn uid(plan: &Plan, of_event: &str) -> String {
    format!("{}-{of_event}", plan.term_id).chars().filter(|c| !c.is_control()).collect()
}

/// Cleans the texts and takes the fingerprint of all that a calendar will show.
pub(super) fn finish(entry: Entry, body: &str, wishes: &Wishes<'_>) -> Live {
    let mut entry = Entry { title: clean(&entry.title), place: clean(&entry.place), ..entry };
    let body = clean(body);
    let alarm = match wishes.alarm {
        Some(alarm) if matches!(entry.kind, EventKind::Task(_)) => super::event::trigger(alarm),
        _ => String::new(),
    };
    let days = format!("{} {}", entry.days.first, entry.days.last);
    entry.fingerprint =
        fingerprint(&[super::event::category(entry.kind), &days, &entry.title, &body, &entry.place, &alarm]);
    Live { entry, body }
}

/// The same for the same texts on every machine and in every version; lengths keep neighbours apart.
fn fingerprint(texts: &[&str]) -> u64 {
    let mut bytes = Vec::new();
    for text in texts {
        bytes.extend((text.len() as u64).to_le_bytes());
        bytes.extend(text.as_bytes());
    }
    SipHasher24::new_with_keys(0, 0).hash(&bytes)
}

#[cfg(test)]
mod tests {
    use super::fingerprint;

    /// Files in people's folders hold fingerprints; if one of these changes, every event in their calendars
    /// would count as changed.
    #[test]
    fn fingerprints_never_change() {
        assert_eq!(fingerprint(&["Sow", "Grüße 🌱"]), 4_204_367_391_028_285_348);
        assert_ne!(fingerprint(&["ab", "c"]), fingerprint(&["a", "bc"]));
    }
}
