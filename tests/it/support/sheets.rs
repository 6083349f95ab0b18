//! Wishes for sheets.

use sowtide::domain::calendar::DateSpan;
use sowtide::domain::term::Term;
use sowtide::domain::units::Units;
use sowtide::report::sheets::{Days, Kind, LabelFor, LabelPaper, LabelWish, Paper, Wish};

/// Labels on plain paper, one for each plug and hole.
const LABELS: LabelWish = LabelWish { paper: LabelPaper::Plain, one_for: LabelFor::EachPlant };

/// A wish for these kinds of sheets for all days of a term.
pub(crate) fn whole_term(term: &Term, kinds: &[Kind], paper: Paper) -> Wish {
    let days = Days::Term(DateSpan { first: term.start, last: term.end });
    Wish { days, kinds: kinds.to_vec(), paper, units: Units::Metric, labels: LABELS, odds: None }
}
