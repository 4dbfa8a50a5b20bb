//! What a row of the table is about.

use super::cells::{CsvError, Row};

/// The kinds of rows.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum About<'a> {
    /// The band: its name and note.
    Band,
    /// A section or a part as a whole.
    Whole(Group<'a>),
    /// A player, or several alike.
    Players(Group<'a>),
}

/// A section or a part by its name.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Group<'a> {
    /// Its name.
    pub name: &'a str,
    /// The column that the name stands in.
    pub column: &'static str,
}

impl Group<'_> {
    /// Whether it is a section of several parts.
    pub fn is_divided(self) -> bool {
        self.column == "section"
    }
}

pub(super) fn about(row: &Row) -> Result<About<'_>, CsvError> {
    let (section, part) = (row.cell("section"), row.cell("part"));
    let filled = |columns: &[&str]| columns.iter().any(|c| !row.cell(c).is_empty());
    let players = filled(&["level", "count"]);
    let group = match (section, part) {
        ("", "") if !players && !filled(&["instrument", "parts", "absent"]) => {
            return Ok(About::Band);
        }
        ("", "") => {
            let missing = "neither a section nor a part is named; fill in one of the two";
            return Err(row.fail("section", missing));
        }
        ("", name) => Group {
            name,
            column: "part",
        },
        (name, _) => Group {
            name,
            column: "section",
        },
    };
    if players || filled(&["name", "absent"]) || (group.is_divided() && !part.is_empty()) {
        return Ok(About::Players(group));
    }
    Ok(About::Whole(group))
}
