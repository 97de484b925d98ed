//! Chunks of bytes to lines, with a guard against lines without end.
//!
//! A line is what stands between two line ends (LF, CR LF, or a lone CR, as old instruments and printers
//! write it, wherever in the file), whatever quotes it holds: whether a quoted cell goes on in the next
//! line is for the reader of rows to say.

use crate::error::Error;
use memchr::{memchr_iter, memchr2_iter};

/// No line of a logger is longer: 1 MiB.
pub(crate) const LONGEST_LINE: usize = 1 << 20;

/// Cuts chunks into lines; keeps only the unfinished end of a chunk.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    carry: Vec<u8>,
    /// The number of the last line that was handed on.
    line: u64,
}

/// What `Lines` hands on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line<'a> {
    /// Counted from 1.
    pub(crate) number: u64,
    /// Without its line end.
    pub(crate) bytes: &'a [u8],
    /// Whether the file goes on after it, so that it is not cut.
    pub(crate) ended: bool,
}

/// A line is too long; its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct TooLong(pub(crate) u64);

/// Why the lines of a file are not read to their end.
pub(crate) enum LineError {
    TooLong(TooLong),
    Other(Box<Error>),
}

impl LineError {
    /// The error of a file.
    pub(crate) fn of(self, file: &str) -> Error {
        match self {
            Self::TooLong(TooLong(line)) => Error::LineTooLong { file: file.to_owned(), line },
            Self::Other(error) => *error,
        }
    }
}

impl From<TooLong> for LineError {
    fn from(error: TooLong) -> Self {
        Self::TooLong(error)
    }
}

impl From<Error> for LineError {
    fn from(error: Error) -> Self {
        Self::Other(Box::new(error))
    }
}

impl Lines {
    /// Hands on every line that ends in this chunk.
    pub(crate) fn feed<E: From<TooLong>>(
        &mut self,
        chunk: &[u8],
        mut each: impl FnMut(Line<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        if self.carry.ends_with(b"\r") && chunk.first().is_some_and(|&byte| byte != b'\n') {
            self.hand_on(b"", &mut each)?;
        }
        let mut start = 0;
        if has_lone_return(chunk) {
            for at in memchr2_iter(b'\n', b'\r', chunk) {
                // A CR before LF is part of that line end; one at the chunk's end may be.
                if chunk[at] == b'\r' && chunk.get(at + 1).is_none_or(|&next| next == b'\n') {
                    continue;
                }
                self.hand_on(&chunk[start..at], &mut each)?;
                start = at + 1;
            }
        } else {
            for at in memchr_iter(b'\n', chunk) {
                self.hand_on(&chunk[start..at], &mut each)?;
                start = at + 1;
            }
        }
        let rest = &chunk[start..];
        if self.carry.len() + rest.len() > LONGEST_LINE {
            return Err(TooLong(self.line + 1).into());
        }
        self.carry.extend_from_slice(rest);
        Ok(())
    }

    /// Hands on a line that ends with these bytes.
    #[inline]
    fn hand_on<E: From<TooLong>>(
        &mut self,
        bytes: &[u8],
        each: &mut impl FnMut(Line<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        self.line += 1;
        let number = self.line;
        if self.carry.len() + bytes.len() > LONGEST_LINE {
            return Err(TooLong(number).into());
        }
        if self.carry.is_empty() {
            return each(Line { number, bytes: without_return(bytes), ended: true });
        }
        self.carry.extend_from_slice(bytes);
        each(Line { number, bytes: without_return(&self.carry), ended: true })?;
        self.carry.clear();
        Ok(())
    }

    /// Hands on what stands after the last line end, if anything.
    pub(crate) fn finish<E>(
        &mut self,
        mut each: impl FnMut(Line<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        if self.carry.is_empty() {
            return Ok(());
        }
        self.line += 1;
        let carry = std::mem::take(&mut self.carry);
        let bytes = without_return(&carry);
        each(Line { number: self.line, bytes, ended: bytes.len() < carry.len() })
    }
}

/// Whether there is a CR with something else than LF behind it.
fn has_lone_return(chunk: &[u8]) -> bool {
    memchr_iter(b'\r', chunk).any(|at| chunk.get(at + 1).is_some_and(|&next| next != b'\n'))
}

fn without_return(line: &[u8]) -> &[u8] {
    line.strip_suffix(b"\r").unwrap_or(line)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lines(chunks: &[&[u8]]) -> Result<Vec<(u64, String, bool)>, TooLong> {
        let mut lines = Lines::default();
        let mut seen = Vec::new();
        let mut each = |line: Line<'_>| {
            seen.push((line.number, String::from_utf8_lossy(line.bytes).into_owned(), line.ended));
            Ok::<(), TooLong>(())
        };
        for chunk in chunks {
            lines.feed(chunk, &mut each)?;
        }
        lines.finish(&mut each)?;
        Ok(seen)
    }

    #[test]
    fn line_ends_of_all_systems() {
        for (text, expected) in [
            ("a\nb\n", vec![(1, "a", true), (2, "b", true)]),
            ("a\r\nb", vec![(1, "a", true), (2, "b", false)]),
            ("a\rb\r", vec![(1, "a", true), (2, "b", true)]),
            // One LF among them, or one CR, changes nothing.
            ("a\rb\nc\rd", vec![(1, "a", true), (2, "b", true), (3, "c", true), (4, "d", false)]),
            ("a\r\nb\rc\n", vec![(1, "a", true), (2, "b", true), (3, "c", true)]),
            ("\n\nx", vec![(1, "", true), (2, "", true), (3, "x", false)]),
            ("", vec![]),
        ] {
            let expected: Vec<_> = expected
                .into_iter()
                .map(|(line, text, end)| (line, text.to_owned(), end))
                .collect();
            assert_eq!(lines(&[text.as_bytes()]), Ok(expected), "{text:?}");
        }
    }

    #[test]
    fn a_line_without_end_is_refused_without_keeping_it() {
        let chunk = vec![b'x'; 300_000];
        let chunks = vec![chunk.as_slice(); 8000];
        assert_eq!(lines(&chunks), Err(TooLong(1)));
        let mut long = vec![b'x'; LONGEST_LINE];
        assert!(lines(&[&long]).is_ok());
        long.push(b'x');
        assert_eq!(lines(&[b"a\n", &long]), Err(TooLong(2)));
    }

    proptest! {
        #[test]
        fn where_the_chunks_end_does_not_matter(text in "[ab\r\n]{0,40}", cut in 0_usize..40) {
            let bytes = text.as_bytes();
            let (one, other) = bytes.split_at(cut.min(bytes.len()));
            prop_assert_eq!(lines(&[one, other]), lines(&[bytes]));
            let plain = text.replace("\r\n", "\n").replace('\r', "\n");
            prop_assert_eq!(lines(&[plain.as_bytes()]), lines(&[bytes]));
        }
    }
}
