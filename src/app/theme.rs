//! Colours and sizes of the window: warm paper and dark ink, a tint for each region of the score, one
//! accent. No other file names a colour.

pub use crate::notation::Region;
use eframe::egui::{
    Color32, Context, CornerRadius, FontFamily, FontId, Stroke, Style, TextStyle, Visuals,
};

/// The colours of a theme.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Palette {
    /// Behind everything.
    pub paper: Color32,
    /// Notes and words.
    pub ink: Color32,
    /// Words that explain other words.
    pub faint_ink: Color32,
    /// Stave lines.
    pub stave: Color32,
    /// Bar lines and rules.
    pub rule: Color32,
    /// The bar at the top.
    pub top: Color32,
    /// Words on it.
    pub top_ink: Color32,
    /// Selection and action.
    pub accent: Color32,
    /// The ground of what is selected.
    pub accent_ground: Color32,
    /// Words on the accent.
    pub on_accent: Color32,
    /// Locks.
    pub lock: Color32,
    /// The ground of what is locked.
    pub lock_ground: Color32,
    /// Strain: chevrons at a notehead, and what is out of limits.
    pub strain: Color32,
    /// The ground of cards.
    pub card: Color32,
    /// Notes that the last solve changed.
    pub changed: Color32,
    /// The ground of woodwinds.
    pub woodwinds: Color32,
    /// The ground of the sketch.
    pub sketch: Color32,
    /// The edge of the sketch.
    pub sketch_edge: Color32,
    /// The ground of brass.
    pub brass: Color32,
    /// The ground of percussion.
    pub percussion: Color32,
    /// What is reached in the landscape of the show.
    pub reached: Color32,
}

const fn rgb(value: u32) -> Color32 {
    let [_, r, g, b] = value.to_be_bytes();
    Color32::from_rgb(r, g, b)
}

const fn veil(value: u32, alpha: u8) -> Color32 {
    let [_, r, g, b] = value.to_be_bytes();
    Color32::from_rgba_premultiplied(
        part_of(r, alpha),
        part_of(g, alpha),
        part_of(b, alpha),
        alpha,
    )
}

const fn part_of(channel: u8, alpha: u8) -> u8 {
    (channel as u16 * alpha as u16 / 255) as u8
}

/// By day.
pub const LIGHT: Palette = Palette {
    paper: rgb(0x00fc_f9f1),
    ink: rgb(0x0023_2d38),
    faint_ink: rgb(0x0063_6b73),
    stave: rgb(0x00a3_a095),
    rule: rgb(0x00d9_d2bf),
    top: rgb(0x0025_2f3b),
    top_ink: rgb(0x00f4_efe4),
    accent: rgb(0x0010_6e70),
    accent_ground: veil(0x0010_6e70, 34),
    on_accent: rgb(0x00ff_ffff),
    lock: rgb(0x0066_3d6e),
    lock_ground: veil(0x0066_3d6e, 26),
    strain: rgb(0x00a6_4a12),
    card: rgb(0x00f3_ecdb),
    changed: veil(0x00c9_8f2b, 70),
    woodwinds: rgb(0x00ed_f3eb),
    sketch: rgb(0x00ff_f9e4),
    sketch_edge: rgb(0x00c9_b775),
    brass: rgb(0x00f8_ecdf),
    percussion: rgb(0x00ee_edf0),
    reached: rgb(0x00cf_dedb),
};

/// For dark rooms.
pub const DARK: Palette = Palette {
    paper: rgb(0x001b_2026),
    ink: rgb(0x00e9_e4d8),
    faint_ink: rgb(0x00a3_a7a8),
    stave: rgb(0x0062_6a70),
    rule: rgb(0x003a_434b),
    top: rgb(0x0010_151a),
    top_ink: rgb(0x00e9_e4d8),
    accent: rgb(0x0058_b9b5),
    accent_ground: veil(0x0058_b9b5, 46),
    on_accent: rgb(0x0010_1519),
    lock: rgb(0x00c4_97cd),
    lock_ground: veil(0x00c4_97cd, 34),
    strain: rgb(0x00e0_9256),
    card: rgb(0x0027_2e35),
    changed: veil(0x00d9_a84a, 80),
    woodwinds: rgb(0x001e_2824),
    sketch: rgb(0x002a_2820),
    sketch_edge: rgb(0x008d_8050),
    brass: rgb(0x002b_2420),
    percussion: rgb(0x0022_242b),
    reached: rgb(0x0034_4a49),
};

impl Palette {
    /// The palette of a theme.
    #[must_use]
    pub const fn of(dark: bool) -> &'static Self {
        if dark { &DARK } else { &LIGHT }
    }

    /// The ground of a region.
    #[must_use]
    pub const fn ground(&self, region: Region) -> Color32 {
        match region {
            Region::Woodwinds => self.woodwinds,
            Region::Sketch => self.sketch,
            Region::Brass => self.brass,
            Region::Percussion => self.percussion,
        }
    }
}

/// Sizes of words, in points at the usual text size.
const WORDS: f32 = 14.0;
const SMALL: f32 = 12.0;
const HEAD: f32 = 16.5;

/// Gives a window its colours and text sizes. `text` is a factor, 1 as usual.
pub fn apply(ctx: &Context, dark: bool, text: f32) {
    let palette = Palette::of(dark);
    let mut style = Style {
        visuals: visuals(palette, dark),
        ..Style::default()
    };
    let font = |size: f32| FontId::new(size * text, FontFamily::Proportional);
    style.text_styles = [
        (TextStyle::Small, font(SMALL)),
        (TextStyle::Body, font(WORDS)),
        (TextStyle::Button, font(WORDS)),
        (TextStyle::Heading, font(HEAD)),
        (
            TextStyle::Monospace,
            FontId::new(WORDS * text, FontFamily::Monospace),
        ),
    ]
    .into();
    style.spacing.item_spacing = [8.0, 6.0].into();
    style.spacing.button_padding = [9.0, 5.0].into();
    style.spacing.interact_size.y = 26.0;
    style.interaction.tooltip_delay = 0.6;
    ctx.all_styles_mut(|s| *s = style.clone());
    // The sheet and the words have sizes of their own.
    ctx.options_mut(|o| o.zoom_with_keyboard = false);
}

fn visuals(palette: &Palette, dark: bool) -> Visuals {
    let mut visuals = if dark {
        Visuals::dark()
    } else {
        Visuals::light()
    };
    let round = CornerRadius::same(5);
    visuals.panel_fill = palette.paper;
    visuals.window_fill = palette.paper;
    visuals.window_stroke = Stroke::new(1.0, palette.rule);
    visuals.window_corner_radius = CornerRadius::same(8);
    visuals.menu_corner_radius = round;
    visuals.extreme_bg_color = palette.card;
    visuals.faint_bg_color = palette.card;
    visuals.override_text_color = None;
    visuals.hyperlink_color = palette.accent;
    visuals.selection.bg_fill = palette.accent_ground;
    visuals.selection.stroke = Stroke::new(1.0, palette.accent);
    let widgets = &mut visuals.widgets;
    for w in [
        &mut widgets.noninteractive,
        &mut widgets.inactive,
        &mut widgets.hovered,
        &mut widgets.active,
        &mut widgets.open,
    ] {
        w.corner_radius = round;
        w.fg_stroke = Stroke::new(1.0, palette.ink);
        w.bg_stroke = Stroke::new(1.0, palette.rule);
    }
    widgets.inactive.weak_bg_fill = palette.card;
    widgets.inactive.bg_fill = palette.card;
    widgets.inactive.bg_stroke = Stroke::NONE;
    widgets.hovered.weak_bg_fill = palette.rule;
    widgets.hovered.bg_fill = palette.rule;
    widgets.hovered.bg_stroke = Stroke::new(1.0, palette.accent);
    widgets.active.weak_bg_fill = palette.accent_ground;
    widgets.active.bg_fill = palette.accent_ground;
    widgets.active.bg_stroke = Stroke::new(1.5, palette.accent);
    widgets.open.weak_bg_fill = palette.card;
    widgets.open.bg_fill = palette.card;
    visuals
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as in the Web Content Accessibility Guidelines 2.1, from memory.
    fn contrast(a: Color32, b: Color32) -> f64 {
        let channel = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.03928 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        let light = |c: Color32| {
            0.2126 * channel(c.r()) + 0.7152 * channel(c.g()) + 0.0722 * channel(c.b())
        };
        let (high, low) = (light(a).max(light(b)), light(a).min(light(b)));
        (high + 0.05) / (low + 0.05)
    }

    #[test]
    fn words_can_be_read_on_every_ground() {
        for palette in [&LIGHT, &DARK] {
            for ground in [
                palette.paper,
                palette.card,
                palette.woodwinds,
                palette.sketch,
                palette.brass,
                palette.percussion,
            ] {
                assert!(contrast(palette.ink, ground) >= 7.0);
                assert!(contrast(palette.faint_ink, ground) >= 4.5);
                assert!(
                    contrast(palette.strain, ground) >= 4.5,
                    "{palette:?} {ground:?}"
                );
                assert!(
                    contrast(palette.accent, ground) >= 4.5,
                    "{palette:?} {ground:?}"
                );
                assert!(contrast(palette.lock, ground) >= 4.5);
            }
            assert!(contrast(palette.on_accent, palette.accent) >= 4.5);
            assert!(contrast(palette.top_ink, palette.top) >= 7.0);
        }
    }
}
