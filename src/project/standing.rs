//! Where a document stands: its sketch as read, its plan, its notes looked into and judged. What follows
//! from what did not change is kept, so that a small edit costs little.

use super::document::Document;
use super::given::{DraftAgain, DraftBefore};
use super::judged::{JudgeBook, Judged, Sheets};
use super::locked::Locked;
use super::made_ready::{MadeReady, PlanChoice, Settled};
use super::other_key::other_key;
use super::solve_again::solve_again;
use super::work::{Desk, Remedy, remedies};
use crate::band::Band;
use crate::music::Tick;
use crate::plan::{PlanWeights, ScoringPlan};
use crate::review::{Course, CourseBook, CourseOf, Finding};
use crate::score::Draft;
use crate::sketch::{ReadError, ReadOptions, Song};
use crate::voicing::styles::{Style, combined, combined_plan, style};
use crate::voicing::{
    Again, Conflict, Effort, Kept, Problem, Progress, Scope, Status, Stay, Voiced, Weights,
    resolve, voice_kept, write_loud,
};
use std::cell::RefCell;
use std::sync::Arc;

/// What is to be solved.
#[derive(Clone, PartialEq, Debug)]
pub enum Ask {
    /// All that is not locked, from the start.
    Afresh,
    /// What a scope allows.
    Within {
        /// The scope.
        scope: Scope,
        /// What staying as drafted is worth.
        stay: Stay,
    },
}

/// What a solve found.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Found {
    /// The draft.
    pub draft: Draft,
    /// How good it is known to be.
    pub proof: Proof,
}

/// How good a draft is known to be.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Proof {
    /// What the chords that were solved cost, in points.
    pub cost: f64,
    /// What they cannot cost less than.
    pub lower_bound: f64,
    /// In one word.
    pub status: Status,
}

impl Proof {
    fn of(voiced: &Voiced) -> Self {
        Self {
            cost: voiced.cost,
            lower_bound: voiced.lower_bound,
            status: voiced.status,
        }
    }

    /// How far the cost may be above the best, as a share of the cost.
    #[must_use]
    pub fn gap(self) -> f64 {
        crate::voicing::gap(self.cost, self.lower_bound)
    }
}

/// What there is to see of where a document stands. A picture of one moment, cheap to copy.
#[derive(Clone, Debug)]
pub struct Look {
    /// The document.
    pub document: Document,
    /// Its sketch as a song: written times, in the key that it is voiced in.
    pub song: Arc<Song>,
    /// The tracks of the sketch that are the arranger's own passages.
    pub own_tracks: Arc<Vec<usize>>,
    /// The sketch as read.
    pub ready: Arc<MadeReady>,
    /// Who carries what.
    pub plan: Arc<ScoringPlan>,
    /// Findings, clean chances, presence and load.
    pub judged: Arc<Judged>,
    /// Where locks, remarks and the sketch contradict each other.
    pub conflicts: Arc<Vec<Conflict>>,
    /// Intensity and load by bar.
    pub course: Arc<Course>,
}

impl Look {
    /// Whether it is of the band and the sketch of a document, so that what was read still holds.
    #[must_use]
    pub fn fits(&self, document: &Document) -> bool {
        self.document.reads_like(document)
    }

    /// What an edit of a document works on that it [fits](Self::fits).
    #[must_use]
    pub fn desk<'a>(&'a self, document: &'a Document) -> Desk<'a> {
        Desk {
            band: &document.band,
            reading: &self.ready.reading,
            meters: &self.song.meters,
            quarter: self.song.quarter,
            passages: &self.ready.passages,
            draft: &document.draft,
            locks: &document.locks,
        }
    }

    /// Judges a draft for the document's band.
    #[must_use]
    pub fn judge(&self, draft: &Draft) -> Judged {
        Judged::of(&self.sheets(draft))
    }

    fn sheets<'a>(&'a self, draft: &'a Draft) -> Sheets<'a> {
        Sheets {
            song: &self.song,
            band: &self.document.band,
            ready: &self.ready,
            tune: &self.document.tune,
            draft,
            conditions: self.document.conditions,
        }
    }
}

/// Where a document stands.
#[derive(Clone, Debug)]
pub struct Standing {
    look: Look,
    weights: Weights,
    plan_weights: PlanWeights,
    kept: Kept,
    judging: JudgeBook,
    courses: CourseBook,
    voiced: Voiced,
}

/// The styles of a document; names that mean none are passed over.
fn styles(document: &Document) -> Vec<Style> {
    document
        .styles
        .iter()
        .filter_map(|n| style(n).ok())
        .collect()
}

impl Standing {
    /// Reads a document's sketch, plans it, and judges its draft.
    ///
    /// # Errors
    /// Where the sketch is no MIDI or MusicXML file that can be used.
    pub fn of(document: &Document) -> Result<Self, ReadError> {
        let moved = other_key(
            document.song_in_own_key()?,
            &document.band,
            (*document.tags).clone(),
            document.sketch.transpose,
        );
        let own = Locked::of(&moved.song, &document.band, None);
        let ready = MadeReady::with_timeline(
            &moved.song,
            &document.band,
            &ReadOptions {
                leave_out: &own.own_tracks,
                tags: moved.tags,
                lines: &moved.lines,
                ..ReadOptions::default()
            },
            document.timeline.as_ref().as_ref(),
        );
        let styles = styles(document);
        let mut standing = Self {
            look: Look {
                document: document.clone(),
                song: Arc::new(moved.song),
                own_tracks: Arc::new(own.own_tracks),
                ready: Arc::new(ready),
                plan: Arc::default(),
                judged: Arc::default(),
                conflicts: Arc::default(),
                course: Arc::default(),
            },
            weights: combined(&styles),
            plan_weights: combined_plan(&styles),
            kept: Kept::of(&document.band),
            judging: JudgeBook::default(),
            courses: CourseBook::default(),
            voiced: Voiced::default(),
        };
        standing.plan_anew();
        standing.judge();
        Ok(standing)
    }

    /// What there is to see.
    #[must_use]
    pub const fn look(&self) -> &Look {
        &self.look
    }

    /// Follows a document to where it is now; what did not change is not worked out again.
    ///
    /// # Errors
    /// As [`Self::of`]; then nothing is changed.
    pub fn follow(&mut self, document: &Document) -> Result<(), ReadError> {
        let was = &self.look.document;
        if was == document {
            return Ok(());
        }
        let read_anew = !was.reads_like(document)
            || was.tags != document.tags
            || was.styles != document.styles
            || was.timeline != document.timeline;
        if read_anew {
            *self = Self::of(document)?;
            return Ok(());
        }
        let plan_anew = was.locks != document.locks || was.taken != document.taken;
        let judge_anew = plan_anew
            || was.draft != document.draft
            || was.tune != document.tune
            || was.conditions != document.conditions;
        self.look.document = document.clone();
        if plan_anew {
            self.plan_anew();
        }
        if judge_anew {
            self.judge();
        }
        Ok(())
    }

    fn plan_anew(&mut self) {
        let document = &self.look.document;
        let choice = PlanChoice {
            weights: &self.plan_weights,
            taken: &document.taken,
        };
        let (song, band) = (&self.look.song, &document.band);
        let plan = self
            .look
            .ready
            .plan_with(song, band, &document.locks, choice);
        self.look.plan = Arc::new(plan);
    }

    /// Looks into the draft and judges it.
    fn judge(&mut self) {
        let mut kept = std::mem::take(&mut self.kept);
        let look = &self.look;
        let document = &look.document;
        let judged = self.judging.judge(&look.sheets(&document.draft));
        let problem = self.problem();
        // A solve of nothing looks into the draft as it is.
        let nothing = DraftAgain {
            draft: DraftBefore::Draft(&document.draft),
            bars: Vec::new(),
            parts: Vec::new(),
            stay: Stay::MOST,
        };
        let effort = Effort::default();
        let seen = solve_again(&problem, &nothing, &mut kept, &effort, &mut |_| {});
        let all = (Tick::ZERO, Tick(u64::MAX));
        let found = crate::voicing::conflicts::conflicts(&problem, &document.draft, all);
        let mut course_of = CourseOf {
            band: &document.band,
            draft: &document.draft,
            passages: &look.ready.passages,
            wanted: None,
            meters: &look.song.meters,
            tempo: &look.song.tempo,
            conditions: document.conditions,
            before: None,
            end: look.song.end(),
        };
        let timeline = look.ready.timeline.as_ref();
        let wanted = timeline.and_then(|t| t.by_bar(&course_of.starts()));
        course_of.wanted = wanted.as_deref();
        let course = self.courses.course(&course_of);
        self.kept = kept;
        self.voiced = seen.voiced;
        self.look.course = Arc::new(course);
        self.look.judged = Arc::new(judged);
        self.look.conflicts = Arc::new(found);
    }

    fn settled(&self) -> Settled<'_> {
        Settled {
            locks: &self.look.document.locks,
            tune: &self.look.document.tune,
            plan: &self.look.plan,
            weights: &self.weights,
        }
    }

    /// What the voicing follows from.
    #[must_use]
    pub fn problem(&self) -> Problem<'_> {
        let look = &self.look;
        let (song, band): (&Song, &Band) = (&look.song, &look.document.band);
        look.ready.problem(song, band, self.settled())
    }

    /// The draft as the solver sees it, for explanations.
    #[must_use]
    pub const fn voiced(&self) -> &Voiced {
        &self.voiced
    }

    /// What the solver keeps of the band.
    #[must_use]
    pub const fn kept(&self) -> &Kept {
        &self.kept
    }

    /// What can be done about a finding: those remedies that were tried and mend it.
    #[must_use]
    pub fn remedies(&self, finding: &Finding) -> Vec<Remedy> {
        let look = &self.look;
        let desk = look.desk(&look.document);
        // What is kept of the draft helps with those that are tried.
        let judging = RefCell::new(self.judging.clone());
        remedies(&desk, finding, &|draft| {
            judging.borrow_mut().judge(&look.sheets(draft)).findings
        })
    }

    /// Solves what is asked. The document stays as it is: the answer is a proposal.
    pub fn solve(
        &mut self,
        ask: &Ask,
        effort: &Effort<'_>,
        progress: &mut dyn FnMut(Progress),
    ) -> Found {
        let mut kept = std::mem::take(&mut self.kept);
        let problem = self.problem();
        let document = &self.look.document;
        let voiced = match ask {
            Ask::Afresh => {
                let (voiced, found) = voice_kept(&problem, effort, progress);
                kept = found;
                voiced
            }
            Ask::Within { scope, stay } => {
                let again = Again {
                    draft: &document.draft,
                    scope,
                    stay: *stay,
                };
                resolve(&problem, &again, &mut kept, effort, progress).voiced
            }
        };
        self.kept = kept;
        let proof = Proof::of(&voiced);
        let mut draft = voiced.draft;
        if let Some(timeline) = &self.look.ready.timeline {
            let scope = match ask {
                Ask::Afresh => None,
                Ask::Within { scope, .. } => Some(scope),
            };
            write_loud(&self.problem(), timeline, &mut draft, scope);
        }
        Found { draft, proof }
    }
}
