//! The drawing of the term: weeks, tanks, days off and bars, all in mm.

use super::{Bar, LANE, LETTER_WIDTH, LETTERS, Row, Scale, TANK_NAMES, serving};
use crate::domain::calendar::{Week, plus_days};
use crate::domain::growth::Way;
use crate::report::sheets::Setting;
use crate::report::sheets::parts::shortened;
use crate::report::sheets::strokes::{line, slants, word};
use crate::report::words::short_day;
use chrono::NaiveDate;
use maud::{Markup, html};

/// The drawing of one page, with so much room above its rows, mm.
pub(super) fn drawing(setting: &Setting<'_>, rows: &[Row<'_>], scale: Scale, head: f64) -> Markup {
    let height = head + rows.iter().map(Row::height).sum::<f64>();
    let width = scale.width();
    let mut top = head;
    let mut tops = Vec::new();
    for row in rows {
        tops.push(top);
        top += row.height();
    }
    html! {
        svg role="img" aria-label="Batches by tank and week" width=(format!("{width:.1}mm"))
            height=(format!("{height:.1}mm")) viewBox=(format!("0 0 {width:.1} {height:.1}"))
            font-family="Helvetica, Arial, sans-serif" font-size=(format!("{LETTERS:.2}")) {
            @for (row, top) in rows.iter().zip(&tops) { (days_off(row, *top, scale)) }
            (weeks(scale, height))
            (serving::lines(setting, scale))
            @for (index, (row, top)) in rows.iter().zip(&tops).enumerate() {
                (row_text(row, *top, width, index == 0))
                @if let Row::Lane { bars, .. } = row {
                    @for bar in bars { (draw_bar(setting, bar, *top, scale)) }
                }
            }
            (line(0.0, height - 0.15, width, height - 0.15, 0.3))
        }
    }
}

/// Breaks and closures of the row's site.
fn days_off(row: &Row<'_>, top: f64, scale: Scale) -> Markup {
    let (Row::Site { site, .. } | Row::Lane { site, .. }) = row;
    let height = row.height();
    html! {
        @for off in &site.days_off {
            @let first = off.span.first.max(scale.span.first);
            @let last = off.span.last.min(scale.span.last);
            @if first <= last {
                @let (left, right) = (scale.x(first), scale.x(plus_days(last, 1)));
                rect x=(format!("{left:.2}")) y=(format!("{top:.2}")) width=(format!("{:.2}", right - left))
                    height=(format!("{height:.2}")) fill="#ddd" {}
                path d=(slants(left, right, top, height)) stroke="#000" stroke-width="0.15" {}
            }
        }
    }
}

fn weeks(scale: Scale, height: f64) -> Markup {
    let width = 7.0 * scale.day_width;
    // Where columns are narrow, not every one has its date.
    let every = (11.0 / width).ceil().max(1.0) as usize;
    let mut all = vec![Week::of(scale.span.first)];
    while let Some(last) = all.last().copied().filter(|week| week.sunday() < scale.span.last) {
        all.push(last.next());
    }
    html! {
        @for (index, week) in all.iter().enumerate() {
            @let left = scale.x(week.monday());
            (line(left, 0.0, left, height, 0.12))
            (word(&format!("W{:02}", week.number()), left + 0.6, 3.2, "bold"))
            @if index % every == 0 { (word(&short_day(week.monday()), left + 0.6, 7.0, "normal")) }
        }
    }
}

fn row_text(row: &Row<'_>, top: f64, width: f64, top_of_page: bool) -> Markup {
    html! {
        @match row {
            Row::Site { site, again } => {
                (line(0.0, top, width, top, if top_of_page { 0.5 } else { 0.4 }))
                @let name = if *again { format!("{}, continued", site.name) } else { site.name.clone() };
                text x="0" y=(format!("{:.2}", top + 4.2)) font-weight="bold" font-size="3.4" stroke="#fff"
                    stroke-width="0.8" paint-order="stroke" { (name) }
            }
            Row::Lane { tank, first, .. } => {
                @if *first {
                    (line(0.0, top, width, top, 0.15))
                    (word(&tank_name(tank.id.as_str()), 0.0, top + 3.4, "normal"))
                }
            }
        }
    }
}

/// A tank's name as far as it fits beside its bars.
fn tank_name(id: &str) -> String {
    let most = ((TANK_NAMES - 1.0) / LETTER_WIDTH) as usize;
    let name = format!("tank {id}");
    if name.len() <= most { name } else { shortened(id, most) }
}

fn draw_bar(setting: &Setting<'_>, bar: &Bar<'_>, top: f64, scale: Scale) -> Markup {
    let visible = |day: &NaiveDate| scale.span.contains(*day);
    let (left, right) = (bar.box_from(scale), bar.box_to(scale));
    let middle = top + LANE / 2.0;
    let (label, from) = bar.label(setting, scale);
    html! {
        @if let Some(sown) = bar.sown {
            (line(scale.middle(sown.max(scale.span.first)), middle, left, middle, 0.4))
        }
        @if right > left {
            rect x=(format!("{left:.2}")) y=(format!("{:.2}", top + 0.5)) width=(format!("{:.2}", right - left))
                height=(format!("{:.2}", LANE - 1.0)) fill="#fff" stroke="#000" stroke-width="0.3" {}
        }
        (word(&label, from, middle + LETTERS * 0.35, "normal"))
        @if let Some(sown) = bar.sown.filter(visible) { (mark("S", scale.middle(sown), middle, false)) }
        @for day in bar.moved.iter().filter(|day| visible(day)) { (mark("T", scale.middle(*day), middle, false)) }
        @for (day, way) in bar.harvests.iter().filter(|(day, _)| visible(day)) {
            (mark(letter(*way), scale.middle(*day), middle, true))
        }
        @for day in bar.lost.iter().filter(|day| visible(day)) { (mark("X", scale.middle(*day), middle, false)) }
    }
}

fn letter(way: Way) -> &'static str {
    match way {
        Way::Cut => "C",
        Way::WholeHead => "P",
    }
}

/// A letter in a box: white for what comes in, black for what is harvested.
fn mark(letter: &str, x: f64, y: f64, black: bool) -> Markup {
    let (fill, ink) = if black { ("#000", "#fff") } else { ("#fff", "#000") };
    html! {
        rect x=(format!("{:.2}", x - 1.55)) y=(format!("{:.2}", y - 1.8)) width="3.1" height="3.6" fill=(fill)
            stroke="#000" stroke-width="0.25" {}
        text x=(format!("{x:.2}")) y=(format!("{:.2}", y + 1.0)) fill=(ink) font-weight="bold" text-anchor="middle" {
            (letter)
        }
    }
}

/// What lines, boxes and letters mean.
pub(super) fn legend(lost: bool) -> Markup {
    let sample = |letter: &str, black: bool| {
        html! {
            svg width="4mm" height="4mm" viewBox="0 0 4 4" aria-hidden="true"
                font-family="Helvetica, Arial, sans-serif" font-size=(format!("{LETTERS:.2}")) {
                (mark(letter, 2.0, 2.0, black))
            }
        }
    };
    html! {
        p.legend {
            span { (sample("S", false)) "sow" }
            span { (sample("T", false)) "transplant" }
            span { (sample("C", true)) "cut, the plants stay" }
            span { (sample("P", true)) "pull" }
            @if lost { span { (sample("X", false)) "lost" } }
            span { "thin line: in the nursery" }
            span { "box: in the tank" }
            span { "hatched: break or closure" }
        }
    }
}
