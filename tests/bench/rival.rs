//! The rival: HiGHS, a general solver, given the same model to solve as a whole.
//!
//! It has it easier: its plan takes equal tanks of a site together and needs no numbered holes.

use sowtide::domain::term::Term;
use sowtide::schedule;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// HiGHS from its Python wheel, in exactly this version.
const WHEEL: &str = "highspy==1.16.0";
const PROGRAM: &str = include_str!("rival.py");

/// What the rival found, and when.
pub(crate) struct Rival {
    /// Seconds and points of each better plan, in order.
    better: Vec<(f64, f64)>,
    /// Seconds it took.
    pub(crate) seconds: f64,
    /// No plan costs less, says the rival.
    pub(crate) bound: f64,
}

impl Rival {
    /// Points of its best plan so many seconds after it began.
    pub(crate) fn points_at(&self, seconds: f64) -> Option<f64> {
        let found = self.better.iter().filter(|(time, _)| *time <= seconds);
        found.map(|(_, points)| *points).min_by(f64::total_cmp)
    }
}

/// Lets the rival work for so many seconds.
pub(crate) fn run(term: &Term, seconds: u64, seed: u64, cores: usize) -> Result<Rival, Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let python = python(folder)?;
    let model = tempfile::Builder::new().suffix(".mps").tempfile_in(folder)?;
    fs::write(model.path(), schedule::export_model(term))?;
    let output = Command::new(python)
        .args(["-c", PROGRAM])
        .arg(model.path())
        .args([seconds.to_string(), seed.to_string(), cores.to_string()])
        .output()?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into());
    }
    read(&String::from_utf8_lossy(&output.stdout))
}

fn read(text: &str) -> Result<Rival, Box<dyn Error>> {
    let mut better = Vec::new();
    for line in text.lines() {
        match line.split_whitespace().collect::<Vec<_>>()[..] {
            ["better", seconds, points] => better.push((seconds.parse()?, points.parse()?)),
            ["end", seconds, points, bound] => {
                let seconds = seconds.parse()?;
                if points != "none" {
                    better.push((seconds, points.parse()?));
                }
                return Ok(Rival { better, seconds, bound: bound.parse()? });
            }
            _ => {}
        }
    }
    Err("the rival ended without a word".into())
}

/// The interpreter of a virtual environment with the wheel in it, made the first time.
fn python(folder: &Path) -> Result<PathBuf, Box<dyn Error>> {
    let home = folder.join("rival-python");
    let bin = if cfg!(windows) { "Scripts" } else { "bin" };
    let python = home.join(bin).join("python");
    let ready = home.join(WHEEL);
    if !ready.exists() {
        eprintln!("Installing {WHEEL} ...");
        let base = if cfg!(windows) { "python" } else { "python3" };
        succeed(Command::new(base).args(["-m", "venv", "--clear"]).arg(&home))?;
        succeed(Command::new(&python).args(["-m", "pip", "install", "--quiet", WHEEL]))?;
        fs::write(&ready, "")?;
    }
    Ok(python)
}

fn succeed(command: &mut Command) -> Result<(), Box<dyn Error>> {
    let output = command.output()?;
    if output.status.success() {
        Ok(())
    } else {
        Err(format!("{command:?}: {}", String::from_utf8_lossy(&output.stderr)).into())
    }
}
