//! What an entry names that stands elsewhere in the term file.

use crate::domain::site::Site;
use crate::files::problem::suggest;
use crate::files::reading::{Entries, Reading, shorten};

/// The site of the term that an entry names.
pub(super) fn site<'a>(
    reading: &mut Reading,
    entries: &Entries<'_>,
    sites: Option<&'a [Site]>,
) -> Option<&'a Site> {
    let node = reading.need(entries, "site", "site: room-12")?;
    let name = reading.text(node)?;
    let sites = sites?;
    let found = sites.iter().find(|site| site.id.as_str() == name);
    if found.is_none() {
        let help = suggest(name, sites.iter().map(|site| site.id.as_str()));
        reading.note(&node.span, format!("unknown site \"{}\"", shorten(name)), help);
    }
    found
}
