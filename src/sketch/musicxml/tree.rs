//! Small questions to elements, and errors with their place.

use crate::sketch::song::ReadError;
use roxmltree::{Error, Node};

/// Longest text of a name or a mark that is kept, in characters.
const LONGEST_TEXT: usize = 200;

/// The elements inside one, in order.
pub(super) fn children<'a, 'i>(node: Node<'a, 'i>) -> impl Iterator<Item = Node<'a, 'i>> {
    node.children().filter(Node::is_element)
}

/// The name of an element without its namespace.
pub(super) fn name<'a>(node: Node<'a, '_>) -> &'a str {
    node.tag_name().name()
}

/// The first element of a name inside another.
pub(super) fn child<'a, 'i>(node: Node<'a, 'i>, wanted: &str) -> Option<Node<'a, 'i>> {
    children(node).find(|n| name(*n) == wanted)
}

/// The text of an element, without white space at the ends.
pub(super) fn text<'a>(node: Node<'a, '_>) -> &'a str {
    node.text().unwrap_or("").trim()
}

/// The text of an element inside another.
pub(super) fn child_text<'a>(node: Node<'a, '_>, wanted: &str) -> Option<&'a str> {
    child(node, wanted).map(text)
}

/// A number; `None` where there is none, or one that is not finite.
pub(super) fn number(text: &str) -> Option<f64> {
    text.trim().parse().ok().filter(|n: &f64| n.is_finite())
}

/// A whole number; `None` where there is none, or one beyond a thousand either way.
pub(super) fn whole(text: &str) -> Option<i32> {
    let number = number(text).filter(|n| n.abs() <= 1000.0)?;
    Some(number.round() as i32)
}

/// Whether an attribute says yes.
pub(super) fn says_yes(node: Node<'_, '_>, attribute: &str) -> bool {
    node.attribute(attribute) == Some("yes")
}

/// The text of an element and all inside it as one line, of bounded length.
pub(super) fn line(node: Node<'_, '_>) -> String {
    let parts = node
        .descendants()
        .filter_map(|n| if n.is_text() { n.text() } else { None });
    let mut line = String::new();
    for c in parts.flat_map(str::chars).take(4 * LONGEST_TEXT) {
        let c = if c.is_control() { ' ' } else { c };
        if c != ' ' || !line.ends_with(' ') {
            line.push(c);
        }
    }
    line.trim().chars().take(LONGEST_TEXT).collect()
}

/// An error at an element, with its line.
pub(super) fn refused(node: Node<'_, '_>, reason: impl AsRef<str>) -> ReadError {
    let offset = node.range().start;
    let row = node.document().text_pos_at(offset).row;
    ReadError {
        offset,
        reason: format!("line {row}, {}", reason.as_ref()),
    }
}

/// Why a text is no XML.
pub(super) fn broken(text: &str, error: &Error) -> ReadError {
    let pos = error.pos();
    let line_start = text
        .split_inclusive('\n')
        .take(pos.row.saturating_sub(1) as usize)
        .map(str::len)
        .sum::<usize>();
    let reason = match error {
        Error::UnknownEntityReference(name, _) => format!(
            "line {}: the entity `{}` is not in the file, and nothing is fetched from elsewhere; export the score again",
            pos.row,
            name.chars().take(40).collect::<String>()
        ),
        Error::NodesLimitReached | Error::AttributesLimitReached => {
            "the file has more elements than any score; export fewer parts or bars".to_owned()
        }
        Error::UnclosedRootNode => {
            "the text ends before its last element is closed; copy or export the file again"
                .to_owned()
        }
        other => format!(
            "the text is no well-formed XML ({}); copy or export the file again",
            other.to_string().chars().take(160).collect::<String>()
        ),
    };
    ReadError {
        offset: line_start,
        reason,
    }
}
