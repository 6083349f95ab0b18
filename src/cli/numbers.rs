//! Numbers as people type them.

use crate::domain::term::PROMISED;
use std::ops::RangeInclusive;

/// A reader of whole numbers within limits.
pub(super) fn whole<T: TryFrom<u64>>(
    limits: RangeInclusive<u64>,
) -> impl Fn(&str) -> Result<T, String> + Clone + Send + Sync {
    move |text| {
        let number = text.trim().parse().ok().filter(|number| limits.contains(number));
        let most = match *limits.end() {
            u64::MAX => "on".to_owned(),
            most => format!("to {most}"),
        };
        number
            .and_then(|number| T::try_from(number).ok())
            .ok_or_else(|| format!("write a whole number from {} {most}", limits.start()))
    }
}

/// A chance to be promised: 50 to 95 percent, or none.
pub(super) fn chance(text: &str) -> Result<f64, String> {
    let text = text.trim();
    if text == "no" {
        return Ok(0.0);
    }
    let number = text.strip_suffix('%').map(|number| number.trim().parse::<f64>());
    number
        .and_then(Result::ok)
        .map(|percent| percent / 100.0)
        .filter(|chance| PROMISED.contains(chance))
        .ok_or_else(|| "write a share such as 90%, from 50% to 95%, or no".to_owned())
}
