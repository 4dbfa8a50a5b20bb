//! Why a note is thought to be melody, or not.

use super::feature::{Values, WORDS};
use super::weights::meaning;
use crate::sketch::reading::Evidence;

/// Fewer points than this are not worth a word.
const LEAST: f64 = 0.05;

/// What the arranger's word is worth, in points.
pub(super) fn of_tag(points: f64) -> Vec<Evidence> {
    vec![Evidence {
        feature: "tag",
        meaning: "what the arranger says",
        points: points as f32,
    }]
}

/// The points of a note's features, of its track, and of how it fits the line before and after,
/// strongest first. They add up to the log odds of the probability `sure`.
pub(super) fn of(values: &Values, weights: &Values, track: f64, sure: f64) -> Vec<Evidence> {
    let own = values.iter().zip(weights).map(|(v, w)| v * w);
    let mut all: Vec<(&'static str, f64)> = WORDS.iter().copied().zip(own).collect();
    let points = track + all.iter().map(|(_, p)| p).sum::<f64>();
    let sure = sure.clamp(1e-6, 1.0 - 1e-6);
    let odds = (sure / (1.0 - sure)).ln();
    all.push(("track", track));
    all.push(("line", odds - points));
    all.retain(|(_, points)| points.abs() >= LEAST);
    all.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let evidence = |(feature, points): (&'static str, f64)| Evidence {
        feature,
        meaning: match feature {
            "track" => "what the tracks of the file tell",
            "line" => "how it fits the line before and after it",
            word => meaning(word),
        },
        points: points as f32,
    };
    all.into_iter().map(evidence).collect()
}
