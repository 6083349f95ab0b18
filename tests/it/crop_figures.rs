//! The built-in crops against published figures and against what planning needs of them.

use sowtide::domain::crop::Crop;
use sowtide::files::library::Library;

fn library() -> Library {
    Library::builtin().unwrap_or_else(|problems| panic!("{problems}"))
}

fn crop(id: &str) -> Crop {
    library().get(id).unwrap_or_else(|| panic!("no crop {id}")).clone()
}

const LETTUCES: [&str; 6] = ["baby-lettuce", "batavia", "butterhead", "multi-leaf", "oakleaf", "romaine"];

#[test]
fn seeds_per_gram_are_those_of_the_federal_seed_act_regulations() {
    // 7 CFR 201.46, table 1 (2015 edition); chard counts clusters.
    let published = [
        ("kale", 315.0),
        ("pak-choi", 635.0),
        ("mustard", 625.0),
        ("spinach", 100.0),
        ("chard", 60.0),
        ("garden-cress", 425.0),
        ("watercress", 5170.0),
        ("lambs-lettuce", 380.0),
        ("sorrel", 1080.0),
        ("endive", 940.0),
        ("parsley", 650.0),
    ];
    let lettuces = LETTUCES.map(|id| (id, 890.0));
    for (id, seeds) in published.into_iter().chain(lettuces) {
        let figure = crop(id).seeds_per_gram;
        assert!((figure.value - seeds).abs() < 1e-9, "{id}");
        assert!(figure.source.to_string().contains("7 CFR 201.46"), "{id}");
    }
}

#[test]
fn germination_is_not_below_the_legal_least() {
    // 7 CFR 201.31 (2015 edition), per cent; kinds that are not listed there have no least.
    let published = [
        ("kale", 75.0),
        ("pak-choi", 75.0),
        ("mustard", 75.0),
        ("spinach", 60.0),
        ("chard", 65.0),
        ("garden-cress", 75.0),
        ("watercress", 40.0),
        ("lambs-lettuce", 70.0),
        ("sorrel", 65.0),
        ("endive", 70.0),
        ("parsley", 60.0),
    ];
    let lettuces = LETTUCES.map(|id| (id, 80.0));
    for (id, least) in published.into_iter().chain(lettuces) {
        let percent = crop(id).germination.value * 100.0;
        assert!(percent >= least, "{id}: {percent} %");
    }
}

#[test]
fn seedlings_show_within_the_published_days() {
    // "Days Required for Seedling Emergence at Various Soil Temperatures", after Harrington and Minges,
    // 1954: at 20 C lettuce 3, spinach 6, cabbage 6, beet 6, turnip 2, parsley 14 days.
    let at_20_c =
        [("butterhead", 3), ("spinach", 6), ("kale", 6), ("chard", 6), ("pak-choi", 2), ("parsley", 14)];
    for (id, days) in at_20_c {
        assert_eq!(crop(id).emergence.value.usual, days, "{id}");
    }
}

#[test]
fn four_of_five_lettuce_seeds_become_transplants() {
    // "Lettuce Production", horticultural engineering page, Rutgers University: 960 transplants of 1200
    // seeds, and a final spacing of 28 plants a square metre.
    let butterhead = crop("butterhead");
    assert!((butterhead.plants_per_plug() - 960.0 / 1200.0).abs() < 0.02);
    let per_square_metre = (100.0 / butterhead.spacing.value.cm()).powi(2);
    assert!((per_square_metre - 28.0).abs() < 0.5, "{per_square_metre}");
}

#[test]
fn heads_weigh_what_the_handbooks_say() {
    // Cornell Controlled Environment Agriculture: Boston lettuce 5 oz at 35 days (Grower's Handbooks),
    // spinach 5 oz at 33 days, baby spinach from day 14 ("Spinach").
    for (id, days) in [("butterhead", 35), ("spinach", 33)] {
        let crop = crop(id);
        assert_eq!(crop.whole_head.unwrap().value.usual, days, "{id}");
        let ounces = crop.growth.value.grams_at(f64::from(days)) / (453.592_37 / 16.0);
        assert!((ounces - 5.0).abs() < 0.05, "{id}: {ounces}");
    }
    assert_eq!(crop("spinach").first_cut.unwrap().value.min, 14);
    // "Effect of dissolved oxygen concentration on lettuce growth in floating hydroponics", Acta
    // Horticulturae 440, 1996: transplanted on day 11.
    let nursery = crop("butterhead").nursery.value;
    assert!((nursery.min..=nursery.max).contains(&11));
    // Chiancone and others, Acta Horticulturae 881, 2010: heads of seven types weighed 100 to 260 g.
    for id in ["batavia", "butterhead", "oakleaf", "romaine"] {
        let crop = crop(id);
        let usual = crop.whole_head.unwrap().value.usual;
        let grams = crop.growth.value.grams_at(f64::from(usual));
        assert!((100.0..=260.0).contains(&grams), "{id}: {grams} g");
    }
}

#[test]
fn rocket_can_be_cut_five_times_in_seven_weeks() {
    // Bantis and others, Agriculture 11(5):465, 2021.
    let rocket = crop("rocket");
    let regrowth = rocket.regrowth.unwrap();
    assert_eq!(regrowth.harvests.value, 5);
    let fastest = rocket.first_cut.unwrap().value.min + 4 * regrowth.interval.value.min;
    assert!((42..=49).contains(&fastest), "{fastest} days");
    // Suslow and Cantwell, "Spinach", UC Davis: 21 to 28 days between cuts in the field.
    let spinach = crop("spinach").regrowth.unwrap().interval.value;
    assert_eq!((spinach.usual, spinach.max), (21, 28));
}

#[test]
fn greens_are_kept_no_longer_and_no_warmer_than_published() {
    // At 5 C: romaine 14 days (Cantwell and Suslow, "Lettuce, Romaine", UC Davis), herbs and lamb's
    // lettuce 14 (Cantwell and Reid, "Herbs (Fresh Culinary)", UC Davis), spinach under 14 (Suslow and
    // Cantwell, "Spinach", UC Davis).
    for id in ["romaine", "cilantro", "parsley", "lambs-lettuce", "spinach"] {
        assert!(crop(id).shelf_life.value <= 14, "{id}");
    }
    for crop in library().iter() {
        let celsius = crop.storage.value.celsius();
        if crop.id.as_str() == "basil" {
            // Cantwell and Reid: never below 10 C.
            assert!(celsius > 10.0);
        } else {
            // US FDA, Temperature Control of Cut Leafy Greens, 2010: 5 C (41 F) or less.
            assert!(celsius <= 5.0, "{}", crop.id);
        }
    }
}

#[test]
fn mustard_carries_an_allergy_caution() {
    // Regulation (EU) No 1169/2011, annex II.
    assert!(crop("mustard").allergy.unwrap().value.contains("allerg"));
}

#[test]
fn every_crop_can_be_planned() {
    for crop in library().iter() {
        let id = crop.id.as_str();
        let heaviest = crop.growth.value.points().last().unwrap().0;
        for span in [&crop.first_cut, &crop.whole_head].into_iter().flatten() {
            let span = span.value;
            assert!(crop.nursery.value.max < span.min, "{id}");
            assert!(span.max <= span.usual + crop.hold.value.max, "{id}: days nobody could use");
            assert!(span.max <= heaviest, "{id}: growth is not known up to day {}", span.max);
        }
        assert!((0.5..=1.0).contains(&crop.plants_per_plug()), "{id}");
        assert!(crop.ph.value.low < crop.ph.value.high && crop.ec.value.low < crop.ec.value.high, "{id}");
    }
    // A school tank at pH 5.9 and EC 1.6 suits most crops but not all, as growers know.
    let library = library();
    let suited = library.iter().filter(|crop| crop.tolerates(5.9, 1.6)).count();
    assert!((16..22).contains(&suited), "{suited}");
    assert!(!crop("watercress").tolerates(5.9, 1.6) && !crop("garden-cress").tolerates(5.9, 1.6));
}
