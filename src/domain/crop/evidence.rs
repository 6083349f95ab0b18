//! What a plan's promises rest on: the figures of a crop that decide them, how far each may be off and who says so.

use super::{Crop, Figure, Source};

/// A figure that decides when and how much of a crop is harvested, and where and for how long it stands or keeps.
#[derive(Debug, Clone, Copy)]
pub struct Deciding<'a> {
    /// Its key in a crop file; those of regrowth without the part before.
    pub key: &'static str,
    /// Where it comes from.
    pub source: &'a Source,
    /// Whether the crop tells how far it may be off.
    pub spread: bool,
    /// Whether it lies within that.
    pub within: bool,
}

impl Crop {
    /// All figures of this crop that decide a plan, in the order of a crop file. Left out is what plans do not depend on:
    /// seeds in a gram, the days until seedlings show, the temperatures.
    ///
    /// Stretches of days and ranges are their own spread; masses spread as [`super::Variation`] says.
    pub fn deciding(&self) -> Vec<Deciding<'_>> {
        let mut all = vec![
            spread("germination", &self.germination),
            spread("seeds_per_plug", &self.seeds_per_plug),
            own_spread("nursery", &self.nursery),
            spread("nursery_survival", &self.nursery_survival),
        ];
        all.extend(self.first_cut.as_ref().map(|figure| own_spread("first_cut", figure)));
        all.extend(self.whole_head.as_ref().map(|figure| own_spread("whole_head", figure)));
        all.extend([
            own_spread("hold", &self.hold),
            spread("tank_survival", &self.tank_survival),
            spread("tank_days", &self.tank_days),
            spread("ready_to_eat", &self.ready_to_eat),
            own_spread("growth", &self.growth),
            own_spread("variation", &self.variation),
        ]);
        if let Some(regrowth) = &self.regrowth {
            all.extend([own_spread("interval", &regrowth.interval), spread("harvests", &regrowth.harvests)]);
            all.extend(regrowth.until.as_ref().map(|figure| spread("until", figure)));
            all.extend([
                spread("taken", &regrowth.taken),
                spread("lag", &regrowth.lag),
                spread("vigour", &regrowth.vigour),
                own_spread("strength", &regrowth.strength),
                spread("cut_shelf_life", &self.cut_shelf_life),
            ]);
        }
        all.extend([
            spread("spacing", &self.spacing),
            own_spread("ph", &self.ph),
            own_spread("ec", &self.ec),
            spread("water_a_day", &self.water_a_day),
            spread("shelf_life", &self.shelf_life),
        ]);
        all
    }

    /// How many of the figures that decide a plan are published, and how many there are.
    pub fn published(&self) -> (usize, usize) {
        let all = self.deciding();
        let published = all.iter().filter(|figure| matches!(figure.source, Source::Published(_))).count();
        (published, all.len())
    }
}

impl<T> Figure<T> {
    /// A figure that does not tell how far it may be off.
    pub fn plain(value: T, source: Source) -> Self {
        Self { value, spread: None, source }
    }
}

fn spread<'a, T: PartialOrd>(key: &'static str, figure: &'a Figure<T>) -> Deciding<'a> {
    let within = figure.spread.as_ref().is_none_or(|spread| spread.hold(&figure.value));
    Deciding { key, source: &figure.source, spread: figure.spread.is_some(), within }
}

fn own_spread<'a, T>(key: &'static str, figure: &'a Figure<T>) -> Deciding<'a> {
    Deciding { key, source: &figure.source, spread: true, within: true }
}
