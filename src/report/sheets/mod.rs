//! Sheets to print: what a class works from with wet hands, one sheet for a kind of work, a site and a day.
//!
//! A sheet is a [`page::Sheet`]: a title and a body. [`page::document`] makes one self-contained HTML file of many
//! sheets, each on paper of its own with a running header; any browser prints it. Everything a sheet says is said in
//! words or patterns, never by colour alone.
//!
//! A new kind of sheet is a file here that makes `Sheet`s, a [`Kind`], and its line in `class_sheets` (for a sheet
//! that a class gets with the others of its day) or in [`files`] (for one that makes a file of its own).

mod away;
mod care;
mod cells;
mod figures;
mod harvest;
mod labels;
mod lid_map;
mod order;
pub mod page;
mod parts;
mod sowing;
pub(super) mod strokes;
mod term;
mod transplant;

pub use cells::{CellStay, cell_stays};
pub use labels::{LabelFor, LabelGrid, LabelPaper, LabelWish, SMALLEST_LABEL};
pub use page::Paper;

use super::words;
use super::work::{self, Task};
use crate::domain::calendar::{DateSpan, Week};
use crate::domain::odds::Odds;
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::term::Term;
use crate::domain::units::Units;
use chrono::NaiveDate;
use page::Sheet;

/// Kinds of sheets, in the order a class needs them on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// What to cut and pull.
    Harvest,
    /// What to move where.
    Transplant,
    /// What to sow.
    Sowing,
    /// Labels for plugs and holes, a file of their own.
    Labels,
    /// The whole term for all sites, a file of its own.
    Term,
    /// How to keep the tanks in a week.
    Care,
    /// What to see to before days off.
    Before,
    /// What to see to after days off.
    After,
    /// What to buy for the term.
    Order,
}

impl Kind {
    /// As part of a file's name.
    fn name(self) -> &'static str {
        match self {
            Self::Harvest => "harvest",
            Self::Transplant => "transplant",
            Self::Sowing => "sowing",
            Self::Labels => "labels",
            Self::Term => "term",
            Self::Care => "care",
            Self::Before => "before",
            Self::After => "after",
            Self::Order => "order",
        }
    }
}

/// Kinds that a class gets together in one file. Harvesting frees holes and hands are cleanest then; transplanting frees
/// cells.
pub const CLASS_KINDS: [Kind; 6] =
    [Kind::Harvest, Kind::Transplant, Kind::Sowing, Kind::Care, Kind::Before, Kind::After];

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
    /// How labels are printed.
    pub labels: LabelWish,
    /// How sure the serving days are, to be told on the term's page: as the plan was made.
    pub odds: Option<Odds>,
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

impl<'a> Setting<'a> {
    /// Tasks of the site on a day.
    fn tasks_on(&self, day: NaiveDate) -> Vec<Task<'a>> {
        let mut tasks = work::tasks(self.term, self.plan);
        tasks.retain(|task| task.date == day && task.batch.site == self.site.id);
        tasks
    }
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
    if wish.kinds.contains(&Kind::Labels) {
        files.extend(sites.iter().map(|site| label_file(&Setting { term, plan, site, wish })));
    }
    if let (true, Some(site)) = (wish.kinds.contains(&Kind::Term), sites.first()) {
        files.push(term_file(&Setting { term, plan, site, wish }, sites));
    }
    if wish.kinds.contains(&Kind::Order) {
        let foot = foot(term, plan);
        let html = page::document("Order list", &foot, &[order::sheet(term, plan, wish)], wish.paper);
        files.push(PrintFile { name: "order.html".to_owned(), html });
    }
    files
}

/// All sheets of a class, day by day.
fn class_file(setting: &Setting<'_>, kinds: &[Kind]) -> PrintFile {
    let mut sheets = Vec::new();
    for day in setting.wish.days.span().days() {
        let tasks = setting.tasks_on(day);
        sheets.extend(kinds.iter().flat_map(|kind| class_sheets(setting, &tasks, *kind, day)));
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

fn label_file(setting: &Setting<'_>) -> PrintFile {
    let mut sheets = labels::sheets(setting, setting.wish.labels);
    if sheets.is_empty() {
        sheets.push(parts::nothing_to_do(setting, &[Kind::Labels]));
    }
    let name = format!("{}-{}-labels.html", setting.wish.days.file_name(), setting.site.id);
    PrintFile { name, html: document(setting, &format!("Labels, {}", setting.site.name), &sheets) }
}

/// The term's file carries the sites' names unless it has all of them.
fn term_file(setting: &Setting<'_>, sites: &[&Site]) -> PrintFile {
    let mut name = "term".to_owned();
    if sites.len() < setting.term.sites.len() {
        for site in sites {
            name = format!("{name}-{}", site.id);
        }
    }
    let sheets = term::sheets(setting, sites);
    PrintFile { name: format!("{name}.html"), html: document(setting, &setting.term.name, &sheets) }
}

/// The sheets of one kind for one day, none if there is no such work.
fn class_sheets(setting: &Setting<'_>, tasks: &[Task<'_>], kind: Kind, day: NaiveDate) -> Vec<Sheet> {
    let sheet = match kind {
        Kind::Harvest => harvest::sheet(setting, tasks, day),
        Kind::Transplant => transplant::sheet(setting, tasks, day),
        Kind::Sowing => sowing::sheet(setting, tasks, day),
        Kind::Care => care::sheet(setting, day),
        Kind::Before => away::before(setting, day),
        Kind::After => away::after(setting, day),
        Kind::Labels | Kind::Term | Kind::Order => None,
    };
    sheet.into_iter().collect()
}

fn document(setting: &Setting<'_>, title: &str, sheets: &[Sheet]) -> String {
    page::document(title, &foot(setting.term, setting.plan), sheets, setting.wish.paper)
}

fn foot(term: &Term, plan: &Plan) -> String {
    format!("{}, plan revision {}", term.name, plan.revision)
}
