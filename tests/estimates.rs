//! The plan's estimates, held against the reviewer, the load model and what always holds.

use crate::midi_file::{File, tone};
use bandwright::band::chance::usual_posture;
use bandwright::band::load::{Conditions, Start, TimedNote, tired};
use bandwright::band::{Band, preset, preset_names, read_band};
use bandwright::music::{Interval, Sounding};
use bandwright::plan::estimates::{
    Doublings, Powers, Sums, best_octave, covered_by, density, heard_by, load_steps, loudness,
    tune_presence, wanted_texture,
};
use bandwright::plan::habits::{Strength, usual_ways};
use bandwright::plan::passages::passages;
use bandwright::plan::{Lines, PartRole, PlanWeights, Setting, Term};
use bandwright::project::given::Given;
use bandwright::project::whole_way::whole_way;
use bandwright::score::{Locks, Passage, Role};
use bandwright::sketch::{ReadOptions, Reading, Song, read_sketch_with, read_song};
use proptest::prelude::*;
use std::collections::BTreeMap;

const DEMO: &[u8] = include_bytes!("../assets/demo/harvest-lights.mid");

/// A sketch as the plan has it.
pub struct Sketch {
    pub song: Song,
    pub reading: Reading,
    pub lines: Lines,
    pub passages: Vec<Passage>,
    pub locks: Locks,
    pub weights: PlanWeights,
    pub taken: BTreeMap<usize, usize>,
}

impl Sketch {
    pub fn of(song: Song) -> Self {
        let reading = read_sketch_with(&song, &ReadOptions::default());
        Self::read(song, reading)
    }

    pub fn read(song: Song, reading: Reading) -> Self {
        Self {
            passages: passages(&reading, &song.meters, &song.markers, None),
            lines: Lines::of(&reading, &song.tempo),
            reading,
            song,
            locks: Locks::default(),
            weights: PlanWeights::default(),
            taken: BTreeMap::new(),
        }
    }

    pub fn setting<'a>(&'a self, band: &'a Band) -> Setting<'a> {
        Setting {
            band,
            reading: &self.reading,
            lines: &self.lines,
            passages: &self.passages,
            meters: &self.song.meters,
            tempo: &self.song.tempo,
            signatures: &[],
            locks: &self.locks,
            weights: &self.weights,
            reliable: false,
            taken: &self.taken,
        }
    }
}

fn demo() -> Sketch {
    Sketch::of(read_song(DEMO).unwrap())
}

fn role(role: Role) -> PartRole {
    PartRole { role, octave: 0 }
}

fn with(mut roles: Vec<PartRole>, part: usize, to: Role) -> Vec<PartRole> {
    roles[part] = role(to);
    roles
}

/// The plan's numbers beside those of the reviewer, who hears the notes.
#[test]
fn presence_is_near_what_the_reviewer_finds() {
    let sketch = demo();
    let (mut off, mut count, mut agree) = (0.0, 0_u32, 0);
    let (mut heard, mut covered_tunes) = (Vec::new(), Vec::new());
    println!(
        "band, passage, plain dB (plan, reviewer), covered by (plan) and whether (reviewer), share heard, heard by (plan), how it lies (both)"
    );
    for name in preset_names() {
        let band = preset(name).unwrap();
        // Where presence counts less than usual there are tunes of both kinds, heard and covered.
        let given = Given {
            plan_weights: PlanWeights::default()
                .scaled(Term::Presence, 0.4)
                .scaled(Term::Evidence, 0.5),
            ..Given::default()
        };
        let way = whole_way(&sketch.song, &band, &given, &mut |_| {});
        let powers = Powers::of_passages(&sketch.setting(&band));
        for (i, (planned, found)) in way
            .plan
            .passages
            .iter()
            .zip(&way.weighed.presence)
            .enumerate()
        {
            let Some(tune) = found.tune else { continue };
            let plain = tune_presence(&powers[i], &planned.roles).0;
            let covered = covered_by(&band, &powers[i], &planned.roles);
            let lies = Sums::of(&powers[i], &planned.roles).situation(&powers[i]);
            println!(
                "{name:16} {i:7} {plain:12.1} {:6.1} {covered:15.1} {:>7} {:6.2} {:>6.1} {lies:?} {:?}",
                tune.plain_db.0,
                tune.covered(),
                tune.heard,
                heard_by(&band, &powers[i], &planned.roles).0,
                tune.situation
            );
            let by_ear = heard_by(&band, &powers[i], &planned.roles).0;
            if tune.heard >= 0.5 {
                heard.push((by_ear, plain));
            } else {
                covered_tunes.push((by_ear, plain));
            }
            off += (plain - tune.plain_db.0).abs();
            agree += u32::from((covered > 0.0) == tune.covered());
            count += 1;
        }
    }
    let mean = off / f64::from(count);
    println!("plain: {mean:.2} dB off on the mean; covered or not: {agree} of {count} agree");
    // Of two passages, one with a tune that is heard and one without: how often the estimate tells which.
    let pairs = || {
        heard
            .iter()
            .flat_map(|h| covered_tunes.iter().map(move |c| (h, c)))
    };
    let told = |which: &dyn Fn(&(f64, f64)) -> f64| {
        let right = pairs().filter(|(h, c)| which(h) > which(c)).count();
        right as f64 / pairs().count() as f64
    };
    let (by_ear, by_power) = (told(&|x| x.0), told(&|x| x.1));
    println!("which of two tunes is heard: told by ear {by_ear:.2}, by power alone {by_power:.2}");
    assert!(by_ear > 0.8 && by_ear > by_power);
    assert!(mean < 1.5);
    assert!(5 * agree > 4 * count);
}

/// What the usual ways come to on the bands in the presets, by strength.
#[test]
fn what_is_wanted_lies_near_the_usual_ways() {
    let bands = [
        "small-marching",
        "medium-marching",
        "large-marching",
        "demo",
        "concert",
    ];
    let sketch = demo();
    for (strength, middle) in [
        (Strength::Hush, 1.0),
        (Strength::Soft, 3.5),
        (Strength::Middle, 5.5),
        (Strength::Strong, 7.5),
        (Strength::Peak, 9.5),
    ] {
        let (mut below, mut players, mut count) = (0.0, 0.0, 0.0);
        for name in bands {
            let band = preset(name).unwrap();
            let powers = Powers::of_passages(&sketch.setting(&band));
            for way in usual_ways()
                .unwrap()
                .iter()
                .filter(|w| w.intensity == strength)
            {
                let of = |part: &bandwright::band::Part| {
                    let named = |who: &[bandwright::plan::habits::Who]| {
                        who.iter().find(|w| w.means(part)).map(|w| w.octave)
                    };
                    let lines = [
                        (Role::Melody, &way.melody),
                        (Role::Counterline, &way.counterline),
                        (Role::Bass, &way.bass),
                        (Role::Harmony, &way.harmony),
                    ];
                    let found = lines
                        .iter()
                        .find_map(|(role, who)| Some((*role, named(who)?)));
                    found.map_or(role(Role::Rest), |(role, octave)| PartRole { role, octave })
                };
                let roles: Vec<PartRole> = band.parts.iter().map(of).collect();
                for p in &powers {
                    // A line that the passage does not have is filled with chords, as in the plan.
                    let sounds = |(i, r): (usize, &PartRole)| match p.sound(i, *r).share > 0.0 {
                        true => *r,
                        false if r.role == Role::Rest || !band.parts[i].instrument.wind => *r,
                        false => role(Role::Harmony),
                    };
                    let roles: Vec<PartRole> = roles.iter().enumerate().map(sounds).collect();
                    below += p.below_tutti(&roles).0;
                    players += density(p, &roles);
                    count += 1.0;
                }
            }
        }
        let (below, players) = (below / count, players / count);
        let wanted = wanted_texture(middle).unwrap();
        println!(
            "{strength:?}: {below:.1} dB below the whole band ({:.1} wanted), {players:.2} of the players ({:.2})",
            wanted.below_tutti.0, wanted.players
        );
        assert!((below - wanted.below_tutti.0).abs() < 2.0);
        assert!((players - wanted.players).abs() < 0.15);
    }
}

#[test]
fn a_passage_tires_as_the_load_model_says() {
    let sketch = demo();
    let band = preset("medium-marching").unwrap();
    let how = Conditions {
        posture: usual_posture(&band),
        start: Start::Fresh,
    };
    let loads = load_steps(&sketch.setting(&band), how).unwrap();
    let mut tried = 0;
    for (passage, of_parts) in sketch.passages.iter().zip(&loads) {
        let line = &sketch.lines.melody;
        let notes = &line.notes[line.within(passage.start, passage.end)];
        let pitches: Vec<Sounding> = notes.iter().map(|n| n.pitch).collect();
        for (part, load) in band.parts.iter().zip(of_parts) {
            let (octave, reached) = best_octave(&part.limits, &pitches, 0);
            if reached < notes.len() || notes.is_empty() {
                continue;
            }
            let seconds = |at| sketch.song.tempo.seconds(at);
            let timed = |n: &bandwright::plan::LineNote| TimedNote {
                from: seconds(n.onset),
                to: seconds(n.end.min(passage.end)),
                pitch: n.pitch.up(Interval::octaves(octave)).unwrap(),
                dynamic: n.moment.dynamic,
            };
            let notes: Vec<TimedNote> = notes.iter().map(timed).collect();
            let by_model = tired(part, &notes, how).unwrap();
            let step = load.step(role(Role::Melody));
            let last = notes.last().unwrap().to;
            let to = seconds(passage.end);
            // The step goes on to the end of the passage; the model stops at the last note.
            if to - last > 1e-9 {
                continue;
            }
            let after = step.after(0.0);
            assert!(
                (after - by_model.last().unwrap()).abs() < 1e-9,
                "{}",
                part.name
            );
            tried += usize::from(step.effort > 0.0);
        }
    }
    assert!(tried > 20, "{tried}");
}

/// A third trumpet is over what is usual where a first is not, and no part is where it lies low.
#[test]
fn high_notes_are_for_first_parts() {
    let sketch = Sketch::of(
        File::piano(
            (0..16)
                .map(|i| tone(i * 480, 74 + [0, 1, 3, 1][i as usize % 4], 480))
                .collect(),
        )
        .song(),
    );
    let band = preset("demo").unwrap();
    let powers = &Powers::of_passages(&sketch.setting(&band))[0];
    let trumpets = (0..band.parts.len()).filter(|i| band.parts[*i].instrument.id == "trumpet");
    let over: Vec<f64> = trumpets
        .map(|i| powers.sound(i, role(Role::Melody)).over_usual)
        .collect();
    println!("{over:?}");
    assert!(over.len() == 3 && over[0] == 0.0 && over[2] > 0.0);
}

#[test]
fn every_usual_doubling_is_there_in_a_full_band() {
    let band = preset("concert").unwrap();
    let found = Doublings::of(&band).unwrap();
    let names: std::collections::BTreeSet<&str> = found.pairs.iter().map(|p| p.name).collect();
    let rows = include_str!("../presets/usual-doublings.toml")
        .matches("[[pair]]")
        .count();
    assert_eq!(names.len(), rows, "{names:?}");
}

fn five_parts(players: u16) -> Band {
    let part = |name: &str, id: &str, n: u16| {
        format!(
            "[[part]]\nname = \"{name}\"\ninstrument = \"{id}\"\nplayers = {{ intermediate = {n} }}\n"
        )
    };
    let text = [
        "name = \"Five\"\n".to_owned(),
        part("Flute", "flute", 3),
        part("Clarinet", "clarinet_bb", players),
        part("Trumpet", "trumpet", 2),
        part("Trombone", "trombone", 2),
        part("Tuba", "tuba", 1),
        part("Marimba", "marimba", 1),
    ];
    read_band(&text.concat()).unwrap()
}

fn small_sketch() -> Sketch {
    let tune = (0..32).map(|i| tone(i * 480, 72 + [0, 2, 4, 7, 5, 4, 2, 0][i as usize % 8], 480));
    let chords = (0..8).flat_map(|b| [48, 60, 64, 67].map(|p| tone(b * 1920, p, 1900)));
    Sketch::of(File::piano(tune.chain(chords).collect()).song())
}

pub fn any_role() -> impl Strategy<Value = PartRole> {
    let roles = vec![
        Role::Melody,
        Role::Counterline,
        Role::Harmony,
        Role::Bass,
        Role::Figure,
        Role::Rest,
    ];
    (prop::sample::select(roles), -2_i16..=2).prop_map(|(role, octave)| PartRole { role, octave })
}

proptest! {
    #[test]
    fn more_players_give_more(players in 1_u16..12, role in any_role()) {
        let sketch = small_sketch();
        let power = |n: u16| {
            let band = five_parts(n);
            let powers = Powers::of_passages(&sketch.setting(&band));
            powers[0].sound(1, role).power
        };
        let (fewer, more) = (power(players), power(players + 1));
        prop_assert!(more > fewer || more == 0.0 && fewer == 0.0);
        if fewer > 0.0 {
            let ratio = f64::from(players + 1) / f64::from(players);
            prop_assert!((more / fewer - ratio).abs() < 1e-9);
        }
    }

    #[test]
    fn a_part_more_is_never_less(roles in prop::collection::vec(any_role(), 6), part in 0_usize..6) {
        let (sketch, band) = (small_sketch(), five_parts(2));
        let powers = &Powers::of_passages(&sketch.setting(&band))[0];
        let resting = with(roles.clone(), part, Role::Rest);
        let chord = with(roles.clone(), part, Role::Harmony);
        let tune = with(roles.clone(), part, Role::Melody);
        prop_assert!(loudness(powers, &chord) >= loudness(powers, &resting));
        prop_assert!(density(powers, &chord) >= density(powers, &resting));
        prop_assert!(tune_presence(powers, &chord) <= tune_presence(powers, &resting));
        prop_assert!(heard_by(&band, powers, &chord) <= heard_by(&band, powers, &resting));
        // A part lies lower than the tune's first carrier or higher: the sum of power only grows.
        let on_the_tune = |r: &[PartRole]| r.iter().any(|r| r.role == Role::Melody);
        if on_the_tune(&resting) {
            prop_assert!(heard_by(&band, powers, &tune) >= heard_by(&band, powers, &resting));
        }
        let (sums, covered) = (Sums::of(powers, &roles), covered_by(&band, powers, &roles));
        prop_assert!((0.0..=20.0).contains(&covered));
        prop_assert!((0.0..=20.0).contains(&sums.lacks(powers)));
        // Whole sums are those of their parts, in any order.
        let back = (0..6).rev().fold(Sums::default(), |s, i| s.with(powers, i, roles[i]));
        prop_assert!((back.loudness().power() - sums.loudness().power()).abs() <= 1e-6 * sums.loudness().power());
        prop_assert_eq!(back.players(), sums.players());
        prop_assert_eq!(back.situation(powers), sums.situation(powers));
    }

    #[test]
    fn lips_tire_by_playing_and_recover_by_resting(before in 0.0..0.8_f64, more in 0.0..0.2_f64, role in any_role(), part in 0_usize..6) {
        let (sketch, band) = (small_sketch(), five_parts(2));
        let loads = load_steps(&sketch.setting(&band), Conditions::default()).unwrap();
        let (step, rest) = (loads[0][part].step(role), loads[0][part].step(self::role(Role::Rest)));
        prop_assert!(rest.after(before) <= before);
        prop_assert!(step.after(before) >= rest.after(before));
        prop_assert!(step.after(before + more) >= step.after(before));
        prop_assert!(step.least_reserve(before + more) <= step.least_reserve(before));
        let least = step.least_reserve(before);
        prop_assert!(least <= 1.0 - step.effort);
    }

    #[test]
    fn the_more_intense_the_fuller(a in -1.0..12.0_f64, b in -1.0..12.0_f64) {
        let (low, high) = (wanted_texture(a.min(b)).unwrap(), wanted_texture(a.max(b)).unwrap());
        prop_assert!(low.below_tutti >= high.below_tutti && low.players <= high.players);
        prop_assert!((0.0..=1.0).contains(&low.players));
    }

    #[test]
    fn doublings_are_a_share(roles in prop::collection::vec(any_role(), 22), strength in 0_usize..5) {
        let strength = [Strength::Hush, Strength::Soft, Strength::Middle, Strength::Strong, Strength::Peak][strength];
        let band = preset("demo").unwrap();
        let doublings = Doublings::of(&band).unwrap();
        let used = doublings.used(&roles, strength);
        prop_assert!((0.0..=1.0).contains(&used));
        prop_assert!(used == 0.0 || used == 1.0 || doublings.made(&roles, strength).next().is_some());
    }
}
