//! Lost plants are gone for good, and nothing stands in a tank that is out of use.

use super::subject::{Known, KnownPart, Subject};
use super::violation::{Findings, Rule, Violation, count, say, verb};
use crate::domain::growth::Way;
use chrono::NaiveDate;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        if let Some(day) = part.part.lost {
            lost(subject, known, part, day, found);
        }
        out_of_use(known, part, found);
    }
}

fn complain(rule: Rule, known: &Known<'_>, day: NaiveDate, message: String) -> Violation {
    Violation::new(rule, message).on(day).at(&known.site.id).of(&known.batch.id)
}

fn lost(
    subject: &Subject<'_>,
    known: &Known<'_>,
    part: &KnownPart<'_>,
    day: NaiveDate,
    found: &mut Findings,
) {
    let plants = count(part.part.plants, "plant");
    let are = verb(part.part.plants, "is", "are");
    let mut wrong = |message: String| found.push(complain(Rule::Lost, known, day, message));
    if subject.plan.replanned.is_none_or(|from| day > from) {
        wrong(format!("{plants} {are} lost on a day that is still to come; only what happened can be told"));
    }
    if day < known.batch.sown {
        wrong(format!("{plants} {are} lost before the batch is sown on {}", say(known.batch.sown)));
    }
    for harvest in &part.part.harvests {
        if harvest.date > day || part.part.lost_in_nursery() {
            wrong(format!("{plants} {are} lost, but harvested on {}", say(harvest.date)));
        } else if harvest.way == Way::WholeHead {
            wrong(format!("{plants} {are} lost, but pulled on {}", say(harvest.date)));
        }
    }
}

fn out_of_use(known: &Known<'_>, part: &KnownPart<'_>, found: &mut Findings) {
    let Some(tank) = part.tank.filter(|_| !part.part.lost_in_nursery()) else { return };
    let leaves = part.part.leaves().unwrap_or(NaiveDate::MAX);
    if let Some(out) = tank.out_during(part.part.transplant, leaves) {
        let until =
            if out.last == NaiveDate::MAX { " on".to_owned() } else { format!(" to {}", say(out.last)) };
        let message = format!(
            "there {} {} in tank {}, which is out of use from {}{until}",
            verb(part.part.plants, "is", "are"),
            count(part.part.plants, "plant"),
            tank.id,
            say(out.first),
        );
        found.push(complain(Rule::TankOut, known, out.first.max(part.part.transplant), message));
    }
}
