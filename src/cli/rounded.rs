//! Numbers as they go into JSON: exact enough for people, and the same on every machine.

/// A number to three places.
pub(super) fn thousandths(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

/// A number to two places.
pub(super) fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
