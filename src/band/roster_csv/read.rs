//! A table as a band.

use super::cells::{CsvError, Row, rows};
use super::rows::{About, Group, about};
use crate::band::division::MOST_SECTION_PARTS;
use crate::band::instrument::Instrument;
use crate::band::level_words::level_of;
use crate::band::made_band::MOST_PLAYERS;
use crate::band::people::{Roster, Seat, Section, Split, same_name};
use crate::band::remark_words::{Kind, WORDS, check, instrument_of, put};
use crate::band::remarks::Remarks;
use crate::band::roster::Band;
use crate::band::roster_file::checked_name;
use crate::band::seat_file::part_number;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a band is called whose table has no row for it.
const NO_NAME: &str = "Band";

/// Reads a band from a table. Cells are parted by commas, semicolons or tabulators; capitals and
/// blanks in the header, empty rows, the order of the columns and missing ones (all but `level` and
/// `instrument`) do not matter. A section's rows need not stand together.
///
/// # Errors
/// On the first row that cannot be understood, with its number as a spreadsheet counts, its column
/// and the nearest known word.
///
/// ```
/// use bandwright::band::read_csv;
/// let text = "Part;Instrument;Count;Level\nFlute;flute;3;first year\nTuba;tuba;1;advancd\n";
/// let error = read_csv(text).unwrap_err().to_string();
/// assert_eq!(error, "row 3, column `level`: unknown level `advancd`; did you mean `advanced`?");
/// ```
pub fn read_csv(text: &str) -> Result<Band, CsvError> {
    let rows = rows(text)?;
    let mut table = Table::default();
    table.instruments(&rows)?;
    for row in &rows {
        match about(row)? {
            About::Band => table.band(row)?,
            About::Whole(group) => table.whole(row, group)?,
            About::Players(group) => table.players(row, group)?,
        }
    }
    if table.roster.name.is_empty() {
        NO_NAME.clone_into(&mut table.roster.name);
    }
    let first = rows.first().map_or(1, |r| r.number);
    let rows_of = table.rows;
    table.roster.band().map_err(|e| {
        let row = e.section.and_then(|s| rows_of.get(s).copied());
        CsvError::row(row.unwrap_or(first), e.text)
    })
}

/// What was read so far.
#[derive(Default)]
struct Table {
    roster: Roster,
    /// The first row of each section.
    rows: Vec<usize>,
    /// Where a section or part stands, by the name as people take it.
    places: BTreeMap<String, usize>,
}

impl Table {
    /// Makes all sections and parts with their instruments and numbers of parts, so that rows may
    /// come in any order and need not repeat them.
    fn instruments(&mut self, rows: &[Row]) -> Result<(), CsvError> {
        for row in rows {
            let group = match about(row)? {
                About::Band => continue,
                About::Whole(group) | About::Players(group) => group,
            };
            let index = self.section(rows, row, group)?;
            let parts = row.cell("parts");
            if parts.is_empty() {
                continue;
            }
            let Some(section) = self.roster.sections.get_mut(index) else {
                continue;
            };
            let split = Split::Into(number_of_parts(row, parts, group)?);
            if !matches!(section.split, Split::Proposed) && section.split != split {
                let text = format!("`{}` was given another number of parts", section.name);
                return Err(row.fail("parts", text));
            }
            section.split = split;
        }
        Ok(())
    }

    /// The index of a row's section or part; makes it where it is new.
    fn section(&mut self, rows: &[Row], row: &Row, group: Group<'_>) -> Result<usize, CsvError> {
        let name = checked_name(group.name).map_err(|e| row.fail(group.column, e))?;
        let key = same_name(&name);
        let instrument = instrument(row)?;
        if let Some(index) = self.places.get(&key).copied() {
            let known = self.roster.sections.get(index);
            if let Some(section) = known
                && (section.split == Split::One) == group.is_divided()
            {
                let text = format!("`{name}` is a section in one row and a part in another");
                return Err(row.fail(group.column, text));
            }
            if let (Some(section), Some(instrument)) = (known, instrument)
                && section.instrument.id != instrument.id
            {
                let id = &section.instrument.id;
                let text = format!(
                    "`{name}` plays `{id}` in another row; a section or part has one instrument"
                );
                return Err(row.fail("instrument", text));
            }
            return Ok(index);
        }
        // The first row that names the instrument may come later.
        let same = |r: &&Row| same_name(r.cell(group.column)) == key;
        let later = rows
            .iter()
            .filter(same)
            .find(|r| !r.cell("instrument").is_empty());
        let instrument = match (instrument, later) {
            (Some(instrument), _) => instrument,
            (None, Some(later)) => instrument_cell(later)?,
            (None, None) => {
                return Err(row.fail("instrument", format!("`{name}` has no instrument")));
            }
        };
        let index = self.roster.sections.len();
        self.places.insert(key, index);
        self.rows.push(row.number);
        self.roster.sections.push(Section {
            name,
            instrument,
            split: if group.is_divided() {
                Split::Proposed
            } else {
                Split::One
            },
            seats: Vec::new(),
            remarks: Remarks::default(),
        });
        Ok(index)
    }

    fn band(&mut self, row: &Row) -> Result<(), CsvError> {
        let wrong = WORDS
            .iter()
            .find(|w| w.word != "note" && !row.cell(w.word).is_empty());
        if let Some(word) = wrong {
            let text = "a remark needs a section or a part in its row";
            return Err(row.fail(word.word, text));
        }
        let (name, note) = (row.cell("name"), row.cell("note"));
        if !self.roster.name.is_empty() || !self.roster.note.is_empty() {
            let text = "a second row with neither a section nor a part; only the band's name and note stand alone";
            return Err(row.fail("section", text));
        }
        if !name.is_empty() {
            self.roster.name = checked_name(name).map_err(|e| row.fail("name", e))?;
        }
        note.clone_into(&mut self.roster.note);
        Ok(())
    }

    fn of(&mut self, group: Group<'_>) -> Option<&mut Section> {
        let index = self.places.get(&same_name(group.name))?;
        self.roster.sections.get_mut(*index)
    }

    fn whole(&mut self, row: &Row, group: Group<'_>) -> Result<(), CsvError> {
        let Some(section) = self.of(group) else {
            return Ok(());
        };
        let said = remarks(row, &section.instrument)?;
        if said != Remarks::default() && section.remarks != Remarks::default() {
            let text = format!("a second row of remarks on all of `{}`", section.name);
            return Err(row.fail(group.column, text));
        }
        if said != Remarks::default() {
            section.remarks = said;
        }
        Ok(())
    }

    fn players(&mut self, row: &Row, group: Group<'_>) -> Result<(), CsvError> {
        let Some(section) = self.of(group) else {
            return Ok(());
        };
        let level = match row.cell("level") {
            "" => return Err(row.fail("level", "the level is missing")),
            word => level_of(word).map_err(|e| row.fail("level", e))?,
        };
        let name = match row.cell("name") {
            "" => String::new(),
            name => checked_name(name).map_err(|e| row.fail("name", e))?,
        };
        let count = count(row)?;
        if !name.is_empty() && count != 1 {
            return Err(row.fail("count", "a player with a name is one"));
        }
        let part = match row.cell("part") {
            text if !text.is_empty() && group.is_divided() => {
                let number = part_number(text, &section.name, section.split);
                Some(number.map_err(|e| row.fail("part", e))?)
            }
            _ => None,
        };
        let seat = Seat {
            name,
            level,
            absent: flag(row, "absent")?,
            part,
            remarks: remarks(row, &section.instrument)?,
        };
        section.seats.extend(std::iter::repeat_n(seat, count));
        if section.seats.len() > MOST_PLAYERS {
            return Err(row.fail("count", format!("more than {MOST_PLAYERS} players")));
        }
        Ok(())
    }
}

fn instrument(row: &Row) -> Result<Option<Arc<Instrument>>, CsvError> {
    if row.cell("instrument").is_empty() {
        return Ok(None);
    }
    instrument_cell(row).map(Some)
}

fn instrument_cell(row: &Row) -> Result<Arc<Instrument>, CsvError> {
    let word = row
        .cell("instrument")
        .to_lowercase()
        .replace([' ', '-'], "_");
    instrument_of(&word).map_err(|e| row.fail("instrument", e))
}

fn number_of_parts(row: &Row, text: &str, group: Group<'_>) -> Result<u8, CsvError> {
    if !group.is_divided() {
        let only = format!(
            "`{}` is one part; name it under `section` to divide it",
            group.name
        );
        return Err(row.fail("parts", only));
    }
    let number = text
        .parse()
        .ok()
        .filter(|n| (1..=MOST_SECTION_PARTS).contains(n));
    let most = || {
        row.fail(
            "parts",
            format!("`parts` must be from 1 to {MOST_SECTION_PARTS}"),
        )
    };
    number.ok_or_else(most)
}

fn count(row: &Row) -> Result<usize, CsvError> {
    match row.cell("count") {
        "" => Ok(1),
        text => {
            let number = text.parse().ok().filter(|n| (1..=MOST_PLAYERS).contains(n));
            let most = || row.fail("count", format!("`count` must be from 1 to {MOST_PLAYERS}"));
            number.ok_or_else(most)
        }
    }
}

fn flag(row: &Row, column: &'static str) -> Result<bool, CsvError> {
    match row.cell(column).to_lowercase().as_str() {
        "yes" | "y" | "true" | "x" | "1" => Ok(true),
        "" | "no" | "n" | "false" | "0" => Ok(false),
        word => Err(row.fail(column, format!("`{column}` is yes or no, not `{word}`"))),
    }
}

fn remarks(row: &Row, instrument: &Instrument) -> Result<Remarks, CsvError> {
    let mut remarks = Remarks::default();
    for word in WORDS.into_iter().filter(|w| !row.cell(w.word).is_empty()) {
        let cell = row.cell(word.word);
        let value = match (word.kind, word.word) {
            (Kind::Flag, _) => flag(row, word.word)?.to_string(),
            (Kind::Number, _) => cell.replace(',', "."),
            (Kind::Whole, _) | (_, "note" | "lowest" | "highest") => cell.to_owned(),
            (_, "doubles") => cell.to_lowercase().replace([' ', '-'], "_"),
            _ => cell.to_lowercase(),
        };
        put(&mut remarks, word, &value).map_err(|e| row.fail(word.word, e))?;
    }
    match check(&remarks, instrument) {
        Ok(()) => Ok(remarks),
        Err((word, text)) => Err(row.fail(word, text)),
    }
}
