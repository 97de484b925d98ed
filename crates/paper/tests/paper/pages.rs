//! Pages as pictures, against `tests/snapshots`. Rendering differs from one version of poppler to
//! the next, so squares of pixels are compared by their means. `UPDATE_SNAPSHOTS=1 cargo test -p
//! paper` writes them anew: look at them.

use crate::records::{hostile, sample, signed};
use crate::tools::Pdf;
use crate::{pdf, summary};
use case::Case;
use paper::Paper;
use review::Reviewed;
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};
use tests::good;
use tests::people::Hand;

/// A grey page.
#[derive(PartialEq, Eq)]
struct Page {
    width: usize,
    height: usize,
    pixels: Vec<u8>,
}

/// The side of the squares that are compared.
const SQUARE: usize = 6;
/// How far the means of two squares may be apart, of 255.
const APART: f64 = 56.0;
/// How far all squares may be apart on average.
const APART_ON_AVERAGE: f64 = 2.0;

impl Page {
    fn render(pdf: &Pdf, page: usize) -> Self {
        let number = page.to_string();
        let before = ["-gray", "-r", "50", "-singlefile", "-f", &number, "-l", &number];
        pdf.told("pdftoppm", &before, &["page"]);
        let path = pdf.folder().join("page.pgm");
        let bytes = match std::fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) => panic!("{}: {error}", path.display()),
        };
        // "P5", width, height and 255, each before one blank, then the pixels.
        let mut rest = bytes.as_slice();
        let mut word = || {
            let end = rest.iter().position(u8::is_ascii_whitespace).unwrap_or(rest.len());
            let (word, after) = rest.split_at(end);
            rest = after.get(1..).unwrap_or_default();
            String::from_utf8_lossy(word).into_owned()
        };
        let head = [word(), word(), word(), word()];
        let [kind, width, height, depth] = &head;
        assert_eq!((kind.as_str(), depth.as_str()), ("P5", "255"), "a grey picture");
        let number = |text: &str| text.parse().unwrap_or(0);
        Self { width: number(width), height: number(height), pixels: rest.to_vec() }
    }

    fn read(path: &Path) -> Option<Self> {
        let decoder = png::Decoder::new(BufReader::new(File::open(path).ok()?));
        let mut reader = decoder.read_info().ok()?;
        let mut pixels = vec![0; reader.output_buffer_size()?];
        let info = reader.next_frame(&mut pixels).ok()?;
        Some(Self { width: info.width as usize, height: info.height as usize, pixels })
    }

    fn write(&self, path: &Path) {
        let file = match File::create(path) {
            Ok(file) => file,
            Err(error) => panic!("{}: {error}", path.display()),
        };
        let (width, height) = (self.width as u32, self.height as u32);
        let mut encoder = png::Encoder::new(BufWriter::new(file), width, height);
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_compression(png::Compression::High);
        let written =
            encoder.write_header().and_then(|mut writer| writer.write_image_data(&self.pixels));
        if let Err(error) = written {
            panic!("{}: {error}", path.display());
        }
    }

    /// Its upper left part.
    fn cropped(&self, (width, height): (usize, usize)) -> Self {
        let rows = self.pixels.chunks(self.width).take(height);
        let pixels = rows.flat_map(|row| row.iter().take(width).copied()).collect();
        Self { width, height, pixels }
    }

    fn means(&self, square: usize) -> Vec<f64> {
        let mut means = Vec::new();
        for top in (0..self.height).step_by(square) {
            for left in (0..self.width).step_by(square) {
                let (mut sum, mut count) = (0.0, 0.0);
                for y in top..(top + square).min(self.height) {
                    for x in left..(left + square).min(self.width) {
                        sum += f64::from(self.pixels[y * self.width + x]);
                        count += 1.0;
                    }
                }
                means.push(sum / count);
            }
        }
        means
    }

    /// How the other page differs, if it does.
    fn difference(&self, other: &Self) -> Option<String> {
        if (self.width, self.height) != (other.width, other.height) {
            return Some(format!(
                "{}×{} pixels, not {}×{}",
                other.width, other.height, self.width, self.height
            ));
        }
        let (worst, average) = self.apart(other, SQUARE);
        (worst > APART || average > APART_ON_AVERAGE)
            .then(|| format!("squares are {worst:.0} apart, {average:.2} on average"))
    }

    /// How far the means of squares of pixels are apart, at worst and on average.
    fn apart(&self, other: &Self, square: usize) -> (f64, f64) {
        let (one, two) = (self.means(square), other.means(square));
        let apart: Vec<f64> = one.iter().zip(&two).map(|(one, two)| (one - two).abs()).collect();
        let worst = apart.iter().copied().fold(0.0, f64::max);
        (worst, apart.iter().sum::<f64>() / apart.len() as f64)
    }
}

fn snapshot(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/snapshots").join(name)
}

fn compare(day: &Case, reviewed: &Reviewed, paper: Paper, pages: &[(usize, &str)]) {
    compare_pages(&pdf(&summary(day, reviewed, paper)), pages);
}

pub fn compare_pages(pdf: &Pdf, pages: &[(usize, &str)]) {
    for &(number, name) in pages {
        let page = Page::render(pdf, number);
        let path = snapshot(name);
        if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
            page.write(&path);
        }
        let Some(expected) = Page::read(&path) else {
            panic!("{}: no such picture; see the head of pages.rs", path.display())
        };
        if let Some(difference) = expected.difference(&page) {
            let new = path.with_extension("new.png");
            page.write(&new);
            panic!("{name}: {difference}; compare with {}", new.display());
        }
    }
}

#[test]
fn the_pages_of_a_signed_day_look_as_they_did() {
    let day = sample("2026-03-04-stuck-valve.csv");
    let pages = [(1, "signed-1.png"), (2, "signed-2.png"), (3, "signed-3.png")];
    compare(&day, &signed(&day, Hand::Key), Paper::A4, &pages);
}

#[test]
fn the_pages_of_a_hostile_day_look_as_they_did() {
    let day = hostile(300);
    let pages = [(1, "hostile-1.png"), (3, "hostile-3.png")];
    compare(&day, &Reviewed::unread(), Paper::Letter, &pages);
}

#[test]
fn another_page_does_not_pass_for_the_same() {
    let day = sample("2026-03-04-stuck-valve.csv");
    let reviewed = signed(&day, Hand::Key);
    let one = pdf(&summary(&day, &reviewed, Paper::A4));
    let other = pdf(&summary(&day, &Reviewed::unread(), Paper::A4));
    let first = Page::render(&one, 1);
    assert!(first.difference(&Page::render(&one, 1)).is_none());
    assert!(first.difference(&Page::render(&one, 2)).is_some(), "page 2");
    assert!(first.difference(&Page::render(&other, 1)).is_some(), "not signed");
}

/// What the window shows before it saves is what another program shows of the file.
#[test]
fn the_picture_of_the_first_page_is_the_page_of_the_file() {
    let day = sample("2026-03-04-stuck-valve.csv");
    let reviewed = signed(&day, Hand::Key);
    for paper in [Paper::A4, Paper::Letter] {
        let summary = summary(&day, &reviewed, paper);
        let (bytes, picture) = good(paper::summary_with_page(&summary, 50.0 / 72.0));
        assert!(paper::summary(&summary).is_ok_and(|alone| alone == bytes), "the same file");
        assert_eq!(picture.rgba.len(), picture.width * picture.height * 4);
        assert!(picture.rgba.chunks(4).all(|pixel| pixel[3] == 255), "nothing is transparent");
        let luma = |pixel: &[u8]| {
            let [red, green, blue] = [0, 1, 2].map(|channel| u32::from(pixel[channel]));
            ((299 * red + 587 * green + 114 * blue) / 1000) as u8
        };
        let pixels = picture.rgba.chunks(4).map(luma).collect();
        let drawn = Page { width: picture.width, height: picture.height, pixels };
        let file = Pdf::new(bytes);
        let first = Page::render(&file, 1);
        // The one rounds half a pixel, the other takes it whole.
        let size = (drawn.width.min(first.width), drawn.height.min(first.height));
        assert!(first.width - size.0 <= 1 && first.height - size.1 <= 1, "{size:?}");
        let (drawn, first) = (drawn.cropped(size), first.cropped(size));
        // Two programs set the same letters stronger or fainter, so the squares are larger.
        let is_same = |page: &Page| {
            let (worst, average) = page.apart(&drawn, 2 * SQUARE);
            worst < 75.0 && average < 4.0
        };
        assert!(is_same(&first), "{:?}", first.apart(&drawn, 2 * SQUARE));
        assert!(!is_same(&Page::render(&file, 2).cropped(size)), "not the second");
        let unsigned = pdf(&self::summary(&day, &Reviewed::unread(), paper));
        assert!(!is_same(&Page::render(&unsigned, 1).cropped(size)), "signed");
    }
}
