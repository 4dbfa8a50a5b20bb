//! `bandwright bands`: the bands that come with the program, and one band's written ranges.

use super::Failure;
use super::files;
use super::range_text::range_text;
use crate::band::{Band, Exposure, Part, Remarks, SoundingRange, preset, preset_names, write_band};
use crate::export::{range_svg, safe_write};
use crate::music::{Interval, Sounding};
use clap::Args;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `bands`.
#[derive(Args, Debug)]
pub struct Bands {
    /// A preset or a roster file to show [default: list the presets]
    name: Option<String>,
    /// Show the band as a roster file
    #[arg(long, requires = "name")]
    toml: bool,
    /// Draw the parts' written ranges on staves into a file (SVG)
    #[arg(long, requires = "name", conflicts_with = "toml")]
    svg: Option<PathBuf>,
    /// Replace the drawing if it is there already
    #[arg(long, requires = "svg")]
    force: bool,
}

impl Bands {
    /// Runs the command.
    ///
    /// # Errors
    /// Where the band is not there or its roster cannot be used.
    pub fn run(self) -> Result<ExitCode, Failure> {
        match self.name {
            None => {
                for name in preset_names() {
                    files::say(&preset_line(name))?;
                }
                files::say(
                    "\n`bandwright bands NAME` shows one; with `--toml`, as a roster file to start from",
                )?;
            }
            Some(name) => {
                let band = files::band(&name)?;
                if let Some(path) = &self.svg {
                    return draw(&name, &band, path, self.force);
                }
                let text = if self.toml {
                    write_band(&band)
                } else {
                    format!("{}\n{}", table(&band), range_text(&band))
                };
                files::say(text.trim_end())?;
            }
        }
        Ok(ExitCode::SUCCESS)
    }
}

/// Writes the ranges of a band as a drawing; never over its own roster.
fn draw(name: &str, band: &Band, path: &Path, force: bool) -> Result<ExitCode, Failure> {
    if Path::new(name).is_file() && files::is_same(Path::new(name), path) {
        return Err(Failure::OutputIsInput(path.display().to_string()));
    }
    let existing = files::ask_to_replace(path, force);
    safe_write(path, range_svg(band).as_bytes(), existing)?;
    files::say(&format!("Written ranges drawn to {}", path.display()))?;
    Ok(ExitCode::SUCCESS)
}

fn preset_line(name: &str) -> String {
    preset(name).map_or_else(
        |error| format!("{name}: {error}"),
        |band| {
            let players: u32 = band.parts.iter().map(|p| p.players.count()).sum();
            format!(
                "{name:<16} {:>2} parts, {players:>3} players  {}",
                band.parts.len(),
                band.name
            )
        },
    )
}

const HEADER: [&str; 7] = [
    "Part",
    "Instrument",
    "Players",
    "Lowest",
    "Comfortable",
    "Highest",
    "Remarks",
];

/// A table for a terminal: for each part its instrument, players by level, lowest, comfortable
/// and highest notes as written for the player, and the director's remarks. Columns are
/// aligned; no line ends in spaces.
#[must_use]
pub fn table(band: &Band) -> String {
    let mut rows = vec![HEADER.map(str::to_owned)];
    rows.extend(band.parts.iter().map(row));
    let widths: Vec<usize> = (0..HEADER.len())
        .map(|c| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0))
        .collect();
    let mut text = format!("{}\n\n", band.name);
    for row in rows {
        let cells = row.iter().zip(&widths);
        let line: Vec<_> = cells.map(|(cell, w)| format!("{cell:w$}")).collect();
        text.push_str(line.join("  ").trim_end());
        text.push('\n');
    }
    text
}

fn row(part: &Part) -> [String; HEADER.len()] {
    let written = |pitch: Sounding| part.instrument.transposition.written(pitch).to_string();
    let span = |r: SoundingRange| format!("{}-{}", written(r.low), written(r.high));
    let levels = part.players.levels();
    let players: Vec<_> = levels.map(|(level, n)| format!("{n} {level}")).collect();
    [
        part.name.clone(),
        part.instrument.name.clone(),
        players.join(", "),
        written(part.limits.range.low),
        span(part.limits.comfortable),
        written(part.limits.range.high),
        remarks(&part.remarks),
    ]
}

fn remarks(remarks: &Remarks) -> String {
    let mut texts = Vec::new();
    texts.extend(remarks.lowest.map(|p| format!("nothing below {p}")));
    texts.extend(remarks.highest.map(|p| format!("nothing above {p}")));
    if remarks.below_the_break {
        texts.push("below the break".to_owned());
    }
    let leap = |l: Interval| format!("no leaps over {} semitones", l.0);
    texts.extend(remarks.no_leaps_over.map(leap));
    match remarks.exposure {
        Exposure::Unsaid => {}
        Exposure::May => texts.push("may be exposed".to_owned()),
        Exposure::Never => texts.push("never exposed".to_owned()),
    }
    let plain = remarks.note.replace(char::is_control, " ");
    let note: Vec<_> = plain.split_whitespace().collect();
    if !note.is_empty() {
        texts.push(note.join(" "));
    }
    texts.join("; ")
}
