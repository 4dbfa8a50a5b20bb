//! The panels at the right of the sheet.

pub mod findings;
pub mod parts;
pub mod range;
pub mod roster;
pub mod shape;
pub mod sketch;
pub mod ways;
pub mod why;
