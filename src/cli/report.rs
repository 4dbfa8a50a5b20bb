//! Findings for people: like ones together.

use crate::review::Finding;

/// One line for every kind of finding of a part: the first one whole, then how many more there
/// are and up to which bar. In the order of the first ones.
#[must_use]
pub fn grouped(findings: &[&Finding]) -> Vec<String> {
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for finding in findings {
        let like = |g: &&mut Vec<&Finding>| {
            g.first()
                .is_some_and(|f| f.kind == finding.kind && f.part == finding.part)
        };
        match groups.iter_mut().find(like) {
            Some(group) => group.push(finding),
            None => groups.push(vec![finding]),
        }
    }
    groups.iter().filter_map(|g| line(g)).collect()
}

fn line(group: &[&Finding]) -> Option<String> {
    let (first, last) = (group.first()?, group.last()?);
    Some(match group.len() {
        1 => format!("  {first}"),
        n => format!(
            "  {first} ({} more like it, to bar {})",
            n - 1,
            last.place.bar
        ),
    })
}
