//! Small cases of all kinds: no limit broken, no lock touched, no panic, and the same bytes with one
//! thread and with two. 256 of them in every run; as many as wanted by
//!
//! ```sh
//! CASES=100000 SEED=1 cargo test --test main small_cases_hold -- --nocapture
//! ```

use super::random::longer;
use super::strategies::{LockWish, Said, band, lanes, locks, said, sketch, with_remarks};
use super::{faults_of, go_with, sent_out};
use crate::midi_file::File;
use bandwright::band::Band;
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestError, TestRng, TestRunner};
use std::cell::Cell;

/// A case before it is put together.
#[derive(Clone, Debug)]
struct Small {
    band: Band,
    said: Vec<Said>,
    sketch: File,
    /// How often the sketch is played over.
    times: usize,
    own: Vec<LockWish>,
    given: Vec<LockWish>,
}

fn small() -> impl Strategy<Value = Small> {
    // One case in three has no remark beyond those of its band.
    let said = prop_oneof![1 => Just(Vec::new()), 2 => said()];
    (band(), said, sketch(), 1..4_usize, locks(), locks()).prop_map(
        |(band, said, sketch, times, own, given)| Small {
            band,
            said,
            sketch,
            times,
            own,
            given,
        },
    )
}

/// What is wrong with what comes of a case.
fn wrong(case: &Small) -> Vec<String> {
    let band = if case.said.is_empty() {
        case.band.clone()
    } else {
        with_remarks(&case.band, &case.said)
    };
    let mut sketch = longer(&case.sketch, case.times);
    let given = File {
        lanes: lanes(&case.given, &band, &sketch),
        ..sketch.clone()
    };
    let own = lanes(&case.own, &band, &sketch);
    sketch.lanes.extend(own);
    let (song, given) = (sketch.song(), given.song());
    let two = go_with(2, &song, &band, Some(&given));
    let mut wrong = faults_of(&two, &song, &band, Some(&given));
    let one = go_with(1, &song, &band, Some(&given));
    if sent_out(&one, &song, &band) != sent_out(&two, &song, &band) {
        wrong.push("other bytes with one thread than with two".to_owned());
    }
    if one.voiced != two.voiced {
        wrong.push("another cost, bound or draft with one thread than with two".to_owned());
    }
    if two.voiced.lower_bound > two.voiced.cost {
        wrong.push("the bound is over the cost".to_owned());
    }
    wrong
}

/// A number that whoever runs the tests may give.
fn given(name: &str) -> Option<u64> {
    Some(std::env::var(name).ok()?.parse().unwrap())
}

fn runner(cases: u64, seed: u64) -> TestRunner {
    let config = ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(u32::try_from(cases).unwrap())
    };
    let mut bytes = [0_u8; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &bytes))
}

#[test]
fn small_cases_hold() {
    let (cases, seed) = (given("CASES").unwrap_or(256), given("SEED").unwrap_or(1));
    let done = Cell::new(0_u64);
    let result = runner(cases, seed).run(&small(), |case| {
        prop_assert_eq!(wrong(&case), Vec::<String>::new());
        done.set(done.get() + 1);
        if done.get().is_multiple_of(1000) {
            println!("{} of {cases} small cases hold", done.get());
        }
        Ok(())
    });
    match result {
        Ok(()) => assert_eq!(done.get(), cases),
        Err(TestError::Fail(why, case)) => panic!("{why}\n{case:#?}"),
        Err(TestError::Abort(why)) => panic!("{why}"),
    }
}
