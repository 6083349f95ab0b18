//! The order list: what has to be bought for the term, how much of it and by when.

use super::figures::{Named, WATER, each_once, sources};
use super::page::Sheet;
use super::{Wish, parts};
use crate::domain::order::{Cost, Order, Purchase, SeedLine, TankWater, Thing, ThingLine, order};
use crate::domain::plan::Plan;
use crate::domain::supplies::{DoseKind, SeedAmount};
use crate::domain::term::Term;
use crate::domain::units::{GRAMS_PER_OUNCE, LITRES_PER_GALLON, Mass, Units, Volume};
use crate::report::cautions::CHEMICALS;
use crate::report::words::{counted, crop_name, day as short, percent, short_day, site_name};
use chrono::NaiveDate;
use maud::{Markup, html};

/// The sheet for all sites and the whole term.
pub(super) fn sheet(term: &Term, plan: &Plan, wish: &Wish) -> Sheet {
    let (term, plan) = (&term.of_its_own(), &term.own_part(plan));
    let order = order(term, plan);
    let list = List { term, plan, units: wish.units, order: &order };
    let body = html! { div.compact {
        (list.seeds())
        (list.things())
        (list.cost())
        (list.water())
        (list.how_it_is_counted())
        (parts::cautions(&[CHEMICALS.to_owned(), SEED.to_owned()]))
        (list.figures())
    } };
    let title = format!("Order list, {}", term.name);
    let when = format!("all sites, {} to {}", short(term.start), short(term.end));
    Sheet::new(title, when, body)
}

const SEED: &str =
    "Buy seed that is meant for food and untreated, and plugs and medium that are meant for growing food.";

struct List<'a> {
    term: &'a Term,
    plan: &'a Plan,
    units: Units,
    order: &'a Order,
}

impl List<'_> {
    fn seeds(&self) -> Markup {
        let mut lines: Vec<&SeedLine> = self.order.seeds.iter().collect();
        lines.sort_by_key(|line| (line.purchase.order_by, crop_name(self.term, &line.crop)));
        html! {
            h2 { "Seed" }
            @if lines.is_empty() {
                p { "Nothing is sown." }
            } @else {
                table.dense {
                    thead {
                        tr {
                            th { "Crop" }
                            th { "Order by" }
                            th { "First sown" }
                            th { "Seeds laid" }
                            th { "With spare" }
                            th { "That is" }
                            th { "On hand" }
                            th { "To buy" }
                            th { "Cost" }
                            th { "Done" }
                        }
                    }
                    tbody { @for line in lines { (self.seed_row(line)) } }
                }
            }
        }
    }

    fn seed_row(&self, line: &SeedLine) -> Markup {
        let bought = &line.purchase;
        html! {
            tr {
                td { b { (crop_name(self.term, &line.crop)) } }
                td.day { (order_by(bought)) }
                td.day { (short_day(bought.first_use)) }
                td.number { (line.laid) }
                td.number { (line.wanted) }
                td.number { (self.small_mass(line.grams)) }
                td.number { (whole(bought.on_hand)) }
                td { b { (parts::glued(&self.seed_to_buy(line))) } }
                td.number { (price(bought)) }
                td {}
            }
        }
    }

    fn seed_to_buy(&self, line: &SeedLine) -> String {
        let bought = &line.purchase;
        if bought.missing <= 0.0 {
            return "nothing".to_owned();
        }
        match (bought.packs, line.packet) {
            (Some(packs), Some(SeedAmount::Seeds(seeds))) => {
                format!("{} of {}", counted(packs, "packet"), counted(seeds, "seed"))
            }
            (Some(packs), Some(SeedAmount::Grams(grams))) => {
                format!("{} of {}", counted(packs, "packet"), self.small_mass(grams))
            }
            _ => format!("{} seeds", whole(bought.missing)),
        }
    }

    fn things(&self) -> Markup {
        html! {
            h2 { "Everything else" }
            @if self.order.things.is_empty() {
                p { "Nothing." }
            } @else {
                table.dense {
                    thead {
                        tr {
                            th { "Thing" }
                            th { "Order by" }
                            th { "First used" }
                            th { "Needed" }
                            th { "On hand" }
                            th { "To buy" }
                            th { "Cost" }
                            th { "Done" }
                        }
                    }
                    tbody { @for line in &self.order.things { (self.thing_row(line)) } }
                }
            }
            @if !self.has(DoseKind::Nutrient) {
                p {
                    "No nutrient is listed in the term file, so none is counted. The tanks take "
                    (self.volume(self.all_litres())) " of solution in all; what that needs stands on the product's label."
                }
            }
        }
    }

    fn has(&self, kind: DoseKind) -> bool {
        self.term.supplies.doses.iter().any(|dose| dose.kind == kind)
    }

    fn thing_row(&self, line: &ThingLine) -> Markup {
        let bought = &line.purchase;
        html! {
            tr {
                td {
                    b { (name(self.term, &line.thing)) }
                    @if let Some(note) = self.dose(&line.thing) { br; (note) }
                }
                td.day { (order_by(bought)) }
                td.day { (short_day(bought.first_use)) }
                td.number { (self.amount(&line.thing, line.wanted)) }
                td.number { (self.amount(&line.thing, bought.on_hand)) }
                td { b { (parts::glued(&self.thing_to_buy(line))) } }
                td.number { (price(bought)) }
                td {}
            }
        }
    }

    /// The dose of a concentrate, as labels give it.
    fn dose(&self, thing: &Thing) -> Option<String> {
        let Thing::Concentrate(dose) = thing else { return None };
        Some(match self.units {
            Units::Metric => format!("{} ml a litre", decimals(dose.ml_per_litre, 3)),
            Units::Us => format!("{} ml a gallon", decimals(dose.ml_per_litre * LITRES_PER_GALLON, 2)),
        })
    }

    fn thing_to_buy(&self, line: &ThingLine) -> String {
        let bought = &line.purchase;
        if bought.missing <= 0.0 {
            return "nothing".to_owned();
        }
        match (bought.packs, line.pack) {
            (Some(packs), Some(pack)) if !matches!(line.thing, Thing::Seedlings(..)) => {
                format!("{} of {}", counted(packs, "pack"), self.amount(&line.thing, pack))
            }
            _ => self.amount(&line.thing, bought.missing),
        }
    }

    fn amount(&self, thing: &Thing, amount: f64) -> String {
        match thing {
            Thing::Plugs | Thing::NetCups | Thing::Seedlings(..) => whole(amount),
            Thing::Medium | Thing::Concentrate(_) => self.volume(amount),
        }
    }

    fn volume(&self, litres: f64) -> String {
        Volume::from_litres(litres).show(self.units).to_string()
    }

    /// Seed weighs little: two decimals of a gram, three of an ounce.
    fn small_mass(&self, grams: f64) -> String {
        match self.units {
            Units::Metric => format!("{} g", decimals(grams, 2)),
            Units::Us => format!("{} oz", decimals(grams / GRAMS_PER_OUNCE, 3)),
        }
    }

    fn money(&self, amount: f64) -> String {
        match &self.term.supplies.currency {
            Some(currency) => format!("{:.2} {currency}", amount + 0.0),
            None => format!("{:.2}", amount + 0.0),
        }
    }

    fn cost(&self) -> Markup {
        let Some(cost) = self.order.cost else {
            return html! {};
        };
        html! {
            p.lead { "Cost: " (self.money(cost.total)) (self.each(cost)) "." }
            @if cost.without_price > 0 {
                p { (counted(cost.without_price, "line")) " to buy without a price: not in the sum." }
            }
        }
    }

    fn each(&self, cost: Cost) -> String {
        let planned = Mass::from_grams(cost.grams).show(self.units);
        match (cost.per_serving, self.term.serving_grams, cost.per_100_grams) {
            (Some(each), Some(grams), _) => {
                let serving = Mass::from_grams(grams).show(self.units);
                format!(
                    ", which is {} for each serving of {serving} ({planned} planned in all)",
                    self.money(each)
                )
            }
            (_, _, Some(each)) => {
                let hundred = Mass::from_grams(100.0).show(self.units);
                format!(
                    ", which is {} for {hundred} ready to eat ({planned} planned in all)",
                    self.money(each)
                )
            }
            _ => String::new(),
        }
    }

    fn all_litres(&self) -> f64 {
        self.order.water.iter().map(TankWater::litres).sum()
    }

    fn water(&self) -> Markup {
        html! {
            h2 { "Water of the tanks, from which the concentrates are counted" }
            table.dense {
                thead {
                    tr {
                        th { "Site" }
                        th { "Tank" }
                        th { "One filling" }
                        th { "Filled" }
                        th { "Solution changed" }
                        th { "Topping up, at most" }
                        th { "In all" }
                    }
                }
                tbody {
                    @for tank in &self.order.water { (self.tank_row(tank)) }
                    tr {
                        td colspan="6" { b { "All tanks" } }
                        td.number { b { (self.volume(self.all_litres())) } }
                    }
                }
            }
        }
    }

    fn tank_row(&self, tank: &TankWater) -> Markup {
        let changes = tank.solution.changes.iter().map(|day| (*day, ""));
        let cleanings = tank.solution.cleanings.iter().map(|cleaning| (cleaning.day, " (cleaned)"));
        let mut days: Vec<(NaiveDate, &str)> = changes.chain(cleanings).collect();
        days.sort_unstable();
        html! {
            tr {
                td { (site_name(self.term, &tank.site)) }
                td.tank { (tank.tank) }
                td.number { (self.volume(tank.filling_litres)) @if !tank.whole_known { " *" } }
                td.day { @match tank.solution.filled { Some(day) => (short_day(day)), None => "-" } }
                td {
                    @if days.is_empty() { "-" }
                    @for (index, (day, what)) in days.iter().enumerate() {
                        @if index > 0 { "; " }
                        span.day { (short_day(*day)) (what) }
                    }
                }
                td.number { (self.volume(tank.top_up_litres)) }
                td.number { (self.volume(tank.litres())) }
            }
        }
    }

    fn how_it_is_counted(&self) -> Markup {
        let supplies = &self.term.supplies;
        html! {
            h2 { "How it is counted" }
            ul {
                li {
                    "Seeds laid are those of the plan: enough for the plants wanted at each crop's germination. "
                    (percent(supplies.spare_seed)) " are spare (usual: 10% to 20%, \u{201c}Succession planting in the \
                    greenhouse\u{201d}, Growing for Market magazine)."
                }
                li {
                    "Order by: the last class day, or weekday before the term, at least "
                    (counted(supplies.lead_days, "day")) " before first use (usual: 14; common practice, no source)."
                }
                li { "Net cups are washed and used again: as many as stand in the tanks at once." }
                li {
                    "The solution is changed every " (counted(supplies.change_weeks, "week"))
                    " while plants stand in a tank (usual: 3; common practice, no source)."
                    @if let Some(weeks) = self.term.rules.clean_every {
                        " After " (counted(weeks, "week")) " at most a tank is emptied, cleaned and filled anew (usual: 10; \
                        common practice, no source)."
                    }
                }
                @if !supplies.doses.is_empty() {
                    li {
                        "Concentrates: the dose on the label for every filling and all topping up, as if all plants were \
                         full-grown. You will need less; how much, the EC and pH you measure tell."
                    }
                }
                @if self.order.water.iter().any(|tank| !tank.whole_known) {
                    li {
                        "* Only the water that plants can draw is known. Write the whole reservoir into the term file, \
                         such as reservoir: 80 litres, for the right amount."
                    }
                }
            }
        }
    }

    fn figures(&self) -> Markup {
        let grown = self.term.crops.iter().map(|wanted| &wanted.crop);
        let used = grown.filter(|crop| self.plan.batches.iter().any(|batch| batch.crop == crop.id));
        let named: [Named; 3] = [
            ("germination", |crop| &crop.germination.source),
            ("seeds in a gram", |crop| &crop.seeds_per_gram.source),
            WATER,
        ];
        sources(&each_once(used.collect()), &named)
    }
}

fn name(term: &Term, thing: &Thing) -> String {
    match thing {
        Thing::Plugs => "Plugs".to_owned(),
        Thing::NetCups => "Net cups".to_owned(),
        Thing::Medium => "Growing medium".to_owned(),
        Thing::Seedlings(crop, days) => {
            format!("{}, seedlings of {}", crop_name(term, crop), counted(*days, "day"))
        }
        Thing::Concentrate(dose) => dose.name.clone(),
    }
}

fn whole(amount: f64) -> String {
    format!("{:.0}", amount.ceil() + 0.0)
}

/// A number with at most so many decimals, no noughts at its end.
fn decimals(number: f64, places: usize) -> String {
    let text = format!("{number:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    // Rounding can leave a nought with a sign.
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn order_by(bought: &Purchase) -> String {
    if bought.missing > 0.0 { short(bought.order_by) } else { "-".to_owned() }
}

fn price(bought: &Purchase) -> String {
    match bought.cost {
        Some(_) if bought.missing <= 0.0 => "-".to_owned(),
        Some(cost) => format!("{cost:.2}"),
        None if bought.missing > 0.0 => "?".to_owned(),
        None => "-".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noughts_have_no_sign() {
        let told = [decimals(-0.0, 2), decimals(-0.001, 2), decimals(-0.2, 0), whole(-0.0), whole(-0.4)];
        assert_eq!(told, ["0"; 5]);
        assert_eq!((decimals(1.50, 2).as_str(), whole(1.2).as_str()), ("1.5", "2"));
    }
}
