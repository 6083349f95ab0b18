//! Publishing calendars.

use super::{Desk, Trouble};
use crate::domain::published::{Published as Known, Tally};
use crate::files::published_file;
use crate::files::store::create_next;
use crate::insight::odds::Luck;
use crate::report::ical::{self, Wishes};

/// Where calendars go.
const FOLDER: &str = "out";

/// Calendars as they were published.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Published {
    /// Names of the files.
    pub names: Vec<String>,
    /// What they change for people who subscribed.
    pub tally: Tally,
    /// Whether nothing was published before.
    pub first: bool,
    /// Names of calendar files written earlier that are not written any more; they would go on telling people what to do.
    pub left: Vec<String>,
    /// What to tell where plan and term no longer fit each other, if so.
    pub misfit: Option<String>,
    /// What to tell where things happened that the plan does not know of, if so.
    pub overtaken: Option<String>,
}

impl Desk<'_> {
    /// Writes the term's calendars, its serving days among them, into the folder `out`, and remembers what they told.
    ///
    /// What was told is kept twice, so that bringing back an old copy of `calendar.yaml`, or losing it, makes nobody
    /// forget what was called off.
    ///
    /// # Errors
    /// If something cannot be read or written.
    pub fn publish(&self, wishes: &Wishes<'_>, luck: Luck) -> Result<Published, Trouble> {
        let held = self.lock()?;
        let (opened, plan) = self.open_planned()?;
        let before = self.told_so_far()?;
        let clock = (self.moment.today, self.moment.now);
        let odds = opened.odds_as_planned(&plan, luck);
        let wishes = Wishes { serving: Some(&odds), ..*wishes };
        let term = &opened.read.term;
        // The next term makes calendars of its own.
        let (own, own_plan) = (term.of_its_own(), term.own_part(&plan));
        let export = ical::export(&own, &own_plan, before.as_ref(), &wishes, clock);
        let names: Vec<String> =
            export.calendars.iter().map(|calendar| format!("{FOLDER}/{}.ics", calendar.stem)).collect();
        for name in &names {
            self.refuse_foreign(name)?;
        }
        for (name, calendar) in names.iter().zip(&export.calendars) {
            self.write(name, calendar.text.as_bytes())?;
        }
        // Only now: what no calendar holds was not published.
        for memory in [published_file::COPY, published_file::FILE_NAME] {
            published_file::write(self.store, memory, &export.published)
                .map_err(|error| Trouble::unwritten(&self.store.shown(memory), &error))?;
        }
        drop(held);
        let left = self.calendars_besides(&names)?;
        let (misfit, overtaken) = (self.misfit(&opened, &plan), self.overtaken(&opened, &plan));
        Ok(Published { names, tally: export.tally, first: before.is_none(), left, misfit, overtaken })
    }

    /// Everything calendars have told, from both places where it is kept. One that cannot be read is warned of, kept under
    /// another name and written anew from the other.
    fn told_so_far(&self) -> Result<Option<Known>, Trouble> {
        let places = [published_file::FILE_NAME, published_file::COPY];
        match places.map(|name| published_file::read(self.store, name)) {
            [Ok(Some(newest)), Ok(Some(copy))] => Ok(Some(newest.joined(copy))),
            [Ok(newest), Ok(copy)] => Ok(newest.or(copy)),
            [Ok(Some(newest)), Err(_)] => self.instead_of(published_file::COPY, newest).map(Some),
            [Err(_), Ok(Some(copy))] => self.instead_of(published_file::FILE_NAME, copy).map(Some),
            [Err(newest), Err(copy)] => {
                let [one, other] = places.map(|name| self.store.shown(name));
                Err(Trouble::told(
                    format!(
                        "what calendars have told so far cannot be read, neither in {one} nor in its copy {other}\n\n{newest}\n\n\
                         {copy}"
                    ),
                    format!(
                        "bring back a sound copy of either file. Without one, move both out of the folder: {one}, {other}; \
                         calendars will then see all work as new, and what was called off before stays in them"
                    ),
                ))
            }
            [Err(problems), _] | [_, Err(problems)] => Err(problems.into()),
        }
    }

    /// Copies a list that cannot be read under another name, as `known` will take its place.
    fn instead_of(&self, name: &str, known: Known) -> Result<Known, Trouble> {
        let bytes = self.store.read(name).ok().flatten().unwrap_or_default();
        let aside = create_next(self.store, |number| format!("{name}.unreadable-{number}"), &bytes)
            .map_err(|(name, error)| Trouble::unwritten(&self.store.shown(&name), &error))?;
        self.face.warn(&format!(
            "{} cannot be read; what it told is taken from its copy. What was in it is kept in {}.",
            self.store.shown(name),
            self.store.shown(&aside)
        ));
        Ok(known)
    }

    /// Refuses the name of a file that is somebody's own.
    fn refuse_foreign(&self, name: &str) -> Result<(), Trouble> {
        let path = self.store.shown(name);
        let bytes = self.store.read(name).map_err(|error| Trouble::unwritten(&path, &error))?;
        let bytes = bytes.unwrap_or_default();
        if bytes.is_empty() || String::from_utf8_lossy(&bytes).contains(ical::PRODUCT) {
            return Ok(());
        }
        Err(Trouble::told(
            format!(
                "{path} is there already and is not a calendar written by sowtide; no calendar was written"
            ),
            "move that file to another folder first",
        ))
    }

    fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Trouble> {
        self.store.write(name, bytes).map_err(|error| Trouble::unwritten(&self.store.shown(name), &error))
    }

    /// Calendar files in the folder that are not among `written`.
    fn calendars_besides(&self, written: &[String]) -> Result<Vec<String>, Trouble> {
        let found = self.store.names(FOLDER).map_err(|error| {
            Trouble::told(
                format!("the folder {} cannot be read: {error}", self.store.shown(FOLDER)),
                "check that you may open it",
            )
        })?;
        let names = found
            .into_iter()
            .filter(|name| name.rsplit_once('.').is_some_and(|(_, end)| end == "ics"))
            .map(|name| format!("{FOLDER}/{name}"));
        Ok(names.filter(|name| !written.contains(name)).collect())
    }
}
