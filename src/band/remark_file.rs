//! Remarks in a roster's TOML.

use super::instrument::Instrument;
use super::remark_words::{Kind, RemarkWord, WORDS, check, put};
use super::remarks::Remarks;
use super::roster_file::RosterError;
use super::toml_lines::{Lines, TableAt};
use toml::Spanned;
use toml::de::DeValue;

/// Reads remarks; refuses what does not go with the instrument.
pub(super) fn remarks(
    lines: Lines<'_>,
    at: TableAt<'_, '_>,
    instrument: &Instrument,
) -> Result<Remarks, RosterError> {
    lines.only(at, &WORDS.map(|w| w.word), "remark")?;
    let mut remarks = Remarks::default();
    for word in WORDS {
        if let Some(value) = at.get(word.word) {
            let text = value_text(lines, value, word)?;
            put(&mut remarks, word, &text).map_err(|e| lines.fail(value, e))?;
        }
    }
    match check(&remarks, instrument) {
        Ok(()) => Ok(remarks),
        Err((word, text)) => Err(lines.fail(at.need(word)?, text)),
    }
}

fn value_text(
    lines: Lines<'_>,
    value: &Spanned<DeValue<'_>>,
    word: RemarkWord,
) -> Result<String, RosterError> {
    Ok(match word.kind {
        Kind::Text => lines.text(value, word.word)?.to_owned(),
        Kind::Whole => lines.number(value, word.word)?.to_string(),
        Kind::Number => lines.decimal(value, word.word)?.to_string(),
        Kind::Flag => lines.flag(value, word.word)?.to_string(),
    })
}
