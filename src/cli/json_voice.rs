//! What `voice` made as JSON (schema: `assets/schema/voice.schema.json`).

use super::json_review::FindingJson;
use super::json_timeline::TimelineJson;
use super::json_tune::{MelodyChangeJson, TuneRulesJson};
use super::json_weighed::WeighedJson;
use super::json_why_voice::{DearestJson, NoteWhyJson};
use super::rounded::thousandths;
use super::why_voice::Told;
use crate::band::{Band, Exposure, GoEasy, Part, PartId, shared_players};
use crate::music::Interval;
use crate::plan::{Alternative, PartRole, PassagePlan, PlanCost};
use crate::project::whole_way::WholeWay;
use crate::review::{BreathKind, Breathing, CleanLine};
use crate::score::{DraftNote, PartLine};
use crate::sketch::Song;
use crate::voicing::{Conflict, gap};
use serde::Serialize;

/// What `voice` made. Times in the sketch's ticks, sounding pitch.
#[derive(Serialize, Debug)]
pub struct VoiceAnswer<'a> {
    band: BandJson<'a>,
    draft: DraftJson<'a>,
    passages: Vec<PassageJson<'a>>,
    plan: PlanJson,
    cost: f64,
    tune_rules: TuneRulesJson,
    lower_bound: f64,
    gap: f64,
    status: &'static str,
    conflicts: Vec<ConflictJson<'a>>,
    again: Option<AgainJson>,
    melody_changes: Vec<MelodyChangeJson<'a>>,
    #[serde(flatten)]
    weighed: WeighedJson,
    findings: Vec<FindingJson>,
    warnings: Vec<String>,
    /// Left out where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    timeline: Option<TimelineJson>,
    costs_most: Vec<DearestJson<'a>>,
    passage_why: &'a [String],
    why: Vec<NoteWhyJson<'a>>,
}

#[derive(Serialize, Debug)]
struct BandJson<'a> {
    name: &'a str,
    parts: Vec<PartJson<'a>>,
}

#[derive(Serialize, Debug)]
struct PartJson<'a> {
    name: &'a str,
    instrument: &'a str,
    players: u32,
    lowest: u8,
    highest: u8,
    transposition: i16,
    limits: LimitsJson<'a>,
}

/// The limits that follow from remarks; null where there is none.
#[derive(Serialize, Debug)]
struct LimitsJson<'a> {
    leap: Option<u16>,
    notes_per_second: Option<f64>,
    bars_on_end: Option<u16>,
    accidentals: Option<u8>,
    never_alone: bool,
    shares_players_with: Vec<&'a str>,
    go_easy: Option<&'static str>,
}

#[derive(Serialize, Debug)]
struct DraftJson<'a> {
    ticks_per_quarter: u16,
    parts: Vec<PartDraftJson<'a>>,
}

#[derive(Serialize, Debug)]
struct PartDraftJson<'a> {
    name: &'a str,
    notes: Vec<DraftNoteJson>,
    breaths: Vec<BreathJson>,
}

/// A breath; the group and the number of groups where only some players breathe.
#[derive(Serialize, Debug)]
struct BreathJson {
    at: u64,
    kind: &'static str,
    group: Option<u8>,
    groups: Option<u8>,
}

#[derive(Serialize, Debug)]
struct DraftNoteJson {
    onset: u64,
    duration: u64,
    pitch: u8,
    velocity: u8,
    role: &'static str,
    locked: bool,
    clean: f64,
}

#[derive(Serialize, Debug)]
struct PassageJson<'a> {
    first_bar: u32,
    last_bar: u32,
    intensity: f64,
    scoring: &'a str,
    /// The number of the way; null where it was fitted further to what stands around it.
    number: Option<usize>,
    taken: bool,
    figure: Option<FigureWayJson<'a>>,
    roles: Vec<RoleJson<'a>>,
    terms: Vec<PlanTermJson>,
    alternatives: Vec<AlternativeJson<'a>>,
}

/// What a part does in a passage.
#[derive(Serialize, Debug)]
struct RoleJson<'a> {
    part: &'a str,
    role: &'static str,
    octave: i16,
}

/// What a plan pays for a term, or pays more.
#[derive(Serialize, Debug)]
struct PlanTermJson {
    term: &'static str,
    points: f64,
}

/// Another way of scoring a passage.
#[derive(Serialize, Debug)]
struct AlternativeJson<'a> {
    number: usize,
    scoring: &'a str,
    changes: &'a str,
    cost_more: f64,
    differs: f64,
    terms: Vec<PlanTermJson>,
    roles: Vec<RoleJson<'a>>,
}

/// What the plan costs, and what no plan costs less than.
#[derive(Serialize, Debug)]
struct PlanJson {
    cost: f64,
    lower_bound: f64,
}

#[derive(Serialize, Debug)]
struct FigureWayJson<'a> {
    way: &'static str,
    why: &'a str,
    parts: Vec<&'a str>,
}

/// What contradicts what, and the smallest relaxation.
#[derive(Serialize, Debug)]
struct ConflictJson<'a> {
    kind: &'static str,
    bars: Vec<[u32; 2]>,
    parts: Vec<&'a str>,
    says: String,
    relaxation: String,
}

/// How a draft that was solved again differs from the one before.
#[derive(Serialize, Debug)]
struct AgainJson {
    cost_before: Option<f64>,
    new_notes: usize,
}

impl<'a> VoiceAnswer<'a> {
    /// The answer for a band and what came of the whole way.
    #[must_use]
    pub fn of(song: &Song, band: &'a Band, way: &'a WholeWay) -> Self {
        let draft = &way.voiced.draft;
        let changes = draft.melody_changes.iter();
        let changes = changes.map(|c| MelodyChangeJson::of(c, band, &song.meters));
        let line = |(line, clean): (&PartLine, &CleanLine)| PartDraftJson {
            name: &band.part(line.part).name,
            notes: line
                .notes
                .iter()
                .zip(&clean.notes)
                .map(|(n, p)| draft_note(n, *p))
                .collect(),
            breaths: breaths(&way.breathing, line.part),
        };
        // Where some bars were solved by themselves, theirs is told.
        let (cost, lower_bound, status) = match &way.excerpt {
            Some(Ok(bars)) => (bars.cost, bars.lower_bound, bars.status),
            _ => (way.voiced.cost, way.voiced.lower_bound, way.voiced.status),
        };
        Self {
            band: band_json(band),
            draft: DraftJson {
                ticks_per_quarter: song.quarter.get(),
                parts: draft.lines.iter().zip(&way.clean).map(line).collect(),
            },
            passages: way.plan.passages.iter().map(|p| passage(band, p)).collect(),
            cost,
            lower_bound,
            gap: gap(cost, lower_bound),
            status: status.word(),
            conflicts: way
                .voiced
                .conflicts
                .iter()
                .map(|c| conflict(band, c))
                .collect(),
            again: way.again.map(|a| AgainJson {
                cost_before: a.before,
                new_notes: a.moved,
            }),
            tune_rules: TuneRulesJson::of(&way.tune, &song.meters),
            plan: PlanJson {
                cost: thousandths(way.plan.cost),
                lower_bound: thousandths(way.plan.lower_bound),
            },
            melody_changes: changes.collect(),
            weighed: WeighedJson::of(band, &way.weighed),
            findings: way.findings.iter().map(FindingJson::of).collect(),
            warnings: way.warnings.iter().map(ToString::to_string).collect(),
            timeline: way.timeline.as_ref().map(|t| TimelineJson::of(t, song)),
            costs_most: Vec::new(),
            passage_why: &[],
            why: Vec::new(),
        }
    }

    /// The same with what costs most, and why parts play what they play where that was asked.
    #[must_use]
    pub fn with_told(mut self, band: &'a Band, told: &'a Told) -> Self {
        let dearest = told.dearest.iter().map(|d| DearestJson::of(band, d));
        self.costs_most = dearest.collect();
        self.passage_why = &told.passage;
        let why = told.why.iter().flatten();
        self.why = why.map(|e| NoteWhyJson::of(band, e)).collect();
        self
    }
}

fn conflict<'a>(band: &'a Band, found: &Conflict) -> ConflictJson<'a> {
    let name = |id: &PartId| band.part(*id).name.as_str();
    ConflictJson {
        kind: found.kind.word(),
        bars: found.bars.iter().map(|(a, b)| [a.0, b.0]).collect(),
        parts: found.parts.iter().map(name).collect(),
        says: format!("{}.", found.says),
        relaxation: format!("{}.", found.relaxation_in_words(band)),
    }
}

fn band_json(band: &Band) -> BandJson<'_> {
    let parts = band.ids().map(|(id, p)| PartJson {
        name: &p.name,
        instrument: &p.instrument.id,
        players: p.players.count(),
        lowest: p.limits.range.low.midi(),
        highest: p.limits.range.high.midi(),
        transposition: p.instrument.transposition.interval().0,
        limits: limits_json(band, id),
    });
    BandJson {
        name: &band.name,
        parts: parts.collect(),
    }
}

fn limits_json(band: &Band, id: PartId) -> LimitsJson<'_> {
    let part = band.part(id);
    let pairs = shared_players(band).into_iter();
    let with = pairs.filter_map(|(a, b)| match (a == id, b == id) {
        (true, _) => Some(b),
        (_, true) => Some(a),
        _ => None,
    });
    LimitsJson {
        leap: part.limits.max_leap.map(Interval::size),
        notes_per_second: part.limits.max_speed.map(|s| s.0),
        bars_on_end: part.limits.rests_every,
        accidentals: part.limits.max_accidentals,
        never_alone: part.remarks.exposure == Exposure::Never,
        shares_players_with: with.map(|p| band.part(p).name.as_str()).collect(),
        go_easy: part.remarks.go_easy.map(GoEasy::word),
    }
}

fn draft_note(note: &DraftNote, clean: f64) -> DraftNoteJson {
    DraftNoteJson {
        onset: note.onset.0,
        duration: note.duration.0,
        pitch: note.pitch.midi(),
        velocity: note.velocity,
        role: note.role.word(),
        locked: note.locked,
        clean: thousandths(clean),
    }
}

fn breaths(breathing: &Breathing, part: PartId) -> Vec<BreathJson> {
    let own = breathing.breaths.iter().filter(|b| b.part == part);
    own.map(|b| {
        let turn = match b.kind {
            BreathKind::Staggered(group, of) => Some((group, of)),
            BreathKind::Between(_) | BreathKind::Inside => None,
        };
        BreathJson {
            at: b.at.0,
            kind: b.kind.word(),
            group: turn.map(|t| t.0),
            groups: turn.map(|t| t.1),
        }
    })
    .collect()
}

fn passage<'a>(band: &'a Band, planned: &'a PassagePlan) -> PassageJson<'a> {
    PassageJson {
        first_bar: planned.passage.first_bar.0,
        last_bar: planned.passage.last_bar.0,
        intensity: (planned.passage.intensity * 10.0).round() / 10.0,
        scoring: &planned.way,
        number: planned.number,
        taken: planned.taken,
        roles: roles(band, &planned.roles),
        terms: terms(&planned.terms),
        alternatives: planned
            .others
            .iter()
            .map(|o| alternative(band, o))
            .collect(),
        figure: planned.figure.as_ref().map(|f| FigureWayJson {
            way: f.way.word(),
            why: &f.why,
            parts: f
                .carriers
                .iter()
                .map(|id| band.part(*id).name.as_str())
                .collect(),
        }),
    }
}

fn alternative<'a>(band: &'a Band, other: &'a Alternative) -> AlternativeJson<'a> {
    AlternativeJson {
        number: other.number,
        scoring: &other.way,
        changes: &other.changes,
        cost_more: thousandths(other.cost_more),
        differs: thousandths(other.differs),
        terms: terms(&other.terms),
        roles: roles(band, &other.roles),
    }
}

fn roles<'a>(band: &'a Band, roles: &[PartRole]) -> Vec<RoleJson<'a>> {
    let one = |(part, role): (&'a Part, &PartRole)| RoleJson {
        part: &part.name,
        role: role.role.word(),
        octave: role.octave,
    };
    band.parts.iter().zip(roles).map(one).collect()
}

fn terms(costs: &[PlanCost]) -> Vec<PlanTermJson> {
    let one = |c: &PlanCost| PlanTermJson {
        term: c.term.name(),
        points: thousandths(c.points),
    };
    costs.iter().map(one).collect()
}
