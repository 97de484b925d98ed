//! What pages are made of and become: their size, a template of the plant's own, a picture of one.

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
    pub(crate) const fn key(self) -> &'static str {
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

/// A template of the plant's own. Every page names it, since it decides what stands on the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Template<'a> {
    /// The name of its file, without folder.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
}
