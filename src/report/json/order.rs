//! What has to be bought.

use super::{FORMAT, write};
use crate::domain::order::{Order, Purchase, SeedLine, TankWater, Thing, ThingLine, order};
use crate::domain::plan::Plan;
use crate::domain::supplies::DoseKind;
use crate::domain::term::Term;
use chrono::NaiveDate;
use serde::Serialize;

#[derive(Serialize)]
struct SheetsJson<'a> {
    format: u32,
    written: &'a [String],
    order: OrderJson<'a>,
}

#[derive(Serialize)]
struct OrderJson<'a> {
    seeds: Vec<SeedJson<'a>>,
    things: Vec<ThingJson<'a>>,
    water: Vec<WaterJson<'a>>,
    currency: Option<&'a str>,
    cost: Option<f64>,
    lines_without_price: Option<u32>,
    cost_per_serving: Option<f64>,
    cost_per_100_g: Option<f64>,
}

#[derive(Serialize)]
struct SeedJson<'a> {
    crop: &'a str,
    plugs: u32,
    seeds_laid: u32,
    seeds_with_spare: u32,
    seed_mass_g: f64,
    #[serde(flatten)]
    purchase: PurchaseJson,
}

#[derive(Serialize)]
struct ThingJson<'a> {
    thing: &'static str,
    name: Option<&'a str>,
    unit: &'static str,
    needed: f64,
    pack: Option<f64>,
    #[serde(flatten)]
    purchase: PurchaseJson,
}

#[derive(Serialize)]
struct PurchaseJson {
    on_hand: f64,
    missing: f64,
    packs: Option<u32>,
    cost: Option<f64>,
    first_use: NaiveDate,
    order_by: NaiveDate,
}

#[derive(Serialize)]
struct CleaningJson {
    day: NaiveDate,
    filled: NaiveDate,
}

#[derive(Serialize)]
struct WaterJson<'a> {
    site: &'a str,
    tank: &'a str,
    filling_litres: f64,
    whole_reservoir_known: bool,
    filled: Option<NaiveDate>,
    changes: &'a [NaiveDate],
    cleanings: Vec<CleaningJson>,
    top_up_litres: f64,
    litres: f64,
}

/// Files written together with the order they hold. Keys: `format`, `written` (paths), `order`: `seeds` by crop (amounts
/// in seeds), `things` (`thing` is `plugs`, `net-cups`, `medium`, `nutrient`, `acid` or `base`; amounts in `unit`, which is
/// `pieces` or `litres`), `water` by tank, `currency`, `cost` (of lines with a price), `lines_without_price`,
/// `cost_per_serving`, `cost_per_100_g`.
pub fn written_with_order(paths: &[String], term: &Term, plan: &Plan) -> String {
    let (term, plan) = (&term.of_its_own(), &term.own_part(plan));
    let found = order(term, plan);
    write(&SheetsJson { format: FORMAT, written: paths, order: order_json(term, &found) })
}

fn order_json<'a>(term: &'a Term, found: &'a Order) -> OrderJson<'a> {
    let cost = found.cost;
    OrderJson {
        seeds: found.seeds.iter().map(seed).collect(),
        things: found.things.iter().map(thing).collect(),
        water: found.water.iter().map(water).collect(),
        currency: term.supplies.currency.as_deref(),
        cost: cost.map(|cost| cents(cost.total)),
        lines_without_price: cost.map(|cost| cost.without_price),
        cost_per_serving: cost.and_then(|cost| cost.per_serving).map(cents),
        cost_per_100_g: cost.and_then(|cost| cost.per_100_grams).map(cents),
    }
}

fn seed(line: &SeedLine) -> SeedJson<'_> {
    SeedJson {
        crop: line.crop.as_str(),
        plugs: line.plugs,
        seeds_laid: line.laid,
        seeds_with_spare: line.wanted,
        seed_mass_g: thousandths(line.grams),
        purchase: purchase(&line.purchase),
    }
}

fn thing(line: &ThingLine) -> ThingJson<'_> {
    let (thing, name, unit) = match &line.thing {
        Thing::Plugs => ("plugs", None, "pieces"),
        Thing::NetCups => ("net-cups", None, "pieces"),
        Thing::Medium => ("medium", None, "litres"),
        Thing::Seedlings(crop, _) => ("seedlings", Some(crop.as_str()), "pieces"),
        Thing::Concentrate(dose) => {
            let kind = match dose.kind {
                DoseKind::Nutrient => "nutrient",
                DoseKind::Acid => "acid",
                DoseKind::Base => "base",
            };
            (kind, Some(dose.name.as_str()), "litres")
        }
    };
    let needed = thousandths(line.wanted);
    ThingJson { thing, name, unit, needed, pack: line.pack, purchase: purchase(&line.purchase) }
}

fn purchase(purchase: &Purchase) -> PurchaseJson {
    PurchaseJson {
        on_hand: thousandths(purchase.on_hand),
        missing: thousandths(purchase.missing),
        packs: purchase.packs,
        cost: purchase.cost.map(cents),
        first_use: purchase.first_use,
        order_by: purchase.order_by,
    }
}

fn water(tank: &TankWater) -> WaterJson<'_> {
    WaterJson {
        site: tank.site.as_str(),
        tank: tank.tank.as_str(),
        filling_litres: thousandths(tank.filling_litres),
        whole_reservoir_known: tank.whole_known,
        filled: tank.solution.filled,
        changes: &tank.solution.changes,
        cleanings: tank
            .solution
            .cleanings
            .iter()
            .map(|cleaning| CleaningJson { day: cleaning.day, filled: cleaning.filled })
            .collect(),
        top_up_litres: thousandths(tank.top_up_litres),
        litres: thousandths(tank.litres()),
    }
}

fn cents(amount: f64) -> f64 {
    (amount * 100.0).round() / 100.0 + 0.0
}

fn thousandths(amount: f64) -> f64 {
    (amount * 1000.0).round() / 1000.0 + 0.0
}
