//! Spreadsheets with the headings, dates and mistakes that are usual.

use super::{planned_term, run_on, typed_on};
use std::fs;
use tempfile::TempDir;

const DAY: &str = "2026-10-12";

/// Imports a text, and gives the exit code and all that was printed.
fn imported(here: &TempDir, text: &str, args: &[&str]) -> (i32, String) {
    fs::write(here.path().join("h.csv"), text).unwrap();
    let ran = run_on(DAY, here.path(), &[&["record", "import", "h.csv"], args].concat());
    (ran.code, format!("{}{}", ran.out, ran.err))
}

#[test]
fn usual_headings_are_found_and_told() {
    let here = planned_term();
    // 46303 is 8 October 2026, counted in days since 30 December 1899.
    let text = "Date,Who,Room/Site,Crop,Plants/Heads,Cut or pulled,Weight (oz),Notes,Colour\n\
                46303,Class 5b,Hall; north,Oakleaf lettuce,6,cut 1 of 2,10.2,crisp,green\n\
                2026-10-08,,hall,oakleaf,3,pull,6,,red\n";
    let text = text.replace("Hall; north", "\"Hall; north, upper\"");
    fs::write(here.path().join("h.csv"), &text).unwrap();
    let import = ["record", "import", "h.csv", "--what", "harvest"];
    insta::assert_snapshot!(typed_on(DAY, here.path(), &[&import, &[&import[..], &["--again"]].concat()]));
}

#[test]
fn headings_in_doubt_are_asked_for() {
    let here = planned_term();
    for (head, args, told) in [
        (
            "Date,Day,Batch,Plants,Way,Mass",
            &["--what", "harvested"][..],
            "\"Day\" and \"Date\" may both be the column for \"day\"",
        ),
        ("Date,Batch,Plants,Way,Weight,Yield", &["--what", "harvested"], "--columns \"mass=Weight\""),
        ("When seen,Batch,Plants,Way,Weight", &["--what", "harvested"], "Columns left out: \"When seen\""),
        ("Date,Batch,Plants,Way,Weight", &[], "there is no column for \"what\""),
        (
            "Date,Batch,Plants,Way,Weight (g)",
            &["--what", "harvested", "--mass-unit", "oz"],
            "but --mass-unit oz",
        ),
    ] {
        let (code, out) = imported(&here, &format!("{head}\n2026-10-08,b-0002,6,cut,280 g,3\n"), args);
        assert!(code > 0 && out.contains(told), "{head}: {out}");
    }
    let settled = ["--what", "harvested", "--columns", "mass=Weight"];
    let text = "Date,Batch,Plants,Way,Weight,Yield\n2026-10-08,b-0002,6,cut,280 g,3\n";
    let (code, out) = imported(&here, text, &settled);
    assert!(
        code == 0 && out.contains("Columns left out: \"Yield\"") && !out.contains("\"Weight\" as"),
        "{out}"
    );
}

#[test]
fn a_crop_stands_for_its_batch_only_where_there_is_one() {
    let here = planned_term();
    let sheet = |day: &str, crop: &str| {
        format!("day,what,crop,plants,way,mass\n{day},harvested,{crop},1,pull,50 g\n")
    };
    for (day, crop, told) in [
        ("2026-10-08", "carrot", "there is no crop in the term called \"carrot\""),
        ("2026-10-01", "leaf mustard", "no batch of \"leaf mustard\" is planned for that about 2026-10-01"),
    ] {
        let (code, out) = imported(&here, &sheet(day, crop), &[]);
        assert!(code == 1 && out.contains(told), "{out}");
    }
    let wrong = "day,what,batch,crop,plugs\n2026-09-07,sown,b-0002,leaf mustard,10\n";
    let (code, out) = imported(&here, wrong, &[]);
    assert!(code == 1 && out.contains("batch b-0002 is oakleaf in the plan, not \"leaf mustard\""), "{out}");
    let several = "day,what,crop,tank,plants,cause\n2026-09-10,lost,oakleaf,,1,snails\n";
    let (code, out) = imported(&here, several, &[]);
    assert!(code == 1 && out.contains("may be any of these batches on 2026-09-10: b-0001, b-0002"), "{out}");
}

#[test]
fn a_mistake_of_many_lines_is_told_once() {
    let here = planned_term();
    let lines = |day: &dyn Fn(u32) -> String| -> String {
        (1..=30).map(|line| format!("{},lost,b-0002,blue,1,snails {line}\n", day(line))).collect()
    };
    let head = "day,what,batch,tank,plants,cause\n";
    let (code, out) = imported(&here, &format!("{head}{}", lines(&|line| format!("10/{line}/2026"))), &[]);
    assert_eq!((code, out.matches("error:").count()), (1, 1), "{out}");
    assert!(
        out.contains("\"10/1/2026\" is not a date (so in 30 lines: 2, 3, 4, 5, 6, 7 and 24 more)"),
        "{out}"
    );
    assert!(out.contains("M/D/YYYY or --date-format D/M/YYYY"), "{out}");
    // Nine plants were there, all others are too many.
    let (code, out) = imported(&here, &format!("{head}{}", lines(&|_| "2026-10-09".to_owned())), &[]);
    assert_eq!((code, out.matches("error:").count()), (1, 1), "{out}");
    let serial = format!("{head}40000,lost,b-0002,blue,1,snails\n");
    let (code, out) = imported(&here, &serial, &[]);
    assert!(code == 1 && out.contains("it would be 2009-07-06, which is outside the term"), "{out}");
    assert!(!here.path().join("journal.yaml").exists());
}
