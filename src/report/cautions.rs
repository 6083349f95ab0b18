//! Cautions that belong beside any work that can hurt. They never replace local rules.

use crate::domain::crop::Crop;
use crate::domain::units::Units;

/// Storage temperature of cut greens in [`HARVEST`], °C.
const COLD: f64 = 5.0;

/// The last word on everything.
pub const LOCAL_RULES: &str = "Your school's and local authority's rules come first.";

/// Clean hands, clean tools, quick cooling. Temperature and hours: US FDA Food Code, 3-501.14 and
/// 3-501.16, and the FDA's recommendations on cut leafy greens (2010).
pub const HARVEST: &str = "Harvest with washed hands and clean scissors and tubs; nobody who is ill helps. \
     Adults hand out and collect blades. Put cut greens in the cold at once: 5 °C (41 °F) or below within \
     4 hours.";

/// For work at the tank.
pub const TANK: &str = "Unplug pump and lamp before reaching into the water, and keep power plugs dry. \
     Nutrients and pH adjusters are for adults, with gloves and goggles.";

/// For handling seeds.
pub const SOWING: &str = "Wash hands after sowing; seeds may be treated, so nobody eats them.";

/// The same as [`HARVEST`] point by point, for a sheet that has the room.
pub const HARVEST_POINTS: [&str; 5] = [
    "Wash your hands with soap first. Cover cuts with a plaster and a glove.",
    "Nobody who is ill, or was ill yesterday, helps with the harvest.",
    "Scissors and tubs are for greens only: washed, rinsed and dry.",
    "Adults hand out and collect blades. Cut away from your fingers.",
    "Cut greens go into the cold at once: 5 °C (41 °F) or below within 4 hours.",
];

/// Where the figures in [`HARVEST_POINTS`] come from.
pub const HARVEST_SOURCE: &str = "5 °C (41 °F) within 4 hours: US FDA Food Code, 3-501.14 and 3-501.16, and FDA, \
     Recommendations for the Temperature Control of Cut Leafy Greens during Storage and Display, 2010. Hands, illness, \
     tools, washing: common practice, no source.";

/// For a crop that the cold of [`HARVEST`] harms: where it is kept instead, and what its crop file says of it.
pub fn warmer(crop: &Crop, units: Units) -> Option<String> {
    let kept = crop.storage.value;
    (kept.celsius() > COLD).then(|| {
        let note =
            crop.handling.as_ref().map_or("", |note| note.value.trim_end_matches(LOCAL_RULES).trim_end());
        format!("{} is different, keep it at {}. {note}", crop.name, kept.show(units)).trim_end().to_owned()
    })
}

/// For nutrients, acids and bases (common practice, no source).
pub const CHEMICALS: &str = "Nutrients, acids and bases are measured and poured by an adult with gloves and eye \
     protection. Acid goes into water, never water into acid. Add a little, stir, wait, measure again. Never mix two \
     concentrates, or acid and base, undiluted. They stay in their labelled bottles, locked away.";

/// For electricity near water (common practice, no source).
pub const ELECTRICITY: &str = "Unplug pump and lamp before reaching into the water. Power plugs and timers stay dry and above \
     the water, cables hang in a loop below the socket, and the circuit has a residual-current device (RCD, GFCI).";

/// For cleaning a tank (common practice, no source).
pub const CLEANING: &str = "Only an adult handles cleaners: one the school allows, as its label says, with gloves, eye \
     protection and open windows, and never two of them together. Rinse until nothing of it is left. Where the old \
     solution may be poured, local rules tell.";

/// For hands that were in the water (common practice, no source).
pub const HANDS: &str =
    "Cover cuts. Wash hands with soap before and after work at the tank; nobody drinks the water.";
