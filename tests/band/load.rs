//! The load model: worked values, a full simulation beside the closed form, and what always holds.

use bandwright::band::load::{
    Caution, Conditions, Muscle, Start, TimedNote, bare_effort, caution, effort, muscle_of,
    part_load, player_load, tired, worked, working_limits,
};
use bandwright::band::playing::Posture;
use bandwright::band::{Band, Level, Part, instruments, read_band};
use bandwright::music::{Dynamic, Sounding};
use proptest::prelude::*;

/// The general set with the rest multiplier of 15 (Frey-Law et al. 2012, table 1; Looft et al. 2018).
const GENERAL: Muscle = Muscle {
    fatigue: 0.0097,
    recovery: 0.00091,
    rest_multiplier: 15.0,
};

/// F and R of joints (Frey-Law et al. 2012, table 1).
const JOINTS: [(&str, f64, f64); 8] = [
    ("general", 0.00970, 0.00091),
    ("hand", 0.00980, 0.00064),
    ("shoulder", 0.01820, 0.00168),
    ("trunk", 0.00755, 0.00075),
    ("elbow", 0.00912, 0.00094),
    ("ankle", 0.00589, 0.00058),
    ("knee", 0.01500, 0.00149),
    ("hand at rest 30", 0.00980, 0.00064),
];

const SEATED: Conditions = Conditions {
    posture: Posture::Seated,
    start: Start::Fresh,
};

fn joint(name: &str, fatigue: f64, recovery: f64) -> Muscle {
    Muscle {
        fatigue,
        recovery,
        rest_multiplier: if name.ends_with("30") { 30.0 } else { 15.0 },
    }
}

fn near(a: f64, b: f64, within: f64) -> bool {
    (a - b).abs() <= within
}

/// The three compartments in full, by the fourth-order rule of Runge and Kutta. LD = LR = 10 /s.
struct Full {
    active: f64,
    resting: f64,
    tired: f64,
}

impl Full {
    fn fresh(tired: f64) -> Self {
        Self {
            active: 0.0,
            resting: 1.0 - tired,
            tired,
        }
    }

    fn slopes(&self, m: &Muscle, load: f64) -> [f64; 3] {
        let (drive, release) = (10.0, 10.0);
        let missing = load - self.active;
        let brought = if missing <= 0.0 {
            release * missing
        } else if self.resting > missing {
            drive * missing
        } else {
            drive * self.resting
        };
        let rate = if load > 0.0 {
            m.recovery
        } else {
            m.recovery * m.rest_multiplier
        };
        let (tires, recovers) = (m.fatigue * self.active, rate * self.tired);
        [brought - tires, recovers - brought, tires - recovers]
    }

    fn moved(&self, by: [f64; 3], step: f64) -> Self {
        Self {
            active: self.active + step * by[0],
            resting: self.resting + step * by[1],
            tired: self.tired + step * by[2],
        }
    }

    fn step(&self, m: &Muscle, load: f64, step: f64) -> Self {
        let a = self.slopes(m, load);
        let b = self.moved(a, step / 2.0).slopes(m, load);
        let c = self.moved(b, step / 2.0).slopes(m, load);
        let d = self.moved(c, step).slopes(m, load);
        let mean = [0, 1, 2].map(|i| (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]) / 6.0);
        self.moved(mean, step)
    }

    fn run(mut self, m: &Muscle, load: f64, seconds: f64) -> Self {
        let step = 0.01;
        for _ in 0..(seconds / step).round() as u32 {
            self = self.step(m, load, step);
        }
        self
    }

    /// Seconds until what works and what rests together are less than the load.
    fn fails(mut self, m: &Muscle, load: f64) -> f64 {
        let step = 0.01;
        let mut now = 0.0;
        while self.active + self.resting >= load && now < 4000.0 {
            self = self.step(m, load, step);
            now += step;
        }
        now
    }
}

#[test]
fn the_table_holds_the_general_set() {
    assert_eq!(muscle_of(Level::Advanced).unwrap(), GENERAL);
    assert_eq!(muscle_of(Level::AllState).unwrap(), GENERAL);
    let tires = |level| muscle_of(level).unwrap().fatigue / GENERAL.fatigue;
    assert!(near(tires(Level::Intermediate), 1.2, 1e-12));
    assert!(near(tires(Level::FirstYear), 1.5, 1e-12));
    assert!(near(tires(Level::SecondYear), 1.5, 1e-12));
}

#[test]
fn endurance_as_worked() {
    assert!(near(GENERAL.asymptote(), 0.0858, 5e-5));
    let worked = [
        (0.2, 516.9),
        (0.3, 271.5),
        (0.4, 166.7),
        (0.5, 108.3),
        (0.6, 71.0),
        (0.7, 45.1),
        (0.8, 26.1),
    ];
    for (load, seconds) in worked {
        let found = GENERAL.endurance(load).unwrap();
        assert!(near(found, seconds, 0.06), "{load}: {found}");
    }
    assert_eq!(GENERAL.endurance(0.08), None);
    assert_eq!(GENERAL.endurance(1.0), Some(0.0));
}

#[test]
fn beginners_endure_as_worked() {
    let muscle = muscle_of(Level::FirstYear).unwrap();
    for (load, seconds) in [(0.4, 108.0), (0.5, 71.0), (0.6, 47.0), (0.7, 30.0)] {
        let found = muscle.endurance(load).unwrap();
        assert!(near(found, seconds, 0.6), "{load}: {found}");
    }
}

/// Endurance against the mean of published trials (Frey-Law and Avin 2010: 21.92 load^-1.98
/// seconds): within about a quarter from 10 to 80 %, 57 % too short at 90 %.
#[test]
fn endurance_lies_by_the_published_curve() {
    let off = |load: f64| GENERAL.endurance(load).unwrap() / (21.92 * load.powf(-1.98)) - 1.0;
    for tenth in 1..=8 {
        assert!(off(f64::from(tenth) / 10.0).abs() < 0.26, "{tenth}");
    }
    assert!(near(off(0.9), -0.57, 0.006));
}

#[test]
fn turns_of_playing_and_rest_as_worked() {
    let worked = [0.2266, 0.0999, 0.3211, 0.1416, 0.3606, 0.1590];
    let mut tired = 0.0;
    for (turn, value) in worked.into_iter().enumerate() {
        let effort = if turn % 2 == 0 { 0.4 } else { 0.0 };
        tired = GENERAL.after(tired, effort, 60.0);
        assert!(near(tired, value, 5e-5), "{turn}: {tired}");
    }
    assert!(near(GENERAL.after(0.0, 0.4, 180.0), 0.6442, 5e-5));
    let [met, failing] = GENERAL.pieces(0.0, 0.4, 180.0);
    assert!(near(met.seconds, 166.7, 0.06));
    assert!(failing.end() < 0.6442 && failing.end() > 0.6);
    let half = |muscle: &Muscle, effort: f64| muscle.after(1.0, effort, 1.0).ln();
    assert!(near(-2.0_f64.ln() / half(&GENERAL, 0.0), 50.8, 0.05));
    let under_load = 2.0_f64.ln() / GENERAL.recovery;
    assert!(near(under_load, 762.0, 0.5));
}

#[test]
fn duty_as_worked() {
    let worked = [
        (0.2, 0.90, 0.88),
        (0.3, 0.81, 0.78),
        (0.4, 0.71, 0.67),
        (0.5, 0.61, 0.55),
        (0.6, 0.50, 0.43),
        (0.7, 0.39, 0.29),
        (0.8, 0.27, 0.15),
    ];
    for (load, bare, with_reserve) in worked {
        let (a, b) = (GENERAL.duty(load, 0.0), GENERAL.duty(load, 0.1));
        assert!(near(a, bare, 0.0054), "{load}: {a}");
        // The reference rounds .2648 (.8) and, with a reserve, .4247 (.6) up.
        assert!(near(b, with_reserve, 0.0054), "{load}: {b}");
    }
}

/// The closed form stands within 0.01 (endurance: half a second) of the full equations, for each set of values, at each load, in
/// turns of playing and rest and beyond the point of failing.
#[test]
fn the_closed_form_agrees_with_the_full_equations() {
    for (name, fatigue, recovery) in JOINTS {
        let muscle = joint(name, fatigue, recovery);
        for load in [0.15, 0.4, 0.6, 0.85] {
            let (mut full, mut closed) = (Full::fresh(0.0), 0.0);
            for seconds in [60.0, 30.0, 90.0, 5.0] {
                full = full.run(&muscle, load, seconds);
                closed = muscle.pieces(closed, load, seconds)[1].end();
                assert!(near(full.tired, closed, 0.01), "{name} {load}");
                let sum = full.active + full.resting + full.tired;
                assert!(near(sum, 1.0, 1e-9), "{name} {load}");
                full = full.run(&muscle, 0.0, seconds);
                closed = muscle.pieces(closed, 0.0, seconds)[1].end();
                assert!(near(full.tired, closed, 0.01), "{name} {load} at rest");
            }
        }
        for load in [0.3, 0.5, 0.7] {
            let full = Full::fresh(0.0).fails(&muscle, load);
            let closed = muscle.endurance(load).unwrap();
            assert!(near(full, closed, 0.5), "{name} {load}: {full} {closed}");
        }
    }
    // The reference gives 108.4 s for the full simulation at one half.
    let half = Full::fresh(0.0).fails(&GENERAL, 0.5);
    assert!(near(half, 108.4, 0.15), "{half}");
}

fn band(instrument: &str, players: &str) -> Band {
    let text = format!(
        "name = \"Test\"\n[[part]]\nname = \"Part\"\ninstrument = \"{instrument}\"\nplayers = {{ {players} }}\n"
    );
    read_band(&text).unwrap()
}

fn note(from: f64, to: f64, pitch: u8, dynamic: Dynamic) -> TimedNote {
    TimedNote {
        from,
        to,
        pitch: Sounding::nearest(i32::from(pitch)),
        dynamic,
    }
}

#[test]
fn effort_as_worked() {
    // A range of 100 semitones makes the place in it a percentage.
    let mut range = instruments().unwrap()[0].range(Level::Advanced);
    range.comfortable.low.0 = 0;
    range.stretch.high.0 = 100;
    let at = |place: i16, dynamic| {
        bare_effort(range, bandwright::music::Written(place), dynamic).unwrap()
    };
    let worked = [
        (0, 0.15),
        (25, 0.21),
        (50, 0.31),
        (75, 0.44),
        (100, 0.60),
        (120, 0.74),
    ];
    for (place, value) in worked {
        let found = at(place, Dynamic::Mf);
        assert!(near(found, value, 0.0051), "{place}: {found}");
    }
    assert!(near(at(-20, Dynamic::Mf), 0.15, 1e-12));
    assert!(near(at(0, Dynamic::P), 0.05, 1e-12));
    assert!(near(at(50, Dynamic::F) - at(50, Dynamic::Mf), 0.10, 1e-12));
    assert!(near(at(50, Dynamic::Ff) - at(50, Dynamic::Mf), 0.15, 1e-12));
    assert!(near(at(200, Dynamic::Ff), 1.0, 1e-12));
}

#[test]
fn families_bear_their_share_and_marching_more() {
    let at = |id: &str, conditions| {
        let band = band(id, "advanced = 1");
        let part = &band.parts[0];
        let low = part.instrument.range(Level::Advanced).comfortable.low;
        effort(
            &part.instrument,
            Level::Advanced,
            low,
            Dynamic::Mf,
            conditions,
        )
        .unwrap()
    };
    let shares = [
        ("trumpet", 1.0),
        ("mellophone", 1.0),
        ("trombone", 0.85),
        ("sousaphone", 0.75),
        ("oboe", 0.6),
        ("bassoon", 0.6),
        ("clarinet_bb", 0.4),
        ("sax_baritone", 0.4),
        ("flute", 0.3),
    ];
    for (id, share) in shares {
        let seated = at(id, SEATED).unwrap();
        assert!(near(seated, 0.15 * share, 1e-12), "{id}: {seated}");
        let marching = at(id, Conditions::default()).unwrap();
        assert!(near(marching, 1.25 * seated, 1e-12), "{id}");
    }
    for id in ["marimba", "timpani", "double_bass", "synth"] {
        assert_eq!(at(id, SEATED), None, "{id}");
    }
}

#[test]
fn every_wind_has_a_load_and_nothing_else() {
    for instrument in instruments().unwrap() {
        let band = band(&instrument.id, "intermediate = 1");
        let load = part_load(&band.parts[0], &[], SEATED).unwrap();
        assert_eq!(load.is_some(), instrument.wind, "{}", instrument.id);
    }
}

/// A long high forte line: advanced players hold it longest; the part counts as its weakest.
#[test]
fn the_weakest_stand_for_the_part() {
    let band = band("trumpet", "first_year = 1, advanced = 2");
    let part = &band.parts[0];
    let notes: Vec<TimedNote> = (0..60)
        .map(|i| note(f64::from(i), f64::from(i) + 0.9, 70, Dynamic::F))
        .collect();
    let load = part_load(part, &notes, Conditions::default())
        .unwrap()
        .unwrap();
    let levels: Vec<Level> = load.levels.iter().map(|l| l.level).collect();
    assert_eq!(levels, [Level::FirstYear, Level::Advanced]);
    let weakest = load.weakest().unwrap();
    assert_eq!(
        weakest.tired,
        tired(part, &notes, Conditions::default()).unwrap()
    );
    let (weak, strong) = (&load.levels[0], &load.levels[1]);
    assert!(weak.tired[59] > strong.tired[59]);
    assert!(weak.runs_out.is_some() && strong.runs_out.is_none());
    assert!(weak.low_seconds > 0.0 && weak.lack > 0.0 && strong.lack < weak.lack);
    let least = weak.least.unwrap();
    assert!(weak.reserve.iter().all(|r| *r >= weak.reserve[least]));
}

#[test]
fn low_reserve_is_timed() {
    // 0.4 for 180 s: the reserve is under .15 once MF is over .45.
    let muscle = GENERAL;
    let [met, failing] = muscle.pieces(0.0, 0.4, 180.0);
    let start = met.until(0.45).unwrap();
    let (long, lack) = met.above(0.45);
    assert!(near(long, met.seconds - start, 1e-9));
    let steps = 100_000;
    let step = met.seconds / f64::from(steps);
    let sum: f64 = (0..steps)
        .map(|i| (met.at((f64::from(i) + 0.5) * step) - 0.45).max(0.0) * step)
        .sum();
    assert!(near(lack, sum, 1e-5), "{lack} {sum}");
    assert!(near(failing.above(0.45).0, failing.seconds, 1e-12));
    assert_eq!(met.above(0.9), (0.0, 0.0));
}

#[test]
fn short_gaps_count_as_load() {
    let band = band("trumpet", "intermediate = 1");
    let part = &band.parts[0];
    let after = |gap: f64| {
        let notes = [
            note(0.0, 20.0, 67, Dynamic::Mf),
            note(20.0 + gap, 30.0 + gap, 67, Dynamic::Mf),
        ];
        tired(part, &notes, SEATED).unwrap()[1]
    };
    assert!(after(0.49) > after(0.0));
    assert!(after(0.51) < after(0.0));
    assert!(after(20.0) < after(0.51));
}

#[test]
fn working_limits_as_published() {
    let of = |level| working_limits(level, SEATED).unwrap();
    let rows = [
        (Level::FirstYear, [15.0, 0.40, 3.0, 0.05, 0.0, 0.03]),
        (Level::SecondYear, [25.0, 0.33, 5.0, 0.10, 1.0, 0.05]),
        (Level::Intermediate, [40.0, 0.28, 8.0, 0.15, 2.0, 0.10]),
        (Level::Advanced, [60.0, 0.22, 12.0, 0.20, 4.0, 0.15]),
        (Level::AllState, [90.0, 0.18, 20.0, 0.25, 8.0, 0.20]),
    ];
    for (level, row) in rows {
        let l = of(level);
        let found = [
            l.playing_seconds,
            l.rest_share,
            l.high_seconds,
            l.high_share,
            l.above_seconds,
            l.loud_high_share,
        ];
        assert_eq!(found, row, "{level}");
    }
    let marching = |level| working_limits(level, Conditions::default()).unwrap();
    assert_eq!(marching(Level::AllState), of(Level::Advanced));
    assert_eq!(marching(Level::FirstYear), of(Level::FirstYear));
}

fn asked(part: &Part, notes: &[TimedNote], bars: &[f64]) -> bandwright::band::load::Worked {
    worked(part, Level::Intermediate, notes, bars)
        .unwrap()
        .unwrap()
}

#[test]
fn what_is_asked_of_brass() {
    let band = band("trumpet", "intermediate = 1");
    let part = &band.parts[0];
    let top = part.instrument.range(Level::Intermediate).comfortable.high;
    let top = part.instrument.transposition.sounding(top).unwrap().midi();
    // Forty bars of two seconds; a note in each of 1.5 s, then a rest of four bars, then more.
    let bars: Vec<f64> = (0..=40).map(|b| 2.0 * f64::from(b)).collect();
    let mut notes: Vec<TimedNote> = (0..40)
        .filter(|b| !(10..14).contains(b))
        .map(|b| {
            note(
                2.0 * f64::from(b),
                2.0 * f64::from(b) + 1.5,
                top - 12,
                Dynamic::F,
            )
        })
        .collect();
    notes[0].pitch = Sounding::nearest(i32::from(top) - 3);
    notes[1].pitch = Sounding::nearest(i32::from(top) - 4);
    notes[5].pitch = Sounding::nearest(i32::from(top) + 1);
    notes[6].pitch = Sounding::nearest(i32::from(top) + 1);
    notes[6].dynamic = Dynamic::Mf;
    let found = asked(part, &notes, &bars);
    assert!(near(found.playing.seconds, 26.0 * 1.5, 1e-9));
    assert_eq!((found.playing.first, found.playing.last), (10, 35));
    let (share, first) = found.rest.unwrap();
    assert!(near(share, 1.0 - 28.0 * 1.5 / 64.0, 1e-9), "{share}");
    assert_eq!(first, 0);
    assert!(near(found.high_share, 3.0 / 36.0, 1e-9));
    assert!(near(found.loud_high_share, 2.0 / 36.0, 1e-9));
    // A gap of half a second is a rest.
    assert!(near(found.high.seconds, 1.5, 1e-9));
    assert_eq!((found.above.first, found.above.last), (5, 5));
    let limits = working_limits(Level::Intermediate, SEATED).unwrap();
    assert_eq!(found.exceeded(&limits), []);
    let marching = working_limits(Level::Intermediate, Conditions::default()).unwrap();
    assert_eq!(found.exceeded(&marching).len(), 3);
    assert_eq!(asked(part, &notes[..5], &bars[..32]).rest, None);
    let flute = self::band("flute", "intermediate = 1");
    assert_eq!(
        worked(&flute.parts[0], Level::Intermediate, &notes, &bars).unwrap(),
        None
    );
}

#[test]
fn cautions_defer() {
    for about in [Caution::Reserve, Caution::High, Caution::Marching] {
        let text = caution(about);
        assert!(
            text.contains("director") && text.contains("local rules"),
            "{text}"
        );
        assert!(text.contains("medical advice"), "{text}");
    }
}

fn shows() -> impl Strategy<Value = Vec<TimedNote>> {
    let one = (0.0..4.0_f64, 0.05..20.0_f64, 52_u8..84, 0_usize..7);
    proptest::collection::vec(one, 1..25).prop_map(|all| {
        let mut now = 0.0;
        let timed = |(gap, long, pitch, dynamic): (f64, f64, u8, usize)| {
            let from = now + gap;
            now = from + long;
            note(from, now, pitch, Dynamic::ALL[dynamic])
        };
        all.into_iter().map(timed).collect()
    })
}

fn levels() -> impl Strategy<Value = Level> {
    (0_usize..5).prop_map(|i| Level::ALL[i])
}

proptest! {
    #[test]
    fn tired_is_a_share(notes in shows(), level in levels(), mid in any::<bool>()) {
        let band = band("trumpet", &format!("{} = 1", level.word()));
        let start = if mid { Start::MidProgramme } else { Start::Fresh };
        let conditions = Conditions { posture: Posture::Marching, start };
        let load = player_load(&band.parts[0], level, &notes, conditions).unwrap();
        prop_assert_eq!(load.tired.len(), notes.len());
        prop_assert!(load.tired.iter().all(|t| (0.0..=1.0).contains(t)));
        prop_assert!(load.reserve.iter().all(|r| (-1.0..=1.0).contains(r)));
        prop_assert!(load.lack >= 0.0 && load.low_seconds >= 0.0);
    }

    #[test]
    fn more_effort_tires_more(tired in 0.0..1.0_f64, u in 0.05..1.0_f64, more in 0.0..0.5_f64, t in 0.0..600.0_f64) {
        let low = GENERAL.pieces(tired, u, t)[1].end();
        let high = GENERAL.pieces(tired, (u + more).min(1.0), t)[1].end();
        prop_assert!(high >= low - 1e-12);
        prop_assert!(low >= GENERAL.pieces(tired, 0.0, t)[1].end() - 1e-12);
    }

    #[test]
    fn from_fresh_longer_tires_more(u in 0.0..1.0_f64, t in 0.0..600.0_f64, more in 0.0..600.0_f64) {
        let short = GENERAL.pieces(0.0, u, t)[1].end();
        prop_assert!(GENERAL.pieces(0.0, u, t + more)[1].end() >= short - 1e-12);
    }

    #[test]
    fn rest_never_tires(tired in 0.0..1.0_f64, t in 0.0..600.0_f64) {
        prop_assert!(GENERAL.pieces(tired, 0.0, t)[1].end() <= tired);
    }

    #[test]
    fn two_halves_are_the_whole(notes in shows(), at in 0.0..1.0_f64, which in any::<prop::sample::Index>()) {
        let band = band("horn", "second_year = 1");
        let which = which.index(notes.len());
        let mut split = notes.clone();
        let cut = notes[which].from + at * (notes[which].to - notes[which].from);
        split[which].to = cut;
        split.insert(which + 1, TimedNote { from: cut, ..notes[which] });
        let whole = player_load(&band.parts[0], Level::SecondYear, &notes, SEATED).unwrap();
        let halves = player_load(&band.parts[0], Level::SecondYear, &split, SEATED).unwrap();
        prop_assert!(near(*whole.tired.last().unwrap(), *halves.tired.last().unwrap(), 1e-9));
        prop_assert!(near(whole.low_seconds, halves.low_seconds, 1e-6));
        prop_assert!(near(whole.lack, halves.lack, 1e-6));
    }

    #[test]
    fn a_softer_show_tires_no_more(notes in shows(), level in levels()) {
        let band = band("trombone", &format!("{} = 1", level.word()));
        let softer: Vec<TimedNote> = notes.iter().map(|n| TimedNote { dynamic: Dynamic::Pp, ..*n }).collect();
        let (loud, soft) = (
            tired(&band.parts[0], &notes, SEATED).unwrap(),
            tired(&band.parts[0], &softer, SEATED).unwrap(),
        );
        prop_assert!(loud.iter().zip(&soft).all(|(l, s)| l >= &(s - 1e-12)));
    }
}
