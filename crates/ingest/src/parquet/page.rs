//! A page of a column: found in the file, unpacked, and read value by value.

use super::bits::{Delta, Hybrid};
use super::fault::{Damaged, Why};
use super::thrift::{self, Fields};
use flate2::read::MultiGzDecoder;
use std::borrow::Cow;
use std::io::Read as _;

/// No page takes more unpacked (ours): programs write pages of a megabyte.
const LARGEST_PAGE: usize = 256 << 20;

/// Of so many bytes the head of a page may take (ours): it can hold the least and the greatest value.
const LARGEST_HEAD: usize = 1 << 20;

/// How the values of a column are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stored {
    Bool,
    Int32,
    Int64,
    Int96,
    Float,
    Double,
    Bytes,
    Fixed(usize),
}

impl Stored {
    /// The bytes of a value, where all have as many.
    const fn width(self) -> Option<usize> {
        match self {
            Self::Int32 | Self::Float => Some(4),
            Self::Int64 | Self::Double => Some(8),
            Self::Int96 => Some(12),
            Self::Fixed(width) => Some(width),
            Self::Bool | Self::Bytes => None,
        }
    }
}

/// A value: a number of 32 or 64 bits as its bytes, the lowest first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Raw<'a> {
    Bool(bool),
    Int(i64),
    Bytes(&'a [u8]),
}

/// How much may still be taken out of a file.
pub(super) struct Budget(pub(super) usize);

impl Budget {
    fn spend(&mut self, bytes: usize) -> Result<(), Why> {
        self.0 = self.0.checked_sub(bytes).ok_or(Why::TooLarge)?;
        Ok(())
    }
}

/// What a column takes along from page to page.
pub(super) struct Source<'f> {
    /// The file without what stands behind its pages.
    pub(super) file: &'f [u8],
    pub(super) at: usize,
    pub(super) codec: i64,
    pub(super) stored: Stored,
    pub(super) has_nulls: bool,
    dictionary: Option<Dictionary<'f>>,
}

struct Dictionary<'f> {
    bytes: Cow<'f, [u8]>,
    /// Where its texts stand; nothing where all values have one width.
    entries: Vec<(u32, u32)>,
}

/// The rest of a page.
pub(super) struct Page<'f> {
    bytes: Cow<'f, [u8]>,
    /// Rows that have not been read.
    pub(super) left: u64,
    /// Which of them have a value.
    present: Option<Hybrid>,
    values: Values,
}

/// Where the next value stands.
enum Values {
    Plain(usize),
    Dictionary(Hybrid),
    Runs(Hybrid),
    Delta(Delta),
    Lengths {
        lengths: Delta,
        at: usize,
    },
    Fronts {
        fronts: Delta,
        lengths: Delta,
        at: usize,
        text: Vec<u8>,
    },
    /// The first bytes of all values, then the second; one more is read each time.
    Split {
        at: usize,
        count: usize,
        next: usize,
        value: Vec<u8>,
    },
}

impl<'f> Source<'f> {
    pub(super) const fn new(
        (file, at): (&'f [u8], usize),
        codec: i64,
        stored: Stored,
        has_nulls: bool,
    ) -> Self {
        Self { file, at, codec, stored, has_nulls, dictionary: None }
    }

    /// The next page that has rows, of which there are at most so many.
    pub(super) fn page(&mut self, most: u64, budget: &mut Budget) -> Result<Page<'f>, Why> {
        loop {
            let rest = self.file.get(self.at..).ok_or(Damaged)?;
            let (head, length) = thrift::read(rest.get(..LARGEST_HEAD).unwrap_or(rest))?;
            let (unpacked, packed) = (head.count(2)?, head.count(3)?);
            let end = length.checked_add(packed).ok_or(Damaged)?;
            let body = rest.get(length..end).ok_or(Damaged)?;
            self.at = self.at.checked_add(end).ok_or(Damaged)?;
            if unpacked > LARGEST_PAGE {
                return Err(Why::TooLarge);
            }
            budget.spend(unpacked.max(end))?;
            if let Some(crc) = head.int(4) {
                let mut sum = flate2::Crc::new();
                sum.update(body);
                if sum.sum() != crc as u32 {
                    return Err(Damaged.into());
                }
            }
            let page = match head.int(1) {
                Some(0) => self.first_version(&head, body, unpacked, most)?,
                Some(3) => self.second_version(&head, body, unpacked, most)?,
                Some(2) => {
                    self.take_dictionary(&head, body, unpacked)?;
                    continue;
                }
                // An index is not needed.
                _ => continue,
            };
            if page.left > 0 {
                return Ok(page);
            }
        }
    }

    fn take_dictionary(
        &mut self,
        head: &Fields<'_>,
        body: &'f [u8],
        unpacked: usize,
    ) -> Result<(), Why> {
        let own = head.fields(7).ok_or(Damaged)?;
        let count = own.count(1)?;
        if !matches!(own.int(2), Some(0 | 2)) {
            return Err(Why::Encoding);
        }
        let bytes = unpack(self.codec, body, unpacked)?;
        let mut entries = Vec::new();
        if self.stored == Stored::Bytes {
            let mut at = 0;
            // Each takes four bytes at least, which ends a dictionary that says too much.
            for _ in 0..count {
                let text = text_at(&bytes, at)?;
                entries.push((text.start as u32, text.end as u32));
                at = text.end;
            }
        }
        self.dictionary = Some(Dictionary { bytes, entries });
        Ok(())
    }

    fn first_version(
        &self,
        head: &Fields<'_>,
        body: &'f [u8],
        unpacked: usize,
        most: u64,
    ) -> Result<Page<'f>, Why> {
        let own = head.fields(5).ok_or(Damaged)?;
        let bytes = unpack(self.codec, body, unpacked)?;
        let mut at = 0;
        let mut present = None;
        if self.has_nulls {
            // Levels that are packed without a length are of files older than version 2 of the format.
            if own.int(3) != Some(3) {
                return Err(Why::Encoding);
            }
            let levels = text_at(&bytes, 0)?;
            at = levels.end;
            present = Some(Hybrid::new(levels.start, levels.end, 1)?);
        }
        self.begin(bytes, at, present, (own.count(1)?, own.int(2)), most)
    }

    fn second_version(
        &self,
        head: &Fields<'_>,
        body: &'f [u8],
        unpacked: usize,
        most: u64,
    ) -> Result<Page<'f>, Why> {
        let own = head.fields(8).ok_or(Damaged)?;
        let (of_levels, of_repetition) = (own.count(5)?, own.count(6)?);
        if of_repetition > 0 {
            return Err(Damaged.into());
        }
        let (levels, values) = body.split_at_checked(of_levels).ok_or(Damaged)?;
        let of_values = unpacked.checked_sub(of_levels).ok_or(Damaged)?;
        let is_packed = own.flag(7).unwrap_or(true) && !values.is_empty();
        let bytes = match unpack(if is_packed { self.codec } else { 0 }, values, of_values)? {
            _ if levels.is_empty() && !is_packed => Cow::Borrowed(body),
            values => Cow::Owned([levels, &*values].concat()),
        };
        let present = if self.has_nulls { Some(Hybrid::new(0, of_levels, 1)?) } else { None };
        self.begin(bytes, of_levels, present, (own.count(1)?, own.int(4)), most)
    }

    /// A page of so many rows whose values begin at a place.
    fn begin(
        &self,
        bytes: Cow<'f, [u8]>,
        at: usize,
        present: Option<Hybrid>,
        (rows, encoding): (usize, Option<i64>),
        most: u64,
    ) -> Result<Page<'f>, Why> {
        let left = rows as u64;
        if left > most {
            return Err(Damaged.into());
        }
        let end = bytes.len();
        let values = match (encoding, self.stored) {
            // Nothing but blanks.
            (_, _) if at == end => Values::Plain(at),
            // Bits are counted in eighths of a byte.
            (Some(0), Stored::Bool) => Values::Plain(at * 8),
            (Some(0), _) => Values::Plain(at),
            (Some(2 | 8), _) => {
                let width = *bytes.get(at).ok_or(Damaged)?;
                Values::Dictionary(Hybrid::new(at + 1, end, width)?)
            }
            (Some(3), Stored::Bool) => {
                let runs = text_at(bytes.get(at..).ok_or(Damaged)?, 0)?;
                Values::Runs(Hybrid::new(at + runs.start, at + runs.end, 1)?)
            }
            (Some(5), Stored::Int32 | Stored::Int64) => {
                Values::Delta(Delta::new(&bytes, at, left)?)
            }
            (Some(6), Stored::Bytes) => {
                let lengths = Delta::new(&bytes, at, left)?;
                Values::Lengths { at: lengths.end(&bytes)?, lengths }
            }
            (Some(7), Stored::Bytes | Stored::Fixed(_)) => {
                let fronts = Delta::new(&bytes, at, left)?;
                let lengths = Delta::new(&bytes, fronts.end(&bytes)?, left)?;
                Values::Fronts { at: lengths.end(&bytes)?, fronts, lengths, text: Vec::new() }
            }
            (Some(9), stored) => {
                let width = stored.width().filter(|width| *width > 0).ok_or(Why::Encoding)?;
                if !(end - at).is_multiple_of(width) {
                    return Err(Damaged.into());
                }
                let count = (end - at) / width;
                Values::Split { at, count, next: 0, value: vec![0; width] }
            }
            _ => return Err(Why::Encoding),
        };
        Ok(Page { bytes, left, present, values })
    }
}

impl Page<'_> {
    /// The value of the next row.
    pub(super) fn next<'p>(
        &'p mut self,
        source: &'p Source<'_>,
    ) -> Result<Option<Raw<'p>>, Damaged> {
        self.left = self.left.checked_sub(1).ok_or(Damaged)?;
        let bytes: &[u8] = &self.bytes;
        if let Some(present) = &mut self.present
            && present.next(bytes)? == 0
        {
            return Ok(None);
        }
        let value = match &mut self.values {
            Values::Plain(at) => match (source.stored, source.stored.width()) {
                (Stored::Bool, _) => {
                    let byte = bytes.get(*at / 8).ok_or(Damaged)?;
                    let bit = byte >> (*at % 8) & 1;
                    *at += 1;
                    Raw::Bool(bit == 1)
                }
                (_, Some(width)) => {
                    let end = at.checked_add(width).ok_or(Damaged)?;
                    Raw::Bytes(bytes.get(std::mem::replace(at, end)..end).ok_or(Damaged)?)
                }
                (_, None) => {
                    let text = text_at(bytes, *at)?;
                    *at = text.end;
                    Raw::Bytes(bytes.get(text).ok_or(Damaged)?)
                }
            },
            Values::Dictionary(indices) => {
                let index = indices.next(bytes)? as usize;
                let dictionary = source.dictionary.as_ref().ok_or(Damaged)?;
                let place = match source.stored.width() {
                    Some(width) => {
                        let begin = index.checked_mul(width).ok_or(Damaged)?;
                        begin..begin.checked_add(width).ok_or(Damaged)?
                    }
                    None => {
                        let entry = *dictionary.entries.get(index).ok_or(Damaged)?;
                        entry.0 as usize..entry.1 as usize
                    }
                };
                Raw::Bytes(dictionary.bytes.get(place).ok_or(Damaged)?)
            }
            Values::Runs(runs) => Raw::Bool(runs.next(bytes)? == 1),
            Values::Delta(delta) => {
                let number = delta.next(bytes)?;
                let is_short = source.stored == Stored::Int32;
                Raw::Int(if is_short { i64::from(number as i32) } else { number })
            }
            Values::Lengths { lengths, at } => Raw::Bytes(of_length(bytes, lengths, at)?),
            Values::Fronts { fronts, lengths, at, text } => {
                let front = usize::try_from(fronts.next(bytes)?).map_err(|_negative| Damaged)?;
                if front > text.len() {
                    return Err(Damaged);
                }
                text.truncate(front);
                text.extend_from_slice(of_length(bytes, lengths, at)?);
                if text.len() > LARGEST_PAGE {
                    return Err(Damaged);
                }
                Raw::Bytes(text)
            }
            Values::Split { at, count, next, value } => {
                if *next >= *count {
                    return Err(Damaged);
                }
                for (place, byte) in value.iter_mut().enumerate() {
                    *byte = *bytes.get(*at + place * *count + *next).ok_or(Damaged)?;
                }
                *next += 1;
                Raw::Bytes(value)
            }
        };
        Ok(Some(value))
    }
}

/// The bytes at a place, of which the next of the lengths says how many they are.
fn of_length<'p>(
    bytes: &'p [u8],
    lengths: &mut Delta,
    at: &mut usize,
) -> Result<&'p [u8], Damaged> {
    let length = usize::try_from(lengths.next(bytes)?).map_err(|_negative| Damaged)?;
    let end = at.checked_add(length).ok_or(Damaged)?;
    let text = bytes.get(*at..end).ok_or(Damaged)?;
    *at = end;
    Ok(text)
}

/// Where the bytes stand of which four bytes before them say how many they are.
fn text_at(bytes: &[u8], at: usize) -> Result<std::ops::Range<usize>, Damaged> {
    let (length, _) = bytes.get(at..).and_then(<[u8]>::split_first_chunk).ok_or(Damaged)?;
    let start = at + 4;
    let end = start.checked_add(u32::from_le_bytes(*length) as usize).ok_or(Damaged)?;
    if end > bytes.len() { Err(Damaged) } else { Ok(start..end) }
}

/// Unpacks a page that says how long it is.
fn unpack(codec: i64, packed: &[u8], length: usize) -> Result<Cow<'_, [u8]>, Why> {
    let unpacked = match codec {
        0 => return if packed.len() == length { Ok(packed.into()) } else { Err(Damaged.into()) },
        1 => {
            if snap::raw::decompress_len(packed).ok() != Some(length) {
                return Err(Damaged.into());
            }
            snap::raw::Decoder::new().decompress_vec(packed).map_err(|_cause| Damaged)?
        }
        2 => {
            let mut unpacked = Vec::new();
            let mut bounded = MultiGzDecoder::new(packed).take(length as u64 + 1);
            bounded.read_to_end(&mut unpacked).map_err(|_cause| Damaged)?;
            unpacked
        }
        6 => zstd::bulk::decompress(packed, length).map_err(|_cause| Damaged)?,
        _ => return Err(Why::Codec),
    };
    if unpacked.len() == length { Ok(unpacked.into()) } else { Err(Damaged.into()) }
}
