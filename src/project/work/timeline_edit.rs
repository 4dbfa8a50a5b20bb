//! Editing the timeline: points of the wanted curve, peaks, crests and hushes.

use crate::music::{BarBeat, Meter, MeterMap, TempoMap, Tick};
use crate::plan::timeline::{
    AnyTimeline, Fault, INTENSITIES, Mark, MarkKind, Place, Point, Section, Timeline, Way, at_bars,
    bar_line, beats_in_bar, template,
};
use crate::score::Passage;
use crate::sketch::Marker;
use thiserror::Error;

/// What a timeline begins with that is edited for the first time.
#[derive(Clone, Copy, Debug)]
pub struct Begin<'a> {
    /// Meters and bars of the music.
    pub meters: &'a MeterMap,
    /// Its tempos.
    pub tempo: &'a TempoMap,
    /// Where it ends.
    pub end: Tick,
    /// Its passages, each with the intensity that the sketch has.
    pub passages: &'a [Passage],
    /// Its markers, which become sections.
    pub markers: &'a [Marker],
}

/// One edit of a timeline in bars. Points and marks are meant by their index.
#[derive(Clone, PartialEq, Debug)]
pub enum TimelineEdit {
    /// A new point; the curve goes on from it as from the one before.
    AddPoint {
        /// Where.
        at: BarBeat,
        /// How intense, 0 to 10.
        intensity: f64,
    },
    /// A point goes elsewhere, as far as its neighbours let it.
    MovePoint {
        /// Which.
        point: usize,
        /// Where to.
        at: BarBeat,
        /// How intense, 0 to 10.
        intensity: f64,
    },
    /// A point goes away.
    RemovePoint(usize),
    /// How the curve goes on from a point.
    Way(usize, Way),
    /// A peak, crest or hush gets its name.
    AddMark {
        /// What it is.
        kind: MarkKind,
        /// Where.
        at: BarBeat,
        /// What it is called.
        name: String,
    },
    /// Another name for a peak, crest or hush.
    RenameMark(usize, String),
    /// A peak, crest or hush goes elsewhere, as far as its neighbours let it.
    MoveMark(usize, BarBeat),
    /// A peak, crest or hush is one no more; the curve stays.
    RemoveMark(usize),
}

/// What came of an edit of the timeline.
#[derive(Clone, PartialEq, Debug)]
pub struct TimelineDone {
    /// The timeline after it; it passes [`Timeline::check`].
    pub timeline: Timeline<BarBeat>,
    /// The point that it was about, where it is still there.
    pub point: Option<usize>,
    /// The step's name in the history. All of a drag has the same.
    pub name: String,
}

/// Why a timeline was not changed.
#[derive(Clone, PartialEq, Debug, Error)]
pub enum TimelineRefused {
    /// There is no music to lay it on.
    #[error("there is no music yet to lay a shape on; bring in a sketch first, or take a shape")]
    NoMusic,
    /// A point or mark that it has not.
    #[error("the shape has no such {0}; choose one that is there")]
    Unknown(&'static str),
    /// Something stands there already.
    #[error("{0} stands there already; move that one, or choose another bar")]
    Taken(String),
    /// A template that is none, with what may be meant.
    #[error("{0}")]
    Template(String),
    /// What would come of it cannot be.
    #[error("the shape stays as it is, for of {0}")]
    Fault(#[from] Fault),
    /// A place that cannot be read.
    #[error("`{0}` is no place of this show; type {1}")]
    Place(String, &'static str),
    /// There is no timeline yet.
    #[error("there is no timeline yet; begin one, or take a shape")]
    NoTimeline,
    /// All is as it was.
    #[error("that changes nothing; the shape is so already")]
    NothingChanges,
}

/// The timeline that a show begins with: what the sketch has in each passage, held, and its markers as sections.
///
/// # Errors
/// Where there is no music.
pub fn begin_timeline(from: &Begin<'_>) -> Result<Timeline<BarBeat>, TimelineRefused> {
    if from.end == Tick::ZERO {
        return Err(TimelineRefused::NoMusic);
    }
    let mut timeline = Timeline::new("As the sketch goes", bar_line(bars(from) + 1));
    let meters = from.meters.changes().iter().map(|c| c.meter);
    let longest = meters.rev().max_by_key(|m| beats_in_bar(*m));
    timeline.meter = longest.unwrap_or(Meter::COMMON);
    for passage in from.passages {
        let at = bar_line(passage.first_bar.0);
        let last = timeline.points.last().map(|p: &Point<BarBeat>| p.at.bar);
        if last.is_none_or(|l| l < at.bar) {
            let intensity = tenth(passage.intensity);
            let way = Way::Held;
            timeline.points.push(Point { at, intensity, way });
        }
    }
    for marker in from.markers {
        let start = bar_line(from.meters.bar(marker.at).0);
        let name: String = marker.text.trim().chars().take(60).collect();
        let name = name.trim().to_owned();
        let last = timeline.sections.last().map(|s| s.start.bar);
        let usable = !name.is_empty() && !name.chars().any(char::is_control);
        if usable && last.is_none_or(|l| l < start.bar) && start.bar < timeline.end.bar {
            timeline.sections.push(Section { name, start });
        }
    }
    timeline.check()?;
    Ok(timeline)
}

/// Makes an edit of a timeline; where there is none, of the one that the show begins with. One in seconds or shares
/// is laid on the bars of the music first.
///
/// # Errors
/// Where the edit means nothing that is there, or would make no timeline; the sentence says what to do.
pub fn edit_timeline(
    now: Option<&AnyTimeline>,
    from: &Begin<'_>,
    edit: &TimelineEdit,
) -> Result<TimelineDone, TimelineRefused> {
    if from.end == Tick::ZERO {
        return Err(TimelineRefused::NoMusic);
    }
    let before = match now {
        Some(any) => any.in_bars_of(from.meters, from.tempo, from.end),
        None => begin_timeline(from)?,
    };
    let mut timeline = before.clone();
    let (point, name) = edited(&mut timeline, edit, bars(from))?;
    if timeline == before {
        return Err(TimelineRefused::NothingChanges);
    }
    timeline.check()?;
    Ok(TimelineDone {
        timeline,
        point,
        name,
    })
}

/// A template as the timeline of a show: stretched to the bars of the music, or, where there is none yet, as it is.
///
/// # Errors
/// If there is none of this word.
///
/// ```
/// use bandwright::music::{MeterMap, TempoMap, Tick, TicksPerQuarter};
/// use bandwright::project::work::{Begin, take_shape};
/// let quarter = TicksPerQuarter::new(480).unwrap();
/// let (meters, tempo) = (MeterMap::new(quarter, []), TempoMap::new(quarter, []));
/// let end = Tick(64 * 1920);
/// let from = Begin { meters: &meters, tempo: &tempo, end, passages: &[], markers: &[] };
/// assert_eq!(take_shape("arch", &from).unwrap().unit(), "bars");
/// assert!(take_shape("heap", &from).is_err());
/// ```
pub fn take_shape(word: &str, from: &Begin<'_>) -> Result<AnyTimeline, TimelineRefused> {
    let shares = AnyTimeline::from(template(word).map_err(TimelineRefused::Template)?);
    if from.end == Tick::ZERO {
        return Ok(shares);
    }
    let laid = AnyTimeline::from(shares.in_bars_of(from.meters, from.tempo, from.end));
    // A template has more places than very short music has bars for.
    laid.check()?;
    Ok(laid)
}

/// How many bars the music has.
fn bars(from: &Begin<'_>) -> u32 {
    from.meters.bar(Tick(from.end.0.saturating_sub(1))).0
}

/// Intensities that are read off are given to a tenth.
fn tenth(intensity: f64) -> f64 {
    (intensity.clamp(INTENSITIES.0, INTENSITIES.1) * 10.0).round() / 10.0
}

type Edited = Result<(Option<usize>, String), TimelineRefused>;

fn edited(timeline: &mut Timeline<BarBeat>, edit: &TimelineEdit, bars: u32) -> Edited {
    match edit {
        TimelineEdit::AddPoint { at, intensity } => add_point(timeline, *at, *intensity),
        TimelineEdit::MovePoint {
            point,
            at,
            intensity,
        } => move_point(timeline, *point, (*at, *intensity), bars),
        TimelineEdit::RemovePoint(point) => {
            let gone = known(timeline.points.get(*point), "point")?.at;
            timeline.points.remove(*point);
            let next = (*point).min(timeline.points.len().saturating_sub(1));
            let next = (!timeline.points.is_empty()).then_some(next);
            Ok((next, format!("remove the point at {}", gone.words())))
        }
        TimelineEdit::Way(point, way) => {
            let of = known(timeline.points.get_mut(*point), "point")?;
            of.way = *way;
            let name = format!("{} from {} on", way.word(), of.at.words());
            Ok((Some(*point), name))
        }
        TimelineEdit::AddMark { kind, at, name } => add_mark(timeline, (*kind, *at), name),
        TimelineEdit::RenameMark(mark, name) => {
            let of = known(timeline.marks.get_mut(*mark), "peak, crest or hush")?;
            let said = format!("call {} `{}` `{name}`", of.kind.word(), of.name);
            name.trim().clone_into(&mut of.name);
            Ok((None, said))
        }
        TimelineEdit::MoveMark(mark, at) => move_mark(timeline, *mark, *at, bars),
        TimelineEdit::RemoveMark(mark) => {
            let gone = known(timeline.marks.get(*mark), "peak, crest or hush")?;
            let said = format!("remove {} `{}`", gone.kind.word(), gone.name);
            timeline.marks.remove(*mark);
            Ok((None, said))
        }
    }
}

fn known<T>(found: Option<T>, what: &'static str) -> Result<T, TimelineRefused> {
    found.ok_or(TimelineRefused::Unknown(what))
}

/// Makes a timeline long enough for a place.
fn reach(timeline: &mut Timeline<BarBeat>, at: BarBeat) {
    let (along, end) = (at.along(timeline.meter), timeline.end.along(timeline.meter));
    if along > end {
        let whole = u32::from(at.beat > 1.0);
        timeline.end = bar_line(at.bar.0.saturating_add(whole));
    }
}

fn add_point(timeline: &mut Timeline<BarBeat>, at: BarBeat, intensity: f64) -> Edited {
    let along = |p: BarBeat| p.along(timeline.meter);
    let next = timeline.points.partition_point(|p| along(p.at) < along(at));
    let here = timeline.points.get(next);
    if here.is_some_and(|p| along(p.at) <= along(at)) {
        let what = format!("a point ({})", at.words());
        return Err(TimelineRefused::Taken(what));
    }
    let before = next.checked_sub(1).and_then(|b| timeline.points.get(b));
    let point = Point {
        at,
        intensity: intensity.clamp(INTENSITIES.0, INTENSITIES.1),
        way: before.map_or(Way::default(), |b| b.way),
    };
    timeline.points.insert(next, point);
    reach(timeline, at);
    Ok((Some(next), format!("add a point at {}", at.words())))
}

/// A place as near to a wanted one as neighbours let it be, a beat apart from each; none where there is no room.
fn kept_between(
    timeline: &Timeline<BarBeat>,
    (before, after): (Option<BarBeat>, Option<BarBeat>),
    at: BarBeat,
    bars: u32,
) -> Option<BarBeat> {
    let meter = timeline.meter;
    let beat = 1.0 / f64::from(beats_in_bar(meter).max(1));
    let least = before.map_or(0.0, |b| b.along(meter) + beat);
    let last = timeline.end.along(meter).max(f64::from(bars));
    let most = after.map_or(last, |a| a.along(meter) - beat);
    let along = at.along(meter);
    if least <= along && along <= most {
        return Some(at);
    }
    (least <= most).then(|| at_bars(along.clamp(least, most), meter))
}

fn move_point(
    timeline: &mut Timeline<BarBeat>,
    index: usize,
    (at, intensity): (BarBeat, f64),
    bars: u32,
) -> Edited {
    let was = *known(timeline.points.get(index), "point")?;
    let place = |i: Option<usize>| Some(timeline.points.get(i?)?.at);
    let beside = (place(index.checked_sub(1)), place(index.checked_add(1)));
    let at = kept_between(timeline, beside, at, bars).unwrap_or(was.at);
    if let Some(point) = timeline.points.get_mut(index) {
        point.at = at;
        point.intensity = intensity.clamp(INTENSITIES.0, INTENSITIES.1);
    }
    reach(timeline, at);
    Ok((
        Some(index),
        format!("move point {} of the shape", index + 1),
    ))
}

fn add_mark(
    timeline: &mut Timeline<BarBeat>,
    (kind, at): (MarkKind, BarBeat),
    name: &str,
) -> Edited {
    let along = |p: BarBeat| p.along(timeline.meter);
    let next = timeline.marks.partition_point(|m| along(m.at) < along(at));
    if let Some(here) = timeline.marks.get(next)
        && along(here.at) <= along(at)
    {
        let what = format!("{} `{}` ({})", here.kind.word(), here.name, at.words());
        return Err(TimelineRefused::Taken(what));
    }
    let name = name.trim().to_owned();
    let said = format!("{} `{name}` at {}", kind.word(), at.words());
    timeline.marks.insert(next, Mark { kind, at, name });
    reach(timeline, at);
    Ok((None, said))
}

fn move_mark(timeline: &mut Timeline<BarBeat>, index: usize, at: BarBeat, bars: u32) -> Edited {
    let what = "peak, crest or hush";
    let was = known(timeline.marks.get(index), what)?.clone();
    let place = |i: Option<usize>| Some(timeline.marks.get(i?)?.at);
    let beside = (place(index.checked_sub(1)), place(index.checked_add(1)));
    let at = kept_between(timeline, beside, at, bars).unwrap_or(was.at);
    if let Some(mark) = timeline.marks.get_mut(index) {
        mark.at = at;
    }
    reach(timeline, at);
    Ok((None, format!("move {} `{}`", was.kind.word(), was.name)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::music::{BarNumber, TicksPerQuarter};
    use proptest::prelude::*;

    struct Music {
        meters: MeterMap,
        tempo: TempoMap,
        passages: Vec<Passage>,
        markers: Vec<Marker>,
    }

    /// 64 bars of common time in four passages, each more intense than the one before.
    fn music() -> Music {
        let quarter = TicksPerQuarter::new(480).unwrap();
        let passage = |i: u32| Passage {
            start: Tick(u64::from(i) * 16 * 1920),
            end: Tick(u64::from(i + 1) * 16 * 1920),
            first_bar: BarNumber(16 * i + 1),
            last_bar: BarNumber(16 * i + 16),
            intensity: 2.0 + 2.0 * f64::from(i),
            repeats: None,
            peak: false,
        };
        let marker = |i: u32| Marker {
            at: Tick(u64::from(i) * 16 * 1920),
            text: format!(" Part {} ", i + 1),
        };
        Music {
            meters: MeterMap::new(quarter, []),
            tempo: TempoMap::new(quarter, []),
            passages: (0..4).map(passage).collect(),
            markers: (0..4).map(marker).collect(),
        }
    }

    impl Music {
        fn begin(&self) -> Begin<'_> {
            Begin {
                meters: &self.meters,
                tempo: &self.tempo,
                end: Tick(64 * 1920),
                passages: &self.passages,
                markers: &self.markers,
            }
        }

        fn edit(
            &self,
            now: Option<&Timeline<BarBeat>>,
            edit: &TimelineEdit,
        ) -> Result<TimelineDone, TimelineRefused> {
            let now = now.cloned().map(AnyTimeline::from);
            edit_timeline(now.as_ref(), &self.begin(), edit)
        }
    }

    fn move_to(point: usize, bar: u32, intensity: f64) -> TimelineEdit {
        let at = bar_line(bar);
        TimelineEdit::MovePoint {
            point,
            at,
            intensity,
        }
    }

    #[test]
    fn a_show_begins_as_its_sketch_goes() {
        let music = music();
        let begun = begin_timeline(&music.begin()).unwrap();
        assert_eq!((begun.bars(), begun.points.len()), (64, 4));
        let by_bar = begun.by_bar();
        assert_eq!((by_bar[0], by_bar[15], by_bar[16]), (2.0, 2.0, 4.0));
        assert_eq!(begun.sections[1].name, "Part 2");
        let nothing = Begin {
            end: Tick::ZERO,
            ..music.begin()
        };
        let none = Err(TimelineRefused::NoMusic);
        assert_eq!(begin_timeline(&nothing), none);
        assert_eq!(take_shape("arch", &nothing).unwrap().unit(), "shares");
    }

    #[test]
    fn a_point_is_kept_between_its_neighbours() {
        let music = music();
        let done = music.edit(None, &move_to(1, 60, 7.0)).unwrap();
        assert_eq!(done.timeline.points[1].at.words(), "bar 32, beat 4");
        assert_eq!(done.name, "move point 2 of the shape");
        let done = music.edit(Some(&done.timeline), &move_to(1, 1, 12.0));
        let point = done.unwrap().timeline.points[1];
        assert_eq!(
            (point.at.words().as_str(), point.intensity),
            ("bar 1, beat 2", 10.0)
        );
        let end = music.edit(None, &move_to(3, 900, 5.0)).unwrap();
        assert_eq!(end.timeline.points[3].at, bar_line(65));
    }

    #[test]
    fn a_point_goes_on_as_the_one_before_and_is_refused_where_one_is() {
        let music = music();
        let add = |bar| TimelineEdit::AddPoint {
            at: bar_line(bar),
            intensity: 3.0,
        };
        let done = music.edit(None, &add(9)).unwrap();
        assert_eq!(done.point, Some(1));
        assert_eq!(done.timeline.points[1].way, Way::Held);
        let refused = music.edit(Some(&done.timeline), &add(9)).unwrap_err();
        assert!(refused.to_string().contains("stands there already"));
        let way = TimelineEdit::Way(1, Way::Curved);
        let done = music.edit(Some(&done.timeline), &way).unwrap();
        assert_eq!(done.name, "curved from bar 9 on");
        let gone = music.edit(Some(&done.timeline), &TimelineEdit::RemovePoint(1));
        let begun = begin_timeline(&music.begin()).unwrap();
        assert_eq!(gone.unwrap().timeline, begun);
        let none = music.edit(None, &TimelineEdit::RemovePoint(4));
        assert_eq!(none, Err(TimelineRefused::Unknown("point")));
    }

    #[test]
    fn peaks_are_named_moved_and_let_go() {
        let music = music();
        let add = |bar, name: &str| TimelineEdit::AddMark {
            kind: MarkKind::Peak,
            at: bar_line(bar),
            name: name.to_owned(),
        };
        let one = music.edit(None, &add(49, " the bell ")).unwrap().timeline;
        assert_eq!(one.marks[0].name, "the bell");
        let same = music.edit(Some(&one), &add(49, "again")).unwrap_err();
        assert!(same.to_string().starts_with("peak `the bell` (bar 49)"));
        let empty = music.edit(Some(&one), &add(50, "  ")).unwrap_err();
        assert!(empty.to_string().contains("the name is empty"), "{empty}");
        let moved = TimelineEdit::MoveMark(0, bar_line(41));
        let moved = music.edit(Some(&one), &moved).unwrap().timeline;
        assert_eq!(moved.marks[0].at, bar_line(41));
        let called = TimelineEdit::RenameMark(0, "bells".to_owned());
        let called = music.edit(Some(&moved), &called).unwrap();
        assert_eq!(called.timeline.marks[0].name, "bells");
        let again = TimelineEdit::RenameMark(0, "bells".to_owned());
        let again = music.edit(Some(&called.timeline), &again);
        assert_eq!(again, Err(TimelineRefused::NothingChanges));
        let gone = music.edit(Some(&one), &TimelineEdit::RemoveMark(0));
        assert!(gone.unwrap().timeline.marks.is_empty());
    }

    fn place() -> impl Strategy<Value = BarBeat> {
        let beat = prop_oneof![3 => Just(1.0), 1 => 0.5..6.0, 1 => Just(f64::NAN)];
        (0_u32..90, beat).prop_map(|(bar, beat)| BarBeat {
            bar: BarNumber(bar),
            beat,
        })
    }

    fn any_edit() -> impl Strategy<Value = TimelineEdit> {
        let intensity = || prop_oneof![5 => -3.0..13.0, 1 => Just(f64::NAN)];
        let name = || prop_oneof![Just(""), Just(" bells "), Just("the\tbell"), Just("home")];
        let kind = prop::sample::select(MarkKind::ALL.to_vec());
        let way = prop::sample::select(Way::ALL.to_vec());
        prop_oneof![
            (place(), intensity())
                .prop_map(|(at, intensity)| TimelineEdit::AddPoint { at, intensity }),
            (0_usize..9, place(), intensity()).prop_map(|(point, at, intensity)| {
                TimelineEdit::MovePoint {
                    point,
                    at,
                    intensity,
                }
            }),
            (0_usize..9).prop_map(TimelineEdit::RemovePoint),
            (0_usize..9, way).prop_map(|(point, way)| TimelineEdit::Way(point, way)),
            (kind, place(), name()).prop_map(|(kind, at, name)| {
                let name = name.to_owned();
                TimelineEdit::AddMark { kind, at, name }
            }),
            (0_usize..5, name()).prop_map(|(m, n)| TimelineEdit::RenameMark(m, n.to_owned())),
            (0_usize..5, place()).prop_map(|(mark, at)| TimelineEdit::MoveMark(mark, at)),
            (0_usize..5).prop_map(TimelineEdit::RemoveMark),
        ]
    }

    proptest! {
        #[test]
        fn whatever_is_done_is_a_timeline(
            word in prop::option::of(prop::sample::select(vec!["arch", "stairs", "waves"])),
            edits in prop::collection::vec(any_edit(), 1..40),
        ) {
            let music = music();
            let mut now = word.map(|w| take_shape(w, &music.begin()).unwrap());
            for edit in edits {
                if let Ok(done) = edit_timeline(now.as_ref(), &music.begin(), &edit) {
                    prop_assert_eq!(done.timeline.check(), Ok(()));
                    let count = done.timeline.points.len();
                    prop_assert!(done.point.is_none_or(|p| p < count));
                    now = Some(AnyTimeline::from(done.timeline));
                }
            }
        }
    }
}
