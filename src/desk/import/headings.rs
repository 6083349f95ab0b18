//! What usual headings of people's spreadsheets mean.

use super::MassUnit;
use super::columns::Field;

/// Headings in small letters that mean one thing wherever they stand. Those that may mean several, such as "number" or "type", are left
/// for people to explain.
const USUAL: [(Field, &[&str]); 14] = [
    (Field::What, &["activity", "action", "event", "what happened", "task"]),
    (Field::Day, &["date", "when", "day of harvest", "harvest date", "date harvested", "date of harvest"]),
    (Field::Site, &["room", "classroom", "location", "room/site", "site/room", "school", "site name"]),
    (Field::By, &["who", "class", "teacher", "recorded by", "harvested by", "initials"]),
    (Field::Batch, &["batch id", "batch no", "batch number", "lot", "lot no", "lot number"]),
    (Field::Crop, &["crop name", "plant name", "variety", "vegetable"]),
    (Field::Tank, &["tank no", "tank number", "tank name", "tanks"]),
    (Field::Plugs, &["plugs sown", "no of plugs", "number of plugs"]),
    (
        Field::Plants,
        &[
            "heads",
            "plants/heads",
            "heads/plants",
            "no of plants",
            "number of plants",
            "plants harvested",
            "heads harvested",
        ],
    ),
    (Field::Way, &["cut or pulled", "cut/pulled", "cut/pull", "harvest method", "way of harvesting"]),
    (Field::Mass, &["weight", "total weight", "harvest weight", "weight harvested", "total mass", "yield"]),
    (Field::Cause, &["reason", "cause of loss", "why"]),
    (Field::Text, &["notes", "note", "comments", "comment", "remarks", "remark", "notes/comments"]),
    (Field::Until, &["last day"]),
];

/// What a heading means, if it is a usual one.
pub(super) fn meaning(heading: &str) -> Option<Field> {
    let (words, unit) = parted(heading);
    if words.is_empty() && unit.is_some() {
        return Some(Field::Mass);
    }
    let own = super::columns::FIELDS.iter().find(|(name, _)| *name == words).map(|(_, field)| *field);
    own.or_else(|| USUAL.iter().find(|(_, names)| names.contains(&words.as_str())).map(|(field, _)| *field))
}

/// The unit in a heading: `Weight (oz)`, `mass_g`, `Weight in kg`, `grams`.
pub(super) fn unit(heading: &str) -> Option<MassUnit> {
    parted(heading).1
}

/// A heading's words and its unit of mass, if it has one.
fn parted(heading: &str) -> (String, Option<MassUnit>) {
    let plain = heading.to_lowercase().replace(['_', '(', ')', '[', ']', ',', '.', ':', '#'], " ");
    let mut words: Vec<&str> = plain.split_whitespace().collect();
    let unit = words.last().and_then(|last| named(last));
    if unit.is_some() {
        words.pop();
        words.pop_if(|word| *word == "in");
    }
    (words.join(" "), unit)
}

fn named(word: &str) -> Option<MassUnit> {
    match word {
        "g" | "gram" | "grams" => Some(MassUnit::G),
        "kg" | "kilo" | "kilos" | "kilograms" => Some(MassUnit::Kg),
        "oz" | "ounce" | "ounces" => Some(MassUnit::Oz),
        "lb" | "lbs" | "pound" | "pounds" => Some(MassUnit::Lb),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_headings_are_known_with_their_units() {
        for (heading, field) in [
            ("Date", Field::Day),
            ("Room/Site", Field::Site),
            ("No. of plants", Field::Plants),
            ("Plants/Heads", Field::Plants),
            ("Notes:", Field::Text),
            ("Batch #", Field::Batch),
            ("Batch no.", Field::Batch),
            ("Weight (oz)", Field::Mass),
            ("Mass [g]", Field::Mass),
            ("grams", Field::Mass),
        ] {
            assert_eq!(meaning(heading), Some(field), "{heading}");
        }
        for doubtful in ["", "Number", "Type", "Amount", "Colour", "Gramm"] {
            assert_eq!(meaning(doubtful), None, "{doubtful}");
        }
        for (heading, own) in [
            ("Weight (oz)", Some(MassUnit::Oz)),
            ("mass_g", Some(MassUnit::G)),
            ("Weight in kg", Some(MassUnit::Kg)),
            ("lbs", Some(MassUnit::Lb)),
            ("Weight", None),
        ] {
            assert_eq!(unit(heading), own, "{heading}");
        }
    }

    #[test]
    fn no_heading_means_two_things() {
        let all: Vec<&str> = USUAL.iter().flat_map(|(_, names)| names.iter().copied()).collect();
        let mut different = all.clone();
        different.sort_unstable();
        different.dedup();
        assert_eq!(different.len(), all.len());
    }
}
