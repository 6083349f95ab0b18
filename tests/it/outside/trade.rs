//! What growers would say of the library. Common practice, no source.

use sowtide::domain::crop::Crop;
use sowtide::domain::growth::{Growing, Way};
use sowtide::files::library::Library;

fn lettuces() -> Vec<Crop> {
    let library = Library::builtin().unwrap();
    let lettuces: Vec<Crop> = library.iter().filter(|crop| crop.kind == "lettuce").cloned().collect();
    assert!(lettuces.len() >= 5);
    lettuces
}

/// Common practice, no source: a leaf salad takes four to six weeks from seed. Baby leaf may be cut sooner,
/// and the largest heads usually stand a little longer.
#[test]
fn a_leaf_salad_takes_four_to_six_weeks() {
    for crop in lettuces() {
        let growing = Growing { crop: &crop, pace: 1.0, yield_factor: 1.0 };
        let windows = [growing.cut_window(), growing.pull_window()];
        assert!(windows.iter().flatten().any(|days| (28..=42).any(|day| days.contains(&day))), "{}", crop.id);
        let spans = [&crop.first_cut, &crop.whole_head].into_iter().flatten();
        let usual: Vec<u32> = spans.map(|span| span.value.usual).collect();
        assert!(usual.iter().all(|days| (21..=50).contains(days)), "{} {usual:?}", crop.id);
    }
}

/// Common practice, no source: a cut takes two thirds of the leaf and leaves one third.
#[test]
fn a_cut_takes_two_thirds() {
    for crop in lettuces() {
        if let Some(regrowth) = &crop.regrowth {
            assert!((regrowth.taken.value - 2.0 / 3.0).abs() <= 0.1, "{}", crop.id);
        }
    }
}

/// Common practice, no source: a first cut gives about three quarters of the whole head of the same age,
/// 4.3 oz against 5.6 oz. With two thirds taken it is a little less; a tenth either way is the usual spread.
#[test]
fn a_first_cut_gives_nearly_three_quarters_of_a_head() {
    for crop in lettuces() {
        let growing = Growing { crop: &crop, pace: 1.0, yield_factor: 1.0 };
        let (Some(first), Some(_)) = (&crop.first_cut, &crop.whole_head) else { continue };
        let standing = growing.standing_first(first.value.usual);
        let share = growing.expected(standing, Way::Cut) / growing.expected(standing, Way::WholeHead);
        if crop.regrowth.is_some() {
            assert!((share - 4.3 / 5.6).abs() <= 0.11, "{} {share}", crop.id);
        }
    }
}
