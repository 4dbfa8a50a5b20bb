//! A compressed MusicXML file (`.mxl`): a zip archive whose container names the score.

use super::encoding;
use crate::sketch::song::ReadError;
use crate::sketch::warnings::Warnings;
use roxmltree::Document;
use std::io::{Cursor, Read as _};
use zip::ZipArchive;

/// Most bytes of a score when unpacked.
const MOST_UNPACKED: u64 = 128 * 1024 * 1024;
/// Most bytes of the container's own file.
const MOST_CONTAINER: u64 = 64 * 1024;
/// Most entries: a score with all its pictures has far fewer.
const MOST_ENTRIES: usize = 1_000;
/// How much a score may shrink when packed, where it is larger than [`SMALL`]; real ones shrink to a
/// twentieth, those that repeat themselves most to a hundredth.
const MOST_RATIO: u64 = 400;
/// Bytes that do no harm however small they were packed.
const SMALL: u64 = 4 * 1024 * 1024;
/// Where the container's file stands (MusicXML 4.0, compressed files).
const CONTAINER: &str = "META-INF/container.xml";
/// How a row of the archive's table begins (ZIP application note, 4.3.12).
const ROW: &[u8] = b"PK\x01\x02";

/// Whether bytes are a zip archive.
pub(super) fn is_package(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06")
}

/// The bytes of the score in an archive.
///
/// # Errors
/// Where the archive is damaged, has no score, or unpacks to more than any score.
pub(super) fn unpack(bytes: &[u8], warnings: &mut Warnings) -> Result<Vec<u8>, ReadError> {
    let rows = bytes.windows(ROW.len()).filter(|w| *w == ROW);
    if rows.take(MOST_ENTRIES + 1).count() > MOST_ENTRIES {
        return refuse(format!(
            "the compressed file holds more than {MOST_ENTRIES} files, so it is no score; export the score again"
        ));
    }
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|e| damaged(&e.to_string()))?;
    let name = match entry(&mut archive, CONTAINER, MOST_CONTAINER)? {
        Some(container) => Some(score_name(&container)?),
        None => None,
    };
    let Some(name) = name.or_else(|| likely_score(&archive, warnings)) else {
        return refuse(
            "a zip file without a score (no META-INF/container.xml); export the score as .mxl or .musicxml"
                .to_owned(),
        );
    };
    match entry(&mut archive, &name, MOST_UNPACKED)? {
        Some(score) => Ok(score),
        None => refuse(format!(
            "the compressed file names `{}` as its score but does not hold it; export the score again",
            shown(&name)
        )),
    }
}

fn refuse<T>(reason: String) -> Result<T, ReadError> {
    Err(ReadError { offset: 0, reason })
}

fn damaged(reason: &str) -> ReadError {
    ReadError {
        offset: 0,
        reason: format!("the compressed file is damaged ({reason}); copy or export it again"),
    }
}

/// A name from a file, short enough for a sentence.
fn shown(name: &str) -> String {
    name.chars().filter(|c| !c.is_control()).take(80).collect()
}

/// The bytes of an entry; `None` where there is none of that name.
fn entry(
    archive: &mut ZipArchive<Cursor<&[u8]>>,
    name: &str,
    most: u64,
) -> Result<Option<Vec<u8>>, ReadError> {
    let Some(index) = archive.index_for_name(name) else {
        return Ok(None);
    };
    let file = archive
        .by_index(index)
        .map_err(|e| damaged(&e.to_string()))?;
    let packed = file.compressed_size().max(1);
    let most = most.min(SMALL.max(packed.saturating_mul(MOST_RATIO)));
    let mut bytes = Vec::new();
    file.take(most + 1)
        .read_to_end(&mut bytes)
        .map_err(|e| damaged(&e.to_string()))?;
    if bytes.len() as u64 > most {
        return refuse(format!(
            "`{}` in the compressed file unpacks to more than {} MB from {packed} bytes, more than any score; \
             export the score again",
            shown(name),
            most / (1024 * 1024)
        ));
    }
    Ok(Some(bytes))
}

/// The name of the score that the container tells.
fn score_name(container: &[u8]) -> Result<String, ReadError> {
    let text = encoding::decoded(container)?;
    super::guard::refuse_unsafe(&text)?;
    let document = Document::parse(&text).map_err(|e| damaged(&format!("{CONTAINER}: {e}")))?;
    let roots = document
        .descendants()
        .filter(|n| n.tag_name().name() == "rootfile");
    // Other root files are pictures of the score; the first is always the score (MusicXML 4.0).
    let path = roots.filter_map(|n| n.attribute("full-path")).next();
    path.map(str::to_owned)
        .ok_or_else(|| damaged("its container names no score"))
}

/// A file that is the score by its name, where no container tells.
fn likely_score(archive: &ZipArchive<Cursor<&[u8]>>, warnings: &mut Warnings) -> Option<String> {
    let names = archive.file_names().filter_map(Result::ok);
    let found = names
        .filter(|n| !n.starts_with("META-INF"))
        .find(|n| n.ends_with(".musicxml") || n.ends_with(".xml"))?
        .into_owned();
    warnings.music(format!(
        "the compressed file has no {CONTAINER}; `{}` is taken as the score",
        shown(&found)
    ));
    Some(found)
}
