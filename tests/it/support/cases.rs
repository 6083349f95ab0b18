//! How many random cases a property is tried with, and where those that failed are kept.

use proptest::test_runner::{Config, FileFailurePersistence};

/// Multiplies the number of cases of every property.
const FACTOR: &str = "SOWTIDE_CASE_FACTOR";

/// So many random cases, times what the variable [`FACTOR`] says; where nobody says anything a tenth, so that a run is
/// short. Or as many as `PROPTEST_CASES` says.
///
/// Cases that failed are tried again first. They are kept in `folder`, a path from the parent of the folder with
/// the test's `main.rs` or `lib.rs`.
pub(crate) fn few(cases: u32, folder: &'static str) -> Config {
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    let kept = Box::new(FileFailurePersistence::SourceParallel(folder));
    let usual = Config { failure_persistence: Some(kept), max_shrink_iters: 200, ..Config::default() };
    if asked {
        usual
    } else {
        Config { cases: factor().map_or(cases.div_ceil(10), |factor| cases * factor), ..usual }
    }
}

fn factor() -> Option<u32> {
    std::env::var(FACTOR).ok().map(|text| match text.parse() {
        Ok(factor @ 1..=1000) => factor,
        _ => panic!("the variable {FACTOR} is \"{text}\"; it should be a whole number from 1 to 1000"),
    })
}
