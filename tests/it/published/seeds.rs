//! Seeds needed for so many plants, against legal standards of germination.

use crate::support::crops::figure;
use sowtide::domain::crop::Crop;
use sowtide::files::library::Library;

/// 7 CFR 201.31, germination standards for vegetable seeds (2015 edition): seed of the least quality that
/// may be sold unmarked, in per cent, and the plugs of one seed that 30 seedlings then take.
#[test]
fn thirty_seedlings_from_seed_of_the_least_legal_germination() {
    let library = Library::builtin().unwrap();
    for (id, percent, plugs) in [
        ("butterhead", 80, 38),
        ("kale", 75, 40),
        ("pak-choi", 75, 40),
        ("mustard", 75, 40),
        ("garden-cress", 75, 40),
        ("endive", 70, 43),
        ("lambs-lettuce", 70, 43),
        ("chard", 65, 47),
        ("sorrel", 65, 47),
        ("spinach", 60, 50),
        ("parsley", 60, 50),
        ("watercress", 40, 75),
    ] {
        let crop = Crop {
            germination: figure(f64::from(percent) / 100.0),
            seeds_per_plug: figure(1),
            nursery_survival: figure(1.0),
            ..library.get(id).unwrap().clone()
        };
        assert_eq!(crop.plugs_for(30, 0.0), plugs, "{id}");
    }
}
