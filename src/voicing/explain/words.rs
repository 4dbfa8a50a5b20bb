//! The terms of the chords' cost in words, for a note at its place.

use super::Explainer;
use crate::band::PartId;
use crate::band::chance::chance;
use crate::music::{ChordTone, PitchClass, Sounding};
use crate::voicing::candidates::Choice;
use crate::voicing::terms::Term;

/// Where a term is told.
#[derive(Clone, Copy, Debug)]
pub(super) struct At {
    /// The part that it is told for.
    pub part: PartId,
    /// The step.
    pub step: usize,
    /// What the part did before.
    pub before: Choice,
    /// What it does.
    pub now: Choice,
    /// Of the band's terms, the chord tone that it is about.
    pub class: Option<PitchClass>,
}

/// `1 semitone`, `2 semitones`.
pub(super) fn count(n: f64, one: &str) -> String {
    let n = (n * 10.0).round() / 10.0;
    let s = if (n - 1.0).abs() < 0.01 { "" } else { "s" };
    format!("{n} {one}{s}")
}

/// A chance as a share of a hundred.
pub(super) fn percent(chance: f64) -> String {
    format!("{:.0} %", chance * 100.0)
}

impl Explainer<'_> {
    /// A term with so many units, in words.
    pub(super) fn in_words(&self, term: Term, units: f64, at: At) -> String {
        let Some(step) = self.chords.steps.get(at.step) else {
            return term.facts().name.to_owned();
        };
        let for_beats = term.facts().unit.contains("a beat");
        let n = if for_beats {
            units / step.weight()
        } else {
            units
        };
        self.of_note(term, n, at)
            .or_else(|| self.of_way(term, n, at))
            .or_else(|| self.of_band(term, n, at))
            .unwrap_or_else(|| of_choir(term, n))
    }

    /// What a note costs by itself.
    fn of_note(&self, term: Term, n: f64, at: At) -> Option<String> {
        let note = at.now.sounds;
        Some(match term {
            Term::Clean => self.clean_words(at, note?),
            Term::Register => format!(
                "{} from the middle of what the part plays comfortably",
                count(n + 5.0, "semitone")
            ),
            Term::High => format!("{} above the middle of its register", count(n, "semitone")),
            Term::Low => format!("{} below the middle of its register", count(n, "semitone")),
            Term::Tuning => {
                let part = self.band_part(at.part);
                let written = part.instrument.transposition.written(note?);
                let cents = part.instrument.playing.action.cents(written)?;
                let way = if cents > 0.0 { "sharp" } else { "flat" };
                format!(
                    "its fingering or position is {:.0} cents {way}",
                    cents.abs()
                )
            }
            Term::Silent => "it rests where it could fill the chord".to_owned(),
            Term::Clash => "a half step or minor ninth against the tune".to_owned(),
            Term::AboveTune => {
                let top = self.chords.around(at.step).top;
                let tune = top.map_or(String::new(), |t| {
                    format!(", which lies at {}", self.concert(t, self.tick(at.step)))
                });
                let by = top.zip(note).map_or(n, |(t, p)| f64::from(t.distance(p)));
                format!("{} above the tune{tune}", count(by, "semitone"))
            }
            Term::BelowBass => "below the bass".to_owned(),
            Term::LoudThird => {
                "the major third on the loudest part that fills the chord".to_owned()
            }
            Term::Moved => "away from what it had in the draft before".to_owned(),
            _ => return None,
        })
    }

    fn clean_words(&self, at: At, note: Sounding) -> String {
        let step = &self.chords.steps[at.step];
        let context = self.costs[at.part.0].context(note, &step.moment, None);
        let found = chance(self.band_part(at.part), note, &context);
        let cause = found
            .causes
            .first()
            .map_or(String::new(), |c| format!(": {}", c.text));
        format!("{} clean by itself{cause}", percent(found.value))
    }

    /// What the way from the note before costs.
    fn of_way(&self, term: Term, n: f64, at: At) -> Option<String> {
        let way = at.before.leave.zip(at.now.enter);
        let from = || {
            way.map_or(String::new(), |(from, _)| {
                format!(" from {}", self.written(at.part, from, self.tick(at.step)))
            })
        };
        let by = way.map_or(0, |(a, b)| a.distance(b));
        Some(match term {
            Term::CleanWay => format!(
                "the way{} takes {} of its chance",
                from(),
                percent(1.0 - (-n).exp())
            ),
            Term::Motion => format!("moves {}{}", count(f64::from(by), "semitone"), from()),
            Term::WideLeap => format!("a leap of {}{}", count(f64::from(by), "semitone"), from()),
            Term::Awkward => format!("a tritone or major seventh{}", from()),
            Term::CommonTone => "leaves a note that stays in the chord".to_owned(),
            Term::Entry if at.now.sounds.is_some() => "comes in in the middle".to_owned(),
            Term::Entry => "stops in the middle".to_owned(),
            Term::ParallelOctave => "parallel octaves with the tune or the bass".to_owned(),
            Term::ParallelFifth => "parallel fifths with the tune or the bass".to_owned(),
            Term::LeadingTone => "the leading tone before does not rise to its tonic".to_owned(),
            Term::Seventh => "the chord's seventh before neither falls a step nor stays".to_owned(),
            Term::LeapIntoFixed => format!(
                "a leap of {} into a fixed note, more than the director allows",
                count(f64::from(by), "semitone")
            ),
            _ => return None,
        })
    }

    /// What the chord of the band costs.
    fn of_band(&self, term: Term, n: f64, at: At) -> Option<String> {
        let tone = at
            .class
            .map_or("tone".to_owned(), |class| self.tone(class, at.step));
        Some(match term {
            Term::NoThird
            | Term::NoSeventh
            | Term::NoRoot
            | Term::NoFifth
            | Term::NoAlteredFifth => {
                format!("nobody has the {tone}")
            }
            Term::NoOther => format!("nobody has the {tone}, which the sketch sounds"),
            Term::Share => {
                format!(
                    "the {tone} is {:.1} dB from its wanted share of the sound",
                    n + 3.0
                )
            }
            Term::HoleUnderTune => "no harmony within an octave under the tune".to_owned(),
            _ => return None,
        })
    }

    /// A chord tone with its note: `third D`.
    pub(super) fn tone(&self, class: PitchClass, step: usize) -> String {
        let name = self.class_name(class, step);
        match self.chords.steps.get(step).and_then(|s| s.tone(class)) {
            Some(tone) => format!("{} {name}", tone_word(tone)),
            None => format!("tone {name}"),
        }
    }

    fn class_name(&self, class: PitchClass, step: usize) -> String {
        let name = self.concert(
            Sounding::nearest(60 + i32::from(class.number())),
            self.tick(step),
        );
        name.trim_end_matches(|c: char| c.is_ascii_digit())
            .to_owned()
    }

    pub(super) fn tick(&self, step: usize) -> crate::music::Tick {
        self.chords
            .steps
            .get(step)
            .map(|s| s.start)
            .unwrap_or_default()
    }
}

/// What the chord of a choir costs.
fn of_choir(term: Term, n: f64) -> String {
    let times = |text: &str| {
        if n > 1.5 {
            format!("{text} ({n:.0} times)")
        } else {
            text.to_owned()
        }
    };
    match term {
        Term::LowInterval => "an interval too low to be clear".to_owned(),
        Term::LowClose => times("neighbours below C3 closer than a fifth"),
        Term::WideOnTop => times("a gap wider than the gap below it"),
        Term::Crossing => times("a lower part above a higher one"),
        Term::Overlap => "a part passes its neighbour's note before".to_owned(),
        Term::Unison => times("neighbours in unison"),
        Term::Gap => format!(
            "{} more than an octave between neighbours",
            count(n, "semitone")
        ),
        Term::Open => format!(
            "neighbours {} wider than close position",
            count(n, "semitone")
        ),
        Term::Close => format!(
            "neighbours {} closer than open position",
            count(n, "semitone")
        ),
        Term::Narrow => format!(
            "neighbours {} closer than spread position",
            count(n, "semitone")
        ),
        Term::Rub => times("a half step between neighbours"),
        Term::MinorNinth => times("a minor ninth between neighbours"),
        Term::LeadingDoubled => times("the leading tone once too often"),
        Term::SeventhDoubled => times("the seventh or an altered tone once too often"),
        Term::ThirdDoubled => times("the third of a major chord twice"),
        Term::FifthDoubled => times("the fifth twice"),
        Term::OwnOctave => "parallel octaves within the choir".to_owned(),
        Term::OwnFifth => "parallel fifths within the choir".to_owned(),
        Term::ChoirIncomplete => format!("the choir leaves out {}", count(n, "chord tone")),
        other => other.facts().name.to_owned(),
    }
}

/// What a chord tone is called.
pub(super) const fn tone_word(tone: ChordTone) -> &'static str {
    match tone {
        ChordTone::Root => "root",
        ChordTone::Third => "third",
        ChordTone::Suspended => "suspended tone",
        ChordTone::Fifth => "fifth",
        ChordTone::Sixth => "sixth",
        ChordTone::Seventh => "seventh",
        ChordTone::Ninth => "ninth",
        ChordTone::Eleventh => "eleventh",
        ChordTone::Thirteenth => "thirteenth",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_and_shares_are_told_as_people_do() {
        assert_eq!(count(1.0, "semitone"), "1 semitone");
        assert_eq!(count(2.04, "semitone"), "2 semitones");
        assert_eq!(percent(0.456), "46 %");
    }
}
