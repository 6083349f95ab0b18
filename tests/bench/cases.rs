//! The terms that are planned.

use sowtide::domain::ids::SiteId;
use sowtide::domain::term::Term;
use sowtide::files::store::Disk;
use sowtide::files::term_file;
use std::error::Error;
use std::path::Path;

/// Schools like the example in the large term, six sites each.
const SCHOOLS: usize = 5;

/// A term under a short name.
pub(crate) struct Case {
    pub(crate) name: &'static str,
    pub(crate) term: Term,
}

/// The three examples, a small term that is hard to fill, and a term of thirty sites.
pub(crate) fn all() -> Result<Vec<Case>, Box<dyn Error>> {
    // No other program knows of promises, which are measured by the bench `sure`.
    let mut school = read("examples/school")?;
    school.promise(0.0);
    Ok(vec![
        Case { name: "one-room", term: read("examples/one-room")? },
        Case { name: "too-much", term: read("examples/too-much")? },
        Case { name: "tight", term: read("tests/data/tight")? },
        Case { name: "thirty-sites", term: thirty_sites(&school) },
        Case { name: "school", term: school },
    ])
}

fn read(folder: &str) -> Result<Term, Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    Ok(term_file::read(&Disk::at(folder)).map_err(|problems| problems.to_string())?.term)
}

/// The school's sites five times over, for five times the target.
fn thirty_sites(school: &Term) -> Term {
    let mut term = school.clone();
    term.name = "Thirty sites".into();
    for serving in &mut term.servings {
        serving.grams *= SCHOOLS as f64;
    }
    term.sites = (1..=SCHOOLS)
        .flat_map(|number| {
            school.sites.iter().cloned().map(move |mut site| {
                site.id = SiteId::new(format!("{}-{number}", site.id));
                site.name = format!("{} {number}", site.name);
                site
            })
        })
        .collect();
    term
}
