//! Opening the window, and saying so where there can be none.

use super::app::{App, Begin};
use crate::cli::files::tell;
use crate::project::file::is_project;
use directories::ProjectDirs;
use eframe::egui::ViewportBuilder;
use std::path::PathBuf;
use std::process::ExitCode;

/// The size of the window at first, in points.
pub const SIZE: [f32; 2] = [1360.0, 860.0];
/// The least that it can be made.
const LEAST: [f32; 2] = [900.0, 560.0];

/// Opens the window on a show or with a sketch; the status is 2 where there can be no window, or the file
/// cannot be used.
#[must_use]
pub fn open(file: Option<PathBuf>) -> ExitCode {
    match opened(file) {
        Ok(()) => ExitCode::SUCCESS,
        Err(sentence) => {
            tell(&format!("bandwright: {sentence}"));
            ExitCode::from(2)
        }
    }
}

fn opened(file: Option<PathBuf>) -> Result<(), String> {
    if let Some(path) = file.as_ref().filter(|p| !p.exists()) {
        return Err(format!(
            "{} is not there; give a show, a MIDI or MusicXML file, or a command (`bandwright --help` lists them)",
            path.display()
        ));
    }
    if !has_display() {
        return Err(without_window("there is no display"));
    }
    let (show, sketch) = match file {
        Some(path) if is_project(&path) => (Some(path), None),
        other => (None, other),
    };
    let begin = Begin {
        show,
        sketch,
        folder: journals(),
    };
    let options = eframe::NativeOptions {
        renderer: eframe::Renderer::Glow,
        viewport: ViewportBuilder::default()
            .with_title("bandwright")
            .with_app_id("bandwright")
            .with_inner_size(SIZE)
            .with_min_inner_size(LEAST)
            .with_drag_and_drop(true),
        ..eframe::NativeOptions::default()
    };
    let run = eframe::run_native(
        "bandwright",
        options,
        Box::new(move |cc| {
            let mut app = App::new(&cc.egui_ctx, &begin)?;
            app.session.listening.prepare();
            Ok(Box::new(app))
        }),
    );
    run.map_err(|error| match error {
        // What the show or its folder has against being opened is a sentence already.
        eframe::Error::AppCreation(told) => told.to_string(),
        other => without_window(&other.to_string()),
    })
}

fn without_window(reason: &str) -> String {
    format!(
        "no window can be opened here: {reason}; all of it can be done by commands, such as `bandwright voice SKETCH --band ROSTER` (`bandwright --help` lists them)"
    )
}

/// Whether a display can be expected. Only systems with X11 or Wayland may be without.
fn has_display() -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    !cfg!(target_os = "linux")
        || ["DISPLAY", "WAYLAND_DISPLAY", "WAYLAND_SOCKET"]
            .into_iter()
            .any(set)
}

/// The folder of the journals of shows that were never saved: where the system keeps such things, else where
/// it keeps what is passing.
fn journals() -> PathBuf {
    let own = ProjectDirs::from("", "", "bandwright");
    let own = own.map(|d| {
        d.state_dir()
            .unwrap_or_else(|| d.data_local_dir())
            .join("journals")
    });
    own.unwrap_or_else(|| std::env::temp_dir().join("bandwright-journals"))
}
