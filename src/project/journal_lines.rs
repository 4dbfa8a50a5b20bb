//! The lines of a journal: what each holds, and how much of a journal can be read.
//!
//! The first line tells what the journal continues; each line after it is something that was done. A
//! line carries the fingerprint of what it holds, so that one that was not written to its end, or is
//! damaged, is known.

use super::file::v1::{EditV1, FileV1};
use super::file::v1_read::Reader;
use super::file::{plainly, read_file, text, v1_write};
use super::fingerprint::Fingerprint;
use super::project::{Project, Step};
use serde::{Deserialize, Serialize};

/// The word by which a journal is known.
const FORMAT: &str = "bandwright journal";
/// The version of journals that this program writes and reads.
const VERSION: u64 = 1;

/// A state of a project file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct FileState {
    pub fingerprint: Fingerprint,
    /// In bytes.
    pub length: u64,
}

impl FileState {
    pub(super) fn of(bytes: &[u8]) -> Self {
        Self {
            fingerprint: Fingerprint::of(bytes),
            length: bytes.len() as u64,
        }
    }
}

/// What a journal begins with.
#[derive(Debug)]
pub(super) enum Begins {
    /// It continues a file in this state.
    Continues(FileState),
    /// It continues a project that was never saved, of which there is no other copy.
    Starts(Box<Project>),
}

/// A line after the first.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Entry {
    Step(Step),
    /// A save was begun that puts the file into this state; all that was done before is in it.
    Saving(FileState),
}

/// What could be read of a journal.
#[derive(Debug)]
pub(super) enum Read {
    /// There is nothing in it: no whole first line.
    Nothing,
    /// It is of a newer program.
    Newer(u64),
    /// Its first line is no journal's.
    Unreadable(String),
    /// It is a journal.
    Lines(Lines),
}

#[derive(Debug)]
pub(super) struct Lines {
    pub begins: Begins,
    /// The length of the first line.
    pub first: usize,
    /// Each entry with the length of the journal up to its end.
    pub entries: Vec<(Entry, usize)>,
    /// Why reading stopped before the last line; a last line that is not whole is no reason.
    pub broken: Option<String>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StateRow {
    fingerprint: String,
    length: u64,
}

impl StateRow {
    fn of(state: FileState) -> Self {
        Self {
            fingerprint: state.fingerprint.to_string(),
            length: state.length,
        }
    }

    fn read(&self) -> Option<FileState> {
        Some(FileState {
            fingerprint: Fingerprint::read(&self.fingerprint)?,
            length: self.length,
        })
    }
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Row {
    Continues(StateRow),
    Starts(Box<FileV1>),
    Change(EditV1),
    Join(EditV1),
    Undo,
    Redo,
    Saving(StateRow),
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstLine {
    format: String,
    version: u64,
    sum: String,
    entry: Row,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    sum: String,
    entry: Row,
}

#[derive(Deserialize)]
struct Head {
    format: String,
    version: u64,
}

/// The first line of a journal that continues a file.
pub(super) fn continues(state: FileState) -> Vec<u8> {
    first_line(Row::Continues(StateRow::of(state)))
}

/// The first line of the journal of a project that was never saved.
pub(super) fn starts(project: &Project) -> Vec<u8> {
    first_line(Row::Starts(Box::new(v1_write::file(project))))
}

fn first_line(entry: Row) -> Vec<u8> {
    let line = FirstLine {
        format: FORMAT.to_owned(),
        version: VERSION,
        sum: sum(&entry),
        entry,
    };
    (text(&line) + "\n").into_bytes()
}

fn sum(entry: &Row) -> String {
    Fingerprint::of(text(entry).as_bytes()).to_string()
}

/// A line for something that was done.
pub(super) fn line(entry: &Entry) -> Vec<u8> {
    let entry = match entry {
        Entry::Step(Step::Change(edit)) => Row::Change(v1_write::edit(edit)),
        Entry::Step(Step::Join(edit)) => Row::Join(v1_write::edit(edit)),
        Entry::Step(Step::Undo) => Row::Undo,
        Entry::Step(Step::Redo) => Row::Redo,
        Entry::Saving(state) => Row::Saving(StateRow::of(*state)),
    };
    let sum = sum(&entry);
    (text(&Line { sum, entry }) + "\n").into_bytes()
}

/// Reads a journal as far as it is whole.
pub(super) fn read(bytes: &[u8]) -> Read {
    let Some(first) = line_end(bytes, 0) else {
        return Read::Nothing;
    };
    let mut reader = Reader::default();
    let begins = match begins(bytes.get(..first).unwrap_or_default()) {
        Ok(begins) => begins,
        Err(read) => return read,
    };
    let mut lines = Lines {
        begins,
        first,
        entries: Vec::new(),
        broken: None,
    };
    let mut start = first;
    while let Some(end) = line_end(bytes, start) {
        match entry(bytes.get(start..end).unwrap_or_default(), &mut reader) {
            Ok(entry) => lines.entries.push((entry, end)),
            Err(why) => {
                let number = lines.entries.len() + 2;
                let last = end == bytes.len();
                lines.broken = (!last).then(|| format!("line {number}: {why}"));
                break;
            }
        }
        start = end;
    }
    Read::Lines(lines)
}

/// Where the line that begins at a place ends, behind its line end; `None` where it has none.
fn line_end(bytes: &[u8], start: usize) -> Option<usize> {
    let rest = bytes.get(start..)?;
    let end = rest.iter().position(|b| *b == b'\n')?;
    Some(start + end + 1)
}

fn begins(line: &[u8]) -> Result<Begins, Read> {
    let unreadable = |why: String| Read::Unreadable(why);
    let head: Head =
        serde_json::from_slice(line).map_err(|_| unreadable("it is no journal".to_owned()))?;
    if head.format != FORMAT {
        return Err(unreadable("it is no journal".to_owned()));
    }
    if head.version > VERSION {
        return Err(Read::Newer(head.version));
    }
    let first: FirstLine =
        serde_json::from_slice(line).map_err(|e| unreadable(format!("line 1: {}", plainly(&e))))?;
    if first.sum != sum(&first.entry) {
        return Err(unreadable("line 1 is damaged".to_owned()));
    }
    let begins = match first.entry {
        Row::Continues(state) => state.read().map(Begins::Continues),
        Row::Starts(file) => {
            let project = read_file(*file).map_err(|e| unreadable(e.to_string()))?;
            Some(Begins::Starts(Box::new(project)))
        }
        Row::Change(_) | Row::Join(_) | Row::Undo | Row::Redo | Row::Saving(_) => None,
    };
    begins.ok_or_else(|| unreadable("line 1 begins no journal".to_owned()))
}

fn entry(line: &[u8], reader: &mut Reader) -> Result<Entry, String> {
    let line: Line = serde_json::from_slice(line).map_err(|e| plainly(&e))?;
    if line.sum != sum(&line.entry) {
        return Err("it is damaged".to_owned());
    }
    Ok(match line.entry {
        Row::Change(edit) => Entry::Step(Step::Change(reader.edit(edit)?)),
        Row::Join(edit) => Entry::Step(Step::Join(reader.edit(edit)?)),
        Row::Undo => Entry::Step(Step::Undo),
        Row::Redo => Entry::Step(Step::Redo),
        Row::Saving(state) => {
            let state = state.read();
            Entry::Saving(state.ok_or("it names no state of a file")?)
        }
        Row::Continues(_) | Row::Starts(_) => {
            return Err("it begins another journal".to_owned());
        }
    })
}

/// Holds a line against what it is to say.
///
/// # Errors
/// Why it would not be read back as that.
pub(super) fn check(line: &[u8], said: &Entry) -> Result<(), String> {
    let read = entry(line, &mut Reader::default())?;
    if read == *said {
        return Ok(());
    }
    Err("it would come back as something else".to_owned())
}
