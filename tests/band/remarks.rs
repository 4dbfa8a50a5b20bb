//! All words of the director's remarks, in files and in words.

use bandwright::band::{
    Exposure, GoEasy, NotesPerSecond, cautions, read_band, remarks_in_words, write_band,
};
use bandwright::music::Interval;

use super::refusals::{refused, with_remarks};

#[test]
fn every_word_is_read_written_and_told() {
    let all = "lowest = \"F3\", highest = \"A4\", below_the_break = true, no_leaps_over = 7, no_faster_than = 4.5, rests_every = 16, accidentals_at_most = 3, exposed = \"never\", doubles = \"sax_alto\", go_easy = \"injury\", note = \"be kind\"";
    let text = with_remarks("clarinet_bb", all);
    let band = read_band(&text).unwrap();
    let remarks = &band.parts[0].remarks;
    assert_eq!(remarks.no_leaps_over, Some(Interval(7)));
    assert_eq!(remarks.no_faster_than, Some(NotesPerSecond(4.5)));
    assert_eq!(
        (remarks.rests_every, remarks.accidentals_at_most),
        (Some(16), Some(3))
    );
    assert_eq!(remarks.exposure, Exposure::Never);
    assert_eq!(remarks.doubles.as_ref().unwrap().id, "sax_alto");
    assert_eq!(remarks.go_easy, Some(GoEasy::Injury));
    // An injury makes the rests more frequent and the notes slower than was said.
    let limits = band.parts[0].limits;
    assert_eq!(limits.max_speed, Some(NotesPerSecond(2.0)));
    assert_eq!(
        (limits.rests_every, limits.max_accidentals),
        (Some(8), Some(3))
    );
    assert!(write_band(&band).contains(&format!("remarks = {{ {all} }}")));
    let words = remarks_in_words(remarks).join("; ");
    assert_eq!(
        words,
        "nothing below F3; nothing above A4; below the break; no leaps over 7 semitones; no faster than 4.5 notes a second; a bar of rest in every 16; at most 3 sharps or flats in the key; never exposed; also plays Alto saxophone; go easy (injury); be kind"
    );
}

#[test]
fn values_are_held_to_what_is_allowed() {
    let refuse = |remark: &str, words: &str| refused(&with_remarks("flute", remark), 6, words);
    refuse("no_faster_than = 0", "from 0.2 to 20 notes a second");
    refuse("no_faster_than = nan", "from 0.2 to 20");
    refuse("no_faster_than = inf", "from 0.2 to 20");
    refuse("no_faster_than = \"4\"", "must be a number");
    refuse("rests_every = 0", "from 1 to 500 bars");
    refuse("rests_every = 8.5", "whole number");
    refuse("accidentals_at_most = 8", "from 0 to 7");
    refuse("exposed = \"maybe\"", "\"may\" or \"never\"");
    refuse("doubles = \"picolo\"", "did you mean `piccolo`?");
    refuse("doubles = \"flute\"", "second instrument");
    refuse("go_easy = \"brace\"", "\"braces\" or \"injury\"");
    refuse("go_esay = \"braces\"", "did you mean `go_easy`?");
    refuse("no_fast_runs = true", "unknown remark `no_fast_runs`");
    assert!(read_band(&with_remarks("flute", "no_faster_than = 4")).is_ok());
}

/// Whoever is to be gone easy on: the director and medical advice decide, and nobody is named.
#[test]
fn go_easy_always_brings_a_caution() {
    for easy in ["braces", "injury"] {
        let text = format!(
            "name = \"T\"\n[[part]]\nname = \"Horn\"\ninstrument = \"horn\"\nplayers = \"2 advanced\"\n[[part.player]]\nname = \"Ann Lee\"\nlevel = \"advanced\"\nremarks = {{ go_easy = \"{easy}\" }}\n"
        );
        let said = cautions(&read_band(&text).unwrap());
        assert_eq!(said.len(), 1);
        assert!(
            said[0].contains("Horn") && said[0].contains("director") && said[0].contains("doctor")
        );
        assert!(!said[0].contains("Ann"));
    }
    assert!(cautions(&read_band(&with_remarks("flute", "")).unwrap()).is_empty());
}
