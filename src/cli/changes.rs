//! Telling what a plan changes, on the screen, as JSON or on a page to print.

use super::failure::Failure;
use super::folder::Folder;
use super::output;
use super::screen::Screen;
use super::sheets::PaperChoice;
use crate::domain::difference::Difference;
use crate::domain::term::Term;
use crate::files::store::Store;
use crate::report::{changes, json};

/// Where a page goes within a term's folder.
const PAGE: &str = "out/changes.html";

/// Tells the difference: as JSON if the user wants that, else as a table, or written as a page for this paper.
pub(super) fn tell(
    folder: &Folder,
    term: &Term,
    difference: &Difference,
    paper: Option<PaperChoice>,
    screen: &Screen,
) -> Result<(), Failure> {
    let Some(paper) = paper else {
        return if screen.json {
            screen.result(&json::changes(difference))
        } else {
            screen.result(&changes::table(term, difference, &screen.look))
        };
    };
    let files = folder.disk();
    let page = changes::page::page(term, difference, &screen.look, paper.paper());
    let path = files.shown(PAGE);
    output::write(&files.path(PAGE), output::Kind::Page, &page)?;
    if screen.json { screen.result(&json::written(&[path])) } else { screen.result(&format!("{path}\n")) }
}
