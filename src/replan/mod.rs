//! From journal and plan to how things stand, and what follows from it.

pub mod accept;
pub mod difference;
pub mod outages;
pub mod refusal;
pub mod state;
