//! The values of the director's sheet, from a draft with all that is known of it. Nothing is judged anew: all comes
//! from the same places as what the window and the commands tell.

use super::drafted::Drafted;
use super::standing::Look;
use crate::band::{Band, Level, Part, PartId, cautions, remarks_in_words};
use crate::export::directors_sheet::{
    ChangeTold, DirectorsSheet, HardTold, LoadTold, PartTold, SpotTold, TuneTold,
};
use crate::export::page::PageForm;
use crate::export::{directors_html, directors_markdown};
use crate::music::{BarNumber, KeySignature, Sounding, Tick};
use crate::notation::{Writing, range_stave};
use crate::review::clean::chance_of_note;
use crate::review::{
    CleanLine, ExposedMoment, HardSpot, PartStrain, Spot, exposed_moments, played_bars, spots,
    time_by_pitch,
};
use crate::score::{MelodyChange, tempo_marks};
use std::collections::BTreeMap;

/// So many spots are told at the most (ours: what a page takes in).
pub const MOST_SPOTS: usize = 12;

/// The sheet of a draft. `names`: whether players who are away may be named.
#[must_use]
pub fn directors_sheet(drafted: &Drafted<'_>, names: bool) -> DirectorsSheet {
    let Drafted {
        band,
        lines,
        meters,
        tempo,
        judged,
        ..
    } = *drafted;
    let exposed = exposed_moments(band, lines, meters, tempo);
    let found = spots(band, lines, meters, &judged.clean, &exposed);
    let bar = |at: Tick| meters.bar(at);
    let keys = drafted.keys.iter();
    let keys: Vec<(BarNumber, KeySignature)> = keys.map(|(at, k)| (bar(*at), *k)).collect();
    let marks = tempo_marks(tempo, meters).into_iter();
    let open = drafted.findings().count();
    DirectorsSheet {
        title: drafted.title.clone(),
        band: band.name.clone(),
        note: band.note.clone(),
        players: band.parts.iter().map(|p| p.players.count()).sum(),
        resting: band.resting.clone(),
        bars: last_bar(drafted),
        seconds: tempo.seconds(drafted.end),
        meters: (meters.changes().iter())
            .map(|c| (bar(c.at), c.meter))
            .collect(),
        tempos: marks
            .filter_map(|m| Some((bar(m.at()), m.steady()?)))
            .collect(),
        conditions: drafted.conditions,
        conditions_in_words: judged.weighed.conditions_in_words(),
        more_spots: found.len().saturating_sub(MOST_SPOTS),
        rehearse: (found.iter().take(MOST_SPOTS))
            .map(|s| spot_told(drafted, s))
            .collect(),
        parts: (band.ids())
            .map(|(id, part)| part_told(drafted, (id, part), (&exposed, &keys, names)))
            .collect(),
        tune: tune_told(drafted),
        findings: drafted.findings().cloned().collect(),
        put_aside: judged.findings.len() - open,
        cautions: cautions_of(drafted),
        keys,
    }
}

/// The sheet of an open document as the text of a file. `names`: whether players who are away may be named.
#[must_use]
pub fn sheet_of_show(look: &Look, form: PageForm, names: bool) -> String {
    let sheet = directors_sheet(&Drafted::of(look), names);
    match form {
        PageForm::Html => directors_html(&sheet),
        PageForm::Markdown => directors_markdown(&sheet),
    }
}

fn last_bar(drafted: &Drafted<'_>) -> u32 {
    match drafted.end {
        Tick::ZERO => 0,
        end => drafted.meters.bar(Tick(end.0 - 1)).0,
    }
}

/// Words of care about this band and this music, each with a capital letter and a full stop.
pub(super) fn cautions_of(drafted: &Drafted<'_>) -> Vec<String> {
    let of_band = cautions(drafted.band).into_iter();
    let of_load = drafted.judged.weighed.cautions();
    let all = of_band.chain(of_load.into_iter().map(str::to_owned));
    all.map(|text| sentence(&text)).collect()
}

fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    let whole: String = first.chain(letters).collect();
    if whole.ends_with('.') {
        whole
    } else {
        whole + "."
    }
}

/// What makes a note of a part hard, dearest first.
pub(super) fn causes(drafted: &Drafted<'_>, part: PartId, index: usize) -> Vec<String> {
    let about = drafted.band.parts.get(part.0);
    let chance = about.and_then(|about| {
        let notes = drafted.notes(part);
        chance_of_note(about, notes, index, &drafted.frame(), drafted.conditions)
    });
    let causes = chance.into_iter().flat_map(|c| c.causes);
    causes.map(|c| c.text).collect()
}

fn spot_told(drafted: &Drafted<'_>, spot: &Spot) -> SpotTold {
    let part = drafted.band.part(spot.part);
    SpotTold {
        part: part.name.clone(),
        bars: spot.bars.clone(),
        place: drafted.meters.place(spot.at),
        written: part.instrument.transposition.written(spot.pitch),
        chance: spot.chance,
        missed: spot.missed,
        exposed: spot.exposed,
        causes: causes(drafted, spot.part, spot.hardest),
    }
}

/// What is known of all parts: exposed moments, concert keys; and whether players may be named.
type Common<'a> = (&'a [ExposedMoment], &'a [(BarNumber, KeySignature)], bool);

fn part_told(
    drafted: &Drafted<'_>,
    (id, part): (PartId, &Part),
    (exposed, keys, names): Common<'_>,
) -> PartTold {
    let notes = drafted.notes(id);
    let written = |pitch: Sounding| part.instrument.transposition.written(pitch);
    let times = time_by_pitch(notes, drafted.tempo).into_iter();
    let clean = drafted.judged.clean.iter().find(|c| c.part == id);
    let strains = &drafted.judged.weighed.strains;
    let hard = |s: &HardSpot| HardTold {
        place: s.place,
        written: written(s.pitch),
        chance: s.chance.value,
        causes: s.chance.causes.iter().map(|c| c.text.clone()).collect(),
    };
    PartTold {
        name: part.name.clone(),
        instrument: part.instrument.name.clone(),
        levels: part.players.levels().collect(),
        away: away(drafted.band, part, names),
        remarks: remarks_in_words(&part.remarks),
        stave: range_stave(part),
        times: times.map(|t| (written(t.pitch), t.seconds)).collect(),
        clean: clean.map_or(1.0, |c: &CleanLine| c.mean),
        missed: clean.map_or(0.0, |c| c.missed),
        hardest: clean.map_or_else(Vec::new, |c| c.hardest.iter().map(hard).collect()),
        exposed: exposed.iter().filter(|m| m.part == id).copied().collect(),
        played: played_bars(notes, drafted.meters, drafted.end),
        load: (strains.iter().find(|s| s.part == id)).and_then(|s| load_told(drafted, s)),
        keys: written_keys(part, keys),
    }
}

/// Who of a part is away: by name where that is allowed and known, else how many of each level.
fn away(band: &Band, part: &Part, names: bool) -> Vec<String> {
    let seats = part.seats.iter().filter_map(|id| band.seat(*id));
    let mut told = Vec::new();
    let mut unnamed: BTreeMap<Level, u32> = BTreeMap::new();
    for seat in seats.filter(|s| s.absent) {
        match seat.name.trim() {
            name if names && !name.is_empty() => told.push(format!("{name} ({})", seat.level)),
            _ => *unnamed.entry(seat.level).or_default() += 1,
        }
    }
    let levels = unnamed
        .iter()
        .map(|(level, count)| format!("{count} {level}"));
    told.into_iter().chain(levels).collect()
}

/// Keys as a player reads them; one that is written like the one before is not told anew.
pub(super) fn written_keys(
    part: &Part,
    keys: &[(BarNumber, KeySignature)],
) -> Vec<(BarNumber, KeySignature)> {
    let transposition = part.instrument.transposition;
    let written = |(bar, key): &(BarNumber, KeySignature)| {
        (*bar, Writing::of(Some(transposition), *key).signature(*key))
    };
    let mut told: Vec<(BarNumber, KeySignature)> = keys.iter().map(written).collect();
    told.dedup_by_key(|(_, key)| key.fifths());
    told
}

fn load_told(drafted: &Drafted<'_>, strain: &PartStrain) -> Option<LoadTold> {
    let weakest = strain.load.weakest()?;
    let notes = drafted.notes(strain.part);
    let bar = |note: usize| {
        let onset = notes.get(note).map_or(Tick::ZERO, |n| n.onset);
        drafted.meters.bar(onset)
    };
    let tired = weakest.tired.iter().enumerate();
    let (at, most) = tired.max_by(|a, b| a.1.total_cmp(b.1).then(b.0.cmp(&a.0)))?;
    Some(LoadTold {
        level: weakest.level,
        most_tired: (*most, bar(at)),
        least_reserve: (strain.least_reserve()?, bar(weakest.least?)),
        exceeded: strain.exceeded().len(),
    })
}

fn tune_told(drafted: &Drafted<'_>) -> TuneTold {
    if !drafted.has_sketch {
        return TuneTold::NoSketch;
    }
    let Some(changes) = drafted.changes else {
        return TuneTold::NotListed;
    };
    let names = |change: &MelodyChange| {
        let parts = change.parts.iter();
        let known = parts.filter_map(|(id, _)| drafted.band.parts.get(id.0));
        known.map(|p| p.name.clone()).collect()
    };
    let told = |change: &MelodyChange| ChangeTold {
        place: drafted.meters.place(change.onset),
        sketch: change.sketch,
        new: change.new,
        parts: names(change),
        reason: change.reason.clone(),
    };
    TuneTold::Listed(changes.iter().map(told).collect())
}
