//! Why each note is there: what it costs, term by term; what else the part could do, and what that
//! would cost more; what ruled the rest out.
//!
//! [`Explainer`] looks at one voicing. For a part that fills the chord, what another note would cost
//! more is exact for its choir: the cheapest way of the whole choir through that note, over the whole
//! stretch that was solved at once, with all other choirs as they are (`marginals`). Those ways are
//! found once for a choir and then serve all its notes. For a line, the octaves of a breath are held
//! against each other with all else as it is (`line`). `dearest` tells what costs most in the whole
//! draft, and what could be done.

pub mod dearest;
mod harmony;
mod line;
mod marginals;
mod names;
mod rest;
mod ruled_out;
mod words;

use crate::band::{Part, PartId};
use crate::music::{Sounding, Tick};
use crate::plan::fit::ChanceCosts;
use crate::score::{Draft, DraftNote, Role};
use crate::voicing::chords::Chords;
use crate::voicing::{Problem, Voiced};
use marginals::Marginals;
use std::collections::BTreeMap;
use std::ops::Range;

pub use ruled_out::{RuledOut, RuledOutBy};

/// Where a cost arises.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Place {
    /// In what the part does by itself.
    Note,
    /// In how it comes from what it did before.
    WayIn,
    /// In the chord of its choir, of which each part that is free has the same share.
    Choir,
    /// In the chord of the band, of which each part that is free has the same share.
    Band,
    /// In how it goes on: the next note's way in, not counted here.
    WayOut,
}

impl Place {
    /// The word that files use.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::WayIn => "way_in",
            Self::Choir => "choir",
            Self::Band => "band",
            Self::WayOut => "way_out",
        }
    }
}

/// What a note costs by one term.
#[derive(Clone, PartialEq, Debug)]
pub struct NoteCost {
    /// The term's name.
    pub term: &'static str,
    /// Where it arises.
    pub place: Place,
    /// Its cost in points; of a choir's or the band's, the part's share.
    pub points: f64,
    /// Why, in words.
    pub text: String,
}

/// Something else that a part could do.
#[derive(Clone, PartialEq, Debug)]
pub struct RunnerUp {
    /// The note, sounding (of a line: the first of the breath); `None`: it rests.
    pub sounds: Option<Sounding>,
    /// Octaves from the sketch's line, where the choice is between octaves.
    pub octave: Option<i16>,
    /// What it would cost more, in points. Under zero where the search stopped before it found this.
    pub cost_more: f64,
    /// What makes the difference by term, in points, the largest first; they add up to `cost_more`.
    pub terms: Vec<(&'static str, f64)>,
    /// Whether other notes of the choir would then be others, too.
    pub moves_others: bool,
}

/// Why a part does what it does at a place.
#[derive(Clone, PartialEq, Debug)]
pub struct Explanation {
    /// The part.
    pub part: PartId,
    /// Where what is explained begins: a chord's step, a note of a line, a rest.
    pub start: Tick,
    /// Where it ends.
    pub end: Tick,
    /// What the part sounds in the draft; `None`: it rests.
    pub sounds: Option<Sounding>,
    /// What that is for.
    pub role: Role,
    /// Whether the arranger fixed it.
    pub locked: bool,
    /// Reasons in words: what it is for, why this part, why it rests, why in this octave.
    pub reasons: Vec<String>,
    /// What it costs, by term.
    pub costs: Vec<NoteCost>,
    /// What it costs together, in points, the way out left out.
    pub total: f64,
    /// What else it could do, the cheapest first.
    pub runners_up: Vec<RunnerUp>,
    /// What was not among the choices, and why.
    pub ruled_out: Vec<RuledOut>,
}

/// Looks into a voicing. What it finds about a choir is kept.
///
/// ```
/// use bandwright::band::preset;
/// use bandwright::cli::files::demo_song;
/// use bandwright::project::given::Given;
/// use bandwright::project::whole_way::whole_way;
/// use bandwright::music::BarNumber;
/// use bandwright::plan::fit::ChanceCosts;
/// use bandwright::voicing::explain::Explainer;
/// let (song, band) = (demo_song().unwrap(), preset("demo").unwrap());
/// let way = whole_way(&song, &band, &Given::default(), &mut |_| {});
/// let (problem, costs) = (way.problem(&song, &band), ChanceCosts::of_band(&band));
/// let mut explainer = Explainer::new(&problem, &costs, &way.voiced);
/// let at = song.meters.bar_start(BarNumber(41));
/// let clarinet = band.ids().find(|(_, p)| p.name == "Clarinet 3").unwrap().0;
/// let why = explainer.explain(clarinet, at);
/// assert!(!why.reasons.is_empty());
/// // Whatever else it could do costs no less.
/// assert!(why.runners_up.iter().all(|r| r.cost_more >= 0.0));
/// ```
pub struct Explainer<'a> {
    problem: &'a Problem<'a>,
    costs: &'a [ChanceCosts],
    voiced: &'a Voiced,
    chords: Chords<'a>,
    stretches: Vec<Range<usize>>,
    known: BTreeMap<(usize, usize), Option<Marginals>>,
}

impl<'a> Explainer<'a> {
    /// Looks into the voicing of a problem; `costs` are those of its band.
    #[must_use]
    pub fn new(problem: &'a Problem<'a>, costs: &'a [ChanceCosts], voiced: &'a Voiced) -> Self {
        let chords = Chords::new(problem, costs, &voiced.around);
        Self {
            problem,
            costs,
            voiced,
            stretches: Vec::new(),
            chords,
            known: BTreeMap::new(),
        }
    }

    /// Why a part does what it does at a tick.
    pub fn explain(&mut self, part: PartId, at: Tick) -> Explanation {
        self.explain_note(part, at, None)
    }

    /// The same; of several notes that a part strikes at once, the one of a pitch, where there is such.
    pub fn explain_note(&mut self, part: PartId, at: Tick, pitch: Option<Sounding>) -> Explanation {
        let note = self.note(part, at, pitch).copied();
        let step = self.step(at);
        let is_free = step.is_some_and(|s| self.chords.is_free(part, s));
        match (note, step) {
            (Some(note), _) if note.locked => self.locked(part, &note),
            (Some(note), _) if note.role != Role::Harmony => self.line_note(part, &note),
            (note, Some(step)) if is_free => self.harmony(part, step, note.as_ref()),
            (note, _) => self.rest(part, at, note.as_ref()),
        }
    }

    /// Where something begins to be explained for a part from one tick to another: each note, and
    /// the first tick where it rests all through.
    #[must_use]
    pub fn places(&self, part: PartId, start: Tick, end: Tick) -> Vec<Tick> {
        let notes = self.line(part);
        let from = notes.partition_point(|n| n.onset < start);
        let inside = notes[from..].iter().take_while(|n| n.onset < end);
        let mut places: Vec<Tick> = inside.map(|n| n.onset).collect();
        places.dedup();
        if places.is_empty() {
            places.push(start);
        }
        places
    }

    fn band_part(&self, part: PartId) -> &'a Part {
        self.problem.band.part(part)
    }

    fn draft(&self) -> &'a Draft {
        &self.voiced.draft
    }

    /// The notes of a part in the draft.
    fn line(&self, part: PartId) -> &'a [DraftNote] {
        self.draft().lines.get(part.0).map_or(&[], |l| &l.notes)
    }

    /// What a part sounds in the draft; of several notes the one of a pitch, else the last struck.
    fn note(&self, part: PartId, at: Tick, pitch: Option<Sounding>) -> Option<&'a DraftNote> {
        let notes = self.line(part);
        let next = notes.partition_point(|n| n.onset <= at);
        // Locked notes may overlap: a few back are enough to find the one that holds.
        let mut held = notes[..next].iter().rev().take(8).filter(|n| at < n.end());
        let meant = held.clone().find(|n| Some(n.pitch) == pitch);
        meant.or_else(|| held.next())
    }

    /// The step of the chords that a tick lies in.
    fn step(&self, at: Tick) -> Option<usize> {
        let next = self.chords.steps.partition_point(|s| s.start <= at);
        let step = next.checked_sub(1)?;
        (at < self.chords.steps.get(step)?.end).then_some(step)
    }

    /// The choir of a part and its place in it.
    fn choir(&self, part: PartId) -> Option<(usize, usize)> {
        let choirs = self.chords.choirs().iter().enumerate();
        let mut of =
            choirs.filter_map(|(c, parts)| Some((c, parts.iter().position(|p| *p == part)?)));
        of.next()
    }

    /// The cheapest ways of a choir over the stretch that a step lies in, found once.
    fn marginals(&mut self, choir: usize, step: usize) -> Option<(&Marginals, Range<usize>)> {
        if self.stretches.is_empty() {
            self.stretches = self.chords.stretches(&self.voiced.chosen);
        }
        let stretch = self.stretches.iter().find(|r| r.contains(&step))?.clone();
        let (chords, chosen) = (&self.chords, &self.voiced.chosen);
        let found = self.known.entry((choir, stretch.start)).or_insert_with(|| {
            let before = stretch.start.checked_sub(1).and_then(|b| chosen.get(b));
            let chain = chords.choir_chain(choir, stretch.clone(), before.map(Vec::as_slice));
            let joint = stretch.clone().enumerate().map(|(at, s)| {
                let shared = chords.shared_costs(&chain, at, s, chosen);
                chain.stages[at].priced(&shared)
            });
            let joint = joint.collect();
            Marginals::new(chain, stretch.start, joint, chosen)
        });
        Some((found.as_ref()?, stretch))
    }
}
