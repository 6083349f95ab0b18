//! Sheets on pages: one self-contained HTML file, with headers and page numbers that browsers print.
//!
//! Every sheet has a page style of its own (a *named page* of CSS Paged Media), because only so its running header
//! can name its site and day. Page numbers count through the whole file.

use crate::report::GENERATOR;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::fmt::Write;

/// Paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// US Letter, 8.5 x 11 in.
    Letter,
    /// A4, 210 x 297 mm (ISO 216).
    #[default]
    A4,
}

/// How a page is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turn {
    /// Short side up.
    #[default]
    Portrait,
    /// Long side up.
    Landscape,
}

/// White edges of a page, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edges {
    /// Above; the running header stands in it.
    pub top: f64,
    /// At either side.
    pub side: f64,
    /// Below; the running footer stands in it.
    pub bottom: f64,
}

impl Edges {
    /// What common printers can print, with room for header and footer.
    pub const USUAL: Edges = Edges { top: 18.0, side: 14.0, bottom: 15.0 };
}

impl Paper {
    /// Width and height in mm, short side up.
    pub fn millimetres(self) -> (f64, f64) {
        match self {
            Self::Letter => (215.9, 279.4),
            Self::A4 => (210.0, 297.0),
        }
    }

    /// Width and height in mm between the usual edges.
    pub fn room(self, turn: Turn) -> (f64, f64) {
        let (short, long) = self.millimetres();
        let (width, height) = match turn {
            Turn::Portrait => (short, long),
            Turn::Landscape => (long, short),
        };
        let edges = Edges::USUAL;
        (width - 2.0 * edges.side, height - edges.top - edges.bottom)
    }

    fn css(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "A4",
        }
    }
}

/// A sheet: begins on a new page and goes on for as many as it needs.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// What it is and where, such as `Sowing, Room 12`: its title, and the left of the running header.
    pub title: String,
    /// When it is for, such as `Monday 18 January 2027, week 2027-W03`: beside the title, and the middle of the
    /// running header.
    pub when: String,
    /// How it is turned.
    pub turn: Turn,
    /// Its edges. A sheet whose edges have no room for a running header and footer gets none.
    pub edges: Edges,
    /// Whether the title stands on the sheet itself, above the body.
    pub titled: bool,
    /// Everything below the title.
    pub body: Markup,
}

impl Sheet {
    /// An upright sheet with the usual edges.
    pub fn new(title: String, when: String, body: Markup) -> Self {
        Self { title, when, turn: Turn::Portrait, edges: Edges::USUAL, titled: true, body }
    }

    /// Whether there is room for header and footer.
    fn has_header(&self) -> bool {
        self.edges.top >= Edges::USUAL.top && self.edges.bottom >= Edges::USUAL.bottom
    }
}

/// The HTML file. `title` names it; `foot` stands at the foot of every page.
pub fn document(title: &str, foot: &str, sheets: &[Sheet], paper: Paper) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                (PreEscaped(format!("<meta {GENERATOR}>")))
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(styles(foot, sheets, paper))) }
            }
            body {
                @for (index, sheet) in sheets.iter().enumerate() {
                    section.sheet style=(format!("page: sheet-{index}")) {
                        @if sheet.titled {
                            header { h1 { (sheet.title) } p.when { (sheet.when) } }
                        }
                        (sheet.body)
                    }
                }
            }
        }
    };
    page.into_string()
}

fn styles(foot: &str, sheets: &[Sheet], paper: Paper) -> String {
    let mut css = include_str!("style.css").to_owned();
    for (index, sheet) in sheets.iter().enumerate() {
        let Edges { top, side, bottom } = sheet.edges;
        let turn = match sheet.turn {
            Turn::Portrait => "portrait",
            Turn::Landscape => "landscape",
        };
        let mut page = format!("size: {} {turn}; margin: {top:.1}mm {side:.1}mm {bottom:.1}mm;", paper.css());
        if sheet.has_header() {
            page = format!(
                "{page}\n  @top-left {{ {FURNITURE} content: {}; }}\n  @top-right {{ {FURNITURE} {RIGHT} content: {}; }}\n  \
                 @bottom-left {{ {FURNITURE} content: {}; }}\n  \
                 @bottom-right {{ {FURNITURE} {RIGHT} content: \"page \" counter(page) \" of \" counter(pages); }}\n",
                css_string(&sheet.title),
                css_string(&sheet.when),
                css_string(foot)
            );
        }
        // Writing to a string cannot fail.
        let _ = writeln!(css, "@page sheet-{index} {{ {page} }}");
    }
    css
}

/// How text in the edges of a page looks.
const FURNITURE: &str = "font: 9pt/1.2 Helvetica, Arial, sans-serif;";

/// What stands on the right keeps its distance from what stands on the left, and its line.
const RIGHT: &str = "padding-left: 4mm; white-space: nowrap;";

/// Text as a string of CSS. Whatever could end the string, the rule or the style element is written by its number.
fn css_string(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        if c.is_ascii_alphanumeric() || matches!(c, ' ' | ',' | '.' | ':' | '-') {
            quoted.push(c);
        } else {
            // The blank belongs to the number: without it, CSS would swallow a blank of the text.
            let _ = write!(quoted, "\\{:x} ", u32::from(c));
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_ends_a_css_string() {
        assert_eq!(css_string("Room 12, a-b"), "\"Room 12, a-b\"");
        assert_eq!(css_string("\"; } </style>"), r#""\22 \3b  \7d  \3c \2f style\3e ""#);
        assert_eq!(css_string("\u{e4} b\n"), r#""\e4  b\a ""#);
    }

    #[test]
    fn text_that_looks_like_markup_stays_text() {
        let nasty = "</style><script>alert(1)</script>";
        let sheet = Sheet::new(nasty.to_owned(), nasty.to_owned(), html! { (nasty) });
        let text = document(nasty, nasty, &[sheet], Paper::A4);
        assert!(!text.contains("<script"));
        assert_eq!(text.matches("</style>").count(), 1);
    }
}
