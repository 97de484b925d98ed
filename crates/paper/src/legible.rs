//! Texts of the record made fit for paper: what no embedded font can show, and what would act on
//! the letters around it without being seen, is written as its code point.

use crate::fonts::covers;
use serde_json::Value;

/// A word longer than this gets places where a line may end, each after so many letters.
const LONGEST_WORD: usize = 24;
const LETTERS: usize = 14;
/// A line may end where this stands.
pub(crate) const MAY_END: char = '\u{200B}';

/// Makes all texts of a document legible.
pub(crate) fn legible(value: &mut Value) {
    match value {
        Value::String(text) => {
            if !text.bytes().all(|byte| (b' '..0x7f).contains(&byte)) || has_long_word(text) {
                *text = of_text(text);
            }
        }
        Value::Array(values) => values.iter_mut().for_each(legible),
        Value::Object(entries) => entries.values_mut().for_each(legible),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

fn has_long_word(text: &str) -> bool {
    text.split(' ').any(|word| word.len() > LONGEST_WORD)
}

fn of_text(text: &str) -> String {
    let mut shown = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        match character {
            '\n' | '\r' | '\t' => shown.push(' '),
            _ if is_silent(character) || !covers(character) => {
                shown.extend(format!("[U+{:04X}]", u32::from(character)).chars());
            }
            _ => shown.push(character),
        }
    }
    // A digest stands in a line of its own and is copied from there, so it stays whole.
    let is_digest = shown.len() == 64 && shown.bytes().all(|byte| byte.is_ascii_hexdigit());
    if is_digest || !has_long_word(&shown) {
        return shown;
    }
    let mut result = String::with_capacity(shown.len() + 16);
    for word in shown.split_inclusive(' ') {
        let is_long = word.chars().count() > LONGEST_WORD;
        for (index, character) in word.chars().enumerate() {
            if is_long && index > 0 && index % LETTERS == 0 {
                result.push(MAY_END);
            }
            result.push(character);
        }
    }
    result
}

/// Characters without a shape of their own: controls, marks that turn the direction of writing,
/// joiners, and code points that mean nothing outside of one font.
fn is_silent(character: char) -> bool {
    trace::is_hidden(character)
        || matches!(character, '\u{E000}'..='\u{F8FF}' | '\u{FFFC}'..='\u{FFFF}' | '\u{E1000}'..)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_can_be_printed_stays_and_the_rest_is_named() {
        for (text, printed) in [
            ("#import \"x\" *bold* =1+1 $x$", "#import \"x\" *bold* =1+1 $x$"),
            ("Zürich Ωмолоко חלב حليب", "Zürich Ωмолоко חלב حليب"),
            ("lot\u{202E}7", "lot[U+202E]7"),
            ("牛乳", "[U+725B][U+4E73]"),
            ("a\nb\tc\u{7}", "a b c[U+0007]"),
            ("\u{E000}\u{FFFD}", "[U+E000][U+FFFD]"),
        ] {
            assert_eq!(of_text(text), printed, "{text:?}");
        }
    }

    #[test]
    fn long_words_may_be_broken_and_digests_stay() {
        let word = "x".repeat(70);
        let broken = of_text(&word);
        assert_eq!(broken.chars().filter(|&character| character == MAY_END).count(), 4);
        assert_eq!(broken.replace(MAY_END, ""), word);
        let digest = "0123456789abcdef".repeat(4);
        assert_eq!(of_text(&digest), digest);
    }
}
