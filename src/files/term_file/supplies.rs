//! Stock, packs and habits of buying.

use super::crops::DraftCrop;
use crate::domain::supplies::{
    CHANGE_WEEKS, Dose, DoseKind, LEAD_DAYS, Medium, SPARE_SEED, Seed, SeedAmount, Stock, Supplies,
};
use crate::domain::units::LITRES_PER_GALLON;
use crate::files::problem::suggest;
use crate::files::reading::{Entries, Noted, Reading, shorten};
use crate::files::tree::{Key, Node};
use std::ops::RangeInclusive;

const KEYS: [&str; 11] = [
    "spare-seed",
    "lead-days",
    "change-weeks",
    "currency",
    "seed",
    "plugs",
    "net-cups",
    "medium",
    "nutrient",
    "acid",
    "base",
];

const PIECES: RangeInclusive<u32> = 1..=1_000_000;
/// Years for which a packet may have been packed.
const YEARS: RangeInclusive<u32> = 1980..=2199;
const PRICES: RangeInclusive<f64> = 0.0..=1_000_000.0;
/// No concentrate is dosed at more than a tenth of the water.
const DOSES: RangeInclusive<f64> = 0.001..=100.0;

/// The supplies, with what is usual where nothing is written. Seed of crops with mistakes of their own is not
/// complained about a second time, so `crops` may be missing.
pub(super) fn read(
    reading: &mut Reading,
    entries: &Entries<'_>,
    crops: Option<&[DraftCrop]>,
) -> Option<Supplies> {
    let Some(node) = entries.get("supplies") else {
        return Some(Supplies::default());
    };
    let entries = reading.map(node, &KEYS)?;
    let spare_seed =
        entries.get("spare-seed").map_or(Some(SPARE_SEED), |node| reading.percent(node, 0.0..=100.0));
    let lead_days = entries.get("lead-days").map_or(Some(LEAD_DAYS), |node| reading.whole(node, 0..=180));
    let change_weeks =
        entries.get("change-weeks").map_or(Some(CHANGE_WEEKS), |node| reading.whole(node, 1..=60));
    let currency = reading.optional(&entries, "currency", Reading::name);
    let seed = entries.get("seed").map_or(Some(Vec::new()), |node| seeds(reading, node, crops));
    let pieces = |reading: &mut Reading, key| {
        entries.get(key).map_or(Some(Stock::default()), |node| {
            let entries = reading.map(node, &["on-hand", "pack", "price"])?;
            stock(reading, &entries, &|reading, node| reading.whole(node, PIECES).map(f64::from))
        })
    };
    let plugs = pieces(reading, "plugs");
    let net_cups = pieces(reading, "net-cups");
    let medium = reading.optional(&entries, "medium", medium);
    let mut doses = Some(Vec::new());
    for (key, kind) in [("nutrient", DoseKind::Nutrient), ("acid", DoseKind::Acid), ("base", DoseKind::Base)]
    {
        for node in entries.get(key).map(Reading::items).unwrap_or_default() {
            let read = dose(reading, node, kind, key);
            doses = doses.zip(read).map(|(mut doses, dose)| {
                doses.push(dose);
                doses
            });
        }
    }
    Some(Supplies {
        spare_seed: spare_seed?,
        lead_days: lead_days?,
        change_weeks: change_weeks?,
        currency: currency.ok()?,
        seed: seed?,
        plugs: plugs?,
        net_cups: net_cups?,
        medium: medium.ok()?,
        doses: doses?,
    })
}

/// What is there, what a pack holds and what it costs.
fn stock(
    reading: &mut Reading,
    entries: &Entries<'_>,
    amount: &dyn Fn(&mut Reading, &Node) -> Option<f64>,
) -> Option<Stock> {
    let on_hand = reading.optional(entries, "on-hand", |reading, node| match reading.text(node)? {
        "0" => Some(0.0),
        _ => amount(reading, node),
    });
    let pack = reading.optional(entries, "pack", amount);
    let price = price(reading, entries);
    Some(Stock { on_hand: on_hand.ok()?.unwrap_or(0.0), pack: pack.ok()?, price: price.ok()? })
}

/// The price of one pack, which must be known.
fn price(reading: &mut Reading, entries: &Entries<'_>) -> Result<Option<f64>, Noted> {
    let price = reading.optional(entries, "price", |reading, node| reading.number(node, PRICES))?;
    if price.is_some() && entries.get("pack").is_none() {
        let help = "add what one pack holds, such as pack: 100";
        reading.note(&entries.key_span("price"), "this is the price of an unknown amount", help);
        return Err(Noted);
    }
    Ok(price)
}

fn litres(reading: &mut Reading, node: &Node) -> Option<f64> {
    reading.volume(node, 0.001..=100_000.0)
}

fn medium(reading: &mut Reading, node: &Node) -> Option<Medium> {
    let entries = reading.map(node, &["per-cup", "reused", "on-hand", "pack", "price"])?;
    let per_cup = reading
        .need(&entries, "per-cup", "per-cup: 60 ml")
        .and_then(|node| reading.volume(node, 0.001..=5.0));
    let reused = entries.get("reused").map_or(Some(false), |node| reading.yes_no(node));
    let stock = stock(reading, &entries, &litres);
    Some(Medium { litres_a_cup: per_cup?, reused: reused?, stock: stock? })
}

fn dose(reading: &mut Reading, node: &Node, kind: DoseKind, key: &str) -> Option<Dose> {
    let keys = ["name", "ml-per-litre", "ml-per-gallon", "on-hand", "pack", "price"];
    let entries = reading.map(node, &keys)?;
    let name =
        entries.get("name").map_or_else(|| Some(usual_name(kind).to_owned()), |node| reading.name(node));
    let ml_per_litre = match (entries.get("ml-per-litre"), entries.get("ml-per-gallon")) {
        (Some(node), None) => reading.number(node, DOSES),
        (None, Some(node)) => {
            let gallon = *DOSES.start() * 4.0..=*DOSES.end() * 4.0;
            reading.number(node, gallon).map(|ml| ml / LITRES_PER_GALLON)
        }
        (None, None) => {
            let example = "ml-per-litre: 5 (or ml-per-gallon: 20), as the product's label says";
            reading.need(&entries, "ml-per-litre", example).and(None)
        }
        (Some(_), Some(_)) => {
            let title = format!("the dose of the {key} is given both per litre and per gallon");
            reading.note(&entries.key_span("ml-per-gallon"), title, "keep one of the two");
            None
        }
    };
    let stock = stock(reading, &entries, &litres);
    Some(Dose { kind, name: name?, ml_per_litre: ml_per_litre?, stock: stock? })
}

fn usual_name(kind: DoseKind) -> &'static str {
    match kind {
        DoseKind::Nutrient => "nutrient concentrate",
        DoseKind::Acid => "acid to lower the pH",
        DoseKind::Base => "base to raise the pH",
    }
}

/// Seed by crop. A crop that the term does not want is most likely mistyped.
fn seeds(reading: &mut Reading, node: &Node, crops: Option<&[DraftCrop]>) -> Option<Vec<Seed>> {
    let entries = reading.free_map(node, "crops")?;
    let mut seeds = Some(Vec::new());
    for (key, node) in entries.iter() {
        let read = seed(reading, key, node, crops);
        seeds = seeds.zip(read).map(|(mut seeds, seed)| {
            seeds.push(seed);
            seeds
        });
    }
    seeds
}

fn seed(reading: &mut Reading, key: &Key, node: &Node, crops: Option<&[DraftCrop]>) -> Option<Seed> {
    let ids = || crops.unwrap_or_default().iter().map(|draft| draft.wanted.crop.id.as_str());
    let crop = crops.and_then(|crops| crops.iter().find(|draft| draft.wanted.crop.id.as_str() == key.text));
    if crops.is_some() && crop.is_none() {
        let title = format!("\"{}\" is not among the crops of this term", shorten(&key.text));
        reading.note(&key.span, title, suggest(&key.text, ids()));
    }
    let entries = reading.map(node, &["on-hand", "packed", "pack", "price"])?;
    let on_hand = reading.optional(&entries, "on-hand", |reading, node| match reading.text(node)? {
        "0" => Some(SeedAmount::Seeds(0)),
        _ => seed_amount(reading, node),
    });
    let year = reading.optional(&entries, "packed", |reading, node| reading.whole(node, YEARS));
    let packet = reading.optional(&entries, "pack", seed_amount);
    let price = price(reading, &entries);
    Some(Seed {
        crop: crop?.wanted.crop.id.clone(),
        on_hand: on_hand.ok()?,
        packed: year.ok()?.map(|year| year as i32),
        packet: packet.ok()?,
        price: price.ok()?,
    })
}

/// `500 seeds` or a mass.
fn seed_amount(reading: &mut Reading, node: &Node) -> Option<SeedAmount> {
    let text = reading.text(node)?;
    let counted = text.strip_suffix("seeds").or_else(|| text.strip_suffix("seed"));
    let Some(count) = counted.map(str::trim) else {
        return seed_mass(reading, node, text);
    };
    match count.parse::<u32>() {
        Ok(count) if PIECES.contains(&count) => Some(SeedAmount::Seeds(count)),
        _ => {
            let title = format!("\"{}\" is not a number of seeds", shorten(text));
            reading.note(&node.span, title, "write a whole number, such as 500 seeds");
            None
        }
    }
}

fn seed_mass(reading: &mut Reading, node: &Node, text: &str) -> Option<SeedAmount> {
    const HELP: &str = "write 500 seeds, 5 g or 0.2 oz";
    match text.parse::<crate::domain::units::Mass>() {
        Ok(mass) if (0.01..=10_000.0).contains(&mass.grams()) => Some(SeedAmount::Grams(mass.grams())),
        Ok(_) => {
            reading.note(&node.span, "this is no amount of seed to buy", HELP);
            None
        }
        Err(_) => {
            let title = format!("\"{}\" is not an amount of seed", shorten(text));
            reading.note(&node.span, title, HELP);
            None
        }
    }
}
