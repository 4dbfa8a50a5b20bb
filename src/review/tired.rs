//! Sections that are too tired, and tired lips before a peak.

use super::finding::{Finding, Severity};
use super::load::{DEFER, PartStrain, timed};
use super::presence::Stretch;
use super::relief::{Later, LoadSheet};
use super::relief_book::{Lack, ReliefBook, Reliefs, Wanted};
use crate::band::load::{PlayerLoad, TimedNote, after_rest, stated_load};
use crate::band::{Instrument, PartId};
use crate::music::Tick;
use crate::score::{Passage, Role};

/// A passage of this intensity is a peak; where none is, the most intense is (as the timeline counts, 0 to 10).
const PEAK: f64 = 9.0;

/// How tired players are at a place, by their notes.
fn tired_at(load: &PlayerLoad, notes: &[TimedNote], at_seconds: f64) -> f64 {
    let before = notes.partition_point(|n| n.to <= at_seconds);
    let last = before.checked_sub(1);
    let found = last.and_then(|i| Some((notes.get(i)?, load.tired.get(i)?)));
    let Some((note, tired)) = found else {
        return 0.0;
    };
    // The built-in table reads; a test shows it.
    after_rest(load.level, *tired, at_seconds - note.to).unwrap_or(*tired)
}

/// The parts of one instrument, with what they are asked for.
struct Section<'a> {
    instrument: &'a Instrument,
    parts: Vec<&'a PartStrain>,
}

fn sections<'a>(sheet: &LoadSheet<'a>, strains: &'a [PartStrain]) -> Vec<Section<'a>> {
    let mut all: Vec<Section<'a>> = Vec::new();
    for strain in strains {
        let instrument = &*sheet.band.part(strain.part).instrument;
        match all.iter_mut().find(|s| s.instrument.id == instrument.id) {
            Some(section) => section.parts.push(strain),
            None => all.push(Section {
                instrument,
                parts: vec![strain],
            }),
        }
    }
    all
}

/// What a reviewer would mark: sections whose players are, on the mean, more tired than is stated, each where that is
/// worst. Sections in which a part's strength runs out altogether are marked for that instead.
#[must_use]
pub fn section_findings(sheet: &LoadSheet<'_>, strains: &[PartStrain]) -> Vec<Finding> {
    sections_found(&mut ReliefBook::default().on(sheet), strains)
}

/// The same with reliefs that are kept.
pub(super) fn sections_found(reliefs: &mut Reliefs<'_>, strains: &[PartStrain]) -> Vec<Finding> {
    let Ok(stated) = stated_load() else {
        return Vec::new();
    };
    let runs_out = |s: &&PartStrain| s.load.levels.iter().any(|l| l.runs_out.is_some());
    let all = sections(reliefs.sheet, strains).into_iter();
    let all = all.filter(|s| s.parts.len() > 1 && !s.parts.iter().any(runs_out));
    let found = all.filter_map(|s| section_finding(reliefs, &s, stated.section));
    found.collect()
}

fn section_finding(reliefs: &mut Reliefs<'_>, section: &Section<'_>, most: f64) -> Option<Finding> {
    let sheet = reliefs.sheet;
    let loads = sheet
        .stretches
        .iter()
        .map(|s| (s, load_in(sheet, section, s)));
    let over = loads.filter(|(_, load)| *load > most);
    let (stretch, load) =
        over.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.start.cmp(&a.0.start)))?;
    let worst = |s: &&&PartStrain| {
        let weakest = s.load.weakest();
        let load = weakest.map_or(0.0, |w| most_in(sheet, s.part, w, stretch));
        (load * 1e9) as u64
    };
    let tiredest = section.parts.iter().rev().max_by_key(worst)?;
    let name = &sheet.band.part(tiredest.part).name;
    let own = most_in(sheet, tiredest.part, tiredest.load.weakest()?, stretch);
    let wanted = Wanted {
        part: tiredest.part,
        at: stretch.start,
        later: Later::No,
        lack: Lack::Section(*stretch),
    };
    let mended = reliefs.relief(wanted, &|after| {
        let level = after.load.as_ref().and_then(|l| l.weakest());
        level.map_or(0.0, |l| (most_of(l, after.notes, stretch) - most).max(0.0))
    });
    let words = mended.in_words(sheet.band);
    let remedy = words.unwrap_or_else(|| {
        "Nobody who rests nearby has these notes; a lower octave or a softer dynamic spares lips."
            .to_owned()
    });
    let place = sheet.meters.place(stretch.start);
    Some(Finding {
        severity: Severity::Caution,
        kind: "section_tired",
        part: Some(name.clone()),
        at: stretch.start,
        place,
        message: format!(
            "The players of {} ({} parts) are tired to {load:.2} on the mean in bars {}-{} ({most:.2} at most); {name} most, {own:.2}.",
            section.instrument.name,
            section.parts.len(),
            stretch.first_bar,
            stretch.last_bar
        ),
        remedy: format!("{remedy} {DEFER}"),
    })
}

/// The mean over the players of a section of how tired they are in a stretch at most; 0 where none of them plays.
fn load_in(sheet: &LoadSheet<'_>, section: &Section<'_>, stretch: &Stretch) -> f64 {
    let (mut sum, mut count, mut plays) = (0.0, 0.0, false);
    for strain in &section.parts {
        let part = sheet.band.part(strain.part);
        let notes = sheet.notes(strain.part);
        plays |= notes
            .iter()
            .any(|n| stretch.start <= n.onset && n.onset < stretch.end);
        for level in &strain.load.levels {
            let players = f64::from(part.players.0[level.level.index()]);
            sum += players * most_in(sheet, strain.part, level, stretch);
            count += players;
        }
    }
    if plays && count > 0.0 {
        sum / count
    } else {
        0.0
    }
}

/// How tired players are in a stretch at most; before it where they do not play in it.
fn most_in(sheet: &LoadSheet<'_>, part: PartId, load: &PlayerLoad, stretch: &Stretch) -> f64 {
    let notes = sheet.notes(part);
    let most = most_of(load, notes, stretch);
    if most > 0.0 {
        return most;
    }
    let start = sheet.tempo.seconds(stretch.start);
    tired_at(load, &timed(notes, sheet.tempo), start)
}

fn most_of(load: &PlayerLoad, notes: &[crate::score::DraftNote], stretch: &Stretch) -> f64 {
    let from = notes.partition_point(|n| n.onset < stretch.start);
    let to = notes.partition_point(|n| n.onset < stretch.end);
    let tired = load.tired.get(from..to).unwrap_or_default();
    tired.iter().copied().fold(0.0, f64::max)
}

/// What a reviewer would mark: parts that carry the tune of a peak and come to it more tired than is stated.
#[must_use]
pub fn peak_findings(
    sheet: &LoadSheet<'_>,
    strains: &[PartStrain],
    passages: &[Passage],
) -> Vec<Finding> {
    peak_findings_kept(sheet, strains, passages, &mut ReliefBook::default())
}

/// The same with reliefs that are kept.
#[must_use]
pub fn peak_findings_kept(
    sheet: &LoadSheet<'_>,
    strains: &[PartStrain],
    passages: &[Passage],
    book: &mut ReliefBook,
) -> Vec<Finding> {
    let mut reliefs = book.on(sheet);
    let Ok(stated) = stated_load() else {
        return Vec::new();
    };
    let most = stated.before_peak;
    let mut found = Vec::new();
    for peak in peaks(passages) {
        for strain in strains {
            let carries = sheet.notes(strain.part).iter();
            let mut carries = carries.filter(|n| peak.contains(n.onset));
            if !carries.any(|n| n.role == Role::Melody) {
                continue;
            }
            found.extend(peak_finding(&mut reliefs, strain, peak, most));
        }
    }
    found
}

/// The passages from [`PEAK`] on, the first of those that follow one another; or else the most intense.
fn peaks(passages: &[Passage]) -> Vec<&Passage> {
    let mut peaks: Vec<&Passage> = Vec::new();
    let mut inside = false;
    for passage in passages {
        let is = passage.intensity >= PEAK;
        if is && !inside {
            peaks.push(passage);
        }
        inside = is;
    }
    if peaks.is_empty() {
        let most = passages.iter().rev();
        peaks.extend(most.max_by(|a, b| a.intensity.total_cmp(&b.intensity)));
    }
    peaks
}

fn peak_finding(
    reliefs: &mut Reliefs<'_>,
    strain: &PartStrain,
    peak: &Passage,
    most: f64,
) -> Option<Finding> {
    let sheet = reliefs.sheet;
    let start = sheet.tempo.seconds(peak.start);
    let notes = timed(sheet.notes(strain.part), sheet.tempo);
    let over = strain
        .load
        .levels
        .iter()
        .map(|l| (l.level, tired_at(l, &notes, start)));
    let over: Vec<_> = over.filter(|(_, load)| *load > most).collect();
    let (_, load) = *over.first()?;
    let levels: Vec<String> = over.iter().map(|(level, _)| level.to_string()).collect();
    let levels: Vec<&str> = levels.iter().map(String::as_str).collect();
    let part = sheet.band.part(strain.part);
    let before = Tick(peak.start.0.saturating_sub(1));
    let wanted = Wanted {
        part: strain.part,
        at: before,
        later: Later::No,
        lack: Lack::Peak(peak.start),
    };
    let mended = reliefs.relief(wanted, &|after| {
        let levels = after.load.iter().flat_map(|l| &l.levels);
        let loads = levels.map(|l| tired_at(l, &after.timed, start));
        loads.map(|load| (load - most).max(0.0)).sum()
    });
    let words = mended.in_words(sheet.band);
    let remedy = words.unwrap_or_else(|| {
        "Nobody who rests before it has these notes; let others carry the peak's tune, or write softer and lower before it.".to_owned()
    });
    Some(Finding {
        severity: Severity::Caution,
        kind: "tired_at_peak",
        part: Some(part.name.clone()),
        at: peak.start,
        place: sheet.meters.place(peak.start),
        message: format!(
            "It carries the tune of the peak in bars {}-{}, and its {} players come to it tired to {load:.2} ({most:.2} at most).",
            peak.first_bar,
            peak.last_bar,
            super::changes::listed(&levels)
        ),
        remedy: format!("{remedy} {DEFER}"),
    })
}
