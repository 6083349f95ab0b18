//! Sites, tanks and crops by the names that people use.

use super::{edit, planned_term, run_on, term};

const DAY: &str = "2026-10-08";

#[test]
fn sites_are_known_by_their_names() {
    let here = planned_term();
    for args in [
        &["today", "--site", "Room 4"][..],
        &["status", "--site", "ROOM 4"],
        &["week", "--site", "room 4"],
        &["journal", "--of", "Room 4"],
        &["record", "note", "hello", "--site", "Room 4"],
        &["record", "class-lost", "--site", "Room 4", "--day", "2026-10-09"],
        &["record", "behind", "--site", "Hall; north, Upper", "--days", "2"],
        &["record", "tank-out", "--site", "room 4", "--tank", "Tank Blue"],
    ] {
        let ran = run_on(DAY, here.path(), args);
        assert_eq!(ran.code, 0, "{args:?}: {}", ran.err);
    }
    let listed = run_on(DAY, here.path(), &["journal", "--of", "Room 4"]).out;
    assert!(listed.contains("hello") && !listed.contains("behind"), "{listed}");
    let wrong = run_on(DAY, here.path(), &["record", "behind", "--site", "Rom 4", "--days", "2"]);
    assert!(wrong.code == 1 && wrong.err.contains("did you mean \"room-4\""), "{}", wrong.err);
}

#[test]
fn crops_are_known_by_their_other_names() {
    let here = planned_term();
    let crop = here.path().join("crops/oakleaf.yaml");
    edit(&crop, "name: Oakleaf lettuce", "name: Oakleaf lettuce (red)\nalso_called: [oak leaf]");
    for name in ["Oak leaf", "OAKLEAF", "oakleaf lettuce", "red"] {
        let ran = run_on(DAY, here.path(), &["record", "behind", "--crop", name, "--days", "2"]);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
        let undo = run_on(DAY, here.path(), &["record", "withdraw", "j001"]);
        assert_eq!(undo.code, 0, "{}", undo.err);
        std::fs::remove_file(here.path().join("journal.yaml")).unwrap();
        std::fs::remove_dir_all(here.path().join("plans")).unwrap();
    }
    let wrong = run_on(DAY, here.path(), &["record", "behind", "--crop", "oack leaf", "--days", "2"]);
    assert!(wrong.code == 1 && wrong.err.contains("did you mean \"oak leaf\""), "{}", wrong.err);
}

#[test]
fn what_a_site_says_of_crops_may_use_any_of_their_names() {
    let with = |crops: &str| {
        let here = term();
        let file = here.path().join("term.yaml");
        edit(
            &file,
            "    class-days: [Tuesday, Friday]",
            &format!("    crops: {crops}\n    class-days: [Tuesday, Friday]"),
        );
        run_on(DAY, here.path(), &["check"])
    };
    let known = with("{ \"Leaf mustard\": { pace: 1.1 }, arugula: { yield: 0.9 } }");
    assert!(known.code == 0 && known.err.contains("rocket is not used"), "{}", known.err);
    assert!(!known.err.contains("mustard is not used"), "{}", known.err);
    for (crops, told) in [
        ("{ leaf-mustrad: { pace: 1.1 } }", "did you mean \"leaf-mustard\""),
        ("{ butterhed: { pace: 1.1 } }", "did you mean \"butterhead\""),
        ("{ arugla: { pace: 1.1 } }", "did you mean \"arugula\""),
        ("{ rocket: { pace: 1.1 }, arugula: { pace: 1.2 } }", "\"arugula\" is rocket, which is told above"),
    ] {
        let wrong = with(crops);
        assert!(wrong.code == 1 && wrong.err.contains(told), "{crops}: {}", wrong.err);
    }
}
