//! Inks: what areas are filled with. Each has a tone and a pattern of its own, so that they can be told apart
//! without colour and on a grey printer.

use maud::{Markup, html};

/// Fill of sowing in charts of work.
pub(in crate::report::page) const SOW: &str = "ink-sow";
/// Fill of transplanting.
pub(in crate::report::page) const TRANSPLANT: &str = "ink-transplant";
/// Fill of harvesting.
pub(in crate::report::page) const HARVEST: &str = "ink-harvest";
/// Fill of planted holes.
pub(in crate::report::page) const PLANTED: &str = "ink-planted";
/// Fill of holes left empty beside wide plants.
pub(in crate::report::page) const KEPT_EMPTY: &str = "ink-kept-empty";
/// Fill of nursery cells in use.
pub(in crate::report::page) const CELLS: &str = "ink-cells";
/// Fill of surplus.
pub(in crate::report::page) const SURPLUS: &str = "ink-surplus";
/// Shade of breaks.
pub(in crate::report::page) const BREAK: &str = "ink-break";

/// Fill of the crop that stands at this place of the legend, from 0.
pub(in crate::report::page) fn crop_ink(place: usize) -> String {
    format!("ink-crop-{}", place % (2 * CROPS.len()))
}

/// What is drawn on the paper of an ink.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Texture {
    Plain,
    /// Lines rising to the right.
    Rising,
    /// Thick lines falling to the right.
    Falling,
    Level,
    Upright,
    /// Rising and falling lines.
    Net,
    /// Level and upright lines.
    Grid,
    /// Small dots, close together.
    Dots,
    /// Large dots.
    Spots,
    Waves,
    Rings,
    Crosses,
}

/// Paper, mark and texture of the crops, neighbours differing in tone. After the last one they are used once more
/// with paper and mark changed over.
const CROPS: [(&str, &str, Texture); 12] = [
    ("#2c6a55", "#d3e6dc", Texture::Plain),
    ("#f6e3b4", "#8f5f0c", Texture::Rising),
    ("#5d83a6", "#ffffff", Texture::Spots),
    ("#f8e6ee", "#9a2d5e", Texture::Level),
    ("#4b3d73", "#e2daf3", Texture::Upright),
    ("#d9efe9", "#1c746d", Texture::Net),
    ("#b4513a", "#fbe6dd", Texture::Falling),
    ("#fcf3cf", "#6a5a06", Texture::Dots),
    ("#8fbb62", "#25420e", Texture::Waves),
    ("#eceff2", "#3d4c57", Texture::Grid),
    ("#2f5368", "#d6e7f0", Texture::Crosses),
    ("#fdeedd", "#b0600f", Texture::Rings),
];

/// The definition of every ink, for the crops as many as there are. Once a page.
pub(in crate::report::page) fn inks(crops: usize) -> Markup {
    let crops = crops.min(2 * CROPS.len());
    let crop = |place: usize| {
        let (paper, mark, texture) = CROPS[place % CROPS.len()];
        if place < CROPS.len() { (paper, mark, texture) } else { (mark, paper, texture) }
    };
    html! {
        svg.inks width="0" height="0" aria-hidden="true" {
            defs {
                @for place in 0..crops {
                    (pattern(&crop_ink(place), crop(place)))
                }
                (pattern(SOW, ("#fbf0d2", "#7a5a12", Texture::Dots)))
                (pattern(TRANSPLANT, ("#5b7f9f", "#ffffff", Texture::Plain)))
                (pattern(HARVEST, ("#d8ebd3", "#27632b", Texture::Rising)))
                (pattern(PLANTED, ("#5f937b", "#ffffff", Texture::Plain)))
                (pattern(KEPT_EMPTY, ("#ffffff", "#3b6a55", Texture::Rising)))
                (pattern(CELLS, ("#88a9c6", "#26486a", Texture::Dots)))
                (pattern(SURPLUS, ("#ffffff", "#555555", Texture::Net)))
                (pattern(BREAK, ("#ebe9e4", "#ebe9e4", Texture::Plain)))
            }
        }
    }
}

fn pattern(id: &str, (paper, mark, texture): (&str, &str, Texture)) -> Markup {
    let (size, lines) = match texture {
        Texture::Plain => (8, ""),
        Texture::Rising => (6, "M-1 1L1-1M0 6L6 0M5 7L7 5"),
        Texture::Falling => (9, "M-1 8L1 10M0 0L9 9M8-1L10 1"),
        Texture::Level => (5, "M0 2.5H5"),
        Texture::Upright => (5, "M2.5 0V5"),
        Texture::Net => (8, "M0 8L8 0M0 0L8 8"),
        Texture::Grid => (7, "M0 3.5H7M3.5 0V7"),
        Texture::Dots | Texture::Spots | Texture::Rings => (if texture == Texture::Dots { 5 } else { 9 }, ""),
        Texture::Waves => (8, "M0 6L4 2L8 6"),
        Texture::Crosses => (9, "M1.5 4.5H7.5M4.5 1.5V7.5"),
    };
    let stroke = if texture == Texture::Falling { "3" } else { "1.4" };
    html! {
        pattern id=(id) width=(size) height=(size) patternUnits="userSpaceOnUse" {
            rect width=(size) height=(size) fill=(paper) {}
            @match texture {
                Texture::Dots => circle cx="2.5" cy="2.5" r="1.1" fill=(mark) {},
                Texture::Spots => circle cx="4.5" cy="4.5" r="2.4" fill=(mark) {},
                Texture::Rings => circle cx="4.5" cy="4.5" r="2.7" fill="none" stroke=(mark) stroke-width="1.3" {},
                _ => path d=(lines) fill="none" stroke=(mark) stroke-width=(stroke) {},
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    /// Lightness of `#rrggbb` as a grey printer sees it, 0 to 255 (ITU-R BT.601).
    fn grey(colour: &str) -> f64 {
        let part = |from: usize| f64::from(u8::from_str_radix(&colour[from..from + 2], 16).unwrap());
        0.299 * part(1) + 0.587 * part(3) + 0.114 * part(5)
    }

    #[test]
    fn twice_twelve_crops_look_different() {
        let looks: HashSet<String> = (0..24)
            .map(|place| {
                let (paper, mark, texture) = CROPS[place % 12];
                let paper = if place < 12 { paper } else { mark };
                format!("{texture:?} {paper}")
            })
            .collect();
        assert_eq!(looks.len(), 24);
        let text = inks(30).into_string();
        assert_eq!(text.matches("ink-crop-").count(), 24);
        assert_eq!(crop_ink(25), crop_ink(1));
    }

    #[test]
    fn marks_show_in_grey_and_neighbours_differ_in_tone() {
        for (index, (paper, mark, texture)) in CROPS.into_iter().enumerate() {
            assert!((grey(paper) - grey(mark)).abs() > 70.0, "{texture:?}");
            let next = CROPS[(index + 1) % CROPS.len()].0;
            assert!((grey(paper) - grey(next)).abs() > 50.0, "{texture:?}");
        }
    }
}
