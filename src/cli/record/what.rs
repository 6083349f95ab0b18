//! What can be recorded, as people type it.

mod drafts;

use super::holes::{self, Holes};
use super::import::ImportArgs;
use super::places::Places;
use super::samples;
use crate::cli::dates;
use crate::desk;
use crate::domain::growth::Way;
use crate::domain::journal::{EntryId, MOST_BEHIND, Sample};
use crate::domain::text;
use crate::domain::units::{Amount, Mass};
use chrono::NaiveDate;
use clap::{Args, Subcommand};

#[derive(Debug, Subcommand)]
pub(super) enum What {
    /// Plugs were sown
    #[command(after_help = "Example:\n  sowtide record autumn sown --batch b002 --plugs 24")]
    Sown(Plugs),
    /// Seedlings were counted: in so many plugs one has come up
    #[command(after_help = "Example:\n  sowtide record autumn came-up --batch b002 --plugs 21")]
    CameUp(Plugs),
    /// Seedlings were moved to a tank
    #[command(
        after_help = "Example:\n  sowtide record autumn transplanted --batch b002 --plants 20 --tank blue"
    )]
    Transplanted(Transplanted),
    /// Plants died or had to be thrown away
    #[command(after_help = "Examples:\n  \
        sowtide record autumn lost --batch b002 --in nursery --plants 5 --cause \"dried out\"\n  \
        sowtide record autumn lost --batch b002 --tank blue --all --cause \"pump stood still\"\n  \
        sowtide record autumn lost --batch b002 --place \"blue: 4,7\" --place \"red: 3 plants\" --cause snails")]
    Lost(Lost),
    /// Greens were cut or pulled, and weighed
    #[command(after_help = "Examples:\n  \
        sowtide record autumn harvested --batch b002 --way cut --plants 12 --mass \"480 g\"\n  \
        sowtide record autumn harvested --batch b002 --way cut --plants 12 --tank \"blue, red\" --mass \"480 g\"\n  \
        sowtide record autumn harvested --batch b002 --way cut --place \"blue: 1-6\" --place \"red: 4\" --mass \"3 lb 4 oz\"\n  \
        sowtide record autumn harvested --batch b002 --way pull --plants 6 --mass \"1.1 kg\" \\\n    \
        --sample \"height=16/18cm leaves=9/11 mass=170/185g\" --sample \"height=16/15cm\"")]
    Harvested(HarvestedArgs),
    /// Plants were measured and stay where they are
    #[command(after_help = "Examples:\n  \
        sowtide record autumn measured --batch b002 --sample \"height=16/18cm leaves=9/11\" --sample height=15cm\n  \
        sowtide record autumn measured --batch b002 --tank blue --holes 3,7 --sample mass=60/72g --sample mass=81g\n\n\
        To weigh a plant, lift it with its cup, let it drip for half a minute, and take off what an empty wet cup with its plug \
        weighs. Its roots count: they are taken for a seventh of it. By its mass it is told how far the batch is; heights, leaves and \
        roots are only kept.")]
    Measured(MeasuredArgs),
    /// What is planned with a batch is done on a later class day
    #[command(after_help = "Examples:\n  sowtide record autumn put-off --batch b002 --to 2026-10-12\n  \
        sowtide record autumn put-off --batch b002 --day 2026-10-08 --to 2026-10-12")]
    PutOff(PutOffArgs),
    /// Plants are smaller than they should be, judged by eye; dates and masses to come go by it
    #[command(after_help = "Examples:\n  sowtide record autumn behind --batch b002 --days 7\n  \
        sowtide record autumn behind --site hall --days 4\n  \
        sowtide record autumn behind --site hall --crop oakleaf --days 5")]
    Behind(BehindArgs),
    /// A tank cannot be used for a while, or until it is recorded as back; what stands in it is lost
    #[command(after_help = "Example:\n  sowtide record autumn tank-out --tank blue --until 2026-10-16")]
    TankOut(TankOut),
    /// A tank can be used again
    #[command(after_help = "Example:\n  sowtide record autumn tank-back --tank blue")]
    TankBack(TankBack),
    /// A planned class does not take place
    #[command(after_help = "Examples:\n  sowtide record autumn class-lost --day 2026-10-08 --site hall\n  \
        sowtide record autumn class-lost --day 2026-10-05 --until 2026-10-09 --all-sites")]
    ClassLost(LostClasses),
    /// A class takes place that was not planned
    #[command(after_help = "Example:\n  sowtide record autumn class-added --day 2026-10-09 --site hall")]
    ClassAdded(ClassDay),
    /// Another mass is wanted on a serving day, or from a day on
    #[command(after_help = "Examples:\n  \
        sowtide record autumn target --on 2026-10-09 --mass \"300 g\"\n  \
        sowtide record autumn target --from 2026-11-01 --mass \"1.2 kg\"\n  \
        sowtide record autumn target --on 2026-10-23 --none")]
    Target(Target),
    /// Anything worth remembering
    #[command(after_help = "Example:\n  sowtide record autumn note \"Lamp replaced\" --site hall")]
    Note(Note),
    /// Take an entry back
    #[command(after_help = "Example:\n  sowtide record autumn withdraw j007")]
    Withdraw(Withdraw),
    /// Take over a spreadsheet (CSV), all lines or none
    Import(ImportArgs),
}

/// Options of every entry.
#[derive(Debug, Args)]
#[command(next_help_heading = "Options of every entry")]
pub(super) struct About {
    /// The day it happened [default: today]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    day: Option<NaiveDate>,
    /// Who says so; better a class or a role than a child's name
    #[arg(long, value_name = "NAME", value_parser = name)]
    by: Option<String>,
    /// Correct this entry: the new one takes its place
    #[arg(long, value_name = "NUMBER")]
    replaces: Option<EntryId>,
}

#[derive(Debug, Args)]
pub(super) struct Plugs {
    /// The batch, as in the plan
    #[arg(long)]
    batch: String,
    /// How many plugs
    #[arg(long = "plugs", value_name = "NUMBER", value_parser = |text: &str| number(text, 0))]
    number: u32,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct Transplanted {
    /// The batch, as in the plan
    #[arg(long)]
    batch: String,
    /// How many plants
    #[arg(long, value_name = "NUMBER", value_parser = |text: &str| number(text, 1))]
    plants: u32,
    /// The tank [default: the only one planned for the batch]
    #[arg(long)]
    tank: Option<String>,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct Lost {
    /// The batch, as in the plan
    #[arg(long)]
    batch: String,
    #[command(flatten)]
    places: Places,
    /// All that stood there
    #[arg(long, conflicts_with_all = ["plants", "holes"])]
    all: bool,
    /// Why, in a few words
    #[arg(long, value_name = "WORDS", value_parser = cause)]
    cause: String,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct HarvestedArgs {
    /// The batch, as in the plan
    #[arg(long)]
    batch: String,
    #[command(flatten)]
    places: Places,
    /// cut if the plants were left to grow again, pull if they were taken whole; also for the last harvest after cuts
    #[arg(long, value_name = "WAY", value_parser = desk::way)]
    way: Way,
    /// What all of them gave together, weighed ready to eat, with its unit, such as "480 g"; cups of loose leaves if there
    /// are no scales: "2 cups"
    #[arg(long)]
    mass: Amount,
    /// What was measured on one plant: height, width, root (the longest) with units, leaves, mass. What was estimated
    /// beforehand stands before a slash: height=16/18cm. Give it once for each plant
    #[arg(long = "sample", value_name = "MEASURES", value_parser = samples::parse)]
    samples: Vec<Sample>,
    /// Drop the measured plants of the entry that is corrected; they stay otherwise
    #[arg(long, requires = "replaces", conflicts_with = "samples")]
    no_samples: bool,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct MeasuredArgs {
    /// The batch, as in the plan
    #[arg(long)]
    batch: String,
    /// The tank [default: the only one planned for the batch]
    #[arg(long)]
    tank: Option<String>,
    /// The holes in which they stand, such as 4-7,9, as many as plants are measured
    #[arg(long, value_name = "HOLES", value_parser = holes::parse)]
    holes: Option<Holes>,
    /// What was measured on one plant: height, width, root (the longest) with units, leaves, mass. What was estimated
    /// beforehand stands before a slash: height=16/18cm. Give it once for each plant
    #[arg(long = "sample", value_name = "MEASURES", required = true, value_parser = samples::parse)]
    samples: Vec<Sample>,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct PutOffArgs {
    /// The batch, as in the plan
    #[arg(long)]
    batch: String,
    /// The class day on which it is done instead
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    to: NaiveDate,
    /// The day for which it is planned [default: the next one of the batch]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    day: Option<NaiveDate>,
    /// Who says so; better a class or a role than a child's name
    #[arg(long, value_name = "NAME", value_parser = name)]
    by: Option<String>,
    /// Correct this entry: the new one takes its place
    #[arg(long, value_name = "NUMBER")]
    replaces: Option<EntryId>,
}

#[derive(Debug, Args)]
pub(super) struct BehindArgs {
    /// The batch, as in the plan
    #[arg(long, required_unless_present_any = ["site", "crop"], conflicts_with_all = ["site", "crop"])]
    batch: Option<String>,
    /// Every batch that grows at this site
    #[arg(long, conflicts_with = "replaces")]
    site: Option<String>,
    /// Every batch of this crop that grows
    #[arg(long, conflicts_with = "replaces")]
    crop: Option<String>,
    /// They are as small as they should have been so many days before
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_BEHIND)))]
    days: u32,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct TankOut {
    /// The tank
    #[arg(long)]
    tank: String,
    /// Its site [default: the only one with a tank of this name]
    #[arg(long)]
    site: Option<String>,
    /// Last day without it [default: until it is recorded as back]
    #[arg(long, value_name = "DATE", value_parser = dates::parse)]
    until: Option<NaiveDate>,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct TankBack {
    /// The tank
    #[arg(long)]
    tank: String,
    /// Its site [default: the only one with a tank of this name]
    #[arg(long)]
    site: Option<String>,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct ClassDay {
    /// The site [default: the only one]
    #[arg(long)]
    site: Option<String>,
    /// Every site
    #[arg(long, conflicts_with = "site")]
    all_sites: bool,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct LostClasses {
    #[command(flatten)]
    first: ClassDay,
    /// Every class up to this day, too: an entry for each
    #[arg(long, value_name = "DATE", value_parser = dates::parse, conflicts_with = "replaces")]
    until: Option<NaiveDate>,
}

#[derive(Debug, Args)]
pub(super) struct Target {
    /// Only on this serving day
    #[arg(long, value_name = "DATE", value_parser = dates::parse, required_unless_present = "from")]
    on: Option<NaiveDate>,
    /// On this day and every later serving day
    #[arg(long, value_name = "DATE", value_parser = dates::parse, conflicts_with = "on")]
    from: Option<NaiveDate>,
    /// Mass wanted on each of them, ready to eat, with its unit
    #[arg(long, required_unless_present = "none")]
    mass: Option<Mass>,
    /// Nothing is wanted
    #[arg(long, conflicts_with = "mass")]
    none: bool,
    /// Who says so; better a class or a role than a child's name
    #[arg(long, value_name = "NAME", value_parser = name)]
    by: Option<String>,
    /// Correct this entry: the new one takes its place
    #[arg(long, value_name = "NUMBER")]
    replaces: Option<EntryId>,
}

#[derive(Debug, Args)]
pub(super) struct Note {
    /// The words
    #[arg(value_name = "TEXT", value_parser = words)]
    text: String,
    /// The batch it is about, if any
    #[arg(long)]
    batch: Option<String>,
    /// The site it is about, if any
    #[arg(long)]
    site: Option<String>,
    #[command(flatten)]
    about: About,
}

#[derive(Debug, Args)]
pub(super) struct Withdraw {
    /// The entry's number, as in the journal
    #[arg(value_name = "NUMBER")]
    entry: EntryId,
    /// Who says so; better a class or a role than a child's name
    #[arg(long, value_name = "NAME", value_parser = name)]
    by: Option<String>,
}

/// A number of plugs or plants, at least so many.
pub(super) fn number(text: &str, least: u32) -> Result<u32, String> {
    let number = text.parse().ok().filter(|number| (least..=100_000).contains(number));
    number.ok_or_else(|| format!("write a whole number, {least} or more"))
}

/// A name on one line.
pub(in crate::cli) fn name(text: &str) -> Result<String, String> {
    line(text, 80)
}

/// Why plants were lost.
fn cause(text: &str) -> Result<String, String> {
    if text.trim().is_empty() {
        return Err(
            "say in a few words why they were lost, such as \"dried out\"; \"not known\" will do".to_owned()
        );
    }
    words(text)
}

/// A sentence or two on one line.
fn words(text: &str) -> Result<String, String> {
    line(text, 1_000)
}

/// Text of at most so many characters; line ends become blanks.
fn line(text: &str, most: usize) -> Result<String, String> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.is_empty() || text.chars().count() > most {
        return Err(format!("write 1 to {most} letters on one line"));
    }
    text::check(&text).map_err(|unfit| format!("{unfit}; {}", unfit.help()))?;
    Ok(text)
}
