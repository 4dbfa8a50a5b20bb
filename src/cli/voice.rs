//! `bandwright voice`: a sketch and a band in, a draft out.

use super::chance::find_part;
use super::compare;
use super::failure::{Failure, no_notes_hint};
use super::files::{self, JsonTarget};
use super::how_played::HowPlayed;
use super::json_voice::VoiceAnswer;
use super::progress::Progress;
use super::score_files::ScoreFiles;
use super::styles::InStyle;
use super::take::{Take, refuse_unknown, taken};
use super::times::TimesWord;
use super::tune_words::TuneArgs;
use super::voice_report::Summary;
use super::why_voice::{WhyArgs, told};
use super::with_timeline::WithTimeline;
use crate::band::Band;
use crate::export::safe_write::may_write;
use crate::export::{Existing, midi_bytes, safe_write_all};
use crate::music::{BarNumber, Tick};
use crate::project::given::{DraftAgain, DraftBefore, Given};
use crate::project::other_key::{OtherKey, other_key};
use crate::project::whole_way::{WholeWay, whole_way_with};
use crate::score::returned::{Returned, returned};
use crate::score::{own_passages, whole_tracks};
use crate::sketch::{Song, bar_ranges, quantise};
use crate::voicing::styles::{combined, combined_plan};
use crate::voicing::{Effort, Stay};
use clap::{ArgGroup, Args};
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

/// Arguments of `voice`.
#[derive(Args, Debug)]
#[command(group(ArgGroup::new("before").args(["draft", "since"])))]
pub struct Voice {
    /// The piano sketch, a MIDI or MusicXML file [default: the built-in demo]
    sketch: Option<PathBuf>,
    /// The band: a roster file (TOML or CSV) or the name of a preset
    #[arg(long, default_value = files::DEMO_BAND)]
    band: String,
    #[command(flatten)]
    away: files::Away,
    /// A MIDI or MusicXML file whose tracks named like parts are kept as they are
    #[arg(long)]
    locks: Option<PathBuf>,
    /// The draft as it was sent out, where the sketch is that draft come back: what was changed in it since is
    /// locked, and the rest is solved again around it, from what was sent out
    #[arg(long, value_name = "DRAFT", requires = "sketch", conflicts_with_all = ["locks", "draft", "network", "transpose"])]
    since: Option<PathBuf>,
    /// A file that says which notes are melody, bass and so on (TOML)
    #[arg(long)]
    tags: Option<PathBuf>,
    /// Move the sketch by semitones first (-12 to 12; 2 lower: -2). A lock file is taken as it is
    #[arg(long, default_value_t = 0, allow_negative_numbers = true, value_parser = clap::value_parser!(i16).range(-12..=12))]
    transpose: i16,
    /// Where the draft goes
    #[arg(long, default_value = "draft.mid")]
    out: PathBuf,
    /// Also write the draft as JSON to a file (replaced if it is there), or to standard output with `-`
    #[arg(long)]
    json: Option<PathBuf>,
    /// Which times count where a sketch was played in: those that would be written, or those played
    #[arg(long, value_enum, default_value_t)]
    times: TimesWord,
    /// Solve these bars by themselves too (5-8): the answer's cost, bound and status are then theirs. With
    /// --draft: change nothing but these bars (5-8, 13)
    #[arg(long)]
    bars: Option<String>,
    /// A draft made before, of which --bars or --parts are solved again; all else stays to the tick
    #[arg(long, value_name = "FILE", conflicts_with = "network")]
    draft: Option<PathBuf>,
    /// With --draft: change only these parts ("Trumpet 1, Clarinet 2")
    #[arg(long = "parts", value_name = "NAMES", requires = "before")]
    only: Option<String>,
    /// With --draft: what staying as drafted is worth, from 0 (start afresh) to 10 (leave it)
    #[arg(long, requires = "before", default_value_t = Stay::default().get(), value_parser = clap::value_parser!(u8).range(0..=10))]
    stay: u8,
    /// Stop solving after so many seconds: the best draft so far is written, with its bound
    #[arg(long, value_name = "N", value_parser = seconds)]
    seconds: Option<f64>,
    /// With --bars: write their chords as a cost function network (CFN, JSON; replaced if it is there)
    #[arg(long, value_name = "FILE", requires = "bars")]
    network: Option<PathBuf>,
    /// Threads at the most (1 to 64); the draft is the same with any number
    #[arg(long, value_parser = one_to_64)]
    threads: Option<usize>,
    #[command(flatten)]
    score: ScoreFiles,
    #[command(flatten)]
    why: WhyArgs,
    #[command(flatten)]
    tune: TuneArgs,
    #[command(flatten)]
    in_style: InStyle,
    #[command(flatten)]
    how: HowPlayed,
    #[command(flatten)]
    timeline: WithTimeline,
    /// List other ways of scoring each passage, with what each would cost more
    #[arg(long)]
    alternatives: bool,
    /// Take another way for a passage: its bars and the number that `--alternatives` lists, as 17-20=2
    #[arg(long, value_name = "BARS=NUMBER")]
    take: Vec<Take>,
    /// Replace the draft if it is there already
    #[arg(long)]
    force: bool,
}

impl Voice {
    /// Runs the command.
    ///
    /// # Errors
    /// On bad input, or where the draft cannot be written; then nothing was written.
    pub fn run(self) -> Result<ExitCode, Failure> {
        let json = self.json.clone().map(JsonTarget::from);
        self.refuse_output_on_input(json.as_ref(), &[])?;
        let song = files::sketch(self.sketch.as_deref())?;
        let band = files::band_without(&self.band, &self.away)?;
        let came = self.came_back(&song, &band)?;
        let song = came.as_ref().map_or(song, |c| c.without_parts.clone());
        let song = quantise(&song, self.times.into()).song;
        let asked = self.why.asked(&band)?;
        let tags = files::tags(self.tags.as_deref())?;
        let styles = self.in_style.read()?;
        let timeline = self.timeline.read()?;
        let OtherKey { song, tags, lines } = other_key(song, &band, tags, self.transpose);
        let locks = self.locks.as_deref().map(files::song).transpose()?;
        let draft = self.draft.as_deref().map(files::song).transpose()?;
        let locks = locks.or_else(|| came.as_ref().map(|c| c.locks.clone()));
        let draft = draft.or_else(|| came.as_ref().map(|c| c.sent.clone()));
        let again = draft.as_ref().map(|d| self.again(d, &song, &band));
        let alone = self.bars.as_deref().filter(|_| draft.is_none());
        let bars = alone.map(one_range).transpose()?;
        let given = self.tune.onto(Given {
            again: again.transpose()?,
            threads: self.threads,
            excerpt: bars.map(|b| (b, self.network.is_some())),
            locks: locks.as_ref(),
            tags,
            lines: &lines,
            conditions: self.how.conditions(&band),
            weights: combined(&styles),
            plan_weights: combined_plan(&styles),
            taken: taken(&self.take),
            timeline,
            ..Given::default()
        });
        // What cannot be written is said before the work is done.
        let existing = files::ask_to_replace(&self.out, self.force);
        may_write(&self.out, existing)?;
        self.refuse_output_on_input(json.as_ref(), &self.score.paths(&band))?;
        let score_existing = if self.force {
            Existing::Replace
        } else {
            Existing::Keep
        };
        self.score.check(&band, score_existing)?;
        let mut progress = Progress::default();
        let begun = Instant::now();
        let limit = self.seconds.map(Duration::from_secs_f64);
        let late = || limit.is_some_and(|l| begun.elapsed() >= l);
        let effort = Effort {
            late: limit.is_some().then_some(&late),
            ..Effort::default()
        };
        let way = whole_way_with(&song, &band, &given, &effort, &mut |done| {
            progress.tell(done.share);
        });
        drop(progress);
        self.refuse_empty(&song, &way)?;
        let told = told(&song, &band, &way, asked.as_ref())?;
        let answer_of = || VoiceAnswer::of(&song, &band, &way).with_told(&band, &told);
        if let Some(Err(error)) = &way.excerpt {
            return Err(Failure::Excerpt(*error));
        }
        refuse_unknown(&self.take, &way.plan)?;
        let bytes = midi_bytes(
            &song,
            &way.own_tracks,
            &band,
            &way.voiced.draft,
            &way.breathing.breaths,
        )?;
        let mut outputs = vec![(self.out.as_path(), &bytes[..], existing)];
        let answer;
        if let Some(JsonTarget::File(path)) = &json {
            answer = files::json_bytes(&answer_of())?;
            outputs.push((path, &answer, Existing::Replace));
        }
        let network = way
            .excerpt
            .iter()
            .flatten()
            .find_map(|e| e.network.as_ref());
        if let Some((path, text)) = self.network.as_deref().zip(network) {
            outputs.push((path, text.as_bytes(), Existing::Replace));
        }
        let title = ScoreFiles::title(self.sketch.as_deref());
        let score = way.score(&title, &song, &band, self.score.is_plain());
        let score = self.score.written(&score)?;
        outputs.extend(
            score
                .iter()
                .map(|(path, bytes)| (path.as_path(), &bytes[..], score_existing)),
        );
        // What may fail comes first: where the answer cannot be printed, no draft is written.
        if json == Some(JsonTarget::Output) {
            files::write_json(&JsonTarget::Output, &answer_of())?;
        }
        self.score.in_folder(|| Ok(safe_write_all(&outputs)?))?;
        if json != Some(JsonTarget::Output) {
            let summary = Summary {
                song: &song,
                band: &band,
                way: &way,
                told: &told,
                out: &self.out,
                alternatives: self.alternatives,
                styles: &styles,
            };
            if let Some(came) = &came {
                files::say(&format!("{}\n", compare::text(came, &band)))?;
            }
            files::say(&summary.text())?;
            self.score.told().iter().try_for_each(|l| files::say(l))?;
        }
        files::notes(&way.warnings);
        Ok(ExitCode::SUCCESS)
    }

    /// What was changed in a draft that came back.
    fn came_back(&self, back: &Song, band: &Band) -> Result<Option<Returned>, Failure> {
        let Some(path) = self.since.as_deref() else {
            return Ok(None);
        };
        let found = returned(back, &files::song(path)?, band)?;
        if found.sent.tracks.is_empty() {
            return Err(Failure::NoParts {
                path: path.display().to_string(),
                band: band.name.clone(),
            });
        }
        Ok(Some(found))
    }

    /// What of a draft is to be solved again.
    fn again<'a>(
        &self,
        draft: &'a Song,
        song: &Song,
        band: &Band,
    ) -> Result<DraftAgain<'a>, Failure> {
        let onto = (&song.meters, song.quarter);
        if own_passages(&whole_tracks(draft), band, onto)
            .tracks
            .is_empty()
        {
            let path = self.draft.as_ref().or(self.since.as_ref());
            let path = path.map(|p| p.display().to_string());
            return Err(Failure::NoParts {
                path: path.unwrap_or_default(),
                band: band.name.clone(),
            });
        }
        let last = song.meters.bar(Tick(song.end().0.saturating_sub(1)));
        let bars = match self.bars.as_deref() {
            None => vec![(BarNumber(1), last)],
            Some(text) => {
                let bars = bar_ranges(text).ok_or_else(|| Failure::Bars(text.to_owned()))?;
                if bars.iter().all(|(first, _)| *first > last) {
                    let bars = text.to_owned();
                    return Err(Failure::BarsAfterEnd { bars, last });
                }
                bars
            }
        };
        let names = self.only.iter().flat_map(|p| p.split(','));
        let id = |name: &str| find_part(band, name.trim()).map(|(id, _)| id);
        Ok(DraftAgain {
            draft: DraftBefore::Song(draft),
            bars,
            parts: names.map(id).collect::<Result<Vec<_>, _>>()?,
            stay: Stay::new(self.stay),
        })
    }

    fn refuse_output_on_input(
        &self,
        json: Option<&JsonTarget>,
        score: &[PathBuf],
    ) -> Result<(), Failure> {
        let mut inputs = vec![
            self.sketch.as_deref(),
            self.locks.as_deref(),
            self.draft.as_deref(),
            self.since.as_deref(),
            self.tags.as_deref(),
            files::roster_file(&self.band),
            self.timeline.file(),
        ];
        inputs.extend(self.in_style.files().map(Some));
        let json = json.and_then(|j| {
            if let JsonTarget::File(path) = j {
                Some(path)
            } else {
                None
            }
        });
        let outputs = [Some(&self.out), json, self.network.as_ref()];
        let outputs = outputs.into_iter().flatten().chain(score);
        let outputs: Vec<&PathBuf> = outputs.collect();
        for (i, output) in outputs.iter().enumerate() {
            if outputs.iter().take(i).any(|o| files::is_same(o, output)) {
                return Err(Failure::OutputIsInput(output.display().to_string()));
            }
            files::refuse_over_inputs(output, &inputs)?;
        }
        Ok(())
    }

    fn refuse_empty(&self, song: &Song, way: &WholeWay) -> Result<(), Failure> {
        if !way.reading.notes.is_empty() || !way.locks.0.is_empty() {
            return Ok(());
        }
        let drums = song.tracks.iter().any(|t| !t.notes.is_empty());
        let path = self
            .sketch
            .as_ref()
            .map_or("the demo".to_owned(), |p| p.display().to_string());
        let usual = if drums {
            "it has percussion only (MIDI channel 10); put the piano on another channel"
        } else {
            "it has no notes at all; check that the right tracks were exported"
        };
        Err(Failure::NoNotes {
            path,
            hint: no_notes_hint(song, usual),
        })
    }
}

/// Seconds above nothing, a day at the most.
fn seconds(text: &str) -> Result<f64, String> {
    let number: Option<f64> = text.parse().ok();
    let usable = number.filter(|n| *n > 0.0 && *n <= 86_400.0);
    usable.ok_or_else(|| "give a number of seconds above 0, such as 2.5".to_owned())
}

fn one_to_64(text: &str) -> Result<usize, String> {
    let number = text.parse().ok().filter(|n| (1..=64).contains(n));
    number.ok_or_else(|| "give a number from 1 to 64".to_owned())
}

/// One stretch of bars.
fn one_range(text: &str) -> Result<(BarNumber, BarNumber), Failure> {
    match bar_ranges(text).as_deref() {
        Some([one]) => Ok(*one),
        _ => Err(Failure::Bars(text.to_owned())),
    }
}
