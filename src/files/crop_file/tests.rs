//! Crop files with and without mistakes.

use super::read;
use crate::domain::crop::{Crop, DaySpan, Limits, Source, Variation};
use crate::domain::ids::CropId;
use crate::files::problem::{Problems, TextFile};

const SOUND: &str = "\
format: 1
name: Test leaf
scientific_name: Lactuca sativa
kind: lettuce
germination:      { value: 95 %, source: packet }
seeds_per_plug:   { value: 2, source: common practice }
seeds_per_gram:   { value: 890.5, source: from memory }
emergence:        { least: 2, usual: 3, most: 4, source: from memory }
nursery:          { least: 7, usual: 14, most: 21, source: from memory }
nursery_survival: { value: 90 %, source: from memory }
first_cut:        { least: 25, usual: 30, most: 42, source: from memory }
whole_head:       { least: 30, usual: 35, most: 49, source: from memory }
hold:             { least: 0, usual: 7, most: 14, source: from memory }
tank_survival:    { value: 95 %, source: from memory }
ready_to_eat:     { value: 90 %, source: from memory }
growth:
  mass: { 14: 3 g, 28: 70 g, 35: 5 oz }
  source: from memory
regrowth:
  interval: { least: 10, usual: 14, most: 21, source: from memory }
  harvests: { value: 3, source: from memory }
  taken:    { value: 67 %, source: common practice }
  strength: { value: [80 %, 60 %], source: from memory }
spacing:          { value: 8 in, source: from memory }
ph:               { low: 5.5, high: 6.5, source: from memory }
ec:               { low: 0.8, high: 2.0, source: from memory }
air:              { low: 59 F, high: 25 C, source: from memory }
water_a_day:      { value: 200 ml, source: from memory }
shelf_life:       { value: 7, source: from memory }
storage:          { value: 5 C, source: from memory }
bolting:
  note: >-
    Keep it
    cool.
  source: from memory
sources:
  packet: Seed packet, 2026
";

fn parse(text: &str) -> Result<Crop, Problems> {
    read(CropId::new("test-leaf"), &TextFile::new("crops/test-leaf.yaml", text))
}

/// Line, column, title and help of every mistake after putting `new` for `old`.
fn complaints(changes: &[(&str, &str)]) -> String {
    let mut text = SOUND.to_owned();
    for (old, new) in changes {
        assert!(text.contains(old), "{old}");
        text = text.replacen(old, new, 1);
    }
    let problems = parse(&text).unwrap_err();
    let lines: Vec<String> = problems
        .iter()
        .map(|problem| {
            let (line, column) = (problem.line().unwrap_or(0), problem.column().unwrap_or(0));
            format!("{line}:{column} {} | {}", problem.message(), problem.help())
        })
        .collect();
    lines.join("\n")
}

#[test]
fn a_sound_file_is_read_as_written() {
    let crop = parse(SOUND).unwrap();
    assert_eq!(crop.id.as_str(), "test-leaf");
    assert!((crop.germination.value - 0.95).abs() < 1e-9);
    assert_eq!(crop.germination.source, Source::Published("Seed packet, 2026".to_owned()));
    assert_eq!(crop.seeds_per_plug.source, Source::CommonPractice);
    let nursery = DaySpan { min: 7, usual: 14, max: 21 };
    assert_eq!(crop.nursery.value, nursery);
    assert!((crop.growth.value.grams_at(35.0) - 141.7).abs() < 0.1);
    assert!((crop.spacing.value.cm() - 20.32).abs() < 1e-9);
    assert!((crop.air.value.low.celsius() - 15.0).abs() < 1e-9);
    assert!((crop.water_a_day.value - 0.2).abs() < 1e-9);
    let regrowth = crop.regrowth.unwrap();
    assert_eq!(regrowth.strength.value.len(), 2);
    assert_eq!(crop.bolting.unwrap().value, "Keep it cool.");
    assert_eq!(crop.allergy, None);
    // What the file does not tell is remembered.
    let (tank_days, variation) = (crop.tank_days, crop.variation);
    assert_eq!((tank_days.value, tank_days.spread, tank_days.source), (10, None, Source::FromMemory));
    assert_eq!((variation.value.between_plants, variation.source), (0.2, Source::FromMemory));
}

#[test]
fn figures_tell_how_far_they_may_be_off() {
    let text = SOUND
        .replace("value: 95 %, source: packet", "value: 95 %, low: 85 %, high: 99 %, source: packet")
        .replace("value: 8 in,", "value: 8 in, low: 18 cm, high: 8 in,")
        .replace("value: 7, source", "value: 7, low: 5, high: 14, source")
        .replace(
            "regrowth:\n",
            "variation: { between_plants: 12 %, between_batches: 8 %, days: 1.7, source: packet }\nregrowth:\n",
        );
    let crop = parse(&text).unwrap();
    assert_eq!(crop.germination.spread, Some(Limits { low: 0.85, high: 0.99 }));
    assert!((crop.spacing.spread.unwrap().low.cm() - 18.0).abs() < 1e-9);
    // Cut leaves keep as long as whole heads, but not beyond the law.
    assert_eq!(
        (crop.cut_shelf_life.value, crop.cut_shelf_life.spread),
        (6, Some(Limits { low: 5, high: 6 }))
    );
    let expected = Variation { between_plants: 0.12, between_batches: 0.08, days: 1.7 };
    assert_eq!(crop.variation.value, expected);
    // Germination, nursery survival ... tell their spread or not; stretches of days always do.
    let told: Vec<&str> =
        crop.deciding().iter().filter(|figure| !figure.spread).map(|figure| figure.key).collect();
    assert!(!told.contains(&"germination") && !told.contains(&"nursery"), "{told:?}");
    assert!(told.contains(&"tank_survival"), "{told:?}");
    // Two of all come from the packet.
    assert_eq!(crop.published(), (2, 24));
}

#[test]
fn a_spread_holds_its_value() {
    let spreads = complaints(&[
        ("value: 95 %, source: packet", "value: 95 %, low: 96 %, high: 99 %, source: packet"),
        ("value: 2, source", "value: 2, low: 1, source"),
        ("{ value: 90 %, source", "{ value: 90 %, low: 80 %, high: 85 %, source"),
        ("value: 67 %", "value: 67 %, low: 5 %, high: 70"),
        ("value: 8 in,", "value: 8 in, low: 30 cm, high: 10 cm,"),
        (
            "regrowth:\n",
            "variation: { between_plants: 12, between_batches: 120 %, source: packet }\nregrowth:\n",
        ),
    ]);
    insta::assert_snapshot!(spreads, @r#"
    5:39 the value lies outside its own spread | low must not be above the value, nor high below it
    6:36 only one end of the spread is given | write low and high, or neither
    10:51 the value lies outside its own spread | low must not be above the value, nor high below it
    19:14 "days" is missing here | add a line such as "days: 2"
    19:30 "12" is not a share in per cent | write a share from 0 % to 100 %, such as 12 %
    19:51 this is too large | write a share from 0 % to 100 %, such as 40 %
    23:33 this is too small | write a share from 10 % to 95 %, such as 40 %
    23:44 "70" is not a share in per cent | write a share from 10 % to 95 %, such as 70 %
    25:39 the value lies outside its own spread | low must not be above the value, nor high below it
    25:52 the value lies outside its own spread | low must not be above the value, nor high below it
    "#);
    let bare = complaints(&[("regrowth:\n", "variation: 12 %\nregrowth:\n")]);
    insta::assert_snapshot!(bare, @r#"19:12 this figure does not say where it comes from | write "variation: { between_plants: 20 %, between_batches: 10 %, days: 2, source: from memory }""#);
}

#[test]
fn all_mistakes_of_a_file_come_together() {
    let changes = [
        ("format: 1", "format: 2"),
        ("kind: lettuce", "knid: lettuce"),
        ("value: 95 %, source: packet", "value: 0.95, source: pakcet"),
        ("least: 2, usual: 3, most: 4", "least: 5, usual: 3, most: 2"),
        ("{ value: 90 %, source: from memory }", "{ value: 90 % }"),
        ("28: 70 g", "28: 2 g"),
        ("least: 10, usual: 14", "least: 10, usual: two weeks"),
        ("[80 %, 60 %]", "[80 %]"),
        ("low: 5.5, high: 6.5", "low: 6.5, high: 5.5"),
        ("value: 8 in", "value: 8"),
        ("storage:          { value: 5 C, source: from memory }\n", ""),
    ];
    insta::assert_snapshot!(complaints(&changes), @r#"
    1:1 "kind" is missing here | add a line such as kind: lettuce
    1:1 "storage" is missing here | add a line such as "storage: { value: 5 C, source: from memory }"
    1:9 this format is not known here | write format: 1, or use a newer Sowtide
    4:1 unknown key "knid" | did you mean "kind"?
    5:28 "0.95" is not a share in per cent | write a share from 1 % to 100 %, such as 95 %
    5:42 "pakcet" is not listed under "sources" | did you mean "packet"?
    8:38 3 days are fewer than the 5 before | least, usual and most must not fall
    8:47 2 days are fewer than the 3 before | least, usual and most must not fall
    10:21 "source" is missing here | add a line such as "source: from memory"
    17:24 no plant grows like this | the masses must be above 0 g, at most 5 kg, and never fall
    20:33 "two weeks" is not a whole number | write a whole number from 1 to 200
    23:3 3 harvests go with 2 strengths, not 1 | give one for the second growth, one for the third, and so on up to the last harvest
    24:28 "8" is not a length | the unit is missing: write 15 cm or 6 in
    25:37 this is below the low end | write the smaller value as low and the larger one as high
    "#);
}

#[test]
fn values_out_of_range_are_refused() {
    let changes = [
        ("value: 2, source", "value: 61, source"),
        ("value: 67 %", "value: 96 %"),
        ("[80 %, 60 %]", "[80 %, 90 %]"),
        ("high: 25 C", "high: 25"),
        ("value: 200 ml", "value: 0,2 L"),
        ("value: 5 C", "value: 80 F"),
        ("14: 3 g", "0: 3 g"),
        ("value: 7, source", "value: , source"),
        ("value: 3, source", "value: [3], source"),
    ];
    insta::assert_snapshot!(complaints(&changes), @r#"
    6:28 this is too large | write a whole number from 1 to 60
    17:11 no plant grows like this | the ages must rise from point to point
    21:22 a single value was expected here | write only one value
    22:22 this is too large | write a share from 10 % to 95 %, such as 40 %
    23:29 this growth gains strength | no growth may be stronger than the one before
    27:38 "25" is not a temperature | the unit is missing: write 21 C or 70 F
    28:28 "0" is not an amount of water a plant can use | write 0.2 L or 200 ml, at most 20 L
    28:30 unknown key "2 L" | known here: value, low, high, source
    29:26 the value is missing | write it after the colon, or remove the line
    30:28 this is too warm | write a temperature from 0 C to 25 C
    "#);
}

#[test]
fn a_key_given_twice_is_refused() {
    let twice = complaints(&[
        ("kind: lettuce", "kind: lettuce\nname: Other"),
        ("  packet:", "  packet: x\n  packet:"),
    ]);
    insta::assert_snapshot!(twice, @r#"
    5:1 "name" is given twice | keep only one of them
    39:3 "packet" is given twice | keep only one of them
    "#);
}

#[test]
fn days_must_fit_together() {
    let first_cut = "first_cut:        { least: 25, usual: 30, most: 42, source: from memory }\n";
    let whole_head = "whole_head:       { least: 30, usual: 35, most: 49, source: from memory }\n";
    let neither = complaints(&[(first_cut, ""), (whole_head, "")]);
    insta::assert_snapshot!(neither, @r#"
    2:1 neither "first_cut" nor "whole_head" is given | say when this crop can be cut young, grown whole, or both
    17:1 a crop that grows again needs the days to its "first_cut" | add "first_cut", or remove "regrowth"
    "#);
    let early = complaints(&[("least: 25, usual: 30", "least: 21, usual: 30")]);
    insta::assert_snapshot!(early, @r#"11:1 this may come on day 21, with seedlings in the nursery up to day 21 | make the most days of "nursery" fewer than the least days here"#);
}

#[test]
fn empty_parts_are_refused() {
    let empty = complaints(&[
        ("{ 14: 3 g, 28: 70 g, 35: 5 oz }", "{}"),
        ("{ value: [80 %, 60 %], source: from memory }", "{ value: [], source: from memory }"),
        ("ph:               { low: 5.5, high: 6.5, source: from memory }", "ph: 6"),
        ("  packet: Seed packet, 2026\n", ""),
    ]);
    insta::assert_snapshot!(empty, @r#"
    5:42 "packet" is not listed under "sources" | write from memory or common practice, or list the work under "sources" at the end of the file
    17:9 there is no growth curve yet | a growth curve needs at least one point
    23:3 3 harvests go with 2 strengths, not 0 | give one for the second growth, one for the third, and so on up to the last harvest
    25:5 this figure does not say where it comes from | write "ph: { low: 5.5, high: 6.5, source: from memory }"
    36:8 short names of sources with values were expected here | write each as "key: value" on a line of its own, indented
    "#);
    let bare = complaints(&[
        ("{ value: 95 %, source: packet }", "95 %"),
        ("{ least: 7, usual: 14, most: 21, source: from memory }", "7-21"),
        ("{ low: 59 F, high: 25 C, source: from memory }", "15 C"),
        ("{ value: 5 C, source: from memory }", ""),
    ]);
    insta::assert_snapshot!(bare, @r#"
    5:19 this figure does not say where it comes from | write "germination: { value: 90 %, source: from memory }"
    9:19 this figure does not say where it comes from | write "nursery: { least: 7, usual: 10, most: 14, source: from memory }"
    27:19 this figure does not say where it comes from | write "air: { low: 15 C, high: 24 C, source: from memory }"
    30:8 the figure is missing | write "storage: { value: 5 C, source: from memory }"
    "#);
}

#[test]
fn a_file_cut_short_is_refused_at_any_length() {
    let enough = SOUND.find("Seed packet").unwrap();
    for end in 0..=SOUND.len() {
        assert_eq!(parse(&SOUND[..end]).is_ok(), end > enough, "cut at {end}");
    }
}
