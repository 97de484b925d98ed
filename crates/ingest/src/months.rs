//! The names of months in English, French, German, Italian and Spanish.

use crate::input::text;

/// A month in all languages, lower case and without accents; abbreviations are their beginnings.
const MONTHS: [&[&str]; 12] = [
    &["january", "janvier", "januar", "janner", "gennaio", "enero"],
    &["february", "fevrier", "februar", "feber", "febbraio", "febrero"],
    &["march", "mars", "marz", "maerz", "mrz", "marzo"],
    &["april", "avril", "aprile", "abril"],
    &["may", "mai", "maggio", "mayo"],
    &["june", "juin", "juni", "giugno", "junio"],
    &["july", "juillet", "juli", "luglio", "julio"],
    &["august", "aout", "agosto"],
    &["september", "septembre", "settembre", "septiembre", "setiembre"],
    &["october", "octobre", "oktober", "ottobre", "octubre"],
    &["november", "novembre", "noviembre"],
    &["december", "decembre", "dezember", "dicembre", "diciembre"],
];

/// The month that a word at the start of a text names, whole or by its first three letters or more,
/// and what follows the word. Letters that are the beginning of two months name none.
pub(crate) fn month_name(from: &[u8]) -> Option<(u32, &[u8])> {
    let letters = from
        .iter()
        .take_while(|byte| byte.is_ascii_alphabetic() || (!byte.is_ascii() && **byte != 0xa0))
        .count();
    let (word, rest) = from.split_at(letters);
    let word: String = text(word).chars().flat_map(char::to_lowercase).map(plain).collect();
    if word.chars().count() < 3 {
        return None;
    }
    let mut found =
        (1..).zip(MONTHS).filter(|(_, names)| names.iter().any(|name| name.starts_with(&word)));
    let (month, _) = found.next()?;
    found.next().is_none().then_some((month, rest))
}

/// A letter without its accent.
fn plain(letter: char) -> char {
    match letter {
        'à' | 'ä' | 'â' => 'a',
        'é' | 'è' | 'ê' => 'e',
        'û' | 'ù' | 'ü' => 'u',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn months_are_known_by_their_beginnings() {
        for (word, month) in [
            ("Mar-26", Some(3)),
            ("sept. 26", Some(9)),
            ("MAI", Some(5)),
            ("Mär ", Some(3)),
            ("Mrz", Some(3)),
            ("févr", Some(2)),
            ("août", Some(8)),
            ("AOÛT", Some(8)),
            ("déc", Some(12)),
            ("Dez", Some(12)),
            ("dic", Some(12)),
            ("gen", Some(1)),
            ("ene", Some(1)),
            ("giu", Some(6)),
            ("lug", Some(7)),
            ("ott", Some(10)),
            ("juin", Some(6)),
            ("juil", Some(7)),
            // June or July.
            ("jui", None),
            ("ma", None),
            ("marble", None),
            ("", None),
        ] {
            let found = month_name(word.as_bytes()).map(|(month, _)| month);
            assert_eq!(found, month, "{word}");
        }
        assert_eq!(month_name(b"f\xe9vr. 26"), Some((2, b". 26".as_slice())));
    }
}
