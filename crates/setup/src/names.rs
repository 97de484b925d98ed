//! Names of columns in other languages than English, by the stems of their words: the trade's words
//! in German, French, Spanish and Italian (common practice). Each becomes the English word, and the
//! English words say what the column is.

use ingest::sheet::{SheetColumn, role_of_name};
use std::collections::BTreeSet;
use trace::Role;

/// Stems in lower case, and the words they stand for. One that begins with `^` must begin a word:
/// `past` is in many.
const STEMS: &[(&str, &str)] = &[
    // What is no reading, but something about one.
    ("sollwert", "setpoint"),
    ("consigne", "setpoint"),
    ("consigna", "setpoint"),
    ("mittel", "average"),
    ("^moyen", "average"),
    ("promedio", "average"),
    ("^media", "average"),
    // Quantities.
    ("^temp", "temperature"),
    ("druck", "pressure"),
    ("^press", "pressure"),
    ("presi\u{f3}n", "pressure"),
    ("presion", "pressure"),
    ("durchfluss", "flow"),
    ("durchflu\u{df}", "flow"),
    ("volumenstrom", "flow"),
    ("d\u{e9}bit", "flow"),
    ("debit", "flow"),
    ("caudal", "flow"),
    ("^portata", "flow"),
    // Places.
    ("hei\u{df}halt", "holding"),
    ("heisshalt", "holding"),
    ("haltestrecke", "holding"),
    ("chambrage", "holding"),
    ("chambreur", "holding"),
    ("retenci", "holding"),
    ("mantenimiento", "holding"),
    ("^sosta", "holding"),
    ("mantenimento", "holding"),
    ("schreiber", "recorder"),
    ("enregistreur", "recorder"),
    ("registrador", "recorder"),
    ("registratore", "recorder"),
    ("^roh", "raw"),
    ("^cru", "raw"),
    ("^past", "past"),
    ("^diff", "differential"),
    ("\u{394}p", "dp"),
    ("hei\u{df}wasser", "hot water"),
    ("heisswasser", "hot water"),
    ("eau chaude", "hot water"),
    ("agua caliente", "hot water"),
    ("acqua calda", "hot water"),
    ("cip-r\u{fc}cklauf", "cip return"),
    ("cip r\u{fc}cklauf", "cip return"),
    ("retour nep", "cip return"),
    ("retour cip", "cip return"),
    ("retorno cip", "cip return"),
    ("ritorno cip", "cip return"),
    ("k\u{fc}hler", "cooler"),
    ("refroidi", "cooled"),
    ("enfria", "cooled"),
    ("raffredda", "cooled"),
    // The device and what is in the line.
    ("umschaltventil", "divert valve"),
    ("umlenkventil", "divert valve"),
    ("r\u{fc}cklaufventil", "divert valve"),
    ("vanne de d\u{e9}viation", "divert valve"),
    ("vanne de d\u{e9}rivation", "divert valve"),
    ("v\u{e1}lvula de desv", "divert valve"),
    ("valvula de desv", "divert valve"),
    ("valvola di deviazione", "divert valve"),
    ("produkt", "product"),
    ("produit", "product"),
    ("producto", "product"),
    ("prodotto", "product"),
    ("^charge", "lot"),
    ("^lote", "lot"),
    ("^lotto", "lot"),
    ("betriebsart", "mode"),
    ("^modo", "mode"),
];

/// The role that a name in another language says, and how much it says about it.
pub(crate) fn role_in_other_words(column: &SheetColumn) -> Option<(Role, u8)> {
    let name = column.name.to_lowercase();
    let begins = |at: usize| !name[..at].ends_with(char::is_alphanumeric);
    let is_there = |stem: &str| match stem.strip_prefix('^') {
        Some(stem) => name.match_indices(stem).any(|(at, _)| begins(at)),
        None => name.contains(stem),
    };
    let words = STEMS.iter().filter(|(stem, _)| is_there(stem)).map(|&(_, word)| word);
    let words: BTreeSet<&str> = words.collect();
    if words.is_empty() {
        return None;
    }
    let words: Vec<&str> = words.into_iter().collect();
    let unit = column.unit.map_or_else(String::new, |unit| format!(" ({})", unit.symbol()));
    role_of_name(&format!("{}{unit}", words.join(" ")))
}

#[cfg(test)]
mod tests {
    use crate::draft::{Draft, Part};
    use crate::looks::tests::sheet;
    use trace::Role;

    /// What goes out to the line is no return, and the device's own return valve no cleaning.
    #[test]
    fn the_return_of_a_cleaning_is_known_in_other_languages() {
        for (name, is_it) in [
            ("CIP-R\u{fc}cklauf (\u{b0}C)", true),
            ("Temp. retour NEP (\u{b0}C)", true),
            ("Retorno CIP (\u{b0}C)", true),
            ("Temperatura ritorno CIP (\u{b0}C)", true),
            ("CIP-Vorlauf (\u{b0}C)", false),
            ("R\u{fc}cklaufventil", false),
        ] {
            let draft = Draft::of(&sheet(&format!("Time;{name}")));
            assert_eq!(draft.has(Role::CleaningReturnTemperature), is_it, "{name}");
        }
    }

    #[test]
    fn a_stem_within_another_word_says_nothing() {
        let sheet = sheet("Time;Discharge valve;Compressor;Contrast");
        let parts: Vec<_> = Draft::of(&sheet).columns.iter().map(|one| one.part).collect();
        assert_eq!(parts[1..], [Part::Unused; 3]);
    }
}
