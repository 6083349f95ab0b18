//! The transplant sheet: which plants move to which holes on a day, tank by tank.

use super::lid_map::{self, Mark, Scale, Use};
use super::page::{Sheet, Turn};
use super::{Kind, Setting, cell_stays, parts};
use crate::domain::ids::BatchId;
use crate::domain::plan::Batch;
use crate::domain::room;
use crate::domain::site::Tank;
use crate::report::cautions::TANK;
use crate::report::words::{counted, crop_name, day as short};
use crate::report::work::{Task, TaskKind};
use chrono::NaiveDate;
use maud::{Markup, html};

/// The sheet of a day, if anything moves on it.
pub(super) fn sheet(setting: &Setting<'_>, tasks: &[Task<'_>], day: NaiveDate) -> Option<Sheet> {
    let tasks: Vec<&Task<'_>> = tasks.iter().filter(|task| task.kind == TaskKind::Transplant).collect();
    if tasks.is_empty() {
        return None;
    }
    let touched = setting.site.tanks.iter().filter(|tank| rows(&tasks, tank).next().is_some());
    let body = html! {
        (parts::intro(setting, Kind::Transplant, day, &steps(), &[TANK.to_owned()]))
        (nursery(setting, &tasks, day))
        (parts::write(&["Moved by", "Checked by"]))
        (parts::write(&["Spare plants", "Plants with bad roots"]))
        @for tank in touched { (tank_section(setting, &tasks, tank, day)) }
    };
    Some(Sheet::new(format!("Transplanting, {}", setting.site.name), parts::on(day), body))
}

fn steps() -> Markup {
    html! {
        ol {
            li { "Lay the sheet so that hole 1 is where it is on the lid; count as you read." }
            li { "Take the strongest plants. Hold them by the leaves, never by the stem." }
            li { "One plant in each hole with a thick frame. Tick it off here." }
            li { "Hatched holes stay empty, so that their neighbours have room." }
        }
    }
}

/// Where in the nursery the plants stand.
fn nursery(setting: &Setting<'_>, tasks: &[&Task<'_>], day: NaiveDate) -> Markup {
    let stays = cell_stays(setting.term, setting.plan, setting.site);
    let before = day.pred_opt().unwrap_or(day);
    html! {
        table {
            thead { tr { th { "Batch" } th { "Crop" } th { "Sown" } th { "Nursery cells" } th.number { "Move" } } }
            tbody {
                @for task in tasks {
                    @let cells = stays.get(&task.batch.id);
                    tr {
                        td { b { (task.batch.id) } }
                        td { (crop_name(setting.term, &task.batch.crop)) }
                        td { @if task.batch.origin.is_bought() { "came " } (short(task.batch.sown)) }
                        td {
                            (cells.map_or_else(|| html! {}, |stay| parts::runs(stay.on(before))))
                            @if let Some(stay) = cells.map(|stay| stay.on(day)).filter(|left| !left.is_empty()) {
                                "; afterwards move what stays to " (parts::runs(stay))
                            }
                        }
                        td.number { (counted(task.plants(), "plant")) }
                    }
                }
            }
        }
    }
}

/// What goes into a tank: the batch, its holes, and the holes left empty beside them.
fn rows<'a>(
    tasks: &'a [&'a Task<'a>],
    tank: &'a Tank,
) -> impl Iterator<Item = (&'a Batch, Vec<u32>, Vec<u32>)> {
    tasks.iter().filter_map(|task| {
        let parts = task.parts.iter().map(|task| task.part).filter(|part| part.tank == tank.id);
        let (mut holes, mut empty) = (Vec::new(), Vec::new());
        for part in parts {
            holes.extend(&part.holes);
            empty.extend(&part.kept_empty);
        }
        holes.sort_unstable();
        empty.sort_unstable();
        (!holes.is_empty()).then_some((task.batch, holes, empty))
    })
}

fn tank_section(setting: &Setting<'_>, tasks: &[&Task<'_>], tank: &Tank, day: NaiveDate) -> Markup {
    let (width, _) = setting.wish.paper.room(Turn::Portrait);
    let ids: Vec<&BatchId> = rows(tasks, tank).map(|(batch, ..)| &batch.id).collect();
    let marks = marks(setting, tank, &ids, day);
    html! {
        section.whole {
            h2 { "Tank " (tank.id) }
            ul {
                @for (batch, holes, empty) in rows(tasks, tank) {
                    li {
                        b { (batch.id) ", " (crop_name(setting.term, &batch.crop)) ": " }
                        (counted(holes.len() as u32, "plant")) " to " (parts::hole_runs(&holes))
                        @if !empty.is_empty() { "; keep " (parts::runs(&empty)) " empty" }
                        "."
                    }
                }
            }
            (lid_map::draw(&tank.lid, &marks, Scale::Large, width))
            (lid_map::legend(&lid_map::uses(&marks), "plant today"))
        }
    }
}

/// The lid at the end of the day.
fn marks<'a>(setting: &Setting<'a>, tank: &Tank, today: &[&BatchId], day: NaiveDate) -> Vec<Mark<'a>> {
    let mut marks = vec![Mark::FREE; tank.lid.holes() as usize];
    for (batch, part) in room::standing(setting.plan, &setting.site.id, &tank.id, day) {
        let mark = if part.transplant == day && today.contains(&&batch.id) {
            Mark { purpose: Use::Today, batch: Some(&batch.id), word: "new" }
        } else {
            Mark { purpose: Use::Stands, batch: Some(&batch.id), word: "" }
        };
        parts::set(&mut marks, &part.holes, mark);
        parts::set(&mut marks, &part.kept_empty, Mark::KEPT_EMPTY);
    }
    marks
}
