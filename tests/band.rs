//! Instruments, rosters, limits, and the arranger's own passages.

mod outside;
mod own_passages;
mod ranges;
mod roster;
