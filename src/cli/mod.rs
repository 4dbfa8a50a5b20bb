//! To come.

pub mod bands;
