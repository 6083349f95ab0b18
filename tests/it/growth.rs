//! What must hold of any plant that grows, is cut and grows again, whatever its figures.

use crate::support::build::{TermBuilder, site, tank};
use crate::support::crops::{curve, cutter, figure};
use crate::support::few;
use proptest::collection::vec;
use proptest::prelude::*;
use sowtide::domain::crop::{Crop, Regrowth};
use sowtide::domain::growth::{Growing, Stand, Way};
use sowtide::domain::site::Site;

/// A crop with any curve that a plant can have.
fn any_crop() -> impl Strategy<Value = Crop> {
    let points = vec((1..15_u32, 1.0..3.0_f64), 1..6);
    let again = (0.1..0.95_f64, 0.0..10.0_f64, 0.5..1.0_f64, vec(0.05..1.0_f64, 4));
    (points, 0.5..10.0_f64, again).prop_map(|(steps, seedling, (taken, lag, vigour, mut strength))| {
        let (mut age, mut grams) = (7, seedling);
        let mut points = Vec::new();
        for (days, factor) in steps {
            (age, grams) = (age + days, grams * factor);
            points.push((age, grams));
        }
        strength.sort_by(|one, other| other.total_cmp(one));
        let cutter = cutter("any");
        let regrowth = cutter.regrowth.clone().map(|regrowth| Regrowth {
            harvests: figure(strength.len() as u32 + 1),
            taken: figure(taken),
            lag: figure(lag),
            vigour: figure(vigour),
            strength: figure(strength),
            ..regrowth
        });
        Crop { growth: figure(curve(&points)), regrowth, ..cutter }
    })
}

/// Any site, narrow cells among them.
fn any_site() -> impl Strategy<Value = Site> {
    (0.5..2.0_f64, 1.0..6.0_f64).prop_map(|(pace, cell_cm)| {
        let term = TermBuilder::default().site(site("hall").tank(tank("a", 2, 2)).grows(pace, 1.0)).build();
        let mut site = term.sites[0].clone();
        site.nursery.cell_cm = cell_cm;
        site
    })
}

/// A plant with some of its days behind it: planted at an age, and then cut after every one of these stretches.
fn grown(growing: &Growing<'_>, planted: u32, stretches: &[u32]) -> Stand {
    let cut = |stand, days: &u32| growing.cut(growing.later(stand, *days));
    stretches.iter().fold(growing.planted(planted), cut)
}

/// With a crop of which a cut takes another share.
fn taking(crop: &Crop, taken: f64) -> Crop {
    let regrowth = crop.regrowth.clone().map(|regrowth| Regrowth { taken: figure(taken), ..regrowth });
    Crop { regrowth, ..crop.clone() }
}

/// More by more than a rounding error.
fn more(one: f64, other: f64) -> bool {
    one > other * (1.0 + 1e-9) + 1e-9
}

proptest! {
    #![proptest_config(few(256))]

    #[test]
    fn a_cut_leaves_what_it_does_not_take(
        crop in any_crop(), site in any_site(), planted in 0..40_u32, cuts in vec(0..40_u32, 0..4), days in 0..60_u32,
    ) {
        let growing = Growing::new(&crop, &site);
        let stand = growing.later(grown(&growing, planted, &cuts), days);
        let (before, after) = (growing.grams(stand), growing.grams(growing.cut(stand)));
        prop_assert!(before >= 0.0);
        let left = before * (1.0 - growing.taken(Way::Cut));
        prop_assert!((after - left).abs() <= 1e-9 * (1.0 + before), "{after} g stand, {left} g were left");
    }

    #[test]
    fn cutting_makes_no_later_day_heavier(
        crop in any_crop(), site in any_site(), planted in 0..40_u32, cuts in vec(0..40_u32, 0..3), days in 0..60_u32,
        later in 0..80_u32,
    ) {
        let growing = Growing::new(&crop, &site);
        let stand = growing.later(grown(&growing, planted, &cuts), days);
        let [uncut, cut] = [stand, growing.cut(stand)].map(|stand| growing.grams(growing.later(stand, later)));
        prop_assert!(!more(cut, uncut), "{cut} g after a cut, {uncut} g without");
    }

    #[test]
    fn who_waits_longer_has_no_less(
        crop in any_crop(), site in any_site(), planted in 0..40_u32, cuts in vec(0..40_u32, 0..4), days in 0..80_u32,
    ) {
        let growing = Growing::new(&crop, &site);
        let stand = grown(&growing, planted, &cuts);
        let [soon, late] = [days, days + 1].map(|days| growing.grams(growing.later(stand, days)));
        prop_assert!(!more(soon, late), "{soon} g a day before {late} g");
        let two_steps = growing.grams(growing.later(growing.later(stand, days), 1));
        prop_assert!((two_steps - late).abs() <= 1e-9 * (1.0 + late), "{two_steps} g in two steps, {late} g in one");
    }

    #[test]
    fn the_more_is_left_the_more_there_is_later(
        crop in any_crop(), site in any_site(), planted in 0..40_u32, days in 0..60_u32, later in 0..60_u32,
        takes in (0.1..0.95_f64, 0.1..0.95_f64),
    ) {
        let grams = |taken: f64| {
            let crop = taking(&crop, taken);
            let growing = Growing::new(&crop, &site);
            growing.grams(growing.later(grown(&growing, planted, &[days]), later))
        };
        let (little, much) = (takes.0.min(takes.1), takes.0.max(takes.1));
        prop_assert!(!more(grams(much), grams(little)));
    }

    /// A plug that is held gains nothing, and nobody plants one that was held too long.
    #[test]
    fn a_wider_cell_never_harms(
        crop in any_crop(), site in any_site(), planted in 0..40_u32, wider in 0.0..4.0_f64, days in 0..60_u32,
    ) {
        let mut wide = site.clone();
        wide.nursery.cell_cm += wider;
        let grams = |site: &Site, planted: u32, days: u32| {
            let growing = Growing::new(&crop, site);
            growing.grams(growing.later(growing.planted(planted), days))
        };
        prop_assert!(!more(grams(&site, planted, days), grams(&wide, planted, days)));
        // Planted a day later, harvested on the same day.
        prop_assert!(!more(grams(&site, planted + 1, days), grams(&site, planted, days + 1)));
    }
}
