//! Critical bands of the ear: how a partial covers others near it.

/// A partial of a tone as it is heard.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Partial {
    /// Hz.
    pub hertz: f64,
    /// dB of sound pressure.
    pub level: f64,
}

/// The place of a frequency on the ear's scale, in Bark (Zwicker and Terhardt 1980).
#[must_use]
pub fn bark(hertz: f64) -> f64 {
    13.0 * (0.76 * hertz / 1000.0).atan() + 3.5 * (hertz / 7500.0).powi(2).atan()
}

/// What a partial excites at a place of the ear, dB (Terhardt 1979): it falls by 27 dB a Bark
/// downwards, and upwards the less the louder it is.
#[must_use]
pub fn excitation(masker: Partial, at_bark: f64) -> f64 {
    from_place(masker, bark(masker.hertz), at_bark)
}

/// The same where the partial's place is known already.
pub(super) fn from_place(masker: Partial, place: f64, at_bark: f64) -> f64 {
    let away = at_bark - place;
    let slope = if away < 0.0 {
        27.0
    } else {
        // Never rising, however loud.
        (-24.0 - 230.0 / masker.hertz + 0.2 * masker.level).min(0.0)
    };
    masker.level + slope * away
}
