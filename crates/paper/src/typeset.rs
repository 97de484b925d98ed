//! From a template and its data to the bytes of a PDF.
//!
//! The typesetter sees three files, the template, `look.typ` that templates share and `data.json`,
//! and the embedded fonts: nothing of the machine, no network, no clock. So the same input gives the
//! same bytes.

use crate::error::Error;
use crate::fonts::{FAMILIES, FONTS};
use crate::legible::{MAY_END, legible};
use crate::pages::{Page, Template};
use chrono::{DateTime, Datelike as _, Offset as _, TimeZone, Timelike as _};
use serde_json::Value;
use sha2::{Digest as _, Sha256};
use trace::{file_name, hexadecimal};
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::layout::{Frame, FrameItem};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook, FontFamily, FontList, TextElem};
use typst::utils::{LazyHash, Scalar};
use typst::{Library, LibraryExt as _, World, WorldExt as _};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};
use typst_render::RenderOptions;

/// What names the plant's own template on every page, and sets it.
const FRAME: &str = "frame.typ";
const TEMPLATE: &str = "template.typ";
const LOOK: &str = "look.typ";
/// What templates share.
const LOOK_TEXT: &str = include_str!("../../../assets/look.typ");
const DATA: &str = "data.json";
/// So many hexadecimal digits of the digest of a template are printed, as of records (ours).
const SHORT: usize = 12;

/// What the typesetter can see.
struct Desk {
    standard: LazyHash<Library>,
    frame: Option<Source>,
    template: Source,
    look: Source,
    data: FileId,
    json: Bytes,
    today: Option<Datetime>,
}

impl World for Desk {
    fn library(&self) -> &LazyHash<Library> {
        &self.standard
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &FONTS.book
    }

    fn main(&self) -> FileId {
        self.frame.as_ref().unwrap_or(&self.template).id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let files = self.frame.iter().chain([&self.template, &self.look]);
        let source = files.into_iter().find(|source| source.id() == id);
        source.cloned().ok_or_else(not_there)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.data { Ok(self.json.clone()) } else { Err(not_there()) }
    }

    fn font(&self, index: usize) -> Option<Font> {
        FONTS.faces.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        self.today
    }
}

fn not_there() -> FileError {
    FileError::Other(Some(
        "a template is one file, and the only others it can read are \"look.typ\" and \"data.json\""
            .into(),
    ))
}

fn file(name: &str) -> Result<FileId, Error> {
    VirtualPath::new(name)
        .map(|path| FileId::new(RootedPath::new(VirtualRoot::Project, path)))
        .map_err(|cause| Error::Data(format!("{name}: {cause:?}")))
}

/// Sets `built_in`, or else the plant's own template, with `json` and writes the pages as PDF/A. `name`
/// tells documents apart. With `pixels_per_point` the first page is drawn as well.
pub(crate) fn pdf<Z: TimeZone>(
    built_in: &str,
    plants: Option<Template<'_>>,
    json: String,
    name: String,
    created: &DateTime<Z>,
    pixels_per_point: Option<f32>,
) -> Result<(Vec<u8>, Option<Page>), Error> {
    let own = plants.is_some();
    let template = plants.map_or(built_in, |one| one.text);
    let naming = plants.map(naming);
    let now = Datetime::from_ymd_hms(
        created.year(),
        created.month() as u8,
        created.day() as u8,
        created.hour() as u8,
        created.minute() as u8,
        created.second() as u8,
    );
    let mut library = Library::default();
    let families = FAMILIES.into_iter().map(FontFamily::new).collect();
    library.styles.set(TextElem::font, FontList(families));
    let desk = Desk {
        standard: LazyHash::new(library),
        frame: match &naming {
            Some(naming) => Some(Source::new(file(FRAME)?, frame(naming))),
            None => None,
        },
        template: Source::new(file(TEMPLATE)?, template.to_owned()),
        look: Source::new(file(LOOK)?, LOOK_TEXT.to_owned()),
        data: file(DATA)?,
        json: Bytes::from_string(json),
        today: now,
    };
    let document = typst::compile::<PagedDocument>(&desk)
        .output
        .map_err(|found| fault(&desk, found.first(), own))
        .and_then(|document| named_on_all(document, naming.as_deref()));
    let offset = created.offset().fix().local_minus_utc() / 60;
    let written = document.and_then(|document| {
        let options = PdfOptions {
            ident: Smart::Custom(name),
            creator: Smart::Custom(Some(format!("Holdtrace {}", env!("CARGO_PKG_VERSION")))),
            timestamp: now.and_then(|now| Timestamp::new_local(now, offset)),
            page_ranges: None,
            // Level a: what is on the pages can be read aloud in order, and copied.
            standards: PdfStandards::new(&[PdfStandard::A_2a])
                .map_err(|cause| Error::Pdf { messages: vec![cause.message().to_string()], own })?,
            tagged: true,
            pretty: false,
        };
        let bytes = typst_pdf::pdf(&document, &options).map_err(|found| Error::Pdf {
            messages: found.iter().map(|one| one.message.to_string()).collect(),
            own,
        })?;
        let first = pixels_per_point.zip(document.pages().first());
        Ok((bytes, first.map(|(pixels_per_point, page)| picture(page, pixels_per_point))))
    });
    // The typesetter keeps what it worked out for a next time that does not come.
    typst::comemo::evict(0);
    written
}

/// What every page says of a template of the plant's own.
fn naming(template: Template<'_>) -> String {
    let digest = hexadecimal(&Sha256::digest(template.text));
    let short = digest.get(..SHORT).unwrap_or(&digest);
    let mut name = Value::String(file_name(template.name).to_owned());
    legible(&mut name);
    let name = name.as_str().unwrap_or_default().replace(MAY_END, "");
    format!("Set by the plant's own template {name}, SHA-256 {short}")
}

/// Sets the plant's template with its name at the foot of every page.
fn frame(naming: &str) -> String {
    let quoted = naming.replace('\\', "\\\\").replace('"', "\\\"");
    format!(
        "#set page(foreground: place(bottom + left, dx: 18mm, dy: -4mm, \
         box(width: 170mm, text(size: 6pt, fill: black, \"{quoted}\"))))\n#include \"{TEMPLATE}\"\n"
    )
}

/// Every page names the template, or there are no pages: a template may set a foreground of its own.
fn named_on_all(document: PagedDocument, naming: Option<&str>) -> Result<PagedDocument, Error> {
    let Some(naming) = naming else { return Ok(document) };
    let bare = |text: &str| text.replace(char::is_whitespace, "");
    let is_named = |page: &typst_layout::Page| {
        let mut text = String::new();
        words(&page.frame, &mut text);
        bare(&text).contains(&bare(naming))
    };
    match document.pages().iter().position(|page| !is_named(page)) {
        None => Ok(document),
        Some(page) => Err(Error::Template {
            line: 0,
            column: 0,
            message: format!("page {} does not name the template: it sets a foreground", page + 1),
            hints: vec!["use `background`, or place things on the page".to_owned()],
            own: true,
        }),
    }
}

fn words(frame: &Frame, text: &mut String) {
    for (_, item) in frame.items() {
        match item {
            FrameItem::Text(item) => text.push_str(&item.text),
            FrameItem::Group(group) => words(&group.frame, text),
            _ => {}
        }
    }
}

/// A page as a screen shows it.
fn picture(page: &typst_layout::Page, pixels_per_point: f32) -> Page {
    let options = RenderOptions {
        pixel_per_pt: Scalar::new(f64::from(pixels_per_point)),
        ..RenderOptions::default()
    };
    let drawn = typst_render::render(page, &options);
    // White lies below everything, so no pixel is transparent.
    Page { width: drawn.width() as usize, height: drawn.height() as usize, rgba: drawn.take() }
}

fn fault(desk: &Desk, found: Option<&SourceDiagnostic>, own: bool) -> Error {
    let Some(found) = found else {
        return Error::Data("the typesetter gave no reason".to_owned());
    };
    let place = found
        .span
        .id()
        .filter(|&id| id == desk.template.id())
        .and_then(|_| desk.range(found.span))
        .and_then(|range| desk.template.lines().byte_to_line_column(range.start));
    let (line, column) = place.map_or((0, 0), |(line, column)| (line + 1, column + 1));
    Error::Template {
        line,
        column,
        message: found.message.to_string(),
        hints: found.hints.iter().map(|hint| hint.v.to_string()).collect(),
        own,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_that_stays_can_be_exported() {
        let stays = |character: &char| {
            let mut value = Value::String(character.to_string());
            legible(&mut value);
            value.as_str().is_some_and(|text| text.chars().eq([*character]))
        };
        let characters: Vec<char> = ('\u{1}'..=char::MAX).filter(stays).collect();
        assert!(characters.len() > 5000, "{} letters", characters.len());
        // Neighbours in words of eight, and each behind a letter that the first font has.
        let mut words: Vec<String> =
            characters.chunks(8).map(|word| word.iter().collect()).collect();
        words.extend(characters.iter().map(|character| format!("a{character}")));
        let json = Value::String(words.join(" ")).to_string();
        let template = "#set document(title: \"x\")\n#set text(size: 4pt)\n#json(\"data.json\")";
        let written =
            pdf(template, None, json, "x".to_owned(), &DateTime::<chrono::Utc>::UNIX_EPOCH, None);
        assert!(written.is_ok(), "{:?}", written.err());
    }
}
