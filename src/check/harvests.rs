//! Harvests come in order, are numbered through, end with pulling, and keep the user's wish.

use super::subject::{Known, KnownPart, Subject};
use super::violation::{Findings, Rule, Violation, count, say, verb};
use crate::domain::growth::Way;
use crate::domain::term::WayWish;
use chrono::NaiveDate;

pub(super) fn check(subject: &Subject<'_>, found: &mut Findings) {
    for (known, part) in subject.parts() {
        order(known, part, found);
        how_many(known, part, found);
        ways(known, part, found);
        wish(known, part, found);
    }
}

fn complain(rule: Rule, known: &Known<'_>, day: NaiveDate, message: String) -> Violation {
    Violation::new(rule, message).on(day).at(&known.site.id).of(&known.batch.id)
}

fn order(known: &Known<'_>, part: &KnownPart<'_>, found: &mut Findings) {
    let harvests = &part.part.harvests;
    for pair in harvests.windows(2) {
        if pair[1].date <= pair[0].date {
            found.push(complain(
                Rule::HarvestOrder,
                known,
                pair[1].date,
                format!(
                    "this harvest is listed after the one on {}, but is not later; list them by date",
                    say(pair[0].date)
                ),
            ));
        }
    }
    for (harvest, right) in harvests.iter().zip(u64::from(part.part.cuts_before) + 1..) {
        if u64::from(harvest.number) != right {
            found.push(complain(
                Rule::HarvestOrder,
                known,
                harvest.date,
                format!("this is harvest number {right} of these plants, not {}", harvest.number),
            ));
        }
    }
}

fn how_many(known: &Known<'_>, part: &KnownPart<'_>, found: &mut Findings) {
    let planned = part.part.harvests.len() as u64 + u64::from(part.part.cuts_before);
    let most = known.figures().harvests();
    if planned > u64::from(most) {
        let day = part.part.leaves().unwrap_or(part.part.transplant);
        found.push(complain(
            Rule::HarvestOrder,
            known,
            day,
            format!(
                "{} {} planned, but a plant of {} gives {}",
                count(planned, "harvest"),
                verb(planned, "is", "are"),
                known.wanted.crop.name,
                count(most, "harvest"),
            ),
        ));
    }
}

fn ways(known: &Known<'_>, part: &KnownPart<'_>, found: &mut Findings) {
    if part.part.lost.is_some() {
        // What lost plants may have is a rule of its own.
        return;
    }
    let Some((last, earlier)) = part.part.harvests.split_last() else {
        found.push(complain(
            Rule::HarvestWays,
            known,
            part.part.transplant,
            format!(
                "{} in tank {} {} never harvested, but must be pulled at last",
                count(part.part.plants, "plant"),
                part.part.tank,
                verb(part.part.plants, "is", "are")
            ),
        ));
        return;
    };
    for harvest in earlier.iter().filter(|harvest| harvest.way == Way::WholeHead) {
        found.push(complain(
            Rule::HarvestWays,
            known,
            harvest.date,
            "the plants are pulled here but harvested again later; all harvests but the last are cuts"
                .to_owned(),
        ));
    }
    if last.way == Way::Cut {
        found.push(complain(
            Rule::HarvestWays,
            known,
            last.date,
            "the last harvest is a cut, so the plants would stand for ever; the last harvest pulls them"
                .to_owned(),
        ));
    }
}

fn wish(known: &Known<'_>, part: &KnownPart<'_>, found: &mut Findings) {
    let Some(first) = part.part.harvests.first() else {
        return;
    };
    let name = &known.wanted.crop.name;
    let message = match known.wanted.way {
        WayWish::WholeHead if first.way == Way::Cut => {
            format!("{name} is cut, but the term asks for whole heads")
        }
        WayWish::Cut if first.way == Way::WholeHead && part.part.cuts_before == 0 => {
            format!("{name} is pulled at once, but the term asks for a cut before that")
        }
        _ => return,
    };
    found.push(complain(Rule::WayWish, known, first.date, message));
}
