//! The plant page: all that stands in the plant file, in fields, with what would differ in the file
//! before it is saved.
//!
//! Nothing is decided here: what is typed becomes the text of a plant file, and reading that says
//! whether it can be used.

mod field;
mod form;
mod page;
mod state;

pub use state::PlantPage;
