//! How full nurseries and tanks are on a day.

use crate::domain::ids::{SiteId, TankId};
use crate::domain::plan::{Batch, Part, Plan};
use crate::domain::term::Term;
use chrono::NaiveDate;

/// Holes of a tank in use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct HolesInUse {
    /// Planted holes and those left empty beside wide plants.
    pub holes: u32,
    /// Planted holes alone.
    pub planted: u32,
}

/// Nursery cells in use at the end of `day`: one for each plug needed to give the plants that have been
/// sown and not yet moved, one for each plant that stood there when the term began.
pub fn cells(term: &Term, plan: &Plan, site: &SiteId, day: NaiveDate) -> u32 {
    plan.batches
        .iter()
        .filter(|batch| batch.site == *site && batch.sown <= day)
        .map(|batch| waiting(term, batch, day))
        .sum()
}

/// Cells a batch takes at the end of `day`, on or after the day it was sown.
pub(super) fn waiting(term: &Term, batch: &Batch, day: NaiveDate) -> u32 {
    let plants = batch.parts.iter().filter(|part| day < part.transplant).map(|part| part.plants).sum();
    match term.crop(&batch.crop) {
        Some(wanted) if !batch.standing => wanted.crop.plugs_for(plants),
        _ => plants,
    }
}

/// Holes in use in a tank at the end of `day`.
pub fn holes(plan: &Plan, site: &SiteId, tank: &TankId, day: NaiveDate) -> HolesInUse {
    let mut use_now = HolesInUse::default();
    let standing = plan
        .batches
        .iter()
        .filter(|batch| batch.site == *site)
        .flat_map(|batch| &batch.parts)
        .filter(|part| part.tank == *tank && stands(part, day));
    for part in standing {
        use_now.planted += part.plants;
        use_now.holes += part.plants + part.kept_empty.len() as u32;
    }
    use_now
}

fn stands(part: &Part, day: NaiveDate) -> bool {
    part.transplant <= day && part.leaves().is_none_or(|leaves| day < leaves)
}
