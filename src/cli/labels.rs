//! Options of labels, for `sowtide sheets`.

use super::failure::Failure;
use crate::domain::units::Length;
use crate::report::sheets::{LabelFor, LabelGrid, LabelPaper, LabelWish, Paper, SMALLEST_LABEL};
use clap::Args;

/// How labels are printed.
#[derive(Debug, Args)]
#[command(next_help_heading = "Labels")]
pub(super) struct Labels {
    /// Label paper as columns x rows, such as 3x8, or "plain" for plain paper with lines to cut along
    ///
    /// Known without --label-edges: on Letter 3x10, 2x10, 2x5; on A4 3x8, 3x7, 2x7, 4x10, 5x13. These sizes are from
    /// memory: hold a print on plain paper against your labels first.
    #[arg(long = "label-grid", value_name = "GRID", default_value = "plain")]
    grid: String,
    /// Where the labels lie: distance from the top, distance from the side, and if there are any, the gaps between
    /// columns and between rows, such as "12.7 mm, 4.8 mm, 3 mm, 0 mm"
    #[arg(long = "label-edges", value_name = "LENGTHS", requires = "grid")]
    edges: Option<String>,
    /// One label for each batch instead of one for each plug and hole
    #[arg(long = "label-batches")]
    batches: bool,
}

impl Labels {
    pub(super) fn wish(&self, paper: Paper) -> Result<LabelWish, Failure> {
        let one_for = if self.batches { LabelFor::EachBatch } else { LabelFor::EachPlant };
        let paper = match self.grid.trim() {
            "plain" if self.edges.is_some() => {
                return Err(Failure::usage(
                    "--label-edges is for label paper, not for plain paper",
                    "leave it out, or name the grid of the labels: --label-grid 3x8",
                ));
            }
            "plain" => LabelPaper::Plain,
            grid => LabelPaper::Grid(self.read_grid(grid, paper)?),
        };
        Ok(LabelWish { paper, one_for })
    }

    fn read_grid(&self, text: &str, paper: Paper) -> Result<LabelGrid, Failure> {
        let (columns, rows) = columns_and_rows(text)?;
        let Some(edges) = &self.edges else {
            return LabelGrid::common(paper, columns, rows).ok_or_else(|| unknown(paper, columns, rows));
        };
        let [top, side, across, down] = lengths(edges)?;
        let grid = LabelGrid { columns, rows, top, side, across, down };
        let (width, height) = grid.label(paper);
        if width < SMALLEST_LABEL.0 || height < SMALLEST_LABEL.1 {
            return Err(Failure::usage(
                format!(
                    "a label of {:.0} x {:.0} mm is too small to be read",
                    width.max(0.0),
                    height.max(0.0)
                ),
                format!(
                    "take one of at least {} x {} mm; also see that --label-edges and --paper are right",
                    SMALLEST_LABEL.0, SMALLEST_LABEL.1
                ),
            ));
        }
        Ok(grid)
    }
}

fn columns_and_rows(text: &str) -> Result<(u32, u32), Failure> {
    let parts: Vec<Option<u32>> = text.split(['x', 'X', '×']).map(|part| part.trim().parse().ok()).collect();
    match parts[..] {
        [Some(columns @ 1..=20), Some(rows @ 1..=40)] => Ok((columns, rows)),
        _ => Err(Failure::usage(
            format!("\"{text}\" is not a grid of labels"),
            "write columns x rows, such as --label-grid 3x8, or --label-grid plain",
        )),
    }
}

fn unknown(paper: Paper, columns: u32, rows: u32) -> Failure {
    let known: Vec<String> =
        LabelGrid::common_on(paper).map(|(columns, rows)| format!("{columns}x{rows}")).collect();
    let (other, option) = match paper {
        Paper::A4 => (Paper::Letter, "--paper letter, "),
        Paper::Letter => (Paper::A4, "--paper a4, "),
    };
    let option = if LabelGrid::common(other, columns, rows).is_some() { option } else { "" };
    Failure::usage(
        format!("nobody has said where {columns}x{rows} labels lie on this paper"),
        format!("add {option}--label-edges, or take one of {}", known.join(", ")),
    )
}

/// Two to four lengths in mm; gaps left out are nil.
fn lengths(text: &str) -> Result<[f64; 4], Failure> {
    const HELP: &str =
        "write top and side edge, and gaps if there are any: --label-edges \"12.7 mm, 4.8 mm, 3 mm, 0 mm\"";
    let mut all = [0.0; 4];
    let parts: Vec<&str> = text.split(',').collect();
    if !(2..=4).contains(&parts.len()) {
        return Err(Failure::usage(format!("\"{text}\" is not two to four lengths"), HELP.to_owned()));
    }
    for (place, part) in all.iter_mut().zip(parts) {
        let length: Length = part
            .parse()
            .map_err(|error| Failure::usage(format!("\"{}\": {error}", part.trim()), HELP.to_owned()))?;
        *place = length.cm() * 10.0;
    }
    Ok(all)
}
