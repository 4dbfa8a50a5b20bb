//! Reading what a command is given, and printing what it says.

use super::Failure;
use crate::band::{Band, cautions, preset, read_band, read_csv, without};
use crate::export::{Existing, safe_write};
use crate::project::read_project;
use crate::project::standing::Standing;
use crate::sketch::{Song, Tags, read_any, read_song, read_tags};
use std::fs;
use std::io::{IsTerminal, Read as _, Write as _};
use std::path::{Path, PathBuf};

/// The greatest file that is read, in bytes: far over any sketch, so that a wrong file is refused
/// and does not fill the memory.
const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// The greatest show that is read, in bytes: as the window has it.
const MOST_OF_SHOW: u64 = 1024 * 1024 * 1024;

/// The demo sketch that comes with the program.
pub const DEMO_SKETCH: &[u8] = include_bytes!("../../assets/demo/harvest-lights.mid");

/// The title of the demo sketch.
pub const DEMO_TITLE: &str = "Harvest Lights";

/// The name of the demo band.
pub const DEMO_BAND: &str = "demo";

/// The bytes of a file.
///
/// # Errors
/// Where it is missing, a folder, not to be read, or far too large.
pub fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    bytes_up_to(path, MOST_BYTES, "a sketch or roster")
}

fn bytes_up_to(path: &Path, most: u64, what: &str) -> Result<Vec<u8>, Failure> {
    let fail = |reason: String| Failure::Open {
        path: path.display().to_string(),
        reason,
    };
    let about = fs::metadata(path).map_err(|e| fail(said(&e)))?;
    if about.is_dir() {
        return Err(fail("it is a folder; name a file in it".to_owned()));
    }
    let mut bytes = Vec::new();
    let file = fs::File::open(path).map_err(|e| fail(said(&e)))?;
    file.take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| fail(said(&e)))?;
    if bytes.len() as u64 > most {
        let mega = most / (1024 * 1024);
        return Err(fail(format!(
            "it is over {mega} MB, far too large for {what}"
        )));
    }
    Ok(bytes)
}

fn said(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file; check the name".to_owned(),
        std::io::ErrorKind::PermissionDenied => "you have no permission to read it".to_owned(),
        _ => error.to_string(),
    }
}

/// A MIDI or MusicXML file as music.
///
/// # Errors
/// Where it cannot be opened or nothing of it can be rescued.
pub fn song(path: &Path) -> Result<Song, Failure> {
    let bytes = bytes(path)?;
    read_any(&bytes).map_err(|error| Failure::Midi {
        path: path.display().to_string(),
        error,
    })
}

/// A show as it was last saved, and where it stands.
///
/// # Errors
/// Where the file cannot be read, is no show, damaged or of a newer version, or its sketch is no music.
pub fn show(path: &Path) -> Result<Standing, Failure> {
    let fail = |reason: String| Failure::Open {
        path: path.display().to_string(),
        reason,
    };
    let project = read_project(&bytes_up_to(path, MOST_OF_SHOW, "a show")?)
        .map_err(|e| fail(e.to_string()))?;
    Standing::of(project.document()).map_err(|error| Failure::Midi {
        path: path.display().to_string(),
        error,
    })
}

/// The demo sketch as music.
///
/// # Errors
/// Only if the program itself is damaged.
pub fn demo_song() -> Result<Song, Failure> {
    read_song(DEMO_SKETCH).map_err(|e| Failure::BuiltIn {
        what: "demo sketch",
        reason: e.to_string(),
    })
}

/// Who of the band is not there, for every command that takes a band.
#[derive(clap::Args, Clone, PartialEq, Eq, Debug, Default)]
pub struct Away {
    /// Somebody is away: a player's name, a seat as "Flute 2:1", or a number as "2 x Trumpet" (may
    /// be given several times)
    #[arg(long, value_name = "WHO")]
    pub absent: Vec<String>,
}

impl Away {
    /// Whether somebody is.
    #[must_use]
    pub const fn is_given(&self) -> bool {
        !self.absent.is_empty()
    }
}

/// A band by the path of its roster or the name of a preset, a file coming first, without those who
/// are away. What must not be missed about it is told.
///
/// # Errors
/// Where neither is there, the roster cannot be used, or nobody is meant by one of the absent.
pub fn band_without(name: &str, away: &Away) -> Result<Band, Failure> {
    let mut band = roster(name)?;
    if !away.absent.is_empty() {
        band = without(&band, &away.absent).map_err(Failure::Absent)?;
    }
    notes(&cautions(&band));
    Ok(band)
}

/// A band with everybody whom its roster has as present; see [`band_without`].
///
/// # Errors
/// As [`band_without`].
pub fn band(name: &str) -> Result<Band, Failure> {
    band_without(name, &Away::default())
}

/// A band by the path of its roster or the name of a preset; nothing is told of it.
///
/// # Errors
/// Where neither is there, or the roster cannot be used.
pub fn roster(name: &str) -> Result<Band, Failure> {
    let path = Path::new(name);
    if !path.exists() {
        return preset(name).map_err(Failure::Band);
    }
    if path.is_dir() && preset(name).is_ok() {
        return preset(name).map_err(Failure::Band);
    }
    let text = text(path, "save a roster as TOML text, or as CSV in UTF-8")?;
    if is_table(path, &text) {
        return read_csv(&text).map_err(|error| Failure::Table {
            path: name.to_owned(),
            error,
        });
    }
    read_band(&text).map_err(|error| Failure::Roster {
        path: name.to_owned(),
        error,
    })
}

/// Whether a roster is a table: by its name, or by a first line that names columns.
fn is_table(path: &Path, text: &str) -> bool {
    let named = |end| {
        path.extension()
            .is_some_and(|e| e.eq_ignore_ascii_case(end))
    };
    let first = text.lines().find(|l| !l.trim().is_empty()).unwrap_or("");
    let first = first.to_lowercase();
    let columns = first.contains("level") && first.contains("instrument") && !first.contains('=');
    named("csv") || (columns && !named("toml"))
}

/// A file of tags; no path, no tags.
///
/// # Errors
/// Where it cannot be opened or is not of the form of [`read_tags`].
pub fn tags(path: Option<&Path>) -> Result<Tags, Failure> {
    let Some(path) = path else {
        return Ok(Tags::default());
    };
    let text = text(path, "a file of tags is TOML text")?;
    read_tags(&text).map_err(|error| Failure::Tags {
        path: path.display().to_string(),
        error,
    })
}

/// The text of a file; `what` says what it should be where it is none.
///
/// # Errors
/// Where it cannot be opened or is not text.
pub fn text(path: &Path, what: &str) -> Result<String, Failure> {
    String::from_utf8(bytes(path)?).map_err(|e| Failure::Open {
        path: path.display().to_string(),
        reason: format!(
            "it is not a text file (byte {}); {what}",
            e.utf8_error().valid_up_to()
        ),
    })
}

/// Whether two paths name the same file.
#[must_use]
pub fn is_same(a: &Path, b: &Path) -> bool {
    match (a.canonicalize(), b.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => a == b,
    }
}

/// The roster that a `--band` names, where it names a file.
#[must_use]
pub fn roster_file(band: &str) -> Option<&Path> {
    Some(Path::new(band)).filter(|p| p.is_file())
}

/// Refuses an output that is one of the inputs; those that were not given are passed over.
///
/// # Errors
/// If the output names the file of an input.
pub fn refuse_over_inputs(output: &Path, inputs: &[Option<&Path>]) -> Result<(), Failure> {
    if inputs.iter().flatten().any(|i| is_same(i, output)) {
        return Err(Failure::OutputIsInput(output.display().to_string()));
    }
    Ok(())
}

/// The sketch of a command: a MIDI or MusicXML file, or the demo where none is named.
///
/// # Errors
/// Where it cannot be opened or nothing of it can be rescued.
pub fn sketch(path: Option<&Path>) -> Result<Song, Failure> {
    path.map_or_else(demo_song, song)
}

/// Where JSON goes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum JsonTarget {
    /// To standard output.
    Output,
    /// To a file.
    File(PathBuf),
}

/// `-` is standard output.
impl From<PathBuf> for JsonTarget {
    fn from(path: PathBuf) -> Self {
        if path.as_os_str() == "-" {
            Self::Output
        } else {
            Self::File(path)
        }
    }
}

/// An answer as JSON text.
///
/// # Errors
/// Only if the program itself is damaged.
pub fn json_bytes(value: &impl serde::Serialize) -> Result<Vec<u8>, Failure> {
    let json = serde_json::to_vec_pretty(value);
    let mut bytes = json.map_err(|e| Failure::BuiltIn {
        what: "answer",
        reason: e.to_string(),
    })?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// Writes JSON to a file, which is replaced, or to standard output.
///
/// # Errors
/// Where it cannot be written.
pub fn write_json(target: &JsonTarget, value: &impl serde::Serialize) -> Result<(), Failure> {
    let bytes = json_bytes(value)?;
    match target {
        JsonTarget::File(path) => Ok(safe_write(path, &bytes, Existing::Replace)?),
        JsonTarget::Output => print(&bytes),
    }
}

/// Prints a line to standard output; a closed pipe is no error.
///
/// # Errors
/// Where standard output takes nothing, as on a full device.
pub fn say(line: &str) -> Result<(), Failure> {
    print(format!("{line}\n").as_bytes())
}

fn print(bytes: &[u8]) -> Result<(), Failure> {
    let mut output = std::io::stdout();
    match output.write_all(bytes).and_then(|()| output.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(Failure::Output(error)),
        _ => Ok(()),
    }
}

/// Prints a line to standard error.
pub fn tell(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}

/// Prints what was malformed or had to be decided to standard error.
pub fn notes(notes: &[impl std::fmt::Display]) {
    for note in notes {
        tell(&format!("note: {note}"));
    }
}

/// Tells that a table has no place for what a roster says of instruments, where it says something.
pub fn overrides_left_out(band: &Band) {
    let count = band.roster.overrides.len();
    if count > 0 {
        tell(&format!(
            "note: a table has no place for overrides: {count} of the roster are left out of it; keep the TOML file"
        ));
    }
}

/// Asks on a terminal whether a file may be replaced; `Keep` where there is none to ask.
#[must_use]
pub fn ask_to_replace(path: &Path, force: bool) -> Existing {
    if force {
        return Existing::Replace;
    }
    if !path.is_file() || !std::io::stdin().is_terminal() || !std::io::stderr().is_terminal() {
        return Existing::Keep;
    }
    let _ = write!(
        std::io::stderr(),
        "{} is there already. Replace it? [y/N] ",
        path.display()
    );
    let mut answer = String::new();
    let _ = std::io::stdin().read_line(&mut answer);
    if matches!(answer.trim(), "y" | "Y" | "yes") {
        Existing::Replace
    } else {
        Existing::Keep
    }
}
