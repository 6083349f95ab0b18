//! Many entries at once, such as the lines of a spreadsheet.

use super::said::Said;
use super::{Known, can_be, impossible_before, refusal_of};
use crate::domain::journal::{Entry, EntryId, Journal};
use crate::replan::refusal::Refusal;
use std::collections::BTreeSet;

/// Most entries named that do not fit with the rest; each takes several replays to find, and they often have one cause.
const MOST_NAMED: usize = 20;

/// Whether all `entries`, new ones in the order of their numbers that replace nothing, can be added to the journal
/// together. The answer is as if each were accepted after those before it, except that a contradiction which a later entry
/// resolves is none.
///
/// # Errors
/// The entries that cannot be true, each by its number with the reason, as far as twenty that do not fit with the rest.
pub fn accept_all(known: &Known<'_>, entries: &[Entry]) -> Result<(), Vec<(EntryId, Refusal)>> {
    let mut said = Said::by(known.journal);
    let mut refused = Vec::new();
    let mut sound = Vec::new();
    for entry in entries {
        match can_be(known, &said, entry) {
            Ok(()) => {
                said.add(entry);
                sound.push(entry);
            }
            Err(refusal) => refused.push((entry.id, refusal)),
        }
    }
    refused.extend(misfits(known, &sound));
    refused.sort_by_key(|(id, _)| *id);
    if refused.is_empty() { Ok(()) } else { Err(refused) }
}

/// Entries that do not fit with those before them.
fn misfits(known: &Known<'_>, entries: &[&Entry]) -> Vec<(EntryId, Refusal)> {
    let before = impossible_before(known);
    let mut found = Vec::new();
    let mut journal = known.journal.clone();
    let mut rest = entries;
    while let Some((fitting, refusal)) = first_misfit(known, &before, &journal, rest) {
        for entry in &rest[..fitting] {
            journal.push((*entry).clone());
        }
        found.push((rest[fitting].id, refusal));
        if found.len() == MOST_NAMED {
            break;
        }
        rest = &rest[fitting + 1..];
    }
    found
}

/// An entry that does not fit with those before it, which do: how many these are, and why not. Found by halves, so that
/// few replays are needed.
fn first_misfit(
    known: &Known<'_>,
    before: &BTreeSet<EntryId>,
    journal: &Journal,
    entries: &[&Entry],
) -> Option<(usize, Refusal)> {
    let why_not = |count: usize| {
        let mut with = journal.clone();
        for entry in &entries[..count] {
            with.push((*entry).clone());
        }
        refusal_of(known, before, &with, entries.get(count.checked_sub(1)?)?.id)
    };
    let (mut fits, mut fails) = (0, entries.len());
    let mut refusal = why_not(fails)?;
    while fails - fits > 1 {
        let middle = fits + (fails - fits) / 2;
        match why_not(middle) {
            Some(reason) => (fails, refusal) = (middle, reason),
            None => fits = middle,
        }
    }
    Some((fits, refusal))
}
