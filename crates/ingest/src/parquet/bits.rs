//! Numbers of a few bits each: runs and packed groups (Parquet's RLE/bit-packing hybrid) and differences
//! between neighbours (`DELTA_BINARY_PACKED`). Each is a place in a page that moves on by one number.

use super::fault::Damaged;
use super::thrift::{varint, zigzag};

/// The number of `width` bits, 64 at most, that begins at this bit; the lowest bit first.
fn bits(bytes: &[u8], at: usize, width: usize) -> Result<u64, Damaged> {
    let end = at.checked_add(width).ok_or(Damaged)?.div_ceil(8);
    let touched = bytes.get(at / 8..end).ok_or(Damaged)?;
    let all = touched.iter().rev().fold(0_u128, |all, &byte| all << 8 | u128::from(byte));
    let mask = (1_u128 << width) - 1;
    Ok((all >> (at % 8) & mask) as u64)
}

/// A place among runs and packed groups.
#[derive(Debug, Clone)]
pub(super) struct Hybrid {
    at: usize,
    end: usize,
    width: usize,
    run: Run,
}

#[derive(Debug, Clone)]
enum Run {
    Repeated { left: u64, value: u64 },
    Packed { left: u64, bit: usize },
}

impl Hybrid {
    /// Of numbers of `width` bits between two places of a page.
    pub(super) fn new(at: usize, end: usize, width: u8) -> Result<Self, Damaged> {
        let width = usize::from(width);
        let none = Run::Repeated { left: 0, value: 0 };
        if width > 32 { Err(Damaged) } else { Ok(Self { at, end, width, run: none }) }
    }

    pub(super) fn next(&mut self, page: &[u8]) -> Result<u64, Damaged> {
        let page = page.get(..self.end).ok_or(Damaged)?;
        loop {
            match &mut self.run {
                Run::Repeated { left: 0, .. } | Run::Packed { left: 0, .. } => self.begin(page)?,
                Run::Repeated { left, value } => {
                    *left -= 1;
                    return Ok(*value);
                }
                Run::Packed { left, bit } => {
                    let value = bits(page, *bit, self.width)?;
                    *left -= 1;
                    *bit += self.width;
                    return Ok(value);
                }
            }
        }
    }

    /// Begins with the next run; each takes a byte at least.
    fn begin(&mut self, page: &[u8]) -> Result<(), Damaged> {
        let head = varint(page, &mut self.at)?;
        let (count, is_packed) = (head >> 1, head & 1 == 1);
        if is_packed {
            // Groups of eight numbers, which take as many bytes as a number has bits.
            let groups = usize::try_from(count).map_err(|_too_large| Damaged)?;
            let bytes = groups.checked_mul(self.width).ok_or(Damaged)?;
            let bit = self.at.checked_mul(8).ok_or(Damaged)?;
            self.run = Run::Packed { left: count.checked_mul(8).ok_or(Damaged)?, bit };
            self.at = self.at.checked_add(bytes).ok_or(Damaged)?;
        } else {
            let value = bits(page, self.at * 8, self.width.next_multiple_of(8))?;
            self.run = Run::Repeated { left: count, value };
            self.at += self.width.div_ceil(8);
        }
        Ok(())
    }
}

/// A place among differences.
#[derive(Debug, Clone)]
pub(super) struct Delta {
    at: usize,
    left: u64,
    last: i64,
    /// Whether the last number is still to be given.
    is_first: bool,
    /// Of each block, and of each part of it.
    parts: usize,
    in_part: usize,
    least: i64,
    /// Where the widths of the parts of this block stand, and how many parts have begun.
    widths: usize,
    begun: usize,
    left_in_part: usize,
    width: usize,
    bit: usize,
}

impl Delta {
    /// Of at most so many numbers, which begin at a place of a page.
    pub(super) fn new(page: &[u8], mut at: usize, most: u64) -> Result<Self, Damaged> {
        let small = |number: u64| {
            let number = usize::try_from(number).ok().filter(|number| *number <= 1 << 24);
            number.ok_or(Damaged)
        };
        let block = small(varint(page, &mut at)?)?;
        let parts = small(varint(page, &mut at)?)?;
        let left = varint(page, &mut at)?;
        let last = zigzag(page, &mut at)?;
        let in_part = block.checked_div(parts).ok_or(Damaged)?;
        if left > most || in_part == 0 || !in_part.is_multiple_of(8) || in_part * parts != block {
            return Err(Damaged);
        }
        let (begun, widths) = (parts, at);
        Ok(Self {
            at,
            left,
            last,
            is_first: true,
            parts,
            in_part,
            least: 0,
            widths,
            begun,
            left_in_part: 0,
            width: 0,
            bit: 0,
        })
    }

    pub(super) fn next(&mut self, page: &[u8]) -> Result<i64, Damaged> {
        self.left = self.left.checked_sub(1).ok_or(Damaged)?;
        if std::mem::take(&mut self.is_first) {
            return Ok(self.last);
        }
        if self.left_in_part == 0 {
            self.begin(page)?;
        }
        let more = bits(page, self.bit, self.width)?;
        self.bit += self.width;
        self.left_in_part -= 1;
        self.last = self.last.wrapping_add(self.least).wrapping_add(more as i64);
        Ok(self.last)
    }

    /// Begins with the next part, and with the next block where that was its last.
    fn begin(&mut self, page: &[u8]) -> Result<(), Damaged> {
        if self.begun == self.parts {
            self.least = zigzag(page, &mut self.at)?;
            self.widths = self.at;
            self.at = self.at.checked_add(self.parts).ok_or(Damaged)?;
            self.begun = 0;
        }
        self.width = usize::from(*page.get(self.widths + self.begun).ok_or(Damaged)?);
        self.begun += 1;
        if self.width > 64 {
            return Err(Damaged);
        }
        self.left_in_part = self.in_part;
        self.bit = self.at.checked_mul(8).ok_or(Damaged)?;
        self.at = self.at.checked_add(self.in_part * self.width / 8).ok_or(Damaged)?;
        Ok(())
    }

    /// Where the last of its numbers ends in the page.
    pub(super) fn end(&self, page: &[u8]) -> Result<usize, Damaged> {
        let mut rest = self.clone();
        while rest.left > 0 {
            rest.next(page)?;
        }
        Ok(rest.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_and_packed_groups() {
        // The format's own example: 0 to 7 in three bits; and a run of five sevens.
        let page = [0b11, 0b1000_1000, 0b1100_0110, 0b1111_1010, 10, 7];
        let mut hybrid = Hybrid::new(0, page.len(), 3).unwrap_or_else(|_| panic!("not begun"));
        let read: Vec<_> = (0..14).map_while(|_| hybrid.next(&page).ok()).collect();
        assert_eq!(read, [0, 1, 2, 3, 4, 5, 6, 7, 7, 7, 7, 7, 7]);
    }

    #[test]
    fn differences() {
        // Blocks of 128 in four parts; 7, 5, 3, 1, 2: least difference -2, then 0, 0, 0, 3 in two bits.
        let mut page = vec![0x80, 1, 4, 5, 14, 3, 2, 0, 0, 0, 0b1100_0000];
        page.resize(11 + 7, 0);
        page.push(0xff);
        let mut delta = Delta::new(&page, 0, 5).unwrap_or_else(|_| panic!("not begun"));
        assert_eq!(delta.end(&page), Ok(18), "the part is filled up");
        let read: Vec<_> = (0..9).map_while(|_| delta.next(&page).ok()).collect();
        assert_eq!(read, [7, 5, 3, 1, 2]);
        assert!(Delta::new(&page, 0, 4).is_err(), "more than there are rows");
        assert!(Delta::new(&[0x80, 1, 0, 5, 14], 0, 5).is_err(), "no parts");
    }

    #[test]
    fn what_stands_behind_the_end_is_no_number() {
        let mut packed = Hybrid::new(0, 2, 8).unwrap_or_else(|_damaged| panic!("not begun"));
        assert_eq!(packed.next(&[3, 1, 2, 3]), Ok(1));
        assert_eq!(packed.next(&[3, 1, 2, 3]), Err(Damaged));
        assert!(Hybrid::new(0, 2, 33).is_err());
        for page in [&[0xff; 30][..], &[], &[2]] {
            let mut hybrid = Hybrid::new(0, page.len(), 32).unwrap_or_else(|_| panic!("{page:?}"));
            assert_eq!(hybrid.next(page), Err(Damaged));
        }
    }
}
