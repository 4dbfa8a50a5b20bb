//! The machine's own sound device.

use super::device::{Device, Fill, OpenDevice};
use crate::device::{Output, open};
use std::sync::Arc;

impl Device for Output {
    fn heard(&self) -> Option<f64> {
        Self::heard(self)
    }

    fn is_open(&self) -> bool {
        Self::is_open(self)
    }
}

/// Opens the device that the machine plays sound with.
#[must_use]
pub fn machine_device() -> OpenDevice {
    Arc::new(|mut fill: Fill| {
        let output = open("bandwright", move |frames: &mut [f32]| fill(frames));
        let output = output.map_err(|e| e.to_string())?;
        Ok(Arc::new(output) as Arc<dyn Device>)
    })
}
