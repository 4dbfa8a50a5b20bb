//! What drawings have in common (SVG 1.1, W3C): inks, lines and words.

use std::fmt::Write as _;

/// Ink of lines and words.
pub(super) const INK: &str = "#26221c";
/// Ink of what is said beside.
pub(super) const SOFT: &str = "#6b6355";
/// The paper.
pub(super) const PAPER: &str = "#fbf8f1";
/// The one accent.
pub(super) const ACCENT: &str = "#0f6b6b";

/// Ink thinned with paper: 0 is paper, 1 ink. A colour of its own, so that cells side by side show no seam.
pub(super) fn tint(dark: f64) -> String {
    let mixed = |paper: f64, ink: f64| (paper + (ink - paper) * dark.clamp(0.0, 1.0)).round() as u8;
    let [red, green, blue] =
        [(251.0, 38.0), (248.0, 34.0), (241.0, 28.0)].map(|(p, i)| mixed(p, i));
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// A line in ink.
pub(super) fn line(body: &mut String, from: (f64, f64), to: (f64, f64), width: f64) {
    // Writing to a string cannot fail, here and below.
    let _ = writeln!(
        body,
        "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"{INK}\" stroke-width=\"{width}\"/>",
        from.0, from.1, to.0, to.1
    );
}

/// Words that begin at a place of their base line.
pub(super) fn put(body: &mut String, x: f64, y: f64, size: f64, fill: &str, words: &str) {
    let _ = writeln!(
        body,
        "<text x=\"{x:.1}\" y=\"{y:.1}\" font-size=\"{size}\" fill=\"{fill}\">{}</text>",
        escaped(words)
    );
}

/// A text for XML: what steers a file is written as an entity, what XML does not allow is replaced.
pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => safe.push('\u{fffd}'),
            c => safe.push(c),
        }
    }
    safe
}
