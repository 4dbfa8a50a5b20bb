//! Chunks of a RIFF file.

/// A chunk: its name, its length, its bytes, filled up to an even number.
#[must_use]
pub fn chunk(name: &[u8; 4], bytes: &[u8]) -> Vec<u8> {
    let mut made = Vec::with_capacity(bytes.len() + 9);
    made.extend_from_slice(name);
    made.extend_from_slice(&(bytes.len() as u32).to_le_bytes());
    made.extend_from_slice(bytes);
    if bytes.len() % 2 == 1 {
        made.push(0);
    }
    made
}

/// A chunk of chunks.
pub(in crate::sound) fn list(name: &[u8; 4], chunks: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = name.to_vec();
    for one in chunks {
        bytes.extend_from_slice(one);
    }
    chunk(b"LIST", &bytes)
}
