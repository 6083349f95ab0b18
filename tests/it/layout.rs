//! The shape of the repository: what lies where, which way imports point, how long files are, and that the
//! commands people are told are the ones that are tried.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What lies at the top, besides files whose name begins with a dot.
const TOP: [&str; 9] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "crops",
    "examples",
    "src",
    "tests",
];

/// Each folder under `src` with the others it may use. `cli` may use all of them.
const ARROWS: [(&str, &[&str]); 8] = [
    ("domain", &[]),
    ("files", &["domain"]),
    ("schedule", &["domain"]),
    ("check", &["domain"]),
    ("report", &["domain"]),
    ("insight", &["domain", "schedule", "check"]),
    ("replan", &["domain", "schedule", "check"]),
    ("desk", &["domain", "files", "schedule", "check", "report", "insight", "replan"]),
];

/// Lines a file under `src` may have to be read at one sitting.
const LONGEST: usize = 400;

/// The commands the README tells first.
const COMMANDS: [&str; 2] = ["cargo run --release -- plan examples/school", "cargo test"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Names at the top that git keeps; without git, all but cargo's own folder.
fn top() -> BTreeSet<String> {
    let git = Command::new("git").args(["ls-files", "-z"]).current_dir(root()).output();
    let kept: BTreeSet<String> = match git {
        Ok(output) if output.status.success() && !output.stdout.is_empty() => {
            String::from_utf8_lossy(&output.stdout)
                .split_terminator('\0')
                .filter_map(|path| path.split('/').next())
                .map(ToOwned::to_owned)
                .collect()
        }
        _ => fs::read_dir(root())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .filter(|name| name != "target")
            .collect(),
    };
    kept.into_iter().filter(|name| !name.starts_with('.')).collect()
}

/// Every Rust file under `src`, with its path from there.
fn sources() -> Vec<(PathBuf, String)> {
    fn visit(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                visit(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(path);
            }
        }
    }
    let src = root().join("src");
    let mut found = Vec::new();
    visit(&src, &mut found);
    found.sort();
    found
        .into_iter()
        .map(|path| {
            let text = fs::read_to_string(&path).unwrap();
            (path.strip_prefix(&src).unwrap().to_owned(), text)
        })
        .collect()
}

/// Folders (or files) of `src` that a line of code names as `crate::NAME`.
fn named(line: &str) -> impl Iterator<Item = &str> {
    line.split("crate::").skip(1).map(|rest| {
        let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len());
        &rest[..end]
    })
}

/// What is wrong with the imports of a file, if anything.
fn wrong_arrows(path: &Path, text: &str) -> Vec<String> {
    let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
    // Files right under `src` tie everything together.
    let [own, _, ..] = &parts[..] else {
        return Vec::new();
    };
    // Unit tests may read the examples.
    if own == "cli" || path.ends_with("tests.rs") {
        return Vec::new();
    }
    let Some((_, allowed)) = ARROWS.iter().find(|(folder, _)| *folder == own.as_ref()) else {
        return vec![format!("{own} is a new folder: say in ARROWS what it may use")];
    };
    // Modules from the crate down to this file; a `super` more would leave the folder unseen.
    let depth = parts.len() - usize::from(path.ends_with("mod.rs"));
    let mut wrong = Vec::new();
    for (number, line) in text.lines().enumerate() {
        let code = line.trim_start();
        if code.starts_with("//") {
            continue;
        }
        for name in named(code) {
            if name != own.as_ref() && !allowed.contains(&name) {
                wrong.push(format!("{}:{}: {own} must not use {name}", path.display(), number + 1));
            }
        }
        if code.matches("super::").count() > depth {
            wrong.push(format!("{}:{}: leaves its folder unnamed", path.display(), number + 1));
        }
    }
    wrong
}

#[test]
fn the_top_holds_what_it_should() {
    let expected: BTreeSet<String> = TOP.iter().map(ToString::to_string).collect();
    assert_eq!(top(), expected);
}

#[test]
fn imports_point_one_way() {
    let wrong: Vec<String> = sources().iter().flat_map(|(path, text)| wrong_arrows(path, text)).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_wrong_import_is_found() {
    let wrong = |path: &str, text: &str| wrong_arrows(Path::new(path), text).len();
    assert_eq!(wrong("check/holes.rs", "use crate::schedule::Options;\n"), 1);
    assert_eq!(wrong("domain/lid.rs", "fn f(plan: &crate::files::Plan) {}\n"), 1);
    assert_eq!(wrong("report/week.rs", "use crate::{domain, cli};\n"), 1);
    assert_eq!(wrong("files/tree.rs", "use super::super::super::cli;\n"), 1);
    assert_eq!(wrong("weather/mod.rs", ""), 1);
    assert_eq!(wrong("check/tests.rs", "use crate::cli;\n"), 0);
    let sound = "//! See crate::schedule.\nuse crate::domain::plan::Plan;\nuse super::days;\n";
    assert_eq!(wrong("check/holes.rs", sound), 0);
    assert_eq!(wrong("cli/plan.rs", "use crate::schedule;\nuse crate::report;\n"), 0);
}

#[test]
fn files_can_be_read_at_one_sitting() {
    let long: Vec<String> = sources()
        .iter()
        .filter(|(_, text)| text.lines().count() >= LONGEST)
        .map(|(path, text)| format!("{}: {} lines", path.display(), text.lines().count()))
        .collect();
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn the_commands_people_are_told_are_tried() {
    for file in ["README.md", ".ci/run"] {
        let text = fs::read_to_string(root().join(file)).unwrap();
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        for command in COMMANDS {
            assert!(lines.contains(&command), "{file} lacks: {command}");
        }
    }
}
