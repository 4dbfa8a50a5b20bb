//! The weights of the melody finder, from `presets/melody-weights.toml`.

use super::feature::{COUNT, Points, WAYS, WORDS};
use super::moves::MoveWeights;
use serde::Deserialize;
use std::sync::LazyLock;

const FILE: &str = include_str!("../../../presets/melody-weights.toml");

/// What one look weighs with.
#[derive(Clone, Debug)]
pub(super) struct Weights {
    /// Points of each feature, by way.
    pub(super) features: [Points; WAYS],
    /// Points of the moves.
    pub(super) moves: MoveWeights,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    feature: Vec<FeatureRow>,
    first: MoveWeights,
    second: MoveWeights,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FeatureRow {
    word: String,
    meaning: String,
    first: [f64; WAYS],
    second: [f64; WAYS],
}

/// What a feature means, in an arranger's words; empty for a word that is no feature.
pub(super) fn meaning(word: &str) -> &'static str {
    static MEANINGS: LazyLock<Vec<(String, String)>> = LazyLock::new(|| {
        let file: Option<File> = toml::from_str(FILE).ok();
        let rows = file.map(|f| f.feature).unwrap_or_default();
        rows.into_iter().map(|r| (r.word, r.meaning)).collect()
    });
    let row = MEANINGS.iter().find(|(own, _)| own == word);
    row.map_or("", |(_, meaning)| meaning)
}

/// The weights of the first and the second look. The file is part of the program and tested, so
/// that it can be read; were it damaged, nothing would weigh anything.
pub(super) fn weights() -> &'static [Weights; 2] {
    static WEIGHTS: LazyLock<[Weights; 2]> = LazyLock::new(|| parse(FILE));
    &WEIGHTS
}

pub(super) fn parse(text: &str) -> [Weights; 2] {
    let file: Result<File, _> = toml::from_str(text);
    let Ok(file) = file else {
        let none = Weights {
            features: [[0.0; COUNT]; WAYS],
            moves: MoveWeights::default(),
        };
        return [none.clone(), none];
    };
    let find = |pick: fn(&FeatureRow) -> [f64; WAYS]| {
        let mut ways = [[0.0; COUNT]; WAYS];
        for (i, word) in WORDS.iter().enumerate() {
            if let Some(row) = file.feature.iter().find(|r| r.word == *word) {
                for (way, points) in ways.iter_mut().zip(pick(row)) {
                    way[i] = points;
                }
            }
        }
        ways
    };
    [
        Weights {
            features: find(|r| r.first),
            moves: file.first.clone(),
        },
        Weights {
            features: find(|r| r.second),
            moves: file.second.clone(),
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_weighs_and_explains_every_feature_once() {
        let file: File = toml::from_str(FILE).unwrap();
        let words: Vec<&str> = file.feature.iter().map(|r| r.word.as_str()).collect();
        assert_eq!(words, WORDS);
        assert!(file.feature.iter().all(|r| r.meaning.len() > 5));
        assert!(weights()[1].features[0].iter().any(|w| w.abs() > 0.1));
        assert!(WORDS.iter().all(|w| !meaning(w).is_empty()));
    }
}
