//! How long the sheet takes: the notation of a whole show, of a changed note, and one frame of scrolling.
//!
//! The show is the demo four times over, 256 bars, for the concert band: 33 parts and the sketch, 35 staves.
//! A frame has to take less than 8 ms of our own work: layout and shapes, without what the toolkit and the
//! graphics driver do with them.

#![allow(
    clippy::expect_used,
    reason = "a benchmark of a wrong answer is worth nothing: it ends"
)]

#[path = "repeated.rs"]
mod repeated;

use bandwright::app::fonts;
use bandwright::app::scene::Scene;
use bandwright::app::sheet::engraved::Engraved;
use bandwright::app::sheet::heads::heads_ui;
use bandwright::app::sheet::pointing::Drag;
use bandwright::app::sheet::score::{Shown, score_ui};
use bandwright::app::theme::{Palette, apply};
use bandwright::app::view::View;
use bandwright::band::preset;
use bandwright::project::standing::{Ask, Look, Standing};
use bandwright::project::{Document, SketchFile};
use bandwright::score::Draft;
use bandwright::sound::heard::Heard;
use bandwright::voicing::Effort;
use divan::{Bencher, black_box};
use eframe::egui::{Context, RawInput, Rect, pos2};
use repeated::sketch;
use std::sync::{Arc, OnceLock};

fn main() {
    divan::main();
}

/// The show, solved once.
fn show() -> &'static Look {
    static SHOW: OnceLock<Look> = OnceLock::new();
    SHOW.get_or_init(|| {
        let file = SketchFile {
            name: "four times".to_owned(),
            bytes: sketch(4),
            ..SketchFile::default()
        };
        let band = preset("concert").expect("a band that comes along");
        assert_eq!(band.parts.len(), 33);
        let document = Document::new("Show", file, band);
        let mut standing = Standing::of(&document).expect("the sketch reads");
        let found = standing.solve(&Ask::Afresh, &Effort::default(), &mut |_| {});
        let solved = Document {
            draft: Arc::new(found.draft),
            ..document
        };
        standing.follow(&solved).expect("the sketch reads");
        standing.look().clone()
    })
}

fn engraved() -> Engraved {
    let mut engraved = Engraved::default();
    engraved.renew(show(), &show().document.draft, true);
    assert_eq!(engraved.bars(), 256);
    engraved
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn notation_of_the_show(bencher: Bencher<'_, '_>) {
    let _ = show();
    bencher.bench_local(engraved);
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn notation_after_a_changed_note(bencher: Bencher<'_, '_>) {
    let look = show();
    let mut engraved = engraved();
    let mut other: Draft = (*look.document.draft).clone();
    let note = other.lines[5].notes.get_mut(40).expect("the part plays");
    note.pitch = note
        .pitch
        .up(bandwright::music::Interval(2))
        .expect("not at the end");
    let mut turn = false;
    bencher.bench_local(move || {
        turn = !turn;
        let draft = if turn { &other } else { &look.document.draft };
        engraved.renew(look, black_box(draft), true);
    });
}

#[divan::bench(args = [0.6, 2.6, 5.0, 12.6], sample_count = 60, sample_size = 1)]
fn a_frame_of_scrolling(bencher: Bencher<'_, '_>, space: f32) {
    let look = show();
    let engraved = engraved();
    let ctx = Context::default();
    fonts::install(&ctx);
    apply(&ctx, false, 1.0);
    let mut view = View::default();
    view.fit(1.0, space);
    let mut drag = Drag::None;
    bencher.bench_local(move || {
        view.left = (view.left + 3.0) % (engraved.width() - 200.0).max(1.0);
        let input = RawInput {
            screen_rect: Some(Rect::from_min_max(pos2(0.0, 0.0), pos2(1360.0, 860.0))),
            ..RawInput::default()
        };
        let heard = Heard::default();
        let scene = Scene {
            palette: Palette::of(false),
            view: &view,
            look,
            judged: (&look.document.draft, &look.judged),
            now: &look.document,
            selection: None,
            sketch_notes: &[],
            point: None,
            heard: &heard,
            line: None,
        };
        let shown = Shown {
            scene: &scene,
            engraved: &engraved,
            draft: &look.document.draft,
            changed: None,
        };
        let mut wants = Vec::new();
        ctx.run_ui(input, |ui| {
            let heads = ui.max_rect().with_max_x(170.0);
            let place = score_ui(ui, &shown, &mut drag, &mut wants);
            heads_ui(ui, heads, &shown, &place, &mut wants);
        })
    });
}
