use super::*;

#[test]
fn durations_read_as_the_standard_writes_them() {
    for (text, hours) in [("P1W", 168), ("P5D", 120), ("PT36H", 36), ("P1DT12H", 36), ("+P2D", 48)] {
        assert_eq!(duration(text), Some(TimeDelta::hours(hours)), "{text}");
    }
    for text in ["", "P", "5D", "P5", "P1DT5", "-P1D", "PXD", "P99999999999D", "P1Y"] {
        assert_eq!(duration(text), None, "{text}");
    }
}

/// A rule is worked out from a later day as from the first.
#[test]
fn a_nearer_beginning_gives_the_same_days() {
    let begin: NaiveDateTime = "1999-12-29T08:00:00".parse().unwrap();
    let span = DateSpan { first: "2026-09-01".parse().unwrap(), last: "2026-12-31".parse().unwrap() };
    for rule in [
        "FREQ=DAILY",
        "FREQ=DAILY;INTERVAL=11",
        "FREQ=DAILY;INTERVAL=3;BYDAY=MO,TU",
        "FREQ=WEEKLY",
        "FREQ=WEEKLY;INTERVAL=5;BYDAY=MO,FR;WKST=SU",
        "FREQ=WEEKLY;INTERVAL=2;BYDAY=SU,MO;WKST=MO",
        "FREQ=MONTHLY;BYMONTHDAY=13",
    ] {
        let near = repeated(rule, "x", begin, None, span, &mut Patience(100_000)).unwrap();
        // A count so high that it ends nothing keeps the first day where it is.
        let far = format!("{rule};COUNT=60000");
        let far = repeated(&far, "x", begin, None, span, &mut Patience(100_000)).unwrap();
        assert!(!near.is_empty(), "{rule}");
        assert_eq!(near, far, "{rule}");
    }
    assert!(nearer("FREQ=DAILY;INTERVAL=11", begin, span.first).date() > "2026-08-01".parse().unwrap());
}

#[test]
fn days_are_covered_from_begin_to_end() {
    let covered = |begin: &str, end: &str| {
        let (begin, end) = (begin.parse().unwrap(), end.parse().unwrap());
        let length = Length { begin, end, whole_days: false };
        let school = length.school_days().map(|covered| (covered.skipped, covered.days));
        (length.touched().days, school)
    };
    assert_eq!(covered("2026-09-07T08:00:00", "2026-09-07T15:00:00"), (1, Some((0, 1))));
    assert_eq!(covered("2026-09-07T14:00:00", "2026-09-07T15:30:00"), (1, None));
    assert_eq!(covered("2026-09-07T18:00:00", "2026-09-07T21:00:00"), (1, None));
    assert_eq!(covered("2026-09-07T09:00:00", "2026-09-07T13:59:00"), (1, None));
    assert_eq!(covered("2026-09-07T08:00:00", "2026-09-09T12:00:00"), (3, Some((0, 2))));
    assert_eq!(covered("2026-09-04T15:00:00", "2026-09-08T08:00:00"), (5, Some((1, 3))));
    assert_eq!(covered("2026-09-07T05:00:00", "2026-09-08T05:00:00"), (2, Some((0, 1))));
    assert_eq!(covered("2026-09-07T18:00:00", "2026-09-08T08:00:00"), (2, None));
}

#[test]
fn the_end_of_a_rule_is_put_on_the_clock_of_the_entry() {
    let paris = Some(Tz::Europe__Paris);
    for (rule, expected) in [
        ("FREQ=DAILY;UNTIL=20261201", "FREQ=DAILY;UNTIL=20261201T235959Z"),
        ("FREQ=DAILY;UNTIL=20261201T233000Z", "FREQ=DAILY;UNTIL=20261202T003000Z"),
        ("FREQ=DAILY;COUNT=3", "FREQ=DAILY;COUNT=3"),
    ] {
        assert_eq!(with_clock_end(rule, paris).as_deref(), Some(expected));
    }
    assert_eq!(with_clock_end("FREQ=DAILY;UNTIL=soon", paris), None);
}
