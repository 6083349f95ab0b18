//! What one thing more would bring to a term.

use super::plans::unplannable;
use super::{Desk, Opened, Search, Trouble};
use crate::domain::whatif::WhatIf;
use crate::insight::odds::Luck;
use crate::insight::whatif::what_if;
use crate::schedule::Watch;

impl Desk<'_> {
    /// Tries what could be changed in a term, each time as if all of it were still to come. Nothing is saved. `None` if there
    /// was no time to plan the term as it is.
    ///
    /// # Errors
    /// If plants that already stand at the start cannot be kept until a harvest.
    pub fn what_if(
        &self,
        opened: &Opened,
        search: &Search,
        luck: Luck,
        watch: &Watch,
    ) -> Result<Option<WhatIf>, Trouble> {
        let options = search.options("", self.moment.now);
        let (term, library) = (&opened.read.term, opened.read.library.iter());
        what_if(term, library, &options, luck, watch).map_err(|error| unplannable(&error))
    }
}
