//! Chunks of bytes to lines, with a guard against lines without end.
//!
//! A line is what stands between two line ends (LF, CR LF, or a lone CR, as old instruments and printers
//! write it, wherever in the file), whatever quotes it holds: whether a quoted cell goes on in the next
//! line is for the reader of rows to say.

use crate::error::Error;
use memchr::{memchr, memchr_iter, memchr2_iter};

/// No line of a logger is longer: 1 MiB.
pub(crate) const LONGEST_LINE: usize = 1 << 20;

/// Cuts chunks into lines; keeps only the unfinished end of a chunk.
#[derive(Debug)]
pub(crate) struct Lines {
    /// The name of the file.
    file: String,
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

/// Who takes the lines of a file.
pub(crate) trait Take {
    /// Takes one line.
    fn line(&mut self, line: Line<'_>) -> Result<(), Error>;

    /// Takes as many whole lines from the beginning of `text` as it can read at once, of which the first has
    /// the number `first`: how many bytes and lines they are.
    fn lines(&mut self, _text: &[u8], _first: u64) -> (usize, u64) {
        (0, 0)
    }
}

impl Lines {
    /// The lines of a file.
    pub(crate) const fn of(file: String) -> Self {
        Self { file, carry: Vec::new(), line: 0 }
    }

    /// Hands on every line that ends in this chunk.
    pub(crate) fn feed(&mut self, chunk: &[u8], to: &mut impl Take) -> Result<(), Error> {
        if self.carry.ends_with(b"\r") && chunk.first().is_some_and(|&byte| byte != b'\n') {
            self.hand_on(b"", to)?;
        }
        let lone_return = has_lone_return(chunk);
        let mut rest = chunk;
        loop {
            if self.carry.is_empty() {
                let (bytes, lines) = to.lines(rest, self.line + 1);
                rest = &rest[bytes..];
                self.line += lines;
            }
            let end = if lone_return {
                // A CR before LF is part of that line end; one at the chunk's end may be.
                memchr2_iter(b'\n', b'\r', rest).find(|&at| {
                    rest[at] == b'\n' || rest.get(at + 1).is_some_and(|&next| next != b'\n')
                })
            } else {
                memchr(b'\n', rest)
            };
            let Some(end) = end else { break };
            self.hand_on(&rest[..end], to)?;
            rest = &rest[end + 1..];
        }
        if self.carry.len() + rest.len() > LONGEST_LINE {
            return Err(self.too_long(self.line + 1));
        }
        self.carry.extend_from_slice(rest);
        Ok(())
    }

    /// Hands on a line that ends with these bytes.
    #[inline]
    fn hand_on(&mut self, bytes: &[u8], to: &mut impl Take) -> Result<(), Error> {
        self.line += 1;
        let number = self.line;
        if self.carry.len() + bytes.len() > LONGEST_LINE {
            return Err(self.too_long(number));
        }
        if self.carry.is_empty() {
            return to.line(Line { number, bytes: without_return(bytes), ended: true });
        }
        self.carry.extend_from_slice(bytes);
        to.line(Line { number, bytes: without_return(&self.carry), ended: true })?;
        self.carry.clear();
        Ok(())
    }

    /// Hands on what stands after the last line end, if anything.
    pub(crate) fn finish(&mut self, to: &mut impl Take) -> Result<(), Error> {
        if self.carry.is_empty() {
            return Ok(());
        }
        self.line += 1;
        let carry = std::mem::take(&mut self.carry);
        let bytes = without_return(&carry);
        to.line(Line { number: self.line, bytes, ended: bytes.len() < carry.len() })
    }

    fn too_long(&self, line: u64) -> Error {
        Error::LineTooLong { file: self.file.clone(), line }
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

    #[derive(Default)]
    struct Seen(Vec<(u64, String, bool)>);

    impl Take for Seen {
        fn line(&mut self, line: Line<'_>) -> Result<(), Error> {
            let text = String::from_utf8_lossy(line.bytes).into_owned();
            self.0.push((line.number, text, line.ended));
            Ok(())
        }
    }

    /// The lines of chunks, or the line that is too long.
    fn lines(chunks: &[&[u8]]) -> Result<Vec<(u64, String, bool)>, u64> {
        let mut lines = Lines::of(String::new());
        let mut seen = Seen::default();
        let mut fed = chunks.iter().try_for_each(|chunk| lines.feed(chunk, &mut seen));
        fed = fed.and_then(|()| lines.finish(&mut seen));
        match fed {
            Ok(()) => Ok(seen.0),
            Err(Error::LineTooLong { line, .. }) => Err(line),
            Err(other) => panic!("{other}"),
        }
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
        assert_eq!(lines(&chunks), Err(1));
        let mut long = vec![b'x'; LONGEST_LINE];
        assert!(lines(&[&long]).is_ok());
        long.push(b'x');
        assert_eq!(lines(&[b"a\n", &long]), Err(2));
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
