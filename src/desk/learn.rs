//! Learning from a term's records: telling it, taking it over into the files of the next term, and taking it back.

use super::{Desk, Opened, Trouble};
use crate::domain::learned::{Lesson, Taken};
use crate::domain::term::Term;
use crate::files::learned::{self, FILE_NAME, Note, amended, source_of};
use crate::replan::first_open_day;
use crate::replan::learn::learn;
use crate::report::learned::{note, note_mark};

/// What a term's records teach.
#[derive(Debug, Clone)]
pub struct Learning {
    /// Term, journal and plan.
    pub opened: Opened,
    /// Every figure of which something is known, against what the files say.
    pub lessons: Vec<Lesson>,
}

/// Figures that were written into a term's files.
#[derive(Debug, Clone)]
pub struct Written {
    /// Them.
    pub figures: Vec<Taken>,
    /// Those that somebody has changed by hand, and that were left alone therefore.
    pub left: Vec<Taken>,
    /// The files, as people call them.
    pub files: Vec<String>,
    /// The term as its file has it now.
    pub term: Term,
}

impl Desk<'_> {
    /// What the records teach so far.
    ///
    /// # Errors
    /// If term, journal or plan cannot be read, or there is no plan.
    pub fn learning(&self) -> Result<Learning, Trouble> {
        let (opened, plan) = self.open_planned()?;
        let journal = &opened.journal.journal;
        let today = first_open_day(journal, self.moment.today);
        let lessons = learn(&opened.read.term, &plan, journal, today);
        Ok(Learning { opened, lessons })
    }

    /// Takes figures over into the files of this term, in which nothing has happened yet: those that differ from what the files
    /// say by so much that it is worth it. Figures that are neither those of `before`, the term of the records, nor
    /// were taken over earlier are left alone: somebody knows better.
    ///
    /// # Errors
    /// If this term is under way, or a file cannot be read, changed or written. What was not written is then as it was.
    pub fn take_over(&self, before: &Term, lessons: &[Lesson]) -> Result<Written, Trouble> {
        let held = self.lock()?;
        let opened = self.open()?;
        if !opened.journal.journal.entries().is_empty() {
            return Err(self.under_way());
        }
        let mut term = opened.as_written.clone();
        let earlier = learned::read(self.store)?;
        let (mut figures, mut notes, mut left) = (Vec::new(), Vec::new(), Vec::new());
        for lesson in lessons {
            let of = &lesson.of;
            let Some(so_far) = term.figure(of) else { continue };
            if !(Lesson { before: so_far, ..lesson.clone() }).is_worth_it() {
                continue;
            }
            let first = earlier.iter().find(|old| old.of == *of);
            let own = Taken {
                of: of.clone(),
                before: first.map_or(so_far, |old| old.before),
                spread: first.map_or_else(|| term.spread(of), |old| old.spread),
                source: first.map_or_else(|| source_of(self.store, of), |old| old.source.clone()),
                after: of.figure.rounded(lesson.now),
                day: self.moment.today,
            };
            let as_before = before.figure(of).is_some_and(|figure| of.figure.alike(figure, so_far));
            if !as_before && !first.is_some_and(|old| old.still_stands(&term)) {
                left.push(Taken { before: so_far, ..own });
                continue;
            }
            term.set_figure(of, own.after);
            let line = Some(note(&term, &own, lesson.seen));
            notes.push(Note { of: of.clone(), source: None, mark: note_mark(&term, of), line });
            figures.push(own);
        }
        let files = amended(self.store, &term, &notes)?;
        let others = earlier.into_iter().filter(|old| figures.iter().all(|own| own.of != old.of));
        let taken: Vec<Taken> = others.chain(figures.iter().cloned()).collect();
        // First the list of what was before: whoever is interrupted can still take everything back.
        self.keep(&taken)?;
        self.write_all(&files)?;
        drop(held);
        Ok(Written { figures, left, files: self.shown(&files), term })
    }

    /// Puts back what the files said before figures were taken over, but for those that somebody has changed since.
    ///
    /// # Errors
    /// If this term is under way, or the files cannot be read, changed or written. What was not written is then as it was.
    pub fn take_back(&self) -> Result<Written, Trouble> {
        let held = self.lock()?;
        let opened = self.open()?;
        if !opened.journal.journal.entries().is_empty() {
            return Err(self.under_way());
        }
        let mut term = opened.as_written.clone();
        let is_back =
            |own: &Taken| term.figure(&own.of).is_some_and(|now| own.of.figure.alike(now, own.before));
        let taken = learned::read(self.store)?.into_iter().filter(|own| !is_back(own));
        let (standing, left): (Vec<Taken>, Vec<Taken>) = taken.partition(|own| own.still_stands(&term));
        for own in &standing {
            term.put_back(own);
        }
        let note = |own: &Taken| Note {
            of: own.of.clone(),
            source: own.source.clone(),
            mark: note_mark(&term, &own.of),
            line: None,
        };
        let files = amended(self.store, &term, &standing.iter().map(note).collect::<Vec<Note>>())?;
        self.write_all(&files)?;
        // Last the list, so that whoever is interrupted can go on.
        self.keep(&[])?;
        drop(held);
        let back = |own: Taken| Taken { before: own.after, after: own.before, day: self.moment.today, ..own };
        let figures = standing.into_iter().map(back).collect();
        Ok(Written { figures, left, files: self.shown(&files), term })
    }

    fn under_way(&self) -> Trouble {
        let folder = self.store.shown("");
        Trouble::told(
            format!(
                "the term in {folder} is under way: what its plan and journal say goes by its figures as they are"
            ),
            "take figures over into the folder of the next term, before anything is recorded there; make one with: sowtide next",
        )
    }

    fn keep(&self, taken: &[Taken]) -> Result<(), Trouble> {
        let list = self.store.shown(FILE_NAME);
        learned::write(self.store, taken).map_err(|error| Trouble::unwritten(&list, &error))
    }

    fn write_all(&self, files: &[(String, String)]) -> Result<(), Trouble> {
        for (name, text) in files {
            let written = self.store.write(name, text.as_bytes());
            written.map_err(|error| Trouble::unwritten(&self.store.shown(name), &error))?;
        }
        Ok(())
    }

    fn shown(&self, files: &[(String, String)]) -> Vec<String> {
        files.iter().map(|(name, _)| self.store.shown(name)).collect()
    }
}
