//! Listening: what is auditioned, the thread that gives it to a device, and the bar that it is asked for with.

pub mod audition;
pub mod bar;
pub mod device;
pub mod listening;
pub mod machine;
pub mod speaker;
pub mod who;
