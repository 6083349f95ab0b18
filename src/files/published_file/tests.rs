use super::*;
use crate::files::store::Memory;

fn published() -> Published {
    let event = |uid: &str, kind, cancelled| PublishedEvent {
        entry: Entry {
            uid: uid.to_owned(),
            kind,
            sites: vec![SiteId::new("hall"), SiteId::new("room-4")],
            days: DateSpan { first: "2026-10-08".parse().unwrap(), last: "2026-10-09".parse().unwrap() },
            title: format!("Grüße, \"x\": #1; 🌱\nno {}", "a word ".repeat(80)),
            place: String::new(),
            fingerprint: 0x1234_5678_9012_3456,
        },
        sequence: 3,
        changed: "2026-09-01T08:30:00Z".parse().unwrap(),
        cancelled,
    };
    let events = [
        event("0f-b-0001-sow-1", EventKind::Task(TaskKind::Sow), false),
        event("0f-off", EventKind::Closure, true),
    ];
    Published { events: events.into_iter().map(|event| (event.entry.uid.clone(), event)).collect() }
}

fn complaint(text: &str) -> String {
    let problems = from_file(&TextFile::new("calendar.yaml", text)).unwrap_err();
    let told: Vec<String> = problems
        .iter()
        .map(|problem| {
            let place = (problem.line().unwrap_or(0), problem.column().unwrap_or(0));
            format!("{}:{} {} | {}", place.0, place.1, problem.message(), problem.help())
        })
        .collect();
    told.join("\n")
}

#[test]
fn what_is_written_is_read_back() {
    let store = Memory::new();
    assert_eq!(read(&store, FILE_NAME), Ok(None));
    for list in [Published::default(), published()] {
        write(&store, FILE_NAME, &list).unwrap();
        assert_eq!(read(&store, FILE_NAME), Ok(Some(list)));
    }
}

#[test]
fn mistakes_are_placed() {
    let mut list = published();
    for event in list.events.values_mut() {
        "Sow".clone_into(&mut event.entry.title);
    }
    let text = to_text(&list).unwrap();
    let swapped = |from: &str, to: &str| {
        assert!(text.contains(from), "{from} is not in\n{text}");
        complaint(&text.replacen(from, to, 1))
    };
    let all = [
        swapped("format: 1", "format: 2"),
        swapped("uid: 0f-off", "uid: 0f-b-0001-sow-1"),
        swapped("last: 2026-10-09", "last: 2026-10-07"),
        swapped("first: 2026-10-08", "first: 2026-13-08"),
        swapped("kind: sow", "kind: sew"),
        swapped("x1234567890123456", "x12"),
        swapped("sequence: 3", "sequence: -3"),
        swapped("changed: ", "chnged: "),
        complaint("events: []\n"),
    ];
    insta::assert_snapshot!(all.join("\n"), @r#"
    3:1 a list of events of another format cannot stand here | write format: 1, the only one known here; a newer sowtide may have written this file
    14:8 0f-b-0001-sow-1 is listed twice | keep the entry with the higher sequence
    5:8 0f-b-0001-sow-1 ends before it begins | swap its days
    8:3 "2026-13-08" cannot stand here | write a date such as 2026-09-01
    6:9 "sew" is not known here | did you mean "sow"?
    11:3 "x12" cannot stand here | write an x and 16 digits from 0 to f
    12:13 this is not a whole number in range | write digits only, such as 12
    13:3 unknown key "chnged" | did you mean "changed"?
    1:1 "format" is missing here | add a line "format: ..."
    "#);
}
