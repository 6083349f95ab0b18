//! The plan next to the term, with every name looked up once.

use super::figures::Figures;
use crate::domain::lid::Room;
use crate::domain::plan::{Batch, Origin, Part, Plan};
use crate::domain::site::{Site, Tank};
use crate::domain::term::{Stage, Standing, Term, WantedCrop};
use chrono::NaiveDate;

/// What is checked, and against what.
pub(super) struct Subject<'a> {
    pub(super) term: &'a Term,
    pub(super) plan: &'a Plan,
    /// The batches whose crop and site exist; [`super::names`] reports the others.
    pub(super) batches: Vec<Known<'a>>,
}

/// A batch whose crop and site exist.
pub(super) struct Known<'a> {
    pub(super) batch: &'a Batch,
    pub(super) wanted: &'a WantedCrop,
    pub(super) site: &'a Site,
    /// What the term says of it, if it stands at the start: one entry a tank or nursery.
    pub(super) entries: Vec<&'a Standing>,
    pub(super) parts: Vec<KnownPart<'a>>,
}

/// A part of a batch.
pub(super) struct KnownPart<'a> {
    pub(super) part: &'a Part,
    /// Its tank, if it exists.
    pub(super) tank: Option<&'a Tank>,
    /// The standing plants it consists of.
    pub(super) origin: Option<&'a Standing>,
    /// Whether the plants already stood in their tank at the start, so that transplanting is past.
    pub(super) stood_in_tank: bool,
    /// Whether they are sown where they stand.
    in_cups: bool,
}

impl<'a> Subject<'a> {
    pub(super) fn new(term: &'a Term, plan: &'a Plan) -> Self {
        let batches = plan.batches.iter().filter_map(|batch| Known::new(term, batch)).collect();
        Self { term, plan, batches }
    }

    /// Every part with its batch.
    pub(super) fn parts(&self) -> impl Iterator<Item = (&Known<'a>, &KnownPart<'a>)> {
        self.batches.iter().flat_map(|known| known.parts.iter().map(move |part| (known, part)))
    }

    /// Whether a day was past already when the plan was last made anew, so that nobody can change it any more.
    pub(super) fn is_past(&self, day: NaiveDate) -> bool {
        self.plan.replanned.is_some_and(|from| day < from)
    }

    /// Whether the plants of a batch grew before the plan was last made.
    pub(super) fn grew_before(&self, known: &Known<'_>) -> bool {
        let begun = self.is_past(known.batch.sown) || known.batch.lost() > 0;
        known.batch.is_standing() || self.plan.replanned.is_some() && begun
    }

    pub(super) fn in_term(&self, day: NaiveDate) -> bool {
        (self.term.start..=self.term.end).contains(&day)
    }
}

impl<'a> Known<'a> {
    fn new(term: &'a Term, batch: &'a Batch) -> Option<Self> {
        let site = term.site(&batch.site)?;
        let entries: Vec<&Standing> = term
            .standing
            .iter()
            .filter(|standing| batch.is_standing() && standing.batch == batch.id)
            .collect();
        let parts =
            batch.parts.iter().map(|part| KnownPart::new(term, site, batch, part, &entries)).collect();
        Some(Self { batch, wanted: term.crop(&batch.crop)?, site, entries, parts })
    }

    pub(super) fn figures(&self) -> Figures<'a> {
        Figures::new(&self.wanted.crop, self.site)
    }

    /// Plugs beyond those its plants need with a chance of `sure`, or to be expected without one; none for plants that are not
    /// sown in plugs.
    pub(super) fn spare_plugs(&self, sure: f64) -> u64 {
        if self.batch.origin != Origin::Sown {
            return 0;
        }
        let plants = self.batch.parts.iter().map(|part| u64::from(part.plants)).sum();
        u64::from(self.batch.plugs).saturating_sub(self.figures().plugs_for_sure(plants, sure))
    }
}

impl<'a> KnownPart<'a> {
    fn new(term: &Term, site: &'a Site, batch: &Batch, part: &'a Part, entries: &[&'a Standing]) -> Self {
        let origin = entries.iter().copied().find(|entry| consists_of(part, entry, term.start));
        // What claims to have stood there, but did not, is reported once and not by every rule.
        let claimed = batch.is_standing() && part.transplant < term.start;
        let stood = origin.is_some_and(|entry| matches!(entry.stage, Stage::Tank { .. }));
        Self {
            part,
            tank: site.tank(&part.tank),
            origin,
            stood_in_tank: claimed || stood,
            in_cups: batch.origin == Origin::InCups,
        }
    }

    /// Whether its plants come into their tank by a task of this plan.
    pub(super) fn is_transplanted(&self) -> bool {
        !self.stood_in_tank && !self.in_cups && !self.part.lost_in_nursery()
    }

    /// Days of the cuts before the term, in order.
    pub(super) fn cuts_before(&self) -> Vec<NaiveDate> {
        match self.origin.map(|origin| &origin.stage) {
            Some(Stage::Tank { cuts, .. }) => {
                let mut cuts = cuts.clone();
                cuts.sort_unstable();
                cuts
            }
            _ => Vec::new(),
        }
    }

    /// Room one plant needs in this part's tank, if tank and room exist.
    pub(super) fn room(&self, known: &Known<'_>) -> Option<Room> {
        self.tank?.lid.room_for(known.wanted.crop.spacing.value.cm())
    }
}

/// Whether `part` can be made of the standing plants of `entry`.
fn consists_of(part: &Part, entry: &Standing, start: NaiveDate) -> bool {
    match &entry.stage {
        Stage::Nursery => part.transplant >= start && part.cuts_before == 0,
        Stage::Tank { tank, transplanted, holes, cuts } => {
            part.tank == *tank
                && part.transplant == *transplanted
                && part.cuts_before as usize == cuts.len()
                && (holes.is_empty() || part.holes.iter().all(|hole| holes.contains(hole)))
        }
    }
}
