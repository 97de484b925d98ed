//! A plant's folder of records: which records there are, each read and audited once for as long as
//! its files stay the same, with where its review stands.
//!
//! [`read`] reads the files of one record as every front end does; [`scan`] goes through a folder,
//! on all cores, and keeps rows (never samples) from one time to the next in a file that can be
//! deleted at any time. Nothing is judged here.

mod clock;
mod entries;
mod error;
mod files;
mod kept;
mod neighbours;
mod progress;
mod record;
mod replace;
mod scan;
mod shelf;
mod signing;
mod stock;
mod trust;
mod verified;

pub use clock::clock_differs;
pub use entries::{add_entry, sign_entries};
pub use error::Error;
pub use files::{Files, files_named_by};
pub use neighbours::Neighbours;
pub use progress::ScanProgress;
pub use record::{read, read_with};
pub use replace::replace_plant_file;
pub use scan::{Scan, scan};
pub use shelf::usual_cache;
pub use signing::{read_journal, read_review};
pub use stock::{Stock, stock};
pub use trust::{Trust, is_same_fingerprint};
pub use verified::{Verified, books_in_words, verify_record};
