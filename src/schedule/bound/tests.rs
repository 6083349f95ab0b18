//! Bounds of a real example.

use super::*;
use crate::files::store::Disk;
use crate::files::term_file;
use std::path::Path;

/// What is not told apart makes a program promise more than there is, never less.
#[test]
fn the_more_is_told_apart_the_higher_is_the_bound() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/one-room");
    let mut term = term_file::read(&Disk::at(folder)).unwrap_or_else(|problems| panic!("{problems}")).term;
    // Batches that fill no tank.
    term.sites.iter_mut().for_each(|site| site.nursery.cells = 8);
    let net = Network::new(&term);
    let watch = Watch { stop: &|| false, report: &|_| {}, threads: 2 };
    let bounds = [Detail::Days, Detail::Ages, Detail::All].map(|detail| {
        let program = model::model(&net, Relaxed::Nothing, detail, usize::MAX).program;
        solve::solve_unless(&program, Goal::Points, &watch).unwrap_or_else(|error| panic!("{error}")).bound
    });
    assert!(bounds.is_sorted_by(|less, more| *less <= more + 1e-4), "{bounds:?}");
}
