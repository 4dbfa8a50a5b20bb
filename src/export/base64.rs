//! Bytes as text: base64 of RFC 4648, with padding. For fonts in pages, and for the sketch in a project file.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Bytes as text.
#[must_use]
pub fn to_text(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let whole = group.iter().fold(0_u32, |all, b| all << 8 | u32::from(*b));
        let bits = whole << (8 * (3 - group.len()));
        for place in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * place) & 63) as usize];
            let there = place <= group.len();
            text.push(if there { char::from(letter) } else { '=' });
        }
    }
    text
}

/// The bytes of a text.
///
/// # Errors
/// At which byte of it something is wrong.
pub fn to_bytes(text: &str) -> Result<Vec<u8>, usize> {
    let text = text.as_bytes();
    if !text.len().is_multiple_of(4) {
        return Err(text.len());
    }
    let padding = text
        .iter()
        .rev()
        .take(2)
        .take_while(|b| **b == b'=')
        .count();
    let letters = text.len() - padding;
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    let (mut bits, mut count) = (0_u32, 0);
    for (at, byte) in text.iter().take(letters).enumerate() {
        bits = bits << 6 | u32::from(value(*byte).ok_or(at)?);
        count += 6;
        if count >= 8 {
            count -= 8;
            bytes.push((bits >> count) as u8);
            bits &= (1 << count) - 1;
        }
    }
    // Bits that stand for nothing are zero, so that every text has one meaning and one form.
    if bits == 0 {
        Ok(bytes)
    } else {
        Err(letters - 1)
    }
}

fn value(letter: u8) -> Option<u8> {
    match letter {
        b'A'..=b'Z' => Some(letter - b'A'),
        b'a'..=b'z' => Some(letter - b'a' + 26),
        b'0'..=b'9' => Some(letter - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Section 10 of RFC 4648.
    #[test]
    fn the_test_values_of_the_standard_come_out() {
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(to_text(bytes.as_bytes()), text);
            assert_eq!(to_bytes(text), Ok(bytes.as_bytes().to_vec()));
        }
    }

    #[test]
    fn what_is_wrong_is_told() {
        for (text, at) in [
            ("Zg=", 3),
            ("Z===", 1),
            ("Zh==", 1),
            ("Zm9=", 2),
            ("Zm9v!m8=", 4),
            ("Zg==Zg==", 2),
            ("====", 0),
        ] {
            assert_eq!(to_bytes(text), Err(at), "{text}");
        }
    }

    proptest! {
        #[test]
        fn bytes_come_back(bytes in prop::collection::vec(any::<u8>(), 0..99)) {
            prop_assert_eq!(to_bytes(&to_text(&bytes)), Ok(bytes));
        }

        #[test]
        fn any_text_is_read_or_refused(text in "[A-Za-z0-9+/=]{0,12}|\\PC{0,9}") {
            if let Ok(bytes) = to_bytes(&text) {
                prop_assert_eq!(to_text(&bytes), text);
            }
        }
    }
}
