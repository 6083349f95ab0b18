//! Tank care and the order list, as people ask for them.

use super::{edit, json, planned_term, run};

#[test]
fn the_order_is_written_and_told_to_scripts() {
    let term = planned_term();
    let file = term.path().join("term.yaml");
    edit(&file, "\nstanding:", "\nsupplies:\n  seed: { oakleaf: { pack: 10 seeds, price: 3 } }\n\nstanding:");
    let ran = run(term.path(), &["sheets", "--kind", "order", "--whole-term", "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let told = json(&ran.out);
    assert_eq!(told["order"]["seeds"][1]["packs"], 3);
    assert_eq!(told["order"]["cost"], 9.0);
    let html = std::fs::read_to_string(term.path().join(told["written"][0].as_str().unwrap())).unwrap();
    assert!(html.contains("3 packets of 10 seeds"));
}

#[test]
fn care_and_days_off_come_by_week() {
    let term = planned_term();
    let kinds = ["sheets", "--kind", "care,before,after", "--site", "hall", "--of"];
    for (day, has, lacks) in [
        ("2026-10-05", ["Tank care, Hall", "Before days off, Hall"], "After days off"),
        ("2026-10-19", ["Tank care, Hall", "After days off, Hall"], "Before days off"),
    ] {
        let ran = run(term.path(), &[&kinds[..], &[day]].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        let html = std::fs::read_to_string(term.path().join(ran.out.trim())).unwrap();
        assert!(has.iter().all(|title| html.contains(title)) && !html.contains(lacks), "{day}");
    }
}

#[test]
fn a_mistake_in_supplies_is_shown_in_its_place() {
    let term = planned_term();
    let file = term.path().join("term.yaml");
    edit(&file, "\nstanding:", "\nsupplies:\n  plugs: { price: 3 }\n\nstanding:");
    let ran = run(term.path(), &["sheets", "--kind", "order"]);
    assert_eq!((ran.code, ran.out.as_str()), (1, ""));
    assert!(
        ran.err.contains("price of an unknown amount") && ran.err.contains("plugs: { price: 3 }"),
        "{}",
        ran.err
    );
}
