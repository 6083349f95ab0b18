//! What people call sites, tanks and crops: by their short names, or by those shown to people; capitals, blanks and hyphens
//! make no difference.

use super::crop::Crop;
use super::site::{Site, Tank};
use super::term::Term;

impl Term {
    /// The site of that id or name; `None` if there is none, or nobody can tell which of several is meant.
    #[must_use]
    pub fn site_called(&self, typed: &str) -> Option<&Site> {
        let wanted = plain(typed);
        let alike =
            |site: &&Site| [site.id.as_str(), site.name.as_str()].iter().any(|own| plain(own) == wanted);
        self.sites
            .iter()
            .find(|site| site.id.as_str() == typed)
            .or_else(|| only(self.sites.iter().filter(alike)))
    }
}

impl Site {
    /// The tank of that id, with the word "tank" before it or not; `None` if there is none.
    #[must_use]
    pub fn tank_called(&self, typed: &str) -> Option<&Tank> {
        let wanted = plain(typed);
        let named = |wanted: &str| only(self.tanks.iter().filter(|tank| plain(tank.id.as_str()) == wanted));
        named(&wanted).or_else(|| named(wanted.strip_prefix("tank ")?))
    }
}

impl Crop {
    /// Whether it answers to a name: its id, its whole name, "rocket" and "arugula" of "Rocket (arugula)", or what else it is
    /// called.
    #[must_use]
    pub fn is_called(&self, typed: &str) -> bool {
        let wanted = plain(typed);
        self.names().any(|name| plain(name) == wanted)
    }

    /// All names it answers to, its id first.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let pieces = self.name.split(['(', ')']).map(str::trim).filter(|piece| !piece.is_empty());
        let names = [self.id.as_str(), self.name.as_str()].into_iter().chain(pieces);
        names.chain(self.also_called.iter().map(String::as_str))
    }
}

/// Small letters, words parted by one blank.
fn plain(name: &str) -> String {
    let words = name.split(|c: char| c.is_whitespace() || c == '-').filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect::<Vec<_>>().join(" ")
}

fn only<T>(mut all: impl Iterator<Item = T>) -> Option<T> {
    let first = all.next();
    first.filter(|_| all.next().is_none())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capitals_blanks_and_hyphens_make_no_difference() {
        for typed in ["Science lab", "science-lab", " SCIENCE  LAB "] {
            assert_eq!(plain(typed), "science lab");
        }
        assert_ne!(plain("sciencelab"), "science lab");
        assert_eq!((only([1].iter()), only([1, 2].iter()), only::<&i32>([].iter())), (Some(&1), None, None));
    }
}
