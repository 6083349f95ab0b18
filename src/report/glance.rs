//! The term at a glance: what each week is to bring, and why if it falls short.

use super::grid::Grid;
use super::look::{Look, Mood};
use super::odds::sure;
use super::words::{beyond, day, reason, reason_in_full, short_day};
use crate::domain::calendar::{DaysOffKind, Week};
use crate::domain::odds::Odds;
use crate::domain::plan::{Harvest, NOTICEABLE, Plan, Serving, Shortfall};
use crate::domain::term::Term;
use crate::domain::variety::{Lacking, lacking};
use chrono::NaiveDate;
use std::collections::{BTreeMap, BTreeSet};

/// Share of a day's target below which surplus of its week is not worth a word.
pub(super) const NOTICEABLE_SHARE: f64 = 0.01;

/// What one serving day gets, by way of harvesting.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ways {
    /// Grams from plants pulled at their first harvest.
    pub whole_heads: f64,
    /// Grams from plants cut again and again, the last cut included.
    pub cuts: f64,
}

/// Grams served on each day, by way of harvesting.
pub fn by_way(plan: &Plan) -> BTreeMap<NaiveDate, Ways> {
    let mut days: BTreeMap<NaiveDate, Ways> = BTreeMap::new();
    for harvest in harvests(plan) {
        for served in &harvest.serves {
            let ways = days.entry(served.date).or_default();
            if harvest.pulls_uncut() {
                ways.whole_heads += served.grams;
            } else {
                ways.cuts += served.grams;
            }
        }
    }
    days
}

/// Grams harvested in each week that no serving day can use.
pub fn surplus_by_week(plan: &Plan) -> BTreeMap<Week, f64> {
    let mut weeks = BTreeMap::new();
    for harvest in harvests(plan) {
        *weeks.entry(Week::of(harvest.date)).or_insert(0.0) += harvest.surplus();
    }
    weeks
}

fn harvests(plan: &Plan) -> impl Iterator<Item = &Harvest> {
    plan.batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests)
}

/// Breaks that touch a week, each with the sites where they hold unless they hold everywhere.
pub fn breaks_in(term: &Term, week: Week) -> Vec<String> {
    let mut sites_by_name: BTreeMap<(NaiveDate, &str), Vec<&str>> = BTreeMap::new();
    for site in &term.sites {
        for off in &site.days_off {
            if off.kind == DaysOffKind::Break
                && off.span.first <= week.sunday()
                && week.monday() <= off.span.last
            {
                sites_by_name.entry((off.span.first, &off.name)).or_default().push(&site.name);
            }
        }
    }
    sites_by_name
        .into_iter()
        .map(|((_, name), sites)| {
            if sites.len() == term.sites.len() {
                name.to_owned()
            } else {
                format!("{name} at {}", sites.join(", "))
            }
        })
        .collect()
}

/// The table, one row a serving day, one for each week without any, and the totals; with how sure each day is, where that
/// was asked; below it every reason that occurs, in a sentence.
pub fn table(term: &Term, plan: &Plan, odds: Option<&Odds>, look: &Look) -> String {
    let mut grid =
        Grid::new(look, &["Wk", "Monday", "Serving", "Target", "Planned", "Heads", "Cuts", "Result"])
            .right(&[3, 4, 5, 6]);
    let ways = by_way(plan);
    let lacking = lacking(term, plan);
    let mut surplus = surplus_by_week(plan);
    let mut week = Week::of(term.start);
    while week.monday() <= term.end {
        let over = surplus.remove(&week).unwrap_or(0.0);
        let mut servings = plan.servings.iter().filter(|serving| Week::of(serving.date) == week).peekable();
        if servings.peek().is_none() {
            grid.row(row_without_serving(term, week, over, look));
        }
        // Surplus belongs to the week; it is told once, with its last serving day.
        while let Some(serving) = servings.next() {
            let over = if servings.peek().is_none() { over } else { 0.0 };
            let ways = ways.get(&serving.date).copied().unwrap_or_default();
            let mut row = week_cells(week).to_vec();
            row.extend([
                day(serving.date),
                look.grams(serving.target),
                look.grams(serving.planned),
                look.grams(ways.whole_heads),
                look.grams(ways.cuts),
                result(term, serving, (lacking.get(&serving.date), odds), over, look),
            ]);
            grid.row(row);
        }
        week = week.next();
    }
    grid.line();
    grid.row(totals(term, plan, &ways, look));
    let mut text = grid.draw(look);
    text.push_str(&reasons(term, plan, look));
    text
}

fn week_cells(week: Week) -> [String; 2] {
    [format!("W{:02}", week.number()), short_day(week.monday())]
}

fn row_without_serving(term: &Term, week: Week, over: f64, look: &Look) -> Vec<String> {
    let breaks = breaks_in(term, week);
    let mut note = if breaks.is_empty() { "no serving day".to_owned() } else { breaks.join("; ") };
    if over >= NOTICEABLE {
        note = format!("{note}; {} {}", beyond(term), look.grams(over));
    }
    let mut row = week_cells(week).to_vec();
    row.extend(std::iter::repeat_n("-".to_owned(), 5));
    row.push(look.paint(Mood::Quiet, &note));
    row
}

fn result(
    term: &Term,
    serving: &Serving,
    (lacking, odds): (Option<&Lacking>, Option<&Odds>),
    over: f64,
    look: &Look,
) -> String {
    let mut notes = Vec::new();
    let missing = look.grams(serving.short());
    let day = odds.and_then(|odds| odds.days.iter().find(|day| day.date == serving.date));
    let full = day.map_or_else(|| "planned".to_owned(), |day| sure(day.reached));
    if serving.is_short(term.rules.tolerance) {
        let short = format!("short {missing}");
        notes.push(look.paint(Mood::Warn, &short));
        if let Some(why) = serving.shortfall {
            notes.push(reason(why).to_owned());
        }
    } else if serving.short() >= NOTICEABLE {
        notes.push(look.paint(Mood::Good, &format!("{full}, {missing} less")));
    } else {
        notes.push(look.paint(Mood::Good, &full));
    }
    notes.extend(lacks(lacking, look));
    if over >= NOTICEABLE.max(serving.target * NOTICEABLE_SHARE) {
        notes.push(format!("{} {}", beyond(term), look.grams(over)));
    }
    notes.extend(breaks_in(term, Week::of(serving.date)));
    notes.join("; ")
}

/// Kinds and shares that are missing, in a few words each.
fn lacks(lacking: Option<&Lacking>, look: &Look) -> Vec<String> {
    let Some(Lacking { kinds, kinds_missing, below_share, .. }) = lacking else { return Vec::new() };
    let kinds = (*kinds_missing > 0).then(|| format!("{kinds} of {} kinds", kinds + kinds_missing));
    let shares = below_share.iter().map(|(crop, grams)| format!("{crop} lacks {}", look.grams(*grams)));
    kinds.into_iter().chain(shares).map(|note| look.paint(Mood::Warn, &note)).collect()
}

fn totals(term: &Term, plan: &Plan, ways: &BTreeMap<NaiveDate, Ways>, look: &Look) -> Vec<String> {
    let sum = |part: fn(&Serving) -> f64| plan.servings.iter().map(part).sum::<f64>();
    let short = plan.servings.iter().filter(|serving| serving.is_short(term.rules.tolerance));
    let (short, missing) = (short.map(Serving::short).sum::<f64>(), sum(Serving::short));
    let mut result = match (short > 0.0, missing >= NOTICEABLE) {
        (true, _) => format!("short {}", look.grams(short)),
        (false, true) => format!("planned but for {}", look.grams(missing)),
        (false, false) => "planned".to_owned(),
    };
    let over: f64 = surplus_by_week(plan).values().sum();
    if over >= NOTICEABLE {
        result = format!("{result}; {} {}", beyond(term), look.grams(over));
    }
    vec![
        "All".to_owned(),
        String::new(),
        super::words::counted(plan.servings.len() as u32, "day"),
        look.grams(sum(|serving| serving.target)),
        look.grams(sum(|serving| serving.planned)),
        look.grams(ways.values().map(|ways| ways.whole_heads).sum()),
        look.grams(ways.values().map(|ways| ways.cuts).sum()),
        result,
    ]
}

/// Every reason for which days are short, in a sentence; nothing if none is.
pub(super) fn reasons(term: &Term, plan: &Plan, look: &Look) -> String {
    let found: BTreeSet<Shortfall> = plan
        .servings
        .iter()
        .filter(|serving| serving.is_short(term.rules.tolerance))
        .filter_map(|serving| serving.shortfall)
        .collect();
    if found.is_empty() {
        return String::new();
    }
    let mut text = format!("\n{}\n", look.paint(Mood::Heading, "Why days are short"));
    for why in found {
        let told = format!("{}: {}", reason(why), reason_in_full(why, &term.rules, &plan.facts));
        text.push_str(&look.wrap_after("- ", &told));
    }
    text
}
