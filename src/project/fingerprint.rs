//! Fingerprints of bytes: to tell one state of a file from another.

use std::fmt;

/// A fingerprint of some bytes: the 64-bit FNV-1a hash (Fowler, Noll and Vo; constants from memory,
/// held against their published test values). It tells files apart that differ by chance or by work;
/// it is no guard against forgery.
///
/// ```
/// use bandwright::project::fingerprint::Fingerprint;
/// assert_eq!(Fingerprint::of(b"foobar").to_string(), "85944171f73967e8");
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Fingerprint(pub u64);

impl Fingerprint {
    /// The fingerprint of bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        let mix = |hash: u64, byte: &u8| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        Self(bytes.iter().fold(0xcbf2_9ce4_8422_2325, mix))
    }

    /// Reads what [`fmt::Display`] writes: sixteen hexadecimal digits; `None` for anything else.
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        let hex = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
        let whole = text.len() == 16 && text.bytes().all(hex);
        whole.then(|| u64::from_str_radix(text, 16).ok().map(Self))?
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fingerprints_are_those_published() {
        for (text, hash) in [
            ("", 0xcbf2_9ce4_8422_2325),
            ("a", 0xaf63_dc4c_8601_ec8c),
            ("foobar", 0x8594_4171_f739_67e8),
        ] {
            let found = Fingerprint::of(text.as_bytes());
            assert_eq!(found, Fingerprint(hash), "{text}");
            assert_eq!(Fingerprint::read(&found.to_string()), Some(found));
        }
        for wrong in [
            "",
            "+123456789abcdef",
            "00000000000000000",
            "000000000000000G",
        ] {
            assert_eq!(Fingerprint::read(wrong), None);
        }
    }
}
