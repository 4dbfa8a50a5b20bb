//! How much of a file is read: far over any sketch, so that a wrong file is refused soon.

use super::song::ReadError;

/// Most notes of a file. An hour of dense piano music has about a tenth of it.
pub(super) const MOST_NOTES: u32 = 300_000;
/// Most other events that are kept: controllers, bends, tempos, markers …
pub(super) const MOST_OTHERS: u32 = 2_000_000;

/// What may still be read of a file.
#[derive(Debug)]
pub(super) struct Budget {
    notes: u32,
    others: u32,
}

impl Default for Budget {
    fn default() -> Self {
        Self {
            notes: MOST_NOTES,
            others: MOST_OTHERS,
        }
    }
}

impl Budget {
    /// Counts a note that begins at a byte.
    ///
    /// # Errors
    /// Where it is one too many.
    pub(super) fn note(&mut self, offset: usize) -> Result<(), ReadError> {
        take(&mut self.notes, MOST_NOTES, "notes", offset)
    }

    /// Counts another event.
    ///
    /// # Errors
    /// Where it is one too many.
    pub(super) fn other(&mut self, offset: usize) -> Result<(), ReadError> {
        let what = "controllers and other events";
        take(&mut self.others, MOST_OTHERS, what, offset)
    }
}

fn take(left: &mut u32, most: u32, what: &str, offset: usize) -> Result<(), ReadError> {
    *left = left.checked_sub(1).ok_or_else(|| ReadError {
        offset,
        reason: format!(
            "here the file has more than {most} {what}, far more than a sketch; \
             export the sketch alone, or in pieces"
        ),
    })?;
    Ok(())
}
