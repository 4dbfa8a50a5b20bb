//! Templates: common shapes of shows under names of our own, compiled in from `presets/timelines`.

use super::place::Share;
use super::timeline_file::read_timeline;
use super::{AnyTimeline, Timeline};
use crate::band::nearest;

/// Words and texts, in the order in which they are listed.
const TEMPLATES: [(&str, &str); 8] = [
    (
        "long-rise",
        include_str!("../../../presets/timelines/long-rise.toml"),
    ),
    (
        "two-crests",
        include_str!("../../../presets/timelines/two-crests.toml"),
    ),
    (
        "deep-hush",
        include_str!("../../../presets/timelines/deep-hush.toml"),
    ),
    ("arch", include_str!("../../../presets/timelines/arch.toml")),
    (
        "stairs",
        include_str!("../../../presets/timelines/stairs.toml"),
    ),
    (
        "waves",
        include_str!("../../../presets/timelines/waves.toml"),
    ),
    (
        "last-word",
        include_str!("../../../presets/timelines/last-word.toml"),
    ),
    (
        "going-home",
        include_str!("../../../presets/timelines/going-home.toml"),
    ),
];

/// The words of all templates.
pub fn template_words() -> impl Iterator<Item = &'static str> {
    TEMPLATES.iter().map(|(word, _)| *word)
}

/// A template as the text of its file, to start one's own from.
///
/// # Errors
/// If there is none of this word; the nearest is suggested.
pub fn template_source(word: &str) -> Result<&'static str, String> {
    let found = TEMPLATES.iter().find(|(known, _)| *known == word);
    found.map(|(_, text)| *text).ok_or_else(|| {
        let near = nearest(word, template_words()).map_or_else(
            || {
                let words: Vec<&str> = template_words().collect();
                format!("there are `{}`", words.join("`, `"))
            },
            |near| format!("did you mean `{near}`?"),
        );
        let word = word.replace(char::is_control, "\u{fffd}");
        format!("no timeline is named `{word}`; {near}")
    })
}

/// A template; its places are shares of whatever length it gets.
///
/// # Errors
/// As [`template_source`].
///
/// ```
/// use bandwright::plan::timeline::{MarkKind, template};
/// let rise = template("long-rise").unwrap();
/// assert_eq!(rise.marks.iter().filter(|m| m.kind == MarkKind::Peak).count(), 1);
/// assert_eq!(template("stars").unwrap_err(), "no timeline is named `stars`; did you mean `stairs`?");
/// ```
pub fn template(word: &str) -> Result<Timeline<Share>, String> {
    match read_timeline(template_source(word)?) {
        Ok(AnyTimeline::Shares(timeline)) => Ok(timeline),
        // Tests show that every template reads and is one.
        Ok(_) => Err(format!(
            "timeline `{word}` is no template; please report this"
        )),
        Err(error) => Err(format!("timeline `{word}`, {error}; please report this")),
    }
}
