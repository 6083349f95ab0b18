//! Work that was put off is not done before its new day.

use super::subject::Subject;
use super::violation::{Findings, Rule, Violation, say};

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for known in &subject.batches {
        let put_off = || subject.term.put_off.iter().filter(|own| own.batch == known.batch.id);
        let sown = (!known.batch.is_standing()).then_some((known.batch.sown, "sown"));
        let of_parts = known.parts.iter().flat_map(|part| {
            let moved = part.is_transplanted().then_some((part.part.transplant, "moved"));
            moved.into_iter().chain(part.part.harvests.iter().map(|harvest| (harvest.date, "harvested")))
        });
        for (day, done) in sown.into_iter().chain(of_parts) {
            if let Some(own) = put_off().find(|own| (own.from..own.until).contains(&day)) {
                let message = format!(
                    "it is {done}, but what was planned for {} was put off to {}",
                    say(own.from),
                    say(own.until)
                );
                let violation = Violation::new(Rule::PutOff, message).on(day);
                found.push(violation.at(&known.site.id).of(&known.batch.id));
            }
        }
    }
}
