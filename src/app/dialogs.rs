//! What the window asks before it goes on: a path, whether to replace, what to do with unsaved work; and
//! choices of bands, parts and lines.

use super::actions::{ACTIONS, Action, Menu};
use super::scene::Scene;
use super::session::{Ask, Kind, Then};
use super::shape_dialogs::{name_ui, shapes_ui};
use super::wants::NameMark;

use crate::band::{PartId, preset_names};
use crate::plan::timeline::MarkKind;
use crate::project::work::CameBack;
use crate::sketch::Line;
use eframe::egui::{Align2, Context, Grid, Key, RichText, ScrollArea, TextEdit, Ui, Window, vec2};
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, channel};

/// What is asked.
#[derive(Debug, Default)]
pub enum Dialog {
    /// Nothing.
    #[default]
    None,
    /// A path.
    Path(PathDialog),
    /// Whether a file may be replaced.
    Replace(Kind, PathBuf),
    /// What to do with unsaved work.
    Unsaved(Then),
    /// Which band.
    Band(String),
    /// Which parts take the line.
    Parts {
        /// Whether the line stays where it is, too.
        doubled: bool,
        /// Those that were chosen.
        chosen: BTreeSet<PartId>,
    },
    /// Which line of the sketch.
    Line,
    /// Which shape of the show.
    Shape,
    /// What a peak, crest or hush is called.
    Name(NameMark),
    /// Whether to lock what was changed in a draft that came back.
    CameBack(Box<CameBack>),
    /// Which action.
    Find(String),
    /// The sheet of keys.
    Keys,
}

/// What was answered.
#[derive(Clone, PartialEq, Debug)]
pub enum Answer {
    /// A path for a kind of file.
    Path(Kind, PathBuf),
    /// Replace what is there.
    Replace(Kind, PathBuf),
    /// Save, then go on.
    SaveThen(Then),
    /// Go on; what is not saved stays in the journal.
    Leave(Then),
    /// A band, by a preset's name or a file's path.
    Band(String),
    /// These parts.
    Parts(Vec<PartId>, bool),
    /// This line.
    Line(Line),
    /// This shape, by its word.
    Shape(String),
    /// This name.
    Name(NameMark),
    /// Lock what was changed.
    CameBack(Box<CameBack>),
    /// This action.
    Do(Action),
    /// Ask the system for a file of a kind.
    LookFor(Kind),
}

/// Asking for a path: typed, or by the system's own way of choosing.
#[derive(Debug)]
pub struct PathDialog {
    kind: Kind,
    typed: String,
    system: Option<Receiver<Option<PathBuf>>>,
    told: &'static str,
}

impl PathDialog {
    /// Asks for a path. The system is asked at once where there may be one to ask.
    #[must_use]
    pub fn new(kind: Kind, suggested: String, ask_system: bool) -> Self {
        let mut dialog = Self {
            kind,
            typed: suggested,
            system: None,
            told: "",
        };
        if ask_system {
            dialog.ask_system();
        }
        dialog
    }

    /// Asks the system beside the window, so that the window goes on drawing.
    fn ask_system(&mut self) {
        let (tell, told) = channel();
        let kind = self.kind;
        let name = self.typed.clone();
        let asked = std::thread::Builder::new()
            .name("file dialog".to_owned())
            .spawn(move || {
                let (what, endings) = kind.endings();
                let dialog = rfd::FileDialog::new()
                    .set_title(kind.title())
                    .add_filter(what, endings);
                let path = if kind.writes() {
                    dialog.set_file_name(name).save_file()
                } else {
                    dialog.pick_file()
                };
                // Where the window has gone on without it, nobody listens.
                let _ = tell.send(path);
            });
        self.system = asked.is_ok().then_some(told);
    }

    fn ui(&mut self, ui: &mut Ui) -> Option<Option<PathBuf>> {
        if let Some(system) = &self.system {
            match system.try_recv() {
                Ok(Some(path)) => return Some(Some(path)),
                Ok(None) => {
                    // Nothing chosen, or no way to choose on this system: a path can be typed.
                    self.system = None;
                    self.told = "Nothing was chosen. A path can be typed here too.";
                }
                Err(std::sync::mpsc::TryRecvError::Empty) => {
                    ui.ctx().request_repaint_after_secs(0.1);
                }
                Err(std::sync::mpsc::TryRecvError::Disconnected) => self.system = None,
            }
        }
        let label = ui.label("Path of the file");
        let field = ui.add(TextEdit::singleline(&mut self.typed).desired_width(420.0));
        let field = field.labelled_by(label.id);
        // Enter takes the focus from the field; that must be seen before it is given back.
        let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        if !field.has_focus() && self.system.is_none() && ui.memory(|m| m.focused().is_none()) {
            field.request_focus();
        }
        if !self.told.is_empty() {
            ui.small(self.told);
        }
        let mut done = None;
        ui.horizontal(|ui| {
            let go = if self.kind.writes() {
                "Write"
            } else {
                "Bring it in"
            };
            let ready = !self.typed.trim().is_empty();
            let go = ui
                .add_enabled(ready, eframe::egui::Button::new(go))
                .clicked();
            if go || (entered && ready) {
                done = Some(Some(self.path()));
            }
            if ui.button("Look for it…").clicked() && self.system.is_none() {
                self.ask_system();
            }
            if ui.button("Leave it").clicked() {
                done = Some(None);
            }
        });
        done
    }

    /// The path as typed.
    fn path(&self) -> PathBuf {
        PathBuf::from(self.typed.trim())
    }
}

/// Shows what is asked; gives the answer, after which nothing is asked any more.
pub fn dialog_ui(ctx: &Context, dialog: &mut Dialog, scene: Option<&Scene<'_>>) -> Option<Answer> {
    let mut answer = None;
    let mut over = ctx.input(|i| i.key_pressed(Key::Escape));
    let title = match dialog {
        Dialog::None => return None,
        Dialog::Path(asked) => asked.kind.title(),
        Dialog::Replace(..) => "There is such a file",
        Dialog::Unsaved(_) => "This show is not saved",
        Dialog::Band(_) => "Take a band",
        Dialog::Parts { doubled: false, .. } => "Hand the line over to",
        Dialog::Parts { doubled: true, .. } => "Let these double the line",
        Dialog::Line => "Take a line of the sketch",
        Dialog::Shape => "Take a shape",
        Dialog::Name(named) => match named.kind {
            MarkKind::Peak => "A peak of the show",
            MarkKind::Crest => "A crest of the show",
            MarkKind::Hush => "A hush of the show",
        },
        Dialog::CameBack(_) => "What was changed elsewhere",
        Dialog::Find(_) => "Find an action",
        Dialog::Keys => "Sheet of keys",
    };
    let window = Window::new(title)
        .collapsible(false)
        .resizable(false)
        .anchor(Align2::CENTER_CENTER, vec2(0.0, -40.0));
    window.show(ctx, |ui| match dialog {
        Dialog::None => {}
        Dialog::Path(asked) => match asked.ui(ui) {
            Some(Some(path)) => answer = Some(Answer::Path(asked.kind, path)),
            Some(None) => over = true,
            None => {}
        },
        Dialog::Replace(kind, path) => {
            ui.label(format!("{} is there already.", path.display()));
            ui.horizontal(|ui| {
                if ui.button("Replace it").clicked() {
                    answer = Some(Answer::Replace(*kind, path.clone()));
                }
                over |= ui.button("Keep it").clicked();
            });
        }
        Dialog::Unsaved(then) => unsaved_ui(ui, then, &mut answer, &mut over),
        Dialog::Band(typed) => band_ui(ui, typed, &mut answer, &mut over),
        Dialog::Parts { doubled, chosen } => {
            parts_ui(ui, scene, (*doubled, chosen), &mut answer, &mut over);
        }
        Dialog::Line => {
            for line in Line::ALL {
                if ui.button(line.word()).clicked() {
                    answer = Some(Answer::Line(line));
                }
            }
            over |= ui.button("Leave it").clicked();
        }
        Dialog::Shape => shapes_ui(ui, &mut answer, &mut over),
        Dialog::Name(named) => name_ui(ui, named, &mut answer, &mut over),
        Dialog::CameBack(back) => back_ui(ui, back, &mut answer, &mut over),
        Dialog::Find(typed) => find_ui(ui, typed, &mut answer),
        Dialog::Keys => keys_ui(ui, &mut answer, &mut over),
    });
    if answer.is_some() || over {
        *dialog = Dialog::None;
    }
    answer
}

/// What was changed, and whether to lock it.
fn back_ui(ui: &mut Ui, back: &CameBack, answer: &mut Option<Answer>, over: &mut bool) {
    ui.set_width(460.0);
    let most = (ui.ctx().content_rect().height() - 260.0).clamp(80.0, 380.0);
    ScrollArea::vertical().max_height(most).show(ui, |ui| {
        for text in &back.told {
            ui.label(text);
        }
    });
    ui.separator();
    ui.label(match back.bars {
        0 => "Nothing is locked by it; then solve, so that the new bars are scored.".to_owned(),
        1 => "One bar of a part is locked by it; then solve, so that the rest fits.".to_owned(),
        n => format!("{n} bars of parts are locked by it; then solve, so that the rest fits."),
    });
    ui.horizontal(|ui| {
        if ui.button("Take it so").clicked() {
            *answer = Some(Answer::CameBack(Box::new(back.clone())));
        }
        *over |= ui.button("Leave it").clicked();
    });
}

fn unsaved_ui(ui: &mut Ui, then: &Then, answer: &mut Option<Answer>, over: &mut bool) {
    ui.label("What you did since the last save would be gone.");
    ui.horizontal(|ui| {
        if ui.button("Save first").clicked() {
            *answer = Some(Answer::SaveThen(then.clone()));
        }
        if ui.button("Let it go").clicked() {
            *answer = Some(Answer::Leave(then.clone()));
        }
        *over |= ui.button("Stay here").clicked();
    });
}

fn band_ui(ui: &mut Ui, typed: &mut String, answer: &mut Option<Answer>, over: &mut bool) {
    ui.label("Bands that come along:");
    for name in preset_names() {
        if ui.button(name).clicked() {
            *answer = Some(Answer::Band(name.to_owned()));
        }
    }
    let label = ui.label("or the path of a roster file (TOML or CSV):");
    ui.add(TextEdit::singleline(typed).desired_width(360.0))
        .labelled_by(label.id);
    ui.horizontal(|ui| {
        if ui.button("Take it").clicked() && !typed.trim().is_empty() {
            *answer = Some(Answer::Band(typed.trim().to_owned()));
        }
        if ui.button("Look for it…").clicked() {
            *answer = Some(Answer::LookFor(Kind::Band));
        }
        *over |= ui.button("Leave it").clicked();
    });
}

fn parts_ui(
    ui: &mut Ui,
    scene: Option<&Scene<'_>>,
    (doubled, chosen): (bool, &mut BTreeSet<PartId>),
    answer: &mut Option<Answer>,
    over: &mut bool,
) {
    let Some(scene) = scene else {
        *over = true;
        return;
    };
    ScrollArea::vertical().max_height(360.0).show(ui, |ui| {
        for (id, part) in scene.look.document.band.ids() {
            let mut is_chosen = chosen.contains(&id);
            if ui.checkbox(&mut is_chosen, &part.name).changed() {
                if is_chosen {
                    chosen.insert(id);
                } else {
                    chosen.remove(&id);
                }
            }
        }
    });
    ui.horizontal(|ui| {
        let go = if doubled {
            "Let them double"
        } else {
            "Hand over"
        };
        let go = eframe::egui::Button::new(go);
        if ui.add_enabled(!chosen.is_empty(), go).clicked() {
            *answer = Some(Answer::Parts(chosen.iter().copied().collect(), doubled));
        }
        *over |= ui.button("Leave it").clicked();
    });
}

fn find_ui(ui: &mut Ui, typed: &mut String, answer: &mut Option<Answer>) {
    let label = ui.label("Words of what it is called or does");
    let field = ui.add(TextEdit::singleline(typed).desired_width(420.0));
    let field = field.labelled_by(label.id);
    let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    if ui.memory(|m| m.focused().is_none()) {
        field.request_focus();
    }
    let wanted = typed.to_lowercase();
    let said = |a: &&super::actions::About| {
        let text = format!("{} {} {}", a.menu.name(), a.name, a.what).to_lowercase();
        wanted.split_whitespace().all(|w| text.contains(w))
    };
    let found: Vec<_> = ACTIONS.iter().filter(said).collect();
    if let Some(first) = found.first().filter(|_| entered) {
        *answer = Some(Answer::Do(first.action));
    }
    ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
        for about in found {
            let key = about.key.map(|k| ui.ctx().format_shortcut(&k));
            let button = eframe::egui::Button::new(about.name)
                .shortcut_text(key.unwrap_or_default())
                .min_size(vec2(420.0, 0.0));
            if ui.add(button).on_hover_text(about.what).clicked() {
                *answer = Some(Answer::Do(about.action));
            }
        }
    });
}

fn keys_ui(ui: &mut Ui, answer: &mut Option<Answer>, over: &mut bool) {
    ui.horizontal(|ui| {
        if ui
            .button("Write it as a page to print")
            .on_hover_text("An HTML page; where it goes is asked")
            .clicked()
        {
            *answer = Some(Answer::LookFor(Kind::Keys));
        }
        *over |= ui.button("Close").clicked();
    });
    ui.separator();
    ScrollArea::vertical().max_height(440.0).show(ui, |ui| {
        ui.spacing_mut().item_spacing.y = 2.0;
        for menu in Menu::ALL {
            ui.add_space(6.0);
            ui.label(RichText::new(menu.name()).strong());
            let grid = Grid::new(menu.name()).num_columns(2).min_col_width(130.0);
            grid.show(ui, |ui| {
                for about in ACTIONS.iter().filter(|a| a.menu == menu) {
                    let key = about.key.map(|k| ui.ctx().format_shortcut(&k));
                    ui.label(key.unwrap_or_default());
                    ui.label(about.name).on_hover_text(about.what);
                    ui.end_row();
                }
            });
        }
    });
}

/// What a question of the session becomes.
#[must_use]
pub fn asked(ask: Ask, suggested: String, ask_system: bool) -> Dialog {
    match ask {
        Ask::Path(kind) => Dialog::Path(PathDialog::new(kind, suggested, ask_system)),
        Ask::Replace(kind, path) => Dialog::Replace(kind, path),
        Ask::Unsaved(then) => Dialog::Unsaved(*then),
    }
}
