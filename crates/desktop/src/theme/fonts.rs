//! The fonts of `assets/fonts`: one family in three weights with tabular figures.

use egui::{FontData, FontDefinitions, FontFamily};
use std::sync::Arc;

const FACES: [(&str, &[u8]); 3] = [
    ("regular", include_bytes!("../../../../assets/fonts/Inter-Regular-tabular.otf")),
    ("medium", include_bytes!("../../../../assets/fonts/Inter-Medium-tabular.otf")),
    ("semibold", include_bytes!("../../../../assets/fonts/Inter-SemiBold-tabular.otf")),
];

/// Makes the family the default one; egui's own fonts stay behind it for letters it lacks.
pub(super) fn install(context: &egui::Context) {
    let mut definitions = FontDefinitions::default();
    let fallback = definitions.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    for (name, bytes) in FACES {
        definitions.font_data.insert(name.to_owned(), Arc::new(FontData::from_static(bytes)));
        let family = match name {
            "regular" => FontFamily::Proportional,
            weight => FontFamily::Name(weight.into()),
        };
        let mut faces = vec![name.to_owned()];
        faces.extend(fallback.iter().cloned());
        definitions.families.insert(family, faces);
    }
    context.set_fonts(definitions);
}
