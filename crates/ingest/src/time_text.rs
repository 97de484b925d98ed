//! The text of a time of day, with AM or PM and what stands of the zone behind it.

use crate::cells::trim;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Time<'a> {
    /// Of the day.
    pub(crate) milliseconds: u32,
    pub(crate) zone: ZoneText<'a>,
}

/// What stands behind a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ZoneText<'a> {
    Nothing,
    /// In minutes east of UTC.
    Offset(i16),
    Name(&'a [u8]),
}

/// A time of day up to the end of the text.
pub(crate) fn time(text: &[u8]) -> Option<Time<'_>> {
    let (hour, rest) = one_or_two(text)?;
    let two_digits = text.len() - rest.len() == 2;
    // 06:00 with a colon, 06.00.00 and 06-00-00 with all three numbers, 060000 without a mark.
    let (minute, seconds, compact) = match rest {
        [b':', rest @ ..] => {
            let (minute, rest) = two(rest)?;
            (minute, rest.strip_prefix(b":").ok_or(rest), false)
        }
        [mark @ (b'.' | b'-'), rest @ ..] => {
            let (minute, rest) = two(rest)?;
            (minute, Ok(rest.strip_prefix(&[*mark])?), false)
        }
        _ if two_digits => {
            let (minute, rest) = two(rest)?;
            (minute, if two(rest).is_some() { Ok(rest) } else { Err(rest) }, true)
        }
        _ => return None,
    };
    let (second, thousandths, rest) = match seconds {
        Ok(text) => {
            let (second, rest) = two(text)?;
            let (thousandths, rest) = fraction(rest, compact)?;
            (second, thousandths, rest)
        }
        Err(rest) => (0, 0, rest),
    };
    let (hour, zone) =
        if rest.is_empty() { (hour, ZoneText::Nothing) } else { suffix(hour, trim(rest))? };
    let clock = hour < 24 && minute < 60 && second < 60;
    let day_end = hour == 24 && minute == 0 && second == 0 && thousandths == 0;
    if !clock && !day_end {
        return None;
    }
    let milliseconds = (hour * 3600 + minute * 60 + second) * 1000 + thousandths;
    Some(Time { milliseconds, zone })
}

/// `6:5:3` or `6:5`, where the plant file says that times are written so.
pub(crate) fn unpadded(text: &[u8]) -> Option<Time<'_>> {
    let (hour, rest) = one_or_two(text)?;
    let (minute, rest) = one_or_two(rest.strip_prefix(b":")?)?;
    let (second, rest) = match rest.strip_prefix(b":") {
        Some(rest) => one_or_two(rest)?,
        None => (0, rest),
    };
    let (thousandths, rest) = fraction(rest, false)?;
    let (hour, zone) =
        if rest.is_empty() { (hour, ZoneText::Nothing) } else { suffix(hour, trim(rest))? };
    let is_clock = hour < 24 && minute < 60 && second < 60;
    let milliseconds = (hour * 3600 + minute * 60 + second) * 1000 + thousandths;
    is_clock.then_some(Time { milliseconds, zone })
}

/// `6`, where the plant file says that times are hours.
pub(crate) fn hour(text: &[u8]) -> Option<Time<'_>> {
    let (hour, rest) = one_or_two(text)?;
    (hour < 24 && rest.is_empty())
        .then_some(Time { milliseconds: hour * 3_600_000, zone: ZoneText::Nothing })
}

/// The thousandths behind the seconds, digits beyond them cut, and what follows: `.25`, `,250`, `:250`,
/// ` 250000`; without a mark only where there is none in the whole time.
fn fraction(text: &[u8], compact: bool) -> Option<(u32, &[u8])> {
    let count = |digits: &[u8]| digits.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let digits = match text {
        [b'.' | b',', digits @ ..] => (count(digits) > 0).then_some(digits)?,
        [b':', digits @ ..] => (count(digits) == 3).then_some(digits)?,
        [b' ', digits @ ..] if matches!(count(digits), 3 | 6) => digits,
        digits if compact && count(digits) == 3 => digits,
        _ => return Some((0, text)),
    };
    let (figures, rest) = digits.split_at(count(digits));
    let places = figures.iter().zip([100, 10, 1]);
    let thousandths = places.map(|(byte, place)| u32::from(byte - b'0') * place).sum();
    Some((thousandths, rest))
}

/// AM or PM and the zone behind a time.
fn suffix(hour: u32, text: &[u8]) -> Option<(u32, ZoneText<'_>)> {
    let (hour, rest) = half_of_day(hour, text)?;
    let rest = trim(rest);
    let zone = match rest {
        [] => ZoneText::Nothing,
        _ => match offset(rest) {
            Some(minutes) => ZoneText::Offset(minutes),
            None if is_zone_name(rest) => ZoneText::Name(rest),
            None => return None,
        },
    };
    Some((hour, zone))
}

/// `CST`, `CEST`: three to five letters.
fn is_zone_name(text: &[u8]) -> bool {
    (3..=5).contains(&text.len()) && text.iter().all(u8::is_ascii_uppercase)
}

/// The hour of the day, where AM or PM stands behind it, and what follows.
fn half_of_day(hour: u32, text: &[u8]) -> Option<(u32, &[u8])> {
    let (afternoon, rest) = match text {
        [b'a' | b'A', rest @ ..] => (false, rest),
        [b'p' | b'P', rest @ ..] => (true, rest),
        _ => return Some((hour, text)),
    };
    let rest = rest.strip_prefix(b".").unwrap_or(rest).trim_ascii_start();
    let rest = match rest {
        [b'm' | b'M', rest @ ..] => rest.strip_prefix(b".").unwrap_or(rest),
        // The name of a zone may begin so.
        _ => return Some((hour, text)),
    };
    if hour > 12 {
        return None;
    }
    Some((hour % 12 + if afternoon { 12 } else { 0 }, rest))
}

/// Minutes east of UTC: `Z`, `+01:00`, `UTC`, `GMT-6`.
pub(crate) fn offset(text: &[u8]) -> Option<i16> {
    let (text, named) = if text.len() >= 3
        && (text[..3].eq_ignore_ascii_case(b"utc") || text[..3].eq_ignore_ascii_case(b"gmt"))
    {
        (&text[3..], true)
    } else {
        (text, false)
    };
    let (sign, rest) = match text {
        [b'+', rest @ ..] => (1, rest),
        // The second is U+2212, the minus sign that ISO 8601 prefers.
        [b'-', rest @ ..] | [0xe2, 0x88, 0x92, rest @ ..] => (-1, rest),
        [b'Z' | b'z'] if !named => return Some(0),
        [] if named => return Some(0),
        _ => return None,
    };
    let (hours, rest) = if named { one_or_two(rest)? } else { two(rest)? };
    let (minutes, rest) = match rest {
        [] => (0, rest),
        _ => two(rest.strip_prefix(b":").unwrap_or(rest))?,
    };
    if !rest.is_empty() || hours > 15 || minutes > 59 {
        return None;
    }
    Some(sign * (hours * 60 + minutes) as i16)
}

fn digit(byte: u8) -> Option<u32> {
    byte.is_ascii_digit().then(|| u32::from(byte - b'0'))
}

/// Two digits, and what follows them.
fn two(text: &[u8]) -> Option<(u32, &[u8])> {
    match text {
        [tens, ones, rest @ ..] => Some((digit(*tens)? * 10 + digit(*ones)?, rest)),
        _ => None,
    }
}

/// One or two digits, and what follows them.
fn one_or_two(text: &[u8]) -> Option<(u32, &[u8])> {
    two(text).or_else(|| match text {
        [ones, rest @ ..] => Some((digit(*ones)?, rest)),
        [] => None,
    })
}
