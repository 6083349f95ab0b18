//! Narrowing what is told to some of a term's sites.

use super::failure::Failure;
use crate::desk::Opened;
use crate::domain::ids::SiteId;
use crate::domain::plan::Plan;
use crate::domain::site::Site;
use crate::domain::state::State;
use crate::domain::term::Term;
use crate::files::problem::suggest;
use crate::replan::state::state;
use crate::replan::weighed::{counted, prospects};
use chrono::NaiveDate;
use clap::Args;

/// Sites wanted.
#[derive(Debug, Args)]
pub(super) struct Sites {
    /// Only these sites, by id or name [default: all sites]
    #[arg(long = "site", value_name = "SITE", value_delimiter = ',')]
    names: Vec<String>,
}

impl Sites {
    /// The sites wanted, in the order of the term.
    pub(super) fn of<'a>(&self, term: &'a Term) -> Result<Vec<&'a Site>, Failure> {
        let wanted = named(term, &self.names)?;
        Ok(term.sites.iter().filter(|site| wanted.is_empty() || wanted.contains(&site.id)).collect())
    }

    /// Leaves only the sites wanted in term and plan; serving days stay those of all sites together.
    pub(super) fn narrow(&self, term: &mut Term, plan: &mut Plan) -> Result<(), Failure> {
        let wanted: Vec<SiteId> = self.of(term)?.into_iter().map(|site| site.id.clone()).collect();
        term.sites.retain(|site| wanted.contains(&site.id));
        plan.batches.retain(|batch| wanted.contains(&batch.site));
        Ok(())
    }

    /// Narrows a term and its plan, and tells how things stand there on a day. What is to be expected is what all sites say.
    pub(super) fn state(
        &self,
        opened: &mut Opened,
        plan: &mut Plan,
        day: NaiveDate,
    ) -> Result<State, Failure> {
        let (term, journal) = (&mut opened.read.term, &opened.journal.journal);
        let mut outlook = prospects(term, plan, journal, day);
        let mut counted = counted(plan.clone(), &outlook, journal, day);
        self.narrow(term, plan)?;
        self.narrow(term, &mut counted)?;
        outlook.crops.retain(|crop| term.site(&crop.site).is_some());
        Ok(State { outlook, ..state(term, &counted, journal, day) })
    }

    /// Whether only some sites are wanted.
    pub(super) fn are_named(&self) -> bool {
        !self.names.is_empty()
    }
}

/// Sites by their ids or names.
pub(super) fn named(term: &Term, names: &[String]) -> Result<Vec<SiteId>, Failure> {
    let site = |name: &String| {
        term.site_called(name).map(|site| site.id.clone()).ok_or_else(|| {
            Failure::usage(
                format!("there is no site \"{name}\" in the term"),
                suggest(name, term.sites.iter().map(|site| site.id.as_str())),
            )
        })
    };
    names.iter().map(site).collect()
}
