//! Ways to grow crops, side by side: what is ahead in two sentences, a table, and bars.

mod numbers;

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{and, counted, site_name};
use crate::domain::compare::{Comparison, Estimate, Grown, Measure, Misfit, Style, Verdict};
use crate::domain::crop::{Crop, Limits};
use crate::domain::site::CropHere;
use crate::domain::term::{Term, WayWish};
use numbers::{days, few, grams, grams_between};
use std::fmt;
use tabled::grid::util::string::get_line_width;

/// Characters of the longest bar, if the line has room for it.
const LONGEST_BAR: usize = 50;
/// And if it has not.
const SHORTEST_BAR: usize = 10;
/// What is done with a crop that is not grown to size and not cut again.
const PULLED: &str = "pulled once";
/// How many times as much is no longer told as so many percent more.
const TIMES: f64 = 1.95;

/// What is compared, at one group of sites after another, and what the figures mean.
pub fn text(found: &[Comparison], term: &Term, crops: &[&Crop], plants: u32, look: &Look) -> String {
    let teller = Teller { term, crops, look };
    let mut text = String::new();
    for comparison in found {
        text.push_str(&teller.at_sites(comparison));
        text.push('\n');
    }
    for sentence in teller.meaning(found, plants) {
        text.push_str(&look.wrap(&look.paint(Mood::Quiet, &sentence)));
    }
    text
}

struct Teller<'a> {
    term: &'a Term,
    crops: &'a [&'a Crop],
    look: &'a Look,
}

impl Teller<'_> {
    fn at_sites(&self, here: &Comparison) -> String {
        let mut text = format!("{}\n", self.heading(here));
        text.push_str(&self.grows(here).map_or_else(String::new, |grows| self.look.wrap(&grows)));
        text.push('\n');
        for sentence in self.sentences(here) {
            text.push_str(&self.look.wrap(&sentence));
        }
        if here.ways.is_empty() {
            return text;
        }
        text.push('\n');
        text.push_str(&self.table(here));
        for measure in told_of(here) {
            text.push_str(&self.bars(here, measure));
        }
        text
    }

    fn heading(&self, here: &Comparison) -> String {
        let names: Vec<String> = self.crops.iter().map(|crop| crop.name.clone()).collect();
        let sites: Vec<String> =
            here.sites.iter().map(|site| site_name(self.term, site).to_owned()).collect();
        self.look
            .wrap(&self.look.paint(Mood::Heading, &format!("{} at {}", and(&names), and(&sites))))
            .trim_end()
            .to_owned()
    }

    /// How plants grow at these sites, if otherwise than the library says.
    fn grows(&self, here: &Comparison) -> Option<String> {
        let site = self.term.site(here.sites.first()?)?;
        let told: Vec<(&Crop, Option<String>)> =
            self.crops.iter().map(|crop| (*crop, factors(site.crop_here(&crop.id)))).collect();
        if let [(_, first), others @ ..] = &told[..]
            && others.iter().all(|(_, other)| other == first)
        {
            return first.as_ref().map(|factors| format!("Against the library, everything here {factors}."));
        }
        let told = told.into_iter().filter_map(|(crop, told)| Some(format!("{} here {}", crop.id, told?)));
        Some(format!("Against the library, {}.", and(&told.collect::<Vec<_>>())))
    }

    /// What is ahead at what, what does not fit, and on how many days nothing is left.
    fn sentences(&self, here: &Comparison) -> Vec<String> {
        let verdicts = told_of(here).map(|measure| here.verdict(measure));
        let mut told: Vec<String> = verdicts.iter().flatten().map(|verdict| self.verdict(verdict)).collect();
        if told.is_empty() {
            told.extend(self.crops.iter().filter_map(|crop| no_choice(here, crop)));
        }
        told.extend(self.crops.iter().filter_map(|crop| without(here, crop)));
        told.extend(self.crops.iter().filter_map(|crop| wide(here, crop)));
        told.extend(self.crops.iter().filter_map(|crop| self.bound(crop)));
        let of = |id: &_| self.crops.iter().find(|crop| crop.id == *id);
        told.extend(here.misfits.iter().filter_map(|(id, misfit)| Some(misfitting(of(id)?, *misfit))));
        told
    }

    fn verdict(&self, verdict: &Verdict<'_>) -> String {
        let (more, less) = (verdict.more.usual, verdict.less.usual);
        let [more, less] = [more, less].map(|figure| grams(figure, self.look));
        let (ahead, behind) = (self.with(verdict.ahead), self.with(verdict.behind));
        let outcome = outcome(verdict);
        match verdict.measure {
            Measure::HoleDay => format!("A hole gives {more} a day {ahead}, {less} {behind}: {outcome}."),
            Measure::Seed => format!("A seed gives {more} {ahead}, {less} {behind}: {outcome}."),
            Measure::Minute => {
                format!("A minute of class work gives {more} {ahead}, {less} {behind}: {outcome}.")
            }
        }
    }

    /// That the term file asks for one way only.
    fn bound(&self, crop: &Crop) -> Option<String> {
        let asked = match self.term.crop(&crop.id)?.way {
            WayWish::Either => return None,
            WayWish::WholeHead => "whole heads",
            WayWish::Cut => "cut and come again",
        };
        Some(format!("The term file asks for {} as {asked}; plans know no other way.", crop.id))
    }

    /// A way within a sentence.
    fn with(&self, way: &Grown) -> String {
        let style = self.style(way);
        match way.style {
            _ if self.crops.len() > 1 => format!("with {} ({style})", way.crop),
            Style::Pulled if style == PULLED => style,
            _ => format!("with {style}"),
        }
    }

    /// A way in front of a bar.
    fn label(&self, way: &Grown) -> String {
        let style = self.style(way);
        if self.crops.len() > 1 { format!("{}, {style}", way.crop) } else { style }
    }

    fn style(&self, way: &Grown) -> String {
        let to_size = self.crops.iter().any(|crop| crop.id == way.crop && crop.whole_head.is_some());
        match way.style {
            Style::Pulled if to_size => "whole heads".to_owned(),
            Style::Pulled => PULLED.to_owned(),
            Style::Cut(cuts) => counted(cuts, "cut"),
        }
    }

    fn table(&self, here: &Comparison) -> String {
        let headings = ["Way", "Nursery", "Tank", "First", "Lasts", "Hole a day", "Seed", "Minute"];
        let mut grid = Grid::new(self.look, &headings).right(&[1, 2, 3, 4, 5, 6, 7]);
        for way in &here.ways {
            grid.row(self.row(way));
        }
        grid.draw(self.look)
    }

    fn row(&self, way: &Grown) -> [String; 8] {
        let mass = |figure: Estimate| {
            format!("{}\n{}", grams(figure.usual, self.look), grams_between(figure, self.look))
        };
        [
            self.way(way),
            if way.nursery_days.usual > 0.0 { days(way.nursery_days) } else { "-".to_owned() },
            days(way.tank_days),
            days(way.first_greens_days),
            days(way.greens_days),
            mass(way.hole_day_grams),
            mass(way.seed_grams),
            way.minute_grams.map_or("-".to_owned(), mass),
        ]
    }

    /// A way with the days of its harvests.
    fn way(&self, way: &Grown) -> String {
        let ages: Vec<String> = way.harvest_days.iter().map(u32::to_string).collect();
        format!("{}\nday {}", self.label(way), ages.join(", "))
    }

    /// A bar for each way: solid as far as nine batches in ten get, then to what plans count on, then to what one in ten goes
    /// beyond. Nothing if there is but one.
    fn bars(&self, here: &Comparison, measure: Measure) -> String {
        let bars: Vec<(String, Estimate)> =
            here.ways.iter().filter_map(|way| Some((self.label(way), way.measured(measure)?))).collect();
        if bars.len() < 2 {
            return String::new();
        }
        let labels = bars.iter().map(|(label, _)| get_line_width(label)).max().unwrap_or(0);
        let figures: Vec<String> = bars.iter().map(|(_, figure)| grams(figure.usual, self.look)).collect();
        let widest = figures.iter().map(|figure| get_line_width(figure)).max().unwrap_or(0);
        let room = self.look.width.saturating_sub(labels + widest + 4).clamp(SHORTEST_BAR, LONGEST_BAR);
        let most = bars.iter().map(|(_, figure)| figure.high.max(figure.usual)).fold(0.0, f64::max);
        let lines: Vec<String> = bars
            .iter()
            .zip(&figures)
            .map(|((label, figure), shown)| {
                let bar = bar(*figure, most, room);
                format!("{label:labels$}  {shown:>widest$}  {bar}").trim_end().to_owned()
            })
            .collect();
        let title = match measure {
            Measure::HoleDay => "From a hole in a day",
            Measure::Seed => "From a seed",
            Measure::Minute => "From a minute of class work",
        };
        format!("\n{}\n{}\n", self.look.paint(Mood::Heading, title), lines.join("\n"))
    }

    /// What the figures mean, once for all sites.
    fn meaning(&self, found: &[Comparison], plants: u32) -> Vec<String> {
        if found.iter().all(|here| here.ways.is_empty()) {
            return Vec::new();
        }
        let published: Vec<String> = self.crops.iter().map(|crop| published(crop)).collect();
        vec![
            "Days: of the harvests, counted from sowing, the last of which pulls the plant; then days in the nursery, in the tank, \
             until the first greens, and from these until the last may be eaten. They are the usual ones of the crop at the site, \
             as if classes met every day."
                .to_owned(),
            "Masses: ready to eat, of all harvests together, losses taken off; for each hole and day, for each seed sown, for each \
             minute of sowing, moving and harvesting."
                .to_owned(),
            format!(
                "Below them: where 8 of 10 batches of {plants} plants lie, as seedlings, plants, tanks and batches of the crop vary. \
                 Masses are those on the days said, days those until a batch weighs as much. Bars: # is what 9 of 10 batches give, \
                 = goes on to what plans count on, - to what 1 of 10 exceeds."
            ),
            format!(
                "Tanks in trouble are left out. Figures may be off themselves: of those that decide a plan, {} are published \
                 (sowtide crops show).",
                and(&published)
            ),
        ]
    }
}

/// What sentences and bars are about: holes, and work or, where that takes no time, seed.
fn told_of(here: &Comparison) -> [Measure; 2] {
    let timed = here.ways.iter().any(|way| way.minute_grams.is_some());
    [Measure::HoleDay, if timed { Measure::Minute } else { Measure::Seed }]
}

/// Days and mass of a crop at a site against the library's, if they differ.
fn factors(here: CropHere) -> Option<String> {
    let differs = |factor: f64| (factor - 1.0).abs() > 1e-9;
    let days = format!("takes {} times the days", here.pace);
    match (differs(here.pace), differs(here.yield_factor)) {
        (false, false) => None,
        (true, false) => Some(days),
        (_, true) => Some(format!("{days} and gives {} times the mass", here.yield_factor)),
    }
}

/// How well known a crop is.
fn published(crop: &Crop) -> String {
    let (published, all) = crop.published();
    format!("{published} of {all} for {}", crop.id)
}

/// Who is ahead by how much, and how surely.
fn outcome(verdict: &Verdict<'_>) -> String {
    if verdict.too_close() {
        return "too close to call".to_owned();
    }
    let ratio = verdict.ratio();
    let more = if ratio < TIMES {
        format!("{:.0}% more", 100.0 * (ratio - 1.0))
    } else {
        format!("{} times as much", few(ratio))
    };
    if !verdict.more.overlaps(&verdict.less) {
        return more;
    }
    let tenths = (10.0 * verdict.chance()).round().min(9.0);
    format!("{more}, and ahead in about {tenths:.0} of 10 cases, as batches vary")
}

/// That a crop is harvested in one way only.
fn no_choice(here: &Comparison, crop: &Crop) -> Option<String> {
    let mut ways = here.ways.iter().filter(|way| way.crop == crop.id);
    let once = ways.next().is_some_and(|way| way.style == Style::Pulled) && ways.next().is_none();
    (once && crop.regrowth.is_none())
        .then(|| format!("{} is harvested once, so there are no ways to choose between.", crop.name))
}

/// That leaves of one cut do not keep until the next.
fn without(here: &Comparison, crop: &Crop) -> Option<String> {
    let own = here.ways.iter().filter(|way| way.crop == crop.id && way.without_days > 0);
    let longest = own.max_by_key(|way| way.without_days)?;
    let cuts = longest.harvest_days.len() as u32 - 1;
    Some(format!(
        "Cut leaves of {} keep {}: with {}, {} of {:.0} days are without greens, unless another batch has some.",
        crop.id,
        counted(crop.cut_shelf_life.value, "day"),
        counted(cuts, "cut"),
        longest.without_days,
        longest.greens_days.usual,
    ))
}

/// That a plant takes more than one hole.
fn wide(here: &Comparison, crop: &Crop) -> Option<String> {
    let way = here.ways.iter().find(|way| way.crop == crop.id && way.holes > 1)?;
    Some(format!("A plant of {} takes {} holes here.", crop.id, way.holes))
}

fn misfitting(crop: &Crop, misfit: Misfit) -> String {
    let name = &crop.name;
    match misfit {
        Misfit::Room => format!("{name} is not compared: no lid here has room for its plants."),
        Misfit::Days => format!("{name} is not compared: its usual days do not fit together here."),
        Misfit::Solution => format!(
            "No tank here suits {} (it likes pH {}, EC {} mS/cm); the figures hold where one does.",
            crop.id,
            range(&crop.ph.value),
            range(&crop.ec.value),
        ),
    }
}

fn range<T: fmt::Display>(limits: &Limits<T>) -> String {
    format!("{} to {}", limits.low, limits.high)
}

fn bar(figure: Estimate, most: f64, room: usize) -> String {
    let at = |value: f64| if most > 0.0 { (value / most * room as f64).round() as usize } else { 0 };
    let solid = at(figure.low.min(figure.usual));
    let usual = at(figure.usual).max(solid);
    let end = at(figure.high).max(usual);
    format!("{}{}{}", "#".repeat(solid), "=".repeat(usual - solid), "-".repeat(end - usual))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_has_three_parts_in_proportion() {
        let figure = Estimate { usual: 2.0, low: 1.5, high: 2.5 };
        assert_eq!(bar(figure, 2.5, 10), "######==--");
        assert_eq!(bar(Estimate::exact(1.0), 2.5, 10), "####");
        assert_eq!(bar(Estimate::exact(0.0), 0.0, 10), "");
    }
}
