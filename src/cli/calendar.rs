//! `sowtide calendar`: calendar files for all sites together, for each, and for each kind of work.

use super::failure::Failure;
use super::folder::Folder;
use super::numbers;
use super::odds::usual_luck;
use super::screen::Screen;
use crate::domain::published::Tally;
use crate::files::store::Store;
use crate::report::ical::{Alarm, Wishes};
use crate::report::json;
use chrono::{NaiveTime, Timelike};
use clap::Args;

const MINUTES_A_DAY: i32 = 24 * 60;

/// Write calendar files (.ics) for all sites together, for each site and for each kind of work
///
/// The files go to the folder "out" beside the term file: all-sites.ics, site-NAME.ics for each site, sowing.ics,
/// transplanting.ics, harvest.ics, and serving.ics with what to expect on serving days and how sure it is. Put them where people can subscribe to them and write them again, with the
/// same options, after each planning: events keep their identity, so that subscribed calendars change in place,
/// and work that is no longer planned is called off. What was published is remembered in calendar.yaml.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide calendar autumn\n  \
        sowtide calendar autumn --breaks --alarm 7:30   with breaks, and a reminder on each morning\n  \
        sowtide calendar autumn --alarm 18:00 --days-before 1   a reminder the evening before")]
pub(super) struct Calendar {
    #[command(flatten)]
    folder: Folder,
    /// Remind of each task at this time of its day. Some programs ignore reminders of calendars they subscribe to
    #[arg(long, value_name = "TIME", value_parser = time)]
    alarm: Option<NaiveTime>,
    /// Remind so many days before
    #[arg(long, value_name = "DAYS", requires = "alarm", default_value_t = 0,
          value_parser = numbers::whole::<i32>(0..=14))]
    days_before: i32,
    /// Put breaks and closures into the calendars of sites, too
    #[arg(long)]
    breaks: bool,
}

impl Calendar {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let files = self.folder.disk();
        let published = screen.desk(&files).publish(&self.wishes(screen), usual_luck())?;
        for remark in published.misfit.iter().chain(&published.overtaken) {
            screen.remark(remark);
        }
        for name in &published.left {
            screen.remark(&format!(
                "{} was not written again: there is no work for it any more. Remove it, so that nobody works by it.",
                files.shown(name)
            ));
        }
        screen.remark(&told(published.tally, published.first));
        let paths: Vec<String> = published.names.iter().map(|name| files.shown(name)).collect();
        if screen.json {
            screen.result(&json::calendars(&paths, published.tally))
        } else {
            screen.result(&format!("{}\n", paths.join("\n")))
        }
    }

    fn wishes(&self, screen: &Screen) -> Wishes<'static> {
        let minutes = |time: NaiveTime| (time.hour() * 60 + time.minute()) as i32;
        Wishes {
            units: screen.look.units,
            alarm: self.alarm.map(|time| Alarm { minutes: minutes(time) - self.days_before * MINUTES_A_DAY }),
            breaks: self.breaks,
            serving: None,
        }
    }
}

/// What the export changes for people who subscribed.
fn told(tally: Tally, first: bool) -> String {
    let Tally { new, changed, again, cancelled, kept } = tally;
    if first {
        return format!("Events: {new}.");
    }
    let again = if again == 0 { String::new() } else { format!(" {again} planned again,") };
    format!("Events: {new} new, {changed} changed,{again} {cancelled} called off, {kept} as before.")
}

/// Reads a time of day such as 7:30.
fn time(text: &str) -> Result<NaiveTime, String> {
    NaiveTime::parse_from_str(text, "%H:%M")
        .map_err(|_| "write a time of day such as 7:30 or 18:00".to_owned())
}
