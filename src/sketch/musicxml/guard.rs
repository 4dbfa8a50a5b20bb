//! What is refused before a text is parsed: nesting and entities that only want to fill the memory.

use crate::sketch::song::ReadError;

/// Elements inside one another at the most; a score nests about a dozen.
const MOST_DEPTH: usize = 100;
/// Most characters that entities of the file's own may bring in; scores have no such entities.
const MOST_EXPANDED: usize = 4 * 1024 * 1024;
/// How many entities one reference may bring in by way of others, at the most: the parser's own
/// guard.
const MOST_NESTED: usize = 256;

/// Refuses a text that nests deeper, or grows larger by its own entities, than any score.
///
/// # Errors
/// With the byte where that is seen.
pub(super) fn refuse_unsafe(text: &str) -> Result<(), ReadError> {
    let bytes = text.as_bytes();
    let mut look = Look::default();
    let mut at = 0;
    while let Some(next) = find(bytes, at, |b| matches!(b, b'<' | b'&')) {
        at = look.past(bytes, next)?;
        look.refuse_growth(next)?;
    }
    Ok(())
}

#[derive(Default)]
struct Look {
    depth: usize,
    /// References to what is not predefined, outside the declarations.
    references: usize,
    /// The longest text of an entity of the file.
    longest: usize,
}

impl Look {
    /// Looks at what begins at a byte; the byte after it.
    fn past(&mut self, bytes: &[u8], at: usize) -> Result<usize, ReadError> {
        let rest = bytes.get(at..).unwrap_or_default();
        if rest.starts_with(b"&") {
            self.references += usize::from(!is_predefined(rest));
            return Ok(at + 1);
        }
        if rest.starts_with(b"<!--") {
            return Ok(after(bytes, at + 4, b"-->"));
        }
        if rest.starts_with(b"<![CDATA[") {
            return Ok(after(bytes, at + 9, b"]]>"));
        }
        if rest.starts_with(b"<?") {
            return Ok(after(bytes, at + 2, b"?>"));
        }
        if rest.starts_with(b"<!") {
            return Ok(self.past_declarations(bytes, at + 2));
        }
        if rest.starts_with(b"</") {
            self.depth = self.depth.saturating_sub(1);
            return Ok(at + 2);
        }
        let end = self.tag_end(bytes, at + 1);
        let closed = end.checked_sub(1).and_then(|e| bytes.get(e)) == Some(&b'/');
        self.depth += usize::from(!closed);
        if self.depth > MOST_DEPTH {
            return Err(ReadError {
                offset: at,
                reason: format!(
                    "here more than {MOST_DEPTH} elements lie inside one another, more than in any score; \
                     export the score again"
                ),
            });
        }
        Ok(end + 1)
    }

    /// The place of the `>` of a tag, or the end.
    fn tag_end(&mut self, bytes: &[u8], mut at: usize) -> usize {
        while let Some(next) = find(bytes, at, |b| matches!(b, b'>' | b'"' | b'\'')) {
            let quote = bytes[next];
            if quote == b'>' {
                return next;
            }
            let end = find(bytes, next + 1, |b| b == quote).unwrap_or(bytes.len());
            let value = bytes.get(next..end).unwrap_or_default();
            let signs = value.iter().enumerate().filter(|(_, b)| **b == b'&');
            self.references += signs
                .filter(|(i, _)| !is_predefined(value.get(*i..).unwrap_or_default()))
                .count();
            at = end + 1;
        }
        bytes.len()
    }

    /// Past a document type with its declarations, of which the longest quoted text is kept.
    fn past_declarations(&mut self, bytes: &[u8], mut at: usize) -> usize {
        let mut open = 1_usize;
        while let Some(next) = find(bytes, at, |b| matches!(b, b'<' | b'>' | b'"' | b'\'')) {
            at = next + 1;
            let sign = bytes[next];
            match sign {
                b'<' if bytes.get(next..).is_some_and(|r| r.starts_with(b"<!--")) => {
                    at = after(bytes, next + 4, b"-->");
                }
                b'<' => open += 1,
                b'>' => {
                    open -= 1;
                    if open == 0 {
                        return at;
                    }
                }
                quote => {
                    let end = find(bytes, at, |b| b == quote).unwrap_or(bytes.len());
                    self.longest = self.longest.max(end - at);
                    at = end + 1;
                }
            }
        }
        bytes.len()
    }

    fn refuse_growth(&self, offset: usize) -> Result<(), ReadError> {
        let most = self
            .longest
            .saturating_mul(self.references)
            .saturating_mul(MOST_NESTED);
        if most > MOST_EXPANDED {
            return Err(ReadError {
                offset,
                reason: "entities of the file's own make it far larger than it is; export the score again"
                    .to_owned(),
            });
        }
        Ok(())
    }
}

fn is_predefined(rest: &[u8]) -> bool {
    [&b"&amp;"[..], b"&lt;", b"&gt;", b"&quot;", b"&apos;", b"&#"]
        .iter()
        .any(|p| rest.starts_with(p))
}

fn find(bytes: &[u8], from: usize, wanted: impl Fn(u8) -> bool) -> Option<usize> {
    let rest = bytes.get(from..)?;
    rest.iter().position(|b| wanted(*b)).map(|i| from + i)
}

/// The byte after the next such sign, or the end.
fn after(bytes: &[u8], from: usize, sign: &[u8]) -> usize {
    let rest = bytes.get(from..).unwrap_or_default();
    let found = rest.windows(sign.len()).position(|w| w == sign);
    found.map_or(bytes.len(), |i| from + i + sign.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nesting_is_counted_as_a_parser_would() {
        let deep = |n: usize| format!("{}{}", "<a b='>'>".repeat(n), "</a>".repeat(n));
        assert!(refuse_unsafe(&deep(100)).is_ok());
        assert!(refuse_unsafe(&deep(101)).is_err());
        assert!(refuse_unsafe(&deep(100_000)).is_err());
        assert!(refuse_unsafe(&"<a/><!-- <b> --><![CDATA[<c>]]>".repeat(1000)).is_ok());
    }

    #[test]
    fn entities_of_the_file_are_bounded() {
        let bomb = |n: usize| {
            format!(
                "<!DOCTYPE a [<!ENTITY e \"{}\">]><a>{}</a>",
                "x".repeat(n),
                "&e;".repeat(n)
            )
        };
        assert!(refuse_unsafe(&bomb(10)).is_ok());
        assert!(refuse_unsafe(&bomb(1000)).is_err());
        assert!(refuse_unsafe(&"<a>&amp;&#65;</a>".repeat(1000)).is_ok());
    }
}
