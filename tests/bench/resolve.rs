//! How long it takes to solve some of a show again: after a bar was locked, and after a remark.
//!
//! The show has 200 bars for 30 parts. What was read and planned, clean chances and prices are kept.
//! Wanted: under 16 ms after a lock, under 200 ms after a remark.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

#[path = "thirty.rs"]
mod thirty;

use bandwright::band::{Band, PartId, limits};
use bandwright::cli::files::DEMO_SKETCH;
use bandwright::music::{BarNumber, Interval, Ticks, Written};
use bandwright::plan::ScoringPlan;
use bandwright::project::made_ready::{MadeReady, Settled};
use bandwright::score::{BarSet, Draft, Lock, Locks, Role, TuneRules};
use bandwright::sketch::{Note, ReadOptions, Song, read_song};
use bandwright::voicing::{
    Again, Effort, Kept, Problem, Resolved, Scope, Status, Stay, Weights, resolve, voice_kept,
};
use divan::Bencher;

const BARS: u32 = 200;

fn main() {
    divan::main();
}

/// The demo over and over, 200 bars of it.
fn song() -> Song {
    let mut song = read_song(DEMO_SKETCH).expect("the demo is a MIDI file");
    let once = song.meters.bar_start(BarNumber(65));
    let end = song.meters.bar_start(BarNumber(BARS + 1));
    for track in &mut song.tracks {
        let notes = track.notes.clone();
        for time in 1..4 {
            let later = notes.iter().map(|n| Note {
                onset: n.onset + Ticks(once.0 * time),
                ..*n
            });
            track.notes.extend(later);
        }
        track.notes.retain(|n| n.end() <= end);
    }
    song
}

/// A show that was voiced, with all that is kept of it.
struct Show {
    song: Song,
    band: Band,
    ready: MadeReady,
    plan: ScoringPlan,
    tune: TuneRules,
    draft: Draft,
    kept: Kept,
    cost: f64,
    bound: f64,
}

impl Show {
    fn new() -> Self {
        let (song, band) = (song(), thirty::band());
        let ready = MadeReady::of(&song, &band, &ReadOptions::default());
        let plan = ready.plan(&song, &band, &Locks::default());
        let mut show = Self {
            song,
            band,
            ready,
            plan,
            tune: TuneRules::default(),
            draft: Draft::default(),
            kept: Kept::default(),
            cost: 0.0,
            bound: 0.0,
        };
        let (voiced, kept) = {
            let (locks, weights) = (Locks::default(), Weights::default());
            let problem = show.problem(&show.band, &locks, &weights);
            voice_kept(&problem, &Effort::default(), &mut |_| {})
        };
        (show.cost, show.bound) = (voiced.cost, voiced.lower_bound);
        show.draft = voiced.draft;
        show.kept = kept;
        show
    }

    fn problem<'a>(
        &'a self,
        band: &'a Band,
        locks: &'a Locks,
        weights: &'a Weights,
    ) -> Problem<'a> {
        let settled = Settled {
            locks,
            tune: &self.tune,
            plan: &self.plan,
            weights,
        };
        self.ready.problem(&self.song, band, settled)
    }

    /// A part that fills the chord in a bar, its note there an octave away and locked.
    fn lock(&self, bar: u32) -> Locks {
        let (start, end) = (
            self.song.meters.bar_start(BarNumber(bar)),
            self.song.meters.bar_end(BarNumber(bar)),
        );
        let lines = self.draft.lines.iter();
        let found = lines.filter_map(|l| {
            let here = l
                .notes
                .iter()
                .find(|n| start <= n.onset && n.end() <= end)?;
            (here.role == Role::Harmony).then_some((l.part, *here))
        });
        let (part, note) = found.max_by_key(|f| f.0).expect("a part fills the chord");
        let range = self.band.part(part).limits.range;
        let octaves = [-12, 12].map(|by| note.pitch.up(Interval(by)));
        let pitch = octaves.into_iter().flatten().find(|p| range.contains(*p));
        let pitch = pitch.unwrap_or(range.low);
        Locks(vec![Lock {
            part,
            bars: BarSet([BarNumber(bar)].into()),
            notes: vec![Note {
                onset: start,
                pitch,
                duration: end.since(start),
                velocity: note.velocity,
                channel: 0,
            }],
        }])
    }
}

fn told(what: &str, show: &Show, found: &Resolved) {
    println!(
        "{what}: {:.1} points, bound {:.1}, {}, {} rounds; {} new notes; all of the show {:.1}, bound {:.1}",
        found.voiced.cost,
        found.voiced.lower_bound,
        found.voiced.status.word(),
        found.rounds,
        found.moved,
        show.cost,
        show.bound,
    );
    assert_ne!(found.voiced.status, Status::Stopped);
}

/// After a bar was locked; with the prices of the first solve, and without.
#[divan::bench(args = [true, false], sample_count = 10, sample_size = 1)]
fn after_a_lock(bencher: Bencher<'_, '_>, prices: bool) {
    let show = Show::new();
    let (locks, weights) = (show.lock(100), Weights::default());
    let problem = show.problem(&show.band, &locks, &weights);
    let bars = [(BarNumber(100), BarNumber(100))];
    let scope = Scope::around(&show.song.meters, 30, &bars);
    let again = Again {
        draft: &show.draft,
        scope: &scope,
        stay: Stay::default(),
    };
    let kept = || {
        let mut kept = show.kept.clone();
        if !prices {
            kept.prices = bandwright::voicing::price_book::PriceBook::default();
        }
        kept
    };
    let go = |mut kept: Kept| resolve(&problem, &again, &mut kept, &Effort::default(), &mut |_| {});
    told("after a lock", &show, &go(kept()));
    bencher.with_inputs(kept).bench_values(go);
}

/// After the director took the top off a part.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn after_a_remark(bencher: Bencher<'_, '_>) {
    let show = Show::new();
    let mut band = show.band.clone();
    let (id, _) = band
        .ids()
        .find(|(_, p)| p.name == "Clarinet 2")
        .expect("it is there");
    let part = &mut band.parts[id.0];
    let notes = show.draft.lines[id.0].notes.iter();
    let top = notes.map(|n| n.pitch).max().expect("it plays");
    let highest = part.instrument.transposition.written(top);
    part.remarks.highest = Some(Written(highest.0 - 3));
    part.limits = limits(&part.instrument, part.players, &part.remarks).expect("some notes");
    let (locks, weights) = (Locks::default(), Weights::default());
    let problem = show.problem(&band, &locks, &weights);
    let go = |mut kept: Kept| {
        kept.renew(&band, id);
        let scope = Scope::after_change(&band, &show.song.meters, &show.draft, id);
        let again = Again {
            draft: &show.draft,
            scope: &scope,
            stay: Stay::default(),
        };
        resolve(&problem, &again, &mut kept, &Effort::default(), &mut |_| {})
    };
    let found = go(show.kept.clone());
    told("after a remark", &show, &found);
    println!("  of the scope: {} of 200 bars", bars_of(&show, &band, id));
    let line: &[_] = &found.voiced.draft.lines[id.0].notes;
    assert!(
        line.iter()
            .all(|n| band.part(id).limits.range.contains(n.pitch))
    );
    bencher.with_inputs(|| show.kept.clone()).bench_values(go);
}

/// How many bars the change of a part's limits concerns.
fn bars_of(show: &Show, band: &Band, id: PartId) -> usize {
    let meters = &show.song.meters;
    let scope = Scope::after_change(band, meters, &show.draft, id);
    let bars = (1..=BARS).map(BarNumber);
    bars.filter(|b| scope.covers(PartId(0), meters.bar_start(*b), meters.bar_end(*b)))
        .count()
}
