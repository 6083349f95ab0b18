//! Steps that exchange what two like tanks will hold from a day on.
//!
//! Where holes are few, a part can be longer or earlier only if just its tank is free. From another tank's view it may be: after
//! an exchange, which by itself changes nothing that costs.

use super::super::instance::Index;
use super::change::Change;
use super::paths::any;
use super::state::State;
use rand::Rng;

/// All parts that come into one tank from a day on go to another, and the other way round.
pub(super) fn swap_tanks(state: &State, rng: &mut impl Rng, changes: &mut Vec<Change>) -> Option<()> {
    let net = state.instance.net;
    let number = rng.random_range(0..net.sites.len());
    let site = &net.sites[number];
    let count = site.tanks.len() as u16;
    if count < 2 {
        return None;
    }
    let one = rng.random_range(0..count);
    let other = (one + rng.random_range(1..count)) % count;
    let (open, end) = (site.past_days as Index, site.class_days.len() as Index);
    let since = any(&(open..end), rng)?;
    for &batch in state.active() {
        let candidate = &state.instance.candidates[batch as usize];
        if candidate.site != number || candidate.in_tank() {
            continue;
        }
        for lot in state.lots(batch).iter().filter(|lot| lot.path.moved >= since && lot.path.lost.is_none()) {
            let to = match lot.path.tank {
                tank if tank == one => other,
                tank if tank == other => one,
                _ => continue,
            };
            let path = lot.path.in_tank(to);
            if !state.instance.allows(candidate, &path) {
                changes.clear();
                return None;
            }
            changes.push(Change { candidate: batch, path: lot.path, plants: -lot.plants });
            changes.push(Change { candidate: batch, path, plants: lot.plants });
        }
    }
    Some(())
}
