//! The commands, one file each. The words of the command line are ours.

pub mod ask;
pub mod bands;
pub mod chance;
pub mod clean_report;
pub mod compare;
pub mod director;
pub mod doubled;
pub mod doubled_plan;
pub mod draft_of;
pub mod failure;
pub mod files;
pub mod how_played;
pub mod json_chance;
pub mod json_figures;
pub mod json_form;
mod json_harmony;
pub mod json_keys;
pub mod json_read;
pub mod json_review;
pub mod json_shape;
pub mod json_timeline;
pub mod json_timing;
pub mod json_tune;
pub mod json_voice;
pub mod json_weighed;
pub mod json_why_voice;
pub mod key_choice;
pub mod keys;
pub mod listen;
pub mod made_from;
pub mod part;
pub mod play_aloud;
pub mod progress;
pub mod range_text;
pub mod read;
pub mod read_report;
pub mod report;
pub mod review;
mod rounded;
pub mod score_files;
pub mod shape;
pub mod shape_report;
pub mod styles;
pub mod take;
pub mod timelines;
pub mod times;
pub mod tune_words;
pub mod voice;
pub mod voice_report;
pub mod why;
pub mod why_voice;
pub mod with_timeline;

use clap::{Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

pub use failure::Failure;

/// Voices a piano sketch for one particular school band.
#[derive(Parser, Debug)]
#[command(
    name = "bandwright",
    version,
    disable_help_subcommand = true,
    args_conflicts_with_subcommands = true
)]
struct Args {
    #[command(subcommand)]
    command: Option<Command>,
    /// Open the window on a show (.bandwright) or with a piano sketch (a MIDI or MusicXML file) [default: the demo]
    file: Option<PathBuf>,
}

/// What is left to do after the command line was read.
#[derive(Debug)]
pub enum Run {
    /// A command ran; the program's status.
    Done(ExitCode),
    /// The window is wanted, on a file.
    Window(Option<PathBuf>),
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Voice a sketch for a band and write the draft as a MIDI file
    Voice(Box<voice::Voice>),
    /// Tell what is found in a sketch: tempo, meters, keys, lines, chords
    Read(read::Read),
    /// Review a draft for a band: what its players cannot play, what of the sketch is lost
    Review(review::Review),
    /// Tell what was changed, note by note, in a draft that comes back from elsewhere
    Compare(compare::Compare),
    /// Make the director's sheet of a draft: what to rehearse first, part by part what is asked, findings, care
    Director(Box<director::Director>),
    /// Make the practice page of one part: its line as notation, hard spots, tempos to practise at, rests to count
    Part(Box<part::PartOf>),
    /// Play a draft or its sketch, or write it as a sound file: how it will sound, as a sketch
    Listen(Box<listen::Listen>),
    /// Tell how clean the band plays a sketch in every key near its own
    Keys(keys::Keys),
    /// List the bands that come with the program, or show one
    Bands(bands::Bands),
    /// Tell the shape of a show: wanted and reached intensity, peaks, loads, and where the draft misses it
    Shape(Box<shape::Shape>),
    /// List the timelines that come with the program, or show one as a file to start from
    Timelines(timelines::Timelines),
    /// List the styles that come with the program, and what every term of the cost weighs
    Styles(styles::Styles),
    /// Tell how likely a part plays a note clean, and what makes it hard
    Chance(chance::ChanceOf),
    /// Make a form for the director: what the program needs to know of a band, on paper and as a table
    Ask(ask::Ask),
}

/// Help and version are answers; what cannot be understood is an error like any other.
fn usage(error: &clap::Error) -> ExitCode {
    let text = error.to_string();
    match text.strip_prefix("error: ") {
        Some(text) => files::tell(&format!("bandwright: {}", text.trim_end())),
        None if error.use_stderr() => files::tell(text.trim_end()),
        None => {
            let _ = files::say(text.trim_end());
        }
    }
    ExitCode::from(if error.use_stderr() { 2 } else { 0 })
}

/// Runs the command of the program's arguments; without one the window is wanted. Errors go to
/// standard error as one sentence; the status is 0 if all went well, 1 if a review finds something
/// out of a hard limit, 2 for bad input.
#[must_use]
pub fn run() -> Run {
    let args = match Args::try_parse() {
        Ok(args) => args,
        Err(error) => {
            return Run::Done(usage(&error));
        }
    };
    let Some(command) = args.command else {
        return Run::Window(args.file);
    };
    let done = match command {
        Command::Voice(command) => command.run(),
        Command::Read(command) => command.run(),
        Command::Review(command) => command.run(),
        Command::Compare(command) => command.run(),
        Command::Director(command) => command.run(),
        Command::Part(command) => command.run(),
        Command::Listen(command) => command.run(),
        Command::Keys(command) => command.run(),
        Command::Bands(command) => command.run(),
        Command::Shape(command) => command.run(),
        Command::Timelines(command) => command.run(),
        Command::Styles(command) => command.run(),
        Command::Chance(command) => command.run(),
        Command::Ask(command) => command.run(),
    };
    Run::Done(done.unwrap_or_else(|failure| {
        files::tell(&format!("bandwright: {failure}"));
        ExitCode::from(2)
    }))
}
