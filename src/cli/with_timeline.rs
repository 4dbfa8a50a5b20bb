//! The timeline of a command: a file, or a template that comes with the program.

use super::{Failure, files};
use crate::plan::timeline::{AnyTimeline, Movement, Show, read_show, read_timeline, template};
use clap::Args;
use std::path::Path;

/// How a show is to go.
#[derive(Args, Clone, PartialEq, Eq, Debug, Default)]
pub struct WithTimeline {
    /// How intense the show is wanted: a timeline file (TOML), or the name of one that comes with the program and is
    /// stretched to the music. `bandwright timelines` lists them
    #[arg(long, value_name = "NAME|FILE")]
    timeline: Option<String>,
}

const TEXT: &str = "a timeline is TOML text";

impl WithTimeline {
    /// The timeline, if one is named; a file comes before a template of that name.
    ///
    /// # Errors
    /// Where it is neither a file nor comes with the program, or the file is faulty.
    pub fn read(&self) -> Result<Option<AnyTimeline>, Failure> {
        self.timeline.as_deref().map(timeline).transpose()
    }

    /// The show for some sketches, with one movement for each. A timeline of one movement is that of every sketch.
    ///
    /// # Errors
    /// As [`Self::read`], and where a show has another number of movements than there are sketches.
    pub fn show(&self, sketches: usize) -> Result<Option<Show>, Failure> {
        let Some(name) = self.timeline.as_deref() else {
            return Ok(None);
        };
        let mut show = show(name)?;
        if let [one] = &show.movements[..] {
            show.movements = vec![one.clone(); sketches];
        }
        if show.movements.len() == sketches {
            return Ok(Some(show));
        }
        Err(Failure::Movements {
            path: name.to_owned(),
            movements: show.movements.len(),
            sketches,
        })
    }

    /// Whether one is named.
    #[must_use]
    pub const fn is_given(&self) -> bool {
        self.timeline.is_some()
    }

    /// The path of the timeline, where it is a file.
    #[must_use]
    pub fn file(&self) -> Option<&Path> {
        let path = self.timeline.as_deref().map(Path::new);
        path.filter(|p| p.is_file())
    }
}

/// The timeline of a name.
fn timeline(name: &str) -> Result<AnyTimeline, Failure> {
    let path = Path::new(name);
    if !path.is_file() {
        return template(name).map(Into::into).map_err(Failure::Timeline);
    }
    read_timeline(&files::text(path, TEXT)?).map_err(|error| Failure::TimelineFile {
        path: name.to_owned(),
        error,
    })
}

fn show(name: &str) -> Result<Show, Failure> {
    let path = Path::new(name);
    if !path.is_file() {
        let timeline = timeline(name)?;
        return Ok(Show {
            name: timeline.name().to_owned(),
            movements: vec![Movement {
                timeline,
                pause_after: 0.0,
            }],
        });
    }
    read_show(&files::text(path, TEXT)?).map_err(|error| Failure::TimelineFile {
        path: name.to_owned(),
        error,
    })
}
