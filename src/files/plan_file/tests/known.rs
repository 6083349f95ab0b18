//! What plans know of journals, made up.

use super::*;
use crate::domain::plan::MassFactor;

/// Entries a plan knows.
pub(super) fn known() -> impl Strategy<Value = KnownEntries> {
    let digest = option::of(any::<u64>().prop_map(|bits| format!("{bits:016x}").parse().unwrap()));
    let entries = btree_map((1..2_000_u32).prop_map(EntryId), digest, 0..4);
    (0..3_000_u32, entries).prop_map(|(last, entries)| KnownEntries::new(last, entries))
}

/// A mass factor of whatever.
pub(super) fn mass_factor() -> impl Strategy<Value = MassFactor> {
    (name(), name(), option::of(name()), 0.25..4.0).prop_map(|(site, crop, batch, factor)| {
        let (site, crop) = (SiteId::new(site), CropId::new(crop));
        MassFactor { site, crop, batch: batch.map(BatchId::new), factor }
    })
}
