//! A term file that goes on from another: its text with what must change changed, and all else as its teacher wrote it.
//!
//! Text is changed by small edits at the places that the parser tells. As no such edit can foresee everything that YAML
//! allows, the outcome is read by the ordinary reader, in memory, and compared with the term it comes from: if it is
//! unreadable, or says anything else than it should, there is no new term.

mod dates;
mod edits;
mod flow;
mod stock;
#[cfg(test)]
mod tests;
mod written;

use super::library;
use super::problem::{Problem, Problems, TextFile};
use super::store::{Memory, Store};
use super::term_file::{self, FILE_NAME, ReadTerm};
use super::tree::{self, Content, Node};
use crate::domain::calendar::DateSpan;
use crate::domain::leftover::Leftover;
use crate::domain::site::Site;
use crate::domain::supplies::{SeedAmount, Supplies};
use crate::domain::term::{Standing, Term};
pub use dates::Dates;
use dates::{Terms, entry, items};
use edits::Edits;
use std::path::{Component, Path};
pub use stock::seed_amount;

/// What is carried over to the next term, besides what the file says.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// First and last day of the next term, after the one before.
    pub span: DateSpan,
    /// Its name, if it is not that of the one before.
    pub name: Option<String>,
    /// What stands at the end of the term before.
    pub standing: Vec<Standing>,
    /// What is left in store, if that is known.
    pub leftover: Option<Leftover>,
    /// Remarks for the head of the file, each on one line.
    pub head: Vec<String>,
    /// Remarks for the supplies, each on one line.
    pub supplies: Vec<String>,
    /// Remarks for the end of the file, to be kept for good; each on one line.
    pub notes: Vec<String>,
}

/// A next term.
#[derive(Debug, Clone)]
pub struct NextTerm {
    /// Its files by name: the term's own crops, calendars of days off and, last, the term file.
    pub files: Vec<(String, Vec<u8>)>,
    /// The term, as it is read from them.
    pub read: ReadTerm,
    /// What became of the dates.
    pub dates: Dates,
    /// What stands at the end of the term before, but cannot be harvested in this one.
    pub cleared: Vec<Standing>,
}

/// Why there is no next term.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unmade {
    /// The file of the term before cannot be read, or not be changed.
    Before(Problems),
    /// The new file would not be read. Its lines are shown, as it is not written.
    Next(Problems),
}

impl From<Problems> for Unmade {
    fn from(problems: Problems) -> Self {
        Self::Before(problems)
    }
}

/// Makes the files of a term that goes on from the one in `store`, whose file says `old`. Nothing is written.
///
/// # Errors
/// If the file cannot be read, something in it is written so that it cannot be changed, with its place, or the outcome would
/// not be the term that is meant.
pub fn make(store: &dyn Store, old: &Term, carried: &Carried) -> Result<NextTerm, Unmade> {
    let file = TextFile::need(store, FILE_NAME)?;
    let root = tree::parse(&file).map_err(Problem::alone)?;
    refuse_files_elsewhere(&file, &root)?;
    let others = other_files(store, &root)?;
    let read = |text: &str| {
        let memory = Memory::new().with(FILE_NAME, text);
        for (name, bytes) in &others {
            // Memory takes everything.
            let _ = memory.write(name, bytes);
        }
        term_file::read(&memory).map_err(Unmade::Next)
    };
    // First without what stands, to learn the class days on which it could be harvested.
    let (text, _) = text(&file, &root, old, &Carried { standing: Vec::new(), ..carried.clone() }, &[])
        .map_err(Problem::alone)?;
    let class_days = read(&text)?.term;
    let (standing, cleared): (Vec<Standing>, Vec<Standing>) = carried
        .standing
        .iter()
        .cloned()
        .partition(|standing| term_file::can_be_harvested(standing, &class_days));
    let carried = Carried { standing, ..carried.clone() };
    let (text, dates) = self::text(&file, &root, old, &carried, &cleared).map_err(Problem::alone)?;
    let read = read(&text)?;
    if let Some(differs) = differs(old, &read.term, &carried) {
        let title = format!("a term that goes on from this file would say something else of {differs}");
        let help = "write out in full what is said by & and *, and each key on a line of its own; nothing was written";
        return Err(file.whole_problem(title, help).alone().into());
    }
    let own = others.into_iter().filter(|(name, _)| lies_within(name));
    let files = own.chain([(FILE_NAME.to_owned(), text.into_bytes())]).collect();
    Ok(NextTerm { files, read, dates, cleared })
}

/// The text of the next term's file.
fn text(
    file: &TextFile,
    root: &Node,
    old: &Term,
    carried: &Carried,
    cleared: &[Standing],
) -> Result<(String, Dates), Problem> {
    if flow::is_flow(file.text(), root.span.start) {
        let help = "write format, name, sites and so on as keys of their own, each on a line, without braces around all";
        return Err(file.problem(
            root.span.clone(),
            "this file is written in braces and cannot be changed",
            help,
        ));
    }
    let mut edits = Edits::of(file);
    let span = DateSpan { first: old.start, last: old.own_end() };
    let dates = dates::carry_on(&mut edits, root, Terms { old: span, new: carried.span })?;
    if let Some(name) = &carried.name {
        edits.set(root, "name", &written::quoted(name))?;
    }
    if let Some(leftover) = &carried.leftover {
        stock::set(&mut edits, root, leftover)?;
        if let Some((key, _)) = entry(root, "supplies") {
            edits.remark_before(key.span.start, &carried.supplies);
        }
    }
    if let Content::Map(entries) = &root.content
        && let Some((first, _)) = entries.first()
    {
        edits.remark_before(first.span.start, &carried.head);
    }
    let mut standing = written::standing(&carried.standing);
    for batch in cleared {
        standing.push_str(&written::cleared(batch, old));
    }
    let notes: Vec<String> = carried.notes.iter().map(|note| format!("# {note}\n")).collect();
    let notes = apart(&notes.concat());
    match entry(root, "standing") {
        Some((key, _)) => {
            edits.supersede(key, &standing, "What stood when the term before began:")?;
            edits.append(&notes);
        }
        None => edits.append(&format!("{}{notes}", apart(&standing))),
    }
    Ok((edits.finish()?, dates))
}

/// Text with a blank line before it, if it is any.
fn apart(text: &str) -> String {
    if text.is_empty() { String::new() } else { format!("\n{text}") }
}

/// Refuses calendars that lie outside the folder and are named from there: from another folder that leads elsewhere.
fn refuse_files_elsewhere(file: &TextFile, root: &Node) -> Result<(), Problems> {
    let elsewhere =
        imports(root).into_iter().filter(|(name, _)| !Path::new(name).is_absolute() && !lies_within(name));
    let problems = elsewhere.map(|(name, node)| {
        let title = format!("\"{name}\" is looked for from this folder, and the next term has another");
        file.problem(node.span.clone(), title, "put the calendar into this folder, or write its whole path")
    });
    Problems::check(problems.collect())
}

/// Calendars that a term file names, each with its place.
fn imports(root: &Node) -> Vec<(String, &Node)> {
    let maps = std::iter::once(root).chain(items(root, "sites"));
    let imports = maps.flat_map(|map| items(map, "import")).filter_map(|import| entry(import, "file"));
    let named = imports.filter_map(|(_, file)| match &file.content {
        Content::Text(name) => Some((name.trim().to_owned(), file)),
        _ => None,
    });
    named.collect()
}

/// Files that a term file needs beside it: the term's own crops and calendars of days off.
fn other_files(store: &dyn Store, root: &Node) -> Result<Vec<(String, Vec<u8>)>, Problems> {
    let crops = library::own_files(store);
    let calendars = imports(root).into_iter().map(|(name, _)| name);
    let mut names: Vec<String> = crops.into_iter().chain(calendars).collect();
    names.sort_unstable();
    names.dedup();
    let mut files = Vec::new();
    for name in names {
        let file = store.read(&name).map_err(|error| {
            let title = format!("this file cannot be read: {error}");
            Problem::without_text(store.shown(&name), title, "check that you may open it").alone()
        })?;
        files.extend(file.map(|bytes| (name, bytes)));
    }
    Ok(files)
}

/// Whether a file lies in the term's folder, so that it must be there in the next one's, too.
fn lies_within(name: &str) -> bool {
    Path::new(name).components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir))
}

/// In what the new term differs from the old one though it should not, if in anything.
fn differs(old: &Term, new: &Term, carried: &Carried) -> Option<&'static str> {
    let name = carried.name.as_ref().unwrap_or(&old.name);
    let span = DateSpan { first: new.start, last: new.end };
    let supplies = carried.leftover.as_ref().map_or(&old.supplies, |leftover| &leftover.supplies);
    let checks = [
        ("its name", new.name == *name),
        ("its dates", span == carried.span),
        ("the sites", undated(old) == undated(new)),
        ("the crops", old.crops == new.crops),
        ("the rules", old.rules == new.rules),
        ("the size of a serving", old.serving_grams == new.serving_grams),
        ("what stands at the start", new.standing == carried.standing),
        ("the supplies", same_supplies(supplies, &new.supplies)),
    ];
    checks.into_iter().find(|(_, same)| !same).map(|(what, _)| what)
}

/// The sites without what changes from term to term.
fn undated(term: &Term) -> Vec<Site> {
    let mut sites = term.sites.clone();
    for site in &mut sites {
        site.class_days.clear();
        site.days_off.clear();
    }
    sites
}

/// Whether supplies are the same but for rounding.
fn same_supplies(one: &Supplies, other: &Supplies) -> bool {
    let near = |one: f64, other: f64| (one - other).abs() < 1e-6;
    let seed = |amount: Option<SeedAmount>| match amount {
        None => (0, 0.0),
        Some(SeedAmount::Seeds(count)) => (1, f64::from(count)),
        Some(SeedAmount::Grams(grams)) => (2, grams),
    };
    let seeds =
        |one: Option<SeedAmount>, other| seed(one).0 == seed(other).0 && near(seed(one).1, seed(other).1);
    let stocks = |supplies: &Supplies| {
        let medium = supplies.medium.map_or(0.0, |medium| medium.stock.on_hand);
        let doses = supplies.doses.iter().map(|dose| dose.stock.on_hand);
        [supplies.plugs.on_hand, supplies.net_cups.on_hand, medium]
            .into_iter()
            .chain(doses)
            .collect::<Vec<_>>()
    };
    one.seed.len() == other.seed.len()
        && one.seed.iter().zip(&other.seed).all(|(one, other)| seeds(one.on_hand, other.on_hand))
        && stocks(one).iter().zip(&stocks(other)).all(|(one, other)| near(*one, *other))
        && without_stock(one) == without_stock(other)
}

fn without_stock(supplies: &Supplies) -> Supplies {
    let mut supplies = supplies.clone();
    supplies.seed.iter_mut().for_each(|seed| seed.on_hand = None);
    supplies.plugs.on_hand = 0.0;
    supplies.net_cups.on_hand = 0.0;
    if let Some(medium) = &mut supplies.medium {
        medium.stock.on_hand = 0.0;
    }
    supplies.doses.iter_mut().for_each(|dose| dose.stock.on_hand = 0.0);
    supplies
}
