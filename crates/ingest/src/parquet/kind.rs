//! What the values of a column mean, and how a logger would write each: all digits, none rounded.

use super::page::{Raw, Stored};
use super::thrift::Fields;
use chrono::{DateTime, NaiveDate, TimeDelta, Timelike as _};
use std::io::Write as _;

/// What the values of a column mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// What the stored form says by itself.
    Plain,
    Unsigned,
    /// So many digits stand behind the mark.
    Decimal(u32),
    /// Days since 1970.
    Date,
    /// Since midnight, so many in a second.
    Time(i64),
    /// Since 1970, so many in a second; whether in UTC, or on the clock of whoever wrote it.
    Stamp(i64, bool),
}

/// Nanoseconds in a second.
const NANO: i64 = 1_000_000_000;

impl Kind {
    /// What an element of the schema says.
    pub(super) fn of(element: &Fields<'_>) -> Self {
        let logical = element.fields(10).and_then(|union| Some((union.variant()?, union)));
        if let Some((variant, union)) = logical {
            let own = union.fields(variant);
            let unit = own.and_then(|own| own.fields(2)).and_then(Fields::variant);
            let in_second = match unit {
                Some(1) => 1000,
                Some(2) => 1_000_000,
                _ => NANO,
            };
            return match (variant, own) {
                (5, Some(own)) => decimal(own.int(1)),
                (6, _) => Self::Date,
                (7, _) => Self::Time(in_second),
                (8, Some(own)) => Self::Stamp(in_second, own.flag(1) == Some(true)),
                (10, Some(own)) if own.flag(2) == Some(false) => Self::Unsigned,
                _ => Self::Plain,
            };
        }
        match element.int(6) {
            Some(5) => decimal(element.int(7)),
            Some(6) => Self::Date,
            Some(7) => Self::Time(1000),
            Some(8) => Self::Time(1_000_000),
            // Files that know no other stamps have them in UTC.
            Some(9) => Self::Stamp(1000, true),
            Some(10) => Self::Stamp(1_000_000, true),
            Some(11..=14) => Self::Unsigned,
            _ => Self::Plain,
        }
    }

    /// Writes a value as a logger would; `false` where there is no way to write it.
    pub(super) fn write(self, stored: Stored, value: Raw<'_>, cell: &mut Vec<u8>) -> bool {
        let written = match (stored, self, value) {
            (_, _, Raw::Bool(truth)) => write!(cell, "{truth}"),
            (Stored::Float, _, Raw::Bytes(bytes)) => {
                let Ok(bytes) = bytes.try_into() else { return false };
                write!(cell, "{}", f32::from_le_bytes(bytes))
            }
            (Stored::Double, _, Raw::Bytes(bytes)) => {
                let Ok(bytes) = bytes.try_into() else { return false };
                write!(cell, "{}", f64::from_le_bytes(bytes))
            }
            (Stored::Int32 | Stored::Int64, _, Raw::Bytes(bytes)) => {
                let Some(number) = whole(bytes.iter().rev()) else { return false };
                return self.write_int(number as i64, stored, cell);
            }
            (_, _, Raw::Int(number)) => return self.write_int(number, stored, cell),
            // Nanoseconds of the day, then the day of Julius Scaliger; the clock is not said.
            (Stored::Int96, _, Raw::Bytes(bytes)) => {
                let Some((of_day, day)) = bytes.split_at_checked(8) else { return false };
                let (Some(of_day), Some(day)) =
                    (whole(of_day.iter().rev()), whole(day.iter().rev()))
                else {
                    return false;
                };
                let nanoseconds = (day - 2_440_588) * i128::from(86_400 * NANO) + of_day;
                return write_stamp(nanoseconds, false, cell);
            }
            (_, Self::Decimal(scale), Raw::Bytes(bytes)) => {
                let Some(number) = whole(bytes.iter()) else { return false };
                return write_decimal(number, scale, cell);
            }
            (Stored::Fixed(_), _, Raw::Bytes(bytes)) => {
                // No number to whoever reads the cell.
                let digits: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
                write!(cell, "0x{digits}")
            }
            (_, _, Raw::Bytes(text)) => cell.write_all(text),
        };
        written.is_ok()
    }

    fn write_int(self, number: i64, stored: Stored, cell: &mut Vec<u8>) -> bool {
        let written = match self {
            Self::Plain => write!(cell, "{number}"),
            Self::Unsigned if stored == Stored::Int32 => write!(cell, "{}", number as u32),
            Self::Unsigned => write!(cell, "{}", number as u64),
            Self::Decimal(scale) => return write_decimal(i128::from(number), scale, cell),
            Self::Date => match day(number) {
                Some(date) => write!(cell, "{date}"),
                None => return false,
            },
            Self::Time(in_second) => {
                return write_time(i128::from(number) * i128::from(NANO / in_second), cell);
            }
            Self::Stamp(in_second, is_utc) => {
                let nanoseconds = i128::from(number) * i128::from(NANO / in_second);
                return write_stamp(nanoseconds, is_utc, cell);
            }
        };
        written.is_ok()
    }
}

fn decimal(scale: Option<i64>) -> Kind {
    Kind::Decimal(scale.and_then(|scale| scale.try_into().ok()).unwrap_or(0))
}

/// A number of up to 16 bytes, the highest first, with its sign.
fn whole<'b>(bytes: impl ExactSizeIterator<Item = &'b u8>) -> Option<i128> {
    if bytes.len() > 16 {
        return None;
    }
    let mut number = None;
    for &byte in bytes {
        let above = number.unwrap_or(if byte >= 0x80 { -1_i128 } else { 0 });
        number = Some(above << 8 | i128::from(byte));
    }
    Some(number.unwrap_or(0))
}

fn day(days: i64) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(1970, 1, 1)?.checked_add_signed(TimeDelta::try_days(days)?)
}

/// A number with its mark put before the last digits.
fn write_decimal(number: i128, scale: u32, cell: &mut Vec<u8>) -> bool {
    // No decimal of 16 bytes has more digits.
    let scale = scale as usize;
    if scale > 38 {
        return false;
    }
    let sign = if number < 0 { "-" } else { "" };
    let digits = format!("{:0>least$}", number.unsigned_abs(), least = scale + 1);
    let (before, behind) = digits.split_at(digits.len() - scale);
    let mark = if scale > 0 { "." } else { "" };
    write!(cell, "{sign}{before}{mark}{behind}").is_ok()
}

/// A time of day, with as many digits of its fraction as it has by thousands.
fn write_time(nanoseconds: i128, cell: &mut Vec<u8>) -> bool {
    let Ok(nanoseconds) = i64::try_from(nanoseconds) else { return false };
    let of_day = chrono::NaiveTime::from_num_seconds_from_midnight_opt(
        u32::try_from(nanoseconds.div_euclid(NANO)).unwrap_or(u32::MAX),
        nanoseconds.rem_euclid(NANO) as u32,
    );
    let Some(time) = of_day else { return false };
    let fraction = time.nanosecond();
    let written = write!(cell, "{}", time.format("%H:%M:%S")).and_then(|()| match fraction {
        0 => Ok(()),
        _ if fraction.is_multiple_of(1_000_000) => write!(cell, ".{:03}", fraction / 1_000_000),
        _ if fraction.is_multiple_of(1000) => write!(cell, ".{:06}", fraction / 1000),
        _ => write!(cell, ".{fraction:09}"),
    });
    written.is_ok()
}

fn write_stamp(nanoseconds: i128, is_utc: bool, cell: &mut Vec<u8>) -> bool {
    let Ok(seconds) = i64::try_from(nanoseconds.div_euclid(i128::from(NANO))) else { return false };
    let Some(stamp) = DateTime::from_timestamp(seconds, 0) else { return false };
    let time = i128::from(stamp.num_seconds_from_midnight()) * i128::from(NANO)
        + nanoseconds.rem_euclid(i128::from(NANO));
    write!(cell, "{} ", stamp.date_naive()).is_ok()
        && write_time(time, cell)
        && (!is_utc || cell.write_all(b"Z").is_ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(kind: Kind, stored: Stored, bytes: &[u8]) -> String {
        let mut cell = Vec::new();
        let is_written = kind.write(stored, Raw::Bytes(bytes), &mut cell);
        if is_written { String::from_utf8_lossy(&cell).into_owned() } else { "none".to_owned() }
    }

    #[test]
    fn values_have_all_their_digits() {
        for (kind, stored, bytes, cell) in [
            (Kind::Plain, Stored::Double, &0.1_f64.to_le_bytes()[..], "0.1"),
            (Kind::Plain, Stored::Double, &1e-7_f64.to_le_bytes(), "0.0000001"),
            (Kind::Plain, Stored::Double, &f64::NAN.to_le_bytes(), "NaN"),
            (Kind::Plain, Stored::Float, &163.4_f32.to_le_bytes(), "163.4"),
            (Kind::Plain, Stored::Int32, &(-7_i32).to_le_bytes(), "-7"),
            (Kind::Unsigned, Stored::Int32, &(-1_i32).to_le_bytes(), "4294967295"),
            (Kind::Unsigned, Stored::Int64, &(-1_i64).to_le_bytes(), "18446744073709551615"),
            (Kind::Decimal(1), Stored::Int32, &1634_i32.to_le_bytes(), "163.4"),
            (Kind::Decimal(3), Stored::Int64, &(-5_i64).to_le_bytes(), "-0.005"),
            (Kind::Decimal(2), Stored::Fixed(3), &[0xff, 0xff, 0x9c], "-1.00"),
            (Kind::Decimal(0), Stored::Bytes, &[1, 0], "256"),
            (Kind::Decimal(0), Stored::Bytes, &[], "0"),
            (Kind::Decimal(0), Stored::Bytes, &[0; 17], "none"),
            (Kind::Decimal(39), Stored::Int32, &[0; 4], "none"),
            (Kind::Plain, Stored::Bytes, b"FWD", "FWD"),
            (Kind::Plain, Stored::Fixed(2), &[0x31, 0xe5], "0x31e5"),
        ] {
            assert_eq!(written(kind, stored, bytes), cell, "{kind:?} {bytes:?}");
        }
    }

    #[test]
    fn stamps_are_written_as_they_are_stored() {
        let stamp = 1_795_492_802_500_i64;
        for (kind, number, cell) in [
            (Kind::Stamp(1000, false), stamp, "2026-11-24 04:00:02.500"),
            (Kind::Stamp(1000, true), stamp, "2026-11-24 04:00:02.500Z"),
            (Kind::Stamp(1_000_000, true), stamp * 1000 + 1, "2026-11-24 04:00:02.500001Z"),
            (Kind::Stamp(NANO, false), stamp * 1_000_000 + 1, "2026-11-24 04:00:02.500000001"),
            (Kind::Stamp(1000, false), -1, "1969-12-31 23:59:59.999"),
            (Kind::Stamp(1000, false), i64::MAX, "none"),
            (Kind::Stamp(1000, false), i64::MIN, "none"),
            (Kind::Date, 20_781, "2026-11-24"),
            (Kind::Date, i64::MAX, "none"),
            (Kind::Time(1000), 14_402_500, "04:00:02.500"),
            (Kind::Time(1000), -1, "none"),
            (Kind::Time(1_000_000), 86_400_000_000, "none"),
        ] {
            assert_eq!(
                written(kind, Stored::Int64, &number.to_le_bytes()),
                cell,
                "{kind:?} {number}"
            );
        }
        let of_day = (14_402_i64 * NANO).to_le_bytes();
        let scaliger = [&of_day[..], &(20_781 + 2_440_588_i32).to_le_bytes()].concat();
        assert_eq!(written(Kind::Plain, Stored::Int96, &scaliger), "2026-11-24 04:00:02");
        for bytes in [[0xff; 12], [0x7f; 12]] {
            written(Kind::Plain, Stored::Int96, &bytes);
        }
    }
}
