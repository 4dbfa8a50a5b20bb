//! The open document, and the whole way of the data from it to a draft.

pub mod given;
pub mod judged;
pub mod locked;
pub mod made_ready;
pub mod other_key;
pub mod solve_again;
pub mod weighed;
pub mod whole_way;
