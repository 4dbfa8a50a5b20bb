//! The chunks of a Standard MIDI File: header, tracks, and what is to be skipped.

use super::song::ReadError;
use super::warnings::Warnings;
use std::ops::Range;

/// Most tracks: as many as a header can tell (SMF 1.0, 16 bits).
const MOST_TRACKS: usize = 65_535;

/// What a tick is (SMF 1.0, division).
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Division {
    /// Ticks of a quarter note, never zero.
    Quarter(u16),
    /// Ticks of a second (frames a second times ticks a frame), never zero.
    Second(f64),
}

/// The file taken apart: where each track's bytes lie.
#[derive(Debug)]
pub(super) struct Chunks {
    /// What a tick is.
    pub(super) division: Division,
    /// Byte ranges of the tracks, in file order.
    pub(super) tracks: Vec<Range<usize>>,
}

/// Takes the file apart.
///
/// # Errors
/// Where there is no usable header or no track at all.
pub(super) fn read_chunks(bytes: &[u8], warnings: &mut Warnings) -> Result<Chunks, ReadError> {
    let (start, end) = unwrap_riff(bytes, warnings);
    let header = bytes.get(start..end).unwrap_or_default();
    if header.is_empty() {
        return refuse(start, "the file is empty; export the sketch to MIDI again");
    }
    if !header.starts_with(b"MThd") {
        return refuse(
            start,
            "not a Standard MIDI File (it does not begin with MThd); export the sketch as a .mid file",
        );
    }
    let Some(length) = long(bytes, start + 4, end) else {
        return refuse(end, "the header is cut off; copy or export the file again");
    };
    if length < 6 || header.len() < 14 {
        return refuse(
            start + 4,
            "the header is too short; copy or export the file again",
        );
    }
    let format = short(bytes, start + 8);
    let declared = usize::from(short(bytes, start + 10));
    check_format(format, start + 8, warnings)?;
    let division = division(bytes, start + 12)?;
    let first = start.saturating_add(8).saturating_add(length as usize);
    let tracks = find_tracks(bytes, first.min(end), end, warnings)?;
    if tracks.is_empty() {
        return refuse(
            first.min(end),
            "the file holds no track; export the sketch again",
        );
    }
    if tracks.len() != declared {
        warnings.bytes(
            start + 10,
            format!(
                "the header says {declared} tracks, the file holds {}; those are read",
                tracks.len()
            ),
        );
    }
    Ok(Chunks { division, tracks })
}

fn refuse<T>(offset: usize, reason: &str) -> Result<T, ReadError> {
    Err(ReadError {
        offset,
        reason: reason.to_owned(),
    })
}

fn check_format(format: u16, offset: usize, warnings: &mut Warnings) -> Result<(), ReadError> {
    match format {
        0 | 1 => Ok(()),
        2 => refuse(
            offset,
            "format 2 holds independent sequences, not one piece; export the sketch as format 0 or 1",
        ),
        other => {
            warnings.bytes(
                offset,
                format!("format {other} is unknown; read as format 1"),
            );
            Ok(())
        }
    }
}

fn division(bytes: &[u8], offset: usize) -> Result<Division, ReadError> {
    let raw = short(bytes, offset);
    let [high, low] = raw.to_be_bytes();
    if raw == 0 {
        return refuse(
            offset,
            "the division is 0, so time has no unit; export the sketch again",
        );
    }
    if high < 0x80 {
        return Ok(Division::Quarter(raw));
    }
    let frames = match high.cast_signed() {
        -24 => 24.0,
        -25 => 25.0,
        -29 => 30_000.0 / 1001.0, // 29.97, drop frame
        -30 => 30.0,
        _ => {
            return refuse(
                offset,
                "the division names no known frame rate (24, 25, 29 or 30); export with ticks a quarter note",
            );
        }
    };
    if low == 0 {
        return refuse(
            offset,
            "the division has 0 ticks a frame, so time has no unit; export the sketch again",
        );
    }
    Ok(Division::Second(frames * f64::from(low)))
}

/// RIFF files hold the MIDI file in a chunk named `data`.
fn unwrap_riff(bytes: &[u8], warnings: &mut Warnings) -> (usize, usize) {
    let whole = (0, bytes.len());
    if !bytes.starts_with(b"RIFF") || bytes.get(8..12) != Some(b"RMID".as_slice()) {
        return whole;
    }
    let mut at = 12_usize;
    while let (Some(id), Some(size)) = (bytes.get(at..at + 4), bytes.get(at + 4..at + 8)) {
        let size = size
            .iter()
            .rev()
            .fold(0_usize, |sum, b| (sum << 8) | usize::from(*b));
        let start = at + 8;
        let end = start.saturating_add(size).min(bytes.len());
        if id == b"data" {
            warnings.bytes(
                0,
                "the MIDI file is wrapped in RIFF; what is inside is read",
            );
            return (start, end);
        }
        at = end.saturating_add(size % 2);
    }
    whole
}

fn find_tracks(
    bytes: &[u8],
    start: usize,
    end: usize,
    warnings: &mut Warnings,
) -> Result<Vec<Range<usize>>, ReadError> {
    let mut tracks = Vec::new();
    let mut at = start;
    while at < end {
        let Some(length) = long(bytes, at + 4, end) else {
            warnings.bytes(at, "stray bytes at the end of the file; skipped");
            break;
        };
        let id = &bytes[at..at + 4];
        let body = at + 8;
        let stop = body.saturating_add(length as usize);
        if id == b"MTrk" {
            if stop > end {
                warnings.bytes(
                    at + 4,
                    "the track goes on past the end of the file; what is there is read",
                );
            }
            if tracks.len() == MOST_TRACKS {
                let many =
                    "more tracks than a MIDI file can count (65535); export the sketch again";
                return refuse(at, many);
            }
            tracks.push(body..stop.min(end));
            at = stop;
        } else if id.iter().all(u8::is_ascii_graphic) && stop <= end {
            at = stop; // a chunk of another kind: SMF 1.0 wants it skipped
        } else {
            warnings.bytes(at, "bytes that are no chunk; skipped to the next track");
            at = next_track(bytes, at + 1, end);
        }
    }
    Ok(tracks)
}

fn next_track(bytes: &[u8], from: usize, end: usize) -> usize {
    let rest = bytes.get(from..end).unwrap_or_default();
    rest.windows(4)
        .position(|w| w == b"MTrk")
        .map_or(end, |found| from + found)
}

fn short(bytes: &[u8], at: usize) -> u16 {
    match bytes.get(at..at + 2) {
        Some([high, low]) => u16::from_be_bytes([*high, *low]),
        _ => 0,
    }
}

fn long(bytes: &[u8], at: usize, end: usize) -> Option<u32> {
    match bytes.get(at..(at + 4).min(end))? {
        [a, b, c, d] => Some(u32::from_be_bytes([*a, *b, *c, *d])),
        _ => None,
    }
}
