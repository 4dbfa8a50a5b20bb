//! Listening: what keys and the bar do, heard through a device that the test drives.

use super::{PATIENCE, Window};
use bandwright::app::actions::Action;
use bandwright::app::listen::device::{Device, Devices, Fill, OpenDevice};
use bandwright::app::listen::listening::Listening;
use bandwright::app::wants::Want;
use bandwright::music::Tick;
use bandwright::project::work::{NoteId, Selection};
use bandwright::sketch::Line;
use bandwright::sound::heard::{Heard, Only, Source};
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Frames of a second.
const RATE: usize = 44_100;

/// A device that plays when it is told to.
struct Played {
    fill: Mutex<Fill>,
    frames: AtomicU64,
    gone: AtomicBool,
}

impl Device for Played {
    fn heard(&self) -> Option<f64> {
        Some(self.frames.load(Ordering::SeqCst) as f64)
    }

    fn is_open(&self) -> bool {
        !self.gone.load(Ordering::SeqCst)
    }
}

type Last = Arc<Mutex<Option<Arc<Played>>>>;

/// The demo in a window whose device is driven by hand.
struct Hearing {
    window: Window,
    last: Last,
}

impl Hearing {
    fn new() -> Self {
        let mut window = Window::demo();
        let last = Last::default();
        let given = Arc::clone(&last);
        let open: OpenDevice = Arc::new(move |fill| {
            let played = Arc::new(Played {
                fill: Mutex::new(fill),
                frames: AtomicU64::new(0),
                gone: AtomicBool::new(false),
            });
            *given.lock().unwrap() = Some(Arc::clone(&played));
            Ok(played as Arc<dyn Device>)
        });
        window.app().session.listening = Listening::new(Devices::of(open), Arc::new(|| {}));
        Self { window, last }
    }

    fn device(&self) -> Option<Arc<Played>> {
        self.last.lock().unwrap().clone()
    }

    /// So many seconds of sound, drawn along with; left and right in turn.
    fn play(&mut self, seconds: f64) -> Vec<f32> {
        let mut all = Vec::new();
        let count = (seconds * 50.0).round() as usize;
        for i in 0..count {
            let mut frames = vec![0.0; 2 * RATE / 50];
            if let Some(device) = self.device() {
                (device.fill.lock().unwrap())(&mut frames);
                device
                    .frames
                    .fetch_add((RATE / 50) as u64, Ordering::SeqCst);
            }
            all.extend(frames);
            if i % 5 == 0 {
                self.window.app().session.tick();
            }
        }
        self.window.harness.run_steps(1);
        all
    }

    /// Plays until something is to be heard; gives how loud.
    fn wait_for_sound(&mut self) -> f32 {
        let begun = Instant::now();
        while begun.elapsed() < PATIENCE {
            let loud = loudness(&self.play(0.1));
            if loud > 1e-4 {
                return loud;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        panic!("nothing is heard");
    }

    /// Lets the thread that makes programs come to its end of what was asked.
    fn wait(&mut self) {
        self.window.harness.run_steps(1);
        std::thread::sleep(Duration::from_millis(400));
        self.window.harness.run_steps(1);
    }

    fn at(&mut self) -> Option<u32> {
        let session = &self.window.app().session;
        let at = session.listening.at()?;
        Some(session.look().unwrap().song.meters.bar(at).0)
    }

    fn hear(&mut self, heard: Heard) {
        self.window.app().session.want(Want::Hear(heard));
        self.wait();
    }

    fn part(&self, name: &str) -> bandwright::band::PartId {
        let band = &self.window.harness.state().session.document().band;
        band.ids().find(|(_, p)| p.name == name).unwrap().0
    }
}

/// A part with a note at the place that is heard, and for a while after.
impl Hearing {
    fn busiest(&mut self) -> bandwright::band::PartId {
        let session = &self.window.app().session;
        let at = session.listening.at().unwrap();
        let soon = Tick(at.0 + 4 * 960);
        let lines = &session.document().draft.lines;
        let busy = |l: &&bandwright::score::PartLine| {
            let notes = l.notes.iter().filter(|n| n.end() > at && n.onset < soon);
            notes
                .map(|n| n.end().min(soon).since(n.onset.max(at)).0)
                .sum::<u64>()
        };
        lines.iter().max_by_key(busy).unwrap().part
    }
}

fn loudness(samples: &[f32]) -> f32 {
    let power: f32 = samples.iter().map(|s| s * s).sum();
    (power / samples.len().max(1) as f32).sqrt()
}

#[test]
fn space_plays_the_selected_bars_and_space_is_silence() {
    let mut hearing = Hearing::new();
    hearing.window.select((3, 5), &["Flute 1"]);
    hearing.window.press(Action::Play);
    hearing.wait_for_sound();
    assert!(hearing.window.app().session.listening.plays());
    assert_eq!(hearing.at(), Some(3));
    hearing.window.press(Action::Play);
    let after = hearing.play(0.3);
    assert_eq!(loudness(&after[after.len() / 3..]), 0.0);
    assert!(!hearing.window.app().session.listening.plays());
    assert_eq!(hearing.at(), None);
    // Bars that are selected end; the line has been in all of them.
    hearing.window.press(Action::Play);
    hearing.wait_for_sound();
    let mut bars = std::collections::BTreeSet::new();
    for _ in 0..200 {
        hearing.play(0.1);
        bars.extend(hearing.at());
    }
    assert_eq!(bars.into_iter().collect::<Vec<u32>>(), [3, 4, 5]);
    assert!(!hearing.window.app().session.listening.plays());
}

#[test]
fn from_the_start_over_and_over_and_counted_in() {
    let mut hearing = Hearing::new();
    hearing.window.press(Action::CountIn);
    hearing.window.press(Action::PlayFromStart);
    hearing.wait_for_sound();
    // Ticks are heard, and the line stands at the first bar meanwhile.
    assert_eq!(
        hearing.window.app().session.listening.at(),
        Some(Tick::ZERO)
    );
    hearing.play(4.0);
    assert!(hearing.window.app().session.listening.at().unwrap() > Tick::ZERO);
    hearing.window.press(Action::SelectNothing);
    assert!(!hearing.window.app().session.listening.plays());
    hearing.window.press(Action::CountIn);
    hearing.window.press(Action::Again);
    hearing.window.select((2, 2), &["Sousaphone"]);
    hearing.window.press(Action::Play);
    hearing.wait_for_sound();
    let mut turns = 0;
    let mut before = Tick::ZERO;
    for _ in 0..150 {
        hearing.play(0.1);
        assert_eq!(hearing.at(), Some(2));
        let at = hearing.window.app().session.listening.at().unwrap();
        turns += usize::from(at < before);
        before = at;
    }
    assert!(turns >= 3, "{turns}");
}

#[test]
fn solo_mute_lines_and_sketch_are_heard_while_it_plays() {
    let mut hearing = Hearing::new();
    hearing.window.press(Action::PlayFromStart);
    hearing.wait_for_sound();
    hearing.play(1.0);
    // Everybody muted: nobody is heard, and the line goes on.
    hearing.window.press(Action::SelectAll);
    hearing.window.press(Action::Mute);
    hearing.wait();
    hearing.play(1.0);
    assert_eq!(loudness(&hearing.play(0.5)), 0.0);
    assert!(hearing.window.app().session.listening.plays());
    // The sketch at the same place.
    let at = hearing.window.app().session.listening.at().unwrap();
    hearing.window.press(Action::FlipSource);
    hearing.wait();
    assert!(loudness(&hearing.play(1.0)) > 1e-4);
    assert!(hearing.window.app().session.listening.at().unwrap() > at);
    hearing.window.press(Action::FlipSource);
    hearing.window.press(Action::Everybody);
    hearing.wait();
    let all = loudness(&hearing.play(1.0));
    let busy = hearing.busiest();
    let mut solo = Heard::default();
    solo.solo(&[busy]);
    hearing.hear(solo);
    hearing.play(0.5);
    let one = loudness(&hearing.play(1.0));
    assert!(one > 0.0 && one < all, "{one} of {all}");
    // A part that plays no tune, and only the tune: nothing.
    let low = hearing.part("Sousaphone");
    let mut nothing = Heard::default();
    nothing.only = Only::Line(Line::Melody);
    nothing.solo(&[low]);
    hearing.hear(nothing);
    hearing.play(1.0);
    assert_eq!(loudness(&hearing.play(0.3)), 0.0);
}

#[test]
fn what_is_changed_while_it_plays_is_heard_within_a_bar() {
    let mut hearing = Hearing::new();
    let low = hearing.part("Sousaphone");
    let mut solo = Heard::default();
    solo.solo(&[low]);
    hearing.hear(solo);
    hearing.window.press(Action::PlayFromStart);
    hearing.wait_for_sound();
    let bar = hearing.at().unwrap();
    hearing.window.select((1, 60), &["Sousaphone"]);
    hearing.window.press(Action::Delete);
    hearing.wait();
    hearing.play(0.4);
    // What was held rings out; then nothing, long before the next bar.
    assert_eq!(loudness(&hearing.play(0.3)), 0.0);
    assert!(hearing.at().unwrap() <= bar + 1);
    hearing.window.press(Action::Undo);
    hearing.wait();
    assert!(hearing.wait_for_sound() > 0.0);
}

#[test]
fn another_tempo_is_heard_at_once_and_at_the_same_place() {
    let mut hearing = Hearing::new();
    hearing.window.press(Action::PlayFromStart);
    hearing.wait_for_sound();
    let seconds = |hearing: &mut Hearing| {
        let session = &hearing.window.app().session;
        let at = session.listening.at().unwrap();
        session.look().unwrap().song.tempo.seconds(at)
    };
    hearing.window.app().session.want(Want::Tempo(2.0));
    hearing.wait();
    let before = seconds(&mut hearing);
    hearing.play(2.0);
    let went = seconds(&mut hearing) - before;
    assert!((went - 4.0).abs() < 0.1, "{went}");
    hearing.window.press(Action::Slower);
    assert_eq!(hearing.window.told(), "tempo 195 %");
    hearing.window.press(Action::Quicker);
    hearing.window.press(Action::Quicker);
    assert_eq!(hearing.window.told(), "tempo 200 %");
}

#[test]
fn a_note_is_heard_when_it_is_selected_and_the_chord_when_asked_for() {
    let mut hearing = Hearing::new();
    let part = hearing.part("Trumpet 1");
    let note = {
        let document = hearing.window.app().session.document();
        let notes = &document.draft.lines[part.0].notes;
        let note = notes.first().unwrap();
        NoteId {
            part,
            onset: note.onset,
            pitch: note.pitch,
        }
    };
    let bar = {
        let look = hearing.window.app().session.look().unwrap();
        look.song.meters.bar(note.onset)
    };
    let selection = Selection {
        note: Some(note),
        ..Selection::of(bar, bar, [part])
    };
    let select = Want::Select(Some(selection));
    hearing.window.app().session.want(select.clone());
    let alone = hearing.wait_for_sound();
    assert!(!hearing.window.app().session.listening.plays());
    assert_eq!(hearing.at(), None);
    // It ends by itself.
    hearing.play(3.0);
    assert_eq!(loudness(&hearing.play(0.2)), 0.0);
    hearing.window.press(Action::HearChord);
    let chord = hearing.wait_for_sound();
    assert!(chord > alone, "{chord} {alone}");
    hearing.play(3.5);
    // Who wants silence has it.
    hearing.window.press(Action::Touch);
    hearing.window.app().session.want(select);
    hearing.wait();
    assert_eq!(loudness(&hearing.play(0.5)), 0.0);
}

#[test]
fn the_sheet_goes_along_but_not_against_a_hand() {
    let mut hearing = Hearing::new();
    hearing.window.press(Action::PlayFromStart);
    hearing.wait_for_sound();
    assert_eq!(hearing.window.app().session.view.left, 0.0);
    hearing.window.app().session.want(Want::Tempo(2.0));
    hearing.wait();
    for _ in 0..30 {
        hearing.play(0.5);
    }
    let left = hearing.window.app().session.view.left;
    assert!(left > 0.0, "the sheet stands still");
    let session = &hearing.window.app().session;
    let x = session.engraved.x_at(session.listening.at().unwrap());
    assert!(left <= x && x <= left + session.seen.0);
    // Moved away by hand it stays there.
    hearing.window.app().session.want(Want::Look(0.0, 0.0));
    for _ in 0..6 {
        hearing.play(0.5);
    }
    assert_eq!(hearing.window.app().session.view.left, 0.0);
}

#[test]
fn flipping_to_before_a_solve_is_heard() {
    let mut hearing = Hearing::new();
    hearing
        .window
        .select((1, 24), &["Clarinet 1", "Clarinet 2", "Trombone 1"]);
    hearing.window.press(Action::Delete);
    hearing.window.settle();
    hearing.window.press(Action::SolveSelection);
    hearing.window.settle();
    assert!(hearing.window.app().session.before.is_some());
    hearing.window.press(Action::PlayFromStart);
    hearing.wait_for_sound();
    let at = hearing.window.app().session.listening.at().unwrap();
    hearing.window.press(Action::Flip);
    hearing.wait();
    assert!(loudness(&hearing.play(0.5)) > 0.0);
    assert!(hearing.window.app().session.listening.at().unwrap() > at);
    assert!(hearing.window.app().session.before.as_ref().unwrap().shown);
}

#[test]
fn without_a_device_one_sentence_says_so_and_all_else_works() {
    let mut window = Window::demo();
    let tried = Arc::new(AtomicU64::new(0));
    let count = Arc::clone(&tried);
    let open: OpenDevice = Arc::new(move |_| {
        count.fetch_add(1, Ordering::SeqCst);
        Err("no sound: there is nothing to play it".to_owned())
    });
    window.app().session.listening = Listening::new(Devices::of(open), Arc::new(|| {}));
    let wait = |window: &mut Window, tries: u64| {
        let begun = Instant::now();
        while tried.load(Ordering::SeqCst) < tries && begun.elapsed() < PATIENCE {
            std::thread::sleep(Duration::from_millis(5));
        }
        std::thread::sleep(Duration::from_millis(50));
        window.harness.run_steps(3);
    };
    window.press(Action::Play);
    wait(&mut window, 1);
    assert_eq!(window.told(), "no sound: there is nothing to play it");
    assert!(!window.app().session.listening.plays());
    // Notes are selected in silence from now on; nothing is looked for each time.
    let messages = window.app().session.messages.len();
    window.press(Action::HearChord);
    window.press(Action::NoteAfter);
    assert_eq!(tried.load(Ordering::SeqCst), 1);
    assert_eq!(window.app().session.messages.len(), messages);
    window.select((1, 2), &["Sousaphone"]);
    window.press(Action::Lock);
    window.settle();
    assert!(window.app().session.open.project.undo_name().is_some());
    // Asked for on purpose, it is looked for anew.
    window.press(Action::Play);
    wait(&mut window, 2);
    assert_eq!(tried.load(Ordering::SeqCst), 2);
}

#[test]
fn a_device_that_goes_away_is_told_and_another_is_opened() {
    let mut hearing = Hearing::new();
    hearing.window.press(Action::PlayFromStart);
    hearing.wait_for_sound();
    let first = hearing.device().unwrap();
    first.gone.store(true, Ordering::SeqCst);
    hearing.window.harness.run_steps(3);
    assert!(hearing.window.told().contains("sound device has gone"));
    assert!(!hearing.window.app().session.listening.plays());
    hearing.window.press(Action::PlayFromStart);
    hearing.wait();
    hearing.wait_for_sound();
    assert!(!Arc::ptr_eq(&first, &hearing.device().unwrap()));
}

#[test]
fn the_bar_says_and_does_what_the_keys_do() {
    let mut hearing = Hearing::new();
    hearing.window.click("sketch");
    let source = |hearing: &mut Hearing| hearing.window.app().session.listening.heard.source;
    assert_eq!(source(&mut hearing), Source::Sketch);
    hearing.window.click("both");
    assert_eq!(source(&mut hearing), Source::Both);
    hearing.window.click("draft");
    hearing.window.click("everybody");
    hearing.window.click("mute clarinets");
    let clarinet = hearing.part("Clarinet 2");
    assert!(
        hearing
            .window
            .app()
            .session
            .listening
            .heard
            .is_muted(clarinet)
    );
    hearing.window.settle();
    hearing.window.click("From the start");
    hearing.wait_for_sound();
    hearing.window.click("Be silent");
    assert!(!hearing.window.app().session.listening.plays());
}
