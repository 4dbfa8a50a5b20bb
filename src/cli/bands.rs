//! `bandwright bands`: the bands that come with the program, and one band's written ranges.

use super::Failure;
use super::files;
use super::range_text::range_text;
use crate::band::{
    Band, Division, Part, Share, SoundingRange, preset, preset_names, remarks_in_words, write_band,
    write_csv,
};
use crate::export::{range_svg, safe_write};
use crate::music::Sounding;
use clap::Args;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Arguments of `bands`.
#[derive(Args, Debug)]
pub struct Bands {
    /// A preset or a roster file to show [default: list the presets]
    name: Option<String>,
    /// Show the band as a roster file
    #[arg(long, requires = "name", conflicts_with = "csv")]
    toml: bool,
    /// Show the band as a table for a spreadsheet
    #[arg(long, requires = "name")]
    csv: bool,
    #[command(flatten)]
    away: files::Away,
    /// Draw the parts' written ranges on staves into a file (SVG)
    #[arg(long, requires = "name", conflicts_with_all = ["toml", "csv"])]
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
            None if !self.away.absent.is_empty() => return Err(Failure::AbsentFromNoBand),
            None => {
                for name in preset_names() {
                    files::say(&preset_line(name))?;
                }
                files::say(
                    "\n`bandwright bands NAME` shows one; with `--toml`, as a roster file to start from",
                )?;
            }
            Some(name) => {
                let band = files::band_without(&name, &self.away)?;
                if let Some(path) = &self.svg {
                    return draw(&name, &band, path, self.force);
                }
                if self.csv {
                    files::overrides_left_out(&band);
                }
                let text = if self.toml {
                    write_band(&band)
                } else if self.csv {
                    write_csv(&band)
                } else {
                    let divisions = divisions(&band);
                    format!("{}{divisions}\n{}", table(&band), range_text(&band))
                };
                files::say(text.trim_end())?;
            }
        }
        Ok(ExitCode::SUCCESS)
    }
}

/// Writes the ranges of a band as a drawing; never over its own roster.
fn draw(name: &str, band: &Band, path: &Path, force: bool) -> Result<ExitCode, Failure> {
    files::refuse_over_inputs(path, &[files::roster_file(name)])?;
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
        remarks_in_words(&part.remarks).join("; "),
    ]
}

/// How the sections were divided: for each its parts with who plays them, then why. Players are
/// named where the roster does: this is for the director. Nothing for a band without sections.
#[must_use]
pub fn divisions(band: &Band) -> String {
    let one = |d| division(band, d);
    band.divisions.iter().map(one).collect()
}

fn division(band: &Band, division: &Division) -> String {
    let mut text = format!("\n{}\n", division.section);
    let width = division.shares.iter().map(|s| s.part.chars().count());
    let width = width.max().unwrap_or(0);
    for share in &division.shares {
        let who = who(band, &division.section, share);
        text.push_str(&format!("  {:width$}  {who}\n", share.part));
    }
    for reason in &division.reasons {
        text.push_str(&format!("  {reason}\n"));
    }
    text
}

/// Players with a name by name, then the others by level.
fn who(band: &Band, section: &str, share: &Share) -> String {
    let section = band.roster.sections.iter().find(|s| s.name == section);
    let seats = section.map_or(&[][..], |s| &s.seats);
    let mut others = share.players;
    let mut texts = Vec::new();
    for seat in share.seats.iter().filter_map(|i| seats.get(*i)) {
        if !seat.name.is_empty() {
            texts.push(format!("{} ({})", seat.name, seat.level));
            let count = &mut others.0[seat.level.index()];
            *count = count.saturating_sub(1);
        }
    }
    let levels: Vec<_> = others.levels().collect();
    texts.extend(levels.iter().rev().map(|(level, n)| format!("{n} {level}")));
    if texts.is_empty() {
        return "nobody".to_owned();
    }
    texts.join(", ")
}
