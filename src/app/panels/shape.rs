//! The shape of the show as a list: sections, peaks, points, silences, tempos, pauses and the notes of lanes, each to
//! be edited. It can be planned here in seconds before there is any music.

use super::parts::{faint, head, rule, says};
use crate::app::actions::Action;
use crate::app::scene::Scene;
use crate::app::shape_dialogs::curve;
use crate::app::wants::Want;
use crate::music::BarBeat;
use crate::plan::timeline::{AnyTimeline, MarkKind, Place, Way};
use crate::project::work::{Entry, EntryEdit, EntryKind, edit_entries, entries, typed_length};
use eframe::egui::{Button, ComboBox, DragValue, RichText, Sense, TextEdit, Ui, vec2};

/// What is being typed in the panel.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct ShapeView {
    /// The entry that is open.
    open: Option<Open>,
    /// Name and length of the whole, while they are typed.
    whole: Option<(String, String)>,
    /// The last thing that was refused.
    refused: Option<String>,
}

/// An entry that is open.
#[derive(Clone, PartialEq, Debug)]
struct Open {
    /// Its index, and what it is so far; none for a new one.
    of: Option<(usize, Entry)>,
    /// What is typed.
    entry: Entry,
}

/// The panel.
pub fn shape_ui(ui: &mut Ui, scene: &Scene<'_>, view: &mut ShapeView, wants: &mut Vec<Want>) {
    let Some(timeline) = scene.now.timeline.as_ref() else {
        *view = ShapeView::default();
        none_ui(ui, scene, wants);
        return;
    };
    head(ui, scene, timeline.name());
    about_ui(ui, scene, timeline, wants);
    let mut asked = Vec::new();
    whole_ui(ui, view, timeline, &mut asked);
    if let Some(refused) = &view.refused {
        ui.colored_label(scene.palette.strain, refused);
    }
    for kind in EntryKind::ALL {
        kind_ui(ui, scene, view, (timeline, kind), &mut asked, wants);
    }
    for edit in asked {
        match edit_entries(timeline, &edit) {
            Ok((after, name)) => {
                *view = ShapeView::default();
                wants.push(Want::Timeline(name, Box::new(after)));
            }
            Err(refused) => view.refused = Some(refused.to_string()),
        }
    }
}

/// Where there is no timeline yet.
fn none_ui(ui: &mut Ui, scene: &Scene<'_>, wants: &mut Vec<Want>) {
    head(ui, scene, "The shape of the show");
    let music = scene.look.course.bars() > 0;
    faint(
        ui,
        scene,
        if music {
            "The show goes as the sketch was played. Begin a timeline, and say where it is to peak, where it goes quiet."
        } else {
            "There is no music yet. Plan the show in seconds; when a sketch comes in, the plan is laid on its bars."
        },
    );
    ui.add_space(4.0);
    let begin = if music {
        "Begin as the sketch goes"
    } else {
        "Plan in seconds"
    };
    if ui.button(begin).clicked() {
        wants.push(Want::BeginPlan);
    }
    for action in [Action::TakeShape, Action::BringInTimeline] {
        let about = action.about();
        if ui.button(about.name).on_hover_text(about.what).clicked() {
            wants.push(Want::Do(action));
        }
    }
}

/// The curve in small, what it is for, what its places are.
fn about_ui(ui: &mut Ui, scene: &Scene<'_>, timeline: &AnyTimeline, wants: &mut Vec<Want>) {
    let size = vec2(ui.available_width().min(360.0), 64.0);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let (wanted, end) = match timeline {
        AnyTimeline::Bars(t) => (t.curve(), t.end.along(t.meter)),
        AnyTimeline::Seconds(t) => (t.curve(), t.end.along(t.meter)),
        AnyTimeline::Shares(t) => (t.curve(), t.end.along(t.meter)),
    };
    curve(
        ui.painter(),
        rect.shrink(2.0),
        (&wanted, end),
        scene.palette.ink,
    );
    if !timeline.note().trim().is_empty() {
        faint(ui, scene, timeline.note().trim());
    }
    let places = match timeline {
        AnyTimeline::Bars(_) => return,
        AnyTimeline::Seconds(_) => "Its places are minutes and seconds.",
        AnyTimeline::Shares(_) => "Its places are hundredths of the whole.",
    };
    faint(ui, scene, places);
    let music = scene.look.course.bars() > 0;
    let lay = ui.add_enabled(music, Button::new("Lay it on the bars"));
    let lay = lay.on_hover_text("Give every place the bar that it falls on in this music");
    if lay
        .on_disabled_hover_text("There is no music yet")
        .clicked()
    {
        wants.push(Want::LayOnBars);
    }
}

/// What the whole is called, and how long it is.
fn whole_ui(ui: &mut Ui, view: &mut ShapeView, timeline: &AnyTimeline, asked: &mut Vec<EntryEdit>) {
    let now = (timeline.name().to_owned(), typed_length(timeline));
    let mut typed = view.whole.clone().unwrap_or_else(|| now.clone());
    let named = field(ui, "Its name", &mut typed.0);
    // Shares have no length but the whole.
    let until = match timeline {
        AnyTimeline::Bars(_) => field(ui, "Its last bar", &mut typed.1),
        AnyTimeline::Seconds(_) => field(ui, "How long it is", &mut typed.1),
        AnyTimeline::Shares(_) => false,
    };
    if named && typed.0 != now.0 {
        asked.push(EntryEdit::Name(typed.0.clone()));
    }
    if until && typed.1 != now.1 {
        asked.push(EntryEdit::Length(typed.1.clone()));
    }
    view.whole = (typed != now).then_some(typed);
}

/// All entries of a kind; the open one as fields.
fn kind_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    view: &mut ShapeView,
    (timeline, kind): (&AnyTimeline, EntryKind),
    asked: &mut Vec<EntryEdit>,
    wants: &mut Vec<Want>,
) {
    rule(ui, scene);
    ui.label(RichText::new(heading(kind)).strong());
    let mut shown = false;
    for (index, entry) in entries(timeline, kind).into_iter().enumerate() {
        let of = view.open.as_ref().and_then(|o| o.of.as_ref());
        if of.is_some_and(|(at, was)| *at == index && *was == entry) {
            open_ui(ui, scene, view, asked);
            shown = true;
            continue;
        }
        let line = line(&entry);
        let row = ui.selectable_label(false, RichText::new(&line).color(scene.palette.ink));
        if row.on_hover_text("Change it, and go there").clicked() {
            if let (AnyTimeline::Bars(_), Some(at)) = (timeline, BarBeat::from_typed(entry.at())) {
                wants.push(Want::GoTo(at.bar, None));
            }
            view.refused = None;
            let of = Some((index, entry.clone()));
            view.open = Some(Open { of, entry });
            shown = true;
        }
    }
    let of_kind = view.open.as_ref().filter(|o| o.entry.kind() == kind);
    let is_new = of_kind.is_some_and(|o| o.of.is_none());
    // An entry that was undone, or changed on the ribbon, is open no more.
    if of_kind.is_some() && !is_new && !shown {
        view.open = None;
    }
    if is_new {
        open_ui(ui, scene, view, asked);
    } else if ui.button(format!("Add a {}", kind.word())).clicked() {
        view.refused = None;
        let entry = kind.fresh(&here(scene, timeline));
        view.open = Some(Open { of: None, entry });
    }
}

/// The entry that is open, as fields.
fn open_ui(ui: &mut Ui, scene: &Scene<'_>, view: &mut ShapeView, asked: &mut Vec<EntryEdit>) {
    let Some(Open { of, entry }) = view.open.as_mut() else {
        return;
    };
    let edge = eframe::egui::Frame::new()
        .fill(scene.palette.card)
        .corner_radius(5)
        .inner_margin(8);
    let mut over = false;
    edge.show(ui, |ui| {
        ui.set_width(ui.available_width());
        let entered = fields(ui, entry);
        ui.horizontal_wrapped(|ui| {
            if ui.button("Keep it").clicked() || entered {
                asked.push(match of {
                    Some((index, _)) => EntryEdit::Change(*index, entry.clone()),
                    None => EntryEdit::Add(entry.clone()),
                });
            }
            if let Some((index, _)) = of
                && ui.button("Take it out").clicked()
            {
                asked.push(EntryEdit::Remove(entry.kind(), *index));
            }
            over = ui.button("Leave it").clicked();
        });
    });
    if over {
        view.open = None;
        view.refused = None;
    }
}

/// The fields of an entry; whether Enter was pressed in one.
fn fields(ui: &mut Ui, entry: &mut Entry) -> bool {
    match entry {
        Entry::Section { at, name } => field(ui, "The section", name) | field(ui, "begins at", at),
        Entry::Point { at, intensity, way } => {
            let entered = field(ui, "Where", at);
            number(ui, "Intensity", intensity, (0.0, 10.0));
            choice(ui, "How it goes on", way, &Way::ALL, Way::word);
            entered
        }
        Entry::Mark { kind, at, name } => {
            choice(ui, "What it is", kind, &MarkKind::ALL, MarkKind::word);
            field(ui, "Called", name) | field(ui, "Where", at)
        }
        Entry::Silence { from, to, name } => {
            field(ui, "Silent from", from) | field(ui, "to", to) | field(ui, "What for", name)
        }
        Entry::Tempo { at, beats, ramp } => {
            let entered = field(ui, "From", at);
            number(ui, "beats a minute", beats, (20.0, 320.0));
            ui.checkbox(ramp, "evenly to the next tempo");
            entered
        }
        Entry::Pause { at, seconds, name } => {
            let entered = field(ui, "The music stops at", at);
            number(ui, "for seconds", seconds, (0.0, 3600.0));
            field(ui, "What for", name) | entered
        }
        Entry::Note {
            lane,
            from,
            to,
            text,
        } => {
            field(ui, "Lane", lane)
                | field(ui, "from", from)
                | field(ui, "to", to)
                | field(ui, "What happens", text)
        }
    }
}

/// A field of words with its label; whether Enter was pressed in it.
fn field(ui: &mut Ui, name: &str, text: &mut String) -> bool {
    ui.horizontal(|ui| {
        let label = ui.label(name);
        let width = (ui.available_width() - 8.0).clamp(60.0, 220.0);
        let typed = ui.add(TextEdit::singleline(text).desired_width(width));
        let typed = typed.labelled_by(label.id);
        typed.lost_focus() && ui.input(|i| i.key_pressed(eframe::egui::Key::Enter))
    })
    .inner
}

fn number(ui: &mut Ui, name: &str, value: &mut f64, (least, most): (f64, f64)) {
    ui.horizontal(|ui| {
        let label = ui.label(name);
        let dragged = DragValue::new(value).range(least..=most).speed(0.1);
        ui.add(dragged.max_decimals(1)).labelled_by(label.id);
    });
}

fn choice<T: Copy + PartialEq>(
    ui: &mut Ui,
    name: &str,
    value: &mut T,
    all: &[T],
    word: fn(T) -> &'static str,
) {
    let shown = ComboBox::from_id_salt(name)
        .selected_text(word(*value))
        .show_ui(ui, |ui| {
            for one in all {
                ui.selectable_value(value, *one, word(*one));
            }
        });
    says(&shown.response, name, word(*value));
}

/// Where a new entry stands at first: at the first bar that is selected.
fn here(scene: &Scene<'_>, timeline: &AnyTimeline) -> String {
    let AnyTimeline::Bars(_) = timeline else {
        return String::new();
    };
    let bar = scene.selection.map(|s| s.bars.0);
    bar.map_or_else(String::new, |bar| bar.to_string())
}

const fn heading(kind: EntryKind) -> &'static str {
    match kind {
        EntryKind::Section => "Sections",
        EntryKind::Point => "The wanted curve",
        EntryKind::Mark => "Peaks, crests and hushes",
        EntryKind::Silence => "Silences",
        EntryKind::Tempo => "Tempos",
        EntryKind::Pause => "Pauses",
        EntryKind::Note => "Lanes: drill, flags, voice",
    }
}

/// An entry in a line.
fn line(entry: &Entry) -> String {
    let called = |name: &str| {
        if name.is_empty() {
            String::new()
        } else {
            format!(", {name}")
        }
    };
    match entry {
        Entry::Section { at, name } => format!("{at} · {name}"),
        Entry::Point { at, intensity, way } => {
            let intensity = (intensity * 10.0).round() / 10.0;
            format!("{at} · {intensity}, {}", way.word())
        }
        Entry::Mark { kind, at, name } => format!("{at} · {} `{name}`", kind.word()),
        Entry::Silence { from, to, name } => format!("{from} to {to}{}", called(name)),
        Entry::Tempo { at, beats, ramp } => {
            let beats = (beats * 10.0).round() / 10.0;
            let goes = if *ramp { ", on to the next" } else { "" };
            format!("{at} · {beats} a minute{goes}")
        }
        Entry::Pause { at, seconds, name } => {
            let seconds = (seconds * 10.0).round() / 10.0;
            format!("{at} · {seconds} s{}", called(name))
        }
        Entry::Note {
            lane,
            from,
            to,
            text,
        } => format!("{lane} · {from} to {to}: {text}"),
    }
}
