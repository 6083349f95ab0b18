//! `sowtide completions`: help for the shell to finish what is typed.

use super::failure::Failure;
use super::screen::Screen;
use clap::{Args, CommandFactory};
use clap_complete::Shell;

/// Print a script that lets your shell complete commands with the Tab key
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  sowtide completions bash > ~/.local/share/bash-completion/completions/sowtide"
)]
pub(super) struct Completions {
    /// Your shell
    shell: Shell,
}

impl Completions {
    pub(super) fn run(&self, screen: &Screen) -> Result<(), Failure> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut super::Cli::command(), "sowtide", &mut script);
        screen.result(&String::from_utf8_lossy(&script))
    }
}
