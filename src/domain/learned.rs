//! What a term taught of the figures that plans count on.

use super::crop::{self, Crop, DaySpan, Limits};
use super::ids::{CropId, SiteId};
use super::term::Term;
use chrono::NaiveDate;

/// How far the mass of a crop at a site may be off that was never weighed, as a standard deviation of its logarithm: that of the
/// effects named in [`crate::replan::weighed`] together.
pub const NOT_KNOWN: f64 = 0.39;

/// Share of a figure by which it must change to be worth writing down (common practice, no source).
pub const WORTH_SHARE: f64 = 0.01;

/// Which figure of which crop.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Of {
    /// The crop.
    pub crop: CropId,
    /// The site; `None` for a figure that a crop has everywhere.
    pub site: Option<SiteId>,
    /// The figure.
    pub figure: Figure,
}

/// A figure, as plans count on it so far and as it should be counted on from now on.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// Which one.
    pub of: Of,
    /// What it is so far.
    pub before: f64,
    /// What is believed of it now.
    pub now: f64,
    /// What it may be, lowest and highest: true of nine in ten.
    pub band: (f64, f64),
    /// How much was seen of it: what [`Figure::seen_in`] says.
    pub seen: u32,
}

/// A figure that was taken over into a term's files.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Which one.
    pub of: Of,
    /// What the files said before.
    pub before: f64,
    /// And how far that might be off, if they told.
    pub spread: Option<Limits<f64>>,
    /// And where it came from, in the words of its file; `None` for a site's figures, which tell no source.
    pub source: Option<String>,
    /// What they say since.
    pub after: f64,
    /// When it was taken over.
    pub day: NaiveDate,
}

/// A figure that harvests and counts say something of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Figure {
    /// Harvested mass of a crop at a site against the library's.
    Yield,
    /// Its growing days there against the library's.
    Pace,
    /// How far the mass that both make may be off, [`super::site::CropHere::give_or_take`].
    GiveOrTake,
    /// Share of seeds that come up.
    Germination,
    /// Share of seedlings that are fit to transplant.
    NurserySurvival,
    /// Share of transplants that live until their harvest.
    TankSurvival,
    /// How fast a cut plant grows against one that never was, [`super::crop::Regrowth::vigour`].
    Vigour,
    /// What the second growth reaches, as a share of a full-grown plant; later ones change by the same share.
    Strength,
    /// Usual days between two cuts.
    Interval,
}

/// What observations of a figure are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeenIn {
    /// Plants that were weighed.
    PlantsWeighed,
    /// Plugs sown, whose seedlings were counted.
    PlugsSown,
    /// Plugs that came up, of which it is known what became of them.
    Seedlings,
    /// Plants in tanks of which it is known what became of them.
    Transplants,
}

impl Figure {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Yield,
        Self::Pace,
        Self::GiveOrTake,
        Self::Germination,
        Self::NurserySurvival,
        Self::TankSurvival,
        Self::Vigour,
        Self::Strength,
        Self::Interval,
    ];

    /// What observations of it are counted in.
    #[must_use]
    pub fn seen_in(self) -> SeenIn {
        match self {
            Self::Yield | Self::Pace | Self::GiveOrTake | Self::Vigour | Self::Strength | Self::Interval => {
                SeenIn::PlantsWeighed
            }
            Self::Germination => SeenIn::PlugsSown,
            Self::NurserySurvival => SeenIn::Seedlings,
            Self::TankSurvival => SeenIn::Transplants,
        }
    }

    /// Its name in files and for scripts.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Yield => "yield",
            Self::Pace => "pace",
            Self::GiveOrTake => "give-or-take",
            Self::Germination => "germination",
            Self::NurserySurvival => "nursery-survival",
            Self::TankSurvival => "tank-survival",
            Self::Vigour => "vigour",
            Self::Strength => "strength",
            Self::Interval => "interval",
        }
    }

    /// Whether two figures are the same as they are written down.
    #[must_use]
    pub fn alike(self, one: f64, other: f64) -> bool {
        self.rounded(one).to_bits() == self.rounded(other).to_bits()
    }

    /// Whether a site has it, and not a crop everywhere.
    #[must_use]
    pub fn is_of_site(self) -> bool {
        matches!(self, Self::Yield | Self::Pace | Self::GiveOrTake)
    }

    /// The figure as it is written down: whole days, and hundredths of all else.
    #[must_use]
    pub fn rounded(self, figure: f64) -> f64 {
        match self {
            Self::Interval => figure.round(),
            _ => (figure * 100.0).round() / 100.0,
        }
    }
}

impl Lesson {
    /// Whether it changes a figure by so much that it is worth writing down, as it is written.
    #[must_use]
    pub fn is_worth_it(&self) -> bool {
        let [now, before] = [self.now, self.before].map(|figure| self.of.figure.rounded(figure));
        (now / before - 1.0).abs() >= WORTH_SHARE
    }
}

impl Taken {
    /// Whether the files of a term still say so.
    #[must_use]
    pub fn still_stands(&self, term: &Term) -> bool {
        term.figure(&self.of).is_some_and(|figure| self.of.figure.alike(figure, self.after))
    }
}

/// A figure of a crop that is a share.
fn share(crop: &Crop, figure: Figure) -> Option<&crop::Figure<f64>> {
    match figure {
        Figure::Germination => Some(&crop.germination),
        Figure::NurserySurvival => Some(&crop.nursery_survival),
        Figure::TankSurvival => Some(&crop.tank_survival),
        Figure::Vigour => Some(&crop.regrowth.as_ref()?.vigour),
        _ => None,
    }
}

impl Term {
    /// What term file and crop library say of a figure; `None` where they know nothing of the like.
    #[must_use]
    pub fn figure(&self, of: &Of) -> Option<f64> {
        let crop = &self.crop(&of.crop)?.crop;
        let regrowth = crop.regrowth.as_ref();
        let here = || Some(self.site(of.site.as_ref()?)?.as_stated(&of.crop));
        match of.figure {
            Figure::Yield => Some(here()?.yield_factor),
            Figure::Pace => Some(here()?.pace),
            Figure::GiveOrTake => Some(here()?.give_or_take.unwrap_or(NOT_KNOWN)),
            Figure::Strength => regrowth?.strength.value.first().copied(),
            Figure::Interval => Some(f64::from(regrowth?.interval.value.usual)),
            _ => Some(share(crop, of.figure)?.value),
        }
    }

    /// Counts on what there was before a figure was taken over.
    pub fn put_back(&mut self, taken: &Taken) {
        self.set_figure(&taken.of, taken.before);
        for here in self.sites.iter_mut().filter(|here| Some(&here.id) == taken.of.site.as_ref()) {
            let usual = here.usual();
            here.crops.retain(|crop, own| *crop != taken.of.crop || *own != usual);
        }
        if let Some(share) = self.share_mut(&taken.of) {
            share.spread = taken.spread;
        }
        if let (Figure::Interval, Some(Limits { low, high })) = (taken.of.figure, taken.spread) {
            for wanted in self.crops.iter_mut().filter(|wanted| wanted.crop.id == taken.of.crop) {
                if let Some(regrowth) = &mut wanted.crop.regrowth {
                    let usual = regrowth.interval.value.usual;
                    regrowth.interval.value = DaySpan { min: low as u32, usual, max: high as u32 };
                }
            }
        }
    }

    /// How far a figure may be off, if the files tell.
    #[must_use]
    pub fn spread(&self, of: &Of) -> Option<Limits<f64>> {
        let crop = &self.crop(&of.crop)?.crop;
        match (of.figure, &crop.regrowth) {
            (Figure::Interval, Some(regrowth)) => {
                let DaySpan { min, max, .. } = regrowth.interval.value;
                Some(Limits { low: f64::from(min), high: f64::from(max) })
            }
            _ => share(crop, of.figure)?.spread,
        }
    }

    fn share_mut(&mut self, of: &Of) -> Option<&mut crop::Figure<f64>> {
        let wanted = self.crops.iter_mut().find(|wanted| wanted.crop.id == of.crop)?;
        let crop = &mut wanted.crop;
        match of.figure {
            Figure::Germination => Some(&mut crop.germination),
            Figure::NurserySurvival => Some(&mut crop.nursery_survival),
            Figure::TankSurvival => Some(&mut crop.tank_survival),
            Figure::Vigour => crop.regrowth.as_mut().map(|regrowth| &mut regrowth.vigour),
            _ => None,
        }
    }

    /// Counts on another figure, which its spread then holds; nothing changes where there is none of the like.
    pub fn set_figure(&mut self, of: &Of, figure: f64) {
        if let Some(site) = &of.site {
            let Some(here) = self.sites.iter_mut().find(|here| here.id == *site) else { return };
            let mut known = here.as_stated(&of.crop);
            match of.figure {
                Figure::Yield => known.yield_factor = figure,
                Figure::GiveOrTake => known.give_or_take = Some(figure).filter(|known| *known < NOT_KNOWN),
                _ => known.pace = figure,
            }
            here.crops.insert(of.crop.clone(), known);
            return;
        }
        if let Some(share) = self.share_mut(of) {
            share.value = figure;
            let hold =
                |spread: &Limits<f64>| Limits { low: spread.low.min(figure), high: spread.high.max(figure) };
            share.spread = share.spread.as_ref().map(hold);
            return;
        }
        let wanted = self.crops.iter_mut().find(|wanted| wanted.crop.id == of.crop);
        let Some(regrowth) = wanted.and_then(|wanted| wanted.crop.regrowth.as_mut()) else { return };
        if of.figure == Figure::Strength {
            let factor = figure / regrowth.strength.value.first().copied().unwrap_or(figure);
            regrowth.strength.value.iter_mut().for_each(|strength| *strength *= factor);
            return;
        }
        // How much longer than usual it may take stays as it is.
        let DaySpan { min, usual, max } = regrowth.interval.value;
        let now = figure.round() as u32;
        regrowth.interval.value =
            DaySpan { min: min.min(now), usual: now, max: max.max(now + (max - usual)) };
    }
}
