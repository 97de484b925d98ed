//! The embedded fonts, and what they can show.
//!
//! The window's family sets what it can; DejaVu Sans stands behind it for the rest of the world's
//! letters. It holds all that the first family holds, so a letter with marks never needs both.

use std::sync::LazyLock;
use typst::foundations::Bytes;
use typst::layout::Abs;
use typst::text::{Font, FontBook, FontInstance, FontVariant, FontVariations};
use typst::utils::LazyHash;

const FACES: [&[u8]; 4] = [
    include_bytes!("../../../assets/fonts/Inter-Regular-tabular.otf"),
    include_bytes!("../../../assets/fonts/Inter-Medium-tabular.otf"),
    include_bytes!("../../../assets/fonts/Inter-SemiBold-tabular.otf"),
    include_bytes!("../../../assets/fonts/DejaVuSans.ttf"),
];

/// The families of a text that names none.
pub(crate) const FAMILIES: [&str; 2] = ["Inter Tabular subset", "DejaVu Sans"];

/// The fonts, read once.
pub(crate) struct Fonts {
    pub book: LazyHash<FontBook>,
    pub faces: Vec<Font>,
    /// The face with the most letters, the last one.
    widest: FontInstance,
}

pub(crate) static FONTS: LazyLock<Fonts> = LazyLock::new(|| {
    let faces: Vec<Font> =
        FACES.iter().filter_map(|&bytes| Font::new(Bytes::new(bytes), 0)).collect();
    let Some(widest) = faces.last().map(instance) else {
        // A file that is part of the program, and a test reads it.
        unreachable!("the embedded fonts can be read")
    };
    Fonts { widest, book: LazyHash::new(FontBook::from_fonts(&faces)), faces }
});

fn instance(face: &Font) -> FontInstance {
    face.clone().instantiate(FontVariant::default(), Abs::pt(10.0), &FontVariations::default())
}

fn has(face: &FontInstance, character: char) -> bool {
    // A table of letters may lead to the glyph 0, which stands for a letter that is not there.
    face.ttf().glyph_index(character).is_some_and(|glyph| glyph.0 != 0)
}

/// Whether a character can be printed by the font that has the most.
pub(crate) fn covers(character: char) -> bool {
    has(&FONTS.widest, character)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_font_holds_what_the_others_hold() {
        assert_eq!(FONTS.faces.len(), FACES.len(), "every face is read");
        for face in &FONTS.faces {
            let instance = instance(face);
            let lacks: Vec<_> = face
                .info()
                .coverage
                .iter()
                .filter_map(char::from_u32)
                .filter(|&one| has(&instance, one) && !covers(one))
                .collect();
            assert!(lacks.is_empty(), "{}: {lacks:?}", face.info().family);
        }
    }
}
