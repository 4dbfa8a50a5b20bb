//! The ways of scoring one passage that are searched: sections of the band, and what each may do.

use super::estimates::WISHES;
use super::fits::MORE_THAN;
use super::habits::Way;
use super::scene::{Scene, share};
use super::search::{Best, Field, Minorant, Mode, best};
use super::solve::PartRole;
use super::terms::{Term, unlike};
use super::usual::{REST, plain};
use crate::band::{Band, Exposure, Part, PartId, is_weak_alone};
use crate::score::Role;

/// After so many steps the search for the best way, and for each further one, gives up proving: what it found by
/// then is good (on the demo the best way is found long before it is proven), and the bound still holds.
pub(super) const MOST_NODES: [usize; 2] = [1000, 350];

/// Parts that do the same in a passage: a first part, or lower parts of one instrument that do not differ in
/// what they can.
pub(super) struct Section {
    /// Its parts.
    pub parts: Vec<usize>,
    /// What they may do.
    pub options: Vec<PartRole>,
}

/// All ways of scoring a passage that are searched.
pub(super) struct Space<'s, 'a> {
    scene: &'s Scene<'a>,
    /// The sections, those that sound loudest first.
    pub sections: Vec<Section>,
}

impl<'s, 'a> Space<'s, 'a> {
    /// That of a passage.
    pub fn of(scene: &'s Scene<'a>, ways: &[Way]) -> Self {
        let band = scene.stage.band;
        let mut sections: Vec<Section> = Vec::new();
        let choices = Choices::of(scene, ways);
        for (i, part) in band.parts.iter().enumerate() {
            let options = choices.of_part(i, part);
            let same = |s: &&mut Section| {
                let first = s.parts[0];
                s.options == options && go_together(scene, first, i)
            };
            match sections.iter_mut().find(same) {
                Some(section) => section.parts.push(i),
                None => sections.push(Section {
                    parts: vec![i],
                    options,
                }),
            }
        }
        let loudest = |s: &Section| {
            let powers = s.options.iter().flat_map(|o| {
                let parts = s.parts.iter();
                parts.map(|p| scene.powers.sound(*p, *o).power)
            });
            powers.fold(0.0, f64::max)
        };
        sections.sort_by(|a, b| loudest(b).total_cmp(&loudest(a)));
        Self { scene, sections }
    }

    /// The roles of all parts for a choice of an option for each section.
    pub fn roles(&self, picks: &[usize]) -> Vec<PartRole> {
        let mut roles = vec![REST; self.scene.stage.band.parts.len()];
        for (section, pick) in self.sections.iter().zip(picks) {
            for part in &section.parts {
                roles[*part] = section.options[*pick];
            }
        }
        roles
    }

    /// The best ways of scoring, at least so far apart.
    pub fn best(&self, count: usize, far: f64, most_nodes: [usize; 2]) -> Best {
        let parts = &self.scene.stage.band.parts;
        let all: f64 = parts.iter().map(share).sum();
        let whole = |picks: &[usize]| {
            let mut sum = 0.0;
            self.scene
                .whole(&self.roles(picks), &mut |_, points| sum += points);
            sum
        };
        let least = |tune, rest| self.scene.least_presence(tune, rest);
        let distance = |section: usize, a: usize, b: usize| {
            let of = &self.sections[section];
            let size: f64 = of.parts.iter().map(|p| share(&parts[*p])).sum();
            size * unlike(of.options[a], of.options[b]) / all.max(1.0)
        };
        let field = Field {
            modes: self.modes(),
            minorants: self.minorants(),
            sound: self.sounds(),
            whole: &whole,
            least: &least,
            line: &|tune, low, high| self.scene.presence_line(tune, low, high),
            most: self.scene.most_presence(),
            distance: &distance,
            apart: far,
            most_nodes,
        };
        best(&field, count)
    }

    /// A number for each section and option: the sum over its parts.
    fn table(&self, of: &dyn Fn(usize, PartRole) -> f64) -> Vec<Vec<f64>> {
        let row = |s: &Section| -> Vec<f64> {
            let options = s.options.iter();
            options
                .map(|o| s.parts.iter().map(|p| of(*p, *o)).sum())
                .collect()
        };
        self.sections.iter().map(row).collect()
    }

    fn modes(&self) -> Vec<Mode> {
        let own = self.table(&|part, role| {
            let mut sum = 0.0;
            self.scene.own(part, role, &mut |_, points| sum += points);
            sum
        });
        let mode = |way: &super::usual::UsualWay| {
            let mut each = self.table(&|part, role| self.scene.unusual(way, part, role));
            for (row, own) in each.iter_mut().zip(&own) {
                for (cost, own) in row.iter_mut().zip(own) {
                    *cost += own;
                }
            }
            Mode {
                start: self.scene.start_of(way),
                each,
            }
        };
        self.scene.usual.iter().map(mode).collect()
    }

    fn sounds(&self) -> Vec<Vec<[f64; 2]>> {
        let energy = |part: usize, role: PartRole| {
            let sound = self.scene.powers.sound(part, role);
            sound.power * sound.share
        };
        let tune = self.table(&|part, role| match role.role {
            Role::Melody => energy(part, role),
            _ => 0.0,
        });
        let rest = self.table(&|part, role| match role.role {
            Role::Melody => 0.0,
            _ => energy(part, role),
        });
        let rows = tune.into_iter().zip(rest);
        rows.map(|(t, r)| t.into_iter().zip(r).map(|(t, r)| [t, r]).collect())
            .collect()
    }

    /// Sums that are never over the cost as a whole: too few parts for the chord, and too full or too thin.
    fn minorants(&self) -> Vec<Minorant> {
        let scene = self.scene;
        let points = |term| scene.stage.weights.points(term);
        let band = scene.stage.band;
        let chord = points(Term::HarmonyShort);
        let fills = |part: usize, role: PartRole| {
            let wind = band.parts[part].instrument.wind;
            f64::from(u8::from(wind && role.role == Role::Harmony))
        };
        let players = |part: usize, role: PartRole| {
            let part_of = &band.parts[part];
            let sounds = scene.powers.sound(part, role).share > 0.0 && part_of.instrument.wind;
            f64::from(if sounds { part_of.players.count() } else { 0 })
        };
        let per_player = 10.0 * points(Term::Density) / scene.winds;
        let wanted = 10.0 * points(Term::Density) * scene.wanted_players;
        let density = |sign: f64, with_chord: f64| Minorant {
            start: -sign * wanted + 3.0 * chord * with_chord,
            each: self.table(&|p, r| {
                sign * per_player * players(p, r) - with_chord * chord * fills(p, r)
            }),
        };
        vec![
            density(1.0, 0.0),
            density(-1.0, 0.0),
            density(1.0, 1.0),
            density(-1.0, 1.0),
        ]
    }
}

/// Lower parts of one instrument go together where nothing tells them apart: neither remarks nor players nor
/// what usual ways make of them, nor what the arranger's own passages show.
fn go_together(scene: &Scene<'_>, one: usize, other: usize) -> bool {
    let parts = &scene.stage.band.parts;
    let (a, b) = (&parts[one], &parts[other]);
    let said = |p: &Part| {
        let r = &p.remarks;
        let plain = r.lowest.is_none() && r.highest.is_none() && !r.below_the_break;
        let free = r.no_leaps_over.is_none() && r.no_faster_than.is_none();
        let kind = r.exposure == Exposure::Unsaid && r.doubles.is_none() && r.go_easy.is_none();
        !(plain && free && kind && r.rests_every.is_none() && r.accidentals_at_most.is_none())
    };
    let both_lower = a.rank > 1 && b.rank > 1 && a.instrument.id == b.instrument.id;
    let alike = a.players.weakest() == b.players.weakest() && !said(a) && !said(b);
    let strong = !is_weak_alone(a) && !is_weak_alone(b);
    let usual = scene.usual.iter().all(|w| w.role(one) == w.role(other));
    let wishes = |i: usize| {
        let cost = |r: Role| scene.stage.evidence.cost(scene.index, PartId(i), plain(r));
        [Role::Melody, Role::Harmony, Role::Bass, Role::Rest].map(cost)
    };
    both_lower && alike && strong && usual && wishes(one) == wishes(other)
}

/// What parts may do in a passage.
struct Choices<'s, 'a> {
    scene: &'s Scene<'a>,
    /// For each part, the octaves at which usual ways have it carry the tune.
    octaves: Vec<Vec<i16>>,
    /// For each part, whether usual ways have it carry counterlines, and basses.
    counterline: Vec<bool>,
    bass: Vec<bool>,
    figure: Vec<bool>,
}

impl<'s, 'a> Choices<'s, 'a> {
    fn of(scene: &'s Scene<'a>, ways: &[Way]) -> Self {
        let band: &Band = scene.stage.band;
        let named = |of: fn(&Way) -> &[super::habits::Who]| -> Vec<bool> {
            let any = |p: &Part| ways.iter().any(|w| of(w).iter().any(|who| who.means(p)));
            band.parts.iter().map(any).collect()
        };
        let octaves = band.parts.iter().enumerate().map(|(i, part)| {
            let who = ways
                .iter()
                .flat_map(|w| &w.melody)
                .filter(|w| w.means(part));
            let mut all: Vec<i16> = who.map(|w| w.octave).collect();
            all.sort_unstable();
            all.dedup();
            all.retain(|_| scene.fits.carries_tune(i));
            all
        });
        let mut choices = Self {
            scene,
            octaves: octaves.collect(),
            counterline: named(|w| &w.counterline),
            bass: named(|w| &w.bass),
            figure: named(|w| &w.figure),
        };
        choices.let_others_where_nobody_can();
        choices
    }

    /// In a band without the usual carriers of tune or bass, everybody who can may carry them.
    fn let_others_where_nobody_can(&mut self) {
        let fits = &self.scene.fits;
        let parts = self.scene.stage.band.parts.iter().enumerate();
        let pitched: Vec<usize> = parts
            .filter(|(i, p)| p.instrument.id != "timpani" && !self.scene.is_closed(*i))
            .map(|(i, _)| i)
            .collect();
        let share = |i: &usize, role| {
            let fits = fits.of_role(role).and_then(|f| f.get(*i));
            fits.map_or(0.0, |f| f.share)
        };
        let carriers = |i: &&usize| !self.octaves[**i].is_empty();
        let two = pitched.iter().filter(carriers).count() >= 2;
        let whole = pitched
            .iter()
            .any(|i| !self.octaves[*i].is_empty() && share(i, Role::Melody) > 0.99);
        if !(two && whole) {
            for i in &pitched {
                if fits.carries_tune(*i) && self.octaves[*i].is_empty() {
                    self.octaves[*i].push(0);
                }
            }
        }
        let bass = |i: &&usize| self.bass[**i] && share(i, Role::Bass) > MORE_THAN;
        // A high part does not take the bass from a low one that has it.
        if pitched.iter().filter(bass).count() == 0 {
            let none = !pitched.iter().any(|i| self.bass[*i]);
            for i in &pitched {
                // Without anybody who usually has the bass, the lowest voice may be high.
                self.bass[*i] |= fits.can_be_bass(*i) || none && share(i, Role::Bass) > MORE_THAN;
            }
        }
    }

    /// What a part may do. A rest is always among it.
    fn of_part(&self, i: usize, part: &Part) -> Vec<PartRole> {
        let fits = &self.scene.fits;
        let mut options = vec![REST];
        if self.scene.is_closed(i) || part.instrument.id == "timpani" {
            return options;
        }
        let id = PartId(i);
        let octaves = self.octaves[i]
            .iter()
            .copied()
            .chain(self.wished_octaves(id));
        for octave in octaves {
            let role = Role::Melody;
            let tune = PartRole { role, octave };
            if fits.carries_tune(i) && !options.contains(&tune) {
                options.push(tune);
            }
        }
        let wished = |role| self.wishes(id, role);
        if fits.carries_counterline(i) && (self.counterline[i] || wished(Role::Counterline)) {
            options.push(plain(Role::Counterline));
        }
        if fits.carries_bass(i) && (self.bass[i] || wished(Role::Bass)) {
            options.push(plain(Role::Bass));
        }
        let keeps = match (&self.scene.figure, self.scene.figure_wants()) {
            (Some(figure), Some(_)) => figure.carriers.contains(&id),
            _ => fits.has[3] && self.figure[i],
        };
        if keeps {
            options.push(plain(Role::Figure));
        }
        // Mallets fill chords only where a usual way has them do so.
        let fills = |w: &super::usual::UsualWay| w.role(i) == Some(plain(Role::Harmony));
        if part.instrument.wind || self.scene.usual.iter().any(fills) || wished(Role::Harmony) {
            options.push(plain(Role::Harmony));
        }
        options
    }

    fn wishes(&self, part: PartId, role: Role) -> bool {
        let evidence = &self.scene.stage.evidence;
        let of = |r: PartRole| evidence.cost(self.scene.index, part, r);
        of(plain(role)) < of(REST)
    }

    /// Octaves of the tune that the arranger's own passages ask of a part.
    fn wished_octaves(&self, part: PartId) -> Vec<i16> {
        let evidence = &self.scene.stage.evidence;
        let of = |r: PartRole| evidence.cost(self.scene.index, part, r);
        let tune = |octave: &i16| {
            let role = Role::Melody;
            of(PartRole {
                role,
                octave: *octave,
            }) < of(REST)
        };
        WISHES.filter(tune).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::{Band, preset};
    use crate::music::KeySignature;
    use crate::music::Tick;
    use crate::plan::passages::passages;
    use crate::plan::pool::REALLY_DIFFERENT;
    use crate::plan::solve::scenes_of;
    use crate::plan::{Lines, PlanWeights, Setting};
    use crate::score::{Locks, Passage};
    use crate::sketch::{Reading, Song, read_sketch, read_song};
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    const DEMO: &[u8] = include_bytes!("../../assets/demo/harvest-lights.mid");

    struct Demo {
        song: Song,
        reading: Reading,
        lines: Lines,
        passages: Vec<Passage>,
    }

    fn demo() -> Demo {
        let song = read_song(DEMO).unwrap();
        let reading = read_sketch(&song, &[]);
        Demo {
            lines: Lines::of(&reading, &song.tempo),
            passages: passages(&reading, &song.meters, &song.markers, None),
            reading,
            song,
        }
    }

    /// Every choice of an option for each section.
    fn all(space: &Space<'_, '_>) -> Vec<Vec<usize>> {
        let sizes = space.sections.iter().map(|s| s.options.len());
        sizes.fold(vec![Vec::new()], |some: Vec<Vec<usize>>, size| {
            let more = |picks: &Vec<usize>| -> Vec<Vec<usize>> {
                (0..size).map(|o| [&picks[..], &[o]].concat()).collect()
            };
            some.iter().flat_map(more).collect()
        })
    }

    fn some_of(band: &Band, parts: &[usize]) -> Band {
        let mut few = band.clone();
        let mut kept = parts.to_vec();
        kept.sort_unstable();
        kept.dedup();
        few.parts = kept.iter().map(|i| band.parts[*i].clone()).collect();
        few
    }

    const NO_SIGNATURES: &[(Tick, KeySignature)] = &[];

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

        /// The ways of real passages for a few parts of a real band: the same as of going through all.
        #[test]
        fn the_best_ways_are_those_of_going_through_all(
            parts in prop::collection::vec(0..22_usize, 2..6),
            at in 0..16_usize,
            presence in 0.0..3.0_f64,
        ) {
            let demo = demo();
            let band = some_of(&preset("demo").unwrap(), &parts);
            let setting = Setting {
                band: &band,
                reading: &demo.reading,
                lines: &demo.lines,
                passages: &demo.passages[at..=at],
                meters: &demo.song.meters,
                tempo: &demo.song.tempo,
                signatures: NO_SIGNATURES,
                locks: &Locks::default(),
                weights: &PlanWeights::default().scaled(Term::Presence, presence),
                reliable: false,
                taken: &BTreeMap::new(),
            };
            scenes_of(&setting, &|scenes, ways| {
                let space = Space::of(&scenes[0], ways);
                let found = space.best(4, REALLY_DIFFERENT, [usize::MAX; 2]);
                let everything: Vec<Vec<PartRole>> = all(&space).iter().map(|p| space.roles(p)).collect();
                let costs: Vec<f64> = everything.iter().map(|r| scenes[0].cost(r)).collect();
                let mut before: Vec<Vec<PartRole>> = Vec::new();
                for i in 0..4 {
                    let far = everything.iter().zip(&costs).filter(|(r, _)| {
                        before.iter().all(|b| scenes[0].apart(r, b) >= REALLY_DIFFERENT - 1e-9)
                    });
                    let least = far.map(|(_, c)| *c).fold(f64::INFINITY, f64::min);
                    match found.found.get(i) {
                        None => assert!(least.is_infinite()),
                        Some(one) => {
                            assert!((one.cost - least).abs() < 1e-6, "way {i}: {} {least}", one.cost);
                            before.push(space.roles(&one.picks));
                        }
                    }
                }
                // Stopped early, the bound still holds.
                let least = costs.iter().copied().fold(f64::INFINITY, f64::min);
                let early = space.best(1, REALLY_DIFFERENT, [3, 3]);
                assert!(early.lower_bound <= least + 1e-6, "{} {least}", early.lower_bound);
            });
        }
    }
}
