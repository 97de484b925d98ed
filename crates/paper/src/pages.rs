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

/// Where letter paper is usual, by ISO 3166 (as the Unicode locale data list them; not verified).
const LETTER: [&str; 14] =
    ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"];

impl Paper {
    /// The paper that is usual in a locale such as `en_US.UTF-8`; A4 where it names no country.
    pub fn of_locale(locale: &str) -> Self {
        let name = locale.split(['.', '@']).next().unwrap_or_default();
        let country = name.split(['_', '-']).next_back().unwrap_or_default();
        if LETTER.contains(&country) { Self::Letter } else { Self::A4 }
    }

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

#[cfg(test)]
mod tests {
    use super::Paper;

    #[test]
    fn paper_follows_the_country_of_a_locale() {
        for (locale, paper) in [
            ("en_US.UTF-8", Paper::Letter),
            ("es_MX", Paper::Letter),
            ("en-CA", Paper::Letter),
            ("de_DE.UTF-8@euro", Paper::A4),
            ("C.UTF-8", Paper::A4),
            ("POSIX", Paper::A4),
            ("", Paper::A4),
        ] {
            assert_eq!(Paper::of_locale(locale), paper, "{locale}");
        }
    }
}
