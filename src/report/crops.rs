//! The crop library for people: a list, and one crop with every figure and its source.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{counted, percent};
use crate::domain::crop::{Crop, DaySpan, Figure, Limits};
use crate::domain::units::{LITRES_PER_GALLON, Length, Mass, Temperature, Units};
use std::fmt;

/// All crops in a table.
pub fn list<'a>(crops: impl Iterator<Item = &'a Crop>, look: &Look) -> String {
    let headings = ["Name", "Crop", "Kind", "First cut", "Whole head", "Cuts", "Spacing", "Published"];
    let mut grid = Grid::new(look, &headings).right(&[5, 6, 7]);
    for crop in crops {
        let days =
            |span: Option<&Figure<DaySpan>>| span.map_or("-".to_owned(), |figure| span_text(figure.value));
        grid.row([
            crop.id.to_string(),
            crop.name.clone(),
            crop.kind.clone(),
            days(crop.first_cut.as_ref()),
            days(crop.whole_head.as_ref()),
            crop.regrowth.as_ref().map_or("-".to_owned(), |regrowth| regrowth.harvests.value.to_string()),
            crop.spacing.value.show(look.units).to_string(),
            published(crop),
        ]);
    }
    let mut text = grid.draw(look);
    for line in [
        "Days from sowing: earliest-latest. Cuts: harvests one plant gives.",
        "Published: of the figures that decide a plan, those with a published source.",
    ] {
        text.push_str(&look.paint(Mood::Quiet, line));
        text.push('\n');
    }
    text
}

/// How many of the figures that decide a plan are published.
fn published(crop: &Crop) -> String {
    let (published, all) = crop.published();
    format!("{published} of {all}")
}

/// One crop with every figure and where it comes from.
pub fn show(crop: &Crop, look: &Look) -> String {
    let title = format!("{} ({})", crop.name, crop.scientific_name);
    let (id, kind, published) = (&crop.id, &crop.kind, published(crop));
    let also = match crop.also_called.as_slice() {
        [] => String::new(),
        some => format!("; also called {}", some.join(", ")),
    };
    let mut text = format!(
        "{}\n{id}, {kind}{also}\n{published} figures that decide a plan are published.\n\
         In brackets: how far a figure may be off.\n\n",
        look.paint(Mood::Heading, &title)
    );
    let mut grid = Grid::new(look, &["What", "Figure", "Source"]);
    for row in rows(crop, look) {
        grid.row(row);
    }
    text.push_str(&grid.draw(look));
    let notes = [
        ("Sown in cups", &crop.in_cups),
        ("Bolting", &crop.bolting),
        ("Handling", &crop.handling),
        ("Allergies", &crop.allergy),
    ];
    for (what, note) in notes {
        if let Some(note) = note {
            text.push('\n');
            text.push_str(&look.wrap(&format!("{what}: {} [{}]", note.value, note.source)));
        }
    }
    text
}

fn rows(crop: &Crop, look: &Look) -> Vec<[String; 3]> {
    let mut rows = from_seed_to_tank(crop);
    rows.extend(at_harvest(crop, look));
    rows.extend(in_the_tank(crop, look));
    rows
}

fn row<T>(what: &str, figure: &Figure<T>, show: impl Fn(&T) -> String) -> [String; 3] {
    [what.to_owned(), show(&figure.value), figure.source.to_string()]
}

/// A figure with its spread, where that is known; `end` shows the ends of the spread.
fn spread<T>(
    what: &str,
    figure: &Figure<T>,
    show: impl Fn(&T) -> String,
    end: impl Fn(&T) -> String,
) -> [String; 3] {
    let [what, value, source] = row(what, figure, show);
    match &figure.spread {
        None => [what, value, source],
        Some(Limits { low, high }) => [what, format!("{value} ({})", range(&end(low), &end(high))), source],
    }
}

fn some_days(what: &str, figure: &Figure<u32>) -> [String; 3] {
    spread(what, figure, |days| counted(*days, "day"), u32::to_string)
}

fn share(what: &str, figure: &Figure<f64>) -> [String; 3] {
    spread(what, figure, |value| percent(*value), |value| percent(*value))
}

fn days(what: &str, figure: &Figure<DaySpan>) -> [String; 3] {
    row(what, figure, |span| format!("{} days, usually {}", span_text(*span), span.usual))
}

fn span_text(span: DaySpan) -> String {
    if span.min == span.max { span.min.to_string() } else { format!("{}-{}", span.min, span.max) }
}

fn from_seed_to_tank(crop: &Crop) -> Vec<[String; 3]> {
    let seeds = |seeds: &f64| format!("{seeds:.0}");
    vec![
        share("Germination", &crop.germination),
        spread("Seeds in a plug", &crop.seeds_per_plug, u32::to_string, u32::to_string),
        spread("Seeds in a gram", &crop.seeds_per_gram, seeds, seeds),
        days("Seedlings show", &crop.emergence),
        days("Transplant", &crop.nursery),
        share("Seedlings fit to move", &crop.nursery_survival),
        share("Transplants that survive", &crop.tank_survival),
        some_days("Least time in the tank", &crop.tank_days),
    ]
}

fn at_harvest(crop: &Crop, look: &Look) -> Vec<[String; 3]> {
    let mut rows = Vec::new();
    if let Some(first_cut) = &crop.first_cut {
        rows.push(days("First cut", first_cut));
    }
    if let Some(whole_head) = &crop.whole_head {
        rows.push(days("Whole head", whole_head));
    }
    rows.push(days("Holds after its day", &crop.hold));
    if let Some(regrowth) = &crop.regrowth {
        rows.push(days("Between two cuts", &regrowth.interval));
        rows.push(spread("Harvests in all", &regrowth.harvests, u32::to_string, u32::to_string));
        if let Some(until) = &regrowth.until {
            rows.push(spread(
                "Worth cutting again until",
                until,
                |age| format!("{age} days from sowing"),
                u32::to_string,
            ));
        }
        rows.push(share("Taken at a cut", &regrowth.taken));
        rows.push(spread("Rests after a cut", &regrowth.lag, |days| format!("{days} days"), f64::to_string));
        rows.push(share("Then grows, of an uncut plant", &regrowth.vigour));
        rows.push(row("Reaches again, of its full mass", &regrowth.strength, |shares| {
            let shares: Vec<String> = shares.iter().map(|share| percent(*share)).collect();
            shares.join(", ")
        }));
    }
    rows.push(row("Mass of a plant by age", &crop.growth, |curve| {
        let points: Vec<String> =
            curve.points().map(|(age, mass)| format!("{age} days {}", mass.show(look.units))).collect();
        points.join(", ")
    }));
    rows.push(row("Varies by", &crop.variation, |by| {
        let (plants, batches) = (percent(by.between_plants), percent(by.between_batches));
        format!("{plants} of mass from plant to plant, {batches} and {} days from batch to batch", by.days)
    }));
    rows.push(share("Ready to eat", &crop.ready_to_eat));
    rows.extend(crop.cup_grams.as_ref().map(|cup| {
        row("A cup of loose leaves", cup, |grams| Mass::from_grams(*grams).show(look.units).to_string())
    }));
    rows.push(some_days("Serve within", &crop.shelf_life));
    if crop.regrowth.is_some() {
        rows.push(some_days("Serve cut leaves within", &crop.cut_shelf_life));
    }
    rows.push(row("Store at", &crop.storage, |storage| storage.show(look.units).to_string()));
    rows
}

fn in_the_tank(crop: &Crop, look: &Look) -> Vec<[String; 3]> {
    let plain = |limits: &Limits<f64>| range(&limits.low, &limits.high);
    let length = |spacing: &Length| spacing.show(look.units).to_string();
    let litres = |litres: &f64| match look.units {
        Units::Metric => format!("{litres:.2}"),
        Units::Us => format!("{:.3}", litres / LITRES_PER_GALLON),
    };
    let unit = match look.units {
        Units::Metric => "litres",
        Units::Us => "gal",
    };
    let a_day = |used: &f64| format!("{} {unit} a day", litres(used));
    vec![
        spread("Spacing", &crop.spacing, length, length),
        row("pH", &crop.ph, plain),
        row("EC", &crop.ec, |limits| format!("{} mS/cm", plain(limits))),
        row("Air", &crop.air, |limits| temperatures(limits, look.units)),
        spread("Water, full-grown plant", &crop.water_a_day, a_day, litres),
    ]
}

fn temperatures(limits: &Limits<Temperature>, units: Units) -> String {
    range(&limits.low.show(units), &limits.high.show(units))
}

fn range(low: &impl fmt::Display, high: &impl fmt::Display) -> String {
    format!("{low} to {high}")
}
