//! The `sowtide` command: parse, run, say once what went wrong, leave with the right code.

use std::process::ExitCode;

fn main() -> ExitCode {
    sowtide::cli::run()
}
