use super::*;
use crate::domain::term::Term;
use crate::files::library::{self, Library};
use crate::files::new_term;
use crate::files::store::{Laid, Memory};
use crate::files::term_file;

const TERM: &str = "\
format: 1
name: Spring
start: 2027-01-11
end: 2027-04-30
sites: # both
  - id: hall # the big one
    class-days: [Monday, Thursday]
    nursery: { cells: 48, unattended-days: 4 }
    tanks:
      - { id: a, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.6, ph: 6.0 }
  - { id: loft, class-days: [Tuesday], nursery: { cells: 48, unattended-days: 7 }, tanks: [{ id: a, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.6, ph: 6.0 }]}
target: { every: Thursday, from: 2027-03-04, mass: 300 g }
crops: [butterhead, mizuna]
# the end
";

fn read_term(store: &Memory) -> Term {
    term_file::read(store).unwrap_or_else(|problems| panic!("{problems}")).term
}

fn note(of: &Of, line: Option<&str>, source: Option<String>) -> Note {
    let mark = format!("{:?} of {}: ", of.figure, of.crop);
    let line = line.map(|line| format!("2027-05-02 {mark}{line}"));
    Note { of: of.clone(), source, mark, line }
}

fn all_figures(term: &Term) -> Vec<Of> {
    let crops = term.crops.iter().flat_map(|wanted| {
        Figure::ALL.into_iter().flat_map(move |figure| {
            let here = figure.is_of_site();
            let sites: Vec<Option<SiteId>> =
                if here { term.sites.iter().map(|site| Some(site.id.clone())).collect() } else { vec![None] };
            sites.into_iter().map(move |site| Of { crop: wanted.crop.id.clone(), site, figure })
        })
    });
    crops.filter(|of| term.figure(of).is_some()).collect()
}

fn write_all(store: &Memory, files: &Amended) {
    for (name, text) in files {
        store.write(name, text.as_bytes()).unwrap();
    }
}

fn text(store: &Memory, name: &str) -> String {
    String::from_utf8(store.read(name).unwrap().unwrap()).unwrap()
}

/// Every figure that is learned of every crop of the library that can stand there, at two sites of which one is written on a single line.
#[test]
fn figures_go_into_the_files_and_back_and_nothing_else_changes() {
    let library = Library::builtin().unwrap();
    let stands = library.iter().filter(|crop| crop.tolerates(6.0, 1.6));
    let ids: Vec<&str> = stands.map(|crop| crop.id.as_str()).collect();
    let store = Memory::new().with("term.yaml", &TERM.replace("butterhead, mizuna", &ids.join(", ")));
    let before = read_term(&store);
    let figures = all_figures(&before);
    assert!(figures.len() > 8 * ids.len());
    let mut term = before.clone();
    let mut taken = Vec::new();
    for of in &figures {
        let was = term.figure(of).unwrap();
        let after = if of.figure == Figure::Interval { was + 9.0 } else { of.figure.rounded(was * 0.83) };
        let source = source_of(&store, of);
        let own =
            Taken { of: of.clone(), before: was, spread: term.spread(of), source, after, day: before.start };
        term.set_figure(of, after);
        taken.push(own);
    }
    let notes: Vec<Note> = figures.iter().map(|of| note(of, Some("learned"), None)).collect();
    let files = amended(&store, &term, &notes).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(files.len(), ids.len() + 1);
    write_all(&store, &files);
    write(&store, &taken).unwrap();
    let after = read_term(&store);
    assert!(taken.iter().all(|own| own.still_stands(&after)));
    let of_file = text(&store, "term.yaml");
    let old: Vec<&str> = TERM.lines().collect();
    let kept = of_file.lines().filter(|line| old.contains(line)).count();
    assert_eq!(kept, old.len() - 2, "only the site on one line and the crops differ:\n{of_file}");

    let mut back = after.clone();
    let kept = read(&store).unwrap();
    assert_eq!(kept, taken);
    for own in &kept {
        back.put_back(own);
    }
    let notes: Vec<Note> = kept.iter().map(|own| note(&own.of, None, own.source.clone())).collect();
    write_all(&store, &amended(&store, &back, &notes).unwrap_or_else(|problems| panic!("{problems}")));
    assert_eq!(text(&store, "term.yaml"), TERM.replace("butterhead, mizuna", &ids.join(", ")));
    assert_eq!(read_term(&store).sites, before.sites);
    for id in ids {
        let built_in = library::file_of(&Memory::new(), &CropId::new(id)).unwrap();
        assert_eq!(text(&store, &format!("crops/{id}.yaml")), built_in.text(), "{id}");
    }
}

#[test]
fn a_term_as_it_is_begun_keeps_its_comments() {
    let store = Memory::new();
    new_term::create(&store, "2026-09-07".parse().unwrap()).unwrap_or_else(|problems| panic!("{problems}"));
    let (old, mut term) = (text(&store, "term.yaml"), read_term(&store));
    let of = Of {
        crop: term.crops[0].crop.id.clone(),
        site: Some(term.sites[0].id.clone()),
        figure: Figure::Yield,
    };
    term.set_figure(&of, 0.77);
    let [(name, new)] = &amended(&store, &term, &[note(&of, Some("0.77"), None)]).unwrap()[..] else {
        panic!()
    };
    assert_eq!(name, "term.yaml");
    let missing: Vec<&str> = old.lines().filter(|line| !new.lines().any(|own| own == *line)).collect();
    assert!(missing.is_empty(), "{missing:?}\n{new}");
    assert!(
        new.ends_with("# 2027-05-02 Yield of {}: 0.77\n".replace("{}", of.crop.as_str()).as_str()),
        "{new}"
    );
}

/// Anchors stand for values elsewhere: what is changed in one place would change, or go, in others.
#[test]
fn what_would_change_other_figures_is_left_alone_and_told() {
    let crops = "    crops: { mizuna: &m { pace: 1.1, yield: 0.9 }, butterhead: *m }\n  - { id: loft";
    let one = TERM.replace("  - { id: loft", crops);
    let sites =
        TERM.replace("  - { id: loft", "    crops: &c { mizuna: { pace: 1.1 } }\n  - { id: loft, crops: *c");
    for (odd, site) in [(one, "hall"), (sites.clone(), "hall"), (sites, "loft")] {
        let store = Memory::new().with("term.yaml", &odd);
        let mut term = read_term(&store);
        let of = Of { crop: CropId::new("mizuna"), site: Some(SiteId::new(site)), figure: Figure::Pace };
        term.set_figure(&of, 1.2);
        let problems = amended(&store, &term, &[note(&of, None, None)]).unwrap_err().to_string();
        assert!(problems.contains("nothing was changed"), "{site}: {problems}");
    }
}

#[test]
fn a_term_in_other_spellings_is_changed_all_the_same() {
    for odd in [TERM.replace("sites:", "\"sites\":"), TERM.replace("id: hall", "\"id\": \"hall\"")] {
        let store = Memory::new().with("term.yaml", &odd);
        let mut term = read_term(&store);
        let of = Of { crop: CropId::new("mizuna"), site: Some(SiteId::new("hall")), figure: Figure::Pace };
        term.set_figure(&of, 1.2);
        let files = amended(&store, &term, &[note(&of, None, None)]).unwrap_or_else(|told| panic!("{told}"));
        assert_eq!(term_file::read(&Laid::new(&store, &files)).unwrap().term.figure(&of), Some(1.2));
    }
}

#[test]
fn a_list_of_another_kind_is_refused_with_its_place() {
    let complaint = |text: &str| {
        let store = Memory::new().with(FILE_NAME, text);
        read(&store).unwrap_err().to_string()
    };
    assert!(
        complaint("format: 2\nfigures: []\n").contains("learned.yaml:1"),
        "{}",
        complaint("format: 2\nfigures: []\n")
    );
    let unknown = "format: 1\nfigures:\n- {crop: x, figure: size, before: 1, after: 2, day: 2027-01-01}\n";
    assert!(complaint(unknown).contains("learned.yaml:3"), "{}", complaint(unknown));
    for impossible in [
        "- {crop: x, figure: yield, before: 1, after: 2, day: 2027-01-01}",
        "- {crop: x, site: hall, figure: germination, before: 1, after: 2, day: 2027-01-01}",
        "- {crop: x, figure: germination, before: -3, after: .inf, day: 2027-01-01}",
    ] {
        let told = complaint(&format!("format: 1\nfigures:\n{impossible}\n"));
        assert!(told.contains("learned.yaml"), "{told}");
    }
    assert!(read(&Memory::new()).unwrap().is_empty());
}
