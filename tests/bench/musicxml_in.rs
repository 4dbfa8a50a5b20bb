//! How long a score of thirty parts takes to be read, from the bytes of MusicXML to a song.
//!
//! The score is made here, eight notes a bar and part, with the directions and notations that scores
//! have: 200 bars (48,000 notes), and 100 and 400, so that growth shows. The aim for 200 bars is 200 ms.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

use bandwright::sketch::read_any;
use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use std::fmt::Write as _;
use std::io::{Cursor, Write as _};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

const PARTS: usize = 30;

fn main() {
    divan::main();
}

/// A score of so many bars.
fn score(bars: usize) -> String {
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<score-partwise version=\"4.0\">\n  <part-list>\n",
    );
    let add = |text: &mut String, line: std::fmt::Arguments<'_>| {
        text.write_fmt(line).expect("a string takes all");
    };
    for part in 1..=PARTS {
        add(
            &mut text,
            format_args!(
                "    <score-part id=\"P{part}\"><part-name>Part {part}</part-name></score-part>\n"
            ),
        );
    }
    text += "  </part-list>\n";
    for part in 1..=PARTS {
        add(&mut text, format_args!("  <part id=\"P{part}\">\n"));
        for bar in 1..=bars {
            add(&mut text, format_args!("    <measure number=\"{bar}\">\n"));
            if bar == 1 {
                text += "      <attributes>\n        <divisions>4</divisions>\n        <key><fifths>2</fifths></key>\n        \
                    <time><beats>4</beats><beat-type>4</beat-type></time>\n        <transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>\n      </attributes>\n";
            }
            if bar % 4 == 1 {
                text += "      <direction>\n        <direction-type><dynamics><mf/></dynamics></direction-type>\n        <sound dynamics=\"80\"/>\n      </direction>\n";
            }
            for eighth in 0..8 {
                let step = ["C", "D", "E", "F", "G", "A", "B"][(bar + part + eighth) % 7];
                let octave = 3 + (part + bar) % 3;
                add(
                    &mut text,
                    format_args!(
                        "      <note>\n        <pitch>\n          <step>{step}</step>\n          <octave>{octave}</octave>\n        </pitch>\n        \
                     <duration>2</duration>\n        <voice>1</voice>\n        <type>eighth</type>\n        <stem>up</stem>\n        \
                     <beam number=\"1\">begin</beam>\n      </note>\n",
                    ),
                );
            }
            text += "    </measure>\n";
        }
        text += "  </part>\n";
    }
    text + "</score-partwise>\n"
}

fn packed(text: &str) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let container =
        "<container><rootfiles><rootfile full-path=\"score.xml\"/></rootfiles></container>";
    for (name, bytes) in [("META-INF/container.xml", container), ("score.xml", text)] {
        archive
            .start_file(name, SimpleFileOptions::default())
            .and_then(|()| Ok(archive.write_all(bytes.as_bytes())?))
            .expect("an archive in memory");
    }
    archive.finish().expect("an archive in memory").into_inner()
}

fn notes(bytes: &[u8]) -> usize {
    let song = read_any(bytes).expect("a score");
    assert_eq!(song.warnings, []);
    song.tracks.iter().map(|t| t.notes.len()).sum()
}

fn measure(bencher: Bencher<'_, '_>, bars: usize, bytes: &[u8]) {
    assert_eq!(notes(bytes), 8 * PARTS * bars);
    bencher
        .counter(ItemsCount::new(8 * PARTS * bars))
        .counter(BytesCount::new(bytes.len()))
        .bench(|| notes(black_box(bytes)));
}

#[divan::bench(args = [100, 200, 400], sample_count = 10)]
fn read(bencher: Bencher<'_, '_>, bars: usize) {
    measure(bencher, bars, score(bars).as_bytes());
}

#[divan::bench(args = [200], sample_count = 10)]
fn read_packed(bencher: Bencher<'_, '_>, bars: usize) {
    measure(bencher, bars, &packed(&score(bars)));
}
