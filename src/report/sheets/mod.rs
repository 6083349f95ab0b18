//! Sheets to print: what a class works from with wet hands, one sheet for a kind of work, a site and a day.
//!
//! A sheet is a [`page::Sheet`]: a title and a body. [`page::document`] makes one self-contained HTML file of many
//! sheets, each on paper of its own with a running header; any browser prints it. Everything a sheet says is said in
//! words or patterns, never by colour alone.
//!
//! A new kind of sheet is a file here that makes `Sheet`s, a [`Kind`], and its line in `class_sheets` (for a sheet
//! that a class gets with the others of its day) or in [`files`] (for one that makes a file of its own).

mod cells;
pub mod page;
mod parts;
mod sowing;

pub use cells::{CellStay, cell_stays};
pub use page::Paper;

use super::words;
use crate::domain::calendar::{DateSpan, Week};
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::units::Units;
use chrono::NaiveDate;
use page::Sheet;

/// Kinds of sheets, in the order a class needs them on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// What to sow.
    Sowing,
}

impl Kind {
    /// As part of a file's name.
    fn name(self) -> &'static str {
        match self {
            Self::Sowing => "sowing",
        }
    }
}

/// Kinds that a class gets together in one file.
pub const CLASS_KINDS: [Kind; 1] = [Kind::Sowing];

/// Which sheets are wanted, and how.
#[derive(Debug, Clone)]
pub struct Wish {
    /// The days.
    pub days: Days,
    /// The kinds.
    pub kinds: Vec<Kind>,
    /// What they are printed on.
    pub paper: Paper,
    /// Units of every quantity.
    pub units: Units,
}

/// A stretch of days that has a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Days {
    /// One week.
    Week(Week),
    /// Any days.
    Span(DateSpan),
    /// The term from its first day to its last.
    Term(DateSpan),
}

impl Days {
    /// The days themselves.
    pub fn span(self) -> DateSpan {
        match self {
            Self::Week(week) => DateSpan { first: week.monday(), last: week.sunday() },
            Self::Span(span) | Self::Term(span) => span,
        }
    }

    /// `Week 2027-W03, Monday 18 January 2027 to ...`.
    pub fn title(self) -> String {
        let DateSpan { first, last } = self.span();
        let span = format!("{} to {}", words::long_day(first), words::long_day(last));
        match self {
            Self::Week(week) => format!("Week {week}, {span}"),
            Self::Span(_) => span,
            Self::Term(_) => format!("The whole term, {span}"),
        }
    }

    /// As the beginning of a file's name.
    fn file_name(self) -> String {
        match self {
            Self::Week(week) => week.to_string(),
            Self::Span(span) => format!("{}-to-{}", span.first, span.last),
            Self::Term(_) => "whole-term".to_owned(),
        }
    }
}

/// A file to print.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PrintFile {
    /// Its name, ending in `.html`; the same wish always gives the same names.
    pub name: String,
    /// All of it.
    pub html: String,
}

/// What every sheet is made from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting<'a> {
    pub(super) term: &'a Term,
    pub(super) plan: &'a Plan,
    pub(super) site: &'a Site,
    pub(super) wish: &'a Wish,
}

/// The files wanted for these sites.
///
/// A site without work on these days gets a file, too, which says so: otherwise one printed from an older plan could
/// be taken for this one.
pub fn files(term: &Term, plan: &Plan, sites: &[&Site], wish: &Wish) -> Vec<PrintFile> {
    let mut files = Vec::new();
    let class: Vec<Kind> = CLASS_KINDS.into_iter().filter(|kind| wish.kinds.contains(kind)).collect();
    if !class.is_empty() {
        for site in sites {
            let setting = Setting { term, plan, site, wish };
            files.push(class_file(&setting, &class));
        }
    }
    files
}

/// All sheets of a class, day by day.
fn class_file(setting: &Setting<'_>, kinds: &[Kind]) -> PrintFile {
    let mut sheets = Vec::new();
    for day in setting.wish.days.span().days() {
        for kind in kinds {
            sheets.extend(class_sheets(setting, *kind, day));
        }
    }
    if sheets.is_empty() {
        sheets.push(parts::nothing_to_do(setting, kinds));
    }
    let mut name = format!("{}-{}", setting.wish.days.file_name(), setting.site.id);
    if kinds.len() < CLASS_KINDS.len() {
        for kind in kinds {
            name = format!("{name}-{}", kind.name());
        }
    }
    PrintFile { name: format!("{name}.html"), html: document(setting, &setting.site.name, &sheets) }
}

/// The sheets of one kind for one day, none if there is no such work.
fn class_sheets(setting: &Setting<'_>, kind: Kind, day: NaiveDate) -> Vec<Sheet> {
    match kind {
        Kind::Sowing => sowing::sheet(setting, day).into_iter().collect(),
    }
}

fn document(setting: &Setting<'_>, title: &str, sheets: &[Sheet]) -> String {
    let foot = format!("{}, plan revision {}", setting.term.name, setting.plan.revision);
    page::document(title, &foot, sheets, setting.wish.paper)
}
