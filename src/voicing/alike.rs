//! Choices of parts that are alike in some respect: what follows from that respect alone is worked out once for
//! all states of a choir that share it.

/// The choices of some parts, by what they are alike in.
pub(super) struct Alike {
    /// By part and choice: which of the part's different ones it is.
    of: Vec<Vec<usize>>,
    /// By part: how many different ones there are.
    sizes: Vec<usize>,
}

impl Alike {
    /// The choices of some parts, each as what it is alike in.
    pub fn of<T: PartialEq>(parts: impl IntoIterator<Item = Vec<T>>) -> Self {
        let (mut of, mut sizes) = (Vec::new(), Vec::new());
        for choices in parts {
            let mut seen: Vec<T> = Vec::new();
            let mut own = Vec::with_capacity(choices.len());
            for choice in choices {
                let at = seen.iter().position(|s| *s == choice);
                own.push(at.unwrap_or(seen.len()));
                if at.is_none() {
                    seen.push(choice);
                }
            }
            of.push(own);
            sizes.push(seen.len());
        }
        Self { of, sizes }
    }

    /// How many states can be told apart.
    pub fn count(&self) -> usize {
        self.sizes.iter().product()
    }

    /// Which of them a state is, one choice a part.
    pub fn state(&self, at: &[usize]) -> usize {
        let each = self.of.iter().zip(&self.sizes).zip(at);
        each.fold(0, |sum, ((own, size), choice)| sum * size + own[*choice])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_that_are_alike_have_one_number() {
        let alike = Alike::of([vec![7, 8, 7], vec![1, 1, 2]]);
        assert_eq!(alike.count(), 4);
        assert_eq!(alike.state(&[0, 1]), alike.state(&[2, 0]));
        let all = [[0, 0], [0, 2], [1, 0], [1, 2]].map(|at| alike.state(&at));
        assert_eq!(all, [0, 1, 2, 3]);
    }
}
