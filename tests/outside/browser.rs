//! A real browser prints our HTML to PDF, and another program reads the pages.

use super::needs::{BROWSER, Lack, NOTHING, PAPER};
use super::python;
use serde::Deserialize;
use std::ffi::OsString;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

checks! {
    NOTHING =>
        without_a_browser_the_checks_say_what_to_install;
    PAPER =>
        printed_pages_have_size_and_text;
    BROWSER =>
        wide_pages_cramped_drawings_and_complaints_are_seen;
}

/// Names under which Chromium and its kin are installed.
const NAMES: [&str; 5] = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"];

/// Tells where the browser is, if it has another name.
const VARIABLE: &str = "SOWTIDE_BROWSER";

/// Points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

/// A printed page.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub(crate) struct Page {
    /// Points.
    pub(crate) width: f64,
    /// Points.
    pub(crate) height: f64,
    /// All text on it, header and footer included.
    pub(crate) text: String,
    /// Where pieces of text begin, from the lower left corner, points.
    spots: Vec<(f64, f64)>,
}

impl Page {
    /// Whether it has this size, given in mm, to within half a millimetre.
    pub(crate) fn measures(&self, (width, height): (f64, f64)) -> bool {
        let near = |points: f64, mm: f64| (points / POINTS - mm).abs() < 0.5;
        near(self.width, width) && near(self.height, height)
    }

    /// Whether all text begins on the paper, at least 3 mm from its edges, where printers can print.
    pub(crate) fn keeps_to_the_paper(&self) -> bool {
        let edge = 3.0 * POINTS;
        self.spots
            .iter()
            .all(|(x, y)| (edge..self.width - edge).contains(x) && (edge..self.height - edge).contains(y))
    }
}

/// Prints a page of HTML, the paper being what its style asks for.
pub(crate) fn print(html: &str) -> Vec<Page> {
    let (folder, html) = python::file("page.html", html);
    let pdf = folder.path().join("page.pdf");
    let output =
        run(folder.path(), &["--no-pdf-header-footer".into(), with_path("--print-to-pdf=", &pdf)], &html);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && pdf.exists(), "the browser printed nothing: {said}");
    serde_json::from_str(&python::run(include_str!("read_pdf.py"), &[pdf.to_str().unwrap()])).unwrap()
}

/// How a page looks on a screen.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub(crate) struct Sight {
    /// Pixels its widest part takes; more than the window has means that one must scroll sideways.
    pub(crate) width: f64,
    /// Pieces of text in drawings that reach out of their drawing or cover another piece.
    pub(crate) cramped: Vec<String>,
    /// What the browser complains about in its console.
    #[serde(skip)]
    pub(crate) console: Vec<String>,
}

/// Shows a page of HTML in a window so many pixels wide.
pub(crate) fn look(html: &str, width: u32) -> Sight {
    // A window of its own may not be this narrow, so the page stands in a frame that is.
    let measure = include_str!("measure.js");
    let page = serde_json::to_string(html).unwrap().replace("</", "<\\/");
    let frame = format!(
        "<meta charset=\"utf-8\"><iframe width=\"{width}\" height=\"800\" style=\"border: 0\"></iframe>\
         <script>const page = {page};\n{measure}</script>"
    );
    let (folder, html) = python::file("frame.html", &frame);
    let args = ["--enable-logging=stderr", "--virtual-time-budget=5000", "--dump-dom"].map(OsString::from);
    let output = run(folder.path(), &args, &html);
    let (said, shown) = (String::from_utf8_lossy(&output.stderr), String::from_utf8_lossy(&output.stdout));
    let sight = shown.split_once("<pre>").and_then(|(_, rest)| rest.split_once("</pre>"));
    let Some((sight, _)) = sight else {
        panic!("the browser measured nothing: {said}\n{shown}");
    };
    let mut sight: Sight = serde_json::from_str(&sight.replace("&lt;", "<").replace("&amp;", "&")).unwrap();
    sight.console = said.lines().filter(|line| line.contains("CONSOLE")).map(str::to_owned).collect();
    sight
}

/// The browser, looked for once.
pub(crate) fn ready() -> Result<&'static OsString, &'static Lack> {
    static BROWSER: OnceLock<Result<OsString, Lack>> = OnceLock::new();
    BROWSER.get_or_init(|| find(std::env::var_os(VARIABLE))).as_ref()
}

fn run(folder: &Path, args: &[OsString], html: &str) -> Output {
    Command::new(ready().unwrap())
        // Root and many containers cannot have the browser's sandbox; it only ever sees our own page.
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"])
        .arg(with_path("--user-data-dir=", &folder.join("profile")))
        .args(args)
        .arg(with_path("file://", Path::new(html)))
        .output()
        .unwrap()
}

fn with_path(start: &str, path: &Path) -> OsString {
    let mut text = OsString::from(start);
    text.push(path);
    text
}

/// The browser to run: the one named, or the first of [`NAMES`] there is.
fn find(named: Option<OsString>) -> Result<OsString, Lack> {
    let candidates = named.map_or_else(|| NAMES.iter().map(OsString::from).collect(), |name| vec![name]);
    let runs = |name: &OsString| {
        let version =
            Command::new(name).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status();
        version.is_ok_and(|status| status.success())
    };
    candidates.into_iter().find(runs).ok_or_else(|| Lack {
        what: "no browser was found".to_owned(),
        mend: format!(
            "install Chromium (on Debian: apt install chromium), or name the program of a browser of its kind in \
             the variable {VARIABLE}"
        ),
        said: String::new(),
    })
}

fn without_a_browser_the_checks_say_what_to_install() {
    let missing = find(Some("no-such-browser".into())).unwrap_err();
    assert!(missing.mend.contains("install Chromium") && missing.mend.contains(VARIABLE), "{missing}");
}

fn printed_pages_have_size_and_text() {
    let html = "<style>@page { size: A4 landscape } p { break-after: page }</style><p>one</p>two";
    let pages = print(html);
    let texts: Vec<&str> = pages.iter().map(|page| page.text.trim()).collect();
    assert_eq!(texts, ["one", "two"]);
    assert!(pages.iter().all(|page| page.measures((297.0, 210.0)) && page.keeps_to_the_paper()), "{pages:?}");
    let off = print(
        "<style>@page { size: A4; margin: 0 } body { margin: 0 } p { margin: 10mm 0 0 1mm }</style><p>here",
    );
    assert!(off.iter().any(|page| !page.keeps_to_the_paper()), "{off:?}");
}

fn wide_pages_cramped_drawings_and_complaints_are_seen() {
    let fine =
        "<p>a</p><svg width='90' height='40'><text y='20'>one</text><text x='50' y='20'>two</text></svg>";
    assert_eq!(look(fine, 360), Sight { width: 360.0, cramped: vec![], console: vec![] });
    let wide = look("<div style='width: 500px'>a</div>", 360);
    assert!(wide.width >= 500.0, "{wide:?}");
    let cramped =
        look("<svg width='90' height='40'><text y='20'>one</text><text x='4' y='22'>two</text></svg>", 360);
    assert_eq!(cramped.cramped, ["one / two"]);
    let outside = look("<svg width='30' height='40'><text y='20'>much too long</text></svg>", 360);
    assert_eq!(outside.cramped, ["much too long"]);
    let angry = look("<script>console.error('no', 'good')</script>", 360);
    assert!(angry.console.len() == 1 && angry.console[0].contains("no good"), "{angry:?}");
}
