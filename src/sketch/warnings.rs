//! A bounded list of warnings: a broken file must not drown its reader.

use super::song::Warning;

/// How many warnings are kept word for word.
const MOST: usize = 100;

/// Collects warnings; beyond [`MOST`] they are only counted.
#[derive(Debug, Default)]
pub(super) struct Warnings {
    list: Vec<Warning>,
    more: usize,
}

impl Warnings {
    /// Adds a warning about the bytes at an offset.
    pub(super) fn bytes(&mut self, offset: usize, text: impl Into<String>) {
        if self.list.len() < MOST {
            self.list.push(Warning::bytes(offset, text));
        } else {
            self.more += 1;
        }
    }

    /// Adds a warning about the music.
    pub(super) fn music(&mut self, text: impl Into<String>) {
        if self.list.len() < MOST {
            self.list.push(Warning::music(text));
        } else {
            self.more += 1;
        }
    }

    /// The warnings, with a last one that counts those left out.
    pub(super) fn finish(mut self) -> Vec<Warning> {
        if self.more > 0 {
            self.list
                .push(Warning::music(format!("and {} more warnings", self.more)));
        }
        self.list
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_bounded() {
        let mut warnings = Warnings::default();
        (0..250).for_each(|i| warnings.bytes(i, "bad"));
        let list = warnings.finish();
        assert_eq!(list.len(), 101);
        assert_eq!(list[100].text, "and 150 more warnings");
    }
}
