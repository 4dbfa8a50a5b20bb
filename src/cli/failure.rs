//! Why a command could not be done, as one sentence with what to do.

use crate::band::{AbsentError, CsvError, PresetError, RosterError};
use crate::export::WriteError;
use crate::export::midi::MidiError;
use crate::export::{MusicXmlError, SinglePartError};
use crate::music::BarNumber;
use crate::plan::timeline::TimelineError;
use crate::sketch::{ReadError, Song, TagError};
use crate::voicing::ExcerptError;
use crate::voicing::styles::StyleError;
use std::path::PathBuf;
use thiserror::Error;

/// What a file without notes has instead: its damage, if it is damaged.
#[must_use]
pub fn no_notes_hint(song: &Song, usual: &str) -> String {
    let damage = song.warnings.iter().find(|w| w.byte.is_some());
    damage.map_or_else(
        || usual.to_owned(),
        |d| format!("the file is damaged ({d})"),
    )
}

/// Why a command could not be done.
#[derive(Debug, Error)]
pub enum Failure {
    /// A file cannot be opened.
    #[error("cannot read {path}: {reason}")]
    Open {
        /// Its path.
        path: String,
        /// What the system says, or what it is.
        reason: String,
    },
    /// A show beside other files.
    #[error("a show (.bandwright) is shaped by itself; name it alone")]
    ShowNotAlone,
    /// A show, and what it has of its own.
    #[error(
        "a show has its own band and timeline; leave out --band, --absent and --timeline, or change them in the window"
    )]
    ShowHasItsOwn,
    /// A show, and what it has of its own.
    #[error(
        "a show has its own band, sketch and title; leave out --band, --absent, --sketch and --title, or change them in the window"
    )]
    ShowIsWhole,
    /// A draft as MIDI, without a band.
    #[error(
        "a draft as MIDI needs to know who plays it; name the band, as --band demo or --band roster.toml"
    )]
    NoBandForDraft,
    /// The sketch is to be heard, but is not known.
    #[error(
        "it is not known which sketch the draft was made from; name it, as --sketch sketch.mid"
    )]
    NoSketchToHear,
    /// Nothing can be played aloud.
    #[error("{0}")]
    NoSound(String),
    /// A SoundFont cannot be used.
    #[error("{}: {reason}", path.display())]
    SoundFont {
        /// The file.
        path: PathBuf,
        /// Why, in one sentence.
        reason: String,
    },
    /// A page that is neither HTML nor Markdown.
    #[error("{0} does not say what kind of page is wanted; let its name end with {1}")]
    PageKind(String, &'static str),
    /// Drafts that are too long to compare.
    #[error(transparent)]
    TooManyBars(#[from] crate::score::returned::TooManyBars),
    /// A file is no usable MIDI or MusicXML file.
    #[error("{path} cannot be used: {error}")]
    Midi {
        /// Its path.
        path: String,
        /// Where and why.
        error: ReadError,
    },
    /// A sketch has no notes to voice.
    #[error("{path} has no pitched notes to voice; {hint}")]
    NoNotes {
        /// Its path.
        path: String,
        /// What there is instead.
        hint: String,
    },
    /// A roster cannot be used.
    #[error("{path}, {error}")]
    Roster {
        /// Its path.
        path: String,
        /// The line and why.
        error: RosterError,
    },
    /// A roster that is a table cannot be used.
    #[error("{path}, {error}")]
    Table {
        /// Its path.
        path: String,
        /// The row and why.
        error: CsvError,
    },
    /// Who is away cannot be told.
    #[error(transparent)]
    Absent(AbsentError),
    /// Somebody is away, but from which band was not said.
    #[error("`--absent` needs a band; name one, as `bandwright bands demo --absent \"1 x Flute\"`")]
    AbsentFromNoBand,
    /// Bars that cannot be understood.
    #[error("`{0}` names no bars; write them like 5-8, 13, counted from 1")]
    Bars(String),
    /// A bar after the end of the sketch.
    #[error("there is no bar {bar}; the sketch has {bars} bars")]
    NoBar {
        /// The bar that was asked for.
        bar: u32,
        /// How many there are.
        bars: u32,
    },
    /// A beat after the end of its bar.
    #[error("bar {bar} has no such beat; it has {beats} beats, counted from 1")]
    NoBeat {
        /// The bar.
        bar: u32,
        /// How many beats it has.
        beats: f64,
    },
    /// Bars after the last one.
    #[error("`{bars}` names bars after the last, {last}; name some of the sketch's")]
    BarsAfterEnd {
        /// What was asked for.
        bars: String,
        /// The last bar.
        last: BarNumber,
    },
    /// Bars that cannot be solved by themselves.
    #[error(transparent)]
    Excerpt(ExcerptError),
    /// A way of scoring to take that cannot be understood.
    #[error(
        "`{0}` takes nothing; write the bars of a passage and the number of a way, like 17-20=2"
    )]
    Take(String),
    /// A way of scoring to take that is not there.
    #[error("bars {bars} have no way {number} to take; {hint}")]
    NoSuchWay {
        /// The bars that were named.
        bars: String,
        /// The number that was named.
        number: usize,
        /// What there is instead.
        hint: String,
    },
    /// A file of tags cannot be used.
    #[error("{path}, {error}")]
    Tags {
        /// Its path.
        path: String,
        /// The line and why.
        error: TagError,
    },
    /// No style and no file has that name.
    #[error("there is no style file of that name, and {0}")]
    Style(String),
    /// No template and no file has that name.
    #[error("there is no timeline file of that name, and {0}")]
    Timeline(String),
    /// A timeline's file cannot be used.
    #[error("{path}, {error}")]
    TimelineFile {
        /// Its path.
        path: String,
        /// The line and why.
        error: TimelineError,
    },
    /// A show has other movements than there are sketches.
    #[error(
        "{path} has {movements} movements for {sketches} sketches; give one sketch for each, in order"
    )]
    Movements {
        /// The path of the show.
        path: String,
        /// How many movements it has.
        movements: usize,
        /// How many sketches there are.
        sketches: usize,
    },
    /// A style's file cannot be used.
    #[error("{path}, {error}")]
    StyleFile {
        /// Its path.
        path: String,
        /// The line and why.
        error: StyleError,
    },
    /// No preset and no file has the name of the band.
    #[error("there is no roster file of that name, and {0}")]
    Band(PresetError),
    /// A draft without a track for any part.
    #[error("no track of {path} is named like a part of {band}; name the tracks as the parts")]
    NoParts {
        /// The draft.
        path: String,
        /// The band's name.
        band: String,
    },
    /// A band has no such part.
    #[error("{band} has no part `{part}`{hint}")]
    Part {
        /// The name that was asked for.
        part: String,
        /// The band's name.
        band: String,
        /// `; did you mean …?`, or nothing.
        hint: String,
    },
    /// A written note that cannot sound.
    #[error(
        "{note} in {part} lies outside of all pitches there are; give a note nearer to its range"
    )]
    Unheard {
        /// The written note.
        note: String,
        /// The part.
        part: String,
    },
    /// The output is one of the inputs.
    #[error("{0} is both read and written; choose another name for what is written")]
    OutputIsInput(String),
    /// A file cannot be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// Standard output takes nothing.
    #[error("cannot print the answer: {0}")]
    Output(std::io::Error),
    /// The draft does not fit into a MIDI file.
    #[error(transparent)]
    Export(#[from] MidiError),
    /// The draft does not fit into a MusicXML file.
    #[error(transparent)]
    MusicXml(#[from] MusicXmlError),
    /// A part by itself does not fit into a file.
    #[error(transparent)]
    SinglePart(#[from] SinglePartError),
    /// A name that says nothing of MusicXML.
    #[error("{0} is no name for MusicXML; end it with .musicxml, .xml or .mxl")]
    NoMusicXml(String),
    /// Notation without remarks, but no notation.
    #[error("`--plain` says how notation is written; add --musicxml FILE or --single-parts FOLDER")]
    PlainOfNothing,
    /// A folder that cannot be made.
    #[error("cannot make the folder {path}: {reason}")]
    NoFolder {
        /// Its path.
        path: String,
        /// What the system says.
        reason: String,
    },
    /// The compiled-in data are damaged: a fault of the program.
    #[error("the program's own {what} cannot be read ({reason}); please report this")]
    BuiltIn {
        /// What.
        what: &'static str,
        /// Why.
        reason: String,
    },
}
