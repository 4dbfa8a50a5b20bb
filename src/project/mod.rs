//! The project: what an arranger works on.

pub mod work;
