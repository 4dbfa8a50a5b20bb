//! The sheet: staves in score order, read like a score. It paints what is seen and asks for the rest.

pub mod access;
mod dynamics;
pub mod engraved;
pub mod heads;

pub mod hit;
pub mod lanes;
pub mod marks;
pub mod pen;
pub mod pointing;
pub mod score;
