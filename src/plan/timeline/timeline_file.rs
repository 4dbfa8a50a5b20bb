//! Timelines and shows as TOML files (form: `presets/README.md`): the reader.

use super::check::{Item, LONGEST_PAUSE, MOST, name_fault, number_fault};
use super::place::{MOST_BARS, Place, Seconds, Share};
use super::{
    AnyTimeline, Lane, LaneNote, Mark, MarkKind, Movement, Pause, Point, Section, Show, Silence,
    TempoPoint, Timeline, Way, bar_line,
};
use crate::band::RosterError;
use crate::band::nearest;
use crate::band::toml_lines::{Lines, TableAt};
use crate::music::{BarBeat, BarNumber, Meter};
use thiserror::Error;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The longest file, in bytes (ours: far over any show).
const MOST_BYTES: usize = 1024 * 1024;
/// Most movements of a show (ours).
const MOST_MOVEMENTS: usize = 50;

const KEYS: [&str; 14] = [
    "name", "note", "source", "unit", "length", "meter", "section", "point", "peak", "crest",
    "hush", "silence", "tempo", "pause",
];
const LANE: &str = "lane";
const PAUSE_AFTER: &str = "pause_after";
const MOVEMENT: &str = "movement";

/// What is wrong with a timeline's file, and on which line.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
#[error("line {line}: {text}")]
pub struct TimelineError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there and what to do.
    pub text: String,
}

impl From<RosterError> for TimelineError {
    fn from(error: RosterError) -> Self {
        let RosterError { line, text } = error;
        Self { line, text }
    }
}

type Read<T> = Result<T, TimelineError>;

/// Reads a timeline.
///
/// # Errors
/// On the first thing that is not of the form, with its line, what is wrong and what to do.
///
/// ```
/// use bandwright::plan::timeline::read_timeline;
/// let text = "name = \"Rise\"\nunit = \"bars\"\nlength = 64\n[[point]]\nat = 1\nintensty = 3\n";
/// let error = read_timeline(text).unwrap_err().to_string();
/// assert_eq!(error, "line 6: unknown key `intensty`; did you mean `intensity`?");
/// assert!(read_timeline(&text.replace("intensty", "intensity")).is_ok());
/// ```
pub fn read_timeline(text: &str) -> Result<AnyTimeline, TimelineError> {
    let (lines, document) = parsed(text)?;
    let top = TableAt {
        table: document.get_ref(),
        line: 1,
    };
    if let Some(value) = top.get(MOVEMENT) {
        let said = "this is a show of several movements; one timeline is wanted here";
        return Err(lines.fail(value, said).into());
    }
    timeline(lines, top, false)
}

/// Reads a show: either `[[movement]]` after `[[movement]]`, or one timeline as a show of one movement.
///
/// # Errors
/// As [`read_timeline`].
pub fn read_show(text: &str) -> Result<Show, TimelineError> {
    let (lines, document) = parsed(text)?;
    let top = TableAt {
        table: document.get_ref(),
        line: 1,
    };
    if top.get(MOVEMENT).is_none() {
        let timeline = timeline(lines, top, false)?;
        return Ok(Show {
            name: timeline.name().to_owned(),
            movements: vec![Movement {
                timeline,
                pause_after: 0.0,
            }],
        });
    }
    lines.only(top, &["name", MOVEMENT], "key")?;
    let rows = rows(lines, top, MOVEMENT)?;
    if rows.len() > MOST_MOVEMENTS {
        return Err(error(
            top.line,
            format!("more than {MOST_MOVEMENTS} movements"),
        ));
    }
    let movement = |row: &TableAt<'_, '_>| {
        let timeline = timeline(lines, *row, true)?;
        let pause_after = match row.get(PAUSE_AFTER) {
            Some(value) => {
                let seconds = lines.decimal(value, PAUSE_AFTER)?;
                let fault = number_fault("pause", seconds, (0.0, LONGEST_PAUSE));
                fault.map_or(Ok(seconds), |text| Err(lines.fail(value, text)))?
            }
            None => 0.0,
        };
        Ok(Movement {
            timeline,
            pause_after,
        })
    };
    let value = top.need("name")?;
    let name = lines.text(value, "name")?.trim().to_owned();
    if let Some(text) = name_fault(&name, false) {
        return Err(lines.fail(value, text).into());
    }
    Ok(Show {
        name,
        movements: rows.iter().map(movement).collect::<Read<_>>()?,
    })
}

fn parsed(text: &str) -> Read<(Lines<'_>, Spanned<DeTable<'_>>)> {
    if text.len() > MOST_BYTES {
        return Err(error(
            1,
            "the file is over 1 MB, far too large for a timeline",
        ));
    }
    let lines = Lines(text);
    let document = DeTable::parse(text).map_err(|e| {
        let at = e.span().map_or(1, |span| lines.line(span.start));
        error(at, e.message().replace('\n', "; "))
    })?;
    Ok((lines, document))
}

fn error(line: usize, text: impl Into<String>) -> TimelineError {
    let text = text.into().replace(char::is_control, "\u{fffd}");
    TimelineError { line, text }
}

/// A timeline of the kind that its `unit` says.
fn timeline(lines: Lines<'_>, at: TableAt<'_, '_>, in_show: bool) -> Read<AnyTimeline> {
    let mut known = KEYS.to_vec();
    known.push(LANE);
    if in_show {
        known.push(PAUSE_AFTER);
    } else {
        known.push(MOVEMENT);
    }
    lines.only(at, &known, "key")?;
    let unit = at.need("unit")?;
    Ok(match lines.text(unit, "unit")? {
        "bars" => AnyTimeline::Bars(of_unit(lines, at)?),
        "seconds" => AnyTimeline::Seconds(of_unit(lines, at)?),
        "shares" => AnyTimeline::Shares(of_unit(lines, at)?),
        other => {
            let near = nearest(other, ["bars", "seconds", "shares"]);
            let near = near.unwrap_or("bars");
            let text = format!("unknown unit `{other}`; did you mean `{near}`?");
            return Err(lines.fail(unit, text).into());
        }
    })
}

/// A kind of place as files write it.
trait FilePlace: Place {
    /// Reads a place.
    fn read(
        lines: Lines<'_>,
        value: &Spanned<DeValue<'_>>,
        what: &str,
    ) -> Result<Self, RosterError>;

    /// The place so long after another.
    fn after(self, lines: Lines<'_>, length: &Spanned<DeValue<'_>>) -> Result<Self, RosterError>;

    /// The whole where no length is given.
    const WHOLE: Option<Self>;
}

impl FilePlace for BarBeat {
    const WHOLE: Option<Self> = None;

    fn read(
        lines: Lines<'_>,
        value: &Spanned<DeValue<'_>>,
        what: &str,
    ) -> Result<Self, RosterError> {
        let number = |value, what: &str| {
            let bar = u32::try_from(lines.number(value, what)?).ok();
            let bar = bar.filter(|b| (1..=MOST_BARS + 1).contains(b));
            bar.ok_or_else(|| lines.fail(value, format!("bars are counted from 1 to {MOST_BARS}")))
        };
        if value.get_ref().as_table().is_none() {
            let plain = value.get_ref().as_integer().is_some();
            let said = format!(
                "`{what}` must be the number of a bar, or {{ bar = 17, beat = 3 }} for a beat of it"
            );
            return if plain {
                Ok(bar_line(number(value, what)?))
            } else {
                Err(lines.fail(value, said))
            };
        }
        let at = lines.table(value, what)?;
        lines.only(at, &["bar", "beat"], "key")?;
        Ok(Self {
            bar: BarNumber(number(at.need("bar")?, "bar")?),
            beat: match at.get("beat") {
                Some(value) => lines.decimal(value, "beat")?,
                None => 1.0,
            },
        })
    }

    fn after(self, lines: Lines<'_>, length: &Spanned<DeValue<'_>>) -> Result<Self, RosterError> {
        let bars = u32::try_from(lines.number(length, "length")?).ok();
        let bars = bars.filter(|b| (1..=MOST_BARS).contains(b));
        let said = || {
            lines.fail(
                length,
                format!("`length` must be from 1 to {MOST_BARS} bars"),
            )
        };
        Ok(Self {
            bar: BarNumber(self.bar.0.saturating_add(bars.ok_or_else(said)?)),
            beat: self.beat,
        })
    }
}

/// Places that a file tells as a decimal.
macro_rules! decimal_place {
    ($place:ident, $whole:expr) => {
        impl FilePlace for $place {
            const WHOLE: Option<Self> = $whole;

            fn read(
                lines: Lines<'_>,
                value: &Spanned<DeValue<'_>>,
                what: &str,
            ) -> Result<Self, RosterError> {
                Ok(Self(lines.decimal(value, what)?))
            }

            fn after(
                self,
                lines: Lines<'_>,
                length: &Spanned<DeValue<'_>>,
            ) -> Result<Self, RosterError> {
                Ok(Self(self.0 + lines.decimal(length, "length")?))
            }
        }
    };
}

decimal_place!(Seconds, None);
decimal_place!(Share, Some(Self(1.0)));

/// The rows under a key in double brackets; none where the key is not there.
fn rows<'a, 't>(lines: Lines<'t>, at: TableAt<'a, 't>, key: &str) -> Read<Vec<TableAt<'a, 't>>> {
    let Some(value) = at.get(key) else {
        return Ok(Vec::new());
    };
    let said = || {
        lines.fail(
            value,
            format!("`{key}` is written `[[{key}]]`, in double brackets"),
        )
    };
    let rows = value.get_ref().as_array().ok_or_else(said)?;
    if rows.len() > MOST {
        return Err(lines
            .fail(value, format!("more than {MOST} of `{key}`"))
            .into());
    }
    let all = rows.iter().map(|row| Ok(lines.table(row, key)?));
    all.collect()
}

/// The line that a lane stands on, and those of its notes.
type LaneLines = (usize, Vec<usize>);

/// What was read, each with the line that it stands on.
type Lined<T> = Vec<(usize, T)>;

fn of_unit<P: FilePlace>(lines: Lines<'_>, at: TableAt<'_, '_>) -> Read<Timeline<P>> {
    let mut of = Reader { lines, at };
    let name = lines.text(at.need("name")?, "name")?.trim().to_owned();
    let (sections, sections_end) = of.sections::<P>()?;
    let end = match (at.get("length"), P::WHOLE, sections_end) {
        (Some(value), Some(_), _) => {
            let said = "a timeline in shares has no length; leave `length` out";
            return Err(lines.fail(value, said).into());
        }
        (Some(value), None, _) => P::START.after(lines, value)?,
        (None, Some(whole), _) | (None, None, Some(whole)) => whole,
        (None, None, None) => {
            let said = "`length` is missing; give that of the whole, or that of the last section";
            return Err(error(at.line, said));
        }
    };
    let (section_lines, sections) = sections.into_iter().unzip();
    let (point_lines, points) = of.points()?.into_iter().unzip();
    let (mark_lines, marks) = of.marks()?.into_iter().unzip();
    let (silence_lines, silences) = of.silences()?.into_iter().unzip();
    let (tempo_lines, tempos) = of.tempos()?.into_iter().unzip();
    let (pause_lines, pauses) = of.pauses()?.into_iter().unzip();
    let lanes = of.lanes()?;
    let (lane_lines, lanes): (Vec<LaneLines>, Vec<Lane<P>>) = lanes.into_iter().unzip();
    let timeline = Timeline {
        name,
        note: of.long_text("note")?,
        source: of.long_text("source")?,
        meter: of.meter()?,
        end,
        sections,
        points,
        marks,
        silences,
        tempos,
        pauses,
        lanes,
    };
    let places = Places {
        whole: at.line,
        sections: section_lines,
        points: point_lines,
        marks: mark_lines,
        silences: silence_lines,
        tempos: tempo_lines,
        pauses: pause_lines,
        lanes: lane_lines,
    };
    timeline
        .check()
        .map_err(|fault| error(places.line(fault.of), fault.to_string()))?;
    Ok(timeline)
}

/// The lines on which the things of a timeline stand.
struct Places {
    whole: usize,
    sections: Vec<usize>,
    points: Vec<usize>,
    marks: Vec<usize>,
    silences: Vec<usize>,
    tempos: Vec<usize>,
    pauses: Vec<usize>,
    lanes: Vec<LaneLines>,
}

impl Places {
    fn line(&self, of: Item) -> usize {
        let found = match of {
            Item::Whole => None,
            Item::Section(i) => self.sections.get(i),
            Item::Point(i) => self.points.get(i),
            Item::Mark(i) => self.marks.get(i),
            Item::Silence(i) => self.silences.get(i),
            Item::Tempo(i) => self.tempos.get(i),
            Item::Pause(i) => self.pauses.get(i),
            Item::Lane(i) => self.lanes.get(i).map(|(line, _)| line),
            Item::LaneNote(lane, i) => self.lanes.get(lane).and_then(|(_, notes)| notes.get(i)),
        };
        found.copied().unwrap_or(self.whole)
    }
}

struct Reader<'a, 't> {
    lines: Lines<'t>,
    at: TableAt<'a, 't>,
}

impl Reader<'_, '_> {
    fn long_text(&self, key: &str) -> Read<String> {
        Ok(match self.at.get(key) {
            Some(value) => self.lines.text(value, key)?.trim().to_owned(),
            None => String::new(),
        })
    }

    fn meter(&self) -> Read<Meter> {
        let Some(value) = self.at.get("meter") else {
            return Ok(Meter::COMMON);
        };
        let text = self.lines.text(value, "meter")?;
        let read = text.split_once('/').and_then(|(above, below)| {
            let below: u32 = below.trim().parse().ok()?;
            let power = below.is_power_of_two().then(|| below.trailing_zeros())?;
            Meter::new(above.trim().parse().ok()?, u8::try_from(power).ok()?)
        });
        let said = || {
            self.lines
                .fail(value, "`meter` is written like \"4/4\" or \"6/8\"")
        };
        Ok(read.ok_or_else(said)?)
    }

    /// Sections with their lines, and where the last one ends, if it has a length.
    fn sections<P: FilePlace>(&mut self) -> Read<(Lined<Section<P>>, Option<P>)> {
        let lines = self.lines;
        let (mut all, mut now): (Lined<Section<P>>, Option<P>) = (Vec::new(), Some(P::START));
        for row in rows(lines, self.at, "section")? {
            lines.only(row, &["name", "start", "length"], "key")?;
            let start = match (row.get("start"), now) {
                (Some(value), _) => P::read(lines, value, "start")?,
                (None, Some(now)) => now,
                (None, None) => {
                    let said = "where this section begins is not known; give its `start`, or the section before it a `length`";
                    return Err(error(row.line, said));
                }
            };
            let meter = Meter::COMMON;
            if let Some(before) = now.filter(|n| n.along(meter) > start.along(meter)) {
                let said = format!(
                    "this section begins before the one before it ends ({}); make that one shorter, or begin this later",
                    before.words()
                );
                return Err(error(row.line, said));
            }
            now = match row.get("length") {
                Some(value) => Some(start.after(lines, value)?),
                None => None,
            };
            let name = lines.text(row.need("name")?, "name")?.trim().to_owned();
            all.push((row.line, Section { name, start }));
        }
        let end = now.filter(|_| !all.is_empty());
        Ok((all, end))
    }

    fn points<P: FilePlace>(&mut self) -> Read<Lined<Point<P>>> {
        let lines = self.lines;
        let point = |row: TableAt<'_, '_>| {
            lines.only(row, &["at", "intensity", "way"], "key")?;
            let way = match row.get("way") {
                Some(value) => {
                    let word = lines.text(value, "way")?;
                    let found = Way::ALL.into_iter().find(|w| w.word() == word);
                    let said = || {
                        let near = nearest(word, Way::ALL.map(Way::word)).unwrap_or("straight");
                        lines.fail(
                            value,
                            format!("unknown way `{word}`; did you mean `{near}`?"),
                        )
                    };
                    found.ok_or_else(said)?
                }
                None => Way::default(),
            };
            Ok(Point {
                at: P::read(lines, row.need("at")?, "at")?,
                intensity: lines.decimal(row.need("intensity")?, "intensity")?,
                way,
            })
        };
        self.each("point", point)
    }

    /// Peaks, crests and hushes, in order of their places, then as they stand in the file.
    fn marks<P: FilePlace>(&mut self) -> Read<Lined<Mark<P>>> {
        let lines = self.lines;
        let mut all = Vec::new();
        for kind in MarkKind::ALL {
            let mark = |row: TableAt<'_, '_>| {
                lines.only(row, &["at", "name"], "key")?;
                Ok(Mark {
                    kind,
                    at: P::read(lines, row.need("at")?, "at")?,
                    name: lines.text(row.need("name")?, "name")?.trim().to_owned(),
                })
            };
            all.extend(self.each(kind.word(), mark)?);
        }
        let meter = self.meter()?;
        all.sort_by(|(_, a): &(usize, Mark<P>), (_, b)| {
            a.at.along(meter).total_cmp(&b.at.along(meter))
        });
        Ok(all)
    }

    fn silences<P: FilePlace>(&mut self) -> Read<Lined<Silence<P>>> {
        let lines = self.lines;
        self.each("silence", |row| {
            lines.only(row, &["from", "to", "name"], "key")?;
            Ok(Silence {
                from: P::read(lines, row.need("from")?, "from")?,
                to: P::read(lines, row.need("to")?, "to")?,
                name: optional(lines, row, "name")?,
            })
        })
    }

    fn tempos<P: FilePlace>(&mut self) -> Read<Lined<TempoPoint<P>>> {
        let lines = self.lines;
        self.each("tempo", |row| {
            lines.only(row, &["at", "beats_per_minute", "ramp"], "key")?;
            let tempo = row.need("beats_per_minute")?;
            Ok(TempoPoint {
                at: P::read(lines, row.need("at")?, "at")?,
                beats_per_minute: lines.decimal(tempo, "beats_per_minute")?,
                ramp: match row.get("ramp") {
                    Some(value) => lines.flag(value, "ramp")?,
                    None => false,
                },
            })
        })
    }

    fn pauses<P: FilePlace>(&mut self) -> Read<Lined<Pause<P>>> {
        let lines = self.lines;
        self.each("pause", |row| {
            lines.only(row, &["at", "seconds", "name"], "key")?;
            Ok(Pause {
                at: P::read(lines, row.need("at")?, "at")?,
                seconds: lines.decimal(row.need("seconds")?, "seconds")?,
                name: optional(lines, row, "name")?,
            })
        })
    }

    /// Lanes, each with its line and those of its notes.
    fn lanes<P: FilePlace>(&mut self) -> Read<Vec<(LaneLines, Lane<P>)>> {
        let lines = self.lines;
        let mut all = Vec::new();
        for row in rows(lines, self.at, LANE)? {
            lines.only(row, &["name", "note"], "key")?;
            let (mut at, mut notes) = (Vec::new(), Vec::new());
            for note in rows(lines, row, "note")? {
                lines.only(note, &["from", "to", "text"], "key")?;
                at.push(note.line);
                notes.push(LaneNote {
                    from: P::read(lines, note.need("from")?, "from")?,
                    to: P::read(lines, note.need("to")?, "to")?,
                    text: lines.text(note.need("text")?, "text")?.trim().to_owned(),
                });
            }
            let name = lines.text(row.need("name")?, "name")?.trim().to_owned();
            all.push(((row.line, at), Lane { name, notes }));
        }
        Ok(all)
    }

    /// Every row of a key, with its line.
    fn each<T>(
        &self,
        key: &str,
        mut read: impl FnMut(TableAt<'_, '_>) -> Read<T>,
    ) -> Read<Lined<T>> {
        let rows = rows(self.lines, self.at, key)?.into_iter();
        rows.map(|row| Ok((row.line, read(row)?))).collect()
    }
}

fn optional(lines: Lines<'_>, row: TableAt<'_, '_>, key: &str) -> Read<String> {
    Ok(match row.get(key) {
        Some(value) => lines.text(value, key)?.trim().to_owned(),
        None => String::new(),
    })
}
