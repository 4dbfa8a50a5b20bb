//! A sound device, as the window knows it: the machine's own, or one of a test.

use std::sync::Arc;

/// Fills frames, left and right in turn.
pub type Fill = Box<dyn FnMut(&mut [f32]) + Send>;

/// A device that plays.
pub trait Device: Send + Sync {
    /// Frames that were heard so far, by the device's own clock; `None` before it has told.
    fn heard(&self) -> Option<f64>;
    /// Whether it still plays.
    fn is_open(&self) -> bool;
}

/// Opens a device; one sentence where there is none.
pub type OpenDevice = Arc<dyn Fn(Fill) -> Result<Arc<dyn Device>, String> + Send + Sync>;
