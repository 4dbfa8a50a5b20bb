//! remedies
