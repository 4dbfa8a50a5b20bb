//! What is looked at in a note to tell whether it is melody.

/// Declares the features with the words that the weights file and the evidence use.
macro_rules! features {
    ($($name:ident $word:literal,)*) => {
        /// A feature of a note.
        #[derive(Clone, Copy, PartialEq, Eq, Debug)]
        pub(super) enum Feature {
            $($name,)*
        }

        /// The word of each feature, in the order of [`Feature`].
        pub(super) const WORDS: &[&str] = &[$($word,)*];
    };
}

features! {
    Any "any",
    Top "top",
    TopStruck "top_struck",
    OneAbove "one_above",
    TwoAbove "two_above",
    MoreAbove "more_above",
    Lowest "lowest",
    Alone "alone",
    Chord "chord",
    Inner "inner",
    EndsAlike "ends_alike",
    TopEndsAlike "top_ends_alike",
    Length "length",
    Short "short",
    Long "long",
    LongerThanOthers "longer_than_others",
    HeldOver "held_over",
    LoudMark "loud_mark",
    LoudMean "loud_mean",
    LoudOthers "loud_others",
    Low "low",
    High "high",
    UnderCentre "under_centre",
    OverCentre "over_centre",
    Foreign "foreign",
    Shared "shared",
    SameBar "same_bar",
    SameHalf "same_half",
    SameBeat "same_beat",
    Returning "returning",
    ShapeBar "shape_bar",
    ShapeHalf "shape_half",
    Pattern "pattern",
    StepIn "step_in",
    StepOut "step_out",
    Zigzag "zigzag",
    Motor "motor",
    MotorAlone "motor_alone",
    Figure "figure",
    Slow "slow",
    SlowLowest "slow_lowest",
    SlowInner "slow_inner",
    OnBeat "on_beat",
    OffGrid "off_grid",
    FreeRhythm "free_rhythm",
    RoomAbove "room_above",
    RoomBelow "room_below",
    Clash "clash",
    OctaveBelow "octave_below",
    OctaveAbove "octave_above",
    ThirdBelow "third_below",
    Crowd "crowd",
    Density "density",
    Covered "covered",
    ChordalTop "chordal_top",
    ChordalAlone "chordal_alone",
    ChordAgain "chord_again",
    AttackAgain "attack_again",
    Arpeggio "arpeggio",
    AroundPattern "around_pattern",
    AroundChordal "around_chordal",
    AroundSmooth "around_smooth",
    AroundSteps "around_steps",
    AroundAlike "around_alike",
    AroundSteady "around_steady",
    WholePattern "whole_pattern",
    WholeChordal "whole_chordal",
    WholeSmooth "whole_smooth",
    WholeSteps "whole_steps",
    WholeAlike "whole_alike",
    WholeSteady "whole_steady",
    PartTop "part_top",
    PartUnder "part_under",
    LineUnder "line_under",
    LineOver "line_over",
    LineLoud "line_loud",
    LineLouder "line_louder",
    LineTop "line_top",
    LineAlone "line_alone",
    LineLength "line_length",
    LineThere "line_there",
    LineAlwaysTop "line_always_top",
    LineNeverUnder "line_never_under",
    LineNear "line_near",
}

/// How many features there are.
pub(super) const COUNT: usize = WORDS.len();

/// The ways in which a tune lies in the music: on top of what is struck with it, or among things
/// that go their own ways, as a singer's does. Each has weights of its own.
pub(super) const WAYS: usize = 2;

/// The features of one note, each about -2 to 2. There are very many of them, so they are small.
pub(super) type Values = [f32; COUNT];

/// The points of each feature.
pub(super) type Points = [f64; COUNT];
