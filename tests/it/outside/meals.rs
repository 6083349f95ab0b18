//! School meals in grams.

use sowtide::files::term_file;

/// Half a cup of dark green vegetables a week (7 CFR 210.10, table 1 to paragraph (c), from 1 July 2024)
/// is a cup of raw leaves, because raw leafy greens count as half the volume served ("Vegetable
/// Subgroups", Texas Department of Agriculture, 2019). A cup of romaine weighs 47 g, of spinach 30 g
/// (USDA food composition, entries 169247 and 168462).
#[test]
fn a_cup_a_week_for_a_hundred_pupils() {
    for (cup, grams) in [("47 g", 4700.0), ("30 g", 3000.0)] {
        let term = read(100, cup);
        assert_eq!(term.servings.len(), 4);
        assert!(term.servings.iter().all(|serving| (serving.grams - grams).abs() < 1e-6), "{cup}");
    }
}

/// All vegetables of a week, 3 3/4 cups in grades K to 8 and 5 cups in grades 9 to 12 (same table), as raw
/// romaine: 352.5 g and 470 g a pupil.
#[test]
fn all_vegetables_as_romaine() {
    for (cup, grams) in [("352.5 g", 35_250.0), ("470 g", 47_000.0)] {
        assert!((read(100, cup).servings[0].grams - grams).abs() < 1e-6, "{cup}");
    }
}

fn read(servings: u32, serving: &str) -> sowtide::domain::term::Term {
    let folder = tempfile::tempdir().unwrap();
    let text = format!(
        "format: 1
name: School meals
start: 2026-09-07
end: 2026-11-01
sites:
  - id: kitchen
    name: Kitchen garden
    class-days: [Monday]
    nursery: {{ cells: 400, unattended-days: 7 }}
    tanks:
      - {{ id: raft, holes: 20 x 20, spacing: 20 cm, litres: 900, ec: 1.6, ph: 6.0 }}
target:
  every: Thursday
  from: 2026-10-08
  servings: {servings}
  serving: {serving}
crops: [romaine]
"
    );
    std::fs::write(folder.path().join("term.yaml"), text).unwrap();
    term_file::read(folder.path()).unwrap_or_else(|problems| panic!("{problems}")).term
}
