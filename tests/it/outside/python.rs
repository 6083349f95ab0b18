//! Runs Python scripts with other people's programs, in an environment of their own under `target/`.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

const HELP: &str = "install python3 (3.11 or newer) and python3-venv, and let pip reach a package index, then run \
                    the tests again";

/// What a script of this folder prints.
pub(super) fn run(script: &str, arguments: &[&str]) -> String {
    let script = folder().join(script);
    let mut command = Command::new(python());
    // Python reads and writes UTF-8 everywhere only if told so.
    command.args(["-X", "utf8"]).arg(&script).args(arguments);
    done(&mut command).unwrap_or_else(|why| panic!("{} failed: {why}", script.display()))
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/outside")
}

/// The environment's Python; the environment is made once, and again when the requirements change.
fn python() -> &'static Path {
    static PYTHON: OnceLock<Result<PathBuf, String>> = OnceLock::new();
    match PYTHON.get_or_init(environment) {
        Ok(python) => python,
        Err(missing) => panic!("comparing with other programs needs Python: {missing}; {HELP}"),
    }
}

fn environment() -> Result<PathBuf, String> {
    let target = Path::new(env!("CARGO_TARGET_TMPDIR"));
    fs::create_dir_all(target).map_err(|error| error.to_string())?;
    // Several test programs may start at once; the lock ends with the program that holds it.
    let lock = File::create(target.join("outside-venv.lock")).map_err(|error| error.to_string())?;
    lock.lock().map_err(|error| error.to_string())?;
    let home = target.join("outside-venv");
    let python = if cfg!(windows) {
        home.join("Scripts/python.exe")
    } else {
        home.join("bin/python")
    };
    let requirements = folder().join("requirements.txt");
    let wanted = fs::read_to_string(&requirements).map_err(|error| error.to_string())?;
    // Written last, so that half an environment is never taken for a whole one.
    let installed = home.join("installed.txt");
    if fs::read_to_string(&installed).is_ok_and(|found| found == wanted) {
        return Ok(python);
    }
    done(Command::new(any_python()?).args(["-m", "venv", "--clear"]).arg(&home))
        .map_err(|why| format!("no virtual environment could be made ({why})"))?;
    let pip = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"];
    done(Command::new(&python).args(pip).arg(&requirements))
        .map_err(|why| format!("the packages of {} cannot be had ({why})", requirements.display()))?;
    fs::write(installed, wanted).map_err(|error| error.to_string())?;
    Ok(python)
}

fn any_python() -> Result<&'static str, String> {
    ["python3", "python"]
        .into_iter()
        .find(|name| done(Command::new(name).args(["-c", "import sys; assert sys.version_info >= (3, 11)"])).is_ok())
        .ok_or_else(|| "there is no Python 3.11 or newer".to_owned())
}

fn done(command: &mut Command) -> Result<String, String> {
    let ran: io::Result<Output> = command.output();
    let ran = ran.map_err(|error| error.to_string())?;
    if ran.status.success() {
        String::from_utf8(ran.stdout).map_err(|error| error.to_string())
    } else {
        Err(String::from_utf8_lossy(&ran.stderr).trim().to_owned())
    }
}
