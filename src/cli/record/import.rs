//! `sowtide record import`: taking over a spreadsheet.

use crate::cli::failure::Failure;
use crate::desk::{self, Desk, Import, MassUnit, Pairs, Recorded};
use crate::files::problem::TextFile;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Take over a spreadsheet saved as CSV, all its lines or none
///
/// The first line names the columns. Known are: what, day, site, by, batch, crop, tank, plugs, plants, way, mass, cause, text,
/// until, and usual headings such as Date, Room, Heads, "Weight (oz)", Notes; what was taken for what is told. A column of
/// another name is mapped with --columns, words in it with --words. Columns may be separated by commas, semicolons or tabs.
/// Every line that cannot be taken over is told with its place; as long as there is one, nothing is recorded.
///
/// Where no batch is written, crop and day tell it if only one fits. Days may be the numbers that spreadsheets keep them as.
///
/// "what" is one of: sown, came up, transplanted, lost, harvested, tank out, tank back, class lost, class added, note. Plants
/// lost in the nursery are counted as "plugs", or their tank is "nursery"; where all plants of a batch stand in one place,
/// it need not be named. If all were lost, the number is the word "all".
///
/// A file that "sowtide export" wrote is known by its headings. Its entries come back just as they were, with their numbers, unless
/// the journal has them already. A spreadsheet program may have saved it anew, if need be say how: --date-format, --decimal-comma.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    sowtide record autumn import harvests.csv --what harvested --mass-unit g\n  \
    sowtide record autumn import harvests.csv --what harvested --mass-unit g --again\n  \
    sowtide record autumn import buch.csv --columns \"day=Datum,what=Art,batch=Charge,plants=Anzahl,mass=Gewicht\" \\\n    \
    --words \"geerntet=harvested,gesät=sown,ganz=whole\" --date-format DD.MM.YYYY --mass-unit g --decimal-comma")]
pub(super) struct ImportArgs {
    /// The file
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Which column holds what, where the names differ: "day=Date,batch=Lot"
    #[arg(long, value_name = "LIST", value_parser = desk::pairs)]
    columns: Option<Pairs>,
    /// What words in the cells mean: "pulled=whole,picked=harvested"
    #[arg(long, value_name = "LIST", value_parser = desk::pairs)]
    words: Option<Pairs>,
    /// What every line reports, if there is no such column
    #[arg(long, value_name = "KIND")]
    what: Option<String>,
    /// Order of days, months and years in dates, such as DD.MM.YYYY or M/D/YY [default: YYYY-MM-DD]
    #[arg(long, value_name = "FORMAT", value_parser = desk::date_format)]
    date_format: Option<String>,
    /// Unit of masses without one
    #[arg(long, value_enum, value_name = "UNIT")]
    mass_unit: Option<UnitChoice>,
    /// Leave out lines taken over before, for a spreadsheet that grows
    #[arg(long)]
    again: bool,
    /// Numbers are written with a decimal comma
    #[arg(long)]
    decimal_comma: bool,
}

/// Units of masses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum UnitChoice {
    /// Grams
    G,
    /// Kilograms
    Kg,
    /// Ounces
    Oz,
    /// Pounds
    Lb,
}

impl ImportArgs {
    /// Reads the file and records all of its lines.
    pub(super) fn run(&self, desk: &Desk<'_>) -> Result<Recorded, Failure> {
        let shown = self.file.display().to_string();
        let bytes = std::fs::read(&self.file).map_err(|error| {
            Failure::told(
                format!("{shown} cannot be read: {error}"),
                "check the name and that you may open it",
            )
        })?;
        Ok(desk.import(&TextFile::from_bytes(shown, &bytes)?, &self.wishes())?)
    }

    fn wishes(&self) -> Import {
        Import {
            columns: self.columns.clone(),
            words: self.words.clone(),
            what: self.what.clone(),
            date_format: self.date_format.clone(),
            mass_unit: self.mass_unit.map(|unit| match unit {
                UnitChoice::G => MassUnit::G,
                UnitChoice::Kg => MassUnit::Kg,
                UnitChoice::Oz => MassUnit::Oz,
                UnitChoice::Lb => MassUnit::Lb,
            }),
            again: self.again,
            decimal_comma: self.decimal_comma,
        }
    }
}
