//! Why a note is written as loud as it is, where a timeline speaks.

use super::Problem;
use super::written_loud::{Levels, Reach, Sounds, Written, by_the_curve, group};
use crate::band::PartId;
use crate::band::loudness::{full_level, wanted_level};
use crate::music::{Dynamic, Sounding, Tick};
use crate::plan::timeline::Laid;
use crate::score::{Draft, DraftNote, Role};

/// Why a part's note at a tick is as loud as it is written, of several at once that of a pitch: in a sentence. `None`
/// where it rests, where nothing is wanted, or for what is written for itself, as drums are.
#[must_use]
pub fn how_loud(
    problem: &Problem<'_>,
    timeline: &Laid,
    draft: &Draft,
    part: PartId,
    (at, pitch): (Tick, Option<Sounding>),
) -> Option<String> {
    let notes = &draft.lines.get(part.0)?.notes;
    let mut here = notes.iter().filter(|n| n.onset <= at && at < n.end());
    let meant = here.clone().find(|n| Some(n.pitch) == pitch);
    let note = meant.or_else(|| here.next())?;
    let planned = problem.plan.passage(note.onset)?;
    let (start, end) = (planned.passage.start, planned.passage.end);
    let wanted = timeline.mean(start, end)?;
    let now = Dynamic::of_velocity(note.velocity);
    if note.locked {
        return Some(format!("written {now}, as it is locked"));
    }
    let own = group(note.role)?;
    let reaches: Vec<Reach> = problem.band.parts.iter().map(Reach::of).collect();
    let mut levels = Levels::default();
    let sounds = Sounds::of(problem, timeline, (draft, planned), (&reaches, &mut levels));
    let written = sounds.best(wanted_level(full_level(problem.band), wanted));
    let curve = by_the_curve(problem, timeline, note);
    let reach = *reaches.get(part.0)?;
    let said = Said {
        wanted,
        curve,
        written,
        own,
        reach,
    };
    Some(said.words(note))
}

struct Said {
    wanted: f64,
    curve: i32,
    written: Written,
    own: usize,
    reach: Reach,
}

impl Said {
    fn words(&self, note: &DraftNote) -> String {
        let dynamic = |velocity: i32| Dynamic::of_velocity(velocity.clamp(1, 127) as u8);
        let now = Dynamic::of_velocity(note.velocity);
        let mut words = format!(
            "written {now}: the show wants {:.1} of 10 in this passage, and this note by that {}",
            self.wanted,
            dynamic(self.curve)
        );
        if self.written.whole != 0 {
            let how = steps(self.written.whole);
            words += &format!("; all play {how}, so that it comes out so");
        }
        let apart = self.written.groups.get(self.own).copied().unwrap_or(0);
        if apart != 0 {
            let what = match note.role {
                Role::Melody => "the tune",
                Role::Counterline => "the counterline",
                Role::Figure => "the figure",
                Role::Bass => "the bass",
                _ => "the harmony",
            };
            words += &format!("; {what} {} than the rest", steps(apart));
        }
        let step = self.written.of(self.own);
        let meant = self.curve + super::written_loud::A_STEP * step;
        if meant != meant.clamp(self.reach.low, self.reach.high) {
            let (low, high) = (dynamic(self.reach.low), dynamic(self.reach.high));
            words += &format!("; these players reliably play {low} to {high}");
        }
        let anew = self.reach.velocity(self.curve, step);
        if Dynamic::of_velocity(anew) != now {
            let anew = Dynamic::of_velocity(anew);
            words += &format!("; solved anew it would be {anew}");
        }
        words
    }
}

/// `a step softer`, `2 steps louder`.
fn steps(steps: i32) -> String {
    let way = if steps < 0 { "softer" } else { "louder" };
    match steps.unsigned_abs() {
        1 => format!("a step {way}"),
        n => format!("{n} steps {way}"),
    }
}
