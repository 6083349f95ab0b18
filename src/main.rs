//! The `sowtide` command.

fn main() {}
