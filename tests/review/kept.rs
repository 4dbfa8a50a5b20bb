//! What is kept between edits says what a look anew says, to the bit, whatever was edited before.

use super::{QUARTER, band, line, meters, tempo};
use bandwright::band::load::{Conditions, Start};
use bandwright::band::playing::Posture;
use bandwright::band::{Band, PartId};
use bandwright::music::{BarNumber, KeySignature, MeterMap, Mode, Sounding, TempoMap, Tick, Ticks};
use bandwright::review::clean::{Frame, clean_lines};
use bandwright::review::{
    BalanceBook, CleanBook, Course, CourseBook, CourseOf, LoadBook, LoadSheet, ReliefBook, Stretch,
    load_findings, load_findings_kept, peak_findings, peak_findings_kept, presence_findings,
    presences, strains,
};
use bandwright::score::{Draft, DraftNote, PartLine, Passage, Role};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};

/// Bars of the pattern that each part plays over and over, and how often.
const PATTERN: u64 = 4;
const TIMES: u64 = 9;

fn players() -> Band {
    band(&[
        ("Flute", "flute", "intermediate = 2"),
        (
            "Clarinet",
            "clarinet_bb",
            "intermediate = 2, first_year = 1",
        ),
        ("Trumpet 1", "trumpet", "intermediate = 1, advanced = 1"),
        ("Trumpet 2", "trumpet", "second_year = 2"),
        ("Trombone", "trombone", "intermediate = 2"),
        ("Tuba", "tuba", "intermediate = 1"),
    ])
}

fn any_role() -> impl Strategy<Value = Role> {
    select(vec![
        Role::Melody,
        Role::Counterline,
        Role::Harmony,
        Role::Bass,
    ])
}

/// A pattern, again and again: long enough that brass tires.
fn any_lines() -> impl Strategy<Value = Vec<PartLine>> {
    let ranges = [(60, 84), (55, 80), (62, 80), (60, 76), (45, 65), (30, 48)];
    let of = |(part, (low, high)): (usize, (u8, u8))| {
        let notes = vec((0..4 * PATTERN, 1..5_u64, low..high, 40..127_u8), 0..8);
        (any_role(), notes).prop_map(move |(role, mut notes)| {
            notes.sort_unstable();
            let mut until = 0;
            notes.retain(|(onset, long, ..)| {
                let free = *onset >= until && onset + long <= 4 * PATTERN;
                until = if free { onset + long } else { until };
                free
            });
            let all = (0..TIMES).flat_map(|t| {
                let later = |n: &(u64, u64, u8, u8)| (n.0 + 4 * PATTERN * t, n.1, n.2, n.3);
                notes.iter().map(later).collect::<Vec<_>>()
            });
            line(part, role, &all.collect::<Vec<_>>())
        })
    };
    ranges.into_iter().enumerate().map(of).collect::<Vec<_>>()
}

#[derive(Clone, Debug)]
enum Edit {
    Pitch(Index, Index, u8),
    Velocity(Index, Index, u8),
    Role(Index, Index, Role),
    Lock(Index, Index),
    Drop(Index, Index),
    Add(Index, (u64, u64, u8, u8), Role),
    /// A part rests in bars of a stretch.
    Rest(Index, Index),
    Swap(Index, Index),
    Tempo(f64),
    Posture(Posture),
}

fn any_edit() -> impl Strategy<Value = Edit> {
    let (a, b) = (any::<Index>, any::<Index>);
    let note = (0..4 * PATTERN * TIMES, 1..6_u64, 40..80_u8, 20..127_u8);
    prop_oneof![
        3 => (a(), b(), 40..80_u8).prop_map(|(p, n, to)| Edit::Pitch(p, n, to)),
        2 => (a(), b(), 1..127_u8).prop_map(|(p, n, to)| Edit::Velocity(p, n, to)),
        1 => (a(), b(), any_role()).prop_map(|(p, n, to)| Edit::Role(p, n, to)),
        1 => (a(), b()).prop_map(|(p, n)| Edit::Lock(p, n)),
        2 => (a(), b()).prop_map(|(p, n)| Edit::Drop(p, n)),
        2 => (a(), note, any_role()).prop_map(|(p, n, role)| Edit::Add(p, n, role)),
        2 => (a(), b()).prop_map(|(p, s)| Edit::Rest(p, s)),
        1 => (a(), b()).prop_map(|(p, q)| Edit::Swap(p, q)),
        1 => select(vec![60.0, 90.0, 132.0]).prop_map(Edit::Tempo),
        1 => select(vec![Posture::Seated, Posture::Marching]).prop_map(Edit::Posture),
    ]
}

/// A draft with all that it is looked into by.
struct Show {
    band: Band,
    lines: Vec<PartLine>,
    tempo: TempoMap,
    meters: MeterMap,
    conditions: Conditions,
    stretches: Vec<Stretch>,
    passages: Vec<Passage>,
}

impl Show {
    fn of(lines: Vec<PartLine>) -> Self {
        let meters = meters();
        let passage = |at: u64| {
            let (first, last) = (PATTERN * at + 1, PATTERN * (at + 1));
            let (first, last) = (BarNumber(first as u32), BarNumber(last as u32));
            Passage {
                start: meters.bar_start(first),
                end: meters.bar_end(last),
                first_bar: first,
                last_bar: last,
                intensity: (at * 3 % 10) as f64,
                repeats: None,
                peak: false,
            }
        };
        let passages: Vec<Passage> = (0..TIMES).map(passage).collect();
        Self {
            band: players(),
            lines,
            tempo: tempo(90.0),
            conditions: Conditions {
                posture: Posture::Seated,
                start: Start::MidProgramme,
            },
            stretches: passages.iter().map(Stretch::from).collect(),
            passages,
            meters,
        }
    }

    fn edit(&mut self, edit: &Edit) {
        let count = self.lines.len();
        let mut note = |part: &Index, note: &Index, change: &dyn Fn(&mut DraftNote)| {
            let notes = &mut self.lines[part.index(count)].notes;
            if !notes.is_empty() {
                let at = note.index(notes.len());
                change(&mut notes[at]);
                notes.sort();
            }
        };
        match edit {
            Edit::Pitch(p, n, to) => note(p, n, &|n| n.pitch = Sounding::new(*to).unwrap()),
            Edit::Velocity(p, n, to) => note(p, n, &|n| n.velocity = *to),
            Edit::Role(p, n, to) => note(p, n, &|n| n.role = *to),
            Edit::Lock(p, n) => note(p, n, &|n| n.locked = !n.locked),
            Edit::Drop(p, n) => {
                let notes = &mut self.lines[p.index(count)].notes;
                if !notes.is_empty() {
                    notes.remove(n.index(notes.len()));
                }
            }
            Edit::Add(p, (from, long, pitch, velocity), role) => {
                let notes = &mut self.lines[p.index(count)].notes;
                notes.push(DraftNote {
                    onset: Tick(from * QUARTER),
                    duration: Ticks(long * QUARTER),
                    pitch: Sounding::new(*pitch).unwrap(),
                    velocity: *velocity,
                    role: *role,
                    locked: false,
                });
                notes.sort();
            }
            Edit::Rest(p, s) => {
                let here = self.stretches[s.index(self.stretches.len())];
                let notes = &mut self.lines[p.index(count)].notes;
                notes.retain(|n| n.end() <= here.start || here.end <= n.onset);
            }
            Edit::Swap(p, q) => self.lines.swap(p.index(count), q.index(count)),
            Edit::Tempo(to) => self.tempo = tempo(*to),
            Edit::Posture(to) => self.conditions.posture = *to,
        }
    }

    fn sheet(&self) -> LoadSheet<'_> {
        LoadSheet {
            band: &self.band,
            lines: &self.lines,
            tempo: &self.tempo,
            meters: &self.meters,
            conditions: self.conditions,
            stretches: &self.stretches,
        }
    }
}

#[derive(Default)]
struct Books {
    balance: BalanceBook,
    loads: LoadBook,
    reliefs: ReliefBook,
    clean: CleanBook,
    courses: CourseBook,
    /// How many findings were held against each other.
    findings: usize,
}

impl Books {
    fn of(band: &Band) -> Self {
        Self {
            balance: BalanceBook::of(band),
            ..Self::default()
        }
    }

    /// Holds all that the books say of a show against a look anew.
    fn check(&mut self, show: &Show) -> Result<(), TestCaseError> {
        let Show {
            band,
            lines,
            tempo,
            meters,
            conditions,
            ..
        } = show;
        let kept = self
            .loads
            .strains(band, lines, (tempo, meters), *conditions);
        let found = strains(band, lines, tempo, meters, *conditions);
        prop_assert_eq!(&kept, &found);
        let sheet = show.sheet();
        let marked = load_findings_kept(&sheet, &kept, &mut self.reliefs);
        prop_assert_eq!(&marked, &load_findings(&sheet, &found));
        let before = peak_findings_kept(&sheet, &kept, &show.passages, &mut self.reliefs);
        prop_assert_eq!(&before, &peak_findings(&sheet, &found, &show.passages));
        self.reliefs.drop_unused();
        let keys = [(Tick::ZERO, KeySignature::new(-2, Mode::Major).unwrap())];
        let frame = Frame {
            tempo,
            meters,
            keys: &keys,
        };
        let kept = self.clean.lines(band, lines, &frame, *conditions);
        prop_assert_eq!(kept, clean_lines(band, lines, &frame, *conditions));
        // The first stretches are enough: it takes long to look for what uncovers lines.
        let some = &show.stretches[..2];
        let kept = self.balance.presences(lines, some);
        prop_assert_eq!(&kept, &presences(band, lines, some));
        let covered = self.balance.findings(band, lines, &kept, meters);
        prop_assert_eq!(&covered, &presence_findings(band, lines, &kept, meters));
        self.findings += marked.len() + before.len() + covered.len();
        let draft = Draft {
            lines: lines.clone(),
            melody_changes: Vec::new(),
        };
        let of = CourseOf {
            band,
            draft: &draft,
            passages: &show.passages,
            wanted: None,
            meters,
            tempo,
            conditions: *conditions,
            before: None,
            end: Tick(4 * PATTERN * TIMES * QUARTER),
        };
        prop_assert_eq!(self.courses.course(&of), Course::of(&of));
        Ok(())
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_edits_leave_what_is_kept_true(lines in any_lines(), edits in vec(any_edit(), 1..7)) {
        let mut show = Show::of(lines);
        let mut books = Books::of(&show.band);
        books.check(&show)?;
        for edit in &edits {
            show.edit(edit);
            books.check(&show)?;
        }
    }
}

/// Tired brass, a covered tune, and takers who come and go.
#[test]
fn findings_follow_the_notes_of_others() {
    let all = |part, role, pitch, velocity| {
        let bars = 0..PATTERN * TIMES;
        let notes: Vec<_> = bars.map(|b| (4 * b, 4, pitch, velocity)).collect();
        line(part, role, &notes)
    };
    let mut show = Show::of(vec![
        all(0, Role::Melody, 65, 70),
        line(1, Role::Harmony, &[]),
        all(2, Role::Counterline, 67, 110),
        line(3, Role::Harmony, &[]),
        all(4, Role::Harmony, 60, 110),
        all(5, Role::Bass, 36, 110),
    ]);
    let mut books = Books::of(&show.band);
    let reliefs = |show: &Show| -> Vec<String> {
        let sheet = show.sheet();
        let found = strains(
            sheet.band,
            sheet.lines,
            sheet.tempo,
            sheet.meters,
            sheet.conditions,
        );
        let found = load_findings(&sheet, &found).into_iter();
        let found = found.filter(|f| f.part.as_deref() == Some("Trumpet 1"));
        found.map(|f| f.remedy).collect()
    };
    books.check(&show).unwrap();
    assert!(books.findings > 3);
    let free = reliefs(&show);
    // The clarinets and the other trumpets play too: nobody of them can take over.
    for part in [1, 3] {
        show.lines[part] = all(part, Role::Harmony, 64, 60);
        books.check(&show).unwrap();
    }
    assert_ne!(reliefs(&show), free);
    assert_eq!(show.lines[1].part, PartId(1));
    // And rest again.
    for part in [1, 3] {
        show.lines[part].notes.clear();
        books.check(&show).unwrap();
    }
    assert_eq!(reliefs(&show), free);
}
