//! What a term's records teach, and what was taken over of it.

use super::{FORMAT, write};
use crate::domain::ids::SiteId;
use crate::domain::learned::{Lesson, Taken};
use serde::Serialize;

#[derive(Serialize)]
struct LearningJson<'a> {
    format: u32,
    figures: Vec<LessonJson<'a>>,
}

#[derive(Serialize)]
struct LessonJson<'a> {
    crop: &'a str,
    site: Option<&'a str>,
    figure: &'static str,
    so_far: f64,
    now: f64,
    low: f64,
    high: f64,
    seen: u32,
}

#[derive(Serialize)]
struct WrittenJson<'a> {
    format: u32,
    files: &'a [String],
    figures: Vec<TakenJson<'a>>,
    left: Vec<TakenJson<'a>>,
}

#[derive(Serialize)]
struct TakenJson<'a> {
    crop: &'a str,
    site: Option<&'a str>,
    figure: &'static str,
    before: f64,
    after: f64,
}

/// What records teach. Keys: `format` and `figures`, each with `crop`, `site` (null where it holds everywhere), `figure`
/// (`yield`, `pace`, `give-or-take`, `germination`, `nursery-survival`, `tank-survival`, `vigour`, `strength`: shares; `interval`: days),
/// `so_far` (what the files say), `now`, `low` and `high` (nine in ten lie between), `seen` (plants, plugs or seedlings; none where
/// only other rooms and crops tell of it).
pub fn learning(lessons: &[Lesson]) -> String {
    let figures = lessons.iter().map(|lesson| LessonJson {
        crop: lesson.of.crop.as_str(),
        site: lesson.of.site.as_ref().map(SiteId::as_str),
        figure: lesson.of.figure.word(),
        so_far: lesson.before,
        now: lesson.now,
        low: lesson.band.0,
        high: lesson.band.1,
        seen: lesson.seen,
    });
    write(&LearningJson { format: FORMAT, figures: figures.collect() })
}

/// What was written into the term's files. Keys: `format`, `files` (paths), `figures` and `left` (those that were not put back
/// because somebody changed them since), each with `crop`, `site`, `figure`, `before` and `after`.
pub fn learned(files: &[String], figures: &[Taken], left: &[Taken]) -> String {
    let [figures, left] = [figures, left].map(|all| all.iter().map(taken).collect());
    write(&WrittenJson { format: FORMAT, files, figures, left })
}

fn taken(own: &Taken) -> TakenJson<'_> {
    TakenJson {
        crop: own.of.crop.as_str(),
        site: own.of.site.as_ref().map(SiteId::as_str),
        figure: own.of.figure.word(),
        before: own.before,
        after: own.after,
    }
}
