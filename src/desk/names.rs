//! What people call things, to their ids. A name that leads nowhere stays as it was typed, to be refused with what is known.

use super::{Clerk, Trouble};
use crate::domain::crop::Crop;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::units::Amount;
use crate::files::problem::{nearest, suggest};

/// The way of harvesting that sheets, calendars and lists tell in these words: `cut 1 of 3`, `pull`, `last cut (3 of 3)`.
///
/// # Errors
/// If no way is called so, with how to write it.
pub fn way(text: &str) -> Result<Way, String> {
    let words = text.split('(').next().unwrap_or_default().to_lowercase().replace(['-', '_'], " ");
    let words: Vec<&str> = words.split_whitespace().collect();
    match words[..] {
        ["cut" | "cuts" | "leaves" | "c"] | ["cut", "and", "come", "again"] => Ok(Way::Cut),
        ["cut", number, "of", all] if number.parse::<u32>().is_ok() && all.parse::<u32>().is_ok() => {
            Ok(Way::Cut)
        }
        // After the last cut the plants are pulled.
        ["last", "cut"] | ["pull" | "pulled" | "whole" | "p"] | ["pull" | "pulled", "whole"] => {
            Ok(Way::WholeHead)
        }
        ["head" | "heads"] | ["whole", "head" | "heads"] => Ok(Way::WholeHead),
        _ => {
            Err("write cut if the plants were left to grow again, or pull if they were taken whole"
                .to_owned())
        }
    }
}

impl Clerk<'_> {
    /// The site of that id or name.
    #[must_use]
    pub fn site_named(&self, typed: &str) -> SiteId {
        self.term.site_called(typed).map_or_else(|| SiteId::new(typed), |site| site.id.clone())
    }

    /// The tank of that id, with the word "tank" before it or not; one of the site, if it is known.
    #[must_use]
    pub fn tank_named(&self, typed: &str, site: Option<&SiteId>) -> TankId {
        let sites = self.term.sites.iter().filter(|other| site.is_none_or(|site| other.id == *site));
        let found = sites.filter_map(|site| site.tank_called(typed)).next();
        found.map_or_else(|| TankId::new(typed.trim()), |tank| tank.id.clone())
    }

    /// The crop of the term that answers to a name.
    ///
    /// # Errors
    /// If the term has no such crop, with the nearest name.
    pub fn crop_named(&self, typed: &str) -> Result<CropId, Trouble> {
        let crops = || self.term.crops.iter().map(|wanted| &wanted.crop);
        let found = crops()
            .find(|crop| crop.id.as_str() == typed)
            .or_else(|| crops().find(|crop| crop.is_called(typed)));
        found.map(|crop| crop.id.clone()).ok_or_else(|| {
            let near = nearest(typed, crops().flat_map(Crop::names));
            let ids = || crops().map(|crop| crop.id.as_str());
            let help = near.map_or_else(|| suggest(typed, ids()), |name| suggest(typed, [name]));
            Trouble::told(format!("not recorded: there is no crop in the term called \"{typed}\""), help)
        })
    }

    /// Grams of an amount of a batch, and how it was measured if not by weighing.
    ///
    /// # Errors
    /// If nobody knows what a cup of the crop weighs.
    pub fn grams(&self, amount: Amount, batch: &BatchId) -> Result<(f64, Option<String>), Trouble> {
        let cups = match amount {
            Amount::Weighed(mass) => return Ok((mass.grams(), None)),
            Amount::Cups(cups) => cups,
        };
        let Some(planned) = self.plan.batches.iter().find(|planned| planned.id == *batch) else {
            return Err(self.unknown_batch(batch));
        };
        let crop = self.term.crop(&planned.crop).map(|wanted| &wanted.crop);
        match crop.and_then(|crop| crop.cup_grams.as_ref()) {
            Some(cup) => Ok((cups * cup.value, Some(amount.to_string()))),
            None => Err(Trouble::told(
                format!(
                    "nobody has published what a cup of {} weighs",
                    crop.map_or("that", |crop| &crop.name)
                ),
                "weigh it: put the empty tub on a kitchen scale, press tare, put the leaves in, and write the number with its unit, such as \"180 g\"",
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_are_called_what_sheets_and_lists_call_them() {
        for text in ["cut", "Cut", "cut 1 of 3", "cuts", "cut and come again"] {
            assert_eq!(way(text), Ok(Way::Cut), "{text}");
        }
        for text in [
            "pull",
            "Pull",
            "pull whole",
            "whole heads",
            "whole-head",
            "last cut (3 of 3)",
            "last cut",
            "whole",
        ] {
            assert_eq!(way(text), Ok(Way::WholeHead), "{text}");
        }
        for text in ["", "snip", "cut of", "cut some, pull some", "(cut)"] {
            assert!(way(text).is_err(), "{text}");
        }
    }
}
