//! The sizes of the signs of music against the font itself.

use bandwright::notation::glyph_sizes::{self as sizes, Glyph, UNITS_PER_SPACE};
use std::path::Path;

/// A TrueType file, as far as boxes of outlines go (ISO/IEC 14496-22: tables `cmap`, `head`, `loca`,
/// `glyf`).
struct Font(Vec<u8>);

impl Font {
    fn word(&self, at: usize) -> usize {
        usize::from(u16::from_be_bytes([self.0[at], self.0[at + 1]]))
    }

    fn signed(&self, at: usize) -> f32 {
        f32::from(i16::from_be_bytes([self.0[at], self.0[at + 1]]))
    }

    fn long(&self, at: usize) -> usize {
        (self.word(at) << 16) + self.word(at + 2)
    }

    fn table(&self, tag: &str) -> usize {
        let entries = (0..self.word(4)).map(|i| 12 + 16 * i);
        let mut found = entries.filter(|e| &self.0[*e..*e + 4] == tag.as_bytes());
        self.long(found.next().unwrap() + 8)
    }

    /// The glyph of a character, by the segments of all of Unicode (format 12).
    fn glyph(&self, code: char) -> Option<usize> {
        let cmap = self.table("cmap");
        let tables = (0..self.word(cmap + 2)).map(|i| cmap + self.long(cmap + 4 + 8 * i + 4));
        let all = tables.into_iter().find(|t| self.word(*t) == 12)?;
        let code = code as usize;
        let groups = (0..self.long(all + 12)).map(|i| all + 16 + 12 * i);
        let mut holding = groups.filter(|g| (self.long(*g)..=self.long(g + 4)).contains(&code));
        let group = holding.next()?;
        Some(self.long(group + 8) + code - self.long(group))
    }

    /// Left, bottom, right and top of a glyph, in units.
    fn outline(&self, code: char) -> Option<[f32; 4]> {
        let glyph = self.glyph(code)?;
        let loca = self.table("loca");
        let long = self.word(self.table("head") + 50) == 1;
        let offset = if long {
            self.long(loca + 4 * glyph)
        } else {
            2 * self.word(loca + 2 * glyph)
        };
        let at = self.table("glyf") + offset;
        Some([2, 4, 6, 8].map(|i| self.signed(at + i)))
    }
}

#[test]
fn sizes_are_those_of_the_font() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/fonts/NotoMusic-Regular.ttf");
    let font = Font(std::fs::read(path).unwrap());
    assert_eq!(font.word(font.table("head") + 18), 1000, "units to the em");
    let glyphs: [Glyph; 23] = [
        sizes::BLACK_HEAD,
        sizes::HALF_HEAD,
        sizes::WHOLE_HEAD,
        sizes::SHARP,
        sizes::FLAT,
        sizes::NATURAL,
        sizes::DOUBLE_SHARP,
        sizes::DOUBLE_FLAT,
        sizes::TREBLE,
        sizes::BASS,
        sizes::C_CLEF,
        sizes::QUARTER_REST,
        sizes::EIGHTH_REST,
        sizes::SIXTEENTH_REST,
        sizes::THIRTY_SECOND_REST,
        sizes::SIXTY_FOURTH_REST,
        sizes::SMALLEST_REST,
        sizes::EIGHTH_FLAG,
        sizes::SIXTEENTH_FLAG,
        sizes::THIRTY_SECOND_FLAG,
        sizes::SIXTY_FOURTH_FLAG,
        sizes::SMALLEST_FLAG,
        sizes::BREATH_MARK,
    ];
    for glyph in glyphs {
        let units = font.outline(glyph.code).unwrap();
        let given = [glyph.left, glyph.bottom, glyph.right, glyph.top];
        for (unit, space) in units.into_iter().zip(given) {
            let expected = unit * glyph.scale / UNITS_PER_SPACE;
            // Half a per cent of an em.
            assert!(
                (expected - space).abs() < 0.02,
                "{:?}: {units:?}",
                glyph.code
            );
        }
    }
    // The stave of the font has four spaces of 250 units.
    let stave = font.outline('\u{1d11a}').unwrap();
    assert_eq!((stave[1], stave[3]), (0.0, 4.0 * UNITS_PER_SPACE));
}
