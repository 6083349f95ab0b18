//! What becomes of a term file's text.

use super::*;
use crate::domain::ids::{BatchId, CropId, SiteId, TankId};
use crate::domain::leftover::Leftover;
use crate::domain::term::Stage;
use chrono::NaiveDate;

const OLD: &str = "\
# Ours.
format: 1
name: Autumn      # of this year
start: 2026-09-07
end: 2026-12-18
breaks:
  # Agreed with the office.
  - name: half-term   # whole week
    first: 2026-10-26
    last: 2026-10-30
  - { name: long one, first: 2026-12-17, last: 2027-01-12 }
closures: [{ name: \"a, b\", day: 2026-11-05 }, { name: 'it''s', day: 2026-11-06 }]
sites:
  - id: hall
    class-days: [Monday, Thursday]
    extra-class-days: 2026-10-28
    closures:
    - name: fair
      day: 2026-11-12
    nursery: { cells: 40, unattended-days: 4 }
    tanks: [{ id: a, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.4, ph: 6.0 }]
target:
  - every: Thursday
    from: 2026-10-15
    mass: 300 g
    exceptions:
      2026-11-19: none   # the outing
crops: [oakleaf, mizuna]
rules: { kinds: 1 }
arrivals:
  - { crop: oakleaf, plants: 6, age: 14 days, date: 2026-09-14, site: hall }
standing:
  - batch: x
    crop: oakleaf
    site: hall
    sown: 2026-08-20
    plants: 4
supplies:
  seed:
    oakleaf: { pack: 500 seeds }   # the blue packet
    mizuna:
      on-hand: 2 g
  plugs: { on-hand: 30 }
  nutrient:
    - ml-per-litre: 2
      on-hand: 1 litre
# The end.
";

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn carried(start: &str, end: &str) -> Carried {
    Carried {
        span: DateSpan { first: day(start), last: day(end) },
        name: None,
        standing: Vec::new(),
        leftover: None,
        head: Vec::new(),
        supplies: Vec::new(),
        notes: Vec::new(),
    }
}

fn next(text: &str, carried: &Carried) -> Result<(String, NextTerm), Unmade> {
    let store = Memory::new().with(FILE_NAME, text);
    let old = term_file::read(&store).unwrap_or_else(|problems| panic!("{problems}")).term;
    let made = make(&store, &old, carried)?;
    let (_, bytes) = made.files.last().unwrap();
    Ok((String::from_utf8(bytes.clone()).unwrap(), made))
}

fn standing(batch: &str, sown: &str) -> Standing {
    Standing {
        batch: BatchId::new(batch),
        crop: CropId::new("mizuna"),
        site: SiteId::new("hall"),
        sown: day(sown),
        plants: 2,
        stage: Stage::Tank {
            tank: TankId::new("a"),
            transplanted: day("2026-12-07"),
            holes: vec![3, 4],
            cuts: vec![day("2027-01-02")],
        },
    }
}

/// The old supplies with half of the plugs and other seed.
fn leftover(text: &str) -> Leftover {
    let store = Memory::new().with(FILE_NAME, text);
    let mut supplies = term_file::read(&store).unwrap().term.supplies;
    supplies.plugs.on_hand = 15.0;
    supplies.doses[0].stock.on_hand = 0.25;
    for (seed, amount) in supplies.seed.iter_mut().zip([SeedAmount::Seeds(410), SeedAmount::Grams(0.85)]) {
        (seed.on_hand, seed.packed) = (Some(amount), Some(2026));
    }
    Leftover { supplies, seed: Vec::new() }
}

#[test]
fn what_must_change_is_changed_and_all_else_stays() {
    let carried = Carried {
        name: Some("Winter \"two\"".to_owned()),
        standing: vec![
            standing("old-b4", "2026-11-20"),
            Standing { stage: Stage::Nursery, ..standing("old-b1", "2026-11-20") },
        ],
        leftover: Some(leftover(OLD)),
        head: vec!["From autumn.".to_owned()],
        supplies: vec!["Count it.".to_owned()],
        notes: vec!["Noted: pump # hums".to_owned()],
        ..carried("2027-01-04", "2027-03-26")
    };
    let (text, made) = next(OLD, &carried).unwrap();
    insta::assert_snapshot!(text);
    let found = Dates { days_off: 4, class_days: 1, targets: 1, arrivals: 1, moved: 1 };
    assert_eq!(made.dates, found);
    assert_eq!(made.cleared.len(), 1);
}

/// Whoever goes on from a term that went on from another finds nothing of the first one but the notes.
#[test]
fn going_on_twice_leaves_no_more_behind_than_once() {
    let first = Carried {
        head: vec!["From autumn.".to_owned()],
        notes: vec!["Noted: lamp".to_owned()],
        standing: vec![standing("old-b4", "2026-11-20")],
        ..carried("2027-01-04", "2027-03-26")
    };
    let (once, _) = next(OLD, &first).unwrap();
    let (twice, _) = next(&once, &carried("2027-04-05", "2027-07-02")).unwrap();
    assert!(!twice.contains("half-term   #") && !twice.contains("From autumn"), "{twice}");
    assert!(twice.contains("# Noted: lamp\n") && twice.contains("# Ours.\n"), "{twice}");
    // The long break touched the first term's successor, and is past now.
    assert!(twice.contains("  #~ - { name: long one"), "{twice}");
}

#[test]
fn lines_end_as_they_did() {
    let old = OLD.replace('\n', "\r\n");
    let carried = Carried {
        standing: vec![standing("old-b4", "2026-11-20")],
        leftover: Some(leftover(OLD)),
        notes: vec!["Noted: lamp".to_owned()],
        ..carried("2027-01-04", "2027-03-26")
    };
    let (text, _) = next(&old, &carried).unwrap();
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
    let (unix, _) = next(OLD, &carried).unwrap();
    assert_eq!(text.replace("\r\n", "\n"), unix);
}

#[test]
fn a_target_of_single_days_alone_moves_on_by_weeks() {
    let start = OLD.find("target:").unwrap();
    let end = OLD.find("crops:").unwrap();
    let target = "target:\n  exceptions: { 2026-10-15: 200 g, 2026-12-17: 300 g }\n";
    let old = format!("{}{target}{}", &OLD[..start], &OLD[end..])
        .replace("- { name: long one, first: 2026-12-17, last: 2027-01-12 }", "# no more");
    let (text, made) = next(&old, &carried("2027-01-11", "2027-03-26")).unwrap();
    assert!(text.contains("  exceptions: { 2027-02-18: 200 g}\n"), "{text}");
    assert_eq!((made.dates.moved, made.dates.targets), (1, 1));
}

/// What cannot be changed safely is told with its line, or as a whole; nothing wrong is ever made.
#[test]
fn what_cannot_be_changed_is_told() {
    let told = |from: &str, to: &str| {
        assert!(OLD.contains(from), "{from}");
        let carried = Carried {
            standing: vec![standing("old-b4", "2026-11-20")],
            leftover: Some(leftover(OLD)),
            ..carried("2027-01-04", "2027-03-26")
        };
        match next(&OLD.replace(from, to), &carried) {
            Ok(_) => "made".to_owned(),
            Err(Unmade::Next(problems)) => {
                format!("unreadable: {}", problems.iter().next().unwrap().message())
            }
            Err(Unmade::Before(problems)) => {
                let problem = problems.iter().next().unwrap();
                format!("{:?}: {}", problem.line(), problem.message())
            }
        }
    };
    let all = [
        // Two things under one name would both be changed.
        told(
            "{ pack: 500 seeds }   # the blue packet\n    mizuna:\n      on-hand: 2 g\n",
            "&one { pack: 500 seeds, on-hand: 3 seeds }\n    mizuna: *one\n",
        ),
        told("  - { name: long one", "  - &long { name: long one").as_str().to_owned(),
        told("  - name: half-term   # whole week\n", "  - &half\n    name: half-term\n"),
        told(
            "mass: 300 g\n    exceptions:\n      2026-11-19: none   # the outing\n",
            "mass: 300 g\n    exceptions: {\n      2026-11-19: none }\n",
        ),
        told("start: 2026-09-07\n", "start: >-\n  2026-09-07\n"),
    ];
    insta::assert_snapshot!(all.join("\n"));
    let carried = carried("2027-01-04", "2027-03-26");
    let braces = "{ format: 1, name: x, start: 2026-09-07, end: 2026-12-18, sites: [{ id: hall, class-days: Monday, nursery: { cells: 40, unattended-days: 7 }, tanks: [{ id: a, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.4, ph: 6.0 }] }], target: { every: Monday, mass: 300 g }, crops: [oakleaf], rules: {} }\n";
    let Err(Unmade::Before(problems)) = next(braces, &carried) else { panic!("braces around all") };
    assert!(problems.to_string().contains("in braces"), "{problems}");
}

#[test]
fn a_folder_s_own_crops_and_calendars_come_along() {
    let calendar = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nDTSTART;VALUE=DATE:20261026\r\nSUMMARY:Holiday\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";
    let mizuna = include_str!("../../../crops/mizuna.yaml");
    let old = OLD.replace("sites:\n", "import: { file: off.ics, kind: break }\nsites:\n");
    let store = Memory::new()
        .with(FILE_NAME, &old)
        .with("off.ics", calendar)
        .with("crops/mizuna.yaml", &mizuna.replace("name: Mizuna", "name: Our mizuna"))
        .with("crops/notes.txt", "mine")
        .with("plan.yaml", "a plan")
        .with("journal.yaml", "a journal");
    let term = term_file::read(&store).unwrap().term;
    let made = make(&store, &term, &carried("2027-01-04", "2027-03-26")).unwrap();
    let names: Vec<&str> = made.files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["crops/mizuna.yaml", "off.ics", "term.yaml"]);
    assert!(made.read.term.crops.iter().any(|wanted| wanted.crop.name.starts_with("Our mizuna")));
}

#[test]
fn items_in_braces_need_not_be_indented() {
    let text =
        OLD.replace("breaks:\n", "breaks:\n- { first: 2026-09-28, name: fair week, last: 2026-10-02 }\n");
    let start = text.find("  # Agreed with the office.").unwrap();
    let end = text.find("closures: [{").unwrap();
    let text = format!("{}{}", &text[..start], &text[end..]);
    let (made, _) = next(&text, &carried("2027-01-11", "2027-03-26")).unwrap();
    assert!(made.contains("#~ - { first: 2026-09-28, name: fair week, last: 2026-10-02 }"), "{made}");
}
