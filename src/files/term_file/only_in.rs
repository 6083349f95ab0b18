//! The sites and tanks that a crop is bound to.

use super::named;
use crate::domain::ids::{SiteId, TankId};
use crate::domain::site::Site;
use crate::domain::term::Location;
use crate::files::problem::suggest;
use crate::files::reading::{Entries, Reading, shorten};
use crate::files::tree::{Content, Node};
use std::ops::Range;

/// How a tank is written.
const TANK: &str = "{ site: room-12, tank: a }";

/// Sites and tanks a crop is bound to, each once; none at all where nothing is written.
pub(super) fn read(
    reading: &mut Reading,
    entries: &Entries<'_>,
    sites: Option<&[Site]>,
) -> Option<Vec<Location>> {
    let Some(node) = entries.get("only-in") else {
        return Some(Vec::new());
    };
    let nodes = Reading::items(node);
    if nodes.is_empty() {
        let help = format!("write a site, such as only-in: hall, or a tank, {TANK}; or remove the line");
        reading.note(&entries.key_span("only-in"), "there is no site or tank", help);
        return None;
    }
    let found: Vec<Option<Found>> = nodes.iter().map(|node| location(reading, node, sites)).collect();
    let found: Vec<Found> = found.into_iter().collect::<Option<_>>()?;
    let covered = found.iter().enumerate().filter(|(index, own)| is_covered(reading, &found, *index, own));
    (covered.count() == 0).then(|| found.into_iter().map(|found| found.location).collect())
}

/// A site or tank, and where it is written.
struct Found {
    location: Location,
    place: Range<usize>,
}

/// A site's name, or a tank of it.
fn location(reading: &mut Reading, node: &Node, sites: Option<&[Site]>) -> Option<Found> {
    if matches!(node.content, Content::Text(_)) {
        let site = SiteId::new(site_named(reading, node, sites)?);
        return Some(Found { location: Location { site, tank: None }, place: node.span.clone() });
    }
    let entries = reading.map(node, &["site", "tank"])?;
    let site_node = reading.need(&entries, "site", "site: room-12")?;
    let name = reading.text(site_node)?;
    let site = named::site(reading, &entries, sites);
    if sites.is_some() && site.is_none() {
        return None;
    }
    let (tank, place) = match entries.get("tank") {
        Some(node) => (Some(tank(reading, node, site)?), node.span.clone()),
        None => (None, site_node.span.clone()),
    };
    Some(Found { location: Location { site: SiteId::new(name), tank }, place })
}

/// The name of a site, if there is such a site or sites cannot be told.
fn site_named<'n>(reading: &mut Reading, node: &'n Node, sites: Option<&[Site]>) -> Option<&'n str> {
    let name = reading.text(node)?;
    let Some(sites) = sites.filter(|sites| sites.iter().all(|site| site.id.as_str() != name)) else {
        return Some(name);
    };
    let last = name.rsplit(['/', ' ', ':']).next().unwrap_or(name);
    let tank_at = |site: &&Site| site.tanks.iter().any(|tank| tank.id.as_str() == last);
    let help = match sites.iter().find(tank_at) {
        Some(site) => format!("write a tank as {{ site: {}, tank: {last} }}", site.id),
        None => suggest(name, sites.iter().map(|site| site.id.as_str())),
    };
    reading.note(&node.span, format!("unknown site \"{}\"", shorten(name)), help);
    None
}

fn tank(reading: &mut Reading, node: &Node, site: Option<&Site>) -> Option<TankId> {
    let name = reading.text(node)?;
    let Some(site) = site.filter(|site| site.tanks.iter().all(|tank| tank.id.as_str() != name)) else {
        return Some(TankId::new(name));
    };
    let help = suggest(name, site.tanks.iter().map(|tank| tank.id.as_str()));
    let title = format!("there is no tank \"{}\" at {}", shorten(name), site.name);
    reading.note(&node.span, title, help);
    None
}

/// Whether another entry says the same already, or names the whole site; complains if so.
fn is_covered(reading: &mut Reading, all: &[Found], index: usize, own: &Found) -> bool {
    let Location { site, tank } = &own.location;
    let same = |found: &Found| found.location == own.location;
    let whole = |found: &Found| found.location.site == *site && found.location.tank.is_none();
    if all[..index].iter().any(same) {
        let title = match tank {
            Some(tank) => format!("tank {tank} of {site} is listed twice"),
            None => format!("{site} is listed twice"),
        };
        reading.note(&own.place, title, "keep only one of them");
        return true;
    }
    if tank.is_some() && all.iter().any(whole) {
        let help = format!("remove this tank, or the entry {site} if the crop is to stand in single tanks");
        reading.note(&own.place, format!("{site} is listed with all its tanks already"), help);
        return true;
    }
    false
}
