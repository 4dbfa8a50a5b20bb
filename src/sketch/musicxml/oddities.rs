//! What was odd in a score, one for each kind, with how often and where first.

use crate::sketch::warnings::Warnings;
use std::collections::BTreeMap;

/// Most kinds that are told apart; an invented vocabulary must not fill the memory.
const MOST_KINDS: usize = 60;

/// Where in a score something is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place<'a> {
    /// The part's name.
    pub(super) part: &'a str,
    /// The measure's number as the file has it.
    pub(super) measure: &'a str,
}

impl Place<'_> {
    /// The score as a whole.
    pub(super) const SCORE: Place<'static> = Place {
        part: "",
        measure: "",
    };
}

/// Counts what was odd.
#[derive(Debug, Default)]
pub(super) struct Oddities {
    /// By the sentence that tells the kind: how often, and where first.
    kinds: BTreeMap<String, (usize, String)>,
    /// In the order of their first sight.
    order: Vec<String>,
    more: usize,
}

impl Oddities {
    /// Counts something; `kind` is the sentence that tells it.
    pub(super) fn add(&mut self, kind: &str, place: Place<'_>) {
        self.add_many(kind, 1, place);
    }

    /// Counts something that was seen more than once.
    pub(super) fn add_many(&mut self, kind: &str, count: usize, place: Place<'_>) {
        if count == 0 {
            return;
        }
        if let Some((so_far, _)) = self.kinds.get_mut(kind) {
            *so_far += count;
        } else if self.kinds.len() < MOST_KINDS {
            self.kinds.insert(kind.to_owned(), (count, in_words(place)));
            self.order.push(kind.to_owned());
        } else {
            self.more += count;
        }
    }

    /// Counts an element that is not known.
    pub(super) fn unknown(&mut self, element: &str, inside: &str, place: Place<'_>) {
        let element: String = element.chars().take(40).collect();
        self.add(
            &format!("the element `{element}` in `{inside}` is not known and was passed over"),
            place,
        );
    }

    /// Tells all, each kind once.
    pub(super) fn tell(&self, warnings: &mut Warnings) {
        for kind in &self.order {
            let Some((count, place)) = self.kinds.get(kind) else {
                continue;
            };
            warnings.music(match (*count, place.is_empty()) {
                (1, true) => kind.clone(),
                (1, false) => format!("{kind} ({place})"),
                (n, true) => format!("{kind} ({n} times)"),
                (n, false) => format!("{kind} ({n} times, first in {place})"),
            });
        }
        if self.more > 0 {
            warnings.music(format!("and {} more things were passed over", self.more));
        }
    }
}

fn in_words(place: Place<'_>) -> String {
    let short = |text: &str| -> String { text.chars().take(40).collect() };
    match (place.measure, place.part) {
        ("", "") => String::new(),
        ("", part) => format!("`{}`", short(part)),
        (measure, "") => format!("measure {}", short(measure)),
        (measure, part) => format!("measure {} of `{}`", short(measure), short(part)),
    }
}
