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
    doubling = 0.4, "share of a first note", "trial";
    /// A note of the tune: it is the freest line.
    melody = 0.7, "share of an inner note", "trial";
    /// A note of the bass.
    bass = 1.1, "share of an inner note", "trial";
    /// A note that is left and reached by step, as far as it counts for a chord that holds it.
    passing_in = 0.7, "share of its length", "trial";
    /// The same on a weak place, as far as it counts against a chord that does not.
    passing_out = 0.3, "share of its length", "trial";
    /// The same on a beat.
    accented_out = 0.5, "share of its length", "trial";
    /// A prepared note that resolves by step, against a chord that does not hold it.
    suspension_out = 0.55, "share of its length", "trial";
    /// A note only left by step.
    leaning_out = 0.75, "share of its length", "trial";
    /// A note only reached by step, or heard again in the next chord.
    leaving_out = 0.75, "share of its length", "trial";
    /// A tone that a chord may do without (its perfect fifth) and that is missing.
    missing_fifth = 0.6, "slot", "Pardo & Birmingham 2002 (there 1); by trial";
    /// The root in the bass.
    bass_root = 1.6, "slot", "trial";
    /// The third in the bass.
    bass_third = 0.5, "slot", "trial";
    /// The fifth in the bass.
    bass_fifth = 0.0, "slot", "trial";
    /// A seventh in the bass.
    bass_seventh = 0.2, "slot", "trial";
    /// A sixth or ninth in the bass.
    bass_added = -1.0, "slot", "trial";
    /// A foreign tone in the bass.
    bass_foreign = -1.6, "slot", "trial";
    /// A chord that begins on a downbeat.
    change_bar = 0.8, "slot", "trial";
    /// In the middle of a bar.
    change_half = 1.3, "slot", "trial";
    /// On another beat.
    change_beat = 1.8, "slot", "trial";
    /// Off the beat.
    change_off = 3.5, "slot", "trial";
    /// Where nothing is struck.
    change_silent = 2.0, "slot", "trial";
    /// How much rarer kinds of chords must explain, of all that sounds.
    rarity = 1.0, "times the shares of the table of kinds", "trial";
    /// What rarer kinds cost at once.
    entry = 1.0, "times the costs of the table of kinds", "trial";
    /// The key's own chords.
    key = 1.0, "times the table of degrees", "trial";
    /// The root's way from the chord before.
    progression = 1.0, "times the table of root progressions", "trial";
    /// A leading-tone chord that goes where it leads.
    leading = 1.0, "slot", "common practice, no source";
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
