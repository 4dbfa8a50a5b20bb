//! A change of a list: some of it taken out, others put in.

/// What stands from a place on gives way to something else.
#[derive(Clone, PartialEq, Debug)]
pub struct Splice<T> {
    /// The place, an index.
    pub at: usize,
    /// What is taken out.
    pub removed: Vec<T>,
    /// What is put in.
    pub added: Vec<T>,
}

impl<T: Clone + PartialEq> Splice<T> {
    /// The shortest splice from one list to another; `None` where they are equal.
    ///
    /// ```
    /// use bandwright::project::Splice;
    /// let splice = Splice::between(&[1, 2, 3, 4], &[1, 7, 4]).unwrap();
    /// assert_eq!((splice.at, &splice.removed[..], &splice.added[..]), (1, &[2, 3][..], &[7][..]));
    /// assert_eq!(splice.inverse().applied(&[1, 7, 4]), Some(vec![1, 2, 3, 4]));
    /// ```
    #[must_use]
    pub fn between(before: &[T], after: &[T]) -> Option<Self> {
        if before == after {
            return None;
        }
        let pairs = before.iter().zip(after);
        let at = pairs.take_while(|(a, b)| a == b).count();
        let (before, after) = (before.get(at..)?, after.get(at..)?);
        let pairs = before.iter().rev().zip(after.iter().rev());
        let same = pairs.take_while(|(a, b)| a == b).count();
        Some(Self {
            at,
            removed: before.get(..before.len() - same)?.to_vec(),
            added: after.get(..after.len() - same)?.to_vec(),
        })
    }

    /// The list with the splice done; `None` where what it takes out is not there.
    #[must_use]
    pub fn applied(&self, list: &[T]) -> Option<Vec<T>> {
        let (before, rest) = list.split_at_checked(self.at)?;
        let rest = rest.strip_prefix(&self.removed[..])?;
        Some([before, &self.added[..], rest].concat())
    }

    /// What takes it back.
    #[must_use]
    pub fn inverse(&self) -> Self {
        Self {
            at: self.at,
            removed: self.added.clone(),
            added: self.removed.clone(),
        }
    }
}
