//! Taking over spreadsheets.

use super::{planned_term, run_on, typed_on};
use std::fs;

const DAY: &str = "2026-10-12";

#[test]
fn a_spreadsheet_of_another_language_is_taken_over() {
    let here = planned_term();
    let text = "\u{feff}Datum;Wer;Art;Charge;Anzahl;Wie;Gewicht;Bemerkung\r\n\
                8.10.2026;Klasse 5b;geerntet;b-0002;6;geschnitten;289,5;\r\n\
                07.09.2026;Klasse 5b;gesät;b-0002;10;;;\r\n\
                ;;;;;;;\r\n\
                21.9.2026;;verpflanzt;b-0002;9;;;\r\n\
                9.10.2026;\"Reed, Ms\";verloren;b-0002;2;;;\"Schnecken; viele\"\r\n";
    fs::write(here.path().join("buch.csv"), text).unwrap();
    let columns = "day=Datum,by=Wer,what=Art,batch=Charge,plants=Anzahl,plugs=Anzahl,way=Wie,mass=Gewicht,cause=Bemerkung,tank=Ort";
    let words = "geerntet=harvested,gesät=sown,verpflanzt=transplanted,verloren=lost,geschnitten=cut";
    let args = |columns| {
        [
            "record",
            "import",
            "buch.csv",
            "--columns",
            columns,
            "--words",
            words,
            "--date-format",
            "DD.MM.YYYY",
            "--mass-unit",
            "g",
            "--decimal-comma",
        ]
    };
    let missing = run_on(DAY, here.path(), &args(columns));
    assert_eq!(missing.code, 1);
    assert!(missing.err.contains("there is no column \"Ort\""), "{}", missing.err);
    let columns = columns.strip_suffix(",tank=Ort").unwrap();
    assert!(!here.path().join("journal.yaml").exists());
    let text = text.replace("Bemerkung\r\n", "Bemerkung;Ort\r\n").replace("viele\"\r\n", "viele\";blue\r\n");
    fs::write(here.path().join("buch.csv"), text).unwrap();
    let columns = format!("{columns},tank=Ort");
    insta::assert_snapshot!(typed_on(DAY, here.path(), &[&args(&columns), &["today"]]));
}

#[test]
fn every_bad_line_is_told_and_nothing_is_taken_over() {
    let here = planned_term();
    let text = "day,what,batch,plants,way,mass,cause\n\
                2026-10-08,harvested,b-0002,6,cut,280 g,\n\
                2026-10-08,reaped,b-0002,6,cut,280 g,\n\
                8 October,harvested,b-0002,six,snip,280,\n\
                2026-10-08,harvested,b-0020,3,whole,\"1,2 kg\",\n\
                2026-10-08,lost,b-0002,1,,,\n\
                2026-10-08,harvested,,3,whole,100 g,\n";
    fs::write(here.path().join("h.csv"), text).unwrap();
    let args = ["record", "import", "h.csv"];
    let told = typed_on(DAY, here.path(), &[&args]);
    let sound = "day,what,batch,plants,way,mass\n2026-10-08,harvested,b-0002,6,cut,280 g\n\
                 2026-10-08,harvested,b-0002,10,whole,200 g\n2026-10-20,harvested,b-0002,6,whole,280 g\n";
    fs::write(here.path().join("h.csv"), sound).unwrap();
    insta::assert_snapshot!(format!("{told}\n{}", typed_on(DAY, here.path(), &[&args])));
    assert!(!here.path().join("journal.yaml").exists());
}

#[test]
fn sheets_without_what_is_needed_are_refused() {
    let here = planned_term();
    let mut all = String::new();
    for (text, args) in [
        ("", &[][..]),
        ("day,batch\n2026-10-08,b-0002\n", &[]),
        ("batch,what\nb-0002,sown\n", &[]),
        ("day,what\n", &[]),
        ("Day,Batch\n2026-10-08,b-0002\n", &["--what", "seen"]),
        ("Tag,what\n2026-10-08,note\n", &["--columns", "dya=Tag"]),
    ] {
        fs::write(here.path().join("s.csv"), text).unwrap();
        all.push_str(&typed_on(DAY, here.path(), &[&[&["record", "import", "s.csv"], args].concat()]));
        all.push('\n');
    }
    insta::assert_snapshot!(all);
}

#[test]
fn a_spreadsheet_that_grows_is_taken_over_again() {
    let here = planned_term();
    let file = here.path().join("h.csv");
    let text = "day,what,batch,plants,way,mass\n2026-10-08,harvested,b-0002,4,cut,280 g\n";
    fs::write(&file, text).unwrap();
    let import = ["record", "import", "h.csv"];
    assert_eq!(run_on(DAY, here.path(), &import).code, 0);
    let correct =
        "record harvested --batch b-0002 --plants 5 --way cut --mass 300g --day 2026-10-08 --replaces j001";
    assert_eq!(run_on(DAY, here.path(), &correct.split(' ').collect::<Vec<_>>()).code, 0);
    fs::write(&file, format!("{text}2026-10-09,harvested,b-0002,3,whole,150 g\n")).unwrap();
    let again = [&import[..], &["--again"]].concat();
    let told = typed_on(DAY, here.path(), &[&again, &again, &["journal"]]);
    insta::assert_snapshot!(told);
}

#[test]
fn doubtful_masses_and_cells_without_a_heading_are_told_by_their_place() {
    let here = planned_term();
    let head = "day,what,batch,plants,way,mass\n2026-10-08,harvested,b-0002,6,cut,";
    let semicolons = |text: &str| format!("{head}{text}\n").replace(',', ";").replace('~', ",");
    for (text, args, place, told) in [
        (semicolons("1.5 kg"), &["--decimal-comma"][..], "h.csv:2:35", "only parts thousands"),
        (semicolons("1.50~5 g"), &["--decimal-comma"], "h.csv:2:35", "only parts thousands"),
        (semicolons("1~500 g"), &[], "h.csv:2:35", "--decimal-comma"),
        (format!("{head}1,5 kg\n"), &[], "h.csv:2:37", "more cells than there are headings"),
        (format!("{head}1,5\n"), &["--mass-unit", "kg"], "h.csv:2:37", "\"5\" stands under none"),
    ] {
        fs::write(here.path().join("h.csv"), &text).unwrap();
        let ran = run_on(DAY, here.path(), &[&["record", "import", "h.csv"], args].concat());
        assert!(ran.code == 1 && ran.err.contains(place) && ran.err.contains(told), "{text}: {}", ran.err);
    }
    assert!(!here.path().join("journal.yaml").exists());
    fs::write(here.path().join("h.csv"), semicolons("1.500~5 g")).unwrap();
    let ran = run_on(DAY, here.path(), &["record", "import", "h.csv", "--decimal-comma", "--json"]);
    assert!(ran.code == 0 && ran.out.contains("1500.5"), "{} {}", ran.out, ran.err);
}

/// Imports a text as a file, and tells what a person sees.
fn imported(folder: &std::path::Path, text: &str, args: &[&str]) -> (i32, String) {
    fs::write(folder.join("h.csv"), text).unwrap();
    let ran = run_on(DAY, folder, &[&["record", "import", "h.csv"], args].concat());
    (ran.code, format!("{}{}", ran.out, ran.err))
}

#[test]
fn lines_left_out_are_counted_and_equal_ones_are_told() {
    let here = planned_term();
    let folder = here.path();
    let head = "day,what,batch,plants,way,mass";
    let line = "2026-10-08,harvested,b-0002,2,cut,90 g";
    let first = imported(folder, &format!("{head}\n{line}\n"), &[]);
    assert_eq!(first.0, 0, "{}", first.1);
    let twice = imported(folder, &format!("{head}\n{line}\n{line}\n"), &["--again"]);
    assert!(twice.0 == 1 && twice.1.contains("lines 2 and 3 say the same"), "{}", twice.1);
    let other = line.replace(",2,cut,90", ",3,cut,130");
    let more = imported(folder, &format!("{head}\n{line}\n{other}\n"), &["--again"]);
    assert!(more.0 == 0 && more.1.contains("1 line was taken over before and is left out"), "{}", more.1);
}

#[test]
fn headings_of_one_meaning_are_refused_and_unused_ones_told() {
    let here = planned_term();
    let note = "2026-10-08,note,seen";
    for (text, args, told) in [
        (format!("day,what,text,Text\n{note},heard\n"), &[][..], "h.csv:1:15"),
        (
            format!("day,what,Memo,memo\n{note},heard\n"),
            &["--columns", "text=memo"],
            "several columns \"memo\"",
        ),
        (format!("day,what,A,B\n{note},heard\n"), &["--columns", "text=A,text=B"], "maps \"text\" twice"),
    ] {
        let ran = imported(here.path(), &text, args);
        assert!(ran.0 == 1 && ran.1.contains(told), "{}", ran.1);
    }
    let ran = imported(here.path(), &format!("day,what,text,holes,other\n{note},1-3,\n"), &[]);
    assert!(ran.0 == 0 && ran.1.contains("The column \"holes\" is not taken over"), "{}", ran.1);
}

#[test]
fn losses_say_how_many_and_where_unless_there_is_one_place() {
    let here = planned_term();
    let folder = here.path();
    let head = "day,what,batch,tank,plants,cause";
    let lost = |tank: &str, number: &str| format!("{head}\n2026-10-09,lost,b-0002,{tank},{number},snails\n");
    let blank = imported(folder, &lost("blue", ""), &[]);
    assert!(blank.0 == 1 && blank.1.contains("does not say how many were lost"), "{}", blank.1);
    let ran = imported(folder, &lost("", "2"), &["--json"]);
    assert!(ran.0 == 0 && ran.1.contains("\"tank\": \"blue\""), "{}", ran.1);
    let all = imported(folder, &lost("", "all"), &[]);
    assert!(all.0 == 0 && all.1.contains("all plants lost in tank blue"), "{}", all.1);
    // Now none are left anywhere.
    let nowhere = imported(folder, &lost("", "1"), &[]);
    assert!(nowhere.0 == 1 && nowhere.1.contains("it is not clear where plants of b-0002"), "{}", nowhere.1);
}
