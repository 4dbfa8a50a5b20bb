//! The fonts of the window: Noto Sans for words, Noto Serif Italic for words of music, Noto Music for
//! signs of music. All are under the SIL Open Font License 1.1 (`assets/fonts/OFL.txt`) and compiled in,
//! so that the window looks the same everywhere.

use eframe::egui::{Context, FontData, FontDefinitions, FontFamily, FontId};
use std::sync::Arc;

const FONTS: [(&str, &[u8]); 4] = [
    (
        "words",
        include_bytes!("../../assets/fonts/NotoSans-Regular.ttf"),
    ),
    (
        "bold",
        include_bytes!("../../assets/fonts/NotoSans-Bold.ttf"),
    ),
    (
        "serif",
        include_bytes!("../../assets/fonts/NotoSerif-Italic.ttf"),
    ),
    (
        "music",
        include_bytes!("../../assets/fonts/NotoMusic-Regular.ttf"),
    ),
];

/// Gives a window its fonts.
pub fn install(ctx: &Context) {
    let mut fonts = FontDefinitions::default();
    for (name, bytes) in FONTS {
        let mut data = FontData::from_static(bytes);
        if name == "music" {
            // Signs of music stand where the engraving puts them, not on whole pixels.
            data.tweak.hinting = Some(false);
        }
        fonts.font_data.insert(name.to_owned(), Arc::new(data));
    }
    // What a font lacks is looked for in the others and in those of the toolkit.
    let usual = fonts
        .families
        .get(&FontFamily::Proportional)
        .cloned()
        .unwrap_or_default();
    let with = |first: &str| {
        let own = [first, "words", "music"].map(str::to_owned);
        let mut all: Vec<String> = own.into_iter().chain(usual.clone()).collect();
        all.dedup();
        all
    };
    fonts
        .families
        .insert(FontFamily::Proportional, with("words"));
    for name in ["bold", "serif", "music"] {
        fonts
            .families
            .insert(FontFamily::Name(name.into()), with(name));
    }
    ctx.set_fonts(fonts);
}

/// Bold words.
#[must_use]
pub fn bold(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name("bold".into()))
}

/// Words of music: rehearsal marks, chords, names of peaks.
#[must_use]
pub fn serif(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name("serif".into()))
}

/// Signs of music.
#[must_use]
pub fn music(size: f32) -> FontId {
    FontId::new(size, FontFamily::Name("music".into()))
}

/// Usual words.
#[must_use]
pub fn words(size: f32) -> FontId {
    FontId::new(size, FontFamily::Proportional)
}
