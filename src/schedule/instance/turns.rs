//! Stretches of class in which every site is to have something to do.

use super::cleaning::Stretches;
use super::network::{Day, Network, SiteNet, StandingPlace};
use super::ripe::Ripe;
use super::starts::Start;
use crate::domain::calendar::days_between;
use crate::domain::plan::Origin;

/// By site: the stretches in which something could be done. What is past of a plan under way is left aside: what could be
/// done rests on what can still be begun.
pub(crate) fn turns(net: &Network) -> Vec<Stretches> {
    if net.term.rules.idle_price() == 0.0 {
        return vec![Stretches::new(); net.sites.len()];
    }
    (0..net.sites.len()).map(|number| of_site(net, number)).collect()
}

fn of_site(net: &Network, number: usize) -> Stretches {
    let site = &net.sites[number];
    let workable = workable(net, number);
    let index = |day: Day| site.class_days.partition_point(|other| *other < day);
    let day = |date| days_between(net.term.start, date) as Day;
    let from = net.date(net.today.unwrap_or(0));
    let stretches = site.site.stretches(from).into_iter().map(|span| (day(span.first), day(span.last)));
    stretches
        .filter(|(first, last)| workable.iter().any(|day| first <= day && day <= last))
        .map(|(first, last)| index(first)..=index(last))
        .collect()
}

/// Days on which a batch could be begun, moved or harvested for the first time.
fn workable(net: &Network, number: usize) -> Vec<Day> {
    let site = &net.sites[number];
    let mut days = Vec::new();
    for crop in 0..site.fields.len() {
        let open = |start: &Start| net.today.is_none_or(|today| start.begins >= today);
        for start in net.starts(number, crop).into_iter().filter(open) {
            days.push(start.begins);
            days.extend(site.moves(crop, &start));
            days.extend(firsts(site, crop, start.born));
        }
    }
    for standing in net.standing.iter().filter(|standing| net.today.is_none() && standing.site == number) {
        let (crop, sown) = (standing.crop, standing.sown);
        if standing.place == StandingPlace::Nursery {
            days.extend(site.moves(crop, &Start::sown(sown, Origin::Standing)));
        }
        match standing.last_cut() {
            Some(cut) => days.extend(site.regrowths(crop, cut, Ripe::Usual)),
            None => days.extend(firsts(site, crop, sown)),
        }
    }
    days
}

/// Days of a first harvest.
fn firsts<'s>(site: &'s SiteNet, crop: usize, sown: Day) -> impl Iterator<Item = &'s Day> {
    site.first_pulls(crop, sown, Ripe::Usual).iter().chain(site.first_cuts(crop, sown, Ripe::Usual))
}
