//! `term.yaml` to [`Term`]: the calendar, the sites, the target, the crops wanted and the rules.
//!
//! Every mistake of the file is noted where it stands; only what depends on a mistaken value is left
//! unchecked. One module a part of the file, `sense` for what only shows when the parts meet.

mod arrivals;
mod calendar;
mod crops;
mod named;
mod only_in;
mod rooms;
mod rules;
mod sense;
mod sites;
mod standing;
mod supplies;
mod tanks;
mod target;
#[cfg(test)]
mod tests;

use super::library::{self, Library};
use super::problem::{Problem, Problems, TextFile};
use super::reading::{Entries, Reading};
use super::remark::Remark;
use super::store::Store;
use super::tree;
use crate::domain::term::Term;
pub(in crate::files) use standing::can_be_harvested;

/// Name of the file within a term's folder.
pub const FILE_NAME: &str = "term.yaml";

const KEYS: [&str; 15] = [
    "format",
    "name",
    "start",
    "end",
    "next-term-starts",
    "breaks",
    "closures",
    "import",
    "sites",
    "target",
    "crops",
    "rules",
    "standing",
    "arrivals",
    "supplies",
];

/// A term as it was read.
#[derive(Debug, Clone)]
pub struct ReadTerm {
    /// The term, complete and checked.
    pub term: Term,
    /// The crop library, with the term's own entries laid over it.
    pub library: Library,
    /// What is worth telling but no mistake: days off taken and left, serving days that fall away.
    pub remarks: Vec<Remark>,
}

/// Reads `term.yaml`, own crops in the folder `crops` beside it, and calendar files it names.
///
/// # Errors
/// All mistakes found, with their places.
pub fn read(store: &dyn Store) -> Result<ReadTerm, Problems> {
    let file = text(store)?;
    let library = Library::builtin()?;
    match library.clone().overlay(store) {
        Ok(library) => read_text(&file, store, library, &[]),
        Err(problems) => {
            // The rest is checked all the same. A crop that is missing only because its own file
            // has a mistake is not complained about a second time.
            let own = library::own_ids(store);
            let mut all = problems.into_vec();
            if let Err(others) = read_text(&file, store, library, &own) {
                all.extend(others.into_vec().into_iter().filter(|other| other.message() != INCOMPLETE));
            }
            Problems::check(all)?;
            Err(file.whole_problem("the crops cannot be read", "check the crops folder").alone())
        }
    }
}

/// Whether there is a term at all.
///
/// # Errors
/// If there is none, or its file cannot be read.
pub fn exists(store: &dyn Store) -> Result<(), Problems> {
    text(store).map(drop)
}

fn text(store: &dyn Store) -> Result<TextFile, Problems> {
    TextFile::read(store, FILE_NAME)?.ok_or_else(|| {
        let help = match misnamed(store) {
            Some(name) => format!("rename {name} to {FILE_NAME}"),
            None => "name the folder of a term, or start one with: sowtide new FOLDER".to_owned(),
        };
        Problem::without_text(store.shown(FILE_NAME), "there is no term here", help).alone()
    })
}

/// A file in the folder that must be the term's, but has another ending.
fn misnamed(store: &dyn Store) -> Option<&'static str> {
    let names = store.names("").unwrap_or_default();
    let slips = ["term.yml", "term.yaml.txt", "term.yml.txt", "term.txt"];
    slips.into_iter().find(|slip| names.iter().any(|name| name == slip))
}

/// Said of a term that misses something although no mistake was found.
const INCOMPLETE: &str = "the term is incomplete";

fn read_text(
    file: &TextFile,
    store: &dyn Store,
    library: Library,
    unreadable_crops: &[String],
) -> Result<ReadTerm, Problems> {
    let root = tree::parse(file).map_err(Problem::alone)?;
    let mut reading = Reading::new(file);
    let term = reading
        .map(&root, &KEYS)
        .and_then(|entries| read_parts(&mut reading, &entries, store, &library, unreadable_crops));
    let remarks = reading.finish()?;
    match term {
        Some(term) => Ok(ReadTerm { term, library, remarks }),
        None => Err(file.whole_problem(INCOMPLETE, "compare with the examples").alone()),
    }
}

fn read_parts(
    reading: &mut Reading,
    entries: &Entries<'_>,
    store: &dyn Store,
    library: &Library,
    unreadable_crops: &[String],
) -> Option<Term> {
    check_format(reading, entries);
    let name = reading.need(entries, "name", "name: Autumn term").and_then(|node| reading.name(node));
    let (span, ahead) = calendar::term_span(reading, entries).unzip();
    let ahead = ahead.flatten();
    let mut shared = calendar::days_off(reading, entries, span, store, "");
    shared.extend(ahead.and_then(calendar::between));
    shared.sort_by_key(|off| off.days.span);
    let sites = sites::read(reading, entries, (span, &shared), store, (library, unreadable_crops));
    let crops = crops::read(reading, entries, sites.as_deref(), library, unreadable_crops);
    let target = target::read(reading, entries, span, &shared, sites.as_deref());
    let rules = rules::read(reading, entries);
    let around = standing::Around { term: span, sites: sites.as_deref(), crops: crops.as_deref() };
    let standing = standing::read(reading, entries, around);
    let arrivals = arrivals::read(reading, entries, around);
    let supplies = supplies::read(reading, entries, crops.as_deref());
    let target = target?;
    let parts = sense::Parts {
        entries,
        span: span?,
        sites: &sites?,
        crops: &crops?,
        servings: &target.servings,
        rules: &rules?,
        standing: &standing?,
    };
    sense::check(reading, &parts);
    Some(Term {
        name: name?,
        start: parts.span.first,
        end: parts.span.last,
        ahead,
        sites: parts.sites.to_vec(),
        servings: parts.servings.clone(),
        crops: parts.crops.iter().map(|draft| draft.wanted.clone()).collect(),
        rules: parts.rules.clone(),
        standing: parts.standing.clone(),
        arrivals: arrivals?,
        put_off: Vec::new(),
        supplies: supplies?,
        serving_grams: target.serving_grams,
    })
}

fn check_format(reading: &mut Reading, entries: &Entries<'_>) {
    let Some(node) = reading.need(entries, "format", "format: 1") else {
        return;
    };
    if reading.text(node).is_some_and(|text| text != "1") {
        let help = "write format: 1, or use a newer Sowtide if the file was made with one";
        reading.note(&node.span, "this format of term file is not known", help);
    }
}
