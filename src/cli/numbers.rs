//! Numbers as people type them.

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
