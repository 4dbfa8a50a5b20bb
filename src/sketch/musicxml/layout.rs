//! The parts of a score and their measures, partwise or timewise.

use super::instruments::{Instruments, read_instruments};
use super::oddities::{Oddities, Place};
use super::tree::{child, child_text, children, line, name, refused};
use crate::sketch::song::ReadError;
use roxmltree::{Document, Node};
use std::collections::BTreeMap;

/// Most parts: far over any band.
const MOST_PARTS: usize = 1_000;
/// Most measures as written.
const MOST_MEASURES: usize = 50_000;
/// Most places for measures of all parts.
const MOST_PLACES: usize = 8_000_000;

/// The elements of a score, sorted.
pub(super) struct Layout<'a, 'i> {
    /// The parts in score order.
    pub(super) parts: Vec<PartNodes<'a, 'i>>,
    /// How many measures the longest part has.
    pub(super) measures: usize,
}

/// One part's elements.
pub(super) struct PartNodes<'a, 'i> {
    /// Its name.
    pub(super) name: String,
    /// What it sounds by.
    pub(super) instruments: Instruments,
    /// Its measures in order; timewise scores may leave some out.
    pub(super) measures: Vec<Option<Node<'a, 'i>>>,
}

/// Sorts a document.
///
/// # Errors
/// Where it is no score, or one without parts or with far too many.
pub(super) fn read_layout<'a, 'i>(
    document: &'a Document<'i>,
    oddities: &mut Oddities,
) -> Result<Layout<'a, 'i>, ReadError> {
    let root = document.root_element();
    let by_part = match name(root) {
        "score-partwise" => partwise(root, oddities)?,
        "score-timewise" => timewise(root, oddities)?,
        other => {
            let other: String = other.chars().take(40).collect();
            return Err(refused(
                root,
                format!(
                    "no MusicXML score (it begins with `{other}`, not with score-partwise or score-timewise); \
                     export the score as MusicXML"
                ),
            ));
        }
    };
    let declared = declared(root);
    let mut parts = Vec::new();
    for (id, measures) in by_part {
        let of_list = declared.iter().find(|d| d.attribute("id") == Some(id));
        if of_list.is_none() {
            oddities.add(
                "a part is not in the part list; it is read under its id",
                Place {
                    part: id,
                    measure: "",
                },
            );
        }
        let node = of_list.copied();
        parts.push(PartNodes {
            name: node.map_or_else(|| id.to_owned(), part_name),
            instruments: read_instruments(node, parts.len()),
            measures,
        });
    }
    if parts.is_empty() {
        return Err(refused(root, "the score has no part; export it again"));
    }
    let measures = parts.iter().map(|p| p.measures.len()).max().unwrap_or(0);
    Ok(Layout { parts, measures })
}

type Measures<'a, 'i> = Vec<Option<Node<'a, 'i>>>;

fn partwise<'a, 'i>(
    root: Node<'a, 'i>,
    oddities: &mut Oddities,
) -> Result<Vec<(&'a str, Measures<'a, 'i>)>, ReadError> {
    let mut parts: Vec<(&str, Measures<'a, 'i>)> = Vec::new();
    for node in children(root) {
        match name(node) {
            "part" => {
                let id = node.attribute("id").unwrap_or("");
                let mut measures = Vec::new();
                for measure in children(node) {
                    match name(measure) {
                        "measure" => measures.push(Some(measure)),
                        other => oddities.unknown(
                            other,
                            "part",
                            Place {
                                part: id,
                                measure: "",
                            },
                        ),
                    }
                }
                refuse_too_many(node, parts.len() + 1, measures.len())?;
                parts.push((id, measures));
            }
            other => tell_unknown(other, oddities),
        }
    }
    Ok(parts)
}

fn timewise<'a, 'i>(
    root: Node<'a, 'i>,
    oddities: &mut Oddities,
) -> Result<Vec<(&'a str, Measures<'a, 'i>)>, ReadError> {
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    let mut parts: Vec<(&str, Measures<'a, 'i>)> = Vec::new();
    let mut count = 0;
    for measure in children(root) {
        if name(measure) != "measure" {
            tell_unknown(name(measure), oddities);
            continue;
        }
        for part in children(measure) {
            if name(part) != "part" {
                oddities.unknown(name(part), "measure", Place::SCORE);
                continue;
            }
            let id = part.attribute("id").unwrap_or("");
            let place = *places.entry(id).or_insert_with(|| {
                parts.push((id, Vec::new()));
                parts.len() - 1
            });
            refuse_too_many(part, parts.len(), count + 1)?;
            if let Some((_, measures)) = parts.get_mut(place) {
                measures.resize(count, None);
                measures.push(Some(part));
            }
        }
        count += 1;
    }
    Ok(parts)
}

fn refuse_too_many(node: Node<'_, '_>, parts: usize, measures: usize) -> Result<(), ReadError> {
    if parts > MOST_PARTS || measures > MOST_MEASURES || parts * measures > MOST_PLACES {
        return Err(refused(
            node,
            format!(
                "here the score has more than {MOST_PARTS} parts or {MOST_MEASURES} measures, far more than any; \
                 export fewer"
            ),
        ));
    }
    Ok(())
}

fn tell_unknown(element: &str, oddities: &mut Oddities) {
    let harmless = [
        "work",
        "movement-number",
        "movement-title",
        "identification",
        "defaults",
        "credit",
        "part-list",
    ];
    if !harmless.contains(&element) {
        oddities.unknown(element, "score", Place::SCORE);
    }
}

/// The parts that the part list tells of.
fn declared<'a, 'i>(root: Node<'a, 'i>) -> Vec<Node<'a, 'i>> {
    let list = child(root, "part-list");
    let parts = list.into_iter().flat_map(children);
    parts.filter(|n| name(*n) == "score-part").collect()
}

/// The number of a timewise measure stands on the measure, that of a partwise one on itself.
pub(super) fn measure_number<'a>(node: Node<'a, '_>) -> &'a str {
    measure_attribute(node, "number").unwrap_or("")
}

/// An attribute of the measure that an element is, or is of.
pub(super) fn measure_attribute<'a>(node: Node<'a, '_>, attribute: &str) -> Option<&'a str> {
    if name(node) == "part" {
        return node.parent_element()?.attribute(attribute);
    }
    node.attribute(attribute)
}

fn part_name(node: Node<'_, '_>) -> String {
    let named = |element| child(node, element).map(line).filter(|n| !n.is_empty());
    named("part-name")
        .or_else(|| named("part-name-display"))
        .or_else(|| named("part-abbreviation"))
        .or_else(|| {
            let instrument = child(node, "score-instrument")?;
            child_text(instrument, "instrument-name").map(str::to_owned)
        })
        .unwrap_or_default()
}
