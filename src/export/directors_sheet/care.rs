//! What is assumed of a band, and words of care, as the sheet says them.

/// What the numbers of the sheet stand on.
pub(super) const ASSUMPTIONS: [&str; 5] = [
    "Levels are the roster\u{2019}s: first-year, in the first year of playing; second-year; intermediate, about years \
     three and four; advanced, a solid high-school player; all-state, would win a place in an all-state band.",
    "Ranges, speeds, leaps and breath of each level are starting points from published charts and common practice. \
     Where you know your players better, say so in the roster.",
    "The clean chance is the likelihood that a note comes out well: 0.95 at the edge of what is comfortable, 0.60 at \
     the edge of what can be reached, by these tables. Nobody has counted.",
    "Loudness is the sound power of each instrument by register, dynamic and level, added up over the players of a \
     part: no room, no drill, no wind. Drums, mallets and what is amplified are left out of balance.",
    "How tired lips get is a model of muscles with values borrowed from limbs; it does not know what was played \
     before, nor how anybody feels.",
];

/// Care that every draft wants.
pub(crate) const CARE: [&str; 5] = [
    "Endurance: look through long stretches of brass, and of anything high, yourself, and ask the players.",
    "Range: a note inside the range of a level may still be too much for one player. Braces and injuries are for the \
     director to weigh, by the advice of the player\u{2019}s doctor or dentist; pain is always a reason to stop.",
    "Loudness: long or loud playing near the ear, in a small room above all, can harm hearing. The levels told here \
     say nothing of what reaches a player\u{2019}s ear.",
    "Heat and marching load: what can be played sitting may be too much while marching, with a heavy instrument, in \
     the sun. The program knows nothing of drill or weather.",
    "The director, local rules and licensed practice decide. The program does not.",
];
