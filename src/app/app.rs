//! The window itself: what comes in from the system is given to the session, what there is to see is drawn.

use super::actions::Action;
use super::bars::{bottom_ui, top_ui};
use super::dialogs::{Answer, Dialog, asked, dialog_ui};
use super::key_page::key_page;
use super::keys::pressed;
use super::listen::bar::listen_bar_ui;
use super::listen::device::With;
use super::panels::findings::{FindingsView, findings_ui};
use super::panels::roster::{RosterView, roster_ui};
use super::panels::shape::{ShapeView, shape_ui};
use super::panels::sketch::sketch_ui;
use super::panels::ways::ways_ui;
use super::panels::why::why_ui;
use super::recent::Recent;
use super::recover::recovered;
use super::ribbon::{RibbonView, ribbon_ui};
use super::session::{Ask, Follow, Kind, Session, Then, demo, in_words};
use super::sheet::heads::{WIDTH, heads_ui};
use super::sheet::lanes;
use super::sheet::marks::selection_in_words;
use super::sheet::pointing::Drag;
use super::sheet::score::{Shown, score_ui};
use super::solve_button::solve_button;
use super::start::SIZE;
use super::theme::{Palette, apply};
use super::view::Panel;
use super::wants::Want;
use super::worker::Wake;
use super::{fonts, welcome};
use crate::cli::files;
use crate::export::{Existing, safe_write};
use crate::plan::timeline::read_timeline;
use crate::project::OpenProject;
use crate::project::file::EXTENSION;
use eframe::egui::{
    CentralPanel, Context, Frame, Margin, Panel as Side, Popup, Rect, ScrollArea, Stroke, Ui,
    UiBuilder, ViewportCommand,
};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// How wide the panel at the right is, in points at the usual text size.
const PANEL: f32 = 344.0;

/// The window.
pub struct App {
    /// The open show.
    pub session: Session,
    /// What is asked.
    pub dialog: Dialog,
    findings: FindingsView,
    roster: RosterView,
    shape: ShapeView,
    drag: Drag,
    ribbon: RibbonView,
    /// Whether the three sentences of the first start are shown.
    pub welcome: bool,
    folder: PathBuf,
    recent: Recent,
    /// Whether the system is asked for paths; tests type them.
    pub ask_system: bool,
    closing: bool,
    /// What is done once the show was saved under a name.
    after_save: Option<Then>,
    styled: bool,
    wake: Wake,
    size: (f32, f32),
}

/// What the window begins with.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Begin {
    /// A show to open; the demo where there is none.
    pub show: Option<PathBuf>,
    /// A sketch to bring in.
    pub sketch: Option<PathBuf>,
    /// The folder of the journals of shows that were never saved.
    pub folder: PathBuf,
}

impl App {
    /// A window.
    ///
    /// # Errors
    /// One sentence, where the show cannot be opened or the folder of journals cannot be written.
    pub fn new(ctx: &Context, begin: &Begin) -> Result<Self, String> {
        fonts::install(ctx);
        let waker = ctx.clone();
        let wake: Wake = Arc::new(move || waker.request_repaint());
        let mut recent = Recent::in_folder(&begin.folder);
        let mut told = Vec::new();
        let mut taken_up = false;
        let open = match &begin.show {
            Some(path) => {
                let (open, opened) = OpenProject::open(path).map_err(|e| e.to_string())?;
                told = in_words(opened);
                recent.opened(path);
                open
            }
            None => match recovered(&begin.folder, begin.sketch.is_some(), &mut told) {
                Some(open) => {
                    taken_up = true;
                    open
                }
                None => OpenProject::untitled(demo()?, &begin.folder).map_err(|e| e.to_string())?,
            },
        };
        let mut session = Session::on(open, Arc::clone(&wake))
            .map_err(|e| format!("the system gives no thread to work beside the window: {e}"))?;
        let first = begin.show.is_none() && !taken_up;
        for text in told {
            session.say(text);
        }
        match &begin.sketch {
            Some(path) => session.bring_in_sketch(path),
            None if first => {
                session.comes_voiced = true;
                session.solve_all();
            }
            None => {}
        }
        Ok(Self {
            session,
            dialog: Dialog::None,
            findings: FindingsView::default(),
            roster: RosterView::default(),
            shape: ShapeView::default(),
            drag: Drag::None,
            ribbon: RibbonView::default(),
            welcome: first && begin.sketch.is_none(),
            folder: begin.folder.clone(),
            recent,
            ask_system: true,
            closing: false,
            after_save: None,
            styled: false,
            wake,
            size: (1200.0, 700.0),
        })
    }

    /// What is done between frames: keys, files that were dropped, what the work told.
    pub fn logic(&mut self, ctx: &Context) {
        if !self.styled {
            apply(ctx, self.session.view.dark, self.session.view.text());
            self.styled = true;
            fit_the_screen(ctx);
        }
        self.session.tick();
        let dropped = ctx.input(|i| i.raw.dropped_files.clone());
        for file in dropped {
            self.take_file(ctx, file.path());
        }
        if ctx.input(|i| i.viewport().close_requested()) && !self.closing {
            let then = self.session.guarded(Then::Quit);
            ctx.send_viewport_cmd(ViewportCommand::CancelClose);
            self.follow(ctx, then);
        }
        self.keys(ctx);
        // Whoever has begun to work has read what to do first.
        self.welcome &= self.session.open.project.is_saved() || self.session.solving.is_some();
        if self.session.is_busy() {
            ctx.request_repaint_after(Duration::from_millis(60));
        }
    }

    /// A file that was dropped on the window: what it is, its name tells.
    fn take_file(&mut self, ctx: &Context, path: &Path) {
        let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase());
        let kind = match ending.as_deref() {
            Some(EXTENSION) => Kind::Open,
            Some("toml") if is_timeline(path) => Kind::Timeline,
            Some("toml" | "csv") => Kind::Band,
            Some("sf2") => Kind::Sounds,
            _ => Kind::Sketch,
        };
        self.path(ctx, kind, path, Existing::Keep);
    }

    /// Keys of the table, where no field takes what is typed.
    fn keys(&mut self, ctx: &Context) {
        // An open menu or list takes its own keys, Escape among them.
        if !matches!(self.dialog, Dialog::None) || Popup::is_any_open(ctx) {
            return;
        }
        for action in pressed(ctx) {
            self.act(ctx, action);
        }
    }

    /// Does an action.
    pub fn act(&mut self, ctx: &Context, action: Action) {
        if let Some(follow) = self.session.act(action) {
            self.follow(ctx, follow);
        }
    }

    fn follow(&mut self, ctx: &Context, follow: Follow) {
        match follow {
            Follow::Ask(ask) => {
                let suggested = self.suggested(&ask);
                self.dialog = asked(ask, suggested, self.ask_system);
            }
            Follow::Then(then) => self.then(ctx, then, true),
            Follow::ChooseBand => self.dialog = Dialog::Band(String::new()),
            Follow::ChooseParts { doubled } => {
                self.dialog = Dialog::Parts {
                    doubled,
                    chosen: Default::default(),
                };
            }
            Follow::ChooseLine => self.dialog = Dialog::Line,
            Follow::ChooseShape => self.dialog = Dialog::Shape,
            Follow::NameMark(named) => self.dialog = Dialog::Name(named),
            Follow::CameBack(back) => self.dialog = Dialog::CameBack(back),
            Follow::FindAction => self.dialog = Dialog::Find(String::new()),
            Follow::KeySheet => self.dialog = Dialog::Keys,
            Follow::Fit { one_bar } => self.fit(one_bar),
            Follow::Restyle => apply(ctx, self.session.view.dark, self.session.view.text()),
        }
    }

    fn suggested(&self, ask: &Ask) -> String {
        let title = &self.session.document().title;
        match ask {
            Ask::Path(Kind::SaveAs) => format!("{title}.bandwright"),
            Ask::Path(Kind::Midi) => format!("{title}.mid"),
            Ask::Path(Kind::Score) => format!("{title}.musicxml"),
            Ask::Path(Kind::Parts) => format!("{title} parts"),
            Ask::Path(Kind::Sheet) => format!("{title} director.html"),
            Ask::Path(Kind::Practice) => format!("{title} practice.html"),
            Ask::Path(Kind::TimelineOut) => format!("{title}.toml"),
            Ask::Path(Kind::ShapePicture) => format!("{title}.svg"),
            Ask::Path(Kind::Keys) => "keys.html".to_owned(),
            _ => String::new(),
        }
    }

    /// Does what was asked about; unsaved work is kept in the journal, or dropped.
    fn then(&mut self, ctx: &Context, then: Then, keep: bool) {
        match then {
            Then::Quit => {
                self.closing = true;
                self.session.end(keep);
                ctx.send_viewport_cmd(ViewportCommand::Close);
            }
            Then::New => self.new_show(keep),
            Then::OpenPath(path) => self.open_path(&path, keep),
        }
    }

    /// An empty sheet for the same band.
    fn new_show(&mut self, keep: bool) {
        let document = crate::project::Document::new(
            "New show",
            crate::project::SketchFile {
                name: "no sketch yet".to_owned(),
                bytes: super::session::EMPTY.to_vec(),
                ..Default::default()
            },
            (*self.session.document().band).clone(),
        );
        let next = OpenProject::untitled(document, &self.folder)
            .map_err(|e| e.to_string())
            .and_then(|open| Session::on(open, Arc::clone(&self.wake)).map_err(|e| e.to_string()));
        match next {
            Ok(next) => {
                let view = self.session.view;
                let mut before = std::mem::replace(&mut self.session, next);
                self.session.listen_like(&mut before);
                before.end(keep);
                self.session.view = view;
                self.session.view.panel = Panel::Sketch;
                self.session
                    .say("an empty sheet: bring in a sketch (Ctrl+I)");
            }
            Err(error) => self.session.say(error),
        }
    }

    fn open_path(&mut self, path: &Path, keep: bool) {
        let wake = Arc::clone(&self.wake);
        match self.session.open_show(path, wake, keep) {
            Ok(()) => self.recent.opened(path),
            Err(error) => self.session.say(error),
        }
    }

    fn fit(&mut self, one_bar: bool) {
        let engraved = &self.session.engraved;
        let (width, height) = self.size;
        let bar = self
            .session
            .selection
            .as_ref()
            .map(|s| s.bars.0)
            .or_else(|| engraved.bar_at(self.session.view.left));
        let span = bar.and_then(|b| engraved.bar_span(b));
        if one_bar {
            if let Some((from, to)) = span {
                self.session.view.fit(to - from + 16.0, width);
                self.session.view.left = from;
            }
        } else {
            let all = (engraved.width() + 2.0, lanes::height(engraved.lanes()));
            self.session.view.fit_whole(all, (width, height));
        }
    }

    fn answer(&mut self, ctx: &Context, answer: Answer) {
        match answer {
            Answer::Path(kind, path) => self.path(ctx, kind, &path, Existing::Keep),
            Answer::Replace(kind, path) => self.path(ctx, kind, &path, Existing::Replace),
            Answer::SaveThen(then) => {
                if self.session.open.path().is_some() {
                    if self.session.save() {
                        self.then(ctx, then, true);
                    }
                } else {
                    self.follow(ctx, Follow::Ask(Ask::Path(Kind::SaveAs)));
                    self.after_save = Some(then);
                }
            }
            Answer::Leave(then) => self.then(ctx, then, false),
            Answer::Band(name) => self.session.bring_in_band(&name),
            Answer::Parts(parts, doubled) => self.session.hand_over(&parts, doubled),
            Answer::Line(line) => self.session.take_line(line),
            Answer::Shape(word) => self.session.take_shape(&word),
            Answer::CameBack(back) => self.session.take_back(*back),
            Answer::Name(named) => self.session.name_mark(&named),
            Answer::Do(action) => self.act(ctx, action),
            Answer::LookFor(kind) => self.follow(ctx, Follow::Ask(Ask::Path(kind))),
        }
    }

    fn write_keys(&mut self, ctx: &Context, path: &Path, existing: Existing) {
        let page = key_page(ctx.os().is_mac());
        let told = match safe_write(path, page.as_bytes(), existing) {
            Ok(()) => format!("the sheet of keys is in {}", path.display()),
            Err(error) => error.to_string(),
        };
        self.session.say(told);
    }

    fn path(&mut self, ctx: &Context, kind: Kind, path: &Path, existing: Existing) {
        let path = &with_ending(kind, path);
        if kind.writes() && existing == Existing::Keep && path.exists() {
            self.dialog = Dialog::Replace(kind, path.to_owned());
            return;
        }
        match kind {
            Kind::Open => {
                if let Some(follow) = self.session.opening(path) {
                    self.follow(ctx, follow);
                }
            }
            Kind::SaveAs => {
                if self.session.save_as(path, existing) {
                    self.recent.opened(path);
                    if let Some(then) = self.after_save.take() {
                        self.then(ctx, then, true);
                    }
                }
            }
            Kind::Sketch => self.session.bring_in_sketch(path),
            Kind::Back => {
                if let Some(follow) = self.session.draft_back(path) {
                    self.follow(ctx, follow);
                }
            }
            Kind::Band => self.session.bring_in_band(&path.to_string_lossy()),
            Kind::Midi => {
                self.session.send_out_midi(path, existing);
            }
            Kind::Score | Kind::Parts => self.session.send_out_score(kind, path, existing),
            Kind::Sheet => self.session.send_out_sheet(path, existing),
            Kind::Practice => self.session.send_out_practice(path, existing),
            Kind::Timeline => self.session.bring_in_timeline(path),
            Kind::TimelineOut => self.session.send_out_timeline(path, existing),
            Kind::ShapePicture => self.session.send_out_shape(path, existing),
            Kind::Sounds => self
                .session
                .listening
                .play_with(With::Font(path.to_owned())),
            Kind::Keys => self.write_keys(ctx, path, existing),
        }
    }

    /// Draws the window.
    pub fn ui(&mut self, ui: &mut Ui) {
        let palette = Palette::of(self.session.view.dark);
        let mut wants = Vec::new();
        let bar = Frame::new()
            .fill(palette.top)
            .inner_margin(Margin::symmetric(12, 5));
        Side::top("top")
            .frame(bar)
            .show_separator_line(false)
            .show(ui, |ui| {
                top_ui(ui, &self.session, &self.recent, palette, &mut wants);
            });
        let line = Frame::new()
            .fill(palette.paper)
            .inner_margin(Margin::symmetric(12, 4));
        let selected = self.selected_in_words();
        Side::bottom("bottom").frame(line).show(ui, |ui| {
            bottom_ui(ui, &self.session, palette, &selected, &mut wants);
        });
        let ground = Frame::new().fill(palette.paper);
        let line = line.inner_margin(Margin::symmetric(12, 3));
        Side::bottom("listen").frame(line).show(ui, |ui| {
            listen_bar_ui(ui, &self.session, palette, &mut wants);
        });
        Side::top("ribbon").frame(ground).show(ui, |ui| {
            if let Some(scene) = self.session.scene() {
                let sheet = (&self.session.engraved, self.session.seen.0);
                ribbon_ui(ui, &scene, sheet, &mut self.ribbon, &mut wants);
            }
        });
        let panel = Frame::new()
            .fill(palette.paper)
            .inner_margin(Margin::symmetric(14, 10));
        let width = PANEL * self.session.view.text().min(1.3);
        Side::right("panel")
            .frame(panel)
            .default_size(width)
            .size_range(240.0..=560.0)
            .show(ui, |ui| self.panel_ui(ui, &mut wants));
        CentralPanel::default().frame(ground).show(ui, |ui| {
            self.sheet_ui(ui, &mut wants);
        });
        let scene = self.session.scene();
        let answer = dialog_ui(ui.ctx(), &mut self.dialog, scene.as_ref());
        let ctx = ui.ctx().clone();
        match answer {
            Some(answer) => self.answer(&ctx, answer),
            None if matches!(self.dialog, Dialog::None) => self.after_save = None,
            None => {}
        }
        for want in wants {
            if let Some(follow) = self.session.want(want) {
                self.follow(&ctx, follow);
            }
        }
    }

    fn shown<'a>(&'a self, scene: &'a super::scene::Scene<'a>) -> Shown<'a> {
        Shown {
            scene,
            engraved: &self.session.engraved,
            draft: self.session.shown_draft(),
            changed: self.session.changed.as_ref(),
        }
    }

    fn selected_in_words(&self) -> String {
        self.session
            .scene()
            .map_or_else(String::new, |scene| selection_in_words(&self.shown(&scene)))
    }

    fn sheet_ui(&mut self, ui: &mut Ui, wants: &mut Vec<Want>) {
        let rect = ui.available_rect_before_wrap();
        let width = WIDTH * self.session.view.text();
        let split = rect.left() + width.min(rect.width() * 0.4);
        let heads = Rect::from_min_max(rect.min, [split, rect.bottom()].into());
        let staves = Rect::from_min_max([split, rect.top()].into(), rect.max);
        let mut drag = self.drag;
        let place = {
            let Some(scene) = self.session.scene() else {
                ui.centered_and_justified(|ui| ui.label("reading the sketch"));
                return;
            };
            let shown = self.shown(&scene);
            let mut inner = ui.new_child(UiBuilder::new().max_rect(staves));
            let place = score_ui(&mut inner, &shown, &mut drag, wants);
            heads_ui(ui, heads, &shown, &place, wants);
            place
        };
        self.drag = drag;
        self.session.seen = (
            (staves.right() - place.bars_left) / place.space,
            place.rect.height() / place.space_down,
        );
        self.size = (staves.width() - 8.0, place.rect.height());
        if self.welcome && welcome::welcome_ui(ui, staves, Palette::of(self.session.view.dark)) {
            self.welcome = false;
        }
    }

    fn panel_ui(&mut self, ui: &mut Ui, wants: &mut Vec<Want>) {
        let palette = Palette::of(self.session.view.dark);
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 0.0;
            ui.spacing_mut().button_padding.x = 3.0;
            for panel in Panel::ALL {
                let is_shown = self.session.view.panel == panel;
                if ui.selectable_label(is_shown, panel.name()).clicked() {
                    wants.push(Want::Panel(panel));
                }
            }
        });
        let rect = ui.available_rect_before_wrap();
        ui.painter()
            .hline(rect.x_range(), rect.top(), Stroke::new(1.0, palette.rule));
        ui.add_space(8.0);
        solve_button(ui, &mut self.session, palette, wants);
        let at = self.session.way_place();
        let Some(scene) = self.session.scene() else {
            return;
        };
        let (findings, roster) = (&mut self.findings, &mut self.roster);
        let shape = &mut self.shape;
        ScrollArea::vertical()
            .auto_shrink([false, false])
            .id_salt(self.session.view.panel.name())
            .show(ui, |ui| match self.session.view.panel {
                Panel::Why => why_ui(ui, &scene, self.session.why.as_deref(), wants),
                Panel::Ways => ways_ui(ui, &scene, (at, self.session.shown_way), wants),
                Panel::Findings => {
                    let opened = self.session.opened.as_ref();
                    findings_ui(ui, &scene, findings, opened, wants);
                }
                Panel::Sketch => sketch_ui(ui, &scene, wants),
                Panel::Roster => roster_ui(ui, &scene, roster, wants),
                Panel::Timeline => shape_ui(ui, &scene, shape, wants),
            });
    }
}

/// On a small screen the system's own bars leave no room for the size that is asked for at first.
fn fit_the_screen(ctx: &Context) {
    let screen = ctx.input(|i| i.viewport().monitor_size);
    if screen.is_some_and(|s| s.x < SIZE[0] + 40.0 || s.y < SIZE[1] + 80.0) {
        ctx.send_viewport_cmd(ViewportCommand::Maximized(true));
    }
}

/// Whether a file holds a timeline, so that it is not taken for a roster.
fn is_timeline(path: &Path) -> bool {
    let text = files::text(path, "timeline");
    text.is_ok_and(|text| read_timeline(&text).is_ok())
}

/// A path with the ending of its kind, where a file is to be written.
fn with_ending(kind: Kind, path: &Path) -> PathBuf {
    let endings = kind.endings().1;
    let Some(ending) = endings.first().filter(|_| kind.writes()) else {
        return path.to_owned();
    };
    let own = path.extension();
    let has = own.is_some_and(|own| endings.iter().any(|e| own.eq_ignore_ascii_case(e)));
    if has {
        return path.to_owned();
    }
    let mut name = path.as_os_str().to_owned();
    name.push(".");
    name.push(ending);
    PathBuf::from(name)
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        Self::logic(self, ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        Self::ui(self, ui);
    }

    fn on_exit(&mut self, _gl: Option<&eframe::glow::Context>) {
        if !self.closing {
            self.session.end(true);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_has_the_ending_of_its_kind() {
        let show = |name: &str| with_ending(Kind::SaveAs, Path::new(name));
        assert_eq!(
            show("a/Fall show 2.1"),
            Path::new("a/Fall show 2.1.bandwright")
        );
        assert_eq!(show("b.bandwright"), Path::new("b.bandwright"));
        assert_eq!(with_ending(Kind::Sketch, Path::new("c")), Path::new("c"));
    }
}
