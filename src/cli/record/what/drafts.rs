//! What was typed to an entry to be.

use super::{
    About, BehindArgs, ClassDay, HarvestedArgs, Lost, LostClasses, MeasuredArgs, Note, Plugs, PutOffArgs,
    Target, Transplanted, What,
};
use crate::desk::{Clerk, Draft, Named, Trouble};
use crate::domain::calendar::DateSpan;
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::journal::{self, Amount, Harvested, InTank, Measuring, Place, TargetHolds};
use crate::domain::units::Mass;
use chrono::NaiveDate;

impl What {
    /// The entries to be, at least one. Names are taken as they are; whether they lead anywhere is found out later.
    pub(in crate::cli::record) fn drafts(&self, clerk: &Clerk<'_>) -> Result<Vec<Draft>, Trouble> {
        match self {
            Self::Behind(args) => return args.drafts(clerk),
            Self::Lost(args) => return args.drafts(clerk),
            _ => {}
        }
        let draft = self.draft(clerk)?;
        match self {
            Self::ClassLost(LostClasses { until: Some(until), .. }) => each_class(&draft, *until, clerk),
            _ => Ok(vec![draft]),
        }
    }

    fn draft(&self, clerk: &Clerk<'_>) -> Result<Draft, Trouble> {
        match self {
            Self::Sown(args) if args.number == 0 => Err(Trouble::usage(
                "no plug was sown".to_owned(),
                "state how many were sown with --plugs".to_owned(),
            )),
            Self::Sown(args) => Ok(args.draft(clerk, |batch, plugs| journal::What::Sown { batch, plugs })),
            Self::CameUp(args) => {
                Ok(args.draft(clerk, |batch, plugs| journal::What::CameUp { batch, plugs }))
            }
            Self::Transplanted(args) => args.draft(clerk),
            Self::Harvested(args) => args.draft(clerk),
            Self::Measured(args) => args.draft(clerk),
            Self::PutOff(args) => args.draft(clerk),
            Self::TankOut(args) => {
                let (tank, site) = clerk.tank_and_site(&args.tank, args.site.as_deref());
                let what = journal::What::TankOut { tank, until: args.until };
                Ok(args.about.draft(clerk, site, what))
            }
            Self::TankBack(args) => {
                let (tank, site) = clerk.tank_and_site(&args.tank, args.site.as_deref());
                Ok(args.about.draft(clerk, site, journal::What::TankBack { tank }))
            }
            Self::ClassLost(args) => args.first.draft(clerk, journal::What::ClassLost),
            Self::ClassAdded(args) => args.draft(clerk, journal::What::ClassAdded),
            Self::Target(args) => Ok(args.draft(clerk)),
            Self::Note(args) => Ok(args.draft(clerk)),
            Self::Withdraw(args) => Ok(Draft {
                day: clerk.today,
                site: None,
                by: args.by.clone(),
                what: journal::What::Withdrawn,
                replaces: Some(args.entry),
            }),
            Self::Behind(_) | Self::Lost(_) | Self::Import(_) => {
                Err(Trouble::told("this is no single entry", "record each entry by itself"))
            }
        }
    }
}

impl About {
    fn draft(&self, clerk: &Clerk<'_>, site: Option<SiteId>, what: journal::What) -> Draft {
        Draft {
            day: self.day.unwrap_or(clerk.today),
            site,
            by: self.by.clone(),
            what,
            replaces: self.replaces,
        }
    }
}

impl Plugs {
    fn draft(&self, clerk: &Clerk<'_>, what: fn(BatchId, u32) -> journal::What) -> Draft {
        let batch = BatchId::new(&self.batch);
        let site = clerk.site_of_batch(&batch, None);
        self.about.draft(clerk, site, what(batch, self.number))
    }
}

impl Transplanted {
    fn draft(&self, clerk: &Clerk<'_>) -> Result<Draft, Trouble> {
        let batch = BatchId::new(&self.batch);
        let site = clerk.site_of_batch(&batch, None);
        let tank = tank(clerk, &batch, self.tank.as_deref())?;
        let what = journal::What::Transplanted { batch, tank, plants: self.plants };
        Ok(self.about.draft(clerk, site, what))
    }
}

impl Lost {
    /// An entry for each place.
    fn drafts(&self, clerk: &Clerk<'_>) -> Result<Vec<Draft>, Trouble> {
        let batch = BatchId::new(&self.batch);
        let day = self.about.day.unwrap_or(clerk.today);
        let places = self.places.named_or(clerk, &batch, || {
            let place = clerk.only_place(&batch, day, self.about.replaces);
            match place.ok_or_else(|| clerk.place_needed(&batch))? {
                Place::Nursery => Ok(vec![nursery()]),
                Place::Tank(tank) => Ok(vec![Named::assumed(tank)]),
            }
        })?;
        if let (Some(id), [_, _, ..]) = (self.about.replaces, &places[..]) {
            return Err(Trouble::usage(
                format!("{id} can be replaced by the loss in one tank only"),
                "correct it with that tank, and record the loss in the others by itself",
            ));
        }
        let one = places.len() == 1;
        places.into_iter().map(|place| self.draft(clerk, place, one)).collect()
    }

    fn draft(&self, clerk: &Clerk<'_>, place: Named, only: bool) -> Result<Draft, Trouble> {
        let batch = BatchId::new(&self.batch);
        let holes = Some(place.holes.len() as u32).filter(|holes| *holes > 0);
        let plants = match place.plants.or(holes) {
            _ if self.all => Amount::All,
            own if only => match self.places.plants.or(own) {
                Some(plants) => Amount::Plants(plants),
                None => {
                    let help = "add --plants with their number, or --all";
                    return Err(Trouble::usage("it is not said how many were lost", help));
                }
            },
            Some(plants) => Amount::Plants(plants),
            None => {
                let tank = &place.tank;
                return Err(Trouble::usage(
                    format!("it is not said how many were lost in {tank}"),
                    format!(
                        "write it tank by tank: --place \"{tank}: 3 plants\"; or --all if none is left there"
                    ),
                ));
            }
        };
        let site = clerk.site_of_batch(&batch, None);
        let what = journal::What::Lost {
            batch,
            place: if place.tank == nursery().tank { Place::Nursery } else { Place::Tank(place.tank) },
            plants,
            holes: place.holes,
            cause: self.cause.clone(),
        };
        Ok(self.about.draft(clerk, site, what))
    }
}

/// The nursery as a place that people name.
fn nursery() -> Named {
    Named::all_of(TankId::new("nursery"))
}

impl HarvestedArgs {
    fn draft(&self, clerk: &Clerk<'_>) -> Result<Draft, Trouble> {
        let batch = BatchId::new(&self.batch);
        let (grams, measured_as) = clerk.grams(self.mass, &batch)?;
        let old = self.corrected(clerk, &batch);
        let samples = match old {
            Some(old) if self.samples.is_empty() && !self.no_samples => old.samples.clone(),
            _ => self.samples.clone(),
        };
        let harvested = Harvested {
            places: self.in_tanks(clerk, &batch, old)?,
            way: self.way,
            grams,
            measured_as,
            samples,
            batch: batch.clone(),
        };
        let site = clerk.site_of_batch(&batch, None);
        Ok(self.about.draft(clerk, site, journal::What::Harvested(harvested)))
    }

    /// The harvest of the same batch that is corrected.
    fn corrected<'a>(&self, clerk: &Clerk<'a>, batch: &BatchId) -> Option<&'a Harvested> {
        match &clerk.journal.entry(self.about.replaces?)?.what {
            journal::What::Harvested(old) if old.batch == *batch => Some(old),
            _ => None,
        }
    }

    /// Where the plants stood: as it was said, else as in the entry that is corrected, else as planned.
    fn in_tanks(
        &self,
        clerk: &Clerk<'_>,
        batch: &BatchId,
        old: Option<&Harvested>,
    ) -> Result<Vec<InTank>, Trouble> {
        let said = &self.places;
        if let Some(old) =
            old.filter(|old| said.are_open() && said.plants.is_none_or(|all| all == old.plants()))
        {
            return Ok(old.places.clone());
        }
        let day = self.about.day.unwrap_or(clerk.today);
        let named = said.named_or(clerk, batch, || {
            let tanks = match old {
                Some(old) => old.places.iter().map(|place| place.tank.clone()).collect(),
                None => clerk.tanks_of_harvest(batch, (day, self.way))?,
            };
            Ok(tanks.into_iter().map(Named::assumed).collect())
        })?;
        clerk.shared_out((batch, day, self.way), (said.plants, named), self.about.replaces)
    }
}

impl MeasuredArgs {
    fn draft(&self, clerk: &Clerk<'_>) -> Result<Draft, Trouble> {
        let batch = BatchId::new(&self.batch);
        let tank = tank(clerk, &batch, self.tank.as_deref())?;
        let site = clerk.site_of_batch(&batch, None);
        let holes = self.holes.as_ref().map_or_else(Vec::new, |holes| holes.0.clone());
        let samples = self.samples.clone();
        Ok(self.about.draft(clerk, site, journal::What::Measured(Measuring { batch, tank, holes, samples })))
    }
}

impl PutOffArgs {
    fn draft(&self, clerk: &Clerk<'_>) -> Result<Draft, Trouble> {
        let batch = BatchId::new(&self.batch);
        let day = match self.day {
            Some(day) => day,
            None => clerk.next_work(&batch)?,
        };
        let site = clerk.site_of_batch(&batch, None);
        let what = journal::What::PutOff { batch, until: self.to };
        Ok(Draft { day, site, by: self.by.clone(), what, replaces: self.replaces })
    }
}

impl BehindArgs {
    /// An entry for each batch meant.
    fn drafts(&self, clerk: &Clerk<'_>) -> Result<Vec<Draft>, Trouble> {
        let day = self.about.day.unwrap_or(clerk.today);
        let draft = |batch: BatchId| {
            let site = clerk.site_of_batch(&batch, None);
            self.about.draft(clerk, site, journal::What::Behind { batch, days: self.days })
        };
        if let Some(batch) = &self.batch {
            return Ok(vec![draft(BatchId::new(batch))]);
        }
        let growing = clerk.growing(self.site.as_deref(), self.crop.as_deref(), day)?;
        if growing.is_empty() {
            return Err(Trouble::told(
                format!("no such batch grows there on {day}"),
                "see what grows with: sowtide status",
            ));
        }
        Ok(growing.into_iter().map(draft).collect())
    }
}

impl ClassDay {
    fn draft(&self, clerk: &Clerk<'_>, what: journal::What) -> Result<Draft, Trouble> {
        let site = self.site.as_ref().map(|typed| clerk.site_named(typed)).or_else(|| clerk.only_site());
        if site.is_none() && !self.all_sites {
            let sites: Vec<&str> = clerk.term.sites.iter().map(|site| site.id.as_str()).collect();
            return Err(Trouble::usage(
                "it is not clear which site is meant".to_owned(),
                format!("write --all-sites, or --site with one of: {}", sites.join(", ")),
            ));
        }
        Ok(self.about.draft(clerk, site.filter(|_| !self.all_sites), what))
    }
}

/// A lost class on each class day from the first one on.
fn each_class(first: &Draft, until: NaiveDate, clerk: &Clerk<'_>) -> Result<Vec<Draft>, Trouble> {
    if until < first.day {
        return Err(Trouble::usage(
            "the last day lies before the first".to_owned(),
            "state the first day with --day and the last with --until".to_owned(),
        ));
    }
    let days = clerk.class_days(first.site.as_ref(), DateSpan { first: first.day, last: until });
    if days.is_empty() {
        return Err(Trouble::told(
            "no class meets on these days",
            "class days stand in the term file, under each site",
        ));
    }
    Ok(days.into_iter().map(|day| Draft { day, ..first.clone() }).collect())
}

impl Target {
    fn draft(&self, clerk: &Clerk<'_>) -> Draft {
        let holds = if self.on.is_some() { TargetHolds::ThatDay } else { TargetHolds::FromThenOn };
        let grams = self.mass.map_or(0.0, Mass::grams);
        Draft {
            day: self.on.or(self.from).unwrap_or(clerk.today),
            site: None,
            by: self.by.clone(),
            what: journal::What::TargetChanged { holds, grams },
            replaces: self.replaces,
        }
    }
}

impl Note {
    fn draft(&self, clerk: &Clerk<'_>) -> Draft {
        let batch = self.batch.as_ref().map(BatchId::new);
        let named = self.site.as_deref();
        let site = match &batch {
            Some(batch) => clerk.site_of_batch(batch, named),
            None => named.map(|typed| clerk.site_named(typed)),
        };
        self.about.draft(clerk, site, journal::What::Note { batch, text: self.text.clone() })
    }
}

/// The tank named, or the only one planned for the batch.
fn tank(clerk: &Clerk<'_>, batch: &BatchId, named: Option<&str>) -> Result<TankId, Trouble> {
    if let Some(tank) = clerk.tank_of_batch(batch, named) {
        return Ok(tank);
    }
    let Some(planned) = clerk.plan.batches.iter().find(|planned| planned.id == *batch) else {
        return Err(clerk.unknown_batch(batch));
    };
    let mut tanks: Vec<&str> = planned.parts.iter().map(|part| part.tank.as_str()).collect();
    tanks.sort_unstable();
    tanks.dedup();
    Err(Trouble::usage(
        format!("batch {batch} is planned for several tanks"),
        format!("name one with --tank: {}", tanks.join(", ")),
    ))
}
