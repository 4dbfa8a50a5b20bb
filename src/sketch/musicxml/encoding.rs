//! Bytes as text: UTF-8 or UTF-16, by their first bytes or as declared (XML 1.0, appendix F).

use crate::sketch::song::ReadError;
use std::borrow::Cow;

const UTF_8_MARK: &[u8] = b"\xEF\xBB\xBF";

#[derive(Clone, Copy, PartialEq, Eq)]
enum Wide {
    /// The low byte first.
    Little,
    /// The high byte first.
    Big,
}

/// Whether bytes begin with a tag, after a byte order mark and white space, in any encoding read here.
pub(super) fn begins_with_tag(bytes: &[u8]) -> bool {
    let (wide, rest) = split(bytes);
    let mut first = match wide {
        None => rest.iter().map(|b| u16::from(*b)).take(256).collect(),
        Some(wide) => units(rest.get(..512).unwrap_or(rest), wide),
    }
    .into_iter();
    first.find(|u| !matches!(u, 9 | 10 | 13 | 32)) == Some(u16::from(b'<'))
}

/// The text of bytes.
///
/// # Errors
/// Where they are in another encoding, or damaged.
pub(super) fn decoded(bytes: &[u8]) -> Result<Cow<'_, str>, ReadError> {
    let (wide, rest) = split(bytes);
    if rest.is_empty() {
        return refuse(0, "the file is empty; export the score again");
    }
    if let Some(wide) = wide {
        let text = String::from_utf16(&units(rest, wide));
        return match text {
            Ok(text) if rest.len().is_multiple_of(2) => Ok(Cow::Owned(text)),
            _ => refuse(
                0,
                "the text is damaged (no whole UTF-16); copy or export the file again",
            ),
        };
    }
    if let Some(name) = declared(rest).filter(|n| !is_plain(n))
        && !(rest.is_ascii() && is_wider_than_ascii(&name))
    {
        return refuse(
            0,
            &format!("the text is in the encoding {name}; save it as UTF-8 or UTF-16"),
        );
    }
    match std::str::from_utf8(rest) {
        Ok(text) => Ok(Cow::Borrowed(text)),
        Err(error) => refuse(
            bytes.len() - rest.len() + error.valid_up_to(),
            "here the text is no UTF-8; save it as UTF-8, or export the score again",
        ),
    }
}

fn refuse<T>(offset: usize, reason: &str) -> Result<T, ReadError> {
    Err(ReadError {
        offset,
        reason: reason.to_owned(),
    })
}

/// Whether the text is wide, and the bytes after the mark.
fn split(bytes: &[u8]) -> (Option<Wide>, &[u8]) {
    match bytes {
        [0xEF, 0xBB, 0xBF, ..] => (None, bytes.get(UTF_8_MARK.len()..).unwrap_or_default()),
        [0xFF, 0xFE, rest @ ..] => (Some(Wide::Little), rest),
        [0xFE, 0xFF, rest @ ..] => (Some(Wide::Big), rest),
        [b'<', 0, second, 0, ..] if *second != 0 => (Some(Wide::Little), bytes),
        [0, b'<', 0, second, ..] if *second != 0 => (Some(Wide::Big), bytes),
        _ => (None, bytes),
    }
}

fn units(bytes: &[u8], wide: Wide) -> Vec<u16> {
    let unit = |pair: &[u8]| match (pair, wide) {
        (&[a, b], Wide::Little) => u16::from_le_bytes([a, b]),
        (&[a, b], Wide::Big) => u16::from_be_bytes([a, b]),
        _ => 0,
    };
    bytes.chunks_exact(2).map(unit).collect()
}

/// The encoding that the declaration names.
fn declared(bytes: &[u8]) -> Option<String> {
    let head = bytes.get(..bytes.len().min(200))?;
    let head = head.strip_prefix(b"<?xml")?;
    let end = head.windows(2).position(|w| w == b"?>")?;
    let declaration: String = head.get(..end)?.iter().map(|b| char::from(*b)).collect();
    let (_, after) = declaration.split_once("encoding")?;
    let after = after.trim_start().strip_prefix('=')?.trim_start();
    let quote = after.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let (name, _) = after.get(1..)?.split_once(quote)?;
    Some(
        name.chars()
            .filter(char::is_ascii_graphic)
            .take(40)
            .collect(),
    )
}

fn is_plain(name: &str) -> bool {
    ["utf-8", "utf8", "us-ascii", "ascii"]
        .iter()
        .any(|n| name.eq_ignore_ascii_case(n))
}

/// Whether pure ASCII bytes mean themselves in an encoding.
fn is_wider_than_ascii(name: &str) -> bool {
    let name = name.to_ascii_lowercase();
    ["iso-8859-", "windows-125", "latin"]
        .iter()
        .any(|n| name.starts_with(n))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_of_both_widths_are_read() {
        let text = "<?xml version=\"1.0\"?><a>\u{e9}\u{1d11e}</a>";
        let little: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let marked = |mark: &[u8], bytes: &[u8]| [mark, bytes].concat();
        for bytes in [
            text.as_bytes().to_vec(),
            marked(UTF_8_MARK, text.as_bytes()),
            little.clone(),
            big.clone(),
            marked(b"\xFF\xFE", &little),
            marked(b"\xFE\xFF", &big),
        ] {
            assert!(begins_with_tag(&bytes));
            assert_eq!(decoded(&bytes).unwrap(), text);
        }
    }

    #[test]
    fn other_encodings_are_refused_by_name() {
        let latin = b"<?xml version='1.0' encoding='ISO-8859-1'?><a>\xE9</a>";
        assert!(decoded(latin).unwrap_err().reason.contains("ISO-8859-1"));
        let plain = b"<?xml version='1.0' encoding='ISO-8859-1'?><a>e</a>";
        assert!(decoded(plain).is_ok());
        let other = b"<?xml version='1.0' encoding='UTF-7'?><a>e</a>";
        assert!(decoded(other).unwrap_err().reason.contains("UTF-7"));
        assert_eq!(decoded(b"<a>\xE9</a>").unwrap_err().offset, 3);
    }
}
