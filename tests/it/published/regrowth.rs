//! The law of regrowth, at the head of `domain/growth.rs`, against what others measured.

use crate::support::crops::{curve, cutter, figure};
use sowtide::domain::crop::{Crop, Regrowth};
use sowtide::domain::growth::{Growing, Stand};
use sowtide::files::library::Library;

fn crop(id: &str) -> Crop {
    Library::builtin().unwrap().get(id).unwrap().clone()
}

fn at_pace(crop: &Crop, pace: f64) -> Growing<'_> {
    Growing::at(crop, pace, 1.0, 5.0)
}

/// Grams that stand before each cut of a plant first cut at `age` and again after each of the `intervals`.
fn standing(growing: &Growing<'_>, age: u32, intervals: &[u32]) -> Vec<f64> {
    let mut plant = growing.never_held(age);
    let mut grams = vec![growing.grams(plant)];
    for days in intervals {
        plant = growing.later(growing.cut(plant), *days);
        grams.push(growing.grams(plant));
    }
    grams
}

/// Days until a plant that is cut now weighs again what it did.
fn recovery(growing: &Growing<'_>, plant: Stand) -> u32 {
    let cut = growing.cut(plant);
    (0..100).find(|days| growing.grams(growing.later(cut, *days)) >= growing.grams(plant) - 1e-9).unwrap()
}

/// Textbook growth analysis (R. Hunt, "Basic Growth Analysis", 1990): at an even relative rate a mass grows by the factor
/// `1 / left` in `ln(1 / left) / rate` days.
#[test]
fn an_evenly_growing_plant_recovers_after_the_lag_and_the_logarithm() {
    let rate: f64 = 0.1;
    for (taken, lag) in [(0.5, 0.0), (0.6, 3.0), (2.0 / 3.0, 3.0), (0.9, 2.0)] {
        let even = Crop {
            growth: figure(curve(&[(10, 1.0), (80, (70.0 * rate).exp())])),
            regrowth: Some(Regrowth {
                taken: figure(taken),
                lag: figure(lag),
                vigour: figure(1.0),
                strength: figure(vec![1.0, 1.0]),
                ..cutter("even").regrowth.unwrap()
            }),
            ..cutter("even")
        };
        let growing = at_pace(&even, 1.0);
        let expected = lag + (1.0_f64 / (1.0 - taken)).ln() / rate;
        assert_eq!(recovery(&growing, growing.never_held(50)), expected.ceil() as u32, "{taken} taken");
    }
}

/// 3rd International Autonomous Greenhouse Challenge, first experiment, 2022 (open data): butterheads of 84 g gained 0.10 a day.
/// A cut to 40 %, the share that growers of tower greens leave (open data of the repository CEAOD/Data, 2020), is therefore
/// made good after 9 days and a lag of 2 to 4, which is remembered.
#[test]
fn a_butterhead_cut_to_two_fifths_is_back_within_two_weeks() {
    let mut butterhead = crop("butterhead");
    let regrowth = butterhead.regrowth.as_mut().unwrap();
    // As if nothing held back what grows again.
    (regrowth.taken, regrowth.strength) = (figure(0.6), figure(vec![1.0]));
    // That room was slower: 142 g on day 11 + 31.8, not on day 35.
    let growing = at_pace(&butterhead, (11.0 + 31.8) / 35.0);
    let plant = growing.never_held(11 + 26);
    assert!((growing.grams(plant) / 83.8 - 1.0).abs() < 0.12, "{}", growing.grams(plant));
    let days = recovery(&growing, plant);
    assert!((11..=13).contains(&days), "{days} days");
}

/// G. Corrado and others, "Successive Harvests Affect Yield, Quality and Metabolic Profile of Sweet Basil", Agronomy 10(6):830,
/// 2020: the second cut gave 20 % less. The days between are not told in what could be read; 14 is the least of common practice.
#[test]
fn basil_gives_a_fifth_less_at_the_second_cut() {
    let basil = crop("basil");
    let grams = standing(&at_pace(&basil, 1.0), 35, &[14]);
    let ratio = grams[1] / grams[0];
    assert!((ratio - 0.80).abs() < 0.05, "{ratio}");
}

/// B. Benko and others, "Morphology and yield of watercress grown in floating system", Acta Horticulturae 1142:111, 2016: three
/// cuts in 60 days gave 24.8, 30.6 and 44.6 % of 3.07 kg a square metre. The days of the cuts are not told; 28 + 16 + 16 are
/// assumed. One curve for all growths cannot tell branching, so the second comes out too heavy and the third too light:
/// by 5 in a hundred of the total, and the test allows 6.
#[test]
fn watercress_gives_more_at_each_of_three_cuts() {
    let watercress = crop("watercress");
    let grams = standing(&at_pace(&watercress, 1.0), 28, &[16, 16]);
    let total: f64 = grams.iter().sum();
    for (share, published) in grams.iter().map(|grams| grams / total).zip([0.248, 0.306, 0.446]) {
        assert!((share - published).abs() < 0.06, "{share}, not {published}");
    }
    assert!(grams.is_sorted(), "{grams:?}");
    let taken = watercress.regrowth.as_ref().unwrap().taken.value;
    let kilograms = total * taken / 1000.0 / (watercress.spacing.value.cm() / 100.0).powi(2);
    assert!((kilograms / 3.07 - 1.0).abs() < 0.1, "{kilograms} kg");
}

/// Bantis, Kaponas, Charalambous and Koukounaras, "Strategic Successive Harvesting of Rocket and Spinach Baby Leaves",
/// Agriculture 11(5):465, 2021: five cuts in seven weeks gave about what five sowings did. Here on days 10, 20, 30, 39 and 49
/// in the tank, with seedlings of 14 days.
#[test]
fn five_cuts_of_rocket_give_as_much_as_five_sowings() {
    let rocket = crop("rocket");
    let growing = at_pace(&rocket, 1.0);
    let cuts: f64 = standing(&growing, 24, &[10, 10, 9, 10]).iter().sum();
    let sowings: f64 = [24, 24, 24, 23, 24].map(|age| growing.grams(growing.never_held(age))).iter().sum();
    assert!((cuts / sowings - 1.0).abs() < 0.1, "{}", cuts / sowings);
}

/// R. F. Heyduck, D. `VanLeeuwen`, S. J. Guldan, "Effect of Harvest Schedule on Organic Kale Grown during the Winter in High
/// Tunnels", `HortTechnology` 30(5):570, 2020: plot B, cut in weeks 10, 17, 21 and 25, gave 20.68 g a square foot and week; one
/// cut in week 10 gives 21.6, so that regrowth has no advantage. The later cuts were 0.41, 0.50 and 0.48 of the first, which
/// strengths of 16 to 20 % bracket. A winter tunnel is half as fast as a lit room: week 10 there is the usual day here.
#[test]
fn kale_that_grows_again_ties_with_kale_sown_again() {
    let mut kale = crop("kale");
    let usual = kale.first_cut.as_ref().unwrap().value.usual;
    let weeks = |strength: f64, kale: &mut Crop| {
        kale.regrowth.as_mut().unwrap().strength = figure(vec![strength; 3]);
        let pace = 70.0 / f64::from(usual);
        let cuts = standing(&at_pace(kale, pace), 70, &[49, 28, 28]);
        (cuts.iter().sum::<f64>() / 25.0) / (cuts[0] / 10.0)
    };
    let library = kale.regrowth.as_ref().unwrap().strength.value[0];
    let [low, high, ours] = [0.16, 0.20, library].map(|strength| weeks(strength, &mut kale));
    // 20.68 / 21.6.
    let published = 0.957;
    assert!((low - published).abs() < 0.05, "{low}");
    assert!(high > low && (high - published).abs() < 0.2, "{high}");
    assert!(low <= ours && ours <= high, "{ours}");
}

/// T. J. Leme de Lima, master's thesis, Federal University of São Carlos, 2017: crisp lettuce from cells of 10 cm3 weighed on day 29 what that from 50 cm3
/// weighed on day 22 (246 and 237 g), about seven days behind.
#[test]
fn lettuce_from_small_cells_is_about_a_week_behind() {
    let batavia = crop("batavia");
    let [small, large] = [2.15_f64, 3.68].map(|cell_cm| {
        let growing = Growing::at(&batavia, 1.0, 1.0, cell_cm);
        assert!((cell_cm.powi(3) - 10.0).abs() < 0.1 || (cell_cm.powi(3) - 50.0).abs() < 0.2);
        growing.plug_ceiling()
    });
    assert!((large - small - 7.0).abs() < 1.5, "{} days", large - small);
}
