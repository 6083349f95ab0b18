use super::table::{Beside, Spelling};
use super::*;
use crate::domain::growth::Way;
use crate::domain::ids::{BatchId, SiteId, TankId};
use crate::domain::journal::{
    Amount, EntryId, Harvested, InTank, MOST_BEHIND, Measured, Place, Sample, TargetHolds, What,
};
use crate::domain::text;
use crate::files::cases;
use crate::files::sheet::Sheet;
use crate::files::store::Memory;
use chrono::{DateTime, NaiveDate, Utc};
use proptest::collection::{btree_map, btree_set, vec};
use proptest::option;
use proptest::prelude::*;

fn day() -> impl Strategy<Value = NaiveDate> {
    (2000..2199, 1..366_u32).prop_map(|(year, day)| {
        NaiveDate::from_yo_opt(year, day).unwrap_or_else(|| unreachable!("every year has 365 days"))
    })
}

fn moment() -> impl Strategy<Value = DateTime<Utc>> {
    (0..4_000_000_000_i64).prop_map(|seconds| DateTime::from_timestamp(seconds, 0).unwrap_or_default())
}

/// Names as people may choose them, and words that other readers take for something else.
fn id() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z0-9][a-z0-9-]{0,12}",
        Just("no".to_owned()),
        Just("007".to_owned()),
        Just("1e5".to_owned())
    ]
}

/// One line of any text that people can read.
fn words() -> impl Strategy<Value = String> {
    let odd = vec![
        "no",
        "~",
        "null",
        "1.50",
        "2026-09-01",
        "- a: {b} # c",
        "\"quoted\": 'twice'",
        "Käfer, 5 °C",
        "=1+1",
        "'=1",
        "''",
        "a;=b;'-c",
        "\u{ff1d}x",
        "\"",
    ];
    prop_oneof![
        "[^\\p{C}\\s]([^\\p{C}]{0,60}[^\\p{C}\\s])?",
        prop::sample::select(odd).prop_map(str::to_owned)
    ]
    .prop_filter("not fit for people", |text| text::check(text).is_ok())
}

fn grams() -> impl Strategy<Value = f64> {
    prop_oneof![
        (0..10_000_000_u32).prop_map(|hundredths| f64::from(hundredths) / 100.0),
        Just(0.0),
        Just(0.1 + 0.2)
    ]
}

fn measured() -> impl Strategy<Value = Option<Measured>> {
    option::of((option::of(grams()), grams()).prop_map(|(estimate, found)| Measured {
        estimate: estimate.map(|estimate| estimate / 20.0),
        found: found / 20.0,
    }))
}

fn harvested() -> impl Strategy<Value = What> {
    let sample = (measured(), measured(), measured(), measured(), measured())
        .prop_map(|(height_cm, width_cm, leaves, longest_root_cm, mass_g)| Sample {
            height_cm,
            width_cm,
            leaves,
            longest_root_cm,
            mass_g,
        })
        .prop_filter("nothing was measured", |sample| *sample != Sample::default());
    let way = prop_oneof![Just(Way::Cut), Just(Way::WholeHead)];
    let number = prop_oneof![(1..500_u32).prop_map(|plants| (plants, Vec::new())), holes()];
    let places = btree_map(id(), number, 1..4);
    let measured_as = option::of(words());
    (id(), places, way, grams(), measured_as, vec(sample, 0..3)).prop_map(
        |(batch, places, way, grams, measured_as, samples)| {
            let place = |(tank, (plants, holes))| InTank { tank: TankId::new(tank), plants, holes };
            let places = places.into_iter().map(place).collect();
            let batch = BatchId::new(batch);
            What::Harvested(Harvested { batch, places, way, grams, measured_as, samples })
        },
    )
}

/// Plants and their holes.
fn holes() -> impl Strategy<Value = (u32, Vec<u32>)> {
    btree_set(1..90_u32, 1..9).prop_map(|holes| (holes.len() as u32, holes.into_iter().collect()))
}

fn what() -> impl Strategy<Value = What> {
    let place = prop_oneof![Just(Place::Nursery), id().prop_map(|tank| Place::Tank(TankId::new(tank)))];
    let amount = prop_oneof![Just(Amount::All), (1..500_u32).prop_map(Amount::Plants)];
    let holds = prop_oneof![Just(TargetHolds::ThatDay), Just(TargetHolds::FromThenOn)];
    prop_oneof![
        (id(), 1..500_u32).prop_map(|(batch, plugs)| What::Sown { batch: BatchId::new(batch), plugs }),
        (id(), 0..500_u32).prop_map(|(batch, plugs)| What::CameUp { batch: BatchId::new(batch), plugs }),
        (id(), id(), 1..500_u32).prop_map(|(batch, tank, plants)| What::Transplanted {
            batch: BatchId::new(batch),
            tank: TankId::new(tank),
            plants
        }),
        (id(), place, amount, words()).prop_map(|(batch, place, plants, cause)| What::Lost {
            batch: BatchId::new(batch),
            place,
            plants,
            holes: Vec::new(),
            cause
        }),
        (id(), id(), holes(), words()).prop_map(|(batch, tank, (plants, holes), cause)| What::Lost {
            batch: BatchId::new(batch),
            place: Place::Tank(TankId::new(tank)),
            plants: Amount::Plants(plants),
            holes,
            cause
        }),
        harvested(),
        (id(), option::of(day())).prop_map(|(tank, until)| What::TankOut { tank: TankId::new(tank), until }),
        id().prop_map(|tank| What::TankBack { tank: TankId::new(tank) }),
        Just(What::ClassLost),
        Just(What::ClassAdded),
        (holds, grams()).prop_map(|(holds, grams)| What::TargetChanged { holds, grams }),
        (id(), 1..=MOST_BEHIND).prop_map(|(batch, days)| What::Behind { batch: BatchId::new(batch), days }),
        (option::of(id()), words())
            .prop_map(|(batch, text)| What::Note { batch: batch.map(BatchId::new), text }),
    ]
}

fn entry() -> impl Strategy<Value = Entry> {
    (moment(), day(), id(), option::of(words()), what()).prop_map(|(recorded, day, site, by, what)| Entry {
        id: EntryId(0),
        recorded,
        day,
        site: Some(SiteId::new(site)),
        by,
        what,
        replaces: None,
    })
}

/// Entries in the order of their numbers, some of them replaced or taken back by the next.
fn entries() -> impl Strategy<Value = Vec<Entry>> {
    vec((entry(), 0..4_u8), 1..8).prop_map(|drafts| {
        let mut entries: Vec<Entry> = Vec::new();
        for (id, (entry, corrects)) in (1..).map(EntryId).zip(drafts) {
            let last = entries.last().filter(|last| last.what != What::Withdrawn).map(|last| last.id);
            let replaces = last.filter(|_| corrects > 1);
            let what = if replaces.is_some() && corrects == 3 { What::Withdrawn } else { entry.what };
            entries.push(Entry { id, what, replaces, ..entry });
        }
        entries
    })
}

fn write(store: &Memory, entries: &[Entry]) -> Result<(), AddError> {
    let held = store.lock(&|| {}).unwrap();
    add(store, &held, &read(store).unwrap(), entries)
}

fn text(store: &Memory) -> String {
    String::from_utf8(store.read(FILE_NAME).unwrap().unwrap_or_default()).unwrap()
}

/// The entries in a table that a journal lacks, and how many it has.
fn rows(text: &str, journal: &Journal) -> Result<(Vec<Entry>, usize), Problems> {
    let file = TextFile::new("journal.csv", text);
    let sheet = Sheet::read(&file)?;
    assert!(table::is_table(&sheet));
    let (new, known) = table::read(&file, &sheet, &Spelling::default(), journal)?;
    Ok((new.into_iter().map(|row| row.entry).collect(), known.len()))
}

/// A table as a spreadsheet program may save it: with other separators, an empty column more and perhaps other lines first.
fn saved_again(text: &str, turned: bool) -> String {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let mut lines: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    if turned {
        lines[1..].reverse();
    }
    let mut writer = csv::WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
    for mut line in lines {
        line.push_field("");
        writer.write_record(&line).unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

proptest! {
    #![proptest_config(cases::few(96, "tests/proptest-regressions/src"))]

    #[test]
    fn what_is_read_is_what_was_written(entries in entries(), at in 0..8_usize) {
        let store = Memory::new();
        let (first, second) = entries.split_at(at.min(entries.len()));
        write(&store, first).unwrap();
        let before = text(&store);
        write(&store, second).unwrap();
        prop_assert!(text(&store).starts_with(&before), "old text is untouched");
        let read = read(&store).unwrap().journal;
        prop_assert_eq!(read.entries(), &entries[..]);
    }

    #[test]
    fn a_table_tells_what_the_journal_tells(
        entries in entries(), again in 0..8_usize, semicolons in any::<bool>(), turned in any::<bool>(),
    ) {
        let journal = Journal::new(entries);
        let text = table::csv(&journal, &Beside { term: "=Term".to_owned(), ..Beside::default() });
        let text = if semicolons { saved_again(&text, turned) } else { text };
        let (all, known) = rows(&text, &Journal::default()).unwrap();
        prop_assert_eq!((&Journal::new(all), known), (&journal, 0));
        let some = Journal::new(journal.entries().iter().take(again).cloned().collect());
        let (rest, known) = rows(&text, &some).unwrap();
        prop_assert_eq!(known, some.entries().len());
        prop_assert_eq!(&rest[..], &journal.entries()[known..]);
    }

    #[test]
    fn any_text_is_read_or_refused(text in "[a-z0-9:{}\\[\\]\\- \n\"#]{0,120}") {
        let file = TextFile::new("journal.yaml", &format!("format: 1\nentries:\n{text}"));
        if let Err(problems) = from_file(&file) {
            prop_assert!(problems.iter().count() > 0);
        }
    }
}

#[test]
fn comments_of_people_stay() {
    let old = "# Ours\nformat: 1\nentries:\n  - id: j001 # why not\n    recorded: 2026-09-07T10:00:00Z\n    \
                day: 2026-09-07\n    what: class added";
    let store = Memory::new().with(FILE_NAME, old);
    let note = |indent: &str| format!("{old}\n{indent}- id: j002");
    let new = Entry {
        id: EntryId(2),
        recorded: DateTime::UNIX_EPOCH,
        day: "2026-09-08".parse().unwrap(),
        site: None,
        by: None,
        what: What::ClassAdded,
        replaces: None,
    };
    write(&store, std::slice::from_ref(&new)).unwrap();
    let written = text(&store);
    assert!(written.starts_with(&note("  ")), "{written}");
    assert_eq!(read(&store).unwrap().journal.entries()[1], new);
}

#[test]
fn what_would_not_read_back_is_not_written() {
    let store = Memory::new();
    let bad = Entry {
        id: EntryId(1),
        recorded: DateTime::UNIX_EPOCH,
        day: "2026-09-08".parse().unwrap(),
        site: Some(SiteId::new("Not a short name")),
        by: None,
        what: What::ClassAdded,
        replaces: None,
    };
    assert!(matches!(write(&store, &[bad]), Err(AddError::Unreadable(_))));
    assert_eq!(store.read(FILE_NAME).unwrap(), None);
}

#[test]
fn mistakes_are_placed_and_plain() {
    let text = "\
format: 2
entries:
  - { id: j1, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, site: hall, what: sowed, batch: b-1, plugs: 3 }
  - { id: x, recorded: noon, day: 7 Sept, site: Hall, what: sown, batch: b-1, plugs: 0 }
  - { id: j2, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, site: hall, what: sown, batch: b-1, plants: 3 }
  - { id: j3, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, site: hall, what: lost, batch: b-1, tank: a, plugs: 3, cause: mould }
  - { id: j4, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, site: hall, what: class lost }
  - { id: j4, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, site: hall, what: class lost, replaces: j9 }
  - { id: j5, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, site: hall, what: withdrawn }
  - { id: j6, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, what: withdrawn, replaces: j4 }
  - { id: j7, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, what: class added, replaces: j4 }
  - { id: j8, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, what: class added, replaces: j6 }
  - { id: j9, recorded: 2026-09-07T10:00:00Z, day: 2026-09-07, site: hall, what: harvested, batch: b-1, tank: a, plants: 2, way: snip, grams: 5 g, samples: [{ hight: 3 }, { leaves: { estimate: 3 } }] }
  - just words
";
    let problems = from_file(&TextFile::new("journal.yaml", text)).unwrap_err();
    let lines: Vec<String> = problems
        .iter()
        .map(|problem| {
            let place = (problem.line().unwrap_or(0), problem.column().unwrap_or(0));
            format!("{}:{} {} | {}", place.0, place.1, problem.message(), problem.help())
        })
        .collect();
    insta::assert_snapshot!(lines.join("\n"), @r#"
    1:9 this is a journal of another format | format: 1 is the only one known here; a newer sowtide may have written this journal
    3:82 "sowed" is not known here | did you mean "sown"?
    4:11 "x" is not an entry's number | write j and digits, such as j012
    4:24 "noon" is not a time | write it as 2026-09-01T12:00:00Z, with a year from 1900 to 2199
    4:35 "7 Sept" is not a date | write year-month-day, such as 2026-09-01
    4:49 "Hall" cannot be a short name | use 1 to 40 lower-case letters a to z, digits and hyphens, such as room-12
    4:86 this is too small | write a whole number from 1 to 100000
    5:7 "plugs" is missing here | add a line such as plugs: 12
    5:100 unknown key "plants" | known here: id, recorded, by, replaces, day, site, what, batch, plugs
    6:109 "plugs" does not fit the place | count plugs in the nursery and plants in a tank
    8:7 j004 replaces j009, which is not written before it | put back what was taken out, or correct the number
    8:7 there are two entries j004 | give each entry a number of its own, counting up
    9:7 "replaces" is missing here | add a line such as replaces: j001
    11:7 j004 is replaced twice, by j006 and by j007 | let this one replace j006 instead
    12:7 j008 replaces j006, which only takes an entry back | record what happened as an entry of its own
    13:130 "snip" is not known here | known here: cut, whole head
    13:143 "5 g" is not a number | write a number from 0 to 10000000
    13:160 unknown key "hight" | did you mean "height"?
    13:184 "found" is missing here | add a line such as found: 12.5
    14:5 keys with values were expected here | write each as "key: value" on a line of its own, indented
    "#);
}
