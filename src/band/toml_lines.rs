//! Reading TOML values by hand, so that every error can name its line.

use super::nearest::suggestion;
use super::roster_file::RosterError;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The text that positions refer to.
#[derive(Clone, Copy)]
pub(crate) struct Lines<'t>(pub &'t str);

/// A table with the line that it begins on.
#[derive(Clone, Copy)]
pub(crate) struct TableAt<'a, 't> {
    pub table: &'a DeTable<'t>,
    pub line: usize,
}

impl<'t> Lines<'t> {
    /// The line of a byte, from 1.
    pub fn line(self, byte: usize) -> usize {
        let before = self.0.as_bytes().iter().take(byte);
        1 + before.filter(|b| **b == b'\n').count()
    }

    pub fn of<T>(self, value: &Spanned<T>) -> usize {
        self.line(value.span().start)
    }

    pub fn fail<T>(self, at: &Spanned<T>, text: impl Into<String>) -> RosterError {
        RosterError::new(self.of(at), text)
    }

    /// The value as a table.
    pub fn table<'a>(
        self,
        value: &'a Spanned<DeValue<'t>>,
        what: &str,
    ) -> Result<TableAt<'a, 't>, RosterError> {
        let table = value.get_ref().as_table();
        table
            .map(|table| TableAt {
                table,
                line: self.of(value),
            })
            .ok_or_else(|| self.fail(value, format!("`{what}` must be a table `{{ … }}`")))
    }

    /// The value as text.
    pub fn text<'a>(
        self,
        value: &'a Spanned<DeValue<'t>>,
        what: &str,
    ) -> Result<&'a str, RosterError> {
        let text = value.get_ref().as_str();
        text.ok_or_else(|| self.fail(value, format!("`{what}` must be text in quotes")))
    }

    /// The value as true or false.
    pub fn flag(self, value: &Spanned<DeValue<'t>>, what: &str) -> Result<bool, RosterError> {
        let flag = value.get_ref().as_bool();
        flag.ok_or_else(|| self.fail(value, format!("`{what}` must be true or false")))
    }

    /// The value as a whole number.
    pub fn number(self, value: &Spanned<DeValue<'t>>, what: &str) -> Result<i64, RosterError> {
        let number = value.get_ref().as_integer();
        number
            .and_then(|n| i64::from_str_radix(n.as_str(), n.radix()).ok())
            .ok_or_else(|| self.fail(value, format!("`{what}` must be a whole number")))
    }

    /// The value as a number, whole or not.
    pub fn decimal(self, value: &Spanned<DeValue<'t>>, what: &str) -> Result<f64, RosterError> {
        let number = match value.get_ref().as_float() {
            Some(number) => number.as_str().parse().ok(),
            // The greatest whole numbers lose their last digits; what is read has far fewer.
            None => self.number(value, what).ok().map(|n| n as f64),
        };
        number.ok_or_else(|| self.fail(value, format!("`{what}` must be a number")))
    }

    /// Refuses keys that are not known, the first in the text first.
    pub fn only(self, at: TableAt<'_, 't>, known: &[&str], what: &str) -> Result<(), RosterError> {
        let unknown = at
            .table
            .iter()
            .map(|(key, _)| key)
            .filter(|key| !known.contains(&key.get_ref().as_ref()))
            .min_by_key(|key| key.span().start);
        let Some(key) = unknown else { return Ok(()) };
        let near = match suggestion(key.get_ref(), known.iter().copied()) {
            near if near.is_empty() => format!("; there are `{}`", known.join("`, `")),
            near => near,
        };
        Err(self.fail(key, format!("unknown {what} `{}`{near}", key.get_ref())))
    }
}

impl<'a, 't> TableAt<'a, 't> {
    pub fn get(self, key: &str) -> Option<&'a Spanned<DeValue<'t>>> {
        self.table.get(key)
    }

    pub fn need(self, key: &str) -> Result<&'a Spanned<DeValue<'t>>, RosterError> {
        self.get(key)
            .ok_or_else(|| RosterError::new(self.line, format!("`{key}` is missing")))
    }
}
