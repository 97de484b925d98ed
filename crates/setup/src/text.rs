//! A draft as the text of a plant file: what it says, each line with why, and what is still to be
//! said as comments that tell how.

use crate::draft::{Draft, DraftColumn, DraftLogger, Logging, Meaning, Part};
use crate::forms::{is_day_numbers, symbol};
use crate::sheets::{SeenLogger, Sheets};
use ingest::sheet::SheetColumn;
use plant::{DayNumbers, LongForm, Mode, Row};
use std::fmt::Write as _;
use toml::Value;
use trace::{DecimalMark, Role, ValveState, is_hidden, visible};

impl Draft {
    /// The text of the plant file.
    pub fn text(&self, sheets: &Sheets) -> String {
        let mut text = String::new();
        let mut line = |words: &str| {
            text.push_str(words);
            text.push('\n');
        };
        for (place, SeenLogger { sheet, .. }) in sheets.loggers.iter().enumerate() {
            line(&format!(
                "# {} {}: header on line {}, {} rows{}",
                if place == 0 { "Plant file of Holdtrace, drafted from" } else { "and" },
                visible(trace::file_name(&sheet.file)),
                sheet.header_line,
                sheet.rows,
                if place + 1 == sheets.loggers.len() { "." } else { "," }
            ));
        }
        for words in [
            "# Compare each line with the logger's manual. Where no limit is set, the built-in ones apply:",
            "# milk, 161 \u{b0}F (72 \u{b0}C) for 15 s, the pasteurized side 2 psi (14 kPa) above the raw side.",
            "# All limits must be confirmed with the plant's authority.",
        ] {
            line(words);
        }
        line("");
        line("schema = 1");
        for (key, said, ask) in [
            ("plant", &self.plant, "the plant's name"),
            ("unit", &self.unit, "the pasteurizer's name"),
            ("zone", &self.zone, "the zone of the logger's clock, such as \"America/Chicago\""),
        ] {
            if said.trim().is_empty() {
                line(&format!("# {key} = \"\"   # required: {ask}"));
            } else {
                line(&format!("{key} = {}", quoted(said.trim())));
            }
        }
        if sheets.are_several() {
            let leading = self.leading(sheets);
            for place in 0..sheets.loggers.len() {
                line(&self.logger(sheets, place, leading == Some(place)));
            }
        } else {
            let keys = self.files(sheets, 0);
            if !keys.is_empty() {
                line("\n[files]");
            }
            for (key, said) in keys {
                line(&format!("{key} = {}", quoted(&said)));
            }
            if let Some(LongForm { tag, value, quality }) = long(sheets, 0) {
                line(
                    "\n[files.long]\n# one reading a row; the columns below are names of channels",
                );
                line(&format!("tag = {}\nvalue = {}", quoted(tag), quoted(value)));
                if let Some(quality) = quality {
                    line("# a reading whose quality is not good is none");
                    line(&format!("quality = {}", quoted(quality)));
                }
            }
            line("\n[columns]");
            for binding in self.bindings(sheets, 0) {
                line(&binding);
            }
        }
        for (name, key) in self.products() {
            let Some(row) = plant::row(key) else { continue };
            line(&format!("\n[[products]]\n# {}", row_in_words(row)));
            line(&format!("name = {}\nrow = {}", quoted(name), quoted(key)));
        }
        for question in self.questions(sheets) {
            line(&format!("# Required: {}", visible(&question.text(sheets, self))));
        }
        text
    }

    /// One of several loggers: what it is called and how it is joined, how its files are written, its columns.
    fn logger(&self, sheets: &Sheets, place: usize, leads: bool) -> String {
        let Some(DraftLogger { name, files, tolerance, .. }) = self.loggers.get(place) else {
            return String::new();
        };
        let mut lines = vec!["\n[[loggers]]".to_owned()];
        if leads {
            let words = "# It has the position of the flow diversion device: its rows are the rows of the record.";
            lines.push(words.to_owned());
        }
        lines.push(format!("name = {}", quoted(name)));
        for (key, said, ask, is_its) in [
            ("files", files, "one * for what differs from day to day", true),
            ("tolerance", tolerance, "such as \"2 s\"", !leads),
        ] {
            match said.trim() {
                _ if !is_its => {}
                "" => lines.push(format!("# {key} = \"\"   # required: {ask}")),
                said => lines.push(format!("{key} = {}", quoted(said))),
            }
        }
        let mut form: Vec<String> = self
            .files(sheets, place)
            .into_iter()
            .map(|(key, said)| format!("{key} = {}", quoted(&said)))
            .collect();
        if let Some(LongForm { tag, value, quality }) = long(sheets, place) {
            let quality = quality.iter().map(|quality| format!(", quality = {}", quoted(quality)));
            let quality: String = quality.collect();
            form.push(format!(
                "long = {{ tag = {}, value = {}{quality} }}",
                quoted(tag),
                quoted(value)
            ));
        }
        if !form.is_empty() {
            lines.push(format!("form = {{ {} }}", form.join(", ")));
        }
        lines.push("[loggers.columns]".to_owned());
        lines.extend(self.bindings(sheets, place));
        lines.join("\n")
    }

    /// What is said of how a logger's files are written.
    fn files(&self, sheets: &Sheets, place: usize) -> Vec<(&'static str, String)> {
        let (Some(said), Some(seen)) = (self.loggers.get(place), sheets.loggers.get(place)) else {
            return Vec::new();
        };
        let mark = said.decimal_mark.map(|mark| match mark {
            DecimalMark::Dot => ".",
            DecimalMark::Comma => ",",
        });
        let Logging { is_on_change, longest_hold, step } = &said.logging;
        let on_change = *is_on_change == Some(true) && said.logging.is_said();
        let time = self.column_of(sheets, place, Part::Time);
        let time = time.and_then(|column| sheets.columns.get(column));
        let days = said.day_numbers.filter(|_| time.is_some_and(is_day_numbers));
        let days = days.map(|from| match from {
            DayNumbers::From1900 => "1900",
            DayNumbers::From1904 => "1904",
        });
        let files = [
            ("logging", on_change.then_some("on change")),
            ("longest_hold", on_change.then_some(longest_hold.trim())),
            ("step", on_change.then_some(step.trim())),
            ("day_numbers", days),
            ("clock", said.is_standard_clock.then_some("standard")),
            ("date_order", said.date_order.map(plant::DateOrder::name)),
            ("decimal_mark", mark),
            ("sheet", seen.sheet.sheet.as_deref()),
        ];
        files.into_iter().filter_map(|(key, said)| Some((key, said?.to_owned()))).collect()
    }

    /// The lines of a logger's columns, in the order of their parts.
    fn bindings(&self, sheets: &Sheets, place: usize) -> Vec<String> {
        let Some(logger) = self.loggers.get(place) else { return Vec::new() };
        let mut used: Vec<(&DraftColumn, &SheetColumn, u64)> = sheets
            .columns_of(place)
            .filter_map(|(index, seen)| {
                Some((self.columns.get(index)?, seen, sheets.rows_of(index)))
            })
            .filter(|(column, ..)| column.part != Part::Unused)
            .collect();
        used.sort_by_key(|(column, ..)| column.part);
        used.into_iter().map(|(column, seen, rows)| binding(logger, column, seen, rows)).collect()
    }

    /// The products with the keys of their rows. A product that was held to none is not among them,
    /// so that it is held to the strictest.
    fn products(&self) -> Vec<(&str, &'static str)> {
        let Some(column) = self.column(Part::Role(Role::Product)) else {
            return self.row.iter().map(|&key| ("product", key)).collect();
        };
        let words = self.columns.get(column).into_iter().flat_map(|column| &column.words);
        words
            .filter_map(|word| match word.meaning {
                Some(Meaning::Row(key)) => Some((word.word.as_str(), key)),
                _ => None,
            })
            .collect()
    }
}

/// A built-in row in words: product, figures as printed, source and how it was seen.
pub fn row_in_words(row: &Row) -> String {
    let fahrenheit =
        row.fahrenheit.map_or_else(String::new, |figure| format!("{figure} \u{b0}F, "));
    format!(
        "{}: {fahrenheit}{} \u{b0}C for {}; {} ({})",
        row.product,
        row.celsius,
        row.time,
        row.citation,
        row.provenance.name()
    )
}

/// The columns of a logger that writes one reading a row.
fn long(sheets: &Sheets, place: usize) -> Option<&LongForm> {
    sheets.loggers.get(place)?.sheet.long.as_ref()
}

/// A column's line, with why it is taken for that and what it reads.
fn binding(logger: &DraftLogger, column: &DraftColumn, seen: &SheetColumn, rows: u64) -> String {
    let name = quoted(&seen.name);
    let mut text = String::new();
    let mut why = column.reason.words().to_owned();
    if let Some((least, greatest)) = seen.span.filter(|_| column.part.has_unit()) {
        let comma = if why.is_empty() { "" } else { "; " };
        let _written = write!(why, "{comma}reads {least} to {greatest}");
    }
    let unusable = seen.unusable(rows);
    if column.part.has_unit() && unusable > 0 {
        let _written = write!(why, "; {unusable} cells are no number");
    }
    if !why.is_empty() {
        let _written = writeln!(text, "# {}", visible(&why));
    }
    let Part::Role(role) = column.part else {
        let line = match column.part {
            Part::Date => format!("date = {name}"),
            Part::Year => format!("year = {name}"),
            Part::DayOfYear => format!("day_of_year = {name}"),
            Part::SinceStart => {
                let unit = logger.since.map_or("", symbol);
                let start = logger.start.as_deref().unwrap_or_default();
                let comment = if unit.is_empty() || start.is_empty() { "# " } else { "" };
                let (unit, start) = (quoted(unit), quoted(start));
                format!(
                    "{comment}since_start = {{ column = {name}, unit = {unit}, start = {start} }}"
                )
            }
            _ => format!("time = {name}"),
        };
        text.push_str(&line);
        return text;
    };
    let mut rest = String::new();
    if let Some(unit) = column.unit.filter(|_| column.part.has_unit()) {
        let _written = write!(rest, ", unit = {}", quoted(unit.symbol()));
    }
    for (key, meaning) in meanings(role) {
        let words: Vec<String> = column
            .words
            .iter()
            .filter(|word| word.meaning == Some(*meaning))
            .map(|word| quoted(&word.word))
            .collect();
        if !words.is_empty() {
            let _written = write!(rest, ", {key} = [{}]", words.join(", "));
        }
    }
    let _written = write!(text, "{} = {{ column = {name}{rest} }}", role.key());
    text
}

/// The keys of a column's words, and what each means.
const fn meanings(role: Role) -> &'static [(&'static str, Meaning)] {
    match role {
        Role::Valve => &[
            ("forward", Meaning::Position(ValveState::Forward)),
            ("divert", Meaning::Position(ValveState::Divert)),
            ("travel", Meaning::Position(ValveState::Travel)),
        ],
        Role::Mode => &[
            ("production", Meaning::Mode(Mode::Production)),
            ("water", Meaning::Mode(Mode::Water)),
            ("cleaning", Meaning::Mode(Mode::Cleaning)),
        ],
        _ => &[],
    }
}

/// A text as TOML writes it; what can't be seen as an escape.
fn quoted(text: &str) -> String {
    let written = Value::String(text.to_owned()).to_string();
    // A literal string has no escapes.
    if !text.chars().any(is_hidden) {
        return written;
    }
    let mut escaped = String::from('"');
    for character in text.chars() {
        match character {
            '"' | '\\' => escaped.extend(['\\', character]),
            hidden if is_hidden(hidden) => {
                let _written = write!(escaped, "\\U{:08x}", u32::from(hidden));
            }
            plain => escaped.push(plain),
        }
    }
    escaped.push('"');
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_is_read_back_as_it_was() {
        for text in ["TT 1", "a \"b\" 'c'", "\u{1b}[2J", "\u{202e}\\x\n", "\u{b0}F \u{200c}"] {
            let written = quoted(text);
            assert!(!written.chars().any(is_hidden), "{written:?}");
            let read: toml::Table = format!("key = {written}").parse().unwrap_or_default();
            assert_eq!(read.get("key").and_then(Value::as_str), Some(text), "{written}");
        }
    }
}
