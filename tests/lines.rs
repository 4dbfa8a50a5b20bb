//! Whole lines keep their octave within a breath.

use bandwright::band::{Band, preset, preset_names};
use bandwright::music::Sounding;
use bandwright::plan::{Lines, line::OneLine};
use bandwright::project::given::Given;
use bandwright::project::whole_way::{WholeWay, whole_way};
use bandwright::score::{PartLine, Role};
use bandwright::sketch::{Song, read_song};

fn demo() -> Song {
    read_song(include_bytes!("../assets/demo/harvest-lights.mid")).unwrap()
}

/// For every part, the octaves in which it plays each breath of a line. Timpani carry no line: they strike
/// some of its notes, each on the drum that has it.
fn octaves_by_breath(way: &WholeWay, band: &Band, line: &OneLine, role: Role) -> Vec<Vec<i16>> {
    let mut all = Vec::new();
    let carries = |p: &&PartLine| band.part(p.part).instrument.id != "timpani";
    for part in way.voiced.draft.lines.iter().filter(carries) {
        for breath in &line.breaths {
            let notes = &line.notes[breath.clone()];
            let offset = |at, sketch: Sounding| {
                let own = part
                    .notes
                    .iter()
                    .find(|n| n.onset == at && n.role == role && !n.locked)?;
                Some(sketch.to(own.pitch).0)
            };
            let mut octaves: Vec<i16> = notes
                .iter()
                .filter_map(|n| offset(n.onset, n.pitch))
                .collect();
            octaves.dedup();
            all.push(octaves);
        }
    }
    all
}

#[test]
fn tune_and_bass_change_octave_only_between_breaths() {
    let song = demo();
    let bands: Vec<Band> = preset_names().map(|n| preset(n).unwrap()).collect();
    for band in bands {
        let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
        let lines = Lines::of(&way.reading, &song.tempo);
        for (role, line) in [(Role::Melody, &lines.melody), (Role::Bass, &lines.bass)] {
            let octaves = octaves_by_breath(&way, &band, line, role);
            assert!(
                octaves.iter().any(|o| !o.is_empty()),
                "{}: nobody carries the {role}",
                band.name
            );
            for breath in octaves {
                assert!(
                    breath.iter().all(|o| o % 12 == 0),
                    "{}: {breath:?}",
                    band.name
                );
                assert!(breath.len() <= 1, "{}: {role} in {breath:?}", band.name);
            }
        }
    }
}
