//! What a reviewer would mark: a list that can be narrowed, with what mends each.

use super::parts::{card, faint, head, rule, says};
use crate::app::scene::Scene;
use crate::app::session::Opened;
use crate::app::wants::Want;
use crate::project::PutAside;
use crate::project::aside::{is_aside, is_of, key};
use crate::review::{Finding, Severity};
use eframe::egui::{Align, Button, CollapsingHeader, ComboBox, Id, Layout, RichText, TextEdit, Ui};

/// So many findings are listed at once.
const MOST_LISTED: usize = 60;

/// How the list is narrowed, and what is being typed.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct FindingsView {
    /// Only this part.
    pub part: Option<String>,
    /// Only this severity.
    pub severity: Option<Severity>,
    /// Only in the selected bars.
    pub here: bool,
    /// The finding that is being put aside, with the reason as typed so far.
    aside: Option<(PutAside, String)>,
}

/// A severity in plain words.
#[must_use]
pub const fn severity_in_words(severity: Severity) -> &'static str {
    match severity {
        Severity::OutOfLimit => "cannot be played",
        Severity::Loss => "something is lost",
        Severity::Caution => "worth a look",
    }
}

/// The mark at a severity: strain is told by shape, not by colour alone.
const fn mark(severity: Severity) -> &'static str {
    match severity {
        Severity::OutOfLimit => "×",
        Severity::Loss => "–",
        Severity::Caution => "·",
    }
}

/// The panel.
pub fn findings_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    view: &mut FindingsView,
    opened: Option<&Opened>,
    wants: &mut Vec<Want>,
) {
    let all = &scene.look.judged.findings;
    let aside = &scene.now.aside;
    let open = all.iter().filter(|f| !is_aside(aside, f)).count();
    head(ui, scene, "Findings");
    faint(
        ui,
        scene,
        &format!("{open} open, {} put aside", aside.len()),
    );
    conflicts_ui(ui, scene);
    narrow_ui(ui, scene, view);
    aside_ui(ui, scene, wants);
    rule(ui, scene);
    let listed: Vec<(usize, &Finding)> = all
        .iter()
        .enumerate()
        .filter(|(_, f)| !is_aside(aside, f) && view.shows(scene, f))
        .collect();
    if listed.is_empty() {
        faint(ui, scene, "Nothing to mark here.");
    }
    for (index, finding) in listed.iter().take(MOST_LISTED) {
        let opened = opened.filter(|o| o.finding == **finding);
        finding_ui(ui, scene, view, (*index, finding), opened, wants);
    }
    if listed.len() > MOST_LISTED {
        let more = listed.len() - MOST_LISTED;
        faint(ui, scene, &format!("{more} more: narrow the list"));
    }
}

impl FindingsView {
    fn shows(&self, scene: &Scene<'_>, finding: &Finding) -> bool {
        let part = self
            .part
            .as_ref()
            .is_none_or(|p| finding.part.as_ref() == Some(p));
        let severity = self.severity.is_none_or(|s| finding.severity == s);
        let here = match (self.here, scene.selection) {
            (true, Some(s)) => s.bars.0 <= finding.place.bar && finding.place.bar <= s.bars.1,
            _ => true,
        };
        part && severity && here
    }
}

/// Where locks, remarks and the sketch contradict each other, with the least that would have to give way.
fn conflicts_ui(ui: &mut Ui, scene: &Scene<'_>) {
    let band = &scene.look.document.band;
    for conflict in scene.look.conflicts.iter() {
        ui.colored_label(scene.palette.strain, &conflict.says);
        let least = conflict.relaxation_in_words(band);
        if !least.is_empty() {
            faint(ui, scene, &format!("the least that would do: {least}"));
        }
    }
}

fn narrow_ui(ui: &mut Ui, scene: &Scene<'_>, view: &mut FindingsView) {
    ui.horizontal_wrapped(|ui| {
        let shown = view.part.clone().unwrap_or_else(|| "all parts".to_owned());
        let part = ComboBox::from_id_salt("findings of part")
            .selected_text(&shown)
            .width(110.0)
            .show_ui(ui, |ui| {
                ui.selectable_value(&mut view.part, None, "all parts");
                for part in &scene.look.document.band.parts {
                    let name = part.name.clone();
                    ui.selectable_value(&mut view.part, Some(name.clone()), name);
                }
            });
        says(&part.response, "Findings of part", &shown);
        let shown = view.severity.map_or("all kinds", severity_in_words);
        let kind = ComboBox::from_id_salt("findings of kind")
            .selected_text(shown)
            .width(120.0)
            .show_ui(ui, |ui| {
                ui.selectable_value(&mut view.severity, None, "all kinds");
                for severity in [Severity::OutOfLimit, Severity::Loss, Severity::Caution] {
                    let words = severity_in_words(severity);
                    ui.selectable_value(&mut view.severity, Some(severity), words);
                }
            });
        says(&kind.response, "Findings of kind", shown);
        ui.checkbox(&mut view.here, "selected bars");
    });
}

fn finding_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    view: &mut FindingsView,
    (index, finding): (usize, &Finding),
    opened: Option<&Opened>,
    wants: &mut Vec<Want>,
) {
    let who = finding.part.as_deref().unwrap_or("The band");
    let title = format!(
        "{} {who}, {}: {}",
        mark(finding.severity),
        finding.place,
        finding.message
    );
    let answer = card(ui, scene, &title, &finding.remedy);
    if answer
        .on_hover_text("Go there, and see what mends it")
        .clicked()
    {
        let band = &scene.look.document.band;
        let part = band
            .ids()
            .find(|(_, p)| Some(&p.name) == finding.part.as_ref());
        wants.push(Want::GoTo(finding.place.bar, part.map(|(id, _)| id)));
        wants.push(Want::OpenFinding(index));
    }
    if let Some(opened) = opened {
        opened_ui(ui, scene, view, opened, wants);
    }
    reason_ui(ui, view, finding, wants);
}

/// What can be done about the finding that is open.
fn opened_ui(
    ui: &mut Ui,
    scene: &Scene<'_>,
    view: &mut FindingsView,
    opened: &Opened,
    wants: &mut Vec<Want>,
) {
    match &opened.remedies {
        None => faint(ui, scene, "looking for what mends it"),
        Some(all) if all.is_empty() => faint(ui, scene, "nothing mends it at a press"),
        Some(all) => {
            for (remedy, about) in all.iter().enumerate() {
                let button = Button::new(RichText::new(&about.label).color(scene.palette.accent));
                let button = ui.add(button.wrap());
                if button
                    .on_hover_text("Do this now; it can be undone")
                    .clicked()
                {
                    wants.push(Want::Mend(remedy));
                }
            }
        }
    }
    if ui
        .button("Put aside…")
        .on_hover_text("Accept it, with a reason that is kept")
        .clicked()
    {
        view.aside = Some((key(&opened.finding), String::new()));
    }
}

fn reason_ui(ui: &mut Ui, view: &mut FindingsView, finding: &Finding, wants: &mut Vec<Want>) {
    let Some((put, reason)) = view.aside.as_mut().filter(|(put, _)| is_of(put, finding)) else {
        return;
    };
    let mut done = None;
    ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
        let label = ui.label("Reason");
        // An id of its own: what mends the finding may come in above while one types.
        let id = Id::unique("the reason why a finding is put aside");
        let field = TextEdit::singleline(reason).id(id).desired_width(150.0);
        let field = ui.add(field).labelled_by(label.id);
        let entered = field.lost_focus() && ui.input(|i| i.key_pressed(eframe::egui::Key::Enter));
        if ui.button("Put aside").clicked() || entered {
            done = Some(true);
        }
        if ui.button("Leave it").clicked() {
            done = Some(false);
        }
    });
    match done {
        Some(true) => {
            let reason = reason.trim().to_owned();
            wants.push(Want::PutAside(PutAside {
                reason,
                ..put.clone()
            }));
            view.aside = None;
        }
        Some(false) => view.aside = None,
        None => {}
    }
}

fn aside_ui(ui: &mut Ui, scene: &Scene<'_>, wants: &mut Vec<Want>) {
    let aside = &scene.now.aside;
    if aside.is_empty() {
        return;
    }
    let title = RichText::new(format!("What was put aside: {}", aside.len()));
    CollapsingHeader::new(title.color(scene.palette.ink))
        .id_salt("put aside")
        .show(ui, |ui| asides_ui(ui, scene, wants));
}

fn asides_ui(ui: &mut Ui, scene: &Scene<'_>, wants: &mut Vec<Want>) {
    for (index, put) in scene.now.aside.iter().enumerate() {
        let who = put.part.as_deref().unwrap_or("The band");
        let place = scene.look.song.meters.place(put.at);
        let message = scene.look.judged.findings.iter().find(|f| is_of(put, f));
        let message = message.map_or("is no longer found", |f| f.message.as_str());
        ui.label(format!("{who}, {place}: {message}"));
        if !put.reason.is_empty() {
            faint(ui, scene, &format!("because: {}", put.reason));
        }
        if ui
            .button("Bring back")
            .on_hover_text("List it among the open findings again")
            .clicked()
        {
            wants.push(Want::BringBack(index));
        }
    }
}
