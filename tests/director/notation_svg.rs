//! Any line as notation: nothing of it is lost, every bar has its place, and it is well-formed.

use super::{all, of_class, parsed};
use bandwright::band::find_instrument;
use bandwright::export::stave_svg::{StaveMusic, systems};
use bandwright::music::{
    BarNumber, KeySignature, Meter, MeterMap, Mode, Sounding, SpelledName, TempoMap, Tick, Ticks,
    TicksPerQuarter, meter::MeterChange,
};
use bandwright::notation::PartStave;
use bandwright::score::{DraftNote, Role, dynamic_marks, tempo_marks};
use proptest::prelude::*;
use std::collections::BTreeSet;

const INSTRUMENTS: [&str; 5] = ["flute", "clarinet_bb", "horn", "trombone", "tuba"];

fn notes() -> impl Strategy<Value = Vec<DraftNote>> {
    let note = (0_u64..1500, 30_u64..4000, 40_u8..90, 1_u8..=127);
    prop::collection::vec(note, 1..80).prop_map(|all| {
        let mut at = 0;
        let mut notes = Vec::new();
        for (gap, long, pitch, velocity) in all {
            at += gap;
            notes.push(DraftNote {
                onset: Tick(at),
                pitch: Sounding::new(pitch).unwrap(),
                duration: Ticks(long),
                velocity,
                role: Role::Harmony,
                locked: false,
            });
            at += long;
        }
        notes
    })
}

proptest! {
    #[test]
    fn any_line_is_written_whole(
        notes in notes(),
        instrument in 0_usize..INSTRUMENTS.len(),
        fifths in -6_i8..=6,
        turn in 1_u64..20,
        width in 30_f32..200.0,
        words in "\\PC{0,12}",
    ) {
        let quarter = TicksPerQuarter::new(480).unwrap();
        let three = Meter::new(3, 2).unwrap();
        let meters = MeterMap::new(quarter, [MeterChange { at: Tick(1920 * turn), meter: three }]);
        let key = |fifths| KeySignature::new(fifths, Mode::Major).unwrap();
        let keys = [(Tick(0), key(fifths)), (Tick(1920 * (turn + 2)), key(-fifths))];
        let instrument = find_instrument(INSTRUMENTS[instrument]).unwrap();
        let name = |_, pitch: Sounding| SpelledName::in_key(pitch.class(), key(fifths));
        let stave = PartStave::of(&instrument, &notes, false, name);
        let end = notes.iter().map(DraftNote::end).max().unwrap();
        let music = StaveMusic {
            stave: &stave,
            meters: &meters,
            keys: &keys,
            end,
            dynamics: &dynamic_marks(&notes, Ticks(480)),
            breaths: &[notes[0].onset],
            marks: &[(Tick(1920), words)],
            tempos: &tempo_marks(&TempoMap::new(quarter, []), &meters),
            spots: &[(BarNumber(1), 1)],
        };
        let found = systems(&music, width);
        prop_assert_eq!(&found, &systems(&music, width));
        let mut heads = BTreeSet::new();
        let mut next = 1;
        for system in &found {
            prop_assert_eq!(system.first.0, next);
            next = system.last.0 + 1;
            let xml = parsed(&system.svg);
            for head in of_class(xml.root(), "h") {
                heads.insert(head.attribute("data-note").unwrap().parse::<usize>().unwrap());
            }
            prop_assert!(!system.svg.contains("NaN") && !system.svg.contains("inf"));
            let svg = all(xml.root(), "svg")[0];
            let box_of: Vec<f32> = svg.attribute("viewBox").unwrap()
                .split(' ').map(|n| n.parse().unwrap()).collect();
            prop_assert!(box_of[2] >= 10.0 * width - 1.0 && box_of[3] > 0.0);
            for sign in all(svg, "text") {
                let y: f32 = sign.attribute("y").unwrap().parse().unwrap();
                prop_assert!(y >= 0.0 && y <= box_of[3], "{} of {}", y, box_of[3]);
            }
        }
        prop_assert_eq!(next - 1, meters.bar(Tick(end.0 - 1)).0);
        prop_assert_eq!(heads, (0..notes.len()).collect::<BTreeSet<usize>>());
    }
}
