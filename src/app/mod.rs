//! The window: one sheet to read, lock and re-solve on.

pub mod actions;
#[expect(
    clippy::module_inception,
    reason = "the app is what this folder is about"
)]
pub mod app;
pub mod bars;
pub mod dialogs;
pub mod fonts;
pub mod key_page;
pub mod keys;
pub mod listen;
pub mod panels;
pub mod recent;
pub mod recover;
pub mod ribbon;
pub mod scene;
pub mod session;
mod shape_dialogs;
pub mod sheet;
mod solve_button;
mod start;
pub mod theme;
pub mod view;
pub mod wants;
pub mod welcome;
pub mod worker;

pub use app::App;
pub use start::open;
