//! Writing a run as CSV, the way loggers of different makes would.

use crate::error::Error;
use crate::record::{COLUMNS, Cell, Run, TIME_HEADER};
use plant::Zone;
use trace::{Decimal, DecimalMark, Instant};

/// How a logger writes its file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dialect {
    /// Between two cells.
    pub delimiter: char,
    /// Between whole and fractional digits.
    pub decimal_mark: DecimalMark,
    /// The bytes of the text.
    pub encoding: Encoding,
    /// The end of a line.
    pub newline: Newline,
    /// How an instant is written.
    pub stamps: Stamps,
    /// Which cells stand in quotes.
    pub quotes: Quotes,
    /// Lines before the header.
    pub preamble: Vec<String>,
    /// Whether a row of units follows the header.
    pub units_row: bool,
}

/// The bytes of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8.
    Utf8,
    /// UTF-8 behind a byte order mark.
    Utf8WithMark,
    /// UTF-16, low byte first, behind a byte order mark.
    Utf16LittleEndian,
    /// Windows-1252; only characters that it shares with Latin-1.
    Windows1252,
}

/// The end of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Newline {
    /// As on Unix.
    LineFeed,
    /// As on Windows.
    CarriageReturnLineFeed,
}

/// How an instant is written, always on the plant's clock and without its offset.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stamps {
    /// `2026-03-03 05:00:00`
    Iso,
    /// `2026-03-03T05:00:00`
    IsoWithT,
    /// `3/13/2026 5:00:00 AM`
    UnitedStates,
}

/// Which cells stand in quotes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quotes {
    /// Those that need it.
    WhereNeeded,
    /// The header and every cell that is not a number.
    Text,
}

impl Default for Dialect {
    /// Comma, dot, UTF-8, line feeds, ISO stamps.
    fn default() -> Self {
        Self {
            delimiter: ',',
            decimal_mark: DecimalMark::Dot,
            encoding: Encoding::Utf8,
            newline: Newline::LineFeed,
            stamps: Stamps::Iso,
            quotes: Quotes::WhereNeeded,
            preamble: Vec::new(),
            units_row: false,
        }
    }
}

/// Writes a run as CSV.
///
/// # Errors
/// When a text can't be written in the dialect's encoding.
pub fn write_csv(run: &Run, dialect: &Dialect) -> Result<Vec<u8>, Error> {
    let mut writer = Writer { dialect, text: String::with_capacity(run.rows.len() * 110) };
    for line in &dialect.preamble {
        writer.text.push_str(line);
        writer.end();
    }
    writer.word(TIME_HEADER);
    for column in COLUMNS {
        writer.text.push(dialect.delimiter);
        writer.word(column.header);
    }
    writer.end();
    if dialect.units_row {
        for column in COLUMNS {
            writer.text.push(dialect.delimiter);
            writer.word(column.unit);
        }
        writer.end();
    }
    for row in &run.rows {
        let stamp = dialect.stamps.write(row.instant, run.zone);
        writer.word(&stamp);
        for cell in &row.cells {
            writer.text.push(dialect.delimiter);
            match cell {
                Cell::Reading(decimal) => writer.reading(*decimal),
                Cell::Word(word) => writer.word(word),
            }
        }
        writer.end();
    }
    dialect.encoding.encode(&writer.text)
}

struct Writer<'a> {
    dialect: &'a Dialect,
    text: String,
}

impl Writer<'_> {
    fn reading(&mut self, decimal: Decimal) {
        let text = decimal.to_string();
        match self.dialect.decimal_mark {
            // A number needs quotes only where its mark is also the delimiter.
            DecimalMark::Comma if self.dialect.delimiter == ',' => {
                self.text.push('"');
                self.text.push_str(&text.replace('.', ","));
                self.text.push('"');
            }
            DecimalMark::Comma => self.text.push_str(&text.replace('.', ",")),
            DecimalMark::Dot => self.text.push_str(&text),
        }
    }

    fn word(&mut self, word: &str) {
        let needed = word.contains([self.dialect.delimiter, '"', '\r', '\n']);
        if needed || self.dialect.quotes == Quotes::Text {
            self.text.push('"');
            self.text.push_str(&word.replace('"', "\"\""));
            self.text.push('"');
        } else {
            self.text.push_str(word);
        }
    }

    fn end(&mut self) {
        self.text.push_str(match self.dialect.newline {
            Newline::LineFeed => "\n",
            Newline::CarriageReturnLineFeed => "\r\n",
        });
    }
}

impl Stamps {
    fn write(self, instant: Instant, zone: Zone) -> String {
        let local = zone.local(instant).naive_local();
        let whole = instant.unix_milliseconds().rem_euclid(1000) == 0;
        let format = match (self, whole) {
            (Self::Iso, true) => "%Y-%m-%d %H:%M:%S",
            (Self::Iso, false) => "%Y-%m-%d %H:%M:%S%.3f",
            (Self::IsoWithT, true) => "%Y-%m-%dT%H:%M:%S",
            (Self::IsoWithT, false) => "%Y-%m-%dT%H:%M:%S%.3f",
            (Self::UnitedStates, true) => "%-m/%-d/%Y %-I:%M:%S %p",
            (Self::UnitedStates, false) => "%-m/%-d/%Y %-I:%M:%S%.3f %p",
        };
        local.format(format).to_string()
    }
}

impl Encoding {
    fn encode(self, text: &str) -> Result<Vec<u8>, Error> {
        Ok(match self {
            Self::Utf8 => text.as_bytes().to_vec(),
            Self::Utf8WithMark => [b"\xef\xbb\xbf", text.as_bytes()].concat(),
            Self::Utf16LittleEndian => std::iter::once(0xfeff)
                .chain(text.encode_utf16())
                .flat_map(u16::to_le_bytes)
                .collect(),
            Self::Windows1252 => text
                .chars()
                .map(|character| match u32::from(character) {
                    code @ (0..0x80 | 0xa0..=0xff) => Ok(code as u8),
                    _ => Err(Error::Encoding { character, encoding: "Windows-1252" }),
                })
                .collect::<Result<_, _>>()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::Row;
    use crate::truth::Truth;

    fn run() -> Option<Run> {
        let zone = "America/Chicago".parse().ok()?;
        let reading = |mantissa| Cell::Reading(Decimal::new(mantissa, 1));
        let word = |word: &str| Cell::Word(word.into());
        let cells = [
            word("FWD"),
            reading(1638),
            reading(1634),
            reading(-27),
            reading(210),
            reading(500),
            reading(376),
            word(""),
            reading(1675),
            reading(353),
            word("cream, 36 %"),
            word("a\"b"),
            word("run"),
        ];
        let beside = crate::record::Beside {
            timing_pump: true,
            booster: true,
            high_flow: false,
            low_flow: false,
            by_hand: false,
            cleaning_return: Decimal::whole(70),
            media: [Decimal::whole(2); 2],
        };
        // 2026-03-13 13:05:09 CDT
        let instant = Instant::from_unix_milliseconds(1_773_425_109_000);
        Some(Run { zone, rows: vec![Row { instant, cells, beside }], truth: Truth::default() })
    }

    fn last_line(dialect: &Dialect) -> String {
        let bytes = run().and_then(|run| write_csv(&run, dialect).ok()).unwrap_or_default();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        text.lines().last().unwrap_or_default().to_owned()
    }

    #[test]
    fn each_dialect_writes_the_same_row_its_way() {
        let default = Dialect::default();
        let semicolon =
            Dialect { delimiter: ';', decimal_mark: DecimalMark::Comma, ..default.clone() };
        let states = Dialect { delimiter: '\t', stamps: Stamps::UnitedStates, ..default.clone() };
        let quoted = Dialect { quotes: Quotes::Text, stamps: Stamps::IsoWithT, ..default.clone() };
        for (dialect, line) in [
            (
                &default,
                "2026-03-13 13:05:09,FWD,163.8,163.4,-2.7,21.0,50.0,37.6,,167.5,35.3,\
                 \"cream, 36 %\",\"a\"\"b\",run",
            ),
            (
                &semicolon,
                "2026-03-13 13:05:09;FWD;163,8;163,4;-2,7;21,0;50,0;37,6;;167,5;35,3;\
                 cream, 36 %;\"a\"\"b\";run",
            ),
            (
                &states,
                "3/13/2026 1:05:09 PM\tFWD\t163.8\t163.4\t-2.7\t21.0\t50.0\t37.6\t\t167.5\t35.3\t\
                 cream, 36 %\t\"a\"\"b\"\trun",
            ),
            (
                &quoted,
                "\"2026-03-13T13:05:09\",\"FWD\",163.8,163.4,-2.7,21.0,50.0,37.6,\"\",167.5,35.3,\
                 \"cream, 36 %\",\"a\"\"b\",\"run\"",
            ),
        ] {
            assert_eq!(last_line(dialect), line);
        }
    }

    #[test]
    fn encodings_have_the_bytes_of_their_standards() {
        // U+00B0: UTF-8 (RFC 3629) C2 B0, UTF-16LE (RFC 2781) B0 00, Windows-1252 B0.
        for (encoding, bytes) in [
            (Encoding::Utf8, vec![0xc2, 0xb0]),
            (Encoding::Utf8WithMark, vec![0xef, 0xbb, 0xbf, 0xc2, 0xb0]),
            (Encoding::Utf16LittleEndian, vec![0xff, 0xfe, 0xb0, 0x00]),
            (Encoding::Windows1252, vec![0xb0]),
        ] {
            assert_eq!(encoding.encode("°").ok(), Some(bytes), "{encoding:?}");
        }
        assert!(Encoding::Windows1252.encode("€").is_err());
    }
}
