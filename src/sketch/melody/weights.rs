//! The weights of the melody finder, from `presets/melody-weights.toml`.

use super::feature::{COUNT, Values, WAYS, WORDS};
use super::moves::MoveWeights;
use serde::Deserialize;
use std::sync::LazyLock;

const FILE: &str = include_str!("../../../presets/melody-weights.toml");

/// What one look weighs with.
#[derive(Clone, Debug)]
pub(super) struct Weights {
    /// Points of each feature, by way.
    pub(super) features: [Values; WAYS],
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
    #[expect(dead_code, reason = "read by people; the evidence will quote it")]
    meaning: String,
    first: [f64; WAYS],
    second: [f64; WAYS],
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
