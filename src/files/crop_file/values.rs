//! Single values that only crop files have.

use crate::domain::crop::{CurveError, GrowthCurve};
use crate::domain::text;
use crate::domain::units::{Mass, Temperature};
use crate::files::reading::{Reading, shorten};
use crate::files::tree::Node;
use std::ops::RangeInclusive;

/// Points of a growth curve; more would not make it truer.
const MOST_POINTS: usize = 40;

/// One or a few sentences, line breaks taken as spaces.
pub(super) fn sentence(reading: &mut Reading, node: &Node) -> Option<String> {
    let text = reading.text(node)?;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.chars().count() > 1000 {
        reading.note(&node.span, "this text does not fit on a sheet", "use at most 1000 letters");
        return None;
    }
    if let Err(unfit) = text::check(&text) {
        reading.note(&node.span, unfit.to_string(), unfit.help());
        return None;
    }
    Some(text)
}

/// A temperature with its unit, within limits in degrees Celsius.
pub(in crate::files) fn temperature(
    reading: &mut Reading,
    node: &Node,
    celsius: RangeInclusive<f64>,
) -> Option<Temperature> {
    let text = reading.text(node)?;
    let help = format!("write a temperature from {} C to {} C", celsius.start(), celsius.end());
    match text.parse::<Temperature>() {
        Ok(read) if celsius.contains(&read.celsius()) => Some(read),
        Ok(read) => {
            let side = if read.celsius() < *celsius.start() { "cold" } else { "warm" };
            reading.note(&node.span, format!("this is too {side}"), help);
            None
        }
        Err(error) => {
            let title = format!("\"{}\" is not a temperature", shorten(text));
            reading.note(&node.span, title, error.to_string());
            None
        }
    }
}

/// Litres, as `0.2 L` or `200 ml`.
pub(super) fn litres(reading: &mut Reading, node: &Node) -> Option<f64> {
    let text = reading.text(node)?;
    let lower = text.to_lowercase();
    let litres = match (lower.strip_suffix("ml"), lower.strip_suffix('l')) {
        (Some(number), _) => number.trim().parse().map(|ml: f64| ml / 1000.0).ok(),
        (None, Some(number)) => number.trim().parse().ok(),
        (None, None) => None,
    };
    let within = litres.filter(|litres| (0.0..=20.0).contains(litres));
    if within.is_none() {
        let title = format!("\"{}\" is not an amount of water a plant can use", shorten(text));
        reading.note(&node.span, title, "write 0.2 L or 200 ml, at most 20 L");
    }
    within
}

/// Strengths of the second, third ... growth.
pub(super) fn strengths(reading: &mut Reading, node: &Node) -> Option<Vec<f64>> {
    let items = Reading::items(node);
    let read: Vec<Option<f64>> = items.iter().map(|item| reading.percent(item, 1.0..=100.0)).collect();
    let strengths: Vec<f64> = read.into_iter().collect::<Option<_>>()?;
    for (pair, item) in strengths.windows(2).zip(items.iter().skip(1)) {
        if pair[1] > pair[0] {
            let help = "no growth may be stronger than the one before";
            reading.note(&item.span, "this growth gains strength", help);
        }
    }
    Some(strengths)
}

/// Points of a growth curve, each tried with those before it so that the one at fault is named.
pub(super) fn curve(reading: &mut Reading, node: &Node) -> Option<GrowthCurve> {
    let entries = reading.free_map(node, "ages in days")?;
    if entries.iter().count() > MOST_POINTS {
        let help = format!("keep at most {MOST_POINTS}; the mass grows evenly between them");
        reading.note(&entries.span, "these are too many points", help);
        return None;
    }
    let mut points: Vec<(u32, Mass)> = Vec::new();
    for (age, node) in entries.iter() {
        let Some(mass) = reading.mass(node) else { continue };
        let Ok(day) = age.text.parse::<u32>() else {
            let title = format!("\"{}\" is not an age in days", shorten(&age.text));
            reading.note(&age.span, title, "write age and mass, such as 35: 142 g");
            continue;
        };
        points.push((day, mass));
        if let Err(error) = GrowthCurve::new(&points) {
            let span = match error {
                CurveError::MassFalling => &node.span,
                CurveError::AgesNotRising | CurveError::Empty => &age.span,
            };
            reading.note(span, "no plant grows like this", error.to_string());
            points.pop();
        }
    }
    match GrowthCurve::new(&points) {
        Ok(curve) => Some(curve),
        Err(error) => {
            reading.note(&node.span, "there is no growth curve yet", error.to_string());
            None
        }
    }
}
