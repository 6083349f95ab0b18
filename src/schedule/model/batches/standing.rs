//! Plants that stand at the start.

use super::super::super::instance::{Day, StandingPlace, Start};
use super::super::program::Col;
use super::{Builder, Source};
use crate::domain::plan::Origin;
use std::collections::BTreeMap;

impl Builder<'_, '_> {
    /// Plants that stand at the start enter where they are.
    pub(super) fn standing(&mut self) {
        for (number, standing) in self.net.standing.iter().enumerate() {
            if standing.site != self.site_index || standing.crop != self.crop {
                continue;
            }
            let plants = f64::from(standing.standing.plants);
            match &standing.place {
                StandingPlace::Nursery => self.standing_seedlings(number, standing.sown, plants),
                StandingPlace::Tank { tank, transplanted, cuts } => {
                    let Some(group) = self.groups.iter().position(|group| group.contains(tank)) else {
                        continue;
                    };
                    let day = (*transplanted).max(0);
                    let entry = self.transplant(group, None, day, Some(number));
                    self.program.columns[entry.0].name = self.name("stands", &format!("s{number}"));
                    let name = self.name("stood", &format!("s{number}"));
                    self.program.row(name, vec![(entry, 1.0)], plants, plants);
                    let field = &self.site.fields[self.crop];
                    let held = self.held_until(standing.sown, *transplanted);
                    match (standing.last_cut(), standing.stand(&field.growing)) {
                        (Some(cut), Some((_, stand))) => {
                            let key =
                                (cuts.len() as u32 + 1, cut, group, self.age_here(stand), Origin::Standing);
                            self.regrowing.entry(key).or_default().push((entry, 1.0));
                        }
                        _ => self.first_harvests(
                            group,
                            &Start::sown(standing.sown, Origin::Standing),
                            Source::Standing { number, plants },
                            held,
                        ),
                    }
                }
            }
        }
    }

    fn standing_seedlings(&mut self, number: usize, sown: Day, plants: f64) {
        let mut all = Vec::new();
        let start = Start::sown(sown, Origin::Standing);
        for (group, _) in self.usable_groups() {
            let mut moved: BTreeMap<Option<Day>, Vec<(Col, f64)>> = BTreeMap::new();
            for day in self.site.moves(self.crop, &start) {
                let col = self.transplant(group, Some(start), day, Some(number));
                self.program.columns[col.0].name = self.name("move", &format!("s{number}_d{day}_g{group}"));
                moved.entry(self.held_until(sown, day)).or_default().push((col, 1.0));
            }
            for (held, mut here) in moved {
                all.extend(here.iter().copied());
                let mark = held.map_or_else(String::new, |day| format!("h{day}_"));
                let name = self.name("stood", &format!("{mark}s{number}_g{group}"));
                let entry = self.program.column(name, plants, true, 0.0);
                here.push((entry, -1.0));
                self.program.row(self.name("moved", &format!("{mark}s{number}_g{group}")), here, 0.0, 0.0);
                self.first_harvests(group, &start, Source::Standing { number, plants: 0.0 }, held);
                // These plants are counted in a column.
                if let Some(row) = self.program.rows.last_mut() {
                    row.terms.push((entry, 1.0));
                }
            }
        }
        let name = self.name("stood", &format!("s{number}"));
        self.program.row(name, all, plants, plants);
    }
}
