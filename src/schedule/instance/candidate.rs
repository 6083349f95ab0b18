//! Batches that could be sown or bought, and those that stand already.

use super::network::{Day, Network, SiteNet, StandingPlace};
use super::path::{Index, Path};
use super::ripe::Ripe;
use super::starts::Start;
use crate::domain::growth::Stand;
use crate::domain::plan::Origin;
use std::ops::Range;

/// A batch that could be sown, or that already stands.
pub(crate) struct Candidate {
    pub(crate) site: usize,
    pub(crate) crop: usize,
    /// Day from which its age counts, in days of the term.
    pub(crate) sown: Day,
    /// How and when it begins.
    pub(crate) start: Start,
    /// Index of the day on which it begins, unless the batch already stands.
    pub(crate) sow_index: Option<Index>,
    /// Most plants there can be of it, where they are bought.
    pub(crate) offered: Option<i32>,
    /// Number in [`Network::standing`], for a batch that already stands.
    pub(crate) standing: Option<usize>,
    /// Tank the plants already stand in.
    pub(crate) fixed_tank: Option<u16>,
    /// Cuts taken before the term.
    pub(crate) cuts_before: u32,
    /// Days on which its seedlings may be moved.
    pub(crate) transplants: Range<Index>,
    /// Days of a first pull.
    pub(crate) pulls: Range<Index>,
    /// Days of a first cut; for plants cut before, of the next harvest.
    pub(crate) cuts: Range<Index>,
    /// Class days on which its plants are not too old yet to be harvested again after a cut.
    pub(crate) again: Range<Index>,
    /// Day of the last cut before the term.
    pub(crate) last_cut: Option<Day>,
    /// What stands in its plants, and since when, if they were in a tank before the term.
    pub(crate) stand: Option<(Day, Stand)>,
    /// Plugs it was sown with, where that is past.
    pub(crate) laid: Option<u32>,
    /// With how much of what its crop gives at the site it is counted because of its own weighed harvests.
    pub(crate) mass_factor: f64,
    /// Whether its plants grow already, so that there are no more and no fewer of them.
    pub(crate) given: bool,
    /// From which age on they may be harvested.
    pub(crate) ripe: Ripe,
}

impl Candidate {
    /// Whether plants on a path are harvested as heads that were never cut.
    pub(crate) fn gives_heads(&self, path: &Path) -> bool {
        self.cuts_before == 0 && path.harvests().len() == 1 && path.lost.is_none()
    }

    /// Whether its plants stood in a tank before the term.
    pub(crate) fn in_tank(&self) -> bool {
        self.fixed_tank.is_some()
    }
}

/// Class days of a slice as a range of indices.
pub(crate) fn indices(site: &SiteNet, days: &[Day]) -> Range<Index> {
    let from = days.first().map_or(0, |day| site.class_days.partition_point(|other| other < day));
    from as Index..(from + days.len()) as Index
}

impl Candidate {
    pub(crate) fn begun(site: &SiteNet, site_index: usize, crop: usize, start: Start) -> Self {
        let transplants = site.moves(crop, &start);
        let sown = start.born;
        Self {
            site: site_index,
            crop,
            sown,
            start,
            sow_index: Some(indices(site, &[start.begins]).start),
            offered: None,
            standing: None,
            fixed_tank: None,
            cuts_before: 0,
            transplants: indices(site, &transplants),
            pulls: indices(site, site.first_pulls(crop, sown, Ripe::Usual)),
            cuts: indices(site, site.first_cuts(crop, sown, Ripe::Usual)),
            again: 0..site.young_until(crop, sown) as Index,
            last_cut: None,
            stand: None,
            laid: None,
            mass_factor: 1.0,
            given: false,
            ripe: Ripe::Usual,
        }
    }

    /// The same batch once it grows: nothing can be done with it any more on days that are past, but a light harvest on days for
    /// which it comes a little late.
    pub(crate) fn given(mut self, site: &SiteNet, ripe: Ripe) -> Self {
        self.ripe = ripe;
        if self.cuts_before == 0 {
            self.pulls = indices(site, site.first_pulls(self.crop, self.sown, ripe));
            self.cuts = indices(site, site.first_cuts(self.crop, self.sown, ripe));
        }
        let open = |days: Range<Index>| days.start.max((site.past_days as Index).min(days.end))..days.end;
        if !self.in_tank() {
            self.transplants = open(self.transplants);
        }
        self.pulls = open(self.pulls);
        self.cuts = open(self.cuts);
        self.given = true;
        self
    }

    pub(crate) fn standing(net: &Network, number: usize) -> Self {
        let standing = &net.standing[number];
        let site = &net.sites[standing.site];
        let (start, ripe) = (Start::sown(standing.sown, Origin::Standing), Ripe::of_given(net.today));
        let mut candidate = Self::begun(site, standing.site, standing.crop, start);
        candidate.sow_index = None;
        candidate.standing = Some(number);
        candidate.mass_factor = site.site.batch_here(&standing.standing.batch);
        if let StandingPlace::Tank { tank, cuts, .. } = &standing.place {
            candidate.fixed_tank = Some(*tank as u16);
            candidate.cuts_before = cuts.len() as u32;
            candidate.last_cut = standing.last_cut();
            candidate.stand = standing.stand(&site.fields[standing.crop].growing);
            candidate.transplants = 0..1;
            if let Some(cut) = candidate.last_cut {
                let days = indices(site, site.regrowths(standing.crop, cut, ripe));
                candidate.cuts = days.start.min(candidate.again.end)..days.end.min(candidate.again.end);
                candidate.pulls = 0..0;
            }
        }
        candidate.given(site, ripe)
    }
}
