//! The term on one page: weeks across, tanks down, batches as bars from seed to last harvest. Where the tanks are many
//! or the weeks do not fit, as many pages as needed, their headings repeated.

mod chart;
mod serving;

use super::Setting;
use super::page::{Sheet, Turn};
use crate::domain::calendar::{DateSpan, Week, days_between};
use crate::domain::growth::Way;
use crate::domain::plan::{Batch, Part};
use crate::domain::site::{Site, Tank};
use crate::report::cautions::LOCAL_RULES;
use crate::report::words::{crop_name, long_day};
use chrono::NaiveDate;
use maud::html;
use std::collections::{BTreeMap, BTreeSet};

/// Letters of 8 pt, in mm, and their width, a wide font taken.
const LETTERS: f64 = 8.0 * 25.4 / 72.0;
const LETTER_WIDTH: f64 = LETTERS * 0.62;
/// Height of a bar's lane, of a site's heading and of the weeks' heading, mm.
const LANE: f64 = 4.8;
const SITE_HEAD: f64 = 5.6;
const WEEK_HEAD: f64 = 8.6;
/// Room for the names of tanks, mm.
const TANK_NAMES: f64 = 24.0;
/// What title, legend and rules take of a page, mm.
const AROUND: f64 = 40.0;
/// Most weeks on a page.
const WEEKS: usize = 27;

/// A batch in a tank.
struct Bar<'a> {
    batch: &'a Batch,
    /// When it was sown, unless it stood there when the term began.
    sown: Option<NaiveDate>,
    moved: Vec<NaiveDate>,
    harvests: BTreeMap<NaiveDate, Way>,
    /// When plants of it were lost.
    lost: BTreeSet<NaiveDate>,
    /// Whether any of it comes into the tank.
    planted: bool,
}

/// One line of the drawing.
enum Row<'a> {
    Site { site: &'a Site, again: bool },
    Lane { site: &'a Site, tank: &'a Tank, first: bool, bars: Vec<Bar<'a>> },
}

impl Row<'_> {
    fn height(&self) -> f64 {
        match self {
            Self::Site { .. } => SITE_HEAD,
            Self::Lane { .. } => LANE,
        }
    }
}

/// Weeks of a page and how wide they are.
#[derive(Clone, Copy)]
struct Scale {
    span: DateSpan,
    day_width: f64,
}

impl Scale {
    fn x(self, day: NaiveDate) -> f64 {
        TANK_NAMES + days_between(self.span.first, day) as f64 * self.day_width
    }

    /// Middle of a day, kept on the page.
    fn middle(self, day: NaiveDate) -> f64 {
        (self.x(day) + self.day_width / 2.0).clamp(TANK_NAMES + 1.7, self.width() - 1.7)
    }

    fn width(self) -> f64 {
        TANK_NAMES + self.span.len_days() as f64 * self.day_width
    }
}

/// The sheets of these sites.
pub(super) fn sheets(setting: &Setting<'_>, sites: &[&Site]) -> Vec<Sheet> {
    let (width, height) = setting.wish.paper.room(Turn::Landscape);
    let mut sheets = Vec::new();
    for span in pages_of_weeks(setting) {
        // A hair less than the page, so that rounding does not push the last week over the edge.
        let day_width = (width - TANK_NAMES - 1.0) / span.len_days() as f64;
        let scale = Scale { span, day_width };
        let head = WEEK_HEAD + serving::height(setting, scale);
        for rows in pages_of_rows(rows(setting, sites, scale), height - AROUND - head) {
            let when = format!("{} to {}", long_day(setting.term.start), long_day(setting.term.own_end()));
            let body = html! {
                (chart::drawing(setting, &rows, scale, head))
                (serving::legend(setting, scale))
                (chart::legend(setting.plan.batches.iter().any(|batch| batch.lost() > 0)))
                p { (LOCAL_RULES) }
            };
            let title = format!("The term at a glance, {}", setting.term.name);
            sheets.push(Sheet { turn: Turn::Landscape, ..Sheet::new(title, when, body) });
        }
    }
    sheets
}

/// The term's weeks, in equal stretches that fit a page.
fn pages_of_weeks(setting: &Setting<'_>) -> Vec<DateSpan> {
    let mut weeks = vec![Week::of(setting.term.start)];
    while let Some(last) = weeks.last().copied().filter(|week| week.sunday() < setting.term.own_end()) {
        weeks.push(last.next());
    }
    let pages = weeks.len().div_ceil(WEEKS);
    weeks
        .chunks(weeks.len().div_ceil(pages))
        .filter_map(|weeks| Some(DateSpan { first: weeks.first()?.monday(), last: weeks.last()?.sunday() }))
        .collect()
}

fn rows<'a>(setting: &Setting<'a>, sites: &[&'a Site], scale: Scale) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    for site in sites {
        rows.push(Row::Site { site, again: false });
        for tank in &site.tanks {
            for (index, bars) in lanes(setting, site, tank, scale).into_iter().enumerate() {
                rows.push(Row::Lane { site, tank, first: index == 0, bars });
            }
        }
    }
    rows
}

/// Batches of a tank in as few lanes as they need; one empty lane if there are none.
fn lanes<'a>(setting: &Setting<'a>, site: &Site, tank: &Tank, scale: Scale) -> Vec<Vec<Bar<'a>>> {
    let mut bars: Vec<Bar<'a>> = setting
        .plan
        .batches
        .iter()
        .filter(|batch| batch.site == site.id)
        .filter_map(|batch| bar(setting, batch, tank))
        .filter(|bar| bar.from() <= scale.span.last && scale.span.first <= bar.to())
        .collect();
    bars.sort_by(|a, b| (a.from(), &a.batch.id).cmp(&(b.from(), &b.batch.id)));
    let mut lanes: Vec<(f64, Vec<Bar<'a>>)> = Vec::new();
    for bar in bars {
        let (from, to) = (scale.x(bar.from()), bar.reach(setting, scale) + 1.0);
        match lanes.iter_mut().find(|(end, _)| *end <= from) {
            Some((end, lane)) => {
                *end = to;
                lane.push(bar);
            }
            None => lanes.push((to, vec![bar])),
        }
    }
    if lanes.is_empty() {
        return vec![Vec::new()];
    }
    lanes.into_iter().map(|(_, bars)| bars).collect()
}

fn bar<'a>(setting: &Setting<'_>, batch: &'a Batch, tank: &Tank) -> Option<Bar<'a>> {
    let parts: Vec<&Part> = batch.parts.iter().filter(|part| part.tank == tank.id).collect();
    if parts.is_empty() {
        return None;
    }
    let start = setting.term.start;
    let planted = || parts.iter().filter(|part| !part.lost_in_nursery());
    let mut moved: Vec<NaiveDate> =
        planted().map(|part| part.transplant).filter(|day| *day >= start && *day != batch.sown).collect();
    moved.sort_unstable();
    moved.dedup();
    let mut harvests = BTreeMap::new();
    for harvest in parts.iter().flat_map(|part| &part.harvests) {
        // Where some plants are pulled and others cut, the cut shows that the batch goes on.
        let way = harvests.entry(harvest.date).or_insert(harvest.way);
        *way = (*way).min(harvest.way);
    }
    let sown = (!batch.is_standing()).then_some(batch.sown);
    let lost = parts.iter().filter_map(|part| part.lost).collect();
    Some(Bar { batch, sown, moved, harvests, lost, planted: planted().next().is_some() })
}

impl Bar<'_> {
    fn from(&self) -> NaiveDate {
        self.sown.or(self.moved.first().copied()).unwrap_or(NaiveDate::MIN)
    }

    fn to(&self) -> NaiveDate {
        let ends = [self.harvests.keys().next_back(), self.lost.last()];
        ends.into_iter().flatten().max().copied().unwrap_or(NaiveDate::MAX)
    }

    /// Left end of the box, on the page.
    fn box_from(&self, scale: Scale) -> f64 {
        match self.moved.first() {
            Some(day) => scale.middle(*day),
            None if self.planted => TANK_NAMES,
            None => self.box_to(scale),
        }
    }

    fn box_to(&self, scale: Scale) -> f64 {
        scale.middle(self.to().min(scale.span.last))
    }

    /// Its name and where it begins: in the box, as much of it as fits before the first harvest; behind the bar if not
    /// even the id fits.
    fn label(&self, setting: &Setting<'_>, scale: Scale) -> (String, f64) {
        let harvest = self.harvests.keys().find(|day| **day >= scale.span.first);
        let moved = self.moved.iter().rfind(|day| harvest.is_none_or(|harvest| *day < harvest));
        let begin = if self.planted { TANK_NAMES + 0.8 } else { self.box_to(scale) + 2.4 };
        let first = moved.map_or(begin, |day| scale.middle(*day) + 2.4);
        let last = harvest.map_or(scale.width(), |day| scale.middle(*day)) - 2.2;
        let id = self.batch.id.as_str();
        let fits = ((last - first) / LETTER_WIDTH).max(0.0) as usize;
        let full = format!("{id} {}", crop_name(setting.term, &self.batch.crop));
        if full.chars().count() <= fits {
            (full, first)
        } else if id.len() + 4 <= fits {
            (full.chars().take(fits - 1).chain(['.']).collect(), first)
        } else if id.len() <= fits {
            (id.to_owned(), first)
        } else {
            (id.to_owned(), self.box_to(scale) + 2.4)
        }
    }

    /// Right end of all that is drawn of it.
    fn reach(&self, setting: &Setting<'_>, scale: Scale) -> f64 {
        let (label, from) = self.label(setting, scale);
        (self.box_to(scale) + 1.8).max(from + label.chars().count() as f64 * LETTER_WIDTH)
    }
}

/// Rows in pages of this height. A page that begins in the middle of a site repeats its heading, and no page ends
/// with one.
fn pages_of_rows(rows: Vec<Row<'_>>, height: f64) -> Vec<Vec<Row<'_>>> {
    let mut pages: Vec<Vec<Row<'_>>> = Vec::new();
    let mut page: Vec<Row<'_>> = Vec::new();
    let mut used = 0.0;
    for row in rows {
        let needed = if matches!(row, Row::Site { .. }) { SITE_HEAD + LANE } else { LANE };
        if used + needed > height && !page.is_empty() {
            pages.push(std::mem::take(&mut page));
            used = 0.0;
        }
        if let (Row::Lane { site, .. }, true) = (&row, page.is_empty()) {
            page.push(Row::Site { site, again: true });
            used += SITE_HEAD;
        }
        used += row.height();
        page.push(row);
    }
    pages.push(page);
    pages
}
