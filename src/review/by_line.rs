//! What was found of each line of a draft, kept while its notes stay as they are.

use crate::band::{Band, PartId};
use crate::score::{DraftNote, PartLine};

/// One thing found of every line; `K` is all else that it follows from.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct ByLine<K, T> {
    from: Option<K>,
    lines: Vec<Line<T>>,
}

#[derive(Clone, PartialEq, Debug)]
struct Line<T> {
    part: PartId,
    notes: Vec<DraftNote>,
    found: T,
}

impl<K, T> Default for ByLine<K, T> {
    fn default() -> Self {
        Self {
            from: None,
            lines: Vec::new(),
        }
    }
}

impl<K: PartialEq, T> ByLine<K, T> {
    /// What is found of every line of a part that the band has, in their order; looked for only where something
    /// changed.
    pub fn of_all(
        &mut self,
        from: K,
        band: &Band,
        lines: &[PartLine],
        mut find: impl FnMut(&PartLine) -> T,
    ) -> impl Iterator<Item = (PartId, &T)> {
        if self.from.as_ref() != Some(&from) {
            self.from = Some(from);
            self.lines.clear();
        }
        let there = lines.iter().filter(|l| l.part.0 < band.parts.len());
        let mut count = 0;
        for (at, line) in there.enumerate() {
            count = at + 1;
            let known = self.lines.get(at);
            if known.is_some_and(|k| k.part == line.part && k.notes == line.notes) {
                continue;
            }
            let new = Line {
                part: line.part,
                notes: line.notes.clone(),
                found: find(line),
            };
            match self.lines.get_mut(at) {
                Some(old) => *old = new,
                None => self.lines.push(new),
            }
        }
        self.lines.truncate(count);
        self.lines.iter().map(|l| (l.part, &l.found))
    }
}
