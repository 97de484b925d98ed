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
mod plots;
mod range;
mod typeset;

pub use error::Error;
pub use filing::Filing;
pub use range::{RangeSummary, range_summary};

use trace::Instant;

/// The built-in template: what a plant starts from that wants its own.
pub const TEMPLATE: &str = include_str!("../../../assets/summary.typ");

/// What templates share, imported as `look.typ`.
pub const LOOK: &str = include_str!("../../../assets/look.typ");

/// The size of the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// ISO 216: 210 mm by 297 mm.
    #[default]
    A4,
    /// ANSI/ASME Y14.1 size A: 8.5 in by 11 in.
    Letter,
}

impl Paper {
    /// The name that the typesetter knows.
    const fn key(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "us-letter",
        }
    }
}

/// A page as a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// In pixels.
    pub width: usize,
    /// In pixels.
    pub height: usize,
    /// Row by row from the top: red, green, blue, and 255.
    pub rgba: Vec<u8>,
}

/// What a summary is about.
#[derive(Debug, Clone, Copy)]
pub struct Summary<'a> {
    /// The record and its review. Times are printed on the plant's clock.
    pub filing: Filing<'a>,
    /// The size of the pages.
    pub paper: Paper,
    /// When it is made.
    pub created: Instant,
    /// The plant's own template; `None` for [`TEMPLATE`].
    pub template: Option<Template<'a>>,
}

/// A template of the plant's own. Every page names it, since it decides what stands on the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Template<'a> {
    /// The name of its file, without folder.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
}

/// The bytes of the PDF.
///
/// # Errors
/// When the plant's own template has a fault, told with line and column, or puts something on the
/// pages that PDF/A does not allow.
pub fn summary(summary: &Summary<'_>) -> Result<Vec<u8>, Error> {
    typeset(summary, None).map(|(bytes, _page)| bytes)
}

/// The bytes of the PDF, and its first page drawn with `pixels_per_point` pixels for each
/// typographic point (1/72 inch).
///
/// # Errors
/// As [`summary`].
pub fn summary_with_page(
    summary: &Summary<'_>,
    pixels_per_point: f32,
) -> Result<(Vec<u8>, Page), Error> {
    let (bytes, page) = typeset(summary, Some(pixels_per_point))?;
    let page = page.ok_or_else(|| Error::Data("the template sets no page".to_owned()))?;
    Ok((bytes, page))
}

fn typeset(
    summary: &Summary<'_>,
    pixels_per_point: Option<f32>,
) -> Result<(Vec<u8>, Option<Page>), Error> {
    let json = data::json(summary)?;
    let created = summary.filing.case.plant().zone.local(summary.created);
    let name = summary.filing.record.to_owned();
    typeset::pdf(TEMPLATE, summary.template, json, name, &created, pixels_per_point)
}

/// What a template gets as `data.json`, for who writes one.
///
/// # Errors
/// When a figure can't be written as JSON; none that an audit holds.
pub fn data(summary: &Summary<'_>) -> Result<String, Error> {
    data::json(summary)
}
