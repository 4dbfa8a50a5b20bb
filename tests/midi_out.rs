//! Chairs on a MIDI port: channels, bytes, silence at the end.

use bandwright::sound::events::Chair;
use bandwright::sound::midi::{CHAIR_CHANNELS, Outlet, PortSeats, Sink, channels, told_apart};
use bandwright::sound::tones::{tone, tones};
use bandwright::sound::user_font::{DRUM_CHANNEL, TICK_FIRST};
use proptest::prelude::*;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

#[test]
fn up_to_fifteen_chairs_have_a_channel_each_without_that_of_the_drums() {
    let made = channels(&[56; 15]);
    let wanted: Vec<u8> = (0..16).filter(|c| *c != DRUM_CHANNEL).collect();
    assert_eq!(made.of_chair, wanted);
}

#[test]
fn more_chairs_of_one_program_share_with_their_neighbours() {
    // Two flutes, twelve clarinets, six trumpets.
    let programs = [vec![73; 2], vec![71; 12], vec![56; 6]].concat();
    let made = channels(&programs);
    assert_eq!(made.programs.len(), CHAIR_CHANNELS);
    // The flutes keep their own: clarinets have the most to give.
    assert_eq!(made.of_chair[..2], [0, 1]);
    let clarinets: BTreeSet<u8> = made.of_chair[2..14].iter().copied().collect();
    let trumpets: BTreeSet<u8> = made.of_chair[14..].iter().copied().collect();
    assert_eq!((clarinets.len(), trumpets.len()), (7, 6));
    assert!(made.of_chair.is_sorted());
}

#[test]
fn more_programs_than_channels_play_as_their_neighbours_of_the_family() {
    let programs: Vec<u8> = (56..64).chain(64..72).chain(72..80).collect();
    let made = channels(&programs);
    assert_eq!(made.programs.len(), CHAIR_CHANNELS);
    for (chair, channel) in made.of_chair.iter().enumerate() {
        assert_eq!(made.programs[channel] / 8, programs[chair] / 8);
    }
}

proptest! {
    #[test]
    fn every_chair_has_a_channel_of_its_program(
        programs in prop::collection::vec(prop::sample::select(vec![0_u8, 9, 43, 56, 57, 58, 60, 64, 65, 66, 67, 68, 70, 71, 72, 73]), 0..60)
    ) {
        let made = channels(&programs);
        prop_assert_eq!(made.of_chair.len(), programs.len());
        prop_assert!(made.programs.len() <= CHAIR_CHANNELS);
        prop_assert!(!made.of_chair.contains(&DRUM_CHANNEL));
        prop_assert!(made.of_chair.iter().all(|c| *c < 16));
        let mut all = programs.clone();
        all.sort_unstable();
        all.dedup();
        let few = all.len() <= CHAIR_CHANNELS;
        for (program, channel) in programs.iter().zip(&made.of_chair) {
            prop_assert!(!few || made.programs[channel] == *program);
        }
        // None is left idle while chairs share.
        prop_assert!(made.programs.len() == CHAIR_CHANNELS.min(programs.len()) || !few);
        // What stands behind changes nothing of who is first.
        prop_assert_eq!(channels(&programs), made);
    }
}

fn chair(name: &str, pan: f64) -> Chair {
    Chair {
        tone: tone(name).unwrap(),
        pan,
        delay: 0.0,
    }
}

#[test]
fn each_channel_is_told_its_program_and_place() {
    let seats = PortSeats::of(&[chair("flute", -1.0), chair("tuba", 0.5)]);
    let told = seats.set_up();
    let flute = [
        [0xB0, 0, 0],
        [0xB0, 32, 0],
        [0xC0, 73, 0],
        [0xB0, 7, 127],
        [0xB0, 11, 127],
        [0xB0, 10, 0],
    ];
    let tuba = [
        [0xB1, 0, 0],
        [0xB1, 32, 0],
        [0xC1, 58, 0],
        [0xB1, 7, 127],
        [0xB1, 11, 127],
        [0xB1, 10, 95],
    ];
    assert_eq!(told, [flute, tuba].concat());
    assert!(
        told.iter()
            .all(|m| m[0] >= 0x80 && m[1] < 128 && m[2] < 128)
    );
}

#[test]
fn a_level_is_a_velocity_and_who_is_no_chair_plays_nothing() {
    let mut seats = PortSeats::of(&[chair("flute", 0.0)]);
    assert_eq!(seats.note_on(0, 60, 0.0), Some([0x90, 60, 127]));
    assert_eq!(seats.note_on(0, 62, -12.0), Some([0x90, 62, 64]));
    assert_eq!(seats.note_on(0, 64, -200.0), Some([0x90, 64, 1]));
    assert_eq!(seats.note_on(0, 64, f64::NAN), Some([0x90, 64, 1]));
    assert_eq!(seats.note_on(1, 60, 0.0), None);
    assert_eq!(seats.note_on(0, 128, 0.0), None);
    assert_eq!(seats.note_off(0, 128), None);
}

#[test]
fn a_note_that_two_chairs_of_a_channel_play_ends_with_the_last() {
    let chairs: Vec<Chair> = (0..30).map(|_| chair("clarinet", 0.0)).collect();
    let mut seats = PortSeats::of(&chairs);
    assert_eq!(seats.channels().of_chair[..2], [0, 0]);
    assert!(seats.note_on(0, 70, 0.0).is_some() && seats.note_on(1, 70, 0.0).is_some());
    assert_eq!(seats.note_off(1, 70), None);
    assert_eq!(seats.note_off(0, 70), Some([0x80, 70, 0]));
    assert_eq!(seats.note_off(0, 70), None);
    seats.note_on(0, 71, 0.0);
    seats.let_go();
    assert_eq!(seats.note_off(0, 71), None);
}

#[test]
fn the_tick_is_on_the_channel_of_the_drums() {
    let [on, off] = PortSeats::tick(true);
    assert_eq!((on[0], on[1], off[0]), (0x99, TICK_FIRST, 0x89));
    assert_ne!(PortSeats::tick(false)[0][1], TICK_FIRST);
}

#[derive(Clone, Default)]
struct Heard {
    told: Rc<RefCell<Vec<Vec<u8>>>>,
    broken: bool,
}

impl Sink for Heard {
    fn take(&mut self, message: &[u8]) -> Result<(), String> {
        self.told.borrow_mut().push(message.to_vec());
        if self.broken {
            Err("unplugged".to_owned())
        } else {
            Ok(())
        }
    }
}

#[test]
fn messages_have_as_many_bytes_as_their_kind() {
    let heard = Heard::default();
    let mut outlet = Outlet::new(heard.clone());
    for message in [[0x93, 60, 90], [0xC3, 56, 0], [0xB3, 7, 100], [0x83, 60, 0]] {
        outlet.send(message).unwrap();
    }
    let lengths: Vec<usize> = heard.told.borrow().iter().map(Vec::len).collect();
    assert_eq!(lengths, [3, 2, 3, 3]);
}

#[test]
fn everything_is_stopped_at_the_end_even_when_it_breaks() {
    for broken in [false, true] {
        let heard = Heard {
            broken,
            ..Heard::default()
        };
        let mut outlet = Outlet::new(heard.clone());
        assert_eq!(outlet.send([0x90, 60, 90]).is_err(), broken);
        assert_eq!(outlet.stop().is_err(), broken);
        heard.told.borrow_mut().clear();
        drop(outlet);
        let mut stopped: BTreeMap<u8, Vec<u8>> = BTreeMap::new();
        for message in heard.told.borrow().iter() {
            stopped.entry(message[0]).or_default().push(message[1]);
        }
        let channels: Vec<u8> = (0xB0..=0xBF).collect();
        assert_eq!(stopped.keys().copied().collect::<Vec<u8>>(), channels);
        assert!(stopped.values().all(|c| c == &[123, 120, 121]));
    }
}

#[test]
fn names_of_ports_are_told_apart() {
    let names = ["A", "A (2)", "A", "A"].map(str::to_owned);
    let told = told_apart(&names);
    assert_eq!(told, ["A", "A (2)", "A (3)", "A (4)"]);
    let mut apart = told.clone();
    apart.dedup();
    assert_eq!(apart, told);
}

#[test]
fn every_tone_has_a_program_that_can_be_told() {
    assert!(tones().all(|t| t.program < 128));
}

/// What a system without ports, and a port that is none, are told; the ports of this system, where it has any.
#[cfg(feature = "midi-out")]
#[test]
fn ports_are_listed_or_it_is_said_that_there_are_none() {
    use bandwright::device::midi_out::{MidiOut, MidiOutError, port_names};
    let none = "no such port, surely";
    match port_names() {
        Ok(names) => {
            eprintln!("ports: {names:?}");
            let told = MidiOut::open(none).err();
            assert_eq!(told, Some(MidiOutError::NoPort(none.to_owned())));
            if let Some(name) = names.first() {
                let mut port = MidiOut::open(name).unwrap();
                assert_eq!(port.name(), name);
                port.send([0xC0, 73, 0]).unwrap();
                port.stop().unwrap();
            }
        }
        Err(told) => {
            eprintln!("not looked at any further: {told}");
            assert!(matches!(told, MidiOutError::NoMidi(_)));
            assert_eq!(MidiOut::open(none).err(), Some(told));
        }
    }
}
