//! Sowings in a steady rhythm, as people keep them in mind: which crop, where, on which weekday, how many plugs.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{crop_name, short_day, site_name};
use crate::domain::calendar::plus_days;
use crate::domain::ids::{CropId, SiteId};
use crate::domain::plan::{Batch, Plan};
use crate::domain::term::{LEAST_IN_RHYTHM, Rhythm, Term};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Sowings of a crop at a site in one rhythm.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Series<'a> {
    /// Where.
    pub site: &'a SiteId,
    /// What.
    pub crop: &'a CropId,
    /// How many plugs each time.
    pub plugs: u32,
    /// The days, in order; never empty.
    pub sown: Vec<NaiveDate>,
    /// Days of the rhythm between the first one that the plan decided on and the last one on which nothing is sown.
    pub left_out: Vec<NaiveDate>,
}

/// What a plan sows in rhythm, by site and crop as the term file lists them; nothing if it need not keep one. What was sown
/// otherwise before the plan was made anew stands for itself.
pub fn series<'a>(term: &Term, plan: &'a Plan) -> Vec<Series<'a>> {
    let Rhythm::Steady { every } = term.rules.rhythm else { return Vec::new() };
    let site = |id: &SiteId| term.sites.iter().position(|site| site.id == *id);
    let crop = |id: &CropId| term.crops.iter().position(|wanted| wanted.crop.id == *id);
    let mut places: BTreeMap<_, Vec<&Batch>> = BTreeMap::new();
    for batch in plan.batches.iter().filter(|batch| batch.origin.is_sown()) {
        places.entry((site(&batch.site), crop(&batch.crop))).or_default().push(batch);
    }
    let mut all = Vec::new();
    for mut sown in places.into_values() {
        sown.sort_by_key(|batch| batch.sown);
        let alike = |one: &&Batch, other: &&Batch| {
            (one.plugs, one.origin) == (other.plugs, other.origin) && goes_on(one.sown, other.sown, every)
        };
        all.extend(sown.chunk_by(alike).map(|row| one_series(row, every, plan.replanned)));
    }
    all
}

fn goes_on(one: NaiveDate, other: NaiveDate, every: u32) -> bool {
    one < other && (other - one).num_days() % (7 * i64::from(every)) == 0
}

fn one_series<'a>(row: &[&'a Batch], every: u32, replanned: Option<NaiveDate>) -> Series<'a> {
    let (first, last) = (row[0], row[row.len() - 1]);
    let sown: Vec<NaiveDate> = row.iter().map(|batch| batch.sown).collect();
    let beats = std::iter::successors(Some(first.sown), |day| {
        Some(plus_days(*day, 7 * every)).filter(|next| next > day)
    });
    // What was not sown before the plan was made anew may have been forgotten.
    let planned = sown.iter().find(|day| replanned.is_none_or(|from| **day >= from)).copied();
    let is_left_out = |day: &NaiveDate| planned.is_some_and(|first| *day > first) && !sown.contains(day);
    let left_out = beats.take_while(|day| *day < last.sown).filter(is_left_out).collect();
    Series { site: &first.site, crop: &first.crop, plugs: first.plugs, sown, left_out }
}

/// The table, with a word on what is left out; nothing if sowings need not keep a rhythm, or there are none.
pub fn table(term: &Term, plan: &Plan, look: &Look) -> Option<String> {
    let Rhythm::Steady { every } = term.rules.rhythm else { return None };
    let headings = ["Site", "Crop", "Day", "Plugs", "Times", "From", "To", "Left out"];
    let mut grid = Grid::new(look, &headings).right(&[3, 4]);
    let all = series(term, plan);
    if all.is_empty() {
        return None;
    }
    for series in &all {
        let (first, last) = (series.sown[0], series.sown[series.sown.len() - 1]);
        let left_out: Vec<String> = series.left_out.iter().map(|day| short_day(*day)).collect();
        grid.row([
            site_name(term, series.site).to_owned(),
            crop_name(term, series.crop).to_owned(),
            first.format("%a").to_string(),
            series.plugs.to_string(),
            series.sown.len().to_string(),
            short_day(first),
            if last > first { short_day(last) } else { String::new() },
            left_out.join(", "),
        ]);
    }
    let often = if every == 1 { "every week".to_owned() } else { format!("every {every} weeks") };
    let heading = look.paint(Mood::Heading, &format!("Sowings in a steady rhythm, {often}"));
    let mut note =
        "Left out are days without class, and sowings of which nothing could be served.".to_owned();
    if plan.replanned.is_none() {
        note = format!(
            "{note} Each is sown at least {LEAST_IN_RHYTHM} times, or as often as days and room allow."
        );
    }
    Some(format!("{heading}\n{}\n{}", grid.draw(look), look.wrap(&note)))
}
