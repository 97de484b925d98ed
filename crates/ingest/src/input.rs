//! Files and bytes to chunks of text whose ASCII can be relied on, and the digest of the raw bytes.
//!
//! A second thread reads, hashes and decodes while the first parses; a handful of chunks go
//! between them, so the file is never held whole. UTF-16 becomes UTF-8 here. UTF-8 and
//! Windows-1252 pass as they are: both keep ASCII, and only cells with words are decoded, each on
//! its own ([`text`]).

use crate::container::{self, Container};
use crate::error::Error;
use crate::progress::Progress;
use encoding_rs::{Decoder, Encoding, UTF_16BE, UTF_16LE, WINDOWS_1252};
use sha2::{Digest, Sha256};
use std::borrow::Cow;
use std::io::{Cursor, ErrorKind, Read};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, SyncSender, channel, sync_channel};

/// What to read.
#[derive(Debug, Clone)]
pub enum Input {
    /// A file.
    File(PathBuf),
    /// Bytes that are in memory already, for example from standard input.
    Bytes {
        /// The name for messages and reports.
        name: String,
        /// The content of the file.
        bytes: Vec<u8>,
    },
}

impl Input {
    /// The name as it was given.
    pub fn name(&self) -> String {
        match self {
            Self::File(path) => path.display().to_string(),
            Self::Bytes { name, .. } => name.clone(),
        }
    }

    /// The length in bytes; 0 when it is not known before the file is read.
    pub(crate) fn length(&self) -> u64 {
        match self {
            Self::File(path) => std::fs::metadata(path).map_or(0, |metadata| metadata.len()),
            Self::Bytes { bytes, .. } => bytes.len() as u64,
        }
    }
}

/// What is known of a file once all of it went through.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fingerprint {
    pub(crate) bytes: u64,
    pub(crate) sha256: [u8; 32],
}

/// Small enough for the second cache, large enough that handing it over costs nothing.
const CHUNK: usize = 256 * 1024;

/// Chunks under way between the two threads.
const UNDER_WAY: usize = 3;

/// Hands the text of `input` to `each`, chunk by chunk.
pub(crate) fn stream(
    input: &Input,
    progress: &Progress,
    sheet: Option<&str>,
    mut each: impl FnMut(&Chunk) -> Result<(), Error>,
) -> Result<Fingerprint, Error> {
    let name = input.name();
    let source: Box<dyn Read + Send + '_> = match input {
        Input::File(path) => {
            let failed = |cause| Error::Read { file: name.clone(), cause: Arc::new(cause) };
            if std::fs::metadata(path).map_err(failed)?.is_dir() {
                return Err(Error::Directory { file: name });
            }
            // A pipe is not opened: who holds its other end may never come.
            Box::new(disk::open(path, disk::Links::Follow).map_err(failed)?)
        }
        Input::Bytes { bytes, .. } => Box::new(Cursor::new(bytes)),
    };
    let (full, chunks) = sync_channel::<Result<Chunk, Error>>(UNDER_WAY);
    let (used, empty) = channel::<Vec<u8>>();
    std::thread::scope(|scope| {
        let name = name.as_str();
        // Moved, so that the chunks end when the reader does.
        let reader = scope.spawn(move || produce(source, (name, sheet), progress, (&full, &empty)));
        for chunk in chunks {
            let chunk = chunk?;
            if progress.is_cancelled() {
                return Err(Error::Cancelled);
            }
            each(&chunk)?;
            progress.add_bytes(chunk.raw_bytes);
            // The reader may have ended; then the buffer is simply dropped.
            used.send(chunk.text).ok();
        }
        match reader.join() {
            Ok(fingerprint) => Ok(fingerprint),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}

/// A piece of the text.
pub(crate) struct Chunk {
    pub(crate) text: Vec<u8>,
    raw_bytes: u64,
    /// Whether it is of a workbook whose numbers are stored as such.
    pub(crate) numbers_are_stored: bool,
}

/// Hashes what is read through it.
struct Hashed<R> {
    source: R,
    hash: Sha256,
    bytes: u64,
}

impl<R: Read> Read for Hashed<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.source.read(buffer)?;
        self.hash.update(buffer.get(..read).unwrap_or_default());
        self.bytes += read as u64;
        Ok(read)
    }
}

/// Reads, hashes, unpacks and decodes until the end, an error, or until nobody listens any more.
/// The digest is that of the file, whatever was taken out of it.
fn produce(
    source: impl Read,
    (name, sheet): (&str, Option<&str>),
    progress: &Progress,
    (full, empty): (&SyncSender<Result<Chunk, Error>>, &Receiver<Vec<u8>>),
) -> Fingerprint {
    let mut hashed = Hashed { source, hash: Sha256::new(), bytes: 0 };
    let outcome =
        hand_on(&mut hashed, (name, sheet), progress, (full, empty)).and_then(|end| match end {
            // What stands behind the end of an archive belongs to the file as well.
            End::OfText => {
                let rest = std::io::copy(&mut hashed, &mut std::io::sink());
                rest.map(|_bytes| ()).map_err(|cause| unread(name, cause))
            }
            End::NobodyListens => Ok(()),
        });
    if let Err(error) = outcome {
        // Nobody listens when the parser has found an error of its own.
        full.send(Err(error)).ok();
    }
    Fingerprint { bytes: hashed.bytes, sha256: hashed.hash.finalize().into() }
}

fn unread(name: &str, cause: std::io::Error) -> Error {
    Error::Read { file: name.to_owned(), cause: Arc::new(cause) }
}

/// Why no more text is handed on.
enum End {
    OfText,
    NobodyListens,
}

fn hand_on(
    source: &mut impl Read,
    (name, sheet): (&str, Option<&str>),
    progress: &Progress,
    (full, empty): (&SyncSender<Result<Chunk, Error>>, &Receiver<Vec<u8>>),
) -> Result<End, Error> {
    let mut raw = Vec::new();
    fill(source, &mut raw).map_err(|cause| unread(name, cause))?;
    let container = Container::of(&raw);
    let mut unpacked;
    let mut numbers_are_stored = false;
    let source: &mut dyn Read = match container {
        None => source,
        Some(container) => {
            let packed = Cursor::new(std::mem::take(&mut raw)).chain(source);
            let opened = container::open(container, packed, name, sheet, progress)?;
            unpacked = opened.text;
            numbers_are_stored = opened.numbers_are_stored;
            fill(&mut unpacked, &mut raw).map_err(|cause| container::broken(name, &cause))?;
            &mut unpacked
        }
    };
    if raw.is_empty() {
        return Err(Error::Empty { file: name.to_owned() });
    }
    let not_text = |what| Error::NotText { file: name.to_owned(), what };
    let (mut decoder, mut mark) = match sniff(&raw).map_err(not_text)? {
        Found::Utf16(encoding) => (Some(encoding.new_decoder_with_bom_removal()), 0),
        Found::Ascii { mark } => (None, mark),
    };
    loop {
        let mut text = empty.try_recv().unwrap_or_default();
        let last = raw.len() < CHUNK;
        let raw_bytes = raw.len() as u64;
        match &mut decoder {
            Some(decoder) => decode(decoder, &raw, last, &mut text),
            // Without a byte order mark the buffers are exchanged, not copied.
            None if mark == 0 => std::mem::swap(&mut text, &mut raw),
            None => {
                text.clear();
                text.extend_from_slice(raw.get(mark..).unwrap_or_default());
                mark = 0;
            }
        }
        if full.send(Ok(Chunk { text, raw_bytes, numbers_are_stored })).is_err() {
            return Ok(End::NobodyListens);
        }
        if last {
            return Ok(End::OfText);
        }
        fill(source, &mut raw).map_err(|cause| {
            if container.is_some() { container::broken(name, &cause) } else { unread(name, cause) }
        })?;
    }
}

/// Fills the buffer up to a whole chunk; less only at the end of the file.
fn fill(source: &mut (impl Read + ?Sized), raw: &mut Vec<u8>) -> std::io::Result<()> {
    raw.resize(CHUNK, 0);
    let mut filled = 0;
    while filled < CHUNK {
        match source.read(&mut raw[filled..]) {
            Ok(0) => break,
            Ok(more) => filled += more,
            Err(cause) if cause.kind() == ErrorKind::Interrupted => {}
            Err(cause) => return Err(cause),
        }
    }
    raw.truncate(filled);
    Ok(())
}

fn decode(decoder: &mut Decoder, content: &[u8], last: bool, text: &mut Vec<u8>) {
    let room = decoder.max_utf8_buffer_length(content.len()).unwrap_or(content.len() * 3 + 16);
    text.resize(room, 0);
    // The room is what the decoder asks for, so it takes all in one go.
    let (_result, _read, written, _replaced) = decoder.decode_to_utf8(content, text, last);
    text.truncate(written);
}

enum Found {
    Utf16(&'static Encoding),
    /// An encoding that keeps ASCII, with the length of its byte order mark.
    Ascii {
        mark: usize,
    },
}

/// What a file begins with that is no CSV.
const MAGIC: &[(&[u8], &str)] = &[
    (b"\xd0\xcf\x11\xe0", "an old Excel workbook"),
    (b"BZh", "a bzip2 archive"),
    (b"\xfd7zXZ\0", "an xz archive"),
    (b"7z\xbc\xaf", "a 7-Zip archive"),
    (b"(\xb5\x2f\xfd", "a Zstandard archive"),
    (b"%PDF", "a PDF document"),
    (b"{\\rtf", "a rich text document"),
    (b"\x89PNG", "a picture"),
    (b"SQLite format 3\0", "a database"),
];

fn sniff(head: &[u8]) -> Result<Found, &'static str> {
    for (magic, what) in MAGIC {
        if head.starts_with(magic) {
            return Err(what);
        }
    }
    if head.starts_with(b"\xff\xfe\0\0") || head.starts_with(b"\0\0\xfe\xff") {
        return Err("UTF-32");
    }
    if head.starts_with(b"\xff\xfe") {
        return Ok(Found::Utf16(UTF_16LE));
    }
    if head.starts_with(b"\xfe\xff") {
        return Ok(Found::Utf16(UTF_16BE));
    }
    if head.starts_with(b"\xef\xbb\xbf") {
        return Ok(Found::Ascii { mark: 3 });
    }
    let sample = head.get(..1024).unwrap_or(head);
    let (mut even, mut odd) = (0, 0);
    for pair in sample.chunks_exact(2) {
        even += usize::from(pair[0] == 0);
        odd += usize::from(pair[1] == 0);
    }
    // Text in a Latin script is ASCII for the greatest part, and ASCII has one zero byte a pair.
    let most = sample.len() / 2 * 8 / 10;
    if most > 0 && odd > most && even == 0 {
        return Ok(Found::Utf16(UTF_16LE));
    }
    if most > 0 && even > most && odd == 0 {
        return Ok(Found::Utf16(UTF_16BE));
    }
    if even + odd > 0 || sample.contains(&0) {
        return Err("a binary file");
    }
    Ok(Found::Ascii { mark: 0 })
}

/// The words of a cell: UTF-8, or Windows-1252 where it is no UTF-8.
pub(crate) fn text(cell: &[u8]) -> Cow<'_, str> {
    match std::str::from_utf8(cell) {
        Ok(text) => Cow::Borrowed(text),
        Err(_not_utf8) => WINDOWS_1252.decode_without_bom_handling(cell).0,
    }
}
