//! A plant file in the making: what the columns of a logger file seem to be, why, and what only a
//! person can say.
//!
//! A column that can be taken for two things is taken for none and asked about; what a word of the
//! flow diversion device means is known from plain words only, never from `0` and `1`. Nothing here
//! is believed: the draft becomes a plant file, and the reading and the audit judge by that.
//!
//! A plant file that is there is changed key by key ([`edit`]).

mod draft;
pub mod edit;
mod files;
mod forms;
mod looks;
mod names;
mod proposal;
mod question;
mod reads;
mod several;
mod sheets;
mod text;
mod zones;

pub use draft::{Draft, DraftColumn, DraftLogger, Logging, Meaning, Part, Reason, WordMeaning};
pub use forms::{lengths, symbol};
pub use question::Question;
pub use sheets::{SeenLogger, Sheets};
pub use text::row_in_words;
pub use zones::{is_zone, zones_like};
