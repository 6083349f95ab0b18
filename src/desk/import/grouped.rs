//! Many lines of a spreadsheet with one mistake, told as one.

use crate::files::problem::Problem;
use std::collections::BTreeMap;

/// From so many lines on a mistake is told once.
const MANY: usize = 4;
/// So many of their numbers are told.
const NAMED: usize = 6;

/// The complaints, but those that many lines have alike as one each, at the first of these lines.
pub(super) fn grouped(problems: Vec<Problem>) -> Vec<Problem> {
    let mut alike: BTreeMap<(String, String), Vec<Problem>> = BTreeMap::new();
    for problem in problems {
        alike.entry((gist(problem.message()), gist(problem.help()))).or_default().push(problem);
    }
    alike.into_values().flat_map(|all| if all.len() < MANY { all } else { vec![as_one(all)] }).collect()
}

fn as_one(all: Vec<Problem>) -> Problem {
    let mut lines: Vec<usize> = all.iter().filter_map(Problem::line).collect();
    lines.sort_unstable();
    let named: Vec<String> = lines.iter().take(NAMED).map(ToString::to_string).collect();
    let more = lines.len().saturating_sub(NAMED);
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let mut all = all;
    all.sort_by_key(Problem::line);
    let first = all.swap_remove(0);
    let title = format!("{} (so in {} lines: {}{more})", first.message(), lines.len(), named.join(", "));
    first.retitled(title)
}

/// What a text says but for names in quotation marks and numbers, which differ from line to line.
fn gist(text: &str) -> String {
    let unquoted = text.split('"').step_by(2).collect::<Vec<_>>().join("\"");
    unquoted.chars().filter(|c| !c.is_ascii_digit()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::problem::TextFile;

    #[test]
    fn what_many_lines_have_alike_is_told_once() {
        let text = "a\nb\nc\nd\ne\nf\ng\nh\n";
        let file = TextFile::new("x.csv", text);
        let date = |line: usize| {
            let title = format!("\"{line}.{line}\" is not a date");
            file.problem(2 * line..2 * line + 1, title, "write year-month-day")
        };
        let told = |problems: Vec<Problem>| -> Vec<String> {
            grouped(problems).iter().map(|problem| problem.message().to_owned()).collect()
        };
        let mut problems: Vec<Problem> = (1..8).rev().map(date).collect();
        problems.push(file.problem(0..1, "\"0.0\" is not a number", "write digits"));
        assert_eq!(
            told(problems),
            ["\"0.0\" is not a number", "\"1.1\" is not a date (so in 7 lines: 2, 3, 4, 5, 6, 7 and 1 more)",]
        );
        assert_eq!(told((1..4).map(date).collect()).len(), 3);
    }
}
