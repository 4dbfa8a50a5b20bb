//! A place in the bytes of a file, moving forward only.

/// Reads bytes in order; every read says `None` at the end.
#[derive(Clone, Debug)]
pub(super) struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
    end: usize,
}

/// A variable-length number that could not be read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum BadNumber {
    /// The bytes end inside it.
    Cut,
    /// It goes on past four bytes.
    TooLong,
}

impl<'a> Cursor<'a> {
    /// A cursor over `bytes[start..end]`; offsets are those of the whole file.
    pub(super) fn new(bytes: &'a [u8], start: usize, end: usize) -> Self {
        let end = end.min(bytes.len());
        Self {
            bytes,
            at: start.min(end),
            end,
        }
    }

    /// Offset in the file of the next byte.
    pub(super) const fn offset(&self) -> usize {
        self.at
    }

    /// Whether no byte is left.
    pub(super) const fn is_done(&self) -> bool {
        self.at >= self.end
    }

    /// The next byte, without taking it.
    pub(super) fn peek(&self) -> Option<u8> {
        if self.is_done() {
            None
        } else {
            self.bytes.get(self.at).copied()
        }
    }

    /// Takes a byte.
    pub(super) fn byte(&mut self) -> Option<u8> {
        let byte = self.peek()?;
        self.at += 1;
        Some(byte)
    }

    /// Takes bytes; `None`, taking nothing, if there are fewer.
    pub(super) fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let stop = self.at.checked_add(count).filter(|s| *s <= self.end)?;
        let taken = self.bytes.get(self.at..stop)?;
        self.at = stop;
        Some(taken)
    }

    /// Takes a variable-length number: seven bits a byte, high bit set on all but the last, at
    /// most four bytes (SMF 1.0).
    pub(super) fn number(&mut self) -> Result<u32, BadNumber> {
        let mut value = 0;
        for _ in 0..4 {
            let byte = self.byte().ok_or(BadNumber::Cut)?;
            value = (value << 7) | u32::from(byte & 0x7F);
            if byte < 0x80 {
                return Ok(value);
            }
        }
        Err(BadNumber::TooLong)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn variable_length_numbers_as_smf_gives_them() {
        let read = |bytes: &[u8]| Cursor::new(bytes, 0, bytes.len()).number();
        assert_eq!(read(&[0x00]), Ok(0));
        assert_eq!(read(&[0x7F]), Ok(127));
        assert_eq!(read(&[0x81, 0x00]), Ok(128));
        assert_eq!(read(&[0xFF, 0x7F]), Ok(16383));
        assert_eq!(read(&[0x81, 0x80, 0x00]), Ok(16384));
        assert_eq!(read(&[0xFF, 0xFF, 0xFF, 0x7F]), Ok(0x0FFF_FFFF));
        assert_eq!(read(&[0xFF, 0xFF, 0xFF, 0xFF]), Err(BadNumber::TooLong));
        assert_eq!(read(&[0x81]), Err(BadNumber::Cut));
    }
}
