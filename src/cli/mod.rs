//! The commands: what a person types, and what happens then. One file a command.
//!
//! Only here the clock is asked for today, the screen for its width and a person for patience.
//! Results go to standard output; progress and remarks go to standard error. Exit codes: 0 done,
//! 1 a problem in the user's data or plan, 2 wrong usage.

mod calendar;
mod changes;
mod check;
mod compare;
mod completions;
mod crops;
mod dates;
mod explain;
mod export;
mod failure;
mod folder;
mod journal;
mod labels;
mod learn;
mod new;
mod next;
mod numbers;
mod odds;
mod output;
mod patience;
mod plan;
mod record;
mod replan;
mod report;
mod review;
mod screen;
mod search;
mod sheets;
mod show;
mod sites;
mod status;
mod today;
mod week;
mod whatif;

use clap::{Args, CommandFactory, FromArgMatches, Parser, Subcommand, ValueEnum};
use screen::Screen;
use std::process::ExitCode;

/// Plans a term of sowings so that small school tanks yield salad greens every week.
#[derive(Debug, Parser)]
#[command(
    name = "sowtide",
    version,
    after_help = "A first term:\n  \
        sowtide new autumn        start a folder \"autumn\" with a term file to fill in\n  \
        sowtide check autumn      look for mistakes\n  \
        sowtide plan autumn       make the plan\n  \
        sowtide odds autumn       see how sure it is\n  \
        sowtide week autumn       see what to do this week\n  \
        sowtide sheets autumn     write sheets to print\n  \
        sowtide calendar autumn   write calendar files to subscribe to\n  \
        sowtide report autumn     write a page with charts to show around\n  \
        sowtide today autumn      see what to do today, after what was recorded\n  \
        sowtide record autumn     write down what really happened\n  \
        sowtide replan autumn     plan the rest again, after something failed\n  \
        sowtide review autumn     see how well the class estimated and harvested\n  \
        sowtide learn autumn      see what the records teach for the next term\n  \
        sowtide next autumn ...   go on to the next term\n\n\
        Every command explains itself: sowtide plan --help"
)]
struct Cli {
    #[command(flatten)]
    common: Common,
    #[command(subcommand)]
    command: Command,
}

/// Options of every command.
#[derive(Debug, Args)]
#[command(next_help_heading = "Options of every command")]
struct Common {
    /// Print results as JSON, for scripts
    #[arg(long, global = true)]
    json: bool,
    /// Print no progress and no remarks
    #[arg(long, short, global = true)]
    quiet: bool,
    /// Use colour
    #[arg(long, global = true, value_enum, value_name = "WHEN", default_value_t = Colour::Auto)]
    color: Colour,
    /// Show masses, lengths and temperatures in these units
    #[arg(long, global = true, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Colour {
    /// On a screen that can show it
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// Units to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum UnitsChoice {
    /// Grams, centimetres, degrees Celsius
    Metric,
    /// Ounces, inches, degrees Fahrenheit
    Us,
}

#[derive(Debug, Subcommand)]
enum Command {
    New(new::New),
    Check(check::Check),
    Plan(plan::Plan),
    Show(show::Show),
    Explain(explain::Explain),
    Odds(odds::Odds),
    Whatif(whatif::WhatIf),
    Week(week::Week),
    Sheets(sheets::Sheets),
    Calendar(calendar::Calendar),
    Report(report::Report),
    Record(record::Record),
    Journal(journal::Journal),
    Export(export::Export),
    Today(today::Today),
    Status(status::Status),
    Replan(replan::Replan),
    Review(review::Review),
    Learn(learn::Learn),
    Next(next::Next),
    Crops(crops::Crops),
    Compare(compare::Compare),
    Completions(completions::Completions),
}

/// Runs the command that was typed.
pub fn run() -> ExitCode {
    let cli = match typed() {
        Ok(cli) => cli,
        Err(error) => return screen::usage(error),
    };
    let screen = Screen::new(&cli.common);
    if let Err(failure) = dates::check_today() {
        return screen.fail(&failure);
    }
    let done = match cli.command {
        Command::New(command) => command.run(&screen),
        Command::Check(command) => command.run(&screen),
        Command::Plan(command) => command.run(&screen),
        Command::Show(command) => command.run(&screen),
        Command::Explain(command) => command.run(&screen),
        Command::Odds(command) => command.run(&screen),
        Command::Whatif(command) => command.run(&screen),
        Command::Week(command) => command.run(&screen),
        Command::Sheets(command) => command.run(&screen),
        Command::Calendar(command) => command.run(&screen),
        Command::Report(command) => command.run(&screen),
        Command::Record(command) => command.run(&screen),
        Command::Journal(command) => command.run(&screen),
        Command::Export(command) => command.run(&screen),
        Command::Today(command) => command.run(&screen),
        Command::Status(command) => command.run(&screen),
        Command::Replan(command) => command.run(&screen),
        Command::Review(command) => command.run(&screen),
        Command::Learn(command) => command.run(&screen),
        Command::Next(command) => command.run(&screen),
        Command::Crops(command) => command.run(&screen),
        Command::Compare(command) => command.run(&screen),
        Command::Completions(command) => command.run(&screen),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => screen.fail(&failure),
    }
}

/// What was typed.
fn typed() -> Result<Cli, clap::Error> {
    let mut command = with_numbers_below_zero(Cli::command());
    let matches = command.try_get_matches_from_mut(std::env::args_os())?;
    Cli::from_arg_matches(&matches).map_err(|error| error.format(&mut command))
}

/// A number below zero behind an option is a value like any other, so that the option itself says what it takes.
fn with_numbers_below_zero(command: clap::Command) -> clap::Command {
    let options = command.mut_args(|arg| {
        let numbers = arg.get_action().takes_values() && !arg.is_positional();
        if numbers { arg.allow_negative_numbers(true) } else { arg }
    });
    options.mut_subcommands(with_numbers_below_zero)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }
}
