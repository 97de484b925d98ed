//! The review of the open record in the window. What may be decided is said by the crate `review`; here
//! is how it looks and which key leads to it.

pub mod accept;
pub mod banners;
pub mod before;
pub mod books;
pub mod clock;
pub mod closing;
pub mod entries;
mod equipment;
pub mod form;
pub mod held;
pub mod hole;
pub mod links;
mod made;
pub mod many;
pub mod noting;
pub mod open;
pub mod people;
pub mod proof;
pub mod prove;
pub mod seals;
pub mod secret;
pub mod seen;
pub mod sign;
pub mod signatures;
pub mod standing;
pub mod state;
pub mod strip;
pub mod typed;
pub mod words;
pub mod work;
