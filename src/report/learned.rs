//! What a term's records teach, for people.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::words::{counted, crop_name, percent, site_name};
use crate::domain::learned::{Figure, Lesson, Of, SeenIn, Taken};
use crate::domain::term::Term;

/// Every figure of which something was seen, by crop: what the files of the term say, and what to count on.
pub fn table(term: &Term, lessons: &[Lesson], look: &Look) -> String {
    let mut text = String::new();
    for own in lessons.chunk_by(|one, next| one.of.crop == next.of.crop) {
        let Some(first) = own.first() else { continue };
        text.push_str(&look.paint(Mood::Heading, crop_name(term, &first.of.crop)));
        text.push('\n');
        text.push_str(&of_crop(term, own, look));
        text.push('\n');
    }
    let quiet = "Mass and days to grow are against the crop library's. Nine times in ten, the truth lies within the band; what was \
                 seen little stays near what the files say so far.";
    text.push_str(&look.paint(Mood::Quiet, look.wrap(quiet).trim_end()));
    text.push('\n');
    text
}

fn of_crop(term: &Term, lessons: &[Lesson], look: &Look) -> String {
    let headings = ["Figure", "So far", "By records", "Band", "Seen"];
    let mut grid = Grid::new(look, &headings).right(&[1, 2, 3]);
    // How far a mass may be off is what its band says.
    for lesson in lessons.iter().filter(|lesson| lesson.of.figure != Figure::GiveOrTake) {
        let figure = lesson.of.figure;
        let now = told(figure, lesson.now);
        grid.row([
            in_place(term, &lesson.of),
            told(figure, lesson.before),
            if lesson.is_worth_it() { look.paint(Mood::Heading, &now) } else { now },
            format!("{} to {}", told(figure, lesson.band.0), told(figure, lesson.band.1)),
            seen(figure, lesson.seen),
        ]);
    }
    grid.draw(look)
}

/// `mass in Room 12`.
fn in_place(term: &Term, of: &Of) -> String {
    let place = of.site.as_ref().map_or(String::new(), |site| format!(" in {}", site_name(term, site)));
    format!("{}{place}", name(of.figure))
}

/// What was written into files, or put back.
pub fn written(term: &Term, figures: &[Taken], look: &Look) -> String {
    let mut grid = Grid::new(look, &["Crop", "Figure", "Before", "Now"]).right(&[2, 3]);
    for own in figures {
        grid.row([
            crop_name(term, &own.of.crop).to_owned(),
            in_place(term, &own.of),
            told(own.of.figure, own.before),
            told(own.of.figure, own.after),
        ]);
    }
    grid.draw(look)
}

/// A line for the file in which a figure was changed, which so many observations made so.
pub fn note(term: &Term, own: &Taken, number: u32) -> String {
    let figure = own.of.figure;
    let (now, before, seen) = (told(figure, own.after), told(figure, own.before), seen(figure, number));
    format!("{}{}{now} ({before} before; {seen})", own.day, note_mark(term, &own.of))
}

/// What every such line on a figure has in it.
pub fn note_mark(term: &Term, of: &Of) -> String {
    let place = of.site.as_ref().map_or(String::new(), |site| format!(" in {site}"));
    format!(": {}{place}, {} by own records: ", crop_name(term, &of.crop), name(of.figure))
}

fn name(figure: Figure) -> &'static str {
    match figure {
        Figure::Yield => "mass",
        Figure::Pace => "days to grow",
        Figure::GiveOrTake => "mass give or take",
        Figure::Germination => "seeds that come up",
        Figure::NurserySurvival => "seedlings fit to transplant",
        Figure::TankSurvival => "transplants that live",
        Figure::Vigour => "growth after a cut",
        Figure::Strength => "size after a cut",
        Figure::Interval => "days between cuts",
    }
}

fn told(figure: Figure, value: f64) -> String {
    match figure {
        Figure::Interval => format!("{value:.0}"),
        _ => percent(figure.rounded(value)),
    }
}

fn seen(figure: Figure, number: u32) -> String {
    match figure.seen_in() {
        SeenIn::PlantsWeighed if number == 0 => "other rooms and crops".to_owned(),
        SeenIn::PlantsWeighed => format!("{} weighed", counted(number, "plant")),
        SeenIn::PlugsSown => format!("{} sown", counted(number, "plug")),
        SeenIn::Seedlings => counted(number, "seedling"),
        SeenIn::Transplants => counted(number, "transplant"),
    }
}
