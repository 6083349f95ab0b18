//! A Python environment with the pinned packages of `requirements.txt`, made once under `target/`.

use super::needs::{Lack, NOTHING};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

checks! {
    NOTHING =>
        without_python_the_checks_say_what_to_install;
}

/// The packages, with their versions.
const REQUIREMENTS: &str = include_str!("requirements.txt");

/// Runs a script with the arguments given and returns what it prints.
pub(crate) fn run(script: &str, args: &[&str]) -> String {
    let output =
        Command::new(ready().unwrap()).args(["-X", "utf8", "-c", script]).args(args).output().unwrap();
    assert!(output.status.success(), "the script failed: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The interpreter of the environment, made if it is not there yet.
pub(crate) fn ready() -> Result<&'static PathBuf, &'static Lack> {
    static PYTHON: OnceLock<Result<PathBuf, Lack>> = OnceLock::new();
    PYTHON.get_or_init(|| prepare("python3", &target().join("outside-venv"))).as_ref()
}

/// A file for a script to read, in a folder that goes when this is dropped.
pub(crate) fn file(name: &str, text: &str) -> (tempfile::TempDir, String) {
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
fn prepare(python3: &str, folder: &Path) -> Result<PathBuf, Lack> {
    let python = folder.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    // Other test processes wait here; the lock goes with the process that holds it.
    let lock = File::create(folder.with_extension("lock")).and_then(|lock| lock.lock().map(|()| lock));
    let _lock = lock.map_err(|error| unusable(folder, &error))?;
    // Written last, so that an environment left half made is never taken for a whole one.
    let stamp = folder.join("made-from.txt");
    let whole = fs::read_to_string(&stamp).is_ok_and(|made_from| made_from == REQUIREMENTS);
    if whole && Command::new(&python).args(["-c", ""]).output().is_ok_and(|output| output.status.success()) {
        return Ok(python);
    }
    if folder.exists() {
        fs::remove_dir_all(folder).map_err(|error| unusable(folder, &error))?;
    }
    step(Command::new(python3).args(["-m", "venv"]).arg(folder)).map_err(|said| Lack {
        what: "there is no python3 with its module venv".to_owned(),
        mend: "install python3 and python3-venv, version 3.11 or newer (on Windows: from python.org)"
            .to_owned(),
        said,
    })?;
    let listed = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside/requirements.txt");
    let pip = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--retries", "1", "-r"];
    step(Command::new(&python).args(pip).arg(&listed)).map_err(|said| Lack {
        what: "pip could not install the packages of tests/outside/requirements.txt".to_owned(),
        mend: "connect to the internet for the first run, or let pip know where to get them".to_owned(),
        said,
    })?;
    fs::write(&stamp, REQUIREMENTS).map_err(|error| unusable(folder, &error))?;
    Ok(python)
}

fn unusable(folder: &Path, error: &io::Error) -> Lack {
    Lack {
        what: format!("no Python environment can be made in {}", folder.display()),
        mend: "see that this folder can be written".to_owned(),
        said: error.to_string(),
    }
}

/// Runs a command; if it fails, returns what it said.
fn step(command: &mut Command) -> Result<(), String> {
    match command.output() {
        Ok(output) if output.status.success() => Ok(()),
        Ok(output) => Err(String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned()),
        Err(error) => Err(error.to_string()),
    }
}

fn without_python_the_checks_say_what_to_install() {
    let folder = tempfile::tempdir().unwrap();
    let missing = prepare("no-such-python", &folder.path().join("venv")).unwrap_err();
    assert!(missing.mend.contains("install python3 and python3-venv"), "{missing}");
}
