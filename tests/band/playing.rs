//! What is known of playing each instrument besides its ranges.

mod brass;
mod published;
mod rules;
mod tables;
