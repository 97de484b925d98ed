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

/// A text without the ends of lines and the places where long words may be broken.
pub fn flat(text: &str) -> String {
    text.replace('\u{200B}', "").split_whitespace().collect::<Vec<_>>().join(" ")
}
