//! Files from the window: shows, sketches, bands, drafts.

use super::{Session, Wake};
use crate::band::{cautions, preset};
use crate::cli::files;
use crate::export::{Existing, midi_bytes, safe_write};
use crate::project::file::EXTENSION;
use crate::project::locked::Locked;
use crate::project::{Document, OpenProject, Opened, SketchFile};
use crate::sketch::read_any;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A kind of file that the window asks for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Kind {
    /// A show that is to be opened.
    Open,
    /// Where the show is to be saved.
    SaveAs,
    /// A sketch.
    Sketch,
    /// A roster.
    Band,
    /// A draft that came back.
    Back,
    /// Where the draft goes.
    Midi,
    /// Where the score goes.
    Score,
    /// Which folder the single parts go to.
    Parts,
    /// Where the director's sheet goes.
    Sheet,
    /// Where the practice page goes.
    Practice,
    /// Where the sheet of keys goes.
    Keys,
    /// A timeline that is to be brought in.
    Timeline,
    /// Where the timeline goes.
    TimelineOut,
    /// Where the picture of the shape goes.
    ShapePicture,
    /// A SoundFont that is to be played with.
    Sounds,
}

impl Kind {
    /// What is asked, for a title.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Open => "Open a show",
            Self::SaveAs => "Save the show as",
            Self::Sketch => "Bring in a sketch",
            Self::Band => "Bring in a band",
            Self::Back => "Bring in a draft that came back",
            Self::Midi => "Send out the draft as MIDI",
            Self::Score => "Send out the score as MusicXML",
            Self::Parts => "Send out single parts into a folder",
            Self::Sheet => "Send out the director's sheet",
            Self::Practice => "Send out the practice page",
            Self::Keys => "Write the sheet of keys",
            Self::Timeline => "Bring in a timeline",
            Self::TimelineOut => "Send out the timeline",
            Self::ShapePicture => "Send out the shape as a picture",
            Self::Sounds => "Play with a SoundFont",
        }
    }

    /// What such files are, and how their names end.
    #[must_use]
    pub const fn endings(self) -> (&'static str, &'static [&'static str]) {
        match self {
            Self::Open | Self::SaveAs => ("Show", &[EXTENSION]),
            Self::Sketch | Self::Back => (
                "MIDI or MusicXML file",
                &["mid", "midi", "smf", "kar", "musicxml", "mxl", "xml"],
            ),
            Self::Band => ("Roster", &["toml", "csv"]),
            Self::Midi => ("MIDI file", &["mid"]),
            Self::Score => ("MusicXML", &["musicxml", "mxl", "xml"]),
            Self::Parts => ("Folder", &[]),
            Self::Sheet => ("Page", &["html", "md"]),
            Self::Keys | Self::Practice => ("Page", &["html"]),
            Self::Timeline | Self::TimelineOut => ("Timeline", &["toml"]),
            Self::ShapePicture => ("Picture", &["svg"]),
            Self::Sounds => ("SoundFont", &["sf2"]),
        }
    }

    /// Whether a file is written.
    #[must_use]
    pub const fn writes(self) -> bool {
        match self {
            Self::SaveAs
            | Self::Midi
            | Self::Score
            | Self::Parts
            | Self::Sheet
            | Self::Practice
            | Self::Keys
            | Self::TimelineOut
            | Self::ShapePicture => true,
            Self::Open | Self::Sketch | Self::Back | Self::Band | Self::Timeline | Self::Sounds => {
                false
            }
        }
    }
}

/// Something that the window has to ask the arranger before it goes on.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Ask {
    /// A path.
    Path(Kind),
    /// Whether what is there may be replaced.
    Replace(Kind, PathBuf),
    /// What to do with unsaved work, before something else is done.
    Unsaved(Box<super::act::Then>),
}

/// The title of the demo.
pub const DEMO_TITLE: &str = files::DEMO_TITLE;

/// A MIDI file without notes (SMF 1.0): header, one track that ends at once.
pub(crate) const EMPTY: &[u8] =
    b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0MTrk\x00\x00\x00\x04\x00\xff\x2f\x00";

/// The demo show: our own piece for an invented band.
///
/// # Errors
/// Only if the program itself is damaged.
pub fn demo() -> Result<Document, String> {
    let band = preset("demo").map_err(|e| e.to_string())?;
    let sketch = SketchFile {
        name: "harvest-lights.mid".to_owned(),
        bytes: files::DEMO_SKETCH.to_vec(),
        ..SketchFile::default()
    };
    Ok(with_own_locks(Document::new(DEMO_TITLE, sketch, band)))
}

/// A document with the arranger's own passages of its sketch locked.
fn with_own_locks(document: Document) -> Document {
    let Ok(song) = document.song() else {
        return document;
    };
    let own = Locked::of(&song, &document.band, None);
    Document {
        locks: Arc::new(own.locks),
        ..document
    }
}

/// What opening a show told, a sentence each.
#[must_use]
pub fn in_words(opened: Opened) -> Vec<String> {
    let mut told = Vec::new();
    match opened.recovered {
        0 => {}
        1 => told.push("one step recovered that was not saved".to_owned()),
        n => told.push(format!("{n} steps recovered that were not saved")),
    }
    told.extend(opened.warnings);
    told
}

impl Session {
    /// Brings in a sketch from a file.
    pub fn bring_in_sketch(&mut self, path: &Path) {
        let bytes = match files::bytes(path) {
            Ok(bytes) => bytes,
            Err(error) => {
                self.say(error.to_string());
                return;
            }
        };
        if let Err(error) = read_any(&bytes) {
            let name = path.display();
            self.say(format!(
                "{name} is no MIDI or MusicXML file that can be used: {error}"
            ));
            return;
        }
        let file = path
            .file_name()
            .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        let title = path
            .file_stem()
            .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        let sketch = SketchFile {
            name: file.clone(),
            bytes,
            ..SketchFile::default()
        };
        let fresh = Document {
            title,
            sketch: Arc::new(sketch),
            tags: Arc::default(),
            taken: Arc::default(),
            tune: Arc::default(),
            locks: Arc::default(),
            draft: Arc::default(),
            aside: Arc::default(),
            ..self.document().clone()
        };
        self.leave_solve();
        self.selection = None;
        self.sketch_notes.clear();
        self.proof = None;
        self.view.left = 0.0;
        self.change(&format!("bring in {file}"), with_own_locks(fresh));
        self.view.panel = crate::app::view::Panel::Sketch;
        self.shows_sketch = true;
        self.say(format!(
            "{file} is in: look at what was found, then solve (Ctrl+Enter)"
        ));
    }

    /// Takes a band, from a preset's name or a roster file.
    pub fn bring_in_band(&mut self, name: &str) {
        match files::roster(name) {
            Ok(band) => {
                let what = format!("take the band {}", band.name);
                let cautions = cautions(&band);
                self.leave_solve();
                self.select(None);
                let after = self.document().with_band(band);
                self.change(&what, after);
                self.say("the band is taken: parts of the same name keep their notes; solve for the others");
                cautions.into_iter().for_each(|text| self.say(text));
            }
            Err(error) => self.say(error.to_string()),
        }
    }

    /// Opens a show in place of this one, of which unsaved work is kept in its journal, or dropped.
    ///
    /// # Errors
    /// One sentence; then this one stays open.
    pub fn open_show(&mut self, path: &Path, wake: Wake, keep: bool) -> Result<(), String> {
        let (open, told) = OpenProject::open(path).map_err(|e| e.to_string())?;
        let view = self.view;
        let next = Self::on(open, wake).map_err(|e| format!("no thread can be had: {e}"))?;
        let mut before = std::mem::replace(self, next);
        self.listen_like(&mut before);
        before.end(keep);
        self.view = view;
        (self.view.left, self.view.top) = (0.0, 0.0);
        for text in in_words(told) {
            self.say(text);
        }
        Ok(())
    }

    /// Saves the show to its file; false where it has none yet, or that failed, which is told.
    pub fn save(&mut self) -> bool {
        match self.open.save() {
            Ok(()) => {
                self.say("saved");
                true
            }
            Err(error) => {
                self.say(error.to_string());
                false
            }
        }
    }

    /// Saves the show to another file.
    pub fn save_as(&mut self, path: &Path, existing: Existing) -> bool {
        match self.open.save_as(path, existing) {
            Ok(aside) => {
                self.say(format!("saved to {}", path.display()));
                if let Some(aside) = aside {
                    self.say(format!(
                        "unsaved work on what was there is kept in {}",
                        aside.display()
                    ));
                }
                true
            }
            Err(error) => {
                self.say(error.to_string());
                false
            }
        }
    }

    /// Writes the draft as a MIDI file.
    pub fn send_out_midi(&mut self, path: &Path, existing: Existing) -> bool {
        let document = self.document();
        let Some(look) = self.fitting_look() else {
            self.say("the sketch is still being read; send it out in a moment");
            return false;
        };
        let own = &look.own_tracks;
        let text = match midi_bytes(
            &look.song,
            own,
            &document.band,
            &document.draft,
            &look.judged.breathing.breaths,
        ) {
            Ok(bytes) => match safe_write(path, &bytes, existing) {
                Ok(()) => Ok(format!("the draft is in {}", path.display())),
                Err(error) => Err(error.to_string()),
            },
            Err(error) => Err(error.to_string()),
        };
        let done = text.is_ok();
        self.say(text.unwrap_or_else(|e| e));
        done
    }

    /// Ends the work on the show: unsaved work stays in its journal, or is dropped.
    pub fn end(&mut self, keep: bool) {
        // What cannot be removed is offered again at the next start; nothing is lost.
        let _ = self.open.end(keep);
    }
}
