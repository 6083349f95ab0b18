//! How full a week is, as a table above its serving days.

use crate::domain::explain::{SiteWeek, WeekExplained};
use crate::domain::plan::Plan;
use crate::domain::term::Term;
use crate::report::grid::Grid;
use crate::report::look::{Look, Mood};
use crate::report::words::{day, site_name};

/// What is in use at each site, and each serving day.
pub fn week(explained: &WeekExplained, term: &Term, plan: &Plan, look: &Look) -> String {
    let week = explained.week;
    let heading = format!("Week {}, {} to {}", week.number(), day(week.monday()), day(week.sunday()));
    let mut text = look.paint(Mood::Heading, &heading);
    text += "\n";
    text += &sites(&explained.sites, term, look);
    if explained.days.is_empty() {
        return text + &look.wrap("Nothing is served in this week.");
    }
    for day in &explained.days {
        text += "\n";
        text += &super::of_day(day, term, plan, look);
    }
    text
}

fn sites(sites: &[SiteWeek], term: &Term, look: &Look) -> String {
    let headings = ["Site", "Class", "Tasks", "Most cells in use", "Most holes taken"];
    let mut grid = Grid::new(look, &headings).right(&[2, 3, 4]);
    for site in sites {
        let class: Vec<String> = site.class_days.iter().map(|day| day.format("%a").to_string()).collect();
        let off = (!site.days_off.is_empty()).then(|| site.days_off.join(", "));
        let class = (!class.is_empty()).then(|| class.join(", "));
        let class = class.into_iter().chain(off).collect::<Vec<_>>().join("; ");
        grid.row([
            site_name(term, &site.site).to_owned(),
            if class.is_empty() { "none".to_owned() } else { class },
            site.tasks.to_string(),
            format!("{} of {}", site.in_use.cells, site.cells),
            format!("{} of {}", site.in_use.holes.holes, site.holes),
        ]);
    }
    grid.draw(look)
}
