//! The window without a display: every action by its name, work on the demo, files, the monkey.

mod actions;
mod hands;
mod listen;
mod monkey;
mod pictures;
mod shape;
mod shape_list;
mod work;

use bandwright::app::App;
use bandwright::app::actions::Action;
use bandwright::app::app::Begin;
use bandwright::app::listen::device::Devices;
use bandwright::app::listen::listening::Listening;
use bandwright::band::PartId;
use bandwright::music::BarNumber;
use bandwright::project::work::Selection;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

/// So long the work beside the window may take before a test fails.
pub const PATIENCE: Duration = Duration::from_secs(120);

/// A window with the demo, voiced.
pub struct Window {
    pub harness: Harness<'static, App>,
    pub folder: tempfile::TempDir,
}

impl Window {
    pub fn demo() -> Self {
        Self::with(|_| Begin::default())
    }

    pub fn with(begin: impl FnOnce(&std::path::Path) -> Begin) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut begin = begin(folder.path());
        begin.folder = folder.path().join("journals");
        let harness = Harness::builder()
            .with_size([1360.0, 860.0])
            .build_eframe(move |cc| {
                let mut app = App::new(&cc.egui_ctx, &begin).unwrap();
                app.ask_system = false;
                // Tests are silent, and do not look for a device.
                let none = Devices::of(Arc::new(|_| Err("no sound: this is a test".to_owned())));
                app.session.listening = Listening::new(none, Arc::new(|| {})).without_device();
                app
            });
        let mut window = Self { harness, folder };
        window.settle();
        window
    }

    /// Waits for the work beside the window, and draws.
    pub fn settle(&mut self) {
        assert!(
            self.app().session.settle(PATIENCE),
            "the work does not come to an end"
        );
        self.harness.run_steps(3);
        // All that can be acted on has a name.
        self.harness.check_accessibility();
    }

    pub fn app(&mut self) -> &mut App {
        self.harness.state_mut()
    }

    /// Does an action by its key, as an arranger would.
    pub fn press(&mut self, action: Action) {
        let key = action.about().key.unwrap();
        self.harness
            .key_press_modifiers(key.modifiers, key.logical_key);
        self.harness.run_steps(3);
    }

    /// Presses what has a name.
    pub fn click(&mut self, name: &str) {
        self.harness.get_by_label(name).click();
        self.harness.run_steps(3);
    }

    pub fn select(&mut self, bars: (u32, u32), parts: &[&str]) {
        let band = &self.harness.state().session.document().band;
        let ids: Vec<PartId> = parts
            .iter()
            .map(|name| band.ids().find(|(_, p)| p.name == *name).unwrap().0)
            .collect();
        let selection = Selection::of(BarNumber(bars.0), BarNumber(bars.1), ids);
        self.app().session.select(Some(selection));
        self.harness.run_steps(2);
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn told(&self) -> &str {
        let all = &self.harness.state().session.messages;
        all.last().map_or("", String::as_str)
    }
}
