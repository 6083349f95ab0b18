//! `sowtide compare`: heads or cuts, one crop or another.

use super::failure::Failure;
use super::screen::Screen;
use super::sites::Sites;
use crate::domain::crop::Crop;
use crate::files::library::Library;
use crate::files::problem::suggest;
use crate::files::store::Disk;
use crate::files::term_file;
use crate::insight::compare::{PLANTS, compare};
use crate::report::{self, json};
use clap::Args;
use std::path::PathBuf;

/// Compare the ways to grow a crop, heads or cuts, or two crops: what a hole, a seed and a minute of work give
///
/// Needs a term file for its sites, tanks and minutes, but no plan. A crop of the library may be compared before it is wanted
/// in the term. Sites where plants grow alike are told together.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide compare oakleaf\n  \
        sowtide compare chard rocket --term autumn --site room-3")]
pub(super) struct Compare {
    /// One crop, or two; names as in the list of crops
    #[arg(value_name = "CROP", required = true, num_args = 1..=2)]
    crops: Vec<String>,
    /// The term's folder [default: the current one]
    #[arg(long, value_name = "DIR")]
    term: Option<PathBuf>,
    #[command(flatten)]
    sites: Sites,
}

impl Compare {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let read = term_file::read(&Disk::at(self.term.clone().unwrap_or_default()))?;
        let crops = self.crops(&read.library)?;
        let found = compare(&read.term, &self.sites.of(&read.term)?, &crops);
        if found.iter().all(|here| here.ways.is_empty()) {
            let names: Vec<&str> = crops.iter().map(|crop| crop.id.as_str()).collect();
            return Err(Failure::told(
                format!("no site has a tank in which {} could grow to a harvest", names.join(" or ")),
                "compare its spacing with that of the lids, and its days with those of the term: sowtide crops show",
            ));
        }
        if screen.json {
            screen.result(&json::compare(&found, PLANTS))
        } else {
            screen.result(&report::compare::text(&found, &read.term, &crops, PLANTS, &screen.look))
        }
    }

    /// The crops asked for, each once.
    fn crops<'l>(&self, library: &'l Library) -> Result<Vec<&'l Crop>, Failure> {
        let known = |name: &String| {
            library.typed(name).ok_or_else(|| {
                Failure::usage(format!("there is no crop \"{name}\""), suggest(name, library.ids()))
            })
        };
        let crops: Vec<&Crop> = self.crops.iter().map(known).collect::<Result<_, _>>()?;
        match &crops[..] {
            [one, other] if one.id == other.id => Err(Failure::usage(
                format!("\"{}\" is named twice", one.id),
                "name it once to compare its ways, or another crop beside it",
            )),
            _ => Ok(crops),
        }
    }
}
