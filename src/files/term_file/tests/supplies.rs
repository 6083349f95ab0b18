//! Stock, packs and habits of buying.

use super::*;
use crate::domain::ids::CropId;
use crate::domain::supplies::{DoseKind, SeedAmount, Supplies};

fn with(block: &str) -> String {
    format!("{SOUND}{block}")
}

fn mistakes(blocks: &[&str]) -> String {
    let mut lines = Vec::new();
    for block in blocks {
        lines.push(format!("== {}", block.replace('\n', " ")));
        match outcome(&with(&format!("supplies:\n{block}\n"))) {
            Ok(_) => lines.push("no mistake".to_owned()),
            Err(problems) => lines.extend(problems.iter().map(|problem| {
                // Lines count from the one that begins the block.
                let line = problem.line().unwrap_or(0).saturating_sub(SOUND.lines().count());
                let column = problem.column().unwrap_or(0);
                format!("{line}:{column} {} | {}", problem.message(), problem.help())
            })),
        }
    }
    lines.join("\n")
}

#[test]
fn without_a_word_the_usual_holds() {
    let term = outcome(SOUND).unwrap().term;
    assert_eq!(term.supplies, Supplies::default());
    assert_eq!(term.serving_grams, Some(25.0));
    assert_eq!(term.sites[0].tanks[0].reservoir_litres, None);
}

#[test]
fn everything_is_read() {
    let block = "\
supplies:
  spare-seed: 15 %
  lead-days: 10
  change-weeks: 2
  currency: pounds
  seed:
    oakleaf: { pack: 500 seeds, price: 3.2, on-hand: 1 g, packed: 2025 }
    spinach: { pack: 0.5 oz, on-hand: 0 }
  plugs: { pack: 100, on-hand: 40, price: 9.5 }
  net-cups: { on-hand: 0 }
  medium: { per-cup: 60 ml, pack: 10 litres, reused: yes }
  nutrient:
    - { name: part A, ml-per-litre: 2.5, pack: 1 litre, on-hand: 300 ml, price: 14 }
    - { ml-per-gallon: 3.785411784 }
  acid: { ml-per-litre: 0.2, pack: 8 fl oz }
";
    let text = with(block).replace("litres: 60", "litres: 60, reservoir: 20 gal");
    let term = outcome(&text).unwrap_or_else(|problems| panic!("{problems}")).term;
    let supplies = &term.supplies;
    assert!((supplies.spare_seed - 0.15).abs() < 1e-9);
    assert_eq!((supplies.lead_days, supplies.change_weeks), (10, 2));
    assert_eq!(supplies.currency.as_deref(), Some("pounds"));
    let oakleaf = supplies.seed_of(&CropId::new("oakleaf")).unwrap();
    assert_eq!(oakleaf.packet, Some(SeedAmount::Seeds(500)));
    assert_eq!(oakleaf.on_hand, Some(SeedAmount::Grams(1.0)));
    assert_eq!((oakleaf.packed, supplies.seed[1].packed), (Some(2025), None));
    assert_eq!(supplies.seed[1].on_hand, Some(SeedAmount::Seeds(0)));
    assert_eq!(supplies.seed.len(), 2);
    assert_eq!((supplies.plugs.pack, supplies.plugs.price), (Some(100.0), Some(9.5)));
    let medium = supplies.medium.unwrap();
    assert!(medium.reused && (medium.litres_a_cup - 0.06).abs() < 1e-9);
    let doses: Vec<_> = supplies.doses.iter().map(|dose| (dose.kind, dose.name.as_str())).collect();
    assert_eq!(
        doses,
        [
            (DoseKind::Nutrient, "part A"),
            (DoseKind::Nutrient, "nutrient concentrate"),
            (DoseKind::Acid, "acid to lower the pH"),
        ]
    );
    assert!((supplies.doses[0].stock.on_hand - 0.3).abs() < 1e-9);
    assert!((supplies.doses[1].ml_per_litre - 1.0).abs() < 1e-9);
    assert!((term.sites[0].tanks[0].filling_litres() - 75.708_235_68).abs() < 1e-9);
}

#[test]
fn mistakes_of_supplies() {
    insta::assert_snapshot!(mistakes(&[
        "  spare-seed: 10\n  lead-days: -1\n  change-weeks: 0\n  currency: [a]",
        "  seeds: {}",
        "  seed: { oakleef: { pack: 500 seeds } }",
        "  seed: { oakleaf: { pack: 500 } }",
        "  seed: { oakleaf: { pack: 1.5 seeds, on-hand: 0 g } }",
        "  seed: { oakleaf: { price: 3, packed: last year } }",
        "  seed: { oakleaf: 500 seeds }",
        "  plugs: { pack: 0, price: 5 }",
        "  plugs: { price: 5, on-hand: some }",
        "  medium: { pack: 10 }",
        "  medium: { per-cup: 60, reused: maybe }",
        "  nutrient: { pack: 1 litre }",
        "  nutrient: [{ ml-per-litre: 5, ml-per-gallon: 20 }, { ml-per-litre: 500 }]",
        "  acid: 5 ml",
    ]), @r#"
        ==   spare-seed: 10   lead-days: -1   change-weeks: 0   currency: [a]
        2:15 "10" is not a share in per cent | write a share from 0 % to 100 %, such as 10 %
        3:14 this is too small | write a whole number from 0 to 180
        4:17 this is too small | write a whole number from 1 to 60
        5:13 a single value was expected here | write only one value
        ==   seeds: {}
        2:3 unknown key "seeds" | did you mean "seed"?
        ==   seed: { oakleef: { pack: 500 seeds } }
        2:11 "oakleef" is not among the crops of this term | did you mean "oakleaf"?
        ==   seed: { oakleaf: { pack: 500 } }
        2:28 "500" is not an amount of seed | write 500 seeds, 5 g or 0.2 oz
        ==   seed: { oakleaf: { pack: 1.5 seeds, on-hand: 0 g } }
        2:28 "1.5 seeds" is not a number of seeds | write a whole number, such as 500 seeds
        2:48 this is no amount of seed to buy | write 500 seeds, 5 g or 0.2 oz
        ==   seed: { oakleaf: { price: 3, packed: last year } }
        2:22 this is the price of an unknown amount | add what one pack holds, such as pack: 100
        2:40 "last year" is not a whole number | write a whole number from 1980 to 2199
        ==   seed: { oakleaf: 500 seeds }
        2:20 keys with values were expected here | write each as "key: value" on a line of its own, indented
        ==   plugs: { pack: 0, price: 5 }
        2:18 this is too small | write a whole number from 1 to 1000000
        ==   plugs: { price: 5, on-hand: some }
        2:12 this is the price of an unknown amount | add what one pack holds, such as pack: 100
        2:31 "some" is not a whole number | write a whole number from 1 to 1000000
        ==   medium: { pack: 10 }
        2:13 "per-cup" is missing here | add a line such as per-cup: 60 ml
        2:19 "10" is not a volume | the unit is missing: write 500 ml, 60 litres or 16 gal
        ==   medium: { per-cup: 60, reused: maybe }
        2:22 "60" is not a volume | the unit is missing: write 500 ml, 60 litres or 16 gal
        2:34 "maybe" is not known here | write yes or no
        ==   nutrient: { pack: 1 litre }
        2:15 "ml-per-litre" is missing here | add a line such as ml-per-litre: 5 (or ml-per-gallon: 20), as the product's label says
        ==   nutrient: [{ ml-per-litre: 5, ml-per-gallon: 20 }, { ml-per-litre: 500 }]
        2:33 the dose of the nutrient is given both per litre and per gallon | keep one of the two
        2:70 this is too large | write a number from 0.001 to 100
        ==   acid: 5 ml
        2:9 keys with values were expected here | write each as "key: value" on a line of its own, indented
        "#);
}

#[test]
fn mistakes_of_the_reservoir() {
    insta::assert_snapshot!(told(&[
        ("litres: 60", "litres: 60, reservoir: 50 litres"),
        ("litres: 60", "litres: 60, reservoir: 80"),
        ("litres: 60", "litres: 60, reservoir: 80 cups"),
    ]), @r#"
        == litres: 60, reservoir: 50 litres
        14:70 the whole reservoir holds less than plants can draw from it | make reservoir the larger of the two
        == litres: 60, reservoir: 80
        14:81 "80" is not a volume | the unit is missing: write 500 ml, 60 litres or 16 gal
        == litres: 60, reservoir: 80 cups
        14:81 "80 cups" is not a volume | unknown unit "cups": write 500 ml, 60 litres or 16 gal
        "#);
}
