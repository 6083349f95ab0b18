//! When tanks cannot be used.

use crate::domain::journal::{Entry, What};
use crate::domain::state::TankOut;
use chrono::NaiveDate;

/// Every stretch for which a tank is out of use, by first day. A stretch ends on its stated last day, or on the day
/// before the tank is recorded as back if that is earlier. `in_force` is what [`Journal::in_force`] gives.
///
/// [`Journal::in_force`]: crate::domain::journal::Journal::in_force
pub fn outages(in_force: &[&Entry]) -> Vec<TankOut> {
    let mut found: Vec<TankOut> = Vec::new();
    for entry in in_force {
        let Some(site) = &entry.site else { continue };
        match &entry.what {
            What::TankOut { tank, until } => found.push(TankOut {
                site: site.clone(),
                tank: tank.clone(),
                from: entry.day,
                until: *until,
                entry: entry.id,
            }),
            What::TankBack { tank } => {
                // Somebody may have recorded a second time, with another day, that it went out.
                let open = found
                    .iter_mut()
                    .filter(|out| out.site == *site && out.tank == *tank && out.holds_on(entry.day));
                for out in open {
                    out.until = entry.day.pred_opt();
                }
            }
            _ => {}
        }
    }
    found
}

impl TankOut {
    /// Whether the tank cannot be used on `day`.
    pub fn holds_on(&self, day: NaiveDate) -> bool {
        self.from <= day && self.until.is_none_or(|until| day <= until)
    }
}
