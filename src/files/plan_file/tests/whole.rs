//! Older formats and the size of a plan file.

use super::*;

#[test]
fn a_plan_too_large_to_be_read_is_not_written() {
    let store = Memory::new();
    let mut large = small();
    large.reason = "x".repeat(crate::files::store::MOST_BYTES);
    assert_eq!(write(&store, "plan.yaml", &large).unwrap_err().kind(), io::ErrorKind::FileTooLarge);
    assert_eq!(create(&store, "plan.yaml", &large).unwrap_err().kind(), io::ErrorKind::FileTooLarge);
    assert_eq!(read(&store, "plan.yaml"), Ok(None));
}

#[test]
fn a_plan_of_the_first_format_knows_entries_by_number() {
    let text = to_text(&small()).unwrap().replace("format: 2", "format: 1\njournal-entries: 2");
    let read = from_file(&TextFile::new("plan.yaml", &text)).unwrap();
    let known: Vec<_> = read.known.entries().collect();
    assert_eq!(known, [(EntryId(1), None), (EntryId(2), None)]);
    let again = from_file(&TextFile::new("plan.yaml", &to_text(&read).unwrap())).unwrap();
    assert_eq!(again, read);
}

/// Plans from before the highest number was kept.
#[test]
fn without_a_last_number_the_highest_in_use_is_the_last() {
    let mut plan = small();
    plan.batches[0].id = BatchId::new("b012");
    let text = to_text(&plan).unwrap().replace("last-number: 7\n", "");
    assert_eq!(from_file(&TextFile::new("plan.yaml", &text)).unwrap().last_number, 12);
}
