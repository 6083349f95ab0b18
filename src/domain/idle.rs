//! Sites that a plan leaves without anything to do.

use super::calendar::DateSpan;
use super::ids::SiteId;

/// A site without anything to sow, transplant or harvest, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Idle {
    /// The site.
    pub site: SiteId,
    /// The stretch of class in which that is so, if it should have something to do in each; `None` if it is so in the whole
    /// term.
    pub stretch: Option<DateSpan>,
    /// The reason.
    pub why: WhyIdle,
}

/// Why a site has nothing to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyIdle {
    /// Nobody looks after seedlings long enough.
    Unattended,
    /// Every wanted crop that could grow there may only grow elsewhere.
    OnlyIn,
    /// No wanted crop fits the lids and nutrient set-points of its tanks.
    Room,
    /// Its tanks, or its nursery, hold fewer plants than the smallest batch.
    SmallestBatch,
    /// No wanted crop can be sown, moved and harvested on its class days in time for a serving day.
    Time,
    /// Every serving day its greens could be eaten on gets what is wanted without them.
    NotNeeded,
    /// The search found nothing there that is worth its work.
    Search,
}
