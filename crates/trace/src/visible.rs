//! Text on its way out: to a terminal, a log, a window's title, a line of a table, a JSON document.
//!
//! Names, lots, causes and file names come from files that anybody may have written. A terminal obeys
//! control characters, a line feed in a name begins a line that the program did not write, and marks
//! of direction show letters in another order than they stand in. So no such character leaves the
//! program as it is: [`visible`] shows each as `\u{…}`, [`visible_json`] writes it as the escape that
//! JSON has for it, and [`Lines`] is text whose line ends are the program's own.

use std::borrow::Cow;
use std::fmt::{self, Write as _};
use std::ops::Deref;

/// The characters that are not seen, first and last of each run, in order: general categories Cc
/// (control), Zl and Zp (line and paragraph separator), the property `Default_Ignorable_Code_Point`
/// (shown as nothing: zero-width marks, the byte order mark, variation selectors, tags), which
/// includes `Bidi_Control` (UAX #9, section 2: U+061C, U+200E, U+200F, U+202A–202E, U+2066–2069), and
/// the annotation characters U+FFF9–FFFB. Unicode Character Database 14.0, `DerivedGeneralCategory`,
/// `DerivedCoreProperties`, `PropList`.
///
/// U+200C and U+200D, which join letters or part them in some scripts, are among them: two lots that
/// differ in nothing else must not look the same (ours).
const HIDDEN: [(char, char); 19] = [
    ('\u{0}', '\u{1f}'),
    ('\u{7f}', '\u{9f}'),
    ('\u{ad}', '\u{ad}'),
    ('\u{34f}', '\u{34f}'),
    ('\u{61c}', '\u{61c}'),
    ('\u{115f}', '\u{1160}'),
    ('\u{17b4}', '\u{17b5}'),
    ('\u{180b}', '\u{180f}'),
    ('\u{200b}', '\u{200f}'),
    ('\u{2028}', '\u{202e}'),
    ('\u{2060}', '\u{206f}'),
    ('\u{3164}', '\u{3164}'),
    ('\u{fe00}', '\u{fe0f}'),
    ('\u{feff}', '\u{feff}'),
    ('\u{ffa0}', '\u{ffa0}'),
    ('\u{fff0}', '\u{fffb}'),
    ('\u{1bca0}', '\u{1bca3}'),
    ('\u{1d173}', '\u{1d17a}'),
    ('\u{e0000}', '\u{e0fff}'),
];

/// Whether a character is obeyed or passed over instead of being shown.
pub fn is_hidden(character: char) -> bool {
    // Nearly everything is plain ASCII.
    if matches!(character, ' '..='~') {
        return false;
    }
    let before = HIDDEN.partition_point(|&(_, last)| last < character);
    HIDDEN.get(before).is_some_and(|&(first, _)| first <= character)
}

/// The text with every hidden character as `\u{…}`: one line, whatever is in it.
pub fn visible(text: &str) -> Cow<'_, str> {
    escaped(text, |shown, hidden| write!(shown, "\\u{{{:x}}}", u32::from(hidden)))
}

/// JSON as a program wrote it, with every hidden character as the escape of RFC 8259, section 7: the
/// same document. The line feeds between its tokens stay.
pub fn visible_json(json: &str) -> Cow<'_, str> {
    escaped(json, |shown, hidden| {
        if hidden == '\n' {
            return shown.write_char(hidden);
        }
        let mut units = [0; 2];
        hidden.encode_utf16(&mut units).iter().try_for_each(|unit| write!(shown, "\\u{unit:04x}"))
    })
}

fn escaped(text: &str, escape: impl Fn(&mut String, char) -> fmt::Result) -> Cow<'_, str> {
    if !text.chars().any(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        // Writing to a string can't fail.
        if !is_hidden(character) || escape(&mut shown, character).is_err() {
            shown.push(character);
        }
    }
    Cow::Owned(shown)
}

/// Text for a person, line by line. A line ends where the program says so and nowhere else: what is
/// in its words is made visible, line feeds too.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Lines(String);

impl Lines {
    /// No line.
    pub const fn new() -> Self {
        Self(String::new())
    }

    /// Adds words without ending the line.
    pub fn part(&mut self, words: fmt::Arguments<'_>) {
        let words = words.as_str().map_or_else(|| Cow::Owned(words.to_string()), Cow::Borrowed);
        self.0.push_str(&visible(&words));
    }

    /// Adds words and ends the line.
    pub fn line(&mut self, words: fmt::Arguments<'_>) {
        self.part(words);
        self.end();
    }

    /// Ends the line; an empty line where it has begun.
    pub fn end(&mut self) {
        self.0.push('\n');
    }

    /// Adds other lines.
    pub fn append(&mut self, other: &Self) {
        self.0.push_str(&other.0);
    }
}

impl Deref for Lines {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Lines {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0)
    }
}

impl From<Lines> for String {
    fn from(lines: Lines) -> Self {
        lines.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_obeyed_or_not_seen_is_shown() {
        for (text, shown) in [
            ("whole milk, 3.5 %", "whole milk, 3.5 %"),
            ("crème fraîche, Käse, 牛乳, جبن", "crème fraîche, Käse, 牛乳, جبن"),
            ("\u{1b}[2Jholds", "\\u{1b}[2Jholds"),
            ("a\nb\r\tc", "a\\u{a}b\\u{d}\\u{9}c"),
            ("\0\u{7f}\u{80}\u{9b}31m\u{9f}", "\\u{0}\\u{7f}\\u{80}\\u{9b}31m\\u{9f}"),
            ("lot \u{202e}1\u{202c}", "lot \\u{202e}1\\u{202c}"),
            (
                "\u{2066}\u{2069}\u{200e}\u{200f}\u{61c}",
                "\\u{2066}\\u{2069}\\u{200e}\\u{200f}\\u{61c}",
            ),
            ("a\u{2028}b\u{2029}c", "a\\u{2028}b\\u{2029}c"),
            (
                "\u{200b}\u{200c}\u{200d}\u{feff}\u{ad}",
                "\\u{200b}\\u{200c}\\u{200d}\\u{feff}\\u{ad}",
            ),
            ("\u{e0041}", "\\u{e0041}"),
        ] {
            assert_eq!(visible(text), shown);
            assert_eq!(visible(&visible(text)), shown, "what is visible stays as it is");
        }
    }

    #[test]
    fn the_runs_are_in_order_and_hold_every_control_character() {
        let mut last = None;
        for (first, end) in HIDDEN {
            assert!(last < Some(first) && first <= end, "{first:?}");
            last = Some(end);
        }
        for character in '\0'..=char::MAX {
            assert!(!character.is_control() || is_hidden(character), "{character:?}");
            let is_plain = character.is_alphanumeric() || character.is_ascii_graphic();
            // Letters by category, and yet blank: Hangul fillers.
            let is_blank = matches!(character, '\u{115f}' | '\u{1160}' | '\u{3164}' | '\u{ffa0}');
            assert!(!is_plain || is_blank || !is_hidden(character), "{character:?}");
        }
    }

    #[test]
    fn json_stays_the_same_document() {
        let json = "{\n  \"lot\": \"a\u{7f}\u{202e}\u{e0041}é\"\n}";
        assert_eq!(visible_json(json), "{\n  \"lot\": \"a\\u007f\\u202e\\udb40\\udc41é\"\n}");
    }

    #[test]
    fn a_line_ends_where_the_program_says() {
        let mut lines = Lines::new();
        let name = "x\n  holds  chain";
        lines.part(format_args!("{name}\n"));
        lines.line(format_args!(" FAILS"));
        lines.line(format_args!("done"));
        assert_eq!(&*lines, "x\\u{a}  holds  chain\\u{a} FAILS\ndone\n");
    }
}
