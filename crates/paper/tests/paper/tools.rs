//! The programs of others that read what was written.

use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

/// A PDF in a folder of its own.
pub struct Pdf {
    folder: TempDir,
    bytes: Vec<u8>,
}

const NAME: &str = "summary.pdf";

impl Pdf {
    pub fn new(bytes: Vec<u8>) -> Self {
        let folder = match TempDir::new() {
            Ok(folder) => folder,
            Err(error) => panic!("a folder for the PDF: {error}"),
        };
        if let Err(error) = std::fs::write(folder.path().join(NAME), &bytes) {
            panic!("{NAME}: {error}");
        }
        Self { folder, bytes }
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// What a program prints about the file.
    pub fn told(&self, program: &str, before: &[&str], after: &[&str]) -> String {
        let output = Command::new(program)
            .args(before)
            .arg(NAME)
            .args(after)
            .current_dir(self.folder.path())
            .output();
        match output {
            Ok(output) if output.status.success() => {
                String::from_utf8_lossy(&output.stdout).into_owned()
            }
            Ok(output) => panic!(
                "{program}: {}{}",
                String::from_utf8_lossy(&output.stdout),
                String::from_utf8_lossy(&output.stderr)
            ),
            Err(error) => panic!(
                "{program} can't be run ({error}); it comes with poppler-utils and qpdf: \
                 sh scripts/install-debian.sh"
            ),
        }
    }

    /// The structure of the file is sound.
    pub fn check(&self) {
        let told = self.told("qpdf", &["--check"], &[]);
        assert!(told.contains("No syntax or stream encoding errors found"), "{told}");
    }

    /// The text of each page.
    pub fn pages(&self) -> Vec<String> {
        let text = self.told("pdftotext", &["-enc", "UTF-8"], &["-"]);
        let mut pages: Vec<String> = text.split('\u{c}').map(str::to_owned).collect();
        assert_eq!(pages.pop().as_deref(), Some(""), "each page ends with a form feed");
        pages
    }

    /// Words that lie over each other, page by page; words of plots do where marks are close.
    pub fn words_over_each_other(&self) -> Vec<String> {
        let told = self.told("pdftotext", &["-enc", "UTF-8", "-bbox"], &["-"]);
        let mut found = Vec::new();
        for (index, page) in told.split("<page ").skip(1).enumerate() {
            let words: Vec<([f64; 4], &str)> = page.lines().filter_map(boxed).collect();
            for (place, (one, text)) in words.iter().enumerate() {
                for (other, by) in words.iter().skip(place + 1) {
                    let shared = |from: usize| {
                        one[from + 2].min(other[from + 2]) - one[from].max(other[from])
                    };
                    if shared(0) > 1.0 && shared(1) > 2.0 {
                        found.push(format!("page {}: {text:?} and {by:?}", index + 1));
                    }
                }
            }
        }
        found
    }

    pub fn info(&self) -> String {
        self.told("pdfinfo", &[], &[])
    }

    pub fn structure(&self) -> String {
        self.told("pdfinfo", &["-struct"], &[])
    }

    /// The columns of each font's line.
    pub fn fonts(&self) -> Vec<Vec<String>> {
        let told = self.told("pdffonts", &[], &[]);
        let words = |line: &str| line.split_whitespace().map(str::to_owned).collect();
        told.lines().skip(2).map(words).collect()
    }

    /// Whether the bytes hold some words as they are.
    pub fn holds(&self, words: &str) -> bool {
        self.bytes.windows(words.len()).any(|window| window == words.as_bytes())
    }
}

/// Left, top, right and bottom of a word, in points, and the word.
fn boxed(line: &str) -> Option<([f64; 4], &str)> {
    let (places, text) = line.trim().strip_prefix("<word ")?.split_once('>')?;
    let mut places = places.split('"').skip(1).step_by(2).filter_map(|place| place.parse().ok());
    let place = [places.next()?, places.next()?, places.next()?, places.next()?];
    Some((place, text.trim_end_matches("</word>")))
}

/// A text without the ends of lines and the places where long words may be broken.
pub fn flat(text: &str) -> String {
    text.replace('\u{200B}', "").split_whitespace().collect::<Vec<_>>().join(" ")
}
