//! The program itself, run as people run it: in a folder, with good and with bad input.

use crate::midi_file::{File, Lane, Tone, tone};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// A folder of its own with some files in it.
pub struct Place {
    folder: TempDir,
}

impl Place {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self { folder }
    }

    pub fn with(self, name: &str, bytes: &[u8]) -> Self {
        std::fs::write(self.path(name), bytes).unwrap();
        self
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn run(&self, words: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_bandwright"))
            .args(words)
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .output()
            .unwrap()
    }

    /// The names of what is in the folder, in order.
    pub fn names(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).unwrap();
        let mut names: Vec<String> = entries
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    /// Runs what must be refused: status 2, one sentence that holds `word`, nothing on standard
    /// output, and the folder as it was.
    pub fn refuses(&self, words: &[&str], word: &str) {
        let before = contents(self.folder.path());
        let output = self.run(words);
        let said = err(&output);
        assert_eq!(output.status.code(), Some(2), "{words:?}: {said}");
        assert!(said.contains(word), "{words:?}: {said}");
        assert_eq!(said.lines().count(), 1, "{words:?}: {said}");
        assert!(said.starts_with("bandwright: "), "{said}");
        assert!(!said.contains("panicked"), "{said}");
        assert_eq!(out(&output), "", "{words:?}");
        assert_eq!(contents(self.folder.path()), before, "{words:?}");
    }

    /// Runs what must go well; what it says.
    pub fn does(&self, words: &[&str]) -> String {
        let output = self.run(words);
        assert_eq!(output.status.code(), Some(0), "{words:?}: {}", err(&output));
        assert!(!err(&output).contains("panicked"), "{}", err(&output));
        out(&output)
    }
}

fn contents(folder: &Path) -> Vec<(PathBuf, Option<Vec<u8>>)> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut all: Vec<(PathBuf, Option<Vec<u8>>)> = entries
        .map(|e| e.unwrap().path())
        .map(|p| (p.clone(), std::fs::read(p).ok()))
        .collect();
    all.sort();
    all
}

pub fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

pub fn two_bars() -> Vec<u8> {
    let tune = (0..8).map(|i| tone(i * 480, 67 + (i as u8 % 3) * 2, 480));
    let bass = (0..2).map(|i| tone(i * 1920, 48 + i as u8 * 5, 1920));
    File::piano(tune.chain(bass).collect()).bytes()
}

fn no_notes() -> Vec<u8> {
    File::piano(Vec::new()).bytes()
}

fn drums() -> Vec<u8> {
    let mut file = File::piano(vec![tone(0, 38, 240)]);
    file.lanes[0].channel = 9;
    file.bytes()
}

#[test]
fn files_without_music_are_refused() {
    let place = Place::new()
        .with("empty.mid", b"")
        .with("none.mid", &no_notes())
        .with("drums.mid", &drums())
        .with("words.mid", b"Dear band, here is the sketch.")
        .with("cut.mid", &two_bars()[..12]);
    std::fs::create_dir(place.path("folder")).unwrap();
    for command in ["voice", "read"] {
        place.refuses(&[command, "empty.mid"], "empty");
        place.refuses(&[command, "none.mid"], "no pitched notes");
        place.refuses(&[command, "drums.mid"], "no pitched notes");
        place.refuses(&[command, "words.mid"], "MThd");
        place.refuses(&[command, "cut.mid"], "byte");
        place.refuses(&[command, "folder"], "folder");
        place.refuses(&[command, "missing.mid"], "no such file");
    }
    place.refuses(&["voice", "drums.mid"], "percussion");
    let mut format_2 = two_bars();
    format_2[9] = 2;
    let place = place.with("two.mid", &format_2);
    place.refuses(&["voice", "two.mid"], "byte 8");
}

#[test]
fn a_file_cut_off_gives_what_came_before() {
    let whole = two_bars();
    let place = Place::new().with("cut.mid", &whole[..whole.len() - 30]);
    let output = place.run(&["voice", "cut.mid"]);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(err(&output).contains("past the end of the file"));
    assert_eq!(place.names(), ["cut.mid", "draft.mid"]);
}

#[test]
fn odd_but_usable_sketches_are_voiced() {
    let one = File::piano(vec![tone(0, 60, 480)]);
    let at_once = File::piano((0..128).map(|p| tone(0, p, 480)).collect());
    let twice = [(0, 960), (480, 960), (480, 960)].map(|(at, long)| tone(at, 64, long));
    let overlapping = File::piano(twice.to_vec());
    let mid_bar = File {
        meters: vec![(0, 4, 2), (700, 3, 2), (1000, 5, 3)],
        ..File::piano(vec![tone(0, 60, 700), tone(700, 64, 900)])
    };
    let stopped = File {
        tempos: vec![(0, 0), (480, 0)],
        ..one.clone()
    };
    for (name, file, warning) in [
        ("one.mid", one, ""),
        ("once.mid", at_once, ""),
        ("twice.mid", overlapping, "struck again"),
        ("meter.mid", mid_bar, "inside bar 1"),
        ("tempo.mid", stopped, "tempo of zero"),
    ] {
        let place = Place::new().with(name, &file.bytes());
        let output = place.run(&["voice", name, "--band", "thin", "--json", "d.json"]);
        assert_eq!(output.status.code(), Some(0), "{name}: {}", err(&output));
        assert!(err(&output).contains(warning), "{name}: {}", err(&output));
        let json: serde_json::Value =
            serde_json::from_slice(&std::fs::read(place.path("d.json")).unwrap()).unwrap();
        let parts = json["draft"]["parts"].as_array().unwrap();
        let notes = parts.iter().flat_map(|p| p["notes"].as_array().unwrap());
        assert!(notes.count() > 0, "{name}");
    }
}

#[test]
fn ten_thousand_bars_are_read_and_a_thousand_voiced() {
    let long = |bars: u32| {
        let bar = |b: u32| {
            let root = 48 + (b * 5 % 12) as u8;
            [
                tone(b * 1920, root, 1920),
                tone(b * 1920, root + 7, 1920),
                tone(b * 1920, root + 24, 1920),
            ]
        };
        File::piano((0..bars).flat_map(bar).collect()).bytes()
    };
    let place = Place::new()
        .with("long.mid", &long(10_000))
        .with("less.mid", &long(1_000));
    assert!(place.does(&["read", "long.mid"]).starts_with("10000 bars"));
    let said = place.does(&["voice", "less.mid", "--band", "thin"]);
    assert!(said.contains("1000 bars"), "{said}");
}

#[test]
fn an_output_that_cannot_be_is_refused_before_the_work() {
    let place = Place::new()
        .with("a.mid", &two_bars())
        .with("old.mid", b"precious")
        .with("locks.mid", &two_bars());
    place.refuses(&["voice", "a.mid", "--out", "old.mid"], "--force");
    place.refuses(
        &["voice", "a.mid", "--out", "no/draft.mid"],
        "does not exist",
    );
    place.refuses(&["voice", "a.mid", "--out", "."], "folder");
    let same = "both read and written";
    place.refuses(&["voice", "a.mid", "--out", "a.mid", "--force"], same);
    place.refuses(&["voice", "a.mid", "--out", "./a.mid", "--force"], same);
    place.refuses(&["voice", "a.mid", "--json", "a.mid"], same);
    place.refuses(&["voice", "a.mid", "--out", "x", "--json", "x"], same);
    let locked = ["voice", "a.mid", "--locks", "locks.mid", "--force", "--out"];
    place.refuses(&[&locked[..], &["locks.mid"]].concat(), same);
    place.refuses(&["read", "a.mid", "--json", "a.mid"], same);
    place.refuses(
        &["review", "a.mid", "--band", "thin", "--json", "a.mid"],
        same,
    );
    place.refuses(&["voice", "a.mid", "--json", "no/d.json"], "does not exist");
}

#[test]
fn a_band_file_is_not_written_over() {
    let toml = Place::new().does(&["bands", "thin", "--toml"]);
    let place = Place::new()
        .with("a.mid", &two_bars())
        .with("band.toml", toml.as_bytes());
    let same = "both read and written";
    let review = ["review", "a.mid", "--band", "band.toml"];
    place.refuses(&[&review[..], &["--json", "band.toml"]].concat(), same);
    let voice = [
        "voice",
        "a.mid",
        "--band",
        "band.toml",
        "--json",
        "band.toml",
    ];
    place.refuses(&voice, same);
    let sketch = ["review", "a.mid", "--band", "thin", "--sketch", "a.mid"];
    place.refuses(&[&sketch[..], &["--json", "a.mid"]].concat(), same);
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_is_told_and_leaves_nothing() {
    let place = Place::new().with("a.mid", &two_bars());
    let full = "cannot write /dev/full";
    place.refuses(&["voice", "a.mid", "--json", "/dev/full"], full);
    place.refuses(&["voice", "a.mid", "--out", "/dev/full", "--force"], full);
    place.refuses(&["read", "a.mid", "--json", "/dev/full"], full);
    let both = ["voice", "a.mid", "--force", "--out", "/dev/full", "--json"];
    place.refuses(&[&both[..], &["d.json"]].concat(), full);
    // A folder that takes no files, whoever asks.
    place.refuses(
        &["voice", "a.mid", "--out", "/proc/draft.mid"],
        "cannot write",
    );
}

#[test]
fn a_draft_is_replaced_only_with_force() {
    let place = Place::new().with("a.mid", &two_bars());
    place.does(&["voice", "a.mid"]);
    let first = std::fs::read(place.path("draft.mid")).unwrap();
    place.refuses(&["voice", "a.mid", "--band", "thin"], "--force");
    place.does(&["voice", "a.mid", "--band", "thin", "--force"]);
    assert_ne!(std::fs::read(place.path("draft.mid")).unwrap(), first);
    place.does(&["voice", "a.mid", "--force"]);
    assert_eq!(std::fs::read(place.path("draft.mid")).unwrap(), first);
    assert_eq!(place.names(), ["a.mid", "draft.mid"]);
}

#[test]
fn bands_that_are_not_there_are_refused_with_a_near_one() {
    let place = Place::new()
        .with("a.mid", &two_bars())
        .with(
            "bad.toml",
            b"name = \"X\"\n[[part]]\nname = \"F\"\ninstrument = \"flut\"\n",
        )
        .with("bytes.toml", &[0xFF, 0xFE, 0x00]);
    place.refuses(&["voice", "a.mid", "--band", "concrt"], "`concert`");
    place.refuses(&["bands", "concrt"], "`concert`");
    place.refuses(&["voice", "a.mid", "--band", "bad.toml"], "line 4");
    place.refuses(&["voice", "a.mid", "--band", "bad.toml"], "`flute`");
    place.refuses(
        &["voice", "a.mid", "--band", "bytes.toml"],
        "not a text file",
    );
}

#[test]
fn the_bands_are_listed_shown_and_written() {
    let place = Place::new();
    let list = place.does(&["bands"]);
    for name in bandwright::band::preset_names() {
        assert!(list.lines().any(|l| l.starts_with(name)), "{list}");
    }
    let table = place.does(&["bands", "demo"]);
    assert!(table.contains("Clarinet 3") && table.contains("Comfortable"));
    let toml = place.does(&["bands", "demo", "--toml"]);
    let place = place.with("mine.toml", toml.as_bytes());
    assert_eq!(place.does(&["bands", "mine.toml", "--toml"]), toml);
    assert_eq!(place.does(&["bands", "mine.toml"]), table);
    let place = place.with("a.mid", &two_bars());
    let voiced =
        |band: &str| place.does(&["voice", "a.mid", "--force", "--json", "-", "--band", band]);
    assert_eq!(voiced("mine.toml"), voiced("demo"));
}

#[test]
fn a_chance_is_told_with_its_causes() {
    let place = Place::new().with("b.toml", b"name = \"B\"\n");
    let told = out(&place.run(&["chance", "clarinet 2", "B4", "--from", "A4", "--speed", "3"]));
    assert!(told.starts_with("Clarinet 2, written B4: 0."), "{told}");
    assert!(told.contains("2 second-year players: 0."), "{told}");
    assert!(
        told.contains(
            "0.85 by itself: over the break (classic), from A4: hard for second-year players"
        ),
        "{told}"
    );
    let easy = out(&place.run(&["chance", "Flute 1", "C6"]));
    assert!(easy.contains("nothing makes it hard"), "{easy}");
    let json = out(&place.run(&["chance", "Flute 1", "C6", "--json", "-"]));
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["chance"], 0.99);
    place.refuses(&["chance", "Clarnet 2", "B4"], "did you mean `Clarinet 2`?");
    // On a piccolo C9 would sound an octave higher than there are pitches.
    place.refuses(
        &["chance", "Piccolo", "C9", "--band", "concert"],
        "nearer to its range",
    );
    place.refuses(
        &[
            "chance", "Flute 1", "C6", "--band", "b.toml", "--json", "b.toml",
        ],
        "both read and written",
    );
    for words in [
        ["chance", "Flute 1", "H4", "--slurred", "--marching"],
        ["chance", "Flute 1", "C6", "--key", "Eb majer"],
        ["chance", "Flute 1", "C6", "--speed", "-1"],
        ["chance", "Flute 1", "C6", "--tired", "1.5"],
        ["chance", "Flute 1", "C6", "--dynamic", "loud"],
    ] {
        let output = place.run(&words);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        assert!(!err(&output).contains("panicked") && out(&output).is_empty());
    }
}

#[test]
fn the_demo_is_voiced_reviewed_and_kept_as_locks() {
    let place = Place::new();
    let said = place.does(&["voice"]);
    assert!(said.contains("64 bars for 22 parts"), "{said}");
    assert!(said.contains("draft written to draft.mid"), "{said}");
    place.does(&["review", "draft.mid", "--band", "demo"]);
    let again = [
        "voice",
        "--locks",
        "draft.mid",
        "--out",
        "again.mid",
        "--json",
        "-",
    ];
    let json: serde_json::Value = serde_json::from_str(&place.does(&again)).unwrap();
    let parts = json["draft"]["parts"].as_array().unwrap();
    let notes = parts.iter().flat_map(|p| p["notes"].as_array().unwrap());
    let locked = notes.filter(|n| n["locked"] == true).count();
    assert!(locked > 1_000, "{locked}");
    assert_eq!(place.names(), ["again.mid", "draft.mid"]);
}

#[test]
fn json_on_standard_output_is_nothing_else() {
    let place = Place::new().with("a.mid", &two_bars());
    place.does(&["voice", "a.mid"]);
    for words in [
        &["voice", "a.mid", "--force", "--json", "-"][..],
        &["read", "a.mid", "--json", "-"],
        &["review", "draft.mid", "--band", "demo", "--json", "-"],
    ] {
        let said = place.does(words);
        serde_json::from_str::<serde_json::Value>(&said).unwrap();
        assert!(said.ends_with("}\n"));
    }
    assert_eq!(place.names(), ["a.mid", "draft.mid"]);
}

#[test]
fn a_review_tells_what_is_out_of_reach_by_its_status() {
    let high = vec![Tone {
        pitch: 110,
        ..tone(0, 0, 480)
    }];
    let draft = File::plain(vec![Lane::new("Flute 1", high)]);
    let place = Place::new().with("high.mid", &draft.bytes());
    let output = place.run(&["review", "high.mid", "--band", "demo"]);
    assert_eq!(output.status.code(), Some(1), "{}", err(&output));
    assert!(out(&output).contains("Flute 1, "), "{}", out(&output));
    place.refuses(&["review", "missing.mid", "--band", "demo"], "no such file");
}

#[test]
fn a_review_tells_where_the_tune_is_not_as_written() {
    let (tune, up) = (two_bars(), |octaves: u8| {
        File::plain(vec![Lane::new(
            "Flute 1",
            vec![tone(0, 67 + 12 * octaves, 480)],
        )])
    });
    let place = Place::new()
        .with("a.mid", &tune)
        .with("up.mid", &up(1).bytes());
    let told = |words: &[&str]| {
        let all = [
            &["review", "up.mid", "--band", "demo", "--sketch", "a.mid"],
            words,
        ]
        .concat();
        out(&place.run(&all))
    };
    let words = "the tune stays as written, but nobody";
    assert!(!told(&[]).contains(words));
    assert!(told(&["--tune-as-written", "1"]).contains(words));
}

#[test]
fn a_sketchs_whole_time_is_kept_when_locks_come_from_another() {
    let lock = File {
        quarter: 96,
        ..File::plain(vec![Lane::new("flute_1 bars 2", vec![tone(384, 79, 96)])])
    };
    let place = Place::new()
        .with("a.mid", &two_bars())
        .with("lock.mid", &lock.bytes());
    let said = place.does(&["voice", "a.mid", "--locks", "lock.mid", "--json", "-"]);
    let json: serde_json::Value = serde_json::from_str(&said).unwrap();
    let parts = json["draft"]["parts"].as_array().unwrap();
    let flute = parts.iter().find(|p| p["name"] == "Flute 1").unwrap();
    let notes = flute["notes"].as_array().unwrap();
    let second: Vec<_> = notes
        .iter()
        .filter(|n| n["onset"].as_u64().unwrap() >= 1920)
        .collect();
    assert_eq!(second.len(), 1, "{second:?}");
    let fields = ["onset", "pitch", "duration"].map(|f| second[0][f].as_u64().unwrap());
    assert_eq!(fields, [1920, 79, 480]);
    assert_eq!(second[0]["locked"], true);
}

#[test]
fn a_sketch_that_was_played_in_is_told_in_both_times() {
    // Quarters of 480 ticks, each off by up to 19 ticks.
    let off = [0, 13, -9, 17, 4, -15, 8, 19, -6, 11, -18, 5, 15, -12, 7, -3];
    let tones = (0..16_u32).map(|i| {
        let onset = (i * 480).saturating_add_signed(off[i as usize]);
        tone(onset, 60 + (i % 5) as u8, 400)
    });
    let place = Place::new().with("played.mid", &File::piano(tones.collect()).bytes());
    let answer = |times: &str| -> serde_json::Value {
        let text = place.does(&["read", "played.mid", "--json", "-", "--times", times]);
        serde_json::from_str(&text).unwrap()
    };
    let (auto, played) = (answer("auto"), answer("played"));
    assert_eq!(auto["timing"]["taken"], "quantised");
    assert_eq!(played["timing"]["taken"], "as_played");
    let note = &auto["lines"]["melody"][3];
    assert_eq!(note["onset"], 3 * 480 + 17);
    assert_eq!(note["duration"], 400);
    assert_eq!(note["written_onset"], 3 * 480);
    assert_eq!(note["written_duration"], 480);
    assert_eq!(played["lines"]["melody"][3]["onset"], 3 * 480 + 17);
    assert!(played["lines"]["melody"][3].get("written_onset").is_none());
    let voiced = place.run(&["voice", "played.mid", "--out", "draft.mid"]);
    assert!(err(&voiced).contains("`--times played` keeps yours"));
}

#[test]
fn wrong_words_are_refused() {
    let place = Place::new();
    for words in [&["vice"][..], &["voice", "--bnad", "thin"], &["read"], &[]] {
        let output = place.run(words);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        assert!(!err(&output).is_empty());
    }
    assert_eq!(place.names(), Vec::<String>::new());
    assert!(place.does(&["--help"]).contains("voice"));
}

#[test]
fn reading_says_why() {
    let place = Place::new().with("s.mid", &two_bars());
    let told = out(&place.run(&["read", "s.mid", "--why", "--bars", "2"]));
    assert!(told.contains("what spoke most for each note"), "{told}");
    let why = told.split("what spoke most").nth(1).unwrap();
    assert!(
        why.contains("bar 2, beat 1") && !why.contains("bar 1, beat 1"),
        "{why}"
    );
    place.refuses(
        &["read", "s.mid", "--why", "--bars", "3-1"],
        "`3-1` names no bars",
    );
    let json = out(&place.run(&["read", "s.mid", "--why", "--json", "-"]));
    let answer: serde_json::Value = serde_json::from_str(&json).unwrap();
    for chord in answer["chords"].as_array().unwrap() {
        let parts = chord["why"]["score"].as_array().unwrap();
        let sum: f64 = parts.iter().map(|p| p["points"].as_f64().unwrap()).sum();
        let total = chord["why"]["total"].as_f64().unwrap();
        assert!((sum - total).abs() < 0.05, "{chord}");
    }
    assert!(answer["melody_evidence"].is_array());
}

#[test]
fn tags_are_taken_from_a_file_and_bad_ones_refused() {
    let good = b"[[tag]]\nline = \"harmony\"\n";
    let place = Place::new()
        .with("s.mid", &two_bars())
        .with("good.toml", good)
        .with("bad.toml", b"[[tag]]\nline = \"loud\"\n")
        .with("raw.toml", &[0xFF, 0xFE, 0x00]);
    let told = out(&place.run(&["read", "s.mid", "--tags", "good.toml", "--json", "-"]));
    let answer: serde_json::Value = serde_json::from_str(&told).unwrap();
    assert_eq!(answer["lines"]["melody"].as_array().unwrap().len(), 0);
    assert!(!answer["lines"]["harmony"].as_array().unwrap().is_empty());
    let voice = |tags| ["voice", "s.mid", "--tags", tags, "--out", "d.mid"];
    place.refuses(&voice("bad.toml"), "bad.toml, line 2: `loud` is no line");
    place.refuses(&voice("raw.toml"), "not a text file");
    place.refuses(&voice("none.toml"), "no such file");
    place.refuses(
        &[
            "read",
            "s.mid",
            "--tags",
            "good.toml",
            "--json",
            "good.toml",
        ],
        "both read",
    );
    let voiced = place.run(&voice("good.toml"));
    assert!(voiced.status.success(), "{}", err(&voiced));
}
