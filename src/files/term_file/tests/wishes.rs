//! Mistakes in what is wished for, and in what already stands.

use super::{SOUND, outcome, told};

#[test]
fn mistakes_of_the_target() {
    insta::assert_snapshot!(told(&[
        ("  every: Thursday\n", ""),
        ("  servings: 20\n", ""),
        ("  serving: 25 g\n", ""),
        ("serving: 25 g", "mass: 2 kg\n  serving: 25"),
        ("serving: 25 g", "serving: 0 g"),
        ("from: 2027-02-25", "from: 2027-06-25"),
        ("from: 2027-02-25", "from: 2027-02-25\n  until: 2027-02-20"),
        ("every: Thursday", "every: Sometimes"),
        ("day: 2027-03-08", "day: 2027-03-11"),
        ("crops:", "  exceptions: { 2027-02-18: 1 kg, 2027-03-08: 5 servings, 2027-03-18: 2 kilos more, 2027-03-17: none }\ncrops:"),
        ("crops:", "  exceptions: { 2027-02-18: none, 2027-3-18: 1 kg, 2027-06-03: 1 kg, 2027-04-01: -5 servings }\ncrops:"),
        ("  serving: 25 g\n", "  serving: 25 g\n  exceptions:\n    2027-03-18: none\n    2027-03-18: 1 kg\n"),
    ]), @r#"
        == (left out)
        16:3 "every" is missing here | add a line such as every: Thursday
        == (left out)
        16:3 "mass" is missing here | add a line such as mass: 2.5 kg (or servings: 60 with serving: 40 g)
        == (left out)
        16:3 "serving" is missing here | add a line such as serving: 40 g, the size of one serving
        == mass: 2 kg   serving: 25
        18:3 the target is given both as mass and as servings | keep one of the two
        20:12 "25" is not a mass | the unit is missing: write 150 g, 1.2 kg, 5 oz, 2 lb or 3 lb 4 oz
        == serving: 0 g
        19:12 this is nothing to eat | write a mass above 0 g
        == from: 2027-06-25
        17:9 Fri 2027-06-25 lies after the term ends | the term runs from 2027-01-11 to 2027-05-14
        == from: 2027-02-25   until: 2027-02-20
        18:10 the target ends before it begins | write a day from 2027-02-25 on
        == every: Sometimes
        16:10 "Sometimes" is not a weekday | known here: Monday, Tuesday, Wednesday, Thursday, Friday, Saturday, Sunday
        == day: 2027-03-11
        Nothing is served on Thu 2027-03-11: "fair" closes every site. To serve on another day, write "2027-03-10: 500 g" under exceptions.
        == exceptions: { 2027-02-18: 1 kg, 2027-03-08: 5 servings, 2027-03-18: 2 kilos more, 2027-03-17: none } crops:
        20:17 nothing can be served on Thu 2027-02-18: it lies in "winter break" | choose a day outside breaks and closures, or write none
        20:35 nothing can be served on Mon 2027-03-08: it lies in "fair" | choose another day, such as 2027-03-09, or write none
        20:71 "2 kilos more" is not a mass | unknown unit "kilos more": write 150 g, 1.2 kg, 5 oz, 2 lb or 3 lb 4 oz
        20:85 Wed 2027-03-17 is no serving day anyway | correct the date, or remove this line
        == exceptions: { 2027-02-18: none, 2027-3-18: 1 kg, 2027-06-03: 1 kg, 2027-04-01: -5 servings } crops:
        20:35 "2027-3-18" is not a date | write year-month-day with 4, 2 and 2 digits, such as 2026-09-01
        20:52 Thu 2027-06-03 lies after the term ends | the term runs from 2027-01-11 to 2027-05-14
        20:82 this is not a number of servings | write a mass such as 3 kg, a number such as 150 servings, or none
        == serving: 25 g   exceptions:     2027-03-18: none     2027-03-18: 1 kg
        22:5 "2027-03-18" is given twice | keep only one of them
        "#);
}

#[test]
fn mistakes_of_crops_and_rules() {
    insta::assert_snapshot!(told(&[
        ("  - oakleaf", "  - oaklaef"),
        ("  - oakleaf", "  - mizuna"),
        ("  - oakleaf", "  - { name: oakleaf }"),
        ("  - spinach", "  - { crop: pak-choi, way: cut }"),
        ("way: cut", "way: pull"),
        ("way: cut", "at-most: 0.4"),
        ("way: cut", "at-most: 20 %, at-least: 30 %"),
        ("way: cut", "at-least: 120 %"),
        ("kinds: 2", "kinds: 4"),
        ("kinds: 2", "kinds: 2\n  kind-from: 60 %"),
        ("kinds: 2", "one-tank-at-most: 40 %"),
        ("kinds: 2", "smallest-batch: 0\n  clean-every: often\n  turnover-days: -1\n  minutes: { sow: a while }\n  weights: { short: 5, very-short: 1 }"),
        ("kinds: 2", "one-crop-tanks: sometimes"),
        ("kinds: 2", "every-site: perhaps"),
        ("kinds: 2", "rhythm: slow\n  every: 2"),
        ("kinds: 2", "kinds: 1\n  every: 2"),
        ("kinds: 2", "rhythm: free\n  every: 2"),
        ("kinds: 2", "rhythm: steady\n  every: 9"),
        ("kinds: 2", "rhythm: steady\n  every: Tuesday"),
    ]), @r#"
        == - oaklaef
        21:5 unknown crop "oaklaef" | did you mean "oakleaf"?
        == - mizuna
        22:13 "mizuna" is listed twice | keep only one of them
        29:27 "oakleaf" is not among the crops of this term | known here: mizuna, spinach; a crop must be listed under crops, too
        == - { name: oakleaf }
        21:7 unknown key "name" | known here: crop, way, sow, at-most, at-least, only-in
        21:7 "crop" is missing here | add a line such as crop: oakleaf
        == - { crop: pak-choi, way: cut }
        23:28 Pak choi does not grow again after a cut | write way: whole head, or remove the line
        == way: pull
        22:26 "pull" is not known here | known here: whole head, cut, either
        == at-most: 0.4
        22:30 "0.4" is not a share in per cent | write a share from 1 % to 100 %, such as 40 %
        == at-most: 20 %, at-least: 30 %
        22:36 at-least is larger than at-most | make at-least the smaller of the two
        == at-least: 120 %
        22:31 this is too large | write a share from 0 % to 100 %, such as 40 %
        == kinds: 4
        25:10 4 kinds are wanted, but only 3 of the crops can count as one | ask for at most 3 kinds, or add crops
        == kinds: 2   kind-from: 60 %
        26:14 2 kinds with this share each are more than the target | write at most 50 %
        == one-tank-at-most: 40 %
        25:21 2 tanks that may give only 40 % each cannot cover the target | write at least 50 %
        == smallest-batch: 0   clean-every: often   turnover-days: -1   minutes: { sow: a while }   weights: { short: 5, very-short: 1 }
        25:19 this is too small | write a whole number from 1 to 1000
        26:16 it is not clear how often tanks are cleaned | write a number of weeks from 4 to 52, or never
        27:18 this is too small | write a whole number from 0 to 30
        28:19 "a while" is not a number | write a number from 0 to 60
        29:24 very-short is smaller than short | make very-short at least as large as short, so that shortfall is spread over the weeks
        == one-crop-tanks: sometimes
        25:19 "sometimes" is not known here | known here: prefer, always, no
        == every-site: perhaps
        25:15 "perhaps" is not known here | write yes or no
        == rhythm: slow   every: 2
        25:11 "slow" is not known here | known here: free, steady
        == kinds: 1   every: 2
        26:3 only a steady rhythm has weeks between its sowings | add a line rhythm: steady, or remove this one
        == rhythm: free   every: 2
        26:3 only a steady rhythm has weeks between its sowings | add a line rhythm: steady, or remove this one
        == rhythm: steady   every: 9
        26:10 this is too large | write a whole number from 1 to 8
        == rhythm: steady   every: Tuesday
        26:10 "Tuesday" is not a whole number | write a whole number from 1 to 8
        "#);
}

#[test]
fn parts_that_contradict_each_other() {
    insta::assert_snapshot!(told(&[
        ("  - spinach", "  - garden-cress"),
        ("spacing: 15 cm", "spacing: 7 cm"),
        ("ph: 6.0", "ph: 7.5"),
        ("- oakleaf\n  - { crop: mizuna, way: cut }\n  - spinach", "- { crop: oakleaf, at-most: 30 % }\n  - { crop: mizuna, at-most: 20 % }"),
        ("- oakleaf\n  - { crop: mizuna, way: cut }", "- { crop: oakleaf, at-least: 70 % }\n  - { crop: mizuna, at-least: 60 % }"),
        ("- spinach\nrules:\n  kinds: 2", "- { crop: spinach, at-most: 5 % }\nrules:\n  kinds: 3"),
    ]), @r#"
        == - garden-cress
        23:5 no tank's solution suits Garden cress | it needs an EC of 0 to 1.2 mS/cm and a pH of 5.8 to 6.5; change a tank's set-point, or remove the crop
        == spacing: 7 cm
        21:5 no lid has room for Oakleaf lettuce (loose-leaf) | it needs 18 cm between plants; use a lid with more or wider holes, or remove the crop
        28:51 Mizuna is too wide for hole 6 of tank a-1 | use holes 1, 3, 5, 13, 15, 17, or leave holes out
        == ph: 7.5
        21:5 no tank's solution suits Oakleaf lettuce (loose-leaf) | it needs an EC of 0.8 to 2 mS/cm and a pH of 5.5 to 6.5; change a tank's set-point, or remove the crop
        22:13 no tank's solution suits Mizuna | it needs an EC of 1.4 to 2 mS/cm and a pH of 5.8 to 6.8; change a tank's set-point, or remove the crop
        23:5 no tank's solution suits Spinach | it needs an EC of 1.4 to 2 mS/cm and a pH of 5.5 to 6.5; change a tank's set-point, or remove the crop
        28:13 Mizuna does not stand well in tank a-1 | it needs an EC of 1.4 to 2 mS/cm and a pH of 5.8 to 6.8; correct the tank or its set-point
        == - { crop: oakleaf, at-most: 30 % }   - { crop: mizuna, at-most: 20 % }
        20:1 the crops may cover only 50 % of the target together | raise an at-most, or add a crop
        == - { crop: oakleaf, at-least: 70 % }   - { crop: mizuna, at-least: 60 % }
        20:1 the crops are to cover at least 130 % of the target together | lower an at-least, so that the sum is at most 100 %
        == - { crop: spinach, at-most: 5 % } rules:   kinds: 3
        25:10 3 kinds are wanted, but only 2 of the crops can count as one | ask for at most 2 kinds, or add crops
        "#);
    let short = SOUND
        .replace("end: 2027-05-14", "end: 2027-01-22")
        .replace("from: 2027-02-25", "until: 2027-01-21")
        .replace("first: 2027-02-15, last: 2027-02-19", "day: 2027-01-22")
        .replace("day: 2027-03-08", "day: 2027-01-12");
    let short = short.split("standing:").next().unwrap();
    insta::assert_snapshot!(outcome(short).unwrap_err(), @r#"
        error: nothing can be ready by the last serving day, 2027-01-21
         --> term.yaml:4:6
          |
        4 | end: 2027-01-22
          |      ^^^^^^^^^^
          |
          = help: even Spinach takes 14 days from sowing; end the term at least 4 days later, start earlier, or add a quicker crop
        "#);
}

/// Mizuna may be sown straight into the cups of a tank, spinach may not.
#[test]
fn what_was_sown_in_cups_stands_in_its_tank_from_that_day_on() {
    let moved = "sown: 2026-12-20, plants: 3,\n      tank: a-1, transplanted: 2027-01-04";
    let at_once = moved.replace("2027-01-04", "2026-12-20");
    let text = SOUND.replace(moved, &at_once);
    let read = outcome(&text).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(read.term.faults(), Vec::<String>::new());
    let refused = outcome(&text.replace("crop: mizuna, site", "crop: oakleaf, site")).unwrap_err();
    assert_eq!(refused.iter().next().unwrap().message(), "transplanted before it was sown");
}

#[test]
fn mistakes_of_standing_plants() {
    insta::assert_snapshot!(told(&[
        ("batch: old-2", "batch: old-1"),
        ("batch: old-2, ", ""),
        ("crop: oakleaf, site: room", "crop: basil, site: roon"),
        ("sown: 2026-12-28", "sown: 2027-01-28"),
        ("sown: 2026-12-28", "sown: 2026-10-01"),
        ("sown: 2026-12-20", "sown: 2026-11-20"),
        ("plants: 10", "plants: 49"),
        ("plants: 10", "plants: 10, cuts: [2027-01-03]"),
        ("tank: a-1", "tank: a-9"),
        ("transplanted: 2027-01-04", "transplanted: 2026-12-19"),
        ("transplanted: 2027-01-04", "transplanted: 2027-01-04, cuts: [2027-01-10, 2027-01-09]"),
        ("transplanted: 2027-01-04", "transplanted: 2027-01-04, cuts: [2027-01-05, 2027-01-06, 2027-01-07, 2027-01-08]"),
        ("holes: [3, 5, 6]", "holes: [3, 5]"),
        ("holes: [3, 5, 6]", "holes: [3, 5, 25]"),
        ("holes: [3, 5, 6]", "holes: [3, 5, 5]"),
        ("plants: 10", "plants: 2, tank: a-1, transplanted: 2027-01-08, holes: [1, 2]"),
        ("plants: 10", "plants: 2, tank: a-1, transplanted: 2027-01-08, holes: [1, 5]"),
        ("plants: 10", "plants: 13, tank: a-1, transplanted: 2027-01-08"),
    ]), @r#"
        == batch: old-1
        29:14 there are two batches "old-1" | give each batch an id of its own
        == (left out)
        29:7 "batch" is missing here | add a line such as batch: oakleaf-1
        == crop: basil, site: roon
        29:27 "basil" is not among the crops of this term | known here: oakleaf, mizuna, spinach; a crop must be listed under crops, too
        29:40 unknown site "roon" | did you mean "room"?
        == sown: 2027-01-28
        29:54 Thu 2027-01-28 lies after the term starts | what stands at the start was there on 2027-01-11 or before
        == sown: 2026-10-01
        29:54 this Oakleaf lettuce (loose-leaf) cannot be harvested on any class day of the term | it is transplanted 7 to 21 days and harvested 30 to 55 days after sowing; correct the dates, or use these plants up before the term and remove this entry
        == sown: 2026-11-20
        27:53 this Mizuna cannot be harvested on any class day of the term | it is harvested 20 to 38 days after sowing; correct the dates, or use these plants up before the term and remove this entry
        == plants: 49
        29:74 the nursery at room has too few cells for what stands in it | it has 48 cells; correct the number of plants or of cells
        == plants: 10, cuts: [2027-01-03]
        29:78 "cuts" is given, but no tank | add a line such as tank: a, or remove cuts if they are still in the nursery
        == tank: a-9
        28:13 there is no tank "a-9" at room | did you mean "a-1"?
        == transplanted: 2026-12-19
        28:32 transplanted before it was sown | write a day after 2026-12-20
        == transplanted: 2027-01-04, cuts: [2027-01-10, 2027-01-09]
        28:63 this cut comes too early | write cuts in order, each after 2027-01-10
        == transplanted: 2027-01-04, cuts: [2027-01-05, 2027-01-06, 2027-01-07, 2027-01-08]
        27:73 Mizuna gives no further harvest after 4 cuts | clear these holes before the term and remove this entry
        == holes: [3, 5]
        28:51 2 holes are named for 3 plants | name one hole a plant, or leave holes out
        == holes: [3, 5, 25]
        28:51 tank a-1 has no hole 25 | its holes are numbered 1 to 24, row by row
        == holes: [3, 5, 5]
        28:51 hole 5 is named twice | name each hole once
        == plants: 2, tank: a-1, transplanted: 2027-01-08, holes: [1, 2]
        29:121 Oakleaf lettuce (loose-leaf) is too wide for hole 2 of tank a-1 | use holes 1, 3, 5, 8, 10, 12, 13, 15, 17, 20, 22, 24, or leave holes out
        == plants: 2, tank: a-1, transplanted: 2027-01-08, holes: [1, 5]
        29:121 hole 5 of tank a-1 is already taken by "old-1" | count the holes again; wide plants keep the holes beside them empty
        == plants: 13, tank: a-1, transplanted: 2027-01-08
        29:74 tank a-1 has too few holes for what stands in it | it has 24 holes; Oakleaf lettuce (loose-leaf) takes 2 holes a plant here; correct the number of plants or the tank
        "#);
}

#[test]
fn a_day_closed_everywhere_is_told_unless_it_is_answered() {
    let closed = SOUND.replace("day: 2027-03-08", "day: 2027-03-11");
    let remarks = outcome(&closed).unwrap().remarks;
    assert_eq!(remarks.len(), 1);
    let answered =
        closed.replace("crops:", "  exceptions:\n    2027-03-11: none\n    2027-03-10: 1 lb\ncrops:");
    let read = outcome(&answered).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(read.remarks, []);
    assert!(read.term.servings.iter().any(|serving| serving.date.to_string() == "2027-03-10"));
}

#[test]
fn several_targets_add_up_but_never_on_one_day() {
    let two = SOUND.replace(
        "target:\n  every: Thursday\n  from: 2027-02-25\n  servings: 20\n  serving: 25 g\n",
        "target:\n  - { every: Thu, from: 2027-02-25, mass: 1 kg }\n  - { every: [Tuesday], from: 2027-03-01, mass: 500 g }\n",
    );
    let servings = outcome(&two).unwrap_or_else(|problems| panic!("{problems}")).term.servings;
    assert_eq!(servings.len(), 12 + 11);
    let clash = outcome(&two.replace("[Tuesday]", "[Tuesday, Thursday]")).unwrap_err();
    assert!(clash.to_string().contains("gets two targets"), "{clash}");
}

#[test]
fn mistakes_of_what_comes_from_outside() {
    let offer = |entry: &str| format!("arrivals:\n  - {entry}\nstanding:");
    let entries = [
        "{ crop: oakleaf, plants: 24, age: 14 days, date: 2027-01-19, site: room }",
        "{ crop: oaklaef, plants: 0, age: young, date: 2027-01-17, site: nowhere, cost: 3 }",
        "{ crop: oakleaf, plants: 24, age: 90, date: 2027-01-17, site: room, price: free }",
        "{ crop: oakleaf }",
    ];
    let changes: Vec<(&str, String)> = entries.iter().map(|entry| ("standing:", offer(entry))).collect();
    let changes: Vec<(&str, &str)> = changes.iter().map(|(from, to)| (*from, to.as_str())).collect();
    insta::assert_snapshot!(told(&changes), @r#"
        == arrivals:   - { crop: oakleaf, plants: 24, age: 14 days, date: 2027-01-19, site: room } standing:
        27:54 Tue 2027-01-19 is no class day of room | write Mon 2027-01-18 or Thu 2027-01-21
        == arrivals:   - { crop: oaklaef, plants: 0, age: young, date: 2027-01-17, site: nowhere, cost: 3 } standing:
        27:13 "oaklaef" is not among the crops of this term | did you mean "oakleaf"?; a crop must be listed under crops, too
        27:30 this is too small | write a whole number from 1 to 10000
        27:38 this is not an age in days | write how old they are when they come, from 1 to 120, such as age: 21 days
        27:69 unknown site "nowhere" | known here: room
        27:78 unknown key "cost" | known here: crop, plants, age, date, site, price
        == arrivals:   - { crop: oakleaf, plants: 24, age: 90, date: 2027-01-17, site: room, price: free } standing:
        27:39 on the next class day, Oakleaf lettuce (loose-leaf) of 90 days is too old to be moved into a tank | at this site seedlings are moved with 21 days at most, and not on the day they come
        27:49 Sun 2027-01-17 is no class day of room | write Thu 2027-01-14 or Mon 2027-01-18
        27:80 "free" is not a number | write a number from 0 to 1000000
        == arrivals:   - { crop: oakleaf } standing:
        27:7 "site" is missing here | add a line such as site: room-12
        27:7 "plants" is missing here | add a line such as plants: 24
        27:7 "age" is missing here | add a line such as age: 21 days
        27:7 "date" is missing here | add a line such as date: 2026-09-14
        "#);
    insta::assert_snapshot!(told(&[
        ("  - oakleaf", "  - { crop: oakleaf, sow: in cups }"),
        ("way: cut", "way: cut, sow: cups"),
        ("way: cut", "way: cut, sow: in cups"),
    ]), @r#"
        == - { crop: oakleaf, sow: in cups }
        21:27 Oakleaf lettuce (loose-leaf) is not sown straight into cups | write sow: nursery, or remove the line
        == way: cut, sow: cups
        22:36 "cups" is not known here | known here: nursery, in cups, either
        == way: cut, sow: in cups
        "#);
}

#[test]
fn crops_bound_to_sites_and_tanks() {
    let places = |wish: &str| {
        let read =
            outcome(&SOUND.replacen("way: cut", wish, 1)).unwrap_or_else(|problems| panic!("{problems}"));
        let only_in = &read.term.crops[1].only_in;
        let shown = only_in.iter().map(|place| {
            let tank = place.tank.as_ref().map_or_else(String::new, |tank| format!(" {tank}"));
            format!("{}{tank}", place.site)
        });
        shown.collect::<Vec<_>>()
    };
    assert_eq!(places("way: cut"), Vec::<String>::new());
    for whole in ["only-in: room", "only-in: [room]", "only-in: { site: room }"] {
        assert_eq!(places(whole), ["room"], "{whole}");
    }
    assert_eq!(places("only-in: { site: room, tank: a-2 }"), ["room a-2"]);
    let both = "only-in: [{ site: room, tank: a-2 }, { site: room, tank: a-1 }]";
    assert_eq!(places(both), ["room a-2", "room a-1"]);
}

#[test]
fn mistakes_of_places_for_crops() {
    insta::assert_snapshot!(told(&[
        ("way: cut", "only-in: rom"),
        ("way: cut", "only-in: [room/a-1, a-2]"),
        ("way: cut", "only-in: { site: rooms, tank: a-1 }"),
        ("way: cut", "only-in: [{ site: room, tank: a }, { tank: a-1 }, { site: room, hole: 3 }]"),
        ("way: cut", "only-in: [room, room]"),
        ("way: cut", "only-in: [{ site: room, tank: a-1 }, { site: room, tank: a-1 }]"),
        ("way: cut", "only-in: [{ site: room, tank: a-1 }, room]"),
        ("way: cut", "only-in: []"),
        ("way: cut", "only-in:"),
    ]), @r#"
        == only-in: rom
        22:30 unknown site "rom" | did you mean "room"?
        == only-in: [room/a-1, a-2]
        22:31 unknown site "room/a-1" | write a tank as { site: room, tank: a-1 }
        22:41 unknown site "a-2" | write a tank as { site: room, tank: a-2 }
        == only-in: { site: rooms, tank: a-1 }
        22:38 unknown site "rooms" | did you mean "room"?
        == only-in: [{ site: room, tank: a }, { tank: a-1 }, { site: room, hole: 3 }]
        22:51 there is no tank "a" at room | known here: a-1, a-2
        22:58 "site" is missing here | add a line such as site: room-12
        22:85 unknown key "hole" | known here: site, tank
        == only-in: [room, room]
        22:37 room is listed twice | keep only one of them
        == only-in: [{ site: room, tank: a-1 }, { site: room, tank: a-1 }]
        22:78 tank a-1 of room is listed twice | keep only one of them
        == only-in: [{ site: room, tank: a-1 }, room]
        22:51 room is listed with all its tanks already | remove this tank, or the entry room if the crop is to stand in single tanks
        == only-in: []
        22:21 there is no site or tank | write a site, such as only-in: hall, or a tank, { site: room-12, tank: a }; or remove the line
        == only-in:
        22:21 there is no site or tank | write a site, such as only-in: hall, or a tank, { site: room-12, tank: a }; or remove the line
        "#);
}

/// Where the crop may stand decides whether anything suits it.
#[test]
fn places_for_crops_that_do_not_suit_them() {
    let dilute = "\n      - { id: b, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 0.9, ph: 6.0 }\ntarget";
    let fine = "\n      - { id: c, holes: 1 x 1, spacing: 5 cm, litres: 60, ec: 1.6, ph: 6.0 }\ntarget";
    let other = "\n  - id: hall\n    class-days: [Monday]\n    nursery: { cells: 48, unattended-days: 8 }\n    tanks:\n      \
                 - { id: a, holes: 4 x 6, spacing: 15 cm, litres: 60, ec: 1.6, ph: 6.0 }\ntarget";
    let told = |more: &str, only_in: &str, last: &str| {
        let text = SOUND.replacen("\ntarget", more, 1).replacen("way: cut", only_in, 1) + last;
        match outcome(&text) {
            Ok(read) => read.remarks.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"),
            Err(problems) => problems.iter().map(|problem| problem.message().to_owned()).collect(),
        }
    };
    assert_eq!(
        told(dilute, "only-in: { site: room, tank: b }", ""),
        "no tank's solution where it may stand suits Mizuna"
    );
    assert_eq!(
        told(fine, "only-in: { site: room, tank: c }", ""),
        "no lid where it may stand has room for Mizuna"
    );
    // What stands in the room already stays there, and nothing is said against it.
    assert_eq!(told(other, "only-in: hall", ""), "");
    let offer = "arrivals:\n  - { crop: mizuna, plants: 24, age: 14 days, date: 2027-01-18, site: room }\n";
    assert_eq!(
        told(other, "only-in: hall", offer),
        "room: Mizuna offered on Mon 2027-01-18 is not bought, as its only-in names other sites"
    );
}
