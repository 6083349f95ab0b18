//! What the checks need that a machine may lack, and what happens where it does.

use super::{browser, python};
use libtest_mimic::{Completion, Trial};
use std::env;
use std::ffi::OsStr;
use std::fmt;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};

/// Set to `all` where every check must run, so that one that cannot is a failure.
const VARIABLE: &str = "SOWTIDE_OUTSIDE";

pub(crate) const NOTHING: &[Need] = &[];
pub(crate) const PYTHON: &[Need] = &[Need::Python];
pub(crate) const BROWSER: &[Need] = &[Need::Browser];
/// Paper is printed by the browser and read by a program in Python.
pub(crate) const PAPER: &[Need] = &[Need::Browser, Need::Python];

#[derive(Debug, Clone, Copy)]
pub(crate) enum Need {
    /// Python with the packages of `requirements.txt`.
    Python,
    /// Chromium or a browser of its kind.
    Browser,
}

/// What is not there, and how to get it.
#[derive(Debug)]
pub(crate) struct Lack {
    /// One line, to follow "because".
    pub(crate) what: String,
    /// One line that asks to do something.
    pub(crate) mend: String,
    /// What a program said about it; may be empty.
    pub(crate) said: String,
}

impl fmt::Display for Lack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { what, mend, said } = self;
        write!(
            f,
            "This check cannot run, because {what}, and {VARIABLE}=all asks for every check: {mend}.\n{said}"
        )
    }
}

/// How many checks were left out for want of each thing in [`Need::ALL`].
static LEFT_OUT: [AtomicUsize; Need::ALL.len()] = [const { AtomicUsize::new(0) }; Need::ALL.len()];

impl Need {
    const ALL: [Self; 2] = [Self::Python, Self::Browser];

    /// The checks that cannot do without.
    fn checks(self) -> &'static str {
        match self {
            Self::Python => "comparisons with programs in Python",
            Self::Browser => "checks in a real browser",
        }
    }

    fn lack(self) -> Option<&'static Lack> {
        match self {
            Self::Python => python::ready().err(),
            Self::Browser => browser::ready().err(),
        }
    }
}

/// Whether every check must run.
pub(crate) fn all_wanted() -> Result<bool, String> {
    wanted(env::var_os(VARIABLE).as_deref())
}

/// Of cases that differ in little the first alone, unless every check must run: a browser takes seconds for each.
pub(crate) fn first_or_all<T>(cases: &[T]) -> &[T] {
    if all_wanted() == Ok(true) { cases } else { &cases[..1] }
}

fn wanted(value: Option<&OsStr>) -> Result<bool, String> {
    match value.map(OsStr::as_encoded_bytes) {
        None => Ok(false),
        Some(b"all") => Ok(true),
        _ => Err(format!(
            "The variable {VARIABLE} should be \"all\", so that every check must run, or not be set, so that \
             those are left out that cannot run here"
        )),
    }
}

/// A check that is ignored where something it needs is missing, or fails there if every check must run.
pub(crate) fn check(path: &str, needs: &'static [Need], run: fn()) -> Trial {
    let name = path.split_once("::").map_or(path, |(_, name)| name);
    Trial::ignorable_test(name, move || {
        let lack = needs.iter().find_map(|need| Some((need, need.lack()?)));
        match lack {
            None => {
                run();
                Ok(Completion::Completed)
            }
            Some((_, lack)) if all_wanted()? => Err(lack.to_string().into()),
            Some((need, lack)) => {
                LEFT_OUT[*need as usize].fetch_add(1, Relaxed);
                Ok(Completion::ignored_with(&lack.what))
            }
        }
    })
}

/// A line for each thing that was missing: what was left out, why, and how to run it.
pub(crate) fn left_out() -> impl Iterator<Item = String> {
    Need::ALL.into_iter().zip(&LEFT_OUT).filter_map(|(need, count)| match count.load(Relaxed) {
        0 => None,
        count => Some(told(count, need.checks(), need.lack()?)),
    })
}

fn told(count: usize, checks: &str, Lack { what, mend, .. }: &Lack) -> String {
    format!(
        "Left out: {count} {checks}, because {what}. To run them: {mend}; then {VARIABLE}=all cargo test --test outside"
    )
}

checks! {
    NOTHING =>
        only_all_is_understood,
        what_is_left_out_is_told_in_one_line;
}

fn only_all_is_understood() {
    assert_eq!(wanted(None), Ok(false));
    assert_eq!(wanted(Some(OsStr::new("all"))), Ok(true));
    let wrong = wanted(Some(OsStr::new("yes"))).unwrap_err();
    assert!(wrong.contains(VARIABLE) && wrong.contains("\"all\""), "{wrong}");
}

fn what_is_left_out_is_told_in_one_line() {
    let lack = Lack { what: "it rains".into(), mend: "wait".into(), said: "drip\ndrop".into() };
    assert_eq!(
        told(3, "walks", &lack),
        "Left out: 3 walks, because it rains. To run them: wait; then SOWTIDE_OUTSIDE=all cargo test --test outside"
    );
    assert!(
        lack.to_string()
            .ends_with("because it rains, and SOWTIDE_OUTSIDE=all asks for every check: wait.\ndrip\ndrop")
    );
}
