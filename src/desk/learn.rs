//! Learning from a term's records: telling it, taking it over into the term's files, and taking it back.

use super::{Desk, Opened, Trouble};
use crate::domain::learned::{Lesson, Taken};
use crate::domain::plan::Plan;
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
    /// The plan.
    pub plan: Plan,
    /// Every figure of which something was seen, against what the files said before anything was taken over.
    pub lessons: Vec<Lesson>,
    /// What was taken over so far.
    pub taken: Vec<Taken>,
}

/// Figures that were written into a term's files.
#[derive(Debug, Clone)]
pub struct Written {
    /// Them.
    pub figures: Vec<Taken>,
    /// Those that somebody has changed since they were taken over, and that were left alone therefore.
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
    /// If term, journal, plan or what was taken over cannot be read, or there is no plan.
    pub fn learning(&self) -> Result<Learning, Trouble> {
        let (opened, plan) = self.open_planned()?;
        let taken = learned::read(self.store)?;
        let mut before = opened.read.term.clone();
        before.forget(&taken);
        let journal = &opened.journal.journal;
        let lessons = learn(&before, &plan, journal, first_open_day(journal, self.moment.today));
        Ok(Learning { opened, plan, lessons, taken })
    }

    /// Takes figures over into the files of the term: those that are wanted, and differ from what the files say by so much that it
    /// is worth it.
    ///
    /// # Errors
    /// As [`Desk::learning`]; also if a file cannot be changed or written. What was not written is then as it was.
    pub fn take_over(&self, wanted: impl Fn(&Lesson) -> bool) -> Result<Written, Trouble> {
        let held = self.lock()?;
        let Learning { opened, lessons, taken, .. } = self.learning()?;
        let mut term = opened.as_written.clone();
        let (mut figures, mut notes) = (Vec::new(), Vec::new());
        for lesson in lessons.iter().filter(|lesson| wanted(lesson)) {
            let of = &lesson.of;
            let Some(so_far) = term.figure(of) else { continue };
            if !(Lesson { before: so_far, ..lesson.clone() }).is_worth_it() {
                continue;
            }
            let first = taken.iter().find(|old| old.of == *of && old.still_stands(&term));
            let own = Taken {
                of: of.clone(),
                before: lesson.before,
                spread: first.map_or_else(|| term.spread(of), |old| old.spread),
                source: first.map_or_else(|| source_of(self.store, of), |old| old.source.clone()),
                after: of.figure.rounded(lesson.now),
                day: self.moment.today,
            };
            term.set_figure(of, own.after);
            let line = Some(note(&term, &own, lesson.seen));
            notes.push(Note { of: of.clone(), source: None, mark: note_mark(&term, of), line });
            figures.push(own);
        }
        let others = taken.into_iter().filter(|old| figures.iter().all(|own| own.of != old.of));
        let taken: Vec<Taken> = others.chain(figures.iter().cloned()).collect();
        let files = self.rewrite(&term, &notes, &taken)?;
        drop(held);
        Ok(Written { figures, left: Vec::new(), files, term })
    }

    /// Puts back what the files said before figures were taken over, but for those that somebody has changed since.
    ///
    /// # Errors
    /// If the files cannot be read, changed or written. What was not written is then as it was.
    pub fn take_back(&self) -> Result<Written, Trouble> {
        let held = self.lock()?;
        let opened = self.open()?;
        let mut term = opened.as_written.clone();
        let taken = learned::read(self.store)?.into_iter();
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
        let files = self.rewrite(&term, &standing.iter().map(note).collect::<Vec<Note>>(), &[])?;
        drop(held);
        let back = |own: Taken| Taken { before: own.after, after: own.before, day: self.moment.today, ..own };
        Ok(Written { figures: standing.into_iter().map(back).collect(), left, files, term })
    }

    /// Writes figures into the term's files, then what was taken over by now. Nothing is written unless all files can be
    /// changed.
    fn rewrite(&self, term: &Term, notes: &[Note], taken: &[Taken]) -> Result<Vec<String>, Trouble> {
        let files = amended(self.store, term, notes)?;
        let list = self.store.shown(FILE_NAME);
        // First the list: a figure that is on it and not in the files counts as changed by hand since.
        learned::write(self.store, taken).map_err(|error| Trouble::unwritten(&list, &error))?;
        for (name, text) in &files {
            let written = self.store.write(name, text.as_bytes());
            written.map_err(|error| Trouble::unwritten(&self.store.shown(name), &error))?;
        }
        Ok(files.iter().map(|(name, _)| self.store.shown(name)).collect())
    }
}
