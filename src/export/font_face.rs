//! The music font in a page, so that the page needs nothing else: Noto Music, under the SIL Open Font License 1.1
//! (`assets/fonts/OFL.txt`).

use super::base64;

const FONT: &[u8] = include_bytes!("../../assets/fonts/NotoMusic-Regular.ttf");

/// What a page that carries the font says of it, as a remark.
const NOTICE: &str = "<!-- Signs of music: Noto Music 2.000, Copyright 2018 Google Inc. This Font Software is licensed \
under the SIL Open Font License, Version 1.1; the licence comes with the program (assets/fonts/OFL.txt). -->\n";

/// The rule that gives a page the font, under the name `Signs of Music`, and the notice that goes with it.
#[must_use]
pub fn font_face() -> (String, &'static str) {
    let rule = format!(
        "@font-face {{ font-family: \"Signs of Music\"; src: url(data:font/ttf;base64,{}) format(\"truetype\"); }}\n",
        base64::to_text(FONT)
    );
    (rule, NOTICE)
}
