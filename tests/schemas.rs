//! The answers in JSON are as their schemas say (`assets/schema`).

use crate::midi_file::{File, Lane, tone};
use crate::project::build::small;
use crate::project::file::{full_project, worked};
use crate::whole_way::go;
use bandwright::band::chance::{NoteContext, chance};
use bandwright::band::load::Conditions;
use bandwright::band::{Band, Exposure, GoEasy, NotesPerSecond, find_instrument, limits, preset};
use bandwright::cli::files::demo_song;
use bandwright::cli::json_chance::{ChanceAnswer, CleanJson};
use bandwright::cli::json_keys::KeysAnswer;
use bandwright::cli::json_read::ReadAnswer;
use bandwright::cli::json_review::{FindingJson, ReviewAnswer};
use bandwright::cli::json_voice::VoiceAnswer;
use bandwright::cli::json_weighed::WeighedJson;
use bandwright::cli::key_choice::key_choice;
use bandwright::cli::review::{clean, review};
use bandwright::cli::why_voice::{WhyAsked, WhyPlace, told};
use bandwright::music::{BarNumber, Dynamic, Sounding, Tick};
use bandwright::plan::timeline::AnyTimeline;
use bandwright::project::given::Given;
use bandwright::project::other_key::other_key;
use bandwright::project::weighed::Weighed;
use bandwright::project::whole_way::whole_way;
use bandwright::project::{Project, project_bytes};
use bandwright::review::stretches;
use bandwright::score::{DraftNote, PartLine, Role};
use bandwright::sketch::{
    Quantised, ReadOptions, Reading, Song, Tags, Times, quantise, read_sketch_with, read_song,
};
use jsonschema::Validator;
use serde_json::{Value, json};

fn schema(name: &str) -> Value {
    let path = format!(
        "{}/assets/schema/{name}.schema.json",
        env!("CARGO_MANIFEST_DIR")
    );
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn validator(name: &str) -> Validator {
    jsonschema::draft202012::new(&schema(name)).unwrap()
}

fn wrong(validator: &Validator, answer: &Value) -> Vec<String> {
    let tell = |e: jsonschema::ValidationError<'_>| format!("{}: {e}", e.instance_path());
    validator.iter_errors(answer).map(tell).collect()
}

fn read_answer(song: &Song) -> Value {
    serde_json::to_value(answer_and_reading(song).0).unwrap()
}

/// The same with `--why`.
fn read_answer_with_why(song: &Song) -> Value {
    let (answer, quantised, reading) = answer_and_reading(song);
    serde_json::to_value(answer.with_why(&quantised, &reading)).unwrap()
}

fn answer_and_reading(song: &Song) -> (ReadAnswer, Quantised, Reading) {
    let quantised = quantise(song, Times::Auto);
    let options = ReadOptions {
        why: true,
        ..ReadOptions::default()
    };
    let reading = read_sketch_with(&quantised.song, &options);
    let warnings = &quantised.song.warnings;
    let warnings: Vec<String> = warnings.iter().map(ToString::to_string).collect();
    let answer = ReadAnswer::of(song, &quantised, &reading, &warnings);
    (answer, quantised, reading)
}

fn voice_answer(song: &Song, band: &Band) -> Value {
    let way = go(song, band, None);
    let asked = WhyAsked {
        place: WhyPlace {
            bar: BarNumber(1),
            beat: None,
        },
        parts: band.ids().map(|(id, _)| id).collect(),
    };
    let told = told(song, band, &way, Some(&asked)).unwrap();
    serde_json::to_value(VoiceAnswer::of(song, band, &way).with_told(band, &told)).unwrap()
}

fn review_answer(draft: &Song, band: &Band, sketch: Option<&Song>) -> Value {
    let clean = clean(draft, band, sketch, Conditions::default());
    let sketch = sketch.map(|s| other_key(s.clone(), band, Tags::default(), 0));
    let how = Conditions::default();
    let rules = bandwright::score::TuneRules::default();
    let reviewed =
        review(draft, band, sketch.as_ref().map(|s| (s, &rules)), how).unwrap_or_default();
    let findings = &reviewed.findings;
    let answer = ReviewAnswer {
        playable: findings.is_empty(),
        findings: findings.iter().map(FindingJson::of).collect(),
        clean: clean.iter().map(|l| CleanJson::of(band, l)).collect(),
        weighed: WeighedJson::of(band, &reviewed.weighed),
        warnings: reviewed.warnings.iter().map(ToString::to_string).collect(),
    };
    serde_json::to_value(answer).unwrap()
}

fn chance_answer(part: &str, note: &str, from: Option<&str>) -> Value {
    let band = preset("demo").unwrap();
    let part = band.parts.iter().find(|p| p.name == part).unwrap();
    let sounding = |name: &str| {
        let written = name.parse().unwrap();
        part.instrument.transposition.sounding(written).unwrap()
    };
    let context = NoteContext {
        from: from.map(sounding),
        speed: Some(NotesPerSecond(9.0)),
        dynamic: Dynamic::Pp,
        accidentals: 7,
        in_key: false,
        breath: 30.0,
        tired: 1.0,
        ..NoteContext::default()
    };
    let found = chance(part, sounding(note), &context);
    let answer = ChanceAnswer::of(part, note.parse().unwrap(), sounding(note), &found);
    serde_json::to_value(answer).unwrap()
}

#[test]
fn chances_with_every_cause_are_valid() {
    let valid = validator("chance");
    for (part, note, from) in [
        ("Clarinet 2", "B4", Some("A4")),
        ("Clarinet 3", "C6", Some("E3")),
        ("Mellophone 2", "D4", Some("C5")),
        ("Trombone 3", "C3", Some("Bb2")),
        ("Flute 1", "G5", None),
        ("Glockenspiel", "G3", None),
    ] {
        let answer = chance_answer(part, note, from);
        assert_eq!(wrong(&valid, &answer), Vec::<String>::new());
    }
}

fn keys_answer(song: &Song, band: &Band) -> Value {
    let keys = key_choice(song, band, &Given::default(), 1, &mut |_| {});
    serde_json::to_value(KeysAnswer::of(band, &keys)).unwrap()
}

/// The demo and small sketches, odd ones too.
fn songs() -> Vec<Song> {
    let chords = |at: u32| [48, 55, 64, 70].map(|p| tone(at, p, 960));
    let odd = File {
        meters: vec![(0, 7, 3), (700, 1, 7), (900, 255, 0)],
        tempos: vec![(0, 1), (500, 16_777_215)],
        keys: vec![(0, -7, true), (960, 7, false)],
        markers: vec![(0, String::new()), (960, "B".to_owned())],
        ..File::piano((0..4).flat_map(|i| chords(i * 960)).collect())
    };
    let locked = File::plain(vec![
        Lane::new("Piano", chords(0).to_vec()),
        Lane::new("Flute 1", vec![tone(0, 120, 480), tone(240, 12, 480)]),
    ]);
    let mut drums = File::piano(vec![tone(0, 38, 240)]);
    drums.lanes[0].channel = 9;
    let all: Vec<_> = (0..128).map(|p| tone(0, p, 480)).collect();
    let files = [
        File::piano(vec![tone(0, 60, 1)]),
        File::piano(Vec::new()),
        File::piano(all),
        drums,
        odd,
        locked,
    ];
    let small = files.iter().map(File::song);
    small.chain([demo_song().unwrap()]).collect()
}

#[test]
fn answers_are_valid() {
    let (read, voice, found) = (validator("read"), validator("voice"), validator("review"));
    let band = preset("demo").unwrap();
    for song in songs() {
        for answer in [read_answer(&song), read_answer_with_why(&song)] {
            assert_eq!(wrong(&read, &answer), Vec::<String>::new());
        }
        let answer = voice_answer(&song, &band);
        assert_eq!(wrong(&voice, &answer), Vec::<String>::new());
        let answer = keys_answer(&song, &band);
        assert_eq!(wrong(&validator("keys"), &answer), Vec::<String>::new());
        for sketch in [None, Some(&song)] {
            let answer = review_answer(&song, &band, sketch);
            assert_eq!(wrong(&found, &answer), Vec::<String>::new());
        }
    }
}

#[test]
fn shapes_and_drafts_with_a_timeline_are_valid() {
    use bandwright::cli::json_shape::ShapeAnswer;
    use bandwright::plan::timeline::template;
    use bandwright::project::shape::{ToShape, shapes};
    let (shape, voice) = (validator("shape"), validator("voice"));
    let band = preset("demo").unwrap();
    let song = demo_song().unwrap();
    let small = File::piano(vec![tone(0, 60, 480), tone(1920, 40, 4000)]).song();
    let one = |song, word: Option<&str>| ToShape {
        name: "one".to_owned(),
        song,
        timeline: word.map(|word| template(word).unwrap().into()),
        pause_after: 3.5,
    };
    for all in [
        vec![one(&small, None), one(&song, Some("last-word"))],
        vec![one(&small, Some("waves"))],
    ] {
        let shaped = shapes(all, &band, &Given::default(), &mut |_| {});
        let answer = serde_json::to_value(ShapeAnswer::of(&band, &shaped)).unwrap();
        assert_eq!(wrong(&shape, &answer), Vec::<String>::new());
        let last = shaped.last().unwrap();
        let given = Given {
            timeline: last.laid().map(|l| AnyTimeline::from(l.timeline.clone())),
            ..Given::default()
        };
        let way = whole_way(last.song, &band, &given, &mut |_| {});
        let answer = VoiceAnswer::of(last.song, &band, &way);
        let answer = serde_json::to_value(answer).unwrap();
        assert!(answer.get("timeline").is_some());
        assert_eq!(wrong(&voice, &answer), Vec::<String>::new());
    }
}

/// The demo band with remarks that a draft can break.
fn told_band() -> Band {
    let mut band = preset("demo").unwrap();
    let flute = find_instrument("flute");
    for part in &mut band.parts {
        match part.name.as_str() {
            "Flute 2" => {
                part.remarks.no_faster_than = Some(NotesPerSecond(2.0));
                part.remarks.rests_every = Some(1);
                part.remarks.exposure = Exposure::Never;
            }
            "Alto Sax 1" => {
                part.remarks.accidentals_at_most = Some(0);
                part.remarks.doubles.clone_from(&flute);
            }
            "Alto Sax 2" => part.remarks.accidentals_at_most = Some(0),
            "Glockenspiel" => part.remarks.go_easy = Some(GoEasy::Injury),
            _ => continue,
        }
        part.limits = limits(&part.instrument, part.players, &part.remarks).unwrap();
    }
    band
}

#[test]
fn findings_of_every_kind_are_valid() {
    let tune = [tone(0, 72, 960), tone(1920, 74, 960), tone(2880, 76, 960)];
    let mut sketch = vec![tone(0, 48, 960), tone(0, 60, 960)];
    sketch.extend(tune);
    sketch.push(tone(3840, 77, 960));
    let sketch = File::piano(sketch).song();
    let flute = vec![
        tone(0, 121, 240),
        tone(480, 80, 480),
        tone(600, 20, 480),
        tone(1920, 60, 9),
    ];
    let mut draft = File::plain(vec![
        Lane::new("Flute 2", flute),
        Lane::new("Flute 1", vec![tone(480, 72, 200)]),
        Lane::new("Alto Sax 1", vec![tone(960, 72, 200)]),
        Lane::new("Glockenspiel", tune[1..].to_vec()),
        Lane::new("Tuba", vec![tone(0, 1, 240)]),
    ]);
    draft.keys = vec![(0, 0, false)];
    let answer = review_answer(&draft.song(), &told_band(), Some(&sketch));
    assert_eq!(wrong(&validator("review"), &answer), Vec::<String>::new());
    let kinds: std::collections::BTreeSet<&str> = answer["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["kind"].as_str().unwrap())
        .collect();
    let all = [
        "above_range",
        "bass_lost",
        "below_range",
        "foreign_tone",
        "go_easy",
        "hard_key",
        "heard_alone",
        "key_rest",
        "leap",
        "melody_lost",
        "no_rest",
        "same_players",
        "silent_parts",
        "too_fast",
        "two_instruments",
        "two_notes",
        "weak_alone",
    ];
    assert_eq!(kinds.into_iter().collect::<Vec<_>>(), all);
}

/// Findings of presence and load, from lines made by hand: a flute under ninety seconds of high
/// trumpets; then a trumpet over soft clarinets with the counterline.
#[test]
fn findings_of_presence_and_load_are_valid() {
    let song = File::piano(vec![tone(0, 60, 200 * 960)]).song();
    let band = preset("demo").unwrap();
    let line = |name: &str, notes: Vec<(u64, u64, u8, u8, Role)>| PartLine {
        part: band.ids().find(|(_, p)| p.name == name).unwrap().0,
        notes: notes
            .into_iter()
            .map(|(from, to, pitch, velocity, role)| DraftNote {
                onset: Tick(from * 480),
                duration: Tick(to * 480).since(Tick(from * 480)),
                pitch: Sounding::new(pitch).unwrap(),
                velocity,
                role,
                locked: false,
            })
            .collect(),
    };
    let lines = [
        line("Flute 2", vec![(0, 180, 70, 70, Role::Melody)]),
        line("Trumpet 3", vec![(0, 180, 70, 115, Role::Harmony)]),
        line("Trumpet 1", vec![(192, 196, 74, 115, Role::Melody)]),
        line("Clarinet 3", vec![(192, 196, 60, 45, Role::Counterline)]),
    ];
    let bars = stretches(&lines, &song.meters);
    let weighed = Weighed::default()
        .with_presence(&band, &lines, &song.meters, &bars)
        .with_load(
            &band,
            &lines,
            (&song.tempo, &song.meters),
            Conditions::default(),
        );
    let kinds: std::collections::BTreeSet<&str> = weighed.findings.iter().map(|f| f.kind).collect();
    let all = [
        "counterline_covered",
        "not_rested",
        "reserve_runs_out",
        "too_high_too_long",
        "tune_covered",
    ];
    assert_eq!(kinds.into_iter().collect::<Vec<_>>(), all);
    assert_eq!(weighed.cautions().len(), 3);
    let answer = ReviewAnswer {
        playable: true,
        findings: weighed.findings.iter().map(FindingJson::of).collect(),
        clean: Vec::new(),
        weighed: WeighedJson::of(&band, &weighed),
        warnings: Vec::new(),
    };
    let answer = serde_json::to_value(answer).unwrap();
    assert_eq!(wrong(&validator("review"), &answer), Vec::<String>::new());
    // The text tells of every part that is near a limit, with the words of care.
    let text = weighed.tables(&band).join("\n");
    assert!(
        text.contains("Trumpet 3") && !text.contains("Clarinet 3  "),
        "{text}"
    );
    for caution in weighed.cautions() {
        assert!(text.contains(caution), "{text}");
    }
}

#[test]
fn wrong_answers_are_not_valid() {
    let song = read_song(&File::piano(vec![tone(0, 60, 480)]).bytes()).unwrap();
    let band = preset("demo").unwrap();
    let refuses = |name: &str, answer: &Value, at: &str, value: Value| {
        let mut bad = answer.clone();
        let spot = bad.pointer_mut(at).unwrap_or_else(|| panic!("{at}"));
        *spot = value;
        let found = wrong(&validator(name), &bad);
        assert!(!found.is_empty(), "{name} {at}");
    };
    let read = read_answer(&song);
    refuses("read", &read, "/ticks_per_quarter", json!(0));
    refuses("read", &read, "/lines/melody/0/pitch", json!(128));
    refuses("read", &read, "/lines/melody/0/duration", json!(0));
    refuses("read", &read, "/chords/0/quality", json!("nice"));
    refuses("read", &read, "/keys", json!([{ "tick": 0 }]));
    let voice = voice_answer(&song, &band);
    refuses("voice", &voice, "/cost", json!("cheap"));
    refuses("voice", &voice, "/why/0/reasons", json!([]));
    refuses("voice", &voice, "/why/0/role", json!("filler"));
    refuses("voice", &voice, "/costs_most/0/bars", json!([]));
    refuses("voice", &voice, "/band/parts/0/lowest", json!(-1));
    refuses(
        "voice",
        &voice,
        "/band/parts/0/instrument",
        json!("A Flute"),
    );
    let note = json!([{ "onset": 0, "duration": 1, "pitch": 60, "velocity": 0, "role": "harmony", "locked": false, "clean": 0.9 }]);
    refuses("voice", &voice, "/draft/parts/0/notes", note);
    let keys = keys_answer(&song, &band);
    refuses("keys", &keys, "/keys/0/shift", json!(-7));
    refuses("keys", &keys, "/keys/0/total", json!(1.5));
    refuses("keys", &keys, "/keys/3/sections/0/notes", json!(-1));
    let review = review_answer(&song, &band, None);
    refuses(
        "voice",
        &voice,
        "/draft/parts/0/notes",
        json!([{ "clean": 2 }]),
    );
    refuses("review", &review, "/clean/0/mean", json!(1.5));
    refuses("review", &review, "/playable", json!("yes"));
    refuses("review", &review, "/findings", json!([{ "kind": "odd" }]));
}

#[test]
fn nothing_may_be_missing_or_added() {
    let song = File::piano(vec![tone(0, 60, 480)]).song();
    let band = preset("demo").unwrap();
    for (name, answer) in [
        ("read", read_answer(&song)),
        ("voice", voice_answer(&song, &band)),
        ("keys", keys_answer(&song, &band)),
        ("review", review_answer(&song, &band, None)),
        ("chance", chance_answer("Clarinet 2", "B4", Some("A4"))),
    ] {
        let validator = validator(name);
        for key in answer.as_object().unwrap().keys() {
            let mut less = answer.clone();
            less.as_object_mut().unwrap().remove(key);
            assert!(!validator.is_valid(&less), "{name} without {key}");
        }
        let mut more = answer.clone();
        more["surprise"] = json!(1);
        assert!(!validator.is_valid(&more), "{name} with more");
    }
}

#[test]
fn every_part_of_a_schema_is_described_and_closed() {
    for name in ["read", "voice", "review", "keys", "chance"] {
        let schema = schema(name);
        assert!(jsonschema::draft202012::meta::is_valid(&schema));
        let mut objects = 0;
        check(&schema, name, &mut objects);
        assert!(objects >= 2, "{name}");
    }
}

fn check(schema: &Value, place: &str, objects: &mut usize) {
    if schema["type"] == "object" {
        *objects += 1;
        assert_eq!(schema["additionalProperties"], false, "{place}");
        assert!(schema["description"].is_string(), "{place}");
    }
    for group in ["properties", "$defs"] {
        for (key, inner) in schema[group].as_object().into_iter().flatten() {
            let place = format!("{place}/{key}");
            let told = inner["description"].is_string() || inner["$ref"].is_string();
            assert!(told, "{place} is not described");
            check(inner, &place, objects);
        }
    }
    if schema["items"].is_object() {
        check(&schema["items"], &format!("{place}/items"), objects);
    }
}

/// Project files are as their schema says, with steps of every kind, undone ones too.
#[test]
fn project_files_are_valid() {
    let valid = validator("project");
    let (full, worked) = (full_project(), worked(16));
    for project in [Project::new(small()), worked, full] {
        let file: Value = serde_json::from_slice(&project_bytes(&project)).unwrap();
        assert_eq!(wrong(&valid, &file), Vec::<String>::new());
        let mut other = file.clone();
        other["document"]["draft"]["lines"][0]["notes"][0][1] = json!(128);
        assert!(!valid.is_valid(&other));
        let mut other = file.clone();
        other["document"]["colour"] = json!("red");
        assert!(!valid.is_valid(&other));
    }
}
