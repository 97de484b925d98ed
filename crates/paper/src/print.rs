//! The summary of one record, printed: its data go to the typesetter with the built-in template or the
//! plant's own.

use crate::data::data;
use crate::error::Error;
use crate::filing::Filing;
use crate::pages::{Page, Paper, Template};
use crate::summary::Summary;
use crate::typeset;
use trace::Instant;

/// The built-in template: what a plant starts from that wants its own.
const TEMPLATE: &str = include_str!("../../../assets/summary.typ");

impl Filing<'_> {
    /// The summary as PDF/A; see [`Summary`] for what it depends on.
    ///
    /// # Errors
    /// As [`summary`].
    pub fn pdf(
        &self,
        paper: Paper,
        created: Instant,
        template: Option<Template<'_>>,
    ) -> Result<Vec<u8>, Error> {
        summary(&Summary { filing: *self, paper, created, template })
    }

    /// The same with the first page as a picture; the built-in template.
    ///
    /// # Errors
    /// As [`summary_with_page`].
    pub fn pdf_with_page(
        &self,
        paper: Paper,
        created: Instant,
        pixels_per_point: f32,
    ) -> Result<(Vec<u8>, Page), Error> {
        let summary = Summary { filing: *self, paper, created, template: None };
        summary_with_page(&summary, pixels_per_point)
    }
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
    let json = data(summary)?;
    let created = summary.filing.case.plant().zone.local(summary.created);
    let name = summary.filing.record.to_owned();
    typeset::pdf(TEMPLATE, summary.template, json, name, &created, pixels_per_point)
}
