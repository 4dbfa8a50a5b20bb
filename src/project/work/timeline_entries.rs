//! The timeline as entries to be listed and edited one by one, in bars, in seconds before the music exists, or in
//! shares: sections, points, peaks, silences, tempos, pauses and the notes of lanes.

use super::timeline_edit::{Begin, TimelineRefused, begin_timeline};
use crate::music::Tick;
use crate::plan::timeline::{
    AnyTimeline, Lane, LaneNote, Mark, MarkKind, Pause, Place, Point, Seconds, Section, Silence,
    TempoPoint, Timeline, Way,
};

/// How long a show is planned at first that has no music yet, seconds: seven minutes (ours).
const FIRST_LENGTH: f64 = 420.0;

/// One thing of a timeline. Places are as people type them ([`Place::typed`]), since their kind is the timeline's.
#[derive(Clone, PartialEq, Debug)]
pub enum Entry {
    /// A section.
    Section {
        /// Where it begins.
        at: String,
        /// What it is called.
        name: String,
    },
    /// A point of the wanted curve.
    Point {
        /// Where.
        at: String,
        /// How intense, 0 to 10.
        intensity: f64,
        /// How the curve goes on.
        way: Way,
    },
    /// A peak, crest or hush.
    Mark {
        /// What it is.
        kind: MarkKind,
        /// Where.
        at: String,
        /// What it is called.
        name: String,
    },
    /// A silence.
    Silence {
        /// Where it begins.
        from: String,
        /// Where sound begins again.
        to: String,
        /// What it is for; may be empty.
        name: String,
    },
    /// A tempo.
    Tempo {
        /// From where on.
        at: String,
        /// Felt beats a minute.
        beats: f64,
        /// Whether it changes evenly to the next.
        ramp: bool,
    },
    /// A pause.
    Pause {
        /// What is reached before it.
        at: String,
        /// How long, seconds.
        seconds: f64,
        /// What it is for; may be empty.
        name: String,
    },
    /// A note in a lane.
    Note {
        /// The lane's name.
        lane: String,
        /// Where what it says begins.
        from: String,
        /// Where it ends.
        to: String,
        /// What is to happen.
        text: String,
    },
}

/// A kind of [`Entry`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum EntryKind {
    /// Sections.
    Section,
    /// Points of the wanted curve.
    Point,
    /// Peaks, crests and hushes.
    Mark,
    /// Silences.
    Silence,
    /// Tempos.
    Tempo,
    /// Pauses.
    Pause,
    /// Notes in lanes.
    Note,
}

impl EntryKind {
    /// All kinds, in the order in which a show is planned.
    pub const ALL: [Self; 7] = [
        Self::Section,
        Self::Mark,
        Self::Point,
        Self::Silence,
        Self::Tempo,
        Self::Pause,
        Self::Note,
    ];

    /// One of them in a word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Section => "section",
            Self::Point => "point of the curve",
            Self::Mark => "peak, crest or hush",
            Self::Silence => "silence",
            Self::Tempo => "tempo",
            Self::Pause => "pause",
            Self::Note => "note",
        }
    }

    /// An entry of this kind to begin with, at a place.
    #[must_use]
    pub fn fresh(self, at: &str) -> Entry {
        let at = at.to_owned();
        match self {
            Self::Section => Entry::Section {
                at,
                name: String::new(),
            },
            Self::Point => Entry::Point {
                at,
                intensity: 5.0,
                way: Way::default(),
            },
            Self::Mark => Entry::Mark {
                kind: MarkKind::Peak,
                at,
                name: String::new(),
            },
            Self::Silence => Entry::Silence {
                from: at,
                to: String::new(),
                name: String::new(),
            },
            Self::Tempo => Entry::Tempo {
                at,
                beats: 120.0,
                ramp: false,
            },
            Self::Pause => Entry::Pause {
                at,
                seconds: 20.0,
                name: String::new(),
            },
            Self::Note => Entry::Note {
                lane: String::new(),
                from: at,
                to: String::new(),
                text: String::new(),
            },
        }
    }
}

impl Entry {
    /// What kind it is.
    #[must_use]
    pub const fn kind(&self) -> EntryKind {
        match self {
            Self::Section { .. } => EntryKind::Section,
            Self::Point { .. } => EntryKind::Point,
            Self::Mark { .. } => EntryKind::Mark,
            Self::Silence { .. } => EntryKind::Silence,
            Self::Tempo { .. } => EntryKind::Tempo,
            Self::Pause { .. } => EntryKind::Pause,
            Self::Note { .. } => EntryKind::Note,
        }
    }

    /// Where it begins, as typed.
    #[must_use]
    pub fn at(&self) -> &str {
        match self {
            Self::Section { at, .. }
            | Self::Point { at, .. }
            | Self::Mark { at, .. }
            | Self::Tempo { at, .. }
            | Self::Pause { at, .. } => at,
            Self::Silence { from, .. } | Self::Note { from, .. } => from,
        }
    }
}

/// An edit of one entry, or of the whole. Entries are meant by their index among those of their kind.
#[derive(Clone, PartialEq, Debug)]
pub enum EntryEdit {
    /// A new entry.
    Add(Entry),
    /// Another entry in place of one of its kind.
    Change(usize, Entry),
    /// An entry goes away.
    Remove(EntryKind, usize),
    /// What the timeline is called.
    Name(String),
    /// How long it is, as typed: where it ends, or in bars the last bar.
    Length(String),
}

/// All entries of a kind, in order; notes by their lanes.
///
/// ```
/// use bandwright::plan::timeline::{AnyTimeline, template};
/// use bandwright::project::work::{EntryEdit, EntryKind, edit_entries, entries};
/// let plan = AnyTimeline::from(template("arch").unwrap().in_seconds(420.0));
/// let silence = EntryKind::Silence.fresh("2:00");
/// let refused = edit_entries(&plan, &EntryEdit::Add(silence)).unwrap_err().to_string();
/// assert_eq!(refused, "`` is no place of this show; type minutes and seconds (1:35), or seconds (95)");
/// let section = EntryKind::Section.fresh("0:30");
/// assert!(edit_entries(&plan, &EntryEdit::Add(section)).is_err(), "it has no name");
/// let removed = edit_entries(&plan, &EntryEdit::Remove(EntryKind::Mark, 0)).unwrap().0;
/// let marks = |plan| entries(plan, EntryKind::Mark).len();
/// assert_eq!(marks(&removed) + 1, marks(&plan));
/// ```
#[must_use]
pub fn entries(timeline: &AnyTimeline, kind: EntryKind) -> Vec<Entry> {
    match timeline {
        AnyTimeline::Bars(t) => listed(t, kind),
        AnyTimeline::Seconds(t) => listed(t, kind),
        AnyTimeline::Shares(t) => listed(t, kind),
    }
}

/// How long a timeline is, as typed: where it ends, or its last bar.
#[must_use]
pub fn typed_length(timeline: &AnyTimeline) -> String {
    match timeline {
        AnyTimeline::Bars(t) => t.bars().to_string(),
        AnyTimeline::Seconds(t) => t.end.typed(),
        AnyTimeline::Shares(t) => t.end.typed(),
    }
}

/// A plan to begin with: as the sketch goes where there is music, else seconds with nothing in them.
///
/// # Errors
/// Where the sketch makes no timeline.
pub fn begin_plan(from: &Begin<'_>) -> Result<AnyTimeline, TimelineRefused> {
    if from.end == Tick::ZERO {
        let plan = Timeline::new("The show as planned", Seconds(FIRST_LENGTH));
        return Ok(plan.into());
    }
    begin_timeline(from).map(Into::into)
}

/// Makes an edit of an entry; the step's name comes with it.
///
/// # Errors
/// Where what was typed cannot be, or means nothing that is there.
pub fn edit_entries(
    now: &AnyTimeline,
    edit: &EntryEdit,
) -> Result<(AnyTimeline, String), TimelineRefused> {
    let (after, name) = match now {
        AnyTimeline::Bars(t) => {
            let (mut after, name) = edited(t, edit)?;
            if let EntryEdit::Length(_) = edit {
                // Of bars the last one is typed; the end is the bar line after it.
                after.end.bar.0 = after.end.bar.0.saturating_add(1);
                after.end.beat = 1.0;
            }
            (after.into(), name)
        }
        AnyTimeline::Seconds(t) => {
            let (after, name) = edited(t, edit)?;
            (AnyTimeline::from(after), name)
        }
        AnyTimeline::Shares(t) => {
            let (after, name) = edited(t, edit)?;
            (AnyTimeline::from(after), name)
        }
    };
    if after == *now {
        return Err(TimelineRefused::NothingChanges);
    }
    after.check()?;
    Ok((after, name))
}

fn listed<P: Place>(t: &Timeline<P>, kind: EntryKind) -> Vec<Entry> {
    match kind {
        EntryKind::Section => (t.sections.iter())
            .map(|s| Entry::Section {
                at: s.start.typed(),
                name: s.name.clone(),
            })
            .collect(),
        EntryKind::Point => (t.points.iter())
            .map(|p| Entry::Point {
                at: p.at.typed(),
                intensity: p.intensity,
                way: p.way,
            })
            .collect(),
        EntryKind::Mark => (t.marks.iter())
            .map(|m| Entry::Mark {
                kind: m.kind,
                at: m.at.typed(),
                name: m.name.clone(),
            })
            .collect(),
        EntryKind::Silence => (t.silences.iter())
            .map(|s| Entry::Silence {
                from: s.from.typed(),
                to: s.to.typed(),
                name: s.name.clone(),
            })
            .collect(),
        EntryKind::Tempo => (t.tempos.iter())
            .map(|p| Entry::Tempo {
                at: p.at.typed(),
                beats: p.beats_per_minute,
                ramp: p.ramp,
            })
            .collect(),
        EntryKind::Pause => (t.pauses.iter())
            .map(|p| Entry::Pause {
                at: p.at.typed(),
                seconds: p.seconds,
                name: p.name.clone(),
            })
            .collect(),
        EntryKind::Note => (t.lanes.iter())
            .flat_map(|lane| lane.notes.iter().map(move |note| (lane, note)))
            .map(|(lane, note)| Entry::Note {
                lane: lane.name.clone(),
                from: note.from.typed(),
                to: note.to.typed(),
                text: note.text.clone(),
            })
            .collect(),
    }
}

type Edited<P> = Result<(Timeline<P>, String), TimelineRefused>;

fn edited<P: Place>(now: &Timeline<P>, edit: &EntryEdit) -> Edited<P> {
    let mut after = now.clone();
    let name = match edit {
        EntryEdit::Add(entry) => {
            put(&mut after, entry)?;
            format!("add a {} ({})", entry.kind().word(), entry.at().trim())
        }
        EntryEdit::Change(index, entry) => {
            // What stays as it was typed is not read anew, so that no thousandth is lost.
            if listed(now, entry.kind()).get(*index) == Some(entry) {
                return Err(TimelineRefused::NothingChanges);
            }
            remove(&mut after, entry.kind(), *index)?;
            put(&mut after, entry)?;
            format!("change a {} ({})", entry.kind().word(), entry.at().trim())
        }
        EntryEdit::Remove(kind, index) => {
            let gone = listed(now, *kind);
            let at = gone.get(*index).map_or("", Entry::at);
            remove(&mut after, *kind, *index)?;
            format!("remove a {} ({at})", kind.word())
        }
        EntryEdit::Name(name) => {
            name.trim().clone_into(&mut after.name);
            format!("call the timeline `{}`", name.trim())
        }
        EntryEdit::Length(typed) => {
            after.end = place(typed)?;
            format!("the show lasts to {}", typed.trim())
        }
    };
    Ok((after, name))
}

fn place<P: Place>(typed: &str) -> Result<P, TimelineRefused> {
    let none = || TimelineRefused::Place(typed.trim().to_owned(), P::EXAMPLE);
    P::from_typed(typed).ok_or_else(none)
}

fn remove<P: Place>(
    t: &mut Timeline<P>,
    kind: EntryKind,
    index: usize,
) -> Result<(), TimelineRefused> {
    fn out<T>(list: &mut Vec<T>, index: usize) -> bool {
        let is_there = index < list.len();
        if is_there {
            list.remove(index);
        }
        is_there
    }
    let was_there = match kind {
        EntryKind::Section => out(&mut t.sections, index),
        EntryKind::Point => out(&mut t.points, index),
        EntryKind::Mark => out(&mut t.marks, index),
        EntryKind::Silence => out(&mut t.silences, index),
        EntryKind::Tempo => out(&mut t.tempos, index),
        EntryKind::Pause => out(&mut t.pauses, index),
        EntryKind::Note => {
            let mut before = 0;
            let of = t.lanes.iter().position(|lane| {
                before += lane.notes.len();
                index < before
            });
            let lane = of.and_then(|i| t.lanes.get_mut(i));
            let was = lane.is_some_and(|lane| {
                let inside = index + lane.notes.len() - before;
                out(&mut lane.notes, inside)
            });
            t.lanes.retain(|lane| !lane.notes.is_empty());
            was
        }
    };
    was_there
        .then_some(())
        .ok_or(TimelineRefused::Unknown(kind.word()))
}

/// Puts an entry where it belongs in the order of its kind.
fn put<P: Place>(t: &mut Timeline<P>, entry: &Entry) -> Result<(), TimelineRefused> {
    let meter = t.meter;
    let along = |p: P| p.along(meter);
    let words = |text: &str| text.trim().to_owned();
    match entry {
        Entry::Section { at, name } => {
            let (start, name) = (place(at)?, words(name));
            sorted_in(&mut t.sections, Section { name, start }, |s| along(s.start));
        }
        Entry::Point { at, intensity, way } => {
            let point = Point {
                at: place(at)?,
                intensity: *intensity,
                way: *way,
            };
            sorted_in(&mut t.points, point, |p| along(p.at));
        }
        Entry::Mark { kind, at, name } => {
            let mark = Mark {
                kind: *kind,
                at: place(at)?,
                name: words(name),
            };
            sorted_in(&mut t.marks, mark, |m| along(m.at));
        }
        Entry::Silence { from, to, name } => {
            let silence = Silence {
                from: place(from)?,
                to: place(to)?,
                name: words(name),
            };
            sorted_in(&mut t.silences, silence, |s| along(s.from));
        }
        Entry::Tempo { at, beats, ramp } => {
            let tempo = TempoPoint {
                at: place(at)?,
                beats_per_minute: *beats,
                ramp: *ramp,
            };
            sorted_in(&mut t.tempos, tempo, |p| along(p.at));
        }
        Entry::Pause { at, seconds, name } => {
            let pause = Pause {
                at: place(at)?,
                seconds: *seconds,
                name: words(name),
            };
            sorted_in(&mut t.pauses, pause, |p| along(p.at));
        }
        Entry::Note {
            lane,
            from,
            to,
            text,
        } => {
            let note = LaneNote {
                from: place(from)?,
                to: place(to)?,
                text: words(text),
            };
            let lane = words(lane);
            let of = t.lanes.iter().position(|l| l.name == lane);
            match of.and_then(|i| t.lanes.get_mut(i)) {
                Some(lane) => sorted_in(&mut lane.notes, note, |n| along(n.from)),
                None => t.lanes.push(Lane {
                    name: lane,
                    notes: vec![note],
                }),
            }
        }
    }
    Ok(())
}

fn sorted_in<T>(list: &mut Vec<T>, item: T, along: impl Fn(&T) -> f64) {
    let here = along(&item);
    let next = list.partition_point(|other| along(other) <= here);
    list.insert(next, item);
}
