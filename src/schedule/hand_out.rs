//! Who eats what: harvests of a plan given out to its serving days.

use super::instance::{Day, Network};
use super::supply::Taken;
use crate::domain::growth::Way;
use crate::domain::plan::{Batch, Harvest, NOTICEABLE, Served, Serving, Shortfall};
use crate::domain::term::{ServingTarget, Term};

/// Serving days of a term, with what harvests serve on them.
pub(super) fn servings(term: &Term, batches: &[Batch]) -> Vec<Serving> {
    let serving = |wanted: &ServingTarget| {
        let harvests = batches.iter().flat_map(|batch| &batch.parts).flat_map(|part| &part.harvests);
        let served = harvests.flat_map(|harvest| &harvest.serves).filter(|served| served.date == wanted.date);
        let planned = served.map(|served| served.grams).sum::<f64>();
        let mut serving = Serving {
            date: wanted.date,
            target: wanted.grams,
            // An empty sum is -0.
            planned: planned.clamp(0.0, wanted.grams) + 0.0,
            shortfall: None,
        };
        // Until somebody finds out more.
        serving.shortfall = (serving.short() >= NOTICEABLE).then_some(Shortfall::Search);
        serving
    };
    term.servings.iter().map(serving).collect()
}

/// A harvest and what decides whom it can serve.
struct Source<'p> {
    crop: usize,
    /// Day of the harvest.
    day: Day,
    /// Site and tank, where one tank's share is limited.
    tank: Option<(usize, usize)>,
    /// Last serving it keeps for.
    last: usize,
    harvest: &'p mut Harvest,
}

/// Shares what each serving takes out among the harvests it can come from, the oldest first.
pub(super) fn hand_out(net: &Network, batches: &mut [Batch], taken: &[Taken]) {
    let mut sources = sources(net, batches);
    sources.sort_by_key(|source| source.harvest.date);
    for take in taken {
        let date = net.term.servings[take.serving].date;
        let mut left = take.grams;
        let fits = |source: &&mut Source| {
            (source.crop, source.day, source.tank, source.last) == (take.crop, take.day, take.tank, take.last)
        };
        for source in sources.iter_mut().filter(fits) {
            let grams = source.harvest.surplus().min(left);
            // Crumbs below a hundredth of a gram only come from rounding.
            if grams > 0.005 {
                source.harvest.serves.push(Served { date, grams });
                left -= grams;
            }
        }
    }
}

/// Every harvest that keeps for any serving.
fn sources<'p>(net: &Network, batches: &'p mut [Batch]) -> Vec<Source<'p>> {
    let limited = net.term.rules.one_tank_at_most < 1.0;
    let mut sources = Vec::new();
    for batch in batches {
        let Some(crop) = net.term.crops.iter().position(|wanted| wanted.crop.id == batch.crop) else {
            continue;
        };
        let Some(site) = net.sites.iter().position(|site| site.site.id == batch.site) else { continue };
        let field = &net.sites[site].fields[crop];
        for part in &mut batch.parts {
            let tank = net.sites[site].tanks.iter().position(|tank| tank.tank.id == part.tank);
            let tank = tank.filter(|_| limited).map(|tank| (site, tank));
            for harvest in &mut part.harvests {
                let day = (harvest.date - net.term.start).num_days() as i32;
                if let Some((_, last)) =
                    net.reach(day, field.keeps(harvest.way == Way::WholeHead && harvest.number == 1))
                {
                    sources.push(Source { crop, day, tank, last, harvest });
                }
            }
        }
    }
    sources
}
