//! Lengths of time in words.

/// Minutes and seconds: `2:45`.
///
/// ```
/// assert_eq!(bandwright::export::minutes(164.6), "2:45");
/// ```
#[must_use]
pub fn minutes(seconds: f64) -> String {
    let whole = seconds.max(0.0).round() as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}
