//! Solving again: outside the scope nothing moves, locks hold, and staying is worth what it is said to be.

use super::strategies::{band, lanes, locks, said, sketch, with_remarks};
use super::{faults_in, fixed_by};
use crate::midi_file::{File, Lane, tone};
use bandwright::band::{Band, PartId, preset, read_band};
use bandwright::cli::files::demo_song;
use bandwright::music::{BarNumber, Sounding, Ticks};
use bandwright::plan::PassagePlan;
use bandwright::project::made_ready::{MadeReady, Settled};
use bandwright::score::{Draft, DraftNote, Lock, Locks, Role, TuneRules, own_passages};
use bandwright::sketch::{ReadOptions, Song, read_sketch_with};
use bandwright::voicing::{
    Again, Effort, Kept, Problem, Resolved, Scope, Status, Stay, Voiced, Weights, resolve,
    voice_kept,
};
use proptest::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};

/// A problem as the whole way makes it ready.
pub fn with_problem<T>(
    song: &Song,
    band: &Band,
    locks: Option<&Locks>,
    tell: impl FnOnce(&Problem<'_>) -> T,
) -> T {
    with_weights(song, band, locks, &Weights::default(), tell)
}

/// The same with weights.
pub fn with_weights<T>(
    song: &Song,
    band: &Band,
    locks: Option<&Locks>,
    weights: &Weights,
    tell: impl FnOnce(&Problem<'_>) -> T,
) -> T {
    let own = own_passages(song, band, (&song.meters, song.quarter));
    let options = ReadOptions {
        leave_out: &own.tracks,
        ..ReadOptions::default()
    };
    let ready = MadeReady::of(song, band, &options);
    let locks = locks.unwrap_or(&own.locks);
    let plan = ready.plan(song, band, locks);
    let settled = Settled {
        locks,
        tune: &TuneRules::default(),
        plan: &plan,
        weights,
    };
    tell(&ready.problem(song, band, settled))
}

fn again(
    problem: &Problem<'_>,
    draft: &Draft,
    scope: &Scope,
    stay: u8,
    kept: &Kept,
    threads: usize,
) -> Resolved {
    let effort = Effort {
        threads,
        ..Effort::default()
    };
    let again = Again {
        draft,
        scope,
        stay: Stay::new(stay),
    };
    resolve(problem, &again, &mut kept.clone(), &effort, &mut |_| {})
}

fn bars(problem: &Problem<'_>, first: u32, last: u32, of: &[PartId]) -> Scope {
    let range = [(BarNumber(first), BarNumber(last))];
    Scope::bars(problem.meters, problem.band.parts.len(), &range, of)
}

/// Notes that are in one draft and not in the other, with their parts.
fn differing(a: &Draft, b: &Draft) -> Vec<(PartId, DraftNote)> {
    let all = |d: &Draft| -> Vec<(PartId, DraftNote)> {
        let lines = d.lines.iter();
        lines
            .flat_map(|l| l.notes.iter().map(|n| (l.part, *n)))
            .collect()
    };
    let (a, b) = (all(a), all(b));
    let only = |x: &[(PartId, DraftNote)], y: &[(PartId, DraftNote)]| {
        x.iter()
            .filter(|n| !y.contains(n))
            .copied()
            .collect::<Vec<_>>()
    };
    [only(&a, &b), only(&b, &a)].concat()
}

fn faults(
    problem: &Problem<'_>,
    song: &Song,
    reading: &bandwright::sketch::Reading,
    draft: &Draft,
) -> Vec<String> {
    let fixed = fixed_by(song, problem.band, song);
    faults_in(problem.band, song, reading, fixed, draft)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, max_shrink_iters: 300, ..ProptestConfig::default() })]
    #[test]
    fn outside_nothing_moves_and_inside_every_limit_holds(
        band in band(), sketch in sketch(), wishes in locks(), said in said(),
        (first, more) in (1..8_u32, 0..4_u32), of in any::<u8>(), stay in 0..11_u8,
    ) {
        let band = with_remarks(&band, &said);
        let mut file: File = sketch;
        let tracks: Vec<Lane> = lanes(&wishes, &band, &file);
        file.lanes.extend(tracks);
        let song = file.song();
        let own = own_passages(&song, &band, (&song.meters, song.quarter));
        let reading = read_sketch_with(&song, &ReadOptions { leave_out: &own.tracks, ..ReadOptions::default() });
        with_problem(&song, &band, None, |problem| {
            let (voiced, kept) = voice_kept(problem, &Effort::default(), &mut |_| {});
            let of: Vec<PartId> = problem.band.ids().map(|(id, _)| id).filter(|id| of & (1 << (id.0 % 8)) != 0).collect();
            let scope = bars(problem, first, first + more, &of);
            let found = again(problem, &voiced.draft, &scope, stay, &kept, 2);
            for (part, note) in differing(&voiced.draft, &found.voiced.draft) {
                prop_assert!(scope.covers(part, note.onset, note.end()), "{part:?} {note:?} moved");
                prop_assert!(!note.locked);
            }
            prop_assert_eq!(faults(problem, &song, &reading, &found.voiced.draft), Vec::<String>::new());
            prop_assert!(found.voiced.lower_bound <= found.voiced.cost);
            if let Some(before) = found.before {
                prop_assert!(found.voiced.cost <= before, "{} over {before}", found.voiced.cost);
            }
            let one = again(problem, &voiced.draft, &scope, stay, &kept, 1);
            prop_assert_eq!(&one, &found);
            if stay == 10 {
                prop_assert_eq!(&found.voiced.draft.lines, &voiced.draft.lines);
            }
            Ok(())
        })?;
    }

    /// Where both answers are the best there are, more for staying never moves more.
    #[test]
    fn more_for_staying_never_moves_more(
        band in band(), sketch in sketch(), (a, b) in (0..11_u8, 0..11_u8), up in -3..4_i16,
    ) {
        let song = sketch.song();
        with_problem(&song, &band, None, |problem| {
            let (voiced, kept) = voice_kept(problem, &Effort::default(), &mut |_| {});
            // A draft that somebody moved about.
            let mut draft = voiced.draft.clone();
            for note in draft.lines.iter_mut().flat_map(|l| &mut l.notes) {
                let chord = note.role == Role::Harmony;
                if let Some(pitch) = note.pitch.up(bandwright::music::Interval(12 * (up % 2))).filter(|_| chord) {
                    note.pitch = pitch;
                }
            }
            let scope = Scope::whole(problem.band.parts.len(), &[]);
            let less = again(problem, &draft, &scope, a.min(b).max(1), &kept, 1);
            let more = again(problem, &draft, &scope, a.max(b).max(1), &kept, 1);
            if (less.voiced.status, more.voiced.status) == (Status::Optimal, Status::Optimal) {
                prop_assert!(more.moved_units <= less.moved_units + 1e-9, "{} over {}", more.moved_units, less.moved_units);
            }
            Ok(())
        })?;
    }
}

fn note(problem: &Problem<'_>, draft: &Draft, part: &str, bar: u32) -> (PartId, DraftNote) {
    let (id, _) = problem.band.ids().find(|(_, p)| p.name == part).unwrap();
    let (start, end) = (
        problem.meters.bar_start(BarNumber(bar)),
        problem.meters.bar_end(BarNumber(bar)),
    );
    let notes = draft.lines[id.0].notes.iter();
    let found = notes.copied().find(|n| start <= n.onset && n.end() <= end);
    (id, found.expect("a note in the bar"))
}

/// A lock of one bar.
fn lock(id: PartId, bar: u32, notes: Vec<bandwright::sketch::Note>) -> Lock {
    Lock {
        part: id,
        bars: bandwright::score::BarSet([BarNumber(bar)].into()),
        notes,
    }
}

#[test]
fn the_demo_solved_again_as_it_is_stays() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    with_problem(&song, &band, None, |problem| {
        let (voiced, kept) = voice_kept(problem, &Effort::default(), &mut |_| {});
        let whole = Scope::whole(problem.band.parts.len(), &[]);
        let found = again(problem, &voiced.draft, &whole, 10, &kept, 2);
        assert_eq!(differing(&found.voiced.draft, &voiced.draft), Vec::new());
        assert_eq!(found.voiced.draft, voiced.draft);
        assert_eq!((found.moved, found.moved_units), (0, 0.0));
        // Nothing to be charged for moving: it costs what it cost.
        assert!((found.voiced.cost - found.before.unwrap()).abs() < 1e-9);
        let some = bars(problem, 9, 12, &[]);
        let fresh = again(problem, &voiced.draft, &some, 0, &kept, 2);
        for (part, note) in differing(&voiced.draft, &fresh.voiced.draft) {
            assert!(
                some.covers(part, note.onset, note.end()),
                "{part:?} {note:?}"
            );
        }
    });
}

/// Who has nothing of the tune in a draft is given none where the draft is to be left as it is, and
/// is given it where less is said.
#[test]
fn a_bare_part_stays_bare_where_all_is_to_stay() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    with_problem(&song, &band, None, |problem| {
        let (voiced, kept) = voice_kept(problem, &Effort::default(), &mut |_| {});
        let carriers = |p: &PassagePlan| -> Vec<PartId> {
            let ids = band.ids().map(|(id, _)| id);
            ids.filter(|id| p.roles[id.0].role == Role::Melody)
                .collect()
        };
        let planned = problem
            .plan
            .passages
            .iter()
            .find(|p| carriers(p).len() > 1)
            .unwrap();
        let (part, passage) = (carriers(planned)[1], planned.passage);
        let inside = |n: &DraftNote| passage.start <= n.onset && n.end() <= passage.end;
        let mut draft = voiced.draft.clone();
        let notes = &mut draft.lines[part.0].notes;
        let count = notes.len();
        notes.retain(|n| !inside(n));
        assert!(notes.len() < count);
        let scope = bars(problem, passage.first_bar.0, passage.last_bar.0, &[part]);
        let left = again(problem, &draft, &scope, 10, &kept, 2);
        assert_eq!(left.voiced.draft.lines, draft.lines);
        let set = again(problem, &draft, &scope, 4, &kept, 2);
        let own = &set.voiced.draft.lines[part.0].notes;
        assert!(own.iter().any(|n| inside(n) && n.role == Role::Melody));
    });
}

/// What a part plays beside a lock changes when the notes of the lock do: it is led into and out of.
#[test]
fn a_lock_is_led_into_and_out_of() {
    let parts = [
        "flute",
        "clarinet_bb",
        "clarinet_bb",
        "clarinet_bb",
        "trumpet",
        "tuba",
    ];
    let part = |(i, id): (usize, &&str)| {
        format!(
            "[[part]]\nname = \"Part {i}\"\ninstrument = \"{id}\"\nplayers = {{ advanced = 2 }}\n"
        )
    };
    let text: String = parts.iter().enumerate().map(part).collect();
    let band = read_band(&format!("name = \"Six\"\n{text}")).unwrap();
    let tune = (0..12).map(|i| tone(i * 480, 84 + [0, 2][i as usize % 2], 480));
    let chords = (0..3).flat_map(|b| [36, 60, 64, 67].map(|p| tone(b * 1920, p, 1920)));
    let plain = File::piano(tune.chain(chords).collect());
    // A clarinet that fills the chords.
    let inner = with_problem(&plain.song(), &band, None, |problem| {
        let roles = &problem.plan.passages[0].roles;
        (1..4).find(|i| roles[*i].role == Role::Harmony).unwrap()
    });
    let name = format!("Part {inner}");
    let around = |locked: u8| {
        let mut file = plain.clone();
        let lane = Lane::new(&format!("{name} bars 2-2"), vec![tone(1920, locked, 1920)]);
        file.lanes.push(lane);
        let song = file.song();
        with_problem(&song, &band, None, |problem| {
            let (voiced, kept) = voice_kept(problem, &Effort::default(), &mut |_| {});
            let of = |d: &Draft| {
                [1, 3].map(|bar| {
                    let found = note(problem, d, &name, bar).1;
                    assert_eq!(found.role, Role::Harmony);
                    found.pitch
                })
            };
            let fresh = of(&voiced.draft);
            let scope = bars(problem, 1, 1, &[]).and(bars(problem, 3, 3, &[]));
            let same = again(problem, &voiced.draft, &scope, 0, &kept, 2);
            assert_eq!(of(&same.voiced.draft), fresh);
            fresh
        })
    };
    let (low, high) = (around(52), around(88));
    assert!(low[0] < high[0], "into the lock: {low:?} {high:?}");
    assert!(low[1] < high[1], "out of the lock: {low:?} {high:?}");
}

/// After a bar was locked, its neighbours follow it, and nothing else moves.
#[test]
fn a_lock_put_on_a_draft_is_followed_beside_it_alone() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    let own = own_passages(&song, &band, (&song.meters, song.quarter)).locks;
    let (voiced, kept, id, old) = with_problem(&song, &band, None, |problem| {
        let (voiced, kept) = voice_kept(problem, &Effort::default(), &mut |_| {});
        let (id, old) = note(problem, &voiced.draft, "Clarinet 3", 20);
        (voiced, kept, id, old)
    });
    let bar = song.meters.bar(old.onset).0;
    let new = bandwright::sketch::Note {
        onset: song.meters.bar_start(BarNumber(bar)),
        duration: Ticks(u64::from(song.quarter.get())),
        pitch: Sounding::new(old.pitch.midi() + 1).unwrap(),
        velocity: 77,
        channel: 0,
    };
    let locks = own.overlaid(Locks(vec![lock(id, bar, vec![new])]), &song.meters);
    with_problem(&song, &band, Some(&locks), |problem| {
        let scope = bars(problem, bar - 1, bar + 1, &[]);
        let found = again(problem, &voiced.draft, &scope, 4, &kept, 2);
        let line = &found.voiced.draft.lines[id.0].notes;
        let bar = (scope.of(id)[0].0, scope.of(id)[0].1);
        assert!(
            line.iter()
                .any(|n| n.locked && n.pitch == new.pitch && n.velocity == 77)
        );
        for (part, note) in differing(&voiced.draft, &found.voiced.draft) {
            assert!(
                note.onset < bar.1 && bar.0 < note.end(),
                "{part:?} {note:?}"
            );
        }
    });
}

#[test]
fn a_stop_from_the_start_gives_an_answer_with_a_bound() {
    let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
    with_problem(&song, &band, None, |problem| {
        let stop = AtomicBool::new(true);
        let effort = Effort {
            stop: Some(&stop),
            ..Effort::default()
        };
        let (voiced, _) = voice_kept(problem, &effort, &mut |_| {});
        stopped(&voiced);
        let later = AtomicBool::new(false);
        let effort = Effort {
            stop: Some(&later),
            ..Effort::default()
        };
        let mut told = 0;
        let (voiced, _) = voice_kept(problem, &effort, &mut |_| {
            told += 1;
            later.store(true, Ordering::Relaxed);
        });
        assert!(told > 0);
        assert!(voiced.lower_bound <= voiced.cost);
    });
}

fn stopped(voiced: &Voiced) {
    assert_eq!(voiced.status, Status::Stopped);
    assert!(voiced.lower_bound <= voiced.cost && voiced.cost > 0.0);
    let notes: usize = voiced.draft.lines.iter().map(|l| l.notes.len()).sum();
    assert!(notes > 1_000, "{notes} notes");
}
