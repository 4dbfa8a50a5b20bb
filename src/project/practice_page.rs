//! The values of a part's practice page, from a draft with all that is known of it.

use super::directors_sheet::{causes, cautions_of, written_keys};
use super::drafted::Drafted;
use super::standing::Look;
use crate::band::{Part, PartId};
use crate::export::practice_html;
use crate::export::practice_page::{LineTold, PracticePage, PracticeSpot, RestTold};
use crate::music::{BarNumber, KeySignature, Tick};
use crate::notation::PartStave;
use crate::review::{BarsOfRest, BreathKind, Spot, exposed_moments, ladder, played_bars, spots};
use crate::score::{Role, dynamic_marks, tempo_marks};

/// So many hard spots are told at the most (ours: what one practises in a week).
pub const MOST_SPOTS: usize = 8;

/// The page of a part; `None` for one that the band does not have.
#[must_use]
pub fn practice_page(drafted: &Drafted<'_>, id: PartId) -> Option<PracticePage> {
    let part = drafted.band.parts.get(id.0)?;
    let Drafted { meters, tempo, .. } = *drafted;
    let notes = drafted.notes(id);
    let bars = played_bars(notes, meters, drafted.end);
    let keys = drafted.keys.iter();
    let keys: Vec<(BarNumber, KeySignature)> = keys.map(|(at, k)| (meters.bar(*at), *k)).collect();
    let staggered = drafted.judged.breathing.staggered.iter();
    let own = staggered.filter(|s| s.part == id);
    Some(PracticePage {
        title: drafted.title.clone(),
        band: drafted.band.name.clone(),
        part: part.name.clone(),
        instrument: part.instrument.name.clone(),
        levels: part.players.levels().collect(),
        bars: bars.bars,
        seconds: tempo.seconds(drafted.end),
        keys: written_keys(part, &keys),
        line: line(drafted, (id, part)),
        spots: hard_spots(drafted, (id, part)),
        rests: (bars.rests.iter())
            .map(|rest| RestTold {
                rest: *rest,
                cue: cue(drafted, id, rest),
            })
            .collect(),
        in_turns: own
            .map(|s| format!("{}: {}", meters.place(s.from), s.says))
            .collect(),
        cautions: cautions_of(drafted),
    })
}

/// The page of a part of an open document, as the text of an HTML file; `None` for a part that the band does not have.
#[must_use]
pub fn page_of_part(look: &Look, id: PartId) -> Option<String> {
    let page = practice_page(&Drafted::of(look), id)?;
    Some(practice_html(&page))
}

fn line(drafted: &Drafted<'_>, (id, part): (PartId, &Part)) -> LineTold {
    let notes = drafted.notes(id);
    let breaths = drafted.judged.breathing.breaths.iter();
    let own = breaths.filter(|b| b.part == id && !matches!(b.kind, BreathKind::Staggered(..)));
    LineTold {
        stave: PartStave::of(&part.instrument, notes, false, |at, pitch| {
            drafted.name(at, pitch)
        }),
        meters: drafted.meters.clone(),
        keys: drafted.keys.clone(),
        end: drafted.end,
        dynamics: dynamic_marks(notes, drafted.quarter_ticks()),
        breaths: own.map(|b| b.at).collect(),
        marks: drafted.marks.clone(),
        tempos: tempo_marks(drafted.tempo, drafted.meters),
    }
}

fn hard_spots(drafted: &Drafted<'_>, (id, part): (PartId, &Part)) -> Vec<PracticeSpot> {
    let Drafted {
        band,
        lines,
        meters,
        tempo,
        judged,
        ..
    } = *drafted;
    let exposed = exposed_moments(band, lines, meters, tempo);
    let line: Vec<_> = lines.iter().filter(|l| l.part == id).cloned().collect();
    let found = spots(band, &line, meters, &judged.clean, &exposed);
    let notes = drafted.notes(id);
    let told = |spot: &Spot| {
        let bar = meters.bar(spot.at);
        Some(PracticeSpot {
            bars: spot.bars.clone(),
            place: meters.place(spot.at),
            written: part.instrument.transposition.written(spot.pitch),
            chance: spot.chance,
            exposed: spot.exposed,
            causes: causes(drafted, id, spot.hardest),
            ladder: ladder(part, notes, bar, &drafted.frame())?,
        })
    };
    found.iter().take(MOST_SPOTS).filter_map(told).collect()
}

/// Who else has the tune in the last bar of a rest, by score order.
fn cue(drafted: &Drafted<'_>, id: PartId, rest: &BarsOfRest) -> Vec<String> {
    if rest.comes_in.is_none() {
        return Vec::new();
    }
    let meters = drafted.meters;
    let (from, to): (Tick, Tick) = (meters.bar_start(rest.last), meters.bar_end(rest.last));
    let others = drafted.band.ids().filter(|(other, _)| *other != id);
    let has_tune = |part: PartId| {
        let mut notes = drafted.notes(part).iter();
        notes.any(|n| n.role == Role::Melody && n.onset < to && n.end() > from)
    };
    let heard = others.filter(|(other, _)| has_tune(*other));
    heard.map(|(_, part)| part.name.clone()).collect()
}
