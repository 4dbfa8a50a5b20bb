//! Compressed MusicXML: a ZIP archive of the score and a list of what is in it.

use super::MusicXmlError;
use super::xml::Xml;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

/// The media type of compressed MusicXML (MusicXML 4.0, "Compressed .mxl files").
const MEDIA_TYPE: &[u8] = b"application/vnd.recordare.musicxml";

/// The score's name in the archive.
const SCORE: &str = "score.musicxml";

/// A MusicXML text as `.mxl`. All times in the archive are the earliest that it knows, so that the same score
/// gives the same bytes.
///
/// # Errors
/// Where the archive cannot be put together, as with more than 4 GB.
pub fn mxl_bytes(musicxml: &[u8]) -> Result<Vec<u8>, MusicXmlError> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default()
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let stored = options.compression_method(CompressionMethod::Stored);
    let packed = options.compression_method(CompressionMethod::Deflated);
    // The media type comes first and uncompressed, so that it can be told from the first bytes.
    for (name, bytes, options) in [
        ("mimetype", MEDIA_TYPE, stored),
        ("META-INF/container.xml", &container()?, packed),
        (SCORE, musicxml, packed),
    ] {
        archive.start_file(name, options)?;
        archive.write_all(bytes)?;
    }
    Ok(archive.finish()?.into_inner())
}

fn container() -> std::io::Result<Vec<u8>> {
    let mut xml = Xml::new();
    xml.inside("container", &[], |xml| {
        xml.inside("rootfiles", &[], |xml| {
            let kind = "application/vnd.recordare.musicxml+xml";
            xml.empty("rootfile", &[("full-path", SCORE), ("media-type", kind)]);
        });
    });
    xml.finish()
}
