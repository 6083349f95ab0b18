//! `sowtide crops`: the crop library.

use super::failure::Failure;
use super::screen::Screen;
use crate::files::library::Library;
use crate::files::problem::suggest;
use crate::files::store::Disk;
use crate::report::{crops, json};
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Browse the crop library: growing days, masses, spacing, and where each figure comes from
#[derive(Debug, Args)]
pub(super) struct Crops {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// List all crops
    #[command(after_help = "Example:\n  sowtide crops list")]
    List {
        #[command(flatten)]
        of: Of,
    },
    /// Show every figure of one crop with its source
    #[command(after_help = "Example:\n  sowtide crops show basil --units us")]
    Show {
        /// The crop's name as in the list
        name: String,
        #[command(flatten)]
        of: Of,
    },
}

/// Whose library.
#[derive(Debug, Args)]
struct Of {
    /// Lay the crops of this term's folder over the library [default: the current folder]
    #[arg(long, value_name = "DIR")]
    term: Option<PathBuf>,
}

impl Crops {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        match &self.what {
            What::List { of } => {
                let library = of.library()?;
                if screen.json {
                    screen.result(&json::crop_list(library.iter()))
                } else {
                    screen.result(&crops::list(library.iter(), &screen.look))
                }
            }
            What::Show { name, of } => {
                let library = of.library()?;
                let crop = library.typed(name).ok_or_else(|| {
                    Failure::usage(format!("there is no crop \"{name}\""), suggest(name, library.ids()))
                })?;
                if screen.json {
                    screen.result(&json::crop(crop))
                } else {
                    screen.result(&crops::show(crop, &screen.look))
                }
            }
        }
    }
}

impl Of {
    fn library(&self) -> Result<Library, Failure> {
        let folder = match &self.term {
            None => PathBuf::new(),
            Some(dir) if dir.is_dir() => dir.clone(),
            Some(dir) => {
                return Err(Failure::usage(
                    format!("there is no folder {}", dir.display()),
                    "name the folder of a term, or leave --term away",
                ));
            }
        };
        Ok(Library::builtin()?.overlay(&Disk::at(folder))?)
    }
}
