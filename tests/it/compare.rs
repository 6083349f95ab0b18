//! Ways to grow crops, side by side, against published schedules, plans and terms that are played.

use crate::sample;
use crate::support::build::{TermBuilder, site, tank, wanted};
use crate::support::crops::{curve, cutter, days, figure, head};
use crate::support::day;
use chrono::Weekday;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Binomial, Distribution, StandardNormal};
use sowtide::domain::calendar::{days_between, plus_days};
use sowtide::domain::compare::{Comparison, Estimate, Grown, Measure, Misfit, Style};
use sowtide::domain::crop::{Crop, Limits, Regrowth, Variation};
use sowtide::domain::growth::{Growing, Way};
use sowtide::domain::ids::{BatchId, CropId, SiteId, TankId};
use sowtide::domain::luck::Trouble;
use sowtide::domain::plan::{Arithmetic, Batch, Harvest, Origin, Part, Plan};
use sowtide::domain::site::Site;
use sowtide::domain::term::{SowWish, Term, WantedCrop, WayWish};
use sowtide::domain::units::{Length, Units};
use sowtide::files::library::Library;
use sowtide::insight::compare::{PLANTS, compare};
use sowtide::insight::odds::{Luck, odds};
use sowtide::report::{self, Look, json};
use sowtide::schedule::{self, Options, Watch};
use std::collections::BTreeMap;

const PLAIN: Look = Look { units: Units::Metric, width: 80, colour: false };
const EVERY_DAY: [Weekday; 7] =
    [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat, Weekday::Sun];

fn close(found: f64, expected: f64, share: f64) {
    assert!((found / expected - 1.0).abs() < share, "{found} is not {expected}");
}

/// A term with one room, its tank's holes 20 cm apart, and one crop.
fn term_of(wanted: WantedCrop, (pace, yield_factor): (f64, f64)) -> Term {
    let room = site("hall").meets(&EVERY_DAY).nursery(200, 7).grows(pace, yield_factor);
    TermBuilder::default().site(room.tank(tank("a", 10, 16))).crop(wanted).build()
}

fn all(term: &Term, crops: &[&Crop]) -> Vec<Comparison> {
    compare(term, &term.sites.iter().collect::<Vec<&Site>>(), crops)
}

/// The ways of a crop at the only site.
fn ways(term: &Term, crop: &Crop) -> Vec<Grown> {
    all(term, &[crop]).remove(0).ways
}

fn styles(ways: &[Grown]) -> Vec<Style> {
    ways.iter().map(|way| way.style).collect()
}

/// "Lettuce Production", horticultural engineering page, Rutgers University: of 1200 seeds a day 960 are transplanted after 12
/// days and stand in the pond for 24. "Grower's Handbooks", Cornell Controlled Environment Agriculture: a head of 5 oz, 142 g.
///
/// By Little's law (J. D. C. Little, Operations Research 9, 1961, pp. 383-387) 960 · 24 = 23,040 plants stand there, and 960
/// heads a day from as many holes are 960 · 142 / 23,040 = 5.917 g for a hole and day.
#[test]
fn a_hole_gives_what_littles_law_says_of_a_published_schedule() {
    let lettuce = Crop {
        germination: figure(960.0 / 1200.0),
        nursery: figure(days(12, 12, 12)),
        whole_head: Some(figure(days(36, 36, 36))),
        tank_survival: figure(1.0),
        growth: figure(curve(&[(12, 2.0), (36, 142.0)])),
        ready_to_eat: figure(1.0),
        ..head("lettuce")
    };
    let mut term = term_of(wanted(lettuce.clone()), (1.0, 1.0));
    term.rules.turnover_days = 0;
    let found = ways(&term, &lettuce);
    assert_eq!(styles(&found), [Style::Pulled]);
    let heads = &found[0];
    close(heads.hole_day_grams.usual, 960.0 * 142.0 / 23_040.0, 1e-9);
    close(heads.seed_grams.usual, 960.0 * 142.0 / 1200.0, 1e-9);
    // One minute for each of 1.25 plugs, two to move the plant and three to pull it.
    close(heads.minute_grams.unwrap().usual, 142.0 / 6.25, 1e-9);
    let told = [heads.nursery_days, heads.tank_days, heads.first_greens_days, heads.greens_days];
    assert_eq!(told.map(|days| days.usual.to_string()), ["12", "24", "36", "5"]);
}

/// R. F. Heyduck, D. `VanLeeuwen`, S. J. Guldan, "Effect of Harvest Schedule on Organic Kale Grown during the Winter in High
/// Tunnels", `HortTechnology` 30(5):570, 2020: kale sown where it stands and first cut after 10 weeks gave 216, 88, 109 and
/// 104 g a square foot at cuts up to week 25, here evenly spread. Those are 517 g in 25 weeks, 20.68 g a week; kale sown anew
/// after each first cut would give 216 g in 10 weeks, 21.6 g a week. Neither way is ahead.
#[test]
fn published_kale_gives_as_much_sown_anew_as_cut_again() {
    const TAKEN: f64 = 0.95;
    let kale = Crop {
        germination: figure(1.0),
        first_cut: Some(figure(days(56, 70, 98))),
        whole_head: None,
        hold: figure(days(0, 0, 42)),
        growth: figure(curve(&[(70, 216.0 / TAKEN)])),
        regrowth: Some(Regrowth {
            interval: figure(days(28, 35, 56)),
            harvests: figure(4),
            until: None,
            taken: figure(TAKEN),
            lag: figure(3.0),
            vigour: figure(1.0),
            // The last harvest pulls the plants, which leaves nothing.
            strength: figure(vec![88.0 / 216.0, 109.0 / 216.0, 104.0 * TAKEN / 216.0]),
        }),
        tank_survival: figure(1.0),
        ready_to_eat: figure(1.0),
        in_cups: Some(figure("sown where it stands".to_owned())),
        ..head("kale")
    };
    let mut term = term_of(WantedCrop { sow: SowWish::InCups, ..wanted(kale.clone()) }, (1.0, 1.0));
    term.rules.turnover_days = 0;
    let found = all(&term, &[&kale]).remove(0);
    let (anew, again) = (&found.ways[0], &found.ways[3]);
    assert_eq!((anew.style, again.style), (Style::Pulled, Style::Cut(3)));
    assert_eq!(again.harvest_days, [70, 105, 140, 175]);
    close(7.0 * again.hole_day_grams.usual, 20.68, 1e-9);
    close(7.0 * anew.hole_day_grams.usual * TAKEN, 21.6, 1e-9);
    assert_eq!(anew.nursery_days, Estimate::exact(0.0));
    let verdict = found.verdict(Measure::HoleDay).unwrap();
    assert!(verdict.ahead.style == Style::Pulled && verdict.too_close(), "{verdict:?}");
}

/// Plans that cannot but keep the usual days give exactly what is told of them, at a site as in the library and at another.
#[test]
fn plans_give_a_hole_and_a_day_what_was_told() {
    let fixed = |crop: Crop| Crop {
        nursery: figure(days(14, 14, 14)),
        whole_head: Some(figure(days(42, 42, 42))),
        first_cut: crop.first_cut.map(|_| figure(days(28, 28, 28))),
        hold: figure(days(0, 0, 0)),
        regrowth: crop.regrowth.map(|regrowth| Regrowth { interval: figure(days(14, 14, 14)), ..regrowth }),
        ..crop
    };
    for grows in [(1.0, 1.0), (1.1, 0.9)] {
        for (crop, way) in [(head("round"), WayWish::WholeHead), (cutter("chard"), WayWish::Cut)] {
            let crop = fixed(crop);
            let term = term_of(WantedCrop { way, ..wanted(crop.clone()) }, grows);
            let ways = ways(&term, &crop);
            let options = Options {
                seed: 1,
                effort: Some(60),
                until_stopped: false,
                term_id: "0123456789abcdef".to_owned(),
                made: "2026-09-01T08:30:00Z".parse().unwrap(),
            };
            let watch = Watch { stop: &|| false, report: &|_| {}, threads: 1 };
            let plan = schedule::plan(&term, None, &options, &watch).unwrap();
            let parts: Vec<&Part> = plan.batches.iter().flat_map(|batch| &batch.parts).collect();
            assert!(!parts.is_empty());
            for part in parts {
                let way = ways.iter().find(|way| way.harvest_days.len() == part.harvests.len()).unwrap();
                let holes = f64::from(part.plants) + part.kept_empty.len() as f64;
                let stood = days_between(part.transplant, part.leaves().unwrap());
                let in_use = (stood + i64::from(term.rules.turnover_days)) as f64;
                let grams: f64 = part.harvests.iter().map(|harvest| harvest.grams).sum();
                close(way.hole_day_grams.usual, grams / holes / in_use, 1e-9);
            }
        }
    }
}

/// A term with one serving day that wants more than there is, and the batch that a way stands for.
fn one_batch(crop: &Crop, way: &Grown) -> (Term, Plan) {
    let sown = day("2026-09-07");
    let mut term = term_of(wanted(crop.clone()), (1.0, 1.0));
    let last = plus_days(sown, *way.harvest_days.last().unwrap());
    term.servings.retain(|serving| serving.date >= last);
    term.servings.truncate(1);
    term.servings[0].grams = 1e6;
    // No class afterwards that small heads could wait for.
    term.sites[0].class_days.retain(|class| *class <= last);
    let growing = Growing::new(crop, &term.sites[0]);
    let mut stand = growing.planted(14);
    let mut before = 14;
    let mut harvests = Vec::new();
    for (number, (age, grams)) in (1..).zip(way.harvest_days.iter().zip(&way.harvest_grams)) {
        if number > 1 {
            stand = growing.cut(stand);
        }
        stand = growing.later(stand, age - before);
        let is_last = *age == *way.harvest_days.last().unwrap();
        let taken = if is_last { Way::WholeHead } else { Way::Cut };
        let arithmetic = Arithmetic {
            days: if number == 1 { *age } else { age - before },
            standing_grams: growing.grams(stand),
            taken: growing.taken(taken),
            survival: crop.tank_survival.value,
            yield_factor: 1.0,
            ready_to_eat: crop.ready_to_eat.value,
        };
        harvests.push(Harvest {
            date: plus_days(sown, *age),
            way: taken,
            number,
            grams: grams * f64::from(PLANTS),
            arithmetic,
            serves: Vec::new(),
        });
        before = *age;
    }
    let part = Part {
        plants: PLANTS,
        tank: TankId::new("a"),
        transplant: plus_days(sown, 14),
        holes: (1..=PLANTS).collect(),
        kept_empty: Vec::new(),
        cuts_before: 0,
        lost: None,
        harvests,
    };
    let batch = Batch {
        id: BatchId::new("b001"),
        crop: crop.id.clone(),
        site: SiteId::new("hall"),
        sown,
        origin: Origin::Sown,
        plugs: PLANTS,
        seeds_per_plug: 1,
        parts: vec![part],
        task_numbers: BTreeMap::new(),
    };
    (term, Plan { batches: vec![batch], servings: Vec::new(), ..sample::plan() })
}

/// Terms played with the project's own draws: what one in ten stays below, and one in ten goes beyond. Heads are pulled before
/// they are full-grown and when they are; leaves keep until the serving day.
#[test]
fn grams_spread_as_in_terms_that_are_played() {
    let sure = |crop: Crop| Crop {
        germination: figure(1.0),
        nursery_survival: figure(1.0),
        // Of all that is played only this is not log-normally distributed, but binomially.
        tank_survival: figure(0.95),
        spacing: figure(Length::from_cm(20.0)),
        cut_shelf_life: figure(60),
        shelf_life: figure(60),
        ..crop
    };
    let growing = Crop { growth: figure(curve(&[(14, 10.0), (42, 140.0), (70, 250.0)])), ..head("growing") };
    for crop in [sure(head("round")), sure(growing), sure(cutter("chard"))] {
        for way in ways(&term_of(wanted(crop.clone()), (1.0, 1.0)), &crop) {
            let (term, plan) = one_batch(&crop, &way);
            let trouble = Trouble { suffers: 0.0, lost: 0.0 };
            let found = odds(&term, &plan, None, Luck { runs: 20_000, seed: 3, threads: 2, trouble });
            let played = found.days[0];
            let hole_days = f64::from(PLANTS) * (way.tank_days.usual + f64::from(term.rules.turnover_days));
            assert_eq!(way.holes, 1);
            close(way.hole_day_grams.low, played.low / hole_days, 0.02);
            close(way.hole_day_grams.high, played.high / hole_days, 0.02);
        }
    }
}

/// Seeds add their own luck: 15 plugs, each a plant with a chance of 0.8, drawn beside everything else.
#[test]
fn grams_for_a_seed_spread_by_what_comes_up_too() {
    let crop = Crop {
        tank_survival: figure(1.0),
        variation: figure(Variation { between_plants: 0.2, between_batches: 0.1, days: 0.0 }),
        ..head("round")
    };
    let way = ways(&term_of(wanted(crop.clone()), (1.0, 1.0)), &crop).remove(0);
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let came_up = Binomial::new(15, 0.8).unwrap();
    // Half of the variance between plants is that of places, the other half evens out over twelve of them.
    let (batch, place, alone) = (0.1, 0.02_f64.sqrt(), (0.02_f64 / 12.0).sqrt());
    let mut drawn: Vec<f64> = (0..40_000)
        .map(|_| {
            let factors = [batch, place, alone].map(|variation: f64| {
                let variance = (1.0 + variation * variation).ln();
                let deviations: f64 = StandardNormal.sample(&mut rng);
                (variance.sqrt() * deviations - variance / 2.0).exp()
            });
            // 140 g stand in a plant, half of it is eaten.
            70.0 * factors.iter().product::<f64>() * came_up.sample(&mut rng) as f64 / 15.0
        })
        .collect();
    drawn.sort_by(f64::total_cmp);
    close(way.seed_grams.usual, 56.0, 1e-9);
    close(way.seed_grams.low, drawn[4_000], 0.02);
    close(way.seed_grams.high, drawn[36_000], 0.02);
}

/// Two days of deviation in 42 from batch to batch: eight in ten lie within 1.2816 times as much (M. Abramowitz and
/// I. Stegun, Handbook of Mathematical Functions, 1964, table 26.5).
#[test]
fn days_spread_by_the_pace_of_batches() {
    let crop = head("round");
    let way = ways(&term_of(wanted(crop.clone()), (1.0, 1.0)), &crop).remove(0);
    close(way.first_greens_days.low, 42.0 - 1.2816 * 2.0, 1e-4);
    close(way.first_greens_days.high, 42.0 + 1.2816 * 2.0, 1e-4);
    close(way.tank_days.high, 28.0 + 1.2816 * 2.0 * 28.0 / 42.0, 1e-4);
    assert_eq!(way.greens_days, Estimate::exact(5.0), "how long heads keep is taken as it is");
}

/// Cuts come closer together where plants would be too old otherwise, but no closer than they grow again.
#[test]
fn plants_are_harvested_before_they_are_too_old() {
    let until = |age: u32| {
        let crop = cutter("chard");
        let regrowth = crop.regrowth.map(|regrowth| Regrowth { until: Some(figure(age)), ..regrowth });
        let crop = Crop { regrowth, ..crop };
        let term = term_of(wanted(crop.clone()), (1.0, 1.0));
        ways(&term, &crop).into_iter().map(|way| way.harvest_days).collect::<Vec<_>>()
    };
    assert_eq!(until(90), [vec![42], vec![28, 42], vec![28, 42, 56]]);
    assert_eq!(until(50), [vec![42], vec![28, 42], vec![28, 39, 50]]);
    assert_eq!(until(40), [vec![42], vec![28, 40]]);
}

#[test]
fn leaves_that_do_not_keep_until_the_next_cut_are_counted() {
    let crop = cutter("chard");
    let ways = ways(&term_of(wanted(crop.clone()), (1.0, 1.0)), &crop);
    // Leaves keep for 5 days, and 14 lie between two cuts.
    let told: Vec<(u32, String)> =
        ways.iter().map(|way| (way.without_days, way.greens_days.usual.to_string())).collect();
    assert_eq!(told, [(0, "5".to_owned()), (9, "19".to_owned()), (18, "33".to_owned())]);
}

/// Of two crops only what is best by something; sites where all is alike are told once.
#[test]
fn sites_alike_are_told_together_and_two_crops_by_their_best_ways() {
    let rooms = [("a", 1.0), ("b", 1.2), ("c", 1.0)];
    let rooms = rooms.map(|(id, pace)| site(id).grows(pace, 1.0).tank(tank("t", 4, 6)));
    let term = rooms.into_iter().fold(TermBuilder::default(), TermBuilder::site);
    let (round, chard) = (head("round"), cutter("chard"));
    let term = term.crop(wanted(round.clone())).build();
    let found = all(&term, &[&round, &chard]);
    let sites: Vec<Vec<&str>> =
        found.iter().map(|here| here.sites.iter().map(SiteId::as_str).collect()).collect();
    assert_eq!(sites, [vec!["a", "c"], vec!["b"]]);
    let every = ways(&term, &chard);
    for here in &found {
        let own: Vec<&Grown> = here.ways.iter().filter(|way| way.crop == chard.id).collect();
        assert!(!own.is_empty() && own.len() <= every.len());
        for measure in Measure::ALL {
            let verdict = here.verdict(measure).unwrap();
            assert_ne!(verdict.ahead.crop, verdict.behind.crop);
            assert!(verdict.ratio() >= 1.0 && verdict.chance() > 0.4);
            let best = |ways: &[Grown]| {
                let own = ways.iter().filter(|way| way.crop == chard.id);
                own.filter_map(|way| way.measured(measure)).map(|figure| figure.usual).fold(0.0, f64::max)
            };
            if here.sites[0].as_str() == "a" {
                close(best(&here.ways), best(&every), 1e-9);
            }
        }
    }
}

#[test]
fn what_does_not_fit_is_told() {
    let term = term_of(wanted(head("round")), (1.0, 1.0));
    let misfits = |crop: &Crop| all(&term, &[crop]).remove(0).misfits;
    let wide = Crop { spacing: figure(Length::from_cm(41.0)), ..head("wide") };
    assert_eq!(misfits(&wide), [(CropId::new("wide"), Misfit::Room)]);
    let acid = Crop { ph: figure(Limits { low: 4.0, high: 4.5 }), ..head("acid") };
    assert_eq!(misfits(&acid), [(CropId::new("acid"), Misfit::Solution)]);
    assert_eq!(ways(&term, &acid).len(), 1);
    let slow = Crop { tank_days: figure(60), ..head("slow") };
    assert_eq!(misfits(&slow), [(CropId::new("slow"), Misfit::Days)]);
    assert_eq!(misfits(&head("round")), []);
}

/// Work that takes no time cannot be divided by.
#[test]
fn no_minutes_no_figure() {
    let crop = cutter("chard");
    let mut term = term_of(wanted(crop.clone()), (1.0, 1.0));
    let minutes = &mut term.rules.minutes;
    (minutes.sow, minutes.transplant, minutes.harvest) = (0.0, 0.0, 0.0);
    let found = all(&term, &[&crop]);
    assert!(found[0].ways.iter().all(|way| way.minute_grams.is_none()));
    assert!(found[0].verdict(Measure::Minute).is_none() && found[0].verdict(Measure::Seed).is_some());
    let text = report::compare::text(&found, &term, &[&crop], PLANTS, &PLAIN);
    assert!(!text.contains("minute of class work") && text.contains("A seed gives"), "{text}");
}

/// Whatever is compared, it is told where the term file leaves no choice.
#[test]
fn a_way_that_the_term_asks_for_is_told() {
    let crop = cutter("chard");
    let told = |way| {
        let term = term_of(WantedCrop { way, ..wanted(crop.clone()) }, (1.0, 1.0));
        report::compare::text(&all(&term, &[&crop]), &term, &[&crop], PLANTS, &PLAIN)
    };
    assert!(told(WayWish::Cut).contains("asks for chard as cut and come again"));
    assert!(told(WayWish::WholeHead).contains("asks for chard as whole heads"));
    assert!(!told(WayWish::Either).contains("asks for"));
    // Beside another crop only that way counts.
    let (term, other) =
        (term_of(WantedCrop { way: WayWish::Cut, ..wanted(crop.clone()) }, (1.0, 1.0)), head("round"));
    let ways = all(&term, &[&crop, &other]).remove(0).ways;
    let is_cut = |way: &Grown| way.crop != crop.id || way.style != Style::Pulled;
    assert!(ways.iter().any(|way| way.crop == crop.id) && ways.iter().all(is_cut));
}

/// Every crop of the library, alone and beside another: something for each, nothing over the edge, every range around its
/// figure or close below it.
#[test]
fn every_crop_of_the_library_can_be_compared() {
    let library = Library::builtin().unwrap();
    let term = sample::term();
    let rocket = library.get("rocket").unwrap();
    for crop in library.iter() {
        let mut asked = vec![vec![crop]];
        asked.extend((crop.id != rocket.id).then(|| vec![rocket, crop]));
        for crops in asked {
            let found = all(&term, &crops);
            for look in [PLAIN, Look { units: Units::Us, ..PLAIN }] {
                let text = report::compare::text(&found, &term, &crops, PLANTS, &look);
                assert!(
                    text.lines().all(|line| line.chars().count() <= 80 && line == line.trim_end()),
                    "{text}"
                );
            }
            for way in found.iter().flat_map(|here| &here.ways) {
                for figure in Measure::ALL.iter().filter_map(|measure| way.measured(*measure)) {
                    assert!(figure.low < figure.usual && figure.usual < figure.high, "{way:?}");
                }
                assert!(way.harvest_days.is_sorted() && way.harvest_grams.iter().all(|grams| *grams > 0.0));
            }
        }
    }
}

#[test]
fn one_crop_and_two_word_for_word() {
    let library = Library::builtin().unwrap();
    let mut term = sample::term();
    term.sites[0].pace = 1.1;
    let [oakleaf, chard, pak_choi] = ["oakleaf", "chard", "pak-choi"].map(|id| library.get(id).unwrap());
    let told =
        |crops: &[&Crop], look: Look| report::compare::text(&all(&term, crops), &term, crops, PLANTS, &look);
    insta::assert_snapshot!("one_crop_compared", told(&[oakleaf], PLAIN));
    insta::assert_snapshot!(
        "two_crops_compared",
        told(&[chard, oakleaf], Look { units: Units::Us, ..PLAIN })
    );
    insta::assert_snapshot!("a_crop_without_a_choice", told(&[pak_choi], PLAIN));
    insta::assert_snapshot!("a_comparison_as_json", json::compare(&all(&term, &[oakleaf]), PLANTS));
}
