//! What a plan means: why it is as it is.

pub mod compare;
pub mod explain;
pub mod idle;
pub mod most;
pub mod odds;
pub mod reasons;
mod side_by_side;
pub mod whatif;
