//! `bandwright timelines`: the timelines that come with the program, to read and to start one's own from.

use super::{Failure, files};
use crate::plan::timeline::{
    MOST_BARS, MOST_SECONDS, MarkKind, Place, Share, Timeline, template, template_source,
    template_words, write_timeline,
};
use clap::Args;
use std::process::ExitCode;

/// Arguments of `timelines`.
#[derive(Args, Debug)]
pub struct Timelines {
    /// A timeline to show as a file, to start one of your own from [default: list them]
    name: Option<String>,
    /// Stretched to so many bars
    #[arg(long, value_name = "N", requires = "name", value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST_BARS)))]
    bars: Option<u32>,
    /// Stretched to so many seconds
    #[arg(long, value_name = "N", requires = "name", conflicts_with = "bars", value_parser = seconds)]
    seconds: Option<f64>,
}

impl Timelines {
    /// Runs the command.
    ///
    /// # Errors
    /// Where there is no such timeline.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let text = match self.name {
            None => list()?,
            Some(name) => match (self.bars, self.seconds) {
                (Some(bars), _) => write_timeline(&of(&name)?.in_bars(bars).into()),
                (_, Some(seconds)) => write_timeline(&of(&name)?.in_seconds(seconds).into()),
                _ => template_source(&name)
                    .map_err(Failure::Timeline)?
                    .to_owned(),
            },
        };
        files::say(text.trim_end())?;
        Ok(ExitCode::SUCCESS)
    }
}

fn of(name: &str) -> Result<Timeline<Share>, Failure> {
    template(name).map_err(Failure::Timeline)
}

/// A timeline needs some length.
fn seconds(text: &str) -> Result<f64, String> {
    let number: Option<f64> = text.parse().ok();
    let usable = number.filter(|n| *n >= 1.0 && *n <= MOST_SECONDS);
    usable.ok_or_else(|| format!("give a number of seconds from 1 to {MOST_SECONDS}"))
}

/// Every timeline with what it does, its peaks and hushes, and its course in sixteen steps.
fn list() -> Result<String, Failure> {
    let mut text = String::new();
    for word in template_words() {
        let shape = of(word)?;
        text.push_str(&format!("{word:<12} {}\n", course(&shape)));
        for line in wrapped(&shape.note, 96) {
            text.push_str(&format!("             {line}\n"));
        }
        let marks = shape.levels().into_iter().map(|(mark, level)| {
            let at = (100.0 * mark.at.along(shape.meter)).round();
            let level = level.map_or(String::new(), |l| format!(" ({l:.0})"));
            let rank = if mark.kind == MarkKind::Hush {
                "hush"
            } else {
                mark.kind.word()
            };
            format!("{rank} at {at:.0}%{level}")
        });
        let marks: Vec<String> = marks.collect();
        text.push_str(&format!("             {}\n", marks.join(", ")));
        text.push_str(&format!("             source: {}\n\n", shape.source));
    }
    text.push_str(
        "`voice --timeline NAME` and `shape --timeline NAME` follow one, stretched to the music.\n`bandwright timelines NAME --bars 64` shows one as a file to start from",
    );
    Ok(text)
}

/// Intensities over the whole, 0 to 9 and `X`.
fn course(shape: &Timeline<Share>) -> String {
    let steps = (0..32).map(|i| {
        let at = |i: i32| Share(f64::from(i) / 32.0);
        let mean = shape.mean(at(i), at(i + 1)).unwrap_or_default();
        match mean.round() as u32 {
            n @ 0..=9 => char::from_digit(n, 10).unwrap_or('9'),
            _ => 'X',
        }
    });
    steps.collect()
}

/// A text in lines of at most so many letters.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
