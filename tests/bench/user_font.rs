//! How long a SoundFont takes to be read and listened to, and whether damaged ones do harm: files are named on the
//! command line; `--damaged N` damages each N times.

use bandwright::device::found_fonts::{found_fonts, usual_places};
use bandwright::sound::built_in::built_in_bytes;
use bandwright::sound::events::{Chair, SoundNote, SoundScore};
use bandwright::sound::render::render;
use bandwright::sound::tones::{Shade, tones};
use bandwright::sound::user_font::UserFont;
use std::error::Error;
use std::io::Cursor;
use std::time::Instant;

/// Xorshift (Marsaglia 2003).
struct Dice(u64);

impl Dice {
    fn throw(&mut self, most: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % most.max(1) as u64) as usize
    }
}

/// Bytes that are changed: mostly of the tables, some of the head, and now and then it is cut short.
fn damage(bytes: &[u8], dice: &mut Dice) -> Vec<u8> {
    let tables = bytes.windows(4).rposition(|w| w == b"phdr").unwrap_or(0);
    let mut bytes = bytes.to_vec();
    for _ in 0..1 + dice.throw(40) {
        let at = match dice.throw(20) {
            0 => dice.throw(400),
            _ => tables + dice.throw(bytes.len() - tables),
        };
        if let Some(byte) = bytes.get_mut(at) {
            *byte = match dice.throw(3) {
                0 => 0xFF,
                1 => *byte ^ (1 << dice.throw(8)),
                _ => dice.throw(256) as u8,
            };
        }
    }
    if dice.throw(10) == 0 {
        bytes.truncate(dice.throw(bytes.len()));
    }
    bytes
}

/// Plays a low, a middle and a high note of every tone in every shade.
fn play(font: &UserFont) -> Result<(), Box<dyn Error>> {
    let chairs = tones().map(|tone| Chair {
        tone,
        pan: 0.0,
        delay: 0.0,
    });
    let mut notes = Vec::new();
    for (chair, tone) in tones().enumerate() {
        let (low, high) = tone.keys;
        for (i, key) in [0, low, low / 2 + high / 2, high, 127]
            .into_iter()
            .enumerate()
        {
            notes.push(SoundNote {
                chair,
                onset: 0.2 * i as f64,
                end: 0.2 * i as f64 + 0.15,
                key,
                shade: Shade::ALL[(chair + i) % 3],
                gain_db: 0.0,
            });
        }
    }
    let score = SoundScore {
        chairs: chairs.collect(),
        notes,
    };
    let made = render(&font.font, &font.calibration.applied(&score), &[])?;
    let all = made.left.iter().chain(&made.right);
    assert!(all.clone().all(|s| s.is_finite()), "not a number");
    Ok(())
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut files: Vec<(String, Vec<u8>)> = vec![("built in".to_owned(), built_in_bytes())];
    let mut times = 0;
    let mut told = std::env::args().skip(1).filter(|a| a != "--bench");
    while let Some(word) = told.next() {
        if word == "--damaged" {
            times = told.next().and_then(|n| n.parse().ok()).unwrap_or(100);
        } else {
            let bytes = std::fs::read(&word)?;
            files.push((word, bytes));
        }
    }
    for found in found_fonts(&usual_places()) {
        let bytes = std::fs::read(&found)?;
        files.push((found.display().to_string(), bytes));
    }
    for (name, bytes) in files {
        let before = Instant::now();
        match UserFont::read(&mut Cursor::new(&bytes)) {
            Ok(font) => {
                let taken = before.elapsed().as_millis();
                let samples = font.font.get_wave_data().len() * 2;
                println!(
                    "{name}: {} bytes, {samples} of them samples that are kept, {taken} ms",
                    bytes.len()
                );
                let up = font.calibration.headroom_db();
                println!("  it is turned up by {up:.1} dB");
                for note in &font.notes {
                    println!("  {note}");
                }
            }
            Err(error) => println!("{name}: {error}"),
        }
        let mut dice = Dice(0x2545_F491_4F6C_DD1D);
        let (mut used, mut slowest) = (0, 0);
        for _ in 0..times {
            let damaged = damage(&bytes, &mut dice);
            let before = Instant::now();
            if let Ok(font) = UserFont::read(&mut Cursor::new(&damaged)) {
                slowest = slowest.max(before.elapsed().as_millis());
                used += 1;
                play(&font)?;
            }
        }
        if times > 0 {
            println!("  {used} of {times} damaged ones could be used; slowest {slowest} ms");
        }
    }
    Ok(())
}
