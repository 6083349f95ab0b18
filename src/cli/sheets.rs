//! `sowtide sheets`: sheets to print.

use super::dates;
use super::failure::Failure;
use super::folder::Folder;
use super::labels::Labels;
use super::odds::usual_luck;
use super::output;
use super::screen::Screen;
use super::sites::Sites;
use crate::domain::calendar::{DateSpan, Week};
use crate::domain::term::Term;
use crate::report::sheets::{self, CLASS_KINDS, Days, Kind, Paper, Wish};
use crate::report::{json, words};
use chrono::NaiveDate;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Write sheets to print: what a class sows, moves and harvests, with room to write
///
/// The files go to the folder "out" beside the term file, one for each site. Open them in a browser and print them,
/// black and white will do.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  sowtide sheets autumn                     this week, all sites\n  \
        sowtide sheets autumn --of 2026-10-05     the week that holds 5 October 2026\n  \
        sowtide sheets autumn --site hall --kind sowing,labels --paper letter\n  \
        sowtide sheets autumn --kind labels --label-grid 3x8\n  \
        sowtide sheets autumn --kind term         the term on one page\n  \
        sowtide sheets autumn --kind order        what to buy for the whole term")]
pub(super) struct Sheets {
    #[command(flatten)]
    folder: Folder,
    /// Any day of the week wanted, such as 2026-10-05 [default: today]
    #[arg(long, value_name = "DATE", value_parser = dates::parse, conflicts_with_all = ["from", "whole_term"])]
    of: Option<NaiveDate>,
    /// The first day wanted
    #[arg(long, value_name = "DATE", value_parser = dates::parse, requires = "to", conflicts_with = "whole_term")]
    from: Option<NaiveDate>,
    /// The last day wanted
    #[arg(long, value_name = "DATE", value_parser = dates::parse, requires = "from")]
    to: Option<NaiveDate>,
    /// All days of the term
    #[arg(long)]
    whole_term: bool,
    #[command(flatten)]
    sites: Sites,
    /// Only these kinds of sheets [default: all a class needs]
    #[arg(long = "kind", value_enum, value_name = "KIND", value_delimiter = ',')]
    kinds: Vec<KindChoice>,
    /// Paper to print on
    #[arg(long, value_enum, default_value_t = PaperChoice::A4)]
    paper: PaperChoice,
    #[command(flatten)]
    labels: Labels,
    /// Folder to write to [default: "out" in the term's folder]
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
}

/// Kinds of sheets to choose from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum KindChoice {
    /// What to cut and pull, with room for estimates and measurements
    Harvest,
    /// What to move where, with a map of each lid
    Transplant,
    /// What to sow
    Sowing,
    /// Labels for plugs and holes
    Labels,
    /// The term on one page, as many as needed where the tanks are many
    Term,
    /// How to keep the tanks in a week, with room for what is measured
    Care,
    /// What to see to before days off
    Before,
    /// What to see to after days off
    After,
    /// What to buy for the term, all sites together
    Order,
}

/// Paper to choose from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum PaperChoice {
    /// US Letter, 8.5 x 11 in
    Letter,
    /// A4, 210 x 297 mm
    A4,
}

impl Sheets {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let (opened, plan) = self.folder.planned(screen)?;
        self.folder.tell_if_overtaken(&opened, &plan, screen);
        let term = &opened.read.term;
        let days = self.days(term)?;
        let kinds = self.kinds();
        // The order and the term's overview are for the whole term on whatever day they are asked for.
        if kinds.iter().any(|kind| !matches!(kind, Kind::Order | Kind::Term)) {
            tell_if_outside(term, days, screen);
        }
        let odds = kinds.contains(&Kind::Term).then(|| opened.odds_as_planned(&plan, usual_luck()));
        let wish = Wish {
            days,
            kinds,
            paper: self.paper.paper(),
            units: screen.look.units,
            labels: self.labels.wish(self.paper.paper())?,
            odds,
        };
        let folder = self.out.clone().unwrap_or_else(|| self.folder.disk().path("out"));
        let files = sheets::files(term, &plan, &self.sites.of(term)?, &wish);
        for file in &files {
            output::refuse_foreign(&folder.join(&file.name), output::Kind::Page)?;
        }
        let mut paths = Vec::new();
        for file in files {
            let path = folder.join(&file.name);
            output::put(&path, &file.html)?;
            paths.push(path.display().to_string());
        }
        if screen.json && wish.kinds.contains(&Kind::Order) {
            screen.result(&json::written_with_order(&paths, term, &plan))
        } else if screen.json {
            screen.result(&json::written(&paths))
        } else {
            screen.result(&format!("{}\n", paths.join("\n")))
        }
    }

    fn days(&self, term: &Term) -> Result<Days, Failure> {
        if self.whole_term {
            return Ok(Days::Term(DateSpan { first: term.start, last: term.own_end() }));
        }
        let (Some(first), Some(last)) = (self.from, self.to) else {
            return Ok(Days::Week(Week::of(self.of.unwrap_or_else(dates::today))));
        };
        let span = DateSpan { first, last };
        // Nobody prints more than a term; a slip of the pen in the year would ask for thousands of days.
        if !(1..=400).contains(&span.len_days()) {
            return Err(Failure::usage(
                format!("there are no sheets from {first} to {last}"),
                "let --from be the earlier day, and --to at most a year later",
            ));
        }
        Ok(Days::Span(span))
    }

    fn kinds(&self) -> Vec<Kind> {
        if self.kinds.is_empty() {
            return CLASS_KINDS.to_vec();
        }
        let kind = |choice: &KindChoice| match choice {
            KindChoice::Harvest => Kind::Harvest,
            KindChoice::Transplant => Kind::Transplant,
            KindChoice::Sowing => Kind::Sowing,
            KindChoice::Labels => Kind::Labels,
            KindChoice::Term => Kind::Term,
            KindChoice::Care => Kind::Care,
            KindChoice::Before => Kind::Before,
            KindChoice::After => Kind::After,
            KindChoice::Order => Kind::Order,
        };
        self.kinds.iter().map(kind).collect()
    }
}

impl PaperChoice {
    pub(super) fn paper(self) -> Paper {
        match self {
            Self::Letter => Paper::Letter,
            Self::A4 => Paper::A4,
        }
    }
}

fn tell_if_outside(term: &Term, days: Days, screen: &Screen) {
    let DateSpan { first, last } = days.span();
    if last < term.start || term.own_end() < first {
        screen.remark(&format!(
            "{} is outside the term, which runs from {} to {}",
            days.title(),
            words::long_day(term.start),
            words::long_day(term.own_end())
        ));
    }
}
