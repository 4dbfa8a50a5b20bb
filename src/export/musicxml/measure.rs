//! A measure of a part: what is new in it, its voices one after the other, and its marks.

use super::directions::{Direction, direction};
use super::note::{Pen, Place};
use super::parts::{ScorePart, StaveClef, concert_key};
use super::transpose::Transpose;
use super::units::{Clock, Units};
use super::xml::Xml;
use crate::music::{KeySignature, Mode, Tick};
use crate::notation::WrittenBar;

/// Voices of a stave at the most; those of the next stave are counted on from there.
const VOICES: usize = 4;

/// What the measures of a part are written with.
pub(super) struct PartPen<'a> {
    pub(super) part: &'a ScorePart,
    /// One for each stave.
    pub(super) pens: Vec<Pen<'a>>,
    pub(super) clock: Clock,
    pub(super) keys: &'a [(Tick, KeySignature)],
    /// The marks of all bars, in order.
    pub(super) directions: &'a [Direction],
    /// Whether empty bars are counted together.
    pub(super) counts_rests: bool,
}

impl PartPen<'_> {
    /// Writes the measure at a place, from 0.
    pub(super) fn measure(&self, xml: &mut Xml, at: usize) {
        let Some(bar) = self.bar(at) else {
            return;
        };
        let number = bar.number.to_string();
        xml.inside("measure", &[("number", &number)], |xml| {
            self.attributes(xml, at, bar);
            let whole = self.clock.bar(bar);
            for (i, pen) in self.pens.iter().enumerate() {
                let Some(bar) = pen.stave.bars.get(at) else {
                    continue;
                };
                for v in 0..bar.voices.len() {
                    if i + v > 0 {
                        let back = self.clock.of_file(whole);
                        xml.inside("backup", &[], |xml| xml.number("duration", back));
                    }
                    let marks = if i + v == 0 { self.marks(at) } else { &[] };
                    voice(xml, pen, (bar, v, VOICES * i + v + 1), marks);
                }
            }
            if self.bar(at + 1).is_none() {
                xml.inside("barline", &[("location", "right")], |xml| {
                    xml.text("bar-style", "light-heavy");
                });
            }
        });
    }

    fn bar(&self, at: usize) -> Option<&WrittenBar> {
        self.part.staves.first()?.bars.get(at)
    }

    fn marks(&self, at: usize) -> &[Direction] {
        let from = self.directions.partition_point(|d| d.bar < at);
        let to = self.directions.partition_point(|d| d.bar <= at);
        self.directions.get(from..to).unwrap_or_default()
    }

    fn transpose(&self, bar: &WrittenBar) -> Transpose {
        Transpose::of(self.part.transposition, concert_key(self.keys, bar))
    }

    fn attributes(&self, xml: &mut Xml, at: usize, bar: &WrittenBar) {
        let before = at.checked_sub(1).and_then(|at| self.bar(at));
        let first = before.is_none();
        let key = bar.key.filter(|k| before.is_none_or(|b| b.key != Some(*k)));
        let meter = first || bar.new_meter;
        let moved = self.transpose(bar);
        let transpose = before.map_or(!moved.is_none(), |b| self.transpose(b) != moved);
        let rests = self.rests(at);
        if !first && key.is_none() && !meter && !transpose && rests.is_none() {
            return;
        }
        xml.inside("attributes", &[], |xml| {
            if first {
                xml.number("divisions", self.clock.divisions());
            }
            if let Some(key) = key {
                let same_signs =
                    before.is_some_and(|b| b.key.map(KeySignature::fifths) == Some(key.fifths()));
                key_element(xml, key, same_signs);
            }
            if meter {
                xml.inside("time", &[], |xml| {
                    xml.number("beats", bar.meter.numerator());
                    xml.number("beat-type", bar.meter.denominator());
                });
            }
            let staves = self.part.staves.len();
            if first && staves > 1 {
                xml.text("staves", &staves.to_string());
            }
            if first {
                for (stave, number) in self.part.staves.iter().zip(1_usize..) {
                    clef(xml, stave.clef, (staves > 1).then_some(number));
                }
            }
            if transpose {
                transpose_element(xml, moved);
            }
            if let Some(count) = rests {
                xml.inside("measure-style", &[], |xml| {
                    xml.text("multiple-rest", &count.to_string());
                });
            }
        });
    }

    /// How many bars from one on rest with nothing new in them, where it is the first of at least two.
    fn rests(&self, at: usize) -> Option<usize> {
        if !self.counts_rests || !self.is_empty(at) {
            return None;
        }
        let quiet = |at: usize| self.marks(at).iter().all(|d| !d.mark.is_printed());
        let goes_on = |at: usize| self.is_empty(at) && quiet(at) && !self.is_new(at);
        let earlier = at.checked_sub(1).is_some_and(|b| self.is_empty(b));
        if earlier && goes_on(at) {
            return None;
        }
        let count = 1 + (at + 1..).take_while(|at| goes_on(*at)).count();
        (count > 1).then_some(count)
    }

    fn is_empty(&self, at: usize) -> bool {
        let bars = self.part.staves.iter().map(|s| s.bars.get(at));
        let mut events = bars.map(|bar| {
            bar.is_some_and(|b| b.voices.iter().flat_map(|v| &v.events).all(|e| e.whole_bar))
        });
        events.all(|empty| empty)
    }

    fn is_new(&self, at: usize) -> bool {
        let before = at.checked_sub(1).and_then(|at| self.bar(at));
        let (Some(bar), Some(before)) = (self.bar(at), before) else {
            return true;
        };
        bar.new_meter || bar.key != before.key || self.transpose(bar) != self.transpose(before)
    }
}

fn key_element(xml: &mut Xml, key: KeySignature, same_signs: bool) {
    // A signature that differs in mode alone is not printed anew.
    let hidden = [("print-object", "no")];
    let attributes: &[(&str, &str)] = if same_signs { &hidden } else { &[] };
    xml.inside("key", attributes, |xml| {
        xml.number("fifths", key.fifths());
        let mode = if key.mode() == Mode::Minor {
            "minor"
        } else {
            "major"
        };
        xml.text("mode", mode);
    });
}

fn clef(xml: &mut Xml, clef: StaveClef, number: Option<usize>) {
    let number = number.map(|n| n.to_string());
    let attribute = number.as_ref().map(|n| ("number", n.as_str()));
    let attributes: Vec<(&str, &str)> = attribute.into_iter().collect();
    xml.inside("clef", &attributes, |xml| match clef {
        StaveClef::Percussion => xml.text("sign", "percussion"),
        StaveClef::Pitched(clef) => {
            xml.text("sign", &clef.letter().to_string());
            // Lines are two steps apart, counted from the lowest.
            let line = (clef.named_line() - clef.bottom_line()) / 2 + 1;
            xml.number("line", line);
        }
    });
}

fn transpose_element(xml: &mut Xml, transpose: Transpose) {
    xml.inside("transpose", &[], |xml| {
        xml.number("diatonic", transpose.diatonic);
        xml.number("chromatic", transpose.chromatic);
        if transpose.octaves != 0 {
            xml.number("octave-change", transpose.octaves);
        }
    });
}

/// Writes a voice of a bar, and marks where they stand in it.
fn voice(
    xml: &mut Xml,
    pen: &Pen<'_>,
    (bar, index, number): (&WrittenBar, usize, usize),
    marks: &[Direction],
) {
    let Some(voice) = bar.voices.get(index) else {
        return;
    };
    let clock = pen.clock;
    let mut marks = marks.iter().peekable();
    let mut told = |xml: &mut Xml, from: Units, to: Option<Units>| {
        let before = |d: &&Direction| to.is_none_or(|to| clock.since_start(bar, d.at) < to);
        while let Some(mark) = marks.next_if(before) {
            let offset = clock.since_start(bar, mark.at) - from;
            direction(xml, &mark.mark, clock.of_file(offset));
        }
    };
    for (i, event) in voice.events.iter().enumerate() {
        let (from, to) = (clock.place(bar, event.place), clock.place(bar, event.end()));
        told(xml, from, Some(to));
        let place = Place {
            bar,
            voice,
            voice_number: number,
            index: i,
        };
        pen.event(xml, event, place);
    }
    told(xml, clock.bar(bar), None);
}
