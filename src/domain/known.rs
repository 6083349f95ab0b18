//! Which journal entries a plan takes into account.
//!
//! A count would not do: a journal may be restored from an older copy, or two copies of a folder may have grown
//! apart. So a plan knows every entry by its number and a digest of what it says.

use super::growth::Way;
use super::journal::{Amount, Entry, EntryId, InTank, Journal, Measured, Place, Sample, TargetHolds, What};
use siphasher::sip::SipHasher13;
use std::collections::BTreeMap;
use std::fmt::{self, Write};
use std::hash::Hasher;
use std::str::FromStr;

/// Stands for all an entry says: it differs if anything differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest(u64);

/// The entries that a plan takes into account.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct KnownEntries {
    last: u32,
    digests: BTreeMap<EntryId, Option<Digest>>,
}

/// How a journal differs from what a plan knew of it; see [`KnownEntries::amiss`].
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Amiss {
    /// Entries that are no longer there.
    pub gone: Vec<EntryId>,
    /// Entries that say something else than they did.
    pub other: Vec<EntryId>,
}

impl KnownEntries {
    /// Every entry of a journal. Numbers that `before` knew stay used, even if the journal has lost them.
    #[must_use]
    pub fn all_of(journal: &Journal, before: &Self) -> Self {
        let digests: BTreeMap<EntryId, Option<Digest>> =
            journal.entries().iter().map(|entry| (entry.id, Some(Digest::of(entry)))).collect();
        Self::new(before.last, digests)
    }

    /// Entries with their digests, where these are known: plans of the first format only told how many there were. No
    /// number up to `last` is given to a new entry.
    #[must_use]
    pub fn new(last: u32, digests: BTreeMap<EntryId, Option<Digest>>) -> Self {
        let highest = digests.last_key_value().map_or(0, |(id, _)| id.0);
        Self { last: last.max(highest), digests }
    }

    /// Whether the plan takes this very entry into account.
    #[must_use]
    pub fn knows(&self, entry: &Entry) -> bool {
        self.digests.get(&entry.id).is_some_and(|known| known.is_none_or(|known| known == Digest::of(entry)))
    }

    /// The same entries without those that the journal has lost.
    #[must_use]
    pub fn without_gone(&self, journal: &Journal) -> Self {
        let there = self.entries().filter(|(id, _)| journal.entry(*id).is_some());
        Self::new(self.last, there.collect())
    }

    /// The same entries, each as the journal words it now.
    #[must_use]
    pub fn reworded(&self, journal: &Journal) -> Self {
        let now = |(id, old)| (id, journal.entry(id).map_or(old, |entry| Some(Digest::of(entry))));
        Self::new(self.last, self.entries().map(now).collect())
    }

    /// Entries and their digests, by number.
    pub fn entries(&self) -> impl Iterator<Item = (EntryId, Option<Digest>)> {
        self.digests.iter().map(|(id, digest)| (*id, *digest))
    }

    /// Highest number that was ever given to an entry, as far as the plan knows; 0 if none was.
    #[must_use]
    pub fn last(&self) -> u32 {
        self.last
    }

    /// Keeps numbers used that another plan of the term knows of.
    pub fn reserve(&mut self, other: &Self) {
        self.last = self.last.max(other.last);
    }

    /// The number for the next entry: neither in the journal nor known to be used.
    #[must_use]
    pub fn next_id(&self, journal: &Journal) -> EntryId {
        let next = journal.next_id();
        self.last.checked_add(1).map_or(next, |after| next.max(EntryId(after)))
    }

    /// What of the known entries the journal has no longer, or otherwise.
    #[must_use]
    pub fn amiss(&self, journal: &Journal) -> Amiss {
        let mut amiss = Amiss::default();
        for (id, _) in self.entries() {
            match journal.entry(id) {
                None => amiss.gone.push(id),
                Some(entry) if !self.knows(entry) => amiss.other.push(id),
                Some(_) => {}
            }
        }
        amiss
    }
}

impl Amiss {
    /// Whether the journal has all that was known of it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.gone.is_empty() && self.other.is_empty()
    }
}

impl Digest {
    /// The digest of an entry.
    #[must_use]
    pub fn of(entry: &Entry) -> Self {
        let mut hasher = SipHasher13::new();
        hasher.write(telling(entry).as_bytes());
        Self(hasher.finish())
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

/// A text that is no digest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a digest has sixteen hexadecimal digits")]
pub struct NoDigest;

impl FromStr for Digest {
    type Err = NoDigest;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let plain = text.len() == 16 && text.bytes().all(|byte| byte.is_ascii_hexdigit());
        u64::from_str_radix(text, 16).ok().filter(|_| plain).map(Self).ok_or(NoDigest)
    }
}

/// All that an entry says, on one line whose form must never change: a part that nobody gave leaves no trace, so
/// that new optional parts leave the digests of older entries alone.
fn telling(entry: &Entry) -> String {
    let mut told = Told(format!("{}|{}|{}", entry.id.0, entry.recorded.timestamp(), entry.day));
    told.given("site", entry.site.as_ref());
    told.given("by", entry.by.as_ref());
    told.given("replaces", entry.replaces.map(|id| id.0));
    match &entry.what {
        What::Sown { batch, plugs } => told.all("sown", &[("batch", batch), ("plugs", plugs)]),
        What::CameUp { batch, plugs } => told.all("came-up", &[("batch", batch), ("plugs", plugs)]),
        What::Transplanted { batch, tank, plants } => {
            told.all("transplanted", &[("batch", batch), ("tank", tank), ("plants", plants)]);
        }
        What::Lost { batch, place, plants, cause, .. } => {
            told.all("lost", &[("batch", batch), ("cause", cause)]);
            if let Place::Tank(tank) = place {
                told.part("tank", tank);
            }
            match plants {
                Amount::All => told.part("plants", "all"),
                Amount::Plants(plants) => told.part("plants", plants),
            }
        }
        What::Harvested(harvested) => {
            let cut = harvested.way == Way::Cut;
            // One tank is told as it always was.
            let tanks: Vec<&str> = harvested.places.iter().map(|place| place.tank.as_str()).collect();
            let tanks = tanks.join(",");
            told.all("harvested", &[("batch", &harvested.batch), ("tank", &tanks), ("cut", &cut)]);
            told.all("", &[("plants", &harvested.plants()), ("grams", &harvested.grams)]);
            if harvested.places.len() > 1 {
                harvested.places.iter().for_each(|place| told.place(place));
            }
            told.given("measured-as", harvested.measured_as.as_ref());
            harvested.samples.iter().for_each(|sample| told.sample(sample));
        }
        What::Measured(measuring) => {
            told.all("measured", &[("batch", &measuring.batch), ("tank", &measuring.tank)]);
            measuring.samples.iter().for_each(|sample| told.sample(sample));
        }
        What::PutOff { batch, until } => told.all("put-off", &[("batch", batch), ("until", until)]),
        What::TankOut { tank, until } => {
            told.all("tank-out", &[("tank", tank)]);
            told.given("until", until.as_ref());
        }
        What::TankBack { tank } => told.all("tank-back", &[("tank", tank)]),
        What::ClassLost => told.all("class-lost", &[]),
        What::ClassAdded => told.all("class-added", &[]),
        What::TargetChanged { holds, grams } => {
            let that_day = *holds == TargetHolds::ThatDay;
            told.all("target", &[("that-day", &that_day), ("grams", grams)]);
        }
        What::Behind { batch, days } => told.all("behind", &[("batch", batch), ("days", days)]),
        What::Note { batch, text } => {
            told.all("note", &[("text", text)]);
            told.given("batch", batch.as_ref());
        }
        What::Withdrawn => told.all("withdrawn", &[]),
    }
    if !entry.what.holes().is_empty() {
        let holes: Vec<String> = entry.what.holes().iter().map(u32::to_string).collect();
        told.part("holes", holes.join(","));
    }
    told.0
}

/// A line that grows part by part. Each part is as long as it says, so that no text can pass for other parts.
struct Told(String);

impl Told {
    fn part(&mut self, name: &str, value: impl fmt::Display) {
        let value = value.to_string();
        // Writing to a string cannot fail.
        let _ = write!(self.0, "|{name}:{}:{value}", value.len());
    }

    fn given(&mut self, name: &str, value: Option<impl fmt::Display>) {
        if let Some(value) = value {
            self.part(name, value);
        }
    }

    fn all(&mut self, kind: &str, parts: &[(&str, &dyn fmt::Display)]) {
        self.part("kind", kind);
        for (name, value) in parts {
            self.part(name, value);
        }
    }

    fn place(&mut self, place: &InTank) {
        let holes: Vec<String> = place.holes.iter().map(u32::to_string).collect();
        self.all("place", &[("plants", &place.plants), ("holes", &holes.join(","))]);
    }

    fn sample(&mut self, sample: &Sample) {
        self.part("kind", "sample");
        let parts = [
            ("height", sample.height_cm),
            ("width", sample.width_cm),
            ("leaves", sample.leaves),
            ("root", sample.longest_root_cm),
            ("mass", sample.mass_g),
        ];
        for (name, measured) in parts {
            let Some(Measured { estimate, found }) = measured else { continue };
            self.part(name, found);
            self.given("estimate", estimate);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::ids::{BatchId, TankId};
    use crate::domain::journal::Harvested;
    use chrono::{DateTime, NaiveDate};

    fn note(number: u32, text: &str) -> Entry {
        Entry {
            id: EntryId(number),
            recorded: DateTime::UNIX_EPOCH,
            day: NaiveDate::from_ymd_opt(2026, 9, 7).unwrap(),
            site: None,
            by: None,
            what: What::Note { batch: None, text: text.to_owned() },
            replaces: None,
        }
    }

    fn journal(entries: &[Entry]) -> Journal {
        Journal::new(entries.to_vec())
    }

    #[test]
    fn an_entry_is_known_by_all_it_says() {
        let old = note(1, "mould");
        let known = KnownEntries::all_of(&journal(std::slice::from_ref(&old)), &KnownEntries::default());
        assert!(known.knows(&old));
        let about = What::Note { batch: Some(BatchId::new("b001")), text: "mould".to_owned() };
        for other in [
            note(1, "moult"),
            note(2, "mould"),
            Entry { by: Some("Kim".to_owned()), ..old.clone() },
            Entry { what: about, ..old.clone() },
            Entry { what: What::ClassLost, ..old.clone() },
        ] {
            assert!(!known.knows(&other), "{other:?}");
        }
    }

    #[test]
    fn what_a_text_says_is_no_other_part() {
        let one = Entry { by: Some("a".to_owned()), ..note(1, "b") };
        let other = Entry { by: Some("a|kind:4:note|text:1:b".to_owned()), ..note(1, "b") };
        assert_ne!(Digest::of(&one), Digest::of(&other));
    }

    #[test]
    fn a_shorter_journal_is_noticed_and_no_number_comes_back() {
        let (one, two, three) = (note(1, "a"), note(2, "b"), note(3, "c"));
        let known = KnownEntries::all_of(&journal(&[one.clone(), two, three]), &KnownEntries::default());
        let restored = journal(&[one.clone(), note(2, "other")]);
        let amiss = known.amiss(&restored);
        assert_eq!((amiss.gone, amiss.other), (vec![EntryId(3)], vec![EntryId(2)]));
        assert_eq!(known.next_id(&restored), EntryId(4));
        let afterwards = KnownEntries::all_of(&restored, &known);
        assert!(afterwards.amiss(&restored).is_empty());
        assert_eq!(afterwards.next_id(&restored), EntryId(4));
    }

    #[test]
    fn the_digest_of_an_entry_never_changes() {
        assert_eq!(Digest::of(&note(7, "warm day")).to_string(), "c46e4d4dfdfd15a3");
    }

    #[test]
    fn a_harvest_from_one_tank_is_told_as_ever_and_no_split_passes_for_another() {
        let of = |places: &[(&str, u32)], measured_as: Option<&str>| {
            let place = |(tank, plants): &(&str, u32)| InTank {
                tank: TankId::new(*tank),
                plants: *plants,
                holes: (1..=*plants).collect(),
            };
            let what = What::Harvested(Harvested {
                batch: BatchId::new("b001"),
                places: places.iter().map(place).collect(),
                way: Way::Cut,
                grams: 90.5,
                measured_as: measured_as.map(str::to_owned),
                samples: Vec::new(),
            });
            telling(&Entry { what, ..note(1, "") })
        };
        let one = "1|0|2026-09-07|kind:9:harvested|batch:4:b001|tank:4:blue|cut:4:true|kind:0:|plants:1:2|grams:4:90.5|holes:3:1,2";
        assert_eq!(of(&[("blue", 2)], None), one);
        let split = of(&[("blue", 2), ("red", 1)], None);
        assert_ne!(split, of(&[("blue", 1), ("red", 2)], None));
        assert_ne!(split, of(&[("blue", 2), ("red", 1)], Some("2 cups")));
    }

    #[test]
    fn digests_read_back() {
        let digest = Digest::of(&note(1, "a"));
        assert_eq!(digest.to_string().parse(), Ok(digest));
        assert_eq!("+123456789abcdef".parse::<Digest>(), Err(NoDigest));
    }
}
