//! The sheets before and after days off: how the tanks come through, and what to look at.

use super::figures::{WATER, each_once, sources};
use super::page::Sheet;
use super::{Setting, parts};
use crate::domain::calendar::{Absence, DateSpan, days_between};
use crate::domain::crop::Crop;
use crate::domain::room::cells;
use crate::domain::units::Volume;
use crate::domain::water::{self, Reserve};
use crate::report::cautions::{CHEMICALS, ELECTRICITY, HANDS};
use crate::report::instructions;
use crate::report::tank_work::{self, TankWork};
use crate::report::words::{and, counted, day as short, long_day};
use crate::report::work::{Task, TaskKind, tasks};
use chrono::{Days, NaiveDate};
use maud::{Markup, html};

/// Days off from Monday to Friday that an absence must hold to get sheets; a single closed day gets none.
const LONG: usize = 3;

/// Days up to the last class day whose work is listed.
const LAST_WORK_DAYS: u64 = 7;

/// The sheet for the last class day before days off, if `day` is one.
pub(super) fn before(setting: &Setting<'_>, day: NaiveDate) -> Option<Sheet> {
    let absence = absences(setting).into_iter().find(|absence| absence.leave == day)?;
    let stay = staying(setting, absence);
    let body = html! { div.compact {
        (lead(setting, absence))
        (water(setting, absence))
        (last_work(setting, absence))
        h2 { "Before you go" }
        (ticks(&before_ticks(setting, absence, &stay)))
        (parts::write(&["Looks in meanwhile", "Phone", "Left by"]))
        (parts::cautions(&[CHEMICALS, ELECTRICITY, HANDS].map(str::to_owned)))
        (figures(&stay))
    } };
    Some(Sheet::new(format!("Before days off, {}", setting.site.name), parts::on(day), body))
}

/// The sheet for the first class day after days off, if `day` is one.
pub(super) fn after(setting: &Setting<'_>, day: NaiveDate) -> Option<Sheet> {
    let absence = absences(setting).into_iter().find(|absence| absence.back == day)?;
    let stay = staying(setting, absence);
    let body = html! { div.compact {
        p.lead {
            "No class was here since " (long_day(absence.leave)) " (" (off_names(setting, absence)) "), and nobody at all from "
            (long_day(absence.alone_days().first)) " to " (long_day(absence.alone_days().last)) "."
        }
        h2 { "First" }
        (ticks(&after_ticks(setting, absence)))
        (found(setting, absence))
        (work(setting, "Then, as planned for today", &work_on(setting, day, day)))
        (parts::write(&["Batches with dead plants, how many", "Told to"]))
        (parts::write(&["Looked after by"]))
        (parts::cautions(&[CHEMICALS, ELECTRICITY, HANDS].map(str::to_owned)))
        (sources(&stay, &[WATER]))
    } };
    Some(Sheet::new(format!("After days off, {}", setting.site.name), parts::on(day), body))
}

/// Absences that need more care than a weekend.
fn absences(setting: &Setting<'_>) -> Vec<Absence> {
    let site = setting.site;
    site.absences().into_iter().filter(|absence| absence.weekdays_off(&site.days_off) >= LONG).collect()
}

fn off_names(setting: &Setting<'_>, absence: Absence) -> String {
    let within = |span: DateSpan| span.first < absence.back && absence.leave < span.last;
    let mut names: Vec<String> = Vec::new();
    for off in setting.site.days_off.iter().filter(|off| within(off.span)) {
        if !names.contains(&off.name) {
            names.push(off.name.clone());
        }
    }
    and(&names)
}

fn lead(setting: &Setting<'_>, absence: Absence) -> Markup {
    let next = days_between(absence.leave, absence.back) as u32;
    let alone = absence.alone_days();
    html! {
        p.lead {
            "The next class is on " (long_day(absence.back)) ", in " (counted(next, "day"))
            " (" (off_names(setting, absence)) "). "
            @if absence.from == absence.leave {
                "Nobody is here"
            } @else {
                "Whoever looks in until " (long_day(absence.from)) " fills every tank up to its mark then. Nobody is here"
            }
            " from " (long_day(alone.first)) " to " (long_day(alone.last)) "."
        }
    }
}

/// Crops that stay in any tank.
fn staying<'a>(setting: &Setting<'a>, absence: Absence) -> Vec<&'a Crop> {
    let span = DateSpan { first: absence.leave, last: absence.leave };
    let crops = setting
        .site
        .tanks
        .iter()
        .flat_map(|tank| water::crops(setting.term, setting.plan, setting.site, &tank.id, span))
        .collect();
    each_once(crops)
}

fn litres(setting: &Setting<'_>, litres: f64) -> String {
    Volume::from_litres(litres).show(setting.wish.units).to_string()
}

fn water(setting: &Setting<'_>, absence: Absence) -> Markup {
    let Setting { term, plan, site, .. } = *setting;
    html! {
        h2 { "How long the water lasts" }
        table {
            thead {
                tr {
                    th { "Tank" }
                    th { "Plants" }
                    th { "They drink a day" }
                    th { "While nobody is here" }
                    th { "They can draw" }
                    th { "A full tank lasts until" }
                }
            }
            tbody {
                @for tank in &site.tanks {
                    @let reserve = water::reserve(term, plan, site, tank, absence);
                    @let plants: u32 =
                        water::standing(plan, &site.id, &tank.id, absence.leave).map(|(_, part)| part.plants).sum();
                    tr {
                        td.tank { b { (tank.id) } }
                        @if plants == 0 {
                            td colspan="5" { "empty" }
                        } @else {
                            td.number { (plants) }
                            td.number { (litres(setting, reserve.litres_a_day)) }
                            td.number { (litres(setting, reserve.needed)) }
                            td.number { (litres(setting, reserve.usable)) }
                            td { (lasts(reserve, absence)) }
                        }
                    }
                }
            }
        }
        p {
            "From a tank filled up to its mark " (filled_on(absence))
            ", at most: every plant is taken to be as thirsty as a full-grown one."
        }
    }
}

fn filled_on(absence: Absence) -> String {
    if absence.from == absence.leave { "today".to_owned() } else { format!("on {}", short(absence.from)) }
}

fn lasts(reserve: Reserve, absence: Absence) -> Markup {
    html! {
        @match reserve.lasts_until {
            None => "any time",
            Some(day) if day > absence.alone_days().last => { span.day { b { (short(day)) } ", enough" } },
            Some(day) => { b { (short(day)) } ", TOO SHORT: somebody must top up by then" },
        }
    }
}

fn work_on<'a>(setting: &Setting<'a>, first: NaiveDate, last: NaiveDate) -> Vec<Task<'a>> {
    let span = DateSpan { first, last };
    let here = |task: &Task<'_>| task.batch.site == setting.site.id && span.contains(task.date);
    tasks(setting.term, setting.plan).into_iter().filter(here).collect()
}

/// What must be harvested or moved before the absence.
fn last_work(setting: &Setting<'_>, absence: Absence) -> Markup {
    let first = absence.leave - Days::new(LAST_WORK_DAYS - 1);
    let due: Vec<Task<'_>> = work_on(setting, first, absence.leave)
        .into_iter()
        .filter(|task| task.kind != TaskKind::Sow)
        .collect();
    work(setting, "To be harvested or moved by today", &due)
}

/// Tasks to tick off.
fn work(setting: &Setting<'_>, heading: &str, due: &[Task<'_>]) -> Markup {
    let lines: Vec<String> = due
        .iter()
        .map(|task| format!("{}: {}", short(task.date), instructions::title(setting.term, task)))
        .collect();
    html! {
        h2 { (heading) }
        @if lines.is_empty() {
            p { "Nothing." }
        } @else {
            (ticks(&lines))
        }
    }
}

fn ticks(lines: &[String]) -> Markup {
    html! {
        ul.ticks { @for line in lines { li { (line) } } }
    }
}

fn before_ticks(setting: &Setting<'_>, absence: Absence, stay: &[&Crop]) -> Vec<String> {
    let mut lines = Vec::new();
    if !stay.is_empty() {
        lines.push(
            "Fill every tank up to its mark, then measure pH and EC; an adult brings them back into range."
                .to_owned(),
        );
        lines.push("Take out dead and yellow leaves. Roots of every plant reach the water.".to_owned());
    }
    lines.extend(change_before_back(setting, absence));
    lines.push(nursery(setting, absence));
    lines.push("Pump and air run; hoses sit tight; nothing drips. Power plugs, timers and leads lie dry and above the water.".to_owned());
    lines.push(
        "The residual-current device (RCD, GFCI) was tested with its button, before the timer was set."
            .to_owned(),
    );
    lines.push(
        "Lights: the timer has the right time and hours; lamps are firm and touch nothing that burns."
            .to_owned(),
    );
    lines.extend(air(setting, stay));
    lines.push(
        "Food: greens in the fridge are served, given away or thrown out; none is kept until you are back."
            .to_owned(),
    );
    lines.push("Nutrients, acids and bases are locked away; the room is locked.".to_owned());
    lines
}

/// A change of the solution that is due before or when people are back.
fn change_before_back(setting: &Setting<'_>, absence: Absence) -> Vec<String> {
    let Setting { term, plan, site, .. } = *setting;
    let on = |wanted| tank_work::on(term, plan, site, wanted, TankWork::Change);
    let lines = [(absence.leave, "today"), (absence.back, "on the day you are back; today is as good")];
    let changes = lines
        .into_iter()
        .map(|(day, when)| (on(day), when))
        .filter(|(tanks, _)| !tanks.is_empty())
        .map(|(tanks, when)| format!("Change the solution of tank {}: due {when}.", and(&tanks)));
    let cleaned = tank_work::on(term, plan, site, absence.leave, TankWork::Clean);
    let clean = (!cleaned.is_empty()).then(|| {
        format!("Cleaned today, after the harvest and before new plants came: tank {}.", and(&cleaned))
    });
    changes.chain(clean).collect()
}

fn nursery(setting: &Setting<'_>, absence: Absence) -> String {
    let site = setting.site;
    let used = cells(setting.term, setting.plan, &site.id, absence.leave);
    let bears = counted(site.nursery.unattended_days, "day");
    if used == 0 {
        format!("Nursery: empty and washed. It can be left alone for {bears} only.")
    } else {
        format!(
            "Nursery: {} stay in use. Water them last; they can be left alone for {bears}.",
            counted(used, "cell")
        )
    }
}

/// The temperatures that suit all plants that stay.
fn air(setting: &Setting<'_>, stay: &[&Crop]) -> Option<String> {
    let limits = || stay.iter().map(|crop| crop.air.value);
    let low = limits().map(|air| air.low).reduce(|one, other| if other > one { other } else { one })?;
    let high = limits().map(|air| air.high).reduce(|one, other| if other < one { other } else { one })?;
    let units = setting.wish.units;
    Some(format!(
        "The room stays between {} and {}, nights and weekends too.",
        low.show(units),
        high.show(units)
    ))
}

fn after_ticks(setting: &Setting<'_>, absence: Absence) -> Vec<String> {
    let mut lines = vec![
        "Look before you touch: is the floor dry? If not, an adult switches the circuit off before anybody goes near."
            .to_owned(),
        "Unplug pump and lamp before reaching into the water. Plug them in again at the end, and check the timer."
            .to_owned(),
        "Fill the tanks up to their marks and write down how much went in; then measure pH and EC. An adult \
         corrects them."
            .to_owned(),
        "Throw out what is slimy, wilted or has stood dry. Do not serve it, and do not serve anything animals got at."
            .to_owned(),
        "Throw out what was left in the fridge. Wash net cups, trays and tools that stood.".to_owned(),
    ];
    let due = tank_work::on(setting.term, setting.plan, setting.site, absence.back, TankWork::Change);
    if !due.is_empty() {
        lines.push(format!(
            "Change the solution of tank {}: due today, unless it was done before the days off.",
            and(&due)
        ));
    }
    lines
}

/// A row a tank for what is found.
fn found(setting: &Setting<'_>, absence: Absence) -> Markup {
    let Setting { term, plan, site, .. } = *setting;
    html! {
        h2 { "What you find" }
        table.fill {
            thead {
                tr {
                    th { "Tank" }
                    th { "Plants left behind" }
                    th { "Water missing, at most" }
                    th { "Water added" }
                    th { "pH" }
                    th { "EC" }
                    th { "Roots pale?" }
                    th { "Plants dead" }
                }
            }
            tbody {
                @for tank in &site.tanks {
                    @let reserve = water::reserve(term, plan, site, tank, absence);
                    @let plants: u32 =
                        water::standing(plan, &site.id, &tank.id, absence.leave).map(|(_, part)| part.plants).sum();
                    tr {
                        td.tank { b { (tank.id) } }
                        @if plants == 0 {
                            td colspan="7" { "empty" }
                        } @else {
                            td.number { (plants) }
                            td.number { (litres(setting, reserve.needed)) }
                            @for _ in 0..5 { td {} }
                        }
                    }
                }
            }
        }
    }
}

fn figures(stay: &[&Crop]) -> Markup {
    sources(stay, &[WATER, ("air", |crop| &crop.air.source)])
}
