//! How long it takes after an edit until it is known again what the show reaches, how tired the lips are, and how the
//! lines stand out; and until the whole of it is judged.
//!
//! The show has 200 bars for 30 parts: the demo over and over. Each edit changes one other note. Wanted: course, loads
//! and presence together in less than 5 ms.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

#[path = "repeated.rs"]
mod repeated;
#[path = "thirty.rs"]
mod thirty;

use bandwright::band::{Band, preset};
use bandwright::cli::files::DEMO_SKETCH;
use bandwright::music::{BarNumber, Interval};
use bandwright::project::judged::Judged;
use bandwright::project::standing::{Ask, Look, Standing};
use bandwright::project::{Document, SketchFile};
use bandwright::review::{
    Course, CourseBook, CourseOf, LoadBook, PresenceBook, Stretch, presences, strains,
};
use bandwright::score::Draft;
use bandwright::sketch::read_song;
use bandwright::voicing::Effort;
use divan::{Bencher, black_box};
use midly::num::u28;
use midly::{MetaMessage, MidiMessage, Smf, TrackEvent, TrackEventKind};
use std::sync::{Arc, OnceLock};

const BARS: u32 = 200;

fn main() {
    divan::main();
}

/// The demo over and over, as a file that ends with a bar.
fn sketch(bars: u32) -> Vec<u8> {
    let whole = repeated::sketch(bars.div_ceil(64));
    let song = read_song(&whole).expect("the sketch is sound");
    let end = song.meters.bar_start(BarNumber(bars + 1)).0;
    let mut smf = Smf::parse(&whole).expect("a MIDI file");
    for track in &mut smf.tracks {
        let (mut now, mut last) = (0, 0);
        let mut kept = Vec::new();
        for event in track.iter() {
            now += u64::from(event.delta.as_int());
            let strikes = matches!(
                event.kind,
                TrackEventKind::Midi { message: MidiMessage::NoteOn { vel, .. }, .. } if vel > 0
            );
            let ends = event.kind == TrackEventKind::Meta(MetaMessage::EndOfTrack);
            if ends || strikes && now >= end {
                continue;
            }
            let at = now.min(end);
            kept.push(TrackEvent {
                delta: u28::new(u32::try_from(at - last).expect("ticks of a file")),
                kind: event.kind,
            });
            last = at;
        }
        kept.push(TrackEvent {
            delta: u28::new(u32::try_from(end - last).expect("ticks of a file")),
            kind: TrackEventKind::Meta(MetaMessage::EndOfTrack),
        });
        *track = kept;
    }
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes).expect("a file in memory");
    bytes
}

fn solved(bytes: Vec<u8>, band: Band) -> Standing {
    let file = SketchFile {
        name: "show".to_owned(),
        bytes,
        ..SketchFile::default()
    };
    let document = Document::new("Show", file, band);
    let mut standing = Standing::of(&document).expect("the sketch reads");
    let found = standing.solve(&Ask::Afresh, &Effort::default(), &mut |_| {});
    let solved = Document {
        draft: Arc::new(found.draft),
        ..document
    };
    standing.follow(&solved).expect("the sketch reads");
    standing
}

/// The show, solved once.
fn show() -> &'static Standing {
    static SHOW: OnceLock<Standing> = OnceLock::new();
    SHOW.get_or_init(|| {
        let standing = solved(sketch(BARS), thirty::band());
        let look = standing.look();
        let notes: usize = look
            .document
            .draft
            .lines
            .iter()
            .map(|l| l.notes.len())
            .sum();
        println!(
            "the show: {} bars, {} parts, {notes} notes, {} findings",
            look.course.bars(),
            look.document.band.parts.len(),
            look.judged.findings.len()
        );
        assert_eq!(look.course.bars(), BARS as usize);
        standing
    })
}

fn demo() -> &'static Standing {
    static DEMO: OnceLock<Standing> = OnceLock::new();
    DEMO.get_or_init(|| {
        let band = preset("demo").expect("a band that comes along");
        solved(DEMO_SKETCH.to_vec(), band)
    })
}

/// Drafts of which each has one other note of one other part changed.
struct Edits {
    draft: Draft,
    next: usize,
}

impl Edits {
    fn of(look: &Look) -> Self {
        Self {
            draft: (*look.document.draft).clone(),
            next: 0,
        }
    }

    fn next(&mut self) -> Draft {
        self.next += 1;
        let mut draft = self.draft.clone();
        let parts = draft.lines.len();
        let line = &mut draft.lines[self.next * 7 % parts];
        let count = line.notes.len();
        if let Some(note) = line.notes.get_mut(self.next * 31 % count.max(1)) {
            note.pitch = note.pitch.up(Interval(2)).expect("not at the end");
        }
        draft
    }
}

fn course(look: &Look, draft: &Draft) -> Course {
    Course::of(&course_of(look, draft))
}

fn course_of<'a>(look: &'a Look, draft: &'a Draft) -> CourseOf<'a> {
    CourseOf {
        band: &look.document.band,
        draft,
        passages: &look.ready.passages,
        wanted: None,
        meters: &look.song.meters,
        tempo: &look.song.tempo,
        conditions: look.document.conditions,
        before: None,
        end: look.song.end(),
    }
}

fn stretches(look: &Look) -> Vec<Stretch> {
    look.ready.passages.iter().map(Stretch::from).collect()
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn course_anew(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let mut edits = Edits::of(look);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| course(look, black_box(&draft)));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn loads_anew(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let mut edits = Edits::of(look);
    let (band, song) = (&look.document.band, &look.song);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| {
            strains(
                band,
                black_box(&draft.lines),
                &song.tempo,
                &song.meters,
                look.document.conditions,
            )
        });
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn presence_anew(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let mut edits = Edits::of(look);
    let stretches = stretches(look);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| {
            presences(&look.document.band, black_box(&draft.lines), &stretches)
        });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn presence_after_a_note(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let mut edits = Edits::of(look);
    let stretches = stretches(look);
    let mut book = PresenceBook::of(&look.document.band);
    let _ = book.presences(&look.document.draft.lines, &stretches);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| book.presences(black_box(&draft.lines), &stretches));
}

/// What is wanted in less than 5 ms.
#[divan::bench(sample_count = 100, sample_size = 1)]
fn course_loads_and_presence_after_a_note(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let (band, song) = (&look.document.band, &look.song);
    let stretches = stretches(look);
    let mut courses = CourseBook::default();
    let mut loads = LoadBook::default();
    let mut presence = PresenceBook::of(band);
    let mut all = |draft: &Draft| {
        let clock = (&song.tempo, &song.meters);
        (
            courses.course(&course_of(look, draft)),
            loads.strains(band, &draft.lines, clock, look.document.conditions),
            presence.presences(&draft.lines, &stretches),
        )
    };
    let _ = all(&look.document.draft);
    let mut edits = Edits::of(look);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| all(black_box(&draft)));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn course_after_a_note(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let mut courses = CourseBook::default();
    let _ = courses.course(&course_of(look, &look.document.draft));
    let mut edits = Edits::of(look);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| courses.course(&course_of(look, black_box(&draft))));
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn loads_after_a_note(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let (band, song) = (&look.document.band, &look.song);
    let mut loads = LoadBook::default();
    let mut strains = |draft: &Draft| {
        let clock = (&song.tempo, &song.meters);
        loads.strains(band, &draft.lines, clock, look.document.conditions)
    };
    let _ = strains(&look.document.draft);
    let mut edits = Edits::of(look);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| strains(black_box(&draft)));
}

#[divan::bench(sample_count = 5, sample_size = 1)]
fn judged_anew(bencher: Bencher<'_, '_>) {
    let look = show().look();
    let mut edits = Edits::of(look);
    bencher
        .with_inputs(|| edits.next())
        .bench_local_values(|draft| -> Judged { look.judge(black_box(&draft)) });
}

fn following(bencher: Bencher<'_, '_>, standing: &Standing) {
    let mut standing = standing.clone();
    let look = standing.look().clone();
    let mut edits = Edits::of(&look);
    bencher
        .with_inputs(|| Document {
            draft: Arc::new(edits.next()),
            ..look.document.clone()
        })
        .bench_local_values(|document| {
            standing
                .follow(black_box(&document))
                .expect("the sketch reads");
        });
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn follow_after_a_note_of_the_show(bencher: Bencher<'_, '_>) {
    following(bencher, show());
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn follow_after_a_note_of_the_demo(bencher: Bencher<'_, '_>) {
    following(bencher, demo());
}
