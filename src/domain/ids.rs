//! Names that identify things across files: crops, sites, tanks and batches.

use std::fmt;

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(String);

        impl $name {
            /// Takes the text as it is; readers check it with [`is_plain`] first.
            pub fn new(text: impl Into<String>) -> Self {
                Self(text.into())
            }

            /// The name as written in the user's files.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }
    };
}

id!(
    /// A crop of the library, such as `oakleaf`; also the stem of its file name.
    CropId
);
id!(
    /// A site, unique in a term.
    SiteId
);
id!(
    /// A tank, unique at its site.
    TankId
);
id!(
    /// A batch. Given once and kept for good, whatever happens to the batch's dates or size.
    BatchId
);

/// Whether `text` is fit for an id: 1 to 40 ASCII lower-case letters, digits and hyphens, beginning
/// with a letter or digit. Such a name survives file systems, calendars and spreadsheets unharmed.
pub fn is_plain(text: &str) -> bool {
    (1..=40).contains(&text.len())
        && !text.starts_with('-')
        && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

#[cfg(test)]
mod tests {
    use super::is_plain;

    #[test]
    fn plain_names() {
        assert!(is_plain("room-12"));
        for bad in ["", "-room", "Room", "a b", "häuser", &"x".repeat(41)] {
            assert!(!is_plain(bad), "{bad:?}");
        }
    }
}
