//! Crops that do not exist, with figures that can be worked out by hand.

use sowtide::domain::crop::{Crop, DaySpan, Figure, GrowthCurve, Limits, Regrowth, Source, Variation};
use sowtide::domain::ids::CropId;
use sowtide::domain::units::{Length, Mass, Temperature};

/// A figure without a source.
pub(crate) fn figure<T>(value: T) -> Figure<T> {
    Figure::plain(value, Source::CommonPractice)
}

/// Fewest, usual and most days.
pub(crate) fn days(min: u32, usual: u32, max: u32) -> DaySpan {
    DaySpan { min, usual, max }
}

/// A growth curve through ages and grams.
pub(crate) fn curve(points: &[(u32, f64)]) -> GrowthCurve {
    let points: Vec<(u32, Mass)> =
        points.iter().map(|(age, grams)| (*age, Mass::from_grams(*grams))).collect();
    GrowthCurve::new(&points).unwrap()
}

/// A crop that is pulled whole, once.
///
/// 0.8 plants a plug from one seed; transplanted at 10 to 21 days, pulled at 35 to 49. One plant
/// weighs 60 g at 28 days, 100 g at 35, 140 g at 42; 0.4 of it gets onto the plate. It stands 20 cm apart,
/// draws 0.1 l a day and keeps for 5 days.
pub(crate) fn head(id: &str) -> Crop {
    Crop {
        id: CropId::new(id),
        name: id.to_owned(),
        also_called: Vec::new(),
        scientific_name: "Planta rotunda".to_owned(),
        kind: "lettuce".to_owned(),
        germination: figure(0.8),
        seeds_per_plug: figure(1),
        seeds_per_gram: figure(800.0),
        emergence: figure(days(2, 4, 7)),
        nursery: figure(days(10, 14, 21)),
        nursery_survival: figure(1.0),
        tank_survival: figure(0.8),
        tank_days: figure(7),
        first_cut: None,
        whole_head: Some(figure(days(35, 42, 56))),
        hold: figure(days(0, 3, 7)),
        growth: figure(curve(&[(14, 10.0), (21, 20.0), (28, 60.0), (35, 100.0), (42, 140.0)])),
        variation: figure(Variation { between_plants: 0.2, between_batches: 0.1, days: 2.0 }),
        regrowth: None,
        spacing: figure(Length::from_cm(20.0)),
        ph: figure(Limits { low: 5.5, high: 6.5 }),
        ec: figure(Limits { low: 1.0, high: 2.0 }),
        air: figure(Limits { low: Temperature::from_celsius(10.0), high: Temperature::from_celsius(25.0) }),
        water_a_day: figure(0.1),
        shelf_life: figure(5),
        cut_shelf_life: figure(5),
        storage: figure(Temperature::from_celsius(4.0)),
        ready_to_eat: figure(0.5),
        cup_grams: None,
        in_cups: None,
        bolting: None,
        handling: None,
        allergy: None,
    }
}

/// As [`head`], but it may also be cut at 21 to 35 days and again after 7 to 21 days, three harvests in
/// all. A cut takes half; the second growth reaches 48 g at most, the third 30 g. It stands 25 cm apart and comes up from two seeds at 0.6 plants a plug.
pub(crate) fn cutter(id: &str) -> Crop {
    Crop {
        kind: "leaf".to_owned(),
        germination: figure(0.5),
        seeds_per_plug: figure(2),
        nursery_survival: figure(0.8),
        first_cut: Some(figure(days(21, 28, 35))),
        regrowth: Some(Regrowth {
            interval: figure(days(7, 14, 21)),
            harvests: figure(3),
            until: None,
            taken: figure(0.5),
            lag: figure(2.0),
            vigour: figure(0.9),
            strength: figure(vec![48.0 / 140.0, 30.0 / 140.0]),
        }),
        spacing: figure(Length::from_cm(25.0)),
        ..head(id)
    }
}

/// As [`cutter`], but only grown young: there is no whole head.
pub(crate) fn young(id: &str) -> Crop {
    Crop { whole_head: None, spacing: figure(Length::from_cm(10.0)), ..cutter(id) }
}
