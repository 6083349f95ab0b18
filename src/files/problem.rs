//! Mistakes in the user's files: where they are, what is wrong and how to mend them.

use super::store::{MOST_BYTES, Store};
use crate::domain::text::is_hidden;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// Most mistakes drawn at once; a file with more is mended in several goes.
const MOST_DRAWN: usize = 40;

/// A text file as it was read, without a byte-order mark. Cheap to clone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TextFile(Arc<Content>);

#[derive(Debug, PartialEq, Eq)]
struct Content {
    path: String,
    text: String,
}

impl TextFile {
    /// A file of this path (as people should see it) and text.
    pub fn new(path: impl Into<String>, text: &str) -> Self {
        Self(Arc::new(Content {
            path: path.into().replace(is_hidden, "\u{fffd}"),
            text: text.strip_prefix('\u{feff}').unwrap_or(text).to_owned(),
        }))
    }

    /// Reads one of a term's files; `None` if there is none of that name.
    ///
    /// # Errors
    /// If it cannot be read, is larger than 4 MB or is not UTF-8 text.
    pub fn read(store: &dyn Store, name: &str) -> Result<Option<Self>, Problems> {
        let shown = store.shown(name);
        match store.read(name) {
            Ok(None) => Ok(None),
            Ok(Some(bytes)) => Self::from_bytes(shown, &bytes).map(Some),
            Err(error) => {
                let title = format!("this file cannot be read: {error}");
                let help = "check the name and that you may open it";
                Err(Self::new(shown, "").whole_problem(title, help).alone())
            }
        }
    }

    /// Reads one of a term's files that has to be there.
    ///
    /// # Errors
    /// As [`TextFile::read`], and if there is none of that name.
    pub fn need(store: &dyn Store, name: &str) -> Result<Self, Problems> {
        Self::read(store, name)?.ok_or_else(|| {
            let help = "check the name and the folder";
            Self::new(store.shown(name), "").whole_problem("there is no such file", help).alone()
        })
    }

    /// Text from a file's bytes; `shown` is its path as people should see it.
    ///
    /// # Errors
    /// If it is larger than 4 MB or is not UTF-8 text.
    pub fn from_bytes(shown: String, bytes: &[u8]) -> Result<Self, Problems> {
        let nameless = Self::new(shown.clone(), "");
        if bytes.len() > MOST_BYTES {
            let title = "this file is far too large to be meant";
            return Err(nameless.whole_problem(title, "check that it is the right file").alone());
        }
        match std::str::from_utf8(bytes) {
            Ok(text) => Ok(Self::new(shown, text)),
            Err(error) => {
                // The part before the strange byte is text, so its end can be pointed at.
                let before = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
                let file = Self::new(shown, &before);
                let end = file.text().len();
                let help = "open it in a text editor and save it as UTF-8 text";
                Err(file.problem(end..end, "this is not plain text from here on", help).alone())
            }
        }
    }

    /// Path as people should see it.
    pub fn path(&self) -> &str {
        &self.0.path
    }

    /// The text, without a byte-order mark.
    pub fn text(&self) -> &str {
        &self.0.text
    }

    /// A mistake at these bytes of the text.
    pub fn problem(&self, span: Range<usize>, title: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem {
            file: self.clone(),
            span: Some(self.within_one_line(&span)),
            title: title.into(),
            help: help.into(),
        }
    }

    /// A mistake that concerns the file as a whole.
    pub fn whole_problem(&self, title: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem { file: self.clone(), span: None, title: title.into(), help: help.into() }
    }

    /// Cuts a span to the text, to whole characters and to its first line.
    fn within_one_line(&self, span: &Range<usize>) -> Range<usize> {
        let text = self.text();
        let boundary = |at: &usize| text.is_char_boundary(*at);
        let start = (0..=span.start.min(text.len())).rev().find(boundary).unwrap_or(0);
        let end = (span.end.max(start)..text.len()).find(boundary).unwrap_or(text.len());
        let first_line = text[start..end].lines().next().unwrap_or("").trim_end();
        start..start + first_line.len()
    }
}

/// One mistake: its place, what is wrong and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    file: TextFile,
    /// Bytes within one line; none if the whole file is meant.
    span: Option<Range<usize>>,
    title: String,
    help: String,
}

impl Problem {
    /// A mistake that no open file can show, such as a missing folder.
    pub fn without_text(path: impl Into<String>, title: impl Into<String>, help: impl Into<String>) -> Self {
        TextFile::new(path, "").whole_problem(title, help)
    }

    /// Path of the file as people should see it.
    pub fn path(&self) -> &str {
        self.file.path()
    }

    /// Line, from 1, unless the whole file is meant.
    pub fn line(&self) -> Option<usize> {
        let before = &self.file.text()[..self.span.as_ref()?.start];
        Some(before.matches('\n').count() + 1)
    }

    /// Column in characters, from 1, unless the whole file is meant.
    pub fn column(&self) -> Option<usize> {
        let span = self.span.as_ref()?;
        let before = &self.file.text()[self.line_start(span)..span.start];
        Some(before.chars().count() + 1)
    }

    /// What is wrong.
    pub fn message(&self) -> &str {
        &self.title
    }

    /// How to mend it.
    pub fn help(&self) -> &str {
        &self.help
    }

    /// The same mistake told in other words.
    #[must_use]
    pub(crate) fn retitled(self, title: impl Into<String>) -> Self {
        Self { title: title.into(), ..self }
    }

    /// This mistake alone.
    pub fn alone(self) -> Problems {
        Problems(vec![self])
    }

    fn line_start(&self, span: &Range<usize>) -> usize {
        self.file.text()[..span.start].rfind('\n').map_or(0, |at| at + 1)
    }

    fn render(&self, renderer: &Renderer) -> String {
        let title = Level::ERROR.primary_title(&*self.title);
        let help = Level::HELP.message(&*self.help);
        let (Some(span), Some(line)) = (&self.span, self.line()) else {
            let origin = annotate_snippets::Origin::path(self.path());
            let report = [Group::with_title(title).element(origin).element(help)];
            return renderer.render(&report);
        };
        // Only the line itself is handed over, so that many mistakes in a long file stay cheap.
        let from = self.line_start(span);
        let text = &self.file.text()[from..];
        let text = text.split('\n').next().unwrap_or("").trim_end_matches('\r');
        let snippet = Snippet::source(text)
            .line_start(line)
            .path(self.path())
            .annotation(AnnotationKind::Primary.span(span.start - from..span.end - from));
        let report = [Group::with_title(title).element(snippet).element(help)];
        renderer.render(&report)
    }
}

/// All mistakes of one run, at least one.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Problems(Vec<Problem>);

impl Problems {
    /// The mistakes sorted by file (in the order in which files first occur) and place, twins
    /// dropped; `Ok` if there are none.
    ///
    /// # Errors
    /// If there is any mistake.
    pub fn check(problems: Vec<Problem>) -> Result<(), Self> {
        if problems.is_empty() {
            return Ok(());
        }
        let mut paths: Vec<String> = Vec::new();
        for problem in &problems {
            if !paths.iter().any(|path| path == problem.path()) {
                paths.push(problem.path().to_owned());
            }
        }
        let mut problems = problems;
        problems.sort_by_key(|problem| {
            let file = paths.iter().position(|path| path == problem.path());
            (file, problem.span.as_ref().map(|span| (span.start, span.end)))
        });
        problems.dedup();
        Err(Self(problems))
    }

    /// The mistakes, in order.
    pub fn iter(&self) -> impl Iterator<Item = &Problem> {
        self.0.iter()
    }

    /// The mistakes as a list, for adding to others.
    pub fn into_vec(self) -> Vec<Problem> {
        self.0
    }

    /// Draws every mistake with its place, the line concerned and how to mend it.
    pub fn render(&self, color: bool) -> String {
        let renderer = if color { Renderer::styled() } else { Renderer::plain() };
        let shown = &self.0[..self.0.len().min(MOST_DRAWN)];
        let mut drawn: Vec<String> = shown.iter().map(|problem| problem.render(&renderer)).collect();
        if let Some(more @ 1..) = self.0.len().checked_sub(MOST_DRAWN) {
            drawn.push(format!("... and {more} more; mend these first"));
        }
        drawn.join("\n\n")
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

/// The known name that `wrong` was most likely meant to be.
pub fn nearest<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wrong = wrong.trim().to_lowercase();
    // Comparing takes time in proportion to both lengths; nobody mistypes a name that long.
    if wrong.chars().count() > 60 {
        return None;
    }
    known
        .into_iter()
        .map(|name| (strsim::damerau_levenshtein(&wrong, &name.to_lowercase()), name))
        .filter(|(distance, name)| *distance <= 1 + name.chars().count().min(wrong.len()) / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// "did you mean ..?" where one known name is near, else a list of what is known.
pub fn suggest<'a>(wrong: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    match nearest(wrong, known.iter().copied()) {
        Some(name) => format!("did you mean \"{name}\"?"),
        None if known.is_empty() => "there is no name that could stand here".to_owned(),
        None => format!("known here: {}", known.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::store::Memory;

    #[test]
    fn mistakes_are_drawn_with_place_line_and_mend() {
        let file = TextFile::new("term.yaml", "\u{feff}name: A\nkräuter: bazil\n");
        let crop = file.problem(18..23, "unknown crop \"bazil\"", "did you mean \"basil\"?");
        let whole = file.whole_problem("sites are missing", "add at least one site");
        let problems = Problems::check(vec![crop.clone(), whole, crop]).unwrap_err();
        insta::assert_snapshot!(problems, @r#"
        error: sites are missing
        --> term.yaml
         = help: add at least one site

        error: unknown crop "bazil"
         --> term.yaml:2:10
          |
        2 | kräuter: bazil
          |          ^^^^^
          |
          = help: did you mean "basil"?
        "#);
    }

    #[test]
    fn any_span_can_be_drawn() {
        let file = TextFile::new("x", "aä\r\nb\tc");
        for start in 0..12 {
            for end in 0..12 {
                let problem = file.problem(start..end, "t", "h");
                assert!(problem.line().is_some_and(|line| line <= 2));
                assert!(problem.alone().render(true).contains("x:"));
            }
        }
    }

    #[test]
    fn a_flood_of_mistakes_is_cut_short() {
        let file = TextFile::new("x", "a");
        let problems = (0..100).map(|n| file.problem(0..1, format!("mistake {n}"), "h")).collect();
        let drawn = Problems::check(problems).unwrap_err().to_string();
        assert!(drawn.contains("mistake 39") && !drawn.contains("mistake 40"));
        assert!(drawn.ends_with("... and 60 more; mend these first"));
    }

    #[test]
    fn near_names_are_found_and_far_ones_are_not() {
        let known = ["basil", "oakleaf", "butterhead"];
        assert_eq!(nearest("Bazil", known), Some("basil"));
        assert_eq!(nearest("buterhaed", known), Some("butterhead"));
        assert_eq!(nearest("xy", known), None);
        assert_eq!(suggest("xy", known), "known here: basil, oakleaf, butterhead");
    }

    #[test]
    fn unreadable_files_are_named() {
        let store = Memory::new();
        assert_eq!(TextFile::read(&store, "no/such/file.yaml"), Ok(None));
        let missing = TextFile::need(&store, "no/such/file.yaml").unwrap_err();
        assert!(missing.to_string().contains("no/such/file.yaml"), "{missing}");
        store.write("bin.yaml", b"name: x\nab\xff\xfe").unwrap();
        let binary = TextFile::read(&store, "bin.yaml").unwrap_err();
        let first = binary.iter().next().unwrap();
        assert_eq!((first.line(), first.column()), (Some(2), Some(3)));
    }
}
