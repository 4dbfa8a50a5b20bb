//! All weights of the chord search in one place: what each is, its unit and its source.
//!
//! Scores are in slots of sounding: a tone that sounds for an eighth note and is explained by the
//! chord is worth one.

/// A weight with what it means.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct WeightRow {
    /// Its name.
    pub name: &'static str,
    /// Its value.
    pub value: f64,
    /// What one unit is.
    pub unit: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

macro_rules! weights {
    ($($(#[doc = $doc:literal])+ $id:ident = $value:literal, $unit:literal, $source:literal;)+) => {
        /// The weights of the chord search.
        #[derive(Clone, Copy, PartialEq, Debug)]
        pub struct Weights {
            $($(#[doc = $doc])+ pub $id: f64,)+
        }

        impl Weights {
            /// The weights in use.
            pub const USUAL: Self = Self { $($id: $value,)+ };

            /// The weights in use with unit and source.
            pub const ROWS: &[WeightRow] = &[$(WeightRow {
                name: stringify!($id), value: $value, unit: $unit, source: $source,
            }),+];
        }
    };
}

weights! {
    /// A note that doubles a sounding one at the octave.
    doubling = 0.80, "share of a first note", "trial";
    /// A note of the tune: it is the freest line.
    melody = 0.53, "share of an inner note", "trial";
    /// A note of the bass.
    bass = 1.56, "share of an inner note", "trial";
    /// A note that is left and reached by step, as far as it counts for a chord that holds it.
    passing_in = 0.96, "share of its length", "trial";
    /// The same on a weak place, as far as it counts against a chord that does not.
    passing_out = 0.10, "share of its length", "trial";
    /// The same on a beat.
    accented_out = 0.62, "share of its length", "trial";
    /// A prepared note that resolves by step, against a chord that does not hold it.
    suspension_out = 0.54, "share of its length", "trial";
    /// A note only left by step.
    leaning_out = 1.22, "share of its length", "trial";
    /// A note only reached by step, or heard again in the next chord.
    leaving_out = 0.44, "share of its length", "trial";
    /// What the tune says for a tone that makes a plain chord a rarer one.
    colour_in_tune = 0.55, "share of what it says for a triad's tones", "trial";
    /// A tone that a chord may do without (its perfect fifth) and that is missing.
    missing_fifth = 1.49, "slot", "Pardo & Birmingham 2002 (there 1); by trial";
    /// The root in the bass.
    bass_root = -0.22, "slot", "trial";
    /// The third in the bass.
    bass_third = -1.70, "slot", "trial";
    /// The fifth in the bass.
    bass_fifth = -2.19, "slot", "trial";
    /// A seventh in the bass.
    bass_seventh = -2.82, "slot", "trial";
    /// A sixth or ninth in the bass.
    bass_added = -2.66, "slot", "trial";
    /// A foreign tone in the bass.
    bass_foreign = -5.17, "slot", "trial";
    /// A chord that begins on a downbeat.
    change_bar = -2.22, "slot", "trial";
    /// In the middle of a bar.
    change_half = -1.19, "slot", "trial";
    /// On another beat.
    change_beat = -0.38, "slot", "trial";
    /// Off the beat.
    change_off = -0.11, "slot", "trial";
    /// Where nothing is struck.
    change_silent = 2.79, "slot", "trial";
    /// How much rarer kinds of chords must explain, of all that sounds.
    rarity = 1.83, "times the shares of the table of kinds", "trial";
    /// What rarer kinds cost at once.
    entry = 1.06, "times the costs of the table of kinds", "trial";
    /// The key's own chords.
    key = 1.07, "times the table of degrees", "trial";
    /// The root's way from the chord before.
    progression = 1.57, "times the table of root progressions", "trial";
    /// A change of kind over the same root.
    same_root = -0.10, "slot", "trial";
    /// The least that such a change costs where chords usually change, unless the accompaniment
    /// brings the new tone.
    new_kind = -0.40, "slot", "trial";
    /// A leading-tone chord that goes where it leads.
    leading = 1.74, "slot", "common practice, no source";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_weight_has_unit_and_source() {
        assert!(Weights::ROWS.len() > 20);
        for row in Weights::ROWS {
            assert!(
                !row.unit.is_empty() && !row.source.is_empty(),
                "{}",
                row.name
            );
        }
    }
}
