//! A real browser prints our HTML to PDF, and another program reads the pages.
//!
//! Where there is no browser the tests that need one fail and say what is missing.

use super::python;
use serde::Deserialize;
use std::ffi::OsString;
use std::path::Path;
use std::process::{Command, Stdio};

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
}

impl Page {
    /// Whether it has this size, given in mm, to within half a millimetre.
    pub(crate) fn measures(&self, (width, height): (f64, f64)) -> bool {
        let near = |points: f64, mm: f64| (points / POINTS - mm).abs() < 0.5;
        near(self.width, width) && near(self.height, height)
    }
}

/// Prints a page of HTML, the paper being what its style asks for.
pub(crate) fn print(html: &str) -> Vec<Page> {
    let browser = match find(std::env::var_os(VARIABLE)) {
        Ok(browser) => browser,
        Err(missing) => panic!("{missing}"),
    };
    let (folder, html) = python::file("page.html", html);
    let pdf = folder.path().join("page.pdf");
    let output = Command::new(browser)
        // Root and many containers cannot have the browser's sandbox; it only ever sees our own page.
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run"])
        .arg("--no-pdf-header-footer")
        .arg(with_path("--user-data-dir=", &folder.path().join("profile")))
        .arg(with_path("--print-to-pdf=", &pdf))
        .arg(with_path("file://", Path::new(&html)))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && pdf.exists(), "the browser printed nothing: {said}");
    serde_json::from_str(&python::run(include_str!("read_pdf.py"), &[pdf.to_str().unwrap()])).unwrap()
}

fn with_path(start: &str, path: &Path) -> OsString {
    let mut text = OsString::from(start);
    text.push(path);
    text
}

/// The browser to run: the one named, or the first of [`NAMES`] there is.
fn find(named: Option<OsString>) -> Result<OsString, String> {
    let candidates = named.map_or_else(|| NAMES.iter().map(OsString::from).collect(), |name| vec![name]);
    let runs = |name: &OsString| {
        let version =
            Command::new(name).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status();
        version.is_ok_and(|status| status.success())
    };
    candidates.into_iter().find(runs).ok_or_else(|| {
        format!(
            "These tests print in a real browser and found none: install Chromium (on Debian: apt install chromium), \
             or name the program of a browser of its kind in the variable {VARIABLE}, then run the tests again"
        )
    })
}

#[test]
fn without_a_browser_the_tests_say_what_to_install() {
    let missing = find(Some("no-such-browser".into())).unwrap_err();
    assert!(missing.contains("install Chromium") && missing.contains(VARIABLE), "{missing}");
}

#[test]
fn printed_pages_have_size_and_text() {
    let html = "<style>@page { size: A4 landscape } p { break-after: page }</style><p>one</p>two";
    let pages = print(html);
    let texts: Vec<&str> = pages.iter().map(|page| page.text.trim()).collect();
    assert_eq!(texts, ["one", "two"]);
    assert!(pages.iter().all(|page| page.measures((297.0, 210.0))), "{pages:?}");
}
