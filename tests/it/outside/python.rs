//! A Python environment with the pinned packages of `requirements.txt`, made once under `target/`.
//!
//! Where it cannot be made, the tests that need it fail and say what is missing: a check that quietly does
//! not happen would look like one that holds.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

/// The packages, with their versions.
const REQUIREMENTS: &str = include_str!("requirements.txt");

/// Runs a script with the arguments given and returns what it prints.
pub(super) fn run(script: &str, args: &[&str]) -> String {
    static PYTHON: OnceLock<Result<PathBuf, String>> = OnceLock::new();
    let python = match PYTHON.get_or_init(|| prepare("python3", &target().join("outside-venv"))) {
        Ok(python) => python,
        Err(missing) => panic!("{missing}"),
    };
    let output = Command::new(python).args(["-X", "utf8", "-c", script]).args(args).output().unwrap();
    assert!(output.status.success(), "the script failed: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// A file for a script to read, in a folder that goes when this is dropped.
pub(super) fn file(name: &str, text: &str) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    fs::write(&path, text).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (folder, path)
}

/// Cargo's own folder for what it builds.
fn target() -> &'static Path {
    Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap()
}

/// The interpreter of the environment in `folder`, which is made anew unless it holds just these packages.
fn prepare(python3: &str, folder: &Path) -> Result<PathBuf, String> {
    let python = folder.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    // Other test processes wait here; the lock goes with the process that holds it.
    let lock = File::create(folder.with_extension("lock"))
        .map_err(|error| format!("{error}: {}", folder.display()))?;
    lock.lock().map_err(|error| format!("cannot lock {}: {error}", folder.display()))?;
    // Written last, so that an environment left half made is never taken for a whole one.
    let stamp = folder.join("made-from.txt");
    let whole = fs::read_to_string(&stamp).is_ok_and(|made_from| made_from == REQUIREMENTS);
    if whole && Command::new(&python).args(["-c", ""]).output().is_ok_and(|output| output.status.success()) {
        return Ok(python);
    }
    if folder.exists() {
        fs::remove_dir_all(folder).map_err(|error| format!("cannot clear {}: {error}", folder.display()))?;
    }
    step(
        Command::new(python3).args(["-m", "venv"]).arg(folder),
        "These tests compare with programs written in Python and need Python 3.11 or newer with its venv module: \
         install python3 and python3-venv (on Windows: from python.org), then run the tests again",
    )?;
    let listed = format!("{}/tests/it/outside/requirements.txt", env!("CARGO_MANIFEST_DIR"));
    step(
        Command::new(&python)
            .args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"])
            .arg(&listed),
        &format!(
            "The Python packages listed in {listed} could not be installed: connect to the internet for the first \
             run, or let pip know where to get them, then run the tests again"
        ),
    )?;
    fs::write(&stamp, REQUIREMENTS).map_err(|error| format!("cannot write {}: {error}", stamp.display()))?;
    Ok(python)
}

/// Runs a command; if it fails, says what is missing and what the command said.
fn step(command: &mut Command, missing: &str) -> Result<Output, String> {
    match command.output() {
        Ok(output) if output.status.success() => Ok(output),
        Ok(output) => {
            let said = [output.stdout, output.stderr].concat();
            Err(format!("{missing}.\n{}", String::from_utf8_lossy(&said)))
        }
        Err(error) => Err(format!("{missing}.\n{error}")),
    }
}

#[test]
fn without_python_the_tests_say_what_to_install() {
    let folder = tempfile::tempdir().unwrap();
    let missing = prepare("no-such-python", &folder.path().join("venv")).unwrap_err();
    assert!(missing.contains("install python3 and python3-venv"), "{missing}");
}
