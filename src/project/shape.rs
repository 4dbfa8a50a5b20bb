//! The shape of a show: movement after movement voiced, with what each wants and reaches, and lips that remember.

use super::given::Given;
use super::standing::Look;
use super::whole_way::whole_way_with;
use crate::band::Band;
use crate::band::load::Conditions;
use crate::export::{ShapeMovement, ShapePicture};
use crate::music::Tick;
use crate::plan::timeline::{AnyTimeline, Laid, Offset};
use crate::review::{Before, Course, CourseOf, Miss, misses};
use crate::score::{Draft, Passage};
use crate::sketch::{Song, Warning};
use crate::voicing::{Effort, Progress};

/// A movement as it came out.
#[derive(Clone, PartialEq, Debug)]
pub struct Shaped<'a> {
    /// What it is called.
    pub name: String,
    /// Its music.
    pub song: &'a Song,
    /// What is wanted and reached.
    pub course: Course,
    /// Where sections begin: the timeline's, or else the markers of the sketch.
    pub sections: Vec<(Tick, String)>,
    /// Where the draft misses the shape.
    pub misses: Vec<Miss>,
    /// How much of the show lies before it.
    pub begins: Offset,
    /// Seconds until the next movement begins.
    pub pause_after: f64,
    /// Its timeline, where there is one.
    pub laid: Option<Laid>,
    /// Its notes.
    pub draft: Draft,
    /// What was malformed or had to be decided.
    pub warnings: Vec<Warning>,
}

/// A movement that is to be voiced.
#[derive(Clone, Debug)]
pub struct ToShape<'a> {
    /// What it is called.
    pub name: String,
    /// Its music.
    pub song: &'a Song,
    /// How it is to go, if that is said.
    pub timeline: Option<AnyTimeline>,
    /// Seconds until the next movement begins.
    pub pause_after: f64,
}

impl<'a> Shaped<'a> {
    /// A show as it stands, with the notes that it has.
    #[must_use]
    pub fn of_show(look: &'a Look) -> Self {
        let document = &look.document;
        let (song, laid) = (&*look.song, look.ready.timeline.as_ref());
        let warnings = song.warnings.iter().chain(&look.ready.reading.warnings);
        Self {
            name: document.title.clone(),
            song,
            sections: sections(song, laid),
            misses: misses(&look.course),
            begins: Offset::NONE,
            pause_after: 0.0,
            course: (*look.course).clone(),
            laid: laid.cloned(),
            draft: (*document.draft).clone(),
            warnings: warnings.cloned().collect(),
        }
    }

    /// Its timeline, where there is one.
    #[must_use]
    pub const fn laid(&self) -> Option<&Laid> {
        self.laid.as_ref()
    }

    /// How long it lasts, seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.song.tempo.seconds(self.song.end())
    }
}

/// Voices movements one after another, each with what was played before it in the lips. `progress` is told the
/// share done of the whole.
#[must_use]
pub fn shapes<'a>(
    all: Vec<ToShape<'a>>,
    band: &Band,
    given: &Given<'_>,
    progress: &mut dyn FnMut(f64),
) -> Vec<Shaped<'a>> {
    let count = all.len().max(1) as f64;
    let (mut begins, mut before) = (Offset::NONE, Before::default());
    let mut shaped = Vec::new();
    for (i, one) in all.into_iter().enumerate() {
        let given = Given {
            timeline: one.timeline,
            ..given.clone()
        };
        let done = i as f64;
        let way = whole_way_with(
            one.song,
            band,
            &given,
            &Effort::default(),
            &mut |p: Progress| {
                progress((done + p.share) / count);
            },
        );
        let pause_after = one.pause_after.max(0.0);
        let passages: Vec<Passage> = way.plan.passages.iter().map(|p| p.passage).collect();
        let drafted = Drafted {
            draft: &way.voiced.draft,
            passages: &passages,
            laid: way.timeline.as_ref(),
        };
        let how = given.conditions;
        let (course, after) = course(one.song, band, &drafted, how, &before, pause_after);
        let seconds = one.song.tempo.seconds(one.song.end());
        let bars = u32::try_from(course.bars()).ok();
        let next = begins.after(bars, Some(seconds), pause_after);
        shaped.push(Shaped {
            name: one.name,
            song: one.song,
            sections: sections(one.song, drafted.laid),
            misses: misses(&course),
            begins,
            pause_after,
            course,
            laid: way.timeline.clone(),
            draft: way.voiced.draft,
            warnings: way.warnings,
        });
        (begins, before) = (next, after);
    }
    shaped
}

/// A draft with what was wanted of it.
#[derive(Clone, Copy)]
struct Drafted<'a> {
    draft: &'a Draft,
    passages: &'a [Passage],
    laid: Option<&'a Laid>,
}

/// The course of a movement, and what was played once it is over.
fn course(
    song: &Song,
    band: &Band,
    drafted: &Drafted<'_>,
    conditions: Conditions,
    before: &Before,
    pause: f64,
) -> (Course, Before) {
    let mut of = CourseOf {
        band,
        draft: drafted.draft,
        passages: drafted.passages,
        wanted: None,
        meters: &song.meters,
        tempo: &song.tempo,
        conditions,
        before: Some(before),
        end: song.end(),
    };
    let wanted = drafted.laid.and_then(|t| t.by_bar(&of.starts()));
    of.wanted = wanted.as_deref();
    let seconds = song.tempo.seconds(song.end());
    (Course::of(&of), before.clone().with(&of, seconds, pause))
}

/// The timeline's sections, or else the markers of the sketch.
pub(super) fn sections(song: &Song, laid: Option<&Laid>) -> Vec<(Tick, String)> {
    let planned = laid.map(|t| t.sections.clone());
    let planned = planned.filter(|s| !s.is_empty());
    planned.unwrap_or_else(|| {
        let markers = song.markers.iter();
        markers.map(|m| (m.at, m.text.clone())).collect()
    })
}

/// A show as a picture.
#[must_use]
pub fn picture<'a>(title: &'a str, under: &'a str, all: &'a [Shaped<'_>]) -> ShapePicture<'a> {
    let movement = |s: &'a Shaped<'_>| ShapeMovement {
        name: &s.name,
        course: &s.course,
        laid: s.laid(),
        sections: &s.sections,
        misses: &s.misses,
        meters: &s.song.meters,
        tempo: &s.song.tempo,
        begins: s.begins.seconds.unwrap_or_default(),
        pause_after: s.pause_after,
    };
    ShapePicture {
        title,
        under,
        movements: all.iter().map(movement).collect(),
    }
}
