//! `bandwright listen`, run as people run it.

use crate::command_line::Place;
use bandwright::cli::files::DEMO_SKETCH;

fn drafted() -> Place {
    let place = Place::new().with("lights.mid", DEMO_SKETCH);
    let out = ["--band", "demo", "--out", "draft.mid"];
    place.does(&[["voice", "lights.mid"].as_slice(), &out].concat());
    place
}

/// Its samples, after its head was found right.
fn samples(place: &Place, name: &str) -> Vec<i16> {
    let bytes = std::fs::read(place.path(name)).unwrap();
    assert_eq!(&bytes[..4], b"RIFF");
    assert_eq!(&bytes[36..40], b"data");
    let pairs = bytes[44..].chunks_exact(2);
    pairs.map(|p| i16::from_le_bytes([p[0], p[1]])).collect()
}

#[test]
fn a_draft_and_its_sketch_are_heard() {
    let place = drafted();
    let listen = ["listen", "draft.mid", "--band", "demo", "--bars", "1-2"];
    let with = |more: &[&str]| place.run(&[listen.as_slice(), more].concat());
    assert!(with(&["--wav", "all.wav"]).status.success());
    assert!(with(&["--wav", "again.wav"]).status.success());
    let all = samples(&place, "all.wav");
    assert_eq!(all, samples(&place, "again.wav"));
    assert!(all.iter().any(|s| s.unsigned_abs() > 300));
    let most = all.iter().map(|s| s.unsigned_abs()).max().unwrap();
    assert!(most < 32_767);
    assert!(
        with(&[
            "--wav",
            "one.wav",
            "--parts",
            "Sousaphone",
            "--place",
            "podium"
        ])
        .status
        .success()
    );
    assert!(samples(&place, "one.wav") != all);
    let sketch = [
        "--sketch",
        "lights.mid",
        "--sketch-only",
        "--wav",
        "piano.wav",
    ];
    assert!(with(&sketch).status.success());
    assert!(samples(&place, "piano.wav").iter().any(|s| *s != 0));
}

#[test]
fn what_cannot_be_heard_is_told_and_nothing_is_written() {
    let place = drafted();
    let listen = ["listen", "draft.mid", "--band", "demo", "--wav", "no.wav"];
    for (more, told) in [
        (&["--bars", "900"][..], "after the last"),
        (&["--bars", "x"], "names no bars"),
        (&["--bars", "1-2,4-5"], "names no bars"),
        (&["--parts", "Kazoo"], "Kazoo"),
        (&["--sketch-only"], "which sketch"),
        (&["--place", "moon"], "moon"),
    ] {
        let done = place.run(&[listen.as_slice(), more].concat());
        assert_eq!(done.status.code(), Some(2), "{more:?}");
        let error = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(error.contains(told), "{more:?}: {error}");
        assert!(!place.path("no.wav").exists(), "{more:?}");
    }
}
