//! The exception summary of one record on paper: a PDF for filing.
//!
//! Data contract: an audited record and its review ([`review::Reviewed`]) give the bytes of one
//! PDF/A-2a file: tagged, fonts embedded, plots as vectors. The same input gives the same bytes;
//! nothing here reads a file or a clock. Nothing is judged here either:
//! figures and sentences come from the case.
//!
//! [`Filing`] gives the same record and review for a spreadsheet or a program as well.
//!
//! The pages are set by a template (`assets/summary.typ`, or the plant's own) that gets all texts
//! as data, so that no text of a record is ever taken for markup.

mod data;
mod digests;
mod error;
mod filing;
mod fonts;
mod legible;
mod most;
mod pages;
mod plots;
mod print;
mod range;
mod summary;
mod typeset;

pub use data::data;
pub use error::Error;
pub use filing::Filing;
pub use pages::{Page, Paper, Template};
pub use print::{summary, summary_with_page};
pub use range::{RangeSummary, range_summary};
pub use summary::Summary;
