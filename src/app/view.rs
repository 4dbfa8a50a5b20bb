//! How the sheet is looked at: where, how large, at which pitch. Nothing of it belongs to the show.

/// Sizes of a staff space in points, from one bar to the whole show. Steps, since every size of a sign is
/// rasterised once.
const SPACES: [f32; 16] = [
    0.6, 0.9, 1.3, 1.9, 2.6, 3.4, 4.2, 5.0, 6.0, 7.2, 8.6, 10.4, 12.6, 15.0, 18.5, 23.0,
];
/// So far a wheel is turned for the next size, as the logarithm of a factor: a notch of a usual mouse, whose
/// factor of some e^0.2 comes in several frames, is one size (ours).
const NOTCH: f32 = 0.19;
/// The usual one.
const USUAL: usize = 6;
/// Under this size notes are drawn as strokes, without signs.
pub const SIGNS_FROM: f32 = 2.4;
/// Factors of the text size.
const TEXTS: [f32; 6] = [0.85, 1.0, 1.15, 1.3, 1.5, 1.75];

/// How the sheet is looked at.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct View {
    /// Index of the size.
    zoom: usize,
    /// Sizes of a staff space from left to right and from top to bottom, where all of the show is seen at once.
    whole: Option<(f32, f32)>,
    /// What is at the left edge of the staves, in staff spaces from the first bar.
    pub left: f32,
    /// What is at the upper edge of the staves, in staff spaces from the top of the score.
    pub top: f32,
    /// Whether parts are shown as their players read them.
    pub written: bool,
    /// Dark paper.
    pub dark: bool,
    /// Index of the text size.
    text: usize,
    /// The panel at the right.
    pub panel: Panel,
    /// How far the wheel was turned towards the next size: the logarithm of a factor.
    turn: f32,
}

/// What the panel at the right shows.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Panel {
    /// Why the selected note is there.
    #[default]
    Why,
    /// Ways of scoring the passage.
    Ways,
    /// What a reviewer would mark.
    Findings,
    /// What was found in the sketch.
    Sketch,
    /// The band.
    Roster,
    /// The shape of the show, as a list.
    Timeline,
}

impl Panel {
    /// All panels from left to right.
    pub const ALL: [Self; 6] = [
        Self::Why,
        Self::Ways,
        Self::Findings,
        Self::Sketch,
        Self::Roster,
        Self::Timeline,
    ];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Why => "Why",
            Self::Ways => "Ways",
            Self::Findings => "Findings",
            Self::Sketch => "Sketch",
            Self::Roster => "Roster",
            Self::Timeline => "Timeline",
        }
    }
}

impl Default for View {
    fn default() -> Self {
        Self {
            zoom: USUAL,
            whole: None,
            left: 0.0,
            top: 0.0,
            written: true,
            dark: false,
            text: 1,
            panel: Panel::default(),
            turn: 0.0,
        }
    }
}

impl View {
    /// A staff space in points, from left to right.
    #[must_use]
    pub fn space(&self) -> f32 {
        let usual = SPACES[self.zoom.min(SPACES.len() - 1)];
        self.whole.map_or(usual, |(across, _)| across)
    }

    /// A staff space in points, from top to bottom: another only where all of the show is seen at once.
    #[must_use]
    pub fn space_down(&self) -> f32 {
        self.whole.map_or_else(|| self.space(), |(_, down)| down)
    }

    /// The factor of the text size.
    #[must_use]
    pub fn text(&self) -> f32 {
        TEXTS[self.text.min(TEXTS.len() - 1)]
    }

    /// Larger by a step, or smaller.
    pub fn zoom(&mut self, larger: bool) {
        if let Some((across, _)) = self.whole.take() {
            self.zoom = SPACES.iter().rposition(|s| *s <= across).unwrap_or(0);
        }
        self.zoom = step(self.zoom, larger, SPACES.len());
    }

    /// Takes a turn of the wheel, as a factor: larger or smaller by a size once a notch was turned.
    pub fn turned(&mut self, factor: f32) -> Option<bool> {
        if !factor.is_finite() || factor <= 0.0 {
            return None;
        }
        let turn = factor.ln();
        // Who turns back wants to see it at once.
        if turn * self.turn < 0.0 {
            self.turn = 0.0;
        }
        self.turn += turn;
        if self.turn.abs() < NOTCH {
            return None;
        }
        let larger = self.turn > 0.0;
        self.turn -= NOTCH.copysign(self.turn);
        Some(larger)
    }

    /// So large that as many staff spaces as given fit into a width in points.
    pub fn fit(&mut self, spaces: f32, points: f32) {
        self.whole = None;
        let fits = |s: &f32| s * spaces <= points;
        self.zoom = SPACES.iter().rposition(fits).unwrap_or(0);
    }

    /// So that all of the show is seen: so many staff spaces across and down in so many points. Where that is not
    /// smaller than notes with signs, it is a usual size.
    pub fn fit_whole(&mut self, (across, down): (f32, f32), (width, height): (f32, f32)) {
        let (x, y) = (width / across.max(1.0), height / down.max(1.0));
        self.fit(across.max(down * width / height.max(1.0)), width);
        if x.min(y) < SIGNS_FROM {
            let most = SIGNS_FROM * 0.99;
            self.whole = Some((x.min(most), y.min(most)));
        }
        (self.left, self.top) = (0.0, 0.0);
    }

    /// Larger text by a step, or smaller.
    pub fn resize_text(&mut self, larger: bool) {
        self.text = step(self.text, larger, TEXTS.len());
    }

    /// Moves so that a stretch from left to right is seen in a width, both in staff spaces, with some room.
    pub fn bring_into_view(&mut self, from: f32, to: f32, width: f32) {
        let room = (width * 0.08).min(12.0);
        if from - room < self.left {
            self.left = (from - room).max(0.0);
        } else if to + room > self.left + width {
            self.left = (to + room - width).min(from - room).max(0.0);
        }
    }

    /// The same from top to bottom.
    pub fn bring_lane_into_view(&mut self, from: f32, to: f32, height: f32) {
        if from < self.top {
            self.top = from.max(0.0);
        } else if to > self.top + height {
            self.top = (to - height).min(from).max(0.0);
        }
    }
}

const fn step(at: usize, up: bool, count: usize) -> usize {
    if up {
        if at + 1 < count { at + 1 } else { at }
    } else {
        at.saturating_sub(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sizes_end_somewhere() {
        let mut view = View::default();
        for _ in 0..40 {
            view.zoom(true);
            view.resize_text(true);
        }
        assert_eq!((view.space(), view.text()), (23.0, 1.75));
        for _ in 0..40 {
            view.zoom(false);
            view.resize_text(false);
        }
        assert_eq!((view.space(), view.text()), (0.6, 0.85));
        view.fit(100.0, 450.0);
        assert!(view.space() * 100.0 <= 450.0);
    }

    #[test]
    fn a_notch_of_the_wheel_is_one_size() {
        let mut view = View::default();
        // As a notch comes: in parts.
        let notch = |view: &mut View, way: f32| {
            let parts = [0.02, 0.07, 0.06, 0.03, 0.02];
            let sizes = parts.map(|p: f32| view.turned((way * p).exp()));
            sizes.iter().flatten().copied().collect::<Vec<bool>>()
        };
        for way in [1.0, 1.0, 1.0, -1.0, 1.0, -1.0, -1.0] {
            assert_eq!(notch(&mut view, way), vec![way > 0.0]);
        }
        assert_eq!(view.turned(f32::NAN), None);
        assert_eq!(view.turned(0.0), None);
    }

    #[test]
    fn what_is_selected_is_brought_into_view() {
        let mut view = View::default();
        view.bring_into_view(200.0, 220.0, 100.0);
        assert!(view.left < 200.0 && view.left + 100.0 > 220.0);
        view.bring_into_view(10.0, 30.0, 100.0);
        assert!(view.left < 10.0);
    }
}
