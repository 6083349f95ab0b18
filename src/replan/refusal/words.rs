//! Refusals in plain words, and how to mend what is wrong.

use super::{Absence, LastTaken, Named, Refusal};
use crate::domain::ids::{BatchId, TankId};
use chrono::NaiveDate;
use std::fmt;

impl fmt::Display for Named {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Site => "site in the term",
            Self::Crop => "crop in the term",
            Self::Batch => "batch in the plan",
            Self::Tank => "tank here",
        })
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutsideTerm { day, term: (first, last) } => {
                let (day, first, last) = (told(*day), told(*first), told(*last));
                write!(f, "{day} is outside the term, which runs from {first} to {last}")
            }
            Self::Future { day, today } => {
                write!(f, "{} has not come yet; today is {}", told(*day), told(*today))
            }
            Self::Unknown { what, name, .. } => write!(f, "there is no {what} called \"{name}\""),
            Self::TankElsewhere { tank, site, at, .. } => {
                write!(f, "tank {tank} is not at {site}, but at {}", list(at))
            }
            Self::BatchElsewhere { batch, site, at } => write!(f, "batch {batch} is at {at}, not at {site}"),
            Self::NoSite => write!(f, "it is not clear which site is meant"),
            Self::NoEntry(id) => write!(f, "there is no entry {id} in the journal"),
            Self::Replaced { id, by, withdrawn: false } => {
                write!(f, "{id} has already been corrected by {by}")
            }
            Self::Replaced { id, by, withdrawn: true } => {
                write!(f, "{id} has already been withdrawn by {by}")
            }
            Self::WithdrawalStands(id) => write!(f, "{id} only takes an entry back and cannot be replaced"),
            Self::WithdrawsNothing => write!(f, "it is not said which entry is taken back"),
            Self::Twice { entry, .. } => write!(f, "the same is in the journal already, as {entry}"),
            Self::OutOfUse { tank, from, entry } => {
                write!(f, "tank {tank} is out of use since {} ({entry})", told(*from))
            }
            Self::InUse(tank) => write!(f, "tank {tank} is in use on that day"),
            Self::Backwards => write!(f, "the last day lies before the first"),
            Self::NothingPlanned { .. }
            | Self::NotNext { .. }
            | Self::NotLater(_)
            | Self::PutOffTooFar { .. } => f.write_str(&not_put_off(self)),
            Self::NoClass(day) => write!(f, "no class meets there on {} anyway", told(*day)),
            Self::ClassAnyway(day) => write!(f, "a class meets there on {} anyway", told(*day)),
            Self::NothingServed { day, .. } => write!(f, "{} is not a serving day", told(*day)),
            Self::NoRegrowth(crop) => write!(f, "{crop} does not grow again after a cut"),
            Self::TooManySamples => write!(f, "more plants were measured than harvested"),
            Self::TooHeavy { crop, each, full_grams } => {
                write!(f, "that is {each} g a plant; a full-grown {crop} weighs about {full_grams} g")
            }
            Self::StoodBefore(batch) => {
                write!(f, "batch {batch} stood there before the term began, so there was nothing to sow")
            }
            Self::SownBefore { batch, on, entry } => {
                write!(f, "batch {batch} was already sown on {} ({entry})", told(*on))
            }
            Self::NotSown { batch, day, sown } => {
                write!(f, "batch {batch} was not sown yet on {}; it is sown on {}", told(*day), told(*sown))
            }
            Self::InCups(batch) => {
                write!(f, "batch {batch} was sown straight into the cups of a tank, not in the nursery")
            }
            Self::TooManyPlugs { batch, stated, standing, sown } => {
                too_many_plugs(f, batch, *stated, *standing, *sown)
            }
            Self::NotUp { batch, sown, day, days } => {
                let (sown, day) = (told(*sown), told(*day));
                write!(
                    f,
                    "batch {batch}, sown on {sown}, needs {days} days to come up, so none can be moved on {day}"
                )
            }
            Self::TooManyPlants { batch, tank, stated, standing } => {
                write!(f, "of batch {batch} only {} in tank {tank}, not {stated}", stand(*standing, "plant"))
            }
            Self::TankFull { tank, holes, others: 0, .. } => {
                write!(f, "tank {tank} with its {holes} holes has no room for so many")
            }
            Self::TankFull { tank, holes, day, others } => {
                let (day, others) = (told(*day), stand(*others, "other plant"));
                write!(
                    f,
                    "tank {tank} with its {holes} holes has no room for so many: on {day} {others} there"
                )
            }
            Self::TankTwice(tank) => write!(f, "tank {tank} is named twice"),
            Self::HolesInNursery => write!(f, "plugs in the nursery stand in no holes"),
            Self::HolesMiscounted { plants, holes } => {
                let plants = plants.map_or_else(|| "all".to_owned(), |plants| plants.to_string());
                write!(f, "not as many holes are named as plants: {holes} for {plants}")
            }
            Self::NoSuchHoles { tank, holes, last } => {
                write!(f, "tank {tank} has holes 1 to {last}, but not {}", list(holes))
            }
            Self::NotInHoles { batch, tank, holes } => {
                write!(f, "of batch {batch} nothing stands in tank {tank} in {}", in_holes(holes))
            }
            Self::NotInTank { batch, tank, why } => not_in_tank(f, batch, tank, why),
            Self::CutThatDay { batch, tank, day, entry } => write!(
                f,
                "these plants of batch {batch} in tank {tank} were already cut on {} ({entry})",
                told(*day)
            ),
            Self::Contradicts { entry, because } => {
                write!(f, "then {entry}, which is in the journal, could not be: {because}")
            }
        }
    }
}

/// Why work cannot be put off; empty for other refusals.
fn not_put_off(refusal: &Refusal) -> String {
    match refusal {
        Refusal::NothingPlanned { batch, day, .. } => {
            format!("nothing is planned with batch {batch} on {}", told(*day))
        }
        Refusal::NotNext { batch, day, before } => {
            let (day, before) = (told(*day), told(*before));
            format!("before {day} something is to be done with batch {batch} on {before}")
        }
        Refusal::NotLater(day) => format!("it is planned for {}, which is no earlier", told(*day)),
        Refusal::PutOffTooFar { batch, next } => {
            format!(
                "the next thing to do with batch {batch} is planned for {}, before that is done",
                told(*next)
            )
        }
        _ => String::new(),
    }
}

fn too_many_plugs(
    f: &mut fmt::Formatter<'_>,
    batch: &BatchId,
    stated: u32,
    standing: u32,
    sown: u32,
) -> fmt::Result {
    if standing == sown {
        return write!(f, "of batch {batch} only {} sown, not {stated}", were(sown, "plug"));
    }
    if standing == 0 {
        return write!(
            f,
            "nothing of batch {batch} stands in the nursery any more; {} sown, all are lost or moved",
            were(sown, "plug")
        );
    }
    write!(
        f,
        "of batch {batch} only {} in the nursery, not {stated}; {} sown, the others are lost or moved",
        stand(standing, "plug"),
        were(sown, "plug")
    )
}

fn in_holes(holes: &[u32]) -> String {
    format!("hole{} {}", if holes.len() == 1 { "" } else { "s" }, list(holes))
}

fn not_in_tank(f: &mut fmt::Formatter<'_>, batch: &BatchId, tank: &TankId, why: &Absence) -> fmt::Result {
    write!(f, "no plant of batch {batch} stands in tank {tank} on that day: ")?;
    match why {
        Absence::MovedLater(day) => write!(f, "it is moved there on {}", told(*day)),
        Absence::LostBefore => write!(f, "all its seedlings were lost before they could be moved"),
        Absence::In(tanks) => write!(f, "it stands in {}", list(tanks)),
        Absence::Gone { since, by: LastTaken::Harvest(entry) } => {
            write!(f, "the last was pulled on {} ({entry})", told(*since))
        }
        Absence::Gone { since, by: LastTaken::Loss(entry) } => {
            write!(f, "the last was lost on {} ({entry})", told(*since))
        }
        Absence::Gone { since, by: LastTaken::Plan } => {
            write!(f, "by the plan the last was pulled on {}, which counts as done", told(*since))
        }
        Absence::Gone { since, by: LastTaken::LossOfPlan } => {
            write!(f, "the plan was made anew counting the last as lost on {}", told(*since))
        }
        Absence::NeverThere => write!(f, "it never was there"),
    }
}

impl Refusal {
    /// How to mend it. For names that lead nowhere, a nearer name helps more; see [`Refusal::unknown_name`].
    pub fn help(&self) -> String {
        match self {
            Self::OutsideTerm { .. } | Self::Future { .. } => {
                "check the day; it is written as year-month-day, such as 2026-09-21".to_owned()
            }
            Self::Unknown { known, .. } => format!("known here: {}", known.join(", ")),
            Self::TankElsewhere { known, .. } => format!("tanks there: {}", list(known)),
            Self::BatchElsewhere { at, .. } => {
                format!("leave --site away, or write --site {at}; check the batch")
            }
            Self::NoSite => "name it with --site".to_owned(),
            Self::NoEntry(_) | Self::WithdrawsNothing => "see the numbers with: sowtide journal".to_owned(),
            Self::Replaced { by, withdrawn: false, .. } => format!("correct {by} instead"),
            Self::Replaced { withdrawn: true, .. } => {
                "record what happened as a new entry, without --replaces".to_owned()
            }
            Self::WithdrawalStands(_) => "record what happened as a new entry, without --replaces".to_owned(),
            Self::Twice { entry, adds_up: true } => format!(
                "nothing to do; if it really happened twice, correct {entry} with the sum: --replaces {entry}"
            ),
            Self::Twice { .. } => "nothing to do".to_owned(),
            Self::OutOfUse { tank, .. } => format!(
                "if the tank can be used again, record that first: sowtide record tank-back --tank {tank}"
            ),
            Self::InUse(_) => "see tanks and entries with: sowtide status, sowtide journal".to_owned(),
            Self::Backwards => "check both days".to_owned(),
            Self::NothingPlanned { days, .. } if days.is_empty() => {
                "nothing is to be done with it any more; see: sowtide status".to_owned()
            }
            Self::NothingPlanned { days, .. } => {
                let days: Vec<String> = days.iter().map(|day| told(*day)).collect();
                format!("name the planned day with --day; planned are: {}", days.join(", "))
            }
            Self::NotLater(_) => "name a later day with --to".to_owned(),
            Self::NotNext { .. } => "put that off first, or record it".to_owned(),
            Self::PutOffTooFar { .. } => "choose an earlier day, or put off what follows first".to_owned(),
            Self::NoClass(_) | Self::ClassAnyway(_) => {
                "check the day and the site; see: sowtide week".to_owned()
            }
            Self::NothingServed { near, .. } if near.is_empty() => {
                "no greens are served any more in this term".to_owned()
            }
            Self::NothingServed { near, .. } => {
                let near: Vec<String> = near.iter().map(|day| told(*day)).collect();
                format!("serving days near it: {}", near.join(", "))
            }
            Self::NoRegrowth(_) => "if the plants are gone, the way is: whole".to_owned(),
            Self::TooManySamples => "check the number of plants".to_owned(),
            Self::TooHeavy { .. } => "check mass, unit and number of plants".to_owned(),
            Self::StoodBefore(_) => "check the batch; see: sowtide status".to_owned(),
            Self::SownBefore { entry, .. } => {
                format!("if that was wrong, correct it with --replaces {entry}")
            }
            Self::NotSown { .. } | Self::NotUp { .. } => {
                "check day and batch; if it was sown earlier, record that first: sowtide record sown"
                    .to_owned()
            }
            Self::TankFull { .. } => {
                "check tank and number; what became of plants that are gone must be recorded first".to_owned()
            }
            Self::TankTwice(_) => "put all its holes or plants into one --place".to_owned(),
            Self::HolesInNursery => "leave out --holes, or name the tank with --tank".to_owned(),
            Self::HolesMiscounted { .. } => "name one hole a plant, or leave out one of both".to_owned(),
            Self::NoSuchHoles { .. } => "holes are numbered row by row, as one reads".to_owned(),
            Self::NotInHoles { .. } => {
                "check batch and holes; see where plants stand with: sowtide status --json".to_owned()
            }
            Self::InCups(_) => "the plan counts on some cups staying empty; where more do, record these as lost, with --in and \
                 the tank"
                .to_owned(),
            Self::TooManyPlugs { .. } | Self::TooManyPlants { .. } => {
                "check batch and number; see what stands with: sowtide status".to_owned()
            }
            Self::NotInTank { why, .. } => absence_help(why),
            Self::CutThatDay { entry, .. } => {
                format!("if more was weighed that day, correct {entry} with the sum: --replaces {entry}")
            }
            Self::Contradicts { entry, .. } => format!("correct or withdraw {entry} first"),
        }
    }

    /// The name that leads nowhere and those that exist, if that is what is wrong.
    pub fn unknown_name(&self) -> Option<(&str, &[String])> {
        match self {
            Self::Unknown { name, known, .. } => Some((name, known)),
            _ => None,
        }
    }
}

fn absence_help(why: &Absence) -> String {
    match why {
        Absence::MovedLater(_) | Absence::LostBefore => {
            "check day and batch; if plants were moved, record that first: sowtide record transplanted"
                .to_owned()
        }
        Absence::Gone { by: LastTaken::Harvest(entry) | LastTaken::Loss(entry), .. } => {
            format!("check batch and day; if {entry} is wrong, correct it with --replaces {entry}")
        }
        Absence::Gone { by: LastTaken::Plan, .. } => {
            "check batch and day; record first what was really harvested: sowtide record harvested".to_owned()
        }
        Absence::Gone { by: LastTaken::LossOfPlan, .. } => {
            "if they lived longer, take the plan from before back, record it, and plan again; its number: sowtide plan \
             --history"
                .to_owned()
        }
        Absence::In(_) | Absence::NeverThere => "check batch and tank; see: sowtide status".to_owned(),
    }
}

/// `Thu 10 Sep 2026`.
fn told(day: NaiveDate) -> String {
    day.format("%a %-d %b %Y").to_string()
}

fn list<T: fmt::Display>(names: &[T]) -> String {
    names.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// `1 plant stands`, `2 plants stand`.
fn stand(number: u32, noun: &str) -> String {
    if number == 1 { format!("1 {noun} stands") } else { format!("{number} {noun}s stand") }
}

/// `1 plug was`, `2 plugs were`.
fn were(number: u32, noun: &str) -> String {
    if number == 1 { format!("1 {noun} was") } else { format!("{number} {noun}s were") }
}
