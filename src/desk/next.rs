//! Going on to the next term: what stands, what is left and what was noted when one is over.

use super::{Desk, Opened, Trouble};
use crate::domain::calendar::{DateSpan, days_between, minus_days, plus_days};
use crate::domain::ids::{BatchId, is_plain};
use crate::domain::journal::{Entry, What};
use crate::domain::leftover::{Leftover, SeedLeft, Sown, leftover};
use crate::domain::longevity::{self, longevity};
use crate::domain::plan::Plan;
use crate::domain::state::{BatchState, Stand, State, TankOut};
use crate::domain::term::{LONGEST_TERM, SowWish, Stage, Standing, Term};
use crate::domain::text::cleaned;
use crate::files::history;
use crate::files::next_term::{self, Carried, NextTerm, Unmade, seed_amount};
use crate::files::term_file::FILE_NAME;
use crate::replan::state::state;
use crate::report::words::{counted, crop_name, percent, site_name};
use chrono::{Datelike, NaiveDate};

/// A term to go on to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Next {
    /// First and last day.
    pub span: DateSpan,
    /// Its name; that of the term before if absent.
    pub name: Option<String>,
}

/// A term that goes on from another.
#[derive(Debug, Clone)]
pub struct Onward {
    /// Its files, and the term they say.
    pub made: NextTerm,
    /// The term before, as its file has it.
    pub before: Term,
    /// Whether it had a plan; without one nothing is known of what stands and what is left.
    pub planned: bool,
    /// Whether it was not over yet: what was planned until its end then counts as done.
    pub early: bool,
    /// Seed that is left, each crop in a sentence.
    pub seed: Vec<String>,
    /// Notes taken over.
    pub notes: usize,
    /// Tanks that were out of use at the end, in words. What stood in them counts as lost.
    pub tanks_out: Vec<String>,
}

impl Desk<'_> {
    /// Makes the files of a term that goes on from this one: its file with the new dates, what stands on the last day, what
    /// is left in store and what was noted, and its own crops. Nothing is written.
    ///
    /// # Errors
    /// If this term or its plan cannot be read, the next one cannot come after it, or its file cannot be changed.
    pub fn next(&self, next: &Next) -> Result<Onward, Trouble> {
        let opened = self.open()?;
        refuse_dates(&opened.as_written, next)?;
        // A plan that was lost is no reason to take everything for cleared.
        let planned = opened.plan.is_some() || !history::numbers(self.store)?.is_empty();
        let (opened, plan) = if planned {
            self.with_plan(opened).map(|(opened, plan)| (opened, Some(plan)))?
        } else {
            (opened, None)
        };
        let term = &opened.read.term;
        let after = plus_days(term.own_end(), 1);
        let end = plan.as_ref().map(|plan| state(term, plan, &opened.journal.journal, after));
        let left = plan.as_ref().zip(end.as_ref()).map(|(plan, end)| left_at(term, plan, end));
        let told = Told {
            early: plan.is_some() && self.moment.today <= term.own_end(),
            seed: left.iter().flat_map(|left| &left.seed).map(|left| seed(term, left, next)).collect(),
            tanks_out: end.iter().flat_map(|end| tanks_out(term, end)).collect(),
        };
        let notes = notes(&opened);
        let carried = Carried {
            span: next.span,
            name: next.name.clone(),
            standing: end.as_ref().map_or_else(Vec::new, |end| standing(&opened.as_written, end)),
            leftover: left,
            head: told.head(&opened.as_written, plan.is_some()),
            supplies: told.supplies(),
            notes: headed(&opened.as_written, &notes),
        };
        let made =
            next_term::make(self.store, &opened.as_written, &carried).map_err(|why| self.unmade(why))?;
        Ok(Onward {
            made,
            planned: plan.is_some(),
            early: told.early,
            seed: told.seed,
            notes: notes.len(),
            tanks_out: told.tanks_out,
            before: opened.as_written,
        })
    }
}

impl Desk<'_> {
    fn unmade(&self, why: Unmade) -> Trouble {
        match why {
            Unmade::Before(problems) => Trouble::Files(problems),
            Unmade::Next(problems) => Trouble::told(
                format!(
                    "the next term could not be read as it would be written, so nothing was\n\n{problems}"
                ),
                format!(
                    "change what these lines come from in {}, or choose other dates",
                    self.store.shown(FILE_NAME)
                ),
            ),
        }
    }
}

/// What is worth a remark in the new file.
struct Told {
    early: bool,
    seed: Vec<String>,
    tanks_out: Vec<String>,
}

impl Told {
    fn head(&self, before: &Term, planned: bool) -> Vec<String> {
        let mut head = vec![
            format!(
                "Goes on from \"{}\", {} to {}. Lines that begin like this one tell what sowtide next changed, or",
                before.name, before.start, before.own_end()
            ),
            "hold what is past. Remove them when you have looked through them; the next sowtide next does, too.".to_owned(),
            "Look through: dates, days off, the target, what stands, and what you have in store.".to_owned(),
        ];
        if self.early {
            head.push(
                "That term was not over yet: what was planned until its end counts as done.".to_owned(),
            );
        }
        if !planned {
            head.push("That term had no plan, so nothing is known of what stands or is left.".to_owned());
        }
        let out = self.tanks_out.iter();
        head.extend(out.map(|out| format!("{out}: record that again once this term is planned.")));
        head
    }

    fn supplies(&self) -> Vec<String> {
        let note = "Stock is what should be left: count it. Older seed comes up less; ten seeds on wet paper tell how much.";
        std::iter::once(note.to_owned()).chain(self.seed.iter().cloned()).collect()
    }
}

fn refuse_dates(before: &Term, next: &Next) -> Result<(), Trouble> {
    let DateSpan { first, last } = next.span;
    if last < first {
        return Err(Trouble::usage(
            format!("the next term would end on {last}, before it starts on {first}"),
            "write a later day after --end",
        ));
    }
    if first <= before.own_end() {
        return Err(Trouble::usage(
            format!(
                "the next term would start on {first}, but \"{}\" runs until {}",
                before.name,
                before.own_end()
            ),
            format!("write {} or a later day after --start", plus_days(before.own_end(), 1)),
        ));
    }
    if days_between(first, last) > i64::from(LONGEST_TERM) {
        return Err(Trouble::usage(
            "the next term would be too long to plan",
            format!("end it on {} or before", plus_days(first, LONGEST_TERM)),
        ));
    }
    Ok(())
}

fn left_at(term: &Term, plan: &Plan, end: &State) -> Leftover {
    let sown = end.batches.iter().filter(|batch| batch.sown.is_some());
    let sown: Sown = sown.map(|batch| (batch.batch.clone(), batch.plugs)).collect();
    leftover(&term.of_its_own(), &term.own_part(plan), &sown)
}

/// Everything that stands, under names of its own.
fn standing(before: &Term, end: &State) -> Vec<Standing> {
    let mut found: Vec<Standing> = Vec::new();
    for batch in &end.batches {
        for (plants, stage) in stages(before, batch, end) {
            let Some(born) = batch.born else { continue };
            let sown = before_the_move(before, batch, &stage, born);
            let id = free_name(&batch.batch, &found);
            let (crop, site) = (batch.crop.clone(), batch.site.clone());
            found.push(Standing { batch: id, crop, site, sown, plants, stage });
        }
    }
    found
}

/// When plants were sown at the latest: records of sowing and moving need not agree, but a term file must.
fn before_the_move(before: &Term, batch: &BatchState, stage: &Stage, born: NaiveDate) -> NaiveDate {
    let Stage::Tank { transplanted, .. } = stage else { return born };
    let in_cups = before.crop(&batch.crop).is_some_and(|wanted| wanted.sow != SowWish::Nursery);
    born.min(minus_days(*transplanted, u32::from(!in_cups)))
}

fn stages(before: &Term, batch: &BatchState, end: &State) -> Vec<(u32, Stage)> {
    let out =
        |stand: &&Stand| end.tanks_out.iter().any(|out| (&out.site, &out.tank) == (&batch.site, &stand.tank));
    let seedlings = Some((batch.tray.seedlings(), Stage::Nursery)).filter(|(plants, _)| *plants > 0);
    let stands = batch.stands.iter().filter(|stand| !out(stand));
    stands.map(|stand| (stand.plants, in_tank(before, batch, stand))).chain(seedlings).collect()
}

/// Plants in a tank, with the cuts that were taken before the term began.
fn in_tank(before: &Term, batch: &BatchState, stand: &Stand) -> Stage {
    let earlier = before.standing.iter().find(|standing| standing.batch == batch.batch);
    let mut cuts = match earlier.map(|standing| &standing.stage) {
        Some(Stage::Tank { cuts, .. }) => cuts.clone(),
        _ => Vec::new(),
    };
    cuts.extend(&stand.cuts);
    // Either each plant has its hole or none.
    let holes = if stand.holes.len() == stand.plants as usize { stand.holes.clone() } else { Vec::new() };
    Stage::Tank { tank: stand.tank.clone(), transplanted: stand.transplanted, holes, cuts }
}

/// A name for what is left of a batch that no other has. New batches get names of their own.
fn free_name(batch: &BatchId, taken: &[Standing]) -> BatchId {
    let old = format!("old-{batch}");
    let base = if batch.as_str().starts_with("old-") || !is_plain(&old) { batch.as_str() } else { &old };
    // Room for a number.
    let base = &base[..base.len().min(34)];
    let names = (1..).map(|number| if number == 1 { base.to_owned() } else { format!("{base}-{number}") });
    let free = |name: &String| taken.iter().all(|other| other.batch.as_str() != name);
    BatchId::new(names.take(100_000).find(free).unwrap_or_default())
}

/// `Butterhead lettuce: 1.2 g left, packed for 2025, 2 years old, ...`.
fn seed(term: &Term, left: &SeedLeft, next: &Next) -> String {
    let year = next.span.first.year();
    let guess = if left.year_guessed { " as far as is known" } else { "" };
    let told = format!(
        "{}: {} left, packed for {}{guess}",
        crop_name(term, &left.crop),
        seed_amount(left.amount),
        left.packed
    );
    let age = u32::try_from(year - left.packed).unwrap_or(0);
    let Some(wanted) = term.crop(&left.crop).filter(|_| age > 0) else { return told };
    let old = format!("{told}, {} old in {year}", counted(age, "year"));
    let Some(found) = longevity(&wanted.crop) else {
        return format!("{old}; how long such seed keeps is not known here");
    };
    let (fewest, most) = (*found.years.start(), *found.years.end());
    let share = |keeps| percent(longevity::left(wanted.crop.germination.value, age, keeps));
    let expected = if share(fewest) == share(most) {
        share(most)
    } else {
        format!("{} to {}", share(fewest), share(most))
    };
    let keeps = if fewest == most { counted(most, "year") } else { format!("{fewest} to {most} years") };
    format!("{old}: expect {expected} of the packet's germination (it keeps {keeps}: {})", found.source)
}

fn tanks_out(term: &Term, end: &State) -> Vec<String> {
    let told = |out: &TankOut| {
        format!("Tank {} of {} was out of use since {}", out.tank, site_name(term, &out.site), out.from)
    };
    end.tanks_out.iter().map(told).collect()
}

/// What was noted, each on one line: day, place and text.
fn notes(opened: &Opened) -> Vec<String> {
    let term = &opened.as_written;
    let note = |entry: &Entry| {
        let What::Note { batch, text } = &entry.what else { return None };
        let place = entry.site.as_ref().map_or("all sites", |site| site_name(term, site));
        let batch = batch.as_ref().map_or(String::new(), |batch| format!(", {batch}"));
        Some(cleaned(&format!("{}, {place}{batch}: {text}", entry.day.format("%a %Y-%m-%d"))))
    };
    opened.journal.journal.in_force().into_iter().filter_map(note).collect()
}

fn headed(before: &Term, notes: &[String]) -> Vec<String> {
    let head = (!notes.is_empty()).then(|| format!("Noted in \"{}\":", before.name));
    head.into_iter().chain(notes.iter().map(|note| format!("  {note}"))).collect()
}
