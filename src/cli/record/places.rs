//! Where plants stood that were harvested or lost, as people type it.

use super::holes::{self, Holes};
use crate::desk::{Clerk, Named, Trouble};
use crate::domain::ids::{BatchId, SiteId};
use clap::Args;

/// Which plants are meant.
#[derive(Debug, Args)]
pub(super) struct Places {
    /// How many plants, in all tanks together [default: as many as --holes or --place name]
    #[arg(long, value_name = "NUMBER", value_parser = |text: &str| super::what::number(text, 1))]
    pub(super) plants: Option<u32>,
    /// The tank; several of them if they were harvested or lost together: "blue, red"
    #[arg(long = "tank", visible_alias = "in", value_name = "NAMES", value_delimiter = ',')]
    pub(super) tanks: Vec<String>,
    /// Their holes, such as 4-7,9, if it is one tank [default: the first ones; if plants were lost, the last ones]
    #[arg(long, value_name = "HOLES", value_parser = holes::parse)]
    pub(super) holes: Option<Holes>,
    /// A tank with its holes, "blue: 1-6", or with the number of its plants, "blue: 6 plants". Give it once for each tank
    #[arg(long = "place", value_name = "PLACE", value_parser = parse, conflicts_with_all = ["tanks", "holes"])]
    pub(super) places: Vec<PlaceArg>,
}

/// One place as it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct PlaceArg {
    tank: String,
    plants: Option<u32>,
    holes: Vec<u32>,
}

/// Reads `blue`, `blue: 1-6`, `blue: holes 1-6` and `blue: 6 plants`.
fn parse(text: &str) -> Result<PlaceArg, String> {
    let (tank, which) = text.split_once(':').map_or((text, None), |(tank, which)| (tank, Some(which.trim())));
    let plain = PlaceArg { tank: tank.trim().to_owned(), plants: None, holes: Vec::new() };
    if plain.tank.is_empty() {
        return Err("name the tank first, such as \"blue: 1-6\"".to_owned());
    }
    let Some(which) = which else { return Ok(plain) };
    if let Some(number) = which.strip_suffix("plants").or_else(|| which.strip_suffix("plant")) {
        return Ok(PlaceArg { plants: Some(super::what::number(number.trim(), 1)?), ..plain });
    }
    let numbers = which.strip_prefix("holes").or_else(|| which.strip_prefix("hole")).unwrap_or(which);
    let Holes(holes) = holes::parse(numbers)
        .map_err(|told| format!("{told}; or a number of plants, such as \"{}: 6 plants\"", plain.tank))?;
    Ok(PlaceArg { holes, ..plain })
}

impl Places {
    /// Whether nothing is said of tanks and holes.
    pub(super) fn are_open(&self) -> bool {
        self.tanks.is_empty() && self.holes.is_none() && self.places.is_empty()
    }

    /// The tanks that are named, by the names that people use at the batch's site; none if no tank is.
    pub(super) fn named(&self, clerk: &Clerk<'_>, site: Option<&SiteId>) -> Result<Vec<Named>, Trouble> {
        let holes = self.holes.as_ref().map_or_else(Vec::new, |holes| holes.0.clone());
        if let (true, [first, second, ..]) = (!holes.is_empty(), &self.tanks[..]) {
            return Err(Trouble::usage(
                "it is not clear in which of the tanks these holes are".to_owned(),
                format!(
                    "name them tank by tank: --place \"{}: 1-6\" --place \"{}: 4\"",
                    first.trim(),
                    second.trim()
                ),
            ));
        }
        let tank = |typed: &str| clerk.tank_named(&typed.to_lowercase(), site);
        let tanks = self.tanks.iter().map(|name| Named { holes: holes.clone(), ..Named::all_of(tank(name)) });
        let places = self.places.iter().map(|place| Named {
            plants: place.plants,
            holes: place.holes.clone(),
            ..Named::all_of(tank(&place.tank))
        });
        let named: Vec<Named> = tanks.chain(places).collect();
        let twice = named
            .iter()
            .enumerate()
            .find(|(at, place)| named[..*at].iter().any(|one| one.tank == place.tank));
        match twice {
            Some((_, place)) => Err(Trouble::usage(
                format!("tank {} is named twice", place.tank),
                format!("put all its holes into one: --place \"{}: 1-6,9\"", place.tank),
            )),
            None => Ok(named),
        }
    }

    /// The tanks that are named, else those given; the holes are those of the only one.
    pub(super) fn named_or(
        &self,
        clerk: &Clerk<'_>,
        batch: &BatchId,
        usual: impl FnOnce() -> Result<Vec<Named>, Trouble>,
    ) -> Result<Vec<Named>, Trouble> {
        let named = self.named(clerk, clerk.site_of_batch(batch, None).as_ref())?;
        if !named.is_empty() {
            return Ok(named);
        }
        let mut usual = usual()?;
        match (&self.holes, &mut usual[..]) {
            (None, _) => {}
            (Some(holes), [only]) => only.holes.clone_from(&holes.0),
            (Some(_), several) => {
                let names: Vec<&str> = several.iter().map(|place| place.tank.as_str()).collect();
                return Err(Trouble::usage(
                    format!(
                        "it is not clear in which of several tanks these holes are: {}",
                        names.join(", ")
                    ),
                    format!("name them tank by tank: --place \"{}: 1-6\"", names.first().unwrap_or(&"blue")),
                ));
            }
        }
        Ok(usual)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_as_sheets_write_them() {
        let place = |plants, holes: &[u32]| {
            Ok(PlaceArg { tank: "Tank a-1".to_owned(), plants, holes: holes.to_vec() })
        };
        assert_eq!(parse("Tank a-1"), place(None, &[]));
        assert_eq!(parse("Tank a-1: 1-3, 9"), place(None, &[1, 2, 3, 9]));
        assert_eq!(parse("Tank a-1 : holes 4"), place(None, &[4]));
        assert_eq!(parse("Tank a-1:6 plants"), place(Some(6), &[]));
        for wrong in ["", ": 1-6", "a-1:", "a-1: 0 plants", "a-1: six", "a-1: plants"] {
            assert!(parse(wrong).is_err(), "{wrong}");
        }
    }
}
