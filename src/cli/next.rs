//! `sowtide next`: a folder for the term that comes after one.

use super::dates;
use super::failure::Failure;
use super::record;
use super::screen::Screen;
use crate::desk::{Next as Wanted, Onward};
use crate::domain::calendar::DateSpan;
use crate::domain::term::Standing;
use crate::files::next_term::Dates;
use crate::files::problem::Problem;
use crate::files::store::{Disk, Store};
use crate::files::term_file::FILE_NAME;
use crate::files::{history, library};
use crate::report::json;
use crate::report::words::{and, counted};
use chrono::NaiveDate;
use clap::Args;
use std::io;
use std::path::{Path, PathBuf};

/// Go on from a term to the next one, in a folder of its own
///
/// Takes over the term file with your remarks, the folder's own crops, what stands on the last day, what is left of seed and
/// other supplies (with the age of seed and how much of it should still come up) and what was noted. Dates, days off and
/// targets of single days are past: they stay in the new file as remarks. Plan and journal stay behind.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
        sowtide next autumn winter --start 2027-01-11 --end 2027-03-26\n  \
        sowtide next autumn winter --start 2027-01-11 --end 2027-03-26 --name \"Winter term\"")]
pub(super) struct Next {
    /// The folder of the term that ends
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    /// The folder to make for the next one
    #[arg(value_name = "NEWDIR")]
    new: PathBuf,
    /// First day of the next term
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    start: NaiveDate,
    /// Last day of the next term
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    end: NaiveDate,
    /// Its name [default: that of the term before]
    #[arg(long, value_name = "TEXT", value_parser = record::name)]
    name: Option<String>,
}

impl Next {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (old, new) = (Disk::at(&self.dir), Disk::at(&self.new));
        if let Some(part) = part_of_term(&self.new, &self.dir) {
            return Err(Failure::usage(
                format!("{} lies in the folder {part} of the term that ends", self.new.display()),
                "name another one: what lies there is taken for a part of that term",
            ));
        }
        let span = DateSpan { first: self.start, last: self.end };
        let onward = screen.desk(&old).next(&Wanted { span, name: self.name.clone() })?;
        new.make_with(&onward.made.files).map_err(|error| unmade(&new, &error))?;
        let paths: Vec<String> = onward.made.files.iter().map(|(name, _)| new.shown(name)).collect();
        if screen.json {
            return screen.result(&json::written(&paths));
        }
        screen.result(&format!("{}\n", paths.join("\n")))?;
        for remark in remarks(&onward) {
            screen.remark(&remark);
        }
        screen.remarks(&onward.made.read.remarks);
        let desk = screen.desk(&new);
        screen.remark(&format!(
            "Look through {}, then: {}, {}\nTo count on what the records of the term before teach: {}",
            new.shown(FILE_NAME),
            desk.command("check", ""),
            desk.command("plan", ""),
            screen.desk(&old).command("learn", &format!("--take \"{}\"", self.new.display()))
        ));
        Ok(())
    }
}

/// The folder of a term in which a folder would lie that may not be there yet, if it is one of those with a meaning.
fn part_of_term(new: &Path, term: &Path) -> Option<&'static str> {
    let term = term.canonicalize().ok()?;
    let new = std::path::absolute(new).ok()?;
    let (above, known) = new.ancestors().find_map(|above| Some((above, above.canonicalize().ok()?)))?;
    let whole = known.join(new.strip_prefix(above).ok()?);
    [library::FOLDER, history::FOLDER, "out"].into_iter().find(|part| whole.starts_with(term.join(part)))
}

/// What was carried over, and what only the teacher knows.
fn remarks(onward: &Onward) -> Vec<String> {
    let (made, before) = (&onward.made, &onward.before);
    let standing = &made.read.term.standing;
    let plants = |found: &[Standing]| counted(found.iter().map(|standing| standing.plants).sum(), "plant");
    let mut told = Vec::new();
    if onward.early {
        told.push(format!(
            "\"{}\" runs until {}: what is planned until then counts as done.",
            before.name,
            before.own_end()
        ));
    }
    told.push(match standing.len() {
        _ if !onward.planned => {
            format!("\"{}\" has no plan, so nothing stands, and the stock stays as it was.", before.name)
        }
        0 => "Nothing stands on the last day that can be harvested in this term.".to_owned(),
        _ => {
            let days = made.read.term.sites.iter().filter_map(|site| site.class_days.first());
            let first = days
                .min()
                .map_or_else(String::new, |day| format!("; nobody is planned to see to them until {day}"));
            format!("Carried over: {} that stood on {}{first}.", plants(standing), before.own_end())
        }
    });
    if !made.cleared.is_empty() {
        told.push(format!(
            "Too old or cut too often for this term, so use them up: {}.",
            plants(&made.cleared)
        ));
    }
    told.extend(
        onward.tanks_out.iter().map(|out| format!("{out}: record that again once this term is planned.")),
    );
    told.extend(onward.seed.iter().map(|seed| format!("{seed}.")));
    if onward.notes > 0 {
        told.push(format!("{} taken over, at the end of the file.", counted(onward.notes as u32, "note")));
    }
    told.extend(to_check(&made.dates, made.read.term.name == before.name));
    told
}

/// What became of the dates, so that somebody looks at them.
fn to_check(dates: &Dates, same_name: bool) -> Vec<String> {
    let past = [
        (dates.days_off, "break or closure", "breaks or closures"),
        (dates.class_days, "extra class day", "extra class days"),
        (dates.targets, "target of a single day", "targets of single days"),
        (dates.arrivals, "offer of seedlings", "offers of seedlings"),
    ];
    let past = past.into_iter().filter(|(count, ..)| *count > 0);
    let past: Vec<String> =
        past.map(|(count, one, more)| format!("{count} {}", if count == 1 { one } else { more })).collect();
    let mut told = Vec::new();
    if !past.is_empty() {
        told.push(format!(
            "Past, and now remarks in the file: {}. Write down those of this term.",
            and(&past)
        ));
    }
    if dates.moved > 0 {
        told.push(format!(
            "Moved on with the first week, so check: {} of the target.",
            counted(dates.moved, "date")
        ));
    }
    if same_name {
        told.push("The name is still that of the term before; --name gives another.".to_owned());
    }
    told
}

fn unmade(new: &Disk, error: &io::Error) -> Failure {
    let title = match error.kind() {
        io::ErrorKind::AlreadyExists => {
            "there is something in this folder already; it was left as it is".to_owned()
        }
        _ => format!("the folder cannot be made: {error}"),
    };
    Problem::without_text(new.shown(""), title, "choose another folder").alone().into()
}
