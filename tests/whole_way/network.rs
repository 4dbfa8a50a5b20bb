//! Chords written as a cost function network: read again as JSON, and every assignment tried.

use super::exhaustive::{least, with_chords};
use super::strategies::{lanes, locks, sketch, small_band};
use crate::midi_file::File;
use bandwright::band::Band;
use bandwright::sketch::Song;
use bandwright::voicing::network::network;
use bandwright::voicing::{Effort, Weights};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// Networks whose steps have no more joint states together are gone through.
const MOST_PATHS: usize = 800;

/// A table over some variables, by their places in the file.
struct Function {
    scope: Vec<usize>,
    default: Option<i64>,
    costs: Vec<i64>,
}

/// A network as it stands in the file.
struct Read {
    names: Vec<String>,
    sizes: Vec<usize>,
    functions: Vec<Function>,
    top: i64,
}

fn read(text: &str) -> Read {
    let file: Value = serde_json::from_str(text).unwrap();
    let top = file["problem"]["mustbe"].as_str().unwrap();
    let top = top.strip_prefix('<').unwrap().parse().unwrap();
    let variables = file["variables"].as_object().unwrap();
    let names: Vec<String> = variables.keys().cloned().collect();
    let place: BTreeMap<&str, usize> = names
        .iter()
        .enumerate()
        .map(|(i, n)| (n.as_str(), i))
        .collect();
    let sizes = variables.values().map(|values| {
        let values: Vec<&str> = values
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_str().unwrap())
            .collect();
        let once: BTreeSet<&&str> = values.iter().collect();
        assert_eq!(once.len(), values.len(), "a value named twice: {values:?}");
        for value in &values {
            assert!(
                value.starts_with(|c: char| c.is_ascii_alphabetic()),
                "{value}"
            );
        }
        values.len()
    });
    let sizes = sizes.collect();
    let function = |f: &Value| Function {
        scope: f["scope"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| place[v.as_str().unwrap()])
            .collect(),
        default: f.get("defaultcost").map(|d| d.as_i64().unwrap()),
        costs: f["costs"]
            .as_array()
            .unwrap()
            .iter()
            .map(|c| c.as_i64().unwrap())
            .collect(),
    };
    let functions = file["functions"]
        .as_object()
        .unwrap()
        .values()
        .map(function)
        .collect();
    Read {
        sizes,
        functions,
        top,
        names,
    }
}

impl Function {
    fn cost(&self, sizes: &[usize], values: &[usize]) -> i64 {
        let at: Vec<usize> = self.scope.iter().map(|v| values[*v]).collect();
        let Some(default) = self.default else {
            let place = self
                .scope
                .iter()
                .zip(&at)
                .fold(0, |p, (v, a)| p * sizes[*v] + a);
            return self.costs[place];
        };
        let rows = self.costs.chunks_exact(at.len() + 1);
        let same = |row: &&[i64]| row.iter().zip(&at).all(|(r, a)| *r == *a as i64);
        rows.clone().find(same).map_or(default, |row| row[at.len()])
    }
}

/// The least cost of all assignments, variable after variable; a branch ends where a table forbids it.
fn least_of(network: &Read) -> i64 {
    // States come before the parts and the sums that hang on them.
    let mut order: Vec<usize> = (0..network.sizes.len()).collect();
    let of = |v: &usize| {
        let name = &network.names[*v];
        let kind = match name.as_bytes().first() {
            Some(b'c') => 0,
            Some(b'p') => 1,
            _ => 2,
        };
        (kind, name.len(), name.clone())
    };
    order.sort_by_key(of);
    let rank: BTreeMap<usize, usize> = order.iter().enumerate().map(|(i, v)| (*v, i)).collect();
    let mut ready: Vec<Vec<&Function>> = (0..=order.len()).map(|_| Vec::new()).collect();
    for function in &network.functions {
        let last = function
            .scope
            .iter()
            .map(|v| rank[v] + 1)
            .max()
            .unwrap_or(0);
        ready[last].push(function);
    }
    let mut values = vec![0; network.sizes.len()];
    let start: i64 = ready[0]
        .iter()
        .map(|f| f.cost(&network.sizes, &values))
        .sum();
    let mut best = network.top;
    go(network, &order, &ready, 0, start, &mut values, &mut best);
    best
}

fn go(
    network: &Read,
    order: &[usize],
    ready: &[Vec<&Function>],
    at: usize,
    so_far: i64,
    values: &mut Vec<usize>,
    best: &mut i64,
) {
    if so_far >= *best {
        return;
    }
    let Some(variable) = order.get(at) else {
        *best = so_far;
        return;
    };
    for value in 0..network.sizes[*variable] {
        values[*variable] = value;
        let more = ready[at + 1].iter().map(|f| f.cost(&network.sizes, values));
        let cost = so_far + more.sum::<i64>();
        go(network, order, ready, at + 1, cost, values, best);
    }
}

/// The least cost by the network and by the model, where the case is small enough.
fn both(song: &Song, band: &Band, at: usize, long: usize) -> Option<(i64, i64)> {
    with_chords(song, band, &Weights::default(), |chords| {
        let steps = chords.steps.len();
        let from = at % steps.max(1);
        let range = from..(from + long).min(steps);
        if range.is_empty() {
            return None;
        }
        let (stretch, _) = chords.stretch(range.clone(), None, &Effort::default());
        let states = stretch
            .choirs
            .iter()
            .flat_map(|c| &c.stages)
            .map(|s| s.stage.joint.len());
        if states.product::<usize>() > MOST_PATHS {
            return None;
        }
        let parts: Vec<String> = band.parts.iter().map(|p| p.name.clone()).collect();
        let names: Vec<String> = range.map(|s| format!("step {s}")).collect();
        let text = network(&stretch, "a small case", &parts, &names);
        Some((least_of(&read(&text)), least(&stretch, chords.units())))
    })
}

/// The network has the least cost of the model, and enough cases have something to choose.
#[test]
fn networks_are_the_model() {
    let mut runner = TestRunner::deterministic();
    let cases = (small_band(), sketch(), locks(), 0..40_usize, 1..4_usize);
    let (mut all, mut choice) = (0, 0);
    for _ in 0..1500 {
        let (band, mut sketch, own, at, long): (Band, File, _, usize, usize) =
            cases.new_tree(&mut runner).unwrap().current();
        let own = lanes(&own, &band, &sketch);
        sketch.lanes.extend(own);
        if let Some((by_network, by_model)) = both(&sketch.song(), &band, at, long) {
            assert_eq!(by_network, by_model);
            all += 1;
            choice += usize::from(by_model > 0);
        }
    }
    assert!(all >= 300 && choice >= 60, "{choice} of {all}");
}
