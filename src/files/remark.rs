//! What is worth telling about a file but no mistake.

use std::fmt;

/// Things of a list told where it need not be told in full.
const A_DOZEN: usize = 12;

/// Something worth knowing: a sentence, perhaps with a list. `Display` tells all of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    sentence: String,
    list: Vec<String>,
}

impl Remark {
    /// A sentence alone.
    pub fn of(sentence: impl Into<String>) -> Self {
        Self { sentence: sentence.into(), list: Vec::new() }
    }

    /// A heading with what belongs under it.
    pub fn list(heading: impl Into<String>, list: Vec<String>) -> Self {
        Self { sentence: heading.into(), list }
    }

    /// The same remark about something: `whose` is put before it.
    #[must_use]
    pub fn about(mut self, whose: &str) -> Self {
        self.sentence.insert_str(0, whose);
        self
    }

    /// The remark with the first dozen of its list, and how many more there are.
    pub fn short(&self) -> String {
        let shown = self.list[..self.list.len().min(A_DOZEN)].join(", ");
        match (self.list.len(), self.list.len().saturating_sub(A_DOZEN)) {
            (0, _) => self.sentence.clone(),
            (_, 0) => format!("{}: {shown}", self.sentence),
            (_, more) => format!("{}: {shown} and {more} more (sowtide check lists all)", self.sentence),
        }
    }
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sentence)?;
        if !self.list.is_empty() {
            write!(f, ": {}", self.list.join(", "))?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_list_is_told_in_full_or_in_short() {
        let list = |count: usize| Remark::list("left", (1..=count).map(|n| n.to_string()).collect());
        assert_eq!(list(2).about("Hall: ").short(), "Hall: left: 1, 2");
        assert_eq!(list(12).short(), list(12).to_string());
        assert!(list(14).short().ends_with(", 12 and 2 more (sowtide check lists all)"));
        assert!(list(14).to_string().ends_with(", 12, 13, 14"));
        assert_eq!(Remark::of("so").short(), "so");
    }
}
