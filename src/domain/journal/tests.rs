use super::*;

fn note(id: u32, day: &str, replaces: Option<u32>) -> Entry {
    Entry {
        id: EntryId(id),
        recorded: DateTime::UNIX_EPOCH,
        day: day.parse().unwrap(),
        site: None,
        by: None,
        what: What::Note { batch: None, text: format!("note {id}") },
        replaces: replaces.map(EntryId),
    }
}

fn numbers(journal: &Journal) -> Vec<u32> {
    journal.in_force().iter().map(|entry| entry.id.0).collect()
}

#[test]
fn corrections_stand_where_the_first_entry_stood() {
    let mut journal = Journal::new(vec![
        note(1, "2026-09-02", None),
        note(2, "2026-09-02", None),
        note(3, "2026-09-01", None),
        note(4, "2026-09-02", Some(1)),
        note(5, "2026-09-02", Some(4)),
    ]);
    assert_eq!(numbers(&journal), [3, 5, 2]);
    assert_eq!(journal.replaced_by(EntryId(1)).map(|entry| entry.id), Some(EntryId(4)));
    assert_eq!(journal.next_id(), EntryId(6));
    journal.push(Entry { what: What::Withdrawn, ..note(6, "2026-09-09", Some(5)) });
    assert_eq!(numbers(&journal), [3, 2]);
}

#[test]
fn numbers_are_read_as_shown() {
    assert_eq!("j012".parse(), Ok(EntryId(12)));
    assert_eq!("12".parse(), Ok(EntryId(12)));
    for bad in ["", "j", "j0", "b012", "+3", "j-1", "99999999999"] {
        assert!(bad.parse::<EntryId>().is_err(), "{bad:?}");
    }
    assert_eq!(EntryId(1234).to_string(), "j1234");
}
