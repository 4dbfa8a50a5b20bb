//! Ranges drawn on staves, in text and as SVG.

use bandwright::band::{Band, Part, instruments, preset, preset_names, read_band};
use bandwright::cli::range_text::range_text;
use bandwright::export::range_svg;
use bandwright::notation::{Mark, range_stave};

fn one(instrument: &str, players: &str, remarks: &str) -> Band {
    let text = format!(
        "name = \"Band\"\n[[part]]\nname = \"Part <1> & \\\"co\\\"\"\ninstrument = \"{instrument}\"\n\
         players = {{ {players} }}\nremarks = {{ {remarks} }}\n"
    );
    read_band(&text).unwrap()
}

fn written(part: &Part, mark: Mark, upper: bool) -> Option<String> {
    let stave = range_stave(part);
    stave.note(mark, upper).map(|n| n.written.to_string())
}

#[test]
fn ranges_are_those_of_the_table_and_the_remarks() {
    let band = one(
        "trumpet",
        "intermediate = 1",
        "highest = \"E5\", lowest = \"C4\"",
    );
    let part = &band.parts[0];
    let table = part.instrument.range(bandwright::band::Level::Intermediate);
    let ends = |mark| (written(part, mark, false), written(part, mark, true));
    let names =
        |r: bandwright::band::WrittenRange| (Some(r.low.to_string()), Some(r.high.to_string()));
    assert_eq!(ends(Mark::Comfortable), names(table.comfortable));
    assert_eq!(ends(Mark::Stretch), names(table.stretch));
    assert_eq!(
        ends(Mark::Limit),
        (Some("C4".to_owned()), Some("E5".to_owned()))
    );
    let free = one("trumpet", "intermediate = 1", "");
    assert_eq!(written(&free.parts[0], Mark::Limit, true), None);
}

#[test]
fn the_weakest_player_sets_the_range() {
    let band = one("trumpet", "first_year = 1, all_state = 1", "");
    let weak = one("trumpet", "first_year = 1", "");
    assert_eq!(
        range_stave(&band.parts[0]).notes,
        range_stave(&weak.parts[0]).notes
    );
}

#[test]
fn every_preset_fits_a_terminal() {
    for name in preset_names() {
        let band = preset(name).unwrap();
        let text = range_text(&band);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{name}: {line}");
            assert_eq!(line.trim_end(), line, "{name}");
        }
        for part in &band.parts {
            assert!(text.contains(&part.name), "{name}: {}", part.name);
        }
    }
}

#[test]
fn a_note_stands_on_its_line() {
    let text = range_text(&one("trumpet", "advanced = 1", ""));
    let line = |sign| text.lines().find(|l| l.contains(sign)).unwrap().to_owned();
    // The clef's letter stands on G4, the second line from below: three more lines above it.
    let g4 = text.lines().position(|l| l.starts_with("G─")).unwrap();
    let above = text.lines().take(g4).filter(|l| l.starts_with('─')).count();
    assert_eq!(above, 3, "{text}");
    assert!(line("from").contains('●'));
}

#[test]
fn drawings_are_well_formed_and_hold_every_end() {
    let mut bands: Vec<Band> = preset_names().map(|n| preset(n).unwrap()).collect();
    for instrument in instruments().unwrap() {
        bands.push(one(&instrument.id, "second_year = 1, advanced = 2", ""));
    }
    for band in &bands {
        let svg = range_svg(band);
        well_formed(&svg);
        let ellipses = svg.matches("<ellipse").count();
        assert_eq!(ellipses, 2 + 4 * band.parts.len(), "{}", band.name);
    }
    let svg = range_svg(&bands[bands.len() - 1]);
    assert!(svg.contains("Part &lt;1&gt; &amp; &quot;co&quot;"));
}

/// Every tag is closed in order; the text between holds no sign that steers.
fn well_formed(svg: &str) {
    let mut open = Vec::new();
    let mut rest = svg;
    while let Some(at) = rest.find('<') {
        assert!(!rest[..at].contains('>'), "{}", &rest[..at]);
        let end = at + rest[at..].find('>').unwrap();
        let tag = &rest[at + 1..end];
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') && !tag.starts_with('?') {
            open.push(tag.split_whitespace().next().unwrap());
        }
        rest = &rest[end + 1..];
    }
    assert_eq!(open, Vec::<&str>::new());
}

#[test]
fn staves_without_their_table_would_be_noticed() {
    let spread = one("marimba", "all_state = 1", "");
    let (high, low) = range_stave(&spread.parts[0]).steps();
    assert!(high > 38 && low < 30, "{high} {low}");
}
