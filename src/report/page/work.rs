//! Work week by week.

use super::charts::{self, Column, Columns, Figure, Segment, Table, figure, key};
use super::{Page, break_key, common_breaks};
use crate::report::words::{counted, short_day};
use crate::report::work::TaskKind;
use crate::report::workload::{KINDS, WeekWork, weeks};
use maud::{Markup, html};

pub(super) fn part(page: &Page) -> Markup {
    let weeks = weeks(page.term, page.plan);
    let breaks = common_breaks(page.term);
    let chart = Columns {
        unit: "minutes, all sites together",
        weeks: weeks.iter().map(column).collect(),
        breaks: breaks.clone(),
    };
    let minutes = page.term.rules.minutes;
    let below = html! {
        ul.keys {
            (key(charts::SOW, "sow"))
            (key(charts::TRANSPLANT, "transplant"))
            (key(charts::HARVEST, "harvest"))
            (break_key(&breaks))
        }
        p.under {
            "Counted with " (minutes.sow) " min for a plug sown, " (minutes.transplant) " min for a plant moved and "
            (minutes.harvest) " min for a plant harvested."
        }
    };
    figure(
        &Figure {
            id: "work-chart",
            heading: "Minutes of work by week",
            title: "Minutes of work by week",
            description: &description(&weeks),
            below,
            table: table(&weeks),
        },
        &chart.draw(),
    )
}

fn column(week: &WeekWork) -> Column {
    let stack = KINDS
        .iter()
        .map(|&kind| {
            let load = week.load(kind);
            let ink = match kind {
                TaskKind::Sow => charts::SOW,
                TaskKind::Transplant => charts::TRANSPLANT,
                TaskKind::Harvest => charts::HARVEST,
            };
            Segment {
                value: load.minutes,
                ink: ink.to_owned(),
                striped: false,
                label: String::new(),
                hover: format!("{kind}: {}, {:.0} min", counted(load.tasks, "task"), load.minutes),
            }
        })
        .collect();
    let minutes = week.minutes();
    let mark = if minutes > 0.0 { format!("{minutes:.0}") } else { String::new() };
    Column { week: week.week, stack, target: 0.0, surplus: 0.0, band: None, mark }
}

fn description(weeks: &[WeekWork]) -> String {
    let all: f64 = weeks.iter().map(WeekWork::minutes).sum();
    let fullest = weeks.iter().reduce(|most, next| if next.minutes() > most.minutes() { next } else { most });
    let most = fullest.map_or_else(String::new, |week| {
        format!(" The fullest week begins on {}, with {:.0}.", short_day(week.week.monday()), week.minutes())
    });
    format!("A column for each of {} weeks, {all:.0} minutes in all.{most}", weeks.len())
}

fn table(weeks: &[WeekWork]) -> Table {
    let mut head = vec!["Week of".to_owned(), "Class visits".to_owned()];
    for kind in KINDS {
        head.extend([format!("Tasks: {kind}"), format!("Minutes: {kind}")]);
    }
    head.push("Minutes in all".to_owned());
    let rows = weeks
        .iter()
        .map(|week| {
            let mut row = vec![short_day(week.week.monday()), week.visits.to_string()];
            for kind in KINDS {
                let load = week.load(kind);
                row.extend([load.tasks.to_string(), format!("{:.0}", load.minutes)]);
            }
            row.push(format!("{:.0}", week.minutes()));
            row
        })
        .collect();
    Table { head, words: 0, rows }
}
